"""Crossings of curves and of one curve with itself, against closed forms and an independent library."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, cut, direction, flatten, lines, point, quadratics, reverse
from scallopkit.geometry.intersect import Crossings, crossings, self_crossings
from scallopkit.geometry.motion import apply, turned

NUMBER = st.floats(-100.0, 100.0)
SEGMENT = st.lists(st.tuples(NUMBER, NUMBER), min_size=4, max_size=4)
CURVE = st.lists(SEGMENT, min_size=1, max_size=4)
Segments = list[list[tuple[float, float]]]


def curve_of(segments: Segments) -> Array:
    """Segments of any shape, each at least a millimetre wide and starting where the last one ended."""
    curve = np.round(np.array(segments, dtype=float), 6)
    curve[1:, 0] = curve[:-1, 3]
    assume(np.ptp(curve, axis=1).max(axis=1).min() > 1.0)
    return curve


def nodes_of(*curves: Array) -> list[Array]:
    return [np.concatenate([curve[:, 0], curve[-1:, 3]]) for curve in curves]


def circle(x: float, y: float, radius: float) -> Array:
    curve = ellipse_arc((x, y), (radius, radius), 0.0, 0.0, 2.0 * math.pi, 1e-9)
    curve[-1, 3] = curve[0, 0]
    return curve


def wave(segments: int, phase: float) -> Array:
    """A smooth wave of many segments along x."""
    s = np.linspace(0.0, 60.0 * math.pi, segments + 1)
    h = s[1] / 3.0
    place = np.stack([10.0 * s, 30.0 * np.sin(s + phase)], axis=1)
    pull = h * np.stack([np.full(len(s), 10.0), 30.0 * np.cos(s + phase)], axis=1)
    return np.stack([place[:-1], place[:-1] + pull[:-1], place[1:] - pull[1:], place[1:]], axis=1)


def gaps(a: Array, b: Array, found: Crossings) -> Array:
    apart = point(a, found.segment_a, found.t_a) - point(b, found.segment_b, found.t_b)
    return np.asarray(np.hypot(*apart.T))


def assert_same_places(first: Array, second: Array, reach: float) -> None:
    assert len(first) == len(second)
    if len(first):
        apart = np.hypot(*np.moveaxis(first[:, None] - second, 2, 0))
        assert apart.min(axis=0).max() <= reach
        assert apart.min(axis=1).max() <= reach


def flattest(a: Array, b: Array, found: Crossings) -> float:
    """The sine of the smallest angle at a crossing: where curves graze, polylines do not count reliably."""
    one, two = direction(a, found.segment_a, found.t_a), direction(b, found.segment_b, found.t_b)
    return float(np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).min(initial=1.0))


def closest(places: Array) -> float:
    """The smallest distance, along x or y, between two of the places."""
    apart = np.abs(places[:, None] - places).max(axis=2)
    return float(apart[~np.eye(len(places), dtype=bool)].min(initial=1e9))


@settings(max_examples=60, deadline=None)
@given(CURVE, CURVE)
def test_as_many_crossings_as_of_fine_polylines(first: Segments, second: Segments) -> None:
    a, b = curve_of(first), curve_of(second)
    found = crossings(a, b)
    assert gaps(a, b, found).max(initial=0.0) <= (1e-6 if found.overlap else 2e-8)
    common = shapely.intersection(shapely.LineString(flatten(a, 1e-4)), shapely.LineString(flatten(b, 1e-4)))
    expected = shapely.get_coordinates(common)
    assume(flattest(a, b, found) > 0.05 and closest(np.concatenate([found.point, *nodes_of(a, b)])) > 0.05)
    assume(closest(expected) > 0.05)
    assert_same_places(found.point, expected, 1e-2)


@settings(max_examples=40, deadline=None)
@given(CURVE, CURVE, st.floats(0.0, 6.0))
def test_order_reversal_and_motion_leave_the_places(first: Segments, second: Segments, angle: float) -> None:
    a, b = curve_of(first), curve_of(second)
    found = crossings(a, b)
    assume(flattest(a, b, found) > 0.05 and not found.overlap)
    for other in (crossings(b, a), crossings(reverse(a), b), crossings(a, reverse(b))):
        assert_same_places(found.point, other.point, 1e-7)
    turn = turned(angle)
    assert_same_places(apply(turn, found.point), crossings(apply(turn, a), apply(turn, b)).point, 1e-7)


def test_line_and_parabola() -> None:
    """The curves y = x² and y = 2 - x meet at x = 1 and x = -2."""
    curve = quadratics([[[-3.0, 9.0], [0.0, -9.0], [3.0, 9.0]]])
    found = crossings(curve, lines([[-3.0, 5.0], [3.0, -1.0]]))
    np.testing.assert_allclose(found.point, [[-2.0, 4.0], [1.0, 1.0]], atol=1e-9)
    np.testing.assert_allclose(found.t_a, [1.0 / 6.0, 4.0 / 6.0], atol=1e-10)
    np.testing.assert_allclose(found.t_b, [1.0 / 6.0, 4.0 / 6.0], atol=1e-10)


def test_nine_crossings_of_two_cubics() -> None:
    """Two cubics y = f(x) and x = f(y) with f(x) = 4x³ - 3x meet nine times, as Bézout allows."""
    # 4x³ - 3x over -1..1 in Bernstein form.
    graph = np.array([[[-1.0, -1.0], [-1.0 / 3.0, 5.0], [1.0 / 3.0, -5.0], [1.0, 1.0]]])
    found = crossings(graph, graph[..., ::-1].copy())
    assert len(found) == 9
    x, y = found.point.T
    np.testing.assert_allclose(4.0 * x**3 - 3.0 * x, y, atol=1e-9)
    np.testing.assert_allclose(4.0 * y**3 - 3.0 * y, x, atol=1e-9)


def test_two_circles() -> None:
    found = crossings(circle(0.0, 0.0, 5.0), circle(6.0, 0.0, 5.0))
    # The cubics of each circle leave it by at most 5e-10 mm.
    assert_same_places(found.point, np.array([[3.0, 4.0], [3.0, -4.0]]), 2e-9)


@pytest.mark.parametrize(("gap", "count"), [(0.0, 1), (1e-6, 0), (-1e-6, 2)])
def test_circles_that_touch(gap: float, count: int) -> None:
    found = crossings(circle(0.0, 0.0, 50.0), circle(80.0 + gap, 0.0, 30.0))
    assert len(found) == count
    assert not found.overlap
    # Where circles of 50 and 30 mm touch, 1e-8 mm apart is as good as 6e-4 mm along.
    assert np.abs(found.point - [50.0, 0.0]).max(initial=0.0) < 0.02


def test_a_crossing_at_nodes_is_given_once() -> None:
    zigzag = lines([[0.0, 0.0], [10.0, 10.0], [20.0, 0.0]])
    assert len(crossings(zigzag, lines([[10.0, 0.0], [10.0, 10.0], [10.0, 20.0]]))) == 1
    square = lines([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    assert len(crossings(square, lines([[-5.0, -5.0], [5.0, 5.0]]))) == 1
    # A curve that comes by the same place twice crosses there twice.
    assert len(crossings(lines([[-5.0, 5.0], [5.0, 5.0], [5.0, 6.0], [-5.0, 4.0]]), square)) == 2


def test_a_touching_end_is_found() -> None:
    found = crossings(lines([[0.0, 0.0], [10.0, 0.0]]), lines([[4.0, 0.0], [4.0, 7.0]]))
    np.testing.assert_allclose(found.point, [[4.0, 0.0]], atol=1e-9)
    assert len(crossings(lines([[0.0, 0.0], [10.0, 0.0]]), lines([[4.0, 1e-6], [4.0, 7.0]]))) == 0


def test_a_shared_stretch_is_said_and_its_ends_are_given() -> None:
    found = crossings(lines([[0.0, 0.0], [100.0, 0.0]]), lines([[60.0, 0.0], [150.0, 0.0]]))
    assert found.overlap
    np.testing.assert_allclose(found.point, [[60.0, 0.0], [100.0, 0.0]], atol=1e-6)
    curve = quadratics([[[0.0, 0.0], [50.0, 80.0], [100.0, 0.0]]])
    part = cut(curve, np.array([0]), np.array([0.3]), np.array([0.8]))
    found = crossings(curve, part)
    assert found.overlap
    np.testing.assert_allclose(found.t_a, [0.3, 0.8], atol=1e-6)


def test_a_curve_laid_on_itself_does_not_explode() -> None:
    a = wave(200, 0.0)
    found = crossings(a, a.copy())
    assert found.overlap
    assert len(found) == 201
    beside = crossings(a, a + np.array([0.0, 1e-4]))
    assert (len(beside), beside.overlap) == (0, False)


def test_long_curves() -> None:
    a, b = wave(1000, 0.0), wave(1000, 1.0)
    found = crossings(a, b)
    # sin(s) = sin(s + 1) once every half turn: s = (π - 1) / 2 + k π.
    expected = 10.0 * ((math.pi - 1.0) / 2.0 + math.pi * np.arange(60))
    # The wave is the sine within h⁴ / 384 · 30 = 1e-4 mm.
    np.testing.assert_allclose(found.point[:, 0], expected, atol=1e-3)
    assert gaps(a, b, found).max() <= 1e-9
    assert len(self_crossings(a, False)) == 0


@settings(max_examples=60, deadline=None)
@given(CURVE)
def test_self_crossings_as_of_a_fine_polyline(segments: Segments) -> None:
    curve = curve_of(segments)
    found = self_crossings(curve, False)
    assert (found.segment_a + found.t_a <= found.segment_b + found.t_b).all()
    # Branches are counted where the noded polyline has nodes of its own: four make a crossing.
    noded = shapely.get_parts(shapely.unary_union(shapely.LineString(flatten(curve, 1e-4))))
    ends = Counter(c for part in noded for c in (part.coords[0], part.coords[-1]))
    expected = np.array([c for c, branches in ends.items() if branches == 4]).reshape(-1, 2)
    assume(max(ends.values()) <= 4 and not found.overlap and flattest(curve, curve, found) > 0.05)
    assume(closest(np.concatenate([found.point, *nodes_of(curve)])) > 0.05 and closest(expected) > 0.05)
    assert_same_places(found.point, expected, 1e-2)


def test_the_loop_of_one_cubic() -> None:
    loop = np.array([[[0.0, 0.0], [100.0, 100.0], [-50.0, 100.0], [50.0, 0.0]]])
    found = self_crossings(loop, False)
    # By symmetry on x = 25; t and 1 - t with 50 - 300 t (1 - t) … = 25 give 6 Q = 3/5.
    assert found.t_a[0] + found.t_b[0] == pytest.approx(1.0, abs=1e-12)
    assert found.t_a[0] * found.t_b[0] == pytest.approx(0.1, abs=1e-12)
    np.testing.assert_allclose(found.point, [[25.0, 30.0]], atol=1e-9)
    assert len(self_crossings(np.array([[[0.0, 0.0], [80.0, 80.0], [-80.0, 80.0], [0.0, 0.0]]]), True)) == 0
    assert len(self_crossings(np.array([[[0.0, 0.0], [80.0, 80.0], [-80.0, 80.0], [0.0, 0.0]]]), False)) == 1


def test_shared_nodes_are_no_crossings() -> None:
    square = lines([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    assert len(self_crossings(square, True)) == 0
    assert len(self_crossings(square, False)) == 1
    assert len(self_crossings(circle(0.0, 0.0, 50.0), True)) == 0
    eight = lines([[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0], [0.0, 0.0]])
    np.testing.assert_allclose(self_crossings(eight, True).point, [[5.0, 5.0]], atol=1e-9)
    pinched = lines([[0.0, 0.0], [10.0, 0.0], [5.0, 5.0], [10.0, 10.0], [0.0, 10.0], [5.0, 5.0], [0.0, 0.0]])
    np.testing.assert_allclose(self_crossings(pinched, True).point, [[5.0, 5.0]], atol=1e-9)


def test_a_cusp_at_a_node_is_no_crossing_and_a_line_walked_twice_is_an_overlap() -> None:
    cusp = np.array(
        [[[0.0, 0.0], [0.0, 20.0], [40.0, 0.0], [40.0, 0.0]], [[40.0, 0.0], [40.0, 0.0], [0.0, -20.0], [0.0, -5.0]]]
    )
    assert len(self_crossings(cusp, False)) == 0
    assert self_crossings(lines([[0.0, 0.0], [100.0, 0.0], [50.0, 0.0]]), False).overlap
    assert self_crossings(np.array([[[0.0, 0.0], [50.0, 0.0], [100.0, 0.0], [-50.0, 0.0]]]), False).overlap
    assert not self_crossings(lines([[0.0, 0.0], [100.0, 0.0], [150.0, 0.0]]), False).overlap


def test_nothing_meets_nothing() -> None:
    empty = np.empty((0, 4, 2))
    assert len(crossings(empty, lines([[0.0, 0.0], [1.0, 0.0]]))) == 0
    assert len(self_crossings(empty, False)) == 0
