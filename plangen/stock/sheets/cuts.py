"""The cuts of a sheet in the order in which they are made, numbered, each with its stop setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.stock.sheets.layout import Cut, CutSheet, Piece, SheetLayout

_SAME = 1e-6


@dataclass(frozen=True)
class NumberedCut:
    """One saw cut, millimetres on the sheet from its lower left corner.

    It runs straight from ``start`` to ``end``, edge to edge of the piece it divides, along the edge of its kerf
    where the measured piece ends. ``setting`` is the distance from fence or stop to the blade: the length (crosscut)
    or width (rip) of the piece that is measured. ``of`` is the number of the cut that freed the divided piece: 0 for
    the sheet. ``trims`` says that the sheet's edge comes off. ``part`` is the index of the measured piece's part.
    """

    number: int
    cut: Cut
    setting: float
    start: tuple[float, float]
    end: tuple[float, float]
    of: int
    trims: bool = False
    part: int | None = None


def numbered_cuts(layout: SheetLayout, sheet: CutSheet) -> tuple[NumberedCut, ...]:
    """All cuts of one sheet: its edges trimmed, then each piece divided before its own pieces are."""
    cuts = _trimmed(layout, sheet)
    _divide(sheet.root, cuts, len(cuts))
    return tuple(cuts)


def _trimmed(layout: SheetLayout, sheet: CutSheet) -> list[NumberedCut]:
    """Four cuts that take the trim off: the far edge, then the sheet turned and the near one."""
    stock, trim = layout.stock[sheet.stock], layout.trim
    if trim <= 0:
        return []
    x, y = stock.length, stock.width
    return [
        NumberedCut(1, "rip", y - trim, (0.0, y - trim), (x, y - trim), 0, True),
        NumberedCut(2, "rip", y - 2 * trim, (0.0, trim), (x, trim), 1, True),
        NumberedCut(3, "crosscut", x - trim, (x - trim, trim), (x - trim, y - trim), 2, True),
        NumberedCut(4, "crosscut", x - 2 * trim, (trim, trim), (trim, y - trim), 3, True),
    ]


def _divide(piece: Piece, cuts: list[NumberedCut], of: int) -> None:
    """Adds the cuts that divide a piece, then those of its pieces."""
    freed = []
    for here in piece.pieces:
        if _wood_follows(piece, here):
            cuts.append(_cut_after(piece, here, len(cuts) + 1, of))
            of = len(cuts)
        freed.append((here, of))
    for here, number in freed:
        _divide(here, cuts, number)


def _wood_follows(piece: Piece, here: Piece) -> bool:
    if piece.cut == "crosscut":
        return here.x + here.length < piece.x + piece.length - _SAME
    return here.y + here.width < piece.y + piece.width - _SAME


def _cut_after(piece: Piece, here: Piece, number: int, of: int) -> NumberedCut:
    """The cut behind one of the pieces that a piece is divided into."""
    if piece.cut == "crosscut":
        x = round(here.x + here.length, 6)
        start, end, setting = (x, piece.y), (x, round(piece.y + piece.width, 6)), here.length
    else:
        y = round(here.y + here.width, 6)
        start, end, setting = (piece.x, y), (round(piece.x + piece.length, 6), y), here.width
    cut: Cut = "crosscut" if piece.cut == "crosscut" else "rip"
    return NumberedCut(number, cut, setting, start, end, of, part=here.part)


def settings(cuts: Sequence[NumberedCut]) -> tuple[tuple[Cut, float, tuple[int, ...]], ...]:
    """Each stop setting once, in the order of its first cut, with the numbers of the cuts made at it."""
    found: dict[tuple[Cut, float], list[int]] = {}
    for cut in cuts:
        found.setdefault((cut.cut, round(cut.setting, 6)), []).append(cut.number)
    return tuple((cut, setting, tuple(numbers)) for (cut, setting), numbers in found.items())
