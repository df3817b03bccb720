"""The facts of a scan file, as the records the catalogue keeps of it."""

from __future__ import annotations

from catalog import clock
from catalog.dates import parse_edtf
from catalog.imaging import ScanFile, worked_out_ppi
from catalog.intake.scan_folders import FoundScan
from catalog.model import File, RecordedDate, Scan, ScanPart
from catalog.rules.film_formats import film_size_mm
from catalog.store.files import FileAddress, FileRow
from catalog.store.writing import Writing


def new_file(address: FileAddress, found: FoundScan, facts: ScanFile) -> File:
    """Return the record of a file that was just read."""
    now = clock.timestamp()
    file = File(first_seen_at=now, last_checked_at=now)
    place_file(file, address)
    take_bytes(file, found, facts)
    return file


def place_file(file: File, address: FileAddress) -> None:
    """Write down where a file lies."""
    file.drive_id, file.path, file.raw_path, file.path_key = (
        address.drive_id, address.path, address.raw_path, address.path_key,
    )  # fmt: skip


def take_bytes(file: File, found: FoundScan, facts: ScanFile) -> None:
    """Write down what a file holds now, as checked now."""
    file.size_bytes, file.modified_ns = found.size_bytes, found.modified_ns
    file.sha256, file.picture_sha256 = facts.file_sha256, facts.picture_sha256
    file.state, file.damage = ("damaged" if facts.damage else "present"), facts.damage
    file.last_checked_at = clock.timestamp()
    if not facts.damage:
        file.last_good_at = file.last_checked_at


def take_facts(scan: Scan, facts: ScanFile) -> None:
    """Write down what a scan's header says. What a person said of it (polarity, side) is not touched."""
    # Case D01: the date in a scanner's file is that of the scanning, never of the exposure.
    # A known one stays: a person may have said it, and who edits a caption elsewhere may leave another.
    if scan.scanned is None or scan.scanned.edtf is None:
        date = parse_edtf(facts.scanned_on) if facts.scanned_on else None
        scan.scanned = RecordedDate.of(date, facts.scanned_as_written)
    scan.kind = facts.kind
    scan.device_maker, scan.device_model, scan.software = facts.make, facts.model, facts.software
    scan.width_px, scan.height_px, scan.bits = facts.width, facts.height, facts.bits
    scan.channels, scan.extra_channels, scan.colour = facts.channels, facts.extra_channels, facts.colour
    scan.compression, scan.profile = facts.compression, facts.profile
    scan.recorded_ppi = facts.recorded_ppi
    scan.white_is_zero, scan.orientation = facts.white_is_zero, facts.orientation
    scan.pages = len(facts.pages) or None
    scan.description = facts.description
    scan.facts = "\n".join(remarks_of(facts)) or None


def remarks_of(facts: ScanFile) -> list[str]:
    """Return what else a header said, a remark each."""
    remarks = list(facts.notes)
    if len(facts.pages) > 1:
        remarks += [
            f"page {number}: {page.width} x {page.height}, {page.role}{', this scan' if page.is_main else ''}"
            for number, page in enumerate(facts.pages)
        ]
    if facts.sample_format and facts.sample_format != "unsigned integer":
        remarks.append(f"samples: {facts.sample_format}")
    if facts.layout == "tiles":
        remarks.append("stored in tiles")
    if facts.date_time_original:
        remarks.append(f"the scanner's DateTimeOriginal: {facts.date_time_original}")
    if facts.lens_model:
        remarks.append(f"lens named in the header: {facts.lens_model}")
    return [" / ".join(remark.splitlines()) for remark in remarks]


def match_scan(
    writing: Writing,
    scan: Scan,
    sheet_id: int,
    *,
    matched_by: str,
    text: str | None,
    region: str | None = None,
) -> None:
    """Write down that a scan is of a sheet, and what its resolution is when it is of the whole of one."""
    scan.parts.append(ScanPart(sheet_id=sheet_id, region=region, matched_by=matched_by, matched_text=text))
    writing.session.flush()
    work_out_ppi(writing, scan)


def work_out_ppi(writing: Writing, scan: Scan) -> None:
    """Work a scan's resolution out from its pixels and the format of the one sheet it shows whole."""
    scan.worked_out_ppi = None
    if len(scan.parts) != 1 or scan.parts[0].region or not scan.width_px or not scan.height_px:
        return
    found = writing.raw.execute("SELECT format FROM sheet WHERE id = ?", (scan.parts[0].sheet_id,)).fetchone()
    film_mm = film_size_mm(found[0]) if found else None
    ppi = worked_out_ppi(scan.width_px, scan.height_px, film_mm) if film_mm else None
    scan.worked_out_ppi = ppi if ppi and ppi > 1 else None


def work_out_ppi_again(writing: Writing, sheet_id: int) -> None:
    """Work out the resolution of a sheet's scans anew, after its format was corrected."""
    writing.session.flush()
    found = writing.raw.execute("SELECT scan_id FROM scan_part WHERE sheet_id = ?", (sheet_id,)).fetchall()
    for (scan_id,) in found:
        work_out_ppi(writing, writing.session.get_one(Scan, scan_id))


def row_of(file: File, scan_id: int | None, version_id: int | None = None) -> FileRow:
    """Return a file's record as a row, for what is compared while more files are read."""
    return FileRow(
        file.id, scan_id, file.drive_id, file.path, file.raw_path, file.path_key, file.size_bytes,
        file.modified_ns, file.sha256, file.picture_sha256, file.state, file.damage,
        file.last_checked_at, file.last_good_at, version_id,
    )  # fmt: skip
