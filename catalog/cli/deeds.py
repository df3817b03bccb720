"""What every command that does a deed by hand shares: its options, and how it tells what was done."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, dry_run_option, one_line, print_json, say_waiting

if TYPE_CHECKING:
    from catalog.actions.desk import Desk, Done

Command = Callable[..., Any]
_AS_JSON = "catalog.cli.deeds.as_json"
_ITEMS = "catalog.cli.deeds.items"


def deed_options(command: Command) -> Command:
    """Give a command what every deed by hand has: the archive, ``--dry-run`` and ``--json``."""
    return archive_option(dry_run_option(_json_option(command)))


def _remember(ctx: click.Context, _parameter: click.Parameter, value: bool) -> None:
    ctx.meta[_AS_JSON] = value


_json_option = click.option(
    "--json", is_flag=True, expose_value=False, callback=_remember, help="Tell what was done as one JSON document."
)


def desk_for(dry_run: bool = False) -> Desk:
    """Return the desk of a command: it tells what was done, or would be, as a sentence or as JSON."""
    from catalog.actions.desk import Desk

    items = _items()
    if items is None:
        return Desk(dry_run=dry_run, say=lambda words: _say(words, dry_run=dry_run), on_wait=say_waiting)

    def tell(done: Done) -> None:
        records = [{"reference": one.reference, "change": one.change} for one in done.records]
        items.append({"did": one_line(done.words), "dry_run": dry_run, "records": records})

    return Desk(dry_run=dry_run, tell=tell, on_wait=say_waiting)


def say_besides(words: str, **facts: Any) -> None:
    """Tell one more thing of the deed just done: a line of its own, or keys of its JSON."""
    items = _items()
    if items is None:
        click.echo(words)
    elif items:
        items[-1].update(facts)


def _say(words: str, *, dry_run: bool) -> None:
    told = one_line(words)
    click.echo(f"Nothing was changed. This would be done: {told}." if dry_run else f"{told[:1].upper()}{told[1:]}.")


def _items() -> list[dict[str, Any]] | None:
    """Return the items of the JSON document that is printed when the command ends; ``None`` without ``--json``."""
    ctx = click.get_current_context(silent=True)
    if ctx is None or not ctx.meta.get(_AS_JSON):
        return None
    items: list[dict[str, Any]] | None = ctx.meta.get(_ITEMS)
    if items is None:
        items = ctx.meta[_ITEMS] = []
        # A command may do several deeds, and be refused at the third: what was done is told in any case.
        ctx.call_on_close(lambda: print_json({"items": items, "count": len(items)}))
    return items
