"""Group A of the trouble cases: text inside picture files, in characters nobody declared."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from catalog.standards.iim import format_iim
from catalog.standards.packets import embedded_iim, find_packets
from tests.faults.desk import leave
from tests.picture_files import ASCII, UNDEFINED, a_tiff, with_segment, written
from tests.scan_archives import an_archive, rows
from tests.standards.test_packets import a_resource


def a_picture(kind: str, caption: bytes) -> bytes:
    """Return a picture with a caption in its IIM block and no character set declared."""
    block = format_iim([("2:120", caption)])
    if kind == "tif":
        return a_tiff([(33723, UNDEFINED, block)])
    stream = io.BytesIO()
    Image.new("L", (8, 8)).save(stream, "JPEG")
    return with_segment(stream.getvalue(), 0xED, b"Photoshop 3.0\0" + a_resource(1028, block))


@pytest.mark.parametrize("kind", ["tif", "jpg"])
@pytest.mark.parametrize("codec", ["utf-8", "cp1252"])
def test_a01_a_caption_without_a_declared_character_set_is_read_and_the_guess_noted(tmp_path, kind, codec):
    path = written(tmp_path / f"1.{kind}", a_picture(kind, "Église".encode(codec)))

    found = embedded_iim(find_packets(path))

    assert found.text("2:120") == "Église"
    assert found.charset.is_guess
    assert "by the evidence of its bytes" in found.charset.words
    assert found.repairs == ()


def test_a01_a_caption_stored_wrongly_by_an_earlier_program_is_shown_with_its_repair(tmp_path):
    path = written(tmp_path / "1.tif", a_picture("tif", "Ã‰glise".encode()))

    found = embedded_iim(find_packets(path))

    assert [(repair.reads, repair.proposed) for repair in found.repairs] == [("Ã‰glise", "Église")]


@pytest.mark.parametrize(("raw", "text"), [(b"\xc9glise\0", "Église"), (b"\xea\0", "ê")])
def test_a03_latin_1_in_a_tiff_description_is_readable_and_the_batch_goes_on(capsys, tmp_path, raw, text):
    archive = an_archive(tmp_path / "archive")
    for place, description in enumerate((b"before\0", raw, b"after\0"), start=1):
        picture = bytes([place]) * 64
        written(tmp_path / f"{place}.tif", a_tiff([(270, ASCII, description)], picture=picture))

    left = leave(capsys, archive.folder, f"scans add {tmp_path / '1.tif'} {tmp_path / '2.tif'} {tmp_path / '3.tif'}")

    assert "Traceback" not in left.err
    assert left.status == 0
    assert [row[0] for row in rows(archive, "SELECT description FROM scan ORDER BY id")] == ["before", text, "after"]
    assert find_packets(tmp_path / "2.tif").exif.get(270).text == text
