"""Bent bar: the figures of its flat, with the lines to bend on, and of its shape once it is bent.

The shape is a guide: a bar is formed on the work, or to a card of the finished shape.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeGuard

from plangen.dimensioning.figures import MemberFigures
from plangen.dimensioning.members import Stated, as_figures, dimension_member
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References, find_references
from plangen.dimensioning.workpiece import AXES, Spot, Workpiece
from plangen.geometry.surfaces import Cylinder, Form
from plangen.geometry.vectors import Point, along, unit
from plangen.joinery.flat import flat_of
from plangen.joinery.model import Member, Model
from plangen.units import UnitStyle, length_text

_LEAST = 1e-6


@dataclass(frozen=True)
class BentBar:
    """What the sheet of a bent bar states; how thick it is, the stock says."""

    flat: Member
    flat_figures: MemberFigures
    lines: tuple[tuple[Point, Point], ...]
    """The middle of each bend across the flat's face side, from end A on, in the flat's frame."""
    formed: Member
    formed_figures: MemberFigures


def dimension_bent(model: Model, style: UnitStyle) -> tuple[BentBar, ...]:
    """Every bent bar of the model, in its order."""
    return tuple(_bar(model, m, style) for m in model.members if m.bent is not None and m.quantity)


def _bar(model: Model, member: Member, style: UnitStyle) -> BentBar:
    flat = flat_of(member)
    figures = dimension_member(model, flat, style)
    refs = find_references(Workpiece(flat))
    layout = Layout(refs.work)
    bends = tuple(_bend_lines(member, refs, layout))
    lines = as_figures(refs, layout, [Stated(o, False) for o in bends], style)
    return BentBar(
        flat,
        replace(
            figures,
            views=("face",),
            figures=(*(f for f in figures.figures if f.view == "face"), *lines),
            notes=(*_notes(member, style), *figures.notes),
            datum=refs.corner,
        ),
        tuple((o.spots[1].point, along(o.spots[1].point, AXES[1], flat.finished[1])) for o in bends),
        member,
        _formed(member, style),
    )


def _bend_lines(member: Member, refs: References, layout: Layout) -> Iterator[Offer]:
    """The middle of each bend from end A, which way it is bent and how far."""
    assert member.bent is not None
    thick = member.bent.thickness
    on_face = () if refs.face is None else (refs.face,)
    on_end = on_face if refs.end is None else tuple(sorted((refs.end, *on_face)))
    start = Spot((0.0, 0.0, thick), on_end)
    for i, bend in enumerate(member.bent.bends, 1):
        way = "UP" if bend.angle > 0 else "DOWN"
        at = Spot(((bend.begins + bend.ends) / 2, 0.0, thick), on_face)
        offer = linear(layout, f"bend {i} from end A", start, at, AXES[0], ("face",))
        degrees = f"{round(abs(math.degrees(bend.angle)), 1):g}°"
        yield replace(
            offer, kind="linear", view="face", tier="position", suffix=f" {way} {degrees}", origin="formed"
        )  # fmt: skip


def _notes(member: Member, style: UnitStyle) -> Iterator[str]:
    assert member.bent is not None
    bent = member.bent
    yield "Bend lines: the middle of each bend. UP: toward the face side."
    taken = {}
    for bend in bent.bends:
        degrees = f"{round(abs(math.degrees(bend.angle)), 1):g}°"
        allowance = length_text(bend.ends - bend.begins, replace(style, step=style.step / 2))
        taken[degrees, length_text(bend.inside_radius, style)] = allowance
    for (degrees, radius), allowance in taken.items():
        yield (
            f"A bend of {degrees} to an inside radius of {radius} takes {allowance} of the flat "
            f"(K factor {bent.k_factor:g})."
        )
    yield "Make a test bend first, and move the bend lines by what it shows."


def _formed(member: Member, style: UnitStyle) -> MemberFigures:
    """The box of the shape, where the inner sides of its legs lie in it, and the inside radii."""
    work = Workpiece(member)
    refs, layout = find_references(work), Layout(work)
    stated = [Stated(replace(o, origin="formed"), False) for o in _shape(work, member, layout)]
    return MemberFigures(member.mark, ("face",), as_figures(refs, layout, stated, style), ())


def _shape(work: Workpiece, member: Member, layout: Layout) -> Iterator[Offer]:
    for axis, word in ((0, "length"), (1, "width")):
        low, high = (_extreme(work, axis, sign) for sign in (-1.0, 1.0))
        offer = linear(layout, f"overall {word}", low, high, AXES[axis], ("face",))
        yield replace(offer, kind="linear", view="face", tier="overall", suffix="")
        done = {round(s.point[axis], 4) for s in (low, high)}
        for spot in _inner_sides(work, axis):
            if round(spot.point[axis], 4) not in done:
                done.add(round(spot.point[axis], 4))
                place = linear(layout, f"inner side along {word}", low, spot, AXES[axis], ("face",))
                yield replace(place, kind="linear", view="face", tier="position", suffix="")
    yield from _inside_radii(work, member)


def _extreme(work: Workpiece, axis: int, sign: float) -> Spot:
    """The outermost corner that way, on the face side where there is one."""
    most = max(round(sign * s.point[axis], 5) for s in work.corners)
    return min(
        (s for s in work.corners if sign * s.point[axis] > most - 1e-4),
        key=lambda s: (-round(s.point[2], 5), round(s.point[1 - axis], 5)),
    )


def _inner_sides(work: Workpiece, axis: int) -> Iterator[Spot]:
    """A corner of each plane square to the axis that runs into the inside of a bend and looks to the middle of the
    shape, on the face side."""
    middle = work.member.finished[axis] / 2
    for form, surface in enumerate(work.forms):
        if not _is_inside(surface):
            continue
        for pair in sorted(work.smooth_pairs, key=sorted):
            for other in pair - {form} if form in pair else ():
                plane = work.plane(other)
                if plane is None or abs(plane.normal[axis]) < 1 - 1e-9:
                    continue
                spot = max(work.corners_on(form, other), key=lambda s: s.point[2])
                if (middle - spot.point[axis]) * plane.normal[axis] > 0:
                    yield spot


def _inside_radii(work: Workpiece, member: Member) -> Iterator[Offer]:
    """Each inside radius once, with how many bends have it."""
    inside = [(i, f) for i, f in enumerate(work.forms) if _is_inside(f)]
    for radius in sorted({round(f.radius, 6) for _, f in inside}):
        alike = [(i, f) for i, f in inside if abs(f.radius - radius) < _LEAST]
        form, round_ = alike[0]
        corners = [s.point for s in work.corners_on(form) if s.point[2] > member.finished[2] / 2]
        middle = tuple(sum(p[k] for p in corners) / len(corners) for k in range(3))
        centre: Point = (round_.point[0], round_.point[1], middle[2])
        out = unit((middle[0] - centre[0], middle[1] - centre[1], 0.0))
        on = along(centre, out, round_.radius)
        times = f"{len(alike)} x " if len(alike) > 1 else ""
        yield Offer(
            "inside radius", "radius", (Spot(centre, (form,)), Spot(on, (form,))), None, "face",
            prefix=f"{times}R", suffix=" INSIDE",
        )  # fmt: skip


def _is_inside(form: Form) -> TypeGuard[Cylinder]:
    """The inner side of a bend."""
    return isinstance(form, Cylinder) and form.side == "hole" and abs(form.axis[2]) > 1 - 1e-9
