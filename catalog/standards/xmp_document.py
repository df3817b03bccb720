"""
Bytes into the rdf:RDF element of an XMP document; nothing is fetched, expanded or trusted.

Source: XMP part 1 (April 2012) §7.3; XML 1.0 (fifth edition) §2.11 and annex F.
"""

from __future__ import annotations

import codecs
import re
from functools import cache
from typing import TYPE_CHECKING, Final

from catalog.errors import XmpError
from catalog.standards.xmp_names import RDF, XMPMETA

if TYPE_CHECKING:
    from lxml.etree import XMLParser
    from lxml.etree import _Element as Element

__all__ = ["MAX_BYTES", "MAX_DEPTH", "check_size", "declared_prefixes", "decode_document", "parse_rdf"]

# A sidecar is some kilobytes; the largest carry a small picture. Beyond this it is an attack or an accident.
# The parser takes no single text of 10,000,000 bytes, so that whatever is within this limit is read.
MAX_BYTES: Final = 8 * 1024 * 1024
MAX_TAGS: Final = 200_000  # and as many attributes: bounds the tree, hence the memory
MAX_ATTRIBUTES: Final = 2_000  # of one element: lxml looks each up from the first, so 200,000 take minutes
MAX_DEPTH: Final = 64  # structures and arrays within each other; the deepest in any published schema is 7

_RDF_ROOT: Final = f"{{{RDF}}}RDF"
_ENVELOPES: Final = (f"{{{XMPMETA}}}xmpmeta", f"{{{XMPMETA}}}xapmeta")  # the second is the older spelling


def check_size(document: bytes) -> None:
    """
    Check that a document is within the limits; writing keeps to them as reading does.

    Raises:
        XmpError: it is too long, or has too many tags or attributes.
    """
    if len(document) > MAX_BYTES:
        raise XmpError(f"XMP of {len(document):,} bytes; more than {MAX_BYTES:,} are not read")
    if len(document) > MAX_TAGS and max(document.count(b"<"), document.count(b"=")) > MAX_TAGS:
        raise XmpError(f"XMP of more than {MAX_TAGS:,} tags or attributes is not read")


# ---- bytes to text


_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16: its mark begins with that of UTF-16
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
    (b"\0\0\0<", "utf-32-be"),  # XML 1.0 annex F.1: the same, without a mark
    (b"<\0\0\0", "utf-32-le"),
    (b"\0<", "utf-16-be"),
    (b"<\0", "utf-16-le"),
)
_ENCODING: Final = re.compile(rb"\s*<\?xml[^>]*?\sencoding\s*=\s*[\"']([A-Za-z][\w.\-]*)[\"']")
_UNICODE: Final = re.compile(r"(utf|ucs)[-_]?(8|16|32|2|4)([-_]?[lb]e)?|iso-10646-ucs-[24]|(us-)?ascii")


def decode_document(data: bytes) -> str:
    """Return the text of a document, without byte order mark, padding and NULs at its ends."""
    encoding = _encoding_of(data)
    if not encoding.startswith("utf-8"):
        unit = 4 if encoding.startswith("utf-32") else 2 if encoding.startswith("utf-16") else 1
        odd = len(data) % unit
        data = data[:-odd] if odd and not any(data[-odd:]) else data  # NULs at the end that make no character
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as exc:
        raise XmpError(f"XMP is not {encoding} text at byte {exc.start + 1:,} of {len(data):,}") from exc
    text = text.strip("\ufeff\0 \t\r\n")
    if not text:
        raise XmpError("XMP is empty")
    nul = text.find("\0")
    if nul >= 0:
        raise XmpError(f"XMP holds a NUL at character {nul + 1:,}: it is damaged")
    return text


