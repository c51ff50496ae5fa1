"""Eyelets: measures, places in scallops and along edges, warnings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiLineString, Point

from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY
from scallopkit.geometry.motion import turned as turn
from scallopkit.trim.course import CREST, VALLEY, Course, Stop, Wish
from scallopkit.trim.eyelets import (
    EyeletSize,
    eyelet_size,
    eyelet_warnings,
    eyelets_along,
    eyelets_in_scallops,
    stitching_lines,
)
from scallopkit.trim.fit import fit
from scallopkit.trim.linking import links
from scallopkit.trim.row import FIRST_HALF, WHOLE
from scallopkit.trim.scallops import Scallops, scallops
from scallopkit.trim.shape import Shape
from scallopkit.trim.spacing import fit_gaps, fit_spacing

from ..shapes import fan

LINE = cubics.lines([(0.0, 0.0), (300.0, 0.0)])
ARC = Shape("arc", "share", 0.4)
# What the clearance may fall short by, and what flattening for the check adds.
CLEAR = 4e-4 + 1e-5


def trimmed(curve: Array, wish: Wish, stops: tuple[Stop, ...] = (), loop: bool = False) -> tuple[Course, Scallops]:
    m = measure(curve, IDENTITY if loop else None)
    course = Course(m, loop, 1)
    ends = (Stop("a", 0.0, VALLEY),) if loop else (Stop("a", 0.0, VALLEY), Stop("b", m.length, VALLEY))
    return course, scallops(fit(course, stops or ends, wish).row, wish.shape, 1)


def circle(radius: float, outwards: bool) -> Array:
    """A circle with the outside (or the inside) on the walker's left."""
    return ellipse_arc((0.0, 0.0), (radius, radius), 0.0, 0.0, 2.0 * math.pi * (1.0 if outwards else -1.0), 1e-9)


# the measures


def test_from_the_opening_alone() -> None:
    size = eyelet_size(4.0)
    assert (size.opening, size.barrel, size.barrel_length, size.flange, size.hole) == (4.0, 5.0, 4.0, 8.0, 4.5)
    assert size.assumed == ("barrel", "barrel_length", "flange", "hole")


def test_what_is_given_is_kept() -> None:
    size = eyelet_size(5.5, barrel=6.2, barrel_length=5.0, flange=11.5, hole=6.0)
    assert size == EyeletSize(5.5, 6.2, 5.0, 11.5, 6.0)
    assert eyelet_size(5.5, barrel=6.2).hole == pytest.approx(5.7)
    assert eyelet_size(0.9).flange == pytest.approx(2.9), "twice the opening would not cover the barrel"


