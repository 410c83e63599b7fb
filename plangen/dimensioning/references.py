"""The surfaces a maker measures from, and the outer surfaces a member shows: face side, face edge, end A."""

from __future__ import annotations

from dataclasses import dataclass

from plangen.dimensioning.freedom import Freedom
from plangen.dimensioning.workpiece import AXES, ROUND_TENONS, Spot, Workpiece, dominant_axis
from plangen.geometry.region import three_planes
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, cross, length, sub, unit

_SIDES = {"A": (0, -1), "B": (0, 1), "edge": (1, -1), "back edge": (1, 1), "back": (2, -1), "face": (2, 1)}


@dataclass(frozen=True)
class References:
    """Indices of forms; None where no plane stands there."""

    work: Workpiece
    face: int | None
    edge: int | None
    end: int | None
    back: int | None
    back_edge: int | None
    other_end: int | None
    outer: tuple[int, ...]
    """Planes of the shaped blank: its own faces, ends, bevels, tapers, straight outlines."""
    corner: Point
    """Where end A, face edge and face side meet, wood there or not."""
    width_from_back: bool = False
    """No flat face edge: widths are measured from the back edge."""

    @property
    def reference_forms(self) -> tuple[int, ...]:
        return tuple(f for f in (self.end, self.edge, self.face) if f is not None)

    def of_axis(self, axis: int) -> int | None:
        """The reference that positions along an axis are measured from."""
        return (self.end, self.edge, self.face)[axis]

    def coordinate(self, axis: int, p: Point) -> float:
        """Distance from the reference corner along an axis, the way the maker counts it."""
        d = p[axis] - self.corner[axis]
        return -d if axis == 2 or (axis == 1 and self.width_from_back) else d

    def foot(self, axis: int, spot: Spot) -> Spot | None:
        """Where a rule that reaches to ``spot`` along an axis is laid to the reference."""
        ref = self.of_axis(axis)
        if ref is None:
            return self._extreme(axis)
        for candidate in self._feet(axis, spot, ref):
            if candidate is not None and abs(candidate.point[axis] - spot.point[axis]) > 1e-9:
                return candidate
        return None

    def _feet(self, axis: int, spot: Spot, ref: int) -> list[Spot | None]:
        work, plane = self.work, self.work.plane(ref)
        assert plane is not None
        square = abs(plane.normal[axis]) > 1 - 1e-12
        corners = self.corners_of(ref)
        nearest = sorted(corners, key=lambda s: _away(s.point, spot.point, axis))
        found: list[Spot | None] = []
        if axis == 0:
            found += [s for s in corners if length(sub(s.point, self.corner)) < 1e-6]
            if square:
                found += [straight(work, spot.point, axis, ref), *nearest]
            return [*found, *nearest]
        if axis == 1:
            found.append(self._on_arris(spot))
            if square:
                found += [straight(work, spot.point, axis, ref), *nearest]
            return [*found, *(s for s in nearest if self.face in s.forms), *nearest]
        found.append(straight(work, spot.point, axis, ref))
        if self.edge is not None:
            found.append(straight(work, (spot.point[0], self.corner[1], spot.point[2]), axis, ref))
        return [*found, *nearest]

    def corners_of(self, form: int) -> list[Spot]:
        return self.work.corners_on(form)

    def _on_arris(self, spot: Spot) -> Spot | None:
        """The point of the arris of face side and face edge abreast of ``spot``."""
        if self.face is None or self.edge is None:
            return None
        return on_arris(self.work, self.edge, self.face, 0, spot.point[0])

    def _extreme(self, axis: int) -> Spot | None:
        """The outermost corner, where no plane stands at the reference side."""
        corners = self.work.corners
        if not corners:
            return None
        sign = -1.0 if axis == 2 else 1.0
        return min(corners, key=lambda s: (round(sign * s.point[axis], 6), *(round(c, 6) for c in s.point)))

    def gauge(self, freedom: Freedom) -> None:
        """Hold the references: six equations, the frame of the member."""
        self._hold(freedom)
        freedom.gauged()

    def _start_of_lengths(self, end: int) -> Point:
        """The reference corner, or where there is no wood the corner of end A that is nearest to it."""
        corners = [s.point for s in self.work.corners_on(end)]
        return min(corners, key=lambda p: self._nearness(p), default=self.corner)

    def _nearness(self, p: Point) -> tuple[float, ...]:
        return tuple(round(self.coordinate(axis, p), 6) for axis in (2, 1, 0))

    def _hold(self, freedom: Freedom) -> None:
        if self.face is None and self.edge is None:
            freedom.hold_round(self.end)
            if self.turn_datum is not None:
                freedom.hold_turn(self.turn_datum[0])
            return
        if self.face is not None:
            freedom.hold_plane(self.face)
        if self.edge is None and self.face is not None:
            self._gauge_by_round(freedom)
        if self.face is None or self.edge is None:
            return
        a, b = self.work.plane(self.face), self.work.plane(self.edge)
        assert a is not None
        assert b is not None
        way = cross(a.normal, b.normal)
        if length(way) < 1e-6:
            return
        way = unit(way)
        aside = unit(cross(a.normal, way))
        size = max(self.work.member.finished[0], 1.0)
        for k in (0.0, size):
            p = tuple(c + w * k for c, w in zip(self.corner, way, strict=True))
            spot = Spot((p[0], p[1], p[2]), (self.edge, self.face))
            freedom.take(freedom.spot_moves(spot, aside, "face"), 1e-9)
        if self.end is not None:
            freedom.take(freedom.plane_moves(self.end, self._start_of_lengths(self.end)), 1e-9)
        elif (farthest := self._extreme(0)) is not None:
            freedom.take(freedom.spot_moves(farthest, AXES[0], "face"), 1e-9)

    @property
    def turn_datum(self) -> tuple[int, Vec] | None:
        """Of a round piece: what says where it stands turned about its length, and the way that looks across it. An
        end that leans, end A first; else the first hole across it; else a wall along it, as of a kerf."""
        for end in (self.end, self.other_end):
            plane = None if end is None else self.work.plane(end)
            if end is not None and plane is not None and abs(plane.normal[0]) < 1 - 1e-12:
                # toward the long point
                return end, unit((0.0, -plane.normal[1], -plane.normal[2]))
        forms = list(enumerate(self.work.forms))
        holes = [
            (i, f)
            for i, f in forms
            if isinstance(f, Cylinder | Cone) and f.side == "hole" and abs(f.axis[0]) < 0.9
        ]
        walls = [(i, f) for i, f in forms if isinstance(f, Plane) and abs(f.normal[0]) < 1e-9]
        for i, form in (*holes, *walls):
            way = form.normal if isinstance(form, Plane) else form.axis
            return i, unit((0.0, way[1], way[2]))
        return None

    def _gauge_by_round(self, freedom: Freedom) -> None:
        """Both edges rounded away: the round nearest the face edge stands for it, and end A where it stands."""
        rounds = [
            (round(form.point[1], 6), i)
            for i, form in enumerate(self.work.forms)
            if isinstance(form, Cylinder) and form.side == "post" and abs(form.axis[0]) > 0.9
        ]
        if not rounds:
            return
        _, form = min(rounds)
        for station in (0.0, self.work.member.finished[0]):
            p = (station, self.corner[1], self.corner[2])
            freedom.take(freedom.axis_moves(form, p, AXES[1]), 1e-9)
        if self.end is not None:
            freedom.take(freedom.plane_moves(self.end, self.corner), 1e-9)


