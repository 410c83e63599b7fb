"""Convex pieces of a solid's faces: what can hide something.

A plane face whose holes are round is its outline without them, cut into convex polygons, and a *disc* for
each full circle or ellipse to leave out (or to add, where the outline itself is one). The wall of a plain hole
is its two rims (a *well*, see ``screens.py``); other curved faces are the facets of the mesh, joined in pairs
where two triangles lie in one plane.

A side of a polygon is a *seam* where another piece of the same face goes on: so that nothing slips through
between two pieces, and nothing is counted twice, the seam is moved to one side by a hair, the same for both.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import manifold3d
import numpy as np

from plangen.geometry.rows import cross_rows, dot_rows, unit_rows
from plangen.geometry.solid import Conic, Edge, Solid
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, neg, scale, sub, unit

MOST_SIDES = 8
Loop = list[int]


@dataclass
class Polygons:
    """Convex polygons, counter-clockwise seen from outside, as lists to be made into arrays."""

    corners: list[np.ndarray] = field(default_factory=list)
    """Each (k, 3), k from 3 to MOST_SIDES."""
    seams: list[tuple[int, ...]] = field(default_factory=list)
    """For each side (corner i to i + 1): 0 an outline, +1 or -1 a seam and the way it is moved."""
    normals: list[Vec] = field(default_factory=list)
    faces: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Disc:
    """A full ellipse in a plane face; ``opening`` where it is a hole in the face."""

    conic: Conic
    normal: Vec
    face: int
    other: int
    """The face on the other side of its rim."""
    opening: bool


@dataclass(frozen=True, eq=False)
class MeshEdges:
    """Directed edges of the mesh, three a triangle: edge 3 t + i goes from corner i to corner i + 1."""

    start: np.ndarray
    end: np.ndarray
    twin: np.ndarray
    """The edge of the neighbouring triangle that goes the other way."""
    face: np.ndarray
    """Face of the triangle that owns the edge."""


def mesh_edges(solid: Solid) -> MeshEdges:
    """The directed edges of the mesh and their twins. Raises ValueError where the mesh is not closed."""
    triangles = np.asarray(solid.triangles, dtype=np.int64)
    face_of = np.empty(len(triangles), dtype=np.int64)
    for index, face in enumerate(solid.faces):
        face_of[list(face.triangles)] = index
    start = triangles.reshape(-1)
    end = triangles[:, [1, 2, 0]].reshape(-1)
    count = len(solid.vertices)
    order = np.argsort(np.minimum(start, end) * count + np.maximum(start, end), kind="stable")
    one, two = order[0::2], order[1::2]
    if len(one) != len(two) or (start[one] != end[two]).any() or (end[one] != start[two]).any():
        raise ValueError("the mesh of a solid is not closed")
    twin = np.empty_like(order)
    twin[one], twin[two] = two, one
    return MeshEdges(start, end, twin, np.repeat(face_of, 3))


def plane_pieces(solid: Solid, edges: MeshEdges) -> tuple[Polygons, list[Disc]]:
    """Convex polygons and discs of all plane faces."""
    count = len(solid.faces)
    flat = np.array([isinstance(solid.forms[face.surface], Plane) for face in solid.faces])
    border = np.flatnonzero((edges.face[edges.twin] != edges.face) & flat[edges.face])
    between = edges.face[border] * count + edges.face[edges.twin[border]]
    discs = _read_discs(solid, edges, border, between)
    gone = np.array([disc.face * count + disc.other for disc in discs], dtype=np.int64)
    border = border[~np.isin(between, gone)]
    border = border[np.argsort(edges.face[border], kind="stable")]
    bounds = np.searchsorted(edges.face[border], np.arange(count + 1)).tolist()
    starts, ends = edges.start[border].tolist(), edges.end[border].tolist()
    points = [tuple(p) for p in solid.vertices.tolist()]
    polygons = Polygons()
    for index in np.unique(edges.face[border]).tolist():
        form = solid.forms[solid.faces[index].surface]
        span = slice(bounds[index], bounds[index + 1])
        if isinstance(form, Plane):
            _add_plane_face(polygons, _chain_loops(starts[span], ends[span]), points, form.normal, index)
    return polygons, discs


def _read_discs(solid: Solid, edges: MeshEdges, border: np.ndarray, between: np.ndarray) -> list[Disc]:
    """The full ellipses that bound plane faces, but for the outline of a face that has more than its outline."""
    discs: list[Disc] = []
    for edge in solid.edges:
        if not isinstance(edge.curve, Conic) or not _is_full(edge):
            continue
        for face, other in ((edge.left, edge.right), (edge.right, edge.left)):
            form = solid.forms[solid.faces[face].surface]
            if not isinstance(form, Plane):
                continue
            # One mesh edge of the loop: the face lies on its left.
            at = border[np.argmax(between == face * len(solid.faces) + other)]
            a, b = (tuple(solid.vertices[v].tolist()) for v in (edges.start[at], edges.end[at]))
            outward = dot(cross(form.normal, sub(b, a)), sub(a, edge.curve.centre)) > 0
            discs.append(Disc(edge.curve, form.normal, face, other, opening=outward))
    # A round outline about a hole that is not round: the polygon that is left must have its outline.
    gone = np.isin(between, [disc.face * len(solid.faces) + disc.other for disc in discs])
    more = set((between[~gone] // len(solid.faces)).tolist())
    return [disc for disc in discs if disc.opening or disc.face not in more]


def _chain_loops(starts: Sequence[int], ends: Sequence[int]) -> list[Loop]:
    """Border edges joined head to tail into loops of vertices."""
    following: dict[int, list[int]] = {}
    for a, b in zip(starts, ends, strict=True):
        following.setdefault(a, []).append(b)
    loops = []
    for first in starts:
        if not following.get(first):
            continue
        loop = [first]
        at = following[first].pop()
        while at != first:
            loop.append(at)
            at = following[at].pop()
        loops.append(loop)
    return loops


def _add_plane_face(
    polygons: Polygons, loops: list[Loop], points: Sequence[Point], normal: Vec, face: int
) -> None:
    """Cut a plane face into convex polygons and add them."""
    e1 = _square_to(normal)
    e2 = cross(normal, e1)
    flat: dict[int, tuple[float, float]] = {}
    for loop in loops:
        for v in loop:
            flat[v] = (dot(e1, points[v]), dot(e2, points[v]))
    if len(loops) == 1:
        corners = [v for i, v in enumerate(loops[0]) if _turn(flat, loops[0], i) != 0]
        if all(_turn(flat, corners, i) > 0 for i in range(len(corners))) and len(corners) <= MOST_SIDES:
            _add_polygon(polygons, corners, (0,) * len(corners), points, normal, face)
            return
    parts = merge_convex(flat, _triangulate(flat, loops))
    owner = {
        (a, b): k for k, part in enumerate(parts) for a, b in zip(part, part[1:] + part[:1], strict=True)
    }
    for k, part in enumerate(parts):
        sides = zip(part, part[1:] + part[:1], strict=True)
        others = [owner.get((b, a)) for a, b in sides]
        seams = tuple(0 if other is None else (1 if k < other else -1) for other in others)
        _add_polygon(polygons, part, seams, points, normal, face)


def _add_polygon(
    polygons: Polygons, loop: Loop, seams: tuple[int, ...], points: Sequence[Point], normal: Vec, face: int
) -> None:
    polygons.corners.append(np.array([points[v] for v in loop]))
    polygons.seams.append(seams)
    polygons.normals.append(normal)
    polygons.faces.append(face)


def _square_to(n: Vec) -> Vec:
    least = min(range(3), key=lambda i: (round(abs(n[i]), 6), i))
    pick = (float(least == 0), float(least == 1), float(least == 2))
    d = sub(pick, scale(n, dot(pick, n)))
    return scale(d, 1.0 / dot(d, d) ** 0.5)


def _turn(flat: dict[int, tuple[float, float]], loop: Loop, i: int) -> int:
    """+1 where the loop turns left at its corner ``i``, -1 right, 0 straight on."""
    return turn_sign(flat[loop[i - 1]], flat[loop[i]], flat[loop[(i + 1) % len(loop)]])


def turn_sign(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> int:
    """+1 where a, b, c turn left, -1 right, 0 where b lies on the straight line to 1e-9 radians."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    area = ux * vy - uy * vx
    if area * area <= 1e-18 * (ux * ux + uy * uy) * (vx * vx + vy * vy):
        return 0
    return 1 if area > 0 else -1


