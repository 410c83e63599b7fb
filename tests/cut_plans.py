"""What plan.json says of members and their cuts, as the set would write it, without drawing a sheet."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from worked_out import ROOT, facts_of

from plangen.export.machining_json import jig_facts, machining_facts, setting_facts, setup_facts
from plangen.export.member_json import member_facts
from plangen.facts import PlanFacts, plan_facts

SHOPS = sorted((ROOT / "tests" / "designs" / "shops").glob("*.yaml"))
"""Small designs in shops that lack a machine, or whose cuts are nearly alike."""
JOINTS = sorted((ROOT / "tests" / "designs" / "joints").glob("*.yaml"))


@dataclass(frozen=True)
class CutPlan:
    """The parts of one plan.json that a machine is given, read back from text."""

    name: str
    step: float
    """Millimetres: the design's step of lengths."""
    members: list[dict[str, Any]]
    setups: list[dict[str, Any]]
    settings: list[dict[str, Any]]
    jigs: list[dict[str, Any]]
    machining: dict[str, Any]

    def hands(self, member: dict[str, Any]) -> list[str | None]:
        return sorted({i["hand"] for i in member["instances"]}, key=str)

    def made(self) -> list[dict[str, Any]]:
        """The members that the shop cuts."""
        marks = {s["member"] for s in self.setups}
        return [m for m in self.members if m["role"] != "bought" or m["mark"] in marks]


def plan_of(text: str, name: str = "design.yaml") -> CutPlan:
    facts, findings = plan_facts(text.encode(), name)
    assert facts is not None, "\n".join(map(str, findings))
    return cut_plan(facts)


def cut_plan(facts: PlanFacts) -> CutPlan:
    model, machining = facts.model, facts.machining
    by_mark = {m.mark: m for m in model.members}
    content = {
        "members": [
            member_facts(m, b, None, None, {})
            for m, b in zip(model.members, facts.bench.members, strict=True)
        ],
        "setups": [setup_facts(s, by_mark[s.member].blank.origin, facts.style) for s in machining.setups],
        "settings": [setting_facts(s) for s in machining.settings],
        "jigs": [jig_facts(j) for j in machining.jigs],
        "machining": machining_facts(machining),
    }
    return CutPlan(facts.name, float(facts.style.step), **json.loads(json.dumps(content)))


@lru_cache(maxsize=2)
def plan_of_file(path: Path) -> CutPlan:
    return cut_plan(facts_of(path))
