"""``tiebeam lenses``, ``cameras`` and ``films``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import date_words, list_command, show_command
from catalog.cli.typed import Typed, typed_id
from catalog.rules.vocabulary import FILM_BASES, FILM_TONES

if TYPE_CHECKING:
    from catalog.cli.deeds import Command
    from catalog.store.archive import Archive

_ABOVE_NOUGHT = click.FloatRange(0, min_open=True)


def _shared(command: Command) -> Command:
    for option in (
        click.option("--known-until", metavar="DATE", help="Last known in use, or made."),
        click.option("--known-from", metavar="DATE", help="First known in use, or made."),
        click.option("--maker"),
    ):
        command = option(command)
    return deed_options(command)


def _lens_facts(command: Command) -> Command:
    for option in (
        click.option("--coverage", type=click.FloatRange(0, 180, min_open=True, max_open=True), help="Degrees."),
        click.option("--widest", metavar="F", type=_ABOVE_NOUGHT, help="Widest aperture, as an f-number."),
    ):
        command = option(command)
    return _shared(command)


def _camera_facts(command: Command) -> Command:
    for option in (
        click.option("--opening", type=(float, float), metavar="W H", help="Opening of the holder, in mm."),
        click.option("--format", "film_format", help="The film it takes (4x5 in)."),
    ):
        command = option(command)
    return _shared(command)


def _film_facts(command: Command) -> Command:
    for option in (
        click.option("--base", type=click.Choice(FILM_BASES)),
        click.option("--iso", type=_ABOVE_NOUGHT, help="Speed."),
        click.option("--tones", type=click.Choice(FILM_TONES)),
    ):
        command = option(command)
    return _shared(command)


def _typed(archive: Archive, known_from: str | None, known_until: str | None, **plain: Any) -> Typed:
    return Typed(archive).plain(**plain).dates(event=False, known_from=known_from, known_until=known_until)


@click.group()
def lenses() -> None:
    """Lenses."""


@lenses.command("add")
@click.argument("focal_length", metavar="MM", type=_ABOVE_NOUGHT)
@click.option("--name", help="What it goes by; otherwise its focal length.")
@_lens_facts
def add_lens_command(
    archive: Archive, *, focal_length: float, name: str | None, maker: str | None, widest: float | None,
    coverage: float | None, known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a lens of MM millimetres."""
    from catalog.actions.kit import add_lens

    typed = _typed(
        archive, known_from, known_until, focal_length_mm=focal_length, name=name, maker=maker,
        widest_f_number=widest, coverage_deg=coverage,
    )  # fmt: skip
    add_lens(archive, **typed.facts, desk=desk_for(dry_run))


