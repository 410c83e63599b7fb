"""A member's template: what a router or laser cuts from one face, as exact contours by operation.

The frame is the member's l and w, seen from the face side, which lies up. All contours are nominal: the tool's own
width is no part of them. What cannot be cut square to the face is marked, never cut:

- ``through outside``: the outline that is cut, before anything is sunk into the wood. Where sides lean it is the
  least outline square to the sheet that holds the wood on the face and on the back, so that the bevels are cut
  from it afterwards;
- ``face outline``, ``back outline``: the wood's own outline on either side, where that is not the cut one;
- ``through inside``: openings square through;
- ``pocket``: sunk from the face side, walls square to a level floor; drawn round the floor, or where a side
  leans out over it to the outline that is cut;
- ``bore``: bored square to the face side, through or to a depth;
- ``score``: mouths of what runs in aslant or narrows to a cone, as open or closed lines;
- ``mark``: label and grain arrow.

Holes bored on the work, through a mate, are left out: their place comes from the mate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal, TypeAlias

from plangen.geometry.curves import Arc, Curve, mirrored
from plangen.geometry.level_shadow import shadow_loops
from plangen.geometry.slices import (
    LEVEL,
    Loop,
    is_level,
    is_plumb,
    level_faces,
    level_loops,
    rim_lines,
)
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Cone, Form, Plane
from plangen.joinery.model import Feature, FeatureKind, Hand, Member
from plangen.machining.label import place_label
from plangen.machining.template_edges import features_along
from plangen.tables.cut_files import Operation

Follow: TypeAlias = Literal["both sides", "face side", "back", "outside of both"]
"""Where sides lean: which outline of the wood is the one that is cut."""
_Key: TypeAlias = tuple[tuple[float, float], ...]
Reach: TypeAlias = Literal["through", "face", "back", "inside"]

SHAPINGS: frozenset[FeatureKind] = frozenset(
    {"end", "trim", "bevel", "taper", "curve", "outline", "round", "turned"}
)
"""Features that shape the outline itself."""
_LEAST_AREA = 1e-3
"""Square millimetres of a face: what takes less does not reach it."""
_SAME = 1e-6
_LYING = 0.1
"""Sine to the face below which a surface lies along it and is no side."""


@dataclass(frozen=True)
class Contour:
    """One line of a template. ``depth`` in mm from the face side: of pockets and bored holes."""

    operation: Operation
    curves: tuple[Curve, ...]
    closed: bool = True
    depth: float | None = None
    made_by: tuple[str, ...] = ()
    """For each curve the id of the feature it is an edge of, empty where none is known; () where none was asked."""

    @property
    def circle(self) -> Arc | None:
        """The circle that the contour is, if it is one."""
        only = self.curves[0]
        return only if len(self.curves) == 1 and isinstance(only, Arc) and only.is_full else None


@dataclass(frozen=True)
class Template:
    """All contours of one member, in the order of cutting: marks, pockets, holes, insides, outline last."""

    member: Member
    contours: tuple[Contour, ...]
    hand: Hand | None = None
    """The hand that is drawn; None: not handed."""
    follow: Follow = "both sides"
    beveled: bool = False
    """Sides lean. Where none does and the outlines differ all the same, it is by what is sunk into the back."""

    @property
    def outline(self) -> Contour:
        """The one that is cut, its outer one."""
        return self.contours[-1]

    @property
    def quantity(self) -> int:
        """Pieces of this hand."""
        if self.hand is None or self.member.made is not None:
            return self.member.quantity
        return sum(i.hand == self.hand for i in self.member.instances)


@dataclass(frozen=True)
class _Cutter:
    feature: Feature
    forms: tuple[Form, ...]
    reach: Reach

    @property
    def is_plain_pocket(self) -> bool:
        """Walls square to the face side, one level floor."""
        floors = [f for f in self.forms if is_level(f, True)]
        return bool(floors) and all(is_plumb(f) or is_level(f, True) for f in self.forms)

    @property
    def floor(self) -> float:
        """t of the floor."""
        return max(f.offset for f in self.forms if isinstance(f, Plane) and is_level(f, True))

    @property
    def is_bored(self) -> bool:
        return self.feature.hole is not None and self.feature.hole.purpose != "hole"

    @property
    def is_conical(self) -> bool:
        """Reamed or countersunk: no cutter square to the face leaves its wall."""
        return any(isinstance(f, Cone) for f in self.forms)


def wants_template(member: Member) -> bool:
    """Sheet goods always; other work only where something is cut into it."""
    return member.role != "bought" and (member.stock.kind == "sheet" or not member.is_plain)


def make_template(member: Member) -> Template | None:
    """None where the member has no flat face side to lay a template on.

    Raises GeometryError or ValueError where its parts cannot be told apart.
    """
    top = member.finished[2]
    blank = _Blank(member)
    shapings, rest = _sorted_cutters(member)
    if not level_faces(blank.less(shapings), top, True):
        return None
    cutters = [_Cutter(feature, forms, _reaches(blank, shapings, forms)) for feature, forms in rest]
    open_ = [c for c in cutters if c.reach == "through" and not c.is_bored and not c.is_conical]
    base = [*shapings, *(c.forms for c in open_)]
    square = [tuple(_upright(f, top) for f in forms) for forms in base]
    cut = level_loops(blank.less(square), top, True)
    face = cut if square == base else level_loops(blank.less(base), top, True)
    if not face or not cut:
        return None
    back = _back(blank, shapings, cutters)
    keys = [{_key(loop) for loop in loops} for loops in (cut, face, back)]
    if _follow(*keys) == "outside of both" and (shadow := shadow_loops(blank.less(base))) is not None:
        # sides set upright leave a point at corners where one leans out and the other in
        cut, keys[0] = shadow, {_key(loop) for loop in shadow}
    contours = [
        *_mouths(blank, base, cutters),
        *(_outlines("face outline", face) if keys[1] != keys[0] else ()),
        *(_outlines("back outline", back) if keys[2] != keys[0] else ()),
        *_pockets(blank, square, cutters),
        *_bored(member, cutters),
        # insides, whose area is negative, before the outline
        *(
            Contour(
                "through outside" if loop.area > 0 else "through inside",
                loop.curves,
                made_by=features_along(member, loop.curves, lambda f: _upright(f, top)),
            )
            for loop in sorted(cut, key=_inner_first)
        ),
    ]
    return labelled(Template(member, tuple(contours), member.drawn, _follow(*keys), square != base))


def _follow(cut: set[_Key], face: set[_Key], back: set[_Key]) -> Follow:
    if face == back:
        return "both sides"
    return "face side" if cut == face else "back" if cut == back else "outside of both"


def templates_of_hands(template: Template) -> tuple[Template, ...]:
    """The template of each hand that the piece has, that of the drawn hand first.

    The other hand lies with its face side up too, mirrored along its length.
    """
    hands = {i.hand for i in template.member.instances}
    if template.hand is None or len(hands) < 2:
        return (template,)
    return (template, labelled(_other_hand(template)))


def _other_hand(template: Template) -> Template:
    """Mirrored across the middle of the length, without a label."""
    length = template.member.finished[0]
    turned = [
        replace(
            c,
            curves=tuple(mirrored(curve, length).reversed() for curve in reversed(c.curves)),
            made_by=tuple(reversed(c.made_by)),
        )
        for c in template.contours
        if c.operation != "mark"
    ]
    return replace(template, contours=tuple(turned), hand="left" if template.hand == "right" else "right")


def labelled(template: Template) -> Template:
    """With its label and an arrow along the grain, where they have room."""
    rest = [c for c in template.contours if c.operation != "mark"]
    through = [c.curves for c in rest if c.operation.startswith("through")]
    taken = [c.curves for c in rest if c.operation in ("pocket", "bore")] + through[:-1]
    lines = [c.curves for c in rest if c.operation in ("face outline", "back outline", "score")]
    label = place_label(label_of(template.member, template.hand), through[-1], taken, lines)
    marks = (Contour("mark", line, closed=False) for line in label)
    return replace(template, contours=(*marks, *rest))


def label_of(member: Member, hand: Hand | None) -> str:
    """Mark, name, and for a handed member the hand that the template is of: the other is its mirror image."""
    return " ".join([member.mark, member.name, *([hand] if hand else [])])


@dataclass(frozen=True)
class _Blank:
    """The member's blank, and what some of its cutters leave of it, each made once."""

    member: Member
    _made: dict[tuple[tuple[Form, ...], ...], Solid] = field(default_factory=dict)

    @property
    def top(self) -> float:
        return self.member.finished[2]

    @cached_property
    def _own(self) -> frozenset[tuple[Form, ...]]:
        return frozenset(forms for _, forms in _cutters_of(self.member))

    def less(self, cutters: Sequence[Sequence[Form]]) -> Solid:
        """The member itself where they are all of its own, and none of them set upright."""
        key = tuple(tuple(c) for c in cutters)
        if frozenset(key) == self._own:
            return self.member.solid
        if key not in self._made:
            self._made[key] = build_solid(self.member.blank, cutters)
        return self._made[key]


