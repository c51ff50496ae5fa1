"""Length along a curve and the way back: the promise of 1e-9 at every scale, near cusps, through any nodes."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, lines
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY, apply, compose, moved, scaled, turned

from ..shapes import closing_of, fan

COORDINATE = st.floats(-300.0, 300.0)
SCALES = [1e-3, 1.0, 1e3]


@st.composite
def chains(draw: st.DrawFn) -> Array:
    """One to four cubics end to end, of any shape, at least a tenth of a mm large."""
    points = draw(st.lists(st.tuples(COORDINATE, COORDINATE), min_size=4, max_size=13))
    n = (len(points) - 1) // 3
    p = np.array(points[: 3 * n + 1])
    if np.ptp(p, axis=0).max() < 0.1:
        p = p + np.arange(len(p))[:, None]
    return np.stack([p[3 * i : 3 * i + 4] for i in range(n)])


def reference(curve: Array) -> float:
    """Length by Gauss's rule of 30 nodes on parts that shrink by half towards every place where the speed is least."""
    x, weight = np.polynomial.legendre.leggauss(30)
    total = 0.0
    for segment in cubics.without_points(curve)[:, None]:

        def speed(t: Array, segment: Array = segment) -> Array:
            return np.asarray(np.hypot(*cubics.derivative(segment, np.zeros(len(t), dtype=int), t).T))

        grading = 0.5 ** np.arange(1, 44)
        edges = [np.linspace(0.0, 1.0, 33), grading, 1.0 - grading]
        for slow in _slowest(speed):
            edges += [np.array([slow]), slow - 0.05 * grading, slow + 0.05 * grading]
        every = np.unique(np.concatenate(edges))
        every = every[(every >= 0.0) & (every <= 1.0)]
        half = 0.5 * np.diff(every)
        t = (every[:-1] + half)[:, None] + half[:, None] * x
        total += float((speed(t.ravel()).reshape(t.shape) @ weight) @ half)
    return total


def _slowest(speed: Callable[[Array], Array]) -> Array:
    """Parameters at which the speed is least, by search in thirds round the least of many samples."""
    t = np.linspace(0.0, 1.0, 1001)
    v = speed(t)
    least = np.flatnonzero((v[1:-1] <= v[:-2]) & (v[1:-1] <= v[2:])) + 1
    low, high = t[least - 1], t[least + 1]
    for _ in range(80):
        third = (high - low) / 3.0
        left = speed(low + third) < speed(high - third)
        low, high = np.where(left, low, low + third), np.where(left, high - third, high)
    return np.asarray(0.5 * (low + high))


# ---------------------------------------------------------------- the promise


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize(
    ("control", "length"),
    [
        ([(0, 0), (1, 0), (2, 0), (3, 0)], 3.0),
        # Lines whose speed is uneven, or zero at an end.
        ([(0, 0), (3, 4), (3, 4), (3, 4)], 5.0),
        ([(0, 0), (0, 0), (0, 0), (3, 4)], 5.0),
        ([(0, 0), (3, 4), (0, 0), (3, 4)], 5.0),
        # There and back on one line: out to x 4/9, back, and so on; x = 3 t (1 - t)² has its peak 4/9 at 1/3.
        ([(0, 0), (1, 0), (0, 0), (0, 0)], 8.0 / 9.0),
        # y = x² from 0 to 1, raised from the quadratic (0, 0) (1/2, 0) (1, 1).
        ([(0, 0), (1 / 3, 0), (2 / 3, 1 / 3), (1, 1)], 0.5 * math.sqrt(5.0) + 0.25 * math.asinh(2.0)),
        # A semicubical cusp: x = t², y = t³ has length (13 sqrt 13 - 8) / 27.
        ([(0, 0), (0, 0), (1 / 3, 0), (1, 1)], (13.0 * math.sqrt(13.0) - 8.0) / 27.0),
    ],
)
def test_closed_forms(scale: float, control: list[tuple[float, float]], length: float) -> None:
    curve = np.array([control]) * scale
    assert measure(curve).length == pytest.approx(length * scale, rel=1e-9)


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("angle", [1e-3, 0.5, 2.0 * math.pi, 40.0])
def test_circular_arcs(scale: float, angle: float) -> None:
    curve = ellipse_arc((0.0, 0.0), (scale, scale), 0.4, 0.3, angle, 1e-9 * scale)
    assert measure(curve).length == pytest.approx(scale * angle, rel=1e-9)


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("away", [0.0, *(sign * 10.0**-k for k in range(0, 13, 2) for sign in (1.0, -1.0))])
def test_near_a_cusp(scale: float, away: float) -> None:
    curve = np.array([[(0.0, 0.0), (100.0 + away, 100.0), (-away, 100.0), (100.0, 0.0)]]) * scale
    assert measure(curve).length == pytest.approx(reference(curve), rel=1e-9)


