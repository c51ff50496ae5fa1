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
        (5.9, (3.0, 3.0, 3.0), True),
    ],
)
def test_small_curves_take_narrower_ones(radius: float, widths: tuple[float, ...], tight: bool) -> None:
    made = graded(FACED, radius)
    assert tuple(layer.allowance for layer in made.layers) == pytest.approx(widths)
    assert made.tight == tight


@given(st.integers(1, 6), st.floats(0.5, 60.0), st.floats(1.0, 5.0), st.floats(0.0, 6.0), st.floats(0.0, 3.0))
def test_graded_layers(count: int, radius: float, least: float, more: float, step: float) -> None:
    names = [f"layer {k}" for k in range(count)]
    made = graded(names, radius, least, least + more, step)
    widths = [layer.allowance for layer in made.layers]
    assert [layer.name for layer in made.layers] == names
    assert min(widths) >= least
    assert made.tight == (radius < 2.0 * least)
    assert made.tight or max(widths) <= 0.5 * radius + 1e-12
    assert widths[0] == max(widths) <= least + more
    # A whole step, or as much as is left above the least.
    for outer, inner in pairwise(widths):
        assert inner == pytest.approx(max(outer - step, least), abs=1e-9)


@pytest.mark.parametrize(
    ("layers", "figures", "text"),
    [
        ((), {}, "no layers"),
        (FACED, {"radius": 0.0}, "radius of 0 mm"),
        (FACED, {"radius": math.nan}, "radius of nan mm"),
        (FACED, {"least": 0.0}, "from 6 mm down to 0 mm"),
        (FACED, {"least": 7.0}, "from 6 mm down to 7 mm"),
        (FACED, {"step": -1.0}, "steps of -1 mm"),
    ],
)
def test_what_can_not_be_graded(layers: tuple[str, ...], figures: dict[str, float], text: str) -> None:
    with pytest.raises(RequestError, match=text):
        graded(layers, **{"radius": 15.0, **figures})
