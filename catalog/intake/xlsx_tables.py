"""
Workbooks as rows of cells. ECMA-376-1:2016, SpreadsheetML.

The sheet is read here and not through openpyxl's rows: they turn serial numbers into dates before their
format can be asked how much of the date was ever shown, drop merged cells when read in a stream, and take as
long as all of the work after them. openpyxl writes the workbooks of the tests and is asked whether it reads
the same in them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from lxml import etree

from catalog.errors import IntakeError
from catalog.intake._package import Package
from catalog.intake.number_formats import (
    BUILT_IN,
    NumberFormat,
    cell_date,
    parse_number_format,
    show_number,
)
from catalog.intake.tables import CellDate, Raw, Row, Table

_MAX_CELLS = 8_000_000
_MAX_ROW = 1_048_576
_MAX_COLUMN = 1_024
_MAX_TEXT = 32_767
_REF = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")
_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")
_FROM_1904_TO_1900 = 1462
_SAMPLE_DATES = 500
_GENERAL = parse_number_format("General")


@dataclass(frozen=True, slots=True)
class _Sheet:
    name: str
    part: str
    is_hidden: bool


@dataclass(slots=True)
class _RowDraft:
    """A row while merged cells may still be added to it."""

    texts: list[str]
    raws: list[Raw]
    carried: set[int]
    faults: list[tuple[int, str]]


def read_xlsx(content: bytes, *, name: str, digest: str, sheet: str | None = None) -> Table:
    """
    Return the table a workbook holds: the sheet named, or the only one that has anything in it.

    Formulas give the value last worked out. Every cell of a merged area has its value, marked as carried.

    Raises:
        IntakeError: it is no workbook, damaged, unsafe, or has several filled sheets and none was named.
    """
    package = Package(content, name)
    main = package.main_part()
    relations = package.relations(main)
    is_1904, sheets = _workbook(package, main, relations)
    chosen = _chosen(package, sheets, sheet)
    reader = _SheetReader(package, is_1904=is_1904, relations=relations)
    drafts, merged = reader.read(chosen.part)
    _carry_merged(drafts, merged)
    rows = tuple(
        Row(number, tuple(draft.texts), frozenset(draft.carried), tuple(draft.raws), tuple(draft.faults))
        for number, draft in sorted(drafts.items())
        if any(draft.texts) or draft.faults
    )
    filled = {row.number for row in rows}
    blank = tuple(number for number in range(1, max(filled, default=0)) if number not in filled)
    if not rows:
        raise IntakeError(f"{name}: the sheet {chosen.name!r} is empty. Name another with --sheet.")
    return Table(
        name=name, kind="xlsx", sha256=digest, rows=rows, blank=blank, sheet=chosen.name,
        remarks=tuple(_shift_remarks(rows, is_1904=is_1904)),
    )  # fmt: skip


def _workbook(package: Package, main: str, relations: dict[str, str]) -> tuple[bool, list[_Sheet]]:
    """Return whether dates count from 1904, and the sheets in order."""
    is_1904, sheets = False, []
    for element in package.elements(main, "{*}workbookPr", "{*}sheet"):
        if etree.QName(element).localname == "workbookPr":
            is_1904 = element.get("date1904", "0").lower() in {"1", "true", "on"}
        else:
            key = next((value for attribute, value in element.attrib.items() if str(attribute).endswith("}id")), "")
            part = relations.get(str(key), "")
            if part in package and "chartsheets/" not in part:
                sheets.append(_Sheet(element.get("name", ""), part, element.get("state", "visible") != "visible"))
    return is_1904, sheets


def _chosen(package: Package, sheets: list[_Sheet], wanted: str | None) -> _Sheet:
    """Return the sheet to read; ask where several have something in them."""
    if wanted is not None:
        for sheet in sheets:
            if sheet.name.strip().casefold() == wanted.strip().casefold():
                return sheet
        names = ", ".join(repr(sheet.name) for sheet in sheets)
        raise IntakeError(f"{package.name}: no sheet {wanted!r}; there are {names}.")
    filled = [sheet for sheet in sheets if not sheet.is_hidden and _has_cells(package, sheet.part)]
    if not filled:
        raise IntakeError(f"{package.name}: the workbook has nothing in its sheets.")
    if len(filled) > 1:
        names = ", ".join(repr(sheet.name) for sheet in filled)
        raise IntakeError(
            f"{package.name}: {len(filled)} sheets have something in them ({names}); choose with --sheet."
        )
    return filled[0]


def _has_cells(package: Package, part: str) -> bool:
    """Return whether a sheet has any value."""
    elements = package.elements(part, "{*}v", "{*}is")
    found = next(elements, None) is not None
    elements.close()  # type: ignore[attr-defined]  # a generator, which Iterator does not say
    return found


class _SheetReader:
    """Reads one sheet with the shared texts and formats of its workbook."""

    def __init__(self, package: Package, *, is_1904: bool, relations: dict[str, str]) -> None:
        self._package, self._is_1904 = package, is_1904
        parts = {part.rpartition("/")[2].lower(): part for part in relations.values()}
        self._strings = self._read_strings(parts.get("sharedstrings.xml"))
        self._formats = self._read_formats(parts.get("styles.xml"))
        self._shown: dict[tuple[str, str | None], tuple[str, Raw, str | None]] = {}
        self._columns: dict[str, int] = {}

    def _read_strings(self, part: str | None) -> list[str]:
        """Return the workbook's shared texts (§18.4.9), without phonetic help."""
        if part is None or part not in self._package:
            return []
        return [_text_of(element) for element in self._package.elements(part, "{*}si")]

    def _read_formats(self, part: str | None) -> list[NumberFormat]:
        """Return the number format of each cell style (§18.8.10)."""
        if part is None or part not in self._package:
            return []
        codes, formats = dict(BUILT_IN), []
        for element in self._package.elements(part, "{*}numFmt", "{*}cellXfs"):
            if etree.QName(element).localname == "numFmt":
                codes[_whole(element.get("numFmtId"), -1)] = element.get("formatCode", "General")
            else:
                formats = [
                    parse_number_format(codes.get(_whole(child.get("numFmtId"), 0), "General")) for child in element
                ]
        return formats

    def read(self, part: str) -> tuple[dict[int, _RowDraft], list[tuple[int, int, int, int]]]:
        """Return the rows by number, and the merged areas as first and last row and column."""
        rows: dict[int, _RowDraft] = {}
        merged: list[tuple[int, int, int, int]] = []
        number, cells = 0, 0
        for element in self._package.elements(part, "{*}row", "{*}mergeCell"):
            if element.tag.endswith("}mergeCell"):
                if area := _area(element.get("ref", "")):
                    merged.append(area)
                continue
            number = _whole(element.get("r"), number + 1)
            cells += len(element)
            if not 0 < number <= _MAX_ROW or cells > _MAX_CELLS:
                raise IntakeError(
                    f"{self._package.name}, row {number}: more rows or cells than a card index has; split the file."
                )
            if len(element):
                rows[number] = self._read_row(element, number)
        return rows, merged

    def _read_row(self, element: etree._Element, number: int) -> _RowDraft:
        """Return the cells of one row."""
        texts: list[str] = []
        raws: list[Raw] = []
        faults: list[tuple[int, str]] = []
        digits = len(str(number))
        columns, read_cell = self._columns, self._read_cell
        for cell in element:
            ref = cell.get("r")
            if ref is None:
                column = len(texts)
            else:
                letters = ref[:-digits]
                found = columns.get(letters)
                column = columns.setdefault(letters, _column(ref)) if found is None else found
            text, raw, fault = read_cell(cell)
            if fault is not None:
                faults.append((column, fault))
            if not text:
                continue
            if column >= _MAX_COLUMN or column < 0:
                raise IntakeError(f"{self._package.name}, row {number}: more than {_MAX_COLUMN} columns in use.")
            gap = column - len(texts)
            if gap >= 0:
                texts.extend([""] * gap + [text])
                raws.extend([None] * gap + [raw])
            else:  # cells out of order: damaged, but what it says is plain
                texts[column], raws[column] = text, raw
        return _RowDraft(texts, raws, set(), faults)

    def _read_cell(self, cell: etree._Element) -> tuple[str, Raw, str | None]:
        """Return a cell's text as shown, its value, and what is wrong with it."""
        kind = cell.get("t", "n")
        if kind == "inlineStr":
            text = _text_of(cell)
            return text, text, None
        value = None
        for child in cell:
            if child.tag[-2:] == "}v":
                value = child.text
        if not value:
            return "", None, None
        if kind == "s":
            place = _whole(value, -1)
            if not 0 <= place < len(self._strings):
                return "", None, "the text it points to is missing from the workbook; save the workbook anew"
            text = self._strings[place]
            return text, text, None
        style = cell.get("s")
        key = (value if kind == "n" else kind + value, style)
        known = self._shown.get(key)
        if known is None:
            known = self._shown[key] = self._read_value(kind, value, _whole(style, 0))
        return known

    def _read_value(self, kind: str, value: str, style: int) -> tuple[str, Raw, str | None]:
        """Return what a value that is not a shared text shows and means (§18.18.11)."""
        if kind == "str":
            text = _clean(value)
            return text, text, None
        if kind == "b":
            return ("TRUE" if value == "1" else "FALSE"), value == "1", None
        if kind == "e":
            return "", None, f"holds the error {value}; mend the formula, or type the value"
        if kind == "d":
            return self._iso_date(value)
        return self._number(value, style)

    def _iso_date(self, value: str) -> tuple[str, Raw, str | None]:
        """Return a date stored as text by ISO 8601 (§18.18.11, type ``d``)."""
        try:
            day = date.fromisoformat(value[:10])
        except ValueError:
            return value, value, None
        return value[:10], CellDate(day.isoformat(), day), None

    def _number(self, value: str, style: int) -> tuple[str, Raw, str | None]:
        """Return a number in its cell's format: a date if the format shows one."""
        try:
            number = float(value)
        except ValueError:
            return _clean(value), value, None
        if not math.isfinite(number):
            return "", None, f"holds {value}, which is no number"
        form = self._formats[style] if 0 <= style < len(self._formats) else _GENERAL
        exact: int | float = int(number) if number.is_integer() and abs(number) < 2**53 else number
        if form.is_date:
            if not -4e6 < number < 4e6:
                return _clean(value), exact, "is marked as a date, but its number lies outside the calendar"
            found = cell_date(number, form, is_1904=self._is_1904)
            text = show_number(number, form, is_1904=self._is_1904)
            return text, found if found is not None else text, None
        if form.is_time and not -4e6 < number < 4e6:
            return _clean(value), exact, None
        return show_number(exact, form, is_1904=self._is_1904), exact, None


