"""The small picture of a set-up: the piece on the table, fence, blade line, waste hatched, ends lettered."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from plangen.drawing.face_marks import face_side_mark
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import extents, moved_curve, polyline
from plangen.drawing.marks import Group, Lettering, Mark, Stroke
from plangen.drawing.setup_scene import SetupScene
from plangen.drawing.view_on_paper import curve_span, scaled_curve
from plangen.geometry.curves import Line, Vec2

LETTERS = 2.5
_HATCH = 1.1
"""Between the lines of waste, mm."""
_LEAST_HATCH = 0.6
"""The same in a small piece, so that it shows."""
_TICK = 1.3
"""Length of the strokes behind the line of a fence or under a table, mm."""
_OVER = 2.5
"""That a line of the blade runs past the work, mm."""
_SIDE, _EDGE = 5.0, 4.0
"""Kept at both sides for letters, over and under the work for lines, mm."""
_FACE = 3.0


def setup_picture(scene: SetupScene, width: float, height: float) -> Group:
    """Marks from 0 to ``width`` to the right and from 0 to ``height`` down, as large as that allows; not to scale."""
    low, high = _box(scene)
    k = _largest(scene, width, height)
    shift = (width / 2 - (low[0] + high[0]) / 2 * k, -height / 2 - (low[1] + high[1]) / 2 * k)

    def on_paper(p: Vec2) -> Vec2:
        return (p[0] * k + shift[0], p[1] * k + shift[1])

    box = (*on_paper(low), *on_paper(high))
    marks: list[Mark] = _hatching(
        [[[on_paper(p) for p in ring] for ring in region] for region in scene.waste],
        [[on_paper(p) for p in ring] for ring in scene.covered],
    )
    for stroke, is_outer in scene.strokes:
        curve = moved_curve(scaled_curve(stroke.curve, k), shift)
        if curve_span(curve) >= 0.05:
            wide = is_outer and stroke.kind != "smooth"
            marks.append(Stroke((curve,), "fine outline" if wide else "narrow"))
    marks += [_zigzag(on_paper(a), on_paper(b)) for a, b in scene.breaks]
    for at, direction in scene.lines:
        marks += _tool_line(on_paper(at), direction, box)
    if scene.table is not None:
        marks += _ground(on_paper(scene.table[0]), scene.table[1], box)
    if scene.wedge is not None:
        marks += _wedge(on_paper(scene.wedge[0]), on_paper(scene.wedge[1]), box[1])
    if scene.fence is not None:
        marks += _fence(on_paper(scene.fence[0]), scene.fence[1], box, scene.seen != "above")
    if scene.face is not None:
        marks += _face_mark(on_paper(scene.face[0]), scene.face[1], box)
    marks += _end_letters(scene, box, extents(marks), width)
    return Group("set-up picture", tuple(marks))


def picture_room(scene: SetupScene, width: float, height: float) -> tuple[float, float]:
    """What the picture takes of a width and height, mm."""
    (x0, y0), (x1, y1) = _box(scene)
    k = _largest(scene, width, height)
    return min(width, (x1 - x0) * k + 2 * _SIDE), min(height, (y1 - y0) * k + 2 * _EDGE)


def _box(scene: SetupScene) -> tuple[Vec2, Vec2]:
    xs, ys = zip(*scene.corners, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))


def _largest(scene: SetupScene, width: float, height: float) -> float:
    """Millimetres of paper for one of the work."""
    (x0, y0), (x1, y1) = _box(scene)
    return min((width - 2 * _SIDE) / max(x1 - x0, 1e-6), (height - 2 * _EDGE) / max(y1 - y0, 1e-6))


def _hatching(regions: Sequence[Sequence[Sequence[Vec2]]], work: Sequence[Sequence[Vec2]]) -> list[Mark]:
    """Lines at 45 degrees across each region, as far as the work goes."""
    found: list[Mark] = []
    held = _turned(work)
    for rings in map(_turned, regions):
        levels = [v for ring in rings for _, v in ring]
        step = min(_HATCH * math.sqrt(2.0), max((max(levels) - min(levels)) / 4, _LEAST_HATCH))
        for n in range(math.floor(min(levels) / step), math.ceil(max(levels) / step) + 1):
            v = n * step + 1e-7
            for (a0, a1), (b0, b1) in itertools.product(_intervals(rings, v), _intervals(held, v)):
                u0, u1 = max(a0, b0), min(a1, b1)
                if u1 - u0 > 0.2:
                    a, b = (((u - v) / 2, (u + v) / 2) for u in (u0, u1))
                    found.append(Stroke((Line(a, b),), "narrow"))
    return found


def _turned(rings: Sequence[Sequence[Vec2]]) -> list[list[Vec2]]:
    """In u, that runs along the lines of hatching, and v across them."""
    return [[(x + y, y - x) for x, y in ring] for ring in rings]


def _intervals(rings: Sequence[Sequence[Vec2]], level: float) -> list[tuple[float, float]]:
    crossings = sorted(u for ring in rings for u in _crossings(ring, level))
    return list(zip(crossings[::2], crossings[1::2], strict=False))


def _crossings(ring: Sequence[Vec2], level: float) -> list[float]:
    found = []
    for (u0, v0), (u1, v1) in itertools.pairwise([*ring, ring[0]]):
        if (v0 > level) != (v1 > level):
            found.append(u0 + (level - v0) / (v1 - v0) * (u1 - u0))
    return found


def _zigzag(a: Vec2, b: Vec2) -> Stroke:
    """The narrow line of a break, a zigzag in its middle."""
    d = math.dist(a, b)
    u = ((b[0] - a[0]) / d, (b[1] - a[1]) / d)
    n = (-u[1], u[0])
    size = min(0.9, d / 6)

    def at(s: float, off: float) -> Vec2:
        return (a[0] + u[0] * s + n[0] * off, a[1] + u[1] * s + n[1] * off)

    middle = d / 2
    points = (
        a,
        at(middle - size, 0.0),
        at(middle - size / 2, size),
        at(middle + size / 2, -size),
        at(middle + size, 0.0),
        b,
    )
    return Stroke(polyline(*points), "narrow")


def _tool_line(at: Vec2, direction: Vec2, box: Box2) -> list[Mark]:
    """Across the work and a little past it, never into the room of the letters at its sides."""
    x0, y0, x1, y1 = box
    span = _clipped(at, direction, (x0 - 0.5, y0 - _OVER, x1 + 0.5, y1 + _OVER))
    return [] if span is None else [Stroke((Line(*span),), "centre")]


def _clipped(at: Vec2, d: Vec2, box: Box2) -> tuple[Vec2, Vec2] | None:
    low, high = -1e9, 1e9
    for k in (0, 1):
        if abs(d[k]) < 1e-9:
            if not box[k] <= at[k] <= box[k + 2]:
                return None
            continue
        a, b = sorted(((box[k] - at[k]) / d[k], (box[k + 2] - at[k]) / d[k]))
        low, high = max(low, a), min(high, b)
    if high - low < 0.5:
        return None
    return (at[0] + d[0] * low, at[1] + d[1] * low), (at[0] + d[0] * high, at[1] + d[1] * high)


def _ticked(a: Vec2, b: Vec2, behind: Vec2) -> list[Mark]:
    """A wide line with short strokes on the side ``behind`` it."""
    d = math.dist(a, b)
    u = ((b[0] - a[0]) / d, (b[1] - a[1]) / d)
    marks: list[Mark] = [Stroke((Line(a, b),), "cut outline")]
    count = max(2, int(d / 2.2))
    for i in range(count):
        s = (i + 0.7) * d / count
        p = (a[0] + u[0] * s, a[1] + u[1] * s)
        q = (p[0] + (behind[0] - u[0]) * _TICK * 0.7, p[1] + (behind[1] - u[1]) * _TICK * 0.7)
        marks.append(Stroke((Line(p, q),), "narrow"))
    return marks


def _ground(at: Vec2, direction: Vec2, box: Box2) -> list[Mark]:
    """The table under the work, the whole width of it and a little more."""
    d = direction if direction[0] >= 0 else (-direction[0], -direction[1])
    over = 1.5

    def on_line(x: float) -> Vec2:
        s = (x - at[0]) / max(d[0], 0.2)
        return (at[0] + d[0] * s, at[1] + d[1] * s)

    behind = (d[1], -d[0])
    off = (behind[0] * 0.35, behind[1] * 0.35)
    a, b = ((p[0] + off[0], p[1] + off[1]) for p in (on_line(box[0] - over), on_line(box[2] + over)))
    return _ticked(a, b, behind)


def _wedge(a: Vec2, b: Vec2, table: float) -> list[Mark]:
    """Under the work, from the table up."""
    corners = [a, b, (b[0], table), (a[0], table), a]
    sides = [(p, q) for p, q in itertools.pairwise(corners) if math.dist(p, q) > 0.3]
    return [Stroke((Line(p, q),), "narrow") for p, q in sides[1:]]


def _fence(at: Vec2, into: Vec2, box: Box2, upright: bool) -> list[Mark]:
    """Along the work where it is seen from above; where it stands beside the work, up from the table."""
    u = (-into[1], into[0])
    corners = [(x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]
    reach = [(c[0] - at[0]) * u[0] + (c[1] - at[1]) * u[1] for c in corners]
    over = 1.0 if upright else 1.5
    off = (at[0] + into[0] * 0.35, at[1] + into[1] * 0.35)
    a, b = ((off[0] + u[0] * s, off[1] + u[1] * s) for s in (min(reach) - over, max(reach) + over))
    if upright and abs(into[1]) > 1e-6:
        # a leaning fence stands on the table and is no higher than the work
        span = _clipped(off, u, (box[0] - _SIDE, box[1] - 0.35, box[2] + _SIDE, box[3] + over))
        a, b = (a, b) if span is None else span
    return _ticked(a, b, into)


def _face_mark(at: Vec2, into: Vec2, box: Box2) -> list[Mark]:
    """Where the middle of the face edge is not on the picture, at the middle of its near side."""
    x = min(max(at[0], box[0] + 2.0), box[2] - 2.0) if abs(into[1]) > 0.5 else at[0]
    y = min(max(at[1], box[1] + 2.0), box[3] - 2.0) if abs(into[0]) > 0.5 else at[1]
    across = abs(into[0]) * (box[2] - box[0]) + abs(into[1]) * (box[3] - box[1])
    return [face_side_mark((x, y), into, min(_FACE, 0.6 * across))]


def _end_letters(scene: SetupScene, box: Box2, ink: Box2, width: float) -> list[Mark]:
    """A and B where the ends lie; where the length runs along the line of sight, the end that is seen."""
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    if scene.near_end is not None:
        return [
            Lettering(scene.near_end, (max(ink[0] - 1.0, LETTERS), middle[1] - LETTERS / 2), LETTERS, "right")
        ]
    dx, dy = scene.toward_b
    if abs(dx) >= abs(dy):
        left, right = ("A", "B") if dx > 0 else ("B", "A")
        level = middle[1] - LETTERS / 2
        return [
            Lettering(left, (ink[0] - 1.0, level), LETTERS, "right"),
            Lettering(right, (ink[2] + 1.0, level), LETTERS),
        ]
    low, high = ("A", "B") if dy > 0 else ("B", "A")
    return [
        Lettering(low, (ink[0] - 1.0, box[1]), LETTERS, "right"),
        Lettering(high, (ink[0] - 1.0, box[3] - LETTERS), LETTERS, "right"),
    ]
