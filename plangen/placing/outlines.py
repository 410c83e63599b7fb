"""Shapes drawn on a member's face: outlines and openings, as exact curves.

An outline edge that every other part of the outline lies inside of becomes a plane or a cylinder of its
own; any other outline stays one extruded loop.
"""

from __future__ import annotations

import math

from plangen.design import design as d
from plangen.findings import Place, fail
from plangen.geometry.curves import Arc, Bezier, Curve, Line, Vec2
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE
from plangen.placing.body import Bored, Opening
from plangen.placing.scope import Scope

_L = (1.0, 0.0, 0.0)
_W = (0.0, 1.0, 0.0)
_T = (0.0, 0.0, 1.0)


def outline_forms(scope: Scope, name: str, outline: d.Outline) -> tuple[Form, ...]:
    """The surfaces that leave the outline's inside: planes and posts where it is convex, else one loop."""
    loop = outline_loop(scope, name, outline)
    if all(isinstance(c, Line) for c in loop) and _is_convex(loop):
        return tuple(_edge_plane(c) for c in loop)
    return (Extruded((0.0, 0.0, 0.0), _L, _W, loop),)


def outline_loop(scope: Scope, name: str, outline: d.Outline) -> tuple[Curve, ...]:
    """The outline, counter-clockwise, as lines and arcs (or one free curve through its points)."""
    points = outline_points(scope, name, outline)
    if len(points) < 3:
        raise fail(outline.place, "outline", f'"{name}": an outline needs at least three corners', name)
    if len(set(points)) < len(points):
        raise fail(outline.place, "outline", f'"{name}": two corners of the outline are the same point', name)
    turns = _signed_area(points)
    if abs(turns) < 1.0:
        raise fail(outline.place, "outline", f'"{name}": the outline holds no area', name)
    radii = _radii(scope, outline, len(outline.points))
    if outline.mirrored:
        radii += radii[-2:0:-1]
    if turns < 0:
        points.reverse()
        radii.reverse()
    if _crosses_itself(points):
        raise fail(outline.place, "outline", f'"{name}": the outline crosses itself', name)
    if outline.smooth:
        return _smooth(points)
    return filleted(scope, name, outline.place, points, radii)


def outline_points(scope: Scope, name: str, outline: d.Outline) -> list[Vec2]:
    """The outline's corners in order, from end A and the face edge; of half an outline the other half's too.

    Half an outline is mirrored about the straight line through its first point and its last.
    """
    points = [(scope.length(a), scope.length(b)) for a, b in outline.points]
    if not outline.mirrored or len(points) < 3:
        return points
    first, last = points[0], points[-1]
    if math.dist(first, last) < LENGTH_TOLERANCE:
        text = f'"{name}": half an outline runs from one end of its mirror line to the other, not back to its start'
        raise fail(outline.place, "outline", text, name)
    way = _way(first, last)

    def mirrored(p: Vec2) -> Vec2:
        off = (p[0] - first[0]) * way[1] - (p[1] - first[1]) * way[0]
        return (p[0] - 2 * off * way[1], p[1] + 2 * off * way[0])

    return [*points, *(mirrored(p) for p in points[-2:0:-1])]


def _radii(scope: Scope, outline: d.Outline, count: int) -> list[float]:
    if outline.round is None:
        return [0.0] * count
    if isinstance(outline.round, tuple):
        radii = [scope.length(r) for r in outline.round]
        if len(radii) != count:
            raise fail(
                outline.place, "outline", f"{len(radii)} radii for {count} corners: give one, or one each"
            )
        return radii
    return [scope.length(outline.round)] * count


def _signed_area(points: list[Vec2]) -> float:
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def _crosses_itself(points: list[Vec2]) -> bool:
    n = len(points)
    edges = [(points[i], points[(i + 1) % n]) for i in range(n)]

    def side(a: Vec2, b: Vec2, p: Vec2) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    for i in range(n):
        for j in range(i + 2, n):
            if i == 0 and j == n - 1:
                continue
            (a, b), (c, e) = edges[i], edges[j]
            if side(a, b, c) * side(a, b, e) < 0 and side(c, e, a) * side(c, e, b) < 0:
                return True
    return False


def filleted(
    scope: Scope, name: str, place: Place, points: list[Vec2], radii: list[float]
) -> tuple[Curve, ...]:
    n = len(points)
    starts: list[Vec2] = []
    arcs: list[Arc | None] = []
    ends: list[Vec2] = []
    for i, (corner, radius) in enumerate(zip(points, radii, strict=True)):
        before, after = points[i - 1], points[(i + 1) % n]
        u, v = _way(corner, before), _way(corner, after)
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
        if radius <= LENGTH_TOLERANCE or abs(abs(turn) - math.pi) < 1e-9:
            starts.append(corner)
            arcs.append(None)
            ends.append(corner)
            continue
        reach = radius / math.tan(abs(turn) / 2)
        room = min(math.dist(corner, before), math.dist(corner, after))
        if reach > room + LENGTH_TOLERANCE:
            raise fail(
                place,
                "outline",
                f'"{name}": a corner radius of {scope.said(radius)} has no room at its corner',
                name,
            )
        a = (corner[0] + u[0] * reach, corner[1] + u[1] * reach)
        b = (corner[0] + v[0] * reach, corner[1] + v[1] * reach)
        far = radius / math.sin(abs(turn) / 2)
        middle = _way((0.0, 0.0), (u[0] + v[0], u[1] + v[1]))
        centre = (corner[0] + middle[0] * far, corner[1] + middle[1] * far)
        first = math.atan2(a[1] - centre[1], a[0] - centre[0])
        sweep = math.copysign(math.pi - abs(turn), -turn)
        starts.append(a)
        arcs.append(Arc(centre, radius, first, first + sweep))
        ends.append(b)
    curves: list[Curve] = []
    for i in range(n):
        arc = arcs[i]
        if arc is not None:
            curves.append(arc)
        if math.dist(ends[i], starts[(i + 1) % n]) > LENGTH_TOLERANCE:
            curves.append(Line(ends[i], starts[(i + 1) % n]))
    return tuple(curves)


