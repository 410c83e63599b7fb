"""Crosses of thin lines on the centres of holes, and of arcs whose centres figures are measured to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from plangen.drawing.figure_marks import PaperFigure
from plangen.drawing.mark_geometry import box_corners
from plangen.drawing.marks import Mark, Stroke
from plangen.drawing.occupied import Occupied
from plangen.drawing.view_on_paper import PaperView
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.vectors import dot
from plangen.joinery.model import Member

_BEYOND_HOLE = 1.5
"""Millimetres that the cross of a hole stands out of its circle."""
_ARMS = (2.5, 1.5)
"""Of the cross of an arc, mm: the shorter where the longer would meet a line."""
_CLEAR = 0.7
_SAME = 1e-3


def hole_centres(member: Member, paper: PaperView) -> list[Stroke]:
    """A cross on every hole that is seen along its axis, standing out of its circle."""
    marks: list[Stroke] = []
    toward = paper.view.projection.toward
    for feature in member.features:
        hole = feature.hole
        if hole is not None and abs(abs(dot(hole.axis, toward)) - 1) < 1e-6:
            arm = hole.diameter / 2 * paper.factor + _BEYOND_HOLE
            marks += _cross(paper.at(hole.entry), arm)
    return marks


def arc_centres(paper: PaperView, figures: Iterable[PaperFigure], occupied: Occupied) -> list[Stroke]:
    """A cross on the centre of every arc of the view that one of its figures is measured to or from, where it stands
    within the view and clear of what is in ``occupied``: there the leg of the compasses is set (centres are marked by
    crossing thin lines: ISO 128 and 129-1, from memory)."""
    x0, y0, x1, y1 = paper.box
    feet = [p for f in figures if f.kind in ("radius", "linear") for p in f.points]
    marks: list[Stroke] = []
    for x, y in _centres(paper.marks):
        if not (x0 < x < x1 and y0 < y < y1) or all(math.dist((x, y), p) > _SAME for p in feet):
            continue
        for arm in _ARMS:
            if _is_clear((x, y), arm, occupied):
                marks += _cross((x, y), arm)
                break
    return marks


def _is_clear(at: Vec2, arm: float, occupied: Occupied) -> bool:
    x, y = at
    long = arm + _CLEAR
    arms = ((long, _CLEAR), (_CLEAR, long))
    return all(occupied.ring_is_free(box_corners((x - dx, y - dy, x + dx, y + dy))) for dx, dy in arms)


def _centres(marks: Sequence[Mark]) -> list[Vec2]:
    """Of all arcs that are no full circles, each once."""
    found: list[Vec2] = []
    seen = (c for m in marks if isinstance(m, Stroke) and m.use != "hidden" for c in m.curves)
    for arc in (c for c in seen if isinstance(c, Arc) and not c.is_full):
        if all(math.dist(arc.centre, other) > _SAME for other in found):
            found.append(arc.centre)
    return found


def _cross(at: Vec2, arm: float) -> list[Stroke]:
    x, y = at
    return [
        Stroke((Line((x - dx, y - dy), (x + dx, y + dy)),), "narrow") for dx, dy in ((arm, 0.0), (0.0, arm))
    ]
