"""A file gets its own name last, whole and on disk, and never over another: on every kind of drive."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path
from typing import BinaryIO

import pytest

from catalog.passing_files import PASSING_NAME, force_folder, give_name, passing_name, write_passing

ROOT = Path(__file__).parent.parent
KINDS_OF_DRIVE = pytest.mark.parametrize("drive", ["with hard links", "without hard links"])


def on_a_drive(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Take the hard links away, as FAT does: link(2), EPERM "the filesystem does not support hard links"."""

    def refused(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    if kind == "without hard links":
        monkeypatch.setattr(os, "link", refused)


def cannot_force(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Let the system refuse to force folders to disk, but not files."""
    force = os.fsync

    def refused(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(number, os.strerror(number))
        force(handle)

    monkeypatch.setattr(os, "fsync", refused)


def contents(folder: Path) -> dict[str, bytes]:
    """Return what each file of a folder holds."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@KINDS_OF_DRIVE
def test_a_file_has_its_own_name_and_no_other_when_it_is_done(tmp_path, monkeypatch, drive):
    on_a_drive(drive, monkeypatch)
    passing = write_passing(tmp_path, b"the page")

    give_name(passing, tmp_path / "A1-certificate.pdf")

    assert contents(tmp_path) == {"A1-certificate.pdf": b"the page"}


def test_until_then_it_has_a_passing_name_that_tidying_knows(tmp_path):
    def page(file: BinaryIO) -> None:
        file.write(b"the page")

    passing = write_passing(tmp_path, page)

    assert PASSING_NAME.fullmatch(passing.name)
    assert contents(tmp_path) == {passing.name: b"the page"}
    assert passing_name() != passing_name()


@KINDS_OF_DRIVE
def test_what_came_in_meanwhile_is_not_written_over(tmp_path, monkeypatch, drive):
    on_a_drive(drive, monkeypatch)
    passing, target = write_passing(tmp_path, b"ours"), tmp_path / "osk.pdf"
    target.write_bytes(b"theirs")

    with pytest.raises(FileExistsError):
        give_name(passing, target)

    assert contents(tmp_path) == {"osk.pdf": b"theirs", passing.name: b"ours"}


@KINDS_OF_DRIVE
def test_a_link_to_nothing_has_the_name_too(tmp_path, monkeypatch, drive):
    on_a_drive(drive, monkeypatch)
    passing, target = write_passing(tmp_path, b"ours"), tmp_path / "osk.pdf"
    target.symlink_to(tmp_path / "nowhere")

    with pytest.raises(FileExistsError):
        give_name(passing, target)

    assert target.is_symlink()
    assert passing.read_bytes() == b"ours"


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_a_full_disk_leaves_nothing_of_a_file(tmp_path, monkeypatch, call):
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if call == "fsync":
        monkeypatch.setattr(os, "fsync", full)

    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        write_passing(tmp_path, full if call == "write" else b"the page")

    assert contents(tmp_path) == {}


@KINDS_OF_DRIVE
def test_a_name_that_the_disk_does_not_take_is_given_back(tmp_path, monkeypatch, drive):
    # Else "nothing was kept" would be said of a file that is there, and the page of a document would be lost.
    on_a_drive(drive, monkeypatch)
    passing = write_passing(tmp_path, b"ours")
    cannot_force(monkeypatch, errno.EIO)

    with pytest.raises(OSError, match=os.strerror(errno.EIO)):
        give_name(passing, tmp_path / "osk.pdf")

    assert contents(tmp_path) == {passing.name: b"ours"}


# fsync(2): EINVAL, "fd is bound to a special file which does not support synchronization"; some network drives
# answer so for a folder (from practice).
@pytest.mark.parametrize("number", [errno.EINVAL, errno.ENOTSUP])
def test_a_drive_that_cannot_force_folders_is_written_to_all_the_same(tmp_path, monkeypatch, number):
    passing = write_passing(tmp_path, b"ours")
    cannot_force(monkeypatch, number)

    give_name(passing, tmp_path / "osk.pdf")

    assert contents(tmp_path) == {"osk.pdf": b"ours"}


def test_bytes_are_on_disk_before_the_name_is_and_the_name_before_the_passing_one_goes(tmp_path, monkeypatch):
    forced, force = [], os.fsync

    def noted(handle: int) -> None:
        is_folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        forced.append(("folder" if is_folder else "file", len(list(tmp_path.iterdir()))))
        force(handle)

    monkeypatch.setattr(os, "fsync", noted)
    give_name(write_passing(tmp_path, b"ours"), tmp_path / "osk.pdf")

    assert forced == [("file", 1), ("folder", 2)]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such permissions")
def test_a_file_has_the_permissions_asked_for_less_what_the_system_takes(tmp_path):
    before = os.umask(0o027)
    try:
        modes = [write_passing(tmp_path, b"", permissions=asked).stat().st_mode & 0o777 for asked in (0o666, 0o600)]
    finally:
        os.umask(before)

    assert modes == [0o640, 0o600]


def test_a_folder_that_is_gone_is_not_taken_for_one_that_cannot_be_forced(tmp_path):
    with pytest.raises(FileNotFoundError):
        force_folder(tmp_path / "gone")


# Killed before each call of the system that changes the folder or forces it, in turn.
KILLED = """
import os, signal, sys
from pathlib import Path
folder, moment = Path(sys.argv[1]), int(sys.argv[2])
calls = 0
def counted(call):
    def doing(*given, **named):
        global calls
        calls += 1
        if calls == moment:
            os.kill(os.getpid(), signal.SIGKILL)
        return call(*given, **named)
    return doing
for name in ("fsync", "link", "rename", "unlink"):
    setattr(os, name, counted(getattr(os, name)))
from catalog.passing_files import give_name, write_passing
give_name(write_passing(folder, b"whole " * 1000), folder / "osk.pdf")
print(calls)
"""


def run_killed(folder: Path, moment: int) -> subprocess.CompletedProcess[str]:
    """Write a file in a process that kills itself before its n-th call."""
    return subprocess.run(
        [sys.executable, "-c", KILLED, str(folder), str(moment)],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
def test_killed_at_any_call_the_file_is_whole_under_its_name_or_has_none(tmp_path):
    done = run_killed(tmp_path / ".", 0)
    count = int(done.stdout)
    (tmp_path / "osk.pdf").unlink()
    had_its_name = []

    for moment in range(1, count + 1):
        folder = tmp_path / str(moment)
        folder.mkdir()
        assert run_killed(folder, moment).returncode == -signal.SIGKILL
        left = contents(folder)
        had_its_name.append("osk.pdf" in left)
        assert left.pop("osk.pdf", b"whole " * 1000) == b"whole " * 1000
        assert all(PASSING_NAME.fullmatch(name) for name in left)

    assert count == 4  # bytes forced, name given, folder forced, passing name taken away
    assert had_its_name == [False, False, True, True]
