"""Clips and wedges, against plane geometry and against the raw edge and the turned-in edge as they really lie."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely  # an independent judge of distances
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st

from scallopkit.construction import clipping as module
from scallopkit.construction.clipping import HOLLOW, VALLEY, Clip, Clipping, Wedge, clipping, cut_valley
from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest
from scallopkit.trim import course as holds
from scallopkit.trim.course import CREST, WRAP, Course, Stop, Weights, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.scallops import scallops, valleys
from scallopkit.trim.shape import Shape
from scallopkit.trim.sharing import Trimmed, trimmed
from tests.shapes import circle, course, crest_ends, fan, rectangle, smooth, valley_ends, wavy_lines

STRAIGHT = cubics.lines([(0, 0), (300, 0)])
NECKLINE = smooth(np.array([(0.0, 0.0), (60.0, 90.0), (150.0, 130.0), (250.0, 100.0), (300.0, 10.0)]))


def line(c: Course, shape: Shape, stops: tuple[Stop, ...] | None = None, **wish: object) -> Trimmed:
    stops = valley_ends(c) if stops is None else stops
    row = fit(c, stops, Wish(shape, **wish)).row  # type: ignore[arg-type]
    return trimmed(scallops(row, shape, c.side, closing=c.measured.closing), c, stops)


def share(depth: float, profile: str = "arc") -> Shape:
    return Shape(profile, "share", depth)


def of(found: Clipping, kind: str) -> list[Clip]:
    return [clip for clip in found.clips if clip.kind == kind]


def centres(made: Trimmed) -> Array:
    placed = made.placed
    return placed.crest - placed.radius[:, None] * placed.axis


def same_places(ours: Sequence[Array], theirs: Sequence[Array], within: float = 1e-6) -> bool:
    a, b = np.array(ours).reshape(-1, 2), np.array(theirs).reshape(-1, 2)
    return len(a) == len(b) and (not len(a) or bool(np.hypot(*(a[:, None] - b).T).min(axis=0).max() <= within))


# ------------------------------------------------ figures


def test_the_cut_valley_of_half_circles_lies_147_tenths_beyond_the_stitched_one() -> None:
    # r 15, w 30, s 6: sqrt(21² - 15²) = sqrt(216).
    assert cut_valley(15.0, 30.0, 6.0) == pytest.approx(math.sqrt(216.0), abs=1e-12)
    found = clipping(line(course(STRAIGHT), share(0.5, "half-circle"), count=10), 6.0)
    assert [tuple(clip.start) for clip in found.clips] == [
        pytest.approx((30.0 * k, -14.697), abs=1e-3) for k in range(1, 10)
    ]
    assert all(clip.point == pytest.approx((clip.s, -1.25), abs=1e-6) for clip in found.clips)


def test_of_a_whole_half_circle_377_tenths_are_taken_out_of_a_raw_edge_of_66() -> None:
    found = clipping(line(course(STRAIGHT * 0.1), share(0.5, "half-circle"), count=1), 6.0)
    # One scallop between free ends: 2 s theta = 12 pi of (r + s) theta = 21 pi.
    assert found.taken_out == pytest.approx(37.699, abs=1e-3)
    assert math.pi * 21.0 == pytest.approx(65.97, abs=0.01)
    assert found.clips == ()
    # No mouth is wider than 6 mm, and no fewer would do.
    assert len(found.wedges) == 7


@pytest.mark.parametrize(("depth", "large"), [(0.2, False), (0.4, False), (0.7, True)])
def test_the_closed_form_holds_for_shallow_and_deep_scallops(depth: float, large: bool) -> None:
    made = line(course(STRAIGHT), share(depth), count=10, space=12.0 if large else 0.0)
    r, w, s = float(made.placed.radius[0]), float(made.placed.row.width[0]), 3.0
    lost = math.sqrt((r + s) ** 2 - w * w / 4.0) - abs(math.sqrt(r * r - w * w / 4.0))
    if not large:
        assert cut_valley(r, w, s) == pytest.approx(lost)
        for clip in clipping(made, s).clips:
            assert math.dist(clip.start, (clip.s, 0.0)) == pytest.approx(lost, abs=1e-6)
    else:
        below = math.sqrt(r * r - w * w / 4.0)
        assert cut_valley(r, w, s, large=True) == pytest.approx(lost + 2.0 * below)


# ------------------------------------------------ what is taken out


def expected_taken_out(made: Trimmed, i: int, s: float, outside: int, corner: float) -> float:
    """Raw edge less turned-in edge of one scallop, from points laid out densely and their distances from all cloth.

    Points nearer to another part of the line than s are not there; a point of the scallop turned by `corner` radians
    gives s times as much of raw edge.
    """
    every = shapely.MultiLineString([cubics.flatten(curve, 1e-5) for curve in made.curves])
    curve = made.curves[i]
    n = 800 // len(curve)
    t = np.tile((np.arange(n) + 0.5) / n, len(curve))
    number = np.repeat(np.arange(len(curve)), n)
    place = cubics.point(curve, number, t)
    normal = outside * cubics.left(cubics.direction(curve, number, t))
    step = cubics.norm(cubics.derivative(curve, number, t)) / n
    # Along the parallel lengths are as the radii of curvature.
    d, e = cubics.derivative(curve, number, t), cubics.second_derivative(curve, number, t)
    bend = outside * cubics.cross(d, e) / cubics.norm(d) ** 3
    shapely.prepare(every)
    raw, turned_in = (
        ~shapely.dwithin(every, shapely.points(place + hand * s * normal), s - 1e-4) for hand in (1.0, -1.0)
    )
    # What has lost its raw edge to a valley is not turned in either.
    left_over = float((step * (1.0 + s * bend))[raw].sum() - (step * (1.0 - s * bend))[raw & turned_in].sum())
    return left_over + s * corner


def widest_allowance(profile: str, width: float, depth: float) -> float:
    """So wide that all of it can still be turned."""
    slope = math.atan(2.0 * depth)
    if profile == "point":
        # Beside point and valley s tan(slope) of each side's raw edge is gone.
        return width / (4.0 * math.sin(slope))
    if profile == "pointed-arch":
        return 0.3 * width * math.hypot(0.5, depth) / math.sin(0.5 * slope)
    return width * (0.25 + depth * depth) / (2.0 * depth)


def test_wedges_take_out_what_the_turned_in_edge_has_no_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred random scallops: the raw edge less the turned-in edge, by closed form and as they lie."""
    monkeypatch.setattr(module, "_GIVES", 1e-9)
    rng = np.random.default_rng(7)
    seen = Counter[str]()
    for _ in range(100):
        profile = str(rng.choice(["arc", "pointed-arch", "point"]))
        depth, width, side = float(rng.uniform(0.15, 0.5)), float(rng.uniform(12.0, 45.0)), int(rng.choice([1, -1]))
        s = float(rng.uniform(0.2, 0.8)) * min(widest_allowance(profile, width, depth), 0.5 * width)
        base = cubics.lines([(0.0, 0.0), (3.0 * width, 0.0)])
        made = line(course(base, side=side), share(depth, profile), count=3)
        found = clipping(made, s, short=0.1 * s)
        corner = {"arc": 0.0, "point": 2.0, "pointed-arch": 1.0}[profile] * math.atan(2.0 * depth)
        got = sum(wedge.width for wedge in found.wedges if wedge.scallop == 1)
        # Of the points laid out each end of a stretch may lack one, an 800th of the scallop.
        want = expected_taken_out(made, 1, s, side, corner)
        assert got == pytest.approx(want, abs=0.01 * width), (profile, depth, width, s)
        if profile == "arc":
            r = float(made.placed.radius[0])
            lost = math.acos(0.5 * width / (r + s)) - math.acos(0.5 * width / r)
            assert got == pytest.approx(2.0 * s * (4.0 * math.atan(2.0 * depth) - 2.0 * lost), abs=1e-6)
        assert found.taken_out == pytest.approx(math.fsum(wedge.width for wedge in found.wedges))
        assert not found.cannot_turn
        seen[profile] += 1
    assert min(seen.values()) >= 20


