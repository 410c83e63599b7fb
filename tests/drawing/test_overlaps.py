"""Lettering over other ink is found, by what is really drawn."""

from __future__ import annotations

import math

import pytest

from plangen.drawing.lettering import text_box
from plangen.drawing.mark_geometry import extent, moved, rectangle
from plangen.drawing.marks import Fill, Group, Lettering, Mark, Stroke
from plangen.drawing.overlaps import overlaps
from plangen.geometry.curves import Arc, Bezier, EllipseArc, Line

WORD = Lettering("HOLE", (100, 100), 5)


@pytest.mark.parametrize(
    "other",
    [
        Lettering("X", (105, 101), 3.5),
        Lettering("X", (105, 98), 3.5, rotation=45),
        Stroke((Line((90, 102), (130, 102)),), "narrow"),
        Stroke((Line((90, 90), (120, 115)),), "outline"),
        Stroke((Arc((106, 80), 22, 0, math.pi),), "hidden"),
        Fill(rectangle((0, 0, 200, 200)), 0.5),
    ],
)
def test_text_on_ink_is_named(other: Mark) -> None:
    (found,) = overlaps([WORD, Group("view", (other,))])
    assert WORD in (found.text, found.other)


def test_a_line_through_the_gap_over_small_letters_is_free_but_not_with_a_clearance() -> None:
    _, _, x1, y1 = text_box("HOLE", 5)
    line = Stroke((Line((100, 100 + y1 + 0.5), (100 + x1, 100 + y1 + 0.5)),), "narrow")
    assert overlaps([WORD, line]) == ()
    assert len(overlaps([WORD, line], 0.7)) == 1


def test_a_large_circle_round_a_word_does_not_touch_it() -> None:
    assert overlaps([WORD, Stroke((Arc((106, 102), 20, 0, 2 * math.pi),), "outline", True)]) == ()


def test_extents_are_those_of_the_true_curve() -> None:
    arc = Stroke((Arc((0, 0), 10, math.radians(-30), math.radians(100)),), "outline")
    assert extent(arc) == pytest.approx((10 * math.cos(math.radians(100)) - 0.25, -5.25, 10.25, 10.25))
    ellipse = Fill((EllipseArc((0, 0), (3, 3), (-1, 1), 0, 2 * math.pi),))
    assert extent(ellipse) == pytest.approx((-(10**0.5), -(10**0.5), 10**0.5, 10**0.5))


def test_moving_moves_every_kind_of_curve() -> None:
    curves = (Line((0, 0), (1, 0)), Arc((0, 0), 1, 0, 1), EllipseArc((0, 0), (2, 0), (0, 1), 0, 1))
    for curve in (*curves, Bezier(((0, 0), (1, 2), (3, 0)))):
        before, after = Stroke((curve,), "rule"), moved(Stroke((curve,), "rule"), (7.0, -3.0))
        x0, y0, x1, y1 = extent(before)
        assert extent(after) == pytest.approx((x0 + 7, y0 - 3, x1 + 7, y1 - 3))
