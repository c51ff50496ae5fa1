"""Caps of darts, against closed forms and against paper folded as a dressmaker does: at the centre, at the leg."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.construction.cap import (
    TOWARD_END,
    TOWARD_START,
    Cap,
    dart_cap,
    downward,
    pressed_by_default,
    toward_centre,
)
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.edge import find_edge
from scallopkit.pattern.joins import DART, FOLD, LAP, SEAM, Join
from scallopkit.pattern.laying import LaidRun, lay
from scallopkit.pattern.piece import Mark, Pattern
from scallopkit.pattern.sewing_order import Stretch
from scallopkit.trim.sharing import share_curves
from tests.drawings import page
from tests.shapes import pattern, piece, rectangle, wavy_lines

BOTH = (TOWARD_START, TOWARD_END)
MIRROR = motion.scaled(-1.0, 1.0)
# What is promised of halves that meet, mm.
MEETS = 1e-6


class Dart:
    """A piece under a straight edge, with a dart at x = 0 of the given half angle, `depth` to its apex at the origin.

    In the closed dart the edge is straight, and rises by `slope` beyond each mm; `placed` lays the piece on the sheet.
    """

    def __init__(self, depth: float, half: float, slope: float = 0.0, placed: Array = motion.IDENTITY) -> None:
        self.depth, self.half, self.placed = depth, half, placed
        self.left = motion.compose(placed, motion.turned(-half))
        self.right = motion.compose(placed, motion.turned(half))
        wide, low = 150.0, 300.0
        mouth = np.array([0.0, -depth])
        corners = [
            motion.apply(self.left, mouth + np.array([-wide, slope * wide])),
            motion.apply(self.left, mouth),
            motion.apply(placed, np.zeros(2)),
            motion.apply(self.right, mouth),
            motion.apply(self.right, mouth + np.array([wide, -slope * wide])),
            motion.apply(placed, np.array([wide, low])),
            motion.apply(placed, np.array([-wide, low])),
        ]
        self.pattern = pattern(piece("p", cubics.lines([*corners, corners[0]])))
        self.edges = [find_edge(self.pattern, name) for name in ("p:c0..c1", "p:c3..c4")]

    @cached_property
    def run(self) -> LaidRun:
        return lay([Stretch(edge, edge) for edge in self.edges], [Join(DART)], "edge")

    def flat(self, curve: Array) -> Array:
        """A curve drawn on the closed dart, apex at the origin and edge at the top, in the run's flat frame."""
        joint = self.run.joints[0]
        return np.asarray(
            joint.point + curve[..., :1] * joint.square + (curve[..., 1:] + self.depth) * joint.along, dtype=float
        )

    def cap(self, line: Sequence[Array], toward: int) -> Cap:
        return dart_cap(self.run, 0, [self.flat(curve) for curve in line], toward)


def places(curve: Array) -> Array:
    """Points (k, 2) close together along a curve, its nodes among them."""
    t = np.tile(np.linspace(0.0, 1.0, 41), len(curve))
    return cubics.point(curve, np.repeat(np.arange(len(curve)), 41), t)


def as_complex(points: Array) -> list[complex]:
    return [complex(x, y) for x, y in np.atleast_2d(points).tolist()]


def reflected(z: complex, direction: complex) -> complex:
    """The mirror image in the line through the apex, which is at 0."""
    return direction * (z / direction).conjugate()


def folded(dart: Dart, cap: Cap) -> Array:
    """Where the places of a cap lie once the paper is folded and the leg of the far side is upright again.

    The paper is creased along the dart's centre and the flap is laid on what stays: the far side's.
    """
    back = motion.inverse(dart.placed)
    up = complex(0.0, -1.0)
    out = []
    for z in as_complex(motion.apply(back, places(cap.curve))):
        # To the right of the centre lies what is moved when the left-hand side stays, and the other way round.
        moves = z.real * cap.pressed > 0.0
        flat = reflected(z, up) if moves else z
        out.append(flat * cmath.exp(1j * dart.half * cap.pressed))
    return np.array([(z.real, z.imag) for z in out])


