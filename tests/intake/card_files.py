"""Builders for card index files and what the catalogue knows, in the invented valley."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from catalog.intake.cards import read_card_file
from catalog.intake.known import Known, KnownBuilding, KnownName, KnownPlace
from catalog.intake.mapping import parse_mapping
from catalog.intake.proposals import Card, CardFile

SAMPLE = Path(__file__).parents[2] / "sample_archive"

COLUMNS = """
[columns]
"Neg" = "number"
"Village" = {field = "village", carry = true}
"Building" = "building"
"Side" = "elevation"
"Subject" = "subject"
"Date" = "date"
"Lens" = "lens"
"Stop" = "aperture"
"Exp" = "shutter"
"Film" = "film"
"From" = "taken_from"
"Fate" = "fate"
"Remarks" = "remarks"
"""


def a_place(reference: str, *names: str, parents: Sequence[str] = ()) -> KnownPlace:
    return KnownPlace(reference, tuple(KnownName(name) for name in names), tuple(parents))


def a_building(reference: str, *names: str, sites: Sequence[str] = ()) -> KnownBuilding:
    return KnownBuilding(reference, tuple(KnownName(name) for name in names), tuple(sites))


THE_VALLEY = Known(
    places=(
        a_place("L1", "Wennshire"),
        a_place("L2", "Osk", "Oske", "Osk St Mary", parents=["L1"]),
        a_place("L3", "Tarn End", parents=["L2"]),
        a_place("L4", "Nether Brome", parents=["L1"]),
        a_place("L5", "Low Halding", parents=["L6"]),
        a_place("L6", "Halding", parents=["L1"]),
        a_place("L7", "Priors Lode", parents=["L1"]),
        a_place("L8", "Priors Lode", "Priors Lode by Cray", parents=["L9"]),
        a_place("L9", "Crayshire"),
        a_place("L10", "Wennmouth", parents=["L1"]),
    ),
    buildings=(
        a_building("B1", "Osk Mill", sites=["L2"]),
        a_building("B2", "Brome Hall", sites=["L4"]),
        a_building("B3", "Weigh-house", sites=["L5", "L6"]),
        a_building("B4", "Priors Lode Granary", sites=["L7"]),
        a_building("B5", "Wennmouth Ferry House", "Ferry House", sites=["L10"]),
        a_building("B6", "Tarn End Mill", sites=["L3"]),
    ),
)


def read_text(folder: Path, text: str, more: str = "", *, known: Known = THE_VALLEY) -> CardFile:
    """Read a text as a card index, with the usual columns and ``more`` of a mapping file."""
    path = folder / "cards.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return read_card_file(path, parse_mapping(COLUMNS + more), known)


def the_card(folder: Path, line: str, more: str = "", *, headings: str, known: Known = THE_VALLEY) -> Card:
    """Read a card index of one card."""
    file = read_text(folder, f"{headings}\n{line}\n", more, known=known)
    assert [row.reasons for row in file.unreadable] == []
    return file.cards[0]


def workbook(path: Path, rows: Sequence[Sequence[Any]], *, formats: dict[str, str] | None = None) -> Any:
    """Return a saved workbook of one sheet, still open to change and save again."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(list(row))
    for cell, code in (formats or {}).items():
        sheet[cell].number_format = code
    book.save(path)
    return book


def sample_known() -> Known:
    """Return what the sample archive knows of its valley."""
    valley = tomllib.loads((SAMPLE / "valley.toml").read_text("utf-8"))
    places = {slug: f"L{number}" for number, slug in enumerate(valley["place"], 1)}
    buildings = {slug: f"B{number}" for number, slug in enumerate(valley["building"], 1)}
    return Known(
        tuple(
            KnownPlace(places[slug], _names(record), tuple(places[one["place"]] for one in record.get("parents", ())))
            for slug, record in valley["place"].items()
        ),
        tuple(
            KnownBuilding(
                buildings[slug],
                _names(record),
                tuple(places[one["place"]] for one in record.get("sites", ())),
            )
            for slug, record in valley["building"].items()
        ),
    )


def _names(record: dict[str, Any]) -> tuple[KnownName, ...]:
    return (KnownName(record["name"]), *(KnownName(other["name"]) for other in record.get("names", ())))
