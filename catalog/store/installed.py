"""Folders that travel with the program: inside the installed package, else beside it in a source tree."""

from __future__ import annotations

from pathlib import Path

from catalog.errors import CatalogError

_PACKAGE = Path(__file__).resolve().parent.parent


def find_installed(name: str) -> Path:
    """
    Return the folder ``name`` (``migrations``, ``sample_archive``) that belongs to this program.

    Raises:
        CatalogError: the installation is not whole.
    """
    for parent in (_PACKAGE, _PACKAGE.parent):
        if (parent / name).is_dir():
            return parent / name
    raise CatalogError(f"This installation lacks its folder {name!r}. Install tiebeam again.")
