"""
What older programs called a property. They are read under the name they have; nothing is renamed in a file.

Source: the names that XMP part 2 gives with "alias to" and that the common toolkit moves on reading (exempi 2.6.3;
a test asks it for each).
"""

from __future__ import annotations

from typing import Final

from catalog.standards.xmp_names import Name, name
from catalog.standards.xmp_values import Packet, Value

__all__ = ["OLD_NAMES", "find_said"]

_PDF: Final = "http://ns.adobe.com/pdf/1.3/"
_PNG: Final = "http://ns.adobe.com/png/1.0/"

# Today's name, then what it was called, the nearest relation first.
OLD_NAMES: Final[dict[Name, tuple[Name, ...]]] = {
    name(today): tuple(name(old) if ":" in old else Name(uri, old) for uri, old in rows)
    for today, rows in {
        "dc:creator": (
            ("", "xmp:Authors"),
            ("", "xmp:Author"),
            ("", "photoshop:Author"),
            ("", "tiff:Artist"),
            (_PDF, "Author"),
            (_PNG, "Author"),
        ),
        "dc:title": (("", "xmp:Title"), ("", "photoshop:Title"), (_PDF, "Title"), (_PNG, "Title")),
        "dc:description": (
            ("", "xmp:Description"),
            ("", "photoshop:Caption"),
            ("", "tiff:ImageDescription"),
            (_PDF, "Subject"),
            (_PNG, "Description"),
        ),
        "dc:rights": (
            ("", "xmpRights:Copyright"),
            ("", "photoshop:Copyright"),
            ("", "tiff:Copyright"),
            (_PNG, "Copyright"),
        ),
        "dc:subject": (("", "xmp:Keywords"), ("", "photoshop:Keywords")),
        "dc:format": (("", "xmp:Format"),),
        "dc:language": (("", "xmp:Locale"),),
        "xmp:BaseURL": ((_PDF, "BaseURL"),),
        "xmp:CreateDate": (("", "exif:DateTimeDigitized"), (_PDF, "CreationDate"), (_PNG, "CreationTime")),
        "xmp:ModifyDate": (("", "tiff:DateTime"), (_PDF, "ModDate"), (_PNG, "ModificationTime")),
        "xmp:CreatorTool": (("", "tiff:Software"), (_PDF, "Creator"), (_PNG, "Software")),
        "xmpRights:Marked": (("", "photoshop:Marked"),),
        "xmpRights:WebStatement": (("", "photoshop:WebStatement"),),
    }.items()
}


def find_said(packet: Packet, named: Name) -> tuple[Name, Value] | None:
    """
    Return a property, or what an older program wrote in its place: the name it stands under and its value.

    The value has the form it was written in: a lone text may stand where an array belongs today (``texts``).
    """
    for one in (named, *OLD_NAMES.get(named, ())):
        value = packet.get(one)
        if value is not None:
            return one, value
    return None
