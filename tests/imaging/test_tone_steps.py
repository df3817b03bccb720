"""Tone steps: what was done to a scan, as data, in JSON and in words."""

from __future__ import annotations

import pytest
from hypothesis import given

from catalog.errors import ToneStepError
from catalog.imaging.tone_steps import (
    check_steps,
    format_steps,
    parse_steps,
    tone_step,
    with_step,
    words_of_steps,
)
from tests.imaging.tone_step_makers import tone_steps

USUAL = (
    tone_step("invert"),
    tone_step("base", density=[0.21]),
    tone_step("points", black_d=0.18, white_d=1.31),
    tone_step("curve", grade=2),
)


@given(tone_steps())
def test_steps_written_as_json_are_read_back_the_same(steps):
    text = format_steps(steps)

    assert parse_steps(text) == steps
    assert format_steps(parse_steps(text)) == text
    assert hash(parse_steps(text)) == hash(steps)


def test_steps_have_one_spelling_whoever_wrote_them():
    other = '[{"kind":"invert"},{"density":0.210,"kind":"base"},{"white_d":1.31,"kind":"points","black_d":1.8e-1}]'

    assert format_steps(parse_steps(other)) == format_steps(USUAL[:3])


def test_steps_are_said_in_words_a_printer_uses():
    # The form of the words is the issue's; on a negative, the paper's black lies at the lower density.
    assert words_of_steps(USUAL) == "inverted; base 0.21 removed; black at D 0.18, white at D 1.31; grade 2"
    assert words_of_steps(()) == "as it was scanned"


@given(tone_steps())
def test_every_step_has_words(steps):
    words = words_of_steps(steps)

    assert words
    assert len(words.split("; ")) == max(len(steps), 1)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "not JSON"),
        ("{}", "not a list"),
        ("[1]", "step 1 has no kind"),
        ('[{"kind":"solarise"}]', "'solarise' is no tone step"),
        ('[{"kind":["invert"]}]', "is no tone step"),
        ('[{"kind":"invert"},{"kind":"base"}]', "step 2: base needs density"),
        ('[{"kind":"base","density":[0.1,0.2]}]', "one number for grey or three"),
        ('[{"kind":"base","density":NaN}]', "not between"),
        ('[{"kind":"base","density":true}]', "True is no number"),
        ('[{"kind":"base","density":0.2,"shade":1}]', "base has no 'shade'"),
        ('[{"kind":"orient","orientation":9}]', "9 is not between 1 and 8"),
        ('[{"kind":"orient","orientation":1.5}]', "no whole number"),
        ('[{"kind":"crop","left":0,"top":0,"width":0,"height":5}]', "0 is not between 1 and"),
        ('[{"kind":"curve"}]', "exactly one of grade, gamma, points"),
        ('[{"kind":"curve","grade":2,"gamma":1}]', "exactly one of"),
        ('[{"kind":"curve","points":[[0,0],[50,40],[50,60]]}]', "must rise"),
        ('[{"kind":"output","profile":"mine"}]', "none of grey gamma 2.2"),
        ('[{"kind":"invert"},{"kind":"invert"}]', "invert stands twice"),
        ('[{"kind":"invert"},{"kind":"points","black_d":1.3,"white_d":0.1}]', "black lies at the lower density"),
        ('[{"kind":"points","black_d":0.1,"white_d":1.3}]', "white lies at the lower density"),
        ('[{"kind":"invert"},{"kind":"points","black_d":1,"white_d":1}]', "lower density"),
        ("[" * 100_000, "more than"),
        ("[" * 60_000, "not JSON"),
    ],
)
def test_steps_that_cannot_be_followed_are_refused_by_name(text, says):
    with pytest.raises(ToneStepError) as refused:
        parse_steps(text)

    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_steps_without_end_are_refused():
    with pytest.raises(ToneStepError, match="more than 64"):
        check_steps([tone_step("mirror")] * 65)


def test_a_step_takes_the_place_of_its_like_and_others_come_before_the_output():
    steps = (*USUAL, tone_step("output", profile="sRGB"))

    assert with_step(steps, tone_step("curve", grade=3))[3] == tone_step("curve", grade=3)
    assert [step.kind for step in with_step(steps, tone_step("neutral", density=0.1))][-2:] == ["neutral", "output"]
