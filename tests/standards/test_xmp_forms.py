"""
The rarer forms a reader may meet, each under its clause; exempi is asked what it makes of the same bytes.

XMP part 1 (April 2012, the text of ISO 16684-1) unless said otherwise.
"""

from __future__ import annotations

import pytest

from catalog.errors import XmpError
from catalog.standards.xmp import (
    OLD_NAMES,
    Array,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
    find_said,
    format_packet,
    merge,
    name,
    parse_packet,
    spell,
    texts,
)
from catalog.standards.xmp_names import RDF, XML
from tests.standards.xmp_oracles import exempi_leaves, needs_exempi, our_leaves

# A namespace of this file alone: exempi keeps the first prefix it meets for as long as the process lives.
FORM = "http://example.org/forms/"


def form(local: str) -> Name:
    return Name(FORM, local)


def a_document(properties: str, *, node: str = 'rdf:about=""', rdf: str = "", root: str = "") -> str:
    return (
        f'<x:xmpmeta xmlns:x="adobe:ns:meta/" {root}><rdf:RDF xmlns:rdf="{RDF}" {rdf}>'
        f'<rdf:Description {node} xmlns:form="{FORM}">{properties}</rdf:Description></rdf:RDF></x:xmpmeta>'
    )


def mill_in(document: str | bytes) -> object:
    data = document.encode() if isinstance(document, str) else document
    return parse_packet(data).get(form("mill"))


BAYS, WHEEL = (form("bays"), Text("4")), (form("wheel"), Text("overshot"))
SURE = (form("sure"), Text("no"))

