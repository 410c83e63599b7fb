"""Facets of round surfaces that taper, and of turned profiles made of several stretches.

All round surfaces about one axis of which one tapers get the same corners round it: circles that two of them
share then fall together facet by facet. The stretches of a turned profile that follow each other are taken off
as one, so that nothing is left between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from plangen.geometry.patches import (
    ANGLE_MATCH,
    FACET_SAG,
    Array,
    coaxial,
    frame_about,
    tangent_plane_through_axis,
)
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, Vec, cross, dot, length, neg, scale, sub, unit

Round: TypeAlias = Cylinder | Cone
Ring: TypeAlias = tuple[float, float]
"""Height along the axis and radius there; a ring of radius 0 is a tip."""


@dataclass(frozen=True, eq=False)
class Spindle:
    """An axis, and the corners round it of every faceted surface about it."""

    point: Point
    axis: Vec
    spokes: Array
    """(n, 3) unit vectors square to the axis, counter-clockwise about it."""

    def height(self, p: Point) -> float:
        return dot(sub(p, self.point), self.axis)

    def rings(self, form: Round, low: float, high: float) -> list[Ring]:
        """The two ends of the inside of ``form`` between two heights; none where its tip leaves nothing."""
        at = self.height(form.point)
        slope = 0.0 if isinstance(form, Cylinder) else form.slope * (1.0 if self.runs_with(form) else -1.0)
        ends = [(h, form.radius + slope * (h - at)) for h in (low, high)]
        if max(r for _, r in ends) <= LENGTH_TOLERANCE:
            return []
        return [(h, r) if r > LENGTH_TOLERANCE else (at - form.radius / slope, 0.0) for h, r in ends]

    def runs_with(self, form: Round) -> bool:
        return dot(form.axis, self.axis) > 0

    def mesh(self, rings: Sequence[Ring]) -> tuple[Array, Array]:
        """The closed skin through rings of increasing height: vertices (n, 3) and triangles (m, 3)."""
        centre = np.array(self.point)
        vertices, triangles = [], []
        starts, total = [], 0
        for h, r in rings:
            middle = centre + np.array(self.axis) * h
            vertices.append(middle + self.spokes * r if r > 0 else middle[None])
            starts.append(total)
            total += len(vertices[-1])
        here = np.arange(len(self.spokes))
        after = np.append(here[1:], 0)
        for (_, r0), (_, r1), a, b in zip(rings, rings[1:], starts, starts[1:], strict=False):
            if r0 > 0 and r1 > 0:
                triangles.append(np.stack([a + here, a + after, b + after], 1))
                triangles.append(np.stack([a + here, b + after, b + here], 1))
            elif r1 > 0:
                triangles.append(np.stack([np.full(len(here), a), b + after, b + here], 1))
            else:
                triangles.append(np.stack([a + here, a + after, np.full(len(here), b)], 1))
        fan = np.stack([np.zeros(len(here) - 2, dtype=np.int64), here[1:-1], here[2:]], 1)
        if rings[0][1] > 0:
            triangles.append(fan[:, ::-1])
        if rings[-1][1] > 0:
            triangles.append(fan + starts[-1])
        return np.concatenate(vertices), np.concatenate(triangles)


def make_spindle(forms: Sequence[tuple[Round, float]], planes: Sequence[Plane]) -> Spindle:
    """The spindle of round surfaces about one axis, each with the greatest radius at which it is met.

    The facets are inscribed, with a corner in each ruling that one of ``planes`` touches.
    """
    first = forms[0][0]
    e1, e2 = frame_about(first.axis)
    step = 2 * math.acos(max(0.0, 1 - FACET_SAG / max(FACET_SAG, *(r for _, r in forms))))
    count = max(16, 4 * math.ceil(2 * math.pi / step / 4))
    angles = [2 * math.pi * (i + 0.5) / count for i in range(count)]
    for form, _ in forms:
        for plane in planes:
            if tangent_plane_through_axis(plane, form) is not None:
                touched = touched_direction(plane, form)
                a = math.atan2(dot(touched, e2), dot(touched, e1)) % (2 * math.pi)
                near = 0.6 * math.pi / count
                angles = [b for b in angles if abs(math.remainder(b - a, 2 * math.pi)) > near]
                angles.append(a)
    turn = np.array(sorted(angles))[:, None]
    return Spindle(first.point, first.axis, np.cos(turn) * np.array(e1) + np.sin(turn) * np.array(e2))


def touched_direction(plane: Plane, form: Round) -> Vec:
    """From the axis square to the ruling in which a plane touches a round surface."""
    across = unit(sub(plane.normal, scale(form.axis, dot(plane.normal, form.axis))))
    if isinstance(form, Cylinder):
        return across if plane.distance(form.point) < 0 else neg(across)
    return neg(across) if dot(plane.normal, form.axis) * form.slope > 0 else across


def greatest_radius(form: Round, corners: Sequence[Point]) -> float:
    """The greatest radius at which a round surface can pass through the hull of ``corners``."""
    if isinstance(form, Cylinder):
        return form.radius
    farthest = max(length(cross(sub(p, form.point), form.axis)) for p in corners)
    return min(farthest, max(0.0, *(form.radius_at(p) for p in corners)))


def gathered(forms: Sequence[Round]) -> list[list[Round]]:
    """Round surfaces by their axes."""
    groups: list[list[Round]] = []
    for form in forms:
        for group in groups:
            if coaxial(group[0], form):
                group.append(form)
                break
        else:
            groups.append([form])
    return groups


@dataclass(frozen=True)
class Stretch:
    """A cutter that turns one stretch of a profile round: what lies outside ``form`` between two heights."""

    cutter: int
    form: Round
    axis: Vec
    """From its low end to its high one."""
    low: Plane | None
    """None: open past the end of the blank."""
    high: Plane | None

    @property
    def start(self) -> float:
        """Along the axis from the origin."""
        return -math.inf if self.low is None else self.low.offset * dot(self.low.normal, self.axis)

    @property
    def end(self) -> float:
        return math.inf if self.high is None else self.high.offset * dot(self.high.normal, self.axis)

    def seen_along(self, axis: Vec) -> Stretch:
        if dot(axis, self.axis) > 0:
            return self
        return Stretch(self.cutter, self.form, neg(self.axis), self.high, self.low)


def as_stretch(number: int, cutter: Sequence[Form], idle: Sequence[Plane]) -> Stretch | None:
    """The cutter as a stretch of a turned profile; ``idle`` are planes of it that the whole blank lies beyond."""
    rounds = [f for f in cutter if isinstance(f, Cylinder | Cone)]
    planes = [f for f in cutter if isinstance(f, Plane)]
    if len(rounds) != 1 or rounds[0].side != "post" or len(rounds) + len(planes) != len(cutter):
        return None
    axis = rounds[0].axis
    if any(length(cross(p.normal, axis)) > ANGLE_MATCH * 10 for p in planes):
        return None
    # The outer side of a plane lies the way of its normal.
    lows = [p for p in planes if dot(p.normal, axis) > 0 and p not in idle]
    highs = [p for p in planes if dot(p.normal, axis) < 0 and p not in idle]
    low = max(lows, key=lambda p: p.offset, default=None)
    high = max(highs, key=lambda p: p.offset, default=None)
    return Stretch(number, rounds[0], axis, low, high)


def profiles(stretches: Sequence[Stretch]) -> list[list[Stretch]]:
    """Stretches about one axis that follow each other end to end, at least two of them, in order."""
    found = []
    for group in gathered([s.form for s in stretches]):
        axis = group[0].axis
        mine = [s.seen_along(axis) for s in stretches if any(s.form is form for form in group)]
        mine.sort(key=lambda s: (s.start, s.end, s.cutter))
        while mine:
            run = [mine.pop(0)]
            for s in list(mine):
                if abs(s.start - run[-1].end) <= LENGTH_TOLERANCE:
                    run.append(s)
                    mine.remove(s)
            if len(run) > 1:
                found.append(run)
    return found


def profile_rings(spindle: Spindle, run: Sequence[Stretch], low: float, high: float) -> list[list[Ring]]:
    """Rings of the wood that a run of stretches leaves between two heights, parted where a tip ends it."""
    run = [s.seen_along(spindle.axis) for s in run]
    run.sort(key=lambda s: s.start)
    shift = dot(spindle.point, spindle.axis)
    borders = [s.end - shift for s in run[:-1]]
    parts: list[list[Ring]] = [[]]
    for s, (start, end) in zip(run, pairwise([low, *borders, high]), strict=True):
        rings = spindle.rings(s.form, start, end)
        if not rings or (parts[-1] and rings[0][0] > parts[-1][-1][0] + LENGTH_TOLERANCE):
            parts.append([])
        for h, r in rings:
            last = parts[-1][-1] if parts[-1] else None
            if last is None or abs(h - last[0]) > LENGTH_TOLERANCE or abs(r - last[1]) > LENGTH_TOLERANCE:
                parts[-1].append((h, r))
    return [part for part in parts if part]
