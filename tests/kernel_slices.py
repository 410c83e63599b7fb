"""Level slices of an exact kernel's solid, and how far points and lengths of ours are from them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Shape

from plangen.geometry.curves import Vec2


class Slice:
    """The rim of a solid's level slice at height ``t``."""

    def __init__(self, shape: TopoDS_Shape, t: float) -> None:
        section = BRepAlgoAPI_Section(shape, gp_Pln(gp_Pnt(0, 0, t), gp_Dir(0, 0, 1)), False)
        section.Build()
        self._rim, self._t = section.Shape(), t

    @property
    def length(self) -> float:
        found = GProp_GProps()
        BRepGProp.LinearProperties_s(self._rim, found)
        return float(found.Mass())

    def farthest(self, points: Sequence[Vec2]) -> float:
        """The greatest distance of any point from the rim."""
        worst = 0.0
        for x, y in points:
            vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, self._t)).Vertex()
            worst = max(worst, float(BRepExtrema_DistShapeShape(vertex, self._rim).Value()))
        return worst if math.isfinite(worst) else math.inf
