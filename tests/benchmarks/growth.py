"""How the time of views grows: a pair of an edge and a piece at a time, and on a row of benches."""

from __future__ import annotations

import math
import time

from plangen.geometry.hidden import draw_view
from tests.benchmarks.our_side import our_scene, our_solid, pairs_counted
from tests.benchmarks.text_table import print_table, seconds
from tests.benchmarks.workpieces import BENCH_MEMBERS, FOUR_VIEWS, Arrangement, bench_row, lattice

BENCHES = (1, 2, 4, 8, 16)


def show_growth(sizes: tuple[int, ...], benches: tuple[int, ...] = BENCHES) -> None:
    """Time a pair, and growth on a row of benches against n log n."""
    head = ("members", "4 views", "pairs", "us a pair", "us a member and log2 n", "time x", "n log n x")
    for title, counts, arrange in (
        ("Lattice", sizes, lattice),
        (
            "Row of benches",
            tuple(BENCH_MEMBERS * k for k in benches),
            lambda n: bench_row(n // BENCH_MEMBERS),
        ),
    ):
        rows: list[list[str]] = []
        before: tuple[int, float] | None = None
        for count in counts:
            spent, pairs = _views_and_pairs(arrange(count))
            level = count * math.log2(count)
            steps = [spent / before[1], level / before[0] / math.log2(before[0])] if before else []
            each = [f"{1e6 * spent / pairs:.2f}", f"{1e6 * spent / level:.1f}"]
            rows.append(
                [
                    str(count),
                    seconds(spent),
                    f"{pairs:,}",
                    *each,
                    *([f"{x:.1f}" for x in steps] or ["-", "-"]),
                ]
            )
            before = (count, spent)
        print_table(f"{title}: four views; a pair is an edge and a piece whose boxes overlap", head, rows)


def _views_and_pairs(arrangement: Arrangement) -> tuple[float, int]:
    scene = our_scene([our_solid(piece) for piece in arrangement.pieces], arrangement)

    def draw() -> float:
        start = time.process_time()
        for view in FOUR_VIEWS:
            draw_view(scene, view)
        return time.process_time() - start

    spent = min(draw() for _ in range(3))
    with pairs_counted() as count:
        draw()
    return spent, count.pairs
