"""The schema for editors: valid itself, accepting every design that reads, refusing the plainest mistakes."""

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from plangen.design.examples import examples_of, exemplified
from plangen.design.schema import schema, schema_json
from plangen.design.shapes import fields_of

DESIGNS = sorted((Path(__file__).parents[2] / "designs").glob("*.yaml"))
VALIDATOR = jsonschema.Draft202012Validator(schema())


def as_an_editor_reads(text):
    """YAML with only JSON's types: numbers and true/false typed, everything else text."""
    return typed(yaml.load(text, Loader=yaml.BaseLoader))


def typed(value):
    if isinstance(value, dict):
        return {key: typed(item) for key, item in value.items()}
    if isinstance(value, list):
        return [typed(item) for item in value]
    try:
        number = json.loads(value)
    except ValueError:
        return value
    return number if isinstance(number, int | float) else value


def test_the_schema_is_a_valid_schema_of_its_draft():
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.name)
def test_the_demo_designs_are_valid(path):
    tree = as_an_editor_reads(path.read_text(encoding="utf-8"))
    assert [error.message for error in VALIDATOR.iter_errors(tree)] == []


@pytest.mark.parametrize(
    "change",
    [
        {"titel": "T"},
        {"units": "inches"},
        {"members": {"rail": {"stock": "2x4 oak"}}},
        {"members": {"rail": {"stock": "2x4 oak", "place": {"lenght": "right"}}}},
        {"members": {"a/b": {"stock": "2x4 oak", "place": {}}}},
        {"joints": [{"half lab": ["rail", "leg"]}]},
        {"joints": [{"half lap": ["rail"]}]},
        {"joints": [{"butt": ["rail", "leg"], "depth": 3}]},
        {"joints": [{"butt": ["rail", "leg"], "notch": ["rail", "leg"]}]},
        {"fasteners": [{"screw": "#8 x 2", "through": "rail", "depth": 1}]},
        {"planes": {"wall": {"level at": 3, "lean": 4}}},
        {"planes": {"wall": {"through line": "a", "lean": {"by": "3 deg", "toward": "up"}}}},
        {"planes": {"wall": {"through line": "a"}}},
        {"drawing": {"hidden lines": "maybe"}},
        {"points": {"toe": [1, 2]}},
    ],
    ids=json.dumps,
)
def test_a_mistake_shows_in_the_editor(change):
    sound = {
        "title": "T",
        "units": "in",
        "members": {"rail": {"stock": "2x4 oak", "place": {"length": "right"}}},
    }
    assert VALIDATOR.is_valid(sound)
    assert not VALIDATOR.is_valid({**sound, **change})


def test_every_key_is_described_with_an_example():
    for name, definition in [*schema()["$defs"].items(), ("Design", schema())]:
        for key, value in definition["properties"].items():
            assert value["description"], f"{name}: {key}"
            assert value["examples"], f"{name}: {key}"


def test_the_text_is_sorted_and_always_the_same():
    text = schema_json()
    assert text == schema_json()
    assert text == json.dumps(json.loads(text), indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def test_every_key_of_every_record_has_its_example():
    for record in exemplified():
        assert list(examples_of(record)) == list(fields_of(record)), record.__name__
