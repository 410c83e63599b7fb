"""Jigs: what a set-up cannot do without, each designed from the set-ups that need it.

- *Wedges, angle blocks* and *fence strips* hold the work tilted. A slope both along and across the work is one wedge
  laid at the azimuth of the tilt: the work turns about one axis, so one slope does it, and its angle is that of the
  tilt. (Of two wedges stacked the upper one tilts about an axis that the lower one has tilted already; their angles
  are not those seen from the sides, and together they turn the work in plan as well.) Most are two narrow ones side
  by side, so that the tool passes between.
- *Taper carriers* take the work past the blade turned in plan; the set-up's ``fence`` then says how far the blade
  stands from the fence.
- *Cradles* hold round work that has no flat, *bending forms* give a bar its inside radius.

What pays: for fewer than ``CARRIER_PAYS`` pieces a taper carrier costs more than it saves, and one longer than
``CARRIER_LONGEST`` or steeper than ``CARRIER_STEEPEST`` is clumsy: there the taper is sawn to its line on the
bandsaw, its table tilted if it must be, and planed. A sloping floor, a steep hole and round work can be made in no
other way on a machine, and by hand for no reason that the closed list allows, so their jigs are always made. Jigs
that differ less than near settings do are one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from plangen.geometry.curves import Line
from plangen.geometry.seats import corners_on
from plangen.geometry.surfaces import Extruded, Plane
from plangen.geometry.vectors import add, cross, dot, scale, sub
from plangen.joinery.model import Member, Model
from plangen.machining.hands import mirrored
from plangen.machining.jig_design import Made, carrier_angle, designed
from plangen.machining.jig_members import NOSE, jig_member
from plangen.machining.jig_needs import Need, needs_of
from plangen.machining.posture import blade_normal, floor_normal, tilted
from plangen.machining.setup import Jig, Machine, Setup, Spared, Tool
from plangen.tables.machines import Shop
from plangen.units import LengthUnit

CARRIER_PAYS = 2
"""Pieces from which a taper carrier is made (common practice: a single one is sawn to its line)."""
CARRIER_LONGEST = 1200.0
"""Millimetres of work (common practice: what one person still pushes past a small saw)."""
CARRIER_STEEPEST = math.radians(15.0)
"""Beyond it the carrier is wider than the work (common practice)."""
_SAME = 1e-9


def plan_jigs(
    model: Model,
    setups: Sequence[Setup],
    shop: Shop,
    spared: Iterable[Spared] = (),
    units: LengthUnit = "in",
) -> tuple[tuple[Setup, ...], tuple[Jig, ...], tuple[Member, ...]]:
    """The set-ups with their jigs by name, the jigs as they are laid, and their members (marks ``J1`` and on).

    ``setups`` are those of all members in any order, numbered within each (``sequence``); ``jig`` holds the kind.
    Where ``spared`` says that an offcut is the wedge it is named and nothing is made. ``Jig.setups`` are the indices
    that the set-ups have now; see ``numbered``. How the members themselves are cut says ``jig_setups``.
    Raises GeometryError or ValueError for a jig that cannot be made.
    """
    named = list(setups)
    members = {m.mark: m for m in model.members}
    offcuts = {(s.member, s.feature): s for s in spared if s.offcut is not None}
    needs = [_turned_over(n) for n in needs_of(members, setups)]
    wanted = []
    jigs: list[Jig] = []
    for need in needs:
        named[need.at] = need.setup
        offcut = offcuts.get((need.setup.member, need.setup.feature))
        if need.kind == "wedge" and offcut is not None:
            jig = _kept(need.setup, offcut, jigs)
            jigs += [] if jig in jigs else [jig]
            named[need.at] = replace(named[need.at], jig=jig.name)
        elif need.kind == "taper carrier" and not _pays(need, needs) and _can_saw(need, shop):
            named[need.at] = _sawn_to_line(named[need.at], need, shop)
        else:
            wanted.append(need)
    pieces: list[Member] = []
    for number, one in enumerate(designed(model, wanted, units), 1):
        mark = f"J{number}"
        name = f"{one.kind} {mark}"
        place = min(members[n.setup.member].place for n in one.needs)
        pieces.append(jig_member(mark, one.kind, one.profile, one.stock, one.count, place, one.notes))
        jigs += _laid(one, mark, name, named, jigs)
    return tuple(named), numbered(jigs, named), tuple(pieces)


def _kept(setup: Setup, spared: Spared, before: Sequence[Jig]) -> Jig:
    """The offcut that is the wedge, as it is laid for a set-up."""
    offcut, tilt = spared.offcut, setup.tilt
    assert offcut is not None
    assert tilt is not None
    of = f"offcut of {spared.member} {spared.before}"
    own = [j for j in before if j.member == spared.member and j.offcut == spared.before]
    same = next((j for j in own if abs(j.azimuth - tilt.azimuth) < _SAME), None)
    return same or Jig(
        _way_laid(of, tilt.azimuth, own), "wedge", spared.member, offcut.angle, tilt.azimuth,
        offcut.length * math.tan(offcut.angle), offcut.length, offcut.width, (), offcut=spared.before,
    )  # fmt: skip


def _laid(one: Made, mark: str, name: str, named: list[Setup], before: Sequence[Jig]) -> list[Jig]:
    """The jig in each way that it is laid; names it in ``named``."""
    width = one.width()
    if one.beside:
        first = before[-1].name
        return [Jig(name, one.kind, mark, 0.0, 0.0, 0.0, one.length, width, (), one.snap_error, beside=first)]
    found: list[Jig] = []
    for need in one.needs:
        setup = named[need.at]
        azimuth = setup.tilt.azimuth if setup.tilt is not None and one.angle else 0.0
        jig = next((j for j in found if abs(j.azimuth - azimuth) < _SAME), None)
        if jig is None:
            jig = Jig(
                _way_laid(name, azimuth, found), one.kind, mark, one.angle, azimuth, one.rise, one.length,
                width, (), one.snap_error,
            )  # fmt: skip
            found.append(jig)
        fence = setup.fence if one.fence is None else one.fence(need)
        named[need.at] = replace(setup, jig=jig.name, fence=fence)
    return found


def _way_laid(name: str, azimuth: float, others: Sequence[Jig]) -> str:
    """The bare name for the first way; the other hand's is turned; further ways are numbered."""
    if not others:
        return name
    turned = f"{name}, turned"
    if abs(azimuth + others[0].azimuth) < _SAME and all(j.name != turned for j in others):
        return turned
    return f"{name}, way {len(others) + 1}"


