"""Barrels against layers of cloth, and cords through openings."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.setting import MOST_PASSES, ROLLED, barrel_for, packing, refuse_thick_cord
from scallopkit.errors import NoFitError, RequestError


@pytest.mark.parametrize(
    ("layers", "length", "short", "long"),
    [(2, 3.0, False, False), (3, 3.0, True, False), (4, 4.0, False, False), (1, 4.0, False, True)],
)
def test_a_barrel_reaches_2_mm_beyond_the_layers(layers: int, length: float, short: bool, long: bool) -> None:
    made = barrel_for(layers, 0.5, length)
    assert made.fits == layers * 0.5 + ROLLED
    assert (made.short, made.long) == (short, long)


def test_what_is_no_cloth_is_refused() -> None:
    for wrong in ((0, 0.5, 4.0), (2, 0.0, 4.0), (2, math.nan, 4.0), (2, 0.5, math.inf)):
        with pytest.raises(RequestError):
            barrel_for(*wrong)


@given(st.floats(0.5, 20.0), st.integers(1, MOST_PASSES), st.floats(0.5, 40.0))
def test_what_is_refused_says_what_would_work(cord: float, passes: int, opening: float) -> None:
    try:
        refuse_thick_cord(cord, passes, opening)
    except NoFitError as error:
        words = str(error).split()
        least, most = (float(words[words.index(word) + n].rstrip(",")) for word, n in (("take", 4), ("most", 1)))
        assert least > opening
        refuse_thick_cord(cord, passes, least)
        if most > 0.0:
            refuse_thick_cord(most, passes, opening)
    else:
        assert packing(passes) * cord <= opening * (1.0 + 1e-8)


@pytest.mark.parametrize(
    ("cords", "closed", "published"),
    [
        (1, 1.0, "1"),
        (2, 2.0, "2"),
        (3, 1.0 + 2.0 / math.sqrt(3.0), "2.154"),
        (4, 1.0 + math.sqrt(2.0), "2.414"),
        (5, 1.0 + math.sqrt(2.0 * (1.0 + 1.0 / math.sqrt(5.0))), "2.701"),
        (6, 3.0, "3"),
        (7, 3.0, "3"),
        (8, 1.0 + 1.0 / math.sin(math.pi / 7.0), "3.304"),
        (9, 1.0 + math.sqrt(2.0 * (2.0 + math.sqrt(2.0))), "3.613"),
    ],
)
def test_cords_side_by_side_take_the_published_circle(cords: int, closed: float, published: str) -> None:
    # https://en.wikipedia.org/wiki/Circle_packing_in_a_circle: radii round unit circles, their digits cut off; five to
    # seven after Graham (1968), eight and nine after Pirl (1969).
    assert packing(cords) == pytest.approx(closed, rel=1e-12)
    assert f"{packing(cords) + 1e-9:.6f}".startswith(published)


@pytest.mark.parametrize("cords", [0, -1, MOST_PASSES + 1])
def test_passes_beyond_the_table_are_refused(cords: int) -> None:
    with pytest.raises(RequestError, match=f"1 to {MOST_PASSES}"):
        packing(cords)
