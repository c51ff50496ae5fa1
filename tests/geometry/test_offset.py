"""Parallels of outlines and lines: the distance promise, what falls apart or vanishes, corners, invariance."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.errors import RequestError
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, area, direction, ends_direction, flatten, left, lines, point, reverse
from scallopkit.geometry.intersect import self_crossings
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import apply, inverse, turned
from scallopkit.geometry.nearest import nearest
from scallopkit.geometry.offset import Join, offset

PROMISE = 0.02
RADII = st.lists(st.floats(25.0, 100.0), min_size=3, max_size=14)
DISTANCE = st.sampled_from([-60.0, -25.0, -8.0, -1.5, 1.5, 8.0, 25.0, 60.0])
JOIN: st.SearchStrategy[Join] = st.sampled_from(["mitre", "round"])


def closed_lines(points: list[tuple[float, float]]) -> Array:
    return lines([*points, points[0]])


def star(radii: list[float], bent: list[bool]) -> Array:
    """A closed outline round the origin, clockwise as seen; some of its sides bulge or swing, some are straight."""
    n = len(radii)
    angle = 2.0 * math.pi * np.arange(n) / n
    node = np.array(radii)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    curve = closed_lines([(float(x), float(y)) for x, y in node])
    slope = (np.roll(node, -1, axis=0) - np.roll(node, 1, axis=0)) / 6.0
    smooth = curve.copy()
    smooth[:, 1] = node + slope
    smooth[:, 2] = np.roll(node - slope, -1, axis=0)
    choice = np.array([bent[k % len(bent)] for k in range(n)])
    curve[choice] = smooth[choice]
    return curve


def rounded_box(width: float, height: float, radius: float) -> Array:
    """A box from (0, 0) with round corners, clockwise as seen."""
    corners = [(width - radius, radius), (width - radius, height - radius), (radius, height - radius), (radius, radius)]
    parts = []
    at = np.array([radius, 0.0])
    for k, (x, y) in enumerate(corners):
        arc = ellipse_arc((x, y), (radius, radius), 0.0, (k - 1) * math.pi / 2.0, math.pi / 2.0, 1e-9)
        parts += [lines(np.stack([at, arc[0, 0]])), arc]
        at = arc[-1, 3]
    return np.concatenate(parts)


def samples(curve: Array) -> Array:
    t = np.tile(np.linspace(0.0, 1.0, 20), len(curve))
    return point(curve, np.repeat(np.arange(len(curve)), 20), t)


def assert_parallel(source: Array, results: list[Array], distance: float, closed: bool, mitred: bool) -> None:
    """Connected, smooth or cornered, without crossings, and at the distance; tips may lie farther away."""
    for result in results:
        np.testing.assert_array_equal(result[1:, 0], result[:-1, 3])
        if closed:
            np.testing.assert_array_equal(result[0, 0], result[-1, 3])
        gap = nearest(source, samples(result)).distance
        assert gap.min() >= abs(distance) - PROMISE
        if not mitred:
            assert gap.max() <= abs(distance) + PROMISE
        assert len(self_crossings(result, closed)) == 0


def region(results: list[Array], hand: float) -> shapely.Geometry:
    """What the results enclose, holes taken out; `hand` is the sign of the source's area."""
    whole: shapely.Geometry = shapely.Polygon()
    for result in results:
        ring = shapely.Polygon(flatten(result, 1e-4)).buffer(0.0)
        whole = whole.union(ring) if area(result) * hand > 0.0 else whole.difference(ring)
    return whole


def signed_distance(source: Array, points: Array) -> Array:
    """Distances from the finely flattened outline, negative inside, by an independent library."""
    outline = shapely.Polygon(flatten(source, 1e-4))
    assume(outline.is_valid)
    places = shapely.points(points)
    size = shapely.distance(outline.exterior, places)
    return np.asarray(np.where(shapely.contains(outline, places), -size, size))


@settings(max_examples=40, deadline=None)
@given(RADII, st.lists(st.booleans(), min_size=1, max_size=5), DISTANCE, st.booleans(), st.integers(0, 10**6))
def test_round_parallels_enclose_all_within_the_distance(
    radii: list[float], bent: list[bool], distance: float, turned_round: bool, seed: int
) -> None:
    source = star(radii, bent)
    if turned_round:
        source = reverse(source)
    hand = math.copysign(1.0, area(source))
    places = np.random.default_rng(seed).uniform(-180.0, 180.0, size=(1500, 2))
    size = signed_distance(source, places)
    results = offset(source, distance, True, "round")
    assert_parallel(source, results, distance, True, mitred=False)
    # Grown by the distance where the left is outside, shrunk where it is inside.
    inside = size < distance * hand
    clear = np.abs(size - distance * hand) > PROMISE + 1e-3
    held = shapely.contains_xy(region(results, hand), places[:, 0], places[:, 1])
    assert (held == inside)[clear].all()


