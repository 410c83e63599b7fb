"""Rows 1 to 4 of the table of cutting layouts, and the lengths' half of row 10: ours beside best fit.

Instances: Falkenauer 1996 (u250, t60, t120), Wäscher and Gau 1996, Belov and Scheithauer 2006 (CC0, see the licence
beside them); row 4 is drawn here: 200 kinds in boards of 100,000 units, in six ranges of length and demand.
"""

from __future__ import annotations

import csv
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.append(str(Path(__file__).parent.parent))
from bars_checked import faults

from plangen.stock import LengthLayout, LengthPart, LengthStock, cut_lengths

DATA = Path(__file__).parent / "cutting_data" / "1d"
USUAL, HARD = 3, 5
"""Efforts: the usual one; the one that stays within 20 seconds a job of row 3."""
RANGES = (
    ("20,000-35,000, one each", 20_000, 35_000, 1),
    ("1,000-50,000, one each", 1_000, 50_000, 1),
    ("1,000-100,000, one each", 1_000, 100_000, 1),
    ("2,000-40,000, up to 10", 2_000, 40_000, 10),
    ("500-15,000, up to 20", 500, 15_000, 20),
    ("10,000-33,000, up to 50", 10_000, 33_000, 50),
)
Row = tuple[str, ...]


@dataclass(frozen=True)
class Job:
    """One length of stock, without kerf; lengths with their demands."""

    name: str
    stock: int
    parts: tuple[tuple[int, int], ...]


def length_rows(names: Sequence[str]) -> Iterator[Row]:
    """The rows that are asked for."""
    if "1" in names:
        yield _row("1", "u250, 20 [5 s]", _falkenauer("binpack2.txt"), USUAL, "2032, all proven")
    if "2" in names:
        jobs = [*_falkenauer("binpack5.txt"), *_falkenauer("binpack6.txt")]
        yield _row("2", "t60 + t120, 40 [5 s]", jobs, USUAL, "1200, all proven")
    if "3" in names:
        jobs = _gau_and_belov()
        yield _row("3", f"Wäscher-Gau 17 + hard28 14 [20 s], effort {HARD}", jobs, HARD, "1279, 28 proven")
    if "4" in names:
        for words, low, high, most in RANGES:
            jobs = [_drawn(words, low, high, most, seed) for seed in range(2)]
            yield _row("4", f"200 kinds, {words}, 2 [10 s]", jobs, USUAL, "bound + 1 each")
    if "10" in names:
        yield _row("10", "lengths: first valid, 100 parts [0.1 s]", [_shop(100, k) for k in range(10)], 0, "")
        yield _row("10", "lengths: up to 30 parts [1 s]", [_shop(30, k) for k in range(10)], USUAL, "")


def _row(row: str, words: str, jobs: Sequence[Job], effort: int, reach: str) -> Row:
    found: list[tuple[LengthLayout, float]] = []
    best_fit = 0
    known = _best_known()
    for job in jobs:
        stock = [LengthStock("board", job.stock)]
        parts = [LengthPart(str(k), length, n) for k, (length, n) in enumerate(job.parts)]
        start = time.process_time()
        layout = cut_lengths(stock, parts, effort=effort)
        found.append((layout, time.process_time() - start))
        if wrong := faults(layout):
            raise AssertionError(f"{job.name}: {wrong[0]}")
        best_fit += _best_fit(job)
        if job.name in known and len(layout.bars) != known[job.name]:
            print(f"  {job.name}: {len(layout.bars)} boards, best known {known[job.name]}")
    ours = sum(len(x.bars) for x, _ in found)
    bound = sum(round(x.bound / job.stock) for (x, _), job in zip(found, jobs, strict=True))
    proven = sum(x.proven for x, _ in found)
    seconds = [s for _, s in found]
    return (
        row, words, str(ours), reach, str(bound), f"{proven}/{len(jobs)}", str(best_fit), "-", "-", "-",
        f"{statistics.median(seconds):.2f}", f"{max(seconds):.2f}",
    )  # fmt: skip


def _best_fit(job: Job) -> int:
    """Boards by best fit decreasing, written out on its own."""
    rooms: list[int] = []
    for length, many in sorted(job.parts, reverse=True):
        for _ in range(many):
            fits = [r for r in rooms if r >= length]
            if fits:
                rooms.remove(min(fits))
            rooms.append((min(fits) if fits else job.stock) - length)
    return len(rooms)


def _best_known() -> dict[str, int]:
    text = (DATA / "best_known_1d.csv").read_text(encoding="utf-8")
    return {r["instance"]: int(r["best"]) for r in csv.DictReader(text.splitlines())}


def _falkenauer(name: str) -> list[Job]:
    lines = iter((DATA / name).read_text().split("\n"))
    jobs = []
    for _ in range(int(next(lines))):
        title = next(lines).strip()
        stock, many, _ = next(lines).split()
        lengths = Counter(round(10 * float(next(lines))) for _ in range(int(many)))
        jobs.append(Job(title, round(10 * float(stock)), tuple(sorted(lengths.items(), reverse=True))))
    return jobs


def _gau_and_belov() -> list[Job]:
    """Each instance once: the second file of Wäscher and Gau repeats four of the first."""
    jobs: dict[tuple[int, tuple[tuple[int, int], ...]], Job] = {}
    for name in ("waegau1.bpp", "waegau2.bpp", "hard28-odd.txt"):
        lines = iter(line for line in (DATA / name).read_text().split("\n") if line.strip())
        for line in lines:
            many, stock = int(next(lines)), int(next(lines))
            parts = tuple((int(a), int(b)) for a, b in (next(lines).split() for _ in range(many)))
            title = " ".join(line.strip().strip("'").split())
            jobs.setdefault((stock, parts), Job(title.replace("BPP", "hard28 BPP"), stock, parts))
    return list(jobs.values())


def _drawn(words: str, low: int, high: int, most: int, seed: int) -> Job:
    rng = random.Random(f"{words}-{seed}")
    kinds = sorted(rng.sample(range(low, high + 1), 200), reverse=True)
    return Job(f"{words} {seed}", 100_000, tuple((k, rng.randint(1, most)) for k in kinds))


def _shop(parts: int, seed: int) -> Job:
    """Whole millimetres in boards of 2.4 m, each length one to four times."""
    rng = random.Random(f"lengths-{parts}-{seed}")
    many: Counter[int] = Counter()
    while many.total() < parts:
        many[rng.randint(120, 1300)] += min(rng.choice([1, 2, 2, 4]), parts - many.total())
    return Job(f"shop {seed}", 2400, tuple(sorted(many.items(), reverse=True)))
