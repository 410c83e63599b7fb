"""The text of a design file to a ``Design``, or to everything that is wrong with it.

>>> design, findings = read_design("title: Bench\\nunits: in\\nmembers: {}\\n", "bench.yaml")
>>> print(findings[0])
bench.yaml:3:10: error: "members" names no member
"""

from __future__ import annotations

from dataclasses import replace

from plangen.design.arithmetic import FUNCTIONS
from plangen.design.checking import check_design
from plangen.design.choosing import chosen
from plangen.design.design import Design, Fastener, Joint, Member
from plangen.design.kinds import (
    BUILT_IN_PLANES,
    DIRECTION_WORDS,
    FASTENER_MEANINGS,
    FASTENER_SYNONYMS,
    JOINT_OPTIONS,
    JOINT_SYNONYMS,
    PLANE_SYNONYMS,
    WORD_SYNONYMS,
)
from plangen.design.nodes import Items, Mapping, Node, Scalar, decode, read_nodes
from plangen.design.records import Entry, Name, Text, key_of
from plangen.design.shapes import Fixed, Shape, Word, fields_of, shape_of
from plangen.design.values import ValueReader
from plangen.findings import Finding, error, in_order
from plangen.units import LengthUnit

MOST_FINDINGS = 100
MOST_ALIKE = 20


def read_design(text: str, file: str) -> tuple[Design | None, tuple[Finding, ...]]:
    """The design that ``text`` says, and all findings in the order of the file.

    None where there is an error. Never raises for anything the text may hold.
    """
    root, findings = read_nodes(text, file)
    if root is None or findings:
        return None, _bounded(findings)
    whole, findings = _Reader(_units(root)).design(root)
    if whole is None:
        return None, _bounded(findings)
    design, out, wrong_conditions = chosen(whole)
    findings = (*wrong_conditions, *check_design(design, out, whole))
    wrong = any(finding.level == "error" for finding in findings)
    return (None if wrong else design), _bounded(findings)


def read_design_bytes(data: bytes, file: str) -> tuple[Design | None, tuple[Finding, ...]]:
    """As ``read_design``, from the bytes of the file."""
    text, findings = decode(data, file)
    return (None, findings) if text is None else read_design(text, file)


