"""Undo: what a deed changed comes back, or the deed in the way is named."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select, update

from catalog.actions.deeds import undo_deed
from catalog.errors import CatalogError, NotFoundError, RefusedError, UndoError
from catalog.model import (
    Building,
    BuildingName,
    Camera,
    Drive,
    Kit,
    Lens,
    Note,
    Place,
    PlaceParent,
    RecordedDate,
    Sheet,
    SheetNumber,
    SheetView,
    View,
    ViewSubject,
)
from catalog.rules.folding import fold
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.daybook import get_deed, list_deeds
from catalog.store.search import search_entries, stale_entries
from catalog.store.writing import Writing, begin_file_deed, deed
from tests.store.archives import an_archive, fill_small, raw, tables

NOTED = "2026-11-25T09:30:00Z"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A new archive, empty."""
    return an_archive(tmp_path / "archive")


def add_sheet(archive: Archive, number: str = "78-14", **fields: object) -> int:
    """Do a deed that adds a sheet with a number, and return the sheet's id."""
    with deed(archive, "sheets add", f"added {number}") as writing:
        sheet = Sheet(**fields)
        sheet.numbers.append(SheetNumber(text=number, folded=fold(number)))
        writing.session.add(sheet)
        writing.session.flush()
        return sheet.id


def add(archive: Archive, *records: object, kind: str = "records add") -> list[int]:
    """Do a deed that adds records, and return their ids."""
    with deed(archive, kind, "added") as writing:
        writing.session.add_all(records)
        writing.session.flush()
        return [record.id for record in records]  # type: ignore[attr-defined]


def correct(archive: Archive, kind: type, record_id: int, **fields: object) -> None:
    """Do a deed that changes columns of a record."""
    with deed(archive, "records correct", "corrected") as writing:
        record = writing.session.get_one(kind, record_id)
        for name, value in fields.items():
            setattr(record, name, value)


def remove(archive: Archive, kind: type, record_id: int) -> None:
    """Do a deed that removes a record."""
    with deed(archive, "records remove", "removed") as writing:
        writing.session.delete(writing.session.get_one(kind, record_id))


# ---- what comes back


def test_the_newest_deed_is_taken_back_and_nothing_else(archive):
    add_sheet(archive, "78-14")
    before = tables(archive)
    add_sheet(archive, "78-15")

    done = undo_deed(archive)

    assert (done.deed.id, done.undo_id, done.records) == (2, 3, 2)
    assert tables(archive) == before


def test_a_correction_is_taken_back_column_by_column(archive):
    sheet = add_sheet(archive, box="4", condition="fine")
    correct(archive, Sheet, sheet, box="5", exposed=RecordedDate("1978~", "c. 1978", 721719, 722083, "~"))

    undo_deed(archive)

    with archive.reading() as connection:
        row = connection.execute("SELECT box, condition, exposed_edtf, exposed_words, exposed_doubt FROM sheet")
        assert row.fetchone() == ("4", "fine", None, None, "")


def test_a_removed_record_comes_back_under_its_own_reference(archive):
    sheet = add_sheet(archive)
    before = tables(archive)
    remove(archive, Sheet, sheet)

    undo_deed(archive)

    assert tables(archive) == before
    with archive.reading() as connection:
        assert search_entries(connection, "78-14") == [("sheet", sheet, True)]


def test_a_number_taken_out_of_its_sheets_list_comes_back(archive):
    sheet = add_sheet(archive)
    before = tables(archive)
    with deed(archive, "sheets correct", "took the number off") as writing:
        record = writing.session.get_one(Sheet, sheet)
        record.numbers.clear()
    with archive.reading() as connection:
        assert search_entries(connection, "78-14") == []

    undo_deed(archive)

    assert tables(archive) == before


def test_a_reference_taken_back_is_not_given_again(archive):
    sheet = add_sheet(archive)
    undo_deed(archive)

    assert add_sheet(archive, "78-15") == sheet + 1


