"""Commands to add and correct every noun by hand."""

import csv
import io
import json
import sys

import pytest
from click.testing import CliRunner

from catalog.cli.main import COMMANDS, tiebeam
from catalog.cli.main import run as run_command
from catalog.store.archive import open_archive
from tests.builders import a_lens, a_mill, a_sheet, a_village, done, rows, run

NOUNS = (
    "places", "buildings", "visits", "standpoints", "views", "lenses", "cameras", "films", "rolls", "sheets", "persons",
    "sources", "notes", "questions",
)  # fmt: skip


def the_valley(archive):
    """Add, by the commands themselves, what the tests are about."""
    for line in (
        ["places", "add", "Wennshire", "--kind", "county"],
        ["places", "add", "Osk", "--kind", "village", "--in", "Wennshire"],
        ["places", "name", "Osk", "Oske", "--until", "c. 1890"],
        ["buildings", "add", "Osk Mill", "--at", "Osk", "--from", "c. 1790"],
        ["sources", "add", "Mill book", "--published", "1958"],
        ["persons", "add", "I. Harrow", "--role", "millwright", "--address", "1 Mill Lane"],
        ["lenses", "add", "90"],
        ["lenses", "add", "120"],
        ["cameras", "add", "Field camera", "--format", "4x5 in", "--opening", "100", "125"],
        ["films", "add", "Grayline 125", "--tones", "black and white", "--iso", "125"],
        ["rolls", "add", "R 1", "--film", "Grayline 125"],
        ["standpoints", "add", "on the weir", "--in", "Osk"],
        ["visits", "add", "--date", "Aug 1979?", "--at", "Osk"],
    ):
        done(archive, *line)


def commands_of(command, path=()):
    yield path, command
    if hasattr(command, "commands"):
        for name, below in command.commands.items():
            yield from commands_of(below, (*path, name))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_every_verb_has_help(name):
    for path, below in commands_of(tiebeam.get_command(None, name), (name,)):
        result = CliRunner().invoke(below, ["--help"])
        assert result.exit_code == 0, path
        assert below.help, path


@pytest.mark.parametrize("noun", NOUNS)
def test_verbs_are_alike_for_every_noun(noun):
    assert {"add", "correct", "list", "show"} <= set(tiebeam.get_command(None, noun).commands)


def test_every_noun_is_added_listed_and_shown(archive):
    the_valley(archive)
    done(archive, "sheets", "add", "--number", "78-14", "--shows", "Osk Mill", "--standpoint", "on the weir")
    done(archive, "notes", "add", "78-14", "[sic]")
    done(archive, "questions", "add", "Who built it?", "--about", "Osk Mill", "--ask", "I. Harrow")

    shown = {
        "notes": "S1",
        "views": "V1",
        "visits": "D1",
        "lenses": "90",
        "cameras": "Field camera",
        "questions": "Q1",
    }
    for noun in NOUNS:
        document = json.loads(done(archive, noun, "list", "--json"))
        assert document["count"] == len(document["items"]) > 0
        reference = document["items"][0]["reference"]
        assert reference in done(archive, noun, "list")
        assert reference in done(archive, noun, "list", "--csv").splitlines()[1]
        assert done(archive, noun, "show", shown.get(noun, reference))


def test_an_empty_list_says_how_to_begin(archive):
    for noun in NOUNS:
        assert run(archive, noun, "list").status == 0
        assert json.loads(done(archive, noun, "list", "--json")) == {"items": [], "count": 0}
    assert "tiebeam places add" in done(archive, "places", "list")


def test_dates_are_listed_as_every_json_says_them(archive):
    the_valley(archive)

    item = json.loads(done(archive, "visits", "list", "--json"))["items"][0]

    assert item["reference"] == "D1"
    assert item["date"]["edtf"] == "1979-08?"
    assert (item["date"]["earliest"], item["date"]["latest"]) == ("1979-08-01", "1979-08-31")
    assert item["date_as_written"] == "Aug 1979?"
    assert item["place_reference"] == "L2"


