"""
XMP values as plain values: text, a URI, a structure, an array; each may carry a language and qualifiers.

Source: XMP part 1 (April 2012) §6, the data model.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from operator import itemgetter
from typing import Final, Literal, TypeAlias

from catalog.errors import XmpError
from catalog.standards.xmp_names import NCNAME, RDF, XML, Name, shown, spell

__all__ = [
    "Array",
    "Packet",
    "Pairs",
    "Qualified",
    "Simple",
    "Struct",
    "Text",
    "Uri",
    "Value",
    "bag",
    "check_name",
    "check_names",
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


# Names that were looked at and found good. It is emptied when strangers have filled it: memory stays bounded.
_GOOD: set[Name] = set()
_MOST_GOOD: Final = 4096
MAX_NAME: Final = 1_000  # letters of a namespace and a local name together


def check_names(pairs: Pairs, within: str) -> None:
    """
    Check that every name can be written, is none that XML or RDF keep for themselves, and stands once.

    Raises:
        XmpError: one does not; ``within`` says in what it stands.
    """
    named = dict(pairs)
    if len(named) == len(pairs) and _GOOD.issuperset(named):
        return
    for one in named:
        check_name(one)
    if len(_GOOD) + len(named) > _MOST_GOOD:
        _GOOD.clear()
    _GOOD.update(islice(named, _MOST_GOOD))
    if len(named) < len(pairs):
        seen: set[Name] = set()
        for one, _ in pairs:
            if one in seen:
                raise XmpError(f"{spell(one)} stands twice in {within} with different values")
            seen.add(one)


def check_name(named: Name) -> None:
    """
    Check one name.

    Raises:
        XmpError: XML cannot hold it, or it is no name for a property, a field or a qualifier.
    """
    if len(named.uri) + len(named.local) > MAX_NAME:
        raise XmpError(f"{shown(spell(named))} is a name of more than {MAX_NAME:,} letters")
    if NCNAME.fullmatch(named.local) is None or _URI.fullmatch(named.uri) is None:
        raise XmpError(f"{shown(spell(named))} is no name that XML can hold")
    if named.uri in (XML, _XMLNS) or (named.uri == RDF and named.local != "type"):
        # XMP part 1 §6.2: XMP names are not in the rdf: or xml: namespaces. rdf:type is left in as the
        # form that a typed node takes once it is read (RDF/XML §2.13).
        raise XmpError(f"{spell(named)} is not the name of an XMP property or field")


# Values are built by the hundred for every sidecar, so their builders are written out: a generated one sets
# each member by name through ``object`` and takes twice as long. They look frozen from outside all the same.


@dataclass(frozen=True, slots=True, init=False)
class Qualified:
    """What every value may carry: its language (xml:lang, as written) and other qualifiers."""

    language: str | None = field(default=None, kw_only=True)
    qualifiers: Pairs = field(default=(), kw_only=True)

    def _qualify(self, language: str | None, qualifiers: Pairs) -> None:
        if qualifiers:
            check_names(qualifiers, "the qualifiers of one value")
        _set_language(self, language if language is None or language.isprintable() else clean_text(language))
        _set_qualifiers(self, qualifiers)


_set_language = Qualified.__dict__["language"].__set__
_set_qualifiers = Qualified.__dict__["qualifiers"].__set__


@dataclass(frozen=True, slots=True, init=False)
class Simple(Qualified):
    """A value without parts. Characters that XML forbids are replaced as ``clean_text`` says."""

    value: str

    def __init__(self, value: str, *, language: str | None = None, qualifiers: Pairs = ()) -> None:
        # Every forbidden character is one that cannot be printed, and nearly all text can be.
        _set_value(self, value if value.isprintable() else clean_text(value))
        if language is None and not qualifiers:
            _set_language(self, None)
            _set_qualifiers(self, ())
        else:
            self._qualify(language, qualifiers)


_set_value = Simple.__dict__["value"].__set__


@dataclass(frozen=True, slots=True, init=False)
class Text(Simple):
    """A simple value that is text."""


@dataclass(frozen=True, slots=True, init=False)
class Uri(Simple):
    """A simple value that is a URI and is written as ``rdf:resource`` (XMP part 1 §7.5)."""


@dataclass(frozen=True, slots=True, init=False)
class Struct(Qualified):
    """
    A structure: named fields, in the order they were written.

    Two that say the same in another order are equal: a field is found by its name, and there are programs that sort
    the fields whenever they save (measured: exiv2 0.28.9).
    """

    fields: Pairs = ()

    def __init__(self, fields: Pairs = (), *, language: str | None = None, qualifiers: Pairs = ()) -> None:
        check_names(fields, "one structure")
        _set_fields(self, fields)
        self._qualify(language, qualifiers)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Struct):
            return NotImplemented
        if self.language != other.language or self.qualifiers != other.qualifiers:
            return False
        mine, theirs = self.fields, other.fields
        return mine == theirs or (len(mine) == len(theirs) and dict(mine) == dict(theirs))

    def __hash__(self) -> int:
        return hash((frozenset(self.fields), self.language, self.qualifiers))

    def get(self, named: Name) -> Value | None:
        """Return the field of that name, or ``None``."""
        return next((value for other, value in self.fields if other == named), None)


_set_fields = Struct.__dict__["fields"].__set__


@dataclass(frozen=True, slots=True, init=False)
class Array(Qualified):
    """An array: ``Bag`` without order, ``Seq`` with order, ``Alt`` to choose one of."""

    kind: Literal["Bag", "Seq", "Alt"]
    items: tuple[Value, ...] = ()

    def __init__(
        self,
        kind: Literal["Bag", "Seq", "Alt"],
        items: tuple[Value, ...] = (),
        *,
        language: str | None = None,
        qualifiers: Pairs = (),
    ) -> None:
        _set_kind(self, kind)
        _set_items(self, items)
        self._qualify(language, qualifiers)

    @property
    def is_lang_alt(self) -> bool:
        """True when this is a language alternative: an ``Alt`` of texts, each with its language."""
        return self.kind == "Alt" and all(isinstance(i, Text) and i.language is not None for i in self.items)


_set_kind = Array.__dict__["kind"].__set__
_set_items = Array.__dict__["items"].__set__


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
        check_names(self.properties, "one packet")
        object.__setattr__(self, "properties", tuple(sorted(self.properties, key=itemgetter(0))))
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
    said = [(named, Text(value) if isinstance(value, str) else value) for named, value in fields.items() if value]
    return Struct(tuple(said))


def texts(value: Value | None) -> tuple[str, ...]:
    """Return the texts a value holds: one of a simple value, several of an array, none of a structure."""
    if isinstance(value, Simple):
        return (value.value,)
    if isinstance(value, Array):
        return tuple(text for item in value.items for text in texts(item))
    return ()


def shielded(items: tuple[Value, ...]) -> tuple[Value, ...]:
    """
    Keep a second language from readers that expect the default's repetition in its place.

    Of exactly two items, one of them the default, the common toolkit takes the second for the first repeated
    (exempi 2.6.3, measured). So the default is repeated under "und", the code for a language not determined.
    """
    match items:
        case (Text(language="x-default") as first, Text() as second) if first.value != second.value:
            return (first, Text(first.value, language="und"), second)
    return items
