"""Pieces as a maker asks for them: cutting lines, folds, darts, notches, labels, and what is told and kept of them."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from lxml import etree

from scallopkit.demo import front
from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.checking import check
from scallopkit.document.cut_pieces import MadePiece, piece_group, piece_table
from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines
from scallopkit.document.group import group_of
from scallopkit.document.kept import kept_pieces, kept_recipes
from scallopkit.document.layer import read_groups
from scallopkit.document.path_data import read_path
from scallopkit.document.picture import cropped, to_png
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.surveying import survey_entry
from scallopkit.document.workshop import (
    cut,
    facing,
    made_runs,
    notches,
    recut,
    redrawn,
    refit,
    report_text,
    scallop,
    with_runs,
)
from scallopkit.errors import NameUnknownError, RequestError, ScallopkitError
from scallopkit.geometry.cubics import Array, cross, flatten, lines
from scallopkit.geometry.length import measure
from scallopkit.geometry.motion import IDENTITY

from ..drawings import BOX, LINE, QUARTER, ROUND, UNITS, marks, page, path, read
from ..shapes import rectangle
from .test_picture import pixels

# mm; what is promised of parallels, what flattening adds, and what is promised of a written drawing.
PROMISE, FLAT, WRITTEN = 0.02, 1e-3, 2e-4


def of(text: str | bytes) -> Drawing:
    return read_drawing(text.encode() if isinstance(text, str) else text, "a.svg")


def one(drawing: Drawing, piece: str = "", **words: Any) -> MadePiece:  # noqa: ANN401  # texts, numbers and lists
    (made,) = cut(drawing, piece, **words)
    return made


def region(made: MadePiece | Array) -> shapely.Polygon:
    return shapely.Polygon(flatten(made.cut.cutting.curve if isinstance(made, MadePiece) else made, FLAT))


def net(made: MadePiece) -> shapely.Polygon:
    return shapely.Polygon(flatten(made.piece.curve, FLAT))


def assert_sound(made: MadePiece) -> None:
    """One simple ring, closed to the last bit."""
    curve = made.cut.cutting.curve
    assert np.array_equal(curve[:, 0], np.roll(curve[:, 3], 1, axis=0))
    ring = shapely.LinearRing(flatten(curve, FLAT))
    assert ring.is_simple
    assert ring.is_valid


def box_cut(left: float, top: float, right: float, bottom: float) -> shapely.Polygon:
    """The box of the drawing with so much beyond its sides."""
    return shapely.box(10 - left, 20 - top, 310 + right, 220 + bottom)


def assert_same(made: MadePiece, expected: shapely.Polygon) -> None:
    """Straight lines, so that there is no more between them than rounding."""
    assert region(made).symmetric_difference(expected).area < 1e-5


# --- plain pieces ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "beyond"),
    [
        ({}, (15, 15, 15, 15)),
        ({"allowance": "1cm"}, (10, 10, 10, 10)),
        ({"allowance": 0}, (0, 0, 0, 0)),
        ({"allowance": 10, "side": "box:c0..c1=2cm"}, (10, 20, 10, 10)),
        ({"side": ["box:c1..c0=20mm", "box:c2..c3=0"]}, (15, 20, 15, 0)),
        ({"fold": "box:c3..c0"}, (0, 15, 15, 15)),
        ({"fold": ["box:c0..c3", "box:c0..c1"]}, (0, 0, 15, 15)),
    ],
)
def test_a_box_is_cut_so_much_larger_each_way(words: Any, beyond: tuple[float, ...]) -> None:  # noqa: ANN401
    made = one(read(BOX), **words)
    assert_sound(made)
    assert_same(made, box_cut(*beyond))
    assert made.warnings == ()


def test_every_closed_piece_is_cut_where_none_is_named() -> None:
    made = cut(read(BOX + ROUND.replace('cx="200"', 'cx="500"') + LINE))
    assert [one.name for one in made] == ["box", "round"]


@pytest.mark.parametrize("unit", UNITS)
def test_a_drawing_in_other_units_is_cut_alike(unit: float) -> None:
    box = path(rectangle(300, 200) + np.array([10.0, 20.0]), "box", closed=True, unit=unit)
    drawing = read(box, unit)
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width="30mm", name="top")])
    made = one(drawing, side="box:c2..c3=1in", size="38")
    plain = redrawn(read(BOX), [scallop(read(BOX), "box:c0..c1", width=30, name="top")])
    expected = one(plain, side="box:c2..c3=1in")
    assert shapely.hausdorff_distance(region(made), region(expected)) < 1e-4
    # What is written comes back in mm, and the letters are as high.
    text = with_runs(drawing, [], [made])
    root = etree.fromstring(text)
    (written,) = root.iterfind(".//{*}path[@data-role='cutting']")
    curve = read_path(written.get("d", ""), 1e-9).subpaths[0].curve * unit
    assert shapely.hausdorff_distance(region(curve), region(expected)) < 1e-2
    low, high = np.array(region(curve).bounds).reshape(2, 2)
    assert low == pytest.approx((-5.0, 2.0), abs=WRITTEN + PROMISE)
    assert high == pytest.approx((325.0, 245.4), abs=WRITTEN)
    (label,) = root.iterfind(".//{*}text[@data-role='label']")
    size = re.search(r"font-size:([\d.]+)", label.get("style", ""))
    assert size is not None
    assert float(size[1]) * unit == pytest.approx(7.0, rel=1e-3)
    entry = report_of(drawing, [], pieces=[made])["pieces"][0]
    assert entry["cut_length_mm"] == pytest.approx(measure(expected.cut.cutting.curve).length, abs=1e-3)


# --- corners --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "rounded"),
    [
        ({}, 0),
        ({"corners": "rounded"}, 4),
        ({"corner": "c2=rounded"}, 1),
        ({"corner": ["c2=rounded", "c0=rounded"]}, 2),
        ({"corners": "rounded", "corner": "c1=mitred"}, 3),
        ({"corners": "squared"}, 0),
    ],
)
def test_corners_have_their_kinds(words: Any, rounded: int) -> None:  # noqa: ANN401  # texts and lists
    made = one(read(BOX), **words)
    assert_sound(made)
    # A quarter circle of 15 mm leaves (1 - pi/4) 15² of its square.
    expected = 330.0 * 230.0 - rounded * (1.0 - math.pi / 4.0) * 225.0
    assert region(made).area == pytest.approx(expected, abs=4 * 24 * PROMISE)


def test_a_turned_corner_at_a_slanted_side_widens_the_turned_allowance() -> None:
    """A hem at the end of sides that run together: turned up, its allowance needs the width that lies above it."""
    cone = path(lines([(100, 100), (200, 100), (250, 300), (50, 300), (100, 100)]), "cone", closed=True)
    mitred = one(read(cone), side="cone:c2..c3=40mm", allowance=10)
    turned = one(read(cone), side="cone:c2..c3=40mm", allowance=10, corner=["c2=turned:after", "c3=turned:before"])
    widths = [region(made).intersection(shapely.box(-500, 339, 900, 339.5)).area / 0.5 for made in (mitred, turned)]
    # At 39 mm below the hem: mitred goes on widening by 2 * 39 / 4, turned comes in by as much.
    assert widths[0] - widths[1] == pytest.approx(2 * 2 * 39.25 / 4.0, abs=0.2)


# --- folds and labels -----------------------------------------------------------------------------------------------


def written(made: MadePiece, drawing: Drawing) -> etree._Element:
    root = etree.fromstring(with_runs(drawing, [], [made]))
    return next(iter(root.iterfind(f".//{{*}}g[@data-run='cut {made.name}']")))


def test_a_fold_is_drawn_and_told_on_the_label() -> None:
    drawing = read(BOX)
    made = one(drawing, fold="box:c3..c0")
    assert made.label == ("box", "cut 1 on the fold")
    (fold,) = made.folds
    assert sorted(fold[[0, -1], [0, 3]].tolist()) == [[10.0, 20.0], [10.0, 220.0]]
    group = written(made, drawing)
    assert [e.get("data-role") for e in group] == ["cutting", "clear", "fold", "label", "label"]
    # From cut to cut, the allowances at both ends of it included.
    (line,) = made.fold_lines
    assert line[[0, -1], [0, 3]][:, 0] == pytest.approx([10.0, 10.0], abs=PROMISE)
    assert sorted(line[[0, -1], [0, 3]][:, 1]) == pytest.approx([5.0, 235.0], abs=PROMISE)
    beside = group.find("{*}text")
    assert beside is not None
    # The word stands beside the fold, x = 10, in the piece.
    assert [row.text for row in beside] == ["fold"]
    assert float(beside[0].get("x", "")) == pytest.approx(18.0)
    assert {(e.get("data-run"), e.get("data-piece")) for e in group} == {("cut box", "box")}
    assert report_of(drawing, [], pieces=[made])["pieces"][0]["on_fold"] is True


def inked(svg: bytes, x: float, top: float, bottom: float) -> npt.NDArray[np.bool_]:
    """Where it is dark down a sheet between two heights, each tenth of a mm."""
    png = to_png(cropped(svg, (x - 0.2, top, x + 0.2, bottom), IDENTITY), 4, "white")
    return np.asarray(pixels(png)[..., :3].min(axis=2).mean(axis=1) < 128)


def lengths(dark: npt.NDArray[np.bool_]) -> tuple[list[float], list[float]]:
    """How long ink and gaps are that are whole, mm."""
    turns = np.flatnonzero(np.diff(dark.astype(int)))
    long, first = (np.diff(turns) / 10.0).tolist(), int(dark[turns[0]])
    return long[first::2], long[1 - first :: 2]


def test_a_fold_is_seen_as_such_though_the_cutting_line_runs_along_it() -> None:
    """As dashes and dots between gaps in the drawing itself, from cut to cut; all other sides are cut without a gap."""
    drawing = read(BOX)
    made = one(drawing, fold="box:c3..c0")
    data = with_runs(drawing, [], [made])
    # The fold lies at 10, the side across from it is cut 15 mm beyond 310; pixels are a tenth of a mm.
    for top, bottom in ((6.0, 234.0), (6.0, 40.0), (200.0, 234.0)):
        ink, gaps = lengths(inked(data, 10.0, top, bottom))
        assert {round(dash) for dash in ink} == {9, 1}
        assert gaps == pytest.approx([2.0] * len(gaps), abs=0.15)
    assert inked(data, 325.0, 6.0, 234.0).all()
    # Whoever cuts by the lines finds one closed line, one fold, and no white.
    assert Counter(line.role for line in drawn_lines(of(data))) == {"outline": 1, "cutting": 1, "fold": 1}
    assert region(made).bounds == pytest.approx((10.0, 5.0, 325.0, 235.0), abs=PROMISE)


@pytest.mark.parametrize("words", [{"start": "fold"}, {"start": "fold:valley", "end": "fold:valley"}, {"end": "fold"}])
def test_the_folds_of_runs_are_known(words: dict[str, str]) -> None:
    drawing = read(QUARTER)
    drawing = redrawn(drawing, [scallop(drawing, "quarter:c1..c2", width=30, name="rim", **words)])
    made = one(drawing)
    assert_sound(made)
    assert len(made.folds) == len(words)
    low = np.array(region(made).bounds)[:2]
    # c1 lies on the fold along y = 0, c2 on the one along x = 0.
    assert low == pytest.approx((0.0 if "end" in words else -15.0, 0.0 if "start" in words else -15.0), abs=1e-6)


def test_a_fold_between_the_halves_of_a_run_is_known() -> None:
    drawing = read(BOX)
    edges = ["box:c1..c0", "box:c0..c1"]
    drawing = redrawn(drawing, [scallop(drawing, edges, join="fold", width=30, name="top")])
    made = one(drawing, fold="box:c0..c3")
    assert len(made.folds) == 1
    assert region(made).bounds[0] == pytest.approx(10.0, abs=1e-9)


@pytest.mark.parametrize(
    ("words", "label", "told"),
    [
        ({}, ("box", "cut 1"), "cut 1"),
        ({"number": 1}, ("box", "cut 1"), "cut 1"),
        ({"number": 2}, ("box", "cut 2, a pair"), "cut 2, a pair"),
        ({"number": 3, "cloth": "linen"}, ("box", "cut 3", "linen"), "cut 3"),
        ({"number": 4, "size": 38}, ("box", "cut 4, in pairs", "size 38"), "cut 4, in pairs"),
        ({"cloth": "linen", "size": "M"}, ("box", "cut 1", "linen", "size M"), "cut 1"),
        ({"number": 2, "fold": "box:c3..c0"}, ("box", "cut 2 on the fold"), "cut 2 on the fold"),
    ],
)
def test_the_label(words: Any, label: tuple[str, ...], told: str) -> None:  # noqa: ANN401  # texts and numbers
    drawing = read(BOX)
    made = one(drawing, **words)
    assert made.label == label
    group = written(made, drawing)
    text = [*group.iterfind("{*}text")][-1]
    assert tuple(row.text for row in text) == label
    xs, ys = zip(*((float(row.get("x", "")), float(row.get("y", ""))) for row in text), strict=True)
    assert all(shapely.box(10, 20, 310, 220).contains(shapely.Point(p)) for p in zip(xs, ys, strict=True))
    assert list(ys) == sorted(ys)
    assert report_of(drawing, [], pieces=[made])["pieces"][0]["cut"] == told


@pytest.mark.parametrize("cloth", ['a "b" <c> & d', "綿", "40% & more"])
def test_any_words_on_a_label_come_back(cloth: str) -> None:
    drawing = read(BOX)
    made = one(drawing, cloth=cloth)
    source = with_runs(drawing, [], [made])
    assert kept_pieces(source)["box"].words.cloth == cloth
    assert made.label[2] == cloth


# --- scalloped edges ------------------------------------------------------------------------------------------------


@cache
def scalloped(body: str = BOX, along: str = "box:c0..c1", **words: Any) -> Drawing:  # noqa: ANN401
    drawing = read(body)
    return redrawn(drawing, [scallop(drawing, along, **{"width": 30, "name": "top", **words})])


@pytest.mark.parametrize(
    ("along", "words"),
    [
        ("box:c0..c1", {}),
        ("box:c1..c0", {"finish": "faced"}),
        ("box:c3..c0", {"touch": "crest"}),
        ("box:c0..c1..c2", {}),
        ("box:c2..c3", {"profile": "wave", "depth": "30%"}),
        ("box", {}),
    ],
)
def test_a_scalloped_edge_is_cut_6_mm_beyond_its_stitching_line(along: str, words: dict[str, str]) -> None:
    """Without words about its finish it is cut as one that is faced."""
    drawing = scalloped(along=along, **words)
    made = one(drawing)
    assert_sound(made)
    (run,) = made_runs(drawing)
    sewn = shapely.MultiLineString([flatten(curve, FLAT) for _, curve in run.share_on_sheet(run.shares[0])])
    outside = shapely.LineString(flatten(made.cut.cutting.curve, FLAT))
    assert region(made).contains(sewn)
    # Away from its ends the edge has nothing else near it.
    (number,) = [k for k, side in enumerate(made.cut.sides) if side.name == "top"]
    own = flatten(made.cut.cutting.sides[number], FLAT)
    near = shapely.points(own[shapely.distance(shapely.points(own), net(made).boundary) < 40.0])
    clear = near[shapely.distance(near, sewn) < 6.0 + PROMISE + FLAT]
    assert len(clear) > 0.5 * len(near)
    assert shapely.distance(near, sewn).min() > 6.0 - PROMISE - FLAT
    assert sewn.distance(outside) == pytest.approx(6.0, abs=PROMISE + FLAT)


@pytest.mark.parametrize(
    ("words", "top"),
    [
        # The edge lies at y = 20, its crests 12 mm above.
        ({"cut": "straight:10mm"}, -2.0),
        ({"cut": "straight"}, -1.5),
        ({"cut": "scalloped:8mm"}, 0.0),
        ({"finish": "bound"}, 8.0),
        ({"finish": "raw"}, 8.0),
        ({"finish": "stitched"}, 8.0),
    ],
)
def test_a_trimmed_edge_is_cut_as_its_finish_says(words: dict[str, str], top: float) -> None:
    made = one(scalloped(**words))
    assert_sound(made)
    assert region(made).bounds == pytest.approx((-5.0, top, 325.0, 235.0), abs=PROMISE)
    if words.get("cut", "").startswith("straight"):
        assert_same(made, box_cut(15, 20 - top, 15, 15))
    if "finish" in words:
        (run,) = made_runs(scalloped(**words))
        sewn = np.concatenate([flatten(curve, FLAT) for _, curve in run.share_on_sheet(run.shares[0])])
        inner = sewn[(sewn[:, 0] > 10.01) & (sewn[:, 0] < 309.99)]
        assert shapely.distance(shapely.points(inner), region(made).boundary).max() < 2 * FLAT


def test_scallops_on_a_part_of_a_side() -> None:
    """Beside the trimmed part the side has its allowance, up to a step at either end."""
    drawing = scalloped(BOX + marks(m=(60, 20), n=(210, 20)), "box:m..n")
    made = one(drawing)
    assert_sound(made)
    beside = shapely.box(-5, 5, 60, 20).union(shapely.box(210, 5, 325, 20))
    assert region(made).intersection(shapely.box(-50, -50, 60, 20).union(shapely.box(210, -50, 350, 20))).equals_exact(
        beside.normalize(), 1e-6
    ) or (region(made).intersection(shapely.box(-50, -50, 60, 20)).area == pytest.approx(65 * 15, abs=1e-3))
    # Over the trimmed part crests lie 12 mm beyond the edge, and the cut 6 mm beyond them.
    over = region(made).intersection(shapely.box(61, -50, 209, 20))
    assert over.bounds[1] == pytest.approx(2.0, abs=PROMISE)


def test_two_trimmed_edges_that_meet_at_a_corner() -> None:
    drawing = scalloped()
    drawing = redrawn(drawing, [scallop(drawing, "box:c1..c2", width=20, name="side")])
    made = one(drawing)
    assert_sound(made)
    assert region(made).contains(net(made))
    assert region(made).bounds == pytest.approx((-5.0, 2.0, 324.0, 235.0), abs=PROMISE)


def test_a_whole_outline_may_be_trimmed() -> None:
    drawing = read(ROUND)
    drawing = redrawn(drawing, [scallop(drawing, width=30, name="rim")])
    made = one(drawing)
    assert_sound(made)
    (run,) = made_runs(drawing)
    sewn = shapely.MultiLineString([flatten(curve, FLAT) for _, curve in run.share_on_sheet(run.shares[0])])
    assert region(made).boundary.distance(sewn) == pytest.approx(6.0, abs=PROMISE + FLAT)
    assert [side.name for side in made.cut.sides] == ["rim"]


# --- seams ----------------------------------------------------------------------------------------------------------


def pair(lean: float = 0.0) -> str:
    """Two pieces whose seam leans by some degrees."""
    x = 150.0 * math.tan(math.radians(lean))
    left = path(lines([(10, 100), (160, 100), (160 + x, 250), (10, 250), (10, 100)]), "l", closed=True)
    right = path(lines([(300, 100), (450, 100), (450, 250), (300 + x, 250), (300, 100)]), "r", closed=True)
    return left + right


@cache
def sewn_pair(lean: float = 0.0, **words: Any) -> Drawing:  # noqa: ANN401  # texts and numbers
    drawing = read(pair(lean))
    return redrawn(drawing, [scallop(drawing, ["l:c0..c1", "r:c0..c1"], join="seam", width=30, name="t", **words)])


def ends_of_seam(left: MadePiece, right: MadePiece) -> tuple[float, float]:
    """How far beyond the joint both cutting lines first cross the seam, drawn on, by a polygon library."""
    out = []
    for made, start, end in ((left, 1, 2), (right, 0, 3)):
        points = made.piece.curve[:, 0]
        way = (points[start] - points[end]) / np.hypot(*(points[start] - points[end]))
        inside = points[start] - 40.0 * way
        ray = shapely.LineString([inside, points[start] + 100.0 * way])
        out.append(ray.intersection(region(made).boundary).distance(shapely.Point(inside)) - 40.0)
    return out[0], out[1]


# A raw edge lies so near that beside a seam that leans more its allowance, folded back, lies over the first scallop.
@pytest.mark.parametrize(
    ("lean", "words"),
    [
        *((lean, {}) for lean in (-40.0, 0.0, 13.0, 25.0)),
        *((lean, {"cut": "straight:10mm"}) for lean in (-13.0, 40.0)),
        (25.0, {"touch": "crest"}),
        (5.0, {"finish": "raw"}),
    ],
)
def test_allowances_of_a_true_seam_end_alike(lean: float, words: dict[str, str]) -> None:
    made = cut(sewn_pair(lean, **words))
    assert all(one.warnings == () for one in made)
    for piece in made:
        assert_sound(piece)
    ends = ends_of_seam(*made)
    assert ends[0] == pytest.approx(ends[1], abs=2 * PROMISE)
    if words.get("touch") != "crest":
        # The report tells the same length as seen along the seam.
        told = [
            made[0].cut.cutting.overruns[1][0],
            next(o for s, o in zip(made[1].cut.sides, made[1].cut.cutting.overruns, strict=True) if s.name == "c3..c0")[
                1
            ],
        ]
        assert told == pytest.approx(ends, abs=2 * PROMISE)


@pytest.mark.parametrize(
    ("first", "left", "right", "told"),
    [
        ("l", {"allowance": 15}, {"allowance": 10}, ("15.0 mm wide", "10.0 mm", "5.0 mm apart")),
        ("r", {"side": "l:c1..c2=2cm"}, {}, ("20.0 mm wide", "15.0 mm", "5.0 mm apart")),
        ("l", {}, {"side": "r:c3..c0=1in"}, ("15.0 mm wide", "25.4 mm", "10.4 mm apart")),
        ("r", {"allowance": 15}, {"allowance": 15.4}, ()),
        ("l", {"side": "l:c0..c3=2cm"}, {}, ()),
    ],
)
def test_allowances_that_differ_at_a_seam_are_told(left: Any, right: Any, told: Any, first: str) -> None:  # noqa: ANN401
    """Whichever piece is cut first: the other's cutting line stands in the drawing by then."""
    words = {"l": left, "r": right}
    other = "r" if first == "l" else "l"
    drawing = sewn_pair()
    before = one(drawing, first, **words[first])
    assert before.warnings == ()
    drawing = of(with_runs(drawing, [], [before]))
    found = one(drawing, other, **words[other]).warnings
    assert [warn.code for warn in found] == ["allowances-differ"] * bool(told)
    for warn in found:
        assert warn.piece == other
        assert 'at the seam "l:c1/r:c0"' in warn.message
        for text in told:
            assert text in warn.message
        assert (warn.x, warn.y) == pytest.approx((160.0, 100.0) if other == "l" else (300.0, 100.0))


