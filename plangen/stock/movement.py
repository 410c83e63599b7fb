"""What moisture does to the piece: how much wide parts move across their grain, and what is fastened against that.

The strain of a part for the change from the driest air to the dampest is a tensor with nothing along the grain, one
coefficient across its width and one across its thickness. Two parts that are fastened at points or glued over a face
are forced where the difference of their tensors moves these apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from plangen.geometry.vectors import Point, Vec, add, dot, length, scale, sub
from plangen.joinery.model import Driven, Instance, Member, Model
from plangen.stock.contacts import JointContact
from plangen.tables.moisture import MOVEMENT, Air, Movement, equilibrium_moisture
from plangen.tables.stock import is_metal
from plangen.tables.woods import find_wood
from plangen.units import LengthUnit

WIDE_MM = 75.0
"""Narrower parts move less than a saw cut is wide (``common practice``: 3 in)."""
SCREWS_GIVE_MM = 1.0
"""What screws and the wood about them give before it splits or cups, beside the play of their holes
(``common practice``)."""
WIDEST_GLUED_MM = 100.0
"""Glued across the grain over no more than this, wood takes the strain (``common practice``: 4 in)."""
_AXIS_MM = 0.5
_QUARTERED = ("quartersawn", "quarter-sawn", "rift", "rift-sawn")

Placed = tuple[Member, Instance]


@dataclass(frozen=True)
class Swing:
    """Percent of moisture in the wood in the driest and the dampest air."""

    dry: float
    damp: float

    @property
    def change(self) -> float:
        return self.damp - self.dry


@dataclass(frozen=True)
class MovingPart:
    """A wide part of solid wood. Millimetres."""

    mark: str
    name: str
    wood: str
    width: float
    """Across the grain, finished."""
    coefficient: float
    quartered: bool
    change: float
    """From the driest to the dampest."""
    source: str


@dataclass(frozen=True)
class Forced:
    """Two parts held against each other's movement. Millimetres."""

    kind: str
    """``screw``, ``bolt``, ``rod``, or the kind of the joint."""
    joint: JointContact | None
    driven: Driven | None
    first: Placed
    second: Placed
    mover: Member
    """The one of the two that moves more along the forced way."""
    span: float
    """Over which they are held."""
    change: float
    """By which they would come apart over it."""
    play: float
    """What the holes give."""
    slot: float | None = None
    """Length of the slots in place of the outer holes that would allow it; None for a joint."""


def swing_of(air: Air) -> Swing:
    return Swing(
        equilibrium_moisture(air.driest, air.celsius), equilibrium_moisture(air.dampest, air.celsius)
    )


def movement_of(member: Member, units: LengthUnit) -> Movement | None:
    """The coefficients of a part of solid wood; None of sheet goods, metal, and woods that are in no table."""
    if member.role == "bought" or member.stock.kind in ("sheet", "bought"):
        return None
    wood = find_wood(member.stock.species.lower(), units)
    return MOVEMENT.get(wood[1].name) if wood else None


def is_quartered(member: Member) -> bool:
    return any(word in _QUARTERED for word in member.stock.name.lower().split())


def moving_parts(model: Model, units: LengthUnit, air: Air) -> tuple[MovingPart, ...]:
    """The wide parts of the work, in the order of the members; taken as flat-sawn, which moves more, unless the stock
    says otherwise."""
    change = swing_of(air).change
    found = []
    for member in model.members:
        movement = movement_of(member, units)
        width = member.finished[1] if member.grain == "length" else member.finished[0]
        if movement is None or member.role != "work" or member.is_round or width < WIDE_MM:
            continue
        quartered = is_quartered(member)
        coefficient = movement.radial if quartered else movement.tangential
        found.append(
            MovingPart(
                member.mark, member.name, member.stock.species, width, coefficient, quartered,
                width * coefficient * change, movement.source,
            )
        )  # fmt: skip
    return tuple(found)


# --- what is forced ---------------------------------------------------------------------------------------


def forced_parts(
    model: Model, contacts: Sequence[JointContact], units: LengthUnit, air: Air
) -> tuple[Forced, ...]:
    """What is fastened or glued so that wood that moves must split, cup or open; the worst of alike ones."""
    change = swing_of(air).change

    def strain(part: Placed) -> Callable[[Vec], Vec] | None:
        return _strain(part, units, change)

    found = [*_fastened(model, strain), *_glued(contacts, strain)]
    worst: dict[tuple[str, str, str], Forced] = {}
    for forced in found:
        key = (forced.kind, forced.first[0].mark, forced.second[0].mark)
        if key not in worst or round(forced.change, 6) > round(worst[key].change, 6):
            worst[key] = forced
    return tuple(worst.values())


