"""Straight strips pieced at crests, and bands as long as the line they bind."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.strip import Cloth, band_length, band_pieces, ease, strip_facing
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
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
    strip = strip_facing(400.0, 30.0, [20.0 * k + 10.0 for k in range(20)], Cloth(longest))
    assert strip.pieces == pytest.approx(pieces, abs=1e-9)
    assert (strip.length, strip.depth) == (400.0, 30.0)
    assert all(abs(join / 10.0 % 2.0 - 1.0) < 1e-9 for join in strip.joins)


def test_strips_too_short_to_reach_from_crest_to_crest() -> None:
    with pytest.raises(RequestError, match=r"20\.0 mm apart"):
        strip_facing(400.0, 30.0, [20.0 * k + 10.0 for k in range(20)], Cloth(19.0))
    for numbers in ((0.0, 30.0, 100.0), (400.0, -1.0, 100.0), (400.0, 30.0, 0.0)):
        with pytest.raises(RequestError, match="above 0"):
            strip_facing(numbers[0], numbers[1], [], Cloth(numbers[2]))


def test_a_binding_follows_the_scallops_and_what_lies_between_them() -> None:
    run = scallop(read('<path id="hem" d="M 10,20 H 310"/>'), "hem", count=10, depth="50%", space=5)
    # Half circles of the width that ten of them and nine spaces leave.
    w = (300.0 - 9 * 5.0) / 10
    assert band_length(run.line) == pytest.approx(10 * 0.5 * math.pi * w + 45.0, rel=1e-9)


@pytest.mark.parametrize(
    ("ends", "longest", "pieces"),
    [
        # As cut: 400 + 2 x 15.
        ((15.0, 15.0), 430.0, [400.0]),
        ((15.0, 15.0), 429.0, [190.0, 210.0]),
        # On a fold twice as long, with the allowance of its other end on both.
        ((None, 15.0), 830.0, [400.0]),
        ((None, 15.0), 829.0, [130.0, 270.0]),
        # The opened piece of 140 is 2 x (130 + 15) long, the other one 240 + 2 x 15 = 270 + 30.
        ((None, 15.0), 300.0, [130.0, 270.0]),
        # Between two folds one piece has a seam at the second.
        ((None, None), 830.0, [400.0]),
        ((None, None), 829.0, [190.0, 210.0]),
    ],
)
def test_no_piece_of_a_strip_is_cut_longer_than_the_cloth(
    ends: tuple[float | None, float | None], longest: float, pieces: list[float]
) -> None:
    strip = strip_facing(400.0, 30.0, [20.0 * k + 10.0 for k in range(20)], Cloth(longest, 15.0, ends))
    assert strip.pieces == pytest.approx(pieces, abs=1e-9)


@given(st.floats(100.0, 5000.0), st.floats(60.0, 900.0), st.booleans(), st.booleans())
def test_no_piece_of_a_band_is_cut_longer_than_the_cloth(
    length: float, longest: float, first: bool, last: bool
) -> None:
    pieces = band_pieces(length, Cloth(longest, 10.0, (None if first else 0.0, None if last else 0.0)))
    assert sum(pieces) == pytest.approx(length)
    n = len(pieces)
    for k, piece in enumerate(pieces):
        folds = (first and k == 0) + (last and k == n - 1)
        seams = (k > 0) + (k < n - 1) + (folds == 2)
        assert (piece + 10.0 * seams) * (2 if folds else 1) <= longest * (1.0 + 1e-6)
    # One less would not do: its pieces would hold no more than this.
    assert n == 1 or length > (n - 1) * longest - 20.0 * n - (first + last) * longest


def test_bands_that_would_be_all_allowance() -> None:
    with pytest.raises(RequestError, match="all allowance"):
        band_pieces(500.0, Cloth(20.0, 10.0))


def test_a_straight_strip_on_a_round_edge() -> None:
    """Of a circle of 100 mm radius at a depth of 20 mm: 100 / 80 on a bulge, 100 / 120 on a hollow."""
    curve = ellipse_arc((0.0, 0.0), (100.0, 100.0), 0.0, 0.0, math.pi, 1e-6)
    # It turns to the right, so the cloth of a disc lies there.
    assert ease(curve, 20.0, -1)[0] == pytest.approx(100.0 / 80.0 - 1.0, abs=1e-3)
    assert ease(curve, 20.0, 1)[0] == pytest.approx(100.0 / 120.0 - 1.0, abs=1e-3)
    assert ease(curve, 100.0, -1)[0] == math.inf
    assert ease(cubics.lines([(0, 0), (300, 0)]), 20.0, 1)[0] == 0.0


def test_a_binding_follows_the_edge_where_a_gap_leaves_it_bare() -> None:
    run = scallop(
        read('<path id="hem" d="M 10,20 H 310"/>'), "hem", count=8, depth="50%", start="gap:40mm", end="gap:20mm"
    )
    assert band_length(run.line) == pytest.approx(8 * 0.5 * math.pi * 30.0 + 60.0, rel=1e-9)
