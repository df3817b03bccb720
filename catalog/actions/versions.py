"""
Make edit versions: tone steps are recorded, and on request the picture is written.

One daybook entry however many sheets; one transaction a version. A version is recorded before its picture is written,
so that whatever happens to the writing, the steps are there and ``write_versions`` can follow them again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from catalog import clock
from catalog.actions._late_deeds import LateDeed
from catalog.actions._scan_tones import as_said, keep_measured, known_reading, measure
from catalog.actions._version_files import tidy_folder, versions_folder, write_version
from catalog.actions.version_wishes import PLAINLY, ToneWishes, wished_steps
from catalog.dates import parse_edtf
from catalog.errors import CatalogError, NotFoundError
from catalog.model import EditVersion, RecordedDate, VersionSource
from catalog.rules.counting import counted
from catalog.rules.references import format_reference
from catalog.rules.versions import is_side_open, version_file_name
from catalog.store.archive import Archive
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileAddress, place_of, shown_path
from catalog.store.scans import ScanRow, get_scan
from catalog.store.versions import VersionRow, get_version, version_sources, versions_made_of
from catalog.store.writing import OnWait, require_text

if TYPE_CHECKING:
    from catalog.imaging.scan_reading import ScanReading
    from catalog.imaging.tone_steps import ToneStep

OnShare = Callable[[float], None]
"""Told how much of the whole is done, from 0 to 1."""


@dataclass(frozen=True, slots=True)
class VersionDone:
    """
    What became of one scan, or of one version to be written.

    ``outcome`` is ``made`` (recorded), ``written``, ``here`` (made before), ``away``, ``blocked`` (its side is in
    question), ``asks`` (several scans, none chosen), or ``failed``; ``reason`` says why. A version with a number is
    recorded whatever became of its file.
    """

    outcome: str
    scan_id: int | None = None
    sheet_id: int | None = None
    version_id: int | None = None
    steps: tuple[ToneStep, ...] = ()
    path: Path | None = None
    reason: str | None = None

    @property
    def is_finding(self) -> bool:
        """Whether somebody has to look at it."""
        return self.outcome not in ("made", "written", "here")

    def words(self) -> str:
        """Return what was made, in a line."""
        from catalog.imaging.tone_steps import words_of_steps

        name = format_reference("edit_version", self.version_id) if self.version_id else "an edit version"
        scan = f" from {format_reference('scan', self.scan_id)}" if self.scan_id else ""
        return f"{name}{scan}: {words_of_steps(self.steps)}"


@dataclass(frozen=True, slots=True)
class _Ready:
    """A scan whose steps are known."""

    scan: ScanRow
    path: Path | None
    steps: tuple[ToneStep, ...]


class _CannotMake(Exception):  # noqa: N818 - carries an outcome, not a fault of the program
    def __init__(self, outcome: str, reason: str) -> None:
        self.outcome, self.reason = outcome, reason


def make_versions(
    archive: Archive,
    scans: Sequence[int],
    wishes: ToneWishes = PLAINLY,
    *,
    purpose: str | None = None,
    replaces_id: int | None = None,
    note: str | None = None,
    write: bool = False,
    folder: Path | None = None,
    dry_run: bool = False,
    on_share: OnShare = lambda _share: None,
    on_wait: OnWait | None = None,
    reuse: bool = False,
    arguments: str = "",
) -> Iterator[VersionDone]:
    """
    Make an edit version of each scan and tell what became of each; with ``write``, its picture too.

    A bad file never stops the others. With ``reuse``, a version of the same scan, steps and purpose that is there is
    not made again, only written if it is not yet. ``arguments`` are what the command was given, to be typed again if
    the deed is cut short. Everything is done once the iterator is exhausted.

    Raises:
        RefusedError: the folder to write to is not there, or purpose or note hold bytes that are not text.
        NotFoundError: the version to be replaced is not there.
    """
    require_text(purpose, note)
    with archive.reading() as connection:
        if replaces_id is not None and get_version(connection, replaces_id) is None:
            raise NotFoundError(f"There is no edit version W{replaces_id}. Nothing was changed.")
    target = _folder(archive, folder, dry_run=dry_run) if write else None
    with LateDeed(archive, "versions make", arguments, on_wait) as deed:
        making = _Making(archive, deed, purpose, replaces_id, note, target, on_wait, reuse=reuse)
        done: list[VersionDone] = []
        yield from _each(
            deed, scans, done, on_share, lambda scan_id, share: making.make(scan_id, wishes, share, dry_run=dry_run)
        )
        deed.finish(_said(done))


def _each(
    deed: LateDeed, ids: Sequence[int], done: list[VersionDone], on_share: OnShare,
    work: Callable[[int, Callable[[int, int], None]], VersionDone],
) -> Iterator[VersionDone]:  # fmt: skip
    """Do the work for each in turn and add what became of it to ``done``; a deed that is stopped is broken off."""
    try:
        for number, one_id in enumerate(ids):
            share = _shares(on_share, number, len(ids))
            one = work(one_id, share)
            share(1, 1)
            done.append(one)
            yield one
    except (KeyboardInterrupt, GeneratorExit):
        _break_off(deed, done)
        raise


def _folder(archive: Archive, named: Path | None, *, dry_run: bool) -> Path | None:
    if dry_run and named is None:
        return None
    folder = versions_folder(archive, named)
    if not dry_run:
        tidy_folder(archive, folder)
    return folder


def _shares(on_share: OnShare, number: int, count: int) -> Callable[[int, int], None]:
    def told(done: int, length: int) -> None:
        on_share((number + (done / length if length else 1.0)) / count)

    return told


def _break_off(deed: LateDeed, done: Sequence[VersionDone]) -> None:
    if deed.begun is not None:
        deed.begun.break_off(f"{_said(done)}, then stopped", deed.left_to_do)


def _said(done: Sequence[VersionDone]) -> str:
    """Return the daybook's words for a run."""
    made = [one for one in done if one.version_id is not None and one.outcome != "here"]
    written = sum(one.outcome == "written" for one in made)
    findings = sum(one.is_finding for one in done)
    if len(done) == 1 and made:
        return f"made {made[0].words()}" + (f"; written to {shown_path(made[0].path)}" if made[0].path else "")
    said = f"made {counted(len(made), 'edit version')}"
    said += f", {written} written" if written else ""
    return said + (f"; {findings} to look at" if findings else "")


