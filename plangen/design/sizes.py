"""Sizes that are known without geometry: named values, and the sizes that members and their stock state."""

from __future__ import annotations

from plangen.design.design import Design, Member
from plangen.design.expressions import Expression
from plangen.design.instances import member_of
from plangen.design.records import Name
from plangen.findings import DesignError, Finding, Place, did_you_mean, fail
from plangen.tables.stock import resolve_stock
from plangen.units import Quantity, exact

SIZE_WORDS = ("length", "width", "thickness", "diameter")
_OPEN_MEMBER_SIZES = "is known only once the member is placed; a named value cannot hang on it"


def evaluate_values(design: Design) -> dict[str, Quantity]:
    """Every named value of ``let``, a bare number as a number. Raises DesignError with all that is wrong."""
    sizes = Sizes(design)
    values: dict[str, Quantity] = {}
    findings: list[Finding] = []
    for name, expression in design.let.items():
        try:
            values[str(name)] = sizes.lookup(name, expression.place)
        except DesignError as wrong:
            findings.extend(wrong.findings)
    if findings:
        raise DesignError(dict.fromkeys(findings))
    return values


class Sizes:
    """Looks sizes up by name, each worked out once."""

    def __init__(self, design: Design) -> None:
        self._design = design
        self._lines = {str(name): expression for name, expression in design.let.items()}
        self._known: dict[str, Quantity] = {}
        self._asked: list[tuple[str, int]] = []

    def lookup(self, name: str, place: Place) -> Quantity:
        """A named value, or ``member.size`` where the member or its stock states it. Raises DesignError."""
        if name not in self._known:
            if name in [asked for asked, _ in self._asked]:
                raise self._circle(name, place)
            self._asked.append((name, place.line))
            try:
                self._known[name] = self._worked_out(name, place)
            finally:
                self._asked.pop()
        return self._known[name]

    def states(self, expression: Expression) -> bool:
        """Whether every name in the expression has a value without geometry."""
        return all("." not in name or self.stated(name) is not None for name in self._all_names(expression))

    def _all_names(self, expression: Expression, seen: frozenset[str] = frozenset()) -> set[str]:
        """The names in an expression and in the named values that it uses."""
        found = set()
        for name in map(str, expression.names()):
            found.add(name)
            if name in self._lines and name not in seen:
                found |= self._all_names(self._lines[name], seen | {name})
        return found

    def _worked_out(self, name: str, place: Place) -> Quantity:
        owner, dot, size = name.partition(".")
        if not dot:
            if name not in self._lines:
                raise fail(place, "name", f'unknown name "{name}"{did_you_mean(name, self._lines)}')
            return self._lines[name].evaluate(self.lookup)
        if member_of(owner, self._design) is None:
            raise fail(place, "name", f'unknown member "{owner}"{did_you_mean(owner, self._design.members)}')
        if size not in SIZE_WORDS:
            raise fail(place, "name", f'"{size}" is no size of a member{did_you_mean(size, SIZE_WORDS)}')
        stated = self.stated(name)
        if stated is None:
            raise fail(place, "size", f'"{name}" {_OPEN_MEMBER_SIZES}')
        return stated if isinstance(stated, Quantity) else stated.length(self.lookup)

    def stated(self, name: str) -> Expression | Quantity | None:
        """What a member or its stock says of ``member.size``; None where its cuts give it."""
        owner, _, size = name.partition(".")
        found = member_of(owner, self._design)
        member = self._design.members.get(Name(found[0])) if found else None
        if member is None or size not in SIZE_WORDS:
            return None
        own: Expression | None = getattr(member, size)
        return own if own is not None else self._of_stock(member, size)

    def _of_stock(self, member: Member, size: str) -> Expression | Quantity | None:
        if member.stock is None or size == "length":
            return None
        if (named := next((s for n, s in self._design.stock.items() if n == member.stock), None)) is not None:
            said: Expression | None = getattr(named, size, None)
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

    def _circle(self, name: str, place: Place) -> DesignError:
        names = [asked for asked, _ in self._asked]
        start = names.index(name)
        steps = [f"{n} (line {self._line(n, place)})" for n in names[start:]]
        return fail(place, "circle", f"values hang on one another in a circle: {' -> '.join([*steps, name])}")

    def _line(self, name: str, place: Place) -> int:
        return self._lines[name].place.line if name in self._lines else place.line
