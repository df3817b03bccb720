"""Real files that lie beside the project; a test that needs one is skipped by its name without it."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent.parent.parent / "shared" / "reference" / "samples"
PICTURE_SUFFIXES = {".tif", ".tiff", ".jpg"}

PICTURES = (
    "BigTIFF.tif",
    "BlueSquare.tif",
    "BlueSquare450.tif",
    "Epson_PerfectionV800.tiff",
    "IPTC-PhotometadataRef-Std2023.2.jpg",
    "extended_xmp.jpg",
    "grey16_thermal.tif",
    "iim_190_latin1.jpg",
    "iim_latin1_no190.jpg",
    "latin1_iim.tif",
    "made_16bit_grey_iim_xmp_exif.tif",
    "photoshop_3.jpg",
    "utf8_iim_structs.jpg",
    "xmp_nul_inside.jpg",
)


def sample(name: str) -> Path:
    """Return the path of a reference file, or skip the test that asks for it, naming the file."""
    path = FOLDER / name
    if not path.is_file():
        pytest.skip(f"the reference file {name} is not beside this repository")
    return path


def manifest() -> dict[str, dict[str, str]]:
    """Return the list that came with the reference files, by file name."""
    with sample("MANIFEST.csv").open(encoding="utf-8", newline="") as rows:
        return {row["file"]: row for row in csv.DictReader(rows)}
