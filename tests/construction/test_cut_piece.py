"""A whole piece as it is cut: its sides, its corners by name, and stretches that are cut in their own ways."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from scallopkit.construction.cut_piece import CutPiece, Treated, cut_piece, outside_the_cut
from scallopkit.construction.cutting import MITRED, ROUNDED, SQUARED, TURNED, Corner
from scallopkit.errors import RequestError
from scallopkit.geometry.arcs import ellipse_arc
from scallopkit.geometry.cubics import Array, area, ends_direction, flatten, lines, norm, reverse, stretch
from scallopkit.geometry.motion import apply, compose, moved, turned

from ..shapes import circle, piece, rectangle

# mm; what is promised of parallels, and what flattening adds to it.
PROMISE, FLAT = 0.02, 1e-3
MITRE = Corner(MITRED)
# A trapezium with no right angle at its lower corners.
SKIRT = lines([(0, 0), (200, 0), (260, 150), (-40, 150), (0, 0)])


def cut(
    curve: Array, *treated: Treated, allowance: float = 15.0, usual: Corner = MITRE, **at_corners: Corner
) -> CutPiece:
    return cut_piece(piece("box", curve), treated, allowance, at_corners, usual)


def region(curve: Array) -> shapely.Polygon:
    return shapely.Polygon(flatten(curve, FLAT))


def assert_sound(made: CutPiece) -> None:
    """A simple ring on the outline's own hand, its sides joined to the last bit, each beginning with its side."""
    curve = made.cutting.curve
    assert np.array_equal(curve[:, 0], np.roll(curve[:, 3], 1, axis=0))
    assert region(curve).is_valid
    assert area(curve) * area(made.piece.curve) > 0.0
    for before, after in zip(made.sides, [*made.sides[1:], made.sides[0]], strict=True):
        assert norm(before.stitching[-1, 3] - after.stitching[0, 0]) <= 1e-9


def apart(made: CutPiece, other: CutPiece) -> float:
    """mm; how far two cutting lines lie apart."""
    return float(shapely.hausdorff_distance(region(made.cutting.curve), region(other.cutting.curve)))


# --- plain pieces ---------------------------------------------------------------------------------------------------


def test_a_box_is_cut_an_allowance_larger_each_way() -> None:
    made = cut(rectangle(300, 200))
    assert_sound(made)
    # 330 by 230 mm; no curve is rounded in it, so it is the box but for the last bits.
    assert region(made.cutting.curve).symmetric_difference(shapely.box(-15, -15, 315, 215)).area < 1e-6
    assert [side.name for side in made.sides] == ["c0..c1", "c1..c2", "c2..c3", "c3..c0"]
    assert np.allclose(made.cutting.overruns, 15.0, atol=1e-9)


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.9, 4.4])
def test_each_side_is_the_outline_s_and_no_sliver_of_its_neighbour_s(turn: float) -> None:
    """A corner is found to turn by the directions of its sides: a sliver of another side at an end would hide it."""
    made = cut(apply(compose(moved(31.7, 9.3), turned(turn)), rectangle(math.pi * 90.0, 171.3)))
    for number, side in enumerate(made.sides):
        assert np.array_equal(side.stitching, made.piece.curve[number : number + 1])


def test_the_allowance_lies_square_to_sides_at_any_angle() -> None:
    made = cut(SKIRT, allowance=12.5)
    assert_sound(made)
    # The second opinion mitres all corners as well; none is beyond its limit.
    other = region(SKIRT).buffer(12.5, join_style="mitre", mitre_limit=4.0)
    assert region(made.cutting.curve).symmetric_difference(other).area < 1e-6 * other.area


def test_a_round_piece_has_one_side() -> None:
    made = cut(circle(100.0))
    assert len(made.sides) == 1
    away = np.hypot(*flatten(made.cutting.curve, FLAT).T)
    assert np.abs(away - 115.0).max() < PROMISE + FLAT


def test_no_allowance_leaves_the_outline() -> None:
    made = cut(SKIRT, allowance=0.0)
    assert region(made.cutting.curve).symmetric_difference(region(SKIRT)).area < 1e-6


def test_an_open_line_has_no_inside() -> None:
    with pytest.raises(RequestError, match='"hem" is an open line'):
        cut_piece(piece("hem", lines([(0, 0), (9, 0)]), closed=False), (), 15.0, {}, MITRE)


