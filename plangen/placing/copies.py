"""Handed pairs and repeats: further places where one body stands, and their names."""

from __future__ import annotations

import math
from dataclasses import replace

from plangen.design import design as d
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, Vec, add, along, cross, dot, scale, squared, sub
from plangen.placing.body import Standing
from plangen.placing.directions import Ray
from plangen.placing.scope import Scope

_TOUCHING = 1e-6
"""Millimetres that a corner may lie past the mirror plane and only touch it."""


def standings(
    scope: Scope,
    name: str,
    copies: d.Copies | None,
    frame: Frame,
    box: Box,
    corners: tuple[Point, ...] = (),
) -> tuple[Standing, ...]:
    """Where the body stands: the drawn one first, then mirror images, then repeats; or a ring of them.

    ``corners`` are the shaped body's, as far as they are known, in the member's frame.

    A mirror image is named by where it stands (``leg front left``); where that does not tell it apart (a
    brace that crosses the centre plane), the drawn one keeps the bare name and the other is ``mirrored``.
    """
    if copies is None:
        return (Standing(name, (), frame),)
    if copies.around is not None:
        return _ring(scope, name, copies.around, frame)
    places = _mirrored(name, copies, frame, box, corners)
    if copies.repeat is None:
        return places
    way = scope.direction(copies.repeat.going)
    spacing, count = scope.length(copies.repeat.spacing), scope.count(copies.repeat.count)
    found = []
    for place in places:
        for number in range(count):
            moved = replace(place.frame, origin=along(place.frame.origin, way, spacing * number))
            words = tuple(f"{w} {number + 1}" for w in place.aliases)
            found.append(Standing(f"{place.name} {number + 1}", words, moved))
    return tuple(found)


def _ring(scope: Scope, name: str, around: d.Around, frame: Frame) -> tuple[Standing, ...]:
    """Evenly round a line, each turned with it; anticlockwise as the line comes toward the eye."""
    about, count = scope.line(around.about), scope.count(around.count)
    frames = (turned_about(about, 2 * math.pi * number / count, frame) for number in range(count))
    return tuple(Standing(f"{name} {number}", (), placed) for number, placed in enumerate(frames, 1))


def turned_about(line: Ray, angle: float, frame: Frame) -> Frame:
    """The frame turned about a line by ``angle`` (radians, right-handed about the line's way)."""
    c, s, k = math.cos(angle), math.sin(angle), line.way

    def turn(v: Vec) -> Vec:
        aside = cross(k, v)
        ahead = dot(k, v) * (1 - c)
        return (
            v[0] * c + aside[0] * s + k[0] * ahead,
            v[1] * c + aside[1] * s + k[1] * ahead,
            v[2] * c + aside[2] * s + k[2] * ahead,
        )

    origin = add(line.start, turn(sub(frame.origin, line.start)))
    return Frame(origin, squared(turn(frame.l)), squared(turn(frame.w)), squared(turn(frame.t)))


def _mirrored(
    name: str, copies: d.Copies, frame: Frame, box: Box, corners: tuple[Point, ...]
) -> tuple[Standing, ...]:
    if copies.turned:
        return (Standing(name, (), frame), Standing(f"{name} turned", (), _scaled(frame, (-1.0, -1.0, 1.0))))
    across, deep = "left to right" in copies.mirror, "front to back" in copies.mirror
    if not across and not deep:
        return (Standing(name, (), frame),)
    factors: list[Vec] = [(1.0, 1.0, 1.0)]
    if across:
        factors += [(-f[0], f[1], f[2]) for f in factors]
    if deep:
        factors += [(f[0], -f[1], f[2]) for f in factors]
    frames = [_scaled(frame, f) for f in factors]
    words = [_position_word(f, box, corners, across, deep) for f in frames]
    told_apart = all(words) and len(set(words)) == len(words)
    found = []
    for number, (word, placed) in enumerate(zip(words, frames, strict=True)):
        mirrored = (f"{name} mirrored",) if number == 1 else ()
        if told_apart:
            found.append(Standing(f"{name} {word}", mirrored, placed))
        else:
            bare = name if number == 0 else f"{name} mirrored" if number == 1 else f"{name} mirrored {number}"
            found.append(Standing(bare, (), placed))
    return tuple(found)


def _position_word(frame: Frame, box: Box, corners: tuple[Point, ...], across: bool, deep: bool) -> str:
    """``front left``: where a piece stands that keeps to one side of the planes it is mirrored about; else empty.

    It keeps to a side when the middles of all its faces do, or all of its corners: a brace that crosses the
    middle has no side, by however little its own middle is off; of two walls mitred in the middle each has one.
    """
    half = scale(box.size, 0.5)
    middle = frame.point(half)
    reach = [scale(axis, h) for axis, h in zip(frame.axes, half, strict=True)]
    words = []
    for axis, asked, low, high in ((1, deep, "front", "rear"), (0, across, "left", "right")):
        if not asked:
            continue
        off, most = middle[axis], max(abs(r[axis]) for r in reach)
        held = bool(corners) and min(frame.point(c)[axis] * off for c in corners) > -abs(off) * _TOUCHING
        if abs(off) < max(most, LENGTH_TOLERANCE) and not (held and abs(off) > LENGTH_TOLERANCE):
            return ""
        words.append(low if off < 0 else high)
    return " ".join(words)


def _scaled(frame: Frame, f: Vec) -> Frame:
    """The frame's mirror image (or half turn) about the world's centre planes."""

    def turn(v: Vec) -> Vec:
        return (v[0] * f[0] + 0.0, v[1] * f[1] + 0.0, v[2] * f[2] + 0.0)

    return Frame(turn(frame.origin), turn(frame.l), turn(frame.w), turn(frame.t))
