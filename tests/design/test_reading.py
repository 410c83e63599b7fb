"""A design file read: every value with its place, every problem found, nothing obeyed that is hostile."""

import random
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.design import design as d
from plangen.design.checking import evaluate_values
from plangen.design.nodes import DEEPEST, LONGEST_FILE, MOST_NODES, read_nodes
from plangen.design.reading import MOST_FINDINGS, read_design, read_design_bytes
from plangen.design.records import Entry, Text, place_of
from plangen.findings import Finding, Place

DESIGNS = sorted((Path(__file__).parents[2] / "designs").glob("*.yaml"))
TRESTLE = next(path for path in DESIGNS if path.name == "splayed-trestle.yaml").read_text(encoding="utf-8")
HEAD = "title: T\nunits: in\n"
RAIL = HEAD + "members:\n  rail: {stock: 2x4 oak, length: 30, place: {length: right, face: up}}\n"


def read(text):
    design, findings = read_design(text, "bench.yaml")
    assert [str(finding) for finding in findings] == []
    return design


def messages(text):
    return [str(finding) for finding in read_design(text, "bench.yaml")[1]]


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.name)
def test_the_demo_designs_read_without_a_word(path):
    design, findings = read_design_bytes(path.read_bytes(), path.name)
    assert findings == ()
    assert design.members


def test_every_word_stands_where_the_design_says():
    lines = TRESTLE.split("\n")
    checked = 0
    for _, text, place in words_of(read(TRESTLE)):
        start = lines[place.line - 1][place.column - 1 :]
        if "\n" not in text and len(text) < 60:
            assert start.lstrip("\"'").startswith(text.split(" ")[0])
            checked += 1
    assert checked > 60


