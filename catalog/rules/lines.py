"""Text in the columns of a terminal: how wide it is, in one line, in several."""

from __future__ import annotations


def display_width(text: str) -> int:
    """Return how many columns of a terminal ``text`` takes."""
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth

    return max(wcswidth(text), 0)


def fit(text: str, width: int) -> str:
    """Return ``text`` cut or padded to ``width`` columns; a cut is shown by an ellipsis."""
    text = one_line(text)
    if display_width(text) > width:
        while text and display_width(text) > width - 1:
            text = text[:-1]
        text += "…"
    return text + " " * (width - display_width(text))


_JOINERS = "\u200c\u200d"


def one_line(text: str) -> str:
    """
    Return ``text`` with line breaks as ``/``, every kind of blank as one, and control characters as escapes.

    A terminal would obey those, and marks that turn the direction of writing would show another order.
    """
    if text.isprintable():
        return text
    text = " / ".join(part.strip() for part in text.splitlines())
    return "".join(map(_shown, text))


def _shown(character: str) -> str:
    if character.isprintable() or character in _JOINERS:
        return character
    if character == "\t" or (character.isspace() and character > " "):
        return " "
    return character.encode("unicode_escape").decode("ascii")


def wrapped(text: str, width: int) -> list[str]:
    """Return ``text`` in lines of at most ``width`` columns, broken at blanks; inside a word only where it must be."""
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if display_width(joined) <= width:
            lines[-1] = joined
            continue
        pieces = _pieces(word, width)
        lines = (lines if lines[-1] else lines[:-1]) + pieces
    return lines


def _pieces(word: str, width: int) -> list[str]:
    """Return a word cut to ``width`` columns; an accent stays with its letter, a joined sign with its like."""
    pieces = [""]
    for character in word:
        longer = pieces[-1] + character
        if display_width(longer) <= width or not pieces[-1]:
            pieces[-1] = longer
        else:
            pieces.append(character)
    return pieces
