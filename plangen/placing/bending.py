"""Flat bar bent along points: its shape in place, and the flat that it is bent from.

The points run along the middle of the bar: the middle of its thickness and of its width, which lies square to the
plane of the bends. At each point the bar turns about its inside radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from plangen.design import design as d
from plangen.findings import Finding, fail, warning
from plangen.geometry.contour_faults import contour_faults
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box, Extruded
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, cross, dot, length, squared, sub, unit
from plangen.placing.body import Bend, Bent, Body, Shaping
from plangen.placing.copies import standings
from plangen.placing.scope import Scope
from plangen.tables.sheet_metal import bend_allowance, metal_of
from plangen.tables.stock import Stock

_STRAIGHT = 1e-9
"""Radians: a bar that turns less than this runs straight on."""


@dataclass(frozen=True)
class _Corner:
    """A bend in the plane of the bar: where the middle line leaves the straight and meets it again."""

    start: Vec2
    end: Vec2
    turn: float
    """Radians, to the left positive."""
    centre: Vec2
    first: float
    """Direction from the centre to ``start``, radians."""


def place_bent(scope: Scope, name: str, part: d.Bought) -> Body:
    """The bent bar where its points run. Raises DesignError where it cannot be bent so."""
    assert part.bent is not None
    assert part.bar is not None
    width, thickness = (scope.length(e) for e in part.bar)
    radius = thickness if part.inside_radius is None else scope.length(part.inside_radius)
    frame, path = _in_plane(scope, name, part, [scope.point(p) for p in part.bent])
    middle = radius + thickness / 2
    corners = _corners(scope, name, part, path, middle)
    loop = _outline(path, corners, middle, thickness)
    if contour_faults([loop]):
        raise fail(
            part.source, "bent", f'"{name}": the bar runs into itself: place its points farther apart', name
        )
    low, high = _bounds(loop)
    box = Box((0.0, 0.0, 0.0), (high[0] - low[0], high[1] - low[1], width))
    placed = Frame(frame.point((low[0], low[1], -width / 2)), *frame.axes)
    form = Extruded((-low[0], -low[1], 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), loop)
    metal = metal_of(str(part.size))
    k_factor = metal.k_factor if part.k_factor is None else float(scope.quantity(part.k_factor).value)
    bent = _flat(path, corners, (radius, thickness, k_factor), width)
    return Body(
        name,
        "bought",
        Stock(str(part.size), "bought", "", thickness, width, density=metal.density),
        box,
        (Shaping("outline", "edge", form, part.source),),
        (),
        standings(scope, name, part.copies, placed, box),
        part.source,
        notes=(
            "Form on the work: bend it to a card of the finished shape, then mark the holes from the work.",
        ),
        findings=_advice(scope, name, part, radius, thickness),
        bent=bent,
    )


def _in_plane(scope: Scope, name: str, part: d.Bought, points: Sequence[Point]) -> tuple[Frame, list[Vec2]]:
    """The plane of the bends, x from the first point toward the last, and the points in it."""
    if len(points) < 3:
        raise fail(
            part.source,
            "bent",
            f'"{name}": a bent bar takes at least 3 points; a straight one is a box',
            name,
        )
    if min(math.dist(a, b) for a, b in pairwise(points)) < LENGTH_TOLERANCE:
        text = f'"{name}": two points of the bar that follow each other are the same'
        raise fail(part.source, "bent", text, name)
    ways = [unit(sub(b, a)) for a, b in pairwise(points)]
    turns = [cross(a, b) for a, b in pairwise(ways)]
    normal = max(turns, key=lambda turn: round(length(turn), 9))
    if length(normal) < _STRAIGHT:
        text = f'"{name}": its points lie in one straight line, or turn right back; a bar bends between them'
        raise fail(part.source, "bent", text, name)
    normal = squared(unit(normal))
    off = max(abs(dot(normal, sub(p, points[0]))) for p in points)
    if off > LENGTH_TOLERANCE:
        text = (
            f'"{name}": its points lie {scope.said(off)} out of one plane; a flat bar bends the flat way only'
        )
        raise fail(part.source, "bent", text, name)
    reach = sub(points[-1], points[0])
    longest = max(ways, key=lambda way: round(max(abs(c) for c in way), 9))
    across = squared(unit(reach)) if length(reach) > LENGTH_TOLERANCE else squared(longest)
    frame = Frame(points[0], across, squared(cross(normal, across)), normal)
    local = [frame.local_point(p) for p in points]
    flat = [(p[0], p[1]) for p in local]
    kept = [flat[0]]
    kept += [b for a, b, c in zip(flat, flat[1:], flat[2:], strict=False) if abs(_turn(a, b, c)) > _STRAIGHT]
    return frame, [*kept, flat[-1]]


def _turn(a: Vec2, b: Vec2, c: Vec2) -> float:
    """Radians turned at ``b`` from the way to it to the way on, to the left positive."""
    (ux, uy), (vx, vy) = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _way(a: Vec2, b: Vec2) -> Vec2:
    far = math.dist(a, b)
    return ((b[0] - a[0]) / far, (b[1] - a[1]) / far)


def _corners(scope: Scope, name: str, part: d.Bought, path: Sequence[Vec2], middle: float) -> list[_Corner]:
    turns = [_turn(a, b, c) for a, b, c in zip(path, path[1:], path[2:], strict=False)]
    taken = [0.0, *(middle * math.tan(abs(turn) / 2) for turn in turns), 0.0]
    for i, (a, b) in enumerate(pairwise(path)):
        short = taken[i] + taken[i + 1] - math.dist(a, b)
        if short > LENGTH_TOLERANCE:
            text = (
                f'"{name}": the bar has no room to bend: the straight between points {i + 1} and {i + 2} is '
                f"{scope.said(short)} too short for its bends"
            )
            raise fail(part.source, "bent", text, name)
    found = []
    for a, b, c, turn, reach in zip(path, path[1:], path[2:], turns, taken[1:], strict=False):
        into, out = _way(a, b), _way(b, c)
        start = (b[0] - into[0] * reach, b[1] - into[1] * reach)
        side = math.copysign(1.0, turn)
        centre = (start[0] - into[1] * middle * side, start[1] + into[0] * middle * side)
        first = math.atan2(start[1] - centre[1], start[0] - centre[0])
        found.append(_Corner(start, (b[0] + out[0] * reach, b[1] + out[1] * reach), turn, centre, first))
    return found


def _outline(
    path: Sequence[Vec2], corners: Sequence[_Corner], middle: float, thickness: float
) -> tuple[Curve, ...]:
    """The bar's edge as a closed loop, counter-clockwise: its right side out, its left side back."""
    half = thickness / 2
    right = _side(path, corners, middle, -half)
    left = [curve.reversed() for curve in reversed(_side(path, corners, middle, half))]
    return (*right, Line(right[-1].end, left[0].start), *left, Line(left[-1].end, right[0].start))


