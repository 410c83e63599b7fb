"""What the elevations and the cover state of a piece."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest
from worked_out import facts_of, given

from plangen.dimensioning.critical import critical_dimensions
from plangen.dimensioning.elevations import dimension_elevations
from plangen.units import MM_PER_INCH, Quantity

ROOT = Path(__file__).parents[2]
TRESTLE = (ROOT / "designs/splayed-trestle.yaml").read_text(encoding="utf-8")


@pytest.fixture(params=[TRESTLE], ids=["splayed-trestle"])
def trestle(request):
    return request.param


def figures(text, model_of):
    model, style = model_of(text)
    return dimension_elevations(model, style)


def test_every_figure_is_the_distance_or_angle_of_its_points(design_text, model_of):
    axes = {"front": (0, 2), "right": (1, 2), "left": (1, 2), "plan": (0, 1)}
    for f in figures(design_text, model_of):
        if f.kind == "linear":
            a, b = f.points
            d = sum((q - p) * c for p, q, c in zip(a, b, f.direction, strict=True))
            assert abs(d) == pytest.approx(f.value, abs=1e-6), f.what
        else:
            i, j = axes[f.view]
            apex, first, second = f.points
            a = math.atan2(first[j] - apex[j], first[i] - apex[i])
            b = math.atan2(second[j] - apex[j], second[i] - apex[i])
            assert math.degrees(abs(math.remainder(a - b, 2 * math.pi))) == pytest.approx(f.value, abs=1e-6)


def test_height_width_and_depth_are_stated_once_each(design_text, model_of):
    whats = [f.what for f in figures(design_text, model_of)]
    for what in ("overall height", "overall width", "overall depth"):
        assert whats.count(what) == 1


def test_ids_tell_the_figures_apart(design_text, model_of):
    ids = [f.id for f in figures(design_text, model_of)]
    assert len(ids) == len(set(ids))


def test_the_trestle_leans_as_its_design_says(trestle, model_of):
    leans = {f.view: f for f in figures(trestle, model_of) if f.kind == "angular"}
    assert leans["front"].value == pytest.approx(10)
    assert leans["right"].value == pytest.approx(14)
    assert leans["front"].printed == "10°"


@given("splayed-trestle")
def test_the_trestle_stands_as_high_as_its_design_says_and_its_stretcher_clears_the_floor(path):
    facts = facts_of(path)
    by_what = {f.what: f for f in facts.elevation_figures}
    assert by_what["overall height"].printed == "30"
    assert by_what["overall width"].printed == "(36)", "the beam's own length is on the beam's sheet"
    assert by_what["underside of the stretcher above the floor"].printed == "9"


def test_the_feet_spread_by_the_lean_over_the_height(trestle, model_of):
    """The leg's outer edge starts at the beam's top, 8 in from its end, and leans 10 degrees over 30 in; the
    toes of a leg 3 1/2 in wide lie where that line meets the floor."""
    by_what = {f.what: f for f in figures(trestle, model_of)}
    spread = by_what["spread at the feet, left to right"]
    at_the_top = 36 - 2 * 8
    run = 2 * 30 * math.tan(math.radians(10))
    assert spread.value / 25.4 == pytest.approx(at_the_top + run, abs=0.35), (
        "the inner faces lie 14 degrees askew"
    )


def test_the_cover_has_three_to_six_dimensions_that_matter(design_text, model_of):
    model, style = model_of(design_text)
    found = critical_dimensions(model, style, dimension_elevations(model, style))
    assert 1 <= len(found) <= 6
    assert len({what for what, _, _ in found}) == len(found)


def test_what_the_designer_lists_is_what_the_cover_says(trestle, model_of):
    model, style = model_of(trestle)
    said = (
        ("height of the beam", Quantity(30 * MM_PER_INCH, "length")),
        ("splay", Quantity(Fraction(14), "angle")),
    )
    found = critical_dimensions(model, style, (), said)
    assert found == (("height of the beam", "30", 762.0), ("splay", "14°", 14.0))


LADDER = """title: Ladder
units: mm
stock:
  batten: {ask for: 32 x 70 larch, thickness: 32, width: 70}
  slat: {ask for: 20 x 32 larch, thickness: 20, width: 32}
planes: {front: {through point: [0, 0, 0], square to: front}}
members:
  stile:
    stock: batten
    length: 1800
    taper: {on: back edge, at end A: 70, at end B: 40}
    place:
      length: up
      face: {flush with: front}
      edge: {flush with: {through point: [250, 0, 0], square to: right}}
      end A: {flush with: {level at: 0, facing: down}}
    copies: {mirror: left to right}
  rung:
    stock: slat
    place:
      length: right
      face: {flush with: {shift: front, by: 6}}
      edge: {flush with: {level at: 120, facing: down}}
    trim:
      left: {shift: stile left.outer, by: -15}
      right: {shift: stile right.outer, by: -15}
    copies: {repeat: {count: 9, spacing: 190, going: up}}
joints:
  - {housing: [rung, stile]}
"""


def test_of_more_rungs_than_a_chain_can_hold_the_lowest_and_the_highest_are_placed(model_of):
    heights = [f.value for f in figures(LADDER, model_of) if f.what.startswith("underside")]
    assert heights == pytest.approx([120, 120 + 8 * 190])


def test_feet_side_by_side_in_one_plane_have_no_spread_from_front_to_rear(model_of):
    assert not [f.what for f in figures(LADDER, model_of) if f.what == "spread at the feet, front to rear"]


def test_a_stopped_housing_under_a_taper_ends_at_a_distance_from_the_face_edge(sheet_of):
    stile = sheet_of(LADDER, "stile")
    ends = [f for f in stile.figures.figures if f.kind == "linear" and abs(f.value - 15) < 1e-6]
    assert len(ends) == 1
    assert all(abs(f.value - 53) > 0.5 for f in stile.figures.figures if f.kind == "linear")
