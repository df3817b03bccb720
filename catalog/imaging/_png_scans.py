"""PNG files as scans: their facts."""

from __future__ import annotations

from catalog.imaging._exif_facts import exif_facts
from catalog.imaging.resolution import recorded_ppi
from catalog.imaging.scan_file import ScanFile, ScanPage
from catalog.standards.exif import Exif, read_exif
from catalog.standards.icc import profile_description
from catalog.standards.png import COLOUR_TYPES, PngFile

_INCH = 2
_INCHES_PER_METRE = 0.0254


def png_facts(png: PngFile, size_bytes: int) -> ScanFile:
    """Return the facts of a PNG file."""
    colour, channels = COLOUR_TYPES.get(png.colour_type if png.colour_type is not None else -1, (None, None))
    texts = dict(reversed(png.texts))
    per_metre = png.pixels_per_metre[0] if png.pixels_per_metre else None
    has_tail = png.bytes_after and not png.damage
    notes = [f"{png.bytes_after} bytes after the end of the picture"] if has_tail else []
    notes += ["interlaced"] if png.is_interlaced else []
    notes += ["declares sRGB without a profile"] if png.is_srgb and not png.profile else []
    facts = ScanFile(
        kind="PNG",
        size_bytes=size_bytes,
        width=png.width,
        height=png.height,
        bits=png.bits,
        channels=channels,
        # PNG §11.2.2: colour types 4 and 6 carry an alpha channel beside the colour.
        extra_channels=None if colour is None else 1 if png.colour_type in (4, 6) else 0,
        colour=colour,
        sample_format="unsigned integer",
        compression="deflate",
        recorded_ppi=recorded_ppi(per_metre * _INCHES_PER_METRE if per_metre else None, _INCH),
        profile=_profile(png),
        software=texts.get("Software"),
        description=texts.get("Description"),
        pages=(ScanPage(png.width, png.height, "picture", is_main=True),),
        damage=png.damage,
        notes=tuple(notes),
    )
    return exif_facts(facts, read_exif(png.exif) if png.exif else Exif())


def _profile(png: PngFile) -> str | None:
    named = profile_description(png.profile) if png.profile else None
    return named or png.profile_name or ("unnamed profile" if png.profile else None)
