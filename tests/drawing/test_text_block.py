"""Notes, cautions, scale bars and small signs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.drawing.block import Block, stacked
from plangen.drawing.face_marks import face_edge_mark, face_side_mark, grain_arrow, item_reference
from plangen.drawing.mark_geometry import drawn, extent, extents
from plangen.drawing.marks import Fill, Lettering, Stroke
from plangen.drawing.overlaps import overlaps
from plangen.drawing.scale_bar import LONGEST, SHORTEST, divisions, scale_bar
from plangen.drawing.text_block import caution_box, note_width, numbered_notes, sheet_head, view_title
from plangen.geometry.curves import Bezier, Line
from plangen.tables.scales import INCH_SCALES, ISO_SCALES, Scale

NOTES = (
    "Sizes are finished sizes at the moisture stated; 3 15/16 in boards move about 1/16 in in a year.",
    "Dimensions govern: do not scale the drawing, and mark every piece from its face side and face edge.",
)


def lettering(block: Block) -> list[Lettering]:
    return [m for m in drawn(block.marks) if isinstance(m, Lettering)]


def test_notes_are_numbered_flush_left_and_stay_in_their_column() -> None:
    block = stacked("notes", numbered_notes(NOTES, 110), 2)
    assert [m.text for m in lettering(block) if m.text.rstrip(".").isdigit()] == ["1.", "2."]
    x0, y0, x1, y1 = extents(drawn(block.marks))
    assert x0 >= 0
    assert x1 <= 110
    assert y1 <= 1e-9
    assert y0 >= -block.height - 1e-9
    assert len({m.at[0] for m in lettering(block)}) == 2
    assert overlaps(block.marks, 0.3) == ()


def test_a_line_of_a_note_has_about_sixty_characters_at_most() -> None:
    """45 to 60 characters a line (common practice of typography)."""
    blocks = numbered_notes([" ".join(NOTES)], 500)
    longest = max(len(m.text) for m in lettering(blocks[0]))
    assert 50 <= longest <= 66
    assert blocks[0].width == pytest.approx(note_width())


def test_a_caution_is_framed_and_named() -> None:
    box = caution_box([NOTES[0]], 90)
    assert lettering(box)[0].text == "CAUTION"
    (frame,) = (m for m in drawn(box.marks) if isinstance(m, Stroke))
    assert frame.use == "outline"
    assert extent(frame) == pytest.approx((-0.25, -box.height - 0.25, 90.25, 0.25))
    assert overlaps(box.marks, 0.5) == ()


def test_the_head_of_a_sheet_leaves_the_rest_of_the_field() -> None:
    marks, rest = sheet_head((20, 37, 269.4, 205.9), "Left leg (A)", "Make 2: one as drawn, one opposite")
    assert rest[:3] == (20, 37, 269.4)
    assert extents(drawn(marks))[1] >= rest[3] - 0.2
    assert overlaps(marks, 0.5) == ()


def test_the_title_of_a_view_gives_its_scale() -> None:
    (mark,) = lettering(view_title("DETAIL A", "1:1"))
    assert (mark.text, mark.height) == ("DETAIL A (1:1)", 5.0)


@given(scale=st.floats(0.001, 5))
def test_any_scale_has_a_bar_of_four_or_five_round_divisions(scale: float) -> None:
    for inches, unit in ((True, 25.4), (False, 1.0)):
        count, step = divisions(scale, inches)
        assert count in (4, 5)
        assert SHORTEST * 0.999 <= count * float(step) * unit * scale <= LONGEST * 1.001


@pytest.mark.parametrize("scale", [s for s in (*INCH_SCALES, *ISO_SCALES) if s.ratio <= 2])
def test_the_bars_are_as_long_as_they_say(scale: Scale) -> None:
    ratio = float(scale.ratio)
    block = scale_bar(ratio)
    assert overlaps(block.marks, 0.2) == ()
    outlines = [
        extent(m) for m in drawn(block.marks) if isinstance(m, Stroke) and m.closed and len(m.curves) == 4
    ]
    assert len(outlines) == 2
    for (x0, _, x1, _), inches in zip(outlines, (True, False), strict=True):
        count, step = divisions(ratio, inches)
        work = count * float(step) * (25.4 if inches else 1.0)
        assert x1 - x0 - 0.25 == pytest.approx(work * ratio, abs=1e-9)
    assert outlines[0][0] == pytest.approx(outlines[1][0])


def test_the_tail_of_the_face_side_mark_and_the_point_of_the_face_edge_mark_meet_on_the_arris() -> None:
    """Four joinery texts (read): the looped stroke runs off to the face edge, the V meets it there."""
    at = (50.0, 20.0)
    (loop,) = drawn((face_side_mark(at, (0, 1)),))
    (vee,) = drawn((face_edge_mark(at, (0, -1)),))
    assert isinstance(loop, Stroke)
    assert isinstance(vee, Stroke)
    assert loop.curves[-1].end == pytest.approx(at)
    assert vee.curves[0].end == pytest.approx(at)
    assert extent(vee)[1] == pytest.approx(15, abs=0.2)
    assert 24.5 < extent(loop)[3] < 26
    for a, b in zip(loop.curves, loop.curves[1:], strict=False):
        assert isinstance(a, Bezier)
        assert isinstance(b, Bezier)
        turn = math.atan2(a.points[3][1] - a.points[2][1], a.points[3][0] - a.points[2][0]) - math.atan2(
            b.points[1][1] - b.points[0][1], b.points[1][0] - b.points[0][0]
        )
        assert turn == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("degrees", [0, 30, 90, 180, 270])
def test_the_grain_arrow_lies_along_the_grain_and_its_word_is_clear_of_it(degrees: float) -> None:
    group = grain_arrow((0, 0), degrees)
    assert overlaps((group,), 0.5) == ()
    (word,) = (m for m in drawn((group,)) if isinstance(m, Lettering))
    assert -90 < word.rotation <= 90
    (shaft,) = (c for m in drawn((group,)) if isinstance(m, Stroke) for c in m.curves)
    assert isinstance(shaft, Line)
    run = (shaft.end[0] - shaft.start[0], shaft.end[1] - shaft.start[1])
    across = run[0] * math.sin(math.radians(degrees)) - run[1] * math.cos(math.radians(degrees))
    assert across == pytest.approx(0, abs=1e-9)
    assert sum(isinstance(m, Fill) for m in drawn((group,))) == 2


@pytest.mark.parametrize("mark", ["A", "W", "AB", "WW"])
def test_item_references_are_equal_circles_with_their_letters_inside(mark: str) -> None:
    """ISO 6433 text (read)."""
    group = item_reference(mark, (0, 0))
    assert extents(drawn((group,))) == pytest.approx((-5.125, -5.125, 5.125, 5.125))
    assert overlaps((group,), 0.5) == ()
