"""The shape of a tenon or tongue, and the mortise or groove that takes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot, neg
from plangen.joinery.meeting import LEAST_AREA, Meeting, mating
from plangen.joinery.shoulders import Shoulder, shoulder_of, way_in
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import HAUNCH_OF_WIDTH, TENON_COUNT_GAP, TENON_THICKNESS, TENON_WIDTH

TenonKind = Literal["tenon", "tongue"]
AXES: tuple[Vec, Vec, Vec] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
LEAST_THICK = 0.5
"""Millimetres."""


@dataclass(frozen=True)
class Haunch:
    """The short stub beside a tenon: from ``low`` to ``high`` across the first, ``depth`` past the shoulder."""

    low: float
    high: float
    depth: float


@dataclass(frozen=True)
class Tenon:
    """One or more tenons of one thickness side by side, or a tongue; in the first member's frame."""

    kind: TenonKind
    into: Vec
    """Unit: the way the first goes into the second."""
    axis: int
    """0: at an end, 1: along an edge."""
    shoulder: Shoulder
    low: float
    """From ``low`` to ``high`` of the thickness."""
    high: float
    size: Vec
    strips: tuple[tuple[float, float], ...]
    """Each tenon, from and to across the first."""
    end: Plane | None = None
    """Where the first is cut off because it runs on farther than the tenon is long."""
    haunch: Haunch | None = None

    @property
    def across(self) -> int:
        return 1 if self.axis == 0 else 0

    @property
    def thickness(self) -> float:
        return self.high - self.low

    @property
    def along(self) -> Vec:
        """The first's own axis, toward the tenon's end."""
        return AXES[self.axis] if self.into[self.axis] > 0 else neg(AXES[self.axis])

    @property
    def cheeks(self) -> list[Plane]:
        """Outward from the tenon; only those that leave a shoulder."""
        return _pair(2, self.low, self.high, self.size[2])

    def sides(self, low: float, high: float) -> list[Plane]:
        """Cheeks, and edges where they leave a shoulder, of the part from ``low`` to ``high`` across."""
        return self.cheeks + _pair(self.across, low, high, self.size[self.across])


def plan_tenon(meeting: Meeting, spec: d.Joint, sizing: Sizing, kind: TenonKind, gap: float = 0.0) -> Tenon:
    """Sizes stated, or by rule; ``gap`` is left at the shoulder where none is stated.

    Raises DesignError for one that does not lie within its member.
    """
    first = meeting.first
    into = first.frame.local_direction(way_in(meeting))
    axis = max(range(3), key=lambda i: (round(abs(into[i]), 6), -i))
    if axis == 2:
        raise _fails(
            meeting,
            f'the {kind}: "{first.name}" meets "{meeting.second.name}" by its face; an end or an edge is needed',
        )
    gap = sizing.or_rule(spec.gap, gap)
    shoulder = shoulder_of(meeting, spec.shoulder, sizing, gap)
    size = first.body.size
    thickness = sizing.or_rule(spec.thickness, size[2] * TENON_THICKNESS.usual)
    high = size[2] - sizing.or_rule(spec.set_back, (size[2] - thickness) / 2)
    low = high - thickness
    if low < -1e-6 or high > size[2] + 1e-6 or thickness < LEAST_THICK:
        raise _outside(meeting, sizing, kind, (low, high, size[2]))
    layout = _Layout(meeting, spec, sizing, kind, axis, thickness)
    end = _end(meeting, spec, sizing, shoulder, gap) if kind == "tenon" and axis == 0 else None
    return Tenon(kind, into, axis, shoulder, low, high, size, layout.strips, end, layout.haunch)


def _end(meeting: Meeting, spec: d.Joint, sizing: Sizing, shoulder: Shoulder, gap: float) -> Plane | None:
    """The plane that cuts the tenon to its stated length, None where the body ends there."""
    long = sizing.length(spec.length)
    if long is None:
        return None
    end = shoulder.plane.shifted(gap + long)
    most = max(end.distance(c) for c in meeting.first.body.corners())
    if most < -0.01:
        raise _fails(
            meeting,
            f'the tenon: "{meeting.first.name}" ends {sizing.said(long + most)} past its shoulder, so its tenon cannot '
            f'be {sizing.said(long)} long; trim it by the face of "{meeting.second.name}" that it enters by',
        )
    return end if most > 1e-6 else None


