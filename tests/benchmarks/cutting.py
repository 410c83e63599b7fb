"""``python -m tests.benchmarks.cutting [ROW ...]``: the table of cutting layouts, ours beside the baselines.

Rows 1 to 4 are lengths, 5 to 10 sheets; without a name all of them run, which takes the better part of an hour.
Nothing is asserted but that every layout passes a checker that shares no code with the solver.
"""

from __future__ import annotations

import argparse
import importlib.util
import os

from tests.benchmarks.text_table import print_table

HEAD = (
    "row", "set [cap a job]", "ours", "to reach", "bound", "proven", "shelf/best fit", "library", "prototype",
    "worse than library", "median CPU s", "max CPU s",
)  # fmt: skip


def main() -> None:
    """Reads which rows to run and prints each as it is done."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.cutting", description=__doc__)
    parser.add_argument("rows", nargs="*", metavar="ROW", help="1 to 10")
    parser.add_argument("--workers", type=int, default=1, help="jobs at a time; times are then of busy cores")
    given = parser.parse_args()
    names = given.rows or [str(k) for k in range(1, 11)]
    print(f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}, compiled: {_compiled()}")
    rows: list[tuple[str, ...]] = []
    if set(names) & {"1", "2", "3", "4", "10"}:
        from tests.benchmarks.cutting_lengths import length_rows

        rows += length_rows(names)
    if set(names) - set("1234"):
        from tests.benchmarks.cutting_sheets import sheet_rows

        for row in sheet_rows(given.workers, names):
            print("  " + "  ".join(row), flush=True)
            rows.append(row)
    print_table("Cutting layouts", HEAD, rows)


def _compiled() -> str:
    return "yes" if importlib.util.find_spec("numba") else "no"


if __name__ == "__main__":
    main()