def _encoding_of(data: bytes) -> str:
    """Return a document's encoding: by its mark, by the zeros around its first "<", by what it declares."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return encoding
    declared = _ENCODING.match(data, 0, 200)
    if declared is None or declared[1] == b"UTF-8":
        return "utf-8"
    wanted = declared[1].decode("ascii").lower()
    # A document of single bytes that claims UTF-16 was re-encoded by someone who left the declaration.
    if _UNICODE.fullmatch(wanted):
        return "utf-8"
    if not wanted.startswith(("iso-8859-", "windows-125")):
        raise XmpError(f"XMP in the encoding {wanted!r} is not read; save it as UTF-8")
    try:
        return codecs.lookup(wanted).name
    except LookupError as exc:
        raise XmpError(f"XMP claims an encoding {wanted!r} that nobody knows; save it as UTF-8") from exc


# ---- text to a tree


# What may stand before the root; possessive, so that no input makes it backtrack.
_PROLOG: Final = re.compile(r"(?:\s++|<\?(?:[^?]|\?(?!>))*+\?>|<!--(?:[^-]|-(?!->))*+-->)*+")
_DECLARATION: Final = re.compile(r"<\?xml\s[^>]*\?>\s*")


@cache
def _parser() -> XMLParser:
    """Return the one parser, made at the first packet: lxml is not loaded by what reads none. Threads take turns."""
    from lxml import etree

    return etree.XMLParser(
        encoding="utf-8",
        resolve_entities=False,
        load_dtd=False,
        dtd_validation=False,
        no_network=True,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
        strip_cdata=True,
        collect_ids=False,
    )


def parse_rdf(text: str) -> Element:
    """
    Return the rdf:RDF element of a document.

    A document type declaration is refused unread: attacks come in by it.

    Raises:
        XmpError: there is one; the text is no XML; there is no rdf:RDF, or it is not known which one counts.
    """
    from lxml import etree

    if "<!DOCTYPE" in text and text.startswith("<!DOCTYPE", _PROLOG.match(text).end()):  # type: ignore[union-attr]
        raise XmpError("XMP has a document type declaration, which is never followed: remove it")
    text = _DECLARATION.sub("", text, count=1) if text.startswith("<?xml") else text
    try:
        root = etree.fromstring(text.encode(), _parser())
    except etree.XMLSyntaxError as exc:
        reason = re.sub(r"\s+", " ", exc.msg or "no reason given").strip()[:200]
        raise XmpError(f"XMP is not well-formed XML: {reason}") from exc
    except UnicodeEncodeError as exc:  # half of a surrogate pair, from UTF-32
        raise XmpError(f"XMP holds half a character at {exc.start + 1:,}: it is damaged") from exc
    rdf = _find_rdf(root)
    if text.count("=") > MAX_ATTRIBUTES and any(len(element.attrib) > MAX_ATTRIBUTES for element in rdf.iter()):
        raise XmpError(f"XMP has an element with more than {MAX_ATTRIBUTES:,} attributes, which is not read")
    return rdf


def _find_rdf(root: Element) -> Element:
    # The usual two: the envelope with rdf:RDF alone in it, and rdf:RDF bare.
    if root.tag in _ENVELOPES and len(root) == 1 and root[0].tag == _RDF_ROOT:
        return root[0]
    # XMP part 1 §7.3.3: x:xmpmeta is optional, other XML may stand around it; where it is, it marks which
    # rdf:RDF is XMP.
    envelopes = list(root.iter(*_ENVELOPES))
    found = [rdf for within in envelopes or [root] for rdf in within.iter(_RDF_ROOT)]
    if not found:
        raise XmpError("XMP has no rdf:RDF element")
    if len(found) > 1:
        raise XmpError(f"XMP has {len(found)} rdf:RDF elements; which one speaks for the file is not known")
    return found[0]


# ---- prefixes


_DECLARED: Final = re.compile(r"xmlns:([^\s=:<>&\"']+)\s*=\s*(?:\"([^\"<]*)\"|'([^'<]*)')")


def declared_prefixes(text: str) -> dict[str, str]:
    """
    Return the prefix of each namespace URI, as a document first declares it.

    A prefix is decoration, so it is enough to look at the text; a declaration in a comment does no harm.
    """
    found: dict[str, str] = {}
    for prefix, double, single in _DECLARED.findall(text):
        found.setdefault((double or single).replace("&quot;", '"').replace("&amp;", "&"), prefix)
    return found
