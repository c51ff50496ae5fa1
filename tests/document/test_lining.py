"""Linings as a maker asks for them: drawn beside the pattern, told in the report, and made again by `refit`."""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from lxml import etree

from scallopkit.demo import front
from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.checking import check
from scallopkit.document.cut_pieces import MadePiece, piece_table
from scallopkit.document.drawing import Drawing
from scallopkit.document.kept import kept_pieces
from scallopkit.document.lining import MadeLining
from scallopkit.document.making import make_job
from scallopkit.document.markup import INKSCAPE
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.workshop import cut, facing, made_runs, recut, redrawn, refit, scallop, with_runs
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest

from ..drawings import BOX, QUARTER, ROUND, UNITS, page, path, read
from ..shapes import rectangle

# mm; what is promised of parallels, of a written drawing, and what flattening adds.
PROMISE, WRITTEN, FLAT = 0.02, 2e-4, 1e-3
# Its lower edge bows out by 15 mm.
CURVED = '<path id="box" d="M 10,20 H 310 V 220 C 210,240 110,240 10,220 Z"/>'
BESIDE = ("facing", "lining", "template", "interlining")


def of(data: bytes) -> Drawing:
    return read_drawing(data, "a.svg")


def faced(drawing: Drawing, along: str, depth: str = "50mm", **words: Any) -> Drawing:  # noqa: ANN401  # texts
    """The drawing with a scalloped edge and its facing."""
    run = scallop(drawing, along, width="30mm", finish="faced", **words)
    drawing = redrawn(drawing, [run])
    return redrawn(drawing, [facing(drawing, run.name, depth=depth)])


def one(drawing: Drawing, piece: str = "", **words: Any) -> tuple[MadePiece, MadeLining]:  # noqa: ANN401  # texts
    (made,) = cut(drawing, piece, **{"lining": "15mm", **words})
    assert made.lining is not None
    return made, made.lining


def again(data: bytes) -> bytes:
    drawing = of(data)
    runs = [made.run for made in refit(drawing)]
    return with_runs(drawing, runs, recut(drawing, runs))


def region(curve: Array) -> shapely.Polygon:
    found = shapely.Polygon(cubics.flatten(curve, FLAT))
    assert found.is_valid
    return found


def curves(root: etree._Element, role: str) -> list[Array]:
    elements = root.iterfind(f".//{{*}}path[@data-role='{role}']")
    return [sub.curve for element in elements for sub in read_path(element.get("d", ""), 1e-9).subpaths]


# --- what is drawn --------------------------------------------------------------------------------------------------


def test_the_lining_is_drawn_in_its_piece_s_group_beside_the_pattern() -> None:
    drawing = faced(read(BOX), "box:c2..c3")
    made, found = one(drawing, number=2, size="38")
    root = etree.fromstring(with_runs(drawing, [], [made]))
    (group,) = root.iterfind(".//{*}g[@data-run='cut box']")
    (inner,) = [element for element in group if element.tag.endswith("}g")]
    assert inner.get(f"{{{INKSCAPE}}}label") == "box lining"
    assert [element.get("data-role") for element in inner] == ["lining", "stitching", "grain", "label"]
    assert {element.get("data-run") for element in inner} == {"cut box"}
    assert [row.text for row in inner[-1]] == ["box lining", "cut 2, a pair", "lining", "size 38"]
    (sewn,) = curves(inner, "stitching")
    (cutting,) = curves(inner, "lining")
    x, y = np.array([10.0, 20.0]) + found.shift
    assert region(sewn).symmetric_difference(shapely.box(x, y, x + 300, y + 150)).area < 0.1
    assert region(cutting).symmetric_difference(shapely.box(x - 15, y - 15, x + 315, y + 165)).area < 0.1
    # The piece itself is cut as without a lining.
    assert len(curves(group, "cutting")) == 1


def test_without_the_word_there_is_no_lining() -> None:
    drawing = faced(read(BOX), "box:c2..c3")
    (made,) = cut(drawing)
    assert made.lining is None
    assert b"lining" not in with_runs(drawing, [], [made])
    assert report_of(drawing, [], pieces=[made])["pieces"][0]["lining"] is None


