"""Edit versions as deeds: what is recorded and written, what a fault leaves, what undo takes back."""

from __future__ import annotations

import errno
import json
import os
from hashlib import sha256

import numpy as np
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.actions._scan_tones import format_reading, measure, parse_reading
from catalog.actions.deeds import undo_deed
from catalog.actions.scan_files import correct_scan, remove_scan
from catalog.actions.scans import add_scans
from catalog.actions.verify_scans import verify_scans
from catalog.actions.version_records import Source, accept_version, add_version, correct_version, remove_version
from catalog.actions.version_wishes import ToneWishes
from catalog.actions.versions import make_versions, write_versions
from catalog.errors import FileFormatError, NotFoundError, RefusedError, UndoError
from catalog.imaging.tone_steps import find_step, parse_steps, tone_step
from catalog.model import Sheet
from catalog.store.check import check_archive
from catalog.store.find import Question, find_frames
from catalog.store.search import search_entries
from catalog.store.versions import sheets_of_versions, sides_in_question
from catalog.store.writing import deed
from tests.scan_archives import a_scan, a_sheet, as_it_is, rows
from tests.version_archives import a_negative, an_archive_with_negatives, with_profile


@pytest.fixture
def archive(tmp_path):
    return an_archive_with_negatives(tmp_path / "archive")


def make(archive, *scans, write=False, **options):
    return list(make_versions(archive, scans or (1,), write=write, **options))


def steps_of(archive, version_id=1):
    return parse_steps(rows(archive, "SELECT steps FROM edit_version WHERE id = ?", version_id)[0][0])


def scans_as_they_are(archive):
    return as_it_is(archive.folder / "scans")


# ---- making


def test_a_version_records_steps_that_were_measured_in_the_picture(archive):
    (one,) = make(archive)

    steps = steps_of(archive)
    assert (one.outcome, one.version_id) == ("made", 1)
    assert steps == one.steps
    assert find_step(steps, "base")["density"] == pytest.approx((0.2,), abs=0.01)
    # The picture was drawn from 0.1 to 1.2 above base; the points lie 0.1 per cent from its ends, grain included.
    points = find_step(steps, "points")
    assert (points["black_d"], points["white_d"]) == pytest.approx((0.1, 1.2), abs=0.05)
    assert find_step(steps, "curve")["grade"] == 2
    assert rows(archive, "SELECT version_id, position, scan_id FROM version_source") == [(1, 1, 1)]
    assert rows(archive, "SELECT state, kind FROM deed ORDER BY id DESC LIMIT 1") == [("done", "versions make")]


def test_what_was_measured_is_kept_and_not_measured_twice(archive, monkeypatch):
    make(archive)
    monkeypatch.setattr("catalog.actions.versions.measure", lambda path: pytest.fail(f"measured {path} again"))

    make(archive)

    assert len(rows(archive, "SELECT 1 FROM edit_version")) == 2
    assert rows(archive, "SELECT sha256 FROM scan_reading") == rows(archive, "SELECT sha256 FROM file")


def test_other_bytes_are_measured_anew(archive):
    make(archive)
    a_negative(archive.folder / "scans" / "80-0.tif", 50, width=400)
    from catalog.actions.scan_files import accept_scan

    accept_scan(archive, 1)
    make(archive)

    assert rows(archive, "SELECT r.sha256 = f.sha256 FROM scan_reading r JOIN file f") == [(1,)]


def test_a_reading_is_read_back_as_it_was(archive):
    reading = measure(archive.folder / "scans" / "80-0.tif")

    assert parse_reading(format_reading(reading)) == reading
    assert parse_reading('{"width": 3}') is None
    assert parse_reading("[") is None


def test_wishes_go_before_what_was_measured(archive):
    wishes = ToneWishes(
        black_d=0.18, white_d=1.31, curve=tone_step("curve", gamma=1.8), crop=(10, 10, 50, 40), straighten_deg=0.5
    )

    make(archive, wishes=wishes)

    kinds = [step.kind for step in steps_of(archive)]
    assert kinds[:2] == ["straighten", "crop"]
    assert find_step(steps_of(archive), "points").parameters == (("black_d", 0.18), ("white_d", 1.31))
    assert find_step(steps_of(archive), "curve")["gamma"] == 1.8


