"""Jigs of the designs: the work placed on each and cut with an untilted tool is the feature; jigs are members."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from brep_kernel import kernel_solid, kernel_volume
from machining.jigs_laid import (
    EXACT,
    made_planes,
    off,
    on_the_carrier,
    on_the_wedge,
)
from worked_out import facts_of

from plangen.dimensioning.proof import prove
from plangen.geometry.solid import build_solid
from plangen.joinery.building import cutters_of

ROOT = Path(__file__).parents[2]
WITH_JIGS = (
    "designs/splayed-trestle", "designs/potting-bench", "tests/designs/joints/taper-tenon",
    "tests/designs/joints/birdsmouth", "tests/designs/joints/edge-lap", "tests/designs/joints/loose-tenon",
    "tests/designs/joints/scarf",
)  # fmt: skip
DESIGNS = [ROOT / f"{name}.yaml" for name in WITH_JIGS]
TILTED = ("wedge", "angle block", "fence strip")


@pytest.fixture(params=DESIGNS, ids=lambda p: p.stem)
def facts(request):
    return facts_of(request.param)


def uses(facts):
    """Set-ups with their jigs, the member that is cut and the jig's member."""
    members = {m.mark: m for m in facts.model.members}
    jigs = {j.name: j for j in facts.machining.jigs}
    for setup in facts.machining.setups:
        if setup.jig in jigs:
            jig = jigs[setup.jig]
            yield setup, members[setup.member], jig, members[jig.member]


def test_work_on_its_wedge_is_cut_as_the_feature_is(facts):
    for setup, member, jig, piece in uses(facts):
        if jig.kind in TILTED:
            machine = on_the_wedge(setup, member, jig, piece)
            made = made_planes(setup, member, machine)
            assert made, setup.feature
            for name, (normal, point) in made.items():
                assert off(member, name, normal, point) < EXACT + jig.snap_error, (member.name, name)


def before(facts, setup, member):
    """The work as it stands when a set-up begins."""
    done = {
        s.feature for s in facts.machining.setups
        if (s.member, s.hand) == (setup.member, setup.hand) and s.sequence < setup.sequence
    } - {setup.feature}  # fmt: skip
    return build_solid(member.blank, cutters_of([f for f in member.features if f.id in done]))


def test_work_on_its_carrier_is_cut_as_the_feature_is(facts):
    for setup, member, jig, piece in uses(facts):
        if jig.kind != "taper carrier":
            continue
        machine, place = on_the_carrier(setup, member, piece, before(facts, setup, member))
        m, b = math.copysign(math.pi / 2, setup.miter), setup.bevel
        normal = np.array([math.cos(m) * math.cos(b), math.sin(m) * math.cos(b), -math.sin(b)])
        trace = np.array([0.0, -setup.fence, 0.0])
        # of the plane normal . (machine p + place - trace) = 0 a point, in the work
        point = np.linalg.solve(machine, trace - place)
        assert off(member, setup.makes[0], normal @ machine, point) < EXACT + jig.snap_error, member.name


def test_round_work_lies_level_in_its_cradles(facts):
    """A cylinder touches both sides of the V; the two hold the axis at one height, where the work is that thick."""
    members = {m.mark: m for m in facts.model.members}
    jigs = facts.machining.jigs
    for jig in (j for j in jigs if j.kind == "cradle" and not j.beside):
        pair = [jig, *(j for j in jigs if j.beside == jig.name)]
        heights = []
        for one in pair:
            piece = members[one.member]
            sides = [s.form for f in piece.features for s in f.surfaces]
            normals = np.array([s.normal[:2] for s in sides])
            assert normals[0] @ normals[1] == pytest.approx(0.0, abs=1e-12)
            # the radius of the cylinder whose axis stands over the V's line and that just reaches 8 mm under its rim
            line = np.linalg.solve(normals, np.array([s.offset for s in sides]))
            depth = piece.finished[1] - line[1]
            radius = (depth - 8.0) * math.sqrt(2.0)
            heights.append(line[1] + radius * math.sqrt(2.0))
            assert line[0] == pytest.approx(piece.finished[0] / 2)
            assert any(str(n).startswith("Stands under the work") for n in piece.notes)
        assert heights == pytest.approx([heights[0]] * len(pair))
        assert sum(members[one.member].quantity for one in pair) == 2


# --- jigs are members ------------------------------------------------------------------------------------


def jig_pieces(facts):
    return [m for m in facts.model.members if m.role == "jig" and m.made is not None]


def test_every_jig_has_a_sheet_from_which_it_follows(facts):
    figures = {f.mark: f for f in facts.figures}
    for piece in jig_pieces(facts):
        proof = prove(piece, figures[piece.mark], facts.style)
        assert (proof.undetermined, proof.redundant) == ((), ()), piece.name


def test_a_jig_needs_no_jig_itself(facts):
    marks = {m.mark for m in jig_pieces(facts)}
    own = [s for s in facts.machining.setups if s.member in marks]
    assert all(s.jig is None and s.tilt is None and s.by_hand is None for s in own)
    for piece in jig_pieces(facts):
        made = sorted(i for s in own if s.member == piece.mark for i in s.makes)
        assert made == sorted(s.id for f in piece.features for s in f.surfaces)


def test_every_jig_is_used_and_every_set_up_finds_its_jig(facts):
    names = {j.name for j in facts.machining.jigs}
    assert len(names) == len(facts.machining.jigs)
    asked = {s.jig for s in facts.machining.setups if s.jig}
    assert asked <= names
    assert all(j.setups for j in facts.machining.jigs)
    assert {j.member for j in facts.machining.jigs if not j.offcut} == {m.mark for m in jig_pieces(facts)}


def test_jigs_stand_in_the_lists_and_nowhere_in_the_piece(facts):
    rows = {r.mark: r for r in facts.cutting}
    for piece in jig_pieces(facts):
        assert (rows[piece.mark].role, rows[piece.mark].quantity) == ("jig", piece.made)
        assert piece.instances == ()
    first = [r.role for r in facts.cutting]
    assert first == sorted(first, key=lambda role: role == "jig")


def test_an_exact_kernel_makes_the_same_jigs(facts):
    for piece in jig_pieces(facts):
        volume = kernel_volume(kernel_solid(piece.blank, cutters_of(piece.features)))
        assert piece.solid.volume == pytest.approx(volume, rel=1e-9), piece.name
