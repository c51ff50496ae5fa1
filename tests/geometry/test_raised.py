"""Base lines that carry a point on the curve: closed forms, conditions, evenness, and rows that do not exist."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from scallopkit.geometry import cubics
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import Measured, measure
from scallopkit.geometry.motion import IDENTITY, apply, compose, inverse, scaled, turned
from scallopkit.geometry.nearest import nearest
from scallopkit.geometry.raised import Bases, Heights, Line, Mirror, Peak, Raised, feet, lay, lay_sliding

from ..shapes import fan

TURN = 2.0 * math.pi
# Circles are drawn to this, so that what is measured is the solver.
FINE = 1e-9


def in_share(share: float) -> Heights:
    return lambda size: (share * size, np.full(len(size), share))


def ellipse(a: float, b: float, start: float = 0.0) -> Measured:
    return measure(ellipse_arc((3.0, -8.0), (a, b), 0.2, start, TURN, FINE), IDENTITY)


def wave(lift: float = 60.0) -> Measured:
    return measure(
        np.array([[(0, 0), (90, -lift), (150, lift), (250, 10)], [(250, 10), (350, -40), (420, 80), (500, 0)]])
    )


def across(m: Measured, node: int, s: float) -> Line:
    at = np.array([s])
    return Line(node, m.points(at)[0], m.tangents(at)[0])


def bases(m: Measured, n: int, share: float = 0.4, side: int = 1, loop: bool = False) -> Bases:
    """Equal base lines between the lines across both ends, or round a loop from the line across its first point."""
    lines = (across(m, 0, 0.0),) if loop else (across(m, 0, 0.0), across(m, n, m.length))
    start, width = np.linspace(0.0, m.length, n + 1), np.array([m.length / n])
    none = np.zeros(n)
    return Bases(side, loop, np.ones((n, 1)), none, none, 0.5, in_share(share), start, width, lines)


def solved(m: Measured, wanted: Bases) -> Raised:
    found = lay(m, wanted)
    assert found is not None
    chord = np.diff(found.valleys, axis=0)
    size = np.hypot(*chord.T)
    asked = wanted.share @ found.widths
    # The promise for chords is 1e-9 of the width; Newton leaves 1e-10 at most.
    assert np.abs(size - wanted.lead - asked - wanted.trail).max() <= 1e-9 * asked.min()
    unit = chord / size[:, None]
    along = (wanted.lead + wanted.peak * asked)[:, None] * unit
    raised = found.valleys[:-1] + along + wanted.heights(asked)[0][:, None] * wanted.side * cubics.left(unit)
    # The promise for what touches the edge is 1e-6 mm.
    assert nearest(m.curve, raised).distance.max() <= 1e-6
    assert (np.diff(found.s) > 0.0).all()
    return found


def zigzag(found: Raised) -> float:
    """The second difference of the distances, at its largest, as a share of the width."""
    return float(np.abs(np.diff(found.away, 2)).max() / found.widths.min())


@pytest.mark.parametrize("n", [1, 2, 7, 40])
@pytest.mark.parametrize("side", [1, -1])
def test_under_a_straight_line_all_valleys_lie_at_the_height(n: int, side: int) -> None:
    m = measure(cubics.lines([(0.0, 0.0), (280.0, 0.0)]))
    found = solved(m, bases(m, n, side=side))
    w = 280.0 / n
    # y runs down, so what bulges to the left of a walk to the right has its valleys at positive y.
    expected = np.stack([np.linspace(0.0, 280.0, n + 1), np.full(n + 1, side * 0.4 * w)], axis=1)
    assert found.widths[0] == pytest.approx(w, rel=1e-11)
    np.testing.assert_allclose(found.valleys, expected, atol=1e-9)


@pytest.mark.parametrize("n", [3, 4, 5, 12, 13, 60, 61])
@pytest.mark.parametrize(("share", "outward"), [(0.4, True), (0.2, True), (0.1, False)])
def test_round_a_circle_the_valleys_are_a_regular_polygon(n: int, share: float, outward: bool) -> None:
    m = measure(ellipse_arc((10.0, 20.0), (100.0, 100.0), 0.0, 0.0, TURN, FINE), IDENTITY)
    found = solved(m, bases(m, n, share, side=1 if outward else -1, loop=True))
    # With half the angle of a side, a, and valleys on a circle of radius r: r cos a + d = R (minus d when the raised
    # points look inward), the side is w = 2 r sin a, and d = share w.
    a, sense = math.pi / n, 1.0 if outward else -1.0
    r = 100.0 / (math.cos(a) + sense * 2.0 * share * math.sin(a))
    radius = np.hypot(*(found.valleys - (10.0, 20.0)).T)
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(a), rel=1e-9)
    # Zigzags of any size close round an even polygon; the even one must be found.
    np.testing.assert_allclose(radius, r, rtol=1e-7)
    np.testing.assert_allclose(found.valleys[-1], found.valleys[0], atol=1e-8)


@pytest.mark.parametrize(("sweep", "n"), [(0.5, 4), (1.5, 9), (3.0, 10), (4.5, 30)])
def test_an_arc_between_its_radii_has_its_valleys_on_a_circle(sweep: float, n: int) -> None:
    m = measure(ellipse_arc((0.0, 0.0), (80.0, 80.0), 0.0, 0.3, sweep, FINE))
    found = solved(m, bases(m, n))
    a = 0.5 * sweep / n
    r = 80.0 / (math.cos(a) + 0.8 * math.sin(a))
    np.testing.assert_allclose(np.hypot(*found.valleys.T), r, rtol=1e-8)
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(a), rel=1e-9)


@pytest.mark.parametrize("n", [8, 9, 20, 21, 80])
def test_a_wavy_line_ends_on_its_end_lines_and_does_not_zigzag(n: int) -> None:
    m = wave()
    wanted = bases(m, n)
    found = solved(m, wanted)
    for c in wanted.conditions:
        assert isinstance(c, Line)
        assert abs(float(c.normal @ (found.valleys[c.node] - c.point))) < 1e-9
    # What is left is the wave's own doing: its crests turn by up to a radian within the widest base line, and the
    # distances follow its curvature, which fades with the square of the width.
    assert zigzag(found) <= 12.0 / n


@pytest.mark.parametrize("move", [-0.3, -0.01, 0.01, 0.3])
def test_no_other_row_between_the_same_ends_is_more_even(move: float) -> None:
    m, n = wave(), 17
    wanted = bases(m, n)
    found = solved(m, wanted)

    def unevenness(row: Raised) -> float:
        return float((np.diff(row.away) ** 2).sum())

    first = wanted.conditions[0]
    assert isinstance(first, Line)
    # The one freedom is the slide of the first valley along its line: nail it elsewhere.
    nail = Line(0, found.valleys[0] + move * cubics.left(first.normal), cubics.left(first.normal))
    other = solved(m, replace(wanted, conditions=(*wanted.conditions, nail)))
    assert np.abs(np.diff(other.away - found.away)).max() > 1.5 * abs(move)
    assert unevenness(other) > unevenness(found)


def test_an_even_count_round_an_ellipse_closes_only_from_some_starts() -> None:
    off_axis = ellipse(150.0, 90.0, start=0.3)
    wanted = bases(off_axis, 24, loop=True)
    assert lay(off_axis, wanted) is None
    found = lay_sliding(off_axis, wanted)
    assert found is not None
    on_axis = ellipse(150.0, 90.0)
    symmetric = [solved(on_axis, replace(bases(on_axis, 24, loop=True)))]
    half = on_axis.length / 48
    shifted = replace(bases(on_axis, 24, loop=True), start=np.linspace(half, half + on_axis.length, 25), conditions=())
    third = lay(on_axis, replace(shifted, conditions=(across(on_axis, 0, half),)))
    symmetric += [third] if third is not None else []
    # It slides to where the row is its own mirror image.
    off = min(abs(found.widths[0] / row.widths[0] - 1.0) for row in symmetric)
    assert off < 1e-2
    np.testing.assert_allclose(found.valleys[-1], found.valleys[0], atol=1e-8)
    radii = np.hypot(*(found.valleys[:-1] - (3.0, -8.0)).T)
    # Half a turn on, the ellipse is the same, and so is the row.
    np.testing.assert_allclose(radii[:12], radii[12:], atol=1e-6)


@pytest.mark.parametrize("n", [15, 21, 41, 101])
def test_round_an_ellipse(n: int) -> None:
    m = ellipse(150.0, 120.0, start=0.3)
    wanted = bases(m, n, loop=True)
    found = solved(m, wanted)
    np.testing.assert_allclose(found.valleys[-1], found.valleys[0], atol=1e-8)
    # The curvature changes by a factor of (150 / 120)^3 from axis to axis.
    assert zigzag(found) <= 3.0 / n


@pytest.mark.parametrize("n", [3, 4, 12, 13, 60])
@pytest.mark.parametrize("angle", [0.9, 2.5, 5.0])
@pytest.mark.parametrize("shift", [0.0, 0.3])
def test_round_the_rim_of_a_cone_the_valleys_are_an_even_fan(n: int, angle: float, shift: float) -> None:
    m = measure(*fan(100.0, angle, (10.0, 20.0)))
    start = np.linspace(shift, 1.0 + shift, n + 1) * m.length
    wanted = replace(bases(m, n, 0.3, loop=True), start=start, conditions=(across(m, 0, shift * m.length),))
    found = solved_round(m, wanted)
    a = 0.5 * angle / n
    r = 100.0 / (math.cos(a) + 0.6 * math.sin(a))
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(a), rel=1e-9)
    np.testing.assert_allclose(np.hypot(*(found.valleys - (10.0, 20.0)).T), r, rtol=1e-7)


@pytest.mark.parametrize("n", [7, 10])
def test_a_raised_point_held_where_a_cone_is_closed(n: int) -> None:
    m = measure(*fan(100.0, 2.5))
    w = m.length / n
    start = np.linspace(0.5 * w, m.length + 0.5 * w, n + 1)
    wanted = replace(bases(m, n, 0.3, loop=True), start=start, conditions=(Peak(n - 1, m.length),))
    found = solved_round(m, wanted)
    a = 1.25 / n
    assert found.widths[0] == pytest.approx(200.0 * math.sin(a) / (math.cos(a) + 0.6 * math.sin(a)), rel=1e-9)
    assert found.s[-1] == m.length
    joint = m.points(np.array([m.length]))
    before, after = np.hypot(*(found.valleys[-2:] - joint).T)
    assert before == pytest.approx(after, rel=1e-9)


@pytest.mark.parametrize(("b", "slides"), [(150.0, False), (90.0, True)])
def test_half_an_oval_closed_by_half_a_turn_is_the_oval(b: float, slides: bool) -> None:
    """The oval takes 24 base lines only from certain starts, and half of it 12 likewise, however it lies."""
    whole, n = ellipse(150.0, b, start=0.3), 12
    arc = ellipse_arc((3.0, -8.0), (150.0, b), 0.2, 0.3, 0.5 * TURN, FINE)
    frame = turned(0.8, (40.0, 0.0))
    half = measure(apply(frame, arc), compose(frame, compose(turned(0.5 * TURN, (3.0, -8.0)), inverse(frame))))
    found, all_round = lay(half, bases(half, n, loop=True)), lay(whole, bases(whole, 2 * n, loop=True))
    assert (found is None, all_round is None) == (slides, slides)
    if slides:
        found = lay_sliding(half, bases(half, n, loop=True))
        all_round = lay_sliding(whole, bases(whole, 2 * n, loop=True))
    assert found is not None
    assert all_round is not None
    np.testing.assert_allclose(half.carried(found.valleys[0]), found.valleys[-1], atol=1e-8)
    assert found.widths[0] == pytest.approx(all_round.widths[0], rel=1e-8)
    # Both solvers leave what is free where the distances change least, whose place is known less well than its value.
    np.testing.assert_allclose(found.valleys, apply(frame, all_round.valleys[: n + 1]), atol=1e-5)


@pytest.mark.parametrize(("b", "start", "n"), [(133.69, 3.5606, 24), (66.79, 2.3191, 16)])
def test_of_two_starts_about_as_far_the_nearer_is_taken_however_the_loop_lies(b: float, start: float, n: int) -> None:
    loop, frame = ellipse(150.0, b, start=start), turned(2.5, (500.0, 100.0))
    moved = measure(apply(frame, loop.curve), IDENTITY)
    here, there = lay_sliding(loop, bases(loop, n, loop=True)), lay_sliding(moved, bases(moved, n, loop=True))
    assert here is not None
    assert there is not None
    # On a nearly round loop the start is told to a hundredth of a mm only; the other start is 30 mm away.
    np.testing.assert_allclose(apply(frame, here.valleys), there.valleys, atol=1e-2)


def test_a_row_slides_on_a_third_of_a_round_as_on_the_whole() -> None:
    third = turned(TURN / 3.0)
    first, heading = np.array([100.0, 0.0]), np.array([0.35, 1.0])
    last, later = apply(third, first), third[:, :2] @ heading
    arc = np.array([[first, first + 90.0 * heading, last - 50.0 * later, last]])
    part = measure(arc, third)
    whole = measure(np.concatenate([part.carried(arc, turn) for turn in range(3)]), IDENTITY)
    wanted, all_round = bases(part, 8, 0.3, loop=True), bases(whole, 24, 0.3, loop=True)
    assert lay(part, wanted) is None
    found, thrice = lay_sliding(part, wanted), lay_sliding(whole, all_round)
    assert found is not None
    assert thrice is not None
    np.testing.assert_allclose(part.carried(found.valleys[0]), found.valleys[-1], atol=1e-8)
    assert found.widths[0] == pytest.approx(thrice.widths[0], rel=1e-8)
    # As in the half above, and the ends of both rows are met to 1e-10 of the width.
    np.testing.assert_allclose(found.valleys, thrice.valleys[:9], atol=1e-5)


@settings(max_examples=7, deadline=None)
@given(
    st.floats(80.0, 125.0),
    st.floats(0.1, 6.2),
    st.sampled_from([12, 16, 20]),
    st.floats(-3.0, 3.0),
    st.booleans(),
    st.floats(0.2, 5.0),
)
@example(b=109.6470509052142, start=1.0, n=24, angle=2.5, mirror=False, size=1.0)
def test_where_a_row_slides_to_does_not_depend_on_how_the_loop_lies(
    b: float, start: float, n: int, angle: float, mirror: bool, size: float
) -> None:
    """In the example two places are nearly as near; which one it was went by how the outline was turned."""
    curve = ellipse_arc((3.0, -8.0), (150.0, b), 0.2, start, TURN, FINE)
    frame = compose(turned(angle, (50.0, 20.0)), scaled(-size if mirror else size, size))
    drawn, moved = measure(curve, IDENTITY), measure(apply(frame, curve), IDENTITY)
    found = lay_sliding(drawn, bases(drawn, n, loop=True))
    again = lay_sliding(moved, bases(moved, n, side=-1 if mirror else 1, loop=True))
    assume(found is not None or again is not None)
    assert found is not None
    assert again is not None
    # Where a row closes is found to 1e-10 of the width, and its place along the edge less sharply, as its ends part
    # by hundredths of what it is moved.
    np.testing.assert_allclose(again.valleys, apply(frame, found.valleys), atol=1e-5 * size)


def solved_round(m: Measured, wanted: Bases) -> Raised:
    """The row as `solved`, its raised points looked for on the turns that they lie on."""
    found = lay(m, wanted)
    assert found is not None
    chord = np.diff(found.valleys, axis=0)
    size = np.hypot(*chord.T)
    np.testing.assert_allclose(size, wanted.share @ found.widths, rtol=1e-9)
    height = wanted.heights(size)[0][:, None] * wanted.side
    raised = found.valleys[:-1] + wanted.peak * chord + height * cubics.left(chord / size[:, None])
    # The promise for what touches the edge is 1e-6 mm.
    np.testing.assert_allclose(raised, m.points(found.s), atol=1e-6)
    np.testing.assert_allclose(m.carried(found.valleys[0]), found.valleys[-1], atol=1e-8)
    return found


def test_feet_beyond_the_ends_of_a_loop() -> None:
    m = measure(*fan(100.0, 1.5))
    s = np.array([-0.4, 0.0, 0.3, 1.0, 1.2, 2.6]) * m.length
    np.testing.assert_allclose(feet(m, m.points(s) - 7.0 * m.normals(s), s - 15.0, s + 11.0), s, atol=1e-6)


def test_the_peak_comes_to_its_place() -> None:
    m = wave()
    wanted = bases(m, 11)
    s = 0.42 * m.length
    start = np.concatenate([np.linspace(0.0, s - 20.0, 6), np.linspace(s + 20.0, m.length, 6)])
    share = np.zeros((11, 2))
    share[:5, 0] = share[6:, 1] = 1.0
    share[5] = 0.5
    two = replace(
        wanted, share=share, widths=np.array([40.0, 40.0]), start=start, conditions=(*wanted.conditions, Peak(5, s))
    )
    found = solved(m, two)
    assert found.s[5] == s
    mean = 0.5 * (found.valleys[5] + found.valleys[6])
    unit = (found.valleys[6] - found.valleys[5]) / found.widths.mean()
    top = mean + 0.4 * found.widths.mean() * cubics.left(unit)
    np.testing.assert_allclose(top, m.points(np.array([s]))[0], atol=1e-8)


@pytest.mark.parametrize("n", [0, 1, 6, 11])
def test_mirrors_at_both_ends_of_a_symmetric_arc(n: int) -> None:
    """A quarter of a circle has the even polygon of its whole."""
    m = measure(ellipse_arc((0.0, 0.0), (90.0, 90.0), 0.0, 0.0, 0.5 * math.pi, FINE))
    found = lay(m, mirrored(m, n))
    a = 0.25 * math.pi / (n + 1)
    r = 90.0 / (math.cos(a) + 0.8 * math.sin(a))
    assert found is not None
    assert found.widths[0] == pytest.approx(2.0 * r * math.sin(a), rel=1e-8)
    np.testing.assert_allclose(np.hypot(*found.valleys.T), r, rtol=1e-8)


def test_mirrors_at_both_ends_have_no_row_where_nothing_is_symmetric() -> None:
    assert lay(wave(), mirrored(wave(), 9)) is None


def mirrored(m: Measured, n: int) -> Bases:
    share = np.ones(1)
    ends = m.points(np.array([0.0, m.length]))
    tangents = m.tangents(np.array([0.0, m.length]))
    mirrors = (Mirror(0, ends[0], tangents[0], 1.0, share), Mirror(n, ends[1], tangents[1], -1.0, share))
    w = m.length / (n + 1)
    start: Array = 0.5 * w + w * np.arange(n + 1, dtype=np.float64)
    none = np.zeros(n)
    return Bases(1, False, np.ones((n, 1)), none, none, 0.5, in_share(0.4), start, np.array([w]), mirrors)


def test_lead_and_trail_move_the_raised_point() -> None:
    m = measure(cubics.lines([(0.0, 0.0), (100.0, 0.0)]))
    wanted = replace(bases(m, 4), lead=np.array([0.0, 2.0, 2.0, 2.0]), trail=np.array([2.0, 2.0, 2.0, 0.0]))
    found = solved(m, wanted)
    # Four sizes and three stretches of 4 mm.
    assert found.widths[0] == pytest.approx(22.0, rel=1e-10)
    np.testing.assert_allclose(found.s, [11.0, 37.0, 63.0, 89.0], atol=1e-6)


def test_heights_that_cannot_be_give_no_row() -> None:
    m = wave()
    never = replace(bases(m, 9), heights=lambda size: (np.full(len(size), np.nan), np.zeros(len(size))))
    assert lay(m, never) is None


def test_three_deep_base_lines_do_not_fit_inside_a_circle() -> None:
    """There r (cos 60° - 0.8 sin 60°) = R would need a radius below 0."""
    m = measure(ellipse_arc((0.0, 0.0), (100.0, 100.0), 0.0, 0.0, TURN, FINE), IDENTITY)
    assert lay(m, bases(m, 3, 0.4, side=-1, loop=True)) is None


@settings(max_examples=15, deadline=None)
@given(
    st.integers(9, 25),
    st.floats(10.0, 70.0),
    st.floats(0.1, 0.5),
    st.floats(-3.0, 3.0),
    st.floats(0.1, 10.0),
    st.booleans(),
)
def test_reversed_turned_and_scaled_rows_are_the_same(
    n: int, lift: float, share: float, angle: float, scale: float, back: bool
) -> None:
    m = wave(lift)
    found = lay(m, bases(m, n, share))
    motion = scale * turned(angle, (31.0, -7.0))
    carried = apply(motion, m.curve)
    other = measure(cubics.reverse(carried) if back else carried)
    again = lay(other, bases(other, n, share, side=-1 if back else 1))
    assert (found is None) == (again is None)
    if found is not None and again is not None:
        valleys = again.valleys[::-1] if back else again.valleys
        assert again.widths[0] == pytest.approx(scale * found.widths[0], rel=1e-9)
        # Evenness is a smooth minimum: its place is known to about the root of what its value is known to.
        np.testing.assert_allclose(valleys, apply(motion, found.valleys), atol=1e-6 * scale)


def test_feet_are_the_nearest_places() -> None:
    m = wave()
    s = np.linspace(20.0, m.length - 20.0, 50)
    points: Array = m.points(s) + 6.0 * m.normals(s)
    there = m.points(feet(m, points, s - 15.0, s + 15.0))
    np.testing.assert_allclose(np.hypot(*(there - points).T), nearest(m.curve, points).distance, atol=1e-9)
