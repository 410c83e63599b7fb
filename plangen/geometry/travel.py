"""Solids that travel along a straight way: what they meet.

What a solid passes is the union of a prism on each facet that looks the way it goes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely

from plangen.geometry.clash import CLASH_THICKNESS, MOVES, Placed, clearing_mesh, thickness_of, world_vertices
from plangen.geometry.cutting import mesh_of, placed
from plangen.geometry.patches import Array, crosses, dots
from plangen.geometry.vectors import Vec

_FORWARD = 1e-7
_FINE = 0.01
"""Millimetres within which the place of the first contact is found."""
_NEAR = 0.01
"""Millimetres: facets that pass a solid's box no nearer than this do not meet it, however it is moved to see."""


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
    facets = _forward(parts, way)
    met = [i for i, other in enumerate(others) if _bars(facets, way, far, other)]
    if not met:
        return None
    found = [Obstacle(i, _after(facets, others[i], way, far)) for i in met]
    return min(found, key=lambda o: (round(o.after, 2), o.index))


def is_met(part: Placed, other: Placed, way: Vec) -> bool:
    """Whether ``other`` bars a part that travels along ``way`` (unit) without end, judged as ``first_met`` does."""
    facets, far = _forward([part], way), _reach([part], [other], way)
    if len(facets) <= _MANY_FACETS:
        return _bars(facets, way, far, other)
    return _met_at_a_step(part, other, way, far)


_MANY_FACETS = 150
"""Facets of which a prism each is still quicker than moving the whole part along, step by step."""
_FIRST_STEP, _MOST_STEP = 0.5, 18.0
"""Millimetres between the places of a part that is moved along: close together where it leaves its joint, and then
no farther apart than most parts are thick."""


def _met_at_a_step(part: Placed, other: Placed, way: Vec, far: float) -> bool:
    moving, standing = (placed(clearing_mesh(p[0]), p[1]) for p in (part, other))
    at, step = 0.0, _FIRST_STEP
    while at < far:
        at += step
        step = min(2 * step, _MOST_STEP)
        shared = moving.translate((way[0] * at, way[1] * at, way[2] * at)) ^ standing
        if not shared.is_empty() and any(thickness_of(p) > _FACETS_OFF for p in shared.decompose()):
            return True
    return False


_FACETS_OFF = 0.02
"""Millimetres that round parts may seem to share on the way, since they are looked at as facets."""


def shadows_meet(ours: Array, theirs: Array) -> bool:
    """Whether the convex hulls of two sets of points (n, 2), seen along a way, share more than a border: where they
    do not, neither solid can bar the other along it."""
    a, b = (shapely.convex_hull(shapely.multipoints(x)) for x in (ours, theirs))
    return float(a.intersection(b).area) > _NEAR * _NEAR


def _reach(parts: Sequence[Placed], others: Sequence[Placed], way: Vec) -> float:
    """How far the parts go until everything lies behind them."""
    low = min((float(dots(world_vertices(*p), np.array(way)).min()) for p in parts), default=0.0)
    high = max((float(dots(world_vertices(*p), np.array(way)).max()) for p in (*parts, *others)), default=0.0)
    return high - low + 1.0


def _forward(parts: Sequence[Placed], way: Vec) -> Array:
    """The corners (n, 3, 3) of the parts' facets that look the way they go."""
    found = [np.empty((0, 3, 3))]
    for solid, frame in parts:
        mesh = placed(clearing_mesh(solid), frame).to_mesh64()
        x = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts).astype(np.int64)]
        normals = crosses(x[:, 1] - x[:, 0], x[:, 2] - x[:, 0])
        found.append(x[dots(normals, np.array(way)) > _FORWARD * np.sqrt(dots(normals, normals))])
    return np.concatenate(found)


def _passed(facets: Array, way: Vec, distance: float) -> manifold3d.Manifold:
    """What facets pass on their way."""
    step = np.array(way) * distance
    prisms = [mesh_of(np.concatenate([facet, facet + step]), _PRISM) for facet in facets]
    return manifold3d.Manifold.batch_boolean(prisms, manifold3d.OpType.Add)


_PRISM = np.array([[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]])


def _bars(facets: Array, way: Vec, distance: float, other: Placed) -> bool:
    """Whether a solid stands in the way of facets that travel so far."""
    mesh = placed(clearing_mesh(other[0]), other[1])
    path = _passed(_coming_near(facets, way, distance, mesh), way, distance)
    # Each piece by itself: a long sliver where it slides along must not hide a small clash elsewhere.
    return all(
        any(thickness_of(piece) > CLASH_THICKNESS for piece in (path ^ mesh.translate(move)).decompose())
        for move in MOVES
    )


def _coming_near(facets: Array, way: Vec, distance: float, mesh: manifold3d.Manifold) -> Array:
    """The facets whose boxes, drawn out along their way, come near a mesh's box."""
    box = np.array(mesh.bounding_box())
    low, high, step = facets.min(axis=1), facets.max(axis=1), np.array(way) * distance
    ahead = np.minimum(low, low + step) <= box[3:] + _NEAR
    behind = np.maximum(high, high + step) >= box[:3] - _NEAR
    return facets[(ahead & behind).all(axis=1)]


def _after(facets: Array, other: Placed, way: Vec, far: float) -> float:
    low, high = 0.0, far
    while high - low > _FINE:
        middle = (low + high) / 2
        if _bars(facets, way, middle, other):
            high = middle
        else:
            low = middle
    return low
