"""From placed bodies to the model: joints cut, pieces told apart, solids made, hands named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.findings import DesignError, Place, error
from plangen.geometry.frames import Frame
from plangen.geometry.solid import GeometryError, NothingLeft, Solid, build_solid, count_pieces, seen_from
from plangen.geometry.surfaces import Box, Form, Surface
from plangen.geometry.vectors import Point, Vec, scale, sub
from plangen.joinery.congruence import (
    MIRRORS,
    TURNS,
    Cutters,
    flip_frame,
    moved_cutters,
    same_form,
    turn_between,
)
from plangen.joinery.meeting import Cut, Placed
from plangen.joinery.model import Feature, FeatureKind, Hand, Hole, Instance, Member, Origin, Stage
from plangen.placing.body import Body, Bored

MM3_PER_M3 = 1e9
END_FOR_END: Vec = (-1.0, 1.0, 1.0)
"""The mirror image in the length: the same faces stay face and edge, the ends change over."""
SIDE_TOLERANCE = 0.02
"""Millimetres: facets of a curved side stay within this of its true extent."""


@dataclass(frozen=True)
class Piece:
    """One place's piece: its body and everything cut into it, in the body's frame."""

    placed: Placed
    cuts: tuple[Cut, ...]

    @property
    def cutters(self) -> Cutters:
        body = self.placed.body
        found: list[Sequence[Form]] = [s.cutter for s in body.shapings]
        found += [c for o in body.openings for c in o.cutters]
        found += [c for cut in self.cuts for c in cut.cutters]
        return found


@dataclass(frozen=True)
class Alike:
    """Pieces that are one member: the one drawn, and for every place the turn that takes drawn to placed,
    from the one's own frame to the other's."""

    drawn: Piece
    places: tuple[tuple[Placed, Frame], ...]
    handed: bool


def pieces_alike(pieces: Sequence[Piece]) -> list[Alike]:
    """The pieces in groups of one member each, in the order in which each first stands."""
    groups: list[tuple[Piece, list[tuple[Placed, Frame]]]] = []
    for piece in pieces:
        for drawn, places in groups:
            turn = _turn_to(drawn, piece)
            if turn is not None:
                places.append((piece.placed, turn))
                break
        else:
            stands_mirrored = piece.placed.frame.determinant < 0
            drawn = _end_for_end(piece) if stands_mirrored else piece
            turn = flip_frame(piece.placed.body.size, END_FOR_END if stands_mirrored else TURNS[0])
            groups.append((drawn, [(piece.placed, turn)]))
    found = []
    for drawn, places in groups:
        own = _own_mirror(drawn)
        if own is not None:
            places = [(p, _proper(p, turn, own)) for p, turn in places]
        found.append(Alike(drawn, tuple(places), own is None))
    return found


def _end_for_end(piece: Piece) -> Piece:
    """A piece that stands mirrored, described in a right-handed frame: end A and end B change over."""
    body, frame = piece.placed.body, flip_frame(piece.placed.body.size, END_FOR_END)
    ends = {"A": "B", "B": "A"}
    shapings = tuple(
        replace(
            s,
            form=s.form.local_to(frame),
            within=tuple(f.local_to(frame) for f in s.within),
            side=ends.get(s.side, s.side),
        )
        for s in body.shapings
    )
    openings = tuple(
        replace(
            o,
            cutters=moved_cutters(o.cutters, frame),
            bored=None if o.bored is None else _bored_in(o.bored, frame),
        )
        for o in body.openings
    )
    cuts = tuple(
        replace(
            c,
            cutters=moved_cutters(c.cutters, frame),
            hole=None if c.hole is None else _hole_in(c.hole, frame),
        )
        for c in piece.cuts
    )
    standing = replace(piece.placed.standing, frame=piece.placed.frame.after(frame))
    return Piece(Placed(replace(body, shapings=shapings, openings=openings), standing), cuts)


_OTHER_END = {"A": "B", "B": "A"}


def _hole_in(hole: Hole, frame: Frame) -> Hole:
    return replace(
        hole,
        entry=frame.local_point(hole.entry),
        axis=frame.local_direction(hole.axis),
        entry_surface=_OTHER_END.get(hole.entry_surface, hole.entry_surface),
    )


def _bored_in(bored: Bored, frame: Frame) -> Bored:
    return replace(
        bored,
        entry=frame.local_point(bored.entry),
        axis=frame.local_direction(bored.axis),
        side=_OTHER_END.get(bored.side, bored.side),
    )


def _turn_to(drawn: Piece, piece: Piece) -> Frame | None:
    """The turn of the drawn piece that makes it equal to the other, mirror images last; None: another member."""
    a, b = drawn.placed.body, piece.placed.body
    same_make = a.stock == b.stock and a.role == b.role and a.grain == b.grain and a.is_round == b.is_round
    if not same_make or any(abs(x - y) > 1e-5 for x, y in zip(a.size, b.size, strict=True)):
        return None
    return turn_between(drawn.cutters, piece.cutters, a.size, TURNS + MIRRORS, a.is_round)


def _own_mirror(piece: Piece) -> Frame | None:
    """The mirror image of the piece that is the piece itself, None where it is handed."""
    body = piece.placed.body
    return turn_between(piece.cutters, piece.cutters, body.size, MIRRORS, body.is_round)


def _proper(placed: Placed, turn: Frame, own_mirror: Frame) -> Frame:
    """A turn that stands the piece without mirroring it."""
    return turn if turn.determinant * placed.frame.determinant > 0 else turn.after(own_mirror)


# --- members ----------------------------------------------------------------------------------------------


def build_member(group: Alike, mark: str, name: str) -> Member:
    """The member of a group of like pieces. Raises DesignError where nothing or more than one piece is left."""
    body = group.drawn.placed.body
    features = _features(group.drawn)
    solid = _solid(group.drawn, body)
    origin, size = _finished(solid, body.size)
    if any(origin):
        shift = Frame(origin, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
        features = [moved_feature(f, shift) for f in features]
        blank = Box(sub(body.blank.origin, origin), body.blank.size)
        solid = seen_from(solid, origin)
    else:
        shift, blank = None, body.blank
    surfaces = remaining_surfaces(blank, features, solid)
    instances, drawn = _instances(group, shift)
    density = body.stock.density
    return Member(
        mark=mark,
        name=name,
        role=body.role,
        stock=body.stock,
        blank=blank,
        finished=size,
        surfaces=surfaces,
        features=tuple(features),
        solid=solid,
        mass=None if density is None else solid.volume * density / MM3_PER_M3,
        instances=instances,
        drawn=drawn,
        place=body.place,
        length_origin="fitted" if any(s.fitted for s in body.shapings) else "worked",
        grain=body.grain,
        bought_size=body.stock.name if body.role == "bought" else "",
        notes=body.notes,
        allowance=_allowance(body),
        bent=body.bent,
        boards=body.boards,
    )


def _allowance(body: Body) -> tuple[float, float]:
    left = {"A": 0.0, "B": 0.0}
    for shaping in body.shapings:
        if shaping.side in left:
            left[shaping.side] = max(left[shaping.side], shaping.leave)
    return (left["A"], left["B"])


def _solid(piece: Piece, body: Body) -> Solid:
    name = piece.placed.name
    try:
        solid = build_solid(body.blank, piece.cutters)
    except NothingLeft:
        text = f'nothing is left of "{name}" once it is cut{_for_joints(piece)}'
        raise DesignError([error(body.place, "nothing left", text, name)]) from None
    except GeometryError as problem:
        raise DesignError([error(body.place, "solid", f'"{name}": {problem}', name)]) from None
    if (count := count_pieces(solid)) > 1:
        text = f'"{name}" falls into {count} pieces once it is cut{_for_joints(piece)}; make a cut shallower or move it'
        raise DesignError([error(body.place, "pieces", text, name)])
    return solid


def _for_joints(piece: Piece) -> str:
    mates = list(dict.fromkeys(f'"{c.mate or c.assembly}" ({c.kind})' for c in piece.cuts if c.hole is None))
    return f" for {', '.join(mates)}" if mates else " by its own trims and openings"


def _finished(solid: Solid, size: Vec) -> tuple[Point, Vec]:
    """Least corner and size of the box of the cut piece; a side that still reaches the body's box is exact."""
    low, high = [], []
    for axis in range(3):
        least, most = float(solid.vertices[:, axis].min()), float(solid.vertices[:, axis].max())
        low.append(0.0 if abs(least) < SIDE_TOLERANCE else least)
        high.append(size[axis] if abs(most - size[axis]) < SIDE_TOLERANCE else most)
    return (low[0], low[1], low[2]), (high[0] - low[0], high[1] - low[1], high[2] - low[2])


