"""plan.json read as a stranger would: every key in its place, and members rebuilt from it by an exact kernel."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from brep_kernel import kernel_area, kernel_centroid, kernel_solid, kernel_volume

from plangen.drawing.marks import Sheet, ViewOnSheet
from plangen.export.plan_json import FileRole, SetFile, plan_json_bytes
from plangen.facts import PlanFacts
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, sub, unit

TOP = {
    "schema", "version", "design", "members", "joints", "assemblies", "assembling", "elevations", "setups", "settings",
    "marking_out", "jigs", "machining", "hardware", "stock", "buying", "layouts", "weight", "findings", "templates",
    "sheets", "files",
}  # fmt: skip
KEYS: dict[str, set[str]] = {
    "design": {"title", "number", "source", "sha256", "units", "shop", "parameters"},
    "members": {
        "mark", "name", "quantity", "stock", "species", "role", "grain", "drawn", "line", "finished", "blank",
        "length_origin", "allowance", "volume", "area", "centroid", "mass", "surfaces", "references", "features",
        "dimensions", "conventions", "drift", "off", "views", "bent", "sheet", "instances", "notes",
    },
    "joints": {"name", "kind", "members", "fit", "clearance", "line"},
    "assemblies": {"mark", "name", "members", "features", "surfaces", "dimensions", "note"},
    "elevations": {
        "id", "view", "kind", "value", "printed", "reference", "points", "direction", "what", "sheet",
    },
    "marking_out": {"gangs", "gauges", "bevels", "sticks", "joints"},
    "hardware": {"name", "quantity", "size", "length", "spare", "uses"},
    "findings": {"level", "rule", "text", "line", "column", "members"},
    "sheets": {"number", "title", "kind", "paper", "scale", "views", "scales"},
    "files": {"path", "role", "sha256"},
}  # fmt: skip
FEATURE = {
    "id", "kind", "stage", "origin", "joint", "mate", "line", "surfaces", "cutters", "hole", "note",
}  # fmt: skip
DIMENSION = {
    "id", "view", "kind", "value", "printed", "reference", "origin", "held", "off", "points", "direction", "on",
    "feature", "said_by", "sheet",
}  # fmt: skip
FORM = {
    "plane": {"normal", "offset"},
    "cylinder": {"point", "axis", "radius", "side"},
    "cone": {"point", "axis", "radius", "slope", "side"},
    "extruded": {"axis", "outline"},
}
_ORIGINS = {"worked", "bought", "matched", "fitted", "formed", "eye"}
CLOSED: dict[str, set[Any]] = {
    ".members[].role": {"work", "jig", "bought"},
    ".members[].grain": {"length", "width"},
    ".members[].drawn": {"left", "right", None},
    ".members[].length_origin": _ORIGINS,
    ".members[].instances[].hand": {"left", "right", None},
    ".members[].surfaces[].side": {"hole", "post"},
    ".members[].features[].stage": {"square", "shaped", "glued", "assembled", "on the work"},
    ".members[].features[].origin": _ORIGINS,
    ".members[].dimensions[].origin": _ORIGINS,
    ".members[].dimensions[].view": {"face", "back", "edge", "back edge", "end A", "end B"},
    ".members[].dimensions[].kind": {"linear", "angular", "radius", "diameter", "depth"},
    ".members[].conventions[].kind": {
        "square", "parallel", "in line", "concentric", "symmetric", "tangent", "same as",
    },
    ".elevations[].view": {"front", "left", "right", "plan"},
    ".elevations[].kind": {"linear", "angular"},
    ".findings[].level": {"error", "warning", "note"},
    ".files[].role": set(get_args(FileRole)),
    ".assemblies[].dimensions[].view": {"face on", "upper edge", "right edge"},
    ".assemblies[].dimensions[].kind": {"linear", "angular", "radius", "diameter", "depth"},
    ".sheets[].kind": {
        "cover", "elevations", "details", "part", "assembly", "parts table", "set-ups", "lists", "notes",
    },
}  # fmt: skip


def sheets_of(facts: PlanFacts) -> tuple[Sheet, ...]:
    """A part sheet for each member, as far as plan.json needs to know of sheets."""
    front = ViewOnSheet("front", 0.125, "1:8", (0.0, 0.0))
    views = Sheet("S-01", "Elevations", "elevations", 420, 297, "A3 landscape", (), (front,))
    parts = [
        Sheet(f"S-{n:02}", m.name, "part", 297, 210, "A4 landscape", (), members=(m.mark,))
        for n, m in enumerate(facts.model.members, 2)
    ]
    return (views, *parts)


def content_of(facts: PlanFacts) -> dict[str, Any]:
    files = {"views.dxf": SetFile("views", b"0\nEOF\n"), "templates/A.dxf": SetFile("template", b"A")}
    data = plan_json_bytes(facts, sheets_of(facts), files)
    found = json.loads(data.decode("utf-8"), parse_constant=lambda word: pytest.fail(f"{word} is no number"))
    assert isinstance(found, dict)
    return found


def every(value: object, path: str = "") -> Iterator[tuple[str, object]]:
    yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from every(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for inner in value:
            yield from every(inner, path + "[]")


def test_every_promised_key_is_there_and_no_other(facts: PlanFacts) -> None:
    content = content_of(facts)
    assert set(content) == TOP
    assert set(content["design"]) == KEYS["design"]
    assert set(content["design"]["units"]) == {"length", "step", "angle_step"}
    assert set(content["marking_out"]) == KEYS["marking_out"]
    for name in set(KEYS) - {"design", "marking_out"}:
        for row in content[name]:
            assert set(row) == KEYS[name], name
    for row in content["stock"]:
        assert {"name", "bought", "quantity", "unit", "waste", "kerf"} < set(row)
        assert len({"board_feet", "area", "length"} & set(row)) == 1
    for member in content["members"]:
        assert set(member["finished"]) == {"length", "width", "thickness"}
        assert set(member["blank"]) == {"length", "width", "thickness", "origin", "surfaces"}
        assert set(member["references"]) == {"face", "edge", "end"}
        for surface in member["surfaces"]:
            assert set(surface) == {"id", "kind", "feature", "remains"} | FORM[surface["kind"]]
        for feature in member["features"]:
            assert set(feature) == FEATURE
        for dimension in member["dimensions"]:
            assert set(dimension) == DIMENSION
        for convention in member["conventions"]:
            assert set(convention) == {"kind", "surfaces"}
    for path, value in every(content):
        if path in CLOSED:
            assert value in CLOSED[path], path


def test_text_is_sorted_utf8_with_line_feeds_and_no_minus_zero(facts: PlanFacts) -> None:
    data = plan_json_bytes(facts, sheets_of(facts), {})
    assert data == plan_json_bytes(facts, sheets_of(facts), {})
    text = data.decode("utf-8")
    assert text.endswith("}\n")
    assert "\r" not in text
    assert "-0.0," not in text
    assert "-0.0\n" not in text
    content = json.loads(text)
    assert text == json.dumps(content, ensure_ascii=False, sort_keys=True, indent=1) + "\n"
    for path, value in every(content):
        if isinstance(value, float):
            fine = (
                ".normal",
                ".axis",
                ".slope",
                ".direction",
                ".transform",
                ".outline.u",
                ".outline.v",
                ".way",
                ".toward",
            )
            cuts = (".setups", ".settings", ".jigs")  # what a reader builds planes from, chains of stops
            decimals = 12 if any(w in path for w in fine) else 9 if path.startswith(cuts) else 6
            assert value == round(value, decimals), path


def test_every_name_used_is_a_name_given(facts: PlanFacts) -> None:
    content = content_of(facts)
    instances = {i["name"] for m in content["members"] for i in m["instances"]}
    assert sum(len(m["instances"]) for m in content["members"]) == len(instances)
    for joint in content["joints"]:
        assert set(joint["members"]) <= instances
    for assembly in content["assemblies"]:
        assert set(assembly["members"]) <= instances
    for member in content["members"]:
        assert member["role"] == "jig" or member["quantity"] == len(member["instances"])
        ids = [s["id"] for s in member["surfaces"]]
        assert len(ids) == len(set(ids))
        named = set(ids) | set(member["blank"]["surfaces"].values())
        features = {f["id"]: f for f in member["features"]}
        for feature in member["features"]:
            assert {i for cutter in feature["cutters"] for i in cutter} <= set(ids)
            for surface in member["surfaces"]:
                if surface["id"] in feature["surfaces"]:
                    assert surface["feature"] == feature["id"]
        for surface in member["surfaces"]:
            if surface["feature"] is not None:
                assert surface["id"] in features[surface["feature"]]["surfaces"]
        for dimension in member["dimensions"]:
            assert {i for point in dimension["on"] for i in point} <= named
            assert len(dimension["on"]) == len(dimension["points"])
        for convention in member["conventions"]:
            assert set(convention["surfaces"]) <= named
        assert {i for i in member["references"].values() if i is not None} <= named


def test_transforms_are_rigid_and_mirror_only_the_other_hand(facts: PlanFacts) -> None:
    for member in content_of(facts)["members"]:
        for instance in member["instances"]:
            rows = instance["transform"]
            assert rows[3] == [0, 0, 0, 1]
            columns = [(rows[0][i], rows[1][i], rows[2][i]) for i in range(3)]
            for i in range(3):
                for j in range(3):
                    assert dot(columns[i], columns[j]) == pytest.approx(float(i == j), abs=1e-11)
            mirrored = dot(cross(columns[0], columns[1]), columns[2]) < 0
            assert mirrored == (instance["hand"] is not None and instance["hand"] != member["drawn"])


def test_each_size_says_on_which_sheet_it_stands(facts: PlanFacts) -> None:
    content = content_of(facts)
    numbers = {s["number"] for s in content["sheets"]}
    for member in content["members"]:
        assert member["sheet"] in numbers
        assert {d["sheet"] for d in member["dimensions"]} <= {member["sheet"]}
    for figure in content["elevations"]:
        assert figure["sheet"] == ("S-01" if figure["view"] == "front" else None)


def test_the_files_are_listed_with_their_digests(facts: PlanFacts) -> None:
    assert content_of(facts)["files"] == [
        {"path": "templates/A.dxf", "role": "template", "sha256": hashlib.sha256(b"A").hexdigest()},
        {"path": "views.dxf", "role": "views", "sha256": hashlib.sha256(b"0\nEOF\n").hexdigest()},
    ]


# --- rebuilt from the file alone --------------------------------------------------------------------------


def form_of(surface: dict[str, Any]) -> Form:
    if surface["kind"] == "plane":
        return Plane(tuple(surface["normal"]), surface["offset"])
    if surface["kind"] == "cylinder":
        return Cylinder(tuple(surface["point"]), tuple(surface["axis"]), surface["radius"], surface["side"])
    if surface["kind"] == "cone":
        place = (tuple(surface["point"]), tuple(surface["axis"]))
        return Cone(*place, surface["radius"], surface["slope"], surface["side"])
    axis: Vec = tuple(surface["axis"])
    first = surface["outline"][0]
    origin: Point = tuple(first["points"][0] if "points" in first else first["centre"])
    least = min(range(3), key=lambda i: abs(axis[i]))
    helper: Vec = (float(least == 0), float(least == 1), float(least == 2))
    u = unit(cross(helper, axis))
    v = cross(axis, u)

    def flat(p: list[float]) -> Vec2:
        d = sub((p[0], p[1], p[2]), origin)
        return (dot(d, u), dot(d, v))

    return Extruded(origin, u, v, tuple(curve_of(item, flat) for item in surface["outline"]))


def curve_of(item: dict[str, Any], flat: Any) -> Curve:
    if item["kind"] == "ellipse":
        centre = flat(item["centre"])
        ends = [
            flat([c + a for c, a in zip(item["centre"], axis, strict=True)]) for axis in item["half_axes"]
        ]
        major, minor = ((p[0] - centre[0], p[1] - centre[1]) for p in ends)
        first, last = (math.radians(a) for a in item["parameters"])
        return EllipseArc(centre, major, minor, first, last)
    points = [flat(p) for p in item["points"]]
    if item["kind"] == "line":
        return Line(*points)
    if item["kind"] == "bezier":
        return Bezier(tuple(points))
    return arc_through(*points)


def arc_through(a: Vec2, m: Vec2, b: Vec2) -> Arc:
    """The circle through three points, by the perpendicular bisectors of two chords."""
    d = 2 * (a[0] * (m[1] - b[1]) + m[0] * (b[1] - a[1]) + b[0] * (a[1] - m[1]))
    aa, mm, bb = (p[0] ** 2 + p[1] ** 2 for p in (a, m, b))
    x = (aa * (m[1] - b[1]) + mm * (b[1] - a[1]) + bb * (a[1] - m[1])) / d
    y = (aa * (b[0] - m[0]) + mm * (a[0] - b[0]) + bb * (m[0] - a[0])) / d
    first, middle, last = (math.atan2(p[1] - y, p[0] - x) for p in (a, m, b))
    turn = 1.0 if (middle - first) % (2 * math.pi) < (last - first) % (2 * math.pi) else -1.0
    return Arc((x, y), math.dist((x, y), a), first, first + turn * ((turn * (last - first)) % (2 * math.pi)))


def test_an_exact_kernel_rebuilds_every_member_from_blank_and_cutters_alone(facts: PlanFacts) -> None:
    """Planes are written to 5e-7 mm, so the volume may be off by that times the skin; free curves and circles
    by 1e-6 of it."""
    for member in content_of(facts)["members"]:
        if member["role"] == "bought" and not member["features"]:
            continue
        blank = member["blank"]
        box = Box(tuple(blank["origin"]), (blank["length"], blank["width"], blank["thickness"]))
        forms = {s["id"]: form_of(s) for s in member["surfaces"]}
        shape = kernel_solid(box, [[forms[i] for i in c] for f in member["features"] for c in f["cutters"]])
        curved = any(s["kind"] != "plane" for s in member["surfaces"])
        rounding = 1e-6 * member["area"] / member["volume"]
        assert kernel_volume(shape) == pytest.approx(
            member["volume"], rel=1e-6 if curved else 1e-9 + rounding
        ), member["name"]
        assert kernel_area(shape) == pytest.approx(member["area"], rel=1e-6 if curved else 1e-9 + rounding)
        size = max(member["finished"].values())
        assert math.dist(kernel_centroid(shape), member["centroid"]) < 1e-6 * size


def test_surfaces_that_remain_bound_the_wood_and_normals_point_out_of_it(facts: PlanFacts) -> None:
    """The centroid of a convex member lies inside all its planes; a plane of a cutter has its wood behind it
    at the surface itself: checked on the solid's own triangles."""
    for member, row in zip(facts.model.members, content_of(facts)["members"], strict=True):
        vertices = member.solid.vertices.tolist()
        for surface in row["surfaces"]:
            if surface["kind"] == "plane" and surface["remains"]:
                normal, offset = surface["normal"], surface["offset"]
                on = [p for p in vertices if abs(dot(tuple(normal), tuple(p)) - offset) < 1e-5]
                assert len(on) >= 3, surface["id"]