@pytest.mark.parametrize("curve", [STRAIGHT, NECKLINE])
@pytest.mark.parametrize("side", [1, -1])
def test_mouths_lie_on_the_raw_edge_and_tips_short_of_the_stitching(curve: Array, side: int) -> None:
    made = line(course(curve, side=side), share(0.4), width=30.0)
    found = clipping(made, 5.0, short=1.0, widest_wedge=4.0)
    middle, r = centres(made), made.placed.radius
    for wedge in found.wedges:
        i = wedge.scallop
        assert np.hypot(*(wedge.mouth - middle[i]).T) == pytest.approx(r[i] + 5.0, abs=1e-6)
        assert math.dist(wedge.tip, middle[i]) == pytest.approx(r[i] + 1.0, abs=1e-6)
        # The axis is the normal: the tip lies over the middle of the mouth.
        assert math.dist(wedge.tip, wedge.mouth[0]) == pytest.approx(math.dist(wedge.tip, wedge.mouth[1]), abs=1e-6)
        angle = 2.0 * math.asin(0.5 * math.dist(*wedge.mouth) / (r[i] + 5.0))
        assert wedge.width == pytest.approx((r[i] + 5.0) * angle, abs=1e-6)
        assert wedge.width <= 4.0 + 1e-9
        assert made.placed.row.s_start[i] <= wedge.s <= made.placed.row.s_end[i]
    distance = nearest(np.concatenate(made.curves), np.concatenate([w.mouth for w in found.wedges])).distance
    assert distance == pytest.approx(5.0, abs=1e-6)


