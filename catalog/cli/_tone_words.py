"""The page of a picture's tones in characters, in JSON, and as rows."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from catalog.cli.common import fit, one_line, wrapped
from catalog.outputs.tone_words import (
    clipped_words,
    ends_words,
    film_words,
    paired,
    paper_words,
    per_cent,
    resolution_words,
    size_words,
)
from catalog.store.files import shown_path

if TYPE_CHECKING:
    from catalog.imaging.tone_report import ToneReport, ToneStretch
    from catalog.outputs.tone_pages import TonePage
    from catalog.rules.papers import Paper

NARROWEST: Final = 40
WIDEST: Final = 120
_TWO_COLUMNS: Final = 72
_EIGHTHS: Final = " ▏▎▍▌▋▊▉█"
_RULE: Final = "·"
CSV_HEADINGS: Final = ("scale", "name", "from_l", "to_l", "share", "levels")


def page_lines(page: TonePage, width: int) -> Iterator[str]:
    """Yield the page in lines of at most ``width`` columns, from 40 to 120."""
    width = min(max(width, NARROWEST), WIDEST)
    for words in _head(page):
        yield from wrapped(words, width)
    yield ""
    yield from _zone_lines(page.tones, width)
    yield ""
    yield from _ends_lines(page.tones, width)
    yield ""
    for words in _foot(page):
        yield from wrapped(words, width)


def _head(page: TonePage) -> Iterator[str]:
    for reference, words in page.sheets:
        yield f"{reference}  {one_line(words)}"
    if not page.sheets:
        yield "of no sheet yet"
    yield f"{page.reference}  {one_line(page.file_name)}: {page.made}"
    if page.replaced_by:
        yield f"replaced by {', '.join(page.replaced_by)}"
    if page.steps:
        yield one_line(page.steps)
    yield paper_words(page.paper)


def _zone_lines(tones: ToneReport, width: int) -> Iterator[str]:
    yield _ruled_heading("zone  print L*", "of the picture", width)
    most = max(zone.share for zone in tones.zones)
    for zone in reversed(tones.zones):
        name = f"{zone.name:>4}  {ends_words(zone):<9} "
        yield _bar_line(name, zone.share, most, width)


def _ends_lines(tones: ToneReport, width: int) -> Iterator[str]:
    """Yield the whites and the shadows, side by side where there is room."""
    wide = width >= _TWO_COLUMNS
    column = (width - 3) // 2 if wide else width
    whites, shadows = list(_whites_lines(tones, column)), list(_shadows_lines(tones, column))
    if not wide:
        yield from whites
        yield ""
        yield from shadows
        return
    for at in range(max(len(whites), len(shadows))):
        left = whites[at] if at < len(whites) else ""
        right = shadows[at] if at < len(shadows) else ""
        yield f"{fit(left, column)}   {right}".rstrip()


def _whites_lines(tones: ToneReport, width: int) -> Iterator[str]:
    if not tones.whites:
        yield from wrapped(f"Whites: none; bare paper is L* {tones.white_l:g}", width)
        return
    yield _ruled_heading(f"whites from L* 90: {per_cent(tones.whites_share)}", _levels_heading(tones.whites), width)
    most = max(max(step.share for step in tones.whites), 1e-9)
    for step in reversed(tones.whites):
        yield _bar_line(f"{ends_words(step):<9} ", step.share, most, width, _levels(step))
    if tones.whites_middle_l:
        low, high = tones.whites_middle_l
        yield from wrapped(f"the middle half of them lies from L* {low:.1f} to {high:.1f}", width)
    yield from wrapped(f"the lightest tenth spreads over {tones.light_tenth_l:.1f} L*", width)


def _shadows_lines(tones: ToneReport, width: int) -> Iterator[str]:
    low, high = tones.shadows[0].from_l, tones.shadows[-1].to_l
    heading = f"shadows to L* {high:g}: {per_cent(tones.shadows_share)}"
    yield _ruled_heading(heading, _levels_heading(tones.shadows), width)
    pairs = list(paired(tones.shadows))
    most = max(max(step.share for step in pairs), 1e-9)
    for step in reversed(pairs):
        yield _bar_line(f"{ends_words(step):<9} ", step.share, most, width, _levels(step))
    yield from wrapped(f"the darkest tenth spreads over {tones.dark_tenth_l:.1f} L* above {low:g}", width)


def _foot(page: TonePage) -> Iterator[str]:
    yield clipped_words(page)
    film = film_words(page)
    if film is not None:
        yield one_line(film)
    if page.coding_is_assumed:
        yield f"The file carries no profile with tone curves; its values were taken as {page.coding}"
    elif page.steps is None:
        yield f"Values by the profile {one_line(page.coding)}"
    yield resolution_words(page)
    yield f"{page.width_px} x {page.height_px} px print at"
    for size in page.sizes:
        yield f"  {size_words(size)}"
    if page.others:
        yield f"Other pictures of it: {', '.join(page.others)}"


def _levels(stretch: ToneStretch) -> str | None:
    return None if stretch.levels is None else f"{stretch.levels:>6}"


def _levels_heading(stretches: Sequence[ToneStretch]) -> str:
    return "" if stretches[0].levels is None else "levels"


def _ruled_heading(left: str, right: str, width: int) -> str:
    return f"{left}{' ' * max(1, width - len(left) - len(right))}{right}".rstrip()


def _bar_line(name: str, share: float, most: float, width: int, extra: str | None = None) -> str:
    """Return one ruled line: its name, a stroke as long as its share of the longest, and the share."""
    tail = f"{cell_per_cent(share):>8}{extra or ''}"
    room = width - len(name) - len(tail) - 1
    return f"{name}{stroke(share / most if most else 0.0, room)} {tail}"


def cell_per_cent(share: float) -> str:
    """
    Return a share for a column: two decimals, so that the points stand below each other.

    >>> cell_per_cent(0.1234), cell_per_cent(0.00001), cell_per_cent(0)
    ('12.34 %', '<0.01 %', '-')
    """
    if not share:
        return "-"
    return "<0.01 %" if share < 0.00005 else f"{share * 100:.2f} %"


def stroke(part: float, room: int) -> str:
    """Return a stroke over a dotted rule: ``part`` of ``room`` columns, in eighths where the terminal has them."""
    eighths = round(part * room * 8)
    if part > 0 and not eighths:
        eighths = 1
    whole, rest = divmod(eighths, 8)
    if not _has_blocks():
        return ("#" * (whole + (rest >= 4))).ljust(room, ".")[:room]
    drawn = "█" * whole + (_EIGHTHS[rest] if rest else "")
    return drawn + _RULE * (room - len(drawn))


def _has_blocks() -> bool:
    try:
        (_EIGHTHS + _RULE).encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def page_item(page: TonePage) -> dict[str, Any]:
    """Return the page as ``--json`` says it."""
    import json

    tones, found = page.tones, page.resolution
    return {
        "reference": page.reference,
        "sheets": [{"reference": reference, "words": words} for reference, words in page.sheets],
        "path": shown_path(page.path),
        "others": list(page.others),
        "replaced_by": list(page.replaced_by),
        "made": page.made,
        "steps": json.loads(page.steps_json) if page.steps_json else None,
        "steps_in_words": page.steps,
        "coding": page.coding,
        "coding_is_assumed": page.coding_is_assumed,
        "paper": paper_item(page.paper),
        "width_px": page.width_px,
        "height_px": page.height_px,
        "pixels_counted": tones.pixels,
        "zones": [_stretch_item(zone) for zone in tones.zones],
        "print_steps": [_stretch_item(step) for step in tones.print_steps],
        "whites": {
            "share": tones.whites_share,
            "steps": [_stretch_item(step) for step in tones.whites],
            "middle_half_l": list(tones.whites_middle_l) if tones.whites_middle_l else None,
            "lightest_tenth_spreads_l": tones.light_tenth_l,
        },
        "shadows": {
            "share": tones.shadows_share,
            "steps": [_stretch_item(step) for step in tones.shadows],
            "darkest_tenth_spreads_l": tones.dark_tenth_l,
        },
        "percentiles": [{"percent": percent, "print_l": print_l} for percent, print_l in tones.percentiles],
        "clipped": {
            "at_black": tones.at_black,
            "at_white": tones.at_white,
            "at_lowest_in_file": tones.at_lowest,
            "at_highest_in_file": tones.at_highest,
        },
        "film": None
        if page.film is None
        else {
            "polarity": page.film.polarity,
            "polarity_reason": page.film.why,
            "base_density": list(page.film.base) if page.film.base else None,
            "density_range": page.film.density_range,
        },
        "resolution": None
        if found is None
        else {
            "ppi": found.ppi,
            "is_worked_out": found.is_worked_out,
            "ppi_by_film_size": page.other_ppi,
            "pixels_per_mm": found.pixels_per_mm,
            "line_pairs_per_mm": found.line_pairs_per_mm,
        },
        "print_sizes": [
            {"ppi": size.ppi, "width_mm": size.width_mm, "height_mm": size.height_mm} for size in page.sizes
        ],
    }


def paper_item(paper: Paper | None) -> dict[str, Any] | None:
    """Return a paper as ``--json`` says it."""
    if paper is None:
        return None
    return {"name": paper.name, "white_l": paper.white_l, "black_l": paper.black_l, "source": paper.source}


def _stretch_item(stretch: ToneStretch) -> dict[str, Any]:
    return {
        "name": stretch.name,
        "from_l": stretch.from_l,
        "to_l": stretch.to_l,
        "share": stretch.share,
        "levels": stretch.levels,
    }


def page_rows(page: TonePage) -> Iterable[Sequence[Any]]:
    """Yield the stretches of every scale as rows under ``CSV_HEADINGS``."""
    scales = [("zone", page.tones.zones), ("print L*", page.tones.print_steps)]
    for scale, stretches in scales:
        for one in stretches:
            yield scale, one.name, one.from_l, one.to_l, round(one.share, 8), one.levels
