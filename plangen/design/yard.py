"""A timber yard's list, what lies in the shop, and what is left on when parts are roughed out.

A yard is the design's ``yard`` section or a file of its own beside the designs that share it.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.records import Expression, Record, Text, keyed


class Sale(Record):
    """One line of a yard's list. A stock that is sold in several lengths at one price by the metre takes one line;
    one that has a price for each length takes a line for each."""

    stock: Text = keyed("what the designs ask for, in the same words")
    lengths: tuple[Expression, ...] = keyed(
        "lengths that it is sold in; default: those of the trade", default=(), kind="length"
    )
    widths: tuple[Expression, ...] = keyed(
        "widths of its boards, for panels that are glued up", default=(), kind="length"
    )
    sheet: tuple[Expression, Expression] | None = keyed(
        "length and width of a sheet", default=None, kind="length"
    )
    price: Expression | None = keyed("its price, in the yard's currency", default=None, kind="number")
    per: Literal["piece", "metre", "foot", "square metre", "square foot", "cubic metre", "board foot"] = (
        keyed("what the price is for; a sheet is a piece", default="piece")
    )
    count: Expression | None = keyed(
        "how many the yard has; default: as many as wanted", default=None, kind="number"
    )
    measured: Expression | None = keyed("thickness of its sheets, as measured", default=None, kind="length")
    instead_of: Text | None = keyed(
        "a stock that it can stand in for: what the job costs with it is told beside", default=None
    )


class InShop(Record):
    """Pieces of one size that lie in the shop already: they are cut first, and cost nothing."""

    stock: Text = keyed("what the designs call it, in the same words")
    length: Expression | None = keyed("length of a board", default=None, kind="length")
    sheet: tuple[Expression, Expression] | None = keyed(
        "length and width of a piece of sheet", default=None, kind="length"
    )
    count: Expression | None = keyed("how many; default: one", default=None, kind="number")
    knots: tuple[tuple[Expression, Expression], ...] = keyed(
        "stretches of the board to keep out of: [from, to] from its end", default=(), kind="length"
    )
    spoilt: tuple[tuple[Expression, Expression, Expression, Expression], ...] = keyed(
        "rectangles of the sheet to keep out of: [from its left end, from its lower edge, length, width]",
        default=(),
        kind="length",
    )


class YardList(Record):
    """What the yard sells, and what lies in the shop."""

    name: Text | None = keyed("what the yard is called", default=None)
    currency: Text | None = keyed("of its prices, as it is to be printed", default=None)
    sells: tuple[Sale, ...] = keyed("its list", default=())
    in_shop: tuple[InShop, ...] = keyed("what lies in the shop already", default=())


class YardFile(YardList):
    """A file that holds a yard's list, for all designs beside it."""

    units: Literal["in", "mm"] = keyed("the unit of bare numbers in this file")


class Roughing(Record):
    """What is left on when parts are roughed out, and what is bought beyond them."""

    length: Expression | None = keyed(
        "on the length of a part, both ends together; default: 1 in or 25 mm", default=None, kind="length"
    )
    width: Expression | None = keyed(
        "on the width of a part from boards without a width of their own; default: 1/4 in or 6 mm",
        default=None,
        kind="length",
    )
    thickness: Expression | None = keyed(
        "on the thickness of a part from sawn boards, both faces together; default: 3/16 in or 5 mm",
        default=None,
        kind="length",
    )
    glued: Expression | None = keyed(
        "on the width of each board of a panel that is glued up; default: 1/8 in or 3 mm",
        default=None,
        kind="length",
    )
    turning: Expression | None = keyed(
        "on the side of a square blank to be turned; default: 1/4 in or 6 mm", default=None, kind="length"
    )
    scrap: Expression | None = keyed(
        "length kept of each stock that is machined, to try settings on: an offcut, or bought where none is long "
        "enough; default: 12 in or 300 mm, 0 for none",
        default=None,
        kind="length",
    )
    ends: Expression | None = keyed(
        "cut off each end of a board before parts are cut; default: nothing, parts have their own allowance",
        default=None,
        kind="length",
    )
    kerf: Expression | None = keyed(
        "lost at each cut of a layout; default: 1/8 in or 3 mm", default=None, kind="length"
    )
    spare: Expression | None = keyed(
        "one spare board for each so many; default: 5", default=None, kind="number"
    )
    over: Expression | None = keyed(
        "percent bought over, of boards of random width; default: 20", default=None, kind="number"
    )


class Coat(Record):
    """A finish, and how far it goes."""

    finish: Text = keyed("what it is")
    coats: Expression | None = keyed("how many; default: one", default=None, kind="number")
    covers: Expression | None = keyed(
        "square metres a litre covers, or in an inch design square feet a gallon, in one coat; default: a published "
        "figure for what its name says",
        default=None,
        kind="number",
    )


class Climate(Record):
    """The air that the piece will live in, from the driest week of the year to the dampest."""

    driest: Expression | None = keyed(
        "least relative humidity, percent; default: 30", default=None, kind="number"
    )
    dampest: Expression | None = keyed(
        "greatest relative humidity, percent; default: 65", default=None, kind="number"
    )
    temperature: Expression | None = keyed(
        "degrees Celsius, of all the year; default: 21", default=None, kind="number"
    )
