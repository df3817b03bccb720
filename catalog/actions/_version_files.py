"""The files of edit versions: written whole under a name of their own, read again, and made known to the catalogue."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.actions._scan_records import new_file, place_file, remarks_of, take_bytes
from catalog.errors import PictureDamagedError, PictureWriteError, RefusedError
from catalog.imaging import ScanFile, file_digest, read_scan_file
from catalog.intake.scan_folders import FoundScan
from catalog.model import EditVersion, File
from catalog.passing_files import PASSING_NAME, give_name, passing_name
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import file_address
from catalog.store.interrupted import encode_path
from catalog.store.sidecars import SettledFile, is_anyone_writing_files, settle_files
from catalog.store.writing import FileDeed, Writing

if TYPE_CHECKING:
    from catalog.imaging.tone_steps import ToneStep

Progress = Callable[[int, int], None]
_LEFTOVER = re.compile(rf"\.?{PASSING_NAME.pattern}(\..*\.tiebeam-part)?")
"""A picture not yet named, or what the writing of one leaves beside it when it is killed."""


def versions_folder(archive: Archive, named: Path | None) -> Path:
    """
    Return the folder that versions are written to: the one ``named``, else that of the settings, made if need be.

    Raises:
        RefusedError: the one named is not there; a drive may be away.
    """
    if named is not None:
        folder = named.absolute()
        if not folder.is_dir():
            raise RefusedError(f"{named} is no folder that is there. Make it first, or bring its drive back.")
        return folder
    folder = archive.folder / archive.settings.versions_folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise RefusedError(
            f"{folder}: {exc.strerror or exc}. Name a folder after --write, or under [versions] in tiebeam.toml."
        ) from exc
    return folder


def tidy_folder(archive: Archive, folder: Path) -> None:
    """Take away what a killed process left half written, unless somebody writes now."""
    with archive.reading() as connection:
        if is_anyone_writing_files(connection):
            return
    for path in folder.iterdir():
        if _LEFTOVER.fullmatch(path.name):
            _take_away(path)


def _take_away(path: Path) -> None:
    with suppress(OSError):  # it is in nobody's way, and the next writing tries again
        path.unlink(missing_ok=True)


def write_version(
    deed: FileDeed,
    archive: Archive,
    version_id: int,
    scan: Path,
    steps: Sequence[ToneStep],
    target: Path,
    progress: Progress | None = None,
) -> ScanFile:
    """
    Write a version's picture at ``target`` and make it known as the version's file; return what its header says.

    The picture is made under a passing name, read again, and only then named: the daybook knows before that what
    the file is to hold.

    Raises:
        ToneStepError, PictureError: it cannot be made, or not be written. Nothing is left of it.
    """
    from catalog.imaging.positives import write_positive

    if (facts := _written_by_a_killed_run(archive, target)) is not None:
        with deed.step() as writing:
            keep_file(writing, archive, version_id, target, facts)
        return facts
    _refuse_taken(target)
    passing = target.with_name(passing_name())
    try:
        with _named(target, passing):
            written = write_positive(scan, steps, passing, progress=progress)
        facts = read_scan_file(passing)
        if facts.file_sha256 != written.sha256 or facts.damage:
            raise PictureDamagedError(target, "what the disk gives back is not what was written; look to the disk")
        (intended,) = deed.intend([(str(target), None, None, written.sha256)])
        try:
            _name(passing, target)
        except BaseException:
            deed.settle_files([(intended, "not done", "could not be named")])
            raise
    finally:
        _take_away(passing)
    with deed.step() as writing:
        settle_files(writing, [SettledFile(intended)])
        keep_file(writing, archive, version_id, target, facts)
    return facts


@contextmanager
def _named(target: Path, passing: Path) -> Iterator[None]:
    """Speak of a file by the name it was to have."""
    try:
        yield
    except PictureWriteError as exc:
        raise PictureWriteError(target, exc.reason) if exc.path == passing else exc from exc


def _written_by_a_killed_run(archive: Archive, target: Path) -> ScanFile | None:
    """
    Return what a picture's header says that a killed run named and could not enter any more; else ``None``.

    Its name holds the version's reference, and the daybook the digest it was written with.
    """
    with archive.reading() as connection:
        told = connection.execute(
            "SELECT after_sha256 FROM deed_file f JOIN deed d ON d.id = f.deed_id"
            " WHERE f.path = ? AND f.state = 'done' AND d.state = 'interrupted' ORDER BY f.id DESC LIMIT 1",
            (encode_path(str(target)),),
        ).fetchone()
    if told is None or not target.is_file() or file_digest(target) != told[0]:
        return None
    return read_scan_file(target)


def _refuse_taken(target: Path) -> None:
    if os.path.lexists(target):
        raise PictureWriteError(target, "there is a file of this name already; move it away, or name another folder")


def _name(passing: Path, target: Path) -> None:
    """Give a file its name, in this program's words where that cannot be."""
    try:
        give_name(passing, target)
    except FileExistsError:
        _refuse_taken(target)
        raise
    except OSError as exc:
        raise PictureWriteError(target, f"cannot be named ({exc.strerror or exc}); nothing was kept") from exc


def keep_file(writing: Writing, archive: Archive, version_id: int, path: Path, facts: ScanFile) -> None:
    """Write down the file of a version, and what its header says."""
    file = place_in_catalogue(writing, archive, path, facts)
    version = writing.session.get_one(EditVersion, version_id)
    version.file_id = file.id
    take_version_facts(version, facts)


def place_in_catalogue(writing: Writing, archive: Archive, path: Path, facts: ScanFile) -> File:
    """Write down a file as it is now, in the record of its place if there is one, and return the record."""
    status = path.stat()
    found = FoundScan(path, status.st_size, status.st_mtime_ns)
    drives = here(sight_drives(drive_rows(writing.raw), near=[path]))
    address = file_address(path, archive.folder, drives)
    known = writing.raw.execute(
        "SELECT id FROM file WHERE drive_id IS ? AND path = ?", (address.drive_id, address.path)
    ).fetchone()
    if known is None:
        file = new_file(address, found, facts)
        writing.session.add(file)
    else:
        file = writing.session.get_one(File, known[0])
        place_file(file, address)
        take_bytes(file, found, facts)
    writing.session.flush()
    return file


def take_version_facts(version: EditVersion, facts: ScanFile, warnings: Sequence[str] = ()) -> None:
    """Write down what the header of a version's file says, and what was found wanting."""
    version.kind, version.width_px, version.height_px = facts.kind, facts.width, facts.height
    version.bits, version.channels, version.colour = facts.bits, facts.channels, facts.colour
    version.recorded_ppi, version.profile = facts.recorded_ppi, facts.profile
    version.facts = "\n".join([*remarks_of(facts), *warnings]) or None