class _Numbering:
    """Ids of features: kind and number, one row of numbers a kind."""

    def __init__(self) -> None:
        self._next: dict[str, int] = {}

    def __call__(self, kind: str) -> str:
        self._next[kind] = self._next.get(kind, 0) + 1
        return f"{kind} {self._next[kind]}"


def _features(piece: Piece) -> list[Feature]:
    body = piece.placed.body
    numbered = _Numbering()
    features = []
    for s in body.shapings:
        kind: FeatureKind = s.kind
        origin: Origin = "fitted" if s.fitted else "worked"
        features.append(_feature(numbered(kind), kind, s.stage, origin, s.place, (s.cutter,), note=s.side))
    for o in body.openings:
        hole = None
        if o.bored is not None and o.kind != "opening":
            b = o.bored
            hole = Hole(b.entry, b.axis, b.diameter, b.depth, o.kind, b.side)
        features.append(
            _feature(numbered(o.kind), o.kind, o.stage, "worked", o.place, o.cutters, o.note, hole)
        )
    for cut in piece.cuts:
        made = _feature(
            numbered(cut.kind), cut.kind, cut.stage, cut.origin, cut.place, cut.cutters, cut.note, cut.hole
        )
        features.append(replace(made, joint=cut.joint, mate=cut.mate, assembly=cut.assembly))
    return features


