"""
Packets of strangers: whatever is in them, they end in values or in a reason. No traceback, no hang, no flood.

Memory and time are looked at in a process of its own, where nothing else counts.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from catalog.errors import XmpError
from catalog.standards.xmp import Array, Name, Packet, Struct, Text, format_packet, parse_packet
from catalog.standards.xmp_document import MAX_BYTES, MAX_DEPTH, MAX_TAGS
from tests.standards.xmp_mutations import read_many

ROOT = Path(__file__).parents[2]
MOST_MB = 200
NAME = Name("http://example.org/fuzz/", "mill")


def test_mutated_packets_end_in_values_or_a_reason():
    outcomes, slowest = read_many(300)

    assert outcomes.total() == 300
    assert 30 < outcomes["values"] < 270  # both ends are looked at
    assert slowest < 2


@pytest.mark.slow
def test_twenty_thousand_mutated_packets_end_in_values_or_a_reason():
    told = in_a_process("-m", "tests.standards.xmp_mutations", "20000")

    outcomes = dict(told["outcomes"])
    assert sum(outcomes.values()) == 20_000
    assert 2_000 < outcomes["values"] < 18_000
    assert told["slowest_s"] < 2
    assert told["peak_mb"] < MOST_MB


def in_a_process(*arguments: str) -> dict:
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT, check=False, timeout=900
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


HOSTILE = {
    "attributes of one element": """
        data = an_rdf("<rdf:Description xmlns:a='urn:a#' " + " ".join(f'a:b{n}="c"' for n in range(199_000)) + "/>")
    """,
    "as many attributes as may be": """
        node = '<rdf:Description xmlns:a="urn:a#" '
        said = (" ".join(f'a:b{m}_{n}="{m}"' for n in range(1_990)) for m in range(99))
        data = an_rdf("".join(f"{node}{attributes}/>" for attributes in said))
    """,
    "namespaces of one element": """
        data = an_rdf("<rdf:Description " + " ".join(f'xmlns:n{n}="urn:{n}#"' for n in range(199_000)) + "/>")
    """,
    "a namespace an element": """
        data = a_packet("".join(f'<n:m xmlns:n="urn:{n}#"/>' for n in range(190_000)))
    """,
    "namespaces at every depth": """
        many = " ".join(f'xmlns:n{n}="urn:{n}#"' for n in range(700))
        data = a_packet((f'<n:m xmlns:n="urn:n#" {many}><rdf:Description>' * 60) + "</rdf:Description></n:m>" * 60)
    """,
    "empty items": """
        data = a_packet("<n:m xmlns:n='urn:n#'><rdf:Bag>" + "<rdf:li/>" * 199_000 + "</rdf:Bag></n:m>")
    """,
    "items with attributes": """
        data = a_packet("<n:m xmlns:n='urn:n#'><rdf:Bag>" + "<rdf:li n:a='b'/>" * 199_000 + "</rdf:Bag></n:m>")
    """,
    "nesting": """
        data = a_packet("<n:m xmlns:n='urn:n#'><rdf:Bag><rdf:li>" * 60_000)
    """,
    "structures as deep as they may be": """
        inside = "<n:m rdf:parseType='Resource'>"
        data = a_packet("<n:m xmlns:n='urn:n#' rdf:parseType='Resource'>" + inside * 62 + "</n:m>" * 63)
    """,
    "one long text": """
        data = a_packet("<n:m xmlns:n='urn:n#'>" + "Osk " * 2_000_000 + "</n:m>")
    """,
    "one long attribute": """
        data = a_packet("<n:m xmlns:n='urn:n#' n:a='" + "Osk " * 2_000_000 + "'/>")
    """,
    "one long name": """
        data = a_packet("<n:" + "m" * 8_000_000 + " xmlns:n='urn:n#'/>")
    """,
    "one long namespace": """
        data = a_packet("<n:m xmlns:n='urn:" + "m" * 8_000_000 + "'/>")
    """,
    "references": """
        data = a_packet("<n:m xmlns:n='urn:n#'>" + "&#65;&amp;" * 800_000 + "</n:m>")
    """,
    "comments and instructions": """
        data = ("<!-- a -->" * 190_000 + a_packet("<n:m xmlns:n='urn:n#'/>").decode()).encode()
    """,
    "the same property again and again": """
        data = a_packet("<n:m xmlns:n='urn:n#'/>" * 190_000)
    """,
    "a billion laughs": """
        laughs = '<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 30))
        data = (f"<!DOCTYPE a [{laughs}]>" + a_packet("<n:m xmlns:n='urn:n#'>&a29;</n:m>").decode()).encode()
    """,
    "an entity of the disk": """
        entity = '<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/hostname">]>'
        data = (entity + a_packet("<n:m xmlns:n='urn:n#'>&e;</n:m>").decode()).encode()
    """,
    "UTF-32 of letters outside the first plane": """
        data = a_packet("<n:m xmlns:n='urn:n#'>" + chr(0x1F600) * 2_000_000 + "</n:m>").decode().encode("utf-32")
    """,
}
# What may be read; every other one is refused.
READ = {
    "a namespace an element",
    "empty items",
    "items with attributes",
    "structures as deep as they may be",
    "references",
}
READ |= {
    "namespaces at every depth",
    "as many attributes as may be",
    "one long text",
    "one long attribute",
    "comments and instructions",
}
READ |= {"the same property again and again", "UTF-32 of letters outside the first plane", "namespaces of one element"}

_PROGRAM = """
import json, sys, time
from catalog.errors import XmpError
from catalog.standards.xmp import format_packet, parse_packet
from tests.peak_memory import peak_mb

