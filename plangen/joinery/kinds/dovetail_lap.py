"""Dovetail lap: a half lap whose end widens from the shoulder, so that it cannot be drawn out of its trench.

The tail is as wide as its member where it reaches deepest and narrows toward the shoulder by ``slope`` on each
side. Its sides stay as square to the member's face as the member's edges are, so the slope shows, and is marked
out, on the face.
"""

from __future__ import annotations

import math
from dataclasses import replace

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot, scale, sub, unit
from plangen.joinery.advice import outside
from plangen.joinery.kinds.half_lap import floor_normal
from plangen.joinery.kinds.lapping import depth_advice, divide, lap_cutter, proud, ratio
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, Placed, planes_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM, Shaping
from plangen.tables.joint_rules import DOVETAIL_NECK, DOVETAIL_SLOPE

KIND = "dovetail lap"
_FACING = 0.7
"""A face of the second that looks this much along the lap's depth bounds it neither before nor behind."""
_ENDWAYS = 0.5
"""A face of the second that looks this much along the first's length is the shoulder, or the face behind it."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    division = divide(meeting, spec, sizing, floor_normal(meeting, spec.floor, KIND), KIND)
    first, second = meeting.first, meeting.second
    slope = sizing.angle(spec.slope, math.atan(DOVETAIL_SLOPE.usual))
    kept = division.first_loses.local_to(first.frame).squared()
    shoulder = _shoulder(meeting, kept)
    sides = _tail_sides(meeting, shoulder, kept, slope)
    tail = _bounded(first, sides)
    neck, width = _necks(tail, first, second, shoulder, kept)
    if neck < 1.0:
        raise fail(
            meeting.place,
            "joint",
            f'the dovetail lap: so steep a slope leaves no neck at the shoulder of "{first.name}"',
            first.name,
        )
    own = [lap_cutter(meeting, first, second, division.first_loses)]
    own += [[side, shoulder.flipped()] for side in sides]
    trench = _trench(meeting, tail, division.second_loses, sides)
    sloped = f"its sides {ratio(slope)} on the face"
    cuts = (
        replace(meeting.cut(first, "dovetail lap", own), note=sloped),
        replace(meeting.cut(second, "dovetail lap", [trench]), note=sloped),
    )
    found: list[Finding] = [f for cut in cuts for f in proud(meeting, sizing, cut, KIND)]
    found += depth_advice(meeting, spec, sizing, division, KIND)
    found += outside(DOVETAIL_SLOPE, math.tan(slope), "dovetail lap: the slope", meeting.place, first.name)
    found += outside(DOVETAIL_NECK, neck / width, "dovetail lap: the tail's neck", meeting.place, first.name)
    return Made(cuts, findings=tuple(found))


def _trench(meeting: Meeting, tail: Placed, loses: Plane, sides: list[Plane]) -> list[Form]:
    """The second's cutter: its sides are the tail's slopes, and not its edges, where it runs out through proud wood."""
    first, second = meeting.first, meeting.second
    floor, *walls = lap_cutter(meeting, second, tail, loses)
    across = first.frame.axes[max((1, 2), key=lambda axis: round(abs(sides[0].normal[axis]), 6))]
    way = second.frame.local_direction(across)
    slopes = [meeting.room_for(s.placed(first.frame).local_to(second.frame).squared()) for s in sides]
    others = [w for w in walls if not isinstance(w, Plane) or abs(dot(w.normal, way)) < _FACING]
    return [floor, *slopes, *others]


def _into(meeting: Meeting) -> Vec:
    """The first's length toward the end that lies in the second, in the first's frame."""
    shared = meeting.shared(meeting.first.frame)
    assert shared is not None
    return (1.0 if shared.centroid[0] > meeting.first.body.size[0] / 2 else -1.0, 0.0, 0.0)


def _shoulder(meeting: Meeting, loses: Plane) -> Plane:
    """The second's face that the first enters by, in the first's frame, as it looks: out of the second."""
    first, second = meeting.first, meeting.second
    into = _into(meeting)
    carrying = [p for p in planes_inside(first, second) if abs(dot(p.normal, loses.normal)) < _FACING]
    if any(dot(p.normal, into) > _ENDWAYS for p in carrying):
        raise fail(
            meeting.place,
            "joint",
            f'the dovetail lap: "{first.name}" runs on past "{second.name}"; the tail is its end: trim it there',
            first.name,
            second.name,
        )
    entered = [p for p in carrying if dot(p.normal, into) < -_ENDWAYS]
    if not entered:
        raise fail(
            meeting.place,
            "joint",
            f'the dovetail lap: the end of "{first.name}" must enter "{second.name}" from the side',
            first.name,
            second.name,
        )
    return min(entered, key=lambda p: round(dot(p.normal, into), 9))


def _tail_sides(meeting: Meeting, shoulder: Plane, loses: Plane, slope: float) -> list[Plane]:
    """The tail's sloping sides in the first's frame, outward."""
    first = meeting.first
    into = _into(meeting)
    own = [p.squared() for p in first.body.planes()]
    lap = _lapped_wood(first, meeting.second, loses)
    depth = max((1, 2), key=lambda axis: round(abs(loses.normal[axis]), 6))
    across = 3 - depth
    sides = []
    for index in lap.indices if lap is not None else ():
        if index >= len(own) or abs(own[index].normal[across]) < 0.7 or lap is None:
            continue
        normal = own[index].normal
        along = unit(sub(into, scale(normal, dot(into, normal))))
        leaning = unit(sub(scale(normal, math.cos(slope)), scale(along, math.sin(slope))))
        pivot = max(lap.face(index), key=lambda v: round(dot(v, along), 6))
        sides.append(Plane(leaning, dot(leaning, pivot)))
    if not sides:
        raise fail(
            meeting.place,
            "joint",
            f'the dovetail lap: no side of "{first.name}" lies within "{meeting.second.name}" to slope',
            first.name,
            meeting.second.name,
        )
    return sides


def _lapped_wood(first: Placed, second: Placed, loses: Plane) -> ConvexRegion | None:
    """What the first keeps within the second, in the first's frame."""
    planes = [p.squared() for p in first.body.planes()] + second.planes_in(first.frame)
    return convex_region([*planes, loses], BOUND_MM)


def _bounded(first: Placed, sides: list[Plane]) -> Placed:
    """The first as it is within the second: with its tail's sides for its own."""
    place = first.body.place
    shapings = tuple(Shaping("trim", "edge", side, place) for side in sides)
    return Placed(replace(first.body, shapings=(*first.body.shapings, *shapings)), first.standing)


def _necks(tail: Placed, first: Placed, second: Placed, shoulder: Plane, loses: Plane) -> tuple[float, float]:
    """Width of the tail and of its whole member at the shoulder, across the member."""
    across = 3 - max((1, 2), key=lambda axis: round(abs(loses.normal[axis]), 6))
    found = []
    for member in (tail, first):
        kept = [p.squared() for p in member.body.planes()] + [loses]
        region = convex_region([*kept, shoulder], BOUND_MM)
        face = () if region is None else region.face(len(kept))
        at = [v[across] for v in face]
        found.append(max(at) - min(at) if at else 0.0)
    return found[0], max(found[1], 1e-9)
