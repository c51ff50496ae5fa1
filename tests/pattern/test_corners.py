from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.geometry import cubics
from scallopkit.geometry.motion import apply, turned
from scallopkit.pattern.corners import corners


def bent(degrees: float) -> np.ndarray:
    angle = math.radians(degrees)
    return cubics.lines([(0, 0), (50, 0), (50 + 50 * math.cos(angle), 50 * math.sin(angle))])


@pytest.mark.parametrize(("degrees", "count"), [(14.9, 0), (15.0, 1), (-15.1, 1), (90.0, 1), (-170.0, 1)])
def test_a_corner_turns_by_15_degrees_or_more(degrees: float, count: int) -> None:
    found = corners(bent(degrees), closed=False)
    assert len(found) == count
    if count:
        assert math.degrees(found[0].turn) == pytest.approx(degrees)


def test_corners_are_counted_from_the_first_point_on() -> None:
    square = cubics.lines([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    assert [(c.name, c.node) for c in corners(square, closed=True)] == [("c0", 0), ("c1", 1), ("c2", 2), ("c3", 3)]
    # The same square begun in the middle of its top side: c0 is the first corner after that.
    moved = cubics.lines([(5, 0), (10, 0), (10, 10), (0, 10), (0, 0), (5, 0)])
    assert [(c.name, c.node) for c in corners(moved, closed=True)] == [("c0", 1), ("c1", 2), ("c2", 3), ("c3", 4)]


def test_the_ends_of_an_open_line_are_no_corners() -> None:
    assert corners(cubics.lines([(0, 0), (10, 0), (0, 5)]), closed=False)[0].node == 1


def test_a_stray_hair_of_a_segment_is_no_corner() -> None:
    line = cubics.lines([(0, 0), (50, 0), (50.001, 0.004), (100, 0)])
    assert corners(line, closed=False) == ()


def test_a_retracted_handle_keeps_its_direction() -> None:
    curve = np.array([[(0, 0), (10, 0), (20, 0), (20, 0)], [(20, 0), (20, 0), (30, 0), (40, 0)]], dtype=float)
    assert corners(curve, closed=False) == ()


def test_turning_the_sheet_changes_no_corner() -> None:
    square = cubics.lines([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    turned_square = apply(turned(1.234, (3.0, 4.0)), square)
    assert [c.node for c in corners(turned_square, closed=True)] == [0, 1, 2, 3]
    assert all(c.turn == pytest.approx(math.pi / 2) for c in corners(turned_square, closed=True))


def corner_places(places: list[tuple[float, float]]) -> set[tuple[float, float]]:
    curve = cubics.lines([*places, places[0]])
    return {(float(x), float(y)) for x, y in (curve[c.node, 0] for c in corners(curve, closed=True))}


@pytest.mark.parametrize("stray", [0.009, 1e-4])
@pytest.mark.parametrize("before", [False, True])
@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("sense", [1, -1])
def test_a_stray_node_on_a_side_moves_no_corner(stray: float, before: bool, first: int, sense: int) -> None:
    square = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]
    beside = [(100.0 - stray, 0.0), square[1]] if before else [square[1], (100.0, stray)]
    places = [square[0], *beside, *square[2:]][::sense]
    begin = places.index(square[first])
    assert corner_places(places[begin:] + places[:begin]) == set(square)


def test_of_stray_nodes_equally_near_the_first_is_the_corner_however_the_sheet_is_turned() -> None:
    # Both ends of the cut-off corner are 0.006 mm from (50.006, 0), where the sides cross; the node between is farther.
    chain = np.array([(0.0, 0.0), (50.0, 0.0), (50.0, 0.006), (50.006, 0.006), (50.006, 50.0)])
    for angle in np.linspace(0.0, 6.0, 25):
        (found,) = corners(apply(turned(float(angle), (3.0, 4.0)), cubics.lines(chain)), closed=False)
        assert found.node == 1


def test_an_outline_that_ends_a_hair_before_its_first_point_keeps_its_names() -> None:
    outline = cubics.lines([(0.004, 0), (100, 0), (100, 60), (0, 60), (0, 0), (0.004, 0)])
    assert [(c.name, c.node) for c in corners(outline, closed=True)] == [("c0", 0), ("c1", 1), ("c2", 2), ("c3", 3)]


def test_on_the_way_straight_back_the_corner_is_the_first_stray_node() -> None:
    there_and_back = cubics.lines([(0, 0), (50, 0), (50, 0.005), (0, 0.005)])
    assert [c.node for c in corners(there_and_back, closed=False)] == [1]
