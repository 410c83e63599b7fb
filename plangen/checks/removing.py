"""Removable parts: proof on the finished solids that each can travel out, and the room beside it on its way.

What leaves together travels as one; everything else stays in its place. Glue that is not said cannot be known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Finding, Place, error, note, warning
from plangen.geometry.frames import Frame
from plangen.geometry.room import room_beside
from plangen.geometry.solid import Solid
from plangen.geometry.travel import first_met
from plangen.geometry.vectors import Point, Vec, cross, dot, length, sub
from plangen.joinery.model import Instance, Member, Model
from plangen.joinery.sizing import CLEARANCE_MM
from plangen.placing.scope import Scope

RULE = "removable"
LOOKED_AT_MM = 12.0
"""Room beside a part that is more than this is no figure for a drawing."""
ASKED_MM = {"mm": CLEARANCE_MM["loose"], "in": 25.4 / 32}
"""Room beside a part that wood out of doors needs to swell in, where the designer asks for none: that of a loose
fit, by the design's unit (common practice)."""
_SAME_WAY = 1e-6
_ON_AXIS = 1e-3
"""Millimetres: holes this near to one line are one fastener's."""
_UNDONE = {"screw": "screws", "bolt": "bolts", "rod": "rods"}

Standing = tuple[Member, Instance]


@dataclass(frozen=True)
class _Leaving:
    """Parts that leave together: which, by whose entry, and the world direction they go."""

    names: tuple[str, ...]
    spec: d.Member
    name: str
    way: Vec

    @property
    def place(self) -> Place:
        return self.spec.removable.place if self.spec.removable is not None else self.spec.source


def check_removable(
    design: d.Design, scope: Scope, model: Model, standings: Sequence[Standing]
) -> Iterator[Finding]:
    """Errors for parts that are held, warnings for those that have too little room, a note for each that leaves."""
    told: set[tuple[str, ...]] = set()
    noted: dict[str, tuple[float, Finding]] = {}
    for leaving in _all_leaving(design, scope):
        if isinstance(leaving, Finding):
            yield leaving
            continue
        if leaving.names in told:
            continue
        told.add(leaving.names)
        problems = [*_fastened(design, model, standings, leaving), *_barred(scope, standings, leaving)]
        yield from problems
        if problems:
            continue
        room = _room(standings, leaving)
        yield from _too_little(scope, standings, leaving, room)
        key = str(leaving.spec.source)
        least = math.inf if room is None else room[0]
        if key not in noted or least < noted[key][0]:
            noted[key] = (least, _says_room(scope, leaving, room))
    yield from (finding for _, finding in noted.values())


def leaving_groups(design: d.Design, scope: Scope) -> tuple[tuple[tuple[str, ...], Vec], ...]:
    """What is made to come out of the finished piece: names of the instances that leave together, and the unit world
    direction they go; each group once."""
    found: dict[tuple[str, ...], Vec] = {}
    for leaving in _all_leaving(design, scope):
        if isinstance(leaving, _Leaving):
            found.setdefault(leaving.names, leaving.way)
    return tuple(found.items())


# --- what leaves together ---------------------------------------------------------------------------------


def _all_leaving(design: d.Design, scope: Scope) -> Iterator[_Leaving | Finding]:
    together = _together(design, scope)
    for name, spec in design.members.items():
        if spec.removable is None:
            continue
        for standing in scope.body(str(name), name.place).standings:
            names = together.get(standing.name, (standing.name,))
            yield _Leaving(names, spec, standing.name, _way(design, scope, standing.name, spec))
            yield from _another_way(design, scope, names, standing.name, spec)


def _way(design: d.Design, scope: Scope, instance: str, spec: d.Member) -> Vec:
    """The direction as the drawn part goes, turned and mirrored as the instance stands."""
    assert spec.removable is not None
    body, standing = scope.body_of(instance, spec.source)
    drawn = scope.direction(spec.removable)
    return standing.frame.direction(body.frame.local_direction(drawn))


def _another_way(
    design: d.Design, scope: Scope, names: Sequence[str], own: str, spec: d.Member
) -> Iterator[Finding]:
    way = _way(design, scope, own, spec)
    for name, other in design.members.items():
        if other.removable is None:
            continue
        for standing in scope.body(str(name), name.place).standings:
            if standing.name not in names or standing.name == own:
                continue
            # Told once of a pair, at the later one's entry.
            if (
                other.source > spec.source
                and length(sub(_way(design, scope, standing.name, other), way)) > _SAME_WAY
            ):
                text = f'"{own}" and "{standing.name}" leave together, but not the same way'
                yield error(other.removable.place, RULE, text, own, standing.name)
                return


def _together(design: d.Design, scope: Scope) -> dict[str, tuple[str, ...]]:
    """For each instance all that leave with it, itself among them: links from ``removed with`` followed on."""
    groups: list[set[str]] = []
    specs: list[tuple[d.Name, d.Member | d.Bought]] = [*design.members.items()]
    specs += [(n, b) for n, b in design.bought.items() if b.place is not None]
    for name, spec in specs:
        for other in spec.removed_with:
            for a, b in _linked(scope, str(name), other):
                touching = [g for g in groups if a in g or b in g]
                groups = [g for g in groups if g not in touching] + [{a, b}.union(*touching)]
    return {name: tuple(sorted(g)) for g in groups for name in g}


