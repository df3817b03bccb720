"""``tiebeam questions``: what is not known, whom to ask, and the answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, csv_option, json_option
from catalog.cli.deeds import deed_options, desk_for
from catalog.cli.listing import print_rows, show_command
from catalog.cli.notes import typed_about
from catalog.cli.typed import Typed, typed_id
from catalog.errors import NotFoundError
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.store.archive import Archive

ask_option = click.option("--ask", metavar="WHO", help="Whom to ask: a person known, or words (the county archive).")


@click.group()
def questions() -> None:
    """Open questions: whom to ask, and the answer."""


@questions.command()
@click.argument("text")
@click.option("--about", metavar="RECORD", help="What it concerns: a reference, number or name.")
@ask_option
@deed_options
def add(archive: Archive, *, text: str, about: str | None, ask: str | None, dry_run: bool) -> None:
    """Write down something not known."""
    from catalog.actions.questions import ask_question

    table, record_id = typed_about(archive, about) if about else (None, None)
    ask_question(archive, text=text, about=table, about_id=record_id, **_asked(archive, ask), desk=desk_for(dry_run))


@questions.command()
@click.argument("question")
@click.argument("answer")
@deed_options
def answer(archive: Archive, *, question: str, answer: str, dry_run: bool) -> None:
    """Settle a question (Q1) with its answer."""
    from catalog.actions.questions import answer_question

    answer_question(archive, typed_id(archive, question, "open_question"), answer=answer, desk=desk_for(dry_run))


@questions.command()
@click.argument("question")
@click.option("--text")
@ask_option
@click.option("--answer", help="A better answer, once it was answered.")
@deed_options
def correct(
    archive: Archive, *, question: str, text: str | None, ask: str | None, answer: str | None, dry_run: bool
) -> None:
    """Correct a question; what is not given stays, an empty text takes a fact away."""
    from catalog.actions.questions import correct_question

    typed = Typed(archive).plain(text=text)
    if answer is not None:
        typed.facts["answer"] = answer
    if ask is not None:
        typed.facts |= {"ask": None, "ask_id": None, **_asked(archive, ask)}
    correct_question(archive, typed_id(archive, question, "open_question"), **typed.facts, desk=desk_for(dry_run))


def _asked(archive: Archive, ask: str | None) -> dict[str, Any]:
    """Return whom to ask: a person where the words are just a person's name, otherwise the words."""
    if not ask:
        return {}
    try:
        return {"ask_id": typed_id(archive, ask, "person")}
    except NotFoundError:
        return {"ask": ask}


@questions.command("list")
@click.option("--open", "only_open", is_flag=True, help="Only those not answered yet.")
@archive_option
@json_option
@csv_option
def list_questions(archive: Archive, *, only_open: bool, as_json: bool, as_csv: bool) -> None:
    """List the questions."""
    from catalog.store.lists import QuestionRow, list_rows

    with archive.reading() as connection:
        rows = list(list_rows(connection, QuestionRow, open=only_open))
    columns = [
        ("about", lambda row: format_reference(row.about, row.about_id) if row.about else ""),
        ("question", lambda row: row.text),
        ("ask", lambda row: row.ask_person or row.ask),
        ("answer", lambda row: row.answer if row.answer is not None else "open"),
    ]
    print_rows(rows, "open_question", columns, empty="No questions.", as_json=as_json, as_csv=as_csv)


questions.add_command(show_command("open_question", words="Show a question whole."))
