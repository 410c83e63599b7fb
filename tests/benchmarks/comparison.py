"""Solids, preparation and four hidden-line views against the exact B-rep kernel, as ratios in one run.

Both sides work in one process, warm, in turn on the same members; of several rounds the fastest counts.
"""

from __future__ import annotations

from tests.benchmarks.kernel_side import kernel_times
from tests.benchmarks.our_side import our_times
from tests.benchmarks.text_table import print_table, ratio, seconds
from tests.benchmarks.times import fastest_of
from tests.benchmarks.workpieces import REPEATED_SHAPES, lattice


def compare(sizes: tuple[int, ...]) -> None:
    """The table against the kernel, all members unlike and with shapes repeated."""
    sides = (our_times, kernel_times)
    fastest_of(sides, lattice(4), 2)
    head = (
        "members", "our solids", "prep", "4 views", "kernel solids", "4 views",
        "solids x", "prep + views x", "views x", "total x",
    )  # fmt: skip
    for title, shapes in (
        ("all members unlike", None),
        (f"{REPEATED_SHAPES} shapes repeated", REPEATED_SHAPES),
    ):
        rows = []
        for count in sizes:
            arrangement = lattice(count, shapes)
            ours, kernel = fastest_of(sides, arrangement)
            numbers = (ours.solids, ours.prepared, ours.views, kernel.solids, kernel.views)
            rows.append(
                [
                    str(count),
                    *(seconds(v) for v in numbers),
                    ratio(kernel.solids, ours.solids),
                    ratio(kernel.prepared + kernel.views, ours.prepared + ours.views),
                    ratio(kernel.views, ours.views),
                    ratio(kernel.total, ours.total),
                ]
            )
        print_table(f"Lattice, {title}: processor seconds, and how many times the kernel's time", head, rows)
