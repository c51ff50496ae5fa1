"""Rows as worn: upright beside the centre line, their edges facing each other, whatever way they were drawn."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.as_worn import Row, beside_centre, facing_rows, overlap
from scallopkit.errors import RequestError
from scallopkit.geometry.cubics import lines, norm
from scallopkit.geometry.motion import compose, moved, turned

# Double precision on a sheet of metres.
EXACT = 1e-9


def row(*heights: float, inset: float = 10.0, hand: int = 1, bulge: float = 0.0) -> Row:
    """A row drawn upward; its edge lies `inset` beside it on the hand that is outside, and bulges half way up."""
    up = np.array(heights)
    out = bulge * np.sin(math.pi * (up - up[0]) / (up[-1] - up[0])) if len(up) > 1 else 0.0 * up
    holes = np.stack([-hand * out, -up], axis=1)
    feet = holes - np.array([hand * inset, 0.0])
    line = lines(feet) if len(up) > 1 else lines([feet[0], feet[0] - (0.0, 1.0)])
    return Row("row", holes, feet, line, hand, line[[0, -1], [0, 3]])


@given(
    angle=st.floats(0.0, 2.0 * math.pi),
    x=st.floats(-500.0, 500.0),
    gap=st.floats(0.0, 80.0),
    hand=st.sampled_from([1, -1]),
    bulge=st.floats(-20.0, 20.0),
)
def test_a_row_is_laid_by_a_rigid_motion(angle: float, x: float, gap: float, hand: int, bulge: float) -> None:
    drawn = row(0.0, 30.0, 55.0, 90.0, hand=hand, bulge=bulge)
    worn = beside_centre(drawn.carried(compose(moved(x, 2.0 * x), turned(angle))), gap)
    ends = worn.holes[[0, -1]]
    # The chord stands upright half the gap and the inset from the centre line, its foot level with y = 0.
    assert ends[:, 0] == pytest.approx([hand * (0.5 * gap + 10.0)] * 2, abs=EXACT)
    assert ends[:, 1] == pytest.approx([0.0, -90.0], abs=EXACT)
    assert worn.hand == hand
    # No distance has changed, and the edge lies towards the centre line.
    for a, b in ((0, 1), (1, 2), (0, 3)):
        assert norm(worn.holes[a] - worn.holes[b]) == pytest.approx(norm(drawn.holes[a] - drawn.holes[b]), abs=EXACT)
    assert (hand * (worn.holes - worn.feet)[:, 0]).min() > 9.9
    assert worn.feet[[0, -1], 0] == pytest.approx([hand * 0.5 * gap] * 2, abs=EXACT)


@given(angle=st.floats(0.0, 2.0 * math.pi), back=st.booleans(), bulge=st.floats(-8.0, 8.0))
def test_two_edges_face_each_other_however_the_second_was_walked(angle: float, back: bool, bulge: float) -> None:
    left, right = row(0.0, 20.0, 50.0, hand=-1, bulge=bulge), row(0.0, 20.0, 50.0, hand=1, bulge=bulge)
    second = (right.walked_back if back else right).carried(turned(angle))
    first, other = facing_rows(left, second, 30.0)
    assert other.holes == pytest.approx(first.holes * (-1.0, 1.0), abs=EXACT)
    mirrored = facing_rows(left, None, 30.0)[1]
    assert mirrored.holes == pytest.approx(other.holes, abs=EXACT)
    assert mirrored.hand == other.hand == -first.hand


def test_bulging_edges_reach_over_each_other_by_what_is_measured() -> None:
    # 12 mm of bulge each, 20 mm of gap between the ends: 2 mm over the centre line on either side.
    bulging = row(0.0, 50.0, 100.0, hand=1, bulge=12.0)
    assert overlap(*facing_rows(bulging, None, 20.0)) == pytest.approx(2.0, abs=EXACT)
    assert overlap(*facing_rows(bulging, None, 30.0)) == 0.0
    assert overlap(*facing_rows(row(0.0, 50.0, hand=1), None, 0.0)) == pytest.approx(0.0, abs=EXACT)


def test_a_single_hole_has_no_direction() -> None:
    with pytest.raises(RequestError, match=r'"row" has 1 hole and no direction.*2 eyelets or more'):
        beside_centre(row(0.0), 20.0)
