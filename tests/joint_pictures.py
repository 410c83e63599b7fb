"""Draws the picture of every kind of joint from its smallest design: ``python -m tests.joint_pictures``."""

from __future__ import annotations

from pathlib import Path

from plangen.drawing.joint_picture import joint_picture
from plangen.export.svg import svg_bytes
from plangen.facts import plan_facts

ROOT = Path(__file__).parents[1]
DESIGNS = ROOT / "tests" / "designs" / "joints"
PICTURES = ROOT / "designs" / "pictures" / "joints"


def picture_of(design: Path) -> bytes:
    """The picture of a smallest design. Raises ValueError where there is none."""
    facts, findings = plan_facts(design.read_bytes(), design.name)
    if facts is None:
        raise ValueError("\n".join(str(f) for f in findings))
    marks, size = joint_picture(facts.model)
    return svg_bytes(marks, *size, f"{facts.design.title}, drawn apart")


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for design in sorted(DESIGNS.glob("*.yaml")):
        (PICTURES / f"{design.stem}.svg").write_bytes(picture_of(design))
