"""Offers for bored holes: where the centre is on the face it enters by, and one note for all equal ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import FROM, LEAST
from plangen.dimensioning.workpiece import AXES, Spot, dominant_axis
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, scale, sub, unit
from plangen.joinery.boring_angles import boring_angles
from plangen.joinery.model import Feature, Hole

_VIEW_OF: dict[tuple[int, int], MemberView] = {
    (2, 1): "face", (2, -1): "back", (1, -1): "edge", (1, 1): "back edge", (0, -1): "end A", (0, 1): "end B",
}  # fmt: skip
_FIRST_OF: dict[MemberView, MemberView] = {"back": "face", "back edge": "edge", "end B": "end A"}
"""The view from the opposite side, where that is the more usual one."""
MOUTHS = ("counterbore", "spot-face", "countersink")
"""What is cut wider at the mouth of a hole, said in the hole's own note."""
_MOUTH_WORDS = {"counterbore": "CBORE", "spot-face": "SPOT FACE", "countersink": "CSK"}


@dataclass(frozen=True)
class Bore:
    """A hole as it stands in the finished member."""

    feature: Feature
    hole: Hole
    cylinder: int
    """Its round wall; of a countersink the cone."""
    entry: int | None
    """The form it enters by."""
    floor: int | None
    view: MemberView
    sunk: int | None = None
    """Of a countersink on a sloping face: the round wall above the cone."""

    @property
    def alike(self) -> tuple[object, ...]:
        h = self.hole
        return (
            round(h.diameter, 6),
            None if h.depth is None else round(h.depth, 6),
            h.purpose,
            self.view,
            tuple(round(c, 9) + 0.0 for c in h.axis),
        )


def bores_of(refs: References) -> list[Bore]:
    """The holes of a member that remain on it, by view, along the length."""
    found = []
    for feature in refs.work.features.values():
        forms = refs.work.forms_of(feature)
        cones = [f for f in forms if isinstance(refs.work.forms[f], Cone)]
        cylinders = [f for f in forms if isinstance(refs.work.forms[f], Cylinder)]
        hole = feature.hole or _socket(refs, feature, cylinders)
        walls = [*cones, *cylinders] if feature.kind == "countersink" else cylinders
        if hole is None or not walls:
            continue
        floors = [f for f in forms if isinstance(refs.work.forms[f], Plane) and f not in refs.outer]
        entry = _entry(refs, hole, floors)
        sunk = cylinders[0] if cones and cylinders and feature.kind == "countersink" else None
        bore = Bore(feature, hole, walls[0], entry, floors[0] if floors else None, _view(hole), sunk)
        found.append(bore)
    turned = [_from_first_view(refs, b, found) for b in found]
    return sorted(turned, key=lambda b: (b.view, tuple(round(c, 6) for c in b.hole.entry)))


def _view(hole: Hole) -> MemberView:
    axis = dominant_axis(hole.axis)
    return _VIEW_OF[(axis, 1 if hole.axis[axis] < 0 else -1)]


def _from_first_view(refs: References, bore: Bore, all_bores: Sequence[Bore]) -> Bore:
    """A hole right through, square to where it enters and leaves, is marked out as well from either side: it is
    figured in the view that a part sheet has in any case. A counterbore keeps it on its own side."""
    first = _FIRST_OF.get(bore.view)
    alone = not any(_on_axis(b, bore) for b in all_bores if b is not bore)
    if first is None or bore.hole.depth is not None or not alone or _leans(refs, bore) or is_seat(bore):
        return bore
    far = _far_spot(refs, bore)
    planes = [] if far is None else [f for f in far.forms if refs.work.plane(f) is not None]
    if far is None or len(planes) != 1:
        return bore
    hole = replace(bore.hole, entry=far.point, axis=scale(bore.hole.axis, -1.0))
    turned = replace(bore, hole=hole, entry=planes[0], view=first)
    return bore if _leans(refs, turned) else turned


