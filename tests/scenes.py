"""Scenes for tests: members as blank, cutters and place, so that any kernel can build them.

Random members are boards with three holes, some of them at an angle, and a notch in the back edge, turned
anyhow and now and then mirrored. Lengths mm.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from plangen.geometry.curves import Arc, Bezier, Line
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, neg, unit
from plangen.geometry.views import ABOVE, FRONT, RIGHT, Projection

Member: TypeAlias = tuple[Box, list[tuple[Form, ...]], Frame]
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def looking(toward: Vec) -> Projection:
    """The view with the eye in direction ``toward``, world Z upright on paper."""
    eye = unit(toward)
    right = unit(cross(Z, eye))
    return Projection(right, cross(eye, right), eye)


PICTORIAL = looking((1.0, -1.3, 0.9))
FROM_BELOW = looking((-0.4, 0.7, -0.5))
VIEWS = {"front": FRONT, "right": RIGHT, "above": ABOVE, "pictorial": PICTORIAL, "below": FROM_BELOW}


def built(members: Sequence[Member]) -> list[tuple[Solid, Frame]]:
    return [(build_solid(blank, cutters), frame) for blank, cutters, frame in members]


def block(x: float, y: float, z: float, origin: Point = (0.0, 0.0, 0.0)) -> Box:
    return Box(origin, (x, y, z))


def hole(point: Point, axis: Vec, radius: float) -> tuple[Form, ...]:
    """A round hole right through."""
    return (Cylinder(point, unit(axis), radius, "hole"),)


def beyond(axis: int, value: float) -> Plane:
    """The cutter's side where coordinate ``axis`` is more than ``value``."""
    return Plane((X, Y, Z)[axis], value)


def before(axis: int, value: float) -> Plane:
    """The cutter's side where coordinate ``axis`` is less than ``value``."""
    return Plane(neg((X, Y, Z)[axis]), -value)


def moved(x: float, y: float, z: float) -> Frame:
    return Frame((x, y, z), *WORLD.axes)


def random_axes(rng: random.Random) -> tuple[Vec, Vec, Vec]:
    """Axes turned anyhow, three in ten of them left-handed."""
    w, x, y, z = (rng.gauss(0.0, 1.0) for _ in range(4))
    n = math.sqrt(w * w + x * x + y * y + z * z)
    w, x, y, z = w / n, x / n, y / n, z / n
    one = (1 - 2 * (y * y + z * z), 2 * (x * y + z * w), 2 * (x * z - y * w))
    two = (2 * (x * y - z * w), 1 - 2 * (x * x + z * z), 2 * (y * z + x * w))
    three = cross(one, two)
    return one, two, neg(three) if rng.random() < 0.3 else three


def random_member(rng: random.Random, spread: float) -> Member:
    """A drilled and notched board at a random place up to ``spread`` from the origin."""
    length, width, thickness = rng.uniform(200, 600), rng.uniform(40, 120), rng.uniform(20, 50)
    cutters = []
    for i in range(3):
        at = (length * (0.2 + 0.3 * i) + rng.uniform(-8, 8), width * rng.uniform(0.35, 0.6), thickness / 2)
        lean = (rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.3)) if rng.random() < 0.5 else (0.0, 0.0)
        cutters.append(hole(at, (*lean, 1.0), rng.uniform(3, 9)))
    notch = length * 0.3 + rng.uniform(0, 8)
    cutters.append((beyond(0, notch), before(0, notch + 20), beyond(1, 0.8 * width)))
    place = (rng.uniform(-spread, spread), rng.uniform(-spread, spread), rng.uniform(-spread, spread))
    return block(length, width, thickness), cutters, Frame(place, *random_axes(rng))


def random_members(seed: int, count: int, spread: float = 200.0) -> list[Member]:
    """Boards that may run through each other."""
    rng = random.Random(seed)
    return [random_member(rng, spread) for _ in range(count)]


def clear_members(seed: int, count: int) -> list[Member]:
    """Boards near each other of which no two touch."""
    rng = random.Random(seed)
    members: list[Member] = []
    while len(members) < count:
        member = random_member(rng, 60.0 * count**0.4)
        if all(are_apart(member, other) for other in members):
            members.append(member)
    return members


