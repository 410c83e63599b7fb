"""Printed saw settings, and the boards that are cut by them: a corner of two, a ring of equal sides."""

from __future__ import annotations

import csv
from pathlib import Path

CHART = Path(__file__).parent / "placing" / "compound_mitre_chart.csv"

CROWN = [
    # spring from the wall, corner, mitre, bevel: a mitre-saw manual's crown section, pp. 24-25 (read); 33.85 is
    # printed there cut short of 33.863
    (38, 90, 31.62, 33.85),
    # the same manual's chart of four sides at pitch 45 (read)
    (45, 90, 35.26, 30.0),
    # trade crown charts (from memory)
    (52, 90, 38.24, 25.81),
    (38, 135, 14.31, 17.55),
    (45, 135, 16.32, 15.70),
    (38, 120, 19.57, 23.20),
    (45, 120, 22.21, 20.70),
    (38, 67.5, 42.66, 40.93),
    (45, 67.5, 46.62, 36.01),
]


def corner(pitch: float, angle: float, joint: str = "mitre") -> str:
    """Two boards whose faces rise at ``pitch`` from the level and whose lower edges meet at ``angle`` in plan;
    they run on past the corner, which looks to the front, but for a board that butts."""
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
        butted = joint == "butt" and name == "left board"
        end_b = (
            "right board.back"
            if butted
            else f"{{through point: [{ends} * {cos}, {ends} * {sin}, 0], square to: {along}}}"
        )
        members.append(
            f"""  {name}:
    stock: board
    place: {{face: {{flush with: {name} wall}}, edge: {{along: {{from: [0, 0, 0], going: {along}}}}}}}
    trim:
      end A: {{through point: [{starts} * {cos}, {starts} * {sin}, 0], square to: {along}}}
      end B: {end_b}
"""
        )
    return (
        "title: Corner\nunits: mm\n"
        "stock:\n  board: {ask for: larch, species: larch, width: 70, thickness: 12}\n"
        f"planes:\n{''.join(planes)}members:\n{''.join(members)}"
        f"joints:\n  - {{{joint}: [left board, right board]}}\n"
    )


def ring(sides: int, pitch: float) -> str:
    """Equal mitred sides on a regular plan: one written, the others copies of it."""
    wall = f"[0, -sin({pitch} deg), cos({pitch} deg)]"
    return f"""title: Ring
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


def printed_chart() -> dict[tuple[int, float], dict[str, float]]:
    """Settings in degrees by number of sides and pitch (a mitre-saw manual's chart, p. 24, read)."""
    lines = [line for line in CHART.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    found: dict[tuple[int, float], dict[str, float]] = {}
    for row in csv.DictReader(lines):
        found.setdefault((int(row["sides"]), float(row["pitch"])), {})[row["setting"]] = float(row["printed"])
    return found
