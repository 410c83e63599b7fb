"""What is laid out by hand for one set-up, as plan.json has it; angles in degrees, lengths in millimetres.

Of the other hand it is that of the drawn piece, read in the mirror.
"""

from __future__ import annotations

from typing import Any

from plangen.export.json_numbers import plain, set_degrees, set_length, set_lengths, unit_all
from plangen.machining.layout_records import GaugeLine, HandLayout, Roll, SideDepth, SightLine
from plangen.machining.ruler import RiseAndRun


def layout_facts(layout: HandLayout) -> dict[str, Any]:
    """``lines``: on each face the line that the cut draws, ``angle`` from the ``arris`` and ``way`` from its point
    ``at``; ``sight`` of a slanting hole, ``roll`` of one in round work; ``depths`` of a trench at each side."""
    return {
        "lines": [_line(line) for line in layout.lines],
        "sight": None if layout.sight is None else _sight(layout.sight),
        "roll": None if layout.roll is None else _roll(layout.roll),
        "depths": [_depth(depth) for depth in layout.depths],
    }


def _line(line: GaugeLine) -> dict[str, Any]:
    return {
        "makes": line.cut,
        "on": line.surface,
        "arris": list(line.arris),
        "at": set_lengths(line.at),
        "way": unit_all(line.way),
        "angle": set_degrees(line.angle),
        "marks": {**_marks(line.marks), "from": "arris" if line.marks_from_arris else "square"},
    }


def _sight(sight: SightLine) -> dict[str, Any]:
    return {
        "on": sight.surface,
        "entry": set_lengths(sight.entry),
        "arris": None if sight.arris is None else list(sight.arris),
        "angle": set_degrees(sight.sight_line),
        "toward": unit_all(sight.toward),
        "marks": _marks(sight.sight_marks),
        "lean": set_degrees(sight.resultant),
        "lean_marks": _marks(sight.resultant_marks),
        "aim": None if sight.aim is None else set_lengths(sight.aim),
        "aim_on": sight.aim_surface,
        "exit": None if sight.exit is None else set_lengths(sight.exit),
    }


def _roll(roll: Roll) -> dict[str, Any]:
    return {
        "from": roll.from_surface,
        "roll": set_degrees(roll.roll),
        "lean": set_degrees(roll.lean),
        "lean_marks": _marks(roll.lean_marks),
        "entry": set_lengths(roll.entry),
    }


def _depth(depth: SideDepth) -> dict[str, Any]:
    return {
        "on": depth.surface,
        "wall": depth.wall,
        "at": set_lengths(depth.at),
        "depth": set_length(depth.depth),
    }


def _marks(marks: RiseAndRun) -> dict[str, Any]:
    """``error``: of the marks' angle over the one asked for."""
    return {
        "rise": plain(float(marks.rise)),
        "run": plain(float(marks.run)),
        "error": set_degrees(marks.error),
    }