def _way(a: Vec2, b: Vec2) -> Vec2:
    size = math.dist(a, b)
    return ((b[0] - a[0]) / size, (b[1] - a[1]) / size)


def _smooth(points: list[Vec2]) -> tuple[Curve, ...]:
    """A closed curve with an even tangent at every point: cubic pieces, tangents a sixth of the chord across
    each point's neighbours (the cardinal spline of the drafting texts)."""
    n = len(points)
    pieces = []
    for i in range(n):
        a, b = points[i], points[(i + 1) % n]
        before, after = points[i - 1], points[(i + 2) % n]
        c1 = (a[0] + (b[0] - before[0]) / 6, a[1] + (b[1] - before[1]) / 6)
        c2 = (b[0] - (after[0] - a[0]) / 6, b[1] - (after[1] - a[1]) / 6)
        pieces.append(Bezier((a, c1, c2, b)))
    return tuple(pieces)


def _is_convex(loop: tuple[Curve, ...]) -> bool:
    corners = [c.start for c in loop]
    n = len(corners)
    for i in range(n):
        a, b, c = corners[i - 1], corners[i], corners[(i + 1) % n]
        if (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < -1e-9:
            return False
    return True


def _edge_plane(edge: Curve) -> Plane:
    way = _way(edge.start, edge.end)
    normal = (way[1], -way[0], 0.0)
    return Plane(normal, normal[0] * edge.start[0] + normal[1] * edge.start[1])


def openings_of(scope: Scope, name: str, member: d.Member, box: Box) -> tuple[Opening, ...]:
    """Every opening cut through the member's face."""
    return tuple(_opening(scope, name, o, box) for o in member.openings)


def _opening(scope: Scope, name: str, opening: d.Opening, box: Box) -> Opening:
    at = None if opening.at is None else (scope.length(opening.at[0]), scope.length(opening.at[1]))
    if opening.outline is not None:
        loop = outline_loop(scope, name, opening.outline)
        turned = tuple(c.reversed() for c in reversed(loop))
        if at is not None:
            raise fail(
                opening.place, "opening", f'"{name}": an outline says its own place; leave out "at"', name
            )
        return _through(opening, turned, "OPENING")
    if at is None:
        raise fail(opening.place, "opening", f'"{name}": say where the middle of the opening is (at)', name)
    if opening.round is not None:
        diameter = scope.length(opening.round)
        _check_inside(name, opening, box, at, (diameter / 2, diameter / 2))
        form = Cylinder((at[0], at[1], 0.0), _T, diameter / 2, "hole")
        bored = Bored((at[0], at[1], box.size[2]), (0.0, 0.0, -1.0), diameter, None, "face")
        return Opening("hole", ((form,),), opening.place, opening.when, "", bored)
    assert opening.slot is not None
    length, width = (scope.length(e) for e in opening.slot)
    if width >= length:
        raise fail(opening.place, "opening", f'"{name}": a slot is longer than it is wide', name)
    bow = scope.length(opening.curved) if opening.curved is not None else 0.0
    _check_inside(name, opening, box, at, (length / 2, width / 2 + bow))
    return _through(opening, _slot(at, length, width, bow), "SLOT")


def _check_inside(name: str, opening: d.Opening, box: Box, at: Vec2, half: Vec2) -> None:
    for i in range(2):
        if at[i] - half[i] < 0 or at[i] + half[i] > box.size[i]:
            raise fail(opening.place, "opening", f'"{name}": the opening runs out of the piece', name)


def _through(opening: d.Opening, clockwise: tuple[Curve, ...], note: str) -> Opening:
    form = Extruded((0.0, 0.0, 0.0), _L, _W, clockwise)
    return Opening("opening", ((form,),), opening.place, opening.when, note)


def _slot(at: Vec2, length: float, width: float, bow: float) -> tuple[Curve, ...]:
    """A round-ended slot, clockwise; bowed toward the back edge by ``bow`` at its middle.

    A bowed slot is a band between two arcs about one centre, its ends half circles on the middle arc.
    """
    r, half = width / 2, (length - width) / 2
    x, y = at
    if bow <= LENGTH_TOLERANCE:
        return (
            Line((x - half, y + r), (x + half, y + r)),
            Arc((x + half, y), r, math.pi / 2, -math.pi / 2),
            Line((x + half, y - r), (x - half, y - r)),
            Arc((x - half, y), r, 3 * math.pi / 2, math.pi / 2),
        )
    radius = (half * half + bow * bow) / (2 * bow)
    centre = (x, y + bow / 2 - radius)
    a = math.asin(half / radius)
    right, left = math.pi / 2 - a, math.pi / 2 + a

    def on_arc(angle: float) -> Vec2:
        return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))

    return (
        Arc(centre, radius + r, left, right),
        Arc(on_arc(right), r, right, right - math.pi),
        Arc(centre, radius - r, right, left),
        Arc(on_arc(left), r, left + math.pi, left),
    )
