"""Matched edges on drawings: what is drawn meets once sewn, and the match goes with the drawing from then on."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.kept import kept_matches, kept_recipes, run_groups
from scallopkit.document.making import make_job
from scallopkit.document.match_figures import match_entry, match_group, match_table
from scallopkit.document.match_lines import match_lines
from scallopkit.document.matches import MadeMatch
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import MatchRecipe, MatchWords, match_from_text, match_to_text
from scallopkit.document.report import report_of
from scallopkit.document.workshop import (
    cut,
    eyelets,
    match,
    match_changes,
    notches,
    recut,
    redrawn,
    refit,
    refuse_loss,
    rematched,
    scallop,
    with_runs,
)
from scallopkit.errors import NameUnknownError, OutputError, RequestError, ScallopkitError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest
from scallopkit.geometry.winding import winding
from tests.drawings import marks, page, read

# A band 200 mm long, and below it a skirt whose waist, drawn the same way, is 260 mm long.
BAND = '<path id="band" d="M 20,20 H 220 V 60 H 20 Z"/>'
SKIRT = '<path id="skirt" d="M 20,120 H 280 L 300,400 H 0 Z"/>'
TWO = BAND + SKIRT + marks(m=(120, 60), k=(150, 120))
WAIST = ("band:c3..c2", "skirt:c0..c1")


def with_match(drawing: Drawing, *made: MadeMatch) -> Drawing:
    return read_drawing(with_runs(drawing, [], matches=made), drawing.name)


def drawn(data: bytes, role: str, group: str) -> list[Array]:
    """The nodes of the paths of a role in a group."""
    found = etree.fromstring(data).findall(f".//{{*}}g[@data-run='{group}']//{{*}}path[@data-role='{role}']")
    curves = [np.concatenate([sub.curve for sub in read_path(e.get("d") or "", 1e-6).subpaths]) for e in found]
    return [np.concatenate([curve[:, 0], curve[-1:, 3]]) for curve in curves]


def test_fold_lines_are_laid_on_placement_lines_from_the_edge_inwards() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, pair=["m=k"], take_up=["knife:1"], toward="centre")
    data = with_runs(drawing, [], matches=[made])
    lines = drawn(data, "pleat", made.name)
    upright = sorted(line[0, 0] for line in lines if abs(line[0, 0] - line[-1, 0]) < 1e-3 and len(line) == 2)
    # 30 mm too long on either side make a pleat 15 mm deep in the middle of 100 mm: it lies over 42.5 to 57.5 mm, with
    # its fold at the end toward the centre; so 57.5 mm of cloth lie before it on the left, and 15 and 30 mm further.
    assert upright == pytest.approx([20 + 57.5, 20 + 87.5, 280 - 87.5, 280 - 57.5], abs=1e-4)
    assert all(
        line[:, 1].min() == pytest.approx(120.0) for line in lines if len(line) == 2 and line[0, 0] == line[-1, 0]
    )
    entry = match_entry(drawing, made)
    folds = [fold for stretch in entry["stretches"] for pleat in stretch["pleats"] for fold in pleat["folds"]]
    assert [(f["fold_mm"], f["placement_mm"], f["toward"]) for f in folds] == [
        (57.5, 87.5, "end"),
        (202.5, 172.5, "start"),
    ]
    assert [(f["piece"], f["x"], f["y"], f["sewn_mm"]) for f in folds] == [
        ("skirt", 77.5, 120.0, 57.5),
        ("skirt", 222.5, 120.0, 142.5),
    ]
    assert {stretch["closure_mm"] for stretch in entry["stretches"]} == {0.0}


def test_looks_tell_folds_from_where_they_are_laid() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, take_up=["inverted:1"], line_length=40)
    lines = match_lines(drawing, made)
    # Two folds, one line on which both are laid, and two arrows of shaft and head.
    assert [line.look for line in lines].count("pleat") == 1
    assert len(lines) == 7
    group = etree.fromstring(with_runs(drawing, [], matches=[made])).find(f".//{{*}}g[@data-run='{made.name}']")
    assert group is not None
    assert len({e.get("style") for e in group.findall("{*}path[@data-role='pleat']")}) == 2


def test_lines_follow_the_grain_where_asked() -> None:
    slanted = TWO + '<path id="grain" d="M 120,200 L 160,300"/>'
    drawing = read(slanted)
    made = match(drawing, *WAIST, take_up=["knife:2"], lines="grain")
    way = np.array([40.0, 100.0]) / math.hypot(40.0, 100.0)
    fold = next(line for line in match_lines(drawing, made) if line.look == "pleat")
    assert fold.points[1] - fold.points[0] == pytest.approx(60.0 * way)
    with pytest.raises(RequestError, match="no grain line"):
        match(read(TWO), *WAIST, take_up=["knife:2"], lines="grain")


def test_darts_take_the_excess_and_end_at_their_length() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, take_up=["darts:2"], dart_length=80)
    legs = [line.points for line in match_lines(drawing, made) if line.look == "pleat"]
    assert [leg[2, 0] - leg[0, 0] for leg in legs] == pytest.approx([30.0, 30.0])
    assert all(leg[1, 1] == pytest.approx(200.0) for leg in legs)
    # Each in the middle of half the band.
    assert [leg[0, 0] for leg in legs] == pytest.approx([20 + 50, 20 + 50 + 30 + 100])


def test_ends_meet_the_other_way_round_where_turned() -> None:
    drawing = read(TWO + marks(low=(70, 60), right=(230, 120)))
    made = match(drawing, WAIST[0], "skirt:c1..c0", turned=True, take_up=["knife:3"])
    assert made.sides[1].place(0.0).point == pytest.approx([20.0, 120.0])
    plain = match(drawing, *WAIST, take_up=["knife:3"])
    for one, other in zip(match_lines(drawing, made), match_lines(drawing, plain), strict=True):
        assert one.points == pytest.approx(other.points, abs=1e-6)
    # The mark lies 50 mm from the end that is drawn first, and so 210 mm along the seam.
    paired = match(drawing, WAIST[0], "skirt:c1..c0", turned=True, pair=["150mm=right"], take_up=["gathers"])
    assert [one.stretch.length_b for one in paired.pairs] == pytest.approx([210.0, 50.0])
    with pytest.raises(RequestError, match="cross each other"):
        match(drawing, *WAIST, pair=["low=right", "m=100mm"], take_up=["gathers"])


def test_one_notch_in_front_and_two_behind_on_both_edges() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, pair=["50mm=60mm", "150mm=200mm"], take_up=["gathers"], notches="front-back")
    found = drawn(with_runs(drawing, [], matches=[made]), "notch", made.name)
    assert [line[0].tolist() for line in found] == [
        pytest.approx([70.0, 60.0]),
        pytest.approx([167.0, 60.0]),
        pytest.approx([173.0, 60.0]),
        pytest.approx([80.0, 120.0]),
        pytest.approx([217.0, 120.0]),
        pytest.approx([223.0, 120.0]),
    ]
    # Into the cloth of both.
    assert found[0][1, 1] == pytest.approx(57.0)
    assert found[3][1, 1] == pytest.approx(123.0)
    bare = match(drawing, *WAIST, pair=["m=k"], take_up=["gathers"], notches="none")
    assert drawn(with_runs(drawing, [], matches=[bare]), "notch", bare.name) == []


def test_a_run_over_several_pieces_is_one_line_as_sewn() -> None:
    left, right = (
        '<path id="left" d="M 20,120 H 150 V 300 H 20 Z"/>',
        '<path id="right" d="M 200,120 H 330 V 300 H 200 Z"/>',
    )
    drawing = read(BAND + left + right)
    drawing = redrawn(
        drawing,
        [
            eyelets(
                drawing, ["left:c0..c1", "right:c0..c1"], join="seam", eyelet=4, count=6, name="waist", wearer="adult"
            )
        ],
    )
    made = match(drawing, WAIST[0], "waist", pair=["50mm=65mm", "150mm=195mm"], take_up=["knife:1"])
    assert made.sides[1].length == pytest.approx(260.0)
    # By pieces: one on the first, two on the second.
    assert made.counts == (1, 2)
    # The middle pleat, 30 mm of cloth around the seam, is told of.
    assert [w.code for w in made.warnings] == ["pleat-over-seam"]
    assert 'over the seam "left:c1/right:c0"' in made.warnings[0].message


def test_gathers_out_of_the_usual_and_lines_out_of_the_piece_are_told() -> None:
    drawing = read(TWO)
    (warn,) = match(drawing, *WAIST, take_up=["gathers"]).warnings
    assert warn.code == "gathers-unusual"
    assert "1.30 to 1" in warn.message
    (warn,) = match(drawing, *WAIST, take_up=["knife:2"], line_length=300).warnings
    assert (warn.code, warn.piece) == ("pleat-leaves-piece", "skirt")


def test_it_is_made_again_with_the_drawing() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, take_up=["knife:3"])
    drawing = with_match(drawing, made)
    assert list(kept_matches(drawing.source)) == ["match band:c3..c2 to skirt:c0..c1"]
    assert with_match(drawing, *rematched(drawing, [])).source == drawing.source
    assert match_changes(drawing, rematched(drawing, [])) == [(made.name, "unchanged")]
    wider = read_drawing(drawing.source.replace(b"H 280 L 300", b"H 292 L 300"), "a.svg")
    again = rematched(wider, [])
    assert again[0].pairs[0].pleats[0].depth == pytest.approx(12.0)
    assert match_changes(wider, again) == [(made.name, "200.00 mm to 272.00 mm")]
    gone = read_drawing(drawing.source.replace(b'id="band"', b'id="belt"'), "a.svg")
    with pytest.raises(NameUnknownError, match=r'"match band:c3\.\.c2 to skirt:c0\.\.c1" can\'t be made'):
        rematched(gone, [])


def test_a_match_is_no_run_and_check_lets_it_be() -> None:
    drawing = read(TWO)
    drawing = with_match(drawing, match(drawing, *WAIST, take_up=["knife:3"]))
    assert run_groups(drawing.source) == ()
    assert kept_recipes(drawing.source) == {}
    assert examine(drawing.source, "a.svg") == ()
    assert refit(drawing) == []
    drawing = redrawn(drawing, [scallop(drawing, "skirt:c3..c2", count=10, name="hem")])
    assert all(finding.ok for finding in examine(drawing.source, "a.svg"))
    with pytest.raises(RequestError, match="is what the group of a match is called"):
        with_runs(drawing, [scallop(drawing, "band:c0..c1", count=4, name="match band:c3..c2 to skirt:c0..c1")])


def test_no_file_with_a_match_is_written_over_without_it(tmp_path: Path) -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, take_up=["knife:3"])
    place = tmp_path / "a.svg"
    place.write_bytes(with_runs(drawing, [], matches=[made]))
    with pytest.raises(OutputError, match=r'"match band:c3\.\.c2 to skirt:c0\.\.c1"'):
        refuse_loss(place, drawing, [])
    refuse_loss(place, drawing, [], matches=[made])


def test_on_pieces_that_are_cut_notches_stand_on_the_cutting_line() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, pair=["m=k"], take_up=["gathers"])
    drawing = with_match(drawing, made)
    assert len(drawn(drawing.source, "notch", made.name)) == 2
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, allowance=10)), "a.svg")
    assert drawn(drawing.source, "notch", made.name) == []
    (notch,) = drawn(drawing.source, "notch", "cut skirt")
    assert notch[0] == pytest.approx([150.0, 110.0])
    # Another pair moves the notch of the piece too, and refit keeps it.
    other = match(drawing, *WAIST, pair=["50mm=65mm"], take_up=["gathers"])
    drawing = with_match(drawing, other)
    (notch,) = drawn(drawing.source, "notch", "cut skirt")
    assert notch[0] == pytest.approx([85.0, 110.0])
    again = with_runs(drawing, [], recut(drawing, []), matches=rematched(drawing, []))
    assert again == drawing.source


@pytest.mark.parametrize("lines", ["square", "grain"])
def test_lines_of_pleats_are_carried_out_to_the_cutting_line(lines: str) -> None:
    drawing = read(TWO + '<path id="grain" d="M 120,200 L 160,300"/>')
    drawing = with_match(drawing, match(drawing, *WAIST, take_up=["knife:2"], lines=lines))
    plain = upright(drawing.source)
    assert len(plain) == 4
    assert all(line[0, 1] == pytest.approx(120.0, abs=1e-4) for line in plain)
    cut_on = read_drawing(with_runs(drawing, [], cut(drawing, allowance=10)), "a.svg")
    carried = upright(cut_on.source)
    for line, before in zip(carried, plain, strict=True):
        # Straight on to the cut, so that the allowance is folded as the cloth below it.
        assert line[0, 1] == pytest.approx(110.0, abs=1e-4)
        assert line[1] == pytest.approx(before[1], abs=1e-4)
        way, own = line[0] - line[1], before[0] - before[1]
        assert way[0] * own[1] - way[1] * own[0] == pytest.approx(0.0, abs=0.05)
    # Cut otherwise they go as far as that, and what made them so makes them so again.
    wider = read_drawing(with_runs(cut_on, [], cut(cut_on, allowance=15)), "a.svg")
    assert all(line[0, 1] == pytest.approx(105.0, abs=1e-4) for line in upright(wider.source))
    assert with_runs(wider, [], recut(wider, []), matches=rematched(wider, [])) == wider.source
    # Another match on pieces that are cut already goes out at once.
    other = with_match(wider, match(wider, *WAIST, take_up=["knife:3"], lines=lines))
    assert all(line[0, 1] == pytest.approx(105.0, abs=1e-4) for line in upright(other.source))


def upright(source: bytes) -> list[Array]:
    """The fold and placement lines, without arrows."""
    lines = drawn(source, "pleat", f"match {WAIST[0]} to {WAIST[1]}")
    return [line for line in lines if len(line) == 2 and abs(line[1, 1] - line[0, 1]) > 40.0]


def test_legs_of_darts_are_carried_out_too() -> None:
    drawing = read(TWO)
    drawing = with_match(drawing, match(drawing, *WAIST, take_up=["darts:1"], dart_length=90))
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, allowance=10)), "a.svg")
    (legs,) = [line for line in drawn(drawing.source, "pleat", f"match {WAIST[0]} to {WAIST[1]}") if len(line) == 3]
    # 60 mm wide and 90 mm long: 10 mm further out each leg is 30 / 90 * 10 mm further aside.
    assert legs[:, 1] == pytest.approx([110.0, 210.0, 110.0], abs=1e-4)
    assert legs[[0, 2], 0] == pytest.approx([120 - 10 / 3, 180 + 10 / 3], abs=1e-4)


def test_gathers_get_two_rows_of_stitches_in_the_allowance_from_anchor_to_anchor() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, pair=["m=k"], take_up=["gathers"])
    rows = drawn(with_runs(drawing, [], matches=[made]), "pleat", made.name)
    # 3 mm outside the seam, and 1/4 in further.
    ends = sorted((line[0, 0], line[-1, 0], 120.0 - line[0, 1], 120.0 - line[-1, 1]) for line in rows)
    assert ends == [
        pytest.approx((20.0, 150.0, 3.0, 3.0), abs=1e-4),
        pytest.approx((20.0, 150.0, 9.35, 9.35), abs=1e-4),
        pytest.approx((150.0, 280.0, 3.0, 3.0), abs=1e-4),
        pytest.approx((150.0, 280.0, 9.35, 9.35), abs=1e-4),
    ]
    assert [stretch["gathered_to_mm"] for stretch in match_entry(drawing, made)["stretches"]] == [100.0, 100.0]
    text = with_runs(drawing, [], matches=[made]).decode()
    assert "gathers, 130.0 to 100.0 mm (1.30 to 1)" in text
    assert "two rows of stitches, 3 and 9.35 mm outside the seam" in text
    # In a narrow allowance they part it in three, and in hardly any there are none.
    drawing = with_match(drawing, made)
    narrow = with_runs(drawing, [], cut(drawing, allowance=6))
    assert sorted({round(120.0 - line[0, 1], 4) for line in drawn(narrow, "pleat", made.name)}) == [2.0, 4.0]
    assert drawn(with_runs(drawing, [], cut(drawing, allowance=2)), "pleat", made.name) == []


def test_rows_of_gathering_stitches_run_beside_a_hollow_edge_on_both_sides_of_a_seam() -> None:
    left = '<path id="left" d="M 20,120 Q 85,150 150,150 V 300 H 20 Z"/>'
    right = '<path id="right" d="M 200,150 Q 265,150 330,120 V 300 H 200 Z"/>'
    drawing = read(BAND + left + right)
    row = eyelets(drawing, ["left:c0..c1", "right:c0..c1"], join="seam", eyelet=4, count=6, name="waist")
    drawing = redrawn(drawing, [row])
    made = match(drawing, WAIST[0], "waist", take_up=["gathers"])
    group = etree.fromstring(with_runs(drawing, [], matches=[made])).findall(".//{*}path[@data-role='pleat']")
    assert sorted(e.get("data-piece") or "" for e in group) == ["left", "left", "right", "right"]
    pieces = {piece.name: piece.curve for piece in drawing.pattern.pieces}
    for element in group:
        (sub,) = read_path(element.get("d") or "", 1e-6).subpaths
        points = cubics.flatten(sub.curve, 0.01)
        away = nearest(pieces[element.get("data-piece") or ""], points).distance
        off = 3.0 if away[0] < 5.0 else 9.35
        # Parallels are true to 0.02 mm, and the polyline to 0.01.
        assert np.abs(away - off).max() < 0.03
        assert all(winding(pieces[element.get("data-piece") or ""], points) == 0)


def test_an_edit_tells_at_which_end_and_draws_where_the_edge_will_end() -> None:
    drawing = read(TWO)
    made = match(drawing, *WAIST, take_up=["edit"])
    assert 'take 60.00 mm off "skirt:c0..c1" at "start" and "end", 30.00 mm each' in match_table([made], terminal=False)
    (entry,) = match_entry(drawing, made)["stretches"]
    assert [(e["at"], e["off_mm"], e["x"], e["y"]) for e in entry["edits"]] == [
        ("start", 30.0, 50.0, 120.0),
        ("end", 30.0, 250.0, 120.0),
    ]
    lines = drawn(with_runs(drawing, [], matches=[made]), "placement", made.name)
    assert [line[0, 0] for line in lines] == pytest.approx([50.0, 250.0])
    # Between marks no end is free.
    made = match(drawing, *WAIST, pair=["50mm=40mm", "150mm=200mm"], take_up=["2=edit", "1=gathers", "3=edit"])
    table = match_table([made], terminal=False)
    assert 'take 60.00 mm off "skirt:c0..c1" between "40mm" and "200mm"' in table
    assert 'take 10.00 mm off "skirt:c0..c1" at "end"' in table
    assert len(drawn(with_runs(drawing, [], matches=[made]), "placement", made.name)) == 1


def test_an_outline_with_its_allowance_is_matched_on_its_stitching_line() -> None:
    drawing = read('<path id="a" d="M 0,0 H 230 V 80 H 0 Z"/><path id="b" d="M 0,100 H 235 V 180 H 0 Z"/>')
    made = match(drawing, "a:c3..c2", "b:c0..c1", allowance="15mm", pair=["100mm=102.5mm"])
    assert [side.length for side in made.sides] == pytest.approx([200.0, 205.0])
    assert made.sides[0].place(0.0).point[1] == pytest.approx(65.0)
    # The notch stands on the cutting line, which is drawn.
    assert drawn(with_runs(drawing, [], matches=[made]), "notch", made.name)[0][0, 1] == pytest.approx(80.0)


def test_a_row_is_moved_over_pleats_to_where_it_meets() -> None:
    drawing = read(TWO)
    row = eyelets(drawing, WAIST[0], eyelet=4, count=4, name="row", wearer="adult")
    drawing = redrawn(drawing, [row])
    marked = notches(drawing, run="row", at="parts:4")
    drawing = redrawn(drawing, [marked])
    made = match(drawing, "row", WAIST[1], take_up=["knife:2"], move=["row"])
    (holes, ticks) = made.rows
    entry = match_entry(drawing, made)["moved"]
    assert [e["what"] for e in entry] == ["eyelet"] * 4 + ["notch"] * 3
    # Sewn on, every hole lies over its own: what pleats take before it is left out.
    tucks = made.pairs[0].tucks
    for a, b in [*zip(holes.a, holes.b, strict=True), *zip(ticks.a, ticks.b, strict=True)]:
        assert b - sum(tuck.take for tuck in tucks if tuck.sewn < a) == pytest.approx(a, abs=1e-9)
    # As far inside this edge as inside the other.
    inset = 60.0 - row.eyelets[0].points[0, 1]
    assert all(e["y"] == pytest.approx(120.0 + inset) for e in entry[:4])
    group = etree.fromstring(with_runs(drawing, [], matches=[made])).find(f".//{{*}}g[@data-run='{made.name}']")
    assert group is not None
    assert len(group.findall("{*}circle[@data-role='eyelet']")) == 4
    assert made.cautions
    assert match_entry(drawing, made)["totals"]["eyelets"] == 4
    with pytest.raises(RequestError, match="not a run along"):
        match(drawing, "band:c0..c1", WAIST[1], take_up=["gathers"], move=["row"])
    back = match(drawing, WAIST[1], "row", take_up=["knife:2"])
    assert [one.stretch.long_a for one in back.pairs] == [True]


def test_moved_parts_are_counted_as_often_as_the_second_edge_is_sewn() -> None:
    drawing = read(TWO.replace("H 280 L", "H 220 L"))
    row = eyelets(drawing, WAIST[0], part="snap", snap=8, count=3, name="row", wearer="adult")
    pair = eyelets(drawing, WAIST[1], eyelet=4, count=2, name="pair", times=2, wearer="adult")
    drawing = redrawn(drawing, [row, pair])
    totals = match_entry(drawing, match(drawing, "row", "pair", move=["row"]))["totals"]
    assert (totals["eyelets"], totals["parts"]["snap"]) == (0, 6)


def test_moved_parts_without_room_are_told() -> None:
    drawing = read(TWO)
    row = eyelets(drawing, WAIST[0], eyelet=4, count=4, ends=1, inset=12, name="row", wearer="adult")
    drawing = redrawn(drawing, [row])
    made = match(drawing, "row", WAIST[1], take_up=["knife:2"], move=["row"])
    told = {w.code: w for w in made.warnings}
    # A flange 8 mm wide, 1 mm along the edge from the side seam, which leans 20 out on 280 mm: 12 mm down it is 1.85
    # mm from the middle.
    assert told["eyelet-near-line"].message.startswith('moved from "row", the flange of eyelet 4 reaches 2.15 mm over')
    # The third stands 133 mm along the band and so 163 along the waist, and the second pleat begins at 172.5.
    assert "eyelet 3 is 5.50 mm from a line of a pleat or dart" in told["moved-near-fold"].message
    close = eyelets(drawing, WAIST[0], eyelet=4, spacing=31, ends="40mm, 5mm", inset=12, name="row", wearer="adult")
    drawing = redrawn(drawing, [close])
    made = match(drawing, "row", WAIST[1], take_up=["knife:2"], move=["row"])
    (told_of,) = [w for w in made.warnings if w.code == "moved-near-fold"]
    # 2.5 mm before the first pleat begins, and 4 mm of flange.
    assert "eyelet 1 reaches 1.50 mm over a line of a pleat or dart" in told_of.message
    assert told_of.piece == "skirt"


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ({"take_up": ["tucks"]}, r"--take-up can be ease, gathers, knife:N.*not 'tucks'"),
        ({"take_up": ["ease:2"]}, "not 'ease:2'"),
        ({"take_up": ["9=ease"]}, r'no stretch with "9"; there are 1 or "start\.\.end"'),
        ({"take_up": ["1=ease", "start..end=gathers"]}, "twice"),
        ({"take_up": ["ease", "gathers"]}, "both for all"),
        ({"take_up": ["gathers"], "depth": 10}, "--depth goes with pleats"),
        ({"take_up": ["knife:9"], "number": 3}, "--take-up knife:9 and --number 3 tell two numbers of knife pleats"),
        ({"take_up": ["1=darts:2"], "number": 3}, "--take-up darts:2 and --number 3 tell two numbers of darts"),
        ({"take_up": ["gathers"], "in_phase": True}, r'"skirt:c0\.\.c1" has no scallops'),
        ({"take_up": ["gathers"], "phase": "3mm"}, "--phase is about valleys"),
        ({"take_up": ["darts:2"], "depth": 10}, "of darts give the number"),
        (
            {"take_up": ["knife:4"], "depth": 10},
            r"take up 80\.00 mm .*60\.00 mm too much: take 3, or a --depth of 7\.50",
        ),
        ({}, r"60\.00 mm are 30\.00% of 200\.00 mm, and 2\.5% \(5\.00 mm\) can be eased in"),
        ({"cloth": "silk"}, "--cloth can be woven, wool or knit"),
        ({"cloth": "wool", "most_ease": "3%"}, "give one"),
        ({"pair": ["m"]}, "--pair is written"),
        ({"pair": ["m=no"]}, 'no mark or corner "no"'),
        ({"pair": ["m=900mm"]}, r"beyond the end.*260\.00 mm"),
        ({"take_up": ["knife:2"], "toward": "left"}, "--toward can be start, end or centre"),
    ],
)
def test_what_can_not_be_is_refused_with_what_would_do(words: dict[str, Any], text: str) -> None:
    with pytest.raises(ScallopkitError, match=text):
        match(read(TWO), *WAIST, **words)


def test_the_same_number_said_twice_is_no_contradiction() -> None:
    made = match(read(TWO), *WAIST, take_up=["knife:3"], number=3)
    assert len(made.pairs[0].pleats) == 3


def test_names_that_are_none_are_refused() -> None:
    drawing = read(TWO)
    with pytest.raises(NameUnknownError, match=r'no run is called "bnad" \(there are none\), and as an edge'):
        match(drawing, "bnad", WAIST[1])
    with pytest.raises(RequestError, match="with itself"):
        match(drawing, WAIST[0], WAIST[0])
    with pytest.raises(RequestError, match="are one edge"):
        match(drawing, WAIST[1], "skirt:c1..c0", turned=True)
    with pytest.raises(NameUnknownError, match='--move names no run with "row"'):
        match(drawing, *WAIST, take_up=["gathers"], move=["row"])


def test_equal_edges_say_so_where_pleats_are_asked_for() -> None:
    drawing = read(TWO.replace("H 280 L", "H 220 L"))
    with pytest.raises(RequestError, match=r"both edges are 200\.00 mm long"):
        match(drawing, *WAIST, take_up=["knife:2"])
    assert match(drawing, *WAIST).pairs[0].kind == ""
    # What is for all is for those that have anything to take up.
    made = match(drawing, *WAIST, pair=["100mm=60mm"], take_up=["1=gathers", "2=edit"])
    assert [one.kind for one in made.pairs] == ["gathers", "edit"]
    assert 'take 40.00 mm off "skirt:c0..c1" at "end", or let "band:c3..c2" out there' in match_table(
        [made], terminal=False
    )


def test_the_recipe_comes_back_as_it_was() -> None:
    recipe = MatchRecipe(MatchWords("a", "b", ("m=k",), take_up=("knife:3",), toward="centre"))
    assert match_from_text(match_to_text(recipe), "match a to b") == recipe


def test_a_job_matches_too_and_names_the_key_that_is_wrong(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(page(TWO), encoding="utf-8")
    job = (
        'pattern = "a.svg"\noutput = "b.svg"\nreport = "b.json"\n[[run]]\nname = "hem"\nedges = "skirt:c3..c2"\n'
        '[run.scallop]\ncount = 10\n[[match]]\na = "band:c3..c2"\nb = "skirt:c0..c1"\ntake_up = "knife:2"\n'
    )
    (tmp_path / "a.toml").write_text(job + "depth = 15\n", encoding="utf-8")
    made = make_job(tmp_path / "a.toml")
    assert made.ok
    assert "2 knife pleats 15.00 mm deep" in made.text
    written = read_drawing((tmp_path / "b.svg").read_bytes(), "b.svg")
    assert list(kept_matches(written.source)) == ["match band:c3..c2 to skirt:c0..c1"]
    assert b'"matches": [' in (tmp_path / "b.json").read_bytes()
    (tmp_path / "a.toml").write_text(job + "depth = 20\n", encoding="utf-8")
    with pytest.raises(ScallopkitError, match=r"a\.toml, line 13, match\.depth: from .* a depth of 15\.00 mm"):
        make_job(tmp_path / "a.toml")


def test_the_report_always_has_matches() -> None:
    drawing = read(TWO)
    assert report_of(drawing, [])["matches"] == []
    made = match(drawing, *WAIST, take_up=["gathers"])
    entry = report_of(drawing, [], matches=[made])
    assert entry["matches"][0]["difference_mm"] == 60.0
    assert [w["code"] for w in entry["warnings"]] == ["gathers-unusual"]


def test_scallops_made_anew_tell_that_the_match_is_older() -> None:
    drawing = read(TWO)
    drawing = redrawn(drawing, [scallop(drawing, WAIST[1], count=10, name="waist")])
    drawing = with_match(drawing, match(drawing, WAIST[0], "waist", take_up=["gathers"]))
    again = scallop(drawing, WAIST[1], count=12, name="waist")
    assert "matched-before" in [w.code for w in again.warnings]


@pytest.mark.parametrize(("how", "underlay"), [("knife:3", 10.0), ("box:3", 20.0), ("inverted:3", 20.0)])
def test_pleats_are_told_with_underlay_and_spacing(how: str, underlay: float) -> None:
    takes = 3 * 2.0 * underlay
    band = '<path id="band" d="M 20,20 H 320 V 60 H 20 Z"/>'
    drawing = read(f'{band}<path id="skirt" d="M 20,120 H {320 + takes:g} V 400 H 20 Z"/>')
    made = match(drawing, "band:c3..c2", "skirt:c0..c1", take_up=[how])
    (stretch,) = match_entry(drawing, made)["stretches"]
    assert stretch["spacing_mm"] == pytest.approx(100.0)
    assert [pleat["underlay_mm"] for pleat in stretch["pleats"]] == pytest.approx([underlay] * 3)
    # Each fold has its line, its placement line and an arrow; an inverted pleat's two folds are laid on one line.
    drawn = etree.tostring(match_group(made, drawing)).decode()
    assert drawn.count('data-role="pleat"') == {"knife:3": 4, "box:3": 8, "inverted:3": 7}[how] * 3
    assert f"as sewn: underlay {underlay:.2f} mm, 100.00 mm from one to the next" in drawn
