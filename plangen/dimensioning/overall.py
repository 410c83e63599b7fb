"""Finished sizes as the part sheets state them, so that lists print the same size of the same thing."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.dimensioning.figures import Figure, MemberFigures
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Member, Model

_SAME = 1e-6


def finished_as_stated(model: Model, sheets: Sequence[MemberFigures]) -> dict[str, Vec]:
    """Length, width, thickness of each member by its mark, millimetres: what its sheet prints between the outermost
    points, in parentheses or not; the true size where no figure spans it."""
    members = {member.mark: member for member in model.members}
    return {sheet.mark: _as_stated(members[sheet.mark], sheet.figures) for sheet in sheets}


def _as_stated(member: Member, figures: Sequence[Figure]) -> Vec:
    length, width, thickness = (
        next((f.value + f.off for f in figures if _spans(f, axis, size)), size)
        for axis, size in enumerate(member.finished)
    )
    return (length, width, thickness)


def _spans(figure: Figure, axis: int, size: float) -> bool:
    along = figure.direction
    return (
        figure.kind == "linear"
        and along is not None
        and abs(along[axis]) > 1 - 1e-9
        and abs(figure.value - size) < _SAME
    )
