"""The surfaces of a part as plan.json has them, each with its unknowns, and what a printed figure says."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

A = np.ndarray
_NUMBER = re.compile(
    r"\(?(?:\d+ x )?(?:CBORE |SPOT FACE |CSK |CHAMFER )?(?:Ø |R)?(?P<n>\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?P<deg>°)?"
)


def printed_value(printed: str, unit_mm: Fraction) -> float | None:
    """Millimetres, or degrees; None where the figure is only said to be less than something."""
    match = _NUMBER.match(printed)
    if match is None:
        return None
    value = sum((Fraction(part) for part in match["n"].split()), Fraction(0))
    return float(value if match["deg"] else value * unit_mm)


def dot(a: A, b: A) -> A:
    return (a * b).sum(-1)


def unit(a: A) -> A:
    return a / np.sqrt(dot(a, a))[..., None]


def across(n: A) -> tuple[A, A]:
    e = np.eye(3)[int(np.argmin(np.abs(n)))]
    u = np.cross(n, e)
    u = u / math.sqrt(float(u @ u))
    return u, np.cross(n, u)


@dataclass
class Surface:
    """One plane, cylinder or cone, and where its unknowns stand."""

    name: str
    kind: str
    """plane, round."""
    way: A
    """Normal, or axis."""
    point: A
    radius: float = 0.0
    slope: float = 0.0
    side: str = ""
    count: int = 3
    start: int = 0
    lever: float = 50.0

    def __post_init__(self) -> None:
        self.u, self.v = across(self.way)
        self._last: tuple[A, tuple[A, A, A, A]] | None = None

    def at(self, x: A) -> tuple[A, A, A, A]:
        """Way, point, radius, slope for a batch of unknowns."""
        if self._last is None or self._last[0] is not x:
            self._last = (x, self._at(x))
        return self._last[1]

    def _at(self, x: A) -> tuple[A, A, A, A]:
        k, lever = self.start, self.lever
        if self.kind == "plane":
            way = self.way + x[:, k + 1, None] / lever * self.u + x[:, k + 2, None] / lever * self.v
            return unit(way), self.point + x[:, k, None] * self.way, x[:, k] * 0, x[:, k] * 0
        way = self.way + x[:, k + 1, None] / lever * self.u + x[:, k + 3, None] / lever * self.v
        point = self.point + x[:, k, None] * self.u + x[:, k + 2, None] * self.v
        slope = self.slope + (x[:, k + 5] / lever if self.count == 6 else x[:, k] * 0)
        return unit(way), point, self.radius + x[:, k + 4], slope

    def distance(self, x: A, p: A) -> tuple[A, A]:
        """Of points from the skin, and its gradient."""
        way, point, radius, slope = self.at(x)
        d = p - point
        if self.kind == "plane":
            return dot(way, d), way
        along = dot(way, d)
        radial = d - along[:, None] * way
        size = np.sqrt(dot(radial, radial))
        return size - radius - slope * along, radial / size[:, None] - slope[:, None] * way

    def from_axis(self, x: A, p: A, e: A) -> tuple[A, A]:
        """Of points from the axis along a direction across it."""
        way, point, _, _ = self.at(x)
        d = p - point
        radial = d - dot(way, d)[:, None] * way
        return dot(radial, e), e - dot(way, e[None])[:, None] * way

    def is_axis_through(self, p: A) -> bool:
        d = np.cross(p - self.point, self.way)
        return float(d @ d) < 1e-10


def surfaces_of(member: dict[str, Any]) -> list[Surface]:
    """Every surface that a figure or convention can be of; an outline as its pieces, ``id#1``, ``id#2``."""
    found: list[Surface] = []
    for s in member["surfaces"]:
        if s["kind"] == "plane":
            n = np.array(s["normal"])
            found.append(Surface(s["id"], "plane", n, n * s["offset"]))
        elif s["kind"] in ("cylinder", "cone"):
            slope = s.get("slope", 0.0)
            count = 6 if s["kind"] == "cone" and s["side"] == "post" else 5
            found.append(
                Surface(
                    s["id"],
                    "round",
                    np.array(s["axis"]),
                    np.array(s["point"]),
                    s["radius"],
                    slope,
                    s["side"],
                    count,
                )
            )
        else:
            found += _pieces(s)
    return found


def _pieces(s: dict[str, Any]) -> list[Surface]:
    axis, found = np.array(s["axis"]), []
    for k, piece in enumerate(s["outline"]):
        p = np.array(piece.get("points", ()))
        name = f"{s['id']}#{k}"
        if piece["kind"] == "line":
            n = np.cross(p[1] - p[0], axis)
            n /= math.sqrt(float(n @ n))
            found.append(Surface(name, "plane", n, (p[0] + p[1]) / 2))
        elif piece["kind"] == "arc":
            a, b = p[1] - p[0], p[2] - p[0]
            m = np.vstack([a, b, axis])
            centre = p[0] + np.linalg.solve(m, [a @ a / 2, b @ b / 2, 0.0])
            r = p[0] - centre
            wood_inside = float(np.cross(a, b) @ axis) > 0
            side = "post" if wood_inside else "hole"
            found.append(Surface(name, "round", axis, centre, math.sqrt(float(r @ r)), 0.0, side, 5))
    kept: list[Surface] = []
    for s2 in found:  # two halves of one arc, two lengths of one line
        same = [t for t in kept if is_same(s2, t)]
        if not same:
            kept.append(s2)
    return kept


def is_same(a: Surface, b: Surface) -> bool:
    if a.kind != b.kind or np.abs(np.cross(a.way, b.way)).max() > 1e-9:
        return False
    if a.kind == "plane":
        return abs(float((a.point - b.point) @ a.way)) < 1e-6
    d = a.point - b.point
    return abs(a.radius - b.radius) < 1e-6 and np.abs(d - a.way * (d @ a.way)).max() < 1e-6
