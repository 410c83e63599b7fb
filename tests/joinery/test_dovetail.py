"""Dovetails: tails between pins that close on corners of any angle, through and half-blind; slopes and laps as said."""

import math
from dataclasses import dataclass

import pytest
from brep_kernel import kernel_area, kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_VERTEX
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from soundness import assert_order_free, assert_sound
from workshop import build, common, findings_of, fused, half_space, kernel_bodies, less

from plangen.geometry.clash import union_volume
from plangen.geometry.contact import contact_area
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import along, dot, neg, scale, sub, unit

THROUGH, HALF_BLIND = "through dovetail", "half-blind dovetail"


@dataclass(frozen=True)
class Corner:
    """Two boards that meet at a corner, leaning from plumb (degrees), one turned in plan, under a sloping top."""

    lean: float = 0.0
    other_lean: float = 0.0
    turn: float = 0.0
    rise: tuple[float, float] = (0.0, 0.0)
    thick: tuple[float, float] = (18.0, 15.0)
    joint: str = "{through dovetail: [front, side]}"
    reach: str = "left wall"

    @property
    def text(self) -> str:
        return f"""title: Corner
units: mm
stock:
  tail wood: {{ask for: ash, species: ash, thickness: {self.thick[0]}}}
  pin wood: {{ask for: ash, species: ash, thickness: {self.thick[1]}}}
planes:
  front wall:
    through line: {{from: [0, -100, 0], going: right}}
    lean: {{by: {self.lean} deg, toward: front, going: up, measured: from plumb}}
  left wall:
    through line: {{from: [-100, -100, 0], going: [sin({self.turn} deg), cos({self.turn} deg), 0]}}
    lean: {{by: {self.other_lean} deg, toward: left, going: up, measured: from plumb}}
  slope: {{through point: [-100, -100, 110], square to: [{self.rise[0]}, {self.rise[1]}, 1]}}
members:
  front:
    stock: tail wood
    place: {{length: right, face: {{flush with: front wall}}}}
    trim: {{left: {self.reach}, right: {{through point: [150, 0, 0], square to: right}}, bottom: floor, top: slope}}
  side:
    stock: pin wood
    place: {{length: [sin({self.turn} deg), cos({self.turn} deg), 0], face: {{flush with: left wall}}}}
    trim: {{front: front wall, rear: {{through point: [0, 150, 0], square to: rear}}, bottom: floor, top: slope}}
joints:
  - {self.joint}
"""


def test_tails_as_many_as_said_and_sloping_as_said_stand_between_half_pins():
    joint = "{through dovetail: [front, side], tails: 3, slope: 1 in 6}"
    built = build(Corner(thick=(18, 15), joint=joint).text)
    assert built.findings == ()
    front = built.member("front")
    # 110 in three pitches; halfway along the tails 2/3 of each is tail, and the pins are 1/3, halves at the edges.
    pin = 110 / 9
    assert 250 * 110 * 18 - front.solid.volume == pytest.approx(3 * pin * 15 * 18)
    sides = [
        p.form
        for p in built.feature("front", "tails").surfaces
        if isinstance(p.form, Plane) and abs(p.form.normal[1]) > 0.9
    ]
    assert len(sides) == 6
    assert {round(abs(p.normal[0] / p.normal[1]), 9) for p in sides} == {round(1 / 6, 9)}


def test_without_a_count_a_tail_and_a_pin_take_two_and_a_half_thicknesses():
    built = build(Corner().text)
    assert len(built.feature("side", "pins").cutters) == round(110 / (2.5 * 18))


def test_without_a_slope_tails_slope_1_in_7():
    built = build(Corner().text)
    (ratio,) = {
        round(abs(s.form.normal[1] / s.form.normal[0]))
        for s in built.feature("front", "tails").surfaces
        if 0.05 < abs(s.form.normal[0]) < 0.9
    }
    assert ratio == 7  # common practice, between 1:6 and 1:8 (read)


@pytest.mark.parametrize(("said", "left"), [(", lap: 5", 5.0), ("", 15 / 4)])
def test_the_lap_of_a_half_blind_dovetail_is_as_said_or_a_quarter(said, left):
    built = build(Corner(joint=f"{{half-blind dovetail: [front, side]{said}}}").text)
    assert [str(f) for f in built.findings] == []
    assert built.member("front").finished[0] == pytest.approx(250 - left)


def test_a_board_that_ends_inside_the_front_leaves_the_lap_itself():
    short = "{shift: left wall, by: -4}"
    built = build(Corner(reach=short, joint="{half-blind dovetail: [front, side]}").text)
    assert [str(f) for f in built.findings] == []
    assert built.member("front").finished[0] == pytest.approx(246)
    assert min(c.finished[1] for c in [built.member("side")]) == pytest.approx(110)


