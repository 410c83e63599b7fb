"""Cautions that belong to one cut, said only where the safer set-up still leaves a risk. Advice, never a rule.

They give way to the machine maker's instructions and the shop's own rules, as the set-up sheets say once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.units import LengthUnit

Risk: TypeAlias = Literal[
    "short piece", "blade toward fence", "narrow rip", "trench through most", "end grain", "standing tall",
    "bored aslant", "round rolls", "small at router", "thin at jointer", "narrow at jointer", "fence leans out",
    "deep cut", "tapering rip", "small at bandsaw", "put together",
]  # fmt: skip

PUSH_STICK_WIDTH = 150.0
"""Millimetres: narrower rips are pushed with a stick (6 in, school shop audit, read)."""
MOST_OF_SECTION = 2.0 / 3.0
"""Part of the section past which a trench leaves the piece weak while it is handled (common practice)."""
TALL_FOR_ITS_FOOT = 4.0
"""A piece standing on its end or edge higher than this many times its foot tips (common practice)."""
SMALL_AT_ROUTER = 300.0
"""Millimetres: shorter pieces are routed as part of a longer one or held down (rule of 12 and 3, read)."""
SMALL_AT_BANDSAW = 150.0
"""Millimetres: a shorter piece leaves no hand clear of the blade (6 in kept from a cutter, school shop audit, read)."""
DEEP = 19.0
"""Millimetres: a trench up to this deep is one pass (common practice)."""
THIN_AT_JOINTER = 6.35
"""Millimetres: no thinner piece is run over a jointer (1/4 in, two school rules, read)."""

NARROW_AT_JOINTER = 75.0
"""Millimetres: lower pieces are moved over a jointer with push blocks (3 in, common practice)."""


GUARD_OFF = (
    "Cuts that are not right through may need the guard off: use a carrier or hold-downs, and put the guard back "
    "at once."
)
"""Said once for all of them. ``common practice``"""


@dataclass(frozen=True)
class CutCaution:
    """What is said of one risk, by the design's units."""

    texts: dict[LengthUnit, str]
    source: str


def _said(text: str, source: str) -> CutCaution:
    """``text`` holds ``{hands}``, the distance kept from the cutter (6 in, school shop audit, read)."""
    return CutCaution({"in": text.format(hands="6 in"), "mm": text.format(hands="150 mm")}, source)


CUT_CAUTIONS: dict[Risk, CutCaution] = {
    "short piece": _said(
        "Short for this machine: cut it while it is part of a longer piece, or hold it in a block or carrier; "
        "hands stay {hands} from the cutter.",
        "rule of 12 and 3 (read)",
    ),
    "blade toward fence": _said(
        "The blade leans toward the fence and can trap the piece: move the fence to the other side if the saw "
        "allows it; else use a feather board and a stick, and stand aside.",
        "common practice",
    ),
    "narrow rip": _said(
        "Narrow rip: push stick and splitter, never the hand between blade and fence.",
        "school shop audit (read)",
    ),
    "trench through most": _said(
        "Little wood is left under this cut: support it, and do not lift the piece by one end.",
        "common practice",
    ),
    "end grain": _said(
        "End grain tears and kicks at the jointer: a light cut in from both ends, or a plane and shooting board.",
        "two school shop rules: never joint end grain (read)",
    ),
    "standing tall": _said(
        "The piece stands tall on a small foot: clamp it to a carrier or tall fence that cannot tip.",
        "common practice",
    ),
    "bored aslant": _said(
        "Aslant the bit wanders: clamp the piece, start with the point or a pilot, feed slowly.",
        "common practice",
    ),
    "round rolls": _said(
        "Round stock rolls into the cutter: hold it in a V-block, clamped.", "common practice"
    ),
    "small at router": _said(
        "Small for a hand on it: rout it as part of a longer piece, or hold it down; feed against the cutter.",
        "rule of 12 and 3 (read)",
    ),
    "thin at jointer": _said(
        "Too thin for the jointer: plane it by hand on a board.", "1/4 in, two school rules (read)"
    ),
    "narrow at jointer": _said(
        "Low at the jointer: push blocks on it, never a hand over the cutters.", "common practice"
    ),
    "fence leans out": _said(
        "The fence leans out and does not trap the work: clamp a strip to the table along its foot, press it to the "
        "fence.",
        "a jointer's fence tilts inward (common practice)",
    ),
    "deep cut": _said(
        "Deep for one pass: take it in several, each no deeper than the cutter is wide.", "common practice"
    ),
    "tapering rip": _said(
        "A taper never runs freehand along the fence: clamp the piece in its carrier and hold the carrier, not the "
        "piece; leave the offcut until the blade stands still.",
        "common practice",
    ),
    "small at bandsaw": _said(
        "Small at the bandsaw: saw it from a longer piece, or hold it in a clamp; hands stay {hands} from the blade.",
        "6 in from a cutter, school shop audit (read)",
    ),
    "put together": _said(
        "Its other parts are on: where they keep the work from fence or table, guide the tool along a batten clamped "
        "on, or work by hand.",
        "common practice",
    ),
}
