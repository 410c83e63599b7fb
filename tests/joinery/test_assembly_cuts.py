"""Rebates and trims cut on assemblies, against the exact kernel's assembly fused and cut in one piece."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest
from brep_kernel import kernel_area, kernel_centroid, kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape
from soundness import UNSOUND, described
from workshop import Built, build, findings_of, fused, half_space, kernel_bodies, less

from plangen.geometry.surfaces import Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, dot
from plangen.joinery.congruence import same_cutters
from plangen.joinery.stages import bench_model, member_at, model_at, on_the_bench

ROUND = "stile left.back edge, stile right.back edge, front rail.back edge, rear rail.back edge"
WIDE, LONG, DEEP = 400.0, 300.0, 60.0
"""Of the frame at its middle, from front to rear, and of its members."""


@dataclass(frozen=True)
class Frame:
    """A half-lapped frame that narrows by ``skew`` degrees a side toward the rear, in a plane that rises to the rear
    by ``pitch``."""

    skew: float = 0.0
    pitch: float = 0.0
    cut: str = f"{{rebate: [{ROUND}], sunk from: top, width: 10, depth: 6}}"
    more: str = ""

    def tilted(self, x: float, y: float, z: float) -> Point:
        """World place, or direction, of one in the frame's plane."""
        p = math.radians(self.pitch)
        return (x, y * math.cos(p) - z * math.sin(p), y * math.sin(p) + z * math.cos(p))

    def plane(self, at: Point, facing: Vec) -> str:
        point, way = (self.tilted(*v) for v in (at, facing))
        said = ["[" + ", ".join(f"{c:.12f}" for c in v) + "]" for v in (point, way)]
        return f"{{through point: {said[0]}, square to: {said[1]}}}"

    @property
    def text(self) -> str:
        s = math.radians(self.skew)
        walls = {
            "top": self.plane((0, 0, 300), (0, 0, 1)),
            "left wall": self.plane((-WIDE / 2, 0, 300), (-math.cos(s), math.sin(s), 0)),
            "right wall": self.plane((WIDE / 2, 0, 300), (math.cos(s), math.sin(s), 0)),
            "front wall": self.plane((0, -LONG / 2, 300), (0, -1, 0)),
            "rear wall": self.plane((0, LONG / 2, 300), (0, 1, 0)),
        }
        planes = "".join(f"  {name}: {form}\n" for name, form in walls.items())
        return f"""title: Frame
units: mm
stock:
  bar: {{ask for: ash, species: ash, width: {DEEP}, thickness: 20}}
planes:
{planes}members:
  stile:
    stock: bar
    place: {{face: {{flush with: top}}, edge: {{flush with: right wall}}}}
    trim: {{end A: front wall, end B: rear wall}}
    copies: {{mirror: left to right}}
  front rail:
    stock: bar
    place: {{face: {{flush with: top}}, edge: {{flush with: front wall}}}}
    trim: {{left end: left wall, right end: right wall}}
  rear rail:
    stock: bar
    place: {{face: {{flush with: top}}, edge: {{flush with: rear wall}}}}
    trim: {{left end: left wall, right end: right wall}}
{self.more}joints:
  - {{corner lap: [stile, front rail], over: first}}
  - {{corner lap: [stile, rear rail], over: first}}
assemblies:
  frame: {{of: [stile, front rail, rear rail], glue: glue, cuts: [{self.cut}]}}
"""

    def inset(self, by: float) -> list[tuple[float, float]]:
        """The frame's outer outline, in its own plane, moved inward by ``by``."""
        s = math.radians(self.skew)

        def x(y: float) -> float:
            return (WIDE / 2 * math.cos(s) - by - math.sin(s) * y) / math.cos(s)

        low, high = -LONG / 2 + by, LONG / 2 - by
        return [(-x(low), low), (x(low), low), (x(high), high), (-x(high), high)]

    def prism(self, outline: list[tuple[float, float]], depth: float, radius: float = 0.0) -> TopoDS_Shape:
        """What a cutter sunk ``depth`` from the top takes inside an outline, its corners rounded."""
        polygon = BRepBuilderAPI_MakePolygon()
        for x, y in outline:
            polygon.Add(gp_Pnt(*self.tilted(x, y, 300 - depth)))
        polygon.Close()
        face = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
        up = gp_Vec(*self.tilted(0, 0, depth + 50))
        shape = BRepPrimAPI_MakePrism(face, up).Shape()
        return shape if not radius else _rounded(shape, up, radius)


