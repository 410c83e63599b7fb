"""Names to geometry: planes, lines, points, directions and sizes of a design, worked out on demand.

Members are placed in the order in which they are asked for; a member that is asked for while it is being
placed closes a circle, which is an error.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from plangen.design import design as d
from plangen.design.records import Direction, Expression, Text
from plangen.findings import Place, did_you_mean, fail
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import (
    Point,
    Vec,
    add,
    along,
    angle_between,
    cross,
    dot,
    length,
    neg,
    scale,
    sub,
    unit,
)
from plangen.placing.body import Body, Standing
from plangen.units import Quantity

WORDS: dict[str, Vec] = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "rear": (0.0, 1.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_LOOKS: dict[str, Vec] = {**WORDS, "top": WORDS["up"], "bottom": WORDS["down"]}
SIGHT: dict[str, Vec] = {
    "front": WORDS["rear"],
    "rear": WORDS["front"],
    "left": WORDS["right"],
    "right": WORDS["left"],
    "above": WORDS["down"],
}
"""The direction in which the viewer of a view looks."""
_ENDS = {"upper end": "up", "lower end": "down", "left end": "left", "right end": "right"} | {
    "front end": "front",
    "rear end": "rear",
}
_OWN = {"end A": "A", "end B": "B", "edge": "edge", "back edge": "back edge", "face": "face", "back": "back"}
_LOCAL: dict[str, Vec] = {
    "A": (-1.0, 0.0, 0.0),
    "B": (1.0, 0.0, 0.0),
    "edge": (0.0, -1.0, 0.0),
    "back edge": (0.0, 1.0, 0.0),
    "back": (0.0, 0.0, -1.0),
    "face": (0.0, 0.0, 1.0),
}
BUILT_IN: dict[str, Plane] = {
    "floor": Plane((0.0, 0.0, 1.0), 0.0),
    "centre plane": Plane((1.0, 0.0, 0.0), 0.0),
    "depth plane": Plane((0.0, 1.0, 0.0), 0.0),
}


@dataclass(frozen=True)
class Ray:
    """A line with a start and a way along it."""

    start: Point
    way: Vec

    def at(self, distance: float) -> Point:
        return along(self.start, self.way, distance)

    def meets(self, plane: Plane) -> Point | None:
        slope = dot(plane.normal, self.way)
        if abs(slope) < 1e-9:
            return None
        return self.at((plane.offset - dot(plane.normal, self.start)) / slope)


def meeting_line(a: Plane, b: Plane) -> Ray | None:
    """The line common to two planes, None where they are parallel."""
    way = cross(a.normal, b.normal)
    n2 = dot(way, way)
    if n2 < 1e-16:
        return None
    start = scale(add(scale(cross(b.normal, way), a.offset), scale(cross(way, a.normal), b.offset)), 1 / n2)
    return Ray(start, unit(way))


def local_normal(side: str) -> Vec:
    """The outward normal, in the member's frame, of the blank's face ``side``."""
    return _LOCAL[side]


def side_facing(axes: tuple[Vec, Vec, Vec], side: str, middle: Point, place: Place) -> str:
    """The blank's face that a side word means, for a piece with these world axes.

    A piece's own words (``edge``, ``end A``) mean themselves; ``left`` ... ``top`` and the end words mean the
    face that looks most that way; ``inner`` and ``outer`` the face or back that looks toward or away from
    the plumb line through the middle of the work.
    """
    if side in _OWN:
        return _OWN[side]
    candidates = list(_LOCAL)
    if side in _ENDS:
        want, candidates = WORDS[_ENDS[side]], ["A", "B"]
    elif side in ("inner", "outer"):
        inward = (-middle[0], -middle[1], 0.0)
        if length(inward) < 1e-3:
            raise fail(place, "side", f'"{side}": the piece stands in the middle of the work; name the side')
        want, candidates = unit(inward if side == "inner" else neg(inward)), ["face", "back"]
    else:
        want = _LOOKS[side]

    def toward(name: str) -> float:
        n = _LOCAL[name]
        return sum(n[i] * dot(axes[i], want) for i in range(3))

    ranked = sorted(candidates, key=lambda name: (-round(toward(name), 6), name))
    best, second = toward(ranked[0]), toward(ranked[1])
    least = 0.1 if len(candidates) == 2 else 0.5
    if best < least or best - second < 1e-3:
        raise fail(
            place,
            "side",
            f'"{side}": no one surface of this piece looks that way; use face, back, edge, back edge, end A or end B',
        )
    return ranked[0]


class Scope:
    """Everything a design can name, resolved once each."""

    def __init__(
        self, design: d.Design, values: dict[str, Quantity], place_member: Callable[[Scope, str], Body]
    ) -> None:
        self.design = design
        self.values = values
        self._place_member = place_member
        self._bodies: dict[str, Body] = {}
        self._asked: list[str] = []
        self._standing_names: dict[str, tuple[str, str]] = {}
        self._planes: dict[str, Plane] = {}

    # --- sizes ---

    def length(self, expression: Expression) -> float:
        """Millimetres. A bare number is in the design's unit."""
        q = self.quantity(expression)
        if q.kind == "number":
            factor = Fraction(127, 5) if self.design.units == "in" else Fraction(1)
            return float(q.value * factor)
        if q.kind != "length":
            raise fail(expression.place, "kind", f'"{expression.text}" is an angle; a length is expected')
        return float(q.value)

    def angle(self, expression: Expression) -> float:
        """Radians."""
        q = self.quantity(expression)
        if q.kind != "angle":
            raise fail(
                expression.place, "kind", f'"{expression.text}" is no angle; write it as 12 deg or 1 in 8'
            )
        return math.radians(float(q.value))

    def count(self, expression: Expression) -> int:
        q = self.quantity(expression)
        if q.kind != "number" or q.value.denominator != 1 or q.value < 1:
            raise fail(expression.place, "kind", f'"{expression.text}": a whole number from 1 is expected')
        return int(q.value)

    def quantity(self, expression: Expression) -> Quantity:
        return expression.evaluate(self._lookup)

    def _lookup(self, name: str, place: Place) -> Quantity:
        if name in self.values:
            return self.values[name]
        owner, _, attribute = name.rpartition(".")
        if owner:
            body = self.body_of(owner, place)[0]
            index = {"length": 0, "width": 1, "thickness": 2, "diameter": 2}.get(attribute)
            if index is not None:
                return Quantity(Fraction(body.size[index]), "length")
        raise fail(place, "name", f'unknown name "{name}"{did_you_mean(name, self.values)}')

    # --- members ---

    def body(self, name: str, place: Place) -> Body:
        if name not in self._bodies:
            if name in self._asked:
                circle = " -> ".join([*self._asked[self._asked.index(name) :], name])
                raise fail(place, "circle", f"members are placed by one another in a circle: {circle}")
            self._asked.append(name)
            try:
                self._bodies[name] = self._place_member(self, name)
            finally:
                self._asked.pop()
            for standing in self._bodies[name].standings:
                for word in (standing.name, *standing.aliases):
                    self._standing_names[word] = (name, standing.name)
        return self._bodies[name]

    def body_of(self, name: str, place: Place) -> tuple[Body, Standing]:
        """The body and standing that a member's or an instance's name means (the drawn one for a member's)."""
        owner = self.owner(name, place)
        body = self.body(owner, place)
        if name == owner:
            return body, body.standings[0]
        try:
            return body, body.standing(name)
        except KeyError:
            words = [w for s in body.standings for w in (s.name, *s.aliases)]
            raise fail(place, "name", f'no "{name}"{did_you_mean(name, words)}') from None

    def owner(self, name: str, place: Place) -> str:
        """The member's name that begins an instance's name."""
        known = [*self.design.members, *self.design.bought]
        fitting = [k for k in known if name == k or name.startswith(k + " ")]
        if not fitting:
            raise fail(place, "name", f'unknown member "{name}"{did_you_mean(name, known)}')
        return str(max(fitting, key=len))

    # --- planes ---

    def plane(self, spec: d.PlaneSpec, place: Place | None = None) -> Plane:
        """A world plane; its normal is the way it faces."""
        if isinstance(spec, Text):
            return self._named_plane(spec)
        if isinstance(spec, d.ShiftedPlane):
            return self.plane(spec.shift).shifted(self.length(spec.by))
        if isinstance(spec, d.LevelPlane):
            up = Plane((0.0, 0.0, 1.0), self.length(spec.level_at))
            return self._facing(up, spec.facing)
        if isinstance(spec, d.PlaneThroughPoints):
            a, b, c = (self.point(p) for p in spec.through_points)
            normal = cross(sub(b, a), sub(c, a))
            if length(normal) < 1e-6:
                raise fail(spec.place, "plane", "the three points lie in one line: no plane")
            return self._facing(_through(a, unit(normal)), spec.facing)
        if isinstance(spec, d.PlaneThroughLine):
            return self._plane_through_line(spec)
        if isinstance(spec, d.PlaneThroughPoint):
            return self._plane_through_point(spec)
        return self._halfway_plane(spec)

    def _named_plane(self, name: Text) -> Plane:
        if str(name) == "floor" and self.design.floor_touches:
            return Plane((0.0, 0.0, 1.0), self._touched_floor(name.place))
        if str(name) in BUILT_IN:
            return BUILT_IN[str(name)]
        if str(name) in self._planes:
            return self._planes[str(name)]
        for key, spec in self.design.planes.items():
            if key == name:
                if f"plane {key}" in self._asked:
                    raise fail(name.place, "circle", f'the plane "{key}" is placed by itself')
                self._asked.append(f"plane {key}")
                try:
                    self._planes[str(name)] = self.plane(spec)
                finally:
                    self._asked.pop()
                return self._planes[str(name)]
        owner, dot_, side = name.rpartition(".")
        if dot_:
            return self.surface_of(owner, side, name.place)[1]
        known = [*BUILT_IN, *self.design.planes]
        raise fail(name.place, "name", f'unknown plane "{name}"{did_you_mean(name, known)}')

    def _touched_floor(self, place: Place) -> float:
        lowest = []
        for name in self.design.floor_touches:
            body = self.body(name, place)
            lowest += [s.frame.point(p)[2] for s in body.standings for p in body.corners()]
        return min(lowest)

    def surface_of(self, owner: str, side: str, place: Place) -> tuple[str, Plane]:
        """Name in the body and world plane of a member's surface, as it is before joints are cut."""
        body, standing = self.body_of(owner, place)
        frame = standing.frame
        middle = frame.point(scale(body.size, 0.5))
        carrying = body.carrying()
        if side not in _OWN and side not in _ENDS and side not in ("inner", "outer"):
            if side not in _LOOKS:
                raise fail(place, "side", f'unknown surface "{side}"{did_you_mean(side, [*_OWN, *_LOOKS])}')
            want = _LOOKS[side]
            ranked = sorted(
                ((-round(dot(frame.direction(p.normal), want), 6), n) for n, p, _ in carrying),
            )
            if -ranked[0][0] < 0.5 or (len(ranked) > 1 and ranked[1][0] - ranked[0][0] < 1e-3):
                raise fail(
                    place,
                    "side",
                    f'"{owner}.{side}": no one surface looks that way; use face, back, edge, back edge or an end',
                )
            found = ranked[0][1]
        else:
            own = side_facing(frame.axes, side, middle, place)
            names = [n for n, _, _ in carrying]
            found = own if own in names else next((n for n in names if n.endswith(" " + own)), "")
            if not found:
                raise fail(place, "side", f'"{owner}.{side}": this surface is cut away or curved')
        plane = next(p for n, p, _ in carrying if n == found)
        return found, plane.placed(frame)

    def _facing(self, plane: Plane, facing: Direction | None) -> Plane:
        if facing is None:
            return plane
        way = dot(plane.normal, self.direction(facing))
        if abs(way) < 1e-6:
            raise fail(facing.place, "facing", f'the plane does not face "{facing.text}": it runs along it')
        return plane if way > 0 else plane.flipped()

    def _plane_through_line(self, spec: d.PlaneThroughLine) -> Plane:
        line = self.line(spec.through_line)
        if spec.lean is not None:
            return self._leaning_plane(spec, line, spec.lean)
        if spec.along is not None:
            other = self.direction(spec.along)
        elif spec.and_line is not None:
            second = self.line(spec.and_line)
            other = second.way
            if length(cross(other, line.way)) < 1e-9:
                other = sub(second.start, line.start)
            plane_normal = cross(line.way, other)
            if length(plane_normal) > 1e-9:
                gap = dot(unit(plane_normal), sub(second.start, line.start))
                if abs(gap) > 1e-6:
                    raise fail(
                        spec.place,
                        "plane",
                        f"the two lines pass {abs(gap):.3f} mm apart: no plane holds both",
                    )
        else:
            raise fail(spec.place, "plane", "a plane through a line needs lean, along or and line")
        normal = cross(line.way, other)
        if length(normal) < 1e-9:
            raise fail(spec.place, "plane", "the line and the direction are parallel: no one plane")
        return self._facing(_through(line.start, unit(normal)), spec.facing)

    def _leaning_plane(self, spec: d.PlaneThroughLine, line: Ray, lean: d.Lean) -> Plane:
        if abs(line.way[2]) > 1e-6:
            raise fail(spec.place, "lean", "a plane leans from a level line; this line slopes: use along")
        toward = self._level(lean.toward)
        tan = math.tan(self.angle(lean.by))
        across = unit(cross(line.way, (0.0, 0.0, 1.0)))
        if abs(dot(across, toward)) < 1e-6:
            raise fail(
                lean.place,
                "lean",
                f'the plane cannot lean toward "{lean.toward.text}": its level line runs that way',
            )
        if dot(across, toward) < 0:
            across = neg(across)
        if lean.seen_from is not None:
            sight = SIGHT[lean.seen_from]
            if abs(sight[2]) > 0.5:
                raise fail(
                    lean.place,
                    "lean",
                    "a lean from plumb does not show in the plan; seen from front, rear, left or right",
                )
            in_view = (
                toward
                if abs(dot(toward, sight)) < 1e-9
                else unit(sub(toward, scale(sight, dot(toward, sight))))
            )
            # In the elevation the plane's trace leans by the angle: (in_view * tan + up) lies in the plane.
            slope_line = add(scale(in_view, tan), (0.0, 0.0, 1.0))
        else:
            slope_line = add(scale(across, tan), (0.0, 0.0, 1.0))
        if lean.going == "down":
            slope_line = (-slope_line[0], -slope_line[1], slope_line[2])
        normal = unit(cross(line.way, slope_line))
        plane = _through(line.start, normal)
        if spec.facing is not None:
            return self._facing(plane, spec.facing)
        return plane if dot(plane.normal, toward) > 0 else plane.flipped()

    def _level(self, direction: Direction) -> Vec:
        v = self.direction(direction)
        flat = (v[0], v[1], 0.0)
        if length(flat) < 1e-9:
            raise fail(direction.place, "lean", "a lean goes toward a level direction, such as left or front")
        return unit(flat)

    def _plane_through_point(self, spec: d.PlaneThroughPoint) -> Plane:
        point = self.point(spec.through_point)
        if spec.parallel_to is not None:
            return _through(point, self.plane(spec.parallel_to).normal)
        if spec.square_to is None:
            raise fail(spec.place, "plane", "a plane through a point needs square to or parallel to")
        normal = self.direction(spec.square_to)
        if spec.turned is not None:
            toward = self.direction(spec.turned.toward)
            aside = sub(toward, scale(normal, dot(toward, normal)))
            if length(aside) < 1e-9:
                raise fail(spec.turned.place, "turn", "it cannot turn toward the way it already faces")
            angle = self.angle(spec.turned.by)
            normal = add(scale(normal, math.cos(angle)), scale(unit(aside), math.sin(angle)))
        return _through(point, unit(normal))

    def _halfway_plane(self, spec: d.HalfwayPlane) -> Plane:
        a, b = (self.plane(p) for p in spec.halfway_between)
        if dot(a.normal, b.normal) < 0:
            b = b.flipped()
        line = meeting_line(a, b)
        if line is None or length(cross(a.normal, b.normal)) < 1e-9:
            return self._facing(Plane(a.normal, (a.offset + b.offset) / 2), spec.facing)
        return self._facing(_through(line.start, unit(add(a.normal, b.normal))), spec.facing)

    # --- lines, points, directions ---

    def line(self, spec: d.LineSpec) -> Ray:
        if isinstance(spec, Text):
            for key, form in self.design.lines.items():
                if key == spec:
                    return self.line(form)
            owner, _, part = spec.rpartition(".")
            if part == "axis":
                body, standing = self.body_of(owner, spec.place)
                _, w, t = body.size
                return Ray(standing.frame.point((0.0, w / 2, t / 2)), standing.frame.l)
            raise fail(spec.place, "name", f'unknown line "{spec}"{did_you_mean(spec, self.design.lines)}')
        if isinstance(spec, d.MeetingLine):
            found = meeting_line(*(self.plane(p) for p in spec.meet))
            if found is None:
                raise fail(spec.place, "line", "the two planes are parallel: they meet in no line")
            if spec.going is not None and dot(found.way, self.direction(spec.going)) < 0:
                found = Ray(found.start, neg(found.way))
            return found
        start = self.point(spec.from_)
        if spec.to is not None:
            way = sub(self.point(spec.to), start)
            if length(way) < 1e-6:
                raise fail(spec.place, "line", "its two points are the same")
            return Ray(start, unit(way))
        if spec.going is not None:
            return Ray(start, self.direction(spec.going))
        if spec.leans is not None:
            return Ray(start, self._way_by_two_leans(spec.leans))
        if spec.in_ is None or spec.lean is None:
            raise fail(spec.place, "line", "a line from a point needs to, going, leans, or in with lean")
        return Ray(start, self._way_in_plane(self.plane(spec.in_), spec.lean))

    def _way_by_two_leans(self, leans: tuple[d.Lean, d.Lean]) -> Vec:
        way: Vec = (0.0, 0.0, 1.0)
        for lean in leans:
            if lean.seen_from is None:
                raise fail(lean.place, "lean", "each of two leans is seen from an elevation: say seen from")
            toward, tan = self._level(lean.toward), math.tan(self.angle(lean.by))
            if abs(dot(toward, SIGHT[lean.seen_from])) > 1e-6:
                raise fail(
                    lean.place,
                    "lean",
                    f'a lean toward "{lean.toward.text}" does not show seen from {lean.seen_from}',
                )
            way = add(way, scale(toward, tan if lean.going == "up" else -tan))
        if leans[0].going != leans[1].going:
            raise fail(leans[1].place, "lean", "the two leans go different ways: both up or both down")
        return unit(way if leans[0].going == "up" else neg(way))

    def _way_in_plane(self, plane: Plane, lean: d.Lean) -> Vec:
        toward, angle = self._level(lean.toward), self.angle(lean.by)
        steepest = sub((0.0, 0.0, 1.0), scale(plane.normal, plane.normal[2]))
        if length(steepest) < 1e-9:
            raise fail(lean.place, "lean", "no line of a level plane leans from plumb")
        sign = 1.0 if lean.going == "up" else -1.0
        if lean.seen_from is not None:
            sight = SIGHT[lean.seen_from]
            if abs(dot(plane.normal, sight)) < 1e-6:
                raise fail(
                    lean.place, "lean", f"the plane is seen edge-on from {lean.seen_from}: no lean shows"
                )
            if abs(dot(toward, sight)) > 1e-6:
                raise fail(
                    lean.place,
                    "lean",
                    f'a lean toward "{lean.toward.text}" does not show seen from {lean.seen_from}',
                )
            seen = add(scale(toward, math.tan(angle)), (0.0, 0.0, sign))
            deeper = -dot(plane.normal, seen) / dot(plane.normal, sight)
            return unit(along(seen, sight, deeper))
        if lean.measured == "on the plane":
            up = unit(steepest)
            level = unit(cross(up, plane.normal))
            if dot(level, toward) < 0:
                level = neg(level)
            if dot(level, toward) < 1e-6:
                raise fail(lean.place, "lean", f'no line of the plane leans toward "{lean.toward.text}"')
            return unit(add(scale(up, sign * math.cos(angle)), scale(level, math.sin(angle))))
        raise fail(lean.place, "lean", "a lean in a plane is seen from an elevation or measured on the plane")

    def point(self, spec: d.PointSpec) -> Point:
        if isinstance(spec, Text):
            for key, form in self.design.points.items():
                if key == spec:
                    return self.point(form)
            raise fail(spec.place, "name", f'unknown point "{spec}"{did_you_mean(spec, self.design.points)}')
        if isinstance(spec, tuple):
            x, y, z = (self.length(e) for e in spec)
            return (x, y, z)
        if isinstance(spec, d.MeetingPoint):
            planes = [self.plane(p) for p in spec.meet]
            line = meeting_line(planes[0], planes[1])
            found = line.meets(planes[2]) if line else None
            if found is None:
                raise fail(spec.place, "point", "the three planes do not meet in one point")
            return found
        if isinstance(spec, d.PointOnLine):
            return self._point_on_line(spec)
        if isinstance(spec, d.HalfwayPoint):
            a, b = (self.point(p) for p in spec.halfway_between)
            return scale(add(a, b), 0.5)
        if isinstance(spec, d.ShiftedPoint):
            found = self.point(spec.shift)
            for word, way in WORDS.items():
                by = getattr(spec, word)
                if by is not None:
                    found = along(found, way, self.length(by))
            return found
        body, standing = self.body_of(spec.of, spec.place)
        own = (self.length(spec.from_end_a), self.length(spec.from_edge), self.length(spec.from_back))
        return standing.frame.point(own)

    def _point_on_line(self, spec: d.PointOnLine) -> Point:
        line = self.line(spec.on)
        if spec.meets is not None or spec.height is not None:
            plane = self.plane(spec.meets) if spec.meets is not None else None
            if plane is None and spec.height is not None:
                plane = Plane((0.0, 0.0, 1.0), self.length(spec.height))
            found = line.meets(plane) if plane is not None else None
            if found is None:
                raise fail(spec.place, "point", "the line runs along that plane and never meets it")
            return found
        start = line.start
        if spec.from_ is not None:
            met = line.meets(self.plane(spec.from_))
            if met is None:
                raise fail(spec.place, "point", "the line runs along that plane and never meets it")
            start = met
        if spec.at is None:
            raise fail(spec.place, "point", "a point on a line needs meets, height or at")
        return along(start, line.way, self.length(spec.at))

    def direction(self, direction: Direction) -> Vec:
        """Unit world vector."""
        if direction.kind == "word":
            if direction.text not in WORDS:
                raise fail(
                    direction.place,
                    "direction",
                    f'"{direction.text}" has no meaning here; use {", ".join(WORDS)}',
                )
            return WORDS[direction.text]
        if direction.vector is not None:
            v = tuple(self._number(e) for e in direction.vector)
            if length((v[0], v[1], v[2])) < 1e-9:
                raise fail(direction.place, "direction", "a direction of no length")
            return unit((v[0], v[1], v[2]))
        if direction.kind == "square to":
            return self.plane(direction.text).normal
        way = self.line(direction.text).way
        return way if direction.kind == "along" else neg(way)

    def _number(self, expression: Expression) -> float:
        return float(self.quantity(expression).value)


def _through(point: Point, normal: Vec) -> Plane:
    return Plane(normal, dot(normal, point))


def degrees_between(a: Vec, b: Vec) -> float:
    return math.degrees(angle_between(a, b))
