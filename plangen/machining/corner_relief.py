"""Inside corners relieved for a round cutter, where a square mating part must enter.

A *dog-bone* lies on the bisector and bites into both edges; a *T-bone* stands on one edge and bites into that alone.
The T-bone bites into the edge where most of it is covered by the other part, so that it does not show; where as much
shows either way, into the shorter edge. It is left out where it would break out through another edge (common
practice of machine joinery).
"""

from __future__ import annotations

import math
from dataclasses import replace

from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.cutter_fit import within_wood
from plangen.geometry.edge_moves import Bite, corner_turn, relief_arc, relieved
from plangen.machining.template import Contour, Template
from plangen.machining.template_edges import Neighbours
from plangen.tables.cut_files import CutFiles

ROOM = 0.05
"""Millimetres that a relief's radius is over the cutter's, so that the cutter can enter it (our judgement)."""
_LEAST_TURN = math.radians(30)
_SQUARE = math.radians(5)
_LEAST_WOOD = 1.0
"""Millimetres of wood that a relief leaves beside another edge."""
_LOOKED = 0.3
_ON = 1e-2
"""Millimetres: about what chords of an arc lie off it here."""
_SAMPLES = 9


def relieve(
    contour: Contour, template: Template, cut: CutFiles, beside: Neighbours | None
) -> tuple[Contour, list[str]]:
    """The contour with its corners of joints relieved, and which were not and why."""
    if contour.operation not in ("through outside", "through inside", "pocket") or cut.cutter is None:
        return contour, []
    joined = {f.id for f in template.member.features if f.joint is not None}
    radius = cut.cutter / 2 + ROOM
    # wood lies left of what is cut through, right of a pocket drawn round its floor
    hollow = -1.0 if contour.operation != "pocket" else 1.0
    reliefs: dict[int, Arc] = {}
    told: list[str] = []
    for i, before in enumerate(contour.curves):
        j = (i + 1) % len(contour.curves)
        after = contour.curves[j]
        if not isinstance(before, Line) or not isinstance(after, Line):
            continue
        turn = corner_turn(before, after) * hollow
        if turn < _LEAST_TURN or {contour.made_by[i], contour.made_by[j]} - joined:
            continue
        if contour.operation == "pocket" and _is_on(before.end, template):
            continue  # the pocket runs out there: the cutter passes the corner
        try:
            reliefs[i] = _relief(contour, template, i, (before, after), radius, cut, beside)
        except ValueError as problem:
            told.append(f"a corner is not relieved: {problem}")
    try:
        curves, was = relieved(contour.curves, reliefs)
    except ValueError as problem:
        return contour, [*told, f"no corner of this contour is relieved: {problem}"]
    made_by = tuple("" if k < 0 else contour.made_by[k] for k in was)
    return replace(contour, curves=curves, made_by=made_by), told


def _relief(
    contour: Contour,
    template: Template,
    i: int,
    edges: tuple[Line, Line],
    radius: float,
    cut: CutFiles,
    beside: Neighbours | None,
) -> Arc:
    turn = abs(corner_turn(*edges))
    square = abs(turn - math.pi / 2) < _SQUARE
    if turn > math.pi / 2 + _SQUARE:
        x, y = edges[0].end
        raise ValueError(f"it is sharper than square near {x:.1f}, {y:.1f}; pare it by hand")
    if cut.relief == "dog-bone" or not square:
        ways: list[Bite] = ["both"]
    else:
        ways = _by_what_shows(contour, template, edges, radius, beside)
    why = ValueError()
    for way in ways:
        try:
            arc = relief_arc(*edges, radius, way)
        except ValueError as problem:
            why = problem
            continue
        if _keeps_wood(contour, template, i, arc):
            return arc
        x, y = edges[0].end
        why = ValueError(f"it would break out near {x:.1f}, {y:.1f}")
    raise why


def _is_on(corner: Vec2, template: Template) -> bool:
    """On an edge that is cut through."""
    through = [c for k in template.contours if k.operation.startswith("through") for c in k.curves]
    lines = [(c.at(k / 16), c.at((k + 1) / 16)) for c in through for k in range(16)]
    return any(_off_line(corner, a, b) < _ON for a, b in lines)


def _by_what_shows(
    contour: Contour, template: Template, edges: tuple[Line, Line], radius: float, beside: Neighbours | None
) -> list[Bite]:
    """Both ways of a T-bone, the one that shows less first."""
    ranked: list[tuple[int, float, Bite]] = []
    for way, edge in (("before", edges[0]), ("after", edges[1])):
        try:
            arc = relief_arc(*edges, radius, "before" if way == "before" else "after")
        except ValueError:
            continue
        shows = _shown(contour, template, _in_the_bite(arc), beside)
        ranked.append(
            (shows, round(math.dist(edge.start, edge.end), 3), "before" if way == "before" else "after")
        )
    return [way for _, _, way in sorted(ranked)] or ["before"]


def _in_the_bite(arc: Arc) -> Vec2:
    """A point well inside what a relief takes away."""
    x, y = arc.at(0.5)
    return ((x + arc.centre[0]) / 2, (y + arc.centre[1]) / 2)


def _shown(contour: Contour, template: Template, at: Vec2, beside: Neighbours | None) -> int:
    """On how many faces of the part it is seen."""
    top = template.member.finished[2]
    faces = (top + _LOOKED,) if contour.operation == "pocket" else (top + _LOOKED, -_LOOKED)
    return sum(beside is None or not beside.hold(at, t) for t in faces)


def _keeps_wood(contour: Contour, template: Template, i: int, arc: Arc) -> bool:
    """The bite stays clear of every edge but the two of its corner."""
    n = len(contour.curves)
    rest = [c for k, c in enumerate(contour.curves) if k not in (i, (i + 1) % n)]
    points = [arc.at((k + 1) / (_SAMPLES + 1)) for k in range(_SAMPLES)]
    others = [
        c.curves
        for c in template.contours
        if c.operation.startswith("through") and c is not contour and c.operation != contour.operation
    ]
    lines = [(c.at(k / 16), c.at((k + 1) / 16)) for c in rest for k in range(16)]
    clear = all(_off_line(p, a, b) >= _LEAST_WOOD for p in points for a, b in lines)
    return clear and (not others or within_wood(points, others, _LEAST_WOOD))


def _off_line(p: Vec2, a: Vec2, b: Vec2) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    s = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)
    s = min(1.0, max(0.0, s))
    return math.dist(p, (a[0] + s * dx, a[1] + s * dy))
