"""
The IPTC Photo Metadata Standard: the door to its table, and to reading, writing and checking its values.

One row a property, one row a member of a structure. See docs/standards/iptc.md, and
docs/standards/iptc-coverage.md for what other readers make of each row as we write it.
"""

from __future__ import annotations

from catalog.standards.iptc_read import Shape, read_property
from catalog.standards.iptc_table import MEMBERS, PROPERTIES, Member, Property
from catalog.standards.iptc_validate import Finding, validate
from catalog.standards.iptc_vocabularies import DIGITAL_SOURCE_TYPES
from catalog.standards.iptc_write import Plain, member_value, property_value, write_property

__all__ = [
    "DIGITAL_SOURCE_TYPES",
    "MEMBERS",
    "PROPERTIES",
    "Finding",
    "Member",
    "Plain",
    "Property",
    "Shape",
    "member_value",
    "property_value",
    "read_property",
    "validate",
    "write_property",
]
