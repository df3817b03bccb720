"""What XMP properties are called. A name is a namespace URI and a local name; the prefix is decoration."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, NamedTuple

from catalog.errors import XmpError

__all__ = ["NAMESPACES", "RDF", "TIEBEAM", "XML", "XMPMETA", "Name", "name", "shown", "spell"]

RDF: Final = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XMPMETA: Final = "adobe:ns:meta/"
XML: Final = "http://www.w3.org/XML/1998/namespace"

# Fixed for ever: sidecars that carry it outlive this program (docs/standards/tiebeam-namespace.md).
TIEBEAM: Final = "urn:uuid:bc96d705-db8b-49d1-aac0-9649c9219683#"

# Preferred prefixes. The order is that of the groups in a sidecar we write: what is read most comes first.
NAMESPACES: Final[dict[str, str]] = {
    "dc": "http://purl.org/dc/elements/1.1/",  # XMP part 1 §8.3
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",  # XMP part 2
    "Iptc4xmpCore": "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",  # IPTC Core 1.5
    "Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",  # IPTC Extension 1.9
    "plus": "http://ns.useplus.org/ldf/xmp/1.0/",  # PLUS LDF
    "xmp": "http://ns.adobe.com/xap/1.0/",  # XMP part 1 §8.4
    "xmpidq": "http://ns.adobe.com/xmp/Identifier/qual/1.0/",  # XMP part 1 §8.7
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",  # XMP part 1 §8.5
    "xmpMM": "http://ns.adobe.com/xap/1.0/mm/",  # XMP part 1 §8.6
    "stRef": "http://ns.adobe.com/xap/1.0/sType/ResourceRef#",  # XMP part 1 §8.2.2.9
    "stEvt": "http://ns.adobe.com/xap/1.0/sType/ResourceEvent#",  # XMP part 2
    "xmpNote": "http://ns.adobe.com/xmp/note/",  # XMP part 3
    "tiff": "http://ns.adobe.com/tiff/1.0/",  # XMP part 2
    "exif": "http://ns.adobe.com/exif/1.0/",  # XMP part 2
    "exifEX": "http://cipa.jp/exif/1.0/",  # CIPA DC-010
    "aux": "http://ns.adobe.com/exif/1.0/aux/",  # in no standard, but everywhere
    "tiebeam": TIEBEAM,
}
_PREFIXES: Final = {RDF: "rdf", XML: "xml"} | {uri: prefix for prefix, uri in NAMESPACES.items()}

# XML 1.0 (fifth edition) [4] and [5], less the colon: Namespaces in XML 1.0 §4, NCName.
_START = (
    "A-Z_a-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u02ff\u0370-\u037d\u037f-\u1fff\u200c\u200d\u2070-\u218f\u2c00-\u2fef"
    "\u3001-\ud7ff\uf900-\ufdcf\ufdf0-\ufffd\U00010000-\U000effff"
)
NCNAME: Final = re.compile(f"[{_START}][{_START}\\-.0-9\u00b7\u0300-\u036f\u203f\u2040]*")


class Name(NamedTuple):
    """The name of a property, a field or a qualifier. Two names are one when URI and local name are."""

    uri: str
    local: str


@lru_cache(maxsize=1024)
def name(spelled: str) -> Name:
    """
    Return the name that ``spelled`` gives with a prefix of ``NAMESPACES``.

    >>> name("dc:title").uri
    'http://purl.org/dc/elements/1.1/'

    Raises:
        XmpError: the prefix is none of ours.
    """
    prefix, _, local = spelled.partition(":")
    if prefix not in NAMESPACES or not local:
        raise XmpError(f"{spelled!r} has no prefix that this program knows")
    return Name(NAMESPACES[prefix], local)


def spell(named: Name) -> str:
    """Return a name for a person to read: with our prefix where there is one, else with its whole URI."""
    prefix = _PREFIXES.get(named.uri)
    return f"{prefix}:{named.local}" if prefix else f"{{{named.uri}}}{named.local}"


def shown(text: str) -> str:
    """Return the words of a stranger as a refusal quotes them: on one line and not too many."""
    return repr(text if len(text) <= 60 else f"{text[:60]}\u2026")
