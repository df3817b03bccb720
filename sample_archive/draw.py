"""
Draws the scans of the sample archive: invented buildings, invented film, the same every time.

Run by itself (``python draw.py FOLDER``), imported as part of its package, or loaded by its path alone.
"""

from __future__ import annotations

import importlib
import sys
import zlib
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

SEED = 1974
DESCRIPTION = "Invented: a drawing made by a program; no such building, film or photographer exists."
FULL_WIDTH, FULL_HEIGHT, FULL_STEP = 9600, 12000, 5
SCANNER = ("Tessaly", "Flatfield 4800", "TessalyScan 3.1")


def _part(name: str) -> ModuleType:
    """Return a module of this folder, made a package if this file was loaded by its path alone."""
    package = __package__ or ""
    if package not in sys.modules or not hasattr(sys.modules[package], "__path__") or not package:
        package = "tiebeam_sample_archive"
        if package not in sys.modules:
            made = ModuleType(package)
            made.__path__ = [str(Path(__file__).parent)]
            sys.modules[package] = made
    return importlib.import_module(f"{package}.{name}")


@lru_cache(maxsize=1)
def _noise() -> Any:
    return _part("rendering").Noise(SEED)


def sheet_of(frame: Any, *, portrait: bool = False) -> Any:
    """Return the film a frame is on: a 4x5 sheet in its holder's opening, or 6x9 roll film."""
    film = _part("film")
    kind = film.FILMS[frame.film]
    if kind.is_roll:
        return film.Sheet(kind, (200.0, 61.5), (84.0, 56.0), (92.0, 66.0), kind.name, "", ())
    notches = {
        "pan100": (6.0, 9.0, 12.0),
        "pan400": (6.0, 12.0),
        "colour": (7.0,),
        "chrome": (6.0, 8.5, 11.0, 16.0),
    }
    sizes = [(126.0, 100.6), (120.0, 95.0), (127.0, 101.6)]
    if portrait:
        sizes = [(short, long) for long, short in sizes]
    return film.Sheet(kind, *sizes, kind.name, frame.ink or frame.number, notches[frame.film])


def densities(frame: Any, *, width: int, portrait: bool = False) -> Any:
    """Return the densities of a scan of a frame, grain and dust included, as rows x columns x channels."""
    film, scenes, rendering = _part("film"), _part("scenes"), _part("rendering")
    sheet = sheet_of(frame, portrait=portrait)
    rng = np.random.default_rng([SEED, zlib.crc32(frame.path.encode())])
    sun = rendering.sun_at(frame.day.timetuple().tm_yday, frame.hour, power=frame.power)
    columns, rows = film.picture_size(sheet, width)
    if frame.scene is None:
        picture = np.broadcast_to(np.array(sheet.film.base_fog, np.float32), (rows, columns, len(sheet.film.base_fog)))
    else:
        seen = [
            scenes.see(scene, sheet, sun, _noise(), focal_length_mm=frame.focal_length_mm, width=width)
            for scene in (frame.scene, frame.also)
            if scene is not None
        ]
        light = sum(one * np.float32(2.0 ** film.metered(one)) for one in seen)
        picture = film.density(sheet.film, light, frame.stops)
    width, height = film.canvas_size(sheet, width)
    whole = film.laid_under(sheet, picture, width, height, _noise(), rng)
    if frame.shift_px != (0, 0):
        whole = np.roll(whole, frame.shift_px, axis=(0, 1))
    return whole[:, ::-1] if frame.is_reversed else whole


def draw_scan(path: Path, frame: Any, *, width: int, compress: bool = False) -> Path:
    """Draw one scan of a frame into ``path``."""
    rng = np.random.default_rng([SEED, 16, zlib.crc32(frame.path.encode())])
    values = _part("film").scanned(densities(frame, width=width), rng)
    if values.shape[2] == 1:
        values = values[..., 0]
    path.parent.mkdir(parents=True, exist_ok=True)
    _write(path, values, frame, width / (sheet_of(frame).canvas_mm[0] / 25.4), compress=compress)
    return path


def _tags(frame: Any, ppi: float) -> dict[str, Any]:
    """Return what a scanner writes beside the picture. Its date is the scan's, never the exposure's."""
    maker, model, software = SCANNER
    return {
        "resolution": (ppi, ppi),
        "resolutionunit": "INCH",
        "software": software,
        "datetime": frame.scanned,
        "description": DESCRIPTION,
        "metadata": None,
        "extratags": [(271, "s", 0, maker, True), (272, "s", 0, model, True)],
    }


def _write(path: Path, values: Any, frame: Any, ppi: float, *, compress: bool) -> None:
    import tifffile

    grey = values.ndim == 2
    tifffile.imwrite(
        path,
        np.ascontiguousarray(values),
        byteorder="<",
        photometric="minisblack" if grey else "rgb",
        rowsperstrip=64,
        compression="zlib" if compress else None,
        predictor=bool(compress),
        **_tags(frame, ppi),
    )