@pytest.mark.parametrize(
    ("measures", "said"),
    [
        ({"opening": 4.0, "barrel": 4.0}, "inside its barrel"),
        ({"opening": 4.0, "flange": 5.0}, "beyond its barrel"),
        ({"opening": 4.0, "hole": 5.1}, "wider than the barrel"),
        ({"opening": 0.0}, "opening of 0 mm"),
        ({"opening": -2.0}, "opening of -2 mm"),
        ({"opening": 4.0, "barrel_length": 0.0}, "barrel length of 0 mm"),
        ({"opening": 4.0, "hole": 0.0}, "hole of 0 mm"),
        ({"opening": math.nan}, "opening of nan mm"),
        ({"opening": 4.0, "flange": math.inf}, "flange of inf mm"),
    ],
)
def test_measures_that_contradict_each_other(measures: dict[str, float], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        eyelet_size(**measures)


# spacing


def test_spacings() -> None:
    assert fit_spacing(100.0, target=30.0) == (3, 100.0 / 3.0)
    assert fit_spacing(100.0, target=29.0, largest=30.0) == (4, 25.0)
    assert fit_spacing(100.0, largest=25.0) == (4, 25.0)
    assert fit_spacing(0.3, largest=0.1)[0] == 3, "0.3 / 0.1 rounds to a little under or over 3"
    assert fit_spacing(10.0, target=80.0) == (1, 10.0)
    # Two thirds and four thirds of the target are equally far from it.
    assert fit_spacing(4.0, target=3.0) == (2, 2.0)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"length": 100.0}, "how far apart"),
        ({"length": 100.0, "target": 3.0, "count": 4}, "not both"),
        ({"length": 100.0, "count": 3, "largest": 30.0}, "at least 4"),
        ({"length": 100.0, "count": 0}, "0 is no number"),
        ({"length": 0.0, "target": 3.0}, "can't be divided"),
        ({"length": 100.0, "target": -3.0}, "spacing of -3"),
        ({"length": 100.0, "largest": 1e-300}, "has no meaning"),
        ({"length": math.nan, "count": 3}, "can't be divided"),
    ],
)
def test_spacings_without_an_answer(asked: dict[str, float], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        fit_spacing(**asked)  # type: ignore[arg-type]  # the counts among them are whole


def test_gaps_that_are_used_up() -> None:
    with pytest.raises(RequestError, match="take at most 9"):
        fit_gaps(100.0, 10.0, count=12)
    assert fit_gaps(100.0, 10.0, count=10)[1] == pytest.approx(1.0)


# in scallops


def test_at_the_middle_of_a_half_circle_just_wide_enough() -> None:
    course, found = trimmed(LINE, Wish(Shape("half-circle", "share", 0.5), count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(9.0), margin=6.0)
    assert np.allclose(eyelets.points, [(15.0 + 30.0 * i, 0.0) for i in range(10)], atol=1e-9)
    assert np.allclose(eyelets.s, eyelets.points[:, 0], atol=1e-9)
    assert eyelets.scallop.tolist() == list(range(1, 11))


def test_a_wider_flange_goes_below_the_valley_line() -> None:
    course, found = trimmed(LINE, Wish(Shape("half-circle", "share", 0.5), count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(12.0), margin=6.0)
    # The valleys, 15 mm beside the axis, are 12 + 6 mm away.
    assert np.allclose(eyelets.points[:, 1], math.sqrt(18.0**2 - 15.0**2), atol=0.01)


def test_a_small_one_stands_right_below_its_crest() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(3.0), margin=2.0)
    # Radius of the arc: (15² + 12²) / 24 = 15.4 mm; the middle is 5 mm below the crest at 12 mm.
    assert np.allclose(eyelets.points[:, 1], -12.0 + 5.0, atol=1e-12)


def test_at_a_given_distance_from_the_crest() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(4.0), from_crest=7.5)
    assert np.allclose(eyelets.points[:, 1], -4.5, atol=1e-12)
    with pytest.raises(RequestError, match="distance from the crest"):
        eyelets_in_scallops(found, course, eyelet_size(4.0), from_crest=-1.0)


def test_every_so_many() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=10))
    assert eyelets_in_scallops(found, course, eyelet_size(3.0), every=3).scallop.tolist() == [1, 4, 7, 10]
    assert eyelets_in_scallops(found, course, eyelet_size(3.0), every=2, first=2).scallop.tolist() == [2, 4, 6, 8, 10]
    assert len(eyelets_in_scallops(found, course, eyelet_size(3.0), first=11)) == 0
    with pytest.raises(RequestError, match="whole numbers from 1"):
        eyelets_in_scallops(found, course, eyelet_size(3.0), every=0)


def test_half_a_scallop_has_its_eyelet_on_the_mirror_line() -> None:
    stops = (Stop("side", 0.0, VALLEY), Stop("front", 300.0, CREST, mirror=(1.0, 0.0), fold=True))
    course, found = trimmed(LINE, Wish(ARC, count=10.5), stops)
    assert found.row.part.tolist() == [WHOLE] * 10 + [FIRST_HALF]
    eyelets = eyelets_in_scallops(found, course, eyelet_size(3.0), margin=3.0)
    assert len(eyelets) == 11
    assert np.allclose(eyelets.points[-1, 0], 300.0, atol=1e-9)
    # As far below its crest as all others: the half that is not drawn is taken along.
    assert np.allclose(eyelets.points[:, 1], eyelets.points[0, 1], atol=1e-6)
    assert eyelets.s[-1] == pytest.approx(300.0)
    assert len(eyelets_in_scallops(found, course, eyelet_size(3.0), margin=3.0, halves=False)) == 10


