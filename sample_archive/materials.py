"""What walls, roofs and openings look like: each paints a patch in metres, u along the wall, v up."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, floor, sin

import numpy as np

from .rendering import GREY, Array, Patch, Tint, coverage

WEATHERED: Tint = (1.0, 0.95, 0.86)
WHITEWASH: Tint = (1.0, 0.99, 0.95)
TIN: Tint = (0.92, 0.98, 1.0)
RUST: Tint = (1.0, 0.62, 0.42)
BRICK: Tint = (1.0, 0.62, 0.48)
STONE: Tint = (1.0, 0.97, 0.90)
SLATE: Tint = (0.90, 0.95, 1.0)
TILE_RED: Tint = (1.0, 0.66, 0.52)
GLASS: Tint = (0.85, 0.95, 1.0)
GREEN: Tint = (0.72, 1.0, 0.42)


def boards(patch: Patch, *, tone: float = 0.42, width: float = 0.21, tint: Tint = WEATHERED, worn: float = 1.0) -> None:
    """Lapped boards lying level: a shadow under each butt, joints here and there, weather down the wall."""
    noise = patch.noise
    row = np.floor(patch.v / width)
    part = patch.v / width - row
    piece = np.floor((patch.u + 2.7 * noise.of(row * 17 + 5)) / 3.4)
    own = noise.of(row * 31 + piece * 7) - 0.5
    streak = noise.at(noise.fractal, patch.u, patch.v, 22, 260)
    weather = noise.at(noise.fractal, patch.u, patch.v, 46, 9, 300)
    value = tone * (1 + worn * (0.34 * own + 0.10 * streak + 0.13 * weather) + 0.10 * (0.5 - part))
    patch.paint(1.0, np.clip(value, 0.03, 0.95), tint)
    fine = patch.foot / width
    reach = min(0.5, 0.018 * max(0.35, patch.shadow_reach[1] if patch.shadow_reach else 0.6) / width)
    butt = coverage(part - (1 - reach), max(fine, 0.05)) * max(0.0, 1 - 0.6 * fine)
    patch.shadow(butt, 0.85)
    patch.occlude(0.45 * butt)
    joint = (patch.u + 2.7 * noise.of(row * 17 + 5)) / 3.4 - piece
    patch.paint(coverage(0.006 - joint * 3.4, patch.foot) * 0.7, tone * 0.3, tint)


def battens(patch: Patch, *, tone: float = 0.36, width: float = 0.24, tint: Tint = WEATHERED) -> None:
    """Upright boards with a batten over each joint."""
    noise = patch.noise
    column = np.floor(patch.u / width)
    part = patch.u / width - column
    own = noise.of(column * 13 + 3) - 0.5
    streak = noise.at(noise.fractal, patch.u, patch.v, 240, 16)
    patch.paint(1.0, np.clip(tone * (1 + 0.4 * own + 0.16 * streak), 0.03, 0.95), tint)
    fine = max(patch.foot / width, 0.04)
    batten = coverage(0.14 - np.abs(part - 0.5), fine)
    patch.paint(batten * 0.5, tone * 1.15, tint)
    reach = abs(patch.shadow_reach[0]) * 0.022 / width if patch.shadow_reach else 0.08
    side = np.sign(patch.shadow_reach[0]) if patch.shadow_reach else 1.0
    from_edge = (0.5 - part) * side - 0.14
    patch.shadow(coverage(from_edge, fine) * coverage(min(reach, 0.3) - from_edge, fine), 0.8)


def metal(patch: Patch, *, tone: float = 0.52, rib: float = 0.076, rusty: float = 0.5) -> None:
    """Corrugated sheets hung upright, with laps, nails and the rust below them."""
    noise = patch.noise
    sheet = np.floor(patch.u / 0.66)
    course = np.floor(patch.v / 2.1 + 0.15)
    own = noise.of(sheet * 11 + course * 37) - 0.5
    slant = patch.shadow_reach[0] if patch.shadow_reach else 0.4
    ribs = np.sin(patch.u * np.float32(2 * np.pi / rib)) * max(0.0, 1 - 1.4 * patch.foot / rib)
    stain = noise.at(noise.fractal, patch.u, patch.v, 60, 7, 100)
    value = tone * (1 + 0.22 * own + 0.24 * np.clip(slant, -1, 1) * ribs + 0.08 * stain)
    patch.paint(1.0, np.clip(value, 0.03, 0.95), TIN)
    below = patch.v / 2.1 + 0.15 - course
    lap = coverage(0.012 - np.abs(below), max(patch.foot / 2.1, 0.004))
    patch.paint(lap * 0.6, tone * 0.45, TIN)
    seam = patch.u / 0.66 - sheet
    patch.paint(coverage(0.012 - seam * 0.66, patch.foot) * 0.45, tone * 0.5, TIN)
    rust = np.clip(stain + 1.3 * (below - 0.55) + own - (1.3 - rusty), 0, 1) * rusty
    patch.paint(rust, tone * 0.42, RUST)


def courses(
    patch: Patch,
    *,
    tone: float,
    tint: Tint,
    height: float = 0.075,
    length: float = 0.225,
    joint: float = 0.009,
    joint_tone: float = 0.5,
    rough: float = 0.25,
) -> None:
    """Bricks, stones, tiles or slates in courses."""
    noise = patch.noise
    row = np.floor(patch.v / height)
    along = patch.u / length + 0.5 * (row - 2 * np.floor(row / 2)) + 0.3 * noise.of(row * 5 + 1) * (rough > 0.3)
    brick = np.floor(along)
    own = noise.of(row * 57 + brick * 3) - 0.5
    weather = noise.at(noise.fractal, patch.u, patch.v, 40, 40)
    fade = max(0.0, 1 - 0.5 * patch.foot / height)
    value = tone * (1 + rough * 1.6 * own * fade + 0.16 * weather)
    patch.paint(1.0, np.clip(value, 0.03, 0.95), tint)
    across, up = (along - brick) * length, patch.v - row * height
    gap = np.maximum(coverage(joint - across, patch.foot), coverage(joint - up, patch.foot))
    patch.paint(gap * fade, joint_tone, STONE)


def brick(patch: Patch) -> None:
    courses(patch, tone=0.30, tint=BRICK, joint_tone=0.40)


def stone(patch: Patch) -> None:
    courses(patch, tone=0.40, tint=STONE, height=0.24, length=0.52, joint=0.022, joint_tone=0.30, rough=0.42)


def slates(patch: Patch) -> None:
    courses(patch, tone=0.22, tint=SLATE, height=0.19, length=0.28, joint=0.012, joint_tone=0.10, rough=0.30)


def tiles(patch: Patch) -> None:
    courses(patch, tone=0.25, tint=TILE_RED, height=0.11, length=0.17, joint=0.012, joint_tone=0.11, rough=0.35)


def whitewash(patch: Patch) -> None:
    boards(patch, tone=0.80, tint=WHITEWASH, worn=0.35)


def plaster(patch: Patch) -> None:
    noise = patch.noise
    stain = noise.at(noise.fractal, patch.u, patch.v, 30, 14)
    patch.paint(
        1.0,
        np.clip(0.70 * (1 + 0.07 * stain + 0.02 * noise.at(noise.fine, patch.u, patch.v, 90, 90)), 0, 0.95),
    )


def charred(patch: Patch) -> None:
    """A stone wall after a fire: soot in tongues above where the openings were."""
    stone(patch)
    noise = patch.noise
    tongue = noise.at(noise.fractal, patch.u, patch.v, 70, 18, 77)
    patch.paint(np.clip(0.35 + 0.35 * tongue + 0.05 * patch.v, 0, 0.9), 0.06)


def plain(tone: float, tint: Tint = GREY):
    """Return a painter of one tone with a little life in it."""

    def shade(patch: Patch) -> None:
        speck = patch.noise.at(patch.noise.fractal, patch.u, patch.v, 60, 60)
        patch.paint(1.0, np.clip(tone * (1 + 0.09 * speck), 0.01, 0.95), tint)

    return shade


WALLS = {
    "boards": boards,
    "whitewash": whitewash,
    "metal": metal,
    "battens": battens,
    "brick": brick,
    "stone": stone,
    "plaster": plaster,
    "charred": charred,
}
ROOFS = {"slates": slates, "tiles": tiles, "metal": metal}


@dataclass(frozen=True, slots=True)
class Opening:
    """A hole in a wall and what fills it: sash, casement, door, loft, dark, boarded, sky."""

    u: float
    v: float
    width: float
    height: float
    kind: str = "sash"


def opening(patch: Patch, hole: Opening) -> None:
    """Cut an opening into a wall: frame, glass and bars or planks, the shadow of its reveal, its sill."""
    part = patch.window(hole.u, hole.v, hole.width, hole.height)
    if part is None:
        return
    if hole.kind in {"sash", "casement", "bright"}:
        _trim(part, hole)
        _glass(part, hole)
    elif hole.kind in {"door", "loft", "boarded"}:
        _trim(part, hole)
        _planks(part, hole)
    else:
        _hole(part, hole)
    if hole.kind not in {"sky", "bright"}:
        _reveal(part, hole)


def _trim(part: Patch, hole: Opening) -> None:
    edge = part.box(hole.u - 0.1, hole.v - 0.04, hole.width + 0.2, hole.height + 0.16)
    part.paint(edge, 0.66, WHITEWASH)
    part.lit += edge * (1 - part.lit)
    sill = part.box(hole.u - 0.16, hole.v - 0.10, hole.width + 0.32, 0.08)
    part.paint(sill, 0.72, WHITEWASH)
    if part.shadow_reach:
        drop = 0.07 * part.shadow_reach[1]
        part.shadow(part.box(hole.u - 0.16, hole.v - 0.10 - drop, hole.width + 0.32, drop), 0.8)


def _glass(part: Patch, hole: Opening) -> None:
    pane = part.box(hole.u, hole.v, hole.width, hole.height)
    rise = (part.v - hole.v) / hole.height
    own = part.noise.of(np.array(floor(hole.u * 13 + hole.v * 101)))
    mirrored = part.noise.at(part.noise.fractal, part.u, part.v, 30, 60, int(own * 900))
    if hole.kind == "bright":
        part.paint(pane, 1.6)
    else:
        part.paint(pane, np.clip(0.035 + 0.10 * own * rise + 0.03 * mirrored, 0.01, 0.5), GLASS)
    across, up = (2, 3) if hole.kind == "casement" else (3, 4)
    bar = np.zeros_like(part.u)
    for index in range(across + 1):
        place = hole.u + hole.width * index / across
        half = 0.035 if index in (0, across) else 0.016
        np.maximum(bar, coverage(half - np.abs(part.u - place), part.foot), out=bar)
    for index in range(up + 1):
        place = hole.v + hole.height * index / up
        half = 0.035 if index in (0, up) or index * 2 == up else 0.016
        np.maximum(bar, coverage(half - np.abs(part.v - place), part.foot), out=bar)
    part.paint(bar * pane, 0.62, WHITEWASH)


def _planks(part: Patch, hole: Opening) -> None:
    leaf = part.box(hole.u, hole.v, hole.width, hole.height)
    tone = 0.16 if hole.kind != "boarded" else 0.33
    column = np.floor((part.u - hole.u) / 0.17)
    own = part.noise.of(column * 19 + 2) - 0.5
    grain = part.noise.at(part.noise.fractal, part.u, part.v, 200, 12)
    part.paint(leaf, np.clip(tone * (1 + 0.5 * own + 0.14 * grain), 0.02, 0.9), WEATHERED)
    joint = (part.u - hole.u) / 0.17 - column
    part.paint(leaf * coverage(0.012 - joint * 0.17, part.foot), tone * 0.3)
    for up in (0.18, 0.78):
        part.paint(
            leaf * coverage(0.05 - np.abs(part.v - hole.v - up * hole.height), part.foot),
            tone * 1.4,
            WEATHERED,
        )


def _hole(part: Patch, hole: Opening) -> None:
    inside = part.box(hole.u, hole.v, hole.width, hole.height)
    if hole.kind == "sky":
        part.paint(inside, 0.55 / max(0.2, part.scene.sky_light + part.direct), GLASS)
        part.lit += inside * (1 - part.lit)
        part.open_sky += inside * (1 - part.open_sky)
    else:
        part.paint(inside, 0.02)


def _reveal(part: Patch, hole: Opening, depth: float = 0.11) -> None:
    """The shadow that the edges of an opening throw into it."""
    inside = part.box(hole.u, hole.v, hole.width, hole.height)
    if part.shadow_reach is None:
        part.occlude(inside * 0.35)
        return
    across, up = part.shadow_reach
    lit = part.box(hole.u - across * depth, hole.v - up * depth, hole.width, hole.height)
    part.shadow(inside * (1 - lit), 0.9)


def signboard(patch: Patch, u: float, v: float, width: float, height: float, words: str) -> None:
    """A painted board with lettering on it."""
    part = patch.window(u, v, width, height)
    if part is None:
        return
    board = part.box(u, v, width, height)
    part.paint(board, 0.10)
    rim = board * (1 - part.box(u + 0.04, v + 0.04, width - 0.08, height - 0.08))
    part.paint(rim, 0.6, WHITEWASH)
    part.paint(board * lettering(part, u + 0.1, v + 0.06, width - 0.2, height - 0.12, words), 0.85, WHITEWASH)
    if part.shadow_reach:
        across, up = (part.shadow_reach[0] * 0.06, part.shadow_reach[1] * 0.06)
        part.shadow(part.box(u - across, v - up, width, height) * (1 - board), 0.8)


def lettering(part: Patch, u: float, v: float, width: float, height: float, words: str) -> Array:
    """Return how far each pixel lies in the letters, fitted into a rectangle."""
    from .lettering import letters

    size = max(8, min(96, int(height / part.foot * 1.3)))
    ink = letters(words, size, width / height)
    column = np.clip((part.u - u) / width * ink.shape[1], -1, ink.shape[1]).astype(np.int32)
    row = np.clip((v + height - part.v) / height * ink.shape[0], -1, ink.shape[0]).astype(np.int32)
    inside = (column >= 0) & (column < ink.shape[1]) & (row >= 0) & (row < ink.shape[0])
    return np.where(inside, ink[np.clip(row, 0, ink.shape[0] - 1), np.clip(column, 0, ink.shape[1] - 1)], 0)


def wheel(patch: Patch, *, radius: float) -> None:
    """A breastshot wheel seen from its side; what lies between its arms is left out of the cover."""
    from_hub = np.sqrt(patch.u**2 + patch.v**2)
    angle = np.arctan2(patch.v, patch.u)
    arm = np.abs(np.sin(angle * 4)) * from_hub / 4
    paddle = np.abs(np.sin(angle * 16)) * from_hub / 16
    solid = np.maximum.reduce(
        [
            coverage(0.13 - np.abs(from_hub - radius * 0.88), patch.foot),
            coverage(0.08 - arm, patch.foot) * coverage(radius * 0.9 - from_hub, patch.foot),
            coverage(0.06 - paddle, patch.foot) * coverage(from_hub - radius * 0.80, patch.foot),
            coverage(0.3 - from_hub, patch.foot),
        ]
    ) * coverage(radius - from_hub, patch.foot)
    patch.cover *= solid
    grain = patch.noise.at(patch.noise.fractal, patch.u, patch.v, 60, 60)
    patch.paint(1.0, np.clip(0.18 * (1 + 0.3 * grain), 0.02, 0.9), WEATHERED)


def tree(patch: Patch, *, size: float, bare: bool, seed: int, tone: float = 0.20) -> None:
    """A tree: a trunk and a crown with ragged edges, lit on its sunny side; ``bare`` shows its twigs."""
    noise = patch.noise
    middle = size * 0.62
    x, y = patch.u / (size * 0.40), (patch.v - middle) / (size * 0.40)
    ragged = noise.at(noise.fractal, patch.u, patch.v, 420 / size, 420 / size, seed)
    clump = noise.at(noise.soft, patch.u, patch.v, 900 / size, 900 / size, seed)
    leaves = noise.at(noise.fine, patch.u, patch.v, 900 / size, 900 / size, seed)
    inside = 1 - (x * x + y * y) + 0.22 * ragged + 0.22 * clump
    if bare:
        up = patch.v - 0.26 * size
        reach = np.hypot(patch.u, up)
        turn = np.arctan2(patch.u, up) * 5 + 0.5 * ragged * np.minimum(reach / size, 0.5) + 0.7 * clump
        bough = coverage(0.016 * size * (1.25 - 1.6 * reach / size) - np.abs(np.sin(turn)) * reach / 5, patch.foot)
        twigs = coverage(0.30 - np.abs(noise.at(noise.fractal, patch.u, patch.v, 1500 / size, 1100 / size, seed)), 0.25)
        crown = np.maximum(np.clip(inside * 2.5, 0, 1) * 0.55 * twigs, bough * (up > 0) * (inside > -0.2))
    else:
        crown = np.clip(inside * 6 + 0.6 * leaves, 0, 1)
    trunk = coverage(size * 0.028 * (1.3 - patch.v / size) - np.abs(patch.u), patch.foot) * coverage(
        middle - patch.v, patch.foot
    )
    patch.cover *= np.maximum(crown, trunk)
    sun = patch.scene.sun_vector
    turned = atan2(sun[2], sun[0])
    lit = 0.62 + 0.30 * np.clip(x * cos(turned) + y * sin(turned), -1, 1) + 0.10 * clump + 0.13 * ragged + 0.15 * leaves
    tint = WEATHERED if bare else GREEN
    patch.paint(1.0, np.clip(tone * lit * (0.75 if bare else 1.0), 0.02, 0.8), tint)
    patch.direct = max(patch.direct, 0.45 * patch.scene.sun.power)
