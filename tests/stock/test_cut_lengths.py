"""Parts on boards: what costs least, what is left, what is honest about it."""

import itertools
import os
import random
import subprocess
import sys

import pytest
from bars_checked import faults
from bars_tried import least_and_longest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.stock import LengthPart, LengthStock, NoLayout, cut_lengths

IN = 25.4


def test_four_24_inch_pieces_do_not_come_from_a_96_inch_board() -> None:
    # A kerf article (read): with a 1/8 in kerf the fourth piece is 23-5/8 in long.
    board = [LengthStock("8 ft", 96 * IN)]
    assert cut_lengths(board, [LengthPart("shelf", 24 * IN, 4)], IN / 8).used == (2,)
    fits = cut_lengths(
        board, [LengthPart("shelf", 24 * IN, 3), LengthPart("last", (23 + 5 / 8) * IN)], IN / 8
    )
    assert fits.used == (1,)
    assert fits.offcuts == ()
    assert cut_lengths(board, [LengthPart("shelf", 24 * IN, 4)], 0.0).used == (1,)


def test_a_24_inch_board_is_23_7_8_inches_long_after_one_cut() -> None:
    # A saw maker's article (read): what is left of 24 in after a cut of 1/8 in, cut and part together.
    layout = cut_lengths([LengthStock("board", 24 * IN)], [LengthPart("block", 4 * IN)], IN / 8)
    assert layout.offcuts[0][1].length + 4 * IN == pytest.approx((23 + 7 / 8) * IN)


def test_pieces_of_one_length_follow_the_kerf_formula() -> None:
    # floor((stock - trim + kerf) / (piece + kerf)), trim of both ends together.
    for piece, kerf, trim in itertools.product((235, 240, 319), (0, 3, 4), (0, 13)):
        each = (2440 - 2 * trim + kerf) // (piece + kerf)
        boards = [LengthStock("board", 2440)]
        assert cut_lengths(boards, [LengthPart("part", piece, each)], kerf, trim).used == (1,)
        assert cut_lengths(boards, [LengthPart("part", piece, each + 1)], kerf, trim).used == (2,)


def test_a_part_that_ends_with_the_board_needs_no_cut() -> None:
    # n parts need n cuts, and one less if the last ends where the board ends (arithmetic).
    flush = cut_lengths([LengthStock("board", 903)], [LengthPart("part", 300, 3)], 1.5)
    assert [c.at for c in flush.cuts] == [300, 601.5]
    longer = cut_lengths([LengthStock("board", 904)], [LengthPart("part", 300, 3)], 1.5)
    assert [c.at for c in longer.cuts] == [300, 601.5, 903]
    assert longer.offcuts == ()
    assert longer.stops == ((300, 3),)


jobs = st.builds(
    lambda stock, parts, kerf, trim: (stock, parts, kerf, trim),
    st.lists(
        st.builds(
            LengthStock,
            st.just("board"),
            st.integers(40, 100),
            st.none(),
            st.sampled_from([None, None, 1, 2]),
            st.sampled_from([False, False, True]),
            st.sampled_from([(), (), ((20, 24),), ((5, 6), (30, 31))]),
            st.sampled_from([None, None, 0]),
        ),
        min_size=1,
        max_size=3,
    ),
    st.lists(
        st.builds(
            LengthPart,
            st.just("part"),
            st.integers(8, 45),
            st.integers(1, 3),
            st.sampled_from(["", "", "", "pair"]),
        ),
        min_size=1,
        max_size=4,
    ),
    st.integers(0, 3),
    st.integers(0, 2),
)


@settings(max_examples=60, deadline=None)
@given(jobs, st.booleans())
def test_a_proven_layout_costs_the_least_of_all_ways(
    job: tuple[list[LengthStock], list[LengthPart], int, int], priced: bool
) -> None:
    stock, parts, kerf, trim = job
    if priced:
        stock = [
            LengthStock(s.name, s.length, 5 + k * 7 % 11, s.count, s.shop, s.keep_outs, s.trim)
            for k, s in enumerate(stock)
        ]
    least = least_and_longest(stock, parts, kerf, trim)
    if least is None:
        with pytest.raises(NoLayout):
            cut_lengths(stock, parts, kerf, trim)
        return
    layout = cut_lengths(stock, parts, kerf, trim)
    assert faults(layout) == []
    assert layout.proven
    assert layout.cost == least[0]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.integers(8, 45), min_size=3, max_size=9), st.integers(0, 3), st.sampled_from([60, 77, 100])
)
def test_of_equal_cost_the_longest_offcut_is_left(lengths: list[int], kerf: int, board: int) -> None:
    stock, parts = [LengthStock("board", board)], [LengthPart("part", n) for n in lengths]
    best = least_and_longest(stock, parts, kerf, 0)
    layout = cut_lengths(stock, parts, kerf)
    assert faults(layout) == []
    assert best is not None
    assert (layout.cost, max((o.length for _, o in layout.offcuts), default=0)) == best


def test_equal_boards_are_cut_alike_if_that_costs_no_more() -> None:
    # Three boards of 5 + 4 leave as much as 5 + 5, 4 + 4, 5 + 4 and need one setting of the layout instead of three.
    layout = cut_lengths([LengthStock("board", 10)], [LengthPart("long", 5, 3), LengthPart("short", 4, 3)])
    assert layout.used == (3,)
    assert max(o.length for _, o in layout.offcuts) == 2
    assert layout.patterns == 3
    same = cut_lengths([LengthStock("board", 9)], [LengthPart("long", 5, 3), LengthPart("short", 4, 3)])
    assert same.patterns == 1


