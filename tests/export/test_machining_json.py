"""Set-ups in plan.json: every key, in its unit, and the same numbers wherever they are told."""

from __future__ import annotations

import json
import math
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from machining.round_rebuilding import piece
from worked_out import DESIGNS, facts_of

from plangen.export.machining_json import jig_facts, machining_facts, setting_facts, setup_facts
from plangen.export.plan_json import plan_json_bytes
from plangen.geometry.curves import Arc
from plangen.machining.setup import Jig, Machining, Setting, Setup, Spared, Stop, Tilt, Tool
from plangen.units import STYLES

FIXED = {
    "index", "sequence", "member", "hand", "feature", "makes", "operation", "machine", "tool", "cut_from",
    "surface_down", "surface_against", "end_left", "miter", "bevel", "tilt", "jig", "stop", "waste", "depth",
    "depth_from", "depth_at", "run", "path", "by_hand", "residue", "quantity",
}  # fmt: skip
"""Keys that every reader of plan.json may count on."""


@cache
def plan_of(path: Path) -> dict[str, Any]:
    """plan.json of the design, written and read once."""
    return json.loads(plan_json_bytes(facts_of(path), (), {}))


@pytest.fixture(params=DESIGNS, ids=lambda p: p.stem)
def plan(request: pytest.FixtureRequest) -> dict[str, Any]:
    return plan_of(request.param)


def test_every_set_up_has_every_fixed_key(plan: dict[str, Any]) -> None:
    for setup in plan["setups"]:
        assert set(setup) >= FIXED
        if setup["tool"] is not None:
            assert set(setup["tool"]) == {"shape", "width", "diameter", "included", "radius"}
        if setup["stop"] is not None:
            assert set(setup["stop"]) == {"end", "arris", "distance", "from", "at", "point", "wall"}


def test_set_ups_are_numbered_through_the_set_and_through_each_piece(plan: dict[str, Any]) -> None:
    assert [s["index"] for s in plan["setups"]] == list(range(1, len(plan["setups"]) + 1))
    for key in {(s["member"], s["hand"]) for s in plan["setups"]}:
        own = [s["sequence"] for s in plan["setups"] if (s["member"], s["hand"]) == key]
        assert own == list(range(1, len(own) + 1))


def test_each_surface_is_made_once_for_each_hand(plan: dict[str, Any]) -> None:
    for member in plan["members"]:
        if member["role"] == "bought":
            continue
        own = {s["id"] for s in member["surfaces"] if s["feature"] is not None}
        for hand in {i["hand"] for i in member["instances"]}:
            made = [
                i for s in plan["setups"] if (s["member"], s["hand"]) == (member["mark"], hand)
                for i in s["makes"]
            ]  # fmt: skip
            assert len(made) == len(set(made))
            assert own <= set(made), member["name"]


def test_quantities_come_to_the_pieces_of_the_member(plan: dict[str, Any]) -> None:
    for member in plan["members"]:
        own = [s for s in plan["setups"] if s["member"] == member["mark"]]
        for feature in {s["feature"] for s in own}:
            hands = {s["hand"]: s["quantity"] for s in own if s["feature"] == feature}
            assert sum(hands.values()) == member["quantity"]


def test_a_setting_has_the_angles_of_its_set_ups(plan: dict[str, Any]) -> None:
    by_index = {s["index"]: s for s in plan["setups"]}
    assert [s["index"] for s in plan["settings"]] == list(range(1, len(plan["settings"]) + 1))
    for setting in plan["settings"]:
        for setup in (by_index[i] for i in setting["setups"]):
            assert (setup["machine"], setup["jig"]) == (setting["machine"], setting["jig"])
            assert (setup["tool"] or {}) == pytest.approx(setting["tool"] or {}, abs=1e-5)
            for angle in ("miter", "bevel"):
                off = abs(setup[angle] - setting[angle])
                assert off <= 0.25
                assert setting["snap_error"] > 0 or off < 1e-6


