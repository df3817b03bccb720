"""How pages look: the styles of texts, the rules of tables, the line at the foot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from catalog import clock

_HAIR: Final = 0.4


@dataclass(frozen=True, slots=True)
class Foot:
    words: str
    font: str
    left: float
    right: float


class NumberedCanvas(Canvas):  # type: ignore[misc,unused-ignore]
    """A canvas that knows, when it is saved, how many pages there are, and numbers them."""

    def __init__(self, foot: Foot, *args: Any, **kept: Any) -> None:
        super().__init__(*args, **kept)
        self._foot = foot
        self._pages: list[dict[str, Any]] = []
        moment = clock.now().strftime("D:%Y%m%d%H%M%SZ")
        self.setDateFormatter(lambda *_: moment)

    def showPage(self) -> None:  # noqa: N802 - the library's name
        """Keep the page until all are known."""
        self._pages.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        """Number the pages and write them."""
        pages = self._pages
        for number, page in enumerate(pages, 1):
            self.__dict__.update(page)
            self._number(number, len(pages))
            super().showPage()
        super().save()

    def _number(self, number: int, count: int) -> None:
        foot = self._foot
        self.setFont(foot.font, 7.5)
        self.setLineWidth(0.4)
        self.line(foot.left, 16 * mm, foot.right, 16 * mm)
        self.drawString(foot.left, 12 * mm, foot.words)
        self.drawRightString(foot.right, 12 * mm, f"Page {number} of {count}")


PLAIN: Final = [
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
]


def ruled(head: int, last: int, rows: int, columns: int, *, may_part: bool) -> list[tuple[Any, ...]]:
    """
    Return the rules of a table: a line above and below the headings, hair lines between rows, a line at the end.

    ``head`` is the row of the headings, ``last`` the last before the sums; a row above the headings names the table.
    """
    style: list[tuple[Any, ...]] = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-2, -1), 6),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("VALIGN", (0, 0), (-1, head), "BOTTOM"),
        ("VALIGN", (0, head + 1), (-1, -1), "TOP"),
        ("LINEABOVE", (0, head), (-1, head), _HAIR, "black"),
        ("LINEBELOW", (0, head), (-1, head), _HAIR, "black"),
        ("LINEBELOW", (0, last), (-1, last), _HAIR, "black"),
    ]
    if head:
        style += [("SPAN", (0, 0), (-1, 0)), ("BOTTOMPADDING", (0, 0), (-1, 0), 4)]
    if last > head + 1:
        style.append(("LINEBELOW", (0, head + 1), (-1, last - 1), 0.25, "#bbbbbb"))
    if not may_part:  # the headings keep two rows with them, the sums the last two
        style.append(("NOSPLIT", (0, 0), (-1, min(head + 2, last))))
        style.append(("NOSPLIT", (0, max(0, last - 1)), (-1, rows - 1)))
    style += [("SPAN", (0, row), (columns - 2, row)) for row in range(last + 1, rows) if columns > 2]
    return style


@cache
def make_styles(serif: str, serif_bold: str, serif_italic: str, sans: str, sans_bold: str) -> dict[str, ParagraphStyle]:
    def style(name: str, font: str, size: float, leading: float, **more: Any) -> ParagraphStyle:
        return ParagraphStyle(name, fontName=font, fontSize=size, leading=leading, splitLongWords=1, **more)

    return {
        "house": style("house", serif_bold, 12, 16),
        "address": style("address", sans, 8, 11),
        "title": style("title", serif_bold, 15, 19),
        "under": style("under", serif, 10, 14),
        "right": style("right", serif, 9.5, 13, alignment=2),
        "right-strong": style("right-strong", serif_bold, 12, 19, alignment=2),
        "body": style("body", serif, 9.5, 13.5, spaceAfter=3, allowWidows=0, allowOrphans=0),
        "quote": style("quote", serif_italic, 9.5, 13.5, leftIndent=6 * mm, spaceAfter=3),
        "small": style("small", sans, 7.5, 10.5, spaceAfter=2),
        "subtitle": style("subtitle", serif_bold, 10.5, 14, spaceBefore=6, spaceAfter=4, keepWithNext=1),
        "table-name": style("table-name", serif_bold, 10.5, 14),
        "to": style("to", serif, 9.5, 13.5),
        "label": style("label", sans, 7.5, 10),
        "head": style("head", sans_bold, 7, 9),
        "box-head": style("box-head", sans_bold, 7, 9, alignment=1),
        "amount-head": style("amount-head", sans_bold, 7, 9, alignment=2),
        "cell": style("cell", sans, 8, 10.5),
        "cell-under": style("cell-under", sans, 7, 9.5),
        "amount": style("amount", sans, 8, 10.5, alignment=2),
        "sum": style("sum", sans, 8, 10.5, alignment=2),
        "strong-sum": style("strong-sum", sans_bold, 8, 10.5, alignment=2),
        "sign": style("sign", sans, 7.5, 10),
    }
