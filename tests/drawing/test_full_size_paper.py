"""Full-size paper: true when printed, taped together from pictures of its pages, folded round the work."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from brep_kernel import kernel_solid
from hypothesis import given as examples
from hypothesis import settings
from hypothesis import strategies as st
from OCP.BRep import BRep_Tool
from OCP.TopAbs import TopAbs_VERTEX
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape
from taped_paper import PER_MM, fitted_errors, page_picture, ruler_ticks, square_sides, tape
from worked_out import facts_of, given

from plangen.drawing.full_size.cards import story_sticks
from plangen.drawing.full_size.drawing import FullSize
from plangen.drawing.full_size.full_size_set import full_size_sheets, hand_papers
from plangen.drawing.full_size.page import Paper, chosen_paper, field_sizes, page_of
from plangen.drawing.full_size.template_drawing import is_traced, template_drawing
from plangen.drawing.full_size.tile_sheets import Tiled, far_crosses, seams_of, tile, tile_sheets
from plangen.drawing.full_size.tiling import choose_tiling
from plangen.drawing.lettering import set_text
from plangen.drawing.mark_geometry import drawn, extent
from plangen.drawing.marks import Lettering, Sheet, Stroke
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.geometry.curve_windows import (
    length_at_most,
    parts_inside,
    stretched_curve,
    turned_curve,
    turned_point,
)
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.machining.template import Template, make_template, templates_of_hands, wants_template
from plangen.tables.cut_files import FullSizePaper
from plangen.units import STYLES

INFO = DocumentInfo("Paper", "paper", "", "plangen")
HEAVY = 0.5
"""Width of an outline, mm."""


@lru_cache(maxsize=4)
def templates_of(path: Path) -> tuple[Template, ...]:
    made = (make_template(m) for m in facts_of(path).bench.members if wants_template(m))
    return tuple(t for one in made if one is not None for t in templates_of_hands(one))


@lru_cache(maxsize=4)
def pages_of(path: Path) -> tuple[Sheet, ...]:
    return full_size_sheets(facts_of(path), templates_of(path))


def tiled_template(path: Path, mark: str, paper: Paper) -> Tiled:
    template = next(t for t in templates_of(path) if t.member.mark == mark)
    return replace(tile(template_drawing(template, facts_of(path).style), paper), first=1)


def words_of(sheet: Sheet) -> list[str]:
    return [m.text for m in drawn(sheet.marks) if isinstance(m, Lettering)]


# --- printed, taped, traced -----------------------------------------------------------------------------------------


def model_points(path: Path, mark: str, tiled: Tiled) -> tuple[np.ndarray, np.ndarray]:
    """Points and normals of the outline in dots of the first sheet, nearly: the trace is fitted afterwards."""
    template = next(t for t in templates_of(path) if t.member.mark == mark)
    field, page = tiled.tiling.field(tiled.tiling.kept[0]), tiled.pages[0]
    points, normals = [], []
    for curve in template.outline.curves:
        count = max(4, int(length_at_most(curve) / 5))
        for i in range(1, count):
            a, p, b = (turned_point(curve.at((i + s) / count), tiled.tiling.turn) for s in (-0.01, 0, 0.01))
            size = math.dist(a, b)
            points.append(
                ((p[0] - field[0] + page.field[0]), page.height - (p[1] - field[1] + page.field[1]))
            )
            normals.append(((b[1] - a[1]) / size, (b[0] - a[0]) / size))
    return np.array(points) * PER_MM, np.array(normals)


@given("garden-gate")
def test_the_curved_rail_taped_from_six_sheets_is_true_to_a_fifth_of_a_millimetre(path: Path) -> None:
    paper = chosen_paper(FullSizePaper(paper="universal"), "A4")
    tiled = tiled_template(path, "C", paper)
    assert len(tiled.tiling.kept) >= 6
    data = pdf_bytes(list(tile_sheets(tiled, paper, [], facts_of(path).style)), INFO)
    pictures = [page_picture(data, i) for i in range(len(tiled.tiling.kept))]
    taped = tape(dict(zip(tiled.tiling.kept, pictures, strict=True)), paper.overlap)
    assert taped.worst < 0.05
    errors, traced = fitted_errors(taped, *model_points(path, "C", tiled), HEAVY)
    assert traced > 0.95
    assert float(np.abs(errors).max()) < 0.2
    for upright in (False, True):
        millimetres, inches = ruler_ticks(pictures[0], upright)
        assert (len(millimetres), len(inches)) == (101, 33)
        assert millimetres == pytest.approx(millimetres[0] + np.arange(101), abs=0.1)
        assert inches == pytest.approx(inches[0] + np.arange(33) * 25.4 / 8, abs=0.1)


@given("tool-tote")
def test_a_square_measures_fifty_millimetres_and_another_two_inches(path: Path) -> None:
    first = pages_of(path)[0]
    picture = page_picture(pdf_bytes([first], INFO), 0)
    for mark in drawn(first.marks):
        if isinstance(mark, Lettering) and mark.text in ("50 mm", "2 in"):
            # beside its words, which stand in the middle of the square
            x0, _, x1, y1 = set_text(mark).box
            sides = square_sides(picture, ((x0 + x1) / 2 + 12.0, first.height - y1 - 4.0))
            assert sides == pytest.approx((50.0,) * 2 if mark.text == "50 mm" else (50.8,) * 2, abs=0.1)


@given("tool-tote", "splayed-trestle")
def test_every_page_has_rulers_both_squares_and_says_print_at_full_size(path: Path) -> None:
    for sheet in pages_of(path):
        words = Counter(words_of(sheet))
        assert min(words[t] for t in ("50 mm", "2 in")) == 1, sheet.number
        assert min(words[t] for t in ("100 mm", "4 in")) == 2, sheet.number
        assert max(words[t] for t in ("150 mm", "6 in")) == (2 if sheet.number == "T-01" else 0), sheet.number
        assert any("100 %" in t for t in words), sheet.number
        assert sheet.number in words


@given("tool-tote", "splayed-trestle")
def test_nothing_stands_where_a_printer_leaves_the_paper_blank(path: Path) -> None:
    for sheet in pages_of(path):
        for mark in drawn(sheet.marks):
            x0, y0, x1, y1 = extent(mark)
            assert min(x0, y0, sheet.width - x1, sheet.height - y1) > 9.7, (sheet.number, mark)


@given("tool-tote")
def test_the_print_dialog_is_told_not_to_scale(path: Path) -> None:
    data = pdf_bytes(pages_of(path), INFO)
    assert b"/PrintScaling /None" in data
    with pypdfium2.PdfDocument(data) as document:
        assert len(document) == len(pages_of(path))


def test_a_printer_that_prints_small_is_corrected_rulers_and_all() -> None:
    paper = chosen_paper(FullSizePaper(paper="A4", stretch=(1.01, 0.99)), "A4")
    drawing = FullSize("A", "a", (), (Line((0, 0), (40, 0)), Line((40, 0), (40, 30))))
    sheet = next(iter(tile_sheets(replace(tile(drawing, paper), first=1), paper, [], STYLES["mm"])))
    picture = page_picture(pdf_bytes([sheet], INFO), 0)
    for upright, by in ((False, 1.01), (True, 0.99)):
        ticks, _ = ruler_ticks(picture, upright)
        assert ticks[-1] - ticks[0] == pytest.approx(100 * by, abs=0.1)
    assert (sheet.width, sheet.height) == pytest.approx((297.0, 210.0), abs=90)


# --- tiles ----------------------------------------------------------------------------------------------------------

A4 = chosen_paper(FullSizePaper(paper="A4"), "A4")


def ring(points: list[Vec2]) -> list[Curve]:
    return [Line(a, b) for a, b in pairwise([*points, points[0]])]


@settings(max_examples=25, deadline=None)
@examples(st.floats(60, 900), st.floats(30, 700), st.floats(0.05, 0.45), st.floats(-90, 90))
def test_tiles_show_all_of_the_lines_hang_together_and_are_no_more_than_a_plain_grid(
    long: float, wide: float, slant: float, angle: float
) -> None:
    turn = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    shape = [(0.0, 0.0), (long, 0.0), (long * (1 - slant), wide), (long * slant, wide * (1 - slant))]
    lines = [turned_curve(c, turn) for c in ring(shape)]
    found = choose_tiling(lines, [], field_sizes(A4), A4.overlap)
    for curve in (turned_curve(c, found.turn) for c in lines):
        for i in range(201):
            x, y = curve.at(i / 200)
            assert any(a <= x <= c and b <= y <= d for a, b, c, d in (found.field(t) for t in found.kept)), (
                "a part of the outline is on no sheet"
            )
    joined = {found.kept[0]}
    for _ in found.kept:
        joined |= {t for t in found.kept if any(abs(t[0] - j[0]) + abs(t[1] - j[1]) == 1 for j in joined)}
    assert joined == set(found.kept)
    assert len(found.kept) <= min(plain_grid(lines, size) for _, size in field_sizes(A4))


def plain_grid(lines: list[Curve], size: Vec2) -> int:
    """Tiles over the box of the lines as they lie."""
    count = 1
    for axis in (0, 1):
        reach = [p[axis] for c in lines for p in (c.start, c.end)]
        step = size[axis] - A4.overlap
        count *= max(1, math.ceil((max(reach) - min(reach) + 6.0 - A4.overlap) / step - 1e-9))
    return count


def test_a_strip_that_fits_a_sheet_only_turned_is_turned() -> None:
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    lines = [turned_curve(k, (c, s)) for k in ring([(0.0, 0.0), (250.0, 0.0), (250.0, 40.0), (0.0, 40.0)])]
    assert len(choose_tiling(lines, [], field_sizes(A4), A4.overlap).kept) == 1


def test_a_sheet_in_the_middle_of_a_large_ring_is_left_out_and_crossed_on_the_map() -> None:
    lines = [Arc((0.0, 0.0), 420.0, 0.0, 2 * math.pi)]
    found = choose_tiling(lines, [], field_sizes(A4), A4.overlap)
    assert len(found.kept) < found.rows * found.columns - 3


def test_a_roll_takes_a_long_outline_on_one_page() -> None:
    paper = chosen_paper(FullSizePaper(roll=610.0), "A4")
    drawing = FullSize("A", "a", (), tuple(ring([(0.0, 0.0), (1500.0, 0.0), (1400.0, 300.0)])))
    (page,) = tile(drawing, paper).pages
    assert page.width == 610.0
    assert page.height > 1500.0


@given("garden-gate")
def test_both_sheets_of_a_seam_show_its_crosses_at_the_same_places_of_the_outline(path: Path) -> None:
    tiled = tiled_template(path, "C", A4)
    sheets = dict(zip(tiled.tiling.kept, tile_sheets(tiled, A4, [], facts_of(path).style), strict=True))
    seams = seams_of(tiled.tiling)
    assert len(seams) == len(tiled.tiling.kept) - 1
    for seam in seams:
        for spot in (seam.under, seam.over):
            field, page = tiled.tiling.field(spot), page_of(A4, tiled.tiling.upright)
            rings = {
                (
                    round(c.centre[0] - page.field[0] + field[0], 6),
                    round(c.centre[1] - page.field[1] + field[1], 6),
                )
                for m in drawn(sheets[spot].marks)
                if isinstance(m, Stroke)
                for c in m.curves
                if isinstance(c, Arc)
            }
            assert {(round(x, 6), round(y, 6)) for x, y in seam.crosses} <= rings
    far = far_crosses(seams)
    assert far is not None
    assert math.dist(*far) > 400


# --- curves in a window -----------------------------------------------------------------------------------------------

CURVES: list[Curve] = [
    Line((-40.0, -13.0), (55.0, 31.0)),
    Arc((3.0, 4.0), 25.0, 0.3, 0.3 + 2 * math.pi),
    Arc((-10.0, 0.0), 30.0, 2.0, -2.5),
    EllipseArc((5.0, -2.0), (28.0, 9.0), (-4.0, 14.0), -1.0, 4.4),
    Bezier(((-35.0, 5.0), (0.0, 70.0), (10.0, -80.0), (33.0, 12.0))),
]


@settings(max_examples=40, deadline=None)
@examples(st.sampled_from(CURVES), st.floats(-30, 10), st.floats(-30, 10), st.floats(3, 40), st.floats(3, 40))
def test_the_parts_in_a_window_are_the_points_of_the_curve_that_lie_in_it(
    curve: Curve, x: float, y: float, wide: float, high: float
) -> None:
    window = (x, y, x + wide, y + high)
    parts = parts_inside(curve, window)
    for part in parts:
        for i in range(1, 20):
            px, py = part.at(i / 20)
            assert window[0] - 1e-6 <= px <= window[2] + 1e-6
            assert window[1] - 1e-6 <= py <= window[3] + 1e-6
    places = np.array([p.at(i / 400) for p in parts for i in range(401)]).reshape(-1, 2)
    for i in range(101):
        px, py = curve.at(i / 100)
        if window[0] + 1e-6 < px < window[2] - 1e-6 and window[1] + 1e-6 < py < window[3] - 1e-6:
            assert np.hypot(places[:, 0] - px, places[:, 1] - py).min() < 0.6


@pytest.mark.parametrize("curve", CURVES, ids=lambda c: type(c).__name__)
def test_a_curve_turned_and_stretched_has_its_points_turned_and_stretched(curve: Curve) -> None:
    turn = (math.cos(0.7), math.sin(0.7))
    for s in (0.0, 0.31, 0.77, 1.0):
        p = curve.at(s)
        assert turned_curve(curve, turn).at(s) == pytest.approx(turned_point(p, turn))
        assert stretched_curve(curve, (1.02, 0.97)).at(s) == pytest.approx((p[0] * 1.02, p[1] * 0.97))


# --- what is traced ---------------------------------------------------------------------------------------------------


@given("tool-tote")
def test_what_a_rule_draws_is_not_printed(path: Path) -> None:
    traced = {t.member.mark: is_traced(t) for t in templates_of(path)}
    assert traced == {"A": True, "B": True, "C": False, "D": True}


@given("splayed-trestle")
def test_a_beveled_edge_has_both_outlines_and_says_which_to_follow(path: Path) -> None:
    template = next(t for t in templates_of(path) if t.member.name == "gusset")
    drawing = template_drawing(template, facts_of(path).style)
    assert any("then bevel" in s for s in drawing.says)
    uses = Counter(m.use for m in drawing.marks if isinstance(m, Stroke))
    assert uses["hidden"] >= 1
    assert uses["phantom"] >= 1
    assert drawing.face == "FACE SIDE UP"


# --- paper for hand work ----------------------------------------------------------------------------------------------


def outlines(drawing: FullSize, use: str) -> list[Curve]:
    return [c for m in drawing.marks if isinstance(m, Stroke) and m.use == use for c in m.curves]


@given("potting-bench")
def test_the_lines_of_a_strip_run_on_over_its_folds(path: Path) -> None:
    strips = [d for d in hand_papers(facts_of(path)) if "to wrap round" in d.title]
    assert strips
    for strip in strips:
        folds = outlines(strip, "phantom")
        ends = [(p, i) for i, c in enumerate(outlines(strip, "outline")) for p in (c.start, c.end)]
        met = 0
        for p, i in ends:
            if any(distance_to_line(p, f) < 1e-4 for f in folds):
                assert any(j != i and math.dist(p, q) < 1e-3 for q, j in ends), strip.title
                met += 1
        assert met >= 2, strip.title


def distance_to_line(p: Vec2, line: Curve) -> float:
    (ax, ay), (bx, by) = line.start, line.end
    return abs((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / math.dist(line.start, line.end)


@given("splayed-trestle")
def test_a_strip_is_as_wide_over_each_side_as_that_side_of_the_leg(path: Path) -> None:
    leg = next(m for m in facts_of(path).bench.members if m.name == "leg")
    strip = next(d for d in hand_papers(facts_of(path)) if d.mark == leg.mark and "to wrap round" in d.title)
    widths = sorted(leg.finished[1:])
    edge = [c for c in outlines(strip, "narrow") if abs(c.start[1] - c.end[1]) > 20]
    xs = sorted({round(p[0], 1) for c in [*edge, *outlines(strip, "phantom")] for p in (c.start,)})
    for wide in (b - a for a, b in pairwise(xs)):
        # the beveled edge is a little wider or narrower than the blank's thickness
        assert min(abs(wide - w) for w in widths) < 2.5


@given("three-leg-stool")
def test_a_sight_card_leans_as_far_as_the_drill(path: Path) -> None:
    facts = facts_of(path)
    cards = [d for d in hand_papers(facts) if "sight line" in d.title]
    asked = {
        (round(math.degrees(s.layout.sight.resultant), 2), round(math.degrees(s.layout.sight.sight_line), 2))
        for s in facts.machining.setups
        if s.layout is not None and s.layout.sight is not None and s.layout.sight.resultant > 0.01
    }
    drawn_angles = set()
    for card in cards:
        angles = [
            math.degrees(math.atan2(c.end[1] - c.start[1], c.end[0] - c.start[0]))
            for c in outlines(card, "outline")
        ]
        drawn_angles.add((round(90 - angles[3], 2), round(angles[1], 2)))
    assert drawn_angles == asked


@given("splayed-trestle")
def test_each_setting_of_the_bevel_gauge_is_drawn_at_its_angle(path: Path) -> None:
    facts = facts_of(path)
    cards = [d for d in hand_papers(facts) if d.title.startswith("Bevel gauge")]
    assert len(cards) == len(facts.marking.bevels) > 3
    for card, bevel in zip(cards, facts.marking.bevels, strict=True):
        _, blade = outlines(card, "outline")
        angle = math.degrees(math.atan2(blade.end[1] - blade.start[1], blade.end[0] - blade.start[0]))
        assert angle == pytest.approx(min(bevel.value, 180 - bevel.value), abs=1e-9)


@given("tool-tote")
def test_a_story_stick_has_each_line_of_its_run_where_it_stands_on_the_part(path: Path) -> None:
    sticks = facts_of(path).marking.sticks
    drawing = story_sticks(sticks)
    assert drawing is not None
    lines = [c for c in outlines(drawing, "outline") if abs(c.start[0] - c.end[0]) < 1e-9]
    heights = sorted({round(c.start[1], 6) for c in lines}, reverse=True)
    assert len(heights) == len(sticks) >= 1
    for height, stick in zip(heights, sticks, strict=True):
        places = [c.start[0] for c in lines if round(c.start[1], 6) == height]
        assert places == pytest.approx([0.0, *(line.value for line in stick.lines)])


@given("splayed-trestle")
def test_every_piece_has_a_label_with_the_letters_of_its_joints(path: Path) -> None:
    facts = facts_of(path)
    words = [t for s in pages_of(path) if "art labels" in s.title for t in words_of(s)]
    for member in facts.bench.members:
        if member.role == "work":
            assert {i.name for i in member.instances} <= set(words)
    lettered = {m.letter for m in facts.joint_marks}
    told = {w.strip(",") for t in words for w in t.split() if w.strip(",").isupper()}
    assert lettered <= told


@pytest.mark.parametrize("name", ["through-dovetail", "half-blind-dovetail"])
def test_a_dovetail_block_has_each_tail_square_over_the_end_and_on_the_block(name: str) -> None:
    facts = facts_of(Path(__file__).parent.parent / "designs" / "joints" / f"{name}.yaml")
    blocks = [d for d in hand_papers(facts) if "block for the" in d.title]
    assert {d.title.partition("block for the ")[2].partition(",")[0] for d in blocks} == {"tails", "pins"}
    for block in blocks:
        frame = outlines(block, "narrow")
        low, high = (f([p[1] for c in frame for p in (c.start, c.end)]) for f in (min, max))
        assert all(low < p[1] < high for c in outlines(block, "outline") for p in (c.start, c.end))
        if "tails" in block.title:
            member = next(m for m in facts.bench.members if m.mark == block.mark)
            folds = sorted(c.start[1] for c in outlines(block, "phantom"))
            assert folds[1] - folds[0] == pytest.approx(
                member.finished[2], abs=0.05
            )  # the end leans a little


@given("potting-bench")
def test_the_corners_on_a_strip_stand_as_the_exact_kernel_has_them(path: Path) -> None:
    """Of the rail's half laps on its face side: the corners of the wood in that plane, made from its cutters."""
    facts = facts_of(path)
    rail = next(m for m in facts.bench.members if m.name == "rail")
    forms = {s.id: s.form for f in rail.features for s in f.surfaces} | rail.blank.planes()
    cutters = [[forms[i] for i in cutter] for f in rail.features for cutter in f.cutters]
    corners = vertices_in_plane(kernel_solid(rail.blank, cutters), rail.finished[2])
    strips = [d for d in hand_papers(facts) if d.mark == rail.mark and "to wrap round" in d.title]
    assert len(strips) == 4
    for strip in strips:
        (left, right) = sorted(c.start[0] for c in outlines(strip, "phantom"))
        ends = {
            (round(p[0], 4), round(p[1], 4))
            for c in outlines(strip, "outline")
            for p in (c.start, c.end)
            if left - 1e-6 <= p[0] <= right + 1e-6
        }
        reach = [p[1] for p in ends]
        theirs = [p for p in corners if min(reach) - 1e-3 <= p[0] <= max(reach) + 1e-3]
        assert len(theirs) == len(ends)
        assert distances(sorted(ends)) == pytest.approx(distances(theirs), abs=1e-3)


def vertices_in_plane(shape: TopoDS_Shape, level: float) -> list[Vec2]:
    explorer, found = TopExp_Explorer(shape, TopAbs_VERTEX), set()
    while explorer.More():
        point = BRep_Tool.Pnt_s(TopoDS.Vertex(explorer.Current()))
        if abs(point.Z() - level) < 1e-6:
            found.add((round(point.X(), 6), round(point.Y(), 6)))
        explorer.Next()
    return sorted(found)


def distances(points: Sequence[Vec2]) -> list[float]:
    return sorted(math.dist(p, q) for i, p in enumerate(points) for q in points[:i])


@given("garden-gate")
def test_labels_go_on_where_the_cards_end_if_that_saves_a_page(path: Path) -> None:
    """One card and eleven labels: two pages, where three would hold a page of one card and one of one label."""
    cut_out = [s.title for s in pages_of(path) if "abels" in s.title or "ards" in s.title]
    assert cut_out == ["Cards for hand work, part labels"] * 2
