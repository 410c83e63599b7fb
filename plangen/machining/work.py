"""The work as it stands at a moment: its blank less the features cut so far, and what of it can lie on a machine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from plangen.geometry.seats import Seat, corners_on, seat_of, section_lines
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, unit
from plangen.joinery.building import cutters_of
from plangen.joinery.model import Feature, Member

if TYPE_CHECKING:
    from plangen.machining.lying import Lying


@dataclass
class Bench:
    """One member's states, each built once while its cuts are planned."""

    member: Member
    lyings: dict[tuple[frozenset[str], frozenset[str] | None], tuple[Lying, ...]] = field(
        default_factory=dict
    )
    """How each state can lie at a machine, once asked for (``machining/lying.py``)."""
    sections: dict[tuple[frozenset[str], Plane], tuple[tuple[Point, Point], ...]] = field(
        default_factory=dict
    )
    """Outlines of sections, once asked for."""
    distinct: dict[frozenset[str], dict[str, Plane]] = field(default_factory=dict)
    """The planes of each state, each under one name (``machining/lying.py``)."""
    _solids: dict[frozenset[str], Solid] = field(default_factory=dict)
    _seats: dict[tuple[frozenset[str], Plane], Seat] = field(default_factory=dict)
    _corners: dict[tuple[frozenset[str], Plane], tuple[Point, ...]] = field(default_factory=dict)
    _planes: dict[frozenset[str], dict[str, Plane]] = field(default_factory=dict)

    def work(self, done: Iterable[str] = ()) -> Work:
        """The work once the features ``done`` are cut. Its solid raises GeometryError where nothing is left."""
        return Work(self, frozenset(done))

    def solid(self, done: frozenset[str]) -> Solid:
        if done not in self._solids:
            kept = [f for f in self.member.features if f.id in done]
            whole = len(kept) == len(self.member.features)
            self._solids[done] = (
                self.member.solid if whole else build_solid(self.member.blank, cutters_of(kept))
            )
        return self._solids[done]

    def seat(self, done: frozenset[str], plane: Plane) -> Seat:
        if (done, plane) not in self._seats:
            self._seats[done, plane] = seat_of(self.solid(done), plane)
        return self._seats[done, plane]

    def corners(self, done: frozenset[str], plane: Plane) -> tuple[Point, ...]:
        if (done, plane) not in self._corners:
            self._corners[done, plane] = corners_on(self.solid(done), plane)
        return self._corners[done, plane]

    def planes(self, done: frozenset[str]) -> dict[str, Plane]:
        if done not in self._planes:
            cut = {
                s.id: s.form
                for f in self.member.features
                if f.id in done
                for s in f.surfaces
                if isinstance(s.form, Plane)
            }
            self._planes[done] = {**self.member.blank.planes(), **cut}
        return self._planes[done]


@dataclass(frozen=True)
class Work:
    """A member once the features ``done`` are cut; everything in the member's frame."""

    bench: Bench
    done: frozenset[str]
    until: frozenset[str] | None = None
    """A later state through which the work is turned over from cut to cut: what it is set down on and measured from
    must still be there then."""

    @property
    def member(self) -> Member:
        return self.bench.member

    @property
    def solid(self) -> Solid:
        return self.bench.solid(self.done)

    def after(self, feature: Feature) -> Work:
        return Work(self.bench, self.done | {feature.id})

    def planes(self) -> dict[str, Plane]:
        """The blank's faces and the plane surfaces cut so far, by id, whether or not wood is left on them."""
        return dict(self.bench.planes(self.done))

    def seat(self, plane: Plane) -> Seat:
        """What of a plane can lie on a table or stand at a fence."""
        now = self.bench.seat(self.done, plane)
        if self.until is None or now.area <= 0.0:
            return now
        then = self.bench.seat(self.until, plane)
        steady = now.steady and then.steady
        return Seat(min(now.area, then.area), min(now.span, then.span), steady, now.clear)

    def section_lines(self, plane: Plane) -> tuple[tuple[Point, Point], ...]:
        """The outline of the section by a plane, in pieces."""
        known = self.bench.sections
        if (self.done, plane) not in known:
            known[self.done, plane] = section_lines(self.solid, plane)
        return known[self.done, plane]

    def section(self, plane: Plane) -> tuple[Point, ...]:
        """Points of the outline of the section by a plane, every corner among them; none where it meets no wood."""
        return tuple(dict.fromkeys(p for line in self.section_lines(plane) for p in line))

    def corners(self, plane: Plane) -> tuple[Point, ...]:
        """Corners of what wood is left on a plane; none where none is."""
        return self.bench.corners(self.done, plane)


def meeting_line(a: Plane, b: Plane) -> tuple[Point, Vec] | None:
    """A point and the unit direction of the line common to two planes; None where they are parallel."""
    d = cross(a.normal, b.normal)
    size = dot(d, d)
    if size < 1e-18:
        return None
    p, q = cross(b.normal, d), cross(d, a.normal)
    point = (
        (a.offset * p[0] + b.offset * q[0]) / size,
        (a.offset * p[1] + b.offset * q[1]) / size,
        (a.offset * p[2] + b.offset * q[2]) / size,
    )
    return point, unit(d)


def distance_along(point: Point, direction: Vec, plane: Plane) -> float | None:
    """How far along a line it meets a plane; None where it runs along it."""
    fall = dot(plane.normal, direction)
    return None if abs(fall) < 1e-12 else -plane.distance(point) / fall