@given(
    k=st.integers(0, 3),
    first=st.just(0.0) | st.floats(0.05, 0.95),
    backward=st.booleans(),
    split=st.floats(0.05, 0.95),
    turn=st.floats(0.0, 6.28),
)
@settings(max_examples=12, phases=(Phase.explicit, Phase.generate))
def test_it_matters_not_where_an_outline_begins_how_it_is_walked_or_where_it_has_nodes(
    k: int, first: float, backward: bool, split: float, turn: float
) -> None:
    skirt = apply(compose(moved(500.0, 20.0), turned(turn)), SKIRT)
    whole = cut(skirt, allowance=10.0)
    begun = np.concatenate(
        [stretch(skirt, (k, first), (3, 1.0)), stretch(skirt, (0, 0.0), (k, first)) if k + first else skirt[:0]]
    )
    other = np.concatenate([stretch(begun, (0, 0.0), (1, split)), stretch(begun, (1, split), (len(begun) - 1, 1.0))])
    made = cut(reverse(other) if backward else other, allowance=10.0)
    assert_sound(made)
    assert apart(made, whole) < FLAT
    assert len(made.sides) == 4


@pytest.mark.parametrize("at", [(0.004, 0.0), (0.0, -0.006), (-0.003, 0.003), (1e-9, 1e-9)])
@pytest.mark.parametrize("last", [False, True], ids=["first", "last"])
def test_a_slip_of_the_pen_at_a_corner_is_no_side(at: tuple[float, float], last: bool) -> None:
    """A hundredth of a millimetre drawn any way beside a corner says nothing about the way of its sides."""
    box = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]
    points = [*box, at, box[0]] if last else [box[0], at, *box[1:], box[0]]
    made = cut(lines(points))
    assert_sound(made)
    assert len(made.sides) == 4
    # Ten times the slip: what it moves a corner by, and no step of an allowance.
    assert shapely.hausdorff_distance(region(made.cutting.curve), shapely.box(-15, -15, 315, 215)) < 0.06


# --- corners --------------------------------------------------------------------------------------------------------


def test_corners_have_their_kinds_by_their_names() -> None:
    # A quarter of a circle of 15 mm takes (1 - pi/4) 15² from the mitred square of its corner.
    rounded = (1.0 - math.pi / 4.0) * 15.0**2
    full = 330.0 * 230.0
    for names, left in (([], 0), (["c2"], 1), (["c0", "c3"], 2)):
        kinds = dict.fromkeys(names, Corner(ROUNDED))
        made = cut_piece(piece("box", rectangle(300, 200)), (), 15.0, kinds, MITRE)
        assert abs(area(made.cutting.curve)) == pytest.approx(full - left * rounded, abs=330 * PROMISE)
    (x, y) = made.cutting.sides[0][0, 0]
    assert math.hypot(x, y) == pytest.approx(15.0, abs=PROMISE)
    usual = cut(rectangle(300, 200), usual=Corner(ROUNDED), c1=MITRE)
    assert abs(area(usual.cutting.curve)) == pytest.approx(full - 3 * rounded, abs=330 * PROMISE)


def test_a_squared_corner_cuts_the_tip_off_an_acute_one() -> None:
    """Each allowance ends square where its own seam comes to the neighbour's cutting line: a / sin(angle) beyond it."""
    made = cut(SKIRT, allowance=10.0, c2=Corner(SQUARED))
    angle = math.atan2(150.0, 60.0)
    assert made.cutting.overruns[1][1] == pytest.approx(10.0 / math.sin(angle), abs=1e-9)
    assert area(cut(SKIRT, allowance=10.0).cutting.curve) - area(made.cutting.curve) > 10.0


def test_a_turned_corner_mirrors_the_neighbour_about_the_fold() -> None:
    """The hem of 30 mm, turned back along its line, lies just on the side seams' allowances."""
    hem = Treated("hem", SKIRT[2:3], 30.0)
    made = cut(SKIRT, hem, allowance=10.0, c2=Corner(TURNED, 1))
    outline = region(made.cutting.curve)
    below = outline.intersection(shapely.box(200, 150, 400, 400))
    folded = shapely.transform(below, lambda points: points * (1.0, -1.0) + (0.0, 300.0))
    side = outline.intersection(shapely.box(200, 0, 400, 150))
    # Along the seam's own allowance its end follows the mirrored cutting line; the strip lies wholly on the piece.
    assert folded.difference(side.buffer(1e-6)).area < 1e-3
    assert not folded.difference(region(cut(SKIRT, allowance=0.0).cutting.curve)).is_empty


