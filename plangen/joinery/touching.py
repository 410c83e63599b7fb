"""Where a flat shoulder, square to a round tenon's axis, first touches the second."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from plangen.geometry.cutting import corners_of
from plangen.geometry.many_lines import Lines, first_shared, lines_through
from plangen.geometry.patches import Array
from plangen.geometry.spans import outer_spans
from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, along, dot, length, sub, unit
from plangen.joinery.meeting import Placed
from plangen.joinery.sockets import ROUND_THE_RIM, Passage

_BESIDE = 1e-9
"""Millimetres outside the tenon, and that both must share on a line."""
_PLACES = 17
"""Looked at across a stretch, which is then drawn in to those on either side of the best."""
_COARSE, _FINE = 0.1, 1e-8
"""Millimetres out from the axis: to tell which side touches first, and where it does."""
_ROUND = 1e-6
"""Millimetres round the axis: where the valley is smooth its depth is then found far closer, and it has its sharp
corners at turns that are looked at by themselves."""


def touching(passage: Passage, radius: float) -> float | None:
    """How far a flat shoulder round a tenon comes along the axis until it touches the second; None: no shoulder.

    The least distance at which wood of the first farther than ``radius`` from the axis would enter the second's.
    """
    face = passage.face(passage.entered)
    size = passage.meeting.first.body.size
    ring = _Ring(passage, radius + _BESIDE, max(radius + _BESIDE, math.hypot(size[1], size[2]) / 2))
    step = 2 * math.pi / ROUND_THE_RIM
    likely = _likely_turns(passage, face)
    turns = [*(step * i for i in range(ROUND_THE_RIM)), *likely]
    seen = ring.nearest(turns, _COARSE)
    best = int(np.argmin(np.round(seen, 9)))
    corners = _at_corners(passage, ring.near)
    if seen[best] == math.inf:
        return min(corners, default=None)
    if face is not None and abs(dot(face.normal, passage.way)) > 1 - 1e-12:
        return passage.entered
    found = min([float(ring.nearest(likely, _FINE).min()), *corners])
    if face is not None and found <= seen[best] + _FINE:
        return found
    return min(found, ring.least(turns[best] - step, turns[best] + step))


def _likely_turns(passage: Passage, face: Plane | None) -> list[float]:
    """Round the axis, where the first comes to the second soonest: its corners, up and down the face or the length."""
    u, v = passage.ring()
    size = passage.meeting.first.body.size
    corner = math.atan2(size[2], size[1])
    steep = passage.meeting.second.frame.l if face is None else face.normal
    slope = math.atan2(dot(steep, v), dot(steep, u))
    return [slope, slope + math.pi, corner, -corner, math.pi - corner, math.pi + corner]


def _at_corners(passage: Passage, radius: float) -> list[float]:
    """How far along the axis corners of what the two share lie, and its arrises where they come out of the tenon.

    The search round the tenon may pass over a corner that stands in the way by little. None where either is round or
    curved.
    """
    first, second = passage.meeting.first, passage.meeting.second
    region = passage.meeting.shared()
    if region is None or not (first.body.is_flat and second.body.is_flat):
        return []
    found: list[Point] = []
    for _, corners in region.faces:
        for p, q in zip(corners, [*corners[1:], corners[0]], strict=True):
            found += _beside(passage, radius, p, q)
    return [dot(sub(p, passage.start), passage.way) for p in found]


def _beside(passage: Passage, radius: float, p: Point, q: Point) -> Iterator[Point]:
    """The start of the straight from ``p`` to ``q`` where it is not in the tenon, and where it comes out of it."""
    way, far = unit(sub(q, p)), length(sub(q, p))
    tenon = Cylinder(passage.start, passage.way, radius, "post")
    if tenon.distance(p) > 0:
        yield p
    for stop in (s for span in outer_spans(tenon, p, way) for s in span):
        if 0 < stop < far:
            yield along(p, way, stop)


@dataclass(frozen=True)
class _Ring:
    """Lines along the axis beside the tenon, from ``near`` to ``far`` millimetres from it, all round."""

    passage: Passage
    near: float
    far: float

    @cached_property
    def bodies(self) -> tuple[tuple[Placed, list[Sequence[Form]]], ...]:
        """The two members, each with those of its cutters that these lines may meet within both boxes."""
        start, way = self.passage.start, self.passage.way
        members = (self.passage.meeting.first, self.passage.meeting.second)
        reaches = [[dot(sub(m.frame.point(c), start), way) for c in corners_of(m.body.box)] for m in members]
        ends = [along(start, way, s) for s in (max(map(min, reaches)), min(map(max, reaches)))]
        return tuple(
            (m, [s.cutter for s in m.body.shapings if self._may_meet(m, s.cutter, ends)]) for m in members
        )

    def _may_meet(self, member: Placed, cutter: Sequence[Form], ends: Sequence[Point]) -> bool:
        """Whether none of a cutter's planes has all of the lines, between two ends of the axis, on its inner side."""
        for plane in (f.placed(member.frame) for f in cutter if isinstance(f, Plane)):
            aside = self.far * math.sqrt(max(0.0, 1 - dot(plane.normal, self.passage.way) ** 2))
            if max(map(plane.distance, ends)) + aside < 0:
                return False
        return True

    def nearest(self, turns: Sequence[float], fine: float) -> Array:
        """The least way along the axis (n,) to where both members' wood begins, at each turn; ``fine`` is how
        close to its place out from the axis it is searched.

        A half plane from the axis cuts the two in figures that bow outward, mostly: along it there is one valley.
        """
        near, far = np.full(len(turns), self.near), np.full(len(turns), self.far)
        best = np.full(len(turns), math.inf)
        while True:
            step = (far - near) / (_PLACES - 1)
            met = self._entered(turns, near[:, None] + step[:, None] * np.arange(_PLACES))
            at = np.argmin(met, axis=1)
            best = np.minimum(best, met[np.arange(len(turns)), at])
            if step.max() < fine:
                return best
            near, far = near + step * np.maximum(at - 1, 0), near + step * np.minimum(at + 1, _PLACES - 1)

    def least(self, first: float, last: float) -> float:
        """The least way between two turns, where it has one valley."""
        best = math.inf
        while True:
            step = (last - first) / (_PLACES - 1)
            met = self.nearest([first + step * i for i in range(_PLACES)], _FINE)
            at = int(np.argmin(met))
            best = min(best, float(met[at]))
            if step * self.far < _ROUND:
                return best
            first, last = first + step * max(at - 1, 0), first + step * min(at + 1, _PLACES - 1)

    def _entered(self, turns: Sequence[float], outs: Array) -> Array:
        """How far along the axis lines so turned, and so far out (n, m), first run in both members' wood: (n, m)."""
        u, v = self.passage.ring()
        aside = np.array([[u[i] * math.cos(t) + v[i] * math.sin(t) for i in range(3)] for t in turns])
        starts = (np.array(self.passage.start) + aside[:, None, :] * outs[:, :, None]).reshape(-1, 3)
        first, second = (self._lines(member, cutters, starts) for member, cutters in self.bodies)
        return first_shared(first, second, _BESIDE).reshape(outs.shape)

    def _lines(self, member: Placed, cutters: Sequence[Sequence[Form]], starts: Array) -> Lines:
        frame = member.frame
        d = starts - np.array(frame.origin)
        local = np.stack([d[:, 0] * a[0] + d[:, 1] * a[1] + d[:, 2] * a[2] for a in frame.axes], axis=1)
        way = frame.local_direction(self.passage.way)
        return lines_through(member.body.box.planes().values(), cutters, local, way)
