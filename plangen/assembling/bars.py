"""What bars what: which of the standing parts keep another from leaving along a straight way.

A part is held at once by a face that it lies on, or meets something on its way. Between two parts along one direction
that is answered once (Wilson and Latombe 1992: the blocking graph of a direction, for straight ways without end).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np

from plangen.geometry.clash import Placed, overlapping_pairs, world_vertices
from plangen.geometry.contact import Touch, touches
from plangen.geometry.patches import Array
from plangen.geometry.travel import is_met, shadows_meet
from plangen.geometry.vectors import Point, Vec, cross, dot, length, neg, unit

FIT = 1.0
"""Millimetres between faces of a joint that are taken for touching: the loosest fit is closed first."""
_HELD = 1e-6


@dataclass
class Bars:
    """Parts where they stand at the end, by number, and what is known of each pair of them."""

    parts: Sequence[Placed]
    sprung: frozenset[tuple[int, int]] = frozenset()
    """Pairs, the lower number first, whose joint is closed by springing them apart: neither bars the other."""
    _known: dict[tuple[int, int, Vec], bool] = field(default_factory=dict)
    _flat: dict[tuple[int, Vec], tuple[Array, float, float]] = field(default_factory=dict)

    @cached_property
    def contacts(self) -> dict[tuple[int, int], tuple[Touch, ...]]:
        """For each pair, the lower number first, where the first lies on the second."""
        found = {}
        for i, j in overlapping_pairs(self.parts, FIT):
            if (i, j) in self.sprung:
                continue
            touching = touches(*self.parts[i], *self.parts[j], FIT)
            if touching:
                found[i, j] = touching
        return found

    def ways_off(self, i: int, j: int) -> tuple[Vec, ...]:
        """Directions square to the faces on which ``i`` lies on ``j``, from ``j`` into ``i``."""
        ways = [n for touch in self.contacts.get((min(i, j), max(i, j)), ()) for n in touch.ways_off]
        return tuple(ways if i < j else [neg(n) for n in ways])

    def touching(self, i: int) -> list[int]:
        """The parts that ``i`` lies on, those with most area first."""
        areas = {
            (b if a == i else a): sum(t.area for t in found)
            for (a, b), found in self.contacts.items()
            if i in (a, b)
        }
        return sorted(areas, key=lambda j: (-round(areas[j], 3), j))

    def holds(self, i: int, j: int, way: Vec) -> bool:
        """Whether a face of ``j`` that ``i`` lies on keeps it from so much as starting along ``way``."""
        return any(dot(n, way) < -_HELD for n in self.ways_off(i, j))

    def bars(self, i: int, j: int, way: Vec) -> bool:
        """Whether ``j`` where it stands keeps ``i`` from leaving along ``way``."""
        key = (i, j, way)
        if key not in self._known:
            answer = self._looked_at(i, j, way)
            self._known[key] = self._known[j, i, neg(way)] = answer
        return self._known[key]

    def _looked_at(self, i: int, j: int, way: Vec) -> bool:
        if (min(i, j), max(i, j)) in self.sprung:
            return False
        if self.holds(i, j, way):
            return True
        ours, low, _ = self._seen(i, way)
        theirs, _, high = self._seen(j, way)
        if low >= high - _HELD or not shadows_meet(ours, theirs):
            return False
        return is_met(self.parts[i], self.parts[j], way)

    def _seen(self, i: int, way: Vec) -> tuple[Array, float, float]:
        """The part's corners as seen along the way (n, 2), and how far along it they reach."""
        canonical = max(way, neg(way))
        if (i, canonical) not in self._flat:
            x = world_vertices(*self.parts[i])
            seed: Vec = (0.0, 0.0, 1.0) if abs(canonical[2]) < 0.9 else (1.0, 0.0, 0.0)
            u = unit(cross(seed, canonical))
            v = cross(canonical, u)
            depth = x @ np.array(canonical)
            self._flat[i, canonical] = (np.stack([x @ np.array(u), x @ np.array(v)], 1), *_range(depth))
        flat, low, high = self._flat[i, canonical]
        return (flat, low, high) if canonical == way else (flat, -high, -low)

    def ways_of(self, group: Iterable[int], others: Iterable[int]) -> tuple[Vec, ...]:
        """Ways that a group might leave the others: along what it is joined by, off a face that it lies on, up, down
        and level. The shortest way out of its joints comes first."""
        inside, outside = frozenset(group), frozenset(others)
        normals: list[Vec] = []
        slides: list[Vec] = []
        met: list[tuple[int, int]] = []
        for (i, j), found in self.contacts.items():
            if not ((i in inside and j in outside) or (j in inside and i in outside)):
                continue
            met.append((i, j) if i in inside else (j, i))
            own = _some(_rounded(n) for t in found for n in t.ways_off)
            normals += own if i in inside else [_rounded(neg(n)) for n in own]
            slides += [
                _rounded(unit(c)) for a, b in combinations(own, 2) if length(c := cross(a, b)) > _ASKEW
            ]
        both = [w for s in dict.fromkeys(slides) for w in (s, _rounded(neg(s)))]
        ways = list(dict.fromkeys([*_WORLD, *dict.fromkeys(normals), *both, *_between(normals)]))
        free = [w for w in ways if all(dot(n, w) >= -_HELD for n in normals)]
        return tuple(sorted(free, key=lambda w: round(max((self.engaged(*p, w) for p in met), default=0.0))))

    def slides(self, group: Iterable[int]) -> tuple[Vec, ...]:
        """Ways along the joints among a group, level ones and plumb ones first."""
        inside = frozenset(group)
        found = dict.fromkeys(_WORLD)
        for (i, j), touching in self.contacts.items():
            if i in inside and j in inside:
                own = _some(_rounded(n) for t in touching for n in t.ways_off)
                for a, b in combinations(own, 2):
                    if length(c := cross(a, b)) > _ASKEW:
                        found |= dict.fromkeys((_rounded(unit(c)), _rounded(neg(unit(c)))))
        return tuple(found)

    def engaged(self, i: int, j: int, way: Vec) -> float:
        """Millimetres that ``i`` goes along ``way`` until all of it is past what it lies on of ``j``."""
        found = self.contacts.get((min(i, j), max(i, j)), ())
        if not found:
            return 0.0
        _, rear, _ = self._seen(i, way)
        return max(0.0, max(dot(p, way) for t in found for p in t.corners) - rear)

    def middle(self, group: Iterable[int], j: int) -> Point:
        """Middle of what of a group lies on ``j``, by area."""
        inside = frozenset(group)
        found = [t for (a, b), ts in self.contacts.items() for t in ts if _other(a, b, j) in inside]
        total = sum(t.area for t in found)
        x, y, z = (sum(t.area * _mean(t.corners, k) for t in found) / total for k in range(3))
        return (x, y, z)