def _sorted_cutters(
    member: Member,
) -> tuple[list[tuple[Form, ...]], list[tuple[Feature, tuple[Form, ...]]]]:
    """What shapes the outline, and every other cutter with its feature."""
    shapings: list[tuple[Form, ...]] = []
    rest: list[tuple[Feature, tuple[Form, ...]]] = []
    for feature, forms in _cutters_of(member):
        if feature.kind in SHAPINGS:
            shapings.append(forms)
        elif not (feature.hole is not None and feature.stage == "on the work"):
            rest.append((feature, forms))
    return shapings, rest


def _cutters_of(member: Member) -> Iterator[tuple[Feature, tuple[Form, ...]]]:
    known: dict[str, Form] = dict(member.blank.planes())
    known |= {s.id: s.form for f in member.features for s in f.surfaces}
    return ((f, tuple(known[i] for i in ids)) for f in member.features for ids in f.cutters)


def _reaches(blank: _Blank, shapings: Sequence[tuple[Form, ...]], forms: tuple[Form, ...]) -> Reach:
    """Which of the two faces a cutter comes out of."""
    if all(is_plumb(f) or is_level(f, True) or is_level(f, False) for f in forms):
        return _straight_reach(blank.member, forms)
    return _cut_reach(blank.member, blank.less(shapings), blank.less([*shapings, forms]))