def test_a_csv_cell_is_never_a_formula(archive):
    done(archive, "sources", "add", "=1+1")

    lines = list(csv.DictReader(io.StringIO(done(archive, "sources", "list", "--csv"))))

    assert lines[0]["title"] == "'=1+1"


def test_a_doubtful_subject_is_stored_as_doubtful_whichever_way_it_is_typed(archive):
    a_mill(archive)

    for text in ("Osk Mill?", "probably Osk Mill", "Osk Mill"):
        done(archive, "sheets", "add", "--number", text, "--shows", text)

    assert rows(archive, "SELECT certainty FROM view_subject ORDER BY id") == [
        "possible",
        "probable",
        "certain",
    ]
    assert rows(archive, "SELECT as_written FROM wording ORDER BY id") == ["Osk Mill?", "probably Osk Mill"]


def test_a_choice_of_two_buildings_shows_each_as_possible(archive):
    a_mill(archive), a_mill(archive, "Brome Hall")

    done(archive, "views", "add", "--shows", "Osk Mill or Brome Hall")

    assert rows(archive, "SELECT building_id, certainty FROM view_subject ORDER BY id") == [
        (1, "possible"), (2, "possible"),
    ]  # fmt: skip


def test_every_doubtful_fact_of_a_sheet_keeps_its_words(archive):
    the_valley(archive)

    done(
        archive, "sheets", "add", "--number", "78-15", "--date", "c. 1978", "--shows", "Osk Mill", "--elevation", "N?",
        "--lens", "90 or 120", "--film", "Grayline 125?", "--aperture", "f/22?", "--shutter", "1/4",
    )  # fmt: skip

    sheet = "SELECT lens_id, film_id, aperture_f, shutter_s, exposed_edtf FROM sheet"
    assert rows(archive, sheet) == [(None, 4, 22.0, 0.25, "1978~")]
    assert rows(archive, "SELECT elevation FROM view_subject") == [None]
    worded = dict(rows(archive, "SELECT field, as_written FROM wording WHERE about = 'sheet'"))
    assert worded == {"lens": "90 or 120", "film": "Grayline 125?", "aperture_f": "f/22?", "elevation": "N?"}


def test_a_correction_says_what_it_was(archive):
    a_sheet(archive, "78-14", "c. 1978")

    said = done(archive, "sheets", "correct", "78-14", "--date", "June 1979")

    assert said.startswith("Corrected the sheet 78-14 (yearly)")
    assert said.endswith("(S1): exposed June 1979 (was c. 1978).\n")


def test_an_empty_text_takes_a_fact_away(archive):
    the_valley(archive)
    done(archive, "sheets", "add", "--number", "1", "--box", "4", "--lens", "90", "--date", "1978")

    done(archive, "sheets", "correct", "1", "--box", "", "--lens", "", "--date", "")

    assert rows(archive, "SELECT box, lens_id, exposed_edtf FROM sheet") == [(None, None, None)]


def test_a_dry_run_says_what_would_be_done_and_does_nothing(archive):
    a_mill(archive)
    before = rows(archive, "SELECT count(*) FROM deed")

    said = done(archive, "sheets", "add", "--number", "78-14", "--shows", "Osk Mill", "--dry-run")

    assert said.startswith("Nothing was changed. This would be done: added a sheet, 78-14")
    assert rows(archive, "SELECT count(*) FROM sheet") == [0]
    assert rows(archive, "SELECT count(*) FROM deed") == before


def test_addresses_are_listed_only_with_private(archive):
    the_valley(archive)

    for form in ([], ["--json"], ["--csv"]):
        assert "Mill Lane" not in done(archive, "persons", "list", *form)
        assert "Mill Lane" in done(archive, "persons", "list", "--private", *form)


def test_an_ambiguous_number_lists_the_sheets_that_carry_it(archive):
    a_sheet(archive, "78-14"), a_sheet(archive, "78-14")

    outcome = run(archive, "sheets", "correct", "78-14", "--box", "4")

    assert outcome.status == 3
    assert "S1" in outcome.err
    assert "S2" in outcome.err


