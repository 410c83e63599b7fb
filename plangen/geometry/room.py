"""Room beside solids that travel along a straight way.

It is measured square to the way between walls: surfaces that the way runs along. A seat that a part lifts off at
once is no wall, however near it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from plangen.geometry.clash import Placed, world_vertices
from plangen.geometry.patches import Array, crosses
from plangen.geometry.vectors import Vec, cross, dot, unit

ALONG = math.sin(math.radians(2))
"""A surface that leans less than this to the way is a wall: a part swells against it and slides along it."""
_OPPOSED = -0.5
_SQUARELY = 0.9
"""Cosine: walls hold a part in from two sides where their directions are no farther from opposite."""
_LEAST_HEIGHT = 1e-3
"""Millimetres that two walls must share along the way."""
_AT_ONCE = 128
"""Pairs of walls measured together; the nearest are measured first, so that most need not be measured at all."""
_SLIGHT = 1e-12
"""Sine of an angle that is rounding."""
_SHORT = 1e-6
"""Millimetres: the ends of a shorter line are near enough to any point of it."""


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
            if wall[0] * against[0] + wall[1] * against[1] > -_SQUARELY:
                continue
            half = (room + other_room) / 2
            if best is None or round(half, 6) < round(best[0], 6):
                best = (half, index if round(room, 6) <= round(other_room, 6) else other)
    return best


@dataclass(frozen=True, eq=False)
class _Walls:
    """Facets along the way, and sharp edges that stand out beside it."""

    corners: Array
    """(n, 3, 3): two coordinates square to the way, one along it; an edge's last corner stands twice."""
    normals: Array
    """(n, 2) out of the wood, square to the way."""
    owners: Array
    """(n,) which of the solids."""


def _rooms(
    parts: Sequence[Placed], others: Sequence[Placed], way: Vec, reach: float
) -> list[tuple[tuple[float, float], float, int]]:
    """For each direction that a wall of the parts looks: the least room to what faces it, and what that is."""
    own, theirs = _walls(parts, way), _walls(others, way)
    if not len(own.owners) or not len(theirs.owners):
        return []
    i, j = _facing(own, theirs, reach)
    looks = np.round(own.normals, 3) + 0.0
    directions, look = np.unique(looks, axis=0, return_inverse=True)
    look = look.reshape(-1)[i]
    bound = _least_apart(own, theirs, i, j)
    nearest = np.full(len(directions), reach)
    order = np.lexsort((np.arange(len(i)), bound))
    room = np.full(len(i), np.inf)
    for start in range(0, len(order), _AT_ONCE):
        pairs = order[start : start + _AT_ONCE]
        pairs = pairs[bound[pairs] <= nearest[look[pairs]] + 1e-6]
        room[pairs] = least_way_between(own.corners[i[pairs]], theirs.corners[j[pairs]])
        np.minimum.at(nearest, look[pairs], room[pairs])
    found: list[tuple[tuple[float, float], float, int]] = []
    for k in range(len(directions)):
        mine = np.flatnonzero((look == k) & (room <= reach))
        if len(mine):
            best = mine[np.argmin(np.round(room[mine], 6))]
            x, y = own.normals[i[best]].tolist()
            found.append(((x, y), float(room[best]), int(theirs.owners[j[best]])))
    return found


def _facing(own: _Walls, theirs: _Walls, reach: float) -> tuple[Array, Array]:
    """Pairs of walls that look at each other, pass each other on the way and are near enough to matter, in order."""
    (low, high), (their_low, their_high) = (
        (w.corners.min(axis=1), w.corners.max(axis=1)) for w in (own, theirs)
    )
    tree = shapely.STRtree(shapely.box(their_low[:, 0], their_low[:, 1], their_high[:, 0], their_high[:, 1]))
    near = shapely.box(low[:, 0] - reach, low[:, 1] - reach, high[:, 0] + reach, high[:, 1] + reach)
    i, j = tree.query(near)
    passing = their_high[j, 2] > low[i, 2] + _LEAST_HEIGHT
    a, b = own.normals[i], theirs.normals[j]
    kept = passing & (a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1] <= _OPPOSED)
    i, j = i[kept], j[kept]
    order = np.lexsort((j, i))
    return i[order], j[order]


def _least_apart(own: _Walls, theirs: _Walls, i: Array, j: Array) -> Array:
    """What the room of each pair cannot be less than: how far their shadows, seen along the way, lie apart in the
    two directions of the axes and in that of the travelling wall."""
    a, b = own.corners[i][..., :2], theirs.corners[j][..., :2]
    box = np.maximum(a.min(axis=1) - b.max(axis=1), b.min(axis=1) - a.max(axis=1)).max(axis=1, initial=0.0)
    n = own.normals[i][:, None, :]
    ahead = (b * n).sum(2).min(axis=1) - (a * n).sum(2).max(axis=1)
    return np.maximum(np.maximum(box, ahead), 0.0)


def _walls(solids: Sequence[Placed], way: Vec) -> _Walls:
    found = [(w, np.full(len(w[0]), k)) for k, solid in enumerate(solids) for w in _walls_of(solid, way)]
    if not found:
        return _Walls(np.empty((0, 3, 3)), np.empty((0, 2)), np.empty(0, dtype=int))
    return _Walls(
        np.concatenate([w[0] for w, _ in found]),
        np.concatenate([w[1] for w, _ in found]),
        np.concatenate([k for _, k in found]),
    )


