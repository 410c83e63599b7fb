"""A rebate cut on an assembly: round an opening or an outside, along faces of its members.

Its walls stand square to the face that it is sunk from, as a cutter whose axis is square to its base leaves
them; its width is measured in that face, from the arris that was there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from plangen.design import design as d
from plangen.design.records import Expression
from plangen.findings import Finding, Place
from plangen.geometry.curves import Vec2
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, neg, scale, sub, unit
from plangen.joinery.advice import outside
from plangen.joinery.assembly_work import Made, Work, flipped, place_of, volume_of, world_planes
from plangen.joinery.meeting import LEAST_VOLUME, Placed
from plangen.joinery.model import AssemblyFeature
from plangen.placing.body import BOUND_MM
from plangen.placing.outlines import filleted
from plangen.tables.joint_rules import REBATE_DEPTH

LEAST_LEFT = 0.1
"""Millimetres: a rest, a cheek or a strip thinner than this is a sliver."""
_LEAST_STANDING = 1.0
"""Cubic millimetres in the opening that are more than rounding."""
_SAME_PLANE = 1e-4
_LYING = math.sin(math.radians(5))
"""A face that leans less than this out of the one the rebate is sunk from gives it no wall."""
_BEYOND = 50.0
"""Millimetres: how far past its members the cutter of an open side runs."""


@dataclass(frozen=True)
class _Flat:
    """The face a rebate is sunk from, with coordinates in it."""

    top: Plane
    u: Vec
    v: Vec

    @property
    def origin(self) -> Point:
        return self.top.point

    def trace(self, plane: Plane) -> tuple[Vec2, float] | None:
        """Where a plane meets the face: unit normal and offset in it; None for one that lies along it."""
        x, y = dot(plane.normal, self.u), dot(plane.normal, self.v)
        size = math.hypot(x, y)
        if size < _LYING:
            return None
        return (x / size, y / size), (plane.offset - dot(plane.normal, self.origin)) / size

    def wall(self, normal: Vec2, offset: float) -> Plane:
        """The plane square to the face that stands on a line of it."""
        way = unit(add(scale(self.u, normal[0]), scale(self.v, normal[1])))
        return Plane(way, offset + dot(way, self.origin))

    def flat(self, p: Point) -> Vec2:
        d_ = sub(p, self.origin)
        return (dot(d_, self.u), dot(d_, self.v))


@dataclass(frozen=True)
class _Face:
    """A face that the rebate runs along: its plane, the members that have it, a point in the middle of each."""

    plane: Plane
    place: Place
    bearers: tuple[Placed, ...]
    middles: tuple[Point, ...]


def rebate(work: Work) -> Made:
    spec = work.spec
    assert spec.rebate is not None
    assert spec.sunk_from is not None
    width, depth = _said(work, spec.width, "wide"), _said(work, spec.depth, "deep")
    faces = [_face(work, s) for s in spec.rebate]
    flat = _flat(work.scope.plane(spec.sunk_from))
    is_inside = _looks_in(work, faces)
    walls = [_wall(work, flat, face, width, depth) for face in faces]
    floor = flat.top.shifted(-depth)
    if is_inside:
        _check_opening(work, flat, faces, floor)
    convex: list[tuple[Plane, ...]] = [(*walls, floor)] if is_inside else [(wall, floor) for wall in walls]
    cutters, note = _cornered(work, flat, walls, convex, is_inside)
    findings: list[Finding] = []
    taken = []
    for placed in work.placed:
        met = [c for c in convex if volume_of([*world_planes(placed), *flipped(c)]) > LEAST_VOLUME]
        if not met:
            continue
        for forms in met if placed.name not in work.loose else ():
            findings += _check_depth(work, placed, forms, flat, depth)
        cutter = [c for c, plain in zip(cutters, convex, strict=True) if plain in met]
        taken.append(work.cut(placed, "rebate", cutter, note))
    for face, wall in zip(faces, walls, strict=True):
        _check_width(work, face, wall, floor, width, {c.target for c in taken})
    feature = AssemblyFeature(
        "rebate",
        spec.when,
        spec.place,
        tuple(c.target for c in taken),
        flat.top,
        str(spec.note) if spec.note is not None else note,
        width,
        depth,
        0.0 if spec.corners is None else work.scope.length(spec.corners),
        is_inside,
        tuple(_arris(flat, face, wall, width) for face, wall in zip(faces, walls, strict=True)),
    )
    return Made(tuple(taken), feature, tuple(findings[:1]))


def _cornered(
    work: Work, flat: _Flat, walls: Sequence[Plane], convex: Sequence[tuple[Plane, ...]], is_inside: bool
) -> tuple[Sequence[tuple[Form, ...]], str]:
    """The cutters as the corners of an opening are left by a cutter, or by a chisel; and what is said of them."""
    corners = work.spec.corners
    if corners is None:
        return convex, "corners square with a chisel" if is_inside and len(walls) > 1 else ""
    if not is_inside:
        text = "a cutter leaves its radius in the corners of an opening only"
        raise work.fails("rebate", text, place=corners.place)
    return [(_rounded(work, flat, walls, work.scope.length(corners), corners.place), convex[0][-1])], ""


def _arris(flat: _Flat, face: _Face, wall: Plane, width: float) -> tuple[Point, Vec]:
    """The middle of the arris that a face has with the one the rebate is sunk from, and the way into the wood."""
    off = flat.top.distance(face.middles[0])
    level = along(face.middles[0], flat.top.normal, -off)
    return along(level, wall.normal, width - wall.distance(level)), neg(wall.normal)


def _said(work: Work, size: Expression | None, word: str) -> float:
    if size is None:
        raise work.fails("rebate", f"say how {word} the rebate is")
    return work.scope.length(size)


def _face(work: Work, spec: d.PlaneSpec) -> _Face:
    plane = work.scope.plane(spec)
    bearers, middles = [], []
    for placed in work.placed:
        for _, own, middle in placed.body.carrying():
            world = own.placed(placed.frame)
            if dot(world.normal, plane.normal) > 1 - 1e-9 and abs(world.offset - plane.offset) < _SAME_PLANE:
                bearers.append(placed)
                middles.append(placed.frame.point(middle))
    if not bearers:
        text = "no member of it has this face, that the rebate should run along; name faces of its members"
        raise work.fails("rebate", text, place=place_of(spec))
    return _Face(plane, place_of(spec), tuple(bearers), tuple(middles))


def _flat(top: Plane) -> _Flat:
    least = min(range(3), key=lambda i: (round(abs(top.normal[i]), 6), i))
    start: Vec = (float(least == 0), float(least == 1), float(least == 2))
    u = unit(sub(start, scale(top.normal, dot(start, top.normal))))
    return _Flat(top, u, cross(top.normal, u))


def _looks_in(work: Work, faces: Sequence[_Face]) -> bool:
    """Whether the faces look into the opening they bound, and not away from one another."""
    views = [
        other.plane.distance(middle) > 0
        for face in faces
        for middle in face.middles
        for other in faces
        if other is not face and abs(other.plane.distance(middle)) > _SAME_PLANE
    ]
    if all(views):
        return True
    if any(views):
        text = (
            "these faces neither look all into one opening, without a corner that stands into it, nor all "
            "outward; make it in several cuts"
        )
        raise work.fails("rebate", text)
    return False


def _wall(work: Work, flat: _Flat, face: _Face, width: float, depth: float) -> Plane:
    trace = flat.trace(face.plane)
    if trace is None:
        raise work.fails(
            "rebate", "this face runs along the one that the rebate is sunk from", place=face.place
        )
    normal, offset = trace
    lean = dot(face.plane.normal, flat.top.normal) / math.sqrt(
        1 - dot(face.plane.normal, flat.top.normal) ** 2
    )
    if width + depth * lean <= LEAST_LEFT:
        text = (
            f"this face slopes away so fast that a rebate {work.scope.said(width)} wide has no rest left "
            f"at {work.scope.said(depth)} deep; make it wider or less deep"
        )
        raise work.fails("rebate", text, place=face.place)
    return flat.wall(normal, offset - width)


def _rounded(work: Work, flat: _Flat, walls: Sequence[Plane], radius: float, place: Place) -> Extruded:
    """The outline of the sunk area, each of its corners as the cutter leaves it."""
    reach = [flat.flat(p.frame.point(c)) for p in work.placed for c in p.body.corners()]
    low = (min(p[0] for p in reach) - _BEYOND, min(p[1] for p in reach) - _BEYOND)
    high = (max(p[0] for p in reach) + _BEYOND, max(p[1] for p in reach) + _BEYOND)
    points = [low, (high[0], low[1]), high, (low[0], high[1])]
    for wall in walls:
        points = _clipped(points, flat, wall)
    ends = [
        min(abs(p[0] - low[0]), abs(p[0] - high[0]), abs(p[1] - low[1]), abs(p[1] - high[1])) for p in points
    ]
    radii = [radius if far > _BEYOND / 2 else 0.0 for far in ends]
    loop = filleted(work.scope, work.name, place, points, radii)
    return Extruded(flat.origin, flat.u, flat.v, tuple(c.reversed() for c in reversed(loop)))


def _clipped(points: Sequence[Vec2], flat: _Flat, wall: Plane) -> list[Vec2]:
    """The part of a convex polygon on the outer side of a wall."""
    lifted = [along(along(flat.origin, flat.u, x), flat.v, y) for x, y in points]
    off = [wall.distance(p) for p in lifted]
    found: list[Vec2] = []
    for i, (p, at) in enumerate(zip(points, off, strict=True)):
        q, to = points[(i + 1) % len(points)], off[(i + 1) % len(points)]
        if at >= 0:
            found.append(p)
        if (at > 0) != (to > 0) and at != to:
            k = at / (at - to)
            found.append((p[0] + (q[0] - p[0]) * k, p[1] + (q[1] - p[1]) * k))
    return found


# --- can it be made ---------------------------------------------------------------------------------------


def _check_opening(work: Work, flat: _Flat, faces: Sequence[_Face], floor: Plane) -> None:
    """Nothing of the assembly stands in the opening itself, at the height of the rebate."""
    opening = [*(f.plane.flipped().shifted(-_SAME_PLANE) for f in faces), floor.flipped()]
    for placed in work.placed:
        if volume_of([*world_planes(placed), *opening]) > _LEAST_STANDING:
            text = (
                f'"{placed.name}" stands in the opening that the rebate runs round; give each opening '
                "a cut of its own, or leave the member out (of)"
            )
            raise work.fails("rebate", text, placed.name)


def _check_depth(
    work: Work, placed: Placed, forms: Sequence[Plane], flat: _Flat, depth: float
) -> tuple[Finding, ...]:
    *walls, floor = forms
    own, beyond = world_planes(placed), flipped(walls)
    sunk = convex_region([*own, *beyond, floor.flipped()], BOUND_MM)
    proud = 0.0 if sunk is None else max(flat.top.distance(v) for v in sunk.vertices)
    if proud > LEAST_LEFT:
        text = (
            f'"{placed.name}" stands {work.scope.said(proud)} above the face that the rebate is sunk from: '
            "the cutter's base cannot ride there"
        )
        raise work.fails("rebate", text, placed.name)
    under = convex_region([*own, *beyond, floor], BOUND_MM)
    left = 0.0 if under is None else -min(floor.distance(v) for v in under.vertices)
    if left < LEAST_LEFT:
        text = f'a rebate {work.scope.said(depth)} deep goes right through "{placed.name}"'
        raise work.fails("rebate", text, placed.name, place=_depth_place(work))
    return outside(
        REBATE_DEPTH, depth / (depth + left), f'"{work.name}": rebate in "{placed.name}": its depth',
        work.spec.place, placed.name,
    )  # fmt: skip


def _depth_place(work: Work) -> Place:
    return cast(Expression, work.spec.depth).place


def _check_width(work: Work, face: _Face, wall: Plane, floor: Plane, width: float, cut: set[str]) -> None:
    """The members along a face are cut, and keep a strip of wood beyond the wall."""
    for placed in face.bearers:
        if placed.name not in cut:
            text = f'the rebate misses "{placed.name}", along whose face it should run'
            raise work.fails("rebate", text, placed.name, place=face.place)
        region = convex_region([*world_planes(placed), floor.flipped(), wall], BOUND_MM)
        left = 0.0 if region is None else -min(wall.distance(v) for v in region.vertices)
        if left < LEAST_LEFT:
            text = (
                f"a rebate {work.scope.said(width)} wide runs out of the wood: it takes the whole width of "
                f'"{placed.name}"'
            )
            raise work.fails("rebate", text, placed.name, place=cast(Expression, work.spec.width).place)
