"""The way of a cord: through each hole once, from face to face, as long as its runs, passes and ends together."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.as_worn import Row, facing_rows
from scallopkit.construction.lacing import (
    CROSSED,
    ONE_ROW,
    OVER,
    RUNNING,
    SPIRAL,
    STRAIGHT,
    TWO_ROWS,
    WRAPPED,
    Cord,
    Leg,
    cords_of,
    shared_out,
)
from scallopkit.errors import RequestError
from scallopkit.geometry.cubics import lines

FLIP = {"over": "under", "under": "over"}


def row(*heights: float, inset: float = 10.0, name: str = "row") -> Row:
    holes = np.stack([np.zeros(len(heights)), -np.array(heights)], axis=1)
    feet = holes + np.array([inset, 0.0])
    return Row(name, holes, feet, lines(feet), -1, feet[[0, -1]] + np.array([(0.0, heights[0]), (0.0, heights[0])]))


def level(n: int, gap: float = 20.0) -> tuple[Row, Row]:
    return facing_rows(row(*(15.0 * np.arange(n))), None, gap)


def laced(path: str, n: int, thickness: float = 0.0, end: float = 0.0) -> Cord:
    rows = level(n) if path in TWO_ROWS else (row(*(15.0 * np.arange(n))),)
    (cord,) = cords_of(path, rows, 1, thickness, end)
    return cord


@given(path=st.sampled_from([CROSSED, STRAIGHT, *ONE_ROW]), n=st.integers(2, 40))
def test_the_cord_goes_through_every_hole_once_from_face_to_face(path: str, n: int) -> None:
    cord = laced(path, n)
    holes = 2 * n if path in TWO_ROWS else n
    assert len(cord.holes) == len(set(cord.holes)) == holes
    assert len(cord.legs) == holes - 1
    for before, after in pairwise(cord.legs):
        assert before.end == after.start
        assert after.leaves == FLIP[before.arrives]


@given(path=st.sampled_from([CROSSED, STRAIGHT]), n=st.integers(2, 40))
def test_both_ends_come_out_over_the_highest_pair(path: str, n: int) -> None:
    cord = laced(path, n)
    assert {cord.holes[0], cord.holes[-1]} == {(0, n - 1), (1, n - 1)}
    # The last runs lie under it, so the ends lie over it.
    assert [FLIP[cord.legs[0].leaves], FLIP[cord.legs[-1].arrives]] == [OVER, OVER]
    assert all(leg.start.row != leg.end.row for leg in cord.legs)


def test_straight_bars_are_all_that_shows() -> None:
    over = [leg for leg in laced(STRAIGHT, 7).legs if leg.leaves == OVER]
    assert sorted(leg.start.number for leg in over) == [0, 1, 2, 3, 4, 5]
    assert all(leg.start.number == leg.end.number and leg.arrives == OVER for leg in over)


def test_a_cord_is_its_runs_its_passes_and_its_ends() -> None:
    bare, thick = laced(CROSSED, 5), laced(CROSSED, 5, thickness=3.0, end=250.0)
    assert thick.passes == 10
    assert thick.length == pytest.approx(bare.length + 10 * 3.0)
    assert thick.cut == pytest.approx(thick.length + 500.0)


def test_a_running_cord_is_the_row_itself() -> None:
    assert laced(RUNNING, 6).length == pytest.approx(75.0)
    # An even number of holes brings both ends out over the cloth, an odd one leaves one under it.
    assert laced(RUNNING, 6).legs[-1].arrives == "under"
    assert laced(RUNNING, 5).legs[-1].arrives == "over"


def test_a_wrapped_cord_goes_twice_the_inset_at_every_step() -> None:
    cord = laced(WRAPPED, 6, thickness=2.0)
    # Pythagoras on the cloth turned up round its edge: 15 along, 10 there and 10 back; six holes and five edges.
    assert cord.length == pytest.approx(5 * math.hypot(15.0, 20.0) + 11 * 2.0)
    assert all(leg.wraps for leg in cord.legs)


@given(n=st.integers(2, 60), cords=st.integers(1, 8))
def test_cords_share_all_places_as_evenly_as_can_be(n: int, cords: int) -> None:
    if n < 2 * cords:
        with pytest.raises(RequestError, match=f"--cords {n // 2} or fewer"):
            shared_out(n, cords, pairs=True)
        return
    parts = shared_out(n, cords, pairs=True)
    assert [place for first, last in parts for place in range(first, last + 1)] == list(range(n))
    sizes = [last - first + 1 for first, last in parts]
    assert len(sizes) == cords
    assert max(sizes) - min(sizes) <= 1


def test_rows_of_unlike_numbers_are_told_what_to_set() -> None:
    with pytest.raises(RequestError, match=r'"a" has 3 holes and "b" has 4: .* set 4 on "a" or 3 on "b"'):
        cords_of(CROSSED, (row(0, 10, 20, name="a"), row(0, 10, 20, 30, name="b")), 1, 0.0, 0.0)


def test_one_pair_is_no_lacing() -> None:
    with pytest.raises(RequestError, match="2 pairs of holes or more, and here is 1"):
        shared_out(1, 1, pairs=True)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        # Level ends and as many on both sides, one more on the right, and no level ends at all.
        ([0, 20, 40, 50], [0, 10, 30, 50]),
        ([0, 20, 40], [0, 10, 30, 40]),
        ([0, 20, 40], [10, 30]),
    ],
)
def test_a_spiral_climbs_from_row_to_row(left: list[float], right: list[float]) -> None:
    rows = (row(*left), row(*right))
    (cord,) = cords_of(SPIRAL, rows, 1, 0.0, 0.0)
    heights = [rows[hole.row].heights[hole.number] for hole in cord.holes]
    assert heights == sorted(heights)
    assert [hole.row for hole in cord.holes[::2]] == [cord.holes[0].row] * len(cord.holes[::2])
    assert len(cord.holes) == len(set(cord.holes)) == len(left) + len(right)
    assert all(leg == Leg(leg.start, leg.end, "over", "under") for leg in cord.legs)


@pytest.mark.parametrize(
    ("left", "right"),
    [([0, 20, 40], [0, 20, 40]), ([0, 20, 40], [0, 21, 40]), ([0, 20, 40, 60], [30, 31]), ([0, 20], [100, 120])],
)
def test_a_spiral_refuses_rows_that_are_not_staggered(left: list[float], right: list[float]) -> None:
    with pytest.raises(RequestError, match="--path crossed, or set the holes of the second at 0, 10, "):
        cords_of(SPIRAL, (row(*left), row(*right)), 1, 0.0, 0.0)


def test_where_a_spirals_second_row_would_have_to_be_is_where_it_can_be_laced() -> None:
    level_rows = (row(0, 20, 40, 60), row(0, 20, 40, 60))
    with pytest.raises(RequestError, match="at 0, 10, 30, 50, 60 mm above the lowest"):
        cords_of(SPIRAL, level_rows, 1, 0.0, 0.0)
    (cord,) = cords_of(SPIRAL, (level_rows[0], row(0, 10, 30, 50, 60)), 1, 0.0, 0.0)
    assert len(cord.legs) == 8


def test_a_spiral_is_one_cord() -> None:
    with pytest.raises(RequestError, match="leave out --cords, or take --path crossed"):
        cords_of(SPIRAL, (row(0, 20, 40), row(0, 10, 30, 40)), 2, 0.0, 0.0)
