"""Proof of a part sheet: do its figures and conventions fix the member, and how far could it drift?

Reads only what the sheet states.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plangen.dimensioning.conventions import recorded_rows, take_conventions
from plangen.dimensioning.drift import corner_shifts, farthest, moved_corner
from plangen.dimensioning.figures import Figure, MemberFigures, Proof
from plangen.dimensioning.freedom import RAISES_LAST, Freedom, Row
from plangen.dimensioning.references import find_references
from plangen.dimensioning.rounding import as_moved, half_step
from plangen.dimensioning.workpiece import Spot, Workpiece
from plangen.findings import Finding, error, warning
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane
from plangen.geometry.vectors import Point, cross, length, sub
from plangen.joinery.model import Member, Model
from plangen.units import UnitStyle, length_text_with_unit


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
    rows: list[Row] = []
    halves, offs = [], []
    for figure in (f for f in figures.figures if not f.reference):
        row = _row(freedom, work, figure)
        if not row.any():
            continue
        if freedom.take(row, RAISES_LAST):
            arm = length(sub(figure.points[1], figure.points[0]))
            given = figure.origin not in ("worked", "bought")
            rows.append(row)
            halves.append(0.0 if given else half_step(figure.kind, arm, style))
            offs.append(0.0 if given else as_moved(figure.kind, arm, figure.off))
        else:
            redundant.append(figure.id)
    shifts = corner_shifts(freedom, rows)
    (drifts, worst), (out, outermost) = farthest(np.abs(shifts), halves), farthest(shifts, offs)
    return Proof(
        tuple(dict.fromkeys(work.name(f) for f in freedom.free_forms())),
        tuple(redundant),
        drifts,
        out,
        _place(freedom, worst) if drifts else "",
        _place(freedom, outermost) if out else "",
    )


def _place(freedom: Freedom, row: int) -> str:
    """In words what the corner is of that a row of the corners' moves is of."""
    spot = moved_corner(freedom, row)
    cuts = [freedom.work.feature_of(f) for f in spot.forms if f not in freedom.work.outer]
    shapes = [freedom.work.feature_of(f) for f in spot.forms]
    own = next((f.kind for f in (*cuts, *shapes) if f is not None), None)
    return f"a corner of the {own}" if own is not None else "a corner"


def sheet_findings(model: Model, sheets: Sequence[MemberFigures]) -> Iterator[Finding]:
    """An error for each sheet from which its member does not follow, or on which something stands twice."""
    proven = {s.mark: s.proof for s in sheets}
    for member in model.members:
        proof = proven.get(member.mark)
        if proof is None:
            continue
        if proof.undetermined and not is_left_to_the_work(member, proof):
            text = f"{member.name}: its sheet leaves open where these surfaces are: {', '.join(proof.undetermined)}"
            yield error(member.place, "sheet incomplete", text, member.name)
        if proof.redundant:
            text = (
                f"{member.name}: these figures of its sheet follow from others: {', '.join(proof.redundant)}"
            )
            yield error(member.place, "figured twice", text, member.name)


def rounding_findings(model: Model, sheets: Sequence[MemberFigures], style: UnitStyle) -> Iterator[Finding]:
    """A warning for each part that, made to its printed figures, comes out more than one step off at a corner."""
    proven = {s.mark: s.proof for s in sheets}
    for member in model.members:
        proof = proven.get(member.mark)
        if proof is not None and proof.off > float(style.step) + 1e-6:
            far, step = (length_text_with_unit(mm, style) for mm in (proof.off, style.step))
            yield warning(
                member.place, "rounding",
                f"{member.name}: cut to its printed figures, {proof.off_at} comes out {far} off, more than the {step} "
                "that sizes are printed to; print them finer (drawing: sizes)", member.name,
            )  # fmt: skip


def is_left_to_the_work(member: Member, proof: Proof) -> bool:
    """How far one end of a round member leans round from the other is left to the work, where the ends are cut."""
    return member.is_round and len(proof.undetermined) <= 1


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
