"""Stock as a maker names it at the yard, and what it turns out to be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.tables.stock import Stock, resolve_stock, stock_notes
from plangen.tables.woods import SPELLINGS
from plangen.units import LengthUnit

IN = 25.4


@pytest.mark.parametrize(
    ("words", "units", "kind", "species", "thickness", "width"),
    [
        ("2x4 douglas fir", "in", "dimension", "douglas fir", 1.5 * IN, 3.5 * IN),
        ("2 x 4 Doug Fir", "in", "dimension", "douglas fir", 1.5 * IN, 3.5 * IN),
        ("4x4 doug fir", "in", "dimension", "douglas fir", 3.5 * IN, 3.5 * IN),
        ("1x4 oak", "in", "board", "oak", 0.75 * IN, 3.5 * IN),
        ("1×8 oak", "in", "board", "oak", 0.75 * IN, 7.25 * IN),
        ("5/4 x 6 cedar", "in", "board", "cedar", 1.0 * IN, 5.5 * IN),
        ("4/4 white oak", "in", "quarter", "white oak", 13 / 16 * IN, None),
        ("8/4 white oak", "in", "quarter", "white oak", 1.75 * IN, None),
        ("8/4 white oak", "mm", "quarter", "white oak", 1.75 * IN, None),
        ("1/2 plywood exterior", "in", "sheet", "plywood", 0.5 * IN, None),
        ("9 mm birch plywood", "in", "sheet", "birch plywood", 9.0, None),
        ("18 plywood", "mm", "sheet", "plywood", 18.0, None),
        ("1/2 plywood", "mm", "sheet", "plywood", 0.5 * IN, None),
        ("25 dowel birch", "mm", "round", "birch", 25.0, 25.0),
        ("1 1/4 dowel", "in", "round", "", 1.25 * IN, 1.25 * IN),
        ("45 x 95 larch", "mm", "planed", "larch", 45.0, 95.0),
        ("95x45 larch", "mm", "planed", "larch", 45.0, 95.0),
        ("45 x 95 mm larch", "in", "planed", "larch", 45.0, 95.0),
        ('2" x 4" oak', "in", "planed", "oak", 2 * IN, 4 * IN),
        ("1 1/2 x 3 1/2 ash", "in", "planed", "ash", 1.5 * IN, 3.5 * IN),
        ("2x4 larch", "mm", "dimension", "larch", 1.5 * IN, 3.5 * IN),
        ("3/4 oak", "in", "planed", "oak", 0.75 * IN, None),
        ("50 elm", "mm", "planed", "elm", 50.0, None),
        ("50 sawn elm", "mm", "board", "elm", None, None),
        ("3 x 25 flat bar galvanized", "mm", "bought", "galvanized steel", 3.0, 25.0),
        ("8/4 other zebrano", "in", "quarter", "zebrano", 1.75 * IN, None),
        ("2x4 green doug fir", "in", "dimension", "douglas fir", 1.5625 * IN, 3.5625 * IN),
        ("4/4 green ash", "in", "quarter", "green ash", 13 / 16 * IN, None),
        ("12 mm rod", "mm", "round", "steel", 12.0, 12.0),
        ("1/2 stainless rod", "in", "round", "stainless steel", 0.5 * IN, 0.5 * IN),
        ("25 x 2 tube aluminium", "mm", "round", "aluminium", 25.0, 25.0),
        ("ex 50 x 100 larch", "mm", "planed", "larch", 47.0, 97.0),
        ("50 x 100 sawn larch", "mm", "planed", "larch", 50.0, 100.0),
    ],
)
def test_stock_resolves_to_what_the_yard_hands_over(
    words: str, units: LengthUnit, kind: str, species: str, thickness: float | None, width: float | None
) -> None:
    stock = resolve_stock(words, units)
    assert (stock.kind, stock.species) == (kind, species)
    assert stock.thickness == pytest.approx(thickness)
    assert stock.width == pytest.approx(width)
    if stock.thickness and stock.width:
        assert stock.thickness <= stock.width


WORDS = {
    "in": [
        "2x4 doug fir",
        "6x6 cedar treated",
        "4/4 oak",
        "1/2 plywood exterior",
        "9 mm birch ply",
        "1 dowel birch",
        '2" x 4" oak',
        "3/4 oak",
        "5/4x6",
        "1/8 x 1 flat bar",
        "12 mm mdf",
        "1x12 pine clear",
    ],
    "mm": [
        "18 plywood",
        "45 x 95 larch",
        "2x4 redwood",
        "25 dowel birch",
        "50 sawn elm",
        "50 elm",
        "3 x 25 flat bar",
        "1/2 plywood",
        "12 mdf",
        "5/4 oak",
    ],
}


@pytest.mark.parametrize(("units", "words"), [(u, w) for u, rows in WORDS.items() for w in rows])
def test_the_name_printed_names_the_same_stock_again(units: LengthUnit, words: str) -> None:
    stock = resolve_stock(words, units)
    assert resolve_stock(stock.name, units) == stock


def test_spellings_of_one_wood_are_one_stock() -> None:
    names = {
        resolve_stock(f"2x4 {wood}", "in").name for wood in ("doug fir", "douglas fir", "Douglas-Fir", "DF")
    }
    assert names == {"2x4 douglas fir"}


def test_a_general_name_stays_as_the_designer_wrote_it() -> None:
    assert resolve_stock("2x4 pine", "in").name == "2x4 pine"
    assert resolve_stock("45 x 95 redwood", "mm").name == "45 x 95 mm redwood"
    # Redwood at a metric yard is Scots pine, 520 kg/m3 (EN 350-2, memory); at an inch yard the Californian.
    assert resolve_stock("45 x 95 redwood", "mm").density == 520
    assert resolve_stock("2x4 redwood", "in").density == 448


@pytest.mark.parametrize(
    ("words", "units", "message"),
    [
        ("2x4 duglas fir", "in", 'did you mean "douglas fir"'),
        ("1/2 plywod exterior", "in", 'did you mean "plywood"'),
        ("4/4 whit oak", "in", 'did you mean "white oak"'),
        ("1 dowl birch", "in", "unknown wood"),
        ("18 plywood", "in", "for millimetres write 18 mm"),
        ("45 x 95 larch", "in", "for millimetres write 45 x 95 mm"),
        ("5/4 x 6 white oak", "in", "random widths"),
        ("7/4 oak", "in", "unusual quarter size"),
        ("oak", "in", "does not begin with a size"),
        ("", "in", "does not begin with a size"),
        ("2x4x8 oak", "in", "does not begin with a size"),
        ("0x4 oak", "in", "impossible thickness"),
        ("1/0 oak", "in", "divides by zero"),
        ("1/2", "in", "names no wood"),
        ("3/4 x 48 plywood", "in", "thickness alone"),
        ("2x4 oak, sheet 4 x 8 ft", "in", "no plywood"),
        ("1/8 flat bar steel", "in", "flat bar"),
    ],
)
def test_stock_that_no_yard_has_is_refused_in_one_sentence(
    words: str, units: LengthUnit, message: str
) -> None:
    with pytest.raises(ValueError, match=".") as refused:  # noqa: RUF043
        resolve_stock(words, units)
    assert message in str(refused.value)
    assert "\n" not in str(refused.value)


@given(st.one_of(st.text(max_size=30), st.from_regex(r"[0-9/x .]{1,8} ?[a-z ]{0,12}", fullmatch=True)))
def test_any_words_become_stock_or_a_refusal(words: str) -> None:
    for units in ("in", "mm"):
        try:
            stock = resolve_stock(words, units)
        except ValueError:
            continue
        assert isinstance(stock, Stock)
        assert stock.thickness is None or stock.thickness > 0


def test_every_known_wood_makes_a_board_with_a_weight() -> None:
    for spelling in SPELLINGS:
        stock = resolve_stock(f"4/4 {spelling}", "in")
        assert stock.density is not None
        assert 300 < stock.density < 900


def test_sheets_ask_to_be_measured_and_name_the_limits_where_a_standard_has_them() -> None:
    (note,) = stock_notes(resolve_stock("1/2 plywood exterior", "in"))
    assert "Measure the sheet first" in note
    assert "0.469 to 0.531" in note
    (metric,) = stock_notes(resolve_stock("18 plywood", "mm"))
    assert "Measure the sheet first" in metric
    assert "PS 1" not in stock_notes(resolve_stock("1/2 mdf", "in"))[0]
    assert stock_notes(resolve_stock("2x4 pine", "in")) == ()


def test_a_sheet_may_say_its_own_size() -> None:
    assert resolve_stock("18 plywood", "mm").sheet == (2440, 1220)
    assert resolve_stock("1/2 plywood", "in").sheet == pytest.approx((96 * IN, 48 * IN))
    assert resolve_stock("18 plywood, sheet 2500 x 1250", "mm").sheet == (2500, 1250)
    assert resolve_stock("3/4 plywood, sheet 4 x 4 ft", "in").sheet == pytest.approx((48 * IN, 48 * IN))
    assert resolve_stock("3/4 plywood sheet 30 x 60", "in").sheet == pytest.approx((60 * IN, 30 * IN))


def test_a_tube_weighs_what_its_wall_weighs() -> None:
    # Steel tube 25 x 2 mm: 1.13 kg a metre in makers' tables (common practice), pi (25 - 2) 2 mm2 of 7850 kg a cubic m.
    tube = resolve_stock("25 x 2 mm tube steel", "mm")
    assert tube.density is not None
    assert tube.density * math.pi * 0.0125**2 == pytest.approx(1.134, abs=0.002)
    with pytest.raises(ValueError, match="without a bore"):
        resolve_stock("20 x 10 tube steel", "mm")


@pytest.mark.parametrize(
    "words", ["2x4 green larch", "ex 50 x 150 larch", "50 x 100 sawn larch", "25 x 2 tube brass"]
)
def test_the_buyer_is_told_what_the_size_is_worth(words: str) -> None:
    stock = resolve_stock(words, "mm")
    (note,) = stock_notes(stock)
    assert note
    assert resolve_stock(stock.name, "mm") == stock
