"""From the catalogue's rows to the caption of a scan: what may be told, with every doubt kept."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from typing import Final, Literal

from catalog.dates import parse_edtf, truncated_iso
from catalog.outputs.caption_gazette import GazetteThen, caption_date
from catalog.outputs.caption_house import House
from catalog.outputs.caption_words import join_captions, side_words, title_of, what_is_sure
from catalog.outputs.sidecar_captions import (
    BuildingShown,
    Doubt,
    FrameCaption,
    FrameNumber,
    LensUsed,
    PlaceNamed,
    PrintEdition,
)
from catalog.rules.doubt import CERTAIN, POSSIBLE, parse_doubt
from catalog.rules.folding import fold
from catalog.rules.privacy import PrivateWords
from catalog.standards.identity import document_id, instance_id
from catalog.store.captions import Gazette, SaidOfSheets, ScanToCaption, ShownSubject, WordedDoubt

__all__ = ["CaptionMaker", "House"]

_TOLD: Final = {
    "exposed": "exposed", "lens": "lens", "aperture_f": "aperture", "aperture": "aperture", "shutter_s": "shutter",
    "shutter": "shutter", "filter": "filter", "camera": "camera", "holder_side": "holder", "film": "film",
    "format": "film_format", "medium": "medium", "base": "base", "development": "development",
    "building": "building", "village": "place",
    "place": "place", "elevation": "elevation", "subject": "shows", "shows": "shows", "standpoint": "taken_from",
    "taken_from": "taken_from", "number": "number", "old_number": "number", "title": "title",
}  # fmt: skip
"""
Doubts that a sidecar tells, and the caption's word for what each is about.

