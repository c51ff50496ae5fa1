from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.trim.course import CREST, VALLEY, Course, Span, Stop, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.letting import change
from scallopkit.trim.shape import Shape

from ..shapes import circle, course, valley_ends, wavy_lines

SHAPE = Shape("arc", "share", 0.4)


def span_of(c: Course, start: str = VALLEY, end: str = VALLEY) -> Span:
    return Span(Stop("start", 0.0, start), Stop("end", c.measured.length, end))


def test_a_straight_edge_grows_by_what_is_missing() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    made = change(c, span_of(c), 4.0, 26.0, Wish(SHAPE), (False, True))
    assert made is not None
    assert [made.start, made.end] == pytest.approx([0.0, 4.0], abs=1e-7)
    both = change(c, span_of(c), 4.0, 24.0, Wish(SHAPE), (True, True))
    assert both is not None
    assert [both.start, both.end] == pytest.approx([-2.0, -2.0], abs=1e-7)
    half = change(c, span_of(c, CREST), 3.5, 30.0, Wish(SHAPE), (False, True))
    assert half is not None
    assert half.end == pytest.approx(5.0, abs=1e-7)
    spaced = change(c, span_of(c), 4.0, 24.0, Wish(SHAPE, space=2.0), (False, True))
    assert spaced is not None
    assert spaced.end == pytest.approx(4 * 24 + 3 * 2 - 100, abs=1e-7)


def test_an_arc_is_taken_in_along_itself_and_let_out_straight() -> None:
    radius, angle = 200.0, 1.2
    whole = measure(circle(radius))
    c = Course(measure(whole.part(0.0, radius * angle)), False, 1)
    width = 2.0 * radius * math.sin(0.5 * (angle - 0.1) / 7)
    made = change(c, span_of(c), 7.0, width, Wish(SHAPE), (False, True))
    assert made is not None
    assert made.end == pytest.approx(-0.1 * radius, abs=1e-5)  # 7 widths, each right to 1e-9


def test_where_nothing_may_move_nothing_is_said() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    assert change(c, span_of(c), 4.0, 26.0, Wish(SHAPE), (False, False)) is None


def longer(curve: Array, by: float) -> Array:
    _, arriving = cubics.ends_direction(curve)
    if by < 0.0:
        m = measure(curve)
        return m.part(0.0, m.length + by)
    return np.concatenate([curve, cubics.lines([curve[-1, 3], curve[-1, 3] + by * arriving])])


@given(wavy_lines(), st.integers(3, 9), st.floats(0.9, 1.1))
@settings(max_examples=40)
def test_the_altered_edge_holds_just_the_width(curve: Array, count: int, share: float) -> None:
    c = course(curve)
    wish = Wish(SHAPE, count=float(count))
    before = fit(c, valley_ends(c), wish)
    width = share * before.widths[0]
    made = change(c, span_of(c), float(count), width, Wish(SHAPE), (False, True))
    assume(made is not None)
    assert made is not None
    altered = course(longer(curve, made.end))
    assert fit(altered, valley_ends(altered), wish).widths[0] == pytest.approx(width, rel=1e-8)
