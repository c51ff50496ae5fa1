"""Linings against closed forms, a polygon library, and the facings that they are sewn to."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.construction.cut_piece import Treated, cut_piece
from scallopkit.construction.cutting import Corner
from scallopkit.construction.facing import Facing, shaped_facings
from scallopkit.construction.lining import Lining, faced_edges, lining, trimmed_edge
from scallopkit.construction.trimmed_edge import EdgeCut, drawn_along
from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.caps import pressed
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.joins import DART
from scallopkit.pattern.piece import Piece
from tests.drawings import BOX, QUARTER, ROUND, read

# mm; what is promised of parallels, and what flattening adds.
PROMISE, FLAT = 0.02, 1e-3
REACH = 80.0


def darts(run: Run) -> dict[int, int]:
    return {k: pressed(run, k) for k, joint in enumerate(run.laid.joints) if joint.kind == DART}


def lined(
    piece: Piece, faced: dict[Run, float], bare: tuple[Run, ...] = (), overlap: float = 15.0, allowance: float = 15.0
) -> Lining:
    """The lining of a piece some of whose runs have facings of a depth, and others none."""
    edges = [
        edge
        for run, depth in faced.items()
        for edge in faced_edges(piece, run.laid, run.line, run.shares, run.origin, depth, overlap, REACH, darts(run))
    ]
    as_cut = [trimmed_edge(run.laid, cut, edge) for run in bare for cut, edge in trimmed(piece, run)]
    return lining(piece, edges, as_cut, [], allowance, {}, Corner())


def trimmed(piece: Piece, run: Run) -> list[tuple[EdgeCut, Treated]]:
    """The edges of a run on a piece, and how that is cut along them."""
    return [
        (cut, Treated(run.name, drawn_along(run.laid, cut.parts), 6.0, cut.stitching, cut.cutting, firm=True))
        for cut in run.edge_cuts((False, False))
        if run.laid.parts[cut.parts[0]].edge.piece is piece
    ]


def as_piece(piece: Piece, run: Run) -> tuple[shapely.Polygon, shapely.Polygon]:
    """What is sewn, and what is cut, of a piece with one scalloped edge and 15 mm elsewhere."""
    cut = cut_piece(piece, [edge for _, edge in trimmed(piece, run)], 15.0, {}, Corner())
    return region(np.concatenate([side.stitching for side in cut.sides])), region(cut.cutting.curve)


def region(curve: Array) -> shapely.Polygon:
    found = shapely.Polygon(cubics.flatten(curve, FLAT))
    assert found.is_valid
    assert shapely.LinearRing(cubics.flatten(curve, FLAT)).is_simple
    return found


def assert_same(curve: Array, expected: shapely.Polygon, within: float = 1e-5) -> None:
    assert region(curve).symmetric_difference(expected).area < within


def of(drawing: Drawing, name: str) -> Piece:
    return next(piece for piece in drawing.pattern.pieces if piece.name == name)


# --- closed forms ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("along", ["box:c2..c3", "box:c3..c2"])
def test_a_box_is_lined_up_to_the_facing_of_its_lower_edge(along: str) -> None:
    drawing = read(BOX)
    run = scallop(drawing, along, width="30mm")
    found = lined(of(drawing, "box"), {run: 50.0})
    (net,) = found.sewn
    # 300 by 200 less 50; cut 15 mm larger all round.
    assert_same(net, shapely.box(10, 20, 310, 170))
    assert_same(found.cut.cutting.curve, shapely.box(-5, 5, 325, 185))


TENTHS = [st.integers(low, high).map(lambda tenths: tenths / 10.0) for low, high in ((200, 900), (0, 1200), (0, 300))]


@given(*TENTHS)
@settings(max_examples=12, deadline=None)
def test_the_overlap_is_cut_beyond_the_facing_whatever_the_depth(
    depth: float, overlap: float, allowance: float
) -> None:
    found = lined(hem().laid.parts[0].edge.piece, {hem(): depth}, overlap=overlap, allowance=allowance)
    assert_same(found.sewn[0], shapely.box(10, 20, 310, 220 - depth))
    low = 220 - depth + overlap
    assert_same(found.cut.cutting.curve, shapely.box(10 - allowance, 20 - allowance, 310 + allowance, low), 1e-4)


@cache
def hem() -> Run:
    return scallop(read(BOX), "box:c2..c3", width="30mm")


def test_two_faced_edges_meet_where_their_inner_edges_cross() -> None:
    drawing = read(BOX)
    low, right = (scallop(drawing, along, width="30mm") for along in ("box:c2..c3", "box:c2..c1"))
    found = lined(of(drawing, "box"), {low: 50.0, right: 40.0}, overlap=10.0)
    assert_same(found.sewn[0], shapely.box(10, 20, 270, 170))
    assert_same(found.cut.cutting.curve, shapely.box(-5, 5, 280, 180))


@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
@pytest.mark.parametrize("along", ["box:c1..c2", "box:c2..c1"])
def test_a_faced_edge_beside_a_bare_one_ends_at_its_scallops(along: str, touch: str) -> None:
    drawing = read(BOX)
    low = scallop(drawing, "box:c2..c3", width="30mm")
    right = scallop(drawing, along, width="37mm", touch=touch)
    found = lined(of(drawing, "box"), {low: 50.0}, (right,))
    net, cut = as_piece(of(drawing, "box"), right)
    # The lining's scallop ends within a chord of the flattened piece's: less than a chord's height times its length.
    assert_same(found.sewn[0], net.intersection(shapely.box(-100, -100, 500, 170)), 1e-3)
    assert_same(found.cut.cutting.curve, cut.intersection(shapely.box(-100, -100, 500, 185)), 1e-3)


@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
def test_without_a_facing_the_lining_is_cut_as_the_piece(touch: str) -> None:
    drawing = read(BOX)
    run = scallop(drawing, "box:c2..c3", width="30mm", touch=touch)
    found = lined(of(drawing, "box"), {}, (run,))
    for curve, expected in zip(
        (found.sewn[0], found.cut.cutting.curve), as_piece(of(drawing, "box"), run), strict=True
    ):
        assert_same(curve, expected)


def test_two_bare_edges_that_run_into_each_other_are_lined_as_they_are_cut() -> None:
    """Halves of 15 mm deep scallops about the corner cross there, on the piece as on its lining."""
    drawing = read(BOX)
    runs = [
        scallop(drawing, along, width="30mm", touch="middle", depth="50%") for along in ("box:c2..c3", "box:c1..c2")
    ]
    piece = of(drawing, "box")
    expected = cut_piece(piece, [edge for run in runs for _, edge in trimmed(piece, run)], 15.0, {}, Corner())
    np.testing.assert_array_equal(lined(piece, {}, tuple(runs)).cut.cutting.curve, expected.cutting.curve)


def test_a_round_cloth_is_lined_by_a_smaller_round_one() -> None:
    drawing = read(ROUND)
    found = lined(of(drawing, "round"), {scallop(drawing, "round", width="30mm"): 40.0})
    centre = np.array([200.0, 200.0])
    for curve, radius in ((found.sewn[0], 60.0), (found.cut.cutting.curve, 75.0)):
        away = np.hypot(*(cubics.flatten(curve, 1e-4) - centre).T)
        assert np.abs(away - radius).max() < PROMISE


def test_a_quarter_circle_on_two_folds_has_the_radius_less_the_depth() -> None:
    drawing = read(QUARTER)
    piece = of(drawing, "quarter")
    run = scallop(drawing, "quarter:c1..c2", width="30mm", start="fold", end="fold")
    edges = faced_edges(piece, run.laid, run.line, run.shares, run.origin, 60.0, 15.0, REACH, {})
    found = lining(piece, edges, [], [], 0.0, {}, Corner())
    assert region(found.sewn[0]).area == pytest.approx(math.pi / 4.0 * 240.0**2, abs=240.0 * PROMISE * 2.0)
    assert region(found.cut.cutting.curve).bounds == pytest.approx((0.0, 0.0, 255.0, 255.0), abs=PROMISE)
    away = np.hypot(*cubics.flatten(edges[0].stitching, 1e-4).T)  # type: ignore[arg-type]  # it is there
    assert np.abs(away - 240.0).max() < PROMISE


# --- what can't be lined --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("depth", [90.0, 100.0, 170.0])
def test_facings_that_run_into_each_other_leave_no_lining(depth: float) -> None:
    drawing = read(BOX)
    low, top = (scallop(drawing, along, width="30mm") for along in ("box:c2..c3", "box:c0..c1"))
    with pytest.raises(RequestError, match=r'facings of "box" run into each other.*leave out the lining'):
        lined(of(drawing, "box"), {low: 110.0, top: depth})


def test_facings_that_leave_a_little_leave_a_lining() -> None:
    drawing = read(BOX)
    low, top = (scallop(drawing, along, width="30mm") for along in ("box:c2..c3", "box:c0..c1"))
    found = lined(of(drawing, "box"), {low: 110.0, top: 80.0})
    assert_same(found.sewn[0], shapely.box(10, 100, 310, 110))


def test_four_faced_edges_leave_what_lies_between_them() -> None:
    drawing = read(BOX)
    edges = ("box:c0..c1", "box:c1..c2", "box:c3..c2", "box:c3..c0")
    found = lined(of(drawing, "box"), {scallop(drawing, along, width="30mm"): 40.0 for along in edges}, overlap=12.0)
    assert_same(found.sewn[0], shapely.box(50, 60, 270, 180))
    assert_same(found.cut.cutting.curve, shapely.box(38, 48, 282, 192))


def test_a_dart_that_the_facing_hardly_leaves_is_none() -> None:
    low, _ = runs()
    apex = low.laid.joints[0].meeting
    assert apex is not None
    assert apex.apex is not None
    long = float(nearest(low.laid.parts[0].edge.curve, apex.apex[None]).distance[0])
    assert lined(of(cloth(), "back"), {low: long - 3.0}).closed


def test_a_facing_deeper_than_the_side_is_long_leaves_no_lining() -> None:
    body = '<path id="strap" d="M 0,0 H 40 L 140,100 V 200 H -100 Z"/>'
    drawing = read(body)
    run = scallop(drawing, "strap:c1..c2", width="30mm")
    with pytest.raises(RequestError, match=r'of "strap" at .* leave out the lining'):
        lined(of(drawing, "strap"), {run: 90.0})


# --- darts, seams: the waistcoat ------------------------------------------------------------------------------------


@cache
def cloth() -> Drawing:
    return read_drawing(waistcoat().encode(), "waistcoat.svg")


@cache
def runs() -> tuple[Run, Run]:
    low = scallop(cloth(), HEM, join=HEM_JOINS, start="fold:pass", width="24mm", true_up=True, name="hem")
    hole = scallop(cloth(), ARMHOLE, join=ARMHOLE_JOINS, width="19mm", depth="30%", touch="crest", name="armhole")
    return low, hole


DEPTHS = (50.0, 45.0)


@cache
def of_waistcoat(name: str) -> Lining:
    return lined(of(cloth(), name), dict(zip(runs(), DEPTHS, strict=True)))


def facings() -> list[tuple[Run, Facing]]:
    found = [
        (run, facing)
        for run, depth in zip(runs(), DEPTHS, strict=True)
        for facing in shaped_facings(run.laid, run.line, run.shares, run.origin, depth)[0]
    ]
    assert len(found) == 4
    return found


def name_of(run: Run, facing: Facing) -> str:
    return run.laid.parts[facing.parts[0]].edge.piece.name


@pytest.mark.parametrize("name", ["back", "front"])
def test_the_lining_is_the_piece_less_its_facings(name: str) -> None:
    found = of_waistcoat(name)
    net = region(found.sewn[0])
    cut = region(found.cut.cutting.curve)
    strips = 0.0
    for run, facing in facings():
        if name_of(run, facing) == name:
            # From the edge line, and not from the scallops, to the inner edge.
            ends = (facing.source[-1, 3], facing.inner[-1, 3], facing.inner[0, 0], facing.source[0, 0])
            ring = [facing.source, cubics.lines([ends[0], ends[1]]), cubics.reverse(facing.inner)]
            strips += region(np.concatenate([*ring, cubics.lines([ends[2], ends[3]])])).area
    whole = shapely.Polygon(cubics.flatten(of(cloth(), name).curve, FLAT)).area
    assert net.area == pytest.approx(whole - strips, rel=0.01)
    assert cut.buffer(PROMISE).contains(net)


@pytest.mark.parametrize("which", range(4))
def test_the_lining_is_sewn_to_the_inner_edge_of_the_facing(which: int) -> None:
    """Part by part as long, at the same distance from the edge, and at seams in the same places."""
    run, facing = facings()[which]
    net = of_waistcoat(name_of(run, facing)).sewn[0]
    laid = run.laid
    back = [motion.inverse(laid.parts[k].motion) for k in facing.parts]
    m = measure(facing.inner)
    points = m.points(np.linspace(0.0, m.length, 400))
    on_net = [nearest(net, motion.apply(one, points)).distance for one in back]
    # Each place of the facing's inner edge lies on the lining of the part it faces, with darts closed.
    assert np.min(on_net, axis=0).max() < PROMISE
    ends = motion.apply(back[0], facing.inner[:1, 0]), motion.apply(back[-1], facing.inner[-1:, 3])
    corners = net[:, 0]
    for end in ends:
        assert np.hypot(*(corners - end).T).min() < 1e-6
    sewn = sum(
        measure(side.stitching).length for side in of_waistcoat(name_of(run, facing)).cut.sides if side.name == run.name
    )
    legs = 0.0
    for k in facing.parts[:-1]:
        met = laid.joints[k].meeting
        assert met is not None
        assert met.apex is not None
        # What is left of both legs inside the facing.
        for number, mouth in ((k, met.first.curve[-1, 3]), (k + 1, met.second.curve[0, 0])):
            leg = cubics.lines([mouth, met.apex])
            line = shapely.LineString(motion.apply(laid.parts[number].motion, leg)[0][[0, 3]])
            cross = line.intersection(shapely.LineString(cubics.flatten(facing.inner, 1e-4)))
            end = motion.apply(laid.parts[number].motion, met.apex)
            legs += float(np.hypot(end[0] - cross.x, end[1] - cross.y))
    assert sewn - legs == pytest.approx(m.length, abs=PROMISE)


def test_the_linings_meet_in_the_same_places_of_the_side_seam() -> None:
    """As far from the underarm, and from the hem, at both pieces."""
    along = []
    for run in runs():
        for k, joint in enumerate(run.laid.joints):
            if joint.kind == "seam" and joint.meeting is not None and joint.meeting.legs is not None:
                lengths = []
                for part, leg in zip((k, (k + 1) % len(run.laid.parts)), joint.meeting.legs, strict=True):
                    net = of_waistcoat(run.laid.parts[part].edge.piece.name).sewn[0]
                    m = measure(leg)
                    near = nearest(leg, net[:, 0])
                    s = m.lengths(near.segment, near.t)[near.distance < 1e-5]
                    lengths.append(float(s.min()))
                along.append(lengths)
    assert len(along) == 3
    for first, second in along:
        assert 40.0 < first < 60.0
        assert first == pytest.approx(second, abs=1e-5)


@pytest.mark.parametrize("name", ["back", "front"])
def test_darts_have_caps_beyond_the_inner_edge(name: str) -> None:
    """Over the mouth of a dart both layers of the folded intake are cut alike, out to its fold."""
    run = runs()[0]
    cutting = of_waistcoat(name).cut.cutting.curve
    ring = shapely.LineString(cubics.flatten(cutting, FLAT))
    seen = 0
    for k in darts(run):
        met = run.laid.joints[k].meeting
        assert met is not None
        assert met.apex is not None
        if met.first.piece.name != name:
            continue
        seen += 1
        mouths = np.stack([met.first.curve[-1, 3], met.second.curve[0, 0]])
        way = mouths - met.apex
        lengths = np.hypot(*way.T)
        way /= lengths[:, None]
        middle = way.sum(axis=0) / np.hypot(*way.sum(axis=0))

        def out(direction: np.ndarray, apex: Array = met.apex) -> float:
            """How far from the point of the dart the cut crosses a ray."""
            cross = ring.intersection(shapely.LineString([apex, apex + 400.0 * direction]))
            return float(np.hypot(cross.x - apex[0], cross.y - apex[1]))

        legs = [out(one) for one in way]
        half = math.acos(float(way[0] @ middle))
        # What lies a tenth of the angle from one leg lies on what is as far from the other, once it is folded.
        for share in (0.1, 0.5, 0.9):
            sides = [one * math.sin((1.0 - share) * half) + middle * math.sin(share * half) for one in way]
            a, b = (out(side / np.hypot(*side)) for side in sides)
            assert a == pytest.approx(b, abs=0.05)
        # A line straight over the mouth would be short of the fold.
        assert out(middle) > legs[0] * math.cos(half) + 0.5
        assert legs[0] == pytest.approx(legs[1], abs=0.05)
    assert seen == 1


def test_a_facing_past_a_dart_leaves_no_lining() -> None:
    low, _ = runs()
    with pytest.raises(RequestError, match=r'past the point of the dart at "dart-in/dart-out".*less deep'):
        lined(of(cloth(), "back"), {low: 160.0})


@pytest.mark.parametrize("name", ["back", "front"])
def test_a_bare_edge_with_darts_is_lined_along_its_scallops(name: str) -> None:
    low, hole = runs()
    found = lined(of(cloth(), name), {hole: 45.0}, (low,))
    net = region(found.sewn[0])
    whole = of_waistcoat(name)
    assert region(whole.sewn[0]).area < net.area
    assert region(found.cut.cutting.curve).buffer(PROMISE).contains(net)
    # Scallops and valleys of the hem are what is sewn, and the piece's own cutting line is what is cut.
    (own,) = [cut for cut, _ in trimmed(of(cloth(), name), low)]
    flat = low.line.placed
    seen = 0
    for k in own.parts:
        part = low.laid.parts[k]
        on_part = (flat.row.s_start > part.begin) & (flat.row.s_end < part.end)
        places = motion.apply(motion.inverse(part.motion), np.stack([flat.crest, flat.row.start])[:, on_part])
        assert nearest(found.sewn[0], places.reshape(-1, 2)).distance.max() < 1e-6
        seen += int(np.count_nonzero(on_part))
    assert seen >= 5
    middle = measure(own.cutting).points(np.linspace(0.25, 0.75, 200) * measure(own.cutting).length)
    assert nearest(found.cut.cutting.curve, middle).distance.max() < 1e-6
    # Down one leg of each dart and up the other.
    for k in own.parts[:-1]:
        met = low.laid.joints[k].meeting
        assert met is not None
        assert met.apex is not None
        assert np.hypot(*(found.sewn[0][:, 0] - met.apex).T).min() < 1e-9
