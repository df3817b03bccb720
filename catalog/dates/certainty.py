"""Does a row of the catalogue fall within the years asked for? Over plain column values."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.dates.days import calendar_day, iso_day
from catalog.dates.grammar import parse_edtf
from catalog.dates.value import Certainty, EdtfDate, is_about, is_inside, overlaps


@dataclass(frozen=True, slots=True)
class Window:
    """
    The stretch of days a question is about.

    ``first`` and ``last`` are days, None for no bound. A date marked ``~`` or ``%`` is *possibly* within
    when it comes as near as ``about_days``.
    """

    first: int | None
    last: int | None
    about_days: int = 0


def fall(edtf: str, earliest: int | None, latest: int | None, doubt: str, window: Window) -> Certainty:
    """
    Return whether a dated row falls within a window.

    The four values are the columns of one date. The text is parsed only where the date may mean several
    stretches of days (a set, or open digits) and the window covers part of them.

    Raises:
        ValueError: the row has no date; an undated row is counted apart, it does not fall anywhere.
    """
    if not edtf:
        raise ValueError("an undated row falls neither inside nor outside a window")
    asked = (window.first, window.last)
    if not doubt and is_inside((earliest, latest), asked):
        return Certainty.CERTAINLY
    margin = window.about_days if is_about(doubt) else 0
    if not overlaps((earliest, latest), asked, margin):
        return Certainty.APART
    if edtf[0] not in "[{" and "X" not in edtf:
        return Certainty.POSSIBLY
    spans = parse_edtf(edtf).spans
    return Certainty.POSSIBLY if any(overlaps(span, asked, margin) for span in spans) else Certainty.APART


def truncated_iso(date: EdtfDate) -> str | None:
    """
    Return the date as XMP and IPTC truncate it, or None if that would state more than is known.

    It is ``YYYY``, ``YYYY-MM`` or ``YYYY-MM-DD``; every day the date may mean must share it. A marked date, a
    season (its edges are soft), an open or unknown end and a year outside 0001-9999 give None.
    """
    if date.doubt or date.earliest is None or date.latest is None:
        return None
    first, last = calendar_day(date.earliest), calendar_day(date.latest)
    if first[0] != last[0] or not 1 <= first[0] <= 9999:
        return None
    whole = iso_day(date.earliest) or ""
    shared = 3 if first == last else 2 if first[:2] == last[:2] else 1
    return whole[: (0, 4, 7, 10)[shared]]
