"""A question about frames as a person types it: words and fields, each with the rules of the commands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import sqlite3

    from catalog.dates import EdtfDate
    from catalog.store.archive import Archive
    from catalog.store.find import Question


def ask(
    connection: sqlite3.Connection,
    archive: Archive,
    *,
    words: tuple[str, ...] = (),
    place: str | None = None,
    taken_from: str | None = None,
    building: str | None = None,
    years: str | None = None,
    lens: str | None = None,
    film: str | None = None,
    elevation: str | None = None,
    number: str | None = None,
    unscanned: bool = False,
    undated: bool = False,
) -> Question:
    """
    Return the question that typed words and options put.

    Raises:
        NotFoundError, AmbiguousNameError: a place, building, lens or film cannot be told.
        DateWordsError: the years say no date.
    """
    from catalog.store.find import Question
    from catalog.store.names import resolve

    made_with = _made_with(connection, lens, film, elevation) if lens or film or elevation else {}
    return Question(
        words=tuple(part for word in words for part in word.split()),
        place_id=resolve(connection, place, "place") if place else None,
        taken_from_id=resolve(connection, taken_from, "place") if taken_from else None,
        building_id=resolve(connection, building, "building") if building else None,
        years=typed_years(archive, years) if years else None,
        number=number,
        is_unscanned=unscanned,
        is_undated=undated,
        about_days=archive.about_days,
        **made_with,
    )


def _made_with(
    connection: sqlite3.Connection, lens: str | None, film: str | None, elevation: str | None
) -> dict[str, Any]:
    """Return the parts of a question that may be doubtful on the card itself, each with the choices it is among."""
    from catalog.store.kit import films_like, lenses_like, sides_like

    asked: dict[str, Any] = {}
    if lens:
        asked["lens_ids"], asked["lens_doubts"] = lenses_like(connection, lens)
    if film:
        asked["film_ids"], asked["film_doubts"] = films_like(connection, film)
    if elevation:
        asked["elevation"] = _side(elevation)
        asked["elevation_doubts"] = sides_like(connection, asked["elevation"])
    return asked


def _side(typed: str) -> str:
    from catalog.errors import RefusedError
    from catalog.rules.compass import COMPASS, parse_elevation

    side = parse_elevation(typed)
    if side is None:
        raise RefusedError(f"{typed!r} is no side of a building. Give one of {', '.join(COMPASS)}.")
    return side


def typed_years(archive: Archive, text: str) -> EdtfDate:
    """
    Return the stretch of time that a question is about: "before 1975" is all of it, not one day.

    Raises:
        DateWordsError: the words say no date, or may mean several.
    """
    years = text.strip().split("/")
    if len(years) <= 2 and all(len(year) == 4 and year.isascii() and year.isdigit() for year in years):
        from catalog.dates import parse_edtf

        # The commonest question needs none of the grammar of words.
        return parse_edtf("/".join(years))
    from catalog.dates import parse_words
    from catalog.errors import DateWordsError

    date = parse_words(text, century=archive.settings.dates_century, event=False)
    if date is None:
        raise DateWordsError(text, "says no years. Give some, such as 1975/1990; --undated asks for undated sheets.")
    return date