@st.composite
def flat_cubics(draw: st.DrawFn) -> Array:
    """A cubic along a line, or within a hair of it: it may turn round twice in a very short stretch."""
    x = draw(st.lists(COORDINATE, min_size=4, max_size=4))
    thin = draw(st.sampled_from([0.0, 1e-6, 1e-3, 0.1]))
    y = draw(st.lists(st.floats(-thin, thin), min_size=4, max_size=4))
    curve = np.stack([x, y], axis=1)[None]
    return curve if np.ptp(curve) > 0.1 else curve + np.arange(4.0)[:, None]


def along_a_line(x: list[float]) -> float:
    """Exact length of a cubic on a line: the way between its turns."""
    cubic = np.polynomial.Polynomial(
        [x[0], 3 * (x[1] - x[0]), 3 * (x[0] - 2 * x[1] + x[2]), x[3] - 3 * x[2] + 3 * x[1] - x[0]]
    )
    roots = np.asarray(cubic.deriv().roots(), dtype=complex)
    turns = [float(t) for t in roots.real[np.abs(roots.imag) < 1e-9] if 0.0 < t < 1.0]
    return float(np.abs(np.diff(cubic(np.array([0.0, *sorted(turns), 1.0])))).sum())


@pytest.mark.parametrize(
    "x",
    [
        # The two turns lie between neighbouring nodes of a Gauss rule, which then sees no turn at all.
        [168.13, 0.37, 171.39, 2.61],
        [59.6, 1.93, 61.02, 2.24],
        [64.78, -43.61, 67.68, -43.82],
        [0.0, 13.375, 1.0, 3.0],
    ],
)
@pytest.mark.parametrize("scale", SCALES)
def test_two_turns_close_together(x: list[float], scale: float) -> None:
    curve = np.array([[(v, 0.5 * v) for v in x]]) * scale
    assert measure(curve).length == pytest.approx(scale * math.sqrt(1.25) * along_a_line(x), rel=1e-9)


@given(flat_cubics())
@settings(max_examples=60, deadline=None)
def test_flat_curves_as_by_another_rule(curve: Array) -> None:
    assert measure(curve).length == pytest.approx(reference(curve), rel=1e-9)


@given(chains())
@settings(max_examples=40, deadline=None)
def test_any_curve_as_by_another_rule(curve: Array) -> None:
    assert measure(curve).length == pytest.approx(reference(curve), rel=1e-9)


@given(chains(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=20))
@settings(max_examples=60, deadline=None)
def test_there_and_back(curve: Array, shares: list[float]) -> None:
    m = measure(curve)
    s = np.array(shares) * m.length
    segment, t = m.at(s)
    assert np.abs(m.lengths(segment, t) - s).max() <= 1e-9 * m.length
    assert ((t >= 0.0) & (t <= 1.0)).all()


@given(chains(), st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)))
@settings(max_examples=60, deadline=None)
def test_a_part_is_as_long_as_asked(curve: Array, ends: tuple[float, float]) -> None:
    m = measure(curve)
    a, b = (share * m.length for share in sorted(ends))
    if b - a > 1e-3 * m.length:
        # Both ends are places to 1e-9 of the whole.
        assert measure(m.part(a, b)).length == pytest.approx(b - a, rel=0.0, abs=2e-9 * m.length)


