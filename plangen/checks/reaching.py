"""Metal in the way of a later cutter, heads in the way of a machine's base, and no way in for a driver or wrench.

When a fastener goes in follows from what it joins: with the glue-up where all its members are of one assembly, else
when the assemblies come together, and never before its own holes are bored.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from plangen.findings import Finding, note, warning
from plangen.geometry.clash import clash
from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form
from plangen.geometry.vectors import Point, Vec, along, cross, dot, neg, sub, unit
from plangen.joinery.model import Driven, Feature, Instance, Member, Model, Stage
from plangen.joinery.stages import STAGES, is_cut_later
from plangen.placing.scope import Scope

DRIVER_REACH, DRIVER_RADIUS = 60.0, 5.0
"""Millimetres of a bit in its holder before the tool itself (common practice)."""
TOOL_REACH, TOOL_RADIUS = 180.0, 25.0
"""Millimetres that a drill-driver takes up behind the bit, held in line (common practice)."""
SOCKET_REACH, SOCKET_MARGIN = 60.0, 3.0
"""Millimetres that a socket takes up in line with a nut, and its wall beside it (common practice)."""
ROUTER_BASE = 75.0
"""Millimetres from bit to rim of the base (common practice: bases are about 150 across)."""
_OFF = 0.5
"""Millimetres the tool keeps off the surface it starts at: what only touches is no bar."""
_ON_FACE = 0.1
_STEP = 0.5
"""Millimetres between the points of a fastener's axis that are tried against a cutter."""

Standing = tuple[Member, Instance]


def check_reach(scope: Scope, model: Model, standings: Sequence[Standing]) -> Iterator[Finding]:
    """Everything about fasteners that a maker finds out too late."""
    by_name = {i.name: (m, i) for m, i in standings}
    told: set[tuple[str, ...]] = set()
    for driven in model.driven:
        for finding in (
            *_met_by_cutters(scope, model, driven, by_name),
            *_under_the_base(scope, model, driven),
            *_barred(driven, standings),
        ):
            key = (finding.rule, str(finding.place), finding.text)
            if key not in told:
                told.add(key)
                yield finding


def put_in(model: Model, driven: Driven) -> Stage:
    """The stage at which a fastener goes in."""
    one = any(set(driven.members) <= set(a.members) for a in model.assemblies)
    least: Stage = "glued" if one else "assembled"
    return max(least, driven.stage, key=STAGES.index)


def _is_in_before(model: Model, driven: Driven, feature: Feature) -> bool:
    """Whether the metal is there when the feature is cut; of one stage, what is cut on the assembly comes last."""
    metal, cut = STAGES.index(put_in(model, driven)), STAGES.index(feature.stage)
    return metal < cut or (metal == cut and feature.assembly is not None)


def _met_by_cutters(
    scope: Scope, model: Model, driven: Driven, by_name: dict[str, Standing]
) -> Iterator[Finding]:
    for name in driven.members:
        member, instance = by_name[name]
        for feature in member.features:
            if not is_cut_later(feature) or feature.joint == driven.name:
                continue
            if _is_in_before(model, driven, feature) and _meets(driven, feature, instance.frame):
                text = (
                    f"{driven.kind}: it is in before the {feature.kind} of {_of(member, feature)} is cut "
                    f"({feature.stage}), and its metal lies in the cutter's way; "
                    "put it in afterwards (when), or move it"
                )
                yield warning(driven.place, "metal in the way", text, name)


def _of(member: Member, feature: Feature) -> str:
    return f'the assembly "{feature.assembly}"' if feature.assembly else f'"{member.name}"'


def _meets(driven: Driven, feature: Feature, frame: Frame) -> bool:
    """Whether some point of the metal lies in a cutter: no farther than its radius inside each of its surfaces."""
    forms = {s.id: s.form for s in feature.surfaces}
    length = dot(sub(driven.far, driven.head), driven.into)
    steps = max(int(length / _STEP), 1)
    points = [
        frame.local_point(along(driven.head, driven.into, length * k / steps)) for k in range(steps + 1)
    ]
    return any(
        _near(p, [forms[i] for i in cutter], driven.radius) for cutter in feature.cutters for p in points
    )


def _near(point: Point, cutter: Sequence[Form], radius: float) -> bool:
    return all(not isinstance(f, Extruded) and f.distance(point) > -radius for f in cutter)


def _under_the_base(scope: Scope, model: Model, driven: Driven) -> Iterator[Finding]:
    """Heads and nuts that stand proud of the face on which a router runs round an assembly."""
    ends: list[tuple[str, Point, float]] = [("head", driven.head, driven.proud)]
    if driven.nut_radius is not None:
        ends.append(("nut", driven.far, driven.proud))
    for assembly in model.assemblies:
        for cut in assembly.cuts:
            if cut.kind != "rebate" or not set(driven.members) & set(assembly.members):
                continue
            if STAGES.index(put_in(model, driven)) > STAGES.index(cut.stage):
                continue
            for what, at, proud in ends:
                near = any(_beside(at, p, into) < ROUTER_BASE for p, into in cut.arrises)
                if proud > _ON_FACE and abs(cut.plane.distance(at)) < _ON_FACE and near:
                    text = (
                        f"{driven.kind}: its {what} stands {scope.said(proud)} proud where the router's base runs "
                        f'to cut the rebate of "{assembly.name}"; put it in afterwards (when), or sink it'
                    )
                    yield warning(driven.place, "base not clear", text, *driven.members)


def _beside(at: Point, arris: Point, into: Vec) -> float:
    return abs(dot(sub(at, arris), into))


def _barred(driven: Driven, standings: Sequence[Standing]) -> Iterator[Finding]:
    """What stands in line with a head or nut, where the tool that turns it must go."""
    ways: list[tuple[str, Point, Vec, list[tuple[float, float]]]] = []
    if driven.kind == "screw":
        bit = (DRIVER_REACH, max(DRIVER_RADIUS, driven.head_radius))
        ways.append(("driver", driven.head, neg(driven.into), [bit, (TOOL_REACH, TOOL_RADIUS)]))
    if driven.nut_radius is not None:
        socket = (SOCKET_REACH, driven.nut_radius + SOCKET_MARGIN)
        ways.append(("wrench", driven.far, driven.into, [socket]))
    for tool, at, way, stretches in ways:
        start, in_way = _OFF, []
        for long, radius in stretches:
            frame = _looking(along(at, way, start), way)
            envelope = _envelope(long, radius)
            in_way += [i.name for m, i in standings if clash(envelope, frame, m.solid, i.frame) is not None]
            start += long
        others = [n for n in dict.fromkeys(in_way) if n not in driven.members]
        if others:
            words = " and ".join(f'"{n}"' for n in others)
            text = f"{driven.kind}: no straight way for a {tool} past {words}; turn it home before that stands there"
            yield note(driven.place, "reach", text, *others)


def _looking(origin: Point, way: Vec) -> Frame:
    seed: Vec = (0.0, 0.0, 1.0) if abs(way[2]) < 0.9 else (1.0, 0.0, 0.0)
    across = unit(cross(seed, way))
    return Frame(origin, way, across, cross(way, across))


@lru_cache(maxsize=64)
def _envelope(long: float, radius: float) -> Solid:
    """A round bar from the origin along l."""
    box = Box((0.0, -radius, -radius), (long, 2 * radius, 2 * radius))
    return build_solid(box, [[Cylinder((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), radius, "post")]])
