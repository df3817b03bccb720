"""The buildings of the valley as they stood when she photographed them, and where the camera stood."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, degrees

from . import country
from .country import Country, Tree
from .film import Sheet, picture_size, soften
from .rendering import Array, Camera, Canvas, Noise, Sun
from .scenery import Building, draw_building, ground_shadow


@dataclass(frozen=True, slots=True)
class Scene:
    """What stands before the camera, which way its front faces, and where the camera stands and looks."""

    buildings: tuple[Building, ...]
    country: Country
    faces_deg: float = 180.0
    camera: tuple[float, float, float] = (3.0, -21.0, 1.6)
    yaw_deg: float = -6.0
    rise_mm: float = 14.0
    extra: str = ""
    framed: tuple[Building, ...] = ()
    """What the view is framed on, where that is not what stands there."""


MILL = Building(
    width=14.5,
    depth=9.0,
    eaves=8.9,
    pitch_deg=43,
    rows=("wd.ww", "ww.ww", "cc.cc"),
    side_rows=("w.w", "www"),
    lucam=True,
    plinth=1.2,
    sign="OSK MILL",
    sign_at=(4.9, 3.35, 4.6, 0.66),
    roof="slates",
)
MILL_BAY = Building(width=4.4, depth=8.0, eaves=7.2, pitch_deg=40, rows=("d", "w", "w"), plinth=1.2, x=-9.5, y=0.7)
MILL_COUNTRY = Country(
    water=(-22.0, -3.2), trees=(Tree(-21, 14, 12), Tree(15, 24, 15), Tree(23, 18, 11)), hills=0.09, seed=3
)


def osk_mill(phase: str, side: str = "S", trees: str = "summer") -> Scene:
    """Return Osk Mill: ``boards`` (to about 1980), ``metal`` (to 1996), ``restored``, ``wheel`` (old)."""
    wall = {"boards": "boards", "metal": "metal", "restored": "whitewash", "wheel": "boards"}[phase]
    roof = "metal" if phase == "metal" else "slates"
    sign = "" if phase == "metal" else MILL.sign
    rows = ("bd.bb", "bb.wb", "cc.cc") if phase == "metal" else MILL.rows
    mill = replace(MILL, wall=wall, roof=roof, sign=sign, rows=rows, wheel=phase == "wheel")
    bay = replace(MILL_BAY, wall=wall, roof=roof)
    land = replace(MILL_COUNTRY, trees=tuple(replace(t, bare=trees == "winter") for t in MILL_COUNTRY.trees))
    if side == "S":
        camera = (15.0, -28.0, 2.4) if phase == "wheel" else (6.5, -30.0, 2.4)
        return Scene((bay, mill), land, 176.0, camera)
    if side == "E":
        gable = replace(
            mill,
            width=9.0,
            depth=14.5,
            gable_to_front=True,
            lucam=False,
            rows=("w.w", "www", ".l.", ".w."),
            sign="",
            side_rows=("w.w.w", "ww.ww"),
            eaves=8.4,
        )
        return Scene((gable,), replace(land, water=(-12, -5), seed=4), 86.0, (-7.0, -22.0, 1.5), 14.0, 17.0)
    gable = replace(
        mill,
        width=8.0,
        depth=15.0,
        gable_to_front=True,
        lucam=False,
        rows=("d.w", ".w.", ".l."),
        sign="",
        eaves=7.2,
    )
    return Scene((gable,), replace(land, water=(-14, -4), seed=6), 266.0, (4.5, -23.0, 1.6), -8.0, 15.0)


OSK_GRANARY = Scene(
    (
        Building(
            width=8.2,
            depth=10,
            eaves=5.4,
            pitch_deg=47,
            gable_to_front=True,
            wall="battens",
            roof="tiles",
            rows=("bdb", "wlw"),
            side_rows=("w..w",),
            sign="OSK GRANARY",
            sign_at=(1.6, 5.75, 5.0, 0.6),
        ),
    ),
    Country(path=(-9, -1), trees=(Tree(-13, 9, 11), Tree(14, 14, 12)), seed=8, hills=0.05),
    184.0,
    (4.6, -17.5, 1.6),
    -12.0,
    14.0,
)
READING_ROOM = Scene(
    (
        Building(
            width=8.6,
            depth=13,
            eaves=4.3,
            pitch_deg=44,
            gable_to_front=True,
            wall="boards",
            roof="slates",
            plinth=0.5,
            plinth_wall="brick",
            rows=("wdw", ".c."),
            side_rows=("www",),
            sign="READING ROOM",
            sign_at=(2.0, 3.42, 4.6, 0.55),
            chimney=0.8,
        ),
    ),
    Country(fence=-4.2, trees=(Tree(-14, 8, 10), Tree(15, 19, 14)), seed=9, hills=0.05),
    94.0,
    (-4.2, -17.0, 1.6),
    12.0,
    12.0,
)


def tarn_end_mill(year: int, side: str = "S") -> Scene:
    """Return the ruin of Tarn End Mill, lower every decade."""
    kept = max(0.42, 0.86 - 0.022 * (year - 1974))
    ruin = Building(width=11, depth=8, eaves=6.2, wall="stone", rows=("o.so", "s.os"), ragged=kept)
    land = Country(
        ground="snow" if year == 1985 else "grass",
        trees=(Tree(9, 15, 8, bare=True),),
        hills=0.19,
        seed=11,
        clouds=0.75,
    )
    if side == "S":
        return Scene((ruin,), land, 180.0, (5.0, -19.0, 2.6), -13.0, 4.0)
    return Scene(
        (replace(ruin, width=8, depth=11, rows=("so", "os")),),
        replace(land, water=(-10, -5)),
        90.0,
        (-5.5, -19.0, 1.5),
        14.0,
        5.0,
    )


BARN = Scene(
    (
        Building(
            width=13,
            depth=7,
            eaves=4.1,
            pitch_deg=45,
            wall="stone",
            side_wall="stone",
            roof="slates",
            rows=("o.d..o",),
        ),
    ),
    Country(hills=0.2, clouds=0.7, trees=(Tree(-12, 12, 7, bare=True),), seed=12),
    180.0,
    (-4.5, -18.0, 1.6),
    11.0,
    8.0,
)


def brome_hall(side: str = "E", trees: str = "summer") -> Scene:
    """Return Brome Hall, its front to the east since 1903."""
    hall = Building(
        width=11.2,
        depth=17,
        eaves=5.4,
        pitch_deg=24,
        gable_to_front=True,
        wall="whitewash",
        roof="slates",
        plinth=0.7,
        rows=("wwdww",),
        side_rows=("wwwww",),
        pediment=True,
        sign="BROME HALL  1847",
        sign_at=(2.9, 5.72, 5.4, 0.62),
        porch=True,
    )
    winter = trees == "winter"
    land = Country(
        path=(-14, -5),
        fence=-3.6,
        trees=(Tree(-15, 11, 12, winter), Tree(16, 22, 15, winter)),
        seed=14,
        hills=0.05,
    )
    if side == "E":
        return Scene((hall,), land, 88.0, (3.6, -19.5, 1.6), -8.0, 12.0)
    flank = replace(
        hall, width=17, depth=11.2, gable_to_front=False, rows=("wwwww",), sign="", porch=False, side_rows=()
    )
    return Scene((flank,), replace(land, fence=None), 358.0, (-5.0, -17.0, 1.6), 12.0, 9.0)


BROME_HALL_INSIDE = Scene((), Country(seed=15), 180.0, (0.9, -0.5, 1.6), 0.0, 8.0, "room")
BROME_MILL = Scene(
    (
        Building(
            width=12,
            depth=9,
            eaves=6.2,
            wall="battens",
            plinth=2.2,
            plinth_wall="brick",
            rows=("wd.w",),
            roof="tiles",
            sign="SAW MILL",
            sign_at=(4.6, 4.6, 3.6, 0.6),
            side_rows=("w.w",),
        ),
    ),
    Country(path=(-12, -2), trees=(Tree(-17, 12, 12), Tree(16, 16, 11)), seed=16),
    266.0,
    (5.0, -27.0, 1.6),
    -10.0,
    10.0,
)
STADDLE_GRANARY = Scene(
    (
        Building(
            width=6.2,
            depth=5.2,
            eaves=3.1,
            pitch_deg=50,
            wall="boards",
            roof="tiles",
            plinth=0.0,
            rows=("wdw",),
            staddles=True,
            z=0.75,
        ),
    ),
    Country(trees=(Tree(-9, 10, 9), Tree(10, 12, 10)), seed=17, hills=0.05),
    180.0,
    (3.8, -13.0, 1.5),
    -13.0,
    7.0,
)
OVER_BROME_MILL = Scene(
    (
        Building(
            width=9.5,
            depth=8,
            eaves=6.2,
            pitch_deg=44,
            wall="boards",
            roof="tiles",
            rows=("wdw", "w.w"),
            wheel=True,
            side_rows=("..w", "w.w"),
            sign="BROME UPPER MILL",
            sign_at=(2.3, 3.35, 4.9, 0.56),
        ),
    ),
    Country(water=(-10, -4), trees=(Tree(-12, 12, 12), Tree(-19, 22, 15)), seed=18),
    180.0,
    (11.5, -18.0, 1.6),
    -27.0,
    12.0,
)
WEIGH = Building(
    width=5.6,
    depth=5.2,
    eaves=3.5,
    pitch_deg=46,
    gable_to_front=True,
    wall="boards",
    roof="tiles",
    plinth=0.4,
    plinth_wall="brick",
    rows=("wd",),
    side_rows=("w",),
    sign="WEIGH-HOUSE",
    sign_at=(0.6, 3.3, 4.4, 0.52),
)


def weigh_house(place: str, side: str = "S") -> Scene:
    """Return the weigh-house beside the old road, or in the museum yard after June 1979."""
    if place == "museum":
        return Scene(
            (country.museum_wall(10.0), replace(WEIGH, wall="whitewash")),
            Country(ground="cobbles", trees=(), seed=21, hills=0.03),
            180.0,
            (3.6, -12.0, 1.6),
            -12.0,
            9.0,
        )
    land = Country(path=(-9, -1), trees=(Tree(-9, 9, 10, True), Tree(11, 17, 13, True)), seed=20, hills=0.05, fence=7.5)
    if side == "S":
        return Scene((WEIGH,), land, 180.0, (3.4, -12.5, 1.6), -12.0, 9.0)
    flank = replace(
        WEIGH,
        width=5.2,
        depth=5.6,
        gable_to_front=False,
        rows=("w.",),
        sign="WEIGH-HOUSE",
        sign_at=(2.1, 2.3, 2.9, 0.42),
    )
    return Scene((flank,), land, 90.0, (-3.0, -11.0, 1.6), 12.0, 9.0)


INSTITUTE = Scene(
    (
        Building(
            width=9,
            depth=15,
            eaves=3.6,
            pitch_deg=38,
            gable_to_front=True,
            wall="metal",
            roof="metal",
            plinth=0.4,
            plinth_wall="brick",
            rows=("wdw",),
            sign="INSTITUTE 1908",
            sign_at=(2.2, 3.55, 4.6, 0.56),
            side_rows=("www",),
        ),
    ),
    Country(path=(-9, -3), fence=-2.4, trees=(Tree(14, 14, 12),), seed=22, hills=0.05),
    180.0,
    (-4.0, -17.5, 1.6),
    11.0,
    10.0,
)
TOLL_HOUSE = Scene(
    (
        Building(
            width=6.8,
            depth=6,
            eaves=5.0,
            pitch_deg=36,
            wall="plaster",
            roof="slates",
            rows=("wdw", "w.w"),
            chimney=0.12,
            plinth=0.3,
            porch=True,
        ),
    ),
    Country(path=(-9, -1.4), trees=(Tree(-10, 9, 9), Tree(11, 15, 11)), seed=23, hills=0.05),
    2.0,
    (3.8, -15.5, 1.6),
    -11.0,
    10.0,
)


def town_mill(year: int) -> Scene:
    """Return Halding Town Mill as a store, or as flats with new windows."""
    rows = ("wwdww", "bw.wb", "bw.ww") if year < 1999 else ("wwdww", "wwcww", "wwcww")
    mill = Building(
        width=17,
        depth=10,
        eaves=8.8,
        pitch_deg=38,
        wall="brick",
        roof="slates",
        rows=rows,
        plinth=0.8,
        lucam=year < 1999,
        sign="TOWN MILL" if year < 1999 else "",
        sign_at=(6.4, 3.3, 4.2, 0.6),
    )
    return Scene(
        (mill,),
        Country(water=(-12, -3), trees=(Tree(17, 12, 12),), seed=24, hills=0.05),
        180.0,
        (6.5, -30.0, 1.6),
        -12.0,
        12.0,
    )


def priors_lode_granary(phase: str) -> Scene:
    """Return the granary that had been a chapel: ``standing``, ``burned``, or ``gone``."""
    land = Country(
        ground="gravel",
        water=(-13, -4.5),
        trees=(Tree(-13, 16, 12, phase != "standing"),),
        seed=26,
        hills=0.03,
        clouds=0.4,
    )
    granary = Building(
        width=9.4,
        depth=14,
        eaves=6.6,
        pitch_deg=49,
        gable_to_front=True,
        wall="stone",
        roof="slates",
        rows=("wdw", "wlw", ".w."),
        side_rows=("wwww",),
        sign="GRANARY 7",
        sign_at=(3.2, 2.9, 3.0, 0.42),
    )
    view = ((4.4, -21.0, 1.7), -10.0, 15.0)
    if phase == "burned":
        shell = replace(granary, wall="charred", rows=("sos", "sss"), sign="", ragged=1.2)
        return Scene((shell,), land, 266.0, *view, framed=(granary,))
    if phase == "gone":
        return Scene((), land, 266.0, *view, "rubble", (granary,))
    return Scene((granary,), land, 266.0, *view)


def lode_mill(side: str = "S") -> Scene:
    """Return Lode Mill by the lock on the Cray."""
    mill = Building(
        width=10.5,
        depth=8,
        eaves=7.0,
        pitch_deg=40,
        wall="whitewash",
        plinth=2.4,
        plinth_wall="brick",
        roof="tiles",
        rows=("wdw", "w.w"),
        sign="LODE MILL",
        sign_at=(0.5, 4.85, 3.4, 0.56),
        lucam=side == "S",
    )
    land = Country(water=(-12, -3), trees=(Tree(-15, 14, 12), Tree(15, 11, 10)), seed=27, hills=0.03)
    if side == "S":
        return Scene((mill,), land, 180.0, (-4.6, -21.0, 1.6), 10.0, 13.0)
    gable = replace(mill, width=8, depth=10.5, gable_to_front=True, rows=("w.w", ".w.", "..."), lucam=False, sign="")
    return Scene((gable,), land, 90.0, (4.0, -20.0, 1.6), -9.0, 14.0)


def ferry_house(year: int, side: str = "S") -> Scene:
    """Return Wennmouth Ferry House; no two decades show the same windows."""
    rows = {198: ("wdww", "w.ww"), 199: ("wdcw", "w.ww"), 201: ("cdcc", "wcww"), 202: ("cdcc", "cccc")}[year // 10]
    house = Building(
        width=12.5,
        depth=7.5,
        eaves=5.6,
        pitch_deg=42,
        wall="whitewash" if year < 2000 else "plaster",
        roof="slates",
        rows=rows,
        sign="FERRY HOUSE",
        sign_at=(7.6, 3.2, 4.2, 0.56),
        chimney=0.14,
        porch=year >= 1993,
        side_rows=("w.", ".w"),
    )
    land = Country(ground="mud", water=(-13, -5), trees=(), seed=29, hills=0.025, clouds=0.62)
    if side == "S":
        return Scene((house,), land, 180.0, (4.6, -21.0, 1.5), -10.0, 10.0)
    gable = replace(house, width=7.5, depth=12.5, gable_to_front=True, rows=("w.", ".w", ".c."), sign="", porch=False)
    return Scene((gable,), land, 90.0, (-4.8, -16.0, 1.5), 13.0, 12.0)


def quay_weigh_house(year: int) -> Scene:
    """Return the weigh-house on the quay, before or after its gable was boarded anew."""
    wall = "boards" if year < 1997 else "whitewash"
    house = Building(
        width=6.4,
        depth=8,
        eaves=4.2,
        pitch_deg=45,
        gable_to_front=True,
        wall=wall,
        roof="slates",
        plinth=0.4,
        rows=("wd", ".c."),
        sign="WEIGH-HOUSE 1834",
        sign_at=(0.5, 2.95, 5.4, 0.52),
        side_rows=("w.w",),
    )
    return Scene(
        (country.museum_wall(12.0), house),
        Country(ground="cobbles", seed=31, hills=0.02, clouds=0.6),
        266.0,
        (4.2, -14.0, 1.6),
        -12.0,
        11.0,
    )


def framed(scene: Scene, camera: Camera) -> Camera:
    """
    Return the camera where its lens holds the buildings: turned to their middle, as near as they fit.

    A building photographer would rather step back than cut off a gable; the rise is what the holder allows.
    """
    buildings = [it for it in scene.framed or scene.buildings if it.width < 40]
    if not buildings:
        return camera
    edges = [
        (x, it.y - 0.5, z)
        for it in buildings
        for x in (it.x - it.width / 2, it.x + it.width / 2)
        for z in (0.0, it.z + (it.ridge if it.ragged is None else it.eaves * it.ragged + 0.8))
    ]
    middle = (min(x for x, _, _ in edges) + max(x for x, _, _ in edges)) / 2
    for step in range(12, 60):
        near = step * 0.04
        stood = (middle + (camera.position[0] - middle) * near, camera.position[1] * near, camera.position[2])
        yaw = degrees(atan2(middle - stood[0], 2.0 - stood[1]))
        for foot in (0.73, 0.79):
            turned = replace(camera, position=stood, yaw_deg=yaw, rise_mm=0.0)
            lowest = max(turned.project(edge)[1] for edge in edges)
            rise = (foot * camera.height - lowest) * camera.pitch_mm
            turned = replace(turned, rise_mm=rise)
            if abs(rise) < 0.30 * camera.opening_mm[1] and _fits(turned, edges):
                return turned
    return replace(camera, yaw_deg=scene.yaw_deg)


def _fits(camera: Camera, edges: list[tuple[float, float, float]]) -> bool:
    seen = [camera.project(edge) for edge in edges if camera.depth(edge) > 0.5]
    return (
        len(seen) == len(edges)
        and min(c for c, _ in seen) > 0.07 * camera.width
        and max(c for c, _ in seen) < 0.93 * camera.width
        and min(r for _, r in seen) > 0.06 * camera.height
    )


def see(scene: Scene, sheet: Sheet, sun: Sun, noise: Noise, *, focal_length_mm: float, width: int) -> Array:
    """Return the light on the film within the holder's opening, in a scan ``width`` pixels wide."""
    columns, rows = picture_size(sheet, width)
    camera = framed(scene, Camera(scene.camera, 0.0, focal_length_mm, sheet.opening_mm, scene.rise_mm, columns, rows))
    canvas = Canvas(camera, sun, scene.faces_deg, noise, colour=len(sheet.film.base_fog) == 3)
    if scene.extra == "room":
        for face in country.room_faces(9.8, 15.5, 5.4):
            canvas.draw(face)
    else:
        _draw_outside(canvas, scene)
    return soften(canvas.light)


def _draw_outside(canvas: Canvas, scene: Scene) -> None:
    land = scene.country
    country.draw_sky(canvas, land)
    shadows = [ground_shadow(it, canvas.sun_vector) for it in scene.buildings]
    country.draw_ground(canvas, land, [outline for outline in shadows if outline])
    for index, tree in enumerate(sorted(land.trees, key=lambda tree: -tree.y)):
        country.draw_tree(canvas, tree, land.seed * 7 + index * 91)
    if land.fence is not None and land.fence > 0:
        country.draw_fence(canvas, land.fence)
    for it in scene.buildings:
        draw_building(canvas, it)
    if scene.extra == "rubble":
        country.rubble(canvas, 0.0, 12.0, 9.0)
    country.draw_water(canvas, land)
    if land.fence is not None and land.fence <= 0:
        country.draw_fence(canvas, land.fence)
