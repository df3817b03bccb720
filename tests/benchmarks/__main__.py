"""Everything that is measured, in one run: ``python -m tests.benchmarks [PART ...]``."""

from __future__ import annotations

import sys
from importlib import import_module

from tests.benchmarks.rows import machine, print_rows

PARTS = (
    "start_up", "dates", "cards_read", "xmp_reading", "sidecars_write", "scans_add", "village_query", "index_pictures",
    "contact_sheet", "browse_first_paint", "browse_keys", "positives", "prints_ledger", "print_numbers",
)  # fmt: skip


def main(wanted: list[str]) -> int:
    """Measure the parts named, or all; 0 when every goal is reached, 1 otherwise."""
    unknown = [part for part in wanted if part not in PARTS]
    if unknown:
        print(f"No part {unknown[0]!r}; there are {', '.join(PARTS)}.", file=sys.stderr)
        return 2
    print(machine(), flush=True)
    missed = 0
    for part in wanted or PARTS:
        rows = import_module(f"tests.benchmarks.{part}").measure()
        print_rows(rows)
        missed += sum(row.is_reached is False for row in rows)
    print(f"{missed} goals not reached." if missed else "Every goal reached.")
    return int(bool(missed))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