@settings(max_examples=40, deadline=None)
@given(RADII, st.lists(st.booleans(), min_size=1, max_size=5), DISTANCE, st.integers(0, 10**6))
def test_mitred_parallels_stay_clear(radii: list[float], bent: list[bool], distance: float, seed: int) -> None:
    source = star(radii, bent)
    places = np.random.default_rng(seed).uniform(-180.0, 180.0, size=(1500, 2))
    size = signed_distance(source, places)
    results = offset(source, distance, True)
    assert_parallel(source, results, distance, True, mitred=True)
    held = shapely.contains_xy(region(results, 1.0), places[:, 0], places[:, 1])
    if distance > 0.0:
        assert held[size < distance - PROMISE - 1e-3].all()
        # The limit: no tip is more than four times the distance away.
        assert not held[size > 4.0 * distance + PROMISE].any()
    else:
        assert not held[size > distance + PROMISE + 1e-3].any()


@settings(max_examples=15, deadline=None)
@given(RADII, st.lists(st.booleans(), min_size=1, max_size=5), DISTANCE, JOIN, st.floats(0.0, 6.0))
def test_reversal_and_motion(radii: list[float], bent: list[bool], distance: float, join: Join, angle: float) -> None:
    source = star(radii, bent)
    assume(shapely.Polygon(flatten(source, 1e-4)).is_valid)
    results = offset(source, distance, True, join)
    turn = turned(angle, (13.0, -7.0))
    for other, back in (
        (offset(reverse(source), -distance, True, join), reverse),
        (offset(apply(turn, source), distance, True, join), lambda curve: apply(inverse(turn), curve)),
        (offset(np.roll(source, 1, axis=0), distance, True, join), np.asarray),
    ):
        # Both answers are within the promise; outlines too thin to be told from none may come or go.
        first, second = region(results, 1.0), region([back(curve) for curve in other], 1.0)
        difference = first.symmetric_difference(second).area
        assert difference <= 2.0 * PROMISE * (first.length + second.length) + 0.01


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(10.0, 60.0), st.floats(-30.0, 30.0)), min_size=2, max_size=9),
    DISTANCE,
    JOIN,
    st.booleans(),
)
def test_open_lines(steps: list[tuple[float, float]], distance: float, join: Join, smooth: bool) -> None:
    node = np.cumsum(np.array(steps), axis=0)
    source = lines(node)
    if smooth:
        slope = np.gradient(node, axis=0) / 3.0
        source[:, 1], source[:, 2] = node[:-1] + slope[:-1], node[1:] - slope[1:]
        assume(len(self_crossings(source, False)) == 0)
    results = offset(source, distance, False, join)
    assert len(results) <= 1
    assert_parallel(source, results, distance, False, mitred=join == "mitre")
    ends = np.stack([source[0, 0], source[-1, 3]]) + distance * left(np.stack(ends_direction(source)))
    reached = nearest(source, ends).distance >= abs(distance) - 1e-9
    for result in results:
        given_ends = np.stack([result[0, 0], result[-1, 3]])
        np.testing.assert_allclose(given_ends[reached], ends[reached], atol=1e-9)


def test_lines_to_the_left_and_right() -> None:
    source = lines([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])
    (outer,) = offset(source, 6.0, False)
    np.testing.assert_allclose(outer[:, 0], [[0.0, -6.0], [100.0, -6.0], [106.0, -6.0], [106.0, 0.0]], atol=1e-12)
    np.testing.assert_allclose(outer[-1, 3], [106.0, 50.0], atol=1e-12)
    (inner,) = offset(source, -6.0, False)
    np.testing.assert_allclose(inner[:, [0, 3]], [[[0.0, 6.0], [94.0, 6.0]], [[94.0, 6.0], [94.0, 50.0]]], atol=1e-9)
    (same,) = offset(source, 0.0, False)
    np.testing.assert_array_equal(same, source)


@pytest.mark.parametrize(
    ("limit", "total"),
    [
        # A square grown by 15 with whole tips; with corners cut square at 15: each loses the tip beyond 15 from it,
        # a triangle of height 15 (√2 - 1) with a right angle.
        (4.0, 130.0**2),
        (1.0, 130.0**2 - 4.0 * (15.0 * (math.sqrt(2.0) - 1.0)) ** 2),
    ],
)
def test_mitre_limit(limit: float, total: float) -> None:
    square = closed_lines([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)])
    (result,) = offset(square, 15.0, True, "mitre", limit)
    assert area(result) == pytest.approx(total, rel=1e-12)


