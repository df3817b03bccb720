"""The typefaces that documents and contact sheets are set in, and which letters they can set."""

from __future__ import annotations

import struct
import unicodedata
from enum import Enum
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from catalog.errors import FontError, LettersError
from catalog.outputs._typeface_files import check_typeface

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["Face", "FontSet", "check_letters", "load_fonts", "missing_letters"]

_FOLDER: Final = Path(__file__).parent / "typefaces"
_MAX_BYTES: Final = 64 << 20  # the largest typefaces for Chinese are about 20 MB

# Scripts whose letters change shape, order or place with their neighbours, by the first words of their letters'
# names (The Unicode Standard 15, chapters 9 and 12-17). This program sets one letter after the other, left to right.
_SHAPED: Final = {
    "HEBREW": "Hebrew",
    "ARABIC": "Arabic",
    "SYRIAC": "Syriac",
    "THAANA": "Thaana",
    "NKO": "N'Ko",
    "SAMARITAN": "Samaritan",
    "MANDAIC": "Mandaic",
    "DEVANAGARI": "Devanagari",
    "BENGALI": "Bengali",
    "GURMUKHI": "Gurmukhi",
    "GUJARATI": "Gujarati",
    "ORIYA": "Odia",
    "TAMIL": "Tamil",
    "TELUGU": "Telugu",
    "KANNADA": "Kannada",
    "MALAYALAM": "Malayalam",
    "SINHALA": "Sinhala",
    "THAI": "Thai",
    "LAO": "Lao",
    "TIBETAN": "Tibetan",
    "MYANMAR": "Myanmar",
    "KHMER": "Khmer",
    "MONGOLIAN": "Mongolian",
    "JAVANESE": "Javanese",
    "BALINESE": "Balinese",
    "ADLAM": "Adlam",
}
_UNSEEN: Final = {"\u00ad": "", "\u200b": "", "\ufeff": "", "\u2060": "", "\t": " ", "\u2028": "\n", "\u2029": "\n"}
_UNSEEN_TABLE: Final = str.maketrans(_UNSEEN)


class Face(Enum):
    """The five typefaces that come with the program; the value is the file's name."""

    SANS = "DejaVuSans"
    SANS_BOLD = "DejaVuSans-Bold"
    SERIF = "DejaVuSerif"
    SERIF_BOLD = "DejaVuSerif-Bold"
    SERIF_ITALIC = "DejaVuSerif-Italic"


class FontSet:
    """
    The typefaces of one archive: those that come with the program, or the one that its settings name.

    A typeface is read and registered with the drawing library when it is first asked for.
    """

    def __init__(self, own: Path | None = None) -> None:
        self._own = own

    def name(self, face: Face) -> str:
        """
        Return the name under which ``face`` is drawn, for ``canvas.setFont``.

        Raises:
            FontError: the typeface that the settings name cannot be used.
        """
        from reportlab.pdfbase import pdfmetrics

        font = self._font(face)
        if font.fontName not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(font)
        return str(font.fontName)

    def file(self, face: Face) -> Path:
        """Return the file that ``face`` is read from, for drawing on pictures."""
        return _FOLDER / f"{face.value}.ttf" if self._own is None else self._own

    def title(self, face: Face) -> str:
        """Return what people call ``face``: "DejaVu Serif"."""
        family = getattr(self._font(face).face, "familyName", b"")
        return str(family.decode("ascii", "replace")) if family else face.value

    def letters(self, face: Face) -> dict[int, int]:
        """Return the letters of ``face``, each with the number of its drawing; 0 is the box for a missing one."""
        letters: dict[int, int] = self._font(face).face.charToGlyph
        return letters

    def _font(self, face: Face) -> TTFont:
        return _shipped(face) if self._own is None else _own_font(self._own)


def load_fonts(own: Path | None = None) -> FontSet:
    """
    Return the typefaces to set a document in; ``own`` is the file that the settings name, used for all five.

    Raises:
        FontError: ``own`` is not there, too large, damaged, not TrueType, or may not be embedded.
    """
    if own is not None:
        _own_font(own)
    return FontSet(own)


