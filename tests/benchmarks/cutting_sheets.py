"""Rows 5 to 10 of the table of cutting layouts: sheets, ours beside a shelf heuristic and a packing library.

The library is a general one for rectangles (``pip install rectpack``), with its eighteen guillotine algorithms and
two orders of parts, best of 36; without it its columns show the counts that were measured once and kept beside.
"""

from __future__ import annotations

import csv
import importlib.util
import math
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.cutting_jobs import classes, workshop

sys.path.append(str(Path(__file__).parent.parent))
from sheet_checker import check_layout

from plangen.stock import SheetLayout, SheetPart, SheetStock, cut_sheets

REFERENCE = Path(__file__).parent / "cutting_data" / "reference_2d.csv"

CLASS_EFFORTS = (4, 11)
SHEET_EFFORTS = (4, 9)
SCORE_EFFORTS = (11,)
"""Efforts that stay within 10, 2 and 4 seconds a job, compiled; the next is tried if the last proved nothing."""


@dataclass(frozen=True)
class Job:
    """One job: the sheet, kerf, parts (length, width, quantity) and whether they may turn."""

    name: str
    sheet: tuple[int, int]
    kerf: int
    parts: tuple[tuple[int, int, int], ...]
    turn: bool
    efforts: tuple[int, ...]
    known: dict[str, int]


@dataclass(frozen=True)
class Outcome:
    """What came out: sheets and offcut score of ours and of the library, sheets of the shelves, the bound."""

    name: str
    ours: int
    score: float
    bound: int
    proven: bool
    seconds: float
    shelf: int
    library: int | None
    library_score: float | None
    known: dict[str, int]


def class_jobs(turn: bool, efforts: tuple[int, ...] = CLASS_EFFORTS) -> list[Job]:
    """The 150 class instances, with what is known of them."""
    jobs = []
    for row in csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines()):
        if int(row["rotate"]) != turn:
            continue
        cls, n, seed = (int(word.lstrip("clasn")) for word in row["instance"].split("-"))
        width, height, parts = classes(cls, n, seed)
        known = {
            key: int(row[key])
            for key in ("area_or_dff_bound", "shelf", "best_of_36", "reference")
            if row[key]
        }
        ones = tuple((w, h, 1) for w, h in parts)
        jobs.append(Job(row["instance"], (width, height), 0, ones, turn, efforts, known))
    return jobs


def workshop_jobs(turn: bool, efforts: tuple[int, ...]) -> list[Job]:
    """The thirty jobs of a workshop."""
    jobs = []
    for seed in range(30):
        width, height, kerf, parts = workshop(seed)
        jobs.append(Job(f"shop-{seed}", (width, height), kerf, tuple(parts), turn, efforts, {}))
    return jobs


def solve(job: Job) -> tuple[SheetLayout, float]:
    """Our layout of a job, checked, and the seconds of processor that it took."""
    stock = [SheetStock("sheet", *job.sheet)]
    parts = [SheetPart(str(k), w, h, many) for k, (w, h, many) in enumerate(job.parts)]
    started = time.process_time()
    for effort in job.efforts:
        layout = cut_sheets(stock, parts, job.kerf, 0, job.turn, effort=effort)
        if layout.proven:
            break
    took = time.process_time() - started
    check_layout(layout, stock, parts, job.kerf, 0, job.turn)
    return layout, took


def outcome(job: Job) -> Outcome:
    """One job solved by everyone."""
    layout, took = solve(job)
    library = best_of_library(job)
    return Outcome(
        job.name, len(layout.sheets), layout.score, round(layout.bound / math.prod(job.sheet)), layout.proven, took,
        shelves(job), library and library[0], library and library[1], job.known,
    )  # fmt: skip


def shelves(job: Job) -> int:
    """First fit by falling height into shelves, shelves first fit into sheets; parts as they are."""
    length, width = (side + job.kerf for side in job.sheet)
    rows: list[list[int]] = []
    parts = [(w + job.kerf, h + job.kerf) for w, h, many in job.parts for _ in range(many)]
    for w, h in sorted(parts, key=lambda p: (-p[1], -p[0])):
        row = next((r for r in rows if r[0] >= h and r[1] >= w), None)
        if row is None:
            row = [h, length]
            rows.append(row)
        row[1] -= w
    sheets: list[int] = []
    for h, _ in sorted(rows, reverse=True):
        fits = next((k for k, left in enumerate(sheets) if left >= h), None)
        if fits is None:
            fits = len(sheets)
            sheets.append(width)
        sheets[fits] -= h
    return len(sheets)


