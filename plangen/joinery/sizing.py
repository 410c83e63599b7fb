"""Sizes a joint's entry states, worked out, and the clearances that fits stand for."""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.design import design as d
from plangen.design.expressions import Expression
from plangen.design.words import Fit
from plangen.placing.scope import Scope
from plangen.units import MM_PER_INCH, LengthUnit, UnitStyle, length_text_with_unit, whole_bits

CLEARANCE_MM = {"press": 0.0, "snug": 0.0, "slide": 0.2, "loose": 0.8}
"""Room over each side for a fit (common practice: snug is a hand push, slide moves freely, loose is for wood
that swells outdoors)."""
DEFAULT_FITS: dict[str, Fit] = {
    "dowel": "press",  # tapped home, so that it cannot turn
    "taper tenon": "press",  # driven until it holds
    "tongue and groove": "slide",  # boards move across the grain with every season
}
"""Where a kind's usual fit is not snug, a hand push with room for glue alone (common practice)."""

_FINE: dict[LengthUnit, UnitStyle] = {
    "in": UnitStyle("in", MM_PER_INCH / 64, Fraction(1, 4)),
    "mm": UnitStyle("mm", Fraction(1, 10), Fraction(1, 2)),
}


def default_fit(kind: str) -> Fit:
    """The fit of a joint of this kind where the designer states none."""
    return DEFAULT_FITS.get(kind, "snug")


class Sizing:
    """Reads the sizes of one entry; None where the designer leaves them to the rule of the kind."""

    def __init__(self, scope: Scope) -> None:
        self._scope = scope

    def length(self, expression: Expression | None) -> float | None:
        """Millimetres, or None."""
        return None if expression is None else self._scope.length(expression)

    def said(self, mm: float) -> str:
        """A length in a message, in the design's unit."""
        return self._scope.said(mm)

    def figure(self, mm: float) -> str:
        """A length as a list or a note prints it, to 1/64 in or a tenth of a millimetre: ``5/16 in``, ``8 mm``."""
        return length_text_with_unit(mm, _FINE[self._scope.design.units])

    def rounded_up(self, mm: float) -> float:
        """To the next whole millimetre or 1/8 in: a length that is cut off or has room to spare."""
        return self._step * math.ceil(mm / self._step - 1e-9)

    def rounded_down(self, mm: float) -> float:
        """To the last whole millimetre or 1/8 in."""
        return self._step * math.floor(mm / self._step + 1e-9)

    def whole_bits(self, mm: float) -> float:
        """The largest diameter up to this that can be bored, at least the smallest."""
        return whole_bits(mm, self._scope.design.units)

    @property
    def _step(self) -> float:
        return 1.0 if self._scope.design.units == "mm" else float(MM_PER_INCH) / 8

    def angle(self, expression: Expression | None, rule: float) -> float:
        """Radians; ``rule`` where the designer states none."""
        return rule if expression is None else self._scope.angle(expression)

    def count(self, expression: Expression | None, rule: int) -> int:
        """A whole number; ``rule`` where the designer states none."""
        return rule if expression is None else self._scope.count(expression)

    @property
    def scope(self) -> Scope:
        """For what a kind places anew: planes and sides of the design."""
        return self._scope

    def or_rule(self, expression: Expression | None, rule: float) -> float:
        return rule if expression is None else self._scope.length(expression)

    def clearance(self, spec: d.Joint) -> float:
        """Room over each side: the stated allowance (over both sides together), else the fit's."""
        if spec.allowance is not None:
            return self._scope.length(spec.allowance) / 2
        return CLEARANCE_MM[spec.fit or default_fit(str(spec.kind))]
