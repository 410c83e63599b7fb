"""Shoulders: where a tenoned member ends against the face, the round or the curve of the member it enters.

A shoulder is told by *steps*, sets of surfaces in the first member's frame: what lies on the outer side of all
surfaces of any one step, and beyond a cheek of the tenon, is cut away. A flat shoulder has one step of one plane.
One scribed to a round follows it as far as the plane through its axis; behind that plane all wood goes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.findings import DesignError, Finding, fail, note
from plangen.geometry.region import convex_region
from plangen.geometry.spans import spans_left
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Vec, add, along, cross, dot, neg, scale, sub, unit
from plangen.joinery.meeting import Meeting, mating
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM, Shaping

_HUGGED = 0.3
"""Millimetres that a flat shoulder may stand off a round without a word."""
LEAST_ROUND = 0.5
"""Millimetres of a round beside a shoulder scribed to it."""
ROUNDED = ("round", "turned", "curve", "outline")


@dataclass(frozen=True)
class Shoulder:
    """Surfaces in the first member's frame, outward toward the tenon's end."""

    plane: Plane
    """Where the tenon's length is counted from; of a scribed shoulder, the plane that touches the round there."""
    steps: tuple[tuple[Form, ...], ...]
    findings: tuple[Finding, ...] = ()


def way_in(meeting: Meeting) -> Vec:
    """Unit world direction in which the first enters the second: square to a face, along the first into a round."""
    if _round_contact(meeting) is None:
        return meeting.entering()
    return _along_first(meeting)


def shoulder_of(meeting: Meeting, wanted: str | None, sizing: Sizing, gap: float = 0.0) -> Shoulder:
    """The shoulder of ``meeting.first`` on ``meeting.second``, ``gap`` mm short of it.

    ``wanted`` is ``flat``, ``scribed`` or None: scribed to a round or curved mate, flat on a face. Raises DesignError
    where the first is too wide for the round, or enters by no face.
    """
    contact = _round_contact(meeting)
    if contact is None:
        plane = _entered_face(meeting).shifted(-gap)
        return Shoulder(plane, ((plane,),))
    plane = contact.touching.shifted(-gap)
    if wanted == "flat":
        plane = plane.shifted(-contact.hollow)
        return Shoulder(plane, ((plane,),), contact.told(sizing))
    contact.check_width(sizing)
    return Shoulder(plane, contact.steps(gap))


def _entered_face(meeting: Meeting) -> Plane:
    """The second's entered face in the first's frame, outward toward the tenon's end."""
    into = meeting.first.frame.local_direction(meeting.entering())
    faces = [p for p in meeting.second.planes_in(meeting.first.frame) if dot(p.normal, into) < -0.5]
    if not faces:
        raise _fails(meeting, f'"{meeting.first.name}" enters no face of "{meeting.second.name}"')
    return min(faces, key=lambda p: round(dot(p.normal, into), 9)).flipped()


def _along_first(meeting: Meeting) -> Vec:
    """World: the first's length, toward the end that lies in the second."""
    shared = meeting.shared()
    axis = meeting.first.frame.l
    if shared is None:
        return axis
    return axis if dot(sub(shared.centroid, meeting.first.middle), axis) > 0 else neg(axis)


def _round_contact(meeting: Meeting) -> _Contact | None:
    """With the round surface in which the first's axis enters the second's wood, if there is one."""
    first, second = meeting.first, meeting.second
    if not any(s.kind in ROUNDED for s in second.body.shapings):
        return None
    start = second.frame.local_point(first.middle)
    ahead = _along_first(meeting)
    way = second.frame.local_direction(ahead)
    cutters = [s.cutter for s in second.body.shapings]
    spans = spans_left(second.body.box.planes().values(), cutters, start, way)
    if not spans:
        return None
    entry = along(start, way, spans[0][0])
    for shaping in second.body.shapings:
        form = shaping.form
        if shaping.kind in ROUNDED and isinstance(form, Cylinder | Cone) and abs(form.distance(entry)) < 1e-6:
            met = form.placed(second.frame).local_to(first.frame)
            return _Contact(meeting, shaping.kind, met, first.frame.local_direction(ahead))
    return None


