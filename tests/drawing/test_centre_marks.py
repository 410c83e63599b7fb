"""Centres that the compasses are set on bear a cross."""

from __future__ import annotations

import math

from worked_out import facts_of, given, sheets_of

from plangen.drawing.marks import Stroke
from plangen.geometry.curves import Line


def crosses(sheet):
    """Middles of the short thin lines that halve each other squarely."""
    lines = [
        m.curves[0] for m in sheet.marks
        if isinstance(m, Stroke) and m.use == "narrow" and len(m.curves) == 1 and isinstance(m.curves[0], Line)
    ]  # fmt: skip
    level = [line for line in lines if abs(line.start[1] - line.end[1]) < 1e-9]
    upright = [line for line in lines if abs(line.start[0] - line.end[0]) < 1e-9]
    return [a.at(0.5) for a in level for b in upright if math.dist(a.at(0.5), b.at(0.5)) < 1e-6]


@given("tool-tote", "garden-gate")
def test_the_centre_of_an_arc_that_is_told_and_lies_in_the_view_bears_a_cross(path):
    """Of the tote's divider three arcs; not the gate's rail, whose centre lies 1.9 m below it."""
    facts = facts_of(path)
    found = 0
    for sheet in sheets_of(path):
        for figures in facts.figures:
            member = next(m for m in facts.bench.members if m.mark == figures.mark)
            where = [v for v in sheet.views if v.name == "face"]
            if not where or sheet.kind != "part" or sheet.members != (figures.mark,):
                continue
            (x, y), k = where[0].origin, where[0].scale
            radii = [f for f in figures.figures if f.view == "face" and f.kind == "radius" and not f.said_by]
            for centre in {tuple(round(c, 6) for c in f.points[0]) for f in radii}:
                at = (x + centre[0] * k, y + centre[1] * k)
                inside = 0 < centre[0] < member.finished[0] and 0 < centre[1] < member.finished[1]
                assert any(math.dist(at, c) < 1e-3 for c in crosses(sheet)) == inside, (member.name, centre)
                found += inside
    assert found == (2 if path.stem == "tool-tote" else 0)
