"""Screws, bolts and rods: where they go, the holes they need, and what to buy.

Fasteners are placed by relation: a row over the area that the joined members share, seen along the fastener,
or at stated places on the entry face. The axis is square to the face it enters by, or goes the way that is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.geometry.flat import Area, row_in
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, neg, scale, sub, unit
from plangen.joinery.bores import Bore
from plangen.joinery.fastener_holes import Run, length_needed, make_holes
from plangen.joinery.meeting import Cut, Placed, standing_for, touches
from plangen.joinery.model import Driven, Hardware
from plangen.joinery.piercing import wood_spans
from plangen.placing.body import BOUND_MM
from plangen.placing.boring import GLANCING
from plangen.placing.directions import local_normal, side_facing
from plangen.placing.scope import Scope
from plangen.tables.fasteners import Fastener, read_fastener

CLOSEST = 4.0
"""Diameters from one fastener to the next in a row, least (NDS 2018 table 12.5.1B, 4 D with pre-bored holes,
from memory)."""


@dataclass(frozen=True)
class Fastened:
    """What all fasteners of a design come to."""

    cuts: tuple[Cut, ...]
    hardware: tuple[Hardware, ...]
    bores: tuple[Bore, ...]
    """Where each goes, to see whether any two meet."""
    driven: tuple[Driven, ...]
    findings: tuple[Finding, ...]


def fasten(
    design: d.Design,
    scope: Scope,
    placed: Sequence[Placed],
    joined: Sequence[Cut],
    run_step: Callable[[Callable[[], None]], None],
) -> Fastened:
    """Holes for every fastener of the design, and the hardware list's lines for them.

    ``joined`` is what the joints cut: a fastener bites only in wood that is left.
    """
    cuts: list[Cut] = []
    hardware: list[Hardware] = []
    bores: list[Bore] = []
    driven: list[Driven] = []
    findings: list[Finding] = []
    for spec in design.fasteners:

        def make(spec: d.Fastener = spec) -> None:
            runs = _runs(spec, scope, placed)
            made = [make_holes(run, joined, scope) for run in runs]
            for holes in made:
                cuts.extend(holes.cuts)
                bores.extend(holes.bores)
                driven.extend(holes.driven)
                findings.extend(f for f in holes.findings if f not in findings)
            hardware.extend(_to_buy(spec, runs, length_needed(runs, joined, scope)))

        run_step(make)
    return Fastened(tuple(cuts), tuple(hardware), tuple(bores), tuple(driven), tuple(findings))


def _to_buy(spec: d.Fastener, runs: Sequence[Run], rod_length: float | None) -> list[Hardware]:
    fastener = runs[0].fastener
    count = sum(len(r.axes) for r in runs)
    names = [*(str(n) for n in spec.through), *([str(spec.into)] if spec.into is not None else [])]
    use = " to ".join(names)
    found = [Hardware(fastener.kind, _size(fastener), count, fastener.length or rod_length, use, spec.place)]
    if fastener.washers:
        found.append(
            Hardware("washer", f"washer for {fastener.size}", count * fastener.washers, None, use, spec.place)
        )
    if fastener.nuts:
        found.append(
            Hardware("nut", f"nut for {fastener.size}", count * fastener.nuts, None, use, spec.place)
        )
    return found


def _size(fastener: Fastener) -> str:
    """What follows the kind on the list: the name without it."""
    words = fastener.name.replace(f" {fastener.kind}", "")
    return words if words != fastener.name else fastener.name


# --- places -----------------------------------------------------------------------------------------------


def _runs(spec: d.Fastener, scope: Scope, placed: Sequence[Placed]) -> list[Run]:
    try:
        fastener = read_fastener(str(spec.size), spec.kind)
    except ValueError as problem:
        raise fail(spec.size.place, "fastener", str(problem)) from None
    chains: list[tuple[Placed, ...]] = [(p,) for p in standing_for(spec.through[0], scope, placed)]
    for name in [*spec.through[1:], *([spec.into] if spec.into is not None else [])]:
        nexts = standing_for(name, scope, placed)
        chains = [
            (*chain, p)
            for chain in chains
            for p in nexts
            if p not in chain and (touches(chain[-1], p) or _is_pierced(spec, chain[0], p, scope))
        ]
    if not chains:
        words = " and ".join(f'"{n}"' for n in [*spec.through, *([spec.into] if spec.into else [])])
        raise fail(
            spec.place, "fastener", f"{spec.kind}: no place where {words} touch", *map(str, spec.through)
        )
    return [_run(spec, fastener, chain, scope) for chain in chains]


def _is_pierced(spec: d.Fastener, first: Placed, other: Placed, scope: Scope) -> bool:
    """Whether a bolt or rod at stated places goes through ``other``, which may stand apart from the rest."""
    if spec.kind == "screw" or spec.at is None or spec.from_ is None:
        return False
    side = _entry_side(spec, (first,))
    entry = _entry(spec, first, side)
    into = _into(spec, entry, scope)
    axes = _stated_axes(spec, first, side, entry, scope)
    return all(any(high > 0 for _, high in wood_spans(other, (), at, into)) for at in axes)


def _run(spec: d.Fastener, fastener: Fastener, chain: tuple[Placed, ...], scope: Scope) -> Run:
    first = chain[0]
    side = _entry_side(spec, chain)
    entry = _entry(spec, first, side)
    into = _into(spec, entry, scope)
    if spec.at is not None:
        axes = _stated_axes(spec, first, side, entry, scope)
    else:
        axes = _row(spec, fastener, chain, entry, into, scope)
    holding = chain[-1] if spec.into is not None else None
    passed = chain[:-1] if holding is not None else chain
    return Run(spec, fastener, passed, holding, entry, side, axes, into)


def _entry(spec: d.Fastener, first: Placed, side: str) -> Plane:
    """The face it enters by, in the world: the blank's own, or the bevel or taper that took its place."""
    carrying = {n: p for n, p, _ in first.body.carrying()}
    shaped = (p for n, p in carrying.items() if n.partition(" ")[2] == side)
    plane = carrying.get(side) or next(shaped, None) or dict(first.body.surfaces()).get(side)
    if not isinstance(plane, Plane):
        raise fail(spec.place, "fastener", f'{spec.kind}: no flat surface of "{first.name}" to enter by')
    return plane.placed(first.frame)


