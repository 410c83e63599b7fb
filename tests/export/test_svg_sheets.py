"""SVG of every sheet: the same page as the PDF's, seen by pdfium and by the tests' own reader."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from svg_pictures import SVG, drawn_picture
from worked_out import given, sheets_of

from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Group,
    Leader,
    Lettering,
    LinearDimension,
    Link,
    Mark,
    Sheet,
    Stroke,
)
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.export.svg_sheets import svg_sheets
from plangen.geometry.curves import Arc, Bezier, EllipseArc, Line

INFO = DocumentInfo("Potting bench", "Plan set", "Hollow Lane Community Garden", "plangen 0.1.0")
DOTS = 100
CELL = 10
"""Dots each way of the cells whose ink is compared: 2.5 mm."""


def drawing() -> tuple[Mark, ...]:
    """Every kind of mark, curve and line, upright, level and aslant."""
    lines = tuple(Stroke((Line((10, 60 + 3 * i), (60, 60 + 3 * i)),), use) for i, use in enumerate(LINES))
    hole = (*rectangle((66, 60, 76, 70)), *rectangle((69, 63, 73, 67)))
    curves = (
        Stroke((Arc((80, 85), 8, 0.3, 5.0),), "hidden"),
        Stroke((EllipseArc((95, 65), (9, 3), (-1, 3), 0, 4),), "outline", True),
        Stroke((Bezier(((85, 20), (95, 50), (115, 0), (118, 20))),), "cut outline"),
    )
    return (
        Group("lines & rules", (*lines, Group("inner", curves))),
        Fill(hole, 0.5),
        LinearDimension(((10, 20), (45, 20)), (25, 30), (1, 0), "3 15/16", 100.0123456),
        LinearDimension(((110, 60), (110, 90)), (100, 75), (0, 1), "(7/8)", 22.225),
        AngularDimension((55, 20), 10, 70, 20, "60°", 60.0),
        Leader(((80, 93), (88, 100), (92, 100)), "arrow", "Ø 3/8 THRU", kind="diameter", value=9.525),
        Lettering("HIGH & <LOW> 23 5/32 in", (10, 110), 3.5, weight="bold"),
        Lettering("turned 1 1/2", (70, 30), 5.0, "middle", 35.0),
        Lettering("", (70, 30), 5.0),
        Link((10, 100, 20, 105), "S-02"),
    )


def page(*marks: Mark, number: str = "S-01") -> Sheet:
    return Sheet(number, "A & B", "notes", 120.65, 120.65, "own", marks, alt='Two "parts" < three')


def ink(sheet: Sheet, others: tuple[Sheet, ...], folder: Path) -> tuple[np.ndarray, np.ndarray]:
    """Ink of every cell, 0 to 1, of the sheet's page in the PDF and of its SVG."""
    files = svg_sheets((sheet, *others))
    typefaces = {name: data for name, data in files.items() if name.endswith(".ttf")}
    mine = drawn_picture(files[f"{sheet.number}.svg"], typefaces, folder, DOTS)
    theirs = (
        pypdfium2.PdfDocument(pdf_bytes((sheet, *others), INFO))[0]
        .render(scale=DOTS / 72)
        .to_pil()
        .convert("L")
    )
    assert max(abs(a - b) for a, b in zip(mine.size, theirs.size, strict=True)) <= 1
    return _cells(theirs), _cells(mine)


