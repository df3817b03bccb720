"""
Plane faces seen through a view camera, shaded pixel by pixel.

The world is in metres: x to the right along a front, y away from the camera, z up; a front's outward side
looks to -y. The film stands upright, so that verticals stay vertical; a rise moves the lens up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import asin, atan2, cos, degrees, pi, radians, sin, sqrt, tan

import numpy as np

Array = np.ndarray
Point = tuple[float, float, float]
Tint = tuple[float, float, float]

GREY: Tint = (1.0, 1.0, 1.0)
# Panchromatic film behind a yellow filter sees little blue; common practice, no measured film.
FILM_WEIGHTS = (0.42, 0.48, 0.10)
TILE = 1024


def coverage(signed: Array, soft: Array | float) -> Array:
    """Return 0..1 across an edge at ``signed`` = 0, over a width of ``soft``."""
    return np.clip(signed / soft + 0.5, 0.0, 1.0)


class Noise:
    """Periodic noise tiles, made once from one seed; every reading is a look-up."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        fy = np.fft.fftfreq(TILE)[:, None] * TILE
        fx = np.fft.rfftfreq(TILE)[None, :] * TILE
        radius = np.sqrt(fx * fx + fy * fy)
        self.fractal = self._shaped(rng, 1.0 / np.maximum(radius, 2.0) ** 1.25)
        self.soft = self._shaped(rng, 1.0 / np.maximum(radius, 3.0) ** 1.9)
        self.fine = self._shaped(rng, np.exp(-((radius / (TILE / 5.0)) ** 2)))
        self.table = rng.random(4096).astype(np.float32)
        self.grain = rng.standard_normal((TILE, TILE)).astype(np.float32)

    @staticmethod
    def _shaped(rng: np.random.Generator, weight: Array) -> Array:
        tile = np.fft.irfft2(np.fft.rfft2(rng.standard_normal((TILE, TILE))) * weight, s=(TILE, TILE))
        return ((tile - tile.mean()) / tile.std()).astype(np.float32)

    def at(self, tile: Array, x: Array, y: Array, scale_x: float, scale_y: float, shift: int = 0) -> Array:
        """Return ``tile`` at ``x``, ``y`` metres, ``scale`` cells a metre."""
        column = (x * np.float32(scale_x)).astype(np.int32) + shift
        row = (y * np.float32(scale_y)).astype(np.int32) + 3 * shift
        return tile[row & (TILE - 1), column & (TILE - 1)]

    def line(self, x: Array, scale: float, shift: int = 0) -> Array:
        """Return a smooth line of hills and hollows at ``x``."""
        profile = self.soft[(shift * 7) & (TILE - 1)]
        return np.interp(x * scale + shift, np.arange(TILE), profile, period=TILE).astype(np.float32)

    def of(self, number: Array) -> Array:
        """Return a random value in 0..1 for each whole number."""
        return self.table[number.astype(np.int32) & 4095]


@dataclass(frozen=True, slots=True)
class Sun:
    """Where the sun stands, and how strong it is beside the sky (0: overcast)."""

    azimuth_deg: float
    altitude_deg: float
    power: float = 1.0

    def towards(self, front_bearing_deg: float) -> Point:
        """Return the direction to the sun in the world of a front that faces ``front_bearing_deg``."""
        turned = radians(self.azimuth_deg - front_bearing_deg)
        flat = cos(radians(self.altitude_deg))
        return (-sin(turned) * flat, -cos(turned) * flat, sin(radians(self.altitude_deg)))


def sun_at(day_of_year: int, hour: float, *, latitude_deg: float = 52.0, power: float = 1.0) -> Sun:
    """
    Return the sun at a true solar hour.

    Good to about a degree, which is enough to draw by. Source: Cooper's declination (common practice).
    """
    declination = radians(23.45 * sin(2 * pi * (284 + day_of_year) / 365))
    latitude, turned = radians(latitude_deg), radians(15 * (hour - 12))
    altitude = asin(sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(turned))
    azimuth = atan2(sin(turned), cos(turned) * sin(latitude) - tan(declination) * cos(latitude))
    return Sun((degrees(azimuth) + 180) % 360, degrees(altitude), power)


