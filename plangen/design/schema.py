"""The JSON Schema (draft 2020-12) of a design file, for editors: told from the same records that read it."""

from __future__ import annotations

import json
from itertools import combinations
from typing import Any, TypeAlias

from plangen.design import design as d
from plangen.design.examples import examples_of
from plangen.design.kinds import (
    FASTENER_MEANINGS,
    FASTENER_SYNONYMS,
    JOINT_MEANINGS,
    JOINT_OPTIONS,
    JOINT_SYNONYMS,
)
from plangen.design.records import Entry, Expression, key_of
from plangen.design.rules import rules_of
from plangen.design.shapes import Fixed, Forms, ListOf, Shape, Table, Word, field_shape, fields_of
from plangen.design.values import FLAGS, NAME_PATTERN

_Schema: TypeAlias = dict[str, Any]
_SCALAR: _Schema = {"type": ["string", "number"]}
_LIKED = ("place", "stock")
"""Keys that a member must give unless it is like another."""


def schema_json() -> str:
    """The schema as text: sorted keys, two spaces, one line feed at the end."""
    return json.dumps(schema(), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def schema() -> _Schema:
    """The schema of a design file, every record once under ``$defs``."""
    records: dict[str, _Schema] = {}
    waiting: list[type[Entry]] = [d.Design]
    while waiting:
        record = waiting.pop()
        if record.__name__ not in records:
            records[record.__name__] = _record(record, waiting)
    root = records.pop("Design")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "plangen design",
        **root,
        "$defs": records,
    }


def _record(record: type[Entry], waiting: list[type[Entry]]) -> _Schema:
    properties: dict[str, _Schema] = {}
    required = []
    for key, name in fields_of(record).items():
        info = record.model_fields[name]
        value = _value(field_shape(record, name), waiting)
        properties[key] = {**value, "description": str(info.description), "examples": [_example(record, key)]}
        if (default := default_text(record, name)) is not None:
            properties[key]["default"] = default
        if info.is_required() and not (record is d.Member and name in _LIKED):
            required.append(key)
    found: _Schema = {
        "type": "object",
        "description": " ".join((record.__doc__ or "").split()) or rules_of(record).noun,
        "properties": properties,
        "additionalProperties": False,
    }
    if required:
        found["required"] = required
    if ruled := [*_ruled(record), *_kinds(record, properties)]:
        found["allOf"] = ruled
    return found


def _value(shape: Shape, waiting: list[type[Entry]]) -> _Schema:
    """What a shape accepts: any of its readings."""
    ways: list[_Schema] = []
    if shape.scalar:
        ways.append(_word(shape.scalar))
    if isinstance(shape.items, ListOf):
        item = _value(shape.items.item, waiting)
        ways += [{"type": "array", "items": item}, *([] if shape.scalar else [item])]
    if isinstance(shape.items, Fixed):
        items = [_value(item, waiting) for item in shape.items.items]
        ways.append({"type": "array", "prefixItems": items, "items": False, "minItems": len(items)})
    if isinstance(shape.mapping, Table):
        ways.append(_table(shape.mapping, waiting))
    if isinstance(shape.mapping, Forms):
        for record in shape.mapping.records:
            waiting.append(record)
            ways.append({"$ref": f"#/$defs/{record.__name__}"})
            if short := rules_of(record).short:
                ways.append(_value(field_shape(record, short), waiting))
    return ways[0] if len(ways) == 1 else {"anyOf": ways}


def _word(word: Word) -> _Schema:
    if word.sort == "choice":
        return {"enum": list(word.choices)}
    return {"enum": [True, False, *FLAGS]} if word.sort == "yes or no" else dict(_SCALAR)


def _table(table: Table, waiting: list[type[Entry]]) -> _Schema:
    value = _value(table.value, waiting)
    if table.key.sort == "choice":
        sides = dict.fromkeys(table.key.choices, value)
        return {"type": "object", "properties": sides, "additionalProperties": False}
    return {
        "type": "object",
        "propertyNames": {"pattern": f"^{NAME_PATTERN}$"},
        "additionalProperties": value,
    }


def _example(record: type[Entry], key: str) -> str:
    return examples_of(record)[key]


def default_text(record: type[Entry], name: str) -> str | None:
    """A field's default as it would be written; None where it has none to show."""
    default = record.model_fields[name].get_default(call_default_factory=True)
    if isinstance(default, bool):
        return "yes" if default else "no"
    if isinstance(default, Expression):
        return default.text
    return default if isinstance(default, str) else None


def _ruled(record: type[Entry]) -> list[_Schema]:
    """The record's rules over its keys."""
    rules = rules_of(record)
    found: list[_Schema] = []
    if rules.one_of:
        found.append({"oneOf": [{"required": [key_of(name)]} for name in rules.one_of]})
    for group in rules.at_most_one_of:
        found += [{"not": {"required": [key_of(a), key_of(b)]}} for a, b in combinations(group, 2)]
    for name, others in rules.needs:
        liked = ("like",) if record is d.Member else ()  # which may give it
        beside = {"anyOf": [{"required": [key_of(other)]} for other in (*others, *liked)]}
        found.append({"dependentSchemas": {key_of(name): beside}})
    if record is d.Member:
        found.append({"anyOf": [{"required": list(_LIKED)}, {"required": ["like"]}]})
    return found


def _kinds(record: type[Entry], properties: dict[str, _Schema]) -> list[_Schema]:
    """Joints and fasteners are named by a key of their own; a joint's kind says which other keys it takes."""
    if record is d.Joint:
        pair = {"type": "array", "items": dict(_SCALAR), "minItems": 2, "maxItems": 2}
        known = {**{kind: kind for kind in JOINT_OPTIONS}, **JOINT_SYNONYMS}
        for word, kind in known.items():
            properties[word] = {**pair, "description": JOINT_MEANINGS[kind], "examples": ["[rail, leg]"]}
        allowed = [
            {
                "dependentSchemas": {
                    word: {"propertyNames": {"enum": [word, *map(key_of, JOINT_OPTIONS[kind])]}}
                }
            }
            for word, kind in known.items()
        ]
        return [{"oneOf": [{"required": [word]} for word in known]}, *allowed]
    if record is d.Fastener:
        known = {**{kind: kind for kind in FASTENER_MEANINGS}, **FASTENER_SYNONYMS}
        for word, kind in known.items():
            properties[word] = {**_SCALAR, "description": FASTENER_MEANINGS[kind], "examples": [SIZES[kind]]}
        return [{"oneOf": [{"required": [word]} for word in known]}]
    return []


SIZES = {"screw": '"#8 x 1 1/4"', "bolt": "1/4 x 3 carriage bolt", "rod": "3/8 x 24 threaded rod"}
"""An example of each kind of fastener."""