def sheet_angle(dart: Dart, points: Array) -> Array:
    """Angles about the apex from the dart's centre line, positive to its right, in radians."""
    upright = motion.apply(motion.inverse(dart.placed), points)
    return np.arctan2(upright[:, 0], -upright[:, 1])


def straight(depth: float, slope: float, reach: float = 140.0) -> Array:
    return cubics.lines([(-reach, slope * reach - depth), (reach, -slope * reach - depth)])


# --- closed forms ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("toward", BOTH)
@pytest.mark.parametrize("half", [0.05, 0.2, 0.5])
def test_a_straight_edge_square_to_the_dart_gives_a_roof(half: float, toward: int) -> None:
    """The mouth is 2 D sin a wide, D cos a above the apex; the ridge D / cos a, so D sin² a / cos a above the mouth."""
    d = 90.0
    cap = Dart(d, half).cap([straight(d, 0.0)], toward)
    s, c = d * math.sin(half), d * math.cos(half)
    assert cap.curve[:, 0].tolist() == [pytest.approx((-s, -c)), pytest.approx((0.0, -d / math.cos(half)))]
    assert cap.curve[-1, 3] == pytest.approx((s, -c))
    ridge = float(-cap.curve[0, 3, 1] - c)
    assert ridge == pytest.approx(d * math.sin(half) ** 2 / math.cos(half), abs=MEETS)
    assert cap.intake == pytest.approx(2.0 * s)
    assert (cap.pressed, cap.bridge) == (toward, 0.0)


@pytest.mark.parametrize("toward", BOTH)
def test_a_slanting_edge_has_its_ridge_higher_on_the_rising_side(toward: int) -> None:
    """In the triangle of apex, joint and ridge the angles are a, 90° ± b and the rest, and the law of sines holds."""
    d, a, b = 80.0, 0.25, 0.3
    cap = Dart(d, a, math.tan(b)).cap([straight(d, math.tan(b))], toward)
    assert len(cap.curve) == 2
    height = d * math.sin(0.5 * math.pi + toward * b) / math.sin(0.5 * math.pi - toward * b - a)
    assert cap.curve[0, 3] == pytest.approx((0.0, -height), abs=MEETS)
    assert (height > d / math.cos(a)) == (toward == TOWARD_END)


def test_the_line_may_lie_beside_the_edge() -> None:
    """Cut 10 mm outside the edge the same roof stands 10 mm further up the legs."""
    d, a = 90.0, 0.2
    for off in (10.0, -10.0):
        cap = Dart(d, a).cap([straight(d + off, 0.0)], TOWARD_END)
        assert cap.curve[0, 0] == pytest.approx((-(d + off) * math.sin(a), -(d + off) * math.cos(a)), abs=MEETS)
        assert cap.curve[0, 3] == pytest.approx((0.0, -(d + off) / math.cos(a)), abs=MEETS)
        # The intake is that of the edge.
        assert cap.intake == pytest.approx(2.0 * d * math.sin(a))


def test_a_disc_that_closes_on_itself_gets_its_own_arc() -> None:
    """A disc with one dart to its centre is a loop; closed, its edge is an arc about the apex, and so is the cap."""
    half, radius = 0.3, 120.0
    run = disc(half, radius)
    edge = run.parts[0].edge
    assert run.loop
    after = motion.apply(run.closing, edge.curve)
    for toward in BOTH:
        cap = dart_cap(run, 0, [edge.curve, after], toward)
        assert np.hypot(*places(cap.curve).T) == pytest.approx(radius, abs=1e-4)
        assert cap.curve[0, 0] == pytest.approx(edge.curve[-1, 3], abs=MEETS)
        assert cap.curve[-1, 3] == pytest.approx(edge.curve[0, 0], abs=MEETS)
        assert measure(cap.curve).length == pytest.approx(2.0 * half * radius, abs=1e-3)
        assert cap.bridge == 0.0


