"""
XMP: the door to this standard. A packet is read from bytes, merged and written; see docs/standards/xmp.md.

The values are in ``xmp_values``, the names in ``xmp_names``; nothing here knows a catalogue.
"""

from __future__ import annotations

from catalog.standards.xmp_aliases import OLD_NAMES, find_said
from catalog.standards.xmp_merge import Mine, fingerprint, merge
from catalog.standards.xmp_names import NAMESPACES, TIEBEAM, Name, name, spell
from catalog.standards.xmp_read import MAX_BYTES, parse_packet
from catalog.standards.xmp_values import (
    Array,
    Packet,
    Struct,
    Text,
    Uri,
    Value,
    bag,
    clean_text,
    lang_alt,
    seq,
    struct,
    texts,
)
from catalog.standards.xmp_write import Piece, format_packet, join_pieces, write_piece

__all__ = [
    "MAX_BYTES",
    "NAMESPACES",
    "OLD_NAMES",
    "TIEBEAM",
    "Array",
    "Mine",
    "Name",
    "Packet",
    "Piece",
    "Struct",
    "Text",
    "Uri",
    "Value",
    "bag",
    "clean_text",
    "find_said",
    "fingerprint",
    "format_packet",
    "join_pieces",
    "lang_alt",
    "merge",
    "name",
    "parse_packet",
    "seq",
    "spell",
    "struct",
    "texts",
    "write_piece",
]
