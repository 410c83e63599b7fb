"""Bought bar bent in the vise over a form."""

from __future__ import annotations

from plangen.geometry.surfaces import Extruded, Form
from plangen.joinery.model import Feature
from plangen.machining.setup import Setup, Way
from plangen.machining.work import Work
from plangen.tables.machines import Shop

_A_BEND = 0.5


def bent(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    """The way to bend a bar to its outline, one bend after another; none where the member is no bent bar."""
    bar = work.member.bent
    forms = [f for f in cutter.values() if isinstance(f, Extruded)]
    if bar is None or len(forms) != 1 or len(cutter) != 1:
        return ()
    (form,) = forms
    setup = Setup(
        work.member.mark, feature.id, feature.stage, "bend", "vise", tuple(cutter), feature.cutters,
        jig="bending form", outline=form.outline, outline_frame=(form.origin, form.u, form.v),
        passes=len(bar.bends),
    )  # fmt: skip
    beyond = () if shop.reach("vise") is not None else ("no vise",)
    return (Way((setup,), 1.0 + _A_BEND * len(bar.bends), beyond),)