def disc(half: float, radius: float) -> LaidRun:
    """The rim of a disc from one leg of its only dart round to the other."""
    steps = np.linspace(half, 2.0 * math.pi - half, 13).tolist()
    arc = np.concatenate([arc_of(radius, a, b) for a, b in pairwise(steps)])
    legs = cubics.lines([arc[-1, 3], (0.0, 0.0), arc[0, 0]])
    edge = find_edge(pattern(piece("disc", np.concatenate([arc, legs])), marks=(Mark("m", 0.0, radius),)), "c0..m..c1")
    return lay([Stretch(edge, edge)], [Join(DART)], "rim")


def arc_of(radius: float, start: float, end: float) -> Array:
    """One cubic near a short arc about the origin; angles from the top, clockwise as seen."""
    handle = 4.0 / 3.0 * math.tan(0.25 * (end - start)) * radius
    p = [np.array([math.sin(x), -math.cos(x)]) for x in (start, end)]
    d = [np.array([math.cos(x), math.sin(x)]) for x in (start, end)]
    return np.stack([radius * p[0], radius * p[0] + handle * d[0], radius * p[1] - handle * d[1], radius * p[1]])[None]


# --- folding --------------------------------------------------------------------------------------------------------


@st.composite
def darts(draw: st.DrawFn) -> Dart:
    turn = motion.compose(motion.moved(draw(st.floats(-200.0, 200.0)), 30.0), motion.turned(draw(st.floats(0.0, 6.3))))
    placed = motion.compose(turn, MIRROR) if draw(st.booleans()) else turn
    return Dart(draw(st.floats(60.0, 140.0)), draw(st.floats(0.02, 0.6)), draw(st.floats(-0.4, 0.4)), placed)


@st.composite
def lines_over(draw: st.DrawFn, dart: Dart) -> Array:
    """A wavy line that passes over the closed dart's edge, somewhere in its middle, apex at the origin."""
    wave = draw(wavy_lines())
    span = wave[-1, 3, 0]
    assume(span > 150.0)
    wave = wave - (span * draw(st.floats(0.4, 0.6)), dart.depth)
    near = wave[(wave[:, 0, 0] <= 0.0) & (wave[:, 3, 0] >= 0.0), :, 1]
    assume(near.max() < -0.3 * dart.depth)
    return np.asarray(wave)


@given(st.data(), darts(), st.sampled_from(BOTH))
@settings(max_examples=150)
def test_folded_the_cap_lies_on_the_line(data: st.DataObject, dart: Dart, toward: int) -> None:
    line = data.draw(lines_over(dart))
    # Where a line ends before the fold, the cap goes on straight.
    assume(not dart_is_left_early(dart, line, toward))
    cap = dart.cap(list(line[:, None]), toward)
    flat = folded(dart, cap)
    assert nearest(line, flat).distance.max() < MEETS
    # The intake lies on the side it is pressed to, from the legs to the fold at half the dart's angle.
    turned = np.arctan2(flat[:, 0], -flat[:, 1]) * toward
    assert turned.min() > -1e-8
    assert turned.max() < dart.half + 1e-8


