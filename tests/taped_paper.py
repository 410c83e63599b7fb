"""Pages at full size as a maker handles them, in pictures: crosses found, sheets laid cross on cross, a line traced.

Knows nothing of plangen: pages come as grey arrays (0 black), ``DOTS`` to an inch, row 0 at the head. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pypdfium2

DOTS = 300
PER_MM = DOTS / 25.4
_RING, _ARM = 1.5, 4.0
"""Radius of the ring round a cross, half the length of its arms."""

Tile = tuple[int, int]
"""Row and column."""


def page_picture(data: bytes, page: int) -> np.ndarray:
    """A page in greys, as pdfium draws it: whole dots across the page, since it stretches a page that ends in part of
    one."""
    with pypdfium2.PdfDocument(data) as document:
        width = document[page].get_width()
        scale = (math.floor(width * DOTS / 72) - 1e-6) / width
        picture = document[page].render(scale=scale, grayscale=True).to_numpy()
        return np.array(picture).reshape(picture.shape[0], picture.shape[1])


def _darkness(picture: np.ndarray) -> np.ndarray:
    return 1.0 - picture.astype(np.float32) / 255.0


def _peak(profile: np.ndarray, around: float, within: float) -> float:
    """The middle of the darkest line of a profile, in dots."""
    low = max(0, round(around - within))
    window = profile[low : round(around + within) + 1]
    top = int(np.argmax(window))
    near = np.arange(max(0, top - 4), min(len(window), top + 5))
    weight = window[near] - np.median(window)
    weight = np.clip(weight, 0.0, None)
    return low + float((near * weight).sum() / weight.sum())


def frame_lines(dark: np.ndarray) -> tuple[float, float]:
    """The first and the last line down the page that is dark over most of it: the sides of its field."""
    profile = (dark > 0.5).mean(axis=0)
    found = np.nonzero(profile > 0.7)[0]
    return float(found[0]), float(found[-1])


def crosses_down(dark: np.ndarray, seam: float) -> np.ndarray:
    """Middles (x, y in dots) of the ringed crosses on a line down the page near ``seam``."""
    x = _peak((dark > 0.5).mean(axis=0), seam, 1.0 * PER_MM)
    angles = [math.radians(a) for a in range(15, 360, 15) if a % 90 not in (0, 15, 75)]
    spots = [(_RING * math.cos(a), _RING * math.sin(a)) for a in angles]
    spots += [(s * d, 0.0) for s in (-1, 1) for d in (2.2, 2.8, 3.4)]
    edge = math.ceil(3 * PER_MM)
    rows = np.arange(edge, dark.shape[0] - edge)
    total = np.zeros(len(rows))
    for dx, dy in spots:
        column = round(x + dx * PER_MM)
        total += np.maximum.reduce(
            [dark[rows + round(dy * PER_MM) + k, column + j] for k in (-1, 0, 1) for j in (-1, 0, 1)]
        )
    score = total / len(spots)
    found = []
    while (top := int(np.argmax(score))) >= 0 and score[top] > 0.85:
        y = rows[top]
        arms = [
            dark[y - 6 : y + 7, round(x + s * a * PER_MM) : round(x + s * b * PER_MM) : s].mean(axis=1)
            for s, a, b in ((-1, 2.2, 3.6), (1, 2.2, 3.6))
        ]
        found.append((x, y - 6 + _peak(np.mean(arms, axis=0), 6, 6)))
        score[max(0, top - round(_ARM * PER_MM)) : top + round(_ARM * PER_MM)] = 0.0
    return np.array(sorted(found, key=lambda p: p[1]))


@dataclass(frozen=True)
class Taped:
    """Sheets laid cross on cross. ``places``: the upper left corner of each sheet in dots, in the first one's."""

    pages: Mapping[Tile, np.ndarray]
    places: Mapping[Tile, tuple[float, float]]
    worst: float
    """Most that two crosses laid on each other stand apart, mm."""


def tape(pages: Mapping[Tile, np.ndarray], overlap: float) -> Taped:
    """Every sheet laid on its neighbour to the left or above by their crosses."""
    dark = {t: _darkness(p) for t, p in pages.items()}
    first = min(pages)
    places = {first: (0.0, 0.0)}
    waiting, worst = [first], 0.0
    while waiting:
        tile = waiting.pop(0)
        for way in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            other = (tile[0] + way[0], tile[1] + way[1])
            if other not in pages or other in places:
                continue
            under, over = (tile, other) if sum(way) > 0 else (other, tile)
            apart = _apart(dark[under], dark[over], overlap, upright=way[0] != 0)
            shift = apart.mean(axis=0)
            worst = max(worst, float(np.abs(apart - shift).max()) / PER_MM)
            sign = 1.0 if under == tile else -1.0
            places[other] = (places[tile][0] + sign * shift[0], places[tile][1] + sign * shift[1])
            waiting.append(other)
    return Taped(pages, places, worst)


def _apart(under: np.ndarray, over: np.ndarray, overlap: float, upright: bool) -> np.ndarray:
    """For each cross of a seam where it stands on the sheet below less where on the one above, in dots."""
    if upright:
        return _apart(under.T, over.T, overlap, upright=False)[:, ::-1]
    half = overlap / 2 * PER_MM
    low = crosses_down(under, frame_lines(under)[1] - half)
    high = crosses_down(over, frame_lines(over)[0] + half)
    assert len(low) == len(high) > 1, f"{len(low)} crosses meet {len(high)}"
    return low - high


