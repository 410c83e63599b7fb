"""The sheets of every design, held to what a drawing office asks of a sheet before it leaves the house."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
import worked_out

from plangen.design.reading import read_design
from plangen.drawing.composition import compose_sheets
from plangen.drawing.face_marks import ITEM_DIAMETER
from plangen.drawing.linework import ISO_3098_HEIGHTS
from plangen.drawing.mark_geometry import drawn, extent, extents
from plangen.drawing.marks import (
    AngularDimension,
    Group,
    Leader,
    Lettering,
    LinearDimension,
    Link,
    Mark,
    Sheet,
    Stroke,
)
from plangen.drawing.overlaps import overlaps
from plangen.drawing.placing_rule import side_view_offset
from plangen.facts import PlanFacts
from plangen.geometry.curves import Arc
from plangen.tables.scales import SCALES

DESIGNS = worked_out.PROJECT
LONG = {"face", "edge", "back", "back edge"}
FIRST_DIMENSION_LINE = 10.0
"""Outline to the first dimension line, mm (ASME Y14.5 text and a BIS text, read)."""
LEAST_PITCH = 7.0
"""Between parallel dimension lines, mm (BIS text 8, US texts 6, read)."""


def facts_of(path: Path, drawing: str = "") -> PlanFacts:
    """The facts, told to be drawn in another way: no figure depends on that as long as sizes are rounded alike."""
    facts = worked_out.facts_of(path)
    if not drawing:
        return facts
    kept = [line for line in path.read_text().splitlines() if not line.startswith("drawing:")]
    rounding = {"sizes": facts.design.drawing.sizes, "angles": facts.design.drawing.angles}
    design, findings = read_design("\n".join([*kept, f"drawing: {{{drawing}}}"]), path.name)
    assert design is not None, findings
    told = design.drawing.model_copy(update=rounding)
    return replace(facts, design=facts.design.model_copy(update={"drawing": told}))


@lru_cache(maxsize=8)
def sheets_of(path: Path, drawing: str = "") -> tuple[Sheet, ...]:
    return compose_sheets(facts_of(path, drawing)) if drawing else worked_out.sheets_of(path)


def each_mark(marks: tuple[Mark, ...]) -> Iterator[Mark]:
    """Marks with groups opened, dimensions kept whole."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from each_mark(mark.marks)
        else:
            yield mark


def part_sheets(path: Path, drawing: str = "") -> list[Sheet]:
    return [s for s in sheets_of(path, drawing) if s.kind == "part"]


every_design = pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
VARIANTS = ["", "paper: letter, projection: third", "paper: A4, projection: first, hidden lines: yes",
            "large paper: yes"]  # fmt: skip
every_drawing = pytest.mark.parametrize(
    ("path", "drawing"),
    [(p, d) for p in DESIGNS for d in VARIANTS if not d or p.stem == "tool-tote"],
    ids=lambda v: v.stem if isinstance(v, Path) else v or "as designed",
)


@every_drawing
def test_no_lettering_stands_on_other_ink(path: Path, drawing: str) -> None:
    found = {
        (s.number, o.text.text, getattr(o.other, "text", type(o.other).__name__))
        for s in sheets_of(path, drawing)
        for o in overlaps(s.marks)
    }
    assert found == set()


@every_drawing
def test_nothing_is_cut_off_by_the_frame(path: Path, drawing: str) -> None:
    for sheet in sheets_of(path, drawing):
        inside = [m for m in sheet.marks if not (isinstance(m, Group) and m.name == "frame")]
        x0, y0, x1, y1 = extents(m for m in drawn(inside) if not isinstance(m, Link))
        frame = (20 - 0.4, 10 - 0.4, sheet.width - 10 + 0.4, sheet.height - 10 + 0.4)
        assert frame[0] <= x0, sheet.title
        assert frame[1] <= y0, sheet.title
        assert x1 <= frame[2], sheet.title
        assert y1 <= frame[3], sheet.title


@every_design
def test_letters_have_heights_of_the_standard_series(path: Path) -> None:
    # ISO 3098 series, read
    heights = {m.height for s in sheets_of(path) for m in drawn(s.marks) if isinstance(m, Lettering)}
    assert heights <= set(ISO_3098_HEIGHTS)


@every_design
def test_figures_of_a_part_sheet_are_of_one_height_and_never_under_three_and_a_half(path: Path) -> None:
    for sheet in part_sheets(path):
        heights = {
            m.height
            for m in each_mark(sheet.marks)
            if isinstance(m, LinearDimension | AngularDimension | Leader)
        }
        assert len(heights) <= 1
        assert min(heights, default=5) >= 3.5