# --- darts ----------------------------------------------------------------------------------------------------------


def dressed(**words: Any) -> Drawing:  # noqa: ANN401  # texts and numbers
    drawing = of(waistcoat())
    hem = scallop(
        drawing, HEM, join=HEM_JOINS, name="hem", width="24mm", depth="35%", start="fold:pass", true_up=True, **words
    )
    drawing = redrawn(drawing, [hem])
    hole = scallop(
        drawing, ARMHOLE, join=ARMHOLE_JOINS, name="armhole", like="hem", ratio=0.8, depth="30%", touch="crest", times=2
    )
    return redrawn(drawing, [hole])


@pytest.fixture(scope="module")
def waistcoat_drawing() -> Drawing:
    return dressed()


@pytest.fixture(scope="module")
def waistcoat_cut(waistcoat_drawing: Drawing) -> tuple[MadePiece, ...]:
    back = one(waistcoat_drawing, "back")
    return back, one(waistcoat_drawing, "front", dart="c6")


def test_a_waistcoat_is_cut_whole(waistcoat_cut: tuple[MadePiece, ...], waistcoat_drawing: Drawing) -> None:
    for made in waistcoat_cut:
        assert_sound(made)
        assert made.warnings == ()
        assert region(made).contains(net(made).buffer(-0.01))
        for run in made_runs(waistcoat_drawing):
            for share, part in zip(run.shares, run.laid.parts, strict=True):
                if part.edge.piece.name == made.name:
                    for _, curve in run.share_on_sheet(share):
                        assert region(made).buffer(1e-6).contains(shapely.LineString(flatten(curve, FLAT)))
    assert waistcoat_cut[0].label == ("back", "cut 1 on the fold")


