"""Scallops that touch the edge with crest or middle: on straight lines, circles, ellipses and waves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import Measured, measure
from scallopkit.geometry.motion import IDENTITY, apply, compose, inverse, turned
from scallopkit.geometry.nearest import nearest
from scallopkit.trim.course import CREST, VALLEY, WRAP, Course, Span, Stop, Weights, Wish, spans_of
from scallopkit.trim.row import FIRST_HALF, SECOND_HALF, WHOLE
from scallopkit.trim.shape import Shape
from scallopkit.trim.touching import Touching, solve_touching

from ..shapes import closing_of, fan, wavy_lines

SHARE, DEEP = Shape("arc", "share", 0.4), Shape("arc", "depth", 8.0)
TOUCH = pytest.mark.parametrize("touch", ["crest", "middle"])


def line(length: float = 300.0) -> Course:
    return Course(measure(cubics.lines([(0.0, 0.0), (length, 0.0)])), False, 1)


def wave_curve() -> Array:
    return np.array([[(0, 0), (90, -60), (150, 60), (250, 10)], [(250, 10), (350, -40), (420, 80), (500, 0.0)]])


def wave() -> Course:
    return Course(measure(wave_curve()), False, 1)


def ring(a: float, b: float, start: float = 0.0) -> Course:
    return Course(measure(ellipse_arc((0.0, 0.0), (a, b), 0.0, start, 2.0 * math.pi, 1e-9), IDENTITY), True, 1)


def rectangle(a: float, b: float) -> Course:
    return Course(measure(cubics.lines([(0, 0), (a, 0), (a, b), (0, b), (0, 0)]), IDENTITY), True, 1)


def stops(course: Course, *inner: Stop, first: str = VALLEY, last: str = VALLEY) -> list[Span]:
    """Spans from the start through the inner stops to the end, or round a loop."""
    ends = () if course.loop else (Stop("end", course.measured.length, last),)
    return spans_of(course, (Stop("start", 0.0, first), *inner, *ends))


def checked(course: Course, spans: list[Span], counts: list[float], wish: Wish, slide: bool = False) -> Touching:
    """The solved row, with what is promised of any row."""
    found = solve_touching(course, spans, counts, wish, slide)
    assert found is not None
    row = found.row
    chord = row.end - row.start
    width = np.hypot(*chord.T)
    np.testing.assert_allclose(row.width, width, rtol=1e-12)
    np.testing.assert_array_equal(row.size, row.width)
    own = row.span >= 0
    # Equal chords, weights taken out: 1e-9 of the width is the promise.
    np.testing.assert_allclose((width / row.weight)[own], np.array(found.widths)[row.span[own]], rtol=1e-9)
    m = course.measured
    line = m.curve if m.closing is None else np.concatenate([m.carried(m.curve, turn) for turn in (-1, 0, 1)])
    assert nearest(line, touching(course, found, wish)).distance.max() <= 1e-6
    assert (row.turn == 0.0).all()
    assert (np.diff(row.s_start) > 0.0).all()
    assert (row.s_end[:-1] <= row.s_start[1:] + 1e-9).all()
    assert (row.s_start < row.s_end).all()
    return found


def touching(course: Course, found: Touching, wish: Wish) -> Array:
    """The points that must lie on the edge."""
    row, share = found.row, 1.0 if wish.touch == "crest" else 0.5
    chord = row.end - row.start
    up = course.side * cubics.left(chord / row.width[:, None])
    depth = np.array([wish.shape.depth(w) for w in row.width])
    return np.asarray(0.5 * (row.start + row.end) + share * depth[:, None] * up)


def distances(m: Measured, found: Touching) -> Array:
    """Distances of the valleys from the edge."""
    row = found.row
    return nearest(m.curve, np.concatenate([row.start[:1], row.end])).distance


@TOUCH
@pytest.mark.parametrize("n", [1, 2, 9, 10])
def test_straight_edge(touch: str, n: int) -> None:
    found = checked(line(), stops(line()), [n], Wish(SHARE, touch=touch))
    w, share = 300.0 / n, 1.0 if touch == "crest" else 0.5
    assert found.widths[0] == pytest.approx(w, rel=1e-11)
    np.testing.assert_allclose(found.row.end[:, 1], share * 0.4 * w, rtol=1e-9)
    np.testing.assert_allclose(found.row.s_end, w * np.arange(1, n + 1), rtol=1e-9)


@TOUCH
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("n", [8, 17])
def test_circle(touch: str, side: int, n: int) -> None:
    course = ring(100.0, 100.0)
    course = Course(course.measured, True, side)
    found = checked(course, stops(course), [n], Wish(DEEP, touch=touch))
    # r cos(pi / n) + d = R with the bulge outward, - d inward; the circle runs clockwise, so outward is left.
    r = (100.0 - side * (8.0 if touch == "crest" else 4.0)) / math.cos(math.pi / n)
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(math.pi / n), rel=1e-9)
    np.testing.assert_allclose(np.hypot(*found.row.start.T), r, rtol=1e-8)
    assert found.row.s_start[0] == 0.0
    assert found.row.s_end[-1] == pytest.approx(course.measured.length, rel=1e-12)


@TOUCH
@pytest.mark.parametrize("shape", [SHARE, DEEP, Shape("arc", "radius", 40.0), Shape("half-circle", "share", 0.5)])
@pytest.mark.parametrize("n", [12, 25])
def test_wave(touch: str, shape: Shape, n: int) -> None:
    course = wave()
    found = checked(course, stops(course), [n], Wish(shape, touch=touch))
    m, row = course.measured, found.row
    ends, tangents = m.points(np.array([0.0, m.length])), m.tangents(np.array([0.0, m.length]))
    assert abs(float((row.start[0] - ends[0]) @ tangents[0])) < 1e-9
    assert abs(float((row.end[-1] - ends[1]) @ tangents[1])) < 1e-9
    # The wave's curvature turns over within a few scallops, which stirs the distances: the less, the narrower they
    # are. A free zigzag would have second differences of the size of the width at any count.
    assert np.abs(np.diff(distances(m, found), 2)).max() < 3.0 / n * found.widths[0]


@pytest.mark.parametrize("weights", [(1.0, 0.6), (1.0, 1.0, 0.5)])
def test_unequal_scallops_of_one_depth(weights: tuple[float, ...]) -> None:
    found = checked(line(), stops(line()), [12], Wish(DEEP, weights=Weights(weights), touch="crest"))
    assert found.widths[0] == pytest.approx(300.0 / np.resize(weights, 12).sum(), rel=1e-10)
    np.testing.assert_allclose(found.row.end[:, 1], 8.0, rtol=1e-9)
    checked(wave(), stops(wave()), [24], Wish(DEEP, weights=Weights(weights), touch="middle"))


def test_alternating_depths_have_no_row() -> None:
    """The distances of two neighbouring valleys add up to twice the depth between them, so they would run away."""
    assert solve_touching(line(), stops(line()), [12], Wish(SHARE, weights=Weights((1.0, 0.6)), touch="crest")) is None


def test_growing_scallops() -> None:
    wish = Wish(SHARE, weights=Weights((1.0,), 2.0), touch="crest")
    found = checked(wave(), stops(wave()), [20], wish)
    np.testing.assert_allclose(found.row.weight, np.linspace(1.0, 2.0, 20))


def test_spaces_are_straight_on_with_the_base_lines() -> None:
    wish = Wish(SHARE, space=4.0, touch="crest")
    found = checked(line(), stops(line()), [10], wish)
    # Ten widths and nine spaces.
    assert found.widths[0] == pytest.approx(26.4, rel=1e-9)
    np.testing.assert_allclose(found.row.s_start, 30.4 * np.arange(10), atol=1e-6)
    course = ring(100.0, 100.0)
    row = checked(course, stops(course), [15], wish).row
    gap = np.roll(row.start, -1, axis=0) - row.end
    # Half a space on either side of each corner of the polygon.
    np.testing.assert_allclose(np.hypot(*gap.T), 4.0 * math.cos(math.pi / 15), rtol=1e-8)


@TOUCH
@pytest.mark.parametrize("course", [line(), wave()], ids=["line", "wave"])
def test_crest_at_the_start(touch: str, course: Course) -> None:
    found = checked(course, stops(course, first=CREST), [14.5], Wish(SHARE, touch=touch))
    row, m = found.row, course.measured
    assert list(row.part) == [SECOND_HALF] + [WHOLE] * 14
    assert (row.span == 0).all()
    assert row.s_start[0] == 0.0
    # The half's base line is square to its mirror line, which goes through the middle of it.
    start, tangent = m.points(np.zeros(1))[0], m.tangents(np.zeros(1))[0]
    np.testing.assert_allclose(row.end[0] - row.start[0], found.widths[0] * tangent, atol=1e-8)
    np.testing.assert_allclose(touching(course, found, Wish(SHARE, touch=touch))[0], start, atol=1e-8)
    np.testing.assert_allclose(row.start[1], row.end[0], atol=1e-9)


def test_crest_on_a_leaning_mirror_line() -> None:
    normal = (math.cos(0.1), math.sin(0.1))
    spans = spans_of(line(), (Stop("fold", 0.0, CREST, mirror=normal), Stop("end", 300.0, VALLEY)))
    row = checked(line(), spans, [10.5], Wish(DEEP, touch="crest")).row
    np.testing.assert_allclose((row.end[0] - row.start[0]) / row.width[0], normal, atol=1e-9)


@pytest.mark.parametrize("n", [1, 2, 9])
def test_crests_at_both_ends_of_what_is_symmetric(n: int) -> None:
    wish = Wish(SHARE, touch="crest")
    row = checked(line(), stops(line(), first=CREST, last=CREST), [n], wish).row
    assert list(row.part) == [SECOND_HALF] + [WHOLE] * (n - 1) + [FIRST_HALF]
    np.testing.assert_allclose(row.width, 300.0 / n, rtol=1e-9)
    quarter = Course(measure(ellipse_arc((0.0, 0.0), (90.0, 90.0), 0.0, 0.0, 0.5 * math.pi, 1e-9)), False, 1)
    row = checked(quarter, stops(quarter, first=CREST, last=CREST), [n], wish).row
    np.testing.assert_allclose(np.hypot(*row.start.T), np.hypot(*row.start[0]), rtol=1e-8)


def test_crests_at_both_ends_of_what_is_not() -> None:
    assert solve_touching(wave(), stops(wave(), first=CREST, last=CREST), [14], Wish(SHARE, touch="crest")) is None


@TOUCH
def test_inner_valley(touch: str) -> None:
    course, s = wave(), 220.0
    found = checked(course, stops(course, Stop("mark", s, VALLEY)), [6, 9], Wish(SHARE, touch=touch))
    row, at = found.row, np.array([s])
    valley = row.end[5]
    assert row.s_end[5] == row.s_start[6] == s
    np.testing.assert_allclose(row.start[6], valley, atol=1e-12)
    assert abs(float((valley - course.measured.points(at)[0]) @ course.measured.tangents(at)[0])) < 1e-8
    np.testing.assert_array_equal(row.span, [0] * 6 + [1] * 9)


@TOUCH
def test_inner_crest(touch: str) -> None:
    course, s = wave(), 220.0
    wish = Wish(SHARE, touch=touch)
    found = checked(course, stops(course, Stop("mark", s, CREST)), [6.5, 9.5], wish)
    row = found.row
    np.testing.assert_array_equal(row.span, [0] * 6 + [-1] + [1] * 9)
    np.testing.assert_allclose(touching(course, found, wish)[6], course.measured.points(np.array([s]))[0], atol=1e-8)
    assert row.width[6] == pytest.approx(0.5 * sum(found.widths), rel=1e-9)


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_a_span_alone(hold: str) -> None:
    course = wave()
    spans = stops(course, Stop("mark", 220.0, hold))
    half = 0.5 * (hold == CREST)
    row = checked(course, spans[1:], [9 + half], Wish(SHARE, touch="crest")).row
    assert row.s_start[0] == 220.0
    assert row.part[0] == (SECOND_HALF if hold == CREST else WHOLE)
    row = checked(course, spans[:1], [6 + half], Wish(SHARE, touch="crest")).row
    assert row.s_end[-1] == pytest.approx(220.0, abs=1e-9)


def test_gaps() -> None:
    spans = stops(line(), Stop("mark", 100.0, VALLEY, gap=5.0))
    row = checked(line(), spans, [4, 8], Wish(SHARE, touch="crest")).row
    np.testing.assert_allclose([row.s_end[3], row.s_start[4]], [95.0, 105.0])
    np.testing.assert_allclose(row.width, [95.0 / 4] * 4 + [195.0 / 8] * 8, rtol=1e-9)
    course = ring(100.0, 95.0)
    spans = stops(course, Stop("mark", 240.0, VALLEY, gap=5.0))
    row = checked(course, spans, [8, 13], Wish(SHARE, touch="crest")).row
    assert row.s_start[0] == 0.0
    np.testing.assert_allclose([row.s_end[7], row.s_start[8]], [235.0, 245.0])


@pytest.mark.parametrize("shape", [SHARE, DEEP])
@pytest.mark.parametrize("counts", [[9, 6, 9, 6], [10, 7, 10, 7], [10, 6, 9, 6]])
def test_rectangle_with_valleys_at_its_corners(shape: Shape, counts: list[float]) -> None:
    course = rectangle(300.0, 200.0)
    inner = (Stop("c1", 300.0, VALLEY), Stop("c2", 500.0, VALLEY), Stop("c3", 800.0, VALLEY))
    row = checked(course, stops(course, *inner), counts, Wish(shape, touch="crest")).row
    first = row.start[np.cumsum([0, *counts[:3]]).astype(int)]
    corners = np.array([(0, 0), (300, 0), (300, 200), (0, 200)])
    # On the bisectors, inside.
    inward = (first - corners) * np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)])
    np.testing.assert_allclose(inward[:, 0], inward[:, 1], atol=1e-6)
    assert (inward > 5.0).all()
    if shape is DEEP:
        # All valleys lie at the depth, so a side is shorter by twice that at its base line.
        assert row.width[0] == pytest.approx((300.0 - 16.0) / counts[0], rel=1e-9)


def test_crest_at_the_start_of_a_loop() -> None:
    course = ring(100.0, 95.0, start=0.2)
    wish = Wish(SHARE, touch="crest")
    found = checked(course, stops(course, first=CREST), [21], wish)
    assert list(found.row.span) == [0] * 20 + [-1]
    np.testing.assert_allclose(touching(course, found, wish)[-1], course.measured.points(np.zeros(1))[0], atol=1e-8)


def test_a_loop_slides_only_when_asked() -> None:
    course = ring(150.0, 120.0, start=0.3)
    wish = Wish(SHARE, touch="crest")
    assert solve_touching(course, stops(course), [20], wish) is None
    found = checked(course, stops(course), [20], wish, slide=True)
    assert 0.01 < abs(found.slid) < 0.6 * course.measured.length / 20
    assert found.row.s_start[0] == pytest.approx(found.slid)
    assert checked(course, stops(course), [21], wish, slide=True).slid == 0.0


def test_what_it_cannot_do_is_said() -> None:
    course = rectangle(300.0, 200.0)
    wrapped = stops(course, Stop("c1", 300.0, WRAP, turn=0.5 * math.pi))
    with pytest.raises(RequestError, match="--corner hold"):
        solve_touching(course, wrapped, [9, 20], Wish(SHARE, touch="crest"))
    with pytest.raises(RequestError, match="--step along"):
        solve_touching(line(), stops(line()), [9], Wish(SHARE, touch="middle", along=True))


def test_a_radius_too_small_for_the_width_is_no_fit() -> None:
    assert solve_touching(line(), stops(line()), [9], Wish(Shape("arc", "radius", 10.0), touch="crest")) is None


def test_counts_the_holds_cannot_take() -> None:
    assert solve_touching(line(), stops(line(), first=CREST), [9], Wish(SHARE, touch="crest")) is None


@settings(max_examples=12, deadline=None)
@given(
    st.integers(10, 30), st.floats(-3.0, 3.0), st.floats(0.2, 5.0), st.sampled_from(["crest", "middle"]), st.booleans()
)
def test_reversed_turned_and_scaled_rows_are_the_same(
    n: int, angle: float, scale: float, touch: str, inner_crest: bool
) -> None:
    wish = Wish(SHARE, touch=touch)
    course, half = wave(), 0.5 * inner_crest
    s, total = 200.0, wave().measured.length
    hold = CREST if inner_crest else VALLEY
    counts = [n // 2 - half, n - n // 2 + half]
    found = solve_touching(course, stops(course, Stop("mark", s, hold)), counts, wish)
    motion = scale * turned(angle, (10.0, 20.0))
    back = Course(measure(cubics.reverse(apply(motion, wave_curve()))), False, -1)
    mark = Stop("mark", back.measured.length * (1.0 - s / total), hold)
    again = solve_touching(back, stops(back, mark), counts[::-1], wish)
    assert (found is None) == (again is None)
    if found is not None and again is not None:
        np.testing.assert_allclose(again.widths[::-1], scale * np.array(found.widths), rtol=1e-8)
        # Evenness is a smooth minimum: its place is known to about the root of what its value is known to.
        np.testing.assert_allclose(again.row.end[::-1], apply(motion, found.row.start), atol=1e-6 * scale)


# ---------------------------------------------------------------- loops laid flat with their ends apart


def cone(angle: float, side: int = 1) -> Course:
    return Course(measure(*fan(100.0, angle, (7.0, 9.0))), True, side)


def check_round(course: Course, found: Touching) -> None:
    """The last scallop ends where the first one starts, a turn later."""
    m, row = course.measured, found.row
    np.testing.assert_allclose(m.carried(row.start[0]), row.end[-1], atol=1e-8)
    assert row.s_end[-1] - row.s_start[0] == pytest.approx(m.length, rel=1e-9)


@TOUCH
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("hold", [VALLEY, CREST])
@pytest.mark.parametrize(("angle", "n"), [(0.8, 4), (2.5, 9), (2.5, 10), (5.0, 30)])
def test_the_rim_of_a_cone(touch: str, side: int, hold: str, angle: float, n: int) -> None:
    course, wish = cone(angle, side), Wish(DEEP, touch=touch)
    found = checked(course, stops(course, first=hold), [n], wish)
    check_round(course, found)
    # The regular polygon's r cos a + d = R with the bulge outward, - d inward, for the nth part of the fan's angle.
    a = 0.5 * angle / n
    r = (100.0 - side * (8.0 if touch == "crest" else 4.0)) / math.cos(a)
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(a), rel=1e-9)
    np.testing.assert_allclose(np.hypot(*(found.row.start - (7.0, 9.0)).T), r, rtol=1e-8)
    if hold == CREST:
        joint = course.measured.points(np.array([course.measured.length]))[0]
        np.testing.assert_allclose(touching(course, found, wish)[-1], joint, atol=1e-8)
        before, after = np.hypot(*(found.row.start[-1] - joint)), np.hypot(*(found.row.end[-1] - joint))
        assert before == pytest.approx(after, rel=1e-9)


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_the_rim_of_a_cone_with_spaces(hold: str) -> None:
    course = cone(2.4)
    found = checked(course, stops(course, first=hold), [12], Wish(DEEP, space=3.0, touch="crest"))
    # A base line is a width and a space long.
    assert found.widths[0] == pytest.approx(2.0 * 92.0 * math.tan(0.1) - 3.0, rel=1e-9)
    again = course.measured.carried(found.row.start[0])
    gaps = np.hypot(*(np.concatenate([found.row.start[1:], again[None]]) - found.row.end).T)
    np.testing.assert_allclose(gaps, 3.0 * math.cos(0.1), rtol=1e-8)


@TOUCH
@pytest.mark.parametrize("n", [9, 10])
def test_one_side_of_a_square_closed_by_a_quarter_turn_is_the_square(touch: str, n: int) -> None:
    side = Course(measure(cubics.lines([(0, 0), (300, 0)]), turned(0.5 * math.pi, (150.0, 150.0))), True, 1)
    square, wish = rectangle(300.0, 300.0), Wish(DEEP, touch=touch)
    corners = (Stop("c1", 300.0, VALLEY), Stop("c2", 600.0, VALLEY), Stop("c3", 900.0, VALLEY))
    found = checked(side, stops(side), [n], wish)
    whole = checked(square, stops(square, *corners), [n] * 4, wish)
    check_round(side, found)
    np.testing.assert_allclose(found.row.end, whole.row.end[:n], atol=1e-6)


@TOUCH
def test_a_gap_on_a_loop_laid_flat(touch: str) -> None:
    """From gap to gap, over the closing, it is an open line with a valley held on it."""
    curve = wave_curve()
    course = Course(measure(curve, closing_of(curve)), True, 1)
    m, wish = course.measured, Wish(SHARE, touch=touch)
    row = checked(course, stops(course, Stop("mark", 320.0, VALLEY, gap=5.0)), [12, 7], wish).row
    assert row.s_start[0] == 0.0
    np.testing.assert_allclose([row.s_end[11], row.s_start[12]], [315.0, 325.0])
    np.testing.assert_allclose(m.carried(row.start[0]), row.end[-1], atol=1e-8)
    flat = Course(measure(m.part(325.0, m.length + 315.0)), False, 1)
    held = stops(flat, Stop("joint", m.length - 325.0, VALLEY))
    unrolled = checked(flat, held, [7, 12], wish).row
    np.testing.assert_allclose(unrolled.end[:7], row.end[12:], atol=1e-6)
    np.testing.assert_allclose(unrolled.end[7:], m.carried(row.end[:12]), atol=1e-6)


@settings(max_examples=10, deadline=None)
@given(
    wavy_lines(),
    st.floats(-0.2, 0.2),
    st.sampled_from(["crest", "middle"]),
    st.sampled_from([VALLEY, CREST]),
    st.floats(-3.0, 3.0),
)
def test_round_any_loop_laid_flat_wherever_it_lies(
    curve: Array, kink: float, touch: str, hold: str, angle: float
) -> None:
    closing = closing_of(curve, kink)
    course = Course(measure(curve, closing), True, 1)
    n = max(5, round(course.measured.length / 15.0))
    wish = Wish(Shape("arc", "share", 0.3), touch=touch)
    frame = turned(angle, (500.0, 100.0))
    moved = Course(measure(apply(frame, curve), compose(frame, compose(closing, inverse(frame)))), True, 1)
    found, again = (solve_touching(c, stops(c, first=hold), [n], wish, slide=hold == VALLEY) for c in (course, moved))
    assert (found is None) == (again is None)
    if found is not None and again is not None:
        check_round(course, checked(course, stops(course, first=hold), [n], wish, slide=hold == VALLEY))
        assert again.widths[0] == pytest.approx(found.widths[0], rel=1e-8)
        # Evenness is a smooth minimum: its place is known to about the root of what its value is known to.
        np.testing.assert_allclose(again.row.end, apply(frame, found.row.end), atol=1e-6)
