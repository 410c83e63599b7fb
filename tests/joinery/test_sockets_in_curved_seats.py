"""Round and taper tenons in seats sawn to a curve: the curve bounds the wood as any side does."""

import math

import pytest
from soundness import Tally, assert_sound
from workshop import build, findings_of

from plangen.tables.joint_rules import SOCKET_DEEPER

SMOOTH = (
    "outline: {points: [[0, 160], [60, 20], [200, 0], [340, 40], [400, 160], [330, 300], [200, 320], [60, 300]], "
    "smooth: yes}"
)
CORNERED = "outline: {points: [[0, 160], [60, 20], [340, 20], [400, 160], [200, 220], [60, 300]]}"
ROUNDED = "outline: {points: [[0, 0], [400, 0], [400, 320], [0, 320]], round: 90}"


def stool(outline: str, at: tuple[float, float], joint: str, lean: float = 12) -> str:
    return f"""title: Stool
units: mm
stock:
  seat board: {{ask for: elm, species: elm, width: 320, thickness: 45}}
  leg wood: {{ask for: ash, species: ash, width: 33, thickness: 33}}
lines:
  leg line:
    from: [{at[0]}, {at[1]}, 445]
    leans:
      - {{by: {lean} deg, toward: left, going: down, seen from: front}}
      - {{by: 8 deg, toward: front, going: down, seen from: right}}
members:
  seat:
    stock: seat board
    {outline}
    place: {{length: right, face: up, corner: [0, 0, 400]}}
  leg:
    stock: leg wood
    place: {{from: {{on: leg line, height: 0}}, to: {{on: leg line, at: -15}}}}
joints:
  - {{{joint}}}
"""


TAPER = "taper tenon: [leg, seat], diameter: 24"
ROUND = "round tenon: [leg, seat], diameter: 25"


@pytest.mark.parametrize("outline", [SMOOTH, CORNERED, ROUNDED])
@pytest.mark.parametrize("joint", [TAPER, ROUND])
def test_a_leg_stands_in_a_seat_of_any_outline(outline: str, joint: str) -> None:
    built = build(stool(outline, (120, 150), joint))
    assert [f for f in built.findings if f.level == "error"] == []
    assert_sound(built, Tally("sockets in curved seats"))


@pytest.mark.parametrize(
    ("outline", "at"), [(SMOOTH, (25.0, 200.0)), (CORNERED, (180.0, 215.0)), (ROUNDED, (30.0, 34.0))]
)
@pytest.mark.parametrize("joint", [TAPER, ROUND])
def test_a_socket_that_comes_out_of_a_curved_side_is_refused(
    outline: str, at: tuple[float, float], joint: str
) -> None:
    (finding,) = (f for f in findings_of(stool(outline, at, joint)) if f.level == "error")
    kind = joint.split(":")[0]
    assert finding.text == f'the {kind}: its socket breaks out of "seat" at the side'


def test_a_rail_that_comes_to_a_curved_side_has_its_tenon_from_the_curve_on() -> None:
    text = """title: Rail
units: mm
stock:
  seat board: {ask for: elm, species: elm, width: 320, thickness: 45}
  leg wood: {ask for: ash, species: ash}
members:
  seat:
    stock: seat board
    outline: {points: [[0, 0], [400, 0], [400, 320], [0, 320]], round: 160}
    place: {length: right, face: up, corner: [0, 0, 400]}
  rail:
    stock: leg wood
    diameter: 30
    place: {from: [-200, 160, 422.5], to: [50, 160, 422.5]}
joints:
  - {round tenon: [rail, seat], diameter: 16}
"""
    built = build(text)
    assert [f for f in built.findings if f.level == "error"] == []
    member, _ = built.instance("seat")
    # A hole of 16 mm from the arc of 160 mm to the rail's end at 50 mm and a little on; its mouth is bowed.
    bow = 160 - math.sqrt(160**2 - 8**2)
    deep = 50 + SOCKET_DEEPER.usual
    most, least = math.pi * 64 * deep, math.pi * 64 * (deep - bow)
    solid = build(text.split("joints:")[0]).member("seat").solid
    assert least < solid.volume - member.solid.volume < most
