"""Letters of the joints in tables: a row a joint, or a grid where rows of like parts cross rows of like parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

from plangen.dimensioning.assembly_marks import AssemblyMark, MarkedPart
from plangen.drawing.lettering import text_width
from plangen.drawing.member_views import view_words
from plangen.drawing.ruled_table import TITLE, Column, Table
from plangen.drawing.wording import capital
from plangen.joinery.model import Member

_NEAR = {"end A": "near end A", "middle": "in the middle", "end B": "near end B", "along": "all along"}
_COLUMNS = (
    Column("Letter", "middle"), Column("Joint", wraps=True), Column("One part", wraps=True),
    Column("The other part", wraps=True),
)  # fmt: skip
_FEWEST_IN_A_GRID = 8
_WIDEST_GRID = 10
"""Columns of letters."""
_LONGEST_TITLE = 160.0
"""Millimetres: on the smaller paper upright."""

Members: TypeAlias = dict[str, Member]


def letter_tables(marks: Sequence[AssemblyMark], members: Members) -> list[Table]:
    """Every joint once; grids first, then what is left, a row each."""
    groups: dict[tuple[object, ...], list[AssemblyMark]] = {}
    for mark in marks:
        sides = tuple((p.mark, p.side) for p in mark.parts)
        groups.setdefault((mark.kind, sides), []).append(mark)
    grids = [group for group in groups.values() if _is_grid(group)]
    alone = [m for m in marks if not any(m in grid for grid in grids)]
    tables = [_grid(group, members) for group in grids]
    if alone:
        rows = tuple((m.letter, m.kind, *(_marked(p, members) for p in m.parts)) for m in alone)
        tables.append(Table("Letters of the joints", _COLUMNS, rows))
    return tables


def _is_grid(group: Sequence[AssemblyMark]) -> bool:
    """Many joints, no two between the same parts, at least every second crossing taken."""
    rows, columns = (_names(m.parts[i] for m in group) for i in (0, 1))
    if len(group) < _FEWEST_IN_A_GRID or min(len(rows), len(columns)) > _WIDEST_GRID:
        return False
    pairs = {(m.parts[0].instance, m.parts[1].instance) for m in group}
    return len(pairs) == len(group) and 2 * len(group) >= len(rows) * len(columns)


def _names(parts: Iterable[MarkedPart]) -> list[str]:
    return list(dict.fromkeys(p.instance for p in parts))


def _grid(group: Sequence[AssemblyMark], members: Members) -> Table:
    """The fewer parts head the columns."""
    counts = [len(_names(m.parts[i] for m in group)) for i in (0, 1)]
    down, across = (0, 1) if counts[1] <= counts[0] else (1, 0)
    letters = {(m.parts[down].instance, m.parts[across].instance): m.letter for m in group}
    rows, columns = (_names(m.parts[i] for m in group) for i in (down, across))
    return Table(
        _title(group[0], (down, across), members),
        (Column("Part", wraps=True), *(Column(capital(name), "middle", wraps=True) for name in columns)),
        tuple((capital(row), *(letters.get((row, column), "") for column in columns)) for row in rows),
    )


def _title(mark: AssemblyMark, order: tuple[int, int], members: Members) -> str:
    """``Notch, B back edge to C back``; without the sides where that is too long to be continued."""
    parts = [mark.parts[i] for i in order]
    title = capital(f"{mark.kind}, {' to '.join(f'{p.mark} {_side(p, members)}' for p in parts)}")
    if text_width(f"{title} (continued)", TITLE) <= _LONGEST_TITLE:
        return title
    return capital(f"{mark.kind}, {' to '.join(p.mark for p in parts)}")


def _side(part: MarkedPart, members: Members) -> str:
    member = members[part.mark]
    return (
        "side" if member.is_round and part.side not in ("end A", "end B") else view_words(part.side, member)
    )


def _marked(part: MarkedPart, members: Members) -> str:
    """``B leg front left: back, near end A``; of a round part only where along it."""
    side = _side(part, members)
    if part.side not in ("end A", "end B"):
        near = _NEAR[part.near]
        side = near if members[part.mark].is_round else f"{side}, {near}"
    return f"{part.mark} {part.instance}: {side}"
