"""The SQL of a question about frames: one statement, put together from the parts that are asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from catalog.dates.value import EdtfDate, is_about
from catalog.rules.folding import fold
from catalog.store._place_routes import SHOWN_ROUTES, TAKEN_ROUTES, place_tree
from catalog.store.wordings import IN_FORCE


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. Every part given must hold; ids are those of records."""

    words: tuple[str, ...] = ()
    place_id: int | None = None
    taken_from_id: int | None = None
    building_id: int | None = None
    years: EdtfDate | None = None
    lens_ids: tuple[int, ...] = ()
    lens_doubts: tuple[str, ...] = ()
    """The choices of a doubtful lens that may be this one, as wordings keep them: ``["90", "120"]``."""
    film_ids: tuple[int, ...] = ()
    film_doubts: tuple[str, ...] = ()
    elevation: str | None = None
    elevation_doubts: tuple[str, ...] = ()
    number: str | None = None
    is_unscanned: bool = False
    is_undated: bool = False
    about_days: int = 730

    @property
    def window(self) -> tuple[int | None, int | None]:
        """The days that the years asked for may mean, reaching as far as "about" may."""
        if self.years is None:
            return None, None
        first, last = self.years.earliest, self.years.latest
        reach = self.about_days if is_about(self.years.doubt) else 0
        return (None if first is None else first - reach), (None if last is None else last + reach)

    @property
    def is_undated_apart(self) -> bool:
        """Whether undated frames are counted beside the answer instead of standing in it: where years are asked for."""
        return self.years is not None and not self.is_undated


COLUMNS = """
    s.id, s.exposed_edtf, s.exposed_words, s.exposed_earliest, s.exposed_latest, s.exposed_doubt, s.fate, s.lens_id,
    s.film_id
"""


