"""Sentences of the assembly sheets and notes of the part sheets, held to the solid and to the other sheets."""

from __future__ import annotations

from itertools import product
from math import radians, tan
from pathlib import Path

from shapely import MultiPoint
from worked_out import facts_of, given

from plangen.assembling.checking import distances
from plangen.drawing.step_sheets import _adds, _apart_text
from plangen.geometry.surfaces import Plane


@given("splayed-trestle")
def test_the_spread_of_the_feet_reads_alike_on_elevation_and_assembly_sheet(path: Path):
    facts = facts_of(path)
    told = [_apart_text(facts, a) for s in facts.assembling.steps for a in distances(s, facts.model)]
    legs = next(t for t in told if t.startswith("Leg"))
    toe = 10 + 30 * tan(radians(10))  # from the middle: 8 in from the beam's end at its top, leaning 10 deg
    (printed,) = {f.printed for f in facts.elevation_figures if abs(f.value - 50.8 * toe) < 1e-3}
    assert f"{printed} in" in legs


@given("splayed-trestle", "flared-planter")
def test_the_side_of_a_bevelled_part_that_is_called_the_larger_is_the_wider(path: Path):
    checked = 0
    facts = facts_of(path)
    sheets = {f.mark: f for f in facts.figures}
    for member in facts.model.members:
        notes = (
            [n for n in sheets[member.mark].notes if "is the larger" in n] if member.mark in sheets else []
        )
        if not notes:
            continue
        thick = member.finished[2]
        back, face = (_outline(member.solid.vertices, t) for t in (0.0, thick))
        assert ("face side" if face > back else "back") in notes[0], (member.name, back, face)
        checked += 1
    assert checked


def _outline(vertices, t: float) -> float:
    """Area within the corners in the back (t = 0) or in the face side, whatever is cut into it."""
    return float(MultiPoint([v[:2] for v in vertices.tolist() if abs(v[2] - t) < 1e-6]).convex_hull.area)


@given("potting-bench")
def test_no_wall_of_a_cut_on_an_assembly_stands_off_the_part(path: Path):
    """The far side of an opening is nobody's wall: a set-up for it would stop a yard beyond the work."""
    seen = 0
    for member in facts_of(path).model.members:
        low, size = member.blank.origin, member.blank.size
        corners = [
            (low[0] + a * size[0], low[1] + b * size[1], low[2] + c * size[2])
            for a, b, c in product((0.0, 1.0), repeat=3)
        ]
        for surface in (
            s for f in member.features if f.kind == "rebate" and f.stage == "glued" for s in f.surfaces
        ):
            assert isinstance(surface.form, Plane)
            assert min(surface.form.distance(c) for c in corners) < 0, (member.name, surface.id)
            seen += 1
    assert seen > 8


@given("flared-planter")
def test_two_copies_are_measured_from_outside_to_outside_and_one_of_several_by_its_own_name(path: Path):
    facts = facts_of(path)
    told = [_apart_text(facts, a) for s in facts.assembling.steps for a in distances(s, facts.model)]
    # the runners' faces stand 5 in from the middle; one corner and its like are 8 1/2 apart, and that is neither
    assert any(t.startswith("Runner: 10 in over both") for t in told), told
    added = [_adds(facts, s) for s in facts.assembling.steps]
    assert added[0].startswith("To B side 2 add D bottom."), added
    assert not any("side 2 and side 6" in a for a in added), added


@given("flared-planter")
def test_a_hole_square_to_the_back_is_called_so_though_it_enters_by_a_slope(path: Path):
    """The sill's face is sawn to 15 degrees; its screws run level, square to the back that lies on the table."""
    facts = facts_of(path)
    (sill,) = (m for m in facts.model.members if m.name == "sill")
    notes = [f.printed for s in facts.figures if s.mark == sill.mark for f in s.figures if "Ø" in f.printed]
    assert any(n.endswith("THRU, SQUARE TO BACK") for n in notes), notes
    assert not any("LEANS" in n for n in notes), notes
