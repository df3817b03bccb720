"""The deed ``sidecars write``: what is written, what the daybook says, what happens when something goes wrong."""

from __future__ import annotations

import errno
import os
import unicodedata
from hashlib import sha256
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.drives import add_drive
from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.actions.scans import add_scans
from catalog.actions.sheets import correct_sheet
from catalog.actions.sidecars import SidecarDone, write_sidecars
from catalog.dates import parse_words
from catalog.errors import ArchiveError, UndoError
from catalog.model import RecordedDate
from catalog.outputs import _open_folder
from catalog.outputs.sidecar_batches import SidecarGroup
from catalog.outputs.sidecar_files import find_leftovers
from catalog.standards.xmp import Packet, format_packet, name, parse_packet, texts
from catalog.store.archive import Archive
from catalog.store.interrupted import settle_interrupted
from catalog.store.writing import FileDeed, begin_file_deed
from tests.builders import a_mill, a_sheet, a_village, rows
from tests.scan_archives import a_scan, as_it_is
from tests.sidecar_archives import an_archive_with_scans, every_sheet, write_all

needs_posix = pytest.mark.skipif(os.name == "nt", reason="links, modes and raw names are POSIX matters")
NOTHING_SAID = format_packet(Packet())
LEFTOVER = ".tiebeam-0123456789abcdef.part"


@pytest.fixture
def folder(archive: Archive) -> Path:
    (archive.folder / "scans").mkdir()
    return archive.folder / "scans"


def outcomes(done: list[SidecarDone]) -> dict[str, str]:
    return {Path(one.path).name: one.outcome for one in done}


def said(path: Path, spelled: str) -> tuple[str, ...]:
    return texts(parse_packet(path.read_bytes()).get(name(spelled)))


def daybook(archive: Archive) -> list[tuple[str, str, str | None]]:
    return rows(archive, "SELECT words, state, left_to_do FROM deed WHERE kind = 'sidecars write' ORDER BY id")


def date_it(archive: Archive, sheet_id: int, words: str) -> None:
    correct_sheet(archive, sheet_id, exposed=RecordedDate.of(parse_words(words, century=1900), words))


# ---- the deed itself


def test_each_scan_gets_its_sidecar_and_the_daybook_one_entry(archive, folder):
    an_archive_with_scans(archive, folder, 3)
    before = as_it_is(folder)

    done = write_all(archive)

    assert outcomes(done) == {"80-0.xmp": "written", "80-1.xmp": "written", "80-2.xmp": "written"}
    assert daybook(archive) == [("wrote 3 sidecars", "done", None)]
    assert [said(folder / f"80-{n}.xmp", "dc:source") for n in range(3)] == [("80-0",), ("80-1",), ("80-2",)]
    assert {path: what for path, what in as_it_is(folder).items() if path in before} == before  # rule 1
    for path, digest, content in rows(archive, "SELECT name, sha256, content FROM sidecar"):
        assert (folder / path).read_bytes() == content
        assert sha256(content).hexdigest() == digest


def test_writing_again_writes_nothing_and_begins_no_deed(archive, folder):
    an_archive_with_scans(archive, folder, 3)
    write_all(archive)
    before = as_it_is(folder)

    again = write_all(archive)

    assert {one.outcome for one in again} == {"here"}
    assert as_it_is(folder) == before
    assert len(daybook(archive)) == 1


def test_a_rehearsal_says_what_would_be_written_and_writes_nothing(archive, folder):
    sheets = an_archive_with_scans(archive, folder, 2)
    (folder / LEFTOVER).write_bytes(b"half")
    before = as_it_is(folder)

    done = list(write_sidecars(archive, sheets, dry_run=True))

    assert {one.outcome for one in done} == {"written"}
    assert as_it_is(folder) == before
    assert daybook(archive) == []


