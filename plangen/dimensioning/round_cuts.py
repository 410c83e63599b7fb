"""Offers for what is cut across a round or turned member: holes by their distance from end A and their turn about the
axis, kerfs by width, depth and turn.

A turn is measured, looking at an end, from what stands for the piece's own turn: the long point of an end that leans,
else the first hole across it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.bores import Bore, entry_spot, far_spot, round_side
from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST
from plangen.dimensioning.turned import Profile
from plangen.dimensioning.workpiece import AXES, Spot
from plangen.geometry.surfaces import Cone, Cylinder
from plangen.geometry.vectors import Vec, add, along, cross, dot, length, neg, sub
from plangen.joinery.model import Feature

_SAME_TURN = 1e-6
"""Degrees."""
_REACH = 0.4
"""Of the radius: how far beside a kerf the arm of its angle is laid on the end."""


def is_across_round(refs: References, bore: Bore) -> bool:
    """The hole enters a round member by its side, on the way through its axis."""
    side = round_side(refs, bore) if refs.work.member.is_round and bore.entry is None else None
    if side is None:
        return False
    own = refs.work.forms[side]
    assert isinstance(own, Cylinder | Cone)
    across = cross(own.axis, bore.hole.axis)
    return length(across) > 0.1 and abs(dot(sub(bore.hole.entry, own.point), across)) / length(across) < LEAST


def bore_places(refs: References, layout: Layout, bore: Bore, note: str) -> Iterator[Offer]:
    """The centre along the axis, the turn, and how far the far end lies along: the note's lean."""
    return _of(bore.feature, _bore_places(refs, layout, bore, note))


def _of(feature: Feature, offers: Iterator[Offer]) -> Iterator[Offer]:
    return (replace(o, feature=feature.id, origin=feature.origin) for o in offers)


def _bore_places(refs: References, layout: Layout, bore: Bore, note: str) -> Iterator[Offer]:
    profile, spot = Profile(refs), entry_spot(refs, bore)
    points = None if refs.end is None else profile.points_of_end(refs.end)
    if spot is None or points is None:
        return
    offer = linear(layout, "centre from end A", points[0], spot, AXES[0], (bore.view,))
    yield replace(offer, kind="linear", view=bore.view, tier="position", suffix="", beside="below")
    turn = _turn_of_hole(profile, bore, spot)
    if turn is not None:
        yield turn
    far = far_spot(refs, bore)
    if far is not None and abs(far.point[0] - spot.point[0]) > LEAST and abs(bore.hole.axis[0]) > 1e-9:
        tilt = linear(layout, f"{bore.feature.id} tilt along", spot, far, AXES[0], (bore.view,))
        yield replace(tilt, kind="linear", view=bore.view, suffix="", said_by=note, mute=True)


def _turn_of_hole(profile: Profile, bore: Bore, spot: Spot) -> Offer | None:
    """From the long point of the end that leans, or from the entry of the first hole."""
    datum = profile.refs.turn_datum
    if datum is None or datum[0] == bore.cylinder:
        return None
    apex, view = _apex(profile)
    arm = _datum_arm(profile, datum)
    if apex is None or arm is None:
        return None
    degrees = between(sub(arm.point, apex.point), sub(spot.point, apex.point))
    if not _SAME_TURN < degrees < 180 - _SAME_TURN:
        return None
    return Offer(
        "turn", "angular", (apex, arm, spot), None, view, suffix=_from(profile, datum[0]), degrees=degrees
    )


def _from(profile: Profile, datum: int) -> str:
    leans = datum in (profile.refs.end, profile.refs.other_end)
    return " FROM LONG POINT" if leans else " FROM FIRST HOLE"


def _apex(profile: Profile) -> tuple[Spot | None, MemberView]:
    """The middle of end A, or of end B where that has wood there alone."""
    for end, view in profile.named_ends:
        found = profile.middle_of(end)
        if found is not None:
            return found, view
    return None, "end A"


def _datum_arm(profile: Profile, datum: tuple[int, Vec]) -> Spot | None:
    """A point on that side of the axis."""
    refs = profile.refs
    if datum[0] in (refs.end, refs.other_end):
        points = profile.points_of_end(datum[0])
        return None if points is None else points[0]
    hole = refs.work.forms[datum[0]]
    if not isinstance(hole, Cylinder | Cone):
        return None
    for feature in refs.work.features.values():
        if feature.hole is not None and datum[0] in refs.work.forms_of(feature):
            return Spot(feature.hole.entry, (datum[0],))
    return None


