"""Mortises that run into each other, or into a bored hole, inside one member: the wood between is gone.

Tenons mitred to each other, whose ends lie face to face, are meant to meet; their mortises are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from plangen.findings import Finding, error, warning
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Vec, add, cross, dot, length, scale, unit
from plangen.joinery.model import Feature, Member, Model
from plangen.placing.body import BOUND_MM
from plangen.placing.scope import Scope
from plangen.tables.joint_rules import MORTISE_DEEPER

LEAST_MM3 = 1.0
"""Cuts that share less than this only touch."""
_OPPOSED = 1e-6
_SIDES = 24
"""Of the prism or pyramid of equal section that stands for a bored hole here."""
_BORED = ("hole", "counterbore", "peg hole", "dowel hole", "socket")
_SHAPED = ("end", "trim", "bevel", "taper")


def meeting_mortises(scope: Scope, model: Model) -> Iterator[Finding]:
    """A warning where two mortises of a member meet, an error where a hole runs into a mortise not its own."""
    for member in model.members:
        cut = [f for f in member.features if f.joint is not None and f.kind in ("mortise", *_BORED)]
        for a, b in combinations(cut, 2):
            if "mortise" not in (a.kind, b.kind) or a.mate == b.mate:
                continue
            shared = _shared(member, a, b)
            if shared > LEAST_MM3 and not (a.kind == b.kind and _mitred(model, a, b)):
                yield _told(scope, member, a, b, shared)


def _told(scope: Scope, member: Member, a: Feature, b: Feature, shared: float) -> Finding:
    name = member.name
    if a.kind == b.kind:
        text = (
            f'the mortises for "{a.mate}" and "{b.mate}" run into each other in "{name}": both cut '
            f"{scope.said_volume(shared)} of it; shorten a tenon, set one higher, or mitre the tenons' ends"
        )
        return warning(b.place, "mortises meet", text, name, a.mate or "", b.mate or "")
    mortise, hole = (a, b) if a.kind == "mortise" else (b, a)
    text = f'the {hole.kind} of {hole.joint} runs into the mortise for "{mortise.mate}" in "{name}"; move one of them'
    return error(hole.place, "mortises meet", text, name, mortise.mate or "")


def _mitred(model: Model, a: Feature, b: Feature) -> bool:
    """Whether the two tenons' ends lie against each other, or leave no more than a mortise's room between them."""
    if a.mate is None or b.mate is None:
        return False
    return any(
        length(add(p.normal, q.normal)) < _OPPOSED and -_OPPOSED < p.distance(q.point) < MORTISE_DEEPER.usual
        for p in _ends(model, a.mate)
        for q in _ends(model, b.mate)
    )


def _ends(model: Model, name: str) -> list[Plane]:
    """World planes that the ends of an instance are cut to."""
    member, instance = model.instance(name)
    cut = [s.form for f in member.features if f.kind == "end" for s in f.surfaces]
    return [p.placed(instance.frame) for p in cut if isinstance(p, Plane)]


def _shared(member: Member, a: Feature, b: Feature) -> float:
    """Cubic millimetres of wood that both cuts take, the most of any two of their cutters."""
    wood: list[Plane] = list(member.blank.planes().values())
    wood += [
        s.form for f in member.features if f.kind in _SHAPED for s in f.surfaces if isinstance(s.form, Plane)
    ]
    found = [0.0]
    for one in _cutters(a):
        for other in _cutters(b):
            region = convex_region([*wood, *one, *other], BOUND_MM)
            found.append(0.0 if region is None else region.volume)
    return max(found)


def _cutters(feature: Feature) -> Iterator[list[Plane]]:
    """Each cutter as planes round the void; one with a free curve is left out."""
    forms = {s.id: s.form for s in feature.surfaces}
    for cutter in feature.cutters:
        planes = [_planes(forms[i]) for i in cutter]
        if all(p is not None for p in planes):
            yield [q for p in planes if p is not None for q in p]


def _planes(form: Form) -> Sequence[Plane] | None:
    """The inner side of a cutter's surface, flipped: of a hole, the sides of a prism as large in section."""
    if isinstance(form, Plane):
        return (form.flipped(),)
    if not isinstance(form, Cylinder | Cone) or form.side != "hole":
        return None
    step = math.pi / _SIDES
    shrunk = math.sqrt(step / math.tan(step))
    slope = form.slope * shrunk if isinstance(form, Cone) else 0.0
    e1 = _square_to(form.axis)
    e2 = cross(form.axis, e1)
    found = []
    for i in range(_SIDES):
        out = add(scale(e1, math.cos(2 * i * step)), scale(e2, math.sin(2 * i * step)))
        normal = add(out, scale(form.axis, -slope))
        size = length(normal)
        found.append(Plane(scale(normal, 1 / size), (dot(normal, form.point) + form.radius * shrunk) / size))
    return found


def _square_to(axis: Vec) -> Vec:
    return unit(cross(axis, (0.0, 1.0, 0.0) if abs(axis[1]) < 0.9 else (0.0, 0.0, 1.0)))
