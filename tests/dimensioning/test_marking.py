"""Marking out: what is marked together says what the part sheets say, and nothing of it twice."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from worked_out import PROJECT, facts_of, given, sheets_of

from plangen.dimensioning.assembly_marks import MarkedPart
from plangen.dimensioning.figures import Figure
from plangen.dimensioning.marking import bare
from plangen.drawing.marks import Group, Lettering, Mark
from plangen.drawing.story_stick import spread_out
from plangen.facts import PlanFacts
from plangen.geometry.clash import world_vertices

every_design = pytest.mark.parametrize("path", PROJECT, ids=lambda p: p.stem)
OUT = {
    "face": (2, 1),
    "back": (2, -1),
    "edge": (1, -1),
    "back edge": (1, 1),
    "end A": (0, -1),
    "end B": (0, 1),
}


def stated(facts: PlanFacts) -> dict[tuple[str, str], Figure]:
    return {(s.mark, f.id): f for s in facts.figures for f in s.figures}


@every_design
def test_every_line_is_a_figure_of_each_part_it_is_squared_over(path: Path) -> None:
    """Measured again on the part: the far foot lies so far from where the part's lengths begin."""
    facts = facts_of(path)
    figures = stated(facts)
    quantity = {m.mark: m.quantity for m in facts.bench.members}
    turned = {m.mark for m in facts.bench.members if m.is_round}
    for gang in facts.marking.gangs:
        assert gang.pieces == sum(quantity[mark] for mark in gang.parts) > 1
        assert {mark for line in gang.lines for mark in line.parts} == set(gang.parts)
        assert len({line.printed for line in gang.lines}) == len(gang.lines)
        for line in gang.lines:
            for key in line.figures:
                f = figures[key]
                assert bare(f.printed) == line.printed
                assert f.view == gang.up or key[0] in turned
                assert abs(abs(f.points[1][0] - f.points[0][0]) - f.value) < 1e-6
        for mark in gang.parts:
            begins = {
                round(figures[k].points[0][0], 6) for line in gang.lines for k in line.figures if k[0] == mark
            }
            assert len(begins) == 1


@every_design
def test_each_setting_of_a_gauge_and_bevel_stands_once(path: Path) -> None:
    facts = facts_of(path)
    figures = stated(facts)
    gauges = facts.marking.gauges
    assert len({(g.tool, g.printed, g.apart) for g in gauges}) == len(gauges)
    for gauge in gauges:
        for served in gauge.serves:
            said = [bare(figures[served.mark, i].printed) for i in served.figures]
            assert said == [t for t in (gauge.printed, gauge.apart) if t]
    bevels = [(b.printed, round(min(b.value, 180 - b.value), 2)) for b in facts.marking.bevels]
    assert len(set(bevels)) == len(bevels)
    angles = {
        (s.mark, f.printed.strip("()"))
        for s in facts.figures
        for f in s.figures
        if f.kind == "angular" and not f.said_by and f.value % 90 and f.printed.strip("()").endswith("°")
    }
    work = {m.mark for m in facts.bench.members if m.role == "work" and m.bent is None}
    told = {(mark, printed) for b in facts.marking.bevels for mark in b.parts for printed in b.printed}
    assert {(mark, p) for mark, p in angles if mark in work} <= told


@every_design
def test_the_bevel_draws_every_line_it_is_set_for_within_the_width_of_a_pencil_line(path: Path) -> None:
    """Angles that print alike are one setting as long as this is so: 52.25 and 52.35 degrees over three inches are."""
    facts = facts_of(path)
    for bevel in facts.marking.bevels:
        assert len({min(float(p[:-1]), 180 - float(p[:-1])) for p in bevel.printed}) == 1
    for sheet in facts.figures:
        mine = [b for b in facts.marking.bevels if sheet.mark in b.parts]
        # of two figures of a part that print alike the later is the one that is set
        angles = {f.printed.strip("()"): f for f in sheet.figures if f.kind == "angular" and not f.said_by}
        for printed, f in angles.items():
            own = [b for b in mine if printed in b.printed]
            long = max(math.dist(f.points[0], p) for p in f.points[1:])
            offs = [abs(min(b.value, 180 - b.value) - min(f.value, 180 - f.value)) for b in own]
            assert not own or min(math.radians(off) * long for off in offs) <= 0.25 + 1e-9, (
                sheet.mark,
                printed,
            )


