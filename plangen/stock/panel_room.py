"""Panels let into grooves: whether the grooves leave them room to swell. Millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, dot, scale
from plangen.joinery.model import Instance, Joint, Member, Model
from plangen.stock.movement import MovingPart, moving_parts
from plangen.tables.moisture import Air
from plangen.units import LengthUnit

_FACING = 0.94
"""Cosine of the most (20 degrees) that the floor of a groove leans to the way that the panel moves."""
_SAME = 0.05
_DEEPEST = 30.0
"""No groove leaves more room than this: what is farther off is another panel's."""

Placed = tuple[Member, Instance]


@dataclass(frozen=True)
class TightPanel:
    """A panel held between grooves on both edges, in less room than it moves."""

    panel: Instance
    joint: Joint
    """One of the two."""
    change: float
    """Across its grain, from the driest air to the dampest."""
    room: float
    """Between its edges and the floors of the grooves, both together."""

    @property
    def each(self) -> float:
        """The gap on each side that would do, were it made in the driest air and put in the middle."""
        return self.change / 2


def tight_panels(model: Model, units: LengthUnit, air: Air) -> tuple[TightPanel, ...]:
    """Wide parts of solid wood, the worst of alike ones."""
    moving = {part.mark: part for part in moving_parts(model, units, air)}
    standing = {i.name: (m, i) for m in model.members for i in m.instances}
    grooved: dict[str, list[Joint]] = {}
    for joint in model.joints:
        if joint.kind == "groove" and standing[joint.members[0]][0].mark in moving:
            grooved.setdefault(joint.members[0], []).append(joint)
    worst: dict[str, TightPanel] = {}
    for name, joints in grooved.items():
        member, instance = standing[name]
        found = _tight((member, instance), joints, standing, moving[member.mark])
        if found is not None and (member.mark not in worst or found.room < worst[member.mark].room - _SAME):
            worst[member.mark] = found
    return tuple(worst.values())


def _tight(
    panel: Placed, joints: list[Joint], standing: dict[str, Placed], moving: MovingPart
) -> TightPanel | None:
    """None where an edge is free or there is room enough."""
    member, instance = panel
    across = instance.frame.w if member.grain == "length" else instance.frame.l
    beside: list[list[float]] = [[], []]
    for joint in joints:
        for floor in _floors(standing[joint.members[1]]):
            for side, way in enumerate((across, scale(across, -1.0))):
                off = _nearest(panel, floor)
                if dot(floor.normal, way) < -_FACING and -_SAME <= off <= _DEEPEST:
                    beside[side].append(off)
    if not all(beside):
        return None
    room = min(beside[0]) + min(beside[1])
    return TightPanel(instance, joints[0], moving.change, room) if room < moving.change - _SAME else None


def _floors(second: Placed) -> Iterator[Plane]:
    """The planes of all grooves in a part, in the world, looking out of its wood."""
    member, instance = second
    for feature in member.features:
        if feature.kind == "groove":
            yield from (s.form.placed(instance.frame) for s in feature.surfaces if isinstance(s.form, Plane))


def _nearest(panel: Placed, floor: Plane) -> float:
    """How far the panel stays off a plane that looks at it."""
    member, instance = panel
    corners: list[Vec] = [(v[0], v[1], v[2]) for v in member.solid.vertices.tolist()]
    return min(floor.distance(instance.frame.point(v)) for v in corners)
