"""What a contact sheet is drawn on: pages of a PDF, or pictures of pages. One way of speaking for both."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, Protocol

from catalog.errors import RefusedError
from catalog.outputs.contact_layout import Paper
from catalog.outputs.fonts import Face
from catalog.outputs.handed_out import Content

__all__ = ["MOST_BYTES", "PX_PER_MM", "Align", "ContactPages", "ShownPicture", "check_size"]

Align = Literal["left", "right", "centre"]
MM_PER_PT: Final = 25.4 / 72
PX_PER_MM: Final = 10
"""Pages drawn as pictures: 254 ppi, so that a millimetre is a whole number of pixels."""
RULE_PT: Final = 0.4
MOST_BYTES: Final = {"pdf": 2_000_000_000, "png": 500_000_000}
"""So much of pictures goes on one sheet: a PDF is to open everywhere; pages drawn as pictures wait in memory."""


def check_size(kind: str, size_bytes: int) -> None:
    """
    Refuse a contact sheet that would become too large.

    Raises:
        RefusedError: its pictures are more than ``MOST_BYTES`` of its kind.
    """
    most = MOST_BYTES[kind]
    if size_bytes > most:
        raise RefusedError(
            f"The pictures of these frames are more than {most // 1_000_000} MB, too much for one contact sheet. "
            "Make several, such as one for each place or for some years; nothing was written."
        )


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """
    A picture laid behind an opening, in the middle of it. Lengths are millimetres, from the page's top left.

    ``width_mm`` and ``height_mm`` are the opening's; the ``whole_`` ones are those of the whole picture, upright,
    of which what is wider or higher than the opening stays covered. ``is_turned``: it lies on its left side.
    """

    path: Path
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    whole_width_mm: float
    whole_height_mm: float
    is_turned: bool = False


class ContactPages(Protocol):
    """The pages of one contact sheet, drawn one after the other."""

    def measure(self, face: Face, size_pt: float) -> Callable[[str], float]:
        """Return what gives the width of a text in millimetres."""

    def begin_page(self, paper: Paper) -> None:
        """Begin a page; what is drawn from now on stands on it."""

    def picture(self, shown: ShownPicture) -> None:
        """Draw a picture behind its opening."""

    def text(
        self, words: str, x_mm: float, baseline_mm: float, face: Face, size_pt: float, align: Align = "left"
    ) -> None:
        """Draw a line of text; ``x_mm`` is its left end, right end or middle."""

    def box(self, left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> None:
        """Draw an empty box of fine lines."""

    def finish(self) -> Sequence[Content]:
        """Return what goes into the files: one for all pages, or one a page."""
