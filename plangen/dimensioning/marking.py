"""Marking out as it is done at the bench: what is marked side by side, by one setting of a gauge, from one stick.

Nothing is measured here. Every size is a figure of a part sheet, as that prints it; a figure is told by its part's mark
and its id. *Lines* stand across the length at a distance from end A, or across the width from the face edge; a size
measured on from a line (the width of a mortise from its near wall) is kept with it. Practice (``common practice``):
equal parts are laid side by side, ends flush, and a line is squared over all at once; a gauge is set once for all that
it serves; what is repeated is carried on a stick, not measured again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple, TypeAlias

from plangen.dimensioning.figures import Figure, MemberFigures, MemberView
from plangen.geometry.surfaces import Plane
from plangen.joinery.model import Feature, Member, Model, Stage

Axis: TypeAlias = Literal["length", "width", "thickness"]
Origin: TypeAlias = Literal["end A", "face edge", "back edge", "face side", "back"]
GaugeTool: TypeAlias = Literal["marking gauge", "mortise gauge", "panel gauge"]

_AXES: tuple[Axis, Axis, Axis] = ("length", "width", "thickness")
_BENCH: tuple[Stage, ...] = ("square", "shaped")
"""Stages at which a cut is marked from figures; later ones are marked from the work."""
_SAME = 1e-6
_LINE = 0.25
"""Millimetres, of a pencil line: settings that draw lines less apart at their far ends are one (common practice)."""
_RUN = 3
"""So many lines of one kind are a run, carried on a stick."""
GAUGE_REACH = 150.0
"""Millimetres: farther from its fence a line is struck with a panel gauge (``common practice``, about 6 in)."""
PINS_OPEN = 40.0
"""Millimetres: farther apart the two lines are gauged one after the other (``common practice``, about 1 1/2 in)."""
_SLANTS = 0.5


@dataclass(frozen=True)
class Line:
    """A line across one or more parts, at a distance from where they are all measured."""

    printed: str
    """Without parentheses."""
    value: float
    """Millimetres, exact, of the first part."""
    then: tuple[str, ...]
    """Sizes measured on from it, as printed."""
    figures: tuple[tuple[str, str], ...]
    """Mark of the part and id of the figure, for each part that has the line, parts in order."""
    cuts: tuple[str, ...]
    """Kinds of what is cut there."""

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(mark for mark, _ in self.figures))


@dataclass(frozen=True)
class Gang:
    """Parts laid side by side, ends A flush, one side up, and the lines squared over that side of all of them; of round
    parts the lines run round and any side is up."""

    parts: tuple[str, ...]
    pieces: int
    up: MemberView
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Served:
    """A cut that a gauge is run for."""

    mark: str
    feature: str
    kind: str
    origin: Origin | None
    """Where the fence runs; None: the cut lies in the middle, by the sheet's symmetry."""
    figures: tuple[str, ...]


@dataclass(frozen=True)
class GaugeSetting:
    """One setting of a gauge, and all it is used for before it is changed."""

    tool: GaugeTool
    printed: str
    """From the fence to the pin; of a mortise gauge to the nearer one. Empty where the cut lies in the middle."""
    value: float
    apart: str | None
    """Between the pins of a mortise gauge, or from the first line to a second, as printed."""
    serves: tuple[Served, ...]


@dataclass(frozen=True)
class BevelSetting:
    """One setting of a sliding bevel; its other angle is the rest of a half turn."""

    printed: tuple[str, ...]
    """``78°``, ``102°``: as the sheets have it."""
    value: float
    """Degrees, exact, of a part: of those that serve for all, the nearest to what is printed."""
    parts: tuple[str, ...]


@dataclass(frozen=True)
class StoryStick:
    """Positions that come again, carried on a stick from one end of it."""

    axis: Axis
    lines: tuple[Line, ...]
    uses: tuple[tuple[str, str], ...]
    """Mark of the part and kind of what is cut there."""


@dataclass(frozen=True)
class MarkingOut:
    """How the parts are marked out."""

    gangs: tuple[Gang, ...] = ()
    gauges: tuple[GaugeSetting, ...] = ()
    bevels: tuple[BevelSetting, ...] = ()
    sticks: tuple[StoryStick, ...] = ()


def marking_out(bench: Model, figures: Sequence[MemberFigures]) -> MarkingOut:
    """``bench``: every member as it leaves the bench; ``figures``: what its sheets state. Jigs are left out."""
    members = {m.mark: m for m in bench.members if m.role == "work" and m.bent is None}
    parts = [_Part(members[f.mark], f) for f in figures if f.mark in members]
    sticks = tuple(_sticks(parts))
    on_sticks = {figure for stick in sticks for line in stick.lines for figure in line.figures}
    return MarkingOut(tuple(_gangs(parts)), tuple(_gauges(parts, on_sticks)), tuple(_bevels(parts)), sticks)


