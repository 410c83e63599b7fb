"""How the work is brought before a tool that cuts to a depth: lying flat, or on a wedge that levels the floor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from plangen.geometry.vectors import Vec, dot
from plangen.machining.lying import Lying, lyings
from plangen.machining.posture import LEVEL, Posture, levelling, tilted
from plangen.machining.setup import Tilt
from plangen.machining.waste import Job

_FACING = 0.5
"""Least cosine between the floor's normal and the way the tool comes from."""
WEDGE = 2.5
_STEEPEST = math.radians(40.0)
_TALLEST = 900.0
"""Millimetres: a longer piece is not stood on its end."""


@dataclass(frozen=True)
class Standing:
    """The work lying, tilted or not; ``posture`` has the tilt in it."""

    lying: Lying
    posture: Posture
    tilt: Tilt | None
    cost: float

    @property
    def jig(self) -> str | None:
        return "wedge" if self.tilt is not None else self.lying.jig


def flat(job: Job) -> Iterator[Standing]:
    """The work lying without a wedge."""
    for lying in lyings(job.work):
        if not (lying.on_end and lying.size[2] > _TALLEST):
            yield Standing(lying, lying.posture, None, lying.cost)


def before(job: Job, floor: Vec, below: bool) -> Iterator[Standing]:
    """The work with a floor of this outward normal toward the tool, that comes from below the table or from above.

    Each way to lie is offered as it is, and where the floor then slopes, on the wedge that levels it.
    """
    for one in flat(job):
        toward = one.posture.z
        facing = -dot(floor, toward) if below else dot(floor, toward)
        if facing < _FACING:
            continue
        yield one
        tilt = levelling(one.posture, floor)
        if tilt is not None and tilt.angle < _STEEPEST and one.lying.jig is None:
            cost = one.cost + WEDGE + tilt.angle
            yield Standing(one.lying, tilted(one.posture, tilt), tilt, cost)


def is_level(posture: Posture, direction: Vec) -> bool:
    return abs(dot(direction, posture.z)) < LEVEL
