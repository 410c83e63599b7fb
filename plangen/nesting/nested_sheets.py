"""All parts of one sheet stock laid on its sheets by their true outlines, each as it is cut.

What the stock lists lay out as rectangles for the saw is laid here for a cutter that follows outlines: parts may lie in
each other's hollows and in the openings of large ones. The layout of rectangles is one of those tried, so that outlines
are never worse than it where it keeps the spacing.

Rotation is by grain: with grain a part lies along it, either way round, without grain in any quarter turn. Face up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.geometry.curves import Curve, Line, Vec2, moved, quarter_turned
from plangen.geometry.cutter_fit import places_in_waste
from plangen.geometry.nesting import Flat, Ground, Laid, Nest, depths_in_openings, nest, nest_faults
from plangen.geometry.no_fit import covers, part_area, quarter_turns, with_lines
from plangen.joinery.model import Model
from plangen.machining.cut_contours import ReadyTemplate, make_ready
from plangen.machining.holding_parts import hold_down_contours
from plangen.machining.template import Contour, Template
from plangen.stock.breakdown import Breakdown
from plangen.stock.sheets.layout import SheetLayout, SheetPart, SheetStock
from plangen.tables.cut_files import CutFiles, Nesting, Operation
from plangen.tables.stock import Stock

_SAME = 1e-6
EFFORT = 1500
"""Places looked at for one stock: a second or less."""
_BEFORE_CUTTING: tuple[Operation, ...] = (
    "hold down", "keep out", "mark", "score", "face outline", "back outline", "tabs", "lead in", "pocket", "bore",
)  # fmt: skip
"""In the order of the file, after the sheet's own outline and before anything is cut through."""


@dataclass(frozen=True)
class NestedPart:
    """One part on its sheet: its file's contours turned about 0, 0 by quarters, then moved to ``at``."""

    path: str
    template: Template
    quarters: int
    at: Vec2


@dataclass(frozen=True)
class NestedSheet:
    """One sheet, its lower left corner at 0, 0, its length along x; contours in the order of cutting."""

    length: float
    width: float
    shop: bool
    parts: tuple[NestedPart, ...]
    contours: tuple[Contour, ...]


@dataclass(frozen=True)
class NestedStock:
    """All sheets of one stock. ``cost`` is in prices, or areas, as that of the rectangles; ``reach`` is how far along
    the last sheet its parts go, mm; ``bound`` the least number of whole sheets by area alone."""

    stock: Stock
    spacing: float
    margin: float
    sheets: tuple[NestedSheet, ...]
    cost: float
    reach: float
    rectangles: tuple[int, float, float]
    """Of the layout of rectangles: sheets, cost, reach."""
    bound: float
    grain: str


@dataclass(frozen=True)
class _Kind:
    """Equal parts to be laid, and what is written of them."""

    path: str
    ready: ReadyTemplate
    flat: Flat


def nested_stock(
    found: Breakdown, files: Sequence[tuple[str, Template, ReadyTemplate]], cut: CutFiles, model: Model
) -> NestedStock | None:
    """The parts of ``files`` (path, nominal, as written) that are of this stock; None where there are none, or they
    do not fit its sheets with the spacing. ``cut.nested`` says how far apart they lie."""
    layout = found.layout
    if not isinstance(layout, SheetLayout) or cut.nested is None:
        return None
    asked = {part.name: part for part in layout.parts}
    mine = [f for f in files if f[1].member.stock.name == found.stock.name and f[1].member.mark in asked]
    if not mine:
        return None
    spacing = spacing_of(cut, layout.kerf)
    kinds = [
        _kind(path, nominal, ready, (asked[nominal.member.mark], layout.stock[0]), cut, model)
        for path, nominal, ready in mine
    ]
    order = _sheets_in_order(layout)
    laid = [(_best(kinds, layout, order, spacing, margin, cut), margin) for margin in _margins(cut, spacing)]
    best, margin = laid[0]
    if len(laid) > 1 and (best is None or best.cost > layout.cost + _SAME):
        # the sheet's own edge is a part's rather than that a sheet more is bought
        best, margin = min(laid, key=lambda n: (n[0] is None, n[0].worth if n[0] else (), -n[1]))
    if best is None:
        return None
    last, flats = layout.sheets[-1], [kind.flat for kind in kinds]
    return NestedStock(
        found.stock,
        spacing,
        margin,
        tuple(_sheet(layout.stock[k], n, kinds, best, cut) for n, k in enumerate(order) if _is_used(best, n)),
        best.cost,
        best.reach,
        (len(layout.sheets), layout.cost, max(p.x + p.length for p in last.placed)),
        math.fsum(f.area.area * f.count for f in flats)
        / max(s.length * s.width for s in (layout.stock[k] for k in order)),
        layout.stock[0].grain,
    )