def test_many_batches_and_slices_are_all_written(archive, folder, monkeypatch):
    monkeypatch.setattr("catalog.actions.sidecars._BATCH", 4)
    monkeypatch.setattr("catalog.actions.sidecars._SLICE", 7)
    sheets = an_archive_with_scans(archive, folder, 30)
    steps: list[int] = []

    done = list(write_sidecars(archive, sheets, on_progress=steps.append))

    assert len(done) == sum(steps) == len(list(folder.glob("*.xmp"))) == 30
    assert rows(archive, "SELECT state, count(*) FROM deed_file GROUP BY state") == [("done", 30)]


# ---- undo


def test_undo_takes_away_what_was_new_and_restores_what_was_there(archive, folder):
    sheets = an_archive_with_scans(archive, folder, 2)
    (folder / "80-1.xmp").write_bytes(NOTHING_SAID)
    former = as_it_is(folder)
    write_all(archive)

    undo_deed(archive)

    assert {path: digest for path, (digest, _) in as_it_is(folder).items()} == {
        path: digest for path, (digest, _) in former.items()
    }
    assert rows(archive, "SELECT count(*) FROM sidecar") == [0]
    assert {one.outcome for one in write_sidecars(archive, sheets)} == {"written"}


def test_undo_of_a_second_writing_brings_the_first_back(archive, folder):
    (sheet,) = an_archive_with_scans(archive, folder, 1)
    write_all(archive)
    first = (folder / "80-0.xmp").read_bytes()
    date_it(archive, sheet, "4 June 1978")
    write_all(archive)
    assert said(folder / "80-0.xmp", "photoshop:DateCreated") == ("1978-06-04",)

    undo_deed(archive)

    assert (folder / "80-0.xmp").read_bytes() == first
    assert rows(archive, "SELECT content FROM sidecar") == [first]


def test_undo_refuses_a_sidecar_that_was_changed_since_and_changes_nothing(archive, folder):
    an_archive_with_scans(archive, folder, 2)
    write_all(archive)
    with (folder / "80-1.xmp").open("ab") as file:
        file.write(b"<!-- edited elsewhere -->")
    before = as_it_is(folder)

    with pytest.raises(UndoError, match=r"80-1\.xmp was changed since"):
        undo_deed(archive)

    assert as_it_is(folder) == before


# ---- what goes wrong with one file never stops the others (rule 8)


def test_an_unparsable_sidecar_is_left_alone_and_named(archive, folder):
    an_archive_with_scans(archive, folder, 3)
    (folder / "80-1.xmp").write_bytes(b"<x:xmpmeta")

    done = write_all(archive)

    assert outcomes(done) == {"80-0.xmp": "written", "80-1.tif": "failed", "80-2.xmp": "written"}
    (failed,) = [one for one in done if one.outcome == "failed"]
    assert failed.reason is not None
    assert failed.reason.startswith("80-1.xmp: ")
    assert failed.reason.endswith("left as it is")
    assert (folder / "80-1.xmp").read_bytes() == b"<x:xmpmeta"


def test_a_sidecar_that_changes_meanwhile_is_left_alone_and_named(archive, folder, monkeypatch):
    an_archive_with_scans(archive, folder, 3)
    finish = SidecarGroup.finish

    def edited_meanwhile(group: SidecarGroup):
        (folder / "80-1.xmp").write_bytes(b"somebody's")
        return finish(group)

    monkeypatch.setattr(SidecarGroup, "finish", edited_meanwhile)

    done = write_all(archive)

    assert outcomes(done) == {"80-0.xmp": "written", "80-1.xmp": "failed", "80-2.xmp": "written"}
    assert "appeared while it was being written" in str([one.reason for one in done])
    assert (folder / "80-1.xmp").read_bytes() == b"somebody's"
    assert daybook(archive) == [("wrote 2 sidecars; 1 failed", "done", None)]
    assert rows(archive, "SELECT state, reason IS NULL FROM deed_file ORDER BY id") == [
        ("done", 1), ("not done", 0), ("done", 1),
    ]  # fmt: skip
    assert find_leftovers(folder) == []


