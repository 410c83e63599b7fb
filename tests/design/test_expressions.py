"""Expressions: what they say, what they refuse, and that they read back as they print."""

import ast
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.design.arithmetic import FUNCTIONS
from plangen.design.expressions import (
    Attribute,
    Binary,
    Call,
    NameRef,
    Number,
    Unary,
    read_expression,
)
from plangen.findings import DesignError, Place, fail
from plangen.units import MM_PER_INCH, Quantity, read_quantity

HERE = Place("bench.yaml", 7, 12)
VALUES = {"front width": "22", "splay": "14 deg", "leg 2.width": "3 1/2 in", "gap": "2 mm"}


def known(name, place):
    if name not in VALUES:
        raise fail(place, "name", f'unknown name "{name}"')
    return read_quantity(VALUES[name], "in")


def value(text, units="in"):
    return read_expression(text, HERE, units).evaluate(known)


def length(text):
    return read_expression(text, HERE, "in").length(known).value


def outcome(text):
    """The value, or the sentence that says why there is none."""
    try:
        return value(text)
    except (ValueError, DesignError) as wrong:
        return str(wrong)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3 1/2", Fraction(7, 2)),
        ("1' 6 3/8\"", Fraction(147, 8)),
        ("front width / 2 + 3/4", Fraction(47, 4)),
        ("front width / 2 - 3 1/2", Fraction(15, 2)),
        ("-3/8", Fraction(-3, 8)),
        ("2 * leg 2.width + 1", 8),
        ("2 ft - 3", 21),
        ("2'-3\"", 27),
        ("1 + 25.4 mm", 2),
        ("½ + 1/4", Fraction(3, 4)),
        ("3 × 4", 12),
        ("(1 + 2) * (3 - 1)", 6),
        ("8 - 3 - 2", 3),
        ("24 / 4 / 2", 3),
        ("min(3, 2 in, 4)", 2),
        ("max(1/2, 3/4)", Fraction(3, 4)),
        ("abs(2 - 5)", 3),
        ("round(3 5/8)", 4),
        ("round(3 5/8, 1/4)", Fraction(7, 2)),
        ("floor(3 5/8, 1/2)", Fraction(7, 2)),
        ("ceil(3 1/8)", 4),
        ("hypot(3, 4)", 5),
        ("30 in / 10 in * 2", 6),
        ("sqrt(16)", 4),
    ],
)
def test_sizes_are_reckoned_in_the_units_of_the_design(text, inches):
    assert length(text) == inches * MM_PER_INCH


def test_a_bare_number_is_a_number_until_it_meets_a_length():
    assert value("30") == Quantity(Fraction(30), "number")
    assert value("30 + 1 mm", "mm") == Quantity(Fraction(31), "length")
    assert value("front width / 2 in") == Quantity(Fraction(11), "number")


@pytest.mark.parametrize("degrees", [0, 14, 30, 45, 60])
def test_functions_of_angles_agree_with_the_math_library(degrees):
    turn = math.radians(degrees)
    assert float(value(f"sin({degrees} deg)").value) == math.sin(turn)
    assert float(value(f"cos({degrees} deg)").value) == math.cos(turn)
    assert float(value(f"tan({degrees} deg)").value) == math.tan(turn)
    back = value(f"atan2(sin({degrees} deg), cos({degrees} deg))")
    assert back.kind == "angle"
    assert float(back.value) == pytest.approx(degrees, abs=1e-12)


def test_a_slope_is_the_angle_of_its_rise_over_its_run():
    assert float(value("1 in 8").value) == math.degrees(math.atan(1 / 8))
    assert value("1:8") == value("1 in 8") == Quantity(value("1 in 8").value, "angle")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("gap * gap", "a length times a length is no size; one of them must be a number"),
        ("splay + 3", "an angle cannot be added to a number; an angle says its unit, as in 12 deg"),
        ("gap - splay", "an angle cannot be subtracted from a length"),
        ("splay / gap", "an angle cannot be divided by a length"),
        ("3 / splay", "a number cannot be divided by an angle; an angle says its unit, as in 12 deg"),
        ("sin(30)", "an angle says its unit: 30 deg, or a slope such as 1 in 8"),
        ("sqrt(gap)", "sqrt takes a number, not a length"),
        ("sqrt(0 - 1)", "a number below zero has no square root"),
        ("acos(2)", "acos takes a number from -1 to 1"),
        ("3 / 0", "this divides by zero"),
        ("round(3, 0)", "the step to round to must be greater than zero"),
        ("9999 * 9999 * 9999", "this comes to too large a number"),
        ("9999 in * 9999", "this comes to more than a kilometre"),
    ],
)
def test_wrong_arithmetic_is_told_in_words(text, words):
    with pytest.raises(DesignError) as problem:
        value(text)
    assert words in problem.value.findings[0].text
    assert problem.value.findings[0].place.line == 7