@dataclass(frozen=True)
class _Layout:
    """Where tenons and haunch lie across the first."""

    meeting: Meeting
    spec: d.Joint
    sizing: Sizing
    kind: TenonKind
    axis: int
    thickness: float

    @property
    def across(self) -> int:
        return 1 if self.axis == 0 else 0

    @property
    def whole(self) -> float:
        return self.meeting.first.body.size[self.across]

    @property
    def strips(self) -> tuple[tuple[float, float], ...]:
        count = self.sizing.count(self.spec.count, 1)
        width, start = self.sizing.length(self.spec.width), self.sizing.length(self.spec.from_edge)
        if count > 1:
            return self._side_by_side(count, width, start)
        if width is None:
            width = self._usual_width(start or 0.0)
        if start is None:
            start = (self.whole - width) / 2
            if self.spec.haunch is not None:
                start = self.whole - width if self._haunch_is_low() else 0.0
        if start < -1e-6 or start + width > self.whole + 1e-6:
            raise _outside(self.meeting, self.sizing, self.kind, (start, start + width, self.whole))
        return ((start, start + width),)

    def _usual_width(self, start: float) -> float:
        """All of the member beside a stated edge or a haunch; no tenon wider than the rule allows."""
        room = (
            self.whole * (1 - HAUNCH_OF_WIDTH.usual) if self.spec.haunch is not None else self.whole - start
        )
        return room if self.kind == "tongue" else min(room, TENON_WIDTH.most * self.thickness)

    def _side_by_side(
        self, count: int, width: float | None, start: float | None
    ) -> tuple[tuple[float, float], ...]:
        """Evenly, the first and the last as far from the edges as ``start``."""
        room = self.whole - 2 * (start or 0.0)
        if width is None:
            width = min(TENON_WIDTH.most * self.thickness, (room - (count - 1) * self.thickness) / count)
        step = (room - width) / (count - 1)
        if width < LEAST_THICK or step - width < TENON_COUNT_GAP.least * self.thickness - 1e-6:
            raise _fails(
                self.meeting,
                f'the tenons: {self.sizing.said(room)} of "{self.meeting.first.name}" has no room for {count}'
                f" of {self.sizing.said(max(width, 0.0))} with wood between them",
            )
        starts = [(start or 0.0) + i * step for i in range(count)]
        return tuple((s, s + width) for s in starts)

    @property
    def haunch(self) -> Haunch | None:
        depth = self.sizing.length(self.spec.haunch)
        if depth is None:
            return None
        low_side = self._haunch_is_low()
        low, high = (0.0, self.strips[0][0]) if low_side else (self.strips[-1][1], self.whole)
        width = self.sizing.or_rule(self.spec.haunch_width, high - low)
        if width < LEAST_THICK or width > high - low + 1e-6:
            raise _fails(
                self.meeting,
                f'the haunch: {self.sizing.said(high - low)} of "{self.meeting.first.name}" lies beside the tenon '
                f'toward the end of "{self.meeting.second.name}"; there is no room for a haunch of '
                f"{self.sizing.said(width)}",
            )
        return Haunch(high - width, high, depth) if low_side else Haunch(low, low + width, depth)

    def _haunch_is_low(self) -> bool:
        """Whether the haunch lies toward the face edge: on the side of the second's nearer end."""
        first, second = self.meeting.first, self.meeting.second
        shared = self.meeting.shared(second.frame)
        assert shared is not None
        way = second.frame.l if shared.centroid[0] > second.body.size[0] / 2 else neg(second.frame.l)
        toward = first.frame.local_direction(way)[self.across]
        if abs(toward) < 0.5:
            raise _fails(
                self.meeting, f'the haunch: the width of "{first.name}" does not run along "{second.name}"'
            )
        return toward < 0


def _pair(axis: int, low: float, high: float, size: float) -> list[Plane]:
    found = []
    for sign, value, edge in ((-1.0, low, 0.0), (1.0, high, size)):
        if abs(value - edge) > 1e-6:
            found.append(Plane(_signed(axis, sign), sign * value))
    return found


def _signed(axis: int, sign: float) -> Vec:
    return AXES[axis] if sign > 0 else neg(AXES[axis])


# --- cutters ----------------------------------------------------------------------------------------------


