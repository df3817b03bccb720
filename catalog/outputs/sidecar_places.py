"""Places and buildings of a caption as IPTC's Location and Artwork or Object; what is doubtful keeps its doubt."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Final

from catalog.outputs.sidecar_captions import BuildingShown, PlaceNamed, is_certain, words_of
from catalog.standards.iptc import Plain, property_value
from catalog.standards.xmp import Name, Value, name

__all__ = ["place_properties"]

_EXT: Final = "Iptc4xmpExt:"
# Many frames show the same places and buildings: what was built once serves again.
_MANY: Final = 4096
_Properties = tuple[tuple[Name, Value], ...]


def place_properties(
    places: tuple[PlaceNamed, ...],
    focus: PlaceNamed | None,
    taken_from: PlaceNamed | None,
    buildings: tuple[BuildingShown, ...],
    language: str | None,
) -> _Properties:
    """Return the properties that say where a picture was taken, what places it shows, and which buildings."""
    stood = (taken_from,) if taken_from else ()
    return (
        *_locations("LocationCreated", stood, (), language),
        *_locations("LocationShown", places, buildings, language),
        *_artworks(buildings, language),
        *_legacy(focus if focus in places else None),
    )


@lru_cache(_MANY)
def _locations(
    prop: str, places: tuple[PlaceNamed, ...], buildings: tuple[BuildingShown, ...], language: str | None
) -> _Properties:
    plain = [*map(_location, places), *_sites(buildings)]
    return _property(f"{_EXT}{prop}", plain, language)


@lru_cache(_MANY)
def _artworks(buildings: tuple[BuildingShown, ...], language: str | None) -> _Properties:
    return _property(f"{_EXT}ArtworkOrObject", list(map(_artwork, buildings)), language)


@lru_cache(_MANY)
def _legacy(focus: PlaceNamed | None) -> _Properties:
    """
    Return the place that a picture is of in the fields of IPTC Core, which older readers know.

    They can name one place alone, and say nothing of doubt: where it is not sure they stay empty.
    """
    if focus is None:
        return ()
    members = _chain(focus)
    rows = (
        ("Iptc4xmpCore:Location", "Sublocation"), ("photoshop:City", "City"), ("photoshop:State", "ProvinceState"),
        ("photoshop:Country", "CountryName"),
    )  # fmt: skip
    return tuple(one for row, member in rows for one in _property(row, members[f"{_EXT}{member}"], None))


def _property(row: str, plain: Plain, language: str | None) -> _Properties:
    value = property_value(row, plain, language=language)
    return () if value is None else ((name(row), value),)


def _location(place: PlaceNamed) -> dict[str, Plain]:
    """
    Return a place as IPTC's Location; what is probably Osk is a location of that name and nothing more.

    Source: PMD 2025.1 §12.10. A hamlet is the sublocation of its village or parish; a county is the province.
    """
    if not is_certain(place.certainty):
        return {f"{_EXT}LocationName": words_of(place.name, place.certainty)}
    return {f"{_EXT}LocationName": place.name, **_chain(place), **_position(place)}


def _sites(buildings: Iterable[BuildingShown]) -> Iterator[dict[str, Plain]]:
    """
    Yield as a location of its own each certain building whose site is known to the degree, or that has an address.

    The village's own position is that of the village: it would put a map's pin in the wrong field.
    """
    for building in buildings:
        urls = [number.url for number in building.identifiers if number.url and is_certain(number.certainty)]
        if is_certain(building.certainty) and (building.site is not None or urls):
            site = building.site
            yield {
                f"{_EXT}LocationName": building.name,
                f"{_EXT}LocationId": urls,
                **({} if site is None else {**_chain(site), **_position(site)}),
            }


def _chain(place: PlaceNamed) -> dict[str, Plain]:
    """Return what a certain place is and lies in, as members of a Location."""
    chain = ((place.name, place.kind), *place.within)
    return {
        f"{_EXT}Sublocation": _nearest(chain, "hamlet") or (place.name if place.kind == "place" else None),
        f"{_EXT}City": _nearest(chain, "village", "town", "parish"),
        f"{_EXT}ProvinceState": _nearest(chain, "county"),
        f"{_EXT}CountryName": _nearest(chain, "country"),
    }


def _position(place: PlaceNamed) -> dict[str, Plain]:
    return {"exif:GPSLatitude": place.latitude_deg, "exif:GPSLongitude": place.longitude_deg}


def _nearest(chain: Iterable[tuple[str, str]], *kinds: str) -> str | None:
    return next((named for named, kind in chain if kind in kinds), None)


def _artwork(building: BuildingShown) -> dict[str, Plain]:
    """
    Return a building as IPTC's Artwork or Object; of a doubtful one the title in words, and nothing more.

    Source: PMD 2025.1 §12.1. A loose date goes to AOCircaDateCreated, which is free text.
    """
    title: dict[str, Plain] = {f"{_EXT}AOTitle": words_of(building.name, building.certainty)}
    if not is_certain(building.certainty):
        return title
    raised = building.raised
    known = next((number for number in building.identifiers if is_certain(number.certainty)), None)
    return title | {
        f"{_EXT}AOCreator": [maker.name for maker in building.makers if is_certain(maker.certainty)],
        f"{_EXT}AODateCreated": raised.plain if raised else None,
        f"{_EXT}AOCircaDateCreated": raised.words if raised and raised.plain is None else None,
        f"{_EXT}AOSource": known.scheme if known else None,
        f"{_EXT}AOSourceInvNo": known.number if known else None,
        f"{_EXT}AOSourceInvURL": known.url if known else None,
    }
