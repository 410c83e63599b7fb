"""What a design leaves out: entries whose ``only if`` does not hold, and named planes and values that hang on them.

So one value of ``let`` chooses between two variants of a piece. Everything after this sees only what is left.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from plangen.design.arithmetic import truth
from plangen.design.design import Assembly, Bought, Design, Fastener, Joint, Member
from plangen.design.expressions import Attribute, Expression
from plangen.design.instances import member_of, parts_of
from plangen.design.records import Name
from plangen.design.references import LINE, PLANE, POINT, VALUE, Use, uses
from plangen.design.shapes import Shape
from plangen.design.sizes import Sizes
from plangen.findings import DesignError, Finding, Place, error, fail

_Conditional: TypeAlias = Member | Bought | Joint | Fastener | Assembly
_Named: TypeAlias = tuple[str, str]
"""What can be left out: ``part``, ``value``, ``plane``, ``line``, ``point`` or ``joint``, and its name."""
_SECTIONS: tuple[tuple[str, str, Shape], ...] = (
    ("let", "value", VALUE),
    ("planes", "plane", PLANE),
    ("lines", "line", LINE),
    ("points", "point", POINT),
)


@dataclass(frozen=True)
class LeftOut:
    """Why a name of the file means nothing in this variant, in words that follow the name and a colon."""

    reasons: Mapping[_Named, str] = field(default_factory=dict)
    parts: Collection[str] = ()
    """Every member and bought part of the file, left out or not."""

    def why(self, role: str, words: str) -> str:
        """Why ``words`` mean nothing where a ``role`` is expected; empty where nothing left out is meant."""
        return self.reasons.get((role, words), "") or self.reasons.get(self.part(words), "")

    def part(self, words: str) -> _Named:
        """The member or bought part that ``words`` (a place, a surface, a size of it) begin with."""
        found = member_of(words.partition(".")[0], self.parts)
        return ("part", found[0] if found else "")


def chosen(design: Design) -> tuple[Design, LeftOut, list[Finding]]:
    """The design without what its conditions leave out, why each name is gone, and the conditions that are wrong.

    An entry whose condition cannot be worked out stays.
    """
    conditional: list[_Conditional] = [*parts_of(design).values(), *design.assemblies.values()]
    conditional += [*design.joints, *design.fasteners]
    sizes, findings, failing = Sizes(design), list[Finding](), set[Place]()
    for entry in conditional:
        try:
            if entry.only_if is not None and not _holds(entry.only_if, sizes):
                failing.add(entry.source)
        except DesignError as wrong:
            findings += wrong.findings
    if not failing:
        return design, LeftOut(), findings
    if all(member.source in failing for member in design.members.values()):
        place = next(member.source for member in design.members.values())
        return (
            design,
            LeftOut(),
            [*findings, error(place, "condition", 'every member is left out by its "only if"')],
        )
    out = _left_out(design, failing)
    kept: dict[str, object] = {
        "joints": tuple(joint for joint in design.joints if joint.source not in failing),
        "fasteners": tuple(fastener for fastener in design.fasteners if fastener.source not in failing),
        "members": {
            name: member.model_copy(update={"like": None}) if member.like else member
            for name, member in design.members.items()
            if member.source not in failing
        },
        "bought": {name: part for name, part in design.bought.items() if part.source not in failing},
        "assemblies": {name: one for name, one in design.assemblies.items() if one.source not in failing},
        "floor_touches": tuple(name for name in design.floor_touches if out.part(name) not in out.reasons),
    }
    for section, role, _ in _SECTIONS:
        named: Mapping[Name, object] = getattr(design, section)
        kept[section] = {name: said for name, said in named.items() if (role, str(name)) not in out.reasons}
    return design.model_copy(update=kept), out, findings


def _holds(condition: Expression, sizes: Sizes) -> bool:
    size = next((name for name in condition.names() if isinstance(name, Attribute)), None)
    if size is not None:
        raise fail(size.place, "condition", f'"only if" hangs on named values (let) only, not on "{size}"')
    value = condition.evaluate(sizes.lookup)
    try:
        return truth(value)
    except ValueError as wrong:
        raise fail(condition.place, "condition", f'"only if" is "{condition}": {wrong}') from None


def _left_out(design: Design, failing: set[Place]) -> LeftOut:
    """Parts and joints whose condition fails, and every named thing that hangs on such a part."""
    parts = parts_of(design)
    whole = LeftOut(parts=parts)
    gone = [("part", name) for name, part in parts.items() if part.source in failing]
    reasons = {named: f"it {_by_condition(parts[named[1]])}" for named in gone}
    hanging: dict[_Named, list[_Named]] = {}
    for section, role, shape in _SECTIONS:
        for name, said in getattr(design, section).items():
            for use in uses(said, shape):
                hanging.setdefault(_needed(use, whole), []).append((role, str(name)))
    for part in gone:
        waiting = deque([part])
        while waiting:
            for named in hanging.get(waiting.popleft(), ()):
                if named not in reasons:
                    reasons[named] = f'it hangs on "{part[1]}", which {_by_condition(parts[part[1]])}'
                    waiting.append(named)
    named_joints = (joint for joint in design.joints if joint.name is not None and joint.source in failing)
    reasons |= {("joint", str(joint.name)): f"it {_by_condition(joint)}" for joint in named_joints}
    return LeftOut(reasons, parts)


def _needed(use: Use, whole: LeftOut) -> _Named:
    own = use.role in ("plane", "line", "point", "value") and "." not in use.words
    return (use.role, use.words) if own else whole.part(use.words)


def _by_condition(entry: _Conditional) -> str:
    line = entry.only_if.place.line if entry.only_if is not None else entry.source.line
    return f'is left out by its "only if" (line {line})'
