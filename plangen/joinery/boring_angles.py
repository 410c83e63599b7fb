"""Boring angles: how a socket that leans is bored, told on the face it is bored from.

The *resultant* is the angle between the drill and the square to the face; the *sight line* is the line on the face
in which the drill leans: looked at along it the drill stands square, looked at across it it shows the resultant.
With rake and splay seen in two elevations of a level seat, tan resultant = sqrt(tan^2 rake + tan^2 splay) and
tan sight line = tan splay / tan rake (chair-making practice); here both come from the axis and the face itself,
so that they hold for a face that slopes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.geometry.vectors import Vec, angle_between, dot, length, neg, scale, sub, unit

_SQUARE = 1e-9


@dataclass(frozen=True)
class BoringAngles:
    """How the axis of a socket leans from square to a face."""

    resultant: float
    """Radians from square to the face; 0: square."""
    sight_line: float
    """Radians between the reference direction's line and the sight line, 0 to a quarter turn; 0 where square."""
    toward: Vec | None
    """Unit, along the face: the way the axis leans as it goes into the wood; None where it is square."""


def boring_angles(axis: Vec, normal: Vec, reference: Vec) -> BoringAngles:
    """The angles of a socket bored along ``axis`` (into the wood) from a face with outward ``normal``.

    ``reference`` is any direction not square to the face, such as a seat's front to back; the sight line is measured
    from its trace on the face. All in one frame, of any length.
    """
    axis, normal = unit(axis), unit(normal)
    flat = sub(axis, scale(normal, dot(axis, normal)))
    trace = sub(reference, scale(normal, dot(reference, normal)))
    resultant = angle_between(axis, neg(normal))
    if length(flat) < _SQUARE:
        return BoringAngles(0.0, 0.0, None)
    line = angle_between(flat, trace)
    return BoringAngles(resultant, min(line, math.pi - line), unit(flat))
