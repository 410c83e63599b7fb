"""Mitres: both members cut by the plane from their inner to their outer corner, whatever the corner."""

import math

import numpy as np
import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, TAPERS, Stick, design, face, turned, within
from workshop import build, common, findings_of, fused, kernel_bodies, world_centroid

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import angle_between, cross, dot, neg, scale, unit

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FRONT = neg(REAR)


def mitres(built, name):
    """The mitre planes of an instance, in the world, outward."""
    member, placed = built.instance(name)
    return [
        member.surface(f.cutters[0][0]).form.placed(placed.frame)
        for f in member.features
        if f.kind == "mitre"
    ]


def through_corners(outer, inner):
    """The plane through the lines where two pairs of planes meet, by least squares on points of both lines."""
    points = []
    for a, b in (outer, inner):
        way = np.cross(a.normal, b.normal)
        for along in (0.0, 100.0):
            rows = np.array([a.normal, b.normal, way / np.linalg.norm(way)])
            points.append(np.linalg.solve(rows, [a.offset, b.offset, along]))
    middle = np.mean(points, axis=0)
    _, small, rows = np.linalg.svd(np.array(points) - middle)
    normal = tuple(float(c) for c in rows[2])
    return Plane(normal, float(np.dot(rows[2], middle))), float(small[2])


def looking(plane, way):
    return plane if dot(plane.normal, way) > 0 else plane.flipped()


# --- frames -------------------------------------------------------------------------------------------------


def frame(lean=0.0, rail_width=60.0, stile_width=60.0, taper=0.0, past=0.0, options="", thick=20.0):
    """A level rail along the front, a stile up from its right end, leaning along the wall, faces flush; both run to
    the other's outer edge and ``past`` it. The stile's taper is on its inner edge."""
    rail = Stick("rail", (-100.0, 0.0, rail_width / 2), RIGHT, UP, (500.0, rail_width, 20.0))
    way = turned(UP, FRONT, lean)
    stile = Stick(
        "stile", scale(way, 100.0), way, turned(neg(RIGHT), FRONT, lean), (500.0, stile_width, thick), taper
    )
    text = design(rail, stile, joints=f"{{mitre: [rail, stile]{options}}}")
    return trimmed(
        text,
        rail=f"end B: {{shift: stile.edge, by: {past}}}",
        stile=f"end A: {{shift: rail.edge, by: {past}}}",
    )


def trimmed(text, **trims):
    for name, trim in trims.items():
        text = text.replace(f"  {name}:\n", f"  {name}:\n    trim: {{{trim}}}\n", 1)
    return text


def stile_sides(built):
    return face(built, "stile", "edge"), face(built, "stile", "back edge")


def frame_plane(built):
    outer, inner = stile_sides(built)
    plane, off = through_corners(
        (face(built, "rail", "edge"), outer), (face(built, "rail", "back edge"), inner)
    )
    assert off < 1e-9, "the corners of a frame lie in one plane"
    return looking(plane, RIGHT)


def test_equal_members_at_a_square_corner_are_cut_at_45_degrees():
    built = build(frame())
    assert [str(f) for f in built.findings] == []
    (plane,) = mitres(built, "rail")
    assert plane.normal == pytest.approx((math.sqrt(0.5), 0, math.sqrt(0.5)), abs=1e-12)
    assert built.member("rail").solid.volume == pytest.approx((built.body("rail").size[0] - 30) * 60 * 20)


def test_members_of_unequal_width_are_mitred_from_corner_to_corner():
    """Widths 60 and 90: the rail's angle from its own length is atan(60/90)."""
    built = build(frame(rail_width=60, stile_width=90))
    (plane,) = mitres(built, "rail")
    assert math.tan(angle_between(plane.normal, UP)) == pytest.approx(60 / 90)


