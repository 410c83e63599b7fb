"""Many parallel straight lines through surfaces at once: on each, where it runs in a body.

``geometry.spans`` does the same line by line. Distances along the lines from their starts, millimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.outline_spans import spans_outside
from plangen.geometry.patches import Array, dots
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Vec, dot, scale, sub

FAR = 1e12
"""Millimetres: farther than any wood; stands for without end."""
_FLAT = 1e-9
_LEAST = 1e-12


@dataclass(frozen=True, eq=False)
class Stretches:
    """Stretches of lines, (n, m): m on each line; one that ends before it begins is none."""

    low: Array
    high: Array
    is_rest: bool = False
    """What is meant is all of the lines but these."""

    @property
    def is_one(self) -> bool:
        return not self.is_rest and self.low.shape[1] == 1

    def hold(self, at: Array) -> Array:
        """Which of the places (n, k) lie in them."""
        held = np.zeros(at.shape, dtype=bool)
        for k in range(self.low.shape[1]):
            held |= (at > self.low[:, k, None]) & (at < self.high[:, k, None])
        return ~held if self.is_rest else held

    def others(self) -> Stretches:
        """The rest of the lines; itself one stretch on each where that is plain."""
        if self.is_one and (self.low == -FAR).all():
            return Stretches(self.high, np.full(self.high.shape, FAR))
        if self.is_one and (self.high == FAR).all():
            return Stretches(np.full(self.low.shape, -FAR), self.low)
        return Stretches(self.low, self.high, not self.is_rest)


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines in a body: on each from ``low`` to ``high`` (n,), less what all of a cutter's stretches share."""

    low: Array
    high: Array
    cutters: tuple[tuple[Stretches, ...], ...]


def lines_through(walls: Iterable[Form], cutters: Iterable[Sequence[Form]], starts: Array, way: Vec) -> Lines:
    """Where lines from each of ``starts`` (n, 3) along the unit ``way`` run on the inner side of all ``walls`` and
    in none of the cutters."""
    plain: list[Plane] = []
    rest: list[Sequence[Form]] = []
    for cutter in [*([wall] for wall in walls), *cutters]:
        if len(cutter) == 1 and isinstance(cutter[0], Plane):
            plain.append(cutter[0])
        else:
            rest.append(cutter)
    low, high = _inside_planes(plain, starts, way)
    left: list[tuple[Stretches, ...]] = []
    for cutter in rest:
        taken = tuple(outer_stretches(form, starts, way) for form in cutter)
        kept = taken[0].others()
        if len(taken) == 1 and kept.is_one:
            low, high = np.maximum(low, kept.low[:, 0]), np.minimum(high, kept.high[:, 0])
        else:
            left.append(taken)
    return Lines(low, high, tuple(left))


def _inside_planes(planes: Sequence[Plane], starts: Array, way: Vec) -> tuple[Array, Array]:
    """From where to where each line runs on the inner side of all of them."""
    low, high = np.full(len(starts), -FAR), np.full(len(starts), FAR)
    if not planes:
        return low, high
    slope = np.array([dot(p.normal, way) for p in planes])
    normals, offsets = np.array([p.normal for p in planes]), np.array([p.offset for p in planes])
    distance = dots(starts[:, None, :], normals) - offsets
    runs_out, runs_in = slope >= _FLAT, slope <= -_FLAT
    at = -distance / np.where(runs_out | runs_in, slope, 1.0)
    low = at[:, runs_in].max(axis=1, initial=-FAR)
    high = at[:, runs_out].min(axis=1, initial=FAR)
    beside = (distance[:, ~(runs_out | runs_in)] > 0).any(axis=1)
    return low, np.where(beside, -FAR, high)


def first_shared(a: Lines, b: Lines, least: float) -> Array:
    """(n,) where each line first runs in both bodies for more than ``least``; infinity where it does not."""
    low, high = np.maximum(a.low, b.low), np.minimum(a.high, b.high)
    cutters = [c for c in (*a.cutters, *b.cutters) if _meets(c, low, high)]
    if not cutters:
        return np.where(high - low > least, low, np.inf)
    ends = [low[:, None], high[:, None], *(e for c in cutters for s in c for e in (s.low, s.high))]
    stops = np.sort(
        np.clip(np.concatenate(ends, axis=1), low[:, None], np.maximum(low, high)[:, None]), axis=1
    )
    before, after = stops[:, :-1], stops[:, 1:]
    middle = (before + after) / 2
    shared = (after - before > least) & (middle < high[:, None])
    for cutter in cutters:
        taken = cutter[0].hold(middle)
        for stretches in cutter[1:]:
            taken &= stretches.hold(middle)
        shared &= ~taken
    return np.where(shared, before, np.inf).min(axis=1)


