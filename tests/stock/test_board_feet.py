"""Board feet against printed examples of the hardwood trade."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.stock.board_feet import board_feet, surface_measure
from plangen.tables.hardwood import rough_inches
from plangen.units import inches


@pytest.mark.parametrize(
    ("width", "feet", "surface"),
    # American Hardwood Export Council and dealers' pages (read): 6-1/4 in x 8 ft, 6-1/2 x 8, 8 x 12, 10 x 13.
    [("6-1/4", 8, 4), ("6-1/2", 8, 4), ("8", 12, 8), ("10", 13, 11)],
)
def test_surface_measure_is_rounded_to_whole_square_feet(width: str, feet: int, surface: int) -> None:
    assert surface_measure(inches(width) * feet / 12) == surface


def test_rounding_comes_before_thickness() -> None:
    # AHEC (read): 2 in x 6-1/4 in x 8 ft is 8 board feet, though its volume is 8.333.
    surface = surface_measure(inches("6-1/4") * 8 / 12)
    assert board_feet(surface, Fraction(2)) == 8
    assert board_feet(surface, rough_inches("8/4")) == 8


def test_a_board_foot_is_a_foot_square_and_an_inch_thick() -> None:
    # AHEC (read); a dealer's 1 x 6 x 96 in board is 4 board feet (read).
    assert board_feet(surface_measure(Fraction(1)), Fraction(1)) == 1
    assert board_feet(surface_measure(Fraction(6 * 8, 12)), Fraction(1)) == 4


def test_stock_under_an_inch_counts_as_an_inch() -> None:
    # A dealer's page (read).
    assert board_feet(12, Fraction(3, 4)) == 12
    assert board_feet(12, Fraction(5, 4)) == 15


@given(st.fractions(0, 1000))
def test_surface_measure_is_never_off_by_more_than_half_a_foot(square_feet: Fraction) -> None:
    assert abs(surface_measure(square_feet) - square_feet) <= Fraction(1, 2)
