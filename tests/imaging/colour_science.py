"""The library colour-science, as an oracle: it warns of drawing libraries that it would like, and we do not need."""

from __future__ import annotations

import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

__all__ = ["colour"]
