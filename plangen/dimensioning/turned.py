"""Offers for round and turned members: diameters for the callipers, places along the axis for the story stick.

All surfaces about the member's own axis are its *profile*: stretches turned, round and tapered tenons, flat
shoulders. Two of them meet in a *rim*. A cylinder has one diameter; a cone one at each of its rims, once where two
cones share it; every rim has its distance from end A, measured from the long point of an end out of square.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST
from plangen.dimensioning.workpiece import AXES, EDGE_WORK, ROUND, ROUND_TENONS, Spot, Workpiece
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, length, sub, unit
from plangen.joinery.model import Feature

_TRUE = 1e-9
_ASIDE: tuple[Vec, ...] = ((0.0, -1.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (0.0, 0.0, 1.0))
"""The sides a rule is laid to, in order: the lower outline of the face view first."""
_DIAGONALS: tuple[Vec, ...] = ((0.0, math.sqrt(0.5), math.sqrt(0.5)), (0.0, -math.sqrt(0.5), math.sqrt(0.5)))
_MAY_SHOW: tuple[MemberView, ...] = ("face", "edge")


@dataclass(frozen=True)
class Rim:
    """Where two surfaces of the profile meet, or the side of one meets an end: distance along the member (of an end
    out of square where the axis comes to it), radius there, and the forms."""

    station: float
    radius: float
    forms: tuple[int, int]


class Profile:
    """What a member has about its own axis. Empty for one that is neither round nor turned."""

    def __init__(self, refs: References) -> None:
        self.refs = refs
        self.work: Workpiece = refs.work
        self.centre: Point | None = None
        for feature in self.work.features.values():
            for form in self.work.forms_of(feature) if feature.kind in ROUND else ():
                surface = self.work.forms[form]
                if self.centre is None and isinstance(surface, Cylinder | Cone):
                    self.centre = (0.0, surface.point[1], surface.point[2])

    def __bool__(self) -> bool:
        return self.centre is not None

    @cached_property
    def forms(self) -> frozenset[int]:
        """Rounds about the axis, and flat shoulders square to it that meet them."""
        rounds = {i for i in range(len(self.work.forms)) if self._is_about_axis(i)}
        flats = {i for pair in self._meeting for i in pair if self._is_flat(i)}
        met = {i for pair in self._meeting if rounds & set(pair) for i in pair}
        return frozenset(rounds | (flats & met))

    @cached_property
    def _meeting(self) -> tuple[tuple[int, int], ...]:
        faces = self.work.solid.faces
        pairs = ((faces[e.left].surface, faces[e.right].surface) for e in self.work.solid.edges)
        return tuple(dict.fromkeys((min(p), max(p)) for p in pairs))

    def _is_about_axis(self, form: int) -> bool:
        f = self.work.forms[form]
        if self.centre is None or not isinstance(f, Cylinder | Cone) or f.side != "post":
            return False
        aside = math.hypot(f.point[1] - self.centre[1], f.point[2] - self.centre[2])
        return abs(f.axis[0]) > 1 - 1e-12 and aside < 1e-6

    def _is_flat(self, form: int) -> bool:
        """A shoulder of the profile or of a round tenon, square to the axis."""
        plane, feature = self.work.plane(form), self.work.feature_of(form)
        about = feature is not None and feature.kind in (*ROUND, *ROUND_TENONS)
        return about and plane is not None and abs(plane.normal[0]) > 1 - 1e-12

    @property
    def ends(self) -> tuple[int, ...]:
        return tuple(e for e in (self.refs.end, self.refs.other_end) if e is not None)

    @property
    def named_ends(self) -> tuple[tuple[int, MemberView], ...]:
        """The ends there are, with the views that look at them."""
        found: list[tuple[int, MemberView]] = []
        if self.refs.end is not None:
            found.append((self.refs.end, "end A"))
        if self.refs.other_end is not None:
            found.append((self.refs.other_end, "end B"))
        return tuple(found)

    def round_form(self, form: int) -> Cylinder | Cone | None:
        f = self.work.forms[form]
        return f if form in self.forms and isinstance(f, Cylinder | Cone) else None

    @cached_property
    def rims(self) -> tuple[Rim, ...]:
        """From end A to end B."""
        found = []
        for a, b in self._meeting:
            known = {*self.forms, *self.ends}
            if {a, b} <= known and {a, b} & self.forms:
                found += self._rim(a, b)
        return tuple(sorted(found, key=lambda r: (round(r.station, 6), round(r.radius, 6), r.forms)))

    def _rim(self, a: int, b: int) -> list[Rim]:
        ra, rb = self.round_form(a), self.round_form(b)
        if ra is not None and rb is not None:
            slope = _slope(ra) - _slope(rb)
            if abs(slope) < 1e-12:
                return []
            at = (_radius(rb, 0.0) - _radius(ra, 0.0)) / slope
            return [Rim(at, _radius(ra, at), (a, b))]
        flat, round_ = (a, rb) if rb is not None else (b, ra)
        plane = self.work.plane(flat)
        if plane is None or round_ is None or self.centre is None:
            return []
        at = (
            plane.offset - plane.normal[1] * self.centre[1] - plane.normal[2] * self.centre[2]
        ) / plane.normal[0]
        return [Rim(at, _radius(round_, at), (a, b))]

    # --- where a rule or the callipers touch -----------------------------------------------------------------

    def at(self, station: float, aside: Vec, radius: float) -> Point:
        assert self.centre is not None
        return along((station, self.centre[1], self.centre[2]), aside, radius)

    def spot(self, rim: Rim) -> Spot | None:
        """A point of the rim on the skin, the lower outline of the face view first."""
        for aside in (*_ASIDE, *self._abreast()):
            p = self.at(rim.station, aside, rim.radius)
            if self.work.reaches(p, rim.forms):
                return Spot(p, tuple(sorted(rim.forms)))
        return None

    def across(self, form: int, station: float) -> tuple[Spot, Spot] | None:
        """Opposite points of a round at a station, both with skin: those on the outline of the face view first."""
        round_ = self.round_form(form)
        if round_ is None:
            return None
        radius = _radius(round_, station)
        for way in (AXES[1], AXES[2], *self._abreast(), *_DIAGONALS):
            pair = [self.at(station, way, s * radius) for s in (-1.0, 1.0)]
            if all(self.work.reaches(p, (form,)) for p in pair):
                return Spot(pair[0], (form,)), Spot(pair[1], (form,))
        return None

    def _abreast(self) -> list[Vec]:
        """Square to the lean of an end: there its edge stands where the axis comes to it."""
        found = []
        for end in self.ends:
            plane = self.work.plane(end)
            if plane is not None and abs(plane.normal[0]) < 1 - 1e-12:
                way = unit(cross(AXES[0], plane.normal))
                found += [way, (-way[0], -way[1], -way[2])]
        return found

    def middle_of(self, end: int) -> Spot | None:
        """Where the axis comes to an end, with wood there."""
        plane = self.work.plane(end)
        if plane is None or self.centre is None:
            return None
        p = self.at(self._on_axis(plane), AXES[1], 0.0)
        return Spot(p, (end,)) if self.work.reaches(p, (end,)) else None

    def midline(self, end: int) -> Spot | None:
        """A point of an end that stands on the axis in the face view, beside it where a kerf takes the middle."""
        plane, points = self.work.plane(end), self.points_of_end(end)
        if plane is None or self.centre is None or points is None:
            return None
        radius = math.dist(points[0].point[1:], self.centre[1:])
        for share in (0.0, 0.3, -0.3, 0.6, -0.6):
            w, t = self.centre[1], self.centre[2] + share * radius
            p = ((plane.offset - plane.normal[1] * w - plane.normal[2] * t) / plane.normal[0], w, t)
            if self.work.reaches(p, (end,)):
                return Spot(p, (end,))
        return None

    def _on_axis(self, plane: Plane) -> float:
        assert self.centre is not None
        aside = plane.normal[1] * self.centre[1] + plane.normal[2] * self.centre[2]
        return (plane.offset - aside) / plane.normal[0]

    def points_of_end(self, end: int) -> tuple[Spot, Spot] | None:
        """Long and short point of an end; of a square one its lowest point in the face view, twice."""
        plane = self.work.plane(end)
        if plane is None or self.centre is None:
            return None
        lean: Vec = (0.0, plane.normal[1], plane.normal[2])
        way = unit(lean) if length(lean) > _TRUE else AXES[1]
        found = []
        for sign in (-1.0, 1.0):
            spot = self._on_end(end, plane, (0.0, way[1] * sign, way[2] * sign))
            if spot is not None:
                found.append(spot)
        if not found:
            return None
        if length(lean) < _TRUE:
            return found[0], found[0]
        outward = 1.0 if plane.normal[0] > 0 else -1.0
        found.sort(key=lambda s: -outward * s.point[0])
        return found[0], found[-1]

    def _on_end(self, end: int, plane: Plane, aside: Vec) -> Spot | None:
        """Where the outline on that side comes to an end."""
        n = plane.normal
        lean = n[1] * aside[1] + n[2] * aside[2]
        assert self.centre is not None
        axial = plane.offset - n[1] * self.centre[1] - n[2] * self.centre[2]
        for form in sorted(self.forms):
            round_ = self.round_form(form)
            if round_ is None:
                continue
            station = (axial - lean * _radius(round_, 0.0)) / (n[0] + lean * _slope(round_))
            p = self.at(station, aside, _radius(round_, station))
            if self.work.reaches(p, (end, form)):
                return Spot(p, tuple(sorted((end, form))))
        return None


def _slope(round_: Cylinder | Cone) -> float:
    """Millimetres that the radius grows for each along the member."""
    return round_.slope * round_.axis[0] if isinstance(round_, Cone) else 0.0


def _radius(round_: Cylinder | Cone, station: float) -> float:
    if isinstance(round_, Cylinder):
        return round_.radius
    return round_.radius_at((station, round_.point[1], round_.point[2]))


# --- offers ------------------------------------------------------------------------------------------------


def is_of_profile(refs: References, feature: Feature) -> bool:
    """All that remains of a feature lies about the axis of a round member: it is figured with the profile."""
    profile = Profile(refs)
    forms = refs.work.forms_of(feature)
    return bool(profile) and bool(forms) and all(f in profile.forms or f in profile.ends for f in forms)


def round_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Lengths first, then diameters, then the places of the rims; last what only a freak of the profile needs."""
    profile = Profile(refs)
    yield from _lengths(profile, layout)
    yield from _cylinders(profile)
    yield from _cones(profile)
    yield from _places(profile, layout)
    yield from _every_rim(profile)


