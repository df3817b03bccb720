"""
Read a JPEG in one pass: what its frame says, which segments it carries, whether it is whole.

Source: ITU-T T.81 (ISO/IEC 10918-1) Annex B, "Compressed data formats"; JFIF 1.02
(ITU-T T.871); ICC.1:2010 Annex B.4 for the profile in APP2.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from catalog.standards.byte_stream import ByteStream, Sink

MAX_SEGMENTS = 100_000
MAX_PROFILE_BYTES = 8 << 20

# T.81 Table B.1. SOF codes are C0 to CF without DHT (C4), JPG (C8) and DAC (CC).
SOI, EOI, SOS, DNL = 0xD8, 0xD9, 0xDA, 0xDC
_FRAMES = {
    0xC0: "baseline", 0xC1: "extended", 0xC2: "progressive", 0xC3: "lossless", 0xC5: "differential",
    0xC6: "differential progressive", 0xC7: "differential lossless", 0xC9: "extended, arithmetic",
    0xCA: "progressive, arithmetic", 0xCB: "lossless, arithmetic", 0xCD: "differential, arithmetic",
    0xCE: "differential progressive, arithmetic", 0xCF: "differential lossless, arithmetic",
}  # fmt: skip
_ALONE = {0x01, SOI, *range(0xD0, 0xD8)}  # markers that no length follows
_NOT_PICTURE = {*range(0xE0, 0xF0), 0xFE}  # APPn and COM

# T.81 B.1.1.5: in coded data FF is followed by 00, or by a restart marker (D0-D7); FF FF is fill (B.1.1.2).
_END_OF_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")


@dataclass(frozen=True, slots=True)
class JpegFile:
    """What a JPEG says of itself. ``damage`` is None if it is whole, else the reason."""

    process: str | None = None
    width: int | None = None
    height: int | None = None
    bits: int | None = None
    components: tuple[int, ...] = ()
    jfif_density: tuple[int, int, int] | None = None
    """Unit (0 none, 1 inch, 2 centimetre), across, down."""
    adobe_transform: int | None = None
    exif: bytes | None = None
    """The Exif block, from its TIFF header on."""
    profile: bytes | None = None
    damage: str | None = None
    bytes_after: int = 0


@dataclass(slots=True)
class _Found:
    """What the segments told so far."""

    frame: bytes | None = None
    frame_code: int = 0
    lines: int | None = None
    app0: bytes | None = None
    app14: bytes | None = None
    exif: bytes | None = None
    profile: dict[int, bytes] = field(default_factory=dict)
    profile_bytes: int = 0

    def keep(self, code: int, payload: bytes) -> None:
        """Keep a segment if it says something of the picture."""
        if code in _FRAMES and self.frame is None:
            self.frame, self.frame_code = payload, code
        elif code == DNL and len(payload) >= 2:
            self.lines = int.from_bytes(payload[:2])
        elif code == 0xE0 and payload.startswith(b"JFIF\0") and self.app0 is None:
            self.app0 = payload
        elif code == 0xE1 and payload.startswith(b"Exif\0") and self.exif is None:
            self.exif = payload[6:]
        elif code == 0xEE and payload.startswith(b"Adobe") and self.app14 is None:
            self.app14 = payload
        elif code == 0xE2 and payload.startswith(b"ICC_PROFILE\0") and len(payload) > 14:
            self._keep_profile(payload)

    def _keep_profile(self, payload: bytes) -> None:
        # ICC.1 Annex B.4: after the name, the number of this piece (from 1) and how many there are.
        self.profile_bytes += len(payload)
        if self.profile_bytes <= MAX_PROFILE_BYTES:
            self.profile.setdefault(payload[12], payload[14:])

    def as_file(self, damage: str | None, bytes_after: int) -> JpegFile:
        frame = self.frame if self.frame is not None and len(self.frame) >= 6 else None
        # T.81 B.2.2: precision, lines, samples a line, components of three bytes, the identifier first.
        return JpegFile(
            process=_FRAMES.get(self.frame_code),
            width=int.from_bytes(frame[3:5]) or None if frame else None,
            height=int.from_bytes(frame[1:3]) or self.lines if frame else None,
            bits=frame[0] if frame else None,
            components=tuple(frame[6 : 6 + 3 * frame[5] : 3]) if frame else (),
            jfif_density=_density(self.app0),
            adobe_transform=self.app14[11] if self.app14 and len(self.app14) > 11 else None,
            exif=self.exif,
            profile=b"".join(piece for _, piece in sorted(self.profile.items())) or None,
            damage=damage or (None if frame else "damaged: it has no frame header, so no picture"),
            bytes_after=bytes_after,
        )


def _density(app0: bytes | None) -> tuple[int, int, int] | None:
    """Return the JFIF unit and densities (JFIF 1.02, "JFIF APP0 marker segment")."""
    if app0 is None or len(app0) < 12:
        return None
    return app0[7], int.from_bytes(app0[8:10]), int.from_bytes(app0[10:12])


def is_jpeg(first_bytes: bytes) -> bool:
    """Return True if a file that begins so is a JPEG: SOI, then another marker."""
    return first_bytes.startswith(b"\xff\xd8\xff")


def read_jpeg(stream: ByteStream, picture: Sink) -> JpegFile:
    """
    Return the facts of a JPEG that begins at the stream's place, and leave the stream at its end.

    ``picture`` is given everything but APPn and COM segments and the bytes
    between segments, so it does not change with captions, profiles or thumbnails.
    """
    found = _Found()
    try:
        _read_segments(stream, picture, found)
        damage = None
    except _BadJpegError as exc:
        damage = str(exc)
    return found.as_file(damage, stream.drain())


class _BadJpegError(Exception):
    """The segments cannot be followed any further."""


def _read_segments(stream: ByteStream, picture: Sink, found: _Found) -> None:
    picture.update(stream.take(2))
    code = _next_marker(stream)
    for _ in range(MAX_SEGMENTS):
        if code == EOI:
            picture.update(bytes((0xFF, EOI)))
            return
        if code not in _ALONE:
            _read_segment(stream, picture, found, code)
        else:
            picture.update(bytes((0xFF, code)))
        code = _pass_scan(stream, picture) if code == SOS else _next_marker(stream)
    raise _BadJpegError(f"damaged: it has more than {MAX_SEGMENTS} segments")


def _next_marker(stream: ByteStream) -> int:
    """Return the code of the marker that must stand here, past any fill bytes."""
    at = stream.position
    first = stream.take(1)
    if first and first != b"\xff":
        raise _BadJpegError(f"damaged at byte {at}: no marker where a segment must begin")
    # T.81 B.1.1.2: any number of FF may stand before a marker.
    while first == b"\xff" and (window := stream.window()) and window[0] == 0xFF:
        stream.advance(_length_of_fill(window))
    code = stream.take(1)
    if not code:
        raise _shorter(stream.position + 2, stream.position)
    if code == b"\0":
        raise _BadJpegError(f"damaged at byte {at}: no marker where a segment must begin")
    return code[0]


def _length_of_fill(window: memoryview) -> int:
    other = re.search(rb"[^\xff]", window)
    return other.start() if other else len(window)


def _read_segment(stream: ByteStream, picture: Sink, found: _Found, code: int) -> None:
    at = stream.position - 2
    counted = stream.take(2)
    length = int.from_bytes(counted)
    if len(counted) == 2 and length < 2:
        raise _BadJpegError(f"damaged at byte {at}: a segment of {length} bytes")
    payload = stream.take(length - 2) if length > 2 else b""
    if len(counted) < 2 or len(payload) < length - 2:
        raise _shorter(at + 2 + max(length, 2), stream.position)
    found.keep(code, payload)
    if code not in _NOT_PICTURE:
        picture.update(bytes((0xFF, code)) + counted + payload)


def _pass_scan(stream: ByteStream, picture: Sink) -> int:
    """Pass coded data to ``picture`` up to the marker that ends it; return the marker's code."""
    while window := stream.window():
        found = _END_OF_SCAN.search(window)
        if found:
            stream.advance(found.start(), picture)
            return stream.take(2)[1]
        ends_in_ff = window[-1] == 0xFF
        stream.advance(len(window) - ends_in_ff, picture)
        if ends_in_ff:  # the next chunk says whether this begins a marker
            stream.take(1)
            following = stream.window()[:1]
            if following and _END_OF_SCAN.match(b"\xff" + following):
                return stream.take(1)[0]
            picture.update(b"\xff")
    raise _shorter(stream.position + 2, stream.position)


def _shorter(needed: int, had: int) -> _BadJpegError:
    return _BadJpegError(f"damaged: cut short, no end of picture (needs at least {needed} bytes, has {had})")
