"""What the page of a picture's tones says, in words that the screen and the drawing share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from catalog.rules.lines import one_line

if TYPE_CHECKING:
    from catalog.imaging.tone_report import ToneStretch
    from catalog.outputs.tone_pages import TonePage
    from catalog.rules.papers import Paper
    from catalog.rules.print_sizes import PrintSize


def paper_words(paper: Paper | None) -> str:
    """Return the paper in words."""
    if paper is None:
        return "No paper named: white is L* 100, black L* 0 (--paper names one)"
    return one_line(f"On {paper.name}: white L* {paper.white_l:g}, black L* {paper.black_l:g} ({paper.source})")


def clipped_words(page: TonePage) -> str:
    """Return how much lies at the ends, in the picture and, where steps stand between, in the scan itself."""
    tones = page.tones
    words = f"Clipped: at black {per_cent(tones.at_black)}, at white {per_cent(tones.at_white)}"
    if page.steps is None:
        return words
    lowest, highest = per_cent(tones.at_lowest), per_cent(tones.at_highest)
    return f"{words}; in the scan itself at its lowest value {lowest}, at its highest {highest}"


def film_words(page: TonePage) -> str | None:
    """Return what was read of the film, in words; ``None`` where a file was not made from its scan just now."""
    film = page.film
    if film is None:
        return None
    base = f"base plus fog D {'/'.join(f'{one:.2f}' for one in film.base)}" if film.base else "no clear rebate seen"
    return f"Film: {film.polarity}: {film.why}; {base}; density range {film.density_range:.2f}"


def resolution_words(page: TonePage) -> str:
    """Return how fine the film was seen, in words; never more than is known."""
    found = page.resolution
    if found is None:
        return "On the film: ppi not recorded, and the size of the film does not tell it"
    source = "worked out from the size of the film; the file records none" if found.is_worked_out else "recorded"
    other = f"; by the size of the film it would be {page.other_ppi:.0f}" if page.other_ppi else ""
    return (
        f"On the film: {found.ppi:g} ppi ({source}{other}), {found.pixels_per_mm:.1f} pixels a mm, "
        f"at most {found.line_pairs_per_mm:.1f} line pairs a mm"
    )


def size_words(size: PrintSize) -> str:
    """Return the size of a print in words."""
    return (
        f"{size.ppi} ppi: {size.width_mm / 10:.1f} x {size.height_mm / 10:.1f} cm "
        f"({size.width_in:.1f} x {size.height_in:.1f} in)"
    )


def per_cent(share: float) -> str:
    """
    Return a share in per cent: none is "none", and what there is never looks like none.

    >>> per_cent(0), per_cent(0.00001), per_cent(0.1234)
    ('none', '<0.01 %', '12.3 %')
    """
    if not share:
        return "none"
    if share < 0.0001:
        return "<0.01 %"
    return f"{share:.2%}".replace("%", " %") if share < 0.01 else f"{share:.1%}".replace("%", " %")


def ends_words(stretch: ToneStretch) -> str:
    """Return the ends of a stretch in print L*; whole where they are whole."""
    return "-".join(
        f"{end:.0f}" if abs(end - round(end)) < 0.05 else f"{end:.1f}" for end in (stretch.from_l, stretch.to_l)
    )


def paired(steps: Sequence[ToneStretch]) -> Iterator[ToneStretch]:
    """Yield stretches two by two as one, so that ten take five lines; an odd one out comes first, by itself."""
    start = len(steps) % 2
    if start:
        yield steps[0]
    for one, other in zip(steps[start::2], steps[start + 1 :: 2], strict=True):
        levels = None if one.levels is None or other.levels is None else one.levels + other.levels
        yield replace(one, to_l=other.to_l, share=one.share + other.share, levels=levels)
