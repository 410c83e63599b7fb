"""Stopped housing: a housing that ends short of one side of the second, so that the side shows no joint.

The first is notched there by as much as it is let in, and its edge covers the end of the trench.
"""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import DesignError, fail, note
from plangen.geometry.frames import WORLD
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import dot
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_VOLUME, Cut, Meeting, mating, planes_inside, walls_inside
from plangen.joinery.sinking import depth_advice
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import HOUSING_DEPTH, STOPPED_SHORT

_ACROSS = 0.7
"""Cosine from which the side lies across the way the first goes in, so that no trench runs toward it."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Trench and notch. Raises DesignError where the side named lies across the trench, or no trench is left."""
    side = _side(meeting, spec, sizing)
    short = sizing.or_rule(spec.short, STOPPED_SHORT.usual)
    stop = side.shifted(-short)
    cuts = [_trench(meeting, sizing, stop)]
    findings = list(depth_advice(meeting, "stopped housing", HOUSING_DEPTH))
    if _reaches(meeting, stop):
        cuts.append(_notch(meeting, stop))
    else:
        text = (
            f'stopped housing: "{meeting.first.name}" ends {sizing.said(short)} or more short of that side of '
            f'"{meeting.second.name}", so it needs no notch'
        )
        findings.append(note(meeting.place, "stopped housing", text, meeting.first.name, meeting.second.name))
    return Made(tuple(cuts), findings=tuple(findings))


def _side(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Plane:
    """World plane of the side that the trench does not reach, the front one unless it is said."""
    word = "front" if spec.short_of is None else str(spec.short_of)
    _, plane = sizing.scope.surface_of(meeting.second.name, word, meeting.place)
    if abs(dot(plane.normal, meeting.entering())) > _ACROSS:
        text = (
            f'no trench for "{meeting.first.name}" runs toward the {word} of "{meeting.second.name}"; '
            "name another side (short of)"
        )
        raise _fails(meeting, text)
    return plane


def _trench(meeting: Meeting, sizing: Sizing, stop: Plane) -> Cut:
    own = stop.local_to(meeting.second.frame).squared()
    walls = walls_inside(meeting.second, meeting.first, [own])
    if not walls:
        raise _fails(meeting, f'so far short nothing is left of the trench in "{meeting.second.name}"')
    cutter: list[Form] = [meeting.room_for(w) for w in walls]
    if _reaches(meeting, stop):
        cutter.append(mating(own, meeting.clearance))
    return meeting.cut(meeting.second, "housing", meeting.receiving(cutter))


def _reaches(meeting: Meeting, stop: Plane) -> bool:
    """Whether some of the first that is let in lies beyond the stop."""
    planes = meeting.first.planes_in(WORLD) + meeting.second.planes_in(WORLD)
    region = convex_region([*planes, stop.flipped()], BOUND_MM)
    return region is not None and region.volume > LEAST_VOLUME


def _notch(meeting: Meeting, stop: Plane) -> Cut:
    own = stop.local_to(meeting.first.frame).squared()
    let_in = [mating(p) for p in planes_inside(meeting.first, meeting.second, [own.flipped()])]
    return meeting.cut(meeting.first, "notch", [[own, *let_in]])


def _fails(meeting: Meeting, text: str) -> DesignError:
    return fail(
        meeting.place, "joint", f"the stopped housing: {text}", meeting.first.name, meeting.second.name
    )
