"""Settle by hand which file a scan is and whether a change was meant; correct what is said of a scan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TypedDict, Unpack

from catalog.actions._scan_records import place_file, take_bytes, take_facts
from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, called, get_record, join_phrases
from catalog.errors import NotFoundError
from catalog.imaging import ScanFile, read_scan_file
from catalog.intake.scan_folders import FoundScan
from catalog.model import File, Scan, Sidecar
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileRow, file_address, file_of_scan, file_rows, is_copy, place_of, shown_path
from catalog.store.writing import OnWait, Writing, deed, require


def locate_scan(
    archive: Archive,
    scan_id: int,
    path: Path,
    *,
    mounts: Sequence[Path] | None = None,
    on_wait: OnWait | None = None,
) -> None:
    """
    Record that a scan's file is the one at ``path`` now.

    Raises:
        RefusedError: it holds another picture, or is another scan's file.
        FileFormatError: it is no picture, or cannot be read.
    """
    resolved, name = path.resolve(), format_reference("scan", scan_id)
    facts, found = _read(resolved)
    with archive.reading() as connection:
        row, rows, drives = file_of_scan(connection, scan_id), file_rows(connection), drive_rows(connection)
    if row is None:
        raise NotFoundError(f"There is no scan {name}.")
    require(
        is_copy(row, facts.file_sha256, facts.picture_sha256),
        f"{shown_path(path)} holds another picture than {name} recorded. "
        "Nothing was changed; register it with: tiebeam scans add",
    )
    places = here(sight_drives(drives, mounts=mounts, near=[resolved]))
    address = file_address(resolved, archive.folder, places)
    other = next((one for one in rows if (one.drive_id, one.path) == (address.drive_id, address.path)), None)
    with deed(archive, "scans locate", f"{name} is at {shown_path(resolved)}", on_wait=on_wait) as writing:
        if other is None or other.id == row.id:
            file = writing.session.get_one(File, row.id)
        else:
            file = _change_file(writing, scan_id, row, other, place_of(row, archive.folder, places))
        place_file(file, address)
        take_bytes(file, found, facts)
        if facts.file_sha256 != row.sha256:
            take_facts(writing.session.get_one(Scan, scan_id), facts)


def _change_file(writing: Writing, scan_id: int, row: FileRow, other: FileRow, place: Path | None) -> File:
    """Let a scan be the file that was its copy; the former one stays as the copy unless it is gone."""
    require(other.scan_id is None, f"That file is scan {format_reference('scan', other.scan_id or 0)} already.")
    writing.session.get_one(Scan, scan_id).file_id = other.id
    writing.session.flush()
    if place is not None and not place.exists():
        writing.session.delete(writing.session.get_one(File, row.id))
    return writing.session.get_one(File, other.id)


def accept_scan(
    archive: Archive, scan_id: int, *, mounts: Sequence[Path] | None = None, on_wait: OnWait | None = None
) -> str | None:
    """
    Take a scan's file as it is now for what the scan is meant to be, and return its damage, if any.

    Raises:
        RefusedError: the file is not here.
        FileFormatError: it is no picture, or cannot be read.
    """
    name = format_reference("scan", scan_id)
    with archive.reading() as connection:
        row, drives = file_of_scan(connection, scan_id), drive_rows(connection)
    if row is None:
        raise NotFoundError(f"There is no scan {name}.")
    place = place_of(row, archive.folder, here(sight_drives(drives, mounts=mounts)))
    require(place is not None and place.exists(), f"The file of {name} is not here. Nothing was changed.")
    assert place is not None
    facts, found = _read(place)
    with deed(archive, "scans accept", f"took the file of {name} as it is now", on_wait=on_wait) as writing:
        take_bytes(writing.session.get_one(File, row.id), found, facts)
        take_facts(writing.session.get_one(Scan, scan_id), facts)
    return facts.damage


class ScanFacts(TypedDict, total=False):
    """What a person may say of a scan; what is not known to the person either is ``None``."""

    scanned: Date
    polarity: str | None
    is_reversed: bool | None


def correct_scan(archive: Archive, scan_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[ScanFacts]) -> None:
    """
    Record what a person says of a scan: negative or positive, wrong side up, when it was made.

    Raises:
        NotFoundError: there is no such scan.
        RefusedError: nothing is changed by it.
    """
    with at_desk(archive, "scans correct", desk) as writing:
        scan = get_record(writing.session, Scan, scan_id)
        changed = correct_record(writing, scan, facts)
        what = f"the scan {called(writing, 'scan', scan_id)}"
        refuse_no_change(changed, what)
        writing.session.flush()
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def remove_scan(archive: Archive, scan_id: int, *, on_wait: OnWait | None = None) -> str:
    """
    Take a scan out of the catalogue and return the path of its file, which is left as it is.

    Raises:
        RefusedError: notes or other records are about it.
    """
    name = format_reference("scan", scan_id)
    with archive.reading() as connection:
        row = file_of_scan(connection, scan_id)
    if row is None:
        raise NotFoundError(f"There is no scan {name}.")
    with deed(archive, "scans remove", f"took {name} ({row.path}) out", on_wait=on_wait) as writing:
        sidecar = writing.session.get(Sidecar, scan_id)
        if sidecar is not None:  # what was written beside the file stays there, as any other program's would
            writing.session.delete(sidecar)
            writing.session.flush()
        writing.session.delete(writing.session.get_one(Scan, scan_id))
        writing.session.flush()
        writing.session.delete(writing.session.get_one(File, row.id))
    return row.path


def _read(path: Path) -> tuple[ScanFile, FoundScan]:
    facts = read_scan_file(path)
    status = path.stat()
    return facts, FoundScan(path, status.st_size, status.st_mtime_ns)
