"""
How a piece of film lies in its scan: open glass, clear rebate, picture, notches.

Works on the densities of a small copy. From each side inwards a scan shows open glass (nothing, density about
0), then the rebate (one density all along: clear film on a negative, the film's black on a transparency), then
the picture (densities that differ along a line). Words and numbers on the rebate touch a small part of a line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Densities = NDArray[Any]

GLASS: Final = 0.045
"""Open glass is no denser than this above the clearest of the scan; the clearest film base is near 0.06."""
EVEN: Final = 0.05
"""Half of a rebate's line lies within this density of its middle."""
SAME: Final = 0.05
"""A line belongs to the rebate while its middle stays this near to that of the lines before."""
DARK_REBATE: Final = 1.2
MAX_REBATE: Final = 0.22
"""The rebate takes at most this share of a side, at either end."""


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle in pixels, its right and bottom edges not included."""

    left: int
    top: int
    width: int
    height: int

    def slices(self) -> tuple[slice, slice]:
        """Return it as rows and columns."""
        return slice(self.top, self.top + self.height), slice(self.left, self.left + self.width)

    def scaled(self, factor: int, size: tuple[int, int]) -> Area:
        """Return it in a picture ``factor`` times as large, of ``size`` pixels across and down."""
        left, top = self.left * factor, self.top * factor
        return Area(left, top, min(self.width * factor, size[0] - left), min(self.height * factor, size[1] - top))


@dataclass(frozen=True, slots=True)
class Layout:
    """What was found; areas in pixels of the small copy."""

    polarity: str
    polarity_reason: str
    picture: Area
    film: Area | None
    rebate: Area | None
    base: tuple[float, ...] | None
    is_reversed: bool | None
    reversed_reason: str


def find_layout(density: Densities, *, orientation: int) -> Layout:
    """Return how the film lies in a scan, given as densities (rows x columns x channels)."""
    mean = density.mean(axis=2)
    sides = [_Side(side, _plateaus(_lines(mean, side))) for side in SIDES]
    glass, rebate = _glass_and_rebate(sides)
    film = _within(sides, glass, mean.shape) if glass is not None else None
    has_glass_all_round = film is not None and all(side.find(glass) for side in sides)
    picture = _picture(sides, glass, rebate, mean.shape)
    strip = _rebate_strip(sides, rebate, mean.shape) if rebate is not None else None
    base = tuple(round(float(one), 4) for one in _base(density, sides, rebate)) if strip else None
    polarity, reason = _polarity(density, picture, base)
    is_reversed, why = None, "open glass is not seen on all four sides, so its notches are not looked for"
    if has_glass_all_round and film is not None and rebate is not None and glass is not None:
        is_reversed, why = find_reversed(mean < (glass + rebate) / 2, film, orientation=orientation)
    elif rebate is None:
        why = "no film edge is seen, so its notches are not looked for"
    return Layout(
        polarity=polarity,
        polarity_reason=reason,
        picture=picture,
        film=film if has_glass_all_round else None,
        rebate=strip,
        base=base if polarity == "negative" or _is_blank(density, picture) else None,
        is_reversed=is_reversed,
        reversed_reason=why,
    )


# -- lines from each side inwards --------------------------------------------------------------------------

SIDES: Final = ("top", "bottom", "left", "right")


@dataclass(frozen=True, slots=True)
class _Plateau:
    """Lines of one density, counted from the side inwards; ``end`` is not included."""

    start: int
    end: int
    density: float


@dataclass(frozen=True, slots=True)
class _Side:
    name: str
    plateaus: list[_Plateau]

    def find(self, density: float | None) -> _Plateau | None:
        """Return the plateau of about a density; the widest if there are several."""
        if density is None:
            return None
        near = [one for one in self.plateaus if abs(one.density - density) < 1.5 * SAME]
        return max(near, key=lambda one: one.end - one.start, default=None)


def _lines(mean: Densities, side: str) -> Densities:
    """Return the middle parts of the lines that run along a side, from it inwards, one a row."""
    turned = {"top": mean, "bottom": mean[::-1], "left": mean.T, "right": mean.T[::-1]}[side]
    deep, long = turned.shape
    return turned[: max(1, int(deep * MAX_REBATE)), int(long * 0.15) : max(int(long * 0.85), int(long * 0.15) + 1)]


def _plateaus(lines: Densities) -> list[_Plateau]:
    """Return the runs of even lines of about one density."""
    low, middle, high = np.percentile(lines, (30, 50, 70), axis=1)
    found: list[_Plateau] = []
    start, kept = 0, [float(middle[0])]
    even = high - low < EVEN
    for at in range(len(middle) + 1):
        goes_on = at < len(middle) and even[at] and abs(middle[at] - np.median(kept[-40:])) < SAME
        if goes_on and at > start:
            kept.append(float(middle[at]))
            continue
        if at > start and at - start >= 2 and even[start]:
            found.append(_Plateau(start, at, float(np.median(kept))))
        if at < len(middle):
            start, kept = at, [float(middle[at])]
    return found


def _glass_and_rebate(sides: list[_Side]) -> tuple[float | None, float | None]:
    """Return the densities of open glass and of the rebate: those that all sides but one, or all, have in common."""
    common: list[tuple[float, float]] = []  # mean place, density
    for one in (plateau for side in sides for plateau in side.plateaus):
        if any(abs(one.density - density) < 1.5 * SAME for _, density in common):
            continue
        met = [plateau for side in sides if (plateau := side.find(one.density))]
        if len(met) >= 3:
            density = float(np.median([plateau.density for plateau in met]))
            common.append((float(np.mean([plateau.start for plateau in met])), density))
    common.sort()
    if not common:
        return None, None
    outer = common[0]
    # Whatever lies beside the sheet lets more light through than any film.
    inner = [density for _, density in common[1:] if density > outer[1] + GLASS]
    if outer[1] < 0.08 and inner:
        return outer[1], inner[0]
    return (outer[1], None) if outer[1] < 0.012 else (None, outer[1])


def _ends(sides: list[_Side], density: float | None) -> dict[str, int]:
    """Return where the lines of a density end on each side; one much wider than the others is not believed."""
    found = {side.name: plateau.end for side in sides if (plateau := side.find(density))}
    wide = {side.name: plateau.end - plateau.start for side in sides if (plateau := side.find(density))}
    usual = float(np.median(list(wide.values()))) if wide else 0.0
    return {
        name: end if wide[name] <= 2.5 * usual + 4 else round(end - wide[name] + usual) for name, end in found.items()
    }


def _within(sides: list[_Side], density: float | None, shape: tuple[int, ...]) -> Area:
    """Return what is left when the lines of a density, and the one where it changes, are taken off each side."""
    ends = _ends(sides, density)
    return _inset(ends, shape)


def _inset(ends: dict[str, int], shape: tuple[int, ...]) -> Area:
    top, left = ends.get("top", 0), ends.get("left", 0)
    width = max(1, shape[1] - left - ends.get("right", 0))
    return Area(left, top, width, max(1, shape[0] - top - ends.get("bottom", 0)))


def _picture(sides: list[_Side], glass: float | None, rebate: float | None, shape: tuple[int, ...]) -> Area:
    """Return where the picture begins, one line of change left out."""
    ends = _ends(sides, glass) | _ends(sides, rebate)
    return _inset({name: end + 1 for name, end in ends.items()}, shape)


def _rebate_strip(sides: list[_Side], rebate: float, shape: tuple[int, ...]) -> Area | None:
    """Return the widest strip of the rebate, its middle part."""
    met = [(side.name, plateau) for side in sides if (plateau := side.find(rebate))]
    if not met:
        return None
    name, plateau = max(met, key=lambda one: one[1].end - one[1].start)
    height, width = shape
    deep = plateau.end - plateau.start
    if name in ("top", "bottom"):
        top = plateau.start if name == "top" else height - plateau.end
        return Area(int(width * 0.15), top, max(1, int(width * 0.7)), deep)
    left = plateau.start if name == "left" else width - plateau.end
    return Area(left, int(height * 0.15), deep, max(1, int(height * 0.7)))


def _base(density: Densities, sides: list[_Side], rebate: float | None) -> Densities:
    """Return the density of each channel in the rebate: the middle of all its lines on all sides."""
    turned = {
        "top": density, "bottom": density[::-1],
        "left": density.transpose(1, 0, 2), "right": density.transpose(1, 0, 2)[::-1],
    }  # fmt: skip
    parts = []
    for side in sides:
        if plateau := side.find(rebate):
            lines = turned[side.name]
            long = lines.shape[1]
            # The outermost lines of a plateau may hold a little of what lies beside it.
            edge = 1 if plateau.end - plateau.start > 4 else 0
            part = lines[plateau.start + edge : plateau.end - edge, int(long * 0.15) : int(long * 0.85) + 1]
            parts.append(part.reshape(-1, density.shape[2]))
    return np.asarray(np.median(np.concatenate(parts), axis=0))


# -- polarity ----------------------------------------------------------------------------------------------


def _is_blank(density: Densities, picture: Area) -> bool:
    inside = density[picture.slices()].mean(axis=2)
    low, high = np.percentile(inside, (2, 98))
    return bool(high - low < 0.2)


def _polarity(density: Densities, picture: Area, base: tuple[float, ...] | None) -> tuple[str, str]:
    """Return negative, positive or unknown, and the reason."""
    inside = density[picture.slices()]
    mean = inside.mean(axis=2)
    low, high = (float(one) for one in np.percentile(mean, (2, 98)))
    if base is not None:
        rebate = sum(base) / len(base)
        if high - low < 0.2 and abs(low - rebate) < 0.15:
            return "unknown", f"nothing but film of D {rebate:.2f} is seen: a blank sheet, or an empty scan"
        if rebate < low + 0.08 and high > rebate + 0.3:
            return "negative", f"the rebate is clear (D {rebate:.2f}) and the picture denser (to D {high:.2f})"
        if rebate > max(high - 0.3, DARK_REBATE):
            return "positive", f"the rebate is dark (D {rebate:.2f}) and the picture lighter (from D {low:.2f})"
    if density.shape[2] == 3:
        red, green, blue = (float(one) for one in np.percentile(inside.reshape(-1, 3), 1, axis=0))
        if green - red > 0.15 and blue - green > 0.08 and blue - red > 0.35:
            return (
                "negative",
                f"an orange mask lies over all of it (red, green, blue D {red:.2f}/{green:.2f}/{blue:.2f})",
            )
    return "unknown", "no clear or dark rebate is seen that would tell"


# -- notches -----------------------------------------------------------------------------------------------


def find_reversed(glass: NDArray[np.bool_], film: Area, *, orientation: int) -> tuple[bool | None, str]:
    """
    Return whether a sheet lies wrong side up, from its code notches, and the reason; None is not known.

    ``glass`` is True where there is no film. The notches of an upright sheet seen from the side from which its
    picture reads correctly are on the top edge near the left, or on the bottom edge near the right; of a
    landscape one on the right edge near the top, or the left near the bottom. Elsewhere it lies the other way.

    Source: dictionary.archivists.org, "notch code"; the landscape rule is derived by turning it by 90 degrees.
    """
    long_side = max(film.width, film.height)
    if long_side < 450:
        return None, "the scan is too small for its notches to be seen"
    if min(film.width, film.height) > 0.97 * long_side:
        return None, "a square sheet has no short side for its notches"
    deep = max(3, round(long_side * 0.009))
    rows, columns = film.slices()
    inside = glass[rows, columns]
    is_upright = film.height > film.width
    edges = {"top": inside[:deep], "bottom": inside[-deep:]} if is_upright else {
        "right": inside[:, -deep:].T, "left": inside[:, :deep].T
    }  # fmt: skip
    found = {(name, end) for name, strip in edges.items() for end in _bitten_ends(strip, long_side)}
    if len(found) != 1:
        return None, "no notches are seen" if not found else "notches seem to be in several corners"
    edge, is_near_start = found.pop()
    where = _corner_words(edge, is_near_start)
    is_right = (edge in ("top", "right")) == is_near_start
    # TIFF 6.0, tag 274: 2, 4, 5 and 7 mirror the picture. What the tag mirrors is seen the other way round.
    is_mirrored = orientation in (2, 4, 5, 7)
    tag = ", and its orientation tag mirrors it" if is_mirrored else ""
    return is_right == is_mirrored, f"its notches are on the {where} of the scan{tag}"


def _corner_words(edge: str, is_near_start: bool) -> str:
    if edge in ("top", "bottom"):
        return f"{edge} edge near the {'left' if is_near_start else 'right'}"
    return f"{edge} edge near the {'top' if is_near_start else 'bottom'}"


def _bitten_ends(strip: NDArray[np.bool_], long_side: int) -> set[bool]:
    """Return True for bites near the start of an edge, False for bites near its end; in between is no notch."""
    length = strip.shape[1]
    corner = max(2, round(length * 0.012))
    # A bite is open to the edge and deep; the outermost line may be film cut not quite straight.
    bitten = strip.mean(axis=0) > 0.55
    bitten[:corner] = bitten[-corner:] = False
    places = []
    starts = np.flatnonzero(np.diff(np.concatenate(([0], bitten.view(np.int8), [0]))))
    for start, end in zip(starts[::2], starts[1::2], strict=True):
        if 0.003 * long_side <= end - start <= 0.08 * long_side:
            places.append((start + end) / 2 / length)
    return {bool(place < 0.5) for place in places if not 0.35 < place < 0.65}