class _Statement:
    """The pieces of a statement, as the parts of a question add them."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.tables: list[str] = []
        self.sources: list[str] = []
        self.where: list[str] = []
        self.sure: list[str] = []
        self.parameters: dict[str, object] = {"about": question.about_days}

    def text(self) -> str:
        with_ = f"WITH RECURSIVE {', '.join(self.tables)} " if self.tables else ""
        # CROSS JOIN keeps this order: the routes of a place are few, and every frame of them is looked up by its id.
        source = " CROSS JOIN ".join([*self.sources, "sheet s"])
        where = f" WHERE {' AND '.join(self.where)}" if self.where else ""
        return f"{with_}SELECT {COLUMNS}, {' AND '.join(self.sure) or '1'} AS sure FROM {source}{where}"


def frame_statement(question: Question, sheet_ids: Iterable[int] | None = None) -> tuple[str, dict[str, object]]:
    """
    Return the SQL text of a question, and its parameters; benchmarks run the same text bare.

    With years it gives the undated frames along; ``sheet_ids`` are those that the words find. A frame may come
    several times, once for each way in which it answers.
    """
    statement = _Statement(question)
    _where_shown(statement)
    _where_taken(statement)
    _which_building(statement)
    _years(statement)
    _kit(statement)
    _sheet(statement)
    if sheet_ids is not None:
        statement.where.append("s.id IN (SELECT value FROM json_each(:sheets))")
        statement.parameters["sheets"] = str(list(sheet_ids))
    return statement.text(), statement.parameters


def _where_shown(statement: _Statement) -> None:
    question = statement.question
    if question.place_id is None:
        return
    statement.tables += [place_tree("below", "place"), SHOWN_ROUTES]
    statement.sources.append("shown")
    statement.where += ["s.id = shown.sheet_id", *_possible("shown")]
    statement.sure += _sure("shown")
    statement.parameters["place"] = question.place_id
    if question.building_id is not None:
        statement.where.append("shown.building_id = :building")
        statement.parameters["building"] = question.building_id
    if question.elevation is not None:
        _elevation(statement, "shown.elevation")


def _where_taken(statement: _Statement) -> None:
    question = statement.question
    if question.taken_from_id is None:
        return
    statement.tables += [place_tree("around", "taken_from"), TAKEN_ROUTES]
    statement.sources.append("taken")
    if question.place_id is not None:
        statement.where.append("taken.sheet_id = shown.sheet_id")
    statement.where += ["s.id = taken.sheet_id", *_possible("taken")]
    statement.sure += _sure("taken")
    statement.parameters["taken_from"] = question.taken_from_id


def _which_building(statement: _Statement) -> None:
    """Ask for a building or a side where no place is asked for: with a place, its routes say both."""
    question = statement.question
    if question.place_id is not None or (question.building_id is None and question.elevation is None):
        return
    statement.sources += ["view_subject vs", "sheet_view sv"]
    statement.where += ["sv.view_id = vs.view_id", "s.id = sv.sheet_id"]
    statement.sure.append("vs.certainty = 'certain'")
    if question.building_id is not None:
        statement.where.append("vs.building_id = :building")
        statement.parameters["building"] = question.building_id
    if question.elevation is not None:
        _elevation(statement, "vs.elevation")


def _elevation(statement: _Statement, column: str) -> None:
    statement.where.append(f"({column} = :elevation OR {_doubted('elevation')})")
    statement.sure += [f"{column} = :elevation", _UNDOUBTED.format(field="elevation")]
    statement.parameters["elevation"] = statement.question.elevation
    statement.parameters["elevation_doubts"] = as_json(statement.question.elevation_doubts)


# A field with a wording of doubt in force is doubtful, whatever its column holds.
_WORDING = f"FROM wording w WHERE w.about = 'sheet' AND w.about_id = s.id AND w.field = '{{field}}' AND {IN_FORCE}"
_UNDOUBTED = f"NOT EXISTS (SELECT 1 {_WORDING})"


def _doubted(field: str) -> str:
    """Return the condition that a doubtful field may be what is asked for."""
    one_of = f"w.alternatives IN (SELECT value FROM json_each(:{field}_doubts))"
    return f"EXISTS (SELECT 1 {_WORDING.format(field=field)} AND {one_of})"


# A frame's date, reaching as far as "about" may.
_REACH = "CASE WHEN s.exposed_doubt IN ('~', '%') THEN :about ELSE 0 END"
_EARLIEST = f"ifnull(s.exposed_earliest, -1e15) - {_REACH}"
_LATEST = f"ifnull(s.exposed_latest, 1e15) + {_REACH}"


def _possible(route: str) -> list[str]:
    return [f"{_EARLIEST} <= {route}.hi", f"{_LATEST} >= {route}.lo"]


def _sure(route: str) -> list[str]:
    dated = (
        f"s.exposed_doubt = '' AND ifnull(s.exposed_earliest, -1e15) > {route}.sure_lo"
        f" AND ifnull(s.exposed_latest, 1e15) < {route}.sure_hi"
    )
    return [
        f"{route}.certainty = 'certain'",
        f"CASE WHEN {route}.is_always THEN 1 WHEN s.exposed_edtf IS NULL THEN {route}.is_only ELSE {dated} END",
    ]


def _years(statement: _Statement) -> None:
    question = statement.question
    if question.is_undated:
        statement.where.append("s.exposed_edtf IS NULL")
        return
    first, last = question.window
    within = []
    if last is not None:
        within.append(f"{_EARLIEST} <= :last")
        statement.parameters["last"] = last
    if first is not None:
        within.append(f"{_LATEST} >= :first")
        statement.parameters["first"] = first
    if within:
        statement.where.append(f"(s.exposed_edtf IS NULL OR {' AND '.join(within)})")


def _kit(statement: _Statement) -> None:
    question = statement.question
    for field, ids, doubts in (
        ("lens", question.lens_ids, question.lens_doubts),
        ("film", question.film_ids, question.film_doubts),
    ):
        if ids or doubts:
            known = f"s.{field}_id IN ({','.join(str(int(i)) for i in ids)})"
            statement.where.append(f"({known} OR {_doubted(field)})")
            statement.sure += [known, _UNDOUBTED.format(field=field)]
            statement.parameters[f"{field}_doubts"] = as_json(doubts)


def _sheet(statement: _Statement) -> None:
    if statement.question.number is not None:
        statement.where.append("s.id IN (SELECT sheet_id FROM sheet_number WHERE folded = :number)")
        statement.sure.append(_UNDOUBTED.format(field="number"))
        statement.parameters["number"] = fold(statement.question.number)
    if statement.question.is_unscanned:
        statement.where.append("NOT EXISTS (SELECT 1 FROM scan_part sp WHERE sp.sheet_id = s.id)")


def as_json(values: tuple[str, ...]) -> str:
    """Return texts as a JSON list for ``json_each``."""
    if not values:
        return "[]"
    import json

    return json.dumps(values)
