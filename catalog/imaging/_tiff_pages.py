"""The pages of a TIFF: which of them is the picture, and what the others are."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.imaging.scan_file import ScanPage
from catalog.standards.tiff import TiffDirectory, TiffReader

MASK, MOSAIC, LINEAR_RAW = 4, 32803, 34892  # TIFF 6.0, PhotometricInterpretation; TIFF/EP; DNG 1.6
_SIDES = range(1, 1 << 32)  # TIFF 6.0 §8: at most a LONG
TINY = 16
"""A page this many times smaller than the picture is a preview, flagged or not."""


@dataclass(frozen=True, slots=True)
class Page:
    """A directory that has a width and a height, and what it is: picture, preview, mask or mosaic."""

    directory: TiffDirectory
    width: int
    height: int
    photometric: int | None
    role: str

    @property
    def area(self) -> int:
        """Return its size in pixels."""
        return self.width * self.height


def pages_of(reader: TiffReader) -> list[Page]:
    """Return the pages of a TIFF in the order of their directories."""
    found = (_page(reader, directory) for directory in reader.directories)
    return [page for page in found if page]


def main_page(pages: list[Page]) -> Page:
    """Return the page that is the picture: the largest that is no preview or mask, the first of its size."""
    ranks = {"picture": 2, "mosaic": 2, "preview": 1, "mask": 0}
    # Design section 10: of a DNG the largest linear image, before any rendering or mosaic beside it.
    return max(pages, key=lambda page: (ranks[page.role], page.photometric == LINEAR_RAW, page.area))


def scan_pages(pages: list[Page], main: Page) -> tuple[ScanPage, ...]:
    """Return the pages as plain values; a tiny one beside the picture is a preview even without the flag."""
    return tuple(
        ScanPage(
            width=page.width,
            height=page.height,
            role="preview" if page.role == "picture" and TINY * page.area < main.area else page.role,
            is_main=page is main,
        )
        for page in pages
    )


def _page(reader: TiffReader, directory: TiffDirectory) -> Page | None:
    width, height = reader.integer(directory, 256), reader.integer(directory, 257)
    if width is None or height is None or width not in _SIDES or height not in _SIDES:
        return None
    photometric = reader.integer(directory, 262)
    return Page(directory, width, height, photometric, _role(reader, directory, photometric))


def _role(reader: TiffReader, directory: TiffDirectory, photometric: int | None) -> str:
    # TIFF 6.0 §8, NewSubfileType (254): bit 0 reduced, bit 2 a mask; DNG 1.5 adds bit 3, a depth map.
    # SubfileType (255), its forerunner: 2 is a reduced picture.
    flags = reader.integer(directory, 254, 0) or 0
    if flags & 0b1100 or photometric == MASK:
        return "mask"
    if flags & 1 or reader.integer(directory, 255) == 2:
        return "preview"
    return "mosaic" if photometric == MOSAIC else "picture"
