"""
Tone steps as one table of tones a channel: from a scan's value to a positive's, 16 bits out.

A value stands for transmittance by the scan's coding; its density is taken above the base, set neutral, and cut
at the two points that become the paper's black and white; the film's curve makes exposure of it, the tone curve
the light of the print, and the output's coding the value that is written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from catalog.imaging.tone_scales import (
    ADOBE_RGB,
    SRGB,
    Coding,
    gamma_coding,
    luminance_of_lightness,
    transmittance_of_density,
)
from catalog.imaging.tone_steps import ToneStep, find_step

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Tones = NDArray[np.float64]

TOP: Final = 65_535
DEFAULT_CODING: Final = "gamma 2.2"
MAX_READ_DENSITY: Final = 5.0
"""A value of 0 is taken as this dense: 16 linear bits end at 4.8."""
PAPER_RANGE: Final = 2.0
"""Density between a print's white and black under the paper curves."""
# The paper's exposure range, ISO R / 100, for grades 0 to 5: the middles of the classes of ISO 6846, from memory.
_PAPER_EXPOSURE_RANGES: Final = (1.50, 1.25, 1.05, 0.85, 0.66, 0.50)
_SLOPE_OF_GRADE_2: Final = 1.45
"""How much steeper than its mean a normal paper is in the middle; chosen by eye, see decision 0022."""


def tone_tables(steps: Sequence[ToneStep], *, channels: int, bits: int) -> NDArray[np.uint16]:
    """
    Return the tables of a positive, one row of 2**bits values a channel.

    The same steps always give the same values: nothing is measured here.
    """
    return np.stack([_table(steps, channel, channels, bits) for channel in range(channels)])


def densities_of_values(coding: str | float, *, bits: int) -> Tones:
    """Return the density that each value of a scan stands for, 0 for the highest."""
    shares = np.arange(1 << bits, dtype=np.float64) / ((1 << bits) - 1)
    light = transmittance_of_values(coding, shares)
    return np.asarray(-np.log10(np.maximum(light, 10.0**-MAX_READ_DENSITY)))


def transmittance_of_values(coding: str | float, shares: Tones) -> Tones:
    """Return the transmittance of coded values, both as shares of the highest."""
    if coding == "L*":
        return luminance_of_lightness(100.0 * shares)
    return _coding(coding).decode(shares)


def _coding(name: str | float) -> Coding:
    if name == "sRGB":
        return SRGB
    if name == "linear":
        return gamma_coding(1.0)
    return gamma_coding(float(name.removeprefix("gamma ")) if isinstance(name, str) else name)


def _table(steps: Sequence[ToneStep], channel: int, channels: int, bits: int) -> NDArray[np.uint16]:
    coding = find_step(steps, "coding")
    density = densities_of_values(coding["values"] if coding else DEFAULT_CODING, bits=bits)
    density = _neutral(steps, channel, density - _of_channel(steps, "base", "density", channel, channels), channels)
    light = _light(steps, density)
    coded = np.asarray(_output(steps, channels).encode(np.clip(light, 0.0, 1.0)))
    return np.asarray(np.rint(np.clip(coded, 0.0, 1.0) * TOP), dtype=np.uint16)


def _of_channel(
    steps: Sequence[ToneStep], kind: str, name: str, channel: int, channels: int, default: float = 0.0
) -> float:
    """Return a step's number for a channel; grey takes the mean of three."""
    step = find_step(steps, kind)
    values = step.get(name) if step else None
    if values is None:
        return default
    if channels == 1:
        return float(sum(values)) / len(values)
    return float(values[channel % len(values)])


def _neutral(steps: Sequence[ToneStep], channel: int, density: Tones, channels: int) -> Tones:
    shift = _of_channel(steps, "neutral", "density", channel, channels)
    return (density - shift) * _of_channel(steps, "neutral", "slope", channel, channels, 1.0)


def _light(steps: Sequence[ToneStep], density: Tones) -> Tones:
    """Return the light of the print, 1.0 for paper white."""
    is_negative = find_step(steps, "invert") is not None
    points, curve = find_step(steps, "points"), find_step(steps, "curve")
    exposure = _film(find_step(steps, "film"), is_negative)
    if points is None and curve is None:  # all that the film lets through, or its reverse
        return transmittance_of_density(density) if not is_negative else 1.0 - transmittance_of_density(density)
    black, white = (points["black_d"], points["white_d"]) if points else _ends(density, is_negative)
    low, high = exposure(np.array([black, white]))
    cut = np.clip(density, min(black, white), max(black, white))
    share = np.clip((exposure(cut) - low) / (high - low), 0.0, 1.0)
    return _curve(curve, share, float(high - low))


def _ends(density: Tones, is_negative: bool) -> tuple[float, float]:
    """Return where black and white lie without points: at the base, and at all the density a film may have."""
    return (0.0, 2.0) if is_negative else (3.0, 0.0)


