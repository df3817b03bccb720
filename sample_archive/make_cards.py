# ruff: noqa: E501  (a card is a row of a table and stands on one line)
"""
Makes the old card index, ``cards.xlsx`` and ``cards.csv``, the same every time.

The index is invented, and as untidy as a real one: title rows, headings repeated half-way, ditto marks,
the village typed once a block, leading zeros held by the cell format alone, doubt in every column.
``python make_cards.py`` rewrites both files beside this one.
"""

from __future__ import annotations

import csv
import io
import re
import sys
import zipfile
from pathlib import Path

Value = str | int
Line = tuple[Value, ...]

HEADINGS: Line = (
    "Neg. no", "Box", "Village", "Building", "Side", "Date", "Lens", "Film", "Taken from", "Lab docket", "Status", "Remarks", "Tk.",
)  # fmt: skip
TITLE: tuple[Line, ...] = (
    ("I. THORNWICK - NEGATIVES",),
    (
        "Wenn valley. 4x5 in. unless 6x9 is said. Typed from the cards, winter 2003-4; later sheets added under each village",
    ),
    (),
)
# A whole number here is one in the workbook too: the cell's format alone gives it its zeros and its hyphen.
NUMBER_FORMATS = {0: "00-00", 9: "000000"}

OSK: tuple[Line, ...] = (
    ("74-02", 1, "Osk", "Osk Mill", "E", "summer 74", "105", "Pan 100 6x9", "weir", 118, "", "First visit. Wheel gone, pit dry", "/"),
    ("74-03", 1, "", "do.", "S", "do.", "do.", "do.", "mill bridge", "do.", "", "", ""),
    ("75-06", 1, "", "Reading Rm", "E", "17/5/75", "105", "Pan 100 6x9", "green", 131, "", "", "/"),
    ("75-07", 1, "", "Osk Gran.", "S", "May 75", '"', '"', "churchyard wall?", 131, "", "", ""),
    ("78-14", 3, "", "Osk Mill", "S", "c. 1978", "150", "Pan 100", "mill bridge", 412, "ok", "Bracket of three with 78-15 and 78-16. Boards still on", "//"),
    ("78-15", '"', "", '"', '"', '"', '"', '"', '"', '"', "", "1 stop more than 78-14", ""),
    ("78-16", '"', "", '"', '"', '"', '"', '"', '"', '"', "", "2 stops more than 78-14", ""),
    ("78-17", 3, "", "Osk Mill?", "W", "78 or 79", "90 or 120", "Pan 100", "far bank", 412, "", "Could be the granary from behind", ""),
    ("79-21", 4, "", "Osk Mill", "E", "Aug 79?", "150", "Pan 400", "weir", 447, "", "", ""),
    ("79-22", 4, "", "Osk Gran.", "S", "Aug 79?", "90", '"', "churchyard wall", 447, "", 'Old label says "Oske Granery" [sic]', "/"),
    ("80-05", 4, "", "Osk Mill; Reading Rm", "", "Feb 80", "90", "Pan 400", "", 460, "dbl exp", "Double exposure: mill E over reading room E", ""),
    ("82-07", 5, "", "Osk Mill", "S", "summer 82", "150", "Pan 100", "mill bridge", 512, "ok", "Sheet metal over the boards since last seen", "//"),
    ("82-08", 5, "", "do.", "do.", "do.", "do.", "Dorran N", "do.", 513, "", "Colour, same view as 82-07", ""),
    ("82-09", 5, "", "do.", "W", "do.", "210", "Pan 100", "far bank", 512, "blank", "Blank: slide not drawn", ""),
    ("84-02", 6, "", "Reading Rm", "E", "spring 84", "90", "Pan 100", "green", 540, "", "", ""),
    ("86-10", 6, "", "Osk Mill", "S", "5 Oct 86", "150", "Pan 100", "mill bridge", 566, "not back", "Never came back from the lab (7 of 8 returned)", ""),
    ("87-03", 7, "", "Osk Mill", "S", "14/6/1987", "150", "Pan 100", "mill bridge", 571, "", "Nine years after 78-14, same tripod holes", "//"),
    ("90-04", 8, "", "Osk Mill", "E", "1990?", "210", "Pan 100", "weir", "", "", "", ""),
    ("96-08", 9, "", "Osk Mill", "S", "Sept 1996", "150", "Pan 100", "mill bridge", 688, "", "Boards back. No metal", "/"),
    (811, 14, "", "Osk Mill", "S", "4 June 2008", "150", "Pan 100", "mill bridge", 731, "", "Thirty years after 78-14, same standpoint", "//"),
    ("X3", "", "", "Osk Mill", "S", "n.d.", "150?", "Pan 100", "mill bridge?", "", "", "Metal on", ""),
    ("X4", "", "", "Osk Gran.?", "", "n.d.", "", "", "", "", "", "", ""),
)  # fmt: skip
TARN_END: tuple[Line, ...] = (
    ("75-08", 1, "Tarn End", "T. End Mill", "S", "May 75", "105", "Pan 100 6x9", "sheep track", 131, "", "Roof gone", ""),
    ("79-31", 4, "", "T. End Mill", "E", "autumn 79", "150", "Pan 100", "ford", 452, "", "", "/"),
    ("79-32", 4, "", "Barn", "S", "do.", "do.", "do.", "sheep track", 452, "", "", ""),
    ("85-09", 6, "", "T. End Mill", "S", "22/3/85", "90", "Pan 400", "sheep track", 549, "", "Snow in the gulley", ""),
    ("89-01", 8, "", "T. End Mill", "S", "c. 1989", "150", "Pan 100", "sheep track", 590, "", "", ""),
    ("X7", "", "", "Barn?", "S", "n.d.", "", "", "", "", "", "Found loose in box 4", ""),
)  # fmt: skip
BROMES: tuple[Line, ...] = (
    ("76-04", 2, "N. Brome", "Brome Hall", "E", "12 Apr 76", "150", "Pan 100", "new road", 207, "", "Compare the plate", "/"),
    ("76-05", 2, "", '"', "N", '"', "90", '"', "lane", 207, "", "Faced this way once", ""),
    ("81-02", 5, "", "Brome Hall", "int.", "Jan 81", "90", "Pan 400", "platform", 480, "", "Two lamps", ""),
    ("83-12", 5, "", "Brome Mill", "W", "1983", "210", "Pan 100", "", 531, "", "", ""),
    ("94-02", 9, "", "Brome Hall", "E", "21/5/1994", "150", "Pan 100", "new road", 655, "", "", ""),
    (503, 13, "", "Brome Hall", "E", "May 2005", "150", "Dorran Chrome", "new road", 714, "", "Transparency", ""),
    (),
    ("77-09", 2, "Over Brome", "Staddle Gran.", "S", "Oct 77", "120", "Pan 100", "rickyard", 255, "", "", "/"),
    ("77-10", 2, "", "do.", "E", "do.", "do.", "do.", "do.", 255, "", "", ""),
    ("82-19", 5, "", "Ferry House", "S", "31/4/1982", "90", "Pan 100", "", 509, "", "", "?"),
    ("88-06", 7, "", "O. Brome Mill", "S", "June 88", "150", "Pan 100", "pond", 583, "", "", ""),
)  # fmt: skip
HALDINGS: tuple[Line, ...] = (
    ("78-30", 3, "Low Halding", "Weigh-house", "S", "Nov 78", "150", "Pan 100", "old road", 421, "", "Bypass pegs in the verge", "//"),
    ("79-09", 4, "", "do.", "S", "spring 79", "do.", "do.", "do.", 436, "", "", ""),
    ("79-10", 4, "", "do.", "E", "do.", "90", "do.", "smithy gate", 436, "", "", ""),
    ("79-12", 4, "", "Institute", "S", "before 1980", "90", "Pan 100", "old road", "", "", "", ""),
    (),
    ("77-02", 2, "Halding", "Toll House", "N", "Mar 77", "90", "Pan 100", "bridge foot", 233, "", "", ""),
    ("79-40", 4, "", "Weigh-house", "S", "Sept 79", "120", "Pan 100", "museum gate", 455, "", "Moved here in June", "//"),
    ("80-12", 4, "", "W'house", "S", "1980", "150", "Dorran N", "museum gate", 466, "", "Colour", ""),
    ("85-14 (sold)", 6, "", "Town Mill", "S", "1985", "210", "Pan 100", "weir", 556, "", "Neg. still here, print sold", ""),
    (1002, 14, "", "Town Mill", "S", "March 2010", "150", "Pan 100", "weir", 740, "", "", ""),
    ("X9", "", "", "Toll Ho.?", "", "n.d.", "", "", "", "", "", "Glass cracked in the loupe: sheet or scan?", ""),
)  # fmt: skip
ESTUARY: tuple[Line, ...] = (
    ("77-15", 2, "Pr. Lode", "Granary", "W", "July 77", "150", "Pan 100", "staithe", 246, "", "", "/"),
    ("84-20", 6, "", '"', '"', "c. 1984", '"', '"', '"', 545, "", "", ""),
    ("88-20", 7, "", "Granary", "W", "6 Nov 88", "150", "Pan 400", "staithe", 588, "", "Three days after the fire", "//"),
    ("89-05", 8, "", "", "", "1989", "150", "Pan 100", "staithe", 594, "", "The empty plot where the granary was", ""),
    (),
    ("91-06", 8, "Pr. Lode by Cray", "Lode Mill", "S", "1991", "150", "Pan 100", "towpath", 612, "", "The other Priors Lode", ""),
    ("91-07", 8, "", '"', "E", '"', '"', '"', "lock", 612, "", "", ""),
    (),
    ("78-14", 78, "Wennmouth", "Ferry House", "S", "Aug 91", "150", "Pan 100", "slipway", "", "", "Box 78 of the second-hand boxes, sheet 14: not the year", ""),
    ("83-01", 5, "", "Ferry House", "E", "1983?", "90", "Pan 400", "slipway", 519, "", "", ""),
    ("86-15", 6, "", "Quay W'house", "W", "Oct 86", "120", "Pan 100", "quay", 567, "", "Sheet 1 & 2 in one sleeve", ""),
    ("93-03", 9, "", "Ferry House", "S", "93 or 94", "150", "Pan 100", "slipway", 640, "", "", ""),
    ("98-02", 10, "", "Quay W'house", "W", "late 1990s", "150", "Pan 100", "quay", "", "", "", ""),
    (1205, 15, "", "Ferry House", "S", "12 May 2012", "150", "Dorran Chrome", "slipway", 752, "", "Transparency", ""),
    (2101, 17, "", "Ferry House", "S", "Sept 2021", "150", "Pan 100", "slipway", 790, "", "Last sheet", "/"),
)  # fmt: skip

