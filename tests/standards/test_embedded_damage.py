"""Damage by chance: IIM blocks, resources, directories and segments end in values or a named refusal."""

from __future__ import annotations

import hashlib
import multiprocessing
import random
import sys
import tempfile
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from catalog.errors import FileFormatError
from catalog.standards.exif_values import exif_values_of_block
from catalog.standards.iim import format_iim, parse_iim
from catalog.standards.iim_mapping import iim_properties
from catalog.standards.packets import find_packets
from catalog.standards.photoshop_resources import parse_resources
from catalog.standards.reconcile import reconcile, reconcile_embedded
from catalog.standards.xmp import Packet, bag, lang_alt, name
from tests.peak_memory import peak_mb
from tests.picture_files import ASCII, LONG, RATIONAL, UNDEFINED, a_directory, a_header, a_tiff, written
from tests.reference_samples import PICTURES, sample
from tests.standards.test_exif_values import a_block
from tests.standards.test_packets import (
    EXTENSION,
    IIM,
    MAIN,
    TITLED,
    XMP_SEGMENT,
    a_jpeg,
    a_png,
    a_raw_profile,
    a_resource,
    an_extension,
)

ROUNDS = 20_000
MAX_SECONDS = 10.0  # of one input; a whole run takes less than that on two slow cores

EXIF = a_block(
    [(271, ASCII, b"Scanner\0"), (306, ASCII, b"2010:01:05 10:00:00\0"), (282, RATIONAL, [600, 1])],
    [
        (36867, ASCII, b"1931:07:  :  :  :  \0"),
        (37510, UNDEFINED, b"UNICODE\0" + "Église".encode("utf-16-le")),
        (42034, RATIONAL, [90, 1, 90, 1, 0, 0, 0, 0]),
    ],
    [(1, ASCII, b"N\0"), (2, RATIONAL, [52, 1, 4, 1, 30, 1]), (5, 1, b"\0"), (6, RATIONAL, [25, 2])],
)
BLOCK = format_iim(
    [
        ("1:90", b"\x1b-A"),
        ("2:05", b"Osk Mill"),
        ("2:55", b"19310700"),
        ("2:60", b"083852+0200"),
        ("2:12", b"IPTC:01016000:arts::"),
        ("2:25", "Église".encode()),
        ("2:25", b"\xc9glise"),
        ("2:120", "Ã‰glise".encode() * 30),
    ]
)
RESOURCES = a_resource(1005, b"odd", b"name") + a_resource(1028, IIM) + a_resource(1061, hashlib.md5(IIM).digest())
_TAGS = [
    (700, UNDEFINED, TITLED),
    (33723, UNDEFINED, BLOCK),
    (34377, UNDEFINED, RESOURCES),
    (315, ASCII, b"Ida; Tom\0"),
    (34665, LONG, [8]),
    (330, LONG, [8, 40]),
]
_SEGMENTS = [(0xE1, b"Exif\0\0" + EXIF), (0xE1, XMP_SEGMENT + MAIN), (0xED, b"Photoshop 3.0\0" + RESOURCES)]
FILES = {
    "1.tif": a_tiff(_TAGS),
    "2.tif": a_tiff(_TAGS, big=True, order=">"),
    "3.jpg": a_jpeg(*_SEGMENTS, *an_extension(EXTENSION)),
    "4.png": a_png((b"iTXt", b"XML:com.adobe.xmp\0\1\0\0\0" + zlib.compress(TITLED)), (b"eXIf", EXIF)),
    # Directories with little else, so that chance meets their counts and offsets.
    "5.tif": a_header(8) + a_directory([*_TAGS[3:], (700, UNDEFINED, b"<x/>")], at=8, following=8),
    "6.tif": EXIF,
    "7.png": a_png(
        a_raw_profile(b"zTXt", "iptc", RESOURCES),
        a_raw_profile(b"tEXt", "exif", EXIF),
        a_raw_profile(b"iTXt", "xmp", TITLED),
    ),
}


def damaged(content: bytes, rng: random.Random) -> bytes:
    """Return bytes with a few changed, cut out, repeated or replaced by what trips readers."""
    data = bytearray(content)
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(data)) if data else 0
        match rng.randrange(12):
            case 0 | 1 | 2 | 3 if data:
                data[at] = rng.randrange(256)
            case 4 | 5 if data:
                data[at] ^= 1 << rng.randrange(8)
            case 6 | 7:
                data[at : at + 4] = rng.choice((b"\xff" * 4, bytes(4), b"\x7f\xff\xff\xff", b"\1\0\0\0", b"\x80\4\0\1"))
            case 8:
                del data[at : at + rng.randint(1, 40)]
            case 9 | 10:
                data[at:at] = data[at : at + rng.randint(1, 40)]
            case _:
                del data[rng.randint(at, len(data)) :]
    return bytes(data)


