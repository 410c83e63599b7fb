"""How the parts are marked out, as plan.json has it; sizes are those of the part sheets, told by part and id."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from plangen.dimensioning.assembly_marks import AssemblyMark, MarkedPart
from plangen.dimensioning.marking import BevelSetting, Gang, GaugeSetting, Line, MarkingOut, StoryStick
from plangen.export.json_numbers import plain


def marking_facts(marking: MarkingOut, joints: Sequence[AssemblyMark]) -> dict[str, Any]:
    """``gangs``: parts laid side by side with end A flush and ``up`` the side that lines are squared over; ``gauges``
    and ``bevels``: each setting once; ``sticks``: what is carried on a stick; ``joints``: the letter on both parts."""
    return {
        "gangs": [_gang(g) for g in marking.gangs],
        "gauges": [_gauge(g) for g in marking.gauges],
        "bevels": [_bevel(b) for b in marking.bevels],
        "sticks": [_stick(s, n) for n, s in enumerate(marking.sticks, 1)],
        "joints": [_joint(j) for j in joints],
    }


def _line(line: Line) -> dict[str, Any]:
    """``then``: sizes measured on from the line."""
    return {
        "printed": line.printed,
        "value": plain(line.value),
        "then": list(line.then),
        "cuts": list(line.cuts),
        "figures": [{"member": mark, "figure": figure} for mark, figure in line.figures],
    }


def _gang(gang: Gang) -> dict[str, Any]:
    return {
        "members": list(gang.parts),
        "pieces": gang.pieces,
        "up": gang.up,
        "lines": [_line(line) for line in gang.lines],
    }


def _gauge(setting: GaugeSetting) -> dict[str, Any]:
    """``from`` null: the cut lies in the middle by its sheet's symmetry."""
    return {
        "tool": setting.tool,
        "printed": setting.printed or None,
        "value": plain(setting.value),
        "apart": setting.apart,
        "serves": [
            {
                "member": s.mark,
                "feature": s.feature,
                "kind": s.kind,
                "from": s.origin,
                "figures": list(s.figures),
            }
            for s in setting.serves
        ],
    }


def _bevel(setting: BevelSetting) -> dict[str, Any]:
    return {"printed": list(setting.printed), "value": plain(setting.value), "members": list(setting.parts)}


def _stick(stick: StoryStick, number: int) -> dict[str, Any]:
    return {
        "number": number,
        "axis": stick.axis,
        "lines": [_line(line) for line in stick.lines],
        "uses": [{"member": mark, "kind": kind} for mark, kind in stick.uses],
    }


def _joint(mark: AssemblyMark) -> dict[str, Any]:
    return {
        "letter": mark.letter,
        "joint": mark.joint,
        "kind": mark.kind,
        "parts": [_part(p) for p in mark.parts],
    }


def _part(part: MarkedPart) -> dict[str, Any]:
    return {"instance": part.instance, "member": part.mark, "side": part.side, "near": part.near}
