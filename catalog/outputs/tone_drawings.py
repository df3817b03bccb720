"""
The page of a picture's tones, drawn: a ruled page, a ladder of greys from bare paper down, strokes of ink beside it.

Lengths are points of the page, from its top left. The same page is drawn as SVG and, twice as fine, as PNG.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol
from xml.sax.saxutils import escape

from catalog.imaging.tone_report import STROKE_L, ToneStretch
from catalog.imaging.tone_scales import SRGB, luminance_of_lightness
from catalog.outputs.fonts import Face, FontSet, check_letters, composed
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
from catalog.rules.lines import one_line

if TYPE_CHECKING:
    from catalog.outputs.tone_pages import TonePage

__all__ = ["draw_png", "draw_svg"]

WIDTH: Final = 620.0
LEFT: Final = 44.0
RIGHT: Final = 580.0
MARGIN: Final = 92.0
"""Where the margin line of the page stands; the zones are named left of it."""
LADDER: Final = (98.0, 30.0)
"""Where the ladder of greys begins, and how wide it is."""
INK: Final = (174.0, 518.0)
"""From where to where the longest stroke reaches."""
ZONE_HEIGHT: Final = 34.0
STEP_HEIGHT: Final = 13.0
GUTTER: Final = 24.0
PAGE: Final = "#fdfcf8"
RULE: Final = "#c6d3e0"
MARGIN_LINE: Final = "#d79a96"
PENCIL: Final = "#6b6b70"
BLACK: Final = "#26262b"
PIXELS_A_POINT: Final = 2.0


class Pen(Protocol):
    """What a page is drawn with."""

    def line(self, x1: float, y1: float, x2: float, y2: float, colour: str, width: float) -> None: ...

    def box(self, x: float, y: float, width: float, height: float, fill: str, edge: str | None = None) -> None: ...

    def text(self, x: float, y: float, words: str, size: float, face: Face, colour: str, align: str) -> None: ...


def draw_svg(page: TonePage, fonts: FontSet) -> bytes:
    """Return the page as an SVG file; its letters are text, to be shown in the reader's typefaces."""
    pen = _SvgPen(fonts)
    height = _Drawing(page, pen, fonts).draw()
    return pen.finish(height)


def draw_png(page: TonePage, fonts: FontSet) -> bytes:
    """
    Return the page as a PNG file in 8-bit sRGB.

    Raises:
        LettersError: the typeface lacks a letter of the page's words.
    """
    ruler = _PngPen(fonts, 1.0)
    height = _Drawing(page, ruler, fonts).draw()
    pen = _PngPen(fonts, height)
    _Drawing(page, pen, fonts).draw()
    return pen.finish()


