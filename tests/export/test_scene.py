"""The assembled model as glTF, re-read by an independent library and by the specification's own rules."""

import io
import json
import math
import struct
from typing import Any

import numpy as np
import pytest
import trimesh

from plangen.export.scene import flat_mesh, glb_bytes
from plangen.findings import Place
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Cylinder, Form, Plane, Surface
from plangen.geometry.vectors import Vec, cross, unit
from plangen.joinery.model import Hand, Instance, Member, Model, Role
from plangen.tables.stock import resolve_stock

SIZE: Vec = (600.0, 90.0, 40.0)


def member(
    mark: str,
    cutters: tuple[tuple[Form, ...], ...],
    frames: tuple[tuple[str, Hand | None, Frame], ...],
    stock: str = "2x4 larch",
    role: Role = "work",
) -> Member:
    box = Box((0.0, 0.0, 0.0), SIZE)
    solid = build_solid(box, cutters)
    return Member(
        mark=mark,
        name="rail",
        role=role,
        stock=resolve_stock(stock, "in"),
        blank=box,
        finished=SIZE,
        surfaces=tuple(Surface(name, plane) for name, plane in box.planes().items()),
        features=(),
        solid=solid,
        mass=None,
        instances=tuple(Instance(name, hand, frame) for name, hand, frame in frames),
        drawn=frames[0][1],
        place=Place(),
    )


def half_lap(from_face: bool) -> tuple[Form, ...]:
    """Half the thickness away over the middle 90 mm, from the face or from the back."""
    floor = Plane((0.0, 0.0, 1.0), 20.0) if from_face else Plane((0.0, 0.0, -1.0), -20.0)
    return (Plane((1.0, 0.0, 0.0), 255.0), Plane((-1.0, 0.0, 0.0), -345.0), floor)


def askew() -> Frame:
    l = unit((0.8, 0.5, 0.3))  # noqa: E741
    w = unit(cross((0.1, 0.2, 1.0), l))
    return Frame((100.0, -250.0, 700.0), l, w, cross(l, w))