@every_design
def test_every_part_that_is_not_plain_has_its_sheet_and_plain_parts_share_one(path: Path) -> None:
    facts = facts_of(path)
    shaped = [m.mark for m in facts.model.members if not m.is_plain and m.role != "bought"]
    drawn_marks = [s.members[0] for s in part_sheets(path)]
    bent = [m.mark for m in facts.model.members if m.bent is not None]
    assert list(dict.fromkeys(drawn_marks)) == [*(r.mark for r in facts.cutting if r.mark in shaped), *bent]
    tabled = {m for s in sheets_of(path) if s.kind == "parts table" for m in s.members}
    assert tabled == {m.mark for m in facts.model.members if m.is_plain and m.role != "bought"}


@every_design
def test_every_line_of_the_cutting_list_leads_to_the_sheet_of_its_part(path: Path) -> None:
    sheets = sheets_of(path)
    home = {m: s.number for s in reversed(sheets) if s.kind in ("part", "parts table") for m in s.members}
    listed = [s for s in sheets if s.title.startswith("Cutting list")]
    links = [m.sheet for s in listed for m in each_mark(s.marks) if isinstance(m, Link)]
    assert sorted(links) == sorted(home[r.mark] for r in facts_of(path).cutting)


@every_design
def test_links_lead_to_sheets_of_the_set(path: Path) -> None:
    numbers = {s.number for s in sheets_of(path)}
    links = [m.sheet for s in sheets_of(path) for m in each_mark(s.marks) if isinstance(m, Link)]
    assert links
    assert set(links) <= numbers


@every_drawing
def test_a_part_s_sheets_print_its_figures_and_no_others(path: Path, drawing: str) -> None:
    shaped = {m.mark for m in facts_of(path, drawing).model.members if not m.is_plain}
    for figures in (f for f in facts_of(path, drawing).figures if f.mark in shaped):
        stated = [
            " ".join(m.text.split("\n"))
            for s in part_sheets(path, drawing)
            if s.members == (figures.mark,)
            for m in each_mark(s.marks)
            if isinstance(m, LinearDimension | AngularDimension | Leader)
        ]
        assert set(stated) == {f.printed for f in figures.figures if not f.said_by}, figures.mark
        assert len(stated) <= len(figures.figures)


@every_design
def test_a_dimension_says_the_distance_between_its_feet(path: Path) -> None:
    for sheet in part_sheets(path):
        scales = {v.scale for v in sheet.views}
        for mark in each_mark(sheet.marks):
            if isinstance(mark, LinearDimension):
                (ax, ay), (bx, by) = mark.feet
                apart = abs((bx - ax) * mark.direction[0] + (by - ay) * mark.direction[1])
                assert any(abs(apart - mark.value * k) < 1e-6 for k in scales), mark.text


@every_design
def test_no_size_is_figured_where_it_prints_too_small_to_see(path: Path) -> None:
    # 3 mm, or in parentheses half of that (our judgement); what is less stands in a detail or an enlarged end
    for sheet in part_sheets(path):
        enlarged = {v.scale for v in sheet.views if v.name not in LONG}
        for mark in each_mark(sheet.marks):
            if isinstance(mark, LinearDimension):
                (ax, ay), (bx, by) = mark.feet
                apart = abs((bx - ax) * mark.direction[0] + (by - ay) * mark.direction[1])
                if apart < (1.4 if mark.text.startswith("(") else 3.0) - 1e-6:
                    assert any(abs(apart - mark.value * k) < 1e-6 for k in enlarged), (sheet.title, mark.text)
                    assert apart > 1, (sheet.title, mark.text)


@every_drawing
def test_scales_are_standard_and_printed_under_their_views(path: Path, drawing: str) -> None:
    facts = facts_of(path, drawing)
    standard = {s.ratio_text: float(s.ratio) for s in SCALES[facts.style.length]}
    for sheet in sheets_of(path, drawing):
        titles = [m.text for m in each_mark(sheet.marks) if isinstance(m, Lettering)]
        for view in sheet.views:
            assert view.scale == standard[view.scale_text]
            assert any(t == view.scale_text or t.endswith(f"  {view.scale_text}") for t in titles), view.name


@every_drawing
def test_long_views_of_a_part_stand_exactly_over_one_another(path: Path, drawing: str) -> None:
    for sheet in part_sheets(path, drawing):
        places = [v.origin[0] for v in sheet.views if v.name in LONG]
        assert all(abs(x - places[0]) < 0.01 for x in places)


