"""The reference page says every key of the schema, with examples that read as what they stand for."""

import re
from pathlib import Path

import pytest

from plangen.design.arithmetic import FUNCTIONS
from plangen.design.examples import examples_of, exemplified
from plangen.design.joint_words import JOINTS_TOLD
from plangen.design.kinds import FASTENER_MEANINGS, JOINT_OPTIONS, JOINT_SYNONYMS
from plangen.design.nodes import read_nodes
from plangen.design.reading import read_design
from plangen.design.records import kind_of
from plangen.design.reference_page import CHAPTERS, reference_markdown
from plangen.design.shapes import field_shape, fields_of
from plangen.design.values import ValueReader

PAGE = Path(__file__).parents[2] / "designs" / "REFERENCE.md"
KEYS = [(record, key) for record in exemplified() for key in fields_of(record)]


def test_the_page_in_the_tree_is_the_page_the_records_tell():
    assert PAGE.read_text(encoding="utf-8") == reference_markdown()


def test_every_record_has_its_section_and_every_key_its_row():
    told = [record for _, _, records in CHAPTERS for record in records]
    assert sorted(r.__name__ for r in told) == sorted(r.__name__ for r in exemplified())
    page = reference_markdown()
    for record, key in KEYS:
        assert f"| `{key}` | {record.model_fields[fields_of(record)[key]].description} |" in page


def test_every_kind_of_joint_and_fastener_and_every_function_is_told():
    page = reference_markdown()
    for word in [*JOINT_OPTIONS, *JOINT_SYNONYMS, *FASTENER_MEANINGS, *FUNCTIONS]:
        assert f"`{word}`" in page


@pytest.mark.parametrize("kind", JOINTS_TOLD)
def test_the_entry_shown_for_a_kind_of_joint_reads_as_one_of_that_kind(kind):
    entry = JOINTS_TOLD[kind].entry
    names = dict.fromkeys(
        n.strip().removesuffix(" mirrored") for n in entry.split("[")[1].split("]")[0].split(",")
    )
    place = "place: {length: up, face: front}, copies: {mirror: left to right}"
    members = "".join(f"  {n}: {{stock: 2x4 oak, length: 9, {place}}}\n" for n in names)
    text = f"title: T\nunits: in\nmembers:\n{members}joints:\n  - {entry}\n"
    design, findings = read_design(text, "bench.yaml")
    assert findings == ()
    assert [str(joint.kind) for joint in design.joints] == [kind]


def test_every_link_leads_to_a_heading():
    page = reference_markdown()
    headings = {
        line.lstrip("# ").lower().replace(" ", "-") for line in page.split("\n") if line.startswith("#")
    }
    assert set(re.findall(r"\]\(#([^)]+)\)", page)) <= headings


@pytest.mark.parametrize(("record", "key"), KEYS, ids=[f"{r.__name__}: {k}" for r, k in KEYS])
def test_every_example_reads_as_a_value_of_its_key(record, key):
    """Tables of joints, fasteners and members are read whole, by the reader of designs."""
    text = f"{key}: {examples_of(record)[key]}\n"
    if key in ("joints", "fasteners", "members"):
        names = ("rail", "leg", "gusset")
        members = "".join(
            f"  {n}: {{stock: 2x4 oak, length: 9, place: {{length: up, face: front}}}}\n" for n in names
        )
        head = "title: T\nunits: in\n" + ("" if key == "members" else f"members:\n{members}")
        assert read_design(head + text, "bench.yaml")[1] == ()
        return
    root, findings = read_nodes(text, "bench.yaml")
    reader = ValueReader("in")
    name = fields_of(record)[key]
    value = reader.value(root.entries[0][1], field_shape(record, name), key, kind_of(record, name))
    assert [*findings, *reader.findings] == []
    assert value is not None
