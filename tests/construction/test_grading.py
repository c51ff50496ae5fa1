"""Graded allowances: widest outside, stepping in, never below what holds, never too wide for the curve."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.grading import Layer, graded
from scallopkit.errors import RequestError

FACED = ("cloth", "interlining", "facing")


def test_three_layers_of_a_faced_edge() -> None:
    made = graded(FACED, 15.0)
    assert made.layers == (Layer("cloth", 6.0), Layer("interlining", 4.5), Layer("facing", 3.0))
    assert not made.tight


def test_by_default_allowances_lie_between_an_eighth_and_a_quarter_of_an_inch() -> None:
    """1/8 to 1/4 inch (Apparel, g-w online textbooks, 2012, p. 451-452), to half a millimetre."""
    widths = [layer.allowance for layer in graded(FACED, math.inf).layers]
    assert widths[0] == pytest.approx(25.4 / 4.0, abs=0.5)
    assert widths[-1] == pytest.approx(25.4 / 8.0, abs=0.5)


@pytest.mark.parametrize(
    ("radius", "widths", "tight"),
    [
        (12.0, (6.0, 4.5, 3.0), False),
        (10.0, (5.0, 3.5, 3.0), False),
        (6.0, (3.0, 3.0, 3.0), False),
        (8.5, (4.2, 3.0, 3.0), False),
        (5.99, (2.9, 2.9, 2.9), True),
        (4.0, (2.0, 2.0, 2.0), True),
    ],
)
def test_small_curves_take_narrower_ones(radius: float, widths: tuple[float, ...], tight: bool) -> None:
    made = graded(FACED, radius)
    assert tuple(layer.allowance for layer in made.layers) == pytest.approx(widths)
    assert made.tight == tight


@given(st.integers(1, 6), st.floats(0.5, 60.0), st.floats(1.0, 5.0), st.floats(0.2, 6.0), st.floats(0.0, 3.0))
def test_graded_layers(count: int, radius: float, least: float, widest: float, step: float) -> None:
    names = [f"layer {k}" for k in range(count)]
    made = graded(names, radius, least, widest, step)
    widths = [layer.allowance for layer in made.layers]
    assert [layer.name for layer in made.layers] == names
    assert all(float(f"{width:.1f}") == width for width in widths)
    most = min(widest, 0.5 * radius)
    assert 0.0 <= most - widths[0] + 1e-6 < 0.1 + 2e-6
    assert widths[0] == max(widths)
    assert made.tight == (most < least)
    assert min(widths) > min(least, most) - 0.1 - 1e-6
    # A whole step, or as much as is left above the least, to 0.1 mm.
    for k, inner in enumerate(widths):
        assert inner == pytest.approx(max(widths[0] - k * step, min(least, widths[0])), abs=0.1 + 1e-6)
    assert all(inner <= outer for outer, inner in pairwise(widths))


def test_no_layer_is_wider_than_the_allowance_when_it_is_clipped() -> None:
    assert [layer.allowance for layer in graded(FACED, math.inf, widest=2.54).layers] == [2.5, 2.5, 2.5]


@pytest.mark.parametrize(
    ("layers", "figures", "text"),
    [
        ((), {}, "no layers"),
        (FACED, {"radius": 0.0}, "radius of 0 mm"),
        (FACED, {"radius": math.nan}, "radius of nan mm"),
        (FACED, {"least": 0.0}, "from 6 mm down to 0 mm"),
        (FACED, {"widest": 0.0}, "from 0 mm down to 3 mm"),
        (FACED, {"step": -1.0}, "steps of -1 mm"),
    ],
)
def test_what_can_not_be_graded(layers: tuple[str, ...], figures: dict[str, float], text: str) -> None:
    with pytest.raises(RequestError, match=text):
        graded(layers, **{"radius": 15.0, **figures})