def cross_lap() -> Model:
    """Two rails halved over each other in the middle, flush."""
    across = Frame((345.0, -255.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return Model(
        (
            member("A", (half_lap(True),), (("rail", None, WORLD),)),
            member("B", (half_lap(False),), (("cross rail", None, across),), "4/4 oak"),
        ),
        (),
        (),
        (),
    )


def handed() -> Model:
    """A mitred, bored rail and its other hand, mirrored in the plane X = 0, and one more standing askew."""
    slope = unit((1.0, 0.35, 0.2))
    mitre = Plane(slope, slope[0] * 520)
    bore = (Cylinder((150.0, 30.0, 0.0), (0.0, 0.0, 1.0), 12.0, "hole"),)
    mirrored = Frame((-50.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    right = Frame((50.0, 0.0, 0.0), *WORLD.axes)
    frames = (
        ("right rail", "right", right),
        ("left rail", "left", mirrored),
        ("askew rail", "right", askew()),
    )
    return Model((member("A", ((mitre,), bore), frames),), (), (), ())


def parts_of(data: bytes) -> tuple[dict[str, Any], bytes]:
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    chunks, at = {}, 12
    while at < len(data):
        size, kind = struct.unpack_from("<II", data, at)
        assert size % 4 == 0
        chunks[kind] = data[at + 8 : at + 8 + size]
        at += 8 + size
    return json.loads(chunks[0x4E4F534A]), chunks.get(0x004E4942, b"")


def bodies(model: Model) -> dict[str, trimesh.Trimesh]:
    """Each node's mesh in the glTF world, vertices joined by position."""
    scene = trimesh.load(io.BytesIO(glb_bytes(model)), file_type="glb", process=False)
    placed = {}
    for name in scene.graph.nodes_geometry:
        transform, geometry = scene.graph[name]
        mesh = scene.geometry[geometry].copy()
        mesh.apply_transform(transform)
        mesh.merge_vertices(merge_tex=True, merge_norm=True)
        placed[name] = mesh
    return placed


@pytest.mark.parametrize("model", [cross_lap(), handed()], ids=["cross lap", "handed"])
def test_every_instance_is_a_node_that_closes_and_holds_the_solids_volume(model: Model) -> None:
    placed = bodies(model)
    assert set(placed) == {i.name for m in model.members for i in m.instances}
    for part in model.members:
        for instance in part.instances:
            mesh = placed[instance.name]
            assert mesh.is_watertight
            assert mesh.is_winding_consistent
            # The bore is a polygon of chords in the mesh, so its volume is a little less than the exact one.
            assert mesh.volume * 1e9 == pytest.approx(part.solid.volume, rel=2e-3)


@pytest.mark.parametrize("model", [cross_lap(), handed()], ids=["cross lap", "handed"])
def test_world_points_are_x_z_minus_y_in_metres(model: Model) -> None:
    placed = bodies(model)
    for part in model.members:
        for instance in part.instances:
            world = np.array([instance.frame.point(tuple(v)) for v in part.solid.vertices.tolist()])
            expected = np.stack([world[:, 0], world[:, 2], -world[:, 1]], axis=1) / 1000
            found = placed[instance.name].vertices
            gaps = np.linalg.norm(expected[:, None, :] - found[None, :, :], axis=2).min(axis=1)
            assert gaps.max() < 1e-6  # a thousandth of a millimetre


def test_rails_halved_over_each_other_touch_without_sharing_wood() -> None:
    placed = bodies(cross_lap())
    one, other = placed["rail"], placed["cross rail"]
    union = trimesh.boolean.union([one, other], engine="manifold")
    assert union.volume == pytest.approx(one.volume + other.volume, abs=1e-10)
    # The union is the plain cross: two rails less the square they share.
    assert union.volume * 1e9 == pytest.approx(2 * 600 * 90 * 40 - 90 * 90 * 40, rel=1e-6)
    assert (
        trimesh.boolean.intersection([one, other], engine="manifold").volume < 1e-10
    )  # float32: 1e-5 mm over the lap


def test_the_other_hand_is_a_mesh_of_its_own_and_every_transform_is_a_proper_rotation() -> None:
    document, _ = parts_of(glb_bytes(handed()))
    assert len(document["meshes"]) == 2
    by_name = {node["name"]: node for node in document["nodes"]}
    assert by_name["right rail"]["mesh"] == by_name["askew rail"]["mesh"] != by_name["left rail"]["mesh"]
    for node in document["nodes"]:
        matrix = np.array(node["matrix"]).reshape(4, 4).T
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0, abs=1e-9)
        assert matrix[:3, :3] @ matrix[:3, :3].T == pytest.approx(np.eye(3), abs=1e-9)
    placed = bodies(handed())
    right, left = placed["right rail"].vertices, placed["left rail"].vertices
    image = right * (-1, 1, 1)
    assert max(np.linalg.norm(left - v, axis=1).min() for v in image) < 1e-7


@pytest.mark.parametrize("model", [cross_lap(), handed()], ids=["cross lap", "handed"])
def test_the_file_keeps_the_rules_of_the_specification(model: Model) -> None:
    # glTF 2.0 (ISO/IEC 12113), sections 3.6 and 4.4, from memory.
    document, binary = parts_of(glb_bytes(model))
    assert document["asset"]["version"] == "2.0"
    assert 0 <= len(binary) - document["buffers"][0]["byteLength"] < 4
    assert len({node["name"] for node in document["nodes"]}) == len(document["nodes"])
    for mesh in document["meshes"]:
        (primitive,) = mesh["primitives"]
        arrays = {}
        for key, number in {**primitive["attributes"], "indices": primitive["indices"]}.items():
            accessor = document["accessors"][number]
            view = document["bufferViews"][accessor["bufferView"]]
            assert view["byteOffset"] % 4 == 0
            assert view["byteOffset"] + view["byteLength"] <= len(binary)
            kind, width = ("<u4", 1) if key == "indices" else ("<f4", 3)
            assert view["byteLength"] == accessor["count"] * width * 4
            arrays[key] = np.frombuffer(binary, kind, accessor["count"] * width, view["byteOffset"])
            if key == "POSITION":
                rows = arrays[key].reshape(-1, 3)
                assert rows.min(axis=0).tolist() == accessor["min"]
                assert rows.max(axis=0).tolist() == accessor["max"]
        assert arrays["indices"].max() == len(arrays["POSITION"]) // 3 - 1
        assert len(arrays["NORMAL"]) == len(arrays["POSITION"])
        assert np.linalg.norm(arrays["NORMAL"].reshape(-1, 3), axis=1) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("model", [cross_lap(), handed()], ids=["cross lap", "handed"])
def test_normals_are_flat_and_point_out_of_the_wood(model: Model) -> None:
    for part in model.members:
        positions, normals, triangles = flat_mesh(part.solid)
        a, b, c = (positions[triangles[:, i]] for i in range(3))
        outward = np.cross(b - a, c - a)
        outward /= np.linalg.norm(outward, axis=1)[:, None]
        for corner in range(3):
            assert (np.einsum("ij,ij->i", normals[triangles[:, corner]], outward) > 1 - 1e-9).all()
        # The mesh's own volume by the divergence theorem is positive: triangles face outward.
        assert math.fsum(np.einsum("ij,ij->i", a, np.cross(b, c)) / 6) > 0


def test_the_same_model_gives_the_same_bytes() -> None:
    assert glb_bytes(handed()) == glb_bytes(handed())


def test_jigs_are_left_out_and_bought_parts_are_in() -> None:
    model = Model(
        (
            member("J", (), (("wedge", None, WORLD),), role="jig"),
            member("H", (), (("hinge", None, WORLD),), "1/8 x 1 flat bar steel", role="bought"),
        ),
        (),
        (),
        (),
    )
    document, _ = parts_of(glb_bytes(model))
    assert [node["name"] for node in document["nodes"]] == ["hinge"]
    assert [material["name"] for material in document["materials"]] == ["bought"]


def test_a_model_without_members_is_still_a_valid_file() -> None:
    document, binary = parts_of(glb_bytes(Model((), (), (), ())))
    assert binary == b""
    assert [] not in document.values()
