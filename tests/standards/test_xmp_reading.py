"""Every form of XMP that a reader may meet; and what is refused, with the reason."""

from __future__ import annotations

import time
import tracemalloc
from concurrent.futures import ThreadPoolExecutor

import pytest

from catalog.errors import XmpError
from catalog.standards.xmp import (
    Array,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
    format_packet,
    name,
    parse_packet,
    texts,
)
from catalog.standards.xmp_names import RDF

EX = "http://example.org/valley/"
THREE_LINES = [
    ("dc", "http://purl.org/dc/elements/1.1/"),
    ("xmp", "http://ns.adobe.com/xap/1.0/"),
    ("ex", EX),
]


def ex(local: str) -> Name:
    return Name(EX, local)


def a_packet(properties: str, attributes: str = 'rdf:about=""') -> bytes:
    return an_rdf(f"<rdf:Description {attributes}>{properties}</rdf:Description>")


def an_rdf(descriptions: str) -> bytes:
    declared = " ".join(f'xmlns:{prefix}="{uri}"' for prefix, uri in THREE_LINES)
    return f'<rdf:RDF xmlns:rdf="{RDF}" {declared}>{descriptions}</rdf:RDF>'.encode()


def value_of(properties: str) -> object:
    return parse_packet(a_packet(properties)).get(ex("mill"))


# ---- the forms; XMP part 1 (April 2012) §7.4 to §7.9, each in its own words


FIELDS = Struct(((ex("wheel"), Text("overshot")), (ex("bays"), Text("4"))))


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        # §7.5, simple values
        ("<ex:mill>Osk</ex:mill>", Text("Osk")),
        ("<ex:mill/>", Text("")),
        ("<ex:mill></ex:mill>", Text("")),
        ("<ex:mill> Osk </ex:mill>", Text(" Osk ")),
        ("<ex:mill><![CDATA[Osk & Son]]></ex:mill>", Text("Osk & Son")),
        ("<ex:mill>Osk<!-- old --> Mill</ex:mill>", Text("Osk Mill")),
        ("<ex:mill>one&#xA;two&#xD;three</ex:mill>", Text("one\ntwo\rthree")),
        ('<ex:mill rdf:resource="http://example.org/mill"/>', Uri("http://example.org/mill")),
        ('<ex:mill rdf:resource=""/>', Uri("")),
        # §7.6, structures; §7.9.2.3, parseType="Resource"; §7.9.2.4, fields as attributes
        (
            "<ex:mill><rdf:Description><ex:wheel>overshot</ex:wheel><ex:bays>4</ex:bays></rdf:Description></ex:mill>",
            FIELDS,
        ),
        (
            '<ex:mill rdf:parseType="Resource"><ex:wheel>overshot</ex:wheel><ex:bays>4</ex:bays></ex:mill>',
            FIELDS,
        ),
        ('<ex:mill ex:wheel="overshot" ex:bays="4"/>', FIELDS),
        ('<ex:mill><rdf:Description ex:wheel="overshot" ex:bays="4"/></ex:mill>', FIELDS),
        (
            '<ex:mill><rdf:Description ex:wheel="overshot"><ex:bays>4</ex:bays></rdf:Description></ex:mill>',
            FIELDS,
        ),
        ('<ex:mill rdf:parseType="Resource"/>', Struct()),
        ("<ex:mill><rdf:Description/></ex:mill>", Struct()),
        # RDF/XML §2.13, a typed node: the type is one more field
        (
            "<ex:mill><ex:Mill><ex:bays>4</ex:bays></ex:Mill></ex:mill>",
            Struct(((Name(RDF, "type"), Uri(EX + "Mill")), (ex("bays"), Text("4")))),
        ),
        # §7.7, arrays; rdf:_1 is the older spelling of rdf:li
        (
            "<ex:mill><rdf:Bag><rdf:li>a</rdf:li><rdf:li>b</rdf:li></rdf:Bag></ex:mill>",
            Array("Bag", (Text("a"), Text("b"))),
        ),
        (
            "<ex:mill><rdf:Seq><rdf:_1>a</rdf:_1><rdf:_2>b</rdf:_2></rdf:Seq></ex:mill>",
            Array("Seq", (Text("a"), Text("b"))),
        ),
        ("<ex:mill><rdf:Alt/></ex:mill>", Array("Alt")),
        (
            '<ex:mill><rdf:Bag><rdf:li rdf:parseType="Resource"><ex:bays>4</ex:bays></rdf:li></rdf:Bag></ex:mill>',
            Array("Bag", (Struct(((ex("bays"), Text("4")),)),)),
        ),
        (
            '<ex:mill><rdf:Alt><rdf:li xml:lang="x-default">mill</rdf:li>'
            '<rdf:li xml:lang="fr">moulin</rdf:li></rdf:Alt></ex:mill>',
            Array("Alt", (Text("mill", language="x-default"), Text("moulin", language="fr"))),
        ),
        # §7.8, qualifiers
        ('<ex:mill xml:lang="en">Osk</ex:mill>', Text("Osk", language="en")),
        (
            '<ex:mill rdf:parseType="Resource"><ex:source>map</ex:source><rdf:value>Osk</rdf:value></ex:mill>',
            Text("Osk", qualifiers=((ex("source"), Text("map")),)),
        ),
        (
            '<ex:mill rdf:value="Osk" ex:source="tithe map"/>',
            Text("Osk", qualifiers=((ex("source"), Text("tithe map")),)),
        ),
        (
            '<ex:mill rdf:resource="http://example.org/m" ex:source="tithe map"/>',
            Uri("http://example.org/m", qualifiers=((ex("source"), Text("tithe map")),)),
        ),
        (
            '<ex:mill rdf:parseType="Resource"><rdf:value xml:lang="en">Osk</rdf:value>'
            "<ex:source>map</ex:source></ex:mill>",
            Text("Osk", language="en", qualifiers=((ex("source"), Text("map")),)),
        ),
        (
            '<ex:mill xml:lang="en"><rdf:Description><rdf:value>Osk</rdf:value><ex:source>map</ex:source>'
            "</rdf:Description></ex:mill>",
            Text("Osk", language="en", qualifiers=((ex("source"), Text("map")),)),
        ),
        # RDF's own bookkeeping means nothing in XMP (annex C)
        ('<ex:mill rdf:ID="m1" rdf:datatype="http://example.org/text">Osk</ex:mill>', Text("Osk")),
    ],
)
def test_a_property_is_read_in_every_form(written, meant):
    assert value_of(written) == meant


