"""Offers for bored holes: where the centre is on the face it enters by, and one note for all equal ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.bores import (
    MOUTHS,
    Bore,
    bores_of,
    entered_normal,
    entry_spot,
    far_spot,
    is_seat,
    leans,
    on_axis,
    round_side,
)
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.round_cuts import bore_places, is_across_round
from plangen.dimensioning.surfaces import FROM, LEAST
from plangen.dimensioning.workpiece import AXES, Spot, dominant_axis
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, scale, sub, unit
from plangen.joinery.boring_angles import boring_angles
from plangen.joinery.model import Hole

_MOUTH_WORDS = {"counterbore": "CBORE", "spot-face": "SPOT FACE", "countersink": "CSK"}


def hole_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Centres from the references, then the note of each group of equal holes."""
    bores = bores_of(refs)
    said: dict[tuple[object, ...], str] = {}
    deeper = {b.feature.id: b for b in bores if b.hole.purpose in MOUTHS}
    mains = [b for b in bores if b.feature.id not in deeper]
    for bore in mains:
        if is_across_round(refs, bore):
            yield from bore_places(refs, layout, bore, _note_label(mains, bore))
            continue
        yield from _centre(refs, layout, bore)
        yield from _tilt(refs, layout, bore, _note_label(mains, bore))
    for bore in mains:
        own = [c for c in deeper.values() if on_axis(c, bore)]
        key = (*bore.alike, *(c.alike for c in own))
        if key in said:
            continue
        alike = [b for b in mains if b.alike == bore.alike and _same_bores(deeper, b, own)]
        said[key] = label = f"{bore.feature.id} note"
        yield from _note(refs, bore, own, len(alike), label)
    for bore in bores:
        if not any(on_axis(bore, m) for m in mains):
            yield from _centre(refs, layout, bore)
            yield from _tilt(refs, layout, bore, f"{bore.feature.id} note")
            yield from _note(refs, bore, (), 1, f"{bore.feature.id} note")


def _note_label(mains: Sequence[Bore], bore: Bore) -> str:
    """Of the note that says a hole with those alike."""
    return f"{next(b for b in mains if b.alike == bore.alike).feature.id} note"


def _same_bores(deeper: dict[str, Bore], bore: Bore, own: Sequence[Bore]) -> bool:
    mine = [c.alike for c in deeper.values() if on_axis(c, bore)]
    return mine == [c.alike for c in own]


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
    """On the entry face where the reference bounds it abreast of the hole, else as for any point; on a round piece
    the side line abreast of it."""
    ref = refs.of_axis(axis)
    if refs.face is None and refs.edge is None:
        return _side_line(refs, axis, spot) or refs.foot(axis, spot)
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


def _side_line(refs: References, axis: int, spot: Spot) -> Spot | None:
    """Of a round piece: the line along its side abreast of a spot, and for lengths the lowest point of end A."""
    if axis == 0:
        return None if refs.end is None else _lowest_of_end(refs, refs.end)
    for form in spot.forms:
        round_ = refs.work.forms[form]
        if isinstance(round_, Cylinder) and round_.side == "post":
            p = list(round_.point)
            p[0], p[axis] = spot.point[0], round_.point[axis] - round_.radius
            return Spot((p[0], p[1], p[2]), (form,))
    return None


def _lowest_of_end(refs: References, end: int) -> Spot:
    """Where a rule is laid to the end: on its edge, lowest in the view of the face."""
    solid = refs.work.solid
    rows = sorted({v for t in solid.triangles[solid.triangle_form == end].tolist() for v in t})
    points = [(v, *(round(c, 6) for c in solid.vertices[v].tolist())) for v in rows]
    lowest = min(points, key=lambda p: (p[2], p[3]))[0]
    meeting = (solid.triangles == lowest).any(axis=1)
    x, y, z = solid.vertices[lowest].tolist()
    return Spot((x, y, z), tuple(sorted(set(solid.triangle_form[meeting].tolist()))))


def _tilt(refs: References, layout: Layout, bore: Bore, note: str) -> Iterator[Offer]:
    """A hole out of square to the face it enters: where its centre comes out, or ends, by offset along each
    axis it leans over. Its note says it by the angles that it is bored by."""
    spot, far = entry_spot(refs, bore), far_spot(refs, bore)
    if far is None or spot is None or not leans(refs, bore):
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
            said_by=note,
            mute=True,
        )


