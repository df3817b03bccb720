"""
From light to a scan of film: exposure, film curve, grain, rebate, notch, lettering, orange mask.

Densities are logarithms to base 10 of 1 / transmittance. A scanner lays the sheet on open glass, so that
outside the film all light comes through.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .lettering import letters
from .rendering import Array, Noise, coverage

OPEN_GLASS = 0.0


@dataclass(frozen=True, slots=True)
class Film:
    """A film by its look. Densities of base and fog stand for red, green and blue; one value for grey."""

    name: str
    base_fog: tuple[float, ...]
    gamma: float
    dmax: float
    grain: float
    is_reversal: bool = False
    is_roll: bool = False


# Zone V about 0.65-0.75 over base and fog, Zone VIII 1.25-1.35: Adams, The Negative (1981), from memory.
# The orange mask is common practice: least density for red, most for blue.
FILMS = {
    "pan100": Film("OSTRANE PAN 100", (0.16,), 0.62, 2.0, 0.018),
    "pan400": Film("OSTRANE PAN 400", (0.20,), 0.60, 1.9, 0.032),
    "roll": Film("OSTRANE PAN 100", (0.24,), 0.60, 1.9, 0.026, is_roll=True),
    "colour": Film("DORRAN COLOUR N", (0.28, 0.62, 0.84), 0.56, 2.2, 0.020),
    "chrome": Film("DORRAN CHROME 64", (0.14, 0.14, 0.16), 1.45, 3.0, 0.014, is_reversal=True),
}


def density(film: Film, light: Array, stops: float = 0.0) -> Array:
    """Return the density that light leaves in a film, base and fog included."""
    flared = light * np.float32(2.0**stops) + np.float32(0.006)
    exposure = np.log10(np.maximum(flared, 1e-4) / 0.18).astype(np.float32)
    base = np.array(film.base_fog, np.float32)
    if film.is_reversal:
        return base + film.dmax / (1 + np.exp(2.4 * film.gamma * (exposure + 0.02) + 0.15))
    # A toe, a straight part of slope gamma (0.70 for 18 % grey, about 1.27 for Zone VIII), a shoulder.
    rounded = np.float32(0.18) * np.logaddexp(np.float32(0), (exposure + np.float32(1.13)) / np.float32(0.18))
    straight = np.float32(film.gamma) * rounded
    return base + straight / (1 + (straight / np.float32(film.dmax)) ** 6) ** np.float32(1 / 6)


def metered(light: Array) -> float:
    """Return the stops that bring a picture's geometric mean to a little under 18 % grey."""
    mean = float(np.exp(np.log(np.maximum(light[::7, ::7], 1e-3)).mean()))
    return float(np.log2(0.15 / mean))


def soften(light: Array) -> Array:
    """Spread light a little, as a lens and an emulsion do."""
    padded = np.pad(light, ((1, 1), (1, 1), (0, 0)), mode="edge")
    level = padded[:, :-2] * 0.2 + padded[:, 1:-1] * 0.6 + padded[:, 2:] * 0.2
    return level[:-2] * 0.2 + level[1:-1] * 0.6 + level[2:] * 0.2


@dataclass(frozen=True, slots=True)
class Sheet:
    """A piece of film as it lies under the scanner; sizes in mm, notches from the top of the edge."""

    film: Film
    size_mm: tuple[float, float]
    opening_mm: tuple[float, float]
    canvas_mm: tuple[float, float]
    edge_words: str = ""
    ink: str = ""
    notches: tuple[float, ...] = ()


def picture_size(sheet: Sheet, width: int) -> tuple[int, int]:
    """Return the pixels of the picture's opening in a scan ``width`` pixels wide."""
    scale = width / sheet.canvas_mm[0]
    return round(sheet.opening_mm[0] * scale), round(sheet.opening_mm[1] * scale)


def canvas_size(sheet: Sheet, width: int) -> tuple[int, int]:
    """Return the pixels of the whole scan."""
    return width, round(width * sheet.canvas_mm[1] / sheet.canvas_mm[0])


def laid_under(sheet: Sheet, picture: Array, width: int, height: int, noise: Noise, rng: np.random.Generator) -> Array:
    """
    Return the densities of the whole scan: picture, clear rebate, edge, notch, ink, dust, grain.

    ``picture`` holds densities for the opening, or nothing at all for a sheet that was never exposed.
    """
    base = np.array(sheet.film.base_fog, np.float32)
    channels = base.size
    scale = width / sheet.canvas_mm[0]
    unexposed = base + (sheet.film.dmax if sheet.film.is_reversal else 0.0)
    whole: Array = np.broadcast_to(unexposed, (height, width, channels)).astype(np.float32)
    rows, columns = picture.shape[:2]
    top, left = (height - rows) // 2, (width - columns) // 2
    _set_in(whole[top : top + rows, left : left + columns], picture, scale)
    _print_edge(whole, sheet, scale, rng)
    speckle = noise.grain[
        (np.arange(height)[:, None] * 1 + rng.integers(1024)) & 1023,
        (np.arange(width) + rng.integers(1024)) & 1023,
    ][..., None]
    over = np.sqrt(np.clip(whole - base, 0.0, 2.0) + 0.02)
    whole += speckle * over * np.float32(sheet.film.grain)
    np.maximum(whole, base * 0.7, out=whole)
    film = _outline(sheet, width, height, scale)
    whole *= film[..., None]
    _dust(whole, rng)
    return whole


