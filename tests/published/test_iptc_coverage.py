"""
Every property of the IPTC standard and every member of its structures, written by us and read by three readers.

docs/standards/iptc-coverage.md is the result, made here: ``pytest --update-golden`` writes it anew.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.standards.iptc import MEMBERS, PROPERTIES, read_property, validate, write_property
from catalog.standards.xmp import Array, Packet, Text, Uri, format_packet, name, parse_packet
from tests.published.iptc_examples import example_of
from tests.published.iptc_readers import (
    Row,
    nodes_of,
    read_by_exempi,
    read_by_exiv2,
    read_by_us,
    written,
)
from tests.standards.xmp_oracles import exempi_leaves, exiv2_values, needs_exempi, our_leaves

PAGE = Path(__file__).parents[2] / "docs" / "standards" / "iptc-coverage.md"

# All that exiv2 may do otherwise, and why it is a limit of that reader: it has no type for a URI, and keeps
# the languages of an alternative in an order of its own, the default first. Values are the same in both.
EXIV2_LIMITS = {"URI read as text", "languages reordered"}


@pytest.mark.parametrize("xmp_id", PROPERTIES)
def test_a_property_with_all_its_members_comes_back_as_it_was_given(xmp_id):
    plain = example_of(xmp_id)

    value = write_property(xmp_id, plain)
    packet = parse_packet(written(xmp_id, value))

    assert packet.get(PROPERTIES[xmp_id].name) == value
    assert read_property(xmp_id, value) == plain
    assert [str(finding) for finding in validate(xmp_id, value)] == []
    assert set(read_by_us(written(xmp_id, value), nodes_of(xmp_id, value)).values()) == {"same"}


@needs_exempi
@pytest.mark.parametrize("xmp_id", PROPERTIES)
def test_exempi_reads_type_and_value_of_a_property_and_its_members(xmp_id):
    value = write_property(xmp_id, example_of(xmp_id))

    results = read_by_exempi(written(xmp_id, value), nodes_of(xmp_id, value))

    assert set(results.values()) == {"same"}


@pytest.mark.parametrize("xmp_id", PROPERTIES)
def test_exiv2_reads_type_and_value_of_a_property_and_its_members(xmp_id, tmp_path):
    value = write_property(xmp_id, example_of(xmp_id))

    results = read_by_exiv2(written(xmp_id, value), nodes_of(xmp_id, value), tmp_path)

    assert {part for result in results.values() for part in result.split(", ")} - {"same"} <= EXIV2_LIMITS


def test_the_examples_fill_every_row_of_the_standard():
    rows = {node.row for xmp_id in PROPERTIES for node in nodes_of(xmp_id, write_property(xmp_id, example_of(xmp_id)))}

    writable = {
        (struct, one.xmp_id) for struct, members in MEMBERS.items() for one in members.values() if one.is_writable
    }
    assert rows == {("", xmp_id) for xmp_id in PROPERTIES} | writable
    assert len(writable) == 98


@needs_exempi
def test_the_coverage_page_shows_what_each_reader_makes_of_each_row(pytestconfig, tmp_path):
    page = coverage_page(tmp_path)

    if pytestconfig.getoption("--update-golden"):
        PAGE.write_text(page, encoding="utf-8")
    assert PAGE.is_file(), "make the page with --update-golden"
    assert PAGE.read_text(encoding="utf-8") == page, "docs/standards/iptc-coverage.md is not true any more"


# ---- the page

HEAD = """\
# IPTC coverage, row by row

Made by `tests/published/test_iptc_coverage.py`, which also keeps it true; `pytest --update-golden` writes it anew.
Facts of the table: IPTC Photo Metadata Standard 2025.1, © International Press Telecommunications Council, CC BY 4.0.

Each property is filled with all its members, written to a sidecar alone, and read by Tiebeam, by exempi and by exiv2.
*same* means that the kind of every node (text, URI, structure, Bag, Seq, language alternative) and every value are as
written. A reader's own limit is named where it shows:

- *URI read as text*: exiv2 has no type for URIs; the value is the same.
- *languages reordered*: exiv2 keeps an alternative's languages in an order of its own; x-default stays first.
- Languages are compared without case (RFC 3066 §2.1): exempi and exiv2 write them in a case of their own.
- exempi takes the second of exactly two languages for a repetition of x-default and overwrites it. We write x-default
  once more as `und` between the two, and all readers have both.

