"""Small signs on views: face side, face edge, grain, item references, datum.

Face side: a looped stroke whose tail runs off to the face edge. Face edge: a V that meets it on the arris the
two share (four joinery texts, read). Narrow lines, 5 mm high, once in each view where the surface is seen.
"""

from __future__ import annotations

import math

from plangen.drawing.dimension_marks import arrowhead, reading_angle
from plangen.drawing.lettering import LEAST_FIGURE, text_box, turn_of
from plangen.drawing.marks import Group, Lettering, Stroke
from plangen.geometry.curves import Arc, Bezier, Line, Vec2

MARK = 5.0
"""Height of the marks of faces."""
ITEM_DIAMETER, ITEM_HEIGHT = 10.0, 5.0
"""Circle and lettering of an item reference (ISO 6433, read: equal circles, narrow line)."""
DATUM_DIAMETER = 3.0


def _turned(p: Vec2, at: Vec2, up: Vec2) -> Vec2:
    """``p`` in a frame whose y runs along the unit vector ``up`` and whose origin is ``at``."""
    return (at[0] + p[0] * up[1] + p[1] * up[0], at[1] - p[0] * up[0] + p[1] * up[1])


def face_side_mark(at: Vec2, into: Vec2, height: float = MARK) -> Group:
    """The loop of the face side; its tail ends at ``at`` on the face edge, unit ``into`` points inward."""
    k = height / MARK
    strokes = (
        ((2.2, 1.0), (-0.5, 1.6), (-2.2, 3.0), (-1.4, 4.6)),
        ((-1.4, 4.6), (-0.8, 5.8), (1.0, 5.6), (1.1, 4.2)),
        ((1.1, 4.2), (1.2, 2.8), (0.3, 1.2), (0.0, 0.0)),
    )
    curves = tuple(Bezier(tuple(_turned((k * x, k * y), at, into) for x, y in s)) for s in strokes)
    return Group("face side", (Stroke(curves, "narrow"),))


def face_edge_mark(at: Vec2, into: Vec2, height: float = MARK) -> Group:
    """The V of the face edge; its point is at ``at`` on the shared arris, ``into`` is unit, into the edge."""
    half = height * math.tan(math.radians(20))
    a, b = (_turned((x, height), at, into) for x in (-half, half))
    return Group("face edge", (Stroke((Line(a, at), Line(at, b)), "narrow"),))


def grain_arrow(centre: Vec2, degrees: float, length: float = 20.0) -> Group:
    """A line with a head at either end, along the grain, and the word beside it."""
    a = math.radians(degrees)
    u = (math.cos(a), math.sin(a))
    p, q = (_turned((0.0, s * length / 2), centre, u) for s in (-1, 1))
    below = -1.0 - text_box("GRAIN", 2.5)[3]
    turn = reading_angle(u)
    c, s = turn_of(turn)
    word = Lettering("GRAIN", (centre[0] - s * below, centre[1] + c * below), 2.5, "middle", turn)
    head = 3.0
    shaft = Line(_turned((0.0, head - length / 2), centre, u), _turned((0.0, length / 2 - head), centre, u))
    heads = (arrowhead(p, (-u[0], -u[1])), arrowhead(q, u))
    return Group("grain", (Stroke((shaft,), "narrow"), *heads, word))


def item_reference(mark: str, centre: Vec2) -> Group:
    """A member's mark in its circle; its leader is a ``Leader`` without text that ends on the circle."""
    height = ITEM_HEIGHT
    x0, y0, x1, y1 = text_box(mark, height)
    # the letters' corners keep 0.6 mm off the circle
    while math.hypot(x1 - x0, y1 - y0) > ITEM_DIAMETER - 1.2 and height > LEAST_FIGURE:
        height = max(LEAST_FIGURE, height - 1.5)
        x0, y0, x1, y1 = text_box(mark, height)
    circle = Stroke((Arc(centre, ITEM_DIAMETER / 2, 0.0, 2 * math.pi),), "narrow", True)
    at = (centre[0] - (x0 + x1) / 2, centre[1] - (y0 + y1) / 2)
    return Group(f"item {mark}", (circle, Lettering(mark, at, height)))


def datum(at: Vec2) -> Group:
    """The circle of 3 mm at the corner all positions of a view are measured from."""
    return Group("datum", (Stroke((Arc(at, DATUM_DIAMETER / 2, 0.0, 2 * math.pi),), "narrow", True),))
