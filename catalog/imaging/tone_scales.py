"""
The scales a tone is told in: density, transmittance, luminance, print L*, and coded values.

Luminance, transmittance and reflectance are shares: 1.0 is all the light. Every
function takes one number or a numpy array and gives back the same; an array of
whole numbers comes back as floats, one of float32 stays float32.

Source: CIE 15 (lightness); IEC 61966-2-1 (sRGB); Adobe RGB (1998) Color Image
Encoding, version 2005-05; ISO 22028-2 (ROMM RGB); ISO 5-1 (density). The
constants of IEC 61966-2-1 and ISO 22028-2 are from memory and were compared
with colour-science 0.4.7.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, cast

if TYPE_CHECKING:
    from numpy.typing import NDArray

Tones = TypeVar("Tones", float, "NDArray[Any]")

# CIE 15: both constants as the exact fractions, so that the two branches meet.
CIE_EPSILON = 216 / 24389
CIE_KAPPA = 24389 / 27
KAPPA_EPSILON = 8.0
"""The L* at which the straight part ends."""

ADOBE_RGB_GAMMA = 563 / 256
ROMM_GAMMA = 1.8
ROMM_STRAIGHT_BELOW = 16 ** (1.8 / (1 - 1.8))


def density_of_transmittance(transmittance: Tones) -> Tones:
    """
    Return the density D = -log10(T); no light at all is an infinite density.

    >>> round(density_of_transmittance(0.5), 4)
    0.301

    Source: ISO 5-1. It holds for reflectance and reflection density alike.
    """
    return _either(_density, _densities, transmittance)


def transmittance_of_density(density: Tones) -> Tones:
    """Return the share of light that a density lets through (or a print reflects): 10 to the power -D."""
    return _either(lambda d: 10.0**-d, lambda d: 10.0**-d, density)


def lightness_of_luminance(luminance: Tones) -> Tones:
    """
    Return L*, 0 to 100, of a luminance as a share of white.

    Nothing is clipped: more than white is more than 100, and below black the straight part goes on.

    >>> round(lightness_of_luminance(0.18), 4)
    49.4961

    Source: CIE 15, with the exact constants 216/24389 and 24389/27.
    """
    return _either(_lightness, _lightnesses, luminance)


def luminance_of_lightness(lightness: Tones) -> Tones:
    """Return the luminance, as a share of white, of an L*: the reverse of ``lightness_of_luminance``."""
    return _either(_luminance, _luminances, lightness)


def lightness_of_reflection_density(density: Tones) -> Tones:
    """
    Return the L* of a print's reflection density; D 0 is the perfect white, L* 100.

    >>> round(lightness_of_reflection_density(1.65), 3)
    16.693
    """
    return lightness_of_luminance(transmittance_of_density(density))


@dataclass(frozen=True, slots=True)
class Coding:
    """How linear light is written as a code: both as shares, 0 to 1, and not clipped to them."""

    name: str
    luminance_weights: tuple[float, float, float]
    """What red, green and blue give to the luminance: the middle row of the matrix to XYZ."""
    gamma: float = 1.0
    straight_below: float = 0.0
    """The linear value up to which the code is ``slope`` times the light."""
    straight_to_code: float = 0.0
    """The code up to which decoding is straight (standards round it on their own)."""
    slope: float = 1.0
    offset: float = 0.0

    def decode(self, code: Tones) -> Tones:
        """Return the linear light of a code; below zero, a power is mirrored and a straight part goes on."""
        return _either(self._decode, self._decode_all, code)

    def encode(self, linear: Tones) -> Tones:
        """Return the code of linear light: the reverse of ``decode``."""
        return _either(self._encode, self._encode_all, linear)

    def _decode(self, code: float) -> float:
        if self.slope != 1.0 and code <= self.straight_to_code:
            return code / self.slope
        return math.copysign(((abs(code) + self.offset) / (1 + self.offset)) ** self.gamma, code)

    def _encode(self, linear: float) -> float:
        if self.slope != 1.0 and linear <= self.straight_below:
            return linear * self.slope
        return math.copysign((1 + self.offset) * abs(linear) ** (1 / self.gamma) - self.offset, linear)

    def _decode_all(self, code: NDArray[Any]) -> NDArray[Any]:
        import numpy as np

        if self.gamma == 1.0:
            return code.copy()
        curved = np.copysign(((np.abs(code) + self.offset) / (1 + self.offset)) ** self.gamma, code)
        if self.slope == 1.0:
            return cast("NDArray[Any]", curved)
        return np.where(code <= self.straight_to_code, code / self.slope, curved)

    def _encode_all(self, linear: NDArray[Any]) -> NDArray[Any]:
        import numpy as np

        if self.gamma == 1.0:
            return linear.copy()
        curved = np.copysign((1 + self.offset) * np.abs(linear) ** (1 / self.gamma) - self.offset, linear)
        if self.slope == 1.0:
            return cast("NDArray[Any]", curved)
        return np.where(linear <= self.straight_below, linear * self.slope, curved)


_SRGB_WEIGHTS = (0.2126, 0.7152, 0.0722)  # IEC 61966-2-1; the primaries of ITU-R BT.709

LINEAR = Coding("linear", _SRGB_WEIGHTS)
SRGB = Coding("sRGB", _SRGB_WEIGHTS, 2.4, straight_below=0.0031308, straight_to_code=0.04045, slope=12.92, offset=0.055)
# Adobe RGB (1998) §4.3.1.2, §4.3.4.1: a pure power of 2 51/256; the weights as §4.3.5.3 prints them.
ADOBE_RGB = Coding("Adobe RGB (1998)", (0.29734, 0.62736, 0.07529), ADOBE_RGB_GAMMA)
# ISO 22028-2: 16 times the light below 16^(1.8/(1-1.8)) = 0.001953; white D50.
ROMM_RGB = Coding(
    "ROMM RGB", (0.288040, 0.711874, 0.000086), ROMM_GAMMA,
    straight_below=ROMM_STRAIGHT_BELOW, straight_to_code=16 * ROMM_STRAIGHT_BELOW, slope=16.0,
)  # fmt: skip


def gamma_coding(gamma: float) -> Coding:
    """
    Return the coding by a pure power, as a scanner writes it: light is the code to the power ``gamma``.

    >>> round(gamma_coding(2.2).encode(0.18), 6)
    0.458656

    Raises:
        ValueError: ``gamma`` is no number above zero.
    """
    if not (math.isfinite(gamma) and gamma > 0):
        raise ValueError(f"a gamma is a number above zero, not {gamma!r}")
    return LINEAR if gamma == 1.0 else Coding(f"gamma {gamma:g}", _SRGB_WEIGHTS, gamma)


def _either(one: Callable[[float], float], many: Callable[[NDArray[Any]], NDArray[Any]], tones: Tones) -> Tones:
    # Numbers go by ``math``: a caption or a table of papers should not load numpy (some 90 ms).
    if isinstance(tones, (int, float)):
        return one(float(tones))
    import numpy as np

    array = np.asarray(tones)
    return many(array if array.dtype.kind == "f" else array.astype(float))


def _density(transmittance: float) -> float:
    return -math.log10(transmittance) if transmittance > 0 else math.inf


def _densities(transmittance: NDArray[Any]) -> NDArray[Any]:
    import numpy as np

    densities = np.full_like(transmittance, np.inf)
    # Light below nothing is a scanner's noise about zero: it too is "no light".
    np.log10(transmittance, out=densities, where=transmittance > 0)
    return np.where(transmittance > 0, -densities, densities)


def _lightness(luminance: float) -> float:
    return 116 * math.cbrt(luminance) - 16 if luminance > CIE_EPSILON else CIE_KAPPA * luminance


def _lightnesses(luminance: NDArray[Any]) -> NDArray[Any]:
    import numpy as np

    return np.where(luminance > CIE_EPSILON, 116 * np.cbrt(luminance) - 16, CIE_KAPPA * luminance)


def _luminance(lightness: float) -> float:
    return ((lightness + 16) / 116) ** 3 if lightness > KAPPA_EPSILON else lightness / CIE_KAPPA


def _luminances(lightness: NDArray[Any]) -> NDArray[Any]:
    import numpy as np

    return np.where(lightness > KAPPA_EPSILON, ((lightness + 16) / 116) ** 3, lightness / CIE_KAPPA)
