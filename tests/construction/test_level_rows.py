"""Two rows on the edges of an opening: level where both edges lie facing each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.construction.as_worn import Row, facing_rows
from scallopkit.construction.level_rows import heights, level_places, staggered
from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import apply, mirrored, turned
from scallopkit.trim.course import Course
from scallopkit.trim.eyelets import eyelet_size, eyelets_along, eyelets_at

from ..shapes import wavy_lines

# What is promised of pairs, mm.
LEVEL = 1e-6


def facing(curve: Array, points: Array) -> Array:
    """Points laid so that the curve starts at the origin and ends straight below it, by angles."""
    step = curve[-1, 3] - curve[0, 0]
    angle = 0.5 * np.pi - np.arctan2(step[1], step[0])
    return apply(turned(float(angle)), points - curve[0, 0])


@given(wavy_lines(), wavy_lines(), st.integers(2, 9), st.floats(0.0, 12.0))
@settings(max_examples=60)
def test_pairs_are_level_on_edges_of_any_curve(one: Array, other: Array, count: int, inset: float) -> None:
    left, right = Course(measure(one), False, 1), Course(measure(other), False, -1)
    try:
        row = eyelets_along(left, eyelet_size(4.0), count=count, ends=(10.0, 10.0), inset=inset)
        s = level_places(right, heights(left.measured, row.points), inset)
    except (RequestError, NoFitError):
        # It turns back, or is too short for the other's heights.
        assume(False)
    pair = eyelets_at(right, eyelet_size(4.0), s, inset)
    ours, theirs = facing(one, row.points), facing(other, pair.points)
    assert np.abs(ours[:, 1] - theirs[:, 1]).max() <= LEVEL
    assert (np.diff(s) > 0.0).all()


def as_row(course: Course, s: Array, inset: float) -> Row:
    """A row as a lacing takes it."""
    m, placed = course.measured, eyelets_at(course, eyelet_size(4.0), s, inset)
    return Row("row", placed.points, m.points(s), m.curve, course.side, m.points(np.array([0.0, m.length])))


@given(wavy_lines(), wavy_lines(), st.integers(2, 9), st.floats(0.0, 12.0), st.booleans(), st.booleans())
@settings(max_examples=60)
def test_pairs_are_level_as_a_lacing_lays_them(
    one: Array, other: Array, count: int, inset: float, between: bool, back: bool
) -> None:
    """Whichever way is up: an opening that starts at its top is laced from its bottom."""
    left, right = Course(measure(one), False, 1), Course(measure(other), False, -1)
    try:
        s = eyelets_along(left, eyelet_size(4.0), count=count, ends=(10.0, 10.0), inset=inset).s
        first = as_row(left, s, inset)
        wanted = heights(left.measured, first.holes)
        second = as_row(right, level_places(right, staggered(wanted) if between else wanted, inset), inset)
    except (RequestError, NoFitError):
        # It turns back, or is too short for the other's heights.
        assume(False)
    worn = facing_rows(first.walked_back if back else first, second, 20.0)
    first_up, second_up = (row.heights for row in worn)
    assert np.abs(first_up[[0, -1]] - second_up[[0, -1]]).max() <= LEVEL
    if between:
        assert len(second_up) == count + 1
        assert np.abs(second_up[1:-1] - 0.5 * (first_up[1:] + first_up[:-1])).max() <= LEVEL
    else:
        assert np.abs(first_up - second_up).max() <= LEVEL


def test_a_single_part_is_not_staggered() -> None:
    with pytest.raises(RequestError, match="a single part has nothing half way between: leave out --staggered"):
        staggered(np.array([10.0]))


@given(wavy_lines(), st.integers(2, 9))
@settings(max_examples=30)
def test_on_edges_alike_pairs_stand_at_equal_lengths(one: Array, count: int) -> None:
    mirror = apply(mirrored(np.array([500.0, 20.0]), np.array([0.6, 0.8])), one)
    left, right = Course(measure(one), False, 1), Course(measure(mirror), False, -1)
    try:
        row = eyelets_along(left, eyelet_size(4.0), count=count, ends=(20.0, 15.0), inset=8.0)
        s = level_places(right, heights(left.measured, row.points), 8.0)
    except RequestError:
        assume(False)
    # The heights are met to 1e-9 and better, and an edge is nowhere so steep that a length is off by 100 times as much.
    assert np.abs(s - row.s).max() < LEVEL


def test_on_straight_edges_heights_are_lengths() -> None:
    line = measure(cubics.lines([(10.0, 0.0), (10.0, 200.0)]))
    assert heights(line, np.array([(3.0, 50.0), (30.0, 0.0)])).tolist() == [50.0, 0.0]
    slanted = Course(measure(cubics.lines([(0.0, 0.0), (120.0, 160.0)])), False, 1)
    assert np.allclose(level_places(slanted, np.array([0.0, 50.0, 200.0]), 9.0), [0.0, 50.0, 200.0])


def test_what_is_longer_than_the_edge_is_refused_with_the_figure() -> None:
    short = Course(measure(cubics.lines([(0.0, 0.0), (0.0, 190.0)])), False, 1)
    with pytest.raises(NoFitError, match=r"number 2 .* 5\.00 mm beyond .* 5\.00 mm earlier"):
        level_places(short, np.array([100.0, 195.0]), 9.0)


def test_edges_that_turn_back_are_refused() -> None:
    hook = Course(measure(cubics.lines([(0.0, 0.0), (0.0, 100.0), (5.0, 60.0), (60.0, 300.0)])), False, 1)
    with pytest.raises(RequestError, match="go back"):
        level_places(hook, np.array([50.0]), 0.0)
    ring = measure(cubics.lines([(0.0, 0.0), (0.0, 100.0), (100.0, 0.0), (0.0, 0.0)]))
    with pytest.raises(RequestError, match="no heights"):
        heights(ring, np.zeros((1, 2)))