def _straight_reach(member: Member, forms: Sequence[Form]) -> Reach:
    """A floor keeps a cutter from the back, a ceiling from the face side."""
    floors = [f.offset for f in forms if isinstance(f, Plane) and is_level(f, True)]
    ceilings = [-f.offset for f in forms if isinstance(f, Plane) and is_level(f, False)]
    back = max(floors, default=-math.inf) < _SAME
    face = min(ceilings, default=math.inf) > member.finished[2] - _SAME
    return _reach(face, back)


def _cut_reach(member: Member, before: Solid, after: Solid) -> Reach:
    """By what a cut takes of the two faces."""

    def taken(level: float, up: bool) -> bool:
        was, is_ = (
            math.fsum(s.faces[i].area for i in sorted(level_faces(s, level, up))) for s in (before, after)
        )
        return was - is_ > _LEAST_AREA

    return _reach(taken(member.finished[2], True), taken(0.0, False))


def _reach(face: bool, back: bool) -> Reach:
    if face and back:
        return "through"
    return "face" if face else "back" if back else "inside"


def _is_square_bore(cutter: _Cutter) -> bool:
    hole = cutter.feature.hole
    square = hole is not None and math.hypot(hole.axis[0], hole.axis[1]) < LEVEL
    return cutter.is_bored and square and not cutter.is_conical


# --- the operations ---------------------------------------------------------------------------------------


