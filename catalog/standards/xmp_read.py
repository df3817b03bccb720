"""
Bytes into an XMP packet: every RDF form that a reader may meet, and nothing fetched, expanded or trusted.

Source: XMP part 1 (April 2012) §7 and annex C; RDF/XML syntax (W3C, 10 February 2004) §7.2, whose production
names the functions carry in their docstrings.
"""

from __future__ import annotations

import codecs
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from catalog.errors import XmpError
from catalog.standards.xmp_names import NAMESPACES, RDF, XML, XMPMETA, Name, spell
from catalog.standards.xmp_values import Array, Packet, Struct, Text, Uri, Value

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["MAX_BYTES", "parse_packet"]

# A sidecar is some kilobytes; the largest carry a small picture. Beyond this it is an attack or an accident.
MAX_BYTES: Final = 16 * 1024 * 1024
MAX_TAGS: Final = 200_000  # and as many attributes: bounds the tree, hence the memory
MAX_DEPTH: Final = 64  # structures and arrays within each other; the deepest in any published schema is 7

_KNOWN: Final = frozenset((*NAMESPACES.values(), RDF, XML, XMPMETA))
_TYPE, _VALUE = Name(RDF, "type"), Name(RDF, "value")
_KINDS: Final[dict[str, Literal["Bag", "Seq", "Alt"]]] = {
    f"{{{RDF}}}Bag": "Bag",
    f"{{{RDF}}}Seq": "Seq",
    f"{{{RDF}}}Alt": "Alt",
}
_DESCRIPTION: Final = f"{{{RDF}}}Description"
_XML: Final = f"{{{XML}}}"
_LANG: Final = f"{{{XML}}}lang"
_PARSE_TYPE: Final = f"{{{RDF}}}parseType"
_RESOURCE: Final = f"{{{RDF}}}resource"
_RDF_VALUE: Final = f"{{{RDF}}}value"
_ABOUT: Final = frozenset((f"{{{RDF}}}about", "about"))  # early writers left the prefix out
# RDF's own bookkeeping, without meaning in XMP (part 1 annex C: a reader ignores it).
_IGNORED: Final = frozenset((f"{{{RDF}}}ID", f"{{{RDF}}}nodeID", f"{{{RDF}}}datatype", "ID"))
_ITEM: Final = re.compile(re.escape(f"{{{RDF}}}") + r"(?:li|_[1-9][0-9]*)")

Field = tuple[Name, Value]


def parse_packet(data: bytes) -> Packet:
    """
    Return the packet that ``data`` holds: a sidecar, or the bytes of an embedded packet.

    Takes UTF-8, UTF-16 and UTF-32 with or without a byte order mark; the packet wrapper, padding, NULs at the
    end, comments; ``x:xmpmeta`` or a bare ``rdf:RDF``. Comments are not kept.

    Raises:
        XmpError: it cannot be read, or would not be safe to read; the message says why.
    """
    if len(data) > MAX_BYTES:
        raise XmpError(f"XMP of {len(data):,} bytes; more than {MAX_BYTES:,} are not read")
    if max(data.count(b"<"), data.count(b"=")) > MAX_TAGS:
        raise XmpError(f"XMP of more than {MAX_TAGS:,} tags or attributes is not read")
    root = _parse_xml(_decode(data))
    return _read_rdf(_find_rdf(root))


# ---- bytes to a tree