def _linked(scope: Scope, name: str, other: d.Name) -> list[tuple[str, str]]:
    """Copies leave each with the copy that stands as they do, where there are as many; else all together."""
    own = [s.name for s in scope.body(name, other.place).standings]
    body, standing = scope.body_of(str(other), other.place)
    theirs = [s.name for s in body.standings] if str(other) == body.name else [standing.name]
    if len(own) == len(theirs):
        return list(zip(own, theirs, strict=True))
    return [(a, b) for a in own for b in theirs]


# --- what holds it ----------------------------------------------------------------------------------------


def _fastened(
    design: d.Design, model: Model, standings: Sequence[Standing], leaving: _Leaving
) -> Iterator[Finding]:
    """Fasteners that pass from what leaves into what stays, unless they are undone first."""
    kinds = {str(f.place): f.kind for f in design.fasteners}
    told: set[str] = set()
    staying = [s for s in standings if s[1].name not in leaving.names]
    for member, instance in (s for s in standings if s[1].name in leaving.names):
        for place, axis in _axes(member, instance):
            kind = kinds.get(str(place))
            if kind is None or kind in told or _UNDONE[kind] in leaving.spec.undone:
                continue
            held = next(
                (i.name for m, i in staying for p, a in _axes(m, i) if p == place and _one(axis, a)), None
            )
            if held is not None:
                told.add(kind)
                text = (
                    f'"{instance.name}" is held to "{held}" by a {kind}: say undone: [{_UNDONE[kind]}] if that '
                    "comes out first, or let both leave together (removed with)"
                )
                yield error(leaving.place, RULE, text, instance.name, held)


def _axes(member: Member, instance: Instance) -> list[tuple[Place, tuple[Point, Vec]]]:
    frame = instance.frame
    return [
        (f.place, (frame.point(f.hole.entry), frame.direction(f.hole.axis)))
        for f in member.features
        if f.hole is not None
    ]


def _one(a: tuple[Point, Vec], b: tuple[Point, Vec]) -> bool:
    """Both run along one line."""
    if abs(abs(dot(a[1], b[1])) - 1) > _SAME_WAY:
        return False
    return length(cross(sub(b[0], a[0]), a[1])) < _ON_AXIS


def _barred(scope: Scope, standings: Sequence[Standing], leaving: _Leaving) -> Iterator[Finding]:
    parts, others = _sides(standings, leaving)
    met = first_met([_placed(s) for s in parts], [_placed(s) for s in others], leaving.way)
    if met is None:
        return
    bar = others[met.index][1].name
    after = "at once" if met.after < 0.05 else f"after {scope.said(met.after, 3)}"
    text = f'"{leaving.name}" cannot leave {leaving.spec.removable}: {after} it meets "{bar}"'
    with_it = [n for n in leaving.names if n != leaving.name]
    if with_it:
        text += f" (leaving together with {', '.join(with_it)})"
    yield error(leaving.place, RULE, text, leaving.name, bar)


def _sides(standings: Sequence[Standing], leaving: _Leaving) -> tuple[list[Standing], list[Standing]]:
    """What leaves, and what stays; jigs are no part of the piece."""
    here = [s for s in standings if s[0].role != "jig"]
    return [s for s in here if s[1].name in leaving.names], [
        s for s in here if s[1].name not in leaving.names
    ]


def _placed(standing: Standing) -> tuple[Solid, Frame]:
    return standing[0].solid, standing[1].frame


# --- room -------------------------------------------------------------------------------------------------


def _room(standings: Sequence[Standing], leaving: _Leaving) -> tuple[float, str] | None:
    """Least room beside it, and beside which part; None where that is more than can be called room."""
    parts, others = _sides(standings, leaving)
    found = room_beside([_placed(s) for s in parts], [_placed(s) for s in others], leaving.way, LOOKED_AT_MM)
    return None if found is None else (found[0], others[found[1]][1].name)


def _too_little(
    scope: Scope, standings: Sequence[Standing], leaving: _Leaving, room: tuple[float, str] | None
) -> Iterator[Finding]:
    stated = leaving.spec.clear
    asked = ASKED_MM[scope.design.units] if stated is None else scope.length(stated)
    if room is None or room[0] >= asked - 1e-6:
        return
    why = "as stated" if stated is not None else "for wood to swell, common practice"
    text = (
        f'"{leaving.name}" has {_said(scope, room[0])} beside "{room[1]}" on its way '
        f"{leaving.spec.removable}; {scope.said(asked, 3)} is asked for ({why})"
    )
    yield warning(leaving.place if stated is None else stated.place, RULE, text, leaving.name, room[1])


def _said(scope: Scope, mm: float) -> str:
    return f"{scope.said(mm, 3)} of room" if mm > 5e-4 else "no room"


def _says_room(scope: Scope, leaving: _Leaving, room: tuple[float, str] | None) -> Finding:
    clear = (
        f"{scope.said(room[0], 3)} clear"
        if room is not None and room[0] > 5e-4
        else "clear of everything beside it"
    )
    if room is not None and room[0] <= 5e-4:
        clear = f'sliding along "{room[1]}"'
    first = f", once its {' and '.join(leaving.spec.undone)} are undone" if leaving.spec.undone else ""
    with_it = [n for n in leaving.names if n != leaving.name]
    also = f" together with {', '.join(with_it)}" if with_it else ""
    text = f'"{leaving.name}" leaves {leaving.spec.removable}{also}{first}: {clear}'
    return note(leaving.place, RULE, text, leaving.name)
