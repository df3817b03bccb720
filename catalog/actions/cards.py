"""Reading a card index into the catalogue: one deed, rows loaded in bulk."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from catalog import clock
from catalog.dates import parse_edtf
from catalog.intake.bulk import uncollected
from catalog.intake.card_plan import COLUMNS, CardPlan, FieldChange, RowPlan, Taken, plan_cards
from catalog.intake.proposals import CardFile
from catalog.model import Note, RecordedDate, Sheet, SheetNumber, SheetView, View, ViewSubject, Wording
from catalog.rules.folding import fold
from catalog.store.archive import Archive
from catalog.store.writing import OnWait, Writing, deed


@dataclass(frozen=True, slots=True)
class CardsRead:
    """What reading a card file did. ``deed_id`` is ``None`` when there was nothing to do."""

    plan: CardPlan
    deed_id: int | None


_json = json.JSONEncoder(ensure_ascii=False).encode


class _NothingToDo(Exception):  # noqa: N818
    """Leaves the transaction: everything is here already."""

    def __init__(self, plan: CardPlan) -> None:
        self.plan = plan


def read_cards(archive: Archive, file: CardFile, *, on_wait: OnWait | None = None) -> CardsRead:
    """
    Read a card file into the catalogue as one deed.

    New rows become sheets; a row that changed since it was read changes what nobody corrected; the rest is here
    already. A file that adds nothing leaves no deed.

    Raises:
        RefusedError: the database refused a row; nothing of the file stays.
    """
    try:
        with uncollected(), deed(archive, "cards read", f"read {file.name}", on_wait=on_wait) as writing:
            loader = _Loader(writing, file)
            plan = plan_cards(writing.raw, file, loader.add)
            if not any(row.outcome == "new" or any(not c.is_kept for c in row.changes) for row in plan.rows):
                raise _NothingToDo(plan)
            loader.load(plan)
            writing.say(f"read {file.name}: {plan.count('new')} sheets added, {plan.count('changed')} changed")
            return CardsRead(plan, writing.deed.id)
    except _NothingToDo as nothing:
        return CardsRead(nothing.plan, None)


_SHEET_COLUMNS = ("id", *COLUMNS, "exposed_earliest", "exposed_latest", "exposed_doubt")


class _Loader:
    """Loads the rows of one plan with plain statements, many at a time."""

    def __init__(self, writing: Writing, file: CardFile) -> None:
        self._writing, self._file, self._raw = writing, file, writing.raw
        self._now = clock.timestamp()
        self._next: dict[str, int] = {}
        self._rows: dict[str, list[tuple[Any, ...]]] = {}
        self._days: dict[str, tuple[int | None, int | None, str]] = {}

    def add(self, table: str, name: str, **more: Any) -> int:
        """Add a place, building, lens ... that the cards name."""
        kit = table in ("lens", "camera", "film_stock")
        if kit:
            record_id = self._insert_one("kit", kind=table, name=name)
            self._insert_one(table, id=record_id, **more)
            return record_id
        if table == "standpoint":
            return self._insert_one(table, words=name, **more)
        place_id = more.pop("place_id", None)
        record_id = self._insert_one(table, name=name, **({"kind": "firm"} if table == "person" else {}))
        if table == "building" and place_id is not None:
            self._insert_one("building_site", building_id=record_id, place_id=place_id)
        return record_id

    def _insert_one(self, table: str, **columns: Any) -> int:
        names = ", ".join(columns)
        marks = ", ".join("?" * len(columns))
        cursor = self._raw.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(columns.values()))
        record_id = columns.get("id", cursor.lastrowid)
        assert isinstance(record_id, int)
        self._writing.record_added(table, [record_id])
        return record_id

    def load(self, plan: CardPlan) -> None:
        """Add the new rows' sheets, then change what changed rows say."""
        file_id = self._insert_one(
            "card_file", name=self._file.name, sha256=self._file.sha256, encoding=self._file.encoding,
            mapping=self._file.mapping.text, read_at=self._now,
        )  # fmt: skip
        sheet_of_row: dict[int, int] = {}
        for row in plan.rows:
            if row.outcome == "new":
                sheet_of_row[row.card.row] = self._new_sheet(row, file_id)
        for row in plan.rows:
            if row.outcome == "repeat" and row.card.repeats is not None:
                self._card_row(row, file_id, sheet_of_row.get(row.card.repeats), {})
        self._flush()
        for row in plan.rows:
            if row.outcome == "changed":
                self._change(row, file_id)

    def _id(self, table: str) -> int:
        """Return the next id of a table: the write lock is ours, so nobody else gives one meanwhile."""
        given = self._next.get(table)
        if given is None:
            given = self._writing.first_free_id(table)
        self._next[table] = given + 1
        return given

    def _row(self, table: str, *values: Any) -> None:
        self._rows.setdefault(table, []).append(values)

    def _date_columns(self, edtf: str | None) -> tuple[int | None, int | None, str]:
        if edtf is None:
            return None, None, ""
        found = self._days.get(edtf)
        if found is None:
            date = parse_edtf(edtf)
            found = self._days[edtf] = (date.earliest, date.latest, date.doubt)
        return found

    def _new_sheet(self, row: RowPlan, file_id: int) -> int:
        taken = row.taken
        sheet_id = self._id("sheet")
        self._row("sheet", sheet_id, *(taken[c] for c in COLUMNS), *self._date_columns(taken["exposed_edtf"]))
        for text, scheme in taken["numbers"]:
            self._row("sheet_number", self._id("sheet_number"), sheet_id, text, fold(text), scheme)
        for view in taken["views"]:
            view_id = self._id("view")
            self._row("view", view_id, view["title"], view["standpoint_id"], view["certainty"])
            self._row("sheet_view", self._id("sheet_view"), sheet_id, view_id)
            for table, record, elevation, part, certainty, principal in view["subjects"]:
                building, place = (record, None) if table == "building" else (None, record)
                self._row(
                    "view_subject", self._id("view_subject"), view_id, building, place, elevation, part, certainty,
                    principal,
                )  # fmt: skip
        card_row_id = self._card_row(row, file_id, sheet_id, taken)
        for heading, text in taken["notes"]:
            self._row("note", self._id("note"), "sheet", sheet_id, heading, text, card_row_id, self._now)
        for name, written, certainty, alternatives in taken["wordings"]:
            self._row(
                "wording", self._id("wording"), "sheet", sheet_id, name, written, certainty,
                _json(alternatives) if alternatives else None, card_row_id, self._now,
            )  # fmt: skip
        return sheet_id

    def _card_row(self, row: RowPlan, file_id: int, sheet_id: int | None, taken: Taken) -> int:
        card_row_id = self._id("card_row")
        card = row.card
        self._row(
            "card_row", card_row_id, file_id, card.row, card.key, card.digest,
            _json(dict(card.cells)), _json(taken) if taken else None,
            sheet_id,
        )  # fmt: skip
        return card_row_id

    def _flush(self) -> None:
        """Write the collected rows, parents first, and the daybook's record of them."""
        for table, columns in _LOADED.items():
            rows = self._rows.pop(table, [])
            if not rows:
                continue
            marks = ", ".join("?" * len(columns))
            self._raw.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows)
            self._writing.record_added(table, range(rows[0][0], rows[-1][0] + 1))

    def _change(self, row: RowPlan, file_id: int) -> None:
        """Bring a sheet to what its edited row says, but for what a person corrected since."""
        session = self._writing.session
        assert row.sheet_id is not None
        card_row_id = self._card_row(row, file_id, row.sheet_id, _kept_facts(row))
        self._flush()
        sheet = session.get_one(Sheet, row.sheet_id)
        for change in row.changes:
            if change.is_kept:
                continue
            if change.field == "exposed_edtf":
                sheet.exposed = RecordedDate.of(
                    parse_edtf(change.after) if change.after else None, row.taken["exposed_words"]
                )
            elif change.field == "exposed_words":
                sheet.exposed = RecordedDate(
                    sheet.exposed.edtf, change.after, sheet.exposed.earliest, sheet.exposed.latest, sheet.exposed.doubt
                )
            elif change.field in COLUMNS:
                setattr(sheet, change.field, change.after)
            else:
                self._change_many(sheet, change, card_row_id)
        session.flush()

    def _change_many(self, sheet: Sheet, change: FieldChange, card_row_id: int) -> None:
        """Replace the numbers, views, notes or wordings that a row gave by those it gives now."""
        session = self._writing.session
        if change.field == "numbers":
            for number in list(sheet.numbers):
                if [number.text, number.scheme] in (change.before or []) and [number.text, number.scheme] not in change.after:
                    sheet.numbers.remove(number)
            held = [[n.text, n.scheme] for n in sheet.numbers]
            for text, scheme in change.after:
                if [text, scheme] not in held:
                    sheet.numbers.append(SheetNumber(text=text, folded=fold(text), scheme=scheme))
        elif change.field == "views":
            for link in list(sheet.views):
                view = session.get_one(View, link.view_id)
                sheet.views.remove(link)
                session.flush()
                if not self._raw.execute("SELECT 1 FROM sheet_view WHERE view_id = ?", (view.id,)).fetchone():
                    session.delete(view)
            for said in change.after:
                self._add_view(sheet, said)
        else:
            table: Any = Note if change.field == "notes" else Wording
            for record in session.query(table).filter_by(about="sheet", about_id=sheet.id).all():
                if record.card_row_id is not None:
                    session.delete(record)
            session.flush()
            for values in change.after:
                session.add(self._said(sheet.id, change.field, values, card_row_id))

    def _said(self, sheet_id: int, name: str, values: list[Any], card_row_id: int) -> Note | Wording:
        if name == "notes":
            heading, text = values
            return Note(
                about="sheet", about_id=sheet_id, heading=heading, text=text, card_row_id=card_row_id, noted_at=self._now
            )
        name, written, certainty, alternatives = values
        return Wording(
            about="sheet", about_id=sheet_id, field=name, as_written=written, certainty=certainty,
            alternatives=_json(alternatives) if alternatives else None,
            card_row_id=card_row_id, noted_at=self._now,
        )  # fmt: skip

    def _add_view(self, sheet: Sheet, said: dict[str, Any]) -> None:
        session = self._writing.session
        view = View(title=said["title"], standpoint_id=said["standpoint_id"], standpoint_certainty=said["certainty"])
        for table, record, elevation, part, certainty, principal in said["subjects"]:
            view.subjects.append(
                ViewSubject(
                    building_id=record if table == "building" else None, place_id=record if table == "place" else None,
                    elevation=elevation, part=part, certainty=certainty, is_principal=bool(principal),
                )  # fmt: skip
            )
        session.add(view)
        session.flush()
        sheet.views.append(SheetView(view_id=view.id))


