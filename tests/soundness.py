"""What every joint owes, whatever the angles: no clash, contact, nothing lost, no order, and a second opinion.

A property test keeps a ``Tally``: how many random members it tried, how many the program refused, and the worst
relative difference from the exact kernel. ``tests/conftest.py`` prints the tallies at the end of a run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import islice

from brep_kernel import kernel_area, kernel_centroid, kernel_placed, kernel_solid, kernel_volume
from OCP.TopoDS import TopoDS_Shape
from workshop import Built, build

from plangen.findings import DesignError
from plangen.geometry.surfaces import Plane
from plangen.joinery.congruence import same_cutters
from plangen.joinery.model import Instance, Member

UNSOUND = {"clash", "gap", "lost wood", "worked away"}
"""Rules whose findings say that a joint did not come out."""
PLANE_BOUND, CURVED_BOUND = 1e-9, 1e-6
"""Relative difference from the exact kernel in volume, area and centroid (over the member's length)."""
MOST_REFUSED = 0.2


@dataclass
class Tally:
    """The count of one property test."""

    kind: str
    tried: int = 0
    refused: int = 0
    worst: float = 0.0
    reasons: dict[str, int] = field(default_factory=dict)

    def build(self, text: str) -> Built | None:
        """The design built; None, and counted, where the program refuses it."""
        self.tried += 1
        try:
            return build(text)
        except DesignError as problem:
            self.refused += 1
            rule = next(f for f in problem.findings if f.level == "error").text
            self.reasons[rule] = self.reasons.get(rule, 0) + 1
            return None

    def assert_few_refused(self) -> None:
        assert self.refused <= MOST_REFUSED * self.tried, self.reasons


def assert_sound(built: Built, tally: Tally, second: Mapping[str, TopoDS_Shape] | None = None) -> None:
    """No clash, no open joint, nothing lost; every instance equals its second construction.

    ``second`` gives solids in the world by instance, made by the exact kernel in another way than by our
    cutters (from the bodies, say); an instance that is not in it is rebuilt from its description.
    """
    assert [str(f) for f in built.findings if f.level == "error" or f.rule in UNSOUND] == []
    for member in built.model.members:
        for instance in member.instances:
            other = (second or {}).get(instance.name) or described(member, instance)
            assert_same_solid(member, instance, other, tally)


def described(member: Member, instance: Instance) -> TopoDS_Shape:
    """The exact kernel's solid of a member's blank and cutters, where the instance stands."""
    cutters = []
    for feature in member.features:
        forms = {s.id: s.form for s in feature.surfaces}
        cutters += [[forms[i] for i in cutter] for cutter in feature.cutters]
    return kernel_placed(kernel_solid(member.blank, cutters), instance.frame)


def assert_same_solid(member: Member, instance: Instance, other: TopoDS_Shape, tally: Tally) -> None:
    """Volume, area and centroid agree with another solid in the world."""
    solid = member.solid
    curved = not all(isinstance(f, Plane) for f in solid.forms)
    bound = CURVED_BOUND if curved else PLANE_BOUND
    centre = instance.frame.point(solid.centroid)
    off = max(
        abs(solid.volume / kernel_volume(other) - 1),
        abs(solid.area / kernel_area(other) - 1),
        math.dist(centre, kernel_centroid(other)) / max(member.finished),
    )
    tally.worst = max(tally.worst, off)
    assert off <= bound, (instance.name, solid.volume, kernel_volume(other), solid.area, kernel_area(other))


def world_cutters(built: Built) -> dict[str, list]:
    """Every instance's cutters, in the frame where it stands."""
    found = {}
    for member in built.model.members:
        forms = {s.id: s.form for f in member.features for s in f.surfaces}
        every = [[forms[i] for i in c] for f in member.features for c in f.cutters]
        for instance in member.instances:
            found[instance.name] = [[f.placed(instance.frame) for f in c] for c in every]
    return found


def assert_order_free(text: str, built_by: Callable[[str], Built] = build) -> None:
    """The joints, listed one a line under ``joints:``, make the same cutters in any order. Tried are the order turned
    round, each beginning, and both: every joint stands before and after every other, and at either end."""
    head, _, tail = text.partition("joints:\n")
    lines = tail.splitlines(keepends=True)
    joints = [line for line in lines if line.startswith("  - ")]
    rest = "".join(lines[len(joints) :])
    turned = [tuple(joints[i:] + joints[:i]) for i in range(len(joints))]
    orders = dict.fromkeys([*turned, *(order[::-1] for order in turned)])
    first = world_cutters(built_by(text))
    for order in islice(orders, 1, None):
        for name, cutters in world_cutters(built_by(head + "joints:\n" + "".join(order) + rest)).items():
            assert same_cutters(cutters, first[name]), name