def test_two_villages_of_one_name_are_asked_about(archive):
    a_village(archive, "Priors Lode"), a_village(archive, "Priors Lode")

    outcome = run(archive, "buildings", "add", "Granary", "--at", "Priors Lode")

    assert outcome.status == 3
    assert "L1" in outcome.err
    assert "L2" in outcome.err
    assert rows(archive, "SELECT count(*) FROM building") == [0]


def test_a_building_and_a_village_of_one_name_are_asked_about(archive):
    a_village(archive, "Halt"), a_mill(archive, "Halt")

    outcome = run(archive, "sheets", "add", "--number", "1", "--shows", "Halt")

    assert outcome.status == 3
    assert "B1" in outcome.err
    assert "L1" in outcome.err


def test_several_entries_of_a_chronicle_are_listed_to_choose_from(archive):
    the_valley(archive)
    for date, what in (("1841", "wheel replaced"), ("1957 or 1958", "wheel taken out")):
        done(archive, "buildings", "chronicle", "B1", "--date", date, "--kind", "altered", "--what", what)

    outcome = run(archive, "buildings", "correct-chronicle", "B1", "--date", "1958")
    said = done(archive, "buildings", "correct-chronicle", "B1", "2", "--by", "I. Harrow", "--source", "R1")

    assert outcome.status == 3
    assert "2     1957 or 1958, altered: wheel taken out" in outcome.err
    assert "doer I. Harrow" in said
    assert rows(archive, "SELECT doer_id, doer, source_id FROM chronicle_entry WHERE id = 2") == [(1, None, 1)]


def test_who_did_it_stays_in_words_where_no_person_is_meant(archive):
    a_mill(archive)

    done(
        archive,
        "buildings",
        "chronicle",
        "B1",
        "--kind",
        "raised",
        "--what",
        "built",
        "--by",
        "a pupil of I. Harrow",
    )

    assert rows(archive, "SELECT doer, doer_id FROM chronicle_entry") == [("a pupil of I. Harrow", None)]


def test_notes_keep_brackets_and_turn_vertical_tabs_to_line_breaks(archive):
    # Cases C05 and H04.
    a_sheet(archive, "78-14")

    done(archive, "notes", "add", "78-14", "[illegible]\x0b[north elevation] é")

    assert rows(archive, "SELECT text FROM note") == ["[illegible]\n[north elevation] é"]
    assert "[illegible] / [north elevation] é" in done(archive, "notes", "list", "78-14")


def test_a_lens_is_meant_by_its_length_unless_two_have_it(archive):
    a_sheet(archive, "1")
    a_lens(archive, 90)

    done(archive, "sheets", "correct", "1", "--lens", "90 mm")
    done(archive, "lenses", "add", "90", "--name", "Wide ninety")
    outcome = run(archive, "sheets", "correct", "1", "--lens", "90")

    assert rows(archive, "SELECT lens_id FROM sheet") == [1]
    assert outcome.status == 3
    assert "K2" in outcome.err