def _rounded(shape: TopoDS_Shape, up: gp_Vec, radius: float) -> TopoDS_Shape:
    """A prism with the edges along its axis rounded."""
    fillet = BRepFilletAPI_MakeFillet(shape)
    seen: list[TopoDS_Shape] = []
    explorer = TopExp_Explorer(shape, TopAbs_EDGE)
    while explorer.More():
        edge = TopoDS.Edge(explorer.Current())
        way = BRepAdaptor_Curve(edge).Line().Direction()
        if abs(gp_Vec(way).Dot(up.Normalized())) > 0.999 and not any(e.IsSame(edge) for e in seen):
            seen.append(edge)
            fillet.Add(radius, edge)
        explorer.Next()
    return fillet.Shape()


def whole(shapes: list[TopoDS_Shape]) -> TopoDS_Shape:
    made = shapes[0]
    for shape in shapes[1:]:
        made = fused(made, shape)
    return made


def assert_cut_whole(built: Built, cutter: TopoDS_Shape, tally, bound: float = 1e-9) -> None:
    """The members together are the bodies fused and then cut; none clashes, none has lost wood."""
    assert [str(f) for f in built.findings if f.level == "error" or f.rule in UNSOUND] == []
    other = less(whole(list(kernel_bodies(built).values())), cutter)
    standing = [(m, i) for m in built.model.members for i in m.instances]
    volume = math.fsum(m.solid.volume for m, _ in standing)
    moments = [
        math.fsum(m.solid.volume * i.frame.point(m.solid.centroid)[axis] for m, i in standing)
        for axis in range(3)
    ]
    centre = [c / volume for c in moments]
    ours = whole([described(m, i) for m, i in standing])
    off = max(
        abs(volume / kernel_volume(other) - 1),
        math.dist(centre, kernel_centroid(other)) / WIDE,
        abs(kernel_area(ours) / kernel_area(other) - 1),
    )
    tally.worst = max(tally.worst, off)
    assert off <= bound, (volume, kernel_volume(other), kernel_area(ours), kernel_area(other))


degrees = st.integers(-120, 120).map(lambda tenths: tenths / 10).filter(lambda a: abs(a) > 0.1)
pitches = st.integers(-350, 350).map(lambda tenths: tenths / 10)


def test_a_rebate_round_a_frame_is_what_a_cutter_takes_of_the_frame_in_one_piece(tally):
    @settings(max_examples=8, deadline=None)
    @given(degrees, pitches, st.integers(2, 30), st.integers(2, 13))
    def rebated(skew, pitch, width, depth):
        cut = f"{{rebate: [{ROUND}], sunk from: top, width: {width}, depth: {depth}}}"
        frame = Frame(skew, pitch, cut)
        built = tally.build(frame.text)
        if built is not None:
            assert_cut_whole(built, frame.prism(frame.inset(DEEP - width), depth), tally)

    rebated()


def test_the_cutter_leaves_its_radius_in_the_corners(tally):
    @settings(max_examples=4, deadline=None)
    @given(degrees, pitches, st.integers(3, 20))
    def rounded(skew, pitch, radius):
        cut = f"{{rebate: [{ROUND}], sunk from: top, width: 12, depth: 7, corners: {radius}}}"
        frame = Frame(skew, pitch, cut)
        built = tally.build(frame.text)
        if built is not None:
            assert_cut_whole(built, frame.prism(frame.inset(DEEP - 12), 7, radius), tally, 1e-6)
            radii = {
                round(f.radius, 6)
                for m in built.model.members
                for f in m.solid.forms
                if isinstance(f, Cylinder)
            }
            assert radii == {radius}

    rounded()


