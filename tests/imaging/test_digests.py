"""The two digests: what changes which, in what order, in how many readings."""

from __future__ import annotations

import hashlib
import io
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import exiv2
import numpy as np
import pytest
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from catalog.errors import FileFormatError
from catalog.imaging import Digests, file_digest, picture_digest, read_digests, read_scan_file
from catalog.imaging.digests import pass_runs
from catalog.standards.byte_stream import ByteStream
from tests.picture_files import LONG, SHORT, a_tiff, written


def a_picture(path: Path) -> Path:
    pixels = np.random.default_rng(1).integers(0, 255, (120, 160)).astype("uint8")
    if path.suffix == ".tif":
        tifffile.imwrite(path, pixels, rowsperstrip=16)
    else:
        Image.fromarray(pixels).save(path)
    return path


def write_caption(path: Path, words: str) -> None:
    """Write a caption into a picture, as some other program would (exiv2)."""
    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    image.exifData()["Exif.Image.ImageDescription"] = words
    image.xmpData()["Xmp.dc.title"] = words
    image.writeMetadata()


@pytest.mark.parametrize("suffix", [".tif", ".jpg", ".png"])
def test_f13_a_caption_written_elsewhere_changes_the_file_and_not_the_picture(tmp_path, suffix):
    path = a_picture(tmp_path / f"78-014{suffix}")
    before = read_digests(path)

    write_caption(path, "Osk Mill from the east, before the cladding came off")

    after = read_digests(path)
    assert after.file_sha256 != before.file_sha256
    assert after.picture_sha256 == before.picture_sha256 is not None


@pytest.mark.parametrize("suffix", [".tif", ".jpg", ".png"])
def test_f13_one_bit_of_the_picture_changes_both(tmp_path, suffix):
    path = a_picture(tmp_path / f"78-014{suffix}")
    before = read_digests(path)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    at = next(
        at for at in range(middle, len(content)) if content[at] not in (0, 0xFF, 0xFE) and content[at - 1] != 0xFF
    )

    content[at] ^= 1
    path.write_bytes(content)

    after = read_digests(path)
    assert after.file_sha256 != before.file_sha256
    assert after.picture_sha256 != before.picture_sha256  # a PNG's own check sum fails, so it has none


def test_the_digests_are_those_of_hashlib_and_of_the_facts(tmp_path):
    path = a_picture(tmp_path / "78-014.tif")
    scan = read_scan_file(path)

    assert file_digest(path) == hashlib.sha256(path.read_bytes()).hexdigest() == scan.file_sha256
    assert picture_digest(path) == scan.picture_sha256
    assert read_digests(path) == Digests(scan.file_sha256, scan.picture_sha256)


def test_the_digest_of_a_file_that_is_away_is_refused(tmp_path):
    with pytest.raises(FileFormatError, match=r"gone\.tif: cannot be read"):
        file_digest(tmp_path / "gone.tif")


def test_strips_that_lie_out_of_order_are_digested_in_the_order_of_their_table(tmp_path):
    # TIFF 6.0 §3 shows such a file: strip 10 lies first, then 179, 53, 160.
    picture = b"".join(bytes([letter]) * 16 for letter in b"DBCA")
    entries = [(273, LONG, [8 + 48, 8 + 16, 8 + 32, 8]), (278, LONG, [1]), (279, LONG, [16] * 4)]
    path = written(tmp_path / "78-014.tif", a_tiff(entries, picture=picture))

    scan = read_scan_file(path, chunk_bytes=10)

    assert scan.picture_sha256 == hashlib.sha256(b"A" * 16 + b"B" * 16 + b"C" * 16 + b"D" * 16).hexdigest()
    assert scan.file_sha256 == file_digest(path)


def test_what_lies_between_the_strips_is_no_picture(tmp_path):
    entries = [(273, LONG, [8, 8 + 40]), (278, LONG, [2]), (279, LONG, [32, 32]), (259, SHORT, [1])]
    path = written(tmp_path / "78-014.tif", a_tiff(entries, picture=b"A" * 32 + b"gap gap " + b"B" * 32))

    assert picture_digest(path) == hashlib.sha256(b"A" * 32 + b"B" * 32).hexdigest()


@pytest.mark.parametrize("chunk_bytes", [1, 3, 17, 1000])
@pytest.mark.parametrize("suffix", [".tif", ".jpg", ".png"])
def test_the_size_of_the_chunks_changes_nothing(tmp_path, suffix, chunk_bytes):
    path = a_picture(tmp_path / f"78-014{suffix}")

    assert read_scan_file(path, chunk_bytes=chunk_bytes) == read_scan_file(path)


class CountingFile(io.FileIO):
    """A file that counts the bytes it gave."""

    given_bytes = 0

    def readinto(self, buffer):
        got = super().readinto(buffer)
        self.given_bytes += got
        return got


def test_a_file_whose_strips_lie_in_order_is_read_once(tmp_path):
    path = written(tmp_path / "78-014.tif", bytes(100_000))
    runs = [(8, 40_000), (50_000, 40_000)]
    digest, picture = hashlib.sha256(), hashlib.sha256()

    with CountingFile(path) as raw:
        pass_runs(raw, ByteStream(raw, digest=digest, chunk_bytes=999), runs, picture)

    assert raw.given_bytes == 100_000


@given(
    content=st.binary(min_size=1, max_size=400),
    places=st.lists(st.tuples(st.integers(0, 400), st.integers(0, 100)), max_size=8),
    chunk_bytes=st.integers(1, 64),
)
def test_any_runs_give_the_bytes_they_name(tmp_path_factory, content, places, chunk_bytes):
    path = written(tmp_path_factory.getbasetemp() / "runs.bin", content)
    runs = [(start, length) for start, length in places if start + length <= len(content)]
    digest, picture = hashlib.sha256(), hashlib.sha256()

    with path.open("rb", buffering=0) as raw:
        pass_runs(raw, ByteStream(raw, digest=digest, chunk_bytes=chunk_bytes), runs, picture)

    assert digest.digest() == hashlib.sha256(content).digest()
    assert picture.digest() == hashlib.sha256(b"".join(content[at : at + n] for at, n in runs)).digest()


def test_a_large_scan_is_read_in_little_memory(tmp_path):
    path = tmp_path / "78-014.tif"
    tifffile.imwrite(path, np.zeros((3000, 4000), "uint16"), rowsperstrip=1)
    read_scan_file(path)

    tracemalloc.start()
    read_scan_file(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert path.stat().st_size > 24_000_000
    assert peak < 3_000_000


def test_several_threads_over_several_files_give_each_its_own_facts(tmp_path):
    paths = [a_picture(tmp_path / f"78-{n:03}{suffix}") for n, suffix in enumerate([".tif", ".jpg", ".png"] * 8)]
    alone = [read_scan_file(path) for path in paths]

    with ThreadPoolExecutor(8) as pool:
        together = list(pool.map(read_scan_file, paths))

    assert together == alone
