"""
Packets with something done to them, always the same for one seed; and what becomes of each when it is read.

Run by itself it reads many and prints what came of them: ``python -m tests.standards.xmp_mutations COUNT [FIRST]``.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from copy import deepcopy
from pathlib import Path
from random import Random

from catalog.errors import XmpError
from catalog.standards.xmp import NAMESPACES, format_packet, parse_packet
from catalog.standards.xmp_names import RDF, XML
from tests.benchmarks.xmp_reading import foreign
from tests.reference_samples import FOLDER

GOLDEN = Path(__file__).parents[1] / "golden" / "sidecars"

# What an attacker, a broken program or a bad disk puts in.
FRAGMENTS = [
    b'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>',
    b'<!DOCTYPE a SYSTEM "file:///etc/hostname">',
    b"&a;",
    b"&#0;",
    b"&#x1F600;",
    b"&#xD800;",
    b"&#xFFFE;",
    b"&lt;",
    b"<![CDATA[",
    b"]]>",
    b"<!--",
    b"-->",
    b"<?xpacket",
    b"?>",
    b"<rdf:li>",
    b"</rdf:li>",
    b"<rdf:Bag>",
    b"</rdf:Bag>",
    b"<rdf:Description>",
    b"<rdf:Description " + b" ".join(b'a%d="b"' % n for n in range(300)) + b"/>",
    b" ".join(b'xmlns:p%d="urn:p%d"' % (n, n) for n in range(300)),
    b'<dc:title rdf:parseType="Resource">' * 80,
    b'<rdf:value rdf:parseType="Resource">x</rdf:value>',
    b'rdf:parseType="Literal"',
    b'rdf:parseType="Resource"',
    b'rdf:about="urn:other"',
    b'rdf:resource="urn:x"',
    b'xml:lang="en"',
    b'xml:lang=""',
    b'xmlns=""',
    b'xmlns:dc="urn:changed"',
    b'xmlns:rdf="urn:changed"',
    b'rdf:nodeID="a"',
    b"<rdf:_1>a</rdf:_1>",
    b"<rdf:RDF/>",
    b"<a:b xmlns:a='urn:a#'><c xmlns='urn:c/' d='e'/></a:b>",
    b"\0",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\xed\xa0\x80",
    b"\xc3",
    b"\x0b",
    b"=" * 50,
    b"<" * 50,
    b'<?xml version="1.0" encoding="UTF-16"?>',
    b'<?xml version="1.0" encoding="ISO-8859-1"?>',
]
ATTRIBUTES = [
    (f"{{{RDF}}}parseType", "Resource"),
    (f"{{{RDF}}}parseType", "Literal"),
    (f"{{{RDF}}}resource", "urn:a"),
    (f"{{{RDF}}}about", "urn:b"),
    (f"{{{RDF}}}value", "Osk"),
    (f"{{{RDF}}}type", "urn:t"),
    (f"{{{RDF}}}ID", "a"),
    (f"{{{XML}}}lang", "fr"),
    (f"{{{XML}}}lang", ""),
    (f"{{{XML}}}space", "preserve"),
    ("{urn:any#}thing", "1"),
    ("bare", "2"),
]
TEXTS = [None, "", " ", "\n\t ", "Osk", " Osk & Son <b> ", "\r\n\r", "\u00a0", "\ufeff", "\U0001f600"]
ENCODINGS = ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-be", "latin-1", "utf-7"]


def originals() -> list[bytes]:
    """Return the packets to start from: the samples, where they are, our golden sidecars, and some of others."""
    samples = sorted(FOLDER.glob("*.xmp")) if FOLDER.is_dir() else []
    ours = [path.read_bytes() for path in sorted(GOLDEN.glob("*.xmp"))]
    every_prefix = " ".join(f'xmlns:{prefix}="{uri}"' for prefix, uri in NAMESPACES.items())
    small = (
        f'<rdf:RDF xmlns:rdf="{RDF}"><rdf:Description rdf:about="" {every_prefix} dc:source="78-14">'
        '<dc:title><rdf:Alt><rdf:li xml:lang="x-default">Osk</rdf:li></rdf:Alt></dc:title>'
        '<xmp:Identifier><rdf:Bag><rdf:li xmpidq:Scheme="box" rdf:value="14"/></rdf:Bag></xmp:Identifier>'
        "</rdf:Description></rdf:RDF>"
    ).encode()
    return [path.read_bytes() for path in samples] + ours + [small, foreign(1)]


def mutated(seed: int, originals: list[bytes]) -> bytes:
    """Return a packet with some things done to it: every second is still XML until its bytes are touched too."""
    chance = Random(seed)
    data = bytearray(chance.choice(originals))
    if seed % 2:
        data = bytearray(_rearranged(bytes(data), chance))
        if chance.random() < 0.7:
            return _encoded(bytes(data), chance) if chance.random() < 0.1 else bytes(data)
    for _ in range(min(6, int(chance.paretovariate(1)))):
        _mutate(data, chance, originals)
    if chance.random() < 0.1:
        return _encoded(bytes(data), chance)
    return bytes(data)


def _mutate(data: bytearray, chance: Random, originals: list[bytes]) -> None:
    start = chance.randint(0, len(data))
    end = min(len(data), start + int(chance.paretovariate(0.6)))
    match chance.randrange(9):
        case 0 if data:
            data[chance.randrange(len(data))] = chance.randrange(256)
        case 1:
            del data[start:end]
        case 2:
            data[start:start] = data[start:end] * chance.randint(1, 8)
        case 3:
            data[start:start] = chance.choice(FRAGMENTS)
        case 4:  # at the end of a tag, or within one, where it is likelier to be read
            place = data.find(chance.choice((b">", b" ", b"/>", b"</")), start)
            if place >= 0:
                data[place:place] = b" " + chance.choice(FRAGMENTS)
        case 5:
            other = chance.choice(originals)
            begin = chance.randrange(len(other))
            data[start:end] = other[begin : begin + chance.randint(1, 400)]
        case 6:  # two names change places
            words = [
                b"rdf:Bag",
                b"rdf:Seq",
                b"rdf:Alt",
                b"rdf:li",
                b"rdf:Description",
                b"rdf:value",
                b"xml:lang",
                b"dc:",
            ]
            one, two = chance.sample(words, 2)
            data[:] = data.replace(one, two, chance.randint(1, 3))
        case 7:
            del data[start:]
        case _:
            tags = [place for place in range(len(data)) if data[place] == 60]
            if len(tags) > 1:  # from one tag to another, gone or twice
                one, two = sorted(chance.sample(tags, 2))
                data[one:two] = b"" if chance.random() < 0.5 else data[one:two] * 2


def _rearranged(data: bytes, chance: Random) -> bytes:
    """Return a packet whose elements and attributes were moved, renamed, doubled, wrapped or emptied."""
    from lxml import etree

    try:
        root = etree.fromstring(data)
    except etree.XMLSyntaxError:
        return data
    for _ in range(min(5, int(chance.paretovariate(2)))):
        every = [element for element in root.iter() if isinstance(element.tag, str)]
        leaves = [element for element in every if not len(element)]
        one, other = chance.choice(every), chance.choice(leaves if chance.random() < 0.7 else every)
        one = other if chance.random() < 0.5 else one
        match chance.randrange(8):
            case 0:
                one.tag = chance.choice(leaves).tag
            case 1:
                one.set(*chance.choice(ATTRIBUTES))
            case 2 if len(other.attrib):
                one.set(*chance.choice(other.items()))
            case 3:
                one.text = chance.choice(TEXTS)
            case 4:
                one.tail = chance.choice(TEXTS)
            case 5 if one not in other.iterancestors() and one is not other:
                other.append(deepcopy(one))
            case 6:
                wrapping = deepcopy(one)
                one.clear()
                one.append(wrapping)
            case _:
                inside = f"{{{RDF}}}{chance.choice(['Bag', 'Alt', 'Description', 'value', 'li'])}"
                one.text = None
                one.append(etree.Element(inside))
    return etree.tostring(root)


def _encoded(data: bytes, chance: Random) -> bytes:
    text = data.decode("utf-8", "replace")
    return text.encode(chance.choice(ENCODINGS), "replace")


def outcome_of(data: bytes) -> str:
    """
    Read a packet and say what came of it: ``values``, or the beginning of the reason for refusing.

    What could be read can be written and read again, to the letter; anything else is an error of the program.
    """
    try:
        packet = parse_packet(data)
    except XmpError as exc:
        return " ".join(str(exc).split()[:6])
    written = format_packet(packet)
    again = parse_packet(written)
    if again != packet or format_packet(again) != written:
        raise AssertionError("read, written and read again it is another packet")
    return "values"


def read_many(count: int, first: int = 0) -> tuple[Counter[str], float]:
    """Read the packets of ``count`` seeds; return how many ended how, and the longest time one took in seconds."""
    begun_from = originals()
    outcomes: Counter[str] = Counter()
    slowest = 0.0
    for seed in range(first, first + count):
        data = mutated(seed, begun_from)
        began = time.process_time()
        try:
            outcomes[outcome_of(data)] += 1
        except Exception as exc:
            raise AssertionError(f"the packet of seed {seed}: {type(exc).__name__}: {exc}") from exc
        slowest = max(slowest, time.process_time() - began)
    return outcomes, slowest


if __name__ == "__main__":
    from tests.peak_memory import peak_mb

    told, slowest = read_many(*map(int, sys.argv[1:]))
    print(json.dumps({"outcomes": told.most_common(), "slowest_s": slowest, "peak_mb": peak_mb()}))