def test_a_lining_on_the_fold_has_the_fold_up_to_its_cut() -> None:
    """15 mm beyond the facing's inner edge: no cloth is cut along the fold there either."""
    drawing = faced(read(QUARTER), "quarter:c1..c2", "60mm", start="fold", end="fold")
    made, found = one(drawing)
    assert found.label == ("quarter lining", "cut 1 on both folds", "lining")
    assert len(made.folds) == len(found.folds) == 2
    for fold in found.folds:
        assert sorted(np.hypot(*fold[[0, -1], [0, 3]].T)) == pytest.approx([0.0, 255.0], abs=PROMISE)
    # Cut 15 mm beyond the inner edge, and not beyond the folds.
    assert region(found.cutting).area == pytest.approx(math.pi / 4.0 * 255.0**2, abs=255.0 * math.pi / 2.0 * PROMISE)


@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
@pytest.mark.parametrize("finish", ["bound", "stitched", "raw", "faced", "banded", ""])
def test_an_edge_without_a_facing_is_lined_as_the_piece_is_cut(finish: str, touch: str) -> None:
    """The lining is caught in the binding, so it needs as much cloth there as the piece has, and no more."""
    drawing = read(BOX)
    words = {"touch": touch, "finish": "bound" if finish == "banded" else finish}
    run = scallop(drawing, "box:c2..c3", width="30mm", depth="9mm", **words)
    drawing = redrawn(drawing, [run])
    if finish == "banded":
        drawing = redrawn(drawing, [facing(drawing, run.name, kind="band")])
    made, found = one(drawing)
    np.testing.assert_array_equal(found.cutting, made.cut.cutting.curve)
    lowest = {"valley": 229.0, "crest": 220.0, "middle": 224.5}[touch]
    assert region(found.sewn[0]).bounds == pytest.approx((10, 20, 310, lowest), abs=1e-6)
    # 6 mm beyond the crests where it is turned.
    assert region(found.cutting).bounds[3] == pytest.approx(
        lowest + (6.0 if finish in ("faced", "") else 0.0), abs=PROMISE
    )


@pytest.mark.parametrize("along", ["box:c2..c3", "box:c3..c2"])
@pytest.mark.parametrize("body", [BOX, CURVED])
def test_a_strip_shortens_a_lining_as_a_shaped_facing_does(along: str, body: str) -> None:
    run = scallop(read(body), along, width="30mm", finish="faced")
    drawing = redrawn(read(body), [run])
    shaped, strip = (
        one(redrawn(drawing, [facing(drawing, run.name, kind=kind, depth="50mm")]))[1] for kind in ("shaped", "strip")
    )
    np.testing.assert_array_equal(strip.cutting, shaped.cutting)
    np.testing.assert_array_equal(strip.sewn[0], shaped.sewn[0])
    sewn = strip.sewn[0].reshape(-1, 2)
    edge = run.laid.line.curve
    away = nearest(edge, cubics.flatten(strip.sewn[0], FLAT)).distance
    # Nothing that is lined lies nearer to the edge than the strip is deep, and much of it just there.
    assert away.min() == pytest.approx(50.0, abs=PROMISE)
    assert np.count_nonzero(nearest(edge, sewn).distance < 50.0 + PROMISE) >= 2


def test_a_strip_along_two_pieces_shortens_the_linings_of_both() -> None:
    body = BOX + '<rect id="side" x="460" y="20" width="90" height="200"/>'
    drawing = read_drawing(page(body, size=(900.0, 700.0)).encode(), "a.svg")
    run = scallop(drawing, ["box:c3..c2", "side:c3..c2"], join="seam", width="30mm", name="hem", finish="faced")
    drawing = redrawn(drawing, [run])
    drawing = redrawn(drawing, [facing(drawing, "hem", kind="strip", depth="45mm")])
    linings = [made.lining for made in cut(drawing, lining="15mm")]
    for found, expected in zip(linings, [(10, 20, 310, 175), (460, 20, 550, 175)], strict=True):
        assert found is not None
        assert region(found.sewn[0]).bounds == pytest.approx(expected, abs=1e-6)


def test_a_bound_round_cloth_is_lined_by_its_scallops() -> None:
    drawing = redrawn(read(ROUND), [scallop(read(ROUND), "round", width="30mm", touch="crest", finish="bound")])
    made, found = one(drawing)
    np.testing.assert_array_equal(found.cutting, made.cut.cutting.curve)
    assert region(found.sewn[0]).symmetric_difference(region(found.cutting)).area < 1e-6


