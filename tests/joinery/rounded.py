"""A rail whose tenon enters a round, a turned or a curved post: the design."""

import math

ROUND = """title: Rounded
units: mm
stock:
  rail wood: {{ask for: ash, species: ash, width: {wide}, thickness: {thick}}}
  post wood: {{ask for: ash, species: ash, width: 90, thickness: {post_thick}}}
members:
  post:
    stock: post wood
{post}
  rail:
    stock: rail wood
    length: 300
    place:
      length: [{way}]
      width: up
      middle: [{{level at: 250}}, {{through point: [{across}, {off}, 0], square to: [{aside}]}}]
    trim: {{end A: {{through point: [{end}, 0, 0], square to: left}}}}
joints:
  - {{mortise and tenon: [rail, post], {options}}}
"""
STRAIGHT = "    diameter: 70\n    length: 500\n    place: {{from: [0, 0, 0], to: [{lean}, {tilt}, 500]}}"
TURNED = (
    "    turned: [[0, 60], [200, 60], [320, 76], [500, 50]]\n"
    "    place: {{from: [0, 0, 0], to: [{lean}, {tilt}, 500]}}"
)
CURVED = (
    "    length: 500\n    curve: {{on: back edge, rise: 24, bows: {bows}}}\n"
    "    place: {{length: up, width: right, middle: [depth plane, {{level at: 250}}], "
    "back edge: {{flush with: {{through point: [45, 0, 0], square to: right}}}}}}"
)


def rounded(options, post=STRAIGHT, turn=0.0, wide=40, thick=24, end=0.0, **of_post):
    """``turn`` degrees in plan; the tenon ends on the plane x = ``end``; the rail's middle passes through the post's.

    Millimetres.
    """
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    of_post = {"lean": 0.0, "tilt": 0.0, **of_post}
    return ROUND.format(
        wide=wide, thick=thick, post=post.format(**of_post), way=f"{c:.9f}, {s:.9f}, 0",
        aside=f"{-s:.9f}, {c:.9f}, 0", end=end, across=of_post["lean"] / 2, off=of_post["tilt"] / 2, options=options,
        post_thick=90 if post is TURNED else 70,
    )  # fmt: skip