def test_the_notches_of_the_waistcoat_s_seams_match(waistcoat_cut: tuple[MadePiece, ...]) -> None:
    back, front_ = ({(mark.seam, mark.s) for mark in made.marks if mark.s > 0.0} for made in waistcoat_cut)
    assert len(back) == 4
    for seam, s in back:
        assert any(seam == other and abs(s - t) < 1e-6 for other, t in front_)


def test_a_hem_s_dart_is_cut_through_its_cap(waistcoat_cut: tuple[MadePiece, ...]) -> None:
    """Between its legs the cutting line does not run up into the dart: the cloth of the intake is there."""
    for made in waistcoat_cut:
        legs = made.piece.curve[1:4, 0]
        mouth = shapely.Polygon(legs)
        assert 400.0 < mouth.area < 2500.0
        assert region(made).contains(mouth)
        # A pencil's width below the legs' ends there is cloth too.
        assert region(made).contains(shapely.LineString(legs[[0, 2]]).buffer(2.0))


def test_a_hem_s_dart_is_notched_where_its_legs_come_to_the_cut(waistcoat_cut: tuple[MadePiece, ...]) -> None:
    """Both notches stand on the cutting line in line with their legs, and lie on each other once it is closed."""
    for made in waistcoat_cut:
        before, apex, after = made.piece.curve[1:4, 0]
        marks = [mark for mark in made.marks if "dart-in" in mark.seam]
        feet = np.array([mark.foot for mark in marks])
        assert len(feet) == 2
        for end in (before, after):
            mark = min(marks, key=lambda mark: float(np.hypot(*(mark.foot - end))))
            assert shapely.Point(mark.foot).distance(region(made).exterior) < 1e-6
            # No farther from the leg's line than hand-drawn legs are unlike, which is shared between both.
            leg = (end - apex) / np.hypot(*(end - apex))
            assert abs(cross(leg, mark.foot - apex)) < 0.05
            assert np.hypot(*(mark.line[1] - mark.line[0])) == pytest.approx(3.0, abs=1e-6)
        assert np.hypot(*(feet[0] - apex)) == pytest.approx(np.hypot(*(feet[1] - apex)), abs=0.05)


