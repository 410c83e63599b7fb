"""Solids against each other: what they share, where they touch, what they fill together.

The mesh kernel now and then reports a shared volume for solids that only touch. A clash is therefore a
*thickness*, 2 V / A of the shared region, that outlasts small moves of one body.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import manifold3d
import numpy as np

from plangen.geometry.cutting import mesh_of, placed
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.patches import FACET_SAG, Array, PatchSet, crosses
from plangen.geometry.skin import move_to_surfaces
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec

CLASH_THICKNESS = 1e-3
"""Millimetres two solids may share before they clash."""
MOVE = 1e-4
"""Millimetres one body is moved to see whether a shared region is real."""
MOVES: tuple[Vec, ...] = (
    (0.0, 0.0, 0.0),
    (0.8 * MOVE, 0.48 * MOVE, 0.36 * MOVE),
    (-0.6 * MOVE, 0.64 * MOVE, 0.48 * MOVE),
    (0.0, -0.6 * MOVE, 0.8 * MOVE),
)
"""Nowhere and along three directions square to each other, askew to any plane of a member."""

Placed = tuple[Solid, Frame]


@dataclass(frozen=True)
class Clash:
    """A region that two solids both claim."""

    thickness: float
    """Millimetres: 2 V / A, for a thin region its thickness."""
    volume: float
    """Cubic millimetres."""
    point: Point
    """Its centroid, in the world."""


def clash(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame) -> Clash | None:
    """The region two placed solids share, None where they only touch or keep apart.

    Holes are taken at their facets' outer circle and posts at their inner, so a peg that fills its hole is no
    clash; a real overlap between two round surfaces is seen from about 0.01 mm.
    """
    if not _boxes_meet(bounding_box(a, frame_a), bounding_box(b, frame_b), -CLASH_THICKNESS):
        return None
    relative = _relative(frame_a, frame_b)
    fixed, moving = clearing_mesh(a), placed(clearing_mesh(b), relative)
    least: tuple[float, manifold3d.Manifold] | None = None
    for move in MOVES:
        shared = fixed ^ (moving if move == MOVES[0] else moving.translate(move))
        thickness = thickness_of(shared)
        if thickness <= CLASH_THICKNESS:
            return None
        if least is None or thickness < least[0]:
            least = (thickness, shared)
    if least is None:
        return None
    volume, centroid = _centroid(least[1])
    return Clash(least[0], volume, frame_a.point(centroid))


def _relative(frame_a: Frame, frame_b: Frame) -> Frame:
    """The pose of b as seen from a."""
    axes = [frame_a.local_direction(v) for v in frame_b.axes]
    return Frame(frame_a.local_point(frame_b.origin), axes[0], axes[1], axes[2])


def thickness_of(shared: manifold3d.Manifold) -> float:
    """2 V / A of a region, millimetres; 0 for none."""
    if shared.is_empty():
        return 0.0
    area = shared.surface_area()
    return 2 * shared.volume() / area if area > 0 else 0.0


@lru_cache(maxsize=1024)
def solid_mesh(solid: Solid) -> manifold3d.Manifold:
    """The solid's facets as the mesh kernel holds them, in the solid's own frame."""
    return mesh_of(solid.vertices, solid.triangles)


@lru_cache(maxsize=1024)
def clearing_mesh(solid: Solid) -> manifold3d.Manifold:
    """The solid's facets with those of its holes round the true circle instead of in it."""
    holes = [isinstance(f, Cylinder | Cone) and f.side == "hole" for f in solid.forms]
    if not any(holes):
        return solid_mesh(solid)
    wider = [f.shifted(-1.2 * FACET_SAG) if h else f for f, h in zip(solid.forms, holes, strict=True)]
    x = move_to_surfaces(solid.vertices, solid.triangles, solid.triangle_form, PatchSet(wider))
    # A vertex on a ruling where a hole runs smoothly into its neighbour has no place on the wider hole.
    far = ((x - solid.vertices) ** 2).sum(1) > (50 * FACET_SAG) ** 2
    return mesh_of(np.where(far[:, None], solid.vertices, x), solid.triangles)


