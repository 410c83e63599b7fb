"""Half lap, at a corner, a tee or a crossing: each member gives up half where the two share wood.

The floor is one plane that a saw can make. It is parallel to the face of the member named second unless
``floor`` says otherwise, at half of the wood at the middle of the shared region; ``depth`` is the depth of the
cut in the second member instead. The walls are the other member's placed sides.
"""

from __future__ import annotations

import math

from plangen.design import design as d
from plangen.findings import Finding, fail, note
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Vec, add, cross, dot, length, neg, scale, unit
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting, Placed, walls_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM

_OPEN_SIDE = 0.5
"""A plane of the other member that looks this much along the cut's depth is no wall: the cut runs out there."""
LEAST_PROUD = 0.05
"""Millimetres: less than this is flush to the hand."""
LEAST_SQUARER = math.radians(0.5)
"""A floor that brings the walls no nearer to square than this is not worth a remark."""
UP: Vec = (0.0, 0.0, 1.0)
TOWARD_VIEWER: Vec = (0.0, -1.0, 0.0)


def cuts(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> tuple[Cut, ...]:
    return _cuts_on(meeting, spec, sizing, floor_normal(meeting, spec.floor))


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """The cuts, and what the maker should know: wood that stands proud of the lap, a floor easier to saw."""
    made = cuts(meeting, spec, sizing)
    pairs = ((meeting.first, meeting.second), (meeting.second, meeting.first))
    found = [_proud(meeting, sizing, cut, a, b) for cut, (a, b) in zip(made, pairs, strict=True)]
    if spec.floor is None:
        found.append(_squarer(meeting, spec, sizing, made))
    return Made(made, findings=tuple(f for f in found if f is not None))


def _proud(meeting: Meeting, sizing: Sizing, cut: Cut, target: Placed, other: Placed) -> Finding | None:
    """The cut runs out through the side that the other member leaves open; what stands beyond it is told."""
    (cutter,) = cut.cutters
    taken = [f.flipped() for f in cutter if isinstance(f, Plane)]
    region = convex_region([p.squared() for p in target.body.planes()] + taken, BOUND_MM)
    if region is None:
        return None
    opened = [p for p in other.planes_in(target.frame) if not _is_wall(p, taken[0].flipped().normal)]
    beyond = max((p.distance(v) for p in opened for v in region.vertices), default=0.0)
    if beyond <= LEAST_PROUD:
        return None
    text = (
        f'half lap: "{target.name}" stands up to {sizing.said(beyond)} proud of "{other.name}"; '
        "its trench is cut right through that wood"
    )
    return note(meeting.place, "proud", text, target.name, other.name)


def _squarer(meeting: Meeting, spec: d.Joint, sizing: Sizing, made: tuple[Cut, ...]) -> Finding | None:
    """The default floor, where a floor along the first's face would leave the walls nearer to square."""
    ours = _worst_wall(made)
    theirs = _worst_wall(_cuts_on(meeting, spec, sizing, floor_normal(meeting, "first")))
    if theirs > ours - LEAST_SQUARER:
        return None
    text = (
        f'half lap: with "floor: first" the walls would lean {math.degrees(theirs):.1f} degrees from square '
        f"to the floor instead of {math.degrees(ours):.1f}"
    )
    return note(meeting.place, "floor", text, meeting.first.name, meeting.second.name)


def _worst_wall(made: tuple[Cut, ...]) -> float:
    """Radians by which the walls lean from square to their floor, the most of any."""
    leans = [0.0]
    for cut in made:
        floor, *walls = [f for f in cut.cutters[0] if isinstance(f, Plane)]
        leans += [abs(math.asin(max(-1.0, min(1.0, dot(floor.normal, w.normal))))) for w in walls]
    return max(leans)


def _cuts_on(meeting: Meeting, spec: d.Joint, sizing: Sizing, normal: Vec) -> tuple[Cut, ...]:
    shared = meeting.shared()
    assert shared is not None
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
                f"the half lap's depth must lie between 0 and {sizing.said(high - low)}, the wood they share",
                meeting.first.name,
                meeting.second.name,
            )
        level = high - depth if first_over else low + depth
    floor = Plane(normal, level)
    # The member that stays over keeps what lies above the floor and loses what lies below it.
    below, above = floor.flipped(), floor
    first_loses, second_loses = (below, above) if first_over else (above, below)
    return (
        _cut(meeting, meeting.first, meeting.second, first_loses),
        _cut(meeting, meeting.second, meeting.first, second_loses),
    )


