"""
Read a block of IIM: its datasets, in the characters they were written in, and what is wrong with them.

Nothing here trusts the block. Work is bounded whatever its lengths say, and what cannot be read is named in
``faults`` rather than raised.

Source: IPTC-NAA Information Interchange Model 4.2 (July 2014): records and datasets,
the envelope record and the application record. See docs/standards/iim.md.
"""

from __future__ import annotations

import re
import struct
from codecs import getincrementaldecoder
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from catalog.standards import _charsets
from catalog.standards._charsets import Charset
from catalog.standards.iim_datasets import CHARACTER_SET, DATASETS
from catalog.standards.text_repair import propose_repair

__all__ = ["MAX_BYTES", "Charset", "Iim", "IimValue", "Repair", "format_iim", "iim_date", "iim_time", "parse_iim"]

MAX_BYTES: Final = 4 << 20  # a caption of 2,000 octets and a thousand keywords take 70 KB
MAX_VALUES: Final = 10_000

_MAX_DATE: Final = 40  # characters looked at; a date with a time and a zone has 25
_MARKER: Final = 0x1C
_RECORDS: Final = range(1, 10)
_LONG: Final = 0x8000
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]+")
_BINARY: Final = frozenset(("2:00", CHARACTER_SET, "1:00", "7:10", "8:10", "2:202", "3:00"))


_ASCII: Final = Charset("ascii", is_declared=False, is_guess=False, words="ASCII")


@dataclass(frozen=True, slots=True)
class IimValue:
    """One dataset as it stands in a block. ``text`` is None where the dataset is not text."""

    id: str
    raw: bytes
    text: str | None
    offset: int
    codec: str | None = None

    @property
    def title(self) -> str:
        """Return what the standard calls the dataset; its number if it is none of those known here."""
        return DATASETS[self.id].title if self.id in DATASETS else f"dataset {self.id}"


@dataclass(frozen=True, slots=True)
class Repair:
    """A text that an earlier program seems to have stored wrongly, and what it may have been."""

    id: str
    reads: str
    proposed: str

    @property
    def words(self) -> str:
        reads, proposed = self.reads[:60], self.proposed[:60]
        return f"{self.id} reads {reads!r}, stored wrongly by an earlier program; it may be {proposed!r}"


@dataclass(frozen=True, slots=True)
class Iim:
    """
    A block as it was read.

    ``faults`` are damages of the block, ``warnings`` what the standard does not allow and yet is readable:
    a text that is too long, a date that is none.
    """

    values: tuple[IimValue, ...] = ()
    charset: Charset = _ASCII
    faults: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = field(default=())

    def all(self, dataset: str) -> tuple[IimValue, ...]:
        """Return every value of a dataset, in the order they stand."""
        return tuple(value for value in self.values if value.id == dataset)

    def texts(self, dataset: str) -> tuple[str, ...]:
        """Return the texts of a dataset that says something."""
        return tuple(value.text for value in self.values if value.id == dataset and value.text)

    def text(self, dataset: str) -> str | None:
        """Return the first text of a dataset, None if it is absent or blank."""
        return next(iter(self.texts(dataset)), None)


def parse_iim(block: bytes) -> Iim:
    """
    Return what a block says. Zeros that pad the block at its end are no fault.

    The characters are those that 1:90 designates. Where it is absent, or does not fit the bytes, each text is
    UTF-8 if its bytes are, else of the single-byte set under which the block makes the best words, and
    ``charset`` says that this is a guess.
    """
    faults: list[str] = []
    raw_values = list(_split(block, faults))
    charset = _charset_of(raw_values, faults)
    values = tuple(_read(dataset, raw, offset, charset, faults) for dataset, raw, offset in raw_values)
    return Iim(values, charset, tuple(faults), tuple(_warnings(values)), tuple(_repairs(values)))


def format_iim(datasets: Iterable[tuple[str, bytes]]) -> bytes:
    """
    Return the block of these datasets, by number (``"2:120"``) and octets, in the order given.

    Nothing is written into files with it: it is the other half of ``parse_iim``, for predictions and tests.
    """
    return b"".join(_format(dataset, raw) for dataset, raw in datasets)


def iim_date(text: str | None) -> str | None:
    """
    Return an IIM date as EDTF, as far as it is filled in; None if it names no year.

    >>> iim_date("19180000"), iim_date("19310700"), iim_date("00000000")
    ('1918', '1931-07', None)

    A day without a month is left out: ``_warnings`` names it.
    """
    # IIM 4.2, dataset 2:55: CCYYMMDD, with 00 for a month or day that is not known.
    found = re.fullmatch(
        r"\s*(\d{4})[-:/]?(\d\d|)[-:/]?(\d\d|)(?:[ T].*)?\s*", (text or "")[:_MAX_DATE].rstrip("\0"), re.ASCII
    )
    if found is None or found[1] == "0000":
        return None
    year, month, day = found[1], found[2] or "00", found[3] or "00"
    if month == "00":
        return year
    if not 1 <= int(month) <= 12:
        return None
    if day == "00":
        return f"{year}-{month}"
    try:
        return date(int(year), int(month), int(day)).isoformat()
    except ValueError:
        return None


