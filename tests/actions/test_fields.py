"""Writing one field: the deeds of the commands, their refusals, and what another wrote meanwhile."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import click
import pytest

from catalog.actions.desk import Desk
from catalog.actions.fields import sheets_asked, write_field, write_field_of_sheets
from catalog.cli.main import COMMANDS
from catalog.errors import (
    AmbiguousDateError,
    AmbiguousNameError,
    CatalogError,
    ChangedMeanwhileError,
    ChoiceNeededError,
    NotFoundError,
    NumberWordsError,
    RefusedError,
    SeveralRefusedError,
)
from catalog.rules.fields import FIELDS
from catalog.store.archive import Archive, open_archive
from catalog.store.fields import WrittenField, read_fields
from tests.asking import Valley
from tests.sample import copy_sample


@pytest.fixture
def archive(sample: Path, tmp_path: Path) -> Archive:
    return open_archive(copy_sample(sample, tmp_path / "wenn"))


def field_of(archive: Archive, table: str, record_id: int, label: str, *, row: int = 0) -> WrittenField:
    """Return the field of a card that its label names; ``row`` counts those of the same label."""
    with archive.reading() as connection:
        found = [one for one in read_fields(connection, table, record_id) if one.label == label]
    return found[row]


def write(archive: Archive, table: str, record_id: int, label: str, text: str, *, row: int = 0, **given: Any) -> str:
    """Write a field as it stands now and return what the daybook says."""
    said: list[str] = []
    asked = field_of(archive, table, record_id, label, row=row)
    write_field(archive, asked, text, desk=Desk(say=said.append), **given)
    return said[0]


def stored(archive: Archive, statement: str, *given: object) -> Any:
    connection = sqlite3.connect(archive.catalogue)
    row = connection.execute(statement, given).fetchone()
    connection.close()
    return row


# ---- the fields are those of the commands

_COMMANDS = {
    ("sheets", "correct"): "sheet", ("sheets", "correct-number"): "sheet_number", ("views", "correct"): "view",
    ("views", "correct-shown"): "view_subject", ("buildings", "correct"): "building",
    ("buildings", "correct-name"): "building_name", ("buildings", "correct-site"): "building_site",
    ("buildings", "correct-elevation"): "elevation", ("buildings", "correct-chronicle"): "chronicle_entry",
    ("places", "correct"): "place", ("places", "correct-name"): "place_name",
    ("places", "correct-within"): "place_parent", ("visits", "correct"): "visit",
    ("standpoints", "correct"): "standpoint", ("rolls", "correct"): "roll", ("lenses", "correct"): "lens",
    ("cameras", "correct"): "camera", ("films", "correct"): "film_stock", ("persons", "correct"): "person",
    ("sources", "correct"): "source", ("scans", "correct"): "scan", ("questions", "correct"): "open_question",
    ("versions", "correct"): "edit_version", ("notes", "correct"): "note",
}  # fmt: skip
# An option whose name is not that of its field.
_RENAMED = {
    ("sheet_number", "to"): ["text"], ("view_subject", "becomes"): ["subject"],
    ("view_subject", "principal"): ["is_principal"], ("building_name", "to"): ["name"],
    ("place_name", "to"): ["name"], ("building_site", "at"): ["place_id"], ("chronicle_entry", "what"): ["text"],
    ("chronicle_entry", "by"): ["doer"], ("place_parent", "to"): ["parent_id"], ("visit", "at"): ["place_id"],
    ("lens", "widest"): ["widest_f_number"], ("camera", "film_format"): ["format"],
    ("camera", "opening"): ["opening_width_mm", "opening_height_mm"], ("edit_version", "made_from"): [],
}  # fmt: skip
_OF_EVERY_DEED = {"archive", "dry_run", "help"}


def _command(group: str, verb: str) -> click.Command:
    from importlib import import_module

    entry = COMMANDS[group]
    module, _, name = (entry if isinstance(entry, str) else entry[0]).partition(":")
    found = getattr(import_module(module), name or group)
    assert isinstance(found, click.Group)
    return found.commands[verb]


@pytest.mark.parametrize(("group", "verb"), list(_COMMANDS))
def test_the_fields_that_can_be_written_are_the_options_of_the_command_that_corrects(group, verb):
    table = _COMMANDS[group, verb]
    names = {field.name for field in FIELDS[table]}
    options = {
        str(parameter.name) for parameter in _command(group, verb).params if isinstance(parameter, click.Option)
    } - _OF_EVERY_DEED  # fmt: skip
    if not {"source_id", "said_by_id"} & names:  # there they tell who says better, and are no field
        options -= {"source", "said_by"}

    found = set()
    for option in options:
        alike = [name for name in names if name.removesuffix("_id") == option or name.rsplit("_", 1)[0] == option]
        found.update(_RENAMED.get((table, option)) or ([option] if option in names else alike[:1]))

    assert found - names == set()
    assert names - found == set()


# ---- what is typed, as the commands take it


def test_a_plain_field_is_kept_and_an_empty_text_takes_it_away(archive):
    said = write(archive, "sheet", 8, "filter", "yellow [2x], 教会")
    assert said.endswith("(S8): filter yellow [2x], 教会 (was nothing)")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("yellow [2x], 教会",)

    write(archive, "sheet", 8, "filter", "  ")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == (None,)


def test_doubt_is_kept_as_it_was_put_and_a_plain_value_settles_it(archive):
    assert field_of(archive, "sheet", 8, "lens").text == "90 or 120"

    write(archive, "sheet", 8, "lens", "probably 90")
    assert field_of(archive, "sheet", 8, "lens").text == "probably 90"
    write(archive, "sheet", 8, "lens", "90")

    after = field_of(archive, "sheet", 8, "lens")
    assert stored(archive, "SELECT focal_length_mm FROM lens WHERE id = ?", after.held[0]) == (90.0,)
    assert after.text != "probably 90"


def test_a_shutter_time_reads_back_as_it_was_typed(archive):
    write(archive, "sheet", 8, "shutter s", "1/30")

    assert field_of(archive, "sheet", 8, "shutter s").text == "1/30"


def test_an_ambiguous_date_asks_and_the_words_are_kept_with_the_date_that_was_meant(archive):
    with pytest.raises(AmbiguousDateError) as asked:
        write(archive, "sheet", 8, "exposed", "3/4/78")
    meant = asked.value.readings[1][0]

    write(archive, "sheet", 8, "exposed", "3/4/78", meant=meant)

    assert stored(archive, "SELECT exposed_edtf, exposed_words FROM sheet WHERE id = 8") == (meant, "3/4/78")


@pytest.mark.parametrize(
    ("label", "text", "refusal"),
    [
        ("fate", "eaten", RefusedError), ("aperture f/", "wide", NumberWordsError), ("lens", "no such", NotFoundError),
        ("exposed", "whenever", CatalogError), ("fate", "blank", RefusedError), ("copied from", "S8", RefusedError),
        ("shutter s", "-1", CatalogError), ("fate", "", RefusedError), ("number", "", RefusedError),
        ("holds also", "V8", RefusedError), ("another note", " ", RefusedError), ("shows", "", RefusedError),
        ("principal", "perhaps", RefusedError),
    ],
)  # fmt: skip
def test_a_refusal_changes_nothing(archive, label, text, refusal):
    before = stored(archive, "SELECT count(*), max(id) FROM deed")

    with pytest.raises(refusal):
        write(archive, "sheet", 8, label, text)

    assert stored(archive, "SELECT count(*), max(id) FROM deed") == before


def test_numbers_views_and_notes_are_written_and_added(archive):
    write(archive, "sheet", 8, "another number", "K-3 ½")
    write(archive, "sheet", 8, "written on", "sleeve", row=1)
    write(archive, "sheet", 8, "another note", "[undated] first\nsecond")
    write(archive, "sheet", 8, "shows", "Osk Mill")
    write(archive, "sheet", 8, "side", "E?")
    write(archive, "sheet", 8, "title", "the mill")
    write(archive, "sheet", 8, "standpoint", "T1?")

    assert stored(archive, "SELECT text, written_on FROM sheet_number WHERE sheet_id = 8 ORDER BY id DESC") == (
        "K-3 ½", "sleeve",
    )  # fmt: skip
    assert stored(archive, "SELECT text FROM note ORDER BY id DESC LIMIT 1") == ("[undated] first\nsecond",)
    assert stored(archive, "SELECT certainty FROM view_subject WHERE view_id = 8 AND building_id = 1") == ("certain",)
    assert stored(archive, "SELECT title, standpoint_id, standpoint_certainty FROM view WHERE id = 8") == (
        "the mill", 1, "possible",
    )  # fmt: skip
    assert field_of(archive, "sheet", 8, "standpoint").text == "T1?"


def test_what_belongs_to_a_building_is_written_and_added(archive):
    write(archive, "building", 1, "another name", "Wheel House")
    write(archive, "building", 1, "also stood at", "Halding")
    write(archive, "building", 1, "another side", "north-east")
    with pytest.raises(ChoiceNeededError) as asked:
        write(archive, "building", 1, "another entry", "Roof patched.")
    assert "restored" in asked.value.choices
    write(archive, "building", 1, "another entry", "Roof patched.", meant="restored")
    write(archive, "building", 1, "until", "by 1800", row=0)
    write(archive, "building", 1, "by", "Amos Tarry")

    assert stored(archive, "SELECT name FROM building_name ORDER BY id DESC LIMIT 1") == ("Wheel House",)
    assert stored(archive, "SELECT compass FROM elevation ORDER BY id DESC LIMIT 1") == ("NE",)
    assert stored(archive, "SELECT kind, text FROM chronicle_entry ORDER BY id DESC LIMIT 1") == (
        "restored", "Roof patched.",
    )  # fmt: skip
    assert stored(archive, "SELECT until_words FROM building_name WHERE building_id = 1 ORDER BY id") == ("by 1800",)
    assert field_of(archive, "building", 1, "by").held == (None, 5)


def test_doubt_that_no_deed_keeps_is_refused_rather_than_lost(archive):
    with pytest.raises(RefusedError, match="no doubt is kept of this field"):
        write(archive, "building", 1, "bearing deg", "170?")


def test_a_name_that_is_not_enough_stands_as_a_reference(archive):
    # There are two villages of this name in the sample archive.
    with pytest.raises(AmbiguousNameError):
        write(archive, "visit", 1, "place", "Priors Lode")
    write(archive, "visit", 1, "place", "L11")

    assert field_of(archive, "visit", 1, "place").text == "L11"


def test_a_question_is_answered_once_and_then_mended(archive):
    number = stored(archive, "SELECT id FROM open_question WHERE answer IS NULL")[0]
    write(archive, "open_question", number, "answer", "the miller's son")
    write(archive, "open_question", number, "answer", "the miller's second son")

    assert stored(archive, "SELECT answer FROM open_question WHERE id = ?", number) == ("the miller's second son",)


# ---- others write meanwhile


def test_what_another_wrote_meanwhile_is_told_and_not_written_over(archive):
    opened = field_of(archive, "sheet", 8, "filter")
    write(archive, "sheet", 8, "filter", "orange")

    with pytest.raises(ChangedMeanwhileError) as refused:
        write_field(archive, opened, "red")

    assert (refused.value.opened, refused.value.now) == ("", "orange")
    assert stored(archive, "SELECT filter FROM sheet WHERE id = 8") == ("orange",)


def test_another_field_of_the_same_record_is_in_nobodys_way(archive):
    opened = field_of(archive, "sheet", 8, "filter")
    write(archive, "sheet", 8, "box", "7")

    write_field(archive, opened, "red")

    assert stored(archive, "SELECT filter, box FROM sheet WHERE id = 8") == ("red", "7")


def test_a_row_that_is_gone_is_not_written_on(archive):
    write(archive, "sheet", 8, "another note", "soon gone")
    opened = field_of(archive, "sheet", 8, "note", row=1)
    from catalog.actions.deeds import undo_deed

    undo_deed(archive)

    with pytest.raises(NotFoundError, match="no longer there"):
        write_field(archive, opened, "still here?")


# ---- several sheets in one deed


def _film(archive: Archive) -> Any:
    return next(field for field in FIELDS["sheet"] if field.name == "film_id")


def test_several_sheets_are_corrected_in_one_deed_that_is_undone_as_one(archive):
    from catalog.actions.deeds import undo_deed

    said: list[str] = []
    before = stored(archive, "SELECT count(*) FROM deed")[0]
    asked = sheets_asked(archive, [8, 9, 10], _film(archive))
    films = [stored(archive, "SELECT film_id FROM sheet WHERE id = ?", sheet) for sheet in (8, 9, 10)]

    count = write_field_of_sheets(archive, asked, _film(archive), "K9", desk=Desk(say=said.append))

    assert stored(archive, "SELECT count(*) FROM deed")[0] == before + 1
    assert stored(archive, "SELECT count(*) FROM sheet WHERE id IN (8, 9, 10) AND film_id = 9") == (3,)
    assert said == [f"corrected {count} sheets (S8, S9, S10): film {_name(archive, 9)}"]
    undo_deed(archive)
    assert [stored(archive, "SELECT film_id FROM sheet WHERE id = ?", sheet) for sheet in (8, 9, 10)] == films


def _name(archive: Archive, kit_id: int) -> str:
    return str(stored(archive, "SELECT name FROM kit WHERE id = ?", kit_id)[0])


def test_one_that_is_refused_is_named_and_the_others_are_not_changed(tmp_path):
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    held, bare = valley.frame("1", "1978", "Osk"), valley.frame("2", "1978")
    with valley.archive.reading() as connection:
        view = connection.execute("SELECT view_id FROM sheet_view WHERE sheet_id = ?", (bare,)).fetchone()[0]
    assert view
    fate = next(field for field in FIELDS["sheet"] if field.name == "fate")

    with pytest.raises(SeveralRefusedError) as refused:
        write_field_of_sheets(valley.archive, sheets_asked(valley.archive, [held, bare], fate), fate, "blank")

    assert [reference for reference, _ in refused.value.refused] == [f"S{held}", f"S{bare}"]
    assert stored(valley.archive, "SELECT count(*) FROM sheet WHERE fate = 'blank'") == (0,)


def test_a_sheet_that_says_so_already_is_no_refusal(archive):
    box = next(field for field in FIELDS["sheet"] if field.name == "box")
    write(archive, "sheet", 8, "box", "77")

    assert write_field_of_sheets(archive, sheets_asked(archive, [8, 9], box), box, "77") == 1
    with pytest.raises(RefusedError, match="says so already"):
        write_field_of_sheets(archive, sheets_asked(archive, [8, 9], box), box, "77")


def test_what_no_sheet_can_be_is_refused_once(archive):
    fate = next(field for field in FIELDS["sheet"] if field.name == "fate")

    with pytest.raises(RefusedError, match=r"^sheet: fate 'eaten' is none of"):
        write_field_of_sheets(archive, sheets_asked(archive, [8, 9], fate), fate, "eaten")


def test_one_of_several_that_another_changed_meanwhile_stops_the_deed(archive):
    box = next(field for field in FIELDS["sheet"] if field.name == "box")
    asked = sheets_asked(archive, [8, 9], box)
    write(archive, "sheet", 9, "box", "66")

    with pytest.raises(ChangedMeanwhileError, match="box of S9"):
        write_field_of_sheets(archive, asked, box, "77")

    assert stored(archive, "SELECT box FROM sheet WHERE id = 9") == ("66",)