@given(st.data(), darts(), st.sampled_from(BOTH))
@settings(max_examples=150)
def test_the_cap_runs_unbroken_from_leg_to_leg_over_the_centre(data: st.DataObject, dart: Dart, toward: int) -> None:
    line = data.draw(lines_over(dart))
    cap = dart.cap([line], toward)
    assert np.array_equal(cap.curve[1:, 0], cap.curve[:-1, 3])
    assert (np.ptp(cap.curve, axis=1).max(axis=1) > 1e-9).all()
    # It starts and ends where the line of either part does: at its place over the legs, each on its own leg.
    k, t = cubics.meets_line(line, np.zeros(2), np.array([1.0, 0.0]))
    (over,) = np.unique(cubics.point(line, k, t).round(9), axis=0)
    assert cap.curve[0, 0] == pytest.approx(motion.apply(dart.left, over), abs=MEETS)
    assert cap.curve[-1, 3] == pytest.approx(motion.apply(dart.right, over), abs=MEETS)
    angle = sheet_angle(dart, cap.curve[:, 0])
    if not dart_is_left_early(dart, line, toward):
        assert cap.bridge == 0.0
        # One node is on the centre line; all before it are left of it, all after it right.
        centre = int(np.argmin(np.abs(angle)))
        assert abs(angle[centre]) < 1e-8
        assert (angle[:centre] < 1e-8).all()
        assert (angle[centre + 1 :] > -1e-8).all()
    # The two layers are alike: mirrored in the centre line the cap is itself walked back.
    back = motion.apply(motion.compose(dart.placed, motion.compose(MIRROR, motion.inverse(dart.placed))), cap.curve)
    assert cubics.reverse(back) == pytest.approx(cap.curve, abs=MEETS)


def dart_is_left_early(dart: Dart, line: Array, toward: int) -> bool:
    """Whether a line ends before the fold of the intake."""
    points = places(line)
    return bool((np.arctan2(points[:, 0], -points[:, 1]) * toward).max() < dart.half + 1e-6)


@given(st.data(), darts(), st.sampled_from(BOTH))
@settings(max_examples=100)
def test_the_cap_holds_all_of_the_line_over_the_intake(data: st.DataObject, dart: Dart, toward: int) -> None:
    line = data.draw(lines_over(dart))
    assume(not dart_is_left_early(dart, line, toward))
    t = np.tile(np.linspace(0.0, 1.0, 4001), len(line))
    points = cubics.point(line, np.repeat(np.arange(len(line)), 4001), t)[::toward]
    turned = np.arctan2(points[:, 0], -points[:, 1]) * toward
    begin = int(np.argmax(turned > 0.0))
    end = begin + int(np.argmax(turned[begin:] > dart.half))
    length = float(np.hypot(*np.diff(points[begin:end], axis=0).T).sum())
    # Both ends are found to one step of the walk.
    step = float(np.hypot(*np.diff(points, axis=0).T).max())
    assert measure(dart.cap([line], toward).curve).length == pytest.approx(2.0 * length, abs=6.0 * step)


def test_folding_twice_lays_the_other_part_flat() -> None:
    """The fold that the caps are checked with is the dart's: creased at the centre and turned back along the leg."""
    dart = Dart(90.0, 0.3)
    up, leg = complex(0.0, -1.0), complex(-math.sin(0.3), -math.cos(0.3))
    for x, y in ((0.0, -90.0), (60.0, -80.0), (40.0, 30.0)):
        z = as_complex(motion.apply(dart.right, np.array([x, y])))[0]
        flat = reflected(reflected(z, up), leg) * cmath.exp(0.3j)
        assert (flat.real, flat.imag) == pytest.approx((x, y))


@pytest.mark.parametrize("toward", BOTH)
def test_a_line_that_comes_back_over_the_fold_ends_where_it_first_leaves(toward: int) -> None:
    dart = Dart(100.0, 0.2)
    fold = toward * 100.0 * math.tan(0.2)
    zigzag = cubics.lines([(-fold, -100), (0, -100), (1.5 * fold, -100), (0.7 * fold, -110), (3.0 * fold, -120)])
    line = zigzag if toward == TOWARD_END else cubics.reverse(zigzag)
    cap = dart.cap([line], toward)
    assert len(cap.curve) == 2
    assert cap.curve[0, 3] == pytest.approx((0.0, -100.0 / math.cos(0.2)), abs=MEETS)


