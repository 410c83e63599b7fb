"""Where a member ends that enters another by a tenon: its end runs on past the face it is trimmed by."""

from __future__ import annotations

from plangen.design import design as d
from plangen.design.records import Text
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, dot
from plangen.placing.scope import Scope
from plangen.tables.joint_rules import SLIDING_DOVETAIL_DEPTH, TENON_LENGTH

_OPPOSITE = {
    "A": "end B",
    "B": "end A",
    "edge": "back edge",
    "back edge": "edge",
    "face": "back",
    "back": "face",
}
_AXIS = {"A": 0, "B": 0, "edge": 1, "back edge": 1, "face": 2, "back": 2}

_BY_RULE = {
    "mortise and tenon": TENON_LENGTH,
    "round tenon": TENON_LENGTH,
    "sliding dovetail": SLIDING_DOVETAIL_DEPTH,
}
"""How far these enter a member where nothing is said: a part of its size that way."""


def tenon_end(scope: Scope, name: str, spec: d.PlaneSpec, plane: Plane, outward: Vec) -> Plane:
    """The end of the member ``name`` that is trimmed by ``plane``, a face of a member its tenon enters.

    The face is the shoulder: the piece runs on by the tenon's length. Without one it runs to the far face and as far
    out as the tenon is ``proud``, or where it is not to come through by the rule of thumb. A trim by the far face
    is the end itself. ``outward`` is the world direction of the end.
    """
    if not isinstance(spec, Text) or "." not in spec:
        return plane
    owner, _, side = spec.rpartition(".")
    mate = scope.owner(owner, spec.place)
    for joint in scope.design.joints:
        if scope.owner(joint.first, joint.place) != name or scope.owner(joint.second, joint.place) != mate:
            continue
        way = 1.0 if dot(plane.normal, outward) > 0 else -1.0
        if joint.kind == "groove" and joint.length is not None:
            return plane.shifted(way * scope.length(joint.length))
        if joint.kind in _BY_RULE or joint.kind == "taper tenon":
            return _end(scope, joint, owner, side, plane) if way < 0 else _stands_out(scope, joint, plane)
    return plane


def _end(scope: Scope, joint: d.Joint, owner: str, side: str, shoulder: Plane) -> Plane:
    long = joint.depth if joint.kind == "sliding dovetail" else joint.length
    if long is not None:
        return shoulder.shifted(-scope.length(long))
    own = _side_of(scope.surface_of(owner, side, joint.place)[0])
    if joint.proud is not None or joint.wedges is not None or joint.kind == "taper tenon":
        return _stands_out(scope, joint, scope.surface_of(owner, _OPPOSITE[own], joint.place)[1])
    body, _ = scope.body_of(owner, joint.place)
    return shoulder.shifted(-_BY_RULE[str(joint.kind)].usual * body.size[_AXIS[own]])


def _side_of(surface: str) -> str:
    """The blank's face that a surface takes the place of: ``back edge`` for ``taper back edge``."""
    return next(s for s in ("back edge", "edge", "face", "back", "A", "B") if surface.endswith(s))


def _stands_out(scope: Scope, joint: d.Joint, far: Plane) -> Plane:
    """Flush with the far face, or as far out as is said."""
    return far if joint.proud is None else far.shifted(scope.length(joint.proud))
