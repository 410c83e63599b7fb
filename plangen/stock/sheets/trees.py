"""Cut trees in flat arrays, and what is done to them: a part put into what is left, a part taken out.

One source runs twice: as plain Python on lists, and compiled on arrays (``compiled.py``); both do the same.
Sizes are whole units with the kerf added to each part and sheet, so that sizes simply add up.

A node below ``job.n`` is a part, the others are *structures*: a rectangle divided in one direction (0 along x by
crosscuts, 1 along y by rips) into children from its start, with ``rest`` left at its end. What is left is always
one rectangle at the end of a structure, never a node: parts taken out give their extent back to it, and a
structure without children gives its own back to its parent.
"""

from __future__ import annotations

from math import sqrt
from typing import Any, NamedTuple

Ints = Any
"""A list of int, or a compiled array of 64 bit."""
Floats = Any

FREE = 1_000_000
"""So many stages as good as none prescribed."""


class Job(NamedTuple):
    """What does not change: parts by type, kinds of sheet (a stock, a first direction, a way round keep-outs)."""

    n: int
    part_type: Ints
    length: Ints
    width: Ints
    area: Floats
    turns: Ints  # by type * kinds + kind: 1 as it is, 2 turned, 3 both, 0 not at all
    kinds: int
    cost: Floats
    group: Ints  # by kind: the stock it is of
    first: Ints  # by kind: where its nodes begin below; one longer than there are kinds
    node_par: Ints
    node_dir: Ints
    node_lev: Ints
    node_len: Ints
    node_wid: Ints
    node_rest: Ints
    strict: Ints  # by kind: 1 if the first cut must run as the root's direction says
    stages: int
    least: int
    per_area: float


class Trees(NamedTuple):
    """What is being changed."""

    par: Ints
    dir: Ints
    lev: Ints
    len: Ints
    wid: Ints
    rest: Ints
    kids: Ints
    sheet: Ints
    origin: Ints  # the node of ``job`` that a structure of a fresh sheet is, or -1
    alive: Ints
    place: Ints
    spare: Ints
    root: Ints
    kind: Ints
    held: Ints
    left: Ints
    worth: Floats  # of what each structure has left
    count: Ints  # 0 structures alive, 1 spare structures, 2 sheets in use, 3 random state, 4 moves, 5 to overlook
    spent: Floats  # 0 cost


def rnd(t: Trees, below: int) -> int:
    """A whole number from 0 to ``below`` - 1 (Park and Miller 1988: 48271, modulus 2^31 - 1)."""
    x = t.count[3] * 48271
    x = (x & 2147483647) + (x >> 31)
    if x >= 2147483647:
        x -= 2147483647
    t.count[3] = x
    return ((x >> 4) * below) >> 27


def worth(job: Job, x: int, y: int) -> float:
    """What a leftover is worth: area to the power 1.5, so that one large one beats two halves."""
    if x < job.least or y < job.least:
        return 0.0
    a = float(x) * float(y) * job.per_area
    return a * sqrt(a)


def set_rest(job: Job, t: Trees, i: int, rest: int) -> None:
    """What a structure has left, and the worth of it."""
    t.rest[i] = rest
    if rest <= 0 or t.lev[i] >= job.stages:
        t.worth[i] = 0.0
    elif t.dir[i] == 0:
        t.worth[i] = worth(job, rest, t.wid[i])
    else:
        t.worth[i] = worth(job, t.len[i], rest)


def reckon(job: Job, t: Trees) -> None:
    """Sets the worth of what every structure has left, after sizes have been changed by themselves."""
    for k in range(t.count[0]):
        set_rest(job, t, t.alive[k], t.rest[t.alive[k]])


def new_node(job: Job, t: Trees, par: int, way: int, lev: int, x: int, y: int, rest: int, sheet: int) -> int:
    """A structure, without children."""
    t.count[1] -= 1
    i = t.spare[t.count[1]]
    t.par[i] = par
    t.dir[i] = way
    t.lev[i] = lev
    t.len[i] = x
    t.wid[i] = y
    set_rest(job, t, i, rest)
    t.kids[i] = 0
    t.sheet[i] = sheet
    t.origin[i] = -1
    t.place[i] = t.count[0]
    t.alive[t.count[0]] = i
    t.count[0] += 1
    return i