FORMS = [
    # §7.5 with RDF/XML §7.2.21: an empty property element
    pytest.param(
        '<form:mill rdf:resource="urn:a" form:sure="no"/>', Uri("urn:a", qualifiers=(SURE,)), id="uri-qualified"
    ),
    pytest.param('<form:mill rdf:resource="urn:a" xml:lang="en"/>', Uri("urn:a", language="en"), id="uri-language"),
    pytest.param('<form:mill rdf:value="Osk" xml:lang="en"/>', Text("Osk", language="en"), id="value-attribute"),
    pytest.param('<form:mill form:bays="4" xml:lang="en"/>', Struct((BAYS,), language="en"), id="fields-language"),
    # §7.6, structures within structures, by both spellings
    pytest.param(
        "<form:mill><rdf:Description><form:wing><rdf:Description><form:bays>4</form:bays></rdf:Description></form:wing>"
        "</rdf:Description></form:mill>",
        Struct(((form("wing"), Struct((BAYS,))),)),
        id="nested-descriptions",
    ),
    pytest.param(
        '<form:mill rdf:parseType="Resource"><form:wing rdf:parseType="Resource"><form:bays>4</form:bays></form:wing>'
        "</form:mill>",
        Struct(((form("wing"), Struct((BAYS,))),)),
        id="nested-resources",
    ),
    pytest.param(
        '<form:mill rdf:parseType="Resource">\n <form:empty/>\n <form:blank>  </form:blank>\n</form:mill>',
        Struct(((form("empty"), Text("")), (form("blank"), Text("  ")))),
        id="empty-and-blank-fields",
    ),
    # §7.7, items in every form a property may have
    pytest.param(
        '<form:mill><rdf:Bag><rdf:li form:bays="4" form:wheel="overshot"/><rdf:li rdf:resource="urn:a"/><rdf:li/>'
        '<rdf:li xml:lang="fr">moulin</rdf:li></rdf:Bag></form:mill>',
        Array("Bag", (Struct((BAYS, WHEEL)), Uri("urn:a"), Text(""), Text("moulin", language="fr"))),
        id="items-with-attributes",
    ),
    pytest.param(
        '<form:mill><rdf:Seq><rdf:li rdf:value="Osk" form:sure="no"/><rdf:li rdf:parseType="Resource">'
        "<rdf:value>Brome</rdf:value><form:sure>no</form:sure></rdf:li></rdf:Seq></form:mill>",
        Array("Seq", (Text("Osk", qualifiers=(SURE,)), Text("Brome", qualifiers=(SURE,)))),
        id="items-with-qualifiers",
    ),
    pytest.param(
        "<form:mill><rdf:Bag><rdf:li><rdf:Description><form:bays>4</form:bays></rdf:Description></rdf:li>"
        "<rdf:li><rdf:Seq><rdf:li>a</rdf:li></rdf:Seq></rdf:li></rdf:Bag></form:mill>",
        Array("Bag", (Struct((BAYS,)), Array("Seq", (Text("a"),)))),
        id="items-with-nodes",
    ),
    # §7.8, qualifiers of structures, of arrays, of qualifiers
    pytest.param(
        '<form:mill rdf:parseType="Resource"><rdf:value rdf:parseType="Resource"><form:bays>4</form:bays></rdf:value>'
        "<form:sure>no</form:sure></form:mill>",
        Struct((BAYS,), qualifiers=(SURE,)),
        id="structure-qualified",
    ),
    pytest.param(
        "<form:mill><rdf:Description><rdf:value><rdf:Bag><rdf:li>a</rdf:li></rdf:Bag></rdf:value>"
        "<form:sure>no</form:sure></rdf:Description></form:mill>",
        Array("Bag", (Text("a"),), qualifiers=(SURE,)),
        id="array-qualified",
    ),
    pytest.param(
        '<form:mill rdf:parseType="Resource"><rdf:value>Osk</rdf:value><form:by rdf:parseType="Resource">'
        "<rdf:value>map</rdf:value><form:sure>no</form:sure></form:by></form:mill>",
        Text("Osk", qualifiers=((form("by"), Text("map", qualifiers=(SURE,))),)),
        id="qualifier-qualified",
    ),
    # annex C: rdf:ID, rdf:nodeID and rdf:datatype are ignored
    pytest.param('<form:mill rdf:datatype="urn:t">Osk</form:mill>', Text("Osk"), id="datatype"),
    pytest.param(
        '<form:mill rdf:ID="m" rdf:parseType="Resource"><form:bays>4</form:bays></form:mill>', Struct((BAYS,)), id="id"
    ),
    # XML 1.0 §2.5 to §2.7: comments, instructions and CDATA sections do not part a text
    pytest.param(
        "<form:mill>Osk<!-- a --> <?b c?>Mill<![CDATA[ & Son]]></form:mill>", Text("Osk Mill & Son"), id="comments"
    ),
    # XML 1.0 §2.11: a line of another system ends in a line feed; §4.1: a reference stays what it is
    pytest.param("<form:mill>one\r\ntwo\rthree&#13;</form:mill>", Text("one\ntwo\nthree\r"), id="line-ends"),
    pytest.param("<form:mill>  \r\n \r\nOsk</form:mill>", Text("  \n \nOsk"), id="blank-lines-first"),
]


@pytest.mark.parametrize(("written", "meant"), FORMS)
def test_the_rarer_forms_are_read(written, meant):
    assert mill_in(a_document(written)) == meant


@pytest.mark.parametrize(("written", "meant"), FORMS)
def test_what_was_read_in_any_form_is_written_in_one(written, meant):
    data = format_packet(parse_packet(a_document(written).encode()))

    assert data == format_packet(Packet(((form("mill"), meant),), prefixes=((FORM, "form"),)))
    assert parse_packet(data).get(form("mill")) == meant


@needs_exempi
@pytest.mark.parametrize(("written", "meant"), FORMS)
def test_exempi_reads_the_rarer_forms_alike(written, meant):
    document = a_document(written).encode()

    assert exempi_leaves(document) == our_leaves(parse_packet(document))
    assert exempi_leaves(format_packet(parse_packet(document))) == our_leaves(parse_packet(document))