@pytest.mark.parametrize("off", [-3e-13, 0.0, 3e-13])
def test_a_part_up_to_a_node_has_no_segment_of_rounding(off: float) -> None:
    """Lengths round: were a part of 1e-13 of a segment kept, its direction would be the coordinates' last digits."""
    curve = lines([(33.1, 7.7), (137.3, 41.9), (201.7, -18.3)])
    m = measure(curve)
    node = math.hypot(104.2, 34.2) + off * m.length
    before, after = m.part(0.0, node), m.part(node, m.length)
    assert len(before) == len(after) == 1
    assert cubics.ends_direction(before)[1] == pytest.approx(
        np.array([104.2, 34.2]) / math.hypot(104.2, 34.2), abs=1e-9
    )
    assert cubics.ends_direction(after)[0] == pytest.approx(np.array([64.4, -60.2]) / math.hypot(64.4, 60.2), abs=1e-9)


@pytest.mark.parametrize("scale", SCALES)
def test_every_place_near_a_cusp(scale: float) -> None:
    """Close to the cusp the speed is nearly 0: a place there is known by its length, not by its parameter."""
    curve = np.array([[(0.0, 0.0), (100.0, 100.0), (0.0, 100.0), (100.0, 0.0)]]) * scale
    m = measure(curve)
    s = 0.5 * m.length + m.length * np.concatenate([[0.0], *(np.array([-1.0, 1.0]) * 10.0**-k for k in range(1, 16))])
    assert np.abs(m.lengths(*m.at(s)) - s).max() <= 1e-9 * m.length
    parts = sum(
        measure(cubics.cut(curve, np.array([0]), np.array([a]), np.array([b]))).length for a, b in ((0, 0.5), (0.5, 1))
    )
    assert parts == pytest.approx(m.length, rel=1e-12)


# ---------------------------------------------------------------- what must not matter


@given(chains(), st.floats(-3.0, 3.0), st.floats(1e-2, 1e2), st.tuples(COORDINATE, COORDINATE))
@settings(max_examples=60, deadline=None)
def test_turned_moved_scaled_reversed(curve: Array, angle: float, scale: float, shift: tuple[float, float]) -> None:
    m = measure(curve)
    motion = compose(moved(*shift), compose(turned(angle), scaled(scale, -scale)))
    assert measure(apply(motion, curve)).length == pytest.approx(scale * m.length, rel=1e-9)
    back = measure(cubics.reverse(curve))
    assert back.length == pytest.approx(m.length, rel=1e-9)
    s = np.linspace(0.0, 1.0, 7) * m.length
    assert np.allclose(back.points(back.length - s), m.points(s), rtol=0.0, atol=1e-6)


@given(chains(), st.floats(0.01, 0.99))
@settings(max_examples=60, deadline=None)
def test_split_at_other_nodes(curve: Array, t: float) -> None:
    n = np.arange(len(curve))
    a, at, b = np.zeros(len(n)), np.full(len(n), t), np.ones(len(n))
    split = np.stack([cubics.cut(curve, n, a, at), cubics.cut(curve, n, at, b)], axis=1).reshape(-1, 4, 2)
    assert measure(split).length == pytest.approx(measure(curve).length, rel=1e-9)


def test_points_between_segments_do_not_matter() -> None:
    curve = lines([(0, 0), (10, 0), (10, 0), (10, 10), (10, 10), (10, 10), (0, 10)])
    m = measure(curve)
    assert m.length == pytest.approx(30.0, rel=1e-12)
    assert np.allclose(m.points(np.array([0.0, 10.0, 15.0, 20.0, 30.0])), [(0, 0), (10, 0), (10, 5), (10, 10), (0, 10)])


# ---------------------------------------------------------------- places, directions, bends


