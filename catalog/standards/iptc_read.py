"""
XMP values of IPTC properties into plain values, whatever form their writer gave them.

Nothing is refused here: what is no value of its type stays the text it is, and ``iptc_validate`` says why.
The shape of each type stands in docs/standards/iptc.md#plain-values. Qualifiers are no part of it.
"""

from __future__ import annotations

from typing import Final, TypeAlias

from catalog.errors import XmpError
from catalog.standards.iptc_simple import Simple, parse_simple
from catalog.standards.iptc_table import PROPERTIES, member_of, parts_of
from catalog.standards.xmp_names import Name, name, spell
from catalog.standards.xmp_values import Array, Struct, Text, Uri, Value

__all__ = ["Shape", "member_id", "read_property"]

Shape: TypeAlias = "Simple | tuple[Shape, ...] | dict[str, Shape]"

# The 2023.2 reference image has this member of Location in the namespace of IPTC; the standard in that of Exif.
_ALSO: Final = {name("Iptc4xmpExt:GPSAltitudeRef"): "exif:GPSAltitudeRef"}


def read_property(xmp_id: str, value: Value) -> Shape:
    """
    Return a property's value as plain values, in the shape that ``write_property`` takes.

    Bag, Seq and Alt are read alike, and a lone value is an array of one; a URI may be text and text a URI.
    A member that the standard does not have keeps the name it was found under.

    Raises:
        XmpError: there is no such property.
    """
    row = PROPERTIES.get(xmp_id)
    if row is None:
        raise XmpError(f"{xmp_id!r} is no property of the IPTC standard")
    return _read(row.name, row.value_type, value)


def member_id(struct: str, named: Name, value: Struct) -> str:
    """Return the standard's id for a field of a structure: its own, unless it has one under another name."""
    also = _ALSO.get(named)
    if also and member_of(struct, also) and value.get(name(also)) is None:
        return also
    return spell(named)


def _read(named: Name, value_type: str, value: Value) -> Shape:
    outer, inner = parts_of(value_type)
    if outer in ("Bag", "Seq"):
        items = value.items if isinstance(value, Array) else (value,)
        return tuple(_read(named, inner, item) for item in items)
    if outer == "LangAlt":
        return _read_languages(value)
    if isinstance(value, Array):  # one value is expected
        return _read_only(named, value_type, value)
    if isinstance(value, Struct):
        return _read_struct(inner, value) if outer == "Struct" else _as_it_is(value)
    plain = parse_simple(outer, named, value.value)
    return value.value if plain is None else plain


def _read_only(named: Name, value_type: str, value: Array) -> Shape:
    """Read an array where one value belongs: its only one, or all when they differ."""
    plain = [_read(named, value_type, item) for item in value.items]
    if plain and all(item == plain[0] for item in plain):
        return plain[0]
    return _as_it_is(value)


def _read_struct(struct: str, value: Struct) -> dict[str, Shape]:
    plain: dict[str, Shape] = {}
    for named, field in value.fields:
        xmp_id = member_id(struct, named, value)
        row = member_of(struct, xmp_id)
        plain[xmp_id] = _read(row.name, row.value_type, field) if row else _as_it_is(field)
    return plain


def _read_languages(value: Value) -> Shape:
    """Return texts by language, the default first; what has no language is taken for the default."""
    if isinstance(value, Text | Uri):
        return {_tongue(value): value.value}
    if isinstance(value, Struct) or not all(isinstance(item, Text | Uri) for item in value.items):
        return _as_it_is(value)
    said = sorted(
        ((_tongue(item), item.value) for item in value.items if isinstance(item, Text | Uri)),
        key=lambda pair: pair[0] != "x-default",
    )
    texts: dict[str, Shape] = {}
    for tongue, words in said:
        texts.setdefault(tongue, words)
    # The default under no language is a repetition that says nothing; ``iptc_write`` puts it there for exempi.
    if len(texts) == 3 and "x-default" in texts and texts.get("und") == texts["x-default"]:
        del texts["und"]
    return texts


def _tongue(value: Text | Uri) -> str:
    tongue = value.language or "x-default"
    return "x-default" if tongue.lower() == "x-default" else tongue


def _as_it_is(value: Value) -> Shape:
    """Return a value by its own form: of what has no row, or not the form of its row."""
    if isinstance(value, Text | Uri):
        return value.value
    if isinstance(value, Struct):
        return {spell(named): _as_it_is(field) for named, field in value.fields}
    return _read_languages(value) if value.items and value.is_lang_alt else tuple(map(_as_it_is, value.items))