def test_clearance_widens_the_sockets_and_leaves_the_tails_as_they_are():
    snug, loose = (
        build(Corner(joint=f"{{through dovetail: [front, side]{more}}}").text)
        for more in ("", ", allowance: 0.4")
    )
    assert loose.member("front").solid.volume == pytest.approx(snug.member("front").solid.volume)
    sides = 2 * len(loose.feature("side", "pins").cutters)
    slant = 15 * math.sqrt(1 + 1 / 49)
    taken = snug.member("side").solid.volume - loose.member("side").solid.volume
    assert taken == pytest.approx(sides * 0.2 * slant * 18)


# --- on random corners --------------------------------------------------------------------------------------

degrees = st.integers(-350, 350).filter(lambda t: abs(t) > 1).map(lambda tenths: tenths / 10)
turns = st.integers(-250, 250).map(lambda tenths: tenths / 10)
slopes = st.integers(-87, 87).map(lambda thousandths: thousandths / 1000)
"""Of the top, up to 5 degrees each way: it tapers both boards."""


def tails_of(built, bodies, long, slope, count):
    """The tails, endless along the pin board's grain, by the layout rule, from the bodies alone."""
    front, side = (next(p for p in built.placed if p.name == n) for n in ("front", "side"))
    ahead, slide = neg(front.frame.l), side.frame.l
    if dot(slide, front.frame.t) < 0:
        slide = neg(slide)
    face = front.frame.point((0, 0, front.body.size[2]))
    out, w = front.frame.t, front.frame.w

    def on_face(p):
        return along(p, slide, dot(sub(face, p), out) / dot(slide, out))

    def across(p):
        return dot(sub(on_face(p), front.frame.origin), w)

    corners = vertices(common(bodies["front"], bodies["side"]))
    top = Plane(unit((*rise_of(built), 1.0)), 0.0)
    top = top.shifted(dot(top.normal, (-100, -100, 110)))
    low = max(across(p) for p in corners if abs(p[2]) < 1e-6)
    high = min(across(p) for p in corners if abs(top.distance(p)) < 1e-6)
    if low > high:
        low, high = (
            max(across(p) for p in corners if abs(top.distance(p)) < 1e-6),
            min(across(p) for p in corners if abs(p[2]) < 1e-6),
        )
    # The shoulder: the side's inner face.
    n = side.frame.t
    inner = side.frame.point((0, 0, 0))
    pitch = (high - low) / count
    half = pitch / 3 - slope * long / 2
    found = []
    for i in range(count):
        middle = low + (i + 0.5) * pitch
        at = along(face, w, middle - dot(sub(face, front.frame.origin), w))
        root = along(at, ahead, dot(sub(inner, at), n) / dot(ahead, n))
        apex = along(root, ahead, -half / slope)
        far = along(root, ahead, 120)
        wide = half + slope * 120
        found.append(prism([apex, along(far, w, wide), along(far, w, -wide)], slide, 150))
    return found


def divided(bodies, tails):
    """Front and side: the tails are the front's and all else that they share the side's."""
    pins, sockets = bodies["side"], bodies["side"]
    for tail in tails:
        pins = less(pins, tail)
        sockets = less(sockets, common(bodies["front"], tail))
    return {"front": less(bodies["front"], pins), "side": sockets}


def rise_of(built):
    plane = next(spec for name, spec in built.design.planes.items() if name == "slope")
    vector = plane.square_to.vector
    return float(vector[0].text), float(vector[1].text)


def vertices(shape):
    explorer, found = TopExp_Explorer(shape, TopAbs_VERTEX), []
    while explorer.More():
        p = BRep_Tool.Pnt_s(TopoDS.Vertex(explorer.Current()))
        found.append((p.X(), p.Y(), p.Z()))
        explorer.Next()
    return found


def prism(points, way, far):
    polygon = BRepBuilderAPI_MakePolygon()
    for p in points:
        polygon.Add(gp_Pnt(*along(p, way, -far)))
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
    return BRepPrimAPI_MakePrism(face, gp_Vec(*scale(way, 2 * far))).Shape()


def depth_along_the_grain(built, lap=0.0):
    front, side = (next(p for p in built.placed if p.name == n) for n in ("front", "side"))
    return (side.body.size[2] - lap) / abs(dot(front.frame.l, side.frame.t))


def whole_volume(bodies):
    shared = kernel_volume(common(bodies["front"], bodies["side"]))
    return sum(kernel_volume(b) for b in bodies.values()) - shared


