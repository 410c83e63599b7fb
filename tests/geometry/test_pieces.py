"""Convex pieces of faces: together they hide all that the face hides, seams included."""

from __future__ import annotations

import pytest
from scenes import before, beyond, block

from plangen.geometry.pieces import mesh_edges, plane_pieces, turn_sign
from plangen.geometry.solid import build_solid


@pytest.mark.parametrize("fingers", [3, 5, 7, 9])
@pytest.mark.parametrize("run", [120.0, 160.0])
def test_a_seam_is_never_in_line_with_an_outline_of_its_own_piece(fingers: int, run: float) -> None:
    # Such a seam cannot be moved aside alone: an edge right behind it would show through.
    wide = run / fingers
    gaps = [(i * wide, (i + 1) * wide) for i in range(0, fingers, 2)]
    cutters = [(beyond(1, a), before(1, b), beyond(0, 211.0)) for a, b in gaps]
    cutters += [(beyond(1, a), before(1, b), before(0, 9.0)) for a, b in gaps]
    solid = build_solid(block(220.0, 160.0, 9.0), cutters)
    polygons, _ = plane_pieces(solid, mesh_edges(solid))
    for corners, seams, normal in zip(polygons.corners, polygons.seams, polygons.normals, strict=True):
        axis = max(range(3), key=lambda i: abs(normal[i]))
        flat = [tuple(c for i, c in enumerate(corner) if i != axis) for corner in corners.tolist()]
        for i, seam in enumerate(seams):
            straight_on = turn_sign(flat[i - 1], flat[i], flat[(i + 1) % len(flat)]) == 0
            assert not straight_on or (seam == 0 and seams[i - 1] == 0)
