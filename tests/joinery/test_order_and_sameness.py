"""The order of joints does not matter; pieces are one member where a turn or a mirror makes them equal."""

import pytest
from soundness import assert_order_free, world_cutters
from workshop import FOLDER, build, build_file, findings_of

from plangen.joinery.congruence import same_cutters


@pytest.mark.parametrize(
    "name", ["three-at-a-point", "flush-frame", "crowned-rail-cut", "stretched", "splayed-box"]
)
def test_joints_in_any_order_make_the_same_planes(name):
    assert_order_free((FOLDER / f"{name}.yaml").read_text())


def test_three_laps_by_pairs_lose_wood_and_are_told():
    """Post over rail, rail over brace, brace over post: each gives the half that another counts on."""
    text = (FOLDER / "three-at-a-point.yaml").read_text()
    text = text.replace("[brace, rail], over: first", "[brace, rail], over: second")
    text = text.replace("{notch: [brace, post]}", "{half lap: [brace, post], over: first}")
    found = [f.text for f in findings_of(text) if f.rule == "lost wood"]
    assert len(found) == 1
    assert found[0].startswith('"post", "rail" and "brace" meet in one place and ')
    assert "mm3 of wood is cut away by all of them" in found[0]


def test_two_laps_and_a_notch_lose_nothing():
    assert build_file(FOLDER / "three-at-a-point.yaml").findings == ()


def test_stiles_that_differ_by_a_mirror_are_two_hands_of_one_member():
    built = build_file(FOLDER / "mirrored-pair.yaml")
    assert [(m.quantity, {i.hand for i in m.instances}) for m in built.model.members] == [
        (2, {"left", "right"}),
        (2, {"left", "right"}),
    ]


def test_the_other_hands_lap_is_the_mirror_image_of_the_drawn_ones():
    built = build_file(FOLDER / "mirrored-pair.yaml")
    placed = world_cutters(built)
    for name in ("rail", "leg"):
        mirrored = [
            [type(f)((-f.normal[0], f.normal[1], f.normal[2]), f.offset) for f in c]
            for c in placed[f"{name} right"]
        ]
        assert same_cutters(mirrored, placed[f"{name} left"])


def test_rails_of_two_entries_that_a_turn_makes_equal_are_one_member():
    members = {m.name: m for m in build_file(FOLDER / "flush-frame.yaml").model.members}
    assert {name: m.quantity for name, m in members.items()} == {
        "stile": 2,
        "bottom rail, top rail and middle rail": 3,
    }


def test_pieces_equal_in_size_and_not_in_their_cuts_are_two_members():
    text = (
        (FOLDER / "flush-frame.yaml")
        .read_text()
        .replace("middle: [{level at: up + high / 2}]", "middle: [{level at: up + high / 3}]")
    )
    assert build(text).model.members[0].quantity == 2
    other = text.replace(
        "  - {tee lap: [stile, middle rail], over: first}\n",
        "  - {tee lap: [stile, middle rail], depth: 15}\n",
    )
    assert len(build(other).model.members) == 3


AFTER = """title: T
units: mm
stock:
  stick: {ask for: ash, species: ash, width: 60, thickness: 40}
members:
  rail:
    stock: stick
    length: 400
    place: {length: right, face: {toward: front}, middle: [centre plane, depth plane, {level at: 0}]}
  brace:
    stock: stick
    length: 400
    place: {length: rear, face: {toward: up}, middle: [centre plane, depth plane, {level at: 25}]}
  peg:
    stock: stick
    width: 20
    thickness: 20
    length: 60
    place: {length: up, face: {toward: front}, middle: [centre plane, depth plane], end A: {at: {level at: 0}}}
joints:
  - {notch: [brace, rail], name: brace seat}
  - {notch: [rail, peg], name: peg foot}
  - {notch: [peg, brace]AFTER}
"""


def test_a_joint_after_another_leaves_the_wood_that_the_first_is_cut_to():
    """The peg's foot is cut away up to the rail's top edge, 25 mm above the brace's underside."""
    whole = 400 * 60 * 40
    plain = build(AFTER.replace("AFTER", ""))
    assert whole - plain.member("brace").solid.volume == pytest.approx(20 * 20 * 40)
    after = build(AFTER.replace("AFTER", ", after: peg foot"))
    assert whole - after.member("brace").solid.volume == pytest.approx(20 * 20 * 15)
