"""Solids that travel along a straight way: what they meet, and how much room is beside them.

What a solid passes is the union of a prism on each facet that looks the way it goes. Room beside the way is
measured square to it between walls: surfaces that the way runs along. A seat that a part lifts off at once is no
wall, however near it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely

from plangen.geometry.clash import CLASH_THICKNESS, MOVES, Placed, clearing_mesh, thickness_of, world_vertices
from plangen.geometry.cutting import mesh_of, placed
from plangen.geometry.patches import Array, crosses
from plangen.geometry.vectors import Vec, cross, dot, unit

ALONG = math.sin(math.radians(2))
"""A surface that leans less than this to the way is a wall: a part swells against it and slides along it."""
_FORWARD = 1e-7
_OPPOSED = -0.5
_SQUARELY = 0.9
"""Cosine: walls hold a part in from two sides where their directions are no farther from opposite."""
_LEAST_HEIGHT = 1e-3
"""Millimetres that two walls must share along the way."""
_STEPS = 60
_FINE = 0.01
"""Millimetres within which the place of the first contact is found."""


@dataclass(frozen=True)
class Obstacle:
    """What a travelling part meets first: its number among the obstacles, and after how many millimetres."""

    index: int
    after: float


def first_met(parts: Sequence[Placed], others: Sequence[Placed], way: Vec) -> Obstacle | None:
    """The first of ``others`` that bars the ``parts``, which travel together along ``way`` (unit) without end.

    A clash is judged as by ``geometry.clash``: by a shared thickness that outlasts small moves. What only
    touches, or slides along, bars nothing.
    """
    far = _reach(parts, others, way)
    path = _passed(parts, way, far)
    met = [i for i, other in enumerate(others) if _bars(path, other)]
    if not met:
        return None
    found = [Obstacle(i, _after(parts, others[i], way, far)) for i in met]
    return min(found, key=lambda o: (round(o.after, 2), o.index))


def _reach(parts: Sequence[Placed], others: Sequence[Placed], way: Vec) -> float:
    """How far the parts go until everything lies behind them."""
    low = min((float((world_vertices(*p) @ np.array(way)).min()) for p in parts), default=0.0)
    high = max((float((world_vertices(*p) @ np.array(way)).max()) for p in (*parts, *others)), default=0.0)
    return high - low + 1.0


def _passed(parts: Sequence[Placed], way: Vec, distance: float) -> manifold3d.Manifold:
    """What the parts pass on their way, by their facets."""
    prisms: list[manifold3d.Manifold] = []
    step = np.array(way) * distance
    for solid, frame in parts:
        mesh = placed(clearing_mesh(solid), frame).to_mesh64()
        x = np.asarray(mesh.vert_properties)[:, :3]
        for a, b, c in x[np.asarray(mesh.tri_verts).astype(np.int64)]:
            normal = crosses((b - a)[None], (c - a)[None])[0]
            size = math.sqrt(float((normal * normal).sum()))
            if size > 0 and float(normal @ np.array(way)) > _FORWARD * size:
                prisms.append(mesh_of(np.array([a, b, c, a + step, b + step, c + step]), _PRISM))
    return manifold3d.Manifold.batch_boolean(prisms, manifold3d.OpType.Add)


_PRISM = np.array([[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]])


def _bars(path: manifold3d.Manifold, other: Placed) -> bool:
    mesh = placed(clearing_mesh(other[0]), other[1])
    # Each piece by itself: a long sliver where it slides along must not hide a small clash elsewhere.
    return all(
        any(thickness_of(piece) > CLASH_THICKNESS for piece in (path ^ mesh.translate(move)).decompose())
        for move in MOVES
    )


def _after(parts: Sequence[Placed], other: Placed, way: Vec, far: float) -> float:
    low, high = 0.0, far
    while high - low > _FINE:
        middle = (low + high) / 2
        if _bars(_passed(parts, way, middle), other):
            high = middle
        else:
            low = middle
    return low


# --- room beside the way ----------------------------------------------------------------------------------


def room_beside(
    parts: Sequence[Placed], others: Sequence[Placed], way: Vec, reach: float
) -> tuple[float, int] | None:
    """Least room, millimetres square to the way, on each side of the travelling parts when they run midway between
    walls that hold them in from two sides, and which of the others is the nearer of these as they stand.

    None where nothing holds them in so within ``reach``: what slides along a wall on one side only cannot jam.
    """
    rooms = _rooms(parts, others, way, reach)
    best: tuple[float, int] | None = None
    for wall, room, index in rooms:
        for against, other_room, other in rooms:
            if float(wall @ against) > -_SQUARELY:
                continue
            half = (room + other_room) / 2
            if best is None or round(half, 6) < round(best[0], 6):
                best = (half, index if round(room, 6) <= round(other_room, 6) else other)
    return best


def _rooms(
    parts: Sequence[Placed], others: Sequence[Placed], way: Vec, reach: float
) -> list[tuple[Array, float, int]]:
    """For each direction that a wall of the parts looks: the least room to what faces it, and what that is."""
    own = [e for part in parts for e in _walls(part, way)]
    theirs = [(e, i) for i, other in enumerate(others) for e in _walls(other, way)]
    if not own or not theirs:
        return []
    tree = shapely.STRtree([e.flat for e, _ in theirs])
    found: dict[tuple[float, float], tuple[Array, float, int]] = {}
    for wall in own:
        key = (round(float(wall.normal[0]), 3) + 0.0, round(float(wall.normal[1]), 3) + 0.0)
        for j in sorted(tree.query(wall.flat, predicate="dwithin", distance=reach).tolist()):
            other, index = theirs[j]
            if other.high <= wall.low + _LEAST_HEIGHT or float(wall.normal @ other.normal) > _OPPOSED:
                continue
            room = _room(wall, other)
            if room <= reach and (key not in found or round(room, 6) < round(found[key][1], 6)):
                found[key] = (wall.normal, room, index)
    return [found[key] for key in sorted(found)]


@dataclass(frozen=True, eq=False)
class _Wall:
    """A facet along the way, or a sharp edge that stands out beside it."""

    points: Array
    """(n, 3): two coordinates square to the way, one along it."""
    normal: Array
    """(2,) out of the wood, square to the way."""

    @property
    def low(self) -> float:
        return float(self.points[:, 2].min())

    @property
    def high(self) -> float:
        return float(self.points[:, 2].max())

    @property
    def flat(self) -> shapely.Geometry:
        return shapely.LineString(np.concatenate([self.points[:, :2], self.points[:1, :2]]))


def _walls(part: Placed, way: Vec) -> Iterator[_Wall]:
    solid, frame = part
    x = world_vertices(solid, frame)
    triangles = solid.triangles if frame.determinant > 0 else solid.triangles[:, ::-1]
    flat = np.stack([x @ np.array(axis) for axis in (*_across(way), way)], axis=1)
    corners = flat[triangles]
    normals = crosses(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(1))
    normals = normals / np.where(size > 0, size, 1.0)[:, None]
    slope = normals[:, 2]
    edges: dict[tuple[int, int], list[int]] = {}
    for t, corner in enumerate(triangles.tolist()):
        if size[t] > 1e-9 and abs(slope[t]) <= ALONG:
            yield _Wall(corners[t], _level(normals[t]))
        for i in range(3):
            a, b = corner[i], corner[(i + 1) % 3]
            edges.setdefault((min(a, b), max(a, b)), []).append(t)
    for (a, b), sides in edges.items():
        if len(sides) == 2 and min(slope[sides]) < -ALONG and max(slope[sides]) > ALONG:
            yield _Wall(flat[[a, b]], _level(normals[sides[0]] + normals[sides[1]]))


def _across(way: Vec) -> tuple[Vec, Vec]:
    """Two unit directions square to the way and to each other."""
    least = min(range(3), key=lambda i: (round(abs(way[i]), 6), i))
    start: Vec = (float(least == 0), float(least == 1), float(least == 2))
    k = dot(start, way)
    u = unit((start[0] - k * way[0], start[1] - k * way[1], start[2] - k * way[2]))
    return u, cross(way, u)


def _level(normal: Array) -> Array:
    flat = normal[:2]
    size = math.hypot(float(flat[0]), float(flat[1]))
    return flat / size if size > 1e-12 else flat * 0.0


def _room(wall: _Wall, other: _Wall) -> float:
    """Least distance square to the way from a point of the travelling wall to one of the other at its height or
    above: to all of it, or the least over the heights (the distance is convex in the height)."""
    if float(wall.points[:, 2].max()) <= other.low:
        return float(shapely.distance(wall.flat, other.flat))
    low, high = max(wall.low, other.low), other.high
    k = (math.sqrt(5) - 1) / 2
    a, b = high - k * (high - low), low + k * (high - low)
    at_a, at_b = _room_at(wall, other, a), _room_at(wall, other, b)
    for _ in range(_STEPS):
        if at_a <= at_b:
            high, b, at_b = b, a, at_a
            a = high - k * (high - low)
            at_a = _room_at(wall, other, a)
        else:
            low, a, at_a = a, b, at_b
            b = low + k * (high - low)
            at_b = _room_at(wall, other, b)
    return min(at_a, at_b)


def _room_at(wall: _Wall, other: _Wall, height: float) -> float:
    here = _cut(other.points, height, below=False)
    passing = _cut(wall.points, height, below=True)
    return float(
        shapely.distance(shapely.MultiPoint(passing).convex_hull, shapely.MultiPoint(here).convex_hull)
    )


def _cut(points: Array, height: float, *, below: bool) -> Array:
    """The points of a facet or edge at a height, or up to it, as the corners of what is left, square to the way."""
    found = []
    for p, q in zip(points, np.roll(points, -1, axis=0), strict=True):
        if below and p[2] <= height:
            found.append(p[:2])
        if (p[2] - height) * (q[2] - height) < 0:
            k = (height - p[2]) / (q[2] - p[2])
            found.append(p[:2] + (q[:2] - p[:2]) * k)
        elif not below and p[2] == height:
            found.append(p[:2])
    return np.array(found).reshape(-1, 2)
