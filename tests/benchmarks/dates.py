"""How long do 20,000 dates take? Half in EDTF, half in plain words, no two alike and nothing remembered."""

from __future__ import annotations

import random
from time import perf_counter

from catalog.dates.grammar import parse_edtf
from catalog.dates.words import parse_words
from tests.benchmarks.rows import Row, print_rows

HOW_MANY = 20_000
GOAL_S = 1.0  # issue A, "Shown by" 4

EDTF_SHAPES = (
    "{y}", "{y}-0{m}", "{y}-0{m}-1{m}", "{y}~", "{d}X", "{d}X~", "{y}-0{m}?", "{y}/{z}", "[{y},{z}]",
    "[..{y}]", "{y}-21", "../{y}", "{d}X-12-25", "[{y}~..{z}~]",
)  # fmt: skip
WORD_SHAPES = (
    "c. {y}", "Aug {y}", "1{m} Aug {y}", "Aug {s}?", "summer {s}", "{y} or {z}", "late 1970s", "before {y}",
    "between {y} and {z}", "{y}-0{m}-1{m}", "probably Aug {y}", "1950s", "{y}", "winter {s}", "c. {y} or {z}",
)  # fmt: skip


def some_dates(shapes: tuple[str, ...], how_many: int) -> list[str]:
    """Return dates of every shape in turn; the same ones each time."""
    chance = random.Random(1978)
    dates = []
    for place in range(how_many):
        year = chance.randint(1932, 1990)
        filled = shapes[place % len(shapes)].format(
            y=year, z=year + chance.randint(2, 9), m=chance.randint(1, 9), d=year // 10, s=f"{year % 100:02d}"
        )
        dates.append(filled)
    return dates


def measure() -> list[Row]:
    """Return how long 20,000 dates took."""
    in_edtf = some_dates(EDTF_SHAPES, HOW_MANY // 2)
    in_words = some_dates(WORD_SHAPES, HOW_MANY // 2)
    # Past the memory of dates met before: a card index repeats itself, and that would flatter the figure.
    read_edtf, read_words = parse_edtf.__wrapped__, parse_words.__wrapped__

    started = perf_counter()
    for text in in_edtf:
        read_edtf(text)
    edtf_s = perf_counter() - started
    for text in in_words:
        read_words(text, century=1900)
    both_s = perf_counter() - started

    return [
        Row("20,000 dates parsed, half EDTF and half words", both_s, GOAL_S, "s"),
        Row("of these, 10,000 in EDTF", edtf_s, None, "s"),
        Row("of these, 10,000 in words", both_s - edtf_s, None, "s"),
    ]


if __name__ == "__main__":
    print_rows(measure())