@pytest.mark.parametrize("seed", range(3))
def test_triplets_that_fill_their_boards_are_put_together_again(seed: int) -> None:
    # Falkenauer's class: lengths drawn so that three fill a board; the least is known by construction.
    rng = random.Random(seed)
    lengths = []
    for _ in range(20):
        first = rng.randint(380, 490)
        second = rng.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]
    layout = cut_lengths([LengthStock("board", 1000)], [LengthPart("part", n) for n in lengths])
    assert faults(layout) == []
    assert (layout.used, layout.proven) == ((20,), True)


def test_where_length_would_do_for_two_boards_three_are_proven_to_be_needed() -> None:
    # The classic of Fieldhouse 1990 (memory): 44, 33 and 12 in 132, twice, three and six times.
    parts = [LengthPart("a", 44, 2), LengthPart("b", 33, 3), LengthPart("c", 12, 6)]
    layout = cut_lengths([LengthStock("board", 132)], parts)
    assert sum(p.length * p.quantity for p in parts) < 2 * 132
    assert (layout.used, layout.bound, layout.proven) == ((3,), 3 * 132, True)


def test_the_shop_comes_first() -> None:
    stock = [LengthStock("bought", 2400), LengthStock("rack", 900, count=2, shop=True, trim=0)]
    layout = cut_lengths(stock, [LengthPart("part", 800, 4)], 3, 20)
    assert faults(layout) == []
    assert layout.used == (1, 2)
    assert layout.cost == 2400


def test_a_knot_is_cut_out_and_matched_parts_stay_together() -> None:
    stock = [LengthStock("seen", 2000, count=1, keep_outs=((600, 640),))]
    parts = [LengthPart("side", 500, 2, "box"), LengthPart("end", 300, 1, "box"), LengthPart("lid", 580)]
    layout = cut_lengths(stock, parts, 3, 10)
    assert faults(layout) == []
    box = [p for p in layout.bars[0].parts if parts[p.part].matched]
    assert [p.part for p in box] == [0, 0, 1]
    assert box[0].at == 640
    assert [c.kind for c in layout.cuts].count("clear") == 1


def test_a_part_longer_than_every_clear_length_is_named() -> None:
    with pytest.raises(NoLayout, match=r"rail: 990 mm is longer than any clear length \(980 mm\)"):
        cut_lengths([LengthStock("board", 1000)], [LengthPart("rail", 990)], 3, 10)
    with pytest.raises(NoLayout, match="the matched parts box, 3 in one clear length"):
        cut_lengths([LengthStock("board", 1000)], [LengthPart("side", 400, 3, "box")])
    with pytest.raises(NoLayout, match="do not hold all parts"):
        cut_lengths([LengthStock("board", 1000, count=2)], [LengthPart("part", 600, 3)])


def test_what_is_no_length_count_or_price_is_told() -> None:
    board, part = LengthStock("board", 1000), LengthPart("part", 100)
    for stock, parts, kerf, words in (
        ([board], [LengthPart("part", 0)], 3, "part: its length"),
        ([board], [part], -1, "kerf"),
        ([LengthStock("board", 1000, count=-1)], [part], 3, "board: its length"),
        ([board, LengthStock("dear", 2000, 9.5)], [part], 3, "without one: board"),
        ([LengthStock("board", 1000, keep_outs=((9, 9),))], [part], 3, "keep-out"),
    ):
        with pytest.raises(ValueError, match=words):
            cut_lengths(stock, parts, kerf)


def test_nothing_asked_for_needs_no_board() -> None:
    layout = cut_lengths([LengthStock("board", 1000)], [LengthPart("part", 100, 0)])
    assert (layout.bars, layout.cost, layout.proven, layout.waste) == ((), 0, True, 0)


def test_the_first_valid_layout_says_that_it_is_no_more() -> None:
    parts = [LengthPart("a", 44, 2), LengthPart("b", 33, 3), LengthPart("c", 12, 6)]
    first = cut_lengths([LengthStock("board", 132)], parts, effort=0)
    assert faults(first) == []
    assert (first.ended, first.proven, first.bound) == ("first", False, 2 * 132)
    assert first.worth == "at most 50 % above the least that any layout can cost"


_AGAIN = """
from plangen.stock import *
rng = __import__("random").Random(7)
parts = [LengthPart(str(k), rng.randint(200, 1100), rng.randint(1, 3)) for k in range(14)]
stock = [LengthStock("8", 2438.4, 9.5), LengthStock("10", 3048, 12), LengthStock("rack", 1500, count=1, shop=True)]
print(cut_lengths(stock, parts, 3.175, 12.7))
"""


def test_the_same_job_has_the_same_layout_under_every_hash_seed() -> None:
    seen = set()
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", _AGAIN], env=env, capture_output=True, text=True, check=True
        )
        seen.add(done.stdout[done.stdout.index("LengthLayout(") :])
    assert len(seen) == 1


def test_libraries_of_the_search_are_loaded_when_it_is_asked_for() -> None:
    code = "import sys, plangen.stock as s; assert not {'highspy', 'numpy'} & set(sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True)