def _feature(
    feature_id: str,
    kind: FeatureKind,
    stage: Stage,
    origin: Origin,
    place: Place,
    cutters: Sequence[Sequence[Form]],
    note: str = "",
    hole: Hole | None = None,
) -> Feature:
    surfaces: list[Surface] = []
    named: list[tuple[str, ...]] = []
    for cutter in cutters:
        ids = []
        for form in cutter:
            known = next((s for s in surfaces if same_form(s.form, form)), None)
            if known is None:
                known = Surface(f"{feature_id}.{len(surfaces) + 1}", form, feature_id)
                surfaces.append(known)
            ids.append(known.id)
        named.append(tuple(ids))
    return Feature(
        feature_id, kind, stage, origin, None, None, place, tuple(surfaces), tuple(named), hole, note
    )


def cutters_of(features: Sequence[Feature]) -> list[list[Form]]:
    """The cutters of the features, in the member's frame."""
    found = []
    for feature in features:
        forms = {s.id: s.form for s in feature.surfaces}
        found += [[forms[i] for i in cutter] for cutter in feature.cutters]
    return found


def moved_feature(feature: Feature, shift: Frame) -> Feature:
    """The feature as seen from the frame ``shift`` (a move without a turn)."""
    surfaces = tuple(replace(s, form=s.form.local_to(shift)) for s in feature.surfaces)
    hole = feature.hole
    if hole is not None:
        hole = replace(hole, entry=shift.local_point(hole.entry))
    return replace(feature, surfaces=surfaces, hole=hole)


def remaining_surfaces(blank: Box, features: Sequence[Feature], solid: Solid) -> tuple[Surface, ...]:
    """The surfaces that still carry area: the blank's faces by their reserved ids, then the features'."""
    candidates = [Surface(name, plane) for name, plane in blank.planes().items()]
    candidates += [s for f in features for s in f.surfaces]
    found = []
    for surface in candidates:
        if any(same_form(surface.form, form) for form in _pieces_of(surface.form, solid)):
            found.append(surface)
    return tuple(found)


def _pieces_of(form: Form, solid: Solid) -> Sequence[Form]:
    """The solid's forms; an outline of several curves stands for all of its pieces, so it always remains."""
    return (*solid.forms, form) if hasattr(form, "outline") else solid.forms


def _instances(group: Alike, shift: Frame | None) -> tuple[tuple[Instance, ...], Hand | None]:
    size = group.drawn.placed.body.size
    found: list[tuple[str, Frame]] = []
    for placed, turn in group.places:
        frame = placed.frame.after(turn)
        found.append((placed.name, frame if shift is None else frame.after(shift)))
    one_hand = all(f.determinant > 0 for _, f in found)
    if not group.handed or one_hand:
        return tuple(Instance(n, None, f) for n, f in found), None
    middle = group.drawn.placed.frame.point(scale(size, 0.5))
    drawn: Hand = "right" if middle[0] > 1e-6 else "left"
    other: Hand = "left" if drawn == "right" else "right"
    instances = tuple(Instance(n, drawn if f.determinant > 0 else other, f) for n, f in found)
    return instances, drawn