def test_handed_pairs_are_cut_against_one_stop(plan: dict[str, Any]) -> None:
    for setup in plan["setups"]:
        if setup["hand"] != "left" or setup["stop"] is None:
            continue
        (other,) = [
            s for s in plan["setups"]
            if (s["member"], s["makes"], s["hand"]) == (setup["member"], setup["makes"], "right")
        ]  # fmt: skip
        assert other["stop"] == setup["stop"]
        # turned over on the carrier of the drawn hand, the other lies on its opposite face, the same end left
        turned_over = setup["surface_down"] != other["surface_down"]
        ends = {setup["end_left"], other["end_left"]}
        assert len(ends) == 1 if turned_over else ends in ({"A", "B"}, {None})


def test_what_it_comes_to_is_counted_from_the_set_ups(plan: dict[str, Any]) -> None:
    told = plan["machining"]
    assert sum(told["by_hand"].values()) == sum(s["by_hand"] is not None for s in plan["setups"])
    setting_of = {i: s["index"] for s in plan["settings"] for i in s["setups"]}
    shown = [setting_of[s["index"]] for s in plan["setups"] if s["index"] in setting_of]
    changes = sum(a != b for a, b in zip(shown, [None, *shown], strict=False))
    assert len(plan["settings"]) <= told["least_changes"] <= told["changes"] == changes


