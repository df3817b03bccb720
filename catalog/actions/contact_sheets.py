"""Making contact sheets: frames are found, a picture chosen for each, captions made, pages set and written."""

from __future__ import annotations

import re
import struct
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from catalog.actions.index_pictures import IndexPictureDone, make_index_pictures
from catalog.errors import OutputFileError, RefusedError, ToneStepError
from catalog.imaging.tone_steps import parse_steps
from catalog.outputs.captions import CaptionMaker, House
from catalog.outputs.contact_captions import ContactCaption, contact_caption
from catalog.outputs.contact_layout import PAPERS
from catalog.outputs.contact_sheets import ContactFrame, ContactSheet, draw_contact_sheet
from catalog.outputs.fonts import FontSet, load_fonts
from catalog.outputs.handed_out import Content, check_free, write_files
from catalog.rules.folding import fold
from catalog.rules.privacy import PrivateWords
from catalog.store.archive import Archive
from catalog.store.captions import Gazette, ScanToCaption, read_gazette, read_said
from catalog.store.contact_sheets import ScanOfFrame, scans_of_frames, sheets_to_caption
from catalog.store.find import FoundFrame, Question, find_frames
from catalog.store.index_pictures import FOLDER

SUFFIXES: Final = (".pdf", ".png")
LEAST_MM, MOST_MM = 15.0, 400.0

