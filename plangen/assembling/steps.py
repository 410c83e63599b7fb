"""The order in which the piece goes together, found by taking it apart: assembling is that the other way round.

Three levels, in order: one part that leaves by itself; a group that leaves as one; all at once, each its own way
(a ring of mitred sides with dowels across its mitres). What the designer glues up as an assembly leaves as one.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from plangen.assembling.bars import Bars
from plangen.assembling.together import open_together
from plangen.geometry.vectors import Point, Vec, neg
from plangen.geometry.vectors import unit as unit_vector
from plangen.joinery.model import Driven, Instance, Member, Model

Standing = tuple[Member, Instance]


@dataclass(frozen=True)
class Move:
    """Parts that go to their place as one, along a straight way."""

    names: tuple[str, ...]
    """Of the instances."""
    way: Vec
    """Unit, in the world, as they go in."""
    beside: str
    """The instance already standing on which they come to lie; empty: none."""
    engaged: float
    """Millimetres of the way from where they meet what they join."""
    at: Point | None
    """Middle of what lies on ``beside``, in the world; None: on nothing."""


@dataclass(frozen=True)
class Step:
    """One act of assembling: what goes in at once."""

    moves: tuple[Move, ...]
    standing: tuple[str, ...]
    """Names of the instances that stand before it, of the unit that is worked on."""
    unit: str = ""
    """Name of the sub-assembly that is put together; empty: the piece itself."""
    at_once: bool = False
    """No part of it goes in by itself: all joints are closed together."""
    fasteners: tuple[Driven, ...] = ()
    """What is driven once the parts are in place."""

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(n for m in self.moves for n in m.names)


@dataclass(frozen=True)
class Assembling:
    """All steps in order, and what no straight move frees."""

    steps: tuple[Step, ...]
    stuck: tuple[str, ...] = ()
    """Names of instances that cannot be parted by straight moves; they stand together from the start."""


def plan_assembling(model: Model, removable: Sequence[tuple[tuple[str, ...], Vec]] = ()) -> Assembling:
    """The order of assembling of the finished members, in the world.

    ``removable`` are groups of instances that are made to come out, each with its unit direction out: they go in
    last.
    """
    standings = [(m, i) for m in model.members if m.role != "jig" for i in m.instances]
    if len(standings) < 2:
        return Assembling(())
    number = {i.name: k for k, (_, i) in enumerate(standings)}
    sprung = frozenset(
        (min(pair), max(pair))
        for pair in (tuple(number[n] for n in j.members) for j in model.joints if j.sprung)
    )
    bars = Bars([(m.solid, i.frame) for m, i in standings], sprung)
    out = [(tuple(sorted(number[n] for n in names)), way) for names, way in removable]
    return _TakingApart(model, standings, bars, out).plan()


Unit = tuple[int, ...]
_STILL: Vec = (0.0, 0.0, 0.0)
_WAYS_EACH, _MOST_WAYS = 4, 60


@dataclass
class _TakingApart:
    model: Model
    standings: Sequence[Standing]
    bars: Bars
    removable: Sequence[tuple[Unit, Vec]] = ()
    stuck: list[str] = field(default_factory=list)

    def plan(self) -> Assembling:
        units = self._units()
        out = {i for unit, _ in self.removable for i in unit}
        fixed = [u for u in units.values() if not out & set(u)]
        glued = [
            s
            for name, unit in units.items()
            if unit in fixed
            for s in self._parted([(i,) for i in unit], name)
        ]
        within = {i for u in fixed for i in u} | out
        alone = [(i,) for i in range(len(self.standings)) if i not in within]
        whole = self._parted([*fixed, *alone], "")
        return Assembling((*glued, *whole, *self._last([*fixed, *alone])), tuple(self.stuck))

    def _last(self, standing: Sequence[Unit]) -> list[Step]:
        """What is made to come out, each group put together and then in; alike groups in one step."""
        steps: list[Step] = []
        there = list(standing)
        for unit, way in self.removable:
            steps += self._parted([(i,) for i in unit], "")
            step = self._step([(way, (unit,))], there, [*there, unit], "", False)
            steps.append(step)
            there.append(unit)
        return _joined(steps, self._kinds)

    def _kinds(self, names: Sequence[str]) -> tuple[str, ...]:
        return tuple(sorted(m.mark for m, i in self.standings if i.name in names))

    def _units(self) -> dict[str, Unit]:
        """What the designer puts together first; not what holds everything."""
        numbers = {i.name: k for k, (_, i) in enumerate(self.standings)}
        found = {}
        taken: set[int] = set()
        for assembly in self.model.assemblies:
            unit = tuple(sorted(numbers[n] for n in assembly.members if n in numbers))
            if 1 < len(unit) < len(self.standings) and not taken & set(unit):
                found[assembly.name] = unit
                taken |= set(unit)
        return found

    def _parted(self, units: Sequence[Unit], name: str) -> list[Step]:
        """The steps that put the units together, in the order of work."""
        left = sorted(units)
        steps: list[Step] = []
        while len(left) > 1:
            moves = self._leaving_alone(left) or self._leaving_as_one(left) or self._leaving_at_once(left)
            if not moves:
                self.stuck += [n for u in left for n in self._names(u)]
                break
            leaving, at_once = moves
            gone = {u for _, group in leaving for u in group}
            before = [u for u in left if u not in gone]
            steps.append(self._step(leaving, before, left, name, at_once))
            steps += self._inner(leaving, name)
            left = before
            if at_once:
                break
        return steps[::-1]

    def _inner(self, leaving: Sequence[tuple[Vec, tuple[Unit, ...]]], name: str) -> list[Step]:
        """The steps, last first, that put together a group that went in as one."""
        return [s for _, group in leaving if len(group) > 1 for s in self._parted(list(group), name)[::-1]]

    # --- what can leave -----------------------------------------------------------------------------------

    def _leaving_alone(self, left: Sequence[Unit]) -> tuple[list[tuple[Vec, tuple[Unit, ...]]], bool] | None:
        """The last listed part that can leave by itself, and every copy of it that can as well; of these rather one
        without which the rest still holds together."""
        loose: list[tuple[Vec, tuple[Unit, ...]]] = []
        first = left[0]
        for unit in reversed(left[1:]):
            alike = [u for u in left if u != first and self._member(u) == self._member(unit)]
            found: list[tuple[Vec, tuple[Unit, ...]]] = []
            for u in reversed(alike):
                gone = {v for _, group in found for v in group}
                way = self._way_out(u, [v for v in left if v != u and v not in gone])
                if way is not None:
                    found.append((way, (u,)))
            if found and self._hold_together([u for u in left if u not in {v for _, g in found for v in g}]):
                return found, False
            for one in found:
                if self._hold_together([u for u in left if u not in one[1]]):
                    return [one], False
            loose = loose or found
        return (loose, False) if loose else None

    def _hold_together(self, units: Sequence[Unit]) -> bool:
        """Whether units all hang together by faces that lie on one another, or by fasteners."""
        names = {self.standings[i][1].name: i for u in units for i in u}
        links = [
            pair for pair in self.bars.contacts if pair[0] in names.values() and pair[1] in names.values()
        ]
        for driven in self.model.driven:
            held = [names[n] for n in driven.members if n in names]
            links += itertools.pairwise(held)
        unit_of = {i: k for k, u in enumerate(units) for i in u}
        group: dict[Unit, None] = {units[0]: None}
        for unit in _growing(group):
            for i, j in links:
                if i in unit or j in unit:
                    group |= dict.fromkeys((units[unit_of[i]], units[unit_of[j]]))
        return len(group) == len(units)

    def _member(self, unit: Unit) -> str:
        return self.standings[unit[0]][0].mark if len(unit) == 1 else f"unit {unit}"

    def _way_out(self, unit: Unit, others: Iterable[Unit]) -> Vec | None:
        stay = [j for u in others for j in u]
        for way in self.bars.ways_of(unit, stay):
            if not any(self.bars.bars(i, j, way) for i in unit for j in stay):
                return way
        return None

    def _leaving_as_one(self, left: Sequence[Unit]) -> tuple[list[tuple[Vec, tuple[Unit, ...]]], bool] | None:
        """The smallest group without the first part that leaves whole along some way."""
        best: tuple[Vec, tuple[Unit, ...]] | None = None
        everything = [i for u in left for i in u]
        ways = [
            w
            for u in left[1:]
            for w in self.bars.ways_of(u, [i for i in everything if i not in u])[:_WAYS_EACH]
        ]
        for way in list(dict.fromkeys([*ways, *self.bars.slides(everything)]))[:_MOST_WAYS]:
            if self._smallest(left, way, self.bars.holds) is None:
                continue
            group = self._smallest(left, way, self.bars.bars)
            if group is not None and (best is None or len(group) < len(best[1])):
                best = (way, group)
        return None if best is None else ([best], False)

    def _smallest(
        self, left: Sequence[Unit], way: Vec, bars: Callable[[int, int, Vec], bool]
    ) -> tuple[Unit, ...] | None:
        """The least set of units, without the first, that holds with each unit all that bars it along ``way``."""
        barred = {u: [v for v in left if v != u and any(bars(i, j, way) for i in u for j in v)] for u in left}
        best: tuple[Unit, ...] | None = None
        for start in left[1:]:
            group: dict[Unit, None] = {start: None}
            for u in _growing(group):
                group |= dict.fromkeys(barred[u])
            if left[0] not in group and (best is None or len(group) < len(best)):
                best = tuple(sorted(group))
        return best

    def _leaving_at_once(
        self, left: Sequence[Unit]
    ) -> tuple[list[tuple[Vec, tuple[Unit, ...]]], bool] | None:
        moves = open_together(self.bars, left)
        if moves is None:
            return None
        groups: dict[Vec, list[Unit]] = {}
        for unit, move in zip(left, moves, strict=True):
            if move != _STILL:
                groups.setdefault(move, []).append(unit)
        return [(unit_vector(move), tuple(group)) for move, group in groups.items()], True

    # --- what a step says ---------------------------------------------------------------------------------

    def _step(
        self,
        leaving: Sequence[tuple[Vec, tuple[Unit, ...]]],
        before: Sequence[Unit],
        left: Sequence[Unit],
        name: str,
        at_once: bool,
    ) -> Step:
        gone = [i for _, group in leaving for u in group for i in u]
        stay = [i for u in left for i in u if i not in gone]
        moves = tuple(
            self._move([i for u in group for i in u], way, stay) for way, group in reversed(leaving)
        )
        return Step(
            moves=moves,
            standing=tuple(n for u in before for n in self._names(u)),
            unit=name,
            at_once=at_once,
            fasteners=self._fasteners([m.names for m in moves], {*gone, *stay}),
        )

    def _move(self, group: Sequence[int], way: Vec, stay: Sequence[int]) -> Move:
        on = [j for i in group for j in self.bars.touching(i) if j in stay]
        engaged = max((self.bars.engaged(i, j, way) for i in group for j in on), default=0.0)
        return Move(
            names=tuple(self.standings[i][1].name for i in group),
            way=neg(way),
            beside=self.standings[on[0]][1].name if on else "",
            engaged=engaged,
            at=self.bars.middle(group, on[0]) if on else None,
        )

    def _fasteners(self, groups: Sequence[tuple[str, ...]], there: set[int]) -> tuple[Driven, ...]:
        """Those that hold what goes in to what stands; a group that goes in as one was fastened before."""
        new = {n for names in groups for n in names}
        standing = {self.standings[i][1].name for i in there}
        return tuple(
            d
            for d in self.model.driven
            if set(d.members) <= standing
            and set(d.members) & new
            and not any(set(d.members) <= set(g) for g in groups)
        )

    def _names(self, unit: Unit) -> tuple[str, ...]:
        return tuple(self.standings[i][1].name for i in unit)


def _joined(steps: Sequence[Step], kinds: Callable[[Sequence[str]], tuple[str, ...]]) -> list[Step]:
    """Steps that follow one another and put in the same kinds of parts, as one."""
    joined: list[Step] = []
    for step in steps:
        last = joined[-1] if joined else None
        if (
            last is not None
            and kinds(last.names) == kinds(step.names)
            and set(last.names) <= set(step.standing)
        ):
            moves, fasteners = (*last.moves, *step.moves), (*last.fasteners, *step.fasteners)
            joined[-1] = replace(last, moves=moves, fasteners=fasteners)
        else:
            joined.append(step)
    return joined


def _growing(group: dict[Unit, None]) -> Iterator[Unit]:
    """Every unit of a group, also of those that are added on the way."""
    done = 0
    while done < len(group):
        yield list(group)[done]
        done += 1
