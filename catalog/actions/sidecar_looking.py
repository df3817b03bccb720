"""Looking at sidecars and at what is embedded in scans, beside what the catalogue says of them. Changes nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path

from catalog.errors import CatalogError, SidecarError, XmpError
from catalog.outputs.captions import CaptionMaker, House
from catalog.outputs.sidecar_captions import FrameCaption
from catalog.outputs.sidecar_compare import Compared, compare_fields
from catalog.outputs.sidecar_fields import properties_of
from catalog.outputs.sidecar_files import ScanFolders, digest_of
from catalog.outputs.sidecar_merge import Base, ThreeWay, merge_three, read_base
from catalog.rules.privacy import PrivateWords
from catalog.standards.packets import Embedded, embedded_packet, find_packets
from catalog.standards.xmp import Packet, parse_packet
from catalog.store.archive import Archive
from catalog.store.captions import (
    Gazette,
    ScanToCaption,
    read_gazette,
    read_said,
    scans_of_sheets,
    scans_to_caption,
)
from catalog.store.drives import drive_rows, here, sight_drives
from catalog.store.files import FileAddress, place_of, shown_path
from catalog.store.sidecar_facts import KeptSidecar, kept_sidecars, killed_writes, last_said

_SLICE = 256
"""So many scans are read from the catalogue at once."""


@dataclass(frozen=True, slots=True)
class ScanSeen:
    """
    One scan with its sidecar, if it has one, and what the catalogue says of it.

    ``sheet_ids`` are the sheets it shows. ``fault`` says why it could not be looked at: ``merged`` is then None.
    ``remarks`` are faults that did not hinder looking.
    """

    scan_id: int
    sheet_ids: tuple[int, ...]
    path: str
    state: str = "seen"
    fault: str | None = None
    sidecar: str | None = None
    sidecar_sha256: str | None = None
    caption: FrameCaption | None = None
    kept: KeptSidecar | None = None
    theirs: Packet | None = None
    base: Base = field(default_factory=Base)
    embedded: Embedded | None = None
    embedded_xmp: Packet | None = None
    merged: ThreeWay | None = None
    remarks: tuple[str, ...] = ()

    @property
    def fields(self) -> tuple[Compared, ...]:
        """Return every field that any side says something of."""
        if self.merged is None or self.caption is None:
            return ()
        is_dated = self.caption.exposed is not None
        return compare_fields(self.merged, self.theirs, self.embedded, is_dated=is_dated)


@dataclass(frozen=True, slots=True)
class Looked:
    """What there was to see: the scans, and for each folder in words where who speaks for whom is open."""

    scans: tuple[ScanSeen, ...]
    claims: tuple[str, ...]
    private: PrivateWords = field(default_factory=lambda: PrivateWords(()))
    """What no screen shows unasked."""


def look_at_sidecars(archive: Archive, sheet_ids: Sequence[int], *, embedded: bool = True) -> Looked:
    """
    Return what every scan of these sheets, its sidecar and its embedded blocks say.

    A sidecar or scan that cannot be read is named in its ``fault`` or ``remarks``; its neighbours are looked at.
    """
    with archive.reading() as connection:
        drives = here(sight_drives(drive_rows(connection)))
        scan_ids = scans_of_sheets(connection, sheet_ids)
        gazette = read_gazette(connection, archive.about_days)
        killed = killed_writes(connection)
    looker = _Looker(archive, drives, gazette, killed, with_embedded=embedded)
    seen = tuple(looker.look(scan_ids))
    return Looked(seen, tuple(looker.claims), private_words(archive, gazette))


def private_words(archive: Archive, gazette: Gazette) -> PrivateWords:
    """Return what no screen shows unasked: persons' names and addresses, the photographer's and builders' excepted."""
    makers = (raising.doer for raising in gazette.raisings.values() if raising.doer)
    known = (*gazette.place_names.values(), *gazette.building_names.values())
    return PrivateWords(gazette.private, (archive.settings.archive_photographer, *makers, *known))


class _Looker:
    """Looks at scans folder by folder; each folder is listed once."""

    def __init__(
        self,
        archive: Archive,
        drives: dict[int, Path],
        gazette: Gazette,
        killed: Mapping[str, str],
        *,
        with_embedded: bool,
    ) -> None:
        self._archive, self._drives, self._with_embedded = archive, drives, with_embedded
        self._killed = killed
        self._maker = CaptionMaker(gazette, House.of(archive.settings))
        self.claims: list[str] = []
        self._folders = ScanFolders(lambda folder, said: self.claims.append(f"{shown_path(folder)}: {said}"))

    def look(self, scan_ids: Sequence[int]) -> Iterator[ScanSeen]:
        for start in range(0, len(scan_ids), _SLICE):
            ids = scan_ids[start : start + _SLICE]
            with self._archive.reading() as connection:
                rows = scans_to_caption(connection, ids)
                said = read_said(connection, {row.sheet_id for row in rows})
                kept = kept_sidecars(connection, ids)
            for scan_id, of_scan in groupby(rows, key=lambda row: row.scan_id):
                together = list(of_scan)
                yield self._look(together, self._maker.caption(together, said), kept.get(scan_id))

    def _look(self, scans: list[ScanToCaption], caption: FrameCaption, kept: KeptSidecar | None) -> ScanSeen:
        scan, sheets = scans[0], tuple(row.sheet_id for row in scans)
        path = place_of(FileAddress(scan.drive_id, scan.path, scan.raw_path, ""), self._archive.folder, self._drives)
        if path is None:
            return ScanSeen(scan.scan_id, sheets, scan.path, "away", "its drive is away")
        try:
            sidecar, data = self._folders.read_sidecar_of(path, self._home(scan, path))
        except FileNotFoundError:
            return ScanSeen(scan.scan_id, sheets, scan.path, "missing", "the scan is not there")
        except CatalogError as exc:
            return ScanSeen(scan.scan_id, sheets, scan.path, "failed", str(exc))
        try:
            theirs = None if data is None else parse_packet(data)
            base = read_base(last_said(kept, digest_of(data), self._killed), theirs or Packet())
        except XmpError as exc:
            fault = str(SidecarError(sidecar, f"{exc}; left as it is"))
            return ScanSeen(scan.scan_id, sheets, scan.path, "failed", fault, shown_path(sidecar))
        merged = merge_three(base, properties_of(caption), theirs or Packet())
        embedded, packet, remarks = self._embedded(path)
        return ScanSeen(
            scan.scan_id, sheets, scan.path, "seen", None, None if data is None else shown_path(sidecar),
            digest_of(data), caption, kept, theirs, base, embedded, packet, merged, remarks,
        )  # fmt: skip

    def _home(self, scan: ScanToCaption, path: Path) -> Path:
        if scan.drive_id is not None:
            return self._drives[scan.drive_id]
        return self._archive.folder if path.is_relative_to(self._archive.folder) else path.parent

    def _embedded(self, path: Path) -> tuple[Embedded | None, Packet | None, tuple[str, ...]]:
        if not self._with_embedded:
            return None, None, ()
        try:
            found = find_packets(path)
        except CatalogError as exc:
            return None, None, (str(exc),)
        packet, faults = embedded_packet(found)
        return found, packet, (*found.faults, *faults)
