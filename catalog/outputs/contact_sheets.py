"""Contact sheets: pictures at the film's own size or smaller, each with its caption, set on pages."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from catalog.errors import LettersError
from catalog.outputs.contact_layout import (
    CAPTION_GAP_MM,
    CAPTION_PT,
    FOOT_PT,
    LEADING_MM,
    MOST_LINES,
    Cell,
    Paper,
    Placed,
    lay_out,
    opening_mm,
    wrap,
)
from catalog.outputs.contact_pages import ContactPages, ShownPicture
from catalog.outputs.fonts import Face, FontSet, composed, missing_letters, script_to_shape

__all__ = ["ContactFrame", "ContactSheet", "draw_contact_sheet"]

_SHEET_FORMAT: Final = "4x5"
_ALIKE: Final = 0.04
"""A scan this near to the size of a whole 4x5 sheet is one: film is cut a little short, scans a little wide."""
_SHORT_MM, _LONG_MM = 101.6, 127.0
_FOOT_FROM_EDGE_MM: Final = 6.2


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactFrame:
    """
    A frame as it stands on the sheet: its picture, or why there is none, and its caption.

    ``size_px`` is the picture's; ``scan_mm`` the size, along and across, of what was scanned, where a resolution
    is known; ``film_format`` the name of the film's.
    """

    number: str
    date: str
    lines: tuple[str, ...]
    picture: Path | None = None
    size_px: tuple[int, int] | None = None
    scan_mm: tuple[float, float] | None = None
    film_format: str | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactSheet:
    """
    What a contact sheet is made of.

    ``picture_mm`` is the longest side of a picture; without it each has the film's own size. With ``is_turned``,
    pictures that are wider than high lie on their left side there, as sheets lie in a sleeve.
    """

    frames: tuple[ContactFrame, ...]
    paper: Paper
    foot: str
    picture_mm: float | None = None
    is_turned: bool = False


@dataclass(frozen=True, slots=True)
class _Shown:
    """A frame with its measures: the opening, the whole picture behind it, and how much it was made smaller."""

    frame: ContactFrame
    width_mm: float
    height_mm: float
    whole_mm: tuple[float, float]
    is_turned: bool = False
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class _Set:
    """A frame with its caption set in lines; ``beside`` stands at the right end of the first."""

    shown: _Shown
    number: str
    beside: str
    lines: tuple[str, ...]


def draw_contact_sheet(sheet: ContactSheet, pages: ContactPages, fonts: FontSet) -> int:
    """
    Draw a contact sheet, and return how many pages it has.

    Raises:
        LettersError: the typeface lacks letters of a caption; all of them are named, and nothing is drawn.
    """
    _check_letters(sheet, fonts)
    placed = list(_set_all(sheet, pages))
    cells = [Cell(one.shown.width_mm, one.shown.height_mm, 1 + len(one.lines)) for one in placed]
    laid = lay_out(cells, sheet.paper)
    edge = min((place.left_mm for page in laid for place in page), default=sheet.paper.side_mm)
    for number, page in enumerate(laid, 1):
        pages.begin_page(sheet.paper)
        for place in page:
            _draw(placed[place.index], place, pages)
        _draw_foot(sheet, f"{number} of {len(laid)}", edge, pages)
    return len(laid)


# ---- letters


def _check_letters(sheet: ContactSheet, fonts: FontSet) -> None:
    missing: dict[str, None] = {}
    where: dict[str, None] = {}
    for name, text, face in _texts(sheet):
        found = missing_letters(text, fonts, face)
        if found:
            missing |= dict.fromkeys(found)
            where[name] = None
    if missing:
        scripts = tuple(dict.fromkeys(filter(None, map(script_to_shape, missing))))
        named = ", ".join([*where][:5]) + (f" and {len(where) - 5} more" if len(where) > 5 else "")
        raise LettersError(f"caption of {named}", tuple(missing), fonts.title(Face.SERIF), scripts)


def _texts(sheet: ContactSheet) -> Iterator[tuple[str, str, Face]]:
    for frame in sheet.frames:
        yield frame.number, frame.number, Face.SERIF_BOLD
        yield frame.number, "\n".join((frame.number, frame.date, *frame.lines)), Face.SERIF
        yield frame.number, frame.why, Face.SERIF_ITALIC
    yield "the foot line", sheet.foot, Face.SERIF


# ---- sizes


def _set_all(sheet: ContactSheet, pages: ContactPages) -> Iterator[_Set]:
    usual = _usual_opening(sheet.frames)
    regular, bold = pages.measure(Face.SERIF, CAPTION_PT), pages.measure(Face.SERIF_BOLD, CAPTION_PT)
    for frame in sheet.frames:
        shown = _at_width(frame, sheet.picture_mm) if sheet.picture_mm else _at_own_size(frame, sheet, usual)
        yield _caption_set(_fitted(shown, sheet.paper), regular, bold)


def _usual_opening(frames: Iterable[ContactFrame]) -> tuple[float, float]:
    """Return the opening that most frames have: what a frame of unknown size is taken for."""
    counted = Counter(filter(None, (opening_mm(_format_of(frame)) for frame in frames)))
    return counted.most_common(1)[0][0] if counted else (95.0, 120.0)


def _format_of(frame: ContactFrame) -> str | None:
    if frame.film_format or frame.scan_mm is None:
        return frame.film_format
    short, long = sorted(frame.scan_mm)
    is_sheet = abs(short / _SHORT_MM - 1) < _ALIKE and abs(long / _LONG_MM - 1) < _ALIKE
    return _SHEET_FORMAT if is_sheet else None


def _at_own_size(frame: ContactFrame, sheet: ContactSheet, usual: tuple[float, float]) -> _Shown:
    """Return a frame at the size it has on the film; what a scan holds beyond the opening stays covered."""
    opening = opening_mm(_format_of(frame))
    width_px, height_px = frame.size_px or (5, 4)
    is_wide = width_px >= height_px
    whole = _whole_mm(frame, opening or usual, is_wide=is_wide)
    if opening is None and frame.size_px is not None and frame.scan_mm is not None:
        opening = tuple(sorted(whole))  # type: ignore[assignment]
    short, long = opening or usual
    width, height = (long, short) if is_wide else (short, long)
    if frame.picture is not None:
        width, height = min(width, whole[0]), min(height, whole[1])
    if sheet.is_turned and is_wide:
        return _Shown(frame, height, width, whole, is_turned=True)
    return _Shown(frame, width, height, whole)


def _whole_mm(frame: ContactFrame, opening: tuple[float, float], *, is_wide: bool) -> tuple[float, float]:
    """Return the size of the whole picture: as scanned, or, where no resolution can be right, filling the opening."""
    width_px, height_px = frame.size_px or (5, 4)
    long_px, long_mm = max(width_px, height_px), max(opening)
    scanned_mm = max(frame.scan_mm) if frame.scan_mm else 0.0
    # A resolution far from the film's size is that of a screen or a print that somebody wrote into the header.
    if frame.film_format and not 0.5 * long_mm <= scanned_mm <= 1.25 * long_mm:
        scanned_mm = 0.0
    if not 15 <= scanned_mm <= 700:
        fits = min(long_mm / long_px, min(opening) / min(width_px, height_px))
        return width_px * fits, height_px * fits
    return width_px * scanned_mm / long_px, height_px * scanned_mm / long_px


def _at_width(frame: ContactFrame, picture_mm: float) -> _Shown:
    width_px, height_px = frame.size_px or (5, 4)
    scale = picture_mm / max(width_px, height_px)
    width, height = width_px * scale, height_px * scale
    return _Shown(frame, picture_mm, height, (width, height))


def _fitted(shown: _Shown, paper: Paper) -> _Shown:
    """Return a frame no larger than its page: one that is does not fit is made smaller, which its caption says."""
    room = paper.height_mm - paper.top_mm - paper.foot_mm - CAPTION_GAP_MM - MOST_LINES * LEADING_MM
    scale = min(paper.room_mm / shown.width_mm, room / shown.height_mm, 1.0)
    if scale > 0.999:
        return shown
    whole = (shown.whole_mm[0] * scale, shown.whole_mm[1] * scale)
    smaller = replace(shown.frame, lines=(*shown.frame.lines, f"shown at {scale:.0%} of its size"))
    return _Shown(smaller, shown.width_mm * scale, shown.height_mm * scale, whole, shown.is_turned, scale)


# ---- captions


def _caption_set(shown: _Shown, regular: Callable[[str], float], bold: Callable[[str], float]) -> _Set:
    """Return a frame with its caption in lines: number and date on the first if both find room there."""
    frame, room = shown.frame, shown.width_mm
    number, date = composed(frame.number), composed(frame.date)
    lines: list[str] = []
    first = wrap(number, room, bold) or [""]
    if len(first) > 1:  # many numbers: what does not find room goes on below, in plain letters
        lines += wrap(" ".join(first[1:]), room, regular)
    beside = date if bold(first[0]) + 3 + regular(date) <= room else ""
    if not beside:
        lines += wrap(date, room, regular)
    for line in frame.lines:
        lines += wrap(composed(line), room, regular)
    if len(lines) > MOST_LINES - 1:
        lines = [*lines[: MOST_LINES - 2], "…"]
    return _Set(shown, first[0], beside, tuple(lines))


def _draw(one: _Set, place: Placed, pages: ContactPages) -> None:
    shown, frame = one.shown, one.shown.frame
    if frame.picture is not None:
        across = shown.whole_mm[::-1] if shown.is_turned else shown.whole_mm
        width, height = min(shown.width_mm, across[0]), min(shown.height_mm, across[1])
        pages.picture(
            ShownPicture(
                frame.picture, place.left_mm + (shown.width_mm - width) / 2, place.bottom_mm - height, width, height,
                *shown.whole_mm, is_turned=shown.is_turned,
            )
        )  # fmt: skip
    else:
        pages.box(place.left_mm, place.top_mm, shown.width_mm, shown.height_mm)
        _draw_why(shown, place, pages)
    baseline = place.bottom_mm + CAPTION_GAP_MM + LEADING_MM * 0.76
    pages.text(one.number, place.left_mm, baseline, Face.SERIF_BOLD, CAPTION_PT)
    if one.beside:
        pages.text(one.beside, place.left_mm + shown.width_mm, baseline, Face.SERIF, CAPTION_PT, "right")
    for count, line in enumerate(one.lines, 1):
        pages.text(line, place.left_mm, baseline + count * LEADING_MM, Face.SERIF, CAPTION_PT)


def _draw_why(shown: _Shown, place: Placed, pages: ContactPages) -> None:
    measure = pages.measure(Face.SERIF_ITALIC, CAPTION_PT)
    lines = wrap(composed(shown.frame.why), shown.width_mm - 4, measure)
    most = max(int((shown.height_mm - 2) / LEADING_MM), 1)
    lines = lines if len(lines) <= most else [*lines[: most - 1], "…"]
    middle = place.left_mm + shown.width_mm / 2
    top = place.top_mm + (shown.height_mm - len(lines) * LEADING_MM) / 2
    for count, line in enumerate(lines):
        pages.text(line, middle, top + (count + 0.76) * LEADING_MM, Face.SERIF_ITALIC, CAPTION_PT, "centre")


def _draw_foot(sheet: ContactSheet, folio: str, edge_mm: float, pages: ContactPages) -> None:
    """Draw the foot line between the outermost edges of the pictures: what is on the sheet, and the page's number."""
    measure = pages.measure(Face.SERIF, FOOT_PT)
    baseline, right = sheet.paper.height_mm - _FOOT_FROM_EDGE_MM, sheet.paper.width_mm - edge_mm
    words = _cut(composed(sheet.foot), right - edge_mm - measure(folio) - 6, measure)
    pages.text(words, edge_mm, baseline, Face.SERIF, FOOT_PT)
    pages.text(folio, right, baseline, Face.SERIF, FOOT_PT, "right")


def _cut(text: str, room_mm: float, measure: Callable[[str], float]) -> str:
    lines: Sequence[str] = wrap(text, room_mm - measure(" …"), measure) if measure(text) > room_mm else [text]
    return lines[0] if len(lines) == 1 else f"{lines[0]} …"