def test_radians_become_degrees_and_what_is_not_there_is_null() -> None:
    board = piece((600.0, 90.0, 40.0))
    setup = Setup(
        "A", "end 1", "shaped", "saw to line", "bandsaw", ("end 1.1",), (("end 1.1",),),
        tool=Tool("bit", diameter=10.0, included=math.radians(82)), miter=math.radians(-10),
        bevel=math.radians(1 / 3), tilt=Tilt(math.radians(5), math.radians(-53)),
        stop=Stop("A", ("face", "edge"), 12.3456789, "B", (1.0, 2.0, -0.0)),
        depth=(1.0, 2.0), depth_from="face", depth_at=(((1.0, 2.0, 3.0), 1.5),),
        outline=(Arc((0.0, 0.0), 5.0, 0.0, math.pi),),
        outline_frame=((1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
        alternative=(math.radians(30), math.radians(45)),
    )  # fmt: skip
    told = setup_facts(setup, board.blank.origin, STYLES["mm"])
    assert (told["miter"], told["bevel"]) == (-10.0, 0.333333333)
    assert told["tilt"] == {"angle": 5.0, "azimuth": -53.0}
    assert told["stop"]["distance"] == 12.3456789
    assert (told["stop"]["from"], math.copysign(1.0, told["stop"]["at"][2])) == ("B", 1.0)
    assert told["depth_at"] == [[1.0, 2.0, 3.0, 1.5]]
    assert told["tool"] == {"shape": "bit", "width": None, "diameter": 10.0, "included": 82.0, "radius": None}
    assert told["outline"]["curves"] == [
        {"kind": "arc", "points": [[6.0, 0.0, 0.0], [1.0, 5.0, 0.0], [-4.0, 0.0, 0.0]]}
    ]
    assert told["alternative"] == {"miter": 30.0, "bevel": 45.0}
    assert [told[k] for k in ("run", "path", "profile", "waste", "by_hand", "jig", "fence")] == [None] * 7


def test_settings_and_jigs_name_their_set_ups() -> None:
    tilt = Tilt(math.radians(3), math.radians(90))
    setting = Setting(1, "trenching head", None, 0.0, math.radians(2), tilt, "wedge 1", (3, 4), 0.05)
    assert setting_facts(setting) == {
        "index": 1, "machine": "trenching head", "tool": None, "miter": 0.0, "bevel": 2.0,
        "tilt": {"angle": 3.0, "azimuth": 90.0}, "jig": "wedge 1", "setups": [3, 4], "snap_error": 0.05,
    }  # fmt: skip
    jig = Jig("wedge 1", "wedge", "M", math.radians(3), math.radians(90), 5.2, 100.0, 40.0, (3, 4))
    assert jig_facts(jig) == {
        "name": "wedge 1", "kind": "wedge", "member": "M", "angle": 3.0, "azimuth": 90.0, "rise": 5.2,
        "length": 100.0, "width": 40.0, "beside": None, "offcut": None,
        "snap_error": 0.0, "for": [3, 4],
    }  # fmt: skip


def test_nothing_of_a_set_up_or_a_jig_is_left_out() -> None:
    """The outline brings its frame along."""
    told = setup_facts(
        Setup("A", "end 1", "shaped", "rip", "table saw", (), ()), (0.0, 0.0, 0.0), STYLES["mm"]
    )
    assert {f.name for f in fields(Setup)} - {"outline_frame"} == set(told) - {"printed"}
    jig = jig_facts(Jig("wedge 1", "wedge", "M", 0.1, 0.0, 5.0, 100.0, 40.0, ()))
    assert {f.name for f in fields(Jig)} - {"setups"} == set(jig) - {"for"}


def _planes(plan: dict[str, Any], mark: str) -> dict[str, tuple[list[float], float]]:
    """Normal and offset of every plane of a member by its id, the faces of its blank among them."""
    (member,) = (m for m in plan["members"] if m["mark"] == mark)
    box = member["blank"]
    size = (box["length"], box["width"], box["thickness"])
    found = {}
    for i, (low, high) in enumerate((("A", "B"), ("edge", "back edge"), ("back", "face"))):
        normal = [float(i == j) for j in range(3)]
        found[low] = ([-n for n in normal], -box["origin"][i])
        found[high] = (normal, box["origin"][i] + size[i])
    planes = (s for s in member["surfaces"] if s["kind"] == "plane")
    return {**found, **{s["id"]: (s["normal"], s["offset"]) for s in planes}}


def _dot(a: list[float], b: list[float]) -> float:
    return math.fsum(p * q for p, q in zip(a, b, strict=True))


def _off(plane: tuple[list[float], float], point: list[float]) -> float:
    return abs(_dot(plane[0], point) - plane[1])


def test_what_is_laid_out_by_hand_lies_where_it_is_said_to(plan: dict[str, Any]) -> None:
    """A line starts on its arris, on the cut, and runs in both face and cut, at its angle from the arris; marks on a
    rule err by what is told; a depth goes down from its surface at the side that it is told for."""
    known = {m["mark"]: _planes(plan, m["mark"]) for m in plan["members"]}
    for setup in plan["setups"]:
        planes = known[setup["member"]]
        for line in setup["layout"]["lines"]:
            cut, face, other = (planes[i] for i in (line["makes"], *line["arris"]))
            assert max(_off(p, line["at"]) for p in (cut, face, other)) < 1e-5
            assert max(abs(_dot(line["way"], p[0])) for p in (cut, face)) < 1e-9
            along = [face[0][i - 2] * other[0][i - 1] - face[0][i - 1] * other[0][i - 2] for i in range(3)]
            cosine = abs(_dot(along, line["way"])) / math.hypot(*along)
            assert math.cos(math.radians(line["angle"])) == pytest.approx(cosine, abs=1e-9)
            marks = line["marks"]
            wanted = line["angle"] if marks["from"] == "arris" else 90.0 - line["angle"]
            told = math.degrees(math.atan2(marks["rise"], marks["run"]))
            assert told - wanted == pytest.approx(marks["error"], abs=1e-6)
        for depth in setup["layout"]["depths"]:
            top, side = planes[setup["depth_from"]], planes[depth["on"]]
            assert _off(top, depth["at"]) < 1e-5
            bottom = [p - depth["depth"] * n for p, n in zip(depth["at"], top[0], strict=True)]
            assert _off(side, bottom) < 1e-5
            assert depth["wall"] is None or _off(planes[depth["wall"]], bottom) < 1e-5


def test_what_is_spared_and_beyond_is_told_in_words() -> None:
    spared = Spared("B", "notch 1", "taper 1", "notch 1 before taper 1: no wedge")
    told = machining_facts(Machining(spared=(spared,), beyond=("leg: too long",), changes=3, least_changes=2))
    assert told == {
        "changes": 3, "least_changes": 2, "by_hand": {}, "beyond": ["leg: too long"],
        "spared": [{"member": "B", "feature": "notch 1", "before": "taper 1", "text": spared.text, "offcut": False}],
    }  # fmt: skip
