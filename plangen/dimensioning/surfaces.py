"""Offers for one plane surface: where it stands, how it slopes, how far it is from another."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import VIEWS, Layout, Offer, linear
from plangen.dimensioning.references import References, on_arris, straight
from plangen.dimensioning.workpiece import AXES, Spot, across, dominant_axis
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, angle_between, dot, length, scale, sub, unit

LEAST = 1e-6
FROM = ("from end A", "from face edge", "from face side")
_SIDE_VIEWS: tuple[tuple[MemberView, ...], ...] = (
    ("end A", "end B"),
    ("edge", "back edge"),
    ("face", "back"),
)
"""By the axis one looks along."""


def end_spot(refs: References, form: int) -> Spot | None:
    """The corner of an end on the face edge and the face side, else the nearest there is."""
    corners = refs.work.corners_on(form)
    wanted = [f for f in (refs.edge, refs.face) if f is not None]
    return min(
        corners,
        key=lambda s: (-sum(f in s.forms for f in wanted), _rounded(refs, s)),
        default=None,
    )


def _rounded(refs: References, spot: Spot) -> tuple[float, ...]:
    """Nearness to the reference corner: face side first, then face edge, then end A."""
    c = [round(refs.coordinate(axis, spot.point), 6) for axis in range(3)]
    return (c[2], c[1], c[0])


def by_preference(refs: References, layout: Layout, spots: Sequence[Spot], axis: int) -> list[Spot]:
    """Corners in the order in which a maker would measure to them along an axis: on the references, in sight
    of the views that show the axis, nearest."""
    beside = [f for a in range(3) if a != axis for f in (refs.of_axis(a),) if f is not None]

    def rank(s: Spot) -> tuple[object, ...]:
        seen = any(layout.sees(view, s, AXES[axis]) for view in VIEWS if across(view, AXES[axis]))
        outer = any(f in refs.outer for f in s.forms)
        return (not seen, -sum(f in s.forms for f in beside), not outer, _rounded(refs, s))

    return sorted(spots, key=rank)


def positions(
    refs: References,
    layout: Layout,
    form: int,
    label: str,
    *,
    axis: int | None = None,
    every: bool = False,
    views: Sequence[MemberView] = (),
) -> Iterator[Offer]:
    """Distance of a surface from the reference along its own axis, measured at the preferred corner (or, with
    ``every``, at all of them in turn)."""
    plane = refs.work.plane(form)
    if axis is None:
        if plane is None:
            return
        axis = dominant_axis(plane.normal)
    own = [s for s in refs.work.corners_on(form) if _is_free(refs, s, form, axis)]
    corners = by_preference(refs, layout, own, axis)
    for corner in corners if every else corners[:1]:
        foot = refs.foot(axis, corner)
        if foot is None or abs(foot.point[axis] - corner.point[axis]) < LEAST:
            continue
        offer = linear(layout, f"{label} {FROM[axis]}", foot, corner, AXES[axis], views)
        yield replace(offer, tier="position")


def _is_free(refs: References, spot: Spot, form: int, axis: int) -> bool:
    """A corner's place along an axis says something of the form: no other surface there is square to it."""
    planes = [refs.work.plane(f) for f in spot.forms if f != form]
    return not any(p is not None and abs(p.normal[axis]) > 1 - 1e-12 for p in planes)


def slopes(
    refs: References, layout: Layout, form: int, label: str, *, axis: int | None = None
) -> Iterator[Offer]:
    """How a surface runs out of square: by ruler offset along its own axis over each of the other two, each
    with the angle."""
    plane = refs.work.plane(form)
    if plane is None:
        return
    if axis is None:
        axis = dominant_axis(plane.normal)
    for over in sorted((a for a in range(3) if a != axis), reverse=axis == 2):
        if abs(plane.normal[over]) < 1e-9:
            continue
        pair = _trace(refs, form, axis, over)
        if pair is None:
            continue
        a, b = pair
        seen_along = 3 - axis - over
        word = ("length", "width", "thickness")[over]
        offer = linear(layout, f"{label} over {word}", a, b, AXES[axis], _SIDE_VIEWS[seen_along])
        span = abs(b.point[over] - a.point[over])
        # Hidden or not, a slope is an offset along an axis, drawn in the one view that has both directions.
        view = _slope_view(layout, offer, seen_along)
        offer = replace(offer, kind="linear", view=view, suffix="", span=span)
        yield replace(offer, angle=_angle(refs, offer, axis, over, label))


def _slope_view(layout: Layout, offer: Offer, seen_along: int) -> MemberView:
    """The view that has both directions and shows more of the two points, the usual one of two that show as much."""
    views = _SIDE_VIEWS[seen_along]
    if offer.view in views:
        return offer.view
    return max(views, key=lambda v: (sum(layout.work.sees(v, s.point) for s in offer.spots), -views.index(v)))