@pytest.mark.parametrize(
    ("fault", "words"), [(errno.ENOSPC, "the drive is full"), (errno.EROFS, "the drive is read-only")]
)
def test_a_drive_that_takes_no_more_is_named_for_each_file(archive, folder, monkeypatch, fault, words):
    an_archive_with_scans(archive, folder, 6)
    write, taken = os.write, []

    def takes_two(fd: int, data: bytes) -> int:
        taken.append(fd)
        if len(taken) > 2:
            raise OSError(fault, os.strerror(fault))
        return write(fd, data)

    monkeypatch.setattr(_open_folder.os, "write", takes_two)

    done = write_all(archive)

    monkeypatch.undo()
    failed = [one for one in done if one.outcome == "failed"]
    assert len(failed) == 4
    assert all(one.reason is not None and one.reason.endswith(words) for one in failed)
    assert len(list(folder.glob("*.xmp"))) == 2
    assert find_leftovers(folder) == []
    assert daybook(archive) == [("wrote 2 sidecars; 4 failed", "done", None)]
    assert [one.outcome for one in write_all(archive)].count("written") == 4


def test_a_sidecar_marked_read_only_is_left_as_it_is(archive, folder):
    an_archive_with_scans(archive, folder, 2)
    (folder / "80-0.xmp").write_bytes(NOTHING_SAID)
    (folder / "80-0.xmp").chmod(0o444)

    done = write_all(archive)

    assert outcomes(done) == {"80-0.xmp": "failed", "80-1.xmp": "written"}
    assert "marked read-only" in str([one.reason for one in done])


def test_a_scan_or_a_folder_that_is_gone_is_missing_and_the_rest_is_written(archive, folder):
    an_archive_with_scans(archive, folder, 2)
    a_sheet(archive, "81-1")
    a_scan(folder / "1981" / "81-1.tif", 250)
    add_scans(archive, [folder])
    (folder / "80-0.tif").unlink()
    (folder / "1981" / "81-1.tif").unlink()
    (folder / "1981").rmdir()

    done = write_all(archive)

    assert outcomes(done) == {"81-1.tif": "missing", "80-0.tif": "missing", "80-1.xmp": "written"}


@needs_posix
def test_a_folder_that_leads_out_of_the_archive_is_refused(archive, folder, tmp_path):
    an_archive_with_scans(archive, folder, 2)
    folder.rename(tmp_path / "elsewhere")
    folder.symlink_to(tmp_path / "elsewhere")

    done = write_all(archive)

    assert {one.outcome for one in done} == {"failed"}
    assert "its folder lies outside archive; nothing was written" in str(done[0].reason)
    assert list((tmp_path / "elsewhere").glob("*.xmp")) == []
    assert daybook(archive) == []


@needs_posix
def test_a_folder_of_a_drive_that_leads_out_of_the_drive_is_refused(archive, tmp_path):
    drive, elsewhere = tmp_path / "Blue", tmp_path / "elsewhere"
    (drive / "1980").mkdir(parents=True)
    add_drive(archive, drive)
    an_archive_with_scans(archive, drive / "1980", 1)
    (drive / "1980").rename(elsewhere)
    (drive / "1980").symlink_to(elsewhere)

    (done,) = write_all(archive)

    assert done.outcome == "failed"
    assert "lies outside Blue" in str(done.reason)
    assert list(elsewhere.glob("*.xmp")) == []


def test_a_drive_that_is_away_is_no_failure_and_its_scans_are_counted(archive, folder, tmp_path):
    drive = tmp_path / "Blue"
    (drive / "1980").mkdir(parents=True)
    add_drive(archive, drive)
    an_archive_with_scans(archive, drive / "1980", 2)
    drive.rename(tmp_path / "unplugged")

    done = write_all(archive)

    assert [(one.outcome, one.reason) for one in done] == [("away", "its drive is away")] * 2
    (tmp_path / "unplugged").rename(drive)
    assert {one.outcome for one in write_all(archive)} == {"written"}