def test_a_rebate_round_an_outside_leaves_the_middle_standing(tally):
    @settings(max_examples=5, deadline=None)
    @given(degrees, pitches, st.integers(2, 40))
    def outside(skew, pitch, width):
        faces = "stile left.edge, stile right.edge, front rail.edge, rear rail.edge"
        frame = Frame(skew, pitch, f"{{rebate: [{faces}], sunk from: top, width: {width}, depth: 8}}")
        built = tally.build(frame.text)
        if built is None:
            return
        ring = less(frame.prism(frame.inset(-50), 8), frame.prism(frame.inset(width), 8))
        assert_cut_whole(built, ring, tally)
        assert built.model.assemblies[0].cuts[0].opens is False

    outside()


def test_a_plane_trims_every_member_it_meets_and_no_other(tally):
    @settings(max_examples=6, deadline=None)
    @given(degrees, pitches, st.integers(-300, 300).map(lambda t: t / 10), st.integers(-10, 10))
    def trimmed(skew, pitch, bevel, shift):
        b = math.radians(bevel)
        frame = Frame(skew, pitch)
        plane = frame.plane((0, LONG / 2 - 15 + shift, 290), (0, math.cos(b), math.sin(b)))
        frame = Frame(skew, pitch, f"{{trim: {plane}}}")
        built = tally.build(frame.text)
        if built is None:
            return
        (cut,) = built.model.assemblies[0].cuts
        whole_bodies = whole(list(kernel_bodies(built).values()))
        waste = less(whole_bodies, half_space(cut.plane))
        assert_cut_whole(built, waste, tally)
        assert set(cut.members) == {"stile left", "stile right", "rear rail"}
        normal = frame.tilted(0, math.cos(b), math.sin(b))
        assert dot(cut.plane.normal, normal) == pytest.approx(1, abs=1e-9)

    trimmed()


@dataclass(frozen=True)
class Tray:
    """Four boards that lean out by ``splay`` degrees (in where it is negative), their rim level at 200; the ends
    stand between the sides."""

    splay: float
    width: float
    depth: float

    @property
    def text(self) -> str:
        def wall(at: str, along: str, toward: str, by: float = self.splay) -> str:
            lean = f"{{by: {by:.6f} deg, toward: {toward}, measured: from plumb}}"
            return f"{{through line: {{from: {at}, going: {along}}}, lean: {lean}, facing: {toward}}}"

        return f"""title: Tray
units: mm
stock:
  board: {{ask for: ash, species: ash, width: 150, thickness: 18}}
planes:
  rim: {{level at: 200}}
  foot: {{level at: 100, facing: down}}
  right wall: {wall("[180, 0, 200]", "rear", "right")}
  left wall: {wall("[-180, 0, 200]", "rear", "left")}
  rear wall: {wall("[0, 120, 200]", "right", "rear")}
  front wall: {wall("[0, -120, 200]", "right", "front")}
members:
  side:
    stock: board
    place: {{length: rear, face: {{flush with: right wall}}, middle: [{{level at: 150}}]}}
    trim: {{top: rim, bottom: foot, rear end: rear wall, front end: front wall}}
    copies: {{mirror: left to right}}
  end:
    stock: board
    place: {{length: right, face: {{flush with: rear wall}}, middle: [{{level at: 150}}]}}
    trim:
      top: rim
      bottom: foot
      left end: {{shift: left wall, by: -18}}
      right end: {{shift: right wall, by: -18}}
    copies: {{mirror: front to back}}
joints:
  - {{butt: [end, side]}}
assemblies:
  tray:
    of: [side, end]
    glue: glue
    cuts:
      - rebate: [side left.back, side right.back, end front.back, end rear.back]
        sunk from: rim
        width: {self.width}
        depth: {self.depth}
"""

    def prism(self) -> TopoDS_Shape:
        """Walls plumb, ``width`` from the inner arris of the rim."""
        thick = 18 / math.cos(math.radians(self.splay)) - self.width
        x, y = 180 - thick, 120 - thick
        outline = [(-x, -y), (x, -y), (x, y), (-x, y)]
        return Frame().prism(outline, self.depth + 100)