def _bounded(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """In order, one line each whatever the designer's words hold, and not too many."""
    ordered = tuple(replace(f, text=" ".join(f.text.split())) for f in in_order(findings))
    if len(ordered) <= MOST_FINDINGS:
        return ordered
    more = len(ordered) - MOST_FINDINGS
    return (
        *ordered[:MOST_FINDINGS],
        error(ordered[MOST_FINDINGS].place, "more", f"and {more} further problems"),
    )


def _units(root: Mapping) -> LengthUnit:
    """The design's units, needed before its sizes; inches where they are missing or wrong."""
    for key, value in root.entries:
        if key.text == "units" and isinstance(value, Scalar) and value.text.strip() == "mm":
            return "mm"
    return "in"


_PLANES = dict.fromkeys([*BUILT_IN_PLANES, *PLANE_SYNONYMS], "a plane that every design has")
_WORDS = dict.fromkeys([*DIRECTION_WORDS, *WORD_SYNONYMS], "a direction")
_UNITS = ("in", "inch", "inches", "ft", "foot", "feet", "mm", "cm", "m", "deg", "degree", "degrees")
_TAKEN: dict[str, dict[str, str]] = {
    "planes": _PLANES,
    "lines": {**_PLANES, **_WORDS},
    "points": _PLANES,
    "members": _PLANES,
    "bought": _PLANES,
    "let": {**dict.fromkeys(FUNCTIONS, "a function"), **dict.fromkeys(_UNITS, "a unit")},
    "stock": {},
    "assemblies": {},
}
"""Words that cannot name something, by the section of the file."""
_DIRECTION_STARTS = ("along ", "against ", "square to ")
_NAMED_PLACES = ("planes", "lines", "points", "members", "bought")


class _Reader(ValueReader):
    """Reads what is particular to a design: tables of names, members like others, joints and fasteners."""

    def design(self, root: Mapping) -> tuple[Design | None, tuple[Finding, ...]]:
        """The design of the file's mapping; None with at least one error."""
        self._check_names(root)
        own = {"members": self._members, "joints": self._joints, "fasteners": self._fasteners}
        values, given = self.fields(root, Design, skipped=tuple(own))
        for key, node in root.entries:
            if key.text in own:
                given.add(key.text)
                if isinstance(node, Scalar) and node.trouble:
                    self.report(node.place, "empty", f'"{key.text}" {node.trouble}')
                else:
                    values[key.text] = own[key.text](node)
        self.check_rules(Design, given, root)
        design = None if self.findings else self.build(Design, values, root.place)
        return (design if isinstance(design, Design) else None), tuple(self.findings)

    # --- names ---

    def _check_names(self, root: Mapping) -> None:
        """Names that are taken, that differ too little, or that two things share."""
        places: dict[str, tuple[str, str, int]] = {}
        for section, node in root.entries:
            if isinstance(node, Mapping) and section.text in _TAKEN:
                seen = places if section.text in _NAMED_PLACES else {}
                for key, _ in node.entries:
                    self._check_name(key, section.text, seen)

    def _check_name(self, key: Scalar, section: str, seen: dict[str, tuple[str, str, int]]) -> None:
        name = " ".join(key.text.split())
        taken = _TAKEN[section].get(name)
        starts = next((start for start in _DIRECTION_STARTS if name.startswith(start)), "")
        bare = name.casefold().replace(" ", "").replace("_", "")
        if taken:
            self.report(key.place, "name", f'"{name}" cannot be a name: it is {taken}')
        elif starts and section == "lines":
            self.report(key.place, "name", f'"{name}" cannot be a name: "{starts.strip()}" says a direction')
        elif bare in seen:
            other, where, line = seen[bare]
            text = f'"{name}" is already the name of one of the {where} (line {line})'
            if other != name:
                text = f'"{name}" and "{other}" (line {line}) are too alike; give one of them another name'
            self.report(key.place, "name", text)
        else:
            seen[bare] = (name, section, key.place.line)

    # --- members ---

    def _members(self, node: Node) -> dict[Name, Member] | None:
        """All members, each with the entries of the one it is like."""
        if not isinstance(node, Mapping):
            self.report(
                node.place, "shape", f"{self.found(node, 'members')}; expected names, each with its keys"
            )
            return None
        if not node.entries:
            self.report(node.place, "members", '"members" names no member')
        read: dict[Name, tuple[Mapping, dict[str, object], set[str]]] = {}
        for key, item in node.entries:
            name = self.name(key)
            if not isinstance(item, Mapping):
                self.value(item, shape_of(Member), key.text)
            elif name is not None:
                read[name] = (item, *self.fields(item, Member))
        members = {}
        for name, (item, _, given) in read.items():
            line = self._likeness(name, read)
            values = {k: v for like in reversed(line) for k, v in read[like][1].items()}
            if isinstance(read[line[-1]][1].get("like"), Name):
                continue  # The line ends nowhere, which is reported; what it lacks cannot be told.
            self.check_rules(Member, given.union(*(read[like][2] for like in line)), item, f'"{name}"')
            if not self.findings and isinstance(member := self.build(Member, values, item.place), Member):
                members[name] = member
        return members

    def _likeness(
        self, name: Name, read: dict[Name, tuple[Mapping, dict[str, object], set[str]]]
    ) -> list[Name]:
        """The member, the one it is like, the one that is like, and so on; a circle is reported."""
        line = [name]
        while isinstance(like := read[line[-1]][1].get("like"), Name):
            if like not in read:
                self.report(like.place, "name", f'unknown member "{like}"{self.hint(like, read)}')
                return line
            if like in line:
                circle = [*line[line.index(like) :], like]
                steps = " -> ".join(f"{n} (line {read[n][0].place.line})" for n in circle)
                if name == min(circle):
                    self.report(like.place, "circle", f"members are like one another in a circle: {steps}")
                return line
            if len(line) == MOST_ALIKE:
                self.report(like.place, "like", f'"{name}" is like more than {MOST_ALIKE} others in a row')
                return line
            line.append(like)
        return line

    # --- joints and fasteners ---

    def _joints(self, node: Node) -> tuple[Joint, ...]:
        return tuple(joint for item in self._listed(node, "joints") if (joint := self._joint(item)))

    def _fasteners(self, node: Node) -> tuple[Fastener, ...]:
        return tuple(one for item in self._listed(node, "fasteners") if (one := self._fastener(item)))

    def _listed(self, node: Node, what: str) -> list[Mapping]:
        """The mappings of a list of them."""
        if not isinstance(node, Items):
            self.report(
                node.place, "shape", f"{self.found(node, what)}; expected a list, each item after a dash"
            )
            return []
        for item in node.items:
            if not isinstance(item, Mapping):
                kind = next(iter(JOINT_OPTIONS if what == "joints" else FASTENER_MEANINGS))
                self.report(item.place, "shape", f"one of the {what} is no mapping; expected {{{kind}: ...}}")
        return [item for item in node.items if isinstance(item, Mapping)]

    def _kind(
        self, node: Mapping, record: type[Entry], kinds: dict[str, str], noun: str
    ) -> tuple[str, Scalar, Node] | None:
        """The kind that one of the keys says, that key, and its value."""
        said = [(kinds[key.text], key, value) for key, value in node.entries if key.text in kinds]
        if len(said) == 1:
            return said[0]
        if said:
            first, second = said[0][1].text, said[1][1].text
            self.report(said[1][1].place, "kind", f'one {noun} cannot be both "{first}" and "{second}"')
            return None
        other = next((key for key, _ in node.entries if key.text not in fields_of(record)), None)
        names = sorted(set(kinds.values()))
        if other is None:
            self.report(node.place, "kind", f"this {noun} does not say its kind; known: {', '.join(names)}")
        else:
            hint = self.hint(other.text, kinds)
            hint = hint if hint.startswith("; did you") else f"; known: {', '.join(names)}"
            self.report(other.place, "kind", f'"{other.text}" is no kind of {noun}{hint}')
        return None

    def _joint(self, node: Mapping) -> Joint | None:
        kinds = {**{kind: kind for kind in JOINT_OPTIONS}, **JOINT_SYNONYMS}
        before = len(self.findings)
        if not (found := self._kind(node, Joint, kinds, "joint")):
            return None
        kind, key, members = found
        pair = None
        if isinstance(members, Items) and len(members.items) == 2:
            pair = self.value(members, _PAIR, key.text)
        else:
            self.report(
                members.place, "joint", f'"{key.text}" takes its two members in brackets: [first, second]'
            )
        values, given = self.fields(node, Joint, skipped=(key.text,))
        for option, _ in node.entries:
            name = fields_of(Joint).get(option.text)
            if name in given and name not in JOINT_OPTIONS[kind]:
                takes = ", ".join(key_of(n) for n in JOINT_OPTIONS[kind])
                self.report(option.place, "option", f'a {key.text} has no "{option.text}"; it takes {takes}')
        self.check_rules(
            Joint, given, Mapping(tuple(e for e in node.entries if e[0] != key), node.place, node.size)
        )
        if len(self.findings) > before or not isinstance(pair, tuple):
            return None
        values |= {"kind": Text(kind, key.place), "first": pair[0], "second": pair[1]}
        joint = self.build(Joint, values, node.place)
        return joint if isinstance(joint, Joint) else None

    def _fastener(self, node: Mapping) -> Fastener | None:
        kinds = {**{kind: kind for kind in FASTENER_MEANINGS}, **FASTENER_SYNONYMS}
        before = len(self.findings)
        if not (found := self._kind(node, Fastener, kinds, "fastener")):
            return None
        kind, key, size = found
        said = self.value(size, Shape(Word("text")), key.text)
        values, given = self.fields(node, Fastener, skipped=(key.text,))
        self.check_rules(
            Fastener, given, Mapping(tuple(e for e in node.entries if e[0] != key), node.place, node.size)
        )
        if len(self.findings) > before:
            return None
        fastener = self.build(Fastener, values | {"kind": kind, "size": said}, node.place)
        return fastener if isinstance(fastener, Fastener) else None


_PAIR = Shape(items=Fixed((Shape(Word("name")), Shape(Word("name")))))
