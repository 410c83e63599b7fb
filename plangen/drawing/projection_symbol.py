"""The symbol of the projection method: a cone frustum in two views, projected and placed like any member.

Proportions (from memory of ISO 5456-2): ends of diameter h and 2 h, length 2 h, axis level, small end left,
at least h between the views, centre lines past the figures by h / 2.
"""

from __future__ import annotations

import math

from plangen.drawing.marks import Group, Mark, Stroke
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.vectors import Point
from plangen.geometry.views import FRONT, LEFT

WIDTH, HEIGHT = 5.0, 2.0
"""Of the two views together, in h; the centre lines add h / 2 on every side."""


def projection_symbol(method: Method, centre: Vec2, height: float = 2.5) -> Group:
    """The symbol about ``centre``; ``height`` is h, the diameter of the small end, mm."""
    h = height
    # radius of each end by its place on the axis
    ends = ((-h, h / 2), (h, h))
    step, _ = side_view_offset(method, "left")
    front_at = (centre[0] - step * 1.5 * h, centre[1])
    side_at = (front_at[0] + step * 3 * h, centre[1])
    marks: list[Mark] = [Stroke(_frustum(ends, front_at), "fine outline", True)]
    for x, radius in ends:
        middle = _at(LEFT.flat((x, 0.0, 0.0)), side_at)
        marks.append(Stroke((Arc(middle, radius, 0.0, 2 * math.pi),), "fine outline", True))
    reach = 1.5 * h
    for c in (front_at, side_at):
        marks.append(Stroke((Line((c[0] - reach, c[1]), (c[0] + reach, c[1])),), "centre"))
    x, y = side_at
    marks.append(Stroke((Line((x, y - reach), (x, y + reach)),), "centre"))
    return Group(f"{method} angle projection", tuple(marks))


def _frustum(ends: tuple[tuple[float, float], ...], at: Vec2) -> tuple[Line, ...]:
    (x0, r0), (x1, r1) = ends
    corners: tuple[Point, ...] = ((x0, 0.0, -r0), (x1, 0.0, -r1), (x1, 0.0, r1), (x0, 0.0, r0))
    flat = [_at(FRONT.flat(p), at) for p in corners]
    return tuple(Line(p, q) for p, q in zip(flat, flat[1:] + flat[:1], strict=True))


def _at(p: Vec2, origin: Vec2) -> Vec2:
    return (p[0] + origin[0], p[1] + origin[1])
