"""What of lines and texts a page shows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.document.drawn import START, DrawnLine, DrawnText
from scallopkit.document.page_view import Stretch, page_view
from scallopkit.document.styles import LineStyle
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array, Ints

from ..shapes import circle, wavy_lines

SOLID, DASHED = LineStyle("#000000", 0.5), LineStyle("#000000", 0.5, (3.0, 1.5))
# Lengths of polylines within 1e-5 mm of their curves fall short of those by less.
NEAR = 1e-3
# Places on each segment that are looked at.
PLACES = np.linspace(0.0, 1.0, 33)


def line(curve: Array, look: LineStyle = SOLID, closed: bool = False, role: str = "stitching") -> DrawnLine:
    return DrawnLine(role, "", "", curve, closed, look)


def shown(one: DrawnLine, low: tuple[float, float], high: tuple[float, float]) -> list[Stretch]:
    """The stretches of a line in a window."""
    found = page_view([one], [], []).lines(np.array(low), np.array(high))
    return found[0][1] if found else []


def places(curve: Array) -> Array:
    """Places (n, k, 2) on each segment."""
    n, k = len(curve), len(PLACES)
    return cubics.point(curve, np.repeat(np.arange(n), k), np.tile(PLACES, n)).reshape(n, k, 2)


def length_before(curve: Array, segment: int) -> float:
    """The length of a curve up to a segment, from a fine polyline."""
    return float(cubics.norm(np.diff(cubics.flatten(curve[:segment], 1e-5), axis=0)).sum()) if segment else 0.0


@st.composite
def polygons(draw: st.DrawFn) -> Array:
    """Closed straight lines that may cross themselves and all but run over themselves."""
    points = draw(st.lists(st.tuples(st.integers(0, 8), st.integers(-3, 3)), min_size=3, max_size=12))
    # No two segments are the same, so that each is known by its place.
    nodes = 30.0 * np.array(points, dtype=float) + 1e-3 * np.arange(len(points))[:, None]
    return cubics.lines([*nodes, nodes[0]])


@st.composite
def drawn_lines(draw: st.DrawFn) -> DrawnLine:
    closed = draw(st.booleans())
    look = LineStyle("#000000", draw(st.sampled_from([0.1, 0.5, 6.0])), draw(st.sampled_from([(), (3.0, 1.5), (4.0,)])))
    return line(draw(polygons() if closed else wavy_lines()), look, closed)


@st.composite
def windows(draw: st.DrawFn) -> tuple[Array, Array]:
    low = np.array(draw(st.tuples(st.floats(-20.0, 240.0), st.floats(-90.0, 60.0))))
    return low, low + np.array(draw(st.tuples(st.floats(10.0, 200.0), st.floats(10.0, 200.0))))


@given(st.lists(drawn_lines(), min_size=1, max_size=4), windows())
def test_within_the_window_the_whole_drawing_is_written_and_nothing_else(
    lines: list[DrawnLine], window: tuple[Array, Array]
) -> None:
    low, high = window
    found = {id(one): stretches for one, stretches in page_view(lines, [], []).lines(low, high)}
    for one in lines:
        written = np.concatenate([np.zeros((0, 4, 2)), *(part.curve for part in found.get(id(one), []))])
        # Each segment is one of the line's, in its order and no more often than there.
        numbers = [int(k) for part in found.get(id(one), []) for k in _numbers(one.curve, part)]
        assert numbers == sorted(set(numbers))
        assert np.array_equal(written, one.curve[numbers])
        # Whatever has ink in the window is there.
        half = 0.5 * one.look.width_mm
        inside = ((places(one.curve) >= low - half) & (places(one.curve) <= high + half)).all(axis=2)
        assert set(np.flatnonzero(inside.max(axis=1)).tolist()) <= set(numbers)


@given(drawn_lines(), windows())
def test_dashes_go_on_as_if_the_line_had_been_drawn_whole(one: DrawnLine, window: tuple[Array, Array]) -> None:
    for _, stretches in page_view([one], [], []).lines(*window):
        for part in stretches:
            before = length_before(one.curve, int(_numbers(one.curve, part)[0])) if one.look.dashes_mm else 0.0
            assert part.along == pytest.approx(before, abs=NEAR)


@given(drawn_lines(), windows())
def test_where_stretches_end_nothing_is_seen(one: DrawnLine, window: tuple[Array, Array]) -> None:
    """Neither their ends nor the joins that are missing there; but a line has its own ends."""
    low, high = (bound + sign * 0.5 * one.look.width_mm for bound, sign in zip(window, (-1.0, 1.0), strict=True))
    own = [] if one.closed else [one.curve[0, 0], one.curve[-1, 3]]
    for _, stretches in page_view([one], [], []).lines(*window):
        for part in stretches:
            ends = [] if part.closed else [part.curve[0, 0], part.curve[-1, 3]]
            for end in ends:
                inside = bool((end >= low).all() and (end <= high).all())
                assert not inside or any(np.array_equal(end, other) for other in own)


def _numbers(curve: Array, part: Stretch) -> Ints:
    """Which segments of a curve a stretch has."""
    return np.array([np.flatnonzero((curve == one).all(axis=(1, 2)))[0] for one in part.curve])


def test_a_closed_line_on_the_page_is_closed() -> None:
    (part,) = shown(line(circle(20.0), DASHED, closed=True), (-30.0, -30.0), (30.0, 30.0))
    assert part.closed
    assert part.along == 0.0


def test_a_closed_line_is_whole_where_it_begins_and_parted_elsewhere() -> None:
    square = line(cubics.lines([(0, 0), (100, 0), (100, 100), (0, 100), (0, 0)]), DASHED, closed=True)
    (whole,) = shown(square, (-10.0, -10.0), (10.0, 10.0))
    assert (whole.closed, len(whole.curve)) == (True, 4)
    (corner,) = shown(square, (90.0, 90.0), (110.0, 110.0))
    assert not corner.closed
    assert corner.along == pytest.approx(100.0)
    assert np.array_equal(corner.curve, square.curve[1:3])


def test_a_line_that_comes_back_has_a_stretch_for_each_time() -> None:
    there_and_back = line(cubics.lines([(0, 0), (0, 50), (100, 50), (100, 60), (0, 60), (0, 100)]), DASHED)
    first, second = shown(there_and_back, (-5.0, 40.0), (5.0, 70.0))
    assert [len(first.curve), len(second.curve)] == [2, 2]
    assert first.along == 0.0
    assert second.along == pytest.approx(160.0)


def test_a_dashed_line_without_length_is_shown() -> None:
    (part,) = shown(line(np.full((2, 4, 2), 5.0), DASHED), (0.0, 0.0), (10.0, 10.0))
    assert (len(part.curve), part.along) == (2, 0.0)


def test_a_page_beside_the_drawing_shows_nothing() -> None:
    word = DrawnText("label", "", "", (("front", np.array([0.0, 0.0])),), 4.0, START)
    made = page_view([line(circle(20.0))], [word], [np.array([[0.0, -3.0], [15.0, 1.0]])])
    low, high = np.array([100.0, 0.0]), np.array([200.0, 100.0])
    assert made.lines(low, high) == []
    assert made.texts(low, high) == []
    assert made.texts(low - 90.0, high - 90.0) == [word]
    nothing = page_view([], [], [])
    assert (nothing.lines(low, high), nothing.texts(low, high)) == ([], [])


@pytest.mark.parametrize(
    ("dashes", "along", "phase"),
    [((), 7.0, 0.0), ((3.0, 1.5), 9.5, 0.5), ((3.0, 1.5), 4.5, 0.0), ((4.0,), 13.0, 5.0), ((1.0, 2.0, 3.0), 8.0, 8.0)],
)
def test_dashes_come_again_after_their_sum_or_an_odd_number_after_two(
    dashes: tuple[float, ...], along: float, phase: float
) -> None:
    assert LineStyle("#000000", 0.5, dashes).phase_mm(along) == pytest.approx(phase)
