"""Which member meets a cut: the words beside a joint on a part sheet, so that no end is taken for the other."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.dimensioning.figures import Figure, MemberView
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, dot
from plangen.joinery.model import Feature, Instance, Joint, Member, Model

_ON = 1e-6
"""Millimetres."""


@dataclass(frozen=True)
class Mate:
    """``TO B``; ``at`` in the member's frame, in the middle of the cut; the view that figures the cut."""

    text: str
    at: Point
    view: MemberView


def mates_of(model: Model, member: Member, figures: tuple[Figure, ...]) -> tuple[Mate, ...]:
    """What meets each cut of a joint; cuts that nothing of a joint meets, and holes, are left out."""
    found: dict[tuple[str, Point], Mate] = {}
    for feature in member.features:
        at = _middle(member, feature)
        if feature.joint is None or feature.hole is not None or at is None:
            continue
        text = _words(model, member, feature, at)
        if text:
            found.setdefault((text, at), Mate(text, at, _view(feature, figures)))
    return tuple(found.values())


def _view(feature: Feature, figures: tuple[Figure, ...]) -> MemberView:
    """The view in which most of the feature's figures stand, the earlier of two."""
    views: list[MemberView] = [f.view for f in figures if f.feature == feature.id and not f.said_by]
    return max(dict.fromkeys(views), key=views.count, default="face")


def _middle(member: Member, feature: Feature) -> Point | None:
    """Middle of the box of the corners that the cut alone leaves on the member; None where it leaves none."""
    planes = [s.form for s in feature.surfaces if isinstance(s.form, Plane)]
    others = [
        s.form for f in member.features if f.id != feature.id for s in f.surfaces if isinstance(s.form, Plane)
    ]
    alone = [p for p in planes if not any(_coincide(p, q) for q in others)] or planes
    points: list[Point] = []
    for x, y, z in member.solid.vertices.tolist():
        on = [p for p in planes if abs(p.distance((x, y, z))) < _ON]
        if len(on) > 1 and any(p in alone for p in on):
            points.append((x, y, z))
    if not points:
        return None
    (x0, x1), (y0, y1), (z0, z1) = ((min(c), max(c)) for c in zip(*points, strict=True))
    return ((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2)


def _coincide(a: Plane, b: Plane) -> bool:
    way = dot(a.normal, b.normal)
    return abs(way) > 1 - 1e-12 and abs(a.offset - way * b.offset) < _ON


def _words(model: Model, member: Member, feature: Feature, at: Point) -> str:
    """One member by its mark, or by mark and name where there are several of that mark; for the pieces of a
    member that is made more than once, the marks of all that they meet there."""
    own = next((j for j in model.joints if j.name == feature.joint), None)
    if own is None:
        return ""
    partners = [_partner(model, own.kind, instance, at) for instance in member.instances]
    met = [p for p in partners if p is not None]
    marks = sorted({m.mark for m, _ in met})
    if not marks or len(met) < len(partners):
        return ""
    if len(met) == 1 and met[0][0].quantity > 1:
        return f"TO {marks[0]} {met[0][1].name}"
    return f"TO {', '.join(marks)}"


def _partner(model: Model, kind: str, instance: Instance, at: Point) -> tuple[Member, Instance] | None:
    """Of the members joined to the instance by a joint of the kind, the one nearest to the point of the cut."""
    here = instance.frame.point(at)
    best: tuple[float, str, Member, Instance] | None = None
    for name in _joined(model.joints, kind, instance.name):
        member, other = model.instance(name)
        off = _off(member, other.frame.local_point(here))
        if best is None or (off, name) < best[:2]:
            best = (off, name, member, other)
    return None if best is None else best[2:]


def _joined(joints: tuple[Joint, ...], kind: str, name: str) -> list[str]:
    pairs = [j.members for j in joints if j.kind == kind and name in j.members]
    return [b if a == name else a for a, b in pairs]


def _off(member: Member, p: Point) -> float:
    """Distance of a point from the box of a member, rounded to be compared."""
    over = [max(-c, c - size, 0.0) for c, size in zip(p, member.finished, strict=True)]
    return round(math.hypot(*over), 6)
