"""Stepping with dividers: equal chords or none, on the curve, each step the first crossing, whatever else changes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics, dividers
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, ends_direction, lines
from scallopkit.geometry.dividers import (
    CHORD,
    FROM_LINE,
    PIVOT,
    TO_LINE,
    Chain,
    Steps,
    chords_between,
    equal_chords,
    solve,
)
from scallopkit.geometry.length import Measured, measure
from scallopkit.geometry.motion import IDENTITY, apply, compose, inverse, moved, scaled, turned
from scallopkit.geometry.nearest import nearest

from ..shapes import closing_of, fan

TURN = 2.0 * math.pi


@st.composite
def wild(draw: st.DrawFn) -> Array:
    """One to three cubics end to end, of any shape: corners, loops and cusps included."""
    coordinate = st.floats(-200.0, 200.0)
    n = draw(st.integers(1, 3))
    points = draw(st.lists(st.tuples(coordinate, coordinate), min_size=3 * n + 1, max_size=3 * n + 1))
    p = np.array(points)
    assume(np.ptp(p, axis=0).max() > 1.0)
    return np.stack([p[3 * i : 3 * i + 4] for i in range(n)])


@st.composite
def gentle(draw: st.DrawFn) -> Array:
    """A smooth line of one to five cubics, as an edge is drawn: each turns by at most 50 degrees either way."""
    n = draw(st.integers(1, 5))
    angle = draw(st.lists(st.floats(-0.45, 0.45), min_size=n + 1, max_size=n + 1))
    size = draw(st.lists(st.floats(20.0, 150.0), min_size=n, max_size=n))
    heading = np.cumsum(angle)
    at, curve = np.zeros(2), []
    for k in range(n):
        a = np.array([math.cos(heading[k]), math.sin(heading[k])])
        b = np.array([math.cos(heading[k + 1]), math.sin(heading[k + 1])])
        end = at + size[k] * (a + b) / np.hypot(*(a + b))
        curve.append([at, at + 0.35 * size[k] * a, end - 0.35 * size[k] * b, end])
        at = end
    return np.array(curve)


def ellipse(a: float, b: float, first: float = 0.0) -> Measured:
    return measure(ellipse_arc((0.0, 0.0), (a, b), 0.0, first, TURN, 1e-9 * a), IDENTITY)


def chords(steps: Steps) -> Array:
    return np.asarray(np.hypot(*np.diff(steps.points, axis=0).T))


def check(m: Measured, steps: Steps, weights: Array) -> None:
    """Everything that is promised of a row of steps from end to end of a curve, judged without the solver's means."""
    size = float(np.abs(m.curve).max())
    assert len(steps.s) == len(weights) + 1
    assert np.isfinite(steps.s).all()
    assert (np.diff(steps.s) > 0.0).all()
    assert (steps.s[0], steps.s[-1]) == (0.0, m.length)
    assert (steps.widths > 0.0).all()
    assert np.abs(chords(steps) / (weights * steps.widths[0]) - 1.0).max() <= 1e-9
    assert steps.residual <= 1e-9
    # On the curve to a millionth of a mm, by a search for the nearest place that knows no lengths.
    assert nearest(m.curve, steps.points).distance.max() <= 1e-6
    assert np.abs(m.points(steps.s) - steps.points).max() <= 1e-6
    assert np.abs(steps.points[[0, -1]] - m.points(np.array([0.0, m.length]))).max() <= 1e-12 * size + 1e-12
    assert_first_crossings(m, steps)


def assert_first_crossings(m: Measured, steps: Steps) -> None:
    """Between its ends no step's piece of curve comes as far from its origin as the dividers are open."""
    share = np.linspace(0.0, 1.0, 150)[1:-1]
    s = steps.s[:-1, None] + np.diff(steps.s)[:, None] * share
    points = m.points(s.ravel()).reshape(*s.shape, 2)
    away = np.hypot(*np.moveaxis(points - steps.points[:-1, None], -1, 0))
    # A graze, nearer than a millionth of the opening, is no crossing.
    assert (away.max(axis=1) <= chords(steps) * (1.0 + 2e-6) + 1e-9).all()


def split(curve: Array, t: float) -> Array:
    n = np.arange(len(curve))
    zero, at, one = np.zeros(len(n)), np.full(len(n), t), np.ones(len(n))
    parts = np.stack([cubics.cut(curve, n, zero, at), cubics.cut(curve, n, at, one)], axis=1)
    return parts.reshape(-1, 4, 2)


# ---------------------------------------------------------------- any curve, any count


@given(wild(), st.integers(1, 25))
@settings(max_examples=80, deadline=None)
def test_equal_or_none(curve: Array, count: int) -> None:
    m = measure(curve)
    steps = equal_chords(m, count)
    if steps is not None:
        check(m, steps, np.ones(count))


