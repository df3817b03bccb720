"""
What our reader, exempi and exiv2 each make of an IPTC property as we write it, node by node of the standard's table.

Each node is compared by its kind (text, URI, structure, Bag, Seq, language alternative) and by its value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from catalog.standards.iptc import PROPERTIES
from catalog.standards.iptc_table import Member, Property, member_of, parts_of
from catalog.standards.xmp import Array, Packet, Struct, Text, Uri, Value, format_packet, parse_packet, spell
from tests.standards.xmp_oracles import exempi_forms, exempi_leaves, our_forms, our_leaves

Row = tuple[str, str]  # the structure, or nothing for a property; the id

# The prefixes that exiv2 0.28 has for namespaces of the standard.
EXIV2_PREFIXES = {"Iptc4xmpCore": "iptc", "Iptc4xmpExt": "iptcExt"}


@dataclass(frozen=True, slots=True)
class Node:
    """One value as it was written: the row it belongs to, where it is, and the type that the row gives it."""

    row: Row
    path: str
    value_type: str
    value: Value

    @property
    def form(self) -> str:
        outer, _ = parts_of(self.value_type)
        return {"LangAlt": "LangAlt", "Bag": "Bag", "Seq": "Seq", "Struct": "Struct", "URI": "Uri"}.get(outer, "Text")


def nodes_of(xmp_id: str, value: Value) -> list[Node]:
    """Return the nodes of a property's value, each with the row of the standard that it belongs to."""
    return list(_walk(PROPERTIES[xmp_id], "", PROPERTIES[xmp_id].value_type, value, xmp_id))


def _walk(row: Property | Member, struct: str, value_type: str, value: Value, path: str) -> Iterator[Node]:
    yield Node((struct, row.xmp_id), path, value_type, value)
    outer, inner = parts_of(value_type)
    if isinstance(value, Array):
        for place, item in enumerate(value.items, start=1):
            yield from _walk(row, struct, "Text" if outer == "LangAlt" else inner, item, f"{path}[{place}]")
    elif isinstance(value, Struct):
        for named, field in value.fields:
            member = member_of(inner, spell(named))
            assert member is not None
            within = inner if isinstance(member, Member) else ""  # a region's properties are rows of their own
            yield from _walk(member, within, member.value_type, field, f"{path}/{spell(named)}")


def written(xmp_id: str, value: Value) -> bytes:
    """Return a sidecar with that property alone."""
    return format_packet(Packet(((PROPERTIES[xmp_id].name, value),)))


def read_by_us(data: bytes, nodes: list[Node]) -> dict[Row, str]:
    """Return our reader's result for each row."""
    packet = parse_packet(data)
    return _by_leaves(nodes, our_forms(packet), {path: text for (_, path), text in our_leaves(packet).items()})


def read_by_exempi(data: bytes, nodes: list[Node]) -> dict[Row, str]:
    """Return exempi's result for each row."""
    return _by_leaves(nodes, exempi_forms(data), {path: text for (_, path), text in exempi_leaves(data).items()})


def _by_leaves(nodes: list[Node], forms: dict[str, str], leaves: dict[str, str]) -> dict[Row, str]:
    """Compare what a reader that shows every node found; a node nobody wrote is a fault of its own."""
    assert set(forms) == {node.path for node in nodes}
    results: dict[Row, str] = {}
    for node in nodes:
        faults = [] if forms[node.path] == node.form else [f"{node.form} read as {forms[node.path]}"]
        if isinstance(node.value, Text | Uri) and leaves[node.path] != node.value.value:
            faults.append("other value")
        # Languages compare without case (RFC 3066 §2.1); exempi and exiv2 write them in a case of their own.
        if (node.value.language or "").lower() != leaves.get(f"{node.path}/?xml:lang", "").lower():
            faults.append("other language")
        _add(results, node.row, faults)
    return results


def read_by_exiv2(data: bytes, nodes: list[Node], folder: Path) -> dict[Row, str]:
    """Return exiv2's result for each row. It shows an array of texts as one datum, structures field by field."""
    found = _exiv2_data(data, folder)
    expected: set[str] = set()
    results: dict[Row, str] = {}
    whole: tuple[str, ...] = ()
    for node in nodes:
        if whole and node.path.startswith(whole):
            continue  # an item of an array that was compared whole
        key = _exiv2_key(node.path)
        expected.add(key)
        _add(results, node.row, _exiv2_faults(node, *found[key]))
        if _is_flat(node):
            whole = (f"{node.path}[",)
    assert set(found) == expected
    return results


def _is_flat(node: Node) -> bool:
    return isinstance(node.value, Array) and all(isinstance(item, Text | Uri) for item in node.value.items)


def _exiv2_key(path: str) -> str:
    prefix, _, rest = path.partition(":")
    return f"Xmp.{EXIV2_PREFIXES.get(prefix, prefix)}.{rest}"


def _exiv2_data(data: bytes, folder: Path) -> dict[str, tuple[str, object]]:
    import exiv2

    path = folder / "one.xmp"
    path.write_bytes(data)
    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    return {datum.key(): (datum.typeName(), _exiv2_value(datum)) for datum in image.xmpData()}


def _exiv2_value(datum: object) -> object:
    value = datum.value()  # type: ignore[attr-defined]
    kind = datum.typeName()  # type: ignore[attr-defined]
    if kind == "LangAlt":
        return [(language.lower(), value[language]) for language in value]
    if kind in ("XmpBag", "XmpSeq", "XmpAlt"):
        return [value.toString(place) for place in range(value.count())]
    return str(value)


def _exiv2_faults(node: Node, kind: str, found: object) -> list[str]:
    value = node.value
    if isinstance(value, Text | Uri):
        faults = [] if (kind, found) == ("XmpText", value.value) else [f"{kind}: other value"]
        return faults + (["URI read as text"] if isinstance(value, Uri) else [])
    if node.form == "LangAlt" and isinstance(value, Array):
        said = [((item.language or "").lower(), item.value) for item in value.items if isinstance(item, Text)]
        if kind != "LangAlt" or not isinstance(found, list) or dict(found) != dict(said):
            return [f"{kind}: other value"]
        return [] if found == said else ["languages reordered"]
    if _is_flat(node) and isinstance(value, Array):
        same = (kind, found) == (
            f"Xmp{node.form}",
            [item.value for item in value.items if isinstance(item, Text | Uri)],
        )
        uris = any(isinstance(item, Uri) for item in value.items)
        return ([] if same else [f"{kind}: other value"]) + (["URI read as text"] if uris else [])
    return [] if (kind, found) == ("XmpText", f'type="{node.form}"') else [f"{kind}: other value"]


def _add(results: dict[Row, str], row: Row, faults: list[str]) -> None:
    """Note a node's faults under its row; a row is the same only where all its nodes are."""
    known = [fault for fault in results.get(row, "same").split(", ") if fault != "same"]
    known += [fault for fault in faults if fault not in known]
    results[row] = ", ".join(known) or "same"