def test_frames_are_parted_from_corner_to_corner_and_lose_nothing(tally):
    widths = st.integers(500, 1000).map(lambda tenths: tenths / 10)

    @settings(max_examples=12, deadline=None)
    @given(DEGREES, widths, widths, TAPERS, st.sampled_from([0.0, 12.5]))
    def mitred(lean, rail_width, stile_width, taper, past):
        built = tally.build(frame(lean, rail_width, stile_width, taper, past))
        if built is None:
            return
        bodies = kernel_bodies(built)
        plane = frame_plane(built)
        expected = {
            "rail": common(bodies["rail"], within(plane)),
            "stile": common(bodies["stile"], within(plane.flipped())),
        }
        assert_sound(built, tally, expected)
        if not past:
            whole = kernel_volume(fused(*bodies.values()))
            assert sum(m.solid.volume * m.quantity for m in built.model.members) == pytest.approx(
                whole, rel=1e-9
            )

    mitred()


# --- edges of boxes, compound corners -----------------------------------------------------------------------


def box_corner(first=0.0, second=0.0, turn=0.0, thick=(20.0, 20.0), past=0.0, options="", taper=0.0):
    """Two boards on edge at a corner: each leans outward in its own wall, the second wall turned in plan. Both run
    to the other's outer face and ``past`` it."""
    way = turned(REAR, UP, turn)
    a_up, b_up = turned(UP, RIGHT, first), turned(UP, way, second)
    a = Stick("front", (-150.0, 0.0, 0.0), RIGHT, a_up, (800.0, 140.0, thick[0]), taper)
    b = Stick("side", scale(way, 150.0), way, b_up, (800.0, 140.0, thick[1]))
    text = design(a, b, joints=f"{{mitre: [front, side]{options}}}")
    return trimmed(
        text,
        front=f"end B: {{shift: side.face, by: {past}}}",
        side=f"end A: {{shift: front.face, by: {past}}}",
    )


def box_plane(built):
    pairs = [(face(built, "front", s), face(built, "side", s)) for s in ("face", "back")]
    plane, off = through_corners(*pairs)
    assert off < 1e-9, "faces that are parallel in each member have parallel corners"
    return looking(plane, RIGHT)


def test_compound_corners_of_any_two_boards(tally):
    stock = st.sampled_from([(20.0, 20.0), (20.0, 26.0), (32.0, 18.0)])

    @settings(max_examples=12, deadline=None)
    @given(DEGREES, DEGREES, DEGREES, stock, st.sampled_from([0.0, 7.5]))
    def mitred(first, second, turn, thick, past):
        built = tally.build(box_corner(first, second, turn, thick, past))
        if built is None:
            return
        bodies = kernel_bodies(built)
        plane = box_plane(built)
        expected = {
            "front": common(bodies["front"], within(plane)),
            "side": common(bodies["side"], within(plane.flipped())),
        }
        assert_sound(built, tally, expected)

    mitred()


@pytest.mark.parametrize("turn", [-30.0, 0.0, 25.0])
def test_boards_of_one_thickness_are_mitred_at_the_bisector_of_their_faces(turn):
    built = build(box_corner(12, -8, turn))
    (plane,) = mitres(built, "front")
    angles = [abs(dot(plane.normal, face(built, n, "face").normal)) for n in ("front", "side")]
    assert angles[0] == pytest.approx(angles[1], abs=1e-12)


# --- rings --------------------------------------------------------------------------------------------------

RING = """title: Ring
units: mm
stock:
  stave wood: {{ask for: cedar, species: western red cedar, width: {wide}, thickness: 20}}
planes:
  wall:
    through line: {{from: [0, -{radius}, 0], going: right}}
    lean: {{by: {lean} deg, toward: front, measured: from plumb}}
members:
  stave:
    stock: stave wood
    length: {long}
    place: {place}
    copies: {{around: {{count: {count}, about: {{from: [0, 0, 0], going: up}}}}}}
joints:
  - {{mitre: [stave, stave]{options}}}
"""
PLANKS = (
    "{face: {flush with: wall}, edge: {along: {meet: [wall, floor], going: right}}, middle: [centre plane]}"
)
STAVES = "{face: {flush with: wall}, length: {along: [0, 0, 1]}, middle: [centre plane], end A: {at: floor}}"