_WHY: Final = {
    "missing": "the file of its scan is missing",
    "changed": "the file of its scan was changed since it was registered",
    "damaged": "its scan is damaged",
    "undecodable": "its scan is of a kind that cannot be shown",
    "unfollowed": "the tone steps of its version cannot be followed",
}
_FATES: Final = {
    "with lab": "still with the lab", "lost at lab": "lost at the lab", "not returned": "not returned by the lab",
    "destroyed": "destroyed",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactSheetAsked:
    """
    How a contact sheet is to look.

    ``picture_mm`` is the longest side of a picture; ``None`` is the film's own size. ``asked`` says in words which
    frames these are, for the foot of each page.
    """

    output: Path
    paper: str = "a4"
    picture_mm: float | None = None
    order: str = "date"
    is_turned: bool = False
    asked: str = ""
    replace: bool = False


@dataclass(frozen=True, slots=True)
class FrameWithout:
    """A frame that has an empty box on the sheet, and why; a finding is something to look at."""

    sheet_id: int
    number: str
    why: str
    is_finding: bool


@dataclass(frozen=True, slots=True)
class ContactSheetMade:
    """The files that were written, how many frames are on how many pages, and which have no picture."""

    files: tuple[Path, ...]
    frames: int
    pages: int
    without: tuple[FrameWithout, ...]


def make_contact_sheet(
    archive: Archive,
    question: Question,
    wanted: ContactSheetAsked,
    *,
    on_begin: Callable[[int], None] = lambda _count: None,
    on_progress: Callable[[int], None] = lambda _count: None,
) -> ContactSheetMade:
    """
    Write a contact sheet of the frames that answer a question; index pictures that are not there are made first.

    Nothing private is on it. ``on_begin`` hears how many index pictures are made.

    Raises:
        RefusedError: no frame answers, or the size asked for is none.
        OutputFileError: the name is taken or cannot be written; nothing was written.
        LettersError: the typeface lacks letters of a caption; nothing was written.
    """
    _check(wanted)
    check_free(wanted.output, replace=wanted.replace)
    with archive.reading() as connection:
        frames = find_frames(connection, question).frames
        if not frames:
            raise RefusedError("No frame answers to this, so there is no contact sheet. Try it with: tiebeam find")
        ids = [frame.id for frame in frames]
        facts, said = sheets_to_caption(connection, ids), read_said(connection, ids)
        gazette, scans = read_gazette(connection, archive.about_days), scans_of_frames(connection, ids)
    house = House.of(archive.settings)
    maker, public = CaptionMaker(gazette, house), _Public(gazette, house)
    shown = _choose(archive, scans, on_begin, on_progress)
    fonts = load_fonts(_own_font(archive))
    made: list[tuple[ContactFrame, FrameWithout | None]] = []
    for frame, fact in zip(frames, facts, strict=True):
        picture = shown.get(frame.id)
        has_picture = picture is not None and picture.done.path is not None
        fate = frame.fate if has_picture or frame.fate not in _FATES else "exposed"
        region = public.text(picture.scan.region) if picture is not None and has_picture else None
        caption = contact_caption(maker.caption([fact], said), fate, region)
        made.append(_contact_frame(frame, fact, caption, picture, public))
    made = _in_order(made, wanted.order)
    sheet = ContactSheet(
        frames=tuple(frame for frame, _ in made), paper=PAPERS[wanted.paper],
        foot=_foot(archive, public.text(wanted.asked), wanted.order), picture_mm=wanted.picture_mm,
        is_turned=wanted.is_turned,
    )  # fmt: skip
    pages, files = _drawn(sheet, fonts, wanted, archive)
    for path, _ in files:
        check_free(path, replace=wanted.replace)
    write_files(files, replace=wanted.replace)
    without = tuple(one for _, one in made if one is not None)
    return ContactSheetMade(tuple(path for path, _ in files), len(made), pages, without)


def _check(wanted: ContactSheetAsked) -> None:
    if wanted.output.suffix.lower() not in SUFFIXES:
        raise OutputFileError(wanted.output, "a contact sheet is a .pdf or, one file a page, a .png; name it so")
    if wanted.picture_mm is not None and not LEAST_MM <= wanted.picture_mm <= MOST_MM:
        raise RefusedError(
            f"Pictures {wanted.picture_mm:g} mm wide? Give a width from {LEAST_MM:g} to {MOST_MM:g} mm, "
            "or none for the film's own size."
        )


def _own_font(archive: Archive) -> Path | None:
    named = archive.settings.documents_font
    return archive.folder / named if named else None


class _Public:
    """Lets through what gives away nothing private."""

    def __init__(self, gazette: Gazette, house: House) -> None:
        makers = (raising.doer for raising in gazette.raisings.values() if raising.doer)
        known = (*gazette.place_names.values(), *gazette.building_names.values())
        self._private = PrivateWords(gazette.private, (house.photographer, *makers, *known))

    def text(self, text: str | None) -> str:
        """Return a text, or nothing if it would give something away."""
        return "" if text is None or self._private.finds(text) else text


# ---- which picture a frame has


@dataclass(frozen=True, slots=True)
class _Chosen:
    scan: ScanOfFrame
    done: IndexPictureDone


def _choose(
    archive: Archive,
    scans: dict[int, list[ScanOfFrame]],
    on_begin: Callable[[int], None],
    on_progress: Callable[[int], None],
) -> dict[int, _Chosen]:
    """Return the scan shown of each sheet: the best that has a picture, else the best, with why it has none."""
    waiting = {sheet: sorted(found, key=_goodness, reverse=True) for sheet, found in scans.items()}
    chosen: dict[int, _Chosen] = {}
    while waiting:
        wanted = {sheet: found[0] for sheet, found in waiting.items()}
        made = make_index_pictures(
            archive, [one.scan_id for one in wanted.values()], on_begin=on_begin, on_progress=on_progress
        )
        done = {one.scan_id: one for one in made}
        _check_written(archive, done.values())
        for sheet, scan in wanted.items():
            if sheet not in chosen or done[scan.scan_id].path is not None:
                chosen[sheet] = _Chosen(scan, done[scan.scan_id])
        waiting = {s: found[1:] for s, found in waiting.items() if chosen[s].done.path is None and len(found) > 1}
    return chosen


def _check_written(archive: Archive, done: Iterable[IndexPictureDone]) -> None:
    """Refuse to go on with a sheet of empty boxes when index pictures cannot be written."""
    for one in done:
        if one.outcome == "unwritable":
            raise OutputFileError(
                archive.folder / FOLDER,
                f"index pictures cannot be written ({one.reason}). Make room, or see to the folder's permissions.",
            )


def _goodness(scan: ScanOfFrame) -> tuple[bool, bool, int, int]:
    """Return what makes one scan better to show than another: the whole sheet, alone, with most pixels, the newest."""
    pixels = (scan.width_px or 0) * (scan.height_px or 0)
    return scan.region is None, scan.sheets_on_it == 1, pixels, scan.scan_id


def _contact_frame(
    frame: FoundFrame, fact: ScanToCaption, caption: ContactCaption, picture: _Chosen | None, public: _Public
) -> tuple[ContactFrame, FrameWithout | None]:
    path = picture.done.path if picture is not None else None
    scan = picture.scan if picture is not None else None
    why, is_finding = ("", False) if path is not None else _why(frame, picture, public)
    size_px = None if path is None else _size_of(path)
    if path is not None and size_px is None:
        path, why, is_finding = None, "its index picture cannot be read; make it again", True
    shown = ContactFrame(
        number=caption.number, date=caption.date, lines=caption.lines, picture=path,
        size_px=size_px or _sides(scan), scan_mm=_scan_mm(scan), film_format=fact.format, why=why,
    )  # fmt: skip
    return shown, FrameWithout(frame.id, caption.number, why, is_finding) if why else None


def _why(frame: FoundFrame, picture: _Chosen | None, public: _Public) -> tuple[str, bool]:
    """Return why a frame has no picture, and whether that is something to look at."""
    if picture is None:
        return _FATES.get(frame.fate, "not scanned"), False
    if picture.done.outcome == "away":
        return public.text(picture.done.reason) or "on a drive that is away", False
    return _WHY[picture.done.outcome], True


def _size_of(path: Path) -> tuple[int, int] | None:
    """Return a picture's sides, or ``None`` when it is no whole JPEG any more."""
    from reportlab.pdfbase.pdfdoc import PDFError
    from reportlab.pdfbase.pdfutils import readJPEGInfo

    try:
        with path.open("rb") as file:
            read: Any = readJPEGInfo(file)
    except (OSError, PDFError, ValueError, LookupError, TypeError, struct.error):
        return None
    return int(read[0]), int(read[1])


def _sides(scan: ScanOfFrame | None) -> tuple[int, int] | None:
    return None if scan is None or not scan.width_px or not scan.height_px else (scan.width_px, scan.height_px)


def _scan_mm(scan: ScanOfFrame | None) -> tuple[float, float] | None:
    """
    Return the size of what the picture shows: the whole scan, or what a version cuts out of it.

    Steps that cannot be followed have no picture either, and no size.
    """
    from catalog.imaging.positives import size_after

    sides = _sides(scan)
    if scan is None or sides is None or not scan.ppi:
        return None
    if scan.steps is not None:
        try:
            sides = size_after(parse_steps(scan.steps), width=sides[0], height=sides[1])
        except ToneStepError:
            return None
    return sides[0] / scan.ppi * 25.4, sides[1] / scan.ppi * 25.4


# ---- the sheet


_Made = tuple[ContactFrame, FrameWithout | None]


def _in_order(made: Sequence[_Made], order: str) -> list[_Made]:
    """Return frames in the order asked for; they come in order of date, which stays among equals."""
    if order == "number":
        return sorted(made, key=lambda one: natural_key(one[0].number))
    if order == "place":
        return sorted(made, key=lambda one: (not one[0].lines, [fold(line) for line in reversed(one[0].lines)]))
    return list(made)


def natural_key(text: str) -> list[tuple[int, int, str]]:
    """
    Return what sorts numbers as people do.

    >>> sorted(["78-10", "78-9", "X3"], key=natural_key)
    ['78-9', '78-10', 'X3']
    """
    parts: Iterable[str] = re.findall(r"\d+|\D+", fold(text))
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts]


