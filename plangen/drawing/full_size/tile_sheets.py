"""The sheets of one drawing: tiles with what they are taped together by, and the map that says how they lie.

Neighbours overlap. In the middle of the overlap runs the *seam*, with crosses that both tiles show at the same places
of the drawing. The tile to the left or above keeps its paper; the other is cut along the seam and laid on it until
the halves of the crosses on its edge meet the crosses under it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.drawing.block import Block, stacked
from plangen.drawing.full_size.drawing import FullSize, cross, turned_mark, within
from plangen.drawing.full_size.page import Page, Paper, field_sizes, furniture, page_of, page_sheet
from plangen.drawing.full_size.rulers import SQUARES, square
from plangen.drawing.full_size.tiling import MARGIN, Tiling, choose_tiling
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import extent, moved, polyline, rectangle
from plangen.drawing.marks import Lettering, Link, Mark, Sheet, Stroke
from plangen.drawing.text_block import VIEW_TITLE, paragraph
from plangen.geometry.curve_windows import length_at_most, turned_curve
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.outline_boxes import curve_box
from plangen.units import UnitStyle, length_text_with_unit

_CROSSES = (1 / 8, 1 / 2, 7 / 8)
"""Where crosses stand along a seam, as shares of it."""
_RING = 1.5
_SMALL = 2.5
_GRID = 2.0
"""Millimetres of the grid in which free places for the squares are looked for."""
_NAMES = "PQ"


@dataclass(frozen=True)
class Tiled:
    """A drawing on its tiles."""

    drawing: FullSize
    marks: tuple[Mark, ...]
    """Turned as the tiling has them."""
    tiling: Tiling
    pages: tuple[Page, ...]
    first: int = 0
    """Of the numbers of its sheets."""

    @property
    def numbers(self) -> dict[tuple[int, int], str]:
        """The sheet of each tile."""
        return {t: sheet_number(self.first + i) for i, t in enumerate(self.tiling.kept)}


def tile(drawing: FullSize, paper: Paper) -> Tiled:
    """The drawing on as few sheets as it takes, not yet numbered."""
    if paper.is_roll:
        tiling, pages = _off_a_roll(drawing, paper)
    else:
        tiling = choose_tiling(drawing.lines, drawing.spots, field_sizes(paper), paper.overlap)
        pages = (page_of(paper, tiling.upright),) * len(tiling.kept)
    return Tiled(drawing, tuple(turned_mark(m, tiling.turn) for m in drawing.marks), tiling, pages)


def sheet_number(index: int) -> str:
    return f"T-{index:02d}"


def _off_a_roll(drawing: FullSize, paper: Paper) -> tuple[Tiling, tuple[Page, ...]]:
    """One page as long as need be; where the drawing is wider than the roll, strips of it."""
    (_, size), *_ = field_sizes(paper)
    tiling = choose_tiling(drawing.lines, drawing.spots, [(True, size)], paper.overlap)
    if tiling.rows > 1:
        return tiling, (page_of(paper, True),) * len(tiling.kept)
    turned = [turned_curve(c, tiling.turn) for c in drawing.lines]
    boxes = [curve_box(c) for c in turned]
    low, high = min(b[1] for b in boxes) - MARGIN, max(b[3] for b in boxes) + MARGIN
    height = max(high - low, 120.0)
    cut = Tiling(
        tiling.turn, True, (size[0], height), tiling.overlap, (tiling.origin[0], low), tiling.columns, 1,
        tiling.kept,
    )  # fmt: skip
    return cut, (page_of(paper, True, height),) * len(tiling.kept)


# --- registration ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Seam:
    """Where a tile is laid on the one left of it or above it; in the turned drawing."""

    under: tuple[int, int]
    over: tuple[int, int]
    ends: tuple[Vec2, Vec2]
    crosses: tuple[Vec2, ...]


def seams_of(tiling: Tiling) -> tuple[Seam, ...]:
    """Between all neighbours that are printed."""
    return tuple(
        _seam(tiling, under, over)
        for under in tiling.kept
        for over in ((under[0], under[1] + 1), (under[0] + 1, under[1]))
        if over in tiling.kept
    )


def _seam(tiling: Tiling, under: tuple[int, int], over: tuple[int, int]) -> Seam:
    a, b = tiling.field(under), tiling.field(over)
    if under[0] == over[0]:
        x = (b[0] + a[2]) / 2
        ends = ((x, a[1]), (x, a[3]))
    else:
        y = (a[1] + b[3]) / 2
        ends = ((a[0], y), (a[2], y))
    (x0, y0), (x1, y1) = ends
    return Seam(under, over, ends, tuple((x0 + (x1 - x0) * s, y0 + (y1 - y0) * s) for s in _CROSSES))


def far_crosses(seams: Sequence[Seam]) -> tuple[Vec2, Vec2] | None:
    """The two crosses farthest apart, by which the whole is measured when it is taped; None where one seam is all."""
    ends = [seams[0].crosses, seams[-1].crosses] if len(seams) > 1 else []
    pairs = [(round(math.dist(p, q), 6), p, q) for p in ends[0] for q in ends[1]] if ends else []
    return max(pairs)[1:] if pairs else None


# --- one tile -------------------------------------------------------------------------------------------------


def tile_sheets(tiled: Tiled, paper: Paper, under: Sequence[str], style: UnitStyle) -> Iterator[Sheet]:
    """The sheets of a drawing in the order of their numbers; ``under`` is said in the head of each."""
    seams = seams_of(tiled.tiling)
    far = far_crosses(seams)
    drawing, tiling = tiled.drawing, tiled.tiling
    for page, spot in zip(tiled.pages, tiling.kept, strict=True):
        field = tiling.field(spot)
        by = (page.field[0] - field[0], page.field[1] - field[1])
        marks = [*within(tiled.marks, field), *_joins(tiled, spot, seams, far)]
        squares = _squares([m for m in marks if isinstance(m, Stroke)], marks, field)
        where = ""
        if len(tiling.kept) > 1:
            where = (
                f"tile {tiling.kept.index(spot) + 1} of {len(tiling.kept)}: row {spot[0] + 1} of {tiling.rows}, "
                f"column {spot[1] + 1} of {tiling.columns}"
            )
        number = tiled.numbers[spot]
        head = "  ·  ".join(t for t in (f"{drawing.mark}  {drawing.title}".strip(), drawing.face, where) if t)
        says = "Cut, lay cross on cross, tape."
        if len(tiling.kept) == 1:
            says = "Use: see behind the list of sheets." if drawing.says else ""
        placed = [moved(m, by) for m in (*marks, *squares)]
        yield page_sheet(
            page,
            number,
            f"{drawing.mark} {drawing.title}".strip()
            + (f", tile {spot[0] + 1}-{spot[1] + 1}" if where else ""),
            [
                *furniture(page, number, head, under, says, 24.0 if where else 0.0),
                *_key(page, tiling, spot),
                *placed,
            ],
            (drawing.mark,) if drawing.mark else (),
            f"{drawing.title} at full size, {where or 'whole'}",
        )


def _joins(
    tiled: Tiled, spot: tuple[int, int], seams: Sequence[Seam], far: tuple[Vec2, Vec2] | None
) -> Iterator[Mark]:
    """Seams, crosses and the names of the neighbours."""
    half = tiled.tiling.overlap / 2
    arm = min(half - 0.5, 4.0)
    for seam in seams:
        if spot not in (seam.under, seam.over):
            continue
        is_over = spot == seam.over
        yield Stroke(polyline(*seam.ends), "narrow" if is_over else "hidden")
        for p in seam.crosses:
            yield cross(p, arm)
            yield Stroke((Arc(p, min(_RING, arm / 2), 0.0, 2 * math.pi),), "narrow", True)
        other = seam.under if is_over else seam.over
        number = tiled.numbers[other]
        text = f"CUT here, lay on {number}" if is_over else f"glue {number} here"
        yield _along_seam(text, seam, half, is_over)
        for name, at in zip(_NAMES, far or (), strict=False):
            if at in seam.crosses:
                off = 6.0 if is_over else -6.0
                yield Lettering(
                    name, (at[0] + off, at[1] + (6.0 if off < 0 else -8.0)), 3.5, "middle", weight="bold"
                )


def _along_seam(text: str, seam: Seam, half: float, is_over: bool) -> Lettering:
    """In the strip that is cut off, or that is glued on."""
    (x0, y0), (x1, y1) = seam.ends
    off = half / 2
    if x0 == x1:
        x = x0 + (-off if is_over else off)
        return Lettering(text, (x + _SMALL / 2, y0 + (y1 - y0) * 0.3), _SMALL, "middle", 90.0)
    y = y0 + (off if is_over else -off)
    return Lettering(text, (x0 + (x1 - x0) * 0.3, y - _SMALL / 2), _SMALL, "middle")


def _key(page: Page, tiling: Tiling, spot: tuple[int, int]) -> Iterator[Mark]:
    """A small map at the head: which of the tiles this is."""
    if len(tiling.kept) < 2:
        return
    x1, y1 = page.inner[2] - 14.0, page.inner[3] - 0.5
    cell = min(22.0 / tiling.columns, 5.5 / tiling.rows, 4.0)
    left = x1 - 2 - cell * tiling.columns
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            x, y = left + cell * column, y1 - cell * (row + 1)
            box = (x, y, x + cell, y + cell)
            yield Stroke(rectangle(box), "narrow", True)
            if (row, column) == spot:
                yield Stroke(rectangle((x + 0.4, y + 0.4, x + cell - 0.4, y + cell - 0.4)), "outline", True)
            elif (row, column) not in tiling.kept:
                yield Stroke(polyline((x, y), (x + cell, y + cell)), "narrow")


# --- squares where nothing is drawn -----------------------------------------------------------------------------


def _squares(strokes: Sequence[Stroke], marks: Sequence[Mark], field: Box2) -> list[Mark]:
    """Both squares, each in the place of the field where least is drawn."""
    spots = [p for s in strokes for c in s.curves for p in _points_of(c)]
    for m in marks:
        if isinstance(m, Lettering):
            x0, y0, x1, y1 = extent(m)
            spots += [(x0 + (x1 - x0) * i / 8, y) for i in range(9) for y in (y0, (y0 + y1) / 2, y1)]
    taken = _Taken(field, spots)
    found: list[Mark] = []
    for side, name in SQUARES:
        corner = taken.free_corner(side)
        found += square(corner, side, name)
        taken.add(
            [(corner[0] + side * i / 20, corner[1] + side * j / 20) for i in range(21) for j in range(21)]
        )
    return found


def _points_of(curve: Curve) -> list[Vec2]:
    n = max(2, math.ceil(length_at_most(curve) / _GRID))
    return [curve.at(i / n) for i in range(n + 1)]


class _Taken:
    """How many points of lines lie in each cell of a grid over a field."""

    def __init__(self, field: Box2, spots: Sequence[Vec2]) -> None:
        self._corner = (field[0], field[1])
        nx, ny = (math.ceil((field[k + 2] - field[k]) / _GRID) for k in (0, 1))
        self._counts = np.zeros((nx, ny), dtype=np.int64)
        self._size = (field[2] - field[0], field[3] - field[1])
        self.add(spots)

    def add(self, spots: Sequence[Vec2]) -> None:
        for x, y in spots:
            i, j = math.floor((x - self._corner[0]) / _GRID), math.floor((y - self._corner[1]) / _GRID)
            if 0 <= i < self._counts.shape[0] and 0 <= j < self._counts.shape[1]:
                self._counts[i, j] += 1

    def free_corner(self, side: float) -> Vec2:
        """The lower left corner of the square with least in it, of those the lowest, leftmost."""
        cells = math.ceil(side / _GRID) + 2
        sums = np.zeros((self._counts.shape[0] + 1, self._counts.shape[1] + 1), dtype=np.int64)
        sums[1:, 1:] = self._counts.cumsum(axis=0).cumsum(axis=1)
        inside = sums[cells:, cells:] - sums[:-cells, cells:] - sums[cells:, :-cells] + sums[:-cells, :-cells]
        last = [max(0, math.floor((self._size[k] - side - 2 * _GRID) / _GRID)) + 1 for k in (0, 1)]
        inside = inside[: last[0], : last[1]]
        j, i = divmod(int(np.argmin(inside.T)), inside.shape[0])
        return (self._corner[0] + (i + 1) * _GRID, self._corner[1] + (j + 1) * _GRID)


# --- the map ------------------------------------------------------------------------------------------------------


def map_block(tiled: Tiled, width: float, most: float, style: UnitStyle) -> Block:
    """The whole drawing small, its tiles with the numbers of their sheets, tiles left out crossed; of one that stands
    whole on its sheet only how it is used."""
    tiling = tiled.tiling
    title = paragraph(f"{tiled.drawing.mark}  {tiled.drawing.title}".strip(), width, VIEW_TITLE)
    if len(tiling.kept) == 1:
        return stacked("use", [title, *(paragraph(t, width) for t in tiled.drawing.says)], 2.0)
    fields = [tiling.field((r, c)) for r in range(tiling.rows) for c in range(tiling.columns)]
    x0, y0 = min(f[0] for f in fields), min(f[1] for f in fields)
    x1, y1 = max(f[2] for f in fields), max(f[3] for f in fields)
    scale = min(width / (x1 - x0), most / (y1 - y0), 0.5)

    def small(p: Vec2) -> Vec2:
        return ((p[0] - x0) * scale, (p[1] - y1) * scale)

    marks: list[Mark] = []
    half = tiling.overlap / 2
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            marks += _cell(tiled, (row, column), small, half)
    for curve in tiled.drawing.lines:
        laid = turned_curve(curve, tiling.turn)
        n = max(1, math.ceil(length_at_most(laid) / 10)) if not isinstance(laid, Line) else 1
        marks.append(Stroke(polyline(*(small(laid.at(i / n)) for i in range(n + 1))), "outline"))
    far = far_crosses(seams_of(tiling))
    told = []
    if far is not None:
        for name, at in zip(_NAMES, far, strict=True):
            marks += [cross(small(at), 1.5), Lettering(name, (small(at)[0] + 1, small(at)[1] + 1), _SMALL)]
        told.append(
            f"Taped together, crosses P and Q are {length_text_with_unit(math.dist(*far), style)} apart; measure it."
        )
    picture = Block("map", tuple(marks), (x1 - x0) * scale, (y1 - y0) * scale)
    words = [paragraph(t, width) for t in (*tiled.drawing.says, *told)]
    return stacked("map", [title, picture, *words], 2.0)


def _cell(tiled: Tiled, tile: tuple[int, int], small: Callable[[Vec2], Vec2], half: float) -> Iterator[Mark]:
    """A tile on the map, from seam to seam."""
    tiling, (row, column) = tiled.tiling, tile
    x0, y0, x1, y1 = tiling.field(tile)
    x0 += half if column else 0.0
    x1 -= half if column < tiling.columns - 1 else 0.0
    y0 += half if row < tiling.rows - 1 else 0.0
    y1 -= half if row else 0.0
    (a, b), (c, d) = small((x0, y0)), small((x1, y1))
    yield Stroke(rectangle((a, b, c, d)), "narrow", True)
    number = tiled.numbers.get(tile)
    if number is None:
        yield Stroke((Line((a, b), (c, d)), Line((a, d), (c, b))), "narrow")
        return
    yield Lettering(number, ((a + c) / 2, (b + d) / 2 - _SMALL / 2), _SMALL, "middle")
    width = text_width(number, _SMALL)
    yield Link(((a + c - width) / 2, (b + d) / 2 - 2, (a + c + width) / 2, (b + d) / 2 + 2), number)
