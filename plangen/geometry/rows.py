"""Many vectors, equations or intervals at once, one a row.

Products are written out term by term, so that results do not depend on a linear-algebra library.
"""

from __future__ import annotations

import numpy as np

Rows = np.ndarray


def dot_rows(a: Rows, b: Rows) -> Rows:
    """Scalar products over the last axis of two (..., 3) arrays."""
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]


def cross_rows(a: Rows, b: Rows) -> Rows:
    """Vector products over the last axis of two (..., 3) arrays."""
    return np.stack(
        (
            a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1],
            a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2],
            a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0],
        ),
        axis=-1,
    )


def unit_rows(a: Rows) -> Rows:
    """Rows at length one; a zero row stays zero."""
    lengths = np.sqrt(dot_rows(a, a))
    return a / np.where(lengths > 0.0, lengths, 1.0)[..., None]


def expand_ranges(starts: Rows, counts: Rows) -> tuple[Rows, Rows]:
    """For each row the indices start, start + 1, ... (count of them): (row of each, index of each)."""
    total = int(counts.sum())
    rows = np.repeat(np.arange(len(counts)), counts)
    firsts = np.repeat(np.cumsum(counts) - counts, counts)
    return rows, np.repeat(starts, counts) + np.arange(total) - firsts


def solve_trig(constant: Rows, cosine: Rows, sine: Rows) -> Rows:
    """Angles where ``constant + cosine cos p + sine sin p`` is zero, (..., 2); NaN where there are none."""
    size = np.hypot(cosine, sine)
    with np.errstate(divide="ignore", invalid="ignore"):
        half = np.arccos(-constant / size)
    middle = np.arctan2(sine, cosine)
    return np.stack((middle - half, middle + half), axis=-1)


def solve_double_trig(constant: Rows, cosine: Rows, sine: Rows, cosine_two: Rows, sine_two: Rows) -> Rows:
    """Angles where ``constant + cosine cos p + sine sin p + cosine_two cos 2p + sine_two sin 2p`` is zero.

    Returns (n, 4), NaN where there are fewer. With z = exp(ip) the equation is a quartic in z; its roots are
    the eigenvalues of the companion matrix, then improved by Newton's rule on the equation itself.
    """
    found = np.full((len(constant), 4), np.nan)
    top = np.hypot(cosine_two, sine_two)
    size = np.abs(constant) + np.abs(cosine) + np.abs(sine) + top
    plain = top <= 1e-9 * size
    found[plain, :2] = solve_trig(constant[plain], cosine[plain], sine[plain])
    rest = np.flatnonzero(~plain)
    if len(rest) == 0:
        return found
    lead = (cosine_two[rest] - 1j * sine_two[rest]) / 2
    next_ = (cosine[rest] - 1j * sine[rest]) / 2
    companion = np.zeros((len(rest), 4, 4), dtype=complex)
    companion[:, 1, 0] = companion[:, 2, 1] = companion[:, 3, 2] = 1.0
    companion[:, 3, 3] = -next_ / lead
    companion[:, 2, 3] = -constant[rest] / lead
    companion[:, 1, 3] = -np.conj(next_) / lead
    companion[:, 0, 3] = -np.conj(lead) / lead
    roots = np.linalg.eigvals(companion)
    angles = np.where(np.abs(np.abs(roots) - 1.0) < 1e-4, np.angle(roots), np.nan)
    a, b, c, d, e = (x[rest, None] for x in (constant, cosine, sine, cosine_two, sine_two))
    for _ in range(3):
        value = a + b * np.cos(angles) + c * np.sin(angles) + d * np.cos(2 * angles) + e * np.sin(2 * angles)
        slope = c * np.cos(angles) - b * np.sin(angles)
        slope = slope + 2 * e * np.cos(2 * angles) - 2 * d * np.sin(2 * angles)
        steep = np.abs(slope) > 1e-7 * size[rest, None]
        angles = angles - np.where(steep, value / np.where(steep, slope, 1.0), 0.0)
    found[rest] = angles
    return found


def cover(key: Rows, first: Rows, last: Rows, opening: Rows) -> tuple[Rows, Rows, Rows]:
    """Per key, what is covered by at least one interval and by no *opening*, as (key, first, last), sorted.

    ``opening`` is True for the intervals to leave out. Covered stretches are cut at every end of an interval;
    ``join_runs`` puts them together.
    """
    keys = np.concatenate((key, key))
    at = np.concatenate((first, last))
    order = np.lexsort((at, keys))
    keys, at = keys[order], at[order]
    step = np.concatenate((np.ones(len(key), dtype=np.int64), -np.ones(len(key), dtype=np.int64)))[order]
    open_ = np.concatenate((opening, opening))[order]
    solid = np.cumsum(np.where(open_, 0, step))
    holes = np.cumsum(np.where(open_, step, 0))
    inside = ((solid > 0) & (holes == 0))[:-1] & (keys[1:] == keys[:-1]) & (at[1:] > at[:-1])
    index = np.flatnonzero(inside)
    return keys[index], at[index], at[index + 1]


def join_runs(key: Rows, first: Rows, last: Rows, gaps: Rows) -> tuple[Rows, Rows, Rows]:
    """Sorted intervals of each key joined where they are no farther apart than ``gaps[key]``."""
    if len(key) == 0:
        return key, first, last
    apart = (key[1:] != key[:-1]) | (first[1:] - last[:-1] > gaps[key[1:]])
    heads = np.flatnonzero(np.concatenate(([True], apart)))
    tails = np.concatenate((heads[1:] - 1, [len(key) - 1]))
    return key[heads], first[heads], last[tails]
