"""The year line: ruled decades with the count of frames in each, and the marks of a chronicle on the same ruler."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.rules.lines import display_width
from catalog.store.year_lines import ChronicleMark, YearLine
from catalog.tui.widgets.paper import Piece, Row, cut, row_width

_LABEL_SHARE, _LABEL_LEAST, _LABEL_MOST = 0.33, 18, 40
_TAIL = 9
_CELL_LEAST = 6
_STEPS = (10, 20, 50, 100)

MARKS = {
    "raised": "R", "enlarged": "E", "altered": "A", "clad": "C", "restored": "S", "moved": "M", "turned": "T",
    "damaged": "D", "burned": "B", "fell into ruin": "F", "razed": "X", "recorded": "N", "changed use": "U",
    "other": "o",
}  # fmt: skip
"""The letter of each kind of chronicle entry; a card explains those that stand on it."""


@dataclass(frozen=True, slots=True)
class Scale:
    """The decades that the rulers of one card share, so that one line stands below the other."""

    first_year: int
    last_year: int

    @staticmethod
    def of(lines: Iterable[YearLine | None]) -> Scale:
        """Return the scale on which every line finds its decades."""
        decades = [count.first_year for line in lines if line for count in line.decades]
        return Scale(min(decades), max(decades) + 10) if decades else Scale(0, 0)


@dataclass(frozen=True, slots=True)
class Ruler:
    """A scale laid out on a page: ``cells`` of ``cell`` columns, each of ``step`` years."""

    first_year: int
    step: int
    cells: int
    cell: int
    label: int

    @staticmethod
    def on(scale: Scale, width: int) -> Ruler:
        """Return the ruler of a page; where decades do not fit, a cell holds several."""
        label = max(_LABEL_LEAST, min(round(width * _LABEL_SHARE), _LABEL_MOST))
        room = max(width - label - _TAIL - 1, _CELL_LEAST)
        for step in _STEPS:
            first = scale.first_year // step * step
            cells = -(-(scale.last_year - first) // step)
            if cells * _CELL_LEAST <= room:
                break
        # What a very narrow page cannot show at all is the oldest.
        most = max(room // _CELL_LEAST, 1)
        if cells > most:
            first, cells = first + (cells - most) * step, most
        return Ruler(first, step, cells, min(room // cells, 14) if cells else 0, label)

    def heading(self) -> Row:
        """Return the line that names the decades."""
        names = [f"{year}s" if self.step < 100 else f"{year}-" for year in self._starts()]
        cells = "".join(cut(f" {name}", self.cell) for name in names)
        return ((" " * self.label, "ink"), (cells, "faint"), ("  undated", "faint"))

    def _starts(self) -> range:
        return range(self.first_year, self.first_year + self.cells * self.step, self.step)

    def counts(self, line: YearLine | None) -> Row:
        """Return the counts: ``2+5?`` is two certainly and five possibly of that decade."""
        if line is None:
            return (("│" + " " * (self.cell - 1), "rule"), ("… counting", "faint"))
        pieces: list[Piece] = []
        for start in self._starts():
            certain = sum(c.certain for c in line.decades if start <= c.first_year < start + self.step)
            possible = sum(c.possible for c in line.decades if start <= c.first_year < start + self.step)
            pieces += [("│", "rule"), *self._cell(certain, possible)]
        if self.cells:
            pieces.append(("│", "rule"))
        tail = " ".join(([f"{line.undated:,}"] if line.undated else []) + ([f"{line.loose:,}…"] if line.loose else []))
        pieces.append(((tail or "·").rjust(_TAIL - 1), "doubt" if tail else "rule"))
        return tuple(pieces)

    def _cell(self, certain: int, possible: int) -> list[Piece]:
        sure = f"{certain:,}" if certain else ""
        perhaps = f"+{possible:,}?" if certain and possible else f"{possible:,}?" if possible else ""
        room = self.cell - 1
        if len(sure) + len(perhaps) > room:
            sure, perhaps = _short(certain), (f"+{_short(possible)}?" if certain else f"{_short(possible)}?")
        if len(sure) + len(perhaps) > room:
            sure, perhaps = cut(sure, room - 1) if len(sure) > room - 1 else sure, "+"
        blank = max(room - len(sure) - len(perhaps), 0)
        if not certain and not possible:
            return [("·".center(room), "rule")]
        return [(" " * (blank - blank // 2), "ink"), (sure, "strong"), (perhaps, "doubt"), (" " * (blank // 2), "ink")]

    def marks(self, marks: Sequence[ChronicleMark]) -> Row:
        """Return the marks of a chronicle where they stand; what came before the first decade comes before it."""
        before = [mark for mark in marks if mark.last < self.first_year]
        letters = " ".join(MARKS[m.kind] + ("?" if m.is_doubtful else "") for m in before)
        line = [" "] * (self.cells * self.cell + 1)
        for cell in range(self.cells + 1):
            line[cell * self.cell] = "╵"
        for mark in marks:
            if mark not in before:
                self._set(line, mark)
        drawn = "".join(line)
        left = cut(f"{letters} ‹" if letters else "", self.label - 2)
        return ((left.rstrip().rjust(self.label - 1) + " ", "margin"), *_in_roles(drawn))

    def _column(self, year: float) -> int:
        share = (year - self.first_year) / max(self.cells * self.step, 1)
        return max(0, min(round(share * self.cells * self.cell), self.cells * self.cell - 1))

    def _set(self, line: list[str], mark: ChronicleMark) -> None:
        first, last = self._column(mark.first), self._column(mark.last)
        at = (first + last) // 2
        free = [i for i in range(len(line) - 1) if line[i] in " ╵┄"]
        if not free:
            return
        at = min(free, key=lambda i: (abs(i - at), i))
        if mark.is_doubtful:
            for i in range(first, last + 1):
                if line[i] in " ╵":
                    line[i] = "┄"
        line[at] = MARKS[mark.kind]
        if mark.is_doubtful and line[at + 1] in " ╵┄":
            line[at + 1] = "?"


def _in_roles(drawn: str) -> list[Piece]:
    pieces: list[Piece] = []
    for sign in drawn:
        role = "rule" if sign in " ╵" else "doubt" if sign in "┄?" else "margin"
        if pieces and pieces[-1][1] == role:
            pieces[-1] = (pieces[-1][0] + sign, role)
        else:
            pieces.append((sign, role))
    return pieces


def _short(number: int) -> str:
    if number < 1000:
        return str(number)
    return f"{number / 1000:.0f}k" if number < 1_000_000 else f"{number / 1_000_000:.1f}M"


@dataclass(frozen=True, slots=True)
class RulerHead:
    """The names of the decades above the lines of a card."""

    scale: Scale
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its line; a card without a dated frame has none."""
        ruler = Ruler.on(self.scale, width)
        return [ruler.heading()] if ruler.cells else []


