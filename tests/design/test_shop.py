"""The workshop of a design: what is said of its machines, where it is said, and what is answered where it is wrong."""

import hashlib
import json
import subprocess
import sys
from dataclasses import replace

import pytest

from plangen.design import shop as s
from plangen.design.nodes import LONGEST_FILE
from plangen.design.records import kind_of
from plangen.facts import plan_facts
from plangen.tables.machines import SMALL_SHOP

DESIGN = """title: T
units: in
{shop}
let: {{wide: 20}}
members:
  rail: {{stock: 2x4 oak, length: wide, place: {{length: right, face: up, corner: [0, 0, 0]}}}}
"""
FILE = b"""units: mm
name: Thistle Lane Garden Workshop
table saw: {tilts: right, rip: 610}
trenching head: {narrowest: 6.35}
router: {straight bits: [12, 6, 12]}
drill press: yes
"""


def planned(shop, beside=None):
    """The shop that a design is planned for; and what it was told."""
    told = {} if beside is None else {"beside": lambda name: beside}
    facts, findings = plan_facts(DESIGN.format(shop=shop).encode(), "garden/bench.yaml", **told)
    return None if facts is None else facts.shop, [str(f) for f in findings]


def shop_of(shop, beside=None):
    chosen, told = planned(shop, beside)
    assert told == []
    return chosen.shop


def test_a_design_without_a_shop_is_made_in_a_small_one():
    chosen, told = planned("about: no shop")
    assert told == []
    assert (chosen.shop, chosen.source, chosen.sha256) == (SMALL_SHOP, None, None)


def test_what_is_not_said_of_a_machine_is_as_in_a_small_shop():
    """Lengths are the design's inches: 24 in are 609.6 mm."""
    shop = shop_of("shop: {table saw: {rip: 24}, bandsaw: yes}")
    assert shop.reach("bandsaw") == SMALL_SHOP.reach("bandsaw")
    assert shop.reach("table saw") == replace(SMALL_SHOP.reach("table saw"), width=609.6)


def test_a_machine_that_is_not_named_is_not_there():
    shop = shop_of("shop: {bandsaw: yes, lathe: no}")
    assert [m.machine for m in shop.machines] == ["bandsaw", "hand"]


def test_a_figure_may_hang_on_a_named_value_of_the_design():
    assert shop_of("shop: {table saw: {rip: wide + 1/2}}").reach("table saw").width == pytest.approx(
        20.5 * 25.4
    )


@pytest.mark.parametrize(("side", "left", "right"), [("left", 45, 0), ("right", 0, 45), ("both", 45, 45)])
def test_the_blade_leans_to_the_side_that_is_said(side, left, right):
    shop = shop_of(f"shop: {{mitre saw: {{tilts: {side}}}}}")
    saw = shop.reach("mitre saw")
    assert (saw.bevel_left, saw.bevel_right) == (left, right)


def test_a_trenching_head_leans_and_swings_as_the_saw_that_it_runs_on():
    shop = shop_of("shop: {table saw: {tilts: right, bevel: 40 deg, mitre: 55 deg}, trenching head: yes}")
    head, saw = shop.reach("trenching head"), shop.reach("table saw")
    assert (head.miter, head.bevel_left, head.bevel_right) == (saw.miter, saw.bevel_left, saw.bevel_right)
    assert (head.miter, head.bevel_left, head.bevel_right) == (55, 0, 40)


RECORDS = [
    (machine, record, name)
    for machine, record in [
        ("mitre saw", s.MitreSaw), ("table saw", s.TableSaw), ("trenching head", s.TrenchingHead),
        ("router", s.Router), ("bandsaw", s.Bandsaw), ("jointer", s.Jointer), ("drill press", s.DrillPress),
        ("lathe", s.Lathe),
    ]
    for name in record.model_fields
    if name not in ("source", "tilts")
]  # fmt: skip


@pytest.mark.parametrize(("machine", "record", "name"), RECORDS, ids=lambda v: getattr(v, "__name__", str(v)))
def test_every_figure_of_a_machine_reaches_the_plan(machine, record, name):
    """A figure that is like no default stands in the machine's reach, and nothing else of it changes."""
    said = "31.5 deg" if kind_of(record, name) == "angle" else "33.25 mm"
    saw = "table saw: yes, " if machine == "trenching head" else ""
    wide = ", widest: 40 mm" if name == "narrowest" else ""
    key = name.replace("_", " ")
    shop = shop_of(f"shop: {{{saw}{machine}: {{{key}: {said}{wide}}}}}")
    found = {k: v for k, v in vars(shop.reach(machine)).items() if v != vars(SMALL_SHOP.reach(machine))[k]}
    figures = {v for value in found.values() for v in (value if isinstance(value, tuple) else [value])}
    assert (31.5 if "deg" in said else 33.25) in figures
    assert len(found) == (2 if name in ("bevel", "fence_tilts") and machine != "table saw" else 1)