def _trace(refs: References, form: int, axis: int, over: int) -> tuple[Spot, Spot] | None:
    """Two corners of a surface abreast of each other over an axis: ends of its trace on the face side or face
    edge, or on another outer surface, or the widest pair there is."""
    aside = 3 - axis - over
    work = refs.work
    preferred = [f for f in (refs.of_axis(aside),) if f is not None]
    others = [f for f in refs.outer if f not in preferred and f != form]
    inner = [f for f in range(len(work.forms)) if f not in refs.outer and f != form]
    for ground in (*preferred, *others, *inner):
        plane = work.plane(ground)
        if plane is None or dominant_axis(plane.normal) != aside:
            continue
        if abs(plane.normal[aside]) < 1 - 1e-12:
            pair = _level_trace(refs, form, ground, axis, over)
            if pair is not None:
                return pair
        corners = work.corners_on(form, ground)
        pair = _widest(refs, corners, axis, over)
        if pair is not None:
            return pair
    return _widest(refs, work.corners_on(form), axis, over, aside)


def _level_trace(refs: References, form: int, ground: int, axis: int, over: int) -> tuple[Spot, Spot] | None:
    """Beside a ground out of square: a corner on it, and the point level with it on the opposite outer side."""
    aside = 3 - axis - over
    sides = ((refs.end, refs.other_end), (refs.edge, refs.back_edge), (refs.face, refs.back))[over]
    for here, there in (sides, sides[::-1]):
        if here is None or there is None:
            continue
        for corner in refs.work.corners_on(form, ground, here):
            other = on_arris(refs.work, form, there, aside, corner.point[aside])
            if other is not None and abs(other.point[axis] - corner.point[axis]) > LEAST:
                near = sorted((corner, other), key=lambda s: round(refs.coordinate(over, s.point), 6))
                return near[0], near[1]
    return None


def _widest(
    refs: References, corners: Sequence[Spot], axis: int, over: int, aside: int | None = None
) -> tuple[Spot, Spot] | None:
    best: tuple[float, Spot, Spot] | None = None
    for a, b in itertools.combinations(corners, 2):
        gap = abs(a.point[over] - b.point[over])
        if gap < 0.5 or abs(a.point[axis] - b.point[axis]) < LEAST:
            continue
        score = gap - (3 * abs(a.point[aside] - b.point[aside]) if aside is not None else 0.0)
        if best is None or score > best[0] + 1e-6:
            best = (score, a, b)
    if best is None:
        return None
    a, b = best[1], best[2]
    near = sorted((a, b), key=lambda s: round(refs.coordinate(over, s.point), 6))
    return near[0], near[1]


def _angle(refs: References, offer: Offer, axis: int, over: int, label: str) -> Offer | None:
    """The same slope as an angle in the same view: to the arris that runs along the surface's own axis,
    else to one that runs over it; apex where it comes out acute."""
    best: tuple[tuple[float, ...], Offer] | None = None
    for apex, arm in (offer.spots, offer.spots[::-1]):
        for other in _arms(refs, apex, (axis, over), 3 - axis - over):
            u, v = _flat(apex, arm, 3 - axis - over), _flat(apex, other, 3 - axis - over)
            degrees = angle_between(u, v) * 57.29577951308232
            if not 0.01 < degrees < 179.99:
                continue
            runs = dominant_axis(v)
            rank = (float(degrees > 90), float(runs != axis), -round(length(v), 3))
            found = Offer(
                f"{offer.label}, angle", "angular", (apex, arm, other), None, offer.view,
                offer.feature, offer.tier, offer.origin, degrees=degrees,
            )  # fmt: skip
            if best is None or rank < best[0]:
                best = (rank, found)
    return None if best is None else best[1]


def _arms(refs: References, apex: Spot, axes: tuple[int, int], sight: int) -> list[Spot]:
    """Points level with an axis beside an apex, on a line that the view shows: an arris, or a plane on edge."""
    found = []
    reach = max(5.0, min(25.0, min(refs.work.member.finished) / 2))
    for axis in axes:
        for sign in (1.0, -1.0):
            p = list(apex.point)
            p[axis] += sign * reach
            spot = refs.work.spot((p[0], p[1], p[2]))
            if spot is not None and _is_drawn(refs, spot, apex, sight):
                found.append(spot)
    return found


def _is_drawn(refs: References, spot: Spot, apex: Spot, sight: int) -> bool:
    shared = [f for f in spot.forms if f in apex.forms]
    planes = [refs.work.plane(f) for f in shared]
    return len(shared) > 1 or any(p is not None and abs(p.normal[sight]) < 1e-9 for p in planes)


