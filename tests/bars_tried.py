"""The least cost of a layout, and the longest offcut at that cost, by trying every way: for small jobs."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.stock import LengthPart, LengthStock

Clear = tuple[int, ...]


def least_and_longest(
    stock: Sequence[LengthStock], parts: Sequence[LengthPart], kerf: int, trim: int
) -> tuple[int, int] | None:
    """Whole lengths and prices only; None if the parts cannot be cut."""
    boards = [(_price(s), 99 if s.count is None else s.count, _clear(s, kerf, trim)) for s in stock]
    pieces = sorted(_pieces(parts, kerf), reverse=True)
    best: tuple[int, int] | None = None
    seen: dict[tuple[int, tuple[int, ...], tuple[int, ...]], int] = {}

    def lay(done: int, rooms: list[int], left: list[int], cost: int) -> None:
        nonlocal best
        if best is not None and cost > -best[0]:
            return
        if done == len(pieces):
            best = max(best or (-cost, 0), (-cost, max(rooms, default=0)))
            return
        key = (done, tuple(sorted(rooms)), tuple(left))
        if seen.get(key, cost + 1) <= cost:
            return
        seen[key] = cost
        piece = pieces[done]
        for room in sorted(set(rooms)):
            if room >= piece:
                lay(done + 1, _less(rooms, room, piece + kerf), left, cost)
        for b, (price, _, clear) in enumerate(boards):
            if left[b]:
                fewer = [*left[:b], left[b] - 1, *left[b + 1 :]]
                for room in sorted(set(clear)):
                    if room >= piece:
                        lay(done + 1, _less([*rooms, *clear], room, piece + kerf), fewer, cost + price)

    lay(0, [], [count for _, count, _ in boards], 0)
    return None if best is None else (-best[0], max(0, best[1]))


def _less(rooms: list[int], room: int, taken: int) -> list[int]:
    rest = list(rooms)
    rest[rest.index(room)] -= taken
    return rest


def _price(s: LengthStock) -> int:
    if s.price is None:
        return 0 if s.shop else int(s.length)
    return int(s.price)


def _clear(s: LengthStock, kerf: int, trim: int) -> Clear:
    own = trim if s.trim is None else int(s.trim)
    here, end, found = own, int(s.length) - own, []
    for a, b in sorted(s.keep_outs):
        found.append(min(int(a), end) - here)
        here = max(here, int(b), int(a) + kerf)
    return tuple(n for n in (*found, end - here) if n > 0)


def _pieces(parts: Sequence[LengthPart], kerf: int) -> list[int]:
    matched: dict[str, int] = {}
    found = []
    for part in parts:
        for _ in range(part.quantity):
            if part.matched:
                matched[part.matched] = matched.get(part.matched, -kerf) + kerf + int(part.length)
            else:
                found.append(int(part.length))
    return found + list(matched.values())
