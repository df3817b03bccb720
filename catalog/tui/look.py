"""Paper and ink: the colours of the cards, on a dark desk and on a light one; never the only sign of anything."""

from __future__ import annotations

from textual.theme import Theme

# Ink against paper is at least 7:1, faint ink at least 4.5:1 (WCAG 2.2, 1.4.6 and 1.4.3); rules are decoration.
_DARK = {
    "desk": "#0e0d0c", "paper": "#1b1a18", "ink": "#ece6da", "faint-ink": "#a49c8d", "rule": "#4c483f",
    "margin": "#b4745c", "doubt-ink": "#8fb7d9", "chosen-paper": "#3a352c", "chosen-ink": "#fffaf0",
    "slip": "#26241f", "edge": "#6d675b",
}  # fmt: skip
_LIGHT = {
    "desk": "#cfc9bd", "paper": "#faf7f0", "ink": "#23201b", "faint-ink": "#6a6356", "rule": "#c9c1b1",
    "margin": "#a04b33", "doubt-ink": "#1f5688", "chosen-paper": "#e6dcc6", "chosen-ink": "#0d0b08",
    "slip": "#f0e9da", "edge": "#857b68",
}  # fmt: skip


def _theme(name: str, colours: dict[str, str], *, dark: bool) -> Theme:
    return Theme(
        name=name, primary=colours["margin"], secondary=colours["doubt-ink"], accent=colours["margin"],
        foreground=colours["ink"], background=colours["desk"], surface=colours["paper"], panel=colours["slip"],
        warning=colours["margin"], error=colours["margin"], success=colours["doubt-ink"], dark=dark,
        variables=colours,
    )  # fmt: skip


DARK = _theme("dark desk", _DARK, dark=True)
LIGHT = _theme("light desk", _LIGHT, dark=False)

CSS = """
Screen { background: $desk; color: $ink; layers: below above; }
PlaceLine { height: 2; background: $desk; color: $faint-ink; }
.card { background: $paper; color: $ink; border-left: solid $edge; border-right: solid $edge;
    border-bottom: round $edge; height: 1fr; }
SaidLine { height: 1; background: $desk; color: $faint-ink; padding: 0 2; }
Page, CardList { background: $paper; color: $ink; scrollbar-gutter: stable; scrollbar-size-vertical: 1;
    scrollbar-size-horizontal: 0;
    scrollbar-color: $rule; scrollbar-color-hover: $margin; scrollbar-color-active: $margin;
    scrollbar-background: $paper; scrollbar-background-hover: $paper; scrollbar-background-active: $paper; }
.paper--ink { color: $ink; }
.paper--strong { color: $ink; text-style: bold; }
.paper--faint { color: $faint-ink; }
.paper--rule { color: $rule; }
.paper--margin { color: $margin; }
.paper--doubt { color: $doubt-ink; text-style: italic; }
.paper--edge { color: $edge; }
.paper--tab { background: $paper; color: $ink; text-style: bold; }
.paper--chosen { background: $chosen-paper; color: $chosen-ink; }
"""
CSS += """
#sides { height: 1fr; }
#no-room { display: none; padding: 1; color: $ink; }
Screen.-small PlaceLine, Screen.-small #sides, Screen.-small SaidLine { display: none; }
Screen.-small #no-room { display: block; }
"""
