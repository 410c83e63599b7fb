"""A picture of one joint drawn apart: the first member moved out of the second the way it really comes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from plangen.drawing.mark_geometry import curves_box, moved_curve
from plangen.drawing.marks import Fill, Mark, Stroke
from plangen.drawing.view_on_paper import curve_span, scaled_curve
from plangen.geometry.boxes import points_in_boxes
from plangen.geometry.clash import clash, world_vertices
from plangen.geometry.curves import Line, Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.hidden import draw_merged, prepare
from plangen.geometry.patches import crosses
from plangen.geometry.silhouette import covered, on_silhouette
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, add, cross, dot, neg, scale, unit
from plangen.geometry.views import Projection
from plangen.joinery.model import Instance, Member, Model

SIZE = (80.0, 60.0)
"""Millimetres, across and up."""
_MARGIN = 2.0
_STUB = 1.1
"""Members run this share of their section past the joint, then are cut off."""
_APART = 0.4
"""Wood against wood: the gap drawn, as a share of the joint's own depth, at least a quarter of a section."""
_STEPS = (0.02, 0.1, 0.3, 1.0, 3.0, 10.0, 20.0, 35.0, 60.0, 100.0)
"""Millimetres moved at which the way out is tried."""
_AZIMUTHS = (32.0, -32.0, 58.0, -58.0, 122.0, -122.0, 148.0, -148.0)
_RISES = (24.0, -24.0)
_FIRST_GREY = 0.9
_SPOTS = np.array([[4.0, 1.0, 1.0], [1.0, 4.0, 1.0], [1.0, 1.0, 4.0]]) / 6
"""Where in a triangle its being seen is judged."""


@dataclass(frozen=True)
class _Part:
    solid: Solid
    frame: Frame
    moved: float
    """Millimetres along the way out; 0: the second, which stays."""


def joint_picture(model: Model) -> tuple[tuple[Mark, ...], tuple[float, float]]:
    """Marks of the model's first joint, and the size of the picture, millimetres.

    Loose pieces (splines, loose tenons) are drawn half way. Raises ValueError where the first member comes
    off the second by no straight move.
    """
    joint = model.joints[0]
    (first, at_first), (second, at_second) = (model.instance(name) for name in joint.members)
    joined = {name for other in model.joints for name in other.members}
    loose = [(m, i) for m in model.members for i in m.instances if i.name not in joined]
    way, depth = _way_out(first, at_first, second, at_second)
    section = 0.8 * min(max(first.finished[1:]), max(second.finished[1:]))
    far = depth + max(_APART * depth, section)
    moved = replace(at_first, frame=_shifted(at_first.frame, scale(way, far)))
    parts = [
        _Part(_stub(first, at_first, joint.name), moved.frame, far),
        _Part(_stub(second, at_second, joint.name), at_second.frame, 0.0),
        *(_Part(m.solid, _shifted(i.frame, scale(way, far / 2)), far / 2) for m, i in loose),
    ]
    skin = np.concatenate([world_vertices(p.solid, p.frame)[p.solid.triangles] for p in parts])
    cut = [_world_cut(first, moved, joint.name), _world_cut(second, at_second, joint.name)]
    return _drawn(parts, _eye(cut, skin, way), way), SIZE


def _world_cut(member: Member, instance: Instance, joint: str) -> np.ndarray:
    triangles = _cut_triangles(member, joint)
    points = [instance.frame.point((p[0], p[1], p[2])) for p in triangles.reshape(-1, 3).tolist()]
    return np.array(points).reshape(-1, 3, 3)


def _way_out(
    first: Member,
    at_first: Instance,
    second: Member,
    at_second: Instance,
) -> tuple[Vec, float]:
    """Unit direction in which the first leaves the second by the shortest way, and how far until they part."""
    forms = _joint_forms(first, at_first) + _joint_forms(second, at_second)
    normals = [f.normal for f in forms if isinstance(f, Plane)]
    axes = [f.axis for f in forms if not isinstance(f, Plane)]
    crossed = [unit(c) for a, b in itertools.combinations(normals[:12], 2) if dot(c := cross(a, b), c) > 1e-4]
    frame, other = at_first.frame, at_second.frame
    own = [frame.l, frame.w, frame.t, other.l, other.w, other.t]
    ways = [
        w
        for way in (*_faces_apart(first, at_first, second, at_second), *own, *normals, *axes, *crossed)
        for w in (way, neg(way))
    ]
    (cut_first, one), (cut_second, two) = _ends(first, at_first), _ends(second, at_second)
    cut = cut_first or cut_second
    ranked = sorted((round(_depth(one, two, w), 3) if cut else 0.0, rank) for rank, w in enumerate(ways))
    for depth, rank in ranked:
        if depth >= 0 and _comes_off(first.solid, frame, second.solid, other, ways[rank]):
            return ways[rank], depth
    raise ValueError(f'"{at_first.name}" comes off "{at_second.name}" by no straight move')


