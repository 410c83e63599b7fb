"""Ruin and recreate on cut trees (the goal-driven form: Gardeyn and Wauters 2022, from memory of the idea).

The sheets that may be used are bounded by their cost, which is less than that of the best layout known; parts that
find no room stay out. A move takes some parts out and puts all that are out back one after another, each where it
destroys least of what is left. Moves are judged by the area that is out, then by how whole the leftovers are, by
late acceptance (Burke and Bykov 2017): no worse than what stood a fixed number of moves ago. Runs plain or compiled.
"""

from __future__ import annotations

from plangen.stock.sheets.trees import (
    Floats,
    Ints,
    Job,
    Trees,
    best_spot,
    close_sheet,
    keep,
    open_sheet,
    put,
    rnd,
    take,
    total_worth,
)

NEATNESS = 0.1
"""How much the leftovers' worth counts beside the area of the parts that are out."""


def any_part(job: Job, t: Trees) -> int:
    """A part that lies on a sheet, at random; -1 if none is met soon."""
    for _ in range(20):
        p = rnd(t, job.n)
        if t.par[p] >= 0:
            return p
    return -1


def lies_under(t: Trees, part: int, node: int) -> bool:
    """Whether a part was cut, sooner or later, from a structure."""
    i = t.par[part]
    while i >= 0:
        if i == node:
            return True
        i = t.par[i]
    return False


def ruin(job: Job, t: Trees) -> None:
    """Takes some parts out: some of one or two sheets, all that came from one piece, or a whole sheet."""
    a = any_part(job, t)
    if a < 0:
        return
    mode = rnd(t, 16)
    s = t.sheet[a]
    if mode < 9:
        b = any_part(job, t)
        other = t.sheet[b] if b >= 0 and mode < 6 else s
        several = t.held[s] + (t.held[other] if other != s else 0)
        take(job, t, a)
        some = 1 + rnd(t, 8)
        for p in range(job.n):
            if t.par[p] >= 0 and (t.sheet[p] == s or t.sheet[p] == other) and rnd(t, several) < some:
                take(job, t, p)
        drop_empty(job, t, other)
    elif mode < 15:
        for _ in range(1 + rnd(t, 3)):
            a = any_part(job, t)
            if a < 0:
                break
            i = t.par[a]
            if t.par[i] >= 0 and rnd(t, 2) == 0:
                i = t.par[i]
            s = t.sheet[a]
            for p in range(job.n):
                if t.par[p] >= 0 and t.sheet[p] == s and lies_under(t, p, i):
                    take(job, t, p)
            drop_empty(job, t, s)
        return
    else:
        clear(job, t, s)
        return
    drop_empty(job, t, s)


def drop_empty(job: Job, t: Trees, s: int) -> None:
    """Puts a sheet back if nothing is left on it."""
    if t.root[s] >= 0 and t.held[s] == 0:
        close_sheet(job, t, s)


def in_order(job: Job, t: Trees, out: Ints, key: Floats) -> int:
    """The parts that are out, in an order drawn at random: large, long, wide ones first, or any; how many."""
    many = 0
    mode = rnd(t, 8)
    for p in range(job.n):
        if t.par[p] >= 0:
            continue
        kind = job.part_type[p]
        x, y = job.length[kind], job.width[kind]
        if mode < 3:
            k = job.area[kind]
        elif mode == 3:
            k = float(x)
        elif mode == 4:
            k = float(y)
        elif mode == 5:
            k = float(max(x, y))
        elif mode == 6:
            k = float(x + y)
        else:
            k = float(rnd(t, 1000))
        j = many
        while j > 0 and key[j - 1] < k:
            key[j] = key[j - 1]
            out[j] = out[j - 1]
            j -= 1
        key[j] = k
        out[j] = p
        many += 1
    return many


def new_sheet(job: Job, t: Trees, kind_of_part: int, budget: float) -> int:
    """Opens a sheet on which the part has room, if what may be spent allows one: the sheet, or -1."""
    k = rnd(t, job.kinds)
    for _ in range(job.kinds):
        k = (k + 1) % job.kinds
        if (
            t.left[job.group[k]] > 0
            and t.spent[0] + job.cost[k] <= budget
            and job.turns[kind_of_part * job.kinds + k]
        ):
            s = open_sheet(job, t, k)
            where, _how, _which = best_spot(job, t, kind_of_part, 0, s)
            if where >= 0:
                return s
            close_sheet(job, t, s)
    return -1


def recreate(job: Job, t: Trees, out: Ints, key: Floats, blink: int, budget: float) -> float:
    """Puts back what is out; the area that found no room, in sheets."""
    many = in_order(job, t, out, key)
    failed = -1
    area = 0.0
    for k in range(many):
        p = out[k]
        kind = job.part_type[p]
        if kind == failed:
            area += job.area[kind]
            continue
        where, how, which = best_spot(job, t, kind, blink, -1)
        if where < 0:
            s = new_sheet(job, t, kind, budget)
            if s < 0:
                failed = kind
                area += job.area[kind]
                continue
            where, how, which = best_spot(job, t, kind, 0, s)
        put(job, t, p, where, how, which)
    return area


def squeeze(job: Job, t: Trees, budget: float) -> None:
    """Clears sheets, the emptiest for their cost first, until what is spent is within the budget."""
    while t.spent[0] > budget:
        load = [0.0] * len(t.root)
        for p in range(job.n):
            if t.par[p] >= 0:
                load[t.sheet[p]] += job.area[job.part_type[p]]
        dear = [s for s in range(len(t.root)) if t.root[s] >= 0 and job.cost[t.kind[s]] > 0]
        clear(job, t, min(dear, key=lambda s: (load[s] / job.cost[t.kind[s]], s)))


def clear(job: Job, t: Trees, s: int) -> None:
    """Takes every part off a sheet and puts it back."""
    for p in range(job.n):
        if t.par[p] >= 0 and t.sheet[p] == s:
            take(job, t, p)
    drop_empty(job, t, s)


def left_out(job: Job, t: Trees) -> int:
    """How many parts have found no room."""
    many = 0
    for p in range(job.n):
        if t.par[p] < 0:
            many += 1
    return many


def search(
    job: Job,
    t: Trees,
    old: Trees,
    out: Ints,
    key: Floats,
    past: Floats,
    budget: float,
    moves: int,
    fresh: bool,
) -> bool:
    """Moves until every part has found room for the budget (True) or the moves are used up.

    ``fresh`` puts in first what is out, and forgets what late acceptance remembers; otherwise a search goes on.
    """
    area = 0.0
    if fresh:
        area = recreate(job, t, out, key, 0, budget)
    else:
        for p in range(job.n):
            if t.par[p] < 0:
                area += job.area[job.part_type[p]]
    now = area - NEATNESS * total_worth(t)
    if fresh:
        for k in range(len(past)):
            past[k] = now
    keep(old, t)
    for _ in range(moves):
        if area == 0.0:
            return True
        t.count[4] += 1
        ruin(job, t)
        area = recreate(job, t, out, key, 64, budget)
        new = area - NEATNESS * total_worth(t)
        late = t.count[4] % len(past)
        if new <= now or new <= past[late] or area == 0.0:
            now = new
            keep(old, t)
        else:
            keep(t, old)
            area = 1.0
        if now < past[late]:
            past[late] = now
    return left_out(job, t) == 0
