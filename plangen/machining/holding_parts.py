"""How a part is held until it is cut free: tabs, screws in the waste beside it; and where the cutter comes in.

Tabs stand on edges that no other part touches, clear of corners, as evenly as those edges allow.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.geometry.biarcs import part_of
from plangen.geometry.contour_faults import curve_length
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.cutter_fit import waste_places
from plangen.geometry.patches import end_direction
from plangen.machining.template import Contour, Template
from plangen.machining.template_edges import Neighbours
from plangen.tables.cut_files import CutFiles, HoldDown, Tabs

LEAST_TABS = 3
_GENTLE = 5.0
"""An arc may carry a tab where its radius is this many widths of the tab."""


@dataclass(frozen=True)
class _Spot:
    """A place for a tab: its edge, and its middle along that, mm; with the way round the whole outline."""

    edge: int
    at: float
    round: float


def held_parts(template: Template, cut: CutFiles, beside: Neighbours | None) -> tuple[Template, list[str]]:
    """The template with what was asked for, and what it could not be given."""
    told: list[str] = []
    extra: list[Contour] = []
    contours = list(template.contours)
    outline = template.outline
    if cut.lead_in is not None:
        contours, leads = _led_in(contours, cut.lead_in)
        outline = contours[-1]
        extra += leads
    if cut.tabs is not None:
        spots = tab_spots(template, outline, cut.tabs, beside)
        if len(spots) < LEAST_TABS:
            few = {0: "no tab has", 1: "only 1 tab has"}.get(len(spots), f"only {len(spots)} tabs have")
            told.append(f"{few} room on edges that no other part touches; screw the part down")
        if cut.tabs.left == "gaps" and spots:
            contours = [*contours[:-1], *_with_gaps(outline, spots, cut.tabs.width)]
        else:
            extra += [_across(outline, spot, cut.tabs) for spot in spots]
    if cut.hold_down is not None and cut.cutter is not None:
        held = cut.hold_down
        clear = held.keep_out + cut.cutter * (0.5 if cut.compensated else 1.0)
        extra += hold_down_contours(waste_places(template.outline.curves, clear, held.spacing), held)
    marks = sum(c.operation == "mark" for c in contours)
    return replace(template, contours=(*contours[:marks], *extra, *contours[marks:])), told


def hold_down_contours(places: Sequence[Vec2], held: HoldDown) -> list[Contour]:
    """A screw at each place, and what no cutter enters round it."""
    return [
        _circle(word, at, radius)
        for at in places
        for word, radius in (("keep out", held.keep_out), ("hold down", held.diameter / 2))
    ]


def tab_spots(
    template: Template, outline: Contour, tabs: Tabs, beside: Neighbours | None
) -> tuple[_Spot, ...]:
    """Where tabs stand, in the order of the outline."""
    lengths = [curve_length(c) for c in outline.curves]
    starts = [math.fsum(lengths[:i]) for i in range(len(lengths))]
    whole = math.fsum(lengths)
    joined = {f.id for f in template.member.features if f.joint is not None or f.mate is not None}
    top = template.member.finished[2]
    free = []
    for i, curve in enumerate(outline.curves):
        gentle = isinstance(curve, Line) or (isinstance(curve, Arc) and curve.radius > _GENTLE * tabs.width)
        mates = bool(outline.made_by) and outline.made_by[i] in joined
        if gentle and not mates and lengths[i] > 3 * tabs.width:
            touched = beside is not None and beside.lie_against(curve, 1.0, top)
            if not touched:
                free.append(i)
    count = max(LEAST_TABS, math.ceil(whole / tabs.spacing))
    places = [_Spot(i, at, starts[i] + at) for i in free for at in _along(lengths[i], tabs.width)]
    found: list[_Spot] = []
    for k in range(count):
        want = whole * (k + 0.5) / count
        near = [p for p in places if all(_apart(p, q, whole) >= 4 * tabs.width for q in found)]
        if near:
            found.append(min(near, key=lambda p: (round(_round_to(p.round, want, whole), 3), p.round)))
    return tuple(sorted(found, key=lambda p: p.round))


def _along(length: float, width: float) -> list[float]:
    """Middles of tabs along an edge, clear of its ends by a width."""
    free = length - 3 * width
    count = max(1, math.floor(free / (2 * width)))
    return [1.5 * width + free * (i + 0.5) / count for i in range(count)]


def _round_to(a: float, b: float, whole: float) -> float:
    off = abs(a - b) % whole
    return min(off, whole - off)


def _apart(a: _Spot, b: _Spot, whole: float) -> float:
    return _round_to(a.round, b.round, whole)


def _across(outline: Contour, spot: _Spot, tabs: Tabs) -> Contour:
    """A short line across the outline at the tab's middle, as long as the tab is wide."""
    curve = outline.curves[spot.edge]
    share = spot.at / curve_length(curve)
    (x, y), (ux, uy) = curve.at(share), _way(curve, share)
    half = tabs.width / 2
    line = Line((x - uy * half, y + ux * half), (x + uy * half, y - ux * half))
    return Contour("tabs", (line,), closed=False, depth=tabs.height)


def _way(curve: Curve, share: float) -> Vec2:
    return end_direction(part_of(curve, share, 1.0), 0.0)


def _with_gaps(outline: Contour, spots: Sequence[_Spot], width: float) -> list[Contour]:
    """The outline in open lines from tab to tab."""
    runs: list[list[Curve]] = [[]]
    for i, curve in enumerate(outline.curves):
        size, done = curve_length(curve), 0.0
        for spot in spots:
            if spot.edge == i:
                runs[-1].append(part_of(curve, done, (spot.at - width / 2) / size))
                runs.append([])
                done = (spot.at + width / 2) / size
        runs[-1].append(part_of(curve, done, 1.0) if done else curve)
    runs[0] = runs.pop() + runs[0]
    return [replace(outline, curves=tuple(run), closed=False, made_by=()) for run in runs]


def _led_in(contours: Sequence[Contour], length: float) -> tuple[list[Contour], list[Contour]]:
    """Contours that start in the middle of their longest straight edge, and the lines in to there from the waste."""
    started, leads = [], []
    for contour in contours:
        lines = [(curve_length(c), -i) for i, c in enumerate(contour.curves) if isinstance(c, Line)]
        if not contour.closed or not contour.operation.startswith("through") or not lines:
            started.append(contour)
            continue
        k = -max((round(size, 3), i) for size, i in lines)[1]
        edge = contour.curves[k]
        x, y = edge.at(0.5)
        ux, uy = end_direction(edge, 0.0)
        curves = (
            part_of(edge, 0.5, 1.0), *contour.curves[k + 1 :], *contour.curves[:k], part_of(edge, 0.0, 0.5),
        )  # fmt: skip
        names = contour.made_by
        turned = (names[k], *names[k + 1 :], *names[:k], names[k]) if names else ()
        started.append(replace(contour, curves=curves, made_by=turned))
        lead = Line((x + uy * length, y - ux * length), (x, y))
        leads.append(Contour("lead in", (lead,), closed=False))
    return started, leads


def _circle(operation: str, at: Vec2, radius: float) -> Contour:
    return Contour(
        "hold down" if operation == "hold down" else "keep out", (Arc(at, radius, 0.0, 2 * math.pi),)
    )