@pytest.mark.parametrize("profile", ["wave", "double-curve", "pointed-arch"])
def test_on_any_profile_mouths_lie_on_the_raw_edge(profile: str) -> None:
    made = line(course(NECKLINE), share(0.3, profile), width=40.0)
    found = clipping(made, 1.5, short=1.0)
    assert len(found.wedges) > 5
    every = np.concatenate(made.curves)
    assert nearest(every, np.array([wedge.tip for wedge in found.wedges])).distance == pytest.approx(1.0, abs=1e-6)
    assert nearest(every, np.concatenate([w.mouth for w in found.wedges])).distance == pytest.approx(1.5, abs=1e-6)


@pytest.mark.parametrize("profile", ["arc", "wave", "pointed-arch", "double-curve", "point"])
@pytest.mark.parametrize("outside", [1, -1])
def test_equal_scallops_round_a_ring_are_clipped_and_notched_alike(profile: str, outside: int) -> None:
    made = line(course(circle(60.0), True), share(0.4, profile), count=13)
    found = clipping(made, 1.5, outside=outside)
    assert len(found.clips) % 13 == len(found.wedges) % 13 == 0
    turn = motion.turned(2.0 * math.pi / 13)
    assert same_places([motion.apply(turn, c.point) for c in found.clips], [c.point for c in found.clips])
    assert same_places([motion.apply(turn, w.tip) for w in found.wedges], [w.tip for w in found.wedges])


# ------------------------------------------------ clips to valleys


@pytest.mark.parametrize("curve", [STRAIGHT, NECKLINE])
@pytest.mark.parametrize("side", [1, -1])
def test_every_inner_valley_has_its_clip_on_the_bisector(curve: Array, side: int) -> None:
    made = line(course(curve, side=side), share(0.4), width=25.0)
    found = clipping(made, 4.0)
    inner, s = (each[1:-1] for each in valleys(made.placed.row))
    assert [clip.kind for clip in found.clips] == [VALLEY] * len(inner)
    middle, r = centres(made), made.placed.radius
    for i, (clip, valley, at) in enumerate(zip(found.clips, inner, s, strict=True)):
        assert clip.scallop == i
        assert clip.s == pytest.approx(at, abs=1e-6)
        for j in (i, i + 1):
            assert math.dist(clip.start, middle[j]) == pytest.approx(r[j] + 4.0, abs=1e-6)
        assert math.dist(clip.point, middle[i]) == pytest.approx(math.dist(clip.point, middle[i + 1]), abs=1e-6)
        assert math.dist(clip.point, valley) == pytest.approx(1.25, abs=1e-6)
        assert math.dist(clip.start, clip.point) + 1.25 == pytest.approx(math.dist(clip.start, valley), abs=1e-6)


