"""The exact B-rep kernel at the same work, called through its own bindings with nothing of ours between."""

from __future__ import annotations

import time
from itertools import pairwise

from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
from OCP.collections import List_TopoDS_Shape
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Compound, TopoDS_Shape

from plangen.geometry.views import Projection
from tests.benchmarks.times import Times
from tests.benchmarks.workpieces import FOUR_VIEWS, Arrangement, Workpiece

OPEN_SIDE = 1.0
"""Millimetres a tool runs out of the wood."""


def kernel_solid(piece: Workpiece) -> TopoDS_Shape:
    """The blank less all its tools by one boolean."""
    length, width, thickness = piece.size
    across = gp_Dir(0.0, 0.0, 1.0)
    tools = List_TopoDS_Shape()
    for hole in piece.holes:
        axes = gp_Ax2(gp_Pnt(hole.l, hole.w, -OPEN_SIDE), across)
        tools.Append(BRepPrimAPI_MakeCylinder(axes, hole.radius, thickness + 2 * OPEN_SIDE).Shape())
    corner = gp_Pnt(piece.notch_from, -OPEN_SIDE, -OPEN_SIDE)
    extent = (piece.notch_to - piece.notch_from, piece.notch_depth + OPEN_SIDE, thickness + 2 * OPEN_SIDE)
    tools.Append(BRepPrimAPI_MakeBox(corner, *extent).Shape())
    blanks = List_TopoDS_Shape()
    blanks.Append(BRepPrimAPI_MakeBox(length, width, thickness).Shape())
    cut = BRepAlgoAPI_Cut()
    cut.SetArguments(blanks)
    cut.SetTools(tools)
    cut.Build()
    return cut.Shape()


def kernel_scene(solids: list[TopoDS_Shape], arrangement: Arrangement) -> TopoDS_Compound:
    """All in their places, shapes that repeat shared."""
    builder, compound = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(compound)
    for index, frame in arrangement.standing:
        move = gp_Trsf()
        move.SetValues(*(value for row in frame.matrix()[:3] for value in row))
        builder.Add(compound, solids[index].Moved(TopLoc_Location(move)))
    return compound


def kernel_hide(compound: TopoDS_Compound, projection: Projection) -> HLRBRep_HLRToShape:
    """The exact hidden-line algorithm; its strokes are left inside it, which flatters the kernel."""
    algorithm = HLRBRep_Algo()
    algorithm.Add(compound)
    axes = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*projection.toward), gp_Dir(*projection.right))
    algorithm.Projector(HLRAlgo_Projector(axes))
    algorithm.Update()
    algorithm.Hide()
    return HLRBRep_HLRToShape(algorithm)


def kernel_times(arrangement: Arrangement) -> Times:
    """One round of all three steps."""
    marks = [time.process_time()]
    solids = [kernel_solid(piece) for piece in arrangement.pieces]
    marks.append(time.process_time())
    compound = kernel_scene(solids, arrangement)
    marks.append(time.process_time())
    for view in FOUR_VIEWS:
        kernel_hide(compound, view)
    marks.append(time.process_time())
    return Times(*(b - a for a, b in pairwise(marks)))
