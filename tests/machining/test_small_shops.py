"""Small designs that show what no larger one needs: near settings made one, an offcut that is the wedge already."""

from __future__ import annotations

import numpy as np
import pytest
from cut_plans import SHOPS, CutPlan, plan_of, plan_of_file
from setup_paper import SetupPaper
from simulated_machine import make_member, setups_of
from simulated_proof import corner_points, corners_of, replayed
from simulated_work import Wood
from worked_out import facts_of, sheets_of

PEA_FENCE, SILL = (next(p for p in SHOPS if p.stem == name) for name in ("near-settings", "offcut-wedge"))


def most_moved(plan: CutPlan) -> float:
    """Millimetres that the farthest corner of any piece is off when each set-up is cut at its setting's own angles, the
    stops where they are."""
    setting_of = {i: s for s in plan.settings for i in s["setups"]}
    most = 0.0
    for member in plan.made():
        wood = Wood(member["blank"])
        forms = make_member(member, plan.setups, member["drawn"], wood).forms
        corners = corners_of(wood.corners(), forms)
        setups = setups_of(plan.setups, member["mark"], member["drawn"])
        angles = ("miter", "bevel", "tilt")
        as_set = {
            n: {**s, **{a: setting_of[s["index"]][a] for a in angles}}
            for n, s in enumerate(setups)
            if s["index"] in setting_of
        }
        there = corner_points(corners, replayed(setups, forms, member, as_set, False))
        most = max(most, float(np.linalg.norm(there - corner_points(corners, forms), axis=1).max()))
    return most


def test_slats_that_lean_nearly_alike_are_cut_at_one_round_setting_and_its_error_is_told_and_kept() -> None:
    """Leans of 10.04, 10.1 and 9.97 degrees at 10: 0.1 degree over a 30 mm slat is 30 / cos(10)^2 x 0.00175 = 0.054."""
    plan = plan_of_file(PEA_FENCE)
    (setting,) = (s for s in plan.settings if s["machine"] == "mitre saw")
    assert (abs(setting["miter"]), len(setting["setups"])) == (10.0, 6)
    assert setting["snap_error"] == pytest.approx(
        30.0 / np.cos(np.radians(10.0)) ** 2 * np.radians(0.1), rel=5e-3
    )
    assert most_moved(plan) == pytest.approx(setting["snap_error"], abs=2e-6)


def test_the_sheet_tells_what_near_settings_cost_and_each_cut_s_own_angle() -> None:
    text = SetupPaper.of(facts_of(PEA_FENCE), sheets_of(PEA_FENCE)).text
    assert text.settings[1]["Near"] == "settings made one; it moves the work by 0.1 mm at most"
    own = {cut["fields"].get("Exactly", "") for cut in text.cuts.values()}
    assert own == {"", "swing handle 10.1° left"}


def test_the_piece_sawn_off_the_top_of_a_sill_is_the_wedge_for_its_housing() -> None:
    """8 degrees over 60 mm, less a kerf of 3 mm: 60 - 3 / sin 8 is 38.44 long and rises 5.40 (by hand)."""
    plan = plan_of_file(SILL)
    (jig,) = plan.jigs
    assert {m["role"] for m in plan.members} == {"work"}
    assert (jig["kind"], jig["member"], jig["offcut"], jig["for"]) == ("wedge", "A", "bevel 1", [2])
    assert (jig["angle"], jig["width"]) == (pytest.approx(8.0), pytest.approx(500.0))
    assert jig["length"] == pytest.approx(60.0 - 3.0 / np.sin(np.radians(8.0)))
    assert jig["rise"] == pytest.approx(5.403, abs=1e-3)
    (spared,) = plan.machining["spared"]
    assert spared["offcut"]


def test_where_the_wedge_falls_it_is_said_to_keep_it_and_where_it_is_used_it_is_named() -> None:
    paper = SetupPaper.of(facts_of(SILL), sheets_of(SILL))
    assert paper.text.cuts[1]["fields"]["Keep"] == "the offcut, the wedge for cut 2"
    assert paper.cuts[1]["keep"] == [2]
    assert paper.cuts[2]["jig"] == "offcut of A bevel 1"
    assert "Keep" not in paper.text.cuts[2]["fields"]


def test_an_offcut_too_narrow_to_lie_on_is_no_wedge_and_one_is_made() -> None:
    """Weathered from 4 mm under its top the sill gives (4 - 3) / sin 8 = 7 mm of a wedge to 60 mm of work."""
    narrow = SILL.read_text().replace("from: [0, 0, up], going", "from: [0, 0, up + 6], going")
    plan = plan_of(narrow)
    assert plan.machining["spared"] == []
    assert [(j["kind"], j["offcut"]) for j in plan.jigs] == [("wedge", None)]
    assert plan.jigs[0]["member"] == "J1"
