"""``python -m tests.benchmarks.offcut_bound [JOB ...] [--turn]``: what offcut score no layout of a job can beat.

A score of so many sheets is whole sheets but one, and the share of that one before a straight cut (row 9 of the
table of cutting layouts). For each place where that cut may run, the linear program over all patterns of whole
sheets and of the shortened one tells whether the parts can have room at all; the first place where they can bounds
the score. Parts may be sawn more often than asked for and sheets be used in part, so the bound may be out of reach.
Compiled (``pip install numba``) the fixed jobs take some minutes, the turned ones much longer.
"""

from __future__ import annotations

import argparse
import time
from bisect import bisect_right
from dataclasses import dataclass, field

import highspy

from plangen.stock import SheetPart, SheetStock, cut_sheets
from plangen.stock.sheets.asked import Asked, ask
from plangen.stock.sheets.compiled import compiled_filling
from plangen.stock.sheets.guillotine import Content, Sheet, fill_by_rows, sheet_of
from tests.benchmarks.cutting_sheets import Job, workshop_jobs
from tests.benchmarks.text_table import print_table

EFFORT = 12
ROUNDS = 60
"""Patterns asked for one place of the cut, of each kind."""
SURE = 1e-7


@dataclass
class Shortened:
    """All whole sheets but one, and one shortened along x (way 0) or y (way 1) to the place ``end`` of its side."""

    asked: Asked
    sheet: Sheet
    whole: int
    met: list[tuple[int, int, Content]] = field(default_factory=list)
    """Patterns: the way (-1 of a whole sheet), the place, and what it holds."""

    def hopeless(self, way: int, end: int) -> bool:
        """Whether duals prove that the parts have no room; False also when the rounds are used up."""
        program = self._program(way, end)
        for _ in range(ROUNDS):
            program.run()
            if program.getInfo().objective_function_value < SURE:
                return False
            worth = [max(0.0, d) for d in list(program.getSolution().row_dual)[: len(self.asked.parts)]]
            filled = self.sheet.filled(worth, compiled_filling() or fill_by_rows)
            corner = (end, -1) if way == 0 else (-1, end)
            room = self.whole * filled.best[-1, -1] + filled.best[corner]
            if sum(w * p.quantity for w, p in zip(worth, self.asked.parts, strict=True)) > room + SURE:
                return True
            for pattern in ((-1, 0, filled.held()), (way, end, filled.held(*corner))):
                self.met.append(pattern)
                self._add(program, pattern)
        return False

    def _program(self, way: int, end: int) -> highspy.Highs:
        """The least area that stays without room, over the patterns met so far that fit."""
        program = highspy.Highs()
        program.setOptionValue("output_flag", False)
        endless = highspy.kHighsInf
        for part in self.asked.parts:
            program.addRow(float(part.quantity), endless, 0, [], [])
        program.addRow(-endless, float(self.whole), 0, [], [])
        program.addRow(-endless, 1.0, 0, [], [])
        largest = max(x * y for x, y in self.asked.sizes)
        for k, (x, y) in enumerate(self.asked.sizes):
            program.addCol(x * y / largest, 0.0, endless, 1, [k], [1.0])
        for pattern in self.met:
            if pattern[0] == -1 or (pattern[0] == way and pattern[1] <= end):
                self._add(program, pattern)
        return program

    def _add(self, program: highspy.Highs, pattern: tuple[int, int, Content]) -> None:
        way, _, content = pattern
        rows = [*(k for k, _ in content), len(self.asked.parts) + (way >= 0)]
        counts = [*(float(n) for _, n in content), 1.0]
        program.addCol(0.0, 0.0, highspy.kHighsInf, len(rows), rows, counts)


def least_score(job: Job, score: float, sheets: int) -> float:
    """What no layout of so many sheets can score less than, ``score`` at most."""
    length, width = job.sheet
    parts = [SheetPart(str(k), a, b, n) for k, (a, b, n) in enumerate(job.parts)]
    asked = ask([SheetStock("sheet", length, width)], parts, job.kerf, 0, job.turn, None, None)
    sheet = sheet_of(asked, 0, 10_000)
    assert sheet
    shortened = Shortened(asked, sheet, sheets - 1)
    best = score - (sheets - 1)
    for way, (places, side) in enumerate(((sheet.along.at, length), (sheet.across.at, width))):
        shares = [max(0.0, at * asked.unit - job.kerf) / side for at in places]
        without, with_room = 0, bisect_right(shares, best - 1e-6)
        while with_room - without > 1:
            middle = (without + with_room) // 2
            if shortened.hopeless(way, middle):
                without = middle
            else:
                with_room = middle
        best = min(best, shares[with_room])
    return sheets - 1 + best


def main() -> None:
    """Prints each job's score beside its bound."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.offcut_bound", description=__doc__)
    parser.add_argument("jobs", nargs="*", type=int, metavar="JOB", help="0 to 29; without one all")
    parser.add_argument("--turn", action="store_true", help="parts may turn")
    given = parser.parse_args()
    jobs = workshop_jobs(given.turn, ())
    rows = []
    scores = bounds = 0.0
    for k in given.jobs or range(len(jobs)):
        job, started = jobs[k], time.process_time()
        parts = [SheetPart(str(i), a, b, n) for i, (a, b, n) in enumerate(job.parts)]
        layout = cut_sheets([SheetStock("sheet", *job.sheet)], parts, job.kerf, 0, job.turn, effort=EFFORT)
        bound = least_score(job, layout.score, len(layout.sheets))
        scores, bounds = scores + layout.score, bounds + bound
        took = time.process_time() - started
        rows.append((job.name, f"{layout.score:.3f}", f"{bound:.3f}", f"{took:.1f}"))
        print("  " + "  ".join(rows[-1]), flush=True)
    print_table(
        "Offcut scores",
        ("job", "ours", "least", "CPU s"),
        [*rows, ("sum", f"{scores:.2f}", f"{bounds:.2f}", "")],
    )


if __name__ == "__main__":
    main()