def test_properties_stand_as_elements_as_attributes_and_in_several_descriptions():
    data = an_rdf(
        '<rdf:Description rdf:about="" xmp:CreateDate="2010-01-05"><dc:source>78-14</dc:source>'
        "</rdf:Description>"
        "<rdf:Description><ex:mill>Osk</ex:mill></rdf:Description>"
    )

    packet = parse_packet(data)

    assert packet == Packet(
        (
            (ex("mill"), Text("Osk")),
            (name("dc:source"), Text("78-14")),
            (name("xmp:CreateDate"), Text("2010-01-05")),
        )
    )


def test_the_prefix_means_nothing():
    dublin_core = "http://purl.org/dc/elements/1.1/"
    odd = f'<r:RDF xmlns:r="{RDF}" xmlns:q="{dublin_core}"><r:Description q:source="78-14"/></r:RDF>'

    packet = parse_packet(odd.encode())

    assert packet.get(name("dc:source")) == Text("78-14")


WRAPPED = (
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n<!-- by hand -->\n'
    '<x:xmpmeta xmlns:x="adobe:ns:meta/">' + a_packet("<ex:mill>Église</ex:mill>").decode() + "</x:xmpmeta>\n"
    '<?xpacket end="w"?>'
)


# XMP part 1 §7.3: the wrapper, its padding, UTF-8, UTF-16 and UTF-32; XML 1.0 annex F: without a mark.
@pytest.mark.parametrize(
    "data",
    [
        WRAPPED.encode(),
        WRAPPED.encode("utf-8-sig"),
        WRAPPED.encode("utf-16"),
        WRAPPED.encode("utf-16-le"),
        WRAPPED.encode("utf-16-be"),
        b"\xfe\xff" + WRAPPED.encode("utf-16-be"),
        WRAPPED.encode("utf-32"),
        WRAPPED.encode("utf-32-be"),
        (WRAPPED + " " * 2000 + "\n").encode(),
        WRAPPED.encode() + b"\0" * 7,
        ('<?xml version="1.0" encoding="UTF-8"?>\n' + WRAPPED).encode(),
        ('<?xml version="1.0" encoding="ISO-8859-1"?>\n' + WRAPPED.replace("\ufeff", "")).encode("iso-8859-1"),
        ('<?xml version="1.0" encoding="UTF-16"?>\n' + WRAPPED).encode(),  # re-encoded, the declaration left
        ('<?xml version="1.0" encoding="UTF-16"?>\n' + WRAPPED).encode("utf-16"),
        ("<svg xmlns='http://www.w3.org/2000/svg'><metadata>" + WRAPPED.split("by hand -->")[1].split("<?")[0]).encode()
        + b"</metadata></svg>",
    ],
    ids=lambda data: data[:12].hex(),
)
def test_a_packet_is_read_in_every_wrapping_and_encoding(data):
    assert parse_packet(data).get(ex("mill")) == Text("Église")


