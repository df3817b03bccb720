"""From the catalogue's rows to the caption of a scan: what may be told, with every doubt kept."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Literal

from catalog.dates import format_words, iso_day, parse_edtf, truncated_iso
from catalog.outputs.sidecar_captions import (
    BuildingShown,
    CaptionDate,
    Doubt,
    FrameCaption,
    FrameNumber,
    LensUsed,
    Maker,
    PlaceKind,
    PlaceNamed,
    words_of,
)
from catalog.store.captions import Bounds, Gazette, SaidOfSheets, ScanToCaption, ShownSubject

_KINDS: tuple[PlaceKind, ...] = ("hamlet", "village", "town", "parish", "county", "country")
_REMARKS = ("Remarks", "remarks", "title", None)
"""Notes under these headings are captions; others (ticks, dockets) are the desk's own business."""
# A wording about one of these is already told by the certainty of what is shown.
_TOLD_ELSEWHERE = {"building", "village", "elevation", "taken_from"}


@dataclass(frozen=True, slots=True)
class Rights:
    """What the archive's settings say of every picture."""

    photographer: str
    notice: str
    usage_terms: str
    language: str


def make_caption(scan: ScanToCaption, said: SaidOfSheets, gazette: Gazette, rights: Rights) -> FrameCaption:
    """Return the caption of one scan of one sheet. Private facts have no way in."""
    when = _Days.of(scan.exposed_edtf)
    subjects = said.subjects.get(scan.sheet_id, [])
    numbers = tuple(FrameNumber(number=n, scheme=s, written_on=w) for n, s, w in said.numbers.get(scan.sheet_id, ()))
    buildings = _buildings(subjects, gazette, when)
    places = _places(subjects, gazette, when)
    doubts = tuple(
        Doubt(field=field, as_written=written, certainty=certainty, alternatives=tuple(json.loads(others or "[]")))
        for field, written, certainty, others in said.wordings.get(scan.sheet_id, ())
        if field not in _TOLD_ELSEWHERE or not (buildings or places)
    )
    titles = [subject.title for subject in subjects if subject.title]
    return FrameCaption(
        reference=f"S{scan.sheet_id}",
        scan_reference=f"C{scan.scan_id}",
        file_name=scan.path.rpartition("/")[2],
        numbers=numbers,
        title=titles[0] if titles else _title(buildings, places, scan),
        description="\n".join(text for heading, text in said.notes.get(scan.sheet_id, ()) if heading in _REMARKS),
        language=rights.language,
        creators=(rights.photographer,) if rights.photographer else (),
        rights=rights.notice,
        usage_terms=rights.usage_terms,
        keywords=_keywords(buildings, places, said.notes.get(scan.sheet_id, ())),
        exposed=_caption_date(scan.exposed_edtf, scan.exposed_words),
        scanned_on=_plain(scan.scanned_edtf) or "",
        places=places,
        taken_from=_taken_from(said, scan.sheet_id, gazette, when),
        buildings=buildings,
        lens=_lens(scan),
        aperture=scan.aperture_f,
        shutter_s=scan.shutter_s,
        film=scan.film_name or "",
        film_format=scan.format or "",
        medium=scan.medium or "",
        polarity=_polarity(scan),
        base=scan.base or scan.film_base or "",
        tone=scan.film_tones or "",
        scanner_make=scan.device_maker or "",
        scanner_model=scan.device_model or "",
        movements=_movements(scan),
        filter=scan.filter or "",
        development=scan.development or "",
        doubts=doubts,
    )


@dataclass(frozen=True, slots=True)
class _Days:
    earliest: int | None
    latest: int | None

    @classmethod
    def of(cls, edtf: str | None) -> _Days:
        date = parse_edtf(edtf) if edtf else None
        return cls(date.earliest, date.latest) if date else cls(None, None)

    def may_meet(self, bounds: Bounds) -> bool:
        """Return True unless what ``bounds`` tells was over, or not yet begun, at this time."""
        too_early = self.latest is not None and bounds.lo is not None and self.latest < bounds.lo
        too_late = self.earliest is not None and bounds.hi is not None and self.earliest > bounds.hi
        return not too_early and not too_late

    def lies_within(self, bounds: Bounds) -> bool:
        """Return True if all of this time lies within what ``bounds`` tells, both of whose ends are known."""
        known = None not in (self.earliest, self.latest, bounds.hi)
        return known and self.may_meet(bounds) and self.latest <= bounds.hi  # type: ignore[operator]


def _name_then(now: str, former: list[Bounds], when: _Days) -> str:
    """Return the name of the time: a former one only where the frame surely lies while it was used."""
    return next((str(name.value) for name in former if name.lo is not None and when.lies_within(name)), now)


def _place(place_id: int, gazette: Gazette, when: _Days, certainty: str) -> PlaceNamed:
    return PlaceNamed(
        name=_name_then(gazette.place_names[place_id], gazette.former_places.get(place_id, []), when),
        kind=_kind(gazette, place_id),
        reference=f"L{place_id}",
        within=tuple((gazette.place_names[above], _kind(gazette, above)) for above in _above(place_id, gazette, when)),
        certainty=certainty,
    )


