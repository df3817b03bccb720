"""The page that every document shares: heading, reference, typefaces, tables that break, page numbers."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final

from reportlab import rl_config
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)
from reportlab.platypus.doctemplate import LayoutError

from catalog import clock
from catalog.errors import RefusedError
from catalog.outputs._page_parts import PLAIN, Foot, NumberedCanvas, make_styles, ruled
from catalog.outputs.document_facts import LetterPaper
from catalog.outputs.fonts import Face, check_letters, load_fonts

_SIZES: Final = {"a4": A4, "letter": LETTER}
_LEFT, _RIGHT, _TOP, _BOTTOM = 25 * mm, 20 * mm, 22 * mm, 24 * mm
_NO_BREAK: Final = "\u00a0"
_LONG: Final = 500
_STRONG: Final = ("Together", "To pay")
"""The words of sums that stand out."""
_LABEL_WIDTH: Final = 58 * mm
_OTHER_FACES: Final = (Face.SERIF_BOLD, Face.SERIF_ITALIC, Face.SANS, Face.SANS_BOLD)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, its share of the width, and whether it holds amounts."""

    heading: str
    share: float
    is_amount: bool = False
    is_box: bool = False

    @property
    def head_style(self) -> str:
        """The style of its heading: over amounts to the right, over boxes in the middle."""
        return "amount-head" if self.is_amount else "box-head" if self.is_box else "head"


class TickBox(Flowable):  # type: ignore[misc,unused-ignore]
    """An empty box to tick by hand."""

    def __init__(self, side: float = 3.4 * mm) -> None:
        super().__init__()
        self.width = self.height = side
        self.hAlign = "CENTER"

    def draw(self) -> None:
        """Draw the box where it was put."""
        self.canv.setLineWidth(0.6)
        self.canv.rect(0, 0, self.width, self.height)


