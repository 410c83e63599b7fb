"""An exact boundary-representation kernel as a second opinion on whole scenes.

The kernel is Open CASCADE through its Python bindings (OCP). Nothing of our own
geometry beyond the *description* is used: a solid is built from its blank and cutters with the kernel's own
primitives and booleans (``kernel_solid``), placed with its own transforms, and drawn by its own exact
hidden-line algorithm ``HLRBRep_Algo`` (``kernel_view``).

Drawings are compared as strokes, never as sums of lengths (``compare_strokes``): the length of one drawing
that lies farther than ``NEAR`` from every stroke of the other, both ways, visible and hidden apart. Where a
hidden stroke lies on a visible one it is the visible one that is drawn, so hidden length there counts for
neither side.

Typical use::

    ours = merged(draw_view(prepare([(build_solid(blank, cutters), frame)]), projection))
    theirs = kernel_view([(kernel_solid(blank, cutters), frame)], projection)
    assert compare_strokes(ours, theirs).worst <= 1e-4
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Transform,
)
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
)
from OCP.collections import Array1_gp_Pnt, List_TopoDS_Shape
from OCP.GC import GC_MakeArcOfCircle, GC_MakeArcOfEllipse
from OCP.GCPnts import GCPnts_TangentialDeflection
from OCP.Geom import Geom_BezierCurve
from OCP.GeomAbs import GeomAbs_Plane
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Elips, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape, HLRBRep_TypeOfResultingEdge
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shape, TopoDS_Wire
from revolved import FUZZ, by_axis, corners_of, spun_solid

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, scale, sub, unit
from plangen.geometry.views import Projection, Stroke

NEAR = 0.02
"""Millimetres: two strokes nearer than this are the same stroke."""


# Solids


def kernel_solid(blank: Box, cutters: Sequence[Sequence[Form]]) -> TopoDS_Shape:
    """The blank less its cutters, in the member's frame, by one boolean of all tools; what was cut of late is not cut
    again, since many tests of a design ask for the same members.

    A cutter is the set of points on the outer side of all its forms, as in ``build_solid``. What is cut round one
    axis, as the stretches of a turned profile are, is one solid of revolution: cut one by one, with each its own
    ends to meet, the kernel now and then leaves a stretch out. Where there are other cones the cuts are made one
    after another, and what is nearer than ``FUZZ`` is one.
    """
    return _cut(blank, tuple(map(tuple, cutters)))


@lru_cache(maxsize=64)
def _cut(blank: Box, cutters: tuple[tuple[Form, ...], ...]) -> TopoDS_Shape:
    around = blank.grown(5.0 + 0.05 * max(blank.size))
    turned, others = by_axis(cutters)
    body = _box(blank)
    for axis in turned:
        spun, inside = spun_solid(axis, blank, around)
        body = spun if inside and len(turned) == 1 else _boolean(BRepAlgoAPI_Common(), body, [spun], FUZZ)
    tools = [tool for cutter in others if (tool := _cutter(cutter, around)) is not None]
    tapers = any(isinstance(form, Cone) for cutter in others for form in cutter)
    solid = body
    for batch in [[tool] for tool in tools] if tapers else [tools] if tools else []:
        solid = _boolean(BRepAlgoAPI_Cut(), solid, batch, FUZZ if tapers else 0.0)
    # Else the hidden-line algorithm takes tangent edges and the seams of cylinders for sharp ones.
    BRepLib.EncodeRegularity_s(solid, 1e-6)
    return solid


def kernel_trimmed(shape: TopoDS_Shape, blank: Box, planes: Sequence[Plane]) -> TopoDS_Shape:
    """Of a solid cut from ``blank``, what lies on the inner side of all planes."""
    tools = [_outer_half(plane, blank) for plane in planes if max(map(plane.distance, corners_of(blank))) > 0]
    return _boolean(BRepAlgoAPI_Cut(), shape, tools) if tools else shape


def kernel_volume(shape: TopoDS_Shape) -> float:
    """Cubic millimetres, by the kernel's own integration over exact surfaces."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return properties.Mass()


def kernel_area(shape: TopoDS_Shape) -> float:
    """Square millimetres of the whole boundary."""
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, properties)
    return properties.Mass()