class _Part:
    """A member with its sheet's figures by what they measure."""

    def __init__(self, member: Member, sheet: MemberFigures) -> None:
        self.member = member
        self.mark = member.mark
        self.origin = sheet.datum or (_first_place(sheet), 0.0, member.finished[2])
        self.features: Mapping[str, Feature] = {f.id: f for f in member.features}
        self.planes = {s.id: s.form for s in member.surfaces if isinstance(s.form, Plane)}
        self.planes |= {
            s.id: s.form for f in member.features for s in f.surfaces if isinstance(s.form, Plane)
        }
        self.stated = [f for f in sheet.figures if not f.said_by and f.kind == "linear"]
        self.figures = [f for f in self.stated if self._is_marked(f)]
        self.angles = {
            f.printed.strip("()"): f
            for f in sheet.figures
            if f.kind == "angular" and not f.said_by and f.value % 90
        }

    def _is_marked(self, figure: Figure) -> bool:
        feature = self.features.get(figure.feature or "")
        if feature is None:
            # a turned part's own places are marked on it in the lathe
            return self.member.is_round and figure.tier == "position"
        return feature.stage in _BENCH

    def side(self, figure: Figure) -> MemberView:
        """On which side a line is; on a round part all round, which is told as the face."""
        return "face" if self.member.is_round else figure.view

    def kind(self, figure: Figure) -> str:
        feature = self.features.get(figure.feature or "")
        if feature is None:
            return "turned place"
        return feature.kind if feature.hole is None else feature.hole.purpose

    def measured(self, axis: Axis, figures: Sequence[Figure] | None = None) -> Iterator[Figure]:
        """Figures square to the part's ends, edges or faces."""
        index = _AXES.index(axis)
        for f in self.figures if figures is None else figures:
            if f.direction is not None and abs(f.direction[index]) > 1 - _SAME:
                yield f

    def starts(self, figure: Figure, axis: Axis) -> bool:
        """Whether it is measured from end A, the face edge or the face side."""
        index = _AXES.index(axis)
        return abs(figure.points[0][index] - self.origin[index]) < _SAME

    def onward(self, line: Figure, axis: Axis) -> Iterator[Figure]:
        """Sizes of the same cut, or between shoulders, from the line's wall to the next one."""
        for f in self.measured(axis, self.stated):
            walls = [i for i in f.on[0] if i in line.on[1] and i not in f.on[1] and self.is_wall(i, axis)]
            if walls and f.feature in (line.feature, None) and not self.starts(f, axis):
                yield f

    def is_wall(self, surface: str, axis: Axis) -> bool:
        """Across the length, square to it; along the grain in width or thickness, square to it or leaning."""
        plane = self.planes.get(surface)
        if plane is None:
            return False
        if axis == "length":
            return abs(plane.normal[0]) > 1 - _SAME
        return abs(plane.normal[0]) < _SAME and abs(plane.normal[_AXES.index(axis)]) > _SLANTS

    def lines(self, axis: Axis) -> Iterator[tuple[Figure, tuple[str, ...]]]:
        for f in self.measured(axis):
            if self.starts(f, axis):
                yield f, tuple(bare(g.printed) for g in self.onward(f, axis))


_Run: TypeAlias = list[tuple[_Part, Figure, tuple[str, ...]]]
"""Lines of parts, each with the sizes measured on from it."""


def _first_place(sheet: MemberFigures) -> float:
    """Where the lengths of a round piece begin."""
    along = [
        f.points[0][0] for f in sheet.figures if f.direction is not None and abs(f.direction[0]) > 1 - _SAME
    ]
    return min(along, default=0.0)


def bare(printed: str) -> str:
    """A figure without its parentheses."""
    return printed.removeprefix("(").removesuffix(")") if printed.startswith("(") else printed


def _merged(found: Iterable[tuple[_Part, Figure, tuple[str, ...]]]) -> tuple[Line, ...]:
    """Lines that print alike are one, the nearest first."""
    by_print: dict[str, _Run] = {}
    for item in found:
        by_print.setdefault(bare(item[1].printed), []).append(item)
    lines = []
    for printed, items in by_print.items():
        then = tuple(dict.fromkeys(t for _, _, sizes in items for t in sizes))
        cuts = tuple(dict.fromkeys(p.kind(f) for p, f, _ in items))
        lines.append(Line(printed, items[0][1].value, then, tuple((p.mark, f.id) for p, f, _ in items), cuts))
    return tuple(sorted(lines, key=lambda line: (round(line.value, 6), line.printed)))


# --- side by side --------------------------------------------------------------------------------------------


