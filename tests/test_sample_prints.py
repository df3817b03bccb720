"""The prints of the sample archive are those the scenario tells of."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from catalog.store.archive import open_archive
from catalog.store.check import check_archive
from catalog.store.editions import list_editions, list_numbers
from catalog.store.prints import list_prints, prints_out


def test_there_are_three_editions_as_the_scenario_has_them(sample: Path):
    with open_archive(sample).reading() as connection:
        found = [(row.limit, row.sizes_count, row.sizes, row.state) for row in list_editions(connection)]

    assert found == [
        (15, "across sizes", "one size", "open"),
        (25, "across sizes", "small; large", "open"),
        (None, "across sizes", "one size", "open"),
    ]


def test_what_the_scenario_tells_became_of_prints(sample: Path):
    # A consignment, a loan, a sale, a gift, a print spoiled, a print destroyed and replaced, a promise not yet kept.
    with open_archive(sample).reading() as connection:
        states = Counter(row.state for row in list_prints(connection))
        out = [(row.state, row.due) for row in prints_out(connection)]
        promised = [number.written for number in list_numbers(connection, 1) if number.state == "promised"]
        replaced = [number.written for number in list_numbers(connection, 1) if number.replaces_id is not None]

    assert states == {"in hand": 7, "consigned": 1, "lent": 1, "sold": 1, "given": 1, "spoiled": 1, "replaced": 1}
    assert out == [("consigned", "2012-09"), ("lent", "2016-05")]
    assert (promised, replaced) == (["7/15"], ["3/15"])


def test_the_sample_archive_is_sound(sample: Path):
    assert check_archive(open_archive(sample)) == []
