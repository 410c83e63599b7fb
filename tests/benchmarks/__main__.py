"""``python -m tests.benchmarks``: how long things take, as ratios in one run. Nothing is asserted.

Parts: ``kernel`` (against the exact B-rep kernel), ``growth``, ``memory``, ``trestle`` (a cold plan set by
stages), ``start`` (``plangen --version``). Without a name all of them run. ``sheets`` is no measure of time: the
table of every part sheet's proof.
"""

from __future__ import annotations

import argparse
import os
import platform

PARTS = ("kernel", "growth", "memory", "trestle", "start")


def main() -> None:
    """Reads the arguments; each part is imported when it runs, so that none weighs on another's memory."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--most", type=int, default=300, help="largest lattice; 1000 takes minutes")
    parser.add_argument("--peak", nargs=2, metavar=("SIDE", "MEMBERS"), help=argparse.SUPPRESS)
    parser.add_argument("--profile", metavar="FOLDER", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.parts == ["sheets"]:
        from tests.benchmarks.sheets import show_sheets

        show_sheets()
        return
    if unknown := set(given.parts) - set(PARTS):
        parser.error(f"no such part: {', '.join(sorted(unknown))}")
    if given.peak:
        from tests.benchmarks.memory import print_peak

        print_peak(given.peak[0], int(given.peak[1]))
    elif given.profile:
        from tests.benchmarks.trestle import print_profile

        print_profile(given.profile)
    else:
        _show(given.parts or PARTS, given.most)


def _show(parts: tuple[str, ...], most: int) -> None:
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(
        f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} processors, load {load:.1f}"
    )
    sizes = tuple(n for n in (10, 30, 100, 300, 1000) if n <= most)
    # The mesh kernel's waiting worker threads count as processor time; what follows compares one processor's.
    every = os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else set()
    if every:
        os.sched_setaffinity(0, {min(every)})
    if "kernel" in parts:
        from tests.benchmarks.comparison import compare

        compare(sizes)
    if "growth" in parts:
        from tests.benchmarks.growth import show_growth

        show_growth(sizes)
    if every:
        os.sched_setaffinity(0, every)
    if "memory" in parts:
        from tests.benchmarks.memory import show_memory

        show_memory(sizes)
    if "trestle" in parts:
        from tests.benchmarks.trestle import show_trestle

        show_trestle()
    if "start" in parts:
        from tests.benchmarks.starting import show_start

        show_start()


if __name__ == "__main__":
    main()
