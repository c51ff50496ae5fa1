"""The basic shapes as curves: start points, directions, sizes, and what draws nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.document.path_data import SubPath, read_path
from scallopkit.document.shapes import read_shape
from scallopkit.errors import DrawingError
from scallopkit.geometry.cubics import area, bounds, lines, point

PAGE = (400.0, 300.0)


def drawn(kind: str, **attributes: str) -> SubPath:
    names = {key.replace("_", "-"): value for key, value in attributes.items()}
    data = read_shape(kind, names, PAGE, 1e-9)
    assert data.problem is None
    assert len(data.subpaths) == 1
    return data.subpaths[0]


def as_path(sub: SubPath, d: str) -> bool:
    other = read_path(d, 1e-9).subpaths[0]
    return sub.closed == other.closed and np.allclose(sub.curve, other.curve, rtol=0.0, atol=1e-12)


def test_rect() -> None:
    sub = drawn("rect", x="1", y="2", width="30", height="40")
    assert np.array_equal(sub.curve, lines([[1, 2], [31, 2], [31, 42], [1, 42], [1, 2]]))
    assert sub.closed


@pytest.mark.parametrize(
    ("rx", "ry", "d"),
    [
        ("5", "6", "M6 2H26A5 6 0 0 1 31 8V36A5 6 0 0 1 26 42H6A5 6 0 0 1 1 36V8A5 6 0 0 1 6 2z"),
        ("5", "", "M6 2H26A5 5 0 0 1 31 7V37A5 5 0 0 1 26 42H6A5 5 0 0 1 1 37V7A5 5 0 0 1 6 2z"),
        ("", "5", "M6 2H26A5 5 0 0 1 31 7V37A5 5 0 0 1 26 42H6A5 5 0 0 1 1 37V7A5 5 0 0 1 6 2z"),
        ("auto", "5", "M6 2H26A5 5 0 0 1 31 7V37A5 5 0 0 1 26 42H6A5 5 0 0 1 1 37V7A5 5 0 0 1 6 2z"),
        ("99", "5", "M16 2A15 5 0 0 1 31 7V37A15 5 0 0 1 16 42A15 5 0 0 1 1 37V7A15 5 0 0 1 16 2z"),
        ("99", "", "M16 2A15 20 0 0 1 31 22A15 20 0 0 1 16 42A15 20 0 0 1 1 22A15 20 0 0 1 16 2z"),
        ("0", "9", "M1 2H31V42H1z"),
    ],
)
def test_rounded_rect(rx: str, ry: str, d: str) -> None:
    attributes = {"x": "1", "y": "2", "width": "30", "height": "40", "rx": rx, "ry": ry}
    sub = drawn("rect", **{key: value for key, value in attributes.items() if value})
    assert as_path(sub, d)
    assert np.array_equal(sub.curve[1:, 0], sub.curve[:-1, 3])
    assert np.array_equal(sub.curve[0, 0], sub.curve[-1, 3])


def test_circle_and_ellipse_start_on_the_right_and_run_clockwise() -> None:
    circle = drawn("circle", cx="10", cy="20", r="5")
    assert as_path(circle, "M15 20A5 5 0 0 1 10 25A5 5 0 0 1 5 20A5 5 0 0 1 10 15A5 5 0 0 1 15 20z")
    ellipse = drawn("ellipse", cx="10", cy="20", rx="5", ry="3")
    assert as_path(ellipse, "M15 20A5 3 0 0 1 10 23A5 3 0 0 1 5 20A5 3 0 0 1 10 17A5 3 0 0 1 15 20z")
    for sub in (circle, ellipse):
        assert sub.closed
        assert area(sub.curve) > 0.0
        for node in ((15, 20), (5, 20)):
            assert (sub.curve[:, 0] == node).all(axis=1).any()
    assert as_path(drawn("ellipse", ry="3"), "M3 0A3 3 0 0 1 0 3A3 3 0 0 1-3 0A3 3 0 0 1 0-3A3 3 0 0 1 3 0z")


def test_a_circle_is_round() -> None:
    curve = drawn("circle", r="100").curve
    t = np.tile(np.linspace(0.0, 1.0, 17), len(curve))
    radius = np.hypot(*point(curve, np.repeat(np.arange(len(curve)), 17), t).T)
    # The accuracy asked for, and what rounding adds.
    assert np.abs(radius - 100.0).max() < 1e-9 + 1e-13


def test_line_polyline_and_polygon() -> None:
    assert as_path(drawn("line", x1="1", y1="2", x2="3"), "M1 2L3 0")
    assert as_path(drawn("polyline", points="1,2 3,4, 5 6"), "M1 2L3 4L5 6")
    assert as_path(drawn("polygon", points="1,2 3,4 5-6"), "M1 2L3 4L5-6z")
    assert as_path(drawn("polygon", points="1,2 3,4 5 6 1 2"), "M1 2L3 4L5 6z")
    assert as_path(drawn("path", d="M1 2Q3 4 5 6"), "M1 2Q3 4 5 6")


def test_lengths_in_units_and_shares() -> None:
    box = bounds(drawn("rect", x="1in", y="10%", width="25.4mm", height="50%").curve)
    assert np.allclose(box, [[96, 30], [192, 180]])
    # A share of a radius is one of the viewport's diagonal over the root of two.
    wide = bounds(drawn("circle", r="10%").curve)
    assert wide[1, 0] == pytest.approx(50.0 / math.sqrt(2.0), rel=1e-12)
    assert bounds(drawn("ellipse", rx="10%", ry="1pc").curve)[1] == pytest.approx([40.0, 16.0])


@pytest.mark.parametrize(
    ("kind", "attributes"),
    [
        ("rect", {}),
        ("rect", {"width": "5"}),
        ("rect", {"width": "5", "height": "0"}),
        ("circle", {}),
        ("ellipse", {"rx": "5", "ry": "0"}),
        ("line", {"x1": "5", "x2": "5"}),
        ("polyline", {"points": "5 5"}),
        ("polygon", {}),
        ("path", {}),
    ],
)
def test_what_has_no_size_draws_nothing(kind: str, attributes: dict[str, str]) -> None:
    data = read_shape(kind, attributes, PAGE, 1e-9)
    assert data.subpaths == ()
    assert data.problem is None


@pytest.mark.parametrize(
    ("kind", "attributes", "name"),
    [
        ("rect", {"width": "-5", "height": "5"}, "width"),
        ("rect", {"width": "5", "height": "5", "rx": "-1"}, "rx"),
        ("circle", {"r": "-5"}, "r"),
        ("circle", {"r": "5em"}, "r"),
        ("line", {"x1": "left"}, "x1"),
    ],
)
def test_lengths_that_cannot_be_are_refused_by_name(kind: str, attributes: dict[str, str], name: str) -> None:
    with pytest.raises(DrawingError, match=f"its {name}"):
        read_shape(kind, attributes, PAGE, 1e-9)


@pytest.mark.parametrize(
    ("points", "kept", "told"),
    [
        ("0 0 5 0 5 5 7", 2, "7 numbers"),
        ("0 0 5 0 x 5", 1, "character 9"),
        ("0 0 5 0 5 1e99", 1, "number 6"),
        ("0 0 5 0,", 1, "character 8"),
    ],
)
def test_points_up_to_a_fault_are_kept_and_the_fault_is_told(points: str, kept: int, told: str) -> None:
    data = read_shape("polyline", {"points": points}, PAGE, 1e-9)
    assert len(data.subpaths[0].curve) == kept
    assert data.problem is not None
    assert told in data.problem


def test_repeated_points_are_dropped_and_counted() -> None:
    data = read_shape("polygon", {"points": "0 0 5 0 5 0 5 5 0 0"}, PAGE, 1e-9)
    assert data.dropped == 1
    assert len(data.subpaths[0].curve) == 3
