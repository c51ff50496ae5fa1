"""Curves as cubic segments: made, evaluated, cut, turned round, boxed, flattened."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array

COORDINATE = st.floats(-500.0, 500.0)
POINT = st.tuples(COORDINATE, COORDINATE)
PARAMETER = st.floats(0.0, 1.0)


@st.composite
def chains(draw: st.DrawFn) -> Array:
    """One to four cubics end to end, of any shape: loops, cusps and retracted handles included."""
    points = draw(st.lists(POINT, min_size=4, max_size=13))
    n = (len(points) - 1) // 3
    p = np.array(points[: 3 * n + 1])
    return np.stack([p[3 * i : 3 * i + 4] for i in range(n)])


def sampled(curve: Array, per_segment: int = 65) -> Array:
    segment = np.repeat(np.arange(len(curve)), per_segment)
    return cubics.point(curve, segment, np.tile(np.linspace(0.0, 1.0, per_segment), len(curve)))


def one(curve: Array, t: float) -> tuple[np.ndarray, Array]:
    return np.array([0]), np.array([t])


# ---------------------------------------------------------------- making and evaluating


def test_lines_run_evenly() -> None:
    curve = cubics.lines([(0.0, 0.0), (30.0, 0.0), (30.0, 60.0)])
    assert curve.shape == (2, 4, 2)
    assert np.allclose(cubics.point(curve, np.array([0, 1]), np.array([0.25, 0.5])), [(7.5, 0.0), (30.0, 30.0)])
    speed = cubics.derivative(curve, np.array([0, 0, 1]), np.array([0.0, 0.7, 1.0]))
    assert np.allclose(speed, [(30.0, 0.0), (30.0, 0.0), (0.0, 60.0)])


@given(st.tuples(POINT, POINT, POINT), PARAMETER)
@settings(max_examples=60, deadline=None)
def test_a_raised_quadratic_is_the_same_curve(control: tuple[tuple[float, float], ...], t: float) -> None:
    a, m, b = np.array(control)
    here = cubics.point(cubics.quadratics([control]), *one(np.zeros(0), t))[0]
    # Sums of a few products of numbers up to 500.
    assert np.allclose(here, (1 - t) ** 2 * a + 2 * t * (1 - t) * m + t * t * b, rtol=0.0, atol=1e-12 * 500.0)


@given(chains(), PARAMETER)
@settings(max_examples=60, deadline=None)
def test_derivatives_are_those_of_the_polynomial(curve: Array, t: float) -> None:
    p0, p1, p2, p3 = curve[0]
    power = np.array([p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - 3 * p2 + 3 * p1 - p0])
    place = one(curve, t)
    assert np.allclose(cubics.point(curve, *place)[0], power.T @ [1, t, t * t, t**3], atol=1e-9)
    assert np.allclose(cubics.derivative(curve, *place)[0], power.T @ [0, 1, 2 * t, 3 * t * t], atol=1e-9)
    assert np.allclose(cubics.second_derivative(curve, *place)[0], power.T @ [0, 0, 2, 6 * t], atol=1e-9)


def test_ends_are_kept_to_the_last_bit() -> None:
    curve = np.random.default_rng(1).normal(size=(20, 4, 2)) * 100.0
    every = np.arange(20)
    assert np.array_equal(cubics.point(curve, every, np.zeros(20)), curve[:, 0])
    assert np.array_equal(cubics.point(curve, every, np.ones(20)), curve[:, 3])


# ---------------------------------------------------------------- directions


@pytest.mark.parametrize(
    ("control", "first", "last"),
    [
        ([(0, 0), (1, 0), (3, 1), (3, 2)], (1, 0), (0, 1)),
        # One handle retracted into its node: the direction is that to the next control point.
        ([(0, 0), (0, 0), (3, 4), (9, 4)], (0.6, 0.8), (1, 0)),
        ([(0, 0), (5, 0), (9, 4), (9, 4)], (1, 0), (math.sqrt(0.5), math.sqrt(0.5))),
        # Both, and both into one node: a straight line, and a line that starts at rest.
        ([(0, 0), (0, 0), (9, 12), (9, 12)], (0.6, 0.8), (0.6, 0.8)),
        ([(0, 0), (0, 0), (0, 0), (9, 12)], (0.6, 0.8), (0.6, 0.8)),
        ([(0, 0), (9, 12), (9, 12), (9, 12)], (0.6, 0.8), (0.6, 0.8)),
        # A segment that is a single point.
        ([(5, 5), (5, 5), (5, 5), (5, 5)], (1, 0), (1, 0)),
    ],
)
def test_directions_at_the_ends(
    control: list[tuple[float, float]], first: tuple[float, float], last: tuple[float, float]
) -> None:
    found = cubics.ends_direction(np.array([control], dtype=float))
    assert np.allclose(found, (first, last), rtol=0.0, atol=1e-9)


@given(chains(), PARAMETER)
@settings(max_examples=60, deadline=None)
def test_directions_are_unit_vectors_and_turn_round_with_the_curve(curve: Array, t: float) -> None:
    number = np.array([len(curve) - 1])
    there = cubics.direction(curve, number, np.array([t]))[0]
    back = cubics.direction(cubics.reverse(curve), np.array([0]), np.array([1.0 - t]))[0]
    assert np.hypot(*there) == pytest.approx(1.0, rel=1e-12)
    speed = np.hypot(*cubics.derivative(curve, number, np.array([t]))[0])
    if speed > 1e-3 * np.ptp(curve[-1], axis=0).max() > 0.0:
        assert np.allclose(there, -back, rtol=0.0, atol=1e-9)


def test_left_is_left_as_seen() -> None:
    # Walking to the right on a drawing with y down, the left hand points up, to smaller y.
    assert np.array_equal(cubics.left(np.array([[1.0, 0.0], [0.0, 1.0]])), [(0.0, -1.0), (1.0, 0.0)])


# ---------------------------------------------------------------- cutting


@given(chains(), PARAMETER, PARAMETER, PARAMETER)
@settings(max_examples=60, deadline=None)
def test_a_cut_part_is_that_part(curve: Array, a: float, b: float, u: float) -> None:
    part = cubics.cut(curve, np.array([0]), np.array([a]), np.array([b]))
    here = cubics.point(part, *one(part, u))[0]
    # Blossoming rounds a few times at the size of the coordinates.
    assert np.allclose(here, cubics.point(curve, *one(curve, a + (b - a) * u))[0], rtol=0.0, atol=1e-11 * 500.0)


@given(chains(), st.data())
@settings(max_examples=60, deadline=None)
def test_stretches_fit_together(curve: Array, data: st.DataObject) -> None:
    n = len(curve)
    i, a = data.draw(st.integers(0, n - 1)), data.draw(PARAMETER)
    head, tail = cubics.stretch(curve, (0, 0.0), (i, a)), cubics.stretch(curve, (i, a), (n - 1, 1.0))
    both = np.concatenate([head, tail])
    assert np.array_equal(both[0, 0], curve[0, 0])
    assert np.array_equal(both[-1, 3], curve[-1, 3])
    assert len(both) == n + (0.0 < a < 1.0)
    assert np.allclose(both[1:, 0], both[:-1, 3], rtol=0.0, atol=1e-11 * 500.0)


def test_a_stretch_between_nodes_is_copied() -> None:
    curve = cubics.lines(np.random.default_rng(2).normal(size=(6, 2)))
    assert np.array_equal(cubics.stretch(curve, (1, 0.0), (3, 1.0)), curve[1:4])
    assert np.array_equal(cubics.stretch(curve, (0, 1.0), (3, 0.0)), curve[1:3])


def test_points_are_taken_out() -> None:
    curve = np.concatenate([cubics.lines([(0, 0), (1, 0)]), np.full((2, 4, 2), 1.0), cubics.lines([(1, 1), (2, 0)])])
    assert len(cubics.without_points(curve)) == 2


@given(chains())
@settings(max_examples=30, deadline=None)
def test_reversed_twice_is_the_same(curve: Array) -> None:
    back = cubics.reverse(curve)
    assert np.array_equal(back[0, 0], curve[-1, 3])
    assert np.array_equal(cubics.reverse(back), curve)
    assert np.allclose(sampled(back), sampled(curve)[::-1], rtol=0.0, atol=1e-10)


# ---------------------------------------------------------------- areas and boxes


def test_area_of_known_shapes() -> None:
    square = cubics.lines([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    assert cubics.area(square) == pytest.approx(100.0, rel=1e-14)
    assert cubics.area(cubics.reverse(square)) == pytest.approx(-100.0, rel=1e-14)
    # 3 parts of 4 of the base times height under a cubic with level handles: a quarter each way of its box.
    bump = np.array([[(0, 0), (0, 4), (6, 4), (6, 0)]], dtype=float)
    closed = np.concatenate([bump, cubics.lines([(6, 0), (0, 0)])])
    # Integral of y dx with x = 18 t² - 12 t³, y = 12 t (1 - t): 432 B(3, 3) = 14.4.
    assert abs(cubics.area(closed)) == pytest.approx(14.4, rel=1e-14)
    circle = ellipse_arc((300.0, -40.0), (50.0, 50.0), 0.0, 0.0, 2.0 * math.pi, 1e-9)
    assert cubics.area(circle) == pytest.approx(2500.0 * math.pi, rel=1e-9)


@given(chains(), POINT, st.floats(0.05, 0.95))
@settings(max_examples=60, deadline=None)
def test_area_does_not_hang_on_place_or_nodes(curve: Array, shift: tuple[float, float], t: float) -> None:
    closed = np.concatenate([curve, cubics.lines(np.stack([curve[-1, 3], curve[0, 0]]))])
    n = len(closed)
    zero, one_, at = np.zeros(n), np.ones(n), np.full(n, t)
    every = np.arange(n)
    halves = np.stack([cubics.cut(closed, every, zero, at), cubics.cut(closed, every, at, one_)], axis=1)
    # Products of two coordinates up to 1000.
    assert cubics.area(closed + shift) == pytest.approx(cubics.area(closed), rel=1e-9, abs=1e-6)
    assert cubics.area(halves.reshape(-1, 4, 2)) == pytest.approx(cubics.area(closed), rel=1e-9, abs=1e-6)


@given(chains())
@settings(max_examples=80, deadline=None)
def test_the_box_is_exact(curve: Array) -> None:
    low, high = cubics.bounds(curve)
    points = sampled(curve, 513)
    assert (points >= low - 1e-9).all()
    assert (points <= high + 1e-9).all()
    # Samples come as near to an extreme as the square of half a step, times the bend.
    bend = 6.0 * np.abs(np.diff(curve, n=2, axis=1)).max() / 8.0 / 512.0**2
    assert (points.min(axis=0) - low).max() <= bend + 1e-9
    assert (high - points.max(axis=0)).max() <= bend + 1e-9


def test_the_box_of_a_tilted_ellipse() -> None:
    a, b, turn = 60.0, 20.0, 0.7
    curve = ellipse_arc((5.0, 7.0), (a, b), turn, 0.0, 2.0 * math.pi, 1e-9)
    half = np.array(
        [math.hypot(a * math.cos(turn), b * math.sin(turn)), math.hypot(a * math.sin(turn), b * math.cos(turn))]
    )
    assert np.allclose(cubics.bounds(curve), [np.array([5.0, 7.0]) - half, np.array([5.0, 7.0]) + half], atol=1e-7)


# ---------------------------------------------------------------- flattening


@given(chains(), st.floats(-4.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_flattened_within_what_was_asked(curve: Array, digits: float) -> None:
    accuracy = 10.0**digits
    line = cubics.flatten(curve, accuracy)
    assert np.array_equal(line[0], curve[0, 0])
    assert np.array_equal(line[-1], curve[-1, 3])
    if len(line) > 4000:
        return
    a, b = line[:-1], line[1:]
    points = sampled(curve, 33)
    along = b - a
    size = np.maximum((along * along).sum(axis=1), 1e-300)
    t = np.clip(((points[:, None] - a) * along).sum(axis=-1) / size, 0.0, 1.0)
    off = np.hypot(*np.moveaxis(points[:, None] - a - t[..., None] * along, -1, 0)).min(axis=1)
    assert off.max() <= accuracy * (1.0 + 1e-9) + 1e-10


def test_a_line_needs_no_more_than_its_ends() -> None:
    assert len(cubics.flatten(cubics.lines([(0, 0), (1000, 0), (1000, 5)]), 1e-6)) == 3


@given(chains(), COORDINATE, COORDINATE, st.floats(-3.0, 3.0))
def test_a_line_meets_a_curve_where_it_changes_sides(curve: Array, x: float, y: float, lean: float) -> None:
    normal, place = np.array([-math.sin(lean), math.cos(lean)]), np.array([x, y])
    segment, t = cubics.meets_line(curve, place, normal)
    # On the line to the rounding of coordinates of some hundred mm, a touching place to the root of it.
    np.testing.assert_allclose((cubics.point(curve, segment, t) - place) @ normal, 0.0, atol=1e-6)
    for k in range(len(curve)):
        side = (sampled(curve[k : k + 1], 400) - place) @ normal
        changes = int((np.diff(np.sign(side[np.abs(side) > 1e-6])) != 0).sum())
        assert (segment == k).sum() >= changes