def _read_file(folder: Path, rng: random.Random) -> bool:
    """Read everything of one damaged file; return True if it gave anything."""
    file_name = rng.choice(sorted(FILES))
    try:
        embedded = find_packets(written(folder / file_name, damaged(FILES[file_name], rng)))
    except FileFormatError:
        return False
    return all([finding.words for finding in reconcile_embedded(embedded)] or [False])


def _read_iim(_: Path, rng: random.Random) -> bool:
    found = parse_iim(damaged(BLOCK, rng))
    assert all(isinstance(words, str) for words in (*found.faults, *found.warnings))
    assert all(repair.words for repair in found.repairs)
    findings = reconcile(None, found, None)
    return bool(iim_properties(found)) and all(finding.words for finding in findings)


def _read_resources(_: Path, rng: random.Random) -> bool:
    return bool(parse_resources(damaged(RESOURCES, rng)).resources)


def _read_exif(_: Path, rng: random.Random) -> bool:
    return bool(exif_values_of_block(damaged(EXIF, rng)).facts)


READERS: dict[str, Callable[[Path, random.Random], bool]] = {
    "files": _read_file,
    "IIM blocks": _read_iim,
    "Photoshop resources": _read_resources,
    "Exif directories": _read_exif,
}


def run(what: str, seed: int, rounds: int, folder: Path) -> int:
    """Read ``rounds`` damaged inputs; return how many gave anything. A failure names its seed and round."""
    rng, answered = random.Random(seed), 0
    for place in range(rounds):
        started = time.monotonic()
        try:
            answered += READERS[what](folder, rng)
        except BaseException as exc:
            raise AssertionError(f"{what}, seed {seed}, round {place}") from exc
        assert time.monotonic() - started < MAX_SECONDS, f"{what}, seed {seed}, round {place} took too long"
    return answered


@pytest.mark.parametrize("what", READERS)
@pytest.mark.parametrize("seed", [1931, 1978])
def test_what_is_damaged_ends_in_values_or_a_named_refusal(tmp_path, what, seed):
    assert run(what, seed, 150, tmp_path) > 30  # most inputs still say something, or the damage tries nothing


def _run_apart(answers: multiprocessing.Queue, what: str, seed: int) -> None:
    """Run in a process of its own, and send back how many answered and the most memory it took, in MB."""
    with tempfile.TemporaryDirectory() as folder:
        answered = run(what, seed, ROUNDS, Path(folder))
    answers.put((answered, peak_mb()))


def _many_keywords() -> tuple[Packet, bytes]:
    words = Packet(((name("dc:subject"), bag([f"mühle {place}" for place in range(30_000)])),))
    return words, format_iim([("2:25", b"kw%d" % place) for place in range(9_999)])


# What costs most for its length: without limits each of these takes minutes.
@pytest.mark.parametrize(
    ("packet", "block"),
    [
        (None, format_iim([("2:25", "é".encode("cp1252") * 400)] * 9_999)),
        (None, format_iim([("1:90", b"\x1b%G"), ("2:120", "Ã©".encode() * 1_000_000)])),
        (None, format_iim([("2:55", b"19310700 " + b" " * 1_000_000 + b"\nx"), ("2:60", b" " * 1_000_000 + b"x")])),
        (None, b"\x1c\x02\x05\x00\x00" * 500_000),
        (
            Packet(((name("dc:description"), lang_alt("é" * 2_000_000)),)),
            format_iim([("2:120", "é".encode() * 1_900_000)]),
        ),
        _many_keywords(),
    ],
    ids=["evidence", "repair", "dates", "datasets", "long text", "keywords"],
)
def test_no_block_takes_longer_than_its_reading(packet, block):
    started = time.monotonic()

    reconcile(packet, parse_iim(block), None)

    assert time.monotonic() - started < MAX_SECONDS


# Seeds are kept: one that finds a fault stays in the list.
@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the memory of a process is measured with a call Windows lacks")
@pytest.mark.parametrize("what", READERS)
@pytest.mark.parametrize("seed", [1, 2])
def test_twenty_thousand_damaged_inputs_end_in_values_within_200_mb(what, seed):
    apart = multiprocessing.get_context("spawn")
    answers = apart.Queue()
    process = apart.Process(target=_run_apart, args=(answers, what, seed))

    process.start()
    process.join(600)

    assert process.exitcode == 0
    answered, peak_mb = answers.get(timeout=10)
    assert answered > ROUNDS / 5
    assert peak_mb < 200


@pytest.mark.slow
@pytest.mark.parametrize("file_name", PICTURES)
def test_damaged_samples_end_in_values_or_a_named_refusal(tmp_path, file_name):
    content = sample(file_name).read_bytes()[:200_000]
    rng = random.Random(file_name)

    for _ in range(100):
        try:
            embedded = find_packets(written(tmp_path / file_name, damaged(content, rng)))
        except FileFormatError:
            continue
        assert all(finding.words for finding in reconcile_embedded(embedded))
