"""The simulated machine against records written by hand: what each number of a set-up is for, and what it costs to
leave one out.

Figures marked *measured* were found by an earlier throw-away spike of ours that shares no code with this machine; the
others are worked out beside them.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from simulated_forms import Flat, Round, Unclear
from simulated_machine import cut_forms, make_member
from simulated_work import Wood

BLANK = {"length": 700.0, "width": 90.0, "thickness": 38.0, "origin": [0.0, 0.0, 0.0]}
LEG: dict[str, Any] = {"mark": "A", "blank": BLANK, "drawn": None, "surfaces": []}
ARRISES = [(w, t) for w in (0.0, 90.0) for t in (0.0, 38.0)]
BASE: dict[str, Any] = {
    "index": 1, "sequence": 1, "member": "A", "hand": None, "feature": "end 1", "stage": "square",
    "operation": "crosscut", "machine": "mitre saw", "makes": ["end 1.1"], "frees": [["end 1.1"]], "goes_on": [],
    "tool": {"shape": "blade", "width": 0.0, "diameter": 254.0, "included": None, "radius": None},
    "cut_from": "above", "surface_down": "back", "surface_against": "back edge", "end_left": "A", "miter": 0.0,
    "bevel": 0.0, "tilt": None, "jig": None, "stop": None, "fence": None, "waste": "left", "width": None,
    "depth": None, "depth_from": None, "depth_at": [], "run": None, "path": [], "outline": None, "profile": [],
    "by_hand": None,
}  # fmt: skip


def record(**changes: Any) -> dict[str, Any]:
    return {**BASE, **changes}


def stop(distance: float, arris: tuple[str, str] = ("back", "back edge"), **more: Any) -> dict[str, Any]:
    return {
        "end": "A", "arris": list(arris), "distance": distance, "from": "A", "at": None, "point": None, "wall": None,
    } | more  # fmt: skip


def planes() -> dict[str, Any]:
    return dict(make_member(LEG, []).forms)


def cut(setup: dict[str, Any], other_hand: bool = False) -> dict[str, Any]:
    return cut_forms(setup, planes(), LEG, other_hand)


def along(flat: Any) -> np.ndarray:
    """Where a plane meets the four arrises of the leg, from end A."""
    assert isinstance(flat, Flat)
    return np.array(
        [(flat.offset - flat.normal[1] * w - flat.normal[2] * t) / flat.normal[0] for w, t in ARRISES]
    )


COMPOUND = record(miter=11.86, bevel=6.70, stop=stop(100.0))


def moved(**changes: Any) -> float:
    """How far the foot of the compound leg moves, at most, along its arrises."""
    exact, other = (along(cut(s)["end 1.1"]) for s in (COMPOUND, {**COMPOUND, **changes}))
    return float(np.abs(exact - other).max())


def test_a_compound_foot_is_where_a_rule_and_two_gauges_put_it():
    """A miter to the left, seen from above, carries the cut toward end B at the operator's edge; a bevel that leans
    the blade's top to the right does so at the face."""
    found = along(cut(COMPOUND)["end 1.1"])
    across, up = 90 * math.tan(math.radians(11.86)), 38 * math.tan(math.radians(6.70))
    up /= math.cos(math.radians(11.86))
    # edge/back, edge/face, back edge/back, back edge/face
    assert found == pytest.approx([100 + across, 100 + across + up, 100.0, 100 + up], abs=1e-9)


@pytest.mark.parametrize(
    ("changes", "error"),
    [
        # measured: miter 11.86, bevel 6.70, leg 90 x 38
        ({"bevel": -6.70}, 9.1),
        ({"miter": -11.86}, 37.8),
    ],
)
def test_a_sign_left_out_costs_what_was_measured(changes, error):
    assert moved(**changes) == pytest.approx(error, abs=0.05)


def test_a_stop_on_another_arris_costs_what_was_measured():
    """Measured: 14.3 mm, between the arrises of face and face edge and of back and back edge, where the two slopes
    work against each other."""
    against = {**COMPOUND, "bevel": -6.70}
    exact, other = (
        along(cut({**against, "stop": stop(100.0, arris)})["end 1.1"])
        for arris in (("face", "edge"), ("back", "back edge"))
    )
    assert float(np.abs(exact - other).max()) == pytest.approx(14.3, abs=0.05)


def test_the_wrong_face_down_costs_what_was_measured():
    """Measured: 37.8 mm. The same miter then runs the other way across the leg, the bevel as before up from the
    table; the piece is marked on the arris that lies down and at the fence."""
    turned = {**COMPOUND, "surface_down": "face", "end_left": "B", "waste": "right"}
    exact = along(cut(COMPOUND)["end 1.1"])
    other = along(cut({**turned, "stop": stop(100.0)})["end 1.1"])
    assert float(np.abs(exact - other).max()) == pytest.approx(37.8, abs=0.05)


