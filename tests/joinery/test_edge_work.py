"""Rounded and chamfered arrises, against the exact kernel's own fillets and chamfers of the same edges."""

import math

import pytest
from brep_kernel import kernel_area, kernel_solid, kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from workshop import build, findings_of

LONG, WIDE, THICK = 240.0, 70.0, 40.0
BAR = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 70, thickness: 40}}
members:
  bar:
    stock: bar
    length: 240
    place: {corner: [0, 0, 0], length: right, width: rear}
    SHAPE
    edge work: [WORK]
"""


def bar(work, shape=""):
    return BAR.replace("WORK", work).replace("SHAPE", shape)


def eased(work, shape=""):
    return build(bar(work, shape)).member("bar")


def messages(work, shape=""):
    return [f.text for f in findings_of(bar(work, shape)) if f.level == "error"]


def edges_where(shape, wanted):
    """The kernel's edges whose two ends satisfy ``wanted``."""
    explorer, found = TopExp_Explorer(shape, TopAbs_EDGE), []
    while explorer.More():
        edge = TopoDS.Edge(explorer.Current())
        curve = BRepAdaptor_Curve(edge)
        ends = [curve.Value(t) for t in (curve.FirstParameter(), curve.LastParameter())]
        points = [(p.X(), p.Y(), p.Z()) for p in ends]
        if wanted(*points) and not any(edge.IsSame(e) for e in found):
            found.append(edge)
        explorer.Next()
    return found


def is_long(p, q):
    return abs(p[0] - q[0]) > 100


def filleted(shape, edges, radius):
    maker = BRepFilletAPI_MakeFillet(shape)
    for edge in edges:
        maker.Add(radius, edge)
    return maker.Shape()


def chamfered(shape, edges, width):
    maker = BRepFilletAPI_MakeChamfer(shape)
    for edge in edges:
        maker.Add(width, edge)
    return maker.Shape()


def sizes(low, high):
    return st.floats(low, high).map(lambda x: round(x, 4))


@settings(max_examples=12, deadline=None)
@given(sizes(0.5, 9), sizes(45, 66), sizes(-0.6, 0.6), st.booleans())
def test_long_arrises_between_tapered_and_sloping_faces_are_eased_as_the_kernel_eases_them(
    size, narrow, lean, rounded
):
    """Rounded: tangent to both surfaces. Chamfered: as much off one as off the other."""
    in_front = round(20 * abs(lean) + 1, 4)  # of the middle of the sloping edge: all of it is within the bar
    shape = f"taper: {{on: back edge, at end A: 66, at end B: {narrow}}}"
    trim = f"trim: {{front: {{through point: [0, {in_front}, 20], square to: [0, -1, {lean}]}}}}"
    word = "round over" if rounded else "chamfer"
    member = eased(f"{{{word}: {size}}}", f"{shape}\n    {trim}")
    own = [[s.form for s in f.surfaces] for f in member.features if f.kind in ("bevel", "taper")]
    body = kernel_solid(member.blank, own)
    arrises = edges_where(body, is_long)
    assert len(arrises) == 4
    theirs = (filleted if rounded else chamfered)(body, arrises, size)
    assert member.solid.volume == pytest.approx(kernel_volume(theirs), rel=1e-6 if rounded else 1e-9)
    assert member.solid.area == pytest.approx(kernel_area(theirs), rel=1e-6)


def test_the_four_long_arrises_are_meant_where_none_are_named():
    member = eased("{round over: 5}")
    assert [f.kind for f in member.features] == ["round-over"] * 4
    taken = 4 * (25 - math.pi * 25 / 4) * LONG
    assert member.solid.volume == pytest.approx(LONG * WIDE * THICK - taken, rel=1e-9)


def test_a_stopped_chamfer_takes_its_section_between_its_stops_only():
    member = eased("{chamfer: 6, arrises: [[face, edge]], from end A: 50, from end B: 30}")
    assert member.solid.volume == pytest.approx(LONG * WIDE * THICK - 6 * 6 / 2 * (LONG - 80), rel=1e-12)
    assert any("drawn square" in n for n in member.notes)


