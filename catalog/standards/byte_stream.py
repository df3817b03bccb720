"""Read a file once, from its first byte to its last, digesting every byte on the way."""

from __future__ import annotations

from typing import Protocol

# One mebibyte stays within the processor's cache: a second digest of the same bytes fetches nothing anew.
CHUNK_BYTES = 1 << 20


class Sink(Protocol):
    """Whatever takes bytes as they pass; a digest of hashlib is one."""

    def update(self, data: bytes | memoryview, /) -> None: ...


class RawFile(Protocol):
    """A file that is open for reading, without a buffer of its own."""

    def readinto(self, buffer: memoryview, /) -> int | None: ...


class ByteStream:
    """
    A file in one forward pass, in bounded memory.

    Every byte that is read goes to ``digest``, whether a parser takes it or
    passes over it; ``drain`` reads what is left. The updates are large, so
    hashlib and the read itself release the interpreter to other threads.
    """

    def __init__(self, raw: RawFile, *, digest: Sink, chunk_bytes: int = CHUNK_BYTES) -> None:
        self._raw, self._digest = raw, digest
        self._buffer = memoryview(bytearray(max(chunk_bytes, 1)))
        self._start = self._at = self._end = 0

    @property
    def position(self) -> int:
        """Return how many bytes were taken or passed over so far."""
        return self._start + self._at

    def window(self) -> memoryview:
        """Return the bytes at hand, reading more when there are none; empty at the end of the file."""
        if self._at == self._end:
            self._start += self._end
            self._at = self._end = 0
            self._end = self._raw.readinto(self._buffer) or 0
            self._digest.update(self._buffer[: self._end])
        return self._buffer[self._at : self._end]

    def advance(self, length: int, *sinks: Sink) -> None:
        """Pass ``length`` bytes of the window at hand to ``sinks``."""
        piece = self._buffer[self._at : self._at + length]
        for sink in sinks:
            sink.update(piece)
        self._at += length

    def pass_over(self, length: int, *sinks: Sink) -> int:
        """Pass the next ``length`` bytes to ``sinks``; return how many there were."""
        left = length
        while left > 0 and (window := self.window()):
            step = min(left, len(window))
            self.advance(step, *sinks)
            left -= step
        return length - left

    def take(self, length: int) -> bytes:
        """Return the next ``length`` bytes, fewer at the end of the file. Meant for small pieces."""
        window = self.window()
        if len(window) >= length:
            self._at += length
            return bytes(window[:length])
        taken = bytearray()
        while len(taken) < length and (window := self.window()):
            step = min(length - len(taken), len(window))
            taken += window[:step]
            self._at += step
        return bytes(taken)

    def drain(self) -> int:
        """Read to the end of the file; return how many bytes that were."""
        before = self.position
        while window := self.window():
            self._at += len(window)
        return self.position - before
