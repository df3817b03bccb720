"""Files with bytes changed at random: every one ends in facts, named damage or one refusal, quickly."""

from __future__ import annotations

import io
import random
import time

import numpy as np
import pytest
import tifffile
from PIL import Image

from catalog.errors import FileFormatError
from catalog.imaging import read_scan_file
from tests.picture_files import ASCII, LONG, RATIONAL, SHORT, a_directory, a_tiff

EDGES = (0, 1, 0x7F, 0x80, 0xFF)


def seeds() -> list[bytes]:
    """Return small files of every kind, rich in what the readers look at."""
    entries = [
        (270, ASCII, b"Osk Mill\0"), (271, ASCII, b"Halding Optical\0"), (282, RATIONAL, [2400, 1]),
        (296, SHORT, [2]), (306, ASCII, b"2010:01:05 14:30:00\0"), (330, LONG, [8]), (34665, LONG, [8]),
        (34675, 7, b"p" * 150),
    ]  # fmt: skip
    inner = a_directory([(256, SHORT, [3]), (257, SHORT, [3]), (36867, ASCII, b"0000:00:00 00:00:00\0")], at=8)
    found = [
        a_tiff(entries, width=20, height=20, picture=inner.ljust(800, b"\5"), order=o, big=b)
        for o in "<>"
        for b in (0, 1)
    ]
    tiled = io.BytesIO()
    tifffile.imwrite(tiled, np.zeros((64, 64, 3), "uint16"), tile=(16, 16), photometric="rgb", compression="lzw")
    exif = Image.Exif()
    exif[271], exif[306] = "Halding Optical", "2010:01:05 14:30:00"
    for kind, options in (("JPEG", {"progressive": True}), ("PNG", {})):
        out = io.BytesIO()
        Image.effect_noise((40, 30), 50).save(out, kind, exif=exif, dpi=(300, 300), **options)
        found.append(out.getvalue())
    return [*found, tiled.getvalue()]


def mutated(chance: random.Random, content: bytes) -> bytes:
    """Return a file with a few bytes changed, mostly in its tables, and now and then cut or doubled."""
    changed = bytearray(content)
    tables = len(changed) - 400 if chance.random() < 0.6 else 0
    for _ in range(chance.randint(1, 8)):
        at = chance.randrange(max(tables, 4), len(changed))
        run = chance.choice((1, 1, 2, 4, 8))
        changed[at : at + run] = bytes(chance.choice((*EDGES, chance.randrange(256))) for _ in range(run))
    if chance.random() < 0.1:
        del changed[chance.randrange(len(changed)) :]
    return bytes(changed)


def hold_against_mutations(folder, *, rounds: int, seed: int) -> None:
    chance, files, outcomes, slowest = (
        random.Random(seed),
        seeds(),
        {"whole": 0, "damaged": 0, "refused": 0},
        0.0,
    )
    path = folder / "78-014.tif"
    for _ in range(rounds):
        path.write_bytes(mutated(chance, chance.choice(files)))
        begun = time.perf_counter()
        try:
            scan = read_scan_file(path)
        except FileFormatError:
            outcomes["refused"] += 1
        else:
            assert len(scan.file_sha256) == 64
            assert scan.damage is None or scan.picture_sha256 is None
            for number in (scan.width, scan.height, scan.bits, scan.channels, scan.extra_channels):
                assert number is None or 0 <= number < 1 << 32
            outcomes["damaged" if scan.damage else "whole"] += 1
        slowest = max(slowest, time.perf_counter() - begun)
    assert slowest < 2.0
    assert outcomes["whole"] > rounds // 50
    assert outcomes["damaged"] > rounds // 50


def test_hundreds_of_changed_files_end_in_facts_or_in_words(tmp_path):
    hold_against_mutations(tmp_path, rounds=600, seed=7814)


@pytest.mark.slow
def test_twenty_thousand_changed_files_end_in_facts_or_in_words(tmp_path):
    hold_against_mutations(tmp_path, rounds=20_000, seed=1974)
