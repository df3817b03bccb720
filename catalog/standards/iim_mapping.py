"""
IIM in XMP's words, and XMP in IIM's: the same facts, in the other's form and within its limits.

Source: XMP part 3 (January 2020) §2.1.2 (predicting the IIM value) and table 38; IIM 4.2, records 1 and 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from catalog.standards.iim import Iim, IimValue, iim_date, iim_time
from catalog.standards.iim_datasets import DATASETS, Dataset
from catalog.standards.xmp_names import Name, name
from catalog.standards.xmp_values import Array, Packet, Text, Value, bag, lang_alt, seq, texts

__all__ = ["default_text", "iim_properties", "predict_iim"]

_TIMES: Final = {"2:55": "2:60", "2:62": "2:63"}  # of a date, the dataset of its time
_LANG_ALT: Final = frozenset(("dc:title", "dc:rights", "dc:description"))
_BAGS: Final = frozenset(("dc:subject", "photoshop:SupplementalCategories", "Iptc4xmpCore:SubjectCode"))
_SEQS: Final = frozenset(("dc:creator",))
# XMP part 1 §8.2.1.1: year, month, day; hours and minutes; seconds; fraction; zone.
_XMP_DATE: Final = re.compile(
    r"(\d{4})(?:-(\d\d)(?:-(\d\d)(?:T(\d\d):(\d\d)(?::(\d\d)(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)?)?)?)?", re.ASCII
)


def iim_properties(iim: Iim) -> dict[Name, Value]:
    """
    Return the XMP properties that say what a block says; what is blank or unreadable is left out.

    Of a repeated dataset whose property is simple, the last is kept (XMP part 3, table 38). A time without a
    date says nothing.
    """
    found: dict[Name, Value] = {}
    for row in DATASETS.values():
        values = [value for value in iim.all(row.id) if value.text and value.text.strip()]
        if row.xmp_id and row.form != "time" and values:
            value = _as_xmp(iim, row, row.xmp_id, values)
            if value is not None:
                found[name(row.xmp_id)] = value
    return found


def predict_iim(packet: Packet, codec: str = "utf-8") -> Iterator[tuple[str, bytes]]:
    """
    Yield the datasets, by number, that a writer of IIM would make of an XMP packet.

    Texts are cut at the limit of their dataset, in octets, and never within a character. What the character
    set lacks stands as ``?``. Nothing is written anywhere: it is what an IIM block is compared with.
    """
    for row in DATASETS.values():
        value = packet.get(name(row.xmp_id)) if row.xmp_id else None
        for text in _as_iim(row, value) if value is not None else ():
            yield row.id, cut(text, codec, row.max_octets)


def cut(text: str, codec: str, max_octets: int) -> bytes:
    """
    Return text in octets, no more than ``max_octets`` of them, whole characters only.

    >>> cut("Église", "utf-8", 1), cut("Église", "utf-8", 2), cut("Église", "latin-1", 1)
    (b'', b'\\xc3\\x89', b'\\xc9')
    """
    raw = text.encode(codec, errors="replace")
    if len(raw) <= max_octets:
        return raw
    return raw[:max_octets].decode(codec, errors="ignore").encode(codec, errors="replace")


def default_text(value: Value | None) -> str | None:
    """Return the text of a value that is one: of a language alternative its default, of an array its first."""
    if isinstance(value, Array):
        default = (item for item in value.items if (item.language or "").lower() == "x-default")
        value = next(default, value.items[0] if value.items else None)
    return value.value if value is not None and not isinstance(value, Array) and hasattr(value, "value") else None


# ---- IIM to XMP


def _as_xmp(iim: Iim, row: Dataset, xmp_id: str, values: list[IimValue]) -> Value | None:
    if row.form == "date":
        return _date_of(iim, row.id, values[0].text)
    plain = [plain_text(row, value.text or "") for value in values]
    if xmp_id in _LANG_ALT:
        return lang_alt(plain[0])
    if xmp_id in _BAGS or xmp_id in _SEQS:
        kept = [text for text in plain if text]
        return None if not kept else bag(kept) if xmp_id in _BAGS else seq(kept)
    return Text(plain[-1]) if plain[-1] else None


def plain_text(row: Dataset, text: str) -> str:
    """Return what a dataset says without the marks of its form: a genre's number, a subject's names."""
    text = text.strip()
    if row.form == "genre":
        return re.sub(r"^\d{3}:", "", text)
    if row.form == "subject":
        # IIM 4.2, dataset 2:12: provider, eight digits, and names, parted by colons.
        parts = text.split(":")
        return parts[1] if len(parts) > 1 else text
    return text


def _date_of(iim: Iim, date_id: str, text: str | None) -> Value | None:
    day = iim_date(text)
    if day is None:
        return None
    time = iim_time(iim.text(_TIMES[date_id])) if len(day) == 10 else None
    return Text(f"{day}T{time}" if time else day)


# ---- XMP to IIM


def _as_iim(row: Dataset, value: Value) -> list[str]:
    if row.form in ("date", "time"):
        written = _date_as_iim(default_text(value) or "", row.form)
        return [written] if written else []
    if row.xmp_id in _BAGS or row.xmp_id in _SEQS:
        words = [text for text in texts(value) if text]
    else:
        one = default_text(value)
        words = [one] if one else []
    # IIM 4.2: 2:04 and 2:12 begin with a number and a provider that XMP does not keep.
    if row.form == "genre":
        return [f"000:{text}" for text in words]
    if row.form == "subject":
        return [f"IPTC:{text}:::" for text in words]
    # 2:120 has CR and LF for a new line.
    return [text.replace("\n", "\r\n") for text in words] if row.id == "2:120" else words


def _date_as_iim(text: str, form: str) -> str | None:
    found = _XMP_DATE.fullmatch(text)
    if found is None:
        return None
    year, month, day, hour, minute, second, zone = found.groups()
    if form == "date":
        # IPTC PMD 2025.1 §7.10: parts that are not known are zeros.
        return f"{year}{month or '00'}{day or '00'}"
    # 2:60 requires a zone; where none is known the time is not predicted with one.
    offset = "+0000" if zone == "Z" else (zone or "").replace(":", "")
    return f"{hour}{minute}{second or '00'}{offset}" if hour else None