def lattice(count: int, seed: int = 7) -> list[Member]:
    """Boards, all different, turned anyhow at the points of a cubic lattice."""
    rng = random.Random(seed)
    side = math.ceil(count ** (1 / 3) - 1e-9)
    found = []
    for i in range(count):
        blank, cutters, frame = random_member(rng, 0.0)
        at = (500.0 * (i % side), 500.0 * (i // side % side), 500.0 * (i // side // side))
        found.append((blank, cutters, Frame(at, *frame.axes)))
    return found


def are_apart(one: Member, two: Member) -> bool:
    """Whether a plane parts the two blanks by half a millimetre (the separating axes of two boxes)."""
    corners = [
        np.array([frame.point(tuple(o + s * k for o, s, k in zip(blank.origin, blank.size, at, strict=True)))
                  for at in np.ndindex(2, 2, 2)])
        for blank, _, frame in (one, two)
    ]  # fmt: skip
    axes = [*one[2].axes, *two[2].axes]
    axes += [cross(a, b) for a in one[2].axes for b in two[2].axes]
    for axis in axes:
        size = math.hypot(*axis)
        if size < 1e-6:
            continue
        a, b = (points @ np.array(axis) / size for points in corners)
        if a.max() < b.min() - 0.5 or b.max() < a.min() - 0.5:
            return True
    return False


def flush_frame() -> list[Member]:
    """Two stiles and two rails, half-lapped at the corners, flush front and back: outlines coincide."""

    def lapped(length: float, front: bool) -> list[tuple[Form, ...]]:
        level = beyond(2, 10.0) if front else before(2, 10.0)
        return [(level, before(0, 50.0)), (level, beyond(0, length - 50.0))]

    stile, rail = block(400.0, 50.0, 20.0), block(300.0, 50.0, 20.0)
    back = (0.0, -1.0, 0.0)
    return [
        (stile, lapped(400.0, True), Frame((0.0, 0.0, 0.0), Z, X, Y)),
        (stile, lapped(400.0, True), Frame((250.0, 0.0, 0.0), Z, X, Y)),
        (rail, lapped(300.0, False), Frame((0.0, 20.0, 0.0), X, Z, back)),
        (rail, lapped(300.0, False), Frame((0.0, 20.0, 350.0), X, Z, back)),
    ]


def comb_before_edges() -> list[Member]:
    """A comb of fingers before a block whose edges stand in line with the fingers' roots."""
    gaps = [(beyond(0, 60.0), beyond(1, at), before(1, at + 12.0)) for at in (0.0, 30.0, 54.0)]
    return [
        (block(80.0, 90.0, 9.0), gaps, WORLD),
        (block(60.0, 66.0, 20.0), [], moved(0.0, 9.0, -25.0)),
        (block(20.0, 66.0, 20.0), [], moved(60.0, 18.0, -50.0)),
    ]


def drilled_boards() -> list[Member]:
    """Two boards face to face, drilled together, square and at an angle, and a dowel flush in both."""
    lean = (0.1, 0.2, 1.0)
    board = block(200.0, 60.0, 25.0)
    dowel = (Cylinder((0.0, 0.0, 0.0), Z, 8.0, "post"),)
    return [
        (board, [hole((50.0, 30.0, 0.0), Z, 8.0), hole((150.0, 30.0, 0.0), lean, 6.0)], WORLD),
        (
            board,
            [hole((50.0, 30.0, 0.0), Z, 8.0), hole((152.5, 35.0, 0.0), lean, 6.0)],
            moved(0.0, 0.0, 25.0),
        ),
        (block(20.0, 20.0, 50.0, (-10.0, -10.0, 0.0)), [dowel], moved(50.0, 30.0, 0.0)),
    ]


def round_parts() -> list[Member]:
    """A round post, drilled across, with a disc on top and boards before and behind it."""
    blank = block(60.0, 60.0, 300.0, (-30.0, -30.0, 0.0))
    disc = block(60.0, 60.0, 20.0, (-30.0, -30.0, 0.0))
    return [
        (blank, [(Cylinder((0.0, 0.0, 0.0), Z, 30.0, "post"),), hole((0.0, 0.0, 150.0), X, 10.0)], WORLD),
        (block(200.0, 40.0, 20.0), [], moved(-20.0, -75.0, 50.0)),
        (block(200.0, 40.0, 20.0), [], moved(-100.0, 35.0, 250.0)),
        (disc, [(Cylinder((0.0, 0.0, 0.0), Z, 20.0, "post"),)], moved(0.0, 0.0, 300.0)),
    ]


def rounded_parts() -> list[Member]:
    """A board with two rounded corners and a slot, and one with a round-over along an edge."""

    def corner(x: float, y: float, sx: float, sy: float) -> tuple[Form, ...]:
        cx, cy = x - sx * 15.0, y - sy * 15.0
        sides = (Plane((sx, 0.0, 0.0), sx * cx), Plane((0.0, sy, 0.0), sy * cy))
        return (Cylinder((cx, cy, 0.0), Z, 15.0, "post"), *sides)

    slot = (
        Line((80.0, 42.0), (120.0, 42.0)),
        Arc((120.0, 35.0), 7.0, math.pi / 2, -math.pi / 2),
        Line((120.0, 28.0), (80.0, 28.0)),
        Arc((80.0, 35.0), 7.0, -math.pi / 2, -3 * math.pi / 2),
    )
    cutters = [
        corner(0.0, 0.0, -1.0, -1.0),
        corner(200.0, 70.0, 1.0, 1.0),
        (Extruded((0.0, 0.0, 0.0), X, Y, slot),),
    ]
    over = (Cylinder((0.0, 20.0, 20.0), X, 10.0, "post"), beyond(1, 20.0), beyond(2, 20.0))
    return [
        (block(200.0, 70.0, 20.0), cutters, WORLD),
        (block(200.0, 30.0, 30.0), [over], moved(0.0, 10.0, 20.0)),
    ]


def curved_board() -> list[Member]:
    """A board with one edge a free curve, over a board drilled at an angle."""
    curve = Bezier(((200.0, 40.0), (150.0, 80.0), (50.0, 0.0), (0.0, 50.0)))
    return [
        (block(200.0, 70.0, 20.0), [(Extruded((0.0, 0.0, 0.0), X, Y, (curve,)),)], WORLD),
        (block(60.0, 70.0, 20.0), [hole((30.0, 35.0, 0.0), (1.0, 0.3, 0.8), 10.0)], moved(60.0, 5.0, -40.0)),
    ]


def crossing_holes() -> list[Member]:
    """A block with holes that meet, a blind hole, a counterbore, and holes that break out at an edge."""
    cutters = [
        hole((50.0, 30.0, 30.0), Z, 12.0),
        hole((50.0, 30.0, 30.0), Y, 9.0),
        (*hole((20.0, 30.0, 0.0), Z, 7.0), beyond(2, 20.0)),
        (*hole((80.0, 30.0, 30.0), Z, 12.0), beyond(2, 45.0)),
        hole((80.0, 30.0, 30.0), Z, 5.0),
    ]
    broken = [hole((50.0, 3.0, 0.0), (0.0, 0.2, 1.0), 12.0), hole((0.0, 30.0, 15.0), (0.0, 1.0, 0.1), 10.0)]
    return [
        (block(100.0, 60.0, 60.0), cutters, WORLD),
        (block(100.0, 60.0, 30.0), broken, moved(10.0, 20.0, -60.0)),
    ]


def pegs_in_holes() -> list[Member]:
    """A board with a loose peg, a square peg that touches its hole, a leaning blind hole, and a bar beneath."""
    lean = unit((0.2, 0.35, 1.0))
    blind = (*hole((150.0, 35.0, 20.0), lean, 9.0), Plane(neg(lean), -(10.0 + 0.35 * 35.0 + 0.2 * 150.0)))
    peg = (Cylinder((0.0, 0.0, 0.0), Z, 7.0, "post"),)
    side = 12.0 * math.sqrt(2.0)
    board = [hole((40.0, 35.0, 0.0), Z, 12.0), hole((95.0, 35.0, 0.0), Z, 12.0), blind]
    return [
        (block(200.0, 70.0, 30.0), board, WORLD),
        (block(20.0, 20.0, 45.0, (-10.0, -10.0, 0.0)), [peg], moved(41.0, 36.0, 3.0)),
        (block(side, side, 40.0), [], moved(95.0 - side / 2, 35.0 - side / 2, -20.0)),
        (block(220.0, 15.0, 10.0), [], moved(-10.0, 45.0, -10.0)),
    ]


CRAFTED = {
    "a flush frame": flush_frame,
    "a comb before edges": comb_before_edges,
    "boards drilled together": drilled_boards,
    "round parts": round_parts,
    "rounded parts": rounded_parts,
    "a curved board": curved_board,
    "crossing holes": crossing_holes,
    "pegs in holes": pegs_in_holes,
}
