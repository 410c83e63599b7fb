"""How long ``plangen --version`` takes, as a whole process, and which imports take it. Modules are compiled."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.text_table import print_table, seconds
from tests.benchmarks.times import with_bytecode_in

COMMAND = ("-m", "plangen.cli", "--version")
RUNS = 9
SHOWN = 12


def show_start() -> None:
    """Wall-clock medians beside an interpreter that does nothing, then the dearest imports."""
    bare, ours = ("-c", "pass"), COMMAND
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        environment = with_bytecode_in(Path(folder))
        for title, arguments in (("python -c pass", bare), ("plangen --version", ours)):
            _wall(arguments, environment)
            times = sorted(_wall(arguments, environment) for _ in range(RUNS))
            rows.append([title, seconds(statistics.median(times)), seconds(times[0]), seconds(times[-1])])
        imports = _import_times(environment)
    print_table(
        f"Start of a process, {RUNS} runs (wall-clock seconds)", ("", "median", "least", "most"), rows
    )
    dearest = sorted(imports, reverse=True)[:SHOWN]
    shown = [[name, f"{total / 1000:.1f}", f"{own / 1000:.1f}"] for total, own, name in dearest]
    print_table("Its dearest imports (ms)", ("module", "with what it imports", "by itself"), shown)


def _wall(arguments: tuple[str, ...], environment: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True, env=environment)
    return time.perf_counter() - start


def _import_times(environment: dict[str, str]) -> list[tuple[int, int, str]]:
    """(microseconds with what it imports, by itself, module) as the interpreter reports them."""
    command = [sys.executable, "-X", "importtime", *COMMAND]
    report = subprocess.run(command, check=True, capture_output=True, text=True, env=environment).stderr
    found = []
    for line in report.splitlines():
        if not line.startswith("import time:") or "self [us]" in line:
            continue
        own, total, name = line.removeprefix("import time:").split("|")
        found.append((int(total), int(own), name.strip()))
    return found
