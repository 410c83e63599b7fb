"""Every cut of the piece, from the surfaces of its members: order, set-ups, settings, jigs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from plangen.geometry.solid import GeometryError
from plangen.joinery.model import Feature, Hand, Member, Model, Stage
from plangen.machining.bores import with_whole_bit
from plangen.machining.cautions import with_cautions
from plangen.machining.hand_layout import layout_by_hand
from plangen.machining.hands import setups_of_hands
from plangen.machining.jigs import jig_setups, numbered, out_of_reach, plan_jigs
from plangen.machining.order import CutOrder, Trials, by_use, order_cuts, used_surfaces
from plangen.machining.settings import Cut, settings_of
from plangen.machining.setup import Jig, Machining, Setting, Setup, Spared
from plangen.machining.sharing import share_settings
from plangen.machining.spared import spared_by_offcuts, spared_by_order
from plangen.machining.whole_order import Task, fewest_changes
from plangen.tables.machines import Shop
from plangen.units import LengthUnit

_PHASES: dict[Stage, int] = {"square": 0, "shaped": 0, "glued": 1, "assembled": 2, "on the work": 3}
"""What is cut at the bench is cut for all members before any are glued, and so on."""

_UNPLANNED = (GeometryError, ArithmeticError, LookupError, ValueError)
"""What geometry may raise where a design is out of all bounds."""


@dataclass(frozen=True)
class MemberPlan:
    """One member's set-ups as drawn and of the other hand, in the order of its cuts."""

    member: Member
    order: CutOrder
    setups: tuple[Setup, ...]
    cuts: tuple[Cut, ...]
    """The same set-ups, each with the work it is made on."""
    spared: tuple[Spared, ...] = ()
    beyond: tuple[str, ...] = ()


def plan_cuts(model: Model, shop: Shop, units: LengthUnit = "mm") -> Machining:
    """Set-ups of every member of the piece (``model`` is the piece when all is done), and what they need.

    Cautions name sizes in ``units``.
    Never raises for what a design may hold: what cannot be planned is told in ``beyond``.
    """
    ordered, beyond = [], list[str]()
    for member in model.members:
        if _is_made(member):
            try:
                trials = Trials(member, shop)
                ordered.append((trials, order_cuts(trials)))
            except _UNPLANNED as problem:
                beyond.append(f"{member.name}: its cuts could not be planned ({problem})")
    shared = share_settings([o for _, o in ordered], [t.member for t, _ in ordered])
    plans = []
    for (trials, _), order in zip(ordered, shared, strict=True):
        try:
            plans.append(plan_member(trials, order, units))
        except _UNPLANNED as problem:
            beyond.append(f"{trials.member.name}: its cuts could not be planned ({problem})")
    beyond += [text for p in plans for text in p.beyond]
    spared = tuple(s for p in plans for s in p.spared)
    jigs: tuple[Jig, ...] = ()
    pieces: tuple[Member, ...] = ()
    try:
        setups = [s for p in plans for s in p.setups]
        beyond += out_of_reach(model, setups, shop)
        named, jigs, pieces = plan_jigs(model, setups, shop, spared, units)
        plans = [*_renamed(plans, named), *(_jig_plan(p, shop, units) for p in pieces)]
    except _UNPLANNED as problem:
        beyond.append(f"the jigs could not be planned ({problem})")
    whole = whole_set(plans, jigs)
    made = replace(model, members=(*model.members, *pieces))
    return replace(
        whole,
        setups=with_cautions(whole.setups, made, shop, units),
        jigs=numbered(jigs, whole.setups),
        spared=spared,
        beyond=tuple(dict.fromkeys(beyond)),
        members=pieces,
    )


def _is_made(member: Member) -> bool:
    """The shop cuts it: work and jigs, and bought bar that it bends; other bought parts come as they are."""
    return bool(member.features) and (member.role != "bought" or member.bent is not None)


def plan_member(trials: Trials, order: CutOrder, units: LengthUnit = "mm") -> MemberPlan:
    """The set-ups of one member in an order of its cuts; marks on a rule in ``units``."""
    member, shop = trials.member, trials.shop
    offcuts, earlier = spared_by_offcuts(trials, order)
    order = replace(order, bindings=(*order.bindings, *by_use(trials, order.steps), *earlier))
    drawn: list[Setup] = []
    states: list[tuple[Feature, frozenset[str]]] = []
    beyond: list[str] = []
    for step in order.steps:
        if step.way is None:
            beyond.append(f"{member.name}: {shop.name} has no way to make {step.feature.id}")
        else:
            beyond += [f"{member.name}, {step.feature.id}: {text}" for text in step.way.beyond]
            before = trials.bench.work(step.seen)
            bored = (with_whole_bit(s, units) for s in step.way.setups)
            drawn += (replace(s, layout=layout_by_hand(s, before, units)) for s in bored)
            states += [(step.feature, step.seen)] * len(step.way.setups)
    setups = setups_of_hands(_numbered(drawn), member)
    cuts = []
    for n, setup in enumerate(setups):
        feature, seen = states[n % len(states)]
        work = trials.bench.work(seen)
        cuts.append(Cut(setup, work, work.after(feature), drawn=setup.hand == member.drawn))
    spared = (*spared_by_order(trials, order), *offcuts)
    return MemberPlan(member, order, setups, tuple(cuts), spared, tuple(beyond))


def _renamed(plans: Sequence[MemberPlan], named: Sequence[Setup]) -> list[MemberPlan]:
    """The plans with these set-ups, in the same row, instead of theirs."""
    found, start = [], 0
    for plan in plans:
        setups = tuple(named[start : start + len(plan.setups)])
        start += len(setups)
        cuts = tuple(replace(c, setup=s) for c, s in zip(plan.cuts, setups, strict=True))
        found.append(replace(plan, setups=setups, cuts=cuts))
    return found