@dataclass(frozen=True, slots=True)
class YearLineItem:
    """A name and its year line; below it the marks of its chronicle, if it has one."""

    name: str
    remark: str
    line: YearLine | None
    scale: Scale
    marks: tuple[ChronicleMark, ...] = ()
    reference: str | None = None

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        ruler = Ruler.on(self.scale, width)
        named: list[Piece] = [(cut(self.name, ruler.label - 1).rstrip(), "ink")]
        spare = ruler.label - 1 - row_width(named)
        if self.remark and display_width(self.remark) + 2 <= spare:
            named.append((f", {self.remark}", "faint"))
        named.append((" " * max(ruler.label - row_width(named), 0), "ink"))
        rows: list[Row] = [(*named, *ruler.counts(self.line))]
        if self.marks:
            rows.append(ruler.marks(self.marks))
        return rows


@dataclass(frozen=True, slots=True)
class Legend:
    """What the signs of the year lines on this card mean; only those that stand on it."""

    has_possible: bool
    has_loose: bool
    kinds: tuple[str, ...]
    has_doubtful_mark: bool
    reference: str | None = None

    @staticmethod
    def of(lines: Iterable[YearLine | None], marks: Iterable[ChronicleMark]) -> Legend:
        """Return the legend of a card's lines and marks."""
        known, marked = [line for line in lines if line], list(marks)
        kinds = tuple(kind for kind in MARKS if any(mark.kind == kind for mark in marked))
        return Legend(
            any(c.possible for line in known for c in line.decades), any(line.loose for line in known), kinds,
            any(mark.is_doubtful for mark in marked),
        )  # fmt: skip

    def rows(self, width: int) -> list[Row]:
        """Return its lines."""
        from catalog.tui.widgets.paper import in_rows

        said = []
        if self.has_possible:
            said.append("2+5?: two certainly, five possibly of that decade.")
        if self.has_loose:
            said.append("1…: dated too openly to stand in a decade.")
        if self.kinds:
            letters = ", ".join(f"{MARKS[kind]} {kind}" for kind in self.kinds)
            said.append(letters + ("; ? the time is doubtful." if self.has_doubtful_mark else "."))
        return [row for words in said for row in in_rows(words, width, "faint")]
