"""Bored holes: where they are, how deep, their mouths; each compared with the exact kernel's own boring."""

import math

import pytest
from brep_kernel import kernel_area, kernel_solid, kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from workshop import build, findings_of, fused, less

from plangen.geometry.surfaces import Box, Cylinder, Plane
from plangen.geometry.vectors import along, dot, unit

LONG, WIDE, THICK = 240.0, 90.0, 48.0
BAR = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 90 mm, thickness: 48 mm}}
members:
  bar:
    stock: bar
    length: 240 mm
    place: {corner: [0, 0, 0], length: right, width: rear}
    TRIM
    holes: [HOLES]
"""
"""The bar's frame is the world's: l right, w to the rear, t up."""


def bar(hole, trim=""):
    return BAR.replace("HOLES", hole).replace("TRIM", trim)


def bored(hole, trim=""):
    return build(bar(hole, trim)).member("bar")


def messages(hole, trim=""):
    return [f.text for f in findings_of(bar(hole, trim)) if f.level == "error"]


def round_tool(at, way, radius, low, high):
    """The kernel's cylinder along an axis, from one distance of a point of it to another."""
    place = gp_Ax2(gp_Pnt(*along(at, way, low)), gp_Dir(*way))
    return BRepPrimAPI_MakeCylinder(place, radius, high - low).Shape()


def cone_tool(at, way, radius, slope, depth):
    place = gp_Ax2(gp_Pnt(*at), gp_Dir(*way))
    return BRepPrimAPI_MakeCone(place, radius, radius - slope * depth, depth).Shape()


OUT = 60.0


def sizes(low, high):
    """A file's figures have a few places, no more."""
    return st.floats(low, high).map(lambda x: round(x, 4))


PLACES = st.tuples(sizes(70, 170), sizes(36, 54))
LEANS = st.tuples(sizes(-0.5, 0.5), sizes(-0.25, 0.25))


@settings(max_examples=12, deadline=None)
@given(PLACES, LEANS, sizes(4, 16), st.sampled_from(["", "cbore", "csk", "spot"]), st.booleans())
def test_a_hole_at_any_angle_is_what_the_exact_kernel_bores(at, lean, diameter, mouth, through):
    way = unit((lean[0], lean[1], -1.0))
    entry = (at[0], at[1], THICK)
    wide = round(diameter + 8, 4)
    sunk = wide / 2 * math.hypot(lean[0], lean[1])  # tan of the angle between axis and face, times the radius
    depth = 26.0
    said = {
        "": "",
        "cbore": f", counterbore: {{diameter: {wide}, depth: 9}}",
        "csk": f", countersink: {wide}",
        "spot": f", spot face: {wide}" if sunk > 1e-2 else "",
    }[mouth]
    deep = "" if through else f", depth: {depth}"
    going = f", going: [{lean[0]}, {lean[1]}, -1]"
    member = bored(f"{{diameter: {diameter}, in: top, at: [{at[0]}, {at[1]}]{going}{deep}{said}}}")
    tool = round_tool(entry, way, diameter / 2, -OUT, 200.0 if through else depth)
    if mouth == "cbore":
        tool = fused(tool, round_tool(entry, way, wide / 2, -OUT, 9.0))
    elif mouth == "spot" and said:
        tool = fused(tool, round_tool(entry, way, wide / 2, -OUT, sunk))
    elif mouth == "csk":
        tool = fused(tool, round_tool(entry, way, wide / 2, -OUT, sunk))
        tool = fused(tool, cone_tool(along(entry, way, sunk), way, wide / 2, 1.0, 4.0))
    theirs = less(kernel_solid(Box((0, 0, 0), (LONG, WIDE, THICK)), []), tool)
    assert member.solid.volume == pytest.approx(kernel_volume(theirs), rel=1e-9)
    assert member.solid.area == pytest.approx(kernel_area(theirs), rel=1e-6)


@settings(max_examples=12, deadline=None)
@given(sizes(80, 160), sizes(-0.6, 0.6), sizes(-0.2, 0.0), sizes(5, 20))
def test_a_half_round_seat_is_the_half_of_a_hole_that_lies_in_the_wood(at, skew, dip, diameter):
    way = unit((skew, 1.0, dip))
    member = bored(
        f"{{diameter: {diameter}, in: front, at: [{at}, 48], going: [{skew}, 1, {dip}], half round: yes}}"
    )
    tool = round_tool((at, 0.0, THICK), way, diameter / 2, -OUT, 300.0)
    theirs = less(kernel_solid(Box((0, 0, 0), (LONG, WIDE, THICK)), []), tool)
    assert member.solid.volume == pytest.approx(kernel_volume(theirs), rel=1e-9)
    (seat,) = [f for f in member.features if f.kind == "seat"]
    assert seat.hole.purpose == "seat"
    assert "clamp a block" in seat.note