def _lengths(profile: Profile, layout: Layout) -> Iterator[Offer]:
    """Tenons at both ends: between their shoulders, and each tenon; then the length, and how far each end out of
    square runs back."""
    refs = profile.refs
    ends = [(n, e, found) for n, e in (("end A", refs.end), ("end B", refs.other_end))
            if e is not None and (found := profile.points_of_end(e))]  # fmt: skip
    tenons = [_tenon(profile, layout, name, points[0]) for name, _, points in ends]
    shoulders = [t for t in tenons if t is not None]
    origin = refs.work.member.length_origin
    if len(shoulders) == 2:
        (_, first), (_, last) = shoulders
        between = linear(layout, "between shoulders", first, last, AXES[0], _MAY_SHOW)
        yield replace(
            between, kind="linear", view="face", tier="position", suffix=" BETWEEN SHOULDERS", stated=True,
            origin=origin, beside="below",
        )  # fmt: skip
    for offer, _ in shoulders:
        yield offer
    if len(ends) == 2:
        (_, _, a), (_, _, b) = ends
        square = all(abs(p[0].point[0] - p[1].point[0]) < LEAST for p in (a, b))
        yield replace(
            linear(layout, "length", a[0], b[0], AXES[0], _MAY_SHOW), kind="linear", tier="overall", view="face",
            stated=True, suffix="" if square else " LONG POINTS", origin=origin, beside="below",
        )  # fmt: skip
    for name, _, (long, short) in ends:
        if abs(long.point[0] - short.point[0]) > LEAST:
            angle = _lean(profile, name, long, short, [e for _, e, _ in ends])
            yield replace(
                linear(layout, f"{name} over diameter", short, long, AXES[0], _MAY_SHOW),
                kind="linear", view="face", suffix="", origin=origin, stated=True, angle=angle,
                span=math.dist(long.point[1:], short.point[1:]),
            )  # fmt: skip
    yield from _turn(profile, [(e, points) for _, e, points in ends])