def _socket(refs: References, feature: Feature, cylinders: Sequence[int]) -> Hole | None:
    """A hole that a joint bores for a round mate: entered by the outer plane squarest to it, the face side
    first, and as deep as its floor lies."""
    forms = refs.work.forms_of(feature)
    round_ = refs.work.forms[cylinders[0]] if len(cylinders) == 1 else None
    floors = [p for f in forms if (p := refs.work.plane(f)) is not None and f not in refs.outer]
    if not isinstance(round_, Cylinder) or round_.side != "hole" or len(floors) > 1:
        return None
    if feature.kind not in ("housing", "mortise", "notch") or refs.work.corners_on(cylinders[0]):
        return None
    best: tuple[tuple[float, int], Vec, Point] | None = None
    for form in refs.outer:
        plane = refs.work.plane(form)
        slope = 0.0 if plane is None else dot(plane.normal, round_.axis)
        if plane is None or abs(slope) < 0.3 or not _rim(refs, cylinders[0], form):
            continue
        axis = scale(round_.axis, -1.0 if slope > 0 else 1.0)
        entry = along(round_.point, round_.axis, -plane.distance(round_.point) / slope)
        rank = (0.0 if form == refs.face else 1.0 - abs(slope), form)
        if best is None or rank < best[0]:
            best = (rank, axis, entry)
    if best is None:
        return None
    _, axis, entry = best
    depth = None if not floors else abs(floors[0].distance(entry))
    return Hole(entry, axis, 2 * round_.radius, depth, "hole", "")


def _entry(refs: References, hole: Hole, floors: Sequence[int]) -> int | None:
    """The plane the hole is entered by: the one that its centre lies on and its axis goes into."""
    found = []
    for i in range(len(refs.work.forms)):
        plane = refs.work.plane(i)
        if plane is None or i in floors or abs(plane.distance(hole.entry)) > 1e-5:
            continue
        if dot(plane.normal, hole.axis) < -0.1:
            found.append((i not in refs.outer, round(dot(plane.normal, hole.axis), 6), i))
    return min(found)[2] if found else None


def rows_of_holes(refs: References) -> Iterator[list[tuple[int, int, int, int]]]:
    """Square holes in a row along a reference: (reference, first, reference, another) for each but the first."""
    groups: dict[tuple[int, int, MemberView, float], list[int]] = {}
    for bore in (b for b in bores_of(refs) if b.feature.kind != "countersink"):
        main = dominant_axis(bore.hole.axis)
        for axis in range(3):
            ref = refs.of_axis(axis)
            plane = None if ref is None else refs.work.plane(ref)
            if ref is None or plane is None or axis == main:
                continue
            along = 3 - main - axis
            if abs(plane.normal[along]) < 1e-12 and abs(bore.hole.axis[axis]) < 1e-9:
                key = (ref, axis, bore.view, round(plane.distance(bore.hole.entry), 5))
                groups.setdefault(key, []).append(bore.cylinder)
    for (ref, *_), cylinders in groups.items():
        yield [(ref, cylinders[0], ref, c) for c in cylinders[1:]]


