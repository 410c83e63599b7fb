"""Every name and every expression that a part of a design uses, found by walking its records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from plangen.design import design as d
from plangen.design.records import Direction, Entry, Expression, Name, NameRef, Text, kind_of
from plangen.design.shapes import Fixed, Forms, ListOf, Shape, Table, field_shape, shape_of
from plangen.findings import Place
from plangen.units import Kind

Role: TypeAlias = Literal["plane", "line", "point", "member", "value", "size"]


@dataclass(frozen=True)
class Use:
    """A name where it is used, and what it must name there."""

    role: Role
    words: str
    place: Place


@dataclass(frozen=True)
class Figure:
    """An expression where it stands: the record and field it fills, and the kind of value expected."""

    expression: Expression
    kind: Kind | None
    record: type[Entry] | None
    field: str


_SPECS: tuple[Any, Any, Any] = (d.PlaneSpec, d.LineSpec, d.PointSpec)
PLANE, LINE, POINT = (shape_of(spec) for spec in _SPECS)
VALUE = shape_of(Expression)


def uses(value: object, shape: Shape) -> Iterator[Use]:
    """The names used in a value of a design, in the order of its records."""
    for leaf, leaf_shape, _, _ in _leaves(value, shape, None, "", None):
        if isinstance(leaf, Expression):
            yield from _named_in(leaf)
        elif isinstance(leaf, Direction):
            if leaf.kind in ("along", "against"):
                yield Use("line", str(leaf.target), leaf.place)
            elif leaf.kind == "square to":
                yield Use("plane", str(leaf.target), leaf.place)
            for part in leaf.vector:
                yield from _named_in(part)
        elif isinstance(leaf, Name):
            yield Use("member", str(leaf), leaf.place)
        elif isinstance(leaf, Text) and leaf_shape.scalar and leaf_shape.scalar.sort == "reference":
            yield Use(_role(leaf_shape), str(leaf), leaf.place)


def uses_in(entry: Entry, *fields: str) -> Iterator[Use]:
    """The names used in some fields of a record, or in all of them."""
    for name in fields or _fields(type(entry)):
        yield from uses(getattr(entry, name), field_shape(type(entry), name))


def figures(entry: Entry) -> Iterator[Figure]:
    """The expressions of a record and of everything in it."""
    for leaf, _, kind, (record, name) in _leaves(entry, shape_of(type(entry)), None, "", None):
        if isinstance(leaf, Expression):
            yield Figure(leaf, kind, record, name)


def _fields(record: type[Entry]) -> list[str]:
    return [name for name in record.model_fields if name != "source"]


def _named_in(expression: Expression) -> Iterator[Use]:
    for name in expression.names():
        yield Use("value" if isinstance(name, NameRef) else "size", str(name), name.place)


def _role(shape: Shape) -> Role:
    records = shape.mapping.records if isinstance(shape.mapping, Forms) else ()
    return "plane" if d.ShiftedPlane in records else "line" if d.MeetingLine in records else "point"


_Leaf: TypeAlias = tuple[object, Shape, Kind | None, tuple[type[Entry] | None, str]]


def _leaves(
    value: object, shape: Shape, record: type[Entry] | None, name: str, kind: Kind | None
) -> Iterator[_Leaf]:
    """Words, names, directions and expressions of a value, with the field of the record they fill."""
    if isinstance(value, Entry):
        own = type(value)
        for field in _fields(own):
            yield from _leaves(
                getattr(value, field), field_shape(own, field), own, field, kind_of(own, field)
            )
    elif isinstance(value, tuple):
        length: Kind | None = "length" if d.MeetingPoint in _records(shape) else kind
        for number, item in enumerate(value):
            yield from _leaves(item, _item_shape(shape, number), record, name, length)
    elif isinstance(value, dict):
        item_shape = shape.mapping.value if isinstance(shape.mapping, Table) else shape
        for item in value.values():
            yield from _leaves(item, item_shape, record, name, kind)
    elif value is not None:
        yield value, shape, kind, (record, name)


def _records(shape: Shape) -> tuple[type[Entry], ...]:
    return shape.mapping.records if isinstance(shape.mapping, Forms) else ()


def _item_shape(shape: Shape, number: int) -> Shape:
    if isinstance(shape.items, ListOf):
        return shape.items.item
    return shape.items.items[number] if isinstance(shape.items, Fixed) else shape
