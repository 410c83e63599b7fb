"""A rail whose tenon enters a post from the right, both set up anyhow; and its parts from the bodies alone."""

from __future__ import annotations

from sticks import Stick, design, face, turned, within
from workshop import common, fused, kernel_bodies, less

from plangen.geometry.vectors import add, cross, dot, scale

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FRONT = scale(REAR, -1.0)
POST, RAIL = (500.0, 90.0, 70.0), (600.0, 80.0, 30.0)
DEEPER = 3.175
"""Millimetres: 1/8 in, a published rule (reference 07_joints, mortise_clear)."""


def tenoned(
    options, lean=0.0, tilt=0.0, taper=0.0, height=0.0, post=POST, rail=RAIL, trim="post.back edge", more=""
):
    """The post stands, its face to the front; the rail leaves it to the right, rising by ``lean``, turned by ``tilt``.

    Degrees and millimetres.
    """
    way = turned(turned(RIGHT, FRONT, lean), UP, tilt)
    stands = Stick("post", (0.0, 0.0, 250.0), UP, RIGHT, post, taper)
    middle = add((45.0, 0.0, 250.0 + height), scale(way, 100.0))
    lies = Stick("rail", middle, way, cross(FRONT, way), rail)
    text = design(stands, lies, joints=f"{{mortise and tenon: [rail, post]{options}}}")
    head, _, tail = text.partition("  rail:\n")
    return f"{head}  rail:\n    trim: {{end A: {trim}}}\n{tail}{more}"


def prism(built, thickness, low, high, room=0.0):
    """World planes of what is ``thickness`` thick in the middle of the rail, from ``low`` to ``high`` of its width."""
    front, edge = face(built, "rail", "face"), face(built, "rail", "edge")
    back, back_edge = face(built, "rail", "back"), face(built, "rail", "back edge")
    thick, wide = RAIL[2], RAIL[1]
    beside = (thick - thickness) / 2
    return [
        front.shifted(room - beside),
        back.shifted(room - beside),
        edge.shifted(room - low),
        back_edge.shifted(room - (wide - high)),
    ]


def rail_and_post(built, prisms, length, room=0.0, deeper=DEEPER):
    """Both members by the exact kernel: ``prisms`` are (thickness, low, high, depth past the shoulder)."""
    bodies = kernel_bodies(built)
    entered = face(built, "post", "back edge")
    rail = less(bodies["rail"], within(entered))
    post = bodies["post"]
    for thickness, low, high, depth in prisms:
        end = entered.shifted(-depth).flipped()
        stub = within(*prism(built, thickness, low, high), end)
        rail = fused(rail, common(common(bodies["rail"], stub), within(entered)))
        below = max(deeper, room) if depth == length else room
        post = less(post, within(*prism(built, thickness, low, high, room), end.shifted(below)))
    return {"rail": rail, "post": post}


def shoulder_distance(built, point):
    """How far a world point lies in the post, from the face the rail enters by."""
    plane = face(built, "post", "back edge")
    return plane.offset - dot(plane.normal, point)