def numbered(jigs: Sequence[Jig], setups: Sequence[Setup]) -> tuple[Jig, ...]:
    """The jigs with the indices of the set-ups that use them."""
    return tuple(
        replace(j, setups=tuple(sorted(s.index for s in setups if s.jig in (j.name, j.beside or j.name))))
        for j in jigs
    )


def out_of_reach(model: Model, setups: Sequence[Setup], shop: Shop) -> tuple[str, ...]:
    """Floors cut from below that stand too high over the table once the work lies on its wedge, in words.

    ``setups`` as ``plan_jigs`` takes them.
    """
    found = []
    for need in needs_of({m.mark: m for m in model.members}, setups):
        s, reach = need.setup, shop.reach(need.setup.machine)
        most = None if reach is None else reach.height
        if need.kind != "wedge" or s.cut_from != "below" or not s.depth_at or most is None or s.tilt is None:
            continue
        planes = need.work.planes()
        drawn = replace(s.tilt, azimuth=-s.tilt.azimuth) if need.other_hand else s.tilt
        up = tilted(need.flat, drawn).z
        start = planes[s.depth_from or ""].normal
        floor = max(dot(p, up) - depth * dot(start, up) for p, depth in s.depth_at)
        corners = need.work.corners(planes[s.surface_down or ""])
        stands = NOSE + floor - min((dot(p, up) for p in corners), default=floor)
        if stands > most + 0.05:
            text = f"on its wedge the floor is {stands:.0f} mm over the table and the {s.machine} reaches {most:.0f} mm"
            found.append(f"{need.work.member.name}, {s.feature}: {text}")
    return tuple(dict.fromkeys(found))


# --- tapers --------------------------------------------------------------------------------


_OPPOSITE = {"face": "back", "back": "face", "edge": "back edge", "back edge": "edge"}


def _turned_over(need: Need) -> Need:
    """The other hand's taper square to the table: the work turned over on the carrier and setting of the drawn hand.

    The machine then sees what it sees of the drawn hand. Where the surface that was up bears no weight it stays as
    it is, on a carrier of its own.
    """
    s, other = need.setup, _OPPOSITE.get(need.setup.surface_down or "", "")
    if need.kind != "taper carrier" or not need.other_hand or abs(s.bevel) > _SAME or not other:
        return need
    seat = need.work.seat(need.work.planes()[other])
    if not seat.steady:
        return need
    return replace(need, setup=replace(mirrored(s), surface_down=other))