def _whole(text: str | None, default: int) -> int:
    """Return a whole number of a few digits, or ``default`` for anything else."""
    return int(text) if text is not None and text.isascii() and text.isdigit() and len(text) < 10 else default


def _column(ref: str | None) -> int:
    """Return the column of a cell reference, counted from 0; -1 if it is none."""
    column = 0
    for char in ref or "":
        place = ord(char) | 0x20
        if not 97 <= place <= 122:
            break
        column = column * 26 + place - 96
        if column > 20_000:
            break
    return column - 1


def _area(ref: str) -> tuple[int, int, int, int] | None:
    """Return first row, last row, first column, last column of a merged area."""
    first, _, last = ref.partition(":")
    one, other = _REF.fullmatch(first), _REF.fullmatch(last)
    if one is None or other is None:
        return None
    return int(one[2]), int(other[2]), _column(one[1]), _column(other[1])


def _text_of(element: etree._Element) -> str:
    """Return the text of runs, leaving out the phonetic ones (§18.4.6)."""
    inner = element[0] if len(element) == 1 else element  # the one ``is`` of a cell, or one run of a text
    if len(inner) == 1 and len(inner[0]) == 0:
        return _clean(inner[0].text or "")
    if len(inner) == 0:
        return _clean(inner.text or "")
    runs = []
    for child in element.iter("{*}t"):
        parent = child.getparent()
        if parent is None or not str(parent.tag).endswith("}rPh"):
            runs.append(child.text or "")
    return _clean("".join(runs))


