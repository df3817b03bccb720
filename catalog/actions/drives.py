"""Name the drives that scans lie on, and say where one is now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from catalog import clock
from catalog.actions._scan_records import place_file
from catalog.errors import RefusedError
from catalog.model import Drive, File
from catalog.store.archive import Archive
from catalog.store.drives import (
    MARKER_NAME,
    DriveRow,
    DriveSighting,
    depth_of,
    drive_rows,
    here,
    read_marker,
    sight_drives,
)
from catalog.store.files import file_address, file_rows, place_of, shown_path
from catalog.store.writing import OnWait, Writing, deed, require


@dataclass(frozen=True, slots=True)
class DriveAdded:
    """A drive that was named; ``had_marker``: its folder carried one already, nothing was written there."""

    id: int
    name: str
    folder: Path
    had_marker: bool
    files_taken: int
    """Files registered before, by their absolute paths, that are now known to lie on it."""


def add_drive(
    archive: Archive,
    folder: Path,
    *,
    name: str = "",
    mounts: Sequence[Path] | None = None,
    on_wait: OnWait | None = None,
) -> DriveAdded:
    """
    Name a folder as a drive: write its marker once, and know its files by it from now on.

    A marker that is there already is kept, never written over.

    Raises:
        RefusedError: the folder is none, or a drive already, or cannot be written to, or the name is taken.
    """
    folder = folder.resolve()
    require(folder.is_dir(), f"{shown_path(folder)} is no folder. Name the folder of the drive that holds scans.")
    require(
        shown_path(folder) == folder.as_posix(),
        f"{shown_path(folder)}: bytes of this path are not UTF-8. Rename that folder, then name the drive.",
    )
    name = name.strip() or shown_path(folder.name or folder.anchor)
    with archive.reading() as connection:
        drives, rows = drive_rows(connection), file_rows(connection)
    places = here(sight_drives(drives, mounts=mounts, near=[folder]))
    marker = read_marker(folder)
    _refuse_known(drives, marker, name, folder)
    had_marker = marker is not None
    if marker is None:
        marker = _write_marker(folder)
    try:
        with deed(archive, "drives add", f"named drive {name}", on_wait=on_wait) as writing:
            drive = Drive(
                name=name,
                marker=marker,
                last_path=shown_path(folder),
                depth=depth_of(folder, mounts),
                last_seen_at=clock.timestamp(),
            )
            writing.session.add(drive)
            writing.session.flush()
            taken = 0
            for row in rows:
                place = place_of(row, archive.folder, places)
                if place is not None and place.is_relative_to(folder):
                    address = file_address(place, archive.folder, {**places, drive.id: folder})
                    if address.drive_id == drive.id:
                        place_file(writing.session.get_one(File, row.id), address)
                        taken += 1
            return DriveAdded(drive.id, name, folder, had_marker, taken)
    except BaseException:
        if not had_marker:
            (folder / MARKER_NAME).unlink(missing_ok=True)
        raise


def _refuse_known(drives: Sequence[DriveRow], marker: str | None, name: str, folder: Path) -> None:
    for drive in drives:
        require(
            drive.marker != marker,
            f"{shown_path(folder)} carries the marker of drive {drive.name!r} ({drive.reference}). "
            f"If the drive is there now: tiebeam drives locate {drive.reference} FOLDER",
        )
        require(
            drive.name != name,
            f"There is a drive {name!r} already ({drive.reference}). Choose another --name.",
        )


def _write_marker(folder: Path) -> str:
    path = folder / MARKER_NAME
    token = clock.random_token(16)
    try:
        with path.open("x", encoding="ascii", newline="\n") as file:  # never over another
            file.write(f"{token}\n")
    except FileExistsError as exc:
        raise RefusedError(
            f"{shown_path(path)} is no marker that can be read. Move it away, then name the drive again."
        ) from exc
    except OSError as exc:
        raise RefusedError(
            f"{shown_path(folder)} cannot be written to ({exc.strerror or exc}). A drive is known by a small "
            f"file {MARKER_NAME} in it: make it writable once, or register its scans without naming it."
        ) from exc
    return token


def locate_drive(
    archive: Archive,
    drive_id: int,
    folder: Path,
    *,
    mounts: Sequence[Path] | None = None,
    on_wait: OnWait | None = None,
) -> Path:
    """
    Record where a drive's folder is now, and return it.

    Raises:
        RefusedError: the folder does not carry the drive's marker.
    """
    folder = folder.resolve()
    with archive.reading() as connection:
        drive = next(row for row in drive_rows(connection) if row.id == drive_id)
    found = read_marker(folder)
    lacks = "carries no marker" if found is None else "carries the marker of another drive"
    require(
        found == drive.marker,
        f"{shown_path(folder)} {lacks}, not that of {drive.name!r}. Name the folder with its {MARKER_NAME}.",
    )
    with deed(archive, "drives locate", f"drive {drive.name} is at {shown_path(folder)}", on_wait=on_wait) as writing:
        note_sighting(writing, DriveSighting(drive, folder), mounts)
    return folder


def note_sighting(writing: Writing, sighting: DriveSighting, mounts: Sequence[Path] | None = None) -> None:
    """Write down where and when a drive was seen."""
    if sighting.folder is None:
        return
    drive = writing.session.get_one(Drive, sighting.drive.id)
    drive.last_path, drive.last_seen_at = shown_path(sighting.folder), clock.timestamp()
    drive.depth = depth_of(sighting.folder, mounts)
