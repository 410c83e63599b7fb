"""What all laps share: the floor that divides two crossing members, the walls of each trench, what stands proud.

A lap's floor is one plane that a saw can make. Each member gives up what lies on the other's side of it, between
the other's placed sides. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Finding, fail, note
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, cross, dot, length, neg, scale, unit
from plangen.joinery.advice import outside
from plangen.joinery.meeting import LEAST_AREA, Cut, Meeting, Placed, walls_inside
from plangen.joinery.model import FeatureKind
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import LAP_DEPTH

_LAPPING = 0.7
"""A plane that looks this much along the width or thickness that its member laps with is no wall."""
_THROUGH = 0.5
"""A curve that runs this much along the cut's depth is a wall."""
LEAST_PROUD = 0.05
"""Millimetres: less than this is flush to the hand."""


@dataclass(frozen=True)
class Division:
    """A lap's floor in the world, its normal toward the member that stays over."""

    floor: Plane
    first_over: bool

    @property
    def first_loses(self) -> Plane:
        """Its outer side is the first's to lose: below the floor where the first stays over."""
        return self.floor.flipped() if self.first_over else self.floor

    @property
    def second_loses(self) -> Plane:
        return self.first_loses.flipped()


def ratio(slope: float) -> str:
    """An angle (radians) as makers say a slope: ``1 in 7``."""
    return f"1 in {1 / math.tan(slope):.3g}"


def crossing_axis(meeting: Meeting, member: Placed, kind: str) -> int:
    """The member's width (1) or thickness (2), whichever is squarer to both lengths."""
    square = cross(meeting.first.frame.l, meeting.second.frame.l)
    if length(square) < 1e-6:
        raise fail(
            meeting.place,
            "joint",
            f'the {kind}: "{meeting.first.name}" and "{meeting.second.name}" run the same way; they cannot lap',
            meeting.first.name,
            meeting.second.name,
        )
    square = unit(square)
    w, t = member.frame.w, member.frame.t
    return 2 if abs(dot(t, square)) >= abs(dot(w, square)) - 1e-6 else 1


def outward(normal: Vec) -> Vec:
    """The normal toward the side that counts as over: up, else the viewer's, else the right."""
    if abs(normal[2]) > 0.35:
        return normal if normal[2] > 0 else neg(normal)
    if abs(normal[1]) > 1e-6:
        return normal if normal[1] < 0 else neg(normal)
    return normal if normal[0] > 0 else neg(normal)


def divide(meeting: Meeting, spec: d.Joint, sizing: Sizing, normal: Vec, kind: str) -> Division:
    """The floor square to ``normal``: at half of the wood in the middle of what they share, or by ``depth``."""
    reach = [dot(normal, v) for v in _chord(meeting, normal)]
    low, high = min(reach), max(reach)
    depth = sizing.length(spec.depth)
    first_over = _first_is_over(meeting, spec, normal)
    level = (low + high) / 2
    if depth is not None:
        if not 0 < depth < high - low:
            raise fail(
                meeting.place,
                "joint",
                f"the {kind}'s depth must lie between 0 and {sizing.said(high - low)}, the wood they share",
                meeting.first.name,
                meeting.second.name,
            )
        level = high - depth if first_over else low + depth
    return Division(Plane(normal, level), first_over)


def depth_advice(
    meeting: Meeting, spec: d.Joint, sizing: Sizing, division: Division, kind: str
) -> list[Finding]:
    """A warning where a stated depth leaves one of the two too weak."""
    depth = sizing.length(spec.depth)
    if depth is None:
        return []
    reach = [dot(division.floor.normal, v) for v in _chord(meeting, division.floor.normal)]
    what = f'{kind}: the cut in "{meeting.second.name}"'
    share = depth / (max(reach) - min(reach))
    return list(outside(LAP_DEPTH, share, what, meeting.place, meeting.second.name))


def _chord(meeting: Meeting, normal: Vec) -> tuple[Vec, Vec]:
    """Where the line through the shared region's middle, along ``normal``, enters and leaves the region."""
    shared = meeting.shared()
    assert shared is not None
    low, high = _span(list(shared.planes), normal, shared.centroid, 1e-9)
    c = shared.centroid
    return add(c, scale(normal, low)), add(c, scale(normal, high))


