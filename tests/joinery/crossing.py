"""A leaning, flared, tapered leg that meets a level rail: the design, for any of the joints between them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Crossing:
    """Degrees and millimetres. Legs and rails are flush on the rail's wall when ``off`` and ``skew`` are 0."""

    lean: float = 12.0
    """On the leg's face, from plumb."""
    flare: float = 5.0
    """Of the rail's wall, in plan."""
    skew: float = 0.0
    """Of the leg's face out of the rail's, both seen level."""
    off: float = 0.0
    """The leg's face outside the rail's."""
    rail: tuple[float, float] = (90.0, 38.0)
    leg: tuple[float, float] = (70.0, 38.0)
    taper: str = ""
    joint: str = "{half lap: [leg, rail]}"
    more: str = ""

    @property
    def text(self) -> str:
        taper = f"    taper: {self.taper}\n" if self.taper else ""
        return f"""title: Crossing
units: mm
stock:
  rail wood: {{ask for: ash, species: ash, width: {self.rail[0]:.6f}, thickness: {self.rail[1]:.6f}}}
  leg wood: {{ask for: ash, species: ash, width: {self.leg[0]:.6f}, thickness: {self.leg[1]:.6f}}}
planes:
  rail wall: {{through point: [0, 0, 0], square to: front, turned: {{by: {self.flare:.6f} deg, toward: right}}}}
  rail stop: {{through point: [-400, 0, 0], square to: left, turned: {{by: {self.flare:.6f} deg, toward: front}}}}
  leg base:
    through line: {{from: [0, 0, 400], going: square to rail stop}}
    lean: {{by: {self.skew:.6f} deg, toward: square to rail wall, measured: from plumb}}
  leg wall: {{shift: leg base, by: {self.off:.6f}}}
lines:
  leg line:
    from: {{on: {{from: [0, 0, 400], going: square to rail wall}}, meets: leg wall}}
    in: leg wall
    lean: {{by: {self.lean:.6f} deg, toward: right, measured: on the plane}}
members:
  rail:
    stock: rail wood
    length: 800
    place:
      face: {{flush with: rail wall}}
      edge: {{flush with: {{level at: 400, facing: down}}}}
      end A: {{flush with: rail stop}}
  leg:
    stock: leg wood
    place: {{face: {{flush with: leg wall}}, edge: {{along: leg line}}}}
    trim: {{lower end: floor, upper end: {{level at: 800}}}}
{taper}joints:
  - {self.joint}
{self.more}"""
