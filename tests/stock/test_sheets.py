"""Parts from sheets: every layout checked by arithmetic of its own, the bound against every way there is."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_checker import check_layout, leaves_of

from plangen.stock import NoLayout, SheetPart, SheetStock, cut_sheets
from plangen.stock.sheets.cuts import numbered_cuts
from plangen.stock.sheets.cuts import settings as stop_settings
from plangen.stock.sheets.layout import KeepOut

SIZES = st.integers(40, 900)


@st.composite
def jobs(draw):
    keep_out = st.builds(
        KeepOut, st.integers(-50, 1200), st.integers(-50, 700), st.integers(1, 200), st.integers(1, 200)
    )
    stock = [
        SheetStock(
            f"sheet {k}",
            draw(st.sampled_from((1220.0, 1525.0, 2440.0))),
            draw(st.sampled_from((1000.0, 1220.0))),
            draw(st.sampled_from((10, 20, 30.5))),
            None if k == 0 else draw(st.integers(0, 2)),
            draw(st.sampled_from(("along", "across", "none"))),
            tuple(draw(st.lists(keep_out, max_size=2))) if k else (),
        )
        for k in range(draw(st.integers(1, 3)))
    ]
    parts = [
        SheetPart(
            f"part {k}",
            draw(SIZES),
            draw(SIZES) + draw(st.sampled_from((0, 0.5, 0.396875))),
            draw(st.integers(0, 4)),
            draw(st.sampled_from(("any", "along", "across"))),
        )
        for k in range(draw(st.integers(1, 6)))
    ]
    return (
        stock,
        parts,
        draw(st.sampled_from((0, 3, 3.2))),
        draw(st.sampled_from((0, 5))),
        draw(st.booleans()),
        draw(st.sampled_from((None, "rip", "crosscut"))),
        draw(st.sampled_from((None, 2, 3))),
    )


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_every_layout_can_be_sawn_and_holds_every_part_once(job):
    check_layout(cut_sheets(*job, effort=1), *job)


def sawn(layout, sheet):
    """The pieces that the numbered cuts leave of a sheet, each cut made where it says and from edge to edge."""
    sold, kerf = layout.stock[sheet.stock], layout.kerf
    pieces = [(0.0, 0.0, float(sold.length), float(sold.width))]
    for cut in numbered_cuts(layout, sheet):
        (ax, ay), (bx, by) = cut.start, cut.end
        at = 0 if cut.cut == "crosscut" else 1
        hit = [
            p
            for p in pieces
            if (at == 0 and p[0] < ax < p[2] and abs(p[1] - ay) < 1e-5 and abs(p[3] - by) < 1e-5)
            or (at == 1 and p[1] < ay < p[3] and abs(p[0] - ax) < 1e-5 and abs(p[2] - bx) < 1e-5)
        ]
        assert len(hit) == 1, f"cut {cut.number} does not run from edge to edge of one piece"
        p = hit[0]
        pieces.remove(p)
        line = (ax, ay)[at]
        far = cut.trims and line < p[at + 2] / 2
        low, high = [*p], [*p]
        low[at + 2], high[at] = (line - kerf, line) if far else (line, line + kerf)
        kept = high if far else low
        assert abs(kept[at + 2] - kept[at] - cut.setting) < 1e-5, "the stop is not set to what is measured"
        pieces += [tuple(q) for q in (low, high) if q[at + 2] - q[at] > 1e-5]
    return pieces


@settings(max_examples=25, deadline=None)
@given(jobs())
def test_the_numbered_cuts_made_one_after_another_leave_the_parts(job):
    layout = cut_sheets(*job, effort=0)
    for sheet in layout.sheets:
        left = sorted(
            (round(a, 3), round(b, 3), round(c - a, 3), round(d - b, 3)) for a, b, c, d in sawn(layout, sheet)
        )
        for p in sheet.placed:
            assert (round(p.x, 3), round(p.y, 3), round(p.length, 3), round(p.width, 3)) in left
        cuts = numbered_cuts(layout, sheet)
        assert [c.number for c in cuts] == list(range(1, len(cuts) + 1))
        assert all(c.of < c.number for c in cuts)
        assert sorted(n for _, _, ns in stop_settings(cuts) for n in ns) == [c.number for c in cuts]


def fewest_sheets(parts, x, y, kerf, turn):
    """Every way to divide a few parts among sheets, every way to cut: with the kerf added, behind a sum of sides."""
    parts = [(a + kerf, b + kerf) for a, b in parts]
    x, y = x + kerf, y + kerf
    known = {}

    def fit(some, x, y):
        if len(some) == 1:
            a, b = parts[some[0]]
            return (a <= x and b <= y) or (turn and b <= x and a <= y)
        key = (some, x, y)
        if key not in known:
            known[key] = sum(parts[p][0] * parts[p][1] for p in some) <= x * y and any(
                (any(fit(a, c, y) and fit(b, x - c, y) for c in sums(a) if c < x))
                or (any(fit(a, x, c) and fit(b, x, y - c) for c in sums(a) if c < y))
                for a, b in halves(some)
            )
        return known[key]

    def sums(some):
        found = {0}
        for p in some:
            found |= {f + side for f in found for side in parts[p]}
        return sorted(found - {0})

    def fewest(some):
        if not some:
            return 0
        first, rest = some[0], some[1:]
        best = len(some)
        for mask in range(1 << len(rest)):
            one = (first, *(p for k, p in enumerate(rest) if mask >> k & 1))
            if fit(one, x, y):
                best = min(best, 1 + fewest(tuple(p for p in rest if p not in one)))
        return best

    return fewest(tuple(range(len(parts))))


def halves(some):
    """Every way to divide some into two."""
    for mask in range(1, (1 << len(some)) - 1):
        yield (
            tuple(p for k, p in enumerate(some) if mask >> k & 1),
            tuple(p for k, p in enumerate(some) if not mask >> k & 1),
        )


@settings(max_examples=60, deadline=None)
@given(
    st.integers(6, 12),
    st.integers(6, 12),
    st.lists(st.tuples(st.integers(1, 8), st.integers(1, 8)), min_size=1, max_size=5),
    st.integers(0, 1),
    st.booleans(),
)
def test_the_bound_is_below_every_way_there_is_and_a_few_parts_are_cut_as_well_as_can_be(
    x, y, sizes, kerf, turn
):
    sizes = [(min(a, x), min(b, y)) for a, b in sizes]
    best = fewest_sheets(sizes, x, y, kerf, turn)
    parts = [SheetPart(f"part {k}", a, b) for k, (a, b) in enumerate(sizes)]
    layout = cut_sheets([SheetStock("sheet", x, y, 1)], parts, kerf, 0, turn, effort=2)
    assert layout.bound <= best
    assert len(layout.sheets) == best


@settings(max_examples=40, deadline=None)
@given(
    st.integers(5, 9),
    st.integers(5, 9),
    st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5)), min_size=2, max_size=5),
)
def test_with_two_sizes_of_sheet_the_bound_is_below_every_choice(x, y, sizes):
    """The fewest of either size for every way to divide the parts between them is a cost that can be had."""
    small = (5, 5)
    price = (x * y, 26)
    best = min(
        price[0] * fewest_sheets([sizes[k] for k in some], x, y, 0, True)
        + price[1] * fewest_sheets([sizes[k] for k in range(len(sizes)) if k not in some], *small, 0, True)
        for some in ([k for k in range(len(sizes)) if mask >> k & 1] for mask in range(1 << len(sizes)))
    )
    stock = [SheetStock("large", x, y, price[0]), SheetStock("small", *small, price[1])]
    layout = cut_sheets(stock, [SheetPart(f"part {k}", a, b) for k, (a, b) in enumerate(sizes)], effort=2)
    assert layout.bound <= best + 1e-9
    assert layout.cost == best


SHELVES = [SheetPart("side", 720, 300, 4), SheetPart("shelf", 562, 280, 6), SheetPart("back", 720, 580, 2)]


def test_the_same_job_gives_the_same_layout():
    ply = [SheetStock("ply", 2440, 1220)]
    assert cut_sheets(ply, SHELVES, 3, 10, effort=2) == cut_sheets(ply, SHELVES, 3, 10, effort=2)


def test_lists_and_arrays_give_the_same_layout(monkeypatch):
    """What a compiled search works on, run as it stands: nothing depends on which it is."""
    from plangen.stock.sheets import ruin, solve

    ply = [SheetStock("ply", 2440, 1220)]
    plain = cut_sheets(ply, SHELVES, 3, 10, effort=1)
    monkeypatch.setattr(solve, "worth_compiling", lambda moves, parts: True)
    monkeypatch.setattr(solve, "compiled_search", lambda: ruin.search)
    assert cut_sheets(ply, SHELVES, 3, 10, effort=1) == plain


def test_four_sides_that_fill_a_sheet_but_for_the_kerf_take_two():
    """Common practice: four pieces of 24 do not come out of 96, each kerf takes its part."""
    four = [SheetPart("side", 610, 1220, 4)]
    assert len(cut_sheets([SheetStock("ply", 2440, 1220)], four, 0).sheets) == 1
    assert len(cut_sheets([SheetStock("ply", 2440, 1220)], four, 3).sheets) == 2


def test_an_offcut_in_the_shop_is_used_before_a_sheet_is_bought():
    stock = [SheetStock("ply", 2440, 1220, 60), SheetStock("offcut", 800, 700, count=1, shop=True)]
    layout = cut_sheets(stock, [SheetPart("door", 2000, 1000), SheetPart("panel", 700, 600)], 3)
    assert layout.used == (1, 1)
    assert (layout.cost, layout.proven) == (60, True)


def test_what_is_left_stays_in_one_piece():
    layout = cut_sheets([SheetStock("ply", 2440, 1220)], [SheetPart("shelf", 1220, 300, 3)], 3)
    (sheet,) = layout.sheets
    assert (sheet.offcuts[0].length, sheet.offcuts[0].width) == (2440 - 3 * 303, 1220)
    assert layout.score == pytest.approx(906 / 2440)


def test_a_part_too_large_is_named_and_missing_sheets_are_told():
    with pytest.raises(NoLayout, match="door, 2500 x 900 mm, fits on no sheet"):
        cut_sheets([SheetStock("ply", 2440, 1220)], [SheetPart("door", 2500, 900)])
    with pytest.raises(NoLayout, match="not enough sheets"):
        cut_sheets([SheetStock("ply", 2440, 1220, count=1)], [SheetPart("door", 2000, 900, 2)], effort=1)
    with pytest.raises(ValueError, match="offcut has none"):
        cut_sheets([SheetStock("ply", 9, 9, 60), SheetStock("offcut", 9, 9)], [SheetPart("knob", 1, 1)])


def test_a_knot_is_cut_round():
    board = SheetStock("board", 2000, 300, keep_outs=(KeepOut(900, 100, 60, 60),))
    layout = cut_sheets([board], [SheetPart("rail", 880, 140, 4)], 3)
    job = [board], [SheetPart("rail", 880, 140, 4)], 3, 0, True
    check_layout(layout, *job)
    assert len(layout.sheets) == 1
    assert all(leaf.part is not None or leaf.length > 0 for leaf in leaves_of(layout.sheets[0].root))


@pytest.mark.parametrize(("first_cut", "stages"), [(None, None), ("rip", 2), ("crosscut", 2), (None, 3)])
def test_many_like_parts_come_out_of_strips(first_cut, stages):
    """At least as well as a person does by hand: four sides, or four shelves, or a row of rails to each of a
    sheet's strips of 300, 280 and 100."""
    parts = [
        SheetPart("side", 720, 300, 24),
        SheetPart("shelf", 562, 280, 30),
        SheetPart("rail", 400, 100, 18),
    ]
    job = [SheetStock("ply", 2440, 1220)], parts, 3, 0, True, first_cut, stages
    layout = cut_sheets(*job, effort=1)
    check_layout(layout, *job)
    by_hand = -(-(24 / 3 * 303 + 30 / 4 * 283 + 18 / 6 * 103) // 1223)
    assert len(layout.sheets) <= by_hand + 1


def test_sheets_put_together_hold_each_part_once_though_patterns_hold_more():
    from plangen.stock.sheets.asked import ask, kinds_of, start
    from plangen.stock.sheets.pool import Pool, put_together
    from plangen.stock.sheets.reading import read_back
    from plangen.stock.sheets.strips import generate
    from plangen.stock.sheets.trees import settle

    parts = [SheetPart("side", 720, 300, 7), SheetPart("shelf", 562, 280, 9), SheetPart("rail", 400, 100, 5)]
    stock = [SheetStock("ply", 2440, 1220)]
    asked = ask(stock, parts, 3, 0, True, None, None)
    kinds = kinds_of(asked)
    job, state, _ = start(asked, kinds, [21], 1)
    pool = Pool()
    for k in range(3):
        pool.met[(0, ((k, 1),))] = ()
    generate(asked, kinds, job.first, pool, 50)
    keys = [key for key, rows in pool.met.items() if rows]
    held = {k: sum(dict(content).get(k, 0) for _, content in keys) for k in range(3)}
    assert all(held[k] >= parts[k].quantity for k in range(3))
    assert any(held[k] > parts[k].quantity for k in range(3))
    put_together(keys, pool, job, state)
    settle(job, state)
    sheets = read_back(asked, kinds, job, state)
    assert sorted(p.part for s in sheets for p in s.placed) == [0] * 7 + [1] * 9 + [2] * 5