def test_a_line_that_only_touches_the_fold_does_not_leave_there() -> None:
    a, d = 0.2, 100.0
    touch, corner = d * math.tan(a), 1.02 * d * math.tan(a)
    line = cubics.lines([(-50, -d), (0, -d), (touch, -d), (0.5 * touch, -1.02 * d), (corner, -1.02 * d), (90, -d)])
    cap = Dart(d, a).cap([line], TOWARD_END)
    assert len(cap.curve) == 6
    assert cap.curve[2, 3] == pytest.approx((0.0, -1.02 * d / math.cos(a)), abs=MEETS)


@pytest.mark.parametrize("toward", BOTH)
@pytest.mark.parametrize("off", [3e-8, -3e-8, 1e-13, -1e-13])
def test_nodes_beside_the_legs_and_the_fold_leave_no_slivers(off: float, toward: int) -> None:
    d, a = 100.0, 0.2
    fold = d * math.tan(a)
    nodes = [(x + off, -d) for x in (-2.0 * fold, -fold, 0.0, fold, 2.0 * fold)]
    cap = Dart(d, a).cap([cubics.lines(nodes)], toward)
    assert len(cap.curve) == 2
    assert cap.bridge == 0.0


@pytest.mark.parametrize("toward", BOTH)
def test_rounding_may_part_the_line_at_the_legs(toward: int) -> None:
    """The shares of two parts end a hair short of the leg between them."""
    line = [cubics.lines([(-140, -100), (-1e-9, -100)]), cubics.lines([(1e-9, -100), (140, -100)])]
    cap = Dart(100.0, 0.2).cap(line, toward)
    assert cap.curve[0, 3] == pytest.approx((0.0, -100.0 / math.cos(0.2)), abs=MEETS)


# --- what is less than ideal ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("toward", BOTH)
def test_a_line_that_ends_before_the_fold_is_closed_straight(toward: int) -> None:
    """The bridge stands square to the centre line, twice as long as the end is away from the fold."""
    d, a, reach = 100.0, 0.4, 20.0
    cap = Dart(d, a).cap([straight(d, 0.0, reach)], toward)
    away = d * math.sin(a) - reach * math.cos(a)
    assert cap.bridge == pytest.approx(2.0 * away, abs=MEETS)
    assert len(cap.curve) == 3
    assert cap.curve[1, 0] == pytest.approx((-away, -d * math.cos(a) - reach * math.sin(a)), abs=MEETS)
    assert cap.curve[1, 3] == pytest.approx((away, -d * math.cos(a) - reach * math.sin(a)), abs=MEETS)


def test_a_line_with_a_gap_counts_up_to_the_gap() -> None:
    d = 100.0
    whole, short = straight(d, 0.0), cubics.lines([(-140, -d), (20, -d)])
    broken = [short, cubics.lines([(25, -d), (140, -d)])]
    cap, other = (Dart(d, 0.4).cap(line, TOWARD_END) for line in (broken, [short]))
    assert cap.bridge == other.bridge > 10.0
    assert cap.curve == pytest.approx(other.curve)
    assert Dart(d, 0.4).cap([whole], TOWARD_END).bridge == 0.0


@pytest.mark.parametrize("toward", BOTH)
def test_legs_that_differ_give_a_step_on_the_centre_line(toward: int) -> None:
    """Each layer goes on from its own leg, up to the drawn centre line; the step is the legs' difference over cos a."""
    a, left, right = 0.2, 100.0, 97.0
    mouth = np.array([(-left * math.sin(a), -left * math.cos(a)), (right * math.sin(a), -right * math.cos(a))])
    away = np.array([100.0 * math.cos(a), 100.0 * math.sin(a)])
    ends = [mouth[0] + away * (-1.0, 1.0), mouth[1] + away]
    outline = cubics.lines(np.array([ends[0], mouth[0], (0, 0), mouth[1], ends[1], (150, 300), (-150, 300), ends[0]]))
    one = pattern(piece("p", outline))
    edges = [find_edge(one, name) for name in ("p:c0..c1", "p:c3..c4")]
    run = lay([Stretch(edge, edge) for edge in edges], [Join(DART)], "edge")
    joint = run.joints[0]
    line = cubics.lines([joint.point - 90.0 * joint.square, joint.point + 90.0 * joint.square])
    cap = dart_cap(run, 0, [line], toward)
    assert cap.curve[0, 0] == pytest.approx(mouth[0], abs=MEETS)
    assert cap.curve[-1, 3] == pytest.approx(mouth[1], abs=MEETS)
    assert cap.curve[1, 0] == pytest.approx((0.0, -left / math.cos(a)), abs=MEETS)
    assert cap.curve[1, 3] == pytest.approx((0.0, -right / math.cos(a)), abs=MEETS)
    assert cap.bridge == pytest.approx((left - right) / math.cos(a), abs=MEETS)


