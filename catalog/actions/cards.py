"""Reading a card index into the catalogue: one deed, new rows in bulk, changed rows field by field."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from catalog.actions._card_changes import CardChanger
from catalog.actions._card_loading import CardLoader
from catalog.errors import RefusedError
from catalog.intake.bulk import uncollected
from catalog.intake.card_plan import CardPlan, plan_cards
from catalog.intake.proposals import CardFile
from catalog.store.archive import Archive
from catalog.store.writing import OnWait, deed


@dataclass(frozen=True, slots=True)
class CardsRead:
    """What reading a card file did. ``deed_id`` is ``None`` when there was nothing to do."""

    plan: CardPlan
    deed_id: int | None


class _NothingToDo(Exception):  # noqa: N818 - no fault: the way out of a deed that changes nothing
    def __init__(self, plan: CardPlan) -> None:
        self.plan = plan


def read_cards(
    archive: Archive,
    file: CardFile,
    *,
    is_edited: bool = False,
    on_wait: OnWait | None = None,
    on_stage: Callable[[], None] = lambda: None,
) -> CardsRead:
    """
    Read a card file into the catalogue as one deed.

    New rows become sheets; a row that changed since it was read changes what nobody corrected; the rest is here
    already. A file in which nothing is new or changed leaves no deed. ``is_edited`` states that a file most of whose
    rows differ from those read under its name is that index all the same. ``on_stage`` is called twice: when the rows
    are compared with the catalogue, and when they are loaded.

    Raises:
        RefusedError: it looks like another index of the same name; or the database refused a row. Nothing of the
            file stays.
    """
    try:
        with uncollected(), deed(archive, "cards read", f"read {file.name}", on_wait=on_wait) as writing:
            loader = CardLoader(writing, file)
            plan = plan_cards(writing.raw, file, loader.add)
            on_stage()
            if not (plan.count("new") or plan.count("changed")):
                raise _NothingToDo(plan)
            if plan.is_unlike and not is_edited:
                raise RefusedError(
                    f"{file.name}: most of its rows differ from the {file.name} read before. If it is that index, "
                    "edited, say so with --edited; if it is another, give the file another name. Nothing was read."
                )
            loader.load(plan)
            changer = CardChanger(writing, loader)
            for row in plan.rows:
                if row.outcome == "changed":
                    changer.change(row)
            on_stage()
            writing.say(_words(file, plan))
            return CardsRead(plan, writing.deed.id)
    except _NothingToDo as nothing:
        return CardsRead(nothing.plan, None)


def _words(file: CardFile, plan: CardPlan) -> str:
    """Return what the daybook says."""
    new = plan.count("new")
    done = [f"{new} {'sheet' if new == 1 else 'sheets'} added"] if new else []
    changed = sum(any(not change.is_kept for change in row.changes) for row in plan.rows)
    done += [f"{changed} changed"] if changed else []
    return f"read {file.name}: {', '.join(done) or 'what differs was corrected since, and stays'}"
