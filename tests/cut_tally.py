"""What the plans of cuts come to: ``PYTHONPATH=tests python tests/cut_tally.py [DESIGN ...]`` prints a table.

A row each for the project's designs, one for all examples of joints: members and hands made by the simulated machine
and how far the worst of their surfaces is off, cuts by hand and why, the largest residue, changes of setting against
the bound that no order goes below, jigs that an order of cuts or an offcut spared, what the shop cannot make.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from cut_plans import JOINTS, SHOPS, CutPlan, cut_plan
from simulated_machine import make_member
from simulated_proof import far_from
from simulated_work import Wood
from worked_out import PROJECT, facts_of

COLUMNS = (
    "design", "members and hands", "worst surface, mm", "set-ups", "by hand", "largest residue, mm", "changes / least",
    "spared", "beyond the shop",
)  # fmt: skip


@dataclass
class Tally:
    made: int = 0
    failed: int = 0
    worst: float = 0.0
    setups: int = 0
    by_hand: Counter[str] = field(default_factory=Counter)
    residue: tuple[float, str] = (0.0, "")
    changes: int = 0
    least: int = 0
    spared: int = 0
    beyond: list[str] = field(default_factory=list)

    def add(self, plan: CutPlan) -> None:
        self.setups += len(plan.setups)
        self.by_hand.update(s["by_hand"] for s in plan.setups if s["by_hand"] is not None)
        self.changes += plan.machining["changes"]
        self.least += plan.machining["least_changes"]
        self.spared += len(plan.machining["spared"])
        self.beyond += plan.machining["beyond"]
        for s in plan.setups:
            if abs(s["residue"]) > abs(self.residue[0]):
                self.residue = (s["residue"], f"{plan.name} cut {s['index']}, {s['operation']}")
        for member in plan.made():
            for hand in plan.hands(member):
                made = make_member(member, plan.setups, hand, Wood(member["blank"]))
                own = [s for s in member["surfaces"] if s["feature"] is not None]
                complete = not made.problems and all(s["id"] in made.forms for s in own)
                off = [
                    far_from(made.forms[s["id"]], s, member["blank"]) for s in own if s["id"] in made.forms
                ]
                self.made += complete
                self.failed += not complete
                self.worst = max([self.worst, *off])

    def row(self, name: str) -> str:
        reasons = ", ".join(f"{n} {reason}" for reason, n in sorted(self.by_hand.items())) or "none"
        failed = f", {self.failed} NOT" if self.failed else ""
        cells = (
            name, f"{self.made} made{failed}", f"{self.worst:.1e}", str(self.setups), reasons,
            f"{self.residue[0]:.2f} ({self.residue[1]})" if self.residue[1] else "0", f"{self.changes} / {self.least}",
            str(self.spared), "; ".join(self.beyond) or "nothing",
        )  # fmt: skip
        return f"| {' | '.join(cells)} |"


def table(groups: Iterable[tuple[str, list[Path]]]) -> Iterable[str]:
    yield f"| {' | '.join(COLUMNS)} |"
    yield "|" + " --- |" * len(COLUMNS)
    for name, paths in groups:
        tally = Tally()
        for path in paths:
            tally.add(cut_plan(facts_of(path)))
        yield tally.row(name)


if __name__ == "__main__":
    chosen = [Path(p) for p in sys.argv[1:]]
    everything = [*((p.stem, [p]) for p in PROJECT), ("joint examples", JOINTS), ("small shops", SHOPS)]
    for line in table([(p.stem, [p]) for p in chosen] or everything):
        print(line, flush=True)