def _into(spec: d.Fastener, entry: Plane, scope: Scope) -> Vec:
    if spec.going is None:
        return neg(entry.normal)
    into = scope.direction(spec.going)
    if dot(into, entry.normal) > -GLANCING:
        text = (
            f'{spec.kind}: it cannot enter by that surface going "{spec.going.text}"; name another with from'
        )
        raise fail(spec.going.place, "fastener", text)
    return into


def _entry_side(spec: d.Fastener, chain: tuple[Placed, ...]) -> str:
    """The blank's face of the first member by which the fastener enters: away from the last unless said."""
    first = chain[0]
    if spec.from_ is not None:
        return side_facing(first.frame.axes, str(spec.from_), first.middle, spec.place)
    if len(chain) == 1:
        raise fail(spec.place, "fastener", f"{spec.kind}: say which surface it enters by (from)")
    best: tuple[float, str] | None = None
    for name, plane, middle in first.body.carrying():
        if name not in ("face", "back", "edge", "back edge"):
            continue
        at, into = first.frame.point(middle), neg(first.frame.direction(plane.normal))
        shared = _shared_shadow(chain, into, at, first.frame.l)
        if shared is None or _depth(chain[1], at, into) < _depth(first, at, into):
            continue
        score = (-round(shared.size, 3), name)
        best = score if best is None else min(best, score)
    if best is None:
        raise fail(spec.place, "fastener", f"{spec.kind}: say which surface it enters by (from)")
    return best[1]


def _depth(placed: Placed, at: Point, into: Vec) -> float:
    """How far behind ``at`` the middle of the body lies, along ``into``."""
    reach = [dot(sub(placed.frame.point(c), at), into) for c in placed.body.corners()]
    return (min(reach) + max(reach)) / 2


