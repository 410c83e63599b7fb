"""Kinds of joints and fasteners as the trade calls them, and which keys each kind takes."""

from __future__ import annotations

_ANY = ("name", "when")
_FITTED = (*_ANY, "fit", "allowance")
_CUT = (*_FITTED, "after")
_LAP = (*_FITTED, "floor", "over", "depth")

JOINT_OPTIONS: dict[str, tuple[str, ...]] = {
    "butt": _ANY,
    "half lap": _LAP,
    "corner lap": _LAP,
    "tee lap": _LAP,
    "cross lap": _LAP,
    "housing": _CUT,
    "notch": _CUT,
    "rebate": (*_CUT, "stopped"),
    "groove": (*_CUT, "stopped", "thickness", "length", "set_back", "gap"),
    "mortise and tenon": (*_CUT, "thickness", "width", "length", "set_back", "from_edge", "gap"),
    "finger joint": (*_FITTED, "finger"),
}
"""The fields of ``Joint`` that say something about a joint of each kind."""

JOINT_MEANINGS: dict[str, str] = {
    "butt": "two members touch; nothing is cut",
    "half lap": "each member gives up part of its thickness; the two lie flush",
    "corner lap": "a half lap at the ends of both members",
    "tee lap": "a half lap of an end on the middle of the other member",
    "cross lap": "a half lap where both members run on",
    "housing": "the first member is let into a trench in the second, whole",
    "notch": "the second member is cut out for the first, which stays whole",
    "rebate": "the second member's edge is cut away for the first",
    "groove": "a tongue on the first member, or its edge, in a groove of the second",
    "mortise and tenon": "a tenon on the first member in a mortise of the second",
    "finger joint": "fingers of equal width on both members",
}

FASTENER_MEANINGS: dict[str, str] = {
    "screw": "a wood screw: gauge x length",
    "bolt": "a bolt with washer and nut: diameter x length",
    "rod": "a threaded rod with washers and nuts at both ends: diameter x length",
}

JOINT_SYNONYMS: dict[str, str] = {
    "butt joint": "butt",
    "halving": "half lap",
    "halved joint": "half lap",
    "t lap": "tee lap",
    "dado": "housing",
    "rabbet": "rebate",
    "mortice and tenon": "mortise and tenon",
    "comb joint": "finger joint",
    "box joint": "finger joint",
}
"""Trade synonyms; only the reader knows them."""

FASTENER_SYNONYMS: dict[str, str] = {"wood screw": "screw", "threaded rod": "rod"}

WORD_SYNONYMS: dict[str, str] = {
    "back": "rear",
    "backward": "rear",
    "forward": "front",
    "upward": "up",
    "downward": "down",
}
"""Other words for directions."""

PLANE_SYNONYMS: dict[str, str] = {"center plane": "centre plane"}

DIRECTION_WORDS = ("right", "left", "front", "rear", "up", "down")
BUILT_IN_PLANES = ("floor", "centre plane", "depth plane")
