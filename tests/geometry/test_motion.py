from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.geometry import motion

COORDINATE = st.floats(-500.0, 500.0)


@given(st.floats(-3.0, 3.0), COORDINATE, COORDINATE, st.integers(-4, 4))
def test_a_map_done_several_times_is_its_power(angle: float, x: float, y: float, times: int) -> None:
    once = motion.compose(motion.moved(x, y), motion.turned(angle))
    many = motion.IDENTITY
    for _ in range(abs(times)):
        many = motion.compose(once, many)
    expected = many if times >= 0 else motion.inverse(many)
    np.testing.assert_allclose(motion.power(once, times), expected, atol=1e-8)


@given(st.floats(-3.0, 3.0), COORDINATE, COORDINATE)
def test_a_mirror_keeps_its_line_and_turns_over_what_stands_square_to_it(angle: float, x: float, y: float) -> None:
    place, along = np.array([x, y]), np.array([math.cos(angle), math.sin(angle)])
    mirror = motion.mirrored(place, along)
    square = np.array([-along[1], along[0]])
    np.testing.assert_allclose(motion.apply(mirror, place + 30.0 * along), place + 30.0 * along, atol=1e-9)
    np.testing.assert_allclose(motion.apply(mirror, place + 30.0 * square), place - 30.0 * square, atol=1e-9)
