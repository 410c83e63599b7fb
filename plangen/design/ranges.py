"""Whether figures can be: their kinds, their signs, and sizes that cannot go together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol, TypeAlias

from plangen.design import design as d
from plangen.design.instances import MOST_COPIES
from plangen.design.records import Entry, Expression, Text, key_of, place_of
from plangen.design.references import Figure, figures
from plangen.design.rules import rules_of
from plangen.design.sizes import Sizes, greatest_turned
from plangen.findings import DesignError, Finding, Place, error, warning
from plangen.tables.fasteners import read_fastener
from plangen.tables.stock import resolve_stock
from plangen.units import STYLES, Quantity, length_text_with_unit

_Size: TypeAlias = Expression | float | None


class Known(Protocol):
    """What names stand for, where that is known without geometry."""

    def states(self, expression: Expression) -> bool: ...

    def lookup(self, name: str, place: Place) -> Quantity: ...


def wrong_figures(entry: Entry, sizes: Known) -> Iterator[Finding]:
    """Errors of every figure of a record whose value is known without geometry."""
    for figure in figures(entry):
        if not sizes.states(figure.expression):
            continue
        try:
            value = _of_kind(figure, sizes)
        except DesignError as wrong:
            yield from wrong.findings
            continue
        if said := _out_of_range(figure, value):
            yield error(figure.expression.place, "range", f'"{key_of(figure.field)}" {said}')


def _of_kind(figure: Figure, sizes: Known) -> Quantity:
    if figure.kind == "length":
        return figure.expression.length(sizes.lookup)
    if figure.kind == "angle":
        return figure.expression.angle(sizes.lookup)
    if figure.kind == "number":
        return figure.expression.number(sizes.lookup)
    return figure.expression.evaluate(sizes.lookup)


def _out_of_range(figure: Figure, quantity: Quantity) -> str:
    """What is wrong with the value, or nothing."""
    if figure.record is None:
        return ""
    rules, value, said = rules_of(figure.record), quantity.value, f'is "{figure.expression}"'
    if figure.field in rules.positive and value <= 0:
        return f"{said}; it must be more than zero"
    if figure.field in rules.not_negative and value < 0:
        return f"{said}; it cannot be less than zero"
    if figure.field in rules.counts and (value.denominator != 1 or not 1 <= value <= MOST_COPIES):
        return f"{said}; a whole number from 1 to {MOST_COPIES} is expected"
    if figure.field in rules.acute and abs(value) >= 90:
        return f"{said}; it must be less than 90 deg"
    return ""


def wrong_stock(design: d.Design, sizes: Sizes) -> Iterator[Finding]:
    """Stock that no yard knows, and finished sizes that the stock does not hold."""
    for name, member in design.members.items():
        if member.stock is None:
            yield error(member.source, "stock", f'"{name}" lacks "stock": what it is made of', str(name))
            continue
        held: tuple[_Size, _Size]
        own = next((stock for key, stock in design.stock.items() if key == member.stock), None)
        if own is not None:
            held = (own.thickness, own.width)
        else:
            try:
                stock = resolve_stock(str(member.stock), design.units)
            except ValueError as wrong:
                yield error(member.stock.place, "stock", str(wrong), str(name))
                continue
            held = (stock.thickness, stock.width if stock.kind == "dimension" else None)
        yield from _over_stock(design, sizes, name, member, held)
        yield from _tapers_wider(design, sizes, name, member)


def _over_stock(
    design: d.Design, sizes: Sizes, name: Text, member: d.Member, held: tuple[_Size, _Size]
) -> Iterator[Finding]:
    """Finished thickness and width over those that the stock holds."""
    wide = member.width if member.boards is None else None
    round_size = greatest_turned(member, "diameter") if member.turned else member.diameter
    checked = [("thick", member.thickness, held[0]), ("wide", wide, held[1])]
    checked += [("in diameter", round_size, held[0]), ("in diameter", round_size, held[1])]
    for word, wanted, bought in checked:
        asked, most = _millimetres(wanted, sizes), _millimetres(bought, sizes)
        if wanted is not None and asked is not None and most is not None and asked > most + 1e-6:
            style = STYLES[design.units]
            text = f'"{name}" is {length_text_with_unit(asked, style)} {word}; its stock "{member.stock}"'
            text += f" is only {length_text_with_unit(most, style)}"
            yield error(wanted.place, "stock", text, str(name))


def _millimetres(size: _Size, sizes: Sizes) -> float | None:
    if not isinstance(size, Expression):
        return size
    try:
        return float(size.length(sizes.lookup).value) if sizes.states(size) else None
    except DesignError:
        return None


def _tapers_wider(design: d.Design, sizes: Sizes, name: Text, member: d.Member) -> Iterator[Finding]:
    """Ends of a taper larger than the piece."""
    if member.taper is None:
        return
    size = "width" if "edge" in member.taper.on else "thickness"
    stated = sizes.stated(f"{name}.{size}")
    if stated is None:
        return
    whole = float(stated.value) if isinstance(stated, Quantity) else _millimetres(stated, sizes)
    for end in (member.taper.at_end_a, member.taper.at_end_b):
        at_end = _millimetres(end, sizes)
        if whole is not None and at_end is not None and at_end > whole + 1e-6:
            style = STYLES[design.units]
            text = f'"{name}" tapers to {length_text_with_unit(at_end, style)}; its {size} is only '
            yield error(end.place, "taper", text + length_text_with_unit(whole, style), str(name))


def wrong_outlines(design: d.Design) -> Iterator[Finding]:
    """Outlines that close no face."""
    for name, member in design.members.items():
        outlines = [member.outline, *(opening.outline for opening in member.openings)]
        for outline in outlines:
            if outline is None:
                continue
            corners = len(outline.points)
            if corners < 3:
                yield error(
                    outline.place, "outline", f"an outline takes at least 3 points, not {corners}", str(name)
                )
            elif isinstance(outline.round, tuple) and len(outline.round) not in (1, corners):
                radii = len(outline.round)
                text = f'"round" has {radii} radii for {corners} points; give one for all, or one each'
                yield error(place_of(outline.round), "outline", text, str(name))


def wrong_fasteners(design: d.Design) -> Iterator[Finding]:
    """Fasteners that no counter knows, and those that pass nothing or hold in what they pass."""
    for fastener in design.fasteners:
        try:
            read_fastener(str(fastener.size), fastener.kind)
        except ValueError as wrong:
            yield error(fastener.size.place, "fastener", str(wrong))
        if not fastener.through:
            yield error(
                fastener.place, "fastener", f'this {fastener.kind} lacks "through": the members it passes'
            )
        if fastener.into is not None and fastener.into in fastener.through:
            text = f'"{fastener.into}" is both passed through and held in'
            yield error(fastener.into.place, "fastener", text, str(fastener.into))
        for number, name in enumerate(fastener.through):
            if name in fastener.through[:number]:
                yield error(name.place, "fastener", f'"{name}" is given twice', str(name))
        if fastener.kind == "screw" and fastener.into is None:
            text = f'this screw lacks "into": the member it holds in, after {" and ".join(fastener.through)}'
            yield error(fastener.place, "fastener", text)


def unused(design: d.Design, used: set[tuple[str, str]]) -> Iterator[Finding]:
    """Named values, planes, lines, points and stock that nothing uses: often a slip of the pen."""
    named = (
        ("value", [*design.let]),
        ("plane", [*design.planes]),
        ("line", [*design.lines]),
        ("point", [*design.points]),
    )
    for role, names in named:
        for name in names:
            if (role, str(name)) not in used:
                yield warning(name.place, "unused", f'the {role} "{name}" is never used')
    made_of = {str(member.stock) for member in design.members.values()}
    for name in design.stock:
        if str(name) not in made_of:
            yield warning(name.place, "unused", f'the stock "{name}" is never used')
