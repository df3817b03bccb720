"""What the terminal can do, asked before the screens take it over: pictures, cell size, a dark or light ground."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from time import monotonic

_WAIT_S = 0.15
# DEC VT510 Programmer Information, "Primary Device Attributes": 4 among them is sixel graphics. Every terminal
# answers it, so that it ends the answers to the questions asked before it.
_ATTRIBUTES = re.compile(rb"\x1b\[\?([0-9;]*)c")
# XTerm Control Sequences, "Operating System Commands", 11: the colour of the ground.
_GROUND = re.compile(rb"\x1b\]11;rgb:([0-9a-fA-F]+)/([0-9a-fA-F]+)/([0-9a-fA-F]+)")
# The terminal graphics protocol, "Querying support": a picture of one pixel, asked for and not shown.
_GRAPHICS = re.compile(rb"\x1b_Gi=31;OK")
_QUESTIONS = b"\x1b]11;?\x1b\\" + b"\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\" + b"\x1b[c"


@dataclass(frozen=True, slots=True)
class Terminal:
    """``pictures`` is ``half-block``, ``sixel`` or ``graphics``."""

    pictures: str = "half-block"
    is_dark: bool = True


def ask_terminal() -> Terminal:
    """
    Return what this terminal can do; without an answer in time, what every terminal can.

    Under a multiplexer the pictures stay half blocks: it keeps what it does not know from the terminal.
    """
    if not sys.stdin.isatty() or not sys.stdout.isatty() or os.environ.get("TERM", "") in ("", "dumb", "linux"):
        return Terminal(is_dark=_is_dark_by_environment())
    is_shared = os.environ.get("TERM", "").startswith(("tmux", "screen")) or "TMUX" in os.environ
    if is_shared or sys.platform == "win32":
        return Terminal(is_dark=_is_dark_by_environment())
    return read_answers(_ask(_QUESTIONS))


def read_answers(answered: bytes) -> Terminal:
    """
    Return what the answers of a terminal say.

    >>> read_answers(b"\\x1b]11;rgb:ffff/ffff/f0f0\\x1b\\\\\\x1b[?62;4;22c")
    Terminal(pictures='sixel', is_dark=False)
    """
    attributes = _ATTRIBUTES.search(answered)
    has_sixel = attributes is not None and b"4" in attributes[1].split(b";")
    pictures = "sixel" if has_sixel else "graphics" if _GRAPHICS.search(answered) else "half-block"
    ground = _GROUND.search(answered)
    return Terminal(pictures, _is_dark(ground) if ground else _is_dark_by_environment())


def _is_dark(ground: re.Match[bytes]) -> bool:
    # Relative luminance as WCAG 2.2 weighs red, green and blue, without its gamma: only a half is asked for.
    red, green, blue = (int(part, 16) / (16 ** len(part) - 1) for part in ground.groups())
    return bool(0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.5)


def _is_dark_by_environment() -> bool:
    """Return what ``COLORFGBG`` says, which some terminals set ("15;0"): 7 and above 8 are light grounds."""
    ground = os.environ.get("COLORFGBG", "").rpartition(";")[2]
    return not (ground.isdigit() and (ground == "7" or int(ground) > 8))


def _ask(questions: bytes) -> bytes:
    import select
    import termios
    import tty

    read_from, write_to = sys.stdin.fileno(), sys.stdout.fileno()
    former = termios.tcgetattr(read_from)
    answered = b""
    try:
        tty.setcbreak(read_from, termios.TCSANOW)
        os.write(write_to, questions)
        until = monotonic() + _WAIT_S
        while not _ATTRIBUTES.search(answered):
            left = until - monotonic()
            if left <= 0 or not select.select([read_from], [], [], left)[0]:
                break
            answered += os.read(read_from, 1024)
    finally:
        termios.tcsetattr(read_from, termios.TCSANOW, former)
    return answered