def find_references(work: Workpiece) -> References:
    """The references of a workpiece: the blank's own faces, or the planes that took their place."""
    outer = work.outer
    found: dict[str, int | None] = {}
    for side, (axis, sign) in _SIDES.items():
        found[side] = _side(work, outer, side, axis, sign)
    edge, from_back = found["edge"], False
    if edge is None and found["back edge"] is not None:
        edge, from_back = found["back edge"], True
    corner = _corner(work, found["A"], edge, found["face"], from_back)
    return References(
        work, found["face"], edge, found["A"], found["back"], found["back edge"], found["B"],
        outer, corner, from_back,
    )  # fmt: skip


def _side(work: Workpiece, outer: tuple[int, ...], side: str, axis: int, sign: int) -> int | None:
    own = work.form_of(side)
    if own is not None:
        return own
    facing = []
    for i in outer:
        plane = work.plane(i)
        if plane is None or work.is_blank(i):
            continue
        feature = work.feature_of(i)
        said = feature is not None and feature.note == side
        if feature is not None and feature.kind == "mitre":
            # However sharp the corner, a mitre is an end or an edge, never a face.
            looks, least = dominant_axis((plane.normal[0], plane.normal[1], 0.0)), 0.0
        else:
            looks, least = dominant_axis(plane.normal), 0.5
        if said or (looks == axis and plane.normal[axis] * sign > least):
            facing.append((not said, -round(work.areas[i], 3), i))
    return min(facing)[2] if facing else _end_of_tenon(work, axis, sign)


