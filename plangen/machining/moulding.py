"""Arrises rounded over with a shaped bit at the router."""

from __future__ import annotations

import math

from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, neg, scale, sub
from plangen.joinery.model import Feature
from plangen.joinery.stages import STAGES
from plangen.machining.bores import is_outside
from plangen.machining.lying import Lying, lyings
from plangen.machining.setup import Setup, Stop, Tool, Way
from plangen.machining.work import Work, distance_along, meeting_line
from plangen.tables.machines import Shop

_SAME = 1e-6
_PARALLEL = 1e-9
_CROSSES = 0.3
_MOULDING = 0.8
"""What it costs: the bit runs on its own bearing, nothing is set but its height."""


def moulded(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    """The way to round an arris over: a cylinder that touches two planes of the work, and the plane through where it
    touches; with planes square to the arris where it stops short. None where the work has no such arris.
    """
    parts = _parts(cutter)
    if parts is None:
        return ()
    name, form, (chord, flat), stops = parts
    arris = _arris(work, form, flat)
    line = None if arris is None else meeting_line(*(work.planes()[i] for i in arris))
    if arris is None or line is None:
        return ()
    run, ends = _run(work, line, stops)
    start = line[0] if run is None else run[0]
    lying = _lying(work, arris)
    reach = shop.reach("router")
    turn = math.acos(max(-1.0, min(1.0, dot(*(work.planes()[i].normal for i in arris)))))
    setup = Setup(
        work.member.mark, feature.id, feature.stage, "mould", "router", (name, chord, *ends), feature.cutters,
        tool=Tool("bit", radius=form.radius), cut_from="below",
        surface_down=None if lying is None else lying.down,
        surface_against=None if lying is None else lying.against,
        end_left=None if lying is None else lying.end_left,
        stop=_stop(work, arris, line, start, run is None), run=run,
        # a bit's arc is a quarter: on a sharper arris it leaves a ridge beside the second face
        residue=form.radius * (1.0 / math.cos(max(0.0, turn - math.pi / 2) / 2) - 1.0),
        residue_note="" if turn < math.pi / 2 + _PARALLEL else "a sharp arris: the last of the round is filed",
    )  # fmt: skip
    beyond: tuple[str, ...] = ()
    if reach is None:
        beyond = ("no router",)
    elif all(abs(r - form.radius) > 1e-3 for r in reach.radii):
        beyond = (f"no round-over bit of {form.radius:.6g} mm",)
    return (Way((setup,), _MOULDING + (0.3 if run else 0.0), beyond),)


def rounds_an_arris(cutter: dict[str, Form]) -> bool:
    """The shape of a rounded arris, whether or not its two faces are there yet."""
    return _parts(cutter) is not None


def _parts(cutter: dict[str, Form]) -> tuple[str, Cylinder, tuple[str, Plane], dict[str, Plane]] | None:
    """The round surface with its id, its chord, the planes where it stops; None for another shape."""
    rounds = {i: f for i, f in cutter.items() if isinstance(f, Cylinder) and f.side == "post"}
    planes = {i: f for i, f in cutter.items() if isinstance(f, Plane)}
    if len(rounds) != 1 or len(rounds) + len(planes) != len(cutter):
        return None
    ((name, form),) = rounds.items()
    chords = [i for i, p in planes.items() if abs(dot(p.normal, form.axis)) < _PARALLEL]
    stops = {i: p for i, p in planes.items() if i not in chords}
    if len(chords) != 1 or any(abs(dot(p.normal, form.axis)) < 1.0 - 1e-12 for p in stops.values()):
        return None
    # the chord lies between the axis and the arris
    chord = planes[chords[0]]
    if not -_SAME < -chord.distance(form.point) < form.radius:
        return None
    return name, form, (chords[0], chord), stops


def awaits_its_faces(work: Work, feature: Feature, cutter: dict[str, Form]) -> bool:
    """A face of the arris is still to be cut, no later than the arris is to be rounded."""
    parts = _parts(cutter)
    if parts is None:
        return False
    here = work.planes()
    later = [
        s.form
        for f in work.member.features
        if f.id not in work.done and f is not feature and STAGES.index(f.stage) <= STAGES.index(feature.stage)
        for s in f.surfaces
        if isinstance(s.form, Plane)
    ]
    return any(
        not any(_is(p, face) for p in here.values()) and any(_is(p, face) for p in later)
        for face in _touched(parts[1], parts[2][1])
    )


def _arris(work: Work, form: Cylinder, chord: Plane) -> tuple[str, str] | None:
    """The two planes of the work that the cylinder touches where the chord meets it."""
    found = []
    for plane in _touched(form, chord):
        name = next((i for i, p in work.planes().items() if _is(p, plane)), None)
        if name is None or work.seat(work.planes()[name]).area <= 0.0:
            return None
        found.append(name)
    return found[0], found[1]


def _touched(form: Cylinder, chord: Plane) -> tuple[Plane, Plane]:
    """The planes that touch the cylinder where the chord meets it."""
    # the directions in which it is touched lean from the chord's normal by this much
    off = -chord.distance(form.point) / form.radius
    across, lean = cross(form.axis, chord.normal), math.sqrt(max(0.0, 1.0 - off * off))
    one, two = (add(scale(chord.normal, off), scale(across, side * lean)) for side in (1.0, -1.0))
    return (
        Plane(one, dot(one, form.point) + form.radius),
        Plane(two, dot(two, form.point) + form.radius),
    )


def _is(a: Plane, b: Plane) -> bool:
    off = sub(a.normal, b.normal)
    return dot(off, off) < _SAME * _SAME and abs(a.offset - b.offset) < 1e-5


def _run(
    work: Work, line: tuple[Point, Vec], stops: dict[str, Plane]
) -> tuple[tuple[Point, Point] | None, tuple[str, ...]]:
    """Where the bit starts and stops on the arris, and the planes there in that order; None: from end to end.

    A run that stops at one end only starts there.
    """
    if not stops:
        return None, ()
    on, way = line
    ends = sorted(stops, key=lambda i: (round(dot(stops[i].normal, way), 6), i), reverse=True)
    if dot(stops[ends[0]].normal, way) < 0.0:
        way = neg(way)
    start, *rest = (_along(on, way, stops[i]) for i in ends)
    far = max(dot(sub(p, on), way) for p in _corners(work))
    return (along(on, way, start), along(on, way, rest[0] if rest else far)), tuple(ends)


def _along(on: Point, way: Vec, plane: Plane) -> float:
    at = distance_along(on, way, plane)
    assert at is not None
    return at


def _corners(work: Work) -> list[Point]:
    low, high = work.member.blank.origin, work.member.blank.most
    return [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]


def _stop(
    work: Work, arris: tuple[str, str], line: tuple[Point, Vec], start: Point, whole: bool
) -> Stop | None:
    """The arris, and how far from an end its run starts: 0 where it is worked from end to end."""
    on, way = line
    planes = work.planes()
    found = []
    for name in planes:
        square = dot(planes[name].normal, way)
        if name in arris or abs(square) < _CROSSES or not is_outside(work, name):
            continue
        into = neg(way) if square > 0 else way
        at = along(on, into, _along(on, into, planes[name]))
        off = 0.0 if whole else dot(sub(start, at), into)
        found.append((round(abs(off), 6), at[0] > work.member.finished[0] / 2, name, off, at))
    if not found:
        return None
    _, far, name, off, at = min(found)
    return Stop("B" if far else "A", arris, off, name, at if whole else start)


def _lying(work: Work, arris: tuple[str, str]) -> Lying | None:
    """On the router's table: one face of the arris down, the other at the fence; else either of them down."""
    every = lyings(work)
    for wanted in (
        [y for y in every if {y.down, y.against} == set(arris)],
        [y for y in every if y.down in arris],
    ):
        if wanted:
            return wanted[0]
    return None