def test_free_stretches_of_the_edge_are_stitching_lines_too() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=5, space=40.0))
    lines = stitching_lines(found, course)
    assert len(lines) == 5 + 4
    assert measure(np.concatenate(lines[5:])).length == pytest.approx(160.0)
    gaps = (Stop("a", 0.0, VALLEY, gap=12.0), Stop("b", 300.0, VALLEY, gap=20.0))
    course, found = trimmed(LINE, Wish(ARC, count=5), gaps)
    assert sorted(measure(line).length for line in stitching_lines(found, course))[:2] == pytest.approx([12.0, 20.0])
    round_course, all_round = trimmed(circle(80.0, True), Wish(ARC, count=8, space=20.0), loop=True)
    lines = stitching_lines(all_round, round_course)
    assert len(lines) == 16
    straight = [np.hypot(*(line[-1, 3] - line[0, 0])) for line in lines[8:]]
    assert np.allclose(straight, 20.0, atol=1e-6)
    on_circle = [np.hypot(*cubics.flatten(line, 1e-3).T) for line in lines[8:]]
    assert np.allclose(np.concatenate(on_circle), 80.0, atol=1e-6)


def on_a_cone(hold: str, wish: Wish) -> tuple[Course, Scallops]:
    curve, closing = fan(80.0, 2.0)
    course = Course(measure(curve, closing), True, 1)
    return course, scallops(fit(course, (Stop("joint", 0.0, hold),), wish).row, wish.shape, 1, closing=closing)


@pytest.mark.parametrize("hold", [VALLEY, CREST])
def test_spaces_run_on_along_the_rim_where_a_cone_is_closed(hold: str) -> None:
    course, found = on_a_cone(hold, Wish(ARC, count=6, space=12.0))
    between = links(found, course)
    m = course.measured
    following = [*found.row.start[1:], m.carried(found.row.start[0])]
    for i, link in enumerate(between):
        assert link is not None
        assert np.allclose(link[[0, -1], [0, 3]], [found.row.end[i], following[i]], atol=1e-6)
        assert measure(link).length == pytest.approx(160.0 * math.asin(12.0 / 160.0), rel=1e-8)


def test_a_gap_where_a_cone_is_closed_ends_the_line() -> None:
    curve, closing = fan(80.0, 2.0)
    course = Course(measure(curve, closing), True, 1)
    stops = (Stop("joint", 0.0, VALLEY, gap=5.0),)
    found = scallops(fit(course, stops, Wish(ARC, count=6)).row, ARC, 1, closing=closing)
    assert [link is None for link in links(found, course, stops)] == [False] * 5 + [True]
    # Unless the line is to show what the gap leaves of the edge.
    (*_, over) = links(found, course)
    assert over is not None
    assert measure(over).length == pytest.approx(10.0, rel=1e-9)


def test_eyelets_by_the_closing_of_a_loop_keep_clear_of_what_lies_beyond_it() -> None:
    """One side of a square and a quarter turn are the square: in its corner there is no more room than there."""
    side, closing = cubics.lines([(0.0, 0.0), (100.0, 0.0)]), turn(0.5 * math.pi, (50.0, 50.0))
    course = Course(measure(side, closing), True, 1)
    row = fit(course, (Stop("c0", 0.0, VALLEY),), Wish(ARC, count=4)).row
    found = scallops(row, ARC, 1, closing=closing)
    square = cubics.lines([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 0.0)])
    corners = tuple(Stop(f"c{i}", 100.0 * i, VALLEY) for i in range(4))
    all_round, whole = trimmed(square, Wish(ARC, count=16), corners, loop=True)
    small = eyelets_in_scallops(found, course, eyelet_size(9.0), margin=4.5)
    as_there = eyelets_in_scallops(whole, all_round, eyelet_size(9.0), margin=4.5)
    assert np.allclose(small.points, as_there.points[:4], atol=CLEAR)
    for each, along in ((whole, all_round), (found, course)):
        # 19 mm from the valleys on both sides of the corner, 25 mm from it, nothing on the axis is.
        with pytest.raises(NoFitError):
            eyelets_in_scallops(each, along, eyelet_size(15.0), margin=4.0)