def test_a_picture_can_be_cut_out_of_its_rebate(archive):
    make(archive, wishes=ToneWishes(crops_to_picture=True), write=True)

    # Drawn: 4 of glass and 15 of rebate on each side; found in a copy, hence a few pixels.
    width, height = rows(archive, "SELECT width_px, height_px FROM edit_version")[0]
    assert (width, height) == pytest.approx((380 - 38, 300 - 38), abs=6)


def test_what_a_person_says_of_polarity_goes_before_what_is_seen(archive):
    correct_scan(archive, 1, polarity="positive")

    make(archive)

    assert find_step(steps_of(archive), "invert") is None


def test_where_neither_file_nor_person_knows_the_polarity_the_card_decides(archive):
    for number, medium in enumerate(("negative", "transparency")):
        sheet = a_sheet(archive, f"90-{number}")
        a_scan(archive.folder / "scans" / f"90-{number}.tif", number + 60, width=100, height=80)
        with deed(archive, "sheets correct", "its medium") as writing:
            writing.session.get_one(Sheet, sheet).medium = medium
    add_scans(archive, [archive.folder / "scans"])

    make(archive, 2, 3)

    assert [find_step(steps_of(archive, one), "invert") is not None for one in (1, 2)] == [True, False]


# ---- writing


def test_a_written_version_is_a_file_of_sixteen_bits_with_profile_and_resolution(archive):
    (one,) = make(archive, write=True)

    assert one.outcome == "written"
    assert one.path == archive.folder / "versions" / "80-0 W1.tif"
    with tifffile.TiffFile(one.path) as file:
        page = file.pages[0]
        assert (page.dtype, page.shape, page.iccprofile is not None) == (np.uint16, (300, 380), True)
    kept = rows(archive, "SELECT bits, channels, recorded_ppi, profile IS NOT NULL, kind FROM edit_version")
    assert kept == [(16, 1, 240.0, 1, "TIFF")]
    digest = sha256(one.path.read_bytes()).hexdigest()
    assert rows(archive, "SELECT f.sha256, f.path FROM edit_version w JOIN file f ON f.id = w.file_id") == [
        (digest, "versions/80-0 W1.tif")
    ]
    assert check_archive(archive) == []


def test_a_positive_is_lighter_where_the_negative_is_denser(archive):
    (one,) = make(archive, write=True)

    inside = tifffile.imread(one.path)[60:-60, 40:-40].astype(float).mean(axis=0)
    assert inside[-1] > inside[len(inside) // 2] > inside[0]


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    grade=st.sampled_from([0, 1, 2, 3.5, 5]), angle=st.sampled_from([None, 0.7]), low=st.sampled_from([0.0, 0.1, 1.0])
)
def test_the_same_steps_on_the_same_scan_give_the_same_pixels_to_the_bit(archive, grade, angle, low):
    wishes = ToneWishes(curve=tone_step("curve", grade=grade), straighten_deg=angle, low_percent=low)

    first, second = (make(archive, write=True, wishes=wishes)[0] for _ in range(2))

    assert first.path != second.path
    assert (tifffile.imread(first.path) == tifffile.imread(second.path)).all()
    assert first.path.read_bytes() == second.path.read_bytes()


def test_a_version_recorded_before_is_written_by_its_own_steps(archive):
    make(archive, wishes=ToneWishes(black_d=0.3))
    (made_at_once,) = make(archive, wishes=ToneWishes(black_d=0.3), write=True)

    (one,) = write_versions(archive, [1])

    assert (one.outcome, one.path.name) == ("written", "80-0 W1.tif")
    assert one.path.read_bytes() == made_at_once.path.read_bytes()
    (again,) = write_versions(archive, [1])
    assert (again.outcome, again.reason) == ("failed", "W1 is written already: versions/80-0 W1.tif")