def kernel_face_area(shape: TopoDS_Shape, normal: Vec, offset: float) -> float:
    """Square millimetres of the faces that lie in a plane and look along its normal."""
    total = 0.0
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face(explorer.Current())
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() == GeomAbs_Plane:
            plane = surface.Plane()
            axis, place = plane.Axis().Direction(), plane.Location()
            sign = -1.0 if face.Orientation() == TopAbs_REVERSED else 1.0
            if not plane.Position().Direct():
                sign = -sign
            own = (axis.X() * sign, axis.Y() * sign, axis.Z() * sign)
            if (
                dot(own, normal) > 1 - 1e-9
                and abs(dot(normal, (place.X(), place.Y(), place.Z())) - offset) < 1e-5
            ):
                total += kernel_area(face)
        explorer.Next()
    return total


def kernel_centroid(shape: TopoDS_Shape) -> Point:
    """The centre of volume."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    centre = properties.CentreOfMass()
    return (centre.X(), centre.Y(), centre.Z())


def kernel_box(shape: TopoDS_Shape) -> Box:
    """The tight bounding box along the axes of the frame the shape is in."""
    bounds = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, bounds, False, False)
    x0, y0, z0, x1, y1, z1 = bounds.Get()
    return Box((x0, y0, z0), (x1 - x0, y1 - y0, z1 - z0))


def _boolean(
    operation: object, body: TopoDS_Shape, tools: Sequence[TopoDS_Shape], fuzz: float = 0.0
) -> TopoDS_Shape:
    arguments, others = List_TopoDS_Shape(), List_TopoDS_Shape()
    arguments.Append(body)
    for tool in tools:
        others.Append(tool)
    operation.SetArguments(arguments)
    operation.SetTools(others)
    if fuzz:
        operation.SetFuzzyValue(fuzz)
    operation.Build()
    assert operation.IsDone(), "the kernel could not cut"
    return operation.Shape()


def _cutter(forms: Sequence[Form], around: Box) -> TopoDS_Shape | None:
    """The cutter as a solid inside ``around``; None where it does not reach it."""
    corners = corners_of(around)
    shape = _box(around)
    for form in forms:
        if isinstance(form, Plane):
            depths = [form.distance(p) for p in corners]
            if max(depths) <= 0:
                return None
            if min(depths) < 0:
                shape = _boolean(BRepAlgoAPI_Common(), shape, [_outer_half(form, around)])
            continue
        inside, is_outer = _prism(form, around, corners)
        shape = _boolean(BRepAlgoAPI_Common() if is_outer else BRepAlgoAPI_Cut(), shape, [inside])
    return shape


def _box(box: Box) -> TopoDS_Shape:
    return BRepPrimAPI_MakeBox(gp_Pnt(*box.origin), *box.size).Shape()


def _outer_half(plane: Plane, around: Box) -> TopoDS_Shape:
    """A large block standing on the outer side of a plane."""
    centre = add(around.origin, scale(around.size, 0.5))
    foot = along(centre, plane.normal, -plane.distance(centre))
    reach = 4.0 * sum(around.size)
    helper = min(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), key=lambda a: abs(dot(a, plane.normal)))
    x = unit(cross(helper, plane.normal))
    y = cross(plane.normal, x)
    corner = along(along(foot, x, -reach), y, -reach)
    return BRepPrimAPI_MakeBox(_axes(corner, plane.normal, x), 2 * reach, 2 * reach, 2 * reach).Shape()


def _axes(origin: Point, z: Vec, x: Vec) -> gp_Ax2:
    return gp_Ax2(gp_Pnt(*origin), gp_Dir(*z), gp_Dir(*x))


def _prism(form: Form, around: Box, corners: Sequence[Point]) -> tuple[TopoDS_Shape, bool]:
    """The prism inside a round surface, and whether its inside is the surface's outer side."""
    if isinstance(form, Cylinder):
        heights = [dot(sub(p, form.point), form.axis) for p in corners]
        foot = along(form.point, form.axis, min(heights) - 1.0)
        place = gp_Ax2(gp_Pnt(*foot), gp_Dir(*form.axis))
        height = max(heights) - min(heights) + 2.0
        return BRepPrimAPI_MakeCylinder(place, form.radius, height).Shape(), form.side == "hole"
    if isinstance(form, Cone):
        return _cone(form, corners), form.side == "hole"
    assert isinstance(form, Extruded)
    heights = [dot(sub(p, form.origin), form.axis) for p in corners]
    low, high = min(heights) - 1.0, max(heights) + 1.0
    outline = form.outline
    closed = math.dist(outline[0].start, outline[-1].end) < 1e-6
    if not closed:
        outline = (*outline, *_far_round_the_right(form, corners))
    wire = _wire(form, outline, low)
    face = BRepBuilderAPI_MakeFace(wire, True).Face()
    solid = BRepPrimAPI_MakePrism(face, gp_Vec(*scale(form.axis, high - low))).Shape()
    return solid, not closed or _turns_clockwise(outline)


