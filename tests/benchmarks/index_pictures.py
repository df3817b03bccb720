"""
Index pictures of 200 scans against reading the same bytes once from the cache.

Twenty scans of 28.8 megapixels, 16-bit grey (4,800 x 6,000; 57.6 MB each: a 4x5 sheet at 1,200 ppi), each made ten
times under other names. Beside the bare reading stands what the picture engine takes to do nothing but average the
same pixels into small squares, on one core: below that no index picture can be made with it.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from catalog.outputs.index_pictures import PictureJob, make_pictures
from catalog.rules.index_pictures import PictureRecipe
from tests.benchmarks.rows import Row, interleaved, print_rows
from tests.peak_memory import peak_mb

FILES, TIMES, ROUNDS = 20, 10, 3
WIDTH, HEIGHT = 4_800, 6_000
GOAL_RATIO, GOAL_MB = 2.5, 250


def write_negative(path: Path, seed: int, *, width: int = WIDTH, height: int = HEIGHT) -> None:
    """Write a scan of a negative: clear rebate round a picture of soft tones with grain."""
    import numpy as np
    import tifffile

    rng = np.random.default_rng(seed)
    density = (
        0.25 + 0.9 * (0.5 + 0.5 * np.sin(np.linspace(0, 7 + seed, width)))[None, :] * np.linspace(0.3, 1, 500)[:, None]
    )
    block = 65535 * 10 ** (-density / 2.2) + rng.normal(0, 700, density.shape)
    pixels = np.resize(block, (height, width)).clip(0, 65535).astype(np.uint16)
    edge = width // 40
    base = int(65535 * 10 ** (-0.2 / 2.2))
    pixels[:edge], pixels[-edge:], pixels[:, :edge], pixels[:, -edge:] = base, base, base, base
    tifffile.imwrite(path, pixels, resolution=(1200, 1200), resolutionunit="INCH", rowsperstrip=64)


def jobs_of(folder: Path, target: Path) -> list[PictureJob]:
    """Return the jobs of one round: every scan ten times."""
    recipe = PictureRecipe(long_side_px=1200)
    found = []
    for count, scan in enumerate(sorted(folder.glob("*.tif")) * TIMES):
        status = scan.stat()
        place = target / f"{count:03}.jpg"
        found.append(
            PictureJob(
                count, scan, place, recipe, status.st_size, status.st_mtime_ns, None, WIDTH * HEIGHT
            )
        )  # fmt: skip
    return found


def make(folder: Path, target: Path) -> None:
    """Make every picture, on every core."""
    assert {result.outcome for result in make_pictures(jobs_of(folder, target))} == {"made"}


def read(folder: Path) -> None:
    """Read the same bytes, and do nothing with them."""
    buffer = bytearray(1 << 20)
    for scan in sorted(folder.glob("*.tif")) * TIMES:
        with scan.open("rb", buffering=0) as file:
            while file.readinto(buffer):
                pass


def average(folder: Path) -> float:
    """Average the same pixels into small squares with the engine, each scan once; return the time of all rounds."""
    from catalog.imaging.small_copies import small_copy

    begun = time.perf_counter()
    for scan in sorted(folder.glob("*.tif")):
        small_copy(scan, long_side_px=1200)
    return (time.perf_counter() - begun) * TIMES


def peak(folder: str) -> None:
    """Make every scan's picture in this process alone; print the peak memory in MB."""
    from catalog.imaging.index_pictures import render_index_picture

    for scan in sorted(Path(folder).glob("*.tif")):
        render_index_picture(scan, long_side_px=1200)
    print(json.dumps(peak_mb()))


def measure() -> list[Row]:
    """Return what was measured, beside the goals."""
    with tempfile.TemporaryDirectory(prefix="tiebeam-pictures-") as name:
        scans = Path(name) / "scans"
        scans.mkdir()
        for seed in range(FILES):
            write_negative(scans / f"80-{seed:02}.tif", seed)
        read(scans)
        made_s, read_s, averaged_s = interleaved(
            lambda: make(scans, Path(name) / "made"), lambda: read(scans), lambda: average(scans), rounds=ROUNDS
        )
        code = f"from tests.benchmarks import index_pictures; index_pictures.peak({str(scans)!r})"
        said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    pictures = FILES * TIMES
    return [
        Row(
            f"index pictures of {pictures} scans, against reading the bytes", made_s / read_s, GOAL_RATIO, "x its time"
        ),
        Row("  against averaging the pixels on one core", made_s / averaged_s, None, "x its time"),
        Row("  a scan of 57.6 MB", made_s / pictures * 1000, None, "ms"),
        Row("  reading one", read_s / pictures * 1000, None, "ms"),
        Row("  averaging one", averaged_s / pictures * 1000, None, "ms"),
        Row("  peak memory of a process", float(json.loads(said.stdout)), GOAL_MB, "MB"),
    ]


if __name__ == "__main__":
    print_rows(measure())
