"""How the cards with two pictures look, at 80 x 24 and at 160 x 50; each picture is one even grey."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog import clock
from catalog.tui.screens import two_pictures
from tests.sample import make_sample
from tests.scan_archives import a_scan
from tests.scanned_sample import status
from tests.tui.test_snapshots import NARROW, WIDE, looks

SIZES = pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "160x50"])


@pytest.fixture(scope="module")
def with_strays(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample archive with two scans that have their sheets, and three that wait."""
    folder = tmp_path_factory.mktemp("strays") / "wenn"
    with clock.fixed():
        archive = make_sample(folder)
        for seed, name in enumerate(("74-03", "87-03", "78-14", "osk mill/north side 1982", "stray")):
            a_scan(
                folder / "scans" / f"{name}.tif", seed, width=12, height=9, caption="78-15" if name == "stray" else ""
            )
        a_scan(folder / "scans" / "78-15.tif", 9, width=12, height=9)
        assert status("scans", "add", str(folder / "scans"), "--archive", str(folder)) == 0
    return archive.folder


@pytest.fixture(autouse=True)
def one_grey(monkeypatch):
    """Let every picture be one even grey, as broad as a sheet."""
    from PIL import Image

    monkeypatch.setattr("catalog.tui.scan_pictures.open_picture", lambda path: Image.new("RGB", (500, 400), "#777"))
    monkeypatch.setattr(two_pictures, "WAIT_S", 0.0)


@SIZES
def test_the_list_of_strays(snap_compare, with_strays, size):
    assert looks(snap_compare, with_strays, "stray", size, "down")


@SIZES
def test_the_card_of_a_stray(snap_compare, with_strays, size):
    assert looks(snap_compare, with_strays, "stray", size, "end", "enter")


@SIZES
def test_which_frame_to_lay_beside(snap_compare, with_strays, size):
    assert looks(snap_compare, with_strays, "S2", size, "b", "down")


@SIZES
def test_two_frames_beside_each_other(snap_compare, with_strays, size):
    assert looks(snap_compare, with_strays, "S2", size, "b", *["down"] * 6, "enter")
