"""The mesh kernel's part: which pieces of which surfaces are left when cutters are taken off a blank.

Only the topology of the answer is used. Cutters run out of the blank through every side they leave open.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from plangen.geometry.curves import Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.patches import (
    FACET_SAG,
    Array,
    curve_parameters,
    end_direction,
    frame_about,
    is_closed,
    patches_of,
    tangent_plane_through_axis,
)
from plangen.geometry.seams import Seams, has_no_thickness
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.turned import (
    Round,
    Spindle,
    Stretch,
    as_stretch,
    gathered,
    greatest_radius,
    make_spindle,
    profile_rings,
    profiles,
)
from plangen.geometry.vectors import Point, Vec, add, dot, length, scale, sub

Manifold = manifold3d.Manifold
IDLE = 1e-7
"""Millimetres by which a surface must enter the blank to count as cutting it."""
MARGIN = 1.0
"""Millimetres that the inside of a round surface runs on past the box it is made for."""


class GeometryError(ValueError):
    """A solid cannot be built; the message says why in words."""


class NothingLeft(GeometryError):
    """The cutters take away the whole blank."""


def cut_mesh(blank: Box, cutters: Sequence[Sequence[Form]], turned: Frame) -> tuple[Array, Array]:
    """Vertices (n, 3) and triangles (m, 3) of the blank less the cutters, the cut made in pose ``turned``.

    Vertices come back in the member's frame. Raises NothingLeft.
    """
    body = placed(box_mesh(blank), turned)
    tools = cutter_meshes(blank, cutters)
    if tools:
        parts = [body, *(placed(t, turned) for t in tools)]
        body = Manifold.batch_boolean(parts, manifold3d.OpType.Subtract)
    if body.is_empty() or body.num_tri() == 0:
        raise NothingLeft("the cuts take away the whole piece")
    return mesh_arrays(body, turned)


def mesh_arrays(body: manifold3d.Manifold, turned: Frame) -> tuple[Array, Array]:
    """Vertices and triangles of a mesh, back from the pose ``turned``."""
    mesh = body.to_mesh64()
    x = np.asarray(mesh.vert_properties)[:, :3]
    triangles = np.asarray(mesh.tri_verts).astype(np.int64)
    merged = np.arange(len(x))
    if len(mesh.merge_from_vert):
        merged[np.asarray(mesh.merge_from_vert, dtype=np.int64)] = mesh.merge_to_vert
        triangles = merged[triangles]
    d = x - np.array(turned.origin)
    columns = [d[:, 0] * a[0] + d[:, 1] * a[1] + d[:, 2] * a[2] for a in turned.axes]
    return np.stack(columns, axis=1), triangles


def placed(mesh: manifold3d.Manifold, frame: Frame) -> manifold3d.Manifold:
    """A mesh moved from the member's frame to where ``frame`` puts it."""
    if frame.axes == ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)) and frame.origin == (0.0, 0.0, 0.0):
        return mesh
    return mesh.transform(np.array(frame.matrix()[:3]))


def mesh_of(vertices: Array, triangles: Array) -> manifold3d.Manifold:
    """A closed mesh as the kernel holds it; the arrays are copied."""
    return Manifold(manifold3d.Mesh64(np.array(vertices, order="C"), triangles.astype(np.uint64, order="C")))


def box_mesh(box: Box) -> manifold3d.Manifold:
    return Manifold.cube(box.size).translate(box.origin)


def corners_of(box: Box) -> list[Point]:
    (x0, y0, z0), (x1, y1, z1) = box.origin, box.most
    return [(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)]


def cutter_meshes(
    blank: Box, cutters: Sequence[Sequence[Form]], only: Sequence[int] | None = None
) -> list[manifold3d.Manifold]:
    """The cutters that enter the blank as meshes, clipped to the blank grown by at least 1 mm.

    One a cutter, or one for a whole turned profile. ``only`` asks for those that hold the cutters so numbered;
    their facets are the same as when all are asked for.
    """
    grown = blank.grown(1.0 + 0.01 * max(blank.size))
    seams = Seams.of(cutters)
    planes: list[Plane] = list(blank.planes().values())
    planes += [p for cutter in cutters for form in cutter for p in patches_of(form) if isinstance(p, Plane)]
    entering = {i: (c, flats) for i, c in enumerate(cutters) if (flats := _flats(blank, c)) is not None}
    wanted = set(entering if only is None else only)
    turned = _turned_cores(blank, grown, entering, planes, seams)
    runs = [run for run in turned.runs if any(s.cutter in wanted for s in run)]
    meshes = [mesh for run in runs for mesh in turned.run_meshes(run)]
    followed = {s.cutter for run in turned.runs for s in run}
    for i, (cutter, flats) in entering.items():
        if i not in wanted or i in followed:
            continue
        mesh = _cutter_mesh(grown, cutter, flats, planes, turned)
        if mesh is not None:
            meshes.append(mesh)
    return [mesh for mesh in meshes if not mesh.is_empty()]


