"""``python -m tests.benchmarks sheets``: the proof of every part sheet of every design, as a table in markdown.

Unknowns to amplification are the second solver's, which takes only what the sheet prints; drift is what the sheet
states. Lengths are in printed steps (``q``: a denominator), so that inch and millimetre designs read alike.
"""

from __future__ import annotations

from tests.dimensioning.test_sheets_from_outside import DESIGNS, solved_of, worst

HEAD = (
    "design", "member", "unknowns", "rank", "redundant", "smallest singular value", "amplification", "drift, q",
    "worst rebuilt vertex, q",
)  # fmt: skip


def show_sheets() -> None:
    print("| " + " | ".join(HEAD) + " |")
    print("|---|---|" + "---:|" * (len(HEAD) - 2))
    for path in DESIGNS:
        for part, sheet, solved in solved_of(path):
            step = float(part.style.step)
            row = (
                path.stem, part.name, solved.unknowns, solved.rank, solved.redundant, f"{solved.smallest:.3f}",
                f"{solved.amplification:.2f}", f"{part.facts['drift'] / step:.2f}",
                f"{worst(part, sheet, solved) / step:.2f}",
            )  # fmt: skip
            print("| " + " | ".join(map(str, row)) + " |", flush=True)