def test_what_is_said_twice_in_the_same_words_is_said_once():
    packet = parse_packet(a_packet("<ex:mill>Osk</ex:mill><ex:mill>Osk</ex:mill>"))

    assert packet.properties == ((ex("mill"), Text("Osk")),)


def test_a_foreign_prefix_is_remembered_and_written_again():
    data = format_packet(parse_packet(a_packet("<ex:mill>Osk</ex:mill>")))

    assert f'xmlns:ex="{EX}"'.encode() in data


# ---- refusals


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b"\0\0\0 \n", "empty"),
        (b"not XML", "not well-formed"),
        (a_packet("<ex:mill>Osk</ex:mill>")[:-9], "not well-formed"),
        (a_packet("<ex:mill>\xc9glise</ex:mill>").decode().encode("latin-1"), "not utf-8 text at byte"),
        (a_packet("<ex:mill>Osk\0Mill</ex:mill>"), "NUL at character"),
        (a_packet("<ex:mill>&copy;</ex:mill>"), "not well-formed"),
        (a_packet("<ex:mill>&#1;</ex:mill>"), "not well-formed"),
        (b'<?xml version="1.0" encoding="EBCDIC-CP-US"?><a/>', "encoding 'ebcdic-cp-us' is not read"),
        (b'<?xml version="1.0" encoding="ISO-8859-99"?><a/>', "nobody knows"),
        (b"<note>no metadata</note>", "no rdf:RDF"),
        (b"<a>" + an_rdf("") + an_rdf("") + b"</a>", "2 rdf:RDF"),
        (an_rdf("<ex:Mill/>"), "directly in rdf:RDF"),
        (an_rdf('<rdf:Description rdf:about="a"/><rdf:Description rdf:about="b"/>'), "describes two things"),
        (a_packet("<mill>Osk</mill>"), "'mill' has no namespace"),
        (a_packet("<ex:mill>Osk</ex:mill><ex:mill>Brome</ex:mill>"), "twice"),
        (a_packet('<ex:mill rdf:parseType="Literal"><b/></ex:mill>'), "parseType='Literal'"),
        (a_packet('<ex:mill ex:bays="4">Osk</ex:mill>'), "both text and properties"),
        (a_packet("<ex:mill>Osk<ex:b/></ex:mill>"), "more than one value"),
        (a_packet("<ex:mill><rdf:Bag/><rdf:Bag/></ex:mill>"), "more than one value"),
        (a_packet("<ex:mill><rdf:Bag><ex:item/></rdf:Bag></ex:mill>"), "where XMP has rdf:li"),
        (a_packet("<ex:mill><rdf:Bag>Osk</rdf:Bag></ex:mill>"), "between its items"),
        (a_packet("loose words"), "between its properties"),
        (a_packet('<ex:mill rdf:resource="a" rdf:value="b"/>'), "both rdf:resource and rdf:value"),
        (a_packet("<rdf:value>1</rdf:value>"), "not the name of an XMP property"),
        (a_packet("<ex:mill rdf:aboutEach='x'/>"), "not the name of an XMP property"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_reason(data, reason):
    with pytest.raises(XmpError, match=reason):
        parse_packet(data)


def test_a_document_type_is_refused_unread_wherever_it_hides(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("private")
    attacks = [
        f'<!DOCTYPE a [<!ENTITY e SYSTEM "file://{secret}">]>',
        '<!DOCTYPE a [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        '<?xml version="1.0"?>\n<!-- a - comment -->\n<?note well?>\n<!DOCTYPE a SYSTEM "http://example.org/a.dtd">',
    ]

    for attack in attacks:
        for encoding in ("utf-8", "utf-16"):
            data = (attack + a_packet("<ex:mill>&e;</ex:mill>").decode()).encode(encoding)
            with pytest.raises(XmpError, match="document type declaration"):
                parse_packet(data)


def test_words_about_a_document_type_are_only_words():
    packet = parse_packet(a_packet("<ex:mill><![CDATA[<!DOCTYPE a>]]></ex:mill>"))

    assert packet.get(ex("mill")) == Text("<!DOCTYPE a>")


def test_depth_size_and_number_have_limits():
    deep = '<ex:mill rdf:parseType="Resource">' * 100 + "</ex:mill>" * 100
    many = a_packet("<ex:mill><rdf:Bag>" + "<rdf:li/>" * 200_001 + "</rdf:Bag></ex:mill>")

    with pytest.raises(XmpError, match="nested more than 64 deep"):
        parse_packet(a_packet(deep))
    with pytest.raises(XmpError, match=r"not well-formed|nested more than"):
        parse_packet(a_packet("<ex:mill><rdf:Description>" * 5_000 + "</rdf:Description></ex:mill>" * 5_000))
    with pytest.raises(XmpError, match="more than 8,388,608 are not read"):
        parse_packet(b" " * (8 * 1024 * 1024 + 1))
    with pytest.raises(XmpError, match="200,000 tags"):
        parse_packet(many)


def test_no_input_makes_the_reader_slow():
    # Quadratic work on repeated names, or backtracking in the prolog, would take minutes here.
    repeated = a_packet("".join(f"<ex:p{n}/>" for n in range(50_000)) * 2)
    prolog = b"<?a " + b"?" * 1_000_000 + b"<!-- " + b"- " * 1_000_000
    began = time.monotonic()

    packet = parse_packet(repeated)
    with pytest.raises(XmpError):
        parse_packet(prolog)

    assert len(packet.properties) == 50_000
    assert time.monotonic() - began < 10


def test_a_packet_of_many_items_stays_within_bounded_memory():
    data = a_packet("<ex:mill><rdf:Bag>" + "<rdf:li>a</rdf:li>" * 95_000 + "</rdf:Bag></ex:mill>")
    tracemalloc.start()

    packet = parse_packet(data)

    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(texts(packet.get(ex("mill")))) == 95_000
    assert peak < 100 * 1024 * 1024


def test_several_threads_read_at_once_without_mixing_packets():
    packets = [a_packet(f"<ex:mill>{n}</ex:mill><ex:mill>{n}</ex:mill>" * 50) for n in range(200)]

    with ThreadPoolExecutor(8) as pool:
        read = list(pool.map(parse_packet, packets))

    assert [texts(packet.get(ex("mill"))) for packet in read] == [(str(n),) for n in range(200)]


def test_a_name_beyond_measure_is_refused_and_quoted_in_part():
    long = "m" * 40_000

    for properties in (f"<ex:{long}/>", f"<n:a xmlns:n='urn:{long}'/>", f"<ex:mill ex:{long}='a'/>"):
        with pytest.raises(XmpError, match="more than 1,000 letters") as refused:
            parse_packet(a_packet(properties))
        assert len(str(refused.value)) < 200


def test_a_reason_quotes_little_of_what_a_stranger_wrote():
    long = "Osk " * 10_000
    attacks = [
        a_packet(f'<ex:mill rdf:parseType="{long}"/>'),
        a_packet(f'<ex:mill><rdf:Description rdf:about="{long}" ex:a="b"/></ex:mill>'),
        an_rdf(f'<rdf:Description rdf:about="{long}"/><rdf:Description rdf:about="b"/>'),
        a_packet(f'<ex:mill xml:lang="{long}"><rdf:Description xml:lang="en"/></ex:mill>'),
        a_packet(f"<ex:mill>{long}<ex:a/></ex:mill>"),
    ]

    for attack in attacks:
        with pytest.raises(XmpError) as refused:
            parse_packet(attack)
        assert len(str(refused.value)) < 300
