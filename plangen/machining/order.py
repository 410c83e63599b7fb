"""The order in which a member's features are cut, found by trying: what does a cut cost before another, what after?

Stages come first, then what the trade does first whatever it costs, then what is cheaper earlier, the greatest saving
before the smaller. Only these bind; everything else may be cut at any moment of its stage.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from plangen.geometry.solid import GeometryError, Solid
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, cross, dot, sub
from plangen.joinery.model import Feature, Member
from plangen.joinery.stages import STAGES
from plangen.machining.setup import Setup, Way
from plangen.machining.ways import ways_to_make
from plangen.machining.work import Bench, Work
from plangen.tables.machines import Shop

WORTH = 0.05
"""A difference of cost that counts: a twentieth of a plain cut. What is less is no reason to bind an order."""
AS_GOOD = 0.1
"""What a way may cost more than the cheapest where it saves a change of setting: the work turned over, or round."""
UNMAKEABLE = 1000.0
"""Cost of a cut for which there is no way, so that an order that has one is preferred to any that has none."""

_ON = 1e-6
_SQUARE = 1.0 - 1e-9
_MUCH = 0.8
"""A seat that keeps this part of its span still serves."""

_BY_TRADE = {"crosscut": 0, "rip": 0, "taper": 0, "plane": 0, "saw to line": 1, "rout to template": 1, "kerf": 2,
             "trench": 2, "rout": 2, "bore": 3, "ream": 4, "turn": 5, "bend": 6, "mould": 7}  # fmt: skip
"""Where nothing binds (common practice): to length and shape, joints, holes, and arrises eased last of all."""


@dataclass
class Trials:
    """The ways to make each feature on each state of a member, each looked for once."""

    member: Member
    shop: Shop
    bench: Bench = field(init=False)
    _ways: dict[tuple[str, frozenset[str]], tuple[Way, ...]] = field(default_factory=dict)
    _scars: dict[tuple[str, frozenset[str]], Box] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.bench = Bench(self.member)

    def ways(self, feature: Feature, done: Iterable[str]) -> tuple[Way, ...]:
        """Cheapest first; none where the shop has no way, or where the work cannot be built in that state."""
        key = (feature.id, frozenset(done))
        if key not in self._ways:
            try:
                self._ways[key] = ways_to_make(self.bench.work(key[1]), feature, self.shop)
            except GeometryError:
                self._ways[key] = ()
        return self._ways[key]

    def best(self, feature: Feature, done: Iterable[str]) -> Way | None:
        return next(iter(self.ways(feature, done)), None)

    def cost(self, feature: Feature, done: Iterable[str]) -> float:
        way = self.best(feature, done)
        return UNMAKEABLE if way is None else way.cost

    def scar(self, feature: Feature, done: Iterable[str]) -> Box:
        """The box round what the feature takes from the work. Raises GeometryError where it cannot be built."""
        key = (feature.id, frozenset(done))
        if key not in self._scars:
            work = self.bench.work(key[1])
            self._scars[key] = _box_round(_corners(work.solid) ^ _corners(work.after(feature).solid))
        return self._scars[key]


def _corners(solid: Solid) -> frozenset[Point]:
    return frozenset((round(x, 4), round(y, 4), round(z, 4)) for x, y, z in solid.vertices.tolist())


def _box_round(points: Iterable[Point]) -> Box:
    """Empty where there are none."""
    rows = list(zip(*points, strict=True))
    if not rows:
        return Box((0.0, 0.0, 0.0), (-math.inf, -math.inf, -math.inf))
    low, high = [min(r) for r in rows], [max(r) for r in rows]
    return Box((low[0], low[1], low[2]), (high[0] - low[0], high[1] - low[1], high[2] - low[2]))


@dataclass(frozen=True)
class Binding:
    """``earlier`` is cut before ``later`` (ids of features of one stage), because the other way costs ``saves`` more.

    ``saves`` is infinite where the trade knows no other order.
    """

    earlier: str
    later: str
    saves: float


@dataclass(frozen=True)
class Step:
    """A feature and the way in which it is made at its moment; no way where this shop has none."""

    feature: Feature
    way: Way | None
    seen: frozenset[str]
    """The features cut before it that the way was found with; others cut by then make no difference to it."""
    options: tuple[Way, ...] = ()
    """Ways as good as this one, itself among them."""


@dataclass(frozen=True)
class CutOrder:
    """A member's features in an order of work, and which pairs of them must keep it for the trade's or cost's sake.

    What else must keep it depends on the ways: see ``by_use``.
    """

    steps: tuple[Step, ...]
    bindings: tuple[Binding, ...]


def order_cuts(trials: Trials) -> CutOrder:
    """The order of a member's cuts that loses least; equal work gives equal order."""
    done: list[str] = []
    steps: list[Step] = []
    kept: list[Binding] = []
    for stage in STAGES:
        features = [f for f in trials.member.features if f.stage == stage]
        turned = tuple(f for f in features if _is_turned(trials.best(f, done)))
        matter = {f.id: _what_matters(trials, f, features, turned, done) for f in features}
        bindings = [
            *_by_the_trade(features),
            *_bent_first(trials, features),
            *_turned_square(trials, features, turned, done),
            *_by_cost(trials, features, matter, done),
        ]
        chosen = keep_heaviest([f.id for f in features], bindings)
        kept += chosen
        before: set[str] = set()
        for feature in _sorted(trials, features, chosen, turned, done):
            seen = {g.id for together in matter[feature.id] for g in together} & before
            steps.append(_step(trials, feature, {*done, *before}, {*done, *seen}))
            before.add(feature.id)
        done += [f.id for f in features]
    return CutOrder(tuple(steps), tuple(kept))