def hole_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Centres from the references, then the note of each group of equal holes."""
    bores = bores_of(refs)
    said: dict[tuple[object, ...], str] = {}
    deeper = {b.feature.id: b for b in bores if b.hole.purpose in MOUTHS}
    mains = [b for b in bores if b.feature.id not in deeper]
    for bore in mains:
        yield from _centre(refs, layout, bore)
        yield from _tilt(refs, layout, bore)
    for bore in mains:
        own = [c for c in deeper.values() if _on_axis(c, bore)]
        key = (*bore.alike, *(c.alike for c in own))
        if key in said:
            continue
        alike = [b for b in mains if b.alike == bore.alike and _same_bores(deeper, b, own)]
        said[key] = label = f"{bore.feature.id} note"
        yield from _note(refs, bore, own, len(alike), label)
    for bore in bores:
        if not any(_on_axis(bore, m) for m in mains):
            yield from _centre(refs, layout, bore)
            yield from _tilt(refs, layout, bore)
            yield from _note(refs, bore, (), 1, f"{bore.feature.id} note")


def _same_bores(deeper: dict[str, Bore], bore: Bore, own: Sequence[Bore]) -> bool:
    mine = [c.alike for c in deeper.values() if _on_axis(c, bore)]
    return mine == [c.alike for c in own]


def _on_axis(a: Bore, b: Bore) -> bool:
    gap = cross(sub(a.hole.entry, b.hole.entry), b.hole.axis)
    return length(gap) < 1e-5 and length(cross(a.hole.axis, b.hole.axis)) < 1e-9


def entry_spot(refs: References, bore: Bore) -> Spot | None:
    """The centre on the entry face, as it stands on the finished member; None where the face is gone there."""
    if bore.entry is None:
        return None
    return Spot(bore.hole.entry, tuple(sorted((bore.cylinder, bore.entry))))


def _centre(refs: References, layout: Layout, bore: Bore) -> Iterator[Offer]:
    spot = entry_spot(refs, bore)
    if spot is None:
        return
    main = dominant_axis(bore.hole.axis)
    for axis in (a for a in range(3) if a != main):
        foot = _foot(refs, axis, spot)
        if foot is None or abs(foot.point[axis] - spot.point[axis]) < LEAST:
            continue
        offer = linear(layout, f"centre {FROM[axis]}", foot, spot, AXES[axis], (bore.view,))
        yield replace(
            offer, kind="linear", view=bore.view, feature=bore.feature.id, tier="position",
            origin=bore.feature.origin,
        )  # fmt: skip


def _foot(refs: References, axis: int, spot: Spot) -> Spot | None:
    """On the entry face where the reference bounds it abreast of the hole, else as for any point."""
    ref = refs.of_axis(axis)
    if ref is not None and axis != 0:
        for form in spot.forms:
            plane = refs.work.plane(form)
            reference = refs.work.plane(ref)
            if plane is None or reference is None or form == ref:
                continue
            q = list(spot.point)
            slope = reference.normal[axis]
            if abs(slope) > 0.5:
                q[axis] -= reference.distance(spot.point) / slope
                found = refs.work.spot_on((q[0], q[1], q[2]), (ref, form))
                if found is not None:
                    return found
    return refs.foot(axis, spot)


def _tilt(refs: References, layout: Layout, bore: Bore) -> Iterator[Offer]:
    """A hole out of square to the face it enters: where its centre comes out, or ends, by offset along each
    axis it leans over."""
    spot, far = entry_spot(refs, bore), _far_spot(refs, bore)
    if far is None or spot is None or not _leans(refs, bore):
        return
    main = dominant_axis(bore.hole.axis)
    for axis in (a for a in range(3) if a != main):
        if abs(far.point[axis] - spot.point[axis]) < LEAST:
            continue
        offer = linear(
            layout, f"tilt {('along', 'across', 'through')[axis]}", spot, far, AXES[axis], (bore.view,)
        )
        yield replace(
            offer,
            kind="linear",
            view=bore.view,
            feature=bore.feature.id,
            origin=bore.feature.origin,
            suffix="",
        )


def _far_spot(refs: References, bore: Bore) -> Spot | None:
    """Where the axis leaves the wood, or the middle of the floor."""
    if bore.sunk is not None and bore.hole.depth is not None:
        p = along(bore.hole.entry, bore.hole.axis, bore.hole.depth)
        return Spot(p, tuple(sorted((bore.cylinder, bore.sunk))))
    if bore.feature.kind == "countersink":
        return None
    if bore.floor is not None and bore.hole.depth is not None:
        p = along(bore.hole.entry, bore.hole.axis, bore.hole.depth)
        return Spot(p, tuple(sorted((bore.cylinder, bore.floor))))
    leaving = []
    for i in range(len(refs.work.forms)):
        plane = refs.work.plane(i)
        if plane is None or dot(plane.normal, bore.hole.axis) < 0.1 or i == bore.entry:
            continue
        s = -plane.distance(bore.hole.entry) / dot(plane.normal, bore.hole.axis)
        if s > 1.0 and _rim(refs, bore.cylinder, i):
            leaving.append((round(s, 6), i, s))
    if not leaving:
        return None
    _, form, s = max(leaving)
    p = along(bore.hole.entry, bore.hole.axis, s)
    return Spot(p, tuple(sorted((bore.cylinder, form))))


def _rim(refs: References, cylinder: int, plane: int) -> bool:
    for edge in refs.work.solid.edges:
        pair = {refs.work.solid.faces[edge.left].surface, refs.work.solid.faces[edge.right].surface}
        if pair == {cylinder, plane}:
            return True
    return False


def is_seat(bore: Bore) -> bool:
    """Half a hole, in an arris or the surface."""
    return bore.feature.kind == "seat"


def _note(refs: References, bore: Bore, own: Sequence[Bore], count: int, label: str) -> Iterator[Offer]:
    """``4 x Ø 3/8 THRU``; a blind depth, a counterbore, a countersink, a spot face are said in the same note."""
    times = f"{count} x " if count > 1 else ""
    words = "" if bore.hole.depth is not None else " THRU"
    if _leans(refs, bore):
        words += f" LEANS {_lean_words(refs, bore)}"
    said = Offer(
        label, "diameter", _across_rim(refs, bore, own), None, bore.view, bore.feature.id,
        origin=bore.feature.origin, prefix=f"{times}Ø ", suffix=words,
    )  # fmt: skip
    if is_seat(bore):
        spots = _down_seat(refs, bore)
        said = replace(said, kind="radius", spots=spots, prefix=f"{times}R", suffix=f" HALF ROUND{words}")
    yield said
    yield from _depth(refs, bore, label)
    for c in own:
        yield from _mouth_note(refs, c, label)


def _mouth_note(refs: References, bore: Bore, label: str) -> Iterator[Offer]:
    """The wider mouth: its diameter, and how deep it is where that says something."""
    word = _MOUTH_WORDS[bore.hole.purpose]
    if bore.sunk is not None:
        on_seat = replace(bore, cylinder=bore.sunk)
        yield _said(bore, "sunk diameter", _across_rim(refs, on_seat), "CBORE Ø ", "", label)
        yield from _depth(refs, bore, label)
    suffix = f" x {_included(refs, bore)}" if bore.hole.purpose == "countersink" else ""
    yield _said(bore, "diameter", _across_rim(refs, bore), f"{word} Ø ", suffix, label)
    if bore.sunk is None:
        yield from _depth(refs, bore, label)


def _said(bore: Bore, what: str, spots: tuple[Spot, Spot], prefix: str, suffix: str, label: str) -> Offer:
    return Offer(
        f"{bore.feature.id} {what}", "diameter", spots, None, bore.view, bore.feature.id,
        origin=bore.feature.origin, prefix=prefix, suffix=suffix, said_by=label, stated=True,
    )  # fmt: skip


def _included(refs: References, bore: Bore) -> str:
    """The countersink's angle, side to side."""
    cone = refs.work.forms[bore.cylinder]
    assert isinstance(cone, Cone)
    return _degrees(2 * math.degrees(math.atan(abs(cone.slope))))


