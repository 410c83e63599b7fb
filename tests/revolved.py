"""Stretches of a turned profile as one solid of revolution of the exact kernel (see ``brep_kernel``)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt
from OCP.TopoDS import TopoDS_Shape

from plangen.geometry.curves import Vec2
from plangen.geometry.surfaces import Box, Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Point, add, along, cross, dot, scale, sub, unit

FUZZ = 1e-6
"""Millimetres: the step of lengths in plan.json, by which ends of a turned profile's stretches may differ."""


def by_axis(
    cutters: Sequence[Sequence[Form]],
) -> tuple[list[list[Sequence[Form]]], list[Sequence[Form]]]:
    """Cutters of two and more stretches round one axis, by axis; and all others."""
    rounds: list[list[Sequence[Form]]] = []
    others: list[Sequence[Form]] = []
    for cutter in cutters:
        posts = [f for f in cutter if isinstance(f, Cone | Cylinder) and f.side == "post"]
        ends = [f for f in cutter if isinstance(f, Plane)]
        if len(posts) != 1 or len(posts) + len(ends) < len(cutter):
            others.append(cutter)
        elif all(abs(dot(f.normal, posts[0].axis)) > 1 - 1e-12 for f in ends):
            axis = next((a for a in rounds if _coaxial(_post(a[0]), posts[0])), None)
            if axis is None:
                rounds.append(axis := [])
            axis.append(cutter)
        else:
            others.append(cutter)
    spun = [axis for axis in rounds if len(axis) > 1 and not any(_all_but_a_cylinder(_post(c)) for c in axis)]
    return spun, [*(c for axis in rounds if axis not in spun for c in axis), *others]


def _all_but_a_cylinder(form: Cone | Cylinder) -> bool:
    """A line that leans by less than this toward the axis the kernel revolves to a cylinder (measured: 0.0001)."""
    return isinstance(form, Cone) and 0 < abs(form.slope) < 1e-3


def _post(cutter: Sequence[Form]) -> Cone | Cylinder:
    return next(f for f in cutter if isinstance(f, Cone | Cylinder))


def _coaxial(a: Cone | Cylinder, b: Cone | Cylinder) -> bool:
    return (
        abs(dot(a.axis, b.axis)) > 1 - 1e-12
        and math.hypot(*cross(sub(b.point, a.point), a.axis)) < 2 * FUZZ
        and math.hypot(*cross(a.axis, b.axis)) < 1e-9
    )


def spun_solid(stretches: Sequence[Sequence[Form]], blank: Box, around: Box) -> tuple[TopoDS_Shape, bool]:
    """What stretches round one axis leave, as a solid of revolution; and whether all of it lies in the blank."""
    first = _post(stretches[0])
    lengthways = max(abs(c) for c in first.axis) > 1 - 1e-12
    section = _section(stretches, *_heights(first, blank if lengthways else around), 4.0 * max(around.size))
    helper = min(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), key=lambda v: abs(dot(v, first.axis)))
    across = unit(cross(first.axis, helper))
    # The seam askew: by a plane through its very end, where the leg's axis lies in the frame, the kernel fails to cut.
    side = add(scale(across, math.cos(0.7)), scale(cross(first.axis, across), math.sin(0.7)))
    wire = BRepBuilderAPI_MakePolygon()
    for height, radius in section:
        wire.Add(gp_Pnt(*along(along(first.point, first.axis, height), side, radius)))
    wire.Close()
    face = BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()
    spun = BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(*first.point), gp_Dir(*first.axis))).Shape()
    return spun, lengthways and max(r for _, r in section) < _room(first, blank) + FUZZ


def _section(stretches: Sequence[Sequence[Form]], low: float, high: float, far: float) -> list[Vec2]:
    """The half section's corners, heights along the axis and radii: each stretch takes what lies beyond its line."""
    first = _post(stretches[0])
    left = shapely.box(low, 0.0, high, far)
    welded: list[float] = []
    for cutter in stretches:
        form = _post(cutter)
        turn = 1.0 if dot(form.axis, first.axis) > 0 else -1.0
        slope = turn * form.slope if isinstance(form, Cone) else 0.0
        own = dot(sub(form.point, first.point), first.axis)
        starts, ends = [low - 1.0], [high + 1.0]
        for plane in (f for f in cutter if isinstance(f, Plane)):
            on = plane.offset - dot(plane.normal, first.point)
            rising = dot(plane.normal, first.axis) > 0
            height = on if rising else -on
            at = next((w for w in welded if abs(w - height) < 2 * FUZZ), height)
            welded.append(at)
            (starts if rising else ends).append(at)
        a, b = max(starts), min(ends)
        if a < b:
            line = [(h, form.radius + slope * (h - own)) for h in (a, b)]
            left = left.difference(shapely.Polygon([*line, (b, far), (a, far)]))
    assert isinstance(left, shapely.Polygon), "a turned profile in two pieces"
    assert not left.interiors
    corners = list(left.exterior.coords[:-1])
    return [p for p, q in zip(corners, [corners[-1], *corners], strict=False) if math.dist(p, q) > 2 * FUZZ]


def _room(form: Cone | Cylinder, blank: Box) -> float:
    """How far it is from an axis along a blank to the nearest of its sides."""
    sides = [i for i in range(3) if abs(form.axis[i]) < 0.5]
    places = [(form.point[i] - blank.origin[i], blank.size[i]) for i in sides]
    return min(min(at, size - at) for at, size in places)


def _heights(form: Cone | Cylinder, box: Box) -> tuple[float, float]:
    """Least and greatest height of a box's corners along an axis."""
    found = [dot(sub(p, form.point), form.axis) for p in corners_of(box)]
    return min(found), max(found)


def corners_of(box: Box) -> list[Point]:
    return [
        add(box.origin, (box.size[0] * i, box.size[1] * j, box.size[2] * k))
        for i in (0, 1)
        for j in (0, 1)
        for k in (0, 1)
    ]