class _Drawing:
    def __init__(self, page: TonePage, pen: Pen, fonts: FontSet) -> None:
        self._page, self._tones, self._pen, self._fonts = page, page.tones, pen, fonts
        self._y = 40.0

    def draw(self) -> float:
        """Draw the page from the top down, and return how high it became."""
        self._head()
        self._zones()
        self._y += 30
        self._ends()
        self._y += 16
        self._foot()
        return self._y + 24

    def _head(self) -> None:
        page = self._page
        for reference, words in page.sheets or (("", "of no sheet yet"),):
            self._paragraph(f"{reference}  {words}".strip(), 14, Face.SERIF_BOLD, BLACK)
        self._paragraph(f"{page.reference}  {page.file_name}: {page.made}", 9.5, Face.SERIF, BLACK)
        if page.replaced_by:
            self._paragraph(f"replaced by {', '.join(page.replaced_by)}", 9.5, Face.SERIF, BLACK)
        if page.steps:
            self._paragraph(page.steps, 8.5, Face.SERIF_ITALIC, PENCIL)
        self._paragraph(paper_words(page.paper), 9.5, Face.SERIF, BLACK)
        self._y += 20

    def _zones(self) -> None:
        zones, strokes = self._tones.zones, self._tones.strokes
        top = self._y
        self._text(RIGHT, top - 12, "of the picture", 7.5, align="right")
        self._text(LADDER[0], top - 12, "print L*", 7.5)
        self._edge(top, zones[-1].to_l)
        longest = max(stroke.share for stroke in strokes) or 1.0
        at = len(strokes)
        for name, zone in zip(reversed([zone.name for zone in zones]), reversed(zones), strict=True):
            count = 2 if name in ("0", "X") else round(10 / STROKE_L)
            height = ZONE_HEIGHT * count * STROKE_L / 10
            self._zone(name, zone, strokes[at - count : at], longest, height)
            at -= count
        self._pen.line(MARGIN, top - 12, MARGIN, self._y + 12, MARGIN_LINE, 0.8)

    def _zone(
        self, name: str, zone: ToneStretch, strokes: Sequence[ToneStretch], longest: float, height: float
    ) -> None:
        top, each = self._y, height / len(strokes)
        middle = top + height / 2 + 3.5
        for place, stroke in enumerate(reversed(strokes)):
            grey = grey_of((stroke.from_l + stroke.to_l) / 2)
            self._pen.box(LADDER[0], top + place * each, LADDER[1], each, grey)
            length = (INK[1] - INK[0]) * stroke.share / longest
            if stroke.share:
                self._pen.box(INK[0], top + place * each + each * 0.2, max(length, 0.6), each * 0.6, BLACK)
        self._pen.box(LADDER[0], top, LADDER[1], height, "none", PENCIL)
        self._text(MARGIN - 10, middle, name, 11, Face.SERIF, BLACK, "right")
        self._text(RIGHT, middle, per_cent(zone.share), 9, Face.SERIF, BLACK, "right")
        self._y += height
        self._edge(self._y, zone.from_l)

    def _edge(self, y: float, print_l: float) -> None:
        self._pen.line(LEFT, y, RIGHT, y, RULE, 0.6)
        self._text(LADDER[0] + LADDER[1] + 5, y - 2, f"{print_l:.1f}".removesuffix(".0"), 6.5)

    def _ends(self) -> None:
        """Draw the whites and the shadows beside each other."""
        tones, top = self._tones, self._y
        half = (RIGHT - LEFT - GUTTER) / 2
        notes = [f"the lightest tenth spreads over {tones.light_tenth_l:.1f} L*"]
        if tones.whites_middle_l:
            low, high = tones.whites_middle_l
            notes.insert(0, f"the middle half of them lies from L* {low:.1f} to {high:.1f}")
        title = f"Whites from L* 90: {per_cent(tones.whites_share)}" if tones.whites else "No whites from L* 90"
        self._column(LEFT, half, title, tones.whites, notes)
        bottom, self._y = self._y, top
        title = f"Shadows to L* {tones.shadows[-1].to_l:g}: {per_cent(tones.shadows_share)}"
        note = f"the darkest tenth spreads over {tones.dark_tenth_l:.1f} L*"
        self._column(LEFT + half + GUTTER, half, title, list(paired(tones.shadows)), [note])
        self._y = max(self._y, bottom)

    def _column(
        self, left: float, width: float, title: str, steps: Sequence[ToneStretch], notes: Sequence[str]
    ) -> None:
        self._text(left, self._y - 5, title, 9.5, Face.SERIF_BOLD, BLACK)
        longest = max((step.share for step in steps), default=0.0) or 1.0
        start, room = left + 66, width - 66 - 46
        self._pen.line(left, self._y, left + width, self._y, RULE, 0.6)
        for step in reversed(steps):
            top, base = self._y, self._y + STEP_HEIGHT - 3.5
            self._text(left, base, ends_words(step), 7.5)
            self._pen.box(left + 44, top, 16, STEP_HEIGHT, grey_of((step.from_l + step.to_l) / 2), RULE)
            if step.share:
                length = max(room * step.share / longest, 0.6)
                self._pen.box(start, top + STEP_HEIGHT * 0.22, length, STEP_HEIGHT * 0.56, BLACK)
            self._text(left + width, base, per_cent(step.share), 7.5, align="right")
            self._y += STEP_HEIGHT
            self._pen.line(left, self._y, left + width, self._y, RULE, 0.6)
        for note in notes:
            self._y += 11
            self._text(left, self._y, note, 8, Face.SERIF_ITALIC, PENCIL)
        self._y += 8

    def _foot(self) -> None:
        page = self._page
        lines = [clipped_words(page), film_words(page), resolution_words(page)]
        lines += [f"{page.width_px} x {page.height_px} px print at", *(size_words(one) for one in page.sizes)]
        for words in filter(None, lines):
            self._paragraph(words, 8.5, Face.SERIF, BLACK)

    def _paragraph(self, words: str, size: float, face: Face, colour: str) -> None:
        """Write words in as many lines as they take, and go on below them."""
        for line in self._wrapped(one_line(words), size, face):
            self._text(LEFT, self._y, line, size, face, colour)
            self._y += size * 1.45

    def _wrapped(self, words: str, size: float, face: Face) -> list[str]:
        length = _measure(self._fonts.file(face), size)
        lines: list[str] = []
        for word in words.split(" "):
            if lines and length(f"{lines[-1]} {word}") <= RIGHT - LEFT:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        return lines

    def _text(
        self,
        x: float,
        y: float,
        words: str,
        size: float,
        face: Face = Face.SERIF,
        colour: str = PENCIL,
        align: str = "left",
    ) -> None:
        self._pen.text(x, y, words, size, face, colour, align)


