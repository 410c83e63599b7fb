"""Jigs for floors of any slope and tapers either way: the work placed on each and cut with an untilted tool."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from machining.jigs_laid import (
    EXACT,
    UP,
    flat,
    made_planes,
    off,
    on_the_carrier,
    on_the_wedge,
    turned,
)

from plangen.dimensioning.members import dimension_members
from plangen.dimensioning.proof import prove
from plangen.findings import Place
from plangen.geometry.frames import WORLD
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Plane, Surface
from plangen.joinery.building import cutters_of, remaining_surfaces
from plangen.joinery.model import Feature, Instance, Member, Model
from plangen.machining import jig_members as made
from plangen.machining.jigs import CARRIER_PAYS, jig_setups, numbered, out_of_reach, plan_jigs
from plangen.machining.setup import Offcut, Setup, Spared, Stop, Tilt
from plangen.tables.machines import SMALL_SHOP
from plangen.tables.stock import resolve_stock
from plangen.units import STYLES

HERE = Place("bench.yaml", 4, 3)
PINE = resolve_stock("45 x 145 mm pine", "mm")


def board(plane, kind="half lap", mark="A", handed=False):
    """A board 600 x 90 x 40 with one plane cut into it; ``handed``: one of each hand is made."""
    blank = Box((0.0, 0.0, 0.0), (600.0, 90.0, 40.0))
    cut = Surface(f"{kind} 1.1", plane, f"{kind} 1")
    feature = Feature(f"{kind} 1", kind, "square", "worked", None, None, HERE, (cut,), ((cut.id,),))
    solid = build_solid(blank, cutters_of([feature]))
    hands = ("right", "left") if handed else (None,)
    return Member(
        mark, f"board {mark}", "work", PINE, blank, blank.size, remaining_surfaces(blank, [feature], solid),
        (feature,), solid, None, tuple(Instance(f"board {mark} {h}", h, WORLD) for h in hands),
        "right" if handed else None, HERE,
    )  # fmt: skip


def floor_setup(member, tilt, machine="trenching head", hand=None):
    """The floor through a point 10 mm under the face, level once the work is tilted."""
    return Setup(
        member.mark, "half lap 1", "square", "trench", machine, ("half lap 1.1",), (("half lap 1.1",),),
        cut_from="above", surface_down="back", surface_against="edge", tilt=tilt, jig="wedge",
        depth=(0.0, 40.0), depth_from="face", depth_at=(((300.0, 45.0, 40.0), 10.0),), hand=hand, sequence=1,
    )  # fmt: skip


def sloping(tilt):
    """The plane that is level with the work lying on its back, its edge at the fence, and tilted."""
    flat_up, flat_fence = np.array([0.0, 0.0, 1.0]), np.array([0.0, -1.0, 0.0])
    right = np.cross(flat_fence, flat_up)
    axis = math.cos(tilt.azimuth) * right + math.sin(tilt.azimuth) * flat_fence
    normal = turned(axis, -tilt.angle, flat_up)
    return Plane(tuple(map(float, normal)), float(normal @ [300.0, 45.0, 30.0]))


def planned(*pairs, spared=(), shop=SMALL_SHOP):
    """Set-ups and what is planned for them; members may repeat."""
    members = {m.mark: m for m, _ in pairs}
    model = Model(tuple(members.values()), (), (), ())
    setups = [replace(s, index=n) for n, (_, s) in enumerate(pairs, 1)]
    named, jigs, pieces = plan_jigs(model, setups, shop, spared, "mm")
    return members, named, jigs, {p.mark: p for p in pieces}


def worst(members, named, jigs, pieces):
    """Most that any surface is off with its work on its jig, mm."""
    by_name = {j.name: j for j in jigs}
    found = []
    for setup in named:
        jig, member = by_name[setup.jig], members[setup.member]
        machine = on_the_wedge(setup, member, jig, pieces[jig.member])
        made = made_planes(setup, member, machine)
        found += [off(member, name, n, p) for name, (n, p) in made.items()]
    return max(found)


tilts = st.builds(Tilt, st.floats(0.01, 0.5), st.floats(-math.pi, math.pi))


@given(tilts, st.sampled_from(["trenching head", "router", "table saw"]))
@settings(max_examples=25, deadline=None)
def test_a_floor_of_any_slope_is_level_on_one_wedge_laid_at_the_azimuth(tilt, machine):
    member = board(sloping(tilt))
    members, named, jigs, pieces = planned((member, floor_setup(member, tilt, machine)))
    assert worst(members, named, jigs, pieces) < EXACT
    (jig,), (piece,) = jigs, pieces.values()
    assert jig.angle == pytest.approx(tilt.angle)
    assert jig.rise == pytest.approx(jig.length * math.tan(tilt.angle))
    assert piece.finished[1] <= (piece.stock.width or 140.0) + EXACT
    figures = dimension_members(Model((piece,), (), (), ()), STYLES["mm"])
    proof = prove(piece, figures[0], STYLES["mm"])
    assert (proof.undetermined, proof.redundant) == ((), ())


@given(tilts)
@settings(max_examples=20, deadline=None)
def test_the_work_never_dips_under_the_table_beside_its_wedge(tilt):
    """Longer work lies over a shorter wedge: its lowest corner stays over the table."""
    member = board(sloping(tilt))
    _, named, (jig,), pieces = planned((member, floor_setup(member, tilt)))
    piece = pieces[jig.member]
    if jig.rise > 220.0:
        return  # as high as boards are wide: the work then overhangs
    (slope,) = [s.form for f in piece.features for s in f.surfaces]
    rise = np.array([-math.sin(jig.azimuth), math.cos(jig.azimuth), 0.0])
    seat = [np.array(p) @ flat(named[0], member).T for p in itertools.product((0, 600), (0, 90), (0,))]
    low, high = min(p @ rise for p in seat), max(p @ rise for p in seat)
    # the wedge starts under the low end, or under the cut
    nose = slope.offset / slope.normal[1]
    starts = low + (nose - 6.0) / math.tan(jig.angle)
    assert nose >= 6.0 - EXACT
    assert low - EXACT <= starts < high


@given(tilts)
@settings(max_examples=20, deadline=None)
def test_one_wedge_serves_both_hands_turned(tilt):
    """The other hand is the mirror image: the axis at the opposite angle from the fence, the piece the same."""
    member = board(sloping(tilt), handed=True)
    left = Tilt(tilt.angle, -tilt.azimuth)
    pairs = [
        (member, floor_setup(member, tilt, hand="right")),
        (member, floor_setup(member, left, hand="left")),
    ]
    members, named, jigs, pieces = planned(*pairs)
    assert worst(members, named, jigs, pieces) < EXACT
    assert len(pieces) == 1
    assert {j.member for j in jigs} == {"J1"}


def test_wedges_that_differ_less_than_settings_do_are_one():
    """0.05 degrees over a floor 90 mm wide are 0.08 mm; a quarter of a degree is too much."""
    for more, count in ((0.0, 1), (0.03, 1), (0.5, 2)):
        ways = [Tilt(math.radians(5.0), math.pi), Tilt(math.radians(5.0 + more), math.pi)]
        boards = [board(sloping(t), mark=m) for t, m in zip(ways, "AB", strict=True)]
        members, named, jigs, pieces = planned(
            *((b, floor_setup(b, t)) for b, t in zip(boards, ways, strict=True))
        )
        assert len(pieces) == count, more
        assert worst(members, named, jigs, pieces) <= max(j.snap_error for j in jigs) + EXACT
        assert (max(j.snap_error for j in jigs) > 0) == (more == 0.03)


def test_an_offcut_that_is_the_wedge_is_named_and_no_other_is_made():
    tilt = Tilt(0.1, 0.0)
    member = board(sloping(tilt))
    offcut = Offcut(0.1, 60.0, 200.0)
    spared = [Spared("A", "half lap 1", "bevel 1", "keep the offcut of bevel 1", offcut)]
    _, named, (jig,), pieces = planned((member, floor_setup(member, tilt)), spared=spared)
    assert (named[0].jig, pieces) == (jig.name, {})
    assert (jig.name, jig.member, jig.offcut) == ("offcut of A bevel 1", "A", "bevel 1")
    assert (jig.angle, jig.azimuth, jig.length, jig.rise) == (0.1, 0.0, 60.0, 60.0 * math.tan(0.1))


def tapered(angle, lean=0.0, handed=False, mark="A"):
    """A board whose back edge is sawn off from 70 mm at end A, leaning by ``lean`` from square, and its set-up."""
    normal = np.array([math.sin(angle) * math.cos(lean), math.cos(angle) * math.cos(lean), -math.sin(lean)])
    at = (0.0, 70.0, 40.0)
    member = board(Plane(tuple(map(float, normal)), float(normal @ at)), "taper", mark, handed)
    # the edge at the fence, the back down: right is end A, so that the blade's normal (cos m cos b, ..., -sin b) is
    # here (-sin a cos e, -cos a cos e, -sin e), or the same turned round
    miter = math.atan2(math.cos(angle), math.sin(angle))
    setup = Setup(
        mark, "taper 1", "square", "taper", "table saw", ("taper 1.1",), (("taper 1.1",),), cut_from="below",
        surface_down="back", surface_against="edge", miter=miter, bevel=-lean, jig="taper carrier",
        stop=Stop("A", ("edge", "face"), 0.0, "A", at), waste="left", quantity=1, sequence=1,
    )  # fmt: skip
    return member, setup


def cut_on_carrier(members, named, jigs, pieces):
    by_name = {j.name: j for j in jigs}
    found = []
    for setup in named:
        member, jig = members[setup.member], by_name[setup.jig]
        work = build_solid(member.blank, [])
        machine, place = on_the_carrier(setup, member, pieces[jig.member], work)
        m, b = math.copysign(math.pi / 2, setup.miter), setup.bevel
        normal = np.array([math.cos(m) * math.cos(b), math.sin(m) * math.cos(b), -math.sin(b)])
        point = np.linalg.solve(machine, np.array([0.0, -setup.fence, 0.0]) - place)
        found.append(off(member, setup.makes[0], normal @ machine, point))
    return max(found)


@given(st.floats(-0.15, 0.15).filter(lambda a: abs(a) > 0.005), st.floats(-0.3, 0.3), st.booleans())
@settings(max_examples=20, deadline=None)
def test_a_taper_either_way_is_sawn_on_its_carrier_at_the_fence_distance_told(angle, lean, two):
    member, setup = tapered(angle, lean)
    other, again = tapered(angle, lean, mark="B")
    pairs = [(member, replace(setup, quantity=2)), *([(other, again)] if two else [])]
    members, named, jigs, pieces = planned(*pairs)
    assert cut_on_carrier(members, named, jigs, pieces) < EXACT
    assert len(pieces) == 1
    (piece,) = pieces.values()
    figures = dimension_members(Model((piece,), (), (), ()), STYLES["mm"])
    assert prove(piece, figures[0], STYLES["mm"]).undetermined == ()


def test_the_other_hands_square_taper_is_the_work_turned_over_on_the_same_carrier():
    member, setup = tapered(0.05, handed=True)
    right = replace(setup, hand="right", quantity=2)
    left = replace(right, hand="left", miter=math.pi - right.miter)
    members, named, jigs, pieces = planned((member, right), (member, left))
    assert [s.surface_down for s in named] == ["back", "face"]
    assert len({(s.miter, s.bevel, s.fence, s.jig) for s in named}) == 1
    assert len(pieces) == 1
    assert cut_on_carrier(members, named, jigs, pieces) < EXACT


def test_a_leaning_taper_of_the_other_hand_has_a_carrier_of_its_own():
    member, setup = tapered(0.05, 0.1, handed=True)
    right = replace(setup, hand="right", quantity=2)
    left = replace(right, hand="left", miter=math.pi - right.miter)
    members, named, jigs, pieces = planned((member, right), (member, left))
    assert len(pieces) == 2
    assert cut_on_carrier(members, named, jigs, pieces) < EXACT


@given(st.floats(-0.3, 0.3).filter(lambda a: abs(a) > 0.005), st.floats(-0.3, 0.3), st.booleans())
@settings(max_examples=30, deadline=None)
def test_a_single_taper_is_sawn_to_its_line(angle, lean, other):
    """The line on the surface that is up, and the blade along the outline's axis, are the feature's plane."""
    member, setup = tapered(angle, lean, handed=True)
    left = replace(setup, hand="left", miter=math.pi - setup.miter)
    setup = left if other else replace(setup, hand="right")
    _, (named,), jigs, pieces = planned((member, setup))
    if other and abs(lean) < 1e-9:  # turned over: its back is up
        return
    assert (named.machine, named.jig, jigs, pieces) == ("bandsaw", None, (), {})
    origin, u, v = (np.array(x) for x in named.outline_frame)
    (line,) = named.outline
    a, b = (origin + p[0] * u + p[1] * v for p in (line.start, line.end))
    out = np.cross(b - a, np.cross(u, v))
    assert off(member, "taper 1.1", out, a) < EXACT
    assert out @ np.array(member.features[0].surfaces[0].form.normal) > 0
    assert a[2] == pytest.approx(40.0)


def test_a_carrier_pays_from_two_pieces_of_one_slope():
    member, setup = tapered(0.05)
    for quantity in (1, CARRIER_PAYS):
        _, (named,), _, pieces = planned((member, replace(setup, quantity=quantity)))
        assert (named.machine == "table saw") == bool(pieces) == (quantity >= CARRIER_PAYS)
    steep, at_once = tapered(0.4)
    assert planned((steep, replace(at_once, quantity=9)))[1][0].machine == "bandsaw"


def test_without_a_bandsaw_even_one_taper_is_sawn_on_a_carrier_and_the_carrier_by_hand():
    member, setup = tapered(0.05)
    bare = replace(SMALL_SHOP, machines=tuple(m for m in SMALL_SHOP.machines if m.machine != "bandsaw"))
    _, (named,), (jig,), pieces = planned((member, setup), shop=bare)
    assert named.jig == jig.name
    own = jig_setups(pieces[jig.member], bare)
    assert [(s.machine, s.by_hand, s.operation) for s in own] == [("hand", None, "saw to line")] * 2


@given(st.floats(0.02, 1.3), st.floats(30.0, 400.0))
@settings(max_examples=30, deadline=None)
def test_the_lines_that_a_jig_is_sawn_to_are_its_surfaces(angle, length):
    length = min(length, 200.0 / math.tan(angle))
    for profile in (made.wedge(angle, length), made.cradle(length / 8), made.form(length / 8)):
        piece = made.jig_member("J1", "jig", profile, PINE, 1, HERE, ())
        for setup in jig_setups(piece, SMALL_SHOP):
            form = next(s.form for f in piece.features for s in f.surfaces if s.id in setup.makes)
            if not isinstance(form, Plane):
                continue
            (line,) = setup.outline
            a, b = (np.array([*p, piece.finished[2]]) for p in (line.start, line.end))
            assert abs(form.distance(tuple(a))) < EXACT
            assert abs(form.distance(tuple(b))) < EXACT
            out = np.cross(b - a, UP)
            assert out @ np.array(form.normal) == pytest.approx(np.linalg.norm(b - a))


def test_numbers_follow_the_set_ups():
    tilt = Tilt(0.1, 0.3)
    member = board(sloping(tilt))
    _, named, jigs, _ = planned((member, floor_setup(member, tilt)))
    assert jigs[0].setups == (1,)
    assert numbered(jigs, [replace(named[0], index=7)])[0].setups == (7,)


@pytest.mark.parametrize(("reach", "told"), [(50.0, 1), (80.0, 0)])
def test_a_floor_that_its_wedge_lifts_out_of_the_heads_reach_is_told(reach, told):
    """Down on its face, the head from below: 300 mm up a slope of 0.2 the floor stands some 76 mm over the table."""
    tilt = Tilt(math.atan(0.2), -math.pi / 2)
    across = turned(np.array([0.0, 1.0, 0.0]), tilt.angle, np.array([0.0, 0.0, 1.0]))
    start = np.array([300.0, 45.0, 40.0])
    member = board(Plane(tuple(map(float, across)), float(across @ (start - [0.0, 0.0, 10.0]))))
    setup = replace(
        floor_setup(member, tilt), cut_from="below", surface_down="face", depth_at=((tuple(start), 10.0),)
    )
    machines = tuple(
        replace(m, height=reach) if m.machine == "trenching head" else m for m in SMALL_SHOP.machines
    )
    found = out_of_reach(Model((member,), (), (), ()), [setup], replace(SMALL_SHOP, machines=machines))
    assert len(found) == told
    assert all("over the table and the trenching head reaches 50 mm" in text for text in found)
