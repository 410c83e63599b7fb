"""What the records of a design are made of: words and expressions that know their place, and the record.

A key of the file is the field's name with spaces for underscores, a trailing underscore dropped (``from_`` is
``from``), and the ends in capitals (``end_a`` is ``end A``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from plangen.design.expressions import Attribute, Binary, Call, Expression, NameRef, Number, Unary
from plangen.findings import Place
from plangen.units import Kind

__all__ = [
    "Attribute",
    "Binary",
    "Call",
    "Direction",
    "DirectionKind",
    "Entry",
    "Expression",
    "FileName",
    "Name",
    "NameRef",
    "Number",
    "Record",
    "Text",
    "Unary",
    "key_of",
    "keyed",
    "kind_of",
    "place_of",
]


class Text(str):
    """Words of the designer, and where they stand. Equal to the same words anywhere."""

    place: Place

    def __new__(cls, text: str, place: Place = Place()) -> Text:  # noqa: B008 - a frozen value
        made = super().__new__(cls, text)
        made.place = place
        return made

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(cls._checked)

    @classmethod
    def _checked(cls, value: object) -> Text:
        if isinstance(value, cls):
            return value
        if isinstance(value, str):
            return cls(value, value.place if isinstance(value, Text) else Place())
        raise ValueError("expected text")


class Name(Text):
    """A name: a word that starts with a letter, and words and figures after it, single spaces between."""


class FileName(Text):
    """The bare name of a YAML file beside the design."""


DirectionKind: TypeAlias = Literal["word", "along", "against", "square to", "vector"]


@dataclass(frozen=True)
class Direction:
    """A direction: a word, along or against a line, square to a plane, or three figures.

    ``text`` is how it is said; a word is one of right, left, front, rear, up, down. ``target`` is
    the line (``leg line``) or plane (``beam.top``) it is taken from; ``vector`` the three expressions right,
    rear, up of kind "vector", else empty.
    """

    place: Place = field(compare=False)
    text: Text
    kind: DirectionKind = "word"
    target: Text = Text("")  # noqa: RUF009 - a frozen value
    vector: tuple[Expression, ...] = ()

    def __str__(self) -> str:
        return str(self.text)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.is_instance_schema(cls)


class Entry(BaseModel):
    """A mapping of the file, with ``source``, its place there. Two are equal that say the same anywhere."""

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=True)

    source: Place = Field(default=Place(), exclude=True, repr=False)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Entry) and type(self) is type(other) and self._said() == other._said()

    def __hash__(self) -> int:
        return hash((type(self), self._said()))

    def _said(self) -> tuple[object, ...]:
        return tuple(getattr(self, name) for name in type(self).model_fields if name != "source")


class Record(Entry):
    """An entry whose place is called ``place`` (members and bought parts use that word for where they go)."""

    @property
    def place(self) -> Place:
        return self.source


def keyed(description: str, default: Any = ..., kind: Kind | None = None) -> Any:
    """A field of the schema: what it means, its default, and for expressions the kind of value expected."""
    return Field(default, description=description, json_schema_extra={"kind": kind} if kind else None)


def key_of(name: str) -> str:
    """The key in the file for a field: ``from_end_a`` is ``from end A``."""
    words = name.removesuffix("_").replace("_", " ")
    return re.sub(r"\bend ([ab])$", lambda end: f"end {end[1].upper()}", words)


def kind_of(record: type[Entry], name: str) -> Kind | None:
    """The kind of value that an expression field expects, where the schema says one."""
    extra = record.model_fields[name].json_schema_extra
    kind = extra.get("kind") if isinstance(extra, dict) else None
    return (
        "length"
        if kind == "length"
        else "angle"
        if kind == "angle"
        else "number"
        if kind == "number"
        else None
    )


def place_of(value: object) -> Place:
    """Where a value of a design stands in the file; of a list, its first item; else nowhere."""
    if isinstance(value, Text | Expression | Direction):
        return value.place
    if isinstance(value, Entry):
        return value.source
    return place_of(value[0]) if isinstance(value, tuple) and value else Place()
