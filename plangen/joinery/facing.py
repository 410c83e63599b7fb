"""Two members that stand face to face: the plane they meet in, the area they share there, and the wood behind it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.findings import DesignError, fail
from plangen.geometry.curves import Vec2
from plangen.geometry.flat import Area
from plangen.geometry.region import convex_region
from plangen.geometry.spans import spans_left
from plangen.geometry.surfaces import Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit
from plangen.joinery.meeting import TOUCH_MM, Meeting, Placed
from plangen.placing.body import BOUND_MM

OPPOSED = 1e-6
"""Two faces whose normals add up to less than this lie flat on each other."""
_ROUND = 64
_FAR = 1e5


@dataclass(frozen=True)
class Facing:
    """The contact of a butted meeting, world coordinates."""

    meeting: Meeting
    plane: Plane
    """Out of the first, into the second."""
    u: Vec
    v: Vec
    """Unit, in the plane: along the first's length where that lies in it, and square to it."""
    area: Area
    """In u and v from ``plane.point``."""

    def lift(self, at: Vec2) -> Point:
        return along(along(self.plane.point, self.u, at[0]), self.v, at[1])

    def flat(self, p: Point) -> Vec2:
        d = sub(p, self.plane.point)
        return (dot(d, self.u), dot(d, self.v))

    def way(self, flat: Vec2) -> Vec:
        return unit(add(scale(self.u, flat[0]), scale(self.v, flat[1])))

    def chord(self, through: Point, way: Vec) -> tuple[Point, Point] | None:
        """The part of a straight line in the plane that lies in the shared area."""
        ends = self.area.chord(self.flat(along(through, way, -_FAR)), self.flat(along(through, way, _FAR)))
        return None if ends is None else (self.lift(ends[0]), self.lift(ends[1]))

    def into(self, target: Placed) -> Vec:
        """From the contact into a member."""
        return neg(self.plane.normal) if target is self.meeting.first else self.plane.normal

    def wood_behind(self, target: Placed, at: Sequence[Point]) -> float:
        """How deep the member is behind the least deep of some points of the contact, square to it."""
        frame, into = target.frame, target.frame.local_direction(self.into(target))
        cutters = [s.cutter for s in target.body.shapings]
        found = []
        for p in at:
            start = along(frame.local_point(p), into, 2 * TOUCH_MM)
            spans = spans_left(target.body.box.planes().values(), cutters, start, into)
            found.append(max((high for low, high in spans if low <= 0), default=0.0))
        return min(found)

    def wood_beside(self, target: Placed, points: Sequence[Point], radius: float = 0.0) -> float:
        """Least wood between some points of a cut behind the contact, discs of ``radius`` round the way in, and the
        member's surfaces; negative where the cut breaks out. Free curves are left out."""
        frame = target.frame
        own = self.plane.local_to(frame)
        axis = own.normal
        left = [math.inf]
        for _, form in target.body.surfaces():
            if isinstance(form, Plane) and (_lie_together(form, own) or _lie_together(form, own.flipped())):
                continue
            for p in points:
                slope = dot(form.normal, axis) if isinstance(form, Plane) else 0.0
                reach = radius * math.sqrt(max(0.0, 1 - slope * slope))
                if isinstance(form, Plane | Cylinder):
                    left.append(-form.distance(frame.local_point(p)) - reach)
        return min(left)


def facing(meeting: Meeting, kind: str) -> Facing:
    """The widest flat contact of the two. Raises DesignError where they do not lie flat on each other."""
    best: Facing | None = None
    for ours, corners in _faces(meeting.first):
        for theirs, others in _faces(meeting.second):
            if not _lie_together(ours, theirs.flipped()):
                continue
            found = _shared(meeting, ours, corners, others)
            if found is not None and (best is None or found.area.size > best.area.size + 1e-6):
                best = found
    if best is None:
        raise _fails(
            meeting, f'{kind}: "{meeting.first.name}" and "{meeting.second.name}" do not lie face to face'
        )
    return best


def _shared(
    meeting: Meeting, plane: Plane, corners: Sequence[Point], others: Sequence[Point]
) -> Facing | None:
    u, v = _axes(plane.normal, meeting.first)
    whole = Area(((-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)), 1.0)
    frame = Facing(meeting, plane, u, v, whole)
    areas = [Area.around([frame.flat(p) for p in polygon]) for polygon in (corners, others)]
    if areas[0] is None or areas[1] is None or (both := areas[0].shared_with(areas[1])) is None:
        return None
    return Facing(meeting, plane, u, v, both)


def _axes(normal: Vec, first: Placed) -> tuple[Vec, Vec]:
    preferred = first.frame.l if abs(dot(first.frame.l, normal)) < 0.9 else first.frame.w
    u = unit(sub(preferred, scale(normal, dot(preferred, normal))))
    return u, cross(normal, u)


def _faces(placed: Placed) -> list[tuple[Plane, list[Point]]]:
    """World plane and corners of every flat face of a body; of a round one's end, points of its rim."""
    body, frame = placed.body, placed.frame
    planes = list(body.planes())
    region = convex_region(planes, BOUND_MM)
    if region is None:
        return []
    rounds = [s.form for s in body.shapings if isinstance(s.form, Cylinder) and s.form.side == "post"]
    bound = rounds if body.is_round else []
    found = []
    for index, polygon in region.faces:
        plane = planes[index]
        if any(abs(dot(plane.normal, r.axis)) < 1e-9 for r in bound):
            continue  # a side of the box that a round piece does not have
        points = [p for r in bound for p in _rim(r, plane)] or list(polygon)
        found.append((plane.placed(frame), [frame.point(p) for p in points]))
    return found


def _rim(form: Cylinder, plane: Plane) -> list[Point]:
    aside = (0.0, 1.0, 0.0) if abs(form.axis[1]) < 0.9 else (0.0, 0.0, 1.0)
    e1 = unit(cross(form.axis, aside))
    e2 = cross(form.axis, e1)
    points = []
    for i in range(_ROUND):
        a = 2 * math.pi * i / _ROUND
        p = along(along(form.point, e1, form.radius * math.cos(a)), e2, form.radius * math.sin(a))
        points.append(along(p, form.axis, -plane.distance(p) / dot(plane.normal, form.axis)))
    return points


def _lie_together(a: Plane, b: Plane) -> bool:
    """Two planes that face the same way and are one."""
    return length(sub(a.normal, b.normal)) < OPPOSED and abs(a.distance(b.point)) < TOUCH_MM


def _fails(meeting: Meeting, text: str) -> DesignError:
    return fail(meeting.place, "joint", text, meeting.first.name, meeting.second.name)