def _cone(form: Cone, corners: Sequence[Point]) -> TopoDS_Shape:
    """The kernel's cone from the tip, or from below all ``corners``, to above them."""
    heights = [dot(sub(p, form.point), form.axis) for p in corners]
    tip = -form.radius / form.slope
    low, high = min(heights) - 1.0, max(heights) + 1.0
    low, high = (max(low, tip), high) if form.slope > 0 else (low, min(high, tip))
    r0, r1 = (max(0.0, form.radius + form.slope * h) for h in (low, high))
    place = gp_Ax2(gp_Pnt(*along(form.point, form.axis, low)), gp_Dir(*form.axis))
    # The far end may be the tip but for rounding.
    r0, r1 = (0.0 if r < 1e-9 else r for r in (r0, r1))
    return BRepPrimAPI_MakeCone(place, r0, r1, high - low).Shape()


def _turns_clockwise(outline: Sequence[Curve]) -> bool:
    points = [curve.at(i / 16) for curve in outline for i in range(16)]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) < 0


def _far_round_the_right(form: Extruded, corners: Sequence[Point]) -> list[Line]:
    """Straight on from an open outline's end, far round its right side, and back to its start."""
    flat = [form.flat(p) for p in corners] + [c.at(i / 8) for c in form.outline for i in range(9)]
    far = 4.0 * max(math.dist(flat[0], p) for p in flat)
    first, last = form.outline[0], form.outline[-1]

    def heading(a: Vec2, b: Vec2) -> Vec2:
        size = math.dist(a, b)
        return ((b[0] - a[0]) / size, (b[1] - a[1]) / size)

    h = 1e-7
    into, out = heading(first.at(0.0), first.at(h)), heading(last.at(1.0 - h), last.at(1.0))
    start, end = first.start, last.end
    p = (end[0] + far * out[0], end[1] + far * out[1])
    s = (start[0] - far * into[0], start[1] - far * into[1])
    right_of_end = (p[0] + far * out[1], p[1] - far * out[0])
    right_of_start = (s[0] + far * into[1], s[1] - far * into[0])
    ring = [end, p, right_of_end, right_of_start, s, start]
    return [Line(a, b) for a, b in itertools.pairwise(ring)]


def _wire(form: Extruded, outline: Sequence[Curve], height: float) -> TopoDS_Wire:
    maker = BRepBuilderAPI_MakeWire()
    for curve in outline:
        maker.Add(_wire_edge(form, curve, height))
    return maker.Wire()


def _wire_edge(form: Extruded, curve: Curve, height: float) -> TopoDS_Shape:
    def lift(p: Vec2) -> Point:
        return along(form.lift(*p), form.axis, height)

    if isinstance(curve, Line):
        return BRepBuilderAPI_MakeEdge(gp_Pnt(*lift(curve.start)), gp_Pnt(*lift(curve.end))).Edge()
    if isinstance(curve, Bezier):
        poles = Array1_gp_Pnt(1, len(curve.points))
        for i, p in enumerate(curve.points):
            poles.SetValue(i + 1, gp_Pnt(*lift(p)))
        return BRepBuilderAPI_MakeEdge(Geom_BezierCurve(poles)).Edge()
    low, high = min(curve.first, curve.last), max(curve.first, curve.last)
    if isinstance(curve, Arc):
        circle = gp_Circ(_axes(lift(curve.centre), form.axis, form.u), curve.radius)
        return BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(circle, low, high, True).Value()).Edge()
    return _ellipse_edge(form, curve, lift(curve.centre))


def _ellipse_edge(form: Extruded, curve: EllipseArc, centre: Point) -> TopoDS_Shape:
    """The kernel wants the longer half axis first."""
    major, minor, shift = curve.major, curve.minor, 0.0
    if math.hypot(*major) < math.hypot(*minor):
        major, minor, shift = minor, (-major[0], -major[1]), math.pi / 2
    turn = 1.0 if major[0] * minor[1] - major[1] * minor[0] > 0 else -1.0
    x = unit(add(scale(form.u, major[0]), scale(form.v, major[1])))
    ellipse = gp_Elips(_axes(centre, scale(form.axis, turn), x), math.hypot(*major), math.hypot(*minor))
    low, high = sorted((curve.first - shift, curve.last - shift))
    return BRepBuilderAPI_MakeEdge(GC_MakeArcOfEllipse(ellipse, low, high, True).Value()).Edge()


# Views


