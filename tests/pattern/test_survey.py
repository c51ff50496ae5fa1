"""What a drawing holds, against figures that are known beforehand."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings

from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.piece import Mark, Piece
from scallopkit.pattern.survey import SurveyedPiece, survey

from ..shapes import circle, pattern, piece, rectangle, wavy_lines


def surveyed(of: Piece, *marks: Mark) -> SurveyedPiece:
    (found,) = survey(pattern(of, marks=marks)).pieces
    return found


def test_a_rectangle() -> None:
    found = surveyed(Piece("box", ("box", "Front"), rectangle(300.0, 200.0), True))
    assert (found.name, found.names, found.closed) == ("box", ("box", "Front"), True)
    assert (found.width, found.height, found.length) == pytest.approx((300.0, 200.0, 1000.0), abs=1e-9)
    assert [c.name for c in found.corners] == ["c0", "c1", "c2", "c3"]
    assert [(c.x, c.y) for c in found.corners] == [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]
    assert [c.s for c in found.corners] == pytest.approx([0.0, 300.0, 500.0, 800.0], abs=1e-9)
    # Clockwise on the drawing as seen: to the right, which counts positive.
    assert [math.degrees(c.turn) for c in found.corners] == pytest.approx([90.0] * 4, abs=1e-9)
    assert [(e.start, e.end) for e in found.edges] == [("c0", "c1"), ("c1", "c2"), ("c2", "c3"), ("c3", "c0")]
    assert [e.length for e in found.edges] == pytest.approx([300.0, 200.0, 300.0, 200.0], abs=1e-9)


def test_walked_the_other_way_it_turns_to_the_left() -> None:
    found = surveyed(piece("box", cubics.reverse(rectangle(300.0, 200.0))))
    assert [math.degrees(c.turn) for c in found.corners] == pytest.approx([-90.0] * 4, abs=1e-9)


def test_a_circle_has_no_corners_and_no_edges() -> None:
    found = surveyed(piece("ring", circle(50.0)))
    assert found.length == pytest.approx(100.0 * math.pi, rel=1e-9)
    assert (found.width, found.height) == pytest.approx((100.0, 100.0), abs=1e-7)
    assert (found.corners, found.edges) == ((), ())


def test_a_drop_with_one_corner_has_one_edge_all_the_way_round() -> None:
    drop = surveyed(piece("drop", np.array([[(0.0, 0.0), (90.0, 60.0), (-90.0, 60.0), (0.0, 0.0)]])))
    assert [(e.start, e.end) for e in drop.edges] == [("c0", "c0")]
    assert drop.edges[0].length == drop.length > 100.0


def test_an_open_line_is_parted_by_its_corners_and_ends() -> None:
    found = surveyed(piece("line", cubics.lines([(0, 0), (100, 0), (100, 50)]), closed=False))
    assert [c.name for c in found.corners] == ["c0"]
    assert [(e.start, e.end) for e in found.edges] == [("start", "c0"), ("c0", "end")]
    assert [e.length for e in found.edges] == pytest.approx([100.0, 50.0], abs=1e-9)


def test_a_straight_line_has_no_area_but_one_edge() -> None:
    found = surveyed(piece("line", cubics.lines([(0, 7), (100, 7)]), closed=False))
    assert (found.width, found.height) == (100.0, 0.0)
    assert [(e.start, e.end) for e in found.edges] == [("start", "end")]
    assert found.edges[0].length == pytest.approx(100.0, abs=1e-9)


def test_marks_with_their_lengths_and_corners() -> None:
    box = piece("box", rectangle(300.0, 200.0))
    found = surveyed(box, Mark("side", 302.0, 50.0), Mark("hem", 0.5, 199.5), Mark("far", 150.0, 100.0))
    assert [m.name for m in found.marks] == ["side", "hem"]
    side, hem = found.marks
    assert (side.x, side.y, side.s, side.distance) == pytest.approx((300.0, 50.0, 350.0, 2.0), abs=1e-9)
    assert side.corner is None
    assert (hem.x, hem.y, hem.s) == pytest.approx((0.0, 200.0, 800.0), abs=1e-9)
    assert hem.corner == "c3"
    # The distance told is that to the outline, not to the corner.
    assert hem.distance == pytest.approx(0.5, abs=1e-9)


def test_a_mark_on_the_first_point_lies_at_nought() -> None:
    ring = piece("ring", circle(50.0))
    (mark,) = surveyed(ring, Mark("m", 50.0, 0.0)).marks
    assert min(mark.s, abs(mark.s - 100.0 * math.pi)) == pytest.approx(0.0, abs=1e-5)


def test_pieces_stand_in_order_and_strays_are_warnings() -> None:
    found = survey(pattern(piece("b", circle(5.0)), piece("a", circle(6.0)), marks=(Mark("lost", 99.0, 0.0),)))
    assert [p.name for p in found.pieces] == ["b", "a"]
    assert [w.code for w in found.warnings] == ["stray-mark"]
    assert survey(pattern()).pieces == ()


@given(wavy_lines())
@settings(max_examples=50, deadline=None)
def test_edges_add_up_and_corners_lie_on_the_outline(curve: Array) -> None:
    found = surveyed(piece("wavy", curve, closed=False))
    assert sum(e.length for e in found.edges) == pytest.approx(found.length, rel=1e-9)
    assert len(found.edges) == len(found.corners) + 1
    assert {(c.x, c.y) for c in found.corners} <= {tuple(node) for node in curve[1:, 0].tolist()}
    assert [c.s for c in found.corners] == sorted(c.s for c in found.corners)
    flat = cubics.flatten(curve, 1e-3)
    # A polyline within a thousandth of a millimetre: its box is smaller by no more, its length by 1e-4 of itself.
    assert flat[:, 1].max() - flat[:, 1].min() == pytest.approx(found.height, abs=2.1e-3)
    polyline = sum(math.dist(a, b) for a, b in pairwise(flat))
    assert polyline <= found.length * (1.0 + 1e-12)
    assert polyline == pytest.approx(found.length, rel=1e-3)


def test_edges_that_are_sewn_together_are_found() -> None:
    one, other = rectangle(300.0, 200.0), rectangle(240.0, 200.0) + np.array([500.0, 0.0])
    marks = (Mark("arm", 300.0, 0.0), Mark("hem", 300.0, 200.0), Mark("arm", 500.0, 0.0), Mark("hem", 500.0, 200.0))
    found = survey(pattern(piece("back", one), piece("front", other), marks=marks))
    assert [(j.kind, j.first, j.second) for j in found.joins] == [("seam", "back:arm..hem", "front:arm..hem")]
    assert survey(pattern(piece("back", one))).joins == ()


def test_a_mark_within_the_box_of_a_piece_may_still_be_a_stray() -> None:
    """Marks are sorted by the boxes around the pieces first; that must lose no stray, nor its namesake."""
    box = piece("box", rectangle(300.0, 200.0))
    marks = (Mark("m", 150.0, 100.0), Mark("m", 150.0, -2.9), Mark("n", 150.0, -3.1), Mark("o", -400.0, 0.0))
    found = survey(pattern(box, marks=marks))
    assert [(w.x, w.y) for w in found.warnings] == [(150.0, 100.0), (150.0, -3.1), (-400.0, 0.0)]
    (mark,) = found.pieces[0].marks
    assert mark.name == "m"
    assert mark.distance == pytest.approx(2.9)


def test_the_longer_way_round_is_named_by_a_mark_on_it() -> None:
    top = cubics.lines([(0.0, 0.0), (200.0, 0.0)])
    # Between its two corners at the top the outline is one smooth line.
    round_tip = np.array(
        [
            [[200.0, 0.0], [200.0, 100.0], [150.0, 150.0], [100.0, 150.0]],
            [[100.0, 150.0], [50.0, 150.0], [0.0, 100.0], [0.0, 0.0]],
        ]
    )
    flap = piece("flap", np.concatenate([top, round_tip]))
    assert [edge.name for edge in surveyed(flap).edges] == ["c0..c1", "c1..(put a mark here)..c0"]
    tip = Mark("tip", 100.0, 150.0)
    rim = surveyed(flap, tip).edges[1]
    assert rim.name == "c1..tip..c0"
    named = find_edge(pattern(flap, marks=(tip,)), f"flap:{rim.name}")
    assert named.measured.length == pytest.approx(rim.length)
