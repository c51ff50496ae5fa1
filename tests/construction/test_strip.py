"""Straight strips pieced at crests, and bands as long as the line they bind."""

from __future__ import annotations

import math

import pytest

from scallopkit.construction.strip import band_length, strip_facing
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError
from tests.drawings import read


@pytest.mark.parametrize(
    ("longest", "pieces"),
    [
        (500.0, [400.0]),
        (400.0, [400.0]),
        # Scallops of 20 mm: crests at 10, 30, … 390. Halves would join at 200, a valley.
        (399.0, [190.0, 210.0]),
        (150.0, [130.0, 140.0, 130.0]),
        (20.0, [10.0, *[20.0] * 19, 10.0]),
    ],
)
def test_a_strip_is_joined_at_crests(longest: float, pieces: list[float]) -> None:
    strip = strip_facing(400.0, 30.0, [20.0 * k + 10.0 for k in range(20)], longest)
    assert strip.pieces == pytest.approx(pieces, abs=1e-9)
    assert (strip.length, strip.depth) == (400.0, 30.0)
    assert all(abs(join / 10.0 % 2.0 - 1.0) < 1e-9 for join in strip.joins)


def test_strips_too_short_to_reach_from_crest_to_crest() -> None:
    with pytest.raises(RequestError, match=r"20\.0 mm apart"):
        strip_facing(400.0, 30.0, [20.0 * k + 10.0 for k in range(20)], 19.0)
    for numbers in ((0.0, 30.0, 100.0), (400.0, -1.0, 100.0), (400.0, 30.0, 0.0)):
        with pytest.raises(RequestError, match="above 0"):
            strip_facing(numbers[0], numbers[1], [], numbers[2])


def test_a_binding_follows_the_scallops_and_what_lies_between_them() -> None:
    run = scallop(read('<path id="hem" d="M 10,20 H 310"/>'), "hem", count=10, depth="50%", space=5)
    # Half circles of the width that ten of them and nine spaces leave.
    w = (300.0 - 9 * 5.0) / 10
    assert band_length(run.line) == pytest.approx(10 * 0.5 * math.pi * w + 45.0, rel=1e-9)
