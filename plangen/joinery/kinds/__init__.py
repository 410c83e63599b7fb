"""The kinds of joint, one file each; ``KINDS`` is the register.

A kind takes a ``Meeting`` and the designer's entry, and gives what it makes. Adding one: a new file with a
function ``make(meeting, spec, sizing)``, a line in ``KINDS``, a paragraph in the reference, its tests.
"""

from __future__ import annotations

from collections.abc import Callable

from plangen.design import design as d
from plangen.joinery.kinds import (
    birdsmouth,
    boarding,
    bridle,
    butt,
    dovetail,
    dovetail_lap,
    dowel,
    edge_glue,
    edge_lap,
    entering,
    fingers,
    half_lap,
    half_round_seat,
    loose_tenon,
    mitre,
    round_tenon,
    scarf,
    sliding_dovetail,
    stopped_housing,
    taper_tenon,
    tenon,
)
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting
from plangen.joinery.sizing import Sizing

Kind = Callable[[Meeting, d.Joint, Sizing], Made]

KINDS: dict[str, Kind] = {
    "butt": butt.make,
    "half lap": half_lap.make,
    "corner lap": half_lap.make,
    "tee lap": half_lap.make,
    "cross lap": half_lap.make,
    "dovetail lap": dovetail_lap.make,
    "edge lap": edge_lap.make,
    "bridle": bridle.make,
    "mitre": mitre.make,
    "scarf": scarf.make,
    "birdsmouth": birdsmouth.make,
    "edge glue": edge_glue.make,
    "tongue and groove": boarding.make,
    "housing": entering.housing,
    "stopped housing": stopped_housing.make,
    "notch": entering.notch,
    "rebate": entering.rebate,
    "groove": entering.groove,
    "mortise and tenon": tenon.make,
    "loose tenon": loose_tenon.make,
    "dowel": dowel.make,
    "finger joint": fingers.make,
    "through dovetail": dovetail.through,
    "half-blind dovetail": dovetail.half_blind,
    "sliding dovetail": sliding_dovetail.make,
    "round tenon": round_tenon.make,
    "half-round seat": half_round_seat.make,
    "taper tenon": taper_tenon.make,
}

AGAINST = frozenset({"butt", "dowel", "loose tenon", "edge glue"})
"""Kinds whose members stand against one another: it is enough that the bodies touch."""
