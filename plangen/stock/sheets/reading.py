"""From the search's flat arrays to trees of cuts in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.stock.sheets.asked import Asked, Kind, Node
from plangen.stock.sheets.layout import Cut, CutSheet, Piece
from plangen.stock.sheets.trees import Job, Trees

_CUTS: tuple[Cut, Cut] = ("crosscut", "rip")


@dataclass(frozen=True)
class _Reader:
    """One state of the search, with what is needed to tell its sizes in millimetres."""

    asked: Asked
    job: Job
    t: Trees
    children: dict[int, list[int]]

    nodes: tuple[Node, ...]

    def piece(self, i: int, at: tuple[int, int], size: tuple[int, int]) -> Piece:
        """The piece at a corner, of a size with kerf, that a part or structure is."""
        if i < self.job.n:
            return self.bare(at, size, part=int(self.job.part_type[i]), turned=bool(self.t.dir[i]))
        way = int(self.t.dir[i])
        origin = int(self.t.origin[i])
        fixed = self.nodes[origin].spans if origin >= 0 else ()
        pieces = self.fixed(i, at, size, fixed) if fixed else self.cut(i, at, size)
        if not pieces:
            return self.bare(at, size)
        if len(pieces) == 1 and (pieces[0].length, pieces[0].width) == self.real(size):
            return pieces[0]
        return replace(self.bare(at, size), cut=_CUTS[way], pieces=tuple(pieces))

    def fixed(
        self, i: int, at: tuple[int, int], size: tuple[int, int], spans: tuple[tuple[int, int, int], ...]
    ) -> list[Piece]:
        """What a structure with a spoilt place is divided into."""
        way = int(self.t.dir[i])
        base = self.job.first[self.t.kind[self.t.sheet[i]]]
        nodes = {int(self.t.origin[c]) - base: c for c in self.children[i]} if i in self.children else {}
        pieces = []
        for a, b, node in spans:
            there = (a, at[1]) if way == 0 else (at[0], a)
            extent = (b - a, size[1]) if way == 0 else (size[0], b - a)
            if node < 0:
                pieces.append(replace(self.bare(there, extent), keep_out=True))
            else:
                pieces.append(self.piece(nodes[node], there, extent))
        return pieces

    def cut(self, i: int, at: tuple[int, int], size: tuple[int, int]) -> list[Piece]:
        """The children of a structure, one after another, and what is left; children cut alike are taken apart."""
        way = int(self.t.dir[i])
        pieces: list[Piece] = []
        here, end = at[way], at[way] + size[way]
        for c in sorted(self.children.get(i, ()), key=self.rank):
            extent = int((self.t.len[c], self.t.wid[c])[way])
            there = (here, at[1]) if way == 0 else (at[0], here)
            pieces.append(self.piece(c, there, (extent, size[1]) if way == 0 else (size[0], extent)))
            here += extent
        if pieces and end - here > self.asked.kerf_units:
            there = (here, at[1]) if way == 0 else (at[0], here)
            pieces.append(self.bare(there, (end - here, size[1]) if way == 0 else (size[0], end - here)))
        return pieces

    def rank(self, i: int) -> tuple[int, ...]:
        """Wide strips first; among equal ones by what they hold."""
        kind = int(self.job.part_type[i]) if i < self.job.n else -1
        return -int(self.t.len[i]) - int(self.t.wid[i]), kind, i

    def real(self, size: tuple[int, int]) -> tuple[float, float]:
        """Millimetres without the kerf."""
        x, y = (round((v - self.asked.kerf_units) * self.asked.unit, 6) for v in size)
        return x, y

    def bare(
        self, at: tuple[int, int], size: tuple[int, int], part: int | None = None, turned: bool = False
    ) -> Piece:
        """A piece that is not divided."""
        x, y = (round(v * self.asked.unit + self.asked.trim, 6) for v in at)
        return Piece(x, y, *self.real(size), part=part, turned=turned)


def read_back(asked: Asked, kinds: Sequence[Kind], job: Job, t: Trees) -> tuple[CutSheet, ...]:
    """The sheets of a state in the order in which they were opened, each with its tree; all parts must be placed."""
    children: dict[int, list[int]] = {}
    alive = [int(t.alive[k]) for k in range(int(t.count[0]))]
    for i in [*range(job.n), *alive]:
        children.setdefault(int(t.par[i]), []).append(i)
    nodes = tuple(n for kind in kinds for n in kind.nodes)
    reader = _Reader(asked, job, t, children, nodes)
    found = []
    for s in range(len(t.root)):
        if t.root[s] >= 0:
            kind = kinds[int(t.kind[s])]
            found.append(CutSheet(kind.stock, reader.piece(int(t.root[s]), (0, 0), kind.size)))
    return tuple(found)
