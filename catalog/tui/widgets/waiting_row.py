"""What waits on the desk, as lines: a kind with its count, and one thing of a kind."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rules.lines import display_width
from catalog.store.desk import WaitingRow
from catalog.tui.widgets.paper import Piece, Row, cut, in_rows, row_width

_COUNT, _LABEL = 7, 9
_REMARK_SHARE = 0.42


@dataclass(frozen=True, slots=True)
class PileLine:
    """A kind of thing that waits, with how many; ``count`` in words where it is not counted."""

    count: str
    words: str
    remark: str
    reference: str | None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        room = max(width - _COUNT - 2, 8)
        lead: Piece = (cut(self.count, _COUNT).rstrip().rjust(_COUNT) + "  ", "strong")
        pieces: list[Piece] = [(self.words, "ink")]
        if self.remark and display_width(self.words) + display_width(self.remark) + 2 <= room:
            pieces.append((f"  {self.remark}", "faint"))
            return [(lead, *pieces)]
        blank: Piece = (" " * (_COUNT + 2), "ink")
        rows = in_rows(self.words, room) + (in_rows(self.remark, room, "faint") if self.remark else [])
        return [(lead if not n else blank, *row) for n, row in enumerate(rows)]


def waiting_row(row: WaitingRow, width: int) -> Row:
    """Return one thing that waits as a line: its label, what it is, and at the right what there is to know of it."""
    pieces: list[Piece] = [(cut(row.label, _LABEL), "strong"), (" ", "ink")]
    room = max(width - _LABEL - 1, 8)
    # The words have what the remark leaves them; a long remark is cut before short words are.
    most = max(round(room * _REMARK_SHARE), room - display_width(row.words) - 2)
    remark = min(display_width(row.remark), most)
    pieces.append((cut(row.words, room - remark - 2 if remark else room), "ink"))
    if remark:
        pieces += [("  ", "ink"), (cut(row.remark, remark), "faint")]
    assert row_width(pieces) <= max(width, _LABEL + 9)
    return tuple(pieces)
