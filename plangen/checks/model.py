"""Checks of the finished model: clash, gap, lost wood, a gate's brace. Each is a finding, none changes the model.

Clashes are judged by shared thickness (``geometry.clash``), contacts on finished surfaces, and wood is
conserved: where three bodies share wood, one of the members must still have it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from plangen.checks.mortises import meeting_mortises
from plangen.checks.reaching import check_reach
from plangen.checks.removing import check_removable
from plangen.design import design as d
from plangen.findings import DesignError, Finding, Place, error, note, warning
from plangen.geometry.clash import (
    clash,
    gap_between_solids,
    lost_volume,
    overlapping_pairs,
    volume_within,
)
from plangen.geometry.contact import contact_area
from plangen.geometry.frames import WORLD
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, angle_between, neg
from plangen.joinery.meeting import LEAST_VOLUME, Placed
from plangen.joinery.model import Instance, Joint, Member, Model
from plangen.joinery.modelling import place_all
from plangen.joinery.stages import member_with
from plangen.placing.body import BOUND_MM, Body
from plangen.placing.scope import Scope

CONTACT_REACH_MM = 1e-3
"""Surfaces this near to each other are in contact, beside the clearance the joint declares."""
LEAST_CONTACT_MM2 = 1.0
LOST_MM3 = 1.0
WORKED_AWAY_MM = 0.01
"""A finished size that much less than the body's is no rounding."""
FACETS_OF_VOLUME = 1e-3
"""Part of a round volume that its facets may miss."""
PARALLEL_DEG, ROCKING_DEG = 1e-4, 15.0
"""Faces that lean less are parallel; faces that lean more are not meant to lie on each other."""
NEAR_MM = 1.0
"""A member farther than this from every other hangs on nothing."""
LEVEL_BRACE = math.radians(10)
"""A gate's brace flatter than this carries nothing (common practice asks for 45 degrees or more)."""
TWO_LIFT_KG = 50.0
"""Two people lift this much between them (common practice)."""
LIFT_KG = 20.0
"""A piece heavier than this is marked for two people (common practice; manual handling guides differ)."""

Standing = tuple[Member, Instance]


def check_model(design: d.Design, scope: Scope, model: Model) -> tuple[Finding, ...]:
    """All findings of the finished model."""
    standings = [(m, i) for m in model.members for i in m.instances]
    found: list[Finding] = []
    found += _clashes(scope, model, standings)
    found += _gaps(model, standings)
    # What is cut on an assembly for its own sake takes wood that no joint need keep.
    joined = [member_with(m, lambda f: f.assembly is None) for m in model.members]
    found += _lost_wood(design, scope, model, [(m, i) for m in joined for i in m.instances])
    found += _braces(design, scope)
    found += _loose_members(scope, standings)
    found += _worked_away(scope, joined)
    found += meeting_mortises(scope, model)
    found += check_reach(scope, model, standings)
    found += check_removable(design, scope, model, standings)
    found += _heavy(model, scope)
    return tuple(found)


def _worked_away(scope: Scope, members: Sequence[Member]) -> Iterator[Finding]:
    """A cut that takes a whole side of a member away: it comes out thinner or narrower than it was said to be."""
    for member in members:
        if member.role == "bought":
            continue
        body = _own_body(scope, member.instances[0])
        if body is None or any(s.kind in ("outline", "curve") for s in body.shapings):
            continue  # its shape, not a joint, may leave it smaller
        if any(f.kind in ("mitre", "scarf") for f in member.features):
            continue  # the waste of its end, or of its edge, is meant
        if member.is_round:
            continue  # a socket where it is thickest takes that from one side alone, and it is no thinner elsewhere
        for axis, word in ((1, "wide"), (2, "thick")):
            if member.finished[axis] > body.size[axis] - WORKED_AWAY_MM or _has_sides(member, axis):
                continue
            made = next((f for f in member.features if f.kind in ("rebate", "groove")), None)
            cure = " (stopped: yes ends a rebate or groove where the other member does)" if made else ""
            text = (
                f'"{member.name}" comes out {scope.said(member.finished[axis])} {word} instead of '
                f"{scope.said(body.size[axis])}: a joint takes the whole of one side{cure}"
            )
            yield warning(made.place if made else body.place, "worked away", text, member.name)