def test_between_unequal_scallops_the_clip_starts_where_their_raw_edges_meet() -> None:
    made = line(course(STRAIGHT), share(0.4), count=8, weights=Weights((1.0, 0.6)))
    found = clipping(made, 3.0)
    middle, r = centres(made), made.placed.radius
    assert len(of(found, VALLEY)) == 7
    for i, clip in enumerate(found.clips):
        assert [math.dist(clip.start, middle[j]) - r[j] for j in (i, i + 1)] == pytest.approx([3.0, 3.0], abs=1e-6)


def test_a_scallop_whose_raw_edge_is_lost_between_larger_ones_has_no_wedges() -> None:
    made = line(course(STRAIGHT), Shape("arc", "share", 0.4), count=9, weights=Weights((1.0, 0.1)))
    found = clipping(made, 8.0)
    small = np.flatnonzero(made.placed.row.weight < 0.5)
    assert not {wedge.scallop for wedge in found.wedges} & set(small.tolist())
    # Both of its valleys are clipped from the one valley of the raw edge.
    middle, r = centres(made), made.placed.radius
    for a, b in zip(found.clips[::2], found.clips[1::2], strict=True):
        assert a.start == pytest.approx(b.start, abs=1e-9)
        for j in (a.scallop, a.scallop + 2):
            assert math.dist(a.start, middle[j]) == pytest.approx(r[j] + 8.0, abs=1e-6)


@pytest.mark.parametrize("curve", [STRAIGHT, NECKLINE])
def test_with_a_space_each_of_two_valleys_has_its_clip(curve: Array) -> None:
    made = line(course(curve), share(0.4), count=8, space=12.0)
    found = clipping(made, 3.0)
    clips = of(found, VALLEY)
    assert len(clips) == 14
    row = made.placed.row
    assert [clip.s for clip in clips] == pytest.approx(np.stack([row.s_end[:-1], row.s_start[1:]], 1).ravel(), abs=1e-6)
    assert [clip.scallop for clip in clips] == [0, *np.repeat(np.arange(1, 7), 2).tolist(), 7]
    every = np.concatenate([*made.curves, *(link for link in made.links if link is not None)])
    assert nearest(every, np.array([clip.start for clip in clips])).distance == pytest.approx(3.0, abs=1e-6)


def test_over_a_narrow_space_both_clips_start_at_the_one_valley_of_the_raw_edge() -> None:
    made = line(course(STRAIGHT), share(0.4), count=8, space=3.0)
    found = clipping(made, 6.0)
    middle, r = centres(made), made.placed.radius
    for a, b in zip(found.clips[::2], found.clips[1::2], strict=True):
        assert a.start == pytest.approx(b.start, abs=1e-6)
        for j in (a.scallop, b.scallop):
            assert math.dist(a.start, middle[j]) == pytest.approx(r[j] + 6.0, abs=1e-6)
        assert b.point[0] - a.point[0] < 3.0


def test_deep_scallops_with_overhanging_raw_edges_close_the_space_between_them() -> None:
    made = line(course(STRAIGHT), share(1.0), count=6, space=16.0)
    r = float(made.placed.radius[0])
    gap = float(made.placed.row.width[0]) + 16.0 - 2.0 * r
    assert 0.0 < gap < 2.0 * 4.0
    found = clipping(made, 4.0)
    middle = centres(made)
    for a, b in zip(found.clips[::2], found.clips[1::2], strict=True):
        assert a.start == pytest.approx(b.start, abs=1e-6)
        # Above the centres, where the raw edges first meet for who comes from outside.
        assert a.start[1] < middle[0, 1]