def _centroid(shared: manifold3d.Manifold) -> tuple[float, Point]:
    mesh = shared.to_mesh64()
    x = np.asarray(mesh.vert_properties)[:, :3]
    a, b, c = (x[np.asarray(mesh.tri_verts)[:, i].astype(np.int64)] - x[0] for i in range(3))
    sixth = (a * crosses(b, c)).sum(1)
    total = math.fsum(sixth.tolist())
    moments = (a + b + c) * (sixth / 4)[:, None]
    centre = [math.fsum(moments[:, i].tolist()) / total + float(x[0, i]) for i in range(3)]
    return total / 6, (centre[0], centre[1], centre[2])


def world_vertices(solid: Solid, frame: Frame) -> Array:
    """(n, 3) vertices of a placed solid."""
    x = solid.vertices
    rows = frame.matrix()[:3]
    return np.stack([x[:, 0] * r[0] + x[:, 1] * r[1] + x[:, 2] * r[2] + r[3] for r in rows], axis=1)


def bounding_box(solid: Solid, frame: Frame) -> tuple[Point, Point]:
    """Least and greatest world coordinates of the solid's vertices."""
    x = world_vertices(solid, frame)
    low, high = x.min(axis=0).tolist(), x.max(axis=0).tolist()
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _boxes_meet(a: tuple[Point, Point], b: tuple[Point, Point], gap: float) -> bool:
    return all(a[0][i] <= b[1][i] + gap and b[0][i] <= a[1][i] + gap for i in range(3))


def overlapping_pairs(solids: Sequence[Placed], gap: float = 0.0) -> Iterator[tuple[int, int]]:
    """Pairs (i, j), i < j, whose world bounding boxes come within ``gap`` mm, in order."""
    boxes = [bounding_box(solid, frame) for solid, frame in solids]
    pairs = []
    active: list[int] = []
    for i in sorted(range(len(boxes)), key=lambda k: (boxes[k][0][0], k)):
        active = [j for j in active if boxes[j][1][0] + gap >= boxes[i][0][0]]
        pairs += [(min(i, j), max(i, j)) for j in active if _boxes_meet(boxes[i], boxes[j], gap)]
        active.append(i)
    yield from sorted(pairs)


def union_volume(solids: Sequence[Placed]) -> float:
    """Cubic millimetres that the placed solids fill together, by their facets.

    The union is made in two poses; where they differ by more than 1e-9 of the whole a third decides.
    """
    volumes = [_union_in_pose(solids, WORLD), _union_in_pose(solids, _ASKEW[0])]
    if abs(volumes[0] - volumes[1]) > 1e-9 * max(volumes):
        volumes.append(_union_in_pose(solids, _ASKEW[1]))
    return sorted(volumes)[len(volumes) // 2]


_ASKEW = (
    Frame((0.0, 0.0, 0.0), (0.8, 0.48, 0.36), (-0.6, 0.64, 0.48), (0.0, -0.6, 0.8)),
    Frame((0.0, 0.0, 0.0), (0.36, 0.48, 0.8), (0.48, 0.64, -0.6), (-0.8, 0.6, 0.0)),
)


def _union_in_pose(solids: Sequence[Placed], pose: Frame) -> float:
    meshes = [placed(solid_mesh(solid), pose.after(frame)) for solid, frame in solids]
    return float(manifold3d.Manifold.batch_boolean(meshes, manifold3d.OpType.Add).volume()) if meshes else 0.0


def volume_within(solid: Solid, frame: Frame, planes: Sequence[Plane]) -> float:
    """Cubic millimetres of the placed solid on the inner side of all the world planes."""
    left = placed(solid_mesh(solid), frame)
    for plane in planes:
        inward = plane.flipped()
        left = left.trim_by_plane(inward.normal, inward.offset)
    return float(left.volume())


def lost_volume(bodies: Sequence[Placed], members: Sequence[Placed]) -> tuple[float, float]:
    """Cubic millimetres that all the placed bodies share, and of these what no placed member holds, by facets."""
    shared = placed(solid_mesh(bodies[0][0]), bodies[0][1])
    for solid, frame in bodies[1:]:
        shared ^= placed(solid_mesh(solid), frame)
    left = shared
    for solid, frame in members:
        left -= placed(solid_mesh(solid), frame)
    return float(shared.volume()), max(0.0, float(left.volume()))


def gap_between_solids(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame, reach: float) -> float:
    """Least distance between two placed solids, millimetres, by their facets; ``reach`` where it is more."""
    return float(placed(solid_mesh(a), frame_a).min_gap(placed(solid_mesh(b), frame_b), reach))