def test_a_corner_within_a_side_of_its_own_way_has_no_kind() -> None:
    both = Treated("two sides", SKIRT[1:3], 5.0)
    with pytest.raises(RequestError, match='the corner "c2" lies within a side'):
        cut(SKIRT, both, c2=Corner(ROUNDED))
    assert_sound(cut(SKIRT, both, c1=Corner(ROUNDED), c3=Corner(ROUNDED)))


# --- stretches with their own ways ----------------------------------------------------------------------------------


@pytest.mark.parametrize("backward", [False, True], ids=["walked on", "walked back"])
@pytest.mark.parametrize("number", range(4))
def test_a_side_has_its_own_allowance_whichever_way_it_is_walked(number: int, backward: bool) -> None:
    box = rectangle(300, 200)
    drawn = box[number : number + 1]
    made = cut(box, Treated("own", reverse(drawn) if backward else drawn, 25.0))
    assert_sound(made)
    grown = [15.0, 15.0, 15.0, 15.0]
    grown[number] = 25.0
    top, right, bottom, left = grown
    expected = shapely.box(-left, -top, 300 + right, 200 + bottom)
    assert region(made.cutting.curve).symmetric_difference(expected).area < 1e-6
    assert [side.allowance for side in made.sides] == grown
    assert made.sides[number].name == "own"
    assert np.allclose(made.sides[number].stitching, drawn, atol=1e-12)


def test_two_sides_that_touch_keep_their_own_allowances() -> None:
    box = rectangle(300, 200)
    made = cut(box, Treated("a", box[3:], 0.0), Treated("b", reverse(box[:1]), 4.0))
    assert made.cutting.overruns[3] == pytest.approx((15.0, 4.0))
    assert region(made.cutting.curve).symmetric_difference(shapely.box(0, -4, 315, 215)).area < 1e-6


def test_a_stretch_over_the_outline_s_first_point() -> None:
    box = rectangle(300, 200)
    around = np.concatenate([stretch(box, (3, 0.5), (3, 1.0)), stretch(box, (0, 0.0), (0, 0.5))])
    for drawn in (around, reverse(around)):
        made = cut(box, Treated("own", drawn, 0.0))
        assert_sound(made)
        expected = shapely.box(-15, -15, 315, 215).difference(shapely.box(-15, -15, 150, 100))
        expected = expected.union(shapely.box(0, 0, 150, 100))
        assert region(made.cutting.curve).symmetric_difference(expected).area < 1e-6
        assert len(made.sides) == 5


def test_a_stretch_in_the_middle_of_a_side_is_stepped() -> None:
    box = rectangle(300, 200)
    made = cut(box, Treated("own", stretch(box, (0, 0.25), (0, 0.75)), 25.0))
    expected = shapely.box(-15, -15, 315, 215).union(shapely.box(75, -25, 225, 0))
    assert region(made.cutting.curve).symmetric_difference(expected).area < 1e-6


def test_the_whole_outline_may_be_cut_in_its_own_way() -> None:
    line = circle(107.0)
    for outline, own in ((circle(100.0), line), (circle(100.0), reverse(line))):
        made = cut_piece(piece("round", outline), [Treated("rim", outline, 7.0, outline, own)], 15.0, {}, MITRE)
        assert [side.name for side in made.sides] == ["rim"]
        away = np.hypot(*flatten(made.cutting.curve, FLAT).T)
        assert np.abs(away - 107.0).max() < 2 * FLAT


