"""
Which values are longer than IIM has room for. XMP has no such limits: nothing is cut here, and nothing refused.

Source: IIM 4.2 by the IPTC standard's own table (``iptc_properties.csv``); XMP part 3 (January 2020) §2.1.2: what IIM
holds of a language alternative is its default, cut at the limit in octets.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from catalog.standards.iptc_table import PROPERTIES
from catalog.standards.xmp_names import Name
from catalog.standards.xmp_values import Array, Simple, Value

__all__ = ["OverLimit", "over_iim"]


@dataclass(frozen=True, slots=True)
class OverLimit:
    """A value that a copy in IIM would be cut of: the property, its text, how many octets that is, and the limit."""

    name: Name
    text: str
    octets: int
    limit: int


# IIM has dates in a form of its own, never longer than its limit.
_LIMITS: Final = {
    row.name: row.iim_max_octets
    for row in PROPERTIES.values()
    if row.iim_max_octets is not None and row.value_type != "Date"
}


def over_iim(properties: Mapping[Name, Value]) -> tuple[OverLimit, ...]:
    """Return each text that is longer than its dataset in IIM, in octets of UTF-8."""
    return tuple(over for named, value in properties.items() if named in _LIMITS for over in _over(named, value))


def _over(named: Name, value: Value) -> Iterator[OverLimit]:
    limit = _LIMITS[named]
    for text in _copied(value):
        # No character takes more than four octets, so that most need not be counted.
        if len(text) * 4 > limit:
            octets = len(text.encode("utf-8", "surrogatepass"))
            if octets > limit:
                yield OverLimit(named, text, octets, limit)


def _copied(value: Value) -> Iterator[str]:
    """Yield the texts that IIM would hold of a value."""
    if isinstance(value, Simple):
        yield value.value
    elif isinstance(value, Array):
        default = next((item for item in value.items if (item.language or "").lower() == "x-default"), None)
        chosen = value.items if value.kind != "Alt" else (default,) if default else value.items[:1]
        yield from (item.value for item in chosen if isinstance(item, Simple))
