"""Bored holes as they stand in a finished member: where each enters and leaves, and the view it is figured in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.references import References
from plangen.dimensioning.workpiece import ROUND, Spot, dominant_axis
from plangen.geometry.spans import outer_spans
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, scale, sub, unit
from plangen.joinery.model import Feature, Hole

_VIEW_OF: dict[tuple[int, int], MemberView] = {
    (2, 1): "face", (2, -1): "back", (1, -1): "edge", (1, 1): "back edge", (0, -1): "end A", (0, 1): "end B",
}  # fmt: skip
_FIRST_OF: dict[MemberView, MemberView] = {"back": "face", "back edge": "edge", "end B": "end A"}
"""The view from the opposite side, where that is the more usual one."""
MOUTHS = ("counterbore", "spot-face", "countersink")
"""What is cut wider at the mouth of a hole, said in the hole's own note."""


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
        walls = [*cones, *cylinders] if feature.kind in ("countersink", "socket") else cylinders
        if hole is None or not walls:
            continue
        if feature.kind == "socket" and cones:
            hole = _reamed(refs, hole, cones[0])
        floors = [f for f in forms if isinstance(refs.work.forms[f], Plane) and f not in refs.outer]
        entry = _entry(refs, hole, floors)
        sunk = cylinders[0] if cones and cylinders and feature.kind == "countersink" else None
        bore = Bore(feature, hole, walls[0], entry, floors[0] if floors else None, _view(hole), sunk)
        found.append(bore)
    turned = [_from_first_view(refs, b, found) for b in found]
    return sorted(turned, key=lambda b: (b.view, tuple(round(c, 6) for c in b.hole.entry)))


def _reamed(refs: References, hole: Hole, cone: int) -> Hole:
    """A reamed socket as wide as its mouth is, square to its axis: the hole bored first is nowhere left."""
    form = refs.work.forms[cone]
    assert isinstance(form, Cone)
    return replace(hole, diameter=2 * form.radius_at(hole.entry))


def _view(hole: Hole) -> MemberView:
    axis = dominant_axis(hole.axis)
    return _VIEW_OF[(axis, 1 if hole.axis[axis] < 0 else -1)]


def _from_first_view(refs: References, bore: Bore, all_bores: Sequence[Bore]) -> Bore:
    """A hole right through, square to where it enters and leaves, is marked out as well from either side: it is
    figured in the view that a part sheet has in any case. A counterbore keeps it on its own side."""
    first = _FIRST_OF.get(bore.view)
    alone = not any(on_axis(b, bore) for b in all_bores if b is not bore)
    if first is None or bore.hole.depth is not None or not alone or leans(refs, bore) or is_seat(bore):
        return bore
    far = far_spot(refs, bore)
    planes = [] if far is None else [f for f in far.forms if refs.work.plane(f) is not None]
    if far is None or len(planes) != 1:
        return bore
    hole = replace(bore.hole, entry=far.point, axis=scale(bore.hole.axis, -1.0))
    turned = replace(bore, hole=hole, entry=planes[0], view=first)
    return bore if leans(refs, turned) else turned


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
    """Holes in a row along a reference that lean alike toward it: (reference, first, reference, another) for each but
    the first."""
    groups: dict[tuple[int, int, MemberView, float, float], list[int]] = {}
    for bore in (b for b in bores_of(refs) if b.feature.kind != "countersink"):
        main = dominant_axis(bore.hole.axis)
        for axis in range(3):
            ref = refs.of_axis(axis)
            plane = None if ref is None else refs.work.plane(ref)
            if ref is None or plane is None or axis == main:
                continue
            along = 3 - main - axis
            lean = round(bore.hole.axis[axis], 9) + 0.0
            # A leaning mouth is placed by the hole it is sunk about.
            if abs(plane.normal[along]) < 1e-12 and not (lean and bore.hole.purpose in MOUTHS):
                key = (ref, axis, bore.view, round(plane.distance(bore.hole.entry), 5), lean)
                groups.setdefault(key, []).append(bore.cylinder)
    for (ref, *_), cylinders in groups.items():
        yield [(ref, cylinders[0], ref, c) for c in cylinders[1:]]


