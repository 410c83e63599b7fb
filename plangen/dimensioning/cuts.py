"""Offers for what joints cut: housings, notches, laps, rebates, grooves, tenons, mortises, fingers.

A cut is read off its surfaces: pairs that face each other are walls, tenon cheeks stand back to back, what
is left is a floor or a shoulder and is measured from the outer surface it looks to.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.aslant import aslant_offers, is_aslant
from plangen.dimensioning.dovetails import dovetail_offers
from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST, by_preference, depths, gap, mouths_of, positions, slopes
from plangen.dimensioning.workpiece import AXES, Spot, dominant_axis
from plangen.geometry.surfaces import Cylinder, Plane
from plangen.geometry.vectors import along, dot, sub
from plangen.joinery.model import Feature, Model

MATE_MATCH = 1e-4


def cut_offers(
    refs: References, layout: Layout, feature: Feature, mate_sizes: Sequence[float]
) -> Iterator[Offer]:
    """All that could be said of one cut, the most wanted first."""
    forms = [f for f in refs.work.forms_of(feature) if f not in refs.outer]
    planes = [f for f in forms if refs.work.plane(f) is not None]
    made: Iterator[Offer]
    if feature.kind == "fingers":
        made = _fingers(refs, layout, planes)
    elif feature.kind in ("tails", "dovetail"):
        made = dovetail_offers(refs, layout, feature.kind, planes)
    elif feature.kind in ("tenon", "tongue"):
        made = _tenon(refs, layout, planes)
    else:
        made = _trench(refs, layout, planes)
    profile = _runs_through(refs, planes)
    alone = _own_walls(refs, feature) if feature.kind == "mortise" else frozenset()
    for offer in made:
        if offer.kind == "depth" and all(alone.intersection(s.forms) for s in offer.spots):
            # mortises whose floors lie in one plane have each its depth, for each is cut by itself
            offer, alone = replace(offer, stated=True), frozenset()
        yield _of(feature, _in_profile(layout, offer) if profile else offer, mate_sizes)
    for form in (f for f in forms if f not in planes):
        for offer in _rounds(refs, layout, form):
            yield _of(feature, offer, ())


def _own_walls(refs: References, feature: Feature) -> frozenset[int]:
    """The surfaces of a cut that no other cut shares."""
    others = (f for f in refs.work.features.values() if f.id != feature.id)
    shared = {form for f in others for form in refs.work.forms_of(f)}
    return frozenset(refs.work.forms_of(feature)) - shared


def _runs_through(refs: References, planes: Sequence[int]) -> bool:
    """Whether a cut runs with one profile from end to end, as grooves and tongues of boards do."""
    ends = (refs.end, refs.other_end)
    return bool(planes) and all(e is not None and refs.work.corners_on(e, f) for f in planes for e in ends)


def has_profile(refs: References) -> bool:
    """Whether any cut runs with one profile from end to end."""
    cuts = [f for f in refs.work.features.values() if f.kind in ("groove", "tongue", "rebate")]
    own = ([f for f in refs.work.forms_of(c) if f not in refs.outer and refs.work.plane(f)] for c in cuts)
    return any(_runs_through(refs, planes) for planes in own)


def _in_profile(layout: Layout, offer: Offer) -> Offer:
    """A size across the length in the view of the end, which shows the whole profile."""
    if offer.kind != "linear" or offer.direction is None or abs(offer.direction[0]) > 1e-9:
        return offer
    seen = all(layout.sees("end A", s, offer.direction) for s in offer.spots)
    return replace(offer, view="end A") if seen else offer


def _of(feature: Feature, offer: Offer, mate_sizes: Sequence[float]) -> Offer:
    matches = any(abs(offer.value - s) < MATE_MATCH for s in mate_sizes)
    held = feature.origin == "matched" and offer.tier == "size" and (matches or offer.held)
    angle = offer.angle
    if angle is not None:
        angle = replace(angle, feature=feature.id, origin=feature.origin)
    return replace(offer, feature=feature.id, origin=feature.origin, held=held, angle=angle)


def _rounds(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """A wall that follows a round mate: its radius, and where its corners stand."""
    round_ = refs.work.forms[form]
    corners = refs.work.corners_on(form)
    if not isinstance(round_, Cylinder) or not corners:
        return
    on = min(corners, key=lambda s: s.point)
    foot = along(round_.point, round_.axis, dot(sub(on.point, round_.point), round_.axis))
    looks: dict[int, MemberView] = {0: "end A", 1: "edge", 2: "face"}
    view = looks[dominant_axis(round_.axis)]
    yield Offer("radius", "radius", (Spot(foot, (form,)), on), None, view, prefix="R")
    for axis in range(3):
        if axis != dominant_axis(round_.axis):
            yield from positions(refs, layout, form, "corner", axis=axis, every=True)


def _wall_axis(refs: References, wall: int, floors: set[int]) -> int:
    """The axis a wall is measured along: the one it looks along most, those of the floors left out."""
    plane = refs.work.plane(wall)
    assert plane is not None
    return max(range(3), key=lambda a: (a not in floors, round(abs(plane.normal[a]), 6), -a))


def _along(refs: References, layout: Layout, forms: Sequence[int], along: int | None = None) -> list[int]:
    """Surfaces by distance from their reference."""

    def at(form: int) -> tuple[float, int]:
        plane = refs.work.plane(form)
        assert plane is not None
        axis = dominant_axis(plane.normal) if along is None else along
        corners = by_preference(refs, layout, refs.work.corners_on(form), axis)
        return (round(refs.coordinate(axis, corners[0].point), 6) if corners else 0.0, form)

    return sorted(forms, key=at)


def _facing_pairs(refs: References, forms: Sequence[int], way: float) -> list[tuple[int, int]]:
    """Pairs of surfaces that look at each other (way -1 with the void between) or away from each other."""
    found = []
    used: set[int] = set()
    for a, b in itertools.combinations(forms, 2):
        pa, pb = refs.work.plane(a), refs.work.plane(b)
        if pa is None or pb is None or a in used or b in used or dot(pa.normal, pb.normal) > -0.9:
            continue
        facing = dot(pa.normal, _between(refs, a, b)) > 0
        if facing == (way < 0):
            found.append((a, b))
            used |= {a, b}
    return found


def _between(refs: References, a: int, b: int) -> tuple[float, float, float]:
    """From the middle of one surface's corners to that of another's."""
    means = []
    for form in (a, b):
        corners = refs.work.corners_on(form)
        n = max(len(corners), 1)
        means.append([sum(s.point[i] for s in corners) / n for i in range(3)])
    d = [q - p for p, q in zip(*means, strict=True)]
    return (d[0], d[1], d[2])


def _trench(refs: References, layout: Layout, planes: Sequence[int]) -> Iterator[Offer]:
    pairs = _facing_pairs(refs, planes, -1)
    walls = {f for pair in pairs for f in pair}
    floor_axes = {_axis(refs, f) for f in planes if f not in walls}

    def way(wall: int) -> int:
        return _wall_axis(refs, wall, floor_axes)

    pairs = sorted(pairs, key=lambda p: way(p[0]))
    pairs = [(near, far) for near, far in (_along(refs, layout, p, way(p[0])) for p in pairs)]
    opened: tuple[MemberView, ...] = ()
    mouths = [v for pair in pairs for v in _open_views(refs, planes, pair)]
    yield from aslant_offers(refs, layout, pairs, [f for f in planes if f not in walls], mouths)
    for near, far in pairs:
        views = _open_views(refs, planes, (near, far))
        opened += views
        # The width first: of a cut on the middle of the member it is worked to, and the position follows.
        yield from _width(refs, layout, near, far, views, way(near))
        yield from positions(refs, layout, near, "position", axis=way(near), views=views)
    aslant = any(is_aslant(refs, f) for f in walls)
    for floor in (f for f in planes if f not in walls):
        for offer in _single(refs, layout, floor, opened):
            yield replace(offer, told=aslant and offer.label == "depth")
    for near, far in pairs:
        runs = slopes(refs, layout, near, "wall", axis=way(near))
        others = slopes(refs, layout, far, "far wall", axis=way(near))
        yield from _acute(runs, others)
        yield from slopes(refs, layout, near, "wall", axis=way(near))
        yield from slopes(refs, layout, far, "far wall", axis=way(near))


def _single(
    refs: References, layout: Layout, form: int, views: tuple[MemberView, ...] = ()
) -> Iterator[Offer]:
    """A floor or a lone wall: from the outer surface it looks to, else from the reference; deeper at one side,
    at that side too. One parallel to the reference under a sloping surface is marked from the reference."""
    if not _under_slope(refs, form):
        yield from depths(refs, layout, form, "depth", views)
    yield from positions(refs, layout, form, "position", views=views)
    yield from depths(refs, layout, form, "depth", views)
    yield from slopes(refs, layout, form, "slope")


def _under_slope(refs: References, form: int) -> bool:
    """Whether a surface parallel to a reference lies under an outer surface that slopes to it."""
    plane = refs.work.plane(form)
    if plane is None or max(abs(c) for c in plane.normal) < 1 - 1e-12:
        return False
    mouths = mouths_of(refs, plane, dominant_axis(plane.normal))
    outer = refs.work.plane(mouths[0]) if mouths else None
    return outer is not None and dot(outer.normal, plane.normal) < 1 - 1e-9


def _width(
    refs: References, layout: Layout, near: int, far: int, views: Sequence[MemberView], axis: int
) -> Iterator[Offer]:
    a, b = refs.work.plane(near), refs.work.plane(far)
    if a is not None and b is not None and dot(a.normal, b.normal) < -1 + 1e-12:
        for offer in gap(refs, layout, near, far, "width", views, axis=axis):
            true = offer.direction is not None and abs(dot(offer.direction, a.normal)) > 1 - 1e-12
            yield replace(offer, held=true)
    else:
        yield from positions(refs, layout, far, "far wall", axis=axis, views=views)


def _acute(near: Iterator[Offer], far: Iterator[Offer]) -> Iterator[Offer]:
    """The slopes of the far wall that show an acute angle where the near wall, parallel to it, has none."""
    others = list(far)
    for offer in near:
        if offer.angle is None or offer.angle.degrees <= 90:
            continue
        for other in others:
            alike = other.angle is not None and abs(other.angle.degrees + offer.angle.degrees - 180) < 1e-6
            if alike and other.view == offer.view:
                yield other
                break


def _axis(refs: References, form: int) -> int:
    plane = refs.work.plane(form)
    assert plane is not None
    return dominant_axis(plane.normal)


def _open_views(refs: References, planes: Sequence[int], pair: tuple[int, int]) -> tuple[MemberView, ...]:
    """Views that look into a cut: along the outer surfaces its walls run out through."""
    named: dict[int | None, MemberView] = {
        refs.face: "face", refs.edge: "edge", refs.back_edge: "back edge", refs.back: "back",
        refs.end: "end A", refs.other_end: "end B",
    }  # fmt: skip
    found: list[MemberView] = []
    for form in (refs.face, refs.edge, refs.back_edge, refs.back, refs.end, refs.other_end):
        if form is not None and all(refs.work.corners_on(form, wall) for wall in pair):
            found.append(named[form])
    return tuple(found)


def _tenon(refs: References, layout: Layout, planes: Sequence[int]) -> Iterator[Offer]:
    """Shoulder first, then set-back from the face side and thickness, then the width and where it starts."""
    pairs = _facing_pairs(refs, planes, 1)
    cheeks = {f for pair in pairs for f in pair}
    lone = [f for f in planes if f not in cheeks]
    shoulders = [f for f in lone if _axis(refs, f) == _main_axis(refs, lone)]
    for shoulder in shoulders:
        yield from depths(refs, layout, shoulder, "length")
        yield from slopes(refs, layout, shoulder, "shoulder")
    for pair in sorted(pairs, key=lambda p: -_axis(refs, p[0])):
        near, far = _along(refs, layout, pair)
        axis = _axis(refs, near)
        label = {2: "thickness", 1: "width", 0: "width"}[axis]
        views: tuple[MemberView, ...] = ("edge", "end A", "end B") if axis == 2 else ("face",)
        # The size first: of a tenon in the middle of its member the place follows.
        for offer in gap(refs, layout, near, far, label, views):
            yield replace(offer, held=True)
        yield from depths(refs, layout, near, "set-back" if axis == 2 else "from edge", views)
        yield from slopes(refs, layout, near, "cheek")
        yield from slopes(refs, layout, far, "far cheek")
    for form in lone:
        if form not in shoulders:
            yield from _bare_cheek(refs, layout, form)


def _main_axis(refs: References, forms: Sequence[int]) -> int:
    axes = sorted(_axis(refs, f) for f in forms)
    return axes[0] if axes else 0


def _bare_cheek(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """A cheek on one side only: thickness to the outer surface behind it."""
    plane = refs.work.plane(form)
    if plane is None:
        return
    for other in mouths_of(refs, plane.flipped(), dominant_axis(plane.normal)):
        for offer in gap(refs, layout, form, other, "thickness"):
            yield replace(offer, held=True)
        break
    yield from _single(refs, layout, form)


def _fingers(refs: References, layout: Layout, planes: Sequence[int]) -> Iterator[Offer]:
    """Running ordinates of the walls from the reference, then the depth."""
    across = [f for f in planes if _axis(refs, f) != 2]
    if not across:
        return
    axes = [_axis(refs, f) for f in across]
    wall_axis = max(sorted(set(axes)), key=axes.count)
    floors = [f for f in planes if _axis(refs, f) != wall_axis]
    for floor in floors:
        yield from depths(refs, layout, floor, "depth")
    for wall in _along(refs, layout, [f for f in across if _axis(refs, f) == wall_axis]):
        yield from positions(refs, layout, wall, "finger", views=("face",))
        yield from slopes(refs, layout, wall, "wall")


def shoulder_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """The length between the shoulders of two end tenons: it governs, the tenons are added to it."""
    shoulders: dict[bool, int] = {}
    for feature in refs.work.features.values():
        if feature.kind not in ("tenon", "tongue"):
            continue
        for form in refs.work.forms_of(feature):
            plane = refs.work.plane(form)
            if isinstance(plane, Plane) and dominant_axis(plane.normal) == 0 and form not in refs.outer:
                shoulders.setdefault(plane.normal[0] > 0, form)
    if len(shoulders) < 2:
        return
    spots = []
    for form in (shoulders[False], shoulders[True]):
        corners = by_preference(refs, layout, refs.work.corners_on(form), 0)
        if not corners:
            return
        spots.append(corners[0])
    if spots[1].point[0] - spots[0].point[0] > LEAST:
        offer = linear(layout, "between shoulders", spots[0], spots[1], AXES[0], ("face", "edge"))
        yield replace(offer, tier="position", suffix=" BETWEEN SHOULDERS", stated=True)


def sizes_of_mate(model: Model, feature: Feature, clearance: float = 0.0) -> tuple[float, ...]:
    """Width and thickness of the member that made a cut: sizes it must print the same as."""
    if feature.mate is None or feature.origin != "matched":
        return ()
    try:
        mate, _ = model.instance(feature.mate)
    except KeyError:
        return ()
    return tuple(s + 2 * clearance for s in mate.finished[1:])
