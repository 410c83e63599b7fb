"""Dimensions and leaders drawn out: the one place that turns them into strokes, fills and lettering.

Every exporter that has no dimensions of its own, and every check of overlaps, works on what is drawn here.
Figures stand above their line and read from the bottom or the right of the sheet (ISO 129-1, read).
"""

from __future__ import annotations

import itertools
import math
from typing import Literal

from plangen.drawing.lettering import (
    LINE_PITCH,
    clean,
    has_stack,
    stack_height,
    text_box,
    text_width,
    turn_of,
)
from plangen.drawing.linework import LINES, PRACTICE
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Leader,
    Lettering,
    LinearDimension,
    Mark,
    Stroke,
)
from plangen.geometry.curves import Arc, Line, Vec2

Fit = Literal["inside", "arrows outside", "figure outside"]
ORIGIN_DIAMETER = 2.0
"""Of the circle running dimensions start from, mm."""


def expand(mark: Mark) -> tuple[Mark, ...]:
    """A dimension or leader as strokes, fills and lettering; any other mark as it is."""
    match mark:
        case LinearDimension():
            return _linear(mark)
        case AngularDimension():
            return _angular(mark)
        case Leader():
            return _leader(mark)
        case _:
            return (mark,)


def figure_fit(span: float, text: str, height: float) -> Fit:
    """What fits within ``span`` mm: figure and arrows, the figure alone, or neither."""
    width = text_width(text, height)
    if span >= width + 2 * PRACTICE.arrow_length + 2:
        return "inside"
    if span >= width + 1:
        return "arrows outside"
    return "figure outside"


def figure_base(text: str, height: float) -> float:
    """Height of a figure's base line above its dimension line, mm."""
    return PRACTICE.figure_gap + LINES["dimension"].width / 2 - min(0.0, text_box(text, height)[1])


def line_pitch(texts: tuple[str, ...], height: float) -> float:
    """Base line to base line, mm: 1.54 h, more where a stacked fraction needs it."""
    pitch = LINE_PITCH * height
    if any(has_stack(t) for t in texts):
        pitch = max(pitch, stack_height(height) + PRACTICE.text_clearance)
    return pitch


def reading_angle(direction: Vec2) -> float:
    """Rotation in degrees, over -90 to 90, of a text along ``direction``: from the bottom or the right."""
    a = math.degrees(math.atan2(direction[1], direction[0]))
    a = round(a, 9)
    if a <= -90:
        return a + 180
    if a > 90:
        return a - 180
    return a


def arrowhead(tip: Vec2, direction: Vec2) -> Fill:
    """A filled head whose point is at ``tip``, pointing along the unit ``direction``."""
    dx, dy = direction
    half = PRACTICE.arrow_width / 2
    back = _along(tip, direction, -PRACTICE.arrow_length)
    left = (back[0] - dy * half, back[1] + dx * half)
    right = (back[0] + dy * half, back[1] - dx * half)
    return Fill((Line(tip, left), Line(left, right), Line(right, tip)))


def dot(at: Vec2, diameter: float = PRACTICE.dot) -> Fill:
    return Fill((Arc(at, diameter / 2, 0.0, 2 * math.pi),))


def _along(p: Vec2, u: Vec2, s: float) -> Vec2:
    return (p[0] + u[0] * s, p[1] + u[1] * s)


def _measure(p: Vec2, u: Vec2) -> float:
    return p[0] * u[0] + p[1] * u[1]


def _toward(a: Vec2, b: Vec2) -> Vec2:
    d = math.dist(a, b)
    return ((b[0] - a[0]) / d, (b[1] - a[1]) / d)


def _line(a: Vec2, b: Vec2) -> Stroke:
    return Stroke((Line(a, b),), "dimension")


