"""Wood that cannot move with the seasons: what is fastened across its grain, and the slot that would free it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from plangen.findings import Finding, warning
from plangen.stock.movement import WIDEST_GLUED_MM, Forced, Swing
from plangen.stock.panel_room import TightPanel
from plangen.units import MM_PER_INCH, LengthUnit


def check_moving(forced: Iterable[Forced], swing: Swing, units: LengthUnit) -> Iterator[Finding]:
    """At the line of the fastener or joint, with the change of size from the driest air to the dampest."""
    for held in forced:
        names = (held.first[1].name, held.second[1].name)
        moisture = f"{swing.dry:.1f} to {swing.damp:.1f} % moisture"
        if held.driven is not None:
            text = (
                f'"{names[0]}" and "{names[1]}" are held by {held.kind}s {_said(held.span, units)} apart; over that '
                f'"{held.mover.name}" moves {_said(held.change, units)} across its grain ({moisture}) and the holes '
                f"give {_said(held.play, units)}: it will split or cup. Bore one hole round and make the other a slot "
                f"{_said(held.slot or 0.0, units)} long across the grain"
            )
            yield warning(held.driven.place, "movement", text, *names)
        elif held.joint is not None:
            text = (
                f'{held.kind}: "{names[0]}" and "{names[1]}" are glued across the grain of "{held.mover.name}" over '
                f"{_said(held.span, units)}, where it moves {_said(held.change, units)} ({moisture}); glue no more "
                f"than {_said(WIDEST_GLUED_MM, units)} in the middle, and leave the rest dry or in a slot"
            )
            yield warning(held.joint.joint.place, "movement", text, *names)


def check_panels(tight: Iterable[TightPanel], swing: Swing, units: LengthUnit) -> Iterator[Finding]:
    """At the line of the joint: the gap that would let the panel move."""
    for held in tight:
        text = (
            f'groove: "{held.panel.name}" moves {_said(held.change, units)} across its grain '
            f"({swing.dry:.1f} to {swing.damp:.1f} % moisture) and its grooves leave it {_said(held.room, units)}: it "
            f"will push them apart. Leave a gap of {_said(held.each, units)} on each side, and no glue"
        )
        yield warning(held.joint.place, "movement", text, held.panel.name)


def _said(mm: float, units: LengthUnit) -> str:
    """A tenth of a millimetre or a hundredth of an inch: a forecast is no better."""
    return f"{mm:.1f} mm" if units == "mm" else f"{mm / float(MM_PER_INCH):.2f} in"