def _set_in(into: Array, picture: Array, scale: float) -> None:
    """Lay the picture into its opening; the holder's rails leave slightly soft, rounded edges."""
    rows, columns = picture.shape[:2]
    x = np.arange(columns, dtype=np.float32)
    y = np.arange(rows, dtype=np.float32)
    inset_x = np.minimum(x, columns - 1 - x)[None, :]
    inset_y = np.minimum(y, rows - 1 - y)[:, None]
    radius = np.float32(0.6 * scale)
    corner = radius - np.hypot(np.maximum(radius - inset_x, 0), np.maximum(radius - inset_y, 0))
    cover = coverage(corner, 2.0)[..., None]
    into += cover * (picture - into)


def _print_edge(whole: Array, sheet: Sheet, scale: float, rng: np.random.Generator) -> None:
    """Put the maker's words (light on the film) and the number (ink) on the rebate."""
    height, width = whole.shape[:2]
    margin = (sheet.size_mm[1] - sheet.opening_mm[1]) / 2 * scale
    size = max(5, int(margin * 0.52))
    line = int((sheet.canvas_mm[1] - sheet.size_mm[1]) / 2 * scale + margin * 0.5)
    sign = -0.8 if sheet.film.is_reversal else 1.0
    if sheet.edge_words:
        _stamp(whole, letters(sheet.edge_words, size), height - line, int(width * 0.14), 0.9 * sign)
    if sheet.ink:
        tilt = int(rng.integers(-1, 2))
        _stamp(whole, letters(sheet.ink, max(6, int(size * 1.25))), line + tilt, int(width * 0.62), 1.3)


def _stamp(whole: Array, ink: Array, row: int, column: int, amount: float) -> None:
    top = max(0, row - ink.shape[0] // 2)
    target = whole[top : top + ink.shape[0], column : column + ink.shape[1]]
    target += ink[: target.shape[0], : target.shape[1], None] * np.float32(amount)
    np.maximum(target, 0.1, out=target)


def _outline(sheet: Sheet, width: int, height: int, scale: float) -> Array:
    """Return where there is film at all: its cut edge, and the code notches bitten out of it."""
    x = (np.arange(width, dtype=np.float32) + 0.5)[None, :]
    y = (np.arange(height, dtype=np.float32) + 0.5)[:, None]
    half_w, half_h = sheet.size_mm[0] / 2 * scale, sheet.size_mm[1] / 2 * scale
    cover: Array = coverage(half_w - np.abs(x - width / 2), 1.0) * coverage(half_h - np.abs(y - height / 2), 1.0)
    for along_mm in sheet.notches:
        # So that it reads correctly, a landscape sheet has its notches on the right edge near the top,
        # an upright one on the top edge near the left.
        if width >= height:
            row, column = height / 2 - half_h + along_mm * scale, width / 2 + half_w
        else:
            row, column = height / 2 - half_h, width / 2 - half_w + along_mm * scale
        bite = coverage(1.15 * scale - np.hypot(x - column, y - row), 1.0)
        cover = cover * (1 - bite)
    return cover


def _dust(whole: Array, rng: np.random.Generator) -> None:
    """Specks and a hair lie on the film or the glass and keep light off."""
    height, width = whole.shape[:2]
    for _ in range(int(rng.integers(3, 9))):
        row, column = int(rng.integers(2, height - 2)), int(rng.integers(2, width - 2))
        size = int(rng.integers(1, 3))
        whole[row : row + size, column : column + size] += np.float32(0.5)
    turn, row, column = rng.uniform(0, 6.28), rng.uniform(0.1, 0.9) * height, rng.uniform(0.1, 0.9) * width
    for _ in range(int(width * 0.03)):
        turn += rng.normal(0, 0.16)
        row, column = row + np.sin(turn), column + np.cos(turn)
        if 0 <= row < height and 0 <= column < width:
            whole[int(row), int(column)] += np.float32(0.3)


def scanned(densities: Array, rng: np.random.Generator) -> Array:
    """Return the 16-bit values a scanner writes for densities: transmittance, gamma 2.2, a little noise."""
    passed = np.power(np.float32(10.0), densities * np.float32(-1 / 2.2))
    tile = rng.standard_normal((64, densities.shape[1], 1)).astype(np.float32)
    noise = np.resize(tile, (densities.shape[0], densities.shape[1], 1))
    return np.clip(passed * np.float32(62500) + noise * np.float32(35) + 400, 0, 65535).astype(np.uint16)