def test_no_place_on_a_small_round_piece() -> None:
    course, found = trimmed(circle(20.0, True), Wish(ARC, count=6), loop=True)
    with pytest.raises(NoFitError, match="no place for a flange of 60 mm that keeps 2 mm clear") as refusal:
        eyelets_in_scallops(found, course, eyelet_size(30.0), margin=2.0)
    # Beyond the other side of the piece a place would be free, but there is no cloth.
    largest = float(str(refusal.value).split("valley line is ")[1].split(" mm")[0])
    lines, depth = stitching_lines(found, course), float(found.depth[0])
    for flange, near in ((largest, False), (largest + 0.02, True)):
        eyelets = eyelets_in_scallops(found, course, eyelet_size(4.0, flange=flange), from_crest=depth)
        codes = [warning.code for warning in eyelet_warnings(eyelets, lines, margin=2.0)]
        assert ("eyelet-near-line" in codes) == near
    with pytest.raises(NoFitError, match="smaller margin"):
        eyelets_in_scallops(found, course, eyelet_size(4.0), margin=30.0)


@pytest.mark.parametrize("outwards", [True, False])
def test_round_edges(outwards: bool) -> None:
    course, found = trimmed(circle(120.0, outwards), Wish(ARC, count=24), loop=True)
    eyelets = eyelets_in_scallops(found, course, eyelet_size(9.0))
    lines = MultiLineString([cubics.flatten(line, 1e-5) for line in found.curves()])
    assert min(lines.distance(Point(p)) for p in eyelets.points) == pytest.approx(15.0, abs=CLEAR)
    away = np.hypot(*eyelets.points.T)
    assert np.ptp(away) < 1e-6, "all alike"
    # The cloth lies within a circle that bulges outwards, and round one that bulges into its middle.
    assert (away[0] < 120.0) == outwards
    assert np.allclose(eyelets.s, (np.arange(24) + 0.5) * course.measured.length / 24.0, atol=1e-6)


EDGE = st.tuples(
    st.floats(-60.0, 60.0), st.floats(-60.0, 60.0), st.floats(150.0, 320.0), st.sampled_from([0.0, 9.0, 25.0])
)
PROFILE = st.sampled_from(["arc", "half-circle", "pointed-arch", "double-curve", "wave", "point"])


@given(EDGE, PROFILE, st.floats(0.2, 0.6), st.integers(3, 9), st.floats(1.0, 10.0), st.floats(0.0, 9.0))
@settings(max_examples=60, deadline=None)
def test_clear_of_every_stitching_line_and_no_nearer_place(
    edge: tuple[float, float, float, float], profile: str, share: float, count: int, opening: float, margin: float
) -> None:
    up, down, length, gap = edge
    curve = np.array([[(0.0, 0.0), (length / 3.0, up), (length / 1.5, down), (length, 0.0)]])
    shape = Shape(profile, "share", share)
    stops = (Stop("a", 0.0, VALLEY, gap=gap), Stop("b", measure(curve).length, VALLEY))
    try:
        course, found = trimmed(curve, Wish(shape, count=count), stops)
    except NoFitError:
        assume(False)
    size = eyelet_size(opening)
    reach = 0.5 * size.flange + margin
    eyelets = eyelets_in_scallops(found, course, size, margin=margin)
    drawn = list(found.curves()) + ([course.measured.part(0.0, gap)] if gap else [])
    lines = MultiLineString([cubics.flatten(line, 1e-5) for line in drawn])
    below = ((found.crest - eyelets.points) * found.axis).sum(axis=1)
    assert np.allclose(found.crest - below[:, None] * found.axis, eyelets.points, atol=1e-9), "on the axis"
    for i, place in enumerate(eyelets.points):
        assert lines.distance(Point(place)) > reach - CLEAR
        # Nearer places, but for the hundredth of a millimetre that is promised.
        nearer = np.linspace(0.0, 1.0, 40) * (below[i] - reach - 0.01) + reach if below[i] > reach + 0.01 else []
        for t in nearer:
            assert lines.distance(Point(found.crest[i] - t * found.axis[i])) < reach
        assert below[i] >= reach - 1e-9