def iim_time(text: str | None) -> str | None:
    """
    Return an IIM time as an XMP date writes it, with its zone if it has one; None if it is no time.

    >>> iim_time("083852+0200"), iim_time("170000")
    ('08:38:52+02:00', '17:00:00')
    """
    # IIM 4.2, dataset 2:60: HHMMSS±HHMM.
    found = re.fullmatch(
        r"([01]\d|2[0-3]):?([0-5]\d):?([0-5]\d|60)(?:([+-])([01]\d):?([0-5]\d))?", (text or "").strip(), re.ASCII
    )
    if found is None:
        return None
    zone = f"{found[4]}{found[5]}:{found[6]}" if found[4] else ""
    return f"{found[1]}:{found[2]}:{found[3]}{zone}"


# ---- octets


def _format(dataset: str, raw: bytes) -> bytes:
    record, number = map(int, dataset.split(":"))
    # IIM 4.2, "Extended DataSet": above 32,767 octets the length is itself given a length, with its highest bit set.
    length = struct.pack(">H", len(raw)) if len(raw) < _LONG else struct.pack(">HI", _LONG | 4, len(raw))
    return bytes((_MARKER, record, number)) + length + raw


def _split(block: bytes, faults: list[str]) -> Iterator[tuple[str, bytes, int]]:
    """Yield number, octets and place of each dataset, up to the first place where none stands."""
    if len(block) > MAX_BYTES:
        faults.append(f"IIM of {len(block):,} bytes; only the first {MAX_BYTES:,} were read")
        block = block[:MAX_BYTES]
    at = 0
    for _ in range(MAX_VALUES):
        at = _past_zeros(block, at)
        if at >= len(block):
            return
        head = block[at : at + 5]
        if len(head) < 5 or head[0] != _MARKER or head[1] not in _RECORDS:
            faults.append(f"IIM: no dataset begins at byte {at}; the last {len(block) - at} bytes were not read")
            return
        start, length = _measured(block, at)
        if length is None:
            faults.append(f"IIM: dataset {head[1]}:{head[2]:02} at byte {at} has no length that can be read")
            return
        if start + length > len(block):
            faults.append(
                f"IIM: dataset {head[1]}:{head[2]:02} at byte {at} should have {length} bytes, "
                f"has {max(len(block) - start, 0)}"
            )
        yield f"{head[1]}:{head[2]:02}", block[start : start + length], at
        at = start + length
    if _past_zeros(block, at) < len(block):
        faults.append(f"IIM of more than {MAX_VALUES:,} datasets; the rest were not read")


_NOT_ZERO: Final = re.compile(rb"[^\0]")


def _past_zeros(block: bytes, at: int) -> int:
    found = _NOT_ZERO.search(block, at)
    return found.start() if found else len(block)


def _measured(block: bytes, at: int) -> tuple[int, int | None]:
    """Return where a dataset's octets begin and how many there should be; None if that is not said."""
    length = int.from_bytes(block[at + 3 : at + 5])
    if length < _LONG:
        return at + 5, length
    # IIM 4.2, "Extended DataSet": the other fifteen bits say how many octets the length takes.
    octets = length - _LONG
    written = block[at + 5 : at + 5 + octets]
    if not 1 <= octets <= 8 or len(written) < octets:
        return at + 5, None
    return at + 5 + octets, int.from_bytes(written)


# ---- characters


def _charset_of(raw_values: list[tuple[str, bytes, int]], faults: list[str]) -> Charset:
    declared = next((raw for dataset, raw, _ in raw_values if dataset == CHARACTER_SET), None)
    codec = _charsets.declared_codec(declared) if declared is not None else None
    texts = [raw for dataset, raw, _ in raw_values if dataset not in _BINARY]
    beyond_ascii = [raw for raw in texts if not raw.isascii()]
    if codec and (codec != "ascii" or not beyond_ascii):
        return Charset(codec, is_declared=True, is_guess=False, words=f"{_charsets.spoken(codec)}, as 1:90 says")
    why = "no character set is declared (1:90)"
    if declared is not None:
        why = f"1:90 declares a character set that does not say enough ({declared[:16]!r})"
    if declared and not codec:
        faults.append(f"IIM: {why}")
    if not beyond_ascii:
        return Charset("ascii", is_declared=False, is_guess=False, words=f"ASCII; {why}")
    single = [
        raw
        for dataset, raw, _ in raw_values
        if dataset not in _BINARY and not raw.isascii() and _utf8(dataset, raw, is_declared=False) is None
    ]
    guess = _charsets.guess_single_byte(single) if single else "utf-8"
    mixed = f" and {_charsets.spoken('utf-8')}" if single and len(single) < len(beyond_ascii) else ""
    return Charset(
        guess,
        is_declared=False,
        is_guess=True,
        words=f"{why}; read as {_charsets.spoken(guess)}{mixed} by the evidence of its bytes",
    )


