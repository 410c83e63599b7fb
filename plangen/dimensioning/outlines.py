"""Offers for curved edges, outlines and openings: radii, centres of arcs, corners."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST
from plangen.dimensioning.workpiece import AXES, Spot
from plangen.geometry.patches import frame_about
from plangen.geometry.surfaces import Cylinder, Extruded, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, length, sub, unit
from plangen.joinery.model import Feature
from plangen.units import UnitStyle, length_text

_MOST_FIGURED = 4
"""Free curves of an outline whose points are figured each."""


def curve_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Curved edges: width at the ends of the chord, radius, and the rise in the middle to check it."""
    for feature in refs.work.features.values():
        if feature.kind != "curve":
            continue
        for form in refs.work.forms_of(feature):
            round_ = refs.work.forms[form]
            if isinstance(round_, Cylinder):
                yield from _curved_edge(refs, layout, form, round_, feature.id)


def _curved_edge(
    refs: References, layout: Layout, form: int, round_: Cylinder, feature: str
) -> Iterator[Offer]:
    work = refs.work
    corners = [s for s in work.corners_on(form) if refs.face in s.forms] or work.corners_on(form)
    ends = sorted(corners, key=lambda s: s.point[0])
    if len(ends) < 2:
        return
    first, last = ends[0], ends[-1]
    for name, spot in (("end A", first), ("end B", last)):
        foot = refs.foot(1, spot)
        if foot is not None:
            yield replace(linear(layout, f"width at {name}", foot, spot, AXES[1], ("face",)), feature=feature)
    crown = _crown(refs, form, round_, first, last)
    if crown is None:
        return
    centre = Spot((round_.point[0], round_.point[1], crown.point[2]), (form,))
    yield Offer(
        "radius", "radius", (centre, crown), None, "face", feature, prefix="R", stated=True
    )  # fmt: skip
    if abs(crown.point[0] - (first.point[0] + last.point[0]) / 2) > LEAST:
        return
    foot = refs.foot(1, crown)
    if foot is not None:
        yield replace(
            linear(layout, "width at the middle", foot, crown, AXES[1], ("face",)),
            feature=feature, stated=True,
        )  # fmt: skip
    yield replace(linear(layout, "rise", first, crown, AXES[1], ("face",)), feature=feature, stated=True)


