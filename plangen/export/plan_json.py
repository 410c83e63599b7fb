"""plan.json: every computed fact of a plan set, for programs.

UTF-8, keys sorted, LF. Lengths are millimetres, angles degrees, masses kilograms, rounded to 1e-6; components
of unit vectors and rotations to 1e-12; plane normals point out of the wood.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from plangen import __version__
from plangen.dimensioning.figures import AssemblyFigure, AssemblyFigures, ElevationFigure
from plangen.drawing.marks import Sheet
from plangen.export.assembling_json import assembling_facts
from plangen.export.json_numbers import plain
from plangen.export.machining_json import jig_facts, machining_facts, setting_facts, setup_facts
from plangen.export.marking_json import marking_facts
from plangen.export.member_json import figures_by_mark, member_facts, stated
from plangen.export.shop_json import shop_facts
from plangen.export.supply_json import buying_facts, layout_facts, weight_facts
from plangen.facts import PlanFacts
from plangen.findings import Finding
from plangen.joinery.model import Assembly, Joint
from plangen.stock.hardware_list import HardwareRow
from plangen.stock.materials_list import stock_facts
from plangen.units import Quantity

SCHEMA = 1

FileRole: TypeAlias = Literal[
    "plan",
    "facts",
    "views",
    "template",
    "nested sheet",
    "full-size paper",
    "model",
    "cutting list",
    "materials list",
    "hardware list",
    "layout",
    "sheet",
]


@dataclass(frozen=True)
class SetFile:
    """One file of a plan set."""

    role: FileRole
    data: bytes


def plan_json_bytes(
    facts: PlanFacts,
    sheets: Sequence[Sheet],
    files: Mapping[str, SetFile],
    templates: Mapping[str, Any] | None = None,
) -> bytes:
    """``files`` are all other files of the set by their path in it, with ``/``; ``templates`` is what is told of
    cut files."""
    figures = figures_by_mark(facts.figures)
    members = {m.mark: m for m in facts.model.members}
    content = {
        "schema": SCHEMA,
        "version": __version__,
        "design": _design(facts),
        "members": [
            member_facts(m, b, figures.get(m.mark), *sheets_of_member(sheets, m.mark))
            for m, b in zip(facts.model.members, facts.bench.members, strict=True)
        ],
        "joints": [_joint(j) for j in facts.model.joints],
        "assemblies": [
            _assembly(f"AS{n}", a, facts.assembly_figures, sheets) for n, a in enumerate(facts.model.assemblies, 1)
        ],
        "assembling": assembling_facts(facts.assembling, facts.model),
        "elevations": [_elevation_figure(f, sheets) for f in facts.elevation_figures],
        "marking_out": marking_facts(facts.marking, facts.joint_marks),
        "setups": [
            setup_facts(s, members[s.member].blank.origin, facts.style) for s in facts.machining.setups
        ],
        "settings": [setting_facts(s) for s in facts.machining.settings],
        "jigs": [jig_facts(j) for j in facts.machining.jigs],
        "machining": machining_facts(facts.machining),
        "hardware": [_hardware(row) for row in facts.hardware],
        "stock": [
            {**row, "kerf": plain(facts.supply.allowances.kerf)} for row in stock_facts(facts.materials)
        ],
        "templates": templates,
        "buying": buying_facts(facts),
        "layouts": layout_facts(facts),
        "weight": weight_facts(facts),
        "findings": [_finding(f) for f in facts.findings],
        "sheets": [_sheet(s) for s in sheets],
        "files": [
            {"path": path, "role": files[path].role, "sha256": hashlib.sha256(files[path].data).hexdigest()}
            for path in sorted(files)
        ],
    }  # fmt: skip
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, sort_keys=True, indent=1)
    return (text + "\n").encode("utf-8")


def _design(facts: PlanFacts) -> dict[str, Any]:
    design = facts.design
    return {
        "title": str(design.title),
        "number": None if design.number is None else str(design.number),
        "source": facts.source,
        "sha256": facts.sha256,
        "units": {
            "length": facts.style.length,
            "step": plain(float(facts.style.step)),
            "angle_step": plain(float(facts.style.angle_step)),
        },
        "shop": shop_facts(facts.shop),
        "parameters": {name: _parameter(value) for name, value in facts.values.items()},
    }


def sheets_of_member(sheets: Sequence[Sheet], mark: str) -> tuple[str | None, dict[str, str]]:
    """Number of the first sheet that states a member, and of the sheet that shows each view of it.

    A part sheet before the table of plain parts.
    """
    of = [s for kind in ("part", "parts table") for s in sheets if s.kind == kind and mark in s.members]
    views = {v.name: s.number for s in reversed(of) if s.kind == "part" for v in s.views}
    return (of[0].number if of else None), views


def _parameter(value: Quantity) -> dict[str, Any]:
    return {"kind": value.kind, "value": plain(float(value.value))}


def _joint(joint: Joint) -> dict[str, Any]:
    return {
        "name": joint.name,
        "kind": joint.kind,
        "members": list(joint.members),
        "fit": joint.fit,
        "clearance": plain(joint.clearance),
        "line": joint.place.line,
    }


def _assembly(
    mark: str, assembly: Assembly, figures: Sequence[AssemblyFigures], sheets: Sequence[Sheet]
) -> dict[str, Any]:
    """What is cut on the assembly stands with the members it cuts; ``features`` point there. ``dimensions`` are
    those of its own sheet, in world coordinates."""
    stated_here = next((f.figures for f in figures if f.name == assembly.name), ())
    return {
        "mark": mark,
        "name": assembly.name,
        "members": list(assembly.members),
        "features": [{"member": member, "feature": feature} for member, feature in assembly.features],
        "surfaces": [],
        "dimensions": [_assembly_figure(f, assembly, sheets) for f in stated_here],
        "note": assembly.note,
    }


def _assembly_figure(figure: AssemblyFigure, assembly: Assembly, sheets: Sequence[Sheet]) -> dict[str, Any]:
    view = f"{assembly.name}, {figure.view}"
    sheet = next((s.number for s in sheets if any(v.name == view for v in s.views)), None)
    return {**stated(figure), "what": figure.what, "sheet": sheet}


def _elevation_figure(figure: ElevationFigure, sheets: Sequence[Sheet]) -> dict[str, Any]:
    sheet = next((s.number for s in sheets if any(v.name == figure.view for v in s.views)), None)
    return {**stated(figure), "what": figure.what, "sheet": sheet}


def _hardware(row: HardwareRow) -> dict[str, Any]:
    return {
        "name": row.name,
        "size": row.size,
        "quantity": row.quantity,
        "spare": row.spare,
        "length": None if row.length is None else plain(row.length),
        "uses": list(row.uses),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "level": finding.level,
        "rule": finding.rule,
        "text": finding.text,
        "line": finding.place.line,
        "column": finding.place.column,
        "members": list(finding.members),
    }


def _sheet(sheet: Sheet) -> dict[str, Any]:
    texts = list(dict.fromkeys(v.scale_text for v in sheet.views))
    return {
        "number": sheet.number,
        "title": sheet.title,
        "kind": sheet.kind,
        "paper": sheet.paper,
        "scale": (texts[0] if len(texts) == 1 else "as noted") if texts else None,
        "views": [v.name for v in sheet.views],
        "scales": [plain(v.scale) for v in sheet.views],
    }