def _triangulate(flat: dict[int, tuple[float, float]], loops: list[Loop]) -> list[tuple[int, int, int]]:
    names = [v for loop in loops for v in loop]
    shapes = [np.array([flat[v] for v in loop]) for loop in loops]
    rows = manifold3d.triangulate(shapes, 1e-9).tolist()
    return [(names[a], names[b], names[c]) for a, b, c in rows]


def merge_convex(
    flat: dict[int, tuple[float, float]], triangles: Sequence[tuple[int, int, int]]
) -> list[Loop]:
    """Triangles joined across their common sides, the longest first, as long as all stay convex.

    The method of Hertel and Mehlhorn: at most four times as many pieces as the fewest possible.
    """
    parts: dict[int, Loop] = {k: list(t) for k, t in enumerate(triangles)}
    owner = {(a, b): k for k, t in parts.items() for a, b in zip(t, t[1:] + t[:1], strict=True)}

    outline = {side for side in owner if side[::-1] not in owner}

    def fits(before: int, corner: int, after: int) -> bool:
        """The piece turns left at the corner; straight on only along the face's own outline.

        A seam in line with an outline, or with another seam, could not be moved to one side alone.
        """
        turn = turn_sign(flat[before], flat[corner], flat[after])
        return turn > 0 or (turn == 0 and (before, corner) in outline and (corner, after) in outline)

    def size(side: tuple[int, int]) -> tuple[float, int, int]:
        (ax, ay), (bx, by) = flat[side[0]], flat[side[1]]
        return (-round((ax - bx) ** 2 + (ay - by) ** 2, 6), *side)

    for a, b in sorted(((a, b) for a, b in owner if a < b and (b, a) in owner), key=size):
        k, m = owner[a, b], owner[b, a]
        if k == m or len(parts[k]) + len(parts[m]) - 2 > MOST_SIDES:
            continue
        one, two = _rotated(parts[k], b), _rotated(parts[m], a)
        if not (fits(one[-2], a, two[1]) and fits(two[-2], b, one[1])):
            continue
        joined = one + two[1:-1]
        for side in itertools.pairwise(two):
            owner[side] = k
        parts[k] = joined
        del parts[m]
    return list(parts.values())