def test_an_undo_can_be_undone_and_that_again(archive):
    add_sheet(archive)
    there = tables(archive)
    gone = {name: [] for name in there}

    for undone, expected in ((1, gone), (2, there), (3, gone), (4, there)):
        undo_deed(archive, undone)
        assert tables(archive) == expected

    with archive.reading() as connection:
        assert [d.undone_by_id for d in list_deeds(connection)] == [None, 3, None, 5, None]


def test_a_deed_done_again_can_be_taken_back_by_its_own_number(archive):
    add_sheet(archive)
    undo_deed(archive)
    undo_deed(archive, 2)

    done = undo_deed(archive)

    assert done.deed.id == 1
    assert tables(archive)["sheet"] == []


def test_a_dry_run_says_what_would_be_and_does_nothing(archive):
    add_sheet(archive)
    before = tables(archive, leave_out=set())

    done = undo_deed(archive, dry_run=True)

    assert (done.deed.id, done.undo_id, done.records) == (1, None, 2)
    assert tables(archive, leave_out=set()) == before


def test_two_names_that_were_exchanged_are_exchanged_back(archive):
    first, second = add(
        archive,
        *(Drive(name=n, marker=n * 4, last_path="/", depth=0, last_seen_at=NOTED) for n in ("Blue", "Red")),
    )
    with deed(archive, "drives correct", "exchanged the names") as writing:
        one, other = writing.session.get_one(Drive, first), writing.session.get_one(Drive, second)
        for record, name in ((one, "passing"), (other, "Blue"), (one, "Red")):
            record.name = name
            writing.session.flush()

    undo_deed(archive)

    assert [row[1] for row in tables(archive)["drive"]] == ["Blue", "Red"]


def test_the_principal_subject_goes_back_to_where_it_was(archive):
    # One principal a view: a unique index that no row may break even for a moment.
    places = add(archive, Place(name="Osk"), Place(name="Low Halding"))
    view = View(title="both")
    view.subjects = [ViewSubject(place_id=places[0], is_principal=True), ViewSubject(place_id=places[1])]
    add(archive, view)
    before = tables(archive)
    with deed(archive, "views correct", "the other is the principal") as writing:
        first, second = writing.session.scalars(select(ViewSubject).order_by(ViewSubject.id))
        first.is_principal = False
        writing.session.flush()
        second.is_principal = True

    undo_deed(archive)

    assert tables(archive) == before


def test_what_a_bulk_loader_added_is_taken_back(archive):
    with deed(archive, "cards read", "read cards") as writing:
        first = writing.first_free_id("sheet")
        ids = range(first, first + 500)
        writing.raw.executemany("INSERT INTO sheet (id, box) VALUES (?, '4')", [(i,) for i in ids])
        writing.record_added("sheet", ids)

    assert undo_deed(archive).records == 500
    assert tables(archive)["sheet"] == []
    with deed(archive, "cards read", "again") as writing:
        assert writing.first_free_id("sheet") == 501


def test_every_table_is_brought_back_whole(archive):
    fill_small(archive, with_edition=False)  # prints, numbers and the ledger stay: tests/actions/test_ledger.py
    files = raw(archive)
    files.execute("DELETE FROM deed_file")  # the file it says was written lies on a drive of the story
    full = tables(archive)

    undone = [undo_deed(archive).undo_id for _ in range(2)]
    assert {name for name, rows in tables(archive).items() if rows} == set()
    for undo_id in reversed(undone):
        undo_deed(archive, undo_id)

    assert tables(archive) == full
    with archive.reading() as connection:
        assert stale_entries(connection) == []


# ---- what stands in the way


def refusal(archive: Archive, deed_id: int | None = None) -> str:
    """Return why a deed is not undone, after seeing that nothing was changed."""
    before = tables(archive, leave_out=set())
    with pytest.raises(UndoError) as caught:
        undo_deed(archive, deed_id)
    assert tables(archive, leave_out=set()) == before
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_later_change_of_the_same_record_is_named(archive):
    sheet = add_sheet(archive)
    correct(archive, Sheet, sheet, box="5")

    assert refusal(archive, 1) == (
        "Deed 1 (sheets add) cannot be undone: deed 2 (records correct) changed S1 since; undo that first. "
        "Nothing was changed."
    )


