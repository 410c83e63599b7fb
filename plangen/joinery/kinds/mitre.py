"""Mitre: two members share a corner and are both cut by one plane through it, what stands beyond being waste.

The plane runs from the line where the inner faces meet to the line where the outer faces meet: the bisector where
the two are equally thick, unequal angles where they are not. Frames, edges of a box, compound corners and coopered
edges are one rule: a member's outer face is the one that looks the way its neighbour's end does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, note
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit
from plangen.joinery.kinds import splines
from plangen.joinery.kinds.lapping import wood_along
from plangen.joinery.kinds.reach import ends_toward, short_of
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, Placed
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM

_PARALLEL = 0.02
"""Sine between the ways of two members below which they run in one line, or side by side."""
_SURE = 0.3
"""Cosine by which a face must look outward, or inward."""
_COPLANAR = 1e-9
"""Sine by which the inner corner may leave the plane through the outer one."""


@dataclass(frozen=True)
class Side:
    """One member at the corner; planes and directions in the world."""

    placed: Placed
    way: Vec
    """Along the member, out at the corner."""
    planes: tuple[Plane, ...]
    """The faces that run along it past the corner; its ends there are not among them."""
    outer: Plane
    inner: Plane


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    ways = [_way(meeting, m) for m in (meeting.first, meeting.second)]
    if length(cross(*ways)) < _PARALLEL:
        raise _fails(meeting, "they run in one line or side by side and make no corner")
    first = _side(meeting, meeting.first, ways[0], ways[1])
    second = _side(meeting, meeting.second, ways[1], ways[0])
    plane, found = _plane(meeting, first, second)
    for side, bound in ((first, plane), (second, plane.flipped())):
        missing = short_of(side.placed, side.way, [bound], side.planes)
        if missing > 1e-3:
            raise _fails(
                meeting,
                f'"{side.placed.name}" ends {sizing.said(missing)} short of the outer corner; let it run on there, '
                "the mitre trims it",
            )
    room = meeting.clearance / 2
    cuts = [
        replace(meeting.cut(side.placed, "mitre", [[_local(side, bound.shifted(-room))]]), origin="worked")
        for side, bound in ((first, plane), (second, plane.flipped()))
    ]
    corner = splines.Corner(
        first.placed, second.placed, plane, _lines(first, second), (first.planes, second.planes)
    )
    splined = splines.made(meeting, spec, sizing, corner)
    return Made((*cuts, *splined.cuts), splined.pieces, findings=(*found, *splined.findings))


def _local(side: Side, plane: Plane) -> Plane:
    return plane.local_to(side.placed.frame).squared()


def _way(meeting: Meeting, member: Placed) -> Vec:
    """World direction in which the member runs out at the corner: of its length or its width, whichever of its
    ends and edges lies nearest to the shared wood."""
    shared = meeting.shared()
    assert shared is not None
    off = []
    for across in member.frame.axes[:2]:
        low, high = wood_along(member, across, shared.centroid)
        off.append(-(low + high) / (high - low))
    axis = 0 if member.body.is_round else max((0, 1), key=lambda i: round(abs(off[i]), 6))
    way = member.frame.axes[axis]
    return way if off[axis] > 0 else neg(way)


def _side(meeting: Meeting, member: Placed, way: Vec, other: Vec) -> Side:
    outward = unit(sub(other, scale(way, dot(other, way))))
    planes = _long_faces(member, way, outward)
    ranked = sorted(planes, key=lambda p: (round(dot(p.normal, outward), 9), p.offset))
    if not ranked or dot(ranked[-1].normal, outward) < _SURE or dot(ranked[0].normal, outward) > -_SURE:
        raise _fails(meeting, f'"{member.name}" has no pair of faces, one inside and one outside the corner')
    return Side(member, way, tuple(planes), ranked[-1], ranked[0])


def _long_faces(member: Placed, way: Vec, outward: Vec) -> list[Plane]:
    """The planes that bound the member beside ``way``; of a round one the square round it that faces the corner."""
    ends = ends_toward(member, way, 0.7) + ends_toward(member, neg(way), 0.7)
    if member.body.is_round:
        radius, across = member.body.size[1] / 2, cross(way, outward)
        return [_beside(member.middle, n, radius) for n in (outward, neg(outward), across, neg(across))]
    own = member.body.planes()
    region = convex_region(own, BOUND_MM)
    carrying = () if region is None else region.indices
    return [own[i].placed(member.frame) for i in carrying if own[i] not in ends]


def _beside(at: Point, normal: Vec, distance: float) -> Plane:
    return Plane(normal, dot(normal, at) + distance)


def _lines(first: Side, second: Side) -> tuple[tuple[Plane, Plane], tuple[Plane, Plane]]:
    return (first.outer, second.outer), (first.inner, second.inner)


def _plane(meeting: Meeting, first: Side, second: Side) -> tuple[Plane, tuple[Finding, ...]]:
    """The mitre in the world, outward of the first, and a note where no one plane passes through both corners."""
    shared = meeting.shared()
    assert shared is not None
    found: tuple[Finding, ...] = ()
    if min(length(cross(a.normal, b.normal)) for a, b in _lines(first, second)) < _PARALLEL:
        raise _fails(meeting, "their faces are parallel there and make no corner")
    outer_at, outer_way = _line(first.outer, second.outer, shared.centroid)
    inner_at, inner_way = _line(first.inner, second.inner, shared.centroid)
    between = sub(outer_at, inner_at)
    if length(between) < 1e-6:
        raise _fails(meeting, "their inner and outer corners coincide")
    normal = unit(cross(inner_way, between))
    if abs(dot(normal, outer_way)) > _COPLANAR:
        normal = unit(sub(first.inner.normal, second.inner.normal))
        text = (
            f'mitre: the inner and outer corners of "{first.placed.name}" and "{second.placed.name}" do not lie in '
            "one plane; the mitre halves the angle of the inner faces, and the outer ones meet a little off"
        )
        found = (note(meeting.place, "mitre", text, first.placed.name, second.placed.name),)
    if dot(normal, first.way) < 0:
        normal = neg(normal)
    if dot(normal, first.way) < 1e-3 or dot(normal, second.way) > -1e-3:
        raise _fails(meeting, "their widths differ too much for so sharp a corner: no plane parts them")
    return Plane(normal, dot(normal, inner_at)), found


def _line(a: Plane, b: Plane, near: Point) -> tuple[Point, Vec]:
    """The line in which two planes meet: its point nearest to ``near``, and its direction."""
    way = cross(a.normal, b.normal)
    square = dot(way, way)
    # Cramer's rule for the foot: a combination of the two normals.
    at_a, at_b = a.distance(near), b.distance(near)
    cosine = dot(a.normal, b.normal)
    u, v = (at_b * cosine - at_a) / square, (at_a * cosine - at_b) / square
    return add(along(near, a.normal, u), scale(b.normal, v)), unit(way)


def _fails(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f'the mitre of "{names[0]}" and "{names[1]}": {text}', *names)