@pytest.mark.parametrize(
    "line",
    [
        [],
        # Above the legs there is a gap.
        [cubics.lines([(-80, -100), (-10, -100)]), cubics.lines([(10, -100), (80, -100)])],
        # All of the dart would be cut away.
        [cubics.lines([(-80, 5), (80, 5)])],
        # It ends at the legs.
        [cubics.lines([(-80, -100), (0, -100)])],
    ],
    ids=["none", "gap", "inside-the-apex", "one-side"],
)
def test_without_a_line_over_the_legs_there_is_no_cap(line: list[Array]) -> None:
    with pytest.raises(RequestError, match=r'no trimmed line passes over the closed dart at "c1/c3".*pass over the'):
        Dart(100.0, 0.2).cap(line, TOWARD_END)


@pytest.mark.parametrize("spread", [0.0, 10.0], ids=["parallel", "apart"])
def test_a_dart_whose_legs_never_meet_has_no_intake(spread: float) -> None:
    dart = Dart(100.0, 0.2)
    ends = [dart.edges[0].curve[-1, 3], dart.edges[1].curve[0, 0]]
    first, second = (
        cubics.lines([end, end + np.array([x, 90.0])]) for end, x in zip(ends, (-spread, spread), strict=True)
    )
    run = lay([Stretch(edge, edge) for edge in dart.edges], [Join(DART, legs=(first, second))], "edge")
    with pytest.raises(RequestError, match='the dart at "c1/c3" has no intake between its legs'):
        dart_cap(run, 0, [straight(100.0, 0.0)], TOWARD_END)


def test_only_darts_have_caps_and_only_two_sides() -> None:
    dart = Dart(100.0, 0.2)
    with pytest.raises(ValueError, match="a cap is made at a dart"):
        dart.cap([straight(100.0, 0.0)], 0)
    run = hem(("free", "free"), [SEAM])
    with pytest.raises(ValueError, match="a cap is made at a dart"):
        dart_cap(run, 0, [run.line.curve], TOWARD_END)


# --- with scallops --------------------------------------------------------------------------------------------------

SKIRT = '<path id="skirt" d="M 100,40 L 300,34 L 308,140 L 322,35 L 520,44 L 540,400 H 80 Z"/>'


@pytest.mark.parametrize("toward", BOTH)
@pytest.mark.parametrize("width", [9.0, 27.0, 70.0])
def test_a_cap_joins_the_scallops_of_both_parts(width: float, toward: int) -> None:
    """Intakes of several scallops and of a small part of one."""
    drawing = read_drawing(page(SKIRT).encode(), "a.svg")
    run: Run = scallop(drawing, ["skirt:c0..c1", "skirt:c3..c4"], join="dart", width=width)
    line = [curve for share in run.shares for _, curve in share_curves(run.line, share)]
    cap = dart_cap(run.laid, 0, line, toward)
    before, after = ([curve for _, curve in run.share_on_sheet(share)] for share in run.shares)
    assert cap.curve[0, 0] == pytest.approx(before[-1][-1, 3], abs=MEETS)
    assert cap.curve[-1, 3] == pytest.approx(after[0][0, 0], abs=MEETS)
    assert cap.intake == pytest.approx(math.hypot(22.0, 1.0))
    # Lying on the table as one layer, the far side's half is the line going on.
    far = run.laid.parts[0 if toward == TOWARD_END else 1].motion
    half = cap.curve[:1] if toward == TOWARD_END else cap.curve[-1:]
    assert nearest(np.concatenate(line), places(motion.apply(far, half))).distance.max() < MEETS


