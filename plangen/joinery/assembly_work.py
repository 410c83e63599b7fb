"""One cut on an assembly being made: the members that it may meet, and what comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import DesignError, Finding, Place, fail
from plangen.geometry.cutting import corners_of
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.joinery.meeting import Cut, Placed
from plangen.joinery.model import AssemblyFeature, FeatureKind
from plangen.placing.body import BOUND_MM
from plangen.placing.scope import Scope


@dataclass(frozen=True)
class Made:
    cuts: tuple[Cut, ...]
    feature: AssemblyFeature
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Work:
    """One assembly's cut and the members that it may meet."""

    scope: Scope
    name: str
    spec: d.AssemblyCut
    placed: tuple[Placed, ...]
    loose: frozenset[str]
    """Names of the loose pieces among them, which a cut may go right through."""

    def fails(self, rule: str, text: str, *members: str, place: Place | None = None) -> DesignError:
        return fail(place or self.spec.place, rule, f'"{self.name}": {text}', *members)

    def cut(self, placed: Placed, kind: FeatureKind, cutters: Sequence[Sequence[Form]], note: str) -> Cut:
        local = tuple(_bounding([_local(f, placed) for f in cutter], placed) for cutter in cutters)
        said = str(self.spec.note) if self.spec.note is not None else note
        return Cut(
            placed.name, kind, local, self.spec.when, "worked", None, None, self.spec.place,
            note=said, assembly=self.name,
        )  # fmt: skip


def _bounding(cutter: Sequence[Form], placed: Placed) -> tuple[Form, ...]:
    """Without the walls that all of the blank lies beyond, as of the far side of an opening: they cut nothing here.

    What is left takes away the same, and nobody is told to set up for a wall that stands off the part.
    """
    corners = corners_of(placed.body.blank)

    def is_beyond(form: Form) -> bool:
        return isinstance(form, Plane) and all(form.distance(p) >= 0.0 for p in corners)

    kept = tuple(f for f in cutter if not is_beyond(f))
    return kept or tuple(cutter)


def _local(form: Form, placed: Placed) -> Form:
    local = form.local_to(placed.frame)
    return local.squared() if isinstance(local, Plane) else local


def world_planes(placed: Placed) -> list[Plane]:
    return [p.placed(placed.frame) for p in placed.body.planes()]


def flipped(forms: Sequence[Plane]) -> list[Plane]:
    return [f.flipped() for f in forms]


def volume_of(planes: Sequence[Plane]) -> float:
    region = convex_region(list(planes), BOUND_MM)
    return 0.0 if region is None else region.volume


def place_of(spec: d.PlaneSpec) -> Place:
    return spec.place