def _joint_forms(member: Member, instance: Instance) -> list[Form]:
    """The surfaces that joints leave on the member, in the world."""
    ids = set(_joint_surfaces(member, None))
    return [s.form.placed(instance.frame) for s in member.surfaces if s.id in ids]


def _faces_apart(first: Member, at_first: Instance, second: Member, at_second: Instance) -> list[Vec]:
    """The way out of each plane of the second that a plane of the first lies against."""
    theirs = [s.form.placed(at_second.frame) for s in second.surfaces if isinstance(s.form, Plane)]
    own = [s.form.placed(at_first.frame) for s in first.surfaces if isinstance(s.form, Plane)]
    return [
        p.normal
        for p in theirs
        for q in own
        if dot(p.normal, q.normal) < -1 + 1e-9 and abs(p.offset + q.offset) < 1e-3
    ]


def _comes_off(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame, way: Vec) -> bool:
    return all(clash(a, _shifted(frame_a, scale(way, step)), b, frame_b) is None for step in _STEPS)


def _ends(member: Member, at: Instance) -> tuple[bool, np.ndarray]:
    """Whether joints cut the member, and corners (n, 3) of what they cut, or else of all of it, in the world."""
    cut = _cut_triangles(member, None).reshape(-1, 3)
    points = np.unique(cut if len(cut) else member.solid.vertices, axis=0).tolist()
    return len(cut) > 0, np.array([at.frame.point((p[0], p[1], p[2])) for p in points])


def _depth(first: np.ndarray, second: np.ndarray, way: Vec) -> float:
    """How far the first of two sets of corners (n, 3) is moved until it stands apart from the second."""
    reach = [c[:, 0] * way[0] + c[:, 1] * way[1] + c[:, 2] * way[2] for c in (first, second)]
    return float(reach[1].max() - reach[0].min())


def _shifted(frame: Frame, by: Vec) -> Frame:
    return replace(frame, origin=add(frame.origin, by))


def _joint_surfaces(member: Member, joint: str | None) -> list[str]:
    return [
        s.id for f in member.features if f.joint is not None and joint in (None, f.joint) for s in f.surfaces
    ]


def _cut_triangles(member: Member, joint: str | None) -> np.ndarray:
    """(n, 3, 3) triangles of the joint's surfaces in the member's frame."""
    ids = set(_joint_surfaces(member, joint))
    forms = [s.form for s in member.surfaces if s.id in ids]
    solid = member.solid
    on = [i for i, f in enumerate(solid.forms) if any(_same(f, g) for g in forms)]
    return solid.vertices[solid.triangles[np.isin(solid.triangle_form, on)]]


def _same(a: Form, b: Form) -> bool:
    if isinstance(a, Plane) and isinstance(b, Plane):
        return dot(a.normal, b.normal) > 1 - 1e-9 and abs(a.offset - b.offset) < 1e-5
    return type(a) is type(b)


def _stub(member: Member, instance: Instance, joint: str) -> Solid:
    """The member near the joint: what runs farther along its length is cut off square."""
    at = _cut_triangles(member, joint)[:, :, 0].ravel()
    length = member.finished[0]
    if len(at) == 0:
        return member.solid
    room = _STUB * max(member.finished[1:])
    low, high = float(at.min()) - room, float(at.max()) + room
    planes = [Plane((-1.0, 0.0, 0.0), -low)] if low > 0.02 * length else []
    planes += [Plane((1.0, 0.0, 0.0), high)] if high < 0.98 * length else []
    if not planes:
        return member.solid
    cutters: list[Sequence[Form]] = [(p,) for p in planes]
    for feature in member.features:
        forms = {s.id: s.form for s in feature.surfaces}
        cutters += [[forms[i] for i in cutter] for cutter in feature.cutters]
    return build_solid(member.blank, cutters)


def _eye(cut: Sequence[np.ndarray], skin: np.ndarray, way: Vec) -> Projection:
    """The viewpoint that sees most of both members' ``cut`` triangles past the ``skin``, the move across the paper."""
    whole = [max(_areas(c).sum(), 1e-9) for c in cut]

    def seen(azimuth: float, rise: float) -> float:
        toward = _toward(azimuth, rise)
        first, second = (_seen_area(c, skin, toward) / w for c, w in zip(cut, whole, strict=True))
        across = math.sqrt(max(0.0, 1.0 - dot(way, toward) ** 2))
        return (first / 2 + second + min(first, second) + 0.05) * (1.15 if rise > 0 else 1.0) * across

    azimuth, rise = max(itertools.product(_AZIMUTHS, _RISES), key=lambda view: round(seen(*view), 3))
    a = math.radians(azimuth)
    toward, right = _toward(azimuth, rise), (math.cos(a), math.sin(a), 0.0)
    return Projection(right, cross(toward, right), toward)


