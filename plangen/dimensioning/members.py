"""The figures of each member: what a maker needs to cut it from its sheet alone, and nothing twice.

Offers are taken in the order in which a member is made; one is stated where it fixes something that the
references, the conventions and the figures before it leave open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.bores import bores_of, rows_of_holes
from plangen.dimensioning.choice import MOST_DRIFT, Stated, choose
from plangen.dimensioning.conventions import mirror_axes, take_conventions
from plangen.dimensioning.cuts import cut_offers, has_profile, shoulder_offers, sizes_of_mate
from plangen.dimensioning.edges import edge_offers
from plangen.dimensioning.figures import Convention, Figure, MemberFigures, MemberView, Proof
from plangen.dimensioning.freedom import Freedom, Row
from plangen.dimensioning.holes import hole_offers
from plangen.dimensioning.joint_rounding import round_jointly
from plangen.dimensioning.notes import member_notes
from plangen.dimensioning.offers import VIEWS, Layout, Offer
from plangen.dimensioning.outlines import curve_offers, outline_offers
from plangen.dimensioning.proof import prove
from plangen.dimensioning.references import References, find_references
from plangen.dimensioning.relations import convention_rows
from plangen.dimensioning.round_cuts import kerf_offers
from plangen.dimensioning.rounding import Coordinates, printed
from plangen.dimensioning.shaping import (
    end_offers,
    further_planes,
    length_offers,
    overall_offers,
    stock_offers,
)
from plangen.dimensioning.turned import is_of_profile, round_offers
from plangen.dimensioning.workpiece import EDGE_WORK, ROUND, Workpiece
from plangen.geometry.vectors import Point
from plangen.joinery.model import Feature, Member, Model
from plangen.units import UnitStyle, length_text


def dimension_members(model: Model, style: UnitStyle) -> tuple[MemberFigures, ...]:
    """The figures of every member to make, jigs among them, in the model's order."""
    return tuple(dimension_member(model, m, style) for m in model.members if m.role != "bought")


def dimension_member(model: Model, member: Member, style: UnitStyle) -> MemberFigures:
    work = Workpiece(member)
    refs, layout = find_references(work), Layout(work)
    freedom = Freedom(work)
    refs.gauge(freedom)
    mirrors = mirror_axes(refs)
    conventions = (*take_conventions(freedom, refs, mirrors), *_alike(freedom, refs))
    stated = choose(freedom, refs, layout, [_as_marked(o) for o in _offers(model, refs, layout)], style)
    figures = as_figures(refs, layout, stated, style, freedom)
    sheet = MemberFigures(
        member.mark,
        _views(refs, figures),
        figures,
        conventions,
        member_notes(refs, mirrors, figures, style),
        _datum(refs, figures),
    )
    proof = prove(member, sheet, style)
    return replace(sheet, proof=proof, notes=(*sheet.notes, *_drift_notes(proof, style)))


def _drift_notes(proof: Proof, style: UnitStyle) -> Iterator[str]:
    """What the sheet says where its figures do not hold every corner as near as they should."""
    if proof.drift > MOST_DRIFT * float(style.step) / 2 + 1e-6:
        step, most = length_text(style.step, style), length_text(proof.drift, style)
        yield f"With figures printed to {step} {proof.drift_at} may come out {most} off: try the part on its mates."


def _datum(refs: References, figures: Sequence[Figure]) -> Point | None:
    """The reference corner, where some length is measured from it; a round piece has none."""
    if refs.work.member.is_round:
        return None
    along = [
        f for f in figures if f.kind == "linear" and f.direction is not None and abs(f.direction[0]) > 0.999
    ]
    starts = [p[0] for f in along for p in f.points]
    return refs.corner if any(abs(start - refs.corner[0]) < 1e-6 for start in starts) else None


