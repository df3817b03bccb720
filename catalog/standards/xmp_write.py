"""
XMP packets into bytes, in one canonical form.

Source: XMP part 1 (April 2012) §7; part 3 (January 2020), "External storage of metadata": a sidecar is a
complete XML document with an XML declaration. The packet wrapper (part 1 §7.3.2) is for packets that
are scanned for inside other files and is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from operator import itemgetter
from types import MappingProxyType
from typing import Final, NamedTuple

from catalog.errors import XmpError
from catalog.standards.xmp_document import MAX_DEPTH, check_size
from catalog.standards.xmp_names import NAMESPACES, NCNAME, RDF, XML, XMPMETA, Name
from catalog.standards.xmp_values import Array, Packet, Pairs, Struct, Text, Uri, Value

__all__ = ["Piece", "format_packet", "join_pieces", "write_piece"]

_ORDER: Final = {uri: place for place, uri in enumerate(NAMESPACES.values())}
_PREFIXES: Final = {
    RDF: "rdf",
    XMPMETA: "x",
    XML: "xml",
    **{uri: prefix for prefix, uri in NAMESPACES.items()},
}
_RESERVED: Final = frozenset(_PREFIXES.values()) | {"xmlns"}


def format_packet(packet: Packet, written: Mapping[Name, Piece] = MappingProxyType({})) -> bytes:
    """
    Return a packet as a complete XML document in UTF-8, the same bytes for the same content.

    ``written`` are pieces of the very values that stand in the packet, made by ``write_piece`` before.

    Properties stand in groups, one a namespace; known namespaces first under their usual prefix, others after
    them under the prefix their file gave, or ``ns1``, ``ns2`` ... when that is taken.

    Raises:
        XmpError: it is too large or too deep to be read again.
    """
    tags = _Tags(packet.prefixes)
    body: list[str] = []
    writer = _Writer(body, tags)
    for named, value in sorted(packet.properties, key=lambda field: _place(field[0])):
        piece = written.get(named)
        if piece is None:
            writer.write(tags[named], value, "   ", 1)
        else:
            body.append(piece.text)
            tags.need(piece.uris)
    return _document(packet.about, tags.declared(), body)


def _document(about: str, declared: Iterable[tuple[str, str]], body: list[str]) -> bytes:
    head = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<x:xmpmeta xmlns:x="{XMPMETA}">',
        f' <rdf:RDF xmlns:rdf="{RDF}">',
        f'  <rdf:Description rdf:about="{_quote(about)}"',
        *(_KNOWN_DECLARED.get(pair) or _declared(*pair) for pair in declared),
    ]
    head[-1] += ">" if body else "/>"
    close = ["  </rdf:Description>"] if body else []
    data = "\n".join([*head, *body, *close, " </rdf:RDF>", "</x:xmpmeta>", ""]).encode()
    check_size(data)
    return data


def _declared(uri: str, prefix: str) -> str:
    return f'    xmlns:{prefix}="{_quote(uri)}"'


_Place = tuple[int, str, str]


def _place(named: Name) -> _Place:
    uri, local = named
    return _ORDER.get(uri, len(_ORDER)), uri, local


# ---- property by property

_ALONE: Final = {uri: frozenset((uri,)) for uri in NAMESPACES.values()}


class Piece(NamedTuple):
    """One property as it stands in a document: where it comes, its lines, the namespaces it needs."""

    place: _Place
    text: str
    uris: frozenset[str]


def write_piece(named: Name, value: Value) -> Piece | None:
    """
    Return one property as every document would have it, so that what many of them say is written once.

    ``None`` if a namespace is none of ``NAMESPACES``: its prefix depends on its document.

    Raises:
        XmpError: it is nested too deep.
    """
    if type(value) is Text and named.uri in _ALONE and value.language is None and not value.qualifiers:
        tag = f"{_PREFIXES[named.uri]}:{named.local}"
        return Piece(_place(named), f"   <{tag}>{_escape(value.value)}</{tag}>", _ALONE[named.uri])
    tags = _Tags(())
    lines: list[str] = []
    _Writer(lines, tags).write(tags[named], value, "   ", 1)
    declared = tags.declared()
    if not all(uri in _ORDER for uri, _ in declared):
        return None
    return Piece(_place(named), "\n".join(lines), frozenset(uri for uri, _ in declared))


def join_pieces(pieces: Iterable[Piece]) -> bytes:
    """
    Return the document that ``format_packet`` makes of the same properties.

    Raises:
        XmpError: it is too large to be read again.
    """
    in_order = sorted(pieces, key=itemgetter(0))
    used = frozenset().union(*[piece.uris for piece in in_order])
    declared = [(uri, prefix) for prefix, uri in NAMESPACES.items() if uri in used]
    return _document("", declared, [piece.text for piece in in_order])


def _escape(text: str) -> str:
    # A carriage return must be written as a reference: XML 1.0 §2.11 turns a plain one into a line feed.
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace("\r", "&#xD;")


def _quote(text: str) -> str:
    # XML 1.0 §3.3.3 turns white space inside an attribute into spaces, unless it is written as a reference.
    return _escape(text).replace('"', "&quot;").replace("\n", "&#xA;").replace("\t", "&#x9;")


_KNOWN_DECLARED: Final = {(uri, prefix): _declared(uri, prefix) for prefix, uri in NAMESPACES.items()}


class _Tags(dict[Name, str]):
    """Names as they are spelled in one document. Each namespace has its prefix from when it is first used."""

    def __init__(self, offered: Iterable[tuple[str, str]]) -> None:
        super().__init__()
        self._offered = dict(offered)
        self._prefixes: dict[str, str] = {RDF: "rdf"}
        self._taken = set(_RESERVED)

    def __missing__(self, named: Name) -> str:
        prefix = self._prefixes.get(named.uri) or self._choose(named.uri)
        self[named] = f"{prefix}:{named.local}"
        return self[named]

    def _choose(self, uri: str) -> str:
        prefix = _PREFIXES.get(uri) or self._offered.get(uri, "")
        if uri not in _PREFIXES and (prefix in self._taken or not _may_be_prefix(prefix)):
            prefix = next(p for n in range(1, len(self._taken) + 2) if (p := f"ns{n}") not in self._taken)
        self._taken.add(prefix)
        self._prefixes[uri] = prefix
        return prefix

    def need(self, uris: Iterable[str]) -> None:
        """Have these namespaces declared."""
        for uri in uris:
            if uri not in self._prefixes:
                self._choose(uri)

    def declared(self) -> list[tuple[str, str]]:
        """Return (URI, prefix) of the namespaces in use, but rdf:, in the order they are declared."""
        used = ((uri, prefix) for uri, prefix in self._prefixes.items() if uri != RDF)
        return sorted(used, key=lambda pair: (_ORDER.get(pair[0], len(_ORDER)), pair[0]))


def _may_be_prefix(prefix: str) -> bool:
    # Namespaces in XML 1.0 §3: prefixes beginning with "xml" in any case are reserved.
    return NCNAME.fullmatch(prefix) is not None and not prefix.lower().startswith("xml")


class _Writer:
    """Writes values line by line. White space stands only where XMP lets a reader drop it."""

    def __init__(self, lines: list[str], tags: _Tags) -> None:
        self.lines = lines
        self.tags = tags

    def write(self, tag: str, value: Value, indent: str, depth: int) -> None:
        """Write one value as the element ``tag``."""
        if type(value) is Text and value.language is None and not value.qualifiers:  # as most are
            self.lines.append(f"{indent}<{tag}>{_escape(value.value)}</{tag}>")
            return
        opening = tag if value.language is None else f'{tag} xml:lang="{_quote(value.language)}"'
        if value.qualifiers:
            self._write_qualified(opening, tag, value, indent, depth)
        elif isinstance(value, Text):
            self.lines.append(f"{indent}<{opening}>{_escape(value.value)}</{tag}>")
        elif isinstance(value, Uri):
            self.lines.append(f'{indent}<{opening} rdf:resource="{_quote(value.value)}"/>')
        elif isinstance(value, Struct):
            self._write_fields(opening, tag, value.fields, indent, depth)
        else:
            self._write_array(opening, tag, value, indent, depth)

    def _write_qualified(self, opening: str, tag: str, value: Value, indent: str, depth: int) -> None:
        # XMP part 1 §7.8: xml:lang is an attribute of the element; other qualifiers stand beside rdf:value.
        _check_depth(depth)
        self.lines.append(f'{indent}<{opening} rdf:parseType="Resource">')
        self.write("rdf:value", _bare(value), f"{indent} ", depth + 1)
        for named, qualifier in value.qualifiers:
            self.write(self.tags[named], qualifier, f"{indent} ", depth + 1)
        self.lines.append(f"{indent}</{tag}>")

    def _write_fields(self, opening: str, tag: str, fields: Pairs, indent: str, depth: int) -> None:
        # XMP part 1 §7.9.2.3 lets parseType="Resource" stand for a nested rdf:Description.
        _check_depth(depth)
        if not fields:
            self.lines.append(f'{indent}<{opening} rdf:parseType="Resource"/>')
            return
        self.lines.append(f'{indent}<{opening} rdf:parseType="Resource">')
        within = f"{indent} "
        for named, value in fields:
            self.write(self.tags[named], value, within, depth + 1)
        self.lines.append(f"{indent}</{tag}>")

    def _write_array(self, opening: str, tag: str, array: Array, indent: str, depth: int) -> None:
        _check_depth(depth)
        self.lines.append(f"{indent}<{opening}>")
        if array.items:
            within = f"{indent}  "
            self.lines.append(f"{indent} <rdf:{array.kind}>")
            for item in array.items:
                self.write("rdf:li", item, within, depth + 1)
            self.lines.append(f"{indent} </rdf:{array.kind}>")
        else:
            self.lines.append(f"{indent} <rdf:{array.kind}/>")
        self.lines.append(f"{indent}</{tag}>")


def _check_depth(depth: int) -> None:
    if depth > MAX_DEPTH:
        raise XmpError(f"XMP nested more than {MAX_DEPTH} deep is not written: no one could read it")


def _bare(value: Value) -> Value:
    """Return a value without its qualifiers and its language, which are written by whoever holds them."""
    if isinstance(value, Text):
        return Text(value.value)
    if isinstance(value, Uri):
        return Uri(value.value)
    if isinstance(value, Struct):
        return Struct(value.fields)
    return Array(value.kind, value.items)