def test_a_version_recorded_before_is_written_by_the_same_command(archive):
    make(archive)

    (one,) = make(archive, write=True, reuse=True)

    assert (one.outcome, one.version_id) == ("written", 1)


def test_b16_making_versions_leaves_the_scans_and_their_folder_as_they_were(archive):
    before = scans_as_they_are(archive)

    make(archive, write=True)
    list(write_versions(archive, [1]))
    undo_deed(archive)

    assert scans_as_they_are(archive) == before


def test_nothing_is_written_over(archive):
    target = archive.folder / "versions" / "80-0 W1.tif"
    target.parent.mkdir()
    target.write_bytes(b"somebody's")

    (one,) = make(archive, write=True)

    assert one.outcome == "failed"
    assert "a file of this name already" in one.reason
    assert "W1 is recorded; write it with: tiebeam versions write W1" in one.reason
    assert target.read_bytes() == b"somebody's"
    assert [path.name for path in target.parent.iterdir()] == [target.name]


def test_a_folder_that_is_not_there_is_not_made(archive, tmp_path):
    with pytest.raises(RefusedError, match="no folder that is there"):
        make(archive, write=True, folder=tmp_path / "drive")

    assert rows(archive, "SELECT 1 FROM edit_version") == []


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EIO])
def test_a_full_disk_leaves_the_recorded_steps_and_no_part_of_a_file(archive, monkeypatch, fault):
    def full(*_):
        raise OSError(fault, os.strerror(fault))

    monkeypatch.setattr("catalog.imaging._positive_file.os.fsync", full)

    (one,) = make(archive, write=True)

    monkeypatch.undo()
    assert (one.outcome, one.version_id) == ("failed", 1)
    assert os.strerror(fault) in one.reason
    assert list((archive.folder / "versions").iterdir()) == []
    assert [one.outcome for one in write_versions(archive, [1])] == ["written"]
    assert check_archive(archive) == []