def _kind(gazette: Gazette, place_id: int) -> PlaceKind:
    kind = gazette.place_kinds.get(place_id)
    return next((known for known in _KINDS if known == kind), "place")


def _above(place_id: int, gazette: Gazette, when: _Days) -> list[int]:
    """Return what a place belonged to at the time, nearest first."""
    found: list[int] = []
    waiting = [place_id]
    while waiting:
        for parent in gazette.parents.get(waiting.pop(0), []):
            above = int(parent.value)
            if when.may_meet(parent) and above not in found:
                found.append(above)
                waiting.append(above)
    return found


def _places(subjects: list[ShownSubject], gazette: Gazette, when: _Days) -> tuple[PlaceNamed, ...]:
    """Return the places shown: named themselves, or where a building shown stood at the time."""
    found: dict[int, str] = {}
    for subject in subjects:
        if subject.place_id is not None:
            found.setdefault(subject.place_id, subject.certainty)
        if subject.building_id is not None:
            sites = [site for site in gazette.sites.get(subject.building_id, []) if when.may_meet(site)]
            for site in sites:
                # Two sites that the date cannot tell apart are both only possible.
                certainty = subject.certainty if len(sites) == 1 else "possible"
                if found.get(int(site.value)) != "certain":
                    found[int(site.value)] = certainty
    return tuple(_place(place_id, gazette, when, certainty) for place_id, certainty in found.items())


def _buildings(subjects: list[ShownSubject], gazette: Gazette, when: _Days) -> tuple[BuildingShown, ...]:
    found = []
    for subject in subjects:
        if subject.building_id is None:
            continue
        number = subject.building_id
        edtf, words, doer = gazette.raised.get(number, (None, None, None))
        register = gazette.identifiers.get(number)
        found.append(
            BuildingShown(
                name=_name_then(gazette.building_names[number], gazette.former_buildings.get(number, []), when),
                reference=f"B{number}",
                certainty=subject.certainty,
                elevation=subject.elevation or "",
                raised=_caption_date(edtf, words),
                makers=(Maker(name=doer),) if doer else (),
                identifiers=(FrameNumber(number=register),) if register else (),
            )
        )
    return tuple(found)


def _taken_from(said: SaidOfSheets, sheet_id: int, gazette: Gazette, when: _Days) -> PlaceNamed | None:
    standing = said.standpoints.get(sheet_id, [])
    if not standing:
        return None
    words, place_id, certainty = standing[0]
    if place_id is None:
        return PlaceNamed(name=words, certainty=certainty)
    place = _place(place_id, gazette, when, certainty)
    return PlaceNamed(
        name=words, kind="place", within=((place.name, place.kind), *place.within), certainty=certainty
    )


def _caption_date(edtf: str | None, words: str | None) -> CaptionDate | None:
    if edtf is None:
        return None
    date = parse_edtf(edtf)
    return CaptionDate(
        edtf=edtf, words=format_words(date), as_written=words or "", plain=truncated_iso(date),
        earliest=iso_day(date.earliest) or "", latest=iso_day(date.latest) or "",
    )  # fmt: skip


def _plain(edtf: str | None) -> str | None:
    return truncated_iso(parse_edtf(edtf)) if edtf else None


def _lens(scan: ScanToCaption) -> LensUsed | None:
    if scan.lens_name is None:
        return None
    return LensUsed(name=scan.lens_name, maker=scan.lens_maker or "", focal_length_mm=scan.focal_length_mm)


def _polarity(scan: ScanToCaption) -> Literal["negative", "positive", "print"] | None:
    """Return what was scanned: a print, a transparency (positive film), or negative film; ``None`` when not known."""
    if scan.medium == "print":
        return "print"
    if scan.medium in ("transparency", "lantern slide") or (scan.medium is None and scan.film_tones == "transparency"):
        return "positive"
    if scan.medium in ("negative", "copy negative") or scan.film_tones in ("black and white", "colour negative"):
        return "negative"
    return None


def _movements(scan: ScanToCaption) -> str:
    moved = (("rise", scan.rise_mm, "mm"), ("shift", scan.shift_mm, "mm"), ("tilt", scan.tilt_deg, "°"), ("swing", scan.swing_deg, "°"))  # fmt: skip
    return ", ".join(f"{name} {value:g} {unit}".replace(" °", "°") for name, value, unit in moved if value)


def _title(buildings: tuple[BuildingShown, ...], places: tuple[PlaceNamed, ...], scan: ScanToCaption) -> str:
    """Return a title made of what is shown, doubt and all."""
    names = [
        words_of(f"{b.name}, {b.elevation} elevation" if b.elevation else b.name, b.certainty) for b in buildings
    ] or [words_of(place.name, place.certainty) for place in places]
    return " and ".join(dict.fromkeys(names)) or (f"({scan.fate})" if scan.fate != "exposed" else "")


def _keywords(
    buildings: tuple[BuildingShown, ...], places: tuple[PlaceNamed, ...], notes: list[tuple[str | None, str]] | tuple[()]
) -> tuple[str, ...]:
    typed = [word.strip() for heading, text in notes if heading == "keywords" for word in text.split(";")]
    above = [name for place in places for name, _ in place.within]
    return tuple(dict.fromkeys([*typed, *(b.name for b in buildings), *(p.name for p in places), *above]))
