"""The closed lists of words the catalogue knows; the database checks the same ones."""

from __future__ import annotations

CHRONICLE_KINDS = (
    "raised", "enlarged", "altered", "clad", "restored", "moved", "turned", "damaged", "burned",
    "fell into ruin", "razed", "recorded", "changed use", "other",
)  # fmt: skip
MEDIUMS = ("negative", "transparency", "glass plate", "lantern slide", "copy negative", "print")
FATES = (
    "exposed", "blank", "doubly exposed", "fogged", "with lab", "lost at lab", "not returned", "destroyed",
)  # fmt: skip
CERTAINTIES = ("certain", "probable", "possible")
PARTS = ("elevation", "interior", "detail", "surroundings")
PERSON_KINDS = ("person", "firm")
KIT_KINDS = ("lens", "camera", "film_stock")
FILM_TONES = ("black and white", "colour negative", "transparency")
POLARITIES = ("negative", "positive")
FILM_BASES = ("nitrate", "acetate", "polyester", "glass", "paper")
