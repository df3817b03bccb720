"""Under which name an index picture is kept: the same picture made in the same way has the same name."""

from __future__ import annotations

import re
from dataclasses import astuple, dataclass
from hashlib import sha256
from pathlib import PurePosixPath

RECIPE = 2
"""Raised whenever the program makes other pixels of the same scan, so that old index pictures are made again."""

_NAME = re.compile(r"[0-9a-f]{2}/(?P<content>[0-9a-f]{32})-[0-9a-f]{16}\.jpg")


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRecipe:
    """
    How an index picture is made of the pixels of a scan: all that is not in the pixels themselves.

    A corrected polarity, side or orientation, another version's steps, another size: each is another picture.
    """

    long_side_px: int
    polarity: str | None = None
    """``negative`` or ``positive``, as somebody said of the scan; ``None`` when its pixels must tell."""
    is_reversed: bool | None = None
    """Whether it was scanned wrong side up, as somebody said; ``None`` when a notch seen on it must tell."""
    orientation: int = 1
    white_is_zero: bool = False
    profile: str | None = None
    steps: str | None = None
    """The tone steps of an edit version as it records them; ``None`` for an automatic picture."""


def index_picture_name(content_sha256: str, recipe: PictureRecipe) -> PurePosixPath:
    """
    Return the name of an index picture within its folder, from the digest of what the scan holds and the recipe.

    >>> index_picture_name("ab" * 32, PictureRecipe(long_side_px=1200)).parent.name
    'ab'
    """
    made = sha256(repr((RECIPE, *astuple(recipe))).encode("utf-8")).hexdigest()
    return PurePosixPath(content_sha256[:2], f"{content_sha256[:32]}-{made[:16]}.jpg")


def is_index_picture_name(name: str) -> bool:
    """Return True if a path within the folder of index pictures, with ``/``, is one that this program gave."""
    return _NAME.fullmatch(name) is not None