def _span(planes: list[Plane], normal: Vec, through: Point, least: float) -> tuple[float, float]:
    """How far the line through a point runs back and on within planes that face it by more than ``least``."""
    low, high = float("-inf"), float("inf")
    for plane in planes:
        slope = dot(plane.normal, normal)
        if abs(slope) > least:
            at = -plane.distance(through) / slope
            low, high = (low, min(high, at)) if slope > 0 else (max(low, at), high)
    return low, high


def wood_along(member: Placed, normal: Vec, through: Point) -> tuple[float, float]:
    """Where the member's wood begins and ends along ``normal`` at a point, as distances from it."""
    return _span([p.placed(member.frame) for p in member.body.planes()], normal, through, 0.2)


def _first_is_over(meeting: Meeting, spec: d.Joint, normal: Vec) -> bool:
    if spec.over is not None:
        return spec.over == "first"
    shared = meeting.shared()
    assert shared is not None
    first, second = (sum(wood_along(m, normal, shared.centroid)) / 2 for m in (meeting.first, meeting.second))
    return first > second - 1e-3


def lapped(meeting: Meeting, target: Placed, other: Placed, loses: Plane, kind: FeatureKind) -> Cut:
    """What ``target`` loses: the other's walls, and the floor; open on the side away from the floor."""
    return meeting.cut(target, kind, [lap_cutter(meeting, target, other, loses)])


def lap_cutter(meeting: Meeting, target: Placed, other: Placed, loses: Plane) -> list[Form]:
    local = loses.local_to(target.frame).squared()
    return [local, *(meeting.room_for(w) for w in _walls(meeting, target, other, local))]


def _walls(meeting: Meeting, target: Placed, other: Placed, floor: Plane) -> list[Form]:
    """The surfaces of the other that bound the trench sideways, right out through its open side, target's frame.

    Where the target stands proud there, a wall may bound only that wood and none of what the two share.
    """
    half = floor.flipped()
    is_wall = _wall_test(meeting, target, other, floor.normal)
    if not other.body.is_flat:
        return walls_inside(target, other, [half], is_wall)
    own = [p.squared() for p in target.body.planes()] + [half]
    theirs = [p for p in other.planes_in(target.frame) if is_wall(p)]
    region = convex_region(own + theirs, BOUND_MM)
    if region is None:
        return []
    return [theirs[i - len(own)] for i in region.indices if i >= len(own) and region.area(i) > LEAST_AREA]


def _wall_test(meeting: Meeting, target: Placed, other: Placed, depth: Vec) -> Callable[[Form], bool]:
    """Whether a surface of the other member bounds the trench sideways; the cut runs out through any other.

    It runs out through the face or edge that the other laps with. A round member lies in a trench with square walls:
    its curve is none.
    """
    lapping = other.frame.axes[crossing_axis(meeting, other, "lap")]
    across = target.frame.local_direction(lapping)

    def is_wall(form: Form) -> bool:
        if isinstance(form, Plane):
            return abs(dot(form.normal, across)) < _LAPPING or dot(form.normal, depth) < 0
        axis = form.axis if isinstance(form, Cylinder | Extruded) else depth
        return abs(dot(axis, depth)) > _THROUGH

    return is_wall


def proud(meeting: Meeting, sizing: Sizing, cut: Cut, kind: str) -> list[Finding]:
    """The cut runs out through the side that the other member leaves open; what stands beyond it is told."""
    target, other = meeting.first, meeting.second
    if cut.target != target.name:
        target, other = other, target
    taken = [f.flipped() for f in cut.cutters[0] if isinstance(f, Plane)]
    region = convex_region([p.squared() for p in target.body.planes()] + taken, BOUND_MM)
    if region is None:
        return []
    is_wall = _wall_test(meeting, target, other, taken[0].flipped().normal)
    opened = [p for p in other.planes_in(target.frame) if not is_wall(p)]
    beyond = max((p.distance(v) for p in opened for v in region.vertices), default=0.0)
    if beyond <= LEAST_PROUD:
        return []
    text = (
        f'{kind}: "{target.name}" stands up to {sizing.said(beyond)} proud of "{other.name}"; '
        "its trench is cut right through that wood"
    )
    return [note(meeting.place, "proud", text, target.name, other.name)]