def drop_node(t: Trees, i: int) -> None:
    """Forgets a structure."""
    t.count[0] -= 1
    last = t.alive[t.count[0]]
    k = t.place[i]
    t.alive[k] = last
    t.place[last] = k
    t.dir[i] = -1
    t.spare[t.count[1]] = i
    t.count[1] += 1


def open_sheet(job: Job, t: Trees, kind: int) -> int:
    """A fresh sheet of a kind; its fixed structures count themselves as a child, so that they stay."""
    s = 0
    while t.root[s] >= 0:
        s += 1
    a = job.first[kind]
    at = t.count[0]
    for j in range(a, job.first[kind + 1]):
        par = -1 if job.node_par[j] < 0 else t.alive[at + job.node_par[j]]
        i = new_node(
            job,
            t,
            par,
            job.node_dir[j],
            job.node_lev[j],
            job.node_len[j],
            job.node_wid[j],
            job.node_rest[j],
            s,
        )
        t.kids[i] = 1
        t.origin[i] = j
    t.root[s] = t.alive[at]
    t.kind[s] = kind
    t.held[s] = 0
    t.left[job.group[kind]] -= 1
    t.count[2] += 1
    t.spent[0] += job.cost[kind]
    return s


def close_sheet(job: Job, t: Trees, s: int) -> None:
    """Puts a sheet without parts back."""
    k = 0
    while k < t.count[0]:
        i = t.alive[k]
        if t.sheet[i] == s:
            drop_node(t, i)
        else:
            k += 1
    t.root[s] = -1
    t.left[job.group[t.kind[s]]] += 1
    t.count[2] -= 1
    t.spent[0] -= job.cost[t.kind[s]]


def best_spot(job: Job, t: Trees, kind_of_part: int, blink: int, only: int) -> tuple[int, int, int]:
    """Where a part goes best: structure (-1 nowhere), turned, and whether what is left is cut along it first.

    The best is what destroys least of the worth of what is left; one place in ``blink`` is overlooked.
    """
    px = job.length[kind_of_part]
    py = job.width[kind_of_part]
    base = kind_of_part * job.kinds
    best = 1e300
    where = -1
    how = 0
    which = 0
    for k in range(t.count[0]):
        i = t.alive[k]
        r = t.rest[i]
        level = t.lev[i]
        if r == 0 or level >= job.stages:
            continue
        s = t.sheet[i]
        if only >= 0 and s != only:
            continue
        turns = job.turns[base + t.kind[s]]
        along = t.dir[i] == 0
        other = t.wid[i] if along else t.len[i]
        for turned in range(2):
            if not turns & (turned + 1):
                continue
            # p runs the way of the rest, q across it
            if along == (turned == 0):
                p, q = px, py
            else:
                p, q = py, px
            if p > r or q > other:
                continue
            if blink > 0:
                t.count[5] -= 1
                if t.count[5] < 0:
                    t.count[5] = rnd(t, 2 * blink)
                    continue
            loss = t.worth[i] - worth(job, r - p, other)
            if level + 1 < job.stages:
                loss -= worth(job, p, other - q)
            if loss < best:
                best, where, how, which = loss, i, turned, 0
            if q < other and level + 1 < job.stages + (p == r):
                loss = t.worth[i]
                if level + 1 < job.stages:
                    loss -= worth(job, r, other - q)
                if level + 2 < job.stages:
                    loss -= worth(job, r - p, q)
                if loss < best:
                    # Where the first cut is prescribed, a whole sheet is not cut along the other way first.
                    if job.strict[t.kind[s]] == 1 and t.par[i] < 0 and r == (t.len[i] if along else t.wid[i]):
                        continue
                    best, where, how, which = loss, i, turned, 1
    return where, how, which


