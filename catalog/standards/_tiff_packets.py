"""
Find the metadata fields of a TIFF, BigTIFF or DNG, of its first directory before those of the others.

Source: XMP part 3 (January 2020), "TIFF"; TIFF Revision 6.0 §2 for the types.
"""

from __future__ import annotations

import io
from typing import Final

from catalog.standards._embedded import MAX_BLOCK_BYTES, Block, Collected
from catalog.standards.exif_values import exif_values_of_tiff
from catalog.standards.tiff import TiffDirectory, TiffReader

XMP: Final = 700
IPTC: Final = 33723
PHOTOSHOP: Final = 34377


def collect_tiff(stream: io.BufferedReader, size_bytes: int) -> Collected:
    """Return the metadata of a TIFF."""
    reader = TiffReader(stream, size_bytes)
    found = Collected("BigTIFF" if reader.is_big else "TIFF")
    for place, directory in enumerate(reader.directories, start=1):
        kept = {tag: _block(found, reader, directory, tag, place) for tag in (XMP, IPTC, PHOTOSHOP)}
        xmp, iptc, resources = kept[XMP], kept[IPTC], kept[PHOTOSHOP]
        if xmp:
            found.keep(found.xmp, xmp, whole=directory.fields[XMP].length)
        if iptc:
            found.keep(found.iim, _unswapped(found, iptc), whole=directory.fields[IPTC].length)
        if resources:
            found.keep_resources(resources.data, resources.where, resources.offset)
    found.exif = exif_values_of_tiff(reader, *reader.directories)
    found.faults += [f"TIFF: {fault}" for fault in reader.faults]
    return found


def _block(found: Collected, reader: TiffReader, directory: TiffDirectory, tag: int, place: int) -> Block | None:
    field = directory.fields.get(tag)
    if field is None:
        return None
    where = f"TIFF tag {tag}" + (f" of directory {place}" if place > 1 else "")
    if not field.length:
        found.faults.append(f"{where}: of type {field.type}, which cannot be read")
        return None
    # What the file cannot hold is not memory to be reserved for it.
    if not found.may_keep(where, min(field.length, max(reader.size_bytes - field.offset, 0))):
        return None
    data = reader.raw(directory, tag, at_most=MAX_BLOCK_BYTES)
    if not data:
        found.faults.append(f"{where}: lies outside the file")
        return None
    return Block(where, field.offset, data)


def _unswapped(found: Collected, block: Block) -> Block:
    """Return IIM stored as LONG in plain order: some writers turned the bytes of each of its words round."""
    # XMP part 3, "TIFF": of whatever type the tag is, the data are a stream of octets.
    if block.data[:1] == b"\x1c" or block.data[3:4] != b"\x1c":
        return block
    found.faults.append(f"{block.where}: its bytes are stored in turned words; read the right way round")
    data = b"".join(block.data[at : at + 4][::-1] for at in range(0, len(block.data), 4))
    return Block(block.where, block.offset, data)
