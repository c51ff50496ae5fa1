"""Edges that are sewn together are found by lengths, corners, shapes and marks, and darts by their shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.motion import affine, apply, compose, moved, turned
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.piece import Mark, Pattern, Piece
from scallopkit.pattern.proposing import ProposedJoin, proposed_joins
from scallopkit.pattern.sides import read_outline, sides

from ..shapes import circle, pattern, piece, rectangle

Point = tuple[float, float]
# A piece as its name, its outline, and its marks.
Drawn = tuple[str, Array, dict[str, Point]]
MIRRORED = affine(-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
LIKE = "like lengths (0.0 mm apart)"
CORNERS = "the corners go together at both ends"
BOTH = "marks of the same names at both ends"


def polygon(*points: Point) -> Array:
    return cubics.lines([*points, points[0]])


def triangle(a: float, b: float, c: float) -> Array:
    """A triangle with sides of these lengths, in this order."""
    x = (a * a + c * c - b * b) / (2.0 * a)
    return polygon((0.0, 0.0), (a, 0.0), (x, math.sqrt(c * c - x * x)))


def slanted(length: float, right: float, left: float) -> Array:
    """A panel whose first side has square corners and no other side like it: as panels are that go on over a seam."""
    return polygon((0.0, 0.0), (length, 0.0), (length, right), (0.0, left))


def bodice(neck: float, shoulder: float, hem: float) -> Array:
    """A half bodice, clockwise from the centre of its neck; its armhole is as hollow as its shoulder is short."""
    at = np.array([70.0, 0.0]) + shoulder * np.array([0.96, 0.28])
    arm = np.array([at, at + np.array([-25.0, 90.0]), (200.0, 230.0), (230.0, 230.0)])
    before = cubics.lines([(0.0, neck), (70.0, 0.0), (float(at[0]), float(at[1]))])
    return np.concatenate(
        [before, arm[None], cubics.lines([(230.0, 230.0), (225.0, 430.0), (225.0 - hem, 430.0), (0.0, neck)])]
    )


def bodice_marks(shoulder: float) -> dict[str, Point]:
    return {
        "neck": (70.0, 0.0),
        "shoulder": (70.0 + 0.96 * shoulder, 0.28 * shoulder),
        "underarm": (230.0, 230.0),
        "side-hem": (225.0, 430.0),
    }


BACK: Drawn = ("back", bodice(20.0, 125.0, 225.0), bodice_marks(125.0))
# A hand's breadth to the left, mirrored, its shoulder 4 mm shorter: that is ease on the back.
FRONT: Drawn = ("front", bodice(95.0, 121.0, 240.0), bodice_marks(121.0))


def laid(*drawn: Drawn, ways: tuple[Array, ...] = ()) -> Pattern:
    """A pattern of the pieces, each carried by its motion, by default one beside the other."""
    motions = ways or tuple(moved(1000.0 * i, 0.0) for i in range(len(drawn)))
    pieces, marks = [], []
    for (name, curve, named), way in zip(drawn, motions, strict=True):
        pieces.append(piece(name, apply(way, curve)))
        marks += [Mark(title, *map(float, apply(way, np.array(at)))) for title, at in named.items()]
    return pattern(*pieces, marks=tuple(marks))


def edges(found: tuple[ProposedJoin, ...]) -> list[tuple[str, str]]:
    return [(join.first, join.second) for join in found]


def lengths(*drawn: Drawn) -> list[tuple[float, float]]:
    """The lengths of the edges that are proposed, to 0.1 mm."""
    return [(round(j.first_length, 1), round(j.second_length, 1)) for j in all_lead_back(laid(*drawn))]


def all_lead_back(of: Pattern) -> tuple[ProposedJoin, ...]:
    """The proposals, once every name was found to lead to an edge of the length that was told."""
    found = proposed_joins(of)
    for join in found:
        for name, length in ((join.first, join.first_length), (join.second, join.second_length)):
            # Marks within 1e-6 mm of each other are one place.
            assert find_edge(of, name).measured.length == pytest.approx(length, rel=1e-9, abs=1e-6), name
    return found


# --- seams by marks -------------------------------------------------------------------------------------------------


def test_front_and_back_are_sewn_at_the_side_and_the_shoulder() -> None:
    """The armholes bear the same names too, but go on into each other once the side is sewn."""
    side, shoulder = sorted(all_lead_back(laid(BACK, FRONT)), key=lambda join: join.first, reverse=True)
    assert (side.first, side.second) == ("back:underarm..side-hem", "front:underarm..side-hem")
    assert (side.first_length, side.second_length) == pytest.approx((math.hypot(5.0, 200.0),) * 2, rel=1e-9)
    assert (side.kind, side.reasons) == ("seam", (BOTH, LIKE))
    assert (shoulder.first, shoulder.second) == ("back:neck..shoulder", "front:neck..shoulder")
    assert (shoulder.first_length, shoulder.second_length) == pytest.approx((125.0, 121.0), rel=1e-9)
    assert shoulder.reasons == (BOTH, "the first is 4.0 mm (3.3 %) longer: ease")


@given(st.floats(0.0, 6.28), st.floats(-500.0, 500.0), st.floats(0.0, 6.28), st.floats(-500.0, 500.0), st.booleans())
@settings(max_examples=40, deadline=None)
def test_however_the_pieces_lie_the_proposals_are_the_same(
    first: float, x: float, second: float, y: float, mirrored: bool
) -> None:
    plain = proposed_joins(laid(BACK, FRONT))
    one = compose(moved(x, y), turned(first))
    other = compose(moved(2000.0 + y, x), compose(turned(second), MIRRORED if mirrored else turned(0.0)))
    found = proposed_joins(laid(BACK, FRONT, ways=(one, other)))
    assert [(j.first, j.second, j.reasons) for j in found] == [(j.first, j.second, j.reasons) for j in plain]
    for join, same in zip(found, plain, strict=True):
        assert (join.first_length, join.second_length) == pytest.approx((same.first_length, same.second_length))


def test_proposals_stand_in_the_order_of_the_pieces() -> None:
    assert edges(proposed_joins(laid(FRONT, BACK))) == [
        ("front:neck..shoulder", "back:neck..shoulder"),
        ("front:underarm..side-hem", "back:underarm..side-hem"),
    ]


def test_an_edge_belongs_to_one_seam_the_nearest_in_length() -> None:
    marks = {"a": (0.0, 0.0), "b": (100.0, 0.0)}
    shapes = [slanted(100.0, 150.0, 90.0), slanted(103.0, 230.0, 280.0), slanted(100.9, 310.0, 370.0)]
    drawn = [
        (name, curve, marks | {"b": (float(curve[0, 3, 0]), 0.0)})
        for name, curve in zip(("p", "q", "r"), shapes, strict=True)
    ]
    (only,) = all_lead_back(laid(*drawn))
    assert (only.first, only.second) == ("p:a..b", "r:a..b")
    assert edges(proposed_joins(laid(*drawn[:2]))) == [("p:a..b", "q:a..b")]


def test_a_cushion_is_sewn_all_round() -> None:
    named = {"a": (0.0, 0.0), "b": (300.0, 0.0), "c": (300.0, 300.0), "d": (0.0, 300.0)}
    square = rectangle(300.0, 300.0)
    found = all_lead_back(laid(("top", square, named), ("under", square, named)))
    assert edges(found) == [(f"top:{way}", f"under:{way}") for way in ("a..b", "b..c", "c..d", "d..a")]


def test_a_hem_is_not_sewn_to_a_hem_because_both_end_at_the_side() -> None:
    """The hems are as long as each other, but the side seam has the mark already, and more of them."""
    hem = {"underarm": (300.0, 0.0), "side-hem": (300.0, 200.0)}
    back, front = ("back", rectangle(300.0, 200.0), hem), ("front", rectangle(300.5, 200.7), hem)
    assert edges(all_lead_back(laid(back, front))) == [("back:underarm..side-hem", "front:underarm..side-hem")]


def test_a_corner_set_into_another_is_sewn_along_both_its_edges() -> None:
    """A square yoke set into a front: where one corner points in, both edges are seams, with ease or without."""
    named = {"a": (0.0, 200.0), "b": (200.0, 200.0), "c": (200.0, 0.0)}
    yoke = ("yoke", rectangle(200.0, 200.0), named)
    front = polygon((0, 206), (200, 206), (200, 0), (450, 0), (450, 555), (0, 555))
    found = all_lead_back(laid(yoke, ("front", front, {"a": (0.0, 206.0), "b": (200.0, 206.0), "c": (200.0, 0.0)})))
    assert edges(found) == [("yoke:c..b", "front:c..b"), ("yoke:b..a", "front:b..a")]
    assert found[0].reasons == (BOTH, "the second is 6.0 mm (3.0 %) longer: ease")


@pytest.mark.parametrize(("off", "likely"), [(0.0, 0), (0.9, 0), (1.1, 1)])
def test_of_equal_edges_none_is_taken(off: float, likely: int) -> None:
    """Two partners for one edge whose lengths no chalk line tells apart; within 1 mm."""
    named = {"a": (0.0, 0.0), "b": (173.0, 0.0)}
    shapes = [slanted(173.0, 260.0, 150.0), slanted(173.0, 230.0, 200.0), slanted(173.0 + off, 310.0, 450.0)]
    drawn = [(name, curve, named) for name, curve in zip(("p", "q", "r"), shapes, strict=True)]
    assert len(all_lead_back(laid(*drawn))) == likely
    assert len(all_lead_back(laid(*drawn[:2]))) == 1


def test_of_two_edges_next_to_each_other_one_is_the_seam_and_none_can_be_told() -> None:
    """A side seam or a hem? Once one is sewn the other goes on over it. Only a name, a mark or a length says which."""
    top, corner, end = (300.0, 0.0), (300.0, 400.0), (0.0, 400.0)
    box = rectangle(300.0, 400.0)
    unclear = {"a": top, "b": corner, "centre": end}
    assert all_lead_back(laid(("p", box, unclear), ("q", rectangle(300.0, 400.9), unclear))) == ()
    wider = {"a": (310.0, 0.0), "b": (310.0, 400.0), "centre": end}
    assert lengths(("p", box, unclear), ("q", rectangle(310.0, 400.9), wider)) == [(400.0, 400.9)]
    for named in (
        {"a-side": top, "b-side": corner, "centre": end},
        {"a": top, "hem-b": corner, "hem-centre": end},
        {"a": top, "b": corner, "centre": end, "notch": (300.0, 130.0)},
    ):
        assert lengths(("p", box, named), ("q", box, named)) == [(400.0, 400.0)], named


def test_like_lengths_go_before_names_with_ease() -> None:
    """A hem that bears names at both ends on both pieces, and a side that has only one of them but is as long."""
    one, other = {"b": (300.0, 400.0), "centre": (0.0, 400.0)}, {"b": (310.0, 400.0), "centre": (0.0, 400.0)}
    found = lengths(("p", slanted_top(300.0), one), ("q", slanted_top(310.0), other))
    assert found == [(400.0, 400.0)]


def slanted_top(width: float) -> Array:
    """A panel 400 mm long at its right, and longer the wider it is at its left."""
    return polygon((0.0, -width / 10.0), (width, 0.0), (width, 400.0), (0.0, 400.0))


def test_a_seam_by_name_makes_no_cushion() -> None:
    """Two equal pieces whose corners all bear names; one edge is called a side, and top and bottom go on over it."""
    named = {"a-side": (300.0, 0.0), "b-side": (300.0, 400.0), "c": (0.0, 400.0), "d": (0.0, 0.0)}
    box = rectangle(300.0, 400.0)
    assert edges(all_lead_back(laid(("p", box, named), ("q", box, named)))) == [
        ("p:a-side..b-side", "q:a-side..b-side"),
        ("p:c..d", "q:c..d"),
    ]


@pytest.mark.parametrize(
    ("first", "second", "likely"),
    [(400.0, 403.9, True), (400.0, 404.2, False), (100.0, 101.9, True), (100.0, 102.1, False)],
)
def test_one_mark_needs_like_lengths(first: float, second: float, likely: bool) -> None:
    """Within 1 % of the longer, or 2 mm."""
    one, other = slanted(first, first * 1.5, first * 0.9), slanted(second, second * 1.2, second * 0.7)
    found = all_lead_back(laid(("p", one, {"m": (0.0, 0.0)}), ("q", other, {"m": (0.0, 0.0)})))
    assert bool(found) == likely
    if likely:
        assert edges(found) == [("p:m..c1", "q:m..c1")]
        like = f"like lengths ({second - first:.1f} mm apart)"
        assert found[0].reasons == ('the mark "m" is on both', like, CORNERS)


def test_equal_edges_on_either_hand_of_one_mark_are_ambiguous() -> None:
    """Half pieces are cut in pairs, so that the hand on which the cloth lies says nothing."""
    square = rectangle(200.0, 200.0)
    assert proposed_joins(laid(("p", square, {"m": (0.0, 0.0)}), ("q", square, {"m": (0.0, 0.0)}))) == ()


def test_a_mark_on_the_way_does_not_part_an_edge_that_has_it_on_both() -> None:
    one, other = rectangle(300.0, 100.0), rectangle(300.5, 170.0)
    found = all_lead_back(laid(("p", one, {"side": (120.0, 0.0)}), ("q", other, {"side": (120.5, 0.0)})))
    assert edges(found) == [("p:c0..c1", "q:c0..c1")]
    assert found[0].reasons == ('the mark "side" is on both', "like lengths (0.5 mm apart)", CORNERS)
    turned_round = all_lead_back(laid(("p", one, {"side": (120.0, 0.0)}), ("q", other, {"side": (180.0, 0.0)})))
    assert edges(turned_round) == [("p:c0..c1", "q:c1..c0")]


def test_a_mark_at_different_places_says_nothing() -> None:
    one, other = rectangle(300.0, 100.0), rectangle(300.5, 170.0)
    assert proposed_joins(laid(("p", one, {"side": (60.0, 0.0)}), ("q", other, {"side": (130.0, 0.0)}))) == ()


def test_seams_end_at_marks_between_corners() -> None:
    """A sleeve's crown is sewn to one armhole up to the mark for the shoulder, and to the other from there."""
    crown = np.array([[(0.0, 0.0), (80.0, -200.0), (320.0, -200.0), (400.0, 0.0)]])
    sleeve = np.concatenate([crown, cubics.lines([(400.0, 0.0), (340.0, 300.0), (60.0, 300.0), (0.0, 0.0)])])
    high = (200.0, -150.0)
    arms = {"back-arm": (0.0, 0.0), "top": high, "front-arm": (400.0, 0.0)}
    half = find_edge(laid(("sleeve", sleeve, arms)), "sleeve:back-arm..top").measured.length
    back = ("back", triangle(half - 6.0, 420.0, 500.0), {"back-arm": (0.0, 0.0), "top": (half - 6.0, 0.0)})
    front = ("front", triangle(half - 8.0, 380.0, 460.0), {"top": (0.0, 0.0), "front-arm": (half - 8.0, 0.0)})
    found = all_lead_back(laid(back, front, ("sleeve", sleeve, arms)))
    assert edges(found) == [
        ("back:back-arm..top", "sleeve:back-arm..top"),
        ("front:top..front-arm", "sleeve:top..front-arm"),
    ]
    assert found[0].reasons[1].startswith("the second is 6.0 mm (")


