"""Notches: where they stand, on which line, and how they are drawn."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY
from scallopkit.geometry.nearest import nearest
from scallopkit.geometry.offset import offset
from scallopkit.pattern.edge import Spot, find_edge
from scallopkit.pattern.piece import Mark, Pattern, Piece
from scallopkit.trim.course import CREST, VALLEY, Course, Stop, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.notches import NotchWish, marked, notches, square_out
from scallopkit.trim.scallops import Scallops, scallops, valleys
from scallopkit.trim.shape import Shape

LINE = cubics.lines([(0.0, 0.0), (300.0, 0.0)])
BOW = np.array([[(0.0, 0.0), (100.0, 60.0), (200.0, 60.0), (300.0, 0.0)]])
ARC = Shape("arc", "share", 0.4)


def course_of(curve: Array, loop: bool = False, side: int = 1) -> Course:
    return Course(measure(curve, IDENTITY if loop else None), loop, side)


def trimmed(course: Course, count: float, stops: tuple[Stop, ...] = ()) -> Scallops:
    length = course.measured.length
    ends = (Stop("a", 0.0, VALLEY),) if course.loop else (Stop("a", 0.0, VALLEY), Stop("b", length, VALLEY))
    return scallops(fit(course, stops or ends, Wish(ARC, count=count)).row, ARC, course.side)


def circle(radius: float) -> Array:
    return ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, 2.0 * math.pi, 1e-9)


# where along the edge


def test_equal_parts() -> None:
    course = course_of(LINE)
    assert np.allclose(notches(course, NotchWish("parts")).s, [75.0, 150.0, 225.0])
    assert np.allclose(notches(course, NotchWish("parts", ends=True)).s, [0.0, 75.0, 150.0, 225.0, 300.0])
    assert np.allclose(notches(course, NotchWish("parts", parts=6, every=2, ends=True)).s, [0.0, 100.0, 200.0, 300.0])
    ring = course_of(circle(50.0), loop=True)
    quarters = notches(ring, NotchWish("parts"))
    assert np.allclose(quarters.points, [(50.0, 0.0), (0.0, 50.0), (-50.0, 0.0), (0.0, -50.0)], atol=1e-6)
    # The circle runs clockwise, its outside on the left: all point to the middle.
    assert np.allclose(quarters.direction, -quarters.points / 50.0, atol=1e-6)


def test_every_fifth_valley_counted_from_the_end() -> None:
    course = course_of(BOW)
    found = trimmed(course, 15)
    places, s = valleys(found.row)
    made = notches(course, NotchWish("valleys", every=5), found)
    assert np.allclose(made.points, places[[5, 10]], atol=1e-6)
    assert np.allclose(made.s, s[[5, 10]])
    assert len(notches(course, NotchWish("valleys", every=5, ends=True), found)) == 4
    assert len(notches(course, NotchWish("valleys"), found)) == 14


def test_crests_on_the_drawn_edge() -> None:
    course = course_of(LINE)
    made = notches(course, NotchWish("crests", first=2, every=3), trimmed(course, 10))
    assert np.allclose(made.points, [(45.0, 0.0), (135.0, 0.0), (225.0, 0.0)], atol=1e-6)
    assert np.allclose(made.direction, [(0.0, 1.0)] * 3)
    other_side = notches(course, NotchWish("crests"), trimmed(course, 10), outward=-1)
    assert np.allclose(other_side.direction, [(0.0, -1.0)] * 10)


def test_valleys_and_crests_of_a_loop() -> None:
    course = course_of(circle(50.0), loop=True)
    found = trimmed(course, 12)
    assert len(notches(course, NotchWish("valleys", every=3), found)) == 4
    assert len(notches(course, NotchWish("crests"), found)) == 12


def test_places_that_need_scallops() -> None:
    with pytest.raises(RequestError, match="no scallops whose valleys"):
        notches(course_of(LINE), NotchWish("valleys"))
    with pytest.raises(RequestError, match="no scallops whose crests"):
        notches(course_of(LINE), NotchWish("crests", on="scallops"))


def test_given_marks() -> None:
    outline = cubics.lines([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0), (0.0, 0.0)])
    piece = Piece("front", ("front",), outline, True)
    pattern = Pattern((piece,), (Mark("middle", 80.0, 0.0), Mark("side", 200.0, 30.0)))
    edge = find_edge(pattern, "front:c0..side")
    spots = marked(edge, ["c1", "middle", "side"])
    assert [spot.name for spot in spots] == ["c1", "middle", "side"]
    course = Course(edge.measured, edge.loop, edge.outside)
    made = notches(course, NotchWish("marks"), marks=spots)
    # The end of the edge is among them, since it was named.
    assert np.allclose(made.points, [(200.0, 0.0), (80.0, 0.0), (200.0, 30.0)], atol=1e-6)
    assert np.allclose(made.direction[1:], [(0.0, 1.0), (-1.0, 0.0)])
    with pytest.raises(NameUnknownError, match=r'"waist" lies on "front:c0\.\.side"; it has .*"middle"'):
        marked(edge, ["waist"])
    whole = find_edge(pattern, "front")
    assert marked(whole, ["c0"], origin=80.0)[0].s == pytest.approx(520.0)


# on which line


def test_crests_of_cloth_cut_along_the_scallops() -> None:
    course = course_of(BOW, side=-1)
    found = trimmed(course, 9)
    made = notches(course, NotchWish("crests", every=4, on="scallops"), found)
    assert np.allclose(made.points, found.crest[[0, 4, 8]])
    assert np.allclose(made.direction, -found.axis[[0, 4, 8]])


@pytest.mark.parametrize(("at", "said"), [("valleys", "take the crests"), ("parts", "crests only"), ("marks", "only")])
def test_no_other_places_on_scallops(at: str, said: str) -> None:
    with pytest.raises(RequestError, match=said):
        NotchWish(at, on="scallops")


def test_half_a_scallop_has_its_notch_on_the_mirror_line() -> None:
    course = course_of(LINE)
    stops = (Stop("side", 0.0, VALLEY), Stop("front", 300.0, CREST, mirror=(1.0, 0.0), fold=True))
    found = trimmed(course, 5.5, stops)
    assert len(notches(course, NotchWish("crests", on="scallops"), found)) == 5
    made = notches(course, NotchWish("crests", on="scallops", ends=True), found)
    assert np.allclose(made.points[-1], found.crest[-1])
    assert made.points[-1, 0] == pytest.approx(300.0)


@given(st.floats(-80.0, 80.0), st.floats(-80.0, 80.0), st.floats(3.0, 15.0), st.sampled_from([1, -1]))
@settings(max_examples=40, deadline=None)
def test_square_to_the_stitching_line_on_the_cutting_line(up: float, down: float, away: float, side: int) -> None:
    net = np.array([[(0.0, 0.0), (100.0, up), (200.0, down), (300.0, 0.0)]])
    (cut,) = offset(net, side * away, False)
    made = notches(course_of(net, side=side), NotchWish("parts", parts=7, ends=True), cutting=measure(cut))
    # The promise for parallels is 0.02 mm.
    assert np.abs(nearest(cut, made.points).distance).max() < 1e-6
    net_points = course_of(net).measured.points(made.s)
    assert np.abs(np.hypot(*(made.points - net_points).T) - away).max() < 0.02
    along = course_of(net).measured.tangents(made.s)
    assert np.abs((made.direction * along).sum(axis=1)).max() < 1e-9
    assert ((net_points - made.points) * made.direction).sum(axis=1).min() > 0.0
    assert made.length == pytest.approx(min(3.0, 0.5 * away), abs=0.01)


@pytest.mark.parametrize("away", [0.0, 4.0, 15.0])
def test_they_tell_where_they_are_sewn(away: float) -> None:
    course = course_of(BOW)
    cut = measure(offset(BOW, away, False)[0]) if away else None
    made = notches(course, NotchWish("parts", parts=5), cutting=cut)
    assert np.allclose(made.sewn, course.measured.points(made.s), atol=1e-9)
    found = trimmed(course, 10)
    assert np.allclose(notches(course, NotchWish("crests", on="scallops"), found).sewn, found.crest)


def test_square_out_to_a_cutting_line() -> None:
    place, up = np.array([150.0, 0.0]), np.array([0.0, -1.0])
    slanting = cubics.lines([(0.0, -10.0), (300.0, -40.0)])
    assert square_out(slanting, place, up) == pytest.approx((150.0, -25.0))
    # Scallops that hang from the edge are cut inside it, but not on the far side of the cloth.
    assert square_out(cubics.lines([(0.0, 4.0), (300.0, 4.0)]), place, up) == pytest.approx((150.0, 4.0))
    both = cubics.lines([(0.0, -10.0), (300.0, -10.0), (300.0, 8.0), (0.0, 8.0)])
    assert square_out(both, place, up) == pytest.approx((150.0, 8.0))
    # Beside it there is none.
    assert square_out(cubics.lines([(0.0, -10.0), (149.0, -10.0)]), place, up) is None


def test_the_first_cutting_line_outside_is_taken() -> None:
    both = cubics.lines([(0.0, -10.0), (300.0, -10.0), (300.0, -40.0), (0.0, -40.0), (0.0, 25.0), (300.0, 25.0)])
    made = notches(course_of(LINE), NotchWish("parts", parts=2), cutting=measure(both))
    assert np.allclose(made.points, [(150.0, -10.0)])


def test_at_a_fold_that_the_cutting_line_runs_along() -> None:
    # The net edge ends on the fold at x = 0, which has no allowance.
    cut = cubics.lines([(0.0, 80.0), (0.0, -10.0), (310.0, -10.0), (310.0, 80.0), (0.0, 80.0)])
    made = notches(course_of(LINE), NotchWish("parts", parts=2, ends=True), cutting=measure(cut))
    assert np.allclose(made.points, [(0.0, -10.0), (150.0, -10.0), (300.0, -10.0)])


def test_a_cutting_line_that_rounding_left_short() -> None:
    cut = measure(cubics.lines([(0.0003, -10.0), (299.9996, -10.0)]))
    made = notches(course_of(LINE), NotchWish("parts", parts=1, ends=True), cutting=cut)
    assert np.allclose(made.points, [(0.0, -10.0), (300.0, -10.0)])
    with pytest.raises(RequestError, match="finds no cutting line"):
        notches(course_of(LINE), NotchWish("parts", parts=1, ends=True), cutting=measure(0.9 * LINE - (0.0, 5.0)))


def test_no_cutting_line_outside() -> None:
    inside = measure(cubics.lines([(0.0, 10.0), (300.0, 10.0)]))
    with pytest.raises(RequestError, match=r"75 mm along the edge finds no cutting line outside it, at x 75.0, y 0.0"):
        notches(course_of(LINE), NotchWish("parts"), cutting=inside)
    with pytest.raises(RequestError, match="no allowance to cut into"):
        notches(course_of(LINE), NotchWish("parts"), cutting=measure(LINE))


# how long, and how drawn


def test_no_nearer_to_the_stitches_than_half_the_allowance() -> None:
    course = course_of(LINE)
    # A clip of 1/8 in (the Oregon 4-H leaflets 320-12), rounded to 3 mm.
    assert abs(notches(course, NotchWish("parts")).length - 25.4 / 8.0) < 0.2
    assert notches(course, NotchWish("parts", allowance=4.0)).length == 2.0
    assert notches(course, NotchWish("parts", length=5.0, allowance=10.0)).length == 5.0
    assert notches(course, NotchWish("parts", length=7.0)).length == 7.0
    with pytest.raises(RequestError, match=r"at most 4\.762 mm"):
        notches(course, NotchWish("parts", length=5.0, allowance=9.525))
    cut = measure(cubics.lines([(0.0, -4.0), (300.0, -12.0)]))
    assert notches(course, NotchWish("parts"), cutting=cut).length == pytest.approx(3.0)
    with pytest.raises(RequestError, match="at most 3 mm"):
        notches(course, NotchWish("parts", length=3.1), cutting=cut)
    # A triangle stands outside: no stitches are near.
    assert notches(course, NotchWish("parts", kind="triangle", length=8.0, allowance=10.0)).length == 8.0


def test_as_drawn() -> None:
    course = course_of(LINE)

    def drawn(kind: str) -> Array:
        curve = notches(course, NotchWish("parts", parts=2, kind=kind)).curve(0)
        return curve if kind == "snip" else curve[np.argsort(curve[:, 0])]

    # The cloth lies at +y.
    assert np.allclose(drawn("snip"), [(150.0, 0.0), (150.0, 3.0)])
    assert np.allclose(drawn("v"), [(149.0, 0.0), (150.0, 3.0), (151.0, 0.0)])
    assert np.allclose(drawn("triangle"), [(149.0, 0.0), (150.0, -3.0), (151.0, 0.0)])


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ({"at": "corners"}, '"corners" is no place for notches; there are valleys, crests, parts, marks'),
        ({"at": "parts", "kind": "dot"}, '"dot" is no kind'),
        ({"at": "parts", "on": "seam"}, '"seam" is no line'),
        ({"at": "parts", "every": 0}, "count from 1"),
        ({"at": "parts", "parts": 0}, "count from 1"),
        ({"at": "parts", "length": 0.0}, "length of 0 mm"),
        ({"at": "parts", "allowance": math.nan}, "allowance of nan mm"),
    ],
)
def test_wishes_without_meaning(wish: dict[str, object], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        NotchWish(**wish)  # type: ignore[arg-type]  # fields of many types


@given(st.floats(-3.0, 3.0), st.floats(-500.0, 500.0), st.floats(-500.0, 500.0))
@settings(max_examples=20, deadline=None)
def test_moved_with_the_cloth(angle: float, x: float, y: float) -> None:
    c, s = math.cos(angle), math.sin(angle)
    turn = np.array([(c, s), (-s, c)])
    here, there = course_of(BOW), course_of(BOW @ turn + (x, y))
    wish = NotchWish("valleys", every=2, kind="v")
    one, two = (notches(course, wish, trimmed(course, 9)) for course in (here, there))
    for i in range(len(one)):
        assert np.allclose(one.curve(i) @ turn + (x, y), two.curve(i), atol=1e-6)


def test_nothing_to_mark() -> None:
    course = course_of(LINE)
    cut = measure(LINE - (0.0, 10.0))
    assert len(notches(course, NotchWish("marks"), marks=[], cutting=cut)) == 0
    assert len(notches(course, NotchWish("marks"), marks=[Spot("a", 20.0)], cutting=cut)) == 1
