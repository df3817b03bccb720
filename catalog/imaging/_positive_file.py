"""
Write a picture of 16 bits as a TIFF, whole or not at all, from a stream of rows.

Everything before the pixels has a size known beforehand, so the file is written once from its first byte to its
last, and its digests are taken on the way. Tables first, then one run of strips; BigTIFF above 4 GB.

Source: TIFF Revision 6.0 §2, §4, §6, §8; the BigTIFF design; ICC.1:2010 annex B.4 for the profile's tag.
"""

from __future__ import annotations

import hashlib
import os
import struct
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import pyvips  # type: ignore[import-untyped]

from catalog.errors import PictureWriteError
from catalog.imaging.open_pixels import guarded
from catalog.passing_files import give_name

NOT_WRITTEN: Final = (
    "cannot be written ({}); nothing was kept. See that its folder is there, has room and may be written to"
)
STRIP_BYTES: Final = 1 << 20
_PIECE_BYTES: Final = 4 << 20
CLASSIC_LIMIT: Final = (1 << 32) - (1 << 20)
PASSING_SUFFIX: Final = ".tiebeam-part"
"""What a killed process may leave beside the target; it can be deleted."""
_SHORT, _LONG, _RATIONAL, _ASCII, _UNDEFINED, _LONG8 = 3, 4, 5, 2, 7, 16
_CODES: Final = {_SHORT: "H", _LONG: "I", _RATIONAL: "I", _ASCII: "s", _UNDEFINED: "s", _LONG8: "Q"}
Progress = Callable[[int, int], None]


def write_tiff(
    image: Any,
    target: Path,
    *,
    source: Path,
    profile: bytes,
    ppi: float | None,
    software: str,
    progress: Progress | None = None,
) -> tuple[str, int]:
    """
    Write an image of 16 bits, grey or RGB, to a path that is still free; return the file's SHA-256 and size.

    ``progress`` is told the bytes done and the bytes there are.

    Raises:
        PictureWriteError: something is at ``target``, or it cannot be written there.
        PictureError: ``source``, whose pixels these are, cannot be read to its end.
    """
    head = tiff_head(image.width, image.height, image.bands, profile=profile, ppi=ppi, software=software)
    total = len(head) + image.width * image.height * image.bands * 2
    with _passing_file(target) as (raw, passing), closing(_Pen(raw, total, progress)) as pen:
        pen.take(head)
        stream = pyvips.TargetCustom()
        stream.on_write(pen.take)
        with guarded(source), pen.faults():
            image.rawsave_target(stream)
        pen.flush()
        if pen.done != total:
            raise PictureWriteError(target, f"only {pen.done} bytes of {total} could be made; nothing was kept")
        os.fsync(raw.fileno())
        _settle(passing, target)
        return pen.sha256(), total


def refuse_taken(target: Path) -> None:
    """
    Refuse a path at which there is something, be it a link to nothing.

    Raises:
        PictureWriteError: there is.
    """
    if os.path.lexists(target):
        raise PictureWriteError(target, "there is a file of this name already; name another, or move it away first")


@contextmanager
def cannot_be_written(target: Path) -> Iterator[None]:
    """Turn what the system says against writing into a refusal that names the target."""
    try:
        yield
    except OSError as exc:
        raise PictureWriteError(target, NOT_WRITTEN.format(exc.strerror or exc)) from exc


@contextmanager
def _passing_file(target: Path) -> Iterator[tuple[Any, Path]]:
    """Open a passing file beside the target, and take it away again whatever happens."""
    refuse_taken(target)
    passing = target.with_name(f".{target.name}.{os.getpid()}{PASSING_SUFFIX}")
    try:
        with cannot_be_written(target), passing.open("xb", buffering=0) as raw:
            yield raw, passing
    finally:
        with suppress(OSError):
            passing.unlink(missing_ok=True)


def _settle(passing: Path, target: Path) -> None:
    """Give the passing file its name, in this program's words where another has it."""
    try:
        give_name(passing, target)
    except FileExistsError:
        refuse_taken(target)
        raise


