"""python -m tests.bench [PART ...]: the benchmarks, side by side; all of them make RESULTS.md."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path

from .machine import described
from .table import Part

PARTS = ("decode", "record", "tops", "plan", "whole")
RESULTS = Path(__file__).parent / "RESULTS.md"
BEGINS = """# Benchmarks

Written by `python -m tests.bench`; see DEVELOPERS.md. Medians of interleaved runs: compare within
a table, for absolute figures change with the machine and with what else it does.
"""


def main(wanted: list[str]) -> int:
    """Prints each table as it is done."""
    unknown = sorted(set(wanted) - set(PARTS))
    if unknown:
        sys.stderr.write(f"no such part: {', '.join(unknown)}; there are {', '.join(PARTS)}\n")
        return 2
    page = [BEGINS, described() + "\n"]
    sys.stdout.write("\n".join(page) + "\n")
    for name in wanted or PARTS:
        measure: Callable[[], Iterator[Part]] = import_module(f"tests.bench.{name}").measure
        for part in measure():
            page.append(part.markdown())
            sys.stdout.write(page[-1] + "\n")
            sys.stdout.flush()
    if not wanted:
        RESULTS.write_text("\n".join(page))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
