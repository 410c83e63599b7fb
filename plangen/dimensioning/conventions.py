"""Conventions: what corners that look square, sides that look parallel and a drawn centre line say without a figure.

Only what is true on the solid is offered, and only what adds to what is known is recorded. A pair that
differs by anything more than rounding never counts as square or parallel.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from plangen.dimensioning.figures import Convention, ConventionKind
from plangen.dimensioning.freedom import Freedom, Row
from plangen.dimensioning.references import References
from plangen.dimensioning.relations import convention_rows
from plangen.dimensioning.round_looks import TRUE, round_looks
from plangen.dimensioning.workpiece import EDGE_WORK, Workpiece
from plangen.geometry.patches import same_surface
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, length, sub

_NEW = 1e-3


@dataclass(frozen=True)
class Look:
    """One thing a drawing says without a figure."""

    kind: ConventionKind
    forms: tuple[int, ...]


def take_conventions(freedom: Freedom, refs: References, mirrors: tuple[int, ...]) -> tuple[Convention, ...]:
    """Give the system every convention that holds, and record those that say something new.

    Pieces of an outline are one surface with one id: what holds between them is part of its shape, and is
    not recorded.
    """
    work = refs.work
    recorded: list[Convention] = [
        Convention("in line", names) for i in range(len(work.forms)) if len(names := work.names(i)) > 1
    ]
    for look in (*looks(refs), *symmetries(refs, mirrors)):
        new = [freedom.take(row, _NEW) for row in convention_rows(freedom, look.kind, look.forms)]
        names = tuple(work.name(f) for f in look.forms)
        pieces = any(_is_piece(work, f) for f in look.forms)
        if any(new) and all(names) and (not pieces or look.kind == "symmetric"):
            recorded.append(Convention(look.kind, names))
    return _without_echoes(freedom, tuple(dict.fromkeys(recorded)))


def _without_echoes(freedom: Freedom, recorded: tuple[Convention, ...]) -> tuple[Convention, ...]:
    """Without those that follow from all others: what says two things, one of them known, may say what an earlier
    one said. The last of them goes first, so that what is said of the references stays."""
    rows: dict[Convention, list[Row]] = {}
    for c in recorded:
        forms = [f for i in c.surfaces if (f := freedom.work.form_of(i)) is not None]
        named_twice = c.kind == "in line" and len(set(forms)) < len(forms)
        if len(forms) == len(c.surfaces) and not named_twice:  # nor of an outline of several pieces
            rows[c] = convention_rows(freedom, c.kind, forms)
    kept = list(recorded)
    for c in reversed(list(rows)):
        others = freedom.gauge_alone()
        for d in kept:
            for row in rows.get(d, ()) if d != c else ():
                others.take(row, _NEW)
        if all(others.follows(row, _NEW) for row in rows[c]):
            kept.remove(c)
    return tuple(kept)


def recorded_rows(freedom: Freedom, refs: References, recorded: tuple[Convention, ...]) -> Iterator[Row]:
    """The equations of recorded conventions; of an outline that is its own mirror image, those of its pieces."""
    work = refs.work
    whole = {c.surfaces for c in recorded if c.kind == "symmetric"}
    for look in symmetries(refs, mirror_axes(refs)):
        if tuple(work.name(f) for f in look.forms) in whole:
            yield from convention_rows(freedom, look.kind, look.forms)
    for convention in recorded:
        forms = [f for i in convention.surfaces if (f := work.form_of(i)) is not None]
        if convention.kind == "same as" and len(forms) == len(convention.surfaces):
            yield from convention_rows(freedom, convention.kind, forms)


def _is_piece(work: Workpiece, form: int) -> bool:
    """The form is one of several of an outline."""
    return all(work.form_of(i) is None for i in work.names(form))


def looks(refs: References) -> Iterator[Look]:
    """Square, parallel, concentric and tangent pairs: with the references first, then within a feature."""
    work = refs.work
    for i in range(len(work.forms)):
        yield from _with_references(refs, i)
    groups = [work.forms_of(f) for f in work.features.values()]
    for group in groups:
        for a, b in itertools.combinations(group, 2):
            yield from _pair(work, a, b)
    for a, b in itertools.combinations(range(len(work.forms)), 2):
        yield from _at_large(work, a, b)
    for kind, forms in round_looks(refs):
        yield Look(kind, forms)


def _with_references(refs: References, form: int) -> Iterator[Look]:
    work = refs.work
    f = work.forms[form]
    if isinstance(f, Extruded):
        return
    way = f.normal if isinstance(f, Plane) else f.axis
    for axis in (2, 1, 0):
        ref = refs.of_axis(axis)
        plane = None if ref is None else work.plane(ref)
        if ref is None or ref == form or plane is None or abs(plane.normal[axis]) < 1 - 1e-12:
            continue
        along = abs(way[axis]) > 1 - 1e-12
        aside = abs(way[axis]) < TRUE
        if isinstance(f, Plane):
            if along:
                yield Look("parallel", (ref, form))
            elif aside:
                yield Look("square", (ref, form))
        elif along:
            yield Look("square", (ref, form))
        elif aside:
            yield Look("parallel", (ref, form))


def _pair(work: Workpiece, a: int, b: int) -> Iterator[Look]:
    """Two surfaces of one feature."""
    fa, fb = work.forms[a], work.forms[b]
    if isinstance(fa, Extruded) or isinstance(fb, Extruded):
        return
    da = fa.normal if isinstance(fa, Plane) else fa.axis
    db = fb.normal if isinstance(fb, Plane) else fb.axis
    like = isinstance(fa, Plane) == isinstance(fb, Plane)
    if length(cross(da, db)) < TRUE:
        yield Look("parallel" if like else "square", (a, b))
    elif abs(dot(da, db)) < TRUE:
        yield Look("square" if like else "parallel", (a, b))
    if touches_smoothly(work, a, b):
        yield Look("tangent", (a, b))


def _at_large(work: Workpiece, a: int, b: int) -> Iterator[Look]:
    """Surfaces of different features: sloping ones that are parallel, holes on one axis, smooth joins, and
    holes square to the sloping face they enter."""
    fa, fb = work.forms[a], work.forms[b]
    if isinstance(fa, Extruded) or isinstance(fb, Extruded):
        return
    if isinstance(fa, Plane) and isinstance(fb, Plane):
        if max(abs(c) for c in fa.normal) < 1 - 1e-12 and length(cross(fa.normal, fb.normal)) < TRUE:
            yield Look("parallel", (a, b))
        return
    if isinstance(fa, Cylinder | Cone) and isinstance(fb, Cylinder | Cone) and _one_axis(fa, fb):
        yield Look("concentric", (a, b))
    plane, round_ = (a, b) if isinstance(fa, Plane) else (b, a)
    p, c = work.forms[plane], work.forms[round_]
    if touches_smoothly(work, a, b) or _is_eased_from(work, plane, round_):
        yield Look("tangent", (a, b))
        if isinstance(p, Plane) and isinstance(c, Cylinder):
            # Tangent all along, as a rounded arris is, not at one station only.
            yield Look("parallel", (plane, round_))
    if isinstance(p, Plane) and isinstance(c, Cylinder) and length(cross(p.normal, c.axis)) < TRUE:
        yield Look("square", (plane, round_))
    if isinstance(p, Plane) and isinstance(c, Cylinder) and _is_seat_in(work, plane, round_):
        yield Look("in line", (plane, round_))


def _is_eased_from(work: Workpiece, plane: int, round_: int) -> bool:
    """A rounded arris runs into the outer surfaces beside it, though nothing of one be left along it."""
    feature, p, c = work.feature_of(round_), work.plane(plane), work.forms[round_]
    if feature is None or feature.kind != "round-over" or p is None or not isinstance(c, Cylinder):
        return False
    lies_along = plane in work.outer and abs(dot(p.normal, c.axis)) < TRUE
    return lies_along and abs(p.distance(c.point) + c.radius) < 1e-6


def _is_seat_in(work: Workpiece, plane: int, round_: int) -> bool:
    """A half-round seat's middle is drawn on the surface it lies in, or on the arris that it starts from: on every
    outer surface there but the one that it is bored from."""
    feature = work.feature_of(round_)
    hole = None if feature is None or feature.kind != "seat" else feature.hole
    if hole is None:
        return False
    there = [(i, p) for i in work.outer if (p := work.plane(i)) and abs(p.distance(hole.entry)) < 1e-6]
    entered = min(there, key=lambda named: round(dot(named[1].normal, hole.axis), 9), default=None)
    return plane in [i for i, _ in there] and entered is not None and plane != entered[0]


def _one_axis(a: Cylinder | Cone, b: Cylinder | Cone) -> bool:
    if length(cross(a.axis, b.axis)) > TRUE:
        return False
    return length(cross(a.axis, sub(b.point, a.point))) < 1e-6


def touches_smoothly(work: Workpiece, a: int, b: int) -> bool:
    """The two meet in an edge along which they are tangent."""
    return frozenset((a, b)) in work.smooth_pairs


# --- symmetry ---------------------------------------------------------------------------------------------


def mirror_axes(refs: References) -> tuple[int, ...]:
    """Axes (0 length, 1 width) about whose middle the whole member is its own mirror image, where that saves
    figures: something other than the outer faces changes over, or a curve stands on the middle."""
    found = []
    for axis in (0, 1):
        sides = middle_planes(refs, axis)
        if sides is None:
            continue
        partner = _partners(refs, axis, sides)
        if partner is not None and any(_saves(refs, a, b, axis) for a, b in enumerate(partner)):
            found.append(axis)
    return tuple(found)


def middle_planes(refs: References, axis: int) -> tuple[int, int] | None:
    """The two outer planes that a centre line stands between: square to the axis, or sloping alike, as the ends of a
    six-sided bottom do."""
    work = refs.work
    pair = ((refs.end, refs.other_end), (refs.edge, refs.back_edge))[axis]
    low, high = pair
    a, b = (None if f is None else work.plane(f) for f in pair)
    if low is None or high is None or low == high or a is None or b is None:
        return None
    square = all(abs(p.normal[axis]) > 1 - 1e-12 for p in (a, b))
    if square:
        return low, high
    if axis or max(abs(a.normal[2]), abs(b.normal[2])) > TRUE or min(-a.normal[0], b.normal[0]) < 0.1:
        return None
    image = _mirrored(a, axis, twice_middle(a, b, axis))
    return (low, high) if image is not None and same_surface(image, b) else None


def twice_middle(a: Plane, b: Plane, axis: int) -> float:
    """Where on the axis two planes that slope alike stand, added up."""
    return a.offset / a.normal[axis] + b.offset / b.normal[axis]


def symmetries(refs: References, axes: tuple[int, ...]) -> Iterator[Look]:
    work = refs.work
    for axis in axes:
        sides = middle_planes(refs, axis)
        partner = None if sides is None else _partners(refs, axis, sides)
        if sides is None or partner is None:
            continue
        low = work.plane(sides[0])
        leans = low is not None and abs(low.normal[axis]) < 1 - 1e-12
        for a, b in enumerate(partner):
            if isinstance(work.forms[a], Extruded) or a in sides:
                continue
            if a == b == refs.edge and leans:
                yield Look("symmetric", (a, *sides))  # the centre line is square to it
            elif a < b:
                yield Look("symmetric", (a, b, *sides))
            elif a == b and isinstance(work.forms[a], Cylinder | Cone):
                yield Look("symmetric", (a, *sides))


def _saves(refs: References, a: int, b: int, axis: int) -> bool:
    """A surface whose mirror image need not be figured; fingers are marked out in one run across the width."""
    curved = isinstance(refs.work.forms[a], Cylinder | Cone)
    feature = refs.work.feature_of(a)
    if a == b:
        return curved and feature is not None and feature.kind == "curve"
    if feature is not None and feature.kind == "fingers" and axis == 1:
        return False
    if feature is not None and feature.kind in EDGE_WORK:
        return False  # counted in one note, on whichever arrises they are
    plane = refs.work.plane(a)
    if plane is not None and feature is not None and feature.kind == "outline":
        return max(abs(c) for c in plane.normal) < 1 - 1e-9  # the sloping sides of a six-sided piece
    return a not in refs.outer and (not curved or (feature is not None and feature.hole is None))


def _partners(refs: References, axis: int, sides: tuple[int, int]) -> list[int] | None:
    """For each form its mirror image; None where the member is not its own mirror image."""
    work = refs.work
    low, high = work.plane(sides[0]), work.plane(sides[1])
    assert low is not None
    assert high is not None
    twice = twice_middle(low, high, axis)
    found = []
    for form in work.forms:
        image = _mirrored(form, axis, twice)
        same = [i for i, other in enumerate(work.forms) if image is not None and same_surface(image, other)]
        if not same:
            return None
        found.append(same[0])
    places = {tuple(round(c, 4) + 0.0 for c in s.point) for s in work.corners}
    for spot in work.corners:
        p = _mirror_point(spot.point, axis, twice)
        if tuple(round(c, 4) + 0.0 for c in p) not in places and not _near(p, work):
            return None
    return found


def _near(p: Point, work: Workpiece) -> bool:
    return any(length(sub(p, s.point)) < 1e-4 for s in work.corners)


def _mirror_point(p: Point, axis: int, twice: float) -> Point:
    q = list(p)
    q[axis] = twice - q[axis]
    return (q[0], q[1], q[2])


def _mirror_way(v: Vec, axis: int) -> Vec:
    w = list(v)
    w[axis] = 0.0 - w[axis]
    return (w[0], w[1], w[2])


def _mirrored(form: Form, axis: int, twice: float) -> Form | None:
    if isinstance(form, Plane):
        normal = _mirror_way(form.normal, axis)
        p = _mirror_point(form.point, axis, twice)
        return Plane(normal, dot(normal, p))
    if isinstance(form, Cylinder | Cone):
        return replace(form, point=_mirror_point(form.point, axis, twice), axis=_mirror_way(form.axis, axis))
    return None
