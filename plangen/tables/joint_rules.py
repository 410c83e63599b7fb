"""Rules of thumb for the proportions of joints: defaults where the designer states none, advice where he does.

None of them is a standard; the source says where each was read. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

_BOATS = "a boat-building school's joinery rules"
_INCH = 25.4
NO_MOST = 100.0
"""The most of a rule that only says how little is too little."""


@dataclass(frozen=True)
class Rule:
    """A proportion: of what, the usual value, and the least and most that the trade still calls sound."""

    of: str
    usual: float
    least: float
    most: float
    source: str


TENON_THICKNESS = Rule("the stock's thickness", 1 / 3, 1 / 4, 1 / 2, f"{_BOATS}, read: 1/3; other texts 1/4")
TENON_WIDTH = Rule("the tenon's thickness", 6.0, 1.0, 6.0, f"{_BOATS}, read: split one wider than 6")
TENON_LENGTH = Rule("the width of the member it enters", 2 / 3, 1 / 3, 1.5, f"{_BOATS}, read: 2/3")
MORTISE_DEEPER = Rule("millimetres", _INCH / 8, 0.0, _INCH / 8, f"{_BOATS}, read: 1/8 in")
HOUSING_DEPTH = Rule(
    "the stock's thickness", 1 / 4, 1 / 8, 1 / 2, f"{_BOATS}, read: 1/4, at most 1/3; school practice 1/2"
)
REBATE_DEPTH = Rule(
    "the stock's thickness", 1 / 3, 1 / 8, 2 / 3, f"{_BOATS}, read: 1/4 to 1/3; backs 2/3, common practice"
)
LAP_DEPTH = Rule("the stock's thickness", 1 / 2, 1 / 3, 2 / 3, "woodwork textbooks, common practice")
DOVETAIL_SLOPE = Rule(
    "rise to run", 1 / 7, 1 / 8, 1 / 5, "1:6 softwood to 1:8 hardwood, read; older texts the reverse"
)
DRAWBORE = Rule(
    "millimetres", _INCH / 16, _INCH / 32, 3 * _INCH / 32, "1/16 to 3/32 in for pegs of 1/4 and 3/8, read"
)
PEG_PLACE = Rule(
    "the tenon's length from its shoulder",
    16 / 34,
    1 / 4,
    3 / 5,
    "a worked joint, read: 16 mm of a tenon of 34",
)
PEG_WOOD = Rule("the peg's diameter", 1.5, 0.75, NO_MOST, "common practice")
"""Wood beside a peg hole, to the shoulder, the end and the edges of the tenon."""
EDGE_LAP_DEPTH = Rule("the member's width", 1 / 2, 0.0, 2 / 3, "woodwork textbooks, common practice")
DOVETAIL_NECK = Rule("the member's width", 3 / 4, 1 / 2, 1.0, "common practice")
"""A dovetail lap's tail at its shoulder."""
SPLINE_THICKNESS = Rule("the thinner stock's thickness", 1 / 4, 1 / 8, 1 / 3, "common practice")
SPLINE_IN_EDGE = Rule("the thinner stock's thickness", 2 / 3, 1 / 3, 1.0, "common practice")
SPLINE_IN_FRAME = Rule("the thinner stock's thickness", 4 / 3, 2 / 3, 3.0, "common practice")
"""Width of a spline across a mitre, both halves together: along the edges of boards, across the corner of a frame."""
SCARF_SLOPE = Rule("rise to run", 1 / 8, 1 / 20, 1 / 8, "1 in 8 or flatter where glued, common practice")
SCARF_NIB = Rule("the stock's thickness", 0.0, 0.0, 1 / 4, "common practice")
BIRDSMOUTH_DEPTH = Rule(
    "the rafter's depth", 1 / 4, 0.0, 1 / 3, "at most a third taken out, common practice; local codes govern"
)
TONGUE_LENGTH = Rule("the board's thickness", 1 / 3, 1 / 5, 2 / 3, "common practice")
BOARD_GAP = Rule("the board's width", 1 / 60, 0.0, 1 / 30, "about 1.5 mm in a board of 90, common practice")
"""Left open at each tongue for swelling."""
TAIL_PITCH = Rule(
    "the board's thickness", 2.5, 1.0, 6.0, "a tail and a pin in 2 to 3 thicknesses, common practice"
)
HALF_BLIND_LAP = Rule(
    "the thickness of the board it is left on", 1 / 4, 1 / 6, 1 / 2, "1/4 to 1/3, common practice"
)
KERF_DEPTH = Rule("the tenon's length", 2 / 3, 1 / 2, 3 / 4, "common practice")
"""Saw kerfs for wedges, from the tenon's end: short of the shoulder, where the tenon would split off."""
WEDGE_FLARE = Rule("millimetres", _INCH / 16, _INCH / 32, _INCH / 8, "common practice")
"""How much wider a mortise is at each end where a wedged tenon leaves it."""
MORTISE_BOTTOM = Rule("millimetres", 6.0, 3.0, NO_MOST, "common practice")
"""Wood left below a stub mortise."""
TENON_COUNT_GAP = Rule("the tenon's thickness", 1.0, 0.5, NO_MOST, "common practice")
"""Wood left between two tenons side by side."""
HAUNCH_OF_WIDTH = Rule("the width of the rail", 1 / 3, 1 / 4, 1 / 2, "common practice")
HAUNCH_DEPTH = Rule(
    "the tenon's thickness",
    1.0,
    1 / 2,
    3 / 2,
    f"{_BOATS}, read: as deep as the tenon is thick; a building text 1/2 to 1",
)
SLIDING_DOVETAIL_DEPTH = Rule(
    "the thickness of the member it is sunk in", 1 / 3, 1 / 5, 1 / 2, "common practice"
)
SLIDING_DOVETAIL_NECK = Rule("the member's thickness", 3 / 4, 1 / 2, 1.0, "common practice")
STOPPED_SHORT = Rule("millimetres", 3 * _INCH / 8, 0.0, 4 * _INCH, "common practice")
"""A housing ends this far from the side it does not reach."""
ROUND_TENON = Rule(
    "the width of the member it enters", 0.55, 0.0, 3 / 5, "1/2 to 3/5 of a leg, common practice"
)
SOCKET_DEEPER = Rule("millimetres", _INCH / 16, _INCH / 16, _INCH / 8, "1/16 to 1/8 in, common practice")
TAPER_INCLUDED = Rule("a degree", 6.0, 5.0, 13.0, "reamers of 6 to 12.8 degrees are sold, from memory")
GLUE_ROOM_MM = _INCH / 16
"""Dowel holes and loose tenons' mortises are deeper by this than what goes in (1 to 2 mm, common practice)."""
DOWEL_DIAMETER = Rule("the thinner stock's thickness", 0.42, 1 / 4, 1 / 2, "1/3 to 1/2, common practice")
DOWEL_DEPTH = Rule("the dowel's diameter", 2.5, 1.0, 4.0, "common practice")
"""How far it goes into each member."""
DOWEL_SPACING = Rule("millimetres", 150.0, 0.0, 300.0, "common practice")
DOWEL_EDGE = Rule("the dowel's diameter", 1.5, 1 / 2, NO_MOST, "common practice")
"""Wood beside the hole."""
DOWEL_SIZES_MM = (4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0)
DOWEL_SIZES_INCH = tuple(_INCH * s / 16 for s in (3, 4, 5, 6, 8, 10, 12, 16))
"""As dowel rod is sold (common practice)."""
LOOSE_TENON_DEPTH = Rule(
    "the tenon's thickness", 3.0, 1.5, 5.0, f"{_BOATS}, read: mortises 3 to 5 times as deep as wide"
)
NOTCH_DEPTH = Rule("the member's size that way", 1 / 4, 0.0, 2 / 3, "common practice")
GROOVE_WIDTH = Rule("the stock's thickness", 1 / 3, 1 / 8, 1 / 2, f"{_BOATS}, read: 1/3; thin panels less")
