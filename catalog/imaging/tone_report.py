"""
Where the tones of a picture lie: in zones, in the L* of a print, in the whites and in the deepest shadows.

Two scales of L* are told apart. Picture L* is 0 at the picture's black and 100 at its white. Print L* is what a
paper makes of it: black becomes the paper's deepest black, white its bare white.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from catalog.imaging.tone_scales import Tones, lightness_of_luminance, luminance_of_lightness

if TYPE_CHECKING:
    from numpy.typing import NDArray

ZONES: Final = ("0", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X")
STROKE_L: Final = 2.5
"""The finer steps of picture L* within the zones: four a zone, two in the half zones at the ends."""
WHITES_FROM_L: Final = 90.0
SHADOWS_L: Final = 10.0
"""How far above the paper's black, in L*, the deepest shadows reach."""
PERCENTILES: Final = (1, 5, 10, 25, 50, 75, 90, 95, 99)


@dataclass(frozen=True, slots=True)
class ToneCount:
    """
    How many pixels have each lightness: ``lightness`` rises, picture L*; ``pixels`` are beside it.

    ``at_black`` and ``at_white`` count pixels of which a channel is at the picture's black or white,
    ``at_lowest`` and ``at_highest`` those of which one has the lowest or the highest value in the file itself: of
    a scan, light that was lost for good. ``has_levels``: each lightness is one value, so that levels can be counted.
    """

    lightness: NDArray[Any]
    pixels: NDArray[Any]
    at_black: int
    at_white: int
    at_lowest: int
    at_highest: int
    has_levels: bool = True


@dataclass(frozen=True, slots=True)
class ToneStretch:
    """
    A stretch of the scale: its ends in print L*, its share of the picture, and the file's levels in it.

    The lower end belongs to it. ``levels`` counts the different values that occur; ``None`` in colour.
    """

    name: str
    from_l: float
    to_l: float
    share: float
    levels: int | None


@dataclass(frozen=True, slots=True)
class ToneReport:
    """Where a picture's tones lie on a paper. Shares are of all its pixels, 0 to 1."""

    white_l: float
    black_l: float
    pixels: int
    zones: tuple[ToneStretch, ...]
    """From 0, the deepest black, to X, bare paper."""
    strokes: tuple[ToneStretch, ...]
    print_steps: tuple[ToneStretch, ...]
    """Steps of one print L*, from the paper's black to its white."""
    whites: tuple[ToneStretch, ...]
    """Print L* 90 to bare paper, one L* each; empty where the paper's white is no lighter than that."""
    shadows: tuple[ToneStretch, ...]
    percentiles: tuple[tuple[int, float], ...]
    """The print L* below which so many of a hundred pixels lie."""
    whites_middle_l: tuple[float, float] | None
    """Between which print L* the middle half of the whites lies."""
    at_black: float
    at_white: float
    at_lowest: float
    at_highest: float

    @property
    def whites_share(self) -> float:
        """The share of the picture between print L* 90 and bare paper."""
        return sum(step.share for step in self.whites)

    @property
    def shadows_share(self) -> float:
        """The share of the picture within ten L* of the paper's black."""
        return sum(step.share for step in self.shadows)

    @property
    def light_tenth_l(self) -> float:
        """Over how many print L* the lightest tenth spreads, its last hundredth left out."""
        return self._between(90, 99)

    @property
    def dark_tenth_l(self) -> float:
        """Over how many print L* the darkest tenth spreads, its first hundredth left out."""
        return self._between(1, 10)

    def _between(self, low: int, high: int) -> float:
        at = dict(self.percentiles)
        return at[high] - at[low]


def print_lightness(picture_l: Tones, *, white_l: float, black_l: float) -> Tones:
    """
    Return the L* that a paper gives a picture's L*: black to its black, white to its white, light in proportion.

    >>> round(print_lightness(50.0, white_l=96.0, black_l=16.7), 1)
    50.0

    Source: black point compensation, ISO 18619:2015 (linear in luminance; clause from memory).
    """
    black, white = luminance_of_lightness(black_l), luminance_of_lightness(white_l)
    return lightness_of_luminance(black + (white - black) * luminance_of_lightness(picture_l))


