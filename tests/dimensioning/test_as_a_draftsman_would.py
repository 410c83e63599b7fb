"""A dozen parts dimensioned by hand, as a draftsman would, before the engine was asked: its sheet states no more.

Each list was written from the shape alone by common practice: stock sizes, then ends, tapers and bevels, then each
cut by place, size and depth, then holes; what a note or symmetry says is not figured again.
"""

from __future__ import annotations

import pytest

STOCK = """units: mm
stock:
  oak: {ask for: 30 x 100 oak, thickness: 30, width: 100}
  wide: {ask for: 30 x 150 oak, thickness: 30}
"""
BOARD = "{corner: [0, 0, 0], length: right, width: up}"


def one(rest: str, planes: str = "", joints: str = "") -> str:
    return f"title: Part\n{STOCK}{planes}members:\n  part: {rest}\n{joints}"


CROSSING = """  other: {stock: oak, length: 300, place: {corner: [150, -15, -100], length: up, width: right}}
joints:
  - {half lap: [part, other]}
"""
PLAIN = ["thickness", "width", "length"]
BY_HAND: dict[str, tuple[str, list[str]]] = {
    "plain": (one(f"{{stock: oak, length: 400, place: {BOARD}}}"), PLAIN),
    "tapered": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, taper: {{on: back edge, at end A: 60, at end B: 100}}}}"
        ),
        ["thickness", "width at end A", "width at end B", "length"],
    ),
    "one end aslant on the face": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, trim: {{end B: slant}}}}",
            "planes: {slant: {through point: [350, 0, 0], square to: [1, 0, 0.2]}}\n",
        ),
        [*PLAIN, "slope across the width"],
    ),
    "ends aslant and parallel": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, trim: {{end A: low, end B: high}}}}",
            "planes:\n  low: {through point: [40, 0, 0], square to: [-1, 0, -0.2]}\n"
            "  high: {through point: [350, 0, 0], square to: [1, 0, 0.2]}\n",
        ),
        [*PLAIN, "slope across the width, for both ends are parallel"],
    ),
    "one end aslant both ways": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, trim: {{end B: slant}}}}",
            "planes: {slant: {through point: [350, 0, 0], square to: [1, 0.1, 0.2]}}\n",
        ),
        [*PLAIN, "slope across the width", "slope through the thickness"],
    ),
    "beveled": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, trim: {{top: slant}}}}",
            "planes: {slant: {through point: [0, 0, 80], square to: [0, 0.3, 1]}}\n",
        ),
        [*PLAIN, "bevel"],
    ),
    "bored through in a row": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, holes: [{{diameter: 10, in: face, at: [60, 40]}}, "
            "{diameter: 10, in: face, at: [150, 40]}, {diameter: 10, in: face, at: [300, 40]}]}"
        ),
        [*PLAIN, "first along", "second along", "third along", "all across", "diameter of three"],
    ),
    "bored blind": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, holes: [{{diameter: 12, in: face, at: [60, 40], depth: 20}}]}}"
        ),
        [*PLAIN, "along", "across", "diameter", "depth"],
    ),
    "bored in the edge and the face": (
        one(
            f"{{stock: oak, length: 400, place: {BOARD}, holes: [{{diameter: 10, in: face, at: [60, 40]}}, "
            "{diameter: 8, in: back edge, at: [250, 12], depth: 30}]}"
        ),
        [*PLAIN, "along", "across", "diameter", "along 2", "in from the face", "diameter 2", "depth"],
    ),
    "half lapped": (
        one(f"{{stock: oak, length: 400, place: {BOARD}}}", joints=CROSSING),
        [*PLAIN, "where the lap is", "its width", "its depth"],
    ),
    "crowned": (
        one(
            f"{{stock: wide, width: 120, length: 500, place: {BOARD}, "
            "curve: {on: back edge, rise: 30, bows: out}}"
        ),
        ["thickness", "length", "width at the ends", "radius"],
    ),
    "handed": (
        one(
            "{stock: oak, length: 400, place: {corner: [100, 0, 0], length: right, width: up}, "
            "taper: {on: back edge, at end A: 60, at end B: 100}, trim: {end A: slant}, "
            "copies: {mirror: left to right}}",
            "planes: {slant: {through point: [150, 0, 0], square to: [-1, 0.1, 0.2]}}\n",
        ),
        [
            "thickness", "width at end A", "width at end B", "length", "slope across the width",
            "slope through the thickness",
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize("part", BY_HAND)
def test_the_sheet_states_no_more_than_a_draftsman_would(part, sheet_of):
    text, by_hand = BY_HAND[part]
    sheet = sheet_of(text, "part")
    stated = [f.id for f in sheet.figures.figures if not f.reference]
    assert len(stated) <= len(by_hand), (stated, by_hand)
    assert sheet.figures.proof.undetermined == ()
