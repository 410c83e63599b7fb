"""Sticks of wood set up anyhow: a design written from where each member's middle is and which way it runs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hypothesis import strategies as st
from OCP.TopoDS import TopoDS_Shape
from workshop import Built, common, half_space

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, add, cross, dot, scale, sub, unit

# The exact kernel errs where planes are nearly parallel: no angles between 0 and a tenth of a degree.
DEGREES = st.integers(-350, 350).map(lambda tenths: tenths / 10)
TAPERS = st.sampled_from([0.0, 0.0, 1.0, 3.0, 5.0])
"""Degrees between the two edges of a tapered stick."""


def turned(v: Vec, about: Vec, degrees: float) -> Vec:
    """A direction turned about a unit axis, right-handed."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    aside, ahead = cross(about, v), dot(about, v) * (1 - c)
    return unit(add(add(scale(v, c), scale(aside, s)), scale(about, ahead)))


@dataclass(frozen=True)
class Stick:
    """One member: its middle, the ways of its length and width (made square to each other), its sizes."""

    name: str
    middle: Vec
    length_way: Vec
    width_way: Vec
    size: Vec
    taper: float = 0.0
    """Degrees, on the back edge: narrower at end A."""

    @property
    def axes(self) -> tuple[Vec, Vec, Vec]:
        l = unit(self.length_way)  # noqa: E741
        w = unit(sub(self.width_way, scale(l, dot(self.width_way, l))))
        return l, w, cross(l, w)

    @property
    def text(self) -> str:
        axes = self.axes
        corner = self.middle
        for axis, size in zip(axes, self.size, strict=True):
            corner = sub(corner, scale(axis, size / 2))
        length, width, _ = self.size
        words = [
            f"  {self.name}:",
            f"    stock: {self.name} wood",
            f"    length: {length!r}",
            f"    place: {{length: {_vector(axes[0])}, width: {_vector(axes[1])}, corner: {_vector(corner)}}}",
        ]
        if self.taper:
            narrow = width - length * math.tan(math.radians(self.taper))
            words.append(f"    taper: {{on: back edge, at end A: {narrow:.9f}, at end B: {width!r}}}")
        return "\n".join(words) + "\n"


def _vector(v: Vec) -> str:
    return f"[{v[0]:.9f}, {v[1]:.9f}, {v[2]:.9f}]"


def face(built: Built, name: str, side: str) -> Plane:
    """A face of a member's uncut box, or its taper, in the world, outward."""
    body = next(p for p in built.placed if p.name == name)
    planes = dict(body.body.surfaces())
    plane = planes.get(f"taper {side}", planes[side])
    assert isinstance(plane, Plane)
    return plane.placed(body.frame)


def within(*planes: Plane) -> TopoDS_Shape:
    """The exact kernel's solid on the inner side of all of some world planes."""
    shape = half_space(planes[0])
    for plane in planes[1:]:
        shape = common(shape, half_space(plane))
    return shape


def design(*sticks: Stick, joints: str) -> str:
    """The design of some sticks; ``joints`` are lines of the list, without their dashes."""
    stock = "".join(
        f"  {s.name} wood: {{ask for: ash, species: ash, width: {s.size[1]!r}, thickness: {s.size[2]!r}}}\n"
        for s in sticks
    )
    members = "".join(s.text for s in sticks)
    lines = "".join(f"  - {line}\n" for line in joints.strip().splitlines())
    return f"title: Sticks\nunits: mm\nstock:\n{stock}members:\n{members}joints:\n{lines}"
