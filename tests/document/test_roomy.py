"""The roomiest place of a piece, where its label goes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.reader import read_drawing
from scallopkit.document.roomy import roomiest
from scallopkit.geometry.cubics import Array, flatten, lines
from scallopkit.geometry.motion import apply, compose, moved, turned

from ..shapes import circle, rectangle


def room(at: Array, *curves: Array) -> float:
    """How far a place is from the nearest of the lines, mm."""
    return float(min(shapely.LineString(flatten(curve, 1e-3)).distance(shapely.Point(at)) for curve in curves))


def test_the_middle_of_a_round_and_of_a_square() -> None:
    # To a hundredth of the size, as promised.
    assert roomiest(circle(100.0)) == pytest.approx((0.0, 0.0), abs=2.0)
    assert roomiest(rectangle(200, 200)) == pytest.approx((100.0, 100.0), abs=2.0)


def test_the_middle_of_a_piece_may_lie_outside_it() -> None:
    """An angle of two arms 60 mm wide has its room in the elbow, the middle of its box lies off the cloth."""
    angle = lines([(0, 0), (400, 0), (400, 60), (60, 60), (60, 400), (0, 400), (0, 0)])
    x, y = roomiest(angle)
    # The largest circle touches both outer sides and the inner corner: r = 60 (2 - sqrt 2).
    assert room(np.array([x, y]), angle) == pytest.approx(60.0 * (2.0 - math.sqrt(2.0)), abs=1.0)


def test_lines_within_are_kept_clear_of() -> None:
    box = rectangle(300, 200)
    across = lines([(100, -50), (100, 250)])
    at = roomiest(box, [across, lines([(5000, 0), (5000, 9)])])
    assert at == pytest.approx((200.0, 100.0), abs=3.0)


@pytest.mark.parametrize("width", [10.0, 30.0])
def test_a_narrow_strip_on_the_bias_has_its_label_inside(width: float) -> None:
    strip = apply(turned(0.8), rectangle(600, width))
    at = roomiest(strip)
    assert shapely.Polygon(flatten(strip, 1e-3)).contains(shapely.Point(at))
    assert room(at, strip) > 0.4 * width


@pytest.mark.parametrize("piece", ["back", "front"])
def test_no_place_is_much_roomier(piece: str) -> None:
    outline = next(p.curve for p in read_drawing(waistcoat().encode(), "w.svg").pattern.pieces if p.name == piece)
    circle_there = shapely.maximum_inscribed_circle(shapely.Polygon(flatten(outline, 0.01)), tolerance=0.1)
    # A hundredth of the piece's height.
    assert room(roomiest(outline), outline) > circle_there.length - 5.0


@given(turn=st.floats(0.0, 6.28), x=st.floats(-900, 900), size=st.floats(20, 900), share=st.floats(0.2, 1.0))
@settings(max_examples=30)
def test_it_lies_inside_wherever_the_piece_lies(turn: float, x: float, size: float, share: float) -> None:
    outline = apply(compose(moved(x, -x), turned(turn)), rectangle(size, share * size))
    assert room(roomiest(outline), outline) > 0.48 * share * size - 0.01 * size
