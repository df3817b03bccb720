"""Open questions: asked, corrected, answered."""

from __future__ import annotations

from typing import TypedDict, Unpack

from catalog import clock
from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, get_record, join_phrases, require_records
from catalog.actions.facts import check_facts
from catalog.errors import RefusedError
from catalog.model import OpenQuestion, Person
from catalog.rules.references import format_reference
from catalog.store.archive import Archive


class QuestionFacts(TypedDict, total=False):
    """What may be corrected of a question; ``answer`` only once it was answered."""

    text: str
    ask: str | None
    ask_id: int | None
    answer: str


def ask_question(
    archive: Archive,
    *,
    text: str,
    about: str | None = None,
    about_id: int | None = None,
    ask: str | None = None,
    ask_id: int | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """
    Write down something not known and return its id.

    ``about`` (a table) and ``about_id`` are the record it concerns; ``ask`` says whom to ask in words, ``ask_id``
    the person where that is known.
    """
    with at_desk(archive, "questions add", desk) as writing:
        require_records(writing.session, {"ask_id": ask_id}, {"ask_id": Person})
        what = f"about {called(writing, about, about_id)}" if about and about_id is not None else None
        question = OpenQuestion(
            about=about, about_id=about_id, ask_id=ask_id, asked_at=clock.timestamp(),
            **check_facts(OpenQuestion, {"text": text, "ask": ask}),
        )  # fmt: skip
        writing.session.add(question)
        writing.session.flush()
        reference = format_reference("open_question", question.id)
        writing.say(join_phrases(f"asked {reference}: {question.text}", what))
        return question.id


def answer_question(archive: Archive, question_id: int, *, answer: str, desk: Desk = AT_DESK) -> None:
    """
    Settle a question with its answer.

    Raises:
        RefusedError: it is settled already, or the answer says nothing.
    """
    if not answer.strip():
        raise RefusedError("An answer needs something said.")
    with at_desk(archive, "questions answer", desk) as writing:
        question = get_record(writing.session, OpenQuestion, question_id)
        reference = format_reference("open_question", question_id)
        if question.answer is not None:
            raise RefusedError(
                f"{reference} was settled on {question.settled_at}: {question.answer}. "
                f"Mend it with: tiebeam questions correct {reference} --answer ..."
            )
        question.answer, question.settled_at = answer.strip(), clock.timestamp()
        writing.say(f"answered {reference}, {question.text}: {question.answer}")


def correct_question(
    archive: Archive, question_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[QuestionFacts]
) -> None:
    """Correct what is given of a question."""
    with at_desk(archive, "questions correct", desk) as writing:
        question = get_record(writing.session, OpenQuestion, question_id)
        reference = format_reference("open_question", question_id)
        if "answer" in facts and question.answer is None:
            raise RefusedError(f"{reference} is open still. Settle it with: tiebeam questions answer {reference} ...")
        if "answer" in facts and not facts["answer"].strip():
            raise RefusedError(f"{reference} was settled; an empty answer would open it again. Undo that deed instead.")
        changed = correct_record(writing, question, facts, tables={"ask_id": "person"})
        refuse_no_change(changed, reference)
        writing.say(f"corrected {reference}: {join_phrases(*changed)}")