def _down_seat(refs: References, bore: Bore) -> tuple[Spot, Spot]:
    """From a half-round seat's axis to its deepest line, under the middle of its axis."""
    far = _far_spot(refs, bore)
    at = bore.hole.entry if far is None else _middle_of(bore.hole.entry, far.point)
    opened = [p for f in refs.outer if (p := refs.work.plane(f)) is not None and _lies_by(p, bore)]
    down: Vec = (0.0, 0.0, 0.0)
    for plane in opened:
        down = sub(down, plane.normal)
    down = sub(down, scale(bore.hole.axis, dot(down, bore.hole.axis)))
    deepest = along(at, unit(down), bore.hole.diameter / 2)
    return Spot(at, (bore.cylinder,)), Spot(deepest, (bore.cylinder,))


def _lies_by(plane: Plane, bore: Bore) -> bool:
    """A surface that the seat's axis lies in, or starts from, beside the one it is bored from."""
    beside = abs(dot(plane.normal, bore.hole.axis)) < 0.9
    return beside and abs(plane.distance(bore.hole.entry)) < bore.hole.diameter / 2 - LEAST


def _middle_of(p: Point, q: Point) -> Point:
    return ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2, (p[2] + q[2]) / 2)


def _depth(refs: References, bore: Bore, label: str) -> Iterator[Offer]:
    spot, far = entry_spot(refs, bore), _far_spot(refs, bore)
    if spot is None or far is None or length(sub(far.point, spot.point)) < LEAST:
        return
    if bore.floor is None and bore.sunk is None:
        return
    yield Offer(
        f"{bore.feature.id} depth", "depth", (spot, far), bore.hole.axis, bore.view, bore.feature.id,
        origin=bore.feature.origin, suffix=" DEEP", said_by=label, stated=True,
    )  # fmt: skip


