"""Allowance-on outlines: the stitching line lies inside the cut, and ends on its neighbours' stitching lines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import area
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.net import net_edge
from scallopkit.pattern.piece import Mark

from ..shapes import circle, pattern, piece, rectangle


def test_a_rectangles_side_is_shorter_by_both_allowances() -> None:
    edge = find_edge(pattern(piece("p", rectangle(200.0, 80.0))), "p:c0..c1")
    net = net_edge(edge, 10.0, 15.0, 20.0)
    assert net.measured.length == pytest.approx(200.0 - 15.0 - 20.0, abs=1e-9)
    assert np.allclose(net.curve[0, 0], (15.0, 10.0), atol=1e-9)
    assert np.allclose(net.curve[-1, 3], (180.0, 10.0), atol=1e-9)


def test_an_edge_without_own_allowance_stays_on_the_cut() -> None:
    edge = find_edge(pattern(piece("p", rectangle(200.0, 80.0))), "p:c0..c1")
    net = net_edge(edge, 0.0, 15.0, 15.0)
    assert np.allclose(net.curve[:, :, 1], 0.0, atol=1e-9)
    assert net.measured.length == pytest.approx(170.0, abs=1e-9)


def test_a_slanting_corner_moves_the_end_along() -> None:
    # At an inner angle of 60 degrees both parallels meet d / sin 60 + d / tan 60 from the corner along the edge.
    triangle = cubics.lines([(0, 0), (200, 0), (100, 100 * math.sqrt(3)), (0, 0)])
    edge = find_edge(pattern(piece("t", triangle)), "t:c0..c1")
    net = net_edge(edge, 10.0, 10.0, 10.0)
    lost = 10.0 / math.sin(math.radians(60)) + 10.0 / math.tan(math.radians(60))
    assert net.measured.length == pytest.approx(200.0 - 2.0 * lost, abs=1e-6)


@pytest.mark.parametrize("name", ["p:c0..c1", "p:c1..c0", "p:c2..c1"])
def test_both_senses_lie_inside(name: str) -> None:
    outline = rectangle(200.0, 80.0)
    net = net_edge(find_edge(pattern(piece("p", outline)), name), 10.0, 10.0, 10.0)
    away = nearest(outline, net.curve[:, 0]).distance
    assert np.allclose(away, 10.0, atol=1e-6)
    middle = net.measured.points(np.array([0.5 * net.measured.length]))[0]
    assert 0.0 < middle[0] < 200.0
    assert 0.0 < middle[1] < 80.0


def test_a_whole_outline_shrinks_all_round() -> None:
    net = net_edge(find_edge(pattern(piece("r", circle(50.0))), "r"), 5.0, 5.0, 5.0)
    assert net.loop
    assert net.measured.length == pytest.approx(2.0 * math.pi * 45.0, rel=1e-4)
    square = net_edge(find_edge(pattern(piece("p", rectangle(100.0, 100.0))), "p"), 8.0, 8.0, 8.0)
    assert abs(area(square.curve)) == pytest.approx(84.0**2, abs=1e-3)
    assert [(spot.name, round(spot.s, 6)) for spot in square.corners] == [
        ("c0", 0.0),
        ("c1", 84.0),
        ("c2", 168.0),
        ("c3", 252.0),
    ]


def test_marks_move_to_the_stitching_line() -> None:
    marked = pattern(piece("p", rectangle(200.0, 80.0)), marks=(Mark("m", 120.0, 0.0),))
    net = net_edge(find_edge(marked, "p:c0..c1"), 10.0, 15.0, 15.0)
    assert {spot.name: round(spot.s, 6) for spot in net.spots}["m"] == 105.0


def test_a_piece_too_narrow_is_refused() -> None:
    edge = find_edge(pattern(piece("p", rectangle(200.0, 18.0))), "p:c0..c1")
    with pytest.raises(RequestError, match="allowance"):
        net_edge(edge, 10.0, 110.0, 110.0)
    whole = find_edge(pattern(piece("p", rectangle(200.0, 18.0))), "p")
    with pytest.raises(RequestError, match="narrow"):
        net_edge(whole, 10.0, 10.0, 10.0)
