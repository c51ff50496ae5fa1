"""Published lengths of curves: ellipses, parabolas, two cubics; and the way back from a length to its place."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from scallopkit.document.path_data import read_path
from scallopkit.geometry.cubics import Array, area, derivative, point, quadratics
from scallopkit.geometry.length import Measured, measure


def of_path(d: str) -> Measured:
    """The one subpath of a path, its arcs as good as they come."""
    data = read_path(d, 1e-12)
    assert data.problem is None
    assert len(data.subpaths) == 1
    return measure(data.subpaths[0].curve)


def ellipse(a: float, b: float, degrees: float = 0.0) -> Measured:
    """A whole ellipse by two A commands."""
    c, s = a * math.cos(math.radians(degrees)), a * math.sin(math.radians(degrees))
    return of_path(f"M{-c!r} {-s!r}A{a!r} {b!r} {degrees} 0 1 {c!r} {s!r}A{a!r} {b!r} {degrees} 0 1 {-c!r} {-s!r}Z")


def parabola(span: float, rise: float) -> Measured:
    """The curve y = rise (x / span)² from its vertex, as a path's Q command."""
    return of_path(f"M0 0Q{0.5 * span!r} 0 {span!r} {rise!r}")


def by_quadrature(curve: Array) -> float:
    """Length of one cubic by an adaptive rule of another library."""

    def speed(t: float) -> float:
        return float(np.hypot(*derivative(curve, np.array([0]), np.array([t]))[0]))

    return float(quad(speed, 0.0, 1.0, epsabs=0.0, epsrel=1e-13, limit=500)[0])


# ---------------------------------------------------------------- ellipses


@pytest.mark.parametrize(
    ("a", "b", "perimeter"),
    [
        # docs.scipy.org, the example of scipy.special.ellipe.
        (3.5, 2.1, 17.868899204378693),
        # Computed from 4 a E(1 - b² / a²), https://dlmf.nist.gov/19.9#i.
        (1.0, 0.5, 4.844224110273838),
        (2.0, 1.0, 9.688448220547676),
        (5.0, 3.0, 25.52699886339813),
        (10.0, 5.0, 48.44224110273838),
        (100.0, 1.0, 400.1098329722652),
    ],
)
@pytest.mark.parametrize("degrees", [0.0, 37.0, -90.0])
def test_perimeter_of_an_ellipse(a: float, b: float, perimeter: float, degrees: float) -> None:
    assert ellipse(a, b, degrees).length == pytest.approx(perimeter, rel=1e-9)


@pytest.mark.parametrize(
    ("m", "factor"),
    [
        (0.1, 1.002),
        (0.2, 1.010),
        (0.3, 1.023),
        (0.4, 1.040),
        (0.5, 1.064),
        (0.6, 1.092),
        (0.7, 1.127),
        (0.8, 1.168),
        (0.9, 1.216),
        (1.0, 1.273),
    ],
)
def test_handbook_factor(m: float, factor: float) -> None:
    # An engineering handbook's table of K in pi (a + b) K with m = (a - b) / (a + b):
    # digilib.universitaspertamina.ac.id, page 22; right to .0006.
    a, b = 1.0 + m, max(1.0 - m, 1e-6)
    assert ellipse(a, b).length / (math.pi * (a + b)) == pytest.approx(factor, abs=6e-4)


@pytest.mark.parametrize(("ratio", "error"), [(2.0, -4.6e-10), (100.0, -2.4e-4)])
def test_ramanujan_is_a_little_short(ratio: float, error: float) -> None:
    # His second formula of 1914; the errors are computed.
    a, b = ratio, 1.0
    h = ((a - b) / (a + b)) ** 2
    rule = math.pi * (a + b) * (1.0 + 3.0 * h / (10.0 + math.sqrt(4.0 - 3.0 * h)))
    # Arcs are drawn to 1e-10 of the larger radius.
    assert rule / ellipse(a, b).length - 1.0 == pytest.approx(error, rel=0.05, abs=1e-10)


# ---------------------------------------------------------------- parabolas


@pytest.mark.parametrize(
    ("span", "rise", "length"),
    [
        # Formula: planetmath.org/arclengthofparabola; the digits are computed.
        (1.0, 1.0, 0.5 * math.sqrt(5.0) + 0.25 * math.asinh(2.0)),
        (1.0, 1.0, 1.4789428575446),
        (2.0, 1.0, math.sqrt(2.0) + math.asinh(1.0)),
        (2.0, 1.0, 2.295587149392638),
    ],
)
def test_parabola(span: float, rise: float, length: float) -> None:
    assert parabola(span, rise).length == pytest.approx(length, rel=1e-12)


@pytest.mark.parametrize(("span", "rise", "length"), [(2.0, 1.0, 2.957885715089), (40.0, 15.0, 51.985688985135)])
def test_parabolic_arch(span: float, rise: float, length: float) -> None:
    """From springing to springing, the crown in the middle."""
    arch = of_path(f"M0 0Q{0.5 * span!r} {2.0 * rise!r} {span!r} 0")
    assert arch.length == pytest.approx(length, rel=1e-12)


def test_universal_parabolic_constant() -> None:
    # sqrt 2 + ln(1 + sqrt 2) = 2.295587149: the arc that the latus rectum cuts off over half the latus rectum
    # (planetmath.org/arclengthofparabola). Any parabola has it.
    for focal in (0.25, 3.0, 80.0):
        ratio = 2.0 * parabola(2.0 * focal, focal).length / (2.0 * focal)
        assert ratio == pytest.approx(math.sqrt(2.0) + math.log(1.0 + math.sqrt(2.0)), rel=1e-12)
        assert ratio == pytest.approx(2.295587149, abs=5.1e-10)


