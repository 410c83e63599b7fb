"""Turned members: a profile of diameters along the axis, each stretch of it a cylinder or a cone.

Places are measured along the axis from where it meets end A as the piece is placed, before anything is left on
for fitting. Before the first place and after the last the diameter stays; one place twice is a flat shoulder.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.surfaces import Box, Cone, Cylinder, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Vec
from plangen.placing.body import Shaping
from plangen.placing.scope import Scope

AXIS: Vec = (1.0, 0.0, 0.0)
_SAME = 1e-9
"""Slopes and radii (mm) nearer than this run on in one line."""


@dataclass(frozen=True)
class _Stretch:
    """The radius runs evenly from ``start`` at ``low`` to ``end`` at ``high``; the outermost two are endless."""

    low: float
    high: float
    start: float
    end: float

    @property
    def slope(self) -> float:
        return 0.0 if math.isinf(self.high - self.low) else (self.end - self.start) / (self.high - self.low)


def greatest_diameter(scope: Scope, name: str, member: d.Member) -> float:
    """Millimetres: the side of the box that the turned piece is cut from. Raises DesignError for a diameter of 0."""
    for _, diameter in member.turned:
        if scope.length(diameter) <= LENGTH_TOLERANCE:
            text = f'"{name}": a turned diameter must be more than zero, not {diameter}'
            raise fail(diameter.place, "turned", text, name)
    return max(scope.length(diameter) for _, diameter in member.turned)


def turned_shapings(
    scope: Scope, name: str, member: d.Member, box: Box, ends: Sequence[Shaping]
) -> list[Shaping]:
    """One shaping a stretch of the profile that has wood in the blank; ``ends`` are the trims of both ends.

    Raises DesignError for places out of order or beyond the piece.
    """
    radius = box.size[1] / 2
    start, end = _axis_ends(box, ends, radius)
    blank = (
        min((start, 0.0)) - max([0.0, *(s.leave for s in ends if s.side == "A")]),
        max((end, box.size[0])) + max([0.0, *(s.leave for s in ends if s.side == "B")]),
    )
    found = []
    for stretch in _stretches(_profile(scope, name, member, start, end)):
        if stretch.high > blank[0] + LENGTH_TOLERANCE and stretch.low < blank[1] - LENGTH_TOLERANCE:
            found.append(_shaping(stretch, radius, blank, member))
    return found


def _axis_ends(box: Box, ends: Sequence[Shaping], radius: float) -> tuple[float, float]:
    """Where the axis meets end A and end B."""
    reached = {"A": [0.0], "B": [box.size[0]]}
    for shaping in ends:
        if isinstance(plane := shaping.form, Plane) and shaping.side in reached:
            aside = radius * (plane.normal[1] + plane.normal[2])
            reached[shaping.side].append((plane.offset - aside) / plane.normal[0])
    return max(reached["A"]), min(reached["B"])


def _profile(
    scope: Scope, name: str, member: d.Member, start: float, end: float
) -> list[tuple[float, float]]:
    """(place in the box's coordinates, radius) along the axis, checked."""
    if len(member.turned) < 2:
        raise fail(member.source, "turned", f'"{name}": a turned profile takes at least 2 diameters', name)
    found: list[tuple[float, float]] = []
    for place, diameter in member.turned:
        at = scope.length(place)
        if at < -LENGTH_TOLERANCE or at > end - start + LENGTH_TOLERANCE:
            long = scope.said(end - start)
            text = f'"{name}": {place} from end A lies beyond the piece, whose axis is {long} long'
            raise fail(place.place, "turned", text, name)
        if found and at < found[-1][0] - start - LENGTH_TOLERANCE:
            raise fail(
                place.place, "turned", f'"{name}": the places of a turned profile run from end A on', name
            )
        if len(found) > 1 and abs(found[-2][0] - start - at) < LENGTH_TOLERANCE:
            raise fail(
                place.place, "turned", f'"{name}": one place of a profile has two diameters at most', name
            )
        found.append((start + at, scope.length(diameter) / 2))
    return found


def _stretches(profile: Sequence[tuple[float, float]]) -> list[_Stretch]:
    """The profile's stretches from end to end; those that run on in one line are one."""
    (first, r0), (last, r1) = profile[0], profile[-1]
    between = [_Stretch(a, b, ra, rb) for (a, ra), (b, rb) in pairwise(profile) if b - a > LENGTH_TOLERANCE]
    found: list[_Stretch] = []
    for stretch in [_Stretch(-math.inf, first, r0, r0), *between, _Stretch(last, math.inf, r1, r1)]:
        before = found[-1] if found else None
        if before and abs(before.end - stretch.start) < _SAME and abs(before.slope - stretch.slope) < _SAME:
            found[-1] = _Stretch(before.low, stretch.high, before.start, stretch.end)
        else:
            found.append(stretch)
    return found


def _shaping(stretch: _Stretch, radius: float, blank: tuple[float, float], member: d.Member) -> Shaping:
    form: Cylinder | Cone
    if abs(stretch.slope) < _SAME:
        form = Cylinder((0.0, radius, radius), AXIS, stretch.start, "post")
    else:
        form = Cone((stretch.low, radius, radius), AXIS, stretch.start, stretch.slope, "post")
    within = []
    if stretch.low > blank[0] + LENGTH_TOLERANCE:
        within.append(Plane(AXIS, stretch.low))
    if stretch.high < blank[1] - LENGTH_TOLERANCE:
        within.append(Plane((-1.0, 0.0, 0.0), -stretch.high))
    return Shaping("turned", "edge", form, member.source, within=tuple(within))