@pytest.mark.parametrize("opening", [0.08, 0.25, 0.4])
def test_a_dart_in_a_seam_is_notched_at_both_legs(opening: float) -> None:
    made = one(read(dart_in_seam(opening)), dart="c3", allowance=15)
    upper, lower = made.marks
    assert upper.seam == lower.seam
    # The seam is upright at 310 once the dart is closed, and cut 15 mm beyond.
    assert upper.foot == pytest.approx((325.0, 150.0), abs=1e-6)
    assert turned(lower.foot, -opening) == pytest.approx((325.0, 150.0), abs=1e-6)
    assert upper.line[1] == pytest.approx((322.0, 150.0), abs=1e-6)


def test_a_dart_at_an_edge_without_allowance_has_no_notch() -> None:
    """Its legs end at the cut, as plain to see as a notch, and a snip would go into the cloth."""
    assert one(read(dart_in_seam()), dart="c3", allowance=0).marks == ()


APEX = np.array([230.0, 150.0])


def turned(points: Array, angle: float) -> Array:
    """Points turned about the dart's point, on to what is drawn lower at its right."""
    c, s = math.cos(angle), math.sin(angle)
    return np.asarray((points - APEX) @ np.array([[c, s], [-s, c]]) + APEX)


def dart_in_seam(opening: float = 0.25) -> str:
    """A piece with a dart in its right side, between c2 and c4, its point c3; closed, that side is straight at 310."""
    below = turned(np.array([(310.0, 150.0), (310.0, 320.0)]), opening)
    points = np.concatenate([[(10, 20), (310, 20), (310, 150), APEX], below, [(10, 400), (10, 20)]])
    return path(lines(points), "box", closed=True)


