"""One piece of waste that several planes part from the work: which of them is a floor, where its corners are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from plangen.geometry.solid import GeometryError
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, dot
from plangen.joinery.model import Feature
from plangen.machining.lying import lyings
from plangen.machining.setup import HandReason
from plangen.machining.work import Work
from plangen.tables.machines import Shop

SQUARE = 1e-9
"""Cosine below which two planes are square to each other."""
_ON = 1e-6
_SPLIT = 1e-7


@dataclass(frozen=True)
class Job:
    """A feature to be cut on the work as it stands, with the machines of a shop."""

    work: Work
    feature: Feature
    shop: Shop
    after: Work | None
    """The work once the feature is cut; None where nothing would be left of it."""


def job_of(work: Work, feature: Feature, shop: Shop) -> Job:
    """Where several pieces of waste fall, the work must lie through all of it on what is left in the end."""
    after = work.after(feature)
    try:
        _ = after.solid
    except GeometryError:
        return Job(work, feature, shop, None)
    lasting = replace(work, until=after.done) if len(feature.cutters) > 1 else work
    return Job(lasting if lyings(lasting) else work, feature, shop, after)


@dataclass(frozen=True)
class Waste:
    """The points of the work on the outer side of all ``planes`` (by id): one cutter of the feature."""

    job: Job
    planes: Mapping[str, Plane]
    _corners: dict[str, tuple[Point, ...]] = field(default_factory=dict, compare=False)

    @property
    def ids(self) -> tuple[str, ...]:
        return tuple(self.planes)

    def others(self, floor: str) -> list[str]:
        return [i for i in self.planes if i != floor]

    def lean(self, wall: str, floor: str) -> float:
        """Cosine between the two outward normals: 0 square, negative where the wall hangs over the floor."""
        return dot(self.planes[wall].normal, self.planes[floor].normal)

    def corners(self, name: str) -> tuple[Point, ...]:
        """Points about the part of a surface that bounds the waste in the wood, every corner of it among them."""
        if name not in self._corners:
            plane = self.planes[name]
            rest = [self.planes[i] for i in self.planes if i != name]
            found = list(_clipped(self.job.work.section_lines(plane), rest))
            if self.job.after is not None:
                found += [p for p in self.job.after.corners(plane) if all(r.distance(p) > -_ON for r in rest)]
            self._corners[name] = _distinct(found)
        return self._corners[name]

    def foot(self, wall: str, floor: str) -> tuple[Point, ...]:
        """Points of the line in which a wall stands on the floor, as far as there is wood; its ends among them."""
        plane = self.planes[floor]
        return tuple(p for p in self.corners(wall) if abs(plane.distance(p)) < _ON)

    def runs_free(self, wall: str, floor: str) -> bool:
        """Whether a blade that follows a wall down to the floor stays within the waste all along."""
        plane = self.planes[wall]
        swept = _clipped(self.job.work.section_lines(plane), [self.planes[floor]])
        rest = [self.planes[i] for i in self.planes if i not in (wall, floor)]
        return all(r.distance(p) > -1e-5 for p in swept for r in rest)

    def is_unmet(self, wall: str) -> bool:
        """Whether a surface bounds the waste nowhere in the wood: at most it touches it along a line."""
        return len(self.corners(wall)) < 3

    def parts_alone(self, name: str) -> bool:
        """Whether all wood on the outer side of one surface is waste, so that it is cut right through."""
        plane, work = self.planes[name], self.job.work
        for other in (self.planes[i] for i in self.others(name)):
            beyond = _distinct(_clipped(work.section_lines(other), [plane]))
            if len(beyond) > 2 or any(other.distance(p) < -_ON for p in work.section(plane)):
                return False
        return bool(work.section(plane))

    def by_hand(self, wall: str, floor: str) -> HandReason:
        """Why a wall is left to hand tools, from how it stands to the surfaces about it.

        A dovetail's wall hangs over a floor that nothing faces, and faces another wall that is not parallel to it.
        """
        faced = [dot(self.planes[wall].normal, self.planes[i].normal) for i in self.others(wall)]
        hangs = any(-0.5 < self.lean(wall, f) < -SQUARE and self._is_open(f) for f in self.others(wall))
        if hangs and any(-1.0 + 1e-6 < c < -0.5 for c in faced):
            return "dovetail"
        return "undercut wall" if self.lean(wall, floor) < -SQUARE else "square inside corner"

    def _is_open(self, floor: str) -> bool:
        """No other surface of the waste is parallel to it and faces it."""
        return all(self.lean(floor, i) > -1.0 + 1e-6 for i in self.others(floor))

    def across(self, wall: str, floor: str) -> float:
        """How far the floor reaches from a wall, square to the wall, mm."""
        plane = self.planes[wall]
        return max((plane.distance(p) for p in self.corners(floor)), default=0.0)

    def between(self, a: str, b: str) -> float | None:
        """Width between two walls that face each other and are parallel, mm; None where they are not."""
        p, q = self.planes[a], self.planes[b]
        return -q.offset - p.offset if dot(p.normal, q.normal) < -1.0 + 1e-12 else None


def _clipped(lines: Iterable[tuple[Point, Point]], planes: list[Plane]) -> Iterable[Point]:
    """Ends of what of the lines lies on the outer side of all the planes."""
    for a, b in lines:
        low, high = 0.0, 1.0
        for plane in planes:
            da, db = plane.distance(a) + _SPLIT, plane.distance(b) + _SPLIT
            if da < 0.0 and db < 0.0:
                low, high = 1.0, 0.0
            elif da < 0.0:
                low = max(low, da / (da - db))
            elif db < 0.0:
                high = min(high, da / (da - db))
        if low <= high:
            yield _share(a, b, low)
            yield _share(a, b, high)


def _share(a: Point, b: Point, s: float) -> Point:
    return (a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2]))


def _distinct(points: Iterable[Point]) -> tuple[Point, ...]:
    kept: dict[tuple[float, float, float], Point] = {}
    for p in points:
        kept.setdefault((round(p[0], 5), round(p[1], 5), round(p[2], 5)), p)
    return tuple(kept[k] for k in sorted(kept))
