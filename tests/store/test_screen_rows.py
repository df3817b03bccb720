"""What the screens are given: runs of frames, year lines, lines of place, guide cards, descents, news of changes."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from catalog.dates import parse_edtf
from catalog.errors import ArchiveError, NotFoundError
from catalog.store.archive import Archive, open_archive
from catalog.store.changes import ChangeWatch
from catalog.store.completions import names_to_complete
from catalog.store.descents import read_descent
from catalog.store.find import Question, find_frames
from catalog.store.frame_runs import frame_count_words, frames_of, read_run
from catalog.store.guide_cards import read_guide_card
from catalog.store.trails import trail_of
from catalog.store.year_lines import (
    building_year_line,
    buildings_year_lines,
    chronicle_marks,
    place_year_line,
    whole_year_line,
)
from tests.asking import Valley
from tests.store.archives import fill_small


def questions() -> list[Question]:
    years = parse_edtf("1975/1990")
    return [
        Question(), Question(place_id=2), Question(place_id=4), Question(place_id=4, years=years),
        Question(building_id=1), Question(years=years), Question(years=parse_edtf("1978~")),
        Question(words=("mill",)), Question(words=("osk", "mill"), years=years), Question(is_undated=True),
        Question(words=("lighthouse",)), Question(elevation="S"), Question(is_unscanned=True, place_id=9),
    ]  # fmt: skip


# find_frames is tested against the standard's own examples and by hand (tests/store/test_find.py).
@pytest.mark.parametrize("number", range(len(questions())))
def test_a_run_is_what_finding_finds_in_the_same_order(sample, number):
    archive, question = open_archive(sample), questions()[number]
    with archive.reading() as connection:
        run, answer = read_run(connection, question), find_frames(connection, question)

        assert list(run.ids) == [frame.id for frame in answer.frames]
        assert [bool(sure) for sure in run.sure] == [frame.certainty == "certainly" for frame in answer.frames]
        assert run.undated == answer.undated
        assert frames_of(connection, run, 0, 1000) == answer.frames


def test_a_sheet_that_is_gone_leaves_its_place_in_the_run(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    for number in ("1", "2", "3"):
        valley.frame(number, "1978", "Osk")
    with valley.archive.reading() as connection:
        run = read_run(connection, Question())
    with sqlite3.connect(valley.archive.catalogue) as other:
        other.execute("PRAGMA foreign_keys = OFF")
        other.execute("DELETE FROM sheet WHERE id = 2")
    other.close()
    with valley.archive.reading() as connection:
        found = frames_of(connection, run, 0, 3)

    assert [frame and frame.id for frame in found] == [1, None, 3]


def test_how_many_a_run_has_is_said_with_the_undated(sample):
    with open_archive(sample).reading() as connection:
        assert frame_count_words(read_run(connection, Question())) == (
            "61 frames, all certainly. 5 of them undated, last."
        )
        with_years = Question(place_id=4, years=parse_edtf("1990/1999"), about_days=730)
        assert frame_count_words(read_run(connection, with_years)).endswith("3 undated beside these.")


@pytest.mark.parametrize("kind", ["place", "building"])
def test_a_year_line_counts_what_finding_finds_in_each_decade(sample, kind):
    archive = open_archive(sample)
    read = {"place": place_year_line, "building": building_year_line}[kind]
    with archive.reading() as connection:
        for (record,) in connection.execute(f"SELECT id FROM {kind}").fetchall():
            line = read(connection, record, archive.about_days)
            asked = {f"{kind}_id": record, "about_days": archive.about_days}
            counted = {count.first_year: count for count in line.decades}
            for decade in range(1960, 2030, 10):
                question = Question(years=parse_edtf(f"{decade}/{decade + 9}"), **asked)
                found = find_frames(connection, question)
                count = counted.get(decade)
                # What is dated too openly for any decade is counted apart, and found in every one it may be of.
                loose = sum(f.exposed_earliest is None or f.exposed_latest is None for f in found.frames)
                total = count.certain + count.possible if count else 0
                assert total == len(found.frames) - loose, (record, decade)
                certain = sum(f.certainty == "certainly" for f in found.frames)
                seasons = sum(f.exposed_doubt == "s" for f in found.frames)
                assert certain <= (count.certain if count else 0) <= certain + seasons
            assert line.undated == find_frames(connection, Question(**asked, is_undated=True)).undated
            assert line.total == len(read_run(connection, Question(**asked)))


def test_a_season_well_within_a_decade_is_certainly_of_it(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    valley.frame("1", "1974-22", "Osk")
    valley.frame("2", "1979-24", "Osk")  # winter 1979-80
    with valley.archive.reading() as connection:
        first, second = place_year_line(connection, 1, 730).decades

    assert (first.first_year, first.certain, first.possible) == (1970, 1, 1)
    assert (second.first_year, second.certain, second.possible) == (1980, 0, 1)


def test_an_autumn_at_the_end_of_a_decade_is_possibly_of_it_and_of_no_other(tmp_path):
    valley = Valley(tmp_path / "valley")
    valley.place("Osk")
    valley.frame("1", "1979-23", "Osk")
    with valley.archive.reading() as connection:
        (only,) = place_year_line(connection, 1, 730).decades

    assert (only.first_year, only.certain, only.possible) == (1970, 0, 1)


def test_a_moved_building_is_counted_in_a_place_for_its_time_there(sample):
    archive = open_archive(sample)
    with archive.reading() as connection:
        before = buildings_year_lines(connection, 10, archive.about_days)[10]
        after = buildings_year_lines(connection, 9, archive.about_days)[10]
        whole = building_year_line(connection, 10, archive.about_days)

    # Moved in June 1979 (scenario.md): three frames before, two after.
    assert (before.total, after.total, whole.total) == (3, 2, 5)
    assert max(count.first_year for count in before.decades) == 1970


def test_the_whole_archive_counts_every_sheet_once(sample):
    archive = open_archive(sample)
    with archive.reading() as connection:
        line = whole_year_line(connection, archive.about_days)

    assert (line.total, line.undated, line.loose) == (61, 5, 1)


def test_marks_carry_the_doubt_of_their_dates(sample):
    archive = open_archive(sample)
    with archive.reading() as connection:
        marks = {mark.kind: mark for mark in chronicle_marks(connection, [1], archive.about_days)[1]}

    assert marks["clad"].is_doubtful  # between 1978 and 1982
    assert (round(marks["clad"].first), round(marks["clad"].last)) == (1978, 1983)
    assert not marks["restored"].is_doubtful
    assert marks["raised"].is_doubtful  # about 1790


def test_a_place_is_led_to_by_what_it_belongs_to_now(sample):
    with open_archive(sample).reading() as connection:
        told = {
            reference: " / ".join(step.name for step in trail_of(connection, table, record))
            for reference, table, record in (("L10", "place", 10), ("B10", "building", 10), ("S1", "sheet", 1))
        }
        assert trail_of(connection, "place", 999) == ()

    assert told["L10"] == "Arlen / Wennshire / Low Halding"
    assert told["B10"] == "Arlen / Wennshire / Halding / Weigh-house"  # where it stands now
    assert told["S1"] == "Arlen / Wennshire / Osk / Osk Mill / 74-02"


def test_a_guide_card_of_a_place_that_is_gone_is_refused(sample):
    with open_archive(sample).reading() as connection, pytest.raises(NotFoundError, match="no place L999"):
        read_guide_card(connection, 999, 730, "x")


def test_the_first_guide_card_holds_what_belongs_to_nothing(sample):
    with open_archive(sample).reading() as connection:
        card = read_guide_card(connection, None, 730, "Wenn valley")

    assert [line.name for line in card.places] == ["Arlen"]
    assert card.buildings == ()


def test_fields_complete_by_every_name(sample):
    with open_archive(sample).reading() as connection:
        names = names_to_complete(connection)

    assert {"Oske", "Osk", "Wenn Haven"} <= set(names["place"])
    assert names["lens"][:2] == ("90", "105")
    assert "Ostrane Pan 100" in names["film"]


def test_a_descent_goes_from_the_sheet_to_its_prints(archive):
    fill_small(archive)
    with archive.reading() as connection:
        lines = {
            line.reference: line
            for (sheet,) in connection.execute("SELECT id FROM sheet").fetchall()
            for line in read_descent(connection, sheet)
        }
        prints = {f"P{i}" for (i,) in connection.execute("SELECT id FROM print WHERE life <> 'void'")}
        scans = {f"C{i}" for (i,) in connection.execute("SELECT scan_id FROM scan_part")}

    assert scans <= set(lines)
    assert prints <= set(lines)
    assert any(line.table == "edit_version" for line in lines.values())


# -- news of changes -------------------------------------------------------------------------------------------------


def test_what_another_connection_commits_is_noticed_once(archive: Archive):
    watch = ChangeWatch(archive)
    assert watch.has_changed() is False
    with sqlite3.connect(archive.catalogue) as other:
        other.execute("INSERT INTO place (name) VALUES ('Osk')")
    other.close()

    assert [watch.has_changed(), watch.has_changed()] == [True, False]
    watch.close()


def test_a_catalogue_that_is_gone_is_said_to_be_gone(archive: Archive):
    watch = ChangeWatch(archive)
    for path in Path(archive.folder).glob("archive.db*"):
        path.unlink()

    with pytest.raises(ArchiveError, match="is not there"):
        watch.has_changed()