def _clean(text: str) -> str:
    """Return a text with its escapes (§22.9.2.19, ``_x000D_``) undone and no space around it."""
    if text.isprintable() and "_x" not in text:
        return text[:_MAX_TEXT].strip()
    if "_x" in text:
        text = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)
        text = "".join(
            char for char in text if not 0xD800 <= ord(char) <= 0xDFFF and (char >= " " or char in "\t\n\r\x0b")
        )
    # A vertical tab is the line end of an old database within a cell (case C05).
    return text[:_MAX_TEXT].replace("\r\n", "\n").replace("\r", "\n").replace("\x0b", "\n").strip()


def _carry_merged(rows: dict[int, _RowDraft], merged: list[tuple[int, int, int, int]]) -> None:
    """Give every cell of a merged area the value of its first, and mark it (case E08)."""
    last_used = max(rows, default=0)
    widest = max((len(draft.texts) for draft in rows.values()), default=0)
    room = _MAX_CELLS
    for top, bottom, left, right in merged:
        first = rows.get(top)
        if first is None or left >= len(first.texts) or not first.texts[left]:
            continue
        text, raw = first.texts[left], first.raws[left]
        for number in range(top, min(bottom, last_used) + 1):
            draft = rows.get(number)
            if draft is None:  # nothing stands in this row: it stays blank
                continue
            for column in range(left, min(right, widest - 1) + 1):
                room -= 1
                if (number, column) == (top, left) or room < 0:
                    continue
                missing = column + 1 - len(draft.texts)
                draft.texts.extend([""] * missing)
                draft.raws.extend([None] * missing)
                draft.texts[column], draft.raws[column] = text, raw
                draft.carried.add(column)


