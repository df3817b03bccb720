"""Card rows that were edited: a sheet is brought to what its row says now, but for what a person corrected since."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from sqlalchemy import select

from catalog.actions._card_loading import CardLoader, as_json
from catalog.dates import parse_edtf
from catalog.intake.card_changes import FieldChange, kept_facts, view_facts, views_of
from catalog.intake.card_plan import RowPlan
from catalog.model import Base, Note, RecordedDate, Sheet, SheetNumber, SheetView, View, ViewSubject, Wording
from catalog.rules.folding import fold
from catalog.store.writing import Writing


class CardChanger:
    """Changes what edited rows say, one row at a time, through the session: the daybook hears of each change."""

    def __init__(self, writing: Writing, loader: CardLoader) -> None:
        self._session, self._raw, self._loader = writing.session, writing.raw, loader
        self._writing = writing

    def change(self, row: RowPlan) -> None:
        """Bring a sheet to what its edited row says."""
        assert row.sheet_id is not None
        card_row_id = self._loader.changed_row(row, kept_facts(row.before, row.taken, row.changes))
        sheet = self._session.get_one(Sheet, row.sheet_id)
        for change in row.changes:
            if not change.is_kept:
                self._change_field(sheet, change, card_row_id)
                self._session.flush()

    def _change_field(self, sheet: Sheet, change: FieldChange, card_row_id: int) -> None:
        if change.field == "exposed":
            edtf, words = change.after or (None, None)
            sheet.exposed = RecordedDate.of(parse_edtf(edtf) if edtf else None, words)
        elif change.field == "numbers":
            self._change_numbers(sheet, change)
        elif change.field == "views":
            self._change_views(sheet, change)
        elif change.field in ("notes", "wordings"):
            self._change_said(sheet, change, card_row_id)
        else:
            setattr(sheet, change.field, change.after)
            if change.field == "format":
                from catalog.actions._scan_records import work_out_ppi_again  # late: it knows how scans are read

                work_out_ppi_again(self._writing, sheet.id)

    def _change_numbers(self, sheet: Sheet, change: FieldChange) -> None:
        going, coming = _going_and_coming(change)
        numbers = [next(n for n in sheet.numbers if [n.text, n.scheme] == pair) for pair in going]
        for number, pair in zip_longest(numbers, coming):
            if pair is None:
                sheet.numbers.remove(number)
                continue
            if number is None:
                sheet.numbers.append(number := SheetNumber())
            number.text, number.folded, number.scheme = pair[0], fold(pair[0]), pair[1]

    def _change_said(self, sheet: Sheet, change: FieldChange, card_row_id: int) -> None:
        """Change notes under one heading, or the wordings of one field; each keeps its own number where it can."""
        kind: Any = Note if change.field == "notes" else Wording
        statement = select(kind).where(kind.about == "sheet", kind.about_id == sheet.id, kind.card_row_id.is_not(None))
        known = list(self._session.scalars(statement.order_by(kind.id)))
        going, coming = _going_and_coming(change)
        for values in going:
            record = next(one for one in known if _values_of(one) == _comparable(values))
            known.remove(record)
            if coming:
                _say(record, coming.pop(0), card_row_id, self._loader.now)
            else:
                self._session.delete(record)
        for values in coming:
            record = kind(about="sheet", about_id=sheet.id)
            _say(record, values, card_row_id, self._loader.now)
            self._session.add(record)

    # ---- views

    def _change_views(self, sheet: Sheet, change: FieldChange) -> None:
        """Change the views that the row gave to what it gives now; views that a person added stay as they are."""
        held = [(view_id, view_facts(self._raw, view_id)) for view_id in views_of(self._raw, sheet.id)]
        given = []
        for facts in change.before:
            place = next(place for place, (_, now) in enumerate(held) if now == facts)
            given.append(held.pop(place)[0])
        for view_id, said in zip_longest(given, change.after):
            if said is None:
                self._take_from(sheet, view_id)
            elif view_id is None:
                self._give(sheet, self._new_view(said, None))
            else:
                self._change_view(sheet, self._session.get_one(View, view_id), said)

    def _change_view(self, sheet: Sheet, view: View, said: dict[str, Any]) -> None:
        if self._is_shared(sheet.id, view.id):  # other sheets' cards say nothing new of it
            self._take_from(sheet, view.id)
            self._give(sheet, self._new_view(said, view.visit_id))
            return
        view.title, view.standpoint_id = said["title"], said["standpoint_id"]
        view.standpoint_certainty = said["certainty"]
        coming = [list(values) for values in said["subjects"]]
        going = []
        for subject in view.subjects:
            values = _subject_values(subject)
            if values in coming:
                coming.remove(values)
            else:
                going.append(subject)
        for subject in going:
            view.subjects.remove(subject)
        self._session.flush()  # two of one view cannot be the principal one, not even for a moment
        view.subjects += [_subject(values) for values in coming]

    def _new_view(self, said: dict[str, Any], visit_id: int | None) -> View:
        view = View(
            title=said["title"], standpoint_id=said["standpoint_id"], standpoint_certainty=said["certainty"],
            visit_id=visit_id, subjects=[_subject(values) for values in said["subjects"]],
        )  # fmt: skip
        self._session.add(view)
        self._session.flush()
        return view

    def _give(self, sheet: Sheet, view: View) -> None:
        sheet.views.append(SheetView(view_id=view.id))
        self._session.flush()

    def _take_from(self, sheet: Sheet, view_id: int) -> None:
        """Take a view from a sheet; one that no sheet holds and of which nothing is said goes altogether."""
        is_shared = self._is_shared(sheet.id, view_id)
        sheet.views.remove(next(link for link in sheet.views if link.view_id == view_id))
        self._session.flush()
        said = " UNION ALL ".join(
            f"SELECT 1 FROM {table} WHERE about = 'view' AND about_id = :view"
            for table in ("note", "wording", "open_question")
        )
        if not is_shared and not self._raw.execute(said, {"view": view_id}).fetchone():
            self._session.delete(self._session.get_one(View, view_id))
            self._session.flush()

    def _is_shared(self, sheet_id: int, view_id: int) -> bool:
        statement = "SELECT 1 FROM sheet_view WHERE view_id = ? AND sheet_id <> ?"
        return self._raw.execute(statement, (view_id, sheet_id)).fetchone() is not None


def _going_and_coming(change: FieldChange) -> tuple[list[Any], list[Any]]:
    """Return what the row no longer gives, and what it gives anew and is not there."""
    going = [item for item in change.before if item not in change.after]
    coming = [item for item in change.after if item not in change.before and item not in change.current]
    return going, coming


def _values_of(record: Note | Wording) -> Sequence[Any]:
    if isinstance(record, Note):
        return [record.heading, record.text]
    return [record.field, record.as_written, record.certainty, record.alternatives]


def _comparable(values: Sequence[Any]) -> Sequence[Any]:
    """Return a note or wording of ``Taken`` as the table keeps it."""
    return [*values[:3], as_json(values[3]) if values[3] else None] if len(values) == 4 else values


def _say(record: Base, values: Sequence[Any], card_row_id: int, now: str) -> None:
    names = ("heading", "text") if isinstance(record, Note) else ("field", "as_written", "certainty", "alternatives")
    for name, value in zip(names, _comparable(values), strict=True):
        setattr(record, name, value)
    record.card_row_id, record.noted_at = card_row_id, now  # type: ignore[attr-defined]


def _subject_values(subject: ViewSubject) -> list[Any]:
    table, record = ("place", subject.place_id) if subject.building_id is None else ("building", subject.building_id)
    return [table, record, subject.elevation, subject.part, subject.certainty, int(subject.is_principal)]


def _subject(values: Sequence[Any]) -> ViewSubject:
    table, record, elevation, part, certainty, principal = values
    return ViewSubject(
        building_id=record if table == "building" else None, place_id=record if table == "place" else None,
        elevation=elevation, part=part, certainty=certainty, is_principal=bool(principal),
    )  # fmt: skip