def _crown(refs: References, form: int, round_: Cylinder, first: Spot, last: Spot) -> Spot | None:
    """The point of a curved edge in the middle of its chord, or as near to it as there is wood."""
    thickness = refs.work.member.finished[2]
    up = 1.0 if first.point[1] > round_.point[1] else -1.0
    a, b = first.point[0], last.point[0]
    for share in (0.5, 0.45, 0.55, 0.4, 0.6, 0.35, 0.65, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        x = a + (b - a) * share
        reach = round_.radius**2 - (x - round_.point[0]) ** 2
        for z in (thickness, 0.0) if reach > 0 else ():
            spot = refs.work.spot_on((x, round_.point[1] + up * math.sqrt(reach), z), (form,))
            if spot is not None:
                return spot
    return None


def outline_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Outlines and openings by their corners, radii and the centres of their arcs, from end A and face edge."""
    for feature in refs.work.features.values():
        if feature.kind not in ("outline", "opening"):
            continue
        forms = refs.work.forms_of(feature)
        z = refs.work.member.finished[2]
        for form in forms:
            round_ = refs.work.forms[form]
            if isinstance(round_, Cylinder):
                yield from _arc(refs, layout, form, round_, feature.id, z)
        for form in forms:
            if isinstance(refs.work.forms[form], Plane):
                yield from _straight_side(refs, layout, form, feature.id)
        free = _free_forms(refs, feature)
        for form in free if len(free) <= _MOST_FIGURED else ():
            yield from _free_points(refs, layout, form, feature.id)


def _free_forms(refs: References, feature: Feature) -> list[int]:
    return [f for f in refs.work.forms_of(feature) if isinstance(refs.work.forms[f], Extruded)]


def curve_notes(refs: References, style: UnitStyle) -> Iterator[str]:
    """The points of free curves, told in a line where they are too many for figures; of a curve that is its own
    mirror image about the middle of the width, one half."""
    for feature in refs.work.features.values():
        free = _free_forms(refs, feature) if feature.kind in ("outline", "opening") else []
        points = sorted({p for form in free for p in _points_of(refs, form)})
        if len(free) <= _MOST_FIGURED or not points:
            continue
        middle = (min(p[1] for p in points) + max(p[1] for p in points)) / 2
        mirrored = all(any(math.dist(p, (q[0], 2 * middle - q[1])) < 1e-3 for p in points) for q in points)
        half = [p for p in points if not mirrored or p[1] < middle + LEAST]
        said = ", ".join(f"{length_text(a, style)} and {length_text(b, style)}" for a, b in half)
        yield (
            f"The curve goes through, from the end A and the face edge of the blank: {said}"
            + ("; the other half is its mirror image." if mirrored else ".")
        )


def _points_of(refs: References, form: int) -> list[tuple[float, float]]:
    """Along the length and the width, where a curve meets its neighbours."""
    corners = [s for s in refs.work.corners_on(form) if refs.face is None or refs.face in s.forms]
    return [(round(s.point[0], 4) + 0.0, round(s.point[1], 4) + 0.0) for s in corners]


def _arc(
    refs: References, layout: Layout, form: int, round_: Cylinder, feature: str, z: float
) -> Iterator[Offer]:
    on = middle_of_arc(refs, form, round_, z)
    if on is None:
        return
    view: tuple[MemberView, ...] = ("face", "back")
    face = () if refs.face is None else (refs.face,)
    centre = Spot((round_.point[0], round_.point[1], z), (form, *face))
    yield Offer("radius", "radius", (centre, on), None, "face", feature, prefix="R")
    for axis, word in ((0, "from end A"), (1, "from face edge")):
        foot = refs.foot(axis, centre)
        if foot is not None:
            offer = linear(layout, f"centre {word}", foot, centre, AXES[axis], view)
            yield replace(offer, kind="linear", view="face", feature=feature, tier="position")


def middle_of_arc(refs: References, form: int, round_: Cylinder, z: float) -> Spot | None:
    """A point of an arc on the face side, as near its middle as there is skin."""
    rows = [s.point for s in refs.work.corners_on(form) if abs(s.point[2] - z) < 1e-6]
    e1, e2 = frame_about(round_.axis)
    centre: Point = (round_.point[0], round_.point[1], z)
    angles: list[float] = []
    if len(rows) >= 2:
        out = [sub(p, centre) for p in rows]
        total: Vec = (sum(d[0] for d in out), sum(d[1] for d in out), 0.0)
        if length(total) > 1e-6:
            way = unit(total)
            angles = [math.atan2(dot(way, e2), dot(way, e1)) + k for k in (0.0, math.pi)]
    angles += [math.pi / 4 + k * math.pi / 8 for k in range(16)]
    for a in angles:
        d = tuple(x * math.cos(a) + y * math.sin(a) for x, y in zip(e1, e2, strict=True))
        p = along(centre, unit((d[0], d[1], d[2])), round_.radius)
        spot = refs.work.spot_on(p, (form,))
        if spot is not None and refs.face in spot.forms:
            return spot
    return None


def _straight_side(refs: References, layout: Layout, form: int, feature: str) -> Iterator[Offer]:
    if form in (refs.edge, refs.end, refs.face):
        return
    corners = [s for s in refs.work.corners_on(form) if refs.face is None or refs.face in s.forms]
    sharp = [s for s in corners if not _is_tangent_point(refs, s)]
    for axis, word in ((0, "from end A"), (1, "from face edge")):
        for corner in sorted(sharp, key=lambda s: s.point):
            foot = refs.foot(axis, corner)
            if foot is not None and abs(foot.point[axis] - corner.point[axis]) > LEAST:
                yield replace(
                    linear(layout, f"corner {word}", foot, corner, AXES[axis], ("face", "back")),
                    feature=feature, tier="position",
                )  # fmt: skip


def _is_tangent_point(refs: References, spot: Spot) -> bool:
    return any(pair <= set(spot.forms) for pair in refs.work.smooth_pairs)


def _free_points(refs: References, layout: Layout, form: int, feature: str) -> Iterator[Offer]:
    """The points a free curve was drawn through, in parentheses: the template is what is cut to."""
    corners = [s for s in refs.work.corners_on(form) if refs.face is None or refs.face in s.forms]
    for corner in corners[:1]:
        for axis, word in ((0, "from end A"), (1, "from face edge")):
            foot = refs.foot(axis, corner)
            if foot is not None and abs(foot.point[axis] - corner.point[axis]) > LEAST:
                yield replace(
                    linear(layout, f"curve point {word}", foot, corner, AXES[axis], ("face", "back")),
                    feature=feature, tier="position", stated=True,
                )  # fmt: skip