def _linear(dim: LinearDimension) -> tuple[Mark, ...]:
    if dim.arrows == "running":
        return _running(dim)
    u = dim.direction
    across = (-u[1], u[0])
    level = _measure(dim.line_at, across)
    ends = sorted((_measure(f, u), i) for i, f in enumerate(dim.feet))
    a, b = (_along(_along((0.0, 0.0), u, s), across, level) for s, _ in ends)
    marks: list[Mark] = []
    for (_, i), end in zip(ends, (a, b), strict=True):
        marks.extend(_extension(dim.feet[i], end))
    length, tail = PRACTICE.arrow_length, PRACTICE.tail
    back = (-u[0], -u[1])
    if dim.arrows == "inside":
        start, stop = _along(a, u, length), _along(b, u, -length)
        heads = (arrowhead(a, back), arrowhead(b, u))
    else:
        start, stop = a, b
        marks += [_line(_along(a, back, length + tail), _along(a, back, length))]
        marks += [_line(_along(b, u, length), _along(b, u, length + tail))]
        heads = (arrowhead(a, u), arrowhead(b, back))
    figure = _linear_figure(dim, a, b)
    marks += [_line(start, stop), *_shelf(dim, figure, a, b), *heads, figure]
    return tuple(marks)


def _running(dim: LinearDimension) -> tuple[Mark, ...]:
    """From the origin circle to a head at the second foot (ISO 129-1, running dimensions, read)."""
    u = dim.direction
    across = (-u[1], u[0])
    level = _measure(dim.line_at, across)
    origin, end = (_along(_along((0.0, 0.0), u, _measure(f, u)), across, level) for f in dim.feet)
    way = _toward(origin, end)
    marks: list[Mark] = []
    for foot, at in zip(dim.feet, (origin, end), strict=True):
        marks.extend(_extension(foot, at))
    radius = ORIGIN_DIAMETER / 2
    marks.append(Stroke((Arc(origin, radius, 0.0, 2 * math.pi),), "dimension", True))
    marks.append(_line(_along(origin, way, radius), _along(end, way, -PRACTICE.arrow_length)))
    return (*marks, arrowhead(end, way), _linear_figure(dim, origin, end))


def _extension(foot: Vec2, end: Vec2) -> tuple[Mark, ...]:
    """From just off the foot to just past the dimension line; none where the foot is on the line."""
    if math.dist(foot, end) <= PRACTICE.extension_gap:
        return ()
    u = _toward(foot, end)
    start = _along(foot, u, PRACTICE.extension_gap)
    return (_line(start, _along(end, u, PRACTICE.extension_overrun)),)


def _linear_figure(dim: LinearDimension, a: Vec2, b: Vec2) -> Lettering:
    angle = reading_angle(dim.direction)
    if dim.text_at is not None:
        at = dim.text_at
    else:
        c, s = turn_of(angle)
        up = figure_base(dim.text, dim.height)
        at = ((a[0] + b[0]) / 2 - s * up, (a[1] + b[1]) / 2 + c * up)
    turn = angle if dim.text_rotation is None else dim.text_rotation
    return Lettering(dim.text, at, dim.height, "middle", turn)


def _shelf(dim: LinearDimension, figure: Lettering, a: Vec2, b: Vec2) -> tuple[Mark, ...]:
    """The dimension line drawn on under a figure that stands beyond the arrows."""
    u = dim.direction
    half = text_width(dim.text, dim.height) / 2
    middle = _measure(figure.at, u)
    reach = PRACTICE.arrow_length + PRACTICE.tail if dim.arrows == "outside" else 0.0
    low, high = _measure(a, u) - reach, _measure(b, u) + reach
    if middle + half > high and middle > high - reach:
        return (_line(_along(b, u, reach), _along(b, u, middle + half - _measure(b, u))),)
    if middle - half < low and middle < low + reach:
        return (_line(_along(a, u, -reach), _along(a, u, middle - half - _measure(a, u))),)
    return ()


def _on_arc(dim: AngularDimension, degrees: float) -> Vec2:
    c, s = turn_of(degrees)
    return (dim.apex[0] + dim.radius * c, dim.apex[1] + dim.radius * s)


