"""Published figures for rows: holes on a circle, buttonholes, cords side by side, openings that are sold."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from scallopkit.construction.setting import packing
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY
from scallopkit.trim.course import Course
from scallopkit.trim.eyelet_sizes import NAMED, named_size
from scallopkit.trim.eyelets import eyelet_size, eyelets_along
from scallopkit.trim.fastenings import buttonhole

TURN = 2.0 * math.pi


def round_row(
    diameter: float, count: int, inset: float, chord: bool = True
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """The middles of eyelets round a circle of that diameter, drawn so far outside them."""
    radius = 0.5 * diameter + inset
    rim = ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.3, TURN, 1e-9)
    # Angles grow clockwise as seen, so the outside is on the walker's left.
    course = Course(measure(rim, IDENTITY), True, 1)
    return eyelets_along(course, eyelet_size(0.4, flange=1.5), count=count, inset=inset, chord=chord).points


@pytest.mark.parametrize(
    ("count", "chord"),
    [
        # documentine.com, bolt-hole-circle-math, p. 1 (Coventry Engineering): chords for diameter 1, five decimals.
        *((3, 0.86603), (4, 0.70711), (5, 0.58779), (6, 0.5), (7, 0.43388), (8, 0.38268), (9, 0.34202)),
        *((10, 0.30902), (11, 0.28173), (12, 0.25882), (13, 0.23932), (16, 0.19509), (17, 0.18375), (20, 0.15643)),
        *((24, 0.13053), (30, 0.10453)),
        # engineeringtoolbox.com, d_1870, for radius 1: 8 and 12 parts.
        (8, 0.7654 / 2.0),
        (12, 0.5176 / 2.0),
    ],
)
def test_eyelets_round_a_circle_stand_on_printed_chords(count: int, chord: float) -> None:
    points = round_row(100.0, count, 12.0)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T) / 100.0
    assert np.ptp(steps) < 1e-9
    # Four or five printed decimals.
    assert steps.mean() == pytest.approx(chord, abs=5e-5)
    assert np.allclose(np.hypot(*points.T), 50.0, atol=1e-6)


def test_six_holes_on_100_mm() -> None:
    # terican.com/calculators/bolt-circle-calculator: chord 50.00, arc 52.36.
    points = round_row(100.0, 6, 10.0, chord=False)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    assert steps == pytest.approx([50.0] * 6, abs=1e-6)
    assert 100.0 * math.pi / 6.0 == pytest.approx(52.36, abs=5e-3)


def test_eight_holes_in_six_inches() -> None:
    # Machinery's Handbook Guide, section 2 (scribd 382910956): 8 holes on a circle of 6 in, 2.296 in apart.
    points = round_row(6.0 * 25.4, 8, 8.0)
    assert np.hypot(*(points[1] - points[0])) / 25.4 == pytest.approx(2.296, abs=5e-4)


@pytest.mark.parametrize(
    ("button", "thickness", "bulky", "length"), [(18.0, 4.0, False, 22.0), (18.0, 4.0, True, 25.0)]
)
def test_a_buttonhole_is_as_long_as_its_button_is_wide_and_thick(
    button: float, thickness: float, bulky: bool, length: float
) -> None:
    # Extension Bulletin 576 (August 1965), docslib.org/doc/10465419: diameter and thickness, 1/8 in more on bulky
    # cloth; its 3.175 mm are rounded to 3.
    assert buttonhole(button, thickness, bulky).length == length


@pytest.mark.parametrize(
    ("cords", "ratio"),
    # Graham, Lubachevsky, Nurmela and Östergård, Discrete Mathematics 181 (1998) 139-154: radii of the least circles
    # round equal circles, over theirs; from memory.
    [(1, 1.0), (2, 2.0), (3, 2.154), (4, 2.414), (5, 2.701), (6, 3.0), (7, 3.0), (8, 3.304), (9, 3.613)],
)
def test_cords_side_by_side_take_a_printed_circle(cords: int, ratio: float) -> None:
    assert packing(cords) == pytest.approx(ratio, abs=1e-3)


@pytest.mark.parametrize("cords", range(2, 10))
def test_so_many_circles_lie_in_that_circle_without_crossing(cords: int) -> None:
    """Circles of diameter 1 in a ring, with one in the middle where the ring leaves room, as the ratio has them."""
    half = 0.5 * packing(cords)
    ringed = cords - 1 if cords >= 7 else cords
    angle = TURN * np.arange(ringed) / ringed
    middles = (half - 0.5) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    middles = np.concatenate([middles, np.zeros((cords - ringed, 2))])
    apart = [math.hypot(*(a - b)) for a, b in itertools.combinations(middles, 2)]
    assert min(apart) == pytest.approx(1.0, abs=1e-9)


def test_openings_that_are_sold_have_a_name() -> None:
    # leprevo.co.uk/sizes.htm: 4, 5.5 and 6.5 mm inside.
    assert {4.0, 5.5, 6.5} <= {named_size(name).opening for name in NAMED}