# --- names that lead back -------------------------------------------------------------------------------------------


def test_the_longer_way_round_is_named_through_a_place_on_it() -> None:
    """A lens: one edge of two corners is the longer, and needs VIA."""
    one = np.concatenate([np.array([[(0, 0), (0, -300), (200, -300), (200, 0)]]), cubics.lines([(200, 0), (0, 0)])])
    other = one * 1.004
    found = all_lead_back(
        laid(
            ("p", one, {"a": (0.0, 0.0), "b": (200.0, 0.0), "top": (100.0, -225.0)}),
            ("q", other, {"a": (0.0, 0.0), "b": (200.8, 0.0), "top": (100.4, -225.9)}),
        )
    )
    assert edges(found) == [("p:a..top..b", "q:a..top..b"), ("p:b..a", "q:b..a")]


def test_where_both_ways_are_alike_the_edge_is_named_through_a_place_on_it() -> None:
    half = np.array([[(0, 0), (40, -120), (160, -120), (200, 0)]])
    lens = np.concatenate([half, cubics.reverse(half * (1.0, -1.0))])
    marks = {"a": (0.0, 0.0), "b": (200.0, 0.0), "top": (100.0, -90.0)}
    found = all_lead_back(laid(("p", lens, marks), ("q", lens * 1.002, marks)))
    assert edges(found) == [("p:a..top..b", "q:a..top..b")]