@given(gentle(), st.integers(1, 60))
@settings(max_examples=80, deadline=None)
def test_an_edge_as_drawn_always_has_an_answer(curve: Array, count: int) -> None:
    m = measure(curve)
    steps = equal_chords(m, count)
    # In a circle's worth of turning a few long steps may jump over cloth; many never do.
    if steps is None:
        turn = np.abs(np.diff(np.unwrap(np.arctan2(*m.tangents(np.linspace(0, m.length, 400)).T[::-1])))).sum()
        assert count < 3.0 * turn
        # Nor may the search lose what Newton alone would have found and proved.
        assert dividers.solve(m, chords_between(m, np.array([0.0, m.length]), [np.ones(count)])) is None
        return
    check(m, steps, np.ones(count))


@given(gentle(), st.lists(st.floats(0.3, 3.0), min_size=6, max_size=20))
@settings(max_examples=50, deadline=None)
def test_weights(curve: Array, weights: list[float]) -> None:
    m, g = measure(curve), np.array(weights)
    steps = equal_chords(m, len(g), g)
    assume(steps is not None)
    assert steps is not None
    check(m, steps, g)


def test_one_step_is_the_chord() -> None:
    curve = np.array([[(0.0, 0.0), (30.0, 40.0), (60.0, 40.0), (90.0, 0.0)]])
    steps = equal_chords(measure(curve), 1)
    assert steps is not None
    assert steps.widths[0] == pytest.approx(90.0, rel=1e-12)