def _angular(dim: AngularDimension) -> tuple[Mark, ...]:
    """Heads are aimed along the chord they cover, so that they lie on the arc at both ends."""
    swept = math.degrees(PRACTICE.arrow_length / dim.radius)
    inside = dim.last - dim.first >= 2.5 * swept
    sign = 1.0 if inside else -1.0
    marks: list[Mark] = []
    for end, inward in ((dim.first, sign), (dim.last, -sign)):
        tip, back = _on_arc(dim, end), _on_arc(dim, end + inward * swept)
        marks.append(arrowhead(tip, _toward(back, tip)))
    first, last = (dim.first + swept, dim.last - swept) if inside else (dim.first, dim.last)
    spans = [(first, last)]
    if not inside:
        tail = math.degrees(PRACTICE.tail / dim.radius)
        spans += [(dim.first - swept - tail, dim.first - swept), (dim.last + swept, dim.last + swept + tail)]
    for p, q in spans:
        marks.append(Stroke((Arc(dim.apex, dim.radius, math.radians(p), math.radians(q)),), "dimension"))
    return (*marks, _angular_figure(dim))


def _angular_figure(dim: AngularDimension) -> Lettering:
    """Level, outside the arc at its middle, clear of it by the figure gap."""
    if dim.text_at is not None:
        return Lettering(dim.text, dim.text_at, dim.height, "middle")
    c, s = turn_of((dim.first + dim.last) / 2)
    x0, y0, x1, y1 = text_box(dim.text, dim.height)
    half_w, half_h = (x1 - x0) / 2, (y1 - y0) / 2
    out = dim.radius + PRACTICE.figure_gap + abs(c) * half_w + abs(s) * half_h
    middle = (dim.apex[0] + out * c, dim.apex[1] + out * s)
    # the ink's middle, not the advance's, lies on the ray
    aside = (x0 + x1 - text_width(dim.text, dim.height)) / 2
    return Lettering(dim.text, (middle[0] - aside, middle[1] - (y0 + y1) / 2), dim.height, "middle")


def _leader(leader: Leader) -> tuple[Mark, ...]:
    path = list(leader.path)
    lines = tuple(clean(t) for t in leader.text.split("\n")) if leader.text else ()
    width = max((text_width(t, leader.height) for t in lines), default=0.0)
    shelf = len(path) > 2 and abs(path[-1][1] - path[-2][1]) < 1e-9
    way = 1.0 if path[-1][0] >= path[-2][0] else -1.0
    if shelf and lines:
        # the shelf is at least as long as the longest line it carries
        path[-1] = (path[-2][0] + way * max(width, abs(path[-1][0] - path[-2][0])), path[-1][1])
    marks: list[Mark] = []
    start = path[0]
    if leader.end == "arrow":
        u = _toward(path[1], path[0])
        marks.append(arrowhead(start, u))
        path[0] = _along(start, u, -PRACTICE.arrow_length)
    elif leader.end == "dot":
        marks.append(dot(start))
    segments = tuple(Line(p, q) for p, q in itertools.pairwise(path))
    marks.append(Stroke(segments, "narrow"))
    if lines:
        marks.extend(_leader_text(leader, lines, path, way, shelf))
    return tuple(marks)


def _leader_text(
    leader: Leader, lines: tuple[str, ...], path: list[Vec2], way: float, shelf: bool
) -> tuple[Mark, ...]:
    """Above the shelf, the last line lowest; without a shelf beside the end of the line, centred on it."""
    pitch = line_pitch(lines, leader.height)
    end = path[-1]
    if shelf:
        x = min(end[0], path[-2][0])
        foot = end[1] + figure_base(lines[-1], leader.height)
        align: Literal["left", "right"] = "left"
    else:
        x = end[0] + way
        foot = end[1] - leader.height / 2 - pitch * (len(lines) - 1) / 2
        align = "left" if way > 0 else "right"
    last = len(lines) - 1
    return tuple(
        Lettering(t, (x, foot + pitch * (last - i)), leader.height, align) for i, t in enumerate(lines)
    )