def _has_sides(member: Member, axis: int) -> bool:
    """Whether some of both sides is left: a joint may take the widest corner of a tapered piece alone."""
    own = {f.id for f in member.features if f.joint is None}
    ways = {
        s.form.normal[axis] > 0
        for s in member.surfaces
        if isinstance(s.form, Plane)
        and abs(s.form.normal[axis]) > 0.7
        and (s.feature is None or s.feature in own)
    }
    return len(ways) == 2


# --- clash ------------------------------------------------------------------------------------------------


def _clashes(scope: Scope, model: Model, standings: Sequence[Standing]) -> Iterator[Finding]:
    solids = [(m.solid, i.frame) for m, i in standings]
    told: set[frozenset[str]] = set()
    joined = {frozenset(j.members) for j in model.joints}
    for a, b in overlapping_pairs(solids):
        (member_a, inst_a), (member_b, inst_b) = standings[a], standings[b]
        pair = frozenset((member_a.mark, member_b.mark))
        if pair in told:
            continue
        shared = clash(member_a.solid, inst_a.frame, member_b.solid, inst_b.frame)
        if shared is None:
            continue
        told.add(pair)
        cure = (
            "their joint does not take all of it"
            if frozenset((inst_a.name, inst_b.name)) in joined
            else f"a {_cures(member_a, member_b)} would resolve it, or a trim"
        )
        text = (
            f'"{inst_a.name}" and "{inst_b.name}" clash: they share {scope.said_volume(shared.volume)}, '
            f"{scope.said(shared.thickness, 3)} thick, about {_where(scope, shared.point)}; {cure}"
        )
        yield error(_place_of(scope, member_b, inst_b), "clash", text, inst_a.name, inst_b.name)


def _place_of(scope: Scope, member: Member, instance: Instance) -> Place:
    """Where the instance's own entry stands in the file; the drawn member may come from another."""
    body = _own_body(scope, instance)
    return member.place if body is None else body.place


def _own_body(scope: Scope, instance: Instance) -> Body | None:
    """The body of the instance's own entry; None for a loose piece that a joint adds."""
    try:
        return scope.body_of(instance.name, Place())[0]
    except DesignError:
        return None


def _cures(a: Member, b: Member) -> str:
    if a.stock.kind == "sheet" and b.stock.kind == "sheet":
        return "housing, groove or finger joint"
    if "sheet" in (a.stock.kind, b.stock.kind):
        return "housing, groove, rebate or notch"
    return "half lap, housing, notch or mortise and tenon"


def _where(scope: Scope, p: Point) -> str:
    """A place as the viewer of the front elevation would point to it, to a millimetre or a tenth of an inch."""
    step = 1.0 if scope.design.units == "mm" else 2.54
    x, y, z = (round(c / step) * step for c in p)
    side = f"{scope.said(abs(x))} {'left' if x < 0 else 'right'}" if x else "in the middle"
    depth = f"{scope.said(abs(y))} to the {'front' if y < 0 else 'rear'}, " if y else ""
    return f"{side}, {depth}{scope.said(z)} up"


# --- contact ----------------------------------------------------------------------------------------------


def _gaps(model: Model, standings: Sequence[Standing]) -> Iterator[Finding]:
    by_name = {i.name: (m, i) for m, i in standings}
    told: set[tuple[str, Place]] = set()
    for joint in model.joints:
        (a, ia), (b, ib) = by_name[joint.members[0]], by_name[joint.members[1]]
        reach = CONTACT_REACH_MM + 2 * joint.clearance
        area = contact_area(a.solid, ia.frame, b.solid, ib.frame, reach)
        if area >= LEAST_CONTACT_MM2 or (joint.name, joint.place) in told:
            continue
        told.add((joint.name, joint.place))
        yield _gap(joint, a, ia, b, ib)


