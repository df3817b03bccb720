"""
What Exif says of a picture, field by field, and as XMP would say it.

The fields are read by this program's own TIFF reader, in files and in the blocks of JPEG and PNG alike: it reads
BigTIFF and long values, which exifread does not (docs/standards/exif.md).

Source: Exif 2.32 (CIPA DC-008-2019) §4.6; XMP part 3 (January 2020) and CIPA DC-010 for the properties.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from catalog.standards import _exif_forms as forms
from catalog.standards.tiff import TiffDirectory, TiffReader, is_tiff
from catalog.standards.xmp_names import Name, name
from catalog.standards.xmp_values import Text as XmpText
from catalog.standards.xmp_values import Value, lang_alt, seq

__all__ = ["FIELDS", "ExifFact", "ExifField", "ExifValues", "exif_values_of_block", "exif_values_of_tiff"]

Ifd = Literal["IFD0", "Exif", "GPS"]
Form = Literal[
    "text", "words", "names", "copyright", "date", "integer", "rational", "rationals", "comment", "code", "part"
]

_BELOW: Final[dict[Ifd, int]] = {"Exif": 34665, "GPS": 34853}
MAX_TEXT_BYTES: Final = 1 << 16


@dataclass(frozen=True, slots=True)
class ExifField:
    """One row of the mapping. ``is_written_back``: the standard lets a writer of XMP put it back into Exif."""

    tag: int
    ifd: Ifd
    title: str
    form: Form
    xmp_id: str | None
    is_written_back: bool


_ROWS: Final[tuple[tuple[int, Ifd, str, Form, str | None, bool], ...]] = (
    (270, "IFD0", "ImageDescription", "words", "dc:description", True),
    (271, "IFD0", "Make", "text", "tiff:Make", False),
    (272, "IFD0", "Model", "text", "tiff:Model", False),
    (274, "IFD0", "Orientation", "integer", "tiff:Orientation", True),
    (282, "IFD0", "XResolution", "rational", "tiff:XResolution", True),
    (283, "IFD0", "YResolution", "rational", "tiff:YResolution", True),
    (296, "IFD0", "ResolutionUnit", "integer", "tiff:ResolutionUnit", True),
    (305, "IFD0", "Software", "text", "xmp:CreatorTool", True),
    (306, "IFD0", "DateTime", "date", "xmp:ModifyDate", True),
    (315, "IFD0", "Artist", "names", "dc:creator", True),
    (33432, "IFD0", "Copyright", "copyright", "dc:rights", True),
    (36867, "Exif", "DateTimeOriginal", "date", "exif:DateTimeOriginal", False),
    (36868, "Exif", "DateTimeDigitized", "date", "xmp:CreateDate", False),
    (36880, "Exif", "OffsetTime", "part", None, False),
    (36881, "Exif", "OffsetTimeOriginal", "part", None, False),
    (36882, "Exif", "OffsetTimeDigitized", "part", None, False),
    (37386, "Exif", "FocalLength", "rational", "exif:FocalLength", False),
    (37510, "Exif", "UserComment", "comment", "exif:UserComment", True),
    (37520, "Exif", "SubSecTime", "part", None, False),
    (37521, "Exif", "SubSecTimeOriginal", "part", None, False),
    (37522, "Exif", "SubSecTimeDigitized", "part", None, False),
    (41728, "Exif", "FileSource", "code", "exif:FileSource", False),
    (42016, "Exif", "ImageUniqueID", "text", "exif:ImageUniqueID", False),
    (42034, "Exif", "LensSpecification", "rationals", "exifEX:LensSpecification", False),
    (42035, "Exif", "LensMake", "text", "exifEX:LensMake", False),
    (42036, "Exif", "LensModel", "text", "exifEX:LensModel", False),
)
FIELDS: Final[dict[int, ExifField]] = {row[0]: ExifField(*row) for row in _ROWS}

# Exif 2.32 §4.6.5: the sub-second and the zone of each date.
_DATE_PARTS: Final = {306: (37520, 36880), 36867: (37521, 36881), 36868: (37522, 36882)}
# exif: members of XMP that one GPS field gives (XMP part 2, Exif schema): reference and value.
_LATITUDE, _LONGITUDE, _ALTITUDE = (1, 2), (3, 4), (5, 6)


@dataclass(frozen=True, slots=True)
class ExifFact:
    """
    One field that says something.

    ``text`` is fit to be shown; ``edtf`` the day a date names; ``number`` what a measure is (degrees, metres,
    millimetres, dots to the unit); ``xmp`` and ``value`` what XMP says the same with.
    """

    tag: int
    ifd: Ifd
    title: str
    text: str
    xmp: Name | None = None
    value: Value | None = None
    edtf: str | None = None
    number: float | None = None


@dataclass(frozen=True, slots=True)
class ExifValues:
    """The fields of one file, in the order of the table; what is blank, zero or unreadable is not among them."""

    facts: tuple[ExifFact, ...] = ()
    faults: tuple[str, ...] = ()
    where: str = "Exif"

    def get(self, tag: int) -> ExifFact | None:
        """Return the field of that tag (GPS: ``get_named``), None if it says nothing."""
        return next((fact for fact in self.facts if fact.tag == tag and fact.ifd != "GPS"), None)

    def get_named(self, title: str) -> ExifFact | None:
        """Return the field of that name: ``DateTimeOriginal``, ``GPSLatitude``."""
        return next((fact for fact in self.facts if fact.title == title), None)

    def properties(self) -> dict[Name, Value]:
        """Return what XMP says the same with."""
        return {fact.xmp: fact.value for fact in self.facts if fact.xmp and fact.value}


def exif_values_of_block(block: bytes, where: str = "Exif") -> ExifValues:
    """Return what an Exif block says, as JPEG and PNG carry it: a small TIFF, from its header on."""
    if not is_tiff(block[:4]):
        # Exif 2.32 has "II*" or "MM" here; a second "Exif" before it is met now and then.
        inner = block.removeprefix(b"Exif\0\0").lstrip(b"\0")
        if not is_tiff(inner[:4]):
            return ExifValues(faults=(f"{where}: its Exif begins like no TIFF",), where=where)
        block = inner
    reader = TiffReader(io.BytesIO(block), len(block))
    values = exif_values_of_tiff(reader, *reader.directories[:1], where=where)
    faults = (*(f"{where}: {fault}" for fault in reader.faults), *values.faults)
    return ExifValues(values.facts, tuple(dict.fromkeys(faults)), where)


def exif_values_of_tiff(reader: TiffReader, *directories: TiffDirectory, where: str = "Exif") -> ExifValues:
    """Return what the directories of a TIFF say, the first that has a field speaking for the rest."""
    places: dict[Ifd, list[TiffDirectory]] = {"IFD0": list(directories), "Exif": [], "GPS": []}
    for directory in directories:
        for ifd, tag in _BELOW.items():
            below = reader.integer(directory, tag)
            found = reader.directory_at(below) if below else None
            places[ifd] += [found] if found else []
    source = _Source(reader, places)
    facts = tuple(filter(None, (_fact(source, row) for row in FIELDS.values()))) + tuple(_gps(source))
    return ExifValues(facts, tuple(source.faults), where)


class _Source:
    """The values of one file by directory and tag."""

    def __init__(self, reader: TiffReader, places: dict[Ifd, list[TiffDirectory]]) -> None:
        self._reader, self._places = reader, places
        self.faults: list[str] = []
        self.is_big_endian = reader.byte_order == ">"

    def raw(self, ifd: Ifd, tag: int) -> bytes:
        """Return the bytes of a field of text; nothing if it is absent, blank or of numbers."""
        for place in self._places[ifd]:
            field = place.fields.get(tag)
            if field is not None and field.type in (1, 2, 7):
                raw = self._reader.raw(place, tag, at_most=MAX_TEXT_BYTES)
                if raw.strip(b" ") if len(raw) == 1 else raw.strip(b"\0 "):
                    return raw
        return b""

    def integer(self, ifd: Ifd, tag: int) -> int | None:
        return next((n for place in self._places[ifd] if (n := self._reader.integer(place, tag)) is not None), None)

    def rationals(self, ifd: Ifd, tag: int, count: int) -> list[tuple[int, int]]:
        """Return the first rationals of a field as pairs, over and under; nothing if it is no rational."""
        for place in self._places[ifd]:
            field = place.fields.get(tag)
            if field is not None and field.type in (5, 10):
                layout = struct.Struct(self._reader.byte_order + ("II" if field.type == 5 else "ii"))
                raw = self._reader.raw(place, tag, at_most=count * layout.size)
                return list(layout.iter_unpack(raw[: len(raw) - len(raw) % layout.size]))
            if field is not None and field.type in (3, 4):
                return [(n, 1) for n in self._reader.integers(place, tag, at_most=count)]
        return []


def _fact(source: _Source, row: ExifField) -> ExifFact | None:
    return _READERS[row.form](source, row)


def _built(
    row: ExifField, text: str, value: Value, *, number: float | None = None, edtf: str | None = None
) -> ExifFact:
    return ExifFact(row.tag, row.ifd, row.title, text, name(row.xmp_id or ""), value, edtf, number)


def _text(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.plain_text(source.raw(row.ifd, row.tag))
    return _built(row, text, XmpText(text)) if text else None


def _words(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.plain_text(source.raw(row.ifd, row.tag))
    return _built(row, text, lang_alt(text)) if text else None


def _names(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.plain_text(source.raw(row.ifd, row.tag))
    return _built(row, text, seq(forms.split_names(text))) if text else None


def _copyright(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.copyright_text(source.raw(row.ifd, row.tag))
    return _built(row, text, lang_alt(text)) if text.strip() else None


def _date(source: _Source, row: ExifField) -> ExifFact | None:
    written = forms.plain_text(source.raw(row.ifd, row.tag))
    if not written or not written.strip("0: -/.T"):
        return None  # trouble case D02: zeros and blanks say nothing
    fraction, zone = (forms.plain_text(source.raw("Exif", tag)) for tag in _DATE_PARTS[row.tag])
    edtf, xmp = forms.dates(written, fraction, zone)
    if edtf is None or xmp is None:
        source.faults.append(f"Exif {row.title} is no date: {written[:40]!r}")
        return ExifFact(row.tag, row.ifd, row.title, written)
    return _built(row, written, XmpText(xmp), edtf=edtf)


def _integer(source: _Source, row: ExifField) -> ExifFact | None:
    number = source.integer(row.ifd, row.tag)
    return _built(row, str(number), XmpText(str(number)), number=number) if number is not None else None


def _rational(source: _Source, row: ExifField) -> ExifFact | None:
    pairs = source.rationals(row.ifd, row.tag, 1)
    if not pairs or not pairs[0][1]:
        return None
    over, under = pairs[0]
    return _built(row, f"{over / under:g}", XmpText(f"{over}/{under}"), number=over / under)


def _rationals(source: _Source, row: ExifField) -> ExifFact | None:
    pairs = source.rationals(row.ifd, row.tag, 4)
    if not any(over for over, _ in pairs):
        return None
    text = ", ".join(f"{over / under:g}" if under else "?" for over, under in pairs)
    return _built(row, text, seq(f"{over}/{under}" for over, under in pairs))


def _comment(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.comment_text(source.raw(row.ifd, row.tag), is_big_endian=source.is_big_endian)
    return _built(row, text, lang_alt(text)) if text else None


def _code(source: _Source, row: ExifField) -> ExifFact | None:
    raw = source.raw(row.ifd, row.tag)
    # UNDEFINED of one byte; a few writers put the digit there as a letter.
    code = int(raw[:1]) if raw[:1].isdigit() else raw[0] if raw else None
    return _built(row, str(code), XmpText(str(code)), number=code) if code is not None else None


def _part(source: _Source, row: ExifField) -> ExifFact | None:
    text = forms.plain_text(source.raw(row.ifd, row.tag))
    return ExifFact(row.tag, row.ifd, row.title, text) if text.strip(": ") else None


_READERS: Final[dict[Form, Callable[[_Source, ExifField], ExifFact | None]]] = {
    "text": _text, "words": _words, "names": _names, "copyright": _copyright, "date": _date, "integer": _integer,
    "rational": _rational, "rationals": _rationals, "comment": _comment, "code": _code, "part": _part,
}  # fmt: skip


def _gps(source: _Source) -> Iterator[ExifFact]:
    # Exif 2.32 §4.6.6: three rationals, degrees, minutes, seconds; the letter says which way.
    for title, (letter_tag, tag), letters, limit in (
        ("GPSLatitude", _LATITUDE, "NS", 90),
        ("GPSLongitude", _LONGITUDE, "EW", 180),
    ):
        parts = source.rationals("GPS", tag, 3)
        letter = forms.plain_text(source.raw("GPS", letter_tag))[:1].upper()
        if not any(under for _, under in parts):
            continue  # 0/0 is a part that is not known
        angle = forms.angle(parts, letter, letters, limit)
        if angle is None:
            source.faults.append(f"Exif {title} is no angle: {forms.spell_rationals(parts)} {letter!r}")
        else:
            degrees, spelled = angle
            yield ExifFact(tag, "GPS", title, f"{degrees:.6f}", name(f"exif:{title}"), XmpText(spelled), number=degrees)
    yield from _altitude(source)


def _altitude(source: _Source) -> Iterator[ExifFact]:
    pairs = source.rationals("GPS", _ALTITUDE[1], 1)
    if pairs and pairs[0][1]:
        over, under = pairs[0]
        # Exif 2.32 §4.6.6, GPSAltitudeRef: 0 is above, 1 below sea level.
        below = source.integer("GPS", _ALTITUDE[0]) == 1
        metres = -over / under if below else over / under
        value = XmpText(f"{over}/{under}")
        yield ExifFact(
            _ALTITUDE[1], "GPS", "GPSAltitude", f"{metres:g}", name("exif:GPSAltitude"), value, number=metres
        )
        yield ExifFact(
            _ALTITUDE[0],
            "GPS",
            "GPSAltitudeRef",
            str(int(below)),
            name("exif:GPSAltitudeRef"),
            XmpText(str(int(below))),
        )
