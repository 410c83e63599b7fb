"""Ways that share settings: of those as good, the ones for which a machine need not be set anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

from plangen.joinery.model import Member
from plangen.machining.hands import setups_of_hands
from plangen.machining.order import CutOrder, Step
from plangen.machining.settings import named
from plangen.machining.setup import Setup, Way

Pose: TypeAlias = tuple[object, ...]
"""What is set: machine, tool, angles, jig."""


def share_settings(orders: Sequence[CutOrder], members: Sequence[Member]) -> list[CutOrder]:
    """The same orders, with other ways as good wherever that makes a setting needless.

    The settings are gone through from the one that fewest cuts need: where all of these can be made with settings
    that are needed anyhow, they are.
    """
    steps = [(m, s) for o, m in zip(orders, members, strict=True) for s in o.steps]
    options = [[(w, _poses(w, m)) for w in _options(s)] for m, s in steps]
    chosen = [0] * len(steps)
    count = Counter(p for o in options if o for p in o[0][1])
    refused: set[Pose] = set()
    while True:
        open_ = [p for p in count if p not in refused]
        if not open_:
            break
        pose = min(open_, key=lambda p: (count[p], repr(p)))
        others = set(count) - {pose}
        moves = {
            i: next((n for n, (_, poses) in enumerate(o) if poses <= others), None)
            for i, o in enumerate(options)
            if o and pose in o[chosen[i]][1]
        }
        if all(n is not None for n in moves.values()):
            for i, n in moves.items():
                chosen[i] = n or 0
            count = Counter(p for o, c in zip(options, chosen, strict=True) if o for p in o[c][1])
        else:
            refused.add(pose)
    ways = iter([o[c][0] if o else None for o, c in zip(options, chosen, strict=True)])
    return [replace(o, steps=tuple(replace(s, way=next(ways)) for s in o.steps)) for o in orders]


def _options(step: Step) -> Sequence[Way]:
    return step.options or ((step.way,) if step.way else ())


def _poses(way: Way, member: Member) -> frozenset[Pose]:
    """What is set for it, for both hands where the member has both."""
    return frozenset(_pose(s) for s in setups_of_hands(way.setups, member) if s.machine != "hand")


def _pose(s: Setup) -> Pose:
    tilt = None if s.tilt is None else (round(s.tilt.angle, 6) + 0.0, round(s.tilt.azimuth, 6) + 0.0)
    return (s.machine, named(s.tool), round(s.miter, 6) + 0.0, round(s.bevel, 6) + 0.0, tilt, s.jig)
