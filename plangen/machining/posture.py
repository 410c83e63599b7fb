"""How the work lies at a machine, and the angles at which the tool then stands to a plane of it.

Formulas: with the work's outward normals D down and G against the fence, z = -D, y is what is left of G square to
z, x = y x z. The blade's normal is Rz(miter) Ry(bevel) ex = (cos m cos b, sin m cos b, -sin b), derived for the
conventions of ``setup.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, add, along, cross, dot, neg, scale, squared, unit
from plangen.machining.setup import Tilt

LEVEL = 1e-9
"""Sine below which directions are parallel."""


@dataclass(frozen=True)
class Posture:
    """Directions of the machine's x, y, z in the member's frame, the tilt applied: orthonormal, right-handed."""

    x: Vec
    y: Vec
    z: Vec

    def to_machine(self, v: Vec) -> Vec:
        return (dot(v, self.x), dot(v, self.y), dot(v, self.z))

    def to_member(self, v: Vec) -> Vec:
        return add(add(scale(self.x, v[0]), scale(self.y, v[1])), scale(self.z, v[2]))


def lying(down: Plane, against: Plane, tilt: Tilt | None = None) -> Posture:
    """The work with one plane on the table and another against the fence, then tilted.

    Raises ValueError where the two are parallel.
    """
    z = neg(down.normal)
    level = along(against.normal, z, -dot(against.normal, z))
    if dot(level, level) < LEVEL:
        raise ValueError("a surface cannot lie on the table and stand at the fence")
    y = squared(unit(level))
    flat = Posture(cross(y, z), y, z)
    return flat if tilt is None else tilted(flat, tilt)


def tilted(flat: Posture, tilt: Tilt) -> Posture:
    """The posture after the work is turned about the level axis at ``tilt.azimuth`` by the right-hand rule."""
    axis = flat.to_member((math.cos(tilt.azimuth), math.sin(tilt.azimuth), 0.0))
    # turning the work by +angle turns the machine, seen from the work, by -angle
    return Posture(*(_turned(v, axis, -tilt.angle) for v in (flat.x, flat.y, flat.z)))


def _turned(v: Vec, axis: Vec, angle: float) -> Vec:
    c, s = math.cos(angle), math.sin(angle)
    return add(add(scale(v, c), scale(cross(axis, v), s)), scale(axis, dot(axis, v) * (1.0 - c)))


def levelling(flat: Posture, normal: Vec) -> Tilt | None:
    """The tilt that brings ``normal`` (member frame) upright, up or down, whichever is nearer; None where it is."""
    n = flat.to_machine(normal)
    n = n if n[2] >= 0.0 else neg(n)
    sine = math.hypot(n[0], n[1])
    if sine < LEVEL:
        return None
    # turning about n x z by the angle between them takes n to z
    return Tilt(math.atan2(sine, n[2]), math.atan2(-n[0], n[1]))


@dataclass(frozen=True)
class BladeAngles:
    """Miter and bevel (radians), and on which side of the blade the plane's outer side (the waste) lies."""

    miter: float
    bevel: float
    waste_right: bool


def blade_angles(posture: Posture, normal: Vec) -> BladeAngles:
    """The blade that cuts a plane whose outward normal is ``normal`` (member frame).

    Miter lies above -90 and up to +90 degrees: a cut along the fence is +90, its normal toward the fence.
    """
    m = squared(unit(posture.to_machine(normal)))
    right = m[0] > LEVEL or (abs(m[0]) <= LEVEL and m[1] > 0.0)
    n = m if right else neg(m)
    return BladeAngles(math.atan2(n[1], n[0]) + 0.0, math.asin(max(-1.0, min(1.0, -n[2]))) + 0.0, right)


def blade_normal(posture: Posture, miter: float, bevel: float) -> Vec:
    """The blade's normal (to the right at rest) in the member's frame."""
    cm, sm, cb, sb = math.cos(miter), math.sin(miter), math.cos(bevel), math.sin(bevel)
    return posture.to_member((cm * cb, sm * cb, -sb))


def floor_normal(posture: Posture, miter: float, bevel: float) -> Vec:
    """The normal, upward at rest, of the floor that a head at these angles leaves: Rz(miter) Ry(bevel) ez."""
    cm, sm, cb, sb = math.cos(miter), math.sin(miter), math.cos(bevel), math.sin(bevel)
    return posture.to_member((cm * sb, sm * sb, cb))


def trace_direction(posture: Posture, miter: float) -> Vec:
    """The direction, level, in which the blade runs: Rz(miter) ey."""
    return posture.to_member((-math.sin(miter), math.cos(miter), 0.0))
