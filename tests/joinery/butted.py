"""A rail butted against a post's side at any compound angle: the design for dowels and loose tenons."""

from sticks import Stick, design, turned

from plangen.geometry.vectors import add, cross, scale

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FRONT = scale(REAR, -1.0)


def butted(joint, lean=0.0, tilt=0.0, taper=0.0, rail=(600.0, 80.0, 30.0), post=(500.0, 90.0, 70.0)):
    way = turned(turned(RIGHT, FRONT, lean), UP, tilt)
    stands = Stick("post", (0.0, 0.0, 250.0), UP, RIGHT, post, taper)
    lies = Stick("rail", add((45.0, 0.0, 250.0), scale(way, 100.0)), way, cross(FRONT, way), rail)
    text = design(stands, lies, joints=joint)
    head, _, tail = text.partition("  rail:\n")
    return f"{head}  rail:\n    trim: {{end A: post.back edge}}\n{tail}"