def _gangs(parts: Sequence[_Part]) -> Iterator[Gang]:
    """Parts made more than once, and unlike parts that share two lines or more on one side."""
    views: tuple[MemberView, ...] = ("face", "edge", "back edge", "back")
    for up in views:
        found = {p.mark: [(f, t) for f, t in p.lines("length") if p.side(f) == up] for p in parts}
        printed = {
            m: {
                words
                for f, then in lines
                for words in (bare(f.printed), *(f"{f.printed} + {t}" for t in then))
            }
            for m, lines in found.items()
        }
        for group in _sharing([p for p in parts if found[p.mark]], printed):
            pieces = sum(p.member.quantity for p in group)
            if pieces > 1:
                lines = _merged((p, f, t) for p in group for f, t in found[p.mark])
                yield Gang(tuple(p.mark for p in group), pieces, up, lines)


def _sharing(parts: Sequence[_Part], printed: Mapping[str, set[str]]) -> list[list[_Part]]:
    """Parts in groups that hang together by two lines in common, or one where they are as wide and thick."""
    groups: list[list[_Part]] = []
    for part in parts:
        near = [g for g in groups if any(_share(part, other, printed) for other in g)]
        groups = [g for g in groups if g not in near]
        groups.append([p for g in near for p in g] + [part])
    order = {p.mark: i for i, p in enumerate(parts)}
    return sorted((sorted(g, key=lambda p: order[p.mark]) for g in groups), key=lambda g: order[g[0].mark])


def _share(a: _Part, b: _Part, printed: Mapping[str, set[str]]) -> bool:
    common = len(printed[a.mark] & printed[b.mark])
    if common == 1:
        sizes = zip(a.member.finished[1:], b.member.finished[1:], strict=True)
        return not a.member.is_round and all(abs(p - q) < _SAME for p, q in sizes)
    return common > 1 and a.member.is_round == b.member.is_round


# --- gauges --------------------------------------------------------------------------------------------------


def _gauges(parts: Sequence[_Part], elsewhere: set[tuple[str, str]]) -> Iterator[GaugeSetting]:
    """Each setting once: lines along the grain from a reference surface, but for those carried on a stick."""
    found: dict[tuple[str, str, str], tuple[GaugeSetting, dict[tuple[object, ...], Served]]] = {}
    for part in parts:
        if part.member.is_round:
            continue
        for setting, served in _part_gauges(part, elsewhere):
            key = (setting.tool, setting.printed, setting.apart or "")
            own = (served.mark, served.feature, served.origin)
            found.setdefault(key, (setting, {}))[1].setdefault(own, served)
    order = sorted(found.values(), key=lambda s: (s[0].tool, round(s[0].value, 6), s[0].apart or ""))
    for setting, serves in order:
        yield GaugeSetting(
            setting.tool, setting.printed, setting.value, setting.apart, tuple(serves.values())
        )


def _part_gauges(part: _Part, elsewhere: set[tuple[str, str]]) -> Iterator[tuple[GaugeSetting, Served]]:
    for axis in ("width", "thickness"):
        done: set[str] = set()
        figures = [f for f in part.measured(axis) if (part.mark, f.id) not in elsewhere]
        for f in figures:
            origin = _fence(part, f, axis)
            if origin is None or not _is_gauged(part, f, axis):
                continue
            size = next(part.onward(f, axis), None)
            if size is not None:
                done.add(size.id)
            yield _setting(f, size), _served(part, (f,) if size is None else (f, size), origin)
        for f in figures:
            if f.id not in done and _fence(part, f, axis) is None and _is_between(part, f, axis):
                # no place is figured: it lies in the middle
                own = GaugeSetting("mortise gauge", "", f.value, bare(f.printed), ())
                yield own, _served(part, (f,), None)


def _fence(part: _Part, figure: Figure, axis: Axis) -> Origin | None:
    """The reference that the fence of a gauge runs on; None where the figure starts from none."""
    if part.starts(figure, axis):
        return "face edge" if axis == "width" else "face side"
    behind: Origin = "back edge" if axis == "width" else "back"
    return behind if behind in figure.on[0] and part.is_wall(behind, axis) else None


def _is_gauged(part: _Part, figure: Figure, axis: Axis) -> bool:
    """Ends on a wall that runs along the grain, or in the middle of a hole."""
    feature = part.features[figure.feature or ""]
    return feature.hole is not None or any(
        part.is_wall(i, axis) and _is_own(part, figure, i) for i in figure.on[1]
    )


def _is_between(part: _Part, figure: Figure, axis: Axis) -> bool:
    """Lies between two walls of its own cut."""
    first, last = ({i for i in on if part.is_wall(i, axis) and _is_own(part, figure, i)} for on in figure.on)
    return bool(first - last) and bool(last - first)


