"""One value of ``let`` chooses between two variants of a piece: what is left out leaves no trace."""

from fractions import Fraction

import jsonschema
import pytest

from plangen.design.expressions import read_expression
from plangen.design.reading import read_design
from plangen.design.schema import schema
from plangen.findings import DesignError, Place
from plangen.units import Quantity

VALUES = {"sides": Quantity(Fraction(6), "number"), "tall": Quantity(Fraction(254), "length")}

PLANTER = """
title: Planter
units: in
let: {sides: SIDES, reach: "if(sides = 6, 12, 10)", hex reach: 2 * hex side.width}
stock: {hex board: {ask for: 1x6 larch, thickness: 3/4, width: 5}}
planes: {hex wall: {shift: hex side.face, by: 1}, hex back wall: {shift: hex wall, by: 1}}
points: {hex toe: {meet: [hex back wall, centre plane, floor]}}
floor touches: [hex side, square side]
members:
  hex side: {stock: hex board, length: hex reach, place: {length: right, face: up}, only if: sides = 6}
  square side: {like: hex side, stock: 1x6 oak, length: reach, only if: sides = 4}
  hex stop: {like: square side, place: {corner: hex toe, length: right, face: up}, only if: sides >= 5}
bought:
  hex cap: {size: cap, only if: not sides < 6}
joints:
  - {butt: [hex side, hex stop], name: hex joint, only if: sides = 6}
  - {notch: [hex stop, hex side], after: hex joint, only if: sides > 4 and sides <> 5}
fasteners:
  - {screw: "#8 x 1", through: hex side, into: hex stop, only if: sides = 6 or sides = 8}
assemblies:
  hexagon: {of: [hex side, hex stop], only if: sides = 6}
"""


def variant(sides):
    return read_design(PLANTER.replace("SIDES", str(sides)).strip(), "planter.yaml")


def test_what_is_left_out_is_not_missed_and_nothing_of_it_is_called_unused():
    design, findings = variant(4)
    assert findings == ()
    assert list(design.members) == ["square side"]
    named = [design.bought, design.joints, design.fasteners, design.assemblies, design.planes, design.points]
    assert not any(named)
    assert list(design.let) == ["sides", "reach"]
    assert design.floor_touches == ("square side",)


def test_the_other_variant_keeps_what_belongs_to_it():
    design, findings = variant(6)
    assert [str(f) for f in findings if f.level == "error"] == []
    assert list(design.members) == ["hex side", "hex stop"]
    assert (len(design.joints), len(design.fasteners)) == (2, 1)
    assert [*design.assemblies, *design.bought] == ["hexagon", "hex cap"]
    assert design.floor_touches == ("hex side",)


def test_a_member_like_one_that_is_left_out_keeps_that_ones_entries():
    design, _ = variant(4)
    (square,) = design.members.values()
    assert square.place.length is not None
    assert str(square.stock) == "1x6 oak"


def truth(text):
    return read_expression(text, Place(), "in").evaluate(lambda name, place: VALUES[name])


@pytest.mark.parametrize(
    "text",
    [
        "sides = 6",
        "sides <> 5",
        "sides <= 6 and sides >= 6",
        "not sides < 6",
        "tall = 10",
        "tall = 10 in",
        "tall > 25 cm",
        "sides = 5 or sides = 6 and tall = 10",
        "not (sides = 5 or tall < 10)",
        "if(sides = 6, tall, 3) = 10 in",
        "(sides = 6) + (tall = 10) = 2",
    ],
)
def test_a_condition_holds_as_it_reads(text):
    assert truth(text) == Quantity(Fraction(1), "number")
    assert truth(f"not ({text})") == Quantity(Fraction(0), "number")


def test_and_binds_before_or():
    assert truth("sides = 6 or sides = 6 and tall = 3") == Quantity(Fraction(1), "number")


@pytest.mark.parametrize("text", ["if(sides = 6, 3 in, 4)", "if(sides = 5, 4, 3 in)"])
def test_a_choice_between_a_length_and_a_bare_number_is_a_length(text):
    assert truth(text) == Quantity(Fraction(762, 10), "length")


@pytest.mark.parametrize("text", ["sides and tall = 3", "not sides = 6 and 3", "if(tall, 1, 2)"])
def test_a_size_is_no_condition(text):
    with pytest.raises(DesignError, match="a condition such as sides = 6 is expected"):
        truth(text)


def test_the_words_that_join_conditions_may_stand_in_names_where_nothing_is_compared():
    assert str(read_expression("top and bottom / 2", Place(), "in").names()[0]) == "top and bottom"


def test_an_editor_accepts_a_key_whose_companion_comes_from_the_member_that_it_is_like():
    like = {"like": "stake", "removed with": "side"}
    stake = {"stock": "2x4 oak", "place": {}, "removable": "up"}
    tree = {"title": "T", "units": "in", "members": {"stake": stake, "other stake": like}}
    validator = jsonschema.Draft202012Validator(schema())
    assert validator.is_valid(tree)
    alone = {"stock": "2x4 oak", "place": {}, "removed with": "side"}
    assert not validator.is_valid({**tree, "members": {"stake": alone}})