def test_a_long_way_round_without_a_place_on_it_has_no_name_and_is_left_out() -> None:
    one = np.concatenate([np.array([[(0, 0), (0, -300), (200, -300), (200, 0)]]), cubics.lines([(200, 0), (0, 0)])])
    marks = {"a": (0.0, 0.0), "b": (200.0, 0.0)}
    assert edges(all_lead_back(laid(("p", one, marks), ("q", one, marks)))) == [("p:b..a", "q:b..a")]


def test_marks_that_cannot_be_told_apart_or_written_are_left_aside() -> None:
    one, other = slanted(100.0, 150.0, 90.0), slanted(100.0, 230.0, 200.0)
    twice = pattern(
        piece("p", one),
        piece("q", apply(moved(900.0, 0.0), other)),
        marks=tuple(Mark("m", x, 0.0) for x in (0.0, 100.0, 900.0, 1000.0)),
    )
    dotted = laid(("p", one, {"a..b": (0.0, 0.0)}), ("q", other, {"a..b": (0.0, 0.0)}))
    # Marks that name no place of one piece still say what lies there; of the others the length is all that is left.
    for of, reasons in ((twice, (BOTH, LIKE)), (dotted, (f"{LIKE}, and no other edge is as near", CORNERS))):
        (found,) = all_lead_back(of)
        assert (found.first, found.second) == ("p:c0..c1", "q:c1..c0")
        assert found.reasons == reasons