def between(a: Vec, b: Vec) -> float:
    """Degrees between two ways as one looks along the member."""
    return abs(math.degrees(math.atan2(a[1] * b[2] - a[2] * b[1], a[1] * b[1] + a[2] * b[2])))


# --- kerfs -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Mouth:
    """Where a kerf's wall comes out of an end: its corners, and the middle between them."""

    wall: int
    middle: Spot
    corners: tuple[Spot, Spot]


def kerf_offers(refs: References, feature: Feature) -> Iterator[Offer]:
    """``29 DEEP KERF, 2 WIDE`` for each, how far apart two are, and the turn of the first from the piece's own."""
    return _of(feature, _kerf_offers(refs, feature))


def _kerf_offers(refs: References, feature: Feature) -> Iterator[Offer]:
    profile, work = Profile(refs), refs.work
    planes = [(f, p) for f in work.forms_of(feature) if (p := work.plane(f)) is not None]
    walls = [(f, p) for f, p in planes if abs(p.normal[0]) < 1e-9]
    floors = [f for f, p in planes if abs(p.normal[0]) > 0.5]
    for end, view in profile.named_ends:
        way = walls[0][1].normal if walls else AXES[1]
        across = sorted(walls, key=lambda w: round(dot(w[1].normal, way) * w[1].offset, 6))
        mouths = [m for f, _ in across if (m := _mouth(profile, f, end)) is not None]
        for first, last in zip(mouths[::2], mouths[1::2], strict=False):
            yield from _kerf(profile, first, last, floors, way, view)
        for before, after in zip(mouths[1::2], mouths[2::2], strict=False):
            gap = Offer("between kerfs", "linear", (before.middle, after.middle), way, view)
            yield replace(gap, suffix=" BETWEEN KERFS")
        if mouths and (turn := _turn_of_kerf(profile, mouths, end, view)) is not None:
            yield turn


def _kerf(
    profile: Profile, first: _Mouth, last: _Mouth, floors: Sequence[int], way: Vec, view: MemberView
) -> Iterator[Offer]:
    bottoms = [m for floor in floors if (m := _mouth(profile, first.wall, floor)) is not None]
    if not bottoms:
        return
    label = f"{profile.work.name(first.wall)} depth"
    yield Offer(label, "depth", (first.middle, bottoms[0].middle), AXES[0], view, suffix=" DEEP KERF")
    yield Offer(
        "width", "linear", (first.middle, last.middle), way, view, suffix=" WIDE", held=True, said_by=label
    )  # fmt: skip


def _mouth(profile: Profile, wall: int, end: int) -> _Mouth | None:
    corners = profile.work.corners_on(wall, end)
    if len(corners) < 2:
        return None
    a, b = corners[0], corners[-1]
    middle = along(a.point, sub(b.point, a.point), 0.5)
    return _Mouth(wall, Spot(middle, tuple(sorted((wall, end)))), (a, b))


def _turn_of_kerf(profile: Profile, mouths: Sequence[_Mouth], end: int, view: MemberView) -> Offer | None:
    """The acute angle of a kerf with the datum's way, at a place of the end where there is wood beside it."""
    datum, plane = profile.refs.turn_datum, profile.work.plane(end)
    if datum is None or plane is None or datum[0] in [m.wall for m in mouths]:
        return None
    for mouth in mouths:
        apex, radius = mouth.middle, math.dist(*(c.point for c in mouth.corners)) / 2
        for way, corner in itertools.product((datum[1], neg(datum[1])), mouth.corners):
            flat = (0.0, way[1] * radius * _REACH, way[2] * radius * _REACH)
            arm = add(apex.point, (-dot(plane.normal, flat) / plane.normal[0], flat[1], flat[2]))
            degrees = between(sub(arm, apex.point), sub(corner.point, apex.point))
            if _SAME_TURN < degrees < 90 + _SAME_TURN and profile.work.reaches(arm, (end,)):
                points = (apex, Spot(arm, (end,)), corner)
                return Offer(
                    "turn", "angular", points, None, view, suffix=_from(profile, datum[0]), degrees=degrees
                )
    return None
