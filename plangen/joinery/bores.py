"""Bored stretches in the world: do any two meet, and how far is each from the sides of its member?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen.findings import Finding, Place, error
from plangen.geometry.bore_reach import on_one_axis, segments_apart
from plangen.geometry.vectors import Point, Vec, along
from plangen.joinery.meeting import Cut, Placed
from plangen.joinery.model import Hole
from plangen.joinery.piercing import wood_spans
from plangen.placing.body import Bored
from plangen.placing.boring import LEAST_WALL, surface_word, the_surface
from plangen.placing.scope import Scope

_ONE_AXIS = 1e-3
"""Millimetres: bores nearer than this to one line are one hole, its mouth, or the hole a fastener goes through."""


@dataclass(frozen=True)
class Bore:
    """A stretch of bored wood, or of the iron in it: world coordinates."""

    what: str
    """In words: ``screw batten to post``, ``hole in the face of "rail"``."""
    member: str
    """The standing whose wood it runs in."""
    mouth: Point
    far: Point
    way: Vec
    radius: float
    place: Place
    joint: str = ""
    """The joint that bores it, where no fastener and no entry of the member's does."""


def bores_of_members(placed: Sequence[Placed]) -> Iterator[Bore]:
    """The holes that the members' own entries ask for."""
    for p in placed:
        for opening in p.body.openings:
            b = opening.bored
            if b is None:
                continue
            what = f'{opening.kind} in {the_surface(surface_word(b.side))} of "{p.name}"'
            yield from _bore(p, b, what, opening.place)


def bores_of_joints(cuts: Sequence[Cut], placed: Sequence[Placed]) -> Iterator[Bore]:
    """The holes that joints bore: for dowels, pegs, round tenons."""
    by_name = {p.name: p for p in placed}
    for cut in cuts:
        hole = cut.hole
        if hole is None or cut.target not in by_name:
            continue
        what = f"{hole.purpose} of {cut.joint}"
        yield from _bore(by_name[cut.target], hole, what, cut.place, cut.joint or "")


def _bore(placed: Placed, hole: Bored | Hole, what: str, place: Place, joint: str = "") -> Iterator[Bore]:
    """The stretch of a hole, of one bored right through as far as there is wood; none where there is none."""
    start, way = placed.frame.point(hole.entry), placed.frame.direction(hole.axis)
    depth = hole.depth
    if depth is None:
        depth = max((end for _, end in wood_spans(placed, (), start, way)), default=0.0)
    if depth > 0:
        yield Bore(what, placed.name, start, along(start, way, depth), way, hole.diameter / 2, place, joint)


def meeting_bores(bores: Sequence[Bore], scope: Scope) -> Iterator[Finding]:
    """Errors where two bores of one piece of wood run into each other, or leave too little wood between them.

    The least distance of their axes, over the stretches bored, less both radii. Bores on one axis are one hole;
    those of one joint are meant to be as they are.
    """
    ordered = sorted(bores, key=lambda b: (b.member, _low(b), b.what))
    told: set[tuple[Place, Place]] = set()
    for i, a in enumerate(ordered):
        for b in ordered[i + 1 :]:
            if b.member != a.member or _low(b) > _high(a) + LEAST_WALL:
                break
            if _is_meant(a, b) or (a.place, b.place) in told or (b.place, a.place) in told:
                continue
            apart = segments_apart((a.mouth, a.far), (b.mouth, b.far))
            wall = apart - a.radius - b.radius
            if wall < LEAST_WALL:
                told.add((a.place, b.place))
                yield _met(a, b, apart, wall, scope)


def _is_meant(a: Bore, b: Bore) -> bool:
    if a.joint and a.joint == b.joint:
        return True
    return on_one_axis(a.mouth, a.way, b.mouth, b.way, _ONE_AXIS)


def _met(a: Bore, b: Bore, apart: float, wall: float, scope: Scope) -> Finding:
    first, second = sorted((a, b), key=lambda bore: bore.place, reverse=True)
    needed = scope.said(a.radius + b.radius + LEAST_WALL)
    how = "runs into" if wall < 1e-6 else f"leaves {scope.said(wall)} of wood to"
    text = (
        f'{first.what}: in "{a.member}" it {how} the {second.what}; their axes pass {scope.said(apart)} apart and '
        f"need {needed}; move one of them"
    )
    return error(first.place, "bores meet", text, a.member)


def _low(bore: Bore) -> float:
    return min(bore.mouth[0], bore.far[0]) - bore.radius


def _high(bore: Bore) -> float:
    return max(bore.mouth[0], bore.far[0]) + bore.radius
