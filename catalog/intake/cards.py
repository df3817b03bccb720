"""A card index becomes cards to look over: each row resolved, its doubts kept, its troubles named."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path

from catalog.intake.blocks import ResolvedRow, resolve_blocks
from catalog.intake.bulk import uncollected
from catalog.intake.cells import (
    Reading,
    read_aperture,
    read_lens,
    read_shutter,
    read_word,
    split_doubt,
    split_number,
    split_values,
)
from catalog.intake.fields import FIELD_OF
from catalog.intake.known import Gazetteer, Known
from catalog.intake.mapping import CardMapping, number_matcher
from catalog.intake.proposals import (
    Card,
    CardFile,
    CardNote,
    CardNumber,
    Carried,
    Doubt,
    Trouble,
    UnreadableRow,
)
from catalog.intake.subjects import Said, SubjectReader
from catalog.intake.table_mapping import ColumnUse
from catalog.intake.tables import CellDate, Raw, Table, column_letter
from catalog.intake.when import Dated, DateReader
from catalog.rules.doubt import POSSIBLE
from catalog.rules.folding import fold

_LONGEST_NUMBER = 200
_NO_NUMBER = frozenset(
    {"", "-", "--", "?", "nn", "n n", "sn", "s n", "none", "no number", "unnumbered", "not numbered"}
)
_SPELLED_OUT = frozenset({"film", "camera", "lab", "filter"})
"""Fields that name a thing, so that its abbreviations stand for it."""
_TELLING = frozenset({"village", "building", "date", "title"})
"""Fields that make a card of a row without a number."""
_WHOLE_TEXT = frozenset({"title", "condition", "development", "scheme"})
"""Fields in which "or" and a question mark are part of what is said."""


def read_card_file(
    path: Path,
    mapping: CardMapping,
    known: Known | None = None,
    *,
    encoding: str | None = None,
    sheet: str | None = None,
) -> CardFile:
    """
    Return the cards of a file, read as its mapping says; ``encoding`` and ``sheet`` outrank the mapping.

    Raises:
        EncodingUnsureError, IntakeError: as ``read_table`` and ``read_cards``.
    """
    with uncollected():
        return read_cards(mapping.read_table(path, encoding=encoding, sheet=sheet), mapping, known)


def read_cards(table: Table, mapping: CardMapping, known: Known | None = None) -> CardFile:
    """
    Return what each row of a table would become. One bad row never stops the others.

    Raises:
        IntakeError: the table has no headings that the mapping could be laid on.
    """
    layout = mapping.lay_out(table, FIELD_OF)
    reader = _CardReader(layout.headings, mapping, known or Known())
    carried = frozenset(place for place, use in enumerate(reader.uses) if use.carry)
    cards: list[Card] = []
    unreadable: list[UnreadableRow] = []
    for resolved in resolve_blocks(layout, carried):
        found = reader.read(resolved)
        if isinstance(found, Card):
            cards.append(found)
        else:
            unreadable.append(found)
    return CardFile(
        name=table.name,
        sha256=table.sha256,
        encoding=table.encoding,
        sheet=table.sheet,
        mapping=mapping,
        heading_row=layout.heading_row,
        headings=layout.headings,
        cards=tuple(_with_keys(cards)),
        unreadable=tuple(unreadable),
        skipped=layout.skipped,
        unknown_names=reader.subjects.unknown_names(),
        remarks=(*table.remarks, *reader.remarks()),
    )


@dataclass(slots=True)
class _Draft:
    """A card while its cells are being read."""

    row: int
    numbers: list[CardNumber] = field(default_factory=list)
    facts: dict[str, str | float] = field(default_factory=dict)
    names: dict[str, tuple[int, str]] = field(default_factory=dict)
    """Village, building, elevation, subject and standpoint: read together at the end."""
    dated: Dated | None = None
    keywords: list[str] = field(default_factory=list)
    notes: list[CardNote] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)


_Handler = Callable[[_Draft, int, str, Raw], None]


class _CardReader:
    """Reads row after row with one mapping; what the same words mean is worked out once."""

    def __init__(self, headings: Sequence[str], mapping: CardMapping, known: Known) -> None:
        self._headings, self._mapping = headings, mapping
        self._digested = sorted(enumerate(headings), key=lambda column: column[1])
        uses = {fold(heading): use for heading, use in mapping.columns.items()}
        self.uses = [uses.get(fold(heading), ColumnUse("note")) for heading in headings]
        self._missing = [
            heading for heading in mapping.columns if fold(heading) not in {fold(name) for name in headings}
        ]
        self._looks_right = number_matcher(mapping.number_patterns)
        self._dates = DateReader(mapping)
        self._lenses = tuple(mapping.lenses.items())
        self._tables = {
            kind: {fold(short): long for short, long in words.items()} for kind, words in mapping.abbreviations.items()
        }
        gazetteer = Gazetteer(
            known,
            places=mapping.places,
            buildings=mapping.buildings,
            abbreviations=mapping.abbreviations["words"],
        )
        self.subjects = SubjectReader(gazetteer, mapping, self._tables)
        special: dict[str, _Handler] = {
            "number": self._number,
            "old_number": self._number,
            "date": self._date,
            "keywords": self._keywords,
            "remarks": self._note,
            "note": self._note,
            "lens": self._measure,
            "aperture": self._measure,
            "shutter": self._measure,
            "fate": self._word,
            "medium": self._word,
            **dict.fromkeys(("village", "building", "elevation", "subject", "taken_from"), self._name),
        }
        self._handlers = [special.get(use.field, self._text) for use in self.uses]
        self._measures: dict[tuple[str, str], Reading] = {}

    def remarks(self) -> list[str]:
        """Return what the person should know about how the mapping fits the file."""
        found = [f"the mapping file has a column {heading!r} that this file has not." for heading in self._missing]
        if left := self.subjects.gazetteer.left_unsought:
            found.append(f"{left} unknown names more were not compared with the known ones for near spellings.")
        return found

    def read(self, resolved: ResolvedRow) -> Card | UnreadableRow:
        """Return the card of a row, or the reasons why there is none."""
        source = resolved.source.row
        draft = _Draft(source.number)
        raws, carried = source.raws, resolved.carried
        for column, reason in (*source.faults, *resolved.unresolved):
            written = source.texts[column] if column < len(source.texts) else ""
            self._trouble(draft, column, written, reason, "Type the value itself.")
        handlers = self._handlers
        for column, text in enumerate(resolved.texts):
            if text:
                raw = raws[column] if column < len(raws) and (column not in carried or raws[column]) else None
                handlers[column](draft, column, text, raw)
        return self._finish(draft, resolved)

    def _finish(self, draft: _Draft, resolved: ResolvedRow) -> Card | UnreadableRow:
        """Return the card that a draft has become."""
        source = resolved.source.row
        headings = self._headings
        cells = {headings[column]: text for column, text in enumerate(source.texts) if text}
        said = self.subjects.read(draft.names)
        for column, trouble in said.troubles:
            self._trouble(draft, column, *trouble)
        if not (draft.numbers or self._says_something(draft, said, resolved)):
            reasons = [str(trouble) for trouble in draft.troubles]
            reasons.append("no number, village, building, date or title can be read: nothing to make a sheet of")
            return UnreadableRow(draft.row, cells, tuple(reasons))
        scheme = str(draft.facts.pop("scheme", ""))
        numbers = tuple(
            number if number.is_old or not scheme else replace(number, scheme=scheme) for number in draft.numbers
        )
        dated = draft.dated or Dated(None, None)
        return Card(
            row=draft.row,
            key=_key(numbers, said, dated),
            digest=row_digest(self._digested, resolved.texts),
            cells=cells,
            numbers=numbers,
            village=said.village,
            taken_from=said.taken_from,
            subjects=said.subjects,
            exposed=dated.exposed,
            exposed_words=dated.words,
            facts=draft.facts,
            keywords=tuple(draft.keywords),
            notes=(*draft.notes, *said.notes),
            doubts=(*draft.doubts, *said.doubts),
            troubles=tuple(draft.troubles),
            carried=tuple(
                [Carried(self.uses[column].field, headings[column], row) for column, row in resolved.carried.items()]
            ),
            section=resolved.source.section,
        )

    def _says_something(self, draft: _Draft, said: Said, resolved: ResolvedRow) -> bool:
        """
        Return whether a row without a number is a card all the same: it names what it shows, or when, itself.

        A village that was only carried down to it is no statement of its own; a ditto mark is.
        """
        if any(doubt.field == "number" and doubt.alternatives for doubt in draft.doubts):
            return True
        if not (said.subjects or said.village or draft.dated or "title" in draft.facts):
            return False
        source = resolved.source.row
        return any(
            text and self.uses[column].field in _TELLING and column not in source.carried
            for column, text in enumerate(source.texts)
        )

    def _trouble(
        self,
        draft: _Draft,
        column: int,
        found: str,
        reason: str,
        remedy: str = "",
        kind: str = "not understood",
    ) -> None:
        """Note something to look at."""
        draft.troubles.append(
            Trouble(
                draft.row,
                column_letter(column),
                self._headings[column],
                self.uses[column].field,
                found,
                reason,
                remedy,
                kind,
            )
        )

    def _keep(self, draft: _Draft, column: int, text: str) -> None:
        """Keep words as a note under the heading they stood under."""
        draft.notes.append(CardNote(self._headings[column], text))

    def _note(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        draft.notes.append(CardNote(self._headings[column], text))

    def _name(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        name = self.uses[column].field
        if name in draft.names:  # two columns of one field: the second stays a note
            self._keep(draft, column, text)
        else:
            draft.names[name] = (column, text)

    def _keywords(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        draft.keywords += split_values(text, self._mapping.separators["keywords"])

    def _text(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        name = self.uses[column].field
        if name in draft.facts:
            self._keep(draft, column, text)
            return
        if name in _WHOLE_TEXT:
            draft.facts[name] = text
            return
        wording = split_doubt(text)
        if len(wording.readings) == 1:
            value = wording.readings[0]
            draft.facts[name] = self.subjects.gazetteer.spell_out(value) if name in _SPELLED_OUT else value
        if not wording.is_doubtful:
            return
        draft.doubts.append(Doubt(name, text, wording.certainty, wording.readings[1:] and wording.readings))

    def _date(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        if draft.dated is not None:
            self._keep(draft, column, text)
            return
        dated = self._dates.read(text, raw)
        draft.dated = dated
        if dated.reason is not None:
            draft.doubts.append(Doubt("date", text, POSSIBLE, dated.alternatives))
            self._trouble(draft, column, text, dated.reason, dated.remedy)

    def _measure(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        name = self.uses[column].field
        if isinstance(raw, CellDate):
            self._keep(draft, column, text)
            self._trouble(
                draft,
                column,
                text,
                f"was turned into a date ({raw.day}) by the spreadsheet",
                "Type it again as text, with an apostrophe before it.",
            )
            return
        key = (name, text)
        reading = self._measures.get(key)
        if reading is None:
            reading = self._measures[key] = self._read_measure(name, text)
        self._take(draft, column, text, reading)

    def _read_measure(self, name: str, text: str) -> Reading:
        if name == "lens":
            return read_lens(text, self._lenses)
        return read_aperture(text) if name == "aperture" else read_shutter(text, self._mapping.shutter_bare)

    def _word(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        self._take(draft, column, text, read_word(text, self._tables[self.uses[column].field]))

    def _take(self, draft: _Draft, column: int, text: str, reading: Reading) -> None:
        """Take over what a cell says, with its doubt; what it does not say stays in words."""
        name = self.uses[column].field
        if name in draft.facts:
            self._keep(draft, column, text)
            return
        if reading.value is not None:
            draft.facts[name] = reading.value
        elif reading.reason is not None:
            self._keep(draft, column, text)
        if reading.rest:
            self._keep(draft, column, text)
        if reading.certainty != "certain":
            draft.doubts.append(Doubt(name, text, reading.certainty, reading.alternatives))
        if reading.reason is not None:
            remedy = "The words are kept as a note." if reading.value is None else "It is kept; look at the card."
            self._trouble(draft, column, text, reading.reason, remedy)

    def _number(self, draft: _Draft, column: int, text: str, raw: Raw) -> None:
        use = self.uses[column]
        is_old = use.field == "old_number"
        scheme = use.scheme or ("" if is_old else self._mapping.number_scheme)
        if isinstance(raw, CellDate):
            self._number_from_date(draft, column, text, raw)
            return
        for part in split_values(text, self._mapping.separators["number"]):
            number, remark = split_number(part)
            if remark is not None:
                self._keep(draft, column, remark)
            wording = split_doubt(number)
            if len(wording.readings) != 1 or fold(number) in _NO_NUMBER:
                self._keep(draft, column, part)
                if len(wording.readings) > 1:
                    draft.doubts.append(Doubt(use.field, part, POSSIBLE, wording.readings))
                continue
            bare = wording.readings[0]
            if wording.is_doubtful:
                draft.doubts.append(Doubt(use.field, part, wording.certainty))
            if len(bare) > _LONGEST_NUMBER:
                self._keep(draft, column, part)
                self._trouble(draft, column, part[:40] + "...", "is too long for a number", "Kept as a note.")
                continue
            draft.numbers.append(CardNumber(bare, scheme, is_old))
            if not is_old and not self._looks_right(bare):
                patterns = " or ".join(self._mapping.number_patterns)
                self._trouble(draft, column, bare, f"does not look like {patterns}", "It is kept as it stands.")

    def _number_from_date(self, draft: _Draft, column: int, text: str, raw: CellDate) -> None:
        """Keep a number that the spreadsheet took for a date, with what may have been typed."""
        day = raw.day
        typed = (
            f"{day.year % 100:02}-{day.month:02}",
            f"{day.month:02}-{day.year % 100:02}",
            f"{day.day}-{day.month}",
        )
        draft.doubts.append(Doubt(self.uses[column].field, text, POSSIBLE, typed))
        self._keep(draft, column, text)
        self._trouble(
            draft,
            column,
            text,
            f"is a date ({day}): the spreadsheet took the number for one",
            f"Type the number again as text, perhaps {typed[0]}.",
        )


def _key(numbers: Sequence[CardNumber], said: Said, dated: Dated) -> str:
    """
    Return what tells that a row of an edited file is this one: its first number, else what it shows and when.
    """
    for number in numbers:
        return f"{number.scheme}:{fold(number.text)}" if number.scheme else fold(number.text)
    names = [
        said.village.name if said.village else "",
        *(subject.named.name for subject in said.subjects[:1]),
    ]
    return "unnumbered: " + " / ".join(fold(name) for name in (*names, dated.words or ""))


def row_digest(columns: Sequence[tuple[int, str]], texts: Sequence[str]) -> str:
    """
    Return a digest of what a row says, carried values included, whatever the order of its columns.

    ``columns`` are those of the file in the order of their headings, each with its heading. No cell holds NUL.
    """
    width = len(texts)
    said = "\0".join([f"{heading}\0{texts[column]}" for column, heading in columns if column < width and texts[column]])
    return sha256(said.encode("utf-8", "surrogatepass")).hexdigest()


def _with_keys(cards: Sequence[Card]) -> list[Card]:
    """Return the cards with keys that occur once: repeats and collisions are counted and named."""
    first: dict[str, Card] = {}
    count: Counter[str] = Counter()
    found = []
    for card in cards:
        count[card.key] += 1
        earlier = first.setdefault(card.key, card)
        if earlier is not card:
            card = _second(card, earlier, count[card.key])
        found.append(card)
    return found


def _second(card: Card, earlier: Card, count: int) -> Card:
    """
    Return a card whose key an earlier row has: the same again, another of one number, or one more without
    any.
    """
    key = f"{card.key}#{count}"
    if not card.numbers:
        return replace(card, key=key)
    if card.digest == earlier.digest:
        return replace(card, key=key, repeats=earlier.row)
    differing = [
        heading for heading in {**earlier.cells, **card.cells} if card.cells.get(heading) != earlier.cells.get(heading)
    ]
    number = card.numbers[0]
    trouble = Trouble(
        card.row,
        "",
        "number",
        "number",
        number.text,
        f"stands in row {earlier.row} as well, and the two differ ({', '.join(differing[:4])})",
        "Both are kept as two sheets; if they are one, make the rows agree.",
        "inconsistent",
    )
    return replace(card, key=key, troubles=(*card.troubles, trouble))


def unreadable_rows_csv(rows: Sequence[UnreadableRow], headings: Sequence[str]) -> str:
    """
    Return the rows that could not be read as CSV, the row number and the reason before each.

    A text that a spreadsheet would run as a formula gets an apostrophe before it. Write it as ``utf-8-sig``,
    which spreadsheets recognise.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(["row", "reason", *map(harmless, headings)])
    for row in rows:
        reason = "; ".join(row.reasons)
        writer.writerow([row.row, harmless(reason), *(harmless(row.cells.get(heading, "")) for heading in headings)])
    return stream.getvalue()


def harmless(text: str) -> str:
    """
    Return a text that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("-5"), harmless("78-14")
    ("'=1+1", '-5', '78-14')
    """
    if not text or text[0] not in "=+-@\t\r\n|%":
        return text
    plain_number = text[0] in "+-" and text[1:].replace(".", "", 1).isdigit() and text.isascii()
    return text if plain_number else "'" + text