def test_a_stretch_with_lines_of_its_own_takes_its_neighbours_along() -> None:
    """A scalloped line begins beside its corner: the sides next to it are drawn on, or cut off, to where it does."""
    box = rectangle(300, 200)
    sewn = lines([(0, -8), (150, -20), (300, 5)])
    own = lines([(-40, -16), (150, -28), (340, -3)])
    for drawn, stitching, cutting in ((box[:1], sewn, own), (reverse(box[:1]), reverse(sewn), reverse(own))):
        made = cut(box, Treated("hem", drawn, 6.0, stitching, cutting, firm=True))
        assert_sound(made)
        assert made.sides[1].stitching[0, 0] == pytest.approx((300.0, 5.0))
        assert made.sides[3].stitching[-1, 3] == pytest.approx((0.0, -8.0))
        assert ends_direction(made.sides[1].stitching)[0] == pytest.approx((0.0, 1.0))
        # The side's cutting line goes on to the hem's: at x = 315 and -15 it lies on the straight lines between nodes.
        ys = [y for x, y in made.cutting.curve[:, 0] if abs(x - 315.0) < 1e-6]
        assert min(ys) == pytest.approx(-3.0 - 25.0 * 25.0 / 190.0, abs=1e-6)


# --- what is refused ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ((0, 0.0, 0, 1.0), (0, 0.0, 0, 1.0)),
        ((0, 0.0, 0, 1.0), (0, 0.0, 1, 1.0)),
        ((0, 0.0, 0, 0.6), (0, 0.5, 0, 1.0)),
        ((0, 0.0, 2, 1.0), (1, 0.2, 1, 0.4)),
        ((2, 0.5, 3, 1.0), (3, 0.9, 3, 1.0)),
    ],
)
def test_two_sides_that_overlap_are_refused(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    box = rectangle(300, 200)
    own = [
        Treated(name, stretch(box, (int(i), t), (int(j), u)), 20.0)
        for name, (i, t, j, u) in zip("ab", (a, b), strict=True)
    ]
    for treated in (own, own[::-1], [own[0], Treated("b", reverse(own[1].drawn), 20.0)]):
        with pytest.raises(RequestError, match=r'on "box" "[ab]" and "[ab]" overlap.*shorten one'):
            cut(box, *treated)


def test_overlaps_across_the_first_point_are_refused() -> None:
    box = rectangle(300, 200)
    around = np.concatenate([stretch(box, (3, 0.5), (3, 1.0)), stretch(box, (0, 0.0), (0, 0.5))])
    with pytest.raises(RequestError, match="overlap"):
        cut(box, Treated("a", around, 3.0), Treated("b", box[:1], 3.0))
    with pytest.raises(RequestError, match="overlap"):
        cut(box, Treated("whole", box, 3.0), Treated("b", box[2:3], 3.0))


def test_an_arc_beside_a_straight_side_goes_on_smoothly() -> None:
    """A smooth place between two sides with one allowance is no corner: no step, no tip."""
    arc = ellipse_arc((100.0, 50.0), (50.0, 50.0), 0.0, -math.pi / 2.0, math.pi, 1e-9)
    outline = np.concatenate([lines([(0, 0), (100, 0)]), arc, lines([(100, 100), (0, 100), (0, 0)])])
    made = cut(outline, Treated("round", arc, 15.0))
    other = cut(outline)
    assert apart(made, other) < 2 * PROMISE
    assert made.cutting.overruns[0][1] == 0.0


def test_a_hole_is_cut_inside_its_line() -> None:
    made = cut_piece(replace(piece("waist", circle(100.0)), around=circle(400.0)), [], 15.0, {}, Corner())
    radius = np.hypot(*made.cutting.curve[:, 0].T)
    # What is promised of parallels, mm.
    assert np.abs(radius - 85.0).max() < 0.02
    assert not len(outside_the_cut(made))
    with pytest.raises(RequestError, match='"waist" is a hole with no room for 120 mm of allowance: give it less'):
        cut_piece(replace(piece("waist", circle(100.0)), around=circle(400.0)), [], 120.0, {}, Corner())


def test_a_whole_outline_with_its_own_cut_is_cut_there() -> None:
    own = circle(112.0)
    treated = [Treated("rim", circle(100.0), 6.0, circle(106.0), own)]
    made = cut_piece(piece("cloth", circle(100.0)), treated, 15.0, {}, Corner())
    np.testing.assert_allclose(made.cutting.curve, own, atol=1e-9)
    assert not len(outside_the_cut(made))
    tight = cut_piece(piece("cloth", circle(100.0)), [replace(treated[0], cutting=circle(103.0))], 15.0, {}, Corner())
    assert np.allclose(np.hypot(*outside_the_cut(tight).T), 106.0, atol=0.1)