def test_on_a_circle() -> None:
    radius = 40.0
    m = measure(ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, 2.0 * math.pi, 1e-9))
    angle = np.linspace(0.1, 6.2, 50)
    s = radius * angle
    across = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    assert np.allclose(m.points(s), radius * across, rtol=0.0, atol=1e-8 * radius)
    assert np.allclose(m.tangents(s), np.stack([-np.sin(angle), np.cos(angle)], axis=1), atol=1e-7)
    # With y down this circle runs clockwise as seen: its outside is on the left, and it bends to the right.
    assert np.allclose(m.normals(s), across, atol=1e-7)
    # A circle's cubics keep the bend to about the sixth digit.
    assert np.allclose(m.curvatures(s), 1.0 / radius, rtol=1e-5)
    assert np.allclose(measure(cubics.reverse(m.curve)).curvatures(s), -1.0 / radius, rtol=1e-5)


def test_lengths_outside_are_the_ends() -> None:
    m = measure(lines([(0.0, 0.0), (3.0, 4.0)]))
    assert np.array_equal(m.points(np.array([-7.0, 99.0])), [(0.0, 0.0), (3.0, 4.0)])


def test_a_node_belongs_to_both_its_segments() -> None:
    m = measure(lines([(0, 0), (10, 0), (10, 5)]))
    assert np.allclose(m.lengths(np.array([0, 1, 1]), np.array([1.0, 0.0, 1.0])), [10.0, 10.0, 15.0], rtol=1e-15)


@given(chains())
@settings(max_examples=40, deadline=None)
def test_the_working_parameter_follows_the_length(curve: Array) -> None:
    """`near` runs from end to end without ever going back; solvers lean on no more."""
    m = measure(curve)
    r = np.linspace(0.0, m.length, 400)
    segment, t, slope = m.near(r)
    s = m.lengths(segment, t)
    assert (np.diff(s) >= -1e-12 * m.length).all()
    assert s[0] == pytest.approx(0.0, abs=1e-12 * m.length)
    assert s[-1] == pytest.approx(m.length, rel=1e-12)
    assert (slope >= 0.0).all()


# ---------------------------------------------------------------- loops, a turn later


@pytest.mark.parametrize("angle", [0.4, 2.0, 5.5])
def test_a_fan_closed_by_its_turn_goes_on_round_the_circle(angle: float) -> None:
    radius, start = 90.0, 0.3
    m = measure(*fan(radius, angle, (20.0, -7.0), start))
    s = np.array([-2.6, -1.0, -0.4, 0.0, 0.2, 1.0, 1.3, 2.0, 3.7]) * m.length
    at = start + s / radius
    out = np.stack([np.cos(at), np.sin(at)], axis=1)
    assert np.allclose(m.points(s), radius * out + (20.0, -7.0), rtol=0.0, atol=1e-7)
    assert np.allclose(m.normals(s), out, atol=1e-7)
    assert np.allclose(m.tangents(s), cubics.left(out) * -1.0, atol=1e-7)
    assert np.allclose(m.curvatures(s), 1.0 / radius, rtol=1e-5)
    # A part through the closing is one arc, as long as asked.
    part = m.part(-0.3 * m.length, 2.2 * m.length)
    assert measure(part).length == pytest.approx(2.5 * angle * radius, rel=1e-9)
    assert np.abs(part[1:, 0] - part[:-1, 3]).max() <= 1e-8


@given(chains(), st.floats(-3.0, 3.0), st.lists(st.floats(-3.0, 4.0), min_size=1, max_size=8))
@settings(max_examples=60, deadline=None)
def test_a_loop_goes_on_as_its_closing_carries_it(curve: Array, kink: float, shares: list[float]) -> None:
    closing = closing_of(curve, kink)
    m, s = measure(curve, closing), np.array(shares)
    # At a node a rounding error decides which of its two sides a place belongs to.
    s = s[np.abs(s - np.round(s)) > 1e-6] * m.length
    # Three turns off, what rounding leaves of a place grows with the way it is carried.
    size = 1e-9 * (1.0 + np.abs(m.points(np.append(s, 4.0 * m.length))).max() + m.length)
    assert np.allclose(m.points(s + m.length), apply(closing, m.points(s)), rtol=0.0, atol=size)
    once, begin = np.mod(s, m.length), np.floor(s / m.length)
    flat = measure(curve).points(once)
    for k in range(-3, 5):
        here = begin == k
        assert np.allclose(m.points(s)[here], m.carried(flat[here], k), rtol=0.0, atol=size)
        assert np.allclose(m.carried(m.carried(flat[here], k), -k), flat[here], rtol=0.0, atol=size)
    turn = math.atan2(closing[1, 0], closing[0, 0])
    assert np.allclose(m.turned(np.array([[1.0, 0.0]]), 2), [[math.cos(2.0 * turn), math.sin(2.0 * turn)]], atol=1e-12)


