"""Members and the model as they stand at a stage of the work: what is cut later is not there yet.

A feature is its cutters, so a member at a stage is its blank less the cutters of the features up to that stage;
nothing else is known of a stage, and nothing is remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import get_args

from plangen.findings import DesignError, error
from plangen.geometry.frames import Frame
from plangen.geometry.solid import GeometryError, Solid, build_solid, seen_from
from plangen.geometry.surfaces import Box
from plangen.geometry.vectors import Point, Vec, sub
from plangen.joinery.assembly_cuts import LATER
from plangen.joinery.building import (
    MM3_PER_M3,
    SIDE_TOLERANCE,
    cutters_of,
    moved_feature,
    remaining_surfaces,
)
from plangen.joinery.model import Feature, Member, Model, Stage

STAGES: tuple[Stage, ...] = get_args(Stage)
"""In the order of work."""


def is_cut_later(feature: Feature) -> bool:
    """Cut once members are together, not on the part at the bench."""
    return feature.stage in LATER


def on_the_bench(member: Member) -> Member:
    """The member as it leaves the bench: without what is cut on an assembly.

    What is fitted on the work is there: its sheet says how much wood is left on for it.
    """
    return member_with(member, lambda f: not is_cut_later(f))


def bench_model(model: Model) -> Model:
    """The model with every member as it leaves the bench, and a note on where it is cut further."""
    members = []
    for member in model.members:
        bench = on_the_bench(member)
        later = [a.name for a in model.assemblies if any(mark == member.mark for mark, _ in a.features)]
        notes = tuple(f'Further cut on the assembly "{name}": see its sheet.' for name in later)
        members.append(replace(bench, notes=(*bench.notes, *notes)) if notes else bench)
    return replace(model, members=tuple(members))


def member_at(member: Member, stage: Stage) -> Member:
    """The member once everything up to ``stage`` is cut; a bought part is always whole."""
    if member.role == "bought":
        return member
    last = STAGES.index(stage)
    return member_with(member, lambda f: STAGES.index(f.stage) <= last)


def model_at(model: Model, stage: Stage) -> Model:
    """The model with every member as it stands at ``stage``, where it will stand at the end."""
    return replace(model, members=tuple(member_at(m, stage) for m in model.members))


def member_with(member: Member, keeps: Callable[[Feature], bool]) -> Member:
    """The member with only some of its features; the very same one where it has no others.

    Its frame is that of the box of what is then left, so figures of it and of the whole member differ by
    ``frame_shift``. Raises DesignError where such a solid cannot be made.
    """
    features = [f for f in member.features if keeps(f)]
    if len(features) == len(member.features):
        return member
    try:
        solid = build_solid(member.blank, cutters_of(features))
        origin, size = _box(solid, member)
        blank = member.blank
        if any(origin):
            shift = Frame(origin, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
            features = [moved_feature(f, shift) for f in features]
            blank = Box(sub(blank.origin, origin), blank.size)
            solid = seen_from(solid, origin)
    except GeometryError as problem:
        text = f'"{member.name}" before it is cut on the assembly: {problem}'
        raise DesignError([error(member.place, "solid", text, member.name)]) from None
    density = member.stock.density
    return replace(
        member,
        blank=blank,
        finished=size,
        surfaces=remaining_surfaces(blank, features, solid),
        features=tuple(features),
        solid=solid,
        mass=None if density is None else solid.volume * density / MM3_PER_M3,
        instances=tuple(replace(i, frame=_from(i.frame, origin)) for i in member.instances),
    )


def frame_shift(member: Member, at_stage: Member) -> Vec:
    """What is added to a point of the member at a stage to have it in the whole member's frame."""
    return sub(member.blank.origin, at_stage.blank.origin)


def _from(frame: Frame, origin: Point) -> Frame:
    return replace(frame, origin=frame.point(origin))


def _box(solid: Solid, member: Member) -> tuple[Point, Vec]:
    """Least corner and size of the solid; a side that reaches a side of the blank, or of the whole member's box,
    reaches it exactly."""
    low, high = [], []
    for axis in range(3):
        known = (
            member.blank.origin[axis], member.blank.most[axis], 0.0, member.finished[axis],
        )  # fmt: skip
        low.append(_exact(float(solid.vertices[:, axis].min()), known))
        high.append(_exact(float(solid.vertices[:, axis].max()), known))
    return (low[0], low[1], low[2]), (high[0] - low[0], high[1] - low[1], high[2] - low[2])


def _exact(reached: float, known: Sequence[float]) -> float:
    return next((k for k in known if abs(k - reached) < SIDE_TOLERANCE), reached)