@lenses.command("correct")
@click.argument("lens")
@click.option("--focal-length", metavar="MM", type=_ABOVE_NOUGHT)
@click.option("--name")
@_lens_facts
def correct_lens_command(
    archive: Archive, *, lens: str, focal_length: float | None, name: str | None, maker: str | None,
    widest: float | None, coverage: float | None, known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a lens; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.kit import correct_lens

    typed = _typed(
        archive, known_from, known_until, focal_length_mm=focal_length, name=name, maker=maker,
        widest_f_number=widest, coverage_deg=coverage,
    )  # fmt: skip
    correct_lens(archive, typed_id(archive, lens, "lens"), **typed.facts, desk=desk_for(dry_run))


@click.group()
def cameras() -> None:
    """Cameras."""


@cameras.command("add")
@click.argument("name")
@_camera_facts
def add_camera_command(
    archive: Archive, *, name: str, maker: str | None, film_format: str | None, opening: tuple[float, float] | None,
    known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a camera."""
    from catalog.actions.kit import add_camera

    typed = _typed(archive, known_from, known_until, name=name, maker=maker, format=film_format, **_opening(opening))
    add_camera(archive, **typed.facts, desk=desk_for(dry_run))


@cameras.command("correct")
@click.argument("camera")
@click.option("--name")
@_camera_facts
def correct_camera_command(
    archive: Archive, *, camera: str, name: str | None, maker: str | None, film_format: str | None,
    opening: tuple[float, float] | None, known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a camera; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.kit import correct_camera

    typed = _typed(archive, known_from, known_until, name=name, maker=maker, format=film_format, **_opening(opening))
    correct_camera(archive, typed_id(archive, camera, "camera"), **typed.facts, desk=desk_for(dry_run))


def _opening(opening: tuple[float, float] | None) -> dict[str, float]:
    return {} if opening is None else {"opening_width_mm": opening[0], "opening_height_mm": opening[1]}


@click.group()
def films() -> None:
    """Film stocks."""


@films.command("add")
@click.argument("name")
@_film_facts
def add_film_command(
    archive: Archive, *, name: str, maker: str | None, tones: str | None, iso: float | None, base: str | None,
    known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Add a film stock."""
    from catalog.actions.kit import add_film

    typed = _typed(archive, known_from, known_until, name=name, maker=maker, tones=tones, iso=iso, base=base)
    add_film(archive, **typed.facts, desk=desk_for(dry_run))


@films.command("correct")
@click.argument("film")
@click.option("--name")
@_film_facts
def correct_film_command(
    archive: Archive, *, film: str, name: str | None, maker: str | None, tones: str | None, iso: float | None,
    base: str | None, known_from: str | None, known_until: str | None, dry_run: bool,
) -> None:  # fmt: skip
    """Correct a film stock; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.kit import correct_film

    typed = _typed(archive, known_from, known_until, name=name, maker=maker, tones=tones, iso=iso, base=base)
    correct_film(archive, typed_id(archive, film, "film_stock"), **typed.facts, desk=desk_for(dry_run))


def _measure(value: float | None, unit: str = "") -> str:
    return "" if value is None else f"{value:g}{unit}"


lenses.add_command(
    list_command(
        "LensRow",
        "kit",
        [
            ("lens", lambda row: row.name),
            ("maker", lambda row: row.maker),
            ("focal length", lambda row: _measure(row.focal_length_mm, " mm")),
            ("widest", lambda row: f"f/{row.widest_f_number:g}" if row.widest_f_number else ""),
            ("covers", lambda row: _measure(row.coverage_deg, "°")),
        ],
        words="List the lenses, by focal length.",
        empty="No lenses yet. Add one with: tiebeam lenses add 90",
    )
)
lenses.add_command(show_command("lens", words="Show a lens whole."))
cameras.add_command(
    list_command(
        "CameraRow",
        "kit",
        [
            ("camera", lambda row: row.name),
            ("maker", lambda row: row.maker),
            ("format", lambda row: row.format),
            ("opening", lambda row: f"{row.opening_width_mm:g} x {row.opening_height_mm:g} mm"
                if row.opening_width_mm else ""),
        ],
        words="List the cameras.",
        empty="No cameras yet. Add one with: tiebeam cameras add NAME",
    )
)  # fmt: skip
cameras.add_command(show_command("camera", words="Show a camera whole."))
films.add_command(
    list_command(
        "FilmRow",
        "kit",
        [
            ("film", lambda row: row.name),
            ("maker", lambda row: row.maker),
            ("tones", lambda row: row.tones),
            ("speed", lambda row: _measure(row.iso)),
            ("base", lambda row: row.base),
            ("known from", lambda row: _known(row.known_from_edtf, row.known_from_words)),
            ("known until", lambda row: _known(row.known_until_edtf, row.known_until_words)),
        ],
        words="List the film stocks.",
        empty="No films yet. Add one with: tiebeam films add NAME",
    )
)
films.add_command(show_command("film_stock", words="Show a film stock whole."))


def _known(edtf: str | None, words: str | None) -> str:
    return date_words(edtf, words) if edtf or words else ""