@dataclass(frozen=True, slots=True)
class Camera:
    """A view camera: where it stands, where it looks (yaw, right positive), lens, film, grid."""

    position: Point
    yaw_deg: float
    focal_length_mm: float
    opening_mm: tuple[float, float]
    rise_mm: float
    width: int
    height: int

    @property
    def pitch_mm(self) -> float:
        return self.opening_mm[0] / self.width

    @property
    def axes(self) -> tuple[Point, Point]:
        """Right and forward, both level."""
        turned = radians(self.yaw_deg)
        return (cos(turned), -sin(turned), 0.0), (sin(turned), cos(turned), 0.0)

    @property
    def horizon(self) -> float:
        """The row of the horizon."""
        return self.height / 2 + self.rise_mm / self.pitch_mm

    def depth(self, point: Point) -> float:
        _, forward = self.axes
        return sum((p - c) * f for p, c, f in zip(point, self.position, forward, strict=True))

    def project(self, point: Point) -> tuple[float, float]:
        """Return the column and row of a point in front of the camera."""
        right, _ = self.axes
        depth = self.depth(point)
        across = sum((p - c) * r for p, c, r in zip(point, self.position, right, strict=True))
        up = point[2] - self.position[2]
        scale = self.focal_length_mm / (depth * self.pitch_mm)
        return self.width / 2 + across * scale, self.horizon - up * scale


@dataclass(frozen=True, slots=True)
class Face:
    """
    A plane polygon of the world. ``polygon`` is convex, in metres along ``u`` and ``v`` from ``origin``.

    ``outward`` is the side it is lit from; ``shader`` paints a patch of it.
    """

    origin: Point
    u: Point
    v: Point
    outward: Point
    polygon: tuple[tuple[float, float], ...]
    shader: Callable[[Patch], None]
    glow: float = 0.0

    def point(self, u: float, v: float) -> Point:
        x, y, z = (o + u * a + v * b for o, a, b in zip(self.origin, self.u, self.v, strict=True))
        return x, y, z


class Patch:
    """The pixels of a face: where they lie on it, and what light they throw back."""

    def __init__(self, scene: Canvas, face: Face, u: Array, v: Array, foot: float, cover: Array) -> None:
        self.scene, self.face, self.u, self.v, self.foot, self.cover = scene, face, u, v, foot, cover
        self.noise = scene.noise
        self.albedo = np.zeros((*u.shape, scene.channels), np.float32)
        self.lit = np.ones(u.shape, np.float32)
        self.open_sky = np.ones(u.shape, np.float32)
        sun = scene.sun_vector
        facing = sum(a * b for a, b in zip(face.outward, sun, strict=True))
        self.direct = max(0.0, facing) * scene.sun.power
        # How far shadows reach down and sideways for each metre of depth, on this face.
        across = sum(a * b for a, b in zip(face.u, sun, strict=True))
        upward = sum(a * b for a, b in zip(face.v, sun, strict=True))
        self.shadow_reach = (across / facing, upward / facing) if facing > 0.02 else None

    def box(self, u0: float, v0: float, width: float, height: float) -> Array:
        """Return how far each pixel lies inside a rectangle, 0..1."""
        soft = self.foot
        return (
            coverage(self.u - u0, soft)
            * coverage(u0 + width - self.u, soft)
            * coverage(self.v - v0, soft)
            * coverage(v0 + height - self.v, soft)
        )

    def window(self, u0: float, v0: float, width: float, height: float, margin: float = 0.3) -> Patch | None:
        """Return the part of the patch around a rectangle, to paint on; ``None`` where there is none."""
        corners = [
            self.scene.camera.project(self.face.point(u, v))
            for u in (u0 - margin, u0 + width + margin)
            for v in (v0 - margin, v0 + height + margin)
        ]
        left = max(0, int(min(c for c, _ in corners)) - self.columns[0])
        right = int(max(c for c, _ in corners)) + 2 - self.columns[0]
        top = max(0, int(min(r for _, r in corners)) - self.rows[0])
        bottom = int(max(r for _, r in corners)) + 2 - self.rows[0]
        cut = (slice(top, max(top, bottom)), slice(left, max(left, right)))
        if self.u[cut].size == 0:
            return None
        part = object.__new__(Patch)
        part.__dict__.update(self.__dict__)
        part.u, part.v, part.cover = self.u[cut], self.v[cut], self.cover[cut]
        part.albedo, part.lit, part.open_sky = self.albedo[cut], self.lit[cut], self.open_sky[cut]
        part.rows, part.columns = (self.rows[0] + top, 0), (self.columns[0] + left, 0)
        return part

    rows: tuple[int, int]
    columns: tuple[int, int]

    def paint(self, cover: Array | float, value: Array | float, tint: Tint = GREY) -> None:
        """Lay a colour over what is there."""
        tinted = np.asarray(value, np.float32)[..., None] * self.scene.tint(tint)
        self.albedo += np.asarray(cover, np.float32)[..., None] * (tinted - self.albedo)

    def shadow(self, cover: Array, depth: float = 1.0) -> None:
        """Keep the sun off."""
        np.minimum(self.lit, 1.0 - depth * cover, out=self.lit)

    def occlude(self, cover: Array) -> None:
        """Keep part of the sky off."""
        self.open_sky *= 1.0 - cover