def test_scans_outside_the_archive_get_their_sidecars_where_they_lie(archive, tmp_path):
    an_archive_with_scans(archive, tmp_path / "other disk", 1)

    (done,) = write_all(archive)

    assert done.outcome == "written"
    assert (tmp_path / "other disk" / "80-0.xmp").is_file()


# ---- names


def test_two_new_scans_of_one_stem_get_a_sidecar_each(archive, folder):
    sheets = [a_sheet(archive, number) for number in ("80-1", "80-2")]
    for file_name, seed in (("a.tif", 1), ("a.tiff", 2)):
        a_scan(folder / file_name, seed)
    add_scans(archive, [folder])
    for scan, sheet in enumerate(sheets, start=1):
        match_scan_to_sheet(archive, scan, sheet)

    done = write_all(archive)

    assert outcomes(done) == {"a.tif.xmp": "written", "a.tiff.xmp": "written"}
    assert said(folder / "a.tif.xmp", "dc:source") == ("80-1",)
    assert said(folder / "a.tiff.xmp", "dc:source") == ("80-2",)
    assert {one.outcome for one in write_all(archive)} == {"here"}


@needs_posix
def test_two_spellings_of_one_name_never_share_a_sidecar(archive, folder):
    sheets = [a_sheet(archive, number) for number in ("80-1", "80-2")]
    for seed, form in enumerate(("NFC", "NFD"), start=1):
        a_scan(folder / unicodedata.normalize(form, "Église.tif"), seed)
    if len(list(folder.iterdir())) < 2:
        pytest.skip("this file system takes both spellings for one name")
    add_scans(archive, [folder])
    for scan, sheet in enumerate(sheets, start=1):
        match_scan_to_sheet(archive, scan, sheet)

    done = write_all(archive)

    assert len({one.path for one in done}) == 2
    assert sorted(text for path in folder.glob("*.xmp") for text in said(path, "dc:source")) == ["80-1", "80-2"]
    assert {one.outcome for one in write_all(archive)} == {"here"}


@needs_posix
def test_a_scan_whose_name_is_no_utf8_gets_its_sidecar(archive, folder):
    sheet = a_sheet(archive, "82-07")
    try:
        a_scan(folder / os.fsdecode(b"\xc9glise 82-07.tif"))
    except OSError:
        pytest.skip("this file system takes names in UTF-8 only")
    add_scans(archive, [folder])

    (done,) = write_sidecars(archive, [sheet])

    assert (done.outcome, Path(done.path).name) == ("written", r"\xC9glise 82-07.xmp")
    assert (folder / os.fsdecode(b"\xc9glise 82-07.xmp")).is_file()
    assert undo_deed(archive).files == 1
    assert not (folder / os.fsdecode(b"\xc9glise 82-07.xmp")).exists()


# ---- a scan of several sheets


@pytest.fixture
def two_sheets(archive, folder) -> tuple[int, int, Path]:
    """A scan of a contact page: two sheets of Osk Mill, one of them in June 1978, the other about 1985."""
    mill = a_mill(archive, place_id=a_village(archive))
    first = a_sheet(archive, "78-14", "4 June 1978", shows=mill, medium="negative")
    second = a_sheet(archive, "85-2", "c. 1985", shows=mill, medium="negative")
    a_scan(folder / "contact page.tif")
    add_scans(archive, [folder])
    for sheet, region in ((first, "left"), (second, "right")):
        match_scan_to_sheet(archive, 1, sheet, region=region)
    return first, second, folder / "contact page.xmp"


