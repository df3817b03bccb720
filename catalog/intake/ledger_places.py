"""What a row of an old ledger is a print of: the edition or view, the sheet, the place in a run, the size."""

from __future__ import annotations

from catalog.intake.ledger_cells import CellReader, Draft
from catalog.intake.ledger_mapping import LedgerMapping
from catalog.intake.ledger_names import AskError, KnownRun, Target
from catalog.intake.ledger_numbers import NumberReader
from catalog.intake.ledger_rows import Place
from catalog.intake.proposals import CardNote, Doubt
from catalog.rules.doubt import PROBABLE

_FACTS = ("image_size", "paper_size", "paper", "process", "inks", "printer")


class PlaceReader:
    """Reads what a print is of; a name that fits nothing is pointed out and kept as a note."""

    def __init__(self, cells: CellReader, mapping: LedgerMapping) -> None:
        self._cells = cells
        self._numbers = NumberReader(cells.names, mapping)

    def target(self, draft: Draft) -> Target | None:
        """Return the edition or view that a row names, or the mapping for all; ``None`` where it is asked about."""
        for name in ("edition", "title"):
            text = draft.said.get(name, (0, "", None))[1]
            if not text:
                continue
            with self._cells.asking(draft, name):
                found = self._cells.names.target(text)
                if found is not None:
                    return found
                column = draft.said[name][0]
                draft.troubles.append(self._cells.trouble(
                    draft, column, text, "names no edition or view of the catalogue",
                    "If it does, say which under [editions] in the mapping file.", "unknown name",
                ))  # fmt: skip
                self._cells.keep(draft, column, text)
        if any(name in draft.said for name in ("edition", "title")):
            return None
        with self._cells.asking(draft, "edition"):
            return self._cells.names.target("")
        return None

    def sheet(self, draft: Draft, target: Target | None) -> int | None:
        """Return the sheet that a row names, else that of its target."""
        text = draft.text("sheet")
        if not text:
            return target.sheet_id if target else None
        found: int | None = None
        with self._cells.asking(draft, "sheet"):
            found = self._cells.names.sheet(text)
            if found is None:
                column = draft.said["sheet"][0]
                draft.troubles.append(self._cells.trouble(
                    draft, column, text, "is the number of no sheet here", "It is kept as a note.", "unknown name"
                ))  # fmt: skip
                self._cells.keep(draft, column, text)
        return found if found is not None else (target.sheet_id if target else None)

    def place(
        self, draft: Draft, target: Target | None, sheet_id: int | None
    ) -> tuple[Place | None, dict[str, str | int], bool]:
        """Return the place in a run that a row names, the facts of its print, and whether it is a replacement."""
        facts: dict[str, str | int] = {name: draft.text(name) for name in _FACTS if draft.text(name)}
        is_replacement, place = False, None
        with self._cells.asking(draft, "number"):
            column, text, raw = draft.said.get("number", (self._cells.column_of("number"), "", None))
            number = self._numbers.read(text, raw, draft.text("of"))
            if number.remark:
                is_replacement = self._numbers.is_replacement(number.remark)
                draft.notes += [] if is_replacement else [CardNote(self._cells.headings[column], number.remark)]
            runs = self._cells.names.runs_of(target) if target else []
            if number.name is None and number.words and runs:
                raise AskError("is no print number", 'Say it under [numbers] in the mapping file ("" for none).')
            if number.name is not None and runs:
                run = self._numbers.run_for(runs, draft.text("size"))
                place = self._numbers.place(run, number)
                if number.name.ordinal is None and number.name.series != "BAT":
                    draft.doubts.append(Doubt("number", text, PROBABLE))
                self._take_size(draft, facts, run)
            elif number.words:
                facts["markings"] = number.words
                if not runs:
                    self._no_edition(draft, column, text, sheet_id)
        if draft.text("markings"):
            facts["markings"] = "; ".join(filter(None, (str(facts.get("markings", "")), draft.text("markings"))))
        if sheet_id is not None:
            facts["sheet_id"] = sheet_id
        if place is None:
            self._of_what(facts, target)
            if draft.text("size") and "size_id" not in facts:
                self._cells.keep(draft, draft.said["size"][0], draft.text("size"))
        return place, facts, is_replacement

    def _take_size(self, draft: Draft, facts: dict[str, str | int], run: KnownRun) -> None:
        words = draft.text("size")
        size = run.of_size(words) if words else None
        if size is not None:
            facts["size_id"] = size.id
        elif words:
            column = draft.said["size"][0]
            names = ", ".join(each.name for each in run.sizes)
            if len(run.sizes) > 1:
                self._cells.ask(
                    draft, column, words, f"is none of the sizes of the edition ({names})", "Mend the cell."
                )
                return
            draft.troubles.append(self._cells.trouble(
                draft, column, words, f"is not the size of the edition ({names})", "It is kept as a note.",
                "inconsistent",
            ))  # fmt: skip
            self._cells.keep(draft, column, words)

    def _no_edition(self, draft: Draft, column: int, text: str, sheet_id: int | None) -> None:
        remedy = "It is written down as what stands on the print, which has no number of an edition."
        editions = self._cells.names.editions_from(sheet_id) if sheet_id is not None else []
        if editions:
            remedy += f" If it is of {' or '.join(editions)}, name the edition in the row."
        draft.troubles.append(self._cells.trouble(
            draft, column, text, "is a print number, but no edition is named", remedy, "unknown name"
        ))  # fmt: skip

    def _of_what(self, facts: dict[str, str | int], target: Target | None) -> None:
        """Say of a print without a number which sheet or view it is of."""
        if "sheet_id" in facts or target is None:
            return
        runs = self._cells.names.runs_of(target)
        if runs:
            sheet_id = self._cells.names.sheet_of(runs[0].edition_id)
            facts.update({"view_id": runs[0].view_id} if sheet_id is None else {"sheet_id": sheet_id})
        elif target.view_id is not None:
            facts["view_id"] = target.view_id
