"""What is found embedded in a picture file, while it is being found and afterwards. All amounts are bounded."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from catalog.standards import photoshop_resources
from catalog.standards.exif_values import ExifValues
from catalog.standards.photoshop_resources import parse_resources

MAX_TOTAL_BYTES: Final = 40 << 20  # of all blocks of one file that are kept together
MAX_BLOCK_BYTES: Final = 16 << 20  # as much as the XMP reader takes
MAX_BLOCKS: Final = 64  # of one kind
MAX_CHUNKS: Final = 4_096  # of extended XMP: 65,458 bytes each at most


@dataclass(frozen=True, slots=True)
class Block:
    """One block as it stands in the file: where in words, the byte it begins at, its bytes."""

    where: str
    offset: int
    data: bytes


@dataclass(frozen=True, slots=True)
class ExtendedXmp:
    """The chunks of extended XMP under one GUID, put together in order. ``is_sound``: they have that MD5."""

    guid: str
    where: str
    data: bytes
    is_sound: bool


@dataclass(frozen=True, slots=True)
class Embedded:
    """
    The metadata of one file.

    The first of several blocks speaks for the file: that of the first directory of a TIFF, and a TIFF's own tag
    before the copy in its Photoshop resources. ``iim_digest`` is resource 1061.
    """

    path: Path
    kind: str
    xmp: tuple[Block, ...] = ()
    extended: tuple[ExtendedXmp, ...] = ()
    iim: tuple[Block, ...] = ()
    iim_digest: bytes | None = None
    exif: ExifValues = field(default_factory=ExifValues)
    faults: tuple[str, ...] = ()


@dataclass(slots=True)
class Collected:
    """The blocks of a file as they are met."""

    kind: str
    xmp: list[Block] = field(default_factory=list)
    iim: list[Block] = field(default_factory=list)
    iim_of_resources: list[Block] = field(default_factory=list)
    iim_digest: bytes | None = None
    exif: ExifValues = field(default_factory=ExifValues)
    faults: list[str] = field(default_factory=list)
    bytes_left: int = MAX_TOTAL_BYTES
    chunks: dict[str, list[tuple[int, int, bytes]]] = field(default_factory=dict)
    """Of extended XMP, by GUID: (whole length, place, bytes)."""

    def may_keep(self, where: str, length: int) -> bool:
        """Return True if that much more may be held in memory; else say so in ``faults``."""
        if length > min(MAX_BLOCK_BYTES, self.bytes_left):
            self.faults.append(f"{where}: {length:,} bytes are more than is read of one file")
            return False
        self.bytes_left -= length
        return True

    def keep(self, blocks: list[Block], block: Block, *, whole: int) -> None:
        """Keep a block, if it says something; ``whole`` is how long it should be."""
        if len(block.data) < whole:
            self.faults.append(f"{block.where}: cut short, {len(block.data):,} of {whole:,} bytes")
        if not block.data:
            return
        if len(blocks) == MAX_BLOCKS:
            self.faults.append(f"{block.where}: more than {MAX_BLOCKS} blocks of one kind; not read")
            return
        blocks.append(block)

    def keep_resources(self, data: bytes, where: str, offset: int) -> None:
        """Keep what Photoshop resources hold of ours: IIM and its digest."""
        found = parse_resources(data)
        self.faults += [f"{where}: {fault}" for fault in found.faults]
        for resource in found.all(photoshop_resources.IIM):
            place = f"{where}, Photoshop resource {photoshop_resources.IIM}"
            block = Block(place, offset + resource.offset, resource.data)
            self.keep(self.iim_of_resources, block, whole=len(resource.data))
        digest = found.first(photoshop_resources.IIM_DIGEST)
        if digest is not None and len(digest) != 16:
            self.faults.append(f"{where}: its digest of the IIM has {len(digest)} bytes, not 16; not used")
        elif self.iim_digest is None:
            self.iim_digest = digest

    def as_embedded(self, path: Path) -> Embedded:
        """Return what was found, extended XMP put together."""
        extended = tuple(filter(None, (self._joined(guid, chunks) for guid, chunks in self.chunks.items())))
        iim = (*self.iim, *self.iim_of_resources)
        bodies = {block.data.rstrip(b"\0") for block in iim}
        if len(bodies) > 1:
            places = "; ".join(block.where for block in iim)
            self.faults.append(f"{len(iim)} blocks of IIM that differ ({places}); the first is read")
        faults = (*dict.fromkeys(self.faults), *self.exif.faults)
        return Embedded(path, self.kind, tuple(self.xmp), extended, iim, self.iim_digest, self.exif, faults)

    def _joined(self, guid: str, chunks: list[tuple[int, int, bytes]]) -> ExtendedXmp | None:
        """Return extended XMP put together; None, and a fault, if it is not all there."""
        where = f"extended XMP {guid[:8]}..."
        whole = chunks[0][0]
        data = bytearray()
        for stated, at, piece in sorted(chunks, key=lambda chunk: chunk[1]):
            # The same chunk twice is one; a gap, or two that lie upon each other, is damage.
            if stated != whole or at not in (len(data), len(data) - len(piece)):
                break
            if at == len(data):
                data += piece
        if len(data) != whole:
            self.faults.append(f"{where}: its {len(chunks)} pieces do not fit together to {whole:,} bytes; not read")
            return None
        # XMP part 3, extended XMP in JPEG: the GUID is the MD5 of the whole.
        is_sound = hashlib.md5(data, usedforsecurity=False).hexdigest().upper() == guid
        if not is_sound:
            self.faults.append(f"{where}: its bytes no longer have the digest they are named by")
        return ExtendedXmp(guid, f"{where} in {len(chunks)} APP1 segments", bytes(data), is_sound)
