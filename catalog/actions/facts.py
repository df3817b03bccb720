"""Which facts can be kept: the closed lists of words, the measures that can be, the names that are needed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from catalog.errors import RefusedError
from catalog.model import Base, RecordedDate
from catalog.rules.fields import CHOICE, FIELDS, SIDE
from catalog.rules.vocabulary import CERTAINTIES

_VOCABULARY: dict[tuple[str, str], tuple[str, ...]] = {
    **{(table, one.name): one.choices for table in FIELDS for one in FIELDS[table] if one.sort in (CHOICE, SIDE)},
    ("view", "standpoint_certainty"): CERTAINTIES,
    ("wording", "certainty"): CERTAINTIES,
}
_ABOVE_NOUGHT = {
    "aperture_f", "shutter_s", "extension_mm", "height_m", "focal_length_mm", "widest_f_number", "iso",
    "opening_width_mm", "opening_height_mm",
}  # fmt: skip
_WITHIN = {
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "bearing_deg": (0.0, 359.999999),
    "coverage_deg": (0.000001, 179.999999),
}


def check_facts(kind: type[Base], facts: Mapping[str, Any]) -> dict[str, Any]:
    """
    Return facts fit to be kept in ``kind``: text without white space at its ends, empty text as nothing.

    Raises:
        RefusedError: one of them cannot be so; the sentence says which, and what it may be.
    """
    return {field: _fit(kind, field, value) for field, value in facts.items()}


def _fit(kind: type[Base], field: str, value: Any) -> Any:
    if isinstance(value, str):
        value = value.strip() or None
    said = f"{kind.__tablename__.replace('_', ' ')}: {in_words(field)}"
    column = kind.__table__.c.get(field)  # a date is five columns, none of them needed
    if value is None and column is not None and not column.nullable:
        raise RefusedError(f"{said} is needed and was given empty. Nothing was changed.")
    known = _VOCABULARY.get((kind.__tablename__, field))
    if known and value is not None and value not in known:
        raise RefusedError(f"{said} {value!r} is none of: {', '.join(known)}.")
    if isinstance(value, float | int) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise RefusedError(f"{said} {value} is no measure.")
        if field in _ABOVE_NOUGHT and value <= 0:
            raise RefusedError(f"{said} {value:g} should be more than nought.")
        low, high = _WITHIN.get(field, (-math.inf, math.inf))
        if not low <= value <= high:
            raise RefusedError(f"{said} {value:g} should lie between {low:g} and {high:g}.")
    return value


def check_order(from_: RecordedDate | None, until: RecordedDate | None) -> None:
    """Refuse a stretch of time that surely ends before it begins."""
    begins, ends = (date.date if date else None for date in (from_, until))
    if begins and ends and ends.surely_before(begins):
        raise RefusedError(f"It would end ({ends.text}) before it begins ({begins.text}). Nothing was changed.")


def in_words(field: str) -> str:
    """
    Return a field as a sentence names it.

    >>> in_words("focal_length_mm"), in_words("from_"), in_words("lens_id")
    ('focal length (mm)', 'from', 'lens')
    """
    words = field.strip("_").removesuffix("_id")
    for unit in ("mm", "deg", "s", "m", "f"):
        if words.endswith(f"_{unit}"):
            words = f"{words.removesuffix(f'_{unit}')} ({unit})" if unit != "f" else words.removesuffix("_f")
            break
    return words.removeprefix("is_").replace("_", " ")