def test_beside_a_gap_in_the_run_the_bare_edge_is_stitched_and_the_valleys_are_clipped() -> None:
    c = course(STRAIGHT)
    stops = (
        Stop("start", 0.0, holds.VALLEY),
        Stop("seam", 150.0, holds.VALLEY, gap=20.0),
        Stop("end", 300.0, holds.VALLEY),
    )
    found = clipping(line(c, share(0.4), stops, width=26.0), 3.0, stops=stops)
    assert [clip.s for clip in found.clips if 100.0 < clip.s < 200.0] == pytest.approx([104.0, 130.0, 170.0, 196.0])


def test_where_gaps_at_the_ends_leave_the_edge_bare_the_valleys_beside_them_are_clipped() -> None:
    c = course(STRAIGHT)
    first, last = valley_ends(c)
    made = line(c, share(0.4), (replace(first, gap=40.0), replace(last, gap=20.0)), count=8)
    valleys_at = [40.0 + 30.0 * k for k in range(9)]
    found = clipping(made, 6.0)
    assert [clip.s for clip in of(found, VALLEY)] == pytest.approx(valleys_at, abs=1e-6)
    # The raw edges of a flat stretch and of a circle of radius r about (x, y) meet where both are 6 mm away.
    (x, y), r = centres(made)[0], float(made.placed.radius[0])
    meets = (x - math.sqrt((r + 6.0) ** 2 - (y + 6.0) ** 2), -6.0)
    assert found.clips[0].start == pytest.approx(meets, abs=1e-6)


def test_a_hollow_edge_left_bare_at_an_end_is_clipped_along_its_curve() -> None:
    # Half of a round hole of 60 mm radius, which the walker has on the side where the cloth ends.
    hollow = ellipse_arc((0.0, 0.0), (60.0, 60.0), 0.0, math.pi, -math.pi, 1e-6)
    c = course(hollow)
    first, last = valley_ends(c)
    found = clipping(line(c, share(0.3), (replace(first, gap=70.0), last), count=6), 6.0)
    bare = [clip.s for clip in of(found, HOLLOW) if clip.s < 70.0]
    assert len(bare) >= 5
    assert max(np.diff([0.0, *bare, 70.0])) < 13.0


def test_round_a_loop_the_valley_at_the_first_point_is_clipped_once() -> None:
    made = line(course(circle(60.0), True), share(0.4), count=13)
    found = clipping(made, 5.0)
    assert sorted(clip.scallop for clip in found.clips) == list(range(13))
    points, _ = valleys(made.placed.row, made.placed.closing)
    assert same_places([clip.point / np.hypot(*clip.point) * 60.0 for clip in found.clips], list(points))


@pytest.mark.parametrize("hold", [holds.VALLEY, CREST])
def test_a_cone_is_clipped_across_its_closing_as_elsewhere(hold: str) -> None:
    curve, closing = fan(60.0, 2.0)
    c = course(curve, True, closing=closing)
    stops = (Stop("joint", 0.0, hold),)
    made = line(c, share(0.3), stops, count=9)
    found = clipping(made, 3.0, stops=stops)
    assert len(found.clips) == 9
    # In the frame of its own turn each clip stands over its own place of the rim, as far out as all.
    out = c.measured.normals(np.array([clip.s for clip in found.clips]))
    foot = c.measured.points(np.array([clip.s for clip in found.clips]))
    assert [clip.point for clip in found.clips] == [pytest.approx(p, abs=1e-6) for p in foot + 1.25 * out]
    assert len({round(math.dist(clip.start, clip.point), 6) for clip in found.clips}) == 1
    assert len(found.wedges) % 9 == 0


# ------------------------------------------------ folds, halves, corners


def test_half_scallops_at_folds_give_half_of_what_whole_ones_give() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    found = clipping(line(c, share(0.4), crest_ends(c), count=5), 3.0, stops=crest_ends(c))
    assert [clip.s for clip in found.clips] == pytest.approx([10.0, 30.0, 50.0, 70.0, 90.0])
    taken = np.zeros(6)
    for wedge in found.wedges:
        taken[wedge.scallop] += wedge.width
    assert 2.0 * taken[[0, 5]] == pytest.approx(taken[[1, 4]])
    # None lies on a fold or beyond it.
    assert min(w.mouth[:, 0].min() for w in found.wedges) >= -1e-6
    assert max(w.mouth[:, 0].max() for w in found.wedges) <= 100.0 + 1e-6


