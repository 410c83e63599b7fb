"""A checker of sheet layouts that shares no code with the solver: plain arithmetic on the tree and the parts.

It raises ``AssertionError`` for the first thing that a saw could not do or that was not asked for.
"""

from __future__ import annotations

from collections import Counter

NEAR = 2e-6


def check_layout(layout, stock, parts, kerf, trim, turn, first_cut=None, stages=None):
    """Holds a layout against what was asked."""
    found = Counter()
    for sheet in layout.sheets:
        sold = stock[sheet.stock]
        root = sheet.root
        assert near(root.x, trim)
        assert near(root.y, trim)
        assert near(root.length, sold.length - 2 * trim)
        assert near(root.width, sold.width - 2 * trim)
        check_piece(root, kerf)
        leaves = list(leaves_of(root))
        placed = [p for p in leaves if p.part is not None]
        assert placed, "a sheet without parts"
        for p in placed:
            check_part(p, parts[p.part], sold, turn)
            found[p.part] += 1
            for o in sold.keep_outs:
                assert not overlap(p, (o.x, o.y, o.length, o.width), 0.0), "a part on a keep-out"
        for i, p in enumerate(placed):
            for q in placed[:i]:
                assert not overlap(p, (q.x, q.y, q.length, q.width), kerf), "less than a kerf between parts"
        if not sold.keep_outs:
            check_stages(root, first_cut, stages)
    assert found == Counter({k: p.quantity for k, p in enumerate(parts) if p.quantity}), (
        "parts missing or too many"
    )
    for k, used in Counter(s.stock for s in layout.sheets).items():
        assert stock[k].count is None or used <= stock[k].count, "more sheets than there are"
    cost = sum(
        stock[s.stock].length * stock[s.stock].width if stock[s.stock].price is None else stock[s.stock].price
        for s in layout.sheets
        if not stock[s.stock].shop
    )
    assert abs(cost - layout.cost) <= 1e-9 * max(1.0, cost)
    assert layout.bound <= cost * (1 + 1e-9)
    assert layout.proven == (cost <= layout.bound * (1 + 1e-9))


def near(a, b):
    return abs(a - b) <= NEAR


def leaves_of(piece):
    if not piece.pieces:
        return [piece]
    return [leaf for p in piece.pieces for leaf in leaves_of(p)]


def check_piece(piece, kerf):
    """The pieces that a piece is divided into fill it with a kerf between; each cut runs from edge to edge."""
    assert piece.length > 0
    assert piece.width > 0
    if not piece.pieces:
        assert piece.cut is None
        return
    assert piece.part is None
    assert piece.cut in ("rip", "crosscut")
    across = piece.cut == "rip"
    here, end = (piece.y, piece.y + piece.width) if across else (piece.x, piece.x + piece.length)
    for p in piece.pieces:
        if across:
            assert near(p.x, piece.x)
            assert near(p.length, piece.length)
            assert near(p.y, here)
        else:
            assert near(p.y, piece.y)
            assert near(p.width, piece.width)
            assert near(p.x, here)
        here += (p.width if across else p.length) + kerf
        check_piece(p, kerf)
    last = here - kerf
    assert last <= end + NEAR, "pieces longer than what they are cut from"
    assert last + kerf >= end - NEAR, "wood that belongs to no piece"


def check_part(placed, part, sold, turn):
    size = (part.width, part.length) if placed.turned else (part.length, part.width)
    assert near(placed.length, size[0])
    assert near(placed.width, size[1]), "a part of the wrong size"
    if part.grain != "any" and sold.grain != "none":
        runs_along = part.grain == "along"
        assert (sold.grain == "along") == (runs_along != placed.turned), "the grain runs the wrong way"
    else:
        assert turn or not placed.turned, "a part turned that must not turn"


def overlap(p, box, gap):
    x, y, length, width = box
    return (
        p.x + p.length + gap > x + NEAR
        and x + length + gap > p.x + NEAR
        and p.y + p.width + gap > y + NEAR
        and y + width + gap > p.y + NEAR
    )


def check_stages(root, first_cut, stages):
    """The first cuts as prescribed (unless a part needs the sheet's whole side), and no more turns than allowed."""
    if first_cut and root.cut and root.cut != first_cut:
        side = root.width if first_cut == "rip" else root.length
        assert any(
            near(p.width if first_cut == "rip" else p.length, side)
            for p in leaves_of(root)
            if p.part is not None
        )
    if stages:
        start = 0 if not first_cut or root.cut in (None, first_cut) else 1
        check_depth(root, stages - start)


def check_depth(piece, stages):
    """Directions left; one more only trims a piece to a single part."""
    if not piece.pieces:
        return
    if stages == 0:
        assert len([p for p in leaves_of(piece) if p.part is not None]) <= 1
        assert len(piece.pieces) <= 2
        assert not any(p.pieces for p in piece.pieces)
        return
    for p in piece.pieces:
        check_depth(p, stages - 1)
