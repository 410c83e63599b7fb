"""What a design's ``yard``, ``roughing``, ``coats`` and ``climate`` say, to the figures of ``tables``.

Nothing is opened here: whoever reads the design hands over a way to read what stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Any

from plangen.design import yard as y
from plangen.design.design import Design
from plangen.design.expressions import Expression, Lookup
from plangen.design.files_beside import Beside, FiguresAlone, nothing_beside, read_beside
from plangen.design.sizes import Sizes
from plangen.findings import DesignError, Finding, error, in_order
from plangen.tables.allowances import ALLOWANCES, Allowances
from plangen.tables.finishes import Coating
from plangen.tables.moisture import USUAL_AIR, Air
from plangen.tables.yard import NO_LIST, Lying, Sold, Yard
from plangen.units import LengthUnit


@dataclass(frozen=True)
class Supplied:
    """Where the wood comes from and what becomes of it, as the design says or as is usual."""

    yard: Yard
    allowances: Allowances
    coats: tuple[Coating, ...]
    """Empty: what its words about finish say."""
    air: Air
    source: str | None = None
    """Base name of the yard's file; None: said in the design, or no list."""
    sha256: str | None = None
    """Of that file's bytes."""


def usual_supply(units: LengthUnit) -> Supplied:
    return Supplied(NO_LIST, ALLOWANCES[units], (), USUAL_AIR)


def choose_supply(design: Design, file: str, beside: Beside = nothing_beside) -> Supplied:
    """What the design says of its yard and its roughing out; the trade's own where it says nothing.

    ``file`` is the design's name as the user gave it. Raises DesignError with all that is wrong, at its place in
    the file that says it.
    """
    lookup = Sizes(design).lookup
    found = usual_supply(design.units)
    if isinstance(design.yard, y.YardList):
        found = replace(found, yard=_yard(design.yard, lookup, ""))
    elif design.yard is not None:
        listed, sha256 = read_beside(
            design.yard, file, beside, "yard list", y.YardFile, "units and what the yard sells"
        )
        called = PurePath(design.yard).stem.replace("-", " ")
        yard = _yard(listed, FiguresAlone("yard list").lookup, called)
        found = replace(found, yard=yard, source=str(design.yard), sha256=sha256)
    return replace(
        found,
        allowances=_allowances(design, lookup),
        coats=tuple(_coating(c, lookup) for c in design.coats),
        air=_air(design.climate, lookup),
    )


# --- the yard ---------------------------------------------------------------------------------------------


def _yard(said: y.YardList, lookup: Lookup, called: str) -> Yard:
    if wrong := in_order(_wrong_pieces(said, lookup)):
        raise DesignError(wrong)
    return Yard(
        str(said.name or called),
        str(said.currency or ""),
        tuple(_sold(s, lookup) for s in said.sells),
        tuple(_lying(s, lookup) for s in said.in_shop),
    )


def _wrong_pieces(said: y.YardList, lookup: Lookup) -> Iterator[Finding]:
    """What lies in the shop without a size, or with two; knots that lie off the board."""
    for sale in said.sells:
        if sale.sheet is not None and sale.lengths:
            yield error(sale.place, "yard", f'"{sale.stock}" is sold by lengths or by the sheet, not by both')
        if sale.measured is not None and sale.lengths:
            text = f'"measured" is for sheets; "{sale.stock}" is sold by lengths'
            yield error(sale.measured.place, "yard", text)
    for piece in said.in_shop:
        if (piece.length is None) == (piece.sheet is None):
            text = (
                f'say how long the "{piece.stock}" in the shop is: "length" of a board, or "sheet" of a sheet'
            )
            yield error(piece.place, "yard", text)
            continue
        if piece.length is not None:
            yield from _wrong_knots(piece, _mm(piece.length, lookup), lookup)
        if piece.sheet is not None:
            yield from _wrong_spoilt(piece, [_mm(s, lookup) for s in piece.sheet], lookup)


def _wrong_knots(piece: y.InShop, length: float, lookup: Lookup) -> Iterator[Finding]:
    if piece.spoilt:
        yield error(piece.place, "yard", '"spoilt" is for sheets; a board has "knots: [[from, to]]"')
    for start, end in piece.knots:
        if not _mm(start, lookup) < _mm(end, lookup) <= length + 1e-6:
            text = f'no stretch of the board runs from "{start}" to "{end}"; it is "{piece.length}" long'
            yield error(start.place, "yard", text)