def _cells(image: object) -> np.ndarray:
    dots = 1 - np.asarray(image, dtype=float) / 255
    rows, columns = (n // CELL * CELL for n in dots.shape)
    return dots[:rows, :columns].reshape(rows // CELL, CELL, columns // CELL, CELL).mean(axis=(1, 3))


def agree(a: np.ndarray, b: np.ndarray) -> None:
    """Ink of a cell and its neighbours, since a line may lie a dot beside the border of one."""
    rows, columns = (min(x, y) for x, y in zip(a.shape, b.shape, strict=True))
    a, b = (np.pad(x[:rows, :columns], 1) for x in (a, b))
    a, b = (sum(x[i : i + rows, j : j + columns] for i in range(3) for j in range(3)) / 9 for x in (a, b))
    off = np.abs(a - b)
    assert off.max() < 0.035, np.argwhere(off >= 0.035)
    assert abs(a.mean() - b.mean()) < 0.05 * a.mean()


def test_every_kind_of_mark_looks_as_it_does_in_the_pdf(tmp_path: Path) -> None:
    kinds = {type(m) for m in drawing()} | {Stroke}
    assert kinds == set(get_args(Mark))
    agree(*ink(page(*drawing()), (page(number="S-02"),), tmp_path))


@pytest.mark.parametrize("left_out", [0, 2, 4, 6, 7])
def test_the_comparison_sees_that_a_mark_is_left_out(tmp_path: Path, left_out: int) -> None:
    marks = drawing()
    others = (page(number="S-02"),)
    whole, _ = ink(page(*marks), others, tmp_path)
    _, less = ink(page(*marks[:left_out], *marks[left_out + 1 :]), others, tmp_path)
    with pytest.raises(AssertionError):
        agree(whole, less)


@given("splayed-trestle")
def test_sheets_of_a_design_look_as_they_do_in_the_pdf(path: Path, tmp_path: Path) -> None:
    for kind in ("elevations", "part"):
        sheet = next(s for s in sheets_of(path) if s.kind == kind)
        linked = {m.sheet for m in _all(sheet.marks) if isinstance(m, Link)}
        agree(*ink(sheet, tuple(page(number=n) for n in sorted(linked)), tmp_path))


@given("splayed-trestle")
def test_a_sheet_is_a_page_that_reads_itself_out(path: Path) -> None:
    sheets = sheets_of(path)
    files = svg_sheets(sheets)
    assert files == svg_sheets(sheets)
    for sheet in sheets:
        root = ElementTree.fromstring(files[f"{sheet.number}.svg"])
        size = [float(root.attrib[k].removesuffix("mm")) for k in ("width", "height")]
        assert size == pytest.approx([sheet.width, sheet.height], abs=5e-4)
        for role in ("labelledby", "describedby"):
            named = next(e for e in root if e.get("id") == root.attrib[f"aria-{role}"])
            assert named.text
        assert (root.findtext(f"{SVG}title") or "").startswith(sheet.number)
        for link in root.iter(f"{SVG}a"):
            assert link.attrib["href"] in files
        for source in re.findall(r'url\("([^"]+)"\)', root.findtext(f"{SVG}style") or ""):
            assert source in files


@given("splayed-trestle")
def test_groups_and_dimensions_keep_their_meaning(path: Path) -> None:
    """The value beside a dimension's figure is the model's, not its rounded text."""
    files = svg_sheets(sheets_of(path))
    for sheet in sheets_of(path):
        root = ElementTree.fromstring(files[f"{sheet.number}.svg"])
        marks = list(_all(sheet.marks))
        names = [g.attrib["aria-label"] for g in root.iter(f"{SVG}g") if g.get("class") == "group"]
        assert names == [m.name for m in marks if isinstance(m, Group)]
        for kind, unit in ((LinearDimension, "data-mm"), (AngularDimension, "data-degrees")):
            found = [float(g.attrib[unit]) for g in root.iter(f"{SVG}g") if f" {unit}" in _classes(g)]
            assert found == pytest.approx([m.value for m in marks if isinstance(m, kind)], abs=5e-7)


def _classes(group: ElementTree.Element) -> str:
    words = group.get("class", "")
    return {"dimension linear": " data-mm", "dimension angular": " data-degrees"}.get(words, "")


def _all(marks: tuple[Mark, ...]) -> list[Mark]:
    return [m for mark in marks for m in ((mark, *_all(mark.marks)) if isinstance(mark, Group) else (mark,))]


def test_a_fraction_reads_as_it_is_said() -> None:
    root = ElementTree.fromstring(svg_sheets((page(*drawing()), page(number="S-02")))["S-01.svg"])
    said = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    assert {"3 15/16", "(7/8)", "60°", "HIGH & <LOW> 23 5/32 in", "turned 1 1/2", "Ø 3/8 THRU"} <= set(said)
    upright = next(t for t in root.iter(f"{SVG}text") if "".join(t.itertext()) == "3 15/16")
    whole, top, slash, foot = upright
    assert slash.get("class") == "slash"
    assert float(top.attrib["y"]) < float(whole.attrib["y"]) < float(foot.attrib["y"])
    assert math.isclose(float(top.attrib["font-size"]), float(foot.attrib["font-size"]))


def test_a_link_to_no_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match="S-07"):
        svg_sheets((page(Link((0, 0, 1, 1), "S-07")),))