def ring(count, lean=0.0, options="", radius=300.0, wide=120.0, long=None):
    long = long or 2 * (radius + 40 + wide * math.sin(math.radians(lean))) * math.tan(math.pi / count) + 60
    return RING.format(
        count=count, lean=lean, options=options, radius=radius, wide=wide, long=round(long, 6), place=PLANKS
    )


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 12])
@pytest.mark.parametrize("slope", [0.0, 15.0, 30.0])
def test_every_ring_closes_and_is_one_member(count, slope):
    """Blade tilt and mitre of n sides leaning out by a slope (the compound mitre's formulas, from the reference's
    derivation): sin(bevel) = sin(180/n) cos(slope); tan(mitre) = tan(180/n) sin(slope)."""
    built = build(ring(count, slope))
    assert [str(f) for f in built.findings] == []
    (member,) = built.model.members
    assert member.quantity == count
    half = math.pi / count
    for f in (f for f in member.features if f.kind == "mitre"):
        n = member.surface(f.cutters[0][0]).form.normal
        assert abs(n[2]) == pytest.approx(math.sin(half) * math.cos(math.radians(slope)), abs=1e-9)
        on_face = math.atan2(abs(n[1]), abs(n[0]))
        assert math.tan(on_face) == pytest.approx(math.tan(half) * math.sin(math.radians(slope)), abs=1e-9)


def test_coopered_staves_take_their_bevel_on_the_edges():
    """Sixteen plumb staves: 360 / 16 / 2 = 11.25 degrees on each edge."""
    count, radius = 16, 300.0
    wide = 2 * (radius + 12) * math.tan(math.pi / count)
    text = RING.format(
        count=count, lean=0, options="", radius=radius, wide=round(wide, 6), long=400,
        place="{length: up, face: {flush with: wall}, middle: [centre plane], end A: {against: floor}}",
    ).replace("thickness: 20", "thickness: 15")  # fmt: skip
    built = build(text)
    assert [str(f) for f in built.findings] == []
    (member,) = built.model.members
    assert member.quantity == count
    for f in (f for f in member.features if f.kind == "mitre"):
        n = member.surface(f.cutters[0][0]).form.normal
        assert math.degrees(math.asin(abs(n[2]))) == pytest.approx(11.25, abs=1e-9)
        assert abs(n[0]) < 1e-12
    assert member.finished[1] == pytest.approx(2 * radius * math.tan(math.pi / count))


def test_the_order_of_corners_has_no_effect():
    text = (
        frame()
        .replace("joints:\n", "joints:\n  - {notch: [bar, rail]}\n")
        .replace(
            "members:\n",
            "members:\n  bar:\n    stock: rail wood\n    length: 100\n"
            "    place: {length: right, width: up, corner: [-250, -5, -30]}\n",
        )
    )
    assert_order_free(text)


def test_round_rails_meet_in_the_plane_that_halves_them():
    text = """title: Rods
units: mm
stock:
  rod: {ask for: 30 mm dowel, species: beech}
members:
  rail:
    stock: rod
    diameter: 30
    place: {from: [-300, 0, 20], to: [40, 0, 20]}
  post:
    stock: rod
    diameter: 30
    place: {from: [0, 0, -20], to: [60, 0, 300]}
joints:
  - {mitre: [rail, post]}
"""
    text = text.replace("[-300, 0, 20], to: [40, 0, 20]", "[-300, 0, 40], to: [45, 0, 40]")
    text = text.replace("from: [0, 0, -20], to: [60, 0, 300]", "from: [0, 0, 10], to: [60, 0, 330]")
    built = build(text)
    assert [str(f) for f in built.findings if f.level != "note"] == []
    (plane,) = mitres(built, "rail")
    ways = [built.body(n).frame.l for n in ("rail", "post")]
    assert abs(dot(plane.normal, ways[0])) == pytest.approx(abs(dot(plane.normal, ways[1])), abs=1e-12)


# --- splines ------------------------------------------------------------------------------------------------


def test_a_spline_in_a_box_runs_the_length_of_the_corner_across_the_grain():
    built = build(box_corner(options=", spline: 5, spline width: 12"))
    assert [str(f) for f in built.findings] == []
    spline = built.member("spline, front to side")
    assert spline.finished == pytest.approx((12, 140, 5))
    assert spline.solid.volume == pytest.approx(12 * 140 * 5)
    body = built.instance("spline, front to side")[1].frame
    (plane,) = mitres(built, "front")
    assert abs(dot(body.l, plane.normal)) == pytest.approx(1.0)
    # Centred on the mitre: halfway between the inner and the outer corner.
    assert plane.distance(world_centroid(built, "spline, front to side")) == pytest.approx(0.0, abs=1e-9)
    assert world_centroid(built, "spline, front to side") == pytest.approx((10 - 10, 0, 0), abs=1e-9)


