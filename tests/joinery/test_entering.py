"""Housing, notch, rebate, groove: the first stays whole, the second is cut to take its placed body."""

import math

import pytest
from brep_kernel import kernel_centroid, kernel_volume
from crossing import Crossing
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import FOLDER, build, build_file, common, findings_of, kernel_bodies, less

from plangen.geometry.contact import contact_area
from plangen.geometry.surfaces import Plane

degrees = st.integers(-300, 300).map(lambda tenths: tenths / 10)
skews = st.sampled_from([0.0, -6.5, -1.25, 2.0, 7.5])
tapers = st.sampled_from(
    ["", "{on: back edge, at end A: 48, at end B: 70}", "{on: edge, at end A: 70, at end B: 52}"]
)


def touching(built, a, b, gap=1e-6):
    (first, ia), (second, ib) = built.instance(a), built.instance(b)
    return contact_area(first.solid, ia.frame, second.solid, ib.frame, gap)


@settings(max_examples=12, deadline=None)
@given(degrees, degrees, skews, st.floats(14, 26), tapers, st.sampled_from(["housing", "notch"]))
def test_the_second_is_its_body_less_the_first_and_the_first_stays_whole(lean, flare, skew, off, taper, kind):
    # The leg's face stands outside the rail's, so that its back lies in the rail and the rail stays in one piece.
    built = build(
        Crossing(
            lean=lean, flare=flare, skew=skew, off=round(off, 3), rail=(90, 60), taper=taper,
            joint=f"{{{kind}: [leg, rail]}}",
        ).text
    )  # fmt: skip
    assert [str(f) for f in built.findings if f.rule != "rule of thumb"] == []
    bodies = kernel_bodies(built)
    expected = less(bodies["rail"], bodies["leg"])
    rail, placed = built.instance("rail")
    assert rail.solid.volume == pytest.approx(kernel_volume(expected), rel=1e-9)
    assert placed.frame.point(rail.solid.centroid) == pytest.approx(kernel_centroid(expected), abs=1e-6)
    assert built.member("leg").solid.volume == pytest.approx(kernel_volume(bodies["leg"]), rel=1e-9)
    assert touching(built, "leg", "rail") > 1000


@pytest.mark.parametrize(
    ("said", "room"), [("fit: snug", 0), ("fit: slide", 0.2), ("fit: loose", 0.8), ("allowance: 1", 0.5)]
)
def test_the_clearance_of_the_fit_is_left_over_each_side(said, room):
    """A level housing 70 wide: its trench is the room wider at each wall, and its floor as much deeper."""
    built = build(Crossing(lean=0, flare=0, off=20, joint=f"{{housing: [leg, rail], {said}}}").text)
    (cutter,) = built.feature("rail", "housing").cutters
    rail = built.member("rail")
    planes = [rail.surface(i).form for i in cutter]
    walls = sorted(p.offset * p.normal[0] for p in planes if abs(p.normal[0]) > 0.5)
    assert walls[1] - walls[0] == pytest.approx(70 + 2 * room)
    assert 800 * 90 * 38 - rail.solid.volume == pytest.approx((70 + 2 * room) * 90 * (18 + room))
    assert touching(built, "leg", "rail", gap=room + 1e-6) >= 70 * 90 - 1e-3
    if room:
        assert touching(built, "leg", "rail", gap=room - 1e-3) == 0


SHELF = """title: Shelf
units: mm
stock:
  board: {ask for: pine, species: scots pine, thickness: 20, width: 200}
  lath: {ask for: pine, species: scots pine, thickness: 9, width: 150}
members:
  upright:
    stock: board
    length: 400
    place:
      length: up
      back: {against: {through point: [-150, 0, 0], square to: right}}
      middle: [depth plane]
      end A: {against: floor}
  panel:
    stock: lath
    place:
      length: up
      face: {toward: rear}
      edge: {at: {through point: [WHERE, 0, 0], square to: left}}
      back: {at: {through point: [0, AT, 0], square to: rear}}
    trim: {top: {level at: 300}, bottom: {level at: 100}}
joints:
  - {KIND: [panel, upright]STOPPED}
"""


