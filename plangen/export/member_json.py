"""One member as plan.json has it: blank, surfaces, features with their cutters, figures, places.

``blank`` less the union of all cutters is the member, each cutter being the set of points on the outer side
of all its surfaces: a reader needs nothing else to rebuild it. A ``cone`` has the radius ``radius`` in the
plane square to its ``axis`` through ``point``, and ``slope`` more for each millimetre along the axis; it ends in
its tip, past which all is outside a ``post`` and wood of a ``hole``. ``bent`` is null but for flat bar bent to shape:
the flat that it is bent from, its developed length, its K factor, and of each bend from end A of the flat the angle
turned through in degrees and its way (``up`` is toward the flat's face side), the inside radius, and where on the
flat it begins and ends.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from plangen.dimensioning.figures import AssemblyFigure, Convention, ElevationFigure, Figure, MemberFigures
from plangen.dimensioning.references import find_references
from plangen.dimensioning.workpiece import Workpiece
from plangen.export.json_numbers import degrees, plain, plain_all, unit_all
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.solid import form_areas
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane, Surface
from plangen.geometry.vectors import Vec, add, sub
from plangen.joinery.model import Feature, Hole, Instance, Member
from plangen.joinery.stages import frame_shift

FACES = ("A", "B", "edge", "back edge", "back", "face")
"""Reserved ids of the six faces of the blank."""


def member_facts(
    member: Member,
    bench: Member,
    figures: MemberFigures | None,
    sheet: str | None,
    sheet_of_view: Mapping[str, str],
) -> dict[str, Any]:
    """The member when all is done, with the figures of its sheet, which are of the member as it leaves the
    ``bench``: what is cut on an assembly (stage ``glued`` or ``assembled``) is not there yet. All points are in the
    frame of the member when all is done.

    ``sheet`` is the number of the member's first sheet, None where it has none; ``sheet_of_view`` says
    which sheet shows each of its views."""
    length, width, thickness = member.finished
    stated_on = {i for f in figures.figures for ids in f.on for i in ids} if figures else set()
    stated_on |= {i for c in figures.conventions for i in c.surfaces} if figures else set()
    surfaces = all_surfaces(member, stated_on)
    shift = frame_shift(member, bench)
    return {
        "mark": member.mark,
        "name": member.name,
        "quantity": member.quantity,
        "role": member.role,
        "stock": member.stock.name,
        "species": member.stock.species,
        "grain": member.grain,
        "drawn": member.drawn,
        "line": member.place.line,
        "finished": {"length": plain(length), "width": plain(width), "thickness": plain(thickness)},
        "blank": _blank(member.blank),
        "length_origin": member.length_origin,
        "allowance": {"A": plain(member.allowance[0]), "B": plain(member.allowance[1])},
        "volume": plain(member.solid.volume),
        "area": plain(member.solid.area),
        "centroid": plain_all(member.solid.centroid),
        "mass": None if member.mass is None else plain(member.mass),
        "surfaces": [_surface(s, remains) for s, remains in surfaces],
        "references": reference_surfaces(bench),
        "features": [_feature(f) for f in member.features],
        "dimensions": [
            _dimension(_shifted(f, shift), sheet_of_view.get(f.view, sheet))
            for f in (figures.figures if figures else ())
        ],
        "conventions": [_convention(c) for c in figures.conventions] if figures else [],
        "drift": None if figures is None or figures.proof is None else plain(figures.proof.drift),
        "off": None if figures is None or figures.proof is None else plain(figures.proof.off),
        "views": list(figures.views) if figures else [],
        "bent": _bent(member),
        "sheet": sheet,
        "instances": [_instance(i) for i in member.instances],
        "notes": [*member.notes, *(figures.notes if figures else ())],
    }


def _bent(member: Member) -> dict[str, Any] | None:
    bent = member.bent
    if bent is None:
        return None
    return {
        "length": plain(bent.length),
        "width": plain(bent.width),
        "thickness": plain(bent.thickness),
        "k_factor": plain(bent.k_factor),
        "bends": [
            {
                "angle": degrees(abs(b.angle)),
                "way": "up" if b.angle > 0 else "down",
                "inside_radius": plain(b.inside_radius),
                "begins": plain(b.begins),
                "ends": plain(b.ends),
            }
            for b in bent.bends
        ],
    }


def _shifted(figure: Figure, by: Vec) -> Figure:
    return replace(figure, points=tuple(add(p, by) for p in figure.points)) if any(by) else figure


def all_surfaces(member: Member, also: Collection[str] = ()) -> tuple[tuple[Surface, bool], ...]:
    """Every surface that remains on the member, that a cutter names, or whose id is in ``also``, and whether it
    remains."""
    remaining = {s.id: s for s in member.surfaces}
    blank = {name: Surface(name, plane) for name, plane in member.blank.planes().items()}
    own = {s.id: s for f in member.features for s in f.surfaces}
    named = {i for f in member.features for cutter in f.cutters for i in cutter}
    known = {**blank, **own, **remaining}
    wanted = [i for i in known if i in remaining or i in named or i in also]
    areas = form_areas(member.solid, [known[i].form for i in wanted])
    return tuple((known[i], area > 0) for i, area in zip(wanted, areas, strict=True))


def reference_surfaces(member: Member) -> dict[str, str | None]:
    """Ids of the planes that stand for face side, face edge and end A; None where the member has none.

    The ones that the member's figures are measured from.
    """
    work = Workpiece(member)
    found = find_references(work)
    sides = {"face": found.face, "edge": found.edge, "end": found.end}
    return {side: None if form is None else work.name(form) for side, form in sides.items()}


def _blank(box: Box) -> dict[str, Any]:
    return {
        "length": plain(box.size[0]),
        "width": plain(box.size[1]),
        "thickness": plain(box.size[2]),
        "origin": plain_all(box.origin),
        "surfaces": {name: name for name in FACES},
    }


def _surface(surface: Surface, remains: bool) -> dict[str, Any]:
    """``remains`` is false for a surface that helps to make a cutter but carries no area afterwards."""
    return {
        "id": surface.id,
        "feature": surface.feature,
        "remains": remains,
        **form_facts(surface.form),
    }


def form_facts(form: Form) -> dict[str, Any]:
    match form:
        case Plane():
            return {"kind": "plane", "normal": unit_all(form.normal), "offset": plain(form.offset)}
        case Cylinder():
            return {
                "kind": "cylinder",
                "point": plain_all(form.point),
                "axis": unit_all(form.axis),
                "radius": plain(form.radius),
                "side": form.side,
            }
        case Cone():
            return {
                "kind": "cone",
                "point": plain_all(form.point),
                "axis": unit_all(form.axis),
                "radius": plain(form.radius),
                "slope": unit_all((form.slope,))[0],
                "side": form.side,
            }
        case Extruded():
            outline = [item for curve in form.outline for item in _outline(form, curve)]
            return {"kind": "extruded", "axis": unit_all(form.axis), "outline": outline}


def _outline(form: Extruded, curve: Curve) -> list[dict[str, Any]]:
    """A curve of an outline in member coordinates; a full circle as two halves, so that ends tell it."""

    def lifted(points: Sequence[Vec2]) -> list[list[float]]:
        return [plain_all(form.lift(*p)) for p in points]

    match curve:
        case Line():
            return [{"kind": "line", "points": lifted((curve.start, curve.end))}]
        case Arc():
            halves = [curve]
            if curve.is_full:
                middle = (curve.first + curve.last) / 2
                halves = [
                    Arc(curve.centre, curve.radius, curve.first, middle),
                    Arc(curve.centre, curve.radius, middle, curve.last),
                ]
            return [{"kind": "arc", "points": lifted((a.start, a.at(0.5), a.end))} for a in halves]
        case EllipseArc():
            centre = form.lift(*curve.centre)
            axes = [sub(form.lift(curve.centre[0] + a, curve.centre[1] + b), centre)
                    for a, b in (curve.major, curve.minor)]  # fmt: skip
            return [
                {
                    "kind": "ellipse",
                    "centre": plain_all(centre),
                    "half_axes": [plain_all(a) for a in axes],
                    "parameters": [degrees(curve.first), degrees(curve.last)],
                }
            ]
        case Bezier():
            return [{"kind": "bezier", "points": lifted(curve.points)}]


def _feature(feature: Feature) -> dict[str, Any]:
    return {
        "id": feature.id,
        "kind": feature.kind,
        "stage": feature.stage,
        "origin": feature.origin,
        "joint": feature.joint,
        "mate": feature.mate,
        "line": feature.place.line,
        "surfaces": [s.id for s in feature.surfaces],
        "cutters": [list(cutter) for cutter in feature.cutters],
        "hole": None if feature.hole is None else _hole(feature.hole),
        "note": feature.note,
    }


def _hole(hole: Hole) -> dict[str, Any]:
    return {
        "entry": plain_all(hole.entry),
        "entry_surface": hole.entry_surface,
        "axis": unit_all(hole.axis),
        "diameter": plain(hole.diameter),
        "depth": None if hole.depth is None else plain(hole.depth),
        "purpose": hole.purpose,
    }


def stated(figure: Figure | ElevationFigure | AssemblyFigure) -> dict[str, Any]:
    """What every figure says, of a member, of an elevation or of an assembly."""
    return {
        "id": figure.id,
        "view": figure.view,
        "kind": figure.kind,
        "value": plain(figure.value),
        "printed": figure.printed,
        "reference": figure.reference,
        "points": [plain_all(p) for p in figure.points],
        "direction": None if figure.direction is None else unit_all(figure.direction),
    }


def _dimension(figure: Figure, sheet: str | None) -> dict[str, Any]:
    return {
        **stated(figure),
        "origin": figure.origin,
        "held": figure.held,
        "off": plain(figure.off),
        "on": [list(ids) for ids in figure.on],
        "feature": figure.feature,
        "said_by": figure.said_by or None,
        "sheet": sheet,
    }


def _convention(convention: Convention) -> dict[str, Any]:
    return {"kind": convention.kind, "surfaces": list(convention.surfaces)}


def _instance(instance: Instance) -> dict[str, Any]:
    rows = [[*unit_all(row[:3]), plain(row[3])] for row in instance.frame.matrix()]
    return {"name": instance.name, "hand": instance.hand, "transform": rows}


def figures_by_mark(figures: Sequence[MemberFigures]) -> Mapping[str, MemberFigures]:
    return {f.mark: f for f in figures}