def test_a_named_deed_is_undone_when_nothing_later_touched_its_records(archive):
    add_sheet(archive, "78-14")
    add_sheet(archive, "78-15")

    assert undo_deed(archive, 1).deed.id == 1
    assert [row[2] for row in tables(archive)["sheet_number"]] == ["78-15"]


def test_once_the_later_change_is_undone_it_no_longer_stands_in_the_way(archive):
    sheet = add_sheet(archive)
    correct(archive, Sheet, sheet, box="5")
    undo_deed(archive, 2)

    assert undo_deed(archive, 1).deed.id == 1


def test_a_change_done_again_stands_in_the_way_again(archive):
    sheet = add_sheet(archive)
    correct(archive, Sheet, sheet, box="5")
    undo_deed(archive, 2)
    undo_deed(archive, 3)

    assert "deed 2 (records correct) changed S1 since" in refusal(archive, 1)


def test_a_deed_that_added_what_points_to_a_removed_record_is_named(archive):
    (kit,) = add(archive, Kit(kind="lens", name="90 mm"))
    add(archive, Lens(id=kit, focal_length_mm=90))
    add_sheet(archive, lens_id=kit)

    assert "deed 3 (sheets add) added S1 since, which belongs to K1; undo that first" in refusal(archive, 2)


def test_a_deed_that_noted_something_about_a_removed_record_is_named(archive):
    sheet = add_sheet(archive)
    add(
        archive,
        Note(about="sheet", about_id=sheet, text="left of the door", noted_at=NOTED),
        kind="notes add",
    )

    assert "deed 2 (notes add) added note on S1 since; undo that first" in refusal(archive, 1)


def test_a_deed_that_removed_what_a_record_pointed_to_is_named(archive):
    (place,) = add(archive, Place(name="Osk"))
    (view,) = add(archive, View(title="the green"))
    add(archive, ViewSubject(view_id=view, place_id=place))
    remove(archive, ViewSubject, 1)
    remove(archive, Place, place)

    assert "deed 5 (records remove) removed L1 since; undo that first" in refusal(archive, 4)


def test_a_deed_that_removed_what_a_note_was_about_is_named(archive):
    sheet = add_sheet(archive)
    (note,) = add(archive, Note(about="sheet", about_id=sheet, text="left of the door", noted_at=NOTED))
    remove(archive, Note, note)
    remove(archive, Sheet, sheet)

    assert "deed 4 (records remove) removed S1 since; undo that first" in refusal(archive, 3)


def test_a_deed_that_took_the_name_is_named(archive):
    (kit,) = add(archive, Kit(kind="camera", name="field camera"))
    remove(archive, Kit, kit)
    add(archive, Kit(kind="camera", name="field camera"), kind="cameras add")

    assert "deed 3 (cameras add) added K2 since; undo that first" in refusal(archive, 2)


def test_a_place_that_would_lie_in_itself_is_refused_in_words(archive):
    osk, brome = add(archive, Place(name="Osk"), Place(name="Nether Brome"))
    (parent,) = add(archive, PlaceParent(place_id=osk, parent_id=brome))
    remove(archive, PlaceParent, parent)
    add(archive, PlaceParent(place_id=brome, parent_id=osk))

    assert "a place cannot belong to itself" in refusal(archive, 3)


def test_a_record_changed_past_the_daybook_is_told_apart(archive):
    sheet = add_sheet(archive)
    correct(archive, Sheet, sheet, box="5")
    connection = raw(archive)
    connection.execute("DELETE FROM sheet_number")
    connection.execute("DELETE FROM sheet")

    assert "S1 is not as the daybook left it" in refusal(archive)


def test_a_deed_from_before_an_upgrade_cannot_be_undone(archive):
    add_sheet(archive)
    raw(archive).execute("UPDATE deed SET schema = '0000'")

    assert "before the catalogue was upgraded" in refusal(archive)