def _offers(model: Model, refs: References, layout: Layout) -> Iterator[Offer]:
    round_ = refs.work.member.is_round
    yield from _firm(round_offers(refs, layout) if round_ else stock_offers(refs, layout))
    yield from _firm(shoulder_offers(refs, layout))
    tenons, others = _cuts(refs)
    if not tenons and not round_:
        yield from _firm(length_offers(refs, layout))
    for feature in tenons:
        yield from cut_offers(
            refs, layout, feature, sizes_of_mate(model, feature, _clearance(model, feature))
        )
    if tenons and not round_:
        yield from length_offers(refs, layout)
    if not round_:
        yield from _firm(end_offers(refs, layout))
    yield from further_planes(refs, layout)
    yield from curve_offers(refs, layout)
    yield from outline_offers(refs, layout)
    for feature in others:
        if round_ and feature.kind == "kerf":
            yield from kerf_offers(refs, feature)
            continue
        yield from cut_offers(
            refs, layout, feature, sizes_of_mate(model, feature, _clearance(model, feature))
        )
    yield from hole_offers(refs, layout)
    yield from edge_offers(refs, layout)
    if not round_:
        yield from overall_offers(refs, layout)


def _as_marked(offer: Offer) -> Offer:
    """A mate gives the sizes that are held to it, and the bit that of its hole; where a cut stands is marked out."""
    given = offer.held or offer.kind in ("radius", "diameter")
    if offer.origin != "matched" or given:
        return offer
    angle = None if offer.angle is None else replace(offer.angle, origin="worked")
    return replace(offer, origin="worked", angle=angle)


def _firm(offers: Iterator[Offer]) -> Iterator[Offer]:
    return (replace(o, firm=True) for o in offers)


def _clearance(model: Model, feature: Feature) -> float:
    return next((j.clearance for j in model.joints if j.name == feature.joint), 0.0)


def _cuts(refs: References) -> tuple[list[Feature], list[Feature]]:
    """End tenons and tongues, then all other cuts, each along the length."""
    shaped = (
        "end",
        "trim",
        "mitre",
        "bevel",
        "taper",
        "curve",
        "outline",
        *ROUND,
        "opening",
        *EDGE_WORK,
    )

    def at(feature: Feature) -> tuple[float, str]:
        corners = [s for f in refs.work.forms_of(feature) for s in refs.work.corners_on(f)]
        return (min((round(s.point[0], 6) for s in corners), default=0.0), feature.id)

    own = (
        f
        for f in refs.work.features.values()
        if f.kind not in shaped and f.hole is None and not is_of_profile(refs, f)
    )
    cuts = sorted(own, key=at)
    tenons = [f for f in cuts if f.kind in ("tenon", "tongue")]
    return tenons, [f for f in cuts if f not in tenons]


def _alike(freedom: Freedom, refs: References) -> list[Convention]:
    """Equal holes under one note: the same diameter, and the same depth; holes in a row: as far from the
    reference as the first."""
    groups: dict[tuple[object, ...], list[int]] = {}
    depths: dict[tuple[object, ...], list[tuple[int, int]]] = {}
    for bore in bores_of(refs):
        groups.setdefault(bore.alike, []).append(bore.cylinder)
        if bore.sunk is not None:
            groups.setdefault((*bore.alike, "sunk"), []).append(bore.sunk)
        if bore.floor is not None and bore.entry is not None:
            depths.setdefault(bore.alike, []).append((bore.entry, bore.floor))
    found: list[Convention] = []
    for cylinders in groups.values():
        rows = convention_rows(freedom, "same as", cylinders) if len(cylinders) > 1 else []
        if _take_all(freedom, rows):
            found.append(Convention("same as", tuple(refs.work.name(c) for c in cylinders)))
    for pairs in depths.values():
        for pair in pairs[1:]:
            four = (*pairs[0], *pair)
            if _take_all(freedom, convention_rows(freedom, "same as", four)):
                found.append(Convention("same as", tuple(refs.work.name(f) for f in four)))
    for row_of in rows_of_holes(refs):
        for four in row_of:
            if _are_alike(freedom, four) and _take_all(freedom, convention_rows(freedom, "same as", four)):
                found.append(Convention("same as", tuple(refs.work.name(f) for f in four)))
    return found


def _are_alike(freedom: Freedom, four: tuple[int, int, int, int]) -> bool:
    """Two holes are as far from a reference where its equation says so: at the middle of each. Beside a beveled
    edge that is not so of holes of other depths."""
    apart = []
    for ref, hole in (four[:2], four[2:]):
        plane = freedom.work.plane(ref)
        apart.append(0.0 if plane is None else plane.distance(freedom.centre[hole]))
    return abs(apart[0] - apart[1]) < 1e-6