def _flats(blank: Box, cutter: Sequence[Form]) -> list[Plane] | None:
    """The cutter's planes that part the blank; None where one keeps the cutter out of it, or it holds nothing."""
    if has_no_thickness(cutter):
        return None
    flats: list[Plane] = []
    for form in cutter:
        if isinstance(form, Plane):
            depths = [form.distance(p) for p in corners_of(blank)]
            if max(depths) <= IDLE:
                return None
            if min(depths) < -IDLE:
                flats.append(form)
    return flats


def _cutter_mesh(
    grown: Box, cutter: Sequence[Form], flats: Sequence[Plane], planes: Sequence[Plane], turned: TurnedCores
) -> manifold3d.Manifold | None:
    """None where the cutter holds no points: it lies past the tip of one of its cones."""

    def core(form: Form) -> manifold3d.Manifold | None:
        spindle = turned.spindle_of(form)
        if spindle is None or not isinstance(form, Cylinder | Cone):
            return prism(turned.seams.round(form) if isinstance(form, Cylinder) else form, grown, planes)
        return turned.core(form, spindle, flats)

    mesh = box_mesh(grown)
    inside = [f for f in cutter if _bounds_a_core(f)]
    if inside:
        first = core(inside[0])
        if first is None:
            return None
        mesh = first
    mesh = turned.seams.trimmed(mesh, flats)
    for form in inside[1:]:
        other = core(form)
        if other is None:
            return None
        mesh = mesh ^ other
    for form in cutter:
        if not isinstance(form, Plane) and not _bounds_a_core(form):
            other = core(form)
            mesh = mesh if other is None else mesh - other
    return mesh


@dataclass(frozen=True, eq=False)
class TurnedCores:
    """The insides of cones, and of the round surfaces about their axes, as meshes."""

    grown: Box
    spindles: tuple[Spindle, ...]
    forms: tuple[tuple[Round, ...], ...]
    """The round surfaces of each spindle."""
    runs: tuple[tuple[Stretch, ...], ...]
    seams: Seams

    def spindle_of(self, form: Form) -> Spindle | None:
        if isinstance(form, Plane | Extruded):
            return None
        owner = (s for s, own in zip(self.spindles, self.forms, strict=True) if form in own)
        return next(owner, None)

    def core(self, form: Round, spindle: Spindle, flats: Sequence[Plane]) -> manifold3d.Manifold | None:
        """The inside of one surface as far as a cutter bounded by ``flats`` reaches."""
        heights = [spindle.height(p) for p in _trimmed_corners(self.grown, flats)]
        if not heights:
            return None
        rings = spindle.rings(self.seams.round(form), min(heights) - MARGIN, max(heights) + MARGIN)
        return mesh_of(*spindle.mesh(rings)) if rings else None

    def run_meshes(self, run: Sequence[Stretch]) -> list[manifold3d.Manifold]:
        """What the stretches of one turned profile take off together."""
        spindle = self.spindle_of(run[0].form)
        assert spindle is not None
        flats = [p for p in (run[0].low, run[-1].high) if p is not None]
        heights = [spindle.height(p) for p in _trimmed_corners(self.grown, flats)]
        if not heights:
            return []
        mesh = self.seams.trimmed(box_mesh(self.grown), flats)
        for rings in profile_rings(spindle, run, min(heights) - MARGIN, max(heights) + MARGIN):
            mesh = mesh - mesh_of(*spindle.mesh(rings))
        return [mesh]


