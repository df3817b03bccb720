"""When a card says its sheet was exposed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from catalog.dates import EdtfDate, parse_edtf
from catalog.errors import AmbiguousDateError, DateWordsError, EdtfError
from catalog.intake.number_formats import parse_number_format, show_number
from catalog.intake.tables import CellDate, Raw

_NUMBERS_ONLY = re.compile(r"(\d{1,2})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{4}|\d{2})")
_ISO = parse_number_format("yyyy-mm-dd")


@dataclass(frozen=True, slots=True)
class Dated:
    """
    A date as read: EDTF, or ``None`` for one that was said to be unknown or could not be read.

    ``reason`` says why it could not; ``alternatives`` hold the EDTF of what it may mean.
    """

    exposed: EdtfDate | None
    words: str | None
    reason: str | None = None
    remedy: str = ""
    alternatives: tuple[str, ...] = ()


class DateHabits(Protocol):
    """What a mapping file says of dates: the century, the order of day and month, and settled readings (EDTF)."""

    @property
    def century(self) -> int | None:
        """The century of two-digit years (1900)."""

    @property
    def day_order(self) -> str | None:
        """``dmy``, ``mdy`` or nothing."""

    @property
    def date_readings(self) -> Mapping[str, str]:
        """EDTF by the words it settles."""


class DateReader:
    """Reads the dates of one table; the same words are worked out once."""

    def __init__(self, mapping: DateHabits) -> None:
        self._century, self._order = mapping.century, mapping.day_order
        self._readings = mapping.date_readings
        self._known: dict[str, Dated] = {}

    def read(self, text: str, raw: Raw = None) -> Dated:
        """
        Return the date of a cell, from its words, or from its number where the spreadsheet holds a date.
        """
        if isinstance(raw, CellDate):
            return self._from_number(text, raw)
        dated = self._known.get(text)
        if dated is None:
            dated = self._known[text] = self._from_words(text, raw)
        return dated

    def _from_number(self, text: str, raw: CellDate) -> Dated:
        if raw.edtf:
            return Dated(parse_edtf(raw.edtf), text)
        return Dated(
            None, text, f"shows no year; the spreadsheet added {raw.day.year} when it was typed",
            "Type the date again as text, with its year.", (raw.day.isoformat(),),
        )  # fmt: skip

    def _from_words(self, text: str, raw: Raw) -> Dated:
        from catalog.dates.words import parse_words

        words = " ".join(text.split())
        settled = self._readings.get(words) or self._by_order(words)
        if settled is not None:
            return Dated(parse_edtf(settled), text)
        try:
            return Dated(parse_words(words, century=self._century), text)
        except AmbiguousDateError as exc:
            return self._choose(text, words, exc)
        except DateWordsError as exc:
            remedy = "The words are kept; correct the card, or put its date under [dates.readings]."
            if isinstance(raw, int | float) and 1_000 < raw < 80_000:
                shown = show_number(raw, _ISO)
                remedy = f"If it is the day count of a spreadsheet, it is {shown}: give the cell a date format."
            return Dated(None, text, _but(exc.reason), remedy)
        except EdtfError as exc:
            return Dated(None, text, _but(exc.reason), "The words are kept; correct the card.")

    def _by_order(self, words: str) -> str | None:
        """Return the EDTF of a date like 10/12/79 in which the order of day and month is all there is to settle."""
        match = _NUMBERS_ONLY.fullmatch(words) if self._order is not None else None
        if match is None or (len(match[3]) == 2 and self._century is None):
            return None
        day, month = (int(match[1]), int(match[2])) if self._order == "dmy" else (int(match[2]), int(match[1]))
        if not (1 <= day <= 12 and 1 <= month <= 12):  # the numbers themselves say which is which, or that none is
            return None
        year = int(match[3]) + (self._century or 0 if len(match[3]) == 2 else 0)
        return f"{year:04}-{month:02}-{day:02}"

    def _choose(self, text: str, words: str, exc: AmbiguousDateError) -> Dated:
        """Take the reading that the order of day and month settles; otherwise ask."""
        match = _NUMBERS_ONLY.fullmatch(words)
        if match is not None and self._order is not None:
            day, month = (match[1], match[2]) if self._order == "dmy" else (match[2], match[1])
            wanted = f"-{int(month):02}-{int(day):02}"
            fitting = [edtf for edtf, _ in exc.readings if edtf.endswith(wanted)]
            if len(fitting) == 1:
                return Dated(parse_edtf(fitting[0]), text)
        meanings = "; ".join(f"{edtf} ({meaning})" for edtf, meaning in exc.readings)
        remedy = "Choose one under [dates.readings] in the mapping file."
        if match is not None:
            remedy = "Say day_order under [dates] in the mapping file."
        return Dated(None, text, f"may mean {meanings}", remedy, tuple(edtf for edtf, _ in exc.readings))


def _but(reason: str) -> str:
    """Return a reason that reads on after the words it is about."""
    return f", but {reason.rstrip('.')}"