@pytest.mark.parametrize("corner", ["box:c1..c2", "box:c2..c1"])
def test_in_an_outline_with_its_allowance_a_facing_and_a_bound_edge_end_on_each_other(corner: str) -> None:
    """Drawn 15 mm larger; the side is bound on scallops that reach from its stitching line inwards."""
    drawing = read(BOX)
    side = scallop(drawing, corner, width="34mm", touch="crest", finish="bound", allowance="15mm", name="side")
    drawing = faced(redrawn(drawing, [side]), "box:c2..c3", allowance="15mm")
    made, found = one(drawing)
    assert (
        region(found.cutting)
        .symmetric_difference(region(made.cut.cutting.curve).intersection(shapely.box(0, 0, 400, 170)))
        .area
        < 1e-2
    )
    low, trimmed = sorted(
        (cubics.bounds(curve).ravel() for curve in found.sewn), key=lambda box: box[2] - box[0], reverse=True
    )
    assert low[[1, 3]] == pytest.approx([155.0, 155.0], abs=PROMISE)
    assert trimmed[2:] == pytest.approx([295.0, 155.0], abs=PROMISE)


def test_words_of_the_piece_hold_for_its_lining() -> None:
    drawing = faced(read(BOX), "box:c2..c3")
    _, found = one(drawing, allowance=10, side="box:c0..c1=25mm", fold="box:c3..c0", lining="8mm")
    assert region(found.cutting).bounds == pytest.approx((10, -5, 320, 178))
    _, rounded = one(drawing, allowance=10, corner="c0=rounded")
    lost = (1.0 - math.pi / 4.0) * 100.0
    assert region(rounded.cutting).area == pytest.approx(320.0 * 175.0 - lost, abs=0.5)


def test_a_single_lining_that_is_not_symmetrical_is_mirrored() -> None:
    slant = '<path id="flag" d="M 10,20 H 310 V 220 H 110 Z"/>'
    drawing = faced(read(slant), "flag:c2..c3")
    _, pair = one(drawing, number=2)
    _, single = one(drawing, number=1)
    assert single.label == ("flag lining", "cut 1", "lining", "drawn mirrored")
    assert not pair.mirrored
    assert cubics.area(single.cutting) == pytest.approx(-cubics.area(pair.cutting), rel=1e-9)
    low, high = region(pair.cutting).bounds[::2]
    over = shapely.affinity.scale(region(pair.cutting), -1.0, 1.0, origin=(0.5 * (low + high), 0.0))
    assert region(single.cutting).symmetric_difference(over).area < 1e-3
    assert not one(faced(read(BOX), "box:c2..c3"), number=1)[1].mirrored


def test_an_outline_drawn_with_its_allowance_is_lined_within_it() -> None:
    """Drawn 15 mm larger: the facing lies 50 mm inside the stitching line, the cut of the lining 15 mm nearer to it."""
    drawing = faced(read(BOX), "box:c2..c3", allowance="15mm")
    made, found = one(drawing)
    assert not found.closed
    assert region(found.cutting).symmetric_difference(shapely.box(10, 20, 310, 170)).area < 1e-3
    (sewn,) = found.sewn
    assert cubics.bounds(sewn).ravel() == pytest.approx([25.0, 155.0, 295.0, 155.0], abs=PROMISE)
    assert made.cut.piece.name == "box"


@pytest.mark.parametrize("unit", UNITS)
def test_a_drawing_in_other_units_is_lined_alike(unit: float) -> None:
    body = path(rectangle(300, 200) + np.array([10.0, 20.0]), "box", closed=True, unit=unit)
    drawing = faced(read(body, unit), "box:c2..c3")
    made, found = one(drawing)
    root = etree.fromstring(with_runs(drawing, [], [made]))
    (cutting,) = curves(root, "lining")
    low, high = cubics.bounds(cutting * unit)
    assert high - low == pytest.approx((330.0, 180.0), abs=WRITTEN)
    entry = report_of(drawing, [], pieces=[made])["pieces"][0]["lining"]
    assert entry["cut_area_mm2"] == pytest.approx(330.0 * 180.0, abs=0.1)
    assert entry["cut_length_mm"] == pytest.approx(2.0 * (330.0 + 180.0), abs=1e-3)
    assert entry["overlap_mm"] == 15.0
    assert (entry["x"] * unit, entry["y"] * unit) == pytest.approx(low, abs=WRITTEN)
    assert found.box[0] + found.shift == pytest.approx(low, abs=WRITTEN)


