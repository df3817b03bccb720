"""Lenses, cameras and film stocks: adding and correcting them."""

from __future__ import annotations

from typing import Any, TypedDict, Unpack

from sqlalchemy import select

from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import AT_DESK, Date, Desk, at_desk, date_phrase, get_record, join_phrases, recorded
from catalog.actions.facts import check_facts, check_order
from catalog.errors import RefusedError
from catalog.model import Camera, FilmStock, Kit, Lens
from catalog.rules.references import format_reference
from catalog.store.archive import Archive
from catalog.store.writing import Writing

_OWN = {Lens: "lens", Camera: "camera", FilmStock: "film_stock"}


class KitFacts(TypedDict, total=False):
    """What may be said of any piece of kit."""

    name: str
    maker: str | None
    known_from: Date
    known_until: Date


class LensFacts(KitFacts, total=False):
    """What may be said of a lens."""

    focal_length_mm: float
    widest_f_number: float | None
    coverage_deg: float | None


class CameraFacts(KitFacts, total=False):
    """What may be said of a camera."""

    format: str | None
    opening_width_mm: float | None
    opening_height_mm: float | None


class FilmFacts(KitFacts, total=False):
    """What may be said of a film stock."""

    tones: str | None
    iso: float | None
    base: str | None


def add_lens(
    archive: Archive,
    *,
    focal_length_mm: float,
    name: str | None = None,
    maker: str | None = None,
    widest_f_number: float | None = None,
    coverage_deg: float | None = None,
    known_from: Date = None,
    known_until: Date = None,
    desk: Desk = AT_DESK,
) -> int:
    """Add a lens and return its id; without a name it goes by its focal length."""
    own = {
        "focal_length_mm": focal_length_mm,
        "widest_f_number": widest_f_number,
        "coverage_deg": coverage_deg,
    }
    name = name or f"{focal_length_mm:g} mm"
    return _add(archive, "lenses add", Lens, own, name, maker, known_from, known_until, desk)


def add_camera(
    archive: Archive,
    *,
    name: str,
    maker: str | None = None,
    format: str | None = None,  # noqa: A002 - the trade's word
    opening_width_mm: float | None = None,
    opening_height_mm: float | None = None,
    known_from: Date = None,
    known_until: Date = None,
    desk: Desk = AT_DESK,
) -> int:
    """Add a camera and return its id."""
    own = {"format": format, "opening_width_mm": opening_width_mm, "opening_height_mm": opening_height_mm}
    return _add(archive, "cameras add", Camera, own, name, maker, known_from, known_until, desk)


def add_film(
    archive: Archive,
    *,
    name: str,
    maker: str | None = None,
    tones: str | None = None,
    iso: float | None = None,
    base: str | None = None,
    known_from: Date = None,
    known_until: Date = None,
    desk: Desk = AT_DESK,
) -> int:
    """Add a film stock and return its id."""
    own = {"tones": tones, "iso": iso, "base": base}
    return _add(archive, "films add", FilmStock, own, name, maker, known_from, known_until, desk)


def correct_lens(archive: Archive, lens_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[LensFacts]) -> None:
    """Correct what is given of a lens."""
    _correct(archive, "lenses correct", Lens, lens_id, dict(facts), desk)


def correct_camera(archive: Archive, camera_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[CameraFacts]) -> None:
    """Correct what is given of a camera."""
    _correct(archive, "cameras correct", Camera, camera_id, dict(facts), desk)


def correct_film(archive: Archive, film_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[FilmFacts]) -> None:
    """Correct what is given of a film stock."""
    _correct(archive, "films correct", FilmStock, film_id, dict(facts), desk)


def _add(
    archive: Archive, verb: str, kind: type[Lens | Camera | FilmStock], own: dict[str, Any], name: str,
    maker: str | None, known_from: Date, known_until: Date, desk: Desk,
) -> int:  # fmt: skip
    begins, ends = recorded(known_from), recorded(known_until)
    check_order(begins, ends)
    with at_desk(archive, verb, desk) as writing:
        facts = check_facts(Kit, {"name": name, "maker": maker})
        own = check_facts(kind, own)
        _refuse_namesake(writing, _OWN[kind], facts["name"])
        kit = Kit(kind=_OWN[kind], known_from=begins, known_until=ends, **facts)
        writing.session.add(kit)
        writing.session.flush()
        writing.session.add(kind(id=kit.id, **own))
        dates = (date_phrase("known from", begins), date_phrase("known until", ends))
        told = join_phrases(kit.name, _OWN[kind].replace("_", " "), kit.maker, *dates)
        writing.say(f"added {told} ({format_reference('kit', kit.id)})")
        return kit.id


def _correct(
    archive: Archive,
    verb: str,
    kind: type[Lens | Camera | FilmStock],
    kit_id: int,
    facts: dict[str, Any],
    desk: Desk,
) -> None:
    with at_desk(archive, verb, desk) as writing:
        own = get_record(writing.session, kind, kit_id)
        kit = get_record(writing.session, Kit, kit_id)
        what = f"{kit.name} ({format_reference('kit', kit_id)})"
        if facts.get("name") not in (None, kit.name):
            _refuse_namesake(writing, kit.kind, facts["name"])
        shared = {field: value for field, value in facts.items() if field in KitFacts.__annotations__}
        rest = {field: value for field, value in facts.items() if field not in shared}
        changed = correct_record(writing, kit, shared)
        changed += correct_record(writing, own, rest, about=("kit", kit_id))
        check_order(kit.known_from, kit.known_until)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")


def _refuse_namesake(writing: Writing, kind: str, name: str) -> None:
    other = writing.session.scalar(select(Kit).where(Kit.kind == kind, Kit.name == name))
    if other is not None:
        word = kind.replace("_", " ")
        raise RefusedError(f"There is a {word} {name} already ({format_reference('kit', other.id)}). Tell them apart.")
