"""Buildings and the country round them as faces to draw, each building in the phase it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin, tan

import numpy as np

from . import materials
from .materials import Opening
from .rendering import Array, Canvas, Face, Patch, Point, coverage

LEFT, RIGHT, AWAY, NEAR, UP, DOWN = (
    (-1.0, 0.0, 0.0),
    (1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0),
    (0.0, -1.0, 0.0),
    (0.0, 0.0, 1.0),
    (0.0, 0.0, -1.0),
)
KINDS = {
    "w": "sash",
    "c": "casement",
    "d": "door",
    "l": "loft",
    "b": "boarded",
    "o": "dark",
    "s": "sky",
    "L": "bright",
}
SIZES = {
    "w": (0.95, 1.35),
    "c": (1.05, 0.95),
    "d": (1.15, 2.05),
    "l": (1.2, 1.7),
    "b": (0.95, 1.3),
    "o": (1.0, 1.3),
    "s": (1.0, 1.4),
    "L": (1.3, 2.3),
}


@dataclass(frozen=True, slots=True)
class Building:
    """
    A building as a box with a roof, in metres. ``rows`` are its openings, a text a storey, ground first.

    In ``rows`` a letter is an opening and a dot none: w sash, c casement, d door, l loft door, b boarded
    up, o dark hole, s hole with the sky behind. ``ragged`` is how much of its height a ruin has kept.
    """

    width: float = 11.0
    depth: float = 8.0
    eaves: float = 6.5
    pitch_deg: float = 42.0
    gable_to_front: bool = False
    wall: str = "boards"
    side_wall: str = ""
    roof: str = "slates"
    plinth: float = 0.7
    plinth_wall: str = "stone"
    storey: float = 2.6
    rows: tuple[str, ...] = ("wdw", "www")
    side_rows: tuple[str, ...] = ()
    sign: str = ""
    sign_at: tuple[float, float, float, float] | None = None
    lucam: bool = False
    porch: bool = False
    chimney: float | None = None
    wheel: bool = False
    staddles: bool = False
    pediment: bool = False
    ragged: float | None = None
    x: float = 0.0
    y: float = 0.0
    z: float = 0.0

    @property
    def ridge(self) -> float:
        span = self.width if self.gable_to_front else self.depth
        return self.eaves + span / 2 * tan(radians(self.pitch_deg))


def upright(
    x0: float, x1: float, y: float, z0: float, z1: float, shade: Callable[[Patch], None], out: Point = NEAR
) -> Face:
    """Return a wall that looks to the camera."""
    return Face((x0, y, z0), RIGHT, UP, out, ((0, 0), (x1 - x0, 0), (x1 - x0, z1 - z0), (0, z1 - z0)), shade)


def box(
    x0: float, x1: float, y0: float, y1: float, z0: float, z1: float, shade: Callable[[Patch], None]
) -> Iterator[Face]:
    """Yield the five faces of a box that can be seen from outside it; the side away is never seen."""
    wide, deep, high = x1 - x0, y1 - y0, z1 - z0
    yield Face((x0, y0, z1), RIGHT, AWAY, UP, ((0, 0), (wide, 0), (wide, deep), (0, deep)), shade)
    yield Face((x0, y1, z0), RIGHT, NEAR, DOWN, ((0, 0), (wide, 0), (wide, deep), (0, deep)), shade)
    yield Face((x0, y1, z0), NEAR, UP, LEFT, ((0, 0), (deep, 0), (deep, high), (0, high)), shade)
    yield Face((x1, y0, z0), AWAY, UP, RIGHT, ((0, 0), (deep, 0), (deep, high), (0, high)), shade)
    yield upright(x0, x1, y0, z0, z1, shade)


def laid_out(rows: Sequence[str], width: float, plinth: float, storey: float) -> list[Opening]:
    """Return the openings that rows of letters stand for, evenly spaced."""
    found = []
    for level, row in enumerate(rows):
        bay = width / max(1, len(row))
        for index, letter in enumerate(row):
            if letter == ".":
                continue
            wide, high = SIZES[letter]
            foot = plinth + level * storey + (0.05 if letter in "dl" else 0.85)
            found.append(Opening((index + 0.5) * bay - wide / 2, foot, wide, high, KINDS[letter]))
    return found


def building_faces(it: Building) -> Iterator[Face]:
    """Yield the faces of a building, the farthest first."""
    x0, x1, y0, y1 = it.x - it.width / 2, it.x + it.width / 2, it.y, it.y + it.depth
    if it.staddles:
        for index in range(3):
            x = x0 + 0.5 + index * (it.width - 1.0) / 2
            yield from box(x - 0.16, x + 0.16, y0 + 0.1, y0 + 0.4, it.z - 0.75, it.z - 0.12, materials.stone)
            yield from box(x - 0.34, x + 0.34, y0 - 0.05, y0 + 0.6, it.z - 0.14, it.z, materials.stone)
    walls = _walls(it, x0, x1, y0, y1)
    if it.ragged is not None:
        back = Face((x0, y1, it.z), RIGHT, UP, NEAR, walls[-1].polygon, _ruin_shader(it, inside=True))
        yield back
        yield from walls
        return
    yield from _roof_behind(it, x0, x1, y0, y1)
    if it.gable_to_front:
        yield from _chimney(it, x0, y0)
    yield from walls
    yield from _roof_before(it, x0, x1, y0, y1)
    if not it.gable_to_front:
        yield from _chimney(it, x0, y0)
    if it.wheel:
        for x in (x1 + 0.25, x1 + 1.25):
            yield Face(
                (x, y0 + 3.0, it.z + 1.5),
                AWAY,
                UP,
                RIGHT,
                _around(2.9),
                lambda p: materials.wheel(p, radius=2.8),
            )
    if it.lucam:
        yield from _lucam(it, y0)
    if it.porch:
        yield from _porch(it, y0)


def _chimney(it: Building, x0: float, y0: float) -> Iterator[Face]:
    if it.chimney is not None:
        x, top = x0 + it.chimney * it.width, it.z + it.ridge + 1.1
        yield from box(
            x - 0.4,
            x + 0.4,
            y0 + it.depth / 2 - 0.3,
            y0 + it.depth / 2 + 0.3,
            top - 2.2,
            top,
            materials.brick,
        )


def _around(radius: float) -> tuple[tuple[float, float], ...]:
    return tuple((radius * cos(radians(turn)), radius * sin(radians(turn))) for turn in range(0, 360, 30))


def _walls(it: Building, x0: float, x1: float, y0: float, y1: float) -> list[Face]:
    """Return left, right and front walls."""
    rise = it.ridge - it.eaves
    front: list[tuple[float, float]] = [(0, 0), (it.width, 0), (it.width, it.eaves)]
    side: list[tuple[float, float]] = [(0, 0), (it.depth, 0), (it.depth, it.eaves)]
    if it.gable_to_front:
        front += [(it.width / 2, it.eaves + rise)]
    else:
        side += [(it.depth / 2, it.eaves + rise)]
    front, side = [*front, (0, it.eaves)], [*side, (0, it.eaves)]
    shader = _ruin_shader(it) if it.ragged is not None else _wall_shader(it)
    flank = _ruin_shader(it) if it.ragged is not None else _side_shader(it)
    return [
        Face((x0, y1, it.z), NEAR, UP, LEFT, tuple(side), flank),
        Face((x1, y0, it.z), AWAY, UP, RIGHT, tuple(side), flank),
        Face((x0, y0, it.z), RIGHT, UP, NEAR, tuple(front), shader),
    ]


def _wall_shader(it: Building) -> Callable[[Patch], None]:
    def shade(patch: Patch) -> None:
        materials.WALLS[it.wall](patch)
        _plinth(patch, it)
        _dirt(patch)
        for hole in laid_out(it.rows, it.width, it.plinth, it.storey):
            materials.opening(patch, hole)
        if it.pediment:
            _mouldings(patch, it)
        if it.sign:
            at = it.sign_at or (it.width * 0.5 - 2.2, it.plinth + it.storey - 0.18, 4.4, 0.62)
            materials.signboard(patch, *at, it.sign)
        overhang = 0.3 if it.gable_to_front else 0.45
        if patch.shadow_reach and not it.gable_to_front:
            deep = overhang * patch.shadow_reach[1]
            patch.shadow(coverage(patch.v - (it.eaves - 0.3 - deep), max(patch.foot, 0.04)), 0.92)
        patch.occlude(0.5 * coverage(patch.v - it.eaves + 0.35, 0.8) * (not it.gable_to_front))
        for u0, u1, v0, v1, depth in _thrown(it):
            _throw(patch, u0, u1, v0, v1, depth)

    return shade


def _side_shader(it: Building) -> Callable[[Patch], None]:
    def shade(patch: Patch) -> None:
        materials.WALLS[it.side_wall or it.wall](patch)
        _plinth(patch, it)
        _dirt(patch)
        for hole in laid_out(it.side_rows, it.depth, it.plinth, it.storey):
            materials.opening(patch, hole)

    return shade


def _ruin_shader(it: Building, *, inside: bool = False) -> Callable[[Patch], None]:
    def shade(patch: Patch) -> None:
        materials.WALLS[it.wall](patch)
        _dirt(patch)
        if not inside:
            for hole in laid_out(it.rows, it.width, it.plinth, it.storey):
                materials.opening(patch, hole)
        noise = patch.noise
        kept = it.eaves * (it.ragged or 1.0)
        jag = noise.at(noise.fractal, np.floor(patch.u / 0.26) * 0.26, patch.u * 0, 52, 1, 41 if inside else 11)
        fallen = noise.line(patch.u, 26, 5 if inside else 2)
        step = np.floor((kept + 0.8 * fallen + 0.22 * jag) / 0.24) * 0.24
        patch.cover *= coverage(step + (0.5 if inside else 0.0) - patch.v, max(patch.foot, 0.03))
        if inside:
            patch.direct *= 0.6

    return shade


def _plinth(patch: Patch, it: Building) -> None:
    if it.plinth <= 0.05 or it.staddles:
        return
    base = patch.window(-1, -1, max(it.width, it.depth) + 2, it.plinth + 1, 0.0)
    if base is None:
        return
    kept, lit, sky = base.albedo.copy(), base.lit.copy(), base.open_sky.copy()
    base.lit[...] = 1
    base.open_sky[...] = 1
    materials.WALLS[it.plinth_wall](base)
    below = coverage(it.plinth - base.v, base.foot)
    base.albedo[...] = kept + below[..., None] * (base.albedo - kept)
    base.lit[...] = lit + below * (base.lit - lit)
    base.open_sky[...] = sky + below * (base.open_sky - sky)


def _dirt(patch: Patch) -> None:
    """Walls are darker near the ground: splashed, and shut off from the sky."""
    patch.occlude(0.5 * np.exp(-patch.v / 0.7))
    splash = np.exp(-patch.v / 0.55) * 0.35
    patch.albedo *= (1 - splash)[..., None]


def _mouldings(patch: Patch, it: Building) -> None:
    """A cornice, a raking cornice and corner pilasters, as a pattern book has them."""
    for level in (it.eaves - 0.28, it.eaves - 0.02):
        patch.paint(patch.box(0, level, it.width, 0.12), 0.86, materials.WHITEWASH)
        patch.shadow(patch.box(0, level - 0.07, it.width, 0.07), 0.7)
    for u in (0.0, it.width - 0.45):
        patch.paint(patch.box(u, it.plinth, 0.45, it.eaves - it.plinth - 0.28), 0.84, materials.WHITEWASH)
    for u in (0.45, it.width - 0.53):
        patch.shadow(patch.box(u, it.plinth, 0.08, it.eaves - it.plinth - 0.28), 0.35)


def _thrown(it: Building) -> Iterator[tuple[float, float, float, float, float]]:
    """Yield what stands out from the front and throws a shadow on it: u0, u1, v0, v1, how far."""
    if it.lucam:
        yield it.width / 2 - 1.0, it.width / 2 + 1.0, it.eaves - 2.3, it.eaves + 1.2, 1.5
    if it.porch:
        yield it.width / 2 - 1.3, it.width / 2 + 1.3, 0.0, 3.0, 1.8


def _throw(patch: Patch, u0: float, u1: float, v0: float, v1: float, depth: float) -> None:
    if patch.shadow_reach is None:
        patch.occlude(0.4 * patch.box(u0 - 0.2, v0 - 0.6, u1 - u0 + 0.4, v1 - v0))
        return
    across, up = -patch.shadow_reach[0] * depth, -patch.shadow_reach[1] * depth
    corners = [(u, v) for u in (u0, u1) for v in (v0, v1)]
    patch.shadow(within(patch.u, patch.v, hull(corners + [(u + across, v + up) for u, v in corners]), patch.foot), 0.92)


def hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the convex hull, counter-clockwise."""
    ordered = sorted(set(points))

    def half(sequence: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for point in sequence:
            while len(kept) > 1 and (kept[-1][0] - kept[-2][0]) * (point[1] - kept[-2][1]) <= (
                kept[-1][1] - kept[-2][1]
            ) * (point[0] - kept[-2][0]):
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return half(ordered) + half(ordered[::-1])


def within(x: Array, y: Array, corners: Sequence[tuple[float, float]], soft: Array | float) -> Array:
    """Return how far pixels lie within a convex polygon, 0..1."""
    cover: Array = np.ones(np.broadcast(x, y).shape, np.float32)
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        length = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-9)
        np.minimum(cover, coverage(((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length, soft), out=cover)
    return cover


def _roof_shader(it: Building, length: float) -> Callable[[Patch], None]:
    def shade(patch: Patch) -> None:
        materials.ROOFS[it.roof](patch)
        patch.paint(coverage(patch.v - length + 0.16, patch.foot), 0.30, materials.SLATE)

    return shade


def _roof_behind(it: Building, x0: float, x1: float, y0: float, y1: float) -> Iterator[Face]:
    """Yield the slopes of a roof whose gable looks to the front."""
    if not it.gable_to_front:
        return
    pitch, over = radians(it.pitch_deg), 0.3
    length = (it.width / 2 + over) / cos(pitch)
    low = it.z + it.eaves - over * tan(pitch)
    deep = it.depth + 2 * over
    shade = _roof_shader(it, length)
    square = ((0, 0), (deep, 0), (deep, length), (0, length))
    left_up, right_up = (cos(pitch), 0.0, sin(pitch)), (-cos(pitch), 0.0, sin(pitch))
    yield Face((x0 - over, y1 + over, low), NEAR, left_up, (-sin(pitch), 0.0, cos(pitch)), square, shade)
    yield Face((x1 + over, y0 - over, low), AWAY, right_up, (sin(pitch), 0.0, cos(pitch)), square, shade)


def _roof_before(it: Building, x0: float, x1: float, y0: float, y1: float) -> Iterator[Face]:
    """Yield the front slope and its fascia, or the barge boards of a gable."""
    pitch = radians(it.pitch_deg)
    paint = materials.plain(0.60 if it.wall in {"whitewash", "plaster"} else 0.26, materials.WHITEWASH)
    if it.gable_to_front:
        over = 0.3
        low = it.z + it.eaves - over * tan(pitch)
        top = it.z + it.ridge
        half, drop = it.width / 2 + over, 0.24 / cos(pitch)
        for side in (-1, 1):
            corners = ((side * half, low - drop), (side * half, low), (0.0, top), (0.0, top - drop))
            yield Face((it.x, y0 - over, 0.0), RIGHT, UP, NEAR, corners, paint)
        return
    over, verge = 0.45, 0.25
    low = it.z + it.eaves - over * tan(pitch)
    length = (it.depth / 2 + over) / cos(pitch)
    wide = it.width + 2 * verge
    shade = _roof_shader(it, length)
    yield Face(
        (x0 - verge, y0 - over, low),
        RIGHT,
        (0.0, cos(pitch), sin(pitch)),
        (0.0, -sin(pitch), cos(pitch)),
        ((0, 0), (wide, 0), (wide, length), (0, length)),
        shade,
    )
    yield upright(x0 - verge, x1 + verge, y0 - over, low - 0.14, low + 0.03, paint)


def _lucam(it: Building, y0: float) -> Iterator[Face]:
    """Yield the hoist housing that hangs out over the front, high up."""
    z0, z1 = it.z + it.eaves - 2.2, it.z + it.eaves + 0.9
    small = Building(
        width=2.0,
        depth=2.6,
        eaves=z1 - z0,
        pitch_deg=45,
        gable_to_front=True,
        wall=it.wall,
        roof=it.roof,
        plinth=0.0,
        rows=("l",),
        x=it.x,
        y=y0 - 1.5,
        z=z0,
    )
    yield Face((it.x - 1.0, y0, z0), RIGHT, NEAR, DOWN, ((0, 0), (2, 0), (2, 1.5), (0, 1.5)), materials.plain(0.12))
    yield from building_faces(small)
    yield from box(it.x - 0.07, it.x + 0.07, y0 - 2.2, y0 - 1.5, z1 + 0.1, z1 + 0.3, materials.plain(0.2))


def _porch(it: Building, y0: float) -> Iterator[Face]:
    """Yield a porch: two posts and a small gabled roof before the door."""
    top = it.z + 2.7
    yield from building_faces(
        replace(
            Building(),
            width=2.6,
            depth=1.9,
            eaves=0.35,
            pitch_deg=28,
            gable_to_front=True,
            wall=it.wall,
            roof=it.roof,
            plinth=0.0,
            rows=(),
            x=it.x,
            y=y0 - 1.8,
            z=top,
        )
    )
    for x in (it.x - 1.15, it.x + 1.15):
        yield from box(x - 0.1, x + 0.1, y0 - 1.75, y0 - 1.55, it.z, top, materials.plain(0.78, materials.WHITEWASH))


def ground_shadow(it: Building, sun: Point) -> list[tuple[float, float]] | None:
    """Return the outline of the shadow that a building lays on the ground, or ``None`` without sun."""
    if sun[2] <= 0.05:
        return None
    top = it.z + (it.ridge if it.ragged is None else it.eaves * it.ragged)
    eaves = it.z + (it.eaves if it.ragged is None else it.eaves * it.ragged)
    xs, ys = (it.x - it.width / 2, it.x + it.width / 2), (it.y, it.y + it.depth)
    corners = [(x, y, z) for x in xs for y in ys for z in (0.0, eaves)]
    if it.gable_to_front:
        corners += [(it.x, y, top) for y in ys]
    else:
        corners += [(x, it.y + it.depth / 2, top) for x in xs]
    return hull([(x - sun[0] / sun[2] * z, y - sun[1] / sun[2] * z) for x, y, z in corners])


def draw_building(canvas: Canvas, it: Building) -> None:
    """Draw a building over what is there."""
    for face in building_faces(it):
        canvas.draw(face)
