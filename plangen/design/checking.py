"""What can be checked of a design without geometry: names, circles, figures, stock, joints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import get_args

from plangen.design import design as d
from plangen.design.choosing import LeftOut
from plangen.design.circles import circles
from plangen.design.instances import instance_names, is_instance, member_of, owner_of_place, parts_of
from plangen.design.kinds import BUILT_IN_PLANES, DIRECTION_WORDS
from plangen.design.ranges import unused, wrong_fasteners, wrong_figures, wrong_outlines, wrong_stock
from plangen.design.references import Role, Use, uses_in
from plangen.design.sizes import MOST_PROBLEMS, SIZE_WORDS, Sizes, evaluate_values, worked_out_values
from plangen.findings import Finding, did_you_mean, error, in_order
from plangen.units import Quantity

__all__ = ["check_design", "evaluate_values", "instance_names"]

SURFACES: tuple[str, ...] = get_args(d.Side)
_EXPECTED: dict[Role, str] = {"plane": "a plane", "line": "a line", "point": "a point"}


def check_design(design: d.Design, out: LeftOut, whole: d.Design) -> tuple[Finding, ...]:
    """Everything wrong with the names and figures of a design that was read, in the order of the file.

    ``whole`` is the design with what its conditions left ``out``: what only those entries use is not unused.
    """
    sizes = Sizes(design)
    values, findings = worked_out_values(design, sizes)
    all_uses = list(uses_in(design))
    names = _Names(design, values, out)
    wrong = islice((problem for use in all_uses if (problem := names.problem(use))), MOST_PROBLEMS)
    findings += [*wrong, *_alike_instances(design, values)]
    if not findings:
        # Figures and circles are followed along names, so names come first.
        findings += circles(design, sizes)
    if not findings:
        findings += wrong_figures(design, sizes)
        findings += wrong_stock(design, sizes)
    findings += [*wrong_outlines(design), *wrong_fasteners(design), *_joints(design, out), *_parts(design)]
    if not findings:
        findings += unused(whole, {(use.role, use.words) for use in uses_in(whole)})
    return in_order(findings)


class _Names:
    """What names mean in a design."""

    def __init__(self, design: d.Design, values: dict[str, Quantity], out: LeftOut) -> None:
        self._values = values
        self._out = out
        self._parts = parts_of(design)
        self._let = [str(name) for name in design.let]
        self._planes = [*BUILT_IN_PLANES, *(str(name) for name in design.planes)]
        self._lines = [str(name) for name in design.lines]
        self._points = [str(name) for name in design.points]

    def problem(self, use: Use) -> Finding | None:
        """The error of a use whose name names nothing, or the wrong thing."""
        checks = {
            "plane": self._plane,
            "line": self._line,
            "point": self._point,
            "member": self._member,
            "value": self._value,
            "size": self._size,
        }
        text = checks[use.role](use.words)
        if text and (why := self._out.why(use.role, use.words)):
            text = f'unknown {"name" if use.role == "value" else use.role} "{use.words}": {why}'
        return error(use.place, "name", text) if text else None

    def _plane(self, words: str) -> str:
        if words in self._planes:
            return ""
        if "." in words:
            return self._surface(words, "plane")
        if is_instance(words, self._parts, self._values):
            return f'"{words}" is a member; name one of its surfaces, such as {words}.top'
        return self._other(words, "plane") or f'unknown plane "{words}"{did_you_mean(words, self._planes)}'

    def _line(self, words: str) -> str:
        if words in self._lines:
            return ""
        if "." in words:
            return self._surface(words, "line")
        if is_instance(words, self._parts, self._values):
            return f'"{words}" is a member; a line of it is {words}.axis, a plane of it {words}.top'
        if words in self._planes:
            return f'"{words}" is a plane where a direction or a line is expected; ' + (
                f"write against: {words}, flush with: {words}, or square to {words}"
            )
        hint = _near(words, [*self._lines, *DIRECTION_WORDS])
        hint = hint or f"; directions are {', '.join(DIRECTION_WORDS)}"
        return self._other(words, "line") or f'unknown line or direction "{words}"{hint}'

    def _point(self, words: str) -> str:
        if words in self._points:
            return ""
        hint = "; a point of a member is {of: member, from end A: ...} or {on: member.axis, ...}"
        other = self._other(words, "point")
        if other or "." not in words:
            return other or f'unknown point "{words}"{did_you_mean(words, self._points)}'
        return f'"{words}" is no point{hint}'

    def _other(self, words: str, role: Role) -> str:
        """Where the name names something else."""
        for other, names in (("plane", self._planes), ("line", self._lines), ("point", self._points)):
            if words in names and other != role:
                return f'"{words}" is a {other}; {_EXPECTED[role]} is expected here'
        return ""

    def _surface(self, words: str, role: Role) -> str:
        owner, _, part = words.partition(".")
        if text := self._member(owner):
            return text
        if part == "axis":
            return "" if role == "line" else f'"{words}" is a line; a plane is expected here'
        if part in SURFACES:
            return "" if role == "plane" else f'"{words}" is a plane; a line is expected here'
        known = SURFACES if role == "plane" else ("axis",)
        hint = _near(part, known) or f"; known: {', '.join(known)}"
        return (
            f'"{part}" is no surface of a member{hint}' if role == "plane" else f'"{words}" is no line{hint}'
        )

    def _member(self, words: str) -> str:
        if is_instance(words, self._parts, self._values):
            return ""
        everyone = self._parts
        found = member_of(words, self._parts)
        if found is None:
            return f'unknown member "{words}"{did_you_mean(words, everyone)}'
        owner = found[0]
        places = instance_names(owner, self._parts[owner], self._values)
        if len(places) == 1:
            return f'unknown member "{words}": "{owner}" stands in one place only{_near(words, everyone)}'
        hint = _near(words, [*places, *everyone]) or f"; known: {', '.join(places[:9])}"
        return f'unknown member "{words}"{hint}'

    def _value(self, words: str) -> str:
        if words in self._let:
            return ""
        if is_instance(words, self._parts, self._values):
            return (
                f'"{words}" is a member; its sizes are {", ".join(f"{words}.{size}" for size in SIZE_WORDS)}'
            )
        if words in self._planes or words in self._lines or words in self._points:
            return f'"{words}" is no value; only named values and sizes of members can be reckoned with'
        return f'unknown name "{words}"{did_you_mean(words, self._let)}'

    def _size(self, words: str) -> str:
        owner, _, size = words.partition(".")
        if text := self._member(owner):
            return text
        return (
            "" if size in SIZE_WORDS else f'"{size}" is no size of a member{did_you_mean(size, SIZE_WORDS)}'
        )


def _near(words: str, known: Iterable[str]) -> str:
    """The nearest known spelling only, never the whole list."""
    hint = did_you_mean(words, known)
    return hint if hint.startswith("; did you") else ""


def _alike_instances(design: d.Design, values: dict[str, Quantity]) -> Iterator[Finding]:
    """Members whose own name is already the name of another's place."""
    parts = parts_of(design)
    places = {str(name): name.place for name in (*design.members, *design.bought)}
    for name, place in places.items():
        if owner := owner_of_place(name, parts, values):
            text = f'"{name}" is already the name of a place of "{owner}" (line {places[owner].line})'
            yield error(place, "name", text, name)


