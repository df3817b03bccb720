"""``tiebeam cards`` as a person types it: guess, rehearse, read, and what is said of files that are no card index."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import pytest

from catalog.store.archive import Archive
from tests.builders import a_village, done, rows, run
from tests.card_indexes import CARDS, HEADINGS, MAPPING, SAMPLE
from tests.intake.card_files import workbook
from tests.store.archives import tables


@pytest.fixture
def cards(tmp_path: Path) -> Path:
    """A card index with its mapping beside it."""
    path = tmp_path / "cards.csv"
    path.write_text(f"{HEADINGS}\n{CARDS}", "utf-8")
    path.with_suffix(".toml").write_text(MAPPING, "utf-8")
    return path


def test_a_reading_says_what_it_added_and_is_one_deed(archive: Archive, cards: Path):
    said = done(archive, "cards", "read", str(cards))

    assert "8 sheets added." in said
    assert "New place: Osk" in said
    assert "read cards.csv: 8 sheets added" in done(archive, "daybook")


def test_e13_the_same_file_again_says_that_all_is_here(archive: Archive, cards: Path):
    done(archive, "cards", "read", str(cards))

    assert "Nothing to add: all 8 rows are here already." in done(archive, "cards", "read", str(cards))


def test_something_to_look_at_is_said_and_leaves_one(archive: Archive, cards: Path):
    cards.write_text(cards.read_text("utf-8").replace("Mar 77", "31/4/1977"), "utf-8")

    outcome = run(archive, "cards", "read", str(cards))

    assert outcome.status == 1
    assert "row 9, \"Date\": '31/4/1977', but April has 30 days." in outcome.out
    assert "8 sheets added, 1 with something to look at." in outcome.out
    assert run(archive, "cards", "read", str(cards)).status == 0


def test_a_rehearsal_shows_each_row_and_writes_nothing(archive: Archive, cards: Path):
    before = tables(archive, set())

    said = done(archive, "cards", "rehearse", str(cards), "--all")

    assert "row 3: new: 78-17; Osk Mill?; 78 or 79 (carried down: village)" in said
    assert "  doubtful lens: '90 or 120', possible" in said
    assert "Would add building: Town Mill" in said
    assert "8 sheets would be added." in said
    assert tables(archive, set()) == before
    assert list(cards.parent.glob("*not read*")) == []


def test_a_dry_run_is_a_rehearsal(archive: Archive, cards: Path):
    before = tables(archive, set())

    said = done(archive, "cards", "read", str(cards), "--dry-run")

    assert "8 sheets would be added." in said
    assert tables(archive, set()) == before


def test_a_rehearsal_as_json_is_one_document(archive: Archive, cards: Path):
    found = json.loads(done(archive, "cards", "rehearse", str(cards), "--json"))

    assert found["count"] == 8
    assert found["items"][1]["numbers"] == ["78-17"]
    assert {"field": "lens", "as_written": "90 or 120", "certainty": "possible"} in found["items"][1]["doubts"]


def test_what_an_edited_card_changes_is_said_in_words_and_what_was_corrected_stays(archive: Archive, cards: Path):
    done(archive, "cards", "read", str(cards))
    done(archive, "sheets", "correct", "S3", "--docket", "450")
    text = cards.read_text("utf-8").replace("weir,,447,,,", "weir,,448,,Wet,").replace("85-14 (sold)", "85-15 (sold)")
    cards.write_text(text.replace("90 or 120", "120"), "utf-8")

    outcome = run(archive, "cards", "read", str(cards))

    assert outcome.status == 1
    assert "row 4 (S3), docket: the card says 448 instead of 447; corrected here since, it stays 450." in outcome.out
    assert "row 4 (S3), note 'Remarks': nothing becomes Wet" in outcome.out
    assert "row 10 (S8), numbers: 85-14 becomes 85-15" in outcome.out
    assert "row 3 (S2), lens: nothing becomes 120 mm" in outcome.out
    assert "row 3 (S2), doubt about lens: '90 or 120', possible becomes nothing" in outcome.out
    assert "3 sheets changed, 1 left as corrected, 5 here already." in outcome.out


def test_a_row_that_is_gone_is_named_and_its_sheet_stays(archive: Archive, cards: Path):
    done(archive, "cards", "read", str(cards))
    lines = cards.read_text("utf-8").splitlines(keepends=True)
    cards.write_text("".join(line for line in lines if not line.startswith("82-09")), "utf-8")

    said = done(archive, "cards", "read", str(cards))

    assert "82-09 (row 6 of cards.csv) is no longer in the file; its sheet S5 stays." in said


def test_rows_that_cannot_be_read_go_to_a_file_with_the_reason_and_the_others_are_read(
    archive: Archive, cards: Path, tmp_path: Path
):
    cards.write_text(cards.read_text("utf-8") + ",,,,,,,,,,,=looks like a card,\n", "utf-8")

    outcome = run(archive, "cards", "read", str(cards), "--rejects", str(tmp_path / "rejects.csv"))

    assert outcome.status == 1
    assert "8 sheets added, 1 cannot be read." in outcome.out
    with (tmp_path / "rejects.csv").open(encoding="utf-8-sig", newline="") as stream:
        (reject,) = csv.DictReader(stream)
    assert reject["row"] == "11"
    assert "no number, village, building, date or title" in reject["reason"]
    assert reject["Remarks"] == "'=looks like a card"


def test_a_number_like_no_other_is_read_and_pointed_out(archive: Archive, cards: Path):
    cards.with_suffix(".toml").write_text(MAPPING.replace('"yearly"', '"yearly"\npatterns = ["##-##"]'), "utf-8")

    outcome = run(archive, "cards", "read", str(cards))

    assert outcome.status == 1
    assert "row 7, \"Neg\": 'X4' does not look like ##-##. It is kept as it stands." in outcome.out


def test_an_encoding_that_may_be_several_is_asked_for_with_the_words_and_settled(archive: Archive, cards: Path):
    cards.write_bytes(b"Neg,Village\r\n78-14,Saint-\x8eloi\r\n")

    refused = run(archive, "cards", "read", str(cards))
    read = run(archive, "cards", "read", str(cards), "--encoding", "mac_roman")

    assert refused.status == 3
    assert "--encoding" in refused.err
    assert "Saint-éloi" in refused.err
    assert read.status in (0, 1)
    assert rows(archive, "SELECT name FROM place") == ["Saint-éloi"]


def test_a_card_index_never_seen_before_is_guessed_rehearsed_and_read_in_an_empty_archive(
    archive: Archive, tmp_path: Path
):
    path = tmp_path / "index.csv"
    path.write_text(
        "Negatives of the hill farms\n\nNumber,Parish,Building,Elev.,Taken,Lens,Notes\n"
        + "".join(
            f"{80 + n // 4}-{n:02},{'Upper Tor' if n % 6 == 0 else ''},{'Long Barn' if n % 2 else 'Shippon'},"
            f"{'NESW'[n % 4]},{'c. ' if n % 3 else ''}{1980 + n // 4},{(90, 150)[n % 2]},"
            f"{'wind' if n % 5 == 0 else ''}\n"
            for n in range(12)
        ),
        "utf-8",
    )

    guessed = run(archive, "cards", "guess", str(path))
    mapping = tomllib.loads(path.with_suffix(".toml").read_text("utf-8"))
    rehearsed = run(archive, "cards", "rehearse", str(path))
    read = run(archive, "cards", "read", str(path))

    assert "'Parish' is village" in guessed.out
    assert mapping["columns"]["Parish"] == {"field": "village", "carry": True}
    assert "12 sheets would be added" in rehearsed.out
    assert "12 sheets added" in read.out
    assert "New place: Upper Tor" in read.out
    assert sorted(rows(archive, "SELECT name FROM building")) == ["Long Barn", "Shippon"]
    assert rows(archive, "SELECT count(*) FROM sheet WHERE exposed_doubt = '~'") == [8]


def test_a_mapping_that_is_there_is_not_written_over(archive: Archive, cards: Path):
    outcome = run(archive, "cards", "guess", str(cards))

    assert outcome.status == 3
    assert "there is a mapping file already" in outcome.err
    assert cards.with_suffix(".toml").read_text("utf-8") == MAPPING


def test_two_villages_of_one_name_are_asked_about_by_guess_and_by_reading(archive: Archive, cards: Path):
    a_village(archive, "Osk")
    a_village(archive, "Osk")
    cards.with_suffix(".toml").unlink()

    guessed = run(archive, "cards", "guess", str(cards), "--to", str(cards.with_name("guessed.toml")))
    cards.with_suffix(".toml").write_text(MAPPING, "utf-8")
    unanswered = run(archive, "cards", "rehearse", str(cards))
    cards.with_suffix(".toml").write_text(MAPPING + '[places]\nOsk = "L2"\n', "utf-8")
    done(archive, "cards", "read", str(cards))

    assert guessed.status == 1
    assert "? place 'Osk' is several: Osk (L1) or Osk (L2). Which is it?" in guessed.out
    assert 'Osk = ""' in cards.with_name("guessed.toml").read_text("utf-8")
    assert unanswered.status == 1
    assert "is 2 places of one name" in unanswered.out
    assert rows(archive, "SELECT DISTINCT place_id FROM view_subject WHERE place_id IS NOT NULL") == [2]


def test_j18_what_became_of_film_at_the_lab_is_read_from_cards_and_corrected_by_hand(archive: Archive, cards: Path):
    # Eight sheets went to the lab on docket 566; seven came back.
    sent = "".join(f"86-{n:02},Osk,Osk Mill,S,5 Oct 86,150,Pan 100,weir,Dale,566,with lab,,\n" for n in range(1, 9))
    cards.write_text(f"{HEADINGS}\n{sent}", "utf-8")
    done(archive, "cards", "read", str(cards))
    assert rows(archive, "SELECT DISTINCT fate, docket FROM sheet") == [("with lab", "566")]

    text = cards.read_text("utf-8")
    for n in range(1, 8):
        card = f"86-{n:02},Osk,Osk Mill,S,5 Oct 86,150,Pan 100,weir,Dale,566,"
        text = text.replace(f"{card}with lab", f"{card}ok")
    cards.write_text(text, "utf-8")
    assert "row 2 (S1), fate: with lab becomes exposed" in done(archive, "cards", "read", str(cards))
    done(archive, "sheets", "correct", "S8", "--fate", "lost at lab", "--fate-date", "12 Nov 1986")

    assert rows(archive, "SELECT fate, count(*) FROM sheet GROUP BY 1 ORDER BY 1") == [
        ("exposed", 7),
        ("lost at lab", 1),
    ]
    shown = done(archive, "show", "86-08")
    for words in ("lost at lab", "12 November 1986", "566", "Dale"):
        assert words in shown
    done(archive, "sheets", "correct", "S8", "--fate", "not returned")
    assert "not returned" in done(archive, "show", "86-08")


def test_d09_an_undated_card_is_counted_beside_the_years_asked_for(archive: Archive, cards: Path):
    done(archive, "cards", "read", str(cards))

    found = json.loads(done(archive, "find", "--place", "Osk", "--years", "1975/1990", "--json"))

    assert found["undated"] == 1
    assert "X4" in done(archive, "find", "--undated")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xd8\xff\xe0" + bytes(200), "a JPEG picture, not a card index"),
        (b"", "the file is empty"),
        (None, "no such file"),
        (b"PK\x05\x06" + bytes(18), ""),
    ],
)
def test_a_file_that_is_no_card_index_is_refused_in_a_line(
    archive: Archive, tmp_path: Path, content: bytes | None, said: str
):
    path = tmp_path / "cards.xlsx"
    path.with_suffix(".toml").write_text(MAPPING, "utf-8")
    if content is not None:
        path.write_bytes(content)
    before = tables(archive, set())

    for verb in ("read", "rehearse", "guess"):
        outcome = run(
            archive, "cards", verb, str(path), *(["--to", str(tmp_path / "other.toml")] if verb == "guess" else [])
        )

        assert outcome.status == 3
        assert said in outcome.err
        assert len(outcome.err.splitlines()) <= 2
    assert tables(archive, set()) == before


def test_a_folder_is_refused(archive: Archive, tmp_path: Path):
    (tmp_path / "cards.toml").write_text(MAPPING, "utf-8")
    outcome = run(archive, "cards", "read", str(tmp_path), "--mapping", str(tmp_path / "cards.toml"))

    assert (outcome.status, "a folder, not a card index" in outcome.err) == (3, True)


def test_without_a_mapping_the_command_that_writes_one_is_named(archive: Archive, cards: Path):
    cards.with_suffix(".toml").unlink()

    outcome = run(archive, "cards", "read", str(cards))

    assert outcome.status == 3
    assert "tiebeam cards guess" in outcome.err


def test_every_fault_of_a_mapping_is_named_at_once(archive: Archive, cards: Path):
    cards.with_suffix(".toml").write_text(
        'colour = 1\n[columns]\nNeg = "nombre"\n[dates]\nday_order = "ydm"\n[lenses]\n90 = -1\n', "utf-8"
    )

    outcome = run(archive, "cards", "read", str(cards))

    assert outcome.status == 3
    for fault in ("colour", "nombre", "ydm", "'90'"):
        assert fault in outcome.err
    assert rows(archive, "SELECT count(*) FROM sheet") == [0]


# ---- workbooks, end to end


def test_e05_e08_e11_a_workbook_as_an_office_made_it(archive: Archive, tmp_path: Path):
    book = workbook(
        path := tmp_path / "cards.xlsx",
        [
            ["The negatives of Osk"], ["typed 1996"], [],
            ["Neg", "Village", "Building"],
            [14, "Osk", "Osk Mill"], [15, None, "Granary"],
            [],
            ["Neg", "Village", "Building"],
            [16, "Halding", "Toll House"],
        ],
        formats={"A5": "0000", "A6": "0000", "A9": "0000"},
    )  # fmt: skip
    book.active.merge_cells("B5:B6")
    book.save(path)
    path.with_suffix(".toml").write_text(
        '[columns]\nNeg = "number"\nVillage = "village"\nBuilding = "building"\n', "utf-8"
    )

    said = done(archive, "cards", "rehearse", str(path), "--all")
    done(archive, "cards", "read", str(path))

    assert rows(archive, "SELECT text FROM sheet_number ORDER BY id") == ["0014", "0015", "0016"]
    assert "row 6: new: 0015; Granary; undated (carried down: village)" in said
    assert "row 8: headings again" in said
    assert "row 1: title" in said
    sites = rows(archive, "SELECT p.name FROM building_site s JOIN place p ON p.id = s.place_id ORDER BY s.building_id")
    assert sites == ["Osk", "Osk", "Halding"]


@pytest.mark.parametrize("is_1904", [False, True])
def test_e06_the_date_base_of_a_workbook_is_heeded(archive: Archive, tmp_path: Path, is_1904: bool):
    from datetime import date

    import openpyxl
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    book = openpyxl.Workbook()
    if is_1904:
        book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    assert sheet is not None
    for row in (["Neg", "Date"], ["78-14", date(1978, 8, 12)], ["79-01", date(1979, 1, 3)]):
        sheet.append(row)
    for cell in ("B2", "B3"):
        sheet[cell].number_format = "yyyy-mm-dd"
    book.save(tmp_path / "cards.xlsx")
    (tmp_path / "cards.toml").write_text('[columns]\nNeg = "number"\nDate = "date"\n', "utf-8")

    done(archive, "cards", "read", str(tmp_path / "cards.xlsx"))

    assert rows(archive, "SELECT exposed_edtf FROM sheet ORDER BY id") == ["1978-08-12", "1979-01-03"]


@pytest.mark.parametrize("name", ["cards.csv", "cards.xlsx"])
def test_the_sample_index_is_read_by_a_person_with_nothing_known_yet(archive: Archive, tmp_path: Path, name: str):
    for one in (name, "cards.toml"):
        (tmp_path / one).write_bytes((SAMPLE / one).read_bytes())

    outcome = run(archive, "cards", "read", str(tmp_path / name))

    assert outcome.status == 1
    assert "61 sheets added" in outcome.out
    assert "New place: Osk" in outcome.out
