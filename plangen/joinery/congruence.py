"""When two pieces are the same member: decided on their surfaces, not on their names.

A piece may be turned in three ways that keep length x width x thickness (half turns about l, w, t), and
mirrored in four; a round one may also be rolled about its axis. Two pieces that one of the turns makes equal
are the same member; two that only a mirror image makes equal are its two hands. A piece that is its own
mirror image is not handed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Vec, cross, dot, length, neg, sub

SAME_MM = 1e-5
"""Surfaces this near to each other are the same surface."""

Cutters = Sequence[Sequence[Form]]
_SIGNS: tuple[Vec, ...] = tuple((a, b, c) for a, b, c in product((1.0, -1.0), repeat=3))
TURNS: tuple[Vec, ...] = tuple(s for s in _SIGNS if s[0] * s[1] * s[2] > 0)
MIRRORS: tuple[Vec, ...] = tuple(s for s in _SIGNS if s[0] * s[1] * s[2] < 0)


def flip_frame(size: Vec, signs: Vec) -> Frame:
    """The turn (or mirror image) of a box of ``size`` onto itself; it undoes itself."""
    origin = tuple(size[i] if signs[i] < 0 else 0.0 for i in range(3))
    return Frame(
        (origin[0], origin[1], origin[2]), (signs[0], 0.0, 0.0), (0.0, signs[1], 0.0), (0.0, 0.0, signs[2])
    )


def rolled_frame(size: Vec, angle: float) -> Frame:
    """A round piece rolled about its axis by ``angle`` (radians, from w toward t)."""
    r, c, s = size[1] / 2, math.cos(angle), math.sin(angle)
    return Frame((0.0, r - r * c + r * s, r - r * s - r * c), (1.0, 0.0, 0.0), (0.0, c, s), (0.0, -s, c))


def turn_between(a: Cutters, b: Cutters, size: Vec, signs: Sequence[Vec], is_round: bool) -> Frame | None:
    """The turn, among those that ``signs`` name, that takes a piece cut by ``a`` to one cut by ``b``.

    A round piece may also be rolled, by the angle that brings its first sloping surface to its like.
    """
    for flip in signs:
        frame = flip_frame(size, flip)
        flipped = moved_cutters(a, frame)
        if same_cutters(flipped, b):
            return frame
        for angle in _rolls(flipped, b) if is_round else ():
            roll = rolled_frame(size, angle)
            if same_cutters(moved_cutters(flipped, roll), b):
                return roll.after(frame)
    return None


def moved_cutters(cutters: Cutters, frame: Frame) -> tuple[tuple[Form, ...], ...]:
    return tuple(tuple(form.placed(frame) for form in cutter) for cutter in cutters)


def _rolls(a: Cutters, b: Cutters) -> list[float]:
    """Angles that bring the first plane or round of ``a`` that slopes across the axis to one of ``b`` that does
    so alike."""
    first = next((n for n in _sloping(a)), None)
    if first is None:
        return []
    start = math.atan2(first[2], first[1])
    alike = [n for n in _sloping(b) if abs(n[0] - first[0]) < 1e-7]
    return [math.atan2(n[2], n[1]) - start for n in alike]


def _sloping(cutters: Cutters) -> list[Vec]:
    """Normals of planes, then axes of rounds, both ways, that do not lie along the piece."""
    forms = [f for cutter in cutters for f in cutter]
    found = [f.normal for f in forms if isinstance(f, Plane)]
    found += [way for f in forms if isinstance(f, Cylinder | Cone) for way in (f.axis, neg(f.axis))]
    return [n for n in found if math.hypot(n[1], n[2]) > 1e-7]


def same_cutters(a: Cutters, b: Cutters) -> bool:
    """Every cutter of one has its like in the other."""
    if len(a) != len(b):
        return False
    left = list(b)
    for cutter in a:
        for i, other in enumerate(left):
            if _same_cutter(cutter, other):
                del left[i]
                break
        else:
            return False
    return True


def _same_cutter(a: Sequence[Form], b: Sequence[Form]) -> bool:
    if len(a) != len(b):
        return False
    left = list(b)
    for form in a:
        for i, other in enumerate(left):
            if same_form(form, other):
                del left[i]
                break
        else:
            return False
    return True


def same_form(a: Form, b: Form) -> bool:
    if isinstance(a, Plane) and isinstance(b, Plane):
        return _near(a.normal, b.normal, 1e-7) and abs(a.offset - b.offset) < SAME_MM
    if isinstance(a, Cylinder) and isinstance(b, Cylinder):
        if a.side != b.side or abs(a.radius - b.radius) > SAME_MM:
            return False
        return _one_axis(a, b)
    if isinstance(a, Cone) and isinstance(b, Cone):
        slope = b.slope if dot(a.axis, b.axis) > 0 else -b.slope
        if a.side != b.side or abs(a.slope - slope) > 1e-7 or not _one_axis(a, b):
            return False
        return abs(a.radius_at(b.point) - b.radius) <= SAME_MM
    if isinstance(a, Extruded) and isinstance(b, Extruded):
        return _same_points(_samples(a), _samples(b))
    return False


def _near(a: Vec, b: Vec, within: float) -> bool:
    return all(abs(x - y) < within for x, y in zip(a, b, strict=True))


def _one_axis(a: Cylinder | Cone, b: Cylinder | Cone) -> bool:
    """One axis, whichever way each runs along it and whichever point of it each names."""
    same_way = _near(a.axis, b.axis, 1e-7) or _near(a.axis, neg(b.axis), 1e-7)
    return same_way and length(cross(sub(b.point, a.point), a.axis)) < SAME_MM


def _samples(form: Extruded) -> list[Vec]:
    points = [form.lift(*c.at(s)) for c in form.outline for s in (0.0, 0.5)]
    axis = form.axis
    along = max(range(3), key=lambda i: abs(axis[i]))
    found = []
    for p in points:
        flat = list(p)
        flat[along] = 0.0
        found.append((flat[0], flat[1], flat[2]))
    return found


def _same_points(a: list[Vec], b: list[Vec]) -> bool:
    left = list(b)
    for p in a:
        for i, q in enumerate(left):
            if _near(p, q, SAME_MM):
                del left[i]
                break
        else:
            return False
    return not left
