"""The set of full-size paper: a page to measure first, maps of the tiles, each outline, then paper for hand work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen import __version__
from plangen.drawing.block import Block, flowed, spaced, stacked
from plangen.drawing.composition import sheet_style
from plangen.drawing.full_size.card_pages import card_block, card_sheets, in_rows, room_for_cards
from plangen.drawing.full_size.cards import bend_cards, bevel_cards, sight_cards, story_sticks
from plangen.drawing.full_size.drawing import FullSize
from plangen.drawing.full_size.labels import label_blocks
from plangen.drawing.full_size.page import Page, Paper, chosen_paper, furniture, page_of, page_sheet
from plangen.drawing.full_size.rulers import SQUARES, ruler, square
from plangen.drawing.full_size.template_drawing import is_traced, template_drawing
from plangen.drawing.full_size.tile_sheets import Tiled, map_block, sheet_number, tile, tile_sheets
from plangen.drawing.full_size.wraps import wraps
from plangen.drawing.marks import Mark, Sheet
from plangen.drawing.setup_names import Names
from plangen.drawing.text_block import VIEW_TITLE, paragraph
from plangen.facts import PlanFacts
from plangen.machining.template import Template
from plangen.units import UnitStyle

_GAP = 4.0
_MAP = 60.0
"""Most height of a map, mm."""
_CARDS_PAGE = 420.0
"""Length of a page of cards off a roll, mm."""


def full_size_sheets(facts: PlanFacts, templates: Sequence[Template]) -> tuple[Sheet, ...]:
    """Every page of ``templates.pdf``."""
    paper = chosen_paper(facts.templates.cut.paper, sheet_style(facts).small)
    page = page_of(paper, True, _CARDS_PAGE if paper.is_roll else None)
    room = room_for_cards(page)
    large = [template_drawing(t, facts.style) for t in templates if is_traced(t)]
    cards: list[Block] = []
    for drawing in hand_papers(facts):
        block = card_block(drawing, room)
        if block is None:
            large.append(drawing)
        else:
            cards.append(block)
    sticks = story_sticks(facts.marking.sticks)
    large += [] if sticks is None else [sticks]
    rest = _cards_and_labels(cards, label_blocks(facts.bench, facts.joint_marks), room)
    tiled, guide = _guided([tile(drawing, paper) for drawing in large], rest, page, facts.style)
    under = _under(facts, paper)
    sheets = [_first_page(page, under), *_guide_sheets(guide, page, under)]
    for one in tiled:
        sheets += tile_sheets(one, paper, under, facts.style)
    for title, pages in rest:
        sheets += card_sheets(title, pages, page, len(sheets) + 1, under, ())
    return tuple(sheets)


def _cards_and_labels(
    cards: Sequence[Block], labels: Sequence[Block], room: tuple[float, float]
) -> list[tuple[str, Sequence[Block]]]:
    """Each on pages of its own, or labels going on where the cards end if that saves a page."""
    apart = [("Cards for hand work", in_rows(cards, room)), ("Part labels", in_rows(labels, room))]
    together = in_rows([*cards, *labels], room)
    if len(together) < sum(len(pages) for _, pages in apart):
        return [("Cards for hand work, part labels", together)]
    return list(apart)


def _guided(
    bare: Sequence[Tiled], rest: Sequence[tuple[str, Sequence[Block]]], page: Page, style: UnitStyle
) -> tuple[list[Tiled], tuple[Block, ...]]:
    """The tiles numbered behind the pages that list and map them, and those pages."""
    pages = 1
    while True:
        tiled = _numbered(bare, 2 + pages)
        behind = 2 + pages + sum(len(t.tiling.kept) for t in tiled)
        guide = _guide([*_contents(tiled), *_rest_contents(rest, behind)], tiled, page, style)
        if len(guide) <= pages:
            return tiled, guide
        pages = len(guide)


def _guide_sheets(guide: Sequence[Block], page: Page, under: Sequence[str]) -> Iterator[Sheet]:
    title = "What follows, and maps of the tiles"
    for i, block in enumerate(guide):
        number = sheet_number(2 + i)
        marks = [*furniture(page, number, title, under, ""), *_foot_squares(page), _in_field(page, block)]
        yield page_sheet(page, number, title, marks, (), "What each sheet is, how the tiles lie together")


def hand_papers(facts: PlanFacts) -> Iterator[FullSize]:
    """Strips, blocks and cards for work by hand, each only where the design has such a thing."""
    yield from wraps(facts.bench.members, facts.style)
    names = Names(facts.machining.setups)
    yield from sight_cards(facts.machining.setups, facts.bench.members, names, facts.style)
    yield from bend_cards(facts.bent)
    yield from bevel_cards(facts.marking.bevels)


def _contents(tiled: Sequence[Tiled]) -> list[str]:
    return [f"{_pages(list(t.numbers.values()))}: {t.drawing.mark}  {t.drawing.title}" for t in tiled]


def _rest_contents(rest: Sequence[tuple[str, Sequence[Block]]], first: int) -> Iterator[str]:
    for title, pages in rest:
        if pages:
            yield f"{_pages([sheet_number(first + i) for i in range(len(pages))])}: {title}"
        first += len(pages)


def _pages(numbers: Sequence[str]) -> str:
    return numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"


def _numbered(tiled: Sequence[Tiled], first: int) -> list[Tiled]:
    found = []
    for one in tiled:
        found.append(replace(one, first=first))
        first += len(one.tiling.kept)
    return found


def _under(facts: PlanFacts, paper: Paper) -> list[str]:
    design = facts.design
    sx, sy = paper.stretch
    return [
        "TRUE SIZE: print at 100 % (actual size)",
        "" if paper.is_roll else f"{paper.name} paper",
        "" if (sx, sy) == (1.0, 1.0) else f"stretched {sx:g} across, {sy:g} up for the printer",
        f"revision {design.revisions[-1].letter}" if design.revisions else "",
        str(design.title),
        f"design {facts.sha256[:8]}, plangen {__version__}",
    ]


def _in_field(page: Page, block: Block) -> Mark:
    x0, _, _, y1 = page.field
    return block.placed(x0 + _GAP, y1 - _GAP)


def _foot_squares(page: Page) -> Iterator[Mark]:
    x, y, *_ = page.field
    for side, name in SQUARES:
        yield from square((x + _GAP, y + 2.0), side, name)
        x += side + _GAP


def _guide(
    contents: Sequence[str], tiled: Sequence[Tiled], page: Page, style: UnitStyle
) -> tuple[Block, ...]:
    width, height = room_for_cards(page)
    blocks = [
        spaced(map_block(t, width, _MAP, style), 5.0)
        for t in tiled
        if len(t.tiling.kept) > 1 or t.drawing.says
    ]
    blocks[:0] = [paragraph("What follows", width, VIEW_TITLE), *(paragraph(t, width) for t in contents)]
    return flowed("guide", blocks, (height,), 1.5)


def _first_page(page: Page, under: Sequence[str]) -> Sheet:
    """To be printed alone and measured."""
    x0, y0, x1, _ = page.field
    width = x1 - x0 - 2 * _GAP
    number = sheet_number(1)
    steps = [
        "Print this page alone, at 100 % (actual size), on one side, not fitted to the page.",
        "Measure both squares and both long rulers, across and up, with the rule you will work with.",
        "Print the rest only if they are true. If one way is off, write under templates: on paper: stretch: what a "
        "ruler should measure divided by what it does, across and up, draw again and measure again.",
        "Every page has a ruler each way and two squares: measure one again whenever the paper or the printer changes.",
    ]
    words = stacked(
        "words",
        [
            paragraph("Print this page only, measure, then print the rest", width, VIEW_TITLE),
            *(paragraph(t, width, hanging=f"{i}.") for i, t in enumerate(steps, 1)),
        ],
        2.0,
    )
    left, foot = x0 + 8.0, y0 + 8.0
    right = x1 - 8.0
    long = (150, 6) if right - left > 165.0 else (100, 4)
    marks = [
        *furniture(page, number, "Print this page first and measure it", under, ""),
        _in_field(page, words),
        *ruler((left, foot), False, *long),
        *ruler((right, foot + 10.0), True, *long),
        *square((left + 5.0, foot + 15.0), 50.0, "50 mm"),
        *square((left + 65.0, foot + 15.0), 50.8, "2 in"),
    ]
    return page_sheet(
        page, number, "Print first and measure", marks, (), "Rulers and squares to measure a print by"
    )
