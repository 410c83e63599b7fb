"""What must hold of every figure of every design: measured again on the solid, without the code that made it."""

from __future__ import annotations

import math
import re
from collections import deque
from fractions import Fraction

import numpy as np
import pytest
import trimesh

from plangen.dimensioning.figures import SIGHT_OF, Figure
from plangen.dimensioning.proof import prove
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane
from plangen.units import as_length, exact, read_quantity

_FIGURE = re.compile(
    r"\(?(?:\d+ x )?(?:CBORE |SPOT FACE |CSK |CHAMFER )?(?:Ø |R)?"
    r"(?P<size><?(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?))(?P<degrees>°)?"
)


def figures_of(sheets_of, text):
    return [(m, f) for m, figures in sheets_of(text) for f in figures.figures]


def distance(a, b):
    return math.sqrt(sum((p - q) ** 2 for p, q in zip(a, b, strict=True)))


def along(figure: Figure) -> float:
    a, b = (np.array(p) for p in figure.points)
    return abs(float(((b - a) * np.array(figure.direction)).sum()))


def seen_angle(figure: Figure) -> float:
    sight = np.array(SIGHT_OF[figure.view])
    apex, first, second = (np.array(p) - np.array(p) * np.abs(sight) for p in figure.points)
    u, v = first - apex, second - apex
    return math.degrees(math.acos((u * v).sum() / math.sqrt((u * u).sum() * (v * v).sum())))


def test_the_corner_that_positions_start_from_is_one_they_do_start_from(design_text, sheets_of):
    for member, figures in sheets_of(design_text):
        if figures.datum is None:  # a round leg, say: nothing is measured from an arris it lacks
            continue
        lengths = [
            f for f in figures.figures if f.kind == "linear" and f.direction and abs(f.direction[0]) > 0.999
        ]
        starts = [p[0] for f in lengths for p in f.points]
        assert any(abs(start - figures.datum[0]) < 1e-6 for start in starts), member.name
        inside = zip(figures.datum, member.finished, strict=True)
        assert all(-1e-6 < value < size + 1e-6 for value, size in inside), member.name
    assert any(figures.datum is not None for _, figures in sheets_of(design_text))


def test_every_figure_is_the_distance_of_its_points_on_the_solid(design_text, sheets_of):
    for _, f in figures_of(sheets_of, design_text):
        if f.kind in ("linear", "depth"):
            assert abs(sum(c * c for c in f.direction) - 1) < 1e-12
            assert along(f) == pytest.approx(f.value, abs=1e-6), f.id
        elif f.kind == "angular":
            assert seen_angle(f) == pytest.approx(f.value, abs=1e-5), f.id
        else:
            assert distance(*f.points) == pytest.approx(f.value, abs=1e-6), f.id


def test_every_point_lies_on_the_surfaces_it_names(design_text, sheets_of):
    for member, f in figures_of(sheets_of, design_text):
        for p, names in zip(f.points, f.on, strict=True):
            assert names, f.id
            for name in names:
                form = member.surface(name).form
                if isinstance(form, Extruded):
                    continue
                off = abs(form.distance(p))
                if isinstance(form, Cylinder | Cone):
                    off = min(off, from_axis(form, p))  # the centre of a hole
                assert off < 1e-5, (f.id, name, off)


def from_axis(form: Cylinder | Cone, p) -> float:
    across = np.cross(np.array(p) - np.array(form.point), np.array(form.axis))
    return math.sqrt(float((across * across).sum()))


def test_a_rule_can_touch_every_point_or_it_is_a_centre(design_text, sheets_of):
    for member, figures in sheets_of(design_text):
        mesh = trimesh.Trimesh(member.solid.vertices, member.solid.triangles, process=False)
        points, tolerance = [], []
        for f in figures.figures:
            for i, (p, names) in enumerate(zip(f.points, f.on, strict=True)):
                forms = [member.surface(n).form for n in names]
                centre = any(isinstance(c, Cylinder | Cone) and from_axis(c, p) < 1e-5 for c in forms)
                flat = any(
                    isinstance(c, Plane) or (isinstance(c, Cylinder | Cone) and abs(c.distance(p)) < 1e-5)
                    for c in forms
                )
                arc = f.kind == "radius" and i == 0
                if (
                    not (centre and (flat or arc))
                    and not arc
                    and not any(isinstance(c, Extruded) for c in forms)
                ):
                    points.append(p)
                    tolerance.append(1e-5 if all(isinstance(c, Plane) for c in forms) else 0.02)
        if points:
            away = trimesh.proximity.closest_point_naive(mesh, np.array(points))[1]
            assert (away <= np.array(tolerance)).all(), member.name


