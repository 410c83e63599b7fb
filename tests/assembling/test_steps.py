"""The order of assembling, held against solids that are moved along the ways it states."""

import math
from dataclasses import replace

import pytest
from worked_out import DESIGNS, PROJECT, facts_of, given

from plangen.assembling.apart import explode
from plangen.assembling.bars import Bars
from plangen.assembling.checking import distances
from plangen.assembling.steps import _TakingApart, plan_assembling
from plangen.assembling.together import _fastest
from plangen.drawing.exploded import standing_places
from plangen.geometry.clash import clash
from plangen.geometry.contact import Touch
from plangen.geometry.vectors import along, dot, length, neg, sub
from plangen.joinery.model import Model

IDS = [p.stem for p in DESIGNS]
_PLACES = (3.0, 30.0, 150.0)
_ROUND = 0.05
"""Millimetres that facets of round parts may seem to share on the way."""


@pytest.mark.parametrize("path", DESIGNS, ids=IDS)
def test_every_part_goes_in_and_the_last_step_leaves_the_piece_complete(path):
    facts = facts_of(path)
    if facts.assembling.stuck:
        assert any(f.rule == "assembling" for f in facts.findings)
        return
    names = set(standing_places(facts.model))
    steps = facts.assembling.steps
    assert all(not set(s.names) & set(s.standing) for s in steps)
    assert (set(steps[-1].names) | set(steps[-1].standing) if steps else names) == names


@pytest.mark.parametrize("path", PROJECT, ids=[p.stem for p in PROJECT])
def test_nothing_stands_in_the_way_of_what_goes_in(path):
    """The exact solids, moved back along the stated way to three places, share no wood with what stands there."""
    facts = facts_of(path)
    places = standing_places(facts.model)
    sprung = {frozenset(j.members) for j in facts.model.joints if j.sprung}
    for step in facts.assembling.steps:
        if step.at_once:
            continue
        there = list(step.standing)
        for move in step.moves:
            for name in move.names:
                solid, frame = places[name]
                for off in _PLACES:
                    back = replace(frame, origin=along(frame.origin, move.way, -off))
                    for other in there:
                        if frozenset((name, other)) in sprung:
                            continue
                        met = clash(solid, back, *places[other])
                        assert met is None or met.thickness < _ROUND, (name, other, off, met)
            there += move.names


@pytest.mark.parametrize(("sides", "halves"), [(3, False), (4, True), (5, False), (6, True), (8, True)])
def test_only_even_rings_of_dowelled_mitres_come_apart_in_halves(sides, halves):
    """From memory of a prototype's result: with dowels across every mitre no side leaves by itself; even rings part
    in two halves along the dowels, odd ones only open all at once."""
    bars = _ring(sides)
    units = [(k,) for k in range(sides)]
    taking = _TakingApart(Model((), (), (), ()), (), bars)
    groups = [g for way in bars.slides(range(sides)) if (g := taking._smallest(units, way, bars.holds))]
    assert all(len(g) > 1 for g in groups)
    assert bool(groups) == halves
    faces = [(i, j, n) for (i, j), ts in bars.contacts.items() for t in ts for n in t.ways_off]
    moves = _fastest(faces, sides)
    opened = [length(sub(moves[k], moves[(k + 1) % sides])) > 1e-3 for k in range(sides)]
    assert any(opened) if halves else all(opened)


def _ring(sides):
    """Sides of a ring by the faces of their mitres and the walls of their dowel holes alone."""
    bars = Bars([])
    contacts = {}
    for k in range(sides):
        i, j = k, (k + 1) % sides
        turn = 2 * math.pi * (k + 0.5) / sides
        out = (math.cos(turn), math.sin(turn), 0.0)
        # from the side after the mitre into the one before it, square to the mitre
        before = (math.sin(turn), -math.cos(turn), 0.0)
        off = before if i < j else neg(before)
        walls = (out, neg(out), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
        contacts[min(i, j), max(i, j)] = tuple(Touch((n,), 10.0, ((0.0, 0.0, 0.0),)) for n in (off, *walls))
    bars.__dict__["contacts"] = contacts
    return bars


@given("three-leg-stool")
def test_the_stool_closes_all_at_once_with_its_stretchers_joined_before(path):
    first, last = facts_of(path).assembling.steps
    assert first.names == ("long stretcher",)
    assert last.at_once
    assert set(last.standing) == {"seat"}


@given("flared-planter", "potting-bench")
def test_what_is_made_to_come_out_goes_in_last(path):
    out = {"flared-planter": {"side 1"}, "potting-bench": {"apron left", "apron right"}}[path.stem]
    assert out <= set(facts_of(path).assembling.steps[-1].names)


@given("splayed-trestle")
def test_without_springing_the_trestles_stretchers_cannot_go_in(path):
    model = facts_of(path).model
    rigid = replace(model, joints=tuple(replace(j, sprung=False) for j in model.joints))
    assert "stretcher" in plan_assembling(rigid).stuck
    assert facts_of(path).assembling.stuck == ()


@given("splayed-trestle")
def test_four_feet_are_checked_by_their_diagonals(path):
    """Pythagoras on the plan of the toes: they stand in a rectangle."""
    facts = facts_of(path)
    legs = next(s for s in facts.assembling.steps if len(s.names) == 4)
    (apart,) = distances(legs, facts.model)
    short, long = apart.sides
    assert apart.corner == "lowest"
    assert apart.diagonals == pytest.approx((short**2 + long**2) ** 0.5, abs=1e-6)


@pytest.mark.parametrize("path", PROJECT, ids=[p.stem for p in PROJECT])
def test_an_exploded_part_is_drawn_off_straight_from_what_it_joins(path):
    facts = facts_of(path)
    drawn = explode(facts.assembling, standing_places(facts.model))
    for step in facts.assembling.steps:
        for move in (m for m in step.moves if m.beside and not step.at_once):
            off = tuple(a - b for a, b in zip(drawn.of(move.names[0]), drawn.of(move.beside), strict=True))
            if length(off) > 1.0 and abs(abs(dot(off, move.way)) - length(off)) < 1e-6:
                assert dot(off, move.way) < 0


@pytest.mark.parametrize("path", PROJECT, ids=[p.stem for p in PROJECT])
def test_every_fastener_is_driven_in_one_step(path):
    facts = facts_of(path)
    driven = [d for s in facts.assembling.steps for d in s.fasteners]
    assert len(driven) == len(set(driven))
    assert set(driven) == set(facts.model.driven)