def shelf(kind, stopped="", at=0):
    text = (
        SHELF.replace("KIND", kind)
        .replace("STOPPED", stopped)
        .replace("AT", str(at))
        .replace("WHERE", "-158")
    )
    return text.replace(
        "back: {against: {through point: [-150, 0, 0], square to: right}}",
        "face: {flush with: {through point: [-150, 0, 0], square to: right}}",
    )


def test_a_groove_runs_the_whole_length_of_the_second():
    built = build(shelf("groove"))
    assert 400 * 200 * 20 - built.member("upright").solid.volume == pytest.approx(400 * 9 * 8)


def test_a_stopped_groove_ends_where_the_first_does():
    built = build(shelf("groove", ", stopped: yes"))
    assert 400 * 200 * 20 - built.member("upright").solid.volume == pytest.approx(200 * 9 * 8)


def test_a_rebate_lies_along_an_edge_and_is_open_there():
    built = build(shelf("rebate", at=91))
    feature = built.feature("upright", "rebate")
    assert len(feature.surfaces) == 2
    assert 400 * 200 * 20 - built.member("upright").solid.volume == pytest.approx(400 * 9 * 8)


def test_a_round_leg_is_housed_in_a_round_hole_of_its_own_size():
    text = """title: Stool
units: mm
stock:
  rod: {ask for: 36 mm ash dowel, species: ash}
  slab: {ask for: elm, species: elm, thickness: 40, width: 300}
members:
  seat:
    stock: slab
    length: 300
    place: {length: right, face: {flush with: {level at: 440}}, middle: [centre plane, depth plane]}
  leg:
    stock: rod
    diameter: 36
    place: {from: [0, 0, 440], to: [60, 40, 0]}
    trim: {upper end: seat.face, lower end: floor}
joints:
  - {housing: [leg, seat]}
"""
    built = build(text)
    assert [str(f) for f in built.findings] == []
    bodies = kernel_bodies(built)
    expected = less(bodies["seat"], bodies["leg"])
    assert built.member("seat").solid.volume == pytest.approx(kernel_volume(expected), rel=1e-6)
    kinds = {type(s.form).__name__ for s in built.feature("seat", "housing").surfaces}
    assert kinds == {"Cylinder"}


def crowned(size: str, post: str, joint: str) -> str:
    """A rail with a crowned top edge, and an upright of this size beside its middle; ``post``: how that stands."""
    return f"""title: Crown
units: mm
stock:
  plank: {{ask for: oak, species: oak, width: 150, thickness: 40}}
  post wood: {{ask for: oak, species: oak, {size}}}
members:
  rail:
    stock: plank
    length: 1000
    place:
      length: right
      face: {{toward: front}}
      edge: {{flush with: {{level at: 500, facing: down}}}}
      middle: [centre plane, depth plane]
    curve: {{rise: 60}}
  post:
    stock: post wood
    length: 400
    place: {{length: up, face: {{toward: front}}, {post}}}
joints:
  - {joint}
"""


def test_a_notch_follows_a_crowned_edge():
    """The strut that takes a crowned rail is cut to the crown, not to the rail's box."""
    built = build(
        crowned(
            "width: 90, thickness: 90",
            "back: {at: depth plane}, middle: [{through point: [300, 0, 0], square to: right}, {level at: 600}]",
            "{notch: [rail, post]}",
        )
    )
    assert [str(f) for f in built.findings] == []
    bodies = kernel_bodies(built)
    assert built.member("post").solid.volume == pytest.approx(
        kernel_volume(less(bodies["post"], bodies["rail"])), rel=1e-6
    )
    forms = [s.form for s in built.feature("post", "notch").surfaces]
    assert sum(not isinstance(f, Plane) for f in forms) == 1
    assert kernel_volume(common(bodies["post"], bodies["rail"])) > 1


