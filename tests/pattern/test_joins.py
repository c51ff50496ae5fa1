"""Joins that can't be are refused: what is wrong, where, and what to do."""

from __future__ import annotations

import pytest

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.joins import DART, Join, Meeting, meeting
from scallopkit.pattern.piece import Mark

from ..shapes import pattern, piece, rectangle

CLOTH = rectangle(200, 90)


def dart(outline: Array, first: str, second: str, apex: tuple[float, float], closed: bool = True) -> Meeting:
    drawn = pattern(piece("p", outline, closed), marks=(Mark("in", 90, 0), Mark("out", 110, 0)))
    return meeting(find_edge(drawn, first), find_edge(drawn, second), Join(DART, apex=apex))


@pytest.mark.parametrize(
    ("outline", "first", "second"),
    [
        (CLOTH, "p:c0..in", "p:out..c1"),
        (CLOTH, "p:c1..out", "p:in..c0"),
        (cubics.reverse(CLOTH), "p:c0..in", "p:out..c3"),
        (cubics.reverse(CLOTH), "p:c3..out", "p:in..c0"),
    ],
)
def test_an_apex_on_the_wrong_side_of_the_edge_is_refused(outline: Array, first: str, second: str) -> None:
    assert dart(outline, first, second, (100.0, 60.0)).apex == pytest.approx((100.0, 60.0))
    with pytest.raises(
        RequestError, match=r'lies 60\.0 mm outside the cloth of "p": move it to the other side'
    ) as told:
        dart(outline, first, second, (100.0, -60.0))
    assert f'of "{first}" and the start' in str(told.value)


def test_an_apex_in_the_cloth_beside_a_hollow_edge_is_taken() -> None:
    # Beyond the line between the legs' ends, but the cloth goes up there.
    hollow = cubics.lines([(0, 0), (90, 80), (110, 84), (200, 0), (200, 150), (0, 150), (0, 0)])
    assert dart(hollow, "p:c0..c1", "p:c2..c3", (20.0, 60.0)).apex == pytest.approx((20.0, 60.0))


def test_the_apex_of_a_dart_whose_cloth_is_cut_away_is_taken() -> None:
    cut_out = cubics.lines([(0, 0), (90, 0), (100, 60), (110, 0), (200, 0), (200, 90), (0, 90), (0, 0)])
    assert dart(cut_out, "p:c0..c1", "p:c3..c4", (100.0, 60.0)).apex == pytest.approx((100.0, 60.0))


def test_an_open_line_has_no_wrong_side() -> None:
    line = cubics.lines([(0, 0), (200, 0)])
    for y in (60.0, -60.0):
        assert dart(line, "p:start..in", "p:out..end", (100.0, y), closed=False).apex == pytest.approx((100.0, y))
