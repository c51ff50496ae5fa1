"""Numbers and curves written as SVG: read back they are what was meant, to the promised step."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svgpathtools import CubicBezier, Line, parse_path

from scallopkit.document.numbers import decimal, decimals, path_text, places_for
from scallopkit.errors import OutputError
from scallopkit.geometry.cubics import Array, lines
from scallopkit.geometry.motion import apply, turned

# SVG 2 asks for digits after a point, and no point needs to be there: https://www.w3.org/TR/SVG2/paths.html#PathDataBNF
CLEAN = re.compile(r"-?(0|[1-9]\d*)(\.\d*[1-9])?")


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (0.0, 5, "0"),
        (-0.0, 5, "0"),
        (-1e-9, 5, "0"),
        (-1e-9, 0, "0"),
        (100.0, 5, "100"),
        (100.0, 0, "100"),
        (-120.0, 0, "-120"),
        (23.0, 1, "23"),
        (0.1 + 0.2, 5, "0.3"),
        (12.870000000000001, 5, "12.87"),
        (10.05, 3, "10.05"),
        (1e-5, 5, "0.00001"),
        (-1e-5, 5, "-0.00001"),
        (1e20, 2, "100000000000000000000"),
    ],
)
def test_decimal(value: float, places: int, text: str) -> None:
    assert decimal(value, places) == text


@given(st.lists(st.floats(-1e9, 1e9), max_size=8), st.integers(0, 9))
@settings(max_examples=300, deadline=None)
def test_decimals_are_clean_and_near(values: list[float], places: int) -> None:
    texts = decimals(np.array(values), places)
    assert len(texts) == len(values)
    for value, text in zip(values, texts, strict=True):
        assert CLEAN.fullmatch(text)
        assert text != "-0"
        # Half a step, and the rounding of the two floats.
        assert abs(float(text) - value) <= 0.5 * 10.0**-places + 4e-16 * abs(value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_not_written(value: float) -> None:
    with pytest.raises(OutputError, match="not a number"):
        decimal(value, 3)


@pytest.mark.parametrize(
    ("unit_mm", "places"), [(1.0, 5), (1.0 + 1e-9, 5), (25.4 / 96.0, 5), (10.0, 6), (25.4, 7), (0.01, 3), (1e-7, 0)]
)
def test_places(unit_mm: float, places: int) -> None:
    assert places_for(unit_mm) == places


@given(st.floats(1e-6, 1e4))
@settings(max_examples=200, deadline=None)
def test_places_keep_the_step_and_no_more(unit_mm: float) -> None:
    places = places_for(unit_mm)
    # The relative slack is that of the logarithm's rounding.
    assert unit_mm * 10.0**-places <= 1e-5 * (1.0 + 1e-8)
    assert places == 0 or unit_mm * 10.0 ** (1 - places) > 1e-5


@pytest.mark.parametrize("unit_mm", [0.0, -1.0, math.nan, math.inf])
def test_unit_that_is_no_length(unit_mm: float) -> None:
    with pytest.raises(OutputError, match="user unit"):
        places_for(unit_mm)


def test_path_of_lines_and_a_cubic() -> None:
    curve = np.concatenate([lines([[0, 0], [10, 0]]), [[[10, 0], [10, 5.5], [4, 6], [0, 6]]]])
    assert path_text(curve, 3) == "M 0,0 L 10,0 C 10,5.5 4,6 0,6"


def test_closed_paths_end_in_z() -> None:
    square = lines([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]])
    assert path_text(square, 3, closed=True) == "M 0,0 L 1,0 L 1,1 L 0,1 Z"
    assert path_text(square[:3], 3, closed=True) == "M 0,0 L 1,0 L 1,1 L 0,1 Z"
    lens = np.array([[[0, 0], [1, 1], [2, 1], [3, 0]], [[3, 0], [2, -1], [1, -1], [0, 0]]], dtype=float)
    assert path_text(lens, 3, closed=True) == "M 0,0 C 1,1 2,1 3,0 C 2,-1 1,-1 0,0 Z"


def test_turned_lines_stay_lines_and_uneven_ones_stay_cubics() -> None:
    corner = apply(turned(0.3, (700.0, 90.0)), lines([[0, 0], [300, 0], [300, 71]]))
    assert path_text(corner, 5).count("L") == 2
    uneven = np.array([[[0, 0], [0, 0], [3, 0], [3, 0]]], dtype=float)
    assert path_text(uneven, 5) == "M 0,0 C 0,0 3,0 3,0"


COORDINATE = st.floats(-5000.0, 5000.0)


@given(st.lists(st.tuples(*[COORDINATE] * 6), min_size=1, max_size=5), st.integers(3, 7))
@settings(max_examples=150, deadline=None)
def test_written_cubics_are_read_back_by_another_reader(segments: list[tuple[float, ...]], places: int) -> None:
    ends: Array = np.array(segments).reshape(-1, 3, 2)
    curve = np.concatenate([np.roll(ends[:, 2:], 1, axis=0), ends], axis=1)
    read = parse_path(path_text(curve, places))
    assert len(read) == len(curve)
    for segment, control in zip(read, curve, strict=True):
        assert isinstance(segment, CubicBezier | Line)
        if isinstance(segment, CubicBezier):
            points = np.array([[p.real, p.imag] for p in segment.bpoints()])
            # Half a step, and the rounding of floats of this size.
            assert np.abs(points - control).max() <= 0.5 * 10.0**-places + 1e-11
