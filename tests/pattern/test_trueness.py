"""Trueness of a join, against closed forms, dense samples and what moving or mirroring must not change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc, elliptical_arc
from scallopkit.geometry.cubics import Array, Ints
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import affine, apply, compose, moved, turned
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.corners import turns
from scallopkit.pattern.trueness import REACH, firm_direction, trued, trueness
from tests.shapes import circle, wavy_lines

DOWN = np.array([0.0, 1.0])
JOINT = np.zeros(2)
MIRROR = affine(1.0, 0.0, 0.0, -1.0, 0.0, 0.0)
# Down a ramp of about 10 mm and on, level, 4 mm lower.
STEP = cubics.lines([(0, 0), (9.2, 4), (80, 4)])


def straight(turn: float, before: float = 60.0, after: float = 60.0) -> tuple[Array, Array]:
    """Two straight edges that meet at the origin, the seam downwards; the walk turns to the right by `turn`."""
    a = np.array([-math.cos(turn / 2.0), math.sin(turn / 2.0)])
    b = np.array([math.cos(turn / 2.0), math.sin(turn / 2.0)])
    return cubics.lines([before * a, JOINT]), cubics.lines([JOINT, after * b])


def cut_at(curve: Array, s: float) -> tuple[Array, Array]:
    m = measure(curve)
    return m.part(0.0, s), m.part(s, m.length)


@st.composite
def joins(draw: st.DrawFn) -> tuple[Array, Array]:
    """A wavy line cut somewhere, what lies beyond the cut turned about it by up to 0.4 rad."""
    whole = draw(wavy_lines())
    m = measure(apply(affine(1.0, 0.0, 0.0, 0.4, 0.0, 0.0), whole))
    before, after = cut_at(m.curve, draw(st.floats(25.0, m.length - 25.0)))
    joint = (float(after[0, 0, 0]), float(after[0, 0, 1]))
    bent = apply(turned(draw(st.floats(-0.4, 0.4)), joint), after)
    bent[0, 0] = before[-1, 3]
    return before, bent


def seam(before: Array, after: Array) -> Array:
    """A seam square to the mean direction of the two edges."""
    return cubics.left(firm_direction(after) - firm_direction(cubics.reverse(before)))


def bends(line: Array) -> Array:
    """Cross products of first and second derivative along the line, at 200 places of each segment."""
    t = np.tile(np.linspace(0.0, 1.0, 200), len(line))
    return bends_at(line, np.repeat(np.arange(len(line)), 200), t)


def bends_at(line: Array, segment: Ints, t: Array) -> Array:
    return cubics.cross(cubics.derivative(line, segment, t), cubics.second_derivative(line, segment, t))


def turn_between(arriving: Array, leaving: Array) -> float:
    _, a = cubics.ends_direction(arriving)
    b, _ = cubics.ends_direction(leaving)
    return float(turns(a[None], b[None])[0])


@pytest.mark.parametrize("half", [1e-6, 0.01, 0.2, -0.2, 0.5, -0.9])
def test_two_straight_edges_have_the_dip_of_the_arc_that_touches_both(half: float) -> None:
    """The arc that touches two lines at the distance 20 from where they meet has the radius 20 / tan(a)."""
    found = trueness(*straight(2.0 * half))
    assert found.angle == pytest.approx(2.0 * half, abs=1e-12)
    # The dip r (1 / cos a - 1) is 20 tan(a / 2), which loses no digits at small angles.
    assert found.dip == pytest.approx(20.0 * math.tan(abs(half) / 2.0), abs=1e-9)
    # The walk turns right, so the arc cuts the corner on its right and the joint stands out to the left.
    assert found.side == math.copysign(1, half)
    assert (found.before, found.after) == (20.0, 20.0)
    ends = [[-20.0 * math.cos(half), 20.0 * math.sin(half)], [20.0 * math.cos(half), 20.0 * math.sin(half)]]
    np.testing.assert_allclose([found.line[0, 0], found.line[-1, 3]], ends, atol=1e-9)


def test_straight_on_is_true() -> None:
    found = trueness(*straight(0.0))
    assert (found.angle, found.side) == (0.0, 0)
    assert found.dip <= 1e-12
    np.testing.assert_allclose(found.line[..., 1], 0.0, atol=1e-12)


@pytest.mark.parametrize("angle", [0.3, 1.0, 2.7, 4.0])
@pytest.mark.parametrize("radius", [30.0, 100.0, 400.0])
def test_a_circle_cut_in_two_is_true(radius: float, angle: float) -> None:
    before, after = cut_at(ellipse_arc((0, 0), (radius, radius), 0.0, 0.0, 5.0, 1e-12), angle * radius)
    found = trueness(before, after)
    assert abs(found.angle) <= 1e-9
    assert found.dip <= 1e-9
    assert found.side == 0


def test_a_node_just_beyond_the_cut_makes_no_angle() -> None:
    """The chord over a millimetre of a curve of 30 mm radius leans by 1/60; a smooth node is no reason to take it."""
    before, after = cut_at(circle(30.0), 60.0)
    split = np.concatenate(cut_at(after, 0.4))
    assert abs(trueness(before, split).angle) <= 1e-9


@pytest.mark.parametrize("half", [0.05, -0.3, 0.5, 0.8, 1.2])
def test_the_line_of_a_symmetric_join_is_the_arc(half: float) -> None:
    line = trueness(*straight(2.0 * half)).line
    radius = 20.0 / math.tan(abs(half))
    centre = np.array([0.0, math.copysign(radius / math.cos(half), half)])
    n = 101
    places = cubics.point(line, np.repeat(np.arange(len(line)), n), np.tile(np.linspace(0, 1, n), len(line)))
    np.testing.assert_allclose(np.hypot(*(places - centre).T), radius, atol=1e-3)


@settings(max_examples=30)
@given(joins())
def test_the_dip_is_what_dense_samples_find(join: tuple[Array, Array]) -> None:
    before, after = join
    found = trueness(before, after)
    m, n = measure(before), measure(after)
    near = [m.points(np.linspace(m.length - 20.0, m.length, 4001)), n.points(np.linspace(0.0, 20.0, 4001))]
    places = np.concatenate(near)
    a, b = places[0], places[-1]
    d0, d1 = m.tangents(np.array([m.length - 20.0])), n.tangents(np.array([20.0]))
    chord = (b - a)[None]
    lean = float(turns(d0, chord)[0] + turns(chord, d1)[0]) / 2.0
    radius = float(np.hypot(*chord[0])) / 2.0 / max(math.sin(abs(lean)), 1e-9)
    arc = elliptical_arc((a[0], a[1]), (radius, radius), 0.0, False, lean > 0.0, (b[0], b[1]), 1e-9)
    sampled, hand = farthest(arc, places)
    # The edges come from the joint, which is a sample, or run beside the arc; there the samples, 0.005 mm apart, miss
    # the farthest place by at most 0.0025 mm along, which at the radii here (above 5 mm) is 1e-6 mm across.
    assert found.dip == pytest.approx(sampled, abs=1e-6)
    assert found.side == (hand if found.dip > 1e-6 else 0)


def farthest(arc: Array, places: Array) -> tuple[float, int]:
    """The largest distance of the places from the arc, and the hand on which that place lies."""
    near = nearest(arc, places)
    k = [int(near.distance.argmax())]
    across = cubics.cross(cubics.direction(arc, near.segment[k], near.t[k]), places[k] - near.point[k])
    return float(near.distance[k[0]]), -int(np.sign(across[0]))


@settings(max_examples=40)
@given(joins(), st.floats(0.0, 6.28), st.floats(-500.0, 500.0))
def test_moving_changes_nothing_and_mirroring_only_the_hand(
    join: tuple[Array, Array], angle: float, shift: float
) -> None:
    before, after = join
    found = trueness(before, after)
    motion = compose(moved(shift, -shift), turned(angle))
    there = trueness(apply(motion, before), apply(motion, after))
    mirrored = trueness(apply(MIRROR, before), apply(MIRROR, after))
    # Coordinates of some 1000 mm have steps of 1e-13; arc length adds 1e-9 of 500 mm.
    assert there.angle == pytest.approx(found.angle, abs=1e-9)
    assert there.dip == pytest.approx(found.dip, abs=1e-8)
    assert there.side == found.side
    np.testing.assert_allclose(there.line, apply(motion, found.line), atol=1e-6)
    assert mirrored.angle == pytest.approx(-found.angle, abs=1e-9)
    assert mirrored.dip == pytest.approx(found.dip, abs=1e-8)
    assert mirrored.side == -found.side
    np.testing.assert_allclose(mirrored.line, apply(MIRROR, found.line), atol=1e-6)


@settings(max_examples=40)
@given(joins())
def test_walked_the_other_way_only_the_hand_changes(join: tuple[Array, Array]) -> None:
    before, after = join
    short = measure(before).part(measure(before).length - 12.0, measure(before).length)
    found, back = trueness(short, after), trueness(cubics.reverse(after), cubics.reverse(short))
    assert back.angle == pytest.approx(-found.angle, abs=1e-9)
    assert back.dip == pytest.approx(found.dip, abs=1e-8)
    assert back.side == -found.side
    assert (back.before, back.after) == pytest.approx((found.after, found.before))
    assert found.before == pytest.approx(12.0, abs=1e-6)
    np.testing.assert_allclose(back.line, cubics.reverse(found.line), atol=1e-6)


@settings(max_examples=80)
@given(joins())
def test_trued_edges_meet_smoothly_and_are_left_alone_elsewhere(join: tuple[Array, Array]) -> None:
    before, after = join
    found = trueness(before, after)
    joint, along = after[0, 0], seam(before, after)
    first, last = trued(before, after, joint, along, found)

    assert first[-1, 3].tolist() == last[0, 0].tolist()
    off = cubics.cross(along / np.hypot(*along), last[0, 0] - joint)
    assert abs(off) <= 1e-9
    again = trueness(first, last)
    assert abs(again.angle) <= 1e-6

    for edge, new in ((cubics.reverse(before), cubics.reverse(first)), (after, last)):
        kept = measure(edge).part(REACH, measure(edge).length)
        np.testing.assert_array_equal(new[-len(kept) :], kept)
        # Half a degree is what a hand sees; the line leaves the edges in their own direction.
        assert abs(turn_between(new[: -len(kept)], kept)) <= 1e-9
        np.testing.assert_array_equal(new[1:, 0], new[:-1, 3])


@settings(max_examples=80)
@given(st.floats(0.01, 0.9), st.floats(0.2, 5.0), st.floats(4.0, 60.0), st.booleans())
def test_a_line_between_leans_to_one_hand_never_turns_back(half: float, ratio: float, after: float, left: bool) -> None:
    before = min(max(after * ratio, 4.0), 60.0)
    found = trueness(*straight((-2.0 if left else 2.0) * half, before, after))
    bend = bends(found.line) * (-1.0 if left else 1.0)
    assert (bend > 0.0).all()
    assert (found.before, found.after) == pytest.approx((min(before, REACH), min(after, REACH)))


def test_a_line_between_leans_to_both_hands_turns_once() -> None:
    before = cubics.lines([(-60, 0), (0, 0)])
    after = cubics.lines([(0, 0), (15, 8), (80, 8)])
    signs = np.sign(bends(trueness(before, after, reach=30.0).line))
    assert np.count_nonzero(np.diff(signs[signs != 0.0])) == 1


@pytest.mark.parametrize("lean", [1e-3, 1e-9, 0.0])
def test_a_line_that_leans_at_one_end_only_makes_no_kink(lean: float) -> None:
    """Where one lean is next to nothing the line still bends gently: a lean of 6 degrees by a radius of over 5 mm."""
    before = cubics.lines([(-20.0 * math.cos(0.1), 20.0 * math.sin(0.1)), (0, 0)])
    goal = before[0, 0] + 40.0 * np.array([math.cos(lean), -math.sin(lean)])
    end = cubics.lines([goal, goal + np.array([30.0, 0.0])])
    after = np.concatenate([cubics.lines([(0, 0), goal]), end])
    reach = float(np.hypot(*goal))
    line = trueness(before, after, reach).line
    t = np.linspace(0.0, 1.0, 400)
    number = np.zeros(400, dtype=np.intp)
    speed = np.hypot(*cubics.derivative(line, number, t).T)
    assert (np.abs(bends_at(line, number, t)) / speed**3).max() < 1.0 / 5.0


def test_the_distance_to_the_arc_is_taken_from_its_end_where_an_edge_overshoots_it() -> None:
    """The edge doubles back twice: it ends 8 mm beyond the joint, and its farthest place lies 1 mm beyond that."""
    found = trueness(cubics.lines([(-60, 0), (0, 0)]), cubics.lines([(0, 0), (9, 0), (3, 0), (50, 0)]))
    assert found.dip == pytest.approx(1.0, abs=1e-9)


def test_a_short_edge_is_taken_whole() -> None:
    before, after = straight(0.3, before=7.0)
    found = trueness(before, after)
    assert (found.before, found.after) == pytest.approx((7.0, 20.0))
    first, last = trued(before, after, JOINT, DOWN, found)
    assert first[0, 0].tolist() == before[0, 0].tolist()
    assert last[-1, 3].tolist() == after[-1, 3].tolist()
    start, _ = cubics.ends_direction(first)
    np.testing.assert_allclose(start, firm_direction(before), atol=1e-12)


def test_a_stray_node_at_the_joint_tells_nothing_of_the_direction() -> None:
    """A hair of 0.01 mm leans the chord over a millimetre by 0.01 at most; its own tangent leans by 0.93."""
    after = cubics.lines([(0, 0), (0.006, 0.008), (50, 0)])
    found = trueness(cubics.lines([(-50, 0), (0, 0)]), after)
    assert 0.0 < abs(found.angle) <= 0.01


def test_a_smooth_hook_at_the_joint_tells_nothing_of_the_direction() -> None:
    hook = np.array([[(0, 0), (0, 0.01), (0.005, 0.01), (0.02, 0.01)], [(0.02, 0.01), (10, 0.01), (20, 0), (50, 0)]])
    assert firm_direction(hook)[1] <= 0.0101
    assert cubics.ends_direction(hook)[0][1] == 1.0


def test_a_first_segment_of_a_millimetre_has_its_own_direction() -> None:
    long, short = cubics.lines([(0, 0), (0.6, 0.8), (50, 0)]), cubics.lines([(0, 0), (0.54, 0.72), (50, 0)])
    np.testing.assert_allclose(firm_direction(long), (0.6, 0.8), atol=1e-12)
    # The place a millimetre along lies 0.1 mm beyond the node.
    place = np.array([0.54, 0.72]) + 0.1 * np.array([49.46, -0.72]) / math.hypot(49.46, 0.72)
    np.testing.assert_allclose(firm_direction(short), place / np.hypot(*place), atol=1e-9)


def test_a_curve_shorter_than_a_millimetre_has_the_direction_of_its_chord() -> None:
    np.testing.assert_allclose(firm_direction(cubics.lines([(0, 0), (0.3, 0.3), (0.6, 0)])), (1.0, 0.0), atol=1e-12)


def test_segments_without_length_have_no_say_in_the_direction() -> None:
    curve = np.concatenate([np.zeros((1, 4, 2)), cubics.lines([(0, 0), (0, 30)])])
    np.testing.assert_allclose(firm_direction(curve), DOWN, atol=1e-12)


@pytest.mark.parametrize(
    ("edges", "at_middle", "along"),
    [
        pytest.param(straight(0.4), False, (1.0, 0.01), id="passes by"),
        pytest.param(straight(0.4), True, (1.0, 0.0), id="touches"),
        pytest.param(straight(0.0), False, (1.0, 0.0), id="runs along it"),
        # The line drops 4 mm in 39 between level ends: by 0.10 on the whole, by over 0.13 in the middle.
        pytest.param((cubics.lines([(-60, 0), (0, 0)]), STEP), True, (1.0, 0.12), id="crosses three times"),
    ],
)
def test_a_seam_that_the_line_does_not_cross_once_is_refused(
    edges: tuple[Array, Array], at_middle: bool, along: tuple[float, float]
) -> None:
    found = trueness(*edges)
    joint = cubics.point(found.line, np.array([0]), np.array([0.5]))[0] if at_middle else JOINT
    with pytest.raises(RequestError, match="does not cross the seam line exactly once"):
        trued(*edges, joint, np.array(along), found)


@pytest.mark.parametrize("half", [0.1, 0.8, -1.0])
def test_a_symmetric_join_is_parted_on_its_axis_without_crumbs(half: float) -> None:
    """A line of two cubics has its node on the axis: each edge then is what was left of it and one cubic."""
    for angle in np.linspace(0.0, 6.0, 25):
        motion = turned(float(angle))
        before, after = (apply(motion, edge) for edge in straight(2.0 * half))
        level, down = apply(motion, np.array([(1.0, 0.0), (0.0, 1.0)]))
        first, last = trued(before, after, JOINT, down, trueness(before, after))
        assert (len(first), len(last)) == (2, 2)
        assert first[-1, 3].tolist() == last[0, 0].tolist()
        assert abs(cubics.dot(last[0, 0], level)) <= 1e-6
        # The direction of a crumb would be rounding.
        np.testing.assert_allclose(cubics.ends_direction(last)[0], level, atol=1e-6)
        np.testing.assert_allclose(cubics.ends_direction(first)[1], level, atol=1e-6)


def test_edges_that_double_back_are_refused() -> None:
    edge = cubics.lines([(-50, 0), (0, 0)])
    with pytest.raises(RequestError, match="double back"):
        trueness(edge, cubics.reverse(edge))


def test_a_seam_aslant_parts_the_line_where_it_lies() -> None:
    """A straight line through a joint that is true is parted at the joint, however the seam leans."""
    before, after = straight(0.0)
    for angle in (0.5, 1.0, 2.0, 2.6):
        along = np.array([math.cos(angle), math.sin(angle)])
        first, last = trued(before, after, JOINT, along, trueness(before, after))
        np.testing.assert_allclose(first[-1, 3], JOINT, atol=1e-9)
        assert measure(first).length + measure(last).length == pytest.approx(120.0)
