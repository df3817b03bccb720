"""The most memory a process took."""

from __future__ import annotations

import re
import sys
from pathlib import Path


def peak_mb() -> float:
    """
    Return the most memory this process has taken since its program began, in megabytes.

    Linux's count by ``getrusage`` still holds what the parent had when it made this process, so there VmHWM is read,
    which begins anew with the program (proc(5)).
    """
    if sys.platform == "linux":
        found = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text("ascii"))
        assert found
        return int(found[1]) / 1024
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1 << 20 if sys.platform == "darwin" else 1 << 10)