def test_names_with_colons_lead_back() -> None:
    one, other = triangle(100.0, 150.0, 90.0), triangle(100.0, 230.0, 200.0)
    of = laid(("p:1", one, {"a:x": (0.0, 0.0)}), ("p", other, {"a:x": (0.0, 0.0)}))
    assert edges(all_lead_back(of)) == [("p:1:a:x..c1", "p:a:x..c1")]
    # Read as a stretch of the piece "p:a", "p:a:x" leads elsewhere.
    assert all_lead_back(pattern(*of.pieces, piece("p:a", circle(7.0)), marks=of.marks)) == ()


def test_a_piece_goes_by_a_name_that_no_other_has() -> None:
    one, other = slanted(100.0, 150.0, 90.0), apply(moved(900.0, 0.0), slanted(100.0, 230.0, 200.0))
    of = pattern(Piece("half", ("half", "p"), one, True), Piece("half", ("half", "q"), other, True))
    assert edges(all_lead_back(of)) == [("p:c0..c1", "q:c1..c0")]
    assert proposed_joins(pattern(piece("half", one), piece("half", other))) == ()


def test_marks_on_either_side_of_the_first_point_are_at_one_place() -> None:
    """A ring's first point is at length 0 and at its whole length; between the two lies no edge."""
    marks = {"m": (50.0, -1e-7), "n": (50.0, 1e-7), "o": (-40.0, -30.0), "p": (0.0, 50.0)}
    found = all_lead_back(laid(("one", circle(50.0), marks), ("two", circle(50.0), marks)))
    assert edges(found) == [("one:m..p", "two:m..p"), ("one:p..o", "two:p..o"), ("one:o..m", "two:o..m")]
    assert sum(join.first_length for join in found) == pytest.approx(100.0 * math.pi, rel=1e-9)


