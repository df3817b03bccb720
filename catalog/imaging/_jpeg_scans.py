"""JPEG files as scans: their facts."""

from __future__ import annotations

from catalog.imaging._exif_facts import exif_facts
from catalog.imaging.resolution import recorded_ppi
from catalog.imaging.scan_file import ScanFile, ScanPage
from catalog.standards.exif import Exif, read_exif
from catalog.standards.icc import profile_description
from catalog.standards.jpeg import JpegFile

_RGB_NAMES = (ord("R"), ord("G"), ord("B"))


def jpeg_facts(jpeg: JpegFile, size_bytes: int) -> ScanFile:
    """Return the facts of a JPEG file."""
    unit, across, _ = jpeg.jfif_density or (0, 0, 0)
    has_tail = jpeg.bytes_after and not jpeg.damage
    notes = (f"{jpeg.bytes_after} bytes after the end of the picture",) if has_tail else ()
    facts = ScanFile(
        kind="JPEG",
        size_bytes=size_bytes,
        width=jpeg.width,
        height=jpeg.height,
        bits=jpeg.bits,
        channels=len(jpeg.components) or None,
        extra_channels=0 if jpeg.components else None,
        colour=_colour(jpeg),
        sample_format="unsigned integer",
        compression=f"JPEG ({jpeg.process})" if jpeg.process else "JPEG",
        # JFIF 1.02: unit 1 is the inch, 2 the centimetre; TIFF counts them as 2 and 3.
        recorded_ppi=recorded_ppi(across, unit + 1 if unit else None),
        profile=(profile_description(jpeg.profile) or "unnamed profile") if jpeg.profile else None,
        pages=(ScanPage(jpeg.width, jpeg.height, "picture", is_main=True),),
        damage=jpeg.damage,
        notes=notes,
    )
    return exif_facts(facts, read_exif(jpeg.exif) if jpeg.exif else Exif())


def _colour(jpeg: JpegFile) -> str | None:
    """Return the colour the components hold, as JFIF and the Adobe segment (APP14) define them."""
    match len(jpeg.components), jpeg.adobe_transform:
        case 0, _:
            return None
        case 1, _:
            return "grey"
        case 3, 0:
            return "RGB"
        case 3, None if jpeg.jfif_density is None and jpeg.components == _RGB_NAMES:
            return "RGB"
        case 3, _:
            return "YCbCr"
        case 4, 2:
            return "YCCK"
        case 4, _:
            return "CMYK"
        case count, _:
            return f"{count} channels"
