"""The boxes of plane curves."""

from __future__ import annotations

import math

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc


def curve_box(curve: Curve) -> tuple[float, float, float, float]:
    """Least and greatest x and y: exact of lines and arcs; of a free curve by 256 chords."""
    points = [curve.start, curve.end]
    if isinstance(curve, Arc):
        low, high = sorted((curve.first, curve.last))
        quarter = math.pi / 2
        for k in range(math.ceil(low / quarter), math.floor(high / quarter) + 1):
            c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[k % 4]
            points.append((curve.centre[0] + curve.radius * c, curve.centre[1] + curve.radius * s))
    elif isinstance(curve, EllipseArc | Bezier):
        points += [curve.at(i / 256) for i in range(1, 256)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))