def spacing_of(cut: CutFiles, kerf: float) -> float:
    """Between parts: as said, else the cutter's width, else the saw's kerf."""
    asked = cut.nested or Nesting()
    return asked.spacing if asked.spacing is not None else cut.cutter or kerf


def _margins(cut: CutFiles, spacing: float) -> tuple[float, ...]:
    """From parts to the sheet's edge: as said, else as between parts, and where that costs a sheet none."""
    said = cut.nested.margin if cut.nested is not None else None
    return (spacing, 0.0) if said is None else (said,)


# --- what is laid -----------------------------------------------------------------------------------------


def _kind(
    path: str,
    nominal: Template,
    ready: ReadyTemplate,
    grains: tuple[SheetPart, SheetStock],
    cut: CutFiles,
    model: Model,
) -> _Kind:
    # screws stand in the waste of the whole sheet
    kept = tuple(c for c in ready.template.contours if c.operation not in ("hold down", "keep out"))
    ready = replace(ready, template=replace(ready.template, contours=kept))
    bare = ready
    if cut.tabs is not None and cut.tabs.left == "gaps":
        # the outline is written in open runs: the same without its gaps
        bare = make_ready(nominal, replace(cut, hold_down=None, tabs=None), model)
    by = (ready.shift[0] - bare.shift[0], ready.shift[1] - bare.shift[1])
    closed = [
        tuple(moved(c, by) for c in k.curves)
        for k in bare.template.contours
        if k.operation.startswith("through")
    ]
    area = part_area(closed[-1], closed[:-1])
    beyond = [k.curves for k in ready.template.contours if k.operation == "lead in"]
    area = with_lines(area, beyond)
    turns = quarter_turns(area, _turns(*grains))
    return _Kind(path, ready, Flat(area, nominal.quantity, turns))


def _turns(part: SheetPart, sheet: SheetStock) -> tuple[int, ...]:
    if part.grain == "any" or sheet.grain == "none":
        return (0, 1, 2, 3)
    return (0, 2) if part.grain == sheet.grain else (1, 3)


def _sheets_in_order(layout: SheetLayout) -> list[int]:
    """The stocks of the sheets of the layout, what lies in the shop first, and one more of the last that is sold."""
    order = sorted((s.stock for s in layout.sheets), key=lambda k: not layout.stock[k].shop)
    sold = [
        k for k, s in enumerate(layout.stock) if not s.shop and (s.count is None or order.count(k) < s.count)
    ]
    return [*order, *([k for k in order if k in sold] or sold)[-1:]]


def _ground(sheet: SheetStock, margin: float) -> Ground:
    price = 0.0 if sheet.shop else sheet.length * sheet.width if sheet.price is None else sheet.price
    spoilt = tuple((b.x, b.y, b.x + b.length, b.y + b.width) for b in sheet.keep_outs)
    return Ground(sheet.length, sheet.width, margin, price, spoilt)


def _best(
    kinds: Sequence[_Kind],
    layout: SheetLayout,
    order: Sequence[int],
    spacing: float,
    margin: float,
    cut: CutFiles,
) -> Nest | None:
    """The best sound layout found, that of the rectangles among those tried."""
    # what is written as the way of the cutter's middle lies half a cutter outside the part
    beside = cut.cutter if cut.compensated and cut.cutter else 0.0
    gap, edge = max(0.0, spacing - beside), max(0.0, margin - beside / 2)
    flats = [kind.flat for kind in kinds]
    grounds = [_ground(layout.stock[k], edge) for k in order]
    rectangles = _as_rectangles(layout, kinds, order)
    tried = [nest(flats, grounds, gap, EFFORT)]
    if rectangles and not nest_faults(flats, grounds, rectangles, gap):
        used = sorted({item.ground for item in rectangles})
        reach = max(
            item.x + covers(flats[item.part].area, item.turn)[2]
            for item in rectangles
            if item.ground == used[-1]
        )
        tried.append(Nest(tuple(rectangles), sum(grounds[k].price for k in used), reach))
    sound = [n for n in tried if n is not None and not nest_faults(flats, grounds, n.laid, gap)]
    return min(sound, key=lambda n: n.worth, default=None)


