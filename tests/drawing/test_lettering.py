"""Lettering is measured from the font that is embedded; its heights are heights of capitals."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFile

from plangen.drawing.lettering import (
    Run,
    Stack,
    corners,
    em_size,
    has_stack,
    missing_characters,
    set_text,
    stack_height,
    text_box,
    text_width,
    wrap,
)
from plangen.drawing.linework import ISO_128_WIDTHS, ISO_3098_HEIGHTS, LINES
from plangen.drawing.marks import Lettering
from plangen.drawing.typeface import Weight, font_path, typeface

ALPHABET = "ABCHXYZabcxyz0123456789 .,;:()/-+×Ø°½⅞—′″%#"


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_advances_agree_with_another_reader_of_the_same_font(weight: Weight) -> None:
    """The other reader: reportlab's own TrueType parser."""
    other = TTFontFile(str(font_path(weight)))
    face = typeface(weight)
    for c in ALPHABET:
        assert face.glyph(c).advance * 1000 == pytest.approx(other.charWidths[ord(c)], abs=0.5)


@pytest.mark.parametrize("height", ISO_3098_HEIGHTS)
def test_a_capital_is_as_high_as_the_lettering_says(height: float) -> None:
    x0, y0, x1, y1 = text_box("H", height)
    assert (y0, y1) == pytest.approx((0.0, height))
    assert 0 < x0 < x1 < em_size(height)


def test_every_line_is_a_step_of_iso_128() -> None:
    """ISO 128 series of widths (read); a wide line is at least twice a narrow one in a view (read)."""
    assert {s.width for s in LINES.values()} <= set(ISO_128_WIDTHS)
    assert LINES["outline"].width / LINES["hidden"].width >= 2
    assert all(s.grey <= 0.45 for s in LINES.values())


def test_a_mixed_number_is_set_as_a_whole_and_a_stack() -> None:
    whole, stack = set_text(Lettering("3 15/16", (0, 0), 3.5)).pieces
    assert isinstance(whole, Run)
    assert isinstance(stack, Stack)
    assert (whole.text, stack.text) == ("3 ", "15/16")
    assert (stack.numerator.text, stack.denominator.text) == ("15", "16")


@pytest.mark.parametrize("height", [2.5, 3.5, 5.0, 7.0])
def test_figures_of_a_stack_are_two_and_a_half_millimetres_or_more(height: float) -> None:
    (stack,) = set_text(Lettering("7/8", (0, 0), height)).pieces
    assert isinstance(stack, Stack)
    face = typeface("regular")
    for run in (stack.numerator, stack.denominator):
        for c in run.text:
            box = face.glyph(c).box
            assert box is not None
            assert (box[3] - box[1]) * run.em >= 2.5 - 1e-9


def test_a_stack_beside_capitals_of_three_and_a_half_is_about_six_high() -> None:
    """Drawing guide 1.1, tried on paper."""
    assert stack_height(3.5) == pytest.approx(6.0, abs=0.1)
    _, y0, _, y1 = text_box("15/16", 3.5)
    assert y1 - y0 == pytest.approx(stack_height(3.5), abs=0.15)


@pytest.mark.parametrize("text", ["4/4 oak", "8/4", "2/16", "3/4/2024", "1:12", "and/or", "1/2/3", "0/8"])
def test_what_is_no_proper_fraction_in_lowest_terms_stays_as_typed(text: str) -> None:
    assert not has_stack(text)
    assert [r.text for r in set_text(Lettering(text, (0, 0), 3.5)).runs] == [text]


@given(whole=st.integers(0, 99), top=st.integers(1, 63), exponent=st.integers(1, 6))
def test_figure_bar_and_figure_keep_clear_of_each_other(whole: int, top: int, exponent: int) -> None:
    bottom = 2**exponent
    top = top % bottom | 1
    text = f"{whole} {top}/{bottom}" if whole else f"{top}/{bottom}"
    layout = set_text(Lettering(text, (10, 20), 3.5))
    (bar,) = layout.bars
    n, d = layout.runs[-2:]
    face = typeface("regular")

    def ink(run: Run) -> tuple[float, float]:
        boxes = [b for c in run.text if (b := face.glyph(c).box)]
        return run.y + min(b[1] for b in boxes) * run.em, run.y + max(b[3] for b in boxes) * run.em

    assert ink(n)[0] - bar[3] > 0.2
    assert bar[1] - ink(d)[1] > 0.2
    assert bar[3] - bar[1] == pytest.approx(0.25)


@given(
    text=st.text(alphabet=ALPHABET, max_size=30),
    align=st.sampled_from(["left", "middle", "right"]),
    rotation=st.sampled_from([0.0, 90.0, 33.0, -60.0]),
)
def test_alignment_and_rotation_move_the_box_without_changing_it(
    text: str, align: str, rotation: float
) -> None:
    plain = Lettering(text, (0, 0), 3.5)
    turned = Lettering(text, (50, 60), 3.5, align, rotation)
    a, b, c, _ = corners(plain)
    p, q, r, _ = corners(turned)
    assert math.dist(p, q) == pytest.approx(math.dist(a, b), abs=1e-9)
    assert math.dist(q, r) == pytest.approx(math.dist(b, c), abs=1e-9)


@given(
    words=st.lists(
        st.sampled_from(["board", "3 15/16", "of", "oak,", "planed", "7/8", "through"]), min_size=1
    )
)
def test_wrapped_lines_fit_and_lose_nothing(words: list[str]) -> None:
    text = " ".join(words)
    lines = wrap(text, 45, 3.5)
    assert " ".join(lines) == text
    assert all(text_width(line, 3.5) <= 45 for line in lines)
    assert not any(
        a.rsplit(" ", 1)[-1] == "3" and b.startswith("15/16") for a, b in itertools.pairwise(lines)
    )


def test_a_word_wider_than_the_line_is_broken() -> None:
    lines = wrap("W" * 60, 40, 3.5)
    assert "".join(lines) == "W" * 60
    assert all(text_width(line, 3.5) <= 40 for line in lines)


def test_signs_the_typeface_lacks_are_named() -> None:
    assert missing_characters("⌀ 10 ½ 木") == "木"