class Canvas:
    """The picture being drawn: light in linear values, 1.0 about what white paint in the sun gives."""

    def __init__(self, camera: Camera, sun: Sun, front_bearing_deg: float, noise: Noise, *, colour: bool) -> None:
        self.camera, self.sun, self.noise = camera, sun, noise
        self.sun_vector = sun.towards(front_bearing_deg)
        self.channels = 3 if colour else 1
        self.light = np.zeros((camera.height, camera.width, self.channels), np.float32)
        self.sky_light = 0.30 if sun.power > 0.5 else 0.62

    def tint(self, tint: Tint) -> Array:
        """Return a colour as this film sees it."""
        if self.channels == 3:
            return np.array(tint, np.float32)
        return np.array([sum(a * b for a, b in zip(tint, FILM_WEIGHTS, strict=True))], np.float32)

    def grid(self, rows: tuple[int, int], columns: tuple[int, int]) -> tuple[Array, Array]:
        """Return where pixels lie on the film, in mm right of and above the lens axis's foot."""
        pitch = self.camera.pitch_mm
        across = ((np.arange(*columns, dtype=np.float32) + 0.5) - self.camera.width / 2) * np.float32(pitch)
        above = (self.camera.horizon - (np.arange(*rows, dtype=np.float32) + 0.5)) * np.float32(pitch)
        return across[None, :], above[:, None]

    def draw(self, face: Face) -> None:
        """Draw a face over what is there, if it looks towards the camera at all."""
        camera = self.camera
        towards = [c - o for c, o in zip(camera.position, face.origin, strict=True)]
        distance = sum(t * n for t, n in zip(towards, face.outward, strict=True))
        if distance <= 1e-6:
            return
        corners = _before(camera, [face.point(u, v) for u, v in face.polygon])
        if len(corners) < 3:
            return
        seen = [camera.project(corner) for corner in corners]
        columns = _span([c for c, _ in seen], 0, camera.width)
        rows = _span([r for _, r in seen], 0, camera.height)
        if columns[0] >= columns[1] or rows[0] >= rows[1]:
            return
        patch = self._patch(face, seen, rows, columns, distance, towards)
        face.shader(patch)
        self._lay(patch, rows, columns)

    def _patch(
        self,
        face: Face,
        seen: Sequence[tuple[float, float]],
        rows: tuple[int, int],
        columns: tuple[int, int],
        distance: float,
        towards: Sequence[float],
    ) -> Patch:
        camera = self.camera
        across, above = self.grid(rows, columns)
        right, forward = camera.axes

        def along(axis: Point) -> Array:
            """The part of each pixel's ray that goes along ``axis``."""
            level = sum(a * b for a, b in zip(axis, right, strict=True))
            ahead = sum(a * b for a, b in zip(axis, forward, strict=True)) * camera.focal_length_mm
            return (across * np.float32(level) + np.float32(ahead)) + above * np.float32(axis[2])

        # Rays that never meet the plane lie outside the polygon; a bound keeps them out of the look-ups.
        reach = np.minimum(np.float32(distance) / np.maximum(-along(face.outward), np.float32(1e-6)), np.float32(60))
        u = reach * along(face.u) + np.float32(sum(t * a for t, a in zip(towards, face.u, strict=True)))
        v = reach * along(face.v) + np.float32(sum(t * a for t, a in zip(towards, face.v, strict=True)))
        for place, line in ((u, [p for p, _ in face.polygon]), (v, [q for _, q in face.polygon])):
            np.clip(place, min(line) - 2, max(line) + 2, out=place)
        middle = [sum(values) / len(values) for values in zip(*face.polygon, strict=True)]
        depth = max(camera.depth(face.point(*middle)), 0.5)
        foot = depth * camera.pitch_mm / camera.focal_length_mm
        patch = Patch(self, face, u, v, foot, _inside(seen, rows, columns))
        patch.rows, patch.columns = rows, columns
        return patch

    def _lay(self, patch: Patch, rows: tuple[int, int], columns: tuple[int, int]) -> None:
        light = patch.open_sky * np.float32(self.sky_light) + patch.lit * np.float32(patch.direct)
        if patch.face.glow:
            light += np.float32(patch.face.glow)
        target = self.light[rows[0] : rows[1], columns[0] : columns[1]]
        target += patch.cover[..., None] * (patch.albedo * light[..., None] - target)