def _meets(cutter: Sequence[Stretches], low: Array, high: Array) -> bool:
    """Whether a cutter may take anything of the lines from ``low`` to ``high``."""
    for stretches in cutter:
        if stretches.is_one:
            low, high = np.maximum(low, stretches.low[:, 0]), np.minimum(high, stretches.high[:, 0])
    return bool((low < high).any())


def outer_stretches(form: Form, starts: Array, way: Vec) -> Stretches:
    """Where the lines run on the form's outer side."""
    if isinstance(form, Plane):
        return _past_plane(form, starts, way)
    if isinstance(form, Extruded):
        return _outside_outline(form, starts, way)
    low, high = _in_cylinder(form, starts, way) if isinstance(form, Cylinder) else _in_cone(form, starts, way)
    return Stretches(low[:, None], high[:, None], form.side == "post")


def _past_plane(plane: Plane, starts: Array, way: Vec) -> Stretches:
    slope = dot(plane.normal, way)
    distance = dots(starts, np.array(plane.normal)) - plane.offset
    if abs(slope) < _FLAT:
        # All of a line, or none of it: said so that the rest is one stretch again.
        low, high = np.where(distance > 0, -FAR, FAR), np.full(len(starts), FAR)
    elif slope > 0:
        low, high = -distance / slope, np.full(len(starts), FAR)
    else:
        low, high = np.full(len(starts), -FAR), -distance / slope
    return Stretches(low[:, None], high[:, None])


def _outside_outline(form: Extruded, starts: Array, way: Vec) -> Stretches:
    found = [spans_outside(form, (p[0], p[1], p[2]), way) for p in starts.tolist()]
    low = np.zeros((len(starts), max(map(len, found), default=0)))
    high = low.copy()
    for i, spans in enumerate(found):
        for k, (a, b) in enumerate(spans):
            low[i, k], high[i, k] = max(a, -FAR), min(b, FAR)
    return Stretches(low, high)


def _in_cylinder(form: Cylinder, starts: Array, way: Vec) -> tuple[Array, Array]:
    d = starts - np.array(form.point)
    p = d - dots(d, np.array(form.axis))[:, None] * np.array(form.axis)
    v = sub(way, scale(form.axis, dot(way, form.axis)))
    a, half_b, c = dot(v, v), dots(p, np.array(v)), dots(p, p) - form.radius * form.radius
    if a < 1e-18:
        return np.where(c < 0, -FAR, 0.0), np.where(c < 0, FAR, 0.0)
    root = np.sqrt(np.maximum(half_b * half_b - a * c, 0.0))
    return (-half_b - root) / a, (-half_b + root) / a


def _in_cone(form: Cone, starts: Array, way: Vec) -> tuple[Array, Array]:
    """A half cone is convex: a line runs in it once. See ``geometry.spans`` for the quadratic."""
    axis, rise = np.array(form.axis), dot(way, form.axis)
    d = starts - np.array(form.point)
    height = dots(d, axis)
    p = d - height[:, None] * axis
    v = sub(way, scale(form.axis, rise))
    r, k = form.radius + form.slope * height, form.slope * rise
    a, half_b, c = dot(v, v) - k * k, dots(p, np.array(v)) - r * k, dots(p, p) - r * r
    # The half line on this side of the tip.
    if abs(k) > _LEAST:
        low, high = (-r / k, np.full(len(r), FAR)) if k > 0 else (np.full(len(r), -FAR), -r / k)
    else:
        low, high = np.where(r > 0, -FAR, 0.0), np.where(r > 0, FAR, 0.0)
    discriminant = half_b * half_b - a * c
    root = np.sqrt(np.maximum(discriminant, 0.0))
    if abs(a) < _LEAST:
        stop = -c / np.where(np.abs(half_b) > _LEAST, 2 * half_b, 1.0)
        before, after = half_b > _LEAST, half_b < -_LEAST
        none = ~before & ~after & (c >= 0)
        high = np.where(before, np.minimum(high, stop), np.where(none, low, high))
        return np.where(after, np.maximum(low, stop), low), high
    roots = (-half_b - root) / a, (-half_b + root) / a
    crosses = discriminant > 0
    if a > 0:
        return np.maximum(low, roots[0]), np.minimum(high, np.where(crosses, roots[1], roots[0]))
    # More along the cone than across it: of its two crossings one is with the other half.
    if k > 0:
        return np.maximum(low, np.where(crosses, roots[0], low)), high
    return low, np.minimum(high, np.where(crosses, roots[1], high))
