"""Index pictures of an archive: made once, made again when they must be, nothing lost whatever happens."""

from __future__ import annotations

import errno
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from catalog.actions.drives import add_drive
from catalog.actions.index_pictures import make_index_picture, make_index_pictures, tidy_index_pictures
from catalog.model import EditVersion, VersionSource
from catalog.outputs import index_pictures as workshop
from catalog.store.archive import Archive
from catalog.store.index_pictures import find_index_picture, picture_scans
from catalog.store.writing import deed
from tests.scan_archives import an_archive, as_it_is, rows, tiebeam

WINDOW = np.tile(np.linspace(4000, 60000, 96).astype(np.uint16), (72, 1))


def a_scan(path: Path, pixels: np.ndarray = WINDOW, **options: object) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    tifffile.imwrite(path, pixels, **options)
    return path


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Return an archive of three scans, C1 to C3, all different."""
    archive = an_archive(tmp_path / "wenn")
    for number in range(1, 4):
        a_scan(archive.folder / "scans" / f"78-{number}.tif", WINDOW // number)
    assert tiebeam(archive, "scans", "add", archive.folder / "scans") == 0
    return archive


def outcomes(archive: Archive, *scans: int, **options: object) -> dict[int, str]:
    made = make_index_pictures(archive, scans or None, **options)  # type: ignore[arg-type]
    return {one.scan_id: one.outcome for one in made}


def pictures(archive: Archive) -> set[str]:
    return {path.name for path in (archive.folder / "index-pictures").glob("*/*")}


def test_every_scan_has_its_picture_made_once(archive):
    first = outcomes(archive)
    before = as_it_is(archive.folder / "index-pictures")

    again = outcomes(archive)

    assert first == {1: "made", 2: "made", 3: "made"}
    assert again == {1: "here", 2: "here", 3: "here"}
    assert as_it_is(archive.folder / "index-pictures") == before


def test_scans_stay_as_they_are(archive):
    before = as_it_is(archive.folder / "scans")

    outcomes(archive)

    assert as_it_is(archive.folder / "scans") == before


def test_other_rooms_find_a_picture_or_none(archive):
    before = find_index_picture(archive, 1)
    made = make_index_picture(archive, 1)

    found = find_index_picture(archive, 1)

    assert before is None
    assert made is not None
    assert found == made.path
    with Image.open(found) as picture:
        assert (picture.mode, picture.size) == ("RGB", (96, 72))
    assert find_index_picture(archive, 2) is None
    assert find_index_picture(archive, 99) is None
    assert make_index_picture(archive, 99) is None


@pytest.mark.parametrize("corrected", [("--polarity", "negative"), ("--reversed",)])
def test_a_corrected_scan_has_another_picture(archive, corrected):
    outcomes(archive)
    former = find_index_picture(archive, 1)
    assert tiebeam(archive, "scans", "correct", "C1", *corrected) == 0

    assert find_index_picture(archive, 1) is None
    assert outcomes(archive) == {1: "made", 2: "here", 3: "here"}
    now = find_index_picture(archive, 1)
    assert former is not None
    assert now is not None
    with Image.open(former) as one, Image.open(now) as other:  # both turn the ramp round
        before, after = (np.asarray(picture)[36, :, 0].astype(int) for picture in (one, other))
    assert before[-10] - before[10] > 100
    assert after[10] - after[-10] > 100


def test_two_scans_of_the_same_picture_have_one_index_picture(archive):
    shutil.copy(archive.folder / "scans" / "78-1.tif", archive.folder / "scans" / "again.tif")
    tifffile.imwrite(archive.folder / "scans" / "other caption.tif", WINDOW, description="a mill")
    assert tiebeam(archive, "scans", "add", archive.folder / "scans") in (0, 1)

    done = outcomes(archive)

    assert len(pictures(archive)) == 3
    assert set(done.values()) <= {"made", "here"}


def test_b09_a_damaged_scan_is_named_and_its_neighbours_are_made(archive):
    path = archive.folder / "scans" / "78-2.tif"
    path.write_bytes(path.read_bytes()[:4000])
    assert tiebeam(archive, "scans", "accept", "C2") == 1

    done = {one.scan_id: one for one in make_index_pictures(archive)}

    assert [done[scan].outcome for scan in (1, 2, 3)] == ["made", "damaged", "made"]
    assert "shorter than its own table says" in (done[2].reason or "")


def test_a_scan_that_decayed_since_is_not_taken_for_the_one_recorded(archive):
    path = archive.folder / "scans" / "78-2.tif"
    content = bytearray(path.read_bytes())
    content[-500:-400] = bytes(100)
    path.write_bytes(content)

    done = {one.scan_id: one for one in make_index_pictures(archive)}

    assert done[2].outcome == "changed"
    assert "tiebeam scans verify" in (done[2].reason or "")
    assert done[3].outcome == "made"


def test_a_scan_whose_date_or_caption_alone_changed_is_shown(archive):
    os.utime(archive.folder / "scans" / "78-1.tif", (1, 1))
    tifffile.imwrite(archive.folder / "scans" / "78-2.tif", WINDOW // 2, description="a caption of another program")

    assert outcomes(archive) == {1: "made", 2: "made", 3: "made"}


def test_a_missing_scan_is_named(archive):
    (archive.folder / "scans" / "78-3.tif").unlink()

    assert outcomes(archive) == {1: "made", 2: "made", 3: "missing"}


def test_a_kind_that_cannot_be_shown_is_named(archive):
    a_scan(archive.folder / "scans" / "floats.tif", WINDOW.astype(np.float32))
    assert tiebeam(archive, "scans", "add", archive.folder / "scans") in (0, 1)

    done = {one.scan_id: one for one in make_index_pictures(archive, [4])}

    assert done[4].outcome == "undecodable"
    assert "floating point" in (done[4].reason or "")


def test_a_drive_that_is_away_is_no_failure_and_its_pictures_are_still_found(archive, tmp_path):
    drive = tmp_path / "media" / "archive 2"
    a_scan(drive / "79-1.tif", WINDOW // 5)
    a_scan(drive / "79-2.tif", WINDOW // 6)
    add_drive(archive, drive, name="Archive 2")
    assert tiebeam(archive, "scans", "add", drive) == 0
    outcomes(archive, 4)

    drive.rename(tmp_path / "in the drawer")

    done = {one.scan_id: one for one in make_index_pictures(archive)}
    assert (done[4].outcome, done[5].outcome) == ("here", "away")
    assert "Archive 2" in (done[5].reason or "")
    assert not done[5].is_finding


# -- trouble ----------------------------------------------------------------------------------------------


def test_with_a_full_disk_what_was_made_stays_and_the_rest_is_left(archive, monkeypatch):
    put, asked = workshop._put, []

    def full(data: bytes, target: Path) -> None:
        asked.append(target)
        if len(asked) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        put(data, target)

    monkeypatch.setattr(workshop, "_put", full)

    done = list(make_index_pictures(archive))

    assert [one.outcome for one in done] == ["made", "unwritable", "left"]
    assert "No space left" in (done[1].reason or "")
    assert len(pictures(archive)) == 1


def test_a_folder_that_cannot_be_written_is_named(archive):
    (archive.folder / "index-pictures").rmdir()
    (archive.folder / "index-pictures").write_text("no folder")

    done = list(make_index_pictures(archive))

    assert [one.outcome for one in done] == ["unwritable", "left", "left"]
    assert "index-pictures" in (done[0].reason or "")


def test_a_write_that_fails_half_way_leaves_nothing(archive, monkeypatch):
    def broken(_number: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", broken)

    assert outcomes(archive, 1) == {1: "unwritable"}
    assert pictures(archive) == set()


def test_several_processes_make_the_same_pictures_as_one(archive, monkeypatch):
    outcomes(archive, workers=1)
    alone = as_it_is(archive.folder / "index-pictures")
    shutil.rmtree(archive.folder / "index-pictures")
    monkeypatch.setattr(workshop, "_FEW_PIXELS", 0)

    done = outcomes(archive, workers=2)

    assert set(done.values()) == {"made"}
    assert {name: digest for name, (digest, _) in as_it_is(archive.folder / "index-pictures").items()} == {
        name: digest for name, (digest, _) in alone.items()
    }


def test_a_file_that_brings_its_process_down_is_named_and_the_others_are_made(archive, monkeypatch):
    monkeypatch.setattr(workshop, "_FEW_PIXELS", 0)
    monkeypatch.setattr(workshop, "render", deadly)

    done = outcomes(archive, workers=2)

    assert done == {1: "made", 2: "damaged", 3: "made"}


def deadly(job: workshop.PictureJob) -> workshop.Rendered:
    """Render a picture, or die of the second."""
    if job.source.name == "78-2.tif":
        os._exit(11)
    return workshop.render(job)


def test_broken_off_no_process_stays_behind(archive, monkeypatch):
    import multiprocessing

    monkeypatch.setattr(workshop, "_FEW_PIXELS", 0)
    before = set(multiprocessing.active_children())
    making = make_index_pictures(archive, workers=2)
    next(making)

    making.close()  # type: ignore[attr-defined]

    assert set(multiprocessing.active_children()) <= before
    assert not list((archive.folder / "index-pictures").glob("*/.tiebeam-*"))


# -- tidying ----------------------------------------------------------------------------------------------


def test_tidying_removes_what_no_scan_has_any_more_and_nothing_else(archive):
    outcomes(archive)
    tiebeam(archive, "scans", "correct", "C1", "--reversed")
    tiebeam(archive, "scans", "remove", "C2")
    outcomes(archive)
    folder = archive.folder / "index-pictures"
    ours = find_index_picture(archive, 3)
    assert ours is not None
    mine = ours.parent / "holiday.jpg"
    mine.write_bytes(b"mine")
    half, at_work = ours.parent / ".tiebeam-0000000000000001.part", ours.parent / ".tiebeam-0000000000000002.part"
    half.write_bytes(b"half")
    os.utime(half, (time.time() - 90_000,) * 2)
    at_work.write_bytes(b"under way")

    rehearsed = tidy_index_pictures(archive, dry_run=True)
    tidied = tidy_index_pictures(archive)

    assert rehearsed == tidied
    assert (tidied.pictures, tidied.half_written, tidied.kept) == (2, 1, 2)
    assert find_index_picture(archive, 1) is not None
    assert find_index_picture(archive, 3) is not None
    assert mine.exists()
    assert at_work.exists()
    assert not half.exists()
    assert len(list(folder.glob("*/*"))) == 4


def test_the_daybook_has_no_entry_for_what_changes_no_record(archive):
    before = rows(archive, "SELECT count(*) FROM deed")

    outcomes(archive)
    tidy_index_pictures(archive)

    assert rows(archive, "SELECT count(*) FROM deed") == before


def test_a_picture_looks_as_the_newest_version_that_nothing_replaces(archive):
    def a_version(steps: str, replaces: int | None = None) -> int:
        with deed(archive, "test", "a version") as writing:
            version = EditVersion(steps=steps, replaces_id=replaces)
            version.sources.append(VersionSource(position=1, scan_id=1))
            writing.session.add(version)
            writing.session.flush()
            return version.id

    def steps() -> str | None:
        with archive.reading() as connection:
            return picture_scans(connection, [1])[0].steps

    first = a_version("[]")
    second = a_version('[{"kind": "mirror"}]')
    newest = steps()
    with deed(archive, "test", "the first after all") as writing:
        writing.session.get_one(EditVersion, first).replaces_id = second

    assert newest == '[{"kind": "mirror"}]'
    assert steps() == "[]"


def test_a_process_is_born_deaf_to_ctrl_c_and_the_first_hears_it_afterwards():
    heard = []
    former = signal.signal(signal.SIGINT, lambda *_: heard.append("heard"))
    try:
        with workshop._deaf_to_ctrl_c():
            born = subprocess.run(
                [sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGINT)"], capture_output=True
            )
            os.kill(os.getpid(), signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, former)

    assert (born.returncode, born.stderr) == (0, b"")
    assert heard == ["heard"]
