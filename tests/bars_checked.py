"""A layout of parts on boards judged by itself: from what was asked for and from the places, and nothing else."""

from __future__ import annotations

import itertools
from collections import Counter

from plangen.stock import LengthLayout

SAME = 1e-6


def faults(layout: LengthLayout) -> list[str]:
    """What is wrong with a layout, in words; nothing if it can be cut as it stands."""
    found = []
    made = Counter(p.part for bar in layout.bars for p in bar.parts)
    if made != Counter({k: p.quantity for k, p in enumerate(layout.parts) if p.quantity}):
        found.append(f"parts made {made}")
    for index, _bar in enumerate(layout.bars):
        found += [f"bar {index}: {text}" for text in _bar_faults(layout, index)]
    for index, s in enumerate(layout.stock):
        used = sum(bar.stock == index for bar in layout.bars)
        if s.count is not None and used > s.count:
            found.append(f"{used} of {s.count} {s.name}")
    if abs(_cost(layout) - layout.cost) > SAME:
        found.append(f"cost {layout.cost} instead of {_cost(layout)}")
    if layout.bound > layout.cost + SAME or (layout.proven and abs(layout.bound - layout.cost) > SAME):
        found.append(f"bound {layout.bound} of {layout.cost}")
    return found + _matched_faults(layout)


def _bar_faults(layout: LengthLayout, index: int) -> list[str]:
    bar = layout.bars[index]
    stock = layout.stock[bar.stock]
    trim = layout.trim if stock.trim is None else stock.trim
    found = []
    taken = [(p.at, p.at + layout.parts[p.part].length, f"part {p.part}") for p in bar.parts]
    left = [(o.at, o.at + o.length, "offcut") for o in bar.offcuts]
    for a, b, what in (*taken, *left):
        if a < trim - SAME or b > stock.length - trim + SAME:
            found.append(f"{what} {a} to {b} runs into the trim")
        if any(a < end - SAME and b > start + SAME for start, end in stock.keep_outs):
            found.append(f"{what} {a} to {b} runs into a keep-out")
    both = sorted(taken + left)
    for (_, end, one), (start, _, other) in itertools.pairwise(both):
        if start - end < layout.kerf - SAME:
            found.append(f"{start - end} between {one} and {other}")
    cuts = [c for c in layout.cuts if c.bar == index]
    ends = [c.at for c in cuts if c.kind == "part"]
    expected = [b for _, b, _ in taken if b < stock.length - SAME]
    if [round(v, 6) for v in ends] != [round(v, 6) for v in expected]:
        found.append(f"cuts at {ends} for parts that end at {expected}")
    fresh = [c.at for c in cuts if c.kind != "part"]
    starts = [a for a, _, _ in taken]
    beside = [0.0, *(b + layout.kerf for _, b, _ in taken)]
    clean = [a for a in starts if not any(abs(a - b) <= SAME for b in beside)]
    if [round(v, 6) for v in fresh] != [round(v, 6) for v in clean]:
        found.append(f"fresh ends at {fresh} instead of {clean}")
    return found


def _cost(layout: LengthLayout) -> float:
    total = 0.0
    for bar in layout.bars:
        s = layout.stock[bar.stock]
        total += (0.0 if s.shop else s.length) if s.price is None else s.price
    return total


def _matched_faults(layout: LengthLayout) -> list[str]:
    """Matched parts lie side by side in one bar, a kerf apart, in the order asked for."""
    found = []
    for word in sorted({p.matched for p in layout.parts if p.matched}):
        wanted = [k for k, p in enumerate(layout.parts) for _ in range(p.quantity) if p.matched == word]
        runs = [[p for p in bar.parts if layout.parts[p.part].matched == word] for bar in layout.bars]
        runs = [run for run in runs if run]
        if len(runs) != (1 if wanted else 0):
            found.append(f"{word} on {len(runs)} bars")
            continue
        for run in runs:
            gaps = [b.at - a.end for a, b in itertools.pairwise(run)]
            if [p.part for p in run] != wanted or any(abs(g - layout.kerf) > SAME for g in gaps):
                found.append(f"{word}: {run}")
    return found
