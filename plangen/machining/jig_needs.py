"""Set-ups that need a jig, and what the work that lies on it asks of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from plangen.geometry.surfaces import Cone, Cylinder
from plangen.geometry.vectors import Point, Vec
from plangen.joinery.model import Feature, Member
from plangen.machining.posture import Posture, lying
from plangen.machining.setup import JigKind, Machine, Setup
from plangen.machining.work import Bench, Work

_ON_A_WEDGE: tuple[Machine, ...] = ("mitre saw", "table saw", "trenching head", "router", "bandsaw")
"""Machines whose table stays level: work is tilted by what lies under it."""


@dataclass(frozen=True)
class Need:
    """A set-up that needs a jig, and the work as it then stands."""

    at: int
    """Its place among the set-ups."""
    setup: Setup
    kind: JigKind
    work: Work
    """The drawn piece's."""
    feature: Feature
    other_hand: bool = False
    """The machine sees the drawn piece mirrored left to right."""

    @property
    def flat(self) -> Posture:
        """The machine's directions in the drawn piece, before it is tilted."""
        planes = self.work.planes()
        return lying(planes[self.setup.surface_down or ""], planes[self.setup.surface_against or ""])

    def seen(self, points: Iterable[Point]) -> list[Vec]:
        """Points of the piece as the machine sees them before it is tilted: right, to the fence, up."""
        flat, side = self.flat, -1.0 if self.other_hand else 1.0
        return [(side * x, y, z) for x, y, z in map(flat.to_machine, points)]

    def everywhere(self) -> list[Vec]:
        """Corners of the work so seen."""
        return self.seen((float(x), float(y), float(z)) for x, y, z in self.work.solid.vertices)

    def seat(self) -> list[Vec]:
        """Corners of the surface that lies down."""
        plane = self.work.planes()[self.setup.surface_down or ""]
        return self.seen(self.work.corners(plane)) or self.everywhere()

    def anchor(self) -> Vec:
        """Where the cut is."""
        s = self.setup
        points = [s.stop.at] if s.stop else [*s.path, *(p for p, _ in s.depth_at)]
        return self.seen([*points, self.work.solid.centroid])[0]

    def round_runs(self) -> list[tuple[float, float, Cylinder | Cone]]:
        """The round surfaces about the work's length: from, to (mm from end A), surface."""
        solid, found = self.work.solid, []
        for face in solid.faces:
            form = solid.forms[face.surface]
            if not isinstance(form, Cylinder | Cone) or form.side != "post" or abs(form.axis[0]) < 1.0 - 1e-9:
                continue
            span = solid.vertices[solid.triangles[list(face.triangles)], 0]
            found.append((float(span.min()), float(span.max()), form))
        return found


def radius_at(runs: Sequence[tuple[float, float, Cylinder | Cone]], along: float) -> float | None:
    """Radius of round work so far from end A; None where it is not round."""
    found = [
        form.radius if isinstance(form, Cylinder) else form.radius_at((along, form.point[1], form.point[2]))
        for low, high, form in runs
        if low - 1e-6 <= along <= high + 1e-6
    ]
    return min(found, default=None)


def where_thick(
    runs: Sequence[tuple[float, float, Cylinder | Cone]], radius: float, low: float, high: float
) -> list[float]:
    """Places between two along round work at which it has a radius: of a straight run its middle."""
    found = []
    for start, end, form in runs:
        start, end = max(start, low), min(end, high)
        if start >= end:
            continue
        if isinstance(form, Cylinder):
            found += [(start + end) / 2.0] if abs(form.radius - radius) < 1e-6 else []
            continue
        at = form.point[0] + form.axis[0] * (radius - form.radius) / form.slope
        found += [at] if start - 1e-6 <= at <= end + 1e-6 else []
    return [at for at in found if abs((radius_at(runs, at) or 0.0) - radius) < 1e-6]


def needs_of(members: Mapping[str, Member], setups: Sequence[Setup]) -> Iterator[Need]:
    """The needs of set-ups numbered within their members."""
    benches: dict[str, Bench] = {}
    for at, setup in enumerate(setups):
        kind = _kind(setup)
        if kind is None or setup.by_hand is not None:
            continue
        member = members[setup.member]
        bench = benches.setdefault(member.mark, Bench(member))
        done = {
            s.feature
            for s in setups
            if s.member == setup.member and s.hand == setup.hand and s.sequence < setup.sequence
        }
        feature = next(f for f in member.features if f.id == setup.feature)
        other = setup.hand not in (None, member.drawn)
        yield Need(at, setup, kind, bench.work(done - {setup.feature}), feature, other)


def _kind(setup: Setup) -> JigKind | None:
    for kind in get_args(JigKind):
        if setup.jig == kind:
            return kind
    tilted = setup.tilt is not None and setup.tilt.angle > 1e-9
    return "wedge" if tilted and setup.jig is None and setup.machine in _ON_A_WEDGE else None


def turned_in_plan(setup: Setup) -> float:
    """Angle (radians) by which a taper carrier turns the work, counter-clockwise, so that the blade runs along the
    fence."""
    return math.copysign(math.pi / 2, setup.miter) - setup.miter
