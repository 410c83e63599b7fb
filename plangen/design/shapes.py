"""What a value of the file may look like, told from the types of the records: word, list or mapping."""

from __future__ import annotations

import types
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, TypeAlias, Union, get_args, get_origin

from plangen.design.design import Fastener, Joint
from plangen.design.records import Direction, Entry, Expression, FileName, Name, Text, key_of
from plangen.design.rules import rules_of

Sort: TypeAlias = Literal[
    "text", "name", "reference", "expression", "direction", "yes or no", "choice", "file"
]


@dataclass(frozen=True)
class Word:
    """One word or phrase. ``reference`` names a plane, line or point; a ``choice`` is one of ``choices``."""

    sort: Sort
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class ListOf:
    """Any number of items; one item may stand without brackets."""

    item: Shape


@dataclass(frozen=True)
class Fixed:
    """A list of so many items."""

    items: tuple[Shape, ...]


@dataclass(frozen=True)
class Forms:
    """A mapping, read as the record whose first key it has."""

    records: tuple[type[Entry], ...]


@dataclass(frozen=True)
class Table:
    """A mapping from names (or chosen words) to values of one shape."""

    key: Word
    value: Shape


@dataclass(frozen=True)
class Shape:
    """What a scalar, a list and a mapping in this place are read as; None where there is no such reading."""

    scalar: Word | None = None
    items: ListOf | Fixed | None = None
    mapping: Forms | Table | None = None


@cache
def shape_of(annotation: Any) -> Shape:
    """The shape of a record's field. Raises TypeError for a type that no design can hold."""
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return _either([shape_of(a) for a in arguments if a is not type(None)])
    if origin is Literal:
        return Shape(scalar=Word("choice", arguments))
    if origin is tuple:
        if len(arguments) == 2 and arguments[1] is ...:
            return Shape(items=ListOf(shape_of(arguments[0])))
        return Shape(items=Fixed(tuple(shape_of(a) for a in arguments)))
    if origin is dict:
        key = shape_of(arguments[0]).scalar
        return Shape(mapping=Table(key or Word("name"), shape_of(arguments[1])))
    if annotation in _WORDS:
        return _WORDS[annotation]
    if isinstance(annotation, type) and issubclass(annotation, Entry):
        return Shape(mapping=Forms((annotation,)))
    raise TypeError(f"no shape for {annotation!r}")


_VECTOR = Fixed((Shape(Word("expression")),) * 3)
_WORDS: dict[Any, Shape] = {
    Name: Shape(Word("name")),
    FileName: Shape(Word("file")),
    Text: Shape(Word("text")),
    Expression: Shape(Word("expression")),
    Direction: Shape(Word("direction"), _VECTOR),
    bool: Shape(Word("yes or no")),
}


def _either(shapes: list[Shape]) -> Shape:
    scalar = next((s.scalar for s in shapes if s.scalar), None)
    items = next((s.items for s in shapes if s.items), None)
    forms = tuple(r for s in shapes if isinstance(s.mapping, Forms) for r in s.mapping.records)
    if scalar == Word("text") and forms:
        scalar = Word("reference")
    return Shape(scalar, items, Forms(forms) if forms else None)


@cache
def fields_of(record: type[Entry]) -> dict[str, str]:
    """Keys of the file and the fields they fill, in the order of the record.

    A joint's kind and members, and a fastener's kind and size, are not among them: their key is the kind.
    """
    spoken = (
        {"kind", "first", "second"} if record is Joint else {"kind", "size"} if record is Fastener else set()
    )
    return {key_of(name): name for name in record.model_fields if name != "source" and name not in spoken}


def field_shape(record: type[Entry], name: str) -> Shape:
    """The shape of one field of a record."""
    annotation: Any = record.model_fields[name].annotation
    return shape_of(annotation)


def first_key(record: type[Entry]) -> str:
    """The key by which a form is told from the others in its place."""
    return next(iter(fields_of(record)))


def short_field(forms: Forms) -> tuple[type[Entry], str] | None:
    """The record and field that a lone word stands for, as in ``face: up`` for ``face: {toward: up}``."""
    record = forms.records[0]
    short = rules_of(record).short
    return (record, short) if short else None
