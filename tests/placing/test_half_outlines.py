"""Half an outline, mirrored about the line through its first point and its last."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import build

PANEL = """
title: T
units: mm
stock: {{ply: {{ask for: birch plywood, thickness: 12, width: 600}}}}
members:
  panel:
    stock: ply
    outline: {outline}
    place: {{length: right, face: up, corner: [0, 0, 0]}}
"""


def panel(outline):
    return build(PANEL.format(outline=outline)).member("panel").solid


def both(points, more=""):
    """The half outline, and the whole one written out, of points beside the line w = 200."""
    other = [[x, 400 - y] for x, y in reversed(points[1:-1])]
    return panel(f"{{points: {points}, mirrored: yes{more}}}"), panel(f"{{points: {points + other}{more}}}")


HALF = [[0, 200], [0, 120], [150, 0], [420, 60], [500, 200]]


@pytest.mark.parametrize("more", ["", ", round: 20", ", smooth: yes"])
def test_half_an_outline_is_the_whole_one_written_out(more):
    half, whole = both(HALF, more)
    assert half.volume == pytest.approx(whole.volume, rel=1e-12)
    assert half.centroid == pytest.approx(whole.centroid, abs=1e-9)


def test_each_radius_serves_its_corner_on_both_halves():
    half = panel(f"{{points: {HALF}, mirrored: yes, round: [0, 10, 40, 0, 90]}}")
    other = [[x, 400 - y] for x, y in reversed(HALF[1:-1])]
    whole = panel(f"{{points: {HALF + other}, round: [0, 10, 40, 0, 90, 0, 40, 10]}}")
    assert half.volume == pytest.approx(whole.volume, rel=1e-12)


@settings(max_examples=12, deadline=None)
@given(st.integers(-60, 60), st.lists(st.integers(20, 200), min_size=2, max_size=5))
def test_it_has_twice_the_area_of_its_half_about_any_line(angle, offs):
    """The half's area by the trapezoid rule about its own mirror line (school geometry)."""
    turn = math.radians(angle)
    along, aside = (math.cos(turn), math.sin(turn)), (math.sin(turn), -math.cos(turn))
    start = (250 - 200 * along[0], 400 - 200 * along[1])
    places = [(400 * (i + 1) / (len(offs) + 1), off) for i, off in enumerate(offs)]
    flat = [(0, 0), *places, (400, 0)]
    points = [[start[i] + x * along[i] + y * aside[i] for i in (0, 1)] for x, y in flat]
    area = sum((b[0] - a[0]) * (a[1] + b[1]) for a, b in pairwise(flat))
    low = [min(0.0, *(p[i] for p in points)) - 500 for i in (0, 1)]
    moved = [[round(p[i] - low[i], 9) for i in (0, 1)] for p in points]
    text = PANEL.format(outline=f"{{points: {moved}, mirrored: yes}}").replace("width: 600", "width: 3000")
    assert build(text).member("panel").solid.volume == pytest.approx(12 * area, rel=1e-7)