def test_through_dovetails_are_sound_on_corners_of_any_angle(tally):
    @settings(max_examples=12, deadline=None)
    @given(degrees, degrees, turns, slopes, slopes, st.sampled_from([5, 6, 8]))
    def cornered(lean, other, turn, a, b, one_in):
        joint = f"{{through dovetail: [front, side], tails: 2, slope: 1 in {one_in}}}"
        built = tally.build(Corner(lean, other, turn, (a, b), joint=joint).text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        tails = tails_of(built, bodies, depth_along_the_grain(built), 1 / one_in, 2)
        assert_sound(built, tally, divided(bodies, tails))
        members = [(m.solid, i.frame) for m in built.model.members for i in m.instances]
        assert union_volume(members) == pytest.approx(whole_volume(bodies), rel=1e-9)

    cornered()


def test_half_blind_dovetails_are_sound_on_corners_of_any_angle(tally):
    @settings(max_examples=12, deadline=None)
    @given(degrees, degrees, turns, slopes, slopes, st.integers(3, 7))
    def cornered(lean, other, turn, a, b, lap):
        joint = f"{{half-blind dovetail: [front, side], tails: 2, lap: {lap}}}"
        built = tally.build(Corner(lean, other, turn, (a, b), joint=joint).text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        side = next(p for p in built.placed if p.name == "side")
        outer = Plane(side.frame.t, dot(side.frame.t, side.frame.point((0, 0, side.body.size[2] - lap))))
        tails = tails_of(built, bodies, depth_along_the_grain(built, lap), 1 / 7, 2)
        cut_back = {"front": common(bodies["front"], half_space(outer)), "side": bodies["side"]}
        assert_sound(built, tally, divided(cut_back, tails))

    cornered()


def test_the_order_of_joints_does_not_matter():
    text = Corner(8, -12, 4, joint="{through dovetail: [front, side]}").text
    back = """  back:
    stock: pin wood
    place: {length: front, back: {flush with: {through point: [150, 0, 0], square to: right}}}
    trim: {front: front wall, rear: {through point: [0, 150, 0], square to: rear}, bottom: floor, top: slope}
"""
    text = text.replace("joints:\n", back.replace("back: {flush with", "face: {flush with") + "joints:\n")
    assert_order_free(text + "  - {half-blind dovetail: [front, back]}\n")


def test_tail_sides_run_along_the_pin_boards_grain_so_that_the_corner_slides_home():
    built = build(Corner(12, 15, 5).text)
    assert [str(f) for f in built.findings] == []
    slide = built.instance("side")[1].frame.l
    for name, kind in (("front", "tails"), ("side", "pins")):
        sides = [
            f
            for f in built.world_surfaces(name, built.feature(name, kind))
            if abs(dot(f.normal, built.instance(name)[1].frame.w)) > 0.7
        ]
        assert len(sides) >= 4
        assert all(abs(dot(f.normal, slide)) < 1e-12 for f in sides)


def test_all_faces_of_the_joint_touch():
    built = build(Corner(12, 15, 5, joint="{through dovetail: [front, side], tails: 2}").text)
    (a, ia), (b, ib) = built.instance("front"), built.instance("side")
    bodies = kernel_bodies(built)
    # Where two solids touch, their areas together exceed the area of their union by twice the contact.
    union = kernel_area(fused(bodies["front"], bodies["side"]))
    assert contact_area(a.solid, ia.frame, b.solid, ib.frame, 1e-6) == pytest.approx(
        (a.solid.area + b.solid.area - union) / 2, rel=1e-6
    )


# --- what is refused, and advice ----------------------------------------------------------------------------


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_a_tail_board_that_ends_short_is_told_by_how_much():
    assert errors(Corner(reach="{shift: left wall, by: -3}").text) == [
        'the through dovetail: "front" ends 3 mm short in "side"; trim it by the outer face'
    ]


def test_a_board_that_runs_on_past_the_corner_is_refused():
    (text,) = errors(Corner(reach="{shift: left wall, by: 60}").text)
    assert text == (
        'the through dovetail: "front" runs on 60 mm past "side"; dovetails join two boards at their ends'
    )


def test_more_tails_than_there_is_room_for_are_refused():
    (text,) = errors(Corner(joint="{through dovetail: [front, side], tails: 25}").text)
    assert text.startswith("the through dovetail: 25 tails at this slope do not fit in 110 mm")


def test_a_lap_as_thick_as_the_board_is_refused():
    (text,) = errors(Corner(joint="{half-blind dovetail: [front, side], lap: 15}").text)
    assert text == ("the half-blind dovetail: a lap of 15 mm in wood 15 mm thick leaves no lap or no tails")


def test_boards_in_a_row_make_no_dovetailed_corner():
    text = Corner().text.replace("length: [sin(0.0 deg), cos(0.0 deg), 0]", "length: up")
    (told,) = errors(text.replace("front: front wall, rear", "front: front wall, rear"))
    assert told.startswith('the through dovetail: "side" must come to "front" by its end')


@pytest.mark.parametrize(
    ("slope", "told"), [("1 in 6", 0), ("1 in 8", 0), ("1 in 5", 0), ("1 in 4", 1), ("1 in 12", 1)]
)
def test_slopes_outside_1_in_5_to_1_in_8_are_advised_against(slope, told):
    found = findings_of(Corner(joint=f"{{through dovetail: [front, side], slope: {slope}}}").text)
    assert [f.rule for f in found] == ["rule of thumb"] * told


def test_a_thick_lap_is_advised_against():
    (found,) = findings_of(Corner(joint="{half-blind dovetail: [front, side], lap: 9}").text)
    assert found.level == "warning"
    assert "the lap is 0.60 of the thickness" in found.text
