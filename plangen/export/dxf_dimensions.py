"""Dimensions of the elevations as DIMENSION entities, each with its block drawn and its figure as plain text.

Sizes stand nearest the outline, overall sizes outermost; figures that would run into each other take another
line. Every style value is copied to the header, because some readers draw dimensions anew from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ezdxf.document import Drawing

from plangen.dimensioning.figures import ElevationFigure
from plangen.drawing.view_on_paper import ProjectedView
from plangen.export.dxf_pen import SIGN_WIDTH, TEXT_STYLE, Pen
from plangen.export.dxf_text import ascii_figure
from plangen.geometry.curves import Vec2
from plangen.geometry.vectors import sub

DIM_STYLE = "PLAN"
FIRST_LINE = 3.0
"""Heights of lettering from the outline to the nearest dimension line."""
LINE_PITCH = 2.5
"""Heights of lettering from one dimension line to the next."""
_TIERS = {"size": 0, "position": 1, "overall": 2}
_LEVEL = 1e-6


@dataclass(frozen=True)
class Laid:
    """A linear figure with the place of its dimension line, in the view's own coordinates (mm)."""

    figure: ElevationFigure
    feet: tuple[Vec2, Vec2]
    along: Vec2
    side: str
    """``below``, ``above``, ``left``, ``right`` or ``in place``."""
    line: int
    """Which parallel line, counted from the outline."""


def set_dimension_style(document: Drawing, pen: Pen) -> None:
    """The style, and the same values in the header."""
    h = pen.size(pen.letters)
    values = {
        "dimtxt": h, "dimasz": h, "dimexe": h / 2, "dimexo": h / 4, "dimgap": h / 4, "dimscale": 1.0,
        "dimlfac": 1.0, "dimdsep": ord("."), "dimdec": 4, "dimzin": 8, "dimtad": 1, "dimtih": 0, "dimtoh": 0,
        "dimadec": 2, "dimaunit": 0, "dimlunit": 2,
    }  # fmt: skip
    style = document.dimstyles.new(DIM_STYLE)
    for name, value in values.items():
        style.dxf.set(name, value)
        if name != "dimlunit":
            document.header[f"${name.upper()}"] = value
    style.dxf.dimtxsty = TEXT_STYLE
    document.header["$DIMSTYLE"] = DIM_STYLE
    document.header["$DIMTXSTY"] = TEXT_STYLE


def lay_figures(figures: Sequence[ElevationFigure], view: ProjectedView, letters: float) -> list[Laid]:
    """The linear figures of a view, parallel lines counted outward on each side of it."""
    laid: list[Laid] = []
    ends: dict[str, list[list[tuple[float, float]]]] = {}
    candidates = [c for f in figures if f.kind == "linear" and (c := _linear(f, view)) is not None]
    for c in sorted(candidates, key=_outward):
        if c.side == "in place":
            laid.append(c)
            continue
        low, high = sorted(_measure(p, c.along) for p in c.feet)
        room = len(c.figure.printed) * letters * SIGN_WIDTH + letters
        middle, half = (low + high) / 2, max(high - low, room) / 2
        lines = ends.setdefault(c.side, [])
        number = next(
            (
                i
                for i, line in enumerate(lines)
                if all(middle + half <= a or middle - half >= b for a, b in line)
            ),
            len(lines),
        )
        if number == len(lines):
            lines.append([])
        lines[number].append((middle - half, middle + half))
        laid.append(Laid(c.figure, c.feet, c.along, c.side, number))
    return laid


def _linear(figure: ElevationFigure, view: ProjectedView) -> Laid | None:
    a, b = (view.projection.flat(p) for p in figure.points[:2])
    direction = figure.direction or sub(figure.points[1], figure.points[0])
    x, y = view.projection.flat(direction)
    size = math.hypot(x, y)
    if size < _LEVEL:
        return None
    along = (x / size, y / size)
    side = figure.side
    level, plumb = abs(along[1]) < _LEVEL, abs(along[0]) < _LEVEL
    if not (level or plumb):
        side = "in place"
    elif level and side in ("left", "right"):
        side = "below"
    elif plumb and side in ("above", "below"):
        side = "left"
    return Laid(figure, (a, b), along, side, 0)


def _outward(laid: Laid) -> tuple[object, ...]:
    low, high = sorted(_measure(p, laid.along) for p in laid.feet)
    return (_TIERS[laid.figure.tier], round(high - low, 6), round(low, 6), laid.figure.id)