def _pays(need: Need, needs: Sequence[Need]) -> bool:
    """As many pieces run on one carrier as have the same angle."""
    angle, ends = carrier_angle(need), [p[0] for p in need.everywhere()]
    alike = [n for n in needs if n.kind == need.kind and abs(carrier_angle(n) - angle) < _SAME]
    enough = sum(n.setup.quantity for n in alike) >= CARRIER_PAYS
    return enough and abs(angle) < CARRIER_STEEPEST and max(ends) - min(ends) < CARRIER_LONGEST


def _can_saw(need: Need, shop: Shop) -> bool:
    """On the bandsaw, as far as its table tilts."""
    saw, s = shop.reach("bandsaw"), need.setup
    if saw is None or s.stop is None or abs(math.degrees(s.bevel)) > (saw.tilt or 0.0) + 1e-9:
        return False
    heights = [p[2] for p in need.everywhere()]
    return (max(heights) - min(heights)) / math.cos(s.bevel) <= (saw.height or math.inf)


def _sawn_to_line(setup: Setup, need: Need, shop: Shop) -> Setup:
    """The same plane, sawn to its line on the surface that is up; the blade stands as the table tilts."""
    flat, saw, s = need.flat, shop.machine("bandsaw"), mirrored(setup) if need.other_hand else setup
    assert s.stop is not None
    normal = blade_normal(flat, s.miter, s.bevel)
    blade = floor_normal(flat, s.miter, s.bevel)
    along = cross(blade, normal if s.waste == "right" else scale(normal, -1.0))
    up = max(p[2] for p in need.everywhere()) - need.anchor()[2]
    start = add(s.stop.at, scale(blade, up / dot(blade, flat.z)))
    reached = [dot(sub((float(x), float(y), float(z)), start), along) for x, y, z in need.work.solid.vertices]
    return replace(
        setup,
        operation="saw to line",
        machine="bandsaw",
        tool=Tool("blade", saw.kerf, saw.diameter),
        cut_from="above",
        miter=0.0,
        jig=None,
        waste=None,
        outline=(Line((min(reached), 0.0), (max(reached), 0.0)),),
        outline_frame=(start, along, cross(blade, along)),
    )


# --- how a jig is cut itself ---------------------------------------------------------------------------------


def jig_setups(member: Member, shop: Shop) -> tuple[Setup, ...]:
    """The cuts of a jig that ``plan_jigs`` made: to a line on its face side, so that it needs no jig itself.

    On the bandsaw, or with a handsaw where there is none that cuts so high; then planed.
    """
    saw = shop.reach("bandsaw")
    if saw is not None and (saw.height is None or saw.height < member.finished[2]):
        saw = None
    machine: Machine = "hand" if saw is None else "bandsaw"
    tool = None if saw is None else Tool("blade", saw.kerf, saw.diameter)
    found: list[Setup] = []
    for feature in member.features:
        for surface in feature.surfaces:
            curves = (
                surface.form.outline
                if isinstance(surface.form, Extruded)
                else (_line_of(member, surface.form),)
                if isinstance(surface.form, Plane)
                else ()
            )
            found.append(
                Setup(
                    member=member.mark,
                    feature=feature.id,
                    stage=feature.stage,
                    operation="saw to line",
                    machine=machine,
                    makes=(surface.id,),
                    frees=feature.cutters,
                    tool=tool,
                    cut_from="above",
                    surface_down="back",
                    surface_against="edge",
                    end_left="B",
                    outline=curves,
                    outline_frame=((0.0, 0.0, member.finished[2]), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
                    quantity=member.quantity,
                    sequence=len(found) + 1,
                )
            )
    return tuple(found)


def _line_of(member: Member, plane: Plane) -> Line:
    """A plane square to the face side, as a line on it: the wood on its left."""
    nl, nw = plane.normal[0], plane.normal[1]
    along = [nl * p[1] - nw * p[0] for p in corners_on(member.solid, plane)]
    foot = (nl * plane.offset, nw * plane.offset)
    return Line(*((foot[0] - nw * at, foot[1] + nl * at) for at in (min(along), max(along))))
