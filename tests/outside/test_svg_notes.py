"""Facts about SVG from published sources: arcs, paths, units, viewports and transforms as others have them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from svgpathtools import parse_path

from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.transforms import read_transform, read_view_box, viewport_map
from scallopkit.document.units import parse_length, svg_length
from scallopkit.geometry.cubics import Array, bounds, point
from scallopkit.geometry.length import measure


def length(d: str) -> float:
    return sum(measure(sub.curve).length for sub in read_path(d, 1e-9).subpaths)


def samples(d: str) -> Array:
    curve = read_path(d, 1e-9).subpaths[0].curve
    t = np.linspace(0.0, 1.0, 7)
    return point(curve, np.repeat(np.arange(len(curve)), 7), np.tile(t, len(curve)))


# SVG 2, paths "out-of-range parameters" and implementation notes B.2.5: https://www.w3.org/TR/SVG2/implnote.html
# Lengths are half circles and a straight line.
@pytest.mark.parametrize(
    ("d", "expected"),
    [
        ("M0 0A1 1 0 0 1 10 0", 5.0 * math.pi),
        ("M0 0A-5 -5 0 0 1 10 0", 5.0 * math.pi),
        ("M0 0A0 5 0 0 1 10 0", 10.0),
        ("M0 0A5 0 0 0 1 10 0", 10.0),
        ("M0 0A5 5 0 1 1 0 0", 0.0),
    ],
)
def test_arcs_out_of_range(d: str, expected: float) -> None:
    assert length(d) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_an_arc_whose_radii_are_scaled_up() -> None:
    # Path: resvg test suite, shapes/path/M-A.svg (github.com/linebender/resvg, 08c79a3). The ellipse follows from
    # equations F.6.6.2 and F.6.6.3 of the implementation notes; its length was computed with scipy's ellipe.
    d = "M30 40 A40 30 20 1 1 150 100"
    assert length(d) == pytest.approx(186.283210049518, rel=1e-9)
    turn = math.radians(20.0)
    x, y = (samples(d) - (90.0, 70.0)).T
    across, down = math.cos(turn) * x + math.sin(turn) * y, math.cos(turn) * y - math.sin(turn) * x
    # Radii are given to nine figures.
    assert np.abs(np.hypot(across / 67.4221824, down / 50.5666368) - 1.0).max() < 2e-9


@pytest.mark.parametrize(
    ("large", "sweep", "centre", "expected"),
    [
        (0, 0, (225.0, 75.0), 121.105603),
        (0, 1, (125.0, 125.0), 121.105603),
        (1, 0, (125.0, 125.0), 363.316808),
        (1, 1, (225.0, 75.0), 363.316808),
    ],
)
def test_the_four_arcs_between_two_points(large: int, sweep: int, centre: tuple[float, float], expected: float) -> None:
    # SVG 2, figure arcs02 (https://www.w3.org/TR/SVG2/paths.html), which draws both ellipses; lengths computed.
    d = f"M125,75 a100,50 0 {large},{sweep} 100,50"
    x, y = (samples(d) - centre).T
    assert np.abs(np.hypot(x / 100.0, y / 50.0) - 1.0).max() < 1e-9
    assert length(d) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("d", "expected"),
    [
        # SVG 2, paths: T after a command that is no quadratic starts from the current point, S likewise. The length is
        # that of svgpathtools and svg.path.
        ("M30 30T40 170S170 170 170 30", 354.51804691),
        # SVG 2, paths: a drawing command after Z starts at the subpath's first point. 20 + 10 root 2 + 90 root 2 ...
        ("M10 10L10 20L20 10zL100 100L120 100", 181.42135624),
    ],
)
def test_smooth_after_another_kind_and_drawing_after_close(d: str, expected: float) -> None:
    assert length(d) == pytest.approx(expected, abs=1e-7)
    assert parse_path(d).length(error=1e-9) == pytest.approx(expected, abs=1e-6)


# Web Platform Tests, svg/path/property/serialization.svg (github.com/web-platform-tests/wpt).
@pytest.mark.parametrize(
    ("relative", "absolute"),
    [
        ("m 10 20 q 30 60 40 50 q 100 70 90 80", "M 10 20 Q 40 80 50 70 Q 150 140 140 150"),
        ("M 0 0 L 100 100 m 0 100 l 100 0 Z l 160 20 Z", "M 0 0 L 100 100 M 100 200 L 200 200 Z L 260 220 Z"),
        (
            "m 10 20 l 20 30 Z l 50 60 Z m 70 80 l 90 60 Z t 70 120",
            "M 10 20 L 30 50 Z L 60 80 Z M 80 100 L 170 160 Z T 150 220",
        ),
        (
            "m 10.0 170.0 h 90.00 v 30.00 m 0 0 s 1 2 3 4 z c 9 8 7 6 5 4",
            "M 10 170 H 100 V 200 M 100 200 S 101 202 103 204 Z C 109 208 107 206 105 204",
        ),
        (
            "m 10 20 a 10 20 30 1 0 40 50 a 110 120 30 1 1 140 50",
            "M 10 20 A 10 20 30 1 0 50 70 A 110 120 30 1 1 190 120",
        ),
    ],
)
def test_relative_and_absolute_are_one(relative: str, absolute: str) -> None:
    one, other = read_path(relative, 1e-9), read_path(absolute, 1e-9)
    assert one.problem is None
    assert len(one.subpaths) == len(other.subpaths)
    for a, b in zip(one.subpaths, other.subpaths, strict=True):
        assert a.closed == b.closed
        assert np.array_equal(a.curve, b.curve)


# Web Platform Tests: svg/path/parsing (malformed data), svg/import/paths-data-20-f (arc flags that are none); SVG 2,
# path error handling (https://www.w3.org/TR/SVG2/paths.html#PathDataErrorHandling). Each: what is left.
@pytest.mark.parametrize(
    ("d", "left"),
    [
        ("M 10,10 L 20,20,30", "M10 10L20 20"),
        ("M 10 20 L", ""),
        ("Z", ""),
        ("M0 0L9 9A1 1 0 6 1 20 9", "M0 0L9 9"),
        ("M0 0L9 9A1 1 0 1 7 20 9", "M0 0L9 9"),
        ("M0 0L9 9A1 1 0 -1 1 20 9", "M0 0L9 9"),
        ("M0 0L9 9a1 1 0 2501 025", "M0 0L9 9"),
    ],
)
def test_broken_data_keep_what_came_before(d: str, left: str) -> None:
    one, other = read_path(d, 1e-9), read_path(left, 1e-9)
    assert one.problem is not None
    assert len(one.subpaths) == len(other.subpaths)
    for a, b in zip(one.subpaths, other.subpaths, strict=True):
        assert np.array_equal(a.curve, b.curve)


@pytest.mark.parametrize(
    ("d", "box"),
    [
        ("M80 80 A45 60 20 1 0 125 125", [[31.0257891, 80.0], [125.0308954, 196.2893886]]),
        ("M20 10C0 40 80 100 100 40", [[16.8170027, 10.0], [100.0, 65.6726523]]),
    ],
)
def test_boxes(d: str, box: list[list[float]]) -> None:
    # npm svg-pathdata 9.0.0 (MIT), its tests of bounds.
    assert np.allclose(bounds(read_path(d, 1e-9).subpaths[0].curve), box, rtol=0.0, atol=1e-7)


@pytest.mark.parametrize("text", ["1in", "2.54cm", "25.4mm", "96px", "72pt", "6pc", "101.6Q"])
def test_units(text: str) -> None:
    # CSS Values and Units, absolute lengths: https://www.w3.org/TR/css-values-4/#absolute-lengths
    assert svg_length(text).mm == pytest.approx(25.4, rel=1e-15)
    assert svg_length(text).user(0.0) == pytest.approx(96.0, rel=1e-15)
    assert parse_length(text) == pytest.approx(25.4, rel=1e-15)


def test_a_hundred_millimetres_in_px() -> None:
    # From 96 px to an inch, as above.
    assert svg_length("100mm").user(0.0) == pytest.approx(377.9527559, abs=5e-8)


@pytest.mark.parametrize(
    ("size", "box", "preserve", "scales"),
    [
        ((300.0, 200.0), "0 0 1500 1000", "none", (0.2, 0.2)),
        ((150.0, 200.0), "0 0 1500 1000", "none", (0.1, 0.2)),
        ((150.0, 200.0), "0 0 1500 1000", "xMidYMid meet", (0.1, 0.1)),
        ((150.0, 200.0), "0 0 1500 1000", "xMidYMid slice", (0.2, 0.2)),
    ],
)
def test_view_boxes(size: tuple[float, float], box: str, preserve: str, scales: tuple[float, float]) -> None:
    # SVG 2, coordinate systems, the example of viewBox: https://www.w3.org/TR/SVG2/coords.html#ViewBoxAttribute
    motion = viewport_map(*size, read_view_box(box), preserve)
    assert (motion[0, 0], motion[1, 1]) == pytest.approx(scales, rel=1e-15)


def test_a_page_of_the_specification() -> None:
    # SVG 2, figure arcs01: 12 cm by 5.25 cm with a box of 1200 by 400, so 0.1 mm a unit and 6.25 mm above and below.
    data = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="12cm" height="5.25cm" viewBox="0 0 1200 400">'
        b'<path id="a" d="M0 0H1200"/></svg>'
    )
    curve = read_drawing(data, "arcs01.svg").pattern.pieces[0].curve
    assert np.allclose(curve[[0, -1], [0, 3]], [[0.0, 6.25], [120.0, 6.25]], rtol=0.0, atol=1e-12)


def test_transforms_from_left_to_right() -> None:
    # The printed product (developer.4d.com, SVG_SET_TRANSFORM_MATRIX) has three figures; the exact ones are computed.
    motion = read_transform("translate(50,90) rotate(-45) translate(130,160)")
    half = math.sqrt(0.5)
    assert np.allclose(motion[:, :2], [[half, half], [-half, half]], rtol=0.0, atol=1e-15)
    assert motion[:, 2] == pytest.approx([255.03, 111.21], abs=0.05)
    assert motion[:, 2] == pytest.approx([50.0 + 290.0 * half, 90.0 + 30.0 * half], rel=1e-14)


@pytest.mark.parametrize(
    ("transform", "rect", "corners"),
    [
        (
            "matrix(.7569 .2097 -.588 .7239 81 2.76)",
            (40, 40, 120, 120),
            [(87.756, 40.104), (178.584, 65.268), (108.024, 152.136), (17.196, 126.972)],
        ),
        ("rotate(45,100,50)", (75, 25, 50, 50), [(100.0, 14.64)]),
    ],
)
def test_corners_of_a_transformed_rect(
    transform: str, rect: tuple[int, ...], corners: list[tuple[float, float]]
) -> None:
    # resvg test suite, structure/transform (github.com/linebender/resvg, 08c79a3, MIT or Apache-2.0), which draws the
    # expected corners as a second path. One px is 25.4 / 96 mm. Figures have at least two decimals.
    x, y, width, height = rect
    data = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 200">'
        f'<rect id="r" x="{x}" y="{y}" width="{width}" height="{height}" transform="{transform}"/></svg>'
    )
    curve = read_drawing(data.encode(), "r.svg").pattern.pieces[0].curve
    nodes = curve[: len(corners), 0] * (96.0 / 25.4)
    assert np.allclose(nodes, corners, rtol=0.0, atol=0.01)
