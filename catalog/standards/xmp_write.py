"""
XMP packets into bytes, in one canonical form.

Source: XMP part 1 (April 2012) §7; part 3 (January 2020), "External storage of metadata": a sidecar is a
complete XML document with an XML declaration. The packet wrapper (part 1 §7.3.2) is for packets that
are scanned for inside other files and is left out.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from catalog.standards.xmp_names import NAMESPACES, NCNAME, RDF, XML, XMPMETA, Name
from catalog.standards.xmp_values import Array, Packet, Pairs, Struct, Text, Uri, Value

__all__ = ["format_packet"]

_ORDER: Final = {uri: place for place, uri in enumerate(NAMESPACES.values())}
_PREFIXES: Final = {
    RDF: "rdf",
    XMPMETA: "x",
    XML: "xml",
    **{uri: prefix for prefix, uri in NAMESPACES.items()},
}
_RESERVED: Final = frozenset(_PREFIXES.values()) | {"xmlns"}

# A carriage return must be written as a reference: XML 1.0 §2.11 turns a plain one into a line feed.
_IN_TEXT: Final = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "\r": "&#xD;"}
# XML 1.0 §3.3.3 turns white space inside an attribute into spaces, unless it is written as a reference.
_IN_ATTRIBUTE: Final = _IN_TEXT | {'"': "&quot;", "\n": "&#xA;", "\t": "&#x9;"}
_TEXT: Final = re.compile("[&<>\r]")
_ATTRIBUTE: Final = re.compile('[&<>\r"\n\t]')


def format_packet(packet: Packet) -> bytes:
    """
    Return a packet as a complete XML document in UTF-8, the same bytes for the same content.

    Properties stand in groups, one a namespace; known namespaces first under their usual prefix, others after
    them under the prefix their file gave, or ``ns1``, ``ns2`` ... when that is taken.
    """
    prefixes = _choose_prefixes(packet)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<x:xmpmeta xmlns:x="{XMPMETA}">',
        f' <rdf:RDF xmlns:rdf="{RDF}">',
        f'  <rdf:Description rdf:about="{_quote(packet.about)}"',
    ]
    declared = [f'    xmlns:{prefix}="{_quote(uri)}"' for uri, prefix in prefixes.items()]
    lines += declared
    lines[-1] += ">" if packet.properties else "/>"
    writer = _Writer(lines, prefixes)
    for named, value in sorted(packet.properties, key=lambda pair: _place(pair[0])):
        writer.write(writer.spell(named), value, "   ")
    if packet.properties:
        lines.append("  </rdf:Description>")
    lines += [" </rdf:RDF>", "</x:xmpmeta>", ""]
    return "\n".join(lines).encode()


def _place(named: Name) -> tuple[int, str, str]:
    return _ORDER.get(named.uri, len(_ORDER)), named.uri, named.local


def _quote(text: str) -> str:
    return _ATTRIBUTE.sub(lambda m: _IN_ATTRIBUTE[m[0]], text)


def _choose_prefixes(packet: Packet) -> dict[str, str]:
    """Return the prefix of each namespace in use, in the order the namespaces are declared."""
    used: set[str] = set()
    _add_uris(packet.properties, used)
    used.discard(RDF)
    offered = dict(packet.prefixes)
    chosen: dict[str, str] = {}
    taken = set(_RESERVED)
    for uri in sorted(used, key=lambda uri: (_ORDER.get(uri, len(_ORDER)), uri)):
        prefix = _PREFIXES.get(uri) or offered.get(uri, "")
        if uri not in _PREFIXES and (prefix in taken or not _may_be_prefix(prefix)):
            prefix = next(p for n in range(1, len(used) + len(taken) + 2) if (p := f"ns{n}") not in taken)
        chosen[uri] = prefix
        taken.add(prefix)
    return chosen


def _may_be_prefix(prefix: str) -> bool:
    # Namespaces in XML 1.0 §3: prefixes beginning with "xml" in any case are reserved.
    return NCNAME.fullmatch(prefix) is not None and not prefix.lower().startswith("xml")


def _add_uris(pairs: Pairs, used: set[str]) -> None:
    for named, value in pairs:
        used.add(named.uri)
        _add_uris_within(value, used)


def _add_uris_within(value: Value, used: set[str]) -> None:
    if value.qualifiers:
        _add_uris(value.qualifiers, used)
    if isinstance(value, Struct):
        _add_uris(value.fields, used)
    elif isinstance(value, Array):
        for item in value.items:
            _add_uris_within(item, used)


class _Writer:
    """Writes values line by line. White space stands only where XMP lets a reader drop it."""

    def __init__(self, lines: list[str], prefixes: dict[str, str]) -> None:
        self.lines = lines
        self.prefixes = prefixes | {RDF: "rdf"}
        self.spell = cache(self._spell)

    def _spell(self, named: Name) -> str:
        return f"{self.prefixes[named.uri]}:{named.local}"

    def write(self, tag: str, value: Value, indent: str, with_language: bool = True) -> None:
        """Write one value as the element ``tag``."""
        has_language = with_language and value.language is not None
        language = f' xml:lang="{_quote(value.language or "")}"' if has_language else ""
        if value.qualifiers:
            self._write_qualified(tag + language, tag, value, indent)
        elif isinstance(value, Text):
            text = _TEXT.sub(lambda m: _IN_TEXT[m[0]], value.value)
            self.lines.append(f"{indent}<{tag}{language}>{text}</{tag}>")
        elif isinstance(value, Uri):
            self.lines.append(f'{indent}<{tag}{language} rdf:resource="{_quote(value.value)}"/>')
        elif isinstance(value, Struct):
            self._write_fields(f"{tag}{language}", tag, value.fields, indent)
        else:
            self._write_array(f"{tag}{language}", tag, value, indent)

    def _write_qualified(self, opening: str, tag: str, value: Value, indent: str) -> None:
        # XMP part 1 §7.8: xml:lang is an attribute of the element; other qualifiers stand beside rdf:value.
        self.lines.append(f'{indent}<{opening} rdf:parseType="Resource">')
        self.write("rdf:value", _bare(value), indent + " ", with_language=False)
        for named, qualifier in value.qualifiers:
            self.write(self.spell(named), qualifier, indent + " ")
        self.lines.append(f"{indent}</{tag}>")

    def _write_fields(self, opening: str, tag: str, fields: Pairs, indent: str) -> None:
        # XMP part 1 §7.9.2.3 lets parseType="Resource" stand for a nested rdf:Description.
        if not fields:
            self.lines.append(f'{indent}<{opening} rdf:parseType="Resource"/>')
            return
        self.lines.append(f'{indent}<{opening} rdf:parseType="Resource">')
        for named, value in fields:
            self.write(self.spell(named), value, indent + " ")
        self.lines.append(f"{indent}</{tag}>")

    def _write_array(self, opening: str, tag: str, array: Array, indent: str) -> None:
        self.lines.append(f"{indent}<{opening}>")
        if array.items:
            self.lines.append(f"{indent} <rdf:{array.kind}>")
            for item in array.items:
                self.write("rdf:li", item, indent + "  ")
            self.lines.append(f"{indent} </rdf:{array.kind}>")
        else:
            self.lines.append(f"{indent} <rdf:{array.kind}/>")
        self.lines.append(f"{indent}</{tag}>")


def _bare(value: Value) -> Value:
    """Return a value without its qualifiers; its language is written by whoever holds them."""
    if isinstance(value, Text):
        return Text(value.value)
    if isinstance(value, Uri):
        return Uri(value.value)
    if isinstance(value, Struct):
        return Struct(value.fields)
    return Array(value.kind, value.items)
