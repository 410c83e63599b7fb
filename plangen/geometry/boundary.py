"""The boundary of a solid: faces, and the edges between them as lines and conics."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from plangen.geometry.hanging_together import least_of_each
from plangen.geometry.patches import (
    ANGLE_MATCH,
    FACET_SAG,
    Array,
    PatchSet,
    coaxial,
    crossing_planes,
    frame_about,
)
from plangen.geometry.region import three_planes
from plangen.geometry.skin import Skin
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import (
    LENGTH_TOLERANCE,
    Point,
    Vec,
    add,
    along,
    cross,
    dot,
    length,
    neg,
    scale,
    sub,
    unit,
)

SMOOTH = 1e-5
"""Radians: faces that meet at less than this are tangent."""


@dataclass(frozen=True)
class Straight:
    """An edge along a line."""

    start: Point
    end: Point


@dataclass(frozen=True)
class Conic:
    """An edge ``centre + major cos p + minor sin p``, p from ``first`` to ``last`` (radians).

    A full circle or ellipse has ``last = first + 2 pi`` and is one edge.
    """

    centre: Point
    major: Vec
    minor: Vec
    first: float
    last: float


@dataclass(frozen=True)
class Chain:
    """An edge known by points on it (where two curved surfaces meet, or a free curve)."""

    points: tuple[Point, ...]


EdgeCurve: TypeAlias = Straight | Conic | Chain
Axes: TypeAlias = tuple[Point, Vec, Vec]
"""Centre and half axes of a circle or an ellipse."""
LONGEST = 1e5
"""Millimetres: an ellipse with a half axis longer than this is read as a chain."""


@dataclass(frozen=True)
class Edge:
    """Where two surfaces meet; walked along ``curve``, face ``left`` lies on the left seen from outside."""

    curve: EdgeCurve
    left: int
    """Index into ``Solid.faces``."""
    right: int
    convex: bool
    smooth: bool
    """The two faces are tangent along the edge (a round-over's start): drawn narrow or not at all."""


@dataclass(frozen=True, eq=False)
class Shell:
    """A closed mesh with its faces and edges."""

    patches: PatchSet
    vertices: Array
    triangles: Array
    patch: Array
    """(m,) patch of each triangle."""
    face: Array
    """(m,) face of each triangle."""
    patch_of_face: Array
    edges: tuple[Edge, ...]


def shell_of(skin: Skin) -> Shell:
    """The skin's faces and edges."""
    face, patch_of_face = connected_faces(skin)
    edges = boundary_edges(skin, face)
    return Shell(skin.patches, skin.vertices, skin.triangles, skin.patch, face, patch_of_face, edges)


def connected_faces(skin: Skin) -> tuple[Array, Array]:
    """(m,) the face of each triangle, and (f,) the patch of each face; faces are in patch order."""
    m = len(skin.triangles)
    other = skin.twin // 3
    own = np.repeat(np.arange(m), 3)
    inner = (skin.patch[own] == skin.patch[other]) & (own < other)
    label = least_of_each(m, own[inner], other[inner])
    roots = np.unique(label)
    roots = roots[np.argsort(skin.patch[roots], kind="stable")]
    number = np.empty(m, dtype=np.int64)
    number[roots] = np.arange(len(roots))
    return number[label], skin.patch[roots]


def boundary_edges(skin: Skin, face: Array) -> tuple[Edge, ...]:
    """Every edge between two faces, each walked once, merged as far as the two faces run along each other."""
    halves = np.flatnonzero(face[np.arange(len(skin.twin)) // 3] < face[skin.twin // 3])
    corners = skin.triangles.ravel()
    ends = skin.triangles[:, (1, 2, 0)].ravel()
    left, right = face[halves // 3].tolist(), face[skin.twin[halves] // 3].tolist()
    steps: dict[tuple[int, int], dict[int, int]] = {}
    for f, g, a, b in zip(left, right, corners[halves].tolist(), ends[halves].tolist(), strict=True):
        steps.setdefault((f, g), {})[a] = b
    patch_of_face = dict(zip(face.tolist(), skin.patch.tolist(), strict=True))
    edges = []
    for (f, g), following in sorted(steps.items()):
        a, b = skin.patches.forms[patch_of_face[f]], skin.patches.forms[patch_of_face[g]]
        planes = crossing_planes(a, b)
        for chain in _chains(following):
            points = [_point(skin.vertices[v]) for v in chain]
            if planes is None or not isinstance(a, Cylinder):
                edges.append(_edge(points, _edge_curve(points, a, b), a, b, f, g))
                continue
            for part, plane in _parts_in_planes(points, planes, a):
                edges.append(_edge(part, _conic_through(part, _axes_on_cylinder(plane, a)), a, b, f, g))
    return tuple(edges)


def _point(row: Array) -> Point:
    x, y, z = row.tolist()
    return (x, y, z)


def _chains(following: dict[int, int]) -> list[list[int]]:
    """Walks through a set of steps; a closed one repeats its first vertex at the end."""
    inner = set(following.values())
    chains = []
    rest = dict(following)
    for start in [*(v for v in sorted(following) if v not in inner), *sorted(following)]:
        if start in rest:
            chain = [start]
            while chain[-1] in rest:
                chain.append(rest.pop(chain[-1]))
            chains.append(chain)
    return chains


def _parts_in_planes(
    points: list[Point], planes: tuple[Plane, Plane], cylinder: Cylinder
) -> list[tuple[list[Point], Plane]]:
    """A walk along the edge of two like cylinders that cross, parted where it goes from one ellipse to the other:
    in the points where they touch."""
    own = [min(planes, key=lambda plane: abs(plane.distance(p))) for p in points]
    closed = points[0] == points[-1]
    turns = [i for i in range(1, len(points)) if own[i] != own[i - 1]]
    if not turns:
        return [(points, own[0])]
    if closed:
        points = [*points[turns[0] : -1], *points[: turns[0]]]
        own = [*own[turns[0] : -1], *own[: turns[0]]]
    way = unit(cross(planes[0].normal, planes[1].normal))
    middle = three_planes(planes[0], planes[1], Plane(way, dot(way, cylinder.point)))
    touching = [along(middle, way, s * cylinder.radius) for s in (1.0, -1.0)]

    def node(i: int) -> Point:
        return min(touching, key=lambda p: length(sub(p, points[i])))

    starts = [0, *(i for i in range(1, len(points)) if own[i] != own[i - 1])]
    parts = []
    for start, end in zip(starts, [*starts[1:], len(points)], strict=True):
        part = points[start:end]
        if start > 0 or closed:
            part = [node(start), *part]
        if end < len(points) or closed:
            part = [*part, node(end - 1)]
        parts.append((part, own[start]))
    return parts


def _edge(points: list[Point], curve: EdgeCurve, a: Form, b: Form, left: int, right: int) -> Edge:
    middle = len(points) // 2
    p, q = points[middle - 1], points[middle]
    at = scale(add(p, q), 0.5) if len(points) == 2 else q
    n, m = outward_normal(a, at), outward_normal(b, at)
    smooth = length(cross(n, m)) < SMOOTH and dot(n, m) > 0
    if smooth:
        convex = "hole" not in (getattr(a, "side", ""), getattr(b, "side", ""))
    else:
        convex = dot(m, cross(n, sub(q, p))) < 0
    return Edge(curve, left, right, convex, smooth)


def outward_normal(form: Form, p: Point) -> Vec:
    """Unit normal of a patch at (or near) ``p``, out of the wood."""
    if isinstance(form, Plane):
        return form.normal
    if isinstance(form, Cylinder):
        d = sub(p, form.point)
        radial = unit(sub(d, scale(form.axis, dot(d, form.axis))))
        return radial if form.side == "post" else neg(radial)
    if isinstance(form, Cone):
        d = sub(p, form.point)
        radial = unit(sub(d, scale(form.axis, dot(d, form.axis))))
        square = unit(sub(radial, scale(form.axis, form.slope)))
        return square if form.side == "post" else neg(square)
    gradient = PatchSet([form]).evaluate(np.zeros(1, dtype=np.int64), np.array([p]))[1]
    return _point(gradient[0])


def _edge_curve(points: list[Point], a: Form, b: Form) -> EdgeCurve:
    if (isinstance(a, Plane) and isinstance(b, Plane)) or common_ruling(a, b):
        return Straight(points[0], points[-1])
    axes = _common_conic(a, b)
    if axes is not None:
        return _conic_through(points, axes)
    for plane, cone in ((a, b), (b, a)):
        if isinstance(plane, Plane) and isinstance(cone, Cone):
            return _fine_chain(points, plane, cone)
    return Chain(tuple(points))


def common_ruling(a: Form, b: Form) -> bool:
    """Two patches, at least one round, that can only meet in straight rulings."""
    if isinstance(a, Cone) or isinstance(b, Cone):
        return any(_through_tip(form, other) for form, other in ((a, b), (b, a)) if isinstance(form, Cone))
    for form, other in ((a, b), (b, a)):
        if isinstance(form, Cylinder | Extruded):
            if isinstance(other, Plane):
                return abs(dot(other.normal, form.axis)) < ANGLE_MATCH * 100
            if isinstance(other, Cylinder | Extruded):
                return length(cross(form.axis, other.axis)) < ANGLE_MATCH * 100
    return False


def _through_tip(cone: Cone, other: Form) -> bool:
    """A plane through the cone's tip, or another cone with the same tip: they share rulings only."""
    if isinstance(other, Plane):
        return abs(other.distance(cone.tip)) <= LENGTH_TOLERANCE
    return isinstance(other, Cone) and length(sub(cone.tip, other.tip)) <= LENGTH_TOLERANCE


def whole_conic(plane: Plane, round_: Cylinder, counter_clockwise: bool) -> Conic:
    """The full ellipse common to a plane and a cylinder, its turn as seen from the plane's outer side."""
    centre, major, minor = _axes_on_cylinder(plane, round_)
    if (dot(cross(major, minor), plane.normal) > 0) != counter_clockwise:
        minor = neg(minor)
    return Conic(centre, major, minor, 0.0, 2 * math.pi)


def _conic_through(points: list[Point], axes: Axes) -> Conic | Chain:
    """The part of an ellipse that a walk over its points covers.

    A walk that only goes out and back, as where a cut all but misses a face, is left a chain; so is one whose ends
    are not on the ellipse, as where three surfaces all but touch and share no point.
    """
    centre, major, minor = axes
    turns = [_parameter(p, centre, major, minor) for p in points]
    span = math.fsum(math.remainder(b - a, 2 * math.pi) for a, b in pairwise(turns))
    first = turns[0]
    if span < 0:
        minor, first, span = neg(minor), -first, -span
    if points[0] == points[-1]:
        if abs(span - 2 * math.pi) > 1e-6:
            return Chain(tuple(points))
        return Conic(centre, major, minor, 0.0, 2 * math.pi)
    conic = Conic(centre, major, minor, first, first + span)
    if any(
        length(sub(p, point_on(conic, q))) > 10 * LENGTH_TOLERANCE
        for p, q in ((points[0], conic.first), (points[-1], conic.last))
    ):
        return Chain(tuple(points))
    return conic


def point_on(conic: Conic, p: float) -> Point:
    """The point of a conic's ellipse at a parameter."""
    return along(along(conic.centre, conic.major, math.cos(p)), conic.minor, math.sin(p))


def _common_conic(a: Form, b: Form) -> Axes | None:
    """The circle or ellipse in which two patches meet; None where they meet in another curve."""
    for form, other in ((a, b), (b, a)):
        if isinstance(form, Plane) and isinstance(other, Cylinder):
            return _axes_on_cylinder(form, other)
        if isinstance(form, Plane) and isinstance(other, Cone):
            return _axes_on_cone(form, other)
        if isinstance(form, Cone) and isinstance(other, Cylinder | Cone) and coaxial(form, other):
            return _common_circle(form, other)
    return None


def _fine_chain(points: list[Point], plane: Plane, cone: Cone) -> Chain:
    """A parabola or hyperbola through its points, with more of them where a chord lies off it by the sag."""
    fine = points[:1]
    for a, b in pairwise(points):
        fine += [*_points_between(a, b, plane, cone), b]
    return Chain(tuple(fine))


def _points_between(a: Point, b: Point, plane: Plane, cone: Cone) -> list[Point]:
    """The curve's points over the middle of the chord, of its halves, and so on."""
    middle, chord = scale(add(a, b), 0.5), sub(b, a)
    if length(chord) <= LENGTH_TOLERANCE:
        return []
    across = unit(cross(plane.normal, chord))
    off = _way_to_cone(middle, across, cone)
    # No farther than the chord is long: a walk that turns back on itself has no middle.
    if off is None or abs(off) <= FACET_SAG / 2 or abs(off) > length(chord):
        return []
    p = along(middle, across, off)
    return [*_points_between(a, p, plane, cone), p, *_points_between(p, b, plane, cone)]


def _way_to_cone(p: Point, way: Vec, cone: Cone) -> float | None:
    """How far along ``way`` from ``p`` the nearest point of the cone's surface is; None where there is none."""
    d = sub(p, cone.point)
    height, rise, radius = dot(d, cone.axis), dot(way, cone.axis), cone.radius_at(p)
    slope = cone.slope * rise
    # |radial(p + t way)|^2 = (radius + slope t)^2 with the radial parts of d and way.
    a = 1.0 - rise * rise - slope * slope
    half = dot(d, way) - height * rise - radius * slope
    c = dot(d, d) - height * height - radius * radius
    root = half * half - a * c
    if root < 0.0:
        return None
    # The root near 0, by the form that does not lose its digits.
    divisor = half + math.copysign(math.sqrt(root), half)
    return -c / divisor if divisor else None


def _common_circle(cone: Cone, other: Cylinder | Cone) -> Axes | None:
    """The circle that two round surfaces about one axis share."""
    slope = 0.0
    if isinstance(other, Cone):
        slope = other.slope if dot(cone.axis, other.axis) > 0 else -other.slope
        if abs(cone.slope - slope) < ANGLE_MATCH * 10:
            return None
    excess = other.radius - cone.radius_at(other.point)
    centre = along(other.point, cone.axis, excess / (cone.slope - slope))
    foot = along(cone.point, cone.axis, dot(sub(centre, cone.point), cone.axis))
    return _circle(foot, cone.axis, cone.radius_at(foot))


def _circle(centre: Point, axis: Vec, radius: float) -> Axes:
    e1, e2 = frame_about(axis)
    return centre, scale(e1, radius), scale(e2, radius)


def _axes_on_cone(plane: Plane, cone: Cone) -> Axes | None:
    """Centre and half axes of the ellipse in which a plane cuts all rulings of a cone.

    None where it cuts them in a parabola or a hyperbola, or in an ellipse too long to be told from one. With u
    and v along the plane, v level (square to the axis), the cone's equation r^2 = R^2 is quadratic in u.
    """
    a, n = cone.axis, plane.normal
    slope = dot(n, a)
    foot = along(cone.point, a, -plane.distance(cone.point) / slope) if abs(slope) > ANGLE_MATCH else None
    if foot is None:
        return None
    level = cross(a, n)
    if length(level) < ANGLE_MATCH:
        return _circle(foot, a, cone.radius_at(foot))
    v = unit(level)
    u = cross(v, n)
    # A point foot + p u + q v has height p c above the foot and lies p s and q off the axis.
    c = dot(u, a)
    s2 = 1.0 - c * c
    steep = s2 - (cone.slope * c) ** 2
    radius = cone.radius_at(foot)
    if steep * LONGEST < abs(radius) or steep <= 0.0:
        return None
    shift = radius * cone.slope * c / steep
    long2 = (radius * radius + steep * shift * shift) / steep
    major = math.sqrt(long2)
    minor = math.sqrt(long2 * steep)
    return along(foot, u, shift), scale(u, major), scale(v, minor)


def _axes_on_cylinder(plane: Plane, round_: Cylinder) -> Axes:
    """Centre and half axes of the ellipse in which a plane meets a cylinder."""
    slope = dot(plane.normal, round_.axis)
    centre = along(round_.point, round_.axis, -plane.distance(round_.point) / slope)
    across = cross(round_.axis, plane.normal)
    if length(across) < ANGLE_MATCH:
        e1, e2 = frame_about(round_.axis)
        return centre, scale(e1, round_.radius), scale(e2, round_.radius)
    across = unit(across)
    return (
        centre,
        scale(unit(cross(plane.normal, across)), round_.radius / abs(slope)),
        scale(across, round_.radius),
    )


def _parameter(p: Point, centre: Point, major: Vec, minor: Vec) -> float:
    d = sub(p, centre)
    return math.atan2(dot(d, minor) / dot(minor, minor), dot(d, major) / dot(major, major))
