"""Cutting lines beyond trimmed edges, against closed forms and a polygon library's own parallels."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import pytest
import shapely
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from scallopkit.construction.trimmed_edge import ON_LINE, SCALLOPED, STRAIGHT, Cut, EdgeCut, edge_cuts
from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.caps import pressed
from scallopkit.document.cut_pieces import MadePiece
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import Run
from scallopkit.document.workshop import cut as cut_pieces
from scallopkit.document.workshop import redrawn, scallop
from scallopkit.errors import ScallopkitError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.joins import DART
from tests.drawings import BOX, LINE, QUARTER, ROUND, page, path, read

# What is promised of parallels, mm.
PARALLEL = 0.02
REACH = 40.0


def cut(run: Run, how: Cut) -> list[EdgeCut]:
    darts = {k: pressed(run, k) for k, joint in enumerate(run.laid.joints) if joint.kind == DART}
    return edge_cuts(run.laid, run.line, run.shares, run.origin, how, REACH, darts)


def far(curve: Array, other: Array) -> tuple[float, float]:
    """The least and the greatest distance of the points of a curve from another one."""
    away = nearest(other, cubics.flatten(curve, 0.001)).distance
    return float(away.min()), float(away.max())


def test_half_circles_of_radius_15_cut_at_6_mm_have_their_valleys_14_7_mm_beyond() -> None:
    # sqrt(21² - 15²) - sqrt(15² - 15²): two circles of radius 21 whose centres lie 30 apart.
    run = scallop(read(LINE), width="30mm", profile="half-circle")
    (made,) = cut(run, Cut(SCALLOPED, 6.0))
    found = made.cutting[:, 0]
    valleys = [p for p in found if abs((p[0] - 10.0) / 30.0 - round((p[0] - 10.0) / 30.0)) < 1e-9]
    inner = [p for p in valleys if 10.1 < p[0] < 309.9]
    assert len(inner) == 9
    assert {round(20.0 - p[1], 9) for p in inner} == {round(math.sqrt(216.0), 9)}


@pytest.mark.parametrize("profile", ["arc", "half-circle", "pointed-arch", "double-curve", "wave", "point"])
@pytest.mark.parametrize("drawing", [LINE, BOX, ROUND], ids=["line", "square", "round"])
def test_a_scalloped_cut_lies_at_the_distance_and_farther_only_round_points(profile: str, drawing: str) -> None:
    # Distances by a polygon library; a mitre is farther than its corner's distance, and nowhere else is.
    run = scallop(read(drawing), width="25mm", profile=profile, depth="30%", side="left" if drawing == LINE else "")
    (made,) = cut(run, Cut(SCALLOPED, 5.0))
    sewn = shapely.LineString(cubics.flatten(made.stitching, 0.0005))
    ours = shapely.LineString(cubics.flatten(made.cutting, 0.0005))
    points = shapely.points(np.array(ours.coords))
    away = shapely.distance(sewn, points)
    assert ours.is_simple
    assert away.min() > 5.0 - PARALLEL
    far_off = points[away > 5.0 + PARALLEL]
    feet = shapely.get_point(shapely.shortest_line(far_off, sewn), 1)
    nodes = shapely.MultiPoint(np.concatenate([made.stitching[:, 0], made.stitching[-1:, 3]]))
    assert float(shapely.distance(feet, nodes).max(initial=0.0)) < 1e-6
    assert len(far_off) < 0.5 * len(points)


def test_a_straight_cut_lies_so_far_beyond_the_crests() -> None:
    run = scallop(read(ROUND), width="40mm", depth="25%")
    assert run.scallops is not None
    (made,) = cut(run, Cut(STRAIGHT, 10.0))
    crest = float(np.hypot(*(run.scallops.crest - 200.0).T).max())
    radius = np.hypot(*(cubics.flatten(made.cutting, 0.001) - 200.0).T)
    assert radius.min() == pytest.approx(crest + 10.0, abs=PARALLEL)
    assert radius.max() == pytest.approx(crest + 10.0, abs=PARALLEL)


def test_an_edge_that_is_bound_is_cut_on_its_line() -> None:
    run = scallop(read(LINE), width="30mm")
    (made,) = cut(run, Cut(ON_LINE))
    np.testing.assert_array_equal(made.cutting, made.stitching)


def test_a_straight_cut_of_crests_on_the_edge_lies_beyond_the_edge() -> None:
    run = scallop(read(LINE), width="30mm", touch="crest")
    (made,) = cut(run, Cut(STRAIGHT, 10.0))
    assert np.allclose(made.cutting[..., 1], 10.0, atol=PARALLEL)


def test_beyond_a_fold_the_cut_goes_on_as_its_mirror_image() -> None:
    run = scallop(read(QUARTER), "quarter:c1..c2", width="60mm", start="fold", end="fold")
    (made,) = cut(run, Cut(SCALLOPED, 6.0))
    flat = cubics.flatten(made.cutting, 0.001)
    beyond = flat[flat[:, 1] < -1.0]
    assert len(beyond)
    mirrored = nearest(made.cutting, beyond * (1.0, -1.0))
    assert mirrored.distance.max() < 0.002
    # On the fold itself the cut is square to it, as a crest there is.
    at = int(np.argmin(np.abs(made.cutting[:, 0, 1])))
    assert abs(made.cutting[at, 0, 1]) < 1e-9
    way = cubics.ends_direction(made.cutting[at:])[0]
    assert abs(way[0]) < 1e-6


def waistcoat_runs() -> list[Run]:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    hem = scallop(drawing, list(HEM), join=list(HEM_JOINS), start="fold:pass", width="24mm", depth="35%", true_up=True)
    armhole = scallop(drawing, list(ARMHOLE), join=list(ARMHOLE_JOINS), width="19mm", depth="30%", touch="crest")
    return [hem, armhole]


@pytest.mark.parametrize("number", [0, 1], ids=["hem", "armhole"])
@pytest.mark.parametrize("how", [Cut(SCALLOPED, 6.0), Cut(STRAIGHT, 10.0), Cut(ON_LINE)], ids=lambda how: how.kind)
def test_cuts_on_two_pieces_meet_on_the_seams_line_once_sewn(number: int, how: Cut) -> None:
    run = waistcoat_runs()[number]
    made = cut(run, how)
    laid = run.laid
    for k, joint in enumerate(laid.joints):
        if joint.kind == DART:
            continue
        following = (k + 1) % len(laid.parts)
        before = next(one for one in made if one.parts[-1] == k)
        after = next(one for one in made if one.parts[0] == following)
        on = laid.closing if k + 1 == len(laid.parts) else motion.IDENTITY
        ends = [
            on_line(motion.apply(laid.parts[k].motion, before.cutting), joint.point, joint.along),
            on_line(
                motion.apply(motion.compose(on, laid.parts[following].motion), after.cutting), joint.point, joint.along
            ),
        ]
        # What is promised of everything that crosses a join.
        assert float(np.hypot(*(ends[0] - ends[1]))) < 1e-6


def on_line(curve: Array, place: Array, along: Array) -> Array:
    """Where a curve crosses a line through a place, nearest to the place."""
    segment, t = cubics.meets_line(curve, place, cubics.left(along))
    nodes = np.concatenate([curve[:, 0], curve[-1:, 3]])
    on = np.abs((nodes - place) @ cubics.left(along)) < 1e-7
    points = np.concatenate([cubics.point(curve, segment, t), nodes[on]])
    return np.asarray(points[np.argmin(np.hypot(*(points - place).T))])


def test_over_a_dart_the_line_is_whole_and_the_cap_lies_between_the_legs() -> None:
    hem = waistcoat_runs()[0]
    back, front = cut(hem, Cut(SCALLOPED, 6.0))
    assert (back.parts, front.parts) == ((0, 1), (2, 3))
    for made in (back, front):
        for curve in (made.stitching, made.cutting):
            assert np.abs(curve[1:, 0] - curve[:-1, 3]).max() < 1e-9
            assert shapely.LineString(cubics.flatten(curve, 0.01)).is_simple
        # The whole line lies outside the stitched one.
        assert far(made.cutting, made.stitching)[0] > 5.0


@settings(max_examples=40, deadline=None)
@given(
    st.floats(14.0, 60.0),
    st.floats(0.1, 0.9),
    st.floats(2.0, 12.0),
    st.sampled_from([LINE, BOX, ROUND]),
    st.floats(-3.0, 3.0),
)
def test_no_loop_is_left_and_no_point_lies_nearer_than_the_distance(
    width: float, depth: float, distance: float, drawing: str, turn: float
) -> None:
    body = f'<g transform="rotate({turn * 57.3} 200 150)">{drawing}</g>'
    try:
        run = scallop(read_drawing(page(body).encode(), "a.svg"), width=width, depth=f"{100 * depth}%", space="2mm")
    except ValueError:
        # Some depths overlap, which is refused.
        return
    (made,) = cut(run, Cut(SCALLOPED, distance))
    assert far(made.cutting, made.stitching)[0] > distance - PARALLEL
    assert shapely.LineString(cubics.flatten(made.cutting, 0.005)).is_simple


@pytest.mark.parametrize("how", [Cut(SCALLOPED, 6.0), Cut(STRAIGHT, 10.0)], ids=lambda how: how.kind)
@pytest.mark.parametrize("touch", ["valley", "crest"])
def test_scallops_into_the_cloth_are_cut_outside_it_too(how: Cut, touch: str) -> None:
    # The box's cloth lies below its upper edge, y = 20; scallops that bulge inward leave their valleys on it.
    run = scallop(read(BOX), "box:c0..c1", width="30mm", depth="40%", side="inward", touch=touch)
    (made,) = cut(run, how)
    low, _ = far(made.cutting, made.stitching)
    assert low > how.distance - PARALLEL
    outermost = float(made.stitching[..., 1].min())
    assert float(made.cutting[..., 1].min()) == pytest.approx(outermost - how.distance, abs=PARALLEL)
    if how.kind == STRAIGHT:
        assert np.allclose(made.cutting[:, 0, 1], outermost - 10.0, atol=PARALLEL)


# ---------------------------------------------------------------- seams that lean

# mm; the ends of both hems, where their pieces' seam begins, and how long it is.
LEFT, RIGHT, FOOT, SEAM = 250.0, 550.0, 300.0, 120.0
FLAT = 0.005


class Half(NamedTuple):
    """One of two pieces that are sewn together, as it is cut: polygons and lines of a polygon library."""

    made: MadePiece
    cloth: shapely.Polygon
    finished: shapely.Polygon
    sewn: shapely.LineString
    overrun: float


def halves(
    angles: tuple[float, float],
    hold: str,
    allowance: float = 15.0,
    **words: Any,  # noqa: ANN401  # texts and numbers
) -> list[Half]:
    """Two pieces sewn together whose seam makes these angles, in degrees, with their hems; scalloped over the seam."""
    shapes = []
    for foot, hand, angle in zip((LEFT, RIGHT), (-1.0, 1.0), np.radians(angles), strict=True):
        up = FOOT - SEAM * math.sin(angle)
        top = foot + hand * SEAM * math.cos(angle)
        shapes.append([(foot + hand * 200.0, FOOT), (foot, FOOT), (top, up), (foot + hand * 200.0, up)])
    shapes[1] = [shapes[1][k] for k in (1, 0, 3, 2)]
    outlines = [cubics.lines([*shape, shape[0]]) for shape in shapes]
    drawing = read("".join(path(curve, name, closed=True) for name, curve in zip("lr", outlines, strict=True)))
    run = scallop(drawing, ["l:c0..c1", "r:c0..c1"], join=f"seam:{hold}", name="hem", **words)
    out = []
    for number, made in enumerate(cut_pieces(redrawn(drawing, [run]), allowance=allowance)):
        sewn = cubics.flatten(run.edge_cuts((False, False))[number].stitching, FLAT)
        rest = cubics.flatten(made.piece.curve[1:], FLAT)
        (hem,) = [k for k, side in enumerate(made.cut.sides) if side.name == "hem"]
        overruns = made.cut.cutting.overruns
        out.append(
            Half(
                made,
                shapely.Polygon(cubics.flatten(made.cut.cutting.curve, FLAT)),
                shapely.Polygon(np.concatenate([sewn, rest])),
                shapely.LineString(sewn),
                overruns[hem - 1][1] if number else overruns[(hem + 1) % len(overruns)][0],
            )
        )
    return out


@settings(max_examples=25, deadline=None)
@given(
    st.floats(50.0, 130.0),
    st.floats(50.0, 130.0),
    st.sampled_from(["raw", "bound", "stitched", "faced"]),
    st.floats(18.0, 36.0),
    st.floats(0.15, 0.45),
)
def test_half_a_scallop_at_a_free_end_is_cut_whole_beside_any_side(
    start: float, end: float, finish: str, width: float, depth: float
) -> None:
    """Edges that are cut on their line are cut along all of it, up to the crests; others so far beyond all of it."""
    left, right = (np.array([math.cos(a), -math.sin(a)]) * 120.0 for a in np.radians([180.0 - start, end]))
    corners = [np.array([20.0, 200.0]), np.array([260.0, 200.0])]
    outline = cubics.lines([*corners, corners[1] + right, corners[0] + left, corners[0]])
    drawing = read(path(outline, "p", closed=True))
    shape = f"{100 * depth}%"
    run = scallop(drawing, "p:c0..c1", name="hem", width=width, depth=shape, start="crest", end="crest", finish=finish)
    (made,) = cut_pieces(redrawn(drawing, [run]))
    sewn = cubics.flatten(run.edge_cuts((False, False))[0].stitching, FLAT)
    cloth = shapely.Polygon(cubics.flatten(made.cut.cutting.curve, FLAT))
    away = shapely.distance(shapely.points(sewn), cloth.exterior)
    if finish == "faced":
        assert cloth.contains(shapely.LineString(sewn))
        assert away.min() > 6.0 - PARALLEL - FLAT
    else:
        assert away.max() < PARALLEL + FLAT


def narrow(curve: Array, width: float) -> list[Array]:
    """Corners of a closed line that stick out between hollow ones, or in between bulging ones, no wider than this."""
    outside = math.copysign(1.0, cubics.area(curve))
    following = np.roll(curve, -1, axis=0)
    number = np.arange(len(curve))
    forth = cubics.direction(curve, number, np.ones(len(curve)))
    onward = cubics.direction(following, number, np.zeros(len(curve)))
    turn = outside * np.arctan2(cubics.cross(forth, onward), cubics.dot(forth, onward))
    kept = np.abs(turn) > math.radians(10.0)
    place, hand = curve[kept, 3], np.sign(turn[kept])
    before, after = np.roll(place, 1, axis=0), np.roll(place, -1, axis=0)
    other = (np.roll(hand, 1) == -hand) & (np.roll(hand, -1) == -hand)
    return list(place[other & (cubics.norm(after - before) < width)])


@pytest.mark.parametrize("finish", ["raw", "bound"])
@pytest.mark.parametrize("angle", [105.0, 120.0, 130.0])
def test_beside_a_seam_that_leans_out_an_edge_without_allowance_is_cut_free(finish: str, angle: float) -> None:
    acute, obtuse = halves((180.0 - angle, angle), "valley", 15.0, width=30, finish=finish)
    # All of the scallops is cut out, and beside them the allowance ends square to the seam: 15 mm from the hem's end.
    away = shapely.distance(shapely.points(np.array(obtuse.sewn.coords)), obtuse.cloth.exterior)
    assert away.max() < PARALLEL
    lean = math.radians(angle)
    tip = shapely.Point(RIGHT - 15.0 * math.sin(lean), FOOT - 15.0 * math.cos(lean))
    corners = shapely.MultiPoint(obtuse.made.cut.cutting.curve[:, 0])
    assert corners.distance(tip) < 1e-6
    # On the other piece it follows the mirrored edge: pressed open it does not show.
    image = mirrored(np.array(acute.sewn.coords), 180.0 - angle)
    over = shapely.points(image[shapely.distance(shapely.points(image), acute.finished) < 14.0])
    over = over[shapely.distance(over, shapely.Point(LEFT, FOOT)) < 14.0]
    assert len(over) > 10
    assert shapely.distance(over, acute.cloth.exterior).max() < PARALLEL
    assert not [warn for half in (acute, obtuse) for warn in half.made.warnings]


def over_seam(half: Half) -> float:
    """How far the trimmed line reaches beyond its seam's line drawn on, mm."""
    left = half.made.name == "l"
    seam = cubics.reverse(half.made.piece.curve[1:2]) if left else half.made.piece.curve[3:4]
    point, way = seam[0, 0], cubics.ends_direction(seam)[0]
    inside = np.array([seam[0, 0][0] + (-50.0 if left else 50.0), seam[0, 0][1] - 1.0])
    off = (np.array(half.sewn.coords) - point) @ cubics.left(way)
    return float((-off * np.sign((inside - point) @ cubics.left(way))).max())


