"""Draws the README's pictures of sheets from the designs: ``python -m tests.sheet_pictures``."""

from __future__ import annotations

from pathlib import Path

import pypdfium2

from plangen.drawing.composition import compose_sheets
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.facts import plan_facts

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "designs" / "pictures"
SHEETS = {
    "trestle-leg": ("splayed-trestle", "B  Leg"),
    "trestle-elevations": ("splayed-trestle", "Elevations and plan"),
    "bench-exploded": ("potting-bench", "Exploded picture"),
    "trestle-marking-out": ("splayed-trestle", "Marking out (2"),
}
"""Picture, design, and how the title of its sheet begins; the first of them is taken."""
DOTS = 110
"""To an inch."""
GREYS = 16
MOST_BYTES = 150_000


def draw_pictures(folder: Path) -> None:
    """Writes every picture. Raises ValueError for a design that is wrong, StopIteration for a sheet that is none."""
    made: dict[str, tuple[list[str], pypdfium2.PdfDocument]] = {}
    for picture, (design, title) in SHEETS.items():
        if design not in made:
            made[design] = _drawn(ROOT / "designs" / f"{design}.yaml")
        titles, pages = made[design]
        page = next(i for i, own in enumerate(titles) if own.startswith(title))
        image = pages[page].render(scale=DOTS / 72, grayscale=True).to_pil()
        image.quantize(GREYS).save(folder / f"{picture}.png", optimize=True)


def _drawn(design: Path) -> tuple[list[str], pypdfium2.PdfDocument]:
    facts, findings = plan_facts(
        design.read_bytes(), design.name, lambda name: (design.parent / name).read_bytes()
    )
    if facts is None:
        raise ValueError("\n".join(map(str, findings)))
    sheets = compose_sheets(facts)
    titles = [s.title for s in sheets]
    return titles, pypdfium2.PdfDocument(pdf_bytes(sheets, DocumentInfo(design.stem, "", "", "")))


if __name__ == "__main__":
    draw_pictures(PICTURES)
