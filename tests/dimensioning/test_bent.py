"""What the sheet of a bent bar states: the flat it is made from, where and which way to bend it, and its shape."""

from __future__ import annotations

import math

import pytest

from plangen.dimensioning.bent import dimension_bent

# A hoop of 25 x 3 round a stake of 40 x 20: two ears of 30, bent to an inside radius of 3, K factor 0.407.
HOOP = """
title: Hoop
units: mm
stock: {post: {ask for: oak, species: oak, thickness: 60, width: 140}}
members:
  post: {stock: post, length: 300, place: {length: up, width: right, corner: [-70, 0, 0]}}
bought:
  hoop:
    size: 25 x 3 flat bar, galvanized
    bar: [25, 3]
    bent:
      - [-60, -1.5, 100]
      - [-21.5, -1.5, 100]
      - [-21.5, -21.5, 100]
      - [21.5, -21.5, 100]
      - [21.5, -1.5, 100]
      - [60, -1.5, 100]
fasteners:
  - {screw: 4 x 30 pan, through: hoop, into: post, count: 2, from: front}
"""


@pytest.fixture(scope="module")
def bar(model_of):
    model, style = model_of(HOOP)
    (found,) = dimension_bent(model, style)
    return found


def test_the_flat_is_as_long_as_the_straights_and_the_bends_on_their_neutral_line(bar):
    # Straights of the middle line less what each bend takes of them; the allowance is A (R + K T).
    straights = 2 * (38.5 - 4.5) + 2 * (20 - 9) + (43 - 9)
    allowance = math.pi / 2 * (3 + 0.407 * 3)
    (length,) = [f for f in bar.flat_figures.figures if f.id == "length"]
    assert length.value == pytest.approx(straights + 4 * allowance)
    bored = sum(math.pi * f.hole.diameter**2 / 4 * 3 for f in bar.flat.features)
    assert bar.flat.solid.volume == pytest.approx(length.value * 25 * 3 - bored)


def test_holes_lie_on_the_flat_as_far_from_its_ends_as_they_do_on_the_ears(bar):
    world = [
        i.frame.point(f.hole.entry)[0] for i in bar.formed.instances for f in bar.formed.features if f.hole
    ]
    from_end = sorted(60 - abs(x) for x in world)
    on_flat = sorted(min(f.hole.entry[0], bar.flat.finished[0] - f.hole.entry[0]) for f in bar.flat.features)
    assert len(on_flat) == 2
    assert on_flat == pytest.approx(from_end)
    assert all(f.hole.entry[1] == pytest.approx(12.5) for f in bar.flat.features)


def test_each_bend_line_is_the_middle_of_its_bend_from_end_a_with_its_way_and_angle(bar):
    lines = [f for f in bar.flat_figures.figures if f.id.startswith("bend")]
    half = math.pi / 4 * (3 + 0.407 * 3)
    places = [34 + half, 34 + 3 * half + 11, 34 + 5 * half + 11 + 34, 34 + 7 * half + 11 + 34 + 11]
    assert [f.value for f in lines] == pytest.approx(places)
    ways = [f.printed.split(" ", 1)[1] for f in lines]
    assert ways in (
        ["UP 90°", "DOWN 90°", "DOWN 90°", "UP 90°"],
        ["DOWN 90°", "UP 90°", "UP 90°", "DOWN 90°"],
    )
    assert [a[0][0] for a in bar.lines] == pytest.approx(places)


def test_the_shape_states_its_box_and_its_inside_radius(bar):
    figures = {f.id: f for f in bar.formed_figures.figures}
    assert figures["overall length"].value == pytest.approx(120)
    assert figures["overall width"].value == pytest.approx(23)
    assert figures["inside radius"].printed == "4 x R3 INSIDE"


def test_the_room_inside_the_hoop_can_be_read_off(bar):
    sides = [f.value for f in bar.formed_figures.figures if f.id.startswith("inner side along length")]
    assert max(sides) - min(sides) == pytest.approx(40)


def test_a_test_bend_is_called_for_and_the_k_factor_told(bar):
    said = " ".join(bar.flat_figures.notes)
    assert "K factor 0.407" in said
    assert "test bend" in said


def test_every_figure_is_the_distance_of_its_points(bar):
    for f in (*bar.flat_figures.figures, *bar.formed_figures.figures):
        a, b = f.points
        if f.kind == "linear":
            assert abs(sum((q - p) * d for p, q, d in zip(a, b, f.direction, strict=True))) == pytest.approx(
                f.value
            )
        else:
            assert math.dist(a, b) == pytest.approx(f.value)
