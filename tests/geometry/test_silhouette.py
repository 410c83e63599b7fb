"""Outline and inner edges of a solid in a picture."""

from __future__ import annotations

import math

from plangen.geometry.frames import WORLD
from plangen.geometry.hidden import draw_view, prepare
from plangen.geometry.silhouette import covered, on_silhouette
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import cross, unit
from plangen.geometry.views import FRONT, Projection

CUBE = build_solid(Box((0.0, 0.0, 0.0), (100.0, 100.0, 100.0)), [])


def corner_view() -> Projection:
    s, c = math.sqrt(0.5), math.sqrt(1 / 3)
    toward = (c, -c, c)
    right = (s, s, 0.0)
    return Projection(right, cross(toward, right), toward)


def test_a_cube_seen_on_its_corner_has_six_edges_on_its_outline_and_three_within() -> None:
    # geometry of the isometric picture (common practice)
    projection = corner_view()
    seen = [s for s in draw_view(prepare([(CUBE, WORLD)]), projection) if s.visible]
    outer = on_silhouette(seen, [(CUBE, WORLD)], projection)
    assert (len(seen), sum(outer)) == (9, 6)


def test_a_cube_seen_square_is_all_outline() -> None:
    seen = [s for s in draw_view(prepare([(CUBE, WORLD)]), FRONT) if s.visible]
    assert all(on_silhouette(seen, [(CUBE, WORLD)], FRONT))


def test_a_solid_in_front_leaves_the_outline_of_the_one_behind_as_it_is() -> None:
    near = build_solid(Box((40.0, -50.0, 40.0), (20.0, 30.0, 20.0)), [])
    solids = [(CUBE, WORLD), (near, WORLD)]
    projection = corner_view()
    seen = [s for s in draw_view(prepare(solids), projection) if s.visible]
    outer = on_silhouette(seen, solids, projection)
    inner = {s.owner for s, is_outer in zip(seen, outer, strict=True) if not is_outer}
    assert inner == {0, 1}


def test_what_a_notched_block_covers_is_one_area_without_slits() -> None:
    """Facets beside a notch meet others in the middle of their sides; seen askew no two roundings agree there."""
    for k in range(12):
        walls = (Plane(unit((1.0, 0.31, 0.1 * k)), 30.0 + k), Plane(unit((-0.7, 1.0, 0.23)), -20.0 - k / 3))
        block = build_solid(Box((0.0, 0.0, 0.0), (100.0, 70.0, 50.0)), [walls])
        ((_, *holes),) = covered(block, WORLD, corner_view())
        assert holes == []
