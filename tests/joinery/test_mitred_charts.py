"""Printed saw settings against members that a mitre joint has cut: nothing here but the joint chooses the angle.

The designs say where two boards stand and ``mitre``; mitre and bevel are read off the surfaces of the cut member.
"""

import csv
import math
from pathlib import Path

import pytest
from workshop import build

from plangen.geometry.surfaces import Plane

CHART = Path(__file__).parents[1] / "placing" / "compound_mitre_chart.csv"

CROWN = [
    # spring from the wall, corner, mitre, bevel: a mitre-saw manual's crown section, pp. 24-25 (read); 33.85 is
    # printed there cut short of 33.863
    (38, 90, 31.62, 33.85),
    # the same manual's chart of four sides at pitch 45 (read)
    (45, 90, 35.26, 30.0),
    # trade crown charts (from memory)
    (38, 90, 31.62, 33.86),
    (52, 90, 38.24, 25.81),
    (38, 135, 14.31, 17.55),
    (45, 135, 16.32, 15.70),
    (38, 120, 19.57, 23.20),
    (45, 120, 22.21, 20.70),
    (38, 67.5, 42.66, 40.93),
    (45, 67.5, 46.62, 36.01),
]


def corner(pitch, angle):
    """Two boards whose faces rise at ``pitch`` from the level and whose lower edges meet at ``angle`` in plan; both
    run on past the corner, which looks to the front."""
    planes, members = [], []
    for name, turn, near, far in (
        ("left board", -(180 - angle) / 2, 180, -400),
        ("right board", (180 - angle) / 2, -180, 400),
    ):
        cos, sin = f"cos({turn:g} deg)", f"sin({turn:g} deg)"
        along, out = f"[{cos}, {sin}, 0]", f"sin({pitch:g} deg)"
        planes.append(
            f"  {name} wall: {{through point: [0, 0, 0],"
            f" square to: [{out} * {sin}, -{out} * {cos}, cos({pitch:g} deg)]}}\n"
        )
        starts, ends = sorted((near, far))
        members.append(
            f"""  {name}:
    stock: board
    place: {{face: {{flush with: {name} wall}}, edge: {{along: {{from: [0, 0, 0], going: {along}}}}}}}
    trim:
      end A: {{through point: [{starts} * {cos}, {starts} * {sin}, 0], square to: {along}}}
      end B: {{through point: [{ends} * {cos}, {ends} * {sin}, 0], square to: {along}}}
"""
        )
    return (
        "title: Corner\nunits: mm\n"
        "stock:\n  board: {ask for: larch, species: larch, width: 70, thickness: 12}\n"
        f"planes:\n{''.join(planes)}members:\n{''.join(members)}"
        "joints:\n  - {mitre: [left board, right board]}\n"
    )


def settings_of(built, name):
    """Mitre on the face and tilt of the blade, degrees from square, of the one plane the joint cut."""
    feature = built.feature(name, "mitre")
    (plane,) = [s.form for s in feature.surfaces if isinstance(s.form, Plane)]
    along, across, out = plane.normal
    return abs(math.degrees(math.atan(across / along))), abs(math.degrees(math.asin(out)))


@pytest.mark.parametrize(("spring", "angle", "mitre", "bevel"), CROWN)
def test_a_crown_cut_flat_has_the_settings_of_the_trades_charts(spring, angle, mitre, bevel):
    """Lying on its back, a moulding that leans ``spring`` from the wall is a board at pitch 90 - spring."""
    built = build(corner(90 - spring, angle))
    for name in ("left board", "right board"):
        found = settings_of(built, name)
        assert found[0] == pytest.approx(mitre, abs=0.006)
        assert found[1] == pytest.approx(bevel, abs=0.014)


def printed():
    lines = [line for line in CHART.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    found = {}
    for row in csv.DictReader(lines):
        found.setdefault((int(row["sides"]), float(row["pitch"])), {})[row["setting"]] = float(row["printed"])
    return found


@pytest.mark.parametrize(
    ("sides", "pitch"), [key for key in printed() if 0 < key[1] < 90 and key[0] in (4, 5, 6, 8, 10)]
)
def test_a_ring_of_mitred_sides_is_cut_as_the_printed_chart_says(sides, pitch):
    """One side written, the ring and the mitres asked for in a word each (a mitre-saw manual's chart, p. 24, read)."""
    wall = f"[0, -sin({pitch} deg), cos({pitch} deg)]"
    built = build(
        f"""title: Ring
units: mm
stock:
  board: {{ask for: larch, species: larch, width: 60, thickness: 10}}
members:
  side:
    stock: board
    length: 2 * (300 + 60 * cos({pitch} deg)) * tan({180 / sides:g} deg) + 40
    place:
      face: {{flush with: {{through point: [0, -300, 0], square to: {wall}}}}}
      edge: {{along: {{from: [0, -300, 0], going: right}}}}
      middle: [centre plane]
    copies: {{around: {{count: {sides}, about: {{from: [0, 0, 0], going: up}}}}}}
joints:
  - {{mitre: [side, side]}}
"""
    )
    (member,) = built.model.members
    assert member.quantity == sides
    planes = {s.id: s.form for f in member.features if f.kind == "mitre" for s in f.surfaces}
    assert len(planes) == 2
    for plane in planes.values():
        along, across, out = plane.normal
        found = {
            "mitre": abs(math.degrees(math.atan(across / along))),
            "bevel": abs(math.degrees(math.asin(out))),
        }
        for setting, degrees in printed()[sides, pitch].items():
            assert found[setting] == pytest.approx(degrees, abs=0.006)
