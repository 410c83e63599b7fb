"""Jigs as members: short lengths of board, their profile sawn square through the thickness.

Each stands on its face edge with its face side to the maker's left, so that one saw cut a slope makes it: a wedge or
an angle block rises along its length from end A; a cradle has a V in its upper edge; a taper carrier lies on its back,
its face edge along the fence; a bending form has one corner rounded. All are the same piece seen in a mirror: turned
end for end or turned over they serve the other hand. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.findings import Place
from plangen.geometry.curves import Arc, Line
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Extruded, Form, Plane, Surface
from plangen.geometry.vectors import Vec
from plangen.joinery.building import MM3_PER_M3, cutters_of, remaining_surfaces
from plangen.joinery.model import Feature, FeatureKind, Member, Model
from plangen.tables.stock import Stock, resolve_stock
from plangen.units import LengthUnit

NOSE = 6.0
"""Thickness of a wedge at its thin end: less breaks off (common practice)."""
_SHOULDER = 8.0
"""Wood of a cradle above the lines that the work touches."""
_UNDER = 15.0
"""Wood under the V of a cradle, and beside it."""
_HOOK = 20.0
"""How far a taper carrier's heel reaches past the work's corner; and how long the heel is along the fence."""
_BESIDE = 60.0
"""Width of a taper carrier at its narrow end: room for a hand or a clamp beside the work."""
_FORM = 60.0
"""Straight of a bending form on either side of its rounded corner."""

_BOARDS: dict[LengthUnit, tuple[str, ...]] = {
    "in": ("2x4 spruce", "2x6 spruce", "2x8 spruce", "2x10 spruce"),
    "mm": ("38 x 89 mm spruce", "38 x 140 mm spruce", "38 x 184 mm spruce", "38 x 235 mm spruce"),
}
_SHEETS: dict[LengthUnit, str] = {"in": "1/2 plywood", "mm": "12 mm plywood"}
_OFFCUT = 140.0
"""Width of an offcut of boards of random width."""
_THICK = 18.0
"""Least thickness of a board that stands on its edge."""


@dataclass(frozen=True)
class Profile:
    """What is sawn out of a board: its length, its width as it must be, and what the saw takes away."""

    length: float
    width: float
    kind: FeatureKind
    note: str
    cutters: tuple[tuple[Form, ...], ...]


# --- profiles: l along the board from end A, w up from its face edge ----------------------------------------


def wedge(angle: float, length: float, nose: float = NOSE) -> Profile:
    """A slope that rises by ``angle`` (radians) along the board from ``nose`` at end A."""
    normal: Vec = (-math.sin(angle), math.cos(angle), 0.0)
    slope = Plane(normal, nose * normal[1])
    return Profile(length, nose + length * math.tan(angle), "taper", "back edge", ((slope,),))


def cradle(radius: float, height: float | None = None) -> Profile:
    """A square V that holds round work of ``radius``, its axis ``height`` over the table; default: the least."""
    lowest = _UNDER + radius * math.sqrt(2.0)
    under = _UNDER + ((height or lowest) - lowest)
    depth = radius / math.sqrt(2.0) + _SHOULDER
    half = depth + _UNDER
    s = math.sqrt(0.5)
    left = Plane((s, s, 0.0), s * (half + under))
    right = Plane((-s, s, 0.0), s * (under - half))
    return Profile(2.0 * half, under + depth, "notch", "", ((left, right),))


def cradle_height(radius: float) -> float:
    """How low a cradle can hold the axis of work of ``radius``."""
    return _UNDER + radius * math.sqrt(2.0)


def carrier(angle: float, length: float) -> Profile:
    """A slope for ``length`` of the work, and square to it the heel, at end A, that pushes the work.

    The face edge runs along the fence; with a positive ``angle`` the slope comes nearer to it away from the heel.
    """
    (start, w), s, c = carrier_corner(angle, length), math.sin(angle), math.cos(angle)
    slope = Plane((s, c, 0.0), s * start + c * w)
    heel = Plane((c, -s, 0.0), c * start - s * w)
    width = max(w + _HOOK, w - length * math.tan(angle))
    return Profile(start + length, width, "notch", "", ((heel, slope),))


def carrier_corner(angle: float, length: float) -> tuple[float, float]:
    """Where the heel meets the slope: along the carrier, and from its edge at the fence."""
    return (_HOOK + max(0.0, _HOOK * math.sin(angle)), _BESIDE + max(0.0, length * math.tan(angle)))


def form(radius: float) -> Profile:
    """A block one corner of which has the inside radius of a bend."""
    side = radius + _FORM
    outline = (
        Line((0.0, 0.0), (side, 0.0)),
        Line((side, 0.0), (side, side - radius)),
        Arc((side - radius, side - radius), radius, 0.0, math.pi / 2),
        Line((side - radius, side), (0.0, side)),
        Line((0.0, side), (0.0, 0.0)),
    )
    walls = Extruded((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), outline)
    return Profile(side, side, "outline", "", ((walls,),))


# --- the member ----------------------------------------------------------------------------------------------


def jig_member(
    mark: str, name: str, profile: Profile, stock: Stock, count: int, place: Place, notes: Sequence[str]
) -> Member:
    """The member whose profile is sawn out of ``stock``. Raises GeometryError where it cannot be built."""
    assert stock.thickness is not None
    blank = Box((0.0, 0.0, 0.0), (profile.length, profile.width, stock.thickness))
    feature = _feature(profile, place)
    solid = build_solid(blank, cutters_of([feature]))
    return Member(
        mark=mark,
        name=name,
        role="jig",
        stock=stock,
        blank=blank,
        finished=blank.size,
        surfaces=remaining_surfaces(blank, [feature], solid),
        features=(feature,),
        solid=solid,
        mass=None if stock.density is None else solid.volume * stock.density / MM3_PER_M3,
        instances=(),
        drawn=None,
        place=place,
        notes=tuple(notes),
        made=count,
    )


def _feature(profile: Profile, place: Place) -> Feature:
    named = f"{profile.kind} 1"
    surfaces: list[Surface] = []
    cutters = []
    for forms in profile.cutters:
        ids = tuple(f"{named}.{len(surfaces) + n}" for n in range(1, len(forms) + 1))
        surfaces += [Surface(i, f, named) for i, f in zip(ids, forms, strict=True)]
        cutters.append(ids)
    return Feature(
        named, profile.kind, "shaped", "worked", None, None, place, tuple(surfaces), tuple(cutters),
        note=profile.note,
    )  # fmt: skip


# --- what it is made of --------------------------------------------------------------------------------------


def board_for(model: Model, width: float, units: LengthUnit) -> Stock:
    """A board at least so wide: the narrowest that the piece itself uses, so that an offcut serves; else softwood.

    The widest common one where none is wide enough: two are glued edge to edge.
    """
    own = [m.stock for m in model.members if m.role == "work" and _holds(m.stock, width)]
    if own:
        return min(own, key=lambda s: (s.width or _OFFCUT, -(s.thickness or 0.0), s.name))
    common = [resolve_stock(text, units) for text in _BOARDS[units]]
    return next((s for s in common if _holds(s, width)), common[-1])


def _holds(stock: Stock, width: float) -> bool:
    board = stock.kind in ("dimension", "board", "planed", "quarter")
    thick = stock.thickness is not None and stock.thickness > _THICK
    return board and thick and (stock.width or _OFFCUT) > width - 1e-6


def sheet_for(model: Model, units: LengthUnit) -> Stock:
    """Sheet goods for a carrier: what the piece itself uses, if it is stiff; else thin plywood."""
    own = [
        m.stock
        for m in model.members
        if m.role == "work" and m.stock.kind == "sheet" and 9.0 < (m.stock.thickness or 0.0) < 20.0
    ]
    stiff = min(own, key=lambda s: (s.thickness or 0.0, s.name), default=None)
    return stiff or resolve_stock(_SHEETS[units], units)
