"""What is asked for, checked and turned into whole units with the kerf added to parts and sheets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.stock.sheets.layout import Cut, KeepOut, NoLayout, SheetPart, SheetStock
from plangen.stock.sheets.trees import FREE, Job, Trees

_UNITS = 1_000_000
"""Units in a millimetre: a 64th of an inch is a whole number of them."""

_MOST_NODES = 64
"""Pieces that keep-outs may divide one sheet into."""


@dataclass(frozen=True)
class Node:
    """A structure that a fresh sheet has: index of its parent (-1 none), direction, level, sizes and rest.

    ``spans`` are from, to along its direction and the index of the structure there, -1 where it is spoilt; without
    any it is whole.
    """

    par: int
    dir: int
    lev: int
    len: int
    wid: int
    rest: int
    at: tuple[int, int]
    spans: tuple[tuple[int, int, int], ...] = ()


@dataclass(frozen=True)
class Kind:
    """Sheets of one stock, first cut in one direction (``strict``: as prescribed).

    Kinds of one ``group`` share how many there are: by stock, and one more for the sheet that is cut short.
    """

    stock: int
    nodes: tuple[Node, ...]
    strict: bool
    group: int

    @property
    def size(self) -> tuple[int, int]:
        return self.nodes[0].len, self.nodes[0].wid


@dataclass(frozen=True)
class Asked:
    """A checked job in whole units of ``unit`` millimetres; sizes with the kerf."""

    stock: tuple[SheetStock, ...]
    parts: tuple[SheetPart, ...]
    kerf: float
    trim: float
    unit: float
    kerf_units: int
    sizes: tuple[tuple[int, int], ...]
    sheets: tuple[tuple[int, int], ...]
    turns: tuple[tuple[int, ...], ...]
    costs: tuple[float, ...]
    first_cut: Cut | None
    stages: int


def ask(
    stock: Sequence[SheetStock],
    parts: Sequence[SheetPart],
    kerf: float,
    trim: float,
    turn: bool,
    first_cut: Cut | None,
    stages: int | None,
) -> Asked:
    """Checks what is asked; ``NoLayout`` or ``ValueError`` in plain words for what cannot be."""
    if kerf < 0 or trim < 0:
        raise ValueError("the kerf and the trim must not be less than nothing")
    if stages not in (None, 2, 3):
        raise ValueError("stages are 2, 3 or not prescribed")
    if first_cut not in (None, "rip", "crosscut"):
        raise ValueError("the first cut is a rip or a crosscut")
    for part in parts:
        if part.length <= 0 or part.width <= 0 or part.quantity < 0:
            raise ValueError(f"{part.name}: sizes must be more than nothing")
    whole = [(_whole(s.length - 2 * trim), _whole(s.width - 2 * trim)) for s in stock]
    k = _whole(kerf)
    sheets = [(x + k, y + k) if x > 0 and y > 0 else (0, 0) for x, y in whole]
    sizes = [(_whole(p.length) + k, _whole(p.width) + k) for p in parts]
    common = math.gcd(k, *(v for pair in (*sheets, *sizes) for v in pair), *_keep_out_units(stock, trim)) or 1
    asked = Asked(
        tuple(stock), tuple(parts), kerf, trim, common / _UNITS, k // common,
        tuple((x // common, y // common) for x, y in sizes),
        tuple((x // common, y // common) for x, y in sheets),
        tuple(tuple(_turns(p, s, turn) for s in stock) for p in parts),
        _costs(stock), first_cut, stages or FREE,
    )  # fmt: skip
    _check_room(asked)
    return asked


def _whole(length: float) -> int:
    return round(length * _UNITS)


def _keep_out_units(stock: Sequence[SheetStock], trim: float) -> list[int]:
    return [
        _whole(v)
        for s in stock
        for o in s.keep_outs
        for v in (o.x - trim, o.y - trim, o.x + o.length - trim, o.y + o.width - trim)
    ]


def _turns(part: SheetPart, sheet: SheetStock, turn: bool) -> int:
    """1: the part's length may run along the sheet's; 2: across it; 3: either."""
    if part.grain == "any" or sheet.grain == "none":
        return 3 if turn else 1
    return 1 if part.grain == sheet.grain else 2


def _costs(stock: Sequence[SheetStock]) -> tuple[float, ...]:
    """Prices, or areas if none is given; what lies in the shop costs nothing."""
    priced = [s for s in stock if s.price is not None]
    without = [s.name for s in stock if s.price is None and not s.shop]
    if any(s.price for s in priced) and without:
        raise ValueError(f"either every sheet has a price or none has: {', '.join(without)} has none")
    return tuple(0.0 if s.shop else s.length * s.width if s.price is None else s.price for s in stock)


def _check_room(asked: Asked) -> None:
    """Every part must fit on some sheet by its size."""
    kinds = kinds_of(asked)
    for part, size, turns in zip(asked.parts, asked.sizes, asked.turns, strict=True):
        if part.quantity and not any(_fits(size, turns[k.stock], k) for k in kinds):
            raise NoLayout(f"{part.name}, {part.length:g} x {part.width:g} mm, fits on no sheet")


def _fits(size: tuple[int, int], turns: int, kind: Kind) -> bool:
    ways = [size] * (turns & 1) + [size[::-1]] * (turns >> 1)
    return any(
        x <= (n.rest if n.dir == 0 else n.len) and y <= (n.wid if n.dir == 0 else n.rest)
        for x, y in ways
        for n in kind.nodes
    )


def kinds_of(asked: Asked) -> list[Kind]:
    """The kinds of sheet to choose from: each stock, by first cut where that matters and ways round keep-outs."""
    kinds = []
    for index, sheet in enumerate(asked.stock):
        size = asked.sheets[index]
        if min(size) <= 0 or sheet.count == 0:
            continue
        both = asked.first_cut is None and (asked.stages < FREE or sheet.keep_outs)
        ways = {"crosscut": (0,), "rip": (1,), None: (0, 1) if both else (0,)}[asked.first_cut]
        for way in ways:
            kinds.append(Kind(index, around_keep_outs(asked, index, way), asked.first_cut is not None, index))
    return kinds


def around_keep_outs(asked: Asked, index: int, way: int) -> tuple[Node, ...]:
    """The pieces a sheet is divided into so that its keep-outs fall between the cuts; the root comes first."""
    x, y = asked.sheets[index]
    k = asked.kerf_units
    units = round(asked.unit * _UNITS)
    boxes = [_keep_out_box(o, asked.trim, units, (x - k, y - k)) for o in asked.stock[index].keep_outs]
    nodes: list[Node] = []
    _divide(nodes, -1, (0, 0, x, y), way, 0, [b for b in boxes if b], k)
    if len(nodes) > _MOST_NODES:
        raise ValueError(f"{asked.stock[index].name} has too many keep-outs")
    return tuple(nodes)


Box4 = tuple[int, int, int, int]


def _keep_out_box(o: KeepOut, trim: float, units: int, size: tuple[int, int]) -> Box4 | None:
    """A keep-out in units on the trimmed sheet; None if it was trimmed off."""
    low, high = [], []
    for at, extent, most in ((o.x, o.length, size[0]), (o.y, o.width, size[1])):
        a = max(0, _whole(at - trim) // units)
        b = min(most, -(-_whole(at + extent - trim) // units))
        if b <= a:
            return None
        low.append(a)
        high.append(b)
    return low[0], low[1], high[0], high[1]


def _divide(nodes: list[Node], par: int, box: Box4, way: int, level: int, spoilt: list[Box4], k: int) -> None:
    """Adds the structure for ``box`` (at, and size with kerf): what lies before a spoilt place, beside it, after it.

    The saw cuts that free a spoilt place run within it or beside it; what is left of it belongs to no piece.
    """
    x, y, length, width = box
    spoilt = [s for s in spoilt if s[0] < x + length - k and s[2] > x and s[1] < y + width - k and s[3] > y]
    if any(s[0] <= x and s[1] <= y and s[2] >= x + length - k and s[3] >= y + width - k for s in spoilt):
        return
    here = len(nodes)
    start, extent = (x, y)[way], (length, width)[way]
    nodes.append(Node(par, way, level, length, width, 0 if spoilt else extent, (x, y)))
    if not spoilt:
        return
    spans = []
    # One that lies over the whole extent divides nothing this way; the next level divides it.
    short = [(s[way], s[way + 2]) for s in spoilt if s[way] > start or s[way + 2] < start + extent - k]
    for a, b in _spans(start, start + extent, min(short, default=(start, start + extent)), k):
        part = (a, y, b - a, width) if way == 0 else (x, a, length, b - a)
        index = len(nodes)
        _divide(nodes, here, part, 1 - way, level + 1, spoilt, k)
        spans.append((a, b, index if len(nodes) > index else -1))
    nodes[here] = replace(nodes[here], spans=tuple(spans))


def _spans(start: int, end: int, spoilt: tuple[int, int], k: int) -> list[tuple[int, int]]:
    """Before, beside and after a spoilt place, with kerf; the place counts as wide enough for the cuts beside it."""
    low, high = spoilt
    first = low + k if low > start else start
    last = max(high, first + k + 1)
    if last >= end - k:
        last = end
    return [(a, b) for a, b in ((start, first), (first, last), (last, end)) if b - a > k]


def short_kind(asked: Asked, index: int, way: int, extent: int) -> Kind:
    """A sheet of which only ``extent`` (with kerf) is used along one direction; the rest stays in one piece."""
    x, y = asked.sheets[index]
    return Kind(
        index, (Node(-1, way, 0, x, y, extent, (0, 0)),), asked.first_cut is not None, len(asked.stock)
    )


def start(asked: Asked, kinds: Sequence[Kind], counts: Sequence[int], seed: int) -> tuple[Job, Trees, Trees]:
    """The arrays of a search among ``kinds`` of which ``counts`` (by group) may be used, and room to keep a state."""
    types = [i for i, p in enumerate(asked.parts) for _ in range(p.quantity)]
    n = len(types)
    unit_area = max(float(x) * float(y) for x, y in (k.size for k in kinds))
    first = [0]
    for kind in kinds:
        first.append(first[-1] + len(kind.nodes))
    nodes = [node for kind in kinds for node in kind.nodes]
    job = Job(
        n, types, [x for x, _ in asked.sizes], [y for _, y in asked.sizes],
        [float(x) * float(y) / unit_area for x, y in asked.sizes],
        [asked.turns[p][k.stock] for p in range(len(asked.parts)) for k in kinds],
        len(kinds), [asked.costs[k.stock] for k in kinds], [k.group for k in kinds], first,
        [m.par for m in nodes], [m.dir for m in nodes], [m.lev for m in nodes], [m.len for m in nodes],
        [m.wid for m in nodes], [m.rest for m in nodes], [int(k.strict) for k in kinds],
        asked.stages, min((min(s) for s in asked.sizes), default=1), 1 / unit_area,
    )  # fmt: skip
    most = min(n, sum(counts))
    room = 2 * n + (most + 1) * max(len(k.nodes) for k in kinds)
    return job, _empty(n, room, most + 1, counts, seed), _empty(n, room, most + 1, counts, seed)


def _empty(n: int, room: int, sheets: int, counts: Sequence[int], seed: int) -> Trees:
    cap = n + room
    return Trees(
        [-1] * cap, [-1] * cap, [0] * cap, [0] * cap, [0] * cap, [0] * cap, [0] * cap, [0] * cap,
        [-1] * cap, [0] * room, [0] * cap, list(range(cap - 1, n - 1, -1)), [-1] * sheets, [0] * sheets, [0] * sheets,
        list(counts), [0.0] * cap, [0, room, 0, seed, 0, 0], [0.0],
    )  # fmt: skip
