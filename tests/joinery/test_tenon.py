"""Mortise and tenon, tongue and groove: angled shoulders, cheeks parallel to the first's faces, stated sizes."""

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import build, common, findings_of, half_space, kernel_bodies

from plangen.geometry.contact import contact_area
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import dot

FRAME = """title: Frame
units: mm
stock:
  stile wood: {{ask for: oak, species: oak, width: 70, thickness: 45}}
  rail wood: {{ask for: oak, species: oak, width: 90, thickness: 30}}
planes:
  stile wall:
    through line: {{from: [0, 0, 300], going: rear}}
    lean: {{by: {lean} deg, toward: right, going: up, measured: from plumb}}
members:
  stile:
    stock: stile wood
    length: 600
    place:
      face: {{toward: front}}
      back edge: {{flush with: stile wall}}
      middle: [depth plane, {{level at: 300}}]
  rail:
    stock: rail wood
    place:
      length: [cos({turn} deg), sin({turn} deg), 0]
      face: {{flush with: {{through point: [0, -15, 0], square to: front, turned: {{by: {turn} deg, toward: right}}}}}}
      edge: {{at: {{level at: 250}}}}
    trim: {{end A: stile.right, end B: {{through point: [400, 0, 0], square to: right}}}}
joints:
  - {{mortise and tenon: [rail, stile], {sizes}}}
"""


def frame(lean=0.0, turn=0.0, sizes="length: 40"):
    return FRAME.format(lean=lean, turn=turn, sizes=sizes)


def test_a_square_tenon_has_the_sizes_that_were_said():
    built = build(frame(sizes="length: 40, thickness: 12, width: 60, from edge: 10, set back: 5"))
    rail, stile = built.member("rail"), built.member("stile")
    assert rail.solid.volume == pytest.approx(400 * 90 * 30 + 40 * 12 * 60)
    assert rail.finished[0] == pytest.approx(440)
    # 1/8 in of room at the mortise's bottom (read rule), none at its sides.
    assert 600 * 70 * 45 - stile.solid.volume == pytest.approx((40 + 3.175) * 12 * 60)


def test_without_a_thickness_the_tenon_is_a_third_of_the_stock():
    built = build(frame(sizes="length: 40, width: 60"))
    assert built.member("rail").solid.volume == pytest.approx(400 * 90 * 30 + 40 * 10 * 60)


def test_a_gap_keeps_the_shoulder_off_by_as_much():
    built = build(frame(sizes="length: 40, width: 60, gap: 2"))
    assert built.member("rail").solid.volume == pytest.approx(398 * 90 * 30 + 42 * 10 * 60)


def shoulders(built):
    feature = built.feature("rail", "tenon")
    (rail, placed) = built.instance("rail")
    return {rail.surface(cutter[0]).form.placed(placed.frame) for cutter in feature.cutters}


@settings(max_examples=12, deadline=None)
@given(st.integers(-200, 200).map(lambda tenths: tenths / 10), st.sampled_from([0.0, -9.0, 3.5, 12.0]))
def test_shoulders_lie_on_the_entered_face_whatever_the_angle(lean, turn):
    built = build(frame(lean, turn, "length: 30, thickness: 10, width: 55"))
    assert [str(f) for f in built.findings if f.level != "note"] == []
    wall = next(
        p for n, p in [built.scope.surface_of("stile", "right", built.design.members["stile"].source)]
    )
    (shoulder,) = shoulders(built)
    assert dot(shoulder.normal, wall.normal) == pytest.approx(-1.0, abs=1e-12)
    assert shoulder.offset == pytest.approx(-wall.offset, abs=1e-9)
    # The rail, its tenon aside, lies against the stile over its whole shoulder.
    (rail, ir), (stile, istile) = built.instance("rail"), built.instance("stile")
    area = contact_area(rail.solid, ir.frame, stile.solid, istile.frame, 1e-6)
    section = 90 * 30 / abs(ir.frame.local_direction(wall.normal)[0])
    assert area > section - 55 * 10 / abs(ir.frame.local_direction(wall.normal)[0]) - 1e-6


@settings(max_examples=12, deadline=None)
@given(st.integers(-200, 200).map(lambda tenths: tenths / 10), st.sampled_from([0.0, -9.0, 3.5, 12.0]))
def test_tenon_and_mortise_take_each_other_exactly_but_for_the_room_below(lean, turn):
    built = build(frame(lean, turn, "length: 30, thickness: 10, width: 55"))
    bodies = kernel_bodies(built)
    rail, stile = built.member("rail").solid, built.member("stile").solid
    (shoulder,) = shoulders(built)
    tenon = rail.volume - kernel_volume(common(bodies["rail"], half_space(shoulder)))
    mortise = kernel_volume(bodies["stile"]) - stile.volume
    # A mortise 3.175 mm deeper along the tenon's way in, over the tenon's slanted end.
    wall = built.scope.surface_of("stile", "right", built.design.members["stile"].source)[1]
    _, placed = built.instance("rail")
    end = 55 * 10 / abs(placed.frame.local_direction(wall.normal)[0])
    assert mortise - tenon == pytest.approx(3.175 * end, rel=1e-6)


def test_cheeks_are_parallel_to_the_rails_faces_in_both_members():
    built = build(frame(8, 5, "length: 30, thickness: 10, width: 55"))
    across = built.body("rail").frame.t
    for name, kind in (("rail", "tenon"), ("stile", "mortise")):
        member, placed = built.instance(name)
        planes = [s.form.placed(placed.frame) for s in built.feature(name, kind).surfaces]
        assert sum(abs(dot(p.normal, across)) > 1 - 1e-12 for p in planes) == 2
        assert all(isinstance(p, Plane) for p in planes)
        assert member.quantity == 1


def test_a_tenon_thicker_than_its_member_is_refused():
    (found,) = [f for f in findings_of(frame(sizes="length: 40, thickness: 34")) if f.level == "error"]
    assert found.text == 'the tenon, from -2 mm to 32 mm, does not lie within the 30 mm of "rail"'


def test_an_entered_face_that_leans_makes_the_tenon_as_long_as_was_said_square_to_it():
    built = build(frame(10, 0, "length: 30, thickness: 10, width: 55"))
    (shoulder,) = shoulders(built)
    member, placed = built.instance("rail")
    depths = [-shoulder.distance(placed.frame.point(tuple(v))) for v in member.solid.vertices.tolist()]
    assert -min(depths) == pytest.approx(30, abs=1e-6)
