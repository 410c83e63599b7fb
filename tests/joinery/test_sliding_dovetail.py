"""Sliding dovetails: a shelf's tail in a dovetailed housing, alike about the shelf's middle however the side leans."""

from dataclasses import dataclass

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Pnt, gp_Vec
from soundness import assert_order_free, assert_sound
from workshop import build, common, findings_of, half_space, kernel_bodies, less

from plangen.geometry.clash import union_volume
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import along, cross, dot, scale, sub, unit

NECK = ", thickness: 10"


@dataclass(frozen=True)
class Shelf:
    """A level shelf, 18 mm thick, let 8 mm into a side 24 mm thick that leans and turns (tangents)."""

    lean: float = 0.0
    turn: float = 0.0
    end: float = 8.0
    wide: tuple[float, float] = (140.0, 140.0)
    more: str = ""

    @property
    def text(self) -> str:
        return f"""title: Shelf
units: mm
stock:
  shelf board: {{ask for: beech, species: beech, width: 140, thickness: 18}}
  side board: {{ask for: beech, species: beech, width: 260, thickness: 24}}
planes:
  front edge: {{through point: [0, -70, 0], square to: front}}
  wall: {{through point: [0, 0, 150], square to: [1, {self.turn}, {self.lean}]}}
lines:
  side line: {{meet: [wall, {{through point: [0, 130, 0], square to: rear}}], going: up}}
members:
  side:
    stock: side board
    place: {{face: {{flush with: wall}}, edge: {{along: side line}}}}
    trim: {{lower end: floor, upper end: {{level at: 300}}}}
  shelf:
    stock: shelf board
    place: {{length: right, face: {{flush with: {{level at: 159}}}}, edge: {{flush with: front edge}}}}
    trim: {{left end: {{shift: wall, by: {-self.end}}}, right end: {{through point: [220, 0, 0], square to: right}}}}
    taper: {{at end A: {self.wide[0]}, at end B: {self.wide[1]}}}
joints:
  - {{sliding dovetail: [shelf, side]{self.more}}}
"""


def plain(**more):
    return Shelf(**more).text.replace("    taper: {at end A: 140.0, at end B: 140.0}\n", "")


def test_neck_depth_and_slope_come_out_as_said():
    built = build(plain(more=", depth: 6, thickness: 12, slope: 1 in 8"))
    assert built.findings == ()
    shelf, side = built.member("shelf"), built.member("side")
    tail = 6 * (12 + 6 / 8) * 140
    assert shelf.solid.volume == pytest.approx(220 * 18 * 140 + tail)
    assert shelf.finished[0] == pytest.approx(226)
    # The housing runs right across the side.
    assert 260 * 24 * 300 - side.solid.volume == pytest.approx(6 * (12 + 6 / 8) * 260)


def test_without_sizes_the_neck_is_three_quarters_and_the_depth_where_the_shelf_ends():
    built = build(plain())
    assert built.findings == ()
    assert built.member("shelf").solid.volume == pytest.approx(220 * 18 * 140 + 8 * (13.5 + 8 / 7) * 140)


def test_a_shelf_that_runs_through_is_cut_back_to_a_third_of_the_side():
    built = build(plain(end=30))
    assert [str(f) for f in built.findings] == []
    assert built.member("shelf").finished[0] == pytest.approx(228)


def test_a_stopped_housing_ends_short_of_the_front_and_the_shelf_is_notched_there():
    built = build(plain(more=", short of: front, short: 75" + NECK))
    # The side reaches 130 mm to the front of the middle, the shelf 70: the tail is 15 mm short of its edge.
    tail = 8 * (10 + 8 / 7)
    assert built.member("shelf").solid.volume == pytest.approx(220 * 18 * 140 + tail * 125)
    assert 260 * 24 * 300 - built.member("side").solid.volume == pytest.approx(tail * (260 - 75))
    notes = [built.feature(m, k).note for m, k in (("shelf", "dovetail"), ("side", "housing"))]
    assert all(n.endswith("slides in from the rear") for n in notes)


def test_a_housing_that_would_stop_in_front_of_the_shelf_stops_at_the_shelf():
    built = build(plain(more=", short of: front, short: 20" + NECK))
    tail = 8 * (10 + 8 / 7)
    assert 260 * 24 * 300 - built.member("side").solid.volume == pytest.approx(tail * 200)


def test_clearance_is_left_at_the_sides_and_below_the_tail():
    snug, loose = build(plain(more=NECK)), build(plain(more=", allowance: 0.4" + NECK))
    assert loose.member("shelf").solid.volume == pytest.approx(snug.member("shelf").solid.volume)
    assert loose.member("side").solid.volume < snug.member("side").solid.volume
    assert [str(f) for f in loose.findings] == []


tangents = st.integers(-70, 70).filter(lambda t: abs(t) > 1).map(lambda hundredths: hundredths / 100)
"""Up to 35 degrees each way."""
tapers = st.integers(0, 19).map(lambda less: (140.0, 140.0 - less))
"""Up to 5 degrees over the shelf's length."""