def _measure(p: Vec2, along: Vec2) -> float:
    return p[0] * along[0] + p[1] * along[1]


def count_lines(laid: Iterable[Laid], *sides: str) -> int:
    """The most parallel dimension lines on any of the sides."""
    return max((item.line + 1 for item in laid if item.side in sides), default=0)


def add_linear(pen: Pen, laid: Laid, view: ProjectedView, origin: Vec2) -> None:
    """One DIMENSION; its measurement is the distance of its feet along its direction."""
    base = _line_place(laid, view, pen.letters)
    a, b = (_moved(p, origin) for p in laid.feet)
    angle = round(math.degrees(math.atan2(laid.along[1], laid.along[0])), 9) % 180
    pen.space.add_linear_dim(
        base=pen.at(_moved(base, origin)),
        p1=pen.at(a),
        p2=pen.at(b),
        angle=angle + 0.0,
        text=ascii_figure(laid.figure.printed, False, pen.unit),
        dimstyle=DIM_STYLE,
        dxfattribs={"layer": "DIM"},
    ).render()
    reach = pen.letters * 2
    x, y = _moved(base, origin)
    for corner in ((x - reach, y - reach), (x + reach, y + reach)):
        pen.reach_to(corner)


def _line_place(laid: Laid, view: ProjectedView, letters: float) -> Vec2:
    """A point of the dimension line."""
    x0, y0, x1, y1 = view.box
    (ax, ay), (bx, by) = laid.feet
    middle = ((ax + bx) / 2, (ay + by) / 2)
    out = letters * (FIRST_LINE + LINE_PITCH * laid.line)
    match laid.side:
        case "below":
            return (middle[0], y0 - out)
        case "above":
            return (middle[0], y1 + out)
        case "left":
            return (x0 - out, middle[1])
        case "right":
            return (x1 + out, middle[1])
        case _:
            aside = letters * 2
            return (middle[0] - laid.along[1] * aside, middle[1] + laid.along[0] * aside)


def add_angular(pen: Pen, figure: ElevationFigure, view: ProjectedView, origin: Vec2) -> None:
    """The angle at the first point between the arms to the other two, less than 180 degrees.

    Raises ValueError where the arms do not stand apart in the view.
    """
    apex, p, q = (view.projection.flat(point) for point in figure.points[:3])
    first, second = math.dist(apex, p), math.dist(apex, q)
    if min(first, second) < _LEVEL:
        raise ValueError(f"figure {figure.id}: an arm of the angle is seen end-on")
    if (p[0] - apex[0]) * (q[1] - apex[1]) > (p[1] - apex[1]) * (q[0] - apex[0]):
        # the block is drawn counter-clockwise from the second arm to the first
        p, q, first, second = q, p, second, first
    u = ((p[0] - apex[0]) / first, (p[1] - apex[1]) / first)
    v = ((q[0] - apex[0]) / second, (q[1] - apex[1]) / second)
    between = (u[0] + v[0], u[1] + v[1])
    size = math.hypot(*between)
    if size < _LEVEL:
        raise ValueError(f"figure {figure.id}: the arms of the angle are one line")
    radius = max(6 * pen.letters, 0.35 * min(first, second))
    base = (apex[0] + between[0] / size * radius, apex[1] + between[1] / size * radius)
    drawn = pen.space.add_angular_dim_2l(
        base=pen.at(_moved(base, origin)),
        line1=(pen.at(_moved(apex, origin)), pen.at(_moved(p, origin))),
        line2=(pen.at(_moved(apex, origin)), pen.at(_moved(q, origin))),
        text=ascii_figure(figure.printed, True, pen.unit),
        dimstyle=DIM_STYLE,
        dxfattribs={"layer": "DIM"},
    )
    drawn.render()
    # The block is drawn from the second arm to the first, but the entity is measured, by the same library,
    # from the first to the second; other readers take the sector that the arc's point lies in.
    dxf = drawn.dimension.dxf
    dxf.defpoint2, dxf.defpoint4 = dxf.defpoint4, dxf.defpoint2
    dxf.defpoint3, dxf.defpoint = dxf.defpoint, dxf.defpoint3
    pen.reach_to(_moved(base, origin))


def _moved(p: Vec2, origin: Vec2) -> Vec2:
    return (p[0] + origin[0], p[1] + origin[1])
