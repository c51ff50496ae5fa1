"""Printed tables of chords: n equal parts on a circle, whose straight distance is D sin(180° / n)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.workshop import scallop
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.dividers import Steps, equal_chords
from scallopkit.geometry.length import Measured, measure

TURN = 2.0 * math.pi

# Seven digits, for diameter 1. Table 3 of Machinery's Handbook, 31st ed. (2020), p. 720, has these chords (its use is
# told on p. 711); the digits here are computed.
SEVEN_DIGITS = {
    3: 0.8660254,
    4: 0.7071068,
    5: 0.5877853,
    6: 0.5,
    7: 0.4338837,
    8: 0.3826834,
    9: 0.3420201,
    10: 0.3090170,
    11: 0.2817326,
    12: 0.2588190,
    13: 0.2393157,
    16: 0.1950903,
    17: 0.1837495,
    20: 0.1564345,
    24: 0.1305262,
    30: 0.1045285,
    32: 0.0980171,
    36: 0.0871557,
    56: 0.0560704,
    64: 0.0490677,
    100: 0.0314108,
}


def circle(
    diameter: float, start: float = 0.0, turn: float = TURN, centre: tuple[float, float] = (0.0, 0.0)
) -> Measured:
    radius = 0.5 * diameter
    return measure(ellipse_arc(centre, (radius, radius), 0.0, start, turn, 1e-9 * radius))


def stepped(m: Measured, count: int) -> Steps:
    steps = equal_chords(m, count)
    assert steps is not None
    return steps


def chords(points: Array) -> Array:
    return np.asarray(np.hypot(*np.diff(points, axis=0).T))


# ---------------------------------------------------------------- tables


@pytest.mark.parametrize("count", SEVEN_DIGITS)
@pytest.mark.parametrize("diameter", [1.0, 250.0])
def test_chord_of_equal_parts(count: int, diameter: float) -> None:
    exact = diameter * math.sin(math.pi / count)
    steps = stepped(circle(diameter), count)
    assert steps.widths[0] == pytest.approx(exact, rel=1e-9)
    assert np.allclose(chords(steps.points), exact, rtol=1e-9)
    assert len(steps.points) == count + 1
    assert np.allclose(steps.points[-1], steps.points[0], rtol=0.0, atol=1e-12 * diameter)
    assert steps.widths[0] / diameter == pytest.approx(SEVEN_DIGITS[count], abs=5.1e-8)


@pytest.mark.parametrize(
    ("count", "factor"),
    [
        # A five-decimal table for 3 to 30 holes, diameter times factor; its first and last rows:
        # online.documentine.com/bolt-hole-circle-math/1/pitch-circle-chordal-distance-calculation.html
        (3, 0.86603),
        (30, 0.10453),
        # Guide to Machinery's Handbook, section 2: the factors of its two worked examples.
        (8, 0.38268),
        (56, 0.05607),
    ],
)
def test_five_digits(count: int, factor: float) -> None:
    assert stepped(circle(1.0), count).widths[0] == pytest.approx(factor, abs=5.1e-6)


@pytest.mark.parametrize(("count", "factor"), [(15, 0.2079), (14, 0.2225), (45, 0.0698)])
def test_four_digits(count: int, factor: float) -> None:
    # shopswarf.orcon.net.nz/spacing.html prints 3 to 45 at four decimals, with .2070 for 15, a slip for .2079.
    # The figures here are computed.
    assert stepped(circle(1.0), count).widths[0] == pytest.approx(factor, abs=5.1e-5)


@pytest.mark.parametrize(
    ("count", "chord"), [(8, 0.7654), (12, 0.5176), (16, 0.3902), (24, 0.2611), (36, 0.1743), (48, 0.1308)]
)
def test_radius_one(count: int, chord: float) -> None:
    # Engineering ToolBox, engineeringtoolbox.com, page d_1870.
    assert stepped(circle(2.0), count).widths[0] == pytest.approx(chord, abs=5.1e-5)


def test_side_of_the_17_gon() -> None:
    # mathforum.org/library/drmath/view/55441.html, 12 digits; circles are drawn to 1e-10 of their radius.
    assert stepped(circle(2.0), 17).widths[0] == pytest.approx(0.367499035633, abs=1e-10)


# ---------------------------------------------------------------- worked examples


def test_from_diameter_to_chord() -> None:
    # Guide to Machinery's Handbook, section 2: 8 holes on a circle of 6, chord 2.296.
    assert stepped(circle(6.0), 8).widths[0] == pytest.approx(2.296, rel=5e-4)
    assert stepped(circle(6.0), 8).widths[0] == pytest.approx(2.29610, abs=5.1e-6)


def test_from_chord_to_diameter() -> None:
    # The same: 56 divisions, chord 2.156, circle 38.452 (a factor of four digits; exact 38.4516).
    found = 2.156 / stepped(circle(1.0), 56).widths[0]
    assert found == pytest.approx(38.452, rel=5e-4)
    assert found == pytest.approx(38.4516, abs=5.1e-5)
    assert stepped(circle(found), 56).widths[0] == pytest.approx(2.156, rel=1e-12)


def test_distance_apart_is_not_length_along() -> None:
    # Engineering ToolBox, d_1870: radius 3 m, 24 parts: chord .7833, their sum 18.7959, circumference 18.8496.
    m = circle(6.0)
    steps = stepped(m, 24)
    # Three times a factor of four decimals.
    assert steps.widths[0] == pytest.approx(0.7833, abs=1.6e-4)
    assert chords(steps.points).sum() == pytest.approx(18.7959, abs=1.5e-4)  # the print sums rounded chords
    assert m.length == pytest.approx(18.8496, abs=5.1e-5)
    assert 1.0 - chords(steps.points).sum() / m.length == pytest.approx(0.00285, abs=5e-6)
    # Dividers are set a little under the pitch (cool-info.co.uk/eng_dwg/t_square_to_divide_circle.html).
    assert steps.widths[0] < np.diff(steps.s).min()


def test_six_holes() -> None:
    # terican.com/calculators/bolt-circle-calculator: 6 holes on 100 mm: chord 50.00, arc 52.36.
    steps = stepped(circle(100.0), 6)
    assert steps.widths[0] == pytest.approx(50.0, rel=1e-12)
    assert np.allclose(np.diff(steps.s), 52.36, atol=5.1e-3)


@pytest.mark.parametrize("turn", [TURN, -TURN])
def test_ring_with_a_start_angle(turn: float) -> None:
    # Machinery's Handbook, 31st ed. (2020), p. 711: n 6, radius 5, centre (7.5, 6), first at 30 degrees.
    published = {0: (11.8301, 8.5), 1: (7.5, 11.0), 2: (3.1699, 8.5)}
    steps = stepped(circle(10.0, math.radians(30.0), turn, (7.5, 6.0)), 6)
    for number, place in published.items():
        k = number if turn > 0.0 else (6 - number) % 6
        assert np.allclose(steps.points[k], place, atol=5.1e-5)


# ---------------------------------------------------------------- through a drawing


@pytest.mark.parametrize("count", [n for n in SEVEN_DIGITS if n >= 5])
def test_scallops_on_a_drawn_circle(count: int) -> None:
    """Width in the report, rounded to a millionth of a mm there; at a depth that leaves neighbours room everywhere."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 600 600">'
        '<circle cx="300" cy="300" r="250"/></svg>'
    )
    drawing = read_drawing(text.encode(), "circle.svg")
    run = scallop(drawing, count=count, depth="20%")
    report = report_of(drawing, [run])["runs"][0]
    exact = 250.0 * math.sin(math.pi / count)
    assert run.widths[0] == pytest.approx(exact, rel=1e-9)
    assert report["count"] == count
    assert report["loop"] is True
    assert report["length_mm"] == pytest.approx(250.0 * math.pi, abs=5.1e-7)
    assert [span["width_mm"] for span in report["spans"]] == pytest.approx([exact], abs=5.1e-7)
    assert np.allclose([row["width_mm"] for row in report["scallops"]], exact, rtol=0.0, atol=1.1e-6)
    assert report["residual"] <= 1e-9
    valleys = np.array([(v["x"], v["y"]) for v in report["valleys"]])
    assert len(valleys) == count
    # The report's coordinates are root user units, half a mm here; the circle is drawn to 1e-10 of its radius.
    assert np.allclose(np.hypot(*(valleys - 300.0).T), 250.0, rtol=0.0, atol=3e-8)
    assert np.allclose(0.5 * chords(np.concatenate([valleys, valleys[:1]])), exact, rtol=1e-9)