def _step(trials: Trials, feature: Feature, done: set[str], seen: set[str]) -> Step:
    """The ways found where only what matters to the feature is cut (``seen``), if they rest on what is really there."""
    for state in (seen, done):
        ways = [w for w in trials.ways(feature, state) if _rests(trials.bench.work(done), w)]
        if ways and ways[0].cost < trials.cost(feature, state) + WORTH:
            near = tuple(w for w in ways if w.cost <= ways[0].cost + AS_GOOD)
            return Step(feature, near[0], frozenset(state), near)
    return Step(feature, trials.best(feature, done), frozenset(done))


def _rests(work: Work, way: Way) -> bool:
    """Every surface that the way uses is there."""
    planes = work.planes()
    made = {i for s in way.setups for i in s.makes}
    used = sorted({u for s in way.setups for u in used_surfaces(s)} - made)
    return all(u in planes and work.corners(planes[u]) for u in used)


def keep_heaviest(ids: Sequence[str], bindings: Sequence[Binding]) -> list[Binding]:
    """Bindings that no heavier ones contradict: each is kept unless those kept lead round to its beginning."""
    place = {i: n for n, i in enumerate(ids)}
    before: dict[str, set[str]] = {i: set() for i in ids}
    kept = []
    for b in sorted(bindings, key=lambda b: (-round(b.saves, 6), place[b.earlier], place[b.later])):
        if b.earlier in _all_before(b.later, before):
            continue  # follows from those kept
        if b.later not in _all_before(b.earlier, before) and b.earlier != b.later:
            before[b.later].add(b.earlier)
            kept.append(b)
    return kept


