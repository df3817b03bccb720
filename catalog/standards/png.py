"""
Read a PNG in one pass: its header, its texts, its chunks' check sums, whether it is whole.

Source: W3C Portable Network Graphics (PNG) Specification, Second Edition (2003,
ISO/IEC 15948), and its Third Edition (2025) for eXIf.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field

from catalog.standards._text import decode_text
from catalog.standards.byte_stream import ByteStream, Sink

SIGNATURE = b"\x89PNG\r\n\x1a\n"  # PNG §5.2
MAX_CHUNKS = 1_000_000
MAX_KEPT_BYTES = 8 << 20  # of the chunks that are kept together, and of a profile once it is unpacked
_KEPT = {b"IHDR", b"pHYs", b"iCCP", b"eXIf", b"tEXt", b"iTXt", b"sRGB"}

# PNG §11.2.2, Table 11.1: the colour types, and how many channels each has.
COLOUR_TYPES = {0: ("grey", 1), 2: ("RGB", 3), 3: ("palette", 1), 4: ("grey", 2), 6: ("RGB", 4)}


@dataclass(frozen=True, slots=True)
class PngFile:
    """What a PNG says of itself. ``damage`` is None if it is whole, else the reason."""

    width: int | None = None
    height: int | None = None
    bits: int | None = None
    colour_type: int | None = None
    is_interlaced: bool = False
    pixels_per_metre: tuple[int, int] | None = None
    """Across and down; None if not recorded, or recorded as a mere proportion."""
    profile_name: str | None = None
    profile: bytes | None = None
    exif: bytes | None = None
    texts: tuple[tuple[str, str], ...] = ()
    is_srgb: bool = False
    damage: str | None = None
    bytes_after: int = 0


@dataclass(slots=True)
class _Found:
    """The chunks kept so far, the first of each kind but all the texts."""

    first: dict[bytes, bytes] = field(default_factory=dict)
    texts: list[tuple[str, str]] = field(default_factory=list)
    bytes_left: int = MAX_KEPT_BYTES

    def keep(self, kind: bytes, payload: bytes) -> None:
        if kind == b"tEXt":  # PNG §11.3.4.3: keyword, NUL, Latin-1
            keyword, _, text = payload.partition(b"\0")
            self.texts.append((keyword.decode("latin-1"), decode_text(text)))
        # PNG §11.3.4.5: keyword, NUL, compression, method, language, NUL, translated, NUL, UTF-8
        elif kind == b"iTXt":
            keyword, _, rest = payload.partition(b"\0")
            parts = rest[2:].split(b"\0", 2)
            if rest[:1] == b"\0" and len(parts) == 3:
                self.texts.append((keyword.decode("latin-1"), decode_text(parts[2])))
        else:
            self.first.setdefault(kind, payload)

    def as_file(self, damage: str | None, bytes_after: int) -> PngFile:
        header = self.first.get(b"IHDR", b"")
        if len(header) < 13:
            return PngFile(damage=damage or "damaged: it has no header (IHDR)", bytes_after=bytes_after)
        size = self.first.get(b"pHYs", b"")
        width, height = int.from_bytes(header[:4]), int.from_bytes(header[4:8])
        name, _, packed = self.first.get(b"iCCP", b"").partition(b"\0")
        return PngFile(
            width=width,
            height=height,
            bits=header[8],
            colour_type=header[9],
            is_interlaced=header[12] != 0,
            # PNG §11.3.5.3: unit 1 is the metre; 0 gives a proportion only.
            pixels_per_metre=_pair(size) if size[8:9] == b"\1" else None,
            profile_name=decode_text(name) or None,
            profile=_unpacked(packed[1:]),
            exif=self.first.get(b"eXIf"),
            texts=tuple(self.texts),
            is_srgb=b"sRGB" in self.first,
            damage=damage or (None if width and height else "damaged: it has no width or no height"),
            bytes_after=bytes_after,
        )


def _pair(size: bytes) -> tuple[int, int]:
    return int.from_bytes(size[:4]), int.from_bytes(size[4:8])


def _unpacked(packed: bytes) -> bytes | None:
    """Return a deflated profile unpacked, None if it is damaged; never more than the limit."""
    try:
        return zlib.decompressobj().decompress(packed, MAX_KEPT_BYTES) or None
    except zlib.error:
        return None


class _Checksum:
    """The check sum of one chunk, as its bytes pass (PNG §5.3: over the type and the data)."""

    def __init__(self, kind: bytes) -> None:
        self.value = zlib.crc32(kind)

    def update(self, data: bytes | memoryview, /) -> None:
        self.value = zlib.crc32(data, self.value)


class _BadPngError(Exception):
    """The chunks cannot be followed any further."""


def is_png(first_bytes: bytes) -> bool:
    """Return True if a file that begins so is a PNG."""
    return first_bytes.startswith(SIGNATURE)


def read_png(stream: ByteStream, picture: Sink) -> PngFile:
    """
    Return the facts of a PNG that begins at the stream's place, and leave the stream at its end.

    ``picture`` is given the data of its IDAT chunks, without their lengths and
    check sums: the same pixels, cut into other chunks, are the same picture.
    """
    found = _Found()
    try:
        damage = _read_chunks(stream, picture, found)
    except _BadPngError as exc:
        damage = str(exc)
    return found.as_file(damage, stream.drain())


def _read_chunks(stream: ByteStream, picture: Sink, found: _Found) -> str | None:
    """Read chunks up to IEND; return what is wrong with one that could still be passed over."""
    stream.take(len(SIGNATURE))
    damage, has_picture = None, False
    for _ in range(MAX_CHUNKS):
        at = stream.position
        head = stream.take(8)
        length, kind = int.from_bytes(head[:4]), head[4:]
        if len(head) < 8:
            raise _shorter(at + 12, stream.position)
        if not kind.isalpha() or length >= 1 << 31:
            raise _BadPngError(f"damaged at byte {at}: no chunk where one must begin")
        if not _read_chunk(stream, picture, found, kind, length):
            name = kind.decode("ascii")
            damage = damage or f"damaged: the chunk {name} at byte {at} fails its own check sum"
        has_picture |= kind == b"IDAT"
        if kind == b"IEND":
            return damage or (None if has_picture else "damaged: it has no picture data (IDAT)")
    raise _BadPngError(f"damaged: it has more than {MAX_CHUNKS} chunks")


def _read_chunk(stream: ByteStream, picture: Sink, found: _Found, kind: bytes, length: int) -> bool:
    """Pass one chunk; return True if its check sum is right."""
    at, check = stream.position, _Checksum(kind)
    if kind in _KEPT and length <= found.bytes_left:
        payload = stream.take(length)
        passed = len(payload)
        found.bytes_left -= passed
        check.update(payload)
    else:
        payload = None
        passed = stream.pass_over(length, check, *([picture] if kind == b"IDAT" else []))
    stated = stream.take(4)
    if passed < length or len(stated) < 4:
        raise _shorter(at + length + 4, stream.position)
    if int.from_bytes(stated) != check.value:
        return False
    if payload is not None:
        found.keep(kind, payload)
    return True


def _shorter(needed: int, had: int) -> _BadPngError:
    return _BadPngError(f"damaged: cut short, no end of picture (needs at least {needed} bytes, has {had})")
