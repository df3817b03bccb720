"""Editions, prints and the ledger by the commands: what is said, shown, refused, kept private."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from catalog.store.archive import Archive
from tests.builders import done, rows, run
from tests.editions import STATEMENT, a_buyer, a_gallery, a_view, an_edition
from tests.store.archives import filled

MANUAL = Path(__file__).parents[2] / "docs" / "manual"
PRIVATE = ("Wilf Arkle", "Wennmouth Gallery", "600", "60000")


@pytest.fixture
def edition(archive: Archive) -> Archive:
    """An archive with E1, 15 prints; N1 a gallery, N2 a buyer."""
    return filled(archive, _open_edition)


def _open_edition(archive: Archive) -> None:
    an_edition(archive)
    a_gallery(archive)
    a_buyer(archive)


@pytest.fixture
def sold(archive: Archive) -> Archive:
    """P1 is consigned and overdue, P2 sold, AP I/II at home, 9/15 promised."""
    return filled(archive, _sell)


def _sell(edition: Archive) -> None:
    _open_edition(edition)
    done(edition, "prints", "pull", "E1", "--count", "2", "--date", "March 2012")
    done(edition, "prints", "pull", "E1", "AP")
    done(edition, "prints", "consign", "P1", "--to", "N1", "--price", "600 EUR", "--until", "May 2013")
    done(edition, "prints", "sell", "E1", "2/15", "--to", "Wilf Arkle", "--price", "600 EUR", "--date", "2014")
    done(edition, "prints", "promise", "E1", "9/15", "--to", "N2")


def items(archive: Archive, *words: str) -> list[dict[str, object]]:
    document = json.loads(done(archive, *words, "--json"))
    assert document["count"] == len(document["items"])
    listed: list[dict[str, object]] = document["items"]
    return listed


def test_an_edition_is_opened_by_its_words(archive):
    view_id, _ = a_view(archive)
    asked = ["editions", "open", f"V{view_id}", "--statement", STATEMENT, "--limit", "25", "--proofs", "AP=2"]

    refused = run(archive, *asked)
    told = done(
        archive, *asked, "--sizes-count", "across", "--size", "small: 30 x 40 cm on 40 x 50 cm", "--size", "large"
    )  # fmt: skip

    assert refused.status == 3
    assert "Say how sizes count" in refused.err
    assert told == "Opened an edition, 25 and 2 artist's proofs: Osk Mill (E1).\n"
    assert rows(archive, "SELECT name, image, paper FROM size ORDER BY id") == [
        ("small", "30 x 40 cm", "40 x 50 cm"), ("large", None, None),
    ]  # fmt: skip


def test_an_earlier_promise_is_shown_word_for_word_and_asked_about(edition):
    again = ["editions", "open", "V1", "--statement", "Thirty.", "--limit", "30", "--sizes-count", "across"]

    asked = run(edition, *again)
    known = run(edition, *again, "--knowing", "E1")

    assert asked.status == 3
    assert STATEMENT in asked.err
    assert asked.err.rstrip().endswith("--knowing E1")
    assert known.status == 0
    assert "Note: With this, 47 copies of the view are allowed" in known.err


def test_an_edition_is_held_opened_amended_priced_and_closed(edition):
    for words in (
        ["hold", "E1", "--words", "no paper"],
        ["open", "E1"],
        [
            "amend",
            "E1",
            "--words",
            "Serial numbers from now on.",
            "--no-limit",
            "--numbers",
            "serial",
            "--date",
            "2015",
        ],
        ["add-size", "E1", "large: 60 x 80 cm", "--words", "A large size.", "--knowing", "E1"],
        ["price", "E1", "600 EUR"],
        ["price", "E1", "800", "--from-sold", "5", "--size", "large"],
        ["close", "E1", "--date", "2020"],
    ):
        done(edition, "editions", *words)

    told = done(edition, "editions", "show", "E1")

    assert "closed" in told
    assert "Serial numbers from now on.; 2015" in told
    assert "800.00 EUR from 5 sold on, large" in told
    assert items(edition, "editions", "list")[0]["limit"] is None


def test_a_limit_is_json_as_a_number_and_null_when_open(edition):
    assert items(edition, "editions", "list")[0]["limit"] == 15
    assert items(edition, "editions", "show", "E1")[0]["limit"] == 15
    assert items(edition, "show", "E1")[0]["limit"] == 15


def test_prints_are_named_by_reference_or_by_edition_and_number(sold):
    for name in (["P2"], ["E1", "2/15"], ["E1 2/15"], ["2/15"]):
        assert items(sold, "prints", "show", *name)[0]["reference"] == "P2"
    assert items(sold, "show", "E1 AP I")[0]["reference"] == "P3"
    assert "1. undated: promised, N2" not in done(sold, "ledger", "E1", "9/15")
    assert "promised" in done(sold, "ledger", "E1", "9/15")


def test_what_is_out_and_what_is_overdue(sold):
    out = items(sold, "prints", "out", "--overdue")

    assert [(item["reference"], item["custodian_reference"], item["due"]["words"]) for item in out] == [
        ("P1", "N1", "May 2013")
    ]
    done(sold, "prints", "return", "P1")
    assert done(sold, "prints", "out") == "No print is out.\n"


def test_a_list_a_gallery_signs_tells_owner_value_and_since_when(sold):
    told = done(sold, "prints", "held-by", "Wennmouth Gallery", "--private")

    assert "P1  E1 1/15  consigned  Wennmouth Gallery (N1)  house" in told
    assert told.endswith("\n1 print, 600.00 EUR.\n")


def test_a_refusal_is_one_line_with_who_and_since_when(sold):
    outcome = run(sold, "prints", "consign", "P2", "--to", "N1")

    assert outcome.status == 3
    assert outcome.err == (
        "tiebeam: E1 2/15 (P2) cannot be consigned: it is sold to Wilf Arkle (N2) since 2014. "
        "Write down first that it was bought back, if it was. Nothing was changed.\n"
    )


@pytest.mark.parametrize(
    "words",
    [
        ["prints", "list"], ["prints", "out"], ["prints", "held-by", "N1"], ["prints", "show", "P2"], ["show", "P2"],
        ["ledger", "E1"], ["ledger", "N2"], ["editions", "show", "E1"], ["editions", "list"], ["show", "E1"],
        ["daybook"],
    ],
)  # fmt: skip
@pytest.mark.parametrize("form", [[], ["--json"], ["--csv"]])
def test_lists_tell_neither_names_nor_prices_unless_asked(sold, words, form):
    if form and words == ["daybook"]:
        return
    outcome = run(sold, *words, *form)
    if outcome.status == 2:  # show has no --csv
        assert form == ["--csv"]
        return

    # The daybook tells the persons it added by name; that is what was done to the archive, not who has a print.
    told = "\n".join(line for line in outcome.out.splitlines() if "persons add" not in line)
    assert outcome.status == 0
    assert [name for name in PRIVATE if name in told] == []


def test_names_and_prices_are_told_with_private(sold):
    assert items(sold, "prints", "list", "--private")[1]["owner"] == "Wilf Arkle"
    assert items(sold, "ledger", "P2", "--private")[1]["price_minor"] == 60000
    assert "Wilf Arkle (N2), 600.00 EUR" in done(sold, "show", "P2", "--private")


def test_a_csv_has_one_value_a_cell(sold):
    listed = list(csv.DictReader(io.StringIO(done(sold, "prints", "list", "--csv"))))

    assert [row["number"] for row in listed] == ["1/15", "2/15", "AP I/II"]
    assert listed[0]["due_earliest"] == "2013-05-01"


def test_every_entry_is_written_by_its_command(edition):
    done(edition, "prints", "pull", "E1", "--count", "4")
    for words in (
        ["sign", "P1", "--where", "verso", "--with", "pencil"],
        ["reserve", "P1", "--to", "N2", "--until", "2030"],
        ["release", "P1"],
        ["drawer", "P1", "--at", "drawer 4"],
        ["frame", "P1", "--at", "Halding"],
        ["lend", "P1", "--to", "N1", "--until", "2030"],
        ["report", "P1", "--words", "corner bumped"],
        ["return", "P1", "--from", "N1"],
        ["exhibit", "P1", "--at", "Halding town hall"],
        ["return", "P1"],
        ["lose", "P1"],
        ["find", "P1", "--at", "plan chest"],
        ["steal", "P1"],
        ["replace", "P1", "--proof", "police report"],
        ["give", "P2", "--to", "N2"],
        ["buy-back", "P2", "--price", "100 EUR"],
        ["sell", "P2", "--to", "N2", "--price", "700 EUR"],
        ["commission", "P2", "--to", "N1", "--price", "280 EUR"],
        ["sell", "P2", "--to", "N1", "--by", "N2"],
        ["damage", "P3", "--words", "crease"],
        ["spoil", "P3", "--words", "ink smeared"],
        ["destroy", "P4", "--words", "torn up"],
        ["correct", "P4", "--paper", "cotton"],
        ["correct-entry", "P4", "--entry", "2", "--why", "that was P3"],
    ):
        done(edition, "prints", *words)

    assert done(edition, "check") == "The catalogue is sound.\n"
    states = [item["state"] for item in items(edition, "prints", "list")]
    assert states == ["replaced", "sold", "spoiled", "in hand", "in hand"]


def test_a_print_without_a_number_is_written_down(edition):
    told = done(edition, "prints", "pull", "--sheet", "S1", "--markings", "I.T. 1979", "--date", "1979?")

    assert told == 'Wrote down the print of S1 without a number, marked "I.T. 1979" (P1).\n'
    assert run(edition, "prints", "pull").status == 3


def test_a_dry_run_says_what_would_be_done(edition):
    told = done(edition, "prints", "pull", "E1", "--count", "2", "--dry-run")

    assert told == "Nothing was changed. This would be done: pulled E1 1/15 (P1), E1 2/15 (P2).\n"
    assert rows(edition, "SELECT count(*) FROM print") == [0]


def test_what_names_nothing_is_refused_in_a_line(edition):
    for words in (
        ["prints", "sell", "P9", "--to", "N2"],
        ["prints", "sell", "E9 1/15", "--to", "N2"],
        ["prints", "sell", "front door", "--to", "N2"],
        ["prints", "pull", "E1", "7/20"],
        ["prints", "pull", "E1", "HC"],
        ["prints", "sell", "E1 3/15", "--to", "N2"],
        ["ledger", "E1 3/15"],
        ["editions", "price", "E1", "twelve"],
    ):
        outcome = run(edition, *words)
        assert outcome.status == 3, words
        assert len(outcome.err.splitlines()) == 1, outcome.err


def test_the_shape_of_json_is_told_in_the_manual(sold):
    told = (MANUAL / "json.md").read_text("utf-8")

    for words in (["prints", "list", "--private"], ["ledger", "E1", "--private"], ["editions", "list"]):
        for name in items(sold, *words)[0]:
            assert f"`{name}`" in told, f"docs/manual/json.md does not tell of {name}"


def test_every_verb_stands_in_the_manual():
    from catalog.cli.editions import editions
    from catalog.cli.prints import prints

    for noun, group in (("editions", editions), ("prints", prints)):
        told = (MANUAL / f"{noun}.md").read_text("utf-8")
        for verb in group.commands:
            assert f"tiebeam {noun} {verb}" in told, verb