# §7.9.2.5 with RDF/XML §2.13: a typed node's type. exempi takes it for a qualifier; as a field it is kept as well.
def test_the_type_of_a_typed_node_is_kept():
    document = a_document("<form:mill><form:Mill form:bays='4'/></form:mill>")

    assert mill_in(document) == Struct(((Name(RDF, "type"), Uri(f"{FORM}Mill")), BAYS))


# ---- §7.4, what is described


@pytest.mark.parametrize("node", ["", 'rdf:about=""', 'about=""', 'rdf:ID="a"', 'ID="a"', 'rdf:nodeID="a"'])
def test_the_subject_may_be_missing_or_empty(node):
    assert parse_packet(a_document("<form:mill>Osk</form:mill>", node=node).encode()).about == ""


@pytest.mark.parametrize("node", ['rdf:about="uuid:a"', 'about="uuid:a"'])
def test_a_subject_is_kept(node):
    packet = parse_packet(a_document("<form:mill>Osk</form:mill>", node=node).encode())

    assert packet.about == "uuid:a"
    assert b'rdf:about="uuid:a"' in format_packet(packet)


def test_one_description_with_a_subject_and_one_without_speak_of_the_same():
    second = f'</rdf:Description><rdf:Description rdf:about="uuid:a" xmlns:form="{FORM}" form:bays="4">'

    packet = parse_packet(a_document(f"<form:mill>Osk</form:mill>{second}").encode())

    assert packet.about == "uuid:a"
    assert {named for named, _ in packet} == {form("mill"), form("bays")}


def test_descriptions_of_two_things_are_refused():
    second = '</rdf:Description><rdf:Description rdf:about="uuid:b">'

    with pytest.raises(XmpError, match="describes two things, 'uuid:a' and 'uuid:b'"):
        parse_packet(a_document(second, node='rdf:about="uuid:a"').encode())


# ---- xml:lang; XML 1.0 §2.12, RDF/XML §2.7: it holds for what is inside


@pytest.mark.parametrize(
    "where",
    [
        {"node": 'rdf:about="" xml:lang="en"'},
        {"rdf": 'xml:lang="en"'},
        {"root": 'xml:lang="en"'},
        {"root": 'xml:lang="de"', "node": 'xml:lang="en"'},
    ],
)
def test_a_language_given_outside_holds_for_the_properties_inside(where):
    document = a_document(
        '<form:mill>Osk</form:mill><form:fr xml:lang="fr">Moulin</form:fr><form:uri rdf:resource="urn:a"/>', **where
    )

    packet = parse_packet(document.encode())

    assert packet.get(form("mill")) == Text("Osk", language="en")
    assert packet.get(form("fr")) == Text("Moulin", language="fr")
    assert packet.get(form("uri")) == Uri("urn:a")
    assert parse_packet(format_packet(packet)) == packet


def test_an_empty_language_ends_the_one_outside():
    assert mill_in(a_document("<form:mill>Osk</form:mill>", root='xml:lang="en"', node='xml:lang=""')) == Text("Osk")


@pytest.mark.parametrize(
    "written",
    [
        '<form:mill xml:lang="fr"><rdf:Bag><rdf:li>a</rdf:li></rdf:Bag></form:mill>',
        '<form:mill><rdf:Bag xml:lang="fr"><rdf:li>a</rdf:li></rdf:Bag></form:mill>',
    ],
)
def test_the_language_of_an_array_is_kept_on_it(written):
    assert mill_in(a_document(written)) == Array("Bag", (Text("a"),), language="fr")


def test_two_languages_for_one_value_are_refused():
    written = '<form:mill xml:lang="en"><rdf:Description xml:lang="fr" form:bays="4"/></form:mill>'

    with pytest.raises(XmpError, match="given two languages, 'en' and 'fr'"):
        mill_in(a_document(written))


# ---- names: the URI counts; old names stay, and are found


