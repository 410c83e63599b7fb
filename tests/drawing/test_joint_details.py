"""Joints drawn large: what is cut, how it is hatched, what is stated of it, and where the elevations say it is cut."""

from __future__ import annotations

import itertools
import math
from functools import lru_cache
from pathlib import Path

import pytest
import shapely
import worked_out
from brep_kernel import kernel_face_area, kernel_solid, kernel_trimmed
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plangen.dimensioning.joint_details import JointDetail
from plangen.drawing.detail_sheets import details_of
from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Lettering, LinearDimension, Stroke
from plangen.drawing.section_view import SectionView, section_view
from plangen.geometry.hatching import hatch, in_bands, loop_points
from plangen.geometry.slices import Loop
from plangen.geometry.vectors import dot
from plangen.joinery.building import cutters_of

EVERY = pytest.mark.parametrize("path", worked_out.PROJECT, ids=lambda p: p.stem)
CORNERS = st.lists(st.tuples(st.floats(5, 80), st.floats(5, 80)), min_size=3, max_size=7, unique=True)


@lru_cache(maxsize=2)
def details(path: Path) -> tuple[JointDetail, ...]:
    return details_of(worked_out.facts_of(path))


@lru_cache(maxsize=2)
def sections(path: Path) -> tuple[SectionView, ...]:
    return tuple(section_view(worked_out.facts_of(path).model, d) for d in details(path))


def region(loops: tuple[Loop, ...]) -> shapely.Geometry:
    """What loops bound, the inner ones taken away."""
    rings = sorted((shapely.Polygon(loop_points(loop)) for loop in loops), key=lambda p: -p.area)
    whole = shapely.Polygon()
    for ring in rings:
        whole = whole.symmetric_difference(ring.buffer(0))
    return whole


@EVERY
def test_what_a_section_cuts_is_what_the_exact_kernel_cuts(path: Path) -> None:
    cut = 0
    for section in sections(path):
        for part in section.parts[:2]:
            frame, window = part.instance.frame, section.detail.window
            planes = [side.local_to(frame) for side in window.sides()]
            whole = kernel_solid(part.member.blank, cutters_of(part.member.features))
            left = kernel_trimmed(whole, part.member.blank, planes)
            exact = kernel_face_area(left, planes[0].normal, planes[0].offset)
            # a cone is cut along curves within 1e-4 mm of their hyperbolas
            assert part.cut.area == pytest.approx(exact, rel=5e-6), (section.detail.letter, part.member.mark)
            assert part.cut.area == pytest.approx(region(part.cut.loops).area, rel=2e-3)
            cut += 1
    assert cut >= len(sections(path))


@EVERY
def test_both_parts_of_a_joint_are_cut_where_they_meet(path: Path) -> None:
    for section in sections(path):
        met = [p for p in section.parts if p.instance.name in section.detail.joint.members]
        assert len(met) == 2, section.detail.joint.name
        one, other = (region(p.cut.loops) for p in met)
        assert one.distance(other) < 2 * section.detail.joint.clearance + 1.0
        assert one.intersection(other).area < 0.01 * min(one.area, other.area)


@EVERY
def test_parts_that_touch_are_hatched_unlike(path: Path) -> None:
    # texts on sections, read: adjoining parts differ in angle, or in pitch
    pairs = 0
    for section in sections(path):
        for a, b in itertools.combinations(section.parts, 2):
            if "not hatched" in (a.style.stuff, b.style.stuff):
                continue
            if region(a.cut.loops).distance(region(b.cut.loops)) < 0.1:
                turn = abs(a.style.degrees - b.style.degrees) % 180
                pitches = sorted(math.fsum(p.style.gaps) / len(p.style.gaps) for p in (a, b))
                assert min(turn, 180 - turn) > 10 or pitches[1] > 1.25 * pitches[0], section.detail.letter
                pairs += 1
    assert pairs >= len(sections(path))


@EVERY
def test_end_grain_is_told_from_long_grain_and_from_sheets(path: Path) -> None:
    for section in sections(path):
        for part in section.parts:
            grain = part.instance.frame.l if part.member.grain == "length" else part.instance.frame.w
            lies = abs(dot(grain, section.detail.window.projection.toward))
            if part.style.stuff == "end grain":
                assert lies > math.cos(math.radians(45.01))
            if part.style.stuff == "long grain" and part.member.stock.kind != "sheet":
                assert lies < math.cos(math.radians(44.99))
            assert part.style.stuff != "sheet" or part.member.stock.kind == "sheet"