def _gap(joint: Joint, a: Member, ia: Instance, b: Member, ib: Instance) -> Finding:
    if joint.kind == "butt" and (edge := _rocks(a, ia, b, ib)) is not None:
        text = (
            f'{joint.kind}: "{ia.name}" rocks on "{ib.name}": they meet along an arris only, {edge:.3g} degrees '
            "open; bevel the edge, plane it to fit, or leave the gap"
        )
        return warning(joint.place, "gap", text, *joint.members)
    text = f'{joint.kind}: "{ia.name}" and "{ib.name}" have no face in contact once all joints are cut'
    return error(joint.place, "gap", text, *joint.members)


def _rocks(a: Member, ia: Instance, b: Member, ib: Instance) -> float | None:
    """Degrees between the two faces that come near each other and lean least, up to 15 degrees."""
    leans = []
    for fa, points_a in _plane_faces(a.solid, ia):
        for fb, points_b in _plane_faces(b.solid, ib):
            lean = math.degrees(angle_between(fa.normal, neg(fb.normal)))
            apart = max(_distance(fa, points_b), _distance(fb, points_a))
            if PARALLEL_DEG < lean < ROCKING_DEG and apart < NEAR_MM:
                leans.append(lean)
    return min(leans, default=None)


def _distance(plane: Plane, points: Sequence[Point]) -> float:
    """Of a plane from the flat area round the points; 0 where it cuts it."""
    distances = [plane.distance(p) for p in points]
    return max(0.0, min(distances), -max(distances))


def _plane_faces(solid: Solid, instance: Instance) -> list[tuple[Plane, list[Point]]]:
    """The solid's plane faces in the world, each with its corners."""
    found = []
    for face in solid.faces:
        form = solid.forms[face.surface]
        if isinstance(form, Plane):
            corners = sorted({i for t in face.triangles for i in solid.triangles[t].tolist()})
            points = [instance.frame.point(tuple(solid.vertices[i].tolist())) for i in corners]
            found.append((form.placed(instance.frame), points))
    return found


# --- conservation -----------------------------------------------------------------------------------------


def _lost_wood(
    design: d.Design, scope: Scope, model: Model, standings: Sequence[Standing]
) -> Iterator[Finding]:
    """Where three bodies share wood, the members must still hold all of it, wherever no room is declared."""
    roomy = {frozenset(j.members) for j in model.joints if j.clearance > 0}
    placed = [p for p in place_all(design, scope) if p.body.role != "bought"]
    by_name = {i.name: (m, i) for m, i in standings}
    planes = [p.planes_in(WORLD) for p in placed]
    boxes = [_world_box(p) for p in placed]
    pairs = [
        (a, b)
        for a, b in combinations(range(len(placed)), 2)
        if _boxes_meet(boxes[a], boxes[b]) and _shares(planes[a] + planes[b])
    ]
    linked: dict[int, set[int]] = {}
    for a, b in pairs:
        linked.setdefault(a, set()).add(b)
    told: set[frozenset[str]] = set()
    for a, b in pairs:
        for c in sorted(linked.get(a, set()) & linked.get(b, set())):
            region = convex_region(planes[a] + planes[b] + planes[c], BOUND_MM)
            if region is None or region.volume <= LOST_MM3:
                continue
            three = [placed[i] for i in (a, b, c)]
            if any(frozenset((p.name, q.name)) in roomy for p, q in combinations(three, 2)):
                continue
            key = frozenset(p.body.name for p in three)
            lost = _lost(region, three, [by_name[p.name] for p in three])
            if lost > LOST_MM3 and key not in told:
                told.add(key)
                names = [p.name for p in three]
                text = (
                    f'"{names[0]}", "{names[1]}" and "{names[2]}" meet in one place and '
                    f"{scope.said_volume(lost)} of wood is cut away by all of them, "
                    f"about {_where(scope, region.centroid)}; make one of their joints a notch"
                )
                yield warning(three[2].body.place, "lost wood", text, *names)