@pytest.mark.parametrize("space", [0.0, 8.0])
def test_a_valley_on_a_fold_is_clipped_once_and_on_the_fold(space: float) -> None:
    c = course(cubics.lines([(0, 0), (120, 0)]))
    fold = Stop("fold", 0.0, holds.VALLEY, mirror=(1.0, 0.0), fold=True)
    stops = (fold, Stop("end", 120.0, holds.VALLEY))
    made = line(c, share(0.4), stops, count=4, space=space)
    found = clipping(made, 3.0, stops=stops)
    if space:
        # The fold cuts the space in halves: its valley lies half of it off.
        assert [clip.s for clip in found.clips][:2] == pytest.approx([4.0, 4.0 + float(made.placed.row.width[0])])
    else:
        far = cut_valley(float(made.placed.radius[0]), 30.0, 3.0)
        assert [clip.s for clip in found.clips] == pytest.approx([0.0, 30.0, 60.0, 90.0], abs=1e-6)
        assert found.clips[0].start == pytest.approx((0.0, -far), abs=1e-6)
        assert found.clips[0].point == pytest.approx((0.0, -1.25), abs=1e-6)
    # The other end is free, where the line ends in a seam; without the fold so is the first.
    assert len(clipping(made, 3.0).clips) == len(found.clips) - (0 if space else 1)


def test_a_point_on_a_fold_has_half_a_wedge() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    stops = crest_ends(c)
    found = clipping(line(c, share(0.4, "point"), stops, count=5), 2.0, stops=stops)
    first, whole = found.wedges[0], found.wedges[1]
    assert first.mouth[0] == pytest.approx((0.0, -8.0 - 2.0), abs=1e-6)
    assert first.width == pytest.approx(0.5 * whole.width)
    assert first.tip == pytest.approx((0.0, -8.0 - 1.25), abs=1e-6)


def test_the_wedge_at_a_point_leaves_two_sides_that_meet_when_turned() -> None:
    made = line(course(STRAIGHT), share(0.4, "point"), count=10)
    found = clipping(made, 3.0)
    assert len(found.wedges) == 10
    slope = math.atan(0.8)
    for wedge, tip in zip(found.wedges, made.placed.crest, strict=True):
        # Turned over either side, mouth and mouth come to one place below the point.
        sides = [(made.placed.row.start[wedge.scallop] - tip), (made.placed.row.end[wedge.scallop] - tip)]
        turned = [
            motion.apply(motion.mirrored(tip, side / np.hypot(*side)), end)
            for side, end in zip(sides, wedge.mouth, strict=True)
        ]
        assert turned[0] == pytest.approx(turned[1], abs=1e-6)
        assert turned[0] == pytest.approx(tip + np.array([0.0, 3.0 / math.cos(slope)]), abs=1e-6)


def test_a_scallop_round_a_corner_has_more_taken_out() -> None:
    c = course(rectangle(420.0, 420.0), True)
    at = [0.0, 420.0, 840.0, 1260.0]
    stops = tuple(Stop(f"c{k}", s, WRAP, turn=math.pi / 2) for k, s in enumerate(at))
    made = line(c, share(1.0 / 3.0), stops, count=56)
    found = clipping(made, 5.0, stops=stops)
    assert len(of(found, VALLEY)) == len(found.clips) == 56
    taken = np.zeros(len(made.placed))
    for wedge in found.wedges:
        taken[wedge.scallop] += wedge.width
    corner = made.placed.row.turn != 0.0
    assert int(corner.sum()) == 4
    # The valleys beside it are as the others, so the corner's own 90 degrees are the difference.
    inner = np.roll(corner, 2) | np.roll(corner, -2)
    assert taken[corner] - taken[inner].mean() == pytest.approx(2.0 * 5.0 * math.pi / 2, abs=1e-5)


# ------------------------------------------------ hollow curves