def _side(path: Sequence[Vec2], corners: Sequence[_Corner], middle: float, off: float) -> list[Curve]:
    """The line that runs ``off`` to the left of the middle line."""

    def beside(p: Vec2, way: Vec2) -> Vec2:
        return (p[0] - way[1] * off, p[1] + way[0] * off)

    found: list[Curve] = []
    at = path[0]
    for i, corner in enumerate(corners):
        way = _way(path[i], path[i + 1])
        arc = Arc(
            corner.centre,
            middle - math.copysign(off, off * corner.turn),
            corner.first,
            corner.first + corner.turn,
        )
        if math.dist(at, corner.start) > LENGTH_TOLERANCE:
            found.append(Line(beside(at, way), arc.start))
        found.append(arc)
        at = corner.end
    if math.dist(at, path[-1]) > LENGTH_TOLERANCE:
        start = found[-1].end if found else beside(at, _way(path[-2], path[-1]))
        found.append(Line(start, beside(path[-1], _way(path[-2], path[-1]))))
    return found


def _bounds(loop: Sequence[Curve]) -> tuple[Vec2, Vec2]:
    points = [p for curve in loop for p in (curve.start, curve.end)]
    for curve in loop:
        if isinstance(curve, Arc):
            low, high = sorted((curve.first, curve.last))
            quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
            for quarter in quarters:
                way = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarter % 4]
                points.append(
                    (curve.centre[0] + curve.radius * way[0], curve.centre[1] + curve.radius * way[1])
                )
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def _flat(
    path: Sequence[Vec2], corners: Sequence[_Corner], sizes: tuple[float, float, float], width: float
) -> Bent:
    """What the bar is bent from: straights at their length, each bend at its allowance."""
    radius, thickness, k_factor = sizes
    bends: list[Bend] = []
    at, done = path[0], 0.0
    for corner in corners:
        begins = done + math.dist(at, corner.start)
        done = begins + bend_allowance(abs(corner.turn), radius, thickness, k_factor)
        bends.append(Bend(corner.turn, radius, begins, done))
        at = corner.end
    return Bent(done + math.dist(at, path[-1]), width, thickness, k_factor, tuple(bends))


def _advice(scope: Scope, name: str, part: d.Bought, radius: float, thickness: float) -> tuple[Finding, ...]:
    least = metal_of(str(part.size)).least_radius * thickness
    if radius > least - 1e-6:
        return ()
    text = (
        f'"{name}" is bent to an inside radius of {scope.said(radius)}; this metal may crack tighter than '
        f"{scope.said(least)} at a thickness of {scope.said(thickness)} (common practice)"
    )
    place = part.source if part.inside_radius is None else part.inside_radius.place
    return (warning(place, "bend", text, name),)
