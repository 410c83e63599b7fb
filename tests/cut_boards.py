"""Boards with plane cuts made up in tests, and how a way of cutting is held against the wood it must become."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from setups_read import planes_made

from plangen.findings import Place
from plangen.geometry.frames import WORLD
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Plane, Surface
from plangen.joinery.model import Feature, FeatureKind, Instance, Member
from plangen.machining.setup import Setup, Way
from plangen.machining.work import Bench, Work
from plangen.tables.stock import resolve_stock

HERE = Place("board.yaml", 3, 5)
REACHED = 1e-6
"""Millimetres: what a plane may be off by anywhere on the work."""


def cut(kind: FeatureKind, number: int, *cutters: Sequence[Plane]) -> Feature:
    """A feature of these cutters; planes that are the same are one surface."""
    name = f"{kind} {number}"
    surfaces: list[Surface] = []
    named = []
    for cutter in cutters:
        ids = []
        for plane in cutter:
            known = next((s for s in surfaces if s.form == plane), None)
            if known is None:
                known = Surface(f"{name}.{len(surfaces) + 1}", plane, name)
                surfaces.append(known)
            ids.append(known.id)
        named.append(tuple(ids))
    return Feature(name, kind, "shaped", "worked", None, None, HERE, tuple(surfaces), tuple(named))


def board(length: float, width: float, thick: float, *features: Feature) -> Member:
    box = Box((0.0, 0.0, 0.0), (length, width, thick))
    forms = {s.id: s.form for f in features for s in f.surfaces}
    solid = build_solid(box, [[forms[i] for i in c] for f in features for c in f.cutters])
    return Member(
        "A", "board", "work", resolve_stock("18 mm birch plywood", "mm"), box, box.size,
        tuple(Surface(i, p) for i, p in box.planes().items()), features, solid, None,
        (Instance("board", None, WORLD),), None, HERE,
    )  # fmt: skip


def cuts_of(member: Member) -> Iterator[tuple[Work, Feature]]:
    """The work before each of the member's features whose surfaces are planes, cut in the order of the list."""
    bench, done = Bench(member), []
    for feature in member.features:
        if all(isinstance(s.form, Plane) for s in feature.surfaces):
            yield bench.work(done), feature
        done.append(feature.id)


def assert_makes(work: Work, feature: Feature, way: Way) -> None:
    """Each surface is made once, and the numbers of the set-ups alone give back those not cut by hand."""
    made = [i for s in way.setups for i in s.makes]
    assert sorted(made) == sorted(s.id for s in feature.surfaces)
    planes = {i: (p.normal, p.offset) for i, p in work.planes().items()}
    forms = {s.id: s.form for s in feature.surfaces}
    for setup in way.setups:
        if setup.by_hand is None:
            _assert_numbers(setup, planes, forms, max(work.member.blank.size))
        planes |= {i: (forms[i].normal, forms[i].offset) for i in setup.makes}
        if setup.machine != "hand" and setup.depth is None:
            assert_takes_only_waste(work.after(feature), forms[setup.makes[0]])
    cutters = {c for s in way.setups for c in s.frees}
    assert cutters == set(feature.cutters)


def assert_takes_only_waste(after: Work, plane: Plane) -> None:
    """A cut right through leaves none of the wood that stays on its outer side."""
    off = after.solid.vertices @ np.asarray(plane.normal) - plane.offset
    assert off.max() < 10 * REACHED


def _assert_numbers(setup: Setup, planes: dict, forms: dict[str, Plane], size: float) -> None:
    named = {setup.surface_down, setup.surface_against, setup.depth_from} - {None}
    if setup.stop is not None:
        named |= {setup.stop.start, *setup.stop.arris}
    assert named <= set(planes), f"{named - set(planes)} are not there yet"
    made = planes_made(setup, planes)
    assert set(made) == set(setup.makes)
    for name, (normal, offset) in made.items():
        assert np.abs(np.subtract(normal, forms[name].normal)).max() * size < REACHED
        assert abs(offset - forms[name].offset) < REACHED
    if setup.stop is not None:
        _assert_mark(setup, planes)
    for point, _ in setup.depth_at:
        normal, offset = planes[setup.depth_from]
        assert abs(np.dot(normal, point) - offset) < REACHED


def _assert_mark(setup: Setup, planes: dict) -> None:
    """The mark is on both planes of its arris, at its distance from the plane that it starts at."""
    at = np.asarray(setup.stop.at)
    (n1, d1), (n2, d2), (n3, d3) = (planes[i] for i in (*setup.stop.arris, setup.stop.start))
    start = np.linalg.solve(np.array([n1, n2, n3]), np.array([d1, d2, d3]))
    assert abs(np.dot(n1, at) - d1) < REACHED
    assert abs(np.dot(n2, at) - d2) < REACHED
    assert abs(np.linalg.norm(at - start) - abs(setup.stop.distance)) < REACHED
    assert setup.stop.distance * np.dot(at - start, n3) < REACHED
