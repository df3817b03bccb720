"""The values of a record in words: its dates, its facts and what belongs to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog.dates import edtf_in_words

if TYPE_CHECKING:
    from catalog.store.show import DateValue, Fact, Line


def date_words(date: DateValue) -> str:
    """Return a date in words, with the words it was written in where those say it otherwise."""
    return _as_written(edtf_in_words(date.edtf), date)


def _as_written(words: str, date: DateValue) -> str:
    return f'{words} (written "{date.words}")' if date.words and date.words.casefold() != words.casefold() else words


def span_words(begun: DateValue | None, ended: DateValue | None) -> str:
    """Return how long something held, in words: "from 1722 until June 1979"."""
    ends = (("from", begun), ("until", ended))
    return " ".join(_as_written(f"{word} {_moment_words(date.edtf)}", date) for word, date in ends if date is not None)


def _moment_words(edtf: str | None) -> str:
    """Return a beginning or an end in words that can follow "from" or "until"."""
    if edtf is None:
        return "a time not known"
    words = edtf_in_words(edtf)
    if words.startswith("by "):
        return f"{words[3:]} or earlier"
    if words.startswith("from ") and " to " in words:
        return "some time between " + words[5:].replace(" to ", " and ", 1)
    return f"some time {words}" if words.startswith(("between ", "from ", "until ")) else words


def line_words(line: Line) -> str:
    """Return what belongs to a record as one line of words."""
    if line.is_span:
        when = span_words(line.date, line.until)
    else:
        when = date_words(line.date) if line.date is not None else ""
    if line.number is not None:  # an entry of a ruled page: its date comes first
        return f"{when}: " + "; ".join([line.words.rstrip("."), *line.marks])
    return "; ".join(filter(None, (line.words, when, *line.marks)))


def fact_words(fact: Fact) -> str:
    """Return a fact's value in words, with its doubt."""
    if fact.value is None:
        words = "not known"
    elif isinstance(fact.value, str | int | float):
        words = f"{fact.value:g}" if isinstance(fact.value, float) else str(fact.value)
    else:
        words = date_words(fact.value)
    if fact.doubt is None or f'(written "{fact.doubt}")' in words:
        return words
    return f'{words} (doubtful; written "{fact.doubt}")'


def steps_words(steps: str | None) -> str | None:
    """Return recorded tone steps in words; ``None`` when none are recorded."""
    from catalog.errors import ToneStepError
    from catalog.imaging.tone_steps import parse_steps, words_of_steps

    if steps is None:
        return None
    try:
        return words_of_steps(parse_steps(steps))
    except ToneStepError as exc:
        return f"cannot be read ({exc.reason})"
