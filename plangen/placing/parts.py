"""The parts of a body that joints see: each is what planes and round surfaces hold between them.

A turned body is cut into runs of stretches whose outline bows outward, so that each run lies on the inner side of
all its surfaces. Where a run joins a wider one it reaches a little way into it: two runs that only met in a plane
would leave a skin between the holes that they make.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane
from plangen.geometry.vectors import Vec
from plangen.placing.body import ROUNDED_SIDES, Body, Shaping

_SAME = 1e-9
"""Radii nearer than this (mm) are one."""
_ONWARD: Vec = (1.0, 0.0, 0.0)
_BACKWARD: Vec = (-1.0, 0.0, 0.0)
_ASIDE: tuple[Vec, ...] = ((0.0, 1.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))


@dataclass(frozen=True)
class Part:
    """A part of a body, in the body's frame: what lies on the inner side of all its surfaces."""

    walls: tuple[Plane, ...]
    seams: tuple[Plane, ...]
    """Where it ends within another part of the body."""
    hull: tuple[Plane, ...]
    """Planes that its curves keep within: no wood reaches them but in a line."""
    curves: tuple[Cylinder | Cone | Extruded, ...]


@dataclass(frozen=True)
class _Stretch:
    """From ``low`` to ``high`` along the body the radius is ``start`` and grows by ``slope`` a millimetre."""

    low: float
    high: float
    start: float
    slope: float
    form: Cylinder | Cone

    @property
    def end(self) -> float:
        return self.start + self.slope * (self.high - self.low)


def parts_of_body(body: Body) -> tuple[Part, ...]:
    """The parts, from end A to end B; together they are the body. One, where the body is not turned."""
    turned = [s for s in body.shapings if s.kind == "turned"]
    if not turned:
        curves = tuple(f for _, f in body.surfaces() if not isinstance(f, Plane))
        return (Part(body.planes(), (), (), curves),)
    ends = tuple(p for n, p in body.surfaces() if isinstance(p, Plane) and n not in ROUNDED_SIDES)
    runs = _runs(sorted((_stretch(s, body.size[0]) for s in turned), key=lambda s: s.low))
    found = []
    for i, run in enumerate(runs):
        walls, seams = list(ends), list[Plane]()
        if i > 0:
            own, beside = run[0], runs[i - 1][-1]
            if own.start > beside.end + _SAME:
                walls.append(Plane(_BACKWARD, -own.low))
            else:
                reach = _reach(beside.end - own.start, beside.high - beside.low, beside.slope - own.slope)
                seams.append(Plane(_BACKWARD, -(own.low - reach)))
        if i < len(runs) - 1:
            own, beside = run[-1], runs[i + 1][0]
            if own.end > beside.start + _SAME:
                walls.append(Plane(_ONWARD, own.high))
            else:
                reach = _reach(beside.start - own.end, beside.high - beside.low, own.slope - beside.slope)
                seams.append(Plane(_ONWARD, own.high + reach))
        found.append(Part(tuple(walls), tuple(seams), _hull(run, body.size), tuple(s.form for s in run)))
    return tuple(found)


def _stretch(shaping: Shaping, length: float) -> _Stretch:
    assert isinstance(shaping.form, Cylinder | Cone)
    limits = [p for p in shaping.within if isinstance(p, Plane)]
    low = next((p.offset for p in limits if p.normal[0] > 0), 0.0)
    high = next((-p.offset for p in limits if p.normal[0] < 0), length)
    form = shaping.form
    if isinstance(form, Cylinder):
        return _Stretch(low, high, form.radius, 0.0, form)
    start, slope = form.radius_at((low, form.point[1], form.point[2])), form.slope * form.axis[0]
    return _Stretch(low, high, start, slope, form)


def _runs(stretches: Sequence[_Stretch]) -> list[list[_Stretch]]:
    """Neighbours in one run where the outline bows outward at their seam."""
    runs = [[stretches[0]]]
    for stretch in stretches[1:]:
        before = runs[-1][-1]
        if abs(before.end - stretch.start) < _SAME and before.slope > stretch.slope:
            runs[-1].append(stretch)
        else:
            runs.append([stretch])
    return runs


def _reach(step: float, length: float, closing: float) -> float:
    """How far a thinner run reaches into its neighbour and surely stays inside: half way to where it would come
    out. ``step`` is the neighbour's radius over its own at the seam, ``closing`` how that shrinks a millimetre."""
    return min(length, step / closing if closing > 0 else length) / 2


def _hull(run: Sequence[_Stretch], size: Vec) -> tuple[Plane, ...]:
    most = max(radius for s in run for radius in (s.start, s.end))
    middle = size[1] / 2
    return tuple(Plane(normal, most + middle * sum(normal)) for normal in _ASIDE)