def mirrored(points: Array, angle: float) -> Array:
    """The mirror image of points in the seam of the left piece."""
    lean = math.radians(angle)
    along = (-math.cos(lean), -math.sin(lean))
    return np.asarray(motion.apply(motion.mirrored(np.array([LEFT, FOOT]), np.array(along)), points))


def test_a_seam_at_right_angles_keeps_the_mirror_image() -> None:
    for half in halves((90.0, 90.0), "valley", width=30, finish="raw"):
        inner = LEFT if half.made.name == "l" else RIGHT
        beside = half.cloth.intersection(shapely.box(inner - 15.0, FOOT, inner + 15.0, FOOT + 50.0))
        image = shapely.transform(beside, lambda xy, at=inner: xy * (-1.0, 1.0) + (2.0 * at, 0.0))
        assert beside.symmetric_difference(image).area < 0.05
        assert beside.area > 100.0


@settings(max_examples=20, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(
    st.floats(50.0, 130.0),
    st.just(0.0) | st.floats(-20.0, 20.0),
    st.just("valley") | st.floats(1.0, 16.0).map("gap:{:.2f}mm".format),
    st.sampled_from(["raw", "bound", "faced"]),
    st.floats(18.0, 36.0),
    st.floats(0.15, 0.5),
    st.floats(12.0, 25.0),
)
def test_beside_any_seam_the_cut_keeps_off_the_finished_piece(
    angle: float, untrue: float, hold: str, finish: str, width: float, depth: float, allowance: float
) -> None:
    angles = angle, 180.0 - angle + untrue
    try:
        left, right = halves(angles, hold, allowance, width=width, depth=f"{100 * depth}%", finish=finish)
    except ScallopkitError:
        # Some depths overlap, which is refused.
        assume(False)
    for half in (left, right):
        assert half.cloth.exterior.is_simple
        assert half.cloth.buffer(PARALLEL).contains(half.finished)
        # Places 1e-11 mm apart in an outline leave crumbs of its inner parallel.
        assert half.cloth.exterior.intersection(half.finished.buffer(-PARALLEL)).length < 1e-3
        away = shapely.distance(shapely.points(np.array(half.sewn.coords)), half.cloth.exterior)
        if finish == "faced":
            # Beside a scallop that lies over the seam's line drawn on, the seam's own allowance may end sooner.
            room = min(6.0, allowance - over_seam(half))
            assert half.sewn.distance(half.cloth.exterior) > room - PARALLEL - FLAT
        else:
            assert away.max() < PARALLEL + FLAT
    # The allowances of both pieces end in one place of the seam.
    assert left.overrun == pytest.approx(right.overrun, abs=0.05)


def test_the_valley_at_the_waistcoats_untrue_side_seam_has_one_corner() -> None:
    hem = waistcoat_runs()[0]
    for made, node in zip(cut(hem, Cut(SCALLOPED, 6.0)), ((-1, 3), (0, 0)), strict=True):
        part = hem.laid.parts[made.parts[node[0]]]
        joint = part.drawn.curve[node]
        near = made.cutting[cubics.norm(made.cutting[:, 0] - joint) < 40.0]
        # Closed by a straight line far from the seam, so that its corners can be told apart.
        ring = np.concatenate([near, cubics.lines([near[-1, 3], near[-1, 3] - (0.0, 90.0), near[0, 0]])])
        assert not narrow(ring, 3.0)


@pytest.mark.parametrize("untrue", [2.0, 5.5, 10.0])
@pytest.mark.parametrize("angle", [80.0, 88.0, 93.0])
def test_no_nib_is_left_in_the_allowance_of_an_untrue_join(angle: float, untrue: float) -> None:
    for half in halves((angle, 180.0 - angle + untrue), "valley", width=24, depth="35%", finish="faced"):
        assert not narrow(half.made.cut.cutting.curve, 3.0)
