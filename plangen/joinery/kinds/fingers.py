"""Finger joint: two panels share a corner, divided square to it into an odd number of equal fingers.

The first keeps the fingers at both ends. The walls are the other panel's placed faces, so the joint also
closes between panels that do not meet square. The allowance widens every cut, half at each side.
"""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, cross, dot, length, neg, unit
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_AREA, Meeting, Placed, mating, planes_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM

FINGER_OF_STOCK = 2.0
"""A finger is about twice as wide as the thinner panel is thick (common practice)."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    corner = _corner(meeting)
    shared = meeting.shared()
    assert shared is not None
    reach = [dot(corner, v) for v in shared.vertices]
    low, high = min(reach), max(reach)
    thin = min(meeting.first.body.size[2], meeting.second.body.size[2])
    about = sizing.or_rule(spec.finger, FINGER_OF_STOCK * thin)
    count = _odd_count(high - low, about)
    if count < 3:
        raise fail(
            meeting.place,
            "joint",
            f"the finger joint: {sizing.said(high - low)} of corner has room for less than three fingers of "
            f"{sizing.said(about)}",
            meeting.first.name,
            meeting.second.name,
        )
    at = [low + (high - low) * i / count for i in range(count + 1)]
    odd = [(at[i], at[i + 1]) for i in range(1, count, 2)]
    even = [(at[i], at[i + 1]) for i in range(0, count, 2)]
    cuts = (
        meeting.cut(meeting.first, "fingers", _gaps(meeting, meeting.first, meeting.second, corner, odd)),
        meeting.cut(meeting.second, "fingers", _gaps(meeting, meeting.second, meeting.first, corner, even)),
    )
    return Made(cuts)


def _corner(meeting: Meeting) -> Vec:
    along = cross(meeting.first.frame.t, meeting.second.frame.t)
    if length(along) < 0.1:
        raise fail(
            meeting.place,
            "joint",
            f'the finger joint: the faces of "{meeting.first.name}" and "{meeting.second.name}" make no corner',
            meeting.first.name,
            meeting.second.name,
        )
    return unit(along)


def _odd_count(room: float, about: float) -> int:
    """The odd number of fingers whose width is nearest to the one asked for."""
    most = int(room / about) + 2
    odd = range(1, most + 2, 2)
    return min(odd, key=lambda n: (round(abs(room / n - about), 6), n))


def _gaps(
    meeting: Meeting, target: Placed, other: Placed, corner: Vec, spans: list[tuple[float, float]]
) -> list[list[Form]]:
    """One cutter a finger of the other: the other's inner face, and two planes square to the corner."""
    out = _outward(target, meeting)
    way = target.frame.local_direction(corner)
    walls = [
        p for p in planes_inside(target, other) if dot(p.normal, out) < 0.5 and abs(dot(p.normal, way)) < 0.9
    ]
    own = [p.squared() for p in target.body.planes()]
    room = meeting.clearance / 2  # each of the two panels gives half of it
    found = []
    for low, high in spans:
        sides = [
            Plane(corner, low - room).local_to(target.frame).squared(),
            Plane(neg(corner), -high - room).local_to(target.frame).squared(),
        ]
        cutter: list[Form] = [mating(p) for p in walls]
        # A finger that ends where the panel ends is open there: that side cuts nothing.
        cutter += [s for i, s in enumerate(sides) if _cuts(own, walls, sides, i)]
        found.append(cutter)
    return found


def _cuts(own: list[Plane], walls: list[Plane], sides: list[Plane], which: int) -> bool:
    """Whether one side of a finger carries area inside the panel."""
    region = convex_region([*own, *walls, *(s.flipped() for s in sides)], BOUND_MM)
    return region is not None and region.area(len(own) + len(walls) + which) > LEAST_AREA


def _outward(target: Placed, meeting: Meeting) -> Vec:
    """In the target's frame: from its middle toward the corner, along its face."""
    shared = meeting.shared()
    assert shared is not None
    c = target.frame.local_point(shared.centroid)
    size = target.body.size
    away = (c[0] - size[0] / 2, c[1] - size[1] / 2)
    nearer = max((0, 1), key=lambda i: abs(away[i]) / size[i])
    out = [0.0, 0.0, 0.0]
    out[nearer] = 1.0 if away[nearer] > 0 else -1.0
    return (out[0], out[1], out[2])