def _world_box(placed: Placed) -> tuple[Point, Point]:
    corners = [placed.frame.point(c) for c in placed.body.corners()]
    low, high = ([f(c[i] for c in corners) for i in range(3)] for f in (min, max))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _boxes_meet(a: tuple[Point, Point], b: tuple[Point, Point]) -> bool:
    return all(a[0][i] < b[1][i] and b[0][i] < a[1][i] for i in range(3))


def _shares(planes: list[Plane]) -> bool:
    region = convex_region(planes, BOUND_MM)
    return region is not None and region.volume > LEAST_VOLUME


def _lost(region: ConvexRegion, three: Sequence[Placed], standings: Sequence[Standing]) -> float:
    """Wood of the shared region that none of the finished members holds."""
    if all(p.body.is_flat for p in three):
        return region.volume - _held(region, standings)
    bodies = [
        (build_solid(p.body.box, [s.cutter for s in p.body.shapings]), p.frame) for p in three
    ]  # a curve: by facets, whose own error is allowed for
    shared, lost = lost_volume(bodies, [(m.solid, i.frame) for m, i in standings])
    return lost - FACETS_OF_VOLUME * shared


def _held(region: ConvexRegion, standings: Sequence[Standing]) -> float:
    """Volume of the region that the finished members fill (they do not overlap, by the clash check)."""
    return math.fsum(_inside(m.solid, i, region) for m, i in standings)


def _inside(solid: Solid, instance: Instance, region: ConvexRegion) -> float:
    return volume_within(solid, instance.frame, region.planes)


# --- the trade's own checks -------------------------------------------------------------------------------


def _braces(design: d.Design, scope: Scope) -> Iterator[Finding]:
    """A gate's brace rises from the hinge side at the bottom, so that the gate's weight presses it."""
    for name, spec in design.members.items():
        if spec.hung_on is None:
            continue
        body, standing = scope.body_of(str(name), spec.source)
        hinge, hinge_at = scope.body_of(str(spec.hung_on), spec.hung_on.place)
        size = body.size
        ends = [standing.frame.point((l, size[1] / 2, size[2] / 2)) for l in (0.0, size[0])]  # noqa: E741
        low, high = sorted(ends, key=lambda p: p[2])
        middle = hinge_at.frame.point((hinge.size[0] / 2, hinge.size[1] / 2, hinge.size[2] / 2))
        apart = [math.dist(p[:2], middle[:2]) for p in (low, high)]
        if high[2] - low[2] < math.tan(LEVEL_BRACE) * math.dist(high[:2], low[:2]):
            text = f'the brace "{name}" lies level: it must rise from the hinge side ("{spec.hung_on}") to the latch'
            yield error(spec.hung_on.place, "brace", text, str(name))
        elif apart[0] >= apart[1]:
            text = (
                f'the brace "{name}" hangs the wrong way: its lower end must stand at the hinge side '
                f'("{spec.hung_on}"), so that the weight of the gate presses it'
            )
            yield error(spec.hung_on.place, "brace", text, str(name))


def _loose_members(scope: Scope, standings: Sequence[Standing]) -> Iterator[Finding]:
    """A member that touches no other hangs on nothing."""
    if len(standings) < 2:
        return
    solids = [(m.solid, i.frame) for m, i in standings]
    touched: set[str] = set()
    for a, b in overlapping_pairs(solids, NEAR_MM):
        pair = {standings[a][1].name, standings[b][1].name}
        if not pair <= touched and gap_between_solids(*solids[a], *solids[b], NEAR_MM) < NEAR_MM:
            touched |= pair
    for member, instance in standings:
        if instance.name not in touched and member.role == "work":
            yield error(
                _place_of(scope, member, instance),
                "loose",
                f'"{instance.name}" hangs on nothing: no other member touches it; place it against one, or join it',
                instance.name,
            )


def _heavy(model: Model, scope: Scope) -> Iterator[Finding]:
    total = math.fsum((m.mass or 0.0) * m.quantity for m in model.members)
    if total > LIFT_KG:
        place = Place(model.members[0].place.file, 1, 1)
        how = "two people lift it" if total <= TWO_LIFT_KG else "move it in parts, or with more hands"
        yield note(place, "heavy", f"the whole weighs about {scope.said_mass(total)}: {how}")