def test_a_quadratic_is_the_same_as_a_cubic() -> None:
    control = np.array([[(0.0, 0.0), (20.0, 30.0), (40.0, 0.0)]])
    path = of_path("M0 0Q20 30 40 0")
    assert measure(quadratics(control)).length == path.length


# ---------------------------------------------------------------- cubics


def test_published_cubic_with_an_inflection() -> None:
    # getnet.net/~cherry/tth/lenbez.html.
    m = of_path("M6 8C1 10 7 3 4 4")
    assert m.length == pytest.approx(7.237223368328592885826619, rel=1e-12)
    assert m.length == pytest.approx(by_quadrature(m.curve), rel=1e-11)


def test_a_cubic_that_doubles_back() -> None:
    # fonttools.readthedocs.io/en/stable/misc/bezierTools.html: exactly 150; one sweep of Gauss's rule gives 136.9.
    m = of_path("M0 0C50 0 100 0 -50 0")
    assert m.length == pytest.approx(150.0, rel=1e-12)


@pytest.mark.parametrize(
    ("d", "length"),
    [
        # The documentation of svg.path shows 297.22081456569 for this one; recomputed.
        ("M300 100C100 100 200 200 200 300", 297.22112393914),
        # That of fontTools 190.83415584753; recomputed.
        ("M0 0C25 100 75 100 100 0", 190.83331512513),
    ],
)
def test_cubics_whose_printed_lengths_are_off(d: str, length: float) -> None:
    m = of_path(d)
    assert m.length == pytest.approx(length, rel=1e-12)
    assert m.length == pytest.approx(by_quadrature(m.curve), rel=1e-11)


def test_circle_of_four_cubics() -> None:
    # spencermortensen.com/articles/bezier-circle gives the two constants; lengths over 2 pi are computed.
    for k, excess in ((0.5522847498, 1.40293e-4), (0.551915024494, 3.81e-5)):
        d = f"M1 0C1 {k} {k} 1 0 1 {-k} 1 -1 {k} -1 0 -1 {-k} {-k} -1 0 -1 {k} -1 1 {-k} 1 0Z"
        assert of_path(d).length / (2.0 * math.pi) - 1.0 == pytest.approx(excess, rel=2e-3)


def test_cycloid() -> None:
    # Machinery's Handbook, 31st ed. (2020), p. 79: generating circle of 6, length 24, area 84.82.
    angle = np.linspace(0.0, 2.0 * math.pi, 241)
    place = 3.0 * np.stack([angle - np.sin(angle), 1.0 - np.cos(angle)], axis=1)
    slope = 3.0 * np.stack([1.0 - np.cos(angle), np.sin(angle)], axis=1)
    third = (angle[1] - angle[0]) / 3.0
    curve = np.stack([place[:-1], place[:-1] + third * slope[:-1], place[1:] - third * slope[1:], place[1:]], axis=1)
    assert measure(curve).length == pytest.approx(24.0, rel=1e-7)
    assert abs(area(curve)) == pytest.approx(84.82, abs=5.1e-3)
    assert abs(area(curve)) == pytest.approx(27.0 * math.pi, rel=1e-7)


# ---------------------------------------------------------------- from a length back to its place

CURVES = {
    "thin ellipse": lambda: ellipse(100.0, 1.0),
    "ellipse": lambda: ellipse(60.0, 40.0, 20.0),
    "parabola": lambda: parabola(40.0, 15.0),
    "inflection": lambda: of_path("M6 8C1 10 7 3 4 4"),
    "doubling back": lambda: of_path("M0 0C50 0 100 0 -50 0"),
    "cusp": lambda: of_path("M0 0C100 100 0 100 100 0"),
}


@pytest.mark.parametrize("name", CURVES)
def test_there_and_back(name: str) -> None:
    m = CURVES[name]()
    s = np.linspace(0.0, m.length, 501)
    segment, t = m.at(s)
    assert np.abs(m.lengths(segment, t) - s).max() <= 1e-12 * m.length


@pytest.mark.parametrize("share", [0.1, 0.37, 0.5, 0.93])
def test_place_on_a_parabola(share: float) -> None:
    """Where the closed form says: x with x sqrt(1 + 4 x²) / 2 + asinh(2 x) / 4 = s, by bisection."""
    m = parabola(1.0, 1.0)
    s = share * m.length
    low, high = 0.0, 1.0
    for _ in range(60):
        x = 0.5 * (low + high)
        short = 0.5 * x * math.sqrt(1.0 + 4.0 * x * x) + 0.25 * math.asinh(2.0 * x) < s
        low, high = (x, high) if short else (low, x)
    assert np.allclose(m.points(np.array([s]))[0], (x, x * x), rtol=0.0, atol=1e-12)


def test_place_on_a_cubic_that_doubles_back() -> None:
    """It goes out to 50, turns, and comes back past its start: by s alone the place is known."""
    m = of_path("M0 0C50 0 100 0 -50 0")
    s = np.array([10.0, 49.0, 51.0, 90.0, 149.0])
    x = point(m.curve, *m.at(s))[:, 0]
    assert np.allclose(x, np.where(s < 50.0, s, 100.0 - s), rtol=0.0, atol=1e-9)
