"""What the drawing of a round or turned member says without a figure: what stands about its axis, square to it, in one
plane through it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import TypeAlias

from plangen.dimensioning.figures import ConventionKind
from plangen.dimensioning.references import References
from plangen.dimensioning.workpiece import ROUND, Workpiece
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Vec, along, cross, dot, length, sub

TRUE = 1e-9
"""Sine or cosine of an angle taken for nothing."""
_ABOUT = 1e-6
"""Millimetres from an axis that are none."""
Round: TypeAlias = Cylinder | Cone


def round_looks(refs: References) -> Iterator[tuple[ConventionKind, tuple[int, ...]]]:
    """Kinds of convention and the forms they are of; nothing for a member that is not round."""
    work = refs.work
    sides = [(i, f) for i, f in enumerate(work.forms) if is_round_side(work, i) and isinstance(f, Round)]
    if not sides:
        return
    ends = [(e, p) for e in (refs.end, refs.other_end) if e is not None and (p := work.plane(e)) is not None]
    for (a, fa), (b, fb) in itertools.combinations(sides, 2):
        for end, plane in ends:
            if _meet_at_end(fa, fb, plane):
                yield "in line", (a, b, end)
    if len(ends) == 2 and _lean_one_way(ends[0][1], ends[1][1]):
        yield "in line", (ends[0][0], ends[1][0])
    axis, own = sides[0]
    holes = [(i, f) for i, f in enumerate(work.forms) if isinstance(f, Round) and f.side == "hole"]
    across = [(i, f) for i, f in holes if length(cross(f.axis, own.axis)) > 0.1]
    for i, hole in across:
        if _crosses(own, hole):
            yield "in line", (axis, i)
        if abs(dot(own.axis, hole.axis)) < TRUE:
            yield "square", (axis, i)
        for end, plane in ends:
            lean = (0.0, plane.normal[1], plane.normal[2])
            if length(lean) > TRUE and length(cross(lean, (0.0, hole.axis[1], hole.axis[2]))) < TRUE * length(
                lean
            ):
                yield "in line", (axis, i, end)
    for (a, fa), (b, fb) in itertools.combinations(across, 2):
        yield from _turn_between(a, fa, b, fb)
    yield from _walls(refs, axis, across)


def is_round_side(work: Workpiece, form: int) -> bool:
    """The form is of the outside that a member is turned to."""
    feature = work.feature_of(form)
    return feature is not None and feature.kind in ROUND and isinstance(work.forms[form], Round)


def _meet_at_end(a: Round, b: Round, end: Plane) -> bool:
    """Where the axis comes to an end aslant, the profile runs on as it is at its first or last place."""
    facing = dot(end.normal, a.axis)
    if abs(facing) > 1 - 1e-12 or abs(facing) < 0.1:
        return False
    at = along(a.point, a.axis, -end.distance(a.point) / facing)
    radii = [f.radius if isinstance(f, Cylinder) else f.radius_at(at) for f in (a, b)]
    return abs(radii[0] - radii[1]) < _ABOUT


def _lean_one_way(a: Plane, b: Plane) -> bool:
    """Ends that lean in one plane through the axis are both on edge in one view."""
    leans = [(0.0, p.normal[1], p.normal[2]) for p in (a, b)]
    return all(length(v) > TRUE for v in leans) and length(cross(*leans)) < TRUE < length(
        cross(a.normal, b.normal)
    )


def _crosses(own: Round, hole: Round) -> bool:
    """A hole bored across a round piece is drawn through its centre line."""
    across = cross(own.axis, hole.axis)
    return abs(dot(sub(hole.point, own.point), across)) / length(across) < _ABOUT


def _turn_between(a: int, fa: Round, b: int, fb: Round) -> Iterator[tuple[ConventionKind, tuple[int, ...]]]:
    """Two holes across one round piece: parallel, a quarter turn apart, or in one plane with its axis."""
    ways: list[Vec] = [(0.0, f.axis[1], f.axis[2]) for f in (fa, fb)]
    size = length(ways[0]) * length(ways[1])
    if length(cross(fa.axis, fb.axis)) < TRUE:
        yield "parallel", (a, b)
    elif length(cross(*ways)) < TRUE * size:
        yield "in line", (a, b)
    elif abs(dot(fa.axis, fb.axis)) < TRUE:
        yield "square", (a, b)


def _walls(
    refs: References, axis: int, across: Sequence[tuple[int, Round]]
) -> Iterator[tuple[ConventionKind, tuple[int, ...]]]:
    """Walls along the axis, such as a kerf's: parallel, in the middle where two are as far from it, along the way an
    end leans, along or square to a hole across."""
    work = refs.work
    own = work.forms[axis]
    assert isinstance(own, Round)
    planes = [(i, p) for i in range(len(work.forms)) if (p := work.plane(i))]
    walls = [(i, p) for i, p in planes if abs(dot(p.normal, own.axis)) < TRUE]
    for i, wall in walls:
        yield "parallel", (axis, i)
        for end in (refs.end, refs.other_end):
            plane = None if end is None else work.plane(end)
            if end is not None and plane is not None and abs(dot(plane.normal, wall.normal)) < TRUE:
                yield "square", (end, i)
        for hole, form in across:
            if abs(dot(form.axis, wall.normal)) < TRUE:
                yield "parallel", (hole, i)
            elif length(cross(form.axis, wall.normal)) < TRUE:
                yield "square", (hole, i)
    for (a, pa), (b, pb) in itertools.combinations(walls, 2):
        if length(cross(pa.normal, pb.normal)) < TRUE:
            yield "parallel", (a, b)
        facing = dot(pa.normal, pb.normal) < -1 + 1e-12
        if facing and abs(pa.distance(own.point) - pb.distance(own.point)) < _ABOUT:
            yield "in line", (axis, a, b)