def _leans(refs: References, bore: Bore) -> bool:
    entry = None if bore.entry is None else refs.work.plane(bore.entry)
    return entry is not None and length(cross(entry.normal, bore.hole.axis)) > 1e-9


def _lean_words(refs: References, bore: Bore) -> str:
    """``14° TOWARD END B``; a hole that leans two ways has its resultant, and its sight line on the face."""
    plane = None if bore.entry is None else refs.work.plane(bore.entry)
    assert plane is not None
    main = dominant_axis(plane.normal)
    reference = 1 if main == 0 else 0
    angles = boring_angles(bore.hole.axis, plane.normal, AXES[reference])
    ways = [angles.toward[a] if angles.toward is not None else 0.0 for a in range(3)]
    words = [_TOWARD[a][ways[a] > 0] for a in range(3) if a != main and abs(ways[a]) > 1e-9]
    said = f"{_degrees(math.degrees(angles.resultant))} TOWARD {' AND '.join(words)}"
    if len(words) > 1:
        line = _degrees(math.degrees(angles.sight_line))
        said += f", SIGHT LINE {line} FROM THE {('LENGTH', 'WIDTH')[reference]}"
    return said


_TOWARD = {0: ("END A", "END B"), 1: ("FACE EDGE", "BACK EDGE"), 2: ("BACK", "FACE SIDE")}
"""Toward which end, edge or side the far end of a leaning hole lies."""


def _degrees(degrees: float) -> str:
    """To a tenth: a boring guide is set no finer."""
    return f"{round(degrees, 1):g}°"


def _across_rim(refs: References, bore: Bore, own: Sequence[Bore] = ()) -> tuple[Spot, Spot]:
    """Two opposite points of the rim, square to the axis: on the entry face, or where the mouth that takes the
    entry face away meets the hole."""
    h, forms = bore.hole, [bore.cylinder, *([] if bore.entry is None else [bore.entry])]
    entry = bore.entry
    sunk = max(own, key=lambda c: c.hole.depth or 0.0, default=None)
    if bore.sunk is not None and bore.cylinder != bore.sunk:
        h, forms, entry = _deeper(h, h.depth or 0.0), [bore.cylinder], None
    elif sunk is not None and sunk.feature.kind == "countersink":
        cone = refs.work.forms[sunk.cylinder]
        assert isinstance(cone, Cone)
        down = (sunk.hole.diameter - h.diameter) / 2 / abs(cone.slope)
        h, forms, entry = _deeper(h, (sunk.hole.depth or 0.0) + down), [bore.cylinder, sunk.cylinder], None
    elif sunk is not None and sunk.floor is not None:
        h, entry = _deeper(h, sunk.hole.depth or 0.0), sunk.floor
        forms = [bore.cylinder, sunk.floor]
    plane = None if entry is None else refs.work.plane(entry)
    way = (0.0, 0.0, 0.0) if plane is None else cross(h.axis, plane.normal)
    if length(way) < 1e-9:
        aside = AXES[0] if dominant_axis(h.axis) != 0 else AXES[1]
        way = sub(aside, scale(h.axis, dot(aside, h.axis)))
    way, on = unit(way), tuple(sorted(forms))
    return (
        Spot(along(h.entry, way, -h.diameter / 2), on),
        Spot(along(h.entry, way, h.diameter / 2), on),
    )


def _deeper(hole: Hole, by: float) -> Hole:
    return replace(hole, entry=along(hole.entry, hole.axis, by))
