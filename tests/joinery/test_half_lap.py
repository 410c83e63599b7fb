"""Half laps: the floor's rule, walls by the other's placed sides, nothing lost, no choice left to the machine."""

import math
from unittest.mock import patch

import pytest
from brep_kernel import kernel_centroid, kernel_volume
from crossing import Crossing
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from soundness import assert_sound
from sticks import DEGREES, TAPERS, Stick, design, face, turned, within
from workshop import build, common, findings_of, half_space, kernel_bodies, less

from plangen.geometry.clash import union_volume
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import angle_between, dot, unit
from plangen.joinery.kinds import lapping


def floor_of(built, instance="rail"):
    """The floor of the instance's lap, world: the first surface of its cutter."""
    member, placed = built.instance(instance)
    feature = next(f for f in member.features if f.kind == "half lap")
    return member.surface(feature.cutters[0][0]).form.placed(placed.frame)


def chord(shape, through, way):
    """Where a line meets a shape of the exact kernel, first and last, along ``way``."""
    meeting = IntCurvesFace_ShapeIntersector()
    meeting.Load(shape, 1e-9)
    meeting.Perform(gp_Lin(gp_Pnt(*through), gp_Dir(*way)), -1e4, 1e4)
    points = [meeting.Pnt(i) for i in range(1, meeting.NbPnt() + 1)]
    at = sorted(dot((p.X(), p.Y(), p.Z()), way) for p in points)
    return at[0], at[-1]


TURNED = """title: T
units: mm
stock:
  stick: {ask for: ash, species: ash, width: 70, thickness: 38}
members:
  rail:
    stock: stick
    length: 600
    place: {length: right, face: {toward: front}, middle: [centre plane, depth plane, floor]}
  leg:
    stock: stick
    length: 600
    place:
      length: up
      face: {flush with: {through point: [0, 0, 0], square to: front, turned: {by: 5 deg, toward: right}}, off: 19}
      middle: [{through point: [0, 0, 0], square to: right, turned: {by: 5 deg, toward: rear}}, floor]
joints:
  - {half lap: [leg, rail]FLOOR}
"""


@pytest.mark.parametrize(
    ("floor", "leg_tilt", "rail_tilt"),
    [("", 5, 0), (", floor: second", 5, 0), (", floor: first", 0, 5), (", floor: between", 2.5, 2.5)],
)
def test_the_floor_is_parallel_to_the_face_of_the_member_it_names(floor, leg_tilt, rail_tilt):
    built = build(TURNED.replace("FLOOR", floor))
    normal = floor_of(built).normal
    for name, tilt in (("leg", leg_tilt), ("rail", rail_tilt)):
        between = math.degrees(angle_between(normal, built.body(name).frame.t))
        assert min(between, 180 - between) == pytest.approx(tilt, abs=1e-9)


@pytest.mark.parametrize(("floor", "difference"), [("second", 5), ("first", 0), ("between", 2.5)])
def test_depths_at_the_legs_sides_differ_by_its_width_times_the_tangent_of_the_floors_tilt(floor, difference):
    """19 -+ 35 tan(tilt): the kernel page's 16.1/16.1, 13.0/19.0, 14.6/17.6 are one such leg."""
    built = build(TURNED.replace("FLOOR", f", floor: {floor}"))
    frame, floor_plane = built.body("leg").frame, floor_of(built, "leg")
    depths = []
    for w in (0.0, 70.0):
        on_back = frame.point((300.0, w, 0.0))
        depths.append(-floor_plane.distance(on_back) / dot(floor_plane.normal, frame.t))
    assert sorted(depths) == pytest.approx(
        [19 - 35 * math.tan(math.radians(difference)), 19 + 35 * math.tan(math.radians(difference))], abs=1e-9
    )


def test_a_note_says_when_the_other_floor_leaves_the_walls_nearer_to_square():
    text = TURNED.replace("FLOOR", "")
    assert [f.text for f in findings_of(text) if f.rule == "floor"] == [
        'half lap: with "floor: first" the walls would lean 0.0 degrees from square to the floor instead of 5.0'
    ]
    assert not [f for f in findings_of(TURNED.replace("FLOOR", ", floor: second")) if f.rule == "floor"]
    assert not [f for f in findings_of(Crossing(skew=6, flare=0).text) if f.rule == "floor"]


