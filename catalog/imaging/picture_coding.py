"""How a picture's values stand for light: by the profile it carries, else by what is commonly meant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog.imaging.tone_scales import SRGB, gamma_coding, luminance_of_lightness
from catalog.standards.icc import profile_description
from catalog.standards.icc_curves import IccCurve, IccTones, read_icc_tones

Light = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PictureCoding:
    """What a picture's values mean: light for each code, one row a channel, and each channel's luminance."""

    name: str
    is_assumed: bool
    """Nothing in the file says so; it is the common meaning of such a file."""
    light: Light
    weights: tuple[float, ...]


def coding_of_picture(profile: bytes | None, *, channels: int, bits: int) -> PictureCoding:
    """
    Return how the values of a picture stand for light.

    Without a profile, or with one that gives no curves for these channels, grey is taken as gamma 2.2 and RGB as
    sRGB; ``is_assumed`` then says so, and the name which it was.
    """
    shares = np.arange(1 << bits, dtype=np.float64) / ((1 << bits) - 1)
    tones = read_icc_tones(profile) if profile else None
    if profile and tones and channels == 1 and len(tones.curves) == 3:
        # Grey under an RGB profile: the same value in all three channels.
        tones = IccTones((tones.curves[1],), (1.0,))
    if profile and tones and len(tones.curves) == channels:
        rows: list[Light] = [np.asarray(np.clip(light_of_curve(curve, shares), 0.0, 1.0)) for curve in tones.curves]
        if tones.is_lightness:
            rows = [luminance_of_lightness(100.0 * row) for row in rows]
        total = sum(tones.weights)
        weights = tuple(max(weight, 0.0) / total for weight in tones.weights)
        return PictureCoding(profile_description(profile) or "unnamed profile", False, np.stack(rows), weights)
    if channels == 1:
        return PictureCoding("gamma 2.2", True, gamma_coding(2.2).decode(shares)[None, :], (1.0,))
    return PictureCoding("sRGB", True, np.stack([SRGB.decode(shares)] * 3), SRGB.luminance_weights)


def light_of_curve(curve: IccCurve, shares: Light) -> Light:
    """Return what a profile's curve gives for codes, both as shares of the highest; nothing is clipped."""
    if curve.table:
        return np.asarray(np.interp(shares, np.linspace(0.0, 1.0, len(curve.table)), np.array(curve.table)))
    g, a, b, c, d, e, f = curve.parameters
    powered: Light = np.maximum(a * shares + b, 0.0) ** g + e
    return np.asarray(np.where(shares >= d, powered, c * shares + f))
