"""
How a value keeps to the IPTC standard, as a list of findings. Nothing is changed and nothing refused here.

A ``fault`` breaks the standard, a ``warning`` may surprise a reader, a ``note`` is a form that the standard's own
reference images have too, and that is read alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from catalog.errors import XmpError
from catalog.standards.iptc_read import member_id
from catalog.standards.iptc_simple import fault_in_uri, has_scheme, is_language, parse_simple, takes
from catalog.standards.iptc_table import ANY, MEMBERS, PROPERTIES, Member, Property, limits_of, member_of, parts_of
from catalog.standards.iptc_vocabularies import fault_in_choice, unknown_choice
from catalog.standards.xmp_names import name, spell
from catalog.standards.xmp_values import Array, Struct, Text, Uri, Value

__all__ = ["Finding", "findings_of", "validate"]

Level = Literal["fault", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to say about a value, and where in it: ``Iptc4xmpExt:LocationShown[2]/exif:GPSLatitude``."""

    path: str
    level: Level
    words: str

    def __str__(self) -> str:
        return f"{self.path}: {self.words}"


def validate(xmp_id: str, value: Value) -> tuple[Finding, ...]:
    """
    Return what there is to say of a property's value: type, number, choices, languages, limits of IIM.

    Raises:
        XmpError: there is no such property.
    """
    row = PROPERTIES.get(xmp_id)
    if row is None:
        raise XmpError(f"{xmp_id!r} is no property of the IPTC standard")
    return tuple(findings_of(row, value))


def findings_of(row: Property | Member, value: Value) -> Iterator[Finding]:
    """Yield the findings of a value of that row."""
    yield from _check(row, row.value_type, value, row.xmp_id)


# reference image 2023.2 against PMD 2025.1: forms that are met and read alike (docs/standards/iptc.md).
_ALSO_ARRAYS: Final = {"plus:Licensor": "Seq"}
_ALSO_ALONE: Final = frozenset(("Iptc4xmpExt:ProductId",))


def _check(row: Property | Member, value_type: str, value: Value, path: str) -> Iterator[Finding]:
    outer, inner = parts_of(value_type)
    if outer in ("Bag", "Seq"):
        yield from _check_array(row, outer, inner, value, path)
    elif outer == "LangAlt":
        yield from _check_languages(row, value, path)
    elif outer == "Struct":
        yield from _check_struct(inner, value, path)
    elif isinstance(value, Text | Uri):
        yield from _check_simple(row, outer, value, path)
    else:
        yield Finding(path, "fault", f"is {_form(value)}; it takes {takes(outer)}")


def _form(value: Value) -> str:
    if isinstance(value, Array):
        return "a language alternative" if value.items and value.is_lang_alt else f"an array ({value.kind})"
    return "a structure" if isinstance(value, Struct) else "one text"


def _check_array(row: Property | Member, kind: str, inner: str, value: Value, path: str) -> Iterator[Finding]:
    if not isinstance(value, Array):
        level: Level = "note" if row.xmp_id in _ALSO_ALONE else "fault"
        yield Finding(path, level, f"is {_form(value)}, where the standard has an array ({kind}); read as one of it")
        yield from _check(row, inner, value, path)
        return
    if value.kind != kind:
        level = "note" if _ALSO_ARRAYS.get(row.xmp_id) == value.kind else "fault"
        yield Finding(path, level, f"is an array of the kind {value.kind}; the standard has {kind}")
    least, most = limits_of(row.cardinality)
    if len(value.items) < least or (most is not None and len(value.items) > most):
        yield Finding(path, "fault", f"has {len(value.items)} values; the standard allows {row.cardinality}")
    for place, item in enumerate(value.items, start=1):
        yield from _check(row, inner, item, f"{path}[{place}]")


def _check_struct(struct: str, value: Value, path: str) -> Iterator[Finding]:
    if not isinstance(value, Struct):
        yield Finding(path, "fault", f"is {_form(value)}; it takes a structure {struct}")
        return
    found = set()
    for named, field in value.fields:
        xmp_id = member_id(struct, named, value)
        found.add(xmp_id)
        row = member_of(struct, xmp_id)
        inside = f"{path}/{spell(named)}"
        if spell(named) != xmp_id:
            yield Finding(inside, "note", f"the standard calls it {xmp_id}; read as that")
        if row is None:
            yield Finding(inside, "note", f"is no member of {struct} in the standard; it is kept")
        else:
            yield from _check(row, row.value_type, field, inside)
    for xmp_id, member in MEMBERS[struct].items():
        if limits_of(member.cardinality)[0] and xmp_id not in found and xmp_id != ANY:
            yield Finding(path, "fault", f"lacks {xmp_id}, which every {struct} has")
    if struct == "RegionBoundary":
        yield from _check_boundary(value, path)


def _check_simple(row: Property | Member, kind: str, value: Text | Uri, path: str) -> Iterator[Finding]:
    if kind == "URI":
        yield from _check_uri(value, path)
    elif isinstance(value, Uri):
        yield Finding(path, "note", "is written as rdf:resource, where the standard has text; read alike")
    if parse_simple(kind, row.name, value.value) is None:
        yield Finding(path, "fault", f"{value.value[:80]!r} is not {takes(kind)}")
        return
    allowed = fault_in_choice(row.xmp_id, value.value)
    if allowed:
        yield Finding(path, "fault", f"{value.value[:80]!r} is not {allowed}")
    wanted = unknown_choice(row.xmp_id, value.value)
    if wanted:
        yield Finding(path, "warning", f"{value.value[:80]!r} is not {wanted}")
    if kind != "Date":  # IIM has dates in a form of its own, never longer than its limit
        yield from _check_octets(row, value.value, path)


