"""Metal that a later cutter would meet, heads under a router's base, and fasteners no tool can turn."""

from __future__ import annotations

import pytest
from workshop import findings_of


def frame(fastener: str, cuts: str = "", more: str = "") -> str:
    """Two sides and a bar lapped over their ends, 20 thick, the top at 300."""
    return f"""title: Frame
units: mm
stock:
  board: {{ask for: ash, species: ash, width: 80, thickness: 20}}
planes:
  deck top: {{through point: [0, 0, 300], square to: up}}
  rear wall: {{through point: [0, 500, 0], square to: rear}}
  front wall: {{through point: [0, 0, 0], square to: front}}
members:
  side:
    stock: board
    place: {{length: rear, face: {{flush with: deck top}},
      edge: {{flush with: {{shift: centre plane, by: -200}}}}}}
    trim: {{front end: front wall, rear end: rear wall}}
    copies: {{mirror: left to right}}
  bar:
    stock: board
    place: {{length: right, face: {{flush with: deck top}}, edge: {{flush with: front wall}}}}
    trim: {{left end: side left.left, right end: side right.right}}
{more}
joints:
  - {{corner lap: [side, bar], over: first}}
fasteners:
  - {fastener}
assemblies:
  frame:
    of: [side, bar]
    glue: wood glue
{cuts}
"""


BOLT = "{bolt: M6 x 30 coach bolt, through: [side, bar], from: top}"
SCREW = "{screw: 4 x 16, through: side, into: bar, from: top}"
TRIM = "    cuts: [{trim: {through point: [0, 0, 290], square to: up}}]"
REBATE = "    cuts: [{rebate: [side left.right, side right.left, bar.rear], sunk from: deck top, width: 8, depth: 8}]"


def rules(text: str) -> list[str]:
    return [f.rule for f in findings_of(text) if f.rule in ("metal in the way", "base not clear", "reach")]


def test_a_bolt_put_in_before_the_glued_frame_is_planed_down_meets_the_plane() -> None:
    assert "metal in the way" in rules(frame(BOLT, TRIM))


def test_the_same_bolt_put_in_after_assembly_meets_nothing() -> None:
    late = BOLT.replace("from: top", "from: top, when: assembled")
    assert "metal in the way" not in rules(frame(late, TRIM))


def test_a_head_that_stands_proud_bars_the_routers_base() -> None:
    assert "base not clear" in rules(frame(BOLT, REBATE))


def test_a_sunk_head_lets_the_base_pass() -> None:
    sunk = BOLT.replace("from: top", "from: top, counterbore: {diameter: 22, depth: 6}")
    assert "base not clear" not in rules(frame(sunk, REBATE))


@pytest.mark.parametrize(("height", "is_barred"), [(320, True), (540, True), (545, False)])
def test_a_driver_needs_room_in_line_with_the_screw(height: int, is_barred: bool) -> None:
    """Bit 60 and tool 180 over the head (common practice): 240 of clear height, and half a millimetre."""
    shelf = f"""
  shelf:
    stock: board
    place: {{length: right, back: {{flush with: {{through point: [0, 0, {height}], square to: down}}}},
      edge: {{flush with: front wall}}}}
    trim: {{left end: side left.left, right end: side right.right}}
"""
    found = [f for f in findings_of(frame(SCREW, more=shelf)) if f.rule == "reach"]
    assert bool(found) == is_barred
    assert all("shelf" in f.members for f in found)