def printed_value(figure: Figure, unit: str) -> Fraction:
    match = _FIGURE.match(figure.printed)
    assert match, figure.printed
    if match["degrees"]:
        return Fraction(match["size"])
    return as_length(read_quantity(match["size"], unit), unit)


def test_printed_figures_read_back_within_a_step_and_off_is_what_printing_costs(
    design_text, sheets_of, model_of
):
    style = model_of(design_text)[1]
    for _, f in figures_of(sheets_of, design_text):
        if "<" in f.printed:
            continue
        value = printed_value(f, style.length)
        step = style.angle_step if f.kind == "angular" else style.step
        assert abs(float(value) - f.value) <= float(step) + 1e-6, f.id
        assert float(value - exact(f.value)) == pytest.approx(f.off, abs=1e-9), f.id
        assert value != 0, f.id


def test_parentheses_stand_for_what_follows_and_for_nothing_else(design_text, sheets_of):
    for _, f in figures_of(sheets_of, design_text):
        assert (f.printed.startswith("(") and f.printed.endswith(")")) == f.reference, f.id


def test_chains_of_printed_figures_close(design_text, sheets_of, model_of):
    """Each point has one printed coordinate along each axis, whatever way along the chain leads to it."""
    style = model_of(design_text)[1]
    for member, figures in sheets_of(design_text):
        for axis in range(3):
            steps: dict[float, list[tuple[float, Fraction]]] = {}
            for f in figures.figures:
                plain = f.kind in ("linear", "depth") and abs(abs(f.direction[axis]) - 1) < 1e-12
                if not plain or f.value < float(style.step):
                    continue
                a, b = (round(p[axis], 4) for p in f.points)
                size = printed_value(f, style.length) * (1 if b > a else -1)
                steps.setdefault(a, []).append((b, size))
                steps.setdefault(b, []).append((a, -size))
            at: dict[float, Fraction] = {}
            for start in steps:
                if start in at:
                    continue
                at[start] = Fraction(0)
                queue = deque([start])
                while queue:
                    here = queue.popleft()
                    for there, size in steps[here]:
                        if there not in at:
                            at[there] = at[here] + size
                            queue.append(there)
                        assert at[there] == at[here] + size, (member.name, axis, here, there)


def test_every_sheet_is_complete_and_says_nothing_twice(design_text, sheets_of, model_of):
    style = model_of(design_text)[1]
    for member, figures in sheets_of(design_text):
        proof = prove(member, figures, style)
        assert proof.redundant == (), member.name
        if any(f.kind == "round" for f in member.features):
            # How far one end leans round from the other is left to the work, where the ends are cut.
            assert len(proof.undetermined) <= 1, member.name
        else:
            assert proof.undetermined == (), member.name


def test_every_sheet_states_the_box_of_its_member(design_text, sheets_of):
    """The sawyer's three sizes are there, in parentheses or not."""
    for member, figures in sheets_of(design_text):
        said = {round(f.value, 3) for f in figures.figures}
        assert {round(s, 3) for s in member.finished} <= said or _is_shaped(member), (member.name, said)


def _is_shaped(member) -> bool:
    """Width or thickness run out somewhere, so no one figure is the box's."""
    return any(f.kind in ("bevel", "taper", "round", "end", "outline") for f in member.features)


def test_every_sheet_shows_the_face_side_and_only_views_that_hold_figures(design_text, sheets_of):
    for _, figures in sheets_of(design_text):
        assert figures.views[0] == "face"
        assert {f.view for f in figures.figures if not f.said_by} <= set(figures.views)


def test_a_cut_that_opens_on_a_face_is_seen_in_the_view_it_is_figured_in(sheets_of):
    """Mortises of a stile are figured where one looks into them, not through the wood."""
    text = DESIGN_WITH_MORTISE
    for member, figures in sheets_of(text):
        if member.name == "post":
            views = {f.view for f in figures.figures if (f.feature or "").startswith("mortise")}
            assert views <= {"back edge", "edge", "end A", "end B"}


DESIGN_WITH_MORTISE = """
title: Frame corner
units: mm
stock: {larch: {ask for: 40 x 90 larch, thickness: 40, width: 90}}
members:
  post:
    stock: larch
    length: 600
    place: {corner: [0, 0, 0], length: up, width: right}
  rail:
    stock: larch
    place:
      length: right
      face: {toward: front}
      middle: [{through point: [0, 20, 300], square to: up}, {through point: [0, 20, 0], square to: rear}]
    trim: {left: post.right, right: {through point: [500, 0, 0], square to: right}}
joints:
  - {mortise and tenon: [rail, post], length: 40, thickness: 12, width: 60}
"""