class _Making:
    """One run over scans."""

    def __init__(
        self, archive: Archive, deed: LateDeed, purpose: str | None, replaces_id: int | None, note: str | None,
        folder: Path | None, on_wait: OnWait | None, *, reuse: bool,
    ) -> None:  # fmt: skip
        self._on_wait = on_wait
        self._archive, self._deed, self._folder, self._reuse = archive, deed, folder, reuse
        self._purpose, self._replaces_id, self._note = purpose, replaces_id, note
        with archive.reading() as connection:
            self._drives = here(sight_drives(drive_rows(connection)))

    def make(
        self, scan_id: int, wishes: ToneWishes, progress: Callable[[int, int], None], *, dry_run: bool
    ) -> VersionDone:
        """Make the version of one scan."""
        version_id: int | None = None
        steps: tuple[ToneStep, ...] = ()
        try:
            ready = self._ready(scan_id, wishes, dry_run=dry_run)
            steps = ready.steps
            if dry_run:
                return VersionDone("made", scan_id, steps=steps)
            found = self._same(ready) if self._reuse else None
            if found is not None and (found.file_id is not None or self._folder is None):
                return VersionDone("here", scan_id, version_id=found.id, steps=steps)
            version_id = found.id if found is not None else self._record(ready)
            if self._folder is None:
                return VersionDone("made", scan_id, version_id=version_id, steps=steps)
            path = self._write(ready, version_id, progress)
            return VersionDone("written", scan_id, version_id=version_id, steps=steps, path=path)
        except _CannotMake as cannot:
            return VersionDone(cannot.outcome, scan_id, reason=cannot.reason)
        except CatalogError as exc:
            said = str(exc).rstrip(".")
            reason = f"{said}. {_again(version_id)}" if version_id else said
            return VersionDone("failed", scan_id, version_id=version_id, steps=steps, reason=reason)

    def _ready(self, scan_id: int, wishes: ToneWishes, *, dry_run: bool) -> _Ready:
        """Measure a scan, or look up what was measured, and find its steps."""
        with self._archive.reading() as connection:
            scan = get_scan(connection, scan_id)
            if scan is None:
                raise NotFoundError(f"There is no scan C{scan_id}.")
            reading = known_reading(connection, scan)
        if scan.state == "damaged" and scan.damage:
            raise _CannotMake("failed", f"{shown_path(scan.name)} is damaged: {scan.damage}. Restore a good copy first")
        path = place_of(FileAddress(scan.drive_id, scan.path, scan.raw_path, ""), self._archive.folder, self._drives)
        if reading is None or self._folder is not None:
            path = _unchanged(scan, path)
        if reading is None:
            assert path is not None
            reading = measure(path)
            if not dry_run:
                keep_measured(self._archive, scan, reading, self._on_wait)
        if self._folder is not None:
            _refuse_open_side(scan, reading)
        with self._archive.reading() as connection:
            said = as_said(connection, scan, reading, self._archive.settings.scans_medium)
        return _Ready(scan, path, wished_steps(said, wishes))

    def _same(self, ready: _Ready) -> VersionRow | None:
        """Return the version that is made of this scan by these steps for this purpose already."""
        from catalog.imaging.tone_steps import format_steps

        text = format_steps(ready.steps)
        with self._archive.reading() as connection:
            made = [get_version(connection, one) for one in versions_made_of(connection, ready.scan.id)]
        same = [one for one in made if one and (one.steps, one.purpose) == (text, self._purpose)]
        return same[0] if same else None

    def _record(self, ready: _Ready) -> int:
        from catalog.imaging.tone_steps import format_steps

        with self._deed.step() as writing:
            version = EditVersion(
                steps=format_steps(ready.steps), purpose=self._purpose, replaces_id=self._replaces_id, note=self._note,
                made=RecordedDate.of(parse_edtf(clock.today().isoformat())), made_with=program_words(),
            )  # fmt: skip
            version.sources.append(VersionSource(position=1, scan_id=ready.scan.id))
            writing.session.add(version)
            writing.session.flush()
            return version.id

    def _write(self, ready: _Ready, version_id: int, progress: Callable[[int, int], None]) -> Path:
        assert self._folder is not None
        assert ready.path is not None
        target = self._folder / file_name(self._archive, version_id)
        write_version(self._deed.begin(), self._archive, version_id, ready.path, ready.steps, target, progress)
        return target