def _lean(profile: Profile, name: str, long: Spot, short: Spot, ends: Sequence[int]) -> Offer | None:
    """An end's angle with the axis, for a bevel gauge, where the view shows it true: at the short point's side it is
    more than square, at the long point's less."""
    (own,) = (e for e in ends if e in long.forms)
    other = next((e for e in ends if e != own), None)
    apex, far = profile.midline(own), None if other is None else profile.midline(other)
    if apex is None or far is None or abs(long.point[2] - short.point[2]) > LEAST:
        return None
    run, rise = abs(long.point[0] - apex.point[0]), abs(long.point[1] - apex.point[1])
    degrees = math.degrees(math.atan2(rise, run))
    # the long point of an end lies away from the other end: the acute angle is on the short point's side
    return Offer(f"{name} over diameter, angle", "angular", (apex, short, far), None, "face", degrees=degrees)


def _tenon(profile: Profile, layout: Layout, name: str, end: Spot) -> tuple[Offer, Spot] | None:
    """The length of a round tenon at an end, and its shoulder."""
    for rim in profile.rims:
        feature = _feature_of(profile, rim)
        flat = [f for f in rim.forms if profile.work.plane(f) is not None and f not in profile.ends]
        if feature is None or feature.kind != "round tenon" or not flat:
            continue
        plane = profile.work.plane(flat[0])
        spot = profile.spot(rim)
        if plane is None or spot is None or (plane.normal[0] < 0) != (name == "end A"):
            continue
        a, b = sorted((end, spot), key=lambda s: s.point[0])
        offer = linear(layout, f"{feature.id} length", a, b, AXES[0], _MAY_SHOW)
        return replace(
            offer, kind="linear", view="face", feature=feature.id, origin=feature.origin, suffix=""
        ), spot
    return None


