"""The nearest place of a curve, against closed forms and dense samples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.errors import RequestError
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, cut, derivative, lines, point, quadratics, reverse
from scallopkit.geometry.motion import apply, turned
from scallopkit.geometry.nearest import nearest

NUMBER = st.floats(-100.0, 100.0)
SEGMENT = st.lists(st.tuples(NUMBER, NUMBER), min_size=4, max_size=4)
POINTS = st.lists(st.tuples(st.floats(-200.0, 200.0), st.floats(-200.0, 200.0)), min_size=1, max_size=5)


def curve_of(segments: list[list[tuple[float, float]]]) -> Array:
    """Segments of any shape, each starting where the last one ended."""
    curve = np.array(segments, dtype=float)
    curve[1:, 0] = curve[:-1, 3]
    return curve


def sampled_distance(curve: Array, points: Array, steps: int) -> Array:
    t = np.tile(np.linspace(0.0, 1.0, steps + 1), len(curve))
    places = point(curve, np.repeat(np.arange(len(curve)), steps + 1), t)
    return np.asarray(np.hypot(*np.moveaxis(points[:, None] - places, 2, 0)).min(axis=1))


@settings(max_examples=80, deadline=None)
@given(st.lists(SEGMENT, min_size=1, max_size=4), POINTS)
def test_no_sample_is_nearer_and_the_samples_come_near(
    segments: list[list[tuple[float, float]]], where: list[tuple[float, float]]
) -> None:
    curve, points = curve_of(segments), np.array(where)
    found = nearest(curve, points)
    dense = sampled_distance(curve, points, 2000)
    assert (found.distance <= dense + 1e-9).all()
    # A sample is at most half a step of 1/2000 away, at a speed of at most 3 x 283 mm.
    assert (dense <= found.distance + 0.25).all()
    place = point(curve, found.segment, found.t)
    np.testing.assert_array_equal(place, found.point)
    np.testing.assert_allclose(np.hypot(*(place - points).T), found.distance, atol=1e-12)


@settings(max_examples=80, deadline=None)
@given(st.lists(SEGMENT, min_size=1, max_size=4), POINTS)
def test_the_gap_is_square_to_the_curve_inside_a_segment(
    segments: list[list[tuple[float, float]]], where: list[tuple[float, float]]
) -> None:
    curve, points = curve_of(segments), np.array(where)
    found = nearest(curve, points)
    inside = (found.t > 1e-6) & (found.t < 1.0 - 1e-6)
    along = derivative(curve, found.segment, found.t)
    slope = ((found.point - points) * along).sum(axis=1)
    size = np.hypot(*along.T) * (found.distance + np.ptp(curve))
    # Where the curve stands still the direction is rounding.
    assert (np.abs(slope[inside]) <= 1e-7 * size[inside] + 1e-9).all()


@settings(max_examples=40, deadline=None)
@given(st.lists(SEGMENT, min_size=1, max_size=3), POINTS, st.floats(0.0, 6.0))
def test_reversing_turning_and_splitting_leave_the_distance(
    segments: list[list[tuple[float, float]]], where: list[tuple[float, float]], angle: float
) -> None:
    curve, points = curve_of(segments), np.array(where)
    distance = nearest(curve, points).distance
    # 1e-9 mm is what is promised, so two answers may differ by twice that.
    np.testing.assert_allclose(nearest(reverse(curve), points).distance, distance, atol=2e-9)
    turn = turned(angle)
    np.testing.assert_allclose(nearest(apply(turn, curve), apply(turn, points)).distance, distance, atol=2e-9)
    number = np.arange(len(curve)).repeat(3)
    a = np.tile([0.0, 0.31, 0.77], len(curve))
    split = cut(curve, number, a, np.tile([0.31, 0.77, 1.0], len(curve)))
    np.testing.assert_allclose(nearest(split, points).distance, distance, atol=2e-9)


@settings(max_examples=40, deadline=None)
@given(st.lists(SEGMENT, min_size=1, max_size=4), st.floats(0.0, 1.0))
def test_a_point_of_the_curve_is_found_on_it(segments: list[list[tuple[float, float]]], t: float) -> None:
    curve = curve_of(segments)
    places = point(curve, np.arange(len(curve)), np.full(len(curve), t))
    assert nearest(curve, places).distance.max() <= 1e-9


def test_foot_on_a_parabola() -> None:
    """From (0, h) to y = x² the distance is sqrt(h - 1/4) once h is over 1/2 (least of x² + (x² - h)²)."""
    curve = quadratics([[[-2.0, 4.0], [0.0, -4.0], [2.0, 4.0]]])
    heights = np.array([0.2, 0.5, 0.75, 1.0, 2.0])
    found = nearest(curve, np.stack([np.zeros(5), heights], axis=1))
    expected = np.where(heights > 0.5, np.sqrt(np.maximum(heights - 0.25, 0.0)), heights)
    np.testing.assert_allclose(found.distance, expected, atol=1e-9)
    np.testing.assert_allclose(found.point[:, 1], np.maximum(heights - 0.5, 0.0), atol=1e-7)


def test_the_centre_of_a_circle_does_not_stall() -> None:
    circle = ellipse_arc((3.0, 4.0), (50.0, 50.0), 0.0, 0.0, 2.0 * math.pi, 1e-9)
    found = nearest(circle, np.tile([[3.0, 4.0]], (1000, 1)))
    # The arc's cubics leave the circle by at most 1e-10 of the radius.
    np.testing.assert_allclose(found.distance, 50.0, atol=1e-8)


def test_ends_and_degenerate_segments() -> None:
    line = lines([[0.0, 0.0], [10.0, 0.0], [10.0, 0.0], [10.0, 10.0]])
    found = nearest(line, np.array([[-3.0, 4.0], [13.0, -4.0], [5.0, 2.0], [13.0, 14.0]]))
    np.testing.assert_allclose(found.distance, [5.0, 5.0, 2.0, 5.0], atol=1e-12)
    np.testing.assert_allclose(found.point, [[0.0, 0.0], [10.0, 0.0], [5.0, 0.0], [10.0, 10.0]], atol=1e-12)
    assert found.segment.tolist() == [0, 0, 0, 2]
    assert len(nearest(line, np.empty((0, 2))).distance) == 0


def test_far_from_the_origin() -> None:
    shift = np.array([1e5, -2e5])
    curve = quadratics([[[-2.0, 4.0], [0.0, -4.0], [2.0, 4.0]]])
    found = nearest(curve + shift, np.array([[0.0, 2.0]]) + shift)
    # Coordinates of 2e5 have steps of 3e-11.
    assert found.distance[0] == pytest.approx(math.sqrt(1.75), abs=1e-9)


@pytest.mark.parametrize(
    ("curve", "points"),
    [
        (np.empty((0, 4, 2)), np.zeros((1, 2))),
        (np.full((1, 4, 2), math.nan), np.zeros((1, 2))),
        (np.zeros((1, 4, 2)), np.full((1, 2), math.inf)),
    ],
)
def test_what_has_no_distance_is_refused(curve: Array, points: Array) -> None:
    with pytest.raises(RequestError):
        nearest(curve, points)
