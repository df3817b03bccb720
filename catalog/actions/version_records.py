"""Register working files made elsewhere as edit versions, and correct what is said of a version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict, Unpack

from catalog.actions._version_files import keep_file, place_in_catalogue, take_version_facts
from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, called, get_record, join_phrases, recorded
from catalog.errors import NotFoundError, RefusedError
from catalog.imaging import ScanFile, file_digest, is_scan_name, read_scan_file
from catalog.model import EditVersion, File, VersionSource
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileRow, file_address, file_of_version, file_rows, is_copy, place_of, shown_path
from catalog.store.scans import get_scan
from catalog.store.versions import get_version, version_sources
from catalog.store.writing import Writing, require

OTHER_KINDS = ("psd", "psb", "jp2", "j2k", "jxl", "webp", "heic", "heif", "avif")
"""Kinds of working files that are known by their bytes alone: this program does not look into them."""


@dataclass(frozen=True, slots=True)
class Source:
    """What a version was made from: a scan, an earlier version, or a sheet of which the scan is not known."""

    scan_id: int | None = None
    version_id: int | None = None
    sheet_id: int | None = None

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        if self.scan_id is not None:
            return format_reference("scan", self.scan_id)
        if self.version_id is not None:
            return format_reference("edit_version", self.version_id)
        return format_reference("sheet", self.sheet_id or 0)


class VersionFacts(TypedDict, total=False):
    """What a person may say of a version."""

    purpose: str | None
    note: str | None
    made: Date
    made_with: str | None
    replaces_id: int | None


@dataclass(frozen=True, slots=True)
class VersionAdded:
    """A version that was registered, and what was found wanting in its file."""

    version_id: int
    warnings: tuple[str, ...]


def add_version(
    archive: Archive, path: Path, sources: Sequence[Source], *, desk: Desk = AT_DESK, **facts: Unpack[VersionFacts]
) -> VersionAdded:
    """
    Register a working file as an edit version, by its bytes, with what it was made from. The file is only read.

    Raises:
        RefusedError: it is a scan or a version already, or holds a scan's picture.
        FileFormatError: it is damaged, or no picture.
        NotFoundError: what it was made from is not there.
    """
    resolved = path.resolve()
    header = _read_working_file(resolved)
    require(sources, "Say what it was made from: --from SCAN. Nothing was changed.")
    _refuse_known(archive, resolved, header)
    with at_desk(archive, "versions add", desk) as writing:
        if facts.get("replaces_id"):
            get_record(writing.session, EditVersion, int(facts["replaces_id"] or 0))
        file = place_in_catalogue(writing, archive, resolved, header)
        version = EditVersion(file_id=file.id, **_fit(facts))
        _set_sources(writing, version, sources)
        warnings = warnings_of(writing, sources, header)
        take_version_facts(version, header, warnings)
        writing.session.add(version)
        writing.session.flush()
        made_from = ", ".join(source.reference for source in sources)
        reference = format_reference("edit_version", version.id)
        writing.say(
            join_phrases(f"registered {shown_path(path.name)} as edit version {reference}", f"made from {made_from}")
        )
        return VersionAdded(version.id, tuple(warnings))


def _fit(facts: VersionFacts) -> dict[str, object]:
    from catalog.actions.facts import check_facts

    given = {name: value for name, value in facts.items() if name != "made"}
    return {**check_facts(EditVersion, given), "made": recorded(facts.get("made"))}


def _read_working_file(path: Path) -> ScanFile:
    """Return what a working file's header says; of a kind that is not looked into, its bytes alone."""
    suffix = path.suffix.lower().lstrip(".")
    if is_scan_name(path.name) or not path.is_file():
        facts = read_scan_file(path)
        require(facts.damage is None, f"{shown_path(path.name)} is damaged: {facts.damage}. Nothing was changed.")
        return facts
    require(
        suffix in OTHER_KINDS,
        f"{shown_path(path.name)} is no picture by its name. Working files are TIFF, JPEG, PNG, DNG, or one of: "
        f"{', '.join(OTHER_KINDS)}. Nothing was changed.",
    )
    digest = file_digest(path)
    return ScanFile(
        kind=suffix.upper(), size_bytes=path.stat().st_size, file_sha256=digest,
        notes=(f"known by its bytes alone: {suffix.upper()} is not looked into",),
    )  # fmt: skip


def _refuse_known(archive: Archive, path: Path, header: ScanFile) -> None:
    with archive.reading() as connection:
        rows, drives = file_rows(connection), here(sight_drives(drive_rows(connection), near=[path]))
    address = file_address(path, archive.folder, drives)
    at_place = [row for row in rows if (row.drive_id, row.path) == (address.drive_id, address.path)]
    alike = [row for row in rows if is_copy(row, header.file_sha256, header.picture_sha256)]
    for row in (*at_place, *alike):
        if row.reference is not None:
            _refuse_as(row, place_of(row, archive.folder, drives), path)


def _refuse_as(row: FileRow, place: Path | None, path: Path) -> None:
    name = shown_path(path.name)
    if row.scan_id is not None:
        raise RefusedError(
            f"{name} holds the picture of scan {row.reference} ({row.path}); an edit version is another picture. "
            "Nothing was changed."
        )
    is_gone = place is not None and place != path and not place.exists()
    hint = " That is no longer there; let the record follow it: tiebeam scans verify" if is_gone else ""
    raise RefusedError(f"{name} is edit version {row.reference} already ({row.path}).{hint} Nothing was changed.")