@st.composite
def stars(draw: st.DrawFn) -> Array:
    """Outlines with a corner in every direction, some of them reflex, in either sense."""
    n = draw(st.integers(3, 9))
    radii = draw(st.lists(st.sampled_from([40.0, 60.0, 100.0, 130.0]), min_size=n, max_size=n))
    points = [(r * math.cos(k * math.tau / n), r * math.sin(k * math.tau / n)) for k, r in enumerate(radii)]
    curve = polygon(*points)
    return cubics.reverse(curve) if draw(st.booleans()) else curve


@given(st.lists(stars(), min_size=2, max_size=4), st.data())
@settings(max_examples=100, deadline=None)
def test_every_name_leads_back_and_no_edge_is_used_twice(shapes: list[Array], data: st.DataObject) -> None:
    curves = [apply(moved(400.0 * i, 0.0), curve) for i, curve in enumerate(shapes)]
    marks = []
    for curve in curves:
        for name in data.draw(st.sets(st.sampled_from("abcde"))):
            segment, t = data.draw(st.integers(0, len(curve) - 1)), data.draw(st.sampled_from([0.0, 0.4, 0.97, 1.0]))
            marks.append(Mark(name, *map(float, cubics.point(curve, np.array([segment]), np.array([t]))[0])))
    of = pattern(*(piece(f"p{i}", curve) for i, curve in enumerate(curves)), marks=tuple(marks))
    found = all_lead_back(of)
    halfway = []
    for join in found:
        one, other = find_edge(of, join.first), find_edge(of, join.second)
        assert (one.piece is other.piece) == (join.kind == "dart")
        halfway += [tuple(np.round(e.measured.points(np.array([0.5 * e.measured.length]))[0], 6)) for e in (one, other)]
    assert len(set(halfway)) == len(halfway)
    assert proposed_joins(of) == found


