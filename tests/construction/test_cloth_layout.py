"""Shapes on cloth: none overlaps, all lie by their grain, and simple cases come out as worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scallopkit.construction.cloth_layout import FOLDED, SINGLE, Cloth, ClothShape, area_of, cloth_layout, opened
from scallopkit.construction.skyline import COLUMN, Item, stacked
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array

# Flattening in the tests, and what profiles may lose to their own, mm.
_FINE, _LOST = 0.01, 0.05


def rectangle(width: float, height: float) -> Array:
    return cubics.lines([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)])


def shape(name: str, width: float, height: float, **rest: object) -> ClothShape:
    return ClothShape(name, (rectangle(width, height),), **rest)  # type: ignore[arg-type]


def polygon(ring: Array) -> shapely.Polygon:
    return shapely.Polygon(cubics.flatten(ring, _FINE))


@st.composite
def blobs(draw: st.DrawFn) -> Array:
    """A closed curve of round and straight segments about a middle, anywhere, of any size a piece has."""
    count = draw(st.integers(3, 7))
    radii = np.array(draw(st.lists(st.floats(15.0, 120.0), min_size=count, max_size=count)))
    centre = np.array([draw(st.floats(-3000.0, 3000.0)), draw(st.floats(-3000.0, 3000.0))])
    angles = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False) + draw(st.floats(0.0, 1.0))
    stops = centre + radii[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    curve = cubics.lines([*stops, stops[0]])
    bulge = draw(st.floats(-0.2, 0.2))
    legs = curve[:, 3] - curve[:, 0]
    curve[:, 1:3] += bulge * cubics.left(legs)[:, None]
    # Sides that bulge may cross beside a sharp corner, and what crosses itself is no piece.
    assume(polygon(curve).is_valid)
    return curve


@st.composite
def shapes(draw: st.DrawFn) -> ClothShape:
    grain = None
    if draw(st.booleans()):
        angle = draw(st.floats(-math.pi, math.pi))
        grain = np.array([(0.0, 0.0), (50.0 * math.cos(angle), 50.0 * math.sin(angle))])
    number = draw(st.integers(1, 3))
    return ClothShape(draw(st.sampled_from("abc")), (draw(blobs()),), number, draw(st.booleans()), grain)


@st.composite
def halves(draw: st.DrawFn) -> ClothShape:
    """Half a shape on a fold, turned anyhow, now and then with a grain that is not along the fold."""
    heights = np.cumsum([20.0, *draw(st.lists(st.floats(15.0, 90.0), min_size=2, max_size=4))])
    widths = draw(st.lists(st.floats(20.0, 110.0), min_size=len(heights), max_size=len(heights)))
    right = list(zip(widths, heights, strict=True))
    whole = cubics.lines([(0.0, 10.0), *right, (0.0, heights[-1] + 5.0), (0.0, 10.0)])
    by = motion.turned(draw(st.floats(-math.pi, math.pi)), (draw(st.floats(-500.0, 500.0)), 40.0))
    if draw(st.booleans()):
        by = motion.compose(motion.scaled(-1.0, 1.0), by)
    fold = motion.apply(by, np.array([(0.0, 10.0), (0.0, heights[-1] + 5.0)]))
    grain = motion.apply(by, np.array([(5.0, 0.0), (5.0, 30.0)] if draw(st.booleans()) else [(0.0, 5.0), (30.0, 5.0)]))
    return ClothShape("half", (motion.apply(by, whole),), draw(st.integers(1, 2)), False, grain, (fold,))


cloths = st.builds(
    Cloth,
    width=st.sampled_from([500.0, 701.0, 903.7, 1400.0]),
    lies=st.sampled_from([SINGLE, FOLDED]),
    one_way=st.booleans(),
    gap=st.sampled_from([0.0, 3.0, 5.0, 10.0]),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.one_of(shapes(), halves()), min_size=1, max_size=7), cloths)
def test_no_two_shapes_overlap_and_all_lie_on_the_cloth_by_their_grain(wanted: list[ClothShape], cloth: Cloth) -> None:
    made = cloth_layout(wanted, cloth)
    outlines = [polygon(max(one.rings, key=lambda ring: abs(cubics.area(ring)))) for one in made.placed]
    for i, one in enumerate(outlines):
        for other in outlines[:i]:
            assert one.distance(other) >= cloth.gap - _LOST
            if not cloth.gap:
                assert one.intersection(other).area < 1e-3 * min(one.area, other.area)
    boxes = np.array([one.bounds for one in outlines]).reshape(-1, 4)
    assert (boxes[:, 0] >= -1e-6).all()
    assert (boxes[:, 1] >= -1e-6).all()
    assert (boxes[:, 2] <= cloth.laid_width + 1e-6).all()
    # Profiles are larger than shapes by what following them loses.
    assert np.isclose(boxes[:, 3].max(initial=0.0), made.length, atol=2.0 * _FINE)
    for placed in made.placed:
        assert np.allclose(placed.motion[:, :2] @ placed.motion[:, :2].T, np.eye(2), atol=1e-12)
        if placed.grain is not None:
            assert abs(placed.grain[1, 0] - placed.grain[0, 0]) < math.radians(0.6) * 50.0
        if placed.on_fold:
            assert min(float(cubics.bounds(ring)[0, 0]) for ring in placed.rings) == pytest.approx(0.0, abs=1e-6)
    assert len({one.name for one in wanted}) <= len({one.name for one in made.placed}) + len(made.unfit)
    laid = sum(one.layers * outline.area for one, outline in zip(made.placed, outlines, strict=True))
    if made.length:
        # Chords of the test's polygons cut off up to their accuracy all along the outline.
        assert made.efficiency == pytest.approx(laid / (cloth.width * made.length), rel=3e-3)
        assert 0.0 < made.efficiency <= 1.0


def test_a_pair_lies_side_by_side_where_there_is_room_and_one_after_the_other_where_there_is_none() -> None:
    pair = [shape("front", 300.0, 400.0, number=2)]
    # 300 + 10 + 300 mm across, or 400 + 10 + 400 mm along.
    wide = cloth_layout(pair, Cloth(700.0, gap=10.0))
    narrow = cloth_layout(pair, Cloth(500.0, gap=10.0))
    assert (wide.length, narrow.length) == pytest.approx((400.0, 810.0), abs=_LOST)
    assert wide.efficiency == pytest.approx(2 * 300 * 400 / (700 * 400), rel=1e-4)
    assert [one.flipped for one in wide.placed] == [False, True]
    assert [one.flipped for one in cloth_layout([shape("f", 9.0, 9.0, number=2, alike=True)], Cloth(70.0)).placed] == [
        False,
        False,
    ]


def test_on_folded_cloth_a_pair_is_laid_once_and_a_fold_on_the_fold() -> None:
    fold = np.array([(0.0, 0.0), (0.0, 600.0)])
    wanted = [shape("back", 300.0, 600.0, folds=(fold,)), shape("front", 380.0, 600.0, number=2)]
    folded = cloth_layout(wanted, Cloth(1400.0, FOLDED, gap=10.0))
    # 300 + 10 + 380 mm across two layers of 700 mm.
    assert folded.length == pytest.approx(600.0, abs=_LOST)
    assert folded.efficiency == pytest.approx((2 * 300 + 2 * 380) / 1400, rel=1e-4)
    assert [(one.name, one.layers, one.on_fold) for one in folded.placed] == [("back", 2, True), ("front", 2, False)]
    assert not folded.notes
    assert not folded.unfit
    # Single it is opened out: 600 + 10 + 380 + 10 + 380 = 1380 mm across; on less the last lies after the others.
    single, less = (cloth_layout(wanted, Cloth(width, SINGLE, gap=10.0)) for width in (1380.0, 1370.0))
    assert [round(np.ptp(one.rings[0][:, 0, 0])) for one in single.placed] == [600, 380, 380]
    assert (single.length, less.length) == pytest.approx((600.0, 1210.0), abs=_LOST)


def test_half_turns_nest_triangles_unless_the_cloth_is_one_way() -> None:
    corners = [(0.0, 0.0), (200.0, 0.0), (0.0, 200.0), (0.0, 0.0)]
    triangle = ClothShape("gore", (cubics.lines(corners),), 2, True, np.array([(10.0, 10.0), (10.0, 100.0)]))
    # Two halves of a square along its diagonal: at 45 degrees they keep apart by the columns that both lie in.
    either, one_way = (cloth_layout([triangle], Cloth(200.0, SINGLE, way, gap=0.0)) for way in (False, True))
    assert 200.0 <= either.length <= 200.0 + 2.0 * COLUMN + _LOST
    assert one_way.length == pytest.approx(400.0, abs=_LOST)


def test_the_grain_turns_a_shape_the_shorter_way_and_its_width_is_told_where_it_is_too_much() -> None:
    diagonal = np.array([(10.0, 10.0), (60.0, 60.0)])
    square = shape("godet", 100.0, 100.0, grain=diagonal)
    # The diagonal of a square of 100 mm is 141.42 mm long.
    (placed,) = cloth_layout([square], Cloth(141.43)).placed
    assert placed.grain is not None
    assert placed.grain[0, 0] == pytest.approx(placed.grain[1, 0])
    assert polygon(placed.rings[0]).bounds == pytest.approx((0.0, 0.0, 141.421, 141.421), abs=_LOST)
    made = cloth_layout([square], Cloth(141.0))
    assert not made.placed
    assert made.length == 0.0
    assert made.efficiency == 0.0
    assert made.unfit == (
        '"godet" does not fit: laid along its grain it needs 142 mm of width, and the cloth is 141 mm wide: take wider '
        "cloth, or join the piece from two",
    )
    (folded,) = cloth_layout([square], Cloth(200.0, FOLDED)).unfit
    assert "has 100 mm when it is folded: lay the cloth single" in folded


def test_what_is_cut_once_is_cut_from_one_layer_of_folded_cloth() -> None:
    made = cloth_layout([shape("pocket", 100.0, 100.0, alike=True)], Cloth(400.0, FOLDED))
    assert [one.layers for one in made.placed] == [1]
    assert made.efficiency == pytest.approx(0.25, rel=1e-3)
    assert made.notes == ('"pocket" is cut once from one layer of the folded cloth only',)
    # Three that may be mirror images are a pair and one.
    three = cloth_layout([shape("tab", 100.0, 100.0, number=3)], Cloth(420.0, FOLDED))
    assert sorted(one.layers for one in three.placed) == [1, 2]


def test_a_fold_across_the_grain_is_opened_out_and_told() -> None:
    across = np.array([(0.0, 0.0), (100.0, 0.0)])
    yoke = shape("yoke", 100.0, 50.0, folds=(across,), grain=np.array([(50.0, 5.0), (50.0, 45.0)]))
    made = cloth_layout([yoke], Cloth(600.0, FOLDED))
    (placed,) = made.placed
    assert not placed.on_fold
    assert placed.layers == 1
    assert area_of(placed.rings) == pytest.approx(100.0 * 100.0)
    assert made.notes[0] == (
        '"yoke" is not laid on the fold, for its own fold is not along its grain: it is opened out'
    )


def test_opening_out_keeps_a_cut_out_on_the_fold_as_a_hole() -> None:
    # Half of a plate of 200 by 100 mm with a square hole of 40 mm in its middle.
    half = [(0, 0), (0, 30), (20, 30), (20, 70), (0, 70), (0, 100), (100, 100), (100, 0), (0, 0)]
    rings = opened([cubics.lines(np.array(half, dtype=float))], np.array([(0.0, 0.0), (0.0, 1.0)]))
    assert sorted(round(abs(cubics.area(ring))) for ring in rings) == [1600, 20000]
    assert area_of(rings) == pytest.approx(200.0 * 100.0 - 40.0 * 40.0)
    for ring in rings:
        assert (np.roll(ring, -1, axis=0)[:, 0] == ring[:, 3]).all()


def test_a_fold_beside_the_outline_is_told() -> None:
    aside = shape("collar", 100.0, 50.0, folds=(np.array([(-9.0, 0.0), (-9.0, 50.0)]),))
    made = cloth_layout([aside, shape("cuff", 50.0, 50.0)], Cloth(600.0))
    assert made.unfit == ('"collar" can\'t be laid: its outline does not run along its fold',)
    assert [one.name for one in made.placed] == ["cuff"]


@pytest.mark.parametrize("cloth", [Cloth(0.0), Cloth(1400.0, "crosswise"), Cloth(1400.0, gap=-1.0)])
def test_cloth_that_can_not_be_is_refused(cloth: Cloth) -> None:
    with pytest.raises(RequestError, match="can't be"):
        cloth_layout([shape("front", 10.0, 10.0)], cloth)


def test_quarter_turns_are_taken_where_they_are_offered() -> None:
    lying = (rectangle(400.0, 100.0),)
    ways = (motion.IDENTITY, motion.turned(0.5 * math.pi))
    assert stacked([Item(lying, ways[:1])] * 2, 410.0, 5.0).length == pytest.approx(205.0, abs=_LOST)
    assert stacked([Item(lying, ways)] * 2, 210.0, 5.0).length == pytest.approx(400.0, abs=_LOST)
    assert stacked([Item(lying, ways[:1])], 210.0, 5.0).motions == (None,)