Others (docket, lab, box, sleeve, fate ...) are the desk's own business; in case of doubt nothing leaves the house.
"""
_KEYWORDS: Final = "keywords"
"""The heading under which the card index keeps keywords."""
_EXPOSED_FOR: Final = frozenset(map(fold, ("exposure index", "EI", "exposed for ISO", "film speed used", "rated at")))
"""Headings of notes that tell the speed a film was exposed for; what the maker gives it is a fact of the film."""


class CaptionMaker:
    """
    Makes captions of rows. Places and buildings, once found, are kept.

    Whatever a person typed freely is looked through for private facts first (rule 7): a note, a title or a
    keyword that names a person is not told, except for the photographer and the makers of buildings.
    """

    def __init__(self, gazette: Gazette, house: House) -> None:
        self.house = house
        makers = (raising.doer for raising in gazette.raisings.values() if raising.doer)
        known = (*gazette.place_names.values(), *gazette.building_names.values())
        self._private = PrivateWords(gazette.private, (house.photographer, *makers, *known))
        self.then = GazetteThen(gazette, self._public)

    def caption(self, scans: list[ScanToCaption], said: SaidOfSheets) -> FrameCaption:
        """Return the caption of one scan, whose sheets are ``scans``: one, or several that it shows together."""
        return join_captions([self._of_sheet(scan, said) for scan in scans])

    def _of_sheet(self, scan: ScanToCaption, said: SaidOfSheets) -> FrameCaption:
        time, house = scan.time, self.house
        subjects = said.subjects.get(scan.sheet_id, [])
        doubts = tuple(self._doubts(said.doubts.get(scan.sheet_id, ())))
        places = self.then.places_shown(subjects, time)
        buildings = tuple(self._buildings(subjects, scan, doubts))
        notes = self._notes(said.notes.get(scan.sheet_id, ()))
        public = [text for heading, text in notes if heading in house.public_notes]
        stood = [one for one in said.standpoints.get(scan.sheet_id, ()) if self._public(one.words)]
        written = [tuple(map(self._public, one)) for one in said.numbers.get(scan.sheet_id, ())]
        return FrameCaption(
            reference=f"S{scan.sheet_id}",
            scan_reference=f"C{scan.scan_id}",
            file_name=scan.path.rpartition("/")[2],
            numbers=tuple(_numbers(written, doubts)),
            title=self._title(subjects, buildings, places, scan),
            description=_description(buildings, places, scan.fate, public, self._public(scan.region)),
            language=house.language or None,
            creators=(house.photographer,) if house.photographer else (),
            rights=house.notice,
            usage_terms=house.usage_terms,
            keywords=self._keywords(buildings, places, [text for heading, text in notes if heading == _KEYWORDS]),
            exposed=caption_date(scan.exposed_edtf, self._public(scan.exposed_words)),
            scanned_on=(truncated_iso(parse_edtf(scan.scanned_edtf)) or "") if scan.scanned_edtf else "",
            places=places,
            taken_from=self.then.taken_from(stood, time),
            buildings=buildings,
            lens=_lens(scan),
            aperture=scan.aperture_f,
            shutter_s=scan.shutter_s,
            film=scan.film_name or "",
            film_format=scan.format or "",
            medium=scan.medium or "",
            polarity=_polarity(scan, house.medium),
            base=scan.base or scan.film_base or "",
            tone=scan.film_tones or "",
            scanner_make=scan.device_maker or "",
            scanner_model=scan.device_model or "",
            movements=_movements(scan),
            filter=self._public(scan.filter),
            development=self._public(scan.development),
            doubts=doubts,
            licence=house.licence,
            focus=self.then.focus(subjects, places, time),
            document_id=document_id(scan.picture_sha256 or scan.sha256),
            instance_id=instance_id(scan.sha256),
            file_ppi=scan.recorded_ppi,
            worked_out_ppi=scan.worked_out_ppi,
            exposure_index=_exposure_index(notes),
            film_iso=scan.film_iso,
            camera=_named(scan.camera_name, scan.camera_maker),
            holder=self._public(scan.holder_side),
            extension=f"{scan.extension_mm:g} mm" if scan.extension_mm else "",
            editions=tuple(
                PrintEdition(
                    edition=one.edition, statement=self._public(one.statement), run=self._public(one.run),
                    number=one.number, process=self._public(one.process), paper=self._public(one.paper),
                    size=self._public(one.size),
                )
                for one in said.prints.get(scan.sheet_id, ())
            ),
        )  # fmt: skip

    def _public(self, text: str | None) -> str:
        """Return a text if it gives away nothing private, else nothing."""
        return "" if text is None or self._private.finds(text) else text

    def _notes(self, notes: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
        return [(fold(heading), text) for heading, text in notes if self._public(text)]

    def _doubts(self, worded: Iterable[WordedDoubt]) -> Iterator[Doubt]:
        for one in worded:
            field = _TOLD.get(one.field)
            if field is not None:
                choices = _choices(field, one.alternatives)
                if any(map(self._private.finds, (one.as_written, *choices))):
                    # That it is in doubt is told; the words are not, since they name a person.
                    yield Doubt(field=field, as_written="", certainty=one.certainty)
                else:
                    yield Doubt(field=field, as_written=one.as_written, certainty=one.certainty, alternatives=choices)

    def _buildings(
        self, subjects: Iterable[ShownSubject], scan: ScanToCaption, doubts: tuple[Doubt, ...]
    ) -> Iterator[BuildingShown]:
        """Yield each building shown once, with all its sides."""
        unsure_side = any(doubt.field == "elevation" for doubt in doubts)
        sides: dict[tuple[int, str], list[str]] = {}
        for subject in subjects:
            if subject.building_id is not None:
                of_one = sides.setdefault((subject.building_id, subject.certainty or CERTAIN), [])
                side = side_words(subject.elevation, subject.part, POSSIBLE if unsure_side else CERTAIN)
                if side and side not in of_one:
                    of_one.append(side)
        for (building_id, certainty), of_one in sides.items():
            yield self.then.building(building_id, scan.time, certainty, " and ".join(of_one))

    def _title(
        self,
        subjects: list[ShownSubject],
        buildings: tuple[BuildingShown, ...],
        places: tuple[PlaceNamed, ...],
        scan: ScanToCaption,
    ) -> str:
        given = dict.fromkeys(filter(None, (self._public(one.title) for one in subjects)))
        return " and ".join(given) or title_of(buildings, places, scan.fate)

    def _keywords(
        self, buildings: tuple[BuildingShown, ...], places: tuple[PlaceNamed, ...], noted: list[str]
    ) -> tuple[str, ...]:
        typed = [word.strip() for text in noted for word in text.split(";")]
        above = [name for place in places if not place.certainty for name, _ in place.within]
        # The names of what is doubtful are left out where the fields are filled: a keyword cannot say "probably".
        return tuple(dict.fromkeys([*typed, *(b.name for b in buildings), *(p.name for p in places), *above]))


def _choices(field: str, alternatives: str | None) -> tuple[str, ...]:
    """Return what a doubtful fact may be; of a lens bare numbers are millimetres."""
    choices: list[str] = json.loads(alternatives) if alternatives else []
    return tuple(f"{one} mm" if field == "lens" and one.replace(".", "", 1).isdigit() else one for one in choices)


def _description(
    buildings: tuple[BuildingShown, ...], places: tuple[PlaceNamed, ...], fate: str, notes: list[str], region: str
) -> str:
    """Return what is for the public and what is certain; doubts are told below it, where the fields are filled."""
    part = f"Part of the sheet: {region}." if region else ""
    return "\n".join(line for line in (*notes, what_is_sure(buildings, places, fate), part) if line)


def _numbers(written: Iterable[tuple[str, ...]], doubts: tuple[Doubt, ...]) -> Iterator[FrameNumber]:
    unsure = [doubt for doubt in doubts if doubt.field == "number"]
    said = (doubt.alternatives or parse_doubt(doubt.as_written).readings for doubt in unsure)
    doubtful = {fold(text) for texts in said for text in texts}
    for number, scheme, written_on in written:
        certainty = POSSIBLE if unsure and (not doubtful or fold(number) in doubtful) else ""
        yield FrameNumber(number=number, scheme=scheme, written_on=written_on, certainty=certainty)


def _lens(scan: ScanToCaption) -> LensUsed | None:
    if scan.lens_name is None:
        return None
    return LensUsed(
        name=scan.lens_name, maker=scan.lens_maker or "", focal_length_mm=scan.focal_length_mm,
        widest_f_number=scan.widest_f_number,
    )  # fmt: skip


def _named(name: str | None, maker: str | None) -> str:
    """Return a piece of kit by its name, its maker before it unless the name says it."""
    return f"{maker} {name}" if name and maker and fold(maker) not in fold(name) else name or ""


def _exposure_index(notes: Iterable[tuple[str, str]]) -> int | None:
    """Return the speed a film was exposed for, if exactly one note says it plainly: ``64``, ``ISO 64``, ``EI 64``."""
    said = {text.strip() for heading, text in notes if heading in _EXPOSED_FOR}
    found = _PLAIN_SPEED.fullmatch(said.pop()) if len(said) == 1 else None
    return int(found[1]) if found else None


_PLAIN_SPEED: Final = re.compile(r"(?:(?:ISO|ASA|EI)\s*)?([1-9][0-9]{0,5})(?:\s*(?:ISO|ASA))?", re.IGNORECASE)

_POLARITIES: Final[dict[str, Literal["negative", "positive", "print"]]] = {
    "print": "print", "transparency": "positive", "lantern slide": "positive", "negative": "negative",
    "copy negative": "negative", "black and white": "negative", "colour negative": "negative",
}  # fmt: skip


def _polarity(scan: ScanToCaption, usual: str) -> Literal["negative", "positive", "print"] | None:
    """
    Return what was scanned: a paper print, a transparency, or negative film; ``None`` when it is not known.

    The sheet's own medium says it, else the tones of its film, else what the settings call usual. A glass plate
    may be either, so that only its film can tell.
    """
    if scan.medium is not None and scan.medium != "glass plate":
        return _POLARITIES.get(scan.medium)
    if scan.film_tones is not None:
        return _POLARITIES.get(scan.film_tones)
    return None if scan.medium == "glass plate" else _POLARITIES.get(usual)


def _movements(scan: ScanToCaption) -> str:
    moved = (
        ("rise", scan.rise_mm, " mm"), ("shift", scan.shift_mm, " mm"), ("tilt", scan.tilt_deg, "°"),
        ("swing", scan.swing_deg, "°"),
    )  # fmt: skip
    return ", ".join(f"{name} {value:g}{unit}" for name, value, unit in moved if value)