def test_a_scan_of_two_sheets_tells_of_each_and_plainly_only_what_both_share(archive, two_sheets):
    *_, path = two_sheets

    write_all(archive)

    assert said(path, "dc:source") == ("78-14; 85-2",)
    assert said(path, "photoshop:DateCreated") == ()
    assert said(path, "Iptc4xmpExt:DigitalSourceType")[0].endswith("/negativeFilm")
    assert said(path, "dc:title")[0] == "Osk Mill"
    lines = said(path, "dc:description")[0].splitlines()
    assert lines[0].startswith("78-14: Osk Mill.")
    assert "Part of the sheet: left." in lines[0]
    assert "Exposed: 4 June 1978." in lines[0]
    assert lines[1].startswith("85-2: Osk Mill.")
    assert "Exposed: about 1985." in lines[1]
    assert len(lines) == 2


@pytest.mark.parametrize("which", [0, 1])
def test_asking_for_one_of_its_sheets_tells_of_both_all_the_same(archive, two_sheets, which):
    path = two_sheets[2]
    write_all(archive)
    before = path.read_bytes()

    (done,) = write_sidecars(archive, [two_sheets[which]])

    assert done.outcome == "here"
    assert path.read_bytes() == before


# ---- what a killed run leaves


def test_what_a_killed_run_left_half_written_is_removed_and_said(archive, folder):
    sheets = an_archive_with_scans(archive, folder, 1)
    (folder / LEFTOVER).write_bytes(b"half")
    heard: list[str] = []

    list(write_sidecars(archive, sheets, on_say=heard.append))

    assert heard == [f"{folder}: removed 1 half-written file of a run that was cut short."]
    assert sorted(path.name for path in folder.iterdir()) == ["80-0.tif", "80-0.xmp"]


def test_what_another_run_is_writing_now_is_not_taken_for_a_leftover(archive, folder):
    sheets = an_archive_with_scans(archive, folder, 1)
    begin_file_deed(archive, "sidecars write", "writing sidecars", left_to_do="")  # by this very process
    (folder / LEFTOVER).write_bytes(b"half")

    list(write_sidecars(archive, sheets))

    assert (folder / LEFTOVER).exists()


def test_half_written_files_are_no_scans(archive, folder):
    an_archive_with_scans(archive, folder, 1)
    (folder / LEFTOVER).write_bytes((folder / "80-0.tif").read_bytes())

    added = add_scans(archive, [folder])

    assert not added.has_findings
    assert rows(archive, "SELECT count(*) FROM file") == [1]


# ---- broken off


@pytest.fixture
def small_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catalog.actions.sidecars._BATCH", 4)


def settled(archive: Archive) -> dict[str, str]:
    """Return the state of each file of the last deed, after checking that what is said of it is true."""
    states = {}
    for path, state, digest in rows(archive, "SELECT path, state, after_sha256 FROM deed_file"):
        there = sha256(Path(path).read_bytes()).hexdigest() if Path(path).exists() else None
        assert (state == "done") == (there == digest), path
        states[Path(path).name] = state
    return states


@pytest.mark.usefixtures("small_batches")
@pytest.mark.parametrize("stopped_at", [1, 2, 3])
def test_ctrl_c_keeps_what_was_written_and_says_what_is_left(archive, folder, monkeypatch, stopped_at):
    sheets = an_archive_with_scans(archive, folder, 12)
    calls: list[SidecarGroup] = []
    finish = SidecarGroup.finish

    def stopped(group: SidecarGroup):
        calls.append(group)
        if len(calls) == stopped_at:
            raise KeyboardInterrupt
        return finish(group)

    monkeypatch.setattr(SidecarGroup, "finish", stopped)

    with pytest.raises(KeyboardInterrupt):
        list(write_sidecars(archive, sheets, left_to_do="What is left is done by: tiebeam sidecars write --place Osk"))

    monkeypatch.setattr(SidecarGroup, "finish", finish)
    written = 4 * (stopped_at - 1)
    assert daybook(archive) == [
        (f"wrote {written} sidecars, then stopped", "interrupted",
         "What is left is done by: tiebeam sidecars write --place Osk"),
    ]  # fmt: skip
    assert list(settled(archive).values()).count("done") == written
    assert find_leftovers(folder) == []
    assert settle_interrupted(archive) == []
    assert [one.outcome for one in write_all(archive)].count("written") == 12 - written