def _turn(profile: Profile, ends: Sequence[tuple[int, tuple[Spot, Spot]]]) -> Iterator[Offer]:
    """How far the lean of end B is turned about the axis from that of end A, seen from end A."""
    planes = [profile.work.plane(e) for e, _ in ends]
    if len(ends) < 2 or any(p is None or abs(p.normal[0]) > 1 - 1e-12 for p in planes):
        return
    (first, (a, _)), (_, (b, _)) = ends
    apex = profile.middle_of(first)
    if apex is None:
        return
    (aw, at), (bw, bt) = ((s.point[1] - apex.point[1], s.point[2] - apex.point[2]) for s in (a, b))
    degrees = abs(math.degrees(math.atan2(aw * bt - at * bw, aw * bw + at * bt)))
    if 1e-6 < degrees < 180 - 1e-6:
        words = " BETWEEN LONG POINTS"
        yield Offer("end B turned", "angular", (apex, a, b), None, "end A", suffix=words, degrees=degrees)


def _cylinders(profile: Profile) -> Iterator[Offer]:
    """Each at the middle of its length, or where an end cuts it off aslant; in parentheses where the same size comes
    again."""
    for face in _faces(profile, Cylinder):
        rims = [r.station for r in profile.rims if face.form in r.forms]
        for station in (*_clear_of_holes(profile, face), *rims):
            if profile.across(face.form, station) is not None:
                yield from _diameter(profile, face.form, station, stated=True)
                break


def _clear_of_holes(profile: Profile, face: _Face) -> list[float]:
    """Places along a stretch, its middle first, those by a hole last."""
    stations = [face.low + (face.high - face.low) * k for k in (0.5, 0.25, 0.75, 0.1, 0.9)]
    holes = [f.hole for f in profile.work.features.values() if f.hole is not None]
    return sorted(stations, key=lambda s: any(abs(h.entry[0] - s) < h.diameter for h in holes))


def _cones(profile: Profile) -> Iterator[Offer]:
    """At each rim, once where two share it; none where the cylinder beside it has its own. At an end cut aslant where
    the axis comes to it, or, with a kerf there, where the whole round begins."""
    done: set[float] = set()
    for rim in profile.rims:
        rounds = [f for f in rim.forms if profile.round_form(f) is not None]
        kinds = [type(profile.work.forms[f]) for f in rounds]
        if Cylinder in kinds or not rounds or _is_eased(profile, rim):
            continue
        key = round(rim.station, 6) + (0.0 if len(rounds) > 1 else rounds[0] * 1e6)
        if key not in done and not _at_cylinder(profile, rim):
            done.add(key)
            short = [
                p[1].point[0] for e in rim.forms if e in profile.ends and (p := profile.points_of_end(e))
            ]
            for station in (rim.station, *short):
                if profile.across(rounds[0], station) is not None:
                    yield from _diameter(profile, rounds[0], station)
                    break


