"""Designs built in tests: from text to the model, its findings, and bodies for an independent kernel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from brep_kernel import kernel_placed, kernel_solid
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS_Shape

from plangen.checks.model import check_model
from plangen.design.design import Design
from plangen.design.reading import read_design
from plangen.design.sizes import evaluate_values
from plangen.findings import DesignError, Finding, in_order
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point
from plangen.joinery.meeting import Placed
from plangen.joinery.model import Feature, Instance, Member, Model
from plangen.joinery.modelling import build_model, place_all
from plangen.placing.body import Body
from plangen.placing.building import place_member
from plangen.placing.scope import Scope

FOLDER = Path(__file__).parent / "designs"
_FAR = 5000.0


@dataclass(frozen=True)
class Built:
    """A design worked out."""

    design: Design
    scope: Scope
    model: Model
    findings: tuple[Finding, ...]

    @property
    def placed(self) -> list[Placed]:
        return place_all(self.design, self.scope)

    def body(self, name: str) -> Body:
        return next(p.body for p in self.placed if p.body.name == name)

    def instance(self, name: str) -> tuple[Member, Instance]:
        return self.model.instance(name)

    def member(self, instance: str) -> Member:
        return self.model.instance(instance)[0]

    def feature(self, instance: str, kind: str) -> Feature:
        """The one feature of a kind that an instance has."""
        (found,) = [f for f in self.member(instance).features if f.kind == kind]
        return found

    def world_surfaces(self, instance: str, feature: Feature) -> list[Form]:
        frame = self.instance(instance)[1].frame
        return [s.form.placed(frame) for s in feature.surfaces]


def findings_of(text: str, file: str = "design.yaml") -> tuple[Finding, ...]:
    """Everything found in a design, in the order of the file, whether or not it can be built."""
    try:
        return build(text, file).findings
    except DesignError as problem:
        return in_order(problem.findings)


def build(text: str, file: str = "design.yaml") -> Built:
    """Raises DesignError where it cannot be built; findings of the finished model are in the result."""
    design, findings = read_design(text, file)
    if design is None:
        raise DesignError(findings)
    scope = Scope(design, evaluate_values(design), place_member)
    model = build_model(design, scope)
    found = (*findings, *model.findings, *check_model(design, scope, model))
    return Built(design, scope, model, in_order(found))


@lru_cache(maxsize=8)
def build_file(path: Path) -> Built:
    return build(path.read_text(encoding="utf-8"), path.name)


# --- the independent kernel ---------------------------------------------------------------------------------


def kernel_body(placed: Placed) -> TopoDS_Shape:
    """A body before any joint, in the world, by the exact kernel."""
    body = placed.body
    return kernel_placed(kernel_solid(body.box, [s.cutter for s in body.shapings]), placed.frame)


def kernel_bodies(built: Built) -> dict[str, TopoDS_Shape]:
    return {p.name: kernel_body(p) for p in built.placed}


def half_space(plane: Plane) -> TopoDS_Shape:
    """The inner side of a world plane, as a large block."""
    p, n = plane.point, plane.normal
    face = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(*p), gp_Dir(*n)), -_FAR, _FAR, -_FAR, _FAR).Face()
    return BRepPrimAPI_MakePrism(face, gp_Vec(-n[0] * _FAR, -n[1] * _FAR, -n[2] * _FAR)).Shape()


def common(a: TopoDS_Shape, b: TopoDS_Shape) -> TopoDS_Shape:
    return BRepAlgoAPI_Common(a, b).Shape()


def less(a: TopoDS_Shape, b: TopoDS_Shape) -> TopoDS_Shape:
    return BRepAlgoAPI_Cut(a, b).Shape()


def fused(a: TopoDS_Shape, b: TopoDS_Shape) -> TopoDS_Shape:
    return BRepAlgoAPI_Fuse(a, b).Shape()


def world_centroid(built: Built, instance: str) -> Point:
    member, placed = built.instance(instance)
    return placed.frame.point(member.solid.centroid)
