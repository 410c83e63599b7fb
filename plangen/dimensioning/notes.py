"""Notes of a part sheet: what holds of the whole piece and is said in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plangen.dimensioning.conventions import middle_planes
from plangen.dimensioning.figures import Figure
from plangen.dimensioning.holes import leaning_notes
from plangen.dimensioning.outlines import curve_notes
from plangen.dimensioning.references import References
from plangen.dimensioning.turned import turned_notes
from plangen.geometry.cutting import loop_area
from plangen.geometry.vectors import cross, length
from plangen.units import UnitStyle, length_text


def member_notes(
    refs: References, mirrors: Sequence[int], figures: Sequence[Figure], style: UnitStyle
) -> tuple[str, ...]:
    """The notes, in the order of work."""
    return tuple(dict.fromkeys(_notes(refs, mirrors, figures, style)))


def _notes(
    refs: References, mirrors: Sequence[int], figures: Sequence[Figure], style: UnitStyle
) -> Iterator[str]:
    work = refs.work
    member = work.member
    for feature in member.features:
        if feature.kind == "taper":
            yield f"Taper {feature.note.lower()} only."
    yield from _bevels(refs)
    if _ends_parallel(refs):
        yield "Ends parallel."
    axes = [axis for axis in mirrors if middle_planes(refs, axis) is not None]
    if axes:
        halves = " and of the ".join(("length", "width")[a] for a in axes)
        others = " and ".join(("end", "edge")[a] for a in axes)
        yield f"Symmetric about the middle of the {halves}: figures not repeated are the same at the other {others}."
    for feature in member.features:
        if feature.kind == "end" and feature.origin == "fitted":
            left = member.allowance[0 if feature.note == "A" else 1]
            words = f", leave {length_text(left, style)} long" if left else ""
            yield f"End {feature.note}: fit on the work{words}."
    if any(
        f.hole is not None and f.hole.purpose == "pilot" and f.stage == "on the work" for f in member.features
    ):
        yield "Pilot holes: bore on the work, through the holes of the mating part; their figures are a check."
    for feature in member.features:
        if (feature.joint is not None or feature.hole is not None) and feature.note:
            yield f"{feature.kind.capitalize()}: {feature.note}."
    yield from leaning_notes(refs)
    yield from turned_notes(refs)
    if any(f.kind == "spot-face" for f in member.features):
        yield "Cut each spot face first, then bore the hole from its middle."
    if any(f.kind in ("outline", "opening") and _is_free(refs, f.id) for f in member.features):
        yield "Free curve: cut to the full-size template."
    yield from curve_notes(refs, style)


def _is_free(refs: References, feature: str) -> bool:
    return any(
        not hasattr(refs.work.forms[f], "normal") and hasattr(refs.work.forms[f], "outline")
        for f in refs.work.forms_of(refs.work.features[feature])
    )


def _bevels(refs: References) -> Iterator[str]:
    """Which edges and ends are beveled, and which side comes out the larger."""
    work = refs.work
    names = []
    for form, name in ((refs.edge, "face edge"), (refs.back_edge, "back edge")):
        plane = None if form is None else work.plane(form)
        if plane is not None and abs(plane.normal[2]) > 1e-9:
            names.append(name)
    if not names:
        return
    text = f"{' and '.join(names).capitalize()} beveled"
    # Between edges and ends alone: a notch in one side makes the other no larger outline.
    back, face = _between_edges(refs, 0.0), _between_edges(refs, work.member.finished[2])
    if abs(face - back) > 1e-3 * max(face, back):
        text += f": {'face side' if face > back else 'back'} is the larger"
    yield f"{text}."


def _between_edges(refs: References, t: float) -> float:
    """Area between the planes of both edges and both ends at a height above the back; 0 where one is none."""
    ring = [
        None if f is None else refs.work.plane(f)
        for f in (refs.edge, refs.other_end, refs.back_edge, refs.end)
    ]
    lines = [(p.normal[0], p.normal[1], p.offset - p.normal[2] * t) for p in ring if p is not None]
    if len(lines) < 4:
        return 0.0
    corners = []
    for (a, b, c), (d, e, f) in zip(lines, [*lines[1:], lines[0]], strict=True):
        across = a * e - b * d
        if abs(across) < 1e-9:
            return 0.0
        corners.append(((c * e - b * f) / across, (a * f - c * d) / across))
    return abs(loop_area(corners))


def _ends_parallel(refs: References) -> bool:
    a = None if refs.end is None else refs.work.plane(refs.end)
    b = None if refs.other_end is None else refs.work.plane(refs.other_end)
    if a is None or b is None or abs(a.normal[0]) > 1 - 1e-12:
        return False
    return length(cross(a.normal, b.normal)) < 1e-9
