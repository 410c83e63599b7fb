"""Bought parts with a place: a simple envelope, box or round, or bar bent along points."""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.surfaces import Box, Cylinder
from plangen.geometry.vectors import Vec
from plangen.placing.bending import place_bent
from plangen.placing.body import Body, Shaping
from plangen.placing.copies import standings
from plangen.placing.locating import AXIS_WORDS, Extent, locate, orient
from plangen.placing.scope import Scope
from plangen.tables.stock import Stock


def has_place(part: d.Bought) -> bool:
    """Whether the part stands somewhere: it has a place, or points that it is bent along."""
    return part.place is not None or part.bent is not None


def place_bought(scope: Scope, name: str) -> Body:
    """The envelope of the bought part ``name`` where it stands. Raises DesignError."""
    key = next(k for k in scope.design.bought if k == name)
    part = scope.design.bought[key]
    if part.bent is not None:
        return place_bent(scope, name, part)
    if part.place is None or (part.box is None and part.round is None):
        raise fail(part.source, "bought", f'"{name}" has no place, so nothing can refer to it', name)
    if part.box is not None:
        size: Vec = (scope.length(part.box[0]), scope.length(part.box[1]), scope.length(part.box[2]))
    else:
        assert part.round is not None
        length, diameter = (scope.length(e) for e in part.round)
        size = (length, diameter, diameter)
    axes = orient(scope, name, part.place, is_round=part.round is not None)
    extents = (Extent(0.0, size[0]), Extent(0.0, size[1]), Extent(0.0, size[2]))
    located = locate(scope, name, part.place, axes, extents)
    if located.sliding:
        word = AXIS_WORDS[located.sliding[0]]
        raise fail(
            part.place.place, "freedom", f'"{name}" can still slide along its {word}: say what stops it', name
        )
    box = Box((0.0, 0.0, 0.0), size)
    shapings: tuple[Shaping, ...] = ()
    if part.round is not None:
        r = size[1] / 2
        form = Cylinder((0.0, r, r), (1.0, 0.0, 0.0), r, "post")
        shapings = (Shaping("round", "edge", form, part.source),)
    stock = Stock(str(part.size), "bought", "", size[2], size[1])
    return Body(
        name,
        "bought",
        stock,
        box,
        shapings,
        (),
        standings(scope, name, part.copies, located.frame, box),
        part.source,
        is_round=part.round is not None,
    )
