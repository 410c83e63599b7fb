"""Wedges that spread a through tenon in its mortise: where the saw kerfs go, how the mortise is flared for them.

A wedge presses what it spreads against the mortise. Against the mortise's ends, which are end grain, that holds;
against its sides it splits the mate along the grain. So the kerf always runs across the mate's grain.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.findings import DesignError, Finding, fail, warning
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot, length, neg, scale, sub, unit
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.model import Hardware
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import KERF_DEPTH, WEDGE_FLARE

KERF_MM = 1.6
"""A fine handsaw's cut, 1/16 in (common practice)."""
STEEPEST_FLARE = 1 / 8
"""A wedge steeper than this springs out again (common practice)."""
LEAST_STRIP = 3.0
"""Millimetres of tenon beside a kerf that still bend without breaking (common practice)."""
SPLITTING = math.radians(30)
"""Where the spread is farther than this from the mate's grain the wedges press against the mortise's sides."""


@dataclass(frozen=True)
class Spread:
    """A tenon that wedges spread; directions and planes in the first member's frame."""

    along: Vec
    """Unit: toward the tenon's end."""
    way: Vec
    """Unit: the axis along which it is spread, square to the kerfs."""
    low: float
    high: float
    """The tenon between these, along ``way`` from the frame's origin."""
    thick: float
    """Across the kerf's length: what a wedge is wide."""
    shoulder: Plane
    long: float
    """The tenon, from shoulder to end."""
    exit: float
    """From the shoulder to where it leaves the mate, the most of it."""

    @property
    def root(self) -> Plane:
        """Where the kerfs end; outward toward the tenon's end."""
        return self.shoulder.shifted((1 - KERF_DEPTH.usual) * self.long)

    @property
    def depth(self) -> float:
        return KERF_DEPTH.usual * self.long

    @property
    def flare(self) -> float:
        """How much wider the mortise is made at each end, where the tenon leaves it."""
        inside = self.exit - (self.long - self.depth)
        return min(WEDGE_FLARE.usual, STEEPEST_FLARE * inside)


def spread_way(meeting: Meeting, along: Vec, axes: Sequence[Vec]) -> tuple[Vec, tuple[Finding, ...]]:
    """Of the tenon's two axes (first's frame) the one that lies along the mate's grain; a warning where neither does.

    Raises DesignError where the tenon enters end grain, which any wedge splits.
    """
    body = meeting.second.body
    grain_axis = meeting.second.frame.w if body.grain == "width" else meeting.second.frame.l
    grain = meeting.first.frame.local_direction(grain_axis)
    flat = sub(grain, scale(along, dot(grain, along)))
    first, second = meeting.first.name, meeting.second.name
    if length(flat) < math.sin(SPLITTING):
        raise _fails(
            meeting, f'the tenon of "{first}" enters the end grain of "{second}"; a wedge would split it'
        )
    way = max(axes, key=lambda a: round(abs(dot(a, flat)), 6))
    off = math.acos(min(1.0, abs(dot(way, unit(flat)))))
    if off <= SPLITTING:
        return way, ()
    text = (
        f'mortise and tenon: the wedges spread "{first}" {math.degrees(off):.0f} degrees out of the grain of '
        f'"{second}" and may split it; turn one of them'
    )
    return way, (warning(meeting.place, "wedges", text, first, second),)


def kerfs(meeting: Meeting, sizing: Sizing, spread: Spread, count: int) -> Cut:
    """Saw kerfs in the tenon, from its end to a third of its length from the shoulder."""
    wide = spread.high - spread.low
    strip = wide / (2 * count) - KERF_MM / 2
    if strip < LEAST_STRIP:
        raise _fails(
            meeting,
            f'{count} wedges leave strips of {sizing.said(max(strip, 0.0))} of the tenon of "{meeting.first.name}"; '
            f"at least {sizing.said(LEAST_STRIP)} bend without breaking",
        )
    cutters: list[list[Form]] = []
    for i in range(count):
        at = spread.low + wide * (i + 0.5) / count
        sides = [
            Plane(spread.way, at - KERF_MM / 2),
            Plane(neg(spread.way), -(at + KERF_MM / 2)),
        ]
        cutters.append([spread.root, *sides])
    note = f"saw kerf for a wedge, across the grain of {meeting.second.name}"
    return replace(meeting.cut(meeting.first, "kerf", cutters), origin="worked", note=note)


def flared(meeting: Meeting, spread: Spread, mortise: Sequence[Form]) -> tuple[Form, ...] | None:
    """The mortise's cutter again (second's frame), its ends opened toward the outside; None where it has no ends."""
    first, second = meeting.first.frame, meeting.second.frame
    way = second.local_direction(first.direction(spread.way))
    root = spread.root.placed(first).local_to(second)
    inside = spread.exit - (spread.long - spread.depth)
    slope = spread.flare / inside
    forms: list[Form] = []
    for form in mortise:
        if isinstance(form, Plane) and abs(dot(form.normal, way)) > 1 - 1e-9:
            # A wall's normal points into the mortise, as of any cutter's surface.
            tilted = sub(neg(form.normal), scale(root.normal, slope))
            size = length(tilted)
            form = Plane(scale(neg(tilted), 1 / size), -(-form.offset - slope * root.offset) / size)
        forms.append(form)
    return tuple(forms) if forms != list(mortise) else None


def flare_cut(meeting: Meeting, flares: Sequence[Sequence[Form]], note: str) -> Cut:
    """The flared ends as one thing to cut."""
    return replace(meeting.cut(meeting.second, "mortise", flares), origin="worked", note=note)


def to_split(meeting: Meeting, sizing: Sizing, spread: Spread, count: int) -> Hardware:
    """The wedges: as thick at the head as the kerf and its share of the spread, split from scrap."""
    thick = KERF_MM + 2 * spread.flare / count
    long = sizing.rounded_up(spread.depth)
    size = f"{sizing.figure(spread.thick)} x {sizing.figure(long)}, {sizing.figure(thick)} thick at the head"
    use = f"{meeting.name}: split from scrap"
    return Hardware("wedge", size, count, long, use, meeting.place)


def _fails(meeting: Meeting, text: str) -> DesignError:
    return fail(meeting.place, "joint", f"wedges: {text}", meeting.first.name, meeting.second.name)
