"""A timber yard's own list, and what lies in the shop already. Lengths are millimetres, prices in one currency.

Without one the trade's standard sizes serve, and nothing has a price. A design's ``yard`` says one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.findings import Place, did_you_mean
from plangen.units import MM_PER_FOOT

Per: TypeAlias = Literal["piece", "metre", "foot", "square metre", "square foot", "cubic metre", "board foot"]
"""What a price is for. A sheet is a piece."""

NOWHERE = Place()
_METRE, _FOOT = 1000.0, float(MM_PER_FOOT)


@dataclass(frozen=True)
class Sold:
    """One line of the list: a stock, in the words in which designs ask for it."""

    stock: str
    lengths: tuple[float, ...] = ()
    widths: tuple[float, ...] = ()
    """Of boards that are sold by width, for panels glued up."""
    sheet: tuple[float, float] | None = None
    """Length and width."""
    price: float | None = None
    per: Per = "piece"
    count: int | None = None
    """How many there are; None: as many as wanted."""
    measured: float | None = None
    """Thickness of the sheets, as measured."""
    instead_of: str = ""
    """A stock that it can stand in for."""
    place: Place = NOWHERE

    def piece_price(self, length: float, section: tuple[float, float] | None) -> float | None:
        """Price of one board ``length`` long; ``section`` is its width and thickness where they are known.

        None where there is no price, or where it is by an area or a volume and the section is not known.
        """
        if self.price is None:
            return None
        if self.per == "piece":
            return self.price
        if self.per in ("metre", "foot"):
            return self.price * length / (_METRE if self.per == "metre" else _FOOT)
        if section is None:
            return None
        width, thickness = section
        if self.per in ("square metre", "square foot"):
            return self.price * length * width / (_METRE if self.per == "square metre" else _FOOT) ** 2
        if self.per == "cubic metre":
            return self.price * length * width * thickness / _METRE**3
        return self.price * length * width * thickness / (_FOOT**3 / 12)


@dataclass(frozen=True)
class Lying:
    """Equal pieces that lie in the shop: they are used first and cost nothing."""

    stock: str
    length: float
    width: float | None = None
    """Of a piece of sheet."""
    count: int = 1
    knots: tuple[tuple[float, float], ...] = ()
    """Stretches of a board from which nothing is cut."""
    spoilt: tuple[tuple[float, float, float, float], ...] = ()
    """Rectangles of a sheet from which nothing is cut: from its left end, from its lower edge, length, width."""
    place: Place = NOWHERE


@dataclass(frozen=True)
class Yard:
    """A list; empty of the trade's own sizes."""

    name: str = ""
    currency: str = ""
    sold: tuple[Sold, ...] = ()
    lying: tuple[Lying, ...] = ()

    def sells(self, stock: str) -> tuple[Sold, ...]:
        """The lines of a stock, asked for by its name."""
        return tuple(s for s in self.sold if same_words(s.stock, stock))

    def stands_in(self, stock: str) -> tuple[Sold, ...]:
        """The lines that can stand in for a stock."""
        return tuple(s for s in self.sold if s.instead_of and same_words(s.instead_of, stock))

    def has(self, stock: str) -> tuple[Lying, ...]:
        """What lies in the shop of it."""
        return tuple(s for s in self.lying if same_words(s.stock, stock))

    def nearest(self, stock: str) -> str:
        """``; did you mean ...`` for a stock that the list has not."""
        return did_you_mean(plain_words(stock), [plain_words(s.stock) for s in self.sold])


NO_LIST = Yard()


def plain_words(text: str) -> str:
    """Lower case, single spaces, ``x`` between sizes."""
    return " ".join(text.replace("×", "x").replace(",", " ").lower().split())


def same_words(a: str, b: str) -> bool:
    """Whether two ask for the same: the same words, whatever their spacing and capitals."""
    return plain_words(a) == plain_words(b)
