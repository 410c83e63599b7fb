"""Finger joints: an odd number of equal fingers, open at the ends, closing too between panels that splay."""

import pytest
from brep_kernel import kernel_volume
from workshop import build, common, findings_of, kernel_bodies

from plangen.geometry.clash import union_volume
from plangen.geometry.contact import contact_area

BOX = """title: Box
units: mm
stock:
  ply: {{ask for: 9 mm birch plywood, thickness: 9}}
planes:
  left out:
    through line: {{from: [-100, 0, 0], going: rear}}
    lean: {{by: {splay} deg, toward: left, going: up, measured: from plumb}}
  front out:
    through line: {{from: [0, -80, 0], going: right}}
    lean: {{by: {splay} deg, toward: front, going: up, measured: from plumb}}
  rear out:
    through line: {{from: [0, 80, 0], going: right}}
    lean: {{by: {splay} deg, toward: rear, going: up, measured: from plumb}}
  right out:
    through line: {{from: [100, 0, 0], going: rear}}
    lean: {{by: {splay} deg, toward: right, going: up, measured: from plumb}}
members:
  side:
    stock: ply
    place: {{length: right, face: {{flush with: front out}}}}
    trim: {{end A: left out, end B: right out, bottom: floor, top: {{level at: 126}}}}
    copies: {{mirror: front to back}}
  end:
    stock: ply
    place: {{length: front, face: {{flush with: left out}}}}
    trim: {{front end: front out, rear end: rear out, bottom: floor, top: {{level at: 126}}}}
    copies: {{mirror: left to right}}
joints:
  - {{finger joint: [side, end], finger: 18{more}}}
"""


def box(splay=0, more=""):
    return BOX.format(splay=splay, more=more)


@pytest.mark.parametrize("splay", [0, 8, 20])
def test_fingers_close_without_loss_or_clash_between_panels_that_splay(splay):
    built = build(box(splay))
    assert [str(f) for f in built.findings] == []
    bodies = kernel_bodies(built)
    members = [(m.solid, i.frame) for m in built.model.members for i in m.instances]
    corner = kernel_volume(common(bodies["side front"], bodies["end left"]))
    whole = sum(kernel_volume(b) for b in bodies.values()) - 4 * corner
    assert union_volume(members) == pytest.approx(whole, rel=1e-9)
    assert sum(s.volume for s, _ in members) == pytest.approx(whole, rel=1e-9)


def test_seven_fingers_of_eighteen_fill_a_corner_of_126():
    built = build(box())
    side, end = built.member("side front"), built.member("end left")
    # The first keeps the fingers at both ends: four of its own, three of the other's, at each of two corners.
    assert 200 * 126 * 9 - side.solid.volume == pytest.approx(2 * 3 * 18 * 9 * 9)
    assert 160 * 126 * 9 - end.solid.volume == pytest.approx(2 * 4 * 18 * 9 * 9)


def test_an_even_number_asked_for_becomes_odd():
    built = build(box().replace("finger: 18", "finger: 21"))
    # 126 / 21 is 6; 7 fingers of 18 are nearer to 21 than 5 of 25.2.
    assert [len(f.cutters) for f in built.member("side front").features if f.kind == "fingers"] == [3, 3]


def test_the_allowance_is_the_gap_over_both_sides_of_a_finger():
    built = build(box(more=", allowance: 0.2"))
    side = built.member("side front")
    # Slots 0.1 wider, fingers 0.1 narrower: 0.2 over both sides of each.
    assert 200 * 126 * 9 - side.solid.volume == pytest.approx(2 * 3 * 18.1 * 9 * 9)
    (a, ia), (b, ib) = built.instance("side front"), built.instance("end left")
    snug = contact_area(a.solid, ia.frame, b.solid, ib.frame, 0.1 + 1e-6)
    tight = contact_area(a.solid, ia.frame, b.solid, ib.frame, 0.05)
    assert snug > tight > 0  # the fingers' sides stand off, the shoulders still touch


def test_handed_panels_are_one_member_where_a_turn_makes_them_equal():
    built = build(box())
    assert [(m.name, m.quantity) for m in built.model.members] == [("side", 2), ("end", 2)]


def test_a_corner_too_short_for_three_fingers_is_refused():
    found = [f.text for f in findings_of(box().replace("finger: 18", "finger: 90"))]
    assert found == ["the finger joint: 126 mm of corner has room for less than three fingers of 90 mm"]