def _areas(triangles: np.ndarray) -> np.ndarray:
    normal = crosses(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return np.sqrt((normal * normal).sum(1)) / 2


def _seen_area(cut: np.ndarray, skin: np.ndarray, toward: Vec) -> float:
    """How much of the ``cut`` triangles (n, 3, 3) shows from one side, judged at three points of each: a ray from
    there to the eye meets none of the ``skin`` (m, 3, 3)."""
    normal = crosses(cut[:, 1] - cut[:, 0], cut[:, 2] - cut[:, 0]) / 2
    facing = (normal * np.array(toward)).sum(1)
    cut, facing = cut[facing > 0], facing[facing > 0]
    if len(cut) == 0:
        return 0.0
    axes = _axes(toward)
    spots = _seen_from(np.einsum("sk,nkc->nsc", _SPOTS, cut).reshape(-1, 3), axes)
    facets = _seen_from(skin, axes)
    low, high = facets.min(1), facets.max(1)
    spot, facet = points_in_boxes(spots[:, :2], low[:, :2], high[:, :2])
    hidden = np.zeros(len(spots), dtype=bool)
    hidden[spot[_before(facets[facet], spots[spot])]] = True
    return float((facing * (~hidden).reshape(-1, len(_SPOTS)).mean(1)).sum())


def _axes(toward: Vec) -> tuple[Vec, Vec, Vec]:
    """Right and up on paper for an eye ``toward`` which the work is seen from, and that way itself."""
    right = unit((-toward[1], toward[0], 0.0))
    return right, cross(toward, right), toward


def _seen_from(points: np.ndarray, axes: tuple[Vec, Vec, Vec]) -> np.ndarray:
    """Points (..., 3) as right, up and how near the eye."""
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    return np.stack([x * a[0] + y * a[1] + z * a[2] for a in axes], axis=-1)


def _before(facets: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """Whether each facet (n, 3, 3) covers the spot (n, 3) in its row from nearer the eye."""
    a, b, c, p = facets[:, 0], facets[:, 1] - facets[:, 0], facets[:, 2] - facets[:, 0], spots - facets[:, 0]
    area = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    flat = np.abs(area) > 1e-9
    over = 1.0 / np.where(flat, area, 1.0)
    u = (p[:, 0] * c[:, 1] - p[:, 1] * c[:, 0]) * over
    v = (b[:, 0] * p[:, 1] - b[:, 1] * p[:, 0]) * over
    nearer = a[:, 2] + u * b[:, 2] + v * c[:, 2] - spots[:, 2]
    return flat & (u > 0) & (v > 0) & (u + v < 1) & (nearer > 1e-3)


def _toward(azimuth: float, rise: float) -> Vec:
    a, e = math.radians(azimuth), math.radians(rise)
    return (math.sin(a) * math.cos(e), -math.cos(a) * math.cos(e), math.sin(e))


def _drawn(parts: Sequence[_Part], projection: Projection, way: Vec) -> tuple[Mark, ...]:
    solids = [(p.solid, p.frame) for p in parts]
    seen = [s for s in draw_merged(prepare(solids), projection) if s.visible]
    outer = on_silhouette(seen, solids, projection)
    x0, y0, x1, y1 = curves_box(s.curve for s in seen)
    k = min((SIZE[0] - 2 * _MARGIN) / (x1 - x0), (SIZE[1] - 2 * _MARGIN) / (y1 - y0))
    shift = (SIZE[0] / 2 - (x0 + x1) / 2 * k, SIZE[1] / 2 - (y0 + y1) / 2 * k)
    marks: list[Mark] = []
    nearer = dot(way, projection.toward)
    for i in sorted(range(len(parts)), key=lambda i: round(parts[i].moved * nearer, 6)):
        marks += _shade(*solids[i], projection, k, shift, _FIRST_GREY if parts[i].moved else 1.0)
    for stroke, is_outer in zip(seen, outer, strict=True):
        curve = moved_curve(scaled_curve(stroke.curve, k), shift)
        if curve_span(curve) >= 0.05:
            wide = is_outer and stroke.kind != "smooth"
            marks.append(Stroke((curve,), "fine outline" if wide else "narrow"))
    return tuple(marks)


def _shade(
    solid: Solid, frame: Frame, projection: Projection, k: float, shift: Vec2, grey: float
) -> list[Mark]:
    """The area that a solid covers on paper."""
    marks: list[Mark] = []
    for loops in covered(solid, frame, projection):
        lines = [Line(p, q) for loop in loops for p, q in itertools.pairwise([*loop, loop[0]])]
        marks.append(Fill(tuple(moved_curve(scaled_curve(c, k), shift) for c in lines), grey))
    return marks
