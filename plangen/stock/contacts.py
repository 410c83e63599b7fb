"""Where the parts of a piece lie on each other at their joints: asked for once, for glue, finish and movement."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.geometry.contact import Touch, touches
from plangen.joinery.model import Instance, Joint, Member, Model

_REACH_MM = 1e-3
"""Faces this near to each other touch, beside the clearance that the joint declares."""

GLUED = (
    "half lap", "corner lap", "tee lap", "cross lap", "dovetail lap", "edge lap", "bridle", "mitre", "scarf",
    "mortise and tenon", "round tenon", "taper tenon", "loose tenon", "dowel", "finger joint", "through dovetail",
    "half-blind dovetail", "edge glue",
)  # fmt: skip
"""Kinds of joints that are glued as a rule (``common practice``); the others are held by their shape or by metal."""

_END_GRAIN = math.cos(math.radians(45))
"""A face whose normal is nearer than this to the grain is end grain, which glue does not hold."""


@dataclass(frozen=True)
class JointContact:
    """A joint, what it joins, and where they touch."""

    joint: Joint
    first: tuple[Member, Instance]
    second: tuple[Member, Instance]
    touches: tuple[Touch, ...]

    @property
    def area(self) -> float:
        """Square millimetres in contact."""
        return math.fsum(t.area for t in self.touches)

    @property
    def glued(self) -> tuple[Touch, ...]:
        """The contacts of a joint that is glued as a rule: long grain, and round posts in their holes."""
        if self.joint.kind not in GLUED:
            return ()
        ends = (self.first, self.second)
        return tuple(
            t for t in self.touches if len(t.ways_off) > 1 or not any(_end_grain(t, p) for p in ends)
        )


def joint_contacts(model: Model) -> tuple[JointContact, ...]:
    """Every joint of the piece with its contacts, in the model's order."""
    standing = {i.name: (m, i) for m in model.members for i in m.instances}
    return tuple(_contact(j, standing[j.members[0]], standing[j.members[1]]) for j in model.joints)


def _contact(joint: Joint, first: tuple[Member, Instance], second: tuple[Member, Instance]) -> JointContact:
    (a, ia), (b, ib) = first, second
    found = touches(a.solid, ia.frame, b.solid, ib.frame, _REACH_MM + 2 * joint.clearance)
    return JointContact(joint, first, second, found)


def _end_grain(touch: Touch, part: tuple[Member, Instance]) -> bool:
    member, instance = part
    if member.stock.kind == "sheet":
        return False
    along = instance.frame.l if member.grain == "length" else instance.frame.w
    return any(abs(sum(n * g for n, g in zip(w, along, strict=True))) > _END_GRAIN for w in touch.ways_off)


def glue_area(contacts: Sequence[JointContact]) -> float:
    """Square millimetres of joints to be glued, one face of each."""
    return math.fsum(t.area for c in contacts for t in c.glued)
