"""Set-ups, settings and jigs as plan.json has them; from a member's blank and these alone it can be cut.

Angles are degrees, lengths millimetres, points in the member's frame. Points of the other hand are those of the drawn
piece: they are read in the other hand's own frame, which is its mirror image. ``printed`` has the numbers as they
stand on paper, of angles in degrees and of lengths in millimetres.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from plangen.export.hand_layout_json import layout_facts
from plangen.export.json_numbers import plain, set_degrees, set_length, set_lengths, unit_all
from plangen.export.member_json import form_facts
from plangen.geometry.surfaces import Extruded
from plangen.geometry.vectors import Point
from plangen.machining.printed import Figure, printed_figures
from plangen.machining.setup import Jig, Machining, Setting, Setup, Spared, Stop, Tilt, Tool
from plangen.units import UnitStyle


def setup_facts(setup: Setup, origin: Point, style: UnitStyle) -> dict[str, Any]:
    """Every key of a set-up; what it does not have is null, or empty. ``origin``: the least corner of the blank, from
    which figures are printed."""
    return {
        "index": setup.index,
        "sequence": setup.sequence,
        "member": setup.member,
        "hand": setup.hand,
        "quantity": setup.quantity,
        "feature": setup.feature,
        "stage": setup.stage,
        "makes": list(setup.makes),
        "goes_on": list(setup.goes_on),
        "frees": [list(ids) for ids in setup.frees],
        "operation": setup.operation,
        "machine": setup.machine,
        "tool": _tool(setup.tool),
        "cut_from": setup.cut_from,
        "surface_down": setup.surface_down,
        "surface_against": setup.surface_against,
        "end_left": setup.end_left,
        "miter": set_degrees(setup.miter),
        "bevel": set_degrees(setup.bevel),
        "tilt": _tilt(setup.tilt),
        "jig": setup.jig,
        "stop": None if setup.stop is None else _stop(setup.stop),
        "fence": _maybe(setup.fence),
        "waste": setup.waste,
        "width": _maybe(setup.width),
        "depth": None if setup.depth is None else set_lengths(setup.depth),
        "depth_from": setup.depth_from,
        "depth_at": [set_lengths((*p, depth)) for p, depth in setup.depth_at],
        "run": _points(setup.run),
        "path": _points(setup.path) or None,
        "outline": _outline(setup),
        "profile": [set_lengths(row) for row in setup.profile] or None,
        "by_hand": setup.by_hand,
        "residue": plain(setup.residue),
        "residue_note": setup.residue_note,
        "block": setup.block or None,
        "blocks": [{"kind": b.kind, "on": b.on, "size": set_lengths(b.size)} for b in setup.blocks],
        "touches": None if setup.touches is None else set_lengths((*setup.touches[0], setup.touches[1])),
        "rolled": None if setup.rolled is None else [set_degrees(a) for a in setup.rolled],
        "passes": setup.passes,
        "pass_depth": _maybe(setup.pass_depth),
        "alternative": _alternative(setup.alternative),
        "cautions": list(setup.cautions),
        "layout": None if setup.layout is None else layout_facts(setup.layout),
        "printed": _printed(printed_figures(setup, style, origin)),
    }


def setting_facts(setting: Setting) -> dict[str, Any]:
    """What is set once: its angles are within a quarter of a degree of those of its set-ups, whose points it moves by
    ``snap_error`` at most."""
    return {
        "index": setting.index,
        "machine": setting.machine,
        "tool": _tool(setting.tool),
        "miter": set_degrees(setting.miter),
        "bevel": set_degrees(setting.bevel),
        "tilt": _tilt(setting.tilt),
        "jig": setting.jig,
        "setups": list(setting.setups),
        "snap_error": plain(setting.snap_error),
    }


def jig_facts(jig: Jig) -> dict[str, Any]:
    return {
        "name": jig.name,
        "kind": jig.kind,
        "member": jig.member,
        "angle": set_degrees(jig.angle),
        "azimuth": set_degrees(jig.azimuth),
        "rise": plain(jig.rise),
        "length": plain(jig.length),
        "width": plain(jig.width),
        "beside": jig.beside or None,
        "offcut": jig.offcut or None,
        "snap_error": plain(jig.snap_error),
        "for": list(jig.setups),
    }


def machining_facts(machining: Machining) -> dict[str, Any]:
    """What the whole of it comes to: changes of setting and the least there can be, cuts by hand and why, what the
    order of cuts spares, what the shop cannot make."""
    by_hand = Counter(s.by_hand for s in machining.setups if s.by_hand is not None)
    return {
        "changes": machining.changes,
        "least_changes": machining.least_changes,
        "by_hand": dict(sorted(by_hand.items())),
        "spared": [_spared(s) for s in machining.spared],
        "beyond": list(machining.beyond),
    }


def _spared(spared: Spared) -> dict[str, Any]:
    return {
        "member": spared.member,
        "feature": spared.feature,
        "before": spared.before,
        "text": spared.text,
        "offcut": spared.offcut is not None,
    }


def _tool(tool: Tool | None) -> dict[str, Any] | None:
    if tool is None:
        return None
    return {
        "shape": tool.shape,
        "width": _size(tool.width),
        "diameter": _size(tool.diameter),
        "included": None if tool.included is None else set_degrees(tool.included),
        "radius": _size(tool.radius),
    }


def _size(value: float | None) -> float | None:
    return None if value is None else plain(value)


def _tilt(tilt: Tilt | None) -> dict[str, Any] | None:
    return None if tilt is None else {"angle": set_degrees(tilt.angle), "azimuth": set_degrees(tilt.azimuth)}


def _stop(stop: Stop) -> dict[str, Any]:
    return {
        "end": stop.end,
        "arris": list(stop.arris),
        "distance": set_length(stop.distance),
        "from": stop.start,
        "at": set_lengths(stop.at),
        "point": stop.point,
        "wall": stop.wall,
    }


def _outline(setup: Setup) -> dict[str, Any] | None:
    if not setup.outline or setup.outline_frame is None:
        return None
    origin, u, v = setup.outline_frame
    curves = form_facts(Extruded(origin, u, v, setup.outline))["outline"]
    return {"origin": set_lengths(origin), "u": unit_all(u), "v": unit_all(v), "curves": curves}


def _alternative(angles: tuple[float, float] | None) -> dict[str, Any] | None:
    return None if angles is None else {"miter": set_degrees(angles[0]), "bevel": set_degrees(angles[1])}


def _points(points: tuple[Point, ...] | None) -> list[list[float]] | None:
    return None if points is None else [set_lengths(p) for p in points]


def _maybe(value: float | None) -> float | None:
    return None if value is None else set_length(value)


def _printed(figures: dict[str, Figure]) -> dict[str, Any]:
    return {name: _rounded(value) for name, value in figures.items()}


def _rounded(value: Any) -> Any:
    if isinstance(value, list):
        return [_rounded(v) for v in value]
    return None if value is None else plain(value)
