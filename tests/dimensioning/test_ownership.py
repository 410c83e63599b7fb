"""A size stands without parentheses on one sheet of the set only."""

from __future__ import annotations

import numpy as np
import pytest
from worked_out import DESIGNS, facts_of


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
