"""Boxes whose sides slope: saw settings read off cut members against printed charts, and boxes that close."""

import math
import re

import pytest
from saw_charts import printed_chart
from workshop import build

from plangen.geometry.contact import contact_area
from plangen.geometry.surfaces import Plane


def box(sides, pitch, butted=False):
    """A regular box as a design: its walls, the planes halfway between neighbours, and its sides."""
    planes, members = [], []
    for i in range(sides):
        cos, sin = f"cos({360 / sides * i:g} deg)", f"sin({360 / sides * i:g} deg)"
        start, way = f"[300 * {cos}, 300 * {sin}, 0]", f"[-{sin}, {cos}, 0]"
        corner, last = (f"{360 / sides * (i + k):g} deg" for k in (0.5, -0.5))
        normal = f"[sin({pitch} deg) * {cos}, sin({pitch} deg) * {sin}, cos({pitch} deg)]"
        planes.append(f"  wall {i}: {{through point: {start}, square to: {normal}}}")
        kind = "wall"
        if pitch == 0:  # the faces of a flat frame are one plane: its corners are halfway between its edges
            planes.append(f"  rim {i}: {{through point: {start}, square to: [{cos}, {sin}, 0]}}")
            kind = "rim"
        before, after = (i - 1) % sides, (i + 1) % sides
        ends = [
            f"{{halfway between: [{kind} {i}, {kind} {before}], facing: [sin({last}), -cos({last}), 0]}}",
            f"{{halfway between: [{kind} {i}, {kind} {after}], facing: [-sin({corner}), cos({corner}), 0]}}",
        ]
        if butted:
            ends = [f"wall {before}", f"wall {after}"]
        members.append(
            f"""  side {i}:
    stock: board
    place:
      face: {{flush with: wall {i}}}
      edge: {{along: {{from: {start}, going: {way}}}}}
    trim: {{end A: {ends[0]}, end B: {ends[1]}}}"""
        )
    listed = "\n".join(planes)
    return (
        "title: Box\nunits: mm\n"
        "stock:\n  board: {ask for: larch, species: larch, width: 60, thickness: 15}\n"
        f"planes:\n{listed}\nmembers:\n",
        members,
    )


def settings_of(end: Plane):
    """Mitre on the face and tilt of the blade, degrees from square, of an end's plane in the member's frame."""
    along, across, out = end.normal
    return math.degrees(math.atan(across / along)), math.degrees(math.asin(out))


def end_planes(built, name="side 0"):
    return [s.form for f in built.member(name).features if f.kind == "end" for s in f.surfaces]


@pytest.mark.parametrize(("sides", "pitch"), list(printed_chart()))
def test_the_ends_of_a_side_are_cut_as_the_printed_chart_says(sides, pitch):
    head, members = box(sides, pitch)
    ends = end_planes(build(head + members[0]))
    assert len(ends) == 2
    for end in ends:
        mitre, bevel = settings_of(end)
        worked = {"mitre": abs(mitre), "bevel": abs(bevel)}
        for setting, degrees in printed_chart()[sides, pitch].items():
            assert worked[setting] == pytest.approx(degrees, abs=0.006)


def test_the_chart_has_all_of_its_values():
    assert sum(len(settings) for settings in printed_chart().values()) == 155


def test_a_26_degree_box_is_cut_as_a_saw_manual_works_it_out():
    """Mitre 42, bevel 18 in whole degrees (a saw's manual, compound cut example, p. 16, read)."""
    # That manual calls 26 degrees the slope of the side from the level: its box is nearly flat.
    head, members = box(4, 26)
    mitre, bevel = settings_of(end_planes(build(head + members[0]))[1])
    assert (round(abs(mitre)), round(abs(bevel))) == (42, 18)


@pytest.mark.parametrize(("sides", "pitch"), [(3, 60), (4, 85), (4, 60), (5, 75), (6, 64), (8, 80), (10, 45)])
def test_a_mitre_need_not_say_which_of_the_two_bisectors_cuts_it(sides, pitch):
    head, members = box(sides, pitch)
    said = end_planes(build(head + members[0]))
    unsaid = end_planes(build(head + re.sub(r", facing: \[[^]]*\]", "", members[0])))
    for one, other in zip(said, unsaid, strict=True):
        assert other.normal == pytest.approx(one.normal, abs=1e-12)
        assert other.offset == pytest.approx(one.offset, abs=1e-9)


@pytest.mark.parametrize("pitch", [85, 80, 75, 70, 65, 60])
def test_butted_corners_follow_the_old_hopper_construction(pitch):
    """Butt bevel drawn on the squared edge: atan(cos^2 p / sin p) (a building trades pocketbook, c. 1900, read)."""
    head, members = box(4, pitch, butted=True)
    for end in end_planes(build(head + members[0])):
        along, across, out = end.normal
        p = math.radians(pitch)
        assert math.tan(math.atan2(abs(across), abs(along))) == pytest.approx(math.cos(p), abs=1e-9)
        assert abs(out / along) == pytest.approx(math.cos(p) ** 2 / math.sin(p), abs=1e-9)


@pytest.mark.parametrize(("sides", "pitch"), [(3, 60), (4, 64), (5, 75), (6, 64), (8, 80), (10, 45)])
def test_a_box_of_equal_sides_is_one_member_and_closes(sides, pitch):
    head, members = box(sides, pitch)
    joints = "\n".join(f"  - {{butt: [side {i}, side {(i + 1) % sides}]}}" for i in range(sides))
    built = build(head + "\n".join(members) + "\njoints:\n" + joints + "\n")
    assert [str(f) for f in built.findings] == []
    (member,) = built.model.members
    assert member.quantity == sides
    assert {i.hand for i in member.instances} == {None}
    end = 60 * 15 / max(abs(e.normal[0]) for e in end_planes(built))
    for i in range(sides):
        (a, ia), (b, ib) = built.instance(f"side {i}"), built.instance(f"side {(i + 1) % sides}")
        assert contact_area(a.solid, ia.frame, b.solid, ib.frame, 1e-6) == pytest.approx(end, rel=1e-6)


def test_walls_that_meet_in_the_middle_are_called_by_the_side_they_stand_on():
    """Of a hexagon with a flat front the slanting walls meet in the depth plane."""
    wall = "[cos(60 deg), sin(60 deg), 0]"
    built = build(
        f"""title: Hexagon
units: mm
stock:
  board: {{ask for: larch, species: larch, width: 90, thickness: 20}}
planes:
  front wall: {{through line: {{from: [0, -200, 0], going: right}}, lean: {{by: 10 deg, toward: front,
    going: up, measured: from plumb}}}}
  slant: {{through line: {{from: [200 * sin(60 deg), -100, 0], going: {wall}}},
    lean: {{by: 10 deg, toward: right, going: up, measured: from plumb}}}}
  rear slant: {{through line: {{from: [200 * sin(60 deg), 100, 0], going: [-cos(60 deg), sin(60 deg), 0]}},
    lean: {{by: 10 deg, toward: right, going: up, measured: from plumb}}}}
members:
  side:
    stock: board
    place: {{face: {{flush with: slant}}, back edge: {{along: {{meet: [slant, floor], going: {wall}}}}}}}
    trim:
      front end: {{halfway between: [front wall, slant]}}
      rear end: {{halfway between: [slant, rear slant]}}
    copies: {{mirror: [left to right, front to back]}}
joints:
  - {{butt: [side front right, side rear right]}}
"""
    )
    names = {i.name for i in built.model.members[0].instances}
    assert names == {"side front right", "side front left", "side rear right", "side rear left"}