def test_slots_and_spline_hold_all_the_wood_between_them():
    for options in (", spline: 5", ", spline: 4, spline width: 20"):
        built = build(frame(lean=15, options=options))
        assert [str(f) for f in built.findings] == []
        whole = kernel_volume(fused(*kernel_bodies_of_design(built).values()))
        members = sum(m.solid.volume * m.quantity for m in built.model.members)
        assert members == pytest.approx(whole, rel=1e-9)


def kernel_bodies_of_design(built):
    return kernel_bodies(built)


def test_a_loose_fit_makes_room_on_both_sides_of_the_spline():
    built = build(box_corner(options=", spline: 5, spline width: 12, fit: slide"))
    (slot,) = [f for f in built.member("front").features if f.kind == "groove"]
    planes = [s.form for s in slot.surfaces]
    sides = [p for p in planes for q in planes if dot(p.normal, q.normal) < -0.999]
    assert abs(sides[0].offset + sides[1].offset) == pytest.approx(5 + 2 * 0.2)


def test_splined_corners_of_any_slope_are_sound(tally):
    @settings(max_examples=12, deadline=None)
    @given(DEGREES, DEGREES, DEGREES, st.booleans())
    def splined(first, second, turn, is_frame):
        text = (
            frame(first, options=", spline: 4")
            if is_frame
            else box_corner(first, second, turn, options=", spline: 4")
        )
        built = tally.build(text)
        if built is not None:
            assert_sound(built, tally)

    splined()


# --- what cannot be made ------------------------------------------------------------------------------------


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_a_member_that_stops_short_of_the_corner_is_told():
    assert errors(frame(past=-4)) == [
        'the mitre of "rail" and "stile": "rail" ends 4 mm short of the outer corner; let it run on there, '
        "the mitre trims it"
    ]


def test_members_in_one_line_make_no_corner():
    a = Stick("a", (0.0, 0.0, 0.0), RIGHT, UP, (300.0, 50.0, 20.0))
    b = Stick("b", (250.0, 0.0, 0.0), RIGHT, UP, (300.0, 50.0, 20.0))
    assert errors(design(a, b, joints="{mitre: [a, b]}")) == [
        'the mitre of "a" and "b": they run in one line or side by side and make no corner'
    ]


def test_a_spline_that_comes_out_through_a_face_is_told():
    (found,) = errors(box_corner(options=", spline: 5, spline width: 40"))
    assert found == (
        'the mitre of "front" and "side": the slot for a spline of 5 mm x 40 mm comes out through a face of "front"; '
        "make the spline narrower"
    )
    assert errors(box_corner(options=", spline width: 10")) == [
        "a spline width needs a spline, its thickness"
    ]


def test_a_thick_spline_is_advised_against():
    (found,) = findings_of(box_corner(options=", spline: 8"))
    assert found.text == (
        "mitre: the spline's thickness is 0.40 of the thinner stock's thickness; the rule of thumb is 0.12 to 0.33 "
        "(common practice)"
    )


def test_corners_that_no_one_plane_passes_through_are_halved_inside_and_told():
    """A side that is not of one thickness, in a compound corner: its inner and outer corner lines are askew."""
    text = box_corner(15, 10, past=8).replace(
        "  front:\n", "  front:\n    taper: {on: back, at end A: 20, at end B: 14}\n"
    )
    found = findings_of(text)
    assert [f.rule for f in found] == ["mitre"]
    built = build(text)
    (plane,) = mitres(built, "front")
    front = next(s.form for s in built.body("front").shapings if s.kind == "taper").placed(
        built.body("front").frame
    )
    side = face(built, "side", "back")
    assert dot(plane.normal, unit(cross(front.normal, side.normal))) == pytest.approx(0.0, abs=1e-12)
    assert abs(dot(plane.normal, front.normal)) == pytest.approx(
        abs(dot(plane.normal, side.normal)), abs=1e-12
    )
