"""Editions and prints for tests: what the test is not about is made here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from catalog.actions.editions import open_edition
from catalog.actions.ledger import EntryFacts, Subject, Written, write_in_ledger
from catalog.actions.persons import add_person
from catalog.actions.prints import pull_prints
from catalog.rules.editions import ACROSS, SizePlan
from catalog.rules.money import parse_money
from catalog.store.archive import Archive
from tests.builders import a_mill, a_sheet, dated, rows
from tests.store.archives import raw

STATEMENT = "An edition of fifteen prints in one size, with two artist's proofs. Halding, March 2011."


@dataclass(frozen=True)
class AnEdition:
    """An edition of Osk Mill: its ids, and the run's."""

    id: int
    run_id: int
    view_id: int
    sheet_id: int
    warnings: tuple[str, ...] = ()


def a_view(archive: Archive) -> tuple[int, int]:
    """Add a sheet that shows Osk Mill and return the view and the sheet."""
    sheet_id = a_sheet(archive, date="1978", shows=a_mill(archive))
    return rows(archive, "SELECT view_id FROM sheet_view WHERE sheet_id = ?", sheet_id)[0], sheet_id


def an_edition(
    archive: Archive, limit: int | None = 15, view: tuple[int, int] | None = None, **given: Any
) -> AnEdition:
    """Open an edition of Osk Mill in one size with two artist's proofs."""
    view_id, sheet_id = view or a_view(archive)
    asked = {
        "statement": STATEMENT, "sizes": [SizePlan("small", "30 x 40 cm", "40 x 50 cm")], "sizes_count": ACROSS,
        "limit": limit, "sheet_ids": [sheet_id], "proofs": [("AP", 2)], "stated": dated("March 2011"), **given,
    }  # fmt: skip
    opened = open_edition(archive, view_id, **asked)
    run_id = rows(archive, "SELECT id FROM run WHERE edition_id = ? ORDER BY id", opened.edition_id)[0]
    return AnEdition(opened.edition_id, run_id, view_id, sheet_id, opened.warnings)


def pull(archive: Archive, run_id: int, ordinal: int | None = None, on: str = "March 2012", **facts: Any) -> int:
    """Pull one print and return its id."""
    return pull_prints(archive, run_id, ordinal=ordinal, pulled=dated(on), **facts).print_ids[0]


def write(
    archive: Archive, kind: str, print_id: int | None = None, *, number_id: int | None = None, on: str | None = None,
    until: str | None = None, price: str | None = None, **facts: Any,
) -> Written:  # fmt: skip
    """Write an entry on one print or number."""
    given = EntryFacts(
        **{
            **facts,
            **({"date": dated(on)} if on else {}),
            **({"due": dated(until)} if until else {}),
            **({"price": parse_money(price)} if price else {}),
        }
    )
    return write_in_ledger(archive, kind, [Subject(print_id, number_id)], given)


def a_gallery(archive: Archive, name: str = "Wennmouth Gallery") -> int:
    """Add a gallery and return its id."""
    return add_person(archive, name=name, kind="firm", role="gallery", address="1 Quay, Wennmouth")


def a_buyer(archive: Archive, name: str = "Wilf Arkle") -> int:
    """Add a buyer and return the id."""
    return add_person(archive, name=name, role="buyer")


def a_scan_of(archive: Archive, sheet_id: int, *, is_reversed: bool | None = None) -> int:
    """Register a scan of a sheet, without a file on the disk, and return its id."""
    now = "2026-11-25T09:30:00Z"
    connection = raw(archive)
    file_id = connection.execute(
        "INSERT INTO file (path, path_key, size_bytes, modified_ns, sha256, first_seen_at, last_checked_at)"
        " VALUES ('78-14.tif', '78-14.tif', 8, 1, ?, ?, ?)",
        ("a" * 64, now, now),
    ).lastrowid
    scan_id = connection.execute(
        "INSERT INTO scan (file_id, kind, is_reversed) VALUES (?, 'TIFF', ?)", (file_id, is_reversed)
    ).lastrowid
    connection.execute(
        "INSERT INTO scan_part (scan_id, sheet_id, matched_by) VALUES (?, ?, 'hand')", (scan_id, sheet_id)
    )
    connection.close()
    assert scan_id is not None
    return scan_id
