"""Group B of the trouble cases, registering: TIFF files as scanners write them, and what copying does."""

from __future__ import annotations

import pytest

from catalog.actions.scans import add_scans
from catalog.actions.verify_scans import verify_scans
from tests.picture_files import LONG, RATIONAL, SHORT, UNDEFINED, a_directory, a_header
from tests.reference_samples import FOLDER, PICTURES, sample
from tests.scan_archives import a_scan, a_sheet, an_archive, as_it_is, rows, tiebeam

FACTS = "SELECT {} FROM scan c JOIN file f ON f.id = c.file_id ORDER BY c.id"


@pytest.fixture
def archive(tmp_path):
    return an_archive(tmp_path / "archive")


def facts(archive, columns):
    return rows(archive, FACTS.format(columns))


def test_b01_a_16_bit_colour_scan_is_recorded_as_16_bit(archive, tmp_path):
    import numpy as np
    import tifffile

    tifffile.imwrite(tmp_path / "1.tif", np.zeros((64, 64, 3), "uint16"), photometric="rgb")
    before = as_it_is(tmp_path)["1.tif"]

    add_scans(archive, [tmp_path / "1.tif"])

    assert facts(archive, "bits, channels, extra_channels, colour") == [(16, 3, 0, "RGB")]
    assert as_it_is(tmp_path)["1.tif"] == before


def test_b03_white_is_zero_is_recorded_at_either_depth(archive, tmp_path):
    for bits in (8, 16):
        a_scan(tmp_path / "in" / f"{bits}.tif", bits, bits=bits, entries=((262, SHORT, [0]),))

    add_scans(archive, [tmp_path / "in"])

    assert facts(archive, "bits, white_is_zero") == [(16, 1), (8, 1)]


def test_b04_a_bigtiff_is_read(archive, tmp_path):
    a_scan(tmp_path / "in" / "1.tif", 1, big=True, entries=((306, 2, b"2010:01:05 10:20:30\0"),))

    added = add_scans(archive, [tmp_path / "in"])

    assert not added.has_findings
    assert facts(archive, "kind, width_px, height_px, scanned_edtf") == [("BigTIFF", 8, 10, "2010-01-05")]


def test_b05_a_small_preview_before_the_picture_is_not_the_picture(archive, tmp_path):
    preview, picture = bytes(15 * 12), bytes(range(250)) * 800
    common = [(258, SHORT, [8]), (259, SHORT, [1]), (262, SHORT, [1]), (277, SHORT, [1])]
    first = 8 + len(preview) + len(picture)
    preview_entries = [
        (254, LONG, [1]), (256, LONG, [15]), (257, LONG, [12]), *common,
        (273, LONG, [8]), (278, LONG, [12]), (279, LONG, [len(preview)]),
    ]  # fmt: skip
    length = len(a_directory(preview_entries, at=first))
    picture_entries = [
        (256, LONG, [500]), (257, LONG, [400]), *common,
        (273, LONG, [8 + len(preview)]), (278, LONG, [400]), (279, LONG, [len(picture)]),
    ]  # fmt: skip
    (tmp_path / "1.tif").write_bytes(
        a_header(first) + preview + picture
        + a_directory(preview_entries, at=first, following=first + length)
        + a_directory(picture_entries, at=first + length)
    )  # fmt: skip

    add_scans(archive, [tmp_path / "1.tif"])

    [(width, height, pages, remarks)] = facts(archive, "width_px, height_px, pages, c.facts")
    assert (width, height, pages) == (500, 400, 2)
    assert "page 0: 15 x 12, preview" in remarks


def test_b07_a_jpeg_compressed_tiff_is_registered(archive, tmp_path):
    import io

    from PIL import Image

    image = Image.new("RGB", (64, 48), (200, 30, 40))
    image.save(tmp_path / "new.tif", compression="jpeg")
    buffer = io.BytesIO()
    image.save(buffer, "JPEG")
    jpeg = buffer.getvalue()
    # Old style (compression 6): one whole JPEG stream named by tags 513 and 514, TIFF 6.0 section 22.
    a_scan(
        tmp_path / "old.tif", 1, bits=8,
        entries=((259, SHORT, [6]), (262, SHORT, [6]), (277, SHORT, [3]), (258, SHORT, [8, 8, 8]),
                 (513, LONG, [8]), (514, LONG, [len(jpeg)])),
    )  # fmt: skip
    old = tmp_path / "old.tif"
    old.write_bytes(old.read_bytes() + jpeg)

    added = add_scans(archive, [tmp_path / "new.tif", tmp_path / "old.tif"])

    assert len(added.outcomes) == 2
    assert [row[0] for row in facts(archive, "compression")] == ["JPEG", "JPEG (old style)"]


