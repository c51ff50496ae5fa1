"""Fitting on one course: whole counts, equal chords, valleys on the line, and the same answer however it is drawn."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.motion import apply, compose, inverse, moved, scaled, turned
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.edge import Edge, Spot, begin_at
from scallopkit.trim.course import CREST, VALLEY, WRAP, Course, Stop, Weights, Wish
from scallopkit.trim.fit import Fit, fit
from scallopkit.trim.holds import End, Holds, plan_of
from scallopkit.trim.row import FIRST_HALF, SECOND_HALF, WHOLE
from scallopkit.trim.shape import Shape

from ..shapes import circle, closing_of, course, crest_ends, fan, rectangle, valley_ends, wavy_lines
from ..shapes import piece as piece_of

ARC = Shape("arc", "share", 0.4)


def fitted(curve: Array, loop: bool = False, **wish: object) -> Fit:
    c = course(curve, loop)
    return fit(c, valley_ends(c), Wish(ARC, **wish))  # type: ignore[arg-type]


@settings(max_examples=60, deadline=None)
@given(wavy_lines(), st.floats(8.0, 40.0))
def test_any_line_and_width_give_whole_equal_chords_with_valleys_on_the_line(curve: Array, width: float) -> None:
    found = fitted(curve, width=width)
    row = found.row
    assert found.count == len(row) == round(found.count)
    chord = np.hypot(*(row.end - row.start).T)
    assert chord.max() / chord.min() - 1.0 <= 1e-9
    valleys = np.concatenate([row.start, row.end[-1:]])
    assert nearest(curve, valleys).distance.max() <= 1e-6
    assert np.allclose(row.start[1:], row.end[:-1], atol=0.0)
    assert np.allclose(valleys[[0, -1]], [curve[0, 0], curve[-1, 3]], atol=1e-9)


@settings(max_examples=40, deadline=None)
@given(wavy_lines(), st.floats(8.0, 40.0))
def test_every_valley_is_the_first_place_the_dividers_meet(curve: Array, width: float) -> None:
    c = course(curve)
    row = fitted(curve, width=width).row
    for start, s0, s1, w in zip(row.start, row.s_start, row.s_end, row.width, strict=True):
        on_the_way = c.measured.points(np.linspace(s0, s1, 200)[:-1])
        # A thousandth of the step before the end the distance has not yet been reached.
        assert np.hypot(*(on_the_way - start).T)[:-1].max() < w


@settings(max_examples=30, deadline=None)
@given(wavy_lines(), st.floats(10.0, 40.0), st.floats(-3.0, 3.0), st.floats(0.2, 5.0))
def test_moved_turned_scaled_and_split_lines_give_the_same_fit(
    curve: Array, width: float, angle: float, scale: float
) -> None:
    first = fitted(curve, width=width)
    motion = compose(turned(angle, (11.0, -7.0)), scaled(scale, scale))
    moved = fitted(apply(motion, curve), width=width * scale)
    assert moved.count == first.count
    assert moved.widths[0] == pytest.approx(first.widths[0] * scale, rel=1e-9)
    assert np.allclose(moved.row.end, apply(motion, first.row.end), atol=1e-6 * scale)
    every = np.repeat(np.arange(len(curve)), 2)
    at = np.tile([0.0, 0.37], len(curve))
    split = cubics.cut(curve, every, at, np.tile([0.37, 1.0], len(curve)))
    assert fitted(split, width=width).widths[0] == pytest.approx(first.widths[0], rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(wavy_lines(), st.floats(10.0, 40.0))
def test_walked_backwards_the_valleys_are_the_same(curve: Array, width: float) -> None:
    first = fitted(curve, width=width)
    back = fitted(cubics.reverse(curve), width=width)
    assert back.count == first.count
    assert back.widths[0] == pytest.approx(first.widths[0], rel=1e-9)
    assert np.allclose(back.row.start[::-1], first.row.end, atol=1e-6)


@settings(max_examples=25, deadline=None)
@given(wavy_lines(), st.floats(10.0, 40.0))
def test_half_scallops_at_both_ends_stand_square_to_their_mirror_lines(curve: Array, width: float) -> None:
    c = course(curve)
    stops = crest_ends(c)
    found = fit(c, stops, Wish(ARC, width=width))
    row = found.row
    assert row.part.tolist() == [SECOND_HALF] + [WHOLE] * (len(row) - 2) + [FIRST_HALF]
    assert found.count == len(row) - 1
    first = (row.end[0] - curve[0, 0]) @ np.array(stops[0].mirror)
    last = (curve[-1, 3] - row.start[-1]) @ np.array(stops[1].mirror)
    assert first == pytest.approx(found.widths[0] / 2.0, rel=1e-9)
    assert last == pytest.approx(found.widths[0] / 2.0, rel=1e-9)


def test_a_quarter_on_two_folds_is_a_quarter_of_the_whole_circle() -> None:
    quarter = ellipse_arc((0.0, 0.0), (800.0, 800.0), 0.0, 0.0, 0.5 * math.pi, 1e-9)
    c = course(quarter)
    found = fit(c, crest_ends(c), Wish(ARC, width=80.0))
    assert found.count == 16
    # The chord of 64 equal parts of a circle of diameter 1600.
    assert found.widths[0] == pytest.approx(1600.0 * math.sin(math.pi / 64.0), rel=1e-9)


def test_a_loop_with_a_crest_hold_is_the_loop_turned_by_half_a_scallop() -> None:
    c = course(circle(50.0), loop=True)
    held = fit(c, (Stop("top", 0.0, CREST),), Wish(ARC, count=17))
    assert held.widths[0] == pytest.approx(100.0 * math.sin(math.pi / 17.0), rel=1e-9)
    half = 100.0 * math.pi / 34.0
    assert held.row.s_start[0] == pytest.approx(half, rel=1e-9)


def test_wrapped_corners_of_a_square() -> None:
    # Side = n w + 2 a + w with a = r - h and h = w / 3: with 13 whole scallops a side of 420 mm, w = 29.13 mm.
    c = course(rectangle(420.0, 420.0), loop=True)
    stops = tuple(Stop(f"c{i}", 420.0 * i, WRAP, turn=math.pi / 2.0) for i in range(4))
    found = fit(c, stops, Wish(Shape("arc", "share", 1.0 / 3.0), count=56))
    r = (1.0 / 4.0 + 1.0 / 9.0) / (2.0 / 3.0)
    expected = 420.0 / (13.0 + 2.0 * (r - 1.0 / 3.0) + 1.0)
    assert found.widths == pytest.approx((expected,) * 4, rel=1e-9)
    assert round(expected, 2) == 29.13
    corner = found.row.turn > 0.0
    assert corner.sum() == 4
    a = (r - 1.0 / 3.0) * expected
    assert found.row.width[corner] == pytest.approx(math.sqrt(2.0) * (a + expected / 2.0), rel=1e-9)


def test_a_wrapped_corner_of_fixed_depth_solves_the_same_law() -> None:
    c = course(rectangle(420.0, 300.0), loop=True)
    at = (0.0, 420.0, 720.0, 1140.0)
    stops = tuple(Stop(f"c{i}", s, WRAP, turn=math.pi / 2.0) for i, s in enumerate(at))
    found = fit(c, stops, Wish(Shape("arc", "depth", 9.0), width=30.0))
    for k, side in enumerate((420.0, 300.0, 420.0, 300.0)):
        neighbours = [0.5 * (found.widths[k] + found.widths[(k + j) % 4]) for j in (-1, 1)]
        reach = sum(w / 2.0 + (w * w / 4.0 + 81.0) / 18.0 - 9.0 for w in neighbours)
        assert found.counts[k] * found.widths[k] + reach == pytest.approx(side, rel=1e-9)


def test_a_crest_inside_belongs_to_both_spans() -> None:
    c = course(cubics.lines([(0, 0), (230, 0)]))
    stops = (Stop("a", 0.0, VALLEY), Stop("m", 100.0, CREST), Stop("b", 230.0, VALLEY))
    found = fit(c, stops, Wish(ARC, width=20.0))
    row = found.row
    shared = int(np.flatnonzero(row.span == -1)[0])
    assert row.width[shared] == pytest.approx(np.mean(found.widths), rel=1e-9)
    middle = 0.5 * (row.start[shared] + row.end[shared])
    assert np.allclose(middle, (100.0, 0.0), atol=1e-6)
    assert found.counts == (5.5, 6.5)
    assert found.residual <= 1e-9


@settings(max_examples=25, deadline=None)
@given(wavy_lines(), st.floats(0.2, 0.8), st.floats(8.0, 16.0))
def test_a_crest_inside_a_curve_has_its_valleys_equally_far(curve: Array, share: float, width: float) -> None:
    c = course(curve)
    s = share * c.measured.length
    assume(s > 3.0 * width and c.measured.length - s > 3.0 * width)
    stops = (*valley_ends(c)[:1], Stop("m", s, CREST), valley_ends(c)[1])
    row = fit(c, stops, Wish(ARC, width=width)).row
    shared = int(np.flatnonzero(row.span == -1)[0])
    hold = c.measured.points(np.array([s]))[0]
    before, after = np.hypot(*(row.start[shared] - hold)), np.hypot(*(row.end[shared] - hold))
    assert before == pytest.approx(after, rel=1e-9)


def test_a_space_is_left_between_but_not_at_free_ends() -> None:
    found = fit(*_straight(230.0), Wish(ARC, count=10, space=5.0))
    assert found.widths[0] == pytest.approx((230.0 - 9 * 5.0) / 10.0, rel=1e-9)
    gaps = found.row.s_start[1:] - found.row.s_end[:-1]
    assert gaps == pytest.approx(5.0, rel=1e-9)
    c = course(circle(50.0), loop=True)
    ring = fit(c, valley_ends(c), Wish(ARC, count=12, space=4.0))
    following = np.roll(ring.row.start, -1, axis=0)
    assert np.hypot(*(following - ring.row.end).T) == pytest.approx(4.0, rel=1e-9)


def test_half_the_space_stands_on_either_side_of_an_inner_valley() -> None:
    c = course(cubics.lines([(0, 0), (230, 0)]))
    stops = (Stop("a", 0.0, VALLEY), Stop("m", 100.0, VALLEY), Stop("b", 230.0, VALLEY))
    row = fit(c, stops, Wish(ARC, width=20.0, space=6.0)).row
    last = int(np.flatnonzero(row.span == 0)[-1])
    assert row.s_end[last] == pytest.approx(97.0)
    assert row.s_start[last + 1] == pytest.approx(103.0)


def test_a_gap_stops_short_and_starts_again() -> None:
    c = course(cubics.lines([(0, 0), (230, 0)]))
    stops = (Stop("a", 0.0, VALLEY, gap=15.0), Stop("m", 100.0, VALLEY, gap=4.0), Stop("b", 230.0, VALLEY))
    row = fit(c, stops, Wish(ARC, width=20.0)).row
    last = int(np.flatnonzero(row.span == 0)[-1])
    assert row.s_start[0] == pytest.approx(15.0)
    assert row.s_end[last] == pytest.approx(96.0)
    assert row.s_start[last + 1] == pytest.approx(104.0)


def test_sizes_in_turn_and_growing_sizes() -> None:
    turn = fit(*_straight(230.0), Wish(ARC, width=20.0, weights=Weights((1.0, 0.5))))
    assert turn.row.width == pytest.approx(np.resize([20.0, 10.0], 15), rel=1e-9)
    grown = fit(*_straight(230.0), Wish(ARC, width=20.0, weights=Weights((1.0,), 2.0)))
    assert np.diff(grown.row.width) == pytest.approx(np.full(len(grown.row) - 1, np.diff(grown.row.width)[0]))
    assert grown.row.width[-1] > 1.8 * grown.row.width[0]


def test_on_a_loop_a_pattern_of_sizes_closes() -> None:
    c = course(circle(50.0), loop=True)
    found = fit(c, valley_ends(c), Wish(ARC, width=20.0, weights=Weights((1.0, 0.5))))
    assert len(found.row) % 2 == 0
    with pytest.raises(NoFitError):
        fit(c, valley_ends(c), Wish(ARC, count=17, weights=Weights((1.0, 0.5))))


@settings(max_examples=20, deadline=None)
@given(wavy_lines(), st.floats(8.0, 40.0))
def test_along_the_edge_steps_are_equal_in_length(curve: Array, width: float) -> None:
    row = fitted(curve, width=width, along=True).row
    steps = row.s_end - row.s_start
    assert steps == pytest.approx(np.full(len(row), steps.mean()), rel=1e-9)


def test_a_count_is_kept_and_one_that_cannot_be_names_its_neighbours() -> None:
    assert fit(*_straight(230.0), Wish(ARC, count=7)).count == 7
    with pytest.raises(NoFitError, match="3 or 4") as refused:
        fit(*_straight(230.0), Wish(ARC, count=3.5))
    assert refused.value.counts == (3.0, 4.0)
    for count in refused.value.counts:
        assert fit(*_straight(230.0), Wish(ARC, count=count)).count == count


def test_a_flat_ring_refuses_three_and_offers_what_works() -> None:
    ring = circle(50.0) * [1.0, 0.2]
    c = course(ring, loop=True)
    with pytest.raises(NoFitError) as refused:
        fit(c, valley_ends(c), Wish(ARC, count=3))
    assert refused.value.counts
    for count in refused.value.counts:
        assert fit(c, valley_ends(c), Wish(ARC, count=count)).residual <= 1e-9


def test_limits_of_the_width_are_kept_or_said_to_be_left() -> None:
    inside = fit(*_straight(230.0), Wish(ARC, least=18.0, most=22.0))
    assert 18.0 <= inside.widths[0] <= 22.0
    assert not inside.outside_limits
    outside = fit(*_straight(230.0), Wish(ARC, width=20.0, least=22.0, most=22.5))
    assert outside.outside_limits


@pytest.mark.parametrize(
    ("wish", "says"),
    [
        (Wish(ARC), "--width"),
        (Wish(ARC, width=300.0), "shorter than one scallop"),
        (Wish(ARC, width=20.0, least=30.0, most=20.0), "above the greatest"),
    ],
)
def test_wishes_that_contradict_are_refused(wish: Wish, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        fit(*_straight(230.0), wish)


def test_gaps_longer_than_the_edge_are_refused() -> None:
    c, (a, b) = _straight(20.0)
    with pytest.raises(RequestError, match="gaps take"):
        fit(c, (replace(a, gap=15.0), replace(b, gap=15.0)), Wish(ARC, width=5.0))


def test_alternatives_are_the_next_counts_with_their_widths() -> None:
    found = fit(*_straight(230.0), Wish(ARC, width=20.0))
    assert [(a.count, round(a.width, 9)) for a in found.alternatives] == [
        (found.count - 1, round(230.0 / (found.count - 1), 9)),
        (found.count + 1, round(230.0 / (found.count + 1), 9)),
    ]


def _straight(length: float) -> tuple[Course, tuple[Stop, ...]]:
    c = course(cubics.lines([(0, 0), (length, 0)]))
    return c, valley_ends(c)


def test_half_the_space_stands_at_a_fold_with_a_valley() -> None:
    c, (a, b) = _straight(230.0)
    row = fit(c, (replace(a, fold=True), b), Wish(ARC, count=10, space=6.0)).row
    assert row.s_start[0] == pytest.approx(3.0)
    assert row.s_end[-1] == pytest.approx(230.0)


def test_a_crest_held_at_a_corner_is_the_bisectors() -> None:
    # Two sides of 150 mm: n whole ones each, and half the corner's scallop square to the bisector: (n + sqrt 1/2) w.
    c = course(rectangle(150.0, 150.0), loop=True)
    stops = tuple(Stop(f"c{i}", 150.0 * i, CREST if i == 0 else VALLEY) for i in range(4))
    turned = (*stops[1:], Stop("c0", 600.0, CREST))
    shifted = tuple(replace(stop, s=stop.s - 150.0) for stop in turned)
    moved = np.concatenate([c.measured.part(150.0, 600.0), c.measured.part(0.0, 150.0)])
    found = fit(course(moved, loop=True), shifted, Wish(Shape("arc", "share", 0.2), width=30.0))
    assert found.widths[:2] == pytest.approx((30.0, 30.0))
    assert found.widths[2:] == pytest.approx((150.0 / (4.0 + math.sqrt(0.5)),) * 2, rel=1e-9)


def test_half_a_scallop_alone_on_a_fold() -> None:
    c, (_, b) = _straight(15.0)
    found = fit(c, (crest_ends(c)[0], b), Wish(ARC, width=30.0))
    assert found.count == 0.5
    assert found.row.width[0] == pytest.approx(30.0)
    with pytest.raises(RequestError, match="half a scallop"):
        fit(c, (crest_ends(c)[0], b), Wish(ARC, width=31.0))


def test_alternatives_tell_the_worst_of_their_widths() -> None:
    c = course(cubics.lines([(0, 0), (230, 0)]))
    stops = (Stop("a", 0.0, VALLEY), Stop("m", 100.0, VALLEY), Stop("b", 230.0, VALLEY))
    for other in fit(c, stops, Wish(ARC, width=20.0)).alternatives:
        again = fit(c, stops, Wish(ARC, count=other.count))
        assert other.width == pytest.approx(np.mean(again.widths), rel=1e-9)
        assert abs(other.change) == pytest.approx(max(abs(w / 20.0 - 1.0) for w in again.widths), rel=1e-9)


# ---------------------------------------------------------------- loops laid flat with their ends apart


def held(c: Course, hold: str, **wish: object) -> Fit:
    return fit(c, (Stop("joint", 0.0, hold),), Wish(ARC, **wish))  # type: ignore[arg-type]


def check_round(c: Course, found: Fit) -> None:
    """Equal chords all round, neighbours that share their valleys, the last and the first across the closing."""
    row, m = found.row, c.measured
    chord = np.hypot(*(row.end - row.start).T) / row.weight
    assert chord.max() / chord.min() - 1.0 <= 1e-9
    assert np.abs(row.start[1:] - row.end[:-1]).max() == 0.0
    assert np.abs(m.carried(row.start[0]) - row.end[-1]).max() <= 1e-6
    assert row.s_end[-1] - row.s_start[0] == pytest.approx(m.length, rel=1e-12)
    assert (row.s_start < row.s_end).all()
    assert np.abs(m.points(row.s_end) - row.end).max() <= 1e-6


@pytest.mark.parametrize("hold", [VALLEY, CREST])
@pytest.mark.parametrize("angle", [0.6, 2.4, 5.0])
@pytest.mark.parametrize("n", [5, 16])
def test_a_cones_rim_has_the_chords_of_its_fan(hold: str, angle: float, n: int) -> None:
    c = course(*fan_course(300.0, angle))
    found = held(c, hold, count=n)
    assert found.widths[0] == pytest.approx(600.0 * math.sin(0.5 * angle / n), rel=1e-9)
    check_round(c, found)
    if hold == CREST:
        # Half of it lies on either side of the joint, the second half beyond the end of the flat line.
        joint = c.measured.points(np.array([c.measured.length]))[0]
        assert found.row.s_end[-1] > c.measured.length > found.row.s_start[-1]
        before, after = np.hypot(*(found.row.start[-1] - joint)), np.hypot(*(found.row.end[-1] - joint))
        assert before == pytest.approx(after, rel=1e-9)
        assert found.row.span[-1] == -1


def fan_course(radius: float, angle: float) -> tuple[Array, bool, int, Array]:
    curve, closing = fan(radius, angle, (40.0, -10.0))
    return curve, True, 1, closing


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_a_cones_rim_with_spaces_and_with_sizes_in_turn(hold: str) -> None:
    c = course(*fan_course(300.0, 2.4))
    spaced = held(c, hold, count=12, space=6.0)
    # The angles of both chords, the scallop's and the space's, fill a twelfth of the fan.
    assert spaced.widths[0] == pytest.approx(600.0 * math.sin(0.1 - math.asin(0.01)), rel=1e-9)
    row = spaced.row
    again = c.measured.carried(row.start[0])
    gaps = np.hypot(*(np.concatenate([row.start[1:], again[None]]) - row.end).T)
    assert gaps == pytest.approx(6.0, rel=1e-9)

    turn = held(c, hold, count=12, weights=Weights((2.0, 1.0)))
    w = turn.widths[0]
    assert 12.0 * (math.asin(w / 600.0) + math.asin(2.0 * w / 600.0)) == pytest.approx(2.4, rel=1e-9)
    check_round(c, turn)


def test_a_cones_rim_by_length_along_the_edge() -> None:
    c = course(*fan_course(300.0, 2.4))
    for hold in (VALLEY, CREST):
        found = held(c, hold, count=12, along=True)
        check_round(c, found)
        assert found.row.s_end - found.row.s_start == pytest.approx(60.0, rel=1e-9)


def test_a_square_closed_by_quarter_turns_wraps_its_corner() -> None:
    """One side and a quarter turn are the whole square."""
    shape = Shape("arc", "share", 1.0 / 3.0)
    quarter = turned(0.5 * math.pi, (210.0, 210.0))
    c = course(cubics.lines([(0.0, 0.0), (420.0, 0.0)]), True, closing=quarter)
    side = fit(c, (Stop("c0", 0.0, WRAP, turn=0.5 * math.pi),), Wish(shape, count=14))
    square = course(rectangle(420.0, 420.0), loop=True)
    corners = tuple(Stop(f"c{i}", 420.0 * i, WRAP, turn=0.5 * math.pi) for i in range(4))
    whole = fit(square, corners, Wish(shape, count=56))
    assert side.widths[0] == pytest.approx(whole.widths[0], rel=1e-9)
    assert np.allclose(side.row.end, whole.row.end[:14], atol=1e-6)
    assert side.row.width == pytest.approx(whole.row.width[:14], rel=1e-9)
    assert side.row.s_end[-1] == pytest.approx(whole.row.s_end[13], rel=1e-9)


def test_a_crest_held_at_the_corner_where_a_loop_closes_is_the_bisectors() -> None:
    # Half a square and half a turn: (4 + sqrt 1/2) w on a side of 150 mm, as round the whole square.
    half_turn = turned(math.pi, (75.0, 75.0))
    c = course(cubics.lines([(0.0, 0.0), (150.0, 0.0), (150.0, 150.0)]), True, closing=half_turn)
    found = fit(c, (Stop("c0", 0.0, CREST), Stop("c1", 150.0, VALLEY)), Wish(Shape("arc", "share", 0.2), width=30.0))
    assert found.widths == pytest.approx((150.0 / (4.0 + math.sqrt(0.5)),) * 2, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(
    wavy_lines(),
    st.floats(-0.3, 0.3),
    st.floats(8.0, 25.0),
    st.sampled_from([VALLEY, CREST]),
    st.floats(-3.0, 3.0),
    st.tuples(st.floats(-500.0, 500.0), st.floats(-500.0, 500.0)),
)
def test_round_any_loop_laid_flat_all_chords_are_equal_wherever_it_lies(
    curve: Array, kink: float, width: float, hold: str, angle: float, shift: tuple[float, float]
) -> None:
    closing = closing_of(curve, kink)
    c = course(curve, True, closing=closing)
    assume(c.measured.length > 5.0 * width)
    found = held(c, hold, width=width)
    check_round(c, found)
    if hold == CREST:
        joint = c.measured.points(np.array([c.measured.length]))[0]
        before, after = np.hypot(*(found.row.start[-1] - joint)), np.hypot(*(found.row.end[-1] - joint))
        assert before == pytest.approx(after, rel=1e-9)
    frame = compose(moved(*shift), turned(angle))
    other = course(apply(frame, curve), True, closing=compose(frame, compose(closing, inverse(frame))))
    again = held(other, hold, width=width)
    assert again.count == found.count
    assert again.widths[0] == pytest.approx(found.widths[0], rel=1e-9)
    assert np.allclose(again.row.end, apply(frame, found.row.end), atol=1e-6)


@settings(max_examples=30, deadline=None)
@given(wavy_lines(), st.floats(-0.3, 0.3), st.floats(8.0, 25.0), st.floats(0.05, 0.95))
def test_a_crest_held_on_a_loop_is_the_same_wherever_the_loop_begins(
    curve: Array, kink: float, width: float, share: float
) -> None:
    length = course(curve).measured.length
    assume(length > 5.0 * width)
    spots = (Spot("a", 0.0), Spot("b", share * length))
    own = piece_of("p", curve)
    edge = Edge("run", own, curve, True, "a", "a", (), spots, 0, None, None, None, closing_of(curve, kink))
    fits = []
    for drawn in (edge, begin_at(edge, "b")):
        made = plan_of(drawn, 1, Holds(marks={"a": End(CREST)}))
        fits.append((made, fit(made.course, made.ways[0], Wish(ARC, width=width))))
    (first, found), (later, again) = fits
    assert first.origin == 0.0
    assert later.origin == pytest.approx((1.0 - share) * length, rel=1e-9)
    assert again.count == found.count
    assert again.widths[0] == pytest.approx(found.widths[0], rel=1e-9)
    # What begins at b has come round to a a turn later.
    assert np.allclose(again.row.end, first.course.measured.carried(found.row.end), atol=1e-6)
    check_round(later.course, again)
