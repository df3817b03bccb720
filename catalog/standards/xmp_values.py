"""
XMP values as plain values: text, a URI, a structure, an array; each may carry a language and qualifiers.

Source: XMP part 1 (April 2012) §6, the data model.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal, TypeAlias

from catalog.errors import XmpError
from catalog.standards.xmp_names import NCNAME, RDF, XML, Name, spell

__all__ = [
    "Array",
    "Packet",
    "Struct",
    "Text",
    "Uri",
    "Value",
    "bag",
    "clean_text",
    "lang_alt",
    "seq",
    "struct",
    "texts",
]

# RFC 3986 §2: what a URI is spelled with. A reader of XML may refuse a namespace that has anything else.
_URI = re.compile(r"[!#-;=?-\[\]_a-z~]+")
_XMLNS = "http://www.w3.org/2000/xmlns/"

Pairs: TypeAlias = "tuple[tuple[Name, Value], ...]"

# XML 1.0 [2]: these characters cannot stand in a document, not even as a reference.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_SEPARATORS = frozenset("\x0b\x0c\x1c\x1d\x1e")  # soft return, new page; file, group and record separator


def clean_text(words: str) -> str:
    """
    Return ``words`` as XML can hold them.

    The old databases' separators (vertical tab, form feed, FS, GS, RS) become line breaks; any other
    forbidden character is named where it stood, so that nothing vanishes and nothing fails.

    >>> clean_text("moved\\x0bto new site")
    'moved\\nto new site'
    >>> clean_text("bell\\x07")
    'bell[U+0007]'
    """
    if _FORBIDDEN.search(words) is None:
        return words
    return _FORBIDDEN.sub(lambda m: "\n" if m[0] in _SEPARATORS else f"[U+{ord(m[0]):04X}]", words)


def _check_names(pairs: Pairs, within: str) -> None:
    """Raise ``XmpError`` when a name cannot be written, is reserved, or stands twice."""
    for named, _ in pairs:
        fault = _fault_of(named)
        if fault:
            raise XmpError(fault)
    if len(pairs) > 1 and len(dict(pairs)) < len(pairs):
        seen: set[Name] = set()
        twice = next(named for named, _ in pairs if named in seen or seen.add(named))  # type: ignore[func-returns-value]
        raise XmpError(f"{spell(twice)} stands twice in {within} with different values")


@lru_cache(maxsize=4096)  # a packet has few names and uses them often
def _fault_of(named: Name) -> str:
    if NCNAME.fullmatch(named.local) is None or _URI.fullmatch(named.uri) is None:
        return f"{spell(named)!r} is no name that XML can hold"
    if named.uri in (XML, _XMLNS) or (named.uri == RDF and named.local != "type"):
        # XMP part 1 §6.2: XMP names are not in the rdf: or xml: namespaces. rdf:type is left in as the
        # form that a typed node takes once it is read (RDF/XML §2.13).
        return f"{spell(named)} is not the name of an XMP property or field"
    return ""


@dataclass(frozen=True, slots=True)
class _Qualified:
    """What every value may carry: its language (xml:lang, as written) and other qualifiers."""

    language: str | None = field(default=None, kw_only=True)
    qualifiers: Pairs = field(default=(), kw_only=True)

    def _check(self) -> None:
        if self.qualifiers:
            _check_names(self.qualifiers, "the qualifiers of one value")
        if self.language is not None and _FORBIDDEN.search(self.language):
            object.__setattr__(self, "language", clean_text(self.language))


@dataclass(frozen=True, slots=True)
class Text(_Qualified):
    """A simple value. Characters that XML forbids are replaced as ``clean_text`` says."""

    value: str

    def __post_init__(self) -> None:
        if _FORBIDDEN.search(self.value):
            object.__setattr__(self, "value", clean_text(self.value))
        if self.qualifiers or self.language is not None:
            self._check()


@dataclass(frozen=True, slots=True)
class Uri(_Qualified):
    """A simple value that is a URI and is written as ``rdf:resource`` (XMP part 1 §7.5)."""

    value: str

    def __post_init__(self) -> None:
        if _FORBIDDEN.search(self.value):
            object.__setattr__(self, "value", clean_text(self.value))
        if self.qualifiers or self.language is not None:
            self._check()


@dataclass(frozen=True, slots=True)
class Struct(_Qualified):
    """A structure: named fields, in the order they were written."""

    fields: Pairs = ()

    def __post_init__(self) -> None:
        _check_names(self.fields, "one structure")
        self._check()

    def get(self, named: Name) -> Value | None:
        """Return the field of that name, or ``None``."""
        return next((value for other, value in self.fields if other == named), None)


@dataclass(frozen=True, slots=True)
class Array(_Qualified):
    """An array: ``Bag`` without order, ``Seq`` with order, ``Alt`` to choose one of."""

    kind: Literal["Bag", "Seq", "Alt"]
    items: tuple[Value, ...] = ()

    def __post_init__(self) -> None:
        self._check()

    @property
    def is_lang_alt(self) -> bool:
        """True when this is a language alternative: an ``Alt`` of texts, each with its language."""
        return self.kind == "Alt" and all(isinstance(i, Text) and i.language is not None for i in self.items)


Value: TypeAlias = "Text | Uri | Struct | Array"


@dataclass(frozen=True, slots=True)
class Packet:
    """
    All properties of one resource.

    The order of properties means nothing in XMP, so they are kept sorted by name and two packets that
    say the same are equal. ``prefixes`` remembers (URI, prefix) as a file spelled them; it only saves
    a foreign namespace from a new prefix and takes no part in comparison.
    """

    properties: Pairs = ()
    about: str = ""
    prefixes: tuple[tuple[str, str], ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        _check_names(self.properties, "one packet")
        object.__setattr__(self, "properties", tuple(sorted(self.properties, key=lambda pair: pair[0])))
        object.__setattr__(self, "about", clean_text(self.about))

    def __iter__(self) -> Iterator[tuple[Name, Value]]:
        return iter(self.properties)

    def get(self, named: Name) -> Value | None:
        """Return the value of one property, or ``None`` when the packet has none."""
        return next((value for other, value in self.properties if other == named), None)

    def with_properties(self, properties: Mapping[Name, Value]) -> Packet:
        """Return this packet with exactly these properties."""
        return replace(self, properties=tuple(properties.items()))


def lang_alt(words: str, language: str | None = None) -> Array:
    """
    Return ``words`` as a language alternative.

    XMP part 1 §8.2.2.4: the default comes first as ``x-default`` and stands again under its own language,
    when that is known.
    """
    items = [Text(words, language="x-default")]
    if language:
        items.append(Text(words, language=language))
    return Array("Alt", tuple(items))


def bag(items: Iterable[str | Value]) -> Array:
    """Return an array without order."""
    return Array("Bag", tuple(Text(item) if isinstance(item, str) else item for item in items))


def seq(items: Iterable[str | Value]) -> Array:
    """Return an array in order."""
    return Array("Seq", tuple(Text(item) if isinstance(item, str) else item for item in items))


def struct(fields: Mapping[Name, str | Value | None]) -> Struct:
    """Return a structure of the fields that have a value; ``None`` and empty text are left out."""
    said = ((named, value) for named, value in fields.items() if value)
    return Struct(tuple((named, Text(value) if isinstance(value, str) else value) for named, value in said))


def texts(value: Value | None) -> tuple[str, ...]:
    """Return the texts a value holds: one of a simple value, several of an array, none of a structure."""
    if isinstance(value, Text | Uri):
        return (value.value,)
    if isinstance(value, Array):
        return tuple(text for item in value.items for text in texts(item))
    return ()