def _rotated(loop: Loop, first: int) -> Loop:
    at = loop.index(first)
    return loop[at:] + loop[:at]


@dataclass(frozen=True, eq=False)
class Facets:
    """Facets of curved faces: (n, 4) vertex indices, triangles with their last corner repeated."""

    corners: np.ndarray
    seams: np.ndarray
    """(n, 4) as in Polygons."""
    normals: np.ndarray
    faces: np.ndarray
    sags: np.ndarray
    """How far, in millimetres, the true surface can lie off the facet's plane."""


@dataclass(frozen=True)
class Mouth:
    """A rim of a well; ``normal`` is that of its plane, out of the hole."""

    conic: Conic
    normal: Vec
    face: int


def well_mouths(solid: Solid) -> list[Mouth]:
    """All rims of every hole whose wall has full ellipses and no other border."""
    borders: dict[int, list[tuple[Edge, int]]] = {}
    for edge in solid.edges:
        for face, other in ((edge.left, edge.right), (edge.right, edge.left)):
            form = solid.forms[solid.faces[face].surface]
            if isinstance(form, Cylinder | Cone) and form.side == "hole":
                borders.setdefault(face, []).append((edge, other))
    found = []
    for face, rims in borders.items():
        mouths = [_mouth(solid, edge, face, other) for edge, other in rims]
        found += [m for m in mouths if m is not None] if None not in mouths else []
    return found