def _strain(part: Placed, units: LengthUnit, change: float) -> Callable[[Vec], Vec] | None:
    """How far the end of a vector in the part moves from its start; None where the wood is not known. Sheet goods and
    metal move not at all, as this counts."""
    member, instance = part
    movement = movement_of(member, units)
    if movement is None:
        steady = member.role == "bought" or member.stock.kind in ("sheet", "bought") or is_metal(member.stock)
        return (lambda v: (0.0, 0.0, 0.0)) if steady else None
    wide, thick = (
        (movement.radial, movement.tangential)
        if is_quartered(member)
        else (movement.tangential, movement.radial)
    )
    if member.is_round:
        wide = thick = (movement.radial + movement.tangential) / 2
    across = instance.frame.w if member.grain == "length" else instance.frame.l
    through = instance.frame.t

    def moved(v: Vec) -> Vec:
        return add(
            scale(across, wide * change * dot(across, v)), scale(through, thick * change * dot(through, v))
        )

    return moved


def _fastened(model: Model, strain: Callable[[Placed], Callable[[Vec], Vec] | None]) -> Iterator[Forced]:
    """Pairs of members held by fasteners at two or more points."""
    standing = {i.name: (m, i) for m in model.members for i in m.instances}
    held: dict[tuple[str, str], list[Driven]] = {}
    for driven in model.driven:
        for pair in zip(driven.members, driven.members[1:], strict=False):
            held.setdefault(pair, []).append(driven)
    for (a, b), several in held.items():
        first, second = standing[a], standing[b]
        one, other = strain(first), strain(second)
        if one is None or other is None:
            continue
        worst = _worst_pair([(d.head, d.into) for d in several], one, other)
        if worst is None:
            continue
        i, j, span, change = worst
        driven = several[i]
        play = min(_play(first, several[i]), _play(first, several[j]))
        if change > play + SCREWS_GIVE_MM:
            mover = _mover(first, second, one, other, sub(several[j].head, several[i].head))
            slot = 2 * driven.radius + change
            yield Forced(driven.kind, None, driven, first, second, mover, span, change, play, slot)


def _play(part: Placed, driven: Driven) -> float:
    """By how much a fastener can shift in the hole of the first member that it passes: nothing where that is bored
    to its size."""
    member, instance = part
    entry = instance.frame.local_point(driven.head)
    along = instance.frame.local_direction(driven.into)
    sizes = []
    for feature in member.features:
        hole = feature.hole
        if hole is None or hole.purpose not in ("clearance", "bolt", "hole"):
            continue
        away = sub(hole.entry, entry)
        off = sub(away, scale(along, dot(away, along)))
        if length(off) < _AXIS_MM:
            sizes.append(hole.diameter - 2 * driven.radius)
    return max(0.0, min(sizes, default=0.0))


def _worst_pair(
    held: Sequence[tuple[Point, Vec]], one: Callable[[Vec], Vec], other: Callable[[Vec], Vec]
) -> tuple[int, int, float, float] | None:
    """Of points that hold two parts, each with the way it is held: those that these would move apart most, their
    distance, and by how much."""
    worst = None
    for (i, (p, into)), (j, (q, _)) in combinations(enumerate(held), 2):
        apart = sub(q, p)
        moved = sub(one(apart), other(apart))
        change = length(sub(moved, scale(into, dot(moved, into))))
        if worst is None or round(change, 6) > round(worst[3], 6):
            worst = (i, j, length(apart), change)
    return worst


def _glued(
    contacts: Sequence[JointContact], strain: Callable[[Placed], Callable[[Vec], Vec] | None]
) -> Iterator[Forced]:
    """Long-grain faces glued to each other across the grain over more than wood takes."""
    for contact in contacts:
        faces = contact.glued
        one, other = strain(contact.first), strain(contact.second)
        if not faces or one is None or other is None:
            continue
        for face in faces:
            if len(face.ways_off) != 1:
                continue  # round a post: no flat face is forced
            found = _worst_pair([(p, face.ways_off[0]) for p in face.corners], one, other)
            if found is None:
                continue
            i, j, _, change = found
            apart = sub(face.corners[j], face.corners[i])
            mover = _mover(contact.first, contact.second, one, other, apart)
            span = _across(contact.first if mover is contact.first[0] else contact.second, apart)
            if span > WIDEST_GLUED_MM and change > SCREWS_GIVE_MM:
                yield Forced(
                    contact.joint.kind, contact, None, contact.first, contact.second, mover, span, change, 0.0
                )


def _mover(
    first: Placed, second: Placed, one: Callable[[Vec], Vec], other: Callable[[Vec], Vec], apart: Vec
) -> Member:
    return first[0] if length(one(apart)) >= length(other(apart)) else second[0]


def _across(part: Placed, apart: Vec) -> float:
    """How much of a way in a part is across its grain."""
    member, instance = part
    along = instance.frame.l if member.grain == "length" else instance.frame.w
    return math.sqrt(max(0.0, dot(apart, apart) - dot(apart, along) ** 2))
