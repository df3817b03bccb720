"""
Registering's reading of scans against one thread that does nothing but digest the same files.

Ten files of 115 megapixels, 16-bit grey (9,600 x 12,000; 230 MB each) are read by
``read_scan_file`` in a pool of as many threads as there are cores, and by
``hashlib.file_digest`` in one thread, in turn. Goal: 1.3 times the time at most, under 300 MB.
"""

from __future__ import annotations

import hashlib
import json
import os
import statistics
import struct
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from catalog.imaging import read_scan_file
from tests.peak_memory import peak_mb

WIDTH, HEIGHT, FILES, ROUNDS = 9_600, 12_000, 10, 3
ROWS_PER_STRIP = 40
GOAL_RATIO, GOAL_MB = 1.3, 300


def write_scan(path: Path, *, seed: int, width: int = WIDTH, height: int = HEIGHT) -> None:
    """Write a 16-bit grey TIFF, strips first and its directory last; two blocks of noise take turns."""
    strip_bytes, strips = width * 2 * ROWS_PER_STRIP, height // ROWS_PER_STRIP
    blocks = [os.urandom(strip_bytes), bytes([seed]) + os.urandom(strip_bytes - 1)]
    offsets = [8 + strip_bytes * index for index in range(strips)]
    tables = 8 + strip_bytes * strips
    entries = [
        (256, 4, 1, width), (257, 4, 1, height), (258, 3, 1, 16), (259, 3, 1, 1), (262, 3, 1, 1),
        (273, 4, strips, tables), (277, 3, 1, 1), (278, 4, 1, ROWS_PER_STRIP),
        (279, 4, strips, tables + 4 * strips),
    ]  # fmt: skip
    with path.open("wb") as out:
        out.write(struct.pack("<2sHI", b"II", 42, tables + 8 * strips))
        for index in range(strips):
            out.write(blocks[index % 2])
        out.write(struct.pack(f"<{strips}I", *offsets) + struct.pack(f"<{strips}I", *[strip_bytes] * strips))
        out.write(struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *entry) for entry in entries))
        out.write(bytes(4))


def read_all(paths: list[Path]) -> None:
    """Read every file as registering does: one thread a core."""
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for scan in pool.map(read_scan_file, paths):
            assert scan.picture_sha256
            assert scan.damage is None


def digest_all(paths: list[Path]) -> None:
    """Digest every file in one thread, and nothing else."""
    for path in paths:
        with path.open("rb") as file:
            hashlib.file_digest(file, "sha256").hexdigest()


def _seconds(work: str, folder: Path) -> tuple[float, float]:
    """Return the seconds one way of reading takes in a process of its own, and its peak memory in MB."""
    code = f"from tests.benchmarks.scan_digests import measured; measured({work!r}, {str(folder)!r})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    seconds, peak = json.loads(done.stdout)
    return seconds, peak


def measured(work: str, folder: str) -> None:
    """Print the seconds, imports not counted, and the peak memory (MB) of one pass over ``folder``."""
    paths = sorted(Path(folder).iterdir())
    begun = time.perf_counter()
    (read_all if work == "ours" else digest_all)(paths)
    seconds = time.perf_counter() - begun
    print(json.dumps([seconds, peak_mb()]))


def run(files: int = FILES, rounds: int = ROUNDS) -> dict[str, float]:
    """Return the medians of both ways in seconds, their ratio and its spread, and our peak memory in MB."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-benchmark-") as name:
        folder = Path(name)
        for index in range(files):
            write_scan(folder / f"scan-{index:02}.tif", seed=index)
        _seconds("bare", folder)  # both ways find the files in memory, as far as there is room for them
        pairs = [(_seconds("ours", folder), _seconds("bare", folder)) for _ in range(rounds)]
    ours = statistics.median(pair[0][0] for pair in pairs)
    bare = statistics.median(pair[1][0] for pair in pairs)
    ratios = sorted(pair[0][0] / pair[1][0] for pair in pairs)
    return {
        "ours_s": ours,
        "bare_s": bare,
        "ratio": ours / bare,
        "lowest_ratio": ratios[0],
        "highest_ratio": ratios[-1],
        "peak_mb": max(pair[0][1] for pair in pairs),
    }


def main() -> None:
    """Measure, and print what was measured beside the goals."""
    found = run()
    print(f"scans read, {FILES} files of {WIDTH}x{HEIGHT}, 16 bits, {os.cpu_count()} threads")
    print(f"  ours {found['ours_s']:.2f} s, file_digest alone {found['bare_s']:.2f} s; medians of {ROUNDS}")
    print(
        f"  ratio {found['ratio']:.2f} ({found['lowest_ratio']:.2f} to {found['highest_ratio']:.2f}); "
        f"goal at most {GOAL_RATIO}"
    )
    # Both digests are 2 units of work against 1, shared between the cores: a busy neighbour shows at once.
    if hasattr(os, "getloadavg"):
        print(f"  load of the machine in the last minute {os.getloadavg()[0]:.1f}")
    print(f"  peak memory {found['peak_mb']:.0f} MB; goal under {GOAL_MB}")


if __name__ == "__main__":
    main()