def test_a_level_floor_is_level_whatever_crosses():
    text = """title: T
units: mm
stock:
  lath: {ask for: ash, species: ash, width: 60, thickness: 20}
members:
  brace:
    stock: lath
    place: {from: [-300, -200, 100], to: [300, 200, 100]}
    copies: {mirror: left to right}
joints:
  - {cross lap: [brace, brace mirrored], floor: level, over: first}
"""
    built = build(text)
    assert floor_of(built, "brace").normal == pytest.approx((0, 0, -1), abs=1e-12)
    assert floor_of(built, "brace").offset == pytest.approx(-100, abs=1e-9)


def test_depth_is_the_depth_of_the_cut_in_the_second():
    built = build(Crossing(lean=0, flare=0, joint="{half lap: [leg, rail], depth: 12}").text)
    removed = 800 * 90 * 38 - built.member("rail").solid.volume
    assert removed == pytest.approx(12 * 70 * 90, rel=1e-9)


@pytest.mark.parametrize("over", ["first", "second"])
def test_the_member_named_over_keeps_the_viewers_side(over):
    built = build(Crossing(joint=f"{{half lap: [leg, rail], over: {over}}}").text)
    name = {"first": "leg", "second": "rail"}[over]
    member, placed = built.instance(name)
    shared = kernel_centroid(common(*kernel_bodies(built).values()))
    way = floor_of(built, name).normal
    # Out of the wood that stays: the floor of the member that stays over looks away from the viewer.
    assert way[1] > 0
    assert abs(floor_of(built, name).distance(shared)) < 1e-6
    assert member.quantity == 1
    assert placed.name == name


# --- any two members that cross ----------------------------------------------------------------------------

# The exact kernel errs where planes are nearly parallel: no angles between 0 and a tenth.
degrees = st.integers(-300, 300).map(lambda tenths: tenths / 10)
skews = st.sampled_from([0.0, -7.5, -1.25, 2.0, 6.0])
offsets = st.sampled_from([0.0, -7.25, -1.5, 2.0, 9.0])
sizes = st.tuples(st.floats(50, 140), st.floats(25, 60)).map(lambda s: (round(s[0], 3), round(s[1], 3)))
flush_sizes = st.tuples(st.floats(50, 140), st.floats(50, 140), st.floats(25, 60))
tapers = st.sampled_from(["", "back edge", "edge"])


def tapered(side, width, share):
    return f"{{on: {side}, at end A: {width * share:.6f}, at end B: {width:.6f}}}" if side else ""


