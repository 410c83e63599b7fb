"""Letters of the joints: a grid where like parts cross like parts, else a row each; every joint once."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from worked_out import CRUEL, PROJECT, facts_of

from plangen.drawing.joint_letters import letter_tables
from plangen.drawing.ruled_table import Table

WITH_GRIDS = [p for p in CRUEL if p.stem in ("stretched", "tapering-trellis")]


def letters_of(tables: Iterable[Table], letters: set[str]) -> list[str]:
    return [cell for table in tables for row in table.rows for cell in row if cell in letters]


@pytest.mark.parametrize("path", [*PROJECT, *WITH_GRIDS], ids=lambda p: p.stem)
def test_every_joint_has_its_letter_in_one_place(path) -> None:
    facts = facts_of(path)
    tables = letter_tables(facts.joint_marks, {m.mark: m for m in facts.bench.members})
    letters = [m.letter for m in facts.joint_marks]
    assert sorted(letters_of(tables, set(letters))) == sorted(letters)


@pytest.mark.parametrize("path", WITH_GRIDS, ids=lambda p: p.stem)
def test_a_letter_in_a_grid_stands_where_its_two_parts_cross(path) -> None:
    facts = facts_of(path)
    parts = {m.letter: {p.instance for p in m.parts} for m in facts.joint_marks}
    grids = [
        t
        for t in letter_tables(facts.joint_marks, {m.mark: m for m in facts.bench.members})
        if t.title != "Letters of the joints"
    ]
    assert grids
    for grid in grids:
        for row in grid.rows:
            for column, letter in zip(grid.columns[1:], row[1:], strict=True):
                if letter:
                    assert {n.casefold() for n in parts[letter]} == {
                        row[0].casefold(),
                        column.heading.casefold(),
                    }