REFUSED = [
    (["places", "add", ""], "name is needed"),
    (["places", "add", "Tarn End", "--in", "Nowhere"], "No place answers to 'Nowhere'"),
    (["places", "add", "Tarn End", "--in", "Wennshir"], "Did you mean Wennshire?"),
    (["places", "within", "Wennshire", "Osk"], "lies within"),
    (["places", "within", "Osk", "Osk or Wennshire"], "names none, or several"),
    (["places", "name", "Osk", "Oske"], "has the name 'Oske' already"),
    (["places", "correct", "Osk"], "Nothing was changed"),
    (["places", "correct", "L99", "--name", "x"], "No place answers to 'L99'"),
    (["places", "correct-name", "Osk", "Usk", "--until", "1900"], "it has: Oske"),
    (["buildings", "add", "Barn", "--from", "1800"], "Name the place too"),
    (["buildings", "elevation", "Osk Mill", "front"], "no side by the compass"),
    (["buildings", "elevation", "Osk Mill", "N?"], "in doubt"),
    (
        ["buildings", "chronicle", "Osk Mill", "--kind", "razed", "--what", "x", "--date", "before the war"],
        "war",
    ),
    (["buildings", "chronicle", "Osk Mill", "--kind", "razed", "--what", "x", "--source", "R9"], "'R9'"),
    (["buildings", "correct-site", "Osk Mill", "9"], "no site 9"),
    (["sheets", "add", "--number", "  "], "cannot be empty"),
    (["sheets", "add", "--number", "1", "--date", "1978-9"], "may mean"),
    (["sheets", "add", "--number", "1", "--date", "78"], "may mean 1878"),
    (["sheets", "add", "--number", "1", "--date", "31/4/1982"], "April"),
    (["sheets", "add", "--number", "1", "--shows", "Osk Mll"], "Did you mean Osk Mill"),
    (
        ["sheets", "add", "--number", "1", "--shows", "Osk Mill", "--elevation", "left"],
        "no side by the compass",
    ),
    (["sheets", "add", "--number", "1", "--lens", "300"], "tiebeam lenses add 300"),
    (["sheets", "add", "--number", "1", "--fate", "blank", "--title", "x"], "blank"),
    (["sheets", "add", "--number", "1", "--aperture", "0"], "more than nought"),
    (["sheets", "correct", "99-99", "--box", "1"], "No sheet answers to '99-99'"),
    (["views", "correct-shown", "V9"], "No view answers to 'V9'"),
    (["lenses", "add", "90"], "already"),
    (["lenses", "add", "nan"], "no measure"),
    (["visits", "correct", "D9", "--light", "x"], "No visit answers to 'D9'"),
    (["notes", "add", "S9", "x"], "'S9'"),
    (["notes", "add", "Osk", " "], "something said"),
    (["notes", "correct", "9", "--text", "x"], "no note 9"),
    (["questions", "answer", "Q9", "x"], "'Q9'"),
]


def test_what_cannot_be_is_refused_in_a_line_or_two_and_nothing_is_changed(archive):
    the_valley(archive)
    deeds = rows(archive, "SELECT count(*) FROM deed")

    for line, said in REFUSED:
        outcome = run(archive, *line)
        assert outcome.status == 3, line
        assert said in outcome.err, line
        assert len(outcome.err.splitlines()) <= 2, outcome.err
        assert "Traceback" not in outcome.err

    assert rows(archive, "SELECT count(*) FROM deed") == deeds


@pytest.mark.parametrize(
    "line",
    [
        ["places", "add"],
        ["places", "add", "Osk", "--latitude", "91"],
        ["lenses", "add", "0"],
        ["sheets", "add"],
        ["sheets", "add", "--elevation", "N"],
        ["sheets", "add", "--tilt", "steep"],
        ["sheets", "add", "--fate", "eaten"],
        ["sheets", "add", "--shutter", "1/0"],
        ["views", "add"],
        ["buildings", "chronicle", "B1", "--kind", "exploded", "--what", "x"],
    ],
    ids=" ".join,
)
def test_misuse_of_the_command_line_is_status_two(archive, line):
    assert run(archive, *line).status == 2
    assert rows(archive, "SELECT count(*) FROM deed") == [0]


def test_the_program_itself_prints_a_refusal_as_one_line_and_leaves_with_three(archive, capsys, monkeypatch):
    for name in ("stdout", "stderr"):
        monkeypatch.setattr(getattr(sys, name), "reconfigure", lambda **_: None, raising=False)

    with pytest.raises(SystemExit) as left:
        run_command(["--archive", str(archive.folder), "sheets", "correct", "S9", "--box", "1"])

    assert left.value.code == 3
    assert capsys.readouterr().err == "tiebeam: No sheet answers to 'S9'. Look for it with: tiebeam find WORDS\n"


def test_two_digit_years_take_the_century_of_the_settings(archive):
    path = archive.folder / "tiebeam.toml"
    path.write_text(path.read_text("utf-8").replace("# century = 1900", "century = 1900"), "utf-8")

    done(open_archive(archive.folder), "sheets", "add", "--number", "1", "--date", "78 or 79")

    assert rows(archive, "SELECT exposed_edtf, exposed_words FROM sheet") == [("[1978,1979]", "78 or 79")]