def test_a_shop_file_is_shared_by_the_designs_beside_it():
    """In its own units, with its own name, its bytes told by their hash."""
    chosen, told = planned("shop: workshop.yml", FILE)
    assert told == []
    assert chosen.source == "workshop.yml"
    assert chosen.sha256 == hashlib.sha256(FILE).hexdigest()
    assert chosen.shop.name == "Thistle Lane Garden Workshop"
    assert [m.machine for m in chosen.shop.machines] == [
        "table saw", "trenching head", "router", "drill press", "hand",
    ]  # fmt: skip
    assert chosen.shop.reach("table saw").width == 610
    assert chosen.shop.reach("trenching head").widths == (6.35, 20)
    assert chosen.shop.reach("router").widths == (6, 12)


def test_only_the_name_that_is_written_is_asked_for():
    asked = []
    text = DESIGN.format(shop="shop: my workshop.yaml").encode()
    plan_facts(text, "garden/bench.yaml", lambda name: (asked.append(name), FILE)[1])
    assert asked == ["my workshop.yaml"]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "1:1: error: the file says nothing; a shop file starts with its units"),
        (b"\xff", "1:1: error: byte 0xff is no UTF-8 text; save the file as UTF-8"),
        (b"units: in\nbandsaw:\n\tkerf: 1\n", "3:1: error: a tab; indent and align with spaces"),
        (b"bandsaw: yes\n", '1:1: error: a shop file lacks "units": the unit of bare numbers in this file'),
        (
            b"units: in\nbandsaw: {kurf: 1}\n",
            '2:11: error: "kurf" is no key of a bandsaw; did you mean "kerf"?',
        ),
        (
            b"units: in\nbandsaw: {kerf: wide}\n",
            '2:17: error: "wide" has no value: a shop file has no named values, only figures',
        ),
        (b"units: in\nbandsaw: {kerf: -1}\n", '2:17: error: "kerf" is "-1"; it must be more than zero'),
        (
            b"units: in\nlet: {a: 1}\nbandsaw: yes\n",
            '2:1: error: "let" is no key of a shop file; known: bandsaw, drill press, jointer, lathe, mitre saw, '
            "name, router, table saw, trenching head, units, vise",
        ),
        (
            b"title: T\nunits: in\nmembers: {}\n",
            "1:1: error: this is a design; expected a shop file, with units and machines",
        ),
        (b"[bandsaw]\n", '1:1: error: a shop file is keys and values, such as "units: in"'),
        (b"a: &a [*a]\n", '1:8: error: "*a" stands inside what it repeats'),
        (
            b" " * (4 * LONGEST_FILE + 1),
            f"1:1: error: the file is longer than {LONGEST_FILE:,} characters",
        ),
    ],
    ids=lambda v: v[-40:] if isinstance(v, str) else "",
)
def test_a_wrong_shop_file_is_answered_at_its_own_line(data, told):
    chosen, found = planned("shop: workshop.yml", data)
    assert chosen is None
    assert found == [f"garden/workshop.yml:{told}"]


def test_a_shop_file_that_cannot_be_read_is_told_where_it_is_named():
    assert planned("shop: workshop.yml", "there is no such file")[1] == [
        'garden/bench.yaml:3:7: error: the shop file "workshop.yml" cannot be read: there is no such file'
    ]


def run(folder, *arguments):
    return subprocess.run(
        [sys.executable, "-m", "plangen", *arguments], cwd=folder, capture_output=True, text=True, check=False
    )


def test_the_program_reads_the_file_beside_the_design(tmp_path):
    (tmp_path / "garden").mkdir()
    (tmp_path / "garden" / "bench.yaml").write_text(DESIGN.format(shop="shop: workshop.yml"))
    missing = run(tmp_path, "check", "garden/bench.yaml")
    assert (missing.returncode, missing.stderr) == (
        1,
        'garden/bench.yaml:3:7: error: the shop file "workshop.yml" cannot be read: there is no such file\n',
    )
    (tmp_path / "garden" / "workshop.yml").write_bytes(FILE)
    assert run(tmp_path, "draw", "garden/bench.yaml").returncode == 0
    said = json.loads((tmp_path / "output" / "bench" / "plan.json").read_text())["design"]["shop"]
    assert (said["source"], said["sha256"]) == ("workshop.yml", hashlib.sha256(FILE).hexdigest())
    machines = {m["machine"]: m for m in said["machines"]}
    assert machines["table saw"]["bevel_right"] == 45
    assert machines["router"]["widths"] == [6, 12]
