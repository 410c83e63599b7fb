"""A cold plan set of the trestle in a process of its own, by stages, and a changed number drawn again.

A stage is a set of public functions; its time is what is spent in them and not in another stage they call.
Functions are timed wherever a module of plangen has them by name. Modules are compiled before, as those of an
installed program are: a first run, not counted, leaves their bytecode in a folder of its own.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from plangen.cli import OBJECTS_BETWEEN_COLLECTIONS
from tests.benchmarks.text_table import print_table, seconds
from tests.benchmarks.times import with_bytecode_in

DESIGN = Path(__file__).parents[2] / "designs" / "splayed-trestle.yaml"
CHANGE = (b"height: 30", b"height: 31 1/4")
RUNS = 3
STAGES: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("read", "plangen.design.reading", ("read_design_bytes",)),
    ("place", "plangen.placing.building", ("place_member",)),
    ("joints", "plangen.joinery.modelling", ("build_model",)),
    ("solids", "plangen.geometry.solid", ("build_solid",)),
    ("checks", "plangen.checks.model", ("check_model",)),
    ("set-ups", "plangen.machining.setups", ("setups_of",)),
    ("lists", "plangen.stock.cutting_list", ("cutting_list",)),
    ("lists", "plangen.stock.materials_list", ("materials_list",)),
    ("lists", "plangen.stock.hardware_list", ("hardware_list",)),
    ("figures", "plangen.dimensioning.members", ("dimension_members",)),
    ("figures", "plangen.dimensioning.elevations", ("dimension_elevations",)),
    ("views", "plangen.geometry.hidden", ("prepare", "draw_view", "draw_merged")),
    ("views", "plangen.geometry.merge", ("merged",)),
    ("sheets", "plangen.drawing.composition", ("compose_sheets",)),
    ("pdf", "plangen.export.pdf", ("pdf_bytes",)),
    ("dxf", "plangen.export.dxf", ("views_dxf_bytes",)),
    ("templates", "plangen.export.templates", ("template_files",)),
    ("glb", "plangen.export.scene", ("glb_bytes",)),
    ("csv", "plangen.export.csv_lists", ("cutting_list_csv", "materials_list_csv", "hardware_list_csv")),
    ("json", "plangen.export.plan_json", ("plan_json_bytes",)),
    ("write", "plangen.export.plan_set", ("write_plan_set",)),
)
REST = "the rest"


class StageClock:
    """Processor seconds by stage; time goes to the innermost stage only."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = {}
        self._stack = [REST]
        self._since = time.process_time()

    def turn_to(self, stage: str | None) -> None:
        """Enter a stage, or with None leave the present one."""
        now = time.process_time()
        self.spent[self._stack[-1]] = self.spent.get(self._stack[-1], 0.0) + now - self._since
        self._since = now
        if stage is None:
            self._stack.pop()
        else:
            self._stack.append(stage)

    def read(self) -> dict[str, float]:
        """What was spent since the last reading."""
        self.turn_to(REST)
        self._stack.pop()
        spent, self.spent = self.spent, {}
        return spent

    def timed(self, stage: str, function: Callable[..., object]) -> Callable[..., object]:
        def wrapper(*arguments: object, **named: object) -> object:
            self.turn_to(stage)
            try:
                return function(*arguments, **named)
            finally:
                self.turn_to(None)

        return wrapper


def time_stages(clock: StageClock) -> None:
    """Every function of STAGES that exists is replaced by a timed one, in all modules that hold it."""
    for stage, module, names in STAGES:
        for name in names:
            function = getattr(sys.modules.get(module), name, None)
            if function is None:
                continue
            timed = clock.timed(stage, function)
            for other in [m for key, m in sys.modules.items() if key.split(".")[0] == "plangen"]:
                for held in [key for key, value in vars(other).items() if value is function]:
                    setattr(other, held, timed)


def print_profile(folder: str) -> None:
    """In a child process: draw the trestle cold, then changed; print both profiles as JSON."""
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
    clock = StageClock()
    clock.turn_to("imports")
    for module in ("plangen.facts", "plangen.drawing.composition", "plangen.export.plan_set"):
        importlib.import_module(module)
    clock.turn_to(None)
    time_stages(clock)
    data = DESIGN.read_bytes()
    changed = data.replace(*CHANGE)
    if changed == data:
        raise SystemExit(f"{DESIGN.name} no longer says {CHANGE[0].decode()}")
    rounds = []
    for source in (data, changed, data):
        _draw(source, Path(folder))
        rounds.append(clock.read())
    print(json.dumps(rounds))


def _draw(data: bytes, folder: Path) -> None:
    """As the command line does."""
    facts_of = sys.modules["plangen.facts"].plan_facts
    facts, findings = facts_of(data, DESIGN.name)
    if facts is None:
        raise SystemExit("\n".join(str(f) for f in findings))
    sheets = sys.modules["plangen.drawing.composition"].compose_sheets(facts)
    plan_set = sys.modules["plangen.export.plan_set"]
    made = plan_set.plan_set(facts, sheets)
    plan_set.write_plan_set(folder / facts.name, made.files)


def show_trestle() -> None:
    """Whole processes first, then one by stages."""
    with tempfile.TemporaryDirectory() as folder:
        environment = with_bytecode_in(Path(folder) / "bytecode")
        _cold(folder, environment)
        runs = [_cold(folder, environment) for _ in range(RUNS)]
        rows = []
        for name, times in zip(("wall clock", "processor"), zip(*runs, strict=True), strict=True):
            rows.append([name, *(seconds(f(times)) for f in (statistics.median, min, max))])
        title = f"plangen draw {DESIGN.name}, a whole process, {RUNS} runs (seconds)"
        print_table(title, ("", "median", "least", "most"), rows)
        command = [sys.executable, "-m", "tests.benchmarks", "--profile", folder]
        done = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
    first, second, third = json.loads(done.stdout.splitlines()[-1])
    order = dict.fromkeys(["imports", *(stage for stage, _, _ in STAGES), REST])
    rows = [
        [stage, *(seconds(r[stage]) if stage in r else "-" for r in (first, second, third))]
        for stage in order
        if stage in first
    ]
    rows.append(["total", *(seconds(sum(r.values())) for r in (first, second, third))])
    head = ("stage", "cold", "a number changed", "changed back")
    print_table("The same by stages, three sets in one process (processor seconds)", head, rows)


def _cold(folder: str, environment: dict[str, str]) -> tuple[float, float]:
    """Wall-clock and processor seconds of a process of its own."""
    before, start = os.times(), time.perf_counter()
    command = [sys.executable, "-m", "plangen.cli", "draw", str(DESIGN), "--output", folder]
    subprocess.run(command, check=True, capture_output=True, env=environment)
    wall, after = time.perf_counter() - start, os.times()
    return wall, after.children_user + after.children_system - before.children_user - before.children_system
