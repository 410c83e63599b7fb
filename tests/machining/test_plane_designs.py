"""Every cut of plane surfaces in every design: its numbers give the wood back, and name only what is there."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest
from cut_boards import assert_makes, cuts_of
from worked_out import piece_of

from plangen.machining.plane_ways import plane_ways
from plangen.tables.machines import SMALL_SHOP

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(
    p
    for folder in ("designs", "tests/designs", "tests/designs/joints")
    for p in (ROOT / folder).glob("*.yaml")
)


every_design = pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)


@lru_cache(maxsize=2)
def cuts_in(path):
    """(work, feature, ways) of every feature of a design whose surfaces are all planes."""
    return [
        (work, feature, plane_ways(work, feature, SMALL_SHOP))
        for member in piece_of(path).members
        for work, feature in cuts_of(member)
    ]


def through_cuts(path):
    return [c for c in cuts_in(path) if len(c[1].surfaces) == 1]


def pieces(path):
    return [c for c in cuts_in(path) if len(c[1].surfaces) > 1]


@every_design
def test_every_plane_comes_back_from_the_numbers_of_each_of_its_ways(path):
    for work, feature, ways in cuts_in(path):
        assert ways
        for way in ways:
            assert_makes(work, feature, way)


@every_design
def test_what_lies_down_is_steady_and_no_wood_stands_past_it(path):
    for work, _, ways in through_cuts(path):
        for setup in (s for w in ways for s in w.setups if s.by_hand is None and s.jig != "cradle"):
            seat = work.seat(work.planes()[setup.surface_down])
            assert seat.steady
            assert seat.clear


@every_design
def test_only_what_is_fitted_on_the_work_is_left_to_the_hand(path):
    for _, feature, ways in through_cuts(path):
        assert any(s.by_hand for w in ways for s in w.setups) == (feature.stage == "on the work")


@every_design
def test_the_small_shop_reaches_every_through_cut(path):
    assert [(f.id, w.beyond) for _, f, ways in through_cuts(path) for w in ways if w.beyond] == []


@pytest.mark.parametrize(
    ("stem", "kind", "reason"),
    [
        ("splayed-trestle", "half lap", None),
        ("potting-bench", "half lap", None),
        ("garden-gate", "tenon", None),
        ("tool-tote", "fingers", None),
        ("three-leg-stool", "kerf", "wedge slot"),
        ("tool-tote", "groove", "square inside corner"),
    ],
    ids=lambda v: v,
)
def test_only_a_corner_or_a_wall_that_no_machine_makes_is_left_to_the_hand(stem, kind, reason):
    cuts = [(f, ways) for _, f, ways in pieces(ROOT / f"designs/{stem}.yaml") if f.kind == kind]
    assert cuts
    assert {s.by_hand for _, ways in cuts for s in ways[0].setups} - {None} == ({reason} - {None})


@every_design
def test_the_work_lies_on_what_is_there_when_the_feature_is_cut_as_well(path):
    for work, feature, ways in pieces(path):
        after = work.after(feature)
        for setup in ways[0].setups[:-1]:
            if setup.by_hand is None and setup.jig != "cradle" and len(feature.cutters) > 1:
                seat = after.seat(work.planes()[setup.surface_down])
                assert seat.area > 0.0
                assert seat.steady


@every_design
def test_no_head_or_bit_is_wider_than_its_trench_and_its_passes_fill_it(path):
    for _, _, ways in pieces(path):
        for setup in (s for s in ways[0].setups if s.tool is not None and s.width is not None):
            assert setup.tool.width <= setup.width + 1e-3
            assert setup.passes * setup.tool.width >= setup.width - 1e-3
