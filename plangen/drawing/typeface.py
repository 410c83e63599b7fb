"""The one typeface of every sheet, measured from its own font file.

The package font-source-sans-pro carries the TrueType files. Advances and glyph boxes are read straight from
the tables ``head hhea maxp hmtx cmap loca glyf`` (OpenType specification), so that what is measured here is
what an exporter embeds. Measures are in fractions of the em.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, TypeAlias

from font_source_sans_pro import font_files_ttf

Weight: TypeAlias = Literal["regular", "bold"]

_KEYS = {"regular": "SourceSansPro", "bold": "SourceSansProBold"}


@dataclass(frozen=True)
class Glyph:
    """A glyph's advance and the box of its ink (None: no ink, a space), in fractions of the em."""

    advance: float
    box: tuple[float, float, float, float] | None


def font_path(weight: Weight) -> Path:
    """The TrueType file of a weight."""
    return Path(font_files_ttf[_KEYS[weight]])


class Typeface:
    """Reads glyphs of one font file on demand."""

    def __init__(self, path: Path) -> None:
        self._data = path.read_bytes()
        (count,) = struct.unpack_from(">H", self._data, 4)
        self._tables: dict[str, int] = {}
        for i in range(count):
            tag, _, offset, _ = struct.unpack_from(">4sIII", self._data, 12 + 16 * i)
            self._tables[tag.decode("ascii")] = offset
        head = self._tables["head"]
        (self._em,) = struct.unpack_from(">H", self._data, head + 18)
        (self._long_loca,) = struct.unpack_from(">h", self._data, head + 50)
        (self._metrics,) = struct.unpack_from(">H", self._data, self._tables["hhea"] + 34)
        self._glyph_ids = self._read_cmap()
        self._glyphs: dict[int, Glyph] = {}

    def _read_cmap(self) -> dict[int, int]:
        """Character to glyph number, from the format 4 subtable (the basic multilingual plane)."""
        start = self._tables["cmap"]
        (count,) = struct.unpack_from(">H", self._data, start + 2)
        for i in range(count):
            platform, _, offset = struct.unpack_from(">HHI", self._data, start + 4 + 8 * i)
            (form,) = struct.unpack_from(">H", self._data, start + offset)
            if platform in (0, 3) and form == 4:
                return self._read_segments(start + offset)
        raise ValueError("font file without a format 4 character map")

    def _read_segments(self, at: int) -> dict[int, int]:
        (doubled,) = struct.unpack_from(">H", self._data, at + 6)
        n = doubled // 2
        ends = struct.unpack_from(f">{n}H", self._data, at + 14)
        starts = struct.unpack_from(f">{n}H", self._data, at + 16 + doubled)
        deltas = struct.unpack_from(f">{n}H", self._data, at + 16 + 2 * doubled)
        ranges_at = at + 16 + 3 * doubled
        ranges = struct.unpack_from(f">{n}H", self._data, ranges_at)
        found: dict[int, int] = {}
        for i, (first, last, delta, offset) in enumerate(zip(starts, ends, deltas, ranges, strict=True)):
            for code in range(first, min(last, 0xFFFE) + 1):
                glyph = code
                if offset:
                    where = ranges_at + 2 * i + offset + 2 * (code - first)
                    (glyph,) = struct.unpack_from(">H", self._data, where)
                    if glyph == 0:
                        continue
                found[code] = (glyph + delta) & 0xFFFF
        return found

    def has(self, character: str) -> bool:
        return ord(character) in self._glyph_ids

    def glyph(self, character: str) -> Glyph:
        """Measures of a character; of the missing-glyph box where the font has none."""
        number = self._glyph_ids.get(ord(character), 0)
        if number not in self._glyphs:
            self._glyphs[number] = Glyph(self._advance(number), self._ink(number))
        return self._glyphs[number]

    def _advance(self, number: int) -> float:
        row = min(number, self._metrics - 1)
        (advance,) = struct.unpack_from(">H", self._data, self._tables["hmtx"] + 4 * row)
        return float(advance) / self._em

    def _ink(self, number: int) -> tuple[float, float, float, float] | None:
        loca, glyf = self._tables["loca"], self._tables["glyf"]
        if self._long_loca:
            here, after = struct.unpack_from(">II", self._data, loca + 4 * number)
        else:
            here, after = (2 * v for v in struct.unpack_from(">HH", self._data, loca + 2 * number))
        if here == after:
            return None
        x0, y0, x1, y1 = struct.unpack_from(">hhhh", self._data, glyf + here + 2)
        return (x0 / self._em, y0 / self._em, x1 / self._em, y1 / self._em)

    @property
    def capital(self) -> float:
        """Height of the letter H, in fractions of the em."""
        return self._top("H")

    @property
    def figure(self) -> float:
        """Height of the lowest of the ten figures, in fractions of the em."""
        return min(self._top(c) for c in "0123456789")

    def _top(self, character: str) -> float:
        box = self.glyph(character).box
        if box is None:
            raise ValueError(f"the font draws nothing for {character!r}")
        return box[3]


@cache
def typeface(weight: Weight) -> Typeface:
    return Typeface(font_path(weight))
