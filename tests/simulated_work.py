"""The wood on the simulated machine: a mesh from which pieces fall, asked what of it can lie down.

Round surfaces are facets of equal area, so volumes are right but for what a facet's edge does where it meets another
surface; planes are exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import manifold3d
import numpy as np
import shapely
from simulated_forms import Array, Flat, Form, Record, Round, Walls, curve_points, unit
from simulated_machine import WorkSeen

FACETS = 180
SAME = 5e-6
"""Millimetres: a plane nearer than this to one that is there already is cut as that one."""
_OUT = 5.0


class Wood(WorkSeen):
    """A member's blank, from which waste falls piece by piece."""

    def __init__(self, blank: Record) -> None:
        self.low = np.array(blank["origin"], dtype=float)
        self.size = np.array([blank["length"], blank["width"], blank["thickness"]])
        self.solid = manifold3d.Manifold.cube(list(self.size)).translate(list(self.low))
        axes = np.eye(3)
        self._known = [Flat(-a, float(-a @ self.low)) for a in axes]
        self._known += [Flat(a, float(a @ (self.low + self.size))) for a in axes]
        self._mesh: tuple[Array, Array, Array] | None = None

    def part(self, forms: Sequence[Form]) -> None:
        self.solid = self.solid - self._piece([self._settled(f) for f in forms])
        self._mesh = None

    def seat(self, flat: Flat) -> tuple[float, bool]:
        points, normals, areas = self._facets()
        on = (normals @ flat.normal > 1 - 1e-9) & (np.abs(points @ flat.normal - flat.offset) < 1e-4).all(
            axis=1
        )
        if not on.any():
            return 0.0, False
        return float(areas[on].sum()), self._steady(flat, points[on].reshape(-1, 3))

    def above(self, flat: Flat) -> float:
        return float(flat.off(self.corners()).max())

    def corners(self) -> Array:
        """The mesh's vertices, (n, 3)."""
        return np.array(self.solid.to_mesh64().vert_properties)[:, :3]

    def area(self) -> float:
        """Of the whole skin. Where two pieces of waste meet in a plane the mesh may keep a slit of no thickness: both
        of its faces are left out."""
        points, normals, areas = self._facets()
        total = float(areas.sum())
        for flat in self._known:
            level = (np.abs(points @ flat.normal - flat.offset) < 1e-5).all(axis=1)
            ups, downs = (level & (side * (normals @ flat.normal) > 0.5) for side in (1, -1))
            if ups.any() and downs.any():
                u, v = _across(flat.normal)
                faces = [
                    shapely.union_all(shapely.polygons(points[on] @ np.stack([u, v]).T), grid_size=1e-6)
                    for on in (ups, downs)
                ]
                total -= 2 * shapely.intersection(*faces).area
        return total

    def centroid(self) -> Array:
        points, _, _ = self._facets()
        a, b, c = points[:, 0], points[:, 1], points[:, 2]
        parts = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
        return ((a + b + c) * parts[:, None]).sum(axis=0) / 4.0 / parts.sum()

    def _facets(self) -> tuple[Array, Array, Array]:
        if self._mesh is None:
            mesh = self.solid.to_mesh64()
            points = np.array(mesh.vert_properties)[:, :3][np.array(mesh.tri_verts)]
            double = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
            size = np.linalg.norm(double, axis=1)
            self._mesh = points, double / np.maximum(size, 1e-300)[:, None], size / 2
        return self._mesh

    def _steady(self, flat: Flat, points: Array) -> bool:
        """Whether the wood's middle is over the hull of the seat: no direction in which all of the seat lies behind."""
        d = (points - self.centroid()) @ np.stack(_across(flat.normal)).T
        angles = np.sort(np.arctan2(d[:, 1], d[:, 0]))
        gaps = np.diff(np.append(angles, angles[0] + 2 * math.pi))
        return bool(gaps.max() < math.pi)

    def _settled(self, form: Form) -> Form:
        """A plane that is there already but for rounding is that plane."""
        if not isinstance(form, Flat):
            return form
        corners = self.low + self.size * np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
        for known in self._known:
            same = 1.0 if known.normal @ form.normal > 0 else -1.0
            if np.abs(form.off(corners) - same * known.off(corners)).max() < SAME:
                return Flat(same * known.normal, same * known.offset)
        self._known.append(form)
        return form

    def _piece(self, forms: Sequence[Form]) -> Any:
        out = _OUT + 0.05 * float(self.size.max())
        piece = manifold3d.Manifold.cube(list(self.size + 2 * out)).translate(list(self.low - out))
        for form in forms:
            if isinstance(form, Flat):
                piece = piece.trim_by_plane(list(form.normal), form.offset)
            elif isinstance(form, Round):
                rod = _rod(form, *self._reach(form.point, form.axis, out))
                piece = piece - rod if form.post else piece ^ rod
            else:
                low, high = self._reach(np.zeros(3), form.axis, out)
                prism, inside_is_waste = _prism(form, low, high, 10 * float(self.size.max()))
                piece = piece ^ prism if inside_is_waste else piece - prism
        return piece

    def _reach(self, point: Array, axis: Array, out: float) -> tuple[float, float]:
        middle, half = self.low + self.size / 2, self.size / 2 + 2 * out
        at, reach = float((middle - point) @ axis), float(np.abs(axis) @ half)
        return at - reach, at + reach


