"""
Plain values into the XMP form that the IPTC standard gives each property.

What a plain value looks like stands in docs/standards/iptc.md#plain-values; ``iptc_read`` gives the same back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Final, TypeAlias

from catalog.errors import XmpError
from catalog.standards.iptc_simple import format_simple, is_language
from catalog.standards.iptc_table import PROPERTIES, Member, Property, member_of, parts_of
from catalog.standards.iptc_validate import findings_of
from catalog.standards.xmp_names import Name, name, spell
from catalog.standards.xmp_values import Array, Struct, Text, Uri, Value, bag, lang_alt, seq, shielded

__all__ = ["Plain", "member_value", "property_value", "write_property"]

Plain: TypeAlias = "str | int | float | Decimal | Fraction | Iterable[Plain] | Mapping[str, Plain] | None"

_DEFAULT: Final = "x-default"


def write_property(xmp_id: str, plain: Plain, *, language: str | None = None) -> Value:
    """
    Return a property's value in the form its row gives it.

    Nothing is cut: the octet limits of IIM are no limits of XMP. A date gets no zone it does not have.

    Raises:
        XmpError: there is no such property; nothing to write; ``plain`` is no value of its type, has too many
            values or too few, or is none of the choices the standard gives.
    """
    if xmp_id not in PROPERTIES:
        raise XmpError(f"{xmp_id!r} is no property of the IPTC standard")
    value = property_value(xmp_id, plain, language=language)
    if value is None:
        raise XmpError(f"{xmp_id} has nothing to write; leave the property out instead")
    faults = [str(finding) for finding in findings_of(PROPERTIES[xmp_id], value) if finding.level == "fault"]
    if faults:
        more = f"; and {len(faults) - 3} more faults" if len(faults) > 3 else ""
        raise XmpError("; ".join(faults[:3]) + more)
    return value


def property_value(xmp_id: str, plain: Plain, *, language: str | None = None) -> Value | None:
    """
    Return a property's value in the form its row gives it, or ``None`` when there is nothing to say.

    Texts are ``str``, arrays any iterable, structures a mapping from members' ids to their values, a language
    alternative one ``str`` (in ``language``, when that is known) or a mapping from languages to texts. The
    types are looked at, how many values there are is not: ``write_property`` does that.

    Raises:
        XmpError: ``plain`` is no value of that type; a member is not one of its structure.
    """
    return _value(PROPERTIES[xmp_id], PROPERTIES[xmp_id].value_type, plain, language)


def member_value(struct: str, xmp_id: str, plain: Plain, *, language: str | None = None) -> Value | None:
    """Return the value of a structure's member, as ``property_value`` does for a property."""
    row = member_of(struct, xmp_id)
    if row is None:
        raise XmpError(f"{xmp_id} is no member of the structure {struct}")
    return _value(row, row.value_type, plain, language)


def _value(row: Property | Member, value_type: str, plain: Plain, language: str | None) -> Value | None:
    if plain is None or plain == "":
        return None
    outer, inner = parts_of(value_type)
    if outer in ("Bag", "Seq"):
        return _array(row, outer, inner, plain, language)
    if outer == "Struct":
        return _struct(row.name, inner, plain, language)
    if outer == "LangAlt":
        return _languages(row.name, plain, language)
    text = format_simple(outer, row.name, plain)
    # XMP part 1 §7.5: a URI is written as rdf:resource, any other simple value as text.
    return Uri(text) if outer == "URI" else Text(text)


def _array(row: Property | Member, kind: str, inner: str, plain: Plain, language: str | None) -> Array | None:
    if isinstance(plain, str | int | float | Decimal | Fraction | Mapping) or plain is None:
        raise XmpError(f"{row.xmp_id} holds several values; give them as a list")
    built = (_value(row, inner, item, language) for item in plain)
    items = [item for item in built if item is not None]
    if not items:
        return None
    return bag(items) if kind == "Bag" else seq(items)


def _struct(named: Name, struct: str, plain: Plain, language: str | None) -> Struct | None:
    if not isinstance(plain, Mapping):
        raise XmpError(f"{spell(named)} holds a structure; give its members by name")
    fields = []
    for xmp_id, one in plain.items():
        value = member_value(struct, xmp_id, one, language=language)
        if value is not None:
            fields.append((name(xmp_id), value))
    return Struct(tuple(fields)) if fields else None


def _languages(named: Name, plain: Plain, language: str | None) -> Array | None:
    if isinstance(plain, str | int):
        return lang_alt(str(plain), language)
    if not isinstance(plain, Mapping):
        raise XmpError(f"{spell(named)} holds one text, or one a language; not {type(plain).__name__}")
    said = {tongue: words for tongue, words in plain.items() if words not in (None, "")}
    for tongue, words in said.items():
        if not is_language(tongue) or not isinstance(words, str):
            raise XmpError(f"{spell(named)}: {tongue!r} is no language, or what it says no text")
    # XMP part 1 §8.2.2.4: x-default, when it is used, comes first. Languages compare without case.
    in_order = sorted(said.items(), key=lambda pair: pair[0].lower() != _DEFAULT)
    items = [Text(str(words), language=_language(tongue)) for tongue, words in in_order]
    return Array("Alt", shielded(tuple(items))) if items else None


def _language(tongue: str) -> str:
    return _DEFAULT if tongue.lower() == _DEFAULT else tongue
