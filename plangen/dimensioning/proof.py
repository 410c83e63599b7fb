"""Proof of a part sheet: do its figures and conventions fix the member, and how far could it drift?

Reads only what the sheet states.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.dimensioning.conventions import recorded_rows, take_conventions
from plangen.dimensioning.figures import Figure, MemberFigures
from plangen.dimensioning.freedom import RAISES_LAST, Freedom, Row
from plangen.dimensioning.references import find_references
from plangen.dimensioning.rounding import half_step
from plangen.dimensioning.workpiece import Spot, Workpiece
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane
from plangen.geometry.vectors import Point, cross, length, sub
from plangen.joinery.model import Member
from plangen.units import UnitStyle


@dataclass(frozen=True)
class Proof:
    """What the figures without parentheses, with the conventions, make of a member."""

    undetermined: tuple[str, ...]
    """Ids of surfaces left open; empty where the sheet is complete."""
    redundant: tuple[str, ...]
    """Ids of figures that follow from those before them, and stand without parentheses all the same."""
    drift: float
    """Millimetres: the farthest a corner can move along an axis when every printed figure is off by half its
    step. Of a sheet that is not complete, of what it fixes."""


def prove(member: Member, figures: MemberFigures, style: UnitStyle) -> Proof:
    """The proof of one sheet. An equation counts down to a ten-thousandth of its row."""
    work = Workpiece(member)
    refs = find_references(work)
    freedom = Freedom(work)
    refs.gauge(freedom)
    take_conventions(freedom, refs, ())
    for row in recorded_rows(freedom, refs, figures.conventions):
        freedom.take(row, RAISES_LAST)
    redundant = []
    kept: list[tuple[Row, float]] = []
    for figure in (f for f in figures.figures if not f.reference):
        row = _row(freedom, work, figure)
        if not row.any():
            continue
        if freedom.take(row, RAISES_LAST):
            arm = length(sub(figure.points[1], figure.points[0]))
            kept.append((row, half_step(figure.kind, arm, style)))
        else:
            redundant.append(figure.id)
    return Proof(
        tuple(dict.fromkeys(work.name(f) for f in freedom.free_forms())),
        tuple(redundant),
        freedom.drift(kept),
    )


def undetermined(member: Member, figures: MemberFigures, style: UnitStyle) -> tuple[str, ...]:
    """Ids of surfaces that the sheet leaves open; empty where it is complete."""
    return prove(member, figures, style).undetermined


def _row(freedom: Freedom, work: Workpiece, figure: Figure) -> Row:
    spots = tuple(spot_of(work, p, ids) for p, ids in zip(figure.points, figure.on, strict=True))
    return freedom.figure_row(figure.kind, spots, figure.direction, figure.view)


def spot_of(work: Workpiece, p: Point, ids: tuple[str, ...]) -> Spot:
    """A figure's point with the forms it is said to lie on; of an outline's pieces those it lies on."""
    forms: list[int] = []
    for i in ids:
        alone = len(work.forms_named(i)) == 1
        for f in work.forms_named(i):
            form = work.forms[f]
            if alone or (not isinstance(form, Extruded) and _passes(form, p)):
                forms.append(f)
    return Spot(p, tuple(sorted(set(forms))))


def _passes(form: Plane | Cylinder | Cone, p: Point) -> bool:
    """The form, or a round one's axis, passes through a point."""
    if abs(form.distance(p)) < 1e-5:
        return True
    return not isinstance(form, Plane) and length(cross(sub(p, form.point), form.axis)) < 1e-5
