"""Slow visibility: points of edges, each looked at along one ray. Knows of no pieces, discs or intervals.

Points are taken along the edges of the solids in space; a ray from each toward the eye is tried against every
triangle of every mesh. The strokes under test must show a point that is seen as visible, any other as hidden.
Points whose ray passes a triangle's side within ``MARGIN``, and points hidden by nothing farther away than
the facets of a curved face can be wrong, are left undecided.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from plangen.geometry.curves import Line
from plangen.geometry.frames import Frame
from plangen.geometry.solid import Conic, Edge, Solid, Straight
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point
from plangen.geometry.views import Projection, Stroke

MARGIN = 1e-4
CURVED_MARGIN = 0.006
"""Facets lie up to 0.005 mm off the surface they stand for."""
TOUCHING = 1e-3
"""Millimetres of depth: what is nearer than this to the point touches it and does not hide it."""


@dataclass(frozen=True)
class Verdict:
    """How many points the strokes show rightly, wrongly, and how many could not be decided."""

    right: int
    wrong: tuple[tuple[int, Point, bool], ...]
    """(owner, point, seen by its ray) of each wrong one."""
    undecided: int


def edge_points(edge: Edge, count: int) -> list[Point]:
    """Points spread along an edge, its ends left out, at places no algorithm prefers."""
    shares = [(i + 0.5 + 0.3 * math.sin(7 * i + 1)) / count for i in range(count)]
    curve = edge.curve
    if isinstance(curve, Straight):
        return [tuple(a + (b - a) * s for a, b in zip(curve.start, curve.end, strict=True)) for s in shares]
    if isinstance(curve, Conic):
        found = []
        for s in shares:
            p = curve.first + (curve.last - curve.first) * s
            c, k = math.cos(p), math.sin(p)
            found.append(
                tuple(
                    o + m * c + n * k for o, m, n in zip(curve.centre, curve.major, curve.minor, strict=True)
                )
            )
        return found
    points = []
    for s in shares:
        at = s * (len(curve.points) - 1)
        i, t = int(at), at - int(at)
        points.append(
            tuple(a + (b - a) * t for a, b in zip(curve.points[i], curve.points[i + 1], strict=True))
        )
    return points


def judge_strokes(
    solids: Sequence[tuple[Solid, Frame]], projection: Projection, strokes: Sequence[Stroke], count: int
) -> Verdict:
    """Try ``count`` points of every edge against the strokes of ``draw_view`` (not merged)."""
    triangles, curved = _triangles(solids, projection)
    points, owners = [], []
    for owner, (solid, frame) in enumerate(solids):
        for edge in solid.edges:
            for p in edge_points(edge, count):
                world = frame.point(p)
                points.append((*projection.flat(world), projection.depth(world)))
                owners.append(owner)
    at = np.array(points)
    seen, hidden = _look(at, triangles, curved)
    return compare_points(at, np.array(owners), seen, hidden, strokes)


def _triangles(
    solids: Sequence[tuple[Solid, Frame]], projection: Projection
) -> tuple[np.ndarray, np.ndarray]:
    """(n, 3, 3) corners as x, y, depth; and whether each touches a curved surface."""
    rows, curved = [], []
    axes = np.array((projection.right, projection.up, projection.toward))
    for solid, frame in solids:
        world = np.array(frame.origin) + solid.vertices @ np.array(frame.axes)
        outward = solid.triangles if frame.determinant > 0 else solid.triangles[:, ::-1]
        rows.append((world @ axes.T)[outward])
        flat = np.array([isinstance(form, Plane) for form in solid.forms])
        round_ = ~flat[solid.triangle_form]
        # A plane face ends at chords too, where it meets a curved one.
        on_chord = np.isin(solid.triangles, solid.triangles[round_]).any(axis=1)
        curved.append(round_ | on_chord)
    return np.concatenate(rows), np.concatenate(curved)


def _look(points: np.ndarray, triangles: np.ndarray, curved: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(surely seen, surely hidden) of each point."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    some = np.abs(area) > 1e-9
    triangles, curved, area = triangles[some], curved[some], area[some]
    margin = np.where(curved, CURVED_MARGIN, MARGIN)
    seen, hidden = np.ones(len(points), dtype=bool), np.zeros(len(points), dtype=bool)
    for begin in range(0, len(points), 256):
        part = slice(begin, begin + 256)
        p = points[part, None, :]
        least = np.full((p.shape[0], len(triangles)), np.inf)
        depth = np.zeros_like(least)
        for i in range(3):
            one, two, far = triangles[:, i], triangles[:, (i + 1) % 3], triangles[:, (i + 2) % 3]
            d = two - one
            across = d[:, 0] * (p[..., 1] - one[:, 1]) - d[:, 1] * (p[..., 0] - one[:, 0])
            depth += across / area * far[:, 2]
            least = np.minimum(least, across * np.sign(area) / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-12))
        before = depth - p[..., 2]
        slack = np.where(curved, 0.05, TOUCHING)
        # Along an outline the far side of what it bounds can be met alone: it takes a near side to hide.
        hidden[part] = ((least > margin) & (before > slack) & (area > 0)).any(axis=1)
        seen[part] = ~((least > -margin) & (before > TOUCHING)).any(axis=1)
    return seen, hidden & ~seen


def compare_points(
    points: np.ndarray, owners: np.ndarray, seen: np.ndarray, hidden: np.ndarray, strokes: Sequence[Stroke]
) -> Verdict:
    """A point seen must lie on a visible stroke of its owner; a hidden one on a hidden stroke only.

    A hidden point on a visible stroke of the same owner is undecided: another edge may run there.
    """
    wrong: list[tuple[int, Point, bool]] = []
    right = undecided = 0
    for owner in np.unique(owners):
        mine = owners == owner
        own = [s for s in strokes if s.owner == owner]
        on = {v: _near(points[mine, :2], [s for s in own if s.visible == v]) for v in (True, False)}
        rows = zip(points[mine].tolist(), seen[mine], hidden[mine], on[True], on[False], strict=True)
        for point, is_seen, is_hidden, on_visible, on_hidden in rows:
            if not is_seen and not is_hidden:
                undecided += 1
            elif (is_seen and on_visible) or (is_hidden and on_hidden and not on_visible):
                right += 1
            elif is_hidden and on_hidden and on_visible:
                undecided += 1
            else:
                wrong.append((int(owner), tuple(point), bool(is_seen)))
    return Verdict(right, tuple(wrong), undecided)


def _near(points: np.ndarray, strokes: Sequence[Stroke]) -> np.ndarray:
    """Whether each point lies on one of the strokes."""
    found = np.zeros(len(points), dtype=bool)
    if not strokes:
        return found
    shapes = []
    for stroke in strokes:
        curve = stroke.curve
        count = 1 if isinstance(curve, Line) else 1000
        shapes.append(shapely.LineString([curve.at(i / count) for i in range(count + 1)]))
    # Chords of 1000 to a circle lie within 5e-6 of the radius.
    pairs = shapely.STRtree(shapes).query(shapely.points(points), predicate="dwithin", distance=1e-3)
    found[pairs[0]] = True
    return found
