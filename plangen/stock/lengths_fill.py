"""A first valid layout, by the rule of the bench: the longest piece first, into the tightest board that is open."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from plangen.stock.lengths_job import Job

Pattern = tuple[int, tuple[int, ...]]
"""A clear length (index of a ``Bin``) and how many pieces of each kind come out of it."""


@dataclass
class _Open:
    """Boards that are open: each clear length with its room, and how many boards are left unopened."""

    job: Job
    left: list[int]
    rooms: list[tuple[int, int]] = field(default_factory=list)  # room, index into holds; sorted
    holds: list[list[int]] = field(default_factory=list)  # bin, then kinds

    def put(self, kind: int, size: int) -> bool:
        at = bisect_left(self.rooms, (size, -1))
        if at == len(self.rooms):
            if not self._open(size):
                return False
            at = bisect_left(self.rooms, (size, -1))
        room, which = self.rooms.pop(at)
        self.holds[which].append(kind)
        insort(self.rooms, (room - size, which))
        return True

    def _open(self, size: int) -> bool:
        """What costs least for its clear length of all that can hold the piece; the shorter where equal."""
        bins = self.job.bins
        can = [
            b
            for b, board in enumerate(self.job.boards)
            if self.left[b] and any(bins[k].size >= size for k in board.bins)
        ]
        if not can:
            return False
        chosen = min(can, key=self._dear)
        self.left[chosen] -= 1
        for k in self.job.boards[chosen].bins:
            insort(self.rooms, (bins[k].size, len(self.holds)))
            self.holds.append([k])
        return True

    def _dear(self, board: int) -> tuple[float, int]:
        clear = sum(self.job.bins[k].size for k in self.job.boards[board].bins)
        return self.job.boards[board].price / clear, clear


def best_fit(job: Job, demands: Sequence[int], left: Sequence[int]) -> list[Pattern] | None:
    """One pattern for each clear length in use, or None if a piece finds no room; ``left`` boards of each stock."""
    found = _Open(job, list(left))
    for kind, (size, demand) in enumerate(zip(job.sizes, demands, strict=True)):
        for _ in range(demand):
            if not found.put(kind, size):
                return None
    used = [h for h in found.holds if len(h) > 1]
    return cheaper_boards(job, [(h[0], _counts(job, h[1:])) for h in used], left)


def _counts(job: Job, kinds: list[int]) -> tuple[int, ...]:
    many = Counter(kinds)
    return tuple(many[k] for k in range(len(job.sizes)))


def filled(job: Job, pattern: Pattern) -> int:
    """The length that a pattern takes, kerfs included."""
    return sum(size * n for size, n in zip(job.sizes, pattern[1], strict=True) if n)


def boards_of(job: Job, patterns: Sequence[Pattern]) -> list[int]:
    """How many boards of each stock the patterns take: of a board with several clear lengths, as many as the one
    most used."""
    uses = Counter(b for b, _ in patterns)
    return [max(uses[b] for b in board.bins) for board in job.boards]


def cost_of(job: Job, patterns: Sequence[Pattern]) -> int:
    """What the boards cost, counted from the patterns."""
    return sum(n * board.price for n, board in zip(boards_of(job, patterns), job.boards, strict=True))


def cheaper_boards(job: Job, patterns: Sequence[Pattern], given: Sequence[int]) -> list[Pattern]:
    """The same pieces together, each lot on the cheapest whole board that is left and holds it."""
    left = [many - n for n, many in zip(boards_of(job, patterns), given, strict=True)]
    whole = sorted(
        (b for b, board in enumerate(job.boards) if len(board.bins) == 1), key=lambda b: _rank(job, b)
    )
    done = []
    for pattern in sorted(patterns, key=lambda p: -filled(job, p)):
        own = job.bins[pattern[0]].board
        if own not in whole:
            done.append(pattern)
            continue
        left[own] += 1
        size = filled(job, pattern)
        for b in whole:
            if left[b] and job.bins[job.boards[b].bins[0]].size >= size:
                left[b] -= 1
                done.append((job.boards[b].bins[0], pattern[1]))
                break
    return done


def _rank(job: Job, board: int) -> tuple[int, int]:
    return job.boards[board].price, job.boards[board].length


_CELLS = 1 << 17


class SubsetSums:
    """Which lengths up to a room can be filled with pieces: the bits of a whole number, one for each length."""

    def __init__(self, sizes: Sequence[int], wanted: Sequence[int], room: int) -> None:
        self.sizes = sizes
        self.lots = [(i, many) for i, n in enumerate(wanted) for many in _lots_of(min(n, room // sizes[i]))]
        self.reach = [1]
        most = (2 << room) - 1
        for i, many in self.lots:
            self.reach.append(self.reach[-1] | (self.reach[-1] << sizes[i] * many & most))

    def most(self, room: int) -> int:
        """The greatest length that can be filled, no more than the room."""
        return (self.reach[-1] & ((2 << room) - 1)).bit_length() - 1

    def pieces(self, length: int) -> list[int]:
        """How many of each kind fill a length that can be filled, the longest pieces first."""
        counts = [0] * len(self.sizes)
        for j in range(len(self.lots) - 1, -1, -1):
            if not self.reach[j] >> length & 1:
                i, many = self.lots[j]
                counts[i] += many
                length -= self.sizes[i] * many
        return counts


def fullest(job: Job, wanted: Sequence[int], room: int) -> list[int]:
    """Of the pieces those that fill a room most; exactly, unless it has more lengths than are told apart."""
    cells = min(room, _CELLS)
    sums = SubsetSums([-(-size * cells // room) for size in job.sizes], wanted, cells)
    return sums.pieces(sums.most(cells))


def fill_up(job: Job, demands: Sequence[int], given: Sequence[int]) -> list[Pattern] | None:
    """The longest piece that waits, and with it what fills its board most; board after board.

    The board is the one with the least price for what it holds; only boards with one clear length are filled.
    """
    wanted, left, done = list(demands), list(given), []
    largest = max(b.size for b in job.bins)
    cells = min(largest, _CELLS)
    grid = [-(-size * cells // largest) for size in job.sizes]
    while any(wanted):
        first = next(i for i, n in enumerate(wanted) if n)
        rooms = {
            b: job.bins[board.bins[0]].size * cells // largest - grid[first]
            for b, board in enumerate(job.boards)
            if left[b] and len(board.bins) == 1 and job.bins[board.bins[0]].size >= job.sizes[first]
        }
        if not rooms or max(rooms.values()) < 0:
            return None
        wanted[first] -= 1
        sums = SubsetSums(grid, wanted, max(rooms.values()))
        tops = {b: sums.most(room) for b, room in rooms.items() if room >= 0}
        chosen = min(
            tops, key=lambda b: (job.boards[b].price / (tops[b] + grid[first]), rooms[b] - tops[b], b)
        )
        left[chosen] -= 1
        counts = sums.pieces(tops[chosen])
        wanted = [n - m for n, m in zip(wanted, counts, strict=True)]
        counts[first] += 1
        done.append((job.boards[chosen].bins[0], tuple(counts)))
    return cheaper_boards(job, done, given)


def _lots_of(many: int) -> list[int]:
    """1, 2, 4, ... and the rest, that make every number up to ``many``."""
    lots, step = [], 1
    while many > 0:
        lots.append(min(step, many))
        many -= step
        step *= 2
    return lots
