"""Where sections are cut, on the elevations: a chain line with thick ends, arrows the way one looks, and its letter.

A section that no elevation shows as a line is ringed. Third-angle sets have their arrows lead off the line, as US
drafting texts have it, first-angle sets have them point at it (ISO 128; both from memory).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal, TypeAlias

from plangen.dimensioning.joint_details import JointDetail
from plangen.drawing.dimension_marks import arrowhead
from plangen.drawing.lettering import text_box
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.drawing.occupied import Occupied, Role
from plangen.drawing.overlaps import ink_points
from plangen.drawing.placing_rule import Method
from plangen.drawing.view_on_paper import PaperView
from plangen.geometry.curves import Arc, Vec2
from plangen.geometry.vectors import cross, dot, length, unit

Way: TypeAlias = Literal["clear line", "line", "ring"]
"""How a section is marked: the first also keeps off the lines of dimensions."""
WAYS: tuple[Way, ...] = ("clear line", "line", "ring")
RINGED: tuple[Way, ...] = ("ring",)
LETTER = 5.0
_EDGE_ON = 1e-6
_LEAST_HALF, _LEAST_RING = 5.0, 4.0
"""Of the line, and of a ring's radius, mm on paper."""
_THICK, _STEM, _OFF = 3.5, 6.0, 1.2
"""Length of the thick ends and of the arrows; clear of a letter, mm."""
_FARTHER = (1.0, 3.0, 5.5, 8.5, 12.0)
"""Tried in this order: by how much the line passes the joint."""
_RING_TURNS = tuple(range(45, 405, 30))


def section_marks(
    detail: JointDetail, paper: PaperView, method: Method, occupied: Occupied, way: Way
) -> tuple[Mark, ...] | None:
    """The line of the section as the view shows it, or a ring round the joint, its letters clear of what is there; None
    where the view does not show the plane edge-on, or has no room."""
    candidates = _rings(detail, paper) if way == "ring" else _lines(detail, paper, method)
    shunned: frozenset[Role] = frozenset({"text", "extension"} if way == "clear line" else {"text"})
    for marks in candidates:
        if _is_clear(marks, occupied, shunned):
            return tuple(marks)
    return None


def _lines(detail: JointDetail, paper: PaperView, method: Method) -> Iterator[list[Mark]]:
    window, view = detail.window, paper.view.projection
    normal = window.projection.toward
    if abs(dot(normal, view.toward)) > _EDGE_ON or length(cross(normal, view.toward)) < 0.5:
        return
    along = unit(cross(normal, view.toward))
    d = (dot(view.right, along), dot(view.up, along))
    sight = (-dot(view.right, normal), -dot(view.up, normal))
    x0, y0, x1, y1 = window.box
    half = abs(dot(window.projection.right, along)) * (x1 - x0) + abs(dot(window.projection.up, along)) * (
        y1 - y0
    )
    half = max(half / 2 * paper.factor * 0.7, _LEAST_HALF)
    at = paper.at(window.at)
    for total, near in sorted(itertools.product(range(len(_FARTHER)), repeat=2), key=lambda p: (sum(p), p)):
        ends = (_plus(at, d, -half - _FARTHER[total]), _plus(at, d, half + _FARTHER[near]))
        marks: list[Mark] = [Stroke(polyline(*ends), "centre")]
        for end, out in zip(ends, ((-d[0], -d[1]), d), strict=True):
            marks += _end(end, out, sight, method, detail.letter)
        yield marks


def _end(end: Vec2, out: Vec2, sight: Vec2, method: Method, letter: str) -> list[Mark]:
    """The thick end, the arrow and the letter at its tail, past the line."""
    thick = Stroke(polyline(end, _plus(end, out, -_THICK)), "cutting plane")
    leads = method == "third"
    tail, tip = (end, _plus(end, sight, _STEM)) if leads else (_plus(end, sight, -_STEM), end)
    x0, y0, x1, y1 = text_box(letter, LETTER)
    w, h = (x1 - x0) / 2, (y1 - y0) / 2
    if leads:
        # past the line's own end, level with the arrow
        way, start = out, _plus(end, sight, _STEM / 2)
    else:
        way, start = (-sight[0], -sight[1]), tail
    reach = abs(way[0]) * w + abs(way[1]) * h + _OFF + 0.5
    x, y = _plus(start, way, reach)
    text = Lettering(letter, (x, y - (y0 + y1) / 2), LETTER, "middle", fractions=False)
    stem = Stroke(polyline(tail, _plus(tip, sight, -1.0)), "narrow")
    return [thick, stem, arrowhead(tip, sight), text]


def _rings(detail: JointDetail, paper: PaperView) -> Iterator[list[Mark]]:
    x0, y0, x1, y1 = detail.window.box
    radius = max(math.hypot(x1 - x0, y1 - y0) / 2 * paper.factor * 0.6, _LEAST_RING)
    x, y = paper.at(detail.window.at)
    ring = Stroke((Arc((x, y), radius, 0.0, 2 * math.pi),), "narrow", True)
    left, low, right, high = text_box(detail.letter, LETTER)
    half = math.hypot(right - left, high - low) / 2
    for more, turn in itertools.product(_FARTHER, _RING_TURNS):
        out = radius + half + more
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        at = (x + c * out, y + s * out - (low + high) / 2)
        yield [ring, Lettering(detail.letter, at, LETTER, "middle", fractions=False)]


def _plus(p: Vec2, way: Vec2, by: float) -> Vec2:
    return (p[0] + way[0] * by, p[1] + way[1] * by)


def _is_clear(marks: Sequence[Mark], occupied: Occupied, shunned: frozenset[Role]) -> bool:
    """Letters clear of everything, lines clear of what is ``shunned``; the mark's own lines clear of its letters."""
    texts = [m for m in marks if isinstance(m, Lettering)]
    if not all(occupied.text_is_free(t, _OFF) for t in texts):
        return False
    own = Occupied()
    own.add(m for m in marks if not isinstance(m, Lettering))
    return all(own.text_is_free(t, 0.5) for t in texts) and not _crosses(marks, occupied, shunned)


def _crosses(marks: Iterable[Mark], occupied: Occupied, roles: frozenset[Role]) -> bool:
    lines = (ink_points(m) for m in marks if isinstance(m, Stroke | Fill))
    return any(occupied.crossings(p, q, roles) for line in lines for p, q in itertools.pairwise(line))
