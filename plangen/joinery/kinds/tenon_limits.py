"""How far a tenon goes: through its mate, standing out of it, or stopped in it with wood below the mortise."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Finding, fail, warning
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Cone, Cylinder
from plangen.geometry.vectors import Point, Vec, along, dot, sub
from plangen.joinery import advice
from plangen.joinery.kinds.tenon_shape import Tenon
from plangen.joinery.meeting import Meeting
from plangen.joinery.shoulders import ROUNDED
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import (
    HAUNCH_DEPTH,
    MORTISE_BOTTOM,
    TENON_LENGTH,
    TENON_THICKNESS,
    TENON_WIDTH,
)

FLUSH_MM = 0.05
"""A tenon that stands out less than this is flush to the hand."""
SLIVER_MM = 0.1


@dataclass(frozen=True)
class Passage:
    """A tenon's way into its mate; millimetres from the shoulder's plane."""

    through: bool
    long: float
    """The tenon, the most of it."""
    inside: float
    """As much of it as lies in the mate."""
    findings: tuple[Finding, ...] = ()


def passage(meeting: Meeting, spec: d.Joint, sizing: Sizing, tenon: Tenon, deeper: float) -> Passage:
    """Raises DesignError for a stub tenon or its mortise that comes out, a through one that does not."""
    first = meeting.first
    planes = [p.squared() for p in first.body.planes()] + tenon.sides(*tenon.strips[0])
    planes += [tenon.shoulder.plane.flipped(), *([] if tenon.end is None else [tenon.end])]
    whole = convex_region(planes, BOUND_MM)
    within = convex_region(planes + meeting.second.planes_in(first.frame), BOUND_MM)
    if whole is None or within is None:
        text = f'the tenon of "{first.name}" misses "{meeting.second.name}"'
        raise fail(meeting.place, "joint", text, first.name, meeting.second.name)
    way = _Way(meeting, spec, sizing, tenon, _outside(meeting, tenon.into))
    end = way.end_corners(whole)
    out = [way.outside(p) for p in end]
    reach = [tenon.shoulder.plane.distance(v) for v in whole.vertices]
    inside = [tenon.shoulder.plane.distance(v) for v in within.vertices]
    through = min(out) > -1e-6
    findings = way.through(max(out)) if through else way.stopped(max(out), end, deeper)
    return Passage(through, max(reach), max(inside), (*findings, *way.advice(max(inside))))


def _outside(meeting: Meeting, into: Vec) -> Callable[[Point], float]:
    """How far a point (first's frame) lies outside the second on the side where a tenon leaves it."""
    first, second = meeting.first, meeting.second
    far = [p for p in second.planes_in(first.frame) if dot(p.normal, into) > 0.5]
    rounds = [
        s.form.placed(second.frame).local_to(first.frame)
        for s in second.body.shapings
        if s.kind in ROUNDED
        and isinstance(s.form, Cylinder | Cone)
        and s.form.side == "post"
        and not s.within
    ]

    def outside(p: Point) -> float:
        beyond = [plane.distance(p) for plane in far]
        beyond += [r.distance(p) for r in rounds if dot(sub(p, r.point), into) > 0]
        return max(beyond, default=-BOUND_MM)

    return outside


@dataclass(frozen=True)
class _Way:
    meeting: Meeting
    spec: d.Joint
    sizing: Sizing
    tenon: Tenon
    outside: Callable[[Point], float]

    def end_corners(self, region: ConvexRegion) -> list[Point]:
        normals = dict(zip(region.indices, region.planes, strict=True))
        ends = [
            polygon
            for index, polygon in region.faces
            if index in normals and dot(normals[index].normal, self.tenon.into) > 0.7
        ]
        return [p for polygon in ends for p in polygon] or list(region.vertices)

    def through(self, out: float) -> tuple[Finding, ...]:
        first, second = self.meeting.first.name, self.meeting.second.name
        said = self.sizing.length(self.spec.proud)
        if said is None and out > FLUSH_MM:
            self._come_out(out)
        if said is not None and abs(out - said) > FLUSH_MM:
            text = (
                f'mortise and tenon: the tenon of "{first}" stands {self.sizing.said(out)} out of "{second}", not '
                f'{self.sizing.said(said)}; trim "{first}" by the face of "{second}" that it enters by'
            )
            return (warning(self.meeting.place, "proud", text, first, second),)
        return ()

    def _come_out(self, out: float) -> None:
        first, second = self.meeting.first.name, self.meeting.second.name
        text = (
            f'the tenon of "{first}" comes out of the far side of "{second}" by {self.sizing.said(out)}; shorten it, '
            "or say how far a through tenon stands out (proud)"
        )
        raise fail(self.meeting.place, "joint", text, first, second)

    def stopped(self, out: float, end: list[Point], deeper: float) -> tuple[Finding, ...]:
        first, second = self.meeting.first.name, self.meeting.second.name
        if out > FLUSH_MM:
            self._come_out(out)
        for key, asked in (("proud", self.spec.proud), ("wedges", self.spec.wedges)):
            if asked is not None:
                text = f'{key}: the tenon of "{first}" does not come through "{second}"'
                raise fail(asked.place, "joint", text, first, second)
        bottom = -max(self.outside(along(p, self.tenon.into, deeper)) for p in end)
        if bottom < SLIVER_MM:
            text = (
                f'the mortise for "{first}" comes out of the far side of "{second}": it is {self.sizing.said(deeper)} '
                "deeper than the tenon; shorten the tenon, or take it through"
            )
            raise fail(self.meeting.place, "joint", text, first, second)
        what = f'mortise and tenon: the wood of "{second}" below the mortise'
        rule, place = MORTISE_BOTTOM, self.meeting.place
        return advice.length_outside(rule, bottom, what, self.sizing, place, first, second)

    def advice(self, inside: float) -> tuple[Finding, ...]:
        """Where thickness, width, length or haunch lie outside the rules of thumb; tenons at ends only."""
        tenon, place = self.tenon, self.meeting.place
        if tenon.axis != 0:
            return ()
        low, high = tenon.strips[0]
        body = self.meeting.second.body
        into = self.meeting.second.frame.local_direction(self.meeting.first.frame.direction(tenon.into))
        depth = body.size[max(range(3), key=lambda i: round(abs(into[i]), 6))]
        shares = [
            (TENON_THICKNESS, tenon.thickness / tenon.size[2], "the tenon's thickness"),
            (TENON_WIDTH, (high - low) / tenon.thickness, "the tenon's width"),
            (TENON_LENGTH, inside / depth, "the tenon's length"),
        ]
        if tenon.haunch is not None:
            shares.append((HAUNCH_DEPTH, tenon.haunch.depth / tenon.thickness, "the haunch's depth"))
        names = (self.meeting.first.name, self.meeting.second.name)
        told = (advice.outside(r, s, f"mortise and tenon: {what}", place, *names) for r, s, what in shares)
        return tuple(f for found in told for f in found)
