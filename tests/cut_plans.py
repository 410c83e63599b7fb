"""What plan.json says of members and their cuts, as the set would write it, without drawing a sheet."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from plangen.export.machining_json import jig_facts, machining_facts, setting_facts, setup_facts
from plangen.export.member_json import member_facts
from plangen.facts import PlanFacts, plan_facts

_HERE = Path(__file__).parent
WORKSHOP = sorted((_HERE.parent / "designs").glob("*.yaml"))
CRUEL = sorted((_HERE / "designs").glob("*.yaml"))
JOINTS = sorted((_HERE / "designs" / "joints").glob("*.yaml"))


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
    facts: PlanFacts

    def hands(self, member: dict[str, Any]) -> list[str | None]:
        return sorted({i["hand"] for i in member["instances"]}, key=str)

    def made(self) -> list[dict[str, Any]]:
        """The members that the shop cuts."""
        marks = {s["member"] for s in self.setups}
        return [m for m in self.members if m["role"] != "bought" or m["mark"] in marks]


def plan_of(text: str, name: str = "design.yaml") -> CutPlan:
    facts, findings = plan_facts(
        text.encode(), name, lambda beside: (_HERE.parent / "designs" / beside).read_bytes()
    )
    assert facts is not None, "\n".join(map(str, findings))
    model, machining = facts.model, facts.machining
    by_mark = {m.mark: m for m in model.members}
    content = {
        "members": [
            member_facts(m, b, None, None, {})
            for m, b in zip(model.members, facts.bench.members, strict=True)
        ],
        "setups": [setup_facts(s, by_mark[s.member], facts.style) for s in machining.setups],
        "settings": [setting_facts(s) for s in machining.settings],
        "jigs": [jig_facts(j) for j in machining.jigs],
        "machining": machining_facts(machining),
    }
    return CutPlan(name, float(facts.style.step), **json.loads(json.dumps(content)), facts=facts)


def plan_of_file(path: Path) -> CutPlan:
    return plan_of(path.read_text(encoding="utf-8"), path.name)
