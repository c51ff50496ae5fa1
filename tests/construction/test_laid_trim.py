"""Lines at a distance inside an edge: parallel, from side to side, parted at joints."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scallopkit.construction.laid_trim import Across, Side, Told, inside
from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from tests.shapes import circle, rectangle, wavy_lines

NOTHING = (Side(), Side())


def test_a_straight_line_beside_a_straight_edge() -> None:
    found = inside(cubics.lines([(0, 0), (300, 0)]), -20.0, False, NOTHING, [], Told())
    # Left of a walk to the right lies up on the drawing, which is y below 0.
    assert found.measured.points(np.array([0.0, 300.0])) == pytest.approx(np.array([(0.0, 20.0), (300.0, 20.0)]))
    assert found.joints == ()


def test_it_goes_up_to_slanting_sides() -> None:
    """A skirt's hem: the sides lean inwards by 10 mm over 40, so that 20 mm above it 5 mm are lost at either side."""
    sides = Side(cubics.lines([(0, 0), (10, -40)])), Side(cubics.lines([(300, 0), (290, -40)]))
    found = inside(cubics.lines([(0, 0), (300, 0)]), 20.0, False, sides, [], Told())
    assert found.measured.length == pytest.approx(290.0, abs=1e-9)
    outwards = Side(cubics.lines([(0, 0), (-10, -40)])), Side()
    found = inside(cubics.lines([(0, 0), (300, 0)]), 20.0, False, outwards, [], Told())
    assert found.measured.length == pytest.approx(305.0, abs=1e-9)


def test_a_side_that_is_not_reached_is_told() -> None:
    short = Side(cubics.lines([(0, 0), (0, -10)])), Side()
    with pytest.raises(NoFitError, match=r"20 mm inside the edge, does not reach the side.*smaller --offset"):
        inside(cubics.lines([(0, 0), (300, 0)]), 20.0, False, short, [], Told())


def test_joints_are_crossed_where_their_line_lies() -> None:
    slanting = Across(np.array([100.0, 0.0]), np.array([0.6, -0.8]), np.array([0.8, 0.6]))
    found = inside(cubics.lines([(0, 0), (300, 0)]), 20.0, False, NOTHING, [slanting], Told())
    # 20 mm deep along a line that goes 3 across for 4 down.
    assert found.joints == pytest.approx((115.0,), abs=1e-9)


def test_round_an_outline_it_begins_beside_its_first_point_and_turns_its_corners() -> None:
    edge = measure(rectangle(300.0, 200.0), np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]))
    found = inside(edge.curve, -15.0, True, NOTHING, [], Told())
    assert found.measured.points(np.array([0.0]))[0] == pytest.approx((15.0, 15.0), abs=1e-9)
    assert found.measured.length == pytest.approx(2.0 * (270.0 + 170.0), abs=1e-6)
    at = [found.corner(edge, s, -15.0) for s in (300.0, 500.0, 800.0)]
    assert at == pytest.approx([270.0, 440.0, 710.0], abs=1e-6)


def test_too_deep_is_refused() -> None:
    with pytest.raises(NoFitError, match="there is no single line for the trim"):
        inside(circle(50.0), -60.0, True, NOTHING, [], Told())


@given(wavy_lines(), st.floats(-25.0, 25.0))
def test_it_keeps_its_distance(curve: cubics.Array, distance: float) -> None:
    assume(abs(distance) > 0.5)
    try:
        found = inside(curve, distance, False, NOTHING, [], Told())
    except (NoFitError, RequestError):
        # Too hollow for so deep a line, or the line crosses itself.
        assume(False)
    away = nearest(curve, found.measured.points(np.linspace(0.0, found.measured.length, 60))).distance
    # Parallels keep within 0.005 mm; beyond their ends nothing is nearer.
    assert away == pytest.approx(np.full(60, abs(distance)), abs=0.006)
    ends = curve[[0, -1], [0, 3]]
    begin, end = found.measured.curve[0, 0], found.measured.curve[-1, 3]
    for point, place in zip((begin, end), ends, strict=True):
        assert math.hypot(*(point - place)) == pytest.approx(abs(distance), abs=0.06)