@settings(max_examples=12, deadline=None)
@given(sizes(2, 9))
def test_arrises_that_meet_in_a_corner_are_each_worked_through(size):
    """The kernel's chamfers of three edges that meet differ in the corner; two prisms' overlap is plain geometry."""
    member = eased(f"{{chamfer: {size}, arrises: [[face, edge], [face, end A]]}}")
    taken = size * size / 2 * (LONG + WIDE) - size**3 / 3
    assert member.solid.volume == pytest.approx(LONG * WIDE * THICK - taken, rel=1e-9)


def test_a_grip_rounded_by_half_its_thickness_has_round_edges_and_no_sliver():
    member = eased("{round over: 20, from end A: 60, from end B: 60}")
    section = WIDE * THICK - (40 * 40 - math.pi * 20 * 20)
    assert member.solid.volume == pytest.approx(120 * WIDE * THICK + 120 * section, rel=1e-9)
    whole = eased("{round over: 20}")
    assert whole.solid.volume == pytest.approx(LONG * section, rel=1e-9)
    assert (
        min(f.area for f in whole.solid.faces) > 100
    )  # the plane edges are gone, nothing thin is left of them


def test_a_square_piece_rounded_by_half_its_thickness_is_a_dowel():
    member = eased("{round over: 20}", "width: 40")
    assert member.solid.volume == pytest.approx(math.pi * 400 * LONG, rel=1e-9)


def test_the_rim_of_a_round_end_is_chamfered_by_a_cone():
    member = eased("{chamfer: 4, arrises: [[end A, face]]}", "diameter: 30")
    frustum = math.pi * 4 / 3 * (15**2 + 15 * 11 + 11**2)
    assert member.solid.volume == pytest.approx(math.pi * 225 * (LONG - 4) + frustum, rel=1e-6)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        ("{round over: 20.5}", "no room on the edge, 40 mm wide there"),
        ("{chamfer: 36, arrises: [[face, edge], [face, back edge]]}", "36 mm from it and 36 mm from the other side"),
        ("{chamfer: 41, arrises: [[face, edge]]}", "no room on the edge, 40 mm wide there: it takes 41 mm from it"),
        ("{round over: 4, arrises: [[face, back]]}", "do not meet in an arris"),
        ("{round over: 4, arrises: [[face, end A]], from end A: 10}", "has no end A to stop from"),
        ("{round over: 4, from end A: 150, from end B: 100}", "nothing is left to work of an arris 240 mm long"),
    ],
)  # fmt: skip
def test_edge_work_without_an_arris_or_room_is_refused(work, words):
    (found,) = messages(work)
    assert words in found


def test_a_curved_arris_is_told_and_not_drawn():
    text = bar("{round over: 3}", "outline: {points: [[0, 0], [240, 0], [200, 70], [40, 70]], round: 12}")
    built = build(text)
    assert [f.text for f in built.findings if f.rule == "edge work"] == [
        '"bar": round-over of 3 mm all round: a curved arris is told on the sheet and not drawn'
    ]
    assert "Round over 3 mm all round, by router." in built.member("bar").notes
    assert not any(f.kind == "round-over" for f in built.member("bar").features)


def test_a_joint_is_cut_to_the_arris_as_it_was_before_it_was_eased():
    """A housing for a rail with eased arrises has square corners, as a saw and chisel leave it."""
    text = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 60, thickness: 40}}
members:
  post: {stock: bar, length: 300, place: {corner: [0, 0, 0], length: up, width: right}}
  rail:
    stock: bar
    length: 200
    place:
      length: right
      face: {toward: front}
      middle: [{through point: [0, 20, 0], square to: rear}, {level at: 150}]
      end A: {flush with: {through point: [45, 0, 0], square to: left}}
    edge work: [WORK]
joints: [{housing: [rail, post]}]
"""
    works = ("{chamfer: 1, arrises: [[face, edge]], from end A: 60}", "{round over: 5}")
    plain, rounded = (build(text.replace("WORK", w)) for w in works)
    assert plain.member("post").solid.volume == pytest.approx(rounded.member("post").solid.volume, rel=1e-12)
    assert len(rounded.feature("post", "housing").surfaces) == 3