LINES: tuple[Line, ...] = (
    *TITLE, HEADINGS, *OSK, (), *TARN_END, (), *BROMES, (),
    ("Wenn valley, continued",), HEADINGS, *HALDINGS, (), *ESTUARY,
)  # fmt: skip
MERGED_VILLAGES = ("Osk", "Low Halding", "Wennmouth")
"""Villages whose cell is merged down its block; below the others the cells are blank."""


def shown(column: int, value: Value) -> str:
    """Return what a cell shows: a whole number under ``00-00`` or ``000000`` has its zeros and its hyphen."""
    if isinstance(value, str) or column not in NUMBER_FORMATS:
        return str(value)
    return f"{value // 100:02}-{value % 100:02}" if column == 0 else f"{value:06}"


def csv_text() -> str:
    """Return the index as comma-separated values."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for line in LINES:
        cells = [shown(column, value) for column, value in enumerate(line)]
        writer.writerow(cells + [""] * (len(HEADINGS) - len(cells)))
    return out.getvalue()


def xlsx_bytes() -> bytes:
    """Return the index as a workbook; the same bytes every time."""
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.worksheet.worksheet import Worksheet

    book = Workbook()
    sheet: Worksheet = book.worksheets[0]
    sheet.title = "Negatives"
    for row, line in enumerate(LINES, start=1):
        for column, value in enumerate(line):
            if value == "":
                continue
            cell = sheet.cell(row=row, column=column + 1, value=value)
            if isinstance(value, int) and column in NUMBER_FORMATS:
                cell.number_format = NUMBER_FORMATS[column]
            if line == HEADINGS:
                cell.font = Font(bold=True)
    for row, line in enumerate(LINES, start=1):
        if len(line) > 2 and line[2] in MERGED_VILLAGES:
            last = row
            while last < len(LINES) and len(LINES[last]) > 2 and LINES[last][2] == "":
                last += 1
            sheet.merge_cells(start_row=row, end_row=last, start_column=3, end_column=3)
    for letter, width in zip("ABCDEFGHIJKLM", (11, 5, 16, 20, 6, 12, 10, 14, 17, 11, 9, 48, 5), strict=True):
        sheet.column_dimensions[letter].width = width
    saved = io.BytesIO()
    book.save(saved)
    return _without_clock(saved.getvalue())


def _without_clock(workbook: bytes) -> bytes:
    """Return a workbook with the hour it was saved taken out of its parts and of its package."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist()):
            content = old.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2004-02-01T00:00:00Z", content)
            new.writestr(zipfile.ZipInfo(name, (2004, 2, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def make_cards(folder: Path) -> tuple[Path, Path]:
    """Write ``cards.xlsx`` and ``cards.csv`` into ``folder`` and return where they are."""
    workbook, text = folder / "cards.xlsx", folder / "cards.csv"
    workbook.write_bytes(xlsx_bytes())
    text.write_text(csv_text(), encoding="utf-8", newline="")
    return workbook, text


if __name__ == "__main__":
    make_cards(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