def test_an_error_stands_at_its_own_operation():
    with pytest.raises(DesignError) as problem:
        value("1 + front width / (3 - 3)")
    assert problem.value.findings[0].place == Place("bench.yaml", 7, 12 + len("1 + front width "))


@pytest.mark.parametrize(
    "text",
    ["", " ", "()", "1 +", "* 2", "(1", "1)", "a b(3)", "eval(1)", "a.b.c", "a.", ".a", "3 4", "a ** 2",
     "a % 2", "a[0]", "f(1,)", "lambda: 1", "1; 2", "a = ", "a == 1", "1 < 2 < 3", "#8",
     "3-1/2", "1/2/", "a / 3/4", "1e5", "0x10", "sin()", "atan2(1)",
     "sin(1 deg, 2 deg)", "__import__(1)", "1 in 0", "1/0", "a" * 300, "1+" * 90 + "1",
     "(" * 50 + "1" + ")" * 50, "-" * 60 + "1"],
)  # fmt: skip
def test_anything_else_is_refused_with_one_sentence(text):
    with pytest.raises(ValueError, match=r"^[^\n]+$"):
        read_expression(text, HERE, "in")


def test_names_are_found_in_the_order_written():
    names = read_expression("max(low, leg front left.width) - low / 2", HERE, "in").names()
    assert [str(name) for name in names] == ["low", "leg front left.width", "low"]
    assert [name.place.column - HERE.column for name in names] == [4, 9, 33]


def test_long_fractions_stay_bounded():
    """Repeated squaring would double the digits each time."""
    text = "1/3 + sin(1 deg)"
    values = {"a0": read_expression(text, HERE, "in").evaluate(lambda n, p: Quantity(Fraction(0), "number"))}
    for step in range(40):
        product = read_expression(f"a{step} * a{step}", HERE, "in")
        values[f"a{step + 1}"] = product.evaluate(lambda name, place: values[name])
    assert max(q.value.denominator.bit_length() for q in values.values()) <= 1100


# --- properties ----------------------------------------------------------------------------------------

words = st.sampled_from(["low", "front width", "leg 2", "h", "long rail 3"])
literals = st.sampled_from(["3", "3 1/2", "3/4", "1' 6 3/8\"", "12 deg", "1 in 8", "90 mm", "0.5"])
trees = st.recursive(
    st.one_of(
        literals.map(lambda text: Number(read_quantity(text, "in"), text)),
        words.map(NameRef),
        st.builds(Attribute, words, st.sampled_from(["length", "width", "thickness"])),
    ),
    lambda inner: st.one_of(
        inner.map(Unary),
        st.builds(Binary, st.sampled_from("+-*/"), inner, inner),
        st.builds(lambda a, b: Call("min", (a, b)), inner, inner),
        st.builds(lambda a: Call("sqrt", (a,)), inner),
    ),
    max_leaves=6,
)


def reads_one_way(tree):
    """Whether no tight fraction follows a division, which the reader refuses."""
    if isinstance(tree, Binary):
        fraction = isinstance(tree.right, Number) and tree.right.text == "3/4"
        return (
            not (tree.operator == "/" and fraction) and reads_one_way(tree.left) and reads_one_way(tree.right)
        )
    if isinstance(tree, Unary):
        return reads_one_way(tree.operand)
    return all(reads_one_way(part) for part in tree.arguments) if isinstance(tree, Call) else True


@given(trees.filter(reads_one_way))
def test_an_expression_reads_back_as_it_prints(tree):
    text = str(tree)
    if len(text) <= 200:
        assert read_expression(text, HERE, "in").tree == tree


@given(st.recursive(
    st.integers(1, 99).map(str),
    lambda inner: st.builds("({} {} {})".format, inner, st.sampled_from("+-*"), inner),
    max_leaves=8,
))  # fmt: skip
def test_whole_numbers_reckon_as_python_does(text):
    expected = eval(compile(ast.parse(text, mode="eval"), "sum", "eval"), {"__builtins__": {}})
    if len(text) <= 200 and len(text.split()) < 30:
        said = outcome(text)
        assert said == Quantity(Fraction(expected), "number") or "too large a number" in str(said)


@given(st.text(max_size=60))
def test_no_text_raises_anything_but_a_sentence(text):
    assert outcome(text)


@given(st.text(alphabet="01239 /.-+*()'\"abminsqrt,:xdeg°½", max_size=40))
def test_no_arithmetic_raises_anything_but_a_finding(text):
    assert outcome(text)


def test_the_functions_are_these_and_no_others():
    assert (
        " ".join(FUNCTIONS)
        == "if not min max abs round floor ceil sqrt sin cos tan asin acos atan atan2 hypot"
    )