def _walls_of(part: Placed, way: Vec) -> Iterator[tuple[Array, Array]]:
    """Corners and normals of a solid's facets along the way, then of its sharp edges beside it."""
    solid, frame = part
    x = world_vertices(solid, frame)
    triangles = solid.triangles if frame.determinant > 0 else solid.triangles[:, ::-1]
    flat = np.stack([x[:, 0] * a[0] + x[:, 1] * a[1] + x[:, 2] * a[2] for a in (*_across(way), way)], axis=1)
    corners = flat[triangles]
    normals = crosses(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.sqrt((normals * normals).sum(1))
    normals = normals / np.where(size > 0, size, 1.0)[:, None]
    slope = normals[:, 2]
    walls = (size > 1e-9) & (np.abs(slope) <= ALONG)
    yield corners[walls], _level(normals[walls])
    ends, one, other = _shared_edges(triangles)
    sharp = np.minimum(slope[one], slope[other]) < -ALONG
    sharp &= np.maximum(slope[one], slope[other]) > ALONG
    a, b = ends[sharp].T
    yield flat[np.stack([a, b, b], axis=1)], _level(normals[one[sharp]] + normals[other[sharp]])


def _shared_edges(triangles: Array) -> tuple[Array, Array, Array]:
    """The ends (n, 2) of each edge between two facets, and these two facets, as the facets come to them."""
    ends = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, first, number = np.unique(ends, axis=0, return_index=True, return_inverse=True)
    number = number.reshape(-1)
    last = np.empty(len(edges), dtype=int)
    last[number] = np.arange(len(ends))
    of_two = np.flatnonzero(np.bincount(number, minlength=len(edges)) == 2)
    of_two = of_two[np.argsort(first[of_two])]
    return edges[of_two], first[of_two] // 3, last[of_two] // 3


def _across(way: Vec) -> tuple[Vec, Vec]:
    """Two unit directions square to the way and to each other."""
    least = min(range(3), key=lambda i: (round(abs(way[i]), 6), i))
    start: Vec = (float(least == 0), float(least == 1), float(least == 2))
    k = dot(start, way)
    u = unit((start[0] - k * way[0], start[1] - k * way[1], start[2] - k * way[2]))
    return u, cross(way, u)


def _level(normals: Array) -> Array:
    flat = normals[:, :2]
    size = np.sqrt((flat * flat).sum(1))[:, None]
    return np.where(size > 1e-12, flat / np.where(size > 1e-12, size, 1.0), 0.0)


# --- two walls --------------------------------------------------------------------------------------------


def least_way_between(walls: Array, others: Array) -> Array:
    """Least distance square to the way from a point of each travelling wall to one of the other at its height or
    above it: (n,) for corners (n, 3, 3) each.

    The differences of the points of two facets fill the hull of the differences of their corners. Those that count
    lie at or below height 0; that part of a hull is the hull of the corners there and of the places where a line
    between two corners passes height 0. Seen along the way it is a plane figure, and the room is its distance from
    the origin: exactly, without a search.
    """
    apart = (walls[:, :, None, :] - others[:, None, :, :]).reshape(len(walls), 9, 3)
    a, b = (apart[:, list(side)] for side in zip(*combinations(range(9), 2), strict=True))
    rise = a[..., 2] - b[..., 2]
    passes = a[..., 2] * b[..., 2] < 0
    share = a[..., 2] / np.where(passes, rise, 1.0)
    met = a[..., :2] + (b[..., :2] - a[..., :2]) * share[..., None]
    points = np.concatenate([apart[..., :2], met], axis=1)
    counts = np.concatenate([apart[..., 2] <= 0, passes], axis=1)
    # What does not count gives way to a corner that does: the lowest.
    lowest = apart[np.arange(len(apart)), np.argmin(apart[..., 2], axis=1), :2]
    return _from_origin(np.where(counts[..., None], points, lowest[:, None, :]))


def _from_origin(points: Array) -> Array:
    """The distance of the origin from the hull of each row of plane points (n, m, 2): (n,); 0 inside.

    Outside, some point has all others to one side of the line to it from the origin.
    """
    x, y = points[..., 0], points[..., 1]
    size = np.sqrt(x * x + y * y)
    turn = x[:, :, None] * y[:, None, :] - y[:, :, None] * x[:, None, :]
    aside = turn >= -_SLIGHT * size[:, :, None] * size[:, None, :]
    outside = aside.all(axis=2).any(axis=1)
    dx, dy = x[:, None, :] - x[:, :, None], y[:, None, :] - y[:, :, None]
    long = dx * dx + dy * dy
    ahead = -(x[:, :, None] * dx + y[:, :, None] * dy)
    beside = (ahead > 0) & (ahead < long) & (long > _SHORT * _SHORT)
    off = np.abs(x[:, :, None] * dy - y[:, :, None] * dx) / np.sqrt(np.where(beside, long, 1.0))
    least = np.minimum(np.where(beside, off, np.inf).min(axis=(1, 2)), size.min(axis=1))
    return np.where(outside, least, 0.0)