@dataclass(frozen=True)
class _Contact:
    """The first against a round surface of the second; all in the first's frame."""

    meeting: Meeting
    kind: str
    """Of what shapes the second there."""
    form: Cylinder | Cone
    into: Vec

    def _local(self, form: Form) -> Form:
        return form.placed(self.meeting.second.frame).local_to(self.meeting.first.frame)

    @property
    def square_in(self) -> Vec:
        """From the side where the first comes to the axis, square to it."""
        axis = self.form.axis
        return unit(sub(self.into, scale(axis, dot(self.into, axis))))

    @property
    def touching(self) -> Plane:
        """The plane that touches the round where the first comes to it: of a hollow, at its bottom."""
        form, d = self.form, self.square_in
        bulge = -1.0 if form.side == "post" else 1.0
        slope = form.slope if isinstance(form, Cone) else 0.0
        normal = unit(add(d, scale(form.axis, -bulge * slope)))
        return Plane(normal, dot(normal, along(form.point, d, bulge * form.radius))).squared()

    @property
    def middle(self) -> Plane:
        """Through the round's axis, square to the way in."""
        d = self.square_in
        return Plane(d, dot(d, self.form.point)).squared()

    def half_width(self, deepest: Plane) -> float:
        """How far the first reaches to the side of the round's axis, from where it touches it to ``deepest``."""
        aside = cross(self.form.axis, self.square_in)
        planes = [p.squared() for p in self.meeting.first.body.planes()]
        region = convex_region([*planes, self.touching.flipped(), deepest], BOUND_MM)
        corners = region.vertices if region is not None else ()
        return max((abs(dot(sub(v, self.form.point), aside)) for v in corners), default=0.0)

    @property
    def radius(self) -> float:
        """Where the first's axis comes to it."""
        if isinstance(self.form, Cylinder):
            return self.form.radius
        shared = self.meeting.shared(self.meeting.first.frame)
        return self.form.radius_at(shared.centroid) if shared is not None else self.form.radius

    @property
    def off(self) -> float:
        """How far the round falls away beside the line in which a plane touches it."""
        beside = self.half_width(self.touching.shifted(1.0))
        return self.radius - math.sqrt(max(0.0, self.radius**2 - beside**2))

    @property
    def hollow(self) -> float:
        """How far a flat shoulder stands out of a hollow."""
        return self.off if self.form.side == "hole" else 0.0

    def told(self, sizing: Sizing) -> tuple[Finding, ...]:
        if self.off <= _HUGGED:
            return ()
        first, second = self.meeting.first.name, self.meeting.second.name
        text = (
            f'mortise and tenon: the flat shoulder of "{first}" stands off "{second}" by up to '
            f"{sizing.said(self.off)}; a scribed one closes, or work a flat on the round"
        )
        return (note(self.meeting.place, "shoulder", text, first, second),)

    def check_width(self, sizing: Sizing) -> None:
        half = self.half_width(self.middle)
        if self.form.side == "post" and half > self.radius - LEAST_ROUND:
            first, second = self.meeting.first.name, self.meeting.second.name
            raise _fails(
                self.meeting,
                f'the shoulder of "{first}" cannot be scribed to "{second}": it reaches {sizing.said(half)} to the '
                f"side of an axis whose round has a radius of {sizing.said(self.radius)}",
            )

    def steps(self, gap: float) -> tuple[tuple[Form, ...], ...]:
        if self.form.side == "hole":
            return ((mating(self.form, gap), self.middle),)
        found: list[tuple[Form, ...]] = []
        for shaping in self.meeting.second.body.shapings:
            if shaping.kind == self.kind and self._reaches(shaping):
                form = self._local(shaping.form)
                found.append((mating(form, gap), *(self._local(w) for w in shaping.within)))
        return (*found, (self.middle,))

    def _reaches(self, shaping: Shaping) -> bool:
        """Whether the first comes to this stretch of a turned profile."""
        first = self.meeting.first
        stretch = [self._local(w).flipped() for w in shaping.within]
        planes = [p.squared() for p in first.body.planes()] + [p for p in stretch if isinstance(p, Plane)]
        return convex_region(planes, BOUND_MM) is not None


def _fails(meeting: Meeting, text: str) -> DesignError:
    return fail(meeting.place, "joint", text, meeting.first.name, meeting.second.name)
