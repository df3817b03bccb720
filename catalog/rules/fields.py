"""Which fields of a record are written by hand: their words on the card, and how what is typed for them is read."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.rules.compass import COMPASS
from catalog.rules.vocabulary import (
    CERTAINTIES,
    CHRONICLE_KINDS,
    FATES,
    FILM_BASES,
    FILM_TONES,
    MEDIUMS,
    PARTS,
    PERSON_KINDS,
    POLARITIES,
)  # fmt: skip

WORDS, LINES, EVENT, STATE, RECORD, WHO, MEASURE, CHOICE, YES_NO, SIDE, SUBJECT = (
    "words", "lines", "event", "state", "record", "who", "measure", "choice", "yes or no", "side", "subject",
)  # fmt: skip
"""
How what is typed is read: as it is, on one line or several; as the date of an event or of a state; as the name of a
record; as a person known or else as words; as a number; as one of a few words; as yes or no; as a side by the
compass; as a building or place that a view shows.
"""


@dataclass(frozen=True, slots=True)
class Field:
    """
    A field that can be written. ``name`` is what the actions call it, ``label`` its word on the card.

    ``of`` is the table that a record is sought in, or how a number is read (``seconds``, ``aperture``); ``choices``
    are the words it may hold, where these are few. ``group`` is the heading it stands under.
    """

    name: str
    label: str
    sort: str = WORDS
    of: str = ""
    choices: tuple[str, ...] = ()
    group: str = ""
    is_private: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """
    What belongs to a record in rows of its own: its table, the column that says whose it is, and its heading.

    ``another`` is the label of the line on which one more is written.
    """

    table: str
    owner_column: str
    heading: str
    another: str


_SPAN = (Field("from_", "from", EVENT), Field("until", "until", EVENT))
_SOURCE = Field("source_id", "source", RECORD, "source")
_POSITION = (Field("latitude_deg", "latitude", MEASURE), Field("longitude_deg", "longitude", MEASURE))
_KIT = (Field("name", "name"), Field("maker", "maker"))
_KNOWN = (Field("known_from", "known from", STATE), Field("known_until", "known until", STATE))
_EXPOSURE, _KEEPING = "exposure", "film and keeping"

FIELDS: dict[str, tuple[Field, ...]] = {
    "sheet": (
        Field("exposed", "exposed", EVENT, group=_EXPOSURE),
        Field("lens_id", "lens", RECORD, "lens", group=_EXPOSURE),
        Field("aperture_f", "aperture f/", MEASURE, "aperture", group=_EXPOSURE),
        Field("shutter_s", "shutter s", MEASURE, "seconds", group=_EXPOSURE),
        Field("filter", "filter", group=_EXPOSURE),
        Field("rise_mm", "rise mm", MEASURE, group=_EXPOSURE),
        Field("shift_mm", "shift mm", MEASURE, group=_EXPOSURE),
        Field("tilt_deg", "tilt deg", MEASURE, group=_EXPOSURE),
        Field("swing_deg", "swing deg", MEASURE, group=_EXPOSURE),
        Field("extension_mm", "extension mm", MEASURE, group=_EXPOSURE),
        Field("camera_id", "camera", RECORD, "camera", group=_EXPOSURE),
        Field("film_id", "film", RECORD, "film_stock", group=_EXPOSURE),
        Field("development", "development", group=_EXPOSURE),
        Field("lab_id", "lab", RECORD, "person", group=_KEEPING),
        Field("docket", "docket", group=_KEEPING),
        Field("roll_id", "roll", RECORD, "roll", group=_KEEPING),
        Field("frame", "frame", group=_KEEPING),
        Field("medium", "medium", CHOICE, choices=MEDIUMS, group=_KEEPING),
        Field("base", "base", group=_KEEPING),
        Field("format", "format", group=_KEEPING),
        Field("holder_side", "holder side", group=_KEEPING),
        Field("box", "box", group=_KEEPING),
        Field("sleeve", "sleeve", group=_KEEPING),
        Field("fate", "fate", CHOICE, choices=FATES, group=_KEEPING),
        Field("fate_date", "fate since", EVENT, group=_KEEPING),
        Field("condition", "condition", group=_KEEPING),
        Field("copied_from_id", "copied from", RECORD, "sheet", group=_KEEPING),
    ),
    "sheet_number": (Field("text", "number"), Field("scheme", "scheme"), Field("written_on", "written on")),
    "sheet_view": (Field("view_id", "holds", RECORD, "view"),),
    "view": (
        Field("title", "title"),
        Field("standpoint_id", "standpoint", RECORD, "standpoint"),
        Field("visit_id", "visit", RECORD, "visit"),
    ),
    "view_subject": (
        Field("subject", "shows", SUBJECT, "subject"),
        Field("certainty", "how sure", CHOICE, choices=CERTAINTIES),
        Field("elevation", "side", SIDE, choices=COMPASS),
        Field("part", "part", CHOICE, choices=PARTS),
        Field("is_principal", "principal", YES_NO, choices=("yes", "no")),
    ),
    "building": (Field("name", "name"), Field("kind", "kind"), Field("identifier", "identifier")),
    "building_name": (Field("name", "name"), *_SPAN, _SOURCE),
    "building_site": (
        Field("place_id", "at", RECORD, "place"), *_SPAN, Field("words", "where"), *_POSITION, _SOURCE,
    ),
    "elevation": (
        Field("compass", "side", SIDE, choices=COMPASS), Field("name", "name"),
        Field("bearing_deg", "bearing deg", MEASURE), *_SPAN,
    ),
    "chronicle_entry": (
        Field("text", "what"), Field("kind", "kind", CHOICE, choices=CHRONICLE_KINDS), Field("date", "date", EVENT),
        Field("doer", "by", WHO, "person"), _SOURCE,
    ),
    "place": (Field("name", "name"), Field("kind", "kind"), *_POSITION),
    "place_name": (Field("name", "name"), *_SPAN, Field("note", "remark"), _SOURCE),
    "place_parent": (Field("parent_id", "belonged to", RECORD, "place"), *_SPAN, _SOURCE),
    "visit": (
        Field("date", "date", EVENT), Field("place_id", "place", RECORD, "place"), Field("light", "light"),
        Field("weather", "weather"), Field("company", "company"), Field("said", "what was said"),
    ),
    "standpoint": (
        Field("words", "where"), Field("place_id", "place", RECORD, "place"), *_POSITION,
        Field("height_m", "height m", MEASURE), Field("alignments", "alignments"),
    ),
    "roll": (
        Field("name", "name"), Field("film_id", "film", RECORD, "film_stock"),
        Field("camera_id", "camera", RECORD, "camera"), Field("docket", "docket"), Field("development", "development"),
    ),
    "lens": (
        *_KIT, Field("focal_length_mm", "focal length mm", MEASURE),
        Field("widest_f_number", "widest f number", MEASURE, "aperture"),
        Field("coverage_deg", "coverage deg", MEASURE), *_KNOWN,
    ),
    "camera": (
        *_KIT, Field("format", "format"), Field("opening_width_mm", "opening width mm", MEASURE),
        Field("opening_height_mm", "opening height mm", MEASURE), *_KNOWN,
    ),
    "film_stock": (
        *_KIT, Field("tones", "tones", CHOICE, choices=FILM_TONES), Field("iso", "iso", MEASURE),
        Field("base", "base", CHOICE, choices=FILM_BASES), *_KNOWN,
    ),
    "person": (
        Field("name", "name"), Field("kind", "kind", CHOICE, choices=PERSON_KINDS), Field("role", "role"),
        Field("address", "address", LINES, is_private=True), Field("contact", "contact", is_private=True),
    ),
    "source": (
        Field("title", "title"), Field("kind", "kind"), Field("author", "author"),
        Field("published", "published", EVENT), Field("kept_at", "kept at"),
    ),
    "open_question": (
        Field("text", "question", LINES), Field("ask", "whom to ask", WHO, "person"), Field("answer", "answer", LINES),
    ),
    # What the header of its file says is read from there, and read anew when the file changes.
    "scan": (
        Field("scanned", "scanned", EVENT), Field("polarity", "polarity", CHOICE, choices=POLARITIES),
        Field("is_reversed", "reversed", YES_NO, choices=("yes", "no")),
    ),
    "edit_version": (
        Field("purpose", "purpose"), Field("note", "remark", LINES), Field("made", "made", EVENT),
        Field("made_with", "made with"), Field("replaces_id", "replaces", RECORD, "edit_version"),
    ),
    "note": (
        Field("text", "note", LINES), Field("heading", "heading"), Field("said_by_id", "says who", RECORD, "person"),
        _SOURCE,
    ),
}  # fmt: skip
"""The fields of each table, in the order in which a card has them."""

PARTS_OF: dict[str, tuple[Part, ...]] = {
    "sheet": (Part("sheet_number", "sheet_id", "numbers", "another number"),),
    "view": (Part("view_subject", "view_id", "shows", "also shows"),),
    "building": (
        Part("building_name", "building_id", "other names", "another name"),
        Part("building_site", "building_id", "sites", "also stood at"),
        Part("elevation", "building_id", "elevations", "another side"),
        Part("chronicle_entry", "building_id", "chronicle", "another entry"),
    ),
    "place": (
        Part("place_name", "place_id", "other names", "another name"),
        Part("place_parent", "place_id", "belonged to", "also belonged to"),
    ),
}
"""What belongs to a record in rows of its own; the first field of such a row makes a new one."""