{tally}
"""
ANY_WORDS = "not written: the row stands for any property of the standard, and those are written by their own rows"


def coverage_page(folder: Path) -> str:
    """Return the page: a table of the properties, and one of the members of each structure."""
    readers: list[dict[Row, set[str]]] = [{}, {}, {}]
    for xmp_id in PROPERTIES:
        value = write_property(xmp_id, example_of(xmp_id))
        nodes, data = nodes_of(xmp_id, value), written(xmp_id, value)
        found = (read_by_us(data, nodes), read_by_exempi(data, nodes), read_by_exiv2(data, nodes, folder))
        for reader, results in zip(readers, found, strict=True):
            for row, result in results.items():
                reader.setdefault(row, set()).update(result.split(", "))
    blocks = [HEAD.format(tally=_tally(readers))]
    for section in ("Core", "Extension"):
        rows = [row for row in PROPERTIES.values() if row.section == section]
        blocks.append(f"## IPTC {section}\n\n" + _table(rows, "", readers))
    blocks += [
        f"## Structure {struct}\n\n" + _table(list(rows.values()), struct, readers) for struct, rows in MEMBERS.items()
    ]
    return "\n".join(blocks)


def _table(rows: list, struct: str, readers: list[dict[Row, set[str]]]) -> str:
    lines = ["| section | name | id | type | Tiebeam | exempi | exiv2 |", "| --- | --- | --- | --- | --- | --- | --- |"]
    for row in rows:
        results = [_result(reader, (struct, row.xmp_id)) for reader in readers]
        if (struct, row.xmp_id) not in readers[0]:
            results = [ANY_WORDS, "", ""]
        value_type = f"`{row.value_type}`" if row.value_type else ""
        cells = (row.spec_section, row.title, f"`{row.xmp_id}`", value_type, *results)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _result(reader: dict[Row, set[str]], row: Row) -> str:
    parts = reader.get(row, set())
    return ", ".join(sorted(parts - {"same"})) or "same"


def _tally(readers: list[dict[Row, set[str]]]) -> str:
    names = ("Tiebeam", "exempi", "exiv2")
    properties = sum(not struct for struct, _ in readers[0])
    members = len(readers[0]) - properties
    counts = [
        f"{who} {sum(_result(reader, row) == 'same' for row in reader)} the same"
        + (
            f", {limited} with a limit above"
            if (limited := sum(_result(reader, row) != "same" for row in reader))
            else ""
        )
        for who, reader in zip(names, readers, strict=True)
    ]
    whole = f"{properties} properties and {members} members written."
    return f"{whole} Of these {properties + members} rows: {'; '.join(counts)}."


# ---- forms of arrays and language alternatives


@pytest.mark.parametrize("kind", ["Bag", "Seq", "Alt"])
@pytest.mark.parametrize("items", [("one",), ("Hill, East", 'a "mill"', "Hill, East"), (" spaced ", "ß")])
def test_every_form_of_array_is_read_by_all_and_by_us_as_plain_texts(kind, items, tmp_path):
    packet = Packet(((name("Iptc4xmpExt:PersonInImage"), Array(kind, tuple(Text(item) for item in items))),))
    data = format_packet(packet)
    path = tmp_path / "one.xmp"
    path.write_bytes(data)

    ((_, value),) = parse_packet(data)

    assert value == packet.properties[0][1]
    assert read_property("Iptc4xmpExt:PersonInImage", value) == items
    assert exiv2_values(path)["Xmp.iptcExt.PersonInImage"] == (f"Xmp{kind}", ", ".join(items))


@needs_exempi
@pytest.mark.parametrize("kind", ["Bag", "Seq", "Alt"])
def test_every_form_of_array_is_read_by_exempi(kind):
    packet = Packet(((name("Iptc4xmpExt:PersonInImage"), Array(kind, (Text("b"), Text("a"), Uri("urn:x:c")))),))

    assert exempi_leaves(format_packet(packet)) == our_leaves(packet)


LANGUAGES = (
    {"x-default": "Osk Mill"},
    {"x-default": "Osk Mill", "en": "Osk Mill"},
    {"x-default": "Osk Mill", "fr": "Moulin d’Osk"},
    {"x-default": "Osk Mill", "en-GB": "Osk Mill", "fr-CH": "Moulin d’Osk", "de": "Osker Mühle"},
    {"x-default": "Osk Mill", "fr": "Moulin d’Osk", "de": "Osker Mühle"},
    {"fr": "Moulin d’Osk"},
    {"fr": "Moulin d’Osk", "de": "Osker Mühle"},
    {"de-Latn-CH-1901": "Osker Mühle"},
)


@pytest.mark.parametrize("texts", LANGUAGES, ids=" ".join)
@pytest.mark.parametrize("xmp_id", ["dc:title", "Iptc4xmpCore:AltTextAccessibility", "plus:OtherConstraints"])
def test_every_form_of_language_alternative_is_read_by_exiv2_and_by_us(xmp_id, texts, tmp_path):
    value = write_property(xmp_id, texts)

    results = read_by_exiv2(written(xmp_id, value), nodes_of(xmp_id, value), tmp_path)

    assert read_property(xmp_id, parse_packet(written(xmp_id, value)).properties[0][1]) == texts
    assert results["", xmp_id] in ("same", "languages reordered")


@needs_exempi
@pytest.mark.parametrize("texts", LANGUAGES, ids=" ".join)
@pytest.mark.parametrize("xmp_id", ["dc:title", "Iptc4xmpCore:AltTextAccessibility", "plus:OtherConstraints"])
def test_every_form_of_language_alternative_is_read_by_exempi(xmp_id, texts):
    value = write_property(xmp_id, texts)

    assert read_by_exempi(written(xmp_id, value), nodes_of(xmp_id, value)) == {("", xmp_id): "same"}


@needs_exempi
def test_the_second_of_two_languages_would_be_lost_in_exempi_without_our_repetition():
    bare = Array("Alt", (Text("Osk Mill", language="x-default"), Text("Moulin d’Osk", language="fr")))
    title = ("http://purl.org/dc/elements/1.1/", "dc:title[2]")

    # exempi 2.6.3; the reason for the "und" in iptc_write. When it reads this right, that can go.
    assert exempi_leaves(format_packet(Packet(((name("dc:title"), bare),))))[title] == "Osk Mill"