def grey_of(print_l: float) -> str:
    """
    Return the grey of the screen that has an L*.

    >>> grey_of(50.0)
    '#777777'
    """
    code = round(255 * min(max(SRGB.encode(luminance_of_lightness(print_l)), 0.0), 1.0))
    return f"#{code:02x}{code:02x}{code:02x}"


@lru_cache(maxsize=32)
def _letters(path: Path, size: float) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(path), size)


def _measure(path: Path, size: float) -> Callable[[str], float]:
    font = _letters(path, size)
    return lambda words: float(font.getlength(words))


_STYLES: Final = {
    Face.SERIF_BOLD: ' font-weight="bold"',
    Face.SERIF_ITALIC: ' font-style="italic"',
}
_ANCHORS: Final = {"left": "start", "right": "end"}


class _SvgPen:
    """Draws as SVG 1.1."""

    def __init__(self, fonts: FontSet) -> None:
        self._family = escape(f"'{fonts.title(Face.SERIF)}', 'DejaVu Serif', serif", {'"': "&quot;"})
        self._drawn: list[str] = []

    def line(self, x1: float, y1: float, x2: float, y2: float, colour: str, width: float) -> None:
        ends = f'x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}"'
        self._drawn.append(f'<line {ends} stroke="{colour}" stroke-width="{width:g}"/>')

    def box(self, x: float, y: float, width: float, height: float, fill: str, edge: str | None = None) -> None:
        drawn = f' stroke="{edge}" stroke-width="0.5"' if edge else ""
        self._drawn.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" fill="{fill}"{drawn}'
            ' shape-rendering="crispEdges"/>'
        )

    def text(self, x: float, y: float, words: str, size: float, face: Face, colour: str, align: str) -> None:
        self._drawn.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" fill="{colour}" text-anchor="{_ANCHORS[align]}"'
            f"{_STYLES.get(face, '')}>{escape(composed(words))}</text>"
        )

    def finish(self, height: float) -> bytes:
        """Return the file."""
        head = (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}pt" height="{height:g}pt" '
            f'viewBox="0 0 {WIDTH:g} {height:g}" font-family="{self._family}">\n'
            f'<rect width="100%" height="100%" fill="{PAGE}"/>\n'
        )
        return (head + "\n".join(self._drawn) + "\n</svg>\n").encode("utf-8")


class _PngPen:
    """Draws as PNG, with the typefaces of the archive's documents."""

    def __init__(self, fonts: FontSet, height: float) -> None:
        from PIL import Image, ImageDraw

        self._fonts = fonts
        size = (round(WIDTH * PIXELS_A_POINT), max(1, round(height * PIXELS_A_POINT)))
        self._image = Image.new("RGB", size, PAGE)
        self._draw = ImageDraw.Draw(self._image)

    def line(self, x1: float, y1: float, x2: float, y2: float, colour: str, width: float) -> None:
        ends = [_px(value) for value in (x1, y1, x2, y2)]
        self._draw.line(ends, fill=colour, width=max(1, _px(width)))

    def box(self, x: float, y: float, width: float, height: float, fill: str, edge: str | None = None) -> None:
        corners = (_px(x), _px(y), max(_px(x), _px(x + width) - 1), max(_px(y), _px(y + height) - 1))
        self._draw.rectangle(corners, fill=None if fill == "none" else fill, outline=edge)

    def text(self, x: float, y: float, words: str, size: float, face: Face, colour: str, align: str) -> None:
        drawn = check_letters("the page of tones", words, self._fonts, face)
        font = _letters(self._fonts.file(face), size * PIXELS_A_POINT)
        anchor = "rs" if align == "right" else "ls"
        self._draw.text((x * PIXELS_A_POINT, y * PIXELS_A_POINT), drawn, fill=colour, font=font, anchor=anchor)

    def finish(self) -> bytes:
        """Return the file."""
        buffer = io.BytesIO()
        self._image.save(buffer, "PNG", dpi=(72 * PIXELS_A_POINT, 72 * PIXELS_A_POINT))
        return buffer.getvalue()


def _px(points: float) -> int:
    return round(points * PIXELS_A_POINT)