@pytest.mark.parametrize(("radius", "s"), [(12.0, 4.0), (25.0, 6.0), (60.0, 6.0), (200.0, 6.0)])
def test_hollow_links_are_clipped_so_that_no_gap_is_too_wide(radius: float, s: float) -> None:
    c = course(circle(radius), True, side=-1)
    made = line(c, share(0.1), count=3, space=1.2 * radius)
    found = clipping(made, s, short=1.0)
    clips = of(found, HOLLOW)
    assert found.opened / len(clips) <= 4.0 + 1e-9
    # Rounding may give one of them one clip more than the others.
    assert np.ptp(list(Counter(clip.scallop for clip in clips).values())) <= 1
    for a, b in pairwise(clips):
        apart = math.acos(float(a.point @ b.point) / (np.hypot(*a.point) * np.hypot(*b.point)))
        if a.scallop == b.scallop:
            assert 2.0 * s * apart <= 4.0 + 1e-6
            assert radius * apart <= 12.7 + 1e-6
    for clip in of(found, HOLLOW):
        assert np.hypot(*clip.point) == pytest.approx(radius - 1.0, abs=1e-4)
        assert np.hypot(*clip.start) == pytest.approx(radius - s, abs=1e-4)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 0.5), st.floats(20.0, 60.0), st.floats(1.5, 6.0), st.floats(1.0, 5.0))
def test_waves_open_as_far_as_they_turn_in_steps_that_are_small_enough(
    d: float, w: float, s: float, gap: float
) -> None:
    made = line(course(cubics.lines([(0.0, 0.0), (4.0 * w, 0.0)])), share(d, "wave"), count=4)
    found = clipping(made, s, short=1.0, widest_gap=gap)
    # The steepest place of a wave lies half way between valley and crest, where it turns from hollow to bulging.
    left = made.curves[0][:1]
    t = np.linspace(0.0, 1.0, 4001)
    way = cubics.direction(left, np.zeros(4001, dtype=np.intp), t)
    steepest = float(np.arctan2(-way[:, 1], way[:, 0]).max())
    assume(2.0 * s * steepest > 1.01)
    valleys_inside = 3
    assert found.opened == pytest.approx(2.0 * s * steepest * (2 * valleys_inside + 2), rel=1e-5)
    curvature = (
        cubics.cross(
            cubics.derivative(left, np.zeros(1, dtype=np.intp), np.zeros(1)),
            cubics.second_derivative(left, np.zeros(1, dtype=np.intp), np.zeros(1)),
        )
        / cubics.norm(cubics.derivative(left, np.zeros(1, dtype=np.intp), np.zeros(1))) ** 3
    )
    if s * abs(float(curvature[0])) < 0.99:
        assert found.opened / len(found.clips) <= gap + 1e-9
        every = np.concatenate(made.curves)
        assert nearest(every, np.array([c.point for c in found.clips])).distance == pytest.approx(1.0, abs=1e-6)
    assert {clip.kind for clip in found.clips} == {HOLLOW}


def test_where_scallops_hardly_turn_at_a_valley_it_is_part_of_a_hollow_curve() -> None:
    # theta = 4 atan(2 * 0.03) = 13.7 degrees: less than the 15 of a corner.
    made = line(course(STRAIGHT), share(0.03), count=10)
    found = clipping(made, 6.0)
    assert [clip.kind for clip in found.clips] == [HOLLOW] * 9
    assert [clip.point[0] for clip in found.clips] == pytest.approx([30.0 * k for k in range(1, 10)], abs=1e-6)
    assert found.opened == pytest.approx(9 * 12.0 * 4.0 * math.atan(0.06), rel=1e-6)


# ------------------------------------------------ what can't be turned, and bad input