@dataclass(frozen=True)
class KernelView:
    """The kernel's strokes as polylines in the view's right and up (mm), chords within 0.001 mm."""

    visible: tuple[tuple[Vec2, ...], ...]
    hidden: tuple[tuple[Vec2, ...], ...]


def kernel_placed(shape: TopoDS_Shape, frame: Frame) -> TopoDS_Shape:
    """A solid carried to the world; mirrored where the frame is."""
    move = gp_Trsf()
    move.SetValues(*(value for row in frame.matrix()[:3] for value in row))
    return BRepBuilderAPI_Transform(shape, move, True).Shape()


def kernel_view(placed: Sequence[tuple[TopoDS_Shape, Frame]], projection: Projection) -> KernelView:
    """Edges and contours, seen and hidden; smooth edges are left out."""
    return kernel_drawing(kernel_scene(placed), projection)


def kernel_scene(placed: Sequence[tuple[TopoDS_Shape, Frame]]) -> TopoDS_Compound:
    """All solids in their places as one compound, to be drawn in several views."""
    builder, compound = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(compound)
    for shape, frame in placed:
        builder.Add(compound, kernel_placed(shape, frame))
    return compound


def kernel_drawing(compound: TopoDS_Compound, projection: Projection) -> KernelView:
    """One view of a compound by the exact hidden-line algorithm."""
    drawn = kernel_hide(compound, projection)
    kinds = (HLRBRep_TypeOfResultingEdge.HLRBRep_Sharp, HLRBRep_TypeOfResultingEdge.HLRBRep_OutLine)

    def polylines(visible: bool) -> tuple[tuple[Vec2, ...], ...]:
        # Asked for in space: on paper the kernel makes most ellipses splines, up to 0.03 mm off (measured).
        compounds = [drawn.CompoundOfEdges(kind, visible, True) for kind in kinds]
        return tuple(_polylines(compounds, projection))

    return KernelView(visible=polylines(True), hidden=polylines(False))


def kernel_hide(compound: TopoDS_Compound, projection: Projection) -> HLRBRep_HLRToShape:
    """The hidden-line algorithm alone, without reading its strokes: what a time is taken of."""
    algorithm = HLRBRep_Algo()
    algorithm.Add(compound)
    algorithm.Projector(HLRAlgo_Projector(_axes((0.0, 0.0, 0.0), projection.toward, projection.right)))
    algorithm.Update()
    algorithm.Hide()
    return HLRBRep_HLRToShape(algorithm)


def _polylines(
    compounds: Iterable[TopoDS_Shape | None], projection: Projection
) -> Iterable[tuple[Vec2, ...]]:
    for compound in compounds:
        if compound is None or compound.IsNull():
            continue
        BRepLib.BuildCurves3d_s(compound)
        explorer = TopExp_Explorer(compound, TopAbs_EDGE)
        while explorer.More():
            curve = BRepAdaptor_Curve(TopoDS.Edge(explorer.Current()))
            points = GCPnts_TangentialDeflection(curve, 0.05, 0.001)
            found = [points.Value(i + 1) for i in range(points.NbPoints())]
            yield tuple(projection.flat((p.X(), p.Y(), p.Z())) for p in found)
            explorer.Next()


# Comparison


@dataclass(frozen=True)
class Comparison:
    """Lengths in millimetres. *Extra* is ours far from theirs, *missing* theirs far from ours."""

    visible_length: float
    hidden_length: float
    visible_extra: float
    visible_missing: float
    hidden_extra: float
    hidden_missing: float

    @property
    def worst(self) -> float:
        """The greatest of the four as a share of all strokes of the view."""
        total = self.visible_length + self.hidden_length
        most = max(self.visible_extra, self.visible_missing, self.hidden_extra, self.hidden_missing)
        return most / total if total else 0.0


def compare_strokes(ours: Iterable[Stroke], theirs: KernelView, near: float = NEAR) -> Comparison:
    """How far two drawings of one view are the same; smooth strokes of ours are left out, as theirs are."""
    drawn = [stroke for stroke in ours if stroke.kind != "smooth"]
    visible = line_pieces(stroke_points(stroke) for stroke in drawn if stroke.visible)
    hidden = line_pieces(stroke_points(stroke) for stroke in drawn if not stroke.visible)
    kernel_visible, kernel_hidden = line_pieces(theirs.visible), line_pieces(theirs.hidden)
    seen = np.concatenate((visible, kernel_visible))
    return Comparison(
        visible_length=float(_lengths(visible).sum()),
        hidden_length=float(_lengths(hidden).sum()),
        visible_extra=float(far_lengths(visible, kernel_visible, near).sum()),
        visible_missing=float(far_lengths(kernel_visible, visible, near).sum()),
        hidden_extra=float(far_lengths(hidden, np.concatenate((kernel_hidden, seen)), near).sum()),
        hidden_missing=float(far_lengths(kernel_hidden, np.concatenate((hidden, seen)), near).sum()),
    )