@pytest.mark.parametrize(("opening", "allowance"), [(0.08, 20.0), (0.25, 6.0), (0.4, 15.0)])
def test_a_dart_in_a_seam_is_cut_as_the_plain_seam_is_once_sewn(opening: float, allowance: float) -> None:
    """Closed and pressed down every layer of the darted seam ends where a straight seam's allowance does."""
    made = one(read(dart_in_seam(opening)), dart="c3", allowance=allowance)
    assert_sound(made)
    assert made.warnings == ()
    (own,) = [
        curve for side, curve in zip(made.cut.sides, made.cut.cutting.sides, strict=True) if side.name == "c1..c5"
    ]
    along = measure(own)
    points = along.points(np.linspace(0.0, along.length, 3000))
    angle = np.arctan2(*(points - APEX).T[::-1])
    upper, lower = angle <= 0.5 * opening, angle > opening
    folded = ~upper & ~lower
    assert angle[upper].max() > 0.4 * opening
    assert folded.any()
    assert lower.any()
    # The half of the intake beside the upper leg goes on flat beneath the lower part; the other half is folded over
    # the lower leg, and all that belongs to the lower part is turned up until its leg lies on the upper one.
    mirror = np.array([[math.cos(2 * opening), math.sin(2 * opening)], [math.sin(2 * opening), -math.cos(2 * opening)]])
    under = turned((points[folded] - APEX) @ mirror + APEX, -opening)
    closed = np.concatenate([points[upper], under, turned(points[lower], -opening)])
    assert closed[:, 0] == pytest.approx(310.0 + allowance, abs=PROMISE)


def test_a_dart_has_the_allowance_of_its_seam_across_its_mouth() -> None:
    made = one(read(dart_in_seam()), dart="c3")
    (side,) = [side for side in made.cut.sides if side.name == "c1..c5"]
    assert side.allowance == 15.0
    mouth = shapely.Polygon([APEX, *turned(np.array([(310.0, 150.0)]), 0.25), (310.0, 150.0)])
    assert region(made).contains(mouth.buffer(5.0).intersection(shapely.box(230, 0, 900, 900)))


# A side of the box with the dart in its right seam, as it is told, and the sides that have its allowance in the end.
TAKEN_IN = {
    "box:c1..c5": {"c1..c5"},
    "box:c5..c3..c1": {"c1..c5"},
    "box:c0..c3..c5": {"c1..c5", "box:c0..c3..c5"},
    "box:c6..c3..c1": {"c1..c5", "box:c6..c3..c1"},
    "box:c6..c3..c0": {"c1..c5", "box:c6..c3..c0"},
    "box": {"c1..c5", "box"},
}


@pytest.mark.parametrize("side", TAKEN_IN)
@pytest.mark.parametrize("allowance", [8.0, 25.0])
def test_a_side_gives_the_seam_with_a_dart_in_it_its_own_allowance(side: str, allowance: float) -> None:
    """The seam is cut as it is where all of the piece has that allowance: cap, notches and all."""
    made = one(read(dart_in_seam()), dart="c3", side=f"{side}={allowance}mm")
    plain = one(read(dart_in_seam()), dart="c3", allowance=allowance)
    assert_sound(made)
    assert made.warnings == ()
    assert {side.name for side in made.cut.sides if side.allowance == allowance} == TAKEN_IN[side]
    assert all(side.allowance in (15.0, allowance) for side in made.cut.sides)
    # Beyond the corners at its ends the allowances of other sides begin.
    seam = shapely.box(200, 50, 400, 290)
    cuts = [region(one).exterior.intersection(seam) for one in (made, plain)]
    assert cuts[0].hausdorff_distance(cuts[1]) < 1e-6
    for own, other in zip(made.marks, plain.marks, strict=True):
        assert own.line == pytest.approx(other.line, abs=1e-9)
    assert len(made.marks) == 2


def test_beside_a_seam_with_a_dart_in_it_others_have_their_own_allowances() -> None:
    made = one(read(dart_in_seam()), dart="c3", side=["box:c1..c5=10mm", "box:c0..c1=20mm", "box:c6..c0=5mm"])
    assert_sound(made)
    assert [side.allowance for side in made.cut.sides] == [20.0, 10.0, 15.0, 5.0]
    x0, y0, *_ = region(made).bounds
    assert (x0, y0) == pytest.approx((5.0, 0.0), abs=PROMISE)


@pytest.mark.parametrize("side", ["box:c1..c2", "box:c4..c5", "box:c2..c4", "box:c0..c2", "box:c4..c6", "box:c3..c1"])
def test_one_half_of_a_seam_with_a_dart_has_no_allowance_of_its_own(side: str) -> None:
    said = f'--side {side}=9mm takes in a part of the seam "box:c1..c5" with the dart "c3" in it, which has one '
    said += "allowance along both halves: name the whole seam, --side box:c1..c5=9mm"
    with pytest.raises(RequestError, match=f"^{re.escape(said)}$"):
        one(read(dart_in_seam()), dart="c3", side=f"{side}=9mm")


def test_a_seam_with_a_dart_in_it_has_one_allowance() -> None:
    with pytest.raises(RequestError, match=r'"box:c1\.\.c5" and "box:c5\.\.c3\.\.c1" both take in the seam "c1\.\.c5"'):
        one(read(dart_in_seam()), dart="c3", side=["box:c1..c5=9mm", "box:c5..c3..c1=8mm"])


@pytest.mark.parametrize("side", ["box:c1..c5", "box:c0..c3..c5", "box"])
def test_the_lining_of_a_darted_seam_has_the_allowance_of_its_side(side: str) -> None:
    made = one(read(dart_in_seam()), dart="c3", side=f"{side}=9mm", lining="10mm").lining
    plain = one(read(dart_in_seam()), dart="c3", allowance=9, lining="10mm").lining
    assert made is not None
    assert plain is not None
    seam = shapely.box(200, 50, 400, 290)
    cuts = [region(one.cutting).exterior.intersection(seam) for one in (made, plain)]
    assert cuts[0].length > 200.0
    assert cuts[0].hausdorff_distance(cuts[1]) < 1e-6