def best_of_library(job: Job) -> tuple[int, float] | None:
    """Fewest sheets, then best offcut score, of the library's guillotine algorithms by area and by short side."""
    if importlib.util.find_spec("rectpack") is None:
        return None
    import rectpack
    from rectpack import guillotine

    length, width = (side + job.kerf for side in job.sheet)
    parts = [(w + job.kerf, h + job.kerf) for w, h, many in job.parts for _ in range(many)]
    found = []
    for choice in ("Bssf", "Blsf", "Baf"):
        for split in ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas"):
            for order in (rectpack.SORT_AREA, rectpack.SORT_SSIDE):
                packer = rectpack.newPacker(
                    rotation=job.turn,
                    sort_algo=order,
                    pack_algo=getattr(guillotine, f"Guillotine{choice}{split}"),
                )
                for p in parts:
                    packer.add_rect(*p)
                packer.add_bin(length, width, count=len(parts))
                packer.pack()
                if sum(len(sheet) for sheet in packer) == len(parts):
                    found.append((len(packer), _score(packer, length, width, job.kerf)))
    return min(found)


def _score(packer: Sequence, length: int, width: int, kerf: int) -> float:
    """Sheets, less the largest share of one behind a straight cut."""
    freed = 0.0
    for sheet in packer:
        for side, ends in (
            (length, [r.x + r.width for r in sheet]),
            (width, [r.y + r.height for r in sheet]),
        ):
            freed = max(freed, 1 - (max(ends) - kerf) / (side - kerf))
    return len(packer) - freed


def solved(jobs: Sequence[Job], workers: int) -> list[Outcome]:
    """All jobs; the first is solved twice, since the first one may have to compile."""
    solve(jobs[0])
    if workers < 2:
        return [outcome(job) for job in jobs]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(outcome, jobs))


def sheet_rows(workers: int, names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The rows of the table, as text."""
    for name, title, aim, jobs in (
        ("5", "classes, fixed, 150 [10 s]", "2159", lambda: class_jobs(False)),
        ("6", "classes, rotatable, 150 [10 s]", "2078", lambda: class_jobs(True)),
        ("7", "workshop, fixed: sheets [2 s]", "106", lambda: workshop_jobs(False, SHEET_EFFORTS)),
        ("8", "workshop, rotatable: sheets [2 s]", "104", lambda: workshop_jobs(True, SHEET_EFFORTS)),
    ):
        if name in names:
            yield _count_row(name, title, aim, solved(jobs(), workers))
    for turn, title, aim in (
        (False, "the same, offcut score, fixed [4 s]", "92.0"),
        (True, "rotatable", "87.8"),
    ):
        if "9" in names:
            yield _score_row("9", title, aim, solved(workshop_jobs(turn, SCORE_EFFORTS), workers))
    if "10" in names:
        yield from _first_rows()


def _total(values: Sequence[int | None]) -> str:
    return str(sum(v for v in values if v is not None)) if None not in values else "-"


def _times(found: Sequence[Outcome]) -> tuple[str, str]:
    took = [o.seconds for o in found]
    return f"{statistics.median(took):.2f}", f"{max(took):.2f}"


def _count_row(name: str, title: str, aim: str, found: list[Outcome]) -> tuple[str, ...]:
    library = [o.library if o.library is not None else o.known.get("best_of_36") for o in found]
    worse = sum(best is not None and o.ours > best for o, best in zip(found, library, strict=True))
    return (
        name, title, str(sum(o.ours for o in found)), aim, str(sum(o.bound for o in found)),
        str(sum(o.proven for o in found)), str(sum(o.shelf for o in found)), _total(library),
        _total([o.known.get("reference") for o in found]), str(worse), *_times(found),
    )  # fmt: skip


def _score_row(name: str, title: str, aim: str, found: list[Outcome]) -> tuple[str, ...]:
    scores = [o.library_score for o in found]
    known = None not in scores
    worse = sum(s is not None and o.score > s + 1e-6 for o, s in zip(found, scores, strict=True))
    return (
        name, title, f"{sum(o.score for o in found):.2f}", aim, "-", "-", "-",
        f"{sum(s or 0 for s in scores):.2f}" if known else "-", "-", str(worse) if known else "-", *_times(found),
    )  # fmt: skip


def _first_rows() -> Iterator[tuple[str, ...]]:
    """The first valid layout of up to a hundred parts, and small jobs finished, both in plain Python."""
    hundred = [job for job in class_jobs(True, (0,)) if len(job.parts) == 100]
    yield _time_row("first valid layout of 100 parts", "0.1 s", [solve(job)[1] for job in hundred])
    small = [job for job in workshop_jobs(True, (4,)) if sum(p[2] for p in job.parts) <= 30]
    yield _time_row("workshop jobs of up to 30 parts finished", "1 s", [solve(job)[1] for job in small])


def _time_row(title: str, aim: str, took: list[float]) -> tuple[str, ...]:
    return ("10", title, "-", aim, *["-"] * 6, f"{statistics.median(took):.2f}", f"{max(took):.2f}")


Rows = Callable[[int, Sequence[str]], Iterator[tuple[str, ...]]]
