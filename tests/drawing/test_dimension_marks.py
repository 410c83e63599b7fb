"""Dimensions drawn out: gaps, heads, figures as drafting texts ask."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from plangen.drawing.dimension_marks import arrowhead, expand, figure_base, figure_fit, reading_angle
from plangen.drawing.linework import PRACTICE
from plangen.drawing.mark_geometry import extent
from plangen.drawing.marks import AngularDimension, Fill, Leader, Lettering, LinearDimension, Mark, Stroke
from plangen.drawing.overlaps import overlaps
from plangen.geometry.curves import Line, Vec2

TEXTS = st.sampled_from(["3 15/16", "12", "(120)", "7/8", "23 5/32", "4 x 10 g"])


def lines(marks: tuple[Mark, ...]) -> list[Line]:
    return [c for m in marks if isinstance(m, Stroke) for c in m.curves if isinstance(c, Line)]


def figure(marks: tuple[Mark, ...]) -> Lettering:
    (text,) = (m for m in marks if isinstance(m, Lettering))
    return text


def dimension(
    text: str = "3 1/2", span: float = 60, level: float = -12, turn: float = 0.0
) -> LinearDimension:
    c, s = math.cos(turn), math.sin(turn)

    def at(x: float, y: float) -> Vec2:
        return (100 + x * c - y * s, 100 + x * s + y * c)

    return LinearDimension((at(0, 0), at(span, 0)), at(span / 2, level), (c, s), text, span)


def test_extension_lines_leave_a_gap_and_pass_the_dimension_line() -> None:
    """Gap 1.5 (1/16 in) in US drafting texts (read); overrun 2, about 8 d of ISO 129-1 (from memory)."""
    upright = [c for c in lines(expand(dimension())) if abs(c.start[0] - c.end[0]) < 1e-9]
    assert len(upright) == 2
    for c in upright:
        assert 100 - c.start[1] == pytest.approx(1.5)
        assert c.end[1] == pytest.approx(100 - 12 - 2.0)


def test_no_extension_line_where_the_foot_is_on_the_dimension_line() -> None:
    drawn = lines(expand(dimension(level=0.0)))
    assert len(drawn) == 1


def test_an_arrowhead_is_three_times_as_long_as_wide_and_its_point_is_at_the_end() -> None:
    """ASME Y14.2 text (read)."""
    head = arrowhead((10, 10), (1, 0))
    x0, y0, x1, y1 = extent(head)
    assert (x1 - x0) / (y1 - y0) == pytest.approx(3.0)
    assert x1 == pytest.approx(10)
    tips = sorted(extent(m) for m in expand(dimension()) if isinstance(m, Fill))
    assert tips[0][0] == pytest.approx(100)
    assert tips[1][2] == pytest.approx(160)


@given(turn=st.floats(-math.pi, math.pi), text=TEXTS, level=st.sampled_from([-30.0, -12.0, 12.0, 30.0]))
def test_the_figure_stands_clear_above_its_line_whatever_the_direction(
    turn: float, text: str, level: float
) -> None:
    marks = expand(dimension(text, 60, level, turn))
    assert overlaps(marks, 0.69) == ()
    assert -90 < figure(marks).rotation <= 90


@pytest.mark.parametrize(
    ("direction", "angle"),
    [((1, 0), 0), ((-1, 0), 0), ((0, 1), 90), ((0, -1), 90), ((math.sqrt(0.5), math.sqrt(0.5)), 45)],
)
def test_figures_read_from_the_bottom_or_the_right(direction: Vec2, angle: float) -> None:
    """ISO 129-1 (read)."""
    assert reading_angle(direction) == pytest.approx(angle)


def test_arrows_stand_outside_a_span_too_short_for_them() -> None:
    """Text and two arrows and 2 mm (drawing guide, tiers)."""
    assert figure_fit(60, "3 15/16", 3.5) == "inside"
    assert figure_fit(12, "3 15/16", 3.5) == "arrows outside"
    assert figure_fit(5, "3 15/16", 3.5) == "figure outside"
    short = LinearDimension(((100, 100), (104, 100)), (100, 88), (1, 0), "5/32", 4, arrows="outside")
    heads = [extent(m) for m in expand(short) if isinstance(m, Fill)]
    assert min(h[0] for h in heads) == pytest.approx(97)
    assert max(h[2] for h in heads) == pytest.approx(107)


def test_a_figure_beyond_the_arrows_has_the_line_drawn_on_under_it() -> None:
    base = 88 + figure_base("5/32", 3.5)
    short = LinearDimension(
        ((100, 100), (104, 100)), (100, 88), (1, 0), "5/32", 4, text_at=(116, base), arrows="outside"
    )
    marks = expand(short)
    x0, _, x1, _ = extent(figure(marks))
    level = [c for c in lines(marks) if abs(c.start[1] - 88) < 1e-9 and abs(c.end[1] - 88) < 1e-9]
    assert max(max(c.start[0], c.end[0]) for c in level) >= x1
    assert min(min(c.start[0], c.end[0]) for c in level) < x0
    assert overlaps(marks, 0.69) == ()


@given(first=st.floats(0, 360), sweep=st.floats(2, 170), radius=st.floats(15, 60), text=TEXTS)
def test_the_figure_of_an_angle_stands_outside_its_arc(
    first: float, sweep: float, radius: float, text: str
) -> None:
    marks = expand(AngularDimension((0, 0), first, first + sweep, radius, text, sweep))
    assert overlaps(marks) == ()
    assert figure(marks).rotation == 0
    x0, y0, x1, y1 = extent(figure(marks))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    away = math.degrees(math.atan2(middle[1], middle[0]))
    assert (away - first - sweep / 2 + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)


@given(dx=st.floats(-40, 40), dy=st.floats(8, 40), way=st.sampled_from([-1.0, 1.0]), text=TEXTS)
def test_the_note_of_a_leader_stands_on_its_shelf(dx: float, dy: float, way: float, text: str) -> None:
    assume(abs(dx) > 3)
    knee = (100 + dx, 100 + dy)
    marks = expand(Leader(((100, 100), knee, (knee[0] + way, knee[1])), "arrow", text))
    (stroke,) = (m for m in marks if isinstance(m, Stroke))
    shelf = stroke.curves[-1]
    x0, y0, x1, _ = extent(figure(marks))
    low, high = sorted((shelf.start[0], shelf.end[0]))
    assert low - 1e-9 <= x0 < x1 <= high + 1e-9
    assert y0 > knee[1] + PRACTICE.figure_gap - 1e-6


def test_a_leader_ends_in_a_dot_inside_a_face_and_in_an_arrow_on_an_edge() -> None:
    """ISO 128-22 text (read)."""
    path = ((100.0, 100.0), (110.0, 120.0), (115.0, 120.0))
    dot = next(m for m in expand(Leader(path, "dot", "A")) if isinstance(m, Fill))
    arrow = next(m for m in expand(Leader(path, "arrow", "A")) if isinstance(m, Fill))
    x0, y0, x1, y1 = extent(dot)
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((100, 100))
    assert x1 - x0 == pytest.approx(1.2)
    assert len(arrow.curves) == 3
    assert arrow.curves[0].start == (100.0, 100.0)