def _take_all(freedom: Freedom, rows: list[Row]) -> bool:
    """Add all rows; whether any of them was new."""
    return sum(freedom.take(row) for row in rows) > 0


def as_figures(
    refs: References, layout: Layout, stated: list[Stated], style: UnitStyle, freedom: Freedom | None = None
) -> tuple[Figure, ...]:
    """The figures as printed; rounded jointly where ``freedom``, the system before them, is given."""
    coordinates = Coordinates(refs, style)
    coordinates.hold(s.offer for s in stated if s.offer.held)
    if freedom is not None:
        round_jointly(freedom, stated, coordinates, style)
    coordinates.close((s.offer for s in stated if not s.reference), [s.offer for s in stated if s.reference])
    ids: dict[str, str] = {}
    counts: dict[str, int] = {}
    figures = []
    for s in stated:
        name = s.offer.label
        if s.offer.feature is not None and not name.startswith(s.offer.feature):
            name = f"{s.offer.feature} {name}"
        counts[name] = counts.get(name, 0) + 1
        figure_id = name if counts[name] == 1 else f"{name} {counts[name]}"
        ids.setdefault(s.offer.label, figure_id)
        figures.append(_figure(refs, layout, s, figure_id, coordinates, style))
    return tuple(f for f in _with_notes(figures, stated, ids) if not _is_echo(f, figures))


def _is_echo(figure: Figure, figures: Sequence[Figure]) -> bool:
    """An overall length that prints as the length does, or that another figure states, and so tells nothing."""
    said = figure.printed.strip("()")
    return figure.id == "overall length" and any(
        (f.id == "length" and f.printed.split(" ON ")[0].split(" TO ")[0] == said)
        or (f is not figure and not f.reference and f.points == figure.points)
        for f in figures
    )


def _figure(
    refs: References,
    layout: Layout,
    stated: Stated,
    figure_id: str,
    coordinates: Coordinates,
    style: UnitStyle,
) -> Figure:
    offer = stated.offer
    text, size = printed(offer, coordinates, style)
    text = f"{offer.prefix}{text}{offer.suffix}"
    value = offer.value
    return Figure(
        id=figure_id,
        view=offer.view,
        kind=offer.kind,
        value=value,
        printed=f"({text})" if stated.reference else text,
        reference=stated.reference,
        origin=offer.origin,
        held=offer.held,
        off=float(size) - value,
        points=tuple(s.point for s in offer.spots),
        direction=offer.direction,
        on=tuple(refs.work.ids(s.forms) for s in offer.spots),
        feature=offer.feature,
        tier=offer.tier,
        side=layout.side(offer),
    )


def _with_notes(figures: list[Figure], stated: list[Stated], ids: dict[str, str]) -> Iterator[Figure]:
    """Figures said in another's note are put into its words."""
    said: dict[str, list[str]] = {}
    for figure, s in zip(figures, stated, strict=True):
        if s.offer.said_by in ids and not s.offer.mute:
            said.setdefault(ids[s.offer.said_by], []).append(figure.printed.strip("()"))
    for figure, s in zip(figures, stated, strict=True):
        if figure.id in said:
            yield replace(figure, printed=_note_text(figure.printed, said[figure.id]))
        elif s.offer.said_by in ids:
            yield replace(figure, said_by=ids[s.offer.said_by])
        else:
            yield figure


def _note_text(head: str, parts: list[str]) -> str:
    """``Ø 10 x 25 DEEP, LEANS 6° TOWARD END B``, ``Ø 3/8 THRU, CBORE Ø 1 x 1/2 DEEP``."""
    text, leans, lean = head.partition(", LEANS ")
    for part in parts:
        if part.endswith(" DEEP"):
            text += f" x {part}"
        else:
            text += f", {part}"
    return f"{text}, LEANS {lean}" if leans else text


def _views(refs: References, figures: tuple[Figure, ...]) -> tuple[MemberView, ...]:
    """Those that figures stand in, the face in any case, and the edge unless the end shows the whole profile."""
    used = {"face", *(f.view for f in figures if not f.said_by)}
    if not has_profile(refs) and not refs.work.member.is_round:
        used.add("edge")
    return tuple(v for v in VIEWS if v in used)
