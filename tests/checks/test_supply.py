"""What the yard has not, what it has otherwise, and boards too thin to plane."""

import pytest

from plangen.facts import plan_facts

SHELF = """
title: A shelf
units: mm
STOCK_SECTION
members:
  shelf:
    stock: board
    length: 600
    width: 140
    place: {length: right, face: up, end A: {at: {through point: [0, 0, 0], square to: right}},
      back: {at: floor}, edge: {at: {through point: [0, 0, 0], square to: front}}}
EXTRA
"""


def _findings(stock: str, extra: str = "") -> list[tuple[str, str, str]]:
    text = SHELF.replace("STOCK_SECTION", f"stock: {{board: {{{stock}}}}}").replace("EXTRA", extra)
    facts, findings = plan_facts(text.encode(), "shelf.yaml")
    assert facts is not None, "\n".join(map(str, findings))
    return [(f.level, f.rule, f.text) for f in findings if f.rule in ("yard", "roughing")]


def test_a_sawn_board_that_leaves_too_little_to_plane_off_is_told_of() -> None:
    # Common practice: 3/16 in or 5 mm for both faces.
    ((level, rule, text),) = _findings("ask for: 27 mm sawn oak, thickness: 24")
    assert (level, rule) == ("warning", "roughing")
    assert "leaves 3 mm to plane off both faces, where 5 mm is allowed" in text
    assert _findings("ask for: 27 mm sawn oak, thickness: 22") == []
    assert _findings("ask for: 27 mm sawn oak, thickness: 24", "roughing: {thickness: 3}") == []


def test_a_board_thinner_than_the_part_is_told_of() -> None:
    ((_, _, text),) = _findings("ask for: 20 mm sawn oak, thickness: 24")
    assert "thinner than the 24 mm" in text


@pytest.mark.parametrize(
    ("sells", "level", "said"),
    [
        ("27 mm sawn oak", None, ""),
        ("27 mm sawn oka", "warning", "did you mean"),
        ("9 mm birch plywood", "note", "not in the yard's list"),
    ],
)
def test_stock_that_the_yard_has_not_is_told_with_what_it_may_have_meant(
    sells: str, level: str | None, said: str
) -> None:
    found = _findings("ask for: 27 mm sawn oak, thickness: 20", f"yard: {{sells: [{{stock: {sells}}}]}}")
    if level is None:
        assert found == []
    else:
        ((told, _, text),) = found
        assert told == level
        assert said in text


def test_sheets_that_measure_otherwise_than_the_design_says_are_told_of() -> None:
    yard = "yard: {sells: [{stock: 18 mm plywood, sheet: [2440, 1220], measured: 17.4}]}"
    ((level, _, text),) = _findings("ask for: 18 mm plywood, thickness: 18", yard)
    assert level == "warning"
    assert "measures 17.4 mm" in text
    assert _findings("ask for: 18 mm plywood", yard.replace("17.4", "18")) == []
