"""Convex regions: what a handful of planes leave of space, with exact corners.

The mesh kernel is not asked: a convex polyhedron is clipped by one plane after the other, and its corners
are then solved from the three planes that meet there. Lengths are millimetres.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations, pairwise

from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import Point, add, cross, dot, length, scale, sub

REGION_TOLERANCE = 1e-7
"""Millimetres. A corner this near to a plane lies on it; a region no thicker than this is flat."""

BOUND = -1
"""Plane index of a face that lies on the bounding cube, so is no face of the region proper."""


@dataclass(frozen=True)
class ConvexRegion:
    """The points on the inner side of all of a set of planes."""

    indices: tuple[int, ...]
    """Which of the planes given carry area, in the order given; of coincident planes the first."""
    planes: tuple[Plane, ...]
    """Those planes."""
    vertices: tuple[Point, ...]
    faces: tuple[tuple[int, tuple[Point, ...]], ...]
    """(index of the plane as given, corners counter-clockwise seen from outside), in the order of
    ``indices``, then those on the bounding cube, whose index is ``BOUND``."""
    areas: tuple[float, ...]
    """Square millimetres, one for each of ``faces``."""
    volume: float
    centroid: Point
    unbounded: bool
    """Some face lies on the bounding cube: the planes alone do not close the region."""

    def face(self, index: int) -> tuple[Point, ...]:
        """Corners of the face on the plane given at ``index``; empty where that plane carries no area."""
        return next((polygon for i, polygon in self.faces if i == index), ())

    def area(self, index: int) -> float:
        """Area on the plane given at ``index``; 0 where it carries none."""
        return math.fsum(a for (i, _), a in zip(self.faces, self.areas, strict=True) if i == index)


@dataclass
class _Hull:
    """A convex polyhedron being clipped: ``faces`` hold vertex numbers, outside counter-clockwise."""

    points: list[Point]
    faces: list[tuple[int, list[int]]]
    """(index into ``planes``, loop)"""
    planes: list[Plane] = field(default_factory=list)


def convex_region(planes: Sequence[Plane], bound: float) -> ConvexRegion | None:
    """The region on the inner side of all ``planes``, in the cube of half-size ``bound`` about the origin.

    Planes may repeat, touch or be idle. None where nothing thicker than ``REGION_TOLERANCE`` is left.
    Remembered by the planes, their bits told apart, as 0.0 and -0.0 are not by value.
    """
    bits = array("d", [x for p in planes for x in (*p.normal, p.offset)]).tobytes()
    return _remembered_region(tuple(planes), bits, bound)


@lru_cache(maxsize=4096)
def _remembered_region(planes: tuple[Plane, ...], bits: bytes, bound: float) -> ConvexRegion | None:
    hull = _cube(bound)
    for index, plane in enumerate(planes):
        hull.planes.append(plane)
        if not _clip(hull, plane, index + 6):
            return None
    return _measured(hull)


def _cube(bound: float) -> _Hull:
    points = [(x, y, z) for x in (-bound, bound) for y in (-bound, bound) for z in (-bound, bound)]
    loops = ([0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3])
    box = Box((-bound, -bound, -bound), (2 * bound, 2 * bound, 2 * bound)).planes().values()
    return _Hull(points, list(enumerate(loops)), list(box))


def _clip(hull: _Hull, plane: Plane, index: int) -> bool:
    """Take the outer side of ``plane`` off the hull; False where nothing is left."""
    used = {v for _, loop in hull.faces for v in loop}
    heights = {}
    for v in used:
        h = plane.distance(hull.points[v])
        heights[v] = 0.0 if abs(h) <= REGION_TOLERANCE else h
    if all(h <= 0.0 for h in heights.values()):
        return any(h < 0.0 for h in heights.values())
    if all(h >= 0.0 for h in heights.values()):
        return False
    crossings: dict[tuple[int, int], int] = {}
    kept = []
    for owner, loop in hull.faces:
        clipped = _clip_loop(hull.points, loop, heights, crossings)
        if len(clipped) >= 3 and any(heights.get(v, 0.0) < 0.0 for v in clipped):
            kept.append((owner, clipped))
    cap = _open_loop([loop for _, loop in kept])
    if len(cap) >= 3:
        kept.append((index, cap))
    hull.faces = kept
    return len(kept) >= 4


def _clip_loop(
    points: list[Point], loop: list[int], heights: dict[int, float], crossings: dict[tuple[int, int], int]
) -> list[int]:
    """The part of a face's loop at heights <= 0; corners made on its edges are added to ``points``."""
    clipped = []
    for a, b in zip(loop, loop[1:] + loop[:1], strict=True):
        ha, hb = heights[a], heights[b]
        if ha <= 0.0:
            clipped.append(a)
        if ha * hb < 0.0:
            key = (min(a, b), max(a, b))
            if key not in crossings:
                low, high = key
                share = heights[low] / (heights[low] - heights[high])
                crossings[key] = len(points)
                points.append(add(points[low], scale(sub(points[high], points[low]), share)))
            clipped.append(crossings[key])
    return clipped


