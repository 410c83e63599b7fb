"""Every member of the designs, cut from plan.json's set-ups alone by a machine that knows nothing of plangen."""

from __future__ import annotations

import math
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from cut_plans import JOINTS, SHOPS, CutPlan, plan_of_file
from simulated_machine import HAND_REASONS, cut_forms, make_member, setups_of
from simulated_proof import (
    as_printed,
    corner_points,
    corners_of,
    drift,
    far_from,
    mutations,
    replayed,
    told_apart,
    widths_leave,
)
from simulated_work import Wood
from worked_out import DESIGNS

IDEAL = 1e-6
"""Millimetres."""
PLANAR = 1e-7
"""Share of a volume that lengths written to 1e-6 may cost a small piece."""
FACETED = 1e-5
"""Share of a volume that facets of round surfaces may cost."""


@pytest.fixture(scope="module", params=[*DESIGNS, *JOINTS, *SHOPS], ids=lambda p: p.stem)
def plan(request: pytest.FixtureRequest) -> CutPlan:
    path: Path = request.param
    return plan_of_file(path)


def is_planar(member):
    return all(s["kind"] == "plane" for s in member["surfaces"])


def written(surface):
    """Half a step of each of the numbers that describe a published round surface: point and radius."""
    return 0.0 if surface["kind"] == "plane" else 1e-6


def own_surfaces(member):
    return [s for s in member["surfaces"] if s["feature"] is not None]


def test_the_set_ups_alone_make_every_member(plan, hand_cuts):
    """Every surface where it belongs, nothing lies on what is not there, all of the waste falls and no more."""
    for member in plan.made():
        for hand in plan.hands(member):
            wood = Wood(member["blank"])
            made = make_member(member, plan.setups, hand, wood)
            where = (member["mark"], hand)
            assert made.problems == [], where
            own = own_surfaces(member)
            assert [s["id"] for s in own if s["id"] not in made.forms] == [], where
            off = {s["id"]: far_from(made.forms[s["id"]], s, member["blank"]) - written(s) for s in own}
            assert {i: d for i, d in off.items() if d > IDEAL} == {}, where
            assert set(made.frees) == {tuple(c) for f in member["features"] for c in f["cutters"]}, where
            bound = PLANAR if is_planar(member) else FACETED
            assert wood.solid.volume() == pytest.approx(member["volume"], rel=bound), where
            assert wood.area() == pytest.approx(member["area"], rel=10 * bound), where
            size = max(wood.size)
            assert wood.centroid() == pytest.approx(member["centroid"], abs=10 * bound * size + IDEAL), where
            assert {reason for _, reason in made.by_hand} <= set(HAND_REASONS)
            hand_cuts.update(reason for _, reason in made.by_hand)


def drawn_setups(plan, member):
    return setups_of(plan.setups, member["mark"], member["drawn"])


def test_figures_as_printed_move_no_corner_farther_than_their_steps_can(plan):
    """The sum over the figures of how far half a step of each moves the corner, found by trying; a tenth more, since a
    corner does not move quite evenly with an angle."""
    for member in plan.made():
        wood = Wood(member["blank"])
        forms = make_member(member, plan.setups, member["drawn"], wood).forms
        setups = drawn_setups(plan, member)
        corners = corners_of(wood.corners(), forms)
        if not corners:
            continue
        printed = {
            i: as_printed(s, member["blank"]["origin"]) for i, s in enumerate(setups) if not s["by_hand"]
        }
        there = corner_points(corners, replayed(setups, forms, member, printed, False))
        moved = np.linalg.norm(there - corner_points(corners, forms), axis=1)
        bound = drift(setups, forms, member, plan.step, corners, False)
        for corner, by, most in zip(corners, moved, bound, strict=True):
            assert by <= 1.1 * most + IDEAL, (member["mark"], corner)


def test_a_figure_or_surface_read_wrong_is_seen(plan):
    """A sign, a surface, an arris, a stop: each wrong reading cuts elsewhere or contradicts the rest of the record."""
    for member in plan.made():
        for hand in plan.hands(member):
            other = hand != member["drawn"]
            forms = dict(make_member(member, [], hand).forms)
            for setup in setups_of(plan.setups, member["mark"], hand):
                if setup["by_hand"] is None and setup["makes"]:
                    for what, wrong, excuse in mutations(setup):
                        seen = told_apart(setup, wrong, forms, member, other)
                        assert seen or excuse, (setup["index"], member["mark"], setup["feature"], what)
                forms |= cut_forms(setup, forms, member, other)