def _kept_facts(row: RowPlan) -> Taken:
    """Return what a changed row has given the catalogue by now: of a field that was left alone, what it gave before."""
    taken = dict(row.taken)
    for change in row.changes:
        if change.is_kept:
            taken[change.field] = change.before
    return taken


# In this order, so that what is pointed to is there first.
_LOADED = {
    "sheet": _SHEET_COLUMNS,
    "sheet_number": ("id", "sheet_id", "text", "folded", "scheme"),
    "view": ("id", "title", "standpoint_id", "standpoint_certainty"),
    "sheet_view": ("id", "sheet_id", "view_id"),
    "view_subject": ("id", "view_id", "building_id", "place_id", "elevation", "part", "certainty", "is_principal"),
    "card_row": ("id", "card_file_id", "row", "row_key", "digest", "cells", "facts", "sheet_id"),
    "note": ("id", "about", "about_id", "heading", "text", "card_row_id", "noted_at"),
    "wording": (
        "id", "about", "about_id", "field", "as_written", "certainty", "alternatives", "card_row_id", "noted_at",
    ),
}  # fmt: skip


def rehearse_cards(connection: sqlite3.Connection, file: CardFile) -> CardPlan:
    """Return what ``read_cards`` would do, having done nothing."""
    return plan_cards(connection, file)