def _film(step: ToneStep | None, is_negative: bool) -> Callable[[Tones], Tones]:
    """Return what makes exposure (a logarithm) of density above base; without a film's curve, density itself."""
    sign = 1.0 if is_negative else -1.0
    if step is None:
        return lambda density: sign * density
    if gamma := step.get("gamma"):
        return lambda density: sign * density / gamma
    exposures, densities = (np.array(axis) for axis in zip(*step["points"], strict=True))
    if not is_negative:  # a transparency loses density with exposure: its points are told the other way round
        return lambda density: -np.interp(density, densities, exposures)
    return lambda density: np.interp(density, densities, exposures)


def _curve(step: ToneStep | None, share: Tones, exposure_range: float) -> Tones:
    """Return the light of the print for a share of the way from black to white in exposure."""
    if step is None:
        return luminance_of_lightness(100.0 * share)
    if points := step.get("points"):
        x, y = (np.array(axis) for axis in zip(*points, strict=True))
        return luminance_of_lightness(_smooth(x, y, 100.0 * share))
    if gamma := step.get("gamma"):
        # What is lighter by so much exposure is lighter by gamma times as much; black is then made black.
        return _from_black(10.0 ** (gamma * exposure_range * (share - 1.0)), 10.0 ** (-gamma * exposure_range))
    light = np.asarray(10.0 ** (-PAPER_RANGE * (1.0 - paper_share(step["grade"], share))))
    return _from_black(light, 10.0**-PAPER_RANGE)


def _from_black(light: Tones, black: float) -> Tones:
    """Return light with that of the black point made none: the value 0 is the paper's own black."""
    return (light - black) / (1.0 - black)


def paper_share(grade: float, share: Tones) -> Tones:
    """Return the share of a paper's density range (from black) that a share of its exposure range gives."""
    steepness = _steepness(grade)
    if steepness < 1e-3:
        return share
    rise = 1.0 / (1.0 + np.exp(-steepness * (share - 0.5)))
    foot = 1.0 / (1.0 + np.exp(steepness * 0.5))
    return np.asarray((rise - foot) / (1.0 - 2.0 * foot))


def _steepness(grade: float) -> float:
    """Return the logistic curve's constant whose middle is as steep as the grade asks."""
    ranges = np.log(_PAPER_EXPOSURE_RANGES)
    of_grade = float(np.exp(np.interp(grade, np.arange(6.0), ranges)))
    slope = max(1.0, _SLOPE_OF_GRADE_2 * _PAPER_EXPOSURE_RANGES[2] / of_grade)
    low, high = 0.0, 40.0
    for _ in range(60):  # k / 4 / tanh(k / 4) rises with k, so halving finds it
        middle = 0.5 * (low + high)
        at = middle / 4.0
        low, high = (middle, high) if at / np.tanh(at) < slope else (low, middle)
    return low


def _smooth(x: Tones, y: Tones, at: Tones) -> Tones:
    """Return a curve through points that never leaves the heights between two neighbours (Fritsch and Carlson)."""
    width = np.diff(x)
    rise = np.diff(y) / width
    slope = np.zeros_like(y)
    slope[0], slope[-1] = rise[0], rise[-1]
    both = rise[:-1] * rise[1:] > 0
    mean = 2.0 / (1.0 / np.where(both, rise[:-1], 1.0) + 1.0 / np.where(both, rise[1:], 1.0))
    slope[1:-1] = np.where(both, mean, 0.0)
    at = np.clip(at, x[0], x[-1])
    index = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    t = (at - x[index]) / width[index]
    one, two = 1.0 - t, t * t
    return np.asarray(
        y[index] * (1.0 + 2.0 * t) * one * one
        + width[index] * slope[index] * t * one * one
        + y[index + 1] * two * (3.0 - 2.0 * t)
        - width[index] * slope[index + 1] * two * one
    )


def _output(steps: Sequence[ToneStep], channels: int) -> Coding:
    step = find_step(steps, "output")
    profile = step["profile"] if step else default_profile(channels)
    return {"sRGB": SRGB, "Adobe RGB (1998)": ADOBE_RGB}.get(profile) or gamma_coding(2.2)


def default_profile(channels: int) -> str:
    """Return the profile of a positive whose steps name none."""
    return "grey gamma 2.2" if channels == 1 else "Adobe RGB (1998)"


def output_profile(steps: Sequence[ToneStep], channels: int) -> str:
    """Return the name of the profile a positive is written in."""
    step = find_step(steps, "output")
    return str(step["profile"]) if step else default_profile(channels)


def as_row(tables: NDArray[np.uint16]) -> NDArray[np.uint16]:
    """Return tables as one row of pixels, a band a channel, as the engine wants it."""
    return np.ascontiguousarray(tables.T[None, :, :])