def _note(refs: References, bore: Bore, own: Sequence[Bore], count: int, label: str) -> Iterator[Offer]:
    """``4 x Ø 3/8 THRU``; a blind depth, a counterbore, a countersink, a spot face are said in the same note."""
    times = f"{count} x " if count > 1 else ""
    words = "" if bore.hole.depth is not None else " THRU"
    if bore.feature.kind == "socket" and isinstance(refs.work.forms[bore.cylinder], Cone):
        words = f" REAMED {_included(refs, bore)}{words}"
    if leans(refs, bore):
        square = _square_to(refs, bore)
        words += f", SQUARE TO {square}" if square else f", LEANS {_lean_words(refs, bore)}"
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
        full = " TO A FULL CIRCLE"
        yield _said(bore, "sunk diameter", _across_rim(refs, on_seat), "CBORE Ø ", full, label)
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
    """The angle of a countersink or reamer, side to side."""
    cone = refs.work.forms[bore.cylinder]
    assert isinstance(cone, Cone)
    return _degrees(2 * math.degrees(math.atan(abs(cone.slope))))


def _down_seat(refs: References, bore: Bore) -> tuple[Spot, Spot]:
    """From a half-round seat's axis to its deepest line, under the middle of its axis."""
    far = far_spot(refs, bore)
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
    spot, far = entry_spot(refs, bore), far_spot(refs, bore)
    if spot is None or far is None or length(sub(far.point, spot.point)) < LEAST:
        return
    if bore.floor is None:
        return
    yield Offer(
        f"{bore.feature.id} depth", "depth", (spot, far), bore.hole.axis, bore.view, bore.feature.id,
        origin=bore.feature.origin, suffix=" DEEP", said_by=label, stated=True,
    )  # fmt: skip


def _square_to(refs: References, bore: Bore) -> str:
    """The reference surface that a hole stands square to, though it enters by one that slopes: the work lies on it."""
    named = (
        ("BACK", refs.back), ("FACE SIDE", refs.face), ("FACE EDGE", refs.edge), ("BACK EDGE", refs.back_edge),
    )  # fmt: skip
    for name, form in named:
        plane = None if form is None else refs.work.plane(form)
        if plane is not None and length(cross(plane.normal, bore.hole.axis)) < 1e-9:
            return name
    return ""


def _lean_words(refs: References, bore: Bore) -> str:
    """``14° TOWARD END B``; a hole that leans two ways has its resultant, and its sight line on the face."""
    normal = entered_normal(refs, bore)
    assert normal is not None
    main = dominant_axis(normal)
    angles = boring_angles(bore.hole.axis, normal, AXES[1 if main == 0 else 0])
    ways = [angles.toward[a] if angles.toward is not None else 0.0 for a in range(3)]
    words = [_TOWARD[a][ways[a] > 0] for a in range(3) if a != main and abs(ways[a]) > 1e-9]
    said = f"{_degrees(math.degrees(angles.resultant))} TOWARD {' AND '.join(words)}"
    if len(words) > 1:
        said += f", SIGHT LINE {_degrees(math.degrees(angles.sight_line))}"
    return said


def leaning_notes(refs: References) -> Iterator[str]:
    """From what the sight lines of the sheet are measured."""
    planes = [
        refs.work.plane(b.entry) for b in bores_of(refs) if b.entry is not None and "SIGHT" in _lean(refs, b)
    ]
    if any(p is not None and dominant_axis(p.normal) != 0 for p in planes):
        yield "Sight lines: on the surface bored, from the length of the piece."
    if any(p is not None and dominant_axis(p.normal) == 0 for p in planes):
        yield "Sight lines on an end: from the width of the piece."


def _lean(refs: References, bore: Bore) -> str:
    return _lean_words(refs, bore) if leans(refs, bore) and not _square_to(refs, bore) else ""


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
    elif entry is None and (side := round_side(refs, bore)) is not None:
        # beside its middle the rim on a cone, or of a hole that leans, lies deeper
        surface = refs.work.forms[side]
        slope = abs(surface.slope) if isinstance(surface, Cone) else 0.0
        h = _deeper(h, 1.2 * (slope + abs(h.axis[0])) * h.diameter / 2)
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