def tenon_cutters(tenon: Tenon) -> list[tuple[Form, ...]]:
    """What the first loses beside its tenons: behind every step of the shoulder, beyond each cheek and edge."""
    steps, axis = tenon.shoulder.steps, tenon.across
    whole = tenon.size[axis]
    found: list[tuple[Form, ...]] = [(*step, cheek) for step in steps for cheek in tenon.cheeks]
    stops = [0.0, *(x for strip in tenon.strips for x in strip), whole]
    for low, high in zip(stops[::2], stops[1::2], strict=True):
        if high - low > 1e-6:
            found += _beside(tenon, low, high)
    if tenon.end is not None:
        found.append((tenon.end,))
    return found


def _beside(tenon: Tenon, low: float, high: float) -> list[tuple[Form, ...]]:
    """What goes between two tenons, or beside the last; a haunch stands in it for as far as it enters."""
    axis, steps, haunch = tenon.across, tenon.shoulder.steps, tenon.haunch
    if haunch is None or haunch.low < low - 1e-6 or haunch.high > high + 1e-6:
        bounds = _within(axis, low, high, tenon.size[axis])
        return [(*step, *bounds) for step in steps]
    found: list[tuple[Form, ...]] = []
    for a, b in ((low, haunch.low), (haunch.high, high)):
        if b - a > 1e-6:
            found += [(*step, *_within(axis, a, b, tenon.size[axis])) for step in steps]
    past = tenon.shoulder.plane.shifted(haunch.depth)
    return [*found, (past, *_within(axis, haunch.low, haunch.high, tenon.size[axis]))]


def _within(axis: int, low: float, high: float, size: float) -> list[Plane]:
    """Surfaces on whose outer side the wood from ``low`` to ``high`` lies; none at the member's own edges."""
    found = []
    if low > 1e-6:
        found.append(Plane(_signed(axis, 1.0), low))
    if high < size - 1e-6:
        found.append(Plane(_signed(axis, -1.0), -high))
    return found


def mortise_cutters(meeting: Meeting, tenon: Tenon, deeper: float) -> list[tuple[Form, ...]]:
    """The mortises or the groove, in the second's frame: cheeks, edges and end of each tenon."""
    return [receiving(meeting, tenon, tenon.sides(*strip), deeper) for strip in tenon.strips]


def haunch_socket(meeting: Meeting, tenon: Tenon) -> tuple[Form, ...]:
    """Room for the haunch, from the mortise on, in the second's frame."""
    haunch = tenon.haunch
    assert haunch is not None
    low_side = haunch.high <= tenon.strips[0][0] + 1e-6
    reach = (haunch.low, tenon.strips[0][1]) if low_side else (tenon.strips[-1][0], haunch.high)
    bottom = tenon.shoulder.plane.shifted(haunch.depth)
    return receiving(meeting, tenon, [*tenon.sides(*reach), bottom], 0.0)


def receiving(meeting: Meeting, tenon: Tenon, sides: Sequence[Plane], deeper: float) -> tuple[Form, ...]:
    """One cutter in the second for the part of the first within ``sides`` (first's frame, outward)."""
    first, second = meeting.first, meeting.second
    own = [p.squared() for p in second.body.planes()]
    planes = first.planes_in(second.frame)
    more = [*sides, *([] if tenon.end is None else [tenon.end])]
    planes += [p.placed(first.frame).local_to(second.frame).squared() for p in more]
    region = convex_region(own + planes, BOUND_MM)
    if region is None:
        raise _fails(meeting, f'the {tenon.kind} of "{first.name}" misses "{second.name}"')
    into = second.frame.local_direction(first.frame.direction(tenon.into))
    cutter: list[Form] = []
    for index in region.indices:
        if index < len(own) or region.area(index) <= LEAST_AREA:
            continue
        plane = planes[index - len(own)]
        is_end = dot(plane.normal, into) > 0.7
        cutter.append(mating(plane, max(deeper, meeting.clearance) if is_end else meeting.clearance))
    if not cutter:
        word = "mortise" if tenon.kind == "tenon" else "groove"
        raise _fails(meeting, f'the {word} would take all of "{second.name}"')
    return tuple(cutter)


def _outside(meeting: Meeting, sizing: Sizing, kind: str, sizes: tuple[float, float, float]) -> DesignError:
    low, high, size = sizes
    text = (
        f"the {kind}, from {sizing.said(low)} to {sizing.said(high)}, does not lie within "
        f'the {sizing.said(size)} of "{meeting.first.name}"'
    )
    return fail(meeting.place, "joint", text, meeting.first.name)


def _fails(meeting: Meeting, text: str) -> DesignError:
    return fail(meeting.place, "joint", text, meeting.first.name, meeting.second.name)
