"""Every printed figure measured again on the exact kernel's solid, made from blank and cutters as plan.json has them.

A figured point is laid to what the kernel has there: its vertex, else its skin, else the axis of its round face.
What is measured between those is what is printed, to the printed precision.
"""

from __future__ import annotations

import functools
import math
from fractions import Fraction

import numpy as np
import pytest
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_FACE, TopAbs_ON, TopAbs_VERTEX
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from worked_out import DESIGNS, bench_solids, facts_of

from tests.dimensioning.sheet_surfaces import printed_value

NEAR = 1e-4
"""Millimetres."""
SIGHT = {"face": 2, "back": 2, "edge": 1, "back edge": 1, "end A": 0, "end B": 0}


class Piece:
    """The kernel's solid, asked for points and radii."""

    def __init__(self, shape):
        self.shape = shape
        self.vertices = np.array(
            [_xyz(BRep_Tool.Pnt_s(TopoDS.Vertex(v))) for v in _parts(shape, TopAbs_VERTEX)]
        )
        self.rounds = []
        for face in _parts(shape, TopAbs_FACE):
            surface = BRepAdaptor_Surface(TopoDS.Face(face))
            if surface.GetType() == GeomAbs_Cylinder:
                axis, radius = surface.Cylinder().Axis(), surface.Cylinder().Radius()
                self.rounds.append((_xyz(axis.Location()), _xyz(axis.Direction()), radius, 0.0))
            elif surface.GetType() == GeomAbs_Cone:
                cone = surface.Cone()
                slope = math.tan(cone.SemiAngle())
                self.rounds.append(
                    (_xyz(cone.Axis().Location()), _xyz(cone.Axis().Direction()), cone.RefRadius(), slope)
                )
        self.at = functools.cache(self._at)

    def _at(self, p):
        """The kernel's own point where a figured one is; None where it has nothing there."""
        away = np.sqrt(((self.vertices - np.array(p)) ** 2).sum(1))
        if away.min() < NEAR:
            return self.vertices[int(away.argmin())]
        if BRepClass3d_SolidClassifier(self.shape, gp_Pnt(*p), NEAR).State() == TopAbs_ON:
            return np.array(p)
        for q, way, _, _ in self.rounds:
            foot = q + way * float(way @ (np.array(p) - q))
            if np.abs(foot - np.array(p)).max() < NEAR:
                return foot
        return None

    def radius_at(self, centre, q):
        """Of the round face about the one point, through the other."""
        for at, way, radius, slope in self.rounds:
            off, along = _from_axis(at, way, q)
            here = radius + slope * along
            if _from_axis(at, way, centre)[0] < NEAR and abs(off - here) < NEAR:
                return here
        return None


def _from_axis(at, way, p):
    along = float(way @ (p - at))
    off = p - at - way * along
    return math.sqrt(float(off @ off)), along


def _xyz(p):
    return np.array([p.X(), p.Y(), p.Z()])


def _parts(shape, kind):
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def measured(piece, figure):
    """Millimetres or degrees on the kernel's solid."""
    if figure.kind in ("radius", "diameter"):
        p, q = np.array(figure.points)
        radius = piece.radius_at(p if figure.kind == "radius" else (p + q) / 2, q)
        return None if radius is None else radius * (2 if figure.kind == "diameter" else 1)
    points = [piece.at(p) for p in figure.points]
    if any(p is None for p in points):
        return None
    if figure.kind in ("linear", "depth"):
        return abs(float((points[1] - points[0]) @ np.array(figure.direction)))
    flat = [np.delete(p, SIGHT[figure.view]) for p in points]
    u, v = flat[1] - flat[0], flat[2] - flat[0]
    return math.degrees(math.atan2(abs(u[0] * v[1] - u[1] * v[0]), float(u @ v)))


@pytest.fixture(scope="module", params=DESIGNS, ids=lambda p: p.stem)
def path(request):
    return request.param


def test_every_printed_figure_is_what_the_exact_kernels_solid_measures(path):
    facts = facts_of(path)
    solids = bench_solids(path)
    unit = Fraction(254, 10) if facts.style.length == "in" else Fraction(1)
    for sheet in facts.figures:
        piece = Piece(solids[sheet.mark])
        for figure in sheet.figures:
            size = measured(piece, figure)
            assert size is not None, (sheet.mark, figure.id, figure.points)
            assert size == pytest.approx(figure.value, abs=2 * NEAR), (sheet.mark, figure.id)
            said = printed_value(figure.printed, unit)
            step = float(facts.style.angle_step if figure.kind == "angular" else facts.style.step)
            # Half a step, but for places that were rounded together, and differences of two.
            assert said is None or abs(said - size) < step + NEAR, (sheet.mark, figure.id, figure.printed)
