"""Edit versions: when one may be written, which of several stands, and what its file is called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

LONGEST_NAME = 120
"""Bytes of a number that go into a file's name; common file systems allow 255, and passing names need some of them."""


def is_side_open(*, said: bool | None, seen: bool | None) -> bool:
    """
    Return True if a scan seems to be made from the wrong side of the film, and nobody has said whether it was.

    ``said`` is what a person recorded, ``seen`` what was measured; ``None`` is not known. No picture is to leave
    the house from such a scan until the question is answered.

    >>> is_side_open(said=None, seen=True), is_side_open(said=False, seen=True), is_side_open(said=None, seen=None)
    (True, False, False)
    """
    return said is None and seen is True


def final_replacements(version_id: int, replaced_by: Mapping[int, Iterable[int]]) -> list[int]:
    """
    Return the versions that stand now in place of one: itself when nothing replaces it.

    ``replaced_by`` says of each version which ones name it as the one they replace.

    >>> final_replacements(1, {1: [2], 2: [3, 4]})
    [3, 4]
    """
    later = list(replaced_by.get(version_id, ()))
    if not later:
        return [version_id]
    return sorted({last for one in later for last in final_replacements(one, replaced_by)})


def version_file_name(number: str, reference: str) -> str:
    """
    Return the name of a written version: the sheet's number made safe for every disk, and the reference.

    >>> version_file_name("74/02: a", "W3")
    '74-02- a W3.tif'
    """
    safe = "".join(one if one.isalnum() or one in " -_.()" else "-" for one in number)
    safe = safe.encode("utf-8")[:LONGEST_NAME].decode("utf-8", "ignore").strip(" .-")
    return f"{safe} {reference}.tif" if safe else f"{reference}.tif"
