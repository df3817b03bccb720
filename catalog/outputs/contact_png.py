"""Contact sheets as pictures of their pages, one file a page."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Final

from PIL import Image, ImageChops, ImageDraw, ImageFont

from catalog.outputs.contact_layout import Paper
from catalog.outputs.contact_pages import MM_PER_PT, PX_PER_MM, Align, ShownPicture, check_size
from catalog.outputs.fonts import Face, FontSet

_ANCHORS: Final = {"left": "ls", "right": "rs", "centre": "ms"}
_BLACK: Final = (0, 0, 0)


class PngPages:
    """Pages drawn as pictures, 8-bit sRGB or grey at 254 ppi."""

    def __init__(self, fonts: FontSet) -> None:
        self._fonts = fonts
        self._done: list[bytes] = []
        self._page: Image.Image | None = None
        self._known: dict[tuple[Face, float], ImageFont.FreeTypeFont] = {}

    def measure(self, face: Face, size_pt: float) -> Callable[[str], float]:
        """Return what gives the width of a text in millimetres."""
        font = self._font(face, size_pt)
        return lambda text: font.getlength(text) / PX_PER_MM

    def begin_page(self, paper: Paper) -> None:
        """Begin a page; the one before is finished."""
        self._close_page()
        self._page = Image.new("RGB", (_px(paper.width_mm), _px(paper.height_mm)), (255, 255, 255))

    def picture(self, shown: ShownPicture) -> None:
        """Draw a picture behind its opening."""
        opening = (_px(shown.width_mm), _px(shown.height_mm))
        upright = opening[::-1] if shown.is_turned else opening
        with Image.open(shown.path) as picture:
            picture.draft("RGB", (_px(shown.whole_width_mm), _px(shown.whole_height_mm)))
            across, down = picture.width / shown.whole_width_mm, picture.height / shown.whole_height_mm
            wide, high = upright[0] / PX_PER_MM * across, upright[1] / PX_PER_MM * down
            left, top = max((picture.width - wide) / 2, 0), max((picture.height - high) / 2, 0)
            seen = (left, top, picture.width - left, picture.height - top)
            drawn = picture.convert("RGB").resize(upright, Image.Resampling.LANCZOS, box=seen)
        if shown.is_turned:
            drawn = drawn.transpose(Image.Transpose.ROTATE_90)
        self._there.paste(drawn, (_px(shown.left_mm), _px(shown.top_mm)))

    def text(
        self, words: str, x_mm: float, baseline_mm: float, face: Face, size_pt: float, align: Align = "left"
    ) -> None:
        """Draw a line of text."""
        place = (x_mm * PX_PER_MM, baseline_mm * PX_PER_MM)
        drawing = ImageDraw.Draw(self._there)
        drawing.text(place, words, fill=_BLACK, font=self._font(face, size_pt), anchor=_ANCHORS[align])

    def box(self, left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> None:
        """Draw an empty box of fine lines."""
        corners = (_px(left_mm), _px(top_mm), _px(left_mm + width_mm) - 1, _px(top_mm + height_mm) - 1)
        ImageDraw.Draw(self._there).rectangle(corners, outline=_BLACK, width=1)

    def finish(self) -> list[bytes]:
        """Return the pages, a file each."""
        self._close_page()
        return self._done

    @property
    def _there(self) -> Image.Image:
        assert self._page is not None
        return self._page

    def _close_page(self) -> None:
        if self._page is not None:
            buffer = io.BytesIO()
            ppi = PX_PER_MM * 25.4
            _without_colour(self._page).save(buffer, "PNG", dpi=(ppi, ppi), compress_level=3)
            self._done.append(buffer.getvalue())
            check_size("png", sum(map(len, self._done)))
            self._page = None

    def _font(self, face: Face, size_pt: float) -> ImageFont.FreeTypeFont:
        if (face, size_pt) not in self._known:
            size_px = size_pt * MM_PER_PT * PX_PER_MM
            self._known[face, size_pt] = ImageFont.truetype(self._fonts.file(face), size_px)
        return self._known[face, size_pt]


def _without_colour(page: Image.Image) -> Image.Image:
    """Return a page as grey if no colour is on it, as most are: half the file in half the time, the same to look at."""
    red, green, blue = page.split()
    is_grey = all(ImageChops.difference(red, other).getbbox() is None for other in (green, blue))
    return red if is_grey else page


def _px(length_mm: float) -> int:
    return round(length_mm * PX_PER_MM)
