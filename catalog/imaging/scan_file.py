"""What is known of one scan file, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

_SUFFIXES = {".tif": "TIFF", ".tiff": "TIFF", ".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".dng": "DNG"}
# What the systems leave behind on a drive, files and folders, in lower case.
_LITTER = frozenset((
    ".ds_store", ".apdisk", ".appledouble", ".documentrevisions-v100", ".fseventsd", ".localized",
    ".spotlight-v100", ".temporaryitems", ".trashes", ".volumeicon.icns", "__macosx", "$recycle.bin",
    "@eadir", "desktop.ini", "ehthumbs.db", "icon\r", "lost+found", "system volume information", "thumbs.db",
))  # fmt: skip


def kind_by_name(name: str) -> str | None:
    """Return the kind of picture a file's name promises, None if it promises none."""
    dot = name.rfind(".")
    return _SUFFIXES.get(name[dot:].lower()) if dot > 0 else None


def is_scan_name(name: str) -> bool:
    """Return True if a file of this name may be a scan: ``.tif .tiff .jpg .jpeg .png .dng`` in any case."""
    return kind_by_name(name) is not None and not is_litter(name)


def is_litter(name: str) -> bool:
    """Return True for what systems leave on drives: ``._x``, ``.DS_Store``, ``Thumbs.db`` and their like."""
    return name.startswith("._") or name.lower() in _LITTER


@dataclass(frozen=True, slots=True)
class ScanPage:
    """One picture of a file: ``role`` is picture, preview, mask or mosaic."""

    width: int | None
    height: int | None
    role: str
    is_main: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanFile:
    """
    The facts of one scan file. None is not recorded, or could not be read.

    ``channels`` counts every sample of a pixel, ``extra_channels`` those beyond
    its colour. ``damage`` is None for a file that is whole as far as its own
    tables say; else the reason, and the picture's digest is None.
    """

    kind: str
    """``TIFF``, ``BigTIFF``, ``DNG``, ``JPEG`` or ``PNG``: by content, else by name."""
    size_bytes: int
    file_sha256: str = ""
    picture_sha256: str | None = None
    width: int | None = None
    height: int | None = None
    bits: int | None = None
    """Bits of one sample."""
    channels: int | None = None
    extra_channels: int | None = None
    colour: str | None = None
    """``grey``, ``RGB``, ``CMYK``, ``YCbCr``, ``palette``, ``Lab``, ``linear raw``, ``mosaic`` ..."""
    sample_format: str | None = None
    white_is_zero: bool = False
    orientation: int | None = None
    """1 to 8, as TIFF 6.0 numbers them."""
    compression: str | None = None
    layout: str | None = None
    """``strips`` or ``tiles``; None where the format has neither."""
    recorded_ppi: float | None = None
    profile: str | None = None
    """The colour profile's own description; None is no profile."""
    make: str | None = None
    model: str | None = None
    software: str | None = None
    scanned_on: str | None = None
    """The day of scanning, as EDTF. Never the day of exposure."""
    scanned_as_written: str | None = None
    """The text of the field that ``scanned_on`` was read from."""
    date_time_original: str | None = None
    """Exif's DateTimeOriginal as it stands, None if blank or zero. Not the date of exposure."""
    lens_model: str | None = None
    description: str | None = None
    pages: tuple[ScanPage, ...] = ()
    damage: str | None = None
    notes: tuple[str, ...] = ()
