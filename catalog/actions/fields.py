"""Writing one field of a record, or of several sheets: what was typed for it, by the deed that the commands do."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from catalog.actions import buildings, kit, notes, persons, places, questions, rolls, sources, standpoints, visits
from catalog.actions._field_parts import WRITE_PART, refuse_doubt
from catalog.actions.desk import AT_DESK, Desk
from catalog.actions.scan_files import correct_scan
from catalog.actions.sheets import correct_sheet, correct_sheets
from catalog.actions.typed import Typed
from catalog.actions.version_records import correct_version
from catalog.actions.views import correct_view
from catalog.errors import ChangedMeanwhileError
from catalog.rules.fields import Field
from catalog.store.archive import Archive
from catalog.store.fields import WrittenField, read_field, read_row_fields
from catalog.store.writing import Writing

# The deed that corrects a record, and whether it keeps how a doubtful fact was put.
_CORRECT: dict[str, tuple[Callable[..., None], bool]] = {
    "sheet": (correct_sheet, True),
    "view": (correct_view, True),
    "building": (buildings.correct_building, False),
    "place": (places.correct_place, True),
    "visit": (visits.correct_visit, True),
    "standpoint": (standpoints.correct_standpoint, True),
    "roll": (rolls.correct_roll, True),
    "lens": (kit.correct_lens, False),
    "camera": (kit.correct_camera, False),
    "film_stock": (kit.correct_film, False),
    "person": (persons.correct_person, False),
    "source": (sources.correct_source, False),
    "scan": (correct_scan, False),
    "edit_version": (correct_version, False),
    "note": (notes.correct_note, False),
}


def write_field(
    archive: Archive, asked: WrittenField, text: str, *, meant: str | None = None, desk: Desk = AT_DESK
) -> None:
    """
    Write ``text`` into a field that stood as ``asked`` says; an empty text takes the fact away.

    ``meant`` is what was chosen where the text may mean several: the date in EDTF, or the word that was missing.

    Raises:
        AmbiguousDateError, AmbiguousNameError, ChoiceNeededError: one is to be chosen.
        ChangedMeanwhileError: another wrote something else there since.
        CatalogError: what the command of the same deed refuses; nothing was changed.
    """
    guarded = replace(desk, first=_both(_unchanged(asked), desk.first))
    if asked.table in WRITE_PART:
        WRITE_PART[asked.table](archive, asked, text, meant, guarded)
        return
    typed = Typed(archive).field(asked.field, text, meant)
    if asked.table == "open_question":
        _write_question(archive, asked, typed, guarded)
        return
    correct, keeps_doubt = _CORRECT[asked.table]
    if asked.table == "view" and "standpoint_id" in typed.facts:
        words = typed.wordings.get("standpoint")
        typed.facts["standpoint_certainty"] = words.certainty if words else "certain"
    kept = {"wordings": typed.wordings} if keeps_doubt else {}
    if not keeps_doubt:
        refuse_doubt(typed, text)
    assert asked.row_id is not None
    correct(archive, asked.row_id, **typed.facts, **kept, desk=guarded)


def write_field_of_sheets(
    archive: Archive, asked: Mapping[int, WrittenField], field: Field, text: str, *, meant: str | None = None,
    desk: Desk = AT_DESK,
) -> int:  # fmt: skip
    """
    Write one field of several sheets in one deed, and return how many were changed.

    ``asked`` says of each sheet how the field stood.

    Raises:
        SeveralRefusedError: some of them cannot be changed so; nothing was changed.
        ChangedMeanwhileError: another wrote something else on one of them since.
        CatalogError: as ``write_field``.
    """

    def first(writing: Writing) -> None:
        now = read_row_fields(writing.raw, "sheet", list(asked), field)
        for sheet_id, opened in asked.items():
            if sheet_id in now and now[sheet_id].held != opened.held:
                raise ChangedMeanwhileError(f"{field.label} of S{sheet_id}", opened.text, now[sheet_id].text)

    typed = Typed(archive).field(field, text, meant)
    return correct_sheets(
        archive, list(asked), **typed.facts, wordings=typed.wordings, desk=replace(desk, first=_both(first, desk.first))
    )


def _both(first: Callable[[Writing], None], then: Callable[[Writing], None] | None) -> Callable[[Writing], None]:
    def both(writing: Writing) -> None:
        first(writing)
        if then is not None:
            then(writing)

    return both


def _unchanged(asked: WrittenField) -> Callable[[Writing], None]:
    """Return what refuses a deed when the field it writes is not as it was when it was opened."""

    def check(writing: Writing) -> None:
        now = read_field(writing.raw, asked)
        if now.held != asked.held:
            raise ChangedMeanwhileError(asked.field.label, asked.text, now.text)

    return check


def _write_question(archive: Archive, asked: WrittenField, typed: Typed, desk: Desk) -> None:
    assert asked.row_id is not None
    if asked.field.name == "answer" and not asked.text:
        questions.answer_question(archive, asked.row_id, answer=typed.facts["answer"] or "", desk=desk)
        return
    if asked.field.name == "answer":
        typed.facts["answer"] = typed.facts["answer"] or ""
    questions.correct_question(archive, asked.row_id, **typed.facts, desk=desk)


def sheets_asked(archive: Archive, sheet_ids: Sequence[int], field: Field) -> dict[int, WrittenField]:
    """Return how a field of several sheets stands; sheets that are gone are left out."""
    with archive.reading() as connection:
        return read_row_fields(connection, "sheet", sheet_ids, field)
