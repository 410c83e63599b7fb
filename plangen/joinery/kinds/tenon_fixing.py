"""What holds a tenon beside glue: pegs and wedges."""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import Finding
from plangen.geometry.frames import WORLD
from plangen.joinery import pegs, wedging
from plangen.joinery.kinds.tenon_limits import Passage
from plangen.joinery.kinds.tenon_shape import AXES, Tenon, mortise_cutters
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.model import Hardware
from plangen.joinery.sizing import Sizing


def fixings(meeting: Meeting, spec: d.Joint, sizing: Sizing, tenon: Tenon, passage: Passage) -> Made:
    """Pegs and wedges of every tenon; nothing where the entry asks for none."""
    made = [_pegs(meeting, spec, sizing, tenon, strip) for strip in tenon.strips]
    if spec.wedges is not None:
        made.append(_wedges(meeting, spec, sizing, tenon, passage))
    return Made(
        tuple(c for m in made for c in m.cuts),
        (),
        tuple(h for m in made for h in m.hardware),
        tuple(f for m in made for f in m.findings),
    )


def _pegs(meeting: Meeting, spec: d.Joint, sizing: Sizing, tenon: Tenon, strip: tuple[float, float]) -> Made:
    frame = meeting.first.frame
    sides = [p.placed(frame) for p in tenon.sides(*strip)] + meeting.first.planes_in(WORLD)
    if tenon.end is not None:
        sides.append(tenon.end.placed(frame))
    shoulder = tenon.shoulder.plane.placed(frame)
    pegged = pegs.PeggedTenon(tuple(sides), shoulder, frame.t, frame.direction(tenon.along))
    return pegs.pegs(meeting, spec, sizing, pegged)


def _wedges(meeting: Meeting, spec: d.Joint, sizing: Sizing, tenon: Tenon, passage: Passage) -> Made:
    count = sizing.count(spec.wedges, 1)
    axes = (AXES[tenon.across], AXES[2])
    way, findings = wedging.spread_way(meeting, tenon.along, axes)
    kerfs: list[Cut] = []
    flares = []
    hardware: list[Hardware] = []
    told: list[Finding] = list(findings)
    for strip, mortise in zip(tenon.strips, mortise_cutters(meeting, tenon, 0.0), strict=True):
        spans = (strip, (tenon.low, tenon.high))
        own, other = spans if way == axes[0] else spans[::-1]
        spread = wedging.Spread(
            tenon.along, way, *own, other[1] - other[0], tenon.shoulder.plane, passage.long, passage.inside
        )
        kerfs.append(wedging.kerfs(meeting, sizing, spread, count))
        flares += [c for c in [wedging.flared(meeting, spread, mortise)] if c is not None]
        hardware.append(wedging.to_split(meeting, sizing, spread, count))
    note = f"ends flared {sizing.figure(spread.flare)} toward the far side, for the wedges"
    cuts = [*kerfs, *([wedging.flare_cut(meeting, flares, note)] if flares else [])]
    return Made(tuple(cuts), (), tuple(hardware), tuple(told))
