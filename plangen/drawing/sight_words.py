"""A slanting hole bored by eye: the sight line to draw on the face, where it aims, and the lean along it."""

from __future__ import annotations

import math

from plangen.drawing.ruler_marks import ruler_marks
from plangen.drawing.setup_names import Names, place_text
from plangen.geometry.vectors import Point, sub
from plangen.machining.layout_records import SightLine
from plangen.machining.printed import angle_figure
from plangen.machining.setup import Setup
from plangen.units import UnitStyle


def sight_text(setup: Setup, origin: Point, names: Names, style: UnitStyle) -> str:
    """``30.2° from face side/face edge (..), aim at back edge, A 120; lean 13.7° (..)``; empty where nothing slants.

    ``setup`` is that of the drawn hand, ``origin`` of its blank; the other hand's marks mirror it.
    """
    sight = None if setup.layout is None else setup.layout.sight
    if sight is None or setup.tilt is None or setup.operation != "bore":
        return ""
    return f"{_line_text(sight, setup, origin, names, style)}; lean {_angle(sight.resultant, style)}"


def _line_text(sight: SightLine, setup: Setup, origin: Point, names: Names, style: UnitStyle) -> str:
    parts = []
    if sight.arris is not None:
        one, two = (names.surface(setup, s) for s in sight.arris)
        parts.append(f"{_angle(sight.sight_line, style)} from {one}/{two}")
    if sight.aim is not None and sight.aim_surface is not None:
        at = place_text(sub(sight.aim, origin), setup.depth_from, style)
        parts.append(f"aim at {names.surface(setup, sight.aim_surface)}, {at}")
    return ", ".join(parts)


def _angle(radians: float, style: UnitStyle) -> str:
    """With its marks on a rule, where it has any."""
    degrees = math.degrees(radians)
    try:
        return f"{angle_figure(degrees, style)} ({ruler_marks(degrees, style.length)})"
    except ValueError:
        return angle_figure(degrees, style)
