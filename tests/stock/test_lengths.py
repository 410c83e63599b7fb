"""Standard lengths: what is bought holds what is cut."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.stock.lengths import Purchase, first_fit, lengths_to_buy

IN = 25.4


def test_four_24_inch_pieces_do_not_come_from_a_96_inch_board() -> None:
    # A kerf article (read): with a 1/8 in kerf the fourth piece is 23-5/8 in long.
    assert len(first_fit([24 * IN] * 4, 96 * IN, IN / 8)) == 2
    assert len(first_fit([24 * IN] * 3 + [(23 + 5 / 8) * IN], 96 * IN, IN / 8)) == 1
    assert len(first_fit([24 * IN] * 4, 96 * IN, 0.0)) == 1


def test_pieces_of_one_length_follow_the_kerf_formula() -> None:
    # floor((stock + kerf) / (piece + kerf)): n pieces need n - 1 kerfs.
    for piece, stock, kerf in itertools.product(
        (10.0, 23.5, 24.0, 31.9), (96.0, 120.0, 192.0), (0.0, 0.125, 0.25)
    ):
        each = math.floor((stock + kerf) / (piece + kerf) + 1e-9)
        assert len(first_fit([piece] * each, stock, kerf)) == 1
        assert len(first_fit([piece] * (each + 1), stock, kerf)) == 2


parts = st.lists(st.floats(10, 2400).map(lambda v: round(v, 1)), min_size=1, max_size=25)


@given(parts)
def test_every_part_lies_in_one_piece_and_no_piece_is_overfilled(lengths: list[float]) -> None:
    kerf, stock = 3.0, 2400.0
    layout = first_fit(lengths, stock, kerf)
    assert sorted(itertools.chain(*layout)) == sorted(lengths)
    for piece in layout:
        assert sum(piece) + kerf * (len(piece) - 1) <= stock + 1e-5


def fewest(lengths: list[int], stock: int) -> int:
    """The fewest pieces, by trying every assignment."""
    best = len(lengths)

    def place(rest: list[int], bins: list[int]) -> None:
        nonlocal best
        if len(bins) >= best:
            return
        if not rest:
            best = len(bins)
            return
        for i, room in enumerate(bins):
            if room >= rest[0]:
                place(rest[1:], [*bins[:i], room - rest[0], *bins[i + 1 :]])
        place(rest[1:], [*bins, stock - rest[0]])

    place(sorted(lengths, reverse=True), [])
    return best


@settings(max_examples=60)
@given(st.lists(st.integers(5, 60), min_size=1, max_size=8))
def test_first_fit_is_within_its_published_bound_of_the_fewest(lengths: list[int]) -> None:
    # Johnson 1973; Dosa 2007: at most 11/9 of the fewest, plus 6/9 (memory).
    assert len(first_fit(list(map(float, lengths)), 60.0, 0.0)) <= 11 / 9 * fewest(lengths, 60) + 6 / 9 + 1e-9


def test_the_standard_length_that_buys_least_is_taken() -> None:
    feet = [n * 12 * IN for n in (8, 10, 12)]
    assert lengths_to_buy([59 * IN] * 4, feet, IN / 8, 12 * IN) == (Purchase(120 * IN, 2),)
    assert lengths_to_buy([47 * IN] * 4, feet, IN / 8, 12 * IN) == (Purchase(96 * IN, 2),)
    assert lengths_to_buy([130 * IN], feet, IN / 8, 12 * IN) == (Purchase(144 * IN, 1),)


def test_a_part_longer_than_every_standard_length_is_bought_by_itself() -> None:
    bought = lengths_to_buy([200 * IN, 50 * IN], [96 * IN, 192 * IN], IN / 8, 12 * IN)
    assert bought == (Purchase(pytest.approx(204 * IN), 1), Purchase(96 * IN, 1))


@given(parts)
def test_what_is_bought_is_at_least_what_is_cut(lengths: list[float]) -> None:
    bought = lengths_to_buy(lengths, [1800.0, 2100.0], 3.0, 100.0)
    assert sum(p.length * p.count for p in bought) >= sum(lengths) - 1e-3
