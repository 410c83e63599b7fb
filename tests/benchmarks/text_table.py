"""Tables as plain text, and times as one writes them."""

from __future__ import annotations

from collections.abc import Sequence


def print_table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A heading, then columns to the right but for the first."""
    widths = [max(len(row[k]) for row in (head, *rows)) for k in range(len(head))]
    print(f"\n{title}")
    for row in (head, ["-" * w for w in widths], *rows):
        cells = [
            cell.ljust(w) if k == 0 else cell.rjust(w)
            for k, (cell, w) in enumerate(zip(row, widths, strict=True))
        ]
        print("  " + "  ".join(cells).rstrip())


def seconds(value: float) -> str:
    """Three figures of a time in seconds."""
    return f"{value:.4f}" if value < 0.1 else f"{value:.3f}" if value < 10 else f"{value:.1f}"


def ratio(over: float, under: float) -> str:
    """``over / under`` to one decimal; a dash where there is nothing to divide by."""
    return f"{over / under:.1f}" if under > 0 else "-"