def _end_of_tenon(work: Workpiece, axis: int, sign: int) -> int | None:
    """What a round tenon is cut to takes the place of the end that it is turned on."""
    found = []
    for i in range(len(work.forms)) if axis == 0 else ():
        plane, feature = work.plane(i), work.feature_of(i)
        if (
            plane is not None
            and feature is not None
            and feature.kind in ROUND_TENONS
            and plane.normal[0] * sign > 0.5
        ):
            rows = work.solid.triangles[work.solid.triangle_form == i]
            found.append((-round(float((work.solid.vertices[rows][..., 0] * sign).max()), 6), i))
    return min(found)[1] if found else None


def _corner(work: Workpiece, end: int | None, edge: int | None, face: int | None, from_back: bool) -> Point:
    size = work.member.finished
    fallback = (
        Plane((-1.0, 0.0, 0.0), 0.0),
        Plane((0.0, 1.0, 0.0), size[1]) if from_back else Plane((0.0, -1.0, 0.0), 0.0),
        Plane((0.0, 0.0, 1.0), size[2]),
    )
    planes = [
        p if i is None else work.plane(i) or p for i, p in zip((end, edge, face), fallback, strict=True)
    ]
    try:
        p = three_planes(*planes)
    except ZeroDivisionError:
        p = three_planes(*fallback)
    return (p[0] + 0.0, p[1] + 0.0, p[2] + 0.0)


def _away(p: Point, q: Point, axis: int) -> tuple[float, ...]:
    return (
        round(sum(abs(p[i] - q[i]) for i in range(3) if i != axis), 6),
        *(round(c, 6) for c in p),
    )


def straight(work: Workpiece, p: Point, axis: int, plane_form: int) -> Spot | None:
    """The point of a plane straight along an axis from ``p``, where there is skin."""
    plane = work.plane(plane_form)
    assert plane is not None
    slope = plane.normal[axis]
    if abs(slope) < 1e-6:
        return None
    q = list(p)
    q[axis] -= plane.distance(p) / slope
    return work.spot_on((q[0], q[1], q[2]), (plane_form,))


def on_arris(work: Workpiece, a: int, b: int, axis: int, station: float) -> Spot | None:
    """The point of the arris of two planes at a station along an axis, where there is skin of both."""
    pa, pb = work.plane(a), work.plane(b)
    if pa is None or pb is None:
        return None
    try:
        p = three_planes(pa, pb, Plane(AXES[axis], station))
    except ZeroDivisionError:
        return None
    return work.spot_on(p, (a, b))
