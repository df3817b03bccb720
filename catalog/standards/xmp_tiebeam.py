"""
Our own namespace as data: what has no field in any standard, one row a property or a member.

The URI and the rows are fixed for ever; rows may be added, never changed or taken back.
docs/standards/tiebeam-namespace.md is this table for a reader, and a test keeps the two alike.
"""

from __future__ import annotations

from typing import Final

from catalog.standards.xmp_names import TIEBEAM, Name

__all__ = ["MEMBERS", "PROPERTIES", "tiebeam"]

# (property, value type in the notation of XMP part 1, meaning)
PROPERTIES: Final = (
    ("Sheet", "Text", "reference of the sheet of film in its archive"),
    ("Scan", "Text", "reference of this scan in its archive"),
    ("Numbers", "Seq<Number>", "every number written for the sheet, the usual one first"),
    ("Exposed", "Date", "when the film was exposed, with its doubt"),
    ("Places", "Seq<Place>", "places the picture shows"),
    ("TakenFrom", "Place", "place the camera stood in"),
    ("Buildings", "Seq<Building>", "buildings the picture shows"),
    ("Lens", "Text", "lens in words"),
    ("Camera", "Text", "camera that the film was exposed in"),
    ("Film", "Text", "film stock, as far as known"),
    ("FilmSpeed", "Real", "ISO speed that the maker gives the film, whatever it was exposed for"),
    ("Format", "Text", "size of the film or plate"),
    ("Holder", "Text", "side of the film holder it was exposed in"),
    ("Medium", "Text", "what was scanned: sheet film, roll film, glass plate, lantern slide, print ..."),
    ("Base", "Text", "what carries the emulsion"),
    ("Tone", "Text", "black and white, colour ..."),
    ("Movements", "Text", "rise, shift, tilt and swing of the camera in words"),
    ("Extension", "Text", "distance from the lens to the film, where it was noted, in words: 300 mm"),
    ("Filter", "Text", "filter in front of the lens"),
    ("Development", "Text", "how the film was developed"),
    (
        "SamplingPpi",
        "Real",
        "pixels to the inch of film by its size, where the file records none or what cannot be true",
    ),
    ("Doubts", "Seq<Doubt>", "each fact that is not certain, as it was written"),
    ("Chronicle", "Seq<Text>", "what happened to the buildings, an entry a line"),
    ("Editions", "Seq<PrintEdition>", "prints made of the picture, each with its place in its edition"),
    ("WrittenBy", "Text", "program and version that wrote these properties"),
    (
        "Written",
        "Bag<Text>",
        "what that program wrote outside this namespace: the property and a check sum of each of its values, "
        "so that it takes back its own words and nobody else's",
    ),
)

MEMBERS: Final = {
    "Number": (
        ("Number", "Text", "the number, letter for letter"),
        ("Scheme", "Text", "numbering it belongs to"),
        ("WrittenOn", "Text", "where it is written: sleeve, film edge, card ..."),
        ("Certainty", "Text", "how sure it is, in words; absent when it is certain"),
    ),
    "Date": (
        ("Edtf", "Text", "the date in the Extended Date/Time Format of 4 February 2019"),
        ("Words", "Text", "the same in words"),
        ("AsWritten", "Text", "what the source of the date says, letter for letter"),
        ("Earliest", "Text", "earliest day it may be, YYYY-MM-DD; absent when there is no bound"),
        ("Latest", "Text", "latest day it may be, YYYY-MM-DD; absent when there is no bound"),
    ),
    "Place": (
        ("Reference", "Text", "reference of the place in its archive"),
        ("Name", "Text", "name at the time of the picture"),
        ("Within", "Seq<Text>", "what it belongs to, the nearest first"),
        ("Certainty", "Text", "how sure it is, in words; absent when it is certain"),
    ),
    "Building": (
        ("Reference", "Text", "reference of the building in its archive"),
        ("Name", "Text", "name at the time of the picture"),
        ("Certainty", "Text", "how sure it is, in words; absent when it is certain"),
        ("Elevation", "Text", "side that is shown, in words"),
        ("Raised", "Date", "when it was built"),
        ("Makers", "Seq<Maker>", "who designed or built it"),
        ("Identifiers", "Seq<Number>", "its numbers in the registers of others"),
    ),
    "Maker": (
        ("Name", "Text", "name"),
        ("Role", "Text", "architect, builder ..."),
        ("Certainty", "Text", "how sure it is, in words; absent when it is certain"),
    ),
    "Doubt": (
        ("Field", "Text", "the fact that is in doubt"),
        ("AsWritten", "Text", "how the source puts it, letter for letter"),
        ("Certainty", "Text", "how sure it is, in words"),
        ("Alternatives", "Seq<Text>", "what else it may be"),
    ),
    "PrintEdition": (
        ("Edition", "Text", "reference of the edition in its archive"),
        ("Statement", "Text", "what was declared of the edition, letter for letter"),
        ("Run", "Text", "what the number counts in, in words: of 15, artist's proofs"),
        ("PrintNumber", "Text", "the number as it stands on the print: 7/15, AP II/III"),
        ("Process", "Text", "how it was printed"),
        ("Paper", "Text", "what it is printed on"),
        ("Size", "Text", "its size in words"),
    ),
}

_NAMES: Final = {row[0]: Name(TIEBEAM, row[0]) for rows in (PROPERTIES, *MEMBERS.values()) for row in rows}


def tiebeam(local: str) -> Name:
    """Return a name of our namespace. Asking for one that is not in the table is a mistake of the program."""
    return _NAMES[local]
