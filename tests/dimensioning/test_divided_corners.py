"""Sheets of members that are mitred, scarfed, bridled or lapped: complete, and nothing said twice."""

from pathlib import Path

import pytest

from plangen.dimensioning.proof import prove

JOINTS = Path(__file__).parents[1] / "designs" / "joints"
KINDS = [
    "birdsmouth",
    "bridle",
    "dovetail-lap",
    "edge-glue",
    "edge-lap",
    "mitre",
    "scarf",
    "tongue-and-groove",
]

RING = """title: Ring
units: mm
stock:
  stave wood: {{ask for: cedar, species: western red cedar, width: {wide}, thickness: 15}}
planes:
  wall:
    through line: {{from: [0, -300, 0], going: right}}
    lean: {{by: {lean} deg, toward: front, measured: from plumb}}
members:
  stave:
    stock: stave wood
    length: {long}
    place: {place}
    copies: {{around: {{count: {count}, about: {{from: [0, 0, 0], going: up}}}}}}
joints:
  - {{mitre: [stave, stave], spline: 4}}
"""
PLANK = (
    "{face: {flush with: wall}, edge: {along: {meet: [wall, floor], going: right}}, middle: [centre plane]}"
)
STAVE = "{length: up, face: {flush with: wall}, middle: [centre plane], end A: {against: floor}}"
RINGS = [
    RING.format(wide=100, long=1500, lean=12, count=3, place=PLANK),
    RING.format(wide=100, long=520, lean=12, count=6, place=PLANK),
    RING.format(wide=130, long=400, lean=0, count=16, place=STAVE),
]


@pytest.mark.parametrize("text", [(JOINTS / f"{k}.yaml").read_text() for k in KINDS] + RINGS)
def test_every_sheet_is_complete_and_says_nothing_twice(text, sheets_of, model_of):
    style = model_of(text)[1]
    for member, figures in sheets_of(text):
        proof = prove(member, figures, style)
        assert (proof.undetermined, proof.redundant) == ((), ()), member.name
        assert proof.drift < 3.0, member.name


def test_a_spline_is_drawn_as_it_goes_in_and_trimmed_afterwards(sheet_of):
    sheet = sheet_of((JOINTS / "mitre.yaml").read_text(), "spline")
    assert sheet.member.is_plain
    first, *_ = sheet.member.notes
    assert first == "Grain across the joint; trim the ends flush with the work once it is glued."


def test_a_mitre_is_the_end_of_its_member(sheet_of):
    """Its slope stands at the end, and the length runs to it."""
    sheet = sheet_of((JOINTS / "mitre.yaml").read_text(), "side")
    assert any(f.kind == "angular" and f.feature == "mitre 1" for f in sheet.figures.figures)
    assert any(f.tier == "overall" for f in sheet.figures.figures)
