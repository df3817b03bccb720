"""
How the cards look, at 80 x 24 and at 160 x 50: pictures of the screen, compared with those that were looked over.

``pytest --snapshot-update`` draws them anew; each is looked at before it is committed. The picture on the sheet's
face is one even grey, so that no freshly drawn pixels are compared.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from catalog import clock
from catalog.store.archive import open_archive
from catalog.tui.app import BrowseApp
from catalog.tui.terminal import Terminal
from tests.sample import make_sample
from tests.scan_archives import a_scan
from tests.scanned_sample import status
from tests.tui.desk import Desk

NARROW, WIDE = (80, 24), (160, 50)


@pytest.fixture(scope="module")
def fixed_sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample archive as it is made at one fixed moment, with one scan."""
    folder = tmp_path_factory.mktemp("cards") / "wenn"
    with clock.fixed():
        archive = make_sample(folder)
        a_scan(folder / "scans" / "74-03.tif", 1, width=12, height=9)
        assert status("scans", "add", str(folder / "scans"), "--archive", str(folder)) == 0
    return archive.folder


def looks(snap_compare: Any, folder: Path, at: str | None, size: tuple[int, int], *keys: str, is_dark: bool = True,
          typed: str = "") -> bool:  # fmt: skip
    app = BrowseApp(open_archive(folder), at, terminal=Terminal(is_dark=is_dark))

    async def drive(pilot: Any) -> None:
        desk = Desk(app, pilot)
        await desk.settle()
        for key in keys:
            await desk.press(key)
        if typed:
            await desk.type(typed)
        for field in app.screen.query("Input, TextArea"):
            field.cursor_blink = False  # type: ignore[attr-defined]
        await desk.settle()

    return bool(snap_compare(app, terminal_size=size, run_before=drive))


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_first_guide_card(snap_compare, fixed_sample, size):
    assert looks(snap_compare, fixed_sample, None, size)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
@pytest.mark.parametrize("is_dark", [True, False], ids=["dark", "light"])
def test_the_guide_card_of_a_village(snap_compare, fixed_sample, size, is_dark):
    assert looks(snap_compare, fixed_sample, "L4", size, is_dark=is_dark)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_card_of_a_building(snap_compare, fixed_sample, size):
    assert looks(snap_compare, fixed_sample, "B1", size, "down", "down")


@pytest.fixture
def one_grey(monkeypatch):
    """Let every picture be one even grey, as broad as a sheet."""
    from PIL import Image

    monkeypatch.setattr("catalog.tui.scan_pictures.open_picture", lambda path: Image.new("RGB", (500, 400), "#777"))


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_face_of_a_sheet(snap_compare, fixed_sample, one_grey, size):
    assert looks(snap_compare, fixed_sample, "S2", size)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_back_of_a_sheet(snap_compare, fixed_sample, one_grey, size):
    assert looks(snap_compare, fixed_sample, "S8", size, "space")


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_finding(snap_compare, fixed_sample, size):
    assert looks(snap_compare, fixed_sample, None, size, "f", "tab", "tab", typed="1975/1980")


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_card_of_an_edition(snap_compare, fixed_sample, size):
    assert looks(snap_compare, fixed_sample, "E1", size, "down", "down")


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_card_of_a_print(snap_compare, fixed_sample, size):
    assert looks(snap_compare, fixed_sample, "P3", size)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_the_desk(snap_compare, fixed_sample, size):
    with clock.fixed():
        assert looks(snap_compare, fixed_sample, "desk", size, "down")


def test_what_is_not_scanned(snap_compare, fixed_sample):
    with clock.fixed():
        assert looks(snap_compare, fixed_sample, "desk", NARROW, "down", "down", "enter", "down")


def test_the_list_of_editions(snap_compare, fixed_sample):
    assert looks(snap_compare, fixed_sample, "editions", NARROW)


def test_the_slip_of_keys(snap_compare, fixed_sample):
    assert looks(snap_compare, fixed_sample, "B1", NARROW, "question_mark")


_TO_EXPOSED = ("w", "down", "down", "down", "down", "enter")


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])
def test_a_sheet_to_write_on(snap_compare, fixed_sample, one_grey, size):
    assert looks(snap_compare, fixed_sample, "S8", size, "w")


@pytest.mark.parametrize("is_dark", [True, False], ids=["dark", "light"])
def test_an_ambiguous_date_is_asked_about(snap_compare, fixed_sample, one_grey, is_dark):
    typed = ("ctrl+u", *"3/4/1978", "enter", "down")
    assert looks(snap_compare, fixed_sample, "S8", NARROW, *_TO_EXPOSED, *typed, is_dark=is_dark)


def test_a_note_being_written(snap_compare, fixed_sample, one_grey):
    keys = ("w", "end", "enter", "left_square_bracket", *"sic", "right_square_bracket", "ctrl+j", "x")
    assert looks(snap_compare, fixed_sample, "S8", NARROW, *keys)


def test_a_refusal_below_a_field(snap_compare, fixed_sample, one_grey):
    assert looks(snap_compare, fixed_sample, "S8", NARROW, *_TO_EXPOSED[:-1], "down", "enter", "ctrl+u", "x", "enter")


def test_marked_frames(snap_compare, fixed_sample):
    assert looks(snap_compare, fixed_sample, "L4", NARROW, "a", "m", "down", "m", "m")


def test_several_frames_to_write_on(snap_compare, fixed_sample):
    assert looks(snap_compare, fixed_sample, "L4", NARROW, "a", "m", "m", "m", "w")


def test_no_snapshot_tells_of_a_machine():
    folder = Path(__file__).parent / "__snapshots__"
    told = [path.name for path in folder.rglob("*.svg") for sign in ("/tmp", "/root", "/home", "/work")
            if sign in path.read_text("utf-8")]  # fmt: skip
    assert told == []
