"""How far each part is drawn away from its place in an exploded picture.

Parts go back along the ways by which they go in, each from the part that it comes to lie on, so what is put together
first stays together while it is drawn off (parts as a tree: Li, Agrawala, Curless and Salesin 2008, read).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from plangen.assembling.steps import Assembling, Move, Step
from plangen.geometry.clash import Placed, bounding_box, world_vertices
from plangen.geometry.vectors import Point, Vec, add, dot, scale, sub

LEAST_SHARE = 0.05
"""Of the piece's greatest size, that the clear gap between parts is at least."""
OWN_SHARE = 0.15
"""Of a part's extent along its way, that the gap before it is at least."""
_MOST_TRIES = 12


@dataclass(frozen=True)
class Drawn:
    """Where every part is drawn: by instance name, what is added to its place."""

    by: Mapping[str, Vec]

    def of(self, name: str) -> Vec:
        return self.by.get(name, (0.0, 0.0, 0.0))


def explode(assembling: Assembling, places: Mapping[str, Placed]) -> Drawn:
    """Offsets in millimetres of the work, for every instance of ``places`` (by name).

    Each part stands clear of what it joins by ``LEAST_SHARE`` of the whole or ``OWN_SHARE`` of itself, and farther
    where its box would still cover that of a part already drawn apart.
    """
    by: dict[str, Vec] = dict.fromkeys(places, (0.0, 0.0, 0.0))
    boxes = {name: bounding_box(*placed) for name, placed in places.items()}
    least = LEAST_SHARE * _size(boxes.values())
    for step in assembling.steps:
        there = list(step.standing)
        for move in step.moves:
            back = _way_back(move, places, by, least)
            for _ in range(_MOST_TRIES):
                if not any(_cover(boxes, by, n, m, back) for n in move.names for m in there):
                    break
                back = scale(back, 1.0 + least / max(_length(back), least))
            for name in move.names:
                by[name] = add(by[name], back)
            there += move.names
    return Drawn(by)


def apart_by(move: Move, places: Mapping[str, Placed], least: float) -> float:
    """Millimetres that a part stands off along its way: out of its joint and clear."""
    if not move.beside:
        return 0.0
    reach = [dot((x, y, z), move.way) for n in move.names for x, y, z in world_vertices(*places[n]).tolist()]
    return move.engaged + max(least, OWN_SHARE * (max(reach) - min(reach)))


def step_size(step: Step, places: Mapping[str, Placed]) -> float:
    """The least clear gap for a picture of one step, mm."""
    names = [*step.standing, *step.names]
    return LEAST_SHARE * _size([bounding_box(*places[n]) for n in names])


def _way_back(move: Move, places: Mapping[str, Placed], by: Mapping[str, Vec], least: float) -> Vec:
    back = scale(move.way, -apart_by(move, places, least))
    return add(back, by[move.beside]) if move.beside else back


def _size(boxes: Iterable[tuple[Point, Point]]) -> float:
    spans = list(boxes)
    low = [min(b[0][k] for b in spans) for k in range(3)]
    high = [max(b[1][k] for b in spans) for k in range(3)]
    return max(h - a for a, h in zip(low, high, strict=True))


def _length(v: Vec) -> float:
    return float(dot(v, v)) ** 0.5


def _cover(
    boxes: Mapping[str, tuple[Point, Point]], by: Mapping[str, Vec], name: str, other: str, back: Vec
) -> bool:
    """Whether the box of a part drawn ``back`` meets that of another where it is drawn, unless they met already."""
    if _meet(boxes[name], boxes[other], (0.0, 0.0, 0.0)):
        return _meet(boxes[name], boxes[other], sub(add(by[name], back), by[other])) and _shared(
            boxes[name], boxes[other], sub(add(by[name], back), by[other])
        ) > 0.5 * _shared(boxes[name], boxes[other], (0.0, 0.0, 0.0))
    return _meet(boxes[name], boxes[other], sub(add(by[name], back), by[other]))


def _meet(a: tuple[Point, Point], b: tuple[Point, Point], by: Vec) -> bool:
    return all(a[0][k] + by[k] < b[1][k] and b[0][k] < a[1][k] + by[k] for k in range(3))


def _shared(a: tuple[Point, Point], b: tuple[Point, Point], by: Vec) -> float:
    volume = 1.0
    for k in range(3):
        volume *= max(0.0, min(a[1][k] + by[k], b[1][k]) - max(a[0][k] + by[k], b[0][k]))
    return volume
