"""How a scan's values stand for light, as far as its profile or its kind says, by the name a tone step gives it."""

from __future__ import annotations

from typing import Final

import numpy as np

from catalog.imaging._tone_table import transmittance_of_values
from catalog.imaging.picture_coding import light_of_curve
from catalog.imaging.scan_file import ScanFile
from catalog.imaging.tone_scales import luminance_of_lightness
from catalog.imaging.tone_steps import CODINGS
from catalog.standards.icc_curves import IccCurve, read_icc_tones

NEAR: Final = 0.01
"""A profile's curve is given the name of a coding that it nowhere leaves by more than this share of full light."""
_LOOKED_AT: Final = 64


def coding_of(facts: ScanFile, profile: bytes | None) -> tuple[str | float | None, str]:
    """Return a scan's coding as a tone step names it, None if it is not known, and why."""
    if profile:
        name = facts.profile or "unnamed profile"
        found = _coding_of_profile(profile)
        if found is not None:
            return found, f"its profile ({name}) says so"
        return None, f"its profile ({name}) has no curve that has a name"
    if facts.colour == "linear raw":
        return "linear", "linear raw values, as a DNG holds them"
    if facts.kind == "JPEG":
        return "sRGB", "a JPEG without a profile, taken for sRGB as is usual"
    if any("sRGB" in note for note in facts.notes):
        return "sRGB", "the file declares sRGB"
    return None, "no profile, and nothing else in the file says how its values stand for light"


def _coding_of_profile(profile: bytes) -> str | float | None:
    """Return the coding that the curve of grey, or of green, amounts to."""
    tones = read_icc_tones(profile)
    if tones is None:
        return None
    curve = tones.curves[len(tones.curves) // 2]
    # A gamma alone is a coding whatever its number; ICC.1:2010 §10.5 and §10.15, function 0.
    if not curve.table and curve.parameters[1:] == (1.0, 0.0, 0.0, 0.0, 0.0, 0.0) and not tones.is_lightness:
        return _named_gamma(curve.parameters[0])
    return _nearest(curve, is_lightness=tones.is_lightness)


def _named_gamma(gamma: float) -> str | float | None:
    names = {"linear": 1.0, "gamma 1.8": 1.8, "gamma 2.2": 2.2}
    near = next((name for name, number in names.items() if abs(gamma - number) < 0.005), None)
    return near or (round(gamma, 4) if 0.5 <= gamma <= 4.0 else None)


def _nearest(curve: IccCurve, *, is_lightness: bool) -> str | float | None:
    codes = np.arange(1, _LOOKED_AT) / _LOOKED_AT
    light = light_of_curve(curve, codes)
    light = luminance_of_lightness(100.0 * light) if is_lightness else light
    apart = {name: np.abs(transmittance_of_values(name, codes) - light).max() for name in CODINGS}
    best = min(apart, key=lambda name: apart[name])
    return best if apart[best] < NEAR else None
