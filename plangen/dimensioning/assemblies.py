"""The figures of each assembly on which something is cut once it is together.

What is cut for its own sake (a rebate, a trim) is figured from what its maker sets: width, depth, angle, size over
all. What a joint or fastener asks for is figured as on the sheet of the member: of all figures that member has
when it is done, those stand here that do not stand on its own sheet.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, TypeAlias

import numpy as np

from plangen.dimensioning.figures import (
    SIGHT_OF,
    AssemblyFigure,
    AssemblyFigures,
    AssemblyView,
    Figure,
    MemberFigures,
)
from plangen.dimensioning.members import dimension_member
from plangen.dimensioning.ownership import Stretch, sizes_by_part, stretch
from plangen.dimensioning.rounding import exact_style
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, angle_between, cross, dot, neg, scale, sub, unit
from plangen.joinery.model import Assembly, AssemblyFeature, Instance, Member, Model
from plangen.joinery.stages import is_cut_later, member_with
from plangen.units import UnitStyle, angle_text, length_text

_FLUSH = 1e-5
"""Millimetres."""
_SQUARE = 1e-6
"""Radians, or sines of small angles."""
UP: Vec = (0.0, 0.0, 1.0)


def dimension_assemblies(
    model: Model, bench: Model, figures: Sequence[MemberFigures], style: UnitStyle
) -> tuple[AssemblyFigures, ...]:
    """The figures of every assembly with something cut on it, in the model's order.

    ``figures`` are those of the members' own sheets, as they leave the ``bench``.
    """
    own = {f.mark: f for f in figures}
    told = sizes_by_part(bench, figures)
    return tuple(_Sheet(model, a, own, told, style).stated() for a in model.assemblies if a.features)


def assembled_members(model: Model, assembly: Assembly) -> list[tuple[Member, Instance]]:
    """The assembly's members where they stand, with all that is cut on this assembly and on no other."""
    cut = set(assembly.features)
    found = []
    for member in model.members:
        places = [i.name for i in member.instances if i.name in assembly.members]
        if places:
            left = {f.id for f in member.features if is_cut_later(f) and (member.mark, f.id) not in cut}
            here = _without(member, left)
            found += [(here, i) for i in here.instances if i.name in places]
    return found


def _without(member: Member, features: Collection[str]) -> Member:
    return member_with(member, lambda f: f.id not in features)


@dataclass(frozen=True)
class _Pose:
    """How the assembly is looked at."""

    right: Vec
    up: Vec
    toward: Vec

    def eye(self, view: AssemblyView) -> Vec:
        return {"face on": self.toward, "upper edge": self.up, "right edge": self.right}[view]

    def paper(self, view: AssemblyView) -> tuple[Vec, Vec]:
        """Right and up on paper."""
        if view == "face on":
            return self.right, self.up
        return (self.right, neg(self.toward)) if view == "upper edge" else (neg(self.toward), self.up)


Side: TypeAlias = Literal["below", "above", "left", "right", "in place"]
VIEWS: tuple[AssemblyView, ...] = ("face on", "upper edge", "right edge")


def _pose(standing: Sequence[tuple[Member, Instance]], cuts: Sequence[AssemblyFeature]) -> _Pose:
    """Face on is square to the faces that carry most area, from the side that rebates are sunk from; its right is
    level."""
    areas: list[tuple[Vec, float]] = []
    for member, instance in standing:
        for face in member.solid.faces:
            form = member.solid.forms[face.surface]
            if not isinstance(form, Plane):
                continue
            normal = instance.frame.direction(form.normal)
            for i, (known, area) in enumerate(areas):
                if abs(abs(dot(known, normal)) - 1) < _SQUARE:
                    areas[i] = (known, area + face.area)
                    break
            else:
                areas.append((normal, face.area))
    best = max(areas, key=lambda a: round(a[1], 3), default=(UP, 0.0))[0]
    sunk = [c.plane.normal for c in cuts if c.kind == "rebate" and abs(dot(c.plane.normal, best)) > 0.5]
    looks = (
        (round(dot(sunk[0], best), 6), 0.0, 0.0) if sunk else (round(best[2], 6), round(-best[1], 6), best[0])
    )
    toward = best if next((x for x in looks if abs(x) > 1e-3), 1.0) > 0 else neg(best)
    level = cross(UP, toward)
    right = unit(level) if dot(level, level) > 1e-9 else (1.0, 0.0, 0.0)
    up = cross(toward, right)
    return _Pose(right, up, toward)