def test_the_older_prefix_of_a_namespace_means_the_same():
    document = a_document(
        "<xap:Rating>3</xap:Rating><xapMM:DocumentID>d</xapMM:DocumentID><xapRights:Marked>True</xapRights:Marked>",
        node=f'rdf:about="" xmlns:xap="{name("xmp:a").uri}" xmlns:xapMM="{name("xmpMM:a").uri}" '
        f'xmlns:xapRights="{name("xmpRights:a").uri}"',
    )

    packet = parse_packet(document.encode())

    assert [spell(named) for named, _ in packet] == ["xmp:Rating", "xmpMM:DocumentID", "xmpRights:Marked"]
    assert b"<xmp:Rating>3</xmp:Rating>" in format_packet(packet)


def test_two_prefixes_of_one_namespace_are_one_namespace():
    document = a_document(f'<a:mill xmlns:a="{FORM}">Osk</a:mill><form:bays>4</form:bays>')

    assert format_packet(parse_packet(document.encode())).count(FORM.encode()) == 1


def test_one_prefix_of_two_namespaces_is_two_namespaces():
    document = a_document(f'<form:mill>Osk</form:mill><form:mill xmlns:form="{FORM}other/">Brome</form:mill>')

    packet = parse_packet(document.encode())

    assert {texts(value) for _, value in packet} == {("Osk",), ("Brome",)}
    assert parse_packet(format_packet(packet)) == packet


ROWS = [(today, old) for today, olds in OLD_NAMES.items() for old in olds]


@pytest.mark.parametrize(("today", "old"), ROWS, ids=lambda named: spell(named))
def test_what_stands_under_an_old_name_is_found_and_stays_there(today, old):
    packet = Packet(((old, Text("Ida Thornwick")),))

    assert find_said(packet, today) == (old, Text("Ida Thornwick"))
    assert parse_packet(format_packet(packet)).get(old) == Text("Ida Thornwick")
    assert merge(packet, {form("bays"): Text("4")}).get(old) == Text("Ida Thornwick")


def test_todays_name_goes_before_the_old_one():
    packet = Packet(((name("tiff:Artist"), Text("old")), (name("dc:creator"), Text("new"))))

    assert find_said(packet, name("dc:creator")) == (name("dc:creator"), Text("new"))
    assert find_said(packet, name("dc:source")) is None


@needs_exempi
@pytest.mark.parametrize(("today", "old"), ROWS, ids=lambda named: spell(named))
def test_exempi_knows_the_old_name_for_the_same(today, old):
    found = exempi_leaves(format_packet(Packet(((old, Array("Bag", (Text("Osk"),))),)))) or exempi_leaves(
        format_packet(Packet(((old, Text("Osk")),)))
    )

    schema, path = next(place for place, said in found.items() if said == "Osk")
    assert (schema, path.split(":")[1].split("[")[0]) == today


# ---- §7.3, wrapping and encoding


INSIDE = a_document("<form:mill>Église</form:mill>")
PACKED = f'<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n{INSIDE}\n<?xpacket end="w"?>'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("declared", ["", '<?xml version="1.0"?>', '<?xml version="1.0" encoding="UTF-8"?>'])
@pytest.mark.parametrize("tail", [b"", b"\0", b"\0\0\0"])
def test_every_unicode_encoding_is_read_with_its_mark_and_padding(encoding, mark, declared, tail):
    data = f"{mark}{declared}{PACKED}".encode(encoding) + tail

    assert mill_in(data) == Text("Église")


@pytest.mark.parametrize("root", ["x:xmpmeta", "x:xapmeta"])
def test_the_older_name_of_the_envelope_is_read(root):
    assert mill_in(INSIDE.replace("x:xmpmeta", root)) == Text("Église")


def test_other_rdf_outside_the_envelope_is_not_ours():
    other = f'<rdf:RDF xmlns:rdf="{RDF}"><rdf:Description rdf:about="urn:other"/></rdf:RDF>'

    assert mill_in(f"<svg>{other}<metadata>{INSIDE}</metadata></svg>") == Text("Église")


def test_instructions_of_other_programs_are_passed_over():
    odd = INSIDE.replace("<rdf:Description", '<?esc "CR"?><!-- a -- b --><rdf:Description'.replace(" -- b", ""))

    assert mill_in(f'<?filters esc="CR"?>{odd}<?end?>') == Text("Église")


