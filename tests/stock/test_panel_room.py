"""A panel in a frame's grooves has the room that it needs, or it is said how much it lacks."""

from plangen.facts import plan_facts
from plangen.tables.moisture import MOVEMENT, USUAL_AIR, equilibrium_moisture

FRAME = """
title: A panel in its grooves
units: mm
let: {wide: 300, tongue: 10}
planes:
  front: {through point: [0, 0, 0], square to: front}
members:
  stile left:
    stock: 32 x 45 mm larch
    length: 500
    place: {length: up, face: {flush with: front}, end A: {at: floor},
      back edge: {flush with: {through point: [-wide / 2 - 45, 0, 0], square to: left}}}
  stile right:
    stock: 32 x 45 mm larch
    length: 500
    place: {length: up, face: {flush with: front}, end A: {at: floor},
      edge: {flush with: {through point: [wide / 2 + 45, 0, 0], square to: right}}}
  panel:
    stock: STOCK
    thickness: 9
    width: wide + 2 * tongue
    length: 400
    place: {length: up, face: {flush with: {shift: front, by: -12}}, end A: {at: {level at: 50}},
      edge: {flush with: {through point: [wide / 2 + tongue, 0, 0], square to: right}}}
joints:
  - {groove: [panel, stile left], thickness: 5, gap: GAP}
  - {groove: [panel, stile right], thickness: 5, gap: GAP}
"""


def _warnings(stock: str, gap: float) -> list[str]:
    text = FRAME.replace("STOCK", stock).replace("GAP", str(gap))
    facts, findings = plan_facts(text.encode(), "panel.yaml")
    assert facts is not None, "\n".join(map(str, findings))
    return [str(f) for f in findings if f.rule == "movement"]


def test_a_panel_that_fills_its_grooves_is_told_of_with_the_gap_it_needs() -> None:
    dry, damp = (equilibrium_moisture(h, 21) for h in (USUAL_AIR.driest, USUAL_AIR.dampest))
    # The panel is 320 mm wide; a gap of 0.5 mm is left below the tongue in each groove.
    moves = 320 * MOVEMENT["oak"].tangential * (damp - dry)
    (said,) = _warnings("20 oak", 0.5)
    assert f"moves {moves:.1f} mm" in said
    assert "leave it 1.0 mm" in said
    assert f"a gap of {moves / 2:.1f} mm on each side" in said


def test_half_its_movement_on_each_side_is_room_enough() -> None:
    assert _warnings("20 oak", 4) == []


def test_plywood_fills_its_grooves_in_peace() -> None:
    assert _warnings("9 mm birch plywood", 0.5) == []
