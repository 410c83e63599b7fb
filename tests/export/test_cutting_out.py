"""What a shop asks beside the true outline: room in joints, relief, tabs, the cutter's way, screws."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from dxf_reading import opened
from worked_out import ROOT, facts_of

from plangen.export.templates import TemplateSet, template_set
from plangen.geometry.contour_faults import contour_polygon, curve_length
from plangen.geometry.curves import Arc
from plangen.machining.template import Contour
from plangen.tables.cut_files import DEFAULT, CutFiles, FitPlay, HoldDown, Relief, Tabs

TOTE = ROOT / "designs" / "tool-tote.yaml"
GATE = ROOT / "designs" / "garden-gate.yaml"
BENCH = ROOT / "designs" / "potting-bench.yaml"


def on(*designs: Path) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("design", designs, ids=lambda p: p.stem)


def made(design: Path, cut: CutFiles, *marks: str) -> TemplateSet:
    bench = facts_of(design).bench
    return template_set(
        replace(bench, members=tuple(m for m in bench.members if not marks or m.mark in marks)), cut
    )


def outline(found: TemplateSet) -> Contour:
    return found.files[0].template.outline


def area(contour: Contour) -> float:
    return float(contour_polygon(contour.curves).area)


@on(TOTE)
def test_play_is_shared_by_both_sides_of_every_finger(design: Path) -> None:
    """Each slot grows by half the play, each finger shrinks by half: together the play, as fingers are measured."""
    plain, loose = (
        outline(made(design, cut, "A")) for cut in (DEFAULT, replace(DEFAULT, fit=FitPlay(fingers=0.4)))
    )
    at = shapely.LineString([(4.5, -10), (4.5, 200)])
    fingers = [at.intersection(contour_polygon(c.curves)).geoms for c in (plain, loose)]
    long = [[g.length for g in f] for f in fingers]
    middle = [b - a for a, b in zip(long[0][1:-1], long[1][1:-1], strict=True)]
    assert middle == pytest.approx([-0.2] * len(middle), abs=1e-6)
    box = [contour_polygon(c.curves).bounds for c in (plain, loose)]
    assert box[0] == pytest.approx(box[1])


@on(TOTE)
def test_a_housing_is_widened_by_its_play_and_goes_no_deeper(design: Path) -> None:
    plain, loose = (
        [c for c in made(design, cut, "B").files[0].template.contours if c.operation == "pocket"]
        for cut in (DEFAULT, replace(DEFAULT, fit=FitPlay(housings=0.3)))
    )
    assert [c.depth for c in plain] == [c.depth for c in loose]
    for before, after in zip(plain, loose, strict=True):
        narrow, wide = (contour_polygon(c.curves) for c in (before, after))
        assert wide.buffer(1e-6).contains(narrow)
        assert wide.exterior.hausdorff_distance(narrow.exterior) == pytest.approx(0.15, abs=0.15 * 0.42)


@on(TOTE, GATE)
@pytest.mark.parametrize("relief", ["T-bone", "dog-bone"])
def test_a_round_cutter_reaches_every_relieved_corner_of_a_joint(design: Path, relief: Relief) -> None:
    """The outline opened by the cutter holds each corner that a square part comes into."""
    diameter = 3.0
    cut = replace(DEFAULT, cutter=diameter, relief=relief)
    plain, eased = made(design, DEFAULT), made(design, cut)
    for before, after in zip(plain.files, eased.files, strict=True):
        sharp = any("sharper" in f.text and before.template.member.mark in f.members for f in eased.findings)
        whole = contour_polygon(before.template.outline.curves)
        relieved = contour_polygon(after.template.outline.curves)
        arcs = [
            c for c in after.template.outline.curves if isinstance(c, Arc) and abs(c.radius - 1.55) < 1e-9
        ]
        assert whole.buffer(1e-3).contains(relieved)
        if arcs and not sharp:
            # what the cutter leaves beside a wall that it runs along: nothing but what the part keeps
            reached = relieved.buffer(diameter / 2 - 1e-3, quad_segs=64).buffer(
                1e-3 - diameter / 2, quad_segs=64
            )
            assert reached.difference(relieved.buffer(0.02)).area < 0.5
            for arc in arcs:
                assert relieved.exterior.distance(shapely.Point(arc.at(0.5))) < 5e-3


@on(TOTE)
def test_a_t_bone_of_a_finger_joint_bites_where_the_other_part_covers_its_inside(design: Path) -> None:
    """Into the sides of the fingers, which lie on the other part's floor, not past the floors into the panel."""
    plain = outline(made(design, DEFAULT, "A"))
    eased = outline(made(design, replace(DEFAULT, cutter=3.0, relief="T-bone"), "A"))
    bites = contour_polygon(plain.curves).difference(contour_polygon(eased.curves))
    sheet, (left, _, right, _) = 9.0, contour_polygon(plain.curves).bounds
    for bite in bites.geoms:
        if bite.area > 0.1:
            assert bite.bounds[2] <= left + sheet + 0.01 or bite.bounds[0] >= right - sheet - 0.01


