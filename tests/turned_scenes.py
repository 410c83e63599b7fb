"""Scenes with cones for tests: turned legs, reamed sockets, countersinks, a stool. Lengths mm.

A turned member is its blank less, for each stretch of its profile, what lies outside the stretch's cylinder or
cone between the two planes square to the axis that end it. Its axis is that of the blank, along X from 0.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import pairwise

import scenes
from scenes import X, Y, Z

from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.surfaces import Box, Cone, Cylinder, Form
from plangen.geometry.vectors import Point, Vec, along, cross, sub, unit

Profile = Sequence[tuple[float, float]]
"""Places along the axis and radii there; two radii at one place are a shoulder."""
ORIGIN = (0.0, 0.0, 0.0)


def round_form(start: Point, axis: Vec, r0: float, r1: float, length: float, side: str) -> Cone | Cylinder:
    """The cylinder or cone with radius ``r0`` at ``start`` and ``r1`` ``length`` farther along the axis."""
    if r0 == r1:
        return Cylinder(start, axis, r0, side)
    return Cone(start, axis, r0, (r1 - r0) / length, side)


def stretches(profile: Profile) -> list[tuple[Form, ...]]:
    return [
        (
            round_form((a, 0.0, 0.0), X, r0, r1, b - a, "post"),
            scenes.beyond(0, a),
            scenes.before(0, b),
        )
        for (a, r0), (b, r1) in pairwise(profile)
        if b > a
    ]


def turned(profile: Profile, frame: Frame = WORLD, *cuts: tuple[Form, ...]) -> scenes.Member:
    """A turned member; the blank leaves 2 mm all round to be turned off."""
    most = max(r for _, r in profile) + 2.0
    length = profile[-1][0]
    return scenes.block(length, 2 * most, 2 * most, (0.0, -most, -most)), [*stretches(profile), *cuts], frame


def lying(start: Point, end: Point, roll: float = 0.0) -> Frame:
    """The frame whose X runs from ``start`` toward ``end``, turned about it by ``roll`` radians."""
    axis = unit(sub(end, start))
    helper = Z if abs(axis[2]) < 0.9 else Y
    w = unit(cross(helper, axis))
    t = cross(axis, w)
    c, s = math.cos(roll), math.sin(roll)
    one = tuple(c * a + s * b for a, b in zip(w, t, strict=True))
    return Frame(start, axis, one, cross(axis, one))


LEG = ((0.0, 12.0), (20.0, 15.0), (180.0, 20.0), (260.0, 19.0), (270.0, 22.0), (280.0, 17.0),
       (380.0, 14.0), (400.0, 14.0), (400.0, 11.0), (440.0, 9.0))  # fmt: skip
"""Foot, taper, waist with a bead, neck, shoulder and a tapered tenon."""


def turned_legs() -> list[scenes.Member]:
    """A leg upright, one lying before it, one leaning, and a spike that ends in a point."""
    spike = ((0.0, 6.0), (50.0, 10.0), (120.0, 0.0))
    return [
        turned(LEG, lying(ORIGIN, (0.0, 0.0, 440.0), 0.3)),
        turned(LEG, lying((-200.0, -60.0, 200.0), (240.0, -60.0, 200.0))),
        turned(LEG, lying((60.0, 80.0, 0.0), (-70.0, 90.0, 420.0))),
        turned(spike, lying((30.0, -20.0, 20.0), (120.0, -50.0, 70.0))),
    ]


def reamed(point: Point, axis: Vec, r0: float, slope: float) -> Cone:
    return Cone(point, unit(axis), r0, slope, "hole")


def reamed_boards() -> list[scenes.Member]:
    """Sockets right through, blind ones, countersinks on their holes and one that ends in a point; a bar below."""
    lean = unit((0.25, 0.1, 1.0))
    cuts: list[tuple[Form, ...]] = [
        (reamed((30.0, 30.0, 0.0), Z, 9.0, 0.12),),
        (reamed((75.0, 30.0, 0.0), lean, 12.0, -0.1),),
        (reamed((120.0, 30.0, 0.0), Z, 10.0, 0.15), scenes.beyond(2, 12.0)),
        (reamed((160.0, 30.0, 30.0), Z, 9.0, 1.0),),
        scenes.hole((160.0, 30.0, 0.0), Z, 4.0),
        (reamed((200.0, 25.0, 30.0), Z, 8.0, 1.0),),
        (reamed((200.0, 55.0, 30.0), Z, 0.0, -0.6),),
        (reamed((240.0, 30.0, 0.0), (0.0, 0.3, 1.0), 8.0, 0.2), scenes.beyond(2, 15.0)),
    ]
    return [
        (scenes.block(270.0, 70.0, 30.0), cuts, WORLD),
        (scenes.block(300.0, 15.0, 10.0), [], scenes.moved(-10.0, 22.0, -30.0)),
        (scenes.block(12.0, 100.0, 10.0), [], scenes.moved(70.0, -10.0, -45.0)),
    ]