# --- the side it is pressed to ----------------------------------------------------------------------------------------


def hem(ends: tuple[str, str], kinds: Sequence[str] = (DART,), turn: float = 0.0) -> LaidRun:
    """A run along a straight edge with a dart, or along two pieces' edges, that starts and ends as told.

    The piece beyond a seam or a lap is a plain rectangle.
    """
    dart = Dart(100.0, 0.15, placed=motion.compose(motion.moved(500.0, 500.0), motion.turned(turn)))
    box = piece("box", rectangle(200.0, 300.0))
    both = Pattern((*dart.pattern.pieces, box))
    other = find_edge(both, "box:c0..c1")
    edges, joins = list(dart.edges), [Join(DART)]
    if kinds == [SEAM]:
        edges, joins = [dart.edges[1], other], [Join(SEAM)]
    if ends[0] in (SEAM, LAP):
        edges, joins = [other, *edges], [Join(ends[0], 10.0), *joins]
    if ends[1] in (SEAM, LAP):
        edges, joins = [*edges, other], [*joins, Join(ends[1], 10.0)]
    return lay([Stretch(e, e) for e in edges], joins, "hem", (ends[0] == FOLD, ends[1] == FOLD))


@pytest.mark.parametrize(
    ("ends", "toward"),
    [
        ((FOLD, SEAM), TOWARD_START),
        ((SEAM, FOLD), TOWARD_END),
        (("free", SEAM), TOWARD_START),
        ((SEAM, "free"), TOWARD_END),
        ((SEAM, LAP), TOWARD_END),
        ((LAP, SEAM), TOWARD_START),
        # Both ways look alike.
        ((SEAM, SEAM), TOWARD_START),
        ((FOLD, FOLD), TOWARD_START),
        (("free", LAP), TOWARD_START),
    ],
)
def test_upright_darts_are_pressed_to_the_centre(ends: tuple[str, str], toward: int) -> None:
    run = hem(ends)
    k = next(i for i, joint in enumerate(run.joints) if joint.kind == DART)
    assert toward_centre(run, k) == toward
    assert pressed_by_default(run, k) == toward
    # On its head the dart is upright too.
    assert pressed_by_default(hem(ends, turn=math.pi), k) == toward


@pytest.mark.parametrize("degrees", [50.0, 90.0, 130.0, -50.0, -90.0, -130.0])
def test_darts_that_lie_across_are_pressed_down(degrees: float) -> None:
    """Turned clockwise as seen, the edge is walked downwards."""
    for ends in ((FOLD, SEAM), (SEAM, FOLD)):
        run = hem(ends, turn=math.radians(degrees))
        k = next(i for i, joint in enumerate(run.joints) if joint.kind == DART)
        down = TOWARD_END if degrees > 0.0 else TOWARD_START
        assert (downward(run, k), pressed_by_default(run, k)) == (down, down)


@pytest.mark.parametrize("degrees", [40.0, -40.0, 140.0, -140.0])
def test_darts_that_lean_less_than_half_a_right_angle_are_upright(degrees: float) -> None:
    for ends, toward in (((FOLD, SEAM), TOWARD_START), ((SEAM, FOLD), TOWARD_END)):
        run = hem(ends, turn=math.radians(degrees))
        k = next(i for i, joint in enumerate(run.joints) if joint.kind == DART)
        assert pressed_by_default(run, k) == toward


