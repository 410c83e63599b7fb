"""What a member is made of, as resolved from the designer's words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

StockKind: TypeAlias = Literal["dimension", "board", "quarter", "planed", "sheet", "round", "bought"]


@dataclass(frozen=True)
class Stock:
    """A resolved stock. Sizes in millimetres; None where the stock leaves the size open."""

    name: str
    """As the yard is asked: ``2x4 douglas fir``, ``8/4 white oak``, ``1/2 plywood exterior``."""
    kind: StockKind
    species: str
    thickness: float | None
    width: float | None
    nominal: str = ""
    """``2x4``, ``8/4``, ``1/2``: empty for stock named by its own sizes."""
    density: float | None = None
    """Kilograms a cubic metre at 12 % moisture."""
    sheet: tuple[float, float] | None = None
    """Length and width of a bought sheet."""
