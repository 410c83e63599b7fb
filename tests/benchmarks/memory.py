"""Peak memory of each side, in a process that has loaded nothing of the other."""

from __future__ import annotations

import importlib
import resource
import subprocess
import sys
from pathlib import Path

from tests.benchmarks.text_table import print_table
from tests.benchmarks.workpieces import lattice

SIDES = {"plangen": ("our_side", "our_times"), "kernel": ("kernel_side", "kernel_times")}


def show_memory(sizes: tuple[int, ...]) -> None:
    """Peak memory of each side in a process of its own."""
    rows = []
    for count in sizes:
        ours, kernel = (_peak_in_child(side, count) for side in SIDES)
        rows.append([str(count), f"{ours:.0f}", f"{kernel:.0f}"])
    print_table("Peak memory of a process that does all of it once (MB)", ("members", *SIDES), rows)


def _peak_in_child(side: str, count: int) -> float:
    command = [sys.executable, "-m", "tests.benchmarks", "--peak", side, str(count)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def print_peak(side: str, count: int) -> None:
    """In a child process: do the work of one side once and print its peak memory in MB."""
    module = importlib.import_module(f"tests.benchmarks.{SIDES[side][0]}")
    getattr(module, SIDES[side][1])(lattice(count))
    print(_peak())


def _peak() -> float:
    """Megabytes. Where the system keeps it, of this program alone: getrusage remembers the parent's peak."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(row for row in status.read_text().splitlines() if row.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)