def test_with_nothing_left_to_undo_that_is_said(archive):
    add_sheet(archive)
    undo_deed(archive)

    assert refusal(archive) == "There is no deed left to undo."
    assert "was undone by deed 2 already. To do it again: tiebeam undo 2" in refusal(archive, 1)
    with pytest.raises(NotFoundError, match="no deed 77"):
        undo_deed(archive, 77)


def test_a_deed_that_changed_nothing_is_no_candidate(archive):
    add_sheet(archive)
    with deed(archive, "cards read", "all 412 already here"):
        pass

    assert "changed nothing" in refusal(archive, 2)
    assert undo_deed(archive).deed.id == 1


def test_a_deed_under_way_is_left_alone(archive):
    files = begin_file_deed(archive, "scans add", "adding", left_to_do="Run it again")
    with files.step() as writing:
        writing.session.add(Sheet())

    assert "still under way" in refusal(archive)
    files.finish("added")
    assert undo_deed(archive).deed.id == 1


def test_an_interrupted_deed_is_undone_for_what_it_did(archive):
    files = begin_file_deed(archive, "scans add", "adding", left_to_do="Run: tiebeam scans add")
    for _ in range(3):
        with files.step() as writing:
            writing.session.add(Sheet())
    files.break_off("added 3 of 9", "Run: tiebeam scans add")

    assert undo_deed(archive).records == 3
    assert tables(archive)["sheet"] == []


def test_deeds_that_went_on_side_by_side_are_told_apart_by_what_came_first(archive):
    # A deed over many files touches S1 before and after another window's deed does.
    sheet = add_sheet(archive)
    files = begin_file_deed(archive, "scans add", "adding", left_to_do="Run it again")
    for box in ("a", "b"):
        with files.step() as writing:
            writing.session.get_one(Sheet, sheet).box = box
        if box == "a":
            correct(archive, Sheet, sheet, condition="torn")
    files.finish("added")

    assert "deed 3 (records correct) changed S1 since" in refusal(archive, 2)
    assert "deed 2 (scans add) changed S1 since" in refusal(archive, 3)


def test_changes_that_the_daybook_would_not_hear_of_are_stopped(archive):
    sheet = add_sheet(archive)

    with pytest.raises(TypeError, match="record_change"), deed(archive, "sheets correct", "all") as writing:
        writing.session.execute(update(Sheet).values(box="9"))

    with archive.reading() as connection:
        assert connection.execute("SELECT box FROM sheet WHERE id = ?", (sheet,)).fetchone() == (None,)


# ---- any deeds at all

Step = tuple[int, int, int, str]
WORDS = st.text(alphabet="aeéłß'[]-. 78Osk", min_size=1, max_size=6).filter(lambda words: words.strip() != "")
STEPS = st.tuples(st.integers(0, 15), st.integers(0, 5), st.integers(0, 5), WORDS)


def _pick(writing: Writing, kind: type, which: int) -> object | None:
    found = writing.session.scalars(select(kind).order_by(kind.id)).all()  # type: ignore[attr-defined]
    return found[which % len(found)] if found else None


