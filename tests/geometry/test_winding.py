"""Winding numbers, against known outlines and an independent library."""

from __future__ import annotations

import math

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import flatten, lines, reverse
from scallopkit.geometry.winding import winding

SQUARE = lines([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])


def test_sides_of_a_square() -> None:
    """The square runs to the right along y = 0 and down at x = 10: clockwise on the drawing as seen."""
    places = np.array([[5.0, 5.0], [-1.0, 5.0], [11.0, 5.0], [5.0, -1.0], [5.0, 11.0], [-1.0, 0.0], [-1.0, 10.0]])
    assert winding(SQUARE, places).tolist() == [1, 0, 0, 0, 0, 0, 0]
    assert winding(reverse(SQUARE), places).tolist() == [-1, 0, 0, 0, 0, 0, 0]


def test_rings_add_up() -> None:
    small = 0.5 * SQUARE + 2.0
    inside, between = np.array([[3.0, 3.0]]), np.array([[9.0, 9.0]])
    assert winding(np.concatenate([SQUARE, small]), inside).tolist() == [2]
    assert winding(np.concatenate([SQUARE, reverse(small)]), inside).tolist() == [0]
    assert winding(np.concatenate([SQUARE, small]), between).tolist() == [1]


def test_a_hair_beside_a_circle() -> None:
    circle = ellipse_arc((1.0, 2.0), (50.0, 50.0), 0.0, 0.3, 2.0 * math.pi, 1e-9)
    circle[-1, 3] = circle[0, 0]
    angle = np.linspace(0.0, 2.0 * math.pi, 101)
    ray = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    # The cubics leave the circle by at most 1e-10 of the radius.
    assert (winding(circle, [1.0, 2.0] + (50.0 - 1e-7) * ray) == 1).all()
    assert (winding(circle, [1.0, 2.0] + (50.0 + 1e-7) * ray) == 0).all()


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(*[st.tuples(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))] * 3), min_size=2, max_size=5),
    st.lists(st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0)), min_size=1, max_size=20),
)
def test_odd_numbers_are_where_a_polygon_holds_the_point(
    controls: list[tuple[tuple[float, float], ...]], where: list[tuple[float, float]]
) -> None:
    control = np.round(controls, 6)  # the library compared with does not take denormal numbers
    assume(np.ptp(control, axis=(0, 1)).min() > 1.0)
    curve = np.concatenate([control, np.roll(control[:, :1], -1, axis=0)], axis=1)
    points = np.array(where)
    outline = shapely.LinearRing(flatten(curve, 1e-4))
    clear = shapely.distance(outline, shapely.points(points)) > 1e-3
    # Ray casting of the polygon in its own right: shapely's test of a ring that crosses itself is even-odd.
    inside = shapely.contains_xy(shapely.Polygon(outline), points[:, 0], points[:, 1])
    odd = winding(curve, points) % 2 == 1
    assert (odd == inside)[clear].all()