def _set_sources(writing: Writing, version: EditVersion, sources: Sequence[Source]) -> None:
    for source in sources:
        table = "scan" if source.scan_id else "edit_version" if source.version_id else "sheet"
        called(writing, table, source.scan_id or source.version_id or source.sheet_id or 0)
    references = [source.reference for source in sources]
    twice = next((one for one in references if references.count(one) > 1), None)
    require(twice is None, f"{twice} is named twice as what it was made from. Nothing was changed.")
    version.sources = [
        VersionSource(
            position=position, scan_id=source.scan_id, source_version_id=source.version_id, sheet_id=source.sheet_id
        )
        for position, source in enumerate(sources, 1)
    ]


def warnings_of(writing: Writing, sources: Sequence[Source], header: ScanFile) -> list[str]:
    """Return what a working file lost of what its scans had: the colour profile (case B15), half of the depth."""
    if header.bits is None:  # of a kind that is not looked into
        return []
    warnings = []
    for source in sources:
        before: tuple[str | None, int | None] = (None, None)
        if source.scan_id is not None and (scan := get_scan(writing.raw, source.scan_id)) is not None:
            before = (scan.profile, scan.bits)
        elif source.version_id is not None and (version := get_version(writing.raw, source.version_id)) is not None:
            before = (version.profile, version.bits)
        profile, bits = before
        if profile and header.profile is None:
            warnings.append(f"it has no colour profile; {source.reference} has {profile}")
        if bits == 16 and header.bits == 8:
            warnings.append(f"it has 8 bits; {source.reference} has 16")
    return warnings


def correct_version(
    archive: Archive,
    version_id: int,
    *,
    sources: Sequence[Source] | None = None,
    desk: Desk = AT_DESK,
    **facts: Unpack[VersionFacts],
) -> None:
    """
    Correct what is said of a version, and what it was made from. Its steps and its file stay what they are.

    Raises:
        RefusedError: nothing is changed by it, or it would come from or replace itself.
        NotFoundError: the version, or what it is to come from or replace, is not there.
    """
    with at_desk(archive, "versions correct", desk) as writing:
        version = get_record(writing.session, EditVersion, version_id)
        if facts.get("replaces_id"):
            get_record(writing.session, EditVersion, int(facts["replaces_id"] or 0))
        changed = correct_record(writing, version, facts, tables={"replaces_id": "edit_version"})
        before = [one.reference for one in version_sources(writing.raw, version_id)]
        if sources is not None and [one.reference for one in sources] != before:
            require(
                version.steps is None or not before,
                f"W{version_id} has steps that were taken on {', '.join(before)}; make another version instead.",
            )
            version.sources.clear()
            writing.session.flush()
            _set_sources(writing, version, sources)
            changed.append(f"made from {', '.join(one.reference for one in sources)}")
        what = f"the edit version {called(writing, 'edit_version', version_id)}"
        refuse_no_change(changed, what)
        writing.session.flush()
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def accept_version(archive: Archive, version_id: int, *, desk: Desk = AT_DESK) -> tuple[str, ...]:
    """
    Take a working file as it is now for what the version is meant to be, and return what it lost of its scan's.

    Raises:
        RefusedError: the version has no file, it is not here, or the program itself wrote it.
        FileFormatError: it is damaged, or no picture.
    """
    name = format_reference("edit_version", version_id)
    with archive.reading() as connection:
        version, row = get_version(connection, version_id), file_of_version(connection, version_id)
        drives = here(sight_drives(drive_rows(connection)))
        sources = version_sources(connection, version_id)
    if version is None:
        raise NotFoundError(f"There is no edit version {name}.")
    require(row is not None, f"{name} has no file. Nothing was changed.")
    require(
        version.steps is None,
        f"{name} was written by its recorded steps, and its file no longer is what they give. Register the other "
        "picture as a version of its own: tiebeam versions add",
    )
    assert row is not None
    place = place_of(row, archive.folder, drives)
    require(place is not None and place.exists(), f"The file of {name} is not here. Nothing was changed.")
    assert place is not None
    header = _read_working_file(place)
    made_from = [Source(one.scan_id, one.source_version_id, one.sheet_id) for one in sources]
    with at_desk(archive, "versions accept", desk) as writing:
        keep_file(writing, archive, version_id, place, header)
        warnings = warnings_of(writing, made_from, header)
        take_version_facts(writing.session.get_one(EditVersion, version_id), header, warnings)
        writing.say(f"took the file of {name} ({row.path}) as it is now")
    return tuple(warnings)


def remove_version(archive: Archive, version_id: int, *, desk: Desk = AT_DESK) -> str | None:
    """
    Take a version out of the catalogue and return the path of its file, which is left as it is.

    Raises:
        RefusedError: prints, other versions or notes point to it.
        NotFoundError: there is none.
    """
    with archive.reading() as connection:
        row = file_of_version(connection, version_id)
    with at_desk(archive, "versions remove", desk) as writing:
        what = called(writing, "edit_version", version_id)
        writing.session.delete(get_record(writing.session, EditVersion, version_id))
        writing.session.flush()
        if row is not None:
            writing.session.delete(writing.session.get_one(File, row.id))
        writing.say(f"took {what} out")
    return row.path if row is not None else None