def _as_rectangles(layout: SheetLayout, kinds: Sequence[_Kind], order: Sequence[int]) -> list[Laid]:
    """The parts in the corners of the rectangles that the layout for the saw gives them; [] where they do not agree."""
    left = [kind.flat.count for kind in kinds]
    free = list(range(len(order)))
    found: list[Laid] = []
    for sheet in layout.sheets:
        ground = free.pop(next(i for i, n in enumerate(free) if order[n] == sheet.stock))
        for piece in sheet.placed:
            name = layout.parts[piece.part or 0].name
            turn = 1 if piece.turned else 0
            which = next(
                (i for i, k in enumerate(kinds) if left[i] and k.ready.template.member.mark == name), None
            )
            if which is None or turn not in kinds[which].flat.turns:
                return []
            left[which] -= 1
            x0, y0, _, _ = covers(kinds[which].flat.area, turn)
            found.append(Laid(which, turn, piece.x - x0, piece.y - y0, ground))
    return [] if any(left) else found


# --- what is written --------------------------------------------------------------------------------------


def _is_used(best: Nest, ground: int) -> bool:
    return any(item.ground == ground for item in best.laid)


def _sheet(stock: SheetStock, ground: int, kinds: Sequence[_Kind], best: Nest, cut: CutFiles) -> NestedSheet:
    laid = sorted((i for i in best.laid if i.ground == ground), key=lambda i: (i.x, i.y, i.part))
    parts = tuple(
        NestedPart(kinds[i.part].path, kinds[i.part].ready.template, i.turn, (i.x, i.y)) for i in laid
    )
    depths = depths_in_openings([kind.flat for kind in kinds], laid)
    contours = _in_order([tuple(_placed(p)) for p in parts], depths)
    if cut.hold_down is not None and cut.cutter is not None:
        held = cut.hold_down
        clear = held.keep_out + cut.cutter * (0.5 if cut.compensated else 1.0)
        outlines = [c.curves for part in parts for c in _placed(part) if c.operation == "through outside"]
        at = places_in_waste(outlines, (stock.length, stock.width), held.keep_out, clear, held.spacing)
        contours = [*hold_down_contours(at, held), *contours]
    spoilt = [_box("keep out", b.x, b.y, b.length, b.width) for b in stock.keep_outs]
    whole = _box("sheet", 0.0, 0.0, stock.length, stock.width)
    return NestedSheet(stock.length, stock.width, stock.shop, parts, (whole, *spoilt, *contours))


def _placed(part: NestedPart) -> Iterator[Contour]:
    for contour in part.template.contours:
        curves: tuple[Curve, ...] = tuple(
            moved(quarter_turned(c, part.quarters), part.at) for c in contour.curves
        )
        yield replace(contour, curves=curves, made_by=())


def _in_order(parts: Sequence[tuple[Contour, ...]], depths: Sequence[int]) -> list[Contour]:
    """Nothing cut through before the rest is done, no part cut free before those that lie in its openings."""
    found = [c for word in _BEFORE_CUTTING for part in parts for c in part if c.operation == word]
    for depth in sorted(set(depths), reverse=True):
        for word in ("through inside", "through outside"):
            level = (part for part, at in zip(parts, depths, strict=True) if at == depth)
            found += [c for part in level for c in part if c.operation == word]
    return found


def _box(operation: Operation, x: float, y: float, length: float, width: float) -> Contour:
    corners = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
    edges = zip(corners, [*corners[1:], corners[0]], strict=True)
    return Contour(operation, tuple(Line(a, b) for a, b in edges))