@pytest.mark.parametrize("side", ["box:c1..c5", "box:c0..c3..c5", "box:c1..c3", "box:c6..c3..c0", "box"])
def test_a_dart_within_a_side_is_told_where_it_was_not_named(side: str) -> None:
    made = one(read(dart_in_seam()), side=f"{side}=9mm")
    (warning,) = made.warnings
    assert warning.code == "dart-uncapped"
    assert (warning.x, warning.y) == pytest.approx(tuple(APEX), abs=1e-6)


# --- outlines drawn with their allowance ----------------------------------------------------------------------------


@cache
def drawn_with_allowance() -> Drawing:
    drawing = of(front())
    edges = (
        ("front:hem-front..hem-side", {"width": "24mm", "name": "hem"}),
        (
            "front:shoulder..underarm",
            {"width": "20mm", "depth": "30%", "touch": "crest", "name": "armhole"},
        ),
    )
    for along, words in edges:
        drawing = redrawn(drawing, [scallop(drawing, along, allowance="15mm", **words)])
    return drawing


def test_an_outline_drawn_with_its_allowance_keeps_all_but_its_trimmed_edges() -> None:
    drawing = drawn_with_allowance()
    made = one(drawing)
    assert_sound(made)
    outline = shapely.LineString(flatten(made.piece.curve, FLAT))
    for side, own in zip(made.cut.sides, made.cut.cutting.sides, strict=True):
        points = flatten(own, FLAT)
        # Beside a trimmed edge a side is cut off, or goes on straight for some mm, to where that is cut.
        corners = shapely.MultiPoint(made.piece.curve[:, 0])
        inner = shapely.points(points)[shapely.distance(shapely.points(points), corners) > 20.0]
        if side.name in ("hem", "armhole"):
            assert shapely.distance(shapely.points(points), outline).max() > 3.0
        else:
            assert shapely.distance(inner, outline).max(initial=0.0) < 2 * FLAT
    for run in made_runs(drawing):
        sewn = shapely.MultiLineString([flatten(curve, FLAT) for _, curve in run.share_on_sheet(run.shares[0])])
        assert region(made).contains(sewn)
        assert region(made).boundary.distance(sewn) == pytest.approx(6.0, abs=PROMISE + FLAT)


@pytest.mark.parametrize("allowance", ["15mm", 10, 0])
def test_a_second_allowance_is_refused_there(allowance: Any) -> None:  # noqa: ANN401  # texts and numbers
    with pytest.raises(RequestError, match=r'"front" carries its allowance already.*"hem".*leave out --allowance'):
        cut(drawn_with_allowance(), allowance=allowance)


# --- what is refused ------------------------------------------------------------------------------------------------

TWO = BOX + '<rect id="other" x="400" y="20" width="100" height="100"/>' + LINE.replace("310", "300")


@pytest.mark.parametrize(
    ("words", "kind", "said"),
    [
        ({"piece": "skirt"}, NameUnknownError, 'no piece is called "skirt"'),
        ({"piece": "hem"}, RequestError, '"hem" is an open line'),
        ({"side": "box:c0..c9=20mm"}, NameUnknownError, '"c9"'),
        ({"side": "box:c0..c1"}, RequestError, "--side is written EDGE=LENGTH"),
        ({"side": "=20mm"}, RequestError, "--side is written EDGE=LENGTH"),
        ({"side": "box:c0..c1=wide"}, RequestError, "--side box:c0..c1= 'wide' cannot be read"),
        ({"side": "box:c0..c1=-3"}, RequestError, "must not be negative"),
        ({"side": "other:c0..c1=3"}, RequestError, '--side "other:c0..c1" lies on "other", not on "box"'),
        ({"side": ["box:c0..c1=20mm", "box:c1..c0=10mm"]}, RequestError, "overlap"),
        ({"side": "box:c0..c1=20mm", "fold": "box:c0..c1"}, RequestError, "overlap"),
        ({"fold": "box:c0..c9"}, NameUnknownError, '"c9"'),
        ({"fold": "other:c0..c1"}, RequestError, '--fold "other:c0..c1" lies on "other"'),
        ({"corner": "c9=rounded"}, NameUnknownError, 'no corner "c9"; there are "c0", "c1", "c2", "c3"'),
        ({"corner": "rounded"}, RequestError, "--corner is written CORNER=KIND"),
        ({"corner": "c1=round"}, RequestError, "--corner is written CORNER=KIND"),
        ({"corner": "c1=turned"}, RequestError, "turned:before or turned:after"),
        ({"corner": "c1=turned:left"}, RequestError, "--corner is written CORNER=KIND"),
        ({"corner": "c1=rounded:after"}, RequestError, "--corner is written CORNER=KIND"),
        ({"corners": "round"}, RequestError, "--corners can be mitred, squared or rounded, not 'round'"),
        ({"corners": "turned"}, RequestError, "--corners can be mitred, squared or rounded, not 'turned'"),
        ({"corner": ["c1=rounded", "c1=mitred"]}, RequestError, '"c1" of "box" is told twice: leave out one --corner'),
        ({"dart": "c9"}, NameUnknownError, '"box" has none called "c9"; there are none'),
        ({"dart": "c1"}, NameUnknownError, "--dart takes the point of a dart, the hollow corner between its legs"),
        ({"number": 0}, RequestError, "--number"),
        ({"number": "two"}, RequestError, "--number"),
        ({"number": 2.5}, RequestError, "--number"),
        ({"allowance": "-1mm"}, RequestError, "--allowance"),
        ({"allowance": "wide"}, RequestError, "--allowance 'wide' cannot be read"),
        ({"cloth": "a\x07b"}, RequestError, "--cloth"),
        ({"size": "\ud800"}, RequestError, "--size"),
        ({"widht": 3}, RequestError, "there is no option widht"),
        ({"piece": "", "side": "box:c0..c1=3"}, RequestError, "name it with --piece"),
        ({"piece": "", "corner": "c1=rounded"}, RequestError, "name it with --piece"),
    ],
)
def test_what_can_t_be_cut_is_told_in_a_sentence(words: Any, kind: type[ScallopkitError], said: str) -> None:  # noqa: ANN401
    with pytest.raises(kind, match=re.escape(said)) as caught:
        cut(read(TWO), **{"piece": "box", **words})
    assert "\n" not in str(caught.value)


def test_a_drawing_without_closed_outlines_has_nothing_to_cut() -> None:
    with pytest.raises(RequestError, match=r"a\.svg holds no closed outline"):
        cut(read(LINE))


