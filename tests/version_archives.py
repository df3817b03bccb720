"""Archives with scans of negatives that have a picture, as the tests of edit versions need them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import tifffile

from catalog.actions.scans import add_scans
from catalog.imaging.icc_profiles import icc_profile
from catalog.store.archive import Archive
from tests.scan_archives import a_sheet, an_archive
from tests.store.archives import filled

GREY = "grey gamma 2.2"


def a_negative(
    path: Path, seed: int = 1, *, width: int = 380, height: int = 300, is_reversed: bool = False,
    colour: bool = False, **options: Any,
) -> Path:  # fmt: skip
    """
    Write a 16-bit scan of a whole sheet of film on open glass, its picture a ramp with grain, and return where.

    Base plus fog 0.2, the picture from 0.1 to 1.2 above it; a code notch on the right edge near the top, the emulsion
    towards the viewer, or on the left edge where it was scanned wrong side up (seen from 760 pixels of width on).
    """
    scale = width / 760
    glass, rebate = round(8 * scale), round(30 * scale)
    densities = np.zeros((height, width))
    densities[glass:-glass, glass:-glass] = 0.2
    inner = (slice(glass + rebate, -glass - rebate),) * 2
    shape = densities[inner].shape
    grain = np.random.default_rng(seed).normal(0, 0.01, shape)
    densities[inner] = 0.2 + np.linspace(0.1, 1.2, shape[1])[None, :] + grain
    densities[round(60 * scale) : round(72 * scale), -glass - round(9 * scale) :] = 0.0
    if is_reversed:
        densities = densities[:, ::-1]
    values = np.rint(65_535 * 10.0 ** (-densities / 2.2)).clip(0, 65_535).astype(np.uint16)
    if colour:
        values = np.dstack([values, values * 0.6, values * 0.4]).astype(np.uint16)
    path.parent.mkdir(parents=True, exist_ok=True)
    given = {"photometric": "rgb" if colour else "minisblack", "resolution": (240, 240), **options}
    tifffile.imwrite(path, np.ascontiguousarray(values), **given)
    return path


def with_profile(name: str = GREY) -> dict[str, Any]:
    """Return the option that embeds a colour profile in a file made by ``a_negative``."""
    return {"iccprofile": icc_profile(name)}


def an_archive_with_negatives(folder: Path, count: int = 1, **options: Any) -> Archive:
    """Return an archive of sheets ``80-0``, ``80-1`` ..., each with one scan of a negative in ``scans``."""
    return filled(an_archive(folder), _negatives(count, **options))


@cache
def _negatives(count: int, **options: Any) -> Callable[[Archive], None]:
    """Return what scans negatives into an archive; asked again, the same."""
    return lambda archive: _scan_negatives(archive, count, **options)


def _scan_negatives(archive: Archive, count: int, **options: Any) -> None:
    for number in range(count):
        a_sheet(archive, f"80-{number}")
        a_negative(archive.folder / "scans" / f"80-{number}.tif", number, **options)
    add_scans(archive, [archive.folder / "scans"])