def test_the_block_for_a_seat_covers_the_half_outside():
    """Half of 16 mm stands out of the face, and 12 mm of wood beyond it: 20; the bore is as long as the bar is wide."""
    (seat,) = bored("{diameter: 16, in: front, at: [120, 48], half round: yes}").features
    assert "on the face, at least 20 mm thick, 40 mm wide and 90 mm along the bore" in seat.note


@pytest.mark.parametrize(
    ("side", "at", "entry", "axis"),
    [
        ("top", "[50, 30]", (50, 30, 48), (0, 0, -1)),
        ("bottom", "[50, 30]", (50, 30, 0), (0, 0, 1)),
        ("front", "[50, 20]", (50, 0, 20), (0, 1, 0)),
        ("rear", "[50, 20]", (50, 90, 20), (0, -1, 0)),
        ("left end", "[40, 20]", (0, 40, 20), (1, 0, 0)),
        ("end B", "[40, 20]", (240, 40, 20), (-1, 0, 0)),
    ],
)  # fmt: skip
def test_a_hole_is_measured_on_the_surface_it_is_bored_from(side, at, entry, axis):
    (hole,) = bored(f"{{diameter: 10, in: {side}, at: {at}, depth: 20}}").features
    assert hole.hole.entry == pytest.approx(entry)
    assert hole.hole.axis == pytest.approx(axis)


def test_on_a_bevel_a_hole_is_square_to_the_bevel_and_where_its_figures_say():
    trim = "trim: {rear: {through point: [0, 90, 48], square to: [0, 1, -0.4]}}"
    (hole,) = (
        f.hole for f in bored("{diameter: 8, in: rear, at: [100, 24], depth: 15}", trim).features if f.hole
    )
    normal = unit((0.0, 1.0, -0.4))
    assert dot(hole.axis, normal) == pytest.approx(-1.0, abs=1e-12)
    assert (hole.entry[0], hole.entry[2]) == pytest.approx((100, 24))
    assert dot(normal, hole.entry) == pytest.approx(dot(normal, (0.0, 90.0, 48.0)))


def test_a_spot_face_is_just_deep_enough_to_be_a_full_circle():
    """Its floor is lowest under the face where the face is highest above it: there it just touches the surface."""
    member = bored("{diameter: 8, in: top, at: [120, 45], going: [0.3, 0, -1], spot face: 20}")
    (spot,) = [f for f in member.features if f.kind == "spot-face"]
    (wall,) = [s.form for s in spot.surfaces if isinstance(s.form, Cylinder)]
    (floor,) = [s.form for s in spot.surfaces if isinstance(s.form, Plane)]
    middle = along(spot.hole.entry, spot.hole.axis, spot.hole.depth)
    rim = [
        middle[2] + wall.radius * (math.cos(a) * e[2] + math.sin(a) * f[2])
        for e, f in [((floor.normal[2], 0.0, -floor.normal[0]), (0.0, 1.0, 0.0))]
        for a in (2 * math.pi * i / 720 for i in range(720))
    ]
    assert max(rim) == pytest.approx(THICK, abs=1e-4)


def test_flat_heads_sit_in_82_degrees_in_inches_and_90_in_millimetres():
    """Common practice: inch flat heads 82 degrees side to side, metric 90."""
    for units, degrees in (("in", 82), ("mm", 90)):
        text = bar("{diameter: 6 mm, in: top, at: [100 mm, 45 mm], countersink: 12 mm}")
        member = build(text.replace("units: mm", f"units: {units}")).member("bar")
        (cone,) = [s.form for f in member.features if f.kind == "countersink" for s in f.surfaces]
        assert 2 * math.degrees(math.atan(-cone.slope)) == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("hole", "words"),
    [
        ("{diameter: 20, in: top, at: [60, 8]}", "it breaks out through the edge"),
        ("{diameter: 20, in: top, at: [60, 10.5]}", "it leaves 0.5 mm of wood to the edge, which breaks out"),
        ("{diameter: 20, in: top, at: [60, 45], depth: 47.5}", "it comes out on the far side; leave depth away"),
        ("{diameter: 20, in: top, at: [60, 45], going: [1, 0, -0.05]}", "it cannot enter there"),
        ("{diameter: 20, in: top, at: [60, 100]}", "its middle does not lie on that surface"),
        ("{diameter: 20, in: front, at: [60, 30], half round: yes}", "its middle must lie on an arris"),
        ("{diameter: 20, in: top, at: [60, 45], spot face: 30}", "needs no spot face"),
        ("{diameter: 20, in: top, at: [60, 45], countersink: 20}", "must be wider than the hole"),
        ("{diameter: 20, in: top, at: [60, 45], counterbore: {diameter: 80, depth: 5}}", ""),
        ("{diameter: 8, in: top, at: [60, 45], depth: 12, counterbore: {diameter: 20, depth: 12}}", "all of the hole"),
    ],
)  # fmt: skip
def test_a_hole_that_cannot_be_bored_is_refused(hole, words):
    found = messages(hole)
    assert (len(found) == 1 and words in found[0]) if words else found == []


