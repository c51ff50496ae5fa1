"""Marks fall on the outlines near them, on corners they were meant for, and strays are told of."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.pattern.marks import AT_CORNER, REACH, SnappedMark, snap, stray_marks
from scallopkit.pattern.piece import Mark, Piece

from ..shapes import circle, pattern, piece, rectangle

BOX = piece("box", rectangle(300.0, 200.0))
LINE = piece("line", cubics.lines([(0, 0), (100, 0)]), closed=False)


def only(of: Piece, x: float, y: float) -> SnappedMark:
    (found,) = snap(of, (Mark("m", x, y),))
    return found


def place(of: Piece, found: SnappedMark) -> tuple[float, float]:
    x, y = cubics.point(of.curve, np.array([found.segment]), np.array([found.t]))[0]
    return float(x), float(y)


def test_a_mark_falls_square_onto_the_outline() -> None:
    found = only(BOX, 120.0, -2.5)
    assert place(BOX, found) == pytest.approx((120.0, 0.0), abs=1e-9)
    assert (found.name, found.corner) == ("m", None)
    assert found.distance == pytest.approx(2.5, abs=1e-9)


@given(st.floats(0.0, 6.283), st.floats(-REACH, REACH))
@settings(max_examples=50, deadline=None)
def test_on_a_circle_a_mark_falls_along_the_radius(angle: float, off: float) -> None:
    ring = piece("ring", circle(80.0))
    direction = np.array([np.cos(angle), np.sin(angle)])
    found = only(ring, *((80.0 + 0.999 * off) * direction))
    # The circle itself is drawn within 1e-9 mm; a nearest place is good to the square root of a rounding error.
    assert place(ring, found) == pytest.approx(tuple(80.0 * direction), abs=1e-5)
    assert found.distance == pytest.approx(0.999 * abs(off), abs=1e-8)


def test_how_near_a_mark_must_be() -> None:
    assert snap(BOX, (Mark("m", 120.0, REACH - 1e-6),))
    assert snap(BOX, (Mark("m", 120.0, REACH + 1e-6),)) == ()
    assert snap(BOX, (Mark("m", 120.0, 8.0),), reach=10.0)


@pytest.mark.parametrize(
    ("x", "y", "corner", "at"),
    [
        (0.6, 0.6, "c0", (0.0, 0.0)),
        (299.4, -0.5, "c1", (300.0, 0.0)),
        (300.0, 200.0, "c2", (300.0, 200.0)),
        (AT_CORNER, 0.0, "c0", (0.0, 0.0)),
        (AT_CORNER + 0.01, 0.0, None, (AT_CORNER + 0.01, 0.0)),
    ],
)
def test_a_mark_within_a_millimetre_of_a_corner_means_it(
    x: float, y: float, corner: str | None, at: tuple[float, float]
) -> None:
    found = only(BOX, x, y)
    assert found.corner == corner
    assert place(BOX, found) == pytest.approx(at, abs=1e-9)


def test_what_counts_is_the_mark_s_own_distance_from_the_corner() -> None:
    # 0.9 mm from both edges, but 1.27 mm from the corner where they meet.
    assert only(BOX, 0.9, 0.9).corner is None
    assert only(BOX, 0.7, 0.7).corner == "c0"


@pytest.mark.parametrize(
    ("x", "end", "at"), [(0.7, "start", 0.0), (-0.9, "start", 0.0), (99.5, "end", 100.0), (100.9, "end", 100.0)]
)
def test_a_mark_near_an_open_end_means_it(x: float, end: str, at: float) -> None:
    found = only(LINE, x, 0.2)
    assert found.corner == end
    assert place(LINE, found) == pytest.approx((at, 0.0), abs=1e-12)


def test_a_mark_beyond_an_open_end_belongs_to_it() -> None:
    found = only(LINE, 102.5, 0.0)
    assert found.corner is None
    assert found.distance == pytest.approx(2.5, abs=1e-9)
    assert place(LINE, found) == pytest.approx((100.0, 0.0), abs=1e-9)


def test_marks_keep_their_order_and_belong_to_every_outline_near() -> None:
    marks = (Mark("b", 50.0, 1.0), Mark("far", 50.0, 90.0), Mark("a", 20.0, -1.0))
    assert [found.name for found in snap(LINE, marks)] == ["b", "a"]
    assert [found.name for found in snap(BOX, marks)] == ["b", "a"]
    assert snap(LINE, ()) == ()


def test_strays_are_told_with_their_distance_and_place() -> None:
    marks = (Mark("near", 50.0, 2.9), Mark("lost", 50.0, 63.25))
    (warning,) = stray_marks(pattern(LINE, marks=marks))
    assert (warning.code, warning.piece, warning.x, warning.y) == ("stray-mark", None, 50.0, 63.25)
    assert '"lost" lies 63.2 mm from the nearest outline' in warning.message
    assert "within 3 mm" in warning.message


def test_a_mark_near_any_outline_is_no_stray() -> None:
    marks = (Mark("m", 150.0, 199.0),)
    assert stray_marks(pattern(LINE, BOX, marks=marks)) == ()
    assert len(stray_marks(pattern(LINE, marks=marks))) == 1
    assert stray_marks(pattern(LINE)) == ()


def test_where_there_is_no_outline_no_distance_to_one_is_told() -> None:
    told = stray_marks(pattern(marks=(Mark("m", 1.0, 2.0),)))
    assert not any("inf" in warning.message for warning in told)