@EVERY
def test_every_different_joint_has_one_detail(path: Path) -> None:
    facts = worked_out.facts_of(path)
    cut = [
        c.joint
        for c in facts.contacts
        if c.touches and any(f.joint == c.joint.name for m in facts.model.members for f in m.features)
    ]
    assert sum(d.alike for d in details(path)) == len(cut)
    assert {d.joint.kind for d in details(path)} == {j.kind for j in cut}
    said = [
        (d.joint.kind, {f.printed for f in d.figures}, tuple(p.style for p in s.parts[:2]))
        for d, s in zip(details(path), sections(path), strict=True)
    ]
    assert not any(a == b for a, b in itertools.combinations(said, 2))
    letters = {mark.joint: mark.letter for mark in reversed(facts.joint_marks)}
    assert len({d.letter for d in details(path)}) == len(details(path))
    assert {d.letter for d in details(path)} <= {m.letter for m in facts.joint_marks}, letters


@EVERY
def test_the_figures_of_a_detail_are_those_of_the_part_sheets_in_parentheses(path: Path) -> None:
    facts = worked_out.facts_of(path)
    own = {(s.mark, f.id): f for s in facts.figures for f in s.figures}
    stated = 0
    for detail in details(path):
        for f in detail.figures:
            assert f.figure == own[f.mark, f.figure.id]
            assert f.printed.strip("()") == f.figure.printed.split(", ")[0].strip("()")
            if f.direction is not None:
                a, b = (dot(f.direction, p) for p in f.points[:2])
                assert abs(b - a) == pytest.approx(f.figure.value, abs=1e-6)
                assert abs(dot(f.direction, detail.window.projection.toward)) < 1e-6
                stated += 1
    assert stated >= 1


@EVERY
def test_a_dimension_of_a_detail_measures_what_it_says_at_the_details_scale(path: Path) -> None:
    sheets = [s for s in worked_out.sheets_of(path) if s.kind == "details"]
    assert sheets
    for sheet in sheets:
        scales = {v.scale for v in sheet.views}
        for dim in (m for m in sheet.marks if isinstance(m, LinearDimension)):
            assert (dim.text[0], dim.text[-1]) == ("(", ")")
            (ax, ay), (bx, by) = dim.feet
            length = abs((bx - ax) * dim.direction[0] + (by - ay) * dim.direction[1])
            assert any(length == pytest.approx(dim.value * k, abs=0.01) for k in scales), dim.text


@EVERY
def test_the_elevations_say_where_each_section_is_cut(path: Path) -> None:
    (sheet,) = (s for s in worked_out.sheets_of(path) if s.kind == "elevations")
    words = [m.text for m in drawn(sheet.marks) if isinstance(m, Lettering) and m.height == 5.0]
    thick = sum(isinstance(m, Stroke) and m.use == "cutting plane" for m in drawn(sheet.marks))
    marked = [words.count(d.letter) for d in details(path)]
    assert all(n in (1, 2) for n in marked), dict(zip((d.letter for d in details(path)), marked, strict=True))
    assert thick == 2 * sum(n == 2 for n in marked)


@settings(max_examples=40, deadline=None)
@given(CORNERS, st.floats(0, 180), st.floats(0.5, 2.0))
def test_hatching_covers_what_it_is_to_cover_and_nothing_else(
    corners: list[tuple[float, float]], degrees: float, gap: float
) -> None:
    hull = shapely.MultiPoint(corners).convex_hull
    assume(hull.area > 100)
    ring = list(hull.exterior.coords)[:-1]
    lines = [shapely.LineString([c.start, c.end]) for c in hatch([ring], degrees, (gap,))]
    assert all(hull.buffer(1e-6).contains(line) for line in lines)
    # each line stands for a strip one gap wide
    covered = gap * math.fsum(line.length for line in lines)
    assert covered == pytest.approx(hull.area, abs=gap * hull.length / 2)


def test_hatching_stops_round_a_letter_and_every_second_ply_is_hatched() -> None:
    square = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]
    box = (8.0, 8.0, 12.0, 12.0)
    inner = shapely.box(*box).buffer(-1e-6)
    lines = hatch([square], 45.0, (1.0,), [box])
    assert lines
    assert not any(inner.intersects(shapely.LineString([c.start, c.end])) for c in lines)
    pieces = [p for c in hatch([square], 45.0, (1.0,)) for p in in_bands(c, 0.0, 0.0, 2.0)]
    assert pieces
    for p in pieces:
        middle = (p.start[1] + p.end[1]) / 2
        assert math.floor(middle / 2.0) % 2 == 1
        assert abs(p.end[1] - p.start[1]) <= 2.0 + 1e-9