@pytest.mark.parametrize("words", [{"side": "box:c0..c1=20mm"}, {"side": "box:c1..c0=20mm"}, {"fold": "box:c0..c1"}])
def test_a_trimmed_edge_has_no_other_allowance(words: dict[str, str]) -> None:
    with pytest.raises(RequestError, match=r'on "box" .*"top".*overlap|on "box" ".*" and "top" overlap'):
        one(scalloped(), "box", **words)


def test_a_corner_that_is_no_dart_is_refused() -> None:
    octagon = path(lines([(99, 50), (200, 50), (250, 99), (250, 200), (99, 200), (50, 99), (99, 50)]), "o", closed=True)
    for corner in ("c0", "c2", "c4"):
        with pytest.raises(ScallopkitError):
            cut(read(octagon), "o", dart=corner)


def test_the_hollow_corners_are_named_where_another_is_taken_for_a_dart() -> None:
    for name in ("c1", "c2", "elsewhere"):
        with pytest.raises(NameUnknownError, match=f'has none called "{name}"; there are "c3"$'):
            one(read(dart_in_seam()), dart=name)


# --- in the drawing -------------------------------------------------------------------------------------------------


def test_cut_again_changes_nothing() -> None:
    drawing = scalloped()
    words: dict[str, Any] = {"number": 2, "fold": "box:c0..c3", "corner": "c2=rounded"}
    once = with_runs(drawing, [], cut(drawing, "box", **words))
    again = of(once)
    assert with_runs(again, [], cut(again, "box", **words)) == once
    assert with_runs(again, [one.run for one in refit(again)], recut(again, made_runs(again))) == once


def test_a_piece_s_group_replaces_only_its_own() -> None:
    drawing = of(page(TWO))
    first = with_runs(drawing, [], cut(drawing))
    again = of(first)
    second = with_runs(again, [], cut(again, "box", allowance=9))
    before, after = ({g.name: g.text for g in read_groups(source)} for source in (first, second))
    assert list(after) == ["cut box", "cut other"]
    assert after["cut other"] == before["cut other"]
    assert second.replace(after["cut box"], before["cut box"]) == first


def test_a_piece_s_group_is_no_run() -> None:
    drawing = scalloped()
    source = with_runs(drawing, [], cut(drawing))
    both = of(source)
    assert list(kept_recipes(source)) == ["top"]
    assert list(kept_pieces(source)) == ["box"]
    assert survey_entry(both)["runs"] == ["top"]
    assert [piece["name"] for piece in survey_entry(both)["pieces"]] == ["box"]
    assert [one.run.name for one in refit(both)] == ["top"]
    findings = check(source, "a.svg")
    assert all(finding.ok for finding in findings)
    assert {finding.run for finding in findings} <= {"top", "cut box"}


def test_a_run_may_not_be_called_as_a_piece_s_group() -> None:
    """One of them would take the other's place in the drawing."""
    drawing = read(BOX)
    with pytest.raises(RequestError, match=r'"cut box".*give the run another --name'):
        with_runs(drawing, [scallop(drawing, "box:c0..c1", width=30, name="cut box")])
    assert with_runs(drawing, [scallop(drawing, "box:c0..c1", width=30, name="cut")])


def test_what_is_reported_of_a_piece() -> None:
    drawing = scalloped()
    made = one(drawing, number=2, fold="box:c0..c3", side="box:c2..c3=20mm")
    report = json.loads(report_text(drawing, [], pieces=[made]))
    (entry,) = report["pieces"]
    assert (entry["name"], entry["on_fold"], entry["notches"]) == ("box", True, [])
    assert [(side["name"], side["allowance_mm"]) for side in entry["sides"]] == [
        ("top", 6.0),
        ("c1..c2", 15.0),
        ("box:c2..c3", 20.0),
        ("the fold of box", 0.0),
    ]
    assert [round(side["length_mm"], 6) for side in entry["sides"]][1:] == [200.0, 300.0, 200.0]
    assert entry["sides"][2]["ends_mm"] == pytest.approx([15.0, 0.0], abs=1e-6)
    assert entry["cut_area_mm2"] == pytest.approx(region(made).area, rel=1e-4)
    assert entry["cut_length_mm"] == pytest.approx(region(made).length, rel=1e-4)
    assert "box\t0, 6, 15, 20\t" in piece_table([made], terminal=False)


def test_a_report_of_runs_has_no_pieces() -> None:
    assert report_of(read(LINE), [scallop(read(LINE), width=30)])["pieces"] == []


def test_notches_are_drawn_and_told() -> None:
    drawing = sewn_pair()
    left, right = cut(drawing)
    for made in (left, right):
        (told,) = report_of(drawing, [], pieces=[made])["pieces"][0]["notches"]
        assert (told["seam"], told["s_mm"]) == ("l:c1/r:c0", 75.0)
        assert told["x"] == pytest.approx(160.0 if made is left else 300.0)
        assert told["y"] == pytest.approx(175.0)
        (notch,) = [e for e in written(made, drawing) if e.get("data-role") == "notch"]
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", notch.get("d", ""))]
        outer = 175.0 if made is left else 285.0
        inner = 172.0 if made is left else 288.0
        assert numbers[:2] == pytest.approx([outer, 175.0], abs=WRITTEN)
        assert inner == pytest.approx(numbers[2], abs=WRITTEN)


@pytest.mark.parametrize("unit", UNITS)
def test_a_run_s_notches_are_drawn_and_told_where_the_cloth_is_cut(unit: float) -> None:
    """10 mm beyond crests that are 12 mm high, and only in the group of the piece."""
    box = path(rectangle(300, 200) + np.array([10.0, 20.0]), "box", closed=True, unit=unit)
    drawing = read(box, unit)
    words = {"width": "30mm", "finish": "faced", "cut": "straight:10mm"}
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", name="top", **words)])
    drawing = redrawn(drawing, [notches(drawing, run="top", at="valleys", every=3)])
    (run,), made = made_runs(drawing), one(drawing)
    assert made.notched[0].name == "top"
    xs = [100.0, 190.0, 280.0]
    report = report_of(drawing, [], pieces=[made])["pieces"][0]["notches"]
    assert [(told["piece"], told["run"], told["seam"]) for told in report] == [("box", "top", None)] * 3
    for told, x in zip(report, xs, strict=True):
        assert np.array([told["x"], told["y"]]) * unit == pytest.approx((x, 20.0), abs=PROMISE)
        assert np.array([told["on_cut"]["x"], told["on_cut"]["y"]]) * unit == pytest.approx((x, -2.0), abs=PROMISE)
        assert told["s_mm"] == pytest.approx(x - 10.0, abs=1e-6)
    drawn = [e for e in written(made, drawing) if e.get("data-role") == "notch"]
    for element, x in zip(drawn, xs, strict=True):
        curve = read_path(element.get("d", ""), 1e-9).subpaths[0].curve * unit
        assert curve[0, 0] == pytest.approx((x, -2.0), abs=PROMISE + WRITTEN)
        assert curve[0, 3] == pytest.approx((x, 1.0), abs=PROMISE + WRITTEN)
    own = [
        [e.get("data-role") for e in group_of(run, drawing, cut=cut_there)].count("notch")
        for cut_there in ((), ("box",))
    ]
    assert own == [3, 0]
    assert "\t3\t" in piece_table([made], terminal=False)


