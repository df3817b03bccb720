"""Every card when something is not as it should be: words on the card, and the keys go on."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.store.archive import Archive, open_archive
from catalog.store.connections import connect
from tests.fast_cases import some_fast
from tests.sample import copy_sample
from tests.tui.desk import Desk, browsed

Opened = Callable[[Desk], Awaitable[None]]


def at(reference: str | None) -> Opened:
    async def open_it(desk: Desk) -> None:
        desk.app.open_card(reference)
        await desk.settle()

    return open_it


def frames_of(reference: str | None) -> Opened:
    async def open_it(desk: Desk) -> None:
        desk.app.open_frames(reference)
        await desk.settle()

    return open_it


def pile(kind: str) -> Opened:
    async def open_it(desk: Desk) -> None:
        desk.app.open_pile(kind)
        await desk.settle()

    return open_it


async def find(desk: Desk) -> None:
    desk.app.open_find(words="mill")
    await desk.settle()


RECORDS = {
    "a village": at("L4"), "a building": at("B1"), "a sheet": at("S1"), "a plain record": at("N1"),
    "an edition": at("E1"), "a print": at("P3"),
}  # fmt: skip
LISTS = {
    "the first guide card": at(None), "the editions": at("editions"), "the desk": at("desk"),
    "all frames": frames_of(None), "the frames of a village": frames_of("L4"), "find": find,
    **{f"the desk's {kind}": pile(kind) for kind in ("unscanned", "promises", "drives", "sidecars")},
}  # fmt: skip
CARDS = RECORDS | LISTS
KEYS = (
    "down",
    "up",
    "pagedown",
    "end",
    "home",
    "enter",
    "escape",
    "space",
    "space",
    "n",
    "n",
    "question_mark",
    "x",
    "r",
)


@pytest.mark.parametrize("named", some_fast(CARDS, "a sheet", "the first guide card", "find"))
def test_a_terminal_too_small_gets_words_on_every_card_and_the_card_comes_back(sample, named):
    async def drive(desk: Desk) -> None:
        await CARDS[named](desk)
        before = desk.text
        await desk.resize(40, 10)
        assert "40 x 10 is too small for a card: it takes 44 x 12." in " ".join(desk.text.split())
        await desk.press("down", "space", "question_mark", "x", "space", "up")
        await desk.resize(44, 12)
        assert "too small" not in desk.text
        assert desk.text.strip()
        await desk.resize(160, 50)
        await desk.resize(80, 24)
        assert desk.lines[0] == before.split("\n")[0]

    browsed(sample, drive)


@pytest.mark.parametrize("named", some_fast(CARDS, "a building", "all frames", "the desk"))
def test_a_locked_catalogue_is_said_on_every_card_and_read_when_it_is_free(tmp_path, sample, named):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))
    archive = Archive(archive.folder, replace(archive.settings, catalogue_wait_seconds=0))
    other = connect(archive.catalogue, writing=True)
    other.execute("PRAGMA journal_mode = DELETE")

    async def drive(desk: Desk) -> None:
        other.execute("BEGIN EXCLUSIVE")
        await CARDS[named](desk)
        assert "another tiebeam is writing to this archive" in " ".join(desk.text.replace("│", " ").split())
        await desk.press("down", "space", "space", "up")
        other.execute("ROLLBACK")
        await desk.press("r")
        assert "another tiebeam" not in desk.text
        assert len(desk.text.split()) > 8

    browsed(archive, drive)
    other.close()


@pytest.mark.parametrize("named", some_fast(LISTS, "the first guide card", "find", "the desk"))
def test_an_empty_archive_has_words_on_every_card_and_takes_every_key(archive, named):
    async def drive(desk: Desk) -> None:
        await LISTS[named](desk)
        words = " ".join(desk.text.replace("│", " ").split())
        assert any(said in words for said in ("Nothing", "nothing", "No ", "Type a word")), desk.text
        for key in KEYS:
            await desk.press(key)

    browsed(archive, drive)


@pytest.mark.parametrize("named", some_fast(RECORDS, "a sheet", "an edition"))
def test_a_record_that_is_not_there_has_words_on_its_card_and_takes_every_key(archive, named):
    async def drive(desk: Desk) -> None:
        await RECORDS[named](desk)
        assert "There is no" in desk.text
        for key in KEYS:
            await desk.press(key)

    browsed(archive, drive)


@pytest.mark.slow
@pytest.mark.parametrize("named", CARDS)
@pytest.mark.parametrize("size", [(80, 24), (160, 50)], ids=["80x24", "160x50"])
def test_every_card_takes_every_key(sample, named, size):
    async def drive(desk: Desk) -> None:
        await CARDS[named](desk)
        for key in KEYS:
            await desk.press(key)
        assert len(desk.text.split()) > 5

    browsed(sample, drive, size=size)


def test_a_catalogue_that_is_gone_is_said_on_the_card(tmp_path, sample):
    archive = open_archive(copy_sample(sample, tmp_path / "wenn"))

    async def drive(desk: Desk) -> None:
        Path(archive.catalogue).rename(tmp_path / "elsewhere.db")
        for opened in (at("desk"), at("editions"), at("E1"), at("P3"), pile("unscanned")):
            await opened(desk)
            assert "archive.db" in "".join(desk.text.replace("│", "").split())

    browsed(archive, drive)
