"""Solids: a member's blank less its cutters, as exact faces and edges over a mesh.

The mesh kernel decides topology only. Vertices are then moved onto the surfaces they belong to, edges are
read as lines and conics, and volume, area and centroid are integrated over exact boundaries.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from plangen.geometry.surfaces import Form
from plangen.geometry.vectors import Point, Vec


@dataclass(frozen=True)
class Straight:
    """An edge along a line."""

    start: Point
    end: Point


@dataclass(frozen=True)
class Conic:
    """An edge ``centre + major cos p + minor sin p``, p from ``first`` to ``last`` (radians).

    A full circle or ellipse has ``last = first + 2 pi`` and is one edge.
    """

    centre: Point
    major: Vec
    minor: Vec
    first: float
    last: float


@dataclass(frozen=True)
class Chain:
    """An edge known by points on it (where two curved surfaces meet, or a free curve)."""

    points: tuple[Point, ...]


EdgeCurve: TypeAlias = Straight | Conic | Chain


@dataclass(frozen=True)
class Edge:
    """Where two surfaces meet; walked along ``curve``, face ``left`` lies on the left seen from outside."""

    curve: EdgeCurve
    left: int
    """Index into ``Solid.faces``."""
    right: int
    convex: bool
    smooth: bool
    """The two faces are tangent along the edge (a round-over's start): drawn narrow or not at all."""


@dataclass(frozen=True)
class Face:
    """A connected piece of one surface; ``surface`` is an index into ``Solid.forms``."""

    surface: int
    triangles: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Solid:
    """A solid in its own frame. Arrays are read-only."""

    forms: tuple[Form, ...]
    """Distinct surfaces that carry area, coplanar ones merged."""
    vertices: np.ndarray
    """(n, 3) float64, each on the surfaces it belongs to."""
    triangles: np.ndarray
    """(m, 3) int, counter-clockwise seen from outside."""
    triangle_form: np.ndarray
    """(m,) index into ``forms``."""
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    volume: float
    area: float
    centroid: Point
