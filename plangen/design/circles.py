"""Circles: planes, lines, points and members that hang on one another, so that none of them can come first.

A member's place hangs on what its ``place`` names. Its ends and its length hang on its trims too. Only a
circle that is certain without geometry is reported here; ``placing`` finds the rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from plangen.design.design import Design, Member
from plangen.design.instances import member_of, parts_of
from plangen.design.references import LINE, PLANE, POINT, Use, uses, uses_in
from plangen.design.sizes import Sizes, chain
from plangen.findings import Finding, Place, error

_Node: TypeAlias = tuple[str, str]
"""What hangs on others: ``plane``, ``line``, ``point``, ``member`` (its place) or ``ends``, and its name."""
_BODY = ("place", "length", "width", "thickness", "diameter")


def circles(design: Design, sizes: Sizes) -> Iterator[Finding]:
    """One error for each circle, at the line of its first member in the file."""
    graph = _Graph(design, sizes)
    done: set[_Node] = set()
    told: set[frozenset[_Node]] = set()
    for start in graph.nodes():
        for ring in _rings(graph, start, done):
            if frozenset(ring) not in told:
                told.add(frozenset(ring))
                yield _told(graph, ring)


class _Graph:
    def __init__(self, design: Design, sizes: Sizes) -> None:
        self._design = design
        self._sizes = sizes
        self._parts = parts_of(design)
        self._members = {str(name): member for name, member in design.members.items()}
        self._named: dict[str, dict[str, object]] = {
            "plane": {str(name): spec for name, spec in design.planes.items()},
            "line": {str(name): spec for name, spec in design.lines.items()},
            "point": {str(name): spec for name, spec in design.points.items()},
        }
        self._places = {
            (kind, str(name)): name.place
            for kind, names in (
                ("plane", design.planes),
                ("line", design.lines),
                ("point", design.points),
                ("member", design.members),
                ("ends", design.members),
            )
            for name in names
        }
        self._known: dict[_Node, tuple[_Node, ...]] = {}

    def nodes(self) -> list[_Node]:
        return sorted(self._places, key=lambda node: (self.place(node), node))

    def place(self, node: _Node) -> Place:
        return self._places[node]

    def hangs_on(self, node: _Node) -> tuple[_Node, ...]:
        """What ``node`` needs to be placed first."""
        if node not in self._known:
            found = [needed for use in self._uses(node) for needed in self._needed(use)]
            if node[0] == "ends":
                found.append(("member", node[1]))
            self._known[node] = tuple(dict.fromkeys(found))
        return self._known[node]

    def _uses(self, node: _Node) -> list[Use]:
        kind, name = node
        if kind in self._named:
            shape = {"plane": PLANE, "line": LINE, "point": POINT}[kind]
            return list(uses(self._named[kind][name], shape))
        return list(uses_in(self._members[name], *(("trim",) if kind == "ends" else _BODY)))

    def _needed(self, use: Use) -> list[_Node]:
        if use.role == "value":
            return []
        if use.words == "floor" and use.role == "plane":
            return [("ends", owner) for name in self._design.floor_touches if (owner := self._owner(name))]
        if use.role in self._named and use.words in self._named[use.role]:
            return [(use.role, use.words)]
        words, _, part = use.words.partition(".")
        owner = self._owner(words)
        if not owner or (use.role == "size" and self._sizes.stated(use.words)):
            return []
        return [("ends" if use.role == "size" or self._is_cut(owner, part) else "member", owner)]

    def _is_cut(self, owner: str, part: str) -> bool:
        """Whether a surface is an end that only the member's trims give."""
        member: Member = self._members[owner]
        return part in ("end A", "end B") and member.length is None and part in member.trim

    def _owner(self, words: str) -> str:
        found = member_of(words, self._parts)
        return found[0] if found and found[0] in self._members else ""


def _rings(graph: _Graph, start: _Node, done: set[_Node]) -> Iterator[list[_Node]]:
    """Circles reached from ``start``; a walk of its own, so that a long chain costs no stack."""
    path: dict[_Node, None] = {start: None}
    waiting = [iter(graph.hangs_on(start))] if start not in done else []
    while waiting:
        following = next(waiting[-1], None)
        if following is None:
            done.add(path.popitem()[0])
            waiting.pop()
        elif following in path:
            nodes = list(path)
            yield nodes[nodes.index(following) :]
        elif following not in done:
            path[following] = None
            waiting.append(iter(graph.hangs_on(following)))


def _told(graph: _Graph, ring: list[_Node]) -> Finding:
    first = min(range(len(ring)), key=lambda i: (graph.place(ring[i]), ring[i]))
    turned = ring[first:] + ring[:first]
    steps = [f"{_words(node)} (line {graph.place(node).line})" for node in turned]
    place = graph.place(turned[0])
    text = f"each needs the next to be placed first, in a circle: {chain([*steps, _words(turned[0])])}"
    return error(place, "circle", text, *sorted({n for kind, n in ring if kind in ("member", "ends")}))


def _words(node: _Node) -> str:
    kind, name = node
    return f"the ends of {name}" if kind == "ends" else f"{kind} {name}"
