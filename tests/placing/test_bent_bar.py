"""Flat bar bent along points: a body like any other, and the flat that it is bent from."""

import math
from itertools import pairwise

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import described
from workshop import build, findings_of

from plangen.stock.hardware_list import hardware_list

BRACKET = """
title: Bracket
units: {units}
stock: {{post: {{ask for: oak, species: oak, thickness: 20 mm, width: 20 mm}}}}
members:
  post: {{stock: post, length: 300 mm, place: {{length: up, face: front, corner: [-900 mm, -900 mm, 0]}}}}
bought:
  strap:
    size: {size}
    bar: {bar}
    bent: {points}
{more}"""


def bracket(points, bar="[25, 3]", size="flat bar steel", more="", units="mm", joints=""):
    return BRACKET.format(points=points, bar=bar, size=size, more=more, units=units) + joints


ELBOW = [[0, 0, 100], [80, 0, 100], [80, 60, 100]]


def test_an_elbow_has_the_volume_of_its_two_straights_and_a_quarter_of_a_ring():
    member = build(bracket(ELBOW, more="    inside radius: 5\n")).member("strap")
    middle = 5 + 3 / 2
    length = (
        (80 - middle) + (60 - middle) + math.pi / 2 * middle
    )  # Pappus: a ring's section times its middle line
    assert member.solid.volume == pytest.approx(25 * 3 * length, rel=1e-9)
    assert member.finished == pytest.approx((100 + 1.2, member.finished[1], 25), abs=3)


def test_its_middle_runs_through_the_points():
    built = build(bracket(ELBOW))
    member, instance = built.instance("strap")
    for point, way in ((ELBOW[0], (1, 0, 0)), (ELBOW[2], (0, -1, 0))):
        inside = [p + 0.5 * w for p, w in zip(point, way, strict=True)]
        assert instance.frame.local_point(inside)[2] == pytest.approx(25 / 2)
    low = [
        min(c)
        for c in zip(*(instance.frame.point(tuple(v)) for v in member.solid.vertices.tolist()), strict=True)
    ]
    high = [
        max(c)
        for c in zip(*(instance.frame.point(tuple(v)) for v in member.solid.vertices.tolist()), strict=True)
    ]
    assert low == pytest.approx([0, -1.5, 87.5], abs=1e-6)
    assert high == pytest.approx([81.5, 60, 112.5], abs=1e-6)


def test_the_flat_of_two_legs_is_their_outside_less_the_bend_deduction():
    # Outside legs 2 in, bar and radius 1/8 in, K .44: 2 + 2 - (2 x 1/4 - 0.2827) = 3.7827 (common practice).
    half = 1 / 16
    points = [[2 - half, 0, 9], [0, 0, 9], [0, 2 - half, 9]]
    built = build(bracket(points, "[1, 1/8]", more="    k factor: 0.44\n", units="in"))
    (row,) = [row for row in hardware_list(built.model) if row.name == "strap"]
    assert row.length / 25.4 == pytest.approx(3.7827, abs=5e-5)


def test_the_bends_lie_on_the_flat_where_their_tangents_are():
    bent = build(bracket([[0, 0, 50], [40, 0, 50], [40, 30, 50], [70, 30, 50]])).member("strap").bent
    middle, allowance = 3 + 1.5, math.pi / 2 * (3 + 0.407 * 3)
    first, second = bent.bends
    assert first.begins == pytest.approx(40 - middle)
    assert first.ends == pytest.approx(40 - middle + allowance)
    assert second.begins == pytest.approx(first.ends + 30 - 2 * middle)
    assert bent.length == pytest.approx(second.ends + 30 - middle)
    assert first.angle == pytest.approx(-second.angle)


corners = st.lists(
    st.tuples(st.integers(40, 120), st.integers(-110, 110).filter(lambda turn: abs(turn) > 5)),
    min_size=1,
    max_size=5,
)


@settings(max_examples=12, deadline=None)
@given(corners, st.integers(0, 360), st.integers(-80, 80))
def test_any_bar_that_can_be_bent_is_the_exact_kernels_and_as_long_as_its_parts(legs, heading, tilt):
    turned, tilted = math.radians(heading), math.radians(tilt)
    u = (math.cos(turned), math.sin(turned), 0.0)
    v = (-math.sin(turned) * math.cos(tilted), math.cos(turned) * math.cos(tilted), math.sin(tilted))
    x, y, way, flat = 0.0, 0.0, 0.0, [(0.0, 0.0)]
    for leg, turn in [*legs, (60, 0)]:
        x, y = x + leg * math.cos(way), y + leg * math.sin(way)
        flat.append((x, y))
        way += math.radians(turn)
    points = [[round(a * u[i] + b * v[i], 9) for i in range(3)] for a, b in flat]
    findings = findings_of(bracket(points, "[20, 2]"))
    if any("runs into itself" in f.text or "no room to bend" in f.text for f in findings):
        return
    member, instance = build(bracket(points, "[20, 2]")).instance("strap")
    assert member.solid.volume == pytest.approx(kernel_volume(described(member, instance)), rel=1e-7)
    middle = 2 + 1
    turns = [math.radians(turn) for _, turn in legs]
    straight = sum(math.dist(a, b) for a, b in pairwise(flat)) - 2 * sum(
        middle * math.tan(abs(t) / 2) for t in turns
    )
    assert member.solid.volume == pytest.approx(
        20 * 2 * (straight + sum(abs(t) for t in turns) * middle), rel=1e-6
    )
    assert member.bent.length == pytest.approx(
        straight + sum(abs(t) * (2 + 0.407 * 2) for t in turns), rel=1e-6
    )


def test_mirrored_brackets_are_one_part_of_which_two_are_bought():
    built = build(
        bracket([[60, 0, 100], [140, 0, 100], [140, 60, 100]], more="    copies: {mirror: left to right}\n")
    )
    (member,) = [m for m in built.model.members if m.role == "bought"]
    assert member.quantity == 2
    assert [row.quantity for row in hardware_list(built.model) if row.name == "strap"] == [2]


def test_a_notch_takes_the_bar_where_it_lies_in_the_wood():
    points = [[-860, -903, 100], [-940, -903, 100], [-940, -960, 100]]
    built = build(bracket(points, "[15, 4]", joints="joints:\n  - {housing: [strap, post]}\n"))
    post = built.member("post")
    assert post.solid.volume == pytest.approx(300 * 20 * 20 - 20 * 15 * 4, rel=1e-9)
    assert [str(f) for f in built.findings if f.rule == "clash"] == []


def test_a_bend_tighter_than_the_metal_takes_is_told():
    found = findings_of(bracket(ELBOW, size="aluminium flat bar", more="    inside radius: 2\n"))
    (warning,) = [f for f in found if f.rule == "bend"]
    assert warning.level == "warning"
    assert "inside radius of 2 mm; this metal may crack tighter than 4.5 mm" in warning.text
