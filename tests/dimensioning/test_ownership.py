"""A size stands without parentheses on one sheet of the set only."""

from __future__ import annotations

import re

import numpy as np
import pytest
from worked_out import DESIGNS, facts_of, given

from plangen.dimensioning.ownership import sizes_by_part
from plangen.dimensioning.rounding import exact_style
from plangen.units import length_text


def stretch(points, way):
    """Where a size begins and ends along its direction, whichever way that is told."""
    way = np.array(way)
    way = way * (1 if way[np.abs(way) > 1e-6][0] > 0 else -1)
    return (*way.round(6), *sorted(np.round([float(way @ np.array(p)) for p in points[:2]], 3)))


def of_parts(facts):
    members = {m.mark: m for m in facts.bench.members}
    for sheet in facts.figures:
        for instance in members[sheet.mark].instances:
            for f in sheet.figures:
                if f.kind in ("linear", "depth") and not f.reference:
                    points = [instance.frame.point(p) for p in f.points]
                    yield stretch(points, instance.frame.direction(f.direction)), (sheet.mark, f)


@pytest.fixture(scope="module", params=DESIGNS, ids=lambda p: p.stem)
def facts(request):
    return facts_of(request.param)


def test_what_a_part_sheet_states_an_elevation_repeats_in_parentheses_and_as_printed_there(facts):
    parts = dict(of_parts(facts))
    for figure in facts.elevation_figures:
        if figure.direction is None:
            continue
        told = parts.get(stretch(figure.points, figure.direction))
        if told is not None:
            assert figure.reference, (figure.what, told[1].id)
            if " " not in told[1].printed.replace("/", "") and "'" not in figure.printed:
                assert figure.printed == f"({told[1].printed})", figure.what


def test_no_two_elevations_state_one_size(facts):
    plain = [f for f in facts.elevation_figures if f.direction is not None and not f.reference]
    assert len({stretch(f.points, f.direction) for f in plain}) == len(plain)


def test_what_an_elevation_alone_states_has_no_parentheses(facts):
    """Parentheses only where another sheet states it."""
    told = {at for at, _ in of_parts(facts)}
    sheets = [f for a in facts.assembly_figures for f in a.figures]
    told |= {stretch(f.points, f.direction) for f in sheets if f.kind == "linear"}
    for figure in facts.elevation_figures:
        if figure.direction is not None:
            at = stretch(figure.points, figure.direction)
            assert not figure.reference or at in told, figure.what
            told.add(at)


def test_an_assembly_states_of_a_part_only_what_is_cut_there_or_comes_of_it(facts):
    later = ("glued", "assembled")
    for assembly in facts.assembly_figures:
        for figure in assembly.figures:
            for member in facts.model.members:
                for instance in member.instances:
                    own = [f for f in member.features if figure.id.startswith(f"{instance.name} {f.id} ")]
                    if own:
                        assert any(f.stage in later for f in own), figure.id


def test_no_length_of_a_part_stands_on_its_own_sheet_and_on_the_assemblys(facts):
    lengths = {at for at, (_, f) in of_parts(facts) if f.id == "length"}
    for assembly in facts.assembly_figures:
        for figure in assembly.figures:
            if figure.direction is not None and not figure.reference:
                assert stretch(figure.points, figure.direction) not in lengths, figure.id


def of_one_size(sheet):
    """Surfaces that a sheet says to be alike or mirror images: what is figured of one holds of all."""
    alike = {}
    for c in sheet.conventions:
        group = (
            {*c.surfaces} if c.kind == "same as" else {*c.surfaces[:2]} if c.kind == "symmetric" else set()
        )
        group = group.union(*(alike.get(s, set()) for s in group))
        alike.update(dict.fromkeys(group, group))
    return alike


FOR_FASTENERS = ("clearance", "pilot", "bolt", "counterbore", "countersink", "spot-face")


def bored_as(size, style):
    """A drill's size as it is sold, never rounded to the step of the sheet."""
    return length_text(size, exact_style(size, style))


