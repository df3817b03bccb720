"""The manual's pictures of the cards: each is shown, is as the program draws it, and tells of no machine."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docs.manual.draw_screens import SCREENS, drawn, made_sample, words_of

MANUAL = Path(__file__).parents[2] / "docs" / "manual"
NAMES = [screen.name for screen in SCREENS]


def test_every_picture_is_drawn_by_the_script_and_shown_on_a_page():
    shown = {
        name
        for page in MANUAL.glob("*.md")
        for name in re.findall(r"\(screens/([a-z-]+)\.svg\)", page.read_text("utf-8"))
    }

    assert {path.stem for path in (MANUAL / "screens").glob("*.svg")} == set(NAMES) == shown


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_fetches_nothing_and_tells_of_no_machine(name):
    svg = (MANUAL / "screens" / f"{name}.svg").read_text("utf-8")

    links = set(re.findall(r"https?://[^\s\"']+", svg))
    assert links <= {"http://www.w3.org/2000/svg", "https://www.textualize.io"}
    assert not [sign for sign in ("/tmp", "/root", "/home", "/work", "url(http") if sign in svg]


@pytest.mark.slow
def test_the_pictures_are_as_the_program_draws_them(tmp_path):
    folder = made_sample(tmp_path / "archive")

    for screen in SCREENS:
        kept = (MANUAL / "screens" / f"{screen.name}.svg").read_text("utf-8")
        assert words_of(drawn(folder, screen)) == words_of(kept), (
            f"{screen.name} is out of date: python docs/manual/draw_screens.py {screen.name}"
        )