def test_a_rebate_in_the_rim_of_a_splayed_tray_has_plumb_walls(tally):
    @settings(max_examples=6, deadline=None)
    @given(st.integers(-200, 200).map(lambda t: t / 10).filter(lambda a: abs(a) > 0.1), st.integers(4, 9))
    def rebated(splay, width):
        tray = Tray(splay, width, 5)
        built = tally.build(tray.text)
        if built is not None:
            assert_cut_whole(built, tray.prism(), tally)

    rebated()


def test_a_rebate_under_a_steep_slope_leaves_no_rest():
    """Boards that lean in by 40 degrees: the opening grows downward faster than the rebate is wide."""
    (found,) = [f for f in findings_of(Tray(-40, 4, 5).text) if f.level == "error"]
    assert "slopes away so fast that a rebate 4 mm wide has no rest left at 5 mm deep" in found.text


def test_equal_members_stay_one_member_when_they_are_cut_alike():
    """Of a rectangular frame the stiles are one member, and so are the rails, before and after the rebate."""
    built = build(Frame().text)
    assert [m.quantity for m in built.model.members] == [2, 2]
    one_sided = build(Frame(cut=f"{{trim: {Frame().plane((0, 140, 300), (0, 1, 0))}}}").text)
    assert [m.quantity for m in one_sided.model.members] == [2, 1, 1]


def test_the_cuts_of_an_assembly_need_no_order():
    rebate = f"{{rebate: [{ROUND}], sunk from: top, width: 10, depth: 6}}"
    trim = f"{{trim: {Frame().plane((0, 140, 300), (0, 1, 0))}}}"
    one, two = (build(Frame(cut=f"{a}, {b}").text) for a, b in ((rebate, trim), (trim, rebate)))
    for a, b in zip(one.model.members, two.model.members, strict=True):
        forms = [{s.id: s.form for f in m.features for s in f.surfaces} for m in (a, b)]
        cutters = [
            [[known[i] for i in c] for f in m.features for c in f.cutters]
            for m, known in zip((a, b), forms, strict=True)
        ]
        assert same_cutters(*cutters)
        assert a.solid.volume == pytest.approx(b.solid.volume, rel=1e-12)


def test_the_part_leaves_the_bench_without_what_is_cut_on_the_frame():
    built = build(Frame(skew=5).text)
    for member in built.model.members:
        bench = on_the_bench(member)
        assert {f.id for f in member.features} - {f.id for f in bench.features} == {"rebate 1"}
        (feature,) = [f for f in member.features if f.id == "rebate 1"]
        assert (feature.stage, feature.joint, feature.mate, feature.assembly) == (
            "glued",
            None,
            None,
            "frame",
        )
        assert bench.solid.volume > member.solid.volume
        assert member_at(member, "glued") is member
        assert member_at(bench, "shaped") is bench


def test_a_member_at_a_stage_stands_where_it_stands_at_the_end():
    """A trim on the frame shortens the stiles: their box, and so their frame, is another one on the bench."""
    built = build(Frame(cut=f"{{trim: {Frame().plane((0, -140, 300), (0, -1, 0))}}}").text)
    bench = bench_model(built.model)
    for name in ("stile left", "stile right", "front rail"):
        (after, there), (before, here) = built.model.instance(name), bench.instance(name)
        size = before.finished
        assert size[:2] == pytest.approx((LONG, DEEP) if "stile" in name else (WIDE, DEEP))
        gone = before.solid.volume - after.solid.volume
        assert gone == pytest.approx(
            10 * DEEP * 10 if "stile" in name else 10 * (WIDE - 2 * DEEP) * 20 + 10 * 2 * DEEP * 10
        )
        kept = after.solid.vertices.tolist()
        world = [there.frame.point((x, y, z)) for x, y, z in kept]
        own = [here.frame.local_point(p) for p in world]
        assert all(-1e-9 <= p[a] <= size[a] + 1e-9 for p in own for a in range(3))