# --- lengths alone --------------------------------------------------------------------------------------------------

ODD = slanted(100.0, 150.0, 90.0)


@pytest.mark.parametrize(("length", "likely"), [(100.0, True), (100.45, True), (100.6, False), (99.4, False)])
def test_lengths_alone_must_be_within_half_a_hundredth(length: float, likely: bool) -> None:
    found = all_lead_back(laid(("p", ODD, {}), ("q", slanted(length, 230.0, 200.0), {})))
    assert edges(found) == ([("p:c0..c1", "q:c1..c0")] if likely else [])


def test_lengths_alone_must_be_alone() -> None:
    q: Drawn = ("q", slanted(100.0, 230.0, 200.0), {})
    r: Drawn = ("r", triangle(310.0, 270.0, 100.3), {})
    assert len(proposed_joins(laid(("p", ODD, {}), q, ("ring", circle(9.0), {})))) == 1
    # Where there are marks, they say what is sewn.
    assert proposed_joins(laid(("p", ODD, {"m": (40.0, 0.0)}), q)) == ()
    # A third edge as near, on a third piece or on one of the two.
    assert proposed_joins(laid(("p", ODD, {}), q, r)) == ()
    assert proposed_joins(laid(("p", ODD, {}), ("q", slanted(100.0, 100.2, 77.0), {}))) == ()


