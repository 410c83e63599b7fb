"""plangen at the same work: solids, the scene prepared once, views."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise

import plangen.geometry.occlusion as occlusion
from plangen.geometry.hidden import draw_view, prepare
from plangen.geometry.occlusion import Arcs, Array, Segments
from plangen.geometry.scene import Scene
from plangen.geometry.screens import DiscScreen, Screen
from plangen.geometry.solid import Solid, build_solid
from tests.benchmarks.times import Times
from tests.benchmarks.workpieces import FOUR_VIEWS, Arrangement, Workpiece


def our_solid(piece: Workpiece) -> Solid:
    """The blank less its cutters."""
    return build_solid(piece.blank, piece.cutters())


def our_scene(solids: list[Solid], arrangement: Arrangement) -> Scene:
    """All in their places; a shape that repeats is read once."""
    return prepare([(solids[index], frame) for index, frame in arrangement.standing])


@dataclass
class PairCount:
    """Pairs of an edge and a piece whose boxes overlap, as tried one against the other."""

    pairs: int = 0


@contextmanager
def pairs_counted() -> Iterator[PairCount]:
    """Counts the pairs of all views drawn inside the block; times taken in it are not to be used."""
    count = PairCount()
    tried = occlusion._stretches

    def counting(
        things: Segments | Arcs, screen: Screen | DiscScreen, row: Array, piece: Array
    ) -> tuple[Array, Array, Array]:
        count.pairs += len(row)
        return tried(things, screen, row, piece)

    occlusion._stretches = counting
    try:
        yield count
    finally:
        occlusion._stretches = tried


def our_times(arrangement: Arrangement) -> Times:
    """One round of all three steps."""
    marks = [time.process_time()]
    solids = [our_solid(piece) for piece in arrangement.pieces]
    marks.append(time.process_time())
    scene = our_scene(solids, arrangement)
    marks.append(time.process_time())
    for view in FOUR_VIEWS:
        draw_view(scene, view)
    marks.append(time.process_time())
    return Times(*(b - a for a, b in pairwise(marks)))
