"""Sizes that are known without geometry: named values, and the sizes that members and their stock state."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from plangen.design.design import Design, Member
from plangen.design.expressions import Call, Expression
from plangen.design.instances import member_of, parts_of
from plangen.findings import DesignError, Finding, Place, did_you_mean, fail
from plangen.tables.stock import resolve_stock
from plangen.units import Quantity, exact

MOST_PROBLEMS = 100
SIZE_WORDS = ("length", "width", "thickness", "diameter")


def evaluate_values(design: Design) -> dict[str, Quantity]:
    """Every named value of ``let``, a bare number as a number. Raises DesignError with all that is wrong."""
    values, findings = worked_out_values(design, Sizes(design))
    if findings:
        raise DesignError(findings)
    return values


def worked_out_values(design: Design, sizes: Sizes) -> tuple[dict[str, Quantity], list[Finding]]:
    """The named values that can be worked out, and what is wrong with the others."""
    values: dict[str, Quantity] = {}
    findings: list[Finding] = []
    for name, expression in design.let.items():
        if len(findings) > MOST_PROBLEMS:
            break  # Each seeks its nearest spelling: a file of nothing but wrong names must end too.
        try:
            values[str(name)] = sizes.lookup(str(name), expression.place)
        except DesignError as wrong:
            findings.extend(wrong.findings)
    circles = [f for f in findings if f.rule == "circle"]
    # Every value on a circle, and every one that hangs on it, tells of it; the first is enough.
    return values, [*dict.fromkeys(f for f in findings if f.rule != "circle"), *circles[:1]]


class Sizes:
    """Looks sizes up by name, each worked out once. Long chains of values are followed without recursion."""

    def __init__(self, design: Design) -> None:
        self._design = design
        self._parts = parts_of(design)
        self._let = {str(name): expression for name, expression in design.let.items()}
        self._stock = {str(name): stock for name, stock in design.stock.items()}
        self._known: dict[str, Quantity] = {}
        self._closed: dict[str, bool] = {}

    def lookup(self, name: str, place: Place) -> Quantity:
        """A named value, or ``member.size`` where the member or its stock states it. Raises DesignError."""
        asked = {name: place}
        waiting = [iter(self._needs(name))]
        while waiting:
            following = next(waiting[-1], None)
            if following is None:
                waiting.pop()
                settled, where = asked.popitem()
                if settled not in self._known:
                    self._known[settled] = self._worked_out(settled, where)
            elif following[0] in asked:
                raise self._circle(list(asked), *following)
            elif following[0] not in self._known:
                asked[following[0]] = following[1]
                waiting.append(iter(self._needs(following[0])))
        return self._known[name]

    def states(self, expression: Expression) -> bool:
        """Whether every name in the expression has a value without geometry."""
        return all(self._is_closed(str(name)) for name in expression.names())

    def stated(self, name: str) -> Expression | Quantity | None:
        """What a member or its stock says of ``member.size``; None where its cuts give it."""
        owner, _, size = name.partition(".")
        found = member_of(owner, self._parts)
        member = self._parts[found[0]] if found else None
        if not isinstance(member, Member) or size not in SIZE_WORDS:
            return None
        own: Expression | None = getattr(member, size) if not member.turned else greatest_turned(member, size)
        return own if own is not None else self._of_stock(member, size)

    def _is_closed(self, name: str) -> bool:
        """Whether all that a name hangs on is stated in the design."""
        path, waiting = {name: True}, [iter(self._needs(name))]
        while waiting and name not in self._closed:
            needed = next(waiting[-1], None)
            if needed is None:
                waiting.pop()
                settled, _ = path.popitem()
                stated = "." not in settled or self.stated(settled) is not None
                self._closed[settled] = stated and all(
                    self._closed.get(n, False) for n, _ in self._needs(settled)
                )
            elif needed[0] in path:
                self._closed[name] = True  # A circle: to look the name up tells of it.
            elif needed[0] not in self._closed:
                path[needed[0]] = True
                waiting.append(iter(self._needs(needed[0])))
        return self._closed[name]

    def _needs(self, name: str) -> Iterator[tuple[str, Place]]:
        """The names in what a name stands for."""
        said = self.stated(name) if "." in name else self._let.get(name)
        if isinstance(said, Expression):
            for use in said.names():
                yield str(use), use.place

    def _worked_out(self, name: str, place: Place) -> Quantity:
        """The value of a name, all that it needs being known."""
        owner, dot, size = name.partition(".")
        if not dot:
            if name not in self._let:
                raise fail(place, "name", f'unknown name "{name}"{did_you_mean(name, self._let)}')
            return self._let[name].evaluate(self._already)
        if member_of(owner, self._parts) is None:
            raise fail(place, "name", f'unknown member "{owner}"{did_you_mean(owner, self._parts)}')
        if size not in SIZE_WORDS:
            raise fail(place, "name", f'"{size}" is no size of a member{did_you_mean(size, SIZE_WORDS)}')
        stated = self.stated(name)
        if stated is None:
            text = f'"{name}" is known only once the member is placed; a named value cannot hang on it'
            raise fail(place, "size", text)
        return stated if isinstance(stated, Quantity) else stated.length(self._already)

    def _already(self, name: str, place: Place) -> Quantity:
        return self._known[name]

    def _of_stock(self, member: Member, size: str) -> Expression | Quantity | None:
        if member.stock is None or size == "length":
            return None
        if member.stock in self._stock:
            said: Expression | None = getattr(self._stock[member.stock], size, None)
            return said
        try:
            stock = resolve_stock(str(member.stock), self._design.units)
        except ValueError:
            return None
        round_stock = stock.kind == "round"
        value = (
            stock.thickness if size == "thickness" or (size == "diameter" and round_stock) else stock.width
        )
        return (
            None if value is None or (size == "diameter") != round_stock else Quantity(exact(value), "length")
        )

    def _circle(self, asked: list[str], name: str, place: Place) -> DesignError:
        ring = asked[asked.index(name) :]
        steps = [f"{one} (line {self._line(one, place)})" for one in ring]
        return fail(place, "circle", f"values hang on one another in a circle: {chain([*steps, name])}")

    def _line(self, name: str, place: Place) -> int:
        said = self._let.get(name) or self.stated(name)
        return said.place.line if isinstance(said, Expression) else place.line


def greatest_turned(member: Member, size: str) -> Expression | None:
    """The greatest diameter of a turned member, as its width, thickness and diameter; its own length."""
    if size == "length":
        return member.length
    diameters = [diameter for _, diameter in member.turned]
    first = diameters[0]
    if len(diameters) == 1:
        return first
    return Expression(
        first.place, "greatest diameter", Call("max", tuple(e.tree for e in diameters)), first.units
    )


def chain(steps: Iterable[str]) -> str:
    """Steps of a circle in one line, the middle of a long one left out."""
    shown = list(steps)
    if len(shown) > 8:
        shown = [*shown[:4], f"{len(shown) - 7} more", *shown[-3:]]
    return " -> ".join(shown)
