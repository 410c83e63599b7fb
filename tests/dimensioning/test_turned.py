"""What a turner's sheet states: diameters for the callipers, places for the story stick, leans of the ends."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from plangen.dimensioning.proof import prove
from plangen.units import STYLES

TEXT = (Path(__file__).parents[1] / "designs/turned-parts.yaml").read_text(encoding="utf-8")


@pytest.fixture
def sheet(sheet_of):
    return lambda name: sheet_of(TEXT, name)


def of_kind(sheet, kind):
    return [f for f in sheet.figures.figures if f.kind == kind and not f.said_by]


@pytest.mark.parametrize("name", ["baluster", "leaning leg", "bored post"])
def test_the_sheet_is_complete_says_nothing_twice_and_keeps_its_rounding(sheet, name):
    found = sheet(name)
    proof = prove(found.member, found.figures, STYLES["mm"])
    assert proof.undetermined == ()
    assert proof.redundant == ()
    assert proof.drift <= 0.75


@pytest.mark.parametrize("name", ["baluster", "leaning leg", "bored post"])
def test_a_sheet_with_one_figure_less_is_found_out(sheet, name):
    found = sheet(name)
    for left_out in (f for f in found.figures.figures if not f.reference):
        rest = tuple(f for f in found.figures.figures if f.id != left_out.id)
        less = type(found.figures)(**{**vars(found.figures), "figures": rest})
        assert prove(found.member, less, STYLES["mm"]).undetermined, left_out.id


def test_every_stretch_has_its_diameter_and_every_change_its_place_from_end_a(sheet):
    baluster = sheet("baluster")
    diameters = [f.printed for f in of_kind(baluster, "diameter")]
    assert sorted(diameters) == sorted(["Ø 16", "Ø 28", "Ø 36", "Ø 44", "(Ø 16)", "Ø 30", "Ø 24"])
    places = [f.value for f in of_kind(baluster, "linear") if f.tier == "position"]
    assert places == pytest.approx([30, 45, 60, 180, 200, 320])


def test_diameters_are_those_of_the_profile_where_they_point(sheet):
    """Read off the profile as it is written, not off the surfaces."""
    profile = [(0, 16), (30, 16), (30, 28), (45, 28), (60, 36), (180, 36), (180, 44), (200, 44), (200, 30), (320, 24),
               (320, 16), (350, 16)]  # fmt: skip
    for figure in of_kind(sheet("baluster"), "diameter"):
        at = figure.points[0][0]
        spans = [(a, b) for a, b in pairwise(profile) if a[0] - 1e-6 <= at <= b[0] + 1e-6]
        read = [a[1] + (b[1] - a[1]) * (at - a[0]) / (b[0] - a[0]) for a, b in spans if b[0] > a[0]]
        assert any(abs(r - figure.value) < 1e-6 for r in read), (at, figure.value, read)


def test_an_end_that_leans_has_its_angle_with_the_axis(sheet):
    """The foot is level: it is out of square by the lean of the leg, tan2 = tan2 12 + tan2 4 (the resultant of two
    leans, chair-making practice)."""
    leg = sheet("leaning leg")
    resultant = math.atan(math.hypot(math.tan(math.radians(12)), math.tan(math.radians(4))))
    assert leg.figure("end A over diameter, angle").value == pytest.approx(90 - math.degrees(resultant))
    assert leg.sized("length").printed.endswith(" LONG POINTS")


def test_how_far_the_lean_of_one_end_is_turned_from_that_of_the_other_is_told(sheet):
    leg = sheet("leaning leg")
    # Each end's wood reaches farthest on the side that its normal turns away from.
    planes = {f.note: f.surfaces[0].form for f in leg.member.features if f.kind == "end"}
    leans = [math.atan2(p.normal[2], p.normal[1]) for p in planes.values()]
    turn = abs((math.degrees(leans[0] - leans[1]) + 180) % 360 - 180)
    assert leg.figure("end B turned").value == pytest.approx(turn)


def test_a_hole_across_has_its_distance_from_end_a_its_depth_and_its_lean(sheet):
    post = sheet("bored post")
    assert post.figure("hole 1 centre from end A").printed == "60"
    lean = math.degrees(math.atan(0.3))
    assert post.figure("hole 2 note").printed == f"Ø 10 x 18 DEEP, LEANS {lean:.1f}° TOWARD END B"


def test_a_round_piece_has_no_face_side_to_measure_from(sheet):
    for name in ("baluster", "leaning leg", "bored post"):
        assert sheet(name).figures.datum is None


def test_ends_are_sawn_aslant_after_turning(sheet):
    assert any("saw the ends aslant" in note for note in sheet("leaning leg").figures.notes)
    assert sheet("baluster").figures.notes == ()