def _turned_cores(
    blank: Box,
    grown: Box,
    entering: Mapping[int, tuple[Sequence[Form], list[Plane]]],
    planes: Sequence[Plane],
    seams: Seams,
) -> TurnedCores:
    cutters = list(entering.values())
    if not any(isinstance(f, Cone) or getattr(f, "side", "") == "post" for c, _ in cutters for f in c):
        return TurnedCores(grown, (), (), (), seams)
    stretches = [
        s
        for i, (cutter, flats) in entering.items()
        if (s := as_stretch(i, cutter, [f for f in cutter if isinstance(f, Plane) and f not in flats]))
    ]
    runs = profiles(stretches)
    turned = {s.form for run in runs for s in run}
    rounds = [(f, flats) for cutter, flats in cutters for f in cutter if isinstance(f, Cylinder | Cone)]
    tapers = any(isinstance(f, Cone) for f, _ in rounds)
    if not tapers and not turned:
        return TurnedCores(grown, (), (), (), seams)
    spindles, groups = [], []
    for group in gathered([f for f, _ in rounds]):
        if not any(isinstance(f, Cone) or f in turned for f in group):
            continue
        met = [
            (f, greatest_radius(f, _trimmed_corners(blank, flats) or corners_of(blank)))
            for f, flats in rounds
            if f in group
        ]
        spindles.append(make_spindle(met, planes))
        groups.append(tuple(group))
    return TurnedCores(grown, tuple(spindles), tuple(groups), tuple(tuple(run) for run in runs), seams)


def _trimmed_corners(box: Box, flats: Sequence[Plane]) -> list[Point]:
    """Corners of what a box has on the outer side of all of some planes."""
    if not flats:
        return corners_of(box)
    mesh = box_mesh(box)
    for plane in flats:
        mesh = mesh.trim_by_plane(plane.normal, plane.offset)
    rows = np.asarray(mesh.to_mesh64().vert_properties)[:, :3].tolist()
    return [(x, y, z) for x, y, z in rows]


def _bounds_a_core(form: Form) -> bool:
    """The outer side of the surface is inside its prism (a hole, an opening, an open outline)."""
    if isinstance(form, Cylinder | Cone):
        return form.side == "hole"
    return isinstance(form, Extruded) and core_polygon(form, ((0.0, 0.0, 0.0),))[1]


def prism(form: Form, around: Box, planes: Sequence[Plane]) -> manifold3d.Manifold:
    """The faceted inside of a cylinder or closed outline, or the outer side of an open one, through a box."""
    corners = corners_of(around)
    if isinstance(form, Cylinder):
        e1, e2 = frame_about(form.axis)
        origin, axis = form.point, form.axis
        points = circle_points(form, around, planes)
    elif isinstance(form, Extruded):
        e1, e2, origin, axis = form.u, form.v, form.origin, form.axis
        points, _ = core_polygon(form, corners)
    else:
        raise TypeError("neither a plane nor a cone has a prism")
    heights = [dot(sub(p, origin), axis) for p in corners]
    return _extruded_mesh(points, origin, (e1, e2, axis), min(heights) - MARGIN, max(heights) + MARGIN)


def core_polygon(form: Extruded, corners: Sequence[Point]) -> tuple[list[Vec2], bool]:
    """The faceted region an outline bounds, counter-clockwise, and whether that is the form's outer side.

    An open outline's region reaches past all of ``corners``.
    """
    points = outline_points(form)
    if not is_closed(form):
        points = _closed_on_the_right(form, points, corners)
    profile = loop_area(points) > 0
    return (points, False) if profile else (points[::-1], True)


def circle_points(form: Cylinder, around: Box, planes: Sequence[Plane]) -> list[Vec2]:
    """Corners of a polygon inscribed in the cylinder, fine where it passes through the box.

    Where a plane is tangent to the cylinder the polygon has a corner in the tangent ruling.
    """
    e1, e2 = frame_about(form.axis)
    r = form.radius
    step = 2 * math.acos(max(0.0, 1 - FACET_SAG / r))
    count = max(16, 4 * math.ceil(2 * math.pi / step / 4))
    angles = [2 * math.pi * (i + 0.5) / count for i in range(count)]
    if count > 96:
        angles = _near_angles(form, around, angles, e1, e2)
    for plane in planes:
        if tangent_plane_through_axis(plane, form) is not None:
            side = 1.0 if plane.distance(form.point) < 0 else -1.0
            a = math.atan2(side * dot(plane.normal, e2), side * dot(plane.normal, e1)) % (2 * math.pi)
            angles = [b for b in angles if abs(math.remainder(b - a, 2 * math.pi)) > 0.3 * step]
            angles.append(a)
    return [(r * math.cos(a), r * math.sin(a)) for a in sorted(angles)]


