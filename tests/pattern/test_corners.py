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