def test_a_doubly_sloping_trench_lies_level_on_a_wedge_that_rises_one_way():
    """Slopes 4 degrees along and 3 across, each as its own view shows it, make one slope of atan(hypot(tan 4, tan 3)),
    turned about an axis 53.1 degrees from the fence (direction measured)."""
    a, b = (math.tan(math.radians(s)) for s in (4.0, 3.0))
    angle, azimuth = math.degrees(math.atan(math.hypot(a, b))), -math.degrees(math.atan2(a, b))
    assert azimuth == pytest.approx(-53.1, abs=0.05)
    # at the machine l runs right and w to the fence: deeper by a along the leg, by b toward the fence
    depths = [(300.0, 0.0, 10.0), (300.0, 90.0, 10.0 + 90 * b), (360.0, 0.0, 10.0 + 60 * a)]
    trench = record(
        operation="trench", machine="trenching head", makes=["x.1", "x.2", "x.3"], frees=[["x.1", "x.2", "x.3"]],
        tilt={"angle": angle, "azimuth": azimuth}, waste="between", width=60.0, depth=[0.0, 38.0], depth_from="face",
        depth_at=[[x, w, 38.0, d] for x, w, d in depths], stop=stop(300.0, ("face", "edge"), wall="near"),
    )  # fmt: skip
    found = cut(trench)
    bottoms = np.array([[x, w, 38.0 - d] for x, w, d in depths])
    assert np.abs(found["x.2"].off(bottoms)).max() < 1e-9
    assert found["x.1"].normal @ found["x.2"].normal == pytest.approx(0.0, abs=1e-12)
    assert found["x.1"].off(np.array([300.0, 0.0, 38.0])) == pytest.approx(0.0, abs=1e-9)
    for wrong in (-azimuth, azimuth + 180):
        other = cut({**trench, "tilt": {"angle": angle, "azimuth": wrong}})
        assert np.abs(other["x.2"].off(bottoms)).max() > 1.0
    flat = cut({**trench, "tilt": None})["x.2"].normal
    assert math.degrees(math.acos(float(flat @ found["x.2"].normal))) == pytest.approx(angle, abs=1e-9)


def test_a_bored_hole_runs_down_from_where_it_enters_and_its_floor_is_square_to_it():
    hole = record(
        operation="bore", machine="drill press", makes=["h.1", "h.2"], frees=[["h.1", "h.2"]], waste=None,
        tool={"shape": "drill", "diameter": 12.0, "width": None, "included": None, "radius": None},
        tilt={"angle": 10.0, "azimuth": 90.0}, depth=[20.0, 20.0], depth_from="face",
        depth_at=[[200.0, 45.0, 38.0, 20.0]], path=[[200.0, 45.0, 38.0]],
    )  # fmt: skip
    found = cut(hole)
    bore, floor = found["h.1"], found["h.2"]
    assert isinstance(bore, Round)
    # turned about an axis that points to the fence, the work's right side goes down and its own plumb leans left of
    # the drill, which so runs to the right in the work
    s, c = math.sin(math.radians(10)), math.cos(math.radians(10))
    assert bore.axis == pytest.approx([s, 0.0, -c])
    assert floor.off(bore.point + 20.0 * bore.axis) == pytest.approx(0.0, abs=1e-9)


def test_a_cut_without_its_stop_cannot_be_made():
    with pytest.raises(Unclear):
        cut(record(miter=10.0))


def test_the_other_hand_is_the_mirror_image_on_the_other_side_of_zero():
    """The same stop; miter and bevel on the other side of zero, waste on the other side of the blade."""
    other = cut({**COMPOUND, "miter": -11.86, "bevel": -6.70, "waste": "right"}, other_hand=True)
    assert along(other["end 1.1"]) == pytest.approx(along(cut(COMPOUND)["end 1.1"]), abs=1e-9)


def test_a_rip_runs_along_the_fence():
    rip = record(
        operation="rip", machine="table saw", makes=["bevel 1.1"], frees=[["bevel 1.1"]], miter=90.0, bevel=10.0,
        cut_from="below", waste="left", stop=stop(60.0, ("face", "A"), **{"from": "back edge"}),
    )  # fmt: skip
    plane = cut(rip)["bevel 1.1"]
    # 60 mm from the back edge on the face, and as the blade leans to the fence, farther from it at the back
    assert plane.off(np.array([[0.0, 30.0, 38.0], [700.0, 30.0, 38.0]])) == pytest.approx(
        [0.0, 0.0], abs=1e-9
    )
    lower = 30.0 - 38 * math.tan(math.radians(10.0))
    assert plane.off(np.array([[0.0, lower, 0.0]])) == pytest.approx([0.0], abs=1e-9)
    assert plane.normal[1] < 0


def test_a_work_that_lost_its_edge_cannot_stand_at_the_fence_with_it():
    rip = record(
        operation="rip", machine="table saw", makes=["bevel 1.1"], frees=[["bevel 1.1"]], miter=90.0,
        cut_from="below", waste="left", stop=stop(60.0, ("face", "A"), **{"from": "back edge", "at": [0, 30, 38]}),
    )  # fmt: skip
    cross = record(
        sequence=2, surface_against="edge", end_left="B", waste="right",
        stop=stop(10.0, at=[10, 90, 0]),
    )  # fmt: skip
    made = make_member(LEG, [rip, cross], work=Wood(BLANK))
    (problem,) = made.problems
    assert "nothing is left of edge" in problem
    wood = Wood(BLANK)
    assert not make_member(LEG, [rip], work=wood).problems
    assert wood.solid.volume() == pytest.approx(700 * 60 * 38)
