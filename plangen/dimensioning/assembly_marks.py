"""Assembly marks: a letter on both parts of each joint, so that no part is put in the place of its twin.

Letters go on after those of the parts, so that no letter stands for two things. Which side meets which is read from
where the two parts touch: the sides' normals weighed by area, in which the walls of a cut that face each other cancel.
A round post, which touches all round, meets with its end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.dimensioning.figures import MemberView
from plangen.geometry.contact import Touch
from plangen.geometry.vectors import Point, Vec, add, length, neg, scale
from plangen.joinery.model import Instance, Joint, Member, Model
from plangen.joinery.modelling import item_letters

Near: TypeAlias = Literal["end A", "middle", "end B", "along"]
_NEARLY = 0.85
"""Of two sides that meet alike, as at a corner of fingers, the end is told."""
_CANCELS = 0.05
"""Of the area in contact: less of it than this looks no way."""
_THIRD = 1 / 3
_SIDES: tuple[tuple[MemberView, int, float], ...] = (
    ("end A", 0, -1.0), ("end B", 0, 1.0), ("face", 2, 1.0), ("back", 2, -1.0), ("edge", 1, -1.0),
    ("back edge", 1, 1.0),
)  # fmt: skip


@dataclass(frozen=True)
class MarkedPart:
    """One part of a joint."""

    instance: str
    mark: str
    side: MemberView
    """The side that meets the other part: where the letter is written."""
    near: Near
    """Where along the part; ``along``: over most of its length."""


@dataclass(frozen=True)
class AssemblyMark:
    """The letter of a joint."""

    letter: str
    joint: str
    kind: str
    parts: tuple[MarkedPart, MarkedPart]


def assembly_marks(model: Model, contacts: Sequence[Sequence[Touch]]) -> tuple[AssemblyMark, ...]:
    """A mark for each joint whose parts touch, in the model's order; ``contacts`` are those of each joint."""
    standing = {i.name: (m, i) for m in model.members for i in m.instances}
    first = sum(1 for m in model.members if m.mark.isalpha())
    found: list[AssemblyMark] = []
    for joint, touches in zip(model.joints, contacts, strict=True):
        if touches:
            letter = item_letters(first + len(found))
            found.append(
                _mark(letter, joint, standing[joint.members[0]], standing[joint.members[1]], touches)
            )
    return tuple(found)


def _mark(
    letter: str,
    joint: Joint,
    first: tuple[Member, Instance],
    second: tuple[Member, Instance],
    touches: Sequence[Touch],
) -> AssemblyMark:
    area = math.fsum(t.area for t in touches)
    out: Vec = (0.0, 0.0, 0.0)
    for t in touches:
        if len(t.ways_off) == 1:
            out = add(out, scale(t.ways_off[0], -t.area / area))
    corners = [c for t in touches for c in t.corners]
    if length(out) < _CANCELS:
        out = _lengthwise(*first, corners)
    parts = (_part(*first, out, corners), _part(*second, neg(out), corners))
    return AssemblyMark(letter, joint.name, joint.kind, parts)


def _stretch(member: Member, instance: Instance, corners: Sequence[Point]) -> tuple[float, float]:
    """From where to where the points lie along a part, over its length."""
    along = [instance.frame.local_point(c)[0] / member.finished[0] for c in corners]
    return min(along), max(along)


def _lengthwise(member: Member, instance: Instance, corners: Sequence[Point]) -> Vec:
    """Along a part's length, to the end that is nearer to the points."""
    low, high = _stretch(member, instance, corners)
    return scale(instance.frame.l, math.copysign(1.0, low + high - 1))


def _part(member: Member, instance: Instance, out: Vec, corners: Sequence[Point]) -> MarkedPart:
    """``out``: in the world, out of the part to the other one."""
    local = instance.frame.local_direction(out)
    strongest = max(abs(c) for c in local)
    side = next(name for name, axis, sign in _SIDES if local[axis] * sign >= _NEARLY * strongest)
    low, high = _stretch(member, instance, corners)
    return MarkedPart(instance.name, member.mark, side, _near(low, high))


def _near(low: float, high: float) -> Near:
    if high - low > 2 * _THIRD:
        return "along"
    middle = (low + high) / 2
    return "end A" if middle < _THIRD else "end B" if middle > 1 - _THIRD else "middle"