def test_the_table_has_a_row_for_the_lining() -> None:
    made, _ = one(faced(read(BOX), "box:c2..c3"), number=2)
    assert piece_table([made], terminal=False).split("\n")[2] == "box lining\t15\t1020.0\t0\tcut 2, a pair, lining"


# --- free places ----------------------------------------------------------------------------------------------------

TWO = BOX + '<rect id="pocket" x="460" y="20" width="90" height="120"/>'


@cache
def two() -> bytes:
    drawing = faced(read_drawing(page(TWO, size=(900.0, 700.0)).encode(), "a.svg"), "box:c2..c3")
    return with_runs(drawing, [], cut(drawing, lining="15mm"))


def boxes(data: bytes) -> dict[str, shapely.Polygon]:
    """The boxes of all that is written beside the pattern, by the names of the things."""
    root = etree.fromstring(data)
    out = {}
    for role in BESIDE:
        for element in root.iterfind(f".//{{*}}path[@data-role='{role}']"):
            curve = np.concatenate([sub.curve for sub in read_path(element.get("d", ""), 1e-9).subpaths])
            out[f"{role} {element.get('data-piece')}"] = shapely.box(*cubics.bounds(curve).ravel())
    return out


def test_linings_facings_and_pieces_do_not_lie_on_each_other() -> None:
    found = boxes(two())
    assert set(found) == {"facing box:c2..c3 facing", "lining box lining", "lining pocket lining"}
    drawing = of(two())
    found |= {piece.name: shapely.box(*cubics.bounds(piece.curve).ravel()) for piece in drawing.pattern.pieces}
    for a, b in combinations(found, 2):
        assert found[a].distance(found[b]) > 10.0, (a, b)


def test_refit_gives_the_same_places_again() -> None:
    assert again(two()) == two()
    assert kept_pieces(two())["pocket"].words.lining == "15mm"


def test_one_piece_cut_anew_keeps_clear_of_the_other_s_lining() -> None:
    drawing = of(two())
    data = with_runs(drawing, [], cut(drawing, "pocket", lining="20mm", allowance=20))
    found = boxes(data)
    assert found["lining box lining"].equals(boxes(two())["lining box lining"])
    for a, b in combinations(found, 2):
        assert found[a].distance(found[b]) > 9.9


def test_a_lining_is_drawn_again_with_a_facing_that_is_made_after_it() -> None:
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c2..c3", width="30mm", name="low", finish="faced")])
    drawing = of(with_runs(drawing, [], cut(drawing, lining="15mm")))
    run = facing(drawing, "low")
    assert run.warnings == ()
    data = with_runs(drawing, [run])
    assert again(data) == data
    (cutting,) = curves(etree.fromstring(data), "lining")
    assert np.diff(cubics.bounds(cutting), axis=0)[0] == pytest.approx((330.0, 180.0), abs=WRITTEN)
    found = boxes(data)
    assert found["lining box lining"].distance(found["facing low facing"]) > 9.9


# --- what is refused ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", ["wide", "-3mm", "3 stone"])
def test_an_overlap_that_is_no_length_is_refused(words: str) -> None:
    with pytest.raises(RequestError, match="--lining"):
        cut(faced(read(BOX), "box:c2..c3"), lining=words)


# --- the waistcoat, as a job ----------------------------------------------------------------------------------------

JOB = Path(__file__).parents[2] / "gallery" / "waistcoat.toml"


