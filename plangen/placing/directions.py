"""Words for directions and sides, and the straight line: the small geometry that placing is said in."""

from __future__ import annotations

from dataclasses import dataclass

from plangen.findings import Place, fail
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, unit

WORDS: dict[str, Vec] = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "rear": (0.0, 1.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
LOOKS: dict[str, Vec] = {**WORDS, "top": WORDS["up"], "bottom": WORDS["down"]}
SIGHT: dict[str, Vec] = {
    "front": WORDS["rear"],
    "rear": WORDS["front"],
    "left": WORDS["right"],
    "right": WORDS["left"],
    "above": WORDS["down"],
}
"""The direction in which the viewer of a view looks."""
ENDS = {"upper end": "up", "lower end": "down", "left end": "left", "right end": "right"} | {
    "front end": "front",
    "rear end": "rear",
}
OWN = {"end A": "A", "end B": "B", "edge": "edge", "back edge": "back edge", "face": "face", "back": "back"}
LOCAL: dict[str, Vec] = {
    "A": (-1.0, 0.0, 0.0),
    "B": (1.0, 0.0, 0.0),
    "edge": (0.0, -1.0, 0.0),
    "back edge": (0.0, 1.0, 0.0),
    "back": (0.0, 0.0, -1.0),
    "face": (0.0, 0.0, 1.0),
}
BUILT_IN: dict[str, Plane] = {
    "floor": Plane((0.0, 0.0, 1.0), 0.0),
    "centre plane": Plane((1.0, 0.0, 0.0), 0.0),
    "depth plane": Plane((0.0, 1.0, 0.0), 0.0),
}


@dataclass(frozen=True)
class Ray:
    """A line with a start and a way along it."""

    start: Point
    way: Vec

    def at(self, distance: float) -> Point:
        return along(self.start, self.way, distance)

    def meets(self, plane: Plane) -> Point | None:
        slope = dot(plane.normal, self.way)
        if abs(slope) < 1e-9:
            return None
        return self.at((plane.offset - dot(plane.normal, self.start)) / slope)


def meeting_line(a: Plane, b: Plane) -> Ray | None:
    """The line common to two planes, None where they are parallel."""
    way = cross(a.normal, b.normal)
    n2 = dot(way, way)
    if n2 < 1e-16:
        return None
    start = scale(add(scale(cross(b.normal, way), a.offset), scale(cross(way, a.normal), b.offset)), 1 / n2)
    return Ray(start, unit(way))


def local_normal(side: str) -> Vec:
    """The outward normal, in the member's frame, of the blank's face ``side``."""
    return LOCAL[side]


def side_facing(axes: tuple[Vec, Vec, Vec], side: str, middle: Point, place: Place) -> str:
    """The blank's face that a side word means, for a piece with these world axes.

    A piece's own words (``edge``, ``end A``) mean themselves; ``left`` ... ``top`` and the end words mean the
    face that looks most that way; ``inner`` and ``outer`` the face or back that looks toward or away from
    the plumb line through the middle of the work, or of a piece whose face looks neither way the edge.
    """
    if side in OWN:
        return OWN[side]
    candidates = list(LOCAL)
    if side in ENDS:
        want, candidates = WORDS[ENDS[side]], ["A", "B"]
    elif side in ("inner", "outer"):
        inward = (-middle[0], -middle[1], 0.0)
        if length(inward) < 1e-3:
            raise fail(place, "side", f'"{side}": the piece stands in the middle of the work; name the side')
        want, candidates = unit(inward if side == "inner" else neg(inward)), ["face", "back"]
    else:
        want = LOOKS[side]

    def toward(name: str) -> float:
        n = LOCAL[name]
        return sum(n[i] * dot(axes[i], want) for i in range(3))

    if len(candidates) == 2 and "face" in candidates and abs(toward("face")) < 0.1:
        candidates = ["edge", "back edge"]
    ranked = sorted(candidates, key=lambda name: (-round(toward(name), 6), name))
    best, second = toward(ranked[0]), toward(ranked[1])
    least = 0.1 if len(candidates) == 2 else 0.5
    if best < least or best - second < 1e-3:
        raise fail(
            place,
            "side",
            f'"{side}": no one surface of this piece looks that way; use face, back, edge, back edge, end A or end B',
        )
    return ranked[0]