class Pages:
    """
    A document on its way: parts are added from top to bottom, then ``finish`` sets them.

    Every text goes through ``check_letters`` with the words of its field, so that a letter that cannot be set is
    refused by name before anything is made.
    """

    def __init__(self, title: str, reference: str, dated: str, letter_paper: LetterPaper) -> None:
        self.fonts = load_fonts(letter_paper.font)
        self._style = make_styles(self.fonts.name(Face.SERIF), *map(self.fonts.name, _OTHER_FACES))
        # Cells of plain text are empty here, but the library would name a typeface that is not embedded for them.
        self._base = ("FONTNAME", (0, 0), (-1, -1), self.fonts.name(Face.SERIF))
        self._size = _SIZES[letter_paper.paper]
        self.width = self._size[0] - _LEFT - _RIGHT
        self._title, self._reference, self._dated = title, reference, dated
        self._heading = [self.fit("the heading in the settings", line) for line in letter_paper.heading]
        self._parts: list[Flowable] = []
        self._add_head()

    def fit(self, field: str, text: str) -> str:
        """Return a text as it can be set in each of the typefaces, for ``field``."""
        for face in Face:
            text = check_letters(field, text, self.fonts, face)
        return text

    def _text(self, field: str, text: str, style: str) -> Paragraph:
        # The drawing library reads markup in a text: nothing typed by a person may be taken for it.
        fitted = html.escape(self.fit(field, text), quote=False).replace("\n", "<br/>")
        return Paragraph(fitted, self._style[style])

    def _add_head(self) -> None:
        for number, line in enumerate(self._heading):
            self._parts.append(self._text("the heading in the settings", line, "house" if number == 0 else "address"))
        if self._heading:
            self.gap(9)

    def gap(self, height_mm: float) -> None:
        """Leave some room."""
        self._parts.append(Spacer(0, height_mm * mm))

    def address(self, name: str, lines: Iterable[str]) -> None:
        """Add whom it is addressed to."""
        self._parts.append(self._text("the recipient's name", name, "to"))
        self._parts.extend(self._text("the recipient's address", line, "to") for line in lines)
        self.gap(8)

    def title(self, *, under: str = "") -> None:
        """Add the document's title, with its reference and date to the right."""
        left = [self._text("the title", self._title, "title")]
        if under:
            left.append(self._text("the title", under, "under"))
        right = [
            self._text("the reference", self._reference, "right-strong"),
            self._text("the date", self._dated, "right"),
        ]
        table = Table([[left, right]], colWidths=[self.width - 48 * mm, 48 * mm], hAlign="LEFT")
        rule = ("LINEBELOW", (0, 0), (-1, -1), 0.8, "black")
        table.setStyle([self._base, *PLAIN, ("VALIGN", (0, 0), (-1, -1), "TOP"), rule,
                        ("BOTTOMPADDING", (0, 0), (-1, -1), 5)])  # fmt: skip
        self._parts.append(table)
        self.gap(5)

    def paragraph(self, text: str, *, field: str = "the text", style: str = "body") -> None:
        """Add a paragraph; ``style`` is ``body``, ``quote`` or ``small``."""
        self._parts.append(self._text(field, text, style))

    def subtitle(self, text: str, *, field: str = "the title", room_mm: float = 30) -> None:
        """Add a small heading that stays with what follows it, which needs ``room_mm`` with it."""
        self._parts.append(CondPageBreak(room_mm * mm))
        self._parts.append(self._text(field, text, "subtitle"))

    def facts(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Add facts, a line each: what it is, and its words; empty words are said to be not recorded."""
        pairs = list(pairs)
        if not pairs:
            return
        rows = [
            [self._text("a label", label, "label"), self._text(label.lower(), words or "not recorded", "body")]
            for label, words in pairs
        ]
        is_long = any(len(words) > _LONG for _, words in pairs)
        table = Table(rows, colWidths=[_LABEL_WIDTH, self.width - _LABEL_WIDTH], hAlign="LEFT", splitInRow=int(is_long))
        table.setStyle([self._base, *PLAIN, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 1.5),
                        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
                        ("LINEBELOW", (0, 0), (-1, -1), 0.25, "#999999"), ("RIGHTPADDING", (0, 0), (0, -1), 8),
                        # a smaller type stands in line with the larger one beside it
                        ("TOPPADDING", (0, 0), (0, -1), 3.6)])  # fmt: skip
        self.gap(1)
        self._parts.append(table)
        self.gap(4)

    def table(
        self,
        columns: Sequence[Column],
        rows: Iterable[Sequence[str]],
        *,
        name: tuple[str, str] | None = None,
        totals: Sequence[tuple[str, str]] = (),
    ) -> None:
        """
        Add a table that carries its headings over to each further page, and its ``name`` (field, words) if it has one.

        A row has a text a column, its second line (after a line end) set as part of the first. ``totals`` are
        (words, amount), set under the last column and never parted from the last row.
        """
        widths = [column.share * self.width / sum(each.share for each in columns) for column in columns]
        body: list[list[Any]] = [[self._text("a heading", column.heading, column.head_style) for column in columns]]
        if name is not None:
            body.insert(0, [self._text(*name, "table-name"), *[""] * (len(columns) - 1)])
        head = len(body) - 1
        rows = list(rows)
        body += [[self._cell(column, text) for column, text in zip(columns, row, strict=True)] for row in rows]
        # Rows are kept whole, which they cannot be when a text may be longer than a page: then they may part.
        is_long = any(len(text) > _LONG for row in rows for text in row)
        last = len(body) - 1
        for words, amount in totals:
            style = "strong-sum" if words in _STRONG else "sum"
            body.append([self._text("the total", words, style), *[""] * (len(columns) - 2),
                         self._text("the total", amount.replace(" ", _NO_BREAK), style)])  # fmt: skip
        table = Table(body, colWidths=widths, repeatRows=head + 1, hAlign="LEFT", splitInRow=int(is_long))
        middle = [("ALIGN", (n, head + 1), (n, last), "CENTER") for n, column in enumerate(columns) if column.is_box]
        table.setStyle([self._base, *ruled(head, last, len(body), len(columns), may_part=is_long), *middle])
        if isinstance(self._parts[-1], Paragraph):
            self.gap(2)
        self._parts.append(table)
        self.gap(5)

    def _cell(self, column: Column, text: str) -> Flowable | list[Flowable]:
        if column.is_box:
            return TickBox()
        field = column.heading.lower()
        if column.is_amount:
            return self._text(field, text.replace(" ", _NO_BREAK) if text[:1].isdigit() else text, "amount")
        first, _, rest = text.partition("\n")
        return [self._text(field, first, "cell"), *([self._text(field, rest, "cell-under")] if rest else [])]

    def sign(
        self, labels: Sequence[str], *, before: Sequence[str] = (), after: Sequence[str] = (), room_mm: float = 16
    ) -> None:
        """
        Add lines to sign on, kept with the sentences ``before`` them and, in small type, ``after`` them.

        ``room_mm`` is left above the lines, to write in.
        """
        wide = (self.width - (len(labels) - 1) * 10 * mm) / len(labels)
        widths: list[float] = []
        row: list[Any] = []
        for number, label in enumerate(labels):
            if number:
                widths.append(10 * mm)
                row.append("")
            widths.append(wide)
            row.append(self._text("a label", label, "sign"))
        table = Table([row], colWidths=widths, hAlign="LEFT")
        lines = [("LINEABOVE", (2 * n, 0), (2 * n, 0), 0.6, "black") for n in range(len(labels))]
        table.setStyle(
            [self._base, *PLAIN, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 3), *lines]
        )
        words = [self._text("the text", each, "body") for each in before]
        small = [Spacer(0, 4 * mm), *(self._text("the text", each, "small") for each in after)] if after else []
        self._parts.append(KeepTogether([Spacer(0, 5 * mm), *words, Spacer(0, room_mm * mm), table, *small]))

    def finish(self) -> bytes:
        """Return the whole document; the same parts at the same moment give the same bytes."""
        out = BytesIO()
        template = BaseDocTemplate(
            out,
            pagesize=self._size,
            title=f"{self._title} {self._reference}",
            author=self._heading[0] if self._heading else "",
            subject=self._title,
            creator=f"Tiebeam {clock.program_version()}",
            producer="reportlab",
            lang="en",
            invariant=1,
            pageCompression=1,
            initialFontName=self.fonts.name(Face.SERIF),  # else the library names one that is not embedded
        )
        frame = Frame(
            _LEFT, _BOTTOM, self.width, self._size[1] - _TOP - _BOTTOM, leftPadding=0, rightPadding=0,
            topPadding=0, bottomPadding=0,
        )  # fmt: skip
        template.addPageTemplates([PageTemplate(frames=[frame])])
        foot = Foot(
            f"{self._title} {self._reference} · {self._dated}",
            self.fonts.name(Face.SANS),
            _LEFT,
            self._size[0] - _RIGHT,
        )
        used, rl_config.useA85 = rl_config.useA85, 0  # as bytes, not as letters: several times quicker
        try:
            template.build(self._parts, canvasmaker=lambda *args, **kept: NumberedCanvas(foot, *args, **kept))
        except LayoutError as exc:
            raise RefusedError(
                f"{self._title} {self._reference}: a text is too long for its place on a page. Shorten the longest "
                "title, name or remark, and make it again."
            ) from exc
        finally:
            rl_config.useA85 = used
        return out.getvalue()
