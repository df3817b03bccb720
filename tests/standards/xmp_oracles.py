"""Independent readers of XMP for the tests: exempi (the system library) and exiv2 (its own toolkit)."""

from __future__ import annotations

import ctypes.util
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from catalog.standards.xmp import NAMESPACES, Array, Packet, Struct, Text, Uri, Value
from catalog.standards.xmp_names import RDF

REFERENCE = Path(__file__).parents[3] / "shared" / "reference"
SAMPLES = REFERENCE / "samples"

HAS_EXEMPI = ctypes.util.find_library("exempi") is not None


def needs_exempi(test):
    """Mark a test that reads with exempi; where the library is not there it is skipped by name."""
    absent = pytest.mark.skipif(
        not HAS_EXEMPI, reason="the system library exempi is not installed (Debian: libexempi8)"
    )
    return pytest.mark.needs_exempi(absent(test))


needs_samples = pytest.mark.skipif(
    not SAMPLES.is_dir(), reason="the reference samples are not here (../shared/reference/samples)"
)


def _exempi_nodes(data: bytes) -> list[tuple[str, str, str, dict[str, bool]]]:
    from libxmp import XMPIterator, XMPMeta

    meta = XMPMeta()
    # The toolkit takes text, so the declaration of an encoding must go.
    meta.parse_from_str(re.sub(r"^<\?xml [^>]*\?>", "", data.decode("utf-8")))
    return [(schema, _given.sub(r"\1:", path), *rest) for schema, path, *rest in XMPIterator(meta) if path]


# exempi keeps every prefix it has met in this process: a second namespace of one prefix becomes "ns1_1_".
_given = re.compile(r"([A-Za-z][\w.-]*?)_\d+_:")


def exempi_leaves(data: bytes) -> dict[tuple[str, str], str]:
    """Return every leaf value as exempi sees it, by (schema URI, path)."""
    return {(schema, path): value for schema, path, value, options in _exempi_nodes(data) if _is_leaf(options)}


def _is_leaf(options: dict[str, bool]) -> bool:
    return not (options["VALUE_IS_ARRAY"] or options["VALUE_IS_STRUCT"])


def exempi_forms(data: bytes) -> dict[str, str]:
    """Return the form of each node as exempi sees it, by path: Text, Uri, Struct, Bag, Seq, Alt, LangAlt."""
    return {path: _form(options) for _, path, _, options in _exempi_nodes(data) if "?" not in path}


def _form(options: dict[str, bool]) -> str:
    rows = (
        ("ARRAY_IS_ALTTEXT", "LangAlt"),
        ("ARRAY_IS_ALT", "Alt"),
        ("ARRAY_IS_ORDERED", "Seq"),
        ("VALUE_IS_ARRAY", "Bag"),
        ("VALUE_IS_STRUCT", "Struct"),
        ("VALUE_IS_URI", "Uri"),
    )
    return next((form for option, form in rows if options[option]), "Text")


def our_nodes(packet: Packet) -> list[tuple[str, str, str, str]]:
    """Return (schema URI, path, form, text) of every node of a packet, with the paths exempi would use."""
    prefixes = {uri: prefix for prefix, uri in NAMESPACES.items()} | {RDF: "rdf"}
    prefixes = dict(packet.prefixes) | prefixes

    def walk(schema: str, path: str, value: Value) -> Iterator[tuple[str, str, str, str]]:
        form = "LangAlt" if isinstance(value, Array) and value.is_lang_alt and value.items else type(value).__name__
        form = value.kind if form == "Array" else form
        yield schema, path, form, value.value if isinstance(value, Text | Uri) else ""
        if value.language is not None:
            yield schema, f"{path}/?xml:lang", "Text", value.language
        for named, qualifier in value.qualifiers:
            yield from walk(schema, f"{path}/?{prefixes[named.uri]}:{named.local}", qualifier)
        if isinstance(value, Struct):
            for named, field in value.fields:
                yield from walk(schema, f"{path}/{prefixes[named.uri]}:{named.local}", field)
        elif isinstance(value, Array):
            for place, item in enumerate(value.items, start=1):
                yield from walk(schema, f"{path}[{place}]", item)

    return [node for named, value in packet for node in walk(named.uri, f"{prefixes[named.uri]}:{named.local}", value)]


def our_leaves(packet: Packet) -> dict[tuple[str, str], str]:
    """Return every leaf value of a packet as ``exempi_leaves`` spells it."""
    return {(schema, path): text for schema, path, form, text in our_nodes(packet) if form in ("Text", "Uri")}


def our_forms(packet: Packet) -> dict[str, str]:
    """Return the form of each node of a packet as ``exempi_forms`` spells it."""
    return {path: form for _, path, form, _ in our_nodes(packet) if "?" not in path}


def exiv2_values(path: Path) -> dict[str, tuple[str, str]]:
    """Return (type, value) of each datum exiv2 finds in a sidecar, by its key with the prefix exiv2 uses."""
    import exiv2

    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    return {datum.key(): (datum.typeName(), str(datum.value())) for datum in image.xmpData()}
