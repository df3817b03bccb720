"""The command ``tiebeam``: finds the noun's file, and says a refusal in a line or two."""

from __future__ import annotations

import atexit
import gc
import sys
from importlib import import_module

# Half of what starting and ending a short command took, beyond its imports, was looking for rubbish that is not there.
gc.set_threshold(50_000)
atexit.register(gc.freeze)

import click  # noqa: E402

from catalog.errors import CatalogError  # noqa: E402

# Each command with its file and its line of help, so that asking for help imports none of them.
COMMANDS = {
    "new": ("catalog.cli.archive:new", "Start an archive in a folder."),
    "demo": ("catalog.cli.demo:demo", "Make the sample archive and run the main job on it."),
    "find": ("catalog.cli.find:find", "Find frames by words, place, building, years, lens, film."),
    "show": ("catalog.cli.show:show", "Show one record whole: by reference, number or name."),
    "browse": ("catalog.cli.browse:browse", "Move through the archive card by card."),
    "cards": ("catalog.cli.cards:cards", "Read in an old card index."),
    "scans": ("catalog.cli.scans:scans", "Register scans, match them to sheets, verify them."),
    "tones": ("catalog.cli.tones:tones", "Say where the tones of a picture lie, and on which paper."),
    "papers": ("catalog.cli.tones:papers", "List the paper stocks that tones are judged for."),
    "versions": ("catalog.cli.versions:versions", "From negative to picture: edit versions and their tone steps."),
    "sidecars": ("catalog.cli.sidecars:sidecars", "Write metadata beside the scans."),
    "index-pictures": (
        "catalog.cli.index_pictures:index_pictures",
        "Make small pictures of the scans to look at.",
    ),
    "contact-sheets": (
        "catalog.cli.contact_sheets:contact_sheets",
        "Set pictures with their captions on pages.",
    ),
    "sheets": ("catalog.cli.sheets:sheets", "Sheets and the numbers written for them."),
    "rolls": ("catalog.cli.rolls:rolls", "Rolls of film."),
    "views": ("catalog.cli.views:views", "What the frames show."),
    "standpoints": ("catalog.cli.standpoints:standpoints", "Where the camera stood."),
    "visits": ("catalog.cli.visits:visits", "Days in the field."),
    "places": ("catalog.cli.places:places", "Places, their names and what they belonged to."),
    "buildings": ("catalog.cli.buildings:buildings", "Buildings, their names, sites and chronicle."),
    "lenses": ("catalog.cli.kit:lenses", "Lenses."),
    "cameras": ("catalog.cli.kit:cameras", "Cameras."),
    "films": ("catalog.cli.kit:films", "Film stocks."),
    "persons": ("catalog.cli.persons:persons", "Persons and firms."),
    "editions": ("catalog.cli.editions:editions", "Editions: what was promised, runs, sizes, prices."),
    "prints": ("catalog.cli.prints:prints", "Prints: pulled, signed, sold, lent, and where each is."),
    "ledger": ("catalog.cli.ledger:ledger", "What was written about a print, an edition or a person."),
    "documents": ("catalog.cli.documents:documents", "Certificates, notes, invoices, letters, lists."),
    "sources": ("catalog.cli.sources:sources", "Sources that statements rest on."),
    "notes": ("catalog.cli.notes:notes", "Notes and wordings of doubt about a record."),
    "questions": ("catalog.cli.questions:questions", "Open questions: whom to ask, and the answer."),
    "drives": ("catalog.cli.drives:drives", "Drives that files live on."),
    "daybook": ("catalog.cli.daybook:daybook", "What was done at the desk, deed by deed."),
    "undo": ("catalog.cli.daybook:undo", "Take the newest deed back, or a named one."),
    "check": ("catalog.cli.archive:check", "Look the catalogue over for faults."),
    "backup": ("catalog.cli.archive:backup", "Copy the catalogue and verify the copy."),
    "upgrade": ("catalog.cli.archive:upgrade", "Bring an older catalogue to this program."),
    "completion": (
        "catalog.cli.archive:completion",
        "Print the lines that teach a shell to complete commands.",
    ),
}


class NounGroup(click.Group):
    """A group that imports a noun's file only when that noun is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return every command, in the order of a day's work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, importing its file."""
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name][0].partition(":")
        command = getattr(import_module(module), name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in COMMANDS.items()])


@click.group(cls=NounGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--archive", metavar="FOLDER", help="The archive; otherwise looked for upwards from here.")
@click.version_option(package_name="tiebeam", message="%(prog)s %(version)s")
@click.pass_context
def tiebeam(ctx: click.Context, archive: str | None) -> None:
    """The catalogue of one photographer's film archive."""
    ctx.obj = archive


def run(arguments: list[str] | None = None) -> None:
    """
    Run a command and leave with its status.

    0: done, or nothing found. 1: done in part, or findings to look at. 2: misuse of the
    command line. 3: refused, nothing changed. 130: stopped by Ctrl-C.
    """
    for stream in (sys.stdout, sys.stderr):
        # File names that are not UTF-8, and terminals that are not: shown with escapes, never a crash.
        stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        status = tiebeam.main(arguments, prog_name="tiebeam", standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Stopped.", err=True)
        sys.exit(130)
    except click.ClickException as exc:
        exc.show()
        sys.exit(exc.exit_code)
    except CatalogError as exc:
        click.echo(f"tiebeam: {exc}", err=True)
        sys.exit(3)
    sys.exit(status if isinstance(status, int) else 0)
