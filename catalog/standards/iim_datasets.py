"""
The datasets of IIM as data: one row each, with its limit in octets and the XMP property it stands for.

Source: IPTC-NAA Information Interchange Model 4.2 (July 2014), records 1 and 2; XMP part 3 (January 2020),
table 38 for the properties. See docs/standards/iim.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

__all__ = ["CHARACTER_SET", "DATASETS", "Dataset", "Form"]

Form = Literal["text", "date", "time", "digit", "genre", "subject", "version", "charset"]


@dataclass(frozen=True, slots=True)
class Dataset:
    """One dataset of the standard. Limits are in octets, not in characters."""

    id: str
    title: str
    is_repeatable: bool
    min_octets: int
    max_octets: int
    form: Form
    xmp_id: str | None
    """The property it is mapped to; a date and its time are mapped to one."""


CHARACTER_SET: Final = "1:90"

_ROWS: Final[tuple[tuple[str, str, bool, int, int, Form, str | None], ...]] = (
    (CHARACTER_SET, "Coded Character Set", False, 0, 32, "charset", None),
    ("2:00", "Record Version", False, 2, 2, "version", None),
    # Three digits, a colon, and up to 64 octets of text.
    ("2:04", "Object Attribute Reference", True, 4, 68, "genre", "Iptc4xmpCore:IntellectualGenre"),
    ("2:05", "Object Name", False, 0, 64, "text", "dc:title"),
    ("2:10", "Urgency", False, 1, 1, "digit", "photoshop:Urgency"),
    ("2:12", "Subject Reference", True, 13, 236, "subject", "Iptc4xmpCore:SubjectCode"),
    ("2:15", "Category", False, 0, 3, "text", "photoshop:Category"),
    ("2:20", "Supplemental Category", True, 0, 32, "text", "photoshop:SupplementalCategories"),
    ("2:25", "Keywords", True, 0, 64, "text", "dc:subject"),
    ("2:40", "Special Instructions", False, 0, 256, "text", "photoshop:Instructions"),
    ("2:55", "Date Created", False, 8, 8, "date", "photoshop:DateCreated"),
    ("2:60", "Time Created", False, 11, 11, "time", "photoshop:DateCreated"),
    ("2:62", "Digital Creation Date", False, 8, 8, "date", "xmp:CreateDate"),
    ("2:63", "Digital Creation Time", False, 11, 11, "time", "xmp:CreateDate"),
    ("2:65", "Originating Program", False, 0, 32, "text", None),
    ("2:70", "Program Version", False, 0, 10, "text", None),
    ("2:80", "By-line", True, 0, 32, "text", "dc:creator"),
    ("2:85", "By-line Title", True, 0, 32, "text", "photoshop:AuthorsPosition"),
    ("2:90", "City", False, 0, 32, "text", "photoshop:City"),
    ("2:92", "Sublocation", False, 0, 32, "text", "Iptc4xmpCore:Location"),
    ("2:95", "Province/State", False, 0, 32, "text", "photoshop:State"),
    ("2:100", "Country/Primary Location Code", False, 3, 3, "text", "Iptc4xmpCore:CountryCode"),
    ("2:101", "Country/Primary Location Name", False, 0, 64, "text", "photoshop:Country"),
    ("2:103", "Original Transmission Reference", False, 0, 32, "text", "photoshop:TransmissionReference"),
    ("2:105", "Headline", False, 0, 256, "text", "photoshop:Headline"),
    ("2:110", "Credit", False, 0, 32, "text", "photoshop:Credit"),
    ("2:115", "Source", False, 0, 32, "text", "photoshop:Source"),
    ("2:116", "Copyright Notice", False, 0, 128, "text", "dc:rights"),
    ("2:118", "Contact", True, 0, 128, "text", None),
    ("2:120", "Caption/Abstract", False, 0, 2000, "text", "dc:description"),
    ("2:122", "Writer/Editor", True, 0, 32, "text", "photoshop:CaptionWriter"),
)
DATASETS: Final[dict[str, Dataset]] = {row[0]: Dataset(*row) for row in _ROWS}