def test_the_way_to_the_centre_passes_other_darts() -> None:
    """Two darts between a seam and a free end, and all the way round a yoke that has nothing but darts."""
    waist = [(0, 0), (90, 0), (100, 110), (110, 0), (190, 0), (200, 110), (210, 0), (300, 0), (300, 400), (0, 400)]
    box = rectangle(200.0, 300.0)
    both = pattern(piece("p", cubics.lines([*waist, waist[0]]) + np.array([400.0, 0.0])), piece("box", box))
    names = ["p:c0..c1", "p:c3..c4", "p:c6..c7"]
    edges = [find_edge(both, name) for name in [*names, "box:c0..c1"]]
    stretches = [Stretch(e, e) for e in edges]
    run = lay(stretches, [Join(DART), Join(DART), Join(SEAM)], "waist")
    assert [toward_centre(run, k) for k in (0, 1)] == [TOWARD_START, TOWARD_START]
    run = lay([stretches[3], *stretches[:3]], [Join(SEAM), Join(DART), Join(DART)], "waist")
    assert [toward_centre(run, k) for k in (1, 2)] == [TOWARD_END, TOWARD_END]


def test_round_a_loop_the_way_goes_on_over_its_first_point() -> None:
    waist = [(0, 0), (90, 0), (100, 110), (110, 0), (200, 0), (200, 300), (0, 300)]
    box = rectangle(200.0, 300.0)
    both = pattern(piece("p", cubics.lines([*waist, waist[0]]) + np.array([400.0, 0.0])), piece("box", box))
    left, right, other = (find_edge(both, name) for name in ("p:c0..c1", "p:c3..c4", "box:c0..c1"))

    def loop(order: Sequence[str], joins: Sequence[Join]) -> LaidRun:
        named = {"left": left, "right": right, "other": other}
        return lay([Stretch(named[name], named[name]) for name in order], list(joins), "waist")

    run = loop(("left", "right", "other"), (Join(DART), Join(LAP, 10.0), Join(SEAM)))
    assert toward_centre(run, 0) == TOWARD_END
    run = loop(("left", "right", "other"), (Join(DART), Join(SEAM), Join(LAP, 10.0)))
    assert toward_centre(run, 0) == TOWARD_START
    run = loop(("right", "other", "left"), (Join(LAP, 10.0), Join(SEAM), Join(DART)))
    assert toward_centre(run, 2) == TOWARD_END
    run = loop(("right", "other", "left"), (Join(SEAM), Join(SEAM), Join(DART)))
    assert toward_centre(run, 2) == TOWARD_START


def test_both_halves_of_a_folded_piece_are_pressed_to_the_fold() -> None:
    dart = Dart(100.0, 0.15)
    left, right, back_right, back_left = (
        find_edge(dart.pattern, name) for name in ("c0..c1", "c3..c4", "c4..c3", "c1..c0")
    )
    stretches = [Stretch(edge, edge) for edge in (left, right, back_right, back_left)]
    box = pattern(piece("box", rectangle(200.0, 300.0)))
    first, last = find_edge(box, "c0..c1"), find_edge(box, "c1..c0")
    run = lay(
        [Stretch(first, first), *stretches, Stretch(last, last)],
        [Join(SEAM), Join(DART), Join(FOLD), Join(DART), Join(SEAM)],
        "hem",
    )
    assert [pressed_by_default(run, k) for k in (1, 3)] == [TOWARD_END, TOWARD_START]
    # The caps of both halves are one on the sheet.
    joint = run.joints[3]
    line = [cubics.lines([j.point - 90.0 * j.square, j.point + 90.0 * j.square]) for j in (run.joints[1], joint)]
    cap, other = dart_cap(run, 1, line[:1], TOWARD_END), dart_cap(run, 3, line[1:], TOWARD_START)
    assert cubics.reverse(other.curve) == pytest.approx(cap.curve, abs=MEETS)


def test_a_loop_of_one_dart_leads_nowhere() -> None:
    run = disc(0.3, 120.0)
    assert (toward_centre(run, 0), pressed_by_default(run, 0)) == (TOWARD_START, TOWARD_START)
