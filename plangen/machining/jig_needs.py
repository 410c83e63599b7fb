"""Set-ups that need a jig, and what the work that lies on it asks of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from plangen.geometry.surfaces import Cone, Cylinder
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Feature, Member
from plangen.machining.hands import mirrored
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
    """As on the drawn hand, whichever hand it is for."""
    kind: JigKind
    work: Work
    feature: Feature

    @property
    def flat(self) -> Posture:
        """The machine's directions before the work is tilted."""
        planes = self.work.planes()
        return lying(planes[self.setup.surface_down or ""], planes[self.setup.surface_against or ""])

    def everywhere(self) -> list[Vec]:
        """Corners of the work in those directions."""
        flat = self.flat
        return [flat.to_machine((float(x), float(y), float(z))) for x, y, z in self.work.solid.vertices]

    def seat(self) -> list[Vec]:
        """Corners of the surface that lies down."""
        flat, plane = self.flat, self.work.planes()[self.setup.surface_down or ""]
        return [flat.to_machine(p) for p in self.work.corners(plane)] or self.everywhere()

    def anchor(self) -> Vec:
        """Where the cut is."""
        s = self.setup
        points = [s.stop.at] if s.stop else [*s.path, *(p for p, _ in s.depth_at)]
        return self.flat.to_machine(points[0] if points else self.work.solid.centroid)

    def radius_at(self, along: float) -> float:
        """Radius of round work so far from end A; half its thickness where it is not round there."""
        solid, found = self.work.solid, [self.work.member.finished[2] / 2.0]
        for face in solid.faces:
            form = solid.forms[face.surface]
            if not isinstance(form, Cylinder | Cone) or form.side != "post" or abs(form.axis[0]) < 1.0 - 1e-9:
                continue
            span = solid.vertices[solid.triangles[list(face.triangles)], 0]
            if span.min() - 1e-6 <= along <= span.max() + 1e-6:
                on_axis = (along, form.point[1], form.point[2])
                found.append(form.radius if isinstance(form, Cylinder) else form.radius_at(on_axis))
        return min(found)


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
        drawn = setup if setup.hand in (None, member.drawn) else mirrored(setup)
        feature = next(f for f in member.features if f.id == setup.feature)
        yield Need(at, drawn, kind, bench.work(done - {setup.feature}), feature)


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
