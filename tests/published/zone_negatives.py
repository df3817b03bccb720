"""
Negatives made of known tones by published densities, as a scanner would write them.

Densities over base plus fog for Zones 0 to X: one measured set, 35 mm T-Max 100 for a condenser enlarger, Table 51 of
nhchau.com. That zone n is printed at L* 10 n is this program's scale (zone V, 18 % grey, is L* 49.5), not the source's.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import tifffile

ZONE_DENSITIES = (0.02, 0.11, 0.21, 0.34, 0.48, 0.62, 0.76, 0.97, 1.18, 1.33, 1.44)
ZONE_L = tuple(10.0 * zone for zone in range(11))
STOP = 0.30103
"""A zone is one stop: the logarithm of twice the exposure."""
FILM_POINTS = [(STOP * zone, density) for zone, density in enumerate(ZONE_DENSITIES)]
REBATE = 0.06
"""How much of the longer side the clear film around the picture takes."""
GRAIN: Final = 0.003
"""Film is never quite even: the density by which its grain strays (standard deviation)."""
# An orange mask as colour negatives have it, red, green, blue, in Status M; common practice, from memory.
MASK = (0.22, 0.62, 0.92)


def densities_of(lightness: np.ndarray) -> np.ndarray:
    """Return the density above base that each L* has on the negative."""
    return np.interp(lightness, ZONE_L, ZONE_DENSITIES)


def write_negative(path: Path, density: np.ndarray, base: tuple[float, ...], grain: float = GRAIN) -> tuple[int, int]:
    """Write a negative, its clear rebate around it, as 16 bits of gamma 2.2; return where the picture begins."""
    edge = round(max(density.shape[:2]) * REBATE)
    around = [(edge, edge), (edge, edge)] + [(0, 0)] * (density.ndim - 2)
    whole = np.pad(density, around) + (base[0] if density.ndim == 2 else np.array(base))
    whole = whole + np.random.default_rng(51).normal(0, grain, whole.shape)
    coded = np.rint((10.0 ** -np.clip(whole, 0, 4)) ** (1 / 2.2) * 65535).astype(np.uint16)
    tifffile.imwrite(
        path, coded, photometric="minisblack" if density.ndim == 2 else "rgb", resolution=(2400, 2400),
        resolutionunit="INCH",
    )  # fmt: skip
    return edge, edge
