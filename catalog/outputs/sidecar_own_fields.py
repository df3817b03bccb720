"""
A caption in our own namespace: what no standard has a field for, above all doubt.

Every property and its meaning: docs/standards/tiebeam-namespace.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Final

from catalog.outputs.sidecar_captions import (
    BuildingShown,
    CaptionDate,
    Doubt,
    FrameCaption,
    FrameNumber,
    PlaceNamed,
    PrintEdition,
    is_certain,
    lens_words,
    words_of,
)
from catalog.standards.xmp import Name, Struct, Text, Value, seq, struct
from catalog.standards.xmp_tiebeam import tiebeam

__all__ = ["own_properties"]

_MANY: Final = 4096
_MARGIN: Final = 1.15
"""A scan whose pixels make more than this of what its file records was resized, or the record is wrong."""


def own_properties(caption: FrameCaption) -> dict[Name, Value]:
    """Return the properties of our namespace that a caption fills."""
    lens = caption.lens
    said: dict[str, str | Value | None] = {
        "Sheet": caption.reference,
        "Scan": caption.scan_reference,
        "Numbers": _our_numbers(caption.numbers),
        "Exposed": _our_date(caption.exposed),
        "Places": _our_places(caption.places),
        "TakenFrom": _our_place(caption.taken_from) if caption.taken_from else None,
        "Buildings": _our_buildings(caption.buildings),
        "Lens": words_of(lens_words(lens), lens.certainty) if lens else "",
        "Camera": caption.worded("camera"),
        "Film": caption.worded("film"),
        "FilmSpeed": _real(caption.film_iso if not caption.doubts_about("film") else None),
        "Format": caption.worded("film_format"),
        "Holder": caption.worded("holder"),
        "Medium": caption.worded("medium"),
        "Base": caption.worded("base"),
        "Tone": caption.worded("tone"),
        "Movements": caption.worded("movements"),
        "Extension": caption.worded("extension"),
        "Filter": caption.worded("filter"),
        "Development": caption.worded("development"),
        "SamplingPpi": _real(_true_ppi(caption)),
        "Doubts": _our_doubts(caption.doubts),
        "Chronicle": _chronicle(caption.buildings),
        "Editions": _several(map(_our_edition, caption.editions)),
    }
    return {tiebeam(local): _text(value) if isinstance(value, str) else value for local, value in said.items() if value}


def _ours(**members: str | Value | None) -> Struct:
    return struct({tiebeam(local): value for local, value in members.items()})


@lru_cache(_MANY)
def _text(text: str) -> Text:
    return Text(text)


def _several(items: Iterable[Value]) -> Value | None:
    listed = list(items)
    return seq(listed) if listed else None


def _real(number: float | None) -> str:
    return "" if number is None else f"{number:g}"


def _true_ppi(caption: FrameCaption) -> float | None:
    """Return the resolution by the size of the film, where the file records none or one that cannot be true."""
    recorded, worked_out = caption.file_ppi, caption.worked_out_ppi
    if worked_out is None or caption.doubts_about("film_format"):
        return None
    is_true = recorded is not None and max(recorded, worked_out) <= _MARGIN * min(recorded, worked_out)
    return None if is_true else worked_out


@lru_cache(_MANY)
def _our_doubts(doubts: tuple[Doubt, ...]) -> Value | None:
    return _several(
        _ours(
            Field=doubt.field,
            AsWritten=doubt.as_written,
            Certainty=doubt.certainty,
            Alternatives=_several(map(Text, doubt.alternatives)),
        )
        for doubt in doubts
    )


def _our_numbers(numbers: tuple[FrameNumber, ...]) -> Value | None:
    return _several(map(_our_number, numbers))


def _our_number(number: FrameNumber) -> Struct:
    certainty = "" if is_certain(number.certainty) else number.certainty
    return _ours(Number=number.number, Scheme=number.scheme, WrittenOn=number.written_on, Certainty=certainty)


def _our_edition(made: PrintEdition) -> Struct:
    return _ours(
        Edition=made.edition,
        Statement=made.statement,
        Run=made.run,
        PrintNumber=made.number,
        Process=made.process,
        Paper=made.paper,
        Size=made.size,
    )


@lru_cache(_MANY)
def _our_places(places: tuple[PlaceNamed, ...]) -> Value | None:
    return _several(map(_our_place, places))


@lru_cache(_MANY)
def _our_buildings(buildings: tuple[BuildingShown, ...]) -> Value | None:
    return _several(map(_our_building, buildings))


@lru_cache(_MANY)
def _chronicle(buildings: tuple[BuildingShown, ...]) -> Value | None:
    return _several(Text(line) for building in buildings for line in _chronicle_lines(building))


def _chronicle_lines(building: BuildingShown) -> Iterator[str]:
    """
    Yield what happened to a building, a line each, the date in words and, where those are not the same, as EDTF.

    >>> burned = CaptionDate(edtf="1957/1958", words="1957 to 1958")
    >>> list(_chronicle_lines(BuildingShown(name="Osk Mill", chronicle=((burned, "Wheel taken out."),))))
    ['Osk Mill, 1957 to 1958 (EDTF 1957/1958): Wheel taken out.']
    """
    named = words_of(building.name, building.certainty)
    for date, text in building.chronicle:
        when = "undated" if date is None else date.words
        edtf = "" if date is None or date.edtf == date.words else f" (EDTF {date.edtf})"
        yield f"{named}, {when}{edtf}: {text}"


@lru_cache(_MANY)
def _our_date(date: CaptionDate | None) -> Struct | None:
    if date is None:
        return None
    return _ours(
        Edtf=date.edtf,
        Words=date.words,
        AsWritten=date.as_written,
        Earliest=date.earliest,
        Latest=date.latest,
    )


@lru_cache(_MANY)
def _our_place(place: PlaceNamed) -> Struct:
    return _ours(
        Reference=place.reference,
        Name=place.name,
        Within=_several(Text(named) for named, _ in place.within),
        Certainty="" if is_certain(place.certainty) else place.certainty,
    )


def _our_building(building: BuildingShown) -> Struct:
    return _ours(
        Reference=building.reference,
        Name=building.name,
        Certainty="" if is_certain(building.certainty) else building.certainty,
        Elevation=building.elevation,
        Raised=_our_date(building.raised),
        Makers=_several(_ours(Name=m.name, Role=m.role, Certainty=m.certainty) for m in building.makers),
        Identifiers=_several(map(_our_number, building.identifiers)),
    )