def on_axis(a: Bore, b: Bore) -> bool:
    gap = cross(sub(a.hole.entry, b.hole.entry), b.hole.axis)
    return length(gap) < 1e-5 and length(cross(a.hole.axis, b.hole.axis)) < 1e-9


def entry_spot(refs: References, bore: Bore) -> Spot | None:
    """The centre on the entry face, as it stands on the finished member; of a round one on its side; None where
    the face is gone there."""
    entered = bore.entry if bore.entry is not None else round_side(refs, bore)
    return None if entered is None else Spot(bore.hole.entry, tuple(sorted((bore.cylinder, entered))))


def round_side(refs: References, bore: Bore) -> int | None:
    """The side of a round member that a hole enters by."""
    found = [
        form
        for feature in refs.work.features.values()
        for form in (refs.work.forms_of(feature) if feature.kind in ROUND else ())
        if isinstance(surface := refs.work.forms[form], Cylinder | Cone)
        and abs(surface.distance(bore.hole.entry)) < 1e-4
    ]
    # A surface goes on beyond where its stretch ends: the one that the hole has an edge with, where there are more.
    return min(found, key=lambda f: (not _rim(refs, bore.cylinder, f), f), default=None)


def entered_normal(refs: References, bore: Bore) -> Vec | None:
    """Square to the surface where the hole enters it, out of the wood."""
    plane = None if bore.entry is None else refs.work.plane(bore.entry)
    if plane is not None:
        return plane.normal
    side = round_side(refs, bore)
    surface = None if side is None else refs.work.forms[side]
    if not isinstance(surface, Cylinder | Cone):
        return None
    out = sub(bore.hole.entry, surface.point)
    return unit(sub(out, scale(surface.axis, dot(out, surface.axis))))


def far_spot(refs: References, bore: Bore) -> Spot | None:
    """Where the axis leaves the wood, or the middle of the floor."""
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
        return _far_side(refs, bore)
    _, form, s = max(leaving)
    p = along(bore.hole.entry, bore.hole.axis, s)
    return Spot(p, tuple(sorted((bore.cylinder, form))))


def _far_side(refs: References, bore: Bore) -> Spot | None:
    """Where the axis leaves a round piece."""
    if not refs.work.member.is_round:
        return None
    found = []
    for form, surface in enumerate(refs.work.forms):
        feature = refs.work.feature_of(form)
        turned = feature is not None and feature.kind in ROUND and isinstance(surface, Cylinder | Cone)
        if turned and _rim(refs, bore.cylinder, form):
            spans = outer_spans(surface, bore.hole.entry, bore.hole.axis)
            found += [(round(low, 6), form, low) for low, high in spans if 1.0 < low < high]
    if not found:
        return None
    _, form, s = max(found)
    return Spot(along(bore.hole.entry, bore.hole.axis, s), tuple(sorted((bore.cylinder, form))))


def _rim(refs: References, cylinder: int, plane: int) -> bool:
    for edge in refs.work.solid.edges:
        pair = {refs.work.solid.faces[edge.left].surface, refs.work.solid.faces[edge.right].surface}
        if pair == {cylinder, plane}:
            return True
    return False


def leans(refs: References, bore: Bore) -> bool:
    normal = entered_normal(refs, bore)
    if normal is None:
        return False
    if bore.entry is None:
        return abs(bore.hole.axis[0]) > 1e-9  # off the middle of a round piece it is no less square to that
    return length(cross(normal, bore.hole.axis)) > 1e-9


def is_seat(bore: Bore) -> bool:
    """Half a hole, in an arris or the surface."""
    return bore.feature.kind == "seat"
