"""A solid read into arrays, in its own frame: what a scene needs of it, whatever the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from plangen.geometry.patches import PatchSet
from plangen.geometry.pieces import (
    MOST_SIDES,
    MeshEdges,
    Mouth,
    curved_facets,
    mesh_edges,
    plane_pieces,
    well_mouths,
)
from plangen.geometry.rows import cross_rows, dot_rows, unit_rows
from plangen.geometry.scene import (
    Conics,
    Discs,
    Lines,
    Mouths,
    Pieces,
    Rims,
    Rounds,
    Scene,
    join_rows,
    take_rows,
)
from plangen.geometry.solid import Chain, Conic, Solid, Straight
from plangen.geometry.surfaces import Cone, Cylinder, Plane

Array = np.ndarray


def read_shape(solid: Solid) -> Scene:
    """The arrays of one solid as a scene of its own; owner is 0."""
    edges = mesh_edges(solid)
    forms = PatchSet(solid.forms)
    is_round = np.array([isinstance(f, Cylinder | Cone) for f in solid.forms])
    round_of = np.where(is_round, np.cumsum(is_round) - 1, -1)
    rounds = _read_rounds(solid)
    form_of = np.array([face.surface for face in solid.faces], dtype=np.int64)
    mouths = well_mouths(solid)
    wells = [mouth.face for mouth in mouths]
    small, large, discs = _read_pieces(solid, edges, round_of, form_of, wells)
    return Scene(
        lines=_read_lines(solid, edges, forms, round_of, form_of),
        conics=_read_conics(solid, forms, rounds, round_of, form_of),
        rounds=rounds,
        rims=_read_rims(solid, edges, round_of, form_of),
        small=small,
        large=large,
        discs=discs,
        mouths=_read_mouths(mouths, round_of, form_of),
        faces=len(solid.faces),
        size=0.0,
    )


def _vectors(rows: Sequence[object]) -> Array:
    return np.array(rows, dtype=float).reshape(-1, 3)


def _read_lines(solid: Solid, edges: MeshEdges, forms: PatchSet, round_of: Array, form_of: Array) -> Lines:
    starts, ends, sides = [], [], []
    for edge in solid.edges:
        row = (edge.left, edge.right, edge.convex, edge.smooth)
        if isinstance(edge.curve, Straight):
            starts.append(edge.curve.start)
            ends.append(edge.curve.end)
            sides.append(row)
        elif isinstance(edge.curve, Chain):
            starts += edge.curve.points[:-1]
            ends += edge.curve.points[1:]
            sides += [row] * (len(edge.curve.points) - 1)
    start, end = _vectors(starts), _vectors(ends)
    table = np.array(sides, dtype=np.int64).reshape(-1, 4)
    left, right = form_of[table[:, 0]], form_of[table[:, 1]]
    middle = (start + end) / 2
    lines = Lines(
        start=start,
        end=end,
        left=forms.evaluate(left, middle)[1],
        right=forms.evaluate(right, middle)[1],
        left_round=round_of[left],
        right_round=round_of[right],
        convex=table[:, 2] == 1,
        smooth=table[:, 3] == 1,
        facet=np.zeros(len(start), dtype=bool),
        owner=np.zeros(len(start), dtype=np.int64),
    )
    free = ~forms.is_plane & (round_of < 0)
    return join_rows([lines, _facet_borders(solid, edges, free)]) if free.any() else lines


def _facet_borders(solid: Solid, edges: MeshEdges, free: Array) -> Lines:
    """The mesh edges inside the faces of free curves where two facets meet at an angle."""
    x, triangles = solid.vertices, solid.triangles
    number = np.arange(len(edges.twin))
    inner = (edges.face[edges.twin] == edges.face) & free[np.repeat(solid.triangle_form, 3)]
    chosen = np.flatnonzero(inner & (number < edges.twin))
    one, two = triangles[chosen // 3], triangles[edges.twin[chosen] // 3]
    left = unit_rows(cross_rows(x[one[:, 1]] - x[one[:, 0]], x[one[:, 2]] - x[one[:, 0]]))
    right = unit_rows(cross_rows(x[two[:, 1]] - x[two[:, 0]], x[two[:, 2]] - x[two[:, 0]]))
    start, end = x[edges.start[chosen]], x[edges.end[chosen]]
    turn = cross_rows(left, right)
    none = np.full(len(chosen), -1)
    lines = Lines(
        start, end, left, right, none, none,
        convex=dot_rows(turn, end - start) > 0,
        smooth=np.zeros(len(chosen), dtype=bool),
        facet=np.ones(len(chosen), dtype=bool),
        owner=np.zeros(len(chosen), dtype=np.int64),
    )  # fmt: skip
    return take_rows(lines, np.flatnonzero(dot_rows(turn, turn) > 1e-14))


def _read_conics(solid: Solid, forms: PatchSet, rounds: Rounds, round_of: Array, form_of: Array) -> Conics:
    found = [(edge, edge.curve) for edge in solid.edges if isinstance(edge.curve, Conic)]
    left = form_of[[edge.left for edge, _ in found]] if found else np.zeros(0, dtype=np.int64)
    right = form_of[[edge.right for edge, _ in found]] if found else np.zeros(0, dtype=np.int64)
    curves = [curve for _, curve in found]
    conics = Conics(
        centre=_vectors([c.centre for c in curves]),
        major=_vectors([c.major for c in curves]),
        minor=_vectors([c.minor for c in curves]),
        first=np.array([c.first for c in curves], dtype=float),
        last=np.array([c.last for c in curves], dtype=float),
        left=np.zeros((len(found), 3, 3)),
        right=np.zeros((len(found), 3, 3)),
        left_round=round_of[left],
        right_round=round_of[right],
        convex=np.array([edge.convex for edge, _ in found], dtype=bool),
        smooth=np.array([edge.smooth for edge, _ in found], dtype=bool),
        owner=np.zeros(len(found), dtype=np.int64),
    )
    return replace(
        conics,
        left=_normal_terms(conics, forms, rounds, round_of, left),
        right=_normal_terms(conics, forms, rounds, round_of, right),
    )


def _normal_terms(conics: Conics, forms: PatchSet, rounds: Rounds, round_of: Array, form: Array) -> Array:
    """(n, 3, 3): the face's outward normal along each conic as constant, cosine and sine terms.

    Of a cone it is as long as the cone is wide there, one at the conic's middle. A surface carried along an axis
    has its normal along tangent x axis; the sign is read at one point.
    """
    axis = forms.normal[form]
    flat = forms.is_plane[form]
    terms = np.zeros((len(form), 3, 3))
    terms[flat, 0] = axis[flat]
    round_ = np.flatnonzero(round_of[form] >= 0)
    of = round_of[form[round_]]
    way, slope = rounds.axis[of], rounds.slope[of]
    centre = conics.centre[round_] - rounds.point[of]
    radius = rounds.radius[of] + slope * dot_rows(centre, way)
    scale = (rounds.side[of] / (radius * np.sqrt(1.0 + slope * slope)))[:, None]
    for term, v in enumerate((centre, conics.major[round_], conics.minor[round_])):
        height = dot_rows(v, way)
        width = radius if term == 0 else slope * height
        # From the axis, and along it by the slope times the radius, backward.
        terms[round_, term] = (v - way * (height + slope * width)[:, None]) * scale
    free = np.flatnonzero(~flat & (round_of[form] < 0))
    if len(free):
        p = ((conics.first + conics.last) / 2)[free, None]
        c, s = np.cos(p), np.sin(p)
        major, minor = conics.major[free], conics.minor[free]
        true = forms.evaluate(form[free], conics.centre[free] + major * c + minor * s)[1]
        at_middle = cross_rows(minor * c - major * s, axis[free])
        sign = np.sign(dot_rows(true, at_middle))[:, None]
        size = np.sqrt(dot_rows(major, major))[:, None]
        terms[free, 1] = cross_rows(minor, axis[free]) * sign / size
        terms[free, 2] = -cross_rows(major, axis[free]) * sign / size
    return terms


def _read_rounds(solid: Solid) -> Rounds:
    forms = [f for f in solid.forms if isinstance(f, Cylinder | Cone)]
    return Rounds(
        point=_vectors([f.point for f in forms]),
        axis=_vectors([f.axis for f in forms]),
        radius=np.array([f.radius for f in forms], dtype=float),
        slope=np.array([f.slope if isinstance(f, Cone) else 0.0 for f in forms], dtype=float),
        side=np.array([1.0 if f.side == "post" else -1.0 for f in forms]),
        same=np.arange(len(forms)),
        owner=np.zeros(len(forms), dtype=np.int64),
    )


def _read_rims(solid: Solid, edges: MeshEdges, round_of: Array, form_of: Array) -> Rims:
    form = form_of[edges.face]
    chosen = np.flatnonzero((round_of[form] >= 0) & (edges.face[edges.twin] != edges.face))
    normals = _vectors([f.normal if isinstance(f, Plane) else (0.0, 0.0, 0.0) for f in solid.forms])
    return Rims(
        start=solid.vertices[edges.start[chosen]],
        end=solid.vertices[edges.end[chosen]],
        round=round_of[form[chosen]],
        face=edges.face[chosen],
        normal=normals[form[edges.twin[chosen]]],
    )


def _read_mouths(mouths: Sequence[Mouth], round_of: Array, form_of: Array) -> Mouths:
    face = np.array([m.face for m in mouths], dtype=np.int64)
    return Mouths(
        centre=_vectors([m.conic.centre for m in mouths]),
        major=_vectors([m.conic.major for m in mouths]),
        minor=_vectors([m.conic.minor for m in mouths]),
        normal=_vectors([m.normal for m in mouths]),
        face=face,
        round=round_of[form_of[face]],
    )


def _read_pieces(
    solid: Solid, edges: MeshEdges, round_of: Array, form_of: Array, wells: Sequence[int]
) -> tuple[Pieces, Pieces, Discs]:
    polygons, discs = plane_pieces(solid, edges)
    facets = curved_facets(solid, edges, wells)
    sides = np.array([len(c) for c in polygons.corners], dtype=np.int64)

    def padded(index: Array, width: int) -> Pieces:
        count = len(index)
        corners = np.zeros((count, width, 3))
        seams = np.zeros((count, width), dtype=np.int64)
        for row, k in enumerate(index.tolist()):
            corner = polygons.corners[k]
            corners[row, : len(corner)] = corner
            corners[row, len(corner) :] = corner[-1]
            # The side back to the first corner starts at the last copy of the last corner.
            seams[row, : len(corner) - 1] = polygons.seams[k][:-1]
            seams[row, width - 1] = polygons.seams[k][-1]
        return Pieces(
            corners,
            seams,
            _vectors([polygons.normals[k] for k in index]),
            np.zeros(count),
            np.array([polygons.faces[k] for k in index], dtype=np.int64),
            np.full(count, -1),
            np.ones(count),
        )

    curved = Pieces(
        corners=solid.vertices[facets.corners],
        seams=facets.seams,
        normal=facets.normals,
        sag=facets.sags,
        face=facets.faces,
        round=round_of[form_of[facets.faces]],
        hand=np.ones(len(facets.faces)),
    )
    small = join_rows([padded(np.flatnonzero(sides <= 4), 4), curved])
    read = Discs(
        centre=_vectors([d.conic.centre for d in discs]),
        major=_vectors([d.conic.major for d in discs]),
        minor=_vectors([d.conic.minor for d in discs]),
        normal=_vectors([d.normal for d in discs]),
        face=np.array([d.face for d in discs], dtype=np.int64),
        opening=np.array([d.opening for d in discs], dtype=bool),
    )
    return small, padded(np.flatnonzero(sides > 4), MOST_SIDES), read