def _pockets(blank: _Blank, base: Sequence[Sequence[Form]], cutters: Sequence[_Cutter]) -> list[Contour]:
    """Round each level floor; pockets of one depth that run into each other are one.

    ``base`` leaves the sides set upright: a pocket that runs out through a leaning one runs on to the cut outline.
    """
    plain = [c for c in cutters if c.reach == "face" and c.is_plain_pocket and not c.is_bored]
    found = []
    for floor in sorted({round(c.floor, 6) for c in plain}, reverse=True):
        level = [c for c in plain if abs(c.floor - floor) < _SAME]
        solid = blank.less([*base, *(c.forms for c in level)])
        depth = blank.top - level[0].floor
        loops = level_loops(solid, level[0].floor, True)
        found += [
            Contour(
                "pocket",
                loop.curves,
                depth=depth,
                made_by=features_along(blank.member, loop.curves, lambda f: _upright(f, blank.top)),
            )
            for loop in sorted(loops, key=_inner_first)
        ]
    return found


def _upright(form: Form, top: float) -> Form:
    """A leaning side set upright in its outermost line, on the face side or on the back; any other form as it is."""
    if not isinstance(form, Plane) or is_plumb(form):
        return form
    out = math.hypot(form.normal[0], form.normal[1])
    if out < _LYING:
        return form
    level = top if form.normal[2] < 0 else 0.0
    normal = (form.normal[0] / out, form.normal[1] / out, 0.0)
    return Plane(normal, (form.offset - form.normal[2] * level) / out)


def _bored(member: Member, cutters: Sequence[_Cutter]) -> list[Contour]:
    found = {}
    for cutter in cutters:
        hole = cutter.feature.hole
        if hole is None or not _is_square_bore(cutter) or cutter.reach not in ("face", "through"):
            continue
        depth = member.finished[2] - cutter.floor if cutter.reach == "face" else member.finished[2]
        circle = Arc((hole.entry[0], hole.entry[1]), hole.diameter / 2, 0.0, 2 * math.pi)
        key = (round(depth, 6), *(round(v, 6) for v in (*circle.centre, circle.radius)))
        found[key] = Contour("bore", (circle,), depth=depth)
    return [found[key] for key in sorted(found)]


def _mouths(blank: _Blank, base: Sequence[Sequence[Form]], cutters: Sequence[_Cutter]) -> list[Contour]:
    """The edges on the face side of what runs in aslant."""
    found = []
    for cutter in cutters:
        slanting_bore = (
            cutter.is_bored and not _is_square_bore(cutter) and cutter.reach in ("face", "through")
        )
        sloping_pocket = cutter.reach == "face" and not cutter.is_plain_pocket and not cutter.is_bored
        if slanting_bore or sloping_pocket or (cutter.is_conical and cutter.reach == "through"):
            solid = blank.less([*base, cutter.forms])
            lines = rim_lines(solid, blank.top, cutter.forms)
            found += [
                Contour("score", (curve,), closed=isinstance(curve, Arc) and curve.is_full) for curve in lines
            ]
    return found


def _back(blank: _Blank, shapings: Sequence[Sequence[Form]], cutters: Sequence[_Cutter]) -> tuple[Loop, ...]:
    """The outline of the wood on the back, holes bored square through left to the drill."""
    kept = [c.forms for c in cutters if not (_is_square_bore(c) and c.reach in ("face", "through"))]
    return level_loops(blank.less([*shapings, *kept]), 0.0, False)


def _outlines(operation: Operation, loops: Sequence[Loop]) -> list[Contour]:
    return [Contour(operation, loop.curves) for loop in sorted(loops, key=_inner_first)]


def _inner_first(loop: Loop) -> float:
    return round(loop.area, 6)


def _key(loop: Loop) -> _Key:
    """Corners and middles of a loop, so that equal loops are equal wherever they start."""
    points = [p for c in loop.curves for p in (c.start, c.at(0.5))]
    if loop.circle is not None:
        centre, radius = loop.circle.centre, loop.circle.radius
        points = [centre, (radius, 0.0)]
    return tuple(sorted((round(x, 5) + 0.0, round(y, 5) + 0.0) for x, y in points))