def do(writing: Writing, step: Step) -> None:
    """Do one of the things a person does to an archive; what is not possible just now is left."""
    what, first, second, words = step
    session = writing.session
    sheet, view = _pick(writing, Sheet, first), _pick(writing, View, second)
    note, building = _pick(writing, Note, first), _pick(writing, Building, second)
    match what:
        case 0 | 1:
            made = Sheet(box=words)
            made.numbers.append(SheetNumber(text=words, folded=fold(words)))
            session.add(made)
        case 2 if sheet:
            sheet.box, sheet.condition = words, None  # type: ignore[attr-defined]
        case 3 if sheet:
            sheet.numbers.clear()  # type: ignore[attr-defined]
        case 4 if sheet:
            sheet.numbers.append(SheetNumber(text=words, folded=fold(words), scheme=str(second)))  # type: ignore[attr-defined]
        case 5 if sheet:
            session.delete(sheet)
        case 6 if sheet:
            session.add(Note(about="sheet", about_id=sheet.id, text=words, noted_at=NOTED))  # type: ignore[attr-defined]
        case 7 if note and building:
            note.about, note.about_id = "building", building.id  # type: ignore[attr-defined]
        case 8 if note:
            session.delete(note)
        case 9:
            made = Building(name=words)
            made.names.append(BuildingName(name=words))
            session.add_all([made, View(title=words)])
        case 10 if sheet and view:
            session.add(SheetView(sheet_id=sheet.id, view_id=view.id))  # type: ignore[attr-defined]
        case 11 if view:
            view.title = words  # type: ignore[attr-defined]
        case 12 if sheet and sheet.views:  # type: ignore[attr-defined]
            session.delete(sheet.views[0])  # type: ignore[attr-defined]
        case 13 if building:
            session.delete(building)
        case 14:
            ids = range(writing.first_free_id("sheet"), writing.first_free_id("sheet") + 3)
            writing.raw.executemany("INSERT INTO sheet (id, box) VALUES (?, ?)", [(i, words) for i in ids])
            writing.record_added("sheet", ids)
        case 15:
            kit = Kit(kind="camera", name=words)
            session.add(kit)
            session.flush()
            session.add(Camera(id=kit.id, format=words))
    session.flush()
    session.expire_all()  # lists of parts still hold what was removed from them by itself


def undone_in_reverse(archive: Archive, deeds: list[list[Step]]) -> None:
    """Do deeds, take each back and see what was before it, do each again and see what was after it."""
    states, done = [tables(archive)], []
    for steps in deeds:
        try:
            with deed(archive, "anything", "anything") as writing:
                for step in steps:
                    do(writing, step)
                number = writing.deed.id
        except RefusedError:
            assert tables(archive) == states[-1]
            continue
        with archive.reading() as connection:
            assert stale_entries(connection) == []
            if get_deed(connection, number).records == 0:
                assert tables(archive) == states[-1]
                continue
        done.append(number)
        states.append(tables(archive))

    undone = []
    for number, before in zip(reversed(done), reversed(states[:-1]), strict=True):
        undone.append(undo_deed(archive, number).undo_id)
        assert tables(archive) == before
    for undo_id, after in zip(reversed(undone), states[1:], strict=True):
        undo_deed(archive, undo_id)
        assert tables(archive) == after
    assert check_archive(archive) == []


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(STEPS, min_size=1, max_size=6), min_size=1, max_size=5))
def test_any_deeds_undone_in_reverse_give_back_the_same_rows(deeds):
    with tempfile.TemporaryDirectory() as folder:
        undone_in_reverse(an_archive(Path(folder) / "archive"), deeds)


@pytest.mark.slow
@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(STEPS, min_size=1, max_size=12), min_size=1, max_size=8))
def test_many_deeds_undone_in_reverse_give_back_the_same_rows(deeds):
    with tempfile.TemporaryDirectory() as folder:
        undone_in_reverse(an_archive(Path(folder) / "archive"), deeds)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(STEPS, min_size=1, max_size=4), min_size=2, max_size=5), st.data())
def test_a_deed_undone_out_of_order_leaves_a_sound_catalogue_or_changes_nothing(deeds, data):
    with tempfile.TemporaryDirectory() as folder:
        archive = an_archive(Path(folder) / "archive")
        for steps in deeds:
            try:
                with deed(archive, "anything", "anything") as writing:
                    for step in steps:
                        do(writing, step)
            except RefusedError:
                continue
        for _ in range(4):
            before = tables(archive, leave_out=set())
            if not undo_if_possible(archive, data.draw(st.integers(1, len(before["deed"]) + 1))):
                assert tables(archive, leave_out=set()) == before
        assert check_archive(archive) == []


def undo_if_possible(archive: Archive, deed_id: int) -> bool:
    """Undo a deed and return True, or False if it is refused."""
    try:
        undo_deed(archive, deed_id)
    except CatalogError:
        return False
    return True
