"""Draws the picture of every kind of joint from its smallest design: ``python -m tests.joint_pictures``."""

from __future__ import annotations

from pathlib import Path

from plangen.design.reading import read_design
from plangen.design.sizes import evaluate_values
from plangen.drawing.joint_picture import joint_picture
from plangen.export.svg import svg_bytes
from plangen.joinery.model import Model
from plangen.joinery.modelling import build_model
from plangen.placing.building import place_member
from plangen.placing.scope import Scope

ROOT = Path(__file__).parents[1]
DESIGNS = ROOT / "tests" / "designs" / "joints"
PICTURES = ROOT / "designs" / "pictures" / "joints"


def picture_of(title: str, model: Model) -> bytes:
    """The picture of a smallest design's joint; without the jigs, which are planned after a model is built."""
    marks, size = joint_picture(model)
    return svg_bytes(marks, *size, f"{title}, drawn apart")


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for design in sorted(DESIGNS.glob("*.yaml")):
        read, findings = read_design(design.read_text(encoding="utf-8"), design.name)
        if read is None:
            raise ValueError("\n".join(str(f) for f in findings))
        model = build_model(read, Scope(read, evaluate_values(read), place_member))
        (PICTURES / f"{design.stem}.svg").write_bytes(picture_of(read.title, model))