def test_an_inward_parallel_vanishes_or_falls_apart() -> None:
    square = closed_lines([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)])
    assert [area(result) for result in offset(square, -49.0, True)] == pytest.approx([4.0])
    assert offset(square, -50.0, True) == []
    assert offset(square, -200.0, True) == []
    dumbbell = closed_lines(
        [
            (0, 0),
            (30, 0),
            (30, 10),
            (60, 10),
            (60, 0),
            (90, 0),
            (90, 30),
            (60, 30),
            (60, 20),
            (30, 20),
            (30, 30),
            (0, 30),
        ]
    )
    # The neck is 10 wide: gone at 5 and at 6; at 6 the two raw parallels lie on each other beside the neck.
    assert [area(r) for r in offset(dumbbell, -4.0, True)] == pytest.approx([2.0 * 22.0**2 + 38.0 * 2.0])
    assert [area(r) for r in offset(dumbbell, -5.0, True)] == pytest.approx([400.0, 400.0])
    assert [area(r) for r in offset(dumbbell, -6.0, True)] == pytest.approx([324.0, 324.0])


def test_an_outward_parallel_may_enclose_a_hole() -> None:
    """A mouth of 10 closes at 6 and leaves the inside of the C as a hole, walked the other way round."""
    c = closed_lines(
        [
            (0, 0),
            (60, 0),
            (60, 25),
            (50, 25),
            (50, 10),
            (10, 10),
            (10, 50),
            (50, 50),
            (50, 35),
            (60, 35),
            (60, 60),
            (0, 60),
        ]
    )
    outer, hole = offset(c, 6.0, True)
    assert area(outer) == pytest.approx(72.0**2)
    assert area(hole) == pytest.approx(-(28.0**2))


@pytest.mark.parametrize("inset", [9.0, 9.999, 10.0, 10.001, 12.0])
def test_round_corners_that_shrink_to_points(inset: float) -> None:
    source = rounded_box(100.0, 60.0, 10.0)
    results = offset(source, -inset, True)
    corner = max(10.0 - inset, 0.0)
    expected = (100.0 - 2.0 * inset) * (60.0 - 2.0 * inset) - (4.0 - math.pi) * corner**2
    assert [area(r) for r in results] == pytest.approx([expected], abs=PROMISE * 240.0)
    assert_parallel(source, results, inset, True, mitred=False)


def test_scallops_with_hairpin_valleys() -> None:
    """Half circles side by side: outward the valleys are hollow to the limit, inward they bulge."""
    arcs = [ellipse_arc((30.0 * k + 15.0, 0.0), (15.0, 15.0), 0.0, math.pi, math.pi, 1e-3) for k in range(6)]
    source = np.concatenate(arcs)
    for distance in (6.0, -6.0, 20.0):
        results = offset(source, distance, False, "round")
        assert len(results) == 1
        assert_parallel(source, results, distance, False, mitred=False)
        np.testing.assert_allclose(results[0][[0, -1], [0, 3]], [[-distance, 0.0], [180.0 + distance, 0.0]], atol=1e-9)
    # Two neighbours meet over the valley: at x = 30 k and 14.7 = √(21² - 15²) over it.
    (outer,) = offset(source, 6.0, False, "round")
    valley = np.array([[30.0, -math.sqrt(21.0**2 - 15.0**2)]])
    assert nearest(outer, valley).distance[0] <= PROMISE


def test_a_spike_bulges_on_both_sides() -> None:
    spike = closed_lines([(0, 0), (100, 0), (100, 50), (150, 50), (100, 50), (100, 100), (0, 100)])
    (outer,) = offset(spike, 6.0, True, "round")
    # The square grown by 6, and a finger of 44 by 12 with a round tip that leaves it.
    assert area(outer) == pytest.approx(100.0**2 + 4 * 600.0 + math.pi * 36.0 + 44.0 * 12.0 + math.pi * 18.0, abs=0.5)
    assert [area(r) for r in offset(spike, -6.0, True)] == pytest.approx([88.0**2])