@on(TOTE, GATE)
def test_the_compensated_outline_is_the_nominal_one_grown_by_the_cutters_radius(design: Path) -> None:
    cut = replace(DEFAULT, cutter=6.0, compensated=True)
    for plain, grown in zip(made(design, DEFAULT).files, made(design, cut).files, strict=True):
        for a, b in zip(plain.template.contours, grown.template.contours, strict=True):
            if not a.operation.startswith("through"):
                continue
            side = 3.0 if a.operation == "through outside" else -3.0
            true = contour_polygon(a.curves).buffer(side, quad_segs=100)
            assert area(b) == pytest.approx(true.area, abs=2e-3 * true.length)
        names = {layer.dxf.name for layer in opened(grown.data).layers}
        assert "CUT_THROUGH_OUTSIDE_C300" in names
        assert "-middle_of_6_mm_cutter-" in grown.path
        assert b"middle of a 6 mm cutter" in grown.data


@on(TOTE, GATE)
def test_tabs_stand_on_no_edge_that_another_part_touches(design: Path) -> None:
    found = made(design, replace(DEFAULT, tabs=Tabs()))
    for file in found.files:
        tabs = [c.curves[0] for c in file.template.contours if c.operation == "tabs"]
        names = dict(zip(file.template.outline.curves, file.template.outline.made_by, strict=True))
        joined = {f.id for f in file.template.member.features if f.joint is not None}
        for tab in tabs:
            assert math.dist(tab.start, tab.end) == pytest.approx(8.0)
            middle = shapely.Point(tab.at(0.5))
            edge = min(
                names, key=lambda c: shapely.LineString([c.at(i / 64) for i in range(65)]).distance(middle)
            )
            assert names[edge] not in joined
        told = any(file.template.member.mark in f.members for f in found.findings)
        assert len(tabs) >= 3 or told


@on(TOTE)
def test_gaps_are_as_wide_as_tabs_and_the_rest_of_the_outline_is_kept(design: Path) -> None:
    whole = outline(made(design, DEFAULT, "A"))
    found = made(design, replace(DEFAULT, tabs=Tabs(width=6.0, left="gaps")), "A")
    runs = [c for c in found.files[0].template.contours if c.operation == "through outside"]
    assert len(runs) >= 3
    assert not any(c.closed for c in runs)
    kept = math.fsum(curve_length(c) for run in runs for c in run.curves)
    assert kept == pytest.approx(math.fsum(map(curve_length, whole.curves)) - 6.0 * len(runs), abs=1e-6)
    for a, b in zip(runs, [*runs[1:], runs[0]], strict=True):
        assert math.dist(a.curves[-1].end, b.curves[0].start) == pytest.approx(6.0)


@on(TOTE)
def test_screws_keep_clear_of_all_that_is_cut(design: Path) -> None:
    cut = replace(DEFAULT, cutter=6.0, hold_down=HoldDown(keep_out=10.0))
    for file in made(design, cut).files:
        outside = contour_polygon(file.template.outline.curves)
        rings = [c.circle for c in file.template.contours if c.operation == "keep out"]
        assert len(rings) >= 4
        for circle in rings:
            assert circle is not None
            assert outside.distance(shapely.Point(circle.centre)) >= 10.0 + 6.0 - 0.01


@on(TOTE)
def test_the_cutter_comes_in_from_the_waste_to_the_middle_of_the_longest_straight_edge(design: Path) -> None:
    for file in made(design, replace(DEFAULT, lead_in=5.0)).files:
        contours = {c.operation: c for c in file.template.contours}
        lead, start = contours["lead in"].curves[0], contours["through outside"].curves[0].start
        assert any(
            math.dist(c.curves[0].end, start) < 1e-9
            for c in file.template.contours
            if c.operation == "lead in"
        )
        assert math.dist(lead.start, lead.end) == pytest.approx(5.0)
        for line in (c.curves[0] for c in file.template.contours if c.operation == "lead in"):
            wood = contour_polygon(contours["through outside"].curves)
            for hole in (c for c in file.template.contours if c.operation == "through inside"):
                wood = wood.difference(contour_polygon(hole.curves))
            assert not wood.buffer(-1e-3).intersects(shapely.LineString([line.start, line.end]))


@on(TOTE)
def test_a_cutter_too_wide_for_an_opening_or_slot_is_told(design: Path) -> None:
    told = " | ".join(f.text for f in made(design, replace(DEFAULT, cutter=20.0), "A").findings)
    assert "does not enter the slot in the outline" in told
    assert "does not go all the way through the pocket" in told
    assert made(design, replace(DEFAULT, cutter=20.0, compensated=True), "A").files == ()


@on(BENCH)
def test_an_end_that_is_fitted_on_the_work_is_left_long_where_that_is_asked_for(design: Path) -> None:
    bench = facts_of(design).bench
    member = next(m for m in bench.members if any(m.allowance) and m.features)
    plain, long = (
        outline(made(design, c, member.mark)) for c in (DEFAULT, replace(DEFAULT, leave_ends=True))
    )
    grown = [contour_polygon(c.curves).bounds for c in (plain, long)]
    size = grown[1][2] - grown[1][0] - (grown[0][2] - grown[0][0])
    leaning = max(
        abs(s.form.normal[1])
        for s in member.surfaces
        if s.feature and s.feature.startswith("end") and hasattr(s.form, "normal")
    )
    assert size == pytest.approx(sum(member.allowance), rel=0.5 * leaning + 1e-6)


@on(TOTE)
def test_a_sheet_that_measures_thinner_is_bored_no_deeper_and_its_joints_are_spoken_of(design: Path) -> None:
    stock = next(m.stock.name for m in facts_of(design).bench.members)
    found = made(design, replace(DEFAULT, measured=((stock, 8.7),)), "A")
    assert any("measures 8.7 mm and is drawn 9" in f.text for f in found.findings)
    assert all(c.depth is None or c.depth <= 8.7 for c in found.files[0].template.contours)
