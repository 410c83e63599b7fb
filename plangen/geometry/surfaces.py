"""The surfaces wood can have here: plane, cylinder, cone, extruded curve. Nothing else.

Every surface has an inner side (where its member's wood is) and an outer side. A *body* is the set of
points on the inner side of all its surfaces; a *cutter* is the set of points on the outer side of all of
its surfaces. A member is its blank less all its cutters. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.geometry.curves import Curve
from plangen.geometry.frames import Frame
from plangen.geometry.vectors import Point, Vec, add, along, dot, neg, scale, squared, sub


@dataclass(frozen=True)
class Plane:
    """The plane ``normal . x = offset``; the unit normal points out of the wood."""

    normal: Vec
    offset: float

    @property
    def point(self) -> Point:
        return scale(self.normal, self.offset)

    def distance(self, p: Point) -> float:
        """Signed distance of ``p``, positive on the outer side."""
        return dot(self.normal, p) - self.offset

    def flipped(self) -> Plane:
        return Plane(neg(self.normal), -self.offset)

    def shifted(self, distance: float) -> Plane:
        """The parallel plane ``distance`` farther out."""
        return Plane(self.normal, self.offset + distance)

    def squared(self) -> Plane:
        """The same plane, its normal's components made exactly 0 or 1 where they are so but for rounding.

        In a member's own frame this makes planes that are parallel or square within 1e-9 exactly so.
        """
        return Plane(squared(self.normal), self.offset)

    def placed(self, frame: Frame) -> Plane:
        normal = frame.direction(self.normal)
        return Plane(normal, dot(normal, frame.point(self.point)))

    def local_to(self, frame: Frame) -> Plane:
        normal = frame.local_direction(self.normal)
        return Plane(normal, dot(normal, frame.local_point(self.point)))


@dataclass(frozen=True)
class Cylinder:
    """A round surface about ``axis`` (unit) through ``point``.

    ``side`` is ``hole`` where the wood is outside the cylinder, ``post`` where it is inside.
    """

    point: Point
    axis: Vec
    radius: float
    side: Literal["hole", "post"]

    def distance(self, p: Point) -> float:
        """Signed distance of ``p`` from the surface, positive on the outer side."""
        d = sub(p, self.point)
        from_axis = sub(d, scale(self.axis, dot(d, self.axis)))
        radial = dot(from_axis, from_axis) ** 0.5 - self.radius
        return radial if self.side == "post" else -radial

    def flipped(self) -> Cylinder:
        return Cylinder(self.point, self.axis, self.radius, "hole" if self.side == "post" else "post")

    def shifted(self, distance: float) -> Cylinder:
        radius = self.radius + (distance if self.side == "post" else -distance)
        return Cylinder(self.point, self.axis, radius, self.side)

    def placed(self, frame: Frame) -> Cylinder:
        return Cylinder(frame.point(self.point), frame.direction(self.axis), self.radius, self.side)

    def local_to(self, frame: Frame) -> Cylinder:
        return Cylinder(
            frame.local_point(self.point), frame.local_direction(self.axis), self.radius, self.side
        )


@dataclass(frozen=True)
class Cone:
    """A tapering round surface about ``axis`` (unit): a turned taper, a reamed socket, a countersink.

    Its radius is ``radius`` at ``point`` and grows by ``slope`` (not 0) for each millimetre along ``axis``. Only
    the half on this side of the tip is meant: past the tip all points lie outside a post and in the wood of a
    hole. ``side`` is ``hole`` where the wood is outside the cone, ``post`` where it is inside.
    """

    point: Point
    axis: Vec
    radius: float
    slope: float
    side: Literal["hole", "post"]

    @property
    def tip(self) -> Point:
        return along(self.point, self.axis, -self.radius / self.slope)

    def radius_at(self, p: Point) -> float:
        """Radius in the plane square to the axis through ``p``; negative past the tip."""
        return self.radius + self.slope * dot(sub(p, self.point), self.axis)

    def distance(self, p: Point) -> float:
        """Signed distance of ``p`` from the surface, square to its rulings, positive on the outer side."""
        d = sub(p, self.point)
        from_axis = sub(d, scale(self.axis, dot(d, self.axis)))
        radial = dot(from_axis, from_axis) ** 0.5 - self.radius_at(p)
        off = radial / (1.0 + self.slope * self.slope) ** 0.5
        return off if self.side == "post" else -off

    def flipped(self) -> Cone:
        return Cone(self.point, self.axis, self.radius, self.slope, "hole" if self.side == "post" else "post")

    def shifted(self, distance: float) -> Cone:
        """The cone of the same slope whose surface lies ``distance`` farther out."""
        grown = (distance if self.side == "post" else -distance) * (1.0 + self.slope * self.slope) ** 0.5
        return Cone(self.point, self.axis, self.radius + grown, self.slope, self.side)

    def placed(self, frame: Frame) -> Cone:
        axis = frame.direction(self.axis)
        return Cone(frame.point(self.point), axis, self.radius, self.slope, self.side)

    def local_to(self, frame: Frame) -> Cone:
        axis = frame.local_direction(self.axis)
        return Cone(frame.local_point(self.point), axis, self.radius, self.slope, self.side)


@dataclass(frozen=True)
class Extruded:
    """A plane curve, or a closed loop of them, carried along a straight axis.

    ``outline`` lies in the plane through ``origin`` spanned by ``u`` and ``v`` (unit, square to each other);
    the extrusion runs along ``u x v``, the *axis*. Walked head to tail with the axis toward the eye, the
    wood lies on the left. An outline that closes on itself bounds a region: counter-clockwise, the wood is
    inside it (a profile); clockwise, the wood is outside it (an opening).
    """

    origin: Point
    u: Vec
    v: Vec
    outline: tuple[Curve, ...]

    @property
    def axis(self) -> Vec:
        a, b = self.u, self.v
        return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])

    def lift(self, x: float, y: float) -> Point:
        """Member coordinates of a point of the outline's plane."""
        return along(along(self.origin, self.u, x), self.v, y)

    def flat(self, p: Point) -> tuple[float, float]:
        """The outline's plane coordinates of a point in space."""
        d = sub(p, self.origin)
        return (dot(d, self.u), dot(d, self.v))

    def flipped(self) -> Extruded:
        return Extruded(self.origin, self.u, self.v, tuple(c.reversed() for c in reversed(self.outline)))

    def shifted(self, distance: float) -> Extruded:
        raise ValueError("a free curve cannot carry a clearance")

    def placed(self, frame: Frame) -> Extruded:
        # "Wood on the left" is said in the outline's own u, v: it survives a mirror image unchanged.
        return Extruded(
            frame.point(self.origin), frame.direction(self.u), frame.direction(self.v), self.outline
        )

    def local_to(self, frame: Frame) -> Extruded:
        return Extruded(
            frame.local_point(self.origin),
            frame.local_direction(self.u),
            frame.local_direction(self.v),
            self.outline,
        )


