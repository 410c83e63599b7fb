"""Surfaces in which cutters lie back to back.

Two cutters that only meet, one ending where the other begins, would leave a skin of no thickness between them. So
their meshes are made to lap: each is grown across such a surface by less than the mesh is moved onto its surfaces
afterwards. Which pieces are left depends on it, no place and no size.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import manifold3d
import numpy as np

from plangen.geometry.patches import alike_planes, patches_of, same_surface
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane

Round: TypeAlias = Cylinder | Cone
LAP = 1e-7
"""Millimetres by which each of the two is grown."""


@dataclass(frozen=True)
class Seams:
    """Surfaces of cutters, as far as another cutter lies at their back; each with the one it is grown to."""

    planes: Mapping[Plane, Plane]
    rounds: Mapping[Round, Round]

    @classmethod
    def of(cls, cutters: Sequence[Sequence[Form]]) -> Seams:
        forms = dict.fromkeys(p for cutter in cutters for form in cutter for p in patches_of(form))
        planes = [f for f in forms if isinstance(f, Plane)]
        rounds = [f for f in forms if isinstance(f, Cylinder | Cone)]
        return cls(_lapped_planes(planes), _lapped_rounds(rounds))

    def plane(self, plane: Plane) -> Plane:
        return self.planes.get(plane, plane)

    def round(self, form: Round) -> Round:
        return self.rounds.get(form, form)

    def trimmed(self, mesh: manifold3d.Manifold, planes: Sequence[Plane]) -> manifold3d.Manifold:
        """What a mesh has on the outer side of all of some planes, and the lap where they are seams."""
        for plane in map(self.plane, planes):
            mesh = mesh.trim_by_plane(plane.normal, plane.offset)
        return mesh


def _lapped_planes(planes: Sequence[Plane]) -> dict[Plane, Plane]:
    """All that lie in one seam are taken for one plane, whatever bits they differ in."""
    back, same = (alike_planes(planes, sign) for sign in (-1.0, 1.0))
    found = {}
    for i in np.flatnonzero(back.any(axis=1)).tolist():
        first = int(np.flatnonzero(back[i] | same[i])[0])
        plane = planes[first] if same[i, first] else planes[first].flipped()
        found[planes[i]] = plane.shifted(-LAP)
    return found


def _lapped_rounds(rounds: Sequence[Round]) -> dict[Round, Round]:
    return {f: f.shifted(-LAP) for f in rounds if any(same_surface(f.flipped(), other) for other in rounds)}


def has_no_thickness(cutter: Sequence[Form]) -> bool:
    """Two of the cutter's own surfaces lie back to back."""
    solid = [f for f in cutter if isinstance(f, Plane | Cylinder | Cone)]
    return any(same_surface(f.flipped(), other) for i, f in enumerate(solid) for other in solid[:i])