def _wrong_spoilt(piece: y.InShop, sheet: list[float], lookup: Lookup) -> Iterator[Finding]:
    if piece.knots:
        yield error(
            piece.place, "yard", '"knots" is for boards; a sheet has "spoilt: [[from left, from below, ...]]"'
        )
    for rectangle in piece.spoilt:
        x, at, length, width = (_mm(v, lookup) for v in rectangle)
        if x < 0 or at < 0 or x + length > sheet[0] + 1e-6 or at + width > sheet[1] + 1e-6:
            yield error(rectangle[0].place, "yard", "this rectangle does not lie on the sheet")


def _sold(sale: y.Sale, lookup: Lookup) -> Sold:
    return Sold(
        str(sale.stock),
        tuple(sorted({_mm(v, lookup) for v in sale.lengths})),
        tuple(sorted({_mm(v, lookup) for v in sale.widths})),
        None if sale.sheet is None else _sheet(sale.sheet, lookup),
        None if sale.price is None else _number(sale.price, lookup),
        sale.per,
        None if sale.count is None else int(_number(sale.count, lookup)),
        None if sale.measured is None else _mm(sale.measured, lookup),
        str(sale.instead_of or ""),
        sale.stock.place,
    )


def _lying(piece: y.InShop, lookup: Lookup) -> Lying:
    length, width = (0.0, None) if piece.sheet is None else _sheet(piece.sheet, lookup)
    if piece.length is not None:
        length = _mm(piece.length, lookup)
    return Lying(
        str(piece.stock),
        length,
        width,
        1 if piece.count is None else int(_number(piece.count, lookup)),
        tuple((_mm(a, lookup), _mm(b, lookup)) for a, b in piece.knots),
        tuple(
            (_mm(x, lookup), _mm(at, lookup), _mm(length, lookup), _mm(width, lookup))
            for x, at, length, width in piece.spoilt
        ),
        piece.stock.place,
    )


def _sheet(said: tuple[Expression, Expression], lookup: Lookup) -> tuple[float, float]:
    return _mm(said[0], lookup), _mm(said[1], lookup)


# --- roughing out, coats, air -----------------------------------------------------------------------------


def _allowances(design: Design, lookup: Lookup) -> Allowances:
    usual, said = ALLOWANCES[design.units], design.roughing
    if said is None:
        return usual
    lengths: dict[str, Any] = {
        name: _mm(value, lookup)
        for name in ("length", "width", "thickness", "glued", "turning", "scrap", "ends", "kerf")
        if (value := getattr(said, name)) is not None
    }
    found = replace(usual, **lengths)
    if said.spare is not None:
        found = replace(found, spare=int(_number(said.spare, lookup)))
    return found if said.over is None else replace(found, over=said.over.number(lookup).value / 100)


def _coating(coat: y.Coat, lookup: Lookup) -> Coating:
    return Coating(
        str(coat.finish),
        1 if coat.coats is None else int(_number(coat.coats, lookup)),
        None if coat.covers is None else _number(coat.covers, lookup),
    )


def _air(said: y.Climate | None, lookup: Lookup) -> Air:
    if said is None:
        return USUAL_AIR
    values = {
        "driest": said.driest, "dampest": said.dampest, "celsius": said.temperature,
    }  # fmt: skip
    found = replace(
        USUAL_AIR, said=True, **{k: _number(v, lookup) for k, v in values.items() if v is not None}
    )
    for value, figure in ((said.driest, found.driest), (said.dampest, found.dampest)):
        if value is not None and not 0 <= figure <= 100:
            raise DesignError([error(value.place, "climate", f'"{value}" is no humidity: 0 to 100 percent')])
    if found.driest >= found.dampest:
        text = f"the driest air, {found.driest:g} percent, is not drier than the dampest, {found.dampest:g}"
        raise DesignError([error(said.place, "climate", text)])
    if said.temperature is not None and not -20 <= found.celsius <= 60:
        text = f'"{said.temperature}" degrees Celsius is beyond what wood is tabled for: -20 to 60'
        raise DesignError([error(said.temperature.place, "climate", text)])
    return found


def _mm(expression: Expression, lookup: Lookup) -> float:
    return float(expression.length(lookup).value)


def _number(expression: Expression, lookup: Lookup) -> float:
    return float(expression.number(lookup).value)
