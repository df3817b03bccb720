"""
Bytes into an XMP packet: every RDF form that a reader may meet.

Source: XMP part 1 (April 2012) §7 and annex C; RDF/XML syntax (W3C, 10 February 2004) §7.2, whose production
names the functions carry in their docstrings. The bytes are looked after in ``xmp_document``.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, NoReturn

from catalog.errors import XmpError
from catalog.standards.xmp_document import (
    MAX_BYTES,
    MAX_DEPTH,
    check_size,
    declared_prefixes,
    decode_document,
    parse_rdf,
)
from catalog.standards.xmp_names import NAMESPACES, RDF, XML, XMPMETA, Name, shown, spell
from catalog.standards.xmp_values import MAX_NAME, Array, Packet, Pairs, Struct, Text, Uri, Value

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["MAX_BYTES", "parse_packet"]

_KNOWN: Final = frozenset((*NAMESPACES.values(), RDF, XML, XMPMETA))
_TYPE, _VALUE = Name(RDF, "type"), Name(RDF, "value")
_KINDS: Final[dict[str, Literal["Bag", "Seq", "Alt"]]] = {
    f"{{{RDF}}}Bag": "Bag",
    f"{{{RDF}}}Seq": "Seq",
    f"{{{RDF}}}Alt": "Alt",
}
_DESCRIPTION: Final = f"{{{RDF}}}Description"
_LI: Final = f"{{{RDF}}}li"
_NUMBERED: Final = re.compile(re.escape(f"{{{RDF}}}") + r"_[1-9][0-9]*")  # rdf:_1, an old spelling of rdf:li
_XML: Final = f"{{{XML}}}"
_LANG: Final = f"{{{XML}}}lang"
_PARSE_TYPE: Final = f"{{{RDF}}}parseType"
_RESOURCE: Final = f"{{{RDF}}}resource"
_AS_RESOURCE: Final = [(_PARSE_TYPE, "Resource")]
_ABOUT: Final = frozenset((f"{{{RDF}}}about", "about"))  # early writers left the prefix out
# RDF's own bookkeeping, without meaning in XMP (part 1 annex C: a reader ignores it).
_IGNORED: Final = frozenset((f"{{{RDF}}}ID", f"{{{RDF}}}nodeID", f"{{{RDF}}}datatype", "ID"))
_NO_PROPERTY: Final = _ABOUT | _IGNORED | {_PARSE_TYPE, _RESOURCE}

Field = tuple[Name, Value]
# The library's own hints allow bytes too; from a parsed document it gives only text.
Attributes = list[tuple[str, str]]


def parse_packet(data: bytes) -> Packet:
    """
    Return the packet that ``data`` holds: a sidecar, or the bytes of an embedded packet.

    Takes UTF-8, UTF-16 and UTF-32 with or without a byte order mark; the packet wrapper, padding, NULs at the
    end, comments; ``x:xmpmeta`` or a bare ``rdf:RDF``. Comments are not kept.

    Raises:
        XmpError: it cannot be read, or would not be safe to read; the message says why.
    """
    check_size(data)
    text = decode_document(data)
    rdf = parse_rdf(text)
    abouts, fields = _read_descriptions(rdf)
    if len(abouts) > 1:
        raise XmpError(f"XMP describes two things, {shown(abouts[0])} and {shown(abouts[1])}, and should describe one")
    foreign = [(uri, prefix) for uri, prefix in declared_prefixes(text).items() if uri not in _KNOWN]
    return Packet(_without_repeats(fields), abouts[0] if abouts else "", tuple(sorted(foreign)))


def _read_descriptions(rdf: Element) -> tuple[list[str], list[Field]]:
    """Return what is described and all its properties. XMP part 1 §7.4: the descriptions are read as one."""
    abouts: dict[str, None] = {}
    fields: list[Field] = []
    spoken = next((e.get(_LANG) for e in (rdf, *rdf.iterancestors()) if e.get(_LANG) is not None), None)
    for node in rdf:
        if node.tag != _DESCRIPTION:
            raise XmpError(f"{_shown(node.tag)} stands directly in rdf:RDF, where XMP has rdf:Description")
        attributes: Attributes = node.items()  # type: ignore[assignment]
        abouts |= {about: None for key, about in attributes if key in _ABOUT and about}
        said = _read_node_fields(node, attributes, 1)
        language = node.get(_LANG, spoken)
        fields += [(named, _inherit(value, language)) for named, value in said] if language else said
    return list(abouts), fields


def _inherit(value: Value, language: str) -> Value:
    """
    Give a property the language of what stands around it, unless it has its own.

    XML 1.0 §2.12, RDF/XML §2.7: xml:lang holds for all that is inside. It is kept on the property.
    """
    if isinstance(value, Uri) or value.language is not None:
        return value
    return _changed(value, language, value.qualifiers)


# ---- nodes and properties


def _read_node_fields(node: Element, attributes: Attributes, depth: int) -> list[Field]:
    """Read the fields of a node element: its property attributes, then its property elements (§7.2.11)."""
    fields = _read_property_attributes(attributes) if attributes else []
    for child in node:
        fields.append((_name_of(child.tag), _read_property(child, depth)))
        tail = child.tail
        if tail is not None and not tail.isspace():
            _refuse_words(node, "between its properties")
    return fields if _is_blank(node.text) else _refuse_words(node, "between its properties")


def _read_property_attributes(attributes: Attributes) -> list[Field]:
    """Read the attributes that are properties in short form (XMP part 1 §7.9.2.2)."""
    fields: list[Field] = []
    for key, text in attributes:
        if key not in _NO_PROPERTY and not key.startswith(_XML):
            named = _name_of(key)
            fields.append((named, Uri(text) if named == _TYPE else Text(text)))
    return fields


def _read_property(element: Element, depth: int) -> Value:
    """Read a property element (§7.2.14): its attributes and content say which form it is in."""
    attributes: Attributes = element.items()  # type: ignore[assignment]
    if not len(element):
        if not attributes:  # most are
            return Text(element.text or "")
        if len(attributes) == 1 and attributes[0][0] == _LANG:
            return Text(element.text or "", language=attributes[0][1])
    elif not attributes:
        return _read_single_node(element, depth)
    return _read_by_attributes(element, attributes, depth)


def _read_by_attributes(element: Element, attributes: Attributes, depth: int) -> Value:
    """Read a property element whose attributes say what it is; xml:lang qualifies whatever it holds."""
    parse_type = None if attributes == _AS_RESOURCE else element.get(_PARSE_TYPE)
    if attributes == _AS_RESOURCE or parse_type == "Resource":
        value = _as_value(_read_resource_fields(element, attributes, depth))
    elif parse_type is not None:
        # XMP part 1 §7.9.2.5 does not allow parseType="Literal", and knows no other.
        raise XmpError(f"{_shown(element.tag)} has rdf:parseType={shown(parse_type)}, which XMP does not allow")
    elif not len(element):
        value = _read_simple(element, attributes)
    else:
        if not _IGNORED.union((_LANG,)).issuperset(key for key, _ in attributes):
            raise XmpError(f"{_shown(element.tag)} has properties as attributes and a value inside")
        value = _read_single_node(element, depth)
    return _with_language(value, element.get(_LANG))


def _read_resource_fields(element: Element, attributes: Attributes, depth: int) -> list[Field]:
    """Read the content of parseType="Resource" (§7.2.18)."""
    if len(attributes) > 1 and not _IGNORED.union((_PARSE_TYPE, _LANG)).issuperset(key for key, _ in attributes):
        raise XmpError(f"{_shown(element.tag)} has both rdf:parseType and properties as attributes")
    if depth > MAX_DEPTH:
        raise XmpError(f"XMP is nested more than {MAX_DEPTH} deep")
    return _read_node_fields(element, [], depth + 1)


def _read_simple(element: Element, attributes: Attributes) -> Value:
    """Read an element without elements in it: a literal (§7.2.16) or an empty property element (§7.2.21)."""
    fields = _read_property_attributes(attributes)
    resource = element.get(_RESOURCE)
    if not fields and resource is None:
        return Text(element.text or "")
    if not _is_blank(element.text):
        raise XmpError(f"{_shown(element.tag)} has both text and properties as attributes")
    if resource is None:
        return _as_value(fields)
    if any(named == _VALUE for named, _ in fields):
        raise XmpError(f"{_shown(element.tag)} has both rdf:resource and rdf:value")
    return Uri(resource, qualifiers=_without_repeats(fields))


def _read_single_node(element: Element, depth: int) -> Value:
    """Read the one node inside a property element (§7.2.15): an array, a structure, a typed structure."""
    node = element[0]
    if len(element) != 1 or not _is_blank(element.text) or not _is_blank(node.tail):
        raise XmpError(f"{_shown(element.tag)} holds more than one value")
    if depth > MAX_DEPTH:
        raise XmpError(f"XMP is nested more than {MAX_DEPTH} deep")
    attributes: Attributes = node.items()  # type: ignore[assignment]
    kind = _KINDS.get(node.tag)
    if kind is not None:
        return _read_array(kind, node, attributes, depth + 1)
    fields = _read_node_fields(node, attributes, depth + 1)
    about = next((about for key, about in attributes if key in _ABOUT and about), "")
    if node.tag != _DESCRIPTION:
        fields.insert(0, (_TYPE, Uri("".join(_name_of(node.tag)))))
    if about and fields:
        raise XmpError(f"{_shown(element.tag)} describes another resource, {shown(about)}")
    return _with_language(Uri(about) if about else _as_value(fields), node.get(_LANG))


def _read_array(kind: Literal["Bag", "Seq", "Alt"], node: Element, attributes: Attributes, depth: int) -> Array:
    """Read the items of an array (XMP part 1 §7.7)."""
    if any(key not in _IGNORED and key not in _ABOUT and not key.startswith(_XML) for key, _ in attributes):
        raise XmpError(f"an rdf:{kind} has properties as attributes")
    items: list[Value] = []
    for item in node:
        tag, tail = item.tag, item.tail
        if tag != _LI and _NUMBERED.fullmatch(tag) is None:
            raise XmpError(f"an rdf:{kind} holds {_shown(tag)}, where XMP has rdf:li")
        if tail is not None and not tail.isspace():
            _refuse_words(node, "between its items")
        items.append(_read_property(item, depth))
    if not _is_blank(node.text):
        _refuse_words(node, "between its items")
    return Array(kind, tuple(items), language=node.get(_LANG) if attributes else None)


# ---- values


def _as_value(fields: list[Field]) -> Value:
    """Return the structure of these fields; an ``rdf:value`` among them is what the rest qualify."""
    values = [value for named, value in fields if named == _VALUE]
    if not values:
        return Struct(_without_repeats(fields))
    # XMP part 1 §7.8
    if len(values) > 1:
        raise XmpError("a qualified value has two rdf:value")
    others = _without_repeats([field for field in fields if field[0] != _VALUE])
    return _changed(values[0], values[0].language, (*values[0].qualifiers, *others))


def _without_repeats(fields: list[Field]) -> Pairs:
    """Leave out what is said twice alike; what is said twice differently stays, for its holder to refuse."""
    first = dict(fields)
    if len(first) == len(fields):
        return tuple(fields)
    first = dict(reversed(fields))
    told: set[Name] = set()
    kept: list[Field] = []
    for named, value in fields:
        if named not in told or first[named] != value:
            kept.append((named, value))
        told.add(named)
    return tuple(kept)


def _with_language(value: Value, language: str | None) -> Value:
    if language is None:
        return value
    if value.language not in (None, language):
        raise XmpError(f"one value is given two languages, {shown(language)} and {shown(str(value.language))}")
    return _changed(value, language, value.qualifiers)


def _changed(value: Value, language: str | None, qualifiers: Pairs) -> Value:
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
        raise XmpError(f"{shown(local)} has no namespace; every XMP property has one")
    if len(tag) > MAX_NAME:  # before it is kept; names that are not too long are checked by whoever holds them
        raise XmpError(f"{shown(tag)} is a name of more than {MAX_NAME:,} letters")
    return Name(uri, local)


def _shown(tag: str) -> str:
    """Return a tag for a person to read."""
    if RDF in tag or not tag.startswith("{"):
        return tag.replace(f"{{{RDF}}}", "rdf:")[:60]
    return spell(_name_of(tag))[:160]


def _is_blank(text: str | None) -> bool:
    return not text or text.isspace()


def _refuse_words(element: Element, where: str) -> NoReturn:
    words = next(text.strip() for text in (element.text, *(c.tail for c in element)) if not _is_blank(text) and text)
    raise XmpError(f"{_shown(element.tag)} holds text {shown(words)} {where}")