def _read(dataset: str, raw: bytes, offset: int, charset: Charset, faults: list[str]) -> IimValue:
    if dataset in _BINARY or dataset[0] not in "123":
        return IimValue(dataset, raw, None, offset)
    codec, text = _decoded(dataset, raw, charset, faults)
    return IimValue(dataset, raw, _clean(text), offset, codec)


def _decoded(dataset: str, raw: bytes, charset: Charset, faults: list[str]) -> tuple[str, str]:
    if raw.isascii():
        return charset.codec, raw.decode("ascii")
    as_utf8 = _utf8(dataset, raw, is_declared=charset.codec == "utf-8" and charset.is_declared)
    if as_utf8 is not None and (charset.codec == "utf-8" or not charset.is_declared):
        return "utf-8", as_utf8
    # Bytes 80 to 9F are controls in ISO 8859: who declares Latin-1 and writes them means Windows-1252.
    has_c1 = charset.codec == "latin-1" and any(0x80 <= byte <= 0x9F for byte in raw)
    text = _charsets.decode(raw, charset.codec)
    if text is not None and not has_c1:
        return charset.codec, text
    codec = "utf-8" if as_utf8 is not None else _charsets.guess_single_byte([raw])
    if charset.is_declared:
        faults.append(
            f"IIM: {dataset} is not {_charsets.spoken(charset.codec)} as 1:90 says; read as "
            f"{_charsets.spoken(codec)} by the evidence of its bytes"
        )
    return codec, raw.decode(codec, errors="replace") if as_utf8 is None else as_utf8


def _utf8(dataset: str, raw: bytes, *, is_declared: bool) -> str | None:
    """Return ``raw`` as UTF-8 if it is, a character cut through at the limit of the dataset left out."""
    text = _charsets.decode(raw, "utf-8")
    if text is not None:
        return text
    row = DATASETS.get(dataset)
    is_at_limit = row is not None and row.max_octets - 3 <= len(raw) <= row.max_octets
    begun = getincrementaldecoder("utf-8")()
    try:
        text = begun.decode(raw)
    except UnicodeDecodeError:
        return None
    return text if is_declared or is_at_limit or not text.isascii() else None


def _clean(text: str) -> str:
    """Return text fit to be shown: one kind of line break, no controls, no padding at its end."""
    lines = text.rstrip("\0").replace("\r\n", "\n").replace("\r", "\n")
    return _CONTROLS.sub(" ", lines).rstrip()


# ---- what is wrong with the values


def _warnings(values: tuple[IimValue, ...]) -> Iterator[str]:
    seen: set[str] = set()
    for value in values:
        row = DATASETS.get(value.id)
        if row is None:
            continue
        if not row.min_octets <= len(value.raw) <= row.max_octets:
            limits = (
                f"{row.min_octets} to {row.max_octets}"
                if row.min_octets not in (0, row.max_octets)
                else f"{row.max_octets}"
            )
            yield f"{value.id} {row.title} has {len(value.raw)} octets; the standard allows {limits}"
        if value.id in seen and not row.is_repeatable:
            yield f"{value.id} {row.title} stands more than once; the standard allows one"
        seen.add(value.id)
        yield from _form_warnings(value, row.form)


def _form_warnings(value: IimValue, form: str) -> Iterator[str]:
    text = value.text or ""
    if form == "date" and text.strip("0 "):
        digits = re.sub(r"\D", "", text)
        if iim_date(text) is None:
            yield f"{value.id} {value.title} is no date: {text[:40]!r}"
        elif digits[4:6] == "00" and digits[6:8] not in ("", "00"):
            yield f"{value.id} {value.title} has a day without a month, read as the year: {text[:40]!r}"
    elif form == "time" and text.strip() and iim_time(text) is None:
        yield f"{value.id} {value.title} is no time: {text[:40]!r}"
    elif form == "digit" and text not in "12345678":
        yield f"{value.id} {value.title} is no digit from 1 to 8: {text[:40]!r}"


def _repairs(values: tuple[IimValue, ...]) -> Iterator[Repair]:
    for value in values:
        if not value.text or not value.codec or value.raw.isascii():
            continue
        # From the octets: a control that is not shown may be half of a letter.
        proposed = propose_repair(value.raw.decode(value.codec, errors="ignore"))
        if proposed:
            yield Repair(value.id, value.text, _clean(proposed))
