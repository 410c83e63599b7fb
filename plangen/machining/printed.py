"""The numbers of a set-up as paper prints them: the one source of its words and of ``printed`` in plan.json.

Angles are degrees to a tenth, lengths millimetres to the design's step (a small length that is not zero keeps the
first finer step that shows it, as ``units.length_text`` has it). Places count from the blank as it is measured at
the bench: along from end A, across from the face edge, up from the back.
"""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from typing import TypeAlias

from plangen.geometry.vectors import Point, sub
from plangen.machining.setup import Setup, Tool
from plangen.units import MM_PER_INCH, UnitStyle, angle_text, length_text

ANGLE_STEP = Fraction(1, 10)
"""Degrees: what the scale of a machine can be read to with care (common practice)."""

Figure: TypeAlias = float | list[float] | list[list[float]] | None


def printed_figures(setup: Setup, style: UnitStyle, origin: Point = (0.0, 0.0, 0.0)) -> dict[str, Figure]:
    """Every number of the set-up as printed; None or an empty list where it has none.

    ``origin`` is the blank's least corner in the member's frame. ``miter``, ``bevel``, ``tilt``, ``azimuth``,
    ``included``, ``other_miter``, ``other_bevel`` are degrees; ``depth`` is [least, most]; ``depth_at`` rows of l, w,
    t, depth; ``run`` and ``path`` rows of l, w, t; ``touches`` l, w, t and how much deeper; ``rolled`` degrees
    of round work about its own axis and of the table; ``profile`` rows of distance along the axis and diameter;
    ``pass_depth`` and sizes of a tool finer than the work; all other figures millimetres.
    """

    def size(mm: float | None) -> float | None:
        return None if mm is None else printed_length(mm, style)

    def place(p: Point) -> list[float]:
        return [printed_length(x, style) for x in sub(p, origin)]

    tilt, other = setup.tilt, setup.alternative
    return {
        "miter": printed_angle(setup.miter, style),
        "bevel": printed_angle(setup.bevel, style),
        "tilt": None if tilt is None else printed_angle(tilt.angle, style),
        "azimuth": None if tilt is None else printed_bearing(tilt.azimuth),
        "distance": None if setup.stop is None else size(setup.stop.distance),
        "fence": size(setup.fence),
        "width": _width(setup, style),
        "depth": [] if setup.depth is None else [printed_length(d, style) for d in setup.depth],
        "depth_at": [[*place(p), printed_length(d, style)] for p, d in setup.depth_at],
        "run": [] if setup.run is None else [place(p) for p in setup.run],
        "path": [place(p) for p in setup.path],
        "touches": [] if setup.touches is None else [*place(setup.touches[0]), size(setup.touches[1]) or 0.0],
        "profile": [[printed_length(x, style) for x in row] for row in setup.profile],
        "rolled": [] if setup.rolled is None else [printed_bearing(a) for a in setup.rolled],
        "residue": size(setup.residue),
        "pass_depth": None if setup.pass_depth is None else printed_tool(setup.pass_depth, style),
        "other_miter": None if other is None else printed_angle(other[0], style),
        "other_bevel": None if other is None else printed_angle(other[1], style),
        **_tool_figures(setup.tool, style),
    }


def _width(setup: Setup, style: UnitStyle) -> float | None:
    """Between the walls: as fine as the tool's where that is as wide, so that card and tool say one figure."""
    if setup.width is None:
        return None
    tool = setup.tool.width if setup.tool is not None else None
    as_wide = tool is not None and abs(tool - setup.width) < 1e-6
    return printed_tool(setup.width, style) if as_wide else printed_length(setup.width, style)


def _tool_figures(tool: Tool | None, style: UnitStyle) -> dict[str, Figure]:
    names = ("width", "diameter", "radius")
    sizes = {f"tool_{n}": None if tool is None else getattr(tool, n) for n in names}
    included = None if tool is None or tool.included is None else printed_angle(tool.included, style)
    figures: dict[str, Figure] = {n: None if v is None else printed_tool(v, style) for n, v in sizes.items()}
    return {**figures, "included": included}


def printed_length(mm: float, style: UnitStyle) -> float:
    """Millimetres of the figure that ``units.length_text`` prints; what prints as less than the least is 0."""
    unit = MM_PER_INCH if style.length == "in" else Fraction(1)
    return float(_read(length_text(mm, style)) * unit)


def printed_tool(mm: float, style: UnitStyle) -> float:
    """Millimetres of a size of a tool: cutters are finer than the work's step."""
    return printed_length(mm, tool_style(style))


def tool_style(style: UnitStyle) -> UnitStyle:
    """Tools are named to a tenth of a millimetre, or a sixty-fourth of an inch (common practice)."""
    return replace(style, step=min(style.step, MM_PER_INCH / 64 if style.length == "in" else Fraction(1, 10)))


def printed_angle(radians: float, style: UnitStyle) -> float:
    """Degrees of the figure that stands on paper."""
    return float(_read(angle_figure(math.degrees(radians), style).removesuffix("°")))


def printed_bearing(radians: float) -> float:
    """Degrees to a tenth: a bearing a little off the fence counts as along it."""
    return float(round(Fraction(round(math.degrees(radians), 6)) / ANGLE_STEP) * ANGLE_STEP)


def angle_figure(degrees: float, style: UnitStyle) -> str:
    """``11.9°``."""
    return angle_text(degrees, replace(style, angle_step=ANGLE_STEP))


def _read(text: str) -> Fraction:
    """The number that a printed figure says, in its unit."""
    if "<" in text:
        return Fraction(0)
    size = sum((Fraction(part) for part in text.removeprefix("-").split()), Fraction(0))
    return -size if text.startswith("-") else size