@pytest.mark.parametrize("profile", ["arc", "wave"])
def test_bulges_no_wider_than_the_allowance_are_told(profile: str) -> None:
    made = line(course(STRAIGHT), share(0.4, profile), count=20)
    r = float(made.placed.radius[0]) if profile == "arc" else None
    found = clipping(made, 8.0)
    assert [tight.scallop for tight in found.cannot_turn] == list(range(20))
    # All of an arc is as tight: of it the middle is told, which is the crest but at free ends.
    for tight, crest in list(zip(found.cannot_turn, made.placed.crest, strict=True))[1:-1]:
        assert tight.point == pytest.approx(crest, abs=1e-6)
    assert not found.wedges
    tight = found.cannot_turn[0]
    # Half the radius, rounded down to 0.1 mm.
    assert 0.0 <= 0.5 * tight.radius - tight.trim_to < 0.1
    assert tight.trim_to * 10.0 == pytest.approx(round(tight.trim_to * 10.0), abs=1e-9)
    assert found.least_radius == pytest.approx(tight.radius, rel=1e-9)
    if r is not None:
        assert tight.radius == pytest.approx(r, rel=1e-9)
        # Just below its radius it can be turned, and at the radius it can't.
        assert not clipping(made, r * (1.0 - 1e-6)).cannot_turn
        assert clipping(made, r).cannot_turn
    trimmed_first = clipping(made, tight.trim_to, short=0.5)
    assert not trimmed_first.cannot_turn
    assert trimmed_first.wedges


def test_an_allowance_is_trimmed_to_6_mm_at_most() -> None:
    made = line(course(STRAIGHT), share(0.5, "half-circle"), count=5)
    assert {tight.trim_to for tight in clipping(made, 40.0).cannot_turn} == {6.0}


def test_lengths_that_make_no_sense_are_refused() -> None:
    made = line(course(STRAIGHT), share(0.4), count=10)
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(RequestError, match="an allowance can't be"):
            clipping(made, bad)
        with pytest.raises(RequestError, match="the gap at a clip"):
            clipping(made, 6.0, widest_gap=bad)
        with pytest.raises(RequestError, match="a wedge can't be"):
            clipping(made, 6.0, widest_wedge=bad)
    for short in (-0.1, 6.0, math.nan):
        with pytest.raises(RequestError, match="short of the stitching"):
            clipping(made, 6.0, short=short)
    for radius, width, s in ((10.0, 20.1, 6.0), (10.0, 0.0, 6.0), (math.inf, 10.0, 6.0), (10.0, 10.0, -1.0)):
        with pytest.raises(RequestError, match="no scallop of"):
            cut_valley(radius, width, s)


# ------------------------------------------------ the same whichever way it is drawn


def places(found: Clipping, by: Array = motion.IDENTITY) -> tuple[list[Array], list[Array], list[Array]]:
    def all_of(points: Sequence[Array]) -> list[Array]:
        return [motion.apply(by, point) for point in points]

    clips: Sequence[Clip] = found.clips
    wedges: Sequence[Wedge] = found.wedges
    return (
        all_of([c.point for c in clips] + [c.start for c in clips]),
        all_of([w.tip for w in wedges]),
        all_of([end for w in wedges for end in w.mouth]),
    )


@settings(max_examples=30, deadline=None)
@given(
    wavy_lines(),
    st.sampled_from(["arc", "pointed-arch", "wave", "double-curve", "point"]),
    st.sampled_from([1, -1]),
    st.sampled_from([0.0, 5.0]),
    st.floats(1.5, 3.0),
)
def test_reversed_and_mirrored_lines_are_clipped_alike(
    curve: Array, profile: str, side: int, space: float, s: float
) -> None:
    shape = share(0.3, profile)
    try:
        made = line(course(curve, side=side), shape, width=20.0, space=space)
    except NoFitError:
        reject()
    found = clipping(made, s)
    back = clipping(line(course(cubics.reverse(curve), side=-side), shape, width=20.0, space=space), s)
    mirror = motion.compose(motion.turned(0.7), motion.scaled(1.0, -1.0))
    flipped = line(course(motion.apply(mirror, curve), side=-side), shape, width=20.0, space=space)
    for other, by in ((back, motion.IDENTITY), (clipping(flipped, s), mirror)):
        assert other.taken_out == pytest.approx(found.taken_out, abs=1e-5)
        assert other.opened == pytest.approx(found.opened, abs=1e-5)
        assert all(
            same_places(ours, theirs, 1e-4) for ours, theirs in zip(places(found, by), places(other), strict=True)
        )
        assert len(other.cannot_turn) == len(found.cannot_turn)
