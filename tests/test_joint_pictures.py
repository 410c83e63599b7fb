"""Every kind of joint has its smallest design, which is sound, and its picture, drawn from that design."""

import pytest
from joint_pictures import DESIGNS, PICTURES, picture_of
from soundness import UNSOUND
from workshop import build_file

from plangen.design.joint_words import JOINTS_TOLD
from plangen.design.kinds import JOINT_OPTIONS

KINDS = {design.stem.replace("-", " "): design for design in sorted(DESIGNS.glob("*.yaml"))}


def test_every_kind_of_joint_has_its_smallest_design_its_paragraph_and_its_picture():
    kinds = {kind.replace("-", " ") for kind in JOINT_OPTIONS}
    assert set(JOINTS_TOLD) == set(JOINT_OPTIONS)
    assert set(KINDS) == kinds
    assert {p.stem.replace("-", " ") for p in PICTURES.glob("*.svg")} == kinds


@pytest.mark.parametrize("kind", KINDS)
def test_the_smallest_design_of_a_kind_is_sound(kind):
    built = build_file(KINDS[kind])
    assert [str(f) for f in built.findings if f.level != "note" or f.rule in UNSOUND] == []
    assert built.model.joints[0].kind.replace("-", " ") == kind


@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_in_the_tree_is_the_one_that_is_drawn(kind):
    built = build_file(KINDS[kind])
    drawn = picture_of(built.design.title, built.model)
    assert (PICTURES / f"{KINDS[kind].stem}.svg").read_bytes() == drawn
