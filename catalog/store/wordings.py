"""Which wordings of doubt are in force: those that no later, certain wording of the same field has settled."""

from __future__ import annotations

IN_FORCE = (
    "w.certainty <> 'certain' AND NOT EXISTS (SELECT 1 FROM wording later WHERE later.about = w.about"
    " AND later.about_id = w.about_id AND later.field = w.field AND later.id > w.id AND later.certainty = 'certain')"
)
"""The condition for a row ``w`` of ``wording``. Settled ones stay, and ``show`` still tells them."""


def in_doubt(about: str, about_id: str, field: str) -> str:
    """Return the condition that a field of a record, whose id is the column ``about_id``, is in doubt."""
    return (
        f"EXISTS (SELECT 1 FROM wording w WHERE w.about = '{about}' AND w.about_id = {about_id}"
        f" AND w.field = '{field}' AND {IN_FORCE})"
    )