def words_of(value):
    if isinstance(value, Text):
        yield value, str(value), value.place
    elif isinstance(value, Entry):
        for name in type(value).model_fields:
            yield from words_of(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from words_of(item)
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from words_of(key)
            yield from words_of(item)


def test_scalars_are_words_whatever_yaml_makes_of_them():
    """A loader of YAML 1.1 reads these as 8, 66, True, False, null and a date."""
    text = RAIL + "notes: [010, 1:6, on, no, ~, 2026-11-25, 1_000, .5, 0x1F]\n"
    assert yaml.safe_load("[010, 1:6, on, no, ~]") == [8, 66, True, False, None]
    said = ("010", "1:6", "on", "no", "~", "2026-11-25", "1_000", ".5", "0x1F")
    assert read(text).notes == said


def test_a_slope_in_a_lean_is_an_angle_not_a_clock_time():
    text = RAIL.replace("length: 30", "length: 30, trim: {end A: wall}") + (
        "planes:\n  wall: {through line: {meet: [floor, depth plane]}, "
        "lean: {by: 1:8, toward: front, seen from: left}}\n"
    )
    wall = read(text).planes["wall"]
    assert wall.lean.by.evaluate(None).kind == "angle"


def test_one_item_stands_for_a_list_of_one():
    text = RAIL.replace("face: up}", "face: up}, copies: {mirror: left to right}, notes: sand well")
    rail = read(text).members["rail"]
    assert rail.copies.mirror == ("left to right",)
    assert rail.notes == ("sand well",)


def test_a_lone_direction_says_where_a_surface_looks():
    short, long = read(RAIL), read(RAIL.replace("face: up", "face: {toward: up}"))
    assert short.members["rail"].place.face == long.members["rail"].place.face
    assert short.members["rail"].place.face.toward.text == "up"


def test_other_words_of_the_trade_are_read_and_one_is_kept():
    legs = (
        "  leg: {stock: 2x4 oak, length: 9, place: {length: up, face: back}, trim: {end A: center plane}}\n"
    )
    text = RAIL + legs + "joints:\n  - {dado: [rail, leg]}\n  - {rabbet: [rail, leg]}\n"
    design = read(text)
    assert [joint.kind for joint in design.joints] == ["housing", "rebate"]
    assert design.members["leg"].place.face.toward.text == "rear"
    assert design.members["leg"].trim["end A"] == "centre plane"


def test_directions_say_what_they_are_taken_from():
    frames = {
        "right": ("word", ""),
        "along edge line": ("along", "edge line"),
        "edge line": ("along", "edge line"),
        "against edge line": ("against", "edge line"),
        "leg.axis": ("along", "leg.axis"),
        "square to leg.top": ("square to", "leg.top"),
        "[1, 0, 1/2]": ("vector", ""),
    }
    rest = (
        "  leg: {stock: 2x4 oak, length: 9, place: {length: up, face: front}, trim: {end A: wall}}\n"
        "lines:\n  edge line: {meet: [leg.top, leg.front]}\n"
        "planes:\n  wall: {through line: edge line, along: up, facing: left}\n"
    )
    for said, (kind, target) in frames.items():
        way = read(RAIL.replace("length: right", f"length: {said}") + rest).members["rail"].place.length
        assert (way.kind, way.target) == (kind, target)
    assert [figure.text for figure in way.vector] == ["1", "0", "1/2"]


def test_a_member_like_another_holds_its_entries_unless_it_says_them_again():
    text = RAIL.replace("length: 30", "length: 30, notes: one, trim: {end A: floor}") + (
        "  post: {like: rail, length: 12, trim: {end B: floor}}\n  stile: {like: post, stock: 1x4 oak}\n"
    )
    members = read(text).members
    assert [members["post"].length.text, members["post"].notes, members["post"].stock] == [
        "12",
        ("one",),
        "2x4 oak",
    ]
    assert list(members["post"].trim) == ["end B"]
    assert [members["stile"].length.text, members["stile"].stock] == ["12", "1x4 oak"]
    assert members["stile"].place == members["rail"].place


def test_an_anchor_and_its_alias_say_the_same_twice():
    text = RAIL.replace("{length: right, face: up}", "&level {length: right, face: up}") + (
        "  stile: {stock: 1x4 oak, length: 9, place: *level}\n"
    )
    members = read(text).members
    assert members["stile"].place == members["rail"].place
    assert members["stile"].place.place == members["rail"].place.place


def test_two_records_that_say_the_same_are_equal_wherever_they_stand():
    first, second = read(RAIL), read("# moved down\n\n" + RAIL)
    assert first == second
    assert hash(first.members["rail"].place) == hash(second.members["rail"].place)
    assert place_of(first.members["rail"]).line == place_of(second.members["rail"]).line - 2
    assert first != read(RAIL.replace("30", "31"))


def test_all_problems_come_in_one_run_and_in_order():
    text = "titel: T\nunits: inch\nmembers:\n  rail: {stok: oak, length: 3 ells, place: {face: ?}}\n"
    found = messages(text.replace("?", "'#!'"))
    assert [message.split(":")[1] for message in found] == ["1", "2", "4", "4", "4"]


def test_a_long_list_of_problems_is_cut_short():
    found = messages(HEAD + "members:\n" + "".join(f"  rail {n}: {{a: 1}}\n" for n in range(900)))
    assert len(found) == MOST_FINDINGS + 1
    assert found[-1].endswith("further problems")


def test_bytes_that_are_no_text_are_refused_at_their_place():
    data = RAIL.encode() + b"finish: caf\xe9\n"
    assert [str(f) for f in read_design_bytes(data, "bench.yaml")[1]] == [
        "bench.yaml:5:12: error: byte 0xe9 is no UTF-8 text; save the file as UTF-8"
    ]


def test_a_byte_order_mark_and_windows_line_ends_change_nothing():
    plain, _ = read_design_bytes(TRESTLE.encode(), "bench.yaml")
    windows, findings = read_design_bytes(
        b"\xef\xbb\xbf" + TRESTLE.replace("\n", "\r\n").encode(), "bench.yaml"
    )
    assert findings == ()
    assert windows == plain
    assert windows.members["leg"].source == plain.members["leg"].source


def test_names_that_nothing_uses_are_told_once_the_rest_is_sound():
    text = RAIL + "let: {height: 30}\nplanes: {top: {level at: 3}}\nstock: {board: {ask for: 1x4 oak}}\n"
    assert messages(text) == [
        'bench.yaml:5:7: warning: the value "height" is never used',
        'bench.yaml:6:10: warning: the plane "top" is never used',
        'bench.yaml:7:9: warning: the stock "board" is never used',
    ]
    assert read_design(text, "bench.yaml")[0] is not None


# --- hostile files ---


def test_a_file_too_long_is_refused_unread():
    assert messages("#" * (LONGEST_FILE + 1)) == [
        f"bench.yaml:1:1: error: the file is longer than {LONGEST_FILE:,} characters"
    ]


def test_a_tower_of_aliases_is_refused_before_it_is_built():
    """Each line repeats the one above nine times: 9^30 values if it were obeyed."""
    tower = "notes: &a0 [x]\n" + "".join(
        f"k{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 31)
    )
    start = time.perf_counter()
    found = messages(RAIL + tower)
    assert time.perf_counter() - start < 2
    assert len(found) == 1
    assert f"more than {MOST_NODES:,} values" in found[0]


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? ", "[{a: "])
def test_any_nesting_too_deep_is_refused(opening):
    found = messages(RAIL + "notes: " + opening * 5000 if opening in "[{a: " else opening * 5000)
    assert len(found) == 1
    assert f"nested more than {DEEPEST} deep" in found[0] or "cannot start here" in found[0]


def test_a_long_chain_of_values_is_followed_without_end_of_stack():
    chain = "".join(f"  v{n}: v{n + 1} + 1\n" for n in range(3000)) + "  v3000: 1\n"
    design = read(RAIL.replace("length: 30", "length: v0") + "let:\n" + chain)
    assert evaluate_values(design)["v0"].value == 3001


def test_nothing_is_imported_called_or_opened_by_a_tag(tmp_path):
    touched = tmp_path / "touched"
    messages(RAIL + f"notes: !!python/object/apply:pathlib.Path.touch ['{touched}']\n")
    assert not touched.exists()


# --- fuzz ---


def told(text):
    """The findings of any text; that this returns at all is what is tested."""
    design, findings = read_design(text, "bench.yaml")
    assert all(isinstance(finding, Finding) and "\n" not in str(finding) for finding in findings)
    assert (design is None) == any(finding.level == "error" for finding in findings)
    lines = text.count("\n") + 2
    assert all(1 <= finding.place.line <= lines and finding.place.column >= 1 for finding in findings)
    assert all(
        isinstance(finding.place, Place) and finding.place.file == "bench.yaml" for finding in findings
    )
    return findings


@given(st.text())
def test_no_text_raises_anything(text):
    told(text)


@given(st.text(alphabet="ab:-[]{},&*!|>'\"%@`#? \n\t0/.\\~<", max_size=80))
def test_no_yaml_raises_anything(text):
    told(text)
    told(HEAD + text)


@given(st.binary(max_size=200))
def test_no_bytes_raise_anything(data):
    design, findings = read_design_bytes(data, "bench.yaml")
    assert design is None
    assert findings


KEYS = sorted({key for record in vars(d).values() if isinstance(record, type) and issubclass(record, Entry)
               for key in record.model_fields})  # fmt: skip
atoms = st.sampled_from([
    "up", "rail", "leg", "leg left", "rail.top", "leg.axis", "30", "-1", "3 1/2", "12 deg", "1 in 8", "floor",
    "square to leg.top", "low * 2", "min(low, 3)", "leg.width", "2x4 oak", "yes", "", "#8", "outline", "1/0", "0",
])  # fmt: skip
values = st.recursive(
    atoms,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from([key.replace("_", " ").strip() for key in KEYS]), inner, max_size=4),
    ),
    max_leaves=8,
)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_change_of_a_design_raises_anything(data):
    """Values of a real design replaced by others that are valid somewhere else."""
    tree = yaml.load(TRESTLE, Loader=yaml.BaseLoader)
    for _ in range(data.draw(st.integers(1, 3))):
        holder, key = tree, data.draw(st.sampled_from(sorted(tree)))
        while isinstance(holder[key], dict | list) and holder[key] and data.draw(st.booleans()):
            holder = holder[key]
            key = data.draw(
                st.sampled_from(sorted(holder) if isinstance(holder, dict) else list(range(len(holder))))
            )
        holder[key] = data.draw(values)
    told(yaml.safe_dump(tree, sort_keys=False, width=200))


def test_no_cut_or_doubled_line_raises_anything():
    rng = random.Random(7)
    lines = TRESTLE.split("\n")
    for _ in range(120):
        changed = list(lines)
        at = rng.randrange(len(changed))
        action = rng.randrange(4)
        if action == 0:
            del changed[at]
        elif action == 1:
            changed.insert(at, rng.choice(lines))
        elif action == 2:
            cut = rng.randrange(len(changed[at]) + 1)
            changed[at] = changed[at][:cut] + rng.choice(":{}[]&*#'\",- x") + changed[at][cut:]
        else:
            changed[at] = changed[at][: rng.randrange(len(changed[at]) + 1)]
        told("\n".join(changed))


def test_both_parsers_of_yaml_tell_the_same(monkeypatch):
    """The parser in C is there for speed; without it nothing may change."""
    fast = [
        read_nodes(text, "bench.yaml") for text in (TRESTLE, TRESTLE[:900], "a: [1", "a: b: c", "a: {b, c}")
    ]
    monkeypatch.setattr(yaml, "CSafeLoader", yaml.SafeLoader)
    slow = [
        read_nodes(text, "bench.yaml") for text in (TRESTLE, TRESTLE[:900], "a: [1", "a: b: c", "a: {b, c}")
    ]
    assert fast == slow
