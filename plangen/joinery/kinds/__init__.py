"""The kinds of joint, one file each; ``KINDS`` is the register.

A kind takes a ``Meeting`` and the designer's entry, and gives the cuts it makes. Adding one: a new file with a
function ``cuts(meeting, spec, sizes)``, a line in ``KINDS``, a paragraph in the reference, its tests.
"""

from __future__ import annotations

from collections.abc import Callable

from plangen.design import design as d
from plangen.findings import Finding
from plangen.joinery.kinds import butt, entering, fingers, half_lap, tenon
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.sizing import Sizing

Kind = Callable[[Meeting, d.Joint, Sizing], tuple[Cut, ...]]
Remarks = Callable[[Meeting, d.Joint, Sizing], tuple[Finding, ...]]

KINDS: dict[str, Kind] = {
    "butt": butt.cuts,
    "half lap": half_lap.cuts,
    "corner lap": half_lap.cuts,
    "tee lap": half_lap.cuts,
    "cross lap": half_lap.cuts,
    "housing": entering.housing,
    "notch": entering.notch,
    "rebate": entering.rebate,
    "groove": entering.groove,
    "mortise and tenon": tenon.cuts,
    "finger joint": fingers.cuts,
}

REMARKS: dict[str, Remarks] = {kind: half_lap.remarks for kind in KINDS if kind.endswith("lap")}
"""What a kind has to say beside its cuts, for the kinds that have."""