def traced_offsets(
    taped: Taped, points: np.ndarray, normals: np.ndarray, heavy: float, reach: float = 1.2
) -> np.ndarray:
    """How far off each point the middle of a line of width ``heavy`` lies along its normal, mm; nan where it is not
    seen by itself. ``points`` are in dots of the taped sheets, ``normals`` unit, y down."""
    steps = np.arange(-reach, reach + 1e-9, 0.02)
    out = np.full(len(points), np.nan)
    for i, (p, n) in enumerate(zip(points, normals, strict=True)):
        for tile, place in taped.places.items():
            at = p - np.array(place) + steps[:, None] * n * PER_MM
            page = taped.pages[tile]
            if not (
                at.min() >= 1
                and (at[:, 0] < page.shape[1] - 2).all()
                and (at[:, 1] < page.shape[0] - 2).all()
            ):
                continue
            middle = _line_middle(_between(page, at), steps, heavy)
            if middle is not None and (np.isnan(out[i]) or abs(middle) < abs(out[i])):
                out[i] = middle
    return out


def _between(page: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Darkness between dots; the middle of dot 0 stands at 0.5."""
    x, y = at[:, 0] - 0.5, at[:, 1] - 0.5
    i, j = np.floor(x).astype(int), np.floor(y).astype(int)
    fx, fy = x - i, y - j
    four = [page[j + b, i + a].astype(float) for b in (0, 1) for a in (0, 1)]
    grey = (four[0] * (1 - fx) + four[1] * fx) * (1 - fy) + (four[2] * (1 - fx) + four[3] * fx) * fy
    return 1.0 - grey / 255.0


def _line_middle(dark: np.ndarray, steps: np.ndarray, heavy: float) -> float | None:
    """The middle of the only dark stretch about as wide as the line."""
    on = np.flatnonzero(np.diff(np.concatenate([[0], (dark > 0.5).astype(int), [0]])))
    found = []
    for a, b in zip(on[::2], on[1::2], strict=True):
        wide = (b - a) * 0.02
        if abs(wide - heavy) < 0.13 and a > 0 and b < len(steps):
            found.append((steps[a] + steps[b - 1]) / 2)
    return found[0] if len(found) == 1 else None


def fitted_errors(
    taped: Taped, points: np.ndarray, normals: np.ndarray, heavy: float
) -> tuple[np.ndarray, float]:
    """Distances of the traced line from the points once these are laid on it as they fit best, moved and turned, mm;
    and the share of points at which it was traced."""
    points, normals = points.copy(), normals.copy()
    off = traced_offsets(taped, points, normals, heavy)
    for _ in range(2):
        seen = ~np.isnan(off)
        middle = points[seen].mean(axis=0)
        arm = points[seen] - middle
        lever = (arm[:, 0] * normals[seen, 1] - arm[:, 1] * normals[seen, 0]) / PER_MM
        system = np.column_stack([normals[seen], lever])
        dx, dy, turn = np.linalg.lstsq(system, off[seen], rcond=None)[0]
        c, s = math.cos(turn), math.sin(turn)
        spin = np.array([[c, -s], [s, c]])
        points = middle + (points - middle) @ spin.T + np.array([dx, dy]) * PER_MM
        normals = normals @ spin.T
        off = traced_offsets(taped, points, normals, heavy)
    seen = ~np.isnan(off)
    return off[seen], float(seen.mean())


def ruler_ticks(picture: np.ndarray, upright: bool) -> tuple[np.ndarray, np.ndarray]:
    """Places in mm of the ticks in millimetres and of those in inches of the ruler nearest to the foot, or to the left
    edge, of a page."""
    dark = _darkness(picture)
    if upright:
        dark = dark[:, ::-1].T
    # the last long line is the ruler's, below the frame
    line = max(i for i, row in enumerate(dark > 0.5) if row.sum() > 80 * PER_MM)
    run = np.flatnonzero(dark[line] > 0.5)
    longest = max(np.split(run, np.flatnonzero(np.diff(run) > 3) + 1), key=len)
    low, high = longest[0] - 3, longest[-1] + 4
    above, below = (_ticks(dark[line + round(s * 0.7 * PER_MM), low:high]) for s in (-1, 1))
    return (below, above) if upright else (above, below)


def _ticks(row: np.ndarray) -> np.ndarray:
    on = np.flatnonzero(np.diff(np.concatenate([[0], (row > 0.4).astype(int), [0]])))
    middles = []
    for a, b in zip(on[::2], on[1::2], strict=True):
        near = np.arange(max(0, a - 2), min(len(row), b + 2))
        middles.append(float((near * row[near]).sum() / row[near].sum()))
    return np.array(middles) / PER_MM


def square_sides(picture: np.ndarray, inside: Sequence[float]) -> tuple[float, float]:
    """Width and height, mm, of the square round a point (x, y in mm from the upper left corner), by its lines."""
    dark = _darkness(picture)
    x, y = (round(v * PER_MM) for v in inside)
    row, column = dark[y], dark[:, x]
    across = _first_line(row[x:]) + _first_line(row[x::-1])
    down = _first_line(column[y:]) + _first_line(column[y::-1])
    return across / PER_MM, down / PER_MM


def _first_line(ray: np.ndarray) -> float:
    start = int(np.argmax(ray > 0.5))
    near = np.arange(start - 2, start + 5)
    weight = np.clip(ray[near], 0.0, None)
    return float((near * weight).sum() / weight.sum())