def tail_of(built):
    """The tail, endless along the line in which the shelf's faces meet the side's, from the bodies alone."""
    shelf, side = (next(p for p in built.placed if p.name == n) for n in ("shelf", "side"))
    out, t = side.frame.t, shelf.frame.t
    wall = side.frame.point((0, 0, 24))
    slide = unit(cross(t, out))
    into = unit(cross(t, slide))
    if dot(into, out) > 0:
        into = scale(into, -1)
    middle = shelf.frame.point((0, 70, 9))
    root = along(middle, into, dot(sub(wall, middle), out) / dot(into, out))
    apex, far, wide = along(root, into, -35), along(root, into, 70), 5 + 70 / 7
    polygon = BRepBuilderAPI_MakePolygon()
    for p in (apex, along(far, t, wide), along(far, t, -wide)):
        polygon.Add(gp_Pnt(*along(p, slide, -400)))
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
    floor = Plane(scale(out, -1), -dot(out, wall) + 8)
    return common(BRepPrimAPI_MakePrism(face, gp_Vec(*scale(slide, 800))).Shape(), half_space(floor))


def test_sliding_dovetails_are_sound_however_the_side_leans_and_turns(tally):
    @settings(max_examples=12, deadline=None)
    @given(tangents, tangents, tapers, st.booleans())
    def joined(lean, turn, wide, stopped):
        more = (", short of: front, short: 100" if stopped else "") + NECK
        built = tally.build(Shelf(lean, turn, 8, wide, more).text)
        if built is None:
            return
        bodies, tail = kernel_bodies(built), tail_of(built)
        if stopped:
            side = next(p for p in built.placed if p.name == "side")
            front = side.frame.w if side.frame.w[1] < 0 else scale(side.frame.w, -1)
            edges = [side.frame.point((0, w, 0)) for w in (0, 260)]
            at = max(dot(front, p) for p in edges) - 100
            tail = common(tail, half_space(Plane(front, at)))
        second = {
            "shelf": less(bodies["shelf"], less(bodies["side"], tail)),
            "side": less(bodies["side"], tail),
        }
        assert_sound(built, tally, second)
        members = [(m.solid, i.frame) for m in built.model.members for i in m.instances]
        apart = sum(kernel_volume(s) for s in second.values())
        assert union_volume(members) == pytest.approx(apart, rel=1e-9)

    joined()


def test_the_order_of_joints_does_not_matter():
    text = plain(lean=0.2, turn=-0.1, more=NECK)
    other = """  shelf above:
    like: shelf
    place: {length: right, face: {flush with: {level at: 259}}, edge: {flush with: front edge}}
"""
    text = text.replace("joints:\n", other + "joints:\n")
    assert_order_free(text + "  - {sliding dovetail: [shelf above, side], short of: rear}\n")


# --- what is refused, and advice ----------------------------------------------------------------------------


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_a_depth_that_cuts_through_the_side_is_refused():
    assert errors(plain(end=30, more=", depth: 24")) == [
        'the sliding dovetail: a depth of 24 mm cuts through the 24 mm of "side"'
    ]


def test_a_shelf_that_ends_short_of_its_depth_is_told_by_how_much():
    assert errors(plain(end=5, more=", depth: 8")) == [
        'the sliding dovetail: "shelf" ends 3 mm short of a depth of 8 mm'
    ]


def test_a_neck_too_thick_for_the_flare_is_refused():
    (text,) = errors(plain(more=", thickness: 17"))
    assert text == (
        'the sliding dovetail: a neck of 17 mm with this slope and depth does not fit in the 18 mm of "shelf": '
        "it may be up to 15.71 mm"
    )


def test_a_housing_cannot_stop_short_of_a_side_that_it_does_not_run_toward():
    (text,) = errors(plain(more=", short of: upper end"))
    assert (
        text
        == 'the sliding dovetail: the housing does not run toward the upper end of "side"; name another side'
    )


@pytest.mark.parametrize(
    ("more", "end", "told"),
    [
        ("", 14, "the depth is 0.58"),
        (", thickness: 6", 8, "the neck is 0.33"),
        (", slope: 1 in 12", 8, "the slope is 0.08"),
    ],
)
def test_proportions_outside_the_rules_of_thumb_are_advised_against(more, end, told):
    (found,) = findings_of(plain(end=end, more=more))
    assert found.level == "warning"
    assert told in found.text


@pytest.mark.parametrize(("more", "deep"), [(", depth: 7", 7), ("", 8)])
def test_a_shelf_trimmed_by_the_sides_face_runs_on_into_its_housing(more, deep):
    text = plain(more=more).replace("{shift: wall, by: -8.0}", "side.right")
    built = build(text)
    assert [str(f) for f in built.findings] == []
    assert built.member("shelf").finished[0] == pytest.approx(220 + deep)
