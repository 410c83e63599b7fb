"""Nesting by outline on published irregular instances: length against boxes, the area bound and the best known.

``python -m tests.benchmarks.nesting [EFFORT ...]``. Each is one strip of given width, parts laid without gap, in
the turns that its source allows; lengths in the source's units. Coordinates and turns as collected in the repository
OR-Datasets (2D irregular) from: `fu` Fujita, Akagji and Kirokawa 1993, `shapes0` and `blaz1` (also called shapes2)
Oliveira, Gomes and Ferreira 2000. The best known shares of the strip that parts cover are those of Elkeran 2013 (guided
cuckoo search): from memory.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

from shapely import Polygon, affinity, box

from plangen.geometry.nesting import Flat, Ground, nest, nest_faults
from plangen.geometry.no_fit import quarter_turns
from tests.benchmarks.text_table import print_table

SCALE = 20.0
"""Millimetres for a unit of the source, so that outlines are as large as parts of a shop."""


@dataclass(frozen=True)
class Instance:
    """One strip: its width, turns in quarters, and each part's corners with how many there are."""

    name: str
    width: float
    turns: tuple[int, ...]
    parts: tuple[tuple[int, tuple[tuple[float, float], ...]], ...]
    best: float
    """Share of the strip covered, best known."""


FU = Instance(
    "fu", 38, (0, 1, 2, 3),
    (
        (2, ((0, 0), (10, 0), (10, 10), (0, 10))),
        (1, ((0, 0), (14, 0), (14, 9), (0, 9))),
        (1, ((0, 0), (14, 0), (7, 7))),
        (1, ((0, 9), (0, 0), (14, 9))),
        (1, ((0, 0), (14, 0), (14, 14), (0, 14))),
        (1, ((0, 0), (10, 4), (10, 9), (0, 9))),
        (1, ((0, 0), (5, 0), (5, 9), (0, 9))),
        (1, ((0, 0), (14, 0), (14, 14))),
        (1, ((0, 0), (10, 0), (10, 10), (0, 14))),
        (1, ((0, 8), (4, 0), (8, 8))),
        (1, ((0, 0), (14, 0), (7, 12))),
    ),
    0.9241,
)  # fmt: skip
SHAPES0 = Instance(
    "shapes0", 40, (0,),
    (
        (15, ((0, 0), (2, 0), (2, 3), (12, 3), (12, 0), (14, 0), (14, 5), (0, 5))),
        (7, ((0, 0), (6, -6), (12, 0), (6, 6))),
        (9, ((0, 0), (6, 0), (6, -2), (7, -2), (11, 2), (11, 4), (8, 4), (8, 1), (2, 1), (2, 4), (0, 4))),
        (12, ((0, 0), (2, 0), (2, -2), (4, -2), (4, 0), (6, 0), (6, 2), (4, 2), (4, 4), (2, 4), (2, 2), (0, 2))),
    ),
    0.6879,
)  # fmt: skip
BLAZ1 = Instance(
    "blaz1", 15, (0, 2),
    (
        (4, ((0, 0), (2, -1), (4, 0), (4, 3), (2, 4), (0, 3))),
        (4, ((0, 0), (3, 0), (2, 2), (3, 4), (3, 5), (1, 5), (-1, 3), (-1, 1))),
        (4, ((0, 0), (2, 0), (3, 1), (3, 3), (2, 4), (0, 4), (-1, 3), (-1, 1))),
        (4, ((0, 0), (2, 1), (4, 0), (3, 2), (4, 5), (2, 4), (0, 5), (1, 3))),
        (4, ((0, 0), (5, 0), (5, 5), (4, 5), (3, 3), (2, 2), (0, 1))),
        (4, ((0, 0), (2, 3), (-2, 3))),
        (4, ((0, 0), (2, 0), (2, 2), (0, 2))),
    ),
    0.8484,
)  # fmt: skip
INSTANCES = (FU, SHAPES0, BLAZ1)


def laid_length(instance: Instance, boxes: bool, effort: int) -> tuple[float, float]:
    """Length used, in the source's units, and seconds; a layout with a fault is an error."""
    shapes = [(n, affinity.scale(Polygon(p), SCALE, SCALE, origin=(0, 0))) for n, p in instance.parts]
    flats = []
    for count, shape in shapes:
        area = box(*shape.bounds) if boxes else shape
        flats.append(Flat(area, count, quarter_turns(area, instance.turns)))
    ground = Ground(400 * SCALE, instance.width * SCALE)
    start = time.perf_counter()
    found = nest(flats, [ground], 0.0, effort)
    seconds = time.perf_counter() - start
    if found is None or (faults := nest_faults(flats, [ground], found.laid, 0.0)):
        raise RuntimeError(f"{instance.name}: {faults if found else 'not all parts were laid'}")
    return found.reach / SCALE, seconds


def show_nesting(efforts: tuple[int, ...]) -> None:
    rows = []
    for instance in INSTANCES:
        area = sum(n * Polygon(p).area for n, p in instance.parts)
        bound = area / instance.width
        rectangles, _ = laid_length(instance, True, max(efforts))
        for effort in efforts:
            length, seconds = laid_length(instance, False, effort)
            rows.append(
                (
                    instance.name,
                    str(sum(n for n, _ in instance.parts)),
                    str(effort),
                    f"{length:.2f}",
                    f"{rectangles:.2f}",
                    f"{bound:.2f}",
                    f"{bound / instance.best:.2f}",
                    f"{bound / length:.1%}",
                    f"{seconds:.1f}",
                )
            )
    heads = ("instance", "parts", "effort", "ours", "boxes", "area bound", "best known", "covered", "s")
    print_table("Nesting by outline, published irregular instances", heads, rows)


if __name__ == "__main__":
    show_nesting(tuple(int(a) for a in sys.argv[1:]) or (0, 1500, 20000))
