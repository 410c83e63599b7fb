"""An exact boundary kernel as an independent maker of the same member: blank less cutters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import build123d as bd
import pytest

from plangen.geometry.curves import Arc, Bezier, Curve, Line
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form, Plane

FAR = 3000.0


def _half_space(plane: Plane) -> bd.Part:
    datum = bd.Plane(plane.point, z_dir=plane.normal)
    return datum * bd.Pos(0, 0, FAR / 2) * bd.Box(2 * FAR, 2 * FAR, FAR)


def _round(form: Cylinder) -> bd.Part:
    return bd.Plane(form.point, z_dir=form.axis) * bd.Cylinder(form.radius, 2 * FAR)


def _edge(form: Extruded, curve: Curve) -> bd.Edge:
    def lift(s: float) -> tuple[float, float, float]:
        return form.lift(*curve.at(s))

    if isinstance(curve, Line):
        return bd.Edge.make_line(lift(0.0), lift(1.0))
    if isinstance(curve, Arc):
        return bd.Edge.make_three_point_arc(lift(0.0), lift(0.5), lift(1.0))
    if isinstance(curve, Bezier):
        return bd.Edge.make_bezier(*(form.lift(*p) for p in curve.points))
    raise TypeError(curve)


def _outside_of_outline(form: Extruded) -> bd.Part:
    """The outer side of an extruded outline whose open ends turn by less than a right angle in all."""
    first, last = form.outline[0], form.outline[-1]
    axis = bd.Vector(*form.axis)
    edges = [_edge(form, c) for c in form.outline]
    start, end = form.lift(*first.start), form.lift(*last.end)
    closed = (bd.Vector(*start) - bd.Vector(*end)).length < 1e-6
    if not closed:
        a, b = edges[0], edges[-1]
        back, ahead = -(a % 0.0), b % 1.0
        p, q = bd.Vector(*start) + back * FAR, bd.Vector(*end) + ahead * FAR
        right = (bd.Vector(*end) - bd.Vector(*start)).cross(axis).normalized() * FAR
        corners = [bd.Vector(*end), q, q + right, p + right, p, bd.Vector(*start)]
        edges += [bd.Edge.make_line(c, d) for c, d in pairwise(corners)]
    wire = bd.Wire(edges)
    face = bd.Face(wire)
    swept = bd.Solid.extrude(face.translate(axis * -FAR), axis * (2 * FAR))
    part = bd.Part() + swept
    if closed and _counter_clockwise(form):
        return bd.Box(2 * FAR, 2 * FAR, 2 * FAR) - part
    return part


def _counter_clockwise(form: Extruded) -> bool:
    points = [c.at(i / 16) for c in form.outline for i in range(16)]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True)) > 0


def _outside(form: Form) -> bd.Part:
    if isinstance(form, Plane):
        return _half_space(form)
    if isinstance(form, Cylinder):
        return _round(form) if form.side == "hole" else bd.Box(FAR, FAR, FAR) - _round(form)
    return _outside_of_outline(form)


@pytest.fixture(scope="session")
def kernel_member() -> Callable[[Box, Sequence[Sequence[Form]]], bd.Part]:
    """Builds a member in the exact boundary kernel."""

    def build(blank: Box, cutters: Sequence[Sequence[Form]]) -> bd.Part:
        middle = tuple(o + s / 2 for o, s in zip(blank.origin, blank.size, strict=True))
        part = bd.Pos(*middle) * bd.Box(*blank.size)
        for cutter in cutters:
            tool = _outside(cutter[0])
            for form in cutter[1:]:
                tool = tool & _outside(form)
            part = part - tool
        return part

    return build