def _plane_axes(normal: Vec, preferred: Vec) -> tuple[Vec, Vec]:
    aside = sub(preferred, scale(normal, dot(preferred, normal)))
    if length(aside) < 1e-9:
        aside = cross(normal, (1.0, 0.0, 0.0)) if abs(normal[0]) < 0.9 else cross(normal, (0.0, 1.0, 0.0))
    u = unit(aside)
    return u, cross(normal, u)


def _shared_shadow(
    chain: Sequence[Placed], into: Vec, at: Point, along_x: Vec, reach: float = BOUND_MM
) -> Area | None:
    """The area, seen along ``into``, that every member of the chain covers; x along ``along_x``.

    Only wood within ``reach`` behind ``at`` counts: a leaning post's far end lies behind other places.
    """
    u, v = _plane_axes(into, along_x)
    limit = Plane(into, dot(into, at) + reach)
    area: Area | None = None
    for placed in chain:
        region = convex_region([*placed.body.planes(), limit.local_to(placed.frame)], BOUND_MM)
        if region is None:
            return None
        corners = [sub(placed.frame.point(c), at) for c in region.vertices]
        shadow = Area.around([(dot(c, u), dot(c, v)) for c in corners])
        if shadow is None:
            return None
        area = shadow if area is None else area.shared_with(shadow)
        if area is None:
            return None
    return area


def _row(
    spec: d.Fastener, fastener: Fastener, chain: tuple[Placed, ...], entry: Plane, into: Vec, scope: Scope
) -> tuple[Point, ...]:
    """Points of the entry face, evenly along the middle of the area all members of the chain share."""
    first = chain[0]
    at = entry.point
    shared = (_shared_shadow(chain, into, at, first.frame.l, r) for r in (fastener.length, BOUND_MM) if r)
    area = next((a for a in shared if a is not None), None)
    names = [p.name for p in chain]
    if area is None:
        words = " and ".join(f'"{n}"' for n in names)
        text = f"{spec.kind}: {words} do not lie behind one another; say which surface it enters by (from)"
        raise fail(spec.place, "fastener", text, *names)
    count = scope.count(spec.count) if spec.count is not None else 1
    inset = scope.length(spec.inset) if spec.inset is not None else 2 * fastener.diameter
    ways = {"along": (1.0, 0.0), "across": (0.0, 1.0)}
    places = row_in(area, count, inset, ways[spec.row] if spec.row is not None else area.long_way())
    close = places is not None and count > 1 and math.dist(places[0], places[1]) < CLOSEST * fastener.diameter
    if places is None or close:
        raise fail(
            spec.place,
            "fastener",
            f"{spec.kind}: no room for {count} in a row with {scope.said(inset)} at each end "
            f'where "{names[0]}" and "{names[-1]}" meet',
            *names,
        )
    u, v = _plane_axes(into, first.frame.l)
    points = [along(along(at, u, x), v, y) for x, y in places]
    return tuple(along(p, into, -entry.distance(p) / dot(entry.normal, into)) for p in points)


def _stated_axes(spec: d.Fastener, first: Placed, side: str, entry: Plane, scope: Scope) -> tuple[Point, ...]:
    return tuple(_stated(first, side, entry, scope.length(a), scope.length(b)) for a, b in spec.at or ())


def _stated(first: Placed, side: str, entry: Plane, from_end: float, from_edge: float) -> Point:
    size = first.body.size
    own: dict[str, Point] = {
        "face": (from_end, from_edge, size[2]),
        "back": (from_end, from_edge, 0.0),
        "edge": (from_end, 0.0, from_edge),
        "back edge": (from_end, size[1], from_edge),
        "A": (0.0, from_end, from_edge),
        "B": (size[0], from_end, from_edge),
    }
    point, outward = first.frame.point(own[side]), first.frame.direction(local_normal(side))
    return along(point, outward, -entry.distance(point) / dot(entry.normal, outward))
