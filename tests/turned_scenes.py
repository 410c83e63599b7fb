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
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, sub, unit
from plangen.geometry.views import Projection

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


def stool(seed: int, play: float = 0.0) -> list[scenes.Member]:
    """A seat with three or four raked legs in reamed sockets, and a stretcher between the first two.

    The sockets are wider than the tenons by ``play`` all round; the stretcher's ends taper into sockets bored on
    its own axis in the legs.
    """
    rng = random.Random(seed)
    count, thick, foot = rng.choice((3, 4)), rng.uniform(28.0, 40.0), rng.uniform(330.0, 420.0)
    side = rng.uniform(280.0, 340.0)
    seat_cuts: list[tuple[Form, ...]] = []
    ends: list[tuple[Point, Point]] = []
    for i in range(count):
        turn = 2 * math.pi * i / count + rng.uniform(0.3, 0.5)
        splay, out = rng.uniform(0.1, 0.25), rng.uniform(85.0, 105.0)
        c, s = math.cos(turn), math.sin(turn)
        top = (out * c, out * s, thick + rng.choice((4.0, 0.0)))
        ends.append(((c * (out + splay * foot), s * (out + splay * foot), -foot), top))
    tenon, slope = rng.uniform(10.0, 12.0), rng.choice((0.04, 0.06, 0.1))
    legs: list[scenes.Member] = []
    pairs = [turned_leg(rng, start, end, tenon, slope, thick) for start, end in ends]
    for profile, frame in pairs:
        length = profile[-1][0]
        point = frame.point((length, 0.0, 0.0))
        seat_cuts.append((Cone(point, frame.axes[0], tenon, -slope, "hole").shifted(-play),))
        legs.append(turned(profile, frame))
    rung, holes = stretcher(rng, pairs[0], pairs[1], play)
    for leg, hole in zip(legs, holes, strict=False):
        leg[1].append(hole)
    blank = scenes.block(side, side, thick, (-side / 2, -side / 2, 0.0))
    return [(blank, seat_cuts, WORLD), *legs, rung]


def turned_leg(
    rng: random.Random, start: Point, end: Point, tenon: float, slope: float, thick: float
) -> tuple[Profile, Frame]:
    """A leg of some stretches; its tenon has radius ``tenon`` at its end and grows by ``slope``."""
    length = math.dist(start, end)
    neck = length - 1.15 * thick - 8.0
    stops = sorted(rng.uniform(0.08, 0.85) * neck for _ in range(rng.choice((1, 2, 3))))
    profile = [(0.0, rng.uniform(9.0, 13.0))]
    profile += [(at, rng.uniform(13.0, 21.0)) for at in stops]
    mouth = tenon + slope * (length - neck)
    profile += [(neck, mouth + rng.choice((0.0, 3.0))), (neck, mouth), (length, tenon)]
    return profile, lying(start, end, rng.uniform(0.0, 6.0))


def stretcher(
    rng: random.Random, one: tuple[Profile, Frame], two: tuple[Profile, Frame], play: float
) -> tuple[scenes.Member, list[tuple[Form, ...]]]:
    """A spindle from one leg's axis toward the other's, and the sockets it fills, in the legs' frames."""
    heights = [rng.uniform(0.3, 0.45) * profile[-1][0] for profile, _ in (one, two)]
    start, end = (frame.point((h, 0.0, 0.0)) for h, (_, frame) in zip(heights, (one, two), strict=True))
    long = math.dist(start, end)
    axis = unit(sub(end, start))
    r, slope = rng.uniform(5.0, 7.0), rng.choice((0.0, 0.05, 0.12))
    shown = 30.0
    profile = (
        (0.0, r),
        (shown, r + shown * slope),
        (long / 2, 11.0),
        (long - shown, r + shown * slope),
        (long, r),
    )
    holes = []
    for (_, frame), at, way in ((one, start, axis), (two, end, tuple(-v for v in axis))):
        wall = Cone(at, way, r, slope, "hole") if slope else Cylinder(at, way, r, "hole")
        floor = Plane(way, sum(a * b for a, b in zip(way, at, strict=True)))
        holes.append((wall.shifted(-play).local_to(frame), floor.shifted(-play).local_to(frame)))
    return turned(profile, lying(start, end, rng.uniform(0.0, 6.0))), holes


def spun(seed: int) -> scenes.Member:
    """A turned member of six stretches, some all but flat discs and some all but cylinders."""
    rng = random.Random(seed)
    at, profile = 0.0, [(0.0, rng.uniform(5.0, 30.0))]
    for _ in range(6):
        at += rng.choice((2.0, 8.0, 60.0)) * rng.uniform(0.7, 1.4)
        profile.append(
            (at, rng.choice((profile[-1][1], profile[-1][1] + rng.uniform(0.2, 1.0), rng.uniform(5.0, 35.0))))
        )
    return turned(profile, Frame((0.0, 0.0, 0.0), *scenes.random_axes(rng)))


def pierced(seed: int) -> scenes.Member:
    """A board with four conical holes at an angle, through and blind, that may break out or run into each other."""
    rng = random.Random(seed)
    cuts: list[tuple[Form, ...]] = []
    for i in range(4):
        axis = unit((rng.uniform(-0.5, 0.5), rng.uniform(-0.5, 0.5), rng.choice((1.0, -1.0))))
        point = (40.0 + 45.0 * i + rng.uniform(-8.0, 8.0), rng.uniform(15.0, 55.0), 20.0)
        wall = Cone(
            point, axis, rng.uniform(6.0, 14.0), rng.choice((-1.2, -0.5, -0.1, 0.08, 0.3, 1.0)), "hole"
        )
        floor = Plane(axis, sum(a * b for a, b in zip(axis, point, strict=True)) - rng.uniform(0.0, 8.0))
        cuts.append((wall, floor) if rng.random() < 0.4 else (wall,))
    return scenes.block(220.0, 70.0, 40.0), cuts, Frame((0.0, 0.0, 0.0), *scenes.random_axes(rng))


def views_across(cone: Cone, frame: Frame, off: Sequence[float]) -> dict[str, Projection]:
    """Views of a placed cone from ``off`` radians within and without its half angle, along and against its axis."""
    axis, side = frame.direction(cone.axis), frame.axes[1]
    half = math.atan(abs(cone.slope))
    found = {}
    for way in (1.0, -1.0):
        for more in off:
            c, s = way * math.cos(half + more), math.sin(half + more)
            found[f"{way:+.0f} {more:+.3g}"] = scenes.looking(
                tuple(c * a + s * b for a, b in zip(axis, side, strict=True))
            )
    return found