def _shift_remarks(rows: tuple[Row, ...], *, is_1904: bool) -> Iterator[str]:
    """
    Yield a remark for each column whose dates look shifted by the 1,462 days between the two date bases (case
    E06).

    Looks shifted: typed texts of the same row name years, and they differ from the dates of the column by
    four in most rows; or every date lies after today and four years earlier would not.
    """
    from collections import Counter

    from catalog import clock

    today = clock.today()
    columns: dict[int, list[tuple[Row, date]]] = {}
    for row in rows:
        for column, raw in enumerate(row.raws):
            if isinstance(raw, CellDate) and column not in row.carried:
                columns.setdefault(column, []).append((row, raw.day))
    for column, found in columns.items():
        gaps: Counter[int] = Counter()
        sample = found[:: len(found) // _SAMPLE_DATES + 1]
        for row, day in sample:
            gaps.update({year - day.year for year in _years_written(row, column)})
        future = sum(day > today for _, day in found)
        for sign in (-4, 4):
            told = gaps[sign] >= 3 and gaps[sign] > gaps[0] and gaps[sign] * 2 >= len(sample)
            if told or (sign == -4 and future == len(found) >= 3):
                yield _shift_remark(column, found, sign=sign, is_1904=is_1904)


def _years_written(row: Row, column: int) -> set[int]:
    """Return the years that the other cells of a row spell out or begin with (``1978-014``, ``78-14``)."""
    years = set()
    for other, text in enumerate(row.texts):
        if other != column and not (row.raws and isinstance(row.raws[other], CellDate)):
            years |= {int(year) for year in re.findall(r"(?<!\d)(1[89]\d\d|20\d\d)(?!\d)", text)}
            if short := re.match(r"(\d\d)[-/.]\d", text):
                years |= {1900 + int(short[1]), 2000 + int(short[1])}
    return years


def _shift_remark(column: int, found: list[tuple[Row, date]], *, sign: int, is_1904: bool) -> str:
    """Return the sentence about one shifted column."""
    from catalog.intake.tables import column_letter

    row, day = found[0]
    meant = date.fromordinal(max(day.toordinal() + (_FROM_1904_TO_1900 if sign > 0 else -_FROM_1904_TO_1900), 1))
    base = "1904" if is_1904 else "1900"
    return (
        f"column {column_letter(column)}: all {len(found)} dates look shifted by 1,462 days "
        f"(row {row.number}: {day}, perhaps {meant}), "
        "as when cells are pasted between workbooks that count from 1900 and from 1904 "
        f"(this one: {base}). Compare a card you are sure of; nothing was changed."
    )
