"""The assembled model as glTF 2.0 binary: one node an instance, metres, Y up.

Written from the glTF 2.0 specification (ISO/IEC 12113:2022): a 12-byte header, a JSON chunk padded with
spaces, a binary chunk padded with zeros. glTF (x, y, z) is world (X, Z, -Y) / 1000. The other hand of a
member is a mesh of its own, mirrored in l, so that every node's transform is a proper rotation.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, neg
from plangen.joinery.model import Instance, Member, Model
from plangen.tables.stock import StockKind

_FLOAT, _UNSIGNED_INT = 5126, 5125
_ARRAY_BUFFER, _ELEMENT_ARRAY_BUFFER = 34962, 34963
_JSON_CHUNK, _BINARY_CHUNK = 0x4E4F534A, 0x004E4942
_METRES = 1e-3
_MIRROR_IN_L = np.array([-1.0, 1.0, 1.0])

_COLOURS: dict[StockKind, tuple[float, float, float]] = {
    "dimension": (0.62, 0.46, 0.28),
    "board": (0.60, 0.43, 0.25),
    "planed": (0.62, 0.46, 0.28),
    "quarter": (0.42, 0.28, 0.16),
    "sheet": (0.68, 0.57, 0.40),
    "round": (0.55, 0.41, 0.27),
    "bought": (0.36, 0.38, 0.40),
}
"""Linear red, green, blue."""


@dataclass
class _Buffer:
    """The binary chunk as it grows, with the views and accessors that point into it."""

    data: bytearray = field(default_factory=bytearray)
    views: list[dict[str, int]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)

    def add(self, rows: np.ndarray, target: int, **accessor: Any) -> int:
        """Appends ``rows`` (4-byte items) and returns the number of its accessor."""
        raw = rows.tobytes()
        self.views.append(
            {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target}
        )
        self.data += raw
        self.accessors.append({"bufferView": len(self.views) - 1, "count": len(rows), **accessor})
        return len(self.accessors) - 1

    def add_vectors(self, vectors: np.ndarray, **accessor: Any) -> int:
        """Appends (n, 3) little-endian float32."""
        return self.add(vectors, _ARRAY_BUFFER, componentType=_FLOAT, type="VEC3", **accessor)


def glb_bytes(model: Model) -> bytes:
    """The model as a ``.glb`` file. Members of role ``jig`` are no part of the piece and are left out.

    Positions are float32 metres in each member's own frame; meshes close when vertices are joined by
    position. Normals are flat. The same model gives the same bytes.
    """
    members = [member for member in model.members if member.role != "jig" and member.instances]
    kinds = sorted({member.stock.kind for member in members})
    buffer = _Buffer()
    meshes: list[dict[str, Any]] = []
    nodes: list[dict[str, Any]] = []
    for member in members:
        numbers: dict[int, int] = {}
        for instance in member.instances:
            hand = instance.frame.determinant
            if hand not in numbers:
                numbers[hand] = len(meshes)
                meshes.append(_mesh(member, hand, kinds.index(member.stock.kind), buffer))
            nodes.append({"mesh": numbers[hand], "name": instance.name, "matrix": _matrix(instance)})
    document = {
        "asset": {"generator": "plangen", "version": "2.0"},
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.data)}] if buffer.data else [],
        "materials": [_material(kind) for kind in kinds],
        "meshes": meshes,
        "nodes": nodes,
        "scene": 0,
        "scenes": [{"nodes": list(range(len(nodes)))} if nodes else {}],
    }
    # An empty array is not allowed anywhere in a glTF document.
    return _container({key: value for key, value in document.items() if value != []}, bytes(buffer.data))


def _material(kind: StockKind) -> dict[str, Any]:
    metallic = 0.6 if kind == "bought" else 0.0
    return {
        "name": kind,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*_COLOURS[kind], 1.0],
            "metallicFactor": metallic,
            "roughnessFactor": 0.8,
        },
    }


def _mesh(member: Member, hand: int, material: int, buffer: _Buffer) -> dict[str, Any]:
    positions, normals, indices = flat_mesh(member.solid)
    if hand < 0:
        positions, normals, indices = positions * _MIRROR_IN_L, normals * _MIRROR_IN_L, indices[:, ::-1]
    metres = (np.round(positions, 6) * _METRES + 0.0).astype("<f4")
    attributes = {
        "POSITION": buffer.add_vectors(
            metres, min=metres.min(axis=0).tolist(), max=metres.max(axis=0).tolist()
        ),
        "NORMAL": buffer.add_vectors((normals + 0.0).astype("<f4")),
    }
    corners = buffer.add(
        np.ascontiguousarray(indices).astype("<u4").reshape(-1),
        _ELEMENT_ARRAY_BUFFER,
        componentType=_UNSIGNED_INT,
        type="SCALAR",
    )
    name = f"{member.mark} {member.name}" + (", other hand" if hand < 0 else "")
    primitive = {"attributes": attributes, "indices": corners, "material": material}
    return {"name": name, "primitives": [primitive]}


def flat_mesh(solid: Solid) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Positions (n, 3) mm, unit normals (n, 3) and triangles (m, 3) of a solid shaded flat.

    A vertex is repeated once for each plane face it lies on, and once for each triangle of a curved face.
    """
    vertices, triangles, form = solid.vertices, solid.triangles, solid.triangle_form
    planes = [index for index, surface in enumerate(solid.forms) if isinstance(surface, Plane)]
    flat = np.isin(form, planes)
    group = np.where(flat, form, len(solid.forms) + np.arange(len(triangles)))
    key = triangles * (len(solid.forms) + len(triangles)) + group[:, None]
    _, first, corners = np.unique(key, return_index=True, return_inverse=True)
    triangle_of = first // 3
    normals = _triangle_normals(vertices, triangles)
    for index, surface in enumerate(solid.forms):
        if isinstance(surface, Plane):
            normals[form == index] = surface.normal
    return vertices[triangles.reshape(-1)[first]], normals[triangle_of], corners.reshape(-1, 3)


def _triangle_normals(vertices: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    across = np.cross(b - a, c - a)
    size = np.sqrt(across[:, 0] ** 2 + across[:, 1] ** 2 + across[:, 2] ** 2)
    # A triangle without area has no normal of its own; glTF asks for a unit vector all the same.
    none = size == 0
    across[none] = (0.0, 0.0, 1.0)
    return across / np.where(none, 1.0, size)[:, None]


def _matrix(instance: Instance) -> list[float]:
    """The node's matrix, column by column, for the mesh of the instance's own hand."""
    frame = instance.frame
    if frame.determinant < 0:
        frame = Frame(frame.origin, neg(frame.l), frame.w, frame.t)
    columns = [_y_up(axis) for axis in frame.axes]
    x, y, z = (coordinate * _METRES for coordinate in _y_up(frame.origin))
    rotation = [round(value, 12) + 0.0 for column in columns for value in (*column, 0.0)]
    return [*rotation, *(round(value, 9) + 0.0 for value in (x, y, z)), 1.0]


def _y_up(v: Vec) -> Vec:
    return (v[0], v[2], -v[1])


def _container(document: dict[str, Any], binary: bytes) -> bytes:
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    chunks = [_chunk(_JSON_CHUNK, text, b" ")]
    if binary:
        chunks.append(_chunk(_BINARY_CHUNK, binary, b"\0"))
    return struct.pack("<4sII", b"glTF", 2, 12 + sum(map(len, chunks))) + b"".join(chunks)


def _chunk(kind: int, data: bytes, filler: bytes) -> bytes:
    padded = data + filler * (-len(data) % 4)
    return struct.pack("<II", len(padded), kind) + padded
