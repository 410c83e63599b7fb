"""Neighbouring flat sides of a solid laid out in one plane, as a strip of paper wrapped round it lies when it is flat.

Each side keeps its true shape; the arris that two share is one line. Sides are seen from outside where their chain goes
from left to right as they stand round the piece with the upward direction up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from plangen.geometry.boundary import Conic, Edge, EdgeCurve, Straight
from plangen.geometry.curves import Curve, EllipseArc, Line, Vec2
from plangen.geometry.patches import same_surface
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit

_PARALLEL = 1e-9
_ROUND = 1e-9


@dataclass(frozen=True)
class Panel:
    """One side: a point in space, two unit directions in its plane square to each other, and their images."""

    plane: Plane
    origin: Point
    u: Vec
    v: Vec
    at: Vec2
    u_image: Vec2
    v_image: Vec2

    def flat(self, p: Point) -> Vec2:
        """Where a point of the side comes to lie."""
        d = self.flat_direction(sub(p, self.origin))
        return (self.at[0] + d[0], self.at[1] + d[1])

    def flat_direction(self, d: Vec) -> Vec2:
        a, b = dot(d, self.u), dot(d, self.v)
        return (
            a * self.u_image[0] + b * self.v_image[0],
            a * self.u_image[1] + b * self.v_image[1],
        )


@dataclass(frozen=True)
class Fold:
    """The arris between two sides: a point of it and its direction, in space and unfolded."""

    point: Point
    way: Vec
    at: Vec2
    way_image: Vec2


def unfolded(planes: Sequence[Plane], up: Vec) -> tuple[tuple[Panel, ...], tuple[Fold, ...]]:
    """The sides in their order, the first left of the upright line that the first fold is at x = 0.

    A point of that fold has the height that it has along the unit direction ``up``. Raises ValueError where two
    neighbours have no arris.
    """
    panels: list[Panel] = []
    folds: list[Fold] = []
    for first, second in pairwise(planes):
        point, way = _arris(first, second, up)
        if not panels:
            at, image = (0.0, dot(point, up)), (0.0, 1.0)
            back = (-1.0, 0.0)
            inward = _inward(first, second, way)
            panels.append(Panel(first, point, way, inward, at, image, back))
        left = panels[-1]
        at, image = left.flat(point), left.flat_direction(way)
        away = left.flat_direction(_inward(first, second, way))
        folds.append(Fold(point, way, at, image))
        panels.append(Panel(second, point, way, _inward(second, first, way), at, image, (-away[0], -away[1])))
    return tuple(panels), tuple(folds)


def _arris(a: Plane, b: Plane, up: Vec) -> tuple[Point, Vec]:
    d = cross(a.normal, b.normal)
    size = dot(d, d)
    if size < _PARALLEL:
        raise ValueError("two sides that are parallel share no arris")
    p, q = scale(cross(b.normal, d), a.offset / size), scale(cross(d, a.normal), b.offset / size)
    point = (p[0] + q[0], p[1] + q[1], p[2] + q[2])
    way = unit(d)
    return point, way if dot(way, up) >= 0 else neg(way)


def _inward(side: Plane, other: Plane, way: Vec) -> Vec:
    """Along a side, square to its arris, away from the other side."""
    found = unit(cross(side.normal, way))
    return neg(found) if dot(found, other.normal) > 0 else found


def side_plane(solid: Solid, outward: Vec, least: float = 0.9) -> Plane | None:
    """The largest flat side whose normal has at least the cosine ``least`` to a direction."""
    areas: dict[int, float] = {}
    for face in solid.faces:
        form = solid.forms[face.surface]
        if isinstance(form, Plane) and dot(form.normal, outward) >= least:
            areas[face.surface] = areas.get(face.surface, 0.0) + face.area
    if not areas:
        return None
    found = solid.forms[max(areas, key=lambda i: (round(areas[i], 3), -i))]
    assert isinstance(found, Plane)
    return found


def edges_on(
    solid: Solid,
    panel: Panel,
    others: Sequence[Form] | None = None,
    where: Callable[[Point], bool] | None = None,
) -> Iterator[Curve]:
    """Edges of a side, unfolded: all that bound it, or those that it shares with any of ``others`` and whose middle
    lies ``where`` is true."""
    surfaces = [solid.forms[f.surface] for f in solid.faces]
    on = [same_surface(s, panel.plane) for s in surfaces]
    asked = [others is None or any(same_surface(s, o) for o in others) for s in surfaces]
    for edge in solid.edges:
        for here, there in ((edge.left, edge.right), (edge.right, edge.left)):
            if on[here] and not on[there] and asked[there] and (where is None or where(_middle(edge.curve))):
                yield from _flat_edge(edge, panel)


def _middle(curve: EdgeCurve) -> Point:
    if isinstance(curve, Straight):
        return scale(add(curve.start, curve.end), 0.5)
    if isinstance(curve, Conic):
        p = (curve.first + curve.last) / 2
        return add(curve.centre, add(scale(curve.major, math.cos(p)), scale(curve.minor, math.sin(p))))
    return curve.points[len(curve.points) // 2]


def _flat_edge(edge: Edge, panel: Panel) -> Iterator[Curve]:
    curve = edge.curve
    if isinstance(curve, Straight):
        yield Line(panel.flat(curve.start), panel.flat(curve.end))
    elif isinstance(curve, Conic):
        centre = panel.flat(curve.centre)
        major, minor = panel.flat_direction(curve.major), panel.flat_direction(curve.minor)
        yield EllipseArc(centre, major, minor, curve.first, curve.last)
    else:
        flat = [panel.flat(p) for p in curve.points]
        yield from (Line(a, b) for a, b in pairwise(flat))


def at_height(fold: Fold, height: float, up: Vec) -> Point:
    """The point of an arris at a height along ``up``."""
    return along(fold.point, fold.way, (height - dot(fold.point, up)) / dot(fold.way, up))


def span_along(curves: Sequence[Curve]) -> tuple[float, float]:
    """Least and greatest height of curves, by their ends and middles."""
    heights = [p[1] for c in curves for p in (c.start, c.at(0.25), c.at(0.5), c.at(0.75), c.end)]
    return min(heights), max(heights)


def is_square(curve: Curve) -> bool:
    """A line along or across the upright direction."""
    if not isinstance(curve, Line):
        return False
    run = (curve.end[0] - curve.start[0], curve.end[1] - curve.start[1])
    size = length((run[0], run[1], 0.0))
    return min(abs(run[0]), abs(run[1])) <= 1e-3 * max(size, _ROUND)