@given(st.floats(-3.0, 3.0), st.floats(-500.0, 500.0), st.floats(-500.0, 500.0), st.floats(2.0, 9.0))
@settings(max_examples=20, deadline=None)
def test_moved_with_the_cloth(angle: float, x: float, y: float, opening: float) -> None:
    c, s = math.cos(angle), math.sin(angle)
    turn = np.array([(c, s), (-s, c)])
    curve = np.array([[(0.0, 0.0), (80.0, 50.0), (160.0, -40.0), (260.0, 10.0)]])
    wish = Wish(ARC, count=7)
    course, here = trimmed(curve, wish)
    other, there = trimmed(curve @ turn + (x, y), wish)
    size = eyelet_size(opening)
    one, two = eyelets_in_scallops(here, course, size, 5.0), eyelets_in_scallops(there, other, size, 5.0)
    assert np.allclose(one.points @ turn + (x, y), two.points, atol=1e-6)
    along, moved = eyelets_along(course, size, target=30.0), eyelets_along(other, size, target=30.0)
    assert np.allclose(along.points @ turn + (x, y), moved.points, atol=1e-6)


# along an edge


def test_first_and_last_stand_at_their_distances() -> None:
    course = Course(measure(LINE), False, 1)
    eyelets = eyelets_along(course, eyelet_size(4.0), target=40.0, ends=(15.0, 5.0), margin=3.0)
    assert np.allclose(eyelets.s, 15.0 + 40.0 * np.arange(8))
    # The left hand of a walk along +x is at -y: the cloth lies at +y, half a flange and the margin away.
    assert np.allclose(eyelets.points, np.stack([eyelets.s, np.full(8, 7.0)], axis=1))
    other = eyelets_along(Course(measure(LINE), False, -1), eyelet_size(4.0), target=40.0, ends=(15.0, 5.0), inset=9.0)
    assert np.allclose(other.points[:, 1], -9.0)
    assert not other.scallop.any()


def test_counts_along_an_edge() -> None:
    course, size = Course(measure(LINE), False, 1), eyelet_size(4.0)
    assert np.allclose(eyelets_along(course, size, count=5).s, [0.0, 75.0, 150.0, 225.0, 300.0])
    assert np.allclose(eyelets_along(course, size, count=1, ends=(0.0, 100.0)).s, [100.0])
    assert len(eyelets_along(course, size, largest=30.0)) == 11
    ring = Course(measure(circle(50.0, True), IDENTITY), True, 1)
    assert len(eyelets_along(ring, size, count=5)) == 5
    assert np.allclose(np.hypot(*eyelets_along(ring, size, count=5, inset=8.0).points.T), 42.0)
    assert eyelets_along(ring, size, count=4, ends=(10.0, 0.0)).s[0] == pytest.approx(10.0)


@pytest.mark.parametrize("loop", [False, True])
def test_equal_straight_distances(loop: bool) -> None:
    half = np.array([[(0.0, 0.0), (60.0, -90.0), (120.0, 40.0), (200.0, 0.0)]])
    curve = (
        np.concatenate([half, cubics.lines([(200.0, 0.0), (180.0, 200.0), (0.0, 180.0), (0.0, 0.0)])]) if loop else half
    )
    course = Course(measure(curve, IDENTITY if loop else None), loop, 1)
    eyelets = eyelets_along(course, eyelet_size(4.0), count=7, ends=(12.0, 12.0), inset=0.0, chord=True)
    step = np.hypot(*np.diff(np.concatenate([eyelets.points, eyelets.points[:1]]), axis=0).T)[: 7 if loop else 6]
    assert np.ptp(step) < 1e-8 * step[0]
    assert eyelets.s[0] == pytest.approx(12.0)
    if not loop:
        assert eyelets.s[-1] == pytest.approx(course.measured.length - 12.0)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"count": 3, "ends": (200.0, 150.0)}, "more than the edge has"),
        ({"count": 0}, "no number of eyelets"),
        ({"count": 3, "ends": (-1.0, 0.0)}, "distance from the end"),
        ({"count": 3, "inset": -2.0}, "inset of -2"),
        ({}, "how far apart"),
    ],
)
def test_requests_along_an_edge_without_an_answer(asked: dict[str, object], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        eyelets_along(Course(measure(LINE), False, 1), eyelet_size(4.0), **asked)  # type: ignore[arg-type]


def test_two_chords_do_not_go_round() -> None:
    with pytest.raises(RequestError, match="3 eyelets or more"):
        eyelets_along(Course(measure(circle(50.0, True), IDENTITY), True, 1), eyelet_size(4.0), count=2, chord=True)


# warnings


def test_places_that_were_found_need_no_warning() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(9.0))
    assert eyelet_warnings(eyelets, stitching_lines(found, course)) == ()
    assert eyelet_warnings(eyelets_in_scallops(found, course, eyelet_size(3.0), first=11), []) == ()


