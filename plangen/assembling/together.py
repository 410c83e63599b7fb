"""All at once: velocities that open every joint of a group together, where no part and no group leaves by itself.

A linear program: one unit stands still, each other moves no faster than 1 along each axis, no face may enter the
face it lies on, and the total opening is made the greatest (HiGHS, one thread).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from plangen.assembling.bars import Bars
from plangen.geometry.clash import clash
from plangen.geometry.vectors import Vec, add, length, scale, sub

_OPENS = 1e-6
_FACETS = 0.02
"""Millimetres by which round parts may seem to meet on the way, since they are looked at as facets."""
_PLACES = (0.5, 2.0, 8.0, 20.0, 50.0, 120.0, 300.0)
"""Millimetres of travel at which parts are looked at."""


def open_together(bars: Bars, units: Sequence[tuple[int, ...]]) -> tuple[Vec, ...] | None:
    """How far each unit goes in one moment, all at once; what goes alike has not come apart yet.

    None where no velocities open anything, or where parts would run into one another on the way.
    """
    faces = _faces(bars, units)
    if not faces:
        return None
    moves = _fastest(faces, len(units))
    if not _all_part(faces, moves) or _run_into_each_other(bars, units, moves):
        return None
    return tuple(moves)


def _faces(bars: Bars, units: Sequence[tuple[int, ...]]) -> list[tuple[int, int, Vec]]:
    """For each contact between two units (a, b, way): a may not move against ``way`` relative to b."""
    unit_of = {i: k for k, u in enumerate(units) for i in u}
    found = []
    for (i, j), touching in bars.contacts.items():
        a, b = unit_of.get(i), unit_of.get(j)
        if a is None or b is None or a == b:
            continue
        found += [(a, b, n) for t in touching for n in t.ways_off]
    return found


def _fastest(faces: Sequence[tuple[int, int, Vec]], count: int) -> list[Vec]:
    import highspy

    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    solver.setOptionValue("threads", 1)
    n = 3 * count
    gain = np.zeros(n)
    for a, b, way in faces:
        gain[3 * a : 3 * a + 3] += way
        gain[3 * b : 3 * b + 3] -= way
    for k in range(n):
        still = k < 3
        solver.addCol(-gain[k], 0.0 if still else -1.0, 0.0 if still else 1.0, 0, [], [])
    for a, b, way in faces:
        columns = np.array([3 * a, 3 * a + 1, 3 * a + 2, 3 * b, 3 * b + 1, 3 * b + 2])
        solver.addRow(0.0, math.inf, 6, columns, np.array([*way, *(-w for w in way)]))
    solver.run()
    x = [round(v, 6) + 0.0 for v in solver.getSolution().col_value]
    return [(x[3 * k], x[3 * k + 1], x[3 * k + 2]) for k in range(count)]


def _all_part(faces: Sequence[tuple[int, int, Vec]], moves: Sequence[Vec]) -> bool:
    """Whether every unit moves against some other that it lies on."""
    parted = {u for a, b, _ in faces if length(sub(moves[a], moves[b])) > _OPENS for u in (a, b)}
    return len(parted) == len(moves)


def _run_into_each_other(bars: Bars, units: Sequence[tuple[int, ...]], moves: Sequence[Vec]) -> bool:
    """Whether parts of two units that lie on each other clash on the way."""
    unit_of = {i: k for k, u in enumerate(units) for i in u}
    pairs = [(i, j) for i, j in bars.contacts if unit_of.get(i, -1) != unit_of.get(j, -1)]
    for millimetres in _PLACES:
        for i, j in ((i, j) for i, j in pairs if i in unit_of and j in unit_of):
            (a, frame_a), (b, frame_b) = bars.parts[i], bars.parts[j]
            ahead = scale(sub(moves[unit_of[i]], moves[unit_of[j]]), millimetres)
            met = clash(a, replace(frame_a, origin=add(frame_a.origin, ahead)), b, frame_b)
            if met is not None and met.thickness > _FACETS:
                return True
    return False