def _is_eased(profile: Profile, rim: Rim) -> bool:
    """A chamfer's: its own note says it."""
    features = (profile.work.feature_of(f) for f in rim.forms)
    return any(f is not None and f.kind in EDGE_WORK for f in features)


def _at_cylinder(profile: Profile, rim: Rim) -> bool:
    """A cylinder runs on from the same rim, as the stub beyond the last place of a profile does."""
    return any(
        abs(other.station - rim.station) < LEAST
        and abs(other.radius - rim.radius) < LEAST
        and any(isinstance(profile.round_form(f), Cylinder) for f in other.forms)
        for other in profile.rims
    )


def _places(profile: Profile, layout: Layout) -> Iterator[Offer]:
    """Every rim that is no end's, from end A."""
    end = profile.refs.end
    points = None if end is None else profile.points_of_end(end)
    if points is None:
        return
    for rim in profile.rims:
        spot = profile.spot(rim)
        if (
            spot is None
            or _is_eased(profile, rim)
            or set(rim.forms) & set(profile.ends)
            or abs(spot.point[0] - points[0].point[0]) < LEAST
        ):
            continue
        feature = _feature_of(profile, rim)
        offer = linear(layout, "place from end A", points[0], spot, AXES[0], _MAY_SHOW)
        yield replace(
            offer, kind="linear", view="face", tier="position", suffix="", beside="below",
            feature=None if feature is None else feature.id, origin="worked" if feature is None else feature.origin,
        )  # fmt: skip


def _every_rim(profile: Profile) -> Iterator[Offer]:
    """Both cones of a rim: for two that run so nearly alike that the rim cannot be placed."""
    for rim in (r for r in profile.rims if not _is_eased(profile, r)):
        for form in rim.forms:
            if isinstance(profile.round_form(form), Cone):
                yield from _diameter(profile, form, rim.station)


def _diameter(profile: Profile, form: int, station: float, *, stated: bool = False) -> Iterator[Offer]:
    spots = profile.across(form, station)
    if spots is None:
        return
    feature = profile.work.feature_of(form)
    tenon = feature is not None and feature.kind not in ROUND
    size = length(sub(spots[1].point, spots[0].point))
    stock = profile.work.member.stock.thickness
    bought = (
        not tenon
        and feature is not None
        and feature.kind == "round"
        and stock is not None
        and abs(stock - size) < 1e-6
    )
    yield Offer(
        "diameter", "diameter", spots, None, "face", prefix="Ø ", stated=stated, beside="above",
        feature=feature.id if tenon and feature is not None else None,
        origin="bought" if bought else "worked", held=bought,
    )  # fmt: skip


def turned_notes(refs: References) -> Iterator[str]:
    """What to know at the lathe."""
    profile = Profile(refs)
    if not any(f.kind == "turned" for f in refs.work.features.values()):
        return
    planes = [p for e in profile.ends if (p := refs.work.plane(e)) is not None]
    if any(abs(p.normal[0]) < 1 - 1e-12 for p in planes):
        yield "Turn it with square ends at the long points; saw the ends aslant after that."


@dataclass(frozen=True)
class _Face:
    """One stretch of a round form: where it begins and ends along the member."""

    form: int
    low: float
    high: float

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2


def _faces(profile: Profile, kind: type[Cylinder] | type[Cone]) -> list[_Face]:
    """The stretches of one kind, from end A to end B; one form may come more than once."""
    solid = profile.work.solid
    found = []
    for face in solid.faces:
        if not isinstance(profile.round_form(face.surface), kind):
            continue
        rows = {v for t in face.triangles for v in solid.triangles[t].tolist()}
        stations = [float(solid.vertices[v][0]) for v in rows]
        found.append(_Face(face.surface, min(stations), max(stations)))
    return sorted(found, key=lambda f: (round(f.low, 6), f.form))


def _feature_of(profile: Profile, rim: Rim) -> Feature | None:
    """The joint's feature that one of a rim's surfaces belongs to."""
    features = (profile.work.feature_of(f) for f in rim.forms)
    return next((f for f in features if f is not None and f.joint is not None), None)
