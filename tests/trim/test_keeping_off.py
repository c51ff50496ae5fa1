"""Rows moved off seams: as little as possible, in order, never too near to each other."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.errors import NoFitError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY
from scallopkit.trim.course import Course
from scallopkit.trim.keeping_off import Seam, Zone, beyond, kept_off, moved_off, moved_together, zones

# What rounding may take off a distance, mm: the places are found to 1e-9.
ROUNDED = 1e-6


def test_one_on_a_seam_is_moved_to_its_side_and_no_other() -> None:
    s = np.array([0.0, 50.0, 100.0, 150.0])
    out = kept_off(s, [Zone("side", 95.0, 109.0)], 20.0, (0.0, 150.0))
    assert out.tolist() == [0.0, 50.0, 95.0, 150.0]
    assert kept_off(s, [Zone("side", 110.0, 140.0)], 20.0, (0.0, 150.0)) is s


def test_neighbours_give_way_where_they_must() -> None:
    s = np.array([0.0, 40.0, 80.0])
    out = kept_off(s, [Zone("side", 20.0, 70.0)], 30.0, (0.0, 200.0))
    # To 20 it would be too near to the first at 0 for 30 mm; to 70 the last gives way by 20.
    assert out.tolist() == [0.0, 70.0, 100.0]


def test_of_two_equal_ways_the_one_towards_the_middle_so_that_halves_stay_alike() -> None:
    s = np.array([0.0, 50.0, 100.0, 150.0, 200.0])
    out = kept_off(s, [Zone("a", 40.0, 60.0), Zone("b", 140.0, 160.0)], 10.0, (0.0, 200.0))
    assert out.tolist() == [0.0, 60.0, 100.0, 140.0, 200.0]


def test_a_row_without_room_is_refused_with_the_number_that_has() -> None:
    taken = [Zone("side", 40.0, 60.0)]
    with pytest.raises(NoFitError, match=r'5 eyelets 30 mm apart or more.*"side" and the ends: take at most 4'):
        kept_off(np.linspace(0.0, 100.0, 5), taken, 30.0, (0.0, 100.0), what="eyelets")
    assert len(kept_off(np.linspace(0.0, 100.0, 4), [Zone("side", 32.0, 60.0)], 30.0, (0.0, 100.0))) == 4
    with pytest.raises(NoFitError, match="smaller margin"):
        kept_off(np.array([5.0]), [Zone("side", -1.0, 20.0)], 30.0, (0.0, 10.0))


@given(
    st.lists(st.floats(16.0, 24.0), min_size=12, max_size=40),
    st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(1.0, 60.0)), min_size=1, max_size=3),
    st.floats(-60.0, 0.0),
)
@settings(max_examples=80)
def test_moving_a_few_is_as_short_as_moving_all_that_may_move(
    steps: list[float], shut: list[tuple[float, float]], low: float
) -> None:
    s = np.cumsum(steps)
    taken = [Zone(f"z{k}", share * s[-1], share * s[-1] + wide) for k, (share, wide) in enumerate(shut)]
    bounds = (low, float(s[-1]) - low)
    few, every = (way(s, taken, 16.0, bounds) for way in (moved_off, moved_together))
    if every is None:
        assert few is None
        return
    assert few is not None
    assert np.abs(few - s).sum() == pytest.approx(np.abs(every - s).sum(), abs=1e-4)
    assert (np.diff(few) >= 16.0 - ROUNDED).all()


def test_of_a_long_row_only_what_is_in_the_way_moves() -> None:
    s = np.linspace(10.0, 79990.0, 2000)
    taken = [Zone(f"z{k}", s[i] + 3.0 - 12.0, s[i] + 3.0 + 12.0) for k, i in enumerate((400, 1000, 1003, 1991))]
    out = kept_off(s, taken, 16.0, (10.0, 79990.0))
    # Each stands 9 mm behind the start of its zone, which is the shorter way out.
    assert out[[400, 1000, 1003, 1991]] == pytest.approx(s[[400, 1000, 1003, 1991]] - 9.0)
    assert (np.delete(out, [400, 1000, 1003, 1991]) == np.delete(s, [400, 1000, 1003, 1991])).all()


@pytest.mark.parametrize("room", [0.0, 0.7])
def test_where_there_is_little_room_many_neighbours_give_way(room: float) -> None:
    # Beside the zone 10 mm are wanted and each space has a little to give, so that the way out passes on to many.
    s = np.linspace(0.0, 399.0 * 16.1, 400)
    out = kept_off(s, [Zone("side", float(s[200]) - 4.0, float(s[200]) + 8.0)], 16.0, (-room - 60.0, s[-1] + 60.0))
    assert (np.diff(out) >= 16.0 - ROUNDED).all()
    moved = np.flatnonzero(np.abs(out - s) > ROUNDED)
    # The one in the way moves 4 mm back, each before it 0.1 mm less.
    assert moved.tolist() == list(range(161, 201))
    assert np.abs(out - s).sum() == pytest.approx(sum(4.0 - 0.1 * k for k in range(40)))


def test_a_row_of_which_too_many_would_have_to_move_is_refused() -> None:
    with pytest.raises(NoFitError, match=r"more than 1000 would have to give way.*--off none"):
        kept_off(np.linspace(0.0, 9000.0, 3001), [Zone("side", 4.0, 8.0)], 3.0, (0.0, 9006.0), what="eyelets")


def _best_by_trial(s: list[int], taken: list[tuple[int, int]], apart: int, high: int) -> int | None:
    """The least sum of moves over all whole places, by trying them all."""
    free = [t for t in range(high + 1) if all(not a < t < b for a, b in taken)]
    sums = [
        sum(abs(t - x) for t, x in zip(ts, s, strict=True))
        for ts in itertools.combinations(free, len(s))
        if all(b - a >= apart for a, b in itertools.pairwise(ts))
    ]
    return min(sums, default=None)


@given(
    st.lists(st.integers(0, 20), min_size=1, max_size=4, unique=True).map(sorted),
    st.lists(st.tuples(st.integers(0, 18), st.integers(1, 8)), min_size=1, max_size=2),
    st.integers(1, 6),
)
@settings(max_examples=60)
def test_no_other_way_moves_less(s: list[int], shut: list[tuple[int, int]], apart: int) -> None:
    taken = [(a, a + wide) for a, wide in shut]
    assume(any(a < x < b for x in s for a, b in taken))
    best = _best_by_trial(s, taken, apart, 20)
    places = [Zone(f"z{k}", float(a), float(b)) for k, (a, b) in enumerate(taken)]
    try:
        out = kept_off(np.array(s, dtype=float), places, float(apart), (0.0, 20.0))
    except NoFitError:
        assert best is None
        return
    assert np.abs(out - s).sum() == pytest.approx(best, abs=ROUNDED)
    assert (np.diff(out) >= apart - ROUNDED).all()
    assert all(not a + ROUNDED < t < b - ROUNDED for t in out for a, b in taken)
    assert out.min() >= -ROUNDED
    assert out.max() <= 20.0 + ROUNDED


@given(st.integers(3, 9), st.floats(0.0, 100.0), st.floats(4.0, 20.0), st.floats(0.0, 100.0), st.floats(1.0, 8.0))
@settings(max_examples=60)
def test_round_a_loop_a_row_keeps_off_and_apart_too(n: int, first: float, wide: float, at: float, apart: float) -> None:
    s = np.mod(first + 100.0 * np.arange(n) / n, 100.0)
    zone = Zone("side", at, at + wide)
    try:
        out = kept_off(s, [zone], apart, (0.0, 0.0), 100.0)
    except NoFitError:
        # So many, so far apart, do not go into what is left of the round.
        assert (n - 1) * apart > 100.0 - max(wide, apart) - ROUNDED
        return
    away = np.mod(out - at, 100.0)
    assert ((away < ROUNDED) | (away > wide - ROUNDED)).all()
    # In the order of the row, round and round.
    gaps = np.mod(np.diff(np.append(out, out[0])), 100.0)
    assert gaps.min() >= min(apart, 100.0 / n) - ROUNDED
    assert gaps.sum() == pytest.approx(100.0, abs=ROUNDED)


def test_a_loop_s_row_turned_on_is_moved_alike() -> None:
    s = np.array([10.0, 40.0, 70.0])
    here = kept_off(s, [Zone("side", 35.0, 42.0)], 5.0, (0.0, 0.0), 90.0)
    there = kept_off(np.mod(s + 55.0, 90.0), [Zone("side", 90.0, 97.0)], 5.0, (0.0, 0.0), 90.0)
    assert np.allclose(np.mod(there - here, 90.0), 55.0)
    assert np.allclose(here, [10.0, 42.0, 70.0])


# ---------------------------------------------------------------- zones


def test_a_zone_square_to_a_straight_edge_is_as_wide_as_was_asked() -> None:
    course = Course(measure(cubics.lines([(0.0, 0.0), (300.0, 0.0)])), False, 1)
    seam = Seam("side", 100.0, np.array([100.0, 0.0]), np.array([1.0, 0.0]), before=10.0, after=3.0)
    (zone,) = zones(course, [seam], 12.0, 8.0)
    assert [zone.begin, zone.end] == pytest.approx([82.0, 111.0], abs=ROUNDED)


@given(st.floats(-0.6, 0.6), st.floats(0.0, 30.0), st.floats(2.0, 20.0), st.floats(60.0, 400.0))
@settings(max_examples=40)
def test_places_outside_a_zone_are_clear_of_a_slanted_seam_on_a_curve(
    slant: float, inset: float, clear: float, radius: float
) -> None:
    assume(inset < 0.4 * radius)
    curve = ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, math.pi, 1e-9)
    course = Course(measure(curve), False, 1)
    s = 0.5 * course.measured.length
    point, tangent = course.measured.points(np.array([s]))[0], course.measured.tangents(np.array([s]))[0]
    turn = np.array([[math.cos(slant), -math.sin(slant)], [math.sin(slant), math.cos(slant)]])
    seam = Seam("side", s, point, turn @ tangent)
    (zone,) = zones(course, [seam], inset, clear)
    # The distances of places beside the edge from the seam's straight line, by projection.
    for at, sign in ((zone.begin, -1.0), (zone.end, 1.0)):
        if 0.0 < at < course.measured.length:
            away = float(beyond(course, seam, np.array([at]), inset)[0])
            assert away == pytest.approx(sign * clear, abs=ROUNDED)
            inner = course.measured.points(np.array([at]))[0]
            place = inner - inset * course.measured.normals(np.array([at]))[0]
            assert abs(float((place - point) @ (turn @ tangent))) == pytest.approx(clear, abs=ROUNDED)


def test_round_a_loop_a_seam_at_its_closing_takes_both_ends() -> None:
    curve = ellipse_arc((0.0, 0.0), (50.0, 50.0), 0.0, 0.0, 2.0 * math.pi, 1e-9)
    course = Course(measure(curve, IDENTITY), True, 1)
    length = course.measured.length
    seam = Seam("side", length, np.array([50.0, 0.0]), np.array([0.0, 1.0]))
    (zone,) = zones(course, [seam], 0.0, 5.0)
    half = 50.0 * math.asin(0.1)
    assert [zone.begin, zone.end] == pytest.approx([length - half, length + half], abs=ROUNDED)
