"""Names to geometry: planes, lines, points, directions and sizes of a design, worked out on demand.

Members are placed in the order in which they are asked for; a member that is asked for while it is being
placed closes a circle, which is an error.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from plangen.design import design as d
from plangen.design.records import Direction, Expression, Text
from plangen.findings import Place, did_you_mean, fail
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, dot, length, neg, scale, unit
from plangen.placing.body import Body, Standing
from plangen.placing.directions import BUILT_IN, ENDS, LOCAL, LOOKS, OWN, WORDS, Ray, side_facing
from plangen.placing.lines import line_of, point_of
from plangen.placing.planes import plane_of
from plangen.units import MM_PER_INCH, POUNDS_PER_KILOGRAM, Quantity, UnitStyle, length_text_with_unit

if TYPE_CHECKING:
    from plangen.placing.pending import Pending


_ON_THE_RULE = UnitStyle("in", MM_PER_INCH / 64, Fraction(1, 4))
"""What a message says in inches, where it falls on a rule's marks."""


class Scope:
    """Everything a design can name, resolved once each."""

    def __init__(
        self, design: d.Design, values: dict[str, Quantity], place_member: Callable[[Scope, str], Body]
    ) -> None:
        self.design = design
        self.values = values
        self._place_member = place_member
        self._bodies: dict[str, Body] = {}
        self._pending: dict[str, Pending] = {}
        self._sizes: dict[str, tuple[float | None, ...]] = {}
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

    def said(self, mm: float, digits: int = 4) -> str:
        """A length in a message, in the design's unit: ``12.5 mm``, ``3/4 in`` or, off the rule, ``0.682 in``."""
        if self.design.units == "mm":
            return f"{mm:.{digits}g} mm"
        inches = mm / 25.4
        marked = Fraction(round(inches * 64), 64)
        if marked == 0 or abs(inches - marked) > 1e-4:
            return f"{inches:.{digits}g} in"
        return length_text_with_unit(marked * MM_PER_INCH, _ON_THE_RULE)

    def said_mass(self, kg: float) -> str:
        return f"{kg:.0f} kg" if self.design.units == "mm" else f"{kg * float(POUNDS_PER_KILOGRAM):.0f} lb"

    def said_volume(self, mm3: float) -> str:
        if self.design.units == "in":
            return f"{mm3 / 25.4**3:.3g} in3"
        return f"{mm3:.0f} mm3" if mm3 > 100 else f"{mm3:.3g} mm3"

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
        index = {"length": 0, "width": 1, "thickness": 2, "diameter": 2}.get(attribute)
        if owner:
            said = self._sizes.get(owner)
            if said is not None and index is not None and said[index] is not None:
                return Quantity(Fraction(said[index] or 0.0), "length")
            body = self.body_of(owner, place)[0]
            if index is not None:
                return Quantity(Fraction(body.size[index]), "length")
        raise fail(place, "name", f'unknown name "{name}"{did_you_mean(name, self.values)}')

    # --- members ---

    def body(self, name: str, place: Place) -> Body:
        if name not in self._bodies:
            if name in self._asked:
                circle = " -> ".join([*self._asked[self._asked.index(name) :], name])
                text = (
                    f"members are placed by one another in a circle: {circle}; "
                    "name a plane under planes and cut by that"
                )
                raise fail(place, "circle", text)
            self._asked.append(name)
            try:
                self._bodies[name] = self._place_member(self, name)
            finally:
                self._asked.pop()
                self._pending.pop(name, None)
                self._sizes.pop(name, None)
            for standing in self._bodies[name].standings:
                for word in (standing.name, *standing.aliases):
                    self._standing_names[word] = (name, standing.name)
        return self._bodies[name]

    def hold_sizes(self, name: str, sizes: tuple[float | None, ...]) -> None:
        """Keep what the entry and its stock say of a member's sizes, for expressions in its own place."""
        self._sizes[name] = sizes

    def hold(self, pending: Pending) -> None:
        """Keep what is certain of a member while its trims are worked out."""
        self._pending[pending.member] = pending

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

    def plane(self, spec: d.PlaneSpec) -> Plane:
        """A world plane; its normal is the way it faces."""
        return self._named_plane(spec) if isinstance(spec, Text) else plane_of(self, spec)

    def _named_plane(self, name: Text) -> Plane:
        if str(name) == "floor" and self.design.floor_touches:
            return Plane((0.0, 0.0, 1.0), self._touched_floor(name.place))
        if str(name) in BUILT_IN:
            return BUILT_IN[str(name)]
        if str(name) in self._planes:
            return self._planes[str(name)]
        for key, spec in self.design.planes.items():
            if key == name:
                # A plane between two members' faces is asked for again while the second one's trims wait.
                if self._asked.count(f"plane {key}") > 2:
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
            points = body.corners()
            if not body.is_flat:  # its solid, whose vertices lie on its curves
                solid = build_solid(body.box, [s.cutter for s in body.shapings])
                points = tuple((v[0], v[1], v[2]) for v in solid.vertices.tolist())
            lowest += [s.frame.point(p)[2] for s in body.standings for p in points]
        return min(lowest)

    def surface_of(self, owner: str, side: str, place: Place) -> tuple[str, Plane]:
        """Name in the body and world plane of a member's surface, as it is before joints are cut."""
        pending = self._pending.get(self.owner(owner, place))
        certain = None if pending is None else pending.surface(owner, side, place)
        if certain is not None:
            return certain
        body, standing = self.body_of(owner, place)
        frame = standing.frame
        middle = frame.point(scale(body.size, 0.5))
        carrying = body.carrying()
        if side not in OWN and side not in ENDS and side not in ("inner", "outer"):
            if side not in LOOKS:
                raise fail(place, "side", f'unknown surface "{side}"{did_you_mean(side, [*OWN, *LOOKS])}')
            want = LOOKS[side]
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
            shaped = (n for n in names if n not in LOCAL and n.partition(" ")[2] == own)
            found = own if own in names else next(shaped, "")
            if not found:
                raise fail(
                    place, "side", f'"{owner}.{side}": this surface is cut away or curved; name a plane'
                )
        plane = next(p for n, p, _ in carrying if n == found)
        return found, plane.placed(frame)

    def line(self, spec: d.LineSpec) -> Ray:
        """A line in the world, by its name, as a member's axis, or by its form."""
        if not isinstance(spec, Text):
            return line_of(self, spec)
        for key, form in self.design.lines.items():
            if key == spec:
                return self.line(form)
        owner, _, part = spec.rpartition(".")
        if part == "axis":
            body, standing = self.body_of(owner, spec.place)
            _, w, t = body.size
            return Ray(standing.frame.point((0.0, w / 2, t / 2)), standing.frame.l)
        raise fail(spec.place, "name", f'unknown line "{spec}"{did_you_mean(spec, self.design.lines)}')

    def point(self, spec: d.PointSpec) -> Point:
        """A point in the world, by its name, its three coordinates, or its form."""
        if isinstance(spec, tuple):
            x, y, z = (self.length(e) for e in spec)
            return (x, y, z)
        if not isinstance(spec, Text):
            return point_of(self, spec)
        for key, form in self.design.points.items():
            if key == spec:
                return self.point(form)
        raise fail(spec.place, "name", f'unknown point "{spec}"{did_you_mean(spec, self.design.points)}')

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
        if direction.kind == "vector":
            right, rear, up = (self._number(e) for e in direction.vector)
            if length((right, rear, up)) < 1e-9:
                raise fail(direction.place, "direction", "a direction of no length")
            return unit((right, rear, up))
        if direction.kind == "square to":
            return self.plane(direction.target).normal
        way = self.line(direction.target).way
        return way if direction.kind == "along" else neg(way)

    def _number(self, expression: Expression) -> float:
        return float(self.quantity(expression).value)