def test_once_a_piece_is_cut_its_runs_do_not_warn_that_notches_lie_inside() -> None:
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem")])
    assert [warn.code for warn in notches(drawing, run="hem", at="valleys").warnings] == ["notches-inside"]
    drawing = of(with_runs(drawing, [], cut(drawing)))
    run = notches(drawing, run="hem", at="valleys")
    assert "notches-inside" not in [warn.code for warn in run.warnings]
    # Its group leaves them to that of the piece.
    drawing = of(with_runs(drawing, [run], recut(drawing, [run])))
    roles = [e.get("data-run") for e in etree.fromstring(drawing.source).iterfind(".//{*}path[@data-role='notch']")]
    assert roles == ["cut box"] * 9
    again = [made.run for made in refit(drawing)]
    assert with_runs(drawing, again, recut(drawing, again)) == drawing.source


# --- found by trying -------------------------------------------------------------------------------------------------

SQUARE = '<path id="p" d="M50,50 H350 V350 H50 Z"/>'
SKIRT = (
    '<path id="skirt" d="M 100,400 A 300 300 0 1 1 700,400 A 300 300 0 1 1 100,400 Z '
    'M 300,400 A 100 100 0 1 1 500,400 A 100 100 0 1 1 300,400 Z"/>'
)


def test_a_straight_cut_beside_a_scalloped_one_leaves_all_stitching_inside() -> None:
    drawing = read(SQUARE)
    drawing = redrawn(drawing, [scallop(drawing, "p:c2..c3", width="30mm", finish="faced")])
    drawing = redrawn(drawing, [scallop(drawing, "p:c3..c0", width="25mm", finish="faced", cut="straight:10mm")])
    (made,) = cut(drawing)
    ring = shapely.Polygon(flatten(made.cut.cutting.curve, 0.01))
    for run in made_runs(drawing):
        for sewn in run.edge_cuts():
            # All but where both stitchings cross each other at the corner.
            line = shapely.LineString(flatten(sewn.stitching, 0.01))
            assert ring.buffer(0.02).contains(line)
    assert "cut-inside" not in {warn.code for warn in made.warnings}


def test_a_hole_has_its_allowance_inside_and_no_label() -> None:
    made = cut(read(SKIRT), number="2")
    lengths = [one.cut_length for one in made]
    assert lengths == pytest.approx([2.0 * math.pi * 315.0, 2.0 * math.pi * 85.0], abs=0.2)
    assert [bool(one.label) for one in made] == [True, False]


def test_a_square_with_wrapped_corners_is_cut_round() -> None:
    drawing = read(SQUARE)
    drawing = redrawn(drawing, [scallop(drawing, "p", width="28mm", corner="wrap", finish="faced")])
    (made,) = cut(drawing)
    (sewn,) = made_runs(drawing)[0].edge_cuts()
    away = shapely.distance(
        shapely.LineString(flatten(sewn.stitching, 0.005)), shapely.points(flatten(made.cut.cutting.curve, 0.05))
    )
    # Valleys are farther than the distance, nothing is nearer.
    assert away.min() == pytest.approx(6.0, abs=0.02)


def test_what_was_said_of_a_piece_stays_when_more_is_said() -> None:
    drawing = read(SQUARE)
    first = cut(drawing, number="2", side=["p:c0..c1=40mm"])
    drawing = read_drawing(with_runs(drawing, [], first), "a.svg")
    (made,) = cut(drawing, size="38")
    assert made.recipe.words.side == ("p:c0..c1=40mm",)
    assert made.label == ("p", "cut 2, a pair", "size 38")


def test_an_outline_drawn_with_its_allowance_takes_no_side_of_its_own() -> None:
    drawing = read(SQUARE)
    drawing = redrawn(drawing, [scallop(drawing, "p:c2..c3", width="30mm", allowance="15mm")])
    with pytest.raises(RequestError, match=r"carries its allowance already, .*: leave out --side"):
        cut(drawing, side=["p:c0..c1=5mm"])


def test_a_piece_cut_twice_whose_run_is_sewn_once_is_told() -> None:
    drawing = read(SQUARE)
    drawing = redrawn(drawing, [scallop(drawing, "p:c2..c3", width="30mm", name="hem", finish="faced")])
    drawing = redrawn(drawing, [facing(drawing, "hem")])
    (made,) = cut(drawing, number="2")
    assert [warn.code for warn in made.warnings] == ["times-differ"]
    (made,) = cut(drawing, number="1")
    assert not made.warnings


def test_small_pieces_have_small_letters() -> None:
    (made,) = cut(read('<path id="tab" d="M50,50 H80 V80 H50 Z"/>'), number="2", cloth="linen", size="38")
    group = piece_group(made, read(SQUARE))
    (text,) = [element for element in group if element.get("data-role") == "label"]
    size = float(re.findall(r"font-size:([\d.]+)px", text.get("style", ""))[0])
    assert 2.5 <= size < 5.0


def test_an_outline_drawn_with_its_allowance_is_not_said_to_be_cut_inside() -> None:
    drawing = read(SQUARE)
    words = {"allowance": "10mm", "end": "gap:12mm", "side": "inward"}
    drawing = redrawn(drawing, [scallop(drawing, "p:c2..c3", width="30mm", depth="12%", **words)])
    (made,) = cut(drawing)
    assert "cut-inside" not in {warn.code for warn in made.warnings}


def test_a_rim_without_a_facing_has_a_lining_too() -> None:
    drawing = read(SQUARE)
    drawing = redrawn(drawing, [scallop(drawing, "p", width="30mm", finish="faced")])
    (made,) = cut(drawing, lining="12mm")
    assert made.lining is not None


def test_pieces_without_a_grain_line_are_told_in_one_line() -> None:
    body = '<path id="a" d="M 50,50 H 150 V 150 H 50 Z"/><path id="b" d="M 250,50 H 350 V 150 H 250 Z"/>'
    grain = '<path id="grain-b" d="M 300,60 V 140"/>'
    told = piece_table(cut(read(body)), terminal=False).splitlines()
    assert told[-1].startswith('no grain line is drawn in "a", "b": draw a straight line called grain')
    told = piece_table(cut(read(body + grain)), terminal=False).splitlines()
    assert told[-1].startswith('no grain line is drawn in "a": ')
    (made,) = cut(read(body + grain), "b")
    assert "grain" not in piece_table([made], terminal=False)
    # A hole has none.
    assert (
        piece_table(cut(read(SKIRT)), terminal=False).splitlines()[-1].startswith('no grain line is drawn in "skirt": ')
    )