def test_each_set_up_is_needed(plan):
    """Without any one of them a surface is missing."""
    for member in plan.made():
        wanted = Counter(s["id"] for s in own_surfaces(member))
        for hand in plan.hands(member):
            setups = setups_of(plan.setups, member["mark"], hand)
            made = Counter(i for s in setups for i in s["makes"])
            assert made == wanted, (member["mark"], hand)


def test_what_a_real_tool_leaves_is_told(plan):
    """No more than its width can leave; and where a kerf dips below its floor, that to the last figure."""
    for member in plan.made():
        forms = make_member(member, plan.setups, member["drawn"]).forms
        for setup in drawn_setups(plan, member):
            least, most = widths_leave(setup, forms, member)
            told = setup["residue"]
            assert least - IDEAL <= told <= most + IDEAL, (setup["index"], setup["residue_note"])
            assert told == 0.0 or setup["residue_note"], setup["index"]
            if told < 0.0:
                assert told == pytest.approx(least, abs=IDEAL)


def test_a_setting_is_near_all_that_it_serves_and_its_error_is_told(plan):
    """Within a quarter of a degree of each of its set-ups; every cut of a saw has its setting."""
    by_index = {s["index"]: s for s in plan.setups}
    served = Counter(i for setting in plan.settings for i in setting["setups"])
    assert set(served) <= set(by_index)
    assert set(served.values()) <= {1}
    blades = [i for i, s in by_index.items() if s["machine"] in ("mitre saw", "table saw", "trenching head")]
    assert set(blades) <= set(served)
    for setting in plan.settings:
        for setup in (by_index[i] for i in setting["setups"]):
            assert setup["machine"] == setting["machine"]
            off = max(abs(setup[angle] - setting[angle]) for angle in ("miter", "bevel"))
            assert off <= 0.25 + 1e-9
            assert setting["snap_error"] > 0.0 or off < 1e-6


def assert_is_the_offcut(plan, piece, jig):
    """What falls at an earlier cut of the same piece lies between a face of its blank and one plane, as steep as the
    wedge; it is no longer or broader than that face lets it be."""
    (cut,) = (f for f in piece["features"] if f["id"] == jig["offcut"])
    (surface,) = (s for s in piece["surfaces"] if s["id"] in cut["surfaces"])
    sizes = {1: piece["blank"]["width"], 2: piece["blank"]["thickness"]}
    leans = {i: math.degrees(math.acos(min(1.0, abs(surface["normal"][i])))) for i in sizes}
    (across,) = (sizes[3 - i] for i in sizes if abs(leans[i] - jig["angle"]) < 1e-6)
    assert 0.0 < jig["length"] < across
    assert 0.0 < jig["width"] <= piece["blank"]["length"]
    for user in (s for s in plan.setups if s["index"] in jig["for"]):
        own = [s for s in plan.setups if (s["feature"], s["member"]) == (jig["offcut"], piece["mark"])]
        assert all(s["sequence"] < user["sequence"] for s in own if s["hand"] == user["hand"])


def test_a_jig_lies_as_its_set_ups_tilt(plan):
    """A wedge is as steep as the work is tilted, in that direction; its rise is its length times the tangent."""
    by_index = {s["index"]: s for s in plan.setups}
    names = {j["name"] for j in plan.jigs}
    assert {s["jig"] for s in plan.setups if s["jig"]} <= names | {None}
    for setup in plan.setups:
        if setup["tilt"] is not None and setup["machine"] not in ("drill press", "bandsaw", "jointer"):
            assert setup["jig"] in names, (setup["index"], "a tilt and nothing to lie on")
    for jig in plan.jigs:
        (piece,) = (m for m in plan.members if m["mark"] == jig["member"])
        assert (piece["role"] == "jig") == (jig["offcut"] is None)
        if jig["offcut"] is not None:
            assert_is_the_offcut(plan, piece, jig)
        if jig["kind"] in ("wedge", "angle block"):
            assert jig["rise"] == pytest.approx(
                jig["length"] * math.tan(math.radians(jig["angle"])), abs=1e-4
            )
            for tilt in (by_index[i]["tilt"] for i in jig["for"]):
                assert tilt["angle"] == pytest.approx(jig["angle"], abs=0.25)
                assert math.cos(math.radians(tilt["azimuth"] - jig["azimuth"])) > 1 - 1e-4