def test_lengths_alone_need_corners_that_go_together() -> None:
    """Within 30 degrees of a straight line as sewn; of a gore's point, where many meet, a mark must tell."""
    for lean, likely in ((28.0, 1), (32.0, 0), (-28.0, 1), (-32.0, 0)):
        over = 60.0 * math.tan(math.radians(lean))
        leaning = polygon((0.0, 0.0), (100.0, 0.0), (100.0 + over, 60.0), (-20.0, 77.0))
        assert len(proposed_joins(laid(("p", ODD, {}), ("q", leaning, {})))) == likely


def test_equal_rectangles_are_ambiguous() -> None:
    box = rectangle(300.0, 200.0)
    assert proposed_joins(laid(("p", box, {}), ("q", box, {}))) == ()


def test_short_edges_are_alike_by_chance() -> None:
    for length, count in ((19.0, 0), (21.0, 1)):
        one, other = slanted(length, 150.0, 141.0), slanted(length, 230.0, 215.0)
        assert len(proposed_joins(laid(("p", one, {}), ("q", other, {})))) == count


def test_an_edge_with_a_mark_at_its_end_is_no_edge_between_corners() -> None:
    """A part that ends at a mark is not proposed by its length, but stands in the way of others."""
    box = ("q", rectangle(400.0, 77.0), {"m": (100.0, 0.0)})
    assert proposed_joins(laid(("p", ODD, {}), box)) == ()
    assert proposed_joins(laid(("p", ODD, {}), ("r", slanted(100.0, 230.0, 200.0), {}), box)) == ()


def test_nothing_is_proposed_within_one_piece_or_with_open_lines() -> None:
    assert proposed_joins(pattern()) == ()
    assert proposed_joins(laid(("p", rectangle(300.0, 200.0), {}))) == ()
    ends = (Mark("m", 0.0, 0.0), Mark("n", 100.0, 0.0), Mark("m", 900.0, 0.0), Mark("n", 1000.0, 0.0))
    outline = polygon((900, 0), (1000, 0), (950, 300))
    assert len(proposed_joins(pattern(piece("p", ODD), piece("q", outline), marks=ends))) == 1
    line = piece("q", outline, closed=False)
    assert proposed_joins(pattern(piece("p", ODD), line, marks=ends)) == ()


# --- darts ----------------------------------------------------------------------------------------------------------


def waist(mouth: float, depth: float, off: float = 0.0) -> Array:
    """A skirt's back with a dart at the waist, its apex `off` to the side of the middle."""
    half = 0.5 * mouth
    return polygon((0, 0), (110 - half, 0), (110 + off, depth), (110 + half, 0), (230, 0), (250, 500), (0, 500))


def test_the_legs_of_a_dart() -> None:
    for curve, legs in (
        (waist(24.0, 110.0), ("skirt:c1..c2", "skirt:c3..c2")),
        (cubics.reverse(waist(24.0, 110.0)), ("skirt:c4..c5", "skirt:c6..c5")),
    ):
        (dart,) = all_lead_back(laid(("skirt", curve, {})))
        assert (dart.kind, dart.first, dart.second) == ("dart", *legs)
        assert dart.first_length == pytest.approx(math.hypot(12.0, 110.0), rel=1e-9)
        assert dart.reasons == ("legs of one dart", LIKE)


def test_a_dart_is_named_by_its_marks() -> None:
    marks = {"in": (98.0, 0.0), "tip": (110.0, 110.0), "out": (122.0, 0.0), "drill": (104.0, 55.0)}
    (dart,) = all_lead_back(laid(("skirt", waist(24.0, 110.0), marks)))
    assert (dart.first, dart.second) == ("skirt:in..tip", "skirt:out..tip")