@every_drawing
def test_elevations_line_up_and_stand_where_the_symbol_says(path: Path, drawing: str) -> None:
    facts = facts_of(path, drawing)
    method = facts.design.drawing.projection or {"in": "third", "mm": "first"}[facts.style.length]
    (sheet,) = (s for s in sheets_of(path, drawing) if s.kind == "elevations")
    views = {v.name: v for v in sheet.views}
    front, plan = views.pop("front"), views.pop("plan")
    ((side_name, side),) = views.items()
    assert abs(front.origin[0] - plan.origin[0]) < 0.01
    assert abs(front.origin[1] - side.origin[1]) < 0.01
    assert front.scale == plan.scale == side.scale
    above = side_view_offset(method, "above")
    assert (plan.origin[1] > front.origin[1]) == (above[1] > 0)
    beside = side_view_offset(method, "right" if side_name == "right" else "left")
    assert (side.origin[0] > front.origin[0]) == (beside[0] > 0)
    (symbol,) = (m.name for g in sheet.marks if isinstance(g, Group) for m in g.marks if isinstance(m, Group))
    assert symbol == f"{method} angle projection"


@every_drawing
def test_part_views_stand_where_the_symbol_says(path: Path, drawing: str) -> None:
    facts = facts_of(path, drawing)
    method = facts.design.drawing.projection or {"in": "third", "mm": "first"}[facts.style.length]
    for sheet in part_sheets(path, drawing):
        views = {v.name: v.origin for v in sheet.views}
        order = [v for v in ("back edge", "face", "edge", "back") if v in views]
        heights = [views[v][1] for v in order]
        assert heights == sorted(heights, reverse=side_view_offset(method, "below")[1] < 0)
        if "face" in views and "end A" in views and abs(views["face"][1] - views["end A"][1]) < 0.01:
            to_the_right = views["end A"][0] > views["face"][0]
            assert to_the_right == (side_view_offset(method, "left")[0] > 0)


def _level(dim: LinearDimension) -> tuple[int, float, float, float]:
    """Axis, place of the line across it, and where it runs."""
    axis = 0 if abs(dim.direction[0]) > 0.5 else 1
    low, high = sorted(f[axis] for f in dim.feet)
    return axis, dim.line_at[1 - axis], low, high


def _upright(marks: Iterator[Mark]) -> list[LinearDimension]:
    dims = [m for m in marks if isinstance(m, LinearDimension)]
    return [d for d in dims if min(abs(d.direction[0]), abs(d.direction[1])) < 1e-9]


@every_design
def test_dimension_lines_never_cross_one_another(path: Path) -> None:
    for sheet in sheets_of(path):
        lines = [(d, _level(d)) for d in _upright(each_mark(sheet.marks))]
        for (a, (axis, at, low, high)), (b, (other, level, first, last)) in itertools.combinations(lines, 2):
            if axis != other:
                assert not (low < level < high and first < at < last), (sheet.title, a.text, b.text)


@every_design
def test_parallel_dimension_lines_over_one_stretch_keep_apart_the_shorter_inside(path: Path) -> None:
    for sheet in part_sheets(path):
        lines = [(d, _level(d)) for d in _upright(each_mark(sheet.marks))]
        for (a, (axis, at, low, high)), (b, (other, level, first, last)) in itertools.combinations(lines, 2):
            shared = min(high, last) - max(low, first)
            same_run = a.arrows == b.arrows == "running" and at == level
            if axis == other and shared > 1e-6 and not same_run and abs(at - level) < LEAST_PITCH - 1e-9:
                pytest.fail(f"{sheet.title}: {a.text} and {b.text} are {abs(at - level):.1f} mm apart")


@every_design
def test_leaders_neither_cross_one_another_nor_lie_level(path: Path) -> None:
    for sheet in sheets_of(path):
        leaders = [m for m in each_mark(sheet.marks) if isinstance(m, Leader)]
        lines = [(m.path[0], m.path[1]) for m in leaders]
        for a, b in itertools.combinations(lines, 2):
            assert not _cross(*a, *b), sheet.title
        for start, end in ((m.path[0], m.path[1]) for m in leaders if m.text):
            angle = math.degrees(math.atan2(abs(end[1] - start[1]), abs(end[0] - start[0])))
            assert 14.9 <= angle <= 75.1  # drafting textbooks, read