def floor_normal(meeting: Meeting, floor: str | None) -> Vec:
    """World direction square to the floor, toward the side that counts as over: up, else the viewer's."""
    if floor == "level":
        return UP
    first, second = _crossing_axis(meeting, meeting.first), _crossing_axis(meeting, meeting.second)
    if dot(first, second) < 0:
        first = neg(first)
    normal = {"first": first, "between": unit(add(first, second))}.get(floor or "second", second)
    return _outward(normal)


def _outward(normal: Vec) -> Vec:
    if abs(normal[2]) > 0.35:
        return normal if normal[2] > 0 else neg(normal)
    if abs(normal[1]) > 1e-6:
        return normal if normal[1] < 0 else neg(normal)
    return normal if normal[0] > 0 else neg(normal)


def _crossing_axis(meeting: Meeting, member: Placed) -> Vec:
    """The member's width or thickness direction, whichever is squarer to both lengths."""
    square = cross(meeting.first.frame.l, meeting.second.frame.l)
    if length(square) < 1e-6:
        raise fail(
            meeting.place,
            "joint",
            f'the half lap: "{meeting.first.name}" and "{meeting.second.name}" run the same way; they cannot lap',
            meeting.first.name,
            meeting.second.name,
        )
    square = unit(square)
    w, t = member.frame.w, member.frame.t
    return t if abs(dot(t, square)) >= abs(dot(w, square)) - 1e-6 else w


def _chord(meeting: Meeting, normal: Vec) -> tuple[Vec, Vec]:
    """Where the line through the shared region's middle, along ``normal``, enters and leaves the region."""
    shared = meeting.shared()
    assert shared is not None
    low, high = float("-inf"), float("inf")
    for plane in shared.planes:
        slope = dot(plane.normal, normal)
        room = -plane.distance(shared.centroid)
        if slope > 1e-9:
            high = min(high, room / slope)
        elif slope < -1e-9:
            low = max(low, room / slope)
    c = shared.centroid
    return add(c, scale(normal, low)), add(c, scale(normal, high))


def _first_is_over(meeting: Meeting, spec: d.Joint, normal: Vec) -> bool:
    if spec.over is not None:
        return spec.over == "first"
    shared = meeting.shared()
    assert shared is not None
    stands = [_height_at(member, normal, shared.centroid) for member in (meeting.first, meeting.second)]
    return stands[0] > stands[1] - 1e-3


def _height_at(member: Placed, normal: Vec, through: Vec) -> float:
    """Middle of the member's wood along ``normal`` at the crossing."""
    low, high = float("-inf"), float("inf")
    for plane in member.body.planes():
        world = plane.placed(member.frame)
        slope = dot(world.normal, normal)
        if abs(slope) > 0.2:
            at = -world.distance(through) / slope
            low, high = (low, min(high, at)) if slope > 0 else (max(low, at), high)
    return (low + high) / 2


def _cut(meeting: Meeting, target: Placed, other: Placed, loses: Plane) -> Cut:
    """What ``target`` loses: the other's walls, and the floor; open on the side away from the floor."""
    local = loses.local_to(target.frame).squared()
    half = local.flipped()
    walls = walls_inside(target, other, [half], lambda form: _is_wall(form, local.normal))
    cutter: list[Form] = [meeting.room_for(w) for w in walls]
    return meeting.cut(target, "half lap", [[local, *cutter]])


def _is_wall(form: Form, depth: Vec) -> bool:
    """Whether a surface of the other member bounds the trench sideways; the cut runs out through any other.

    A round member lies in a trench with square walls: its curve is none.
    """
    if isinstance(form, Plane):
        return dot(form.normal, depth) < _OPEN_SIDE
    axis = form.axis if isinstance(form, Cylinder | Extruded) else depth
    return abs(dot(axis, depth)) > 1 - _OPEN_SIDE
