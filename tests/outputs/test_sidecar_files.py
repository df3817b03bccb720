"""Sidecars on disk: whole or not at all, in their own folder, never over a change."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from catalog import clock
from catalog.errors import SidecarChangedError, SidecarError
from catalog.outputs._open_folder import OpenFolder
from catalog.outputs.sidecar_batches import SidecarTask, write_many
from catalog.outputs.sidecar_files import (
    digest_of,
    find_leftovers,
    locate_sidecar,
    read_sidecar,
    restore_sidecar,
    write_sidecar,
)
from catalog.outputs.sidecars import prepare
from catalog.standards.xmp import Packet, Text, bag, format_packet, name, parse_packet
from tests.outputs.a_caption import CERTAIN

OLD, NEW = b"<old/>", b"<new/>"

needs_posix = pytest.mark.skipif(os.name != "posix", reason="links, pipes and permissions as POSIX has them")


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# ---- one sidecar


def test_a_new_sidecar_is_written_and_nothing_else_is_left(tmp_path):
    path = tmp_path / "a.xmp"

    write_sidecar(path, NEW, expected=None)

    assert path.read_bytes() == NEW
    assert names_in(tmp_path) == ["a.xmp"]


def test_an_existing_sidecar_is_replaced_and_keeps_its_permissions(tmp_path):
    path = tmp_path / "a.xmp"
    path.write_bytes(OLD)
    path.chmod(0o640)

    write_sidecar(path, NEW, expected=digest_of(OLD))

    assert path.read_bytes() == NEW
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.parametrize(
    ("there", "expected", "what"),
    [(b"<edited/>", OLD, "changed"), (b"<edited/>", None, "appeared"), (None, OLD, "went")],
)
def test_a_sidecar_that_changed_since_it_was_read_is_left_alone(tmp_path, there, expected, what):
    path = tmp_path / "a.xmp"
    if there is not None:
        path.write_bytes(there)

    with pytest.raises(SidecarChangedError, match=f"a.xmp: {what} while it was being written"):
        write_sidecar(path, NEW, expected=digest_of(expected))

    assert (path.read_bytes() if path.exists() else None) == there
    assert find_leftovers(tmp_path) == []


def test_a_change_in_the_last_moment_is_noticed(tmp_path, monkeypatch):
    path = tmp_path / "a.xmp"
    path.write_bytes(OLD)
    real_fsync = os.fsync

    def edited_meanwhile(fd: int) -> None:
        real_fsync(fd)
        path.write_bytes(b"<edited/>")

    monkeypatch.setattr(os, "fsync", edited_meanwhile)
    with pytest.raises(SidecarChangedError):
        write_sidecar(path, NEW, expected=digest_of(OLD))

    assert path.read_bytes() == b"<edited/>"
    assert names_in(tmp_path) == ["a.xmp"]


def test_only_a_sidecar_is_ever_written(tmp_path):
    scan = tmp_path / "a.tif"
    scan.write_bytes(b"II*\0")

    with pytest.raises(SidecarError, match="which ends in"):
        write_sidecar(scan, NEW, expected=digest_of(b"II*\0"))

    assert scan.read_bytes() == b"II*\0"


@needs_posix
@pytest.mark.parametrize("target_exists", [True, False])
def test_a_link_is_neither_read_nor_written_through(tmp_path, target_exists):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    target = elsewhere / "b.xmp"
    if target_exists:
        target.write_bytes(OLD)
    folder = tmp_path / "scans"
    folder.mkdir()
    link = folder / "a.xmp"
    link.symlink_to(target)

    with pytest.raises(SidecarError, match="is a link"):
        read_sidecar(link)
    with pytest.raises(SidecarError, match="is a link"):
        write_sidecar(link, NEW, expected=digest_of(OLD) if target_exists else None)

    assert (target.read_bytes() if target_exists else target.exists()) in (OLD, False)
    assert link.is_symlink()
    assert names_in(folder) == ["a.xmp"]


@needs_posix
def test_a_folder_that_leads_elsewhere_is_refused(tmp_path):
    drive, elsewhere = tmp_path / "drive", tmp_path / "elsewhere"
    drive.mkdir()
    elsewhere.mkdir()
    (drive / "box").symlink_to(elsewhere)

    with pytest.raises(SidecarError, match="lies outside drive"):
        write_sidecar(drive / "box" / "a.xmp", NEW, expected=None, inside=drive)
    with pytest.raises(SidecarError, match="lies outside drive"):
        write_sidecar(drive / ".." / "elsewhere" / "a.xmp", NEW, expected=None, inside=drive)

    assert names_in(elsewhere) == []


@needs_posix
def test_what_is_no_file_is_named(tmp_path):
    os.mkfifo(tmp_path / "pipe.xmp")
    (tmp_path / "folder.xmp").mkdir()

    for file_name in ("pipe.xmp", "folder.xmp"):
        with pytest.raises(SidecarError):
            read_sidecar(tmp_path / file_name)
        with pytest.raises(SidecarError, match="is not a file"):
            write_sidecar(tmp_path / file_name, NEW, expected=None)


def test_a_read_only_sidecar_is_left_as_it_is(tmp_path):
    path = tmp_path / "a.xmp"
    path.write_bytes(OLD)
    path.chmod(0o444)

    with pytest.raises(SidecarError, match="read-only"):
        write_sidecar(path, NEW, expected=digest_of(OLD))

    assert path.read_bytes() == OLD


def test_a_sidecar_too_large_to_be_one_is_not_read(tmp_path):
    path = tmp_path / "a.xmp"
    with path.open("wb") as file:
        file.truncate(17 * 1024 * 1024)

    with pytest.raises(SidecarError, match="are not read"):
        read_sidecar(path)


def test_what_the_system_refuses_is_said_in_a_sentence(tmp_path):
    with pytest.raises(SidecarError, match="longer than the drive allows"):
        write_sidecar(tmp_path / f"{'a' * 300}.xmp", NEW, expected=None)
    with pytest.raises(SidecarError, match="its folder is not there"):
        write_sidecar(tmp_path / "gone" / "a.xmp", NEW, expected=None)
    with pytest.raises(SidecarError, match="its folder is not there"):
        read_sidecar(tmp_path / "gone" / "a.xmp")


@pytest.mark.parametrize("stage", ["write", "fsync", "replace"])
def test_a_drive_that_fails_leaves_the_old_sidecar_whole(tmp_path, monkeypatch, stage):
    path = tmp_path / "a.xmp"
    path.write_bytes(OLD)

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, stage, full)
    monkeypatch.setattr(OpenFolder, "read", lambda *_: OLD)
    with pytest.raises(SidecarError, match="the drive is full"):
        write_sidecar(path, NEW, expected=digest_of(OLD))

    assert path.read_bytes() == OLD
    assert names_in(tmp_path) == ["a.xmp"]


def test_a_name_that_is_no_utf8_is_written_all_the_same(tmp_path):
    # cases.md F03
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xc9glise.xmp"))

    write_sidecar(path, NEW, expected=None)

    assert read_sidecar(path) == NEW


# ---- undo


def test_undoing_puts_back_what_was_there(tmp_path):
    kept, new = tmp_path / "kept.xmp", tmp_path / "new.xmp"
    kept.write_bytes(OLD)
    write_sidecar(kept, NEW, expected=digest_of(OLD))
    write_sidecar(new, NEW, expected=None)

    restore_sidecar(kept, OLD, expected=digest_of(NEW))
    restore_sidecar(new, None, expected=digest_of(NEW))

    assert kept.read_bytes() == OLD
    assert names_in(tmp_path) == ["kept.xmp"]


@pytest.mark.parametrize("former", [OLD, None])
def test_undoing_refuses_what_was_edited_since(tmp_path, former):
    path = tmp_path / "a.xmp"
    path.write_bytes(b"<edited/>")

    with pytest.raises(SidecarChangedError):
        restore_sidecar(path, former, expected=digest_of(NEW))

    assert path.read_bytes() == b"<edited/>"


# ---- whose sidecar


def test_the_first_scan_keeps_its_sidecar_when_a_second_of_the_name_comes(tmp_path):
    first, second = tmp_path / "78-14.tif", tmp_path / "78-14.jpg"
    first.write_bytes(b"II*\0")
    path = locate_sidecar(first)
    write_sidecar(path, prepare(None, replace(CERTAIN, file_name=first.name)), expected=None)
    second.write_bytes(b"\xff\xd8")

    assert path.name == "78-14.xmp"
    assert locate_sidecar(first).name == "78-14.xmp"
    assert locate_sidecar(second).name == "78-14.jpg.xmp"


def test_a_sidecar_that_cannot_be_read_does_not_stop_the_search(tmp_path):
    for file_name, data in (("a.tif", b"II*\0"), ("a.jpg", b"\xff\xd8"), ("a.xmp", b"<broken")):
        (tmp_path / file_name).write_bytes(data)

    assert locate_sidecar(tmp_path / "a.tif").name == "a.tif.xmp"


# ---- many


def tasks_for(folder: Path, count: int) -> list[SidecarTask]:
    return [
        SidecarTask(folder / f"78-{n:03}.xmp", replace(CERTAIN, reference=f"S{n}"), inside=folder) for n in range(count)
    ]


def test_a_batch_tells_what_became_of_each_in_order(tmp_path):
    tasks = tasks_for(tmp_path, 30)
    tasks[3].path.write_bytes(b"<broken")
    tasks[7].path.write_bytes(prepare(None, tasks[7].caption))
    tasks[9].path.mkdir()

    outcomes = list(write_many(tasks))

    assert [outcome.task for outcome in outcomes] == tasks
    states = [outcome.state for outcome in outcomes]
    assert states.count("written") == 27
    assert (states[3], states[7], states[9]) == ("failed", "unchanged", "failed")
    assert tasks[3].path.read_bytes() == b"<broken"
    assert str(outcomes[3].error).startswith("78-003.xmp: XMP is not well-formed XML")
    assert str(outcomes[3].error).endswith("left as it is")
    for outcome in outcomes:
        if outcome.state == "written":
            data = outcome.task.path.read_bytes()
            assert digest_of(data) == outcome.digest
            assert parse_packet(data)
    assert find_leftovers(tmp_path) == []


def test_a_batch_keeps_the_former_bytes_for_undo(tmp_path):
    (task,) = tasks_for(tmp_path, 1)
    former = prepare(None, replace(task.caption, title="before"))
    task.path.write_bytes(former)

    (outcome,) = write_many([task])
    restore_sidecar(task.path, outcome.former, expected=outcome.digest)

    assert task.path.read_bytes() == former


def test_a_batch_draws_its_tasks_as_it_goes_and_stops_when_nobody_asks(tmp_path):
    drawn = []

    def tasks():
        for task in tasks_for(tmp_path, 1000):
            drawn.append(task)
            yield task

    batch = write_many(tasks())
    next(batch)
    batch.close()

    assert len(drawn) == 128  # two groups: one written, one under way
    assert len(list(tmp_path.glob("*.xmp"))) == 64
    assert find_leftovers(tmp_path) == []


def test_a_batch_writes_the_bytes_that_are_written_one_at_a_time(tmp_path):
    tasks = tasks_for(tmp_path, 150)  # three groups: new, another program's, our own and changed since
    foreign = format_packet(Packet(((name("dc:subject"), bag(["river"])), (name("xmp:Rating"), Text("3")))))
    there = {
        task.path: foreign if n % 3 == 1 else prepare(None, replace(task.caption, title="before"))
        for n, task in enumerate(tasks)
        if n % 3
    }
    for path, data in there.items():
        path.write_bytes(data)

    with clock.fixed():
        alone = [prepare(there.get(task.path), task.caption) for task in tasks]
        outcomes = list(write_many(tasks))

    assert [task.path.read_bytes() for task in tasks] == alone
    assert [outcome.digest for outcome in outcomes] == list(map(digest_of, alone))
    assert [outcome.former for outcome in outcomes] == [there.get(task.path) for task in tasks]


WRITER = """
import sys
from dataclasses import replace
from pathlib import Path
from catalog.outputs.sidecar_batches import SidecarTask, write_many
from tests.outputs.a_caption import CERTAIN
folder = Path(sys.argv[1])
for turn in range(10_000):
    caption = replace(CERTAIN, title=f"turn {turn}" * 500)
    tasks = [SidecarTask(folder / f"{n}.xmp", caption) for n in range(20)]
    assert all(outcome.state == "written" for outcome in write_many(tasks))
"""


@needs_posix
def test_a_killed_process_leaves_no_half_sidecar(tmp_path):
    for turn, moment_s in enumerate((0.01, 0.07, 0.13)):
        folder = tmp_path / str(turn)
        folder.mkdir()
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(folder)], cwd=Path(__file__).parents[2])
        while writer.poll() is None and not any(folder.iterdir()):
            time.sleep(0.002)
        time.sleep(moment_s)
        writer.send_signal(signal.SIGKILL)

        assert writer.wait() == -signal.SIGKILL
        for path in folder.glob("*.xmp"):
            assert parse_packet(path.read_bytes()).properties
        assert {path for path in folder.iterdir() if path.suffix != ".xmp"} == set(find_leftovers(folder))