def test_the_drill_for_each_fastener_stands_on_the_sheet_of_the_work_it_is_used_on_and_on_no_other(facts):
    """Clearance, pilot, counterbore and countersink alike: on the part's sheet where the hole is bored at the bench or
    through its mate, on the assembly's where it is bored once that is together."""
    sheets = {f.mark: f for f in facts.figures}
    assemblies = [(a, f) for a in facts.assembly_figures for f in a.figures if f.kind == "diameter"]
    for member in facts.model.members:
        sheet = sheets.get(member.mark)
        alike = {} if sheet is None else of_one_size(sheet)
        for feature in member.features if sheet is not None else ():
            if feature.hole is None or feature.hole.purpose not in FOR_FASTENERS:
                continue
            walls = set().union(*(alike.get(s.id, {s.id}) for s in feature.surfaces))
            there = [
                f
                for f in sheet.figures
                if f.kind == "diameter" and not f.reference and walls & {i for on in f.on for i in on}
            ]
            text = f"Ø {bored_as(feature.hole.diameter, facts.style)}"
            if feature.stage in ("glued", "assembled"):
                assert not there, (member.name, feature.id)
                assert any(text in f.printed for _, f in assemblies), (member.name, feature.id)
                noted = [n for a in facts.assembly_figures for n in a.notes if "bore" in n]
                assert any(f"bore {text} in place" in n for n in noted), (member.name, noted)
            else:
                assert any(text in f.printed for f in there), (member.name, feature.id, text)
                own = [f.id for a, f in assemblies if f" {feature.id} " in f.id and member.name in f.id]
                assert not own, (member.name, own)


def test_a_note_counts_as_many_holes_as_are_bored_alike(facts):
    """``4 x Ø 7/64``: the holes of one view that the sheet calls alike; the mirrored half of a symmetric part is not
    counted again."""
    for member in facts.bench.members:
        sheet = next((f for f in facts.figures if f.mark == member.mark), None)
        for figure in () if sheet is None else sheet.figures:
            if figure.kind != "diameter" or figure.said_by or figure.feature is None:
                continue
            hole = next((f for f in member.features if f.id == figure.feature and f.hole), None)
            if hole is None or hole.kind not in ("hole", "peg hole", "dowel hole"):
                continue
            count = re.match(r"\(?(\d+) x ", figure.printed)
            same = [
                c.surfaces
                for c in sheet.conventions
                if c.kind == "same as" and hole.surfaces[0].id in c.surfaces
            ]
            expected = max((len(s) for s in same if len(set(s)) == len(s)), default=1)
            assert int(count[1] if count else 1) == expected, (member.name, figure.printed, same)


def test_a_part_of_the_other_hand_owns_the_same_sizes_where_it_stands(facts):
    """One sheet states both hands: each piece owns as many sizes, as long, and they lie mirrored."""
    owned = sizes_by_part(facts.bench, facts.figures)
    for member in facts.bench.members:
        hands = {i.hand: i for i in member.instances if i.name in owned}
        if {"left", "right"} <= set(hands):
            sizes = {h: sorted(owned[hands[h].name].values()) for h in ("left", "right")}
            assert sizes["left"] == sizes["right"], member.name
            spans = {h: sorted(b - a for _, a, b in owned[hands[h].name]) for h in ("left", "right")}
            assert spans["left"] == pytest.approx(spans["right"], abs=0.002), member.name
            determinants = [np.linalg.det(np.array(axes_of(hands[h].frame))) for h in ("left", "right")]
            assert determinants[0] * determinants[1] < 0, member.name


def axes_of(frame):
    return [frame.direction(e) for e in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))]


@given("flared-planter")
def test_holes_in_a_row_on_a_beveled_face_are_set_in_once(path):
    """Four pilot holes square to the sill's sloping face, all as far from its face edge: one figure places the row."""
    facts = facts_of(path)
    sill = next(m for m in facts.bench.members if m.name == "sill")
    holes = {f.id for f in sill.features if f.hole is not None and abs(f.hole.axis[1]) > 0.1}
    assert len(holes) == 4
    sheet = next(s for s in facts.figures if s.mark == sill.mark)
    across = [
        f for f in sheet.figures if f.feature in holes and f.direction == (0.0, 1.0, 0.0) and not f.said_by
    ]
    assert [f.value for f in across] == [pytest.approx(2.25 * 25.4)]
