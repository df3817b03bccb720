"""Colours that can be read on both desks, and what a terminal answers."""

from __future__ import annotations

import pytest

from catalog.tui import look
from catalog.tui.terminal import Terminal, read_answers


def luminance(colour: str) -> float:
    # WCAG 2.2, "relative luminance".
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    # WCAG 2.2, "contrast ratio".
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", [look.DARK, look.LIGHT], ids=lambda theme: theme.name)
def test_ink_can_be_read_on_its_paper(theme):
    colour = theme.variables
    # WCAG 2.2, 1.4.6 (7:1) for the words themselves, 1.4.3 (4.5:1) for what is fainter.
    assert contrast(colour["ink"], colour["paper"]) >= 7
    assert contrast(colour["chosen-ink"], colour["chosen-paper"]) >= 7
    assert contrast(colour["ink"], colour["slip"]) >= 7
    for faint in ("faint-ink", "doubt-ink", "margin"):
        assert contrast(colour[faint], colour["paper"]) >= 4.5, faint
    assert contrast(colour["faint-ink"], colour["desk"]) >= 3, "the line below the card"


@pytest.mark.parametrize(("answered", "terminal"), [
    (b"", Terminal("half-block", True)),
    (b"\x1b[?62;4;22c", Terminal("sixel", True)),
    (b"\x1b[?62;22c", Terminal("half-block", True)),
    (b"\x1b_Gi=31;OK\x1b\\\x1b[?62c", Terminal("graphics", True)),
    (b"\x1b_Gi=31;EINVAL\x1b\\\x1b[?62c", Terminal("half-block", True)),
    (b"\x1b]11;rgb:ffff/ffff/ffff\x07\x1b[?62c", Terminal("half-block", False)),
    (b"\x1b]11;rgb:1e/1e/2e\x1b\\\x1b[?64;4c", Terminal("sixel", True)),
])  # fmt: skip
def test_a_terminals_answers_say_what_it_can_do(answered, terminal, monkeypatch):
    monkeypatch.delenv("COLORFGBG", raising=False)

    assert read_answers(answered) == terminal


def test_a_light_ground_is_known_from_the_environment_where_no_answer_comes(monkeypatch):
    monkeypatch.setenv("COLORFGBG", "0;15")

    assert read_answers(b"").is_dark is False
