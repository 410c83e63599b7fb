"""The sheets of breaking down: each board and sheet to scale with its cuts in order, alike ones once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from plangen.drawing.block import Block, flowed, stacked
from plangen.drawing.breakdown_sheet import board_breakdown, breakdown_block, settings_table, sheet_breakdown
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.ruled_table import table_blocks
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.wording import capital
from plangen.facts import PlanFacts
from plangen.stock.breakdown import Breakdown
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.materials_list import MaterialRow
from plangen.stock.real_wood import is_machined
from plangen.stock.sheets.layout import SheetLayout
from plangen.units import UnitStyle, length_text, length_text_with_unit

LETTERS = 3.5
_MARGIN, _GAP, _WITHIN = 6.0, 7.0, 2.0
_PICTURE_SHARE = 0.63
_BOARD, _SHEET = 22.0, 85.0
"""Most height of the picture of a board and of a sheet, mm of paper."""
_LEAST_WIDTH = 25.4
"""Width of a board that has none of its own, mm of the work."""


def breakdown_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """None where nothing comes in known sizes."""
    paper = f"{style.small} portrait"
    x0, y0, x1, y1 = free_field(paper)
    width, height = x1 - x0 - 2 * _MARGIN, y1 - y0 - 2 * _MARGIN
    blocks = [
        b for row in facts.materials if row.breakdown for b in _blocks(row, row.breakdown, facts.style, width)
    ]
    if not blocks:
        return ()
    blocks.insert(0, paragraph(_GENERAL + _scrap(facts), width, LETTERS))
    pages = flowed("breaking down", blocks, (height,), _GAP)
    return tuple(
        Draft(
            key="breaking down" if n == 0 else f"breaking down {n + 1}",
            title="Breaking down" if len(pages) == 1 else f"Breaking down ({n + 1} of {len(pages)})",
            purpose="Where each part comes out",
            document_type="Cutting layouts",
            kind="lists",
            paper=paper,
            marks=(page.placed(x0 + _MARGIN, y1 - _MARGIN),),
            alt="Each board and sheet with its parts and its cuts in order",
        )
        for n, page in enumerate(pages)
    )


_GENERAL = (
    "Rough sizes, a kerf between neighbours; cuts are numbered in order. Square the end of a board first, within the "
    "allowance. Look the wood over before it is cut: a knot in a part is what the spare is for, or enter the knots of "
    "boards in hand in the yard list and cut round them. Offcuts are hatched."
)


def _scrap(facts: PlanFacts) -> str:
    """How much of each stock is kept to try settings on; nothing where nothing is machined."""
    kept = facts.supply.allowances.scrap
    machined = any(is_machined(row) for m in facts.materials if m.breakdown for row in m.breakdown.rows)
    if not machined or kept <= 0:
        return ""
    return f" Keep {length_text_with_unit(kept, facts.style)} of each machined stock as scrap to try settings on."


def _blocks(row: MaterialRow, found: Breakdown, style: UnitStyle, width: float) -> Iterator[Block]:
    if isinstance(found.layout, LengthLayout):
        yield from _boards(row, found, found.layout, style, width)
    else:
        yield from _sheets(found, found.layout, style, width)


def _boards(
    row: MaterialRow, found: Breakdown, layout: LengthLayout, style: UnitStyle, width: float
) -> Iterator[Block]:
    across = found.stock.width or max(r.rough[1] for r in found.rows) or _LEAST_WIDTH
    alike = Counter(bar.pattern for bar in layout.bars)
    first = {bar.pattern: i for i, bar in reversed(list(enumerate(layout.bars)))}
    for n, (pattern, index) in enumerate(sorted(first.items(), key=lambda item: item[1])):
        length = length_text_with_unit(layout.stock[pattern[0]].length, style)
        count = f"{alike[pattern]} boards alike, each" if alike[pattern] > 1 else "1 board"
        count += " from the shop," if layout.stock[pattern[0]].shop else ""
        words = [heading(capital(found.stock.name))] if n == 0 else []
        words.append(
            paragraph(f"{count} {length} long.{_said(row, found, style) if n == 0 else ''}", width, LETTERS)
        )
        picture = breakdown_block("board", board_breakdown(layout, index, across, style), width, _BOARD)
        stops = [c for c in layout.cuts if c.bar == index and c.stop is not None]
        told = (
            "Stops: "
            + ", ".join(length_text(s, style) for s in dict.fromkeys(c.stop or 0.0 for c in stops))
            + "."
        )
        yield stacked("board", [*words, picture, paragraph(told, width, LETTERS)], _WITHIN)


def _said(row: MaterialRow, found: Breakdown, style: UnitStyle) -> str:
    """The spare, and how parts are ripped, glued up or left together."""
    text = ""
    if row.spare:
        needed = int(row.quantity) - row.spare
        text += f" {needed} if all is clear; buy {int(row.quantity)}."
    for mark, ripped, beside in found.ripped:
        text += f" {ripped} of {mark} side by side, ripped." if ripped > 1 else ""
        text += f" {beside} side by side make one {mark}." if beside > 1 else ""
    for gang in found.gangs:
        text += f" {', '.join(gang.marks)}: one length of {length_text(gang.length, style)} until they are machined."
    return text


def _sheets(found: Breakdown, layout: SheetLayout, style: UnitStyle, width: float) -> Iterator[Block]:
    for index, sheet in enumerate(layout.sheets):
        stock = layout.stock[sheet.stock]
        size = f"{length_text(stock.length, style)} × {length_text_with_unit(stock.width, style)}"
        title = f"Sheet {index + 1} of {len(layout.sheets)}, {size}{', from the shop' if stock.shop else ''}."
        words: list[Block] = [heading(capital(found.stock.name))] if index == 0 else []
        words.append(paragraph(title, width, LETTERS))
        beside = width * (1 - _PICTURE_SHARE) - _GAP
        table = table_blocks(settings_table(layout, index, style), beside, (1000.0,))[0]
        picture = breakdown_block(
            "sheet", sheet_breakdown(layout, index, style), width * _PICTURE_SHARE, max(_SHEET, table.height)
        )
        marks = (picture.placed(0.0, 0.0), table.placed(width * _PICTURE_SHARE + _GAP, 0.0))
        both = Block("sheet", marks, width, max(picture.height, table.height))
        yield stacked("sheet", [*words, both], _WITHIN)
