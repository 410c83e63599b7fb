"""Visibility by exact rays through members as they are defined: a blank less its cutters. Knows of no mesh.

Along a ray every plane, cylinder and cone changes side at the roots of a linear or quadratic equation; between
two neighbouring roots the ray lies inside a member or outside it as the middle of the stretch does. Each ray is
tried through members a hair thinner, and a hair thicker: what those two do not agree about stays undecided.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import ray_sampler
import scenes

from plangen.geometry.frames import Frame
from plangen.geometry.solid import Chain, Edge, Solid
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Point
from plangen.geometry.views import Projection, Stroke

HAIR = 0.006
"""Millimetres: a post hides by facets that lie up to 0.005 mm off it, so a ray that grazes it is not judged."""
FAR = 1e4
TOUCHING = 0.03
"""Millimetres of wood along the ray that a point on a member's skin may pass by being a hair inside."""


def judge_strokes(
    members: Sequence[scenes.Member],
    solids: Sequence[tuple[Solid, Frame]],
    projection: Projection,
    strokes: Sequence[Stroke],
    count: int,
) -> ray_sampler.Verdict:
    """Try ``count`` points of every edge against the strokes of ``draw_view`` (not merged)."""
    points, owners = [], []
    for owner, (solid, frame) in enumerate(solids):
        for edge in solid.edges:
            found = [frame.point(p) for p in _points(edge, count)]
            points += found
            owners += [owner] * len(found)
    start, toward = np.array(points), np.array(projection.toward)
    hidden = np.zeros(len(start), dtype=bool)
    seen = np.ones(len(start), dtype=bool)
    for blank, cutters, frame in members:
        forms = [form for cutter in cutters for form in cutter]
        walls = [*blank.planes().values()]
        for off, least in ((-HAIR, HAIR), (0.0, 1e-6), (HAIR, TOUCHING)):
            thick = _wood_along(start, toward, frame, [f.shifted(off) for f in (*walls, *forms)], cutters)
            if off < 0:
                hidden |= thick > least
            else:
                seen &= thick <= least
    flat = np.array([projection.flat(p) for p in points])
    return ray_sampler.compare_points(flat, np.array(owners), seen, hidden, strokes)


def _points(edge: Edge, count: int) -> Sequence[Point]:
    """Points exactly on an edge: of a chain, some of its own, the chords between them leaving the surface."""
    if isinstance(edge.curve, Chain):
        return edge.curve.points[1 : -1 : max(1, len(edge.curve.points) // count)]
    return ray_sampler.edge_points(edge, count)


def _wood_along(
    start: np.ndarray,
    toward: np.ndarray,
    frame: Frame,
    forms: Sequence[Form],
    cutters: Sequence[Sequence[Form]],
) -> np.ndarray:
    """Millimetres of one member's wood on each ray; ``forms`` are the blank's six planes, then the cutters'."""
    axes = np.array(frame.axes)
    p, d = (start - np.array(frame.origin)) @ axes.T, axes @ toward
    ends = [np.zeros(len(p)), np.full(len(p), FAR)]
    for form in forms:
        ends += _roots(form, p, d)
    t = np.sort(np.clip(np.nan_to_num(np.stack(ends, axis=1), nan=0.0), 0.0, FAR), axis=1)
    middle = p[:, None] + (t[:, 1:] + t[:, :-1])[..., None] / 2 * d
    inside = np.ones(middle.shape[:2], dtype=bool)
    for form in forms[:6]:
        inside &= _distance(form, middle) < 0
    at = 6
    for cutter in cutters:
        gone = np.ones_like(inside)
        for form in forms[at : at + len(cutter)]:
            gone &= _distance(form, middle) > 0
        inside &= ~gone
        at += len(cutter)
    return (np.diff(t, axis=1) * inside).sum(axis=1)


def _terms(form: Cylinder | Cone, p: np.ndarray, d: np.ndarray) -> tuple[np.ndarray, ...]:
    axis = np.array(form.axis)
    q = p - np.array(form.point)
    slope = form.slope if isinstance(form, Cone) else 0.0
    width, growth = form.radius + slope * (q @ axis), slope * (d @ axis)
    return q - (q @ axis)[:, None] * axis, d - (d @ axis) * axis, width, growth


def _roots(form: Form, p: np.ndarray, d: np.ndarray) -> list[np.ndarray]:
    with np.errstate(divide="ignore", invalid="ignore"):
        if isinstance(form, Plane):
            normal = np.array(form.normal)
            return [(form.offset - p @ normal) / (d @ normal)]
        assert isinstance(form, Cylinder | Cone)
        out, way, width, growth = _terms(form, p, d)
        a, b, c = way @ way - growth * growth, out @ way - width * growth, (out * out).sum(1) - width * width
        root = np.sqrt(b * b - a * c)
        return [(-b - root) / a, (-b + root) / a, -c / (2 * b)]


def _distance(form: Form, x: np.ndarray) -> np.ndarray:
    if isinstance(form, Plane):
        return x @ np.array(form.normal) - form.offset
    assert isinstance(form, Cylinder | Cone)
    flat = x.reshape(-1, 3)
    out, _, width, _ = _terms(form, flat, np.zeros(3))
    off = (np.sqrt((out * out).sum(1)) - width).reshape(x.shape[:-1])
    return off if form.side == "post" else -off