@given(chains(), st.floats(-3.0, 3.0), st.tuples(st.floats(-2.0, 2.0), st.floats(0.01, 2.0)))
@settings(max_examples=40, deadline=None)
def test_a_part_through_the_closing(curve: Array, kink: float, ends: tuple[float, float]) -> None:
    m = measure(curve, closing_of(curve, kink))
    a, b = ends[0] * m.length, (ends[0] + ends[1]) * m.length
    part = m.part(a, b)
    size = 1e-9 * (np.abs(part).max() + m.length)
    assert measure(part).length == pytest.approx(b - a, abs=4e-9 * m.length)
    assert np.abs(part[[0, -1], [0, 3]] - m.points(np.array([a, b]))).max() <= size + 1e-9 * m.length
    assert np.abs(part[1:, 0] - part[:-1, 3]).max(initial=0.0) <= size


@given(chains(), st.floats(-3.0, 3.0))
@settings(max_examples=30, deadline=None)
def test_the_working_parameter_goes_round_too(curve: Array, kink: float) -> None:
    m = measure(curve, closing_of(curve, kink))
    r = np.linspace(-1.5, 2.5, 23) * m.length + 1e-3
    points, _ = m.places(r)
    size = 1e-9 * (np.abs(points).max() + m.length)
    assert (np.diff(m.lengths_near(r)) > 0.0).all()
    assert np.abs(m.points(m.lengths_near(r)) - points).max() <= size
    assert np.abs(m.lengths_near(r + m.length) - m.lengths_near(r) - m.length).max() <= 1e-9 * m.length


def test_places_come_with_their_derivatives() -> None:
    m = measure(*fan(90.0, 2.0))
    r = np.array([-0.7, 0.2, 0.6, 1.4]) * m.length
    (before, _), (after, _) = m.places(r - 1e-4), m.places(r + 1e-4)
    _, by_r = m.places(r)
    assert np.allclose((after - before) / 2e-4, by_r, atol=1e-6)
    assert np.allclose(m.directions(r), by_r / np.hypot(*by_r.T)[:, None], atol=1e-9)


def test_a_closed_curve_goes_round() -> None:
    m = measure(lines([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]), IDENTITY)
    assert np.allclose(m.points(np.array([-5.0, 42.0, 85.0])), [(0, 5), (2, 0), (5, 0)])
    assert np.array_equal(m.carried(np.array([3.0, 4.0])), [3.0, 4.0])
    assert np.allclose(m.tangents(np.array([-1e-6, 1e-6])), [(0, -1), (1, 0)])
    assert not m.winds
    assert measure(*fan(9.0, 1.0)).winds


def test_an_open_curve_has_no_turns() -> None:
    m = measure(lines([(0.0, 0.0), (3.0, 4.0)]))
    assert np.array_equal(m.carried(np.array([1.0, 2.0]), 3), [1.0, 2.0])
    assert np.allclose(m.lengths_near(np.array([-1.0, 6.0])), [0.0, 5.0], rtol=0.0, atol=1e-12)


@pytest.mark.parametrize(
    "make",
    [
        lambda: np.zeros((0, 4, 2)),
        lambda: np.zeros((3, 4, 2)),
        lambda: np.full((1, 4, 2), np.nan),
        lambda: np.array([[(0, 0), (1, 0), (2, np.inf), (3, 0)]]),
    ],
)
def test_what_has_no_length_is_refused(make: Callable[[], Array]) -> None:
    with pytest.raises(ValueError, match=r"segment|length"):
        measure(make())
