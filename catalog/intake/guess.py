"""A first mapping for a card index nobody has described yet, and the questions it leaves open."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from catalog.intake.blocks import DITTO_MARKS
from catalog.intake.cards import read_cards
from catalog.intake.cells import read_lens, split_doubt
from catalog.intake.fields import FIELD_OF, NAMED
from catalog.intake.headings import Layout, lay_out
from catalog.intake.known import Gazetteer, Known
from catalog.intake.mapping import CardMapping
from catalog.intake.proposals import CardFile
from catalog.intake.table_mapping import ColumnUse
from catalog.intake.tables import CellDate, Table
from catalog.rules.compass import parse_elevation
from catalog.rules.counting import counted
from catalog.rules.folding import fold

_SAMPLE = 2_000
_MOST_NAMES = 60
"""How many names a mapping file asks about; beyond that the list is for the rehearsal."""
_NUMBER = re.compile(r"[A-Za-z]{0,3}\s?\d[\d\-/. A-Za-z]{0,14}")
_DATE = re.compile(
    r"(?i).*\b(?:\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}|(?:19|20)\d\d|jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec|"
    r"spring|summer|autumn|winter|n\.?d\.?|undated)\b.*"
)
_APERTURE = re.compile(r"(?i)f\s*[/:]?\s*\d{1,2}(?:\.\d)?")
_SHUTTER = re.compile(r"(?i)1/\d{1,4}\s*s?|\d+\s*(?:s|sec)\.?|[BT]")


@dataclass(frozen=True, slots=True)
class _Column:
    """A column to be guessed at: its heading and the texts that stand in it."""

    place: int
    heading: str
    texts: tuple[str, ...]
    dates: int

    def share(self, test: Callable[[str], object]) -> float:
        """Return the share of its texts that pass a test."""
        return sum(bool(test(text)) for text in self.texts) / len(self.texts) if self.texts else 0.0


def guess_mapping(table: Table, known: Known | None = None) -> tuple[CardMapping, tuple[str, ...]]:
    """
    Return a mapping for a table, and what a person should look at before it is trusted.

    Columns are told by the words of their headings first, then by the look of what stands in them. Names of
    villages and buildings are matched to those known; where two are alike, or one is nearly a known name, the
    question says so and the mapping keeps the words.

    Raises:
        IntakeError: no headings can be found.
    """
    layout = lay_out(table)
    columns = _columns(layout)
    uses, questions = _uses(columns, layout, known or Known())
    mapping = CardMapping(
        columns=uses,
        encoding=table.encoding if table.kind == "csv" else None,
        delimiter=table.delimiter if table.kind == "csv" else None,
        sheet=table.sheet,
        heading_row=layout.heading_row,
        number_patterns=_patterns(columns, uses),
    )
    _ask_century(columns, uses, questions)
    file = read_cards(table, mapping, known)
    return _with_names(mapping, file, known or Known(), questions), tuple(questions)


def _columns(layout: Layout) -> list[_Column]:
    """Return the columns with a sample of what stands in them."""
    rows = [card.row for card in layout.cards[:_SAMPLE]]
    columns = []
    for place, heading in enumerate(layout.headings):
        texts = [row.texts[place] for row in rows if place < len(row.texts)]
        texts = [text for text in texts if text and text not in DITTO_MARKS]
        dates = sum(1 for row in rows if place < len(row.raws) and isinstance(row.raws[place], CellDate))
        columns.append(_Column(place, heading, tuple(texts), dates))
    return columns


def _uses(columns: Sequence[_Column], layout: Layout, known: Known) -> tuple[dict[str, ColumnUse], list[str]]:
    """Return what each column is, each field once; what is left over is kept as notes."""
    questions: list[str] = []
    found: dict[int, str] = {}
    taken: set[str] = set()
    for column in columns:
        field = FIELD_OF.get(fold(column.heading)) or _by_words(column.heading)
        if field is not None and (field not in taken or field in {"remarks", "keywords"}):
            found[column.place] = field
            taken.add(field)
    _move_box_numbers(columns, found)
    names = _known_names(known)
    for column in columns:
        if column.place not in found and column.texts:
            field = _by_look(column, names, taken)
            if field is not None:
                found[column.place] = field
                taken.add(field)
                questions.append(f"column {column.heading!r} looks like {field} (such as {column.texts[0]!r}). Is it?")
    if "number" not in taken:
        questions.append("no column looks like the number of the sheet; say under [columns] which it is.")
    uses = {}
    for column in columns:
        if column.texts or column.dates or not column.heading.startswith("column "):
            field = found.get(column.place, "note")
            carry = field in {"village", "building", "box", "date"} and _is_typed_once(column, layout, found)
            uses[column.heading] = ColumnUse(field, carry=carry)
            if carry:
                questions.append(
                    f"column {column.heading!r} has gaps and looks typed once per block: carried down. Is that so?"
                )
    return uses, questions


def _by_words(heading: str) -> str | None:
    """Return the field whose known heading is a part of this one (``Date exposed (approx.)``)."""
    words = f" {re.sub(r'[^0-9a-z/]+', ' ', fold(heading))} "
    hits = [
        (len(name), field) for field, names in NAMED.items() for name in names if len(name) > 3 and f" {name} " in words
    ]
    return max(hits)[1] if hits else None


def _move_box_numbers(columns: Sequence[_Column], found: dict[int, str]) -> None:
    """
    Take a column called after the box for a number only if it holds some: a lone count is the box itself.
    """
    for column in columns:
        is_after_box = found.get(column.place) == "old_number" and fold(column.heading) == "box no"
        if is_after_box and column.share(str.isdigit) > 0.8:
            found[column.place] = "box"


def _known_names(known: Known) -> dict[str, frozenset[str]]:
    """Return the folded names of places and of buildings."""
    return {
        "village": frozenset(fold(name.name) for place in known.places for name in place.names),
        "building": frozenset(fold(name.name) for building in known.buildings for name in building.names),
    }


def _by_look(column: _Column, names: dict[str, frozenset[str]], taken: set[str]) -> str | None:
    """Return the field that most of a column's texts look like, among those not yet found."""
    plain = [fold(reading) for text in column.texts for reading in split_doubt(text).readings]
    looks = [
        (field, sum(name in names[field] for name in plain) / max(len(plain), 1)) for field in ("village", "building")
    ]
    looks += [
        ("elevation", column.share(lambda text: len(text) < 12 and parse_elevation(text))),
        ("date", max(column.share(_DATE.fullmatch), column.dates / max(len(column.texts), 1))),
        ("aperture", column.share(_APERTURE.fullmatch)),
        ("shutter", column.share(_SHUTTER.fullmatch)),
        ("lens", column.share(_is_lens)),
    ]
    if len(set(column.texts)) > 0.9 * len(column.texts) > 2:
        looks.append(("number", column.share(_NUMBER.fullmatch) - 0.05))
    field, share = max(
        ((field, share) for field, share in looks if field not in taken),
        key=lambda look: look[1],
        default=("", 0.0),
    )
    return field if share >= 0.6 else None


