"""
Making and writing the positive of a whole sheet: against copying the same file, and against whole-array numpy.

Scans of 9,600 x 12,000 at 16 bits (4x5 inches at 2400 ppi), grey and RGB, in strips and without compression, lie in
the page cache. Each way runs in a process of its own, in turn; its clock leaves the imports out and takes in forcing
the result to disk. A BigTIFF of 2.8 GB follows, for memory alone.

Where the time goes is measured by leaving parts out: the same steps to nowhere (decoding and tables, no file), and
forcing to disk by itself.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.benchmarks.rows import Row, print_rows
from tests.peak_memory import peak_mb

WIDTH, HEIGHT, ROUNDS = 9_600, 12_000, 5
BIG_HEIGHT = 48_600
GOAL_RATIO, GOAL_MB = 2.0, 250.0


def write_sheet(path: Path, *, channels: int, height: int = HEIGHT) -> None:
    """Write a negative by strips: a ramp of densities with grain, no two strips alike."""
    import numpy as np
    import tifffile

    chance = np.random.default_rng(7814)
    ramp = np.linspace(52_000, 12_000, WIDTH)[None, :, None] * np.linspace(1.0, 0.6, channels)[None, None, :]
    grain = chance.normal(0, 300, (64, WIDTH, channels))
    block = np.clip(ramp + grain, 0, 65_535).astype(np.uint16)

    def strips() -> Any:
        for row in range(0, height, 40):
            yield np.roll(block, row, axis=0)[: min(40, height - row)]

    shape = (height, WIDTH) if channels == 1 else (height, WIDTH, channels)
    rows = (strip[..., 0] if channels == 1 else strip for strip in strips())
    tifffile.imwrite(
        path,
        rows,
        shape=shape,
        dtype=np.uint16,
        photometric="minisblack" if channels == 1 else "rgb",
        rowsperstrip=40,
        bigtiff=height * WIDTH * channels * 2 > 4_000_000_000 or height != HEIGHT,
        resolution=(2400, 2400),
        resolutionunit="INCH",
    )


def steps_of(channels: int) -> Any:
    """Return steps as a proposal for such a scan has them."""
    from catalog.imaging.tone_steps import tone_step

    return (
        tone_step("coding", values="gamma 2.2"),
        tone_step("invert"),
        tone_step("base", density=0.2 if channels == 1 else [0.28, 0.62, 0.84]),
        tone_step("points", black_d=0.05, white_d=1.2),
        tone_step("curve", grade=2),
    )


def ours(scan: Path, out: Path, channels: int) -> float:
    """Make and write the positive."""
    from catalog.imaging.positives import write_positive

    begun = time.perf_counter()
    write_positive(scan, steps_of(channels), out)
    return time.perf_counter() - begun


def copy(scan: Path, out: Path, channels: int) -> float:
    """Copy the file with libvips, decoded and written again, and force it to disk."""
    import pyvips

    pyvips.cache_set_max(0)
    begun = time.perf_counter()
    pyvips.Image.tiffload(str(scan), access="sequential", fail_on="error").tiffsave(str(out), bigtiff=False)
    _force(out)
    return time.perf_counter() - begun


def whole_array(scan: Path, out: Path, channels: int) -> float:
    """Do the same steps with the picture as one array: read, look up, write, force to disk."""
    import numpy as np
    import tifffile

    from catalog.imaging._tone_table import tone_tables

    begun = time.perf_counter()
    pixels = tifffile.imread(scan)
    tables = tone_tables(steps_of(channels), channels=channels, bits=16)
    if channels == 1:
        made = tables[0][pixels]
    else:
        made = np.stack([tables[channel][pixels[..., channel]] for channel in range(channels)], axis=-1)
    tifffile.imwrite(out, made, photometric="minisblack" if channels == 1 else "rgb")
    _force(out)
    return time.perf_counter() - begun


def to_nowhere(scan: Path, out: Path, channels: int) -> float:
    """Decode and look up, and throw the rows away."""
    import pyvips

    from catalog.imaging._tone_table import output_profile
    from catalog.imaging.open_pixels import open_picture
    from catalog.imaging.positives import toned

    begun = time.perf_counter()
    image = toned(open_picture(scan).image, steps_of(channels), output_profile(steps_of(channels), channels))
    target = pyvips.TargetCustom()
    target.on_write(len)
    image.rawsave_target(target)
    return time.perf_counter() - begun


def reading(scan: Path, out: Path, channels: int) -> float:
    """Read what matters for the picture: a small copy and a count of values."""
    from catalog.imaging.scan_reading import read_tones

    begun = time.perf_counter()
    read_tones(scan)
    return time.perf_counter() - begun


WAYS = {"ours": ours, "copy": copy, "array": whole_array, "nowhere": to_nowhere, "reading": reading}


def _force(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


def measured(way: str, scan: str, out: str, channels: int) -> None:
    """Print the seconds and the peak memory of one way; called in a process of its own."""
    seconds = WAYS[way](Path(scan), Path(out), channels)
    print(json.dumps([seconds, peak_mb()]))


def _run(way: str, scan: Path, channels: int) -> tuple[float, float]:
    out = scan.with_name("out.tif")
    code = (
        f"from tests.benchmarks.positives import measured; measured({way!r}, {str(scan)!r}, {str(out)!r}, {channels})"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    out.unlink(missing_ok=True)
    seconds, peak = json.loads(done.stdout)
    return seconds, peak


def measure() -> list[Row]:
    """Return what was measured, beside its goals."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory(prefix="tiebeam-benchmark-") as name:
        scan = Path(name) / "scan.tif"
        for channels, words in ((1, "grey"), (3, "RGB")):
            write_sheet(scan, channels=channels)
            rows += _rows_of(scan, channels, words)
            scan.unlink()
        write_sheet(scan, channels=3, height=BIG_HEIGHT)
        size = scan.stat().st_size / 1e9
        seconds, peak = _run("ours", scan, 3)
        rows.append(Row(f"positive, BigTIFF of {size:.1f} GB: time", seconds, None, "s"))
        rows.append(Row(f"positive, BigTIFF of {size:.1f} GB: peak memory", peak, GOAL_MB, "MB"))
    return rows


def _rows_of(scan: Path, channels: int, words: str) -> list[Row]:
    ways = list(WAYS)
    _run("copy", scan, channels)  # the file is in memory for all of them
    taken: dict[str, list[tuple[float, float]]] = {way: [] for way in ways}
    for _ in range(ROUNDS):
        for way in ways:
            taken[way].append(_run(way, scan, channels))
    seconds = {way: sorted(one for one, _ in taken[way])[ROUNDS // 2] for way in ways}
    peak = max(mb for _, mb in taken["ours"])
    return [
        Row(f"positive, {words}: time", seconds["ours"], None, "s"),
        Row(f"positive, {words}: against copying the file", seconds["ours"] / seconds["copy"], GOAL_RATIO, "times"),
        Row(f"positive, {words}: against whole-array numpy", seconds["ours"] / seconds["array"], 1.0, "times"),
        Row(f"positive, {words}: peak memory", peak, GOAL_MB, "MB"),
        Row(f"  of it decoding and tables, nothing written, {words}", seconds["nowhere"], None, "s"),
        Row(f"reading the scan's tones, {words}", seconds["reading"], None, "s"),
        Row(f"reading the scan's tones, {words}: peak memory", max(mb for _, mb in taken["reading"]), GOAL_MB, "MB"),
    ]


if __name__ == "__main__":
    print_rows(measure())