def test_too_near_the_line() -> None:
    course, found = trimmed(LINE, Wish(ARC, count=10))
    eyelets = eyelets_in_scallops(found, course, eyelet_size(4.0), from_crest=6.0)
    (warning,) = eyelet_warnings(eyelets, stitching_lines(found, course), margin=3.0, piece="hem")
    assert (warning.code, warning.piece) == ("eyelet-near-line", "hem")
    # 6 mm below the crest, a flange of radius 4.
    assert "is 2.00 mm from the stitching line" in warning.message
    assert "10 of 10 keep less than the 3 mm asked" in warning.message
    assert [warning.x, warning.y] in eyelets.points.tolist()
    over = eyelets_in_scallops(found, course, eyelet_size(4.0), from_crest=2.5)
    (warning,) = eyelet_warnings(over, stitching_lines(found, course), margin=3.0)
    assert "reaches 1.50 mm over the stitching line" in warning.message


def test_too_near_each_other() -> None:
    course = Course(measure(LINE), False, 1)
    eyelets = eyelets_along(course, eyelet_size(4.0), count=31, inset=20.0)
    # 10 mm apart, flanges 8 mm wide.
    (warning,) = eyelet_warnings(eyelets, [LINE], margin=6.0)
    assert warning.code == "eyelets-close"
    assert "2.00 mm from that of eyelet" in warning.message
    assert "31 of 31" in warning.message
    assert eyelet_warnings(eyelets, [LINE], margin=2.0) == ()
    crowded = eyelets_along(course, eyelet_size(4.0), count=61, inset=20.0)
    (warning,) = eyelet_warnings(crowded, [LINE], margin=0.0)
    assert "reaches 3.00 mm over that of eyelet" in warning.message


def test_too_near_each_other_across_the_closing() -> None:
    curve, closing = fan(80.0, 2.0)
    course = Course(measure(curve, closing), True, 1)
    # Chords of 80 sin 0.05 on the inner circle, 40 mm inside; the last and the first are next to each other too.
    eyelets = eyelets_along(course, eyelet_size(4.0), count=20, inset=40.0, chord=True)
    ends = type(eyelets)(eyelets.points[[0, 19]], eyelets.s[[0, 19]], eyelets.scallop[[0, 19]], eyelets.size)
    assert eyelet_warnings(ends, [curve], margin=0.0) == ()
    (warning,) = eyelet_warnings(ends, [curve], margin=0.0, closing=closing)
    assert f"reaches {8.0 - 80.0 * math.sin(0.05):.2f} mm over that of eyelet 2" in warning.message
    assert len(eyelet_warnings(eyelets, [curve], margin=0.0, closing=closing)) == 1


@given(st.lists(st.tuples(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0)), min_size=2, max_size=12), st.booleans())
@settings(max_examples=40, deadline=None)
def test_the_nearest_pair_of_all_is_found(places: list[tuple[float, float]], turned: bool) -> None:
    curve = cubics.lines([(0.0, 0.0), (1.0, 0.0)])
    points = np.array(places)[:, ::-1] if turned else np.array(places)
    one = eyelets_along(Course(measure(curve), False, 1), eyelet_size(4.0), count=1)
    eyelets = type(one)(points, np.zeros(len(points)), np.zeros(len(points), dtype=np.intp), one.size)
    away = np.hypot(*(points[:, None] - points).transpose(2, 0, 1))[np.triu_indices(len(points), 1)].min() - 8.0
    assume(abs(away - 6.0) > 0.01)
    warnings = eyelet_warnings(eyelets, [])
    assert bool(warnings) == (away < 6.0)
    if warnings:
        assert f"{abs(away):.2f} mm" in warnings[0].message