def _all_before(i: str, before: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    waiting = [i]
    while waiting:
        for j in before[waiting.pop()]:
            if j not in found:
                found.add(j)
                waiting.append(j)
    return found


# --- what the trade does first ----------------------------------------------------------------------------


def _by_the_trade(features: Sequence[Feature]) -> list[Binding]:
    """The wider hole before the narrower on its axis, so that the drill's point still finds wood to stand in."""
    found = []
    for wide in features:
        for narrow in features:
            if wide is not narrow and _counterbores(wide, narrow):
                found.append(Binding(wide.id, narrow.id, math.inf))
    return found


def _bent_first(trials: Trials, features: Sequence[Feature]) -> list[Binding]:
    """Bar is bent before it is bored: its holes are marked from the work it is bent to."""
    if trials.member.bent is None:
        return []
    bends = [f for f in features if f.kind == "outline"]
    return [Binding(b.id, f.id, math.inf) for b in bends for f in features if f.kind == "hole"]


def _is_turned(way: Way | None) -> bool:
    return way is not None and any(s.machine == "lathe" for s in way.setups)


def _turned_square(
    trials: Trials, features: Sequence[Feature], turned: Sequence[Feature], done: Sequence[str]
) -> list[Binding]:
    """Work goes to the lathe with its ends square: they are cut aslant afterwards."""
    found = []
    for feature in features if turned else ():
        way = trials.best(feature, done)
        setups = way.setups if way is not None and feature not in turned else ()
        if any(s.operation == "crosscut" and max(abs(s.miter), abs(s.bevel)) > _ON for s in setups):
            found += [Binding(t.id, feature.id, math.inf) for t in turned]
    return found


def _counterbores(wide: Feature, narrow: Feature) -> bool:
    """``wide`` is bored or sunk to a flat or tapering seat about the axis of the longer, narrower hole."""
    a, b = _bore(wide), _bore(narrow)
    if a is None or b is None or a.radius < b.radius + 1e-6:
        return False
    off = sub(b.point, a.point)
    aside = cross(off, a.axis)
    return abs(dot(a.axis, b.axis)) > 1.0 - 1e-9 and dot(aside, aside) < 1e-8


def _bore(feature: Feature) -> Cylinder | Cone | None:
    rounds = [s.form for s in feature.surfaces if isinstance(s.form, Cylinder | Cone)]
    return rounds[0] if len(rounds) == 1 and rounds[0].side == "hole" else None


# --- what is cheaper earlier ------------------------------------------------------------------------------


Together: TypeAlias = tuple[Feature, ...]
"""Features between which nothing else is cut: all that is turned is turned in one mounting."""


def _what_matters(
    trials: Trials, feature: Feature, features: Sequence[Feature], turned: Together, done: Sequence[str]
) -> list[Together]:
    """What can make a difference to a feature when it is cut before it; to what is turned, nothing."""
    if feature in turned:
        return []
    others = [g for g in features if g is not feature and g not in turned]
    found: list[Together] = [(g,) for g in others if _matters(trials, g, feature, done)]
    return [*found, turned] if turned else found


def _by_cost(
    trials: Trials, features: Sequence[Feature], matter: Mapping[str, Sequence[Together]], done: Sequence[str]
) -> list[Binding]:
    found = []
    for feature in features:
        first = trials.cost(feature, done) if matter[feature.id] else 0.0
        for together in matter[feature.id]:
            more = trials.cost(feature, {*done, *(g.id for g in together)}) - first
            for other in together if abs(more) > WORTH else ():
                earlier, later = (feature, other) if more > 0 else (other, feature)
                found.append(Binding(earlier.id, later.id, abs(more)))
    return found


def _matters(trials: Trials, other: Feature, feature: Feature, done: Sequence[str]) -> bool:
    """Whether it can make a difference to the feature that the other is cut before it.

    It can where the two meet, where the other takes away what the feature's set-ups rest on, and, if they need a jig
    or there is no way at all, where it makes a plane that they might rest on.
    """
    way = trials.best(feature, done)
    in_need = way is None or any(s.jig or s.tilt for s in way.setups)
    if in_need and any(isinstance(s.form, Plane) for s in other.surfaces):
        return True
    try:
        if _boxes_meet(trials.scar(feature, done), trials.scar(other, done)):
            return True
        now = trials.bench.work(done)
        planes = now.planes()
        used = sorted({u for s in (way.setups if way else ()) for u in used_surfaces(s)} & set(planes))
        return any(_unseats(now, now.after(other), planes[u]) for u in used)
    except GeometryError:
        return True


def _unseats(before: Work, after: Work, plane: Plane) -> bool:
    was, is_ = before.seat(plane), after.seat(plane)
    return is_.span < _MUCH * was.span or (was.steady and not is_.steady)


def _boxes_meet(a: Box, b: Box) -> bool:
    return all(p < q + r and q < p + s for p, q, r, s in zip(a.origin, b.origin, b.size, a.size, strict=True))


def _sorted(
    trials: Trials,
    features: Sequence[Feature],
    kept: Sequence[Binding],
    turned: Together,
    done: Sequence[str],
) -> list[Feature]:
    """Every feature as soon as those bound before it are cut; among those ready, by the trade, then as modelled.

    Once the work is in the lathe it stays there until all is turned.
    """
    waiting, found = list(features), list[Feature]()
    while waiting:
        ids = {f.id for f in waiting}
        ready = [f for f in waiting if not any(b.later == f.id and b.earlier in ids for b in kept)]
        mounted = bool(found) and found[-1] in turned
        following = min(
            ready,
            key=lambda f: (mounted and f not in turned, _rank(trials.best(f, done)), features.index(f)),
        )
        found.append(following)
        waiting.remove(following)
    return found


def _rank(way: Way | None) -> int:
    return max((_BY_TRADE.get(s.operation, 4) for s in way.setups), default=4) if way else 4


# --- what a set-up rests on -------------------------------------------------------------------------------


def by_use(trials: Trials, steps: Sequence[Step]) -> list[Binding]:
    """What the ways bind: a surface is cut before what lies on it or is measured from it, and is there until then."""
    made_by = {s.id: step.feature for step in steps for s in step.feature.surfaces}
    planes = {**trials.member.blank.planes(), **_planes_of(steps)}
    found = []
    for n, step in enumerate(steps):
        used = sorted({u for s in (step.way.setups if step.way else ()) for u in used_surfaces(s)})
        for maker in (made_by.get(u) for u in used):
            if maker is not None and maker is not step.feature:
                found.append(Binding(maker.id, step.feature.id, math.inf))
        for later in steps[n + 1 :]:
            if later.feature.stage == step.feature.stage and any(
                u in planes and _cuts_away(trials, steps[: n + 1], later.feature, planes[u]) for u in used
            ):
                found.append(Binding(step.feature.id, later.feature.id, math.inf))
    return found


def _planes_of(steps: Sequence[Step]) -> dict[str, Plane]:
    return {s.id: s.form for step in steps for s in step.feature.surfaces if isinstance(s.form, Plane)}


def used_surfaces(setup: Setup) -> frozenset[str]:
    """Ids of the surfaces that the work lies on, stands against or is measured from.

    In a cradle it lies on its round: the planes that are named then only say which way it is turned.
    """
    in_cradle = (setup.jig or "").startswith("cradle")
    named = [] if in_cradle else [setup.surface_down, setup.surface_against, setup.depth_from]
    if setup.stop is not None:
        named.append(setup.stop.start)
    return frozenset(i for i in named if i is not None)


def _cuts_away(trials: Trials, so_far: Sequence[Step], later: Feature, plane: Plane) -> bool:
    """The later cut leaves no wood on the plane."""
    try:
        now = trials.bench.work(s.feature.id for s in so_far[:-1])
        corners = now.corners(plane)
        reached = _reached(later, plane, corners)
        if reached == "in part":
            return False
        return reached == "in one" or not now.after(later).corners(plane)
    except GeometryError:
        return True


def _reached(
    feature: Feature, plane: Plane, corners: Sequence[Point]
) -> Literal["in part", "in one", "in several"]:
    """Whether every corner of what is on a plane lies in the feature's cutters, and all of them in one that bows
    nowhere inward, so that what is between them does too."""
    forms = {s.id: s.form for s in feature.surfaces}
    cutters = [[forms[i] for i in cutter] for cutter in feature.cutters]
    if not all(any(_in_cutter(p, plane, cutter) for cutter in cutters) for p in corners) or not corners:
        return "in part"
    plain = [c for c in cutters if all(isinstance(f, Plane) or getattr(f, "side", "") == "hole" for f in c)]
    if any(all(_in_cutter(p, plane, cutter) for p in corners) for cutter in plain):
        return "in one"
    return "in several"


def _in_cutter(point: Point, plane: Plane, cutter: Sequence[Form]) -> bool:
    """Of a sawn outline it is known only that a face square to its saw is never cut away whole."""
    return all(
        abs(dot(f.axis, plane.normal)) < _SQUARE if isinstance(f, Extruded) else f.distance(point) > -_ON
        for f in cutter
    )
