"""Notes, wordings and questions by hand."""

import pytest

from catalog.actions.corrections import SaidBy
from catalog.actions.notes import add_note, add_wording, correct_note
from catalog.actions.persons import add_person
from catalog.actions.questions import answer_question, ask_question, correct_question
from catalog.errors import NotFoundError, RefusedError
from catalog.rules.doubt import parse_doubt
from tests.builders import a_mill, a_sheet, rows


@pytest.mark.parametrize("text", [" [sic] ", "[undated]", "[/", "[b +", "Église — “½”\nsecond line", "=1+1", "教会"])
def test_a_note_is_kept_exactly_as_it_was_said(archive, text):
    # Cases H04 and H05: brackets are words.
    add_note(archive, about="sheet", about_id=a_sheet(archive), text=text)

    assert rows(archive, "SELECT text FROM note") == [text]


def test_a_vertical_tab_becomes_a_line_break(archive):
    # Case C05.
    add_note(archive, about="sheet", about_id=a_sheet(archive), text="moved\x0bto new site")

    assert rows(archive, "SELECT text FROM note") == ["moved\nto new site"]


@pytest.mark.parametrize("text", ["", " \n", "a\0b", "\udce9"])
def test_a_note_that_says_nothing_or_is_no_text_is_refused(archive, text):
    sheet = a_sheet(archive)

    with pytest.raises(RefusedError):
        add_note(archive, about="sheet", about_id=sheet, text=text)


def test_a_note_is_corrected_by_its_number_and_says_who_said_it(archive):
    keeper = add_person(archive, name="I. Harrow")
    note = add_note(archive, about="sheet", about_id=a_sheet(archive), text="sluice", said_by=SaidBy(person_id=keeper))

    correct_note(archive, note, text="the sluice", heading="remarks")

    assert rows(archive, "SELECT text, heading, said_by_id FROM note") == [("the sluice", "remarks", keeper)]
    with pytest.raises(RefusedError, match="says so already"):
        correct_note(archive, note, text="the sluice")
    with pytest.raises(RefusedError, match="no note 9"):
        correct_note(archive, 9, text="x")


def test_a_note_about_a_record_that_is_not_there_is_refused(archive):
    with pytest.raises(NotFoundError, match="S9"):
        add_note(archive, about="sheet", about_id=9, text="x")
    with pytest.raises(NotFoundError, match="N9"):
        add_note(archive, about="sheet", about_id=a_sheet(archive), text="x", said_by=SaidBy(person_id=9))


def test_a_wording_says_how_sure_and_who_says_so(archive):
    sheet, keeper = a_sheet(archive), add_person(archive, name="I. Harrow")

    add_wording(
        archive, about="sheet", about_id=sheet, field="film", words=parse_doubt("probably Grayline"),
        said_by=SaidBy(person_id=keeper),
    )  # fmt: skip

    assert rows(archive, "SELECT field, as_written, certainty, said_by_id FROM wording") == [
        ("film", "probably Grayline", "probable", keeper)
    ]
    with pytest.raises(RefusedError, match="needs the field"):
        add_wording(archive, about="sheet", about_id=sheet, field=" ", words=parse_doubt("x?"))


def test_a_question_is_asked_and_answered_once(archive):
    mill = a_mill(archive)
    question = ask_question(archive, text="Who took the wheel out?", about="building", about_id=mill, ask="the archive")

    answer_question(archive, question, answer="I. Harrow, in 1958")

    assert rows(archive, "SELECT about, about_id, ask, answer, settled_at IS NOT NULL FROM open_question") == [
        ("building", mill, "the archive", "I. Harrow, in 1958", 1)
    ]
    with pytest.raises(RefusedError, match="was settled"):
        answer_question(archive, question, answer="somebody else")
    correct_question(archive, question, answer="I. Harrow, in 1957")
    assert rows(archive, "SELECT answer FROM open_question") == ["I. Harrow, in 1957"]


def test_an_open_question_has_no_answer_to_correct(archive):
    question = ask_question(archive, text="Who?")

    with pytest.raises(RefusedError, match="is open still"):
        correct_question(archive, question, answer="me")
    with pytest.raises(RefusedError, match="something said"):
        answer_question(archive, question, answer=" ")
    with pytest.raises(RefusedError, match="text is needed"):
        ask_question(archive, text="")
