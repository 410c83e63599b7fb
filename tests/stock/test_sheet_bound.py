"""What no layout can cost less than, by every pattern of edge-to-edge cuts, held to what others have published."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.stock import SheetPart, SheetStock, cut_sheets
from plangen.stock.sheets import compiled, guillotine, ruin
from plangen.stock.sheets.asked import ask
from plangen.stock.sheets.bound import least_cost
from plangen.stock.sheets.guillotine import fill, fill_by_rows, least_by_patterns, sheet_of

GCUT1 = (
    (167, 184), (114, 118), (167, 152), (83, 140), (70, 86), (143, 166), (120, 160), (66, 148), (87, 141), (69, 165),
)  # fmt: skip
"""Beasley 1985, problem gcut1 of the OR-Library: pieces worth their area, out of 250 by 250."""


def table_of(parts, x, y, turn=False):
    asked = ask([SheetStock("sheet", x, y)], parts, 0, 0, turn, None, None)
    return asked, sheet_of(asked, 0)


@pytest.mark.parametrize(("turn", "most"), [(False, 56460), (True, 58136)])
def test_the_most_that_a_published_sheet_can_hold(turn, most):
    """Cintra, Miyazawa, Wakabayashi and Xavier, tables of gcut1 and gcut1r at ime.usp.br/~glauber/gcut (read)."""
    parts = [SheetPart(str(k), a, b, 9) for k, (a, b) in enumerate(GCUT1)]
    _, sheet = table_of(parts, 250, 250, turn)
    filled = sheet.filled([a * b for a, b in GCUT1], fill_by_rows)
    content = filled.held()
    assert filled.best[-1, -1] == most == sum(n * GCUT1[k][0] * GCUT1[k][1] for k, n in content)


@settings(max_examples=15, deadline=None)
@given(
    st.lists(st.tuples(st.integers(4, 30), st.integers(4, 30), st.integers(1, 3)), min_size=1, max_size=5),
    st.lists(st.floats(0.01, 9), min_size=5, max_size=5),
    st.booleans(),
)
def test_no_sheet_of_any_layout_holds_more_than_the_most(sizes, worth, turn):
    parts = [SheetPart(str(k), a, b, n) for k, (a, b, n) in enumerate(sizes)]
    asked, sheet = table_of(parts, 40, 36, turn)
    filled = sheet.filled(worth[: len(parts)], fill_by_rows)
    most = filled.best[-1, -1]
    assert sum(n * worth[k] for k, n in filled.held()) == pytest.approx(most)
    layout = cut_sheets([SheetStock("sheet", 40, 36)], parts, turn=turn, effort=1)
    for s in layout.sheets:
        assert sum(worth[p.part] for p in s.placed) <= most * (1 + 1e-12)
    cost = layout.cost
    assert (
        least_cost(asked, True) <= least_by_patterns(asked, [], least_cost(asked, True), cost, 10**6) <= cost
    )


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.integers(3, 20), st.integers(3, 20), st.floats(0, 5)), min_size=1, max_size=4))
def test_many_cuts_at_once_are_worth_what_one_after_another_is(sizes):
    _, sheet = table_of([SheetPart(str(k), a, b, 3) for k, (a, b, _) in enumerate(sizes)], 24, 21)
    worth = [w for *_, w in sizes]
    assert np.array_equal(sheet.filled(worth, fill).best, sheet.filled(worth, fill_by_rows).best)


WORKSHOP = (
    (2440, 1220),
    [
        (538, 280, 2),
        (259, 150, 8),
        (1950, 580, 4),
        (1089, 320, 1),
        (1052, 320, 8),
        (271, 80, 2),
        (2100, 330, 2),
    ],
)
"""A made-up job: 27 parts, with a 3 mm saw cut."""


def test_a_layout_is_proven_where_areas_leave_it_open():
    (x, y), sizes = WORKSHOP
    stock = [SheetStock("ply", x, y)]
    parts = [SheetPart(str(k), a, b, n) for k, (a, b, n) in enumerate(sizes)]
    asked = ask(stock, parts, 3, 0, False, None, None)
    layout = cut_sheets(stock, parts, 3, 0, False, effort=6)
    assert least_cost(asked, True) < layout.cost
    assert layout.proven


def test_sheets_in_the_shop_are_counted_at_nothing_by_the_bound():
    """Common practice: what is there is used first; one sheet of two need not be bought."""
    stock = [SheetStock("ply", 100, 100, 9.0), SheetStock("left over", 100, 100, None, 1, shop=True)]
    asked = ask(stock, [SheetPart("panel", 60, 60, 2)], 0, 0, True, None, None)
    assert least_by_patterns(asked, [], 0.0, 9.0, 10**6) == pytest.approx(9.0)


def test_a_grid_too_fine_leaves_the_bound_as_it_was():
    parts = [SheetPart(str(k), 40.001 + 7.013 * k, 33.007 + 3.019 * k, 9) for k in range(9)]
    asked, _ = table_of(parts, 2440, 1220)
    assert sheet_of(asked, 0, 500) is None
    assert least_by_patterns(asked, [], 3.0, 9.0, 10) == 3.0


def test_what_is_kept_in_loops_is_what_is_kept_in_slices(monkeypatch):
    parts = [SheetPart("side", 720, 300, 4), SheetPart("shelf", 562, 280, 6), SheetPart("back", 720, 580, 2)]
    plain = cut_sheets([SheetStock("ply", 2440, 1220)], parts, 3, 10, effort=1)
    monkeypatch.setattr(ruin, "keep", compiled._keep)
    assert cut_sheets([SheetStock("ply", 2440, 1220)], parts, 3, 10, effort=1) == plain
    assert guillotine.compiled_filling() is None or guillotine.compiled_filling().py_func is fill


def test_no_layout_costs_less_than_the_cheapest_sheet():
    stock = [SheetStock("half", 1220, 610, 19.0), SheetStock("whole", 1525, 1525, 34.0)]
    asked = ask(stock, [SheetPart("side", 420, 120, 2)], 3, 0, False, None, None)
    assert least_cost(asked, False) == 19.0
