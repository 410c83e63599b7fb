"""Mortise and tenon, and tongue and groove: the first enters the second by a part of its section.

The shoulder is the second's face that the first enters by, so it comes out angled where the two meet out of
square; the cheeks are parallel to the first's own faces. Rules of thumb (notes of a boat-building school's
joinery rules, read): the tenon is a third of the stock's thickness, the mortise 1/8 in deeper than a stub
tenon is long.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_AREA, Meeting, mating
from plangen.joinery.model import FeatureKind
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM

TENON_OF_STOCK = 1 / 3
MORTISE_DEEPER_MM = 3.175
"""1/8 in (the same notes, read)."""


@dataclass(frozen=True)
class Tenon:
    """A tenon or tongue in the first member's frame."""

    shoulder: Plane
    """Outward: toward the tenon's end."""
    cheeks: tuple[Plane, ...]
    """Outward from the tenon; only those that leave a shoulder."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Mortise and tenon; without a ``width`` the tenon is as wide as its member."""
    return _made(meeting, spec, sizing, ("tenon", "mortise"), MORTISE_DEEPER_MM)


def tongued(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Tongue and groove; ``gap`` is left at the shoulder and below the tongue."""
    gap = sizing.or_rule(spec.gap, 0.0)
    return _made(meeting, spec, sizing, ("tongue", "groove"), gap)


def _made(
    meeting: Meeting, spec: d.Joint, sizing: Sizing, kinds: tuple[FeatureKind, FeatureKind], deeper: float
) -> Made:
    tenon = _tenon(meeting, spec, sizing, kinds[0])
    cutters: list[list[Form]] = [[tenon.shoulder, cheek] for cheek in tenon.cheeks]
    receiving = _receiving(meeting, tenon, deeper, kinds)
    cuts = (
        meeting.cut(meeting.first, kinds[0], cutters),
        meeting.cut(meeting.second, kinds[1], meeting.receiving(receiving)),
    )
    return Made(cuts)


def _tenon(meeting: Meeting, spec: d.Joint, sizing: Sizing, kind: FeatureKind) -> Tenon:
    first = meeting.first
    into = first.frame.local_direction(meeting.entering())
    axis = max(range(3), key=lambda i: (round(abs(into[i]), 6), -i))
    if axis == 2:
        raise fail(
            meeting.place,
            "joint",
            f'the {kind}: "{first.name}" meets "{meeting.second.name}" by its face; an end or an edge is needed',
            first.name,
            meeting.second.name,
        )
    shoulder = _shoulder(meeting, into)
    shoulder = shoulder.shifted(-sizing.or_rule(spec.gap, 0.0))
    size = first.body.size
    thickness = sizing.or_rule(spec.thickness, size[2] * TENON_OF_STOCK)
    set_back = sizing.or_rule(spec.set_back, (size[2] - thickness) / 2)
    high = size[2] - set_back
    cheeks = _cheek_pair(2, high - thickness, high, size[2])
    across = 1 if axis == 0 else 0
    width = sizing.length(spec.width)
    if width is not None:
        start = sizing.or_rule(spec.from_edge, (size[across] - width) / 2)
        cheeks += _cheek_pair(across, start, start + width, size[across])
    _check_within(meeting, sizing, kind, (high - thickness, high, size[2]))
    return Tenon(shoulder, tuple(cheeks))


def _check_within(
    meeting: Meeting, sizing: Sizing, kind: FeatureKind, sizes: tuple[float, float, float]
) -> None:
    low, high, thickness = sizes
    if low < -1e-6 or high > thickness + 1e-6 or high - low < 0.5:
        raise fail(
            meeting.place,
            "joint",
            f"the {kind}, from {sizing.said(low)} to {sizing.said(high)}, does not lie within "
            f'the {sizing.said(thickness)} of "{meeting.first.name}"',
            meeting.first.name,
        )


def _shoulder(meeting: Meeting, into: Vec) -> Plane:
    """The second's entered face in the first's frame, outward toward the tenon's end."""
    faces = [p for p in meeting.second.planes_in(meeting.first.frame) if dot(p.normal, into) < -0.5]
    if not faces:
        raise fail(
            meeting.place, "joint", f'"{meeting.first.name}" enters no face of "{meeting.second.name}"'
        )
    return min(faces, key=lambda p: round(dot(p.normal, into), 9)).flipped()


def _cheek_pair(axis: int, low: float, high: float, size: float) -> list[Plane]:
    cheeks = []
    for sign, value, edge in ((-1.0, low, 0.0), (1.0, high, size)):
        if abs(value - edge) > 1e-6:
            normal = [0.0, 0.0, 0.0]
            normal[axis] = sign
            cheeks.append(Plane((normal[0], normal[1], normal[2]), sign * value))
    return cheeks


def _receiving(
    meeting: Meeting, tenon: Tenon, deeper: float, kinds: tuple[FeatureKind, FeatureKind]
) -> list[Form]:
    """The mortise's or groove's cutter in the second's frame: the tenon's cheeks and end."""
    first, second = meeting.first, meeting.second
    own = [p.squared() for p in second.body.planes()]
    tenon_planes = first.planes_in(second.frame)
    for cheek in tenon.cheeks:
        tenon_planes.append(cheek.placed(first.frame).local_to(second.frame).squared())
    region = convex_region(own + tenon_planes, BOUND_MM)
    if region is None:
        raise fail(
            meeting.place,
            "joint",
            f'the {kinds[0]} of "{first.name}" misses "{second.name}"',
            first.name,
            second.name,
        )
    into = second.frame.local_direction(meeting.entering())
    cutter: list[Form] = []
    for index in region.indices:
        if index < len(own) or region.area(index) <= LEAST_AREA:
            continue
        plane = tenon_planes[index - len(own)]
        is_end = dot(plane.normal, into) > 0.7
        cutter.append(mating(plane, max(deeper, meeting.clearance) if is_end else meeting.clearance))
    if not cutter:
        raise fail(
            meeting.place,
            "joint",
            f'the {kinds[1]} would take all of "{second.name}"',
            first.name,
            second.name,
        )
    return cutter
