"""All frames of a place, of a building or of the archive, in order of date, to go through one by one."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from catalog.rules.references import parse_reference
from catalog.store.find import Question
from catalog.store.frame_runs import FrameRun, frame_count_words, read_run
from catalog.store.trails import Step, trail_of
from catalog.tui.screens.frame_list import FrameListScreen


@dataclass(frozen=True, slots=True)
class FramesRows:
    """A run, and the guide cards that lead to it."""

    run: FrameRun
    trail: tuple[Step, ...]


class FramesCardScreen(FrameListScreen):
    """The run of frames that show a place or a building; of ``None``, every sheet."""

    def __init__(self, of: str | None) -> None:
        table, record_id = (parse_reference(of) if of else None) or ("place", None)
        super().__init__(table, record_id)

    def load(self, connection: sqlite3.Connection) -> FramesRows:
        """Return the run: its bare order; what its lines say is read as they come in sight."""
        about = self.archive.about_days
        if self.record_id is None:
            return FramesRows(read_run(connection, Question(about_days=about)), ())
        asked = {f"{self.table}_id": self.record_id}
        run = read_run(connection, Question(**asked, about_days=about))  # type: ignore[arg-type]
        return FramesRows(run, trail_of(connection, self.table, self.record_id))

    def lay_out(self, rows: FramesRows, choose: str | None) -> tuple[Step, ...]:
        """Show the run."""
        self.show_run(rows.run)
        self.say(frame_count_words(rows.run))
        return (*rows.trail, Step("", "all frames"))
