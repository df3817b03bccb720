"""The mapping file: read, refused with all its faults at once, and written so that it reads back the same."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.errors import IntakeError
from catalog.intake.fields import FIELDS
from catalog.intake.mapping import (
    DEFAULT_ABBREVIATIONS,
    CardMapping,
    ColumnUse,
    format_mapping,
    number_matcher,
    parse_mapping,
    read_mapping,
    write_mapping,
)
from catalog.intake.mapping_files import mapping_path
from catalog.rules.vocabulary import FATES, MEDIUMS, PARTS
from tests.intake.card_files import SAMPLE

WHOLE = """
version = 1
[file]
encoding = "mac_roman"
delimiter = ";"
sheet = "Cards"
heading_row = 4
[columns]
"Neg. no" = "number"
"Box no" = {field = "old_number", scheme = "box"}
Village = {field = "village", carry = true}
[numbers]
scheme = "yearly"
patterns = ["##-##"]
[dates]
century = 1900
day_order = "dmy"
[dates.readings]
"1978-9" = "1978/1979"
[shutter]
bare = "fraction"
[lenses]
"W.A." = 90
[places]
"Pr. Lode" = "L7"
[buildings]
"the Hall" = ""
[separators]
number = [";"]
[abbreviations.words]
"T. End" = "Tarn End"
[abbreviations.fate]
"kaput" = "destroyed"
"""


def test_a_whole_mapping_is_read():
    mapping = parse_mapping(WHOLE)

    assert mapping.columns["Box no"] == ColumnUse("old_number", scheme="box")
    assert mapping.columns["Village"].carry
    assert (mapping.encoding, mapping.delimiter, mapping.sheet, mapping.heading_row) == (
        "mac_roman",
        ";",
        "Cards",
        4,
    )
    assert (mapping.century, mapping.day_order, mapping.date_readings) == (
        1900,
        "dmy",
        {"1978-9": "1978/1979"},
    )
    assert (mapping.number_scheme, mapping.number_patterns, mapping.shutter_bare) == (
        "yearly",
        ("##-##",),
        "fraction",
    )
    assert mapping.lenses == {"wa": 90.0}
    assert (mapping.places, mapping.buildings) == ({"pr lode": "L7"}, {"the hall": ""})
    assert mapping.separators["number"] == (";",)
    assert mapping.separators["keywords"] == (";", ",", "\n")
    assert mapping.abbreviations["words"]["T. End"] == "Tarn End"
    assert mapping.abbreviations["words"]["Ho."] == "House"
    assert mapping.abbreviations["fate"]["kaput"] == "destroyed"
    assert mapping.text == WHOLE


def test_what_is_written_reads_back_the_same():
    mapping = parse_mapping(WHOLE)

    again = parse_mapping(format_mapping(mapping, ["Is it so?\nReally?"]))

    assert {name: getattr(again, name) for name in CardMapping.__slots__ if name != "text"} == {
        name: getattr(mapping, name) for name in CardMapping.__slots__ if name != "text"
    }


@given(st.dictionaries(st.text(min_size=1, max_size=20), st.sampled_from(sorted(FIELDS)), min_size=1, max_size=6))
def test_any_heading_can_stand_in_a_mapping_file(fields):
    mapping = CardMapping(columns={heading: ColumnUse(field) for heading, field in fields.items()})

    assert parse_mapping(format_mapping(mapping)).columns == mapping.columns


def test_questions_are_written_where_they_are_seen_first():
    text = format_mapping(CardMapping(columns={"Neg": ColumnUse("number")}), ["Is 'Pr. Lode' L7 or L8?"])

    assert text.splitlines()[1] == "# ASK: Is 'Pr. Lode' L7 or L8?"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "says of no column"),
        ("[columns", "not TOML"),
        ("[columns]\nNeg = number", "not TOML"),
        ('[columns]\nNeg = "nummer"', "'nummer' is no field; fields are number"),
        ("[columns]\nNeg = 7", "is no field"),
        ('[columns]\nNeg = {field = "number", cary = true}', "'cary' is not known"),
        ('[columns]\nNeg = {field = "number", carry = "yes"}', "carry should be true or false"),
        ('columns = "number"', "should be a table"),
        ('[columns]\nNeg = "number"\n[colums]', "'colums' is not known"),
        ('version = 2\n[columns]\nNeg = "number"', "version 1 only"),
        ('[columns]\nNeg = "number"\n[dates]\ncentury = 1950', "should end in 00"),
        ('[columns]\nNeg = "number"\n[dates]\ncentury = "1900"', "whole number"),
        ('[columns]\nNeg = "number"\n[dates]\ncentury = true', "whole number"),
        ('[columns]\nNeg = "number"\n[dates]\nday_order = "ymd"', "one of dmy, mdy"),
        ('[columns]\nNeg = "number"\n[dates.readings]\n"1978-9" = "late seventies"', "not an EDTF date"),
        ('[columns]\nNeg = "number"\n[numbers]\npatterns = "##"', "list of texts"),
        ('[columns]\nNeg = "number"\n[lenses]\nwide = "90 mm"', "focal length in mm"),
        ('[columns]\nNeg = "number"\n[lenses]\nwide = -90', "focal length in mm"),
        ('[columns]\nNeg = "number"\n[places]\nOsk = 7', "should be a reference like"),
        ('[columns]\nNeg = "number"\n[abbreviations.fate]\nx = "eaten"', "'eaten' should be one of exposed"),
        ('[columns]\nNeg = "number"\n[abbreviations.words]\nx = 1', "should stand for a text"),
        ('[columns]\nNeg = "number"\n[separators]\nnumbre = [";"]', "'numbre' is not known"),
        ('[columns]\nNeg = "number"\n[file]\nheading_row = 0', "from 1 to"),
        ("x = " + "[" * 5000, "not TOML"),
    ],
)
def test_a_mapping_that_cannot_be_followed_is_refused_by_name(text, said):
    with pytest.raises(IntakeError) as caught:
        parse_mapping(text, name="cards.toml")

    assert said in str(caught.value)
    assert str(caught.value).startswith("cards.toml: ")


def test_all_faults_of_a_mapping_are_named_at_once():
    with pytest.raises(IntakeError) as caught:
        parse_mapping('[columns]\nNeg = "nummer"\nVillage = "dorf"\n[dates]\ncentury = 5\n')

    assert len(str(caught.value).splitlines()) == 3


def test_a_mapping_file_that_is_not_there_says_how_to_get_one(tmp_path):
    with pytest.raises(IntakeError, match="tiebeam cards guess"):
        read_mapping(tmp_path / "cards.toml")


def test_a_mapping_file_beyond_measure_or_in_another_encoding_is_refused(tmp_path):
    path = tmp_path / "cards.toml"
    path.write_bytes(b"#" * (2 * 1024 * 1024))
    with pytest.raises(IntakeError, match="more than a mapping file"):
        read_mapping(path)

    path.write_bytes('[columns]\n"Église" = "village"\n'.encode("cp1252"))
    with pytest.raises(IntakeError, match="UTF-8"):
        read_mapping(path)


def test_a_mapping_is_written_whole_and_never_over_a_persons_answers(tmp_path):
    path = mapping_path(tmp_path / "cards.xlsx")
    mapping = parse_mapping(WHOLE)

    write_mapping(path, mapping)

    assert path.name == "cards.toml"
    assert read_mapping(path).columns == mapping.columns
    assert [one.name for one in tmp_path.iterdir()] == ["cards.toml"]
    with pytest.raises(IntakeError, match="already"):
        write_mapping(path, mapping)
    with pytest.raises(IntakeError, match="cannot be written"):
        write_mapping(tmp_path / "nowhere" / "cards.toml", mapping)


def test_a_mapping_leaves_alone_what_stands_under_a_name_like_its_own(tmp_path):
    (tmp_path / "cards.toml.part").write_text("somebody's", "utf-8")

    write_mapping(tmp_path / "cards.toml", parse_mapping(WHOLE))

    assert sorted(one.name for one in tmp_path.iterdir()) == ["cards.toml", "cards.toml.part"]
    assert (tmp_path / "cards.toml.part").read_text("utf-8") == "somebody's"


@pytest.mark.parametrize(
    ("patterns", "text", "fits"),
    [
        (["##-##"], "78-14", True),
        (["##-##"], "78-014", False),
        (["##-#*"], "78-014", True),
        (["@#*"], "X4", True),
        (["@#*"], "x4", True),
        (["@*. #"], "Box. 4", False),
        (["##.##"], "78x14", False),
        ([], "anything", True),
        (["##-##", "X#"], "X4", True),
        (["(.*)+$"], "(.*)+$", True),
        (["#*#*#*#*"], "1" * 150 + "x", False),
    ],
)
def test_a_pattern_of_numbers_fits_what_it_looks_like(patterns, text, fits):
    assert number_matcher(patterns)(text) is fits


def test_the_standard_abbreviations_stand_for_words_the_catalogue_knows():
    assert set(DEFAULT_ABBREVIATIONS["fate"].values()) == set(FATES)
    assert set(DEFAULT_ABBREVIATIONS["medium"].values()) == set(MEDIUMS)
    assert set(DEFAULT_ABBREVIATIONS["subject"].values()) == set(PARTS)


def test_the_sample_mapping_names_columns_the_sample_has():
    columns = tomllib.loads((SAMPLE / "cards.toml").read_text("utf-8"))["columns"]

    assert read_mapping(SAMPLE / "cards.toml").columns.keys() == columns.keys()


MANUAL = (Path(__file__).parents[2] / "docs" / "manual" / "card-index.md").read_text("utf-8")


def test_the_mapping_in_the_manual_can_be_used():
    example = MANUAL.split("```toml\n")[1].split("```")[0]

    mapping = parse_mapping(example)

    assert mapping.columns["Village"].carry
    assert mapping.places["cray"] == "L9"


def test_the_manual_says_what_each_field_is():
    rows = dict(re.findall(r"^\| `(\w+)` \| (.+) \|$", MANUAL, re.MULTILINE))

    assert rows == FIELDS
