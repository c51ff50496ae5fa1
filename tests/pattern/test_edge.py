from __future__ import annotations

import numpy as np
import pytest

from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics
from scallopkit.pattern.edge import begin_at, find_edge
from scallopkit.pattern.piece import Mark, Pattern

from ..shapes import circle, pattern, piece, rectangle

SHEET = piece("sheet", rectangle(100.0, 60.0))
HEM = piece("hem", cubics.lines([(0, 100), (80, 100)]), closed=False)


def both(*marks: Mark) -> Pattern:
    return pattern(SHEET, HEM, marks=marks)


def test_a_stretch_runs_the_shorter_way_in_the_order_named() -> None:
    edge = find_edge(both(), "sheet:c0..c1")
    assert edge.measured.length == pytest.approx(100.0)
    assert edge.curve[0, 0].tolist() == [0, 0]
    back = find_edge(both(), "sheet:c1..c0")
    assert back.curve[0, 0].tolist() == [100, 0]
    assert back.outside == -edge.outside
    # Through the outline's first point.
    assert find_edge(both(), "sheet:c3..c0..c1").measured.length == pytest.approx(160.0)


def test_the_outside_is_on_the_left_of_a_clockwise_outline() -> None:
    assert find_edge(both(), "sheet:c0..c1").outside == 1
    mirrored = piece("m", rectangle(-100.0, 60.0))
    assert find_edge(pattern(mirrored), "m:c0..c1").outside == -1
    assert find_edge(both(), "hem").outside == 0


def test_ways_of_equal_length_need_a_via() -> None:
    with pytest.raises(RequestError, match=r"both ways .* say which"):
        find_edge(both(), "sheet:c0..c2")
    through = find_edge(both(), "sheet:c0..c3..c2")
    assert through.measured.length == pytest.approx(160.0)
    assert [spot.name for spot in through.corners] == ["c3"]


def test_a_mark_cuts_the_edge_where_it_lies() -> None:
    edge = find_edge(both(Mark("notch", 30.0, 1.0)), "sheet:c0..notch")
    assert edge.measured.length == pytest.approx(30.0)
    assert edge.before is not None
    assert edge.after is None  # the outline goes on straight at the mark


def test_a_mark_near_a_corner_means_the_corner() -> None:
    edge = find_edge(both(Mark("side", 99.4, 0.3)), "sheet:c0..side")
    assert edge.measured.length == pytest.approx(100.0)
    assert edge.after is not None


def test_a_mark_belongs_to_every_outline_within_3_mm() -> None:
    marks = (Mark("near", 40.0, 2.9), Mark("far", 40.0, 3.1))
    assert find_edge(both(*marks), "sheet:c0..near").measured.length == pytest.approx(40.0)
    with pytest.raises(NameUnknownError, match='"far"'):
        find_edge(both(*marks), "sheet:c0..far")


def test_neighbours_are_walked_away_from_the_edge() -> None:
    edge = find_edge(both(), "sheet:c0..c1")
    assert edge.before is not None
    assert edge.before[0, 0].tolist() == [0, 0]
    assert edge.before[-1, 3].tolist() == [0, 60]
    assert edge.after is not None
    assert edge.after[0, 0].tolist() == [100, 0]
    assert edge.after[-1, 3].tolist() == [100, 60]


@pytest.mark.parametrize(
    ("text", "error", "says"),
    [
        ("nothing", NameUnknownError, '"sheet", "hem"'),
        ("sheet:c0..c9", NameUnknownError, '"c0", "c1", "c2", "c3"'),
        ("sheet:c0", RequestError, "PIECE:FROM..TO"),
        ("sheet:c0..c0", RequestError, "no length"),
        ("hem:end..nowhere", NameUnknownError, '"start", "end"'),
        ("", RequestError, "--along"),
    ],
)
def test_names_that_do_not_fit_are_refused_with_those_that_do(text: str, error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        find_edge(both(), text)


def test_one_piece_needs_no_name() -> None:
    alone = pattern(SHEET)
    assert find_edge(alone, None).loop
    assert find_edge(alone, "c0..c1").measured.length == pytest.approx(100.0)
    with pytest.raises(RequestError, match="no outline"):
        find_edge(pattern(), None)


def test_an_id_may_hold_colons_and_dots() -> None:
    odd = piece("a:b..c", rectangle(100.0, 60.0))
    assert find_edge(pattern(odd, HEM), "a:b..c").loop
    assert find_edge(pattern(odd, HEM), "a:b..c:c0..c1").measured.length == pytest.approx(100.0)


def test_two_marks_of_one_name_are_ambiguous() -> None:
    with pytest.raises(RequestError, match="2 marks"):
        find_edge(both(Mark("m", 20.0, 0.0), Mark("m", 70.0, 0.0)), "sheet:c0..m")


def test_an_open_line_can_be_walked_from_its_end() -> None:
    edge = find_edge(both(), "hem:end..start")
    assert edge.curve[0, 0].tolist() == [80, 100]
    assert not edge.loop


def test_a_closed_outline_can_start_elsewhere() -> None:
    ring = piece("ring", circle(50.0))
    marked = pattern(ring, marks=(Mark("top", 0.0, -50.0),))
    edge = begin_at(find_edge(marked, "ring"), "top")
    assert np.allclose(edge.curve[0, 0], (0.0, -50.0), atol=1e-9)
    assert edge.measured.length == pytest.approx(find_edge(marked, "ring").measured.length, rel=1e-12)
    with pytest.raises(NameUnknownError):
        begin_at(find_edge(marked, "ring"), "bottom")
    with pytest.raises(RequestError, match="stretch"):
        begin_at(find_edge(both(), "sheet:c0..c1"), "c0")


def test_corners_on_the_way_keep_their_names_and_lengths() -> None:
    edge = find_edge(both(), "sheet:c3..c0..c1")
    assert [(spot.name, round(spot.s, 9)) for spot in edge.corners] == [("c0", 60.0)]
    whole = begin_at(find_edge(pattern(SHEET), "sheet"), "c2")
    assert [(spot.name, round(spot.s, 9)) for spot in whole.corners] == [
        ("c2", 0.0),
        ("c3", 100.0),
        ("c0", 160.0),
        ("c1", 260.0),
    ]
