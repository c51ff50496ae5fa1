"""Published facts about parallel curves, and a second opinion by another library on finely flattened outlines."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, area, flatten, lines, point
from scallopkit.geometry.offset import Join, offset

FINE = 1e-6  # mm


def ellipse(a: float, b: float) -> Array:
    return ellipse_arc((0.0, 0.0), (a, b), 0.3, 0.0, 2.0 * math.pi, 1e-9)


def length(curve: Array) -> float:
    # A chord that is 1e-7 mm away from an arc is shorter by a part of about 1e-9 on these outlines.
    return float(np.hypot(*np.diff(flatten(curve, 1e-7), axis=0).T).sum())


@pytest.mark.parametrize(
    ("distance", "expected_length", "expected_area"),
    [
        # Steiner: L + 2πs and A + Ls + πs² for the parallel of a convex outline, inward while s is under the least
        # radius of curvature b²/a = 30. Formula: math.stackexchange.com/questions/1402201 and jakehume.xyz; the
        # figures for half axes 120 and 60 follow from it with L = 4a E(1 - b²/a²), computed to 30 digits.
        (15.0, 675.5546728, 32045.928851),
        (-10.0, 518.4750401, 17120.557439),
    ],
)
def test_steiner_on_an_ellipse(distance: float, expected_length: float, expected_area: float) -> None:
    (result,) = offset(ellipse(120.0, 60.0), distance, True, accuracy=FINE)
    # An outline within FINE is off by at most 2π FINE in length and L FINE in area.
    assert length(result) == pytest.approx(expected_length, abs=1e-5)
    assert area(result) == pytest.approx(expected_area, abs=7e-4)


@pytest.mark.parametrize(
    ("side", "distance", "join", "expected"),
    [
        # The same formula on squares: mitred (10 + 3)², round 10² + 4·15 + 2.25π and 100² + 4·1500 + 225π.
        (10.0, 1.5, "mitre", 169.0),
        (10.0, 1.5, "round", 167.0685835),
        (100.0, 15.0, "mitre", 16900.0),
        (100.0, 15.0, "round", 16706.858347),
    ],
)
def test_steiner_on_squares(side: float, distance: float, join: Join, expected: float) -> None:
    square = side * lines([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.0, 0.0]])
    (result,) = offset(square, distance, True, join)
    assert area(result) == pytest.approx(expected, abs=1e-6)


def test_cusps_of_the_parallel_of_a_parabola() -> None:
    """Farouki and Neff, Computer Aided Geometric Design 7 (1990): the parallel of y = x² meets itself on the axis.

    Inside at the distance d over 1/2 the point (0, d² + 1/4) is at the distance d from two places of the parabola.
    """
    parabola = 10.0 * np.array([[[-3.0, 9.0], [-1.0, -3.0], [1.0, -3.0], [3.0, 9.0]]])
    distance = 2.0
    (result,) = offset(parabola, -10.0 * distance, False, accuracy=FINE)
    on_axis = np.concatenate([result[:, 0], result[-1:, 3]])
    tip = on_axis[np.abs(on_axis[:, 0]).argmin()]
    np.testing.assert_allclose(tip, [0.0, 10.0 * (distance**2 + 0.25)], atol=10.0 * FINE)
    # Both branches leave the axis at the slope of their foot points, x = ±√(d² - 1/4).
    assert len(result) > 2


def outline(seed: int) -> Array:
    """A smooth outline with bays and capes, clockwise as seen."""
    rng = np.random.default_rng(seed)
    angle = 2.0 * math.pi * np.arange(24) / 24
    radius = 100.0 * np.exp(rng.normal(size=24) * 0.12)
    node = radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    slope = (np.roll(node, -1, axis=0) - np.roll(node, 1, axis=0)) / 6.0
    after = np.roll(node, -1, axis=0)
    return np.stack([node, node + slope, after - np.roll(slope, -1, axis=0), after], axis=1)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("distance", [15.0, -15.0, -40.0])
def test_second_opinion_on_a_flattened_outline(seed: int, distance: float) -> None:
    """The buffer of GEOS (libgeos.org), by shapely, of the outline flattened to 1e-3 mm.

    Arcs of the buffer are kept to 1e-3 by (π/4) / acos(1 - tolerance / distance) steps a quarter. GEOS simplifies
    hollow stretches of its input by up to 1 % of the distance (BufferParameters, simplify factor), and that is what
    the tolerance allows for.
    """
    source = outline(seed)
    polygon = shapely.Polygon(flatten(source, 1e-3))
    steps = math.ceil((math.pi / 4.0) / math.acos(1.0 - 1e-3 / abs(distance)))
    reference = polygon.buffer(distance, quad_segs=steps)
    results = offset(source, distance, True, "round")
    mine = shapely.union_all([shapely.Polygon(flatten(result, 1e-3)) for result in results])
    allowed = 0.02 + 0.01 * abs(distance)
    assert len(results) == len(shapely.get_parts(reference))
    for one, two in ((mine, reference), (reference, mine)):
        places = shapely.points(shapely.get_coordinates(one.boundary)[::7])
        assert shapely.distance(two.boundary, places).max() <= 3.0 * allowed
    assert mine.symmetric_difference(reference).area <= allowed * reference.length


@pytest.mark.parametrize("distance", [5.0, -5.0])
def test_second_opinion_on_straight_outlines(distance: float) -> None:
    """On a polygon GEOS has nothing to flatten, so mitred areas must agree to rounding."""
    corners = [(0, 0), (80, 0), (80, 50), (50, 50), (65, 20), (30, 15), (35, 60), (0, 70)]
    source = lines([*corners, corners[0]])
    reference = shapely.Polygon(corners).buffer(distance, join_style="mitre", mitre_limit=10.0)
    results = offset(source, distance, True, "mitre", mitre_limit=10.0)
    assert sum(area(result) for result in results) == pytest.approx(reference.area, rel=1e-9)
    ends = np.concatenate([point(r, np.arange(len(r)), np.zeros(len(r))) for r in results])
    assert shapely.distance(reference.boundary, shapely.points(ends)).max() <= 1e-6