@settings(max_examples=40, deadline=None)
@given(
    degrees,
    degrees,
    flush_sizes,
    tapers,
    st.floats(0.6, 0.95),
    st.sampled_from(["first", "second"]),
    st.booleans(),
)
def test_flush_members_keep_all_their_wood_and_share_none(lean, flare, size, side, share, floor, swapped):
    rail_width, leg_width, thickness = size
    names = "rail, leg" if swapped else "leg, rail"
    built = build(
        Crossing(
            lean=lean,
            flare=flare,
            rail=(rail_width, thickness),
            leg=(leg_width, thickness),
            taper=tapered(side, leg_width, share),
            joint=f"{{half lap: [{names}], floor: {floor}}}",
        ).text
    )
    assert [str(f) for f in built.findings] == []
    bodies = kernel_bodies(built)
    members = [(m.solid, i.frame) for m in built.model.members for i in m.instances]
    whole = sum(kernel_volume(b) for b in bodies.values()) - kernel_volume(common(*bodies.values()))
    assert sum(s.volume for s, _ in members) == pytest.approx(whole, rel=1e-9)
    assert union_volume(members) == pytest.approx(whole, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(degrees, degrees, skews, offsets, sizes, sizes, st.sampled_from(["first", "second", "between"]))
def test_each_member_is_its_body_less_the_others_on_its_side_of_the_floor(
    lean, flare, skew, off, rail, leg, floor
):
    # The slightest run-out through wood that stands proud is left to the statement about it.
    with patch.object(lapping, "LEAST_PROUD", 1e-7):
        built = build(
        Crossing(
            lean=lean, flare=flare, skew=skew, off=off, rail=rail, leg=leg,
            joint=f"{{half lap: [leg, rail], floor: {floor}}}",
        ).text
    )  # fmt: skip
    assert not [f for f in built.findings if f.level == "error"]
    assume(not [f for f in built.findings if f.rule == "proud"])
    bodies = kernel_bodies(built)
    for name, other in (("leg", "rail"), ("rail", "leg")):
        kept = floor_of(built, name)
        taken = common(bodies[other], half_space(kept.flipped()))
        expected = less(bodies[name], taken)
        member, placed = built.instance(name)
        assert member.solid.volume == pytest.approx(kernel_volume(expected), rel=1e-9)
        assert placed.frame.point(member.solid.centroid) == pytest.approx(kernel_centroid(expected), abs=1e-6)


@settings(max_examples=20, deadline=None)
@given(degrees, degrees, skews, sizes, sizes, st.sampled_from(["first", "second", "between"]))
def test_the_floor_halves_the_wood_at_the_middle_of_what_they_share(lean, flare, skew, rail, leg, floor):
    built = build(
        Crossing(lean=lean, flare=flare, skew=skew, rail=rail, leg=leg,
                 joint=f"{{half lap: [leg, rail], floor: {floor}}}").text
    )  # fmt: skip
    shared = common(*kernel_bodies(built).values())
    plane = floor_of(built)
    faces = {"first": built.body("leg").frame.t, "second": built.body("rail").frame.t}
    faces["between"] = unit(tuple(a + b for a, b in zip(*faces.values(), strict=True)))
    assert abs(dot(plane.normal, faces[floor])) == pytest.approx(1.0, abs=1e-12)
    low, high = chord(shared, kernel_centroid(shared), plane.normal)
    assert plane.offset == pytest.approx((low + high) / 2, abs=1e-6)


def sticks(lean, skew, taper, floor):
    """A level rail, a plumb leg's way leaning on the rail's face and turned out of it, lapped in the middle."""
    front = (0.0, -1.0, 0.0)
    rail = Stick("rail", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (600.0, 80.0, 40.0))
    way = turned((0.0, 0.0, 1.0), front, lean)
    across = turned(turned((-1.0, 0.0, 0.0), front, lean), way, skew)
    leg = Stick("leg", (0.0, 0.0, 0.0), way, across, (500.0, 90.0, 36.0), taper)
    return design(rail, leg, joints=f"{{half lap: [leg, rail], floor: {floor}}}")


def test_sticks_lap_at_angles_to_35_degrees_both_ways(tally):
    """Each is its body less what lies between the other's edges beyond the floor, right out through wood that stands
    proud there, and no farther back than the other's own far face."""

    @settings(max_examples=25, deadline=None)
    @given(DEGREES, DEGREES, TAPERS, st.sampled_from(["first", "second", "between"]))
    def lapped(lean, skew, taper, floor):
        built = tally.build(sticks(lean, skew, taper, floor))
        if built is None:
            return
        bodies, expected = kernel_bodies(built), {}
        for name, other in (("leg", "rail"), ("rail", "leg")):
            kept = floor_of(built, name)
            far = min(
                (face(built, other, n) for n in ("face", "back")), key=lambda p: dot(p.normal, kept.normal)
            )
            taken = within(face(built, other, "edge"), face(built, other, "back edge"), kept.flipped(), far)
            expected[name] = less(bodies[name], taken)
        assert_sound(built, tally, expected)

    lapped()


def test_a_tapered_leg_gives_the_two_walls_different_mitres():
    """Straight edge 12 degrees, tapered edge 12 less atan(taper): never one trench."""
    built = build(Crossing(flare=0, taper="{on: back edge, at end A: 45, at end B: 70}").text)
    rail, placed = built.instance("rail")
    feature = built.feature("rail", "half lap")
    walls = [rail.surface(i).form for i in feature.cutters[0][1:]]
    assert len(walls) == 2
    mitres = sorted(math.degrees(math.atan2(abs(w.normal[1]), abs(w.normal[0]))) for w in walls)
    slope = math.degrees(math.atan2(25, built.body("leg").size[0]))
    assert mitres == pytest.approx([12 - slope, 12], abs=0.02)
    assert all(isinstance(w, Plane) for w in walls)
    assert placed.name == "rail"


def test_what_stands_proud_of_a_lap_is_told():
    found = [
        f.text
        for f in findings_of(
            Crossing(flare=0, lean=0, off=6, joint="{half lap: [leg, rail], over: second}").text
        )
    ]
    assert found == [
        'half lap: "leg" stands up to 6 mm proud of "rail"; its trench is cut right through that wood',
        'half lap: "rail" stands up to 6 mm proud of "leg"; its trench is cut right through that wood',
    ]


def test_members_that_run_the_same_way_cannot_lap():
    text = (
        TURNED.replace("FLOOR", "")
        .replace("length: up", "length: right")
        .split("      face: {flush with: {through")[0]
    )
    text += "      face: {toward: front}\n      middle: [centre plane, depth plane, floor]\n"
    text += "joints: [{half lap: [leg, rail]}]\n"
    assert [f.text for f in findings_of(text)] == [
        'the half lap: "leg" and "rail" run the same way; they cannot lap'
    ]