def _foot(archive: Archive, asked: str, order: str) -> str:
    which = f"Frames asked for: {asked}" if asked else "Frames"
    named = f"{archive.settings.archive_name}. " if archive.settings.archive_name else ""
    return f"{named}{which}, in order of {order}."


def _drawn(
    sheet: ContactSheet, fonts: FontSet, wanted: ContactSheetAsked, archive: Archive
) -> tuple[int, list[tuple[Path, Content]]]:
    """Return how many pages there are, and the files with what goes into them."""
    output = wanted.output
    if output.suffix.lower() == ".pdf":
        from catalog.outputs.contact_pdf import PdfPages

        title = f"Contact sheet: {archive.settings.archive_name}".removesuffix(": ")
        pdf = PdfPages(fonts, title=title, author=archive.settings.archive_photographer)
        return draw_contact_sheet(sheet, pdf, fonts), [(output, content) for content in pdf.finish()]
    from catalog.outputs.contact_png import PngPages

    png = PngPages(fonts)
    count = draw_contact_sheet(sheet, png, fonts)
    digits = len(str(count))
    names = [output] if count == 1 else [
        output.with_stem(f"{output.stem}-{number:0{digits}}") for number in range(1, count + 1)
    ]  # fmt: skip
    return count, list(zip(names, png.finish(), strict=True))