@pytest.mark.usefixtures("small_batches")
def test_ctrl_c_after_the_files_and_before_the_daybook_counts_them_as_written(archive, folder, monkeypatch):
    sheets = an_archive_with_scans(archive, folder, 8)

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("catalog.actions.sidecars._settle", stopped)

    with pytest.raises(KeyboardInterrupt):
        list(write_sidecars(archive, sheets))

    assert daybook(archive)[0][:2] == ("wrote 4 sidecars, then stopped", "interrupted")
    assert settled(archive) == {f"80-{n}.xmp": "done" for n in range(4)}
    assert rows(archive, "SELECT count(*) FROM sidecar") == [4]
    assert undo_deed(archive).files == 4
    assert list(folder.glob("*.xmp")) == []


@pytest.mark.usefixtures("small_batches")
def test_a_listener_who_stops_listening_breaks_the_deed_off(archive, folder):
    sheets = an_archive_with_scans(archive, folder, 12)
    telling = write_sidecars(archive, sheets)

    next(telling)
    telling.close()

    assert daybook(archive)[0][1] == "interrupted"
    states = settled(archive)
    assert list(states.values()).count("done") == len(list(folder.glob("*.xmp"))) >= 4
    assert find_leftovers(folder) == []


@pytest.mark.usefixtures("small_batches")
def test_a_catalogue_that_fails_half_way_leaves_whole_sidecars_and_a_list(archive, folder, monkeypatch):
    sheets = an_archive_with_scans(archive, folder, 12)
    step, taken = FileDeed.step, []

    def fails(deed: FileDeed):
        taken.append(deed)
        if len(taken) > 2:
            raise ArchiveError("archive.db: the disk is full.")
        return step(deed)

    monkeypatch.setattr(FileDeed, "step", fails)

    with pytest.raises(ArchiveError, match="the disk is full"):
        list(write_sidecars(archive, sheets))

    monkeypatch.undo()
    assert rows(archive, "SELECT state FROM deed WHERE kind = 'sidecars write'") == ["under way"]
    monkeypatch.setattr("catalog.store.interrupted.is_alive", lambda *_: False)
    assert settle_interrupted(archive) == [
        "Deed 3 (sidecars write) was cut short. What is left is done by: tiebeam sidecars write"
    ]
    assert set(settled(archive).values()) <= {"done", "not done"}
    assert [one.outcome for one in write_all(archive)].count("written") >= 4
    assert len(list(folder.glob("*.xmp"))) == 12


def test_what_was_intended_is_known_before_any_file_is_touched(archive, folder, monkeypatch):
    sheets = an_archive_with_scans(archive, folder, 2)
    intended: list[object] = []

    def looked_at(group: SidecarGroup, pool: object) -> None:
        intended.extend(rows(archive, "SELECT state, before_sha256 FROM deed_file"))
        assert sorted(path.suffix for path in folder.iterdir()) == [".tif", ".tif"]
        raise KeyboardInterrupt

    monkeypatch.setattr(SidecarGroup, "start", looked_at)

    with pytest.raises(KeyboardInterrupt):
        list(write_sidecars(archive, sheets))

    assert intended == [("intended", None)] * 2
    assert settled(archive) == {"80-0.xmp": "not done", "80-1.xmp": "not done"}


def test_a_sidecar_written_anew_is_kept_in_the_daybook_as_it_was(archive, folder):
    (sheet,) = an_archive_with_scans(archive, folder, 1)
    write_all(archive)
    first = (folder / "80-0.xmp").read_bytes()
    date_it(archive, sheet, "1978")

    write_all(archive)

    assert rows(archive, "SELECT before FROM deed_file ORDER BY id") == [None, first]
    assert rows(archive, "SELECT change FROM deed_change WHERE record_table = 'sidecar' ORDER BY id") == [
        "added", "changed",
    ]  # fmt: skip
    assert every_sheet(archive) == [sheet]
