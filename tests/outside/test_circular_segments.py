"""Published figures of circular segments: from width and depth to radius, angle, arc length and area."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.document.path_data import read_path
from scallopkit.geometry.cubics import Array, area, lines
from scallopkit.geometry.length import measure
from scallopkit.trim.profiles import DEEPEST_ARC, PROFILES, arc_depth, arc_radius
from scallopkit.trim.row import WHOLE, Row
from scallopkit.trim.scallops import Scallops, scallops
from scallopkit.trim.shape import Shape


def drawn(width: float, depth: float) -> Array:
    """The arc profile at that width and depth."""
    return np.asarray(PROFILES["arc"](depth / width).curve * width)


def segment_area(curve: Array) -> float:
    """Area between an arc and its chord."""
    chord = lines(np.stack([curve[-1, 3], curve[0, 0]]))
    return abs(area(np.concatenate([curve, chord])))


def angle_of(width: float, depth: float) -> float:
    """Angle of the drawn arc in degrees: its length over its radius."""
    return math.degrees(measure(drawn(width, depth)).length / arc_radius(width, depth))


def placed(width: float, depth: float) -> Scallops:
    """One scallop on a level base line, as the trim lays it."""
    zero, one = np.zeros(1), np.array([width])
    row = Row(
        np.zeros((1, 2)),
        np.array([[width, 0.0]]),
        zero,
        one,
        one,
        one,
        np.ones(1),
        np.array([WHOLE]),
        np.array([0]),
        zero,
    )
    return scallops(row, Shape("arc", "share", depth / width), 1)


@pytest.mark.parametrize(
    ("width", "depth", "radius", "degrees", "length", "surface"),
    [
        # matheass.eu/help/en/E210-Circular_Sections.html, eight digits.
        (21.0, 6.0, 12.1875, 118.97953, 25.308373, 89.254148),
        # The same page's second set, which is given by arc 1 and 45 degrees.
        (0.97449536, 0.096919589, 1.2732395, 45.0, 1.0, 0.063460604),
        # keisoku.magicgifted.com: radius 10, depth 4.
        (16.0, 4.0, 10.0, 106.260205, 18.545904, 44.729522),
    ],
)
def test_eight_digits(width: float, depth: float, radius: float, degrees: float, length: float, surface: float) -> None:
    # Half a unit of the eighth digit, and as much for the rounded width and depth of the second set.
    tolerance = 1e-7
    curve = drawn(width, depth)
    assert arc_radius(width, depth) == pytest.approx(radius, rel=tolerance)
    assert arc_depth(width, radius) == pytest.approx(depth, rel=5.0 * tolerance)
    assert angle_of(width, depth) == pytest.approx(degrees, rel=tolerance)
    assert measure(curve).length == pytest.approx(length, rel=tolerance)
    assert segment_area(curve) == pytest.approx(surface, rel=3.0 * tolerance)


def test_chord_16_height_6() -> None:
    # Machinery's Handbook, 31st ed. (2020), p. 79: the radius is 8 1/3 exactly.
    assert arc_radius(16.0, 6.0) == pytest.approx(25.0 / 3.0, rel=1e-15)


def test_radius_12_height_2() -> None:
    # The same page: c 13.27, 67.13 degrees, arc 14.06, area 18.01, worked with rounded figures.
    exact = 2.0 * math.sqrt(2.0 * (24.0 - 2.0))
    assert exact == pytest.approx(13.27, abs=0.015)
    assert angle_of(exact, 2.0) == pytest.approx(67.13, abs=0.016)
    assert measure(drawn(exact, 2.0)).length == pytest.approx(14.06, abs=0.015)
    assert segment_area(drawn(exact, 2.0)) == pytest.approx(18.01, abs=0.015)
    # Computed figures.
    assert angle_of(exact, 2.0) == pytest.approx(67.11462, abs=5.1e-6)
    assert measure(drawn(exact, 2.0)).length == pytest.approx(14.05645, abs=5.1e-6)
    assert segment_area(drawn(exact, 2.0)) == pytest.approx(18.00622, abs=5.1e-6)


def test_radius_60_height_8() -> None:
    # The same page prints c 59.86, a root rounded first; the exact chord is 59.86652.
    assert arc_radius(59.86652, 8.0) == pytest.approx(60.0, abs=1e-5)
    assert arc_depth(59.86, 60.0) == pytest.approx(8.0, abs=0.01)


@pytest.mark.parametrize(
    ("height", "surface"),
    [(0.300, 0.198168), (0.325, 0.221340), (0.350, 0.244980), (0.379, 0.272890), (0.400, 0.293369), (0.450, 0.342782)],
)
def test_areas_of_an_old_table(height: float, surface: float) -> None:
    # A table of the 1800s for diameter 1, Google Books uJ0RAAAAIAAJ p. 395; digits cut off, not rounded.
    width = 2.0 * math.sqrt(height * (1.0 - height))
    assert segment_area(drawn(width, height)) == pytest.approx(surface, abs=1.1e-6)


@pytest.mark.parametrize(
    ("degrees", "width", "depth", "length", "surface"),
    [
        # Segments of a circle of radius 1, as engineering handbooks tabulate them; figures from memory, recomputed.
        (60.0, 1.00000, 0.13397, 1.04720, 0.09059),
        (90.0, 1.41421, 0.29289, 1.57080, 0.28540),
        (120.0, 1.73205, 0.50000, 2.09440, 0.61418),
    ],
)
def test_radius_one(degrees: float, width: float, depth: float, length: float, surface: float) -> None:
    half = math.radians(0.5 * degrees)
    w, h = 2.0 * math.sin(half), 1.0 - math.cos(half)
    assert (w, h) == pytest.approx((width, depth), abs=5.1e-6)
    assert arc_radius(w, h) == pytest.approx(1.0, rel=1e-12)
    assert angle_of(w, h) == pytest.approx(degrees, rel=1e-9)
    assert measure(drawn(w, h)).length == pytest.approx(length, abs=5.1e-6)
    assert segment_area(drawn(w, h)) == pytest.approx(surface, abs=5.1e-6)


@pytest.mark.parametrize(("degrees", "percent"), [(60.0, 0.016), (90.0, 0.078), (120.0, 0.24), (180.0, 1.18)])
def test_a_little_more_than_huygens_says(degrees: float, percent: float) -> None:
    # Huygens: the arc is about (8 e - c) / 3 with e the chord of half of it, always short.
    # Rule: chestofbooks.com, Building Trades Pocketbook, Mensuration; the shortfalls are computed.
    half = math.radians(0.5 * degrees)
    width, depth = 2.0 * math.sin(half), 1.0 - math.cos(half)
    rule = (8.0 * math.hypot(0.5 * width, depth) - width) / 3.0
    short = 1.0 - rule / measure(drawn(width, depth)).length
    assert 100.0 * short == pytest.approx(percent, rel=0.05)


@pytest.mark.parametrize("share", [*np.arange(0.05, DEEPEST_ARC, 0.05), 0.5, DEEPEST_ARC])
def test_shallow_and_deep_arcs(share: float) -> None:
    """Past half a circle the larger arc is drawn: radius never under half the width, length growing through it all."""
    width = 30.0
    depth = share * width
    radius = arc_radius(width, depth)
    assert radius >= 0.5 * width * (1.0 - 1e-15)
    assert placed(width, depth).radius[0] == pytest.approx(radius, rel=1e-12)
    assert bool(placed(width, depth).large[0]) == (share > 0.5)
    # Segment formulas: Machinery's Handbook, 31st ed. (2020), p. 83.
    angle = 2.0 * math.acos(1.0 - depth / radius)
    curve = next(iter(placed(width, depth).curves()))
    assert measure(curve).length == pytest.approx(radius * angle, rel=1e-9)
    assert segment_area(curve) == pytest.approx(0.5 * radius * radius * (angle - math.sin(angle)), rel=1e-9)
    assert np.abs(curve[:, 0, 1]).max() <= depth * (1.0 + 1e-9)


@pytest.mark.parametrize("share", np.arange(0.05, 1.5, 0.05))
def test_the_flag_of_the_larger_arc(share: float) -> None:
    """SVG's A command with that radius and the flag by share > 1/2 rises to the depth asked, up to 1.5 widths."""
    depth = 30.0 * float(share)
    radius = arc_radius(30.0, depth)
    curve = read_path(f"M0 0A{radius!r} {radius!r} 0 {int(share > 0.5)} 1 30 0", 1e-9).subpaths[0].curve
    angle = 4.0 * math.atan(2.0 * share)
    # Where the radius barely reaches, its last digits decide on half of the angle's.
    assert measure(curve).length == pytest.approx(radius * angle, rel=1e-9 if abs(share - 0.5) > 1e-9 else 1e-7)
    assert -curve[:, :, 1].min() >= depth * (1.0 - 1e-9)


def test_length_is_continuous_through_half_a_circle() -> None:
    before, at, after = (measure(drawn(1.0, h)).length for h in (0.5 - 1e-7, 0.5, 0.5 + 1e-7))
    assert at == pytest.approx(0.5 * math.pi, rel=1e-9)
    # The slope of the length there is 2.
    assert after - at == pytest.approx(2e-7, rel=1e-2)
    assert at - before == pytest.approx(2e-7, rel=1e-2)