@pytest.mark.parametrize(
    "entries",
    [
        (),  # no resolution at all
        ((282, RATIONAL, [1, 1]), (283, RATIONAL, [1, 1]), (296, SHORT, [1])),
        ((282, RATIONAL, [0, 1]), (283, RATIONAL, [0, 1]), (296, SHORT, [2])),
        ((282, RATIONAL, [1, 1]), (283, RATIONAL, [1, 1])),
    ],
)
def test_b08_a_resolution_nobody_recorded_is_worked_out_from_the_film(archive, tmp_path, entries, capsys):
    a_sheet(archive, "82-07", film_format="4x5")
    a_scan(tmp_path / "82-07.tif", entries=entries, width=480, height=600, bits=8)

    add_scans(archive, [tmp_path / "82-07.tif"])

    # 600 pixels over the five inches of the long side.
    assert facts(archive, "recorded_ppi, worked_out_ppi") == [(None, 120.0)]
    tiebeam(archive, "scans", "show", "C1")
    assert "ppi          not recorded; 120 worked out from the size of the film" in capsys.readouterr().out


def test_b08_a_corrected_film_size_gives_its_scans_another_resolution(archive, tmp_path):
    a_sheet(archive, "82-07", film_format="4x5")
    a_scan(tmp_path / "82-07.tif", width=480, height=600, bits=8)
    add_scans(archive, [tmp_path / "82-07.tif"])

    assert tiebeam(archive, "sheets", "correct", "82-07", "--format", "8x10") == 0

    # 600 pixels over the ten inches of the long side.
    assert facts(archive, "recorded_ppi, worked_out_ppi") == [(None, 60.0)]


