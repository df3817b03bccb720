"""Issued documents are kept once and had again unchanged."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest

from catalog.errors import DocumentError
from catalog.store.document_files import document_file_name, put_in_place, read_kept, set_aside

NAME = document_file_name("A12", "consignment note")
CONTENT = b"%PDF-1.4 the page"
DIGEST = sha256(CONTENT).hexdigest()


def keep_document(folder: Path, name: str, content: bytes) -> Path:
    """Set a document aside and give it its name, as issuing does."""
    return put_in_place(set_aside(folder, name, content), name)


def test_a_document_is_had_again_as_it_was_issued(tmp_path: Path):
    path = keep_document(tmp_path / "documents", NAME, CONTENT)

    assert read_kept(path.parent, NAME, DIGEST) == CONTENT
    assert [each.name for each in path.parent.iterdir()] == ["A12-consignment-note.pdf"]


def test_a_document_is_never_written_over(tmp_path: Path):
    keep_document(tmp_path, NAME, CONTENT)

    with pytest.raises(DocumentError, match="another file has this name"):
        keep_document(tmp_path, NAME, b"%PDF-1.4 another")

    assert (tmp_path / NAME).read_bytes() == CONTENT


def test_a_changed_document_is_not_handed_out_as_the_issued_one(tmp_path: Path):
    (tmp_path / NAME).write_bytes(CONTENT + b" ")

    with pytest.raises(DocumentError, match=r"A12-consignment-note\.pdf: was changed since it was issued"):
        read_kept(tmp_path, NAME, DIGEST)


def test_a_document_that_is_gone_is_named(tmp_path: Path):
    with pytest.raises(DocumentError, match=r"A12-consignment-note\.pdf: is not in"):
        read_kept(tmp_path, NAME, DIGEST)


@pytest.mark.parametrize("name", ["../A1-certificate.pdf", "A1-certificate.tif", "A1/../x.pdf", "", "S12.pdf"])
def test_no_other_name_is_read_or_written(tmp_path: Path, name: str):
    with pytest.raises(DocumentError, match="is no name of a document"):
        keep_document(tmp_path, name, CONTENT)
    with pytest.raises(DocumentError, match="is no name of a document"):
        read_kept(tmp_path, name, DIGEST)


def test_nothing_is_written_through_a_link(tmp_path: Path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / "documents").symlink_to(elsewhere)

    with pytest.raises(DocumentError, match="documents is a link"):
        keep_document(tmp_path / "documents", NAME, CONTENT)

    assert list(elsewhere.iterdir()) == []
