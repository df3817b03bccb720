"""Card rows that are new, loaded with plain statements, many at a time."""

from __future__ import annotations

import json
from typing import Any

from catalog import clock
from catalog.dates import parse_edtf
from catalog.intake.card_facts import COLUMNS, Taken
from catalog.intake.card_plan import CardPlan, RowPlan
from catalog.intake.proposals import CardFile
from catalog.rules.folding import fold
from catalog.store.search import add_entries
from catalog.store.writing import Writing

# In this order, so that what is pointed to is there first.
_LOADED = {
    "sheet": ("id", *COLUMNS, "exposed_earliest", "exposed_latest", "exposed_doubt"),
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
_SEARCHED = ("box", "sleeve", "docket", "condition", "development")
"""The columns of a sheet that it is found by (store/search.py)."""

_encode = json.JSONEncoder(ensure_ascii=False, check_circular=False).encode


def as_json(value: Any) -> str:
    """Return a value as the catalogue keeps it."""
    return _encode(value)


class CardLoader:
    """Loads the new rows of one plan. The write lock is held, so the ids it counts on are nobody else's."""

    def __init__(self, writing: Writing, file: CardFile) -> None:
        self._writing, self._file, self._raw = writing, file, writing.raw
        self.now = clock.timestamp()
        self._file_id = 0
        self._next: dict[str, int] = {}
        self._rows: dict[str, list[tuple[Any, ...]]] = {table: [] for table in _LOADED}
        self._days: dict[str | None, tuple[int | None, int | None, str]] = {None: (None, None, "")}
        self._added: list[tuple[str, int, int]] = []
        self._said: dict[int, list[str]] = {}

    def add(self, table: str, name: str, row: int, **more: Any) -> int:
        """Add a place, building, lens ... that the card in a row is the first to name, and return its id."""
        if table in ("lens", "camera", "film_stock"):
            record_id = self._insert("kit", kind=table, name=name)
            self._insert(table, id=record_id, **more)
            self._added.append(("kit", record_id, row))
            return record_id
        place_id = more.pop("place_id", None)
        if table == "standpoint":
            record_id = self._insert(table, words=name, place_id=place_id)
        elif table == "person":
            record_id = self._insert(table, name=name, kind="firm")
        else:
            record_id = self._insert(table, name=name)
        if table == "building" and place_id is not None:
            self._insert("building_site", building_id=record_id, place_id=place_id)
        self._added.append((table, record_id, row))
        return record_id

    def _insert(self, table: str, **columns: Any) -> int:
        names = ", ".join(columns)
        marks = ", ".join("?" * len(columns))
        cursor = self._raw.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(columns.values()))
        record_id = columns.get("id", cursor.lastrowid)
        assert isinstance(record_id, int)
        self._writing.record_added(table, [record_id])
        return record_id

    def load(self, plan: CardPlan) -> None:
        """Add the new rows' sheets, and what is remembered of each row."""
        self._file_id = self._insert(
            "card_file", name=self._file.name, sha256=self._file.sha256, encoding=self._file.encoding,
            mapping=self._file.mapping.text, read_at=self.now,
        )  # fmt: skip
        self._next = {table: self._writing.first_free_id(table) for table in _LOADED}
        sheet_of = {row.card.row: row.sheet_id for row in plan.rows}
        card_rows: dict[int, int] = {}
        for row in plan.rows:
            if row.outcome == "new":
                sheet_of[row.card.row], card_rows[row.card.row] = self._new_sheet(row)
            elif row.outcome == "repeat" and row.card.repeats is not None:
                self._card_row(row, sheet_of[row.card.repeats], None)
        self._note_origins(card_rows)
        self.flush()
        add_entries(self._raw, "sheet", self._said)
        self._said = {}

    def _row(self, table: str, *values: Any) -> int:
        """Keep a row to be written, and return the id it gets."""
        given = self._next[table]
        self._next[table] = given + 1
        self._rows[table].append((given, *values))
        return given

    def _days_of(self, edtf: str | None) -> tuple[int | None, int | None, str]:
        found = self._days.get(edtf)
        if found is None:
            assert edtf is not None
            date = parse_edtf(edtf)
            found = self._days[edtf] = (date.earliest, date.latest, date.doubt)
        return found

    def _new_sheet(self, row: RowPlan) -> tuple[int, int]:
        taken, add = row.taken, self._row
        sheet_id = add("sheet", *map(taken.get, COLUMNS), *self._days_of(taken.get("exposed_edtf")))
        said = [taken[column] for column in _SEARCHED if column in taken]
        for text, scheme in taken["numbers"]:
            add("sheet_number", sheet_id, text, fold(text), scheme)
            said.append(text)
        for view in taken["views"]:
            view_id = add("view", view["title"], view["standpoint_id"], view["certainty"])
            add("sheet_view", sheet_id, view_id)
            if view["title"]:
                said.append(view["title"])
            for table, record, elevation, part, certainty, principal in view["subjects"]:
                building, place = (record, None) if table == "building" else (None, record)
                add("view_subject", view_id, building, place, elevation, part, certainty, principal)
        card_row_id = self._card_row(row, sheet_id, taken)
        for heading, text in taken.get("notes", ()):
            add("note", "sheet", sheet_id, heading, text, card_row_id, self.now)
            said.append(text)
        for name, written, certainty, alternatives in taken.get("wordings", ()):
            listed = as_json(alternatives) if alternatives else None
            add("wording", "sheet", sheet_id, name, written, certainty, listed, card_row_id, self.now)
            said.append(written)
        self._said[sheet_id] = said
        return sheet_id, card_row_id

    def _card_row(self, row: RowPlan, sheet_id: int | None, facts: Taken | None) -> int:
        card = row.card
        return self._row(
            "card_row", self._file_id, card.row, card.key, card.digest, as_json(card.cells),
            as_json(facts) if facts is not None else None, sheet_id,
        )  # fmt: skip

    def changed_row(self, row: RowPlan, facts: Taken) -> int:
        """Keep what a changed row says now and what the catalogue has from it; return the id of the row."""
        card_row_id = self._card_row(row, row.sheet_id, facts)
        self.flush()
        return card_row_id

    def _note_origins(self, card_rows: dict[int, int]) -> None:
        """Say of each record that the cards were the first to name on which card it stood."""
        for table, record_id, row in self._added:
            said = f"first named by {self._file.name}, row {row}"
            self._row("note", table, record_id, "card index", said, card_rows.get(row), self.now)
        self._added = []

    def flush(self) -> None:
        """Write the rows kept so far, parents first, and the daybook's record of them."""
        for table, columns in _LOADED.items():
            rows, self._rows[table] = self._rows[table], []
            if not rows:
                continue
            marks = ", ".join("?" * len(columns))
            self._raw.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows)
            self._writing.record_added(table, range(rows[0][0], rows[-1][0] + 1), is_searched=False)
