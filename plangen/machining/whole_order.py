"""The order of all set-ups of the piece that changes the setting least, and how few changes any order must have.

A task is a set-up, its colour its setting. In a setting everything that may be cut is cut: that never costs a change.
A setting that can be finished at once is: it must be set once in any case (move all its cuts to the front of any
order and none is dearer). Only where neither holds does the search branch; it is bounded by work, and where it is cut
off, the bound that it has proved by then is told, not guessed.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

MOST_STATES = 1000
"""States that the search opens before it goes on with the best it knows."""

MOST_TAILS = 10
"""Of those states, how many it then goes on from."""


@dataclass(frozen=True)
class Task:
    """One set-up: its colour (None: no machine is set for it) and the tasks, by place, that come before it."""

    colour: int | None
    after: frozenset[int]
    rank: tuple[float, ...] = ()
    """Among tasks of one run, what may come first comes in this order."""


@dataclass(frozen=True)
class WholeOrder:
    """Places of the tasks in order, how often a machine is set, and how often any order must set one."""

    order: tuple[int, ...]
    changes: int
    least_changes: int


def fewest_changes(tasks: Sequence[Task], machine_of: Callable[[int], str] = str) -> WholeOrder:
    """The order of ``tasks`` with the fewest runs of one colour. Raises ValueError where they wait for one another.

    ``machine_of`` gives a colour's machine: between equals, the next setting on the same machine comes first.
    """
    graph = _Graph(tasks)
    runs, bound = _search(graph)
    order = _ordered(graph, _grouped(graph, runs, machine_of))
    colours = [tasks[i].colour for i in order if tasks[i].colour is not None]
    changes = sum(a != b for a, b in zip(colours, [None, *colours], strict=False))
    return WholeOrder(order, changes, bound)


class _Graph:
    """Tasks as bits of whole numbers: what each waits for, what has which colour."""

    def __init__(self, tasks: Sequence[Task]) -> None:
        self.tasks = tasks
        self.all = (1 << len(tasks)) - 1
        self.waits = _all_before(tasks)
        self.colours = sorted({t.colour for t in tasks if t.colour is not None})
        self.of = {c: _bits(i for i, t in enumerate(tasks) if t.colour == c) for c in self.colours}
        self.free = _bits(i for i, t in enumerate(tasks) if t.colour is None)
        self.apart = [self._apart(i) for i in range(len(tasks))]

    def before(self, tasks: int) -> int:
        """Everything that any of the tasks waits for."""
        found = 0
        for i in _places(tasks):
            found |= self.waits[i]
        return found

    def closed(self, done: int, colour: int | None) -> int:
        """``done`` and whatever of the colour, or of none, can then be cut."""
        wanted = self.free | (self.of[colour] if colour is not None else 0)
        while True:
            more = 0
            rest = wanted & ~done
            while rest:
                low = rest & -rest
                if not self.waits[low.bit_length() - 1] & ~(done | more):
                    more |= low
                rest ^= low
            if not more:
                return done
            done |= more

    def finishes(self, done: int, colour: int) -> int | None:
        """The state once the whole colour is cut in one run, None where that cannot be."""
        after = self.closed(done, colour)
        return after if not self.of[colour] & ~after else None

    def least(self, done: int) -> int:
        """Runs that what is left must take at least.

        A colour needs a run for each time that it comes back on a chain of tasks; of the colours that each need but
        one, every ring in which each waits for the next forces one more, and rings that share no colour add up.
        """
        blocks = {c: self._blocks(self.of[c] & ~done) for c in self.colours if self.of[c] & ~done}
        single = [c for c, n in blocks.items() if n == 1]
        return sum(blocks.values()) + self._rings(done, single)

    def _blocks(self, left: int) -> int:
        """Most runs that tasks of one colour take on any chain: between two of them stands one of another colour."""
        depth: dict[int, int] = {}
        for i in sorted(_places(left), key=lambda i: self.waits[i].bit_count()):
            earlier = _places(self.waits[i] & left)
            depth[i] = max((depth[j] + (self.apart[i] >> j & 1) for j in earlier), default=1)
        return max(depth.values())

    def _apart(self, i: int) -> int:
        """Tasks of its colour that it waits for, with one of another colour between."""
        colour = self.tasks[i].colour
        if colour is None:
            return 0
        others = self.waits[i] & ~self.of[colour] & ~self.free
        return self.before(others) & self.of[colour]

    def _rings(self, done: int, single: Sequence[int]) -> int:
        waited = {c: self.before(self.of[c] & ~done) & ~done for c in single}
        waits_for = {c: [d for d in single if d != c and waited[c] & self.of[d]] for c in single}
        count = 0
        while ring := _shortest_ring(waits_for):
            count += 1
            waits_for = {c: [d for d in ds if d not in ring] for c, ds in waits_for.items() if c not in ring}
        return count


def _shortest_ring(waits_for: dict[int, list[int]]) -> list[int]:
    """Colours each of which waits for the next and the last for the first; empty where there is no such ring."""
    best: list[int] = []
    for start in waits_for:
        found = _ring_from(start, waits_for)
        if found and (not best or len(found) < len(best)):
            best = found
            if len(best) == 2:
                break
    return best


def _ring_from(start: int, waits_for: dict[int, list[int]]) -> list[int]:
    came_from = {start: start}
    row = [start]
    while row:
        following = []
        for c in row:
            for d in waits_for[c]:
                if d == start:
                    ring = [c]
                    while ring[-1] != start:
                        ring.append(came_from[ring[-1]])
                    return ring
                if d not in came_from:
                    came_from[d] = c
                    following.append(d)
        row = following
    return []


def _bits(places: Iterable[int]) -> int:
    total = 0
    for i in places:
        total |= 1 << i
    return total


def _places(bits: int) -> list[int]:
    found = []
    while bits:
        low = bits & -bits
        found.append(low.bit_length() - 1)
        bits ^= low
    return found


def _all_before(tasks: Sequence[Task]) -> list[int]:
    """Everything that each task waits for, those it waits for through others too."""
    waits = [_bits(sorted(t.after)) for t in tasks]
    done, settled = 0, 0
    while settled < len(tasks):
        ready = [i for i in range(len(tasks)) if not done >> i & 1 and not waits[i] & ~done]
        if not ready:
            raise ValueError("cuts wait for one another")
        for i in ready:
            for j in _places(waits[i]):
                waits[i] |= waits[j]
        done |= _bits(ready)
        settled += len(ready)
    return waits


# --- the search -------------------------------------------------------------------------------------------


def _search(graph: _Graph) -> tuple[list[int], int]:
    """Colours in the order in which they are set, and the fewest runs proved."""
    done, runs = _whole_colours(graph, graph.closed(0, None))
    base = len(runs)
    start = (graph.least(done), 0, done, ())
    waiting: list[tuple[int, int, int, tuple[int, ...]]] = [start]
    best_at = {done: 0}
    proved = start[0]
    for _ in range(MOST_STATES):
        total, minus, done, tail = heapq.heappop(waiting)
        proved = max(proved, total)
        if done == graph.all:
            return [*runs, *tail], base + proved
        if best_at[done] < -minus:
            continue
        for colour in graph.colours:
            if not graph.of[colour] & ~done or graph.closed(done, colour) == done:
                continue
            after, more = _whole_colours(graph, graph.closed(done, colour))
            path = (*tail, colour, *more)
            if len(path) < best_at.get(after, len(path) + 1):
                best_at[after] = len(path)
                heapq.heappush(waiting, (len(path) + graph.least(after), -len(path), after, path))
    tails = [_greedily(graph, done, tail) for _, _, done, tail in sorted(waiting)[:MOST_TAILS]]
    return [*runs, *min(tails, key=lambda t: (len(t), t))], base + proved


def _whole_colours(graph: _Graph, done: int) -> tuple[int, list[int]]:
    """Every colour that can be cut in one run, one after the other as long as there is one."""
    runs: list[int] = []
    while True:
        for colour in graph.colours:
            if graph.of[colour] & ~done:
                after = graph.finishes(done, colour)
                if after is not None:
                    done = after
                    runs.append(colour)
                    break
        else:
            return done, runs


def _greedily(graph: _Graph, done: int, tail: tuple[int, ...]) -> list[int]:
    """On from a state by the setting that leaves least to be set after it."""
    runs = list(tail)
    while done != graph.all:
        options = []
        for colour in graph.colours:
            if graph.of[colour] & ~done and graph.closed(done, colour) != done:
                after, more = _whole_colours(graph, graph.closed(done, colour))
                rank = (len(more) + graph.least(after), -after.bit_count())
                options.append((rank, colour, after, more))
        _, colour, done, more = min(options)
        runs += [colour, *more]
    return runs


# --- the order on paper -----------------------------------------------------------------------------------


def _grouped(graph: _Graph, runs: Sequence[int], machine_of: Callable[[int], str]) -> list[int]:
    """The runs as sets of tasks, in an order that keeps to one machine where it can.

    Runs wait for one another as their tasks do; among those ready the first on the machine in use comes next.
    """
    done = graph.closed(0, None)
    waiting: list[tuple[int, int]] = []
    for colour in runs:
        after = graph.closed(done, colour)
        waiting.append((colour, after & ~done & ~graph.free))
        done = after
    found, now = [], graph.free
    machine: str | None = None
    while waiting:
        ready = [w for w in waiting if not graph.before(w[1]) & ~now & ~w[1]]
        following = min(ready, key=lambda w: (machine_of(w[0]) != machine, waiting.index(w)))
        waiting.remove(following)
        machine = machine_of(following[0])
        now |= following[1]
        found.append(following[1])
    return found


def _ordered(graph: _Graph, parts: Sequence[int]) -> tuple[int, ...]:
    """Within each run every task as soon as it may be cut, by rank; what needs no machine only when it is needed."""
    order: list[int] = []
    done = 0
    for part in [*parts, graph.all]:
        waiting = _places((part | graph.before(part) & graph.free) & ~done)
        while waiting:
            ready = [i for i in waiting if not graph.waits[i] & ~done]
            following = min(ready, key=lambda i: (graph.tasks[i].rank, i))
            waiting.remove(following)
            order.append(following)
            done |= 1 << following
    return tuple(order)
