"""Bevels planed at the jointer: when it is taken, what its fence and passes are, what is never run over it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from cut_boards import assert_makes, board, cut, cuts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.surfaces import Plane
from plangen.machining.cautions import risks_of
from plangen.machining.plane_ways import plane_ways
from plangen.machining.setup import Setup, Way
from plangen.tables.machines import SMALL_SHOP, Reach, Shop

LENGTH, WIDTH, THICK = 700.0, 120.0, 20.0
UPRIGHT = replace(SMALL_SHOP.machine("table saw"), bevel_left=0.0, bevel_right=0.0)
JOINTER = SMALL_SHOP.machine("jointer")


def shop(*machines: Reach) -> Shop:
    return Shop("a shop", (*machines, Reach("hand")))


def bevelled(degrees: float, length: float = LENGTH, over: str = "back"):
    """A board whose back edge is bevelled, the arris with the face (or the back) kept."""
    a = math.radians(degrees)
    normal = (0.0, math.cos(a), -math.sin(a) if over == "back" else math.sin(a))
    at = (0.0, WIDTH, THICK if over == "back" else 0.0)
    return board(length, WIDTH, THICK, cut("bevel", 1, [Plane(normal, sum(map(float.__mul__, normal, at)))]))


def ways(member, owned: Shop) -> tuple[Way, ...]:
    ((work, feature),) = cuts_of(member)
    found = plane_ways(work, feature, owned)
    for way in found:
        assert_makes(work, feature, way)
    return tuple(sorted(found, key=lambda w: w.cost))


def first(member, owned: Shop) -> Setup:
    return ways(member, owned)[0].setups[0]


@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 44.9), st.sampled_from(("back", "face")))
def test_where_no_saw_leans_the_fence_leans_in_by_the_bevel_and_passes_take_off_its_depth(lean, over):
    """Square to the cut the bevel is as deep as the board's thickness times the sine (by hand)."""
    setup = first(bevelled(lean, over=over), shop(UPRIGHT, JOINTER))
    assert (setup.machine, setup.operation, setup.surface_down) == ("jointer", "plane", "back edge")
    assert setup.surface_against == ("face" if over == "back" else "back")
    assert setup.tilt is not None
    assert setup.tilt.azimuth == 0.0
    assert math.degrees(setup.tilt.angle) == pytest.approx(lean)
    deep = THICK * math.sin(math.radians(lean))
    assert setup.passes * setup.pass_depth == pytest.approx(deep)
    assert deep / 3.0 <= setup.passes < deep / 3.0 + 1.0


def test_a_saw_that_leans_away_from_the_fence_comes_first():
    both = shop(replace(UPRIGHT, bevel_left=45.0), JOINTER)
    assert first(bevelled(20.0), both).machine == "table saw"
    assert {w.setups[0].machine for w in ways(bevelled(20.0), both)} == {"table saw", "jointer"}


def test_a_fence_that_does_not_lean_so_far_leaves_the_edge_to_what_does():
    shy = replace(JOINTER, bevel_left=15.0, bevel_right=15.0)
    assert first(bevelled(15.0), shop(UPRIGHT, shy)).machine == "jointer"
    (way, *_) = ways(bevelled(16.0), shop(UPRIGHT, shy))
    assert way.setups[0].machine == "table saw"
    assert way.beyond == ("the table saw leans 0 degrees to the left and this cut needs 16.0",)


def test_what_is_too_wide_for_the_cutters_or_more_than_five_passes_is_not_planed():
    planed = {w.setups[0].machine for w in ways(bevelled(40.0), shop(UPRIGHT, replace(JOINTER, width=26.0)))}
    assert "jointer" not in planed  # 20 / cos 40 is 26.1
    fine = replace(JOINTER, height=2.0)
    assert "jointer" in {w.setups[0].machine for w in ways(bevelled(29.9), shop(UPRIGHT, fine))}
    assert "jointer" not in {w.setups[0].machine for w in ways(bevelled(30.1), shop(UPRIGHT, fine))}


def test_end_grain_and_tapers_are_not_run_over_it():
    """Two school shop rules: never joint end grain (read)."""
    a = math.radians(20.0)
    end = Plane((math.cos(a), 0.0, math.sin(a)), 600.0 * math.cos(a))
    taper = Plane((math.sin(0.05), math.cos(0.05), 0.0), WIDTH * math.cos(0.05))
    for plane in (end, taper):
        found = ways(board(LENGTH, WIDTH, THICK, cut("end", 1, [plane])), shop(UPRIGHT, JOINTER))
        assert "jointer" not in {w.setups[0].machine for w in found}


def test_the_fence_leans_out_only_where_nothing_else_serves_and_then_it_is_said():
    """Of a board that has lost its back: it is the face alone that stands at the fence, and the bevel falls away."""
    member = bevelled(20.0, over="face")
    ((work, feature),) = cuts_of(member)
    out = [
        w.setups[0] for w in plane_ways(work, feature, shop(JOINTER)) if w.setups[0].surface_against == "face"
    ]
    (setup,) = out
    assert setup.tilt is not None
    assert setup.tilt.azimuth == math.pi
    assert "fence leans out" in risks_of(setup, member, SMALL_SHOP)
    assert "fence leans out" not in risks_of(first(member, shop(JOINTER)), member, SMALL_SHOP)


def test_short_and_low_pieces_are_told_at_the_jointer():
    """12 in: school shop rules (read); 3 in: common practice."""
    short = bevelled(20.0, length=250.0)
    assert "short piece" in risks_of(first(short, shop(UPRIGHT, JOINTER)), short, SMALL_SHOP)
    long = bevelled(20.0)
    setup = first(long, shop(UPRIGHT, JOINTER))
    assert not {"short piece", "narrow at jointer"} & set(risks_of(setup, long, SMALL_SHOP))
    low = board(LENGTH, 60.0, THICK)
    assert "narrow at jointer" in risks_of(setup, low, SMALL_SHOP)
