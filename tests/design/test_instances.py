"""The names of a member's places, as the designer may say them."""

import pytest
from worked_out import PROJECT, facts_of

from plangen.design.checking import evaluate_values
from plangen.design.instances import instance_names, is_instance, member_of, parts_of
from plangen.design.reading import read_design


def member(copies):
    text = (
        "title: T\nunits: in\nlet: {slats: 3}\nmembers:\n  leg: {stock: 2x4 oak, length: 30, "
        f"place: {{length: right, face: up}}, copies: {copies}}}\n  leg brace: {{like: leg, copies: {{}}}}\n"
    )
    design, _ = read_design(text, "bench.yaml")
    return design


@pytest.mark.parametrize(
    ("copies", "words"),
    [
        ("{}", []),
        ("{mirror: left to right}", ["left", "right", "mirrored"]),
        ("{mirror: front to back}", ["front", "rear", "mirrored"]),
        ("{turned: yes}", ["turned"]),
        ("{repeat: {count: slats, spacing: 2, going: up}}", ["1", "2", "3"]),
    ],
)
def test_one_kind_of_copy_gives_its_words(copies, words):
    design = member(copies)
    names = instance_names("leg", design.members["leg"], evaluate_values(design))
    assert names == ("leg", *(f"leg {word}" for word in words))


def test_copies_both_ways_are_named_front_before_left():
    design = member("{mirror: [left to right, front to back]}")
    names = instance_names("leg", design.members["leg"])
    assert {"leg front left", "leg front right", "leg rear left", "leg rear right"} < set(names)
    assert "leg left" not in names


def test_a_mirrored_repeat_says_the_side_and_then_the_number():
    design = member("{mirror: left to right, repeat: {count: 2, spacing: 2, going: up}}")
    names = instance_names("leg", design.members["leg"], evaluate_values(design))
    assert {"leg left 1", "leg right 2", "leg mirrored 1"} < set(names)
    assert "leg left 3" not in names


def test_a_name_that_begins_with_another_is_not_one_of_its_places():
    parts = parts_of(member("{mirror: left to right}"))
    assert member_of("leg brace", parts) == ("leg brace", "")
    assert member_of("leg left", parts) == ("leg", "left")
    assert member_of("legs", parts) is None


@pytest.mark.parametrize(
    "copies",
    [
        "{}",
        "{mirror: [left to right, front to back]}",
        "{mirror: left to right, repeat: {count: slats, spacing: 2, going: up}}",
        "{turned: yes, repeat: {count: 12, spacing: 2, going: up}}",
    ],
)
def test_what_is_listed_is_what_is_known(copies):
    design = member(copies)
    parts, values = parts_of(design), evaluate_values(design) if "slats" in copies else {}
    listed = set(instance_names("leg", design.members["leg"], values))
    words = ["", "left", "right", "rear", "front left", "rear right", "mirrored", "mirrored 2", "turned", "0", "1",
             "3", "4", "12", "13", "left 3", "left 4", "turned 12", "turned 13", "01", "1 1", "99999", "x"]  # fmt: skip
    for word in words:
        name = f"leg {word}".strip()
        assert is_instance(name, parts, values) == (name in listed), name


@pytest.mark.parametrize("path", PROJECT, ids=lambda path: path.name)
def test_every_place_of_a_demo_design_is_called_by_a_known_name(path):
    """Placing names them by where they stand; the designer can only say what is known here."""
    design, _ = read_design(path.read_text(encoding="utf-8"), path.name)
    parts, values = parts_of(design), evaluate_values(design)
    names = [instance.name for member in facts_of(path).model.members for instance in member.instances]
    assert names
    assert [name for name in names if member_of(name, parts) and not is_instance(name, parts, values)] == []