@pytest.mark.parametrize("count", [1, 2, 7, 1000])
def test_a_straight_line(count: int) -> None:
    steps = equal_chords(measure(lines([(0.0, 0.0), (300.0, 400.0)])), count)
    assert steps is not None
    assert steps.widths[0] == pytest.approx(500.0 / count, rel=1e-12)
    assert np.allclose(steps.s, np.linspace(0.0, 500.0, count + 1), rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("count", [3, 4, 7, 50, 2000])
def test_a_circle(count: int) -> None:
    m = ellipse(80.0, 80.0, 0.3)
    steps = equal_chords(m, count)
    assert steps is not None
    check(m, steps, np.ones(count))
    assert steps.widths[0] == pytest.approx(160.0 * math.sin(math.pi / count), rel=1e-9)


# ---------------------------------------------------------------- what must not matter


@given(
    gentle(), st.integers(8, 40), st.floats(-3.0, 3.0), st.sampled_from([1e-2, 0.3, 7.0, 1e2]), st.floats(0.02, 0.98)
)
@settings(max_examples=60, deadline=None)
def test_reversed_moved_scaled_split(curve: Array, count: int, angle: float, scale: float, t: float) -> None:
    base = equal_chords(measure(curve), count)
    assume(base is not None)
    assert base is not None
    motion = compose(moved(-120.0, 35.0), compose(turned(angle), scaled(scale, -scale)))
    variants = [(cubics.reverse(curve), 1.0), (apply(motion, curve), scale), (split(curve, t), 1.0)]
    for other, factor in variants:
        steps = equal_chords(measure(other), count)
        # The guard may refuse one direction only.
        if steps is not None:
            assert steps.widths[0] == pytest.approx(factor * base.widths[0], rel=1e-9)


@given(gentle(), st.integers(8, 40))
@settings(max_examples=40, deadline=None)
def test_nodes_of_the_reversed_curve_are_the_same(curve: Array, count: int) -> None:
    there, back = equal_chords(measure(curve), count), equal_chords(measure(cubics.reverse(curve)), count)
    assume(there is not None and back is not None)
    assert there is not None
    assert back is not None
    # A millionth of a mm: the promise for points.
    assert np.abs(there.points - back.points[::-1]).max() <= 1e-6


def test_weights_in_one_ratio_are_one_answer() -> None:
    m = measure(lines([(0.0, 0.0), (50.0, 20.0), (140.0, 10.0)]))
    g = np.array([1.0, 2.0, 1.0, 2.0, 1.0])
    one, other = equal_chords(m, 5, g), equal_chords(m, 5, 7.0 * g)
    assert one is not None
    assert other is not None
    assert np.allclose(one.points, other.points, rtol=0.0, atol=1e-9)
    assert one.widths[0] == pytest.approx(7.0 * other.widths[0], rel=1e-9)


# ---------------------------------------------------------------- mirror lines and pivots


def halves(m: Measured, whole: int, first: bool, last: bool) -> Chain:
    """Whole chords, with half ones from a mirror line square to the curve at the first or last point, or both."""
    kind = [FROM_LINE] * first + [CHORD] * whole + [TO_LINE] * last
    n = len(kind)
    border = np.ones((n, 1))
    border[[k for k in range(n) if kind[k] != CHORD]] = 0.5
    ends = np.array([0.0, m.length])
    anchor, normal = np.zeros((n, 2)), np.zeros((n, 2))
    for k, end in [(0, 0)] * first + [(n - 1, 1)] * last:
        anchor[k], normal[k] = m.points(ends)[end], m.tangents(ends)[end]
    width = m.length / float(border.sum())
    start = np.concatenate([[0.0], np.cumsum(border[:, 0] * width)])
    start[-1] = m.length
    pinned = np.zeros(n + 1, dtype=bool)
    pinned[[0, -1]] = True
    return Chain(start, pinned, np.array(kind), anchor, normal, lambda w: (border @ w, border), np.array([width]))


@pytest.mark.parametrize(("first", "last"), [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("whole", [0, 1, 2, 9, 300])
def test_half_steps_on_a_line(whole: int, first: bool, last: bool) -> None:
    m = measure(lines([(10.0, 0.0), (10.0, 200.0)]))
    if whole == 0 and not (first and last):
        return
    steps = dividers.solve(m, halves(m, whole, first, last))
    assert steps is not None
    assert steps.widths[0] == pytest.approx(200.0 / (whole + 0.5 * (first + last)), rel=1e-12)


@pytest.mark.parametrize(("first", "last"), [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("whole", [2, 5, 40])
@pytest.mark.parametrize("angle", [0.8, -2.5, 4.0])
def test_half_steps_on_an_arc(whole: int, first: bool, last: bool, angle: float) -> None:
    """A half reaches R sin a from its mirror line, a whole chord is 2 R sin(b / 2): so a is half of b."""
    radius = 90.0
    m = measure(ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.2, angle, 1e-9))
    steps = dividers.solve(m, halves(m, whole, first, last))
    assert steps is not None
    b = abs(angle) / (whole + 0.5 * (first + last))
    assert steps.widths[0] == pytest.approx(2.0 * radius * math.sin(0.5 * b), rel=1e-9)
    assert np.diff(steps.s)[0] == pytest.approx(radius * b * (0.5 if first else 1.0), rel=1e-8)


@given(gentle(), st.integers(4, 20))
@settings(max_examples=40, deadline=None)
def test_half_steps_on_any_edge(curve: Array, whole: int) -> None:
    m = measure(curve)
    chain = halves(m, whole, True, True)
    steps = dividers.solve(m, chain)
    assume(steps is not None)
    assert steps is not None
    w = float(steps.widths[0])
    assert np.allclose(chords(steps)[1:-1], w, rtol=1e-9)
    # Square to the mirror line at either end, half a width.
    begin = (steps.points[1] - chain.anchor[0]) @ chain.normal[0]
    finish = (chain.anchor[-1] - steps.points[-2]) @ chain.normal[-1]
    assert (begin, finish) == pytest.approx((0.5 * w, 0.5 * w), rel=1e-9)
    assert nearest(m.curve, steps.points).distance.max() <= 1e-6


def with_pivot(m: Measured, s: float, before: int, after: int) -> Chain:
    """Chords of two widths on either side of a step that straddles the place `s` evenly."""
    n = before + 1 + after
    border = np.zeros((n, 2))
    border[:before, 0] = border[before + 1 :, 1] = 1.0
    border[before] = 0.5
    kind = np.full(n, CHORD)
    kind[before] = PIVOT
    anchor = np.zeros((n, 2))
    anchor[before] = m.points(np.array([s]))[0]
    widths = np.array([s / (before + 0.5), (m.length - s) / (after + 0.5)])
    length = border @ widths
    start = np.concatenate([[0.0], np.cumsum(length)])
    start *= m.length / start[-1]
    start[-1] = m.length
    pinned = np.zeros(n + 1, dtype=bool)
    pinned[[0, -1]] = True
    return Chain(start, pinned, kind, anchor, np.zeros((n, 2)), lambda w: (border @ w, border), widths)


@pytest.mark.parametrize(("before", "after", "s"), [(3, 5, 70.0), (1, 1, 110.0), (40, 10, 160.0), (2, 30, 12.0)])
def test_a_step_that_straddles_a_place_on_a_line(before: int, after: int, s: float) -> None:
    m = measure(lines([(0.0, 0.0), (0.0, 200.0)]))
    steps = dividers.solve(m, with_pivot(m, s, before, after))
    assert steps is not None
    # before w0 + (w0 + w1) / 4 = s, and likewise beyond it.
    expected = np.linalg.solve([[before + 0.25, 0.25], [0.25, after + 0.25]], [s, 200.0 - s])
    assert np.allclose(steps.widths, expected, rtol=1e-11)


@given(gentle(), st.integers(2, 12), st.integers(2, 12), st.floats(0.3, 0.7))
@settings(max_examples=50, deadline=None)
def test_a_step_that_straddles_a_place_on_any_edge(curve: Array, before: int, after: int, share: float) -> None:
    m = measure(curve)
    chain = with_pivot(m, share * m.length, before, after)
    steps = dividers.solve(m, chain)
    assume(steps is not None)
    assert steps is not None
    c = chords(steps)
    w0, w1 = steps.widths
    assert np.allclose(c[:before], w0, rtol=1e-9)
    assert np.allclose(c[before + 1 :], w1, rtol=1e-9)
    assert c[before] == pytest.approx(0.5 * (w0 + w1), rel=1e-9)
    reach = np.hypot(*(steps.points[before : before + 2] - chain.anchor[before]).T)
    assert reach[0] == pytest.approx(reach[1], rel=1e-9)
    assert steps.s[before] < share * m.length < steps.s[before + 1]


def round_from(m: Measured, count: int, share: float, weights: Array | None = None) -> Chain:
    """Chords round a loop; the last one straddles evenly the place at that share of the length, a turn later."""
    border = np.ones((count, 1)) if weights is None else weights[:, None]
    kind = np.full(count, CHORD)
    kind[-1] = PIVOT
    anchor = np.zeros((count, 2))
    anchor[-1] = m.points(np.array([(1.0 + share) * m.length]))[0]
    run = np.concatenate([[0.0], np.cumsum(border[:, 0])])
    start = (share + (0.5 * border[-1, 0] + run) / run[-1]) * m.length
    nothing = np.zeros((count, 2))
    widths = np.array([m.length / run[-1]])
    free = np.zeros(count + 1, dtype=bool)
    return Chain(start, free, kind, anchor, nothing, lambda w: (border @ w, border), widths, cyclic=True)


def check_round(m: Measured, steps: Steps, chain: Chain, weights: Array) -> None:
    """Equal chords, the one over the closing too; the last node is the first one, a turn later."""
    assert steps.s[-1] - steps.s[0] == pytest.approx(m.length, rel=1e-12)
    assert np.abs(m.carried(steps.points[0]) - steps.points[-1]).max() <= 1e-9 * m.length
    assert np.abs(chords(steps) / (weights * steps.widths[0]) - 1.0).max() <= 1e-9
    assert np.abs(m.points(steps.s) - steps.points).max() <= 1e-6
    # Its two nodes lie equally far from what it straddles, each on its own side of the closing.
    before, after = np.hypot(*(steps.points[-2:] - chain.anchor[-1]).T)
    assert before == pytest.approx(after, rel=1e-9)
    assert_first_crossings(m, steps)


@pytest.mark.parametrize("count", [4, 9, 24])
@pytest.mark.parametrize("share", [0.0, 0.37])
def test_round_a_loop_with_a_step_that_straddles_a_place(count: int, share: float) -> None:
    m = ellipse(60.0, 60.0)
    chain = round_from(m, count, share)
    steps = dividers.solve(m, chain)
    assert steps is not None
    assert steps.widths[0] == pytest.approx(120.0 * math.sin(math.pi / count), rel=1e-9)
    check_round(m, steps, chain, np.ones(count))


@pytest.mark.parametrize("angle", [0.7, 2.0, 5.0])
@pytest.mark.parametrize("count", [3, 8, 21])
@pytest.mark.parametrize("share", [0.0, 0.37, 0.98])
def test_round_the_rim_of_a_cone(angle: float, count: int, share: float) -> None:
    """Laid flat the rim is an arc; sewn up it takes chords of 2 R sin(angle / 2 n) from anywhere."""
    m = measure(*fan(90.0, angle, (30.0, 12.0)))
    from_end = equal_chords(m, count)
    assert from_end is not None
    assert from_end.widths[0] == pytest.approx(180.0 * math.sin(0.5 * angle / count), rel=1e-9)
    chain = round_from(m, count, share)
    steps = dividers.solve(m, chain)
    assert steps is not None
    assert steps.widths[0] == pytest.approx(180.0 * math.sin(0.5 * angle / count), rel=1e-9)
    check_round(m, steps, chain, np.ones(count))


def test_large_and_small_steps_round_the_rim_of_a_cone() -> None:
    m, weights = measure(*fan(90.0, 2.0)), np.resize([1.0, 2.0], 12)
    chain = round_from(m, 12, 0.0, weights)
    steps = dividers.solve(m, chain)
    assert steps is not None
    # Six steps of either size: the angles of both, 2 asin(g w / 2 R), fill the fan's.
    w = steps.widths[0]
    assert 12.0 * (math.asin(w / 180.0) + math.asin(2.0 * w / 180.0)) == pytest.approx(2.0, rel=1e-9)
    check_round(m, steps, chain, weights)


@pytest.mark.parametrize("count", [5, 8, 13])
def test_half_an_oval_closed_by_half_a_turn_is_the_oval(count: int) -> None:
    whole = ellipse(100.0, 60.0, 0.7)
    half = measure(ellipse_arc((0.0, 0.0), (100.0, 60.0), 0.0, 0.7, math.pi, 1e-7), turned(math.pi))
    steps = dividers.solve(half, round_from(half, count, 0.0))
    twice = dividers.solve(whole, round_from(whole, 2 * count, 0.0))
    assert steps is not None
    assert twice is not None
    assert steps.widths[0] == pytest.approx(twice.widths[0], rel=1e-7)
    # The two ovals are drawn to 1e-7 mm.
    assert np.abs(steps.points - twice.points[: count + 1]).max() <= 1e-6


@given(gentle(), st.floats(-0.3, 0.3), st.integers(9, 30), st.floats(0.0, 1.0), st.floats(-3.0, 3.0))
@settings(max_examples=60, deadline=None)
def test_round_any_loop_wherever_it_lies(curve: Array, kink: float, count: int, share: float, angle: float) -> None:
    m = measure(curve, closing_of(curve, kink))
    chain = round_from(m, count, share)
    steps = dividers.solve(m, chain)
    assume(steps is not None)
    assert steps is not None
    check_round(m, steps, chain, np.ones(count))
    frame = compose(moved(70.0, -400.0), turned(angle))
    assert m.closing is not None
    other = measure(apply(frame, curve), compose(frame, compose(m.closing, inverse(frame))))
    again = dividers.solve(other, round_from(other, count, share))
    assert again is not None
    assert again.widths[0] == pytest.approx(steps.widths[0], rel=1e-9)
    assert np.abs(apply(frame, steps.points) - again.points).max() <= 1e-6


def test_no_step_jumps_over_a_sharp_corner_at_the_closing() -> None:
    """Two legs that meet at 30 degrees where the loop closes: the step across would pass the tip by."""
    leg = lines([(0.0, 0.0), (0.0, 200.0)])
    m = measure(leg, compose(moved(0.0, 200.0), turned(math.radians(150.0))))
    assert dividers.solve(m, round_from(m, 6, 0.5)) is None
    blunt = measure(leg, compose(moved(0.0, 200.0), turned(math.radians(80.0))))
    steps = dividers.solve(blunt, round_from(blunt, 6, 0.5))
    assert steps is not None
    # Five whole ones on the leg, and on either side of the corner w / (2 sin 50 degrees).
    assert steps.widths[0] == pytest.approx(200.0 / (5.0 + 1.0 / math.sin(math.radians(50.0))), rel=1e-9)


# ---------------------------------------------------------------- stops, corners, loops without an answer


def test_stretches_between_stops_have_their_own_widths() -> None:
    m = measure(lines([(0.0, 0.0), (100.0, 0.0), (100.0, 60.0)]))
    steps = dividers.solve(m, chords_between(m, np.array([0.0, 100.0, 160.0]), [np.ones(4), np.ones(3)]))
    assert steps is not None
    assert np.allclose(steps.widths, [25.0, 20.0], rtol=1e-12)
    assert steps.s[4] == 100.0


def corner(apex: float, leg: float = 100.0) -> Measured:
    """Two equal legs that meet at an angle of `apex` degrees."""
    half = math.radians(0.5 * apex)
    foot = np.array([leg * math.sin(half), leg * math.cos(half)])
    return measure(lines(np.array([foot * (-1.0, 1.0), np.zeros(2), foot])))


@pytest.mark.parametrize("apex", [61.0, 75.0, 100.0, 150.0, 179.0])
@pytest.mark.parametrize("count", [3, 5, 11, 25])
def test_round_a_corner(apex: float, count: int) -> None:
    """The middle step cuts the corner off: k w on a leg leaves d, and w = 2 d sin(apex / 2)."""
    m = corner(apex)
    steps = equal_chords(m, count)
    assert steps is not None
    check(m, steps, np.ones(count))
    k, base = count // 2, 2.0 * math.sin(math.radians(0.5 * apex))
    assert steps.widths[0] == pytest.approx(100.0 * base / (1.0 + k * base), rel=1e-9)


@pytest.mark.parametrize("apex", [5.0, 30.0, 59.0, 61.0, 120.0])
@pytest.mark.parametrize("count", [2, 4, 12])
def test_a_valley_in_a_corner(apex: float, count: int) -> None:
    steps = equal_chords(corner(apex), count)
    assert steps is not None
    assert steps.widths[0] == pytest.approx(200.0 / count, rel=1e-9)


@pytest.mark.parametrize("apex", [5.0, 30.0, 55.0])
@pytest.mark.parametrize("count", [3, 5, 11])
def test_no_step_jumps_over_a_sharp_corner(apex: float, count: int) -> None:
    """Under 60 degrees the step across would be shorter than the way to the apex: the answer is none."""
    m = corner(apex)
    steps = equal_chords(m, count)
    if steps is not None:
        check(m, steps, np.ones(count))
        k, base = count // 2, 2.0 * math.sin(math.radians(0.5 * apex))
        assert steps.widths[0] != pytest.approx(100.0 * base / (1.0 + k * base), rel=1e-6)


@pytest.mark.parametrize("flat", [1e-3, 0.02, 0.1])
def test_flat_loops_with_and_without_an_answer(flat: float) -> None:
    """A flat ellipse from its end takes 4, 6 or 8 steps, not 3, 5 or 7: one end would have no node."""
    m = ellipse(100.0, 100.0 * flat)
    for count in (3, 5, 7):
        assert equal_chords(m, count) is None
    for count in (4, 6, 8):
        steps = equal_chords(m, count)
        assert steps is not None
        check(m, steps, np.ones(count))


@pytest.mark.parametrize(
    ("ratio", "count"),
    [(1.0, 3), (1.0, 5), (1.0, 8), (0.9, 3), (0.9, 5), (0.9, 8), (0.9, 40), (0.6, 5), (0.6, 8), (0.4, 8), (0.4, 40)],
)
def test_round_loops_have_an_answer(ratio: float, count: int) -> None:
    m = ellipse(100.0, 100.0 * ratio, 0.7)
    steps = equal_chords(m, count)
    assert steps is not None
    check(m, steps, np.ones(count))


@pytest.mark.parametrize("ratio", [0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
@pytest.mark.parametrize("first", [0.0, 0.3, 0.7, 1.1, 1.5])
def test_triangles_in_ovals(ratio: float, first: float) -> None:
    """Few long steps on an oval: the last one may run along just out of the dividers' reach before it arrives."""
    m = ellipse(100.0, 100.0 * ratio, first)
    for count in (3, 4, 5):
        steps = equal_chords(m, count)
        if steps is not None:
            check(m, steps, np.ones(count))


@pytest.mark.parametrize("count", [5, 8, 20, 60])
def test_a_star_is_stepped_or_refused(count: int) -> None:
    """Ten corners of 36 and 252 degrees, passed without a hold."""
    angle = np.arange(11) * math.pi / 5.0
    radius = np.where(np.arange(11) % 2, 38.2, 100.0)
    m = measure(lines(np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)))
    steps = equal_chords(m, count)
    if steps is not None:
        check(m, steps, np.ones(count))


@pytest.mark.parametrize("count", [4, 9, 30])
def test_a_cusp_and_a_hairpin(count: int) -> None:
    for control in ([(0, 0), (100, 100), (0, 100), (100, 0)], [(0, 0), (120, 5), (120, -5), (0, -4)]):
        m = measure(np.array([control], dtype=float))
        steps = equal_chords(m, count)
        if steps is not None:
            check(m, steps, np.ones(count))


def test_the_guard_refuses_a_step_that_jumps() -> None:
    """A hairpin: from one leg's end straight across to the other's is a chord, but no first crossing."""
    m = measure(lines([(0.0, 0.0), (100.0, 0.0), (100.0, 10.0), (0.0, 10.0)]))
    chain = chords_between(m, np.array([0.0, m.length]), [np.ones(1)])
    across = Steps(np.array([0.0, m.length]), np.array([(0.0, 0.0), (0.0, 10.0)]), np.array([10.0]), 0.0)
    assert not dividers.first_crossings(m, chain, across)
    assert equal_chords(m, 1) is None
    along = equal_chords(m, 21)
    assert along is not None
    assert dividers.first_crossings(m, chords_between(m, np.array([0.0, m.length]), [np.ones(21)]), along)


def test_the_guard_refuses_steps_out_of_order() -> None:
    m = measure(lines([(0.0, 0.0), (100.0, 0.0)]))
    chain = chords_between(m, np.array([0.0, 100.0]), [np.ones(2)])
    steps = equal_chords(m, 2)
    assert steps is not None
    assert dividers.first_crossings(m, chain, steps)
    swapped = replace(steps, s=steps.s[[0, 2, 1]], points=steps.points[[0, 2, 1]])
    assert not dividers.first_crossings(m, chain, swapped)


@pytest.mark.parametrize("late", [-1e-14, 0.0, 1e-14])
@pytest.mark.parametrize("ratio", [0.05, 0.2, 0.4])
def test_a_jump_is_seen_wherever_rounding_puts_the_last_node(ratio: float, late: float) -> None:
    """A triangle at the end of an oval: its tip, and two places where the oval is as thick as they are far from it."""
    half = 2.0 * math.atan(math.sqrt(3.0) * ratio)
    m = ellipse(100.0, 100.0 * ratio, -half)
    tip = measure(ellipse_arc((0.0, 0.0), (100.0, 100.0 * ratio), 0.0, -half, half, 1e-7)).length
    s = np.array([0.0, tip, 2.0 * tip, m.length * (1.0 + late)])
    points = m.points(s)
    width = np.hypot(*(points[1] - points[0]))
    triangle = Steps(s, points, np.array([width]), 0.0)
    assert np.allclose(chords(triangle), width, rtol=1e-6)
    assert not dividers.first_crossings(m, chords_between(m, np.array([0.0, m.length]), [np.ones(3)]), triangle)


def test_a_half_step_from_a_mirror_line_that_leans_is_the_first_too() -> None:
    """Less than a right angle's turn, but the edge comes back towards a line that leans by 40 degrees."""
    normal, ahead = np.array([math.cos(0.7), -math.sin(0.7)]), np.array([math.cos(1.2), math.sin(1.2)])
    half = float((30.0, 0.0) @ normal + 20.0 * ahead @ normal)
    m = measure(lines(np.stack([np.zeros(2), np.array([30.0, 0.0]), (30.0, 0.0) + (20.0 + 2.0 * half) * ahead])))
    s = np.array([0.0, 50.0, m.length])
    back = Steps(s, m.points(s), np.array([2.0 * half]), 0.0)
    chain = halves(m, 1, True, False)
    chain = replace(chain, normal=np.array([normal, normal]))
    assert np.hypot(*(back.points[2] - back.points[1])) == pytest.approx(2.0 * half, rel=1e-12)
    assert not dividers.first_crossings(m, chain, back)
    square = dividers.solve(m, halves(m, 1, True, False))
    assert square is not None
    assert brute_excess(m, square, halves(m, 1, True, False)) <= 2e-6


def test_a_corner_with_a_stray_point_is_not_overlooked() -> None:
    """A segment without length at the corner has no direction, and the corner is there all the same."""
    m = corner(50.0)
    stray = np.zeros((1, 4, 2))
    with_point = measure(np.concatenate([m.curve[:1], stray, m.curve[1:]]))
    base = 2.0 * math.sin(math.radians(25.0))
    across = 100.0 * base / (1.0 + base)
    s = np.array([0.0, across, 200.0 - across, 200.0])
    for curve in (m, with_point):
        steps = Steps(s, curve.points(s), np.array([across]), 0.0)
        assert np.allclose(chords(steps), across, rtol=1e-12)
        assert not dividers.first_crossings(curve, chords_between(curve, s[[0, 3]], [np.ones(3)]), steps)


@pytest.mark.parametrize("count", [6, 9])
def test_a_step_that_straddles_a_place_jumps_over_nothing(count: int) -> None:
    """About the end of a flat oval two places far from it are near to each other: no scallop fits between them."""
    m = ellipse(100.0, 4.0)
    steps = dividers.solve(m, round_from(m, count, 0.0))
    assert steps is None or brute_excess(m, steps, round_from(m, count, 0.0)) <= 2e-6


def brute_excess(m: Measured, steps: Steps, chain: Chain) -> float:
    """The furthest that any link's piece of curve comes beyond the link's length, as a share of it, densely sampled."""
    worst = 0.0
    for i, (kind, length) in enumerate(zip(chain.kind, chain.lengths(steps.widths)[0], strict=True)):
        s0, s1 = steps.s[i : i + 2]
        # Nodes of the curve too: a corner between two samples is furthest.
        nodes = m.lengths(np.arange(len(m.curve)), np.zeros(len(m.curve)))
        nodes = np.concatenate([nodes, nodes + m.length] if m.closing is not None else [nodes])
        s = np.concatenate([np.linspace(s0, s1, 2_000), nodes[(nodes > s0) & (nodes < s1)]])
        points = m.points(s)
        if kind == FROM_LINE:
            away = (points - chain.anchor[i]) @ chain.normal[i]
        elif kind == TO_LINE:
            away = (chain.anchor[i] - points) @ chain.normal[i]
        else:
            away = np.hypot(*(points - steps.points[i]).T)
        worst = max(worst, float(away.max() / length) - 1.0)
        if kind == PIVOT:
            from_pivot = np.hypot(*(points - chain.anchor[i]).T)
            reach = np.hypot(*(steps.points[i] - chain.anchor[i]))
            # A sample lies within half a spacing of the pivot.
            assert from_pivot.min() <= (s1 - s0) / 2_000
            worst = max(worst, float(from_pivot.max() / reach) - 1.0)
    return worst


def any_curve(r: np.random.Generator, sort: int) -> Measured:
    """Ovals, bends like an S, legs with corners of 60 to 150 degrees, hairpins, spirals, and loops laid flat."""
    if sort == 0:
        return ellipse(100.0, 100.0 / r.uniform(2.0, 20.0), r.choice([0.0, r.uniform(0.0, TURN)]))
    if sort == 1:
        a, h = r.uniform(40.0, 200.0), r.uniform(30.0, 300.0)
        return measure(np.array([[(0.0, 0.0), (h, r.uniform(-40, 40)), (a - h, r.uniform(20, 140)), (a, 100.0)]]))
    if sort == 2:
        turn = r.choice([-1.0, 1.0], 4) * np.pi * (1.0 - r.uniform(60.0, 150.0, 4) / 180.0)
        heading, size = np.cumsum(turn), r.uniform(10.0, 120.0, 4)
        return measure(lines(np.cumsum([(0.0, 0.0), *(size * [np.cos(heading), np.sin(heading)]).T], axis=0)))
    if sort == 3:
        long, gap = r.uniform(50.0, 150.0), r.uniform(2.0, 40.0)
        return measure(lines([(0.0, 0.0), (long, 0.0), (long, gap), (r.uniform(0.0, 0.8) * long, gap)]))
    if sort == 4:
        angle = np.linspace(0.0, r.uniform(0.7, 2.5) * TURN, 30)
        radius = 20.0 + r.uniform(2.0, 20.0) * angle
        place = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
        along = np.gradient(place, axis=0) / 3.0
        return measure(np.stack([place[:-1], place[:-1] + along[:-1], place[1:] - along[1:], place[1:]], axis=1))
    arc = ellipse_arc((0.0, 0.0), (100.0, r.uniform(10.0, 100.0)), 0.0, r.uniform(0.0, 3.0), r.uniform(1.0, TURN), 1e-7)
    return measure(arc, closing_of(arc, r.uniform(-2.0, 2.0)))


@pytest.mark.parametrize(("sort", "seed"), [(0, 4), (1, 1), (2, 1), (3, 2), (4, 3), (5, 1)])
def test_no_link_jumps_over_cloth(sort: int, seed: int) -> None:
    """Every sort of link on every sort of curve, judged by a walk over samples that knows nothing of the guard."""
    r = np.random.default_rng([seed, sort])
    solved = 0
    for _ in range(12):
        m, count = any_curve(r, sort), int(r.integers(2, 7))
        lean, share = r.uniform(-1.3, 1.3), r.uniform(0.1, 0.9)
        half = halves(m, count, True, False)
        c, s = math.cos(lean), math.sin(lean)
        chains = [
            chords_between(m, np.array([0.0, m.length]), [np.ones(count)]),
            replace(half, normal=half.normal @ np.array([[c, s], [-s, c]])),
            with_pivot(m, share * m.length, int(r.integers(1, count + 1)), count),
            *([] if m.closing is None else [round_from(m, count + 1, share)]),
        ]
        for chain in chains:
            steps = dividers.solve(m, chain)
            if steps is not None:
                solved += 1
                # A graze, nearer than a millionth of the opening, is no crossing.
                assert brute_excess(m, steps, chain) <= 2e-6
    assert solved >= 4


def test_unequal_segments() -> None:
    """1000 mm beside a hundredth of one."""
    points = np.array([(0.0, 0.0), (1000.0, 0.0), (1000.01, 0.0), (1000.02, 0.005), (2000.0, 30.0)])
    m = measure(lines(points))
    for count in (1, 3, 50, 500):
        steps = equal_chords(m, count)
        assert steps is not None
        check(m, steps, np.ones(count))


def walked_overshoot(s: Array, points: Array, length: float, count: int, width: float) -> float:
    """How far beyond the end the last of `count` steps lands, by walking finely sampled places, step after step."""
    at = 0
    for _ in range(count):
        away = np.hypot(*(points[at:] - points[at]).T)
        at += int(np.argmax(away >= width))
    return float(s[at] - length)


def sampled(m: Measured, beyond: float) -> tuple[Array, Array]:
    """Lengths and points of a curve in 20,000 parts, and as much as that `beyond` its end, straight on."""
    s, further = np.linspace(0.0, m.length, 20_001), np.linspace(0.0, beyond, 2_001)[1:]
    points, (_, onward) = m.points(s), ends_direction(m.curve)
    points = np.concatenate([points, points[-1] + further[:, None] * onward])
    return np.concatenate([s, m.length + further]), points


def test_of_several_openings_the_widest_is_taken_and_the_others_are_told() -> None:
    control = [(40, -100), (40, 0), (60, 20), (70, 10), (80, 0), (100, 40), (30, 30)]
    m = measure(np.array([control[:4], control[3:]], dtype=float))
    found = equal_chords(m, 4)
    assert found is not None
    assert found.several
    check(m, found, np.ones(4))
    widths = np.linspace(0.5 * found.widths[0], 1.2 * found.widths[0], 400)
    s, points = sampled(m, 4.0 * widths[-1])
    over = np.array([walked_overshoot(s, points, m.length, 4, w) for w in widths])
    # A jump over the end is no answer; where the last step only slides past it, there is one.
    slides = np.flatnonzero((over[:-1] < 0.0) != (over[1:] < 0.0))
    fits = [float(widths[i]) for i in slides if abs(over[i + 1] - over[i]) < 0.05 * m.length]
    assert len(fits) >= 2
    assert max(fits) == pytest.approx(found.widths[0], rel=5e-3)


def test_one_answer_is_not_called_several() -> None:
    found = equal_chords(measure(lines([(0, 0), (60, 0), (60, 60)])), 4)
    assert found is not None
    assert not found.several


def test_pinned_nodes_lie_at_their_lengths_inside_a_segment_too() -> None:
    # One long segment of uneven speed: its lengths and the parameter that the solver works in differ most in between.
    m = measure(np.array([[(0.0, 0.0), (10.0, 40.0), (150.0, -60.0), (400.0, 30.0)]]))
    stops = np.array([3.0, 0.37 * m.length, m.length - 5.0])
    steps = solve(m, chords_between(m, stops, [np.ones(4), np.ones(6)]))
    assert steps is not None
    np.testing.assert_allclose(steps.points[[0, 4, 10]], m.points(stops), atol=1e-9)