def _open_loop(loops: list[list[int]]) -> list[int]:
    """The loop that closes a hull with one face missing: its half-edges that have no partner."""
    directed = {(a, b) for loop in loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True)}
    following = {b: a for a, b in directed if (b, a) not in directed}
    if not following:
        return []
    start = min(following)
    chain = [start]
    while (after := following.get(chain[-1], start)) != start and len(chain) < len(following):
        chain.append(after)
    return chain


def _measured(hull: _Hull) -> ConvexRegion | None:
    corners = _exact_corners(hull)
    faces: list[tuple[int, tuple[Point, ...]]] = []
    for owner, loop in sorted(hull.faces, key=lambda face: (face[0] < 6, face[0])):
        polygon = _without_repeats([corners[v] for v in loop])
        if len(polygon) >= 3:
            faces.append((owner - 6 if owner >= 6 else BOUND, polygon))
    measures = [(i, polygon, _area(polygon)) for i, polygon in faces]
    measures = [m for m in measures if m[2] > REGION_TOLERANCE * _longest(m[1])]
    if len(measures) < 4:
        return None
    volume, centroid = _volume([polygon for _, polygon, _ in measures])
    if volume <= REGION_TOLERANCE * max(area for _, _, area in measures):
        return None
    indices = tuple(i for i, _, _ in measures if i != BOUND)
    return ConvexRegion(
        indices=indices,
        planes=tuple(hull.planes[i + 6] for i in indices),
        vertices=tuple(sorted({p for _, polygon, _ in measures for p in polygon})),
        faces=tuple((i, polygon) for i, polygon, _ in measures),
        areas=tuple(area for _, _, area in measures),
        volume=volume,
        centroid=centroid,
        unbounded=any(i == BOUND for i, _, _ in measures),
    )


def _exact_corners(hull: _Hull) -> dict[int, Point]:
    """Each corner solved from the three most nearly square planes that meet in it, near ones made one."""
    meeting: dict[int, list[int]] = {}
    for owner, loop in hull.faces:
        for v in loop:
            meeting.setdefault(v, []).append(owner)
    corners: dict[int, Point] = {}
    distinct: list[Point] = []
    for v in sorted(meeting):
        p = _meeting_point([hull.planes[i] for i in sorted(meeting[v])[-6:]], hull.points[v])
        same = next((q for q in distinct if length(sub(p, q)) <= REGION_TOLERANCE), None)
        if same is None:
            distinct.append(p)
        corners[v] = same or p
    return corners


def _meeting_point(planes: list[Plane], near: Point) -> Point:
    best, chosen = 1e-6, None
    for a, b, c in combinations(planes, 3):
        volume = abs(dot(a.normal, cross(b.normal, c.normal)))
        if volume > best * (1 + 1e-9):
            best, chosen = volume, (a, b, c)
    return near if chosen is None else three_planes(*chosen)


def three_planes(a: Plane, b: Plane, c: Plane) -> Point:
    """The point common to three planes (Cramer's rule). Raises ZeroDivisionError where there is none."""
    bc, ca, ab = cross(b.normal, c.normal), cross(c.normal, a.normal), cross(a.normal, b.normal)
    sums = add(add(scale(bc, a.offset), scale(ca, b.offset)), scale(ab, c.offset))
    determinant = dot(a.normal, bc)
    return (sums[0] / determinant, sums[1] / determinant, sums[2] / determinant)


def _without_repeats(polygon: list[Point]) -> tuple[Point, ...]:
    return tuple(p for p, before in zip(polygon, polygon[-1:] + polygon[:-1], strict=True) if p != before)


def _area(polygon: tuple[Point, ...]) -> float:
    first = polygon[0]
    normals = [cross(sub(a, first), sub(b, first)) for a, b in pairwise(polygon[1:])]
    return 0.5 * length(
        (math.fsum(n[0] for n in normals), math.fsum(n[1] for n in normals), math.fsum(n[2] for n in normals))
    )


def _longest(polygon: tuple[Point, ...]) -> float:
    return max(length(sub(a, b)) for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True))


def _volume(polygons: list[tuple[Point, ...]]) -> tuple[float, Point]:
    """Volume and centroid, by tetrahedra over one corner so that a far origin costs no digits."""
    apex = polygons[0][0]
    sixths, moments = [], []
    for polygon in polygons:
        first = sub(polygon[0], apex)
        for p, q in pairwise(polygon[1:]):
            a, b = sub(p, apex), sub(q, apex)
            sixth = dot(first, cross(a, b))
            sixths.append(sixth)
            moments.append(scale(add(first, add(a, b)), sixth / 4))
    total = math.fsum(sixths)
    if total <= 0.0:
        return 0.0, apex
    centre = tuple(math.fsum(m[i] for m in moments) / total for i in range(3))
    return total / 6, add(apex, (centre[0], centre[1], centre[2]))