def _rod(form: Round, low: float, high: float) -> Any:
    if form.slope:
        tip = -form.radius / form.slope
        low, high = (max(low, tip), high) if form.slope > 0 else (low, min(high, tip))
    step = 2 * math.pi / FACETS
    grown = math.sqrt(step / math.sin(step))
    ends = [max(0.0, (form.radius + form.slope * h) * grown) for h in (low, high)]
    rod = manifold3d.Manifold.cylinder(high - low, *ends, FACETS)
    return rod.transform(_placed(form.point + form.axis * low, form.axis))


def _placed(origin: Array, axis: Array) -> Array:
    """A frame with its z along ``axis``, as the 3 x 4 matrix that the mesh kernel takes."""
    return np.column_stack([*_across(axis), axis, origin])


def _across(axis: Array) -> tuple[Array, Array]:
    """Two directions square to a unit vector and to each other, right-handed with it."""
    u = unit(np.cross(np.eye(3)[int(np.argmin(np.abs(axis)))], axis))
    return u, np.cross(axis, u)


def _prism(form: Walls, low: float, high: float, far: float) -> tuple[Any, bool]:
    """The prism of an outline, and whether its inside is where no wood is.

    A closed outline has its wood on the left: inside where it turns counter-clockwise. An open one is carried straight
    on at both ends and round its right side, where no wood is.
    """
    frame = _placed(form.axis * low, form.axis)
    points = np.concatenate(
        [curve_points(c, form.axis, 1 if c["kind"] == "line" else 240) for c in form.curves]
    )
    flat = points @ frame[:, :2]
    if np.linalg.norm(points[0] - points[-1]) < 1e-5:
        ring = flat[:-1]
        x, y = ring.T
        clockwise = float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) < 0
        ring = ring[::-1] if clockwise else ring
    else:
        clockwise = True
        into, out = flat[1] - flat[0], flat[-1] - flat[-2]
        start = flat[0] - into / np.linalg.norm(into) * far
        end = flat[-1] + out / np.linalg.norm(out) * far
        right = np.array([out[1], -out[0]]) / np.linalg.norm(out) * far
        back = np.array([into[1], -into[0]]) / np.linalg.norm(into) * far
        ring = np.vstack([start, flat, end, end + right, start + back])[::-1]
    section = manifold3d.CrossSection([ring])
    return section.extrude(high - low).transform(frame), clockwise
