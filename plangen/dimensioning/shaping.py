"""Offers for the shaped member: stock sizes, ends, tapers, bevels, rounds."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.cuts import has_profile
from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References, on_arris, straight
from plangen.dimensioning.surfaces import LEAST, end_spot, positions, slopes
from plangen.dimensioning.workpiece import AXES, Spot
from plangen.geometry.surfaces import Cylinder
from plangen.geometry.vectors import sub
from plangen.joinery.model import Member, Origin


def stock_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Thickness and width, at both ends where the sides are not parallel."""
    if refs.face is not None and refs.back is not None:
        views: tuple[MemberView, ...] = ("edge", "end A", "end B")
        if has_profile(refs):
            views = ("end A", "edge", "end B")
        yield from _across(refs, layout, refs.face, refs.back, 2, "thickness", views)
    if refs.edge is not None and refs.back_edge is not None and not refs.width_from_back:
        yield from _across(refs, layout, refs.edge, refs.back_edge, 1, "width", ("face", "back"))


def _across(
    refs: References, layout: Layout, a: int, b: int, axis: int, label: str, views: Sequence[MemberView]
) -> Iterator[Offer]:
    pairs = straight_pairs(refs, a, b, axis)
    if not pairs:
        return
    first, last = pairs[0], pairs[-1]
    origin, held = _stock_origin(refs.work.member, axis, first)
    even = abs(_gap(first, axis) - _gap(last, axis)) < LEAST
    if even:
        yield replace(linear(layout, label, *last, AXES[axis], views), origin=origin, held=held, stated=True)
        yield replace(linear(layout, label, *first, AXES[axis], views), origin=origin, held=held)
        return
    yield linear(layout, f"{label} at end A", *first, AXES[axis], views)
    yield linear(layout, f"{label} at end B", *last, AXES[axis], views)


def _gap(pair: tuple[Spot, Spot], axis: int) -> float:
    return abs(pair[1].point[axis] - pair[0].point[axis])


def _stock_origin(member: Member, axis: int, pair: tuple[Spot, Spot]) -> tuple[Origin, bool]:
    """A size that is the stock's own is bought, and never rounded away from it."""
    bought = (None, member.stock.width, member.stock.thickness)[axis]
    same = bought is not None and abs(bought - _gap(pair, axis)) < 1e-6
    return ("bought", True) if same else ("worked", False)


def straight_pairs(refs: References, a: int, b: int, axis: int) -> list[tuple[Spot, Spot]]:
    """Points of two outer surfaces straight across from each other, one of them a corner, along the length;
    at each station the pair nearest the face side and the face edge."""
    work = refs.work
    pairs: dict[float, tuple[tuple[float, ...], Spot, Spot]] = {}
    for here, there, swap in ((b, a, False), (a, b, True)):
        for corner in work.corners_on(here):
            if work.plane(there) is None or there in corner.forms:
                continue
            foot = straight(work, corner.point, axis, there)
            if foot is None:
                continue
            pair = (corner, foot) if swap else (foot, corner)
            beside = refs.edge if axis == 2 else refs.face
            on = sum(beside in s.forms for s in pair)
            rank = (-on, -float(len(foot.forms)), refs.coordinate(2, corner.point), *corner.point)
            station = round(corner.point[0], 4)
            if station not in pairs or rank < pairs[station][0]:
                pairs[station] = (rank, *pair)
    return [pairs[s][1:] for s in sorted(pairs)] or _corner_pairs(refs, a, b, axis)


def _corner_pairs(refs: References, a: int, b: int, axis: int) -> list[tuple[Spot, Spot]]:
    """Where nothing lies straight across (a tongue opposite a groove): corners at one station of two sides that
    are square to the axis."""
    planes = (refs.work.plane(a), refs.work.plane(b))
    if any(p is None or abs(p.normal[axis]) < 1 - 1e-12 for p in planes):
        return []
    found = [
        (round(p.point[0], 4), p, q)
        for p in refs.work.corners_on(a)
        for q in refs.work.corners_on(b)
        if abs(p.point[0] - q.point[0]) < LEAST
    ]
    found.sort(key=lambda f: (f[0], -f[1].point[2], -f[2].point[2]))
    return [(found[0][1], found[0][2]), (found[-1][1], found[-1][2])] if found else []


# --- length and ends --------------------------------------------------------------------------------------


