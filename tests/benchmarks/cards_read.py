"""How fast a card index is read in: rows a second, CSV; XLSX against openpyxl's bare reading of the same file."""

from __future__ import annotations

import csv
import random
import tempfile
from pathlib import Path
from time import perf_counter

from tests.benchmarks.rows import Row, interleaved

ROWS = 20_000
HEADINGS = ("Neg. no", "Box", "Village", "Building", "Side", "Date", "Lens", "Film", "Taken from", "Remarks", "Tk.")
VILLAGES = [f"Village {n}" for n in range(200)]
MAPPING = """
[columns]
"Neg. no" = "number"
Box = "box"
Village = { field = "village", carry = true }
Building = "building"
Side = "elevation"
Date = "date"
Lens = "lens"
Film = "film"
"Taken from" = "taken_from"
Remarks = "remarks"
[numbers]
scheme = "yearly"
[dates]
century = 1900
day_order = "dmy"
"""


def card_rows(count: int = ROWS, seed: int = 7) -> list[tuple[str, ...]]:
    """Return the rows of an invented card index as a person would have typed it: doubt, ditto marks, blanks."""
    chance = random.Random(seed)
    dates = ["c. 1978", "Aug 79?", "summer 82", "n.d.", "78 or 79", "late 1970s", ""]
    rows, when = [], ""
    for number in range(count):
        village = VILLAGES[number * len(VILLAGES) // count]
        first = number % 25 == 0
        if number % 4 == 0:  # the sheets of one visit have one date, as in the sample's own cards
            exact = f"{chance.randint(1, 28)}/{chance.randint(1, 12)}/{chance.randint(74, 99)}"
            when = exact if chance.random() < 0.7 else chance.choice(dates)
        rows.append(
            (
                f"{number // 100 + 100}-{number % 100:02}", str(number // 200), village if first else "",
                f"{village} {chance.choice(('Mill', 'Granary', 'Hall', 'Mill?', 'Barn'))}",
                chance.choice(("N", "E", "S", "W", "N or NE", "")), when,
                chance.choice(("90", "150", "210", "90 or 120")), chance.choice(("Pan 100", "Pan 400")),
                chance.choice(("bridge", "lane", "far bank?", "")), chance.choice(("", "", "boards off [sic]", "wind")),
                chance.choice(("", "/", "//")),
            )
        )  # fmt: skip
    return rows


def measure() -> list[Row]:
    """Return rows a second for CSV, and for XLSX as a share of openpyxl's bare rate, read in the same run."""
    with tempfile.TemporaryDirectory() as folder:
        return _measure(Path(folder))


def _measure(folder: Path) -> list[Row]:
    import openpyxl

    rows = card_rows()
    text, book, mapping = folder / "cards.csv", folder / "cards.xlsx", folder / "cards.toml"
    mapping.write_text(MAPPING, "utf-8")
    with text.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([HEADINGS, *rows])
    workbook = openpyxl.Workbook(write_only=True)
    sheet = workbook.create_sheet()
    for row in (HEADINGS, *rows):
        sheet.append(row)
    workbook.save(book)

    def bare() -> None:
        opened = openpyxl.load_workbook(book, read_only=True)
        for _ in opened.worksheets[0].iter_rows(values_only=True):
            pass
        opened.close()

    read_csv, read_book, bare_book = interleaved(
        lambda: _read(folder, text, mapping), lambda: _read(folder, book, mapping), bare, rounds=3
    )
    return [
        Row("cards read, CSV", ROWS / read_csv, 3000, "rows/s", at_least=True),
        Row(
            "cards read, XLSX, against openpyxl's bare reading", bare_book / read_book, 0.5, "x its rate", at_least=True
        ),
        Row("  openpyxl's bare reading", ROWS / bare_book, None, "rows/s"),
        Row("  cards read, XLSX", ROWS / read_book, None, "rows/s"),
    ]


def _read(folder: Path, cards: Path, mapping: Path) -> float:
    """Read a card file into a new archive; return the seconds it took without making the archive."""
    from catalog.actions.cards import read_cards
    from catalog.intake.cards import read_card_file
    from catalog.intake.known import read_known
    from catalog.intake.mapping import read_mapping
    from catalog.store.new import make_archive

    archive, _ = make_archive(Path(tempfile.mkdtemp(dir=folder)) / "archive")
    begun = perf_counter()
    with archive.reading() as connection:
        known = read_known(connection)
    done = read_cards(archive, read_card_file(cards, read_mapping(mapping), known))
    assert done.plan.count("new") == ROWS, done.plan.count("new")
    return perf_counter() - begun


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure())