def test_the_crown_is_a_wall_of_a_lap_too():
    """Where a crowned rail laps a post, the post's trench ends at the crown and nothing is lost."""
    built = build(
        crowned(
            "width: 150, thickness: 40",
            "middle: [depth plane, {through point: [250, 0, 0], square to: right}, {level at: 600}]",
            "{half lap: [post, rail]}",
        )
    )
    assert [str(f) for f in built.findings] == []
    bodies = kernel_bodies(built)
    whole = sum(kernel_volume(b) for b in bodies.values()) - kernel_volume(common(*bodies.values()))
    assert sum(m.solid.volume for m in built.model.members) == pytest.approx(whole, rel=1e-6)


def test_a_brace_let_into_a_leaning_flared_leg_cuts_the_slope_that_was_worked_by_hand():
    """Flare 5, lean 12: the notch floor slopes 4.89 degrees across the leg, none along it, 0.128 in over 1 1/2."""
    built = build_file(FOLDER / "flared-bench.yaml")
    assert [str(f) for f in built.findings] == []
    leg = built.member("leg right")
    floors = {
        s.form for f in leg.features if f.kind == "notch" for s in f.surfaces if abs(s.form.normal[1]) > 0.9
    }
    assert floors
    for floor in floors:
        along, across, out = floor.normal
        assert along == pytest.approx(0.0, abs=1e-9)
        assert math.degrees(math.atan2(out, across)) % 180 == pytest.approx(4.89, abs=0.005)
        assert 1.5 * out / across == pytest.approx(0.128, abs=5e-4)


def test_two_mirrored_braces_in_their_own_mean_plane_lap_at_half_their_thickness():
    built = build_file(FOLDER / "flared-bench.yaml")
    for name in ("brace", "brace mirrored"):
        feature = built.feature(name, "half lap")
        member = built.member(name)
        floor = member.surface(feature.cutters[0][0]).form
        assert abs(floor.normal[2]) == pytest.approx(1.0, abs=1e-12)
        assert abs(floor.offset) == pytest.approx(0.375 * 25.4, abs=1e-9)


ACROSS = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 60, thickness: 40}}
members:
  rail:
    stock: bar
    place: {length: rear, face: {toward: right}, middle: [centre plane, floor]}
    trim: {front end: {shift: depth plane, by: 15}, rear end: {through point: [0, 300, 0], square to: rear}}
  front:
    stock: bar
    length: 400
    place: {length: right, back: {flush with: {shift: depth plane, by: 40}}, middle: [centre plane, floor]}
joints:
  - {rebate: [rail, front]SAID}
"""


def test_a_rebate_that_runs_through_may_not_take_a_whole_side_unsaid():
    """A rail's end in the middle of a front: run through, the rebate would plane the front down."""
    through = [f for f in findings_of(ACROSS.replace("SAID", "")) if f.rule == "worked away"]
    assert [f.text.split(":")[0] for f in through] == ['"front" comes out 15 mm thick instead of 40 mm']
    stopped = findings_of(ACROSS.replace("SAID", ", stopped: yes"))
    assert not [f for f in stopped if f.rule == "worked away"]


@pytest.mark.parametrize(
    ("off", "told"),
    [(28, ""), (20, ""), (2, 'housing: the depth in "rail" is 0.95 of the stock\'s thickness')],
)
def test_a_trench_deeper_than_the_rules_allow_is_told(off, told):
    """1/4, at most 1/3, school practice 1/2: published rules (reference 07_joints, dado_depth)."""
    found = findings_of(Crossing(lean=10, flare=0, off=off, joint="{housing: [leg, rail]}").text)
    assert [f.text.partition(" of the stock")[0] for f in found if f.rule == "rule of thumb"] == [
        told.partition(" of the stock")[0]
    ] * bool(told)