def stroke_points(stroke: Stroke, chord: float = 0.001) -> tuple[Vec2, ...]:
    """A stroke as a polyline whose chords lie within ``chord`` millimetres of it."""
    curve = stroke.curve
    if isinstance(curve, Line):
        return (curve.start, curve.end)
    count = 256
    if isinstance(curve, Arc | EllipseArc):
        size = (
            curve.radius
            if isinstance(curve, Arc)
            else max(math.hypot(*curve.major), math.hypot(*curve.minor))
        )
        step = 2 * math.acos(max(0.0, 1 - chord / max(size, chord)))
        count = max(2, math.ceil(abs(curve.last - curve.first) / max(step, 1e-3)))
    return tuple(curve.at(i / count) for i in range(count + 1))


def line_pieces(polylines: Iterable[Sequence[Vec2]]) -> np.ndarray:
    """All segments of polylines, (n, 2, 2): start and end, x and y."""
    rows = [(a, b) for points in polylines for a, b in itertools.pairwise(points)]
    return np.array(rows, dtype=float).reshape(-1, 2, 2)


def _lengths(pieces: np.ndarray) -> np.ndarray:
    d = pieces[:, 1] - pieces[:, 0]
    return np.hypot(d[:, 0], d[:, 1])


def far_lengths(pieces: np.ndarray, others: np.ndarray, near: float) -> np.ndarray:
    """Of each piece, the length that lies farther than ``near`` from all of ``others``: exact, (n,).

    The points near a straight piece form a capsule: a rectangle and two discs. A line meets this convex shape
    in one interval; what the union of the intervals leaves is far.
    """
    sizes = _lengths(pieces)
    if len(pieces) == 0 or len(others) == 0:
        return sizes
    tree = shapely.STRtree(shapely.linestrings(others))
    row, other = tree.query(shapely.linestrings(pieces), predicate="dwithin", distance=near)
    first, last = _in_capsule(pieces[row], others[other], near)
    order = np.lexsort((first, row))
    row, first, last = row[order], first[order], last[order]
    covered = np.zeros(len(pieces))
    reached: dict[int, float] = {}
    for k, low, high in zip(row.tolist(), first.tolist(), last.tolist(), strict=True):
        low = max(low, reached.get(k, 0.0))
        if high > low:
            covered[k] += high - low
            reached[k] = high
    return sizes * np.maximum(1.0 - covered, 0.0)


def _in_capsule(pieces: np.ndarray, others: np.ndarray, near: float) -> tuple[np.ndarray, np.ndarray]:
    """First and last parameter (0 to 1) of each piece within ``near`` of the other piece in its row."""
    start, d = pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    square = np.maximum((d * d).sum(axis=1), 1e-30)
    lows, highs = [], []
    for end in (others[:, 0], others[:, 1]):
        from_end = start - end
        half = (from_end * d).sum(axis=1)
        inside = half * half - square * ((from_end * from_end).sum(axis=1) - near * near)
        root = np.sqrt(np.maximum(inside, 0.0))
        lows.append(np.where(inside > 0, (-half - root) / square, np.inf))
        highs.append(np.where(inside > 0, (-half + root) / square, -np.inf))
    way = others[:, 1] - others[:, 0]
    size = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-30)[:, None]
    way = way / size
    side = np.stack((-way[:, 1], way[:, 0]), axis=1)
    low, high = np.full(len(pieces), -np.inf), np.full(len(pieces), np.inf)
    for axis, least, most in ((way, 0.0, size[:, 0]), (side, -near, near)):
        at = ((start - others[:, 0]) * axis).sum(axis=1)
        step = (d * axis).sum(axis=1)
        flat = np.abs(step) < 1e-15
        step = np.where(flat, 1e-15, step)
        one, two = (least - at) / step, (most - at) / step
        low, high = np.maximum(low, np.minimum(one, two)), np.minimum(high, np.maximum(one, two))
    crossed = high > low
    lows.append(np.where(crossed, low, np.inf))
    highs.append(np.where(crossed, high, -np.inf))
    return np.clip(np.min(lows, axis=0), 0.0, 1.0), np.clip(np.max(highs, axis=0), 0.0, 1.0)