def length_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Length on the face-edge arris, or between what there is of both ends."""
    pair = _length_pair(refs)
    if pair is None:
        return
    main = linear(layout, "length", *pair, AXES[0], ("face", "edge"))
    words = _point_words(refs, *pair)
    yield replace(main, tier="overall", origin=refs.work.member.length_origin, stated=True, suffix=words)


def overall_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """The overall length, where that is another: for the sawyer, in parentheses, never in place of an end's
    slope."""
    pair = _length_pair(refs)
    low, high = _extremes(refs)
    if low is None or high is None:
        return
    over = high.point[0] - low.point[0]
    if pair is None or abs(over - abs(pair[1].point[0] - pair[0].point[0])) > 1e-4:
        yield replace(
            linear(layout, "overall length", low, high, AXES[0], ("face", "edge")),
            tier="overall", origin=refs.work.member.length_origin, stated=True,
        )  # fmt: skip


def _length_pair(refs: References) -> tuple[Spot, Spot] | None:
    a = None if refs.end is None else end_spot(refs, refs.end)
    b = None if refs.other_end is None else end_spot(refs, refs.other_end)
    if a is None or b is None or abs(a.point[0] - b.point[0]) < LEAST:
        return None
    return a, b


def _extremes(refs: References) -> tuple[Spot | None, Spot | None]:
    """The outermost points of the length: corners, or where a round end stands farthest out."""
    spots = list(refs.work.corners)
    for i, form in enumerate(refs.work.forms):
        if isinstance(form, Cylinder) and abs(form.axis[2]) > 1 - 1e-9 and form.side == "post":
            z = refs.work.member.finished[2]
            for sign in (-1.0, 1.0):
                p = (form.point[0] + sign * form.radius, form.point[1], z)
                found = refs.work.spot_on(p, (i,))
                if found is not None:
                    spots.append(found)
    size = refs.work.member.finished[0]

    def nearness(s: Spot) -> tuple[float, ...]:
        return tuple(round(refs.coordinate(axis, s.point), 6) for axis in (2, 1))

    low = min(spots, key=lambda s: (round(s.point[0], 5), *nearness(s)), default=None)
    high = min(spots, key=lambda s: (-round(s.point[0], 5), *nearness(s)), default=None)
    if low is None or high is None or high.point[0] - low.point[0] < size - 0.02:
        return None, None
    return low, high


def _point_words(refs: References, a: Spot, b: Spot) -> str:
    """``LONG POINTS``, ``SHORT POINTS``, ``LONG TO SHORT POINT``: which corners of ends out of square the
    length runs between; empty where both ends are square."""
    words = []
    for form, spot, sign in ((refs.end, a, -1.0), (refs.other_end, b, 1.0)):
        corners = [] if form is None else refs.work.corners_on(form)
        reach = [sign * s.point[0] for s in corners]
        at = sign * spot.point[0]
        if not reach or max(reach) - min(reach) < 1e-6:
            words.append("")
        elif at > max(reach) - 1e-6:
            words.append("LONG")
        else:
            words.append("SHORT" if at < min(reach) + 1e-6 else "MIDDLE")
    first, second = words
    if not any(words) or "MIDDLE" in words:
        return " ON FACE EDGE" if any(words) else ""
    if first == second:
        return f" {first} POINTS"
    if first and second:
        return f" {first} TO {second} POINT"
    return f" TO {(first or second)} POINT"


def end_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """How each end runs out of square: across the width on the face, through the thickness on the edge."""
    for form, name in ((refs.end, "end A"), (refs.other_end, "end B")):
        if form is None:
            continue
        feature = refs.work.feature_of(form)
        origin: Origin = "worked" if feature is None else feature.origin
        own = None if feature is None else feature.id
        for offer in slopes(refs, layout, form, name, axis=0):
            view = _usual_view(refs, form, offer.view)
            angle = (
                None if offer.angle is None else replace(offer.angle, feature=own, origin=origin, view=view)
            )
            yield replace(offer, feature=own, origin=origin, angle=angle, view=view)
        yield from _square_trace(refs, layout, form, name, own, origin)


def _usual_view(refs: References, form: int, view: MemberView) -> MemberView:
    """An end that is seen on edge is so from both sides: in the view that a sheet has in any case."""
    plane = refs.work.plane(form)
    across: dict[MemberView, tuple[int, MemberView]] = {"back": (2, "face"), "back edge": (1, "edge")}
    if plane is None or view not in across or abs(plane.normal[across[view][0]]) > 1e-9:
        return view
    return across[view][1]


def _square_trace(
    refs: References, layout: Layout, form: int, name: str, feature: str | None, origin: Origin
) -> Iterator[Offer]:
    """An end that meets a beveled edge square on the face: said as an angle, for the planes are not square."""
    plane = refs.work.plane(form)
    if refs.face is None or plane is None or abs(plane.normal[1]) > 1e-9:
        return
    corners = sorted(refs.work.corners_on(form, refs.face), key=lambda s: s.point[1])
    for apex, arm in ((corners[0], corners[-1]), (corners[-1], corners[0])) if len(corners) > 1 else ():
        for arris in refs.work.arrises:
            for here, there in ((arris.start, arris.end), (arris.end, arris.start)):
                d = sub(there.point, here.point)
                if here.point == apex.point and abs(d[1]) < 1e-9 and abs(d[2]) < 1e-9 and abs(d[0]) > 1.0:
                    yield Offer(
                        f"{name} on the face", "angular", (apex, arm, there), None, "face",
                        feature, "size", origin, degrees=90.0,
                    )  # fmt: skip
                    return


def further_planes(refs: References, layout: Layout) -> Iterator[Offer]:
    """Ends of more than one cut, tapers, bevels and straight sides of outlines."""
    main = (refs.end, refs.other_end, refs.face, refs.back, refs.edge)
    for i in refs.outer:
        plane = refs.work.plane(i)
        if i in main or plane is None:
            continue
        feature = refs.work.feature_of(i)
        if feature is None or i == refs.back_edge or feature.kind == "outline":
            continue
        for offer in (
            *positions(refs, layout, i, f"{feature.id} position", every=True),
            *slopes(refs, layout, i, f"{feature.id} slope"),
        ):
            yield replace(offer, feature=feature.id, origin=feature.origin)
    for side in (refs.edge, refs.back_edge):
        if side is not None:
            yield from bevel_offers(refs, layout, side)


def bevel_offers(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """A bevel by its offset over the thickness, both arrises measured at one station."""
    work, plane = refs.work, refs.work.plane(form)
    if plane is None or abs(plane.normal[2]) < 1e-9 or refs.face is None or refs.back is None:
        return
    feature = work.feature_of(form)
    name = "bevel" if feature is None else feature.id
    for corner in (*work.corners_on(form, refs.face), *work.corners_on(form, refs.back)):
        a = on_arris(work, form, refs.face, 0, corner.point[0])
        b = on_arris(work, form, refs.back, 0, corner.point[0])
        if a is None or b is None:
            continue
        offer = linear(layout, f"{name} over thickness", a, b, AXES[1], ("end A", "end B"))
        if offer.view not in ("end A", "end B"):
            offer = replace(offer, view="end A")
        t = abs(b.point[2] - a.point[2])
        offer = replace(offer, span=t)
        if feature is not None:
            offer = replace(offer, feature=feature.id, origin=feature.origin)
        yield replace(offer, angle=_bevel_angle(refs, offer, a, b))
        return


def _bevel_angle(refs: References, offer: Offer, a: Spot, b: Spot) -> Offer | None:
    """The bevel's angle, from the face side or the back, wherever it is acute, in the view of an end."""
    dw, dt = b.point[1] - a.point[1], b.point[2] - a.point[2]
    other = (
        refs.edge if refs.work.plane(refs.back_edge or 0) and b.forms and refs.back_edge in b.forms else None
    )
    inward = 1.0 if other is None else -1.0
    # Acute where the slope leans over the wood: at the face if the back arris lies farther in, else at the back.
    leans_in = inward * dw > 0
    apex, arm = (b, a) if not leans_in else (a, b)
    reach = inward * min(10.0, refs.work.member.finished[1] / 4)
    third = refs.work.spot((apex.point[0], apex.point[1] + reach, apex.point[2]))
    if third is None:
        return None
    degrees = math.degrees(math.atan2(abs(dt), abs(dw)))
    return Offer(
        f"{offer.label}, angle", "angular", (apex, arm, third), None, offer.view,
        offer.feature, offer.tier, offer.origin, degrees=degrees,
    )  # fmt: skip
