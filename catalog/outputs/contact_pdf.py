"""Contact sheets as PDF: index pictures go in as they are, typefaces are embedded, the bytes come out the same."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, Final

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFImageXObject
from reportlab.pdfgen.canvas import Canvas

from catalog import clock
from catalog.errors import OutputFileError
from catalog.outputs.contact_layout import Paper
from catalog.outputs.contact_pages import MM_PER_PT, RULE_PT, Align, ShownPicture, check_size
from catalog.outputs.fonts import Face, FontSet
from catalog.outputs.handed_out import Content

_UNREADABLE: Final = (
    "this index picture cannot be read any more ({}); make it again: tiebeam index-pictures make --again"
)
PT_PER_MM: Final = 1 / MM_PER_PT


class PdfPages:
    """The pages of one PDF."""

    def __init__(self, fonts: FontSet, *, title: str, author: str) -> None:
        self._fonts = fonts
        # Invariant: no time of day and no chance go into the file, so the same sheet has the same bytes.
        self._canvas: Any = Canvas("contact sheet", pageCompression=1, invariant=1)
        self._canvas.setTitle(title)
        self._canvas.setAuthor(author)
        self._canvas.setCreator(f"Tiebeam {clock.program_version()}")
        self._canvas.setLineWidth(RULE_PT)
        self._known: dict[Path, str] = {}
        self._size_bytes = 0
        self._height_mm = 0.0
        self._is_begun = False

    def measure(self, face: Face, size_pt: float) -> Callable[[str], float]:
        """Return what gives the width of a text in millimetres."""
        name = self._fonts.name(face)
        return lambda text: float(pdfmetrics.stringWidth(text, name, size_pt)) * MM_PER_PT

    def begin_page(self, paper: Paper) -> None:
        """Begin a page."""
        if self._is_begun:
            self._canvas.showPage()
        self._is_begun, self._height_mm = True, paper.height_mm
        self._canvas.setPageSize((paper.width_mm * PT_PER_MM, paper.height_mm * PT_PER_MM))
        self._canvas.setLineWidth(RULE_PT)

    def picture(self, shown: ShownPicture) -> None:
        """Draw a picture behind its opening; a JPEG that comes again is held once."""
        canvas = self._canvas
        name = self._name_of(shown.path)
        canvas.saveState()
        left, foot = shown.left_mm * PT_PER_MM, (self._height_mm - shown.top_mm - shown.height_mm) * PT_PER_MM
        width, height = shown.width_mm * PT_PER_MM, shown.height_mm * PT_PER_MM
        opening = canvas.beginPath()
        opening.rect(left, foot, width, height)
        canvas.clipPath(opening, stroke=0, fill=0)
        canvas.translate(left + width / 2, foot + height / 2)
        if shown.is_turned:
            canvas.rotate(90)
        across, down = shown.whole_width_mm * PT_PER_MM, shown.whole_height_mm * PT_PER_MM
        canvas.transform(across, 0, 0, down, -across / 2, -down / 2)
        canvas.doForm(name)
        canvas.restoreState()

    def text(
        self, words: str, x_mm: float, baseline_mm: float, face: Face, size_pt: float, align: Align = "left"
    ) -> None:
        """Draw a line of text."""
        self._canvas.setFont(self._fonts.name(face), size_pt)
        draw = {
            "left": self._canvas.drawString,
            "right": self._canvas.drawRightString,
            "centre": self._canvas.drawCentredString,
        }[align]
        draw(x_mm * PT_PER_MM, (self._height_mm - baseline_mm) * PT_PER_MM, words)

    def box(self, left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> None:
        """Draw an empty box of fine lines, wholly inside its measures."""
        inset = RULE_PT / 2
        self._canvas.rect(
            left_mm * PT_PER_MM + inset, (self._height_mm - top_mm - height_mm) * PT_PER_MM + inset,
            width_mm * PT_PER_MM - RULE_PT, height_mm * PT_PER_MM - RULE_PT,
        )  # fmt: skip

    def finish(self) -> list[Content]:
        """Return what writes the one file: picture by picture, so that no more than one of them is in memory."""
        return [self._write]

    def _write(self, file: BinaryIO) -> None:
        library: Any = pdfdoc
        usual, library.PDFFile = library.PDFFile, partial(_WrittenFile, file)
        try:
            self._canvas.getpdfdata()
        finally:
            library.PDFFile = usual

    def _name_of(self, path: Path) -> str:
        """Return the name of a picture within the file: not its path, on which the bytes must not depend."""
        if path not in self._known:
            name = f"picture-{len(self._known) + 1}"
            self._known[path] = name
            self._size_bytes += path.stat().st_size
            check_size("pdf", self._size_bytes)
            document = self._canvas._doc
            document.Reference(_Jpeg(name, path), document.getXObjectName(name))
            document.addForm(name, document.idToObject[document.getXObjectName(name)])
        return self._known[path]


class _WrittenFile(pdfdoc.PDFFile):
    """Takes the parts of a PDF into a file as they come, where the library's own keeps them all and joins them."""

    strings: list[bytes]
    write: Any

    def __init__(self, file: BinaryIO, *version: Any) -> None:
        super().__init__(*version)
        file.write(b"".join(self.strings))
        self.strings, self.write = [], file.write

    def format(self, _document: Any) -> bytes:
        """Return nothing more: all of it is written."""
        return b""


class _Jpeg(PDFImageXObject):
    """A JPEG that is read when the file is put together, and not held besides."""

    streamContent: Any  # noqa: N815  the library's name

    def __init__(self, name: str, path: Path) -> None:
        super().__init__(name)
        self._path = path

    def format(self, document: Any) -> bytes:
        """Return the picture as an object of the file, its bytes as they are."""
        used, rl_config.useA85 = rl_config.useA85, 0  # as bytes, not as letters: a tenth of the time
        try:
            with self._path.open("rb") as file:
                is_read = self.loadImageFromJPEG(file)
        except OSError as exc:
            raise OutputFileError(self._path, _UNREADABLE.format(exc.strerror or exc)) from exc
        finally:
            rl_config.useA85 = used
        if not is_read:
            raise OutputFileError(self._path, _UNREADABLE.format("no JPEG"))
        formatted: bytes = super().format(document)
        self.streamContent = b""
        return formatted