def _flat(a: Spot, b: Spot, sight: int) -> Vec:
    d = list(sub(b.point, a.point))
    d[sight] = 0.0
    return (d[0], d[1], d[2])


# --- between two surfaces ---------------------------------------------------------------------------------


def gap(
    refs: References,
    layout: Layout,
    a: int,
    b: int,
    label: str,
    views: Sequence[MemberView] = (),
    *,
    axis: int | None = None,
) -> Iterator[Offer]:
    """Distance between two parallel planes, square to them as the view shows them."""
    work = refs.work
    plane = work.plane(a)
    if plane is None:
        return
    if axis is None:
        axis = dominant_axis(plane.normal)
    order = [*views, *(v for other in (2, 1, 0) if other != axis for v in _SIDE_VIEWS[other])]
    for in_sight, view in itertools.product((2, 1, 0), order):
        direction = _in_view(plane.normal, view)
        pair = None if direction is None else _abreast(refs, layout, a, b, direction, view, in_sight)
        if pair is not None and direction is not None:
            offer = replace(linear(layout, label, *pair, direction, (view,)), kind="linear", suffix="")
            yield replace(offer, view=view)
            return


def _in_view(normal: Vec, view: MemberView) -> Vec | None:
    sight = {"face": 2, "back": 2, "edge": 1, "back edge": 1, "end A": 0, "end B": 0}[view]
    d = list(normal)
    d[sight] = 0.0
    flat: Vec = (d[0], d[1], d[2])
    return unit(flat) if length(flat) > 0.5 else None


def _abreast(
    refs: References, layout: Layout, a: int, b: int, direction: Vec, view: MemberView, in_sight: int
) -> tuple[Spot, Spot] | None:
    """Corners of the two planes as nearly abreast as there are, at least so many of them ``in_sight`` of the
    view; None where there are none."""
    best: tuple[tuple[object, ...], Spot, Spot] | None = None
    sight = {"face": 2, "back": 2, "edge": 1, "back edge": 1, "end A": 0, "end B": 0}[view]
    plane = refs.work.plane(a)
    leans = plane is not None and abs(plane.normal[sight]) > 1e-9
    for p in refs.work.corners_on(a):
        for q in refs.work.corners_on(b):
            d = sub(q.point, p.point)
            aside = list(sub(d, scale(direction, dot(d, direction))))
            depth = abs(aside[sight])
            if leans and depth > LEAST:
                continue
            aside[sight] = 0.0
            rank = (
                round(length((aside[0], aside[1], aside[2])), 3),
                round(depth, 3),
                *_rounded(refs, p),
                *_rounded(refs, q),
            )
            if (best is None or rank < best[0]) and sum(
                layout.sees(view, s, direction) for s in (p, q)
            ) >= in_sight:
                best = (rank, p, q)
    return None if best is None else (best[1], best[2])


def depths(
    refs: References, layout: Layout, form: int, label: str, views: Sequence[MemberView] = ()
) -> Iterator[Offer]:
    """How deep a surface lies under the outer surface it faces, at each of its corners in turn."""
    plane = refs.work.plane(form)
    if plane is None:
        return
    axis = dominant_axis(plane.normal)
    mouths = mouths_of(refs, plane, axis)
    corners = by_preference(refs, layout, refs.work.corners_on(form), axis)
    for corner in corners:
        for mouth in mouths:
            above = _above(refs, corner, form, mouth, axis)
            if above is not None and abs(above.point[axis] - corner.point[axis]) > LEAST:
                yield linear(layout, label, above, corner, AXES[axis], views)
                break


def mouths_of(refs: References, plane: Plane, axis: int) -> list[int]:
    """Outer planes that look the same way as a surface inside the member, the squarest first."""
    found = []
    for i in refs.outer:
        outer = refs.work.plane(i)
        if (
            outer is not None
            and dot(outer.normal, plane.normal) > 0.5
            and dominant_axis(outer.normal) == axis
        ):
            found.append((-round(dot(outer.normal, plane.normal), 3), -round(refs.work.areas[i], 3), i))
    return [i for _, _, i in sorted(found)]


def _above(refs: References, corner: Spot, floor: int, mouth: int, axis: int) -> Spot | None:
    """A point of the mouth above a corner of the floor: straight above, else up along the same walls."""
    if mouth in corner.forms:
        return None
    there = straight(refs.work, corner.point, axis, mouth)
    if there is not None:
        return there
    best: tuple[tuple[float, ...], Spot] | None = None
    for s in refs.work.corners_on(mouth):
        shared = sum(f in corner.forms for f in s.forms)
        if shared:
            rank = (-shared, round(length(sub(s.point, corner.point)), 6), *s.point)
            if best is None or rank < best[0]:
                best = (rank, s)
    return None if best is None else best[1]