def _mouth(solid: Solid, edge: Edge, face: int, other: int) -> Mouth | None:
    """The edge as a rim of the wall ``face``; None where it is not a full ellipse."""
    form = solid.forms[solid.faces[other].surface]
    if not isinstance(edge.curve, Conic) or not _is_full(edge):
        return None
    if isinstance(form, Plane):
        # Where the hole runs out the rim is convex; round a floor it is not, and the floor faces into the hole.
        return Mouth(edge.curve, form.normal if edge.convex else neg(form.normal), face)
    normal = unit(cross(edge.curve.major, edge.curve.minor))
    corner = (
        solid.vertices[solid.triangles[list(solid.faces[face].triangles)].reshape(-1)] - edge.curve.centre
    )
    return Mouth(edge.curve, neg(normal) if (corner @ normal).sum() > 0 else normal, face)


def _is_full(edge: Edge) -> bool:
    return isinstance(edge.curve, Conic) and edge.curve.last - edge.curve.first > 6.28318


def curved_facets(solid: Solid, edges: MeshEdges, left_out: Sequence[int]) -> Facets:
    """All facets of curved faces but those ``left_out``, two triangles in one plane joined to a quadrangle."""
    curved = np.array([not isinstance(solid.forms[face.surface], Plane) for face in solid.faces])
    curved[list(left_out)] = False
    chosen = np.flatnonzero(curved[edges.face[::3]])
    if len(chosen) == 0:
        none = np.zeros((0, 4), dtype=np.int64)
        return Facets(none, none, np.zeros((0, 3)), none[:, 0], np.zeros(0))
    triangles = solid.triangles[chosen]
    x = solid.vertices
    normals = cross_rows(x[triangles[:, 1]] - x[triangles[:, 0]], x[triangles[:, 2]] - x[triangles[:, 0]])
    place = np.full(len(solid.triangles), -1)
    place[chosen] = np.arange(len(chosen))
    normals = unit_rows(normals)
    corner = (3 * chosen[:, None] + np.arange(3)).reshape(-1)
    twin_triangle = place[edges.twin[corner] // 3].reshape(-1, 3)
    same_face = (edges.face[edges.twin[corner]] == edges.face[corner]).reshape(-1, 3)
    turn = cross_rows(normals[:, None, :], normals[twin_triangle])
    bend = np.where(same_face, np.sqrt(dot_rows(turn, turn)), 0.0)
    flat = same_face & (bend < 1e-7)
    partner = _pair(triangles, twin_triangle, flat, x, normals)
    number = np.arange(len(chosen))
    alone = partner[:, 0] < 0
    heads = np.flatnonzero(alone | (number < partner[:, 0]))
    piece = np.where(alone, number, np.minimum(number, partner[:, 0]))
    corners, other = _facet_sides(triangles, twin_triangle, same_face, partner, heads)
    seams = np.where(other < 0, 0, np.where(heads[:, None] < piece[other], 1, -1))
    sags = _facet_sags(solid, chosen[heads], corners, normals[heads], bend, heads, partner)
    return Facets(corners, seams, normals[heads], edges.face[3 * chosen[heads]], sags)


def _pair(
    triangles: np.ndarray, twin: np.ndarray, flat: np.ndarray, x: np.ndarray, normals: np.ndarray
) -> np.ndarray:
    """(n, 2): the triangle each is joined with and by which of its sides; -1 where it stays alone."""
    partner = np.full((len(triangles), 2), -1)
    single = flat.sum(axis=1) == 1
    side = np.argmax(flat, axis=1)
    number = np.arange(len(triangles))
    other = twin[number, side]
    index = np.flatnonzero(single & single[other] & (other[other] == number) & (number < other))
    k, m = index, other[index]
    i, j = side[k], side[m]
    a, b, c = triangles[k, i], triangles[k, (i + 1) % 3], triangles[k, (i + 2) % 3]
    d = triangles[m, (j + 2) % 3]
    at_a = dot_rows(cross_rows(x[a] - x[c], x[d] - x[a]), normals[k])
    at_b = dot_rows(cross_rows(x[b] - x[d], x[c] - x[b]), normals[k])
    good = (at_a > 0) & (at_b > 0)
    k, m, i, j = k[good], m[good], i[good], j[good]
    partner[k] = np.stack((m, i), axis=1)
    partner[m] = np.stack((k, j), axis=1)
    return partner


def _facet_sides(
    triangles: np.ndarray, twin: np.ndarray, same_face: np.ndarray, partner: np.ndarray, heads: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 4) of the facets and the triangle beyond each side within the face, -1 where none."""
    beyond = np.where(same_face, twin, -1)
    alone = partner[heads, 0] < 0
    k = heads
    i = np.where(alone, 0, partner[heads, 1])
    m = np.where(alone, k, partner[heads, 0])
    j = np.where(alone, 0, partner[m, 1])
    b, c = triangles[k, (i + 1) % 3], triangles[k, (i + 2) % 3]
    a, d = triangles[k, i], triangles[m, (j + 2) % 3]
    # Two triangles a b c and b a d: walk a, d, b, c. One triangle: a, b, c, c.
    paired = np.stack((a, d, b, c), axis=1)
    single = np.stack((a, b, c, c), axis=1)
    corners = np.where(alone[:, None], single, paired)
    paired_beyond = np.stack(
        (beyond[m, (j + 1) % 3], beyond[m, (j + 2) % 3], beyond[k, (i + 1) % 3], beyond[k, (i + 2) % 3]),
        axis=1,
    )
    single_beyond = np.stack((beyond[k, 0], beyond[k, 1], np.full(len(k), -1), beyond[k, 2]), axis=1)
    return corners, np.where(alone[:, None], single_beyond, paired_beyond)


def _facet_sags(
    solid: Solid,
    triangles: np.ndarray,
    corners: np.ndarray,
    normals: np.ndarray,
    bend: np.ndarray,
    heads: np.ndarray,
    partner: np.ndarray,
) -> np.ndarray:
    """Of a cylinder or cone: how far its widest ring passes the facet. Of a free curve: from its bend."""
    x = solid.vertices[corners]
    spread = x[:, None, :, :] - x[:, :, None, :]
    size = np.sqrt(dot_rows(spread, spread)).max(axis=(1, 2), initial=0.0)
    turn = np.maximum(bend[heads].max(axis=1, initial=0.0), bend[partner[heads, 0]].max(axis=1, initial=0.0))
    sags = size * turn / 4
    form_of = solid.triangle_form[triangles]
    for index, form in enumerate(solid.forms):
        mine = form_of == index
        if isinstance(form, Cylinder) and mine.any():
            from_axis = np.abs(dot_rows(x[mine, 0] - np.array(form.point), normals[mine]))
            sags[mine] = np.maximum(form.radius - from_axis, 0.0)
        elif isinstance(form, Cone) and mine.any():
            sags[mine] = _cone_sags(form, x[mine], normals[mine])
    return sags


def _cone_sags(form: Cone, corners: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """How far the cone passes facets (n, 4, 3) at the height of their widest corner, the least at their tip."""
    out = normals if form.side == "post" else -normals
    axis = np.array(form.axis)
    along_axis = dot_rows(out, axis)
    square = np.sqrt(np.maximum(1.0 - along_axis * along_axis, 0.0))
    height = dot_rows(corners - np.array(form.point), axis)
    beyond = square[:, None] * (form.radius + form.slope * height) + along_axis[:, None] * height
    offset = dot_rows(corners[:, 0] - np.array(form.point), out)
    return np.maximum(beyond.max(axis=1) - offset, 0.0)
