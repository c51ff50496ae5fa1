"""Texts set on a drawing: none covers another or a line, and each is seen to belong where it does."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.lettering import Lettering, Placed, one_line, text_extent, wrapped
from scallopkit.document.picture import to_png
from scallopkit.document.styles import LEADING
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array

from .test_picture import pixels

SIZE = 4.0
DOWN = np.array([0.0, 1.0])
ORIGIN = np.zeros(2)
# Makes a box smaller by a size of the texts on every side.
INWARD = SIZE * np.array([[1.0], [-1.0]])


def box_of(placed: Placed, lines: list[str], bold: bool = False) -> Array:
    width, height = text_extent(lines, SIZE, bold)
    return np.asarray(placed.at + np.array([[-0.5 * width, 0.0], [0.5 * width, height]]))


def cover(one: Array, other: Array) -> bool:
    return bool(((one[0] < other[1]) & (other[0] < one[1])).all())


def inside(box: Array, points: Array) -> bool:
    return bool(((box[0] < points) & (points < box[1])).all(axis=1).any())


def segment(start: Array, end: Array) -> Array:
    return np.asarray(start + np.linspace(0.0, 1.0, 500)[:, None] * (end - start))


def scribble(middle: Array, reach: float, step: float) -> Array:
    """A line to and fro that leaves no room within a reach of a place."""
    y = np.arange(-reach, reach, step)
    x = np.where(np.arange(len(y)) % 2, reach, -reach)
    return cubics.lines(middle + np.stack([np.repeat(x, 2)[1:], np.repeat(y, 2)[:-1]], axis=1))


# --- room -----------------------------------------------------------------------------------------------------------


def test_a_text_lies_beside_its_place_where_it_is_sent() -> None:
    for angle in np.linspace(0.0, 2.0 * math.pi, 12, endpoint=False):
        away = np.array([math.cos(angle), math.sin(angle)])
        placed = Lettering(SIZE).place(["hem-side"], ORIGIN, away)
        box = box_of(placed, ["hem-side"])
        assert placed.leader is None
        assert not inside(box, ORIGIN[None])
        assert np.hypot(*np.clip(ORIGIN, *box)) < 1.5 * SIZE
        centre = box.mean(axis=0)
        assert centre / np.hypot(*centre) == pytest.approx(away, abs=1e-9)


def test_a_text_that_may_lies_upon_its_place() -> None:
    lettering = Lettering(SIZE)
    placed = lettering.place(["front"], ORIGIN, DOWN, upon=True)
    assert box_of(placed, ["front"]).mean(axis=0) == pytest.approx(ORIGIN, abs=1e-9)
    again = lettering.place(["front"], ORIGIN, DOWN, upon=True)
    assert not cover(box_of(placed, ["front"]), box_of(again, ["front"]))


texts = st.lists(
    st.sampled_from(["seam", "hem-side", "24.00 mm wide", "脇", "a-very-long-name"]), min_size=1, max_size=4
)
places = st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0), st.floats(0.0, 6.28))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(texts, places, st.booleans()), min_size=2, max_size=8), places)
def test_texts_keep_apart_and_off_the_lines(
    named: list[tuple[list[str], tuple[float, float, float], bool]], line: tuple[float, float, float]
) -> None:
    lettering = Lettering(SIZE)
    middle, along = np.array(line[:2]), 80.0 * np.array([math.cos(line[2]), math.sin(line[2])])
    ink = [segment(middle - along, middle + along)]
    lettering.keep_clear(cubics.lines([middle - along, middle + along]))
    boxes: list[Array] = []
    for lines, (x, y, angle), bold in named:
        anchor = np.array([x, y])
        top = lettering.extent()[0, 1]
        placed = lettering.place(lines, anchor, np.array([math.cos(angle), math.sin(angle)]), bold, upon=bold)
        box = box_of(placed, lines, bold)
        assert not any(cover(box, other) for other in boxes)
        # A line is known at every 0.4 sizes from its start, and the margin round a text is 0.3.
        assert not any(inside(box + 0.1 * INWARD, points) for points in ink)
        gap = float(np.hypot(*(np.clip(anchor, *box) - anchor)))
        if placed.leader is None:
            # Three sizes, and the margin round a text.
            assert gap <= 3.5 * SIZE
        else:
            assert gap > 3.0 * SIZE
            assert placed.leader[0] == pytest.approx(anchor)
            assert placed.leader[1] == pytest.approx(np.clip(anchor, *box))
            # It may cut a corner as deep as that margin. What went above everything has a line from wherever it is.
            above = box[1, 1] < top
            assert above or not any(inside(other + 0.3 * INWARD, segment(*placed.leader)) for other in boxes)
            lettering.keep_clear(cubics.lines(placed.leader))
            ink.append(segment(*placed.leader))
        boxes.append(box)


def test_a_text_with_no_room_near_gets_a_line_to_it() -> None:
    lettering = Lettering(SIZE)
    lettering.keep_clear(scribble(ORIGIN, 40.0, 2.0))
    full = lettering.extent()
    placed = lettering.place(["pleat"], ORIGIN, DOWN)
    box = box_of(placed, ["pleat"])
    assert not cover(box, full)
    assert placed.leader is not None
    assert np.array_equal(placed.leader, np.stack([ORIGIN, np.clip(ORIGIN, *box)]))


def test_where_all_is_full_a_text_goes_above_everything() -> None:
    lettering = Lettering(SIZE)
    # Farther than any place that is tried.
    lettering.keep_clear(scribble(ORIGIN, 110.0 * SIZE, 1.5 * SIZE))
    placed = lettering.place(["last"], ORIGIN, DOWN)
    top = lettering.extent()[0, 1]
    assert box_of(placed, ["last"])[1, 1] < -108.0 * SIZE
    assert placed.at[1] == top
    assert placed.leader is not None


@pytest.mark.parametrize(("anchor", "left"), [("start", 0.0), ("middle", -0.5)])
def test_reserved_room_is_left_free(anchor: str, left: float) -> None:
    lettering = Lettering(SIZE)
    lettering.reserve(["a title"], ORIGIN, bold=True, anchor=anchor)  # type: ignore[arg-type]  # one of the two
    width, height = text_extent(["a title"], SIZE, bold=True)
    box = np.array([[left * width, 0.0], [(left + 1.0) * width, height]])
    assert np.allclose(lettering.extent(), box, atol=1e-12)
    placed = lettering.place(["beside"], box.mean(axis=0), DOWN, upon=True)
    assert not cover(box_of(placed, ["beside"]), box)


def test_what_is_only_included_may_be_written_on() -> None:
    lettering = Lettering(SIZE)
    cloth = np.array([[-50.0, -30.0], [50.0, 30.0]])
    lettering.include(cloth)
    placed = lettering.place(["front"], ORIGIN, DOWN, upon=True)
    assert placed.at[0] == 0.0
    assert np.array_equal(lettering.extent(), cloth)


# --- sizes ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("lines", [["seam"], ["span of", "1234.56 mm"], ["WM@%"], ["iiilll"], ["ÄÖÜ ñçé"]])
def test_a_text_is_no_larger_than_it_is_taken_to_be(lines: list[str], bold: bool) -> None:
    width, height = text_extent(lines, SIZE, bold)
    spans = "".join(
        f'<tspan x="4" y="{4.0 + (i + 0.85) * LEADING * SIZE}">{line}</tspan>' for i, line in enumerate(lines)
    )
    style = f"font-family:sans-serif;font-size:{SIZE}px;font-weight:{'bold' if bold else 'normal'}"
    size = f'width="{width + 8.0}mm" height="{height + 8.0}mm" viewBox="0 0 {width + 8.0} {height + 8.0}"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}><text style="{style}">{spans}</text></svg>'
    # 4 pixels to the mm.
    dark = pixels(to_png(svg.encode(), round(4.0 * (width + 8.0)), "white"))[..., :3].min(axis=2) < 150
    rows, columns = np.nonzero(dark)
    if not len(rows):
        pytest.skip("this machine has no font to draw texts with")
    low, high = np.array([columns.min(), rows.min()]) / 4.0, np.array([columns.max(), rows.max()]) / 4.0
    # Letters may begin a hair before their place.
    assert (low >= 3.75).all()
    assert (high <= (4.0 + width, 4.0 + height)).all()


def test_wide_letters_take_more_room_and_combining_marks_none() -> None:
    width = {text: text_extent([text], 1.0)[0] for text in ("e", "e\u0301", "脇", "W", "i", "E")}
    assert width["e\u0301"] == width["e"]
    assert width["i"] < width["e"] < width["E"] < width["W"] == width["脇"]
    assert text_extent(["a", "long line", "b"], 2.0) == (text_extent(["long line"], 2.0)[0], 3 * LEADING * 2.0)


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=9), min_size=1), st.floats(0.0, 200.0))
def test_wrapped_keeps_every_word_and_fills_its_lines(words: list[str], room: float) -> None:
    lines = wrapped(" ".join(words), room, SIZE)
    assert " ".join(lines).split() == words
    for line in lines:
        assert text_extent([line], SIZE)[0] <= max(room, 4 * SIZE) or " " not in line
    letters = max(4, int(room / (0.75 * SIZE)))
    for line, after in itertools.pairwise(lines):
        assert len(line) + 1 + len(after.split()[0]) > letters


def test_nothing_is_still_one_line() -> None:
    assert wrapped("", 50.0, SIZE) == [""]
    assert one_line(" \n") == "-"


def test_a_name_in_one_line_is_short() -> None:
    assert one_line(" a\n\tb  c ") == "a b c"
    assert one_line("x" * 40) == "x" * 40
    assert one_line("x" * 41) == "x" * 39 + "…"