def _joints(design: d.Design, out: LeftOut) -> Iterator[Finding]:
    """Joints of a member with itself, and joints that come after unknown ones or one another."""
    named = {str(joint.name): joint for joint in design.joints if joint.name is not None}
    seen: dict[tuple[str, ...], d.Joint] = {}
    for joint in design.joints:
        copied = parts_of(design).get(str(joint.first))
        if joint.first == joint.second and (copied is None or copied.copies is None):
            text = f'"{joint.first}" cannot be joined to itself; name the other member, or one of its places'
            yield error(joint.second.place, "joint", text, str(joint.first))
        if joint.name is not None and named[str(joint.name)] is not joint:
            yield error(joint.name.place, "joint", f'another joint is named "{joint.name}" too')
        if joint.after is not None:
            yield from _order(joint, named, out)
        same = (joint.kind, *sorted((joint.first, joint.second)))
        if (other := seen.setdefault(same, joint)) is not joint:
            text = f'"{joint.first}" and "{joint.second}" have this joint already (line {other.place.line})'
            yield error(joint.place, "joint", text, str(joint.first), str(joint.second))
            break


def _order(joint: d.Joint, named: dict[str, d.Joint], out: LeftOut) -> Iterator[Finding]:
    assert joint.after is not None
    if joint.after not in named:
        why = out.why("joint", str(joint.after))
        known = f": {why}" if why else did_you_mean(joint.after, named) or "; no joint has a name"
        yield error(joint.after.place, "joint", f'unknown joint "{joint.after}"{known}')
        return
    line = [joint]
    while (after := line[-1].after) is not None and after in named:
        following = named[str(after)]
        if following is joint and joint.place == min(j.place for j in line):
            steps = " -> ".join(f"line {j.place.line}" for j in [*line, joint])
            yield error(joint.after.place, "circle", f"joints come after one another in a circle: {steps}")
        if following in line:
            return
        line.append(following)


def _parts(design: d.Design) -> Iterator[Finding]:
    """Assemblies of nothing, braces hung on themselves, mirrors said twice."""
    for name, assembly in design.assemblies.items():
        if not assembly.of:
            yield error(assembly.place, "assembly", f'the assembly "{name}" has no members')
        for number, member in enumerate(assembly.of):
            if member in assembly.of[:number]:
                yield error(member.place, "assembly", f'"{member}" is given twice', str(member))
    for owner, part in parts_of(design).items():
        if part.copies is not None and len(set(part.copies.mirror)) < len(part.copies.mirror):
            yield error(part.copies.place, "copies", f'"mirror" of "{owner}" says the same twice', owner)
        if isinstance(part, d.Member) and part.hung_on is not None and part.hung_on == owner:
            yield error(part.hung_on.place, "member", f'"{owner}" cannot be hung on itself', owner)
