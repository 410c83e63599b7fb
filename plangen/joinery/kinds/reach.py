"""Whether a member's end reaches as far as its joint needs it to. Lengths are millimetres."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, dot
from plangen.joinery.meeting import LEAST_AREA, Placed
from plangen.placing.body import BOUND_MM


def ends_toward(member: Placed, way: Vec, least: float = 0.5) -> list[Plane]:
    """The body's planes, in its own frame, that close it along the world direction ``way``."""
    local = member.frame.local_direction(way)
    return [p for p in member.body.planes() if dot(p.normal, local) > least]


def short_of(
    member: Placed, way: Vec, bounds: Sequence[Plane], beside: Sequence[Plane] | None = None
) -> float:
    """How far the member's end along ``way`` stops before the world planes that are to cut it off; 0 where the
    cut leaves nothing of that end.

    ``bounds`` have the wood that stays on their inner side. ``beside`` are the world planes that bound the member
    sideways, where they are not the body's own.
    """
    ends = [p.squared() for p in ends_toward(member, way)]
    own = [p.squared() for p in member.body.planes()]
    sides = [p for p in own if p not in ends]
    if beside is not None:
        sides = [p.local_to(member.frame).squared() for p in beside]
    kept = [b.local_to(member.frame).squared() for b in bounds]
    region = convex_region([*ends, *sides, *kept], BOUND_MM)
    if region is None or all(region.area(i) <= LEAST_AREA for i in range(len(ends))):
        return 0.0
    endless = convex_region([*sides, *kept], BOUND_MM)
    reach = endless.vertices if endless is not None else ()
    return max((e.distance(v) for e in ends for v in reach), default=0.0)
