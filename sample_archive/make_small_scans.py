"""Makes the six small scans that the repository keeps: ``python sample_archive/make_small_scans.py``."""

from __future__ import annotations

import runpy
from pathlib import Path

if __name__ == "__main__":
    runpy.run_path(str(Path(__file__).parent / "draw.py"))["draw_small_scans"](Path(__file__).parent / "small_scans")