def draw_scans(
    folder: Path,
    *,
    width: int = 1200,
    height: int = 960,
    only: Iterable[str] | None = None,
    with_trouble: bool = False,
) -> list[Path]:
    """
    Draw the scans into ``folder``, in folders by year or box, and return where they are.

    A scan is ``width`` pixels wide and as high as its film asks: 4:5 for sheets, lower for roll film;
    ``height`` limits the width of all. ``only`` names file names or sheet numbers. ``with_trouble`` adds
    a truncated copy, an empty file and a companion that some systems leave (``._78-14.tif``).
    """
    width = min(width, height * 5 // 4)
    wanted = None if only is None else set(only)
    frames: Sequence[Any] = [
        frame
        for frame in _part("frames").FRAMES
        if wanted is None or wanted & {frame.number, frame.path, Path(frame.path).name}
    ]
    _noise()
    with ThreadPoolExecutor(max_workers=2) as pool:
        drawn = list(pool.map(lambda frame: draw_scan(folder / frame.path, frame, width=width), frames))
    return drawn + (_trouble(folder, width) if with_trouble else [])


def _trouble(folder: Path, width: int) -> list[Path]:
    """Write what goes wrong with files: a copy cut short, one that never began, a companion."""
    frames = {frame.path: frame for frame in _part("frames").FRAMES}
    good = folder / "1978/78-14.tif"
    if not good.exists():
        draw_scan(good, frames["1978/78-14.tif"], width=width)
    content = good.read_bytes()
    found = []
    for name, part in (
        ("1978/78-30 copy.tif", content[: len(content) * 2 // 5]),
        ("1978/78-31.tif", b""),
        ("1978/._78-14.tif", b"\x00\x05\x16\x07\x00\x02\x00\x00Mac OS X        " + bytes(4072)),
    ):
        (folder / name).write_bytes(part)
        found.append(folder / name)
    return found


def draw_full_size(path: Path) -> Path:
    """
    Draw one scan of 9,600 x 12,000 pixels, 16-bit grey, as a 4x5 sheet at 2,400 ppi has them.

    Scene and film are drawn at a fifth of the size and spread band by band, each band with grain of its
    own, so that memory stays small.
    """
    import tifffile

    frame = _part("frames").FULL_SIZE
    low = densities(frame, width=FULL_WIDTH // FULL_STEP, portrait=True)[..., 0]
    path.parent.mkdir(parents=True, exist_ok=True)
    rows = 240
    with tifffile.TiffWriter(path, byteorder="<") as tiff:
        tiff.write(
            _bands(low, rows),
            shape=(FULL_HEIGHT, FULL_WIDTH),
            dtype=np.uint16,
            photometric="minisblack",
            rowsperstrip=rows,
            **_tags(frame, 2400.0),
        )
    return path


def _bands(low: Any, rows: int) -> Iterator[Any]:
    """Yield the full-size scan in bands of ``rows``."""
    film = _part("film")
    rng = np.random.default_rng([SEED, 2400])
    left, right, across = _steps(FULL_WIDTH, low.shape[1])
    columns = np.arange(FULL_WIDTH) & 1023
    for top in range(0, FULL_HEIGHT, rows):
        upper, lower, down = _steps(FULL_HEIGHT, low.shape[0], top, top + rows)
        first = int(upper[0])
        part = low[first : int(lower[-1]) + 1]
        part = part[:, left] * (1 - across) + part[:, right] * across
        whole = part[upper - first] * (1 - down[:, None]) + part[lower - first] * down[:, None]
        grain = _noise().grain[(np.arange(rows) + rng.integers(1024)) & 1023][:, columns]
        whole += grain * (np.float32(0.05) * whole)
        yield film.scanned(whole[..., None], rng)[..., 0]


def _steps(size: int, low: int, start: int = 0, stop: int | None = None) -> tuple[Any, Any, Any]:
    """Return, for each place of a line, its two neighbours in the smaller line and its place between."""
    place = (np.arange(start, size if stop is None else stop) + 0.5) * (low / size) - 0.5
    place = np.clip(place, 0, low - 1)
    before = np.floor(place).astype(np.int64)
    return before, np.minimum(before + 1, low - 1), (place - before).astype(np.float32)


def draw_small_scans(folder: Path) -> list[Path]:
    """Draw the six small scans that the repository keeps."""
    small = _part("frames").SMALL
    frames = [frame for frame in _part("frames").FRAMES if Path(frame.path).name in small]
    return [draw_scan(folder / Path(frame.path).name, frame, width=240, compress=True) for frame in frames]


if __name__ == "__main__":
    draw_scans(Path(sys.argv[1]), with_trouble="--with-trouble" in sys.argv[2:])
