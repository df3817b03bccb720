"""Small archives to ask: places, buildings and frames by their names, from the world of the sample archive."""

from __future__ import annotations

import json
import shutil
from copy import copy
from pathlib import Path
from typing import Any

from catalog.cli.main import run
from catalog.dates import parse_edtf
from catalog.model import (
    Building,
    BuildingName,
    BuildingSite,
    ChronicleEntry,
    Drive,
    File,
    FilmStock,
    Kit,
    Lens,
    Note,
    Place,
    PlaceName,
    PlaceParent,
    RecordedDate,
    Scan,
    ScanPart,
    Sheet,
    SheetNumber,
    SheetView,
    Standpoint,
    View,
    ViewSubject,
    Visit,
    Wording,
)
from catalog.rules.folding import fold
from catalog.store.archive import Archive, open_archive
from catalog.store.find import Answer, Question, find_frames
from catalog.store.writing import deed
from tests.store.archives import an_archive

NOW = "2026-11-25T09:30:00Z"


def on(edtf: str | None, words: str | None = None) -> RecordedDate:
    """Return a date as records keep it."""
    return RecordedDate.of(parse_edtf(edtf) if edtf else None, words)


class Valley:
    """An archive under the hands of a test. Every method adds one thing, as one deed, and returns its id."""

    def __init__(self, folder: Path) -> None:
        self.archive: Archive = an_archive(folder)
        self.ids: dict[str, int] = {}

    def copied(self, folder: Path) -> Valley:
        """Return a copy of this valley, to be changed."""
        other = copy(self)
        other.archive = open_archive(shutil.copytree(self.archive.folder, folder))
        other.ids = dict(self.ids)
        return other

    def _add(self, record: Any, name: str | None = None) -> int:
        with deed(self.archive, "test", "added") as writing:
            writing.session.add(record)
            writing.session.flush()
            record_id: int = record.id
        if name is not None:
            self.ids[name] = record_id
        return record_id

    def place(self, name: str, *, within: str | None = None, since: str | None = None, until: str | None = None,
              also: tuple[str, ...] = (), kind: str = "village", slug: str | None = None) -> int:  # fmt: skip
        place = Place(name=name, kind=kind)
        place.names = [PlaceName(name=other) for other in also]
        place_id = self._add(place, slug or name)
        if within:
            self.belongs(slug or name, within, since=since, until=until)
        return place_id

    def belongs(self, name: str, within: str, *, since: str | None = None, until: str | None = None) -> int:
        parents = {"place_id": self.ids[name], "parent_id": self.ids[within]}
        return self._add(PlaceParent(**parents, from_=on(since), until=on(until)))

    def building(self, name: str, *sites: tuple[str, str | None, str | None], also: tuple[str, ...] = ()) -> int:
        building = Building(name=name)
        building.names = [BuildingName(name=other) for other in also]
        building.sites = [
            BuildingSite(place_id=self.ids[p], from_=on(since), until=on(until)) for p, since, until in sites
        ]
        return self._add(building, name)

    def happened(self, building: str, kind: str, date: str | None, text: str) -> int:
        return self._add(ChronicleEntry(building_id=self.ids[building], kind=kind, date=on(date), text=text))

    def lens(self, length: float, name: str | None = None) -> int:
        with deed(self.archive, "test", "added a lens") as writing:
            kit = Kit(kind="lens", name=name or f"{length:g} mm")
            writing.session.add(kit)
            writing.session.flush()
            writing.session.add(Lens(id=kit.id, focal_length_mm=length))
            self.ids[kit.name] = kit.id
            return kit.id

    def film(self, name: str) -> int:
        with deed(self.archive, "test", "added a film") as writing:
            kit = Kit(kind="film_stock", name=name)
            writing.session.add(kit)
            writing.session.flush()
            writing.session.add(FilmStock(id=kit.id))
            self.ids[name] = kit.id
            return kit.id

    def standpoint(self, words: str, place: str | None = None) -> int:
        return self._add(Standpoint(words=words, place_id=self.ids[place] if place else None), words)

    def visit(self, date: str, place: str) -> int:
        return self._add(Visit(date=on(date), place_id=self.ids[place]), f"visit {date}")

    def frame(self, number: str, date: str | None, *shows: str | tuple[str, str] | tuple[str, str, str],
              title: str | None = None, standpoint: str | None = None, visit: str | None = None,
              sure: str = "certain", **facts: Any) -> int:  # fmt: skip
        """``shows`` names buildings and places: a name, (name, elevation) or (name, elevation, certainty)."""
        sheet = Sheet(exposed=on(date), **facts)
        sheet.numbers = [SheetNumber(text=number, folded=fold(number), scheme="yearly")]
        view = View(
            title=title, standpoint_id=self.ids.get(standpoint or ""), visit_id=self.ids.get(visit or ""),
            standpoint_certainty=sure,
        )  # fmt: skip
        for subject in shows:
            name, side, certainty = (*((subject,) if isinstance(subject, str) else subject), None, None)[:3]
            view.subjects.append(ViewSubject(**self._subject(name), elevation=side, certainty=certainty or "certain"))
        with deed(self.archive, "test", "added a frame") as writing:
            writing.session.add_all([sheet, view])
            writing.session.flush()
            writing.session.add(SheetView(sheet_id=sheet.id, view_id=view.id))
            self.ids[number] = sheet.id
            return sheet.id

    def _subject(self, name: str) -> dict[str, int]:
        with self.archive.reading() as connection:
            row = connection.execute("SELECT id FROM building WHERE name = ?", (name,)).fetchone()
        return {"building_id": row[0]} if row else {"place_id": self.ids[name]}

    def doubt(
        self, number: str, field: str, as_written: str, choices: tuple[str, ...] = (), certainty: str = "possible"
    ) -> int:
        kept = json.dumps(choices, ensure_ascii=False) if choices else None
        return self._add(Wording(about="sheet", about_id=self.ids[number], field=field, as_written=as_written,
                                 certainty=certainty, alternatives=kept, noted_at=NOW))  # fmt: skip

    def note(self, about: str, record_id: int, text: str) -> int:
        return self._add(Note(about=about, about_id=record_id, text=text, noted_at=NOW))

    def drive(self, name: str, folder: str) -> int:
        return self._add(
            Drive(name=name, marker=name.ljust(32, "0"), last_path=folder, depth=1, last_seen_at=NOW), name
        )

    def scan(
        self, number: str, path: str, *, raw: bytes | None = None, drive: str | None = None, region: str | None = None
    ) -> int:
        file_id = self._add(
            File(path=path, raw_path=raw, drive_id=self.ids.get(drive or ""), path_key=path.lower(), size_bytes=8,
                 modified_ns=1,
                 sha256="a" * 64, first_seen_at=NOW, last_checked_at=NOW)
        )  # fmt: skip
        scan = Scan(file_id=file_id, kind="TIFF", width_px=1200, height_px=960, bits=16, colour="grey")
        scan.parts = [ScanPart(sheet_id=self.ids[number], matched_by="name", region=region)]
        return self._add(scan, path)

    def ask(self, **asked: Any) -> Answer:
        """Ask as ``tiebeam find`` does: the words and options as they are typed."""
        from catalog.store.asking import ask

        with self.archive.reading() as connection:
            question: Question = ask(connection, self.archive, **asked)
            return find_frames(connection, question)

    def found(self, **asked: Any) -> dict[str, str]:
        """Return each frame found by its number, with how surely, in the order of the answer."""
        return {frame.numbers[0][0]: str(frame.certainty) for frame in self.ask(**asked).frames}

    def tiebeam(self, *arguments: str) -> int:
        """Run a command as a person types it, and return its status."""
        try:
            run(["--archive", str(self.archive.folder), *arguments])
        except SystemExit as left:
            return int(left.code or 0)
        raise AssertionError("a command always leaves with a status")
