"""How long ``plangen --version`` takes, as a whole process, and which imports take it."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from tests.benchmarks.text_table import print_table, seconds

COMMAND = ("-m", "plangen.cli", "--version")
RUNS = 9
SHOWN = 12


def show_start() -> None:
    """Wall-clock medians beside an interpreter that does nothing, then the dearest imports."""
    bare, ours = ("-c", "pass"), COMMAND
    rows = []
    for title, arguments in (("python -c pass", bare), ("plangen --version", ours)):
        times = sorted(_wall(arguments) for _ in range(RUNS))
        rows.append([title, seconds(statistics.median(times)), seconds(times[0]), seconds(times[-1])])
    print_table(
        f"Start of a process, {RUNS} runs (wall-clock seconds)", ("", "median", "least", "most"), rows
    )
    dearest = sorted(_import_times(), reverse=True)[:SHOWN]
    shown = [[name, f"{total / 1000:.1f}", f"{own / 1000:.1f}"] for total, own, name in dearest]
    print_table("Its dearest imports (ms)", ("module", "with what it imports", "by itself"), shown)


def _wall(arguments: tuple[str, ...]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
    return time.perf_counter() - start


def _import_times() -> list[tuple[int, int, str]]:
    """(microseconds with what it imports, by itself, module) as the interpreter reports them."""
    command = [sys.executable, "-X", "importtime", *COMMAND]
    report = subprocess.run(command, check=True, capture_output=True, text=True).stderr
    found = []
    for line in report.splitlines():
        if not line.startswith("import time:") or "self [us]" in line:
            continue
        own, total, name = line.removeprefix("import time:").split("|")
        found.append((int(total), int(own), name.strip()))
    return found
