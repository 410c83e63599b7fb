"""The ways in which the work as it stands can lie at a machine: one plane on the table, another at the fence."""

from __future__ import annotations

from dataclasses import dataclass

from plangen.geometry.seats import extent
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, dot, scale
from plangen.machining.posture import LEVEL, Posture, lying
from plangen.machining.setup import End
from plangen.machining.work import Work

_SAME = 1e-6
_LEAST_SEAT = 100.0
"""Square millimetres that the work lies on."""
_LEAST_CONTACT = 15.0
"""Millimetres that it touches the fence along."""
_UPRIGHT = 0.75
"""Most sine by which the surface at the fence leans over the table."""
_ALONG = 0.5
_SIDES = ("face", "back", "edge", "back edge")

# the reference surfaces, from which everything is measured, lie down or stand at the fence for choice
_DOWN = {"face": 0.0, "back": 0.03, "edge": 0.05, "back edge": 0.08, "A": 0.5, "B": 0.5}
_AGAINST = {"edge": 0.0, "face": 0.02, "back edge": 0.06, "back": 0.06, "A": 0.15, "B": 0.15}
_SAWN = 0.12
_CRADLE = 1.5


@dataclass(frozen=True)
class Lying:
    """One way to lie: ids of the planes, the machine's directions, the work's reach along them (mm)."""

    down: str
    against: str
    posture: Posture
    low: Vec
    high: Vec
    contact: float
    """Length, mm, along which the work touches the fence."""
    cost: float
    jig: str | None = None
    """``cradle`` where the work is round and has no flat to lie on."""

    @property
    def end_left(self) -> End | None:
        along_grain = self.posture.x[0]
        return None if abs(along_grain) < _ALONG else "A" if along_grain > 0.0 else "B"

    @property
    def on_end(self) -> bool:
        return abs(self.posture.z[0]) > _ALONG

    @property
    def size(self) -> Vec:
        return (self.high[0] - self.low[0], self.high[1] - self.low[1], self.high[2] - self.low[2])


def lyings(work: Work) -> tuple[Lying, ...]:
    """Every way in which the work lies steadily, none of its wood past the table or the fence; cheapest first."""
    known, key = work.bench.lyings, (work.done, work.until)
    if key not in known:
        known[key] = tuple(sorted(_find(work), key=lambda y: (round(y.cost, 6), y.down, y.against)))
    return known[key]


def _find(work: Work) -> list[Lying]:
    planes = _distinct(work)
    seats = {i: work.seat(p) for i, p in planes.items()}
    there = [i for i in planes if seats[i].area > 0.0 and seats[i].clear]
    found = []
    for down in there:
        if seats[down].area < _LEAST_SEAT or not seats[down].steady:
            continue
        for against in there:
            if abs(dot(planes[down].normal, planes[against].normal)) < _UPRIGHT:
                one = _lying(work, down, planes[down], against, planes[against])
                found += [] if one is None else [one]
    sides = [y for y in found if y.down in _SIDES]
    return found if sides else found + _cradled(work)


def _distinct(work: Work) -> dict[str, Plane]:
    """The planes of the work, each under the first of its names."""
    known = work.bench.distinct
    if work.done not in known:
        kept: dict[str, Plane] = {}
        for name, plane in work.planes().items():
            if not any(same_plane(plane, k) for k in kept.values()):
                kept[name] = plane
        known[work.done] = kept
    return known[work.done]


def same_plane(a: Plane, b: Plane) -> bool:
    return dot(a.normal, b.normal) > 1.0 - 1e-12 and abs(a.offset - b.offset) < _SAME


def _lying(work: Work, down: str, lower: Plane, against: str, fence: Plane) -> Lying | None:
    posture = lying(lower, fence)
    low, high = reach_along(work, posture)
    at_fence = [c for c in map(posture.to_machine, work.corners(fence)) if c[1] > high[1] - _SAME]
    if len(at_fence) < 2:
        return None
    contact = max(c[0] for c in at_fence) - min(c[0] for c in at_fence)
    if contact < _LEAST_CONTACT:
        return None
    cost = _DOWN.get(down, _SAWN) + _AGAINST.get(against, _SAWN)
    cost += 0.15 if abs(dot(lower.normal, fence.normal)) > LEVEL else 0.0
    cost += 0.3 if contact < 100.0 else 0.0
    cost += _tall(work, posture, lower, high[2] - low[2])
    return Lying(down, against, posture, low, high, contact, cost)


def _tall(work: Work, posture: Posture, lower: Plane, height: float) -> float:
    """What it costs that the work stands high on a narrow seat; less where it is the fence that holds it up."""
    seat = [posture.to_machine(c) for c in work.corners(lower)]
    wide, deep = (max(c[i] for c in seat) - min(c[i] for c in seat) for i in (0, 1))
    over = max(0.0, 0.3 * (height / max(wide, 1.0) - 1.5)), max(0.0, 0.12 * (height / max(deep, 1.0) - 1.5))
    return min(1.5, max(over))


def _cradled(work: Work) -> list[Lying]:
    """A round piece in a V-block, turned to lines drawn where the faces of its blank were."""
    blank = work.member.blank.planes()
    found = []
    for down in _SIDES:
        for against in _SIDES:
            if abs(dot(blank[down].normal, blank[against].normal)) < LEVEL:
                posture = lying(blank[down], blank[against])
                low, high = reach_along(work, posture)
                cost = _CRADLE + _DOWN[down] + _AGAINST[against]
                found.append(Lying(down, against, posture, low, high, high[0] - low[0], cost, "cradle"))
    return found


def reach_along(work: Work, posture: Posture) -> tuple[Vec, Vec]:
    """Least and most of the work along the machine's x, y, z."""
    x, y, z = (extent(work.solid, d) for d in (posture.x, posture.y, posture.z))
    return (x[0], y[0], z[0]), (x[1], y[1], z[1])


def seen_from(work: Work, direction: Vec) -> list[str]:
    """Ids of the outer planes with wood left on them that look in ``direction`` (unit), the squarest to it first."""
    planes = _distinct(work)
    looks = {i: dot(p.normal, direction) for i, p in planes.items()}
    outer = [i for i in planes if looks[i] > _ALONG and _is_outer(work, planes[i])]
    return sorted(outer, key=lambda i: -round(looks[i], 6))


def _is_outer(work: Work, plane: Plane) -> bool:
    seat = work.seat(plane)
    return seat.area > 0.0 and seat.clear


def middle(points: tuple[Point, ...]) -> Point:
    total = (sum(p[0] for p in points), sum(p[1] for p in points), sum(p[2] for p in points))
    return scale(total, 1.0 / len(points))