def _is_lens(text: str) -> bool:
    """Return whether a text is a focal length that lenses for sheet film have."""
    return len(text) < 10 and 40 <= float(read_lens(text).value or 0) <= 1200


def _is_typed_once(column: _Column, layout: Layout, found: dict[int, str]) -> bool:
    """Return whether a column is filled at the head of each block and empty below, more often than not."""
    heads = filled_heads = rest = empty_rest = 0
    for card in layout.cards:
        text = card.row.texts[column.place] if column.place < len(card.row.texts) else ""
        if card.starts_block:
            heads += 1
            filled_heads += bool(text)
        else:
            rest += 1
            empty_rest += not text
    blocks = heads > 0 and filled_heads == heads and rest > 0 and empty_rest >= rest * 0.3
    return blocks and (found[column.place] == "village" or empty_rest >= rest * 0.6)


def _ask_century(columns: Sequence[_Column], uses: dict[str, ColumnUse], questions: list[str]) -> None:
    """Ask for the century of two-digit years: nothing but the mapping file or the settings says it."""
    for column in columns:
        use = uses.get(column.heading)
        if use is None or use.field != "date":
            continue
        full = Counter(int(year[:2]) for text in column.texts for year in re.findall(r"(?<!\d)[12]\d{3}(?!\d)", text))
        short = [text for text in column.texts if re.search(r"(?<!\d)'?\d{2}\??$", text)]
        if not short:
            continue
        likely = full.most_common(1)[0][0] * 100 if full else None
        shown = "" if likely is None else f", like {likely}"
        questions.append(
            f"column {column.heading!r} has years of two digits ({short[0]!r}): "
            f"say under [dates] which century they are in{shown}."
        )