@given("garden-gate")
def test_a_mortise_and_its_tenon_are_gauged_by_one_setting(path: Path) -> None:
    pairs = [g for g in facts_of(path).marking.gauges if {"mortise", "tenon"} <= {s.kind for s in g.serves}]
    assert [(g.tool, g.printed, g.apart) for g in pairs] == [
        ("mortise gauge", "9", "9"),
        ("mortise gauge", "15", "15"),
    ]
    assert all({s.origin for s in g.serves} == {"face side"} for g in pairs)


@given("tool-tote")
def test_the_fingers_of_four_corners_are_carried_on_one_stick(path: Path) -> None:
    (stick,) = facts_of(path).marking.sticks
    assert stick.axis == "width"
    assert set(stick.uses) == {("A", "fingers"), ("B", "fingers")}
    values = [line.value for line in stick.lines]
    assert values == sorted(values)
    assert not any("fingers" in {s.kind for s in g.serves} for g in facts_of(path).marking.gauges)


@every_design
def test_every_joint_has_a_letter_of_its_own_that_no_part_has(path: Path) -> None:
    facts = facts_of(path)
    letters = [m.letter for m in facts.joint_marks]
    assert len(letters) == len(set(letters)) == len(facts.model.joints)
    assert not set(letters) & {m.mark for m in facts.model.members}
    for mark, joint in zip(facts.joint_marks, facts.model.joints, strict=True):
        assert (mark.joint, tuple(p.instance for p in mark.parts)) == (joint.name, joint.members)


@every_design
def test_the_other_part_lies_beyond_the_side_that_has_the_letter(path: Path) -> None:
    """Of butted parts: no corner of the other lies more than a hair behind that side where it meets it."""
    facts = facts_of(path)
    butts = [m for m in facts.joint_marks if m.kind == "butt"]
    for mark in butts:
        first, second = mark.parts
        for part, other in ((first, second), (second, first)):
            assert _beyond(facts, part, other)


def _beyond(facts: PlanFacts, part: MarkedPart, other: MarkedPart) -> bool:
    """Whether the middle of the other part lies farther out that way than the middle of this one."""
    member, instance = facts.model.instance(part.instance)
    others, placed = facts.model.instance(other.instance)
    axis, sign = OUT[part.side]
    points = [
        instance.frame.local_point(tuple(p)) for p in world_vertices(others.solid, placed.frame).tolist()
    ]
    near = [p for p in points if -1 < p[0] < member.finished[0] + 1] or points
    middle = math.fsum(p[axis] for p in near) / len(near)
    return bool((middle - member.finished[axis] / 2) * sign > 0)


@every_design
def test_the_sheets_of_marking_out_print_every_line_and_letter(path: Path) -> None:
    facts = facts_of(path)
    sheets = [s for s in sheets_of(path) if s.title.startswith("Marking out")]
    assert sheets
    words = " ".join(m.text for s in sheets for m in _all(s.marks) if isinstance(m, Lettering))
    for gang in facts.marking.gangs:
        for line in gang.lines:
            assert line.printed in words
    texts = {m.text for s in sheets for m in _all(s.marks) if isinstance(m, Lettering)}
    assert {m.letter for m in facts.joint_marks} <= texts
    heads = [t for t in texts if t.startswith("Stick ")]
    assert len(heads) == len(facts.marking.sticks)


def _all(marks: tuple[Mark, ...]) -> list[Mark]:
    return [m for mark in marks for m in (_all(mark.marks) if isinstance(mark, Group) else (mark,))]


def test_figures_over_a_stick_make_room_for_one_another_in_order() -> None:
    places, sizes = [10.0, 11.0, 12.0, 60.0, 99.0, 100.0], [6.0, 4.0, 6.0, 4.0, 6.0, 6.0]
    found = spread_out(places, sizes, 100.0)
    assert found is not None
    ends = [(m - s / 2, m + s / 2) for m, s in zip(found, sizes, strict=True)]
    assert ends[0][0] >= 0
    assert ends[-1][1] <= 100
    assert all(b[0] - a[1] >= 1 - 1e-9 for a, b in itertools.pairwise(ends))
    assert found[3] == 60.0
    assert spread_out(places, [20.0] * 6, 100.0) is None