def test_a_dart_in_a_corner_parts_two_edges() -> None:
    """Closed, it leaves a turn of 46 degrees, which is no edge that goes on."""
    named = {"a": (0.0, 0.0), "b": (200.0, 0.0)}
    # Its point lies as far from both ends of its mouth, and its mouth is 40 mm wide.
    slope = math.radians(65.0)
    mouth = (
        np.array([200.0, 0.0]),
        np.array([200.0, 0.0]) + 40.0 * np.array([math.cos(0.5 * slope), math.sin(0.5 * slope)]),
    )
    tip = 0.5 * (mouth[0] + mouth[1]) + 120.0 * np.array([-math.sin(0.5 * slope), math.cos(0.5 * slope)])
    down = mouth[1] + 230.0 * np.array([math.cos(slope), math.sin(slope)])
    curve = polygon((0.0, 0.0), *((float(x), float(y)) for x, y in (mouth[0], tip, mouth[1], down)), (0.0, 420.0))
    found = all_lead_back(laid(("p", curve, named), ("q", slanted(200.0, 170.0, 90.0), named)))
    assert sorted((join.kind, join.first) for join in found) == [("dart", "p:b..c2"), ("seam", "p:a..b")]


@pytest.mark.parametrize("angle", [0.1, 0.2, 0.3])
def test_a_straight_edge_with_its_dart_closed_is_straight(angle: float) -> None:
    """One that was cut straight and then opened by a dart; whichever way it is drawn."""
    opened = apply(turned(angle, (100.0, 120.0)), np.array([(100.0, 0.0), (260.0, 0.0), (260.0, 300.0)]))
    curve = polygon((0.0, 0.0), (100.0, 0.0), (100.0, 120.0), *((float(x), float(y)) for x, y in opened), (0.0, 420.0))
    for drawn in (curve, cubics.reverse(curve), apply(MIRRORED, curve)):
        (across,) = [side for side in sides(read_outline(0, piece("p", drawn), ())) if side.darts]
        assert across.length == pytest.approx(260.0)
        assert across.bulge == pytest.approx(0.0, abs=1e-9)


def test_legs_of_darts_are_no_seams() -> None:
    marks = {"tip": (110.0, 110.0), "out": (122.0, 0.0)}
    other = polygon((40, 0), (98, 0), (110, 110), (122, 0), (190, 0), (190, 340), (40, 340))
    found = proposed_joins(laid(("front", waist(24.0, 110.0), marks), ("back", other, marks)))
    assert [join.kind for join in found] == ["dart", "dart"]


@pytest.mark.parametrize(
    ("curve", "why"),
    [
        (waist(24.0, 110.0, off=12.0), "one leg is more than 2 % longer"),
        (waist(90.0, 60.0), "its mouth is wider than its legs are long: a neck"),
        (waist(5.0, 6.0), "a notch"),
        (waist(24.0, -110.0), "it points out of the piece"),
        (
            polygon((-99, 30), (-50, 0), (0, 110), (50, 0), (99, 30), (90, 400), (-90, 400)),
            "a neckline, between two like halves",
        ),
        (
            polygon((-99, 0), (-40, 0), (-20, 100), (0, 0), (20, 100), (40, 0), (110, 0), (110, 400), (-99, 400)),
            "two teeth that share a point",
        ),
        (
            polygon((0, 0), *((20 + 10 * k, -40 * (k % 2)) for k in range(9)), (140, 0), (140, 99), (0, 99)),
            "the teeth of an edge",
        ),
    ],
)
def test_what_is_no_dart(curve: Array, why: str) -> None:
    assert proposed_joins(laid(("p", curve, {}))) == (), why


def test_the_halves_of_a_heart_are_no_legs() -> None:
    half = np.array([[(0, 0), (5, -99), (140, -80), (0, 99)]])
    heart = np.concatenate([half, cubics.reverse(half * (-1.0, 1.0))])
    right, left = (tuple(map(float, cubics.point(heart, np.array([k]), np.array([0.5]))[0])) for k in (0, 1))
    marks = (Mark("right", *right), Mark("left", *left))
    assert [find_edge(pattern(piece("p", heart), marks=marks), f"p:c0..{m.name}..c1").corners for m in marks] == [
        (),
        (),
    ]
    assert proposed_joins(pattern(piece("p", heart), marks=marks)) == ()
