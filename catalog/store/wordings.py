"""Which wordings of doubt are in force: those that no later, certain wording of the same field has settled."""

from __future__ import annotations

IN_FORCE = (
    "w.certainty <> 'certain' AND NOT EXISTS (SELECT 1 FROM wording later WHERE later.about = w.about"
    " AND later.about_id = w.about_id AND later.field = w.field AND later.id > w.id AND later.certainty = 'certain')"
)
"""The condition for a row ``w`` of ``wording``. Settled ones stay, and ``show`` still tells them."""