def test_two_holes_that_run_into_each_other_are_refused():
    """Square holes 12 mm wide whose axes pass 9 mm apart: they need 12 and a millimetre of wood between them."""
    (found,) = messages("{diameter: 12, in: top, at: [100, 45]}, {diameter: 12, in: front, at: [109, 20]}")
    assert "runs into" in found
    assert "their axes pass 9 mm apart and need 13 mm" in found


def test_a_thin_wall_is_told():
    text = bar("{diameter: 20, in: top, at: [60, 12]}")
    (found,) = [f for f in findings_of(text) if f.level == "warning"]
    assert "leaves only 2 mm of wood to the edge" in found.text


def test_a_mirrored_piece_has_its_holes_mirrored():
    text = bar("{diameter: 10, in: top, at: [60, 30], going: [0.2, 0.1, -1]}").replace(
        "holes:", "copies: {mirror: [left to right]}\n    holes:"
    )
    built = build(text.replace("corner: [0, 0, 0]", "corner: [10, 0, 0]"))
    axes = []
    for instance in (i for m in built.model.members for i in m.instances):
        member, placed = built.instance(instance.name)
        (hole,) = [f.hole for f in member.features]
        axes.append((placed.frame.point(hole.entry), placed.frame.direction(hole.axis)))
    (p, a), (q, b) = sorted(axes, key=lambda named: -named[0][0])
    assert q == pytest.approx((-p[0], p[1], p[2]))
    assert b == pytest.approx((-a[0], a[1], a[2]))


OUTLINED = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 90 mm, thickness: 48 mm}}
members:
  bar:
    stock: bar
    outline: {points: POINTS}
    place: {corner: [0, 0, 0], length: right, width: rear}
    holes: [HOLES]
"""
SKEWED = [(0, 10), (230, 0), (240, 70), (20, 90)]
"""The corners of a board with four sides, no two of them square."""


@pytest.mark.parametrize(
    ("side", "ends"), [("front", (0, 1)), ("right", (1, 2)), ("rear", (3, 2)), ("left", (0, 3))]
)
def test_a_hole_in_a_sawn_side_is_square_to_it(side, ends):
    (ax, ay), (bx, by) = (SKEWED[i] for i in ends)
    middle = (ax + bx) / 2 if side in ("front", "rear") else (ay + by) / 2
    text = OUTLINED.replace("POINTS", str([list(p) for p in SKEWED]))
    hole = f"{{diameter: 8, in: {side}, at: [{middle}, 24], depth: 15}}"
    (found,) = (f.hole for f in build(text.replace("HOLES", hole)).member("bar").features if f.hole)
    assert found.entry == pytest.approx(((ax + bx) / 2, (ay + by) / 2, 24.0))
    assert found.axis[0] * (bx - ax) + found.axis[1] * (by - ay) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("smooth", ["", "  smooth: yes,"])
@pytest.mark.parametrize(
    ("at", "words"),
    [
        ((120, 20), "misses the wood"),
        ((120, 38), "misses the wood"),
        ((120, 43), "breaks out"),
        ((120, 70), ""),
    ],
)
def test_a_hole_beyond_a_hollow_side_is_refused(smooth, at, words):
    points = "[[0, 0], [120, 40], [240, 0], [240, 90], [0, 90]]," + smooth
    text = OUTLINED.replace("{points: POINTS}", f"{{points: {points}}}")
    text = text.replace("HOLES", f"{{diameter: 12, in: top, at: {list(at)}}}")
    found = [f.text for f in findings_of(text) if f.level == "error"]
    assert (len(found) == 1 and words in found[0]) if words else found == []
