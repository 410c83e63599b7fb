"""Every design of the workshop builds, loses no wood, and its members match an independent exact kernel."""

import pytest
from brep_kernel import kernel_centroid, kernel_solid, kernel_volume
from worked_out import DESIGNS, facts_of
from workshop import FOLDER, build_file

from plangen.geometry.clash import union_volume
from plangen.geometry.solid import build_solid

PLANAR = [
    "flared-bench",
    "flush-frame",
    "mirrored-pair",
    "sliver",
    "splayed-box",
    "stretched",
    "three-at-a-point",
]
"""Designs of plane surfaces alone whose joints declare no clearance and leave nothing proud."""


WARNED = {"flared-planter": ["movement"], "crowned-rail-cut": ["movement"]}
"""Stakes screwed across the grain of the front, a post glued across a wide rail: the plan says what to do."""


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_it_builds_without_an_error_or_a_warning(path):
    warned = [f.rule for f in facts_of(path).findings if f.level != "note"]
    assert warned == WARNED.get(path.stem, [])


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_every_member_has_the_kernels_volume_and_centroid(path):
    """The jigs too."""
    for member in facts_of(path).model.members:
        cutters = []
        for feature in member.features:
            forms = {s.id: s.form for s in feature.surfaces}
            cutters += [[forms[i] for i in cutter] for cutter in feature.cutters]
        shape = kernel_solid(member.blank, cutters)
        curved = any(hasattr(form, "axis") for cutter in cutters for form in cutter)
        within = 1e-6 if curved else 1e-9
        assert member.solid.volume == pytest.approx(kernel_volume(shape), rel=within)
        assert member.solid.centroid == pytest.approx(kernel_centroid(shape), abs=within * 1e3)


@pytest.mark.parametrize("name", PLANAR)
def test_members_hold_all_the_wood_of_their_bodies_and_none_twice(name):
    built = build_file(FOLDER / f"{name}.yaml")
    bodies = [(build_solid(p.body.box, [[s.form] for s in p.body.shapings]), p.frame) for p in built.placed]
    members = [(m.solid, i.frame) for m in built.model.members for i in m.instances]
    together = union_volume(members)
    assert union_volume(bodies) == pytest.approx(together, rel=1e-9)
    assert sum(solid.volume for solid, _ in members) == pytest.approx(together, rel=1e-9)