def missing_letters(text: str, fonts: FontSet, face: Face = Face.SERIF) -> tuple[str, ...]:
    """
    Return the letters of ``text`` that ``face`` has no drawing for, each once, in the order met.

    Line ends count as set; a letter that needs shaping is missing even where the typeface has its drawing.
    """
    letters = fonts.letters(face)
    return tuple(
        dict.fromkeys(
            letter
            for letter in composed(text)
            if letter != "\n" and (not letters.get(ord(letter)) or script_to_shape(letter) or _is_control(letter))
        )
    )


def check_letters(field: str, text: str, fonts: FontSet, face: Face = Face.SERIF) -> str:
    """
    Return ``text`` as it can be drawn: marks joined to their letters, what is not seen left out.

    ``field`` names the text in the refusal, in the person's words: "the buyer's name".

    Raises:
        LettersError: letters that ``face`` has no drawing for, or that would need shaping; none is left out in silence.
    """
    drawn = composed(text)
    missing = missing_letters(drawn, fonts, face)
    if missing:
        scripts = tuple(dict.fromkeys(filter(None, map(script_to_shape, missing))))
        raise LettersError(field, missing, fonts.title(face), scripts)
    return drawn


def composed(text: str) -> str:
    """Return ``text`` with each mark joined to its letter where one drawing holds both, without what is never seen."""
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n").translate(_UNSEEN_TABLE))


def script_to_shape(letter: str) -> str | None:
    """Return the name of the script of ``letter`` if its letters need shaping or run from right to left."""
    if letter < "\u0590":
        return None
    first_word = unicodedata.name(letter, "").split(" ", 1)[0]
    if first_word in _SHAPED:
        return _SHAPED[first_word]
    return "right to left" if unicodedata.bidirectional(letter) in ("R", "AL", "AN") else None


def _is_control(letter: str) -> bool:
    # Among them the marks that turn the direction of writing, with which a name can be made to read as another.
    return unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn")


@cache
def _shipped(face: Face) -> TTFont:
    from reportlab.pdfbase.ttfonts import TTFont

    return TTFont(face.value, str(_FOLDER / f"{face.value}.ttf"))


def _own_font(path: Path) -> TTFont:
    try:
        status = path.stat()
    except OSError as exc:
        raise FontError(path, "is not there or cannot be read") from exc
    return _read_own(path, status.st_mtime_ns, status.st_size)


@cache
def _read_own(path: Path, _changed_ns: int, size: int) -> TTFont:
    from hashlib import sha256
    from io import BytesIO

    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    if not path.is_file() or size > _MAX_BYTES:
        raise FontError(path, f"is no file, or larger than {_MAX_BYTES >> 20} MB")
    try:
        content = path.read_bytes()
    except OSError as exc:
        raise FontError(path, "may not be read") from exc
    try:
        check_typeface(content)
        font = TTFont(f"Own-{sha256(content).hexdigest()[:12]}", BytesIO(content))
        _try_out(font)
    except PermissionError as exc:
        raise FontError(path, "its maker does not allow it to be embedded in documents") from exc
    except NotImplementedError as exc:
        raise FontError(path, "has PostScript outlines; only TrueType outlines can be embedded") from exc
    except (TTFError, *_DAMAGE) as exc:
        raise FontError(path, "is damaged, or no TrueType file") from exc
    return font


# What reading damaged tables ends in: each is a count, an offset or a name that leads nowhere.
_DAMAGE: Final = (struct.error, LookupError, ValueError, TypeError, AttributeError, ArithmeticError, AssertionError)


def _try_out(font: Any) -> None:
    """Measure and subset some letters, so that damage shows when the typeface is named, not in mid-document."""
    letters = [code for code, drawing in font.face.charToGlyph.items() if drawing][:64]
    if not letters:
        raise ValueError("no letters")
    font.stringWidth("".join(map(chr, letters)), 10)
    font.face.makeSubset(letters)