Form: TypeAlias = Plane | Cylinder | Cone | Extruded


@dataclass(frozen=True)
class Surface:
    """One surface of a member, in the member's frame.

    ``id`` is unique in the member. The six faces of the blank carry the reserved ids ``A``, ``B``, ``edge``,
    ``back edge``, ``back`` and ``face``; ``feature`` is None for them and the id of the feature that made
    the surface for all others.
    """

    id: str
    form: Form
    feature: str | None = None


@dataclass(frozen=True)
class Box:
    """A rectangular block in a member's frame, axes along l, w and t; ``origin`` is its least corner."""

    origin: Point
    size: Vec

    @property
    def most(self) -> Point:
        return add(self.origin, self.size)

    def planes(self) -> dict[str, Plane]:
        """The six faces by their reserved ids, normals outward."""
        (l0, w0, t0), (l1, w1, t1) = self.origin, self.most
        return {
            "A": Plane((-1.0, 0.0, 0.0), -l0),
            "B": Plane((1.0, 0.0, 0.0), l1),
            "edge": Plane((0.0, -1.0, 0.0), -w0),
            "back edge": Plane((0.0, 1.0, 0.0), w1),
            "back": Plane((0.0, 0.0, -1.0), -t0),
            "face": Plane((0.0, 0.0, 1.0), t1),
        }

    def grown(self, margin: float) -> Box:
        return Box(
            sub(self.origin, (margin, margin, margin)),
            add(self.size, (2 * margin, 2 * margin, 2 * margin)),
        )
