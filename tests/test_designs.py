"""Every design, gentle and cruel, through the whole pipeline and against an exact kernel.

The kernel's solids are built from ``plan.json``'s own sentence (blank less cutters), never from our mesh, and
its hidden lines are its own (OCCT's HLRBRep_Algo through its Python bindings).
"""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import pytest
import ray_sampler
import trimesh
from brep_kernel import Comparison, compare_strokes, kernel_drawing, kernel_scene, kernel_solid
from scenes import looking
from worked_out import DESIGNS, facts_of

from plangen.export.scene import glb_bytes
from plangen.geometry.hidden import draw_view, prepare
from plangen.geometry.merge import merged
from plangen.geometry.surfaces import Form
from plangen.geometry.views import ABOVE, FRONT, RIGHT, Projection
from plangen.joinery.model import Member

VIEWS: dict[str, Projection] = {
    "front": FRONT,
    "right": RIGHT,
    "plan": ABOVE,
    "axonometric": looking((0.62, -0.71, 0.33)),
}
MOST_FAR = 1e-4
"""Share of a view's stroke length that may lie farther than 0.02 mm from the other's strokes."""
MOST_DISPUTED = 0.01
"""Where rays bear out our strokes: among members that fill one another the kernel shows some edges that lie on the
far side of a round tenon, and leaves out the short neck of a tenon before its socket."""


def cutters_of(member: Member) -> list[list[Form]]:
    found = []
    for feature in member.features:
        forms = {s.id: s.form for s in feature.surfaces}
        found += [[forms[i] for i in cutter] for cutter in feature.cutters]
    return found


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_every_view_is_drawn_as_an_exact_kernel_draws_it(path: Path) -> None:
    model = facts_of(path).model
    shapes = {m.mark: kernel_solid(m.blank, cutters_of(m)) for m in model.members}
    compound = kernel_scene([(shapes[m.mark], i.frame) for m in model.members for i in m.instances])
    scene = prepare([(m.solid, i.frame) for m in model.members for i in m.instances])
    for name, projection in VIEWS.items():
        ours = draw_view(scene, projection)
        result: Comparison = compare_strokes(merged(ours), kernel_drawing(compound, projection))
        assert result.worst <= MOST_DISPUTED, f"{path.stem}, {name}: {result}"
        if result.worst > MOST_FAR:
            solids = [(m.solid, i.frame) for m in model.members for i in m.instances]
            verdict = ray_sampler.judge_strokes(solids, projection, ours, 12)
            assert verdict.wrong == (), f"{path.stem}, {name}: {result}"
            assert verdict.right > verdict.undecided


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_the_assembled_model_is_watertight_true_in_volume_and_nowhere_overlaps(path: Path) -> None:
    model = facts_of(path).model
    loaded = trimesh.load(io.BytesIO(glb_bytes(model)), file_type="glb", process=True)
    meshes = {}
    for member in model.members:
        for instance in member.instances:
            transform, geometry = loaded.graph[instance.name]
            mesh = loaded.geometry[geometry].copy()
            mesh.merge_vertices(merge_norm=True, merge_tex=True)
            mesh.apply_transform(transform)
            assert mesh.is_watertight, instance.name
            # Float32 metres and facets of round surfaces; planar members are far nearer.
            assert mesh.volume * 1e9 == pytest.approx(member.solid.volume, rel=2e-3), instance.name
            meshes[instance.name] = mesh
    for a, b in combinations(sorted(meshes), 2):
        if not _boxes_meet(meshes[a], meshes[b]):
            continue
        shared = trimesh.boolean.intersection([meshes[a], meshes[b]], engine="manifold")
        # Surfaces in contact are rounded to float32 (about 1e-4 mm): a skin, no overlap.
        assert abs(shared.volume) * 1e9 < 0.01 * min(meshes[a].area, meshes[b].area) * 1e6, (a, b)


def _boxes_meet(a: trimesh.Trimesh, b: trimesh.Trimesh) -> bool:
    return bool((a.bounds[0] < b.bounds[1]).all() and (b.bounds[0] < a.bounds[1]).all())
