"""Published spacing figures: gaps between things of a width, marks with fixed ends, holes on a circle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY
from scallopkit.trim.course import Course
from scallopkit.trim.eyelets import eyelet_size, eyelets_along
from scallopkit.trim.spacing import fit_gaps, fit_spacing

TURN = 2.0 * math.pi


@pytest.mark.parametrize(
    ("length", "width", "largest", "things", "gap"),
    [
        # supercalx.com/construction/baluster-calculator
        (120.0, 1.5, 4.0, 22, 3.7826),
        # ehow.com/how_6210555
        (72.0, 1.5, 4.0, 13, 52.5 / 14.0),
        # ironfurnit.blogspot.com/2011/11
        (120.0, 2.0, 4.0, 20, 80.0 / 21.0),
        # homesteady.com/how-7766646 takes 10 here, rounding L / (w + g) up; 9 suffice.
        (52.0, 1.5, 4.0, 9, 3.85),
    ],
)
def test_gaps_no_larger_than_allowed(length: float, width: float, largest: float, things: int, gap: float) -> None:
    n, fitted = fit_gaps(length, width, largest=largest)
    assert n == things + 1
    # The print has four decimals.
    assert fitted == pytest.approx(gap, abs=5e-5)
    assert fitted <= largest
    assert (length - (things - 1) * width) / things > largest, "one thing less would leave gaps that are too large"


def test_half_gaps_at_the_ends() -> None:
    # codingace.net/construction/spindle_spacing.html: L = N (w + g); the figures 75, 2, 15 are computed.
    n, pitch = fit_spacing(75.0, largest=2.0 + 2.9)
    assert (n, pitch - 2.0) == (16, 75.0 / 16.0 - 2.0)
    assert fit_gaps(75.0, 2.0, count=16)[1] == pytest.approx(2.8125, rel=1e-12)


def test_eight_buttons_have_seven_spaces() -> None:
    # treadleyardgoods.blogspot.com: 15 in from the first to the last, about 2 1/8 in.
    inches = 25.4
    line = measure(np.array([[(0.0, 0.0), (5.0 * inches, 0.0), (10.0 * inches, 0.0), (15.0 * inches, 0.0)]]))
    eyelets = eyelets_along(Course(line, False, 1), eyelet_size(4.0), count=8)
    assert len(eyelets) == 8
    assert np.allclose(np.diff(eyelets.s) / inches, 2.142857, atol=5e-7)
    assert (eyelets.s[0], eyelets.s[-1]) == (0.0, line.length)
    assert fit_spacing(15.0, count=7)[1] == pytest.approx(2.142857, abs=5e-7)


def ring(radius: float, centre: tuple[float, float], first: float, count: int, turn: float, chord: bool) -> Array:
    """Eyelets on a circular path itself, the first at an angle."""
    curve = ellipse_arc(centre, (radius, radius), 0.0, 0.0, turn, 1e-9)
    course = Course(measure(curve, IDENTITY), True, 1)
    ends = (radius * (first if turn > 0.0 else TURN - first), 0.0)
    return eyelets_along(course, eyelet_size(0.4, flange=2.0), count=count, ends=ends, inset=0.0, chord=chord).points


@pytest.mark.parametrize("chord", [False, True])
@pytest.mark.parametrize("turn", [TURN, -TURN])
def test_a_ring_that_starts_at_an_angle(turn: float, chord: bool) -> None:
    # Machinery's Handbook, 31st ed. (2020), p. 711: n 6, r 5, centre (7.5, 6), first at 30 degrees; y up and y down.
    published = np.array([(11.8301, 8.5), (7.5, 11.0), (3.1699, 8.5)])
    rest = np.array([(3.1699, 3.5), (7.5, 1.0), (11.8301, 3.5)])
    expected = np.concatenate([published, rest])
    if turn < 0.0:
        expected = expected[[0, 5, 4, 3, 2, 1]]
    found = ring(5.0, (7.5, 6.0), math.radians(30.0), 6, turn, chord)
    # The print has four decimals.
    assert np.allclose(found, expected, atol=5e-5)


@pytest.mark.parametrize(
    ("count", "diameter", "chord"),
    [
        # Guide to Machinery's Handbook, section 2: factor .38268 for 8 holes, chord 2.296 on a circle of 6.
        (8, 6.0, 2.296),
        # The same: 56 divisions of 2.156 lie on a circle of 38.452.
        (56, 38.452, 2.156),
        # Engineering ToolBox, d_1870: 24 parts of a circle of radius 3 m, chord .7833 m.
        (24, 6.0, 0.7833),
        # terican.com/calculators/bolt-circle-calculator: 6 holes on 100 mm, chord 50.
        (6, 100.0, 50.0),
    ],
)
def test_chords_of_holes_on_a_circle(count: int, diameter: float, chord: float) -> None:
    points = ring(0.5 * diameter, (0.0, 0.0), 0.3, count, TURN, chord=True)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    # Factors of four or five digits.
    assert np.allclose(steps, chord, rtol=2e-4)
    assert np.ptp(steps) < 1e-9 * diameter
