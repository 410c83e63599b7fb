"""Every cut of plane surfaces in every design: its numbers give the wood back, and name only what is there."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from cut_boards import assert_makes, cuts_of
from workshop import build_file

from plangen.machining.plane_ways import plane_ways
from plangen.tables.machines import SMALL_SHOP

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(
    p
    for folder in ("designs", "tests/designs", "tests/designs/joints")
    for p in (ROOT / folder).glob("*.yaml")
)


@cache
def all_cuts():
    """(design, work, feature, ways) of every feature whose surfaces are all planes, in every design."""
    return [
        (path.stem, work, feature, plane_ways(work, feature, SMALL_SHOP))
        for path in DESIGNS
        for member in build_file(path).model.members
        for work, feature in cuts_of(member)
    ]


def through_cuts():
    return [(w, f, ways) for _, w, f, ways in all_cuts() if len(f.surfaces) == 1]


def pieces():
    return [c for c in all_cuts() if len(c[2].surfaces) > 1]


def test_every_plane_of_every_design_comes_back_from_the_numbers_of_each_of_its_ways():
    assert len(through_cuts()) > 80
    for work, feature, ways in through_cuts():
        for way in ways:
            assert_makes(work, feature, way)


def test_what_lies_down_is_steady_and_no_wood_stands_past_it():
    for work, _, ways in through_cuts():
        for setup in (s for w in ways for s in w.setups if s.by_hand is None and s.jig != "cradle"):
            seat = work.seat(work.planes()[setup.surface_down])
            assert seat.steady
            assert seat.clear


def test_only_what_is_fitted_on_the_work_is_left_to_the_hand():
    for _, feature, ways in through_cuts():
        assert any(s.by_hand for w in ways for s in w.setups) == (feature.stage == "on the work")


def test_the_small_shop_reaches_every_through_cut_of_the_designs():
    beyond = [(f.id, w.beyond) for _, f, ways in through_cuts() for w in ways if w.beyond]
    assert beyond == []


def test_every_piece_of_waste_in_every_design_comes_back_from_the_numbers():
    assert len(pieces()) > 100
    for _, work, feature, ways in pieces():
        for way in ways:
            assert_makes(work, feature, way)


def test_what_is_left_to_the_hand_in_the_workshops_designs_has_a_corner_or_a_wall_that_no_machine_makes():
    kept = {
        (design, f.kind, s.by_hand)
        for design, _, f, ways in pieces()
        for s in ways[0].setups
        if s.by_hand is not None and (ROOT / f"designs/{design}.yaml").exists()
    }
    reasons = {kind: reason for _, kind, reason in sorted(kept)}
    assert "half lap" not in reasons
    assert "tenon" not in reasons
    assert "fingers" not in reasons
    assert reasons["kerf"] == "wedge slot"
    assert reasons["groove"] == "square inside corner"


def test_the_work_lies_on_what_is_there_when_the_feature_is_cut_as_well():
    for _, work, feature, ways in pieces():
        after = work.after(feature)
        for setup in ways[0].setups[:-1]:
            if setup.by_hand is None and setup.jig != "cradle" and len(feature.cutters) > 1:
                seat = after.seat(work.planes()[setup.surface_down])
                assert seat.area > 0.0
                assert seat.steady


def test_no_head_or_bit_is_wider_than_its_trench_and_its_passes_fill_it():
    for _, _, _, ways in pieces():
        for setup in (s for s in ways[0].setups if s.tool is not None and s.width is not None):
            assert setup.tool.width <= setup.width + 1e-3
            assert setup.passes * setup.tool.width >= setup.width - 1e-3
