"""Which feature of a member each edge of its template belongs to, and whether another part lies against it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.surfaces import Cylinder, Extruded, Form, Plane
from plangen.joinery.model import Feature, Instance, Member, Model

_ON = 1e-4
"""Millimetres that an edge may lie off the surface it belongs to."""
_PLUMB = 1e-6
_BESIDE = 0.3
"""Millimetres beside an edge where another part is looked for: more than any fit leaves."""


def features_along(
    member: Member, curves: Sequence[Curve], square: Callable[[Form], Form]
) -> tuple[str, ...]:
    """For each curve the id of the feature whose surface it is an edge of; empty where there is none.

    ``square`` sets a leaning side upright as the outline has it. Of features in one plane the one of a joint.
    """
    surfaces: list[tuple[Feature, Form]] = [(f, square(s.form)) for f in member.features for s in f.surfaces]
    surfaces.sort(key=lambda pair: pair[0].joint is None)
    return tuple(next((f.id for f, form in surfaces if _lies_on(curve, form)), "") for curve in curves)


def _lies_on(curve: Curve, form: Form) -> bool:
    if isinstance(form, Plane) and isinstance(curve, Line):
        return abs(form.normal[2]) < _PLUMB and all(
            abs(form.distance((*p, 0.0))) < _ON for p in (curve.start, curve.end)
        )
    if isinstance(form, Cylinder) and isinstance(curve, Arc):
        return (
            abs(abs(form.axis[2]) - 1) < _PLUMB
            and math.dist(form.point[:2], curve.centre) < _ON
            and abs(form.radius - curve.radius) < _ON
        )
    return False


class Neighbours:
    """What of the other parts lies beside a member where an instance stands.

    ``mirrored``: asked in the frame of the other hand's template, mirrored along the length.
    """

    def __init__(self, model: Model, member: Member, instance: Instance, mirrored: bool) -> None:
        self._frame = instance.frame
        self._mirror = member.finished[0] if mirrored else None
        self._others = [
            (m, i.frame, _forms_by_cutter(m))
            for m in model.members
            for i in m.instances
            if i is not instance and m.role != "bought"
        ]

    def hold(self, at: Vec2, t: float) -> bool:
        """Another part has wood at this point of the template's frame."""
        x = at[0] if self._mirror is None else self._mirror - at[0]
        world = self._frame.point((x, at[1], t))
        return any(_holds(m, cutters, frame.local_point(world)) for m, frame, cutters in self._others)

    def lie_against(self, curve: Curve, outward: float, top: float) -> bool:
        """Another part lies against the edge: looked for at five places along it, at three heights.

        ``outward`` is 1 where the wood lies left of the curve, else -1.
        """
        for s in (0.1, 0.3, 0.5, 0.7, 0.9):
            a, b = curve.at(s - 1e-3), curve.at(s + 1e-3)
            size = math.dist(a, b)
            out = ((b[1] - a[1]) / size * outward * _BESIDE, -(b[0] - a[0]) / size * outward * _BESIDE)
            x, y = curve.at(s)
            if any(self.hold((x + out[0], y + out[1]), top * k) for k in (0.15, 0.5, 0.85)):
                return True
        return False


def cutters_of(member: Member, feature: Feature) -> tuple[tuple[Form, ...], ...]:
    """The forms of each cutter of a feature."""
    known: dict[str, Form] = dict(member.blank.planes())
    known |= {s.id: s.form for f in member.features for s in f.surfaces}
    return tuple(tuple(known[i] for i in ids) for ids in feature.cutters)


def _forms_by_cutter(member: Member) -> tuple[tuple[Form, ...], ...]:
    known: dict[str, Form] = dict(member.blank.planes())
    known |= {s.id: s.form for f in member.features for s in f.surfaces}
    return tuple(tuple(known[i] for i in ids) for f in member.features for ids in f.cutters)


def _holds(member: Member, cutters: Sequence[Sequence[Form]], p: tuple[float, float, float]) -> bool:
    """In the blank and in no cutter; one with a free curve is taken to hold the point, for caution."""
    low, high = member.blank.origin, member.blank.most
    if not all(low[k] <= p[k] <= high[k] for k in range(3)):
        return False
    return not any(all(_is_outside(form, p) for form in forms) for forms in cutters)


def _is_outside(form: Form, p: tuple[float, float, float]) -> bool:
    return not isinstance(form, Extruded) and form.distance(p) > 0