_MOST_NORMALS = 14
_ASKEW = 0.05
_WORLD: tuple[Vec, ...] = (
    (0.0, 0.0, 1.0),
    (0.0, -1.0, 0.0),
    (0.0, 1.0, 0.0),
    (1.0, 0.0, 0.0),
    (-1.0, 0.0, 0.0),
    (0.0, 0.0, -1.0),
)


def _other(a: int, b: int, j: int) -> int:
    """Of a pair the one that is not ``j``; -1: ``j`` is neither."""
    return b if a == j else a if b == j else -1


def _mean(points: Sequence[Point], k: int) -> float:
    return sum(p[k] for p in points) / len(points)


def _some(normals: Iterable[Vec]) -> list[Vec]:
    """Each once; of many round a post some, evenly."""
    each = list(dict.fromkeys(normals))
    return each[:: -(-len(each) // _MOST_NORMALS)] if each else []


def _between(normals: Sequence[Vec]) -> list[Vec]:
    """The way that leaves all faces behind at once, as evenly as it can."""
    total = [sum(n[k] for n in dict.fromkeys(normals)) for k in range(3)]
    size = (total[0] ** 2 + total[1] ** 2 + total[2] ** 2) ** 0.5
    return [_rounded((total[0] / size, total[1] / size, total[2] / size))] if size > _ASKEW else []


def _rounded(v: Vec) -> Vec:
    """Directions that differ by rounding only are one."""
    x, y, z = (round(c, 9) + 0.0 for c in v)
    return (x, y, z)


def _range(x: Array) -> tuple[float, float]:
    return float(x.min()), float(x.max())