class _Pen:
    """Takes the bytes of a file in order, writes them in larger pieces, digests them, and says how far it is."""

    def __init__(self, raw: Any, total: int, progress: Progress | None) -> None:
        self._raw, self._total, self._progress = raw, total, progress
        self._held = bytearray()
        self._fault: BaseException | None = None
        self._digest, self.done = hashlib.sha256(), 0
        # One piece is digested while the next is made and written; never more than one waits.
        self._digester = ThreadPoolExecutor(1)
        self._digesting: Future[None] | None = None

    def take(self, chunk: Any) -> int:
        """Take some bytes; -1 when it cannot."""
        try:
            self._held += chunk
            if len(self._held) >= _PIECE_BYTES:
                self.flush()
        except BaseException as exc:  # noqa: BLE001  the engine would print and lose it; ``faults`` raises it again
            self._fault = exc
            return -1
        return len(chunk)

    def flush(self) -> None:
        """Write what is held."""
        held, self._held = self._held, bytearray()
        if self._digesting:
            self._digesting.result()
        self._digesting = self._digester.submit(self._digest.update, held)
        view = memoryview(held)
        while view:
            view = view[self._raw.write(view) :]
        self.done += len(held)
        if self._progress:
            self._progress(self.done, self._total)

    def sha256(self) -> str:
        """Return the digest of all that was taken."""
        if self._digesting:
            self._digesting.result()
        return self._digest.hexdigest()

    def close(self) -> None:
        """End the thread that digests."""
        self._digester.shutdown()

    @contextmanager
    def faults(self) -> Iterator[None]:
        """Raise what went wrong in here, in place of the engine's word that something did."""
        try:
            yield
        finally:
            if self._fault is not None:
                raise self._fault


# -- tables ----------------------------------------------------------------------------------------------------


def tiff_head(width: int, height: int, channels: int, *, profile: bytes, ppi: float | None, software: str) -> bytes:
    """Return all bytes of a 16-bit TIFF that stand before its pixels; the pixels follow without a gap."""
    row_bytes = width * channels * 2
    rows = max(1, min(height, STRIP_BYTES // row_bytes))
    strips = -(-height // rows)
    is_big = row_bytes * height + 24 * strips + len(profile) > CLASSIC_LIMIT
    lengths = [rows * row_bytes] * (strips - 1) + [(height - rows * (strips - 1)) * row_bytes]
    pointer = _LONG8 if is_big else _LONG
    entries: list[tuple[int, int, Sequence[int] | bytes]] = [
        (256, _LONG, [width]), (257, _LONG, [height]), (258, _SHORT, [16] * channels), (259, _SHORT, [1]),
        (262, _SHORT, [1 if channels == 1 else 2]), (273, pointer, [0] * strips), (277, _SHORT, [channels]),
        (278, _LONG, [rows]), (279, pointer, lengths), (284, _SHORT, [1]),
        (305, _ASCII, software.encode("ascii", "replace") + b"\0"), (34675, _UNDEFINED, profile),
    ]  # fmt: skip
    if ppi:
        ratio = Fraction(ppi).limit_denominator(10_000)
        ratios = [ratio.numerator, ratio.denominator]
        entries += [(282, _RATIONAL, ratios), (283, _RATIONAL, ratios), (296, _SHORT, [2])]
    entries.sort(key=lambda entry: entry[0])
    start = len(_laid_out(entries, is_big))
    offsets = [start + index * rows * row_bytes for index in range(strips)]
    placed = [(tag, kind, offsets if tag == 273 else values) for tag, kind, values in entries]
    return _laid_out(placed, is_big)


def _laid_out(entries: Sequence[tuple[int, int, Sequence[int] | bytes]], is_big: bool) -> bytes:
    """Return header, directory and the longer values, filled up to a whole number of 16 bytes."""
    order = "<" if sys.byteorder == "little" else ">"
    mark = b"II" if order == "<" else b"MM"
    header = struct.pack(order + "2sHHHQ", mark, 43, 8, 0, 16) if is_big else struct.pack(order + "2sHI", mark, 42, 8)
    entry_layout, room = (order + "HHQ8s", 8) if is_big else (order + "HHI4s", 4)
    count_code, place_code = ("Q", "Q") if is_big else ("H", "I")
    after = len(header) + struct.calcsize("=" + count_code) + len(entries) * struct.calcsize(entry_layout) + room
    rows, values = [struct.pack(order + count_code, len(entries))], bytearray()
    for tag, kind, given in entries:
        raw = given if isinstance(given, bytes) else struct.pack(f"{order}{len(given)}{_CODES[kind]}", *given)
        count = len(given) // 2 if kind == _RATIONAL else len(given)
        stands = raw if len(raw) <= room else struct.pack(order + place_code, after + len(values))
        rows.append(struct.pack(entry_layout, tag, kind, count, stands.ljust(room, b"\0")))
        if len(raw) > room:
            values += raw + b"\0" * (len(raw) % 2)
    whole = header + b"".join(rows) + bytes(room) + bytes(values)
    return whole + bytes(-len(whole) % 16)