@pytest.fixture(scope="module")
def sewn(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The demo's waistcoat with linings."""
    folder = tmp_path_factory.mktemp("job")
    text = JOB.read_text(encoding="utf-8").replace("[cut]\n", '[cut]\nlining = "15mm"\n')
    (folder / "waistcoat.svg").write_text(waistcoat(), encoding="utf-8")
    (folder / "a.toml").write_text(text, encoding="utf-8")
    made = make_job(folder / "a.toml")
    assert made.ok
    assert "back lining\t0, 15" in made.text
    return (folder / "waistcoat-scalloped.svg").read_bytes()


def test_the_waistcoat_s_linings_lie_free_and_are_made_again(sewn: bytes) -> None:
    found = boxes(sewn)
    linings = {name for name in found if name.startswith("lining ")}
    assert linings == {"lining back lining", "lining front lining"}
    others = {name: box for name, box in found.items() if not name.startswith("interlining")}
    assert len(others) > 4
    for a in linings:
        for b in set(others) - {a}:
            assert found[a].distance(found[b]) > 10.0
    assert again(sewn) == sewn
    assert all(finding.ok for finding in check(sewn, "a.svg"))


def test_the_waistcoat_s_linings_have_darts_and_the_notches_of_their_seams(sewn: bytes) -> None:
    drawing = of(sewn)
    made = {one.name: one for one in recut(drawing, made_runs(drawing))}
    for name, darts in (("back", 1), ("front", 2)):
        found = made[name].lining
        assert found is not None
        net, ring = region(found.sewn[0]), shapely.LinearRing(cubics.flatten(found.cutting, FLAT))
        assert ring.is_simple
        assert shapely.Polygon(ring).buffer(PROMISE).contains(net)
        assert sharp_hollows(found.sewn[0]) == darts
        assert sharp_hollows(found.cutting) == 0
        assert 0 < len(found.notches) < len(made[name].marks)
        for notch in found.notches:
            assert float(nearest(found.cutting, notch[:1]).distance[0]) < PROMISE
        grain = shapely.LineString(found.grain)
        assert net.contains(grain)
        assert grain.distance(shapely.Point(found.at)) > 5.0


def test_linings_that_are_sewn_to_each_other_have_their_notches_in_the_same_sewn_places(sewn: bytes) -> None:
    drawing = of(sewn)
    there = []
    for made in recut(drawing, made_runs(drawing)):
        assert made.lining is not None
        lines = [mark for mark in made.marks if mark.seam]
        sides = [min(lines, key=lambda mark: float(np.hypot(*(mark.sewn - notch[0])))) for notch in made.lining.notches]
        # Each stands beyond its place on the seam by no more than the allowance.
        for mark, notch in zip(sides, made.lining.notches, strict=True):
            assert float(np.hypot(*(mark.sewn - notch[0]))) < 15.0 + PROMISE
        there.append({(mark.seam, round(mark.s, 6)) for mark in sides})
    assert there[0] == there[1]
    # Near the armhole there is only facing.
    assert {seam for seam, _ in there[0]} == {"hem-side", "shoulder"}


def sharp_hollows(curve: Array) -> int:
    """At how many nodes a closed curve turns sharply into the piece, as at the point of a dart."""
    hand = math.copysign(1.0, cubics.area(curve))
    turns = []
    for a, b in zip(curve, np.roll(curve, -1, axis=0), strict=True):
        forth, onward = cubics.ends_direction(a[None])[1], cubics.ends_direction(b[None])[0]
        turns.append(hand * math.atan2(float(cubics.cross(forth, onward)), float(forth @ onward)))
    return sum(turn < math.radians(-120.0) for turn in turns)


def test_a_front_drawn_with_its_allowance_can_be_lined() -> None:
    drawing = of(front().encode())
    run = scallop(drawing, "front:hem-front..hem-side", allowance="15mm", width="24mm", name="hem", finish="faced")
    drawing = redrawn(drawing, [run])
    drawing = redrawn(drawing, [facing(drawing, "hem", depth="50mm")])
    made, found = one(drawing, "front")
    whole, lined = region(made.piece.curve), region(found.cutting)
    assert whole.buffer(PROMISE).contains(lined)
    # Below, 15 mm of allowance and 50 of facing less 15 of overlap are missing over a hem of 195 mm and its allowances.
    assert whole.area - lined.area == pytest.approx(50.0 * 225.0, rel=0.06)


def test_the_label_tells_what_the_lining_is_cut_from() -> None:
    drawing = read(BOX)
    (made,) = cut(drawing, lining="12mm", lining_cloth="batiste", cloth="linen")
    assert made.lining is not None
    assert made.lining.label == ("box lining", "cut 1", "batiste")
    (plain,) = cut(drawing, lining="12mm", cloth="linen")
    assert plain.lining is not None
    assert plain.lining.label == ("box lining", "cut 1", "lining")
    with pytest.raises(RequestError, match="--lining-cloth batiste goes with --lining"):
        cut(drawing, lining_cloth="batiste")
