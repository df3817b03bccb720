"""One record whole: a sheet's descent to its scans, a chronicle with its frames, what a name means."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.errors import AmbiguousNameError, NotFoundError
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.show import SHOWN, Line, Record, identify, read_record
from tests.asking import Valley


@pytest.fixture
def valley(tmp_path: Path) -> Valley:
    valley = Valley(tmp_path / "wenn")
    valley.place("Osk")
    valley.building("Osk Mill", ("Osk", "1790~", None))
    return valley


def record_of(archive: Archive, what: str) -> Record:
    with archive.reading() as connection:
        return read_record(connection, *identify(connection, what), archive.about_days)


def section(record: Record, heading: str) -> tuple[Line, ...]:
    return dict(record.sections).get(heading, ())


def test_a_reference_is_read_before_a_number_and_a_number_before_a_name(valley: Valley):
    valley.frame("B1", "1978", "Osk Mill")
    valley.frame("Osk", "1979", "Osk Mill")

    titles = [record_of(valley.archive, what).table for what in ("B1", "Osk", "osk mill", "S1", "s2")]

    assert titles == ["building", "sheet", "building", "sheet", "sheet"]


def test_a_number_that_several_sheets_carry_lists_them(valley: Valley):
    valley.frame("78-14", "1978~", ("Osk Mill", "S"))
    valley.frame("78-14", "1991-08", ("Osk Mill", "E", "possible"))

    with pytest.raises(AmbiguousNameError) as raised:
        record_of(valley.archive, "78-14")

    assert str(raised.value) == (
        "'78-14' is 2 sheets; give one of these references:\n"
        "  S1     78-14 (yearly); Osk Mill S; about 1978\n"
        "  S2     78-14 (yearly); possibly Osk Mill E; August 1991"
    )


def test_a_name_of_a_place_and_a_building_lists_both(valley: Valley):
    valley.building("Osk", ("Osk", None, None))

    with pytest.raises(AmbiguousNameError, match="'Osk' is 2 records"):
        record_of(valley.archive, "Osk")


def test_what_nothing_answers_to_is_said(valley: Valley):
    for what in ("S99", "windmill", "", "W1", "A7"):
        with pytest.raises(NotFoundError, match="No reference, number or name is"):
            record_of(valley.archive, what)


def test_a_sheet_descends_to_every_scan_of_it(valley: Valley):
    valley.frame("78-14", "1978~", "Osk Mill")
    valley.drive("Blue", "/media/blue")
    valley.scan("78-14", "scans/78-14.tif")
    valley.scan("78-14", "78-14 again.tif", drive="Blue", region="left half")

    scans = section(record_of(valley.archive, "78-14"), "scans")

    assert [(line.reference, line.words) for line in scans] == [("C1", "scans/78-14.tif"), ("C2", "78-14 again.tif")]
    assert scans[1].marks[:2] == ("left half", "on Blue")
    assert scans[1].scan is not None
    assert scans[1].scan.drive_path == "/media/blue"


def test_a_chronicle_has_its_frames_between_the_entries(valley: Valley):
    valley.happened("Osk Mill", "raised", "1790~", "Built.")
    valley.happened("Osk Mill", "restored", "1996", "Cladding taken off.")
    valley.happened("Osk Mill", "clad", "[1978..1982]", "Clad in sheet metal.")
    valley.happened("Osk Mill", "altered", None, "Windows, many times.")
    for number, date in (
        ("75-06", "1975"),
        ("79-21", "1979"),
        ("86-10", "1986"),
        ("08-11", "2008"),
        ("X3", None),
        ("c", "1976~"),
    ):
        valley.frame(number, date, ("Osk Mill", "E"))

    record = record_of(valley.archive, "Osk Mill")

    ruled = [line.number or line.words for line in section(record, "chronicle")]
    assert ruled == [1, "75-06", "c", "79-21", 3, "86-10", 2, "08-11"]
    spanning = {line.words: line.marks for line in section(record, "chronicle") if line.reference}
    assert spanning["79-21"] == ("E", "may be before or after 3.")
    assert spanning["c"] == ("E", "may be before or after 3.")
    assert spanning["86-10"] == ("E",)
    assert [line.words for line in section(record, "undated entries")] == ["altered: Windows, many times."]
    assert [line.words for line in section(record, "undated frames")] == ["X3"]


def test_a_frame_dated_when_its_building_did_not_stand_is_marked(valley: Valley):
    valley.happened("Osk Mill", "razed", "1989", "Taken down.")
    valley.frame("95-01", "1995", "Osk Mill")
    valley.frame("89-01", "1989", "Osk Mill")

    marks = {
        line.words: line.marks for line in section(record_of(valley.archive, "Osk Mill"), "chronicle") if line.reference
    }

    assert marks == {"95-01": ("dated when it did not stand",), "89-01": ("may be before or after 1.",)}


def test_a_sheet_that_shows_two_sides_is_one_line(valley: Valley):
    valley.happened("Osk Mill", "raised", "1790", "Built.")
    valley.frame("78-14", "1978", ("Osk Mill", "E"), ("Osk Mill", "S", "possible"))

    frames = [line for line in section(record_of(valley.archive, "Osk Mill"), "chronicle") if line.reference]

    assert [(line.words, line.marks) for line in frames] == [("78-14", ("E", "S", "possibly this building"))]


def test_j13_the_page_of_a_moved_building_shows_every_frame(valley: Valley):
    valley.place("Halding")
    valley.building("Weigh-house", ("Osk", "1722", "1979-06"), ("Halding", "1979-06", None))
    valley.happened("Weigh-house", "moved", "1979-06", "Moved to the museum yard.")
    for number, date in (("78-30", "1978"), ("79-40", "1979-09")):
        valley.frame(number, date, "Weigh-house")

    record = record_of(valley.archive, "Weigh-house")

    assert record.title == "Weigh-house at Osk, then Halding"
    assert [line.number or line.words for line in section(record, "chronicle")] == ["78-30", 1, "79-40"]


def test_a_settled_doubt_is_told_but_no_longer_in_force(valley: Valley):
    lens = valley.lens(90)
    valley.frame("78-17", "1978", "Osk Mill", lens_id=lens)
    valley.doubt("78-17", "lens", "90 or 120", ("90", "120"))

    doubtful = {fact.field: fact.doubt for fact in record_of(valley.archive, "78-17").facts}
    valley.doubt("78-17", "lens", "90", certainty="certain")
    settled = record_of(valley.archive, "78-17")

    assert doubtful["lens"] == "90 or 120"
    assert {fact.field: fact.doubt for fact in settled.facts}["lens"] is None
    assert len(section(settled, "how it was put")) == 2


def test_no_record_says_one_thing_twice(small_archive: Archive):
    # A fact, a section and the words around them share one document in --json; none may hide another.
    with small_archive.reading() as connection:
        for table in SHOWN:
            for (record_id,) in connection.execute(f"SELECT id FROM {table}").fetchall():
                record = read_record(connection, table, record_id, 730)
                names = [fact.field for fact in record.facts] + [heading for heading, _ in record.sections]
                assert len(names) == len(set(names)), (format_reference(table, record_id), names)
                assert not {"reference", "record", "words"} & set(names)


def test_a_person_is_shown_without_what_is_private(small_archive: Archive):
    from catalog.model import Person
    from catalog.store.writing import deed

    with deed(small_archive, "persons correct", "address") as writing:
        writing.session.get_one(Person, 1).address = "The Old Smithy"

    record = record_of(small_archive, "Ida Thornwick")

    assert "Smithy" not in repr(record)