# Encodings that say one thing and are another: read when it is sure, else refused with the place.
@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"\xff\xfe" + PACKED.encode(), "not utf-16-le text|not well-formed"),
        (b"\xfe\xff" + PACKED.encode("utf-16-le"), "not utf-16-be text|not well-formed"),
        (b'<?xml version="1.0" encoding="UTF-8"?>' + INSIDE.encode("latin-1"), "not utf-8 text at byte"),
        (b'<?xml version="1.0" encoding="UTF-7"?>' + INSIDE.encode("utf-7"), "encoding 'utf-7' is not read"),
        (b'<?xml version="1.0" encoding="hex"?>' + INSIDE.encode(), "encoding 'hex' is not read"),
        (PACKED.encode("utf-16-le")[:-1], "not utf-16-le text at byte"),
        (PACKED.encode("utf-8") + b"\xc3", "not utf-8 text at byte"),
        ("\ud800".encode("utf-16-le", "surrogatepass") + PACKED.encode("utf-16-le"), "."),
    ],
)
def test_an_encoding_that_lies_is_refused_with_the_reason(data, reason):
    with pytest.raises(XmpError, match=reason):
        parse_packet(data)


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbf" + b'<?xml version="1.0" encoding="ISO-8859-1"?>' + INSIDE.encode(),  # the mark is surer
        b'<?xml version="1.0" encoding="UTF-16"?>' + INSIDE.encode(),
        b'<?xml version="1.0" encoding="ucs-2"?>' + INSIDE.encode(),
        b"<?xml version='1.0' encoding='windows-1252'?>" + INSIDE.encode("cp1252"),
    ],
)
def test_an_encoding_that_is_sure_in_spite_of_what_is_declared_is_read(data):
    assert mill_in(data) == Text("Église")


# ---- what part 1 does not allow: refused, never guessed at


@pytest.mark.parametrize(
    ("properties", "reason"),
    [
        ('<form:mill rdf:parseType="Collection"><rdf:Description/></form:mill>', "parseType='Collection'"),
        ('<form:mill rdf:parseType="Resource" form:bays="4"/>', "both rdf:parseType and properties"),
        ('<form:mill rdf:parseType="Resource">Osk</form:mill>', "between its properties"),
        ('<form:mill form:a="b"><rdf:Bag/></form:mill>', "properties as attributes and a value inside"),
        ('<form:mill><rdf:Bag form:a="b"/></form:mill>', "rdf:Bag has properties as attributes"),
        ('<form:mill><rdf:Description rdf:about="urn:a" form:b="c"/></form:mill>', "describes another resource"),
        ("<form:mill rdf:bagID='x'/>", "not the name of an XMP property"),
        ("<form:mill rdf:aboutEachPrefix='x'/>", "not the name of an XMP property"),
        ("<rdf:li>Osk</rdf:li>", "not the name of an XMP property"),
        ("<form:mill plain='x'/>", "'plain' has no namespace"),
        ('<form:mill rdf:parseType="Resource"><rdf:value/><rdf:value>b</rdf:value></form:mill>', "two rdf:value"),
        ("<form:mill><rdf:Bag><rdf:_0>a</rdf:_0></rdf:Bag></form:mill>", "where XMP has rdf:li"),
        (f'<form:mill xmlns:a="{XML}/b c" a:b="x"/>', "no name that XML can hold|not well-formed"),
    ],
)
def test_what_part_1_does_not_allow_is_refused_with_the_reason(properties, reason):
    with pytest.raises(XmpError, match=reason):
        parse_packet(a_document(properties).encode())


def test_a_refusal_is_one_line_without_the_bytes_of_a_stranger():
    with pytest.raises(XmpError) as refused:
        parse_packet(a_document("x" * 1_000_000).encode())

    assert len(str(refused.value)) < 200
    assert "\n" not in str(refused.value)