def _jig_plan(piece: Member, shop: Shop, units: LengthUnit) -> MemberPlan:
    """A jig is sawn to its lines, each on the whole piece."""
    work = Trials(piece, shop).bench.work()
    setups = tuple(replace(s, layout=layout_by_hand(s, work, units)) for s in jig_setups(piece, shop))
    return MemberPlan(piece, CutOrder((), ()), setups, tuple(Cut(s, work, work) for s in setups))


def _numbered(setups: Sequence[Setup]) -> list[Setup]:
    return [replace(s, sequence=n) for n, s in enumerate(setups, 1)]


# --- the whole set ----------------------------------------------------------------------------------------


def whole_set(plans: Sequence[MemberPlan], jigs: Sequence[Jig] = ()) -> Machining:
    """All set-ups, a jig's own before those it is for, in the order that changes settings least, numbered.

    Settings are in the order of first use.
    """
    cuts = [c for p in plans for c in p.cuts]
    settings = settings_of(cuts)
    colour_of = {place: setting.index for setting, served in settings for place in served}
    machine = {setting.index: setting.machine for setting, _ in settings}
    tasks = _tasks(plans, colour_of, jigs)
    whole = fewest_changes(tasks, lambda colour: machine[colour])
    index_of = {place: n for n, place in enumerate(whole.order, 1)}
    return Machining(
        setups=_placed([cuts[i].setup for i in whole.order]),
        settings=_in_order_of_use(settings, index_of),
        changes=whole.changes,
        least_changes=whole.least_changes,
    )


def _tasks(plans: Sequence[MemberPlan], colour_of: dict[int, int], jigs: Sequence[Jig]) -> list[Task]:
    """The set-ups of all plans in a row as tasks, each after all that must be done before it."""
    setups = [s for p in plans for s in p.setups]
    after: list[set[int]] = [set() for _ in setups]
    start = 0
    for plan in plans:
        here = range(start, start + len(plan.setups))
        start += len(plan.setups)
        for later, earlier in _bound_in_member(plan, setups, here):
            after[later].update(earlier)
    for later, earlier in (*_bound_by_jigs(setups, jigs), *_bound_by_phases(setups)):
        after[later].update(earlier)
    return [Task(colour_of.get(i), frozenset(after[i]), _rank(s, plans)) for i, s in enumerate(setups)]


_Bound: TypeAlias = Iterator[tuple[int, Iterable[int]]]
"""A set-up, and those before it."""


def _bound_in_member(plan: MemberPlan, setups: Sequence[Setup], here: range) -> _Bound:
    """What binds within a member binds for each hand of it; what is shaped follows what is square."""
    by_feature: dict[tuple[Hand | None, str], list[int]] = {}
    for i in here:
        by_feature.setdefault((setups[i].hand, setups[i].feature), []).append(i)
    for b in plan.order.bindings:
        for (hand, feature), later in by_feature.items():
            if feature == b.later:
                for i in later:
                    yield i, by_feature.get((hand, b.earlier), ())
    for of_one in by_feature.values():
        for n, i in enumerate(of_one):
            yield i, [j for j in of_one[:n] if _must_follow(setups[i], setups[j])]
    for i in here:
        if setups[i].stage == "shaped":
            yield i, [j for j in here if setups[j].stage == "square" and setups[j].hand == setups[i].hand]


def _bound_by_jigs(setups: Sequence[Setup], jigs: Sequence[Jig]) -> _Bound:
    """A jig is made before it is used."""
    for jig in (j for j in jigs if not j.offcut):
        making = [j for j, s in enumerate(setups) if s.member == jig.member]
        for i, s in enumerate(setups):
            if s.jig in (jig.name, jig.beside or jig.name):
                yield i, making


def _bound_by_phases(setups: Sequence[Setup]) -> _Bound:
    """What is cut on the glued work follows all that is cut before; so does each later phase."""
    phase = [_PHASES[s.stage] for s in setups]
    for i, p in enumerate(phase):
        if p:
            last = max((q for q in phase if q < p), default=None)
            yield i, [j for j, q in enumerate(phase) if q == last]


def _must_follow(later: Setup, earlier: Setup) -> bool:
    """Two set-ups of one feature: like cuts may change places unless one rests on the other or carries it on."""
    if later.operation != earlier.operation:
        return True
    made = set(earlier.makes)
    return bool(made & (used_surfaces(later) | set(later.goes_on)))


def _rank(setup: Setup, plans: Sequence[MemberPlan]) -> tuple[float, ...]:
    """In one setting: piece by piece, and what is cut against one stop together, handed pairs among it."""
    member = next(n for n, p in enumerate(plans) if p.member.mark == setup.member)
    stop = 0.0 if setup.stop is None else round(setup.stop.distance, 3)
    return (float(member), stop, float(setup.sequence), 0.0 if setup.hand != "right" else 1.0)


def _placed(setups: Sequence[Setup]) -> tuple[Setup, ...]:
    """Numbered through the set, and through each member and hand."""
    count: Counter[tuple[str, Hand | None]] = Counter()
    found = []
    for index, setup in enumerate(setups, 1):
        count[setup.member, setup.hand] += 1
        found.append(replace(setup, index=index, sequence=count[setup.member, setup.hand]))
    return tuple(found)


def _in_order_of_use(
    settings: Sequence[tuple[Setting, tuple[int, ...]]], index_of: dict[int, int]
) -> tuple[Setting, ...]:
    found = [replace(s, setups=tuple(sorted(index_of[i] for i in served))) for s, served in settings]
    found.sort(key=lambda s: s.setups)
    return tuple(replace(s, index=n) for n, s in enumerate(found, 1))