def _unchanged(scan: ScanRow, path: Path | None) -> Path:
    """Return where a scan is, if it holds the picture that was registered; else say why not."""
    from catalog.imaging.scan_files import holds_registered_picture

    name = shown_path(scan.name)
    if path is None:
        raise _CannotMake("away", f"{name} is on {scan.drive_name}, which is away. Bring it back and make it again")
    try:
        is_same = holds_registered_picture(
            path, size_bytes=scan.size_bytes, modified_ns=scan.modified_ns, picture_sha256=scan.picture_sha256
        )
    except OSError as exc:
        raise _CannotMake(
            "failed", f"{name} is not there ({exc.strerror or exc}). Where it may be: tiebeam scans verify"
        ) from exc
    if not is_same:
        raise _CannotMake("failed", f"{name} was changed since it was registered. Look at it: tiebeam scans verify")
    return path


def _refuse_open_side(scan: ScanRow, reading: ScanReading) -> None:
    """Refuse to write a picture that may be the wrong way round (case J16)."""
    said = None if scan.is_reversed is None else bool(scan.is_reversed)
    if is_side_open(said=said, seen=reading.is_reversed):
        raise _CannotMake(
            "blocked",
            f"{shown_path(scan.name)} seems scanned wrong side up ({reading.reversed_reason}). Say whether it was: "
            f"tiebeam scans correct {scan.reference} --reversed, or --not-reversed",
        )


def _again(version_id: int) -> str:
    return f"W{version_id} is recorded; write it with: tiebeam versions write W{version_id}"


