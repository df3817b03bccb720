"""
Draw the manual's pictures of the cards from the program itself: ``python docs/manual/draw_screens.py [NAME ...]``.

Each is the screen of `tiebeam browse` on the sample archive, driven by the keys that its row tells, and is written
as SVG into ``docs/manual/screens/``. Look at what changed before it is committed.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from dataclasses import dataclass
from html import unescape
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

NARROW, WIDE = (80, 24), (132, 40)


@dataclass(frozen=True, slots=True)
class Screen:
    """One picture: where the program opens, what is pressed, then what is typed."""

    name: str
    at: str | None
    keys: tuple[str, ...] = ()
    typed: str = ""
    size: tuple[int, int] = NARROW


SCREENS = (
    Screen("first-card", None),
    Screen("village", "L4"),
    Screen("building", "B1", ("down", "down")),
    Screen("sheet-face", "S13"),
    Screen("sheet-back", "S13", ("space",)),
    Screen("sheet-open", "S13", size=WIDE),
    Screen("find", None, ("f", "tab", "tab"), "1975/1980"),
    Screen("keys", "B1", ("question_mark",)),
    Screen("editions", None, ("e",)),
    Screen("edition", "E1"),
    Screen("print", "P3"),
    Screen("desk", None, ("d",)),
    Screen("stray", "stray", ("enter",)),
    Screen("stray-open", "stray", ("enter",), size=WIDE),
    Screen("writing", "S13", ("w",)),
    Screen(
        "writing-date", "S13", ("w", "down", "down", "down", "down", "enter", "ctrl+u", *"3/4/1978", "enter", "down")
    ),
    Screen("two-frames", "S13", ("b", "enter")),
    Screen("two-frames-open", "S13", ("b", "enter"), size=WIDE),
)


def made_sample(folder: Path) -> Path:
    """Make the sample archive as `tiebeam demo` does, at one fixed moment, and its index pictures."""
    from catalog import clock
    from tests.scanned_sample import status

    with clock.fixed():
        assert status("demo", str(folder)) == 0
        assert status("index-pictures", "make", "--archive", str(folder)) == 0
    return folder


def drawn(folder: Path, screen: Screen) -> str:
    """Return one picture as SVG; it names no font from elsewhere, so that nothing is fetched to show it."""
    from catalog.store.archive import open_archive
    from catalog.tui.app import BrowseApp
    from catalog.tui.terminal import Terminal
    from tests.tui.desk import Desk

    async def run() -> str:
        app = BrowseApp(open_archive(folder), screen.at, terminal=Terminal(is_dark=False))
        async with app.run_test(size=screen.size) as pilot:
            desk = Desk(app, pilot)
            await desk.settle()
            await desk.press(*screen.keys)
            if screen.typed:
                await desk.type(screen.typed)
                await asyncio.sleep(0.3)
            for field in app.screen.query("Input"):
                field.cursor_blink = False  # type: ignore[attr-defined]
            await desk.settle()
            return app.export_screenshot(title="tiebeam browse")

    return plain(asyncio.run(run()))


def plain(svg: str) -> str:
    """Return a picture without what is not ours: fonts fetched from elsewhere, and another system's window buttons."""
    svg = re.sub(r"@font-face \{.*?\}\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r'<g transform="translate\(26,22\)">.*?</g>\s*', "", svg, count=1, flags=re.DOTALL)
    svg = svg.replace("font-family: Fira Code, monospace", "font-family: DejaVu Sans Mono, Menlo, Consolas, monospace")
    return re.sub(r"[ \t]+$", "", svg, flags=re.MULTILINE)


def words_of(svg: str) -> list[str]:
    """Return the words that stand on a picture, in their order."""
    return [unescape(one).replace("\xa0", " ") for one in re.findall(r"<text [^>]*>(.*?)</text>", svg, re.DOTALL)]


def main(names: list[str]) -> int:
    """Draw the pictures named, or all."""
    unknown = set(names) - {screen.name for screen in SCREENS}
    if unknown:
        print(f"No screen {', '.join(sorted(unknown))}; there are {', '.join(one.name for one in SCREENS)}.")
        return 2
    (HERE / "screens").mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="tiebeam-screens-") as name:
        folder = made_sample(Path(name) / "archive")
        for screen in SCREENS:
            if not names or screen.name in names:
                (HERE / "screens" / f"{screen.name}.svg").write_text(drawn(folder, screen), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
