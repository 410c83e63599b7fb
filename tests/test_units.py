"""Sizes and angles read as the trade writes them and printed so that they read back."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen import units
from plangen.units import (
    MM_PER_INCH,
    STYLES,
    Quantity,
    UnitStyle,
    angle_text,
    as_angle,
    as_length,
    ascii_angle_text,
    ascii_length_text,
    feet_text,
    length_text,
    mixed_text,
    off,
    read_quantity,
    rounded,
    rounded_angle,
)

INCHES = [STYLES["in"], *(UnitStyle("in", MM_PER_INCH / q, Fraction(1, 4)) for q in (2, 4, 8, 32, 64))]
METRIC = [
    STYLES["mm"],
    UnitStyle("mm", Fraction(1, 2), Fraction(1, 2)),
    UnitStyle("mm", Fraction(1, 10), Fraction(1, 10)),
]
TENTHS = UnitStyle("in", MM_PER_INCH / 100, Fraction(1, 10))


def inch(whole: int, numerator: int = 0, denominator: int = 1) -> Fraction:
    return (whole + Fraction(numerator, denominator)) * MM_PER_INCH


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1' 6 3/8\"", inch(18, 3, 8)),
        ("1'-6 3/8\"", inch(18, 3, 8)),
        ("1'6\"", inch(18)),
        ("1 ft 6 3/8 in", inch(18, 3, 8)),
        ("1′ 6⅜″", inch(18, 3, 8)),
        ("2 ft", inch(24)),
        ("2'", inch(24)),
        ('6"', inch(6)),
        ('3-1/2"', inch(3, 1, 2)),
        ("3 1/2 inches", inch(3, 1, 2)),
        ("3.5 in", inch(3, 1, 2)),
        ("-1/8 in", inch(0, -1, 8)),
        ("90 mm", Fraction(90)),
        ("9 cm", Fraction(90)),
        ("1.2 m", Fraction(1200)),
        ("0.1mm", Fraction(1, 10)),
    ],
)
def test_a_length_with_its_unit_is_exact_in_millimetres(text: str, mm: Fraction) -> None:
    for design in ("in", "mm"):
        assert read_quantity(text, design) == Quantity(mm, "length")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3 1/2", "7/2"),
        ("3-1/2", "7/2"),
        ("1/3", "1/3"),
        ("0.1", "1/10"),
        (".5", "1/2"),
        ("-4", "-4"),
        ("010", "10"),
        ("3½", "7/2"),
        ("+2", "2"),
    ],
)
def test_a_bare_number_stays_a_number_and_its_fraction_is_kept(text: str, value: str) -> None:
    read = read_quantity(text, "in")
    assert read == Quantity(Fraction(value), "number")
    assert as_length(read, "in") == Fraction(value) * Fraction(254, 10)
    assert as_length(read, "mm") == Fraction(value)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("12 deg", 12), ("12°", 12), ("-2.5 degrees", Fraction(-5, 2)), ("9 3/4 deg", Fraction(39, 4))],
)
def test_angles_are_degrees(text: str, degrees: Fraction) -> None:
    assert as_angle(read_quantity(text, "in")) == degrees


@pytest.mark.parametrize(
    ("text", "printed"),
    # joint_rules: dovetail 1:6 is 9.4623 deg and 1:8 is 7.1250 deg (atan; the trade prints 9.5 and 7).
    [("1 in 8", 7.1250), ("1:8", 7.1250), ("1:6", 9.4623), ("1 : 6", 9.4623), ("12 in 12", 45.0)],
)
def test_a_slope_is_the_angle_whose_tangent_it_is(text: str, printed: float) -> None:
    read = read_quantity(text, "in")
    assert read.kind == "angle"
    assert float(read.value) == pytest.approx(printed, abs=5e-5)


def test_one_in_is_an_inch_and_one_in_eight_is_a_slope() -> None:
    assert read_quantity("1 in", "in") == Quantity(MM_PER_INCH, "length")
    assert read_quantity("1 in 8", "in").kind == "angle"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "expected a size such as 3 1/2"),
        ("nan", "expected"),
        ("inf", "expected"),
        ("1e9", "expected"),
        ("3 1/0", "divides by zero"),
        ("1 in 0", "run of zero"),
        ("3 5/4", "fraction of one or more"),
        ("1' 14\"", "12 inches or more"),
        ("3,5", "write a point: 3.5"),
        ("4 furlongs", 'unknown unit "furlongs"'),
        ("1234567890123", "digits"),
        ("2000 m", "longer than a kilometre"),
        ("400 deg", "full turn"),
        ("999999999999", "too large"),
        ("9" * 300, "too long"),
        ("3 1/2 1/2", "expected"),
        ("1..2", "expected"),
        ("twelve", "expected"),
    ],
)
def test_what_is_not_a_quantity_is_refused_in_one_sentence(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as caught:
        read_quantity(text, "in")
    message = str(caught.value)
    assert words in message
    assert "\n" not in message
    assert len(message) < 200


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_with_a_sentence_never_anything_else(text: str) -> None:
    try:
        read = read_quantity(text, "mm")
    except ValueError:
        with pytest.raises(ValueError, match=r'^".*"? [a-z ]+'):
            read_quantity(text, "mm")
    else:
        assert read.kind in {"length", "angle", "number"}
        assert abs(read.value) <= units.LARGEST_NUMBER


def test_a_length_where_an_angle_belongs_and_the_reverse_are_refused() -> None:
    with pytest.raises(ValueError, match="where a length is expected"):
        as_length(read_quantity("12 deg", "in"), "in")
    with pytest.raises(ValueError, match="where an angle is expected"):
        as_angle(read_quantity("12 mm", "in"))
    with pytest.raises(ValueError, match="says its unit: 12 deg"):
        as_angle(read_quantity("12", "in"))
    with pytest.raises(ValueError, match="kilometre"):
        as_length(read_quantity("1000000", "in"), "in")


sizes = st.fractions(min_value=-20_000, max_value=20_000, max_denominator=10_000)


@given(sizes, st.sampled_from(INCHES + METRIC + [TENTHS]))
def test_a_printed_length_reads_back_within_half_a_step(mm: Fraction, style: UnitStyle) -> None:
    text = length_text(mm, style)
    if "<" not in text:
        read = as_length(read_quantity(text, style.length), style.length)
        assert abs(read - mm) <= style.step / 2 * (1 + Fraction(1, 10**5))
    ascii_text = ascii_length_text(mm, style)
    assert ascii_text.isascii()
    if "<" not in ascii_text:
        assert as_length(read_quantity(ascii_text, style.length), style.length) == read


@given(sizes, st.sampled_from(INCHES + METRIC))
def test_rounding_is_nearest_and_its_cost_is_known(mm: Fraction, style: UnitStyle) -> None:
    near = rounded(mm, style)
    assert (near / style.step).denominator == 1
    assert near - mm == off(mm, style)
    assert abs(off(mm, style)) <= style.step / 2 * (1 + Fraction(1, 10**5))


@given(st.integers(-5000, 5000), st.sampled_from(INCHES + METRIC), st.floats(-1e-7, 1e-7))
def test_a_tie_goes_to_the_even_multiple_whatever_the_last_bits_say(
    n: int, style: UnitStyle, noise: float
) -> None:
    tie = float((n + Fraction(1, 2)) * style.step) + noise * float(style.step)
    multiple = rounded(tie, style) / style.step
    assert multiple == round(n + Fraction(1, 2))
    assert multiple % 2 == 0


@given(st.integers(1, 10**7))
def test_metric_figures_agree_with_decimal_arithmetic(micrometres: int) -> None:
    style = UnitStyle("mm", Fraction(1, 10), Fraction(1, 2))
    expected = (Decimal(micrometres) / 1000).quantize(Decimal("0.1"))  # ROUND_HALF_EVEN by default
    if expected:
        assert Decimal(length_text(Fraction(micrometres, 1000), style)) == expected


@given(st.floats(-720, 720).filter(lambda v: v == 0 or abs(v) > 1e-9))
def test_a_printed_angle_reads_back_within_half_a_step(degrees: float) -> None:
    for style in (STYLES["in"], STYLES["mm"]):
        text = ascii_angle_text(degrees, style)
        assert angle_text(degrees, style) == text.replace(" deg", "°")
        if "<" not in text and abs(degrees) < 360:
            assert (
                abs(float(as_angle(read_quantity(text, "in"))) - degrees)
                <= float(style.angle_step) / 2 + 1e-6
            )


@pytest.mark.parametrize(
    ("mm", "style", "text"),
    [
        (inch(3, 15, 16), "in", "3 15/16"),
        (inch(0, 3, 4), "in", "3/4"),
        (inch(7), "in", "7"),
        (inch(-1, -1, 2), "in", "-1 1/2"),
        (120.2, "mm", "120"),
        (0, "mm", "0"),
        (-1e-12, "mm", "0"),
        (-0.0, "in", "0"),
        (inch(0, 1, 50), "in", "1/32"),  # 0.020 in: 1/16 would print 0, 1/32 is the first that shows it
        (0.3, "mm", "0.3"),
        (0.001, "mm", "<0.01"),
        (0.001, "in", "<1/128"),
        (-0.001, "in", "-<1/128"),
    ],
)
def test_lengths_print_as_the_trade_writes_them(mm: Fraction | float, style: str, text: str) -> None:
    assert length_text(mm, STYLES["in" if style == "in" else "mm"]) == text


@given(st.floats(1e-4, 50_000))
def test_a_size_that_is_not_zero_never_prints_as_zero(mm: float) -> None:
    for style in (*INCHES, *METRIC, TENTHS):
        assert length_text(mm, style) != "0"
        assert length_text(-mm, style).startswith("-")


def test_overall_sizes_above_six_feet_print_in_feet_and_inches() -> None:
    style = STYLES["in"]
    assert feet_text(inch(72), style) == '72"'
    assert feet_text(inch(79, 1, 2), style) == "6' 7 1/2\""
    assert feet_text(inch(96), style) == "8'"
    assert feet_text(2400, STYLES["mm"]) == "2400 mm"


@given(st.integers(73 * 16, 1200 * 16))
def test_feet_and_inches_read_back_exactly(sixteenths: int) -> None:
    mm = sixteenths * MM_PER_INCH / 16
    assert as_length(read_quantity(feet_text(mm, STYLES["in"]), "in"), "in") == mm


@given(st.fractions(-500, 500, max_denominator=64))
def test_mixed_numbers_read_back_exactly(value: Fraction) -> None:
    assert read_quantity(mixed_text(value), "in").value == value


def test_ascii_forms_are_those_of_the_drawing_files() -> None:
    assert ascii_length_text(inch(3, 15, 16), STYLES["in"]) == '3-15/16"'
    assert ascii_length_text(inch(0, 1, 2), STYLES["in"]) == '1/2"'
    assert ascii_length_text(120, STYLES["mm"]) == "120"
    assert ascii_angle_text(9.75, STYLES["in"]) == "9.75 deg"
    assert (
        angle_text(math.degrees(math.atan(1 / 8)), STYLES["in"]) == "7.25°"
        or angle_text(7.125016, STYLES["in"]) == "7.25°"
    )


def test_an_inch_is_25_4_millimetres_exactly() -> None:
    # International yard and pound agreement (1959): 1 yd = 0.9144 m.
    assert Fraction(9144, 10) == 36 * MM_PER_INCH
    assert Fraction(3048, 10) == units.MM_PER_FOOT
    assert rounded_angle(Fraction(985, 100), STYLES["in"]) == Fraction(39, 4)
