"""What is seen of a cord: all of each run, parted at the edges, whatever these do."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.construction.as_worn import facing_rows
from scallopkit.construction.cord_seen import END, ends, strokes
from scallopkit.construction.lacing import CROSSED, RUNNING, STRAIGHT, WRAPPED, cords_of
from scallopkit.geometry.cubics import norm

from .test_as_worn import row


@given(
    path=st.sampled_from([CROSSED, STRAIGHT]),
    gap=st.floats(0.0, 60.0),
    bulge=st.floats(-15.0, 25.0),
    inset=st.floats(0.0, 15.0),
)
def test_the_parts_of_a_run_make_it_up(path: str, gap: float, bulge: float, inset: float) -> None:
    """Edges may bulge over each other, and holes may stand on the edge or across the centre line."""
    rows = facing_rows(row(0.0, 25.0, 50.0, 75.0, 100.0, inset=inset, bulge=bulge), None, gap)
    (cord,) = cords_of(path, rows, 1, 0.0, 0.0)
    for leg, length in zip(cord.legs, cord.lengths, strict=True):
        parts = strokes(leg, rows)
        assert sum(float(norm(line[1] - line[0])) for line, _ in parts) == pytest.approx(length, abs=1e-9)
        for (one, face), (other, next_face) in pairwise(parts):
            assert one[1] == pytest.approx(other[0], abs=1e-9)
            assert face != next_face


def test_a_bar_is_seen_in_the_gap_only_and_a_slanting_run_from_the_edge_it_leaves() -> None:
    rows = facing_rows(row(0.0, 30.0), None, 20.0)
    (cord,) = cords_of(CROSSED, rows, 1, 0.0, 0.0)
    parts = [part for leg in cord.legs for part in strokes(leg, rows)]
    # 10 mm of cloth on either side of a gap of 20 mm.
    assert [face for _, face in parts] == ["under", "over", "under", "over", "under", "over", "under"]
    across = [abs(float(line[1, 0] - line[0, 0])) for line, _ in parts]
    assert across == pytest.approx([10.0, 30.0, 10.0, 20.0, 10.0, 30.0, 10.0])


def test_edges_that_meet_leave_no_gap_to_be_seen() -> None:
    rows = facing_rows(row(0.0, 30.0), None, 0.0)
    (cord,) = cords_of(CROSSED, rows, 1, 0.0, 0.0)
    assert [face for _, face in strokes(cord.legs[1], rows)] == ["under"]


@pytest.mark.parametrize("path", [RUNNING, WRAPPED])
def test_the_ends_of_a_cord_stand_out_at_its_first_and_last_hole(path: str) -> None:
    single = row(0.0, 25.0, 50.0)
    (cord,) = cords_of(path, (single,), 1, 0.0, 0.0)
    (first, came_out), (last, went_out) = ends(cord, (single,))
    # Through three holes in and out, and round the edge, the ends come out on different faces.
    assert {came_out, went_out} == {"over", "under"}
    assert np.stack([first[0], last[0]]) == pytest.approx(single.holes[[0, -1]])
    assert [float(norm(line[1] - line[0])) for line in (first, last)] == pytest.approx([END, END])
    assert (first[1, 1] > first[0, 1], last[1, 1] < last[0, 1]) == (True, True)
