"""Offers for cuts that stand aslant in all views: their true sizes, square to their walls, in a note.

No view shows such a size in true length; it is what the cut is made to all the same, for the mate fills it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import VIEWS, Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import FROM, LEAST, mouths_of
from plangen.dimensioning.workpiece import AXES, Spot, dominant_axis
from plangen.geometry.vectors import Vec, dot, length, scale, sub

_SQUARE = 1e-9


def aslant_offers(
    refs: References,
    layout: Layout,
    pairs: Sequence[tuple[int, int]],
    floors: Sequence[int],
    opened: Sequence[MemberView],
) -> Iterator[Offer]:
    """Of walls that face each other, and of floors, those that no view shows on edge: how far apart the walls are and
    how deep the floor lies, square to them, in one note; and where the mouth meets the arrises.

    ``opened``: the views that look into the cut.
    """
    work = refs.work
    own = [p for p in pairs if is_aslant(refs, p[0]) and _are_parallel(refs, *p)]
    sizes = [s for near, far in own if (s := _square_size(refs, layout, near, far, opened)) is not None]
    if not sizes:
        return
    largest = max(round(s.value, 6) for s in sizes)
    head = ""
    for i, size in enumerate(sizes):
        word = " LONG" if len(sizes) > 1 and round(size.value, 6) == largest else " WIDE"
        words = word + (" SQUARE TO WALLS" if i == len(sizes) - 1 else "")
        yield replace(size, label=f"true{word.lower()}", suffix=words, held=True, said_by=head)
        head = head or f"true{word.lower()}"
    for floor in floors:
        plane = work.plane(floor)
        if plane is None or not is_aslant(refs, floor):
            continue
        for mouth in mouths_of(refs, plane, dominant_axis(plane.normal)):
            depth = (
                _square_size(refs, layout, mouth, floor, opened)
                if _are_parallel(refs, mouth, floor, 1.0)
                else None
            )
            if depth is not None:
                yield replace(depth, label="true depth", suffix=" DEEP", said_by=head)
                yield from _mouth(refs, layout, own, mouth)


def is_aslant(refs: References, form: int) -> bool:
    """No view of the member shows the surface on edge."""
    plane = refs.work.plane(form)
    return plane is not None and all(abs(c) > _SQUARE for c in plane.normal)


def _are_parallel(refs: References, a: int, b: int, way: float = -1.0) -> bool:
    pa, pb = refs.work.plane(a), refs.work.plane(b)
    return pa is not None and pb is not None and way * dot(pa.normal, pb.normal) > 1 - 1e-12


def _square_size(
    refs: References, layout: Layout, a: int, b: int, opened: Sequence[MemberView]
) -> Offer | None:
    """The distance of two parallel surfaces, square to them, at the corners that are most nearly abreast."""
    plane = refs.work.plane(a)
    assert plane is not None
    found = [
        (round(_aside(p, q, plane.normal), 3), -len(set(p.forms) & set(refs.outer)), p.point, q.point, p, q)
        for p in refs.work.corners_on(a)
        for q in refs.work.corners_on(b)
    ]
    if not found:
        return None
    *_, p, q = min(found, key=lambda f: f[:4])
    views = [*dict.fromkeys((*opened, *VIEWS))]
    seen = {v: [s for s in (p, q) if layout.sees(v, s, plane.normal)] for v in views}
    view = max(views, key=lambda v: (bool(seen[v]) and v in opened, len(seen[v]), -views.index(v)))
    if seen[view] and seen[view][0] is q:
        p, q = q, p
    return Offer("true size", "depth", (p, q), plane.normal, view)


def _aside(p: Spot, q: Spot, way: Vec) -> float:
    d = sub(q.point, p.point)
    return length(sub(d, scale(way, dot(d, way))))


def _mouth(refs: References, layout: Layout, pairs: Sequence[tuple[int, int]], mouth: int) -> Iterator[Offer]:
    """Where the nearer wall comes out through an end that is itself aslant: at either arris, from the face side or
    the face edge, as it is marked."""
    for near, _ in pairs:
        plane = refs.work.plane(near)
        assert plane is not None
        axis = max((1, 2), key=lambda a: (round(abs(plane.normal[a]), 6), a))
        for corner in refs.work.corners_on(near, mouth):
            foot = refs.foot(axis, corner)
            if foot is not None and abs(foot.point[axis] - corner.point[axis]) > LEAST:
                offer = linear(layout, f"mouth {FROM[axis]}", foot, corner, AXES[axis])
                yield replace(offer, tier="position")
