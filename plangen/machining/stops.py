"""Where a tool's plane meets an arris of the work: the mark that a pencil makes, and the distance to it.

Each stop found says whether the plane is the near or the far wall of waste that lies on its outer side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, dot, neg
from plangen.machining.lying import Lying, middle, seen_from
from plangen.machining.setup import End, Stop
from plangen.machining.work import Work, distance_along, meeting_line

_CROSSING = 0.1
"""Least sine at which a plane crosses the arris it is measured on."""
_SAME = 1e-6
_NEAR = 1e-3
_OPPOSITE = {"face": "back", "back": "face", "edge": "back edge", "back edge": "edge", "A": "B", "B": "A"}


def crosscut_stop(work: Work, lying: Lying, plane: Plane, faces: Sequence[str], wall: bool = False) -> Stop:
    """Of a cut across the work: on an arris of one of ``faces`` with the surface at the fence, from an end.

    The end is the nearer one for a ``wall``; else the one that is cut already.

    Raises ValueError where no arris of the work crosses the plane.
    """
    partners = [lying.against, *seen_from(work, neg(lying.posture.y)), *_upright(work, lying)]
    return _best(work, plane, faces, partners, _starts(work, lying, plane, wall))


def rip_stop(work: Work, lying: Lying, plane: Plane, faces: Sequence[str], wall: bool = False) -> Stop:
    """Of a cut along the fence: on an arris of one of ``faces`` with an end, from the surface at the fence.

    Raises ValueError where no arris of the work crosses the plane.
    """
    ends = [*seen_from(work, lying.posture.x), *seen_from(work, neg(lying.posture.x)), *_upright(work, lying)]
    return _best(work, plane, faces, ends, [lying.against])


def planed_stop(work: Work, lying: Lying, plane: Plane) -> Stop:
    """Of an edge planed along the fence: on an arris of an end, on the side away from the fence, from what is up.

    Raises ValueError where no arris of the work crosses the plane.
    """
    ends = [*seen_from(work, lying.posture.x), *seen_from(work, neg(lying.posture.x))]
    above = seen_from(work, lying.posture.z) or [_OPPOSITE[lying.down]]
    stop = _best(work, plane, [*front(work, lying), lying.against], ends, above)
    return replace(stop, wall=None)


def faces_marked(work: Work, lying: Lying) -> list[str]:
    """Ids of the planes that a cut right through is marked on: those seen from above, else the one that lies down."""
    seen = seen_from(work, lying.posture.z)
    return [*(seen[:1] or [_OPPOSITE[lying.down]]), lying.down]


def front(work: Work, lying: Lying) -> list[str]:
    """Ids of the planes that look toward the operator."""
    return seen_from(work, neg(lying.posture.y))


def _upright(work: Work, lying: Lying) -> list[str]:
    """Any other plane that stands on the table, for want of a better one."""
    looks = {i: abs(dot(p.normal, lying.posture.z)) for i, p in work.planes().items()}
    return [i for i in looks if looks[i] < 0.9]


def _starts(work: Work, lying: Lying, plane: Plane, wall: bool) -> list[str]:
    """Where a distance across the work starts.

    A cut right through is measured from the other end where that is cut already, so that the length comes out;
    else from the end it takes. A wall is measured from the nearer end.
    """
    x = lying.posture.x
    left, right = seen_from(work, neg(x))[:1], seen_from(work, x)[:1]
    if wall:
        inside = work.section(plane) or work.section(Plane(lying.posture.y, 0.0))
        where = dot(middle(inside), x) if inside else 0.0
        nearer_left = where - lying.low[0] <= lying.high[0] - where + _SAME
        return [*left, *right] if nearer_left else [*right, *left]
    near, far = (right, left) if dot(plane.normal, x) > 0.0 else (left, right)
    cut_already = [i for i in far if i not in work.member.blank.planes()]
    return [*cut_already, *near, *far]


def _best(
    work: Work,
    plane: Plane,
    faces: Sequence[str],
    partners: Sequence[str],
    starts: Sequence[str],
) -> Stop:
    """The first stop on an arris of outer faces whose mark and start lie on wood; else whose mark does; else any."""
    planes, inside = work.planes(), work.section(plane)

    def off(stop: Stop) -> tuple[bool, bool, bool]:
        started = work.corners(planes[stop.start])
        inner = not all(work.seat(planes[i]).clear for i in stop.arris)
        return inner, not _within(stop.at, inside), not _within(_start_point(work, stop), started)

    found = _least((s for face in faces for s in _stops(work, plane, face, partners, starts)), off)
    if found is None:
        every = list(planes)
        found = _least((s for face in every for s in _stops(work, plane, face, every, every)), off)
    if found is None:
        raise ValueError(f"no arris crosses the cut of {work.member.mark}")
    return found


def _least(stops: Iterable[Stop], off: Callable[[Stop], tuple[bool, ...]]) -> Stop | None:
    """The first stop with the least against it; looked for no further than one with nothing."""
    best: tuple[tuple[bool, ...], Stop] | None = None
    for stop in stops:
        against = off(stop)
        if best is None or against < best[0]:
            best = against, stop
        if not any(best[0]):
            break
    return None if best is None else best[1]


def _within(point: Point, corners: Sequence[Point]) -> bool:
    """Whether a point is in the box of the corners."""
    sides = [[c[i] for c in corners] for i in range(3)]
    return bool(corners) and all(min(s) - _NEAR < point[i] < max(s) + _NEAR for i, s in enumerate(sides))


def _start_point(work: Work, stop: Stop) -> Point:
    planes = work.planes()
    line = meeting_line(planes[stop.arris[0]], planes[stop.arris[1]])
    assert line is not None
    to_start = distance_along(stop.at, line[1], planes[stop.start])
    assert to_start is not None
    return along(stop.at, line[1], to_start)


def _stops(
    work: Work, plane: Plane, face: str, partners: Sequence[str], starts: Sequence[str]
) -> Iterator[Stop]:
    planes = work.planes()
    for partner in partners:
        line = meeting_line(planes[face], planes[partner])
        if line is None or abs(dot(line[1], plane.normal)) < _CROSSING:
            continue
        for start in starts:
            if start not in (face, partner) and abs(dot(line[1], planes[start].normal)) >= _CROSSING:
                yield _stop(work, plane, line, (face, partner), start)


def _stop(work: Work, plane: Plane, line: tuple[Point, Vec], arris: tuple[str, str], start: str) -> Stop:
    planes = work.planes()
    point, direction = line
    inward = direction if dot(direction, planes[start].normal) < 0.0 else neg(direction)
    to_start, to_plane = (distance_along(point, inward, p) for p in (planes[start], plane))
    assert to_start is not None
    assert to_plane is not None
    at = along(point, inward, to_plane)
    end = _end([planes[i].normal for i in (start, *arris)])
    wall: Literal["near", "far"] = "near" if dot(plane.normal, inward) > 0.0 else "far"
    return Stop(end, arris, to_plane - to_start, start, at, wall=wall)


def _end(normals: list[Vec]) -> End:
    """The end of the piece that the most end-like of the planes is at."""
    l = max((n[0] for n in normals), key=lambda c: round(abs(c), 6))  # noqa: E741
    return "A" if l < 0.0 else "B"


def long_or_short(work: Work, plane: Plane, stop: Stop) -> Literal["long", "short"] | None:
    """Whether the mark is where the piece that is kept is longest or shortest; None: as long all over, or neither."""
    inside = work.section(plane)
    if not inside:
        return None
    outward = 1.0 if plane.normal[0] > 0.0 else -1.0
    reach = [outward * p[0] for p in inside]
    here = outward * stop.at[0]
    if max(reach) - min(reach) < _SAME:
        return None
    return "long" if here > max(reach) - _SAME else "short" if here < min(reach) + _SAME else None