class _Sheet:
    """One assembly being dimensioned."""

    def __init__(
        self,
        model: Model,
        assembly: Assembly,
        own: dict[str, MemberFigures],
        told: dict[str, dict[Stretch, Fraction]],
        style: UnitStyle,
    ) -> None:
        self.model, self.assembly, self.own, self.told, self.style = model, assembly, own, told, style
        self.standing = assembled_members(model, assembly)
        self.pose = _pose(self.standing, assembly.cuts)
        self.points = {
            i.name: [i.frame.point((x, y, z)) for x, y, z in np.asarray(m.solid.vertices, float).tolist()]
            for m, i in self.standing
        }
        self.notes: list[str] = []

    def stated(self) -> AssemblyFigures:
        found: list[AssemblyFigure] = []
        for n, cut in enumerate(self.assembly.cuts, 1):
            name = f"{cut.kind} {n}"
            found += self._rebate(cut, name) if cut.kind == "rebate" else self._trim(cut, name)
        found += self._asked_for()
        pose = self.pose
        return AssemblyFigures(
            self.assembly.name, pose.right, pose.up, pose.toward, tuple(_told_apart(found)),
            tuple(dict.fromkeys(self.notes)),
        )  # fmt: skip

    # --- cut for its own sake ---

    def _rebate(self, cut: AssemblyFeature, name: str) -> Iterator[AssemblyFigure]:
        """Its width once, from the arris it runs along, and a note of its depth on its floor."""
        width, depth = (length_text(s, self.style) for s in (cut.width, cut.depth))
        where = "round the opening" if cut.opens else "round the outside"
        if len(cut.arrises) == 1:
            where = "along one face"
        words = f"Rebate {where}, {width} wide, {depth} deep"
        if cut.corners:
            words += f", corners R{length_text(cut.corners, self.style)} as the cutter leaves them"
        words += f". {_first_up(cut.note)}." if cut.note else "."
        self.notes.append(f"Once {cut.stage}: {words[0].lower()}{words[1:]}")
        view = self._looking_along(cut.plane.normal)
        if view is None:
            return
        ordered = sorted(cut.arrises, key=lambda a: self._crookedness(a[1], view))
        start, way = ordered[0]
        yield self._linear(
            f"{name} width", view, (start, along(start, way, cut.width)), way, cut.width, "size"
        )
        at, inward = ordered[-1]
        floor = along(along(at, inward, cut.width / 2), cut.plane.normal, -cut.depth)
        top = along(floor, cut.plane.normal, cut.depth)
        text = f"REBATE {depth} DEEP"
        if cut.corners:
            text += f", CORNERS R{length_text(cut.corners, self.style)}"
        yield AssemblyFigure(
            f"{name} depth", view, "depth", cut.depth, text, False, (top, floor), neg(cut.plane.normal),
            f"{name}, depth", "size", "in place",
        )  # fmt: skip

    def _trim(self, cut: AssemblyFeature, name: str) -> Iterator[AssemblyFigure]:
        """Its angle in the view that shows it edge on, and the size over it."""
        on = [p for i in cut.members for p in self.points.get(i, ()) if abs(cut.plane.distance(p)) < _FLUSH]
        view = next((v for v in VIEWS if abs(dot(self.pose.eye(v), cut.plane.normal)) < _SQUARE), None)
        lean = math.degrees(angle_between(cut.plane.normal, self.pose.toward))
        off = angle_text(abs(90 - lean), self.style)
        note = f" {_first_up(cut.note)}." if cut.note else ""
        if view is None or not on:
            out = f"{off} out of square to the face" if abs(90 - lean) > 1e-6 else "square to the face"
            self.notes.append(f"Once {cut.stage}: trim {out}, along the line shown.{note}")
            return
        right, up = self.pose.paper(view)
        square = max((right, up), key=lambda a: round(abs(dot(a, cut.plane.normal)), 9))
        square = square if dot(square, cut.plane.normal) > 0 else neg(square)
        run = up if abs(dot(square, right)) > 0.5 else right
        far = max(on, key=lambda p: (round(dot(square, p), 4), round(dot(self.pose.toward, p), 4), *_rank(p)))
        near = max(on, key=lambda p: (round(abs(dot(run, sub(p, far))), 4), *_rank(p)))
        turned = math.degrees(math.asin(min(1.0, abs(dot(run, cut.plane.normal)))))
        if turned > 1e-6:
            square_to = sub(near, scale(square, dot(square, sub(near, far))))
            yield AssemblyFigure(
                f"{name} angle", view, "angular", turned, angle_text(turned, self.style), False,
                (far, near, square_to), None, f"{name}, out of square", "size", "in place",
            )  # fmt: skip
        every = [p for points in self.points.values() for p in points]
        other = min(every, key=lambda p: (round(dot(square, p), 4), *_rank(p)))
        value = dot(square, sub(far, other))
        yield self._linear(f"{name} over all", view, (other, far), square, value, "overall")
        words = f"{angle_text(turned, self.style)} out of square" if turned > 1e-6 else "square"
        self.notes.append(f"Once {cut.stage}: trim {words}, {length_text(value, self.style)} over all.{note}")

    # --- asked for by joints and fasteners ---

    def _asked_for(self) -> Iterator[AssemblyFigure]:
        """Of each member the figures that its own sheet does not have; of holes on one axis only the first."""
        told: set[tuple[object, ...]] = set()
        bored: list[tuple[Point, Vec]] = []
        self._name_what_is_asked_for()
        for member, places in self._by_member():
            later = [f for f in member.features if is_cut_later(f) and f.assembly is None]
            if not later:
                continue
            whole = _without(member, {f.id for f in member.features if f.assembly is not None})
            frames = [i.frame for i in whole.instances if i.name in {p.name for p in places}]
            place = next(i for i in whole.instances if i.name == places[0].name)
            holes = [(f, f.hole) for f in whole.features if f.hole is not None and is_cut_later(f)]
            axes = {f.id: [(w.point(h.entry), w.direction(h.axis)) for w in frames] for f, h in holes}
            again = {f for f, lines in axes.items() if any(_on_one_line(a, b) for a in lines for b in bored)}
            bored += [line for lines in axes.values() for line in lines]
            known = {(f.id, f.printed) for f in self._own_figures(member.mark)}
            for figure in dimension_member(self.model, whole, self.style).figures:
                if figure.reference or figure.said_by or (figure.id, figure.printed) in known:
                    continue
                if figure.feature not in {None, *(f.id for f in later)} or self._is_told(figure, place):
                    continue
                key = (figure.view, figure.kind, figure.feature and _kind(figure.feature), figure.printed)
                if figure.feature in again or (figure.tier == "size" and key in told):
                    continue
                told.add(key)
                yield from self._moved(self._counted(figure, whole), place, member)

    def _is_told(self, figure: Figure, place: Instance) -> bool:
        """A size of the member's own that its sheet states."""
        if figure.feature is not None or figure.direction is None:
            return False
        points = [place.frame.point(p) for p in figure.points]
        return stretch(points, place.frame.direction(figure.direction)) in self.told[place.name]

    def _by_member(self) -> list[tuple[Member, list[Instance]]]:
        found: dict[str, tuple[Member, list[Instance]]] = {}
        for member, instance in self.standing:
            found.setdefault(member.mark, (member, []))[1].append(instance)
        return list(found.values())

    def _name_what_is_asked_for(self) -> None:
        """A line for each joint or trim, and for all like holes of one fastener's entry, with the members it cuts."""
        lines: dict[tuple[str, str], list[str]] = {}
        for member, places in self._by_member():
            for feature in member.features:
                if not is_cut_later(feature) or feature.assembly is not None:
                    continue
                what = f"{feature.kind} on"
                if feature.hole is not None:
                    size = feature.hole.diameter
                    what = f"bore Ø {length_text(size, exact_style(size, self.style))} in place, in"
                names = lines.setdefault((feature.stage, what), [])
                names += [i.name for i in places if i.name not in names]
        for (stage, what), names in lines.items():
            self.notes.append(f"Once {stage}: {what} {_listed(names)}.")

    def _counted(self, figure: Figure, whole: Member) -> Figure:
        """A hole's note with the number of like holes in all the assembly."""
        if figure.kind != "diameter" or " x " in figure.printed.partition("Ø")[0]:
            return figure
        hole = next((f for f in whole.features if f.id == figure.feature and f.hole is not None), None)
        if hole is None or hole.hole is None:
            return figure
        lines: list[tuple[Point, Vec]] = []
        for member, places in self._by_member():
            for other in (f.hole for f in member.features if f.hole is not None and f.joint == hole.joint):
                if abs(other.diameter - hole.hole.diameter) > _FLUSH:
                    continue
                for place in places:
                    line = (place.frame.point(other.entry), place.frame.direction(other.axis))
                    if not any(_on_one_line(line, known) for known in lines):
                        lines.append(line)
        return replace(figure, printed=f"{len(lines)} x {figure.printed}") if len(lines) > 1 else figure

    def _own_figures(self, mark: str) -> tuple[Figure, ...]:
        return self.own[mark].figures if mark in self.own else ()

    def _moved(self, figure: Figure, place: Instance, member: Member) -> Iterator[AssemblyFigure]:
        """A member's figure in the view of the assembly that shows it true; in words where none does."""
        eye = neg(place.frame.direction(SIGHT_OF[figure.view]))
        direction = None if figure.direction is None else place.frame.direction(figure.direction)
        view = self._looking_along(eye)
        if view is None and direction is not None and figure.kind in ("linear", "depth"):
            view = next((v for v in VIEWS if abs(dot(self.pose.eye(v), direction)) < _SQUARE), None)
        if view is None:
            self.notes.append(f"{_first_up(member.name)}, {figure.id}: {figure.printed}.")
            return
        points = tuple(place.frame.point(p) for p in figure.points)
        tier = figure.tier
        yield AssemblyFigure(
            f"{place.name} {figure.id}", view, figure.kind, figure.value, figure.printed, figure.reference,
            points, direction, f"{place.name}, {figure.id}", tier, self._side(view, points, direction),
        )  # fmt: skip

    # --- views ---

    def _looking_along(self, normal: Vec) -> AssemblyView | None:
        """The view square to a direction, from either side."""
        return next((v for v in VIEWS if abs(abs(dot(self.pose.eye(v), normal)) - 1) < _SQUARE), None)

    def _crookedness(self, way: Vec, view: AssemblyView) -> float:
        """0 for a direction level or upright on paper."""
        right, up = self.pose.paper(view)
        return round(min(abs(dot(way, right)), abs(dot(way, up))), 6)

    def _linear(
        self, name: str, view: AssemblyView, points: tuple[Point, Point], way: Vec, value: float, tier: str
    ) -> AssemblyFigure:
        figure = AssemblyFigure(
            name, view, "linear", value, length_text(value, self.style), False, points, way, name,
            side=self._side(view, points, way),
        )  # fmt: skip
        return replace(figure, tier="overall") if tier == "overall" else figure

    def _side(self, view: AssemblyView, points: Sequence[Point], way: Vec | None) -> Side:
        """The side of the view nearer to what is measured."""
        right, up = self.pose.paper(view)
        if way is None or min(abs(dot(way, right)), abs(dot(way, up))) > _SQUARE:
            return "in place"
        level = abs(dot(way, right)) > 0.5
        axis = up if level else right
        reach = [dot(axis, p) for every in self.points.values() for p in every]
        at = math.fsum(dot(axis, p) for p in points) / len(points)
        low = at <= (min(reach) + max(reach)) / 2 + _FLUSH
        if level:
            return "below" if low else "above"
        return "left" if low else "right"


def _kind(feature_id: str) -> str:
    return feature_id.rpartition(" ")[0]


def _rank(p: Point) -> tuple[float, float, float]:
    return (round(p[0], 4), round(p[1], 4), round(p[2], 4))


def _on_one_line(a: tuple[Point, Vec], b: tuple[Point, Vec]) -> bool:
    off = sub(a[0], b[0])
    across = sub(off, scale(b[1], dot(off, b[1])))
    return abs(abs(dot(a[1], b[1])) - 1) < _SQUARE and dot(across, across) < _FLUSH


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".")


def _told_apart(figures: Sequence[AssemblyFigure]) -> Iterator[AssemblyFigure]:
    counts: dict[str, int] = {}
    for figure in figures:
        counts[figure.id] = count = counts.get(figure.id, 0) + 1
        yield figure if count == 1 else replace(figure, id=f"{figure.id} {count}")
