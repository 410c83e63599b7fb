"""Edge laps: two boards cross on edge, each slotted from the other's opposite edge, out of square in any way."""

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, Stick, design, face, turned, within
from workshop import build, findings_of, fused, kernel_bodies, less

from plangen.geometry.vectors import dot

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
widths = st.integers(600, 1200).map(lambda tenths: tenths / 10)


def boards(
    turn=0.0, lean=0.0, tip=0.0, first=100.0, second=100.0, joint="{edge lap: [long, cross]}", lift=0.0
):
    """The long board level along the front, plumb; the other turned in plan, leaning on its edge, tipped."""
    long = Stick("long", (0.0, 0.0, first / 2), RIGHT, UP, (500.0, first, 18.0))
    way = turned(turned(REAR, UP, turn), RIGHT, tip)
    cross = Stick("cross", (0.0, 0.0, second / 2 + lift), way, turned(UP, way, lean), (500.0, second, 15.0))
    return long, cross, design(long, cross, joints=joint)


def floor_of(built, name):
    member, placed = built.instance(name)
    feature = next(f for f in member.features if f.kind == "edge lap")
    return member.surface(feature.cutters[0][0]).form.placed(placed.frame)


def test_two_equal_boards_are_slotted_half_their_width():
    _, _, text = boards()
    built = build(text)
    assert [str(f) for f in built.findings] == []
    assert 500 * 100 * 18 - built.member("long").solid.volume == pytest.approx(50 * 18 * 15)
    assert 500 * 100 * 15 - built.member("cross").solid.volume == pytest.approx(50 * 18 * 15)
    assert floor_of(built, "long").normal[2] == -1.0, "the first stays over unless it is said otherwise"


def test_over_says_which_board_is_slotted_from_below():
    _, _, text = boards(joint="{edge lap: [long, cross], over: second, depth: 30}")
    built = build(text)
    assert floor_of(built, "long").normal[2] == 1.0
    assert 500 * 100 * 15 - built.member("cross").solid.volume == pytest.approx(30 * 18 * 15)


def test_boards_out_of_square_both_ways_keep_all_their_wood(tally):
    @settings(max_examples=12, deadline=None)
    @given(DEGREES, DEGREES, DEGREES, widths, widths, st.sampled_from(["first", "second"]))
    def crossed(turn, lean, tip, first, second, over):
        _, _, text = boards(turn, lean, tip, first, second, f"{{edge lap: [long, cross], over: {over}}}")
        built = tally.build(text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        floor = floor_of(built, "long")
        edge = face(built, "cross", "edge").normal
        assert abs(dot(floor.normal, edge)) == pytest.approx(1.0, abs=1e-12), "along the second's edge"
        expected = {}
        for name, other, lost in (("long", "cross", floor.flipped()), ("cross", "long", floor)):
            # All between the other's two faces on the wrong side of the floor: right through to the open edge.
            edges = (face(built, other, n) for n in ("edge", "back edge"))
            far = min(edges, key=lambda p: -dot(p.normal, lost.normal))
            slot = within(face(built, other, "face"), face(built, other, "back"), lost, far)
            expected[name] = less(bodies[name], slot)
        assert_sound(built, tally, expected)

    crossed()


def test_flush_boards_lose_nothing_and_joints_come_in_any_order():
    _, _, text = boards(turn=20, first=90, second=90)
    built = build(text)
    bodies = kernel_bodies(built)
    whole = kernel_volume(fused(*bodies.values()))
    assert sum(m.solid.volume for m in built.model.members) == pytest.approx(whole, rel=1e-9)
    third = Stick("third", (120.0, 0.0, 45.0), REAR, UP, (300.0, 90.0, 15.0))
    long, cross, _ = boards(first=90, second=90)
    assert_order_free(
        design(long, cross, third, joints="{edge lap: [long, cross]}\n{edge lap: [long, third]}")
    )


def test_members_that_cross_face_to_face_are_sent_to_the_half_lap():
    flat = Stick("flat", (0.0, 0.0, 0.0), RIGHT, REAR, (400.0, 80.0, 30.0))
    also = Stick("also", (0.0, 0.0, 0.0), REAR, RIGHT, (400.0, 80.0, 30.0))
    found = findings_of(design(flat, also, joints="{edge lap: [flat, also]}"))
    assert [f.text for f in found] == [
        'the edge lap: "flat" lies on its face there, not on edge; a half lap joins it'
    ]


def test_a_slot_that_leaves_too_little_of_a_board_is_told():
    _, _, text = boards(joint="{edge lap: [long, cross], depth: 80}")
    (found,) = findings_of(text)
    assert found.level == "warning"
    assert found.text == (
        'edge lap: the slot in "cross" is 0.80 of the member\'s width; the rule of thumb is at most 0.67 '
        "(woodwork textbooks, common practice)"
    )
    _, _, text = boards(joint="{edge lap: [long, cross], depth: 130}")
    (found,) = findings_of(text)
    assert found.text == "the edge lap's depth must lie between 0 and 100 mm, the wood they share"
