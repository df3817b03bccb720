"""Files that a deed wrote are put back as they were, or the deed is not undone at all."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path

import pytest

import catalog.actions.file_undo as file_undo
from catalog.actions.deeds import undo_deed
from catalog.errors import UndoError
from catalog.model import Sheet
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.daybook import files_of, get_deed
from catalog.store.writing import begin_file_deed
from tests.store.archives import an_archive, tables


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A new archive, empty."""
    return an_archive(tmp_path / "archive")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder beside the archive, with one file of somebody else's."""
    (tmp_path / "scans").mkdir()
    (tmp_path / "scans" / "old.xmp").write_bytes(b"former")
    return tmp_path / "scans"


def digest(data: bytes | None) -> str | None:
    """Return the digest the daybook keeps of a file, ``None`` for no file."""
    return None if data is None else sha256(data).hexdigest()


def write(archive: Archive, folder: Path, kind: str = "labels write", **files: bytes) -> int:
    """Do a deed that writes files (and adds a sheet), and return its number."""
    doing = begin_file_deed(archive, kind, "writing", left_to_do="Run it again")
    for name, data in files.items():
        path = folder / f"{name}.xmp"
        former = path.read_bytes() if path.exists() else None
        ids = doing.intend([(str(path), former, digest(former), digest(data))])
        path.write_bytes(data)
        doing.settle_files([(ids[0], "done", None)])
    with doing.step() as writing:
        writing.session.add(Sheet(box="beside the files"))
    doing.finish("wrote files")
    return doing.deed_id


def contents(folder: Path) -> dict[str, bytes]:
    """Return what each file of a folder holds."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


KINDS = pytest.mark.parametrize("kind", ["labels write", "sidecars write"])


@KINDS
def test_files_hold_their_former_bytes_again_and_new_ones_are_gone(archive, folder, kind):
    write(archive, folder, kind, old=b"ours", new=b"ours too")

    done = undo_deed(archive)

    assert (done.files, done.records) == (2, 1)
    assert contents(folder) == {"old.xmp": b"former"}
    assert tables(archive)["sheet"] == []
    assert check_archive(archive) == []


@KINDS
def test_files_put_back_can_be_written_again_by_undoing_the_undo(archive, folder, kind):
    write(archive, folder, kind, old=b"ours", new=b"ours too")
    undone = undo_deed(archive)

    undo_deed(archive, undone.undo_id)

    assert contents(folder) == {"old.xmp": b"ours", "new.xmp": b"ours too"}
    assert len(tables(archive)["sheet"]) == 1
    with archive.reading() as connection:
        assert [get_deed(connection, n).undone_by_id for n in (1, 2, 3)] == [None, 3, None]


def test_a_file_written_twice_in_one_deed_goes_back_to_its_first_bytes(archive, folder):
    doing = begin_file_deed(archive, "labels write", "writing", left_to_do="")
    for former, data in ((b"former", b"once"), (b"once", b"twice")):
        ids = doing.intend([(str(folder / "old.xmp"), former, digest(former), digest(data))])
        (folder / "old.xmp").write_bytes(data)
        doing.settle_files([(ids[0], "done", None)])
    doing.finish("wrote")

    undo_deed(archive)

    assert contents(folder) == {"old.xmp": b"former"}


@pytest.mark.parametrize("harm", ["changed", "gone", "a link", "a folder", "drive away"])
def test_a_file_changed_since_is_left_alone_with_the_whole_deed(archive, folder, harm):
    write(archive, folder, new=b"ours", old=b"ours too")
    path, other = folder / "new.xmp", folder / "old.xmp"
    if harm == "gone":  # of the two, the one that was there before the deed
        path, other = other, path
    if harm == "drive away":
        folder.rename(folder.with_name("away"))
    else:
        path.unlink()
    if harm == "changed":
        path.write_bytes(b"theirs")
    elif harm == "a link":
        path.symlink_to(other)
    elif harm == "a folder":
        path.mkdir()
    before = tables(archive, leave_out=set())

    with pytest.raises(UndoError) as refusal:
        undo_deed(archive)

    assert str(folder) in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert tables(archive, leave_out=set()) == before
    if harm != "drive away":
        assert other.read_bytes() in (b"ours", b"ours too")


def test_a_file_that_is_as_before_already_is_no_hindrance(archive, folder):
    write(archive, folder, old=b"ours", new=b"ours too")
    (folder / "new.xmp").unlink()

    undo_deed(archive)

    assert contents(folder) == {"old.xmp": b"former"}


def test_what_a_deed_meant_to_write_and_did_not_is_not_touched(archive, folder):
    doing = begin_file_deed(archive, "labels write", "writing", left_to_do="")
    ids = doing.intend([(str(folder / "old.xmp"), b"former", digest(b"former"), digest(b"ours"))])
    doing.settle_files([(ids[0], "not done", "the disk was full")])
    with doing.step() as writing:
        writing.session.add(Sheet())
    doing.finish("wrote 0 of 1")

    undo_deed(archive)

    assert contents(folder) == {"old.xmp": b"former"}


def test_a_dry_run_says_how_many_files_and_touches_none(archive, folder):
    write(archive, folder, old=b"ours", new=b"ours too")

    done = undo_deed(archive, dry_run=True)

    assert (done.files, done.undo_id) == (2, None)
    assert contents(folder) == {"old.xmp": b"ours", "new.xmp": b"ours too"}


def test_records_in_the_way_are_found_before_a_file_is_touched(archive, folder):
    write(archive, folder, old=b"ours")
    write(archive, folder, new=b"ours too")
    from catalog.store.writing import deed

    with deed(archive, "sheets correct", "corrected") as writing:
        sheet = writing.session.get_one(Sheet, 1)
        sheet.box = "5"

    with pytest.raises(UndoError, match=r"deed 3 \(sheets correct\) changed S1 since"):
        undo_deed(archive, 1)

    assert contents(folder) == {"old.xmp": b"ours", "new.xmp": b"ours too"}


def test_an_undo_that_fails_at_one_file_says_so_and_goes_on_when_mended(archive, folder, monkeypatch):
    number = write(archive, folder, a=b"1", b=b"2", c=b"3")
    put_back = file_undo.put_back_bytes

    def failing(path: Path, former: bytes | None, written: str | None) -> None:
        if path.name == "b.xmp":
            raise UndoError(f"{path}: Permission denied")
        put_back(path, former, written)

    monkeypatch.setattr(file_undo, "put_back_bytes", failing)
    with pytest.raises(UndoError, match=rf"1 of 3 files.*b\.xmp: Permission denied.*tiebeam undo {number}"):
        undo_deed(archive)
    assert sorted(contents(folder)) == ["b.xmp", "old.xmp"]
    assert len(tables(archive)["sheet"]) == 1
    with archive.reading() as connection:
        assert get_deed(connection, number).undone_by_id is None
        assert [(f.state, bool(f.reason)) for f in files_of(connection, 2)] == [
            ("done", False), ("not done", True), ("done", False),
        ]  # fmt: skip

    monkeypatch.undo()
    undo_deed(archive)

    assert contents(folder) == {"old.xmp": b"former"}
    assert tables(archive)["sheet"] == []


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_file_put_back_keeps_its_permissions(archive, folder):
    (folder / "old.xmp").chmod(0o640)
    write(archive, folder, old=b"ours")

    undo_deed(archive)

    assert (folder / "old.xmp").stat().st_mode & 0o777 == 0o640
    assert sorted(contents(folder)) == ["old.xmp"]
