"""Arcs as cubics: on the ellipse within what was asked, from end points and from a centre."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgpathtools import Arc

from scallopkit.geometry.arcs import ellipse_arc, elliptical_arc, elliptical_arcs
from scallopkit.geometry.cubics import Array, lines, point

TURN = 2.0 * math.pi


def sampled(curve: Array, per_segment: int = 9) -> Array:
    segment = np.repeat(np.arange(len(curve)), per_segment)
    t = np.tile(np.linspace(0.0, 1.0, per_segment), len(curve))
    return point(curve, segment, t)


def off_ellipse(points: Array, centre: tuple[float, float], radii: tuple[float, float], rotation: float) -> Array:
    """How far points leave an ellipse, as a share of the radius in their direction."""
    c, s = math.cos(rotation), math.sin(rotation)
    x, y = (points - centre).T
    return np.asarray(np.hypot((c * x + s * y) / radii[0], (c * y - s * x) / radii[1]) - 1.0)


@pytest.mark.parametrize("radius", [1e-3, 1.0, 1e3])
@pytest.mark.parametrize("digits", range(1, 13))
def test_no_further_off_than_asked(radius: float, digits: int) -> None:
    asked = radius * 10.0**-digits
    curve = ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.3, TURN, asked)
    off = np.abs(off_ellipse(sampled(curve, 33), (0.0, 0.0), (radius, radius), 0.0)) * radius
    # What rounding adds: a few ulps of the radius.
    assert off.max() <= min(asked, 1e-10 * radius) + 4e-16 * radius


def test_a_circle_takes_48_cubics() -> None:
    assert len(ellipse_arc((3.0, 4.0), (50.0, 50.0), 0.0, 0.0, TURN, 1e-6)) == 48


def test_chords_on_a_circle_are_right_to_a_billionth() -> None:
    curve = ellipse_arc((7.0, -2.0), (80.0, 80.0), 0.0, 0.1, TURN, 1e-6)
    # A chord seen from two points anywhere on the cubics: both lie off by at most 1e-10 of the radius.
    a, b = sampled(curve[:10], 7), sampled(curve[12:22], 7)
    angle = np.arctan2(*(b - (7.0, -2.0)).T[::-1]) - np.arctan2(*(a - (7.0, -2.0)).T[::-1])
    chord = np.hypot(*(b - a).T)
    assert np.abs(chord / (160.0 * np.abs(np.sin(angle / 2.0))) - 1.0).max() < 1e-9


def test_ends_equal_or_radius_zero() -> None:
    assert elliptical_arc((1.0, 2.0), (5.0, 5.0), 0.0, True, True, (1.0, 2.0), 1e-6).shape == (0, 4, 2)
    straight = lines([[0.0, 0.0], [10.0, 5.0]])
    for radii in [(0.0, 5.0), (5.0, 0.0), (0.0, 0.0), (1e-320, 5.0)]:
        assert np.array_equal(elliptical_arc((0.0, 0.0), radii, 0.4, False, True, (10.0, 5.0), 1e-6), straight)


def test_negative_radii_count_as_positive() -> None:
    one = elliptical_arc((0.0, 0.0), (-8.0, 6.0), 0.2, False, True, (10.0, 1.0), 1e-6)
    other = elliptical_arc((0.0, 0.0), (8.0, -6.0), 0.2, False, True, (10.0, 1.0), 1e-6)
    assert np.array_equal(one, other)


def test_radii_that_do_not_reach_are_enlarged() -> None:
    curve = elliptical_arc((0.0, 0.0), (1.0, 1.0), 0.0, False, True, (10.0, 0.0), 1e-9)
    assert np.abs(np.hypot(*(sampled(curve) - (5.0, 0.0)).T) - 5.0).max() < 1e-9
    # Sweep 1 runs clockwise on the drawing as seen, so the half circle lies above its chord.
    assert sampled(curve)[:, 1].min() == pytest.approx(-5.0, abs=1e-9)


def test_a_tiny_step_is_no_whole_turn() -> None:
    curve = elliptical_arc((1.0, 0.0), (1.0, 1.0), 0.0, False, True, (1.0, 1e-14), 1e-6)
    assert len(curve) == 1
    assert np.ptp(curve[:, :, 1]) < 2e-14


def test_a_flat_piece_of_a_huge_circle_keeps_its_digits() -> None:
    curve = elliptical_arc((0.0, 0.0), (1e9, 1e9), 0.0, False, True, (100.0, 0.0), 1e-6)
    # The rise of a chord c over radius R is c²/8R: 1.25e-6 here.
    assert sampled(curve)[:, 1].min() == pytest.approx(-1.25e-6, rel=1e-6)


COORDINATE = st.floats(-500.0, 500.0)


@given(
    st.tuples(COORDINATE, COORDINATE),
    st.tuples(st.floats(0.5, 300.0), st.floats(0.5, 300.0)),
    st.floats(-180.0, 180.0),
    st.booleans(),
    st.booleans(),
    st.tuples(COORDINATE, COORDINATE),
)
@settings(max_examples=150, deadline=None)
def test_as_another_library_draws_it(
    start: tuple[float, float],
    radii: tuple[float, float],
    degrees: float,
    large: bool,
    sweep: bool,
    end: tuple[float, float],
) -> None:
    if math.dist(start, end) < 1e-3:
        return
    arc = Arc(complex(*start), complex(*radii), degrees, large, sweep, complex(*end))
    scale = max(arc.radius.real, arc.radius.imag)
    curve = elliptical_arc(start, radii, math.radians(degrees), large, sweep, end, 1e-6)
    assert tuple(curve[0, 0]) == start
    assert tuple(curve[-1, 3]) == end
    assert np.array_equal(curve[1:, 0], curve[:-1, 3])
    own = (arc.radius.real, arc.radius.imag)
    off = off_ellipse(sampled(curve), (arc.center.real, arc.center.imag), own, math.radians(degrees))
    # Where the radii barely reach, centre and direction hang on the root of a rounding: half of the digits.
    assert np.abs(off).max() < 3e-8 * scale / min(own)
    middle = point(curve, np.array([len(curve) // 2]), np.array([0.0 if len(curve) % 2 == 0 else 0.5]))[0]
    assert abs(complex(*middle) - arc.point(0.5)) < 1e-6 * scale


@given(st.lists(st.tuples(*[COORDINATE] * 4, st.floats(0.0, 90.0), st.booleans(), st.booleans()), max_size=5))
@settings(max_examples=50, deadline=None)
def test_many_at_once_are_the_same_as_one_by_one(rows: list[tuple[float, ...]]) -> None:
    v = np.array(rows, dtype=float).reshape(-1, 7)
    start, end = v[:, :2], v[:, 2:4]
    radii = np.stack([v[:, 4], v[:, 4] / 2.0], axis=1)
    large, sweep = v[:, 5] > 0, v[:, 6] > 0
    curve, count = elliptical_arcs(start, radii, v[:, 4] / 10.0, large, sweep, end, 1e-6)
    assert count.sum() == len(curve)
    first = 0
    for i, number in enumerate(count):
        a, r, b = ((float(p[i, 0]), float(p[i, 1])) for p in (start, radii, end))
        one = elliptical_arc(a, r, v[i, 4] / 10.0, bool(large[i]), bool(sweep[i]), b, 1e-6)
        # Vector and scalar sines may differ in their last bit.
        assert np.allclose(curve[first : first + number], one, rtol=1e-13, atol=1e-11)
        first += number


@given(st.floats(1.0, 200.0), st.floats(1.0, 200.0), st.floats(-3.0, 3.0), st.floats(-6.0, 6.0), st.floats(-6.0, 6.0))
@settings(max_examples=80, deadline=None)
def test_an_arc_by_centre(rx: float, ry: float, rotation: float, first: float, turn: float) -> None:
    curve = ellipse_arc((10.0, 20.0), (rx, ry), rotation, first, turn, 1e-6)
    if turn == 0.0:
        assert len(curve) == 0
        return
    # Thin ellipses: the bound is a share of the larger radius.
    off = off_ellipse(sampled(curve), (10.0, 20.0), (rx, ry), rotation)
    assert np.abs(off).max() < 1e-10 * max(rx, ry) / min(rx, ry) + 1e-14 * 300.0 / min(rx, ry)
    c, s = math.cos(rotation), math.sin(rotation)
    for angle, place in ((first, curve[0, 0]), (first + turn, curve[-1, 3])):
        x, y = rx * math.cos(angle), ry * math.sin(angle)
        assert np.allclose(place, (10.0 + c * x - s * y, 20.0 + s * x + c * y), rtol=0.0, atol=1e-11)
