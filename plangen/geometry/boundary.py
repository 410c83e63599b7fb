"""The boundary of a solid: faces, and the edges between them as lines and conics."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from plangen.geometry.patches import ANGLE_MATCH, Array, PatchSet, frame_about
from plangen.geometry.skin import Skin
from plangen.geometry.surfaces import Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit

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
    a, b = own[inner], other[inner]
    label = np.arange(m)
    while True:
        least = np.minimum(label[a], label[b])
        after = label.copy()
        np.minimum.at(after, label[a], least)
        np.minimum.at(after, label[b], least)
        after = after[after]
        if (after == label).all():
            break
        label = after
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
        for chain in _chains(following):
            edges.append(_edge(skin.vertices, chain, a, b, f, g))
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


def _edge(vertices: Array, chain: list[int], a: Form, b: Form, left: int, right: int) -> Edge:
    middle = len(chain) // 2
    p, q = _point(vertices[chain[middle - 1]]), _point(vertices[chain[middle]])
    at = scale(add(p, q), 0.5) if len(chain) == 2 else q
    n, m = outward_normal(a, at), outward_normal(b, at)
    smooth = length(cross(n, m)) < SMOOTH and dot(n, m) > 0
    if smooth:
        convex = "hole" not in (getattr(a, "side", ""), getattr(b, "side", ""))
    else:
        convex = dot(m, cross(n, sub(q, p))) < 0
    return Edge(_edge_curve(vertices, chain, a, b), left, right, convex, smooth)


def outward_normal(form: Form, p: Point) -> Vec:
    """Unit normal of a patch at (or near) ``p``, out of the wood."""
    if isinstance(form, Plane):
        return form.normal
    if isinstance(form, Cylinder):
        d = sub(p, form.point)
        radial = unit(sub(d, scale(form.axis, dot(d, form.axis))))
        return radial if form.side == "post" else neg(radial)
    gradient = PatchSet([form]).evaluate(np.zeros(1, dtype=np.int64), np.array([p]))[1]
    return _point(gradient[0])


def _edge_curve(vertices: Array, chain: list[int], a: Form, b: Form) -> EdgeCurve:
    if (isinstance(a, Plane) and isinstance(b, Plane)) or common_ruling(a, b):
        return Straight(_point(vertices[chain[0]]), _point(vertices[chain[-1]]))
    points = [_point(vertices[v]) for v in chain]
    for plane, round_ in ((a, b), (b, a)):
        if isinstance(plane, Plane) and isinstance(round_, Cylinder):
            return _conic_through(points, plane, round_)
    return Chain(tuple(points))


def common_ruling(a: Form, b: Form) -> bool:
    """Two patches, at least one round, that can only meet in straight rulings."""
    for form, other in ((a, b), (b, a)):
        if isinstance(form, Cylinder | Extruded):
            if isinstance(other, Plane):
                return abs(dot(other.normal, form.axis)) < ANGLE_MATCH * 100
            return length(cross(form.axis, other.axis)) < ANGLE_MATCH * 100
    return False


def whole_conic(plane: Plane, round_: Cylinder, counter_clockwise: bool) -> Conic:
    """The full ellipse common to a plane and a cylinder, its turn as seen from the plane's outer side."""
    centre, major, minor = _axes_of_conic(plane, round_)
    if (dot(cross(major, minor), plane.normal) > 0) != counter_clockwise:
        minor = neg(minor)
    return Conic(centre, major, minor, 0.0, 2 * math.pi)


def _conic_through(points: list[Point], plane: Plane, round_: Cylinder) -> Conic | Chain:
    """The part of a plane's and a cylinder's ellipse that a walk over its points covers.

    A walk that only goes out and back, as where a cut all but misses a face, is left a chain.
    """
    centre, major, minor = _axes_of_conic(plane, round_)
    turns = [_parameter(p, centre, major, minor) for p in points]
    span = math.fsum(math.remainder(b - a, 2 * math.pi) for a, b in pairwise(turns))
    first = turns[0]
    if span < 0:
        minor, first, span = neg(minor), -first, -span
    if points[0] == points[-1]:
        if abs(span - 2 * math.pi) > 1e-6:
            return Chain(tuple(points))
        return Conic(centre, major, minor, 0.0, 2 * math.pi)
    return Conic(centre, major, minor, first, first + span)


def _axes_of_conic(plane: Plane, round_: Cylinder) -> tuple[Point, Vec, Vec]:
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
