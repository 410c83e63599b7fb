"""Offers for rounded and chamfered arrises: one note for all that are worked alike, and where a stopped one ends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST, positions
from plangen.dimensioning.workpiece import AXES, EDGE_WORK, Spot, dominant_axis
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import (
    Point,
    Vec,
    along,
    angle_between,
    cross,
    dot,
    length,
    neg,
    scale,
    sub,
    unit,
)
from plangen.joinery.model import Feature

_SQUARE = 1e-9
_SIZES = ("length", "width", "thickness")
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.02, 0.98)


def edge_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """The note of each group of arrises worked alike; what each of the group needs beside it is said there too."""
    groups: dict[tuple[object, ...], list[tuple[Feature, list[Offer]]]] = {}
    for feature in refs.work.features.values():
        offers = list(_of_arris(refs, layout, feature)) if feature.kind in EDGE_WORK else []
        if offers:
            # Stated offers are the words of the note: arrises with the same words, from one entry, are alike.
            words = (feature.place, offers[0].suffix, round(offers[0].value, 4))
            groups.setdefault(words, []).append((feature, offers))
    for group in groups.values():
        times = f"{len(group)} x " if len(group) > 1 else ""
        label = f"{group[0][0].id} note"
        for i, (feature, offers) in enumerate(group):
            for offer in offers:
                if offer.stated and i == 0:
                    offer = replace(offer, label=label, prefix=f"{times}{offer.prefix}")
                else:
                    offer = replace(offer, label=f"{feature.id} {offer.label}", said_by=label, mute=True)
                yield replace(offer, feature=feature.id, origin=feature.origin)
            yield from _stops(refs, layout, feature)
    for feature in refs.work.features.values():
        for form in refs.work.forms_of(feature) if feature.kind == "round-over" else ():
            for offer in _over_round(refs, layout, form):
                yield replace(offer, feature=feature.id, origin=feature.origin)
    yield from _between_rounds(refs, layout)


def _of_arris(refs: References, layout: Layout, feature: Feature) -> Iterator[Offer]:
    """What is said of one arris: first the offer that is stated, with the words of its note; the rest is mute."""
    form = refs.work.form_of(feature.surfaces[0].id)
    if form is None:
        return
    surface = refs.work.forms[form]
    if isinstance(surface, Cylinder):
        yield from _round_over(refs, form, surface, feature)
    elif isinstance(surface, Cone):
        yield from _rim(refs, layout, form, surface)
    else:
        yield from _chamfer(refs, layout, form)


# --- round-overs ------------------------------------------------------------------------------------------


def _round_over(refs: References, form: int, round_: Cylinder, feature: Feature) -> Iterator[Offer]:
    out = next((s.form.normal for s in feature.surfaces if isinstance(s.form, Plane)), AXES[2])
    for at in _stations(refs, form, round_.point, round_.axis):
        spot = refs.work.spot_on(along(at, out, round_.radius), (form,))
        if spot is not None:
            spots = (Spot(at, (form,)), Spot(spot.point, (form,)))
            view = _view_of(out, round_.axis)
            yield Offer("radius", "radius", spots, None, view, prefix="R", suffix=" ROUND-OVER", stated=True)
            return


def _stations(refs: References, form: int, point: Point, axis: Vec) -> Iterator[Point]:
    """Points of the axis abreast of the skin, the middle first."""
    rows = refs.work.solid.triangles[refs.work.solid.triangle_form == form].ravel().tolist()
    heights = [dot(sub(tuple(refs.work.solid.vertices[i].tolist()), point), axis) for i in rows]
    for share in _SHARES:
        yield along(point, axis, min(heights) + (max(heights) - min(heights)) * share)


def _view_of(out: Vec, axis: Vec) -> MemberView:
    """The view that looks along the arris shows its profile; of a long arris the face or edge shows where it is."""
    views: dict[tuple[int, bool], MemberView] = {
        (2, True): "face", (2, False): "back", (1, True): "back edge", (1, False): "edge", (0, True): "end B",
        (0, False): "end A",
    }  # fmt: skip
    across = [a for a in (2, 1, 0) if a != dominant_axis(axis)]
    best = max(across, key=lambda a: (round(abs(out[a]), 6) > 0.1, out[a] > 0, a == 2))
    return views[best, out[best] > 0]


def _over_round(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """The width or thickness over the round, which says where it is where rounding takes a whole side away."""
    round_ = refs.work.forms[form]
    if not isinstance(round_, Cylinder):
        return
    for axis in (a for a in (1, 2) if a != dominant_axis(round_.axis) and refs.of_axis(a) is not None):
        for spot in _extremes(refs, form, round_, axis):
            foot = refs.foot(axis, spot)
            if foot is not None and abs(foot.point[axis] - spot.point[axis]) > LEAST:
                yield linear(layout, f"{_SIZES[axis]} over the round", foot, spot, AXES[axis])


def _extremes(refs: References, form: int, round_: Cylinder, axis: int) -> Iterator[Spot]:
    """The points of a round that stand farthest out along an axis, either way, where there is skin."""
    for sign in (-1.0, 1.0):
        way = scale(AXES[axis], sign)
        way = sub(way, scale(round_.axis, dot(way, round_.axis)))
        if length(way) < 0.5:
            continue
        at = _stations(refs, form, round_.point, round_.axis)
        spots = (refs.work.spot_on(along(p, unit(way), round_.radius), (form,)) for p in at)
        found = next((s for s in spots if s is not None), None)
        if found is not None:
            yield Spot(found.point, (form,))


def _between_rounds(refs: References, layout: Layout) -> Iterator[Offer]:
    """Where both sides are rounded away: from round to round."""
    for axis in (a for a in (1, 2) if refs.of_axis(a) is None):
        spots = [
            spot
            for feature in refs.work.features.values()
            for form in (refs.work.forms_of(feature) if feature.kind == "round-over" else ())
            if isinstance(round_ := refs.work.forms[form], Cylinder)
            for spot in _extremes(refs, form, round_, axis)
        ]
        spots.sort(key=lambda s: (round(s.point[axis], 6), s.point))
        if spots and spots[-1].point[axis] - spots[0].point[axis] > LEAST:
            offer = linear(layout, _SIZES[axis], spots[0], spots[-1], AXES[axis], ("face", "edge"))
            yield replace(offer, kind="linear", suffix=" OVER THE ROUNDS", stated=True, firm=True)


# --- chamfers ---------------------------------------------------------------------------------------------


def _chamfer(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """``CHAMFER 3 x 45°`` on a square arris, the width of the flat on any other."""
    beside = _beside(refs, form)
    if len(beside) < 2:
        return
    a, b = beside
    planes = [p for f in beside if (p := refs.work.plane(f)) is not None]
    square = abs(dot(planes[0].normal, planes[1].normal)) < _SQUARE and _runs_along_an_axis(planes)
    said = _width(refs, layout, form, b, planes[0]) if square else _flat(refs, form, a, b)
    if said is None:
        return
    suffix = " x 45°" if square else " WIDE"
    yield replace(said, kind="linear", prefix="CHAMFER ", suffix=suffix, stated=True)
    yield from (o for o in (_angle(refs, form, a, b), _angle(refs, form, b, a)) if o is not None)
    for axis in range(3) if not square else ():
        yield from positions(refs, layout, form, "corner", axis=axis, every=True)


def _angle(refs: References, form: int, a: int, b: int) -> Offer | None:
    """Between a chamfer and a surface beside it, as the view along the arris shows it."""
    own, plane, other = refs.work.plane(form), refs.work.plane(a), refs.work.plane(b)
    assert own is not None
    assert plane is not None
    assert other is not None
    run = cross(own.normal, plane.normal)
    sight = dominant_axis(run)
    views: tuple[MemberView, ...] = ("end A", "edge", "face")
    away = unit(cross(run, plane.normal))
    away = away if dot(away, other.normal) < 0 else neg(away)
    for apex in refs.work.corners_on(form, a):
        arm = _abreast(refs, apex, form, b)
        for reach in (10.0, 5.0, 2.0, 1.0, 0.5) if arm is not None else ():
            third = refs.work.spot_on(along(apex.point, away, reach), (a,))
            if third is not None and arm is not None:
                u, v = (_flattened(sub(s.point, apex.point), sight) for s in (arm, third))
                degrees = math.degrees(angle_between(u, v))
                return Offer("angle", "angular", (apex, arm, third), None, views[sight], degrees=degrees)
    return None


def _flattened(v: Vec, sight: int) -> Vec:
    flat = list(v)
    flat[sight] = 0.0
    return (flat[0], flat[1], flat[2])


def _runs_along_an_axis(planes: Sequence[Plane]) -> bool:
    return all(max(abs(c) for c in p.normal) > 1 - _SQUARE for p in planes)


def _beside(refs: References, form: int) -> list[int]:
    """The two outer surfaces that a chamfer lies between: those it shares the longest arrises with."""
    shared: dict[int, float] = {}
    for arris in refs.work.arrises:
        if form in arris.forms:
            other = arris.forms[0] if arris.forms[1] == form else arris.forms[1]
            if other in refs.outer:
                size = length(sub(arris.end.point, arris.start.point))
                shared[other] = shared.get(other, 0.0) + size
    return sorted(sorted(shared, key=lambda f: (-round(shared[f], 6), f))[:2], key=lambda f: _rank(refs, f))


def _rank(refs: References, form: int) -> int:
    """The width on the face is said first, then that on the edge."""
    order = (refs.face, refs.back, refs.edge, refs.back_edge)
    return order.index(form) if form in order else len(order)


def _width(refs: References, layout: Layout, form: int, side: int, surface: Plane) -> Offer | None:
    """The chamfer's width on ``surface``: from the other side's plane to the arris that is left."""
    there = refs.work.plane(side)
    assert there is not None
    axis = dominant_axis(there.normal)
    for corner in refs.work.corners_on(form):
        if abs(surface.distance(corner.point)) > LEAST:
            continue
        foot = _abreast(refs, corner, form, side)
        if foot is not None and abs(foot.point[axis] - corner.point[axis]) > LEAST:
            return linear(layout, "width", foot, corner, AXES[axis])
    return None


def _abreast(refs: References, corner: Spot, form: int, side: int) -> Spot | None:
    """The corner across the chamfer: on its other arris, at the same end of it."""
    across = [s for s in refs.work.corners_on(form, side) if s.point != corner.point]
    return min(across, key=lambda s: (round(length(sub(s.point, corner.point)), 6), s.point), default=None)


def _flat(refs: References, form: int, a: int, b: int) -> Offer | None:
    """From arris to arris of a chamfer, square to them."""
    own, pa, pb = refs.work.plane(form), refs.work.plane(a), refs.work.plane(b)
    assert own is not None
    assert pa is not None
    assert pb is not None
    way = unit(cross(own.normal, cross(pa.normal, pb.normal)))
    for corner in refs.work.corners_on(form, a):
        foot = _abreast(refs, corner, form, b)
        if foot is None:
            continue
        if dot(sub(foot.point, corner.point), way) < 0:
            way = neg(way)
        view = _view_of(own.normal, cross(pa.normal, pb.normal))
        return Offer("width", "linear", (corner, foot), way, view)
    return None


def _rim(refs: References, layout: Layout, form: int, cone: Cone) -> Iterator[Offer]:
    """The chamfered rim of a round end: how far it runs along, and the diameter left on the end."""
    for end in (refs.end, refs.other_end):
        plane = None if end is None else refs.work.plane(end)
        if end is None or plane is None or length(cross(plane.normal, cone.axis)) > _SQUARE:
            continue
        centre = along(cone.point, cone.axis, -plane.distance(cone.point) / dot(plane.normal, cone.axis))
        inner = cone.radius_at(centre)
        if inner < LEAST or refs.work.spot_on(along(centre, AXES[1], inner), (form, end)) is None:
            continue
        outer = next((f for f in range(len(refs.work.forms)) if _meets(refs, f, cone)), None)
        if outer is None:
            continue
        round_ = refs.work.forms[outer]
        assert isinstance(round_, Cylinder)
        run = (round_.radius - inner) / abs(cone.slope)
        start = Spot(along(centre, AXES[1], inner), tuple(sorted((end, form))))
        stop = along(along(centre, AXES[1], round_.radius), plane.normal, -run)
        degrees = round(math.degrees(math.atan(abs(cone.slope))), 1)
        yield replace(
            linear(layout, "width", start, Spot(stop, tuple(sorted((form, outer)))), AXES[0]),
            kind="linear", view="face", prefix="CHAMFER ", suffix=f" x {degrees:g}°", stated=True,
        )  # fmt: skip
        far = Spot(along(centre, AXES[1], -inner), tuple(sorted((end, form))))
        yield Offer(
            "diameter", "diameter", (replace(far, forms=(form,)), replace(start, forms=(form,))), None,
            "end A" if end == refs.end else "end B", prefix="Ø ",
        )  # fmt: skip


def _meets(refs: References, form: int, cone: Cone) -> bool:
    round_ = refs.work.forms[form]
    if not isinstance(round_, Cylinder) or round_.side != "post":
        return False
    return length(cross(round_.axis, sub(cone.point, round_.point))) < LEAST


# --- stops ------------------------------------------------------------------------------------------------


def _stops(refs: References, layout: Layout, feature: Feature) -> Iterator[Offer]:
    """Where a stopped one begins and ends, along the piece."""
    for surface in feature.surfaces[1:]:
        form = refs.work.form_of(surface.id)
        if form is None or not isinstance(surface.form, Plane) or abs(surface.form.normal[0]) < 0.5:
            continue
        for offer in positions(refs, layout, form, "stop", axis=0, views=("face", "edge")):
            yield replace(offer, feature=feature.id, origin=feature.origin)
