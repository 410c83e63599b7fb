"""Scarfs: one long sloping face through the middle of what two members share, tips feathered or blunt."""

import math

import pytest
from brep_kernel import kernel_centroid, kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_sound
from sticks import TAPERS, Stick, design, turned, within
from workshop import build, common, findings_of, fused, kernel_bodies, less

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import along, cross, dot, scale, sub, unit

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
bends = st.integers(-20, 20).map(lambda tenths: tenths / 10)


def lengthened(bend=0.0, tip=0.0, overlap=220.0, taper=0.0, options="", thick=25.0, second=25.0):
    """A rail to the left of the middle, a second to the right, sharing ``overlap``, the second bent up and aside."""
    first = Stick("first", (overlap / 2 - 250.0, 0.0, 0.0), RIGHT, REAR, (500.0, 70.0, thick), taper)
    way = turned(turned(RIGHT, REAR, bend), UP, tip)
    run_on = Stick("run on", scale(way, 250.0 - overlap / 2), way, cross(UP, way), (500.0, 70.0, second))
    return design(first, run_on, joints=f"{{scarf: [first, run on]{options}}}")


def face_of(built):
    """The sloping face in the world, outward of the first."""
    member, placed = built.instance("first")
    feature = next(f for f in member.features if f.kind == "scarf")
    return member.surface(feature.cutters[0][0]).form.placed(placed.frame)


def test_one_in_eight_takes_eight_thicknesses_of_length():
    built = build(lengthened())
    assert [str(f) for f in built.findings] == []
    slope = math.degrees(math.asin(abs(dot(face_of(built).normal, RIGHT))))
    assert slope == pytest.approx(math.degrees(math.atan(1 / 8)), abs=1e-9)
    for name in ("first", "run on"):
        # Shorter by what the feather edge leaves of the overlap: (220 - 8 x 25) / 2.
        assert built.member(name).finished[0] == pytest.approx(490.0)
        assert built.member(name).solid.volume == pytest.approx((500 - 110) * 70 * 25)


def test_the_first_stays_over_unless_the_second_is_named():
    assert face_of(build(lengthened())).normal[2] < 0
    assert face_of(build(lengthened(options=", over: second"))).normal[2] > 0


def test_a_nib_is_a_blunt_end_square_to_the_length():
    """Nibs of 4 leave 25 - 8 of thickness to slope through: 8 x 17 mm between them."""
    built = build(lengthened(overlap=180.0, options=", nib: 4"))
    assert [str(f) for f in built.findings] == []
    first = built.member("first")
    assert first.finished[0] == pytest.approx(500 - 90 + 8 * 17 / 2)
    tips = [v for v in first.solid.vertices.tolist() if v[0] > first.finished[0] - 1e-6]
    heights = [v[2] for v in tips]
    assert max(heights) - min(heights) == pytest.approx(4.0)


@pytest.mark.parametrize("nib", [0.0, 3.0])
def test_any_two_members_are_parted_by_one_plane(tally, nib):
    options = f", nib: {nib}" if nib else ""

    @settings(max_examples=12, deadline=None)
    @given(bends, bends, TAPERS, st.sampled_from(["1 in 8", "1 in 10", "1 in 12"]))
    def scarfed(bend, tip, taper, slope):
        text = lengthened(bend, tip, 420.0, taper, f"{options}, slope: {slope}".replace(", ,", ","))
        built = tally.build(text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        first, second = built.body("first").frame, built.body("run on").frame
        way = unit(tuple(a + b for a, b in zip(first.l, second.l, strict=True)))
        up = unit(sub(first.t, scale(way, dot(first.t, way))))
        up = up if up[2] > 0 else scale(up, -1)
        angle = math.atan(1 / int(slope[5:]))
        normal = sub(scale(way, math.sin(angle)), scale(up, math.cos(angle)))
        middle = kernel_centroid(common(*bodies.values()))
        face = Plane(normal, dot(normal, middle))
        if nib:
            tip_end, heel = nib_planes(built, middle, way, up, angle, nib)
            expected = {
                "first": less(less(bodies["first"], within(tip_end.flipped())), within(face.flipped(), heel)),
                "run on": less(less(bodies["run on"], within(heel.flipped())), within(face, tip_end)),
            }
        else:
            expected = {
                "first": common(bodies["first"], within(face)),
                "run on": less(bodies["run on"], within(face)),
            }
        assert_sound(built, tally, expected)

    scarfed()


def nib_planes(built, middle, way, up, angle, nib):
    """Square to the length, where along the middle of the face so much wood is left over it (and under it)."""
    rising = tuple(math.cos(angle) * w + math.sin(angle) * u for w, u in zip(way, up, strict=True))
    found = []
    for name, sign in (("first", 1.0), ("run on", -1.0)):
        planes = [p.placed(built.body(name).frame) for p in built.body(name).box.planes().values()]
        outer = max(planes, key=lambda p: sign * dot(p.normal, up))
        at = along(middle, rising, (-nib - outer.distance(middle)) / dot(outer.normal, rising))
        normal = scale(way, sign)
        found.append(Plane(normal, dot(normal, at)))
    return found


def test_equal_members_in_line_lose_nothing():
    built = build(lengthened(options=", nib: 2"))
    whole = kernel_volume(fused(*kernel_bodies(built).values()))
    assert sum(m.solid.volume * m.quantity for m in built.model.members) == pytest.approx(whole, rel=1e-9)


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_what_cannot_be_made_is_told():
    (found,) = errors(lengthened(overlap=150.0))
    assert found == (
        'the scarf of "first" and "run on": "first" ends 25 mm short of its slope; let both run on, or make the '
        "slope steeper"
    )
    assert errors(lengthened(options=", nib: 13")) == [
        'the scarf of "first" and "run on": nibs of 13 mm leave no slope between them'
    ]
    (found,) = errors(lengthened(bend=30.0))
    assert (
        found
        == 'the scarf of "first" and "run on": they do not run on in one line; a scarf lengthens a member'
    )


def test_a_steep_scarf_is_advised_against():
    found = [f.text for f in findings_of(lengthened(options=", slope: 1 in 5"))]
    assert found == [
        "scarf: the slope is 0.20 of rise to run; the rule of thumb is 0.05 to 0.12 "
        "(1 in 8 or flatter where glued, common practice)"
    ]
