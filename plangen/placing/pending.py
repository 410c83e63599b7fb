"""A member whose trims are still being worked out: the surfaces that its place alone gives.

Two pieces may be cut by each other's faces (a tray's sides and ends, the mitres of a frame): the faces come
from their places, only the ends from each other.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Place
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import Point, dot, scale
from plangen.placing.body import BOUND_MM, Standing
from plangen.placing.copies import standings
from plangen.placing.directions import LOCAL, LOOKS, side_facing
from plangen.placing.locating import Extent, Located
from plangen.placing.scope import Scope

_CLEARLY = 0.75
"""Cosine from which a side looks along a word clearly enough, whatever the trims add."""
_OPEN = Extent(-BOUND_MM, BOUND_MM)


@dataclass(frozen=True)
class Pending:
    """What is certain of a member before its trims: where it stands, and the sides that its place settles."""

    member: str
    standings: tuple[Standing, ...]
    named_by_place: bool
    """Whether ``left`` or ``front`` in the standings' names is certain before the ends are."""
    settled: dict[str, Plane]
    """In the member's frame; without the sides that a trim, a taper or a curve touches."""
    middle: Point

    def surface(self, name: str, side: str, place: Place) -> tuple[str, Plane] | None:
        """Side and world plane of a surface of the standing ``name``; None where it hangs on the trims."""
        standing = self._standing(name)
        if standing is None:
            return None
        frame = standing.frame
        own = side_facing(frame.axes, side, frame.point(self.middle), place)
        if own not in self.settled:
            return None
        if side in LOOKS and dot(frame.direction(LOCAL[own]), LOOKS[side]) < _CLEARLY:
            return None
        return own, self.settled[own].placed(frame)

    def _standing(self, name: str) -> Standing | None:
        if name == self.member:
            return self.standings[0]
        if not self.named_by_place and name != f"{self.member} mirrored":
            return None
        return next((s for s in self.standings if name == s.name or name in s.aliases), None)


def pending_member(
    scope: Scope,
    name: str,
    member: d.Member,
    located: Located,
    extents: tuple[Extent, Extent, Extent],
    trimmed: set[str],
) -> Pending:
    """What is certain of ``member`` once it is located; ``trimmed`` are the sides that its trims cut."""
    sure = [_OPEN if i in located.sliding else e for i, e in enumerate(extents)]
    low = (_corner(sure[0]), _corner(sure[1]), _corner(sure[2]))
    size = [e.high - e.low if e.known else 0.0 for e in sure]
    box = Box((0.0, 0.0, 0.0), (size[0], size[1], size[2]))
    frame = Frame(located.frame.point(low), *located.frame.axes)
    mirrored = _mirror_axes(member.copies)
    across = any(abs(frame.axes[i][k]) > 1e-9 for i in range(3) if not sure[i].known for k in mirrored)
    touched = set(trimmed) | {str(part.on) for part in (member.taper, member.curve) if part is not None}
    if member.outline is not None:
        touched |= {"edge", "back edge", "A", "B"}
    settled = {}
    for side, normal in LOCAL.items():
        axis = max(range(3), key=lambda i: abs(normal[i]))
        value = sure[axis].high if normal[axis] > 0 else sure[axis].low
        if abs(value) < BOUND_MM and side not in touched:
            settled[side] = Plane(normal, normal[axis] * (value - low[axis]))
    return Pending(
        name, standings(scope, name, member.copies, frame, box), not across, settled, scale(box.size, 0.5)
    )


def _mirror_axes(copies: d.Copies | None) -> tuple[int, ...]:
    """World axes square to the planes it is mirrored about."""
    asked = () if copies is None else copies.mirror
    return tuple(k for k, word in enumerate(("left to right", "front to back")) if word in asked)


def _corner(extent: Extent) -> float:
    """The low side, or the one side that is known, or the origin."""
    if extent.low > -BOUND_MM:
        return extent.low
    return extent.high if extent.high < BOUND_MM else 0.0
