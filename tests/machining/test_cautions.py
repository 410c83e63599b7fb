"""The caution stands beside the cut that stays risky, and beside no other."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from workshop import build

from plangen.joinery.model import Member
from plangen.machining.cautions import leans_to_the_fence, risks_of
from plangen.machining.setup import Setup, Stop, Tilt, Tool
from plangen.tables.cut_cautions import CUT_CAUTIONS
from plangen.tables.machines import SMALL_SHOP


def board(length: float = 600.0, width: float = 90.0, thickness: float = 20.0) -> Member:
    return build(
        f"""title: Board
units: mm
stock:
  board: {{ask for: ash, species: ash, width: {width}, thickness: {thickness}}}
members:
  board: {{stock: board, length: {length}, place: {{length: right, face: {{against: {{level at: 20}}}},
    middle: [centre plane, depth plane]}}}}
"""
    ).member("board")


RIP = Setup(
    "A",
    "bevel 1",
    "shaped",
    "rip",
    "table saw",
    ("bevel 1",),
    (("bevel 1",),),
    tool=Tool("blade", 3.0, 254.0),
    miter=math.pi / 2,
    stop=Stop("A", ("A", "face"), 70.0, "edge", (0.0, 70.0, 20.0)),
    waste="right",
)
TRENCH = Setup(
    "A",
    "housing 1",
    "shaped",
    "trench",
    "trenching head",
    ("a", "b", "c"),
    (("a", "b", "c"),),
    tool=Tool("head", 12.0),
    surface_down="face",
    surface_against="edge",
    depth=(6.0, 6.0),
    depth_from="face",
    waste="between",
)


def test_a_plain_crosscut_of_a_long_board_carries_no_caution() -> None:
    plain = replace(RIP, operation="crosscut", machine="mitre saw", miter=0.0)
    assert risks_of(plain, board(), SMALL_SHOP) == ()


def test_a_piece_shorter_than_a_foot_is_cut_as_part_of_a_longer_one() -> None:
    """Rule of 12 and 3 (read)."""
    assert "short piece" in risks_of(TRENCH, board(200.0), SMALL_SHOP)
    assert "short piece" not in risks_of(TRENCH, board(304.8), SMALL_SHOP)


@pytest.mark.parametrize(
    ("miter", "bevel", "leans"), [(90, 10, True), (90, -10, False), (-90, 10, False), (-90, -10, True)]
)
def test_the_blades_top_leans_toward_the_fence_where_its_normal_points_that_way(miter, bevel, leans) -> None:
    """Plan of signs: at +90 the blade's right side looks at the fence, and bevel + leans the top to its right."""
    setup = replace(RIP, miter=math.radians(miter), bevel=math.radians(bevel))
    assert leans_to_the_fence(setup) == leans
    assert ("blade toward fence" in risks_of(setup, board(), SMALL_SHOP)) == leans


def test_a_rip_narrower_than_six_inches_wants_a_push_stick() -> None:
    """School shop audit (read)."""
    wide = replace(RIP, stop=replace(RIP.stop, distance=152.4))
    assert "narrow rip" in risks_of(RIP, board(), SMALL_SHOP)
    assert "narrow rip" not in risks_of(wide, board(width=200.0), SMALL_SHOP)


def test_a_trench_through_most_of_the_section_says_so() -> None:
    deep = replace(TRENCH, depth=(13.0, 14.0))
    assert "trench through most" in risks_of(deep, board(), SMALL_SHOP)
    assert "trench through most" not in risks_of(TRENCH, board(), SMALL_SHOP)


def test_end_grain_at_the_jointer_and_thin_stock_are_told() -> None:
    """School shop rules (read): never joint end grain; nothing thinner than 1/4 in."""
    end = replace(RIP, machine="jointer", operation="plane", stop=replace(RIP.stop, start="A"))
    assert {"end grain", "thin at jointer"} <= set(risks_of(end, board(thickness=6.0), SMALL_SHOP))


def test_boring_aslant_is_told_from_five_degrees_on() -> None:
    bore = replace(RIP, operation="bore", machine="drill press", stop=None)
    aslant = replace(bore, tilt=Tilt(math.radians(12), 0.0))
    assert risks_of(bore, board(), SMALL_SHOP) == ()
    assert risks_of(aslant, board(), SMALL_SHOP) == ("bored aslant",)


def test_a_taper_at_the_table_saw_rides_in_its_carrier() -> None:
    taper = replace(RIP, operation="taper", bevel=0.0)
    assert "tapering rip" in risks_of(taper, board(), SMALL_SHOP)
    assert "tapering rip" not in risks_of(RIP, board(), SMALL_SHOP)


def test_a_wedge_at_the_bandsaw_is_too_small_for_the_hand() -> None:
    saw = replace(RIP, operation="saw to line", machine="bandsaw", stop=None)
    assert risks_of(saw, board(length=90.0, width=30.0), SMALL_SHOP) == ("small at bandsaw",)
    assert risks_of(saw, board(length=160.0, width=30.0), SMALL_SHOP) == ()


def test_what_is_cut_once_the_parts_are_together_says_that_they_may_stand_in_the_way() -> None:
    assert "put together" in risks_of(replace(RIP, stage="glued"), board(), SMALL_SHOP)
    bored = replace(RIP, stage="glued", operation="bore", machine="drill press", stop=None)
    assert "put together" not in risks_of(bored, board(), SMALL_SHOP)


def test_work_by_hand_on_the_lathe_and_in_the_vise_carries_none_of_them() -> None:
    for machine in ("hand", "lathe", "vise"):
        assert risks_of(replace(TRENCH, machine=machine), board(100.0), SMALL_SHOP) == ()


def test_every_caution_is_worded_in_both_units_and_names_its_source() -> None:
    for caution in CUT_CAUTIONS.values():
        assert set(caution.texts) == {"in", "mm"}
        assert caution.source
        assert "mm" not in caution.texts["in"]
        assert "6 in" not in caution.texts["mm"]
