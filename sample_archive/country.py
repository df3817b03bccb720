"""Sky, hills, ground, water, trees, fences and rooms: what a building stands in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from . import materials
from .rendering import Array, Canvas, Face, Patch, coverage
from .scenery import AWAY, DOWN, LEFT, NEAR, RIGHT, UP, Building, box, laid_out, upright, within

GROUNDS = {
    "grass": (0.24, materials.GREEN),
    "gravel": (0.44, materials.STONE),
    "snow": (0.88, materials.GREY),
    "cobbles": (0.30, materials.STONE),
    "mud": (0.20, materials.WEATHERED),
}
SKY_TINT = (0.62, 0.80, 1.0)


@dataclass(frozen=True, slots=True)
class Tree:
    x: float
    y: float
    size: float = 9.0
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Country:
    """What lies round a building. ``water`` is a band of y; ``path`` a band of y laid with gravel."""

    ground: str = "grass"
    water: tuple[float, float] | None = None
    path: tuple[float, float] | None = None
    trees: tuple[Tree, ...] = ()
    fence: float | None = None
    hills: float = 0.07
    clouds: float = 0.5
    seed: int = 1


def draw_sky(canvas: Canvas, country: Country) -> None:
    """Lay in the sky, its clouds and two ranges of hills."""
    camera = canvas.camera
    across, above = canvas.grid((0, camera.height), (0, camera.width))
    up = above / np.float32(camera.focal_length_mm)
    side = across / np.float32(camera.focal_length_mm) + np.float32(camera.yaw_deg * 0.017)
    overcast = canvas.sun.power < 0.5
    shift = country.seed * 37
    flat = 0.55 + np.clip(up, 0, 2)
    cloud = canvas.noise.at(canvas.noise.soft, side / flat + 3, up / flat + 2, 330, 900, shift)
    sky = (0.86 if overcast else 0.66) - (0.12 if overcast else 0.26) * np.clip(up * 1.4, 0, 1)
    white = np.clip(0.25 + 0.45 * (cloud - 1.2 + 1.6 * country.clouds), 0, 1) * (0.2 if overcast else 0.85)
    blue = np.stack([sky * tint for tint in SKY_TINT], axis=-1) if canvas.channels == 3 else sky[..., None]
    canvas.light[...] = blue + white[..., None] * (0.93 - blue)
    for layer, (height, tone) in enumerate(((1.0, 0.46), (0.55, 0.28))):
        ridge = country.hills * height * (1 + 0.4 * canvas.noise.line(side + 4, 210, shift + 211 * layer))
        ridge = ridge + 0.004 * canvas.noise.line(side + 4, 2600, shift + 97)
        cover = coverage(ridge - up, camera.pitch_mm / camera.focal_length_mm)
        wood = canvas.noise.at(canvas.noise.fractal, side + 9, up + 2, 900, 1800, shift)
        value = tone * (1 + (0.05 + 0.08 * layer) * wood) * (0.9 if overcast else 1.0)
        canvas.light += cover[..., None] * (value[..., None] * canvas.tint((0.9, 1.0, 0.86)) - canvas.light)


def draw_ground(canvas: Canvas, country: Country, shadows: Sequence[Sequence[tuple[float, float]]]) -> None:
    """Lay the ground to the horizon, with what stands on it throwing shadows."""
    camera = canvas.camera
    x, y, z = camera.position
    far = 900.0
    square = ((-far, -far), (far, -far), (far, far), (-far, far))

    def shade(patch: Patch) -> None:
        distance = np.sqrt(patch.u**2 + patch.v**2) + z
        foot = distance * np.float32(camera.pitch_mm / camera.focal_length_mm)
        wx, wy = patch.u + np.float32(x), patch.v + np.float32(y)
        # Grass and stones stand up, so that seen flat they look alike in all directions:
        # depth goes by its logarithm.
        deep = np.float32(z) * np.log(np.maximum(distance, 0.5))
        _earth(patch, country.ground, wx, deep, distance, foot)
        if country.path is not None:
            edge = 0.25 * patch.noise.at(patch.noise.fractal, wx, wy * 0, 60, 1, 5)
            inside = coverage(wy + edge - country.path[0], 0.3) * coverage(country.path[1] - wy + edge, 0.3)
            kept = patch.albedo.copy()
            _earth(patch, "gravel", wx, deep, distance, foot)
            patch.albedo[...] = kept + inside[..., None] * (patch.albedo - kept)
        if canvas.sun.power > 0.5:
            soft = np.maximum(foot * 4, 0.06)
            for corners in shadows:
                patch.shadow(within(wx, wy, corners, soft), 0.9)
        haze = np.clip(distance / 700, 0, 0.6)
        patch.albedo += haze[..., None] * (0.45 - patch.albedo)

    canvas.draw(Face((x, y, 0.0), RIGHT, AWAY, UP, square, shade))


def _earth(patch: Patch, kind: str, wx: Array, deep: Array, distance: Array, foot: Array) -> None:
    tone, tint = GROUNDS[kind]
    noise = patch.noise
    near = np.clip(1.4 - foot * 45, 0, 1)
    middle = np.clip(1.4 - foot * 6, 0, 1)
    blades = noise.at(noise.fine, wx + 200, deep + 20, 130, 100 if kind == "grass" else 130)
    tufts = noise.at(noise.fractal, wx + 200, deep + 20, 70, 70)
    broad = noise.at(noise.soft, wx + 500, deep + 50, 9, 18)
    lively = 0.05 if kind == "snow" else 0.22
    value = tone * (1 + lively * (near * blades + 0.8 * middle * tufts + 0.45 * broad))
    patch.paint(1.0, np.clip(value, 0.02, 0.95), tint)


def draw_water(canvas: Canvas, country: Country) -> None:
    """Lay water over the ground before the building, with the picture above mirrored in it."""
    if country.water is None:
        return
    camera = canvas.camera
    near, far = country.water
    x, _, _ = camera.position
    polygon = ((-60.0, 0.0), (60.0, 0.0), (60.0, far - near), (-60.0, far - near))
    bank = round(camera.project((x + 0.01, far, 0.0))[1])

    def shade(patch: Patch) -> None:
        noise = patch.noise
        top, left = patch.rows[0], patch.columns[0]
        height, width = patch.u.shape
        row = np.arange(top, top + height, dtype=np.float32)[:, None]
        depth = np.clip((row - bank) / max(8.0, camera.height * 0.1), 0, 1)
        ripple = noise.at(noise.fractal, patch.u + 70, patch.v + 30, 26, 130)
        small = noise.at(noise.fractal, patch.u + 70, patch.v + 30, 70, 420, 9)
        mirrored = (2 * bank - row) - 3.0 + (ripple * 9 + small * 4) * depth
        column = np.arange(left, left + width)[None, :] + (ripple * 3 * depth)
        found = canvas.light[
            np.clip(mirrored, 0, min(bank, camera.height) - 1).astype(np.int32),
            np.clip(column, 0, camera.width - 1).astype(np.int32),
        ]
        light = found * 0.62 + 0.02 + 0.05 * np.clip(small, 0, 2)[..., None]
        target = canvas.light[top : top + height, left : left + width]
        edge = patch.cover * coverage(row - bank - 1, 3.0)
        target += edge[..., None] * (light - target)
        patch.cover *= 0

    canvas.draw(Face((x, near, 0.0), RIGHT, AWAY, UP, polygon, shade))
    canvas.draw(upright(x - 60, x + 60, far, -0.02, 0.22, materials.stone))


def draw_tree(canvas: Canvas, tree: Tree, seed: int) -> None:
    """Draw a tree as a face turned to the camera."""
    half = tree.size * 0.52
    polygon = ((-half, 0.0), (half, 0.0), (half, tree.size * 1.15), (-half, tree.size * 1.15))

    def shade(patch: Patch) -> None:
        materials.tree(patch, size=tree.size, bare=tree.bare, seed=seed)

    canvas.draw(Face((tree.x, tree.y, 0.0), RIGHT, UP, NEAR, polygon, shade))


def draw_fence(canvas: Canvas, y: float) -> None:
    """Draw a fence of posts and two rails across the front."""
    rail = materials.plain(0.34, materials.WEATHERED)
    for z in (0.42, 0.88):
        canvas.draw(upright(-40, 40, y, z, z + 0.09, rail))
    for step in range(-14, 15):
        x = step * 2.3 + 0.4
        for face in box(x - 0.06, x + 0.06, y - 0.09, y - 0.01, 0, 1.12, rail):
            canvas.draw(face)


def rubble(canvas: Canvas, y0: float, y1: float, width: float) -> None:
    """Draw what is left when walls were taken down: low heaps and a few blocks."""
    rng = np.random.default_rng(89)
    for y in sorted(rng.uniform(y0, y1, 46), reverse=True):
        x, wide, high = rng.uniform(-width / 2, width / 2), rng.uniform(0.3, 1.3), rng.uniform(0.12, 0.5)
        for face in box(x, x + wide, y, y + 0.4, 0, high, materials.stone):
            canvas.draw(face)


def room_faces(width: float, length: float, height: float) -> Iterator[Face]:
    """Yield a hall seen from inside: boarded walls, tall windows to the left, tie beams over it."""

    def wall(run: float, rows: tuple[str, ...], tone: float) -> Callable[[Patch], None]:
        def shade(patch: Patch) -> None:
            materials.plaster(patch)
            patch.albedo *= tone
            low = patch.window(0, 0, run, 1.1, 0.0)
            if low is not None:
                kept = low.albedo.copy()
                materials.battens(low, tone=0.34, width=0.16)
                low.albedo[...] = kept + coverage(1.05 - low.v, low.foot)[..., None] * (low.albedo - kept)
            for hole in laid_out(rows, run, 0.4, 2.6):
                materials.opening(patch, hole)
            patch.occlude(0.55 * np.exp(-(height - patch.v) / 0.6) + 0.3 * np.exp(-patch.v / 0.4))

        return shade

    def floor(patch: Patch) -> None:
        materials.battens(patch, tone=0.30, width=0.18)
        patch.lit[...] = 0
        pool = np.exp(-((patch.u - width * 0.3) ** 2) / 6) * (0.6 + 0.4 * np.sin(patch.v * 2.1) ** 2)
        patch.albedo *= (0.7 + 0.9 * pool)[..., None]

    def square(a: float, b: float) -> tuple[tuple[float, float], ...]:
        return ((0, 0), (a, 0), (a, b), (0, b))

    half = width / 2
    yield Face(
        (-half, 0, height),
        RIGHT,
        AWAY,
        DOWN,
        square(width, length),
        materials.plain(0.62, materials.WHITEWASH),
    )
    yield Face((-half, 0, 0), RIGHT, AWAY, UP, square(width, length), floor)
    yield Face((-half, 0, 0), AWAY, UP, RIGHT, square(length, height), wall(length, ("LLLL",), 0.7))
    yield Face((half, length, 0), NEAR, UP, LEFT, square(length, height), wall(length, ("LLLL",), 1.1))
    yield upright(-half, half, length, 0, height, wall(width, ("bdb",), 1.0))
    for y in (length * 0.8, length * 0.55, length * 0.3):
        yield from box(
            -half, half, y, y + 0.28, height - 0.75, height - 0.43, materials.plain(0.17, materials.WEATHERED)
        )
        for x in (-half + 0.9, half - 1.1):
            yield from box(x, x + 0.2, y, y + 0.26, height - 0.43, height, materials.plain(0.15, materials.WEATHERED))


def museum_wall(y: float) -> Building:
    """Return the long wall of a yard, to stand behind another building."""
    return Building(
        width=60,
        depth=6,
        eaves=4.2,
        pitch_deg=38,
        wall="brick",
        roof="tiles",
        plinth=0.0,
        rows=("w..w..d..w..w..w..w",),
        y=y,
    )