def report_tones(count: ToneCount, *, white_l: float = 100.0, black_l: float = 0.0) -> ToneReport:
    """
    Return where the counted tones lie on a paper; without one, white is L* 100 and black L* 0.

    Raises:
        ValueError: the count has no pixels, or black is not below white.
    """
    import numpy as np

    if not 0 <= black_l < white_l <= 100:
        raise ValueError(f"black L* {black_l} and white L* {white_l} are no paper")
    total = int(np.sum(count.pixels))
    if not total:
        raise ValueError("no pixels were counted")
    scale = _Scale(count, total, white_l, black_l)
    whites_from = max(WHITES_FROM_L, black_l)
    whites = scale.print_stretches(_steps(whites_from, white_l))
    return ToneReport(
        white_l=white_l,
        black_l=black_l,
        pixels=total,
        zones=scale.picture_stretches(_zone_edges(), ZONES),
        strokes=scale.picture_stretches([STROKE_L * i for i in range(round(100 / STROKE_L) + 1)]),
        print_steps=scale.print_stretches(_steps(black_l, white_l)),
        whites=whites,
        shadows=scale.print_stretches(_steps(black_l, min(black_l + SHADOWS_L, white_l))),
        percentiles=tuple((hundredth, scale.percentile(hundredth / 100)) for hundredth in PERCENTILES),
        whites_middle_l=scale.middle_half(whites_from) if any(step.share for step in whites) else None,
        at_black=count.at_black / total,
        at_white=count.at_white / total,
        at_lowest=count.at_lowest / total,
        at_highest=count.at_highest / total,
    )


def _zone_edges() -> list[float]:
    # Zone V, 18 % grey, is L* 49.5: so zone n has its middle at 10 n, and 0 and X are half zones at the ends.
    return [0.0, *(10.0 * n - 5.0 for n in range(1, 11)), 100.0]


def _steps(low: float, high: float) -> list[float]:
    """Return edges at whole L* between two ends, and the ends themselves; none if there is nothing between."""
    if low >= high:
        return []
    return [low, *(float(whole) for whole in range(int(low) + 1, 101) if whole < high), high]


class _Scale:
    """A count laid out on a paper's scale of L*."""

    def __init__(self, count: ToneCount, total: int, white_l: float, black_l: float) -> None:
        import numpy as np

        self._count, self._total = count, total
        self._white_l, self._black_l = white_l, black_l
        picture_l = np.clip(np.asarray(count.lightness, dtype=float), 0.0, 100.0)
        self._picture_l = picture_l
        self._print_l = print_lightness(picture_l, white_l=white_l, black_l=black_l)
        self._running = np.concatenate(([0], np.cumsum(np.asarray(count.pixels, dtype=np.int64))))
        self._levels = np.concatenate(([0], np.cumsum(np.asarray(count.pixels) > 0)))

    def picture_stretches(self, edges: Sequence[float], names: Sequence[str] = ()) -> tuple[ToneStretch, ...]:
        """Return the stretches between edges in picture L*."""
        return self._stretches(edges, names, is_print=False)

    def print_stretches(self, edges: Sequence[float]) -> tuple[ToneStretch, ...]:
        """Return the stretches between edges in print L*."""
        return self._stretches(edges, (), is_print=True)

    def _stretches(self, edges: Sequence[float], names: Sequence[str], *, is_print: bool) -> tuple[ToneStretch, ...]:
        import numpy as np

        if len(edges) < 2:
            return ()
        scale = self._print_l if is_print else self._picture_l
        # A rounding error must not put the paper's own black or white outside of its stretch.
        cuts = np.searchsorted(scale, np.asarray(edges) - 1e-9, side="left")
        cuts[-1] = len(scale) if edges[-1] >= scale[-1] - 1e-9 else cuts[-1]
        # Rounded, so that the paper's own figures come back as they were given.
        ends = [round(edge if is_print else self._on_paper(edge), 4) for edge in edges]
        stretches = []
        for i in range(len(edges) - 1):
            low, high = int(cuts[i]), int(cuts[i + 1])
            name = names[i] if names else f"{ends[i]:g}-{ends[i + 1]:g}"
            share = float(self._running[high] - self._running[low]) / self._total
            levels = int(self._levels[high] - self._levels[low]) if self._count.has_levels else None
            stretches.append(ToneStretch(name, ends[i], ends[i + 1], share, levels))
        return tuple(stretches)

    def _on_paper(self, picture_l: float) -> float:
        return print_lightness(picture_l, white_l=self._white_l, black_l=self._black_l)

    def percentile(self, share: float, above_l: float = -1.0) -> float:
        """Return the print L* that a share of the pixels (of those from ``above_l`` up) reaches."""
        import numpy as np

        before = int(self._running[int(np.searchsorted(self._print_l, above_l - 1e-9, side="left"))])
        wanted = before + share * (self._total - before)
        at = int(np.searchsorted(self._running[1:], max(wanted, before + 1), side="left"))
        return float(self._print_l[min(at, len(self._print_l) - 1)])

    def middle_half(self, from_l: float) -> tuple[float, float]:
        """Return the print L* between which the middle half of the pixels from ``from_l`` up lies."""
        return self.percentile(0.25, from_l), self.percentile(0.75, from_l)
