"""Places and buildings as they were when a frame was exposed: names of the time, sites of the time, every doubt."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

from catalog.dates import format_words, iso_day, parse_edtf, truncated_iso
from catalog.outputs.sidecar_captions import (
    BuildingShown,
    CaptionDate,
    FrameNumber,
    Maker,
    PlaceKind,
    PlaceNamed,
    is_certain,
)
from catalog.rules.doubt import CERTAIN, POSSIBLE, PROBABLE, parse_doubt
from catalog.rules.spans import ALWAYS, FrameTime, Span
from catalog.store.captions import Gazette, Happening, Held, ShownSubject, StoodAt

_KINDS: tuple[PlaceKind, ...] = ("hamlet", "village", "town", "parish", "county", "country")
_SURENESS = {CERTAIN: 2, PROBABLE: 1, POSSIBLE: 0}


@lru_cache(maxsize=4096)  # an archive has few dates and uses them often
def caption_date(edtf: str | None, words: str | None) -> CaptionDate | None:
    """Return a recorded date as a caption tells it."""
    if edtf is None:
        return None
    date = parse_edtf(edtf)
    return CaptionDate(
        edtf=edtf, words=format_words(date), as_written=words or "", plain=truncated_iso(date),
        earliest=iso_day(date.earliest) or "", latest=iso_day(date.latest) or "",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Facts:
    """What is told of a building whatever the time."""

    raised: CaptionDate | None
    makers: tuple[Maker, ...]
    identifiers: tuple[FrameNumber, ...]
    chronicle: tuple[tuple[CaptionDate | None, str], ...]


@dataclass(frozen=True, slots=True)
class GazetteThen:
    """
    The gazette at the times of frames. What was found once is kept: many frames show few places.

    ``public`` returns a text that a person typed freely if it may be told, else nothing.
    """

    gazette: Gazette
    public: Callable[[str | None], str] = str
    _named: dict[tuple[int, FrameTime], PlaceNamed] = field(default_factory=dict)
    _facts: dict[int, _Facts] = field(default_factory=dict)
    _sited: dict[tuple[int, FrameTime], PlaceNamed | None] = field(default_factory=dict)

    def place(self, place_id: int, time: FrameTime, certainty: str = CERTAIN) -> PlaceNamed:
        """Return a place by its name at that time, within what it surely belonged to then."""
        if (place_id, time) not in self._named:
            latitude, longitude = self.gazette.positions.get(place_id, (None, None))
            self._named[place_id, time] = PlaceNamed(
                name=self._name(place_id, time), kind=self._kind(place_id), reference=f"L{place_id}",
                within=tuple((self._name(above, time), self._kind(above)) for above in self._above(place_id, time)),
                latitude_deg=latitude, longitude_deg=longitude,
            )  # fmt: skip
        named = self._named[place_id, time]
        return named if certainty == CERTAIN else replace(named, certainty=certainty)

    def places_shown(self, subjects: Iterable[ShownSubject], time: FrameTime) -> tuple[PlaceNamed, ...]:
        """Return the places shown, named themselves or where a building shown stood, as surely as any way tells."""
        found: dict[int, str] = {}
        for subject in subjects:
            for place_id, certainty in self._places_of(subject, time):
                known = found.setdefault(place_id, certainty)
                found[place_id] = max(known, certainty, key=_SURENESS.__getitem__)
        return tuple(self.place(place_id, time, certainty) for place_id, certainty in found.items())

    def focus(
        self, subjects: Sequence[ShownSubject], places: Sequence[PlaceNamed], time: FrameTime
    ) -> PlaceNamed | None:
        """Return the one place that a picture is of, if there is one and it is sure; ``places`` are those shown."""
        if len(places) > 1:
            of_views = {one.view_id for one in subjects if one.is_principal}
            principal = [one for one in subjects if one.is_principal or one.view_id not in of_views]
            places = self.places_shown(principal, time)
        return places[0] if len(places) == 1 and is_certain(places[0].certainty) else None

    def building(self, building_id: int, time: FrameTime, certainty: str, side: str) -> BuildingShown:
        """Return a building by its name at that time; ``side`` says in words what of it is shown."""
        if building_id not in self._facts:
            self._facts[building_id] = self._facts_of(building_id)
        facts = self._facts[building_id]
        name = self.gazette.building_names[building_id]
        return BuildingShown(
            name=_name_then(name, self.gazette.former_buildings.get(building_id, ()), time),
            reference=f"B{building_id}", certainty="" if certainty == CERTAIN else certainty, elevation=side,
            raised=facts.raised, makers=facts.makers, identifiers=facts.identifiers,
            site=self._site_then(building_id, time), chronicle=facts.chronicle,
        )  # fmt: skip

    def taken_from(self, stood: Sequence[StoodAt], time: FrameTime) -> PlaceNamed | None:
        """Return where the camera stood; of a double exposure both standpoints, within what they share."""
        if not stood:
            return None
        each = list(dict.fromkeys(self._stood_at(one, time) for one in stood))
        if len(each) == 1:
            return each[0]
        shared = tuple(above for above in each[0].within if all(above in one.within for one in each))
        weakest = min((one.certainty or CERTAIN for one in each), key=_SURENESS.__getitem__)
        words = " and ".join(dict.fromkeys(one.name for one in each))
        return PlaceNamed(name=words, within=shared, certainty="" if weakest == CERTAIN else weakest)

    def _site_then(self, building_id: int, time: FrameTime) -> PlaceNamed | None:
        """Return where a building surely stood at that time, with the position of that very site, if it is known."""
        if (building_id, time) not in self._sited:
            sites = self.gazette.sites.get(building_id, ())
            met = [(site, how) for site in sites for _, how in self._site(site, sites, CERTAIN, time)]
            self._sited[building_id, time] = None
            if len(met) == 1 and met[0][1] == CERTAIN and met[0][0].position is not None:
                latitude, longitude = met[0][0].position
                place = self.place(int(met[0][0].value), time)
                self._sited[building_id, time] = replace(place, latitude_deg=latitude, longitude_deg=longitude)
        return self._sited[building_id, time]

    def _places_of(self, subject: ShownSubject, time: FrameTime) -> Iterable[tuple[int, str]]:
        certainty = subject.certainty or CERTAIN
        if subject.place_id is not None:
            yield subject.place_id, certainty
        if subject.building_id is not None:
            sites = self.gazette.sites.get(subject.building_id, ())
            for site in sites:
                yield from self._site(site, sites, certainty, time)

    def _site(self, site: Held, sites: Sequence[Held], certainty: str, time: FrameTime) -> Iterable[tuple[int, str]]:
        """
        Yield a site's place if the building may have stood there at that time, with how sure that is.

        The rules are those of the village query: a building that never stood elsewhere was there whenever it was
        photographed, however loosely its raising is dated; its end still counts, but for an undated frame. Between
        two sites a marked date does not decide; the end of the only one it clears if it clears it by any reading.
        """
        about_days = self.gazette.about_days
        is_only = all(one.value == site.value for one in sites)
        span = Span(hi=site.span.hi, sure_hi=site.span.sure_hi) if len(sites) == 1 else site.span
        if not time.may_meet(span, about_days):
            return
        if is_only:
            has_end = all(one.has_end for one in sites)
            is_sure = not has_end or not time.is_dated or time.lies_well_within(span, about_days)
        else:
            is_sure = time.lies_within(span)
        yield int(site.value), certainty if is_sure and not site.is_unsure else POSSIBLE

    def _stood_at(self, stood: StoodAt, time: FrameTime) -> PlaceNamed:
        within: tuple[tuple[str, PlaceKind], ...] = ()
        latitude, longitude = stood.position or (None, None)
        if stood.place_id is not None and stood.is_placed:
            place = self.place(stood.place_id, time)
            within = ((place.name, place.kind), *place.within)
        certainty = "" if stood.certainty == CERTAIN else stood.certainty
        return PlaceNamed(
            name=stood.words, within=within, certainty=certainty, latitude_deg=latitude, longitude_deg=longitude
        )

    def _name(self, place_id: int, time: FrameTime) -> str:
        name = self.gazette.place_names[place_id]
        return _name_then(name, self.gazette.former_places.get(place_id, ()), time)

    def _kind(self, place_id: int) -> PlaceKind:
        kind = self.gazette.place_kinds.get(place_id)
        return next((known for known in _KINDS if known == kind), "place")

    def _above(self, place_id: int, time: FrameTime, below: frozenset[int] = frozenset()) -> list[int]:
        """
        Return what a place surely belonged to at the time, nearest first.

        Where one belonging followed another and the time does not tell which held, only what both lie in is
        sure: Low Halding, undated, is in Halding or not, but in Wennshire either way.
        """
        sure: list[int] = []
        open_: list[list[int]] = []
        for parent in self.gazette.parents.get(place_id, ()):
            above = int(parent.value)
            if above in below or parent.is_unsure or not time.may_meet(parent.span, self.gazette.about_days):
                continue
            chain = [above, *self._above(above, time, below | {place_id})]
            if parent.span == ALWAYS or time.lies_well_within(parent.span, self.gazette.about_days):
                sure += chain
            else:
                open_.append(chain)
        if len(open_) > 1:
            sure += [above for above in open_[0] if all(above in chain for chain in open_)]
        return list(dict.fromkeys(sure))

    def _facts_of(self, building_id: int) -> _Facts:
        raising = self.gazette.raisings.get(building_id)
        number = self.gazette.identifiers.get(building_id)
        makers: tuple[Maker, ...] = ()
        if raising is not None and raising.doer:
            told = parse_doubt(raising.doer)
            name = raising.doer if len(told.readings) != 1 else told.readings[0]
            makers = (Maker(name=name, certainty="" if told.certainty == CERTAIN else told.certainty),)
        raised = caption_date(raising.edtf, raising.words) if raising else None
        happened = ((caption_date(one.edtf, None), self.public(one.text)) for one in self._chronicle(building_id))
        chronicle = tuple((date, text) for date, text in happened if text)
        return _Facts(raised, makers, (_register_number(number),) if number else (), chronicle)

    def _chronicle(self, building_id: int) -> Sequence[Happening]:
        return self.gazette.chronicles.get(building_id, ())


_ADDRESS: Final = re.compile(r"https?://[^\s<>\"{}|\\^`]+[^\s<>\"{}|\\^`.,;:)]")


def _register_number(identifier: str) -> FrameNumber:
    """
    Return a number of a register as it is written; an address in it is told apart.

    >>> _register_number("County list 114, https://example.org/list/114").url
    'https://example.org/list/114'
    """
    found = _ADDRESS.search(identifier)
    if found is None:
        return FrameNumber(number=identifier)
    words = " ".join((identifier[: found.start()] + identifier[found.end() :]).split())
    return FrameNumber(number=words.strip(" ,;:()"), url=found[0])


def _name_then(now: str, former: Sequence[Held], time: FrameTime) -> str:
    """Return the name of the time: a former one only where the frame surely lies while it was in use."""
    for name in former:
        # Without a known beginning and end nobody can say that it was in use: the railway's name may have gone.
        if name.has_beginning and name.has_end and time.lies_within(name.span):
            return str(name.value)
    return now
