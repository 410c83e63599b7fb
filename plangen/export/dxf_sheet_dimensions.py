"""Dimensions of a sheet as DIMENSION entities in paper space: each measures the work, by the scale in its style.

The block of each is drawn by the caller from the same marks as on paper; a reader that draws it anew has the feet, the
line and the style.
"""

from __future__ import annotations

import math

from ezdxf.document import Drawing
from ezdxf.layouts import Paperspace

from plangen.drawing.dimension_marks import figure_base
from plangen.drawing.linework import PRACTICE
from plangen.drawing.marks import AngularDimension, LinearDimension
from plangen.export.dxf_pen import TEXT_STYLE
from plangen.export.dxf_text import sheet_words
from plangen.geometry.curves import Vec2
from plangen.units import MM_PER_INCH, LengthUnit

LAYER = "SHEET_DIM"
_ROTATED, _TWO_LINES, _OWN_BLOCK, _OWN_PLACE = 0, 2, 32, 128
"""Kinds and flags of a DIMENSION (DXF reference)."""
_FLOATING = 9


def style_name(scale: float) -> str:
    """``SHEET_1-8`` at 1:8, ``SHEET_2-1`` at 2:1."""
    large, small = (scale, 1.0) if scale >= 1 else (1.0, 1 / scale)
    return f"SHEET_{large:g}-{small:g}"


def set_sheet_styles(document: Drawing, unit: LengthUnit, scales: set[float]) -> None:
    """A style for each scale; ``dimlfac`` is so many units of the work to a millimetre of paper."""
    for scale in sorted(scales):
        values = {
            "dimtxt": 3.5, "dimasz": PRACTICE.arrow_length, "dimexe": PRACTICE.extension_overrun,
            "dimexo": PRACTICE.extension_gap, "dimgap": PRACTICE.figure_gap, "dimscale": 1.0,
            "dimlfac": 1.0 / (scale * _unit(unit)), "dimdsep": ord("."), "dimdec": 4, "dimzin": 8, "dimtad": 1,
            "dimtih": 0, "dimtoh": 0, "dimadec": 2, "dimaunit": 0, "dimlunit": 2,
        }  # fmt: skip
        style = document.dimstyles.new(style_name(scale))
        for name, value in values.items():
            style.dxf.set(name, value)
        style.dxf.dimtxsty = TEXT_STYLE


def linear_dimension(
    layout: Paperspace, mark: LinearDimension, block: str, scale: float, unit: LengthUnit
) -> None:
    """The distance of the mark's feet along its direction."""
    angle = math.degrees(math.atan2(mark.direction[1], mark.direction[0])) % 180
    first, second = mark.feet
    u = mark.direction
    reach = (second[0] - mark.line_at[0]) * u[0] + (second[1] - mark.line_at[1]) * u[1]
    layout.new_entity(
        "DIMENSION",
        {
            "layer": LAYER, "dimstyle": style_name(scale), "geometry": block,
            "dimtype": _ROTATED | _OWN_BLOCK | _OWN_PLACE, "angle": round(angle, 9),
            "defpoint": _point((mark.line_at[0] + u[0] * reach, mark.line_at[1] + u[1] * reach)),
            "defpoint2": _point(first), "defpoint3": _point(second), "text_midpoint": _point(_text_middle(mark)),
            "text": sheet_words(mark.text), "attachment_point": 5,
            "actual_measurement": round(mark.value / _unit(unit), _FLOATING),
        },
    )  # fmt: skip


def _text_middle(mark: LinearDimension) -> Vec2:
    """The figure's middle, half its height over its base line."""
    base = mark.text_at
    if base is None:
        u, (a, b) = mark.direction, mark.feet
        middle = ((a[0] + b[0]) / 2 - mark.line_at[0]) * u[0] + ((a[1] + b[1]) / 2 - mark.line_at[1]) * u[1]
        over = figure_base(mark.text, mark.height)
        base = (mark.line_at[0] + u[0] * middle - u[1] * over, mark.line_at[1] + u[1] * middle + u[0] * over)
    turn = math.radians(mark.text_rotation or math.degrees(math.atan2(mark.direction[1], mark.direction[0])))
    half = mark.height / 2
    return (base[0] - math.sin(turn) * half, base[1] + math.cos(turn) * half)


def angular_dimension(layout: Paperspace, mark: AngularDimension, block: str, scale: float) -> None:
    """The angle between the mark's two rays, counter-clockwise."""
    middle = (mark.first + mark.last) / 2
    first, last, arc = (_on_ray(mark, a) for a in (mark.first, mark.last, middle))
    layout.new_entity(
        "DIMENSION",
        {
            "layer": LAYER, "dimstyle": style_name(scale), "geometry": block,
            "dimtype": _TWO_LINES | _OWN_BLOCK | _OWN_PLACE,
            "defpoint2": _point(mark.apex), "defpoint3": _point(first), "defpoint4": _point(mark.apex),
            "defpoint": _point(last), "defpoint5": _point(arc), "text": sheet_words(mark.text),
            "text_midpoint": _point(mark.text_at or arc), "attachment_point": 5,
            "actual_measurement": round(math.radians(mark.value), _FLOATING),
        },
    )  # fmt: skip


def _on_ray(mark: AngularDimension, degrees: float) -> Vec2:
    a = math.radians(degrees)
    return (mark.apex[0] + math.cos(a) * mark.radius, mark.apex[1] + math.sin(a) * mark.radius)


def _unit(unit: LengthUnit) -> float:
    """Millimetres in a drawing unit."""
    return float(MM_PER_INCH) if unit == "in" else 1.0


def _point(p: Vec2) -> tuple[float, float, float]:
    return (round(p[0], _FLOATING) + 0.0, round(p[1], _FLOATING) + 0.0, 0.0)
