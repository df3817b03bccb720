"""What Exif says of a scan: by what it was made, and on which day."""

from __future__ import annotations

from dataclasses import replace

from catalog.imaging.resolution import recorded_ppi
from catalog.imaging.scan_file import ScanFile
from catalog.standards.exif import Exif, exif_date_to_edtf


def exif_facts(facts: ScanFile, exif: Exif) -> ScanFile:
    """Return ``facts`` with what Exif adds; nothing that is known already is replaced."""
    # DateTimeDigitized is when the picture became data. TIFF's DateTime is when the file was made, though an
    # editor may have renewed it. DateTimeOriginal would be the exposure; no scanner knows that: never taken.
    dates = [text for text in (exif.date_time_digitized, exif.date_time) if exif_date_to_edtf(text)]
    written = dates[0] if dates else None
    return replace(
        facts,
        description=facts.description or exif.description,
        make=exif.make,
        model=exif.model,
        software=facts.software or exif.software,
        lens_model=exif.lens_model,
        orientation=exif.orientation if exif.orientation in range(1, 9) else None,
        recorded_ppi=facts.recorded_ppi or recorded_ppi(exif.x_resolution, exif.resolution_unit),
        scanned_on=exif_date_to_edtf(written),
        scanned_as_written=written,
        date_time_original=exif.date_time_original if exif_date_to_edtf(exif.date_time_original) else None,
        notes=(*facts.notes, *_unreadable_dates(exif)),
    )


def _unreadable_dates(exif: Exif) -> tuple[str, ...]:
    """Name dates that say something, but no day there is; zeros and blanks say nothing."""
    named = (
        ("digitized", exif.date_time_digitized),
        ("file", exif.date_time),
        ("original", exif.date_time_original),
    )
    return tuple(
        f"its {name} date is no date: {text[:40]!r}"
        for name, text in named
        if text and text.strip("0: -/.T") and not exif_date_to_edtf(text)
    )