def an_rdf(inside):
    return f'<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">{inside}</rdf:RDF>'.encode()

def a_packet(properties):
    return an_rdf(f"<rdf:Description>{properties}</rdf:Description>")

exec(sys.argv[1])
held_mb = peak_mb()
began = time.process_time()
try:
    parse_packet(data)
    told = "values"
except XmpError as exc:
    told = str(exc)
seconds = time.process_time() - began
print(json.dumps({"told": told, "s": seconds, "before_mb": held_mb, "peak_mb": peak_mb()}))
"""


@pytest.mark.slow
@pytest.mark.parametrize("attack", HOSTILE)
def test_an_attack_ends_soon_and_small(attack):
    lines = [line.strip() for line in HOSTILE[attack].strip().splitlines()]

    told = in_a_process("-c", _PROGRAM, "\n".join(lines))

    assert told["peak_mb"] < MOST_MB
    assert told["s"] < 5
    assert len(told["told"]) < 400
    assert "\n" not in told["told"]
    assert (told["told"] == "values") == (attack in READ), told["told"]


# ---- what is written keeps to the limits of what is read


def nested(depth: int) -> Text | Struct:
    value: Text | Struct = Text("Osk")
    for _ in range(depth):
        value = Struct(((NAME, value),))
    return value


def test_the_deepest_that_is_read_is_the_deepest_that_is_written():
    packet = Packet(((NAME, nested(MAX_DEPTH)),))

    assert parse_packet(format_packet(packet)) == packet
    with pytest.raises(XmpError, match=f"nested more than {MAX_DEPTH} deep is not written"):
        format_packet(Packet(((NAME, nested(MAX_DEPTH + 1)),)))


@pytest.mark.parametrize("kind", ["Bag", "Seq", "Alt"])
def test_arrays_within_arrays_have_the_same_depth_written_as_read(kind):
    value: Text | Array = Text("Osk", language="en")
    for _ in range(MAX_DEPTH):
        value = Array(kind, (value,), language="en")

    packet = Packet(((NAME, value),))

    assert parse_packet(format_packet(packet)) == packet
    with pytest.raises(XmpError, match="not written"):
        format_packet(Packet(((NAME, Array(kind, (value,))),)))


def test_qualified_values_have_the_same_depth_written_as_read():
    value: Text | Array = Text("Osk")
    for _ in range(MAX_DEPTH // 2):
        value = Array("Bag", (value,), qualifiers=((NAME, Text("map")),))

    packet = Packet(((NAME, value),))

    assert parse_packet(format_packet(packet)) == packet


def test_what_would_be_too_long_to_read_is_not_written():
    long, many = Text("m" * MAX_BYTES), Array("Bag", (Text("a"),) * MAX_TAGS)

    with pytest.raises(XmpError, match="are not read"):
        format_packet(Packet(((NAME, long),)))
    with pytest.raises(XmpError, match="tags or attributes is not read"):
        format_packet(Packet(((NAME, many),)))