def test_few_nodes_on_smooth_outlines() -> None:
    quarter = np.array([[1.0, 0.0], [1.0, 0.5522847498], [0.5522847498, 1.0], [0.0, 1.0]])
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])
    ellipse = np.stack([quarter, quarter @ turn, -quarter, -quarter @ turn]) * [60.0, 30.0]
    for distance in (15.0, -10.0):
        (result,) = offset(ellipse, distance, True)
        assert len(result) <= 8
        heads = direction(result, np.arange(len(result)), np.zeros(len(result)))
        tails = direction(result, np.arange(len(result)), np.ones(len(result)))
        turns = np.roll(tails, 1, axis=0)[:, 0] * heads[:, 1] - np.roll(tails, 1, axis=0)[:, 1] * heads[:, 0]
        assert np.abs(turns).max() < 1e-9


def test_specks_and_few_digits_make_no_corners() -> None:
    angle = 2.0 * math.pi * np.arange(40) / 40
    node = 80.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    pull = 4.0 / 3.0 * math.tan(math.pi / 80.0) * 80.0 * np.stack([-np.sin(angle), np.cos(angle)], axis=1)
    after = np.roll(node, -1, axis=0)
    circle = np.stack([node, node + pull, after - np.roll(pull, -1, axis=0), after], axis=1)
    speck = lines([node[3], node[3] + 1e-5])
    rough = np.concatenate([np.round(circle, 3)[:3], speck, np.round(circle, 3)[3:]])
    for distance in (12.0, -12.0):
        (result,) = offset(rough, distance, True)
        assert len(result) <= 2 * len(rough)
        size = np.hypot(*np.moveaxis(samples(result), 1, 0))
        # Three decimals move the source by up to 7e-4 mm.
        assert np.abs(size - 80.0 - distance).max() <= PROMISE + 1e-3


def test_accuracy_is_kept_when_it_is_finer() -> None:
    source = ellipse_arc((0.0, 0.0), (60.0, 30.0), 0.0, 0.0, 2.0 * math.pi, 1e-9)
    for accuracy in (0.1, 1e-3, 1e-5):
        (result,) = offset(source, -10.0, True, accuracy=accuracy)
        assert np.abs(nearest(source, samples(result)).distance - 10.0).max() <= accuracy


def test_an_end_that_cannot_be_reached() -> None:
    """A hook: the last stretch lies nearer than 30 to the first, so the parallel stops where the two meet."""
    hook = lines([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [20.0, 50.0]])
    (outer,) = offset(hook, 30.0, False)
    np.testing.assert_allclose(outer[-1, 3], [20.0, 80.0], atol=1e-9)
    for result in offset(hook, -30.0, False):
        assert nearest(hook, samples(result)).distance.min() >= 30.0 - PROMISE


LINE = lines([[0.0, 0.0], [10.0, 0.0]])


@pytest.mark.parametrize(
    ("curve", "distance", "options"),
    [
        (LINE, math.nan, {}),
        (np.full((1, 4, 2), math.inf), 1.0, {}),
        (LINE[:0], 1.0, {}),
        (LINE * 0.0, 1.0, {}),
        (LINE, 1.0, {"mitre_limit": 0.5}),
        (LINE, 1.0, {"accuracy": 0.0}),
        (LINE, 1.0, {"join": "pointed"}),
        (lines([[0, 0], [100, 100], [100, 0], [0, 100], [0, 0]]), 6.0, {}),
    ],
)
def test_what_has_no_parallel_is_refused(curve: Array, distance: float, options: dict[str, object]) -> None:
    with pytest.raises(RequestError):
        offset(curve, distance, False, **options)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("w", "depth", "distance"), [(40.0, 12.8, 6.0), (40.0, 14.8, 8.0), (200.0 / 9.0, 200.0 * 0.43 / 9.0, 6.0)]
)
def test_hollow_flanks_as_round_as_the_distance_leave_their_points_whole(
    w: float, depth: float, distance: float
) -> None:
    """Double curves whose flanks hollow out, so that near each point the parallel shrinks to a point itself."""
    up = np.array([[0.0, 0.0], [0.0, -0.7 * depth], [0.5 * w, -0.3 * depth], [0.5 * w, -depth]])
    down = (np.array([w, 0.0]) + up * np.array([-1.0, 1.0]))[::-1]
    curve = np.concatenate([np.stack([up, down]) + np.array([k * w, 0.0]) for k in range(5)])
    (found,) = offset(curve, distance, closed=False, accuracy=0.005)
    # From the normal at the first end to the normal at the last, and nowhere nearer than the distance.
    assert np.abs(found[[0, -1], [0, 3]] - [(-distance, 0.0), (5.0 * w + distance, 0.0)]).max() < 0.005
    places = measure(found).points(np.linspace(0.0, measure(found).length, 500))
    assert nearest(curve, places).distance.min() > distance - 0.005