def test_a_refusal_speaks_of_the_file_that_was_to_be(archive, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("catalog.imaging._positive_file.os.fsync", full)

    (one,) = make(archive, write=True)

    assert one.reason.startswith("80-0 W1.tif: cannot be written (")


# Case F12: FAT keeps the hour of the wall clock; and whoever copies an archive may not keep its dates.
@pytest.mark.parametrize("later_s", [3600, 1, -86_400 * 365])
def test_f12_a_scan_whose_date_alone_changed_is_the_scan_that_was_registered(archive, later_s):
    scan = archive.folder / "scans" / "80-0.tif"
    stamp = scan.stat().st_mtime_ns + later_s * 1_000_000_000
    os.utime(scan, ns=(stamp, stamp))

    assert [one.outcome for one in make(archive, write=True)] == ["written"]


def test_bytes_that_are_no_text_are_refused_or_shown_with_escapes(archive):
    folder = archive.folder / os.fsdecode(b"gr\xf6\xdfer")
    folder.mkdir()

    with pytest.raises(RefusedError, match="bytes that are not text"):
        make(archive, purpose="\udcc9glise")
    (one,) = make(archive, write=True, folder=folder, arguments=f"C1 --folder {folder}")

    assert one.outcome == "written"
    assert rows(archive, "SELECT count(*) FROM deed WHERE words LIKE '%gr\\xF6\\xDFer%'") == [(1,)]


def test_a_colour_scan_has_no_version_in_grey(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", colour=True)

    (one,) = make(archive, wishes=ToneWishes(profile="grey gamma 2.2"))

    assert (one.outcome, one.version_id) == ("failed", None)
    assert "a colour scan cannot be written as grey" in one.reason


def test_a_bad_scan_never_stops_the_others(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 4)
    broken, gone = (archive.folder / "scans" / f"80-{number}.tif" for number in (1, 2))
    broken.write_bytes(broken.read_bytes()[:5000])
    gone.unlink()

    done = make(archive, 1, 2, 3, 4, write=True)

    assert [one.outcome for one in done] == ["written", "failed", "failed", "written"]
    assert "was changed since it was registered" in done[1].reason
    assert "is not there" in done[2].reason
    assert rows(archive, "SELECT words FROM deed WHERE kind = 'versions make'") == [
        ("made 2 edit versions, 2 written; 2 to look at",)
    ]


def test_b09_a_scan_known_to_be_damaged_is_refused_by_name(archive):
    path = archive.folder / "scans" / "81-1.tif"
    a_negative(path, 7)
    path.write_bytes(path.read_bytes()[:20_000])
    add_scans(archive, [path])

    (one,) = make(archive, 2, write=True)

    assert one.outcome == "failed"
    assert one.reason.startswith("81-1.tif is damaged: ")
    assert one.version_id is None


def test_a_stopped_run_says_what_is_left_and_keeps_what_is_done(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 3)
    run = make_versions(archive, [1, 2, 3], write=True, arguments="--place Osk --write")

    next(run)
    with pytest.raises(KeyboardInterrupt):
        run.throw(KeyboardInterrupt)

    state, words, left = rows(archive, "SELECT state, words, left_to_do FROM deed ORDER BY id DESC LIMIT 1")[0]
    assert (state, words.split(":")[0]) == ("interrupted", "made W1 from C1")
    assert words.endswith("then stopped")
    assert left == "What it had not reached is done by: tiebeam versions make --place Osk --write"
    assert len(list((archive.folder / "versions").iterdir())) == 1
    again = make(archive, 1, 2, 3, write=True, reuse=True)
    assert [one.outcome for one in again] == ["here", "written", "written"]


def test_ctrl_c_within_a_picture_leaves_nothing_of_it(archive):
    def stops(share):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make(archive, write=True, on_share=stops)

    assert list((archive.folder / "versions").iterdir()) == []
    assert rows(archive, "SELECT count(*) FROM deed WHERE state = 'under way'") == [(0,)]
    assert [one.outcome for one in write_versions(archive, [1])] == ["written"]


def test_what_a_killed_process_left_is_taken_away_by_the_next_writing(archive):
    folder = archive.folder / "versions"
    folder.mkdir()
    left = [f".tiebeam-{'ab' * 8}.part", f"..tiebeam-{'ab' * 8}.part.77.tiebeam-part"]
    for name in (*left, ".tiebeam-drive", "mine.part"):
        (folder / name).write_bytes(b"half")

    make(archive, write=True)

    assert sorted(path.name for path in folder.iterdir()) == [".tiebeam-drive", "80-0 W1.tif", "mine.part"]


def test_a_rehearsal_measures_and_keeps_nothing(archive, tmp_path):
    before = as_it_is(tmp_path)

    (one,) = make(archive, write=True, dry_run=True)

    assert (one.outcome, bool(one.steps)) == ("made", True)
    assert as_it_is(tmp_path) == before


# ---- which side was up


def test_j16_no_picture_is_written_of_a_scan_that_seems_reversed_until_it_is_answered(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", is_reversed=True, width=760, height=600)

    (blocked,) = make(archive, write=True)

    assert blocked.outcome == "blocked"
    with archive.reading() as connection:
        assert sides_in_question(connection, [1]) == [1]  # prints ask for it too
    assert "tiebeam scans correct C1 --reversed, or --not-reversed" in blocked.reason
    assert rows(archive, "SELECT count(*) FROM edit_version") == [(0,)]


@pytest.mark.parametrize("answer", [True, False])
def test_j16_the_answer_lets_it_be_written_mirrored_or_not(tmp_path, answer):
    archive = an_archive_with_negatives(tmp_path / "archive", is_reversed=True, width=760, height=600)
    make(archive)
    with archive.reading() as connection:
        assert sides_in_question(connection, [1]) == [1]

    correct_scan(archive, 1, is_reversed=answer)
    (one,) = make(archive, write=True)

    assert one.outcome == "written"
    assert (find_step(one.steps, "mirror") is not None) == answer
    with archive.reading() as connection:
        assert sides_in_question(connection, [1]) == []


def test_j16_steps_recorded_before_the_question_was_answered_are_not_written_either(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", is_reversed=True, width=760, height=600)
    make(archive)

    (one,) = write_versions(archive, [1])

    assert one.outcome == "blocked"


# ---- undo


def test_j16_the_question_stands_whichever_program_measured_it(tmp_path, monkeypatch):
    archive = an_archive_with_negatives(tmp_path / "archive", width=1000, height=790, is_reversed=True)
    make(archive)
    monkeypatch.setattr("catalog.clock.program_version", lambda: "99.0")

    (rehearsed,) = write_versions(archive, [1], dry_run=True)
    (one,) = write_versions(archive, [1])

    assert (rehearsed.outcome, one.outcome) == ("blocked", "blocked")
    assert "seems scanned wrong side up" in one.reason


def test_undo_takes_a_version_and_its_file_away(archive):
    before = rows(archive, "SELECT * FROM file")
    make(archive, write=True)

    undo_deed(archive)

    assert list((archive.folder / "versions").iterdir()) == []
    assert rows(archive, "SELECT count(*) FROM edit_version") == [(0,)]
    assert rows(archive, "SELECT * FROM file") == before
    # The bytes of a picture are kept nowhere; the daybook would grow by them.
    assert rows(archive, "SELECT count(*) FROM deed_file WHERE before IS NOT NULL") == [(0,)]


def test_an_undone_version_cannot_be_called_back_and_that_is_said(archive):
    make(archive, write=True)
    undone = undo_deed(archive)

    assert undone.is_final
    with pytest.raises(UndoError, match=r"of which no copy was kept.*tiebeam versions make"):
        undo_deed(archive, undone.undo_id)
    with pytest.raises(UndoError, match=r"was undone by deed \d+ already.*tiebeam versions make$"):
        undo_deed(archive, undone.deed.id)

    assert rows(archive, "SELECT count(*) FROM deed WHERE state = 'interrupted'") == [(0,)]


def test_undo_leaves_a_picture_that_somebody_worked_on(archive):
    (one,) = make(archive, write=True)
    one.path.write_bytes(b"worked on")

    with pytest.raises(UndoError, match="was changed since it was written"):
        undo_deed(archive)

    assert one.path.read_bytes() == b"worked on"


def test_a_version_number_is_never_given_twice(archive):
    make(archive)
    undo_deed(archive)

    assert make(archive)[0].version_id == 2


# ---- working files made elsewhere


def a_working_file(archive, name="80-0 edited.tif", seed=90, **options):
    return a_negative(archive.folder / "work" / name, seed, **options)


def test_a_working_file_is_registered_by_its_bytes_with_what_it_was_made_from(archive):
    path = a_working_file(archive)
    before = as_it_is(path.parent)

    added = add_version(archive, path, [Source(scan_id=1)], purpose="Ostrane exhibition", made_with="by hand")

    assert added.warnings == ()
    assert rows(
        archive, "SELECT w.steps, w.purpose, f.sha256, f.path FROM edit_version w JOIN file f ON f.id = w.file_id"
    ) == [(None, "Ostrane exhibition", sha256(path.read_bytes()).hexdigest(), "work/80-0 edited.tif")]
    assert as_it_is(path.parent) == before
    with archive.reading() as connection:
        assert search_entries(connection, "ostrane", ["edit_version"]) == [("edit_version", 1, False)]
    assert check_archive(archive) == []


def test_b15_a_working_file_that_lost_its_profile_is_registered_with_the_loss_said(archive):
    a_sheet(archive, "81-0")
    a_negative(archive.folder / "scans" / "81-0.tif", 30, **with_profile())
    add_scans(archive, [archive.folder / "scans"])
    bare = a_working_file(archive, compression="lzw")
    kept = a_working_file(archive, "kept.tif", 91, **with_profile())

    lost = add_version(archive, bare, [Source(scan_id=2)])
    whole = add_version(archive, kept, [Source(scan_id=2)])

    (profile,) = rows(archive, "SELECT profile FROM scan WHERE id = 2")[0]
    assert lost.warnings == (f"it has no colour profile; C2 has {profile}",)
    assert whole.warnings == ()
    assert rows(archive, "SELECT profile, facts LIKE '%it has no colour profile%' FROM edit_version") == [
        (None, 1), (profile, None),
    ]  # fmt: skip


def test_a_working_file_of_eight_bits_is_said_to_have_lost_half(archive):
    path = a_scan(archive.folder / "work" / "flat.tif", 3, bits=8)

    assert add_version(archive, path, [Source(scan_id=1)]).warnings == ("it has 8 bits; C1 has 16",)


def test_a_stitched_picture_names_every_scan_and_shows_every_sheet(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 2)
    path = a_working_file(archive)

    add_version(archive, path, [Source(scan_id=2), Source(scan_id=1)])
    add_version(archive, a_working_file(archive, "smaller.tif", 91), [Source(version_id=1)], replaces_id=1)

    found = rows(archive, "SELECT version_id, position, scan_id, source_version_id FROM version_source ORDER BY 1, 2")
    assert found == [
        (1, 1, 2, None), (1, 2, 1, None), (2, 1, None, 1),
    ]  # fmt: skip
    with archive.reading() as connection:
        assert sheets_of_versions(connection) == {1: [1, 2], 2: [1, 2]}


def test_a_scan_is_no_version_of_itself_wherever_its_copy_lies(archive):
    scan = archive.folder / "scans" / "80-0.tif"
    copy = archive.folder / "work" / "copy.tif"
    copy.parent.mkdir()
    copy.write_bytes(scan.read_bytes())

    for path in (scan, copy):
        with pytest.raises(RefusedError, match="holds the picture of scan C1"):
            add_version(archive, path, [Source(scan_id=1)])


def test_a_working_file_is_registered_once(archive):
    path = a_working_file(archive)
    add_version(archive, path, [Source(scan_id=1)])

    with pytest.raises(RefusedError, match="is edit version W1 already"):
        add_version(archive, path, [Source(scan_id=1)])
    path.rename(path.with_name("renamed.tif"))
    with pytest.raises(RefusedError, match="tiebeam scans verify"):
        add_version(archive, path.with_name("renamed.tif"), [Source(scan_id=1)])


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("notes.txt", b"words", "no picture by its name"),
        ("half.tif", None, "is damaged"),
        ("empty.tif", b"", "empty"),
        ("gone.tif", ..., "gone.tif"),
    ],
)
def test_a_wrong_file_is_refused_by_name_and_nothing_is_changed(archive, name, content, words):
    path = archive.folder / "work" / name
    whole = a_working_file(archive, "whole.tif").read_bytes()
    if content is not ...:
        path.write_bytes(whole[:20_000] if content is None else content)
    before = rows(archive, "SELECT count(*) FROM file")

    with pytest.raises((RefusedError, FileFormatError), match=words):
        add_version(archive, path, [Source(scan_id=1)])

    assert rows(archive, "SELECT count(*) FROM file") == before


def test_a_working_file_of_another_kind_is_known_by_its_bytes(archive):
    path = archive.folder / "work" / "layers.psd"
    path.parent.mkdir()
    path.write_bytes(b"8BPS and more")

    add_version(archive, path, [Source(scan_id=1)])

    assert rows(archive, "SELECT kind, bits FROM edit_version") == [("PSD", None)]
    assert rows(archive, "SELECT sha256 FROM file WHERE path LIKE '%psd'") == [(sha256(path.read_bytes()).hexdigest(),)]


def test_a_working_file_is_no_scan_when_its_folder_is_registered(archive):
    path = a_working_file(archive)
    add_version(archive, path, [Source(scan_id=1)])

    first, second = (add_scans(archive, [archive.folder]) for _ in range(2))

    assert [(one.standing, one.path) for one in first.outcomes] == []
    assert second.unchanged == 2
    assert rows(archive, "SELECT count(*) FROM scan") == [(1,)]


def test_a_working_file_that_moved_is_found_again_by_its_bytes(archive):
    path = a_working_file(archive)
    add_version(archive, path, [Source(scan_id=1)])
    moved = archive.folder / "elsewhere" / path.name
    moved.parent.mkdir()
    path.rename(moved)

    verified = verify_scans(archive)

    assert [one.standing for one in verified.outcomes] == ["moved"]
    assert rows(archive, "SELECT f.path FROM edit_version w JOIN file f ON f.id = w.file_id") == [
        ("elsewhere/80-0 edited.tif",)
    ]


def test_a_working_file_changed_on_purpose_is_taken_as_it_is_now(archive):
    path = a_working_file(archive)
    add_version(archive, path, [Source(scan_id=1)])
    a_working_file(archive, seed=92)

    (alarm,) = verify_scans(archive).outcomes
    accept_version(archive, 1)

    assert "tiebeam versions accept W1" in alarm.words
    assert verify_scans(archive).outcomes == ()


def test_a_written_version_is_not_accepted_as_what_its_steps_do_not_give(archive):
    (one,) = make(archive, write=True)
    a_negative(one.path, 95)

    with pytest.raises(RefusedError, match="tiebeam versions add"):
        accept_version(archive, 1)


# ---- correcting


def test_a_correction_changes_what_is_said_and_undo_brings_it_back(archive):
    make(archive, purpose="proof")
    make(archive)

    correct_version(archive, 2, purpose="exhibition", replaces_id=1)

    assert rows(archive, "SELECT purpose, replaces_id FROM edit_version") == [("proof", None), ("exhibition", 1)]
    undo_deed(archive)
    assert rows(archive, "SELECT purpose, replaces_id FROM edit_version") == [("proof", None), (None, None)]


def test_versions_do_not_replace_each_other_in_a_circle(archive):
    make(archive)
    make(archive, replaces_id=1)

    with pytest.raises(RefusedError, match="replace itself"):
        correct_version(archive, 1, replaces_id=2)
    with pytest.raises(NotFoundError, match="There is no edit version W9"):
        correct_version(archive, 1, replaces_id=9)
    with pytest.raises(NotFoundError, match="There is no edit version W9"):
        make(archive, replaces_id=9)


def test_what_a_working_file_was_made_from_can_be_corrected_but_not_what_steps_were_taken_on(tmp_path):
    archive = an_archive_with_negatives(tmp_path / "archive", 2)
    add_version(archive, a_working_file(archive), [Source(sheet_id=1)])
    make(archive)

    correct_version(archive, 1, sources=[Source(scan_id=1), Source(scan_id=2)])

    assert rows(archive, "SELECT scan_id, sheet_id FROM version_source WHERE version_id = 1") == [(1, None), (2, None)]
    with pytest.raises(RefusedError, match="steps that were taken on C1"):
        correct_version(archive, 2, sources=[Source(scan_id=2)])
    with pytest.raises(RefusedError, match="made from itself"):
        correct_version(archive, 1, sources=[Source(version_id=1)])


def test_a_scan_that_a_version_was_made_from_stays(archive):
    make(archive)

    with pytest.raises(RefusedError, match="Other records point to this one"):
        remove_scan(archive, 1)


def test_a_removed_version_leaves_its_file(archive):
    (one,) = make(archive, write=True)

    assert remove_version(archive, 1) == "versions/80-0 W1.tif"

    assert one.path.exists()
    assert rows(archive, "SELECT count(*) FROM edit_version") == [(0,)]
    assert rows(archive, "SELECT count(*) FROM scan_reading") == [(1,)]


def test_steps_altered_by_hand_are_found_by_check_and_shown_as_such(archive):
    make(archive)
    import sqlite3

    with sqlite3.connect(archive.catalogue) as connection:
        connection.execute("""UPDATE edit_version SET steps = '[{"kind": "glow"}]'""")

    found = [finding.words for finding in check_archive(archive)]

    assert len(found) == 1
    assert "W1: its tone steps: step 1: 'glow' is no tone step" in found[0]
    assert json.loads(rows(archive, "SELECT steps FROM edit_version")[0][0])
    (one,) = write_versions(archive, [1])
    assert (one.outcome, "is no tone step" in one.reason) == ("failed", True)


def test_frames_are_still_found_beside_their_versions(archive):
    make(archive)

    with archive.reading() as connection:
        answer = find_frames(connection, Question(words=("80-0",), about_days=0))

    assert [frame.id for frame in answer.frames] == [1]
