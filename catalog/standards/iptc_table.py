"""
The rows of the IPTC Photo Metadata Standard: 66 properties, and 99 members of their 18 structures.

The rows themselves are ``iptc_properties.csv`` and ``iptc_members.csv`` beside this file.

Source: IPTC Photo Metadata Standard 2025.1 (approved 16 October 2025), IPTC Core 1.5 and Extension 1.9, and its
technical reference of 4 November 2025; facts, © IPTC, CC BY 4.0. See docs/standards/iptc.md.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from catalog.standards.xmp_names import Name, name

__all__ = ["ANY", "MEMBERS", "PROPERTIES", "Member", "Property", "limits_of", "member_of", "parts_of"]

# PMD 2025.1 §12.6.6: a region may hold any property of the standard. That row names none, so it is not written
# itself; ``member_of`` finds what stands for it.
ANY: Final = "any:any"


@dataclass(frozen=True, slots=True)
class Property:
    """One property of the standard, as its table gives it. ``iim_max_octets`` counts octets, not characters."""

    section: str
    title: str
    xmp_id: str
    value_type: str
    cardinality: str
    spec_section: str
    added_in: str
    category: str
    """External: a person may change it. Internal: only a program does (XMP part 1 §8.1)."""
    is_closed: bool
    """True when the standard lets it hold only values of a vocabulary."""
    struct: str | None
    iim_dataset: str | None
    iim_second_dataset: str | None
    iim_max_octets: int | None
    exif: str | None

    @property
    def name(self) -> Name:
        return name(self.xmp_id)


@dataclass(frozen=True, slots=True)
class Member:
    """One member of a structure of the standard."""

    struct: str
    title: str
    xmp_id: str
    value_type: str
    cardinality: str
    spec_section: str
    added_in: str
    category: str

    @property
    def name(self) -> Name:
        return name(self.xmp_id)

    @property
    def is_writable(self) -> bool:
        """False for the one row that names no field."""
        return self.xmp_id != ANY


def _rows(file_name: str) -> list[dict[str, str]]:
    with Path(__file__).with_name(file_name).open(encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


def _property(row: dict[str, str]) -> Property:
    struct = row["value_type"].rpartition("Struct<")[2].rstrip(">") if "Struct<" in row["value_type"] else None
    octets = row["iim_max_octets"]
    return Property(
        **{key: row[key] for key in ("section", "title", "xmp_id", "value_type", "cardinality", "spec_section")},
        added_in=row["added_in"],
        category=row["category"],
        is_closed=row["closed"] == "yes",
        struct=struct,
        iim_dataset=row["iim_dataset"] or None,
        iim_second_dataset=row["iim_second_dataset"] or None,
        iim_max_octets=int(octets) if octets else None,
        exif=row["exif"] or None,
    )


def _members() -> dict[str, dict[str, Member]]:
    members: dict[str, dict[str, Member]] = {}
    for row in _rows("iptc_members.csv"):
        members.setdefault(row["struct"], {})[row["xmp_id"]] = Member(**row)
    return members


PROPERTIES: Final[dict[str, Property]] = {row["xmp_id"]: _property(row) for row in _rows("iptc_properties.csv")}
MEMBERS: Final[dict[str, dict[str, Member]]] = _members()

# What the types of the standard come to in XMP: text, except where the text has a form.
_AS: Final = {"ProperName": "Text", "MIMEType": "Text", "URL": "URI"}


@cache
def parts_of(value_type: str) -> tuple[str, str]:
    """
    Return the outer and the inner part of a type.

    >>> parts_of("Bag<Struct<Location>>"), parts_of("ClosedChoice<Real>"), parts_of("URL")
    (('Bag', 'Struct<Location>'), ('Real', ''), ('URI', ''))
    """
    outer, _, inner = value_type.partition("<")
    inner = inner.removesuffix(">")
    return parts_of(inner) if outer == "ClosedChoice" else (_AS.get(outer, outer), inner)


def member_of(struct: str, xmp_id: str) -> Member | Property | None:
    """Return the row of a structure's member, or ``None``; in a region any property of the standard is one."""
    members = MEMBERS[struct]
    if xmp_id == ANY:
        return None
    return members.get(xmp_id) or (PROPERTIES.get(xmp_id) if ANY in members else None)


@cache
def limits_of(cardinality: str) -> tuple[int, int | None]:
    """Return the least and the most values of a cardinality; ``None`` is no limit."""
    least, dots, most = cardinality.partition("..")
    if not dots:
        return int(least), int(least)
    return int(least), None if most == "unbounded" else int(most)
