"""Text files of separated values, as spreadsheets, databases and people write them."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from itertools import islice
from pathlib import Path

from catalog.errors import IntakeError
from catalog.intake.encodings import decode
from catalog.intake.tables import Row, Table

_DELIMITERS = (",", ";", "\t", "|")
_SAMPLE_ROWS = 200
_SAMPLE_CHARS = 256 * 1024
_MAX_COLUMNS = 1024
_MAX_ROWS = 1_048_576
"""As many as a spreadsheet has."""


def read_csv(
    content: bytes, *, path: Path, digest: str, encoding: str | None = None, delimiter: str | None = None
) -> Table:
    """
    Return the table a text file holds. Rows are counted as a spreadsheet would show them: a line break
    within quotes starts no new row, and blank lines count.

    Raises:
        EncodingUnsureError, IntakeError: as ``read_table``.
    """
    decoded = decode(content, path, encoding)
    text = decoded.text.removeprefix("\ufeff").rstrip("\x1a\x00")  # Control-Z ended a text file under DOS
    if "\x00" in text:
        raise IntakeError(f"{path.name}: holds NUL bytes, so it is not a text file. Export it again.")
    remarks = list(decoded.remarks)
    first, _, rest = text.partition("\n")
    if delimiter is None and (stated := re.fullmatch(r"sep=(.)\r?", first, re.IGNORECASE)):
        delimiter, text = stated[1], "\n" + rest
    delimiter = _delimiter(text, path) if delimiter is None else _checked(delimiter, path)
    records, lone_quotes = _records(text, delimiter, path)
    if lone_quotes:
        remarks.append("Lone quotation marks between separators were read as ditto marks.")
    rows, blank = [], []
    for number, record in enumerate(records, start=1):
        # An old database ends a line within a cell by a vertical tab (case C05); of a line end it would make a row.
        texts = tuple([cell.replace("\x0b", "\n").strip() for cell in record])
        if any(texts):
            rows.append(Row(number, texts))
        else:
            blank.append(number)
    return Table(
        name=path.name, kind="csv", sha256=digest, rows=tuple(rows), blank=tuple(blank),
        encoding=decoded.encoding, delimiter=delimiter, remarks=tuple(remarks),
    )  # fmt: skip


def _checked(delimiter: str, path: Path) -> str:
    """Return a delimiter that was named, if it can be one."""
    delimiter = {"tab": "\t", "\\t": "\t"}.get(delimiter, delimiter)
    if len(delimiter) != 1 or delimiter in '"\r\n' or delimiter.isalnum():
        raise IntakeError(f"{path.name}: {delimiter!r} cannot separate columns; use one sign such as , ; or tab.")
    return delimiter


def _delimiter(text: str, path: Path) -> str:
    """Return the sign that parts the columns: the one that gives the most rows of one width."""
    sample = text[:_SAMPLE_CHARS]
    best, best_score = ",", (0, 0)
    for candidate in _DELIMITERS:
        widths: Counter[int] = Counter()
        try:
            for number, record in enumerate(csv.reader(io.StringIO(sample, newline=""), delimiter=candidate)):
                if number >= _SAMPLE_ROWS:
                    break
                if any(record):
                    widths[len(record)] += 1
        except csv.Error:
            continue  # tried again below with the sign chosen, and then named
        width, count = max(((w, c) for w, c in widths.items() if w > 1), key=lambda item: item[1], default=(0, 0))
        if (count, width) > best_score:
            best, best_score = candidate, (count, width)
    return best


def _records(text: str, delimiter: str, path: Path) -> tuple[list[list[str]], bool]:
    """
    Return the records, and whether lone quotation marks had to be read as ditto marks.

    A ditto mark typed as ``"`` and written without care for the quoting rules opens a quotation that swallows
    the rows below. Where such a mark stands, both readings are tried and the one in better shape is kept.
    """
    plain, fault = _parse(text, delimiter, path)
    sign = re.escape(delimiter)
    mended = text if '"' not in text else _lone_quotes(sign).sub('""""', text)
    if mended != text:
        other, other_fault = _parse(mended, delimiter, path)
        is_better = fault is not None or _misshapen(other) < _misshapen(plain)
        is_whole = _misshapen(other) == 0 and len(other) > len(plain)
        if other_fault is None and (is_better or is_whole):
            return other, True
    if fault is not None:
        raise fault
    return plain, False


def _lone_quotes(sign: str) -> re.Pattern[str]:
    """Return the pattern of a quotation mark that is all there is between two separators."""
    return re.compile(rf'(?:(?<=[\r\n{sign}])|\A) *" *(?=[\r\n{sign}]|\Z)')


def _parse(text: str, delimiter: str, path: Path) -> tuple[list[list[str]], IntakeError | None]:
    """Return the records that can be read, and the fault that stopped the reading."""
    records: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=False)
    before_last = last_line = 0
    try:
        while (record := next(reader, None)) is not None:
            records.append(record)
            before_last, last_line = last_line, reader.line_num
            if len(record) > _MAX_COLUMNS or len(records) > _MAX_ROWS:
                what = (
                    f"more than {_MAX_COLUMNS} columns" if len(record) > _MAX_COLUMNS else f"more than {_MAX_ROWS} rows"
                )
                return records, IntakeError(f"{path.name}, row {len(records)}: {what}; this is no card index.")
    except csv.Error as exc:
        return records, IntakeError(
            f"{path.name}, row {len(records) + 1} (line {reader.line_num}): {exc}. "
            "Look for a quotation mark that is never closed."
        )
    if records and _is_left_open(text, records[-1], before_last, delimiter):
        return records, IntakeError(
            f"{path.name}, row {len(records)}: a quotation mark opened there is never closed. Close it, or double it."
        )
    return records, None


def _is_left_open(text: str, last: list[str], lines_before: int, delimiter: str) -> bool:
    """Return whether the last record ran to the end of the file within quotes."""
    if not any("\n" in cell or "\r" in cell for cell in last):
        tail = text.rstrip("\r\n")
        return bool(last) and tail.endswith(delimiter + '"') and tail.count('"') % 2 == 1
    tail_lines = islice(io.StringIO(text, newline=""), lines_before, None)
    try:
        for _ in csv.reader(tail_lines, delimiter=delimiter, strict=True):
            pass
    except csv.Error as exc:
        return "end of data" in str(exc)
    return False


def _misshapen(records: list[list[str]]) -> int:
    """Return how many records have another width than most, or a cell of many lines."""
    widths = Counter(len(record) for record in records if record)
    usual = max(widths, key=lambda width: widths[width], default=0)
    return sum(
        1 for record in records if record and (len(record) != usual or any(cell.count("\n") > 12 for cell in record))
    )
