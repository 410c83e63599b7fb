"""Kinds of joints and fasteners as the trade calls them, and which keys each kind takes."""

from __future__ import annotations

_ANY = ("name", "when", "only_if")
_FITTED = (*_ANY, "fit", "allowance", "sprung")
_CUT = (*_FITTED, "after")
_LAP = (*_FITTED, "floor", "over", "depth")
_PEGGED = ("peg", "pegs", "drawbore")
_TENON = ("thickness", "width", "length", "set_back", "from_edge", "gap", "shoulder", "proud")
_STOPPED = ("short", "short_of")

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
    "mortise and tenon": (*_CUT, *_TENON, "count", "haunch", "haunch_width", "wedges", *_PEGGED),
    "finger joint": (*_FITTED, "finger"),
    "dovetail lap": (*_LAP, "slope"),
    "edge lap": (*_FITTED, "depth", "over"),
    "stopped housing": (*_CUT, *_STOPPED),
    "sliding dovetail": (*_CUT, "slope", "depth", "thickness", *_STOPPED),
    "bridle": (*_FITTED, "thickness", "set_back", *_PEGGED),
    "mitre": (*_FITTED, "spline", "spline_width"),
    "through dovetail": (*_FITTED, "tails", "slope"),
    "half-blind dovetail": (*_FITTED, "tails", "slope", "lap"),
    "birdsmouth": _CUT,
    "scarf": (*_ANY, "slope", "nib", "over"),
    "dowel": (*_FITTED, "diameter", "count", "depth", "inset", "set_back"),
    "loose tenon": (*_FITTED, "thickness", "width", "depth", "count", "inset", "set_back"),
    "round tenon": (*_CUT, "diameter", "length", "shoulder", "proud", "wedges", "bored_from", *_PEGGED),
    "taper tenon": (*_CUT, "diameter", "included", "proud", "wedges", "bored_from"),
    "half-round seat": _CUT,
    "edge glue": _ANY,
    "tongue and groove": (*_CUT, "thickness", "set_back", "gap"),
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
    "dovetail lap": "a half lap whose end widens like a dove's tail, so that it cannot be drawn out",
    "edge lap": "two members cross on edge, each slotted for the other",
    "stopped housing": "a housing that stops short of one side of the second; the first is notched there",
    "sliding dovetail": "a dovetailed end of the first slides into a dovetailed housing in the second",
    "bridle": "the second straddles the first: an open mortise over a tenon, at a corner or a tee",
    "mitre": "two members meet in the plane that halves their corner: frames, edges of a box, compound, coopered",
    "through dovetail": "tails on the first between pins on the second, both showing their end grain",
    "half-blind dovetail": "tails on the first that stop short of the second's outer face",
    "birdsmouth": "the second (a rafter) is cut out to sit on the first (a plate): a level seat, a plumb heel",
    "scarf": "two members lengthened into one over a long slope",
    "dowel": "a butted joint held by dowels in holes of both",
    "loose tenon": "a butted joint held by separate tenons in mortises of both",
    "round tenon": "a round tenon on the first in a bored socket of the second",
    "taper tenon": "a tapering round tenon on the first in a reamed socket of the second",
    "half-round seat": "the second has a half-round seat for the first, a rod or axle that lies in its surface",
    "edge glue": "two boards glued edge to edge",
    "tongue and groove": "boarding: a tongue on the first board's edge in a groove of the next, with room to swell",
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
    "dovetailed half lap": "dovetail lap",
    "cross halving on edge": "edge lap",
    "stopped dado": "stopped housing",
    "dovetailed housing": "sliding dovetail",
    "corner bridle": "bridle",
    "tee bridle": "bridle",
    "miter": "mitre",
    "splined mitre": "mitre",
    "coopered edge": "mitre",
    "lapped dovetail": "half-blind dovetail",
    "dowel joint": "dowel",
    "floating tenon": "loose tenon",
    "round mortise and tenon": "round tenon",
    "edge joint": "edge glue",
    "tongued boarding": "tongue and groove",
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
