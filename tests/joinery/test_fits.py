"""Fits: whatever the kind, the gap that is left on the model is the clearance that the fit stands for."""

from pathlib import Path

import pytest
from workshop import build

from plangen.design.kinds import JOINT_OPTIONS
from plangen.geometry.contact import contact_area
from plangen.joinery.sizing import CLEARANCE_MM, DEFAULT_FITS, default_fit

SMALLEST = Path(__file__).parent.parent / "designs/joints"
FITTED = sorted(kind for kind, options in JOINT_OPTIONS.items() if "fit" in options)


def slid(kind):
    """The smallest design of a kind, its joint made to slide."""
    path = SMALLEST / f"{kind.replace(' ', '-')}.yaml"
    head, _, tail = path.read_text(encoding="utf-8").partition("joints:\n")
    line, _, rest = tail.partition("\n")
    assert line.endswith("}"), line
    said = line.rpartition("}")[0]
    said += "" if "fit:" in line else ", fit: slide"
    return build(f"{head}joints:\n{said}}}\n{rest}")


def near(built, a, b, gap):
    (one, ia), (other, ib) = built.instance(a), built.instance(b)
    return contact_area(one.solid, ia.frame, other.solid, ib.frame, gap)


@pytest.mark.parametrize("kind", FITTED)
def test_the_gap_on_the_model_is_the_clearance_of_the_fit(kind):
    built = slid(kind)
    assert [str(f) for f in built.findings if f.level == "error"] == []
    room = CLEARANCE_MM["slide"]
    (joint, *_) = built.model.joints
    assert joint.fit == "slide"
    assert joint.clearance == pytest.approx(room)
    if kind == "dowel":
        (dowel,) = built.model.hardware
        holes = [f.hole for m in built.model.members for f in m.features if f.kind == "dowel hole"]
        assert {round(h.diameter, 6) for h in holes} == {10 + 2 * room}
        assert dowel.size.startswith("10 mm")
        return
    pairs = [joint.members]
    if kind == "loose tenon":
        loose = next(i.name for m in built.model.members for i in m.instances if m.name == kind)
        pairs = [(loose, name) for name in joint.members]
    for a, b in pairs:
        # Faces that lie apart by the room and no less: seen at the room's reach, not a hair below it.
        assert near(built, a, b, room + 1e-6) > near(built, a, b, room - 1e-4) + 1.0


def test_a_kind_without_a_fit_of_its_own_is_snug():
    assert {default_fit(kind) for kind in JOINT_OPTIONS if kind not in DEFAULT_FITS} == {"snug"}
    assert set(DEFAULT_FITS) <= set(JOINT_OPTIONS)
