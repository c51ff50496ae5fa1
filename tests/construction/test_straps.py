"""Straps: what is cut for a finished size, and pieces that are joined at 45 degrees."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scallopkit.construction.straps import (
    BIAS,
    CORD,
    DOUBLE,
    FLAT,
    Making,
    cut_length,
    strap_folds,
    strap_outline,
    strap_pieces,
)
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics


@pytest.mark.parametrize(
    ("fold", "seam", "cut", "folds"),
    [
        (FLAT, 10.0, 50.0, ()),
        (DOUBLE, 10.0, 80.0, (40.0,)),
        # A binding whose edges are turned in to the middle is cut four times as wide as it is seen.
        (BIAS, 30.0, 120.0, (30.0, 60.0, 90.0)),
    ],
)
def test_cut_widths_and_where_they_are_folded(fold: str, seam: float, cut: float, folds: tuple[float, ...]) -> None:
    making = Making(fold, 30.0, seam, 10.0)
    assert making.cut_width == cut
    assert making.folds == folds
    (piece,) = strap_pieces(500.0, making)
    assert cut_length(500.0, making) == piece.cut == 520.0
    outline = strap_outline(piece, making)
    assert cubics.bounds(outline).tolist() == [[-10.0, 0.0], [510.0, cut]]
    assert [float(line[0, 0, 1]) for line in strap_folds(piece, making)] == list(folds)


def test_what_is_too_long_is_pieced() -> None:
    making = Making(DOUBLE, 20.0, 10.0, 10.0, join=6.0, longest=400.0)
    pieces = strap_pieces(900.0, making)
    assert [piece.joined for piece in pieces] == [(False, True), (True, True), (True, False)]
    assert sum(piece.number * piece.length for piece in pieces) == pytest.approx(900.0)
    # At a join a piece goes on by its allowance, slanting, and by half of the cut width of 60 mm.
    assert pieces[0].after == pytest.approx(6.0 * math.sqrt(2.0) + 30.0)
    assert all(piece.cut <= 400.0 for piece in pieces)
    assert len(strap_pieces(380.0, making)) == 1
    assert len(strap_pieces(380.1, making)) == 2


def test_more_pieces_between_are_alike() -> None:
    pieces = strap_pieces(2000.0, Making(FLAT, 20.0, 5.0, 10.0, longest=400.0))
    assert len(pieces) == 3
    assert pieces[1].number > 1


def test_what_can_t_be_cut_is_refused() -> None:
    with pytest.raises(RequestError, match="give lengths above 0"):
        strap_pieces(0.0, Making(FLAT, 20.0, 5.0, 10.0))
    with pytest.raises(RequestError, match="give lengths above 0"):
        strap_pieces(100.0, Making(FLAT, 0.0, 5.0, 10.0))
    with pytest.raises(RequestError, match="all allowance"):
        strap_pieces(500.0, Making(FLAT, 20.0, 5.0, 10.0, longest=40.0))
    assert strap_pieces(100.0, Making(CORD, 0.0, 0.0, 250.0))[0].cut == 600.0


@given(
    st.floats(200.0, 5000.0), st.floats(4.0, 60.0), st.sampled_from([FLAT, DOUBLE, BIAS]), st.floats(2.0, 12.0),
    st.floats(150.0, 900.0),
)  # fmt: skip
def test_joined_pieces_give_the_whole_strap(
    length: float, width: float, fold: str, join: float, longest: float
) -> None:
    making = Making(fold, width, 8.0, 10.0, join, longest)
    try:
        pieces = strap_pieces(length, making)
    except RequestError:
        # The allowances leave nothing of a piece.
        assume(False)
    assume(len(pieces) > 1)
    # Sewn on their slanting seams, which lie `join` inside the slanting cuts, they are as long as the strap.
    assert sum(piece.number * piece.length for piece in pieces) == pytest.approx(length)
    for piece in pieces:
        outline = strap_outline(piece, making)
        low, high = cubics.bounds(outline)
        assert high[0] - low[0] == pytest.approx(piece.cut)
        assert high[0] - low[0] <= longest + 1e-6
        if piece.joined[1]:
            seam = cubics.lines(
                [(piece.length - making.cut_width, -making.cut_width / 2.0), (piece.length, making.cut_width / 2.0)]
            )
            way = outline[1, 3] - outline[1, 0]
            assert way / np.hypot(*way) == pytest.approx((math.sqrt(0.5), math.sqrt(0.5)))
            normal = np.array([math.sqrt(0.5), -math.sqrt(0.5)])
            assert float((outline[1, 0] - seam[0, 3]) @ normal) == pytest.approx(join)