def _near_angles(form: Cylinder, around: Box, angles: list[float], e1: Vec, e2: Vec) -> list[float]:
    """Of a large circle's corners, all near the box and only some far from it."""
    centre = add(around.origin, scale(around.size, 0.5))
    d = sub(centre, form.point)
    x, y = dot(d, e1), dot(d, e2)
    coarse = max(1, len(angles) // 32)
    reach = length(around.size) / 2 + form.radius * (1 - math.cos(math.pi * coarse / len(angles)))
    reach += form.radius * 2 * math.pi * coarse / len(angles)
    r = form.radius
    return [
        a
        for i, a in enumerate(angles)
        if i % coarse == 0 or math.hypot(r * math.cos(a) - x, r * math.sin(a) - y) <= reach
    ]


def outline_points(form: Extruded) -> list[Vec2]:
    """The faceted outline, head to tail; the end of a closed one is not repeated."""
    points: list[Vec2] = []
    for curve in form.outline:
        points += [curve.at(s) for s in curve_parameters(curve)[:-1]]
    if not is_closed(form):
        points.append(form.outline[-1].end)
    return points


def loop_area(points: Sequence[Vec2]) -> float:
    """Signed area of a polygon, positive counter-clockwise."""
    return 0.5 * math.fsum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )


def _closed_on_the_right(form: Extruded, points: list[Vec2], corners: Sequence[Point]) -> list[Vec2]:
    """An open outline, continued straight and closed far away round its right side, clockwise."""
    around = [*points, *(form.flat(p) for p in corners)]
    cx = (min(p[0] for p in around) + max(p[0] for p in around)) / 2
    cy = (min(p[1] for p in around) + max(p[1] for p in around)) / 2
    far = 2 * max(math.hypot(p[0] - cx, p[1] - cy) for p in around)
    d0, d1 = end_direction(form.outline[0], 0.0), end_direction(form.outline[-1], 1.0)
    first = _reach_circle(points[0], (-d0[0], -d0[1]), (cx, cy), far)
    last = _reach_circle(points[-1], d1, (cx, cy), far)
    a1 = math.atan2(last[1] - cy, last[0] - cx)
    turn = (a1 - math.atan2(first[1] - cy, first[0] - cx)) % (2 * math.pi)
    steps = max(2, math.ceil(turn / 0.5))
    arc = [a1 - turn * i / steps for i in range(1, steps)]
    return [first, *points, last, *((cx + far * math.cos(a), cy + far * math.sin(a)) for a in arc)]


def _reach_circle(start: Vec2, direction: Vec2, centre: Vec2, radius: float) -> Vec2:
    px, py = start[0] - centre[0], start[1] - centre[1]
    b = px * direction[0] + py * direction[1]
    t = -b + math.sqrt(b * b - (px * px + py * py) + radius * radius)
    return (start[0] + t * direction[0], start[1] + t * direction[1])


def _extruded_mesh(
    points: Sequence[Vec2], origin: Point, axes: tuple[Vec, Vec, Vec], low: float, high: float
) -> manifold3d.Manifold:
    flat = np.array(points)
    e1, e2, axis = (np.array(a) for a in axes)
    ring = np.array(origin) + flat[:, :1] * e1 + flat[:, 1:] * e2
    n = len(points)
    cap = np.asarray(manifold3d.triangulate([flat]), dtype=np.uint64)
    i = np.arange(n, dtype=np.uint64)
    j = np.roll(i, -1)
    sides = np.concatenate([np.stack([i, j, j + n], 1), np.stack([i, j + n, i + n], 1)])
    triangles = np.concatenate([cap[:, ::-1], cap + np.uint64(n), sides])
    vertices = np.concatenate([ring + low * axis, ring + high * axis])
    solid = mesh_of(vertices, triangles)
    if solid.status() != manifold3d.Error.NoError:
        raise GeometryError("an outline crosses itself or has no area")
    return solid