def _decode(data: bytes) -> str:
    """Return the text of a document, without byte order mark, padding and NULs at its ends."""
    encoding = _encoding_of(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as exc:
        raise XmpError(f"XMP is not {encoding} text at byte {exc.start + 1:,} of {len(data):,}") from exc
    text = text.strip("\ufeff\0 \t\r\n")
    if not text:
        raise XmpError("XMP is empty")
    nul = text.find("\0")
    if nul >= 0:
        raise XmpError(f"XMP holds a NUL at character {nul + 1:,}: it is damaged")
    return text


def _encoding_of(data: bytes) -> str:
    """Return a document's encoding: by its mark, by the zeros around its first "<", by what it declares."""
    marks = (
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16: its mark begins with that of UTF-16
        (codecs.BOM_UTF32_BE, "utf-32-be"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
        (b"\0\0\0<", "utf-32-be"),  # XML 1.0 annex F.1: the same, without a mark
        (b"<\0\0\0", "utf-32-le"),
        (b"\0<", "utf-16-be"),
        (b"<\0", "utf-16-le"),
    )
    for mark, encoding in marks:
        if data.startswith(mark):
            return encoding
    declared = re.match(rb"\s*<\?xml[^>]*?\sencoding\s*=\s*[\"']([A-Za-z][\w.\-]*)[\"']", data[:200])
    wanted = declared[1].decode("ascii").lower() if declared else "utf-8"
    # A document of single bytes that claims UTF-16 was re-encoded by someone who left the declaration.
    if wanted.startswith(("utf", "us-ascii", "ascii")):
        return "utf-8"
    if not wanted.startswith(("iso-8859-", "windows-125")):
        raise XmpError(f"XMP in the encoding {wanted!r} is not read; save it as UTF-8")
    try:
        return codecs.lookup(wanted).name
    except LookupError as exc:
        raise XmpError(f"XMP claims an encoding {wanted!r} that nobody knows; save it as UTF-8") from exc


# What may stand before the root; possessive, so that no input makes it backtrack.
_PROLOG: Final = re.compile(r"(?:\s++|<\?(?:[^?]|\?(?!>))*+\?>|<!--(?:[^-]|-(?!->))*+-->)*+")
_DECLARATION: Final = re.compile(r"<\?xml\s[^>]*\?>")


def _parse_xml(text: str) -> Element:
    """Return the root element. A document type declaration is refused unread: attacks come in by it."""
    from lxml import etree

    if text.startswith("<!DOCTYPE", _PROLOG.match(text).end()):  # type: ignore[union-attr]  # it matches nothing too
        raise XmpError("XMP has a document type declaration, which is never followed: remove it")
    text = _DECLARATION.sub("", text, count=1) if text.startswith("<?xml") else text
    parser = etree.XMLParser(
        encoding="utf-8",
        resolve_entities=False,
        load_dtd=False,
        dtd_validation=False,
        no_network=True,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
        strip_cdata=True,
        collect_ids=False,
    )
    try:
        return etree.fromstring(text.encode(), parser)
    except etree.XMLSyntaxError as exc:
        reason = re.sub(r"\s+", " ", exc.msg or "no reason given").strip()[:200]
        raise XmpError(f"XMP is not well-formed XML: {reason}") from exc
    except UnicodeEncodeError as exc:  # half of a surrogate pair, from UTF-16
        raise XmpError(f"XMP holds half a character at {exc.start + 1:,}: it is damaged") from exc


def _find_rdf(root: Element) -> Element:
    # XMP part 1 §7.3.3: x:xmpmeta is optional and other XML may stand around rdf:RDF.
    found = list(root.iter(f"{{{RDF}}}RDF"))
    if len(found) == 1:
        return found[0]
    if not found:
        raise XmpError("XMP has no rdf:RDF element")
    raise XmpError(f"XMP has {len(found)} rdf:RDF elements; which one speaks for the file is not known")


# ---- the tree to a packet


def _read_rdf(rdf: Element) -> Packet:
    """Read all descriptions as one. Source: XMP part 1 §7.4."""
    abouts: list[str] = []
    fields: list[Field] = []
    for node in rdf:
        if node.tag != _DESCRIPTION:
            raise XmpError(f"{_shown(node.tag)} stands directly in rdf:RDF, where XMP has rdf:Description")
        abouts += [about for key, about in _attributes(node) if key in _ABOUT and about]
        fields += _read_node_fields(node, 1)
    if len(set(abouts)) > 1:
        raise XmpError(f"XMP describes two things, {abouts[0]!r} and {abouts[1]!r}, and should describe one")
    return Packet(_without_repeats(fields), abouts[0] if abouts else "", _foreign_prefixes(rdf))


def _foreign_prefixes(rdf: Element) -> tuple[tuple[str, str], ...]:
    """Return (URI, prefix) of the namespaces we have no prefix for, as the file spells them."""
    found: dict[str, str] = {}
    for element in (
        rdf,
        next(iter(rdf), rdf),
    ):  # where nearly everyone declares them; asking everywhere would be slow
        found |= {uri: prefix for prefix, uri in element.nsmap.items() if prefix}
    for element in rdf.iter():
        if element.prefix:
            found.setdefault(str(element.tag)[1:].partition("}")[0], element.prefix)
    return tuple(sorted((uri, prefix) for uri, prefix in found.items() if uri not in _KNOWN))


def _without_repeats(fields: list[Field]) -> tuple[Field, ...]:
    """Leave out what is said twice alike; what is said twice differently stays, for ``Packet`` to refuse."""
    first: dict[Name, Value] = {}
    return tuple(
        (named, value)
        for named, value in fields
        if first.setdefault(named, value) is value or first[named] != value
    )


def _read_node_fields(node: Element, depth: int) -> list[Field]:
    """Read the fields of a node element: its property attributes, then its property elements (§7.2.11)."""
    fields = _read_property_attributes(node)
    fields += [(_name_of(child.tag), _read_property(child, depth)) for child in node]
    if _has_words(node):
        raise XmpError(f"{_shown(node.tag)} holds text {_clip(node)!r} between its properties")
    return fields


def _read_property_attributes(element: Element) -> list[Field]:
    """Read the attributes that are properties in short form (XMP part 1 §7.9.2.2)."""
    fields: list[Field] = []
    for key, text in _attributes(element):
        if key in _ABOUT or key in _IGNORED or key in (_PARSE_TYPE, _RESOURCE) or key.startswith(_XML):
            continue
        named = _name_of(key)
        fields.append((named, Uri(text) if named == _TYPE else Text(text)))
    return fields


def _read_property(element: Element, depth: int) -> Value:
    """Read a property element (§7.2.14): its attributes and content say which form it is in."""
    if not len(element) and not element.attrib:  # most are; the rest is for the others
        return Text(element.text or "")
    if depth > MAX_DEPTH:
        raise XmpError(f"XMP is nested more than {MAX_DEPTH} deep")
    parse_type = element.get(_PARSE_TYPE)
    if parse_type == "Resource":
        value = _as_value(_read_resource_fields(element, depth))
    elif parse_type is not None:
        # XMP part 1 §7.9.2.5 does not allow parseType="Literal", and knows no other.
        raise XmpError(f"{_shown(element.tag)} has rdf:parseType={parse_type!r}, which XMP does not allow")
    elif len(element) == 0:
        value = _read_simple(element)
    else:
        value = _read_single_node(element, depth)
    language = element.get(_LANG)
    return value if language is None else _with_language(value, language)


def _read_resource_fields(element: Element, depth: int) -> list[Field]:
    """Read the content of parseType="Resource" (§7.2.18)."""
    if set(element.attrib) - _IGNORED - {_PARSE_TYPE, _LANG}:
        raise XmpError(f"{_shown(element.tag)} has both rdf:parseType and properties as attributes")
    if _has_words(element):
        raise XmpError(f"{_shown(element.tag)} holds text {_clip(element)!r} between its fields")
    return [(_name_of(child.tag), _read_property(child, depth + 1)) for child in element]


def _read_simple(element: Element) -> Value:
    """Read an element without elements in it: a literal (§7.2.16) or an empty property element (§7.2.21)."""
    fields = _read_property_attributes(element)
    resource = element.get(_RESOURCE)
    if element.text:
        if (fields or resource is not None) and element.text.strip():
            raise XmpError(f"{_shown(element.tag)} has both text and properties as attributes")
        if not fields and resource is None:
            return Text(element.text)
    if resource is not None:
        if any(named == _VALUE for named, _ in fields):
            raise XmpError(f"{_shown(element.tag)} has both rdf:resource and rdf:value")
        return Uri(resource, qualifiers=_without_repeats(fields))
    return _as_value(fields) if fields else Text("")


def _read_single_node(element: Element, depth: int) -> Value:
    """Read the one node inside a property element (§7.2.15): an array, a structure, a typed structure."""
    if len(element) != 1 or _has_words(element):
        raise XmpError(f"{_shown(element.tag)} holds more than one value")
    if set(element.attrib) - _IGNORED - {_LANG}:
        raise XmpError(f"{_shown(element.tag)} has properties as attributes and a value inside")
    node = element[0]
    kind = _KINDS.get(node.tag)
    if kind is not None:
        return _read_array(kind, node, depth + 1)
    fields = _read_node_fields(node, depth + 1)
    about = next((about for key, about in _attributes(node) if key in _ABOUT and about), "")
    if node.tag != _DESCRIPTION:
        fields.insert(0, (_TYPE, Uri(_uri_of(node.tag))))
    if about and fields:
        raise XmpError(f"{_shown(element.tag)} describes another resource, {about!r}")
    value = Uri(about) if about else _as_value(fields)
    language = node.get(_LANG)
    return value if language is None else _with_language(value, language)


def _read_array(kind: Literal["Bag", "Seq", "Alt"], node: Element, depth: int) -> Array:
    """Read the items of an array (XMP part 1 §7.7). ``rdf:_1`` is an old spelling of ``rdf:li``."""
    if any(key not in _IGNORED | _ABOUT and not key.startswith(_XML) for key, _ in _attributes(node)):
        raise XmpError(f"an rdf:{kind} has properties as attributes")
    if _has_words(node):
        raise XmpError(f"an rdf:{kind} holds text {_clip(node)!r} between its items")
    for item in node:
        if _ITEM.fullmatch(item.tag) is None:
            raise XmpError(f"an rdf:{kind} holds {_shown(item.tag)}, where XMP has rdf:li")
    return Array(kind, tuple(_read_property(item, depth) for item in node))


def _as_value(fields: list[Field]) -> Value:
    """Return the structure of these fields; an ``rdf:value`` among them is what the rest qualify."""
    value = next((value for named, value in fields if named == _VALUE), None)
    if value is None:
        return Struct(_without_repeats(fields))
    # XMP part 1 §7.8
    if sum(named == _VALUE for named, _ in fields) > 1:
        raise XmpError("a qualified value has two rdf:value")
    others = _without_repeats([field for field in fields if field[0] != _VALUE])
    return _changed(value, value.language, (*value.qualifiers, *others))


def _with_language(value: Value, language: str) -> Value:
    if value.language not in (None, language):
        raise XmpError(f"one value is given two languages, {language!r} and {value.language!r}")
    return _changed(value, language, value.qualifiers)


def _changed(value: Value, language: str | None, qualifiers: tuple[Field, ...]) -> Value:
    if isinstance(value, Text):
        return Text(value.value, language=language, qualifiers=qualifiers)
    if isinstance(value, Uri):
        return Uri(value.value, language=language, qualifiers=qualifiers)
    if isinstance(value, Struct):
        return Struct(value.fields, language=language, qualifiers=qualifiers)
    return Array(value.kind, value.items, language=language, qualifiers=qualifiers)


# ---- small things


@lru_cache(maxsize=4096)
def _name_of(tag: str) -> Name:
    uri, brace, local = tag[1:].rpartition("}") if tag.startswith("{") else ("", "", tag)
    if not brace:
        raise XmpError(f"{local!r} has no namespace; every XMP property has one")
    return Name(uri, local)


def _uri_of(tag: str) -> str:
    return "".join(_name_of(tag))


def _attributes(element: Element) -> list[tuple[str, str]]:
    return [(str(key), str(text)) for key, text in element.attrib.items()]


def _shown(tag: str) -> str:
    """Return a tag for a person to read."""
    if RDF in tag or not tag.startswith("{"):
        return tag.replace(f"{{{RDF}}}", "rdf:")
    return spell(_name_of(tag))


def _has_words(element: Element) -> bool:
    if element.text is not None and element.text.strip():
        return True
    return any(child.tail is not None and child.tail.strip() for child in element)


def _clip(element: Element) -> str:
    texts = (element.text, *(child.tail for child in element))
    return next(text.strip() for text in texts if text is not None and text.strip())[:40]
