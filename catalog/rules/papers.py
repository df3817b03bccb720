"""The papers that pictures are judged for: how light their white is, how dark their black gets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from catalog.errors import NotFoundError, SettingsError
from catalog.rules.folding import fold


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper stock: the L* of its white and of its deepest black, and who says so."""

    name: str
    white_l: float
    black_l: float
    source: str


# Black: the middle of each range of densities that McNamee measured (swpp.co.uk, 1 April 2010): canvas 1.4-1.5, art
# and matt 1.6-1.7, gloss, lustre and baryta 2.0-2.2; as L* by CIE 15. White: 95 to 97, from memory. Deep baryta:
# densities of 2.3-2.6, from memory.
_MEASURED = "black: D {} measured, McNamee, swpp.co.uk, 1 April 2010; white: from memory"
GENERIC_PAPERS = (
    Paper("matt cotton", 96.0, 16.7, _MEASURED.format("1.6-1.7")),
    Paper("canvas", 95.0, 22.1, _MEASURED.format("1.4-1.5")),
    Paper("lustre", 96.0, 7.2, _MEASURED.format("2.0-2.2")),
    Paper("gloss", 96.0, 7.2, _MEASURED.format("2.0-2.2")),
    Paper("baryta", 96.0, 7.2, _MEASURED.format("2.0-2.2")),
    Paper("deep baryta", 96.0, 3.2, "from memory: D 2.3-2.6"),
)
"""Kinds of paper, no makers: where an archive starts from, until its owner has measured their own."""

_KEYS = ("white_l", "black_l", "source")


def parse_papers(tables: Any, where: str) -> tuple[Paper, ...]:
    """
    Return the papers of the table ``[papers]`` in a settings file named ``where``, in their order.

    Raises:
        SettingsError: a stock lacks a figure or its source, or has one that cannot be.
    """
    if not isinstance(tables, dict):
        raise SettingsError(f'{where}: papers are tables such as [papers."matt cotton"].')
    papers = [_parse_paper(name, keys, f"{where}: [papers.{name!r}]") for name, keys in tables.items()]
    by_name: dict[str, str] = {}
    for paper in papers:
        known = by_name.setdefault(fold(paper.name), paper.name)
        if known != paper.name:
            raise SettingsError(f"{where}: papers {known!r} and {paper.name!r} are one name. Rename one of them.")
    return tuple(papers)


def _parse_paper(name: str, keys: Any, where: str) -> Paper:
    if not fold(name):
        raise SettingsError(f"{where}: a paper needs a name.")
    if not isinstance(keys, dict):
        raise SettingsError(f"{where} is no table with {', '.join(_KEYS)}.")
    for key in keys:
        if key not in _KEYS:
            raise SettingsError(f"{where} knows no {key!r}. A paper has {', '.join(_KEYS)}.")
    for key in _KEYS:
        if key not in keys:
            hint = ' ("from memory" if nobody measured it)' if key == "source" else ""
            raise SettingsError(f"{where} lacks {key}{hint}.")
    white_l, black_l = (_lightness(keys[key], f"{where} {key}") for key in ("white_l", "black_l"))
    if black_l >= white_l:
        raise SettingsError(f"{where}: black_l {black_l:g} is not below white_l {white_l:g}.")
    source = keys["source"]
    if not isinstance(source, str) or not source.strip():
        raise SettingsError(f'{where} source = {source!r} should say who measured it, or "from memory".')
    return Paper(name, white_l, black_l, source)


def _lightness(value: Any, where: str) -> float:
    # bool is an int in Python, and none in the person's mind; a TOML nan fails the comparison.
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 <= value <= 100:
        raise SettingsError(f"{where} = {value!r} should be an L* from 0 to 100.")
    return float(value)


def find_paper(papers: Iterable[Paper], typed: str) -> Paper:
    """
    Return the paper that ``typed`` names; case and accents make no difference.

    Raises:
        NotFoundError: no paper of the archive has this name; those it has are listed.
    """
    known = list(papers)
    for paper in known:
        if fold(paper.name) == fold(typed):
            return paper
    names = ", ".join(repr(paper.name) for paper in known)
    raise NotFoundError(
        f"No paper is called {typed!r}. There {'are' if len(known) != 1 else 'is'} {names or 'none'}; "
        f"add yours to tiebeam.toml as [papers.NAME] with white_l, black_l and source."
    )


def papers_as_toml(papers: Iterable[Paper]) -> str:
    """Return papers as the tables of a settings file."""
    return "\n".join(
        f'[papers."{paper.name}"]\nwhite_l = {paper.white_l}\nblack_l = {paper.black_l}\nsource = "{paper.source}"\n'
        for paper in papers
    )
