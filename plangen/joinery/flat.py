"""The flat that a bent bar is made from, as a member of its own: what is marked out before it is bent.

It lies with end A where the bar's points begin; its face side is the one that bends of a positive angle turn toward.
What is bored through a straight stretch of the bar is bored through the flat where that stretch lies on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.geometry.curves import Arc, Line
from plangen.geometry.frames import Frame
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Extruded
from plangen.geometry.vectors import add, cross, neg, scale, sub, unit
from plangen.joinery.building import cutters_of, moved_feature, remaining_surfaces
from plangen.joinery.model import Feature, Member

_STRAY = 1e-3
"""Millimetres by which a hole may start beyond the stretch that it is bored through."""


def flat_of(member: Member) -> Member:
    """The flat bar of a bent one, in its own frame. Raises ValueError for a member that is not bent."""
    bent = member.bent
    if bent is None:
        raise ValueError(f"{member.name} is not bent")
    size = (bent.length, bent.width, bent.thickness)
    blank = Box((0.0, 0.0, 0.0), size)
    stretches = list(_stretches(member))
    moved = (_on_the_flat(f, stretches, size) for f in member.features)
    features = [f for f in moved if f is not None]
    solid = build_solid(blank, cutters_of(features))
    return replace(
        member,
        blank=blank,
        finished=size,
        surfaces=remaining_surfaces(blank, features, solid),
        features=tuple(features),
        solid=solid,
        length_origin="formed",
    )


def _stretches(member: Member) -> Iterator[tuple[Frame, float, float]]:
    """The straights of the bar: the flat's frame as it would lie along each, and where it begins and ends there."""
    bent = member.bent
    outlines = [
        s.form
        for f in member.features
        if f.kind == "outline"
        for s in f.surfaces
        if isinstance(s.form, Extruded)
    ]
    if bent is None or not outlines:
        return
    (form, *_), bends = outlines, bent.bends
    marks = [0.0, *(at for b in bends for at in (b.begins, b.ends)), bent.length]
    spans = [(a, b) for a, b in zip(marks[::2], marks[1::2], strict=True) if b - a > _STRAY]
    # the loop runs along the bar's right side first: as many arcs as there are bends, and the straights between
    side = _first_side(form, len(bends), ends_straight=bent.length - marks[-2] > _STRAY)
    for line, (begins, ends) in zip((c for c in side if isinstance(c, Line)), spans, strict=True):
        start = form.lift(*line.start)
        along = unit(sub(form.lift(*line.end), start))
        up = cross(form.axis, along)
        far = add(start, scale(form.axis, bent.width))
        yield Frame(sub(far, scale(along, begins)), along, neg(form.axis), up), begins, ends


def _first_side(form: Extruded, bends: int, *, ends_straight: bool) -> Iterator[Arc | Line]:
    count = 0
    for curve in form.outline:
        if count == bends and (not ends_straight or not isinstance(curve, Line)):
            return
        if isinstance(curve, Arc | Line):
            yield curve
        if count == bends:
            return
        count += isinstance(curve, Arc)


def _on_the_flat(
    feature: Feature, stretches: Sequence[tuple[Frame, float, float]], size: tuple[float, float, float]
) -> Feature | None:
    """A bored feature where it lies on the flat; None for any other, and for one through a bend."""
    hole = feature.hole
    for frame, begins, ends in stretches if hole is not None else ():
        assert hole is not None
        at, way = frame.local_point(hole.entry), frame.local_direction(hole.axis)
        within = begins - _STRAY < at[0] < ends + _STRAY and -_STRAY < at[2] < size[2] + _STRAY
        if within and abs(way[2]) > math.sqrt(0.5):
            moved = replace(hole, entry=at, axis=way, entry_surface="face" if way[2] < 0 else "back")
            return replace(moved_feature(feature, frame), hole=moved)
    return None