def put(job: Job, t: Trees, part: int, i: int, turned: int, crosswise: int) -> None:
    """Cuts a part out of what structure ``i`` has left: a strip across it first, or, crosswise, along it."""
    kind = job.part_type[part]
    x, y = job.length[kind], job.width[kind]
    if turned:
        x, y = y, x
    along = t.dir[i] == 0
    s = t.sheet[i]
    t.held[s] += 1
    if not crosswise:
        p = x if along else y
        q, other = (y, t.wid[i]) if along else (x, t.len[i])
        set_rest(job, t, i, t.rest[i] - p)
        t.kids[i] += 1
        if q < other:
            nx, ny = (p, other) if along else (other, p)
            i = new_node(job, t, i, 1 - t.dir[i], t.lev[i] + 1, nx, ny, other - q, s)
            t.kids[i] = 1
    else:
        r = t.rest[i]
        other = t.wid[i] if along else t.len[i]
        p, q = (x, y) if along else (y, x)
        set_rest(job, t, i, 0)
        t.kids[i] += 1
        nx, ny = (r, other) if along else (other, r)
        i = new_node(job, t, i, 1 - t.dir[i], t.lev[i] + 1, nx, ny, other - q, s)
        t.kids[i] = 1
        if p < r:
            nx, ny = (r, q) if along else (q, r)
            i = new_node(job, t, i, 1 - t.dir[i], t.lev[i] + 1, nx, ny, r - p, s)
            t.kids[i] = 1
    t.par[part] = i
    t.dir[part] = turned
    t.len[part] = x
    t.wid[part] = y
    t.sheet[part] = s


def take(job: Job, t: Trees, part: int) -> None:
    """Takes a part out; structures left without children vanish."""
    i = part
    up = t.par[i]
    t.held[t.sheet[part]] -= 1
    while True:
        set_rest(job, t, up, t.rest[up] + (t.len[i] if t.dir[up] == 0 else t.wid[i]))
        t.kids[up] -= 1
        if i >= job.n:
            drop_node(t, i)
        if t.kids[up] > 0:
            break
        i = up
        up = t.par[i]
    t.par[part] = -1


def total_worth(t: Trees) -> float:
    """The worth of all that is left."""
    total = 0.0
    for k in range(t.count[0]):
        total += t.worth[t.alive[k]]
    return total


def keep(a: Trees, b: Trees) -> None:
    """Copies the state of ``b`` into ``a``, but for the random state and the moves counted."""
    a.par[:] = b.par
    a.dir[:] = b.dir
    a.lev[:] = b.lev
    a.len[:] = b.len
    a.wid[:] = b.wid
    a.rest[:] = b.rest
    a.kids[:] = b.kids
    a.sheet[:] = b.sheet
    a.origin[:] = b.origin
    a.alive[:] = b.alive
    a.place[:] = b.place
    a.spare[:] = b.spare
    a.root[:] = b.root
    a.kind[:] = b.kind
    a.held[:] = b.held
    a.left[:] = b.left
    a.worth[:] = b.worth
    a.count[0] = b.count[0]
    a.count[1] = b.count[1]
    a.count[2] = b.count[2]
    a.spent[0] = b.spent[0]


def settle(job: Job, t: Trees) -> None:
    """Makes every strip no wider than what it holds: the slack joins what is left beside it."""
    while _narrow(job, t):
        _join(job, t)
    reckon(job, t)


def _narrow(job: Job, t: Trees) -> bool:
    """One round of taking slack off structures; whether there was any."""
    slack: dict[int, int] = {}
    for i in (*range(job.n), *t.alive[: t.count[0]]):
        up = int(t.par[i])
        if up >= 0:
            slack[up] = min(slack.get(up, int(t.rest[i])), int(t.rest[i])) if i >= job.n else 0
    found = False
    for i in list(t.alive[: t.count[0]]):
        by = slack.get(int(i), 0)
        if by == 0 or t.par[i] < 0 or t.origin[i] >= 0:
            continue
        found = True
        sizes = t.len if t.dir[i] == 1 else t.wid
        sizes[i] -= by
        t.rest[t.par[i]] += by
        for c in t.alive[: t.count[0]]:
            if t.par[c] == i:
                sizes[c] -= by
                t.rest[c] -= by
        slack = {}
        break
    return found


def _join(job: Job, t: Trees) -> None:
    """Structures that only hold one thing, and that whole, give way to it."""
    for i in list(t.alive[: t.count[0]]):
        if t.dir[i] < 0 or t.rest[i] or t.kids[i] != 1 or t.par[i] < 0 or t.origin[i] >= 0:
            continue
        up = t.par[i]
        only = next(c for c in (*range(job.n), *t.alive[: t.count[0]]) if t.par[c] == i and t.dir[c] >= 0)
        if only < job.n:
            t.par[only] = up
        else:
            for c in (*range(job.n), *t.alive[: t.count[0]]):
                if t.par[c] == only:
                    t.par[c] = up
            t.kids[up] += t.kids[only] - 1
            t.rest[up] += t.rest[only]
            drop_node(t, only)
        drop_node(t, i)