def _is_own(part: _Part, figure: Figure, surface: str) -> bool:
    return any(s.id == surface for s in part.features[figure.feature or ""].surfaces)


def _setting(figure: Figure, size: Figure | None) -> GaugeSetting:
    apart = None if size is None else bare(size.printed)
    if size is not None and size.value <= PINS_OPEN:
        return GaugeSetting("mortise gauge", bare(figure.printed), figure.value, apart, ())
    reach = figure.value + (0.0 if size is None else size.value)
    tool: GaugeTool = "marking gauge" if reach <= GAUGE_REACH else "panel gauge"
    return GaugeSetting(tool, bare(figure.printed), figure.value, apart, ())


def _served(part: _Part, figures: tuple[Figure, ...], origin: Origin | None) -> Served:
    first = figures[0]
    return Served(part.mark, first.feature or "", part.kind(first), origin, tuple(f.id for f in figures))


class _Angle(NamedTuple):
    acute: float
    """Degrees, exact: the angle or the rest of its half turn."""
    arm: float
    """Length of its longer side, mm."""
    printed: str
    value: float
    part: str


def _bevels(parts: Sequence[_Part]) -> Iterator[BevelSetting]:
    """An angle and the rest of its half turn are one setting of the bevel; so are angles that print alike where one
    setting draws the lines of all."""
    found: dict[Fraction, list[_Angle]] = {}
    for part in parts:
        for printed, f in part.angles.items():
            try:
                angle = Fraction(printed.removesuffix("°"))
            except ValueError:
                # a note such as ``6° INCLUDED`` is no angle of a line
                continue
            arm = max(math.dist(f.points[0], p) for p in f.points[1:])
            own = _Angle(min(f.value, 180 - f.value), arm, printed, f.value, part.mark)
            found.setdefault(min(angle, 180 - angle), []).append(own)
    for key in sorted(found):
        for group in _drawn_by_one(found[key]):
            words = tuple(dict.fromkeys(a.printed for a in group))
            set_to = min(_serving(group), key=lambda a: round(abs(a.acute - float(key)), 6))
            yield BevelSetting(words, set_to.value, tuple(dict.fromkeys(a.part for a in group)))


def _drawn_by_one(angles: Sequence[_Angle]) -> list[list[_Angle]]:
    """Groups in which some angle draws the line of every other within a line's width; each in the order given."""
    groups: list[list[_Angle]] = []
    for angle in sorted(angles, key=lambda a: round(a.acute, 6)):
        if groups and _serving([*groups[-1], angle]):
            groups[-1].append(angle)
        else:
            groups.append([angle])
    return [sorted(group, key=angles.index) for group in groups]


def _serving(group: Sequence[_Angle]) -> list[_Angle]:
    """Those that draw every line of the group within a line's width at its far end."""
    return [
        setting
        for setting in group
        if all(math.radians(abs(a.acute - setting.acute)) * a.arm <= _LINE for a in group)
    ]


# --- sticks --------------------------------------------------------------------------------------------------


def _sticks(parts: Sequence[_Part]) -> Iterator[StoryStick]:
    """Every run, the longest first; a run that is part of another is on the same stick."""
    sticks: list[tuple[Axis, _Run]] = []
    for axis, run in sorted(_runs(parts), key=lambda r: -len(_printed(r[1]))):
        home = next((s for a, s in sticks if a == axis and _printed(run) <= _printed(s)), None)
        if home is None:
            sticks.append((axis, list(run)))
        else:
            home += run
    for axis, run in sticks:
        uses = tuple(dict.fromkeys((p.mark, p.kind(f)) for p, f, _ in run))
        yield StoryStick(axis, _merged(run), uses)


def _runs(parts: Sequence[_Part]) -> Iterator[tuple[Axis, _Run]]:
    """Three lines or more of one kind in one row, from one end of a part; two places of a turned part are a run too,
    for they are marked while it spins."""
    axes: tuple[Axis, Axis] = ("length", "width")
    for axis in axes:
        for part in parts:
            rows: dict[tuple[object, ...], _Run] = {}
            for f, then in part.lines(axis):
                rows.setdefault(_row(part, f, axis), []).append((part, f, then))
            least = 2 if part.member.is_round else _RUN
            yield from ((axis, row) for row in rows.values() if len(_printed(row)) >= least)


def _row(part: _Part, figure: Figure, axis: Axis) -> tuple[object, ...]:
    """What the lines of a row have in common: what is cut, the side, and the place across the row."""
    if part.member.is_round:
        return ()
    index = _AXES.index(axis)
    beside = tuple(round(c, 6) + 0.0 for i, c in enumerate(figure.points[1]) if i != index)
    return (part.kind(figure), figure.view, beside)


def _printed(run: _Run) -> set[str]:
    return {bare(f.printed) for _, f, _ in run}