def _span(values: Sequence[float], low: int, high: int) -> tuple[int, int]:
    return max(low, int(max(min(values) - 1, -1e6))), min(high, int(min(max(values) + 2, 1e6)))


def _before(camera: Camera, corners: list[Point], near: float = 0.3) -> list[Point]:
    """Return a polygon with what lies behind the camera cut off."""
    kept: list[Point] = []
    for here, after in zip(corners, [*corners[1:], corners[0]], strict=True):
        depth, next_depth = camera.depth(here), camera.depth(after)
        if depth >= near:
            kept.append(here)
        if (depth >= near) != (next_depth >= near):
            part = (near - depth) / (next_depth - depth)
            x, y, z = (a + part * (b - a) for a, b in zip(here, after, strict=True))
            kept.append((x, y, z))
    return kept


def _inside(seen: Sequence[tuple[float, float]], rows: tuple[int, int], columns: tuple[int, int]) -> Array:
    """Return the coverage of a convex polygon of pixels, smooth at its edges."""
    x = np.arange(*columns, dtype=np.float32)[None, :] + 0.5
    y = np.arange(*rows, dtype=np.float32)[:, None] + 0.5
    after = [*seen[1:], seen[0]]
    turn = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(seen, after, strict=True))
    sign = 1.0 if turn > 0 else -1.0
    cover: Array = np.ones((rows[1] - rows[0], columns[1] - columns[0]), np.float32)
    for (x0, y0), (x1, y1) in zip(seen, after, strict=True):
        length = sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
        if length < 1e-6:
            continue
        a, b = sign * (y0 - y1) / length, sign * (x1 - x0) / length
        edge = (x * np.float32(a) + np.float32(-a * x0 - b * y0 + 0.5)) + y * np.float32(b)
        np.minimum(cover, np.clip(edge, 0.0, 1.0), out=cover)
    return cover
