"""The grammar of the set-up sheets: whatever a set-up says in numbers comes back out of its words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from setup_compared import BLANK, differences
from setup_text import Reader, read_text

from plangen.drawing.setup_names import Names, runs_text
from plangen.drawing.setup_words import (
    cut_fields,
    cut_title,
    differing,
    like_title,
    other_scales,
    setting_fields,
    setting_title,
)
from plangen.export.machining_json import setup_facts
from plangen.geometry.surfaces import Box
from plangen.machining.setup import Machine, Operation, Setting, Setup, Stop, Tilt, Tool
from plangen.units import STYLES, LengthUnit, UnitStyle

FACES = tuple(BLANK)
lengths = st.floats(-50.0, 900.0, allow_nan=False)
sizes = st.floats(0.5, 300.0)
angles = st.floats(-1.2, 1.2)
points = st.tuples(lengths, sizes, sizes)
machines = st.sampled_from(("mitre saw", "table saw", "trenching head", "router", "bandsaw", "drill press"))


BOARD = Box((-12.5, 0.0, 3.0), (900.0, 90.0, 40.0))


@st.composite
def cuts(draw: st.DrawFn, index: int = 1) -> Setup:
    machine: Machine = draw(machines)
    fed = machine in ("table saw", "trenching head", "router", "bandsaw") and draw(st.booleans())
    if fed:
        miter = draw(st.sampled_from((math.pi / 2, -math.pi / 2))) + draw(st.sampled_from((0.0, 0.05, -0.3)))
    else:
        miter = draw(st.one_of(st.just(0.0), st.floats(-0.77, 0.77)))
    deep = draw(st.booleans())
    operation: Operation = "bore" if machine == "drill press" else "trench" if deep else "crosscut"
    least = draw(sizes)
    down, against, start = draw(st.permutations(FACES))[:3]
    makes = ("s 1", "s 2", "s 3")[: 3 if operation == "trench" else 2 if deep else 1]
    stop = draw(st.one_of(st.none(), stops(down, against, start)))
    if operation == "trench":
        stop = Stop("A", (down, against), draw(lengths), start, (0.0, 0.0, 0.0), None, "near")
    maybe = st.one_of(st.none(), sizes)
    return Setup(
        member="B",
        feature="half lap 1",
        stage=draw(st.sampled_from(("shaped", "glued", "on the work"))),
        operation=operation,
        machine=machine,
        index=index,
        sequence=index,
        makes=makes,
        frees=(makes,),
        tool=Tool(
            "blade", draw(sizes), draw(sizes), draw(st.one_of(st.none(), st.floats(0.1, 1.0))), draw(maybe)
        ),
        surface_down=down,
        surface_against=against,
        end_left=draw(st.sampled_from(("A", "B", None))),
        miter=miter,
        bevel=draw(st.one_of(st.just(0.0), angles)),
        tilt=draw(st.one_of(st.none(), st.builds(Tilt, st.floats(0.01, 0.5), st.floats(-3.0, 3.0)))),
        stop=stop,
        fence=draw(maybe),
        waste=draw(st.sampled_from(("left", "right", "between"))),
        width=draw(maybe),
        depth=(least, least + draw(sizes)) if deep else None,
        depth_from=start if deep else None,
        depth_at=((draw(points), least),) if deep else (),
        run=draw(st.one_of(st.none(), st.tuples(points, points))),
        path=(draw(points),) if operation == "bore" else (),
        residue=draw(st.floats(-2.0, 2.0)),
        passes=draw(st.integers(1, 4)),
        hand=draw(st.sampled_from(("left", "right", None))),
        quantity=draw(st.integers(1, 9)),
        cautions=draw(st.sampled_from(((), ("Left free: it falls.",)))),
    )


def stops(down: str, against: str, start: str) -> st.SearchStrategy[Stop]:
    point, wall = st.sampled_from(("long", "short", None)), st.sampled_from(("near", "far", None))
    return st.builds(
        Stop, st.just("A"), st.just((down, against)), lengths, st.just(start), points, point, wall
    )


def setting_of(cut: Setup, **changes: float) -> Setting:
    setting = Setting(1, cut.machine, cut.tool, cut.miter, cut.bevel, cut.tilt, "wedge 1", (cut.index,), 0.3)
    return replace(setting, **changes)


def words_of(entries: list[tuple[str, list[tuple[str, str]]]]) -> str:
    return " ".join(
        f"{title} {' '.join(f'{label}: {text}.' for label, text in fields)}" for title, fields in entries
    )


def heading(setting: Setting, style: UnitStyle) -> tuple[str, list[tuple[str, str]]]:
    return setting_title(setting), [*setting_fields(setting, style), *other_scales(setting, style)]


def fields_of(cut: Setup, setting: Setting, style: UnitStyle, all_cuts: list[Setup]) -> list[tuple[str, str]]:
    return cut_fields(cut, setting, None, Names(all_cuts), BOARD.origin, "as drawn", style)


def wrong(cut: Setup, words: str, style: UnitStyle) -> list[str]:
    reader = Reader(read_text(words), 25.4 if style.length == "in" else 1.0)
    record = setup_facts(cut, BOARD.origin, style)
    return differences(record, reader.cut(cut.index), lambda s: BLANK.get(s, s))


@given(cut=cuts(), unit=st.sampled_from(("in", "mm")))
@settings(max_examples=60, deadline=None)
def test_a_cut_s_words_say_each_of_its_printed_numbers(cut: Setup, unit: LengthUnit) -> None:
    style = STYLES[unit]
    setting = setting_of(cut)
    words = words_of(
        [heading(setting, style), (cut_title(cut, "front leg"), fields_of(cut, setting, style, [cut]))]
    )
    assert wrong(cut, words, style) == []


@given(cut=cuts(), other=cuts(2), unit=st.sampled_from(("in", "mm")))
@settings(max_examples=40, deadline=None)
def test_a_cut_told_by_what_differs_says_as_much(cut: Setup, other: Setup, unit: LengthUnit) -> None:
    style = STYLES[unit]
    setting = setting_of(cut)
    other = replace(
        other, machine=cut.machine, tool=cut.tool, operation=cut.operation, makes=cut.makes, frees=cut.frees,
        hand="left" if cut.hand == "right" else "right",
    )  # fmt: skip
    alike = [cut, other]
    base = fields_of(cut, setting, style, alike)
    rest = differing(fields_of(other, setting, style, alike), base)
    words = words_of(
        [
            heading(setting, style),
            (cut_title(cut, "leg"), base),
            (like_title(other, cut, "leg") + (", but" if rest else "."), rest),
        ]
    )
    # what the other's own miter says of where the operator stands has to be the setting's
    if _fed(other) == _fed(cut):
        assert wrong(other, words, style) == []


def _fed(cut: Setup) -> bool:
    return cut.machine not in ("mitre saw", "drill press") and abs(math.cos(cut.miter)) < math.sqrt(0.5)


def test_a_cut_whose_angles_are_not_the_setting_s_says_its_own() -> None:
    cut = Setup(
        "B", "end 1", "shaped", "crosscut", "mitre saw", ("s 1",), (("s 1",),), tool=Tool("blade", 2.6, 254.0),
        surface_down="back", surface_against="edge", end_left="A", waste="left", index=3,
        miter=math.radians(4.9), bevel=math.radians(-2.0),
    )  # fmt: skip
    setting = setting_of(cut, miter=math.radians(5.0))
    style = STYLES["mm"]
    fields = fields_of(cut, setting, style, [cut])
    assert ("Exactly", "swing handle 4.9° right; tilt 2° left") in fields
    words = words_of([heading(setting, style), (cut_title(cut, "leg"), fields)])
    assert wrong(cut, words, style) == []


def test_the_scale_that_reads_90_and_the_supplement_stand_beside_the_swing() -> None:
    setting = Setting(1, "mitre saw", None, math.radians(-9.7), math.radians(14.0), None, None, ())
    style = STYLES["mm"]
    assert dict(setting_fields(setting, style)) == {"Swing": "handle 9.7° left", "Tilt": "14° right"}
    (field,) = other_scales(setting, style)
    assert field == ("Scale that reads 90", "swing 80.3°, supplement 99.7°, corner of two 160.6°; tilt 76°")


@pytest.mark.parametrize(
    ("machine", "miter", "bevel", "swing", "tilt"),
    [
        ("mitre saw", 10.0, 5.0, ("Swing", "handle 10° right"), "5° right"),
        # behind a gauge the operator looks the other way: what leans right of one who faces the fence leans left
        ("table saw", 10.0, 5.0, ("Swing", "gauge's left end 10° forward"), "5° left"),
        ("table saw", 90.0, 5.0, ("Along", "the fence"), "5° toward the fence"),
        ("table saw", -90.0, 5.0, ("Along", "the fence"), "5° away from the fence"),
        ("table saw", 87.0, 5.0, ("Taper", "3°, nearer the fence ahead"), "5° toward the fence"),
    ],
)
def test_angles_are_told_as_the_operator_sees_them(
    machine: Machine, miter: float, bevel: float, swing: tuple[str, str], tilt: str
) -> None:
    setting = Setting(1, machine, None, math.radians(miter), math.radians(bevel), None, None, ())
    assert setting_fields(setting, STYLES["mm"]) == [swing, ("Tilt", tilt)]


def test_numbers_of_cuts_run_together() -> None:
    assert runs_text([3, 4, 5, 9, 11, 12]) == "3 to 5, 9, 11, 12"
