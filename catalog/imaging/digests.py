"""
The two digests of a scan file: of its bytes, and of its encoded picture alone.

A caption that was changed elsewhere changes the first only; a decayed picture
changes both. Design section 10 says what the picture is in each format.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from catalog.errors import FileFormatError
from catalog.standards.byte_stream import CHUNK_BYTES, ByteStream, RawFile, Sink


@dataclass(frozen=True, slots=True)
class Digests:
    """SHA-256 of a file and of its picture, as hexadecimal digits; None if it has no picture to digest."""

    file_sha256: str
    picture_sha256: str | None


def file_digest(path: Path) -> str:
    """
    Return the SHA-256 of a file's bytes.

    Raises:
        FileFormatError: the file cannot be read.
    """
    digest = hashlib.sha256()
    try:
        with path.open("rb", buffering=0) as raw:
            ByteStream(raw, digest=digest).drain()
    except OSError as exc:
        raise FileFormatError(path, f"cannot be read ({exc.strerror or exc}); try another copy") from exc
    return digest.hexdigest()


def pass_runs(raw: io.FileIO, stream: ByteStream, runs: list[tuple[int, int]], picture: Sink) -> None:
    """
    Read the whole of ``stream``, giving ``picture`` the bytes of ``runs`` in their order.

    Runs that lie in order are taken on the way. Where they do not (or lie upon
    each other), the digest must still follow the picture's own table, so the
    picture's bytes are read a second time, after the file's.
    """
    if all(first[0] + first[1] <= second[0] for first, second in pairwise(runs)):
        for start, length in runs:
            stream.pass_over(start - stream.position)
            stream.pass_over(length, picture)
        stream.drain()
        return
    stream.drain()
    for piece in _pieces(raw, runs):
        picture.update(piece)


def _pieces(raw: io.FileIO, runs: Iterable[tuple[int, int]]) -> Iterable[memoryview]:
    buffer = memoryview(bytearray(CHUNK_BYTES))
    for start, length in runs:
        raw.seek(start)
        left = length
        while left > 0 and (got := raw.readinto(buffer[: min(left, CHUNK_BYTES)])):
            yield buffer[:got]
            left -= got


class NoPicture:
    """Take bytes and keep nothing of them: where only the file's digest is asked for."""

    def update(self, data: bytes | memoryview, /) -> None:
        """Do nothing with ``data``."""


__all__ = ["CHUNK_BYTES", "Digests", "NoPicture", "RawFile", "file_digest", "pass_runs"]