def _cross(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> bool:
    def turn(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


@every_design
def test_the_elevations_refer_to_every_part_once_in_equal_circles(path: Path) -> None:
    """On the elevations, or where they have no room on the picture that shows where the parts are."""
    (elevations,) = (s for s in sheets_of(path) if s.kind == "elevations")
    sheet = next((s for s in sheets_of(path) if s.title == "Where the parts are"), elevations)

    def items(marks: tuple[Mark, ...]) -> Iterator[Group]:
        for mark in marks:
            if isinstance(mark, Group):
                if mark.name.startswith("item "):
                    yield mark
                yield from items(mark.marks)

    found = list(items(sheet.marks))
    expected = [m.mark for m in facts_of(path).model.members if m.role != "jig"]
    assert sorted(g.name.removeprefix("item ") for g in found) == sorted(expected)
    for group in found:
        (circle,) = (c for m in group.marks if isinstance(m, Stroke) for c in m.curves)
        assert isinstance(circle, Arc)
        assert circle.radius == ITEM_DIAMETER / 2


@every_design
def test_handed_parts_show_their_opposite_hand(path: Path) -> None:
    for member in facts_of(path).model.members:
        other = member.drawn is not None and any(i.hand != member.drawn for i in member.instances)
        if member.is_plain or member.role == "bought":
            continue
        first = next(s for s in part_sheets(path) if s.members == (member.mark,))
        shown = any(isinstance(m, Group) and m.name == "opposite hand" for m in first.marks)
        assert shown == other


@every_design
def test_face_side_and_face_edge_are_marked_where_they_are_seen(path: Path) -> None:
    def names(marks: tuple[Mark, ...]) -> Iterator[str]:
        for mark in marks:
            if isinstance(mark, Group):
                yield mark.name
                yield from names(mark.marks)

    round_ = {m.mark for m in facts_of(path).model.members if m.is_round}
    for sheet in (s for s in part_sheets(path) if s.members[0] not in round_):
        stands = {v.name for v in sheet.views}
        signs = list(names(tuple(m for m in sheet.marks if getattr(m, "name", "") != "opposite hand")))
        assert signs.count("face side") == ("face" in stands)
        assert signs.count("face edge") == ("edge" in stands)


@every_design
def test_the_cover_shows_the_piece_and_leads_to_every_part(path: Path) -> None:
    cover = sheets_of(path)[0]
    (picture,) = (m for m in cover.marks if isinstance(m, Group) and m.name == "picture")
    x0, y0, x1, y1 = extent(picture)
    assert x1 - x0 > 0.7 * (cover.width - 42) or y1 - y0 > 0.27 * cover.height
    front = [s for s in sheets_of(path) if s.kind in ("cover", "notes")]
    texts = " ".join(m.text for s in front for m in drawn(s.marks) if isinstance(m, Lettering))
    for words in ("CAUTION", "Local codes", "do not scale", "Left and right", "Face side", "Overall"):
        assert words in texts
    links = {m.sheet for s in front for m in each_mark(s.marks) if isinstance(m, Link)}
    assert {part_sheets(path)[0].number} <= links


def test_composing_again_gives_the_same_sheets() -> None:
    facts = worked_out.facts_of(worked_out.ROOT / "tests" / "designs" / "joints" / "butt.yaml")
    assert compose_sheets(facts) == compose_sheets(facts)


@every_design
def test_the_general_notes_take_one_sheet_with_one_caution_box(path: Path) -> None:
    """Two at most, where a long index goes on from the cover or the notes are many."""
    found = [s for s in sheets_of(path) if s.title.startswith("General notes")]
    words = [[m.text for m in drawn(s.marks) if isinstance(m, Lettering)] for s in found]
    assert len(found) <= 2
    assert sum(w.count("CAUTION") for w in words) == 1


@every_design
def test_the_cover_s_index_names_every_part(path: Path) -> None:
    """The index goes on under the general notes where the cover is full."""
    words = {m.text for s in sheets_of(path)[:2] for m in drawn(s.marks) if isinstance(m, Lettering)}
    assert {m.mark for m in facts_of(path).model.members if m.role == "work"} <= words


@every_design
def test_a_note_stands_once_on_a_part_sheet(path: Path) -> None:
    for sheet in part_sheets(path):
        for group in (m for m in sheet.marks if isinstance(m, Group) and m.name == "part notes"):
            lines = [m.text.lower().rstrip(".") for m in drawn([group]) if isinstance(m, Lettering)]
            sentences = [t for t in lines if t.count(" ") > 3]
            assert len(sentences) == len(set(sentences)), sheet.title


@every_design
def test_a_part_sheet_leads_to_the_set_ups_of_its_part(path: Path) -> None:
    with_cuts = {s.member for s in facts_of(path).machining.setups}
    numbers = {s.number for s in sheets_of(path) if s.kind == "set-ups"}
    for mark in with_cuts & {s.members[0] for s in part_sheets(path)}:
        first = next(s for s in part_sheets(path) if s.members[0] == mark)
        words = " ".join(m.text for m in drawn(first.marks) if isinstance(m, Lettering))
        assert any(f"see {number}" in words for number in numbers), first.title


@worked_out.given("flared-planter", "potting-bench")
def test_no_view_stands_alone_on_a_sheet_where_one_scale_smaller_takes_it_in(path):
    """The planter's bottom and the bench's front leg are a sheet each at 1:8, where 1:4 takes a second one for the
    view of the edge alone."""
    name = {"flared-planter": "bottom", "potting-bench": "front leg"}[path.stem]
    mark = next(m.mark for m in worked_out.facts_of(path).bench.members if m.name == name)
    (sheet,) = [s for s in worked_out.sheets_of(path) if s.kind == "part" and s.members == (mark,)]
    assert {"face", "edge"} <= {v.name for v in sheet.views}
