"""Every member of the designs, cut from plan.json's set-ups alone by a machine that knows nothing of plangen."""

from __future__ import annotations

import functools
from collections import Counter

import numpy as np
import pytest
from cut_plans import CRUEL, JOINTS, WORKSHOP, CutPlan, plan_of_file
from simulated_machine import HAND_REASONS, make_member, setups_of
from simulated_proof import (
    as_printed,
    corner_points,
    corners_of,
    drift,
    far_from,
    mutations,
    replayed,
    told_apart,
)
from simulated_work import Wood

DESIGNS = [*WORKSHOP, *CRUEL, *JOINTS]
IDEAL = 1e-6
"""Millimetres."""
FACETED = 2e-5
"""Share of a volume that facets of round surfaces may cost."""


@functools.lru_cache(maxsize=4)
def plan(path) -> CutPlan:
    return plan_of_file(path)


def made_by(path):
    """Each member and hand of a design, with what the machine made of it and the wood it left."""
    read = plan(path)
    for member in read.made():
        for hand in read.hands(member):
            wood = Wood(member["blank"])
            yield member, hand, make_member(member, read.setups, hand, wood), wood


def is_planar(member) -> bool:
    return all(s["kind"] == "plane" for s in member["surfaces"])


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_the_set_ups_alone_make_every_member(path, record_property):
    """Every surface where it belongs, nothing lies on what is not there, all of the waste falls and no more."""
    reasons: Counter[str] = Counter()
    for member, hand, made, wood in made_by(path):
        assert made.problems == []
        where = (member["mark"], hand)
        own = [s for s in member["surfaces"] if s["feature"] is not None]
        assert sorted(s["id"] for s in own if s["id"] not in made.forms) == [], where
        off = {s["id"]: far_from(made.forms[s["id"]], s, member["blank"]) for s in own}
        assert max(off.values(), default=0.0) <= IDEAL, (where, {i: d for i, d in off.items() if d > IDEAL})
        assert set(made.frees) == {tuple(c) for f in member["features"] for c in f["cutters"]}, where
        bound = 1e-8 if is_planar(member) else FACETED
        assert wood.solid.volume() == pytest.approx(member["volume"], rel=bound), where
        assert wood.solid.surface_area() == pytest.approx(member["area"], rel=10 * bound), where
        centre = np.abs(wood.centroid() - member["centroid"]).max()
        assert centre <= (1e-5 if is_planar(member) else FACETED * max(wood.size)), where
        reasons.update(reason for _, reason in made.by_hand)
    assert set(reasons) <= set(HAND_REASONS)
    record_property("cuts by hand", sorted(reasons.items()))


def drawn_setups(read, member):
    return setups_of(read.setups, member["mark"], member["drawn"])


@pytest.mark.parametrize("path", WORKSHOP, ids=lambda p: p.stem)
def test_figures_as_printed_move_no_corner_farther_than_their_steps_can(path, record_property):
    """The sum over the figures of how far half a step of each moves the corner, found by trying."""
    worst = 0.0
    read = plan(path)
    for member in read.made():
        wood = Wood(member["blank"])
        made = make_member(member, read.setups, member["drawn"], wood)
        setups = drawn_setups(read, member)
        corners = corners_of(wood.corners(), made.forms)
        if not corners:
            continue
        rounded = {
            i: as_printed(s, member["blank"]["origin"]) for i, s in enumerate(setups) if not s["by_hand"]
        }
        there = corner_points(corners, replayed(setups, made.forms, member, rounded, False))
        moved = np.linalg.norm(there - corner_points(corners, made.forms), axis=1)
        least = drift(setups, made.forms, member, read.step, corners, False)
        for corner, by, bound in zip(corners, moved, least, strict=True):
            assert by <= 1.05 * bound + IDEAL, (member["mark"], corner)
        worst = max(worst, float(moved.max()))
    record_property("drift as printed, mm", round(worst, 3))


@pytest.mark.parametrize("path", [*WORKSHOP, *CRUEL[:8]], ids=lambda p: p.stem)
def test_a_figure_or_surface_read_wrong_is_seen(path, record_property):
    """A sign, a surface, an arris, a stop: each wrong reading cuts elsewhere or contradicts the rest of the record."""
    seen: Counter[str] = Counter()
    read = plan(path)
    for member in read.made():
        for hand in read.hands(member):
            other = hand != member["drawn"]
            forms = dict(make_member(member, [], hand).forms)
            for setup in setups_of(read.setups, member["mark"], hand):
                if setup["by_hand"] is None and setup["makes"]:
                    for what, wrong, excuse in mutations(setup):
                        told = told_apart(setup, wrong, forms, member, other)
                        assert told or excuse, (setup["index"], member["mark"], setup["feature"], what)
                        seen[told or excuse] += 1
                forms.update(make_member(member, [setup], hand).forms if setup["by_hand"] else {})
                forms = _after(setup, forms, member, other)
    record_property("wrong readings", sorted(seen.items()))


def _after(setup, forms, member, other):
    from simulated_machine import cut_forms

    return {**forms, **cut_forms(setup, forms, member, other)}


@pytest.mark.parametrize("path", WORKSHOP, ids=lambda p: p.stem)
def test_each_set_up_is_needed(path):
    """Without any one of them a surface is missing, or a later cut finds nothing to lie on or measure from."""
    read = plan(path)
    for member in read.made():
        wanted = {s["id"] for s in member["surfaces"] if s["feature"] is not None}
        setups = drawn_setups(read, member)
        for setup in setups:
            if setup["makes"]:
                made = make_member(member, [s for s in setups if s is not setup], member["drawn"])
                assert wanted - set(made.forms), (member["mark"], setup["feature"])