def test_nothing_but_the_blank_stands_at_the_first_stage():
    model = model_at(build(Frame(skew=5).text).model, "square")
    for member in model.members:
        size = member.blank.size
        assert member.solid.volume == pytest.approx(size[0] * size[1] * size[2], rel=1e-12)
        assert all(isinstance(f, Plane) for f in member.solid.forms)


REFUSED = {
    "width: 60": 'a rebate 60 mm wide runs out of the wood: it takes the whole width of "stile left"',
    "depth: 20": 'a rebate 20 mm deep goes right through "stile right"',
    "when: shaped": "what is cut on an assembly is cut when it is glued or assembled",
}


@pytest.mark.parametrize("key", REFUSED)
def test_a_rebate_that_cannot_be_made_is_an_error_that_says_why(key):
    sizes = {"width": "10", "depth": "6", "when": "glued"} | dict([key.split(": ")])
    cut = ", ".join(f"{k}: {v}" for k, v in sizes.items())
    (found,) = [
        f
        for f in findings_of(Frame(cut=f"{{rebate: [{ROUND}], sunk from: top, {cut}}}").text)
        if f.level == "error"
    ]
    assert found.text == f'"frame": {REFUSED[key]}'


def error_of(cut: str, more: str = "", skew: float = 0.0) -> str:
    (found,) = [f for f in findings_of(Frame(skew, 0.0, cut, more).text) if f.level == "error"]
    return found.text.removeprefix('"frame": ')


def test_a_rebate_must_have_faces_to_run_along():
    sizes = "sunk from: top, width: 10, depth: 6"
    assert error_of(f"{{rebate: [{{level at: 10}}], {sizes}}}").startswith("no member of it has this face")
    assert error_of(f"{{rebate: [stile left.face], {sizes}}}").startswith("this face runs along the one")
    assert error_of(f"{{rebate: [stile left.inner, stile right.outer], {sizes}}}").startswith(
        "these faces neither look all into one opening"
    )
    assert error_of(f"{{rebate: [{ROUND}], sunk from: top, width: 10}}").startswith("say how deep")


def test_a_rail_across_the_opening_is_no_part_of_a_rebate_round_it():
    bar = """  bar:
    stock: bar
    place: {length: right, face: {flush with: top}, middle: [depth plane]}
    trim: {left: stile left.inner, right: stile right.inner}
"""
    text = Frame(more=bar).text.replace("rear rail], glue", "rear rail, bar], glue")
    text = text.replace("assemblies:", "  - {butt: [bar, stile]}\nassemblies:")
    (found,) = [f for f in findings_of(text) if f.level == "error"]
    assert '"bar" stands in the opening that the rebate runs round' in found.text
    left_out = text.replace("depth: 6}", "depth: 6, of: [stile, front rail, rear rail]}")
    assert [f for f in findings_of(left_out) if f.level == "error"] == []


def test_a_trim_that_misses_or_takes_all_is_an_error():
    off = Frame().plane((0, 200, 300), (0, 1, 0))
    assert error_of(f"{{trim: {off}}}") == "the plane of this trim meets no member"
    wrong_way = Frame().plane((0, 140, 300), (0, -1, 0))
    assert error_of(f"{{trim: {wrong_way}}}").startswith(
        '"front rail" lies wholly beyond the plane of this trim'
    )


def test_a_deep_rebate_is_against_the_rule_of_thumb():
    """Backs and panels: at most two thirds of the thickness (common practice)."""
    cut = f"{{rebate: [{ROUND}], sunk from: top, width: 10, depth: 14}}"
    (found,) = [f for f in findings_of(Frame(cut=cut).text) if f.level == "warning"]
    assert (found.rule, "0.70 of the stock's thickness" in found.text) == ("rule of thumb", True)