def program_words() -> str:
    """Return what steps are followed by: the same steps with the same programs give the same pixels."""
    import pyvips  # type: ignore[import-untyped]

    engine = ".".join(str(pyvips.version(part)) for part in range(3))
    return f"Tiebeam {clock.program_version()}, libvips {engine}"


def file_name(archive: Archive, version_id: int) -> str:
    """Return the name of a version's file: the number of its sheet, and its reference."""
    from catalog.store.versions import sheets_of_versions

    with archive.reading() as connection:
        sheets = sheets_of_versions(connection, version_id).get(version_id, [])
        row = connection.execute(
            "SELECT text FROM sheet_number WHERE sheet_id = ? ORDER BY id LIMIT 1", (sheets[0] if sheets else 0,)
        ).fetchone()
    return version_file_name(row[0] if row else "", format_reference("edit_version", version_id))


# ---- writing what was recorded before


def write_versions(
    archive: Archive,
    versions: Sequence[int],
    *,
    folder: Path | None = None,
    dry_run: bool = False,
    on_share: OnShare = lambda _share: None,
    on_wait: OnWait | None = None,
) -> Iterator[VersionDone]:
    """
    Write the picture of each version by following its recorded steps, and tell what became of each.

    Raises:
        RefusedError: the folder to write to is not there.
    """
    target = _folder(archive, folder, dry_run=dry_run)
    named = " ".join(format_reference("edit_version", one) for one in versions)
    with LateDeed(archive, "versions write", named, on_wait) as deed:
        done: list[VersionDone] = []
        yield from _each(
            deed, versions, done, on_share,
            lambda one, share: _write_recorded(archive, deed, one, target, share, dry_run=dry_run, on_wait=on_wait),
        )  # fmt: skip
        written = [one for one in done if one.outcome == "written"]
        deed.finish("wrote " + (", ".join(f"W{one.version_id}" for one in written) or "nothing"))


def _write_recorded(
    archive: Archive, deed: LateDeed, version_id: int, folder: Path | None, progress: Callable[[int, int], None], *,
    dry_run: bool, on_wait: OnWait | None,
) -> VersionDone:  # fmt: skip
    from catalog.imaging.tone_steps import parse_steps

    scan_id = None
    steps: tuple[ToneStep, ...] = ()
    try:
        scan, path, text = _recorded(archive, version_id, on_wait, dry_run=dry_run)
        scan_id, steps = scan.id, parse_steps(text)
        if dry_run or folder is None:
            return VersionDone("written", scan_id, version_id=version_id, steps=steps)
        target = folder / file_name(archive, version_id)
        write_version(deed.begin(), archive, version_id, path, steps, target, progress)
        return VersionDone("written", scan_id, version_id=version_id, steps=steps, path=target)
    except _CannotMake as cannot:
        return VersionDone(cannot.outcome, scan_id, version_id=version_id, reason=cannot.reason)
    except CatalogError as exc:
        return VersionDone("failed", scan_id, version_id=version_id, steps=steps, reason=str(exc))


def _recorded(archive: Archive, version_id: int, on_wait: OnWait | None, *, dry_run: bool) -> tuple[ScanRow, Path, str]:
    """Return the scan of a version, where it is, and the steps to follow."""
    with archive.reading() as connection:
        version, sources = get_version(connection, version_id), version_sources(connection, version_id)
        if version is None:
            raise NotFoundError(f"There is no edit version W{version_id}.")
        scan = get_scan(connection, sources[0].scan_id) if len(sources) == 1 and sources[0].scan_id else None
        reading = known_reading(connection, scan) if scan else None
        drives = here(sight_drives(drive_rows(connection)))
    if version.steps is None or scan is None:
        raise _CannotMake("failed", f"W{version_id} has no steps to follow from one scan: it was made elsewhere")
    if version.file_id is not None and version.state == "present":
        raise _CannotMake("failed", f"W{version_id} is written already: {version.path}")
    path = _unchanged(scan, place_of(FileAddress(scan.drive_id, scan.path, scan.raw_path, ""), archive.folder, drives))
    if reading is None:  # measured by another version of this program: whether its side is in question has to be known
        reading = measure(path)
        if not dry_run:
            keep_measured(archive, scan, reading, on_wait)
    _refuse_open_side(scan, reading)
    return scan, path, version.steps
