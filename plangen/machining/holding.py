"""How the work is held so that a direction in it stands upright: under the drill, on the bandsaw or the router."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from plangen.geometry.vectors import Vec, dot
from plangen.machining.lying import Lying, lyings
from plangen.machining.posture import Posture, levelling, tilted
from plangen.machining.setup import Tilt
from plangen.machining.work import Work
from plangen.tables.machines import Reach

_LEAST_RISE = 0.3
"""Cosine: a surface that looks up less than this is no surface to work from."""
_TILTING = 0.4
"""What it costs to tilt the table."""
_JIG = 1.2


@dataclass(frozen=True)
class Hold:
    """The work as it lies, its tilt, and what it is held in."""

    lying: Lying
    tilt: Tilt | None
    jig: str | None
    cost: float

    @property
    def posture(self) -> Posture:
        """The machine's directions in the member, the tilt applied."""
        flat = self.lying.posture
        return flat if self.tilt is None else tilted(flat, self.tilt)


def upright(work: Work, up: Vec, reach: Reach | None, covered: Collection[str] = ()) -> Hold | None:
    """The cheapest way to hold the work with ``up`` (unit, of the member) upright; None where it cannot lie so.

    A table tilts as far as ``reach`` says, beyond that an angle block is wanted. A round piece is rolled in its
    cradle, so that there only the slope along the grain counts. What is ``covered`` (ids of surfaces) neither lies down
    nor stands at the fence, unless there is no other way.
    """
    most = 0.0 if reach is None or reach.tilt is None else reach.tilt
    found = [lying for lying in lyings(work) if dot(lying.posture.z, up) > _LEAST_RISE]
    free = [lying for lying in found if lying.down not in covered and lying.against not in covered]
    holds = [_hold(lying, up, most) for lying in free or found]
    return min(holds, key=lambda h: (round(h.cost, 6), h.lying.down, h.lying.against), default=None)


def _hold(lying: Lying, up: Vec, most: float) -> Hold:
    tilt = levelling(lying.posture, up)
    if tilt is None:
        return Hold(lying, None, lying.jig, lying.cost)
    cost = lying.cost + _TILTING + 0.2 * tilt.angle
    slope = tilt.angle if lying.jig is None else math.asin(min(1.0, abs(up[0])))
    if math.degrees(slope) > most + 1e-9:
        return Hold(lying, tilt, lying.jig or "angle block", cost + _JIG)
    return Hold(lying, tilt, lying.jig, cost)