def _patterns(columns: Sequence[_Column], uses: dict[str, ColumnUse]) -> tuple[str, ...]:
    """Return the patterns that all but a few of the numbers have, so that the rest stand out."""
    for column in columns:
        use = uses.get(column.heading)
        if use is None or use.field != "number" or len(column.texts) < 10:
            continue
        shapes = Counter(re.sub(r"[^\W\d_]", "@", re.sub(r"\d", "#", text)).replace(" ", " ") for text in column.texts)
        common = [shape for shape, count in shapes.most_common() if count >= len(column.texts) * 0.02]
        if len(common) <= 4 and sum(shapes[shape] for shape in common) >= 0.8 * len(column.texts):
            return tuple(common)
    return ()


def _with_names(mapping: CardMapping, file: CardFile, known: Known, questions: list[str]) -> CardMapping:
    """Return the mapping with a line for each name to be settled, and a question about it."""
    gazetteer = Gazetteer(known, abbreviations=mapping.abbreviations["words"])
    tables: dict[str, dict[str, str]] = {"place": {}, "building": {}}
    doubtful = _doubtful_names(file, gazetteer)
    for kind, written, question in doubtful[:_MOST_NAMES]:
        tables[kind][written] = ""
        questions.append(question)
    if len(doubtful) > _MOST_NAMES:
        left = len(doubtful) - _MOST_NAMES
        questions.append(f"{left} names more are to be settled; rehearse the file to see them all.")
    for kind in ("place", "building"):
        new = [unknown.name for unknown in file.unknown_names if unknown.kind == kind and not unknown.near]
        if new and (known.places or known.buildings):
            more = f" and {len(new) - 12} more" if len(new) > 12 else ""
            questions.append(f"{kind}s not known, to be added unless settled here: {', '.join(new[:12])}{more}.")
    return replace(mapping, places=tables["place"], buildings=tables["building"])


def _doubtful_names(file: CardFile, gazetteer: Gazetteer) -> list[tuple[str, str, str]]:
    """Return the names that are two of the known ones, or nearly one: kind, name, question."""
    found = []
    for unknown in file.unknown_names:
        if unknown.near:
            near = " or ".join(gazetteer.describe(reference) for reference, _ in unknown.near)
            question = f"{unknown.kind} {unknown.name!r} ({counted(unknown.cards, 'card')}) is not known. Is it {near}?"
            found.append((unknown.kind, unknown.name, question))
    seen: set[tuple[str, str]] = set()
    for card in file.cards:
        named = [
            ("place", card.village),
            *(("building", subject.named) for subject in card.subjects if not subject.is_place),
        ]
        for kind, name in named:
            if name is None or name.reference is not None or (kind, name.name) in seen:
                continue
            seen.add((kind, name.name))
            meaning = gazetteer.place(name.name) if kind == "place" else gazetteer.building(name.name)
            if meaning.candidates:
                listed = " or ".join(gazetteer.describe(reference) for reference in meaning.candidates)
                found.append((kind, name.name, f"{kind} {name.name!r} is several: {listed}. Which is it?"))
    return found