def test_b09_a_half_copied_scan_is_registered_as_damaged_and_its_neighbours_are_done(archive, tmp_path, capsys):
    for name in ("1.tif", "2.tif", "3.tif"):
        a_scan(tmp_path / "in" / name, int(name[0]), entries=((282, RATIONAL, [300, 1]),), width=64, height=80)
    half = tmp_path / "in" / "2.tif"
    content = half.read_bytes()
    # The directory goes in front, as most scanners write it, so that the cut takes pixels away.
    half.write_bytes(_directory_first(content)[: len(content) // 2])

    status = tiebeam(archive, "scans", "add", tmp_path / "in")

    assert status == 1
    assert [row[0] for row in facts(archive, "f.state")] == ["present", "damaged", "present"]
    assert facts(archive, "f.damage")[1][0].startswith("damaged: shorter than its own table says")
    assert "2.tif: damaged: shorter than its own table says" in capsys.readouterr().out


def _directory_first(content):
    picture = content[8 : 8 + 64 * 80 * 2]
    entries = [
        (256, LONG, [64]), (257, LONG, [80]), (258, SHORT, [16]), (259, SHORT, [1]), (262, SHORT, [1]),
        (273, LONG, [4096]), (277, SHORT, [1]), (278, LONG, [80]), (279, LONG, [len(picture)]),
    ]  # fmt: skip
    return (a_header(8) + a_directory(entries, at=8)).ljust(4096, b"\0") + picture


def test_b12_an_empty_scan_is_named_and_its_neighbours_are_read(archive, tmp_path, capsys):
    a_scan(tmp_path / "in" / "78-014-2.tif", 2)
    (tmp_path / "in" / "78-014-3.tif").touch()
    (tmp_path / "in" / "78-014-4.tif").touch()

    status = tiebeam(archive, "scans", "add", tmp_path / "in")

    out = capsys.readouterr().out
    assert status == 1
    assert "78-014-3.tif: empty file" in out
    assert "78-014-4.tif: empty file" in out  # two empty files are not copies of each other
    assert [row[0] for row in facts(archive, "f.state")] == ["present", "damaged", "damaged"]


def test_b09_a_scan_copied_again_whole_is_no_longer_damaged(archive, tmp_path):
    path = a_scan(tmp_path / "in" / "1.tif", width=64, height=80)
    whole = path.read_bytes()
    path.write_bytes(whole[:20])
    add_scans(archive, [tmp_path / "in"])

    path.write_bytes(whole)
    again = add_scans(archive, [tmp_path / "in"])

    assert [outcome.standing for outcome in again.outcomes] == ["mended"]
    assert facts(archive, "c.id, f.state, f.damage, width_px") == [(1, "present", None, 64)]


def test_b13_a_scan_of_200_megapixels_is_catalogued_from_its_table(archive, tmp_path):
    # A strip of the right length that the disk does not really hold: 12,800 x 16,000 at 8 bits, sparse.
    path = tmp_path / "1.tif"
    entries = [
        (256, LONG, [12_800]), (257, LONG, [16_000]), (258, SHORT, [8]), (259, SHORT, [1]), (262, SHORT, [1]),
        (273, LONG, [4096]), (277, SHORT, [1]), (278, LONG, [16_000]), (279, LONG, [12_800 * 16_000]),
    ]  # fmt: skip
    with path.open("wb") as file:
        file.write(a_header(8) + a_directory(entries, at=8))
        file.truncate(4096 + 12_800 * 16_000)

    added = add_scans(archive, [path])

    assert not added.has_findings
    assert facts(archive, "width_px, height_px") == [(12_800, 16_000)]


def test_b14_grey_with_infrared_keeps_its_extra_channel(archive, tmp_path, capsys):
    a_scan(
        tmp_path / "1.tif", width=8, height=10, bits=32,
        entries=((258, SHORT, [16, 16]), (277, SHORT, [2]), (338, SHORT, [0])),
    )  # fmt: skip

    add_scans(archive, [tmp_path / "1.tif"])
    tiebeam(archive, "scans", "show", "C1")

    assert facts(archive, "bits, channels, extra_channels") == [(16, 2, 1)]
    assert "grey + 1 extra channel" in capsys.readouterr().out


def test_b15_a_scan_without_a_profile_says_so(archive, tmp_path, capsys):
    from PIL import Image, ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    a_scan(tmp_path / "1.tif", 1)
    Image.new("RGB", (8, 8)).save(tmp_path / "2.tif", icc_profile=profile)
    a_scan(tmp_path / "3.tif", 3, entries=((34675, UNDEFINED, b"not a profile"),))

    add_scans(archive, [tmp_path / f"{number}.tif" for number in (1, 2, 3)])
    tiebeam(archive, "scans", "show", "C1")

    found = [row[0] for row in facts(archive, "profile")]
    assert found[0] is None
    assert "sRGB" in found[1]
    assert found[2] == "unnamed profile"
    assert "profile      none" in capsys.readouterr().out


def test_b16_no_command_alters_a_scan(archive, tmp_path, capsys):
    a_sheet(archive, "82-07")
    folder = tmp_path / "scans"
    a_scan(folder / "82-07.tif", 1, caption="Osk Mill")
    a_scan(folder / "stray.tif", 2)
    (folder / "82-08.tif").write_bytes(b"")
    before = as_it_is(folder)

    for command in (
        ["scans", "add", folder], ["scans", "add", "--dry-run", folder], ["scans", "list"],
        ["scans", "unmatched"], ["scans", "match", "stray.tif", "82-07"], ["scans", "show", "stray.tif"],
        ["scans", "unmatch", "stray.tif"],
        ["scans", "match", "--again"], ["scans", "verify"], ["scans", "verify", "--quick"],
        ["scans", "accept", "C1"], ["scans", "locate", "C1", folder / "82-07.tif"],
        ["scans", "correct", "C1", "--polarity", "negative"], ["scans", "remove", "C3"],
    ):  # fmt: skip
        assert tiebeam(archive, *command) in (0, 1), command

    assert as_it_is(folder) == before


def test_b16_scans_on_a_disk_that_allows_no_writing_are_registered(archive, tmp_path, monkeypatch):
    # Every opening for writing under the folder fails, as it does on such a disk.
    import builtins
    import io
    import os

    folder = tmp_path / "scans"
    a_scan(folder / "1.tif")
    opened = os.open

    def reading_only(path, flags, *rest, **more):
        wants_to_write = flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND)
        if str(folder) in os.fsdecode(path) and wants_to_write:
            raise OSError(30, "Read-only file system", path)
        return opened(path, flags, *rest, **more)

    def no_writing(path, mode="r", *rest, **more):
        if isinstance(path, (str, os.PathLike)) and str(folder) in os.fspath(path) and set(mode) & set("wax+"):
            raise OSError(30, "Read-only file system", path)
        return io.open(path, mode, *rest, **more)  # noqa: UP020 - the real one, under another name

    monkeypatch.setattr(os, "open", reading_only)
    monkeypatch.setattr(builtins, "open", no_writing)

    assert not add_scans(archive, [folder]).has_findings
    assert verify_scans(archive).fine == 1


def test_d01_the_date_in_a_scan_is_the_date_of_scanning(archive, tmp_path):
    sheet = a_sheet(archive, "79-3")
    with_exposure = "UPDATE sheet SET exposed_edtf = '1979', exposed_earliest = 722450, exposed_latest = 722814"
    import sqlite3

    connection = sqlite3.connect(archive.catalogue)
    with connection:
        connection.execute(with_exposure)
    connection.close()
    a_scan(tmp_path / "79-3.tif", entries=((306, 2, b"2010:01:05 09:08:07\0"),))

    add_scans(archive, [tmp_path / "79-3.tif"])

    assert facts(archive, "scanned_edtf, scanned_words") == [("2010-01-05", "2010:01:05 09:08:07")]
    assert rows(archive, "SELECT exposed_edtf FROM sheet WHERE id = ?", sheet) == [("1979",)]


def test_d02_a_zero_date_is_no_date(archive, tmp_path):
    a_scan(tmp_path / "1.tif", entries=((306, 2, b"0000:00:00 00:00:00\0"),))

    added = add_scans(archive, [tmp_path / "1.tif"])

    assert not added.has_findings
    assert facts(archive, "scanned_edtf") == [(None,)]


def test_every_reference_picture_is_registered_and_none_is_altered(archive):
    for name in PICTURES:
        sample(name)
    before = as_it_is(FOLDER)

    added = add_scans(archive, [FOLDER])

    assert {outcome.path.rpartition("/")[2] for outcome in added.outcomes if outcome.standing == "new"} == set(PICTURES)
    assert all(outcome.is_finding for outcome in added.outcomes if outcome.damage)
    assert as_it_is(FOLDER) == before