def _check_uri(value: Text | Uri, path: str) -> Iterator[Finding]:
    if isinstance(value, Text):
        yield Finding(path, "note", "is written as text, where XMP has rdf:resource; read alike")
    fault = fault_in_uri(value.value)
    if fault:
        yield Finding(path, "fault", f"{value.value[:80]!r} is no URI: {fault}")
    elif not has_scheme(value.value):
        yield Finding(path, "warning", f"{value.value[:80]!r} does not say what kind of URI it is, such as https:")


def _check_octets(row: Property | Member, text: str, path: str) -> Iterator[Finding]:
    """Octet limits are those of IIM, counted in UTF-8; XMP has none and its values are never cut."""
    most = row.iim_max_octets if isinstance(row, Property) else None
    octets = len(text.encode("utf-8", "surrogatepass"))
    if most is not None and isinstance(row, Property) and octets > most:
        words = f"is {octets} octets long; IIM {row.iim_dataset} holds {most} and its copy would be cut"
        yield Finding(path, "warning", f"{words}. Here it stays whole")


def _check_languages(row: Property | Member, value: Value, path: str) -> Iterator[Finding]:
    """Check a language alternative. Source: XMP part 1 §8.2.2.4."""
    if not isinstance(value, Array):
        yield Finding(path, "fault", f"is {_form(value)}, where the standard has a language alternative")
        return
    if value.kind != "Alt":
        yield Finding(path, "fault", f"is an array of the kind {value.kind}; a language alternative is an Alt")
    languages = [(item.language or "").lower() for item in value.items]
    for place, (item, language) in enumerate(zip(value.items, languages, strict=True), start=1):
        yield from _check_language(languages, place, item, language, f"{path}[{place}]")
    if "x-default" in languages[1:] and languages[0] != "x-default":
        yield Finding(path, "fault", "has x-default, but not as its first")
    place = languages.index("x-default") if "x-default" in languages else 0
    default = value.items[place] if languages else None
    if isinstance(default, Text):  # XMP part 3 §2.1.2: what IIM holds is the default
        yield from _check_octets(row, default.value, f"{path}[{place + 1}]")


def _check_language(languages: list[str], place: int, item: Value, language: str, path: str) -> Iterator[Finding]:
    if not isinstance(item, Text):
        yield Finding(path, "fault", f"is {'a URI' if isinstance(item, Uri) else _form(item)}; it takes one text")
    if not language:
        yield Finding(path, "fault", "has no language; read as x-default")
    elif not is_language(language):
        yield Finding(path, "fault", f"{item.language!r} is no language")
    elif language in languages[: place - 1]:
        yield Finding(path, "fault", f"the language {item.language!r} was there before; each stands once")


# PMD 2025.1 §12.7: what each shape is made of.
_NEEDS: Final = {
    "rectangle": ("rbX", "rbY", "rbW", "rbH"),
    "circle": ("rbX", "rbY", "rbRx"),
    "polygon": ("rbVertices",),
}


def _check_boundary(value: Struct, path: str) -> Iterator[Finding]:
    said = {spell(named).removeprefix("Iptc4xmpExt:"): field for named, field in value.fields}
    shape, unit = said.get("rbShape"), said.get("rbUnit")
    drawn = shape.value if isinstance(shape, Text) else ""
    needs = _NEEDS.get(drawn, ())
    for need in needs:
        if need not in said:
            yield Finding(path, "fault", f"is a {drawn} without Iptc4xmpExt:{need}")
    vertices = said.get("rbVertices")
    if "rbVertices" in needs and isinstance(vertices, Array) and len(vertices.items) < 3:
        yield Finding(path, "warning", f"is a polygon of {len(vertices.items)} points; three enclose something")
    if isinstance(unit, Text) and unit.value == "relative":
        yield from _check_relative(said, path)


def _check_relative(said: dict[str, Value], path: str) -> Iterator[Finding]:
    """Relative measures are parts of the picture's width or height: from 0 to 1."""
    measures = [(f"{path}/Iptc4xmpExt:{key}", said.get(key)) for key in ("rbX", "rbY", "rbW", "rbH", "rbRx")]
    vertices = said.get("rbVertices")
    for place, point in enumerate(vertices.items if isinstance(vertices, Array) else (), start=1):
        if isinstance(point, Struct):
            measures += [
                (f"{path}/Iptc4xmpExt:rbVertices[{place}]/Iptc4xmpExt:{key}", point.get(name(f"Iptc4xmpExt:{key}")))
                for key in ("rbX", "rbY")
            ]
    for where, measure in measures:
        number = parse_simple("Real", name("Iptc4xmpExt:rbX"), measure.value) if isinstance(measure, Text) else None
        if isinstance(number, Decimal) and not 0 <= number <= 1:
            yield Finding(where, "warning", f"{number} is outside the picture: relative measures go from 0 to 1")
