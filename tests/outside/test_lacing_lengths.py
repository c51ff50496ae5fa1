"""Lengths of lacing against published formulas, and against every other way to lace the same holes.

n pairs of holes, d apart along a row and g across; the cord is open, so that it makes 2n - 1 runs.
"""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.as_worn import Row, facing_rows
from scallopkit.construction.lacing import CROSSED, STRAIGHT, TWO_ROWS, cords_of
from scallopkit.geometry.cubics import Array, lines

GRID = [(n, d, g) for n in (2, 3, 4, 5, 6, 8, 12) for d in (3.0, 15.0, 20.0) for g in (0.5, 4.0, 40.0, 50.0)]


def rows(n: int, d: float, g: float) -> tuple[Row, Row]:
    """Two level rows whose holes stand g apart: holes 1/4 g inside edges that leave half of it open."""
    up = np.stack([np.zeros(n), -d * np.arange(n)], axis=1)
    feet = up + np.array([0.25 * g, 0.0])
    row = Row("row", up, feet, lines(feet), -1, feet[[0, -1]])
    return facing_rows(row, None, 0.5 * g)


def length(path: str, n: int, d: float, g: float) -> float:
    (cord,) = cords_of(path, rows(n, d, g), 1, 0.0, 0.0)
    # The usual slip of counting a closed cord's runs would make 2n of them.
    assert len(cord.legs) == 2 * n - 1
    assert len(set(cord.holes)) == 2 * n
    return cord.length


@pytest.mark.parametrize(("n", "d", "g"), GRID)
def test_crossed_is_halton_s_crisscross(n: int, d: float, g: float) -> None:
    # J. H. Halton, The shoelace problem, Mathematical Intelligencer 17 (1995), as given in mathtourist.blogspot.com,
    # 2020/10, and by I. Stewart: g + 2 (n - 1) sqrt(d² + g²).
    assert length(CROSSED, n, d, g) == pytest.approx(g + 2 * (n - 1) * math.hypot(d, g), rel=1e-12)


@pytest.mark.parametrize(("n", "d", "g"), GRID)
def test_straight_is_halton_s_european(n: int, d: float, g: float) -> None:
    # Same sources: (n - 1) g + 2 sqrt(d² + g²) + (n - 2) sqrt(4 d² + g²).
    published = (n - 1) * g + 2 * math.hypot(d, g) + (n - 2) * math.hypot(2 * d, g)
    assert length(STRAIGHT, n, d, g) == pytest.approx(published, rel=1e-12)


def test_a_3_4_5_triangle_laces_without_rounding() -> None:
    # The crisscross formula by hand: 4 + 2 * 7 * 5.
    assert length(CROSSED, 8, 3.0, 4.0) == pytest.approx(74.0, rel=1e-14)
    # Both formulas worked out apart from this code.
    assert length(STRAIGHT, 8, 3.0, 4.0) == pytest.approx(81.266615, abs=1e-6)
    assert length(CROSSED, 6, 20.0, 50.0) == pytest.approx(588.516481, abs=1e-6)
    assert length(STRAIGHT, 6, 20.0, 50.0) == pytest.approx(613.828266, abs=1e-6)


@given(n=st.integers(4, 30), d=st.floats(1.0, 60.0), g=st.floats(1.0, 120.0))
def test_crossed_is_shorter_than_straight_from_four_pairs(n: int, d: float, g: float) -> None:
    # musemath.blogspot.com, 2007/03: crisscross < European for n of 4 and more.
    assert length(CROSSED, n, d, g) < length(STRAIGHT, n, d, g)


def ways(n: int) -> list[list[tuple[int, int]]]:
    """Every open way to lace all holes once, from row to row at each run, both ends at the highest pair."""
    out = []
    for left in permutations(range(n - 1)):
        for right in permutations(range(n - 1)):
            order = [(0, n - 1)]
            for one, other in zip(right, left, strict=True):
                order += [(1, one), (0, other)]
            out.append([*order, (1, n - 1)])
    return out


def by_hand(order: list[tuple[int, int]], d: float, g: float) -> float:
    places = np.array([(row * g, number * d) for row, number in order])
    return float(np.hypot(*np.diff(places, axis=0).T).sum())


@pytest.mark.parametrize(("n", "shortest"), [(2, 6.472136), (3, 10.944272), (4, 15.416408), (5, 19.888544)])
def test_no_alternating_way_is_shorter_than_crossed(n: int, shortest: float) -> None:
    # Halton's theorem, here by trying every way; d = 1, g = 2.
    assert min(by_hand(order, 1.0, 2.0) for order in ways(n)) == pytest.approx(shortest, abs=1e-6)
    assert length(CROSSED, n, 1.0, 2.0) == pytest.approx(shortest, abs=1e-6)


@given(n=st.integers(2, 20), d=st.floats(0.5, 60.0), g=st.floats(0.5, 120.0))
def test_no_path_of_ours_is_shorter_than_crossed(n: int, d: float, g: float) -> None:
    crossed = length(CROSSED, n, d, g)
    # A spiral takes other holes: staggered ones.
    for path in TWO_ROWS[:2]:
        assert length(path, n, d, g) >= crossed * (1.0 - 1e-12)


def test_laces_on_sale_are_as_long_as_the_formula_with_two_ends() -> None:
    # excelmathmike.blogspot.com, 2010/01: ends of about 250 mm from the knot; diagonalone.com sells 114 cm for 6 pairs
    # and 160 cm for 8. The next size down for 6 pairs, 90 cm, is from memory; the eyelets' places are a usual shoe's.
    (six,) = cords_of(CROSSED, rows(6, 20.0, 50.0), 1, 0.0, 250.0)
    assert 900.0 < six.cut < 1140.0
    (eight,) = cords_of(CROSSED, rows(8, 20.0, 60.0), 1, 0.0, 250.0)
    assert 1140.0 < eight.cut < 1600.0


def staggered(n: int, d: float, g: float) -> tuple[Row, Row]:
    """Two rows of n holes half a space apart but for level ends, g across, at the edges themselves."""
    steps: Array = d * np.append(np.arange(n - 1), n - 1.5)
    other = steps[-1] - steps[::-1]
    placed = [np.stack([np.full(n, side * 0.5 * g), -heights], axis=1) for side, heights in ((-1, steps), (1, other))]
    left, right = (Row("row", at, at, lines(at), hand, at[[0, -1]]) for at, hand in zip(placed, (-1, 1), strict=True))
    return left, right


@pytest.mark.parametrize(("n", "d", "g"), [(n, d, g) for n, d, g in GRID if n > 2])
def test_a_spiral_by_pythagoras(n: int, d: float, g: float) -> None:
    # No source: two level bars, and 2n - 3 runs that climb half a space each.
    (cord,) = cords_of("spiral", staggered(n, d, g), 1, 0.0, 0.0)
    assert len(cord.legs) == 2 * n - 1
    assert cord.length == pytest.approx(2 * g + (2 * n - 3) * math.hypot(0.5 * d, g), rel=1e-12)
