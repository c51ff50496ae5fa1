"""Lacing on drawings: what is told of a cord is what is drawn, and it stays when things are made again."""

from __future__ import annotations

import json
import math
import re
import shlex
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from typer.testing import CliRunner

from scallopkit.cli import app
from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.checking import check
from scallopkit.document.drawing import Drawing
from scallopkit.document.job import read_job
from scallopkit.document.lacing import lacing_lines
from scallopkit.document.making import make_job
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import LacingWords, from_text, to_text
from scallopkit.document.report import report_of
from scallopkit.document.runs import Run
from scallopkit.document.styles import HIDDEN, LINES
from scallopkit.document.workshop import cut, eyelets, lacing, redrawn, refit, refuse_loss, scallop, with_runs
from scallopkit.errors import NameUnknownError, NoFitError, OutputError, RequestError, ScallopkitError
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure

from ..drawings import page

# Two pieces with an upright edge of 220 mm each: `left` faces right, `right` faces left, and lies elsewhere, turned.
LEFT = '<path id="left" d="M 100,30 V 250 H 20 V 30 Z"/>'
RIGHT = '<path id="right" transform="rotate(20 300 140)" d="M 260,30 H 340 V 250 H 260 Z"/>'
WIDE = (900.0, 500.0)
# 5 mm openings have flanges of 10 mm unless told otherwise, which lie 6 mm inside the edge: 11 mm to the middles.
INSET = 11.0


def of(text: str) -> Drawing:
    return read_drawing(text.encode(), "a.svg")


def with_rows(count: int = 6, other: int = 6) -> Drawing:
    drawing = of(page(LEFT + RIGHT, size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=count, eyelet=5)])
    return redrawn(drawing, [eyelets(drawing, "right:c0..c3", name="b", count=other, eyelet=5)])


def entry_of(drawing: Drawing, run: Run) -> dict[str, Any]:
    return report_of(drawing, [run])["runs"][0]  # type: ignore[no-any-return]  # JSON


def drawn(drawing: Drawing, run: Run, role: str) -> list[etree._Element]:
    root = etree.fromstring(with_runs(drawing, [run]))
    return [one for one in root.iter("{*}path") if one.get("data-role") == role and one.get("data-run") == run.name]


def curve_of(element: etree._Element) -> Array:
    (line,) = read_path(element.get("d", ""), 1e-6).subpaths
    return line.curve


# --- how long it is -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("partner", ["mirror", "b"])
@pytest.mark.parametrize("gap", [0.0, 12.5, 40.0])
def test_a_laced_opening_is_as_long_as_the_formula(partner: str, gap: float) -> None:
    drawing = with_rows()
    run = lacing(drawing, "a", with_row=partner, gap=gap, thickness=3, cord=1, ends="knot", tails=70)
    spacing, across = (220.0 - 2 * INSET) / 5, gap + 2 * INSET
    # Crisscross: Halton, The Mathematical Intelligencer 17 (1995).
    bare = across + 10 * math.hypot(spacing, across)
    laced = entry_of(drawing, run)["lacing"]
    assert laced["length_mm"] == pytest.approx(bare + 12 * (3 + 1), abs=1e-5)
    # A knot takes 30 mm of each end, of which 70 mm hang.
    assert laced["cut_mm"] == pytest.approx(bare + 12 * 4 + 2 * 100, abs=1e-5)
    assert (laced["holes"], laced["runs"], laced["with"], laced["gap_mm"]) == ([6, 6], 11, partner, gap)
    assert sum(laced["cords"][0]["runs_mm"]) == pytest.approx(bare, abs=1e-5)


@given(angle=st.integers(-80, 80), x=st.integers(-40, 40), flipped=st.booleans())
@settings(max_examples=20, deadline=None)
def test_it_does_not_hang_on_how_the_pieces_lie(angle: int, x: int, flipped: bool) -> None:
    """The same piece anywhere on the sheet, or drawn face down, is laced with its mirror image alike.

    But for what is its lower end: there the cord begins, and a bent edge may leave more room there than at the other.
    """
    flip = "scale(-1 1)" if flipped else ""
    place = f"translate({300 + x} 250) rotate({angle}) {flip}"
    drawing = of(page(f'<path id="p" transform="{place}" d="M 0,0 C 9,60 -6,90 4,150 H 60 V 0 Z"/>'))
    row = redrawn(drawing, [eyelets(drawing, "p:c0..c1", name="a", count=5, eyelet=4)])
    run = lacing(row, "a", with_row="mirror")
    plain = of(page('<path id="p" d="M 300,250 C 309,310 294,340 304,400 H 360 V 250 Z"/>'))
    plain = redrawn(plain, [eyelets(plain, "p:c0..c1", name="a", count=5, eyelet=4)])
    assert run.lacing is not None
    # Six decimals of a sheet are what a turned drawing keeps.
    assert run.lacing.total == pytest.approx(_total(lacing(plain, "a", with_row="mirror")), abs=1e-6)
    first, second = run.lacing.rows
    assert first.heights == pytest.approx(second.heights, abs=1e-9)


def _total(run: Run) -> float:
    assert run.lacing is not None
    return run.lacing.total


def test_pairs_sewn_for_left_and_right_are_one_opening_and_two_rows_are_two() -> None:
    drawing = of(page(LEFT, size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=6, eyelet=5, times=2)])
    mirrored, single = lacing(drawing, "a", with_row="mirror"), lacing(drawing, "a", path="wrapped")
    for run, copies in ((mirrored, 1), (single, 2)):
        entry = entry_of(drawing, run)
        assert entry["lacing"]["copies"] == copies
        assert entry["totals"]["cord_mm"] == pytest.approx(copies * entry["lacing"]["cut_mm"], abs=1e-6)


def test_a_row_laced_to_its_mirror_image_has_both_rows_eyelets() -> None:
    drawing = of(page(LEFT, size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=6, eyelet=5)])
    assert entry_of(drawing, lacing(drawing, "a", path="wrapped"))["totals"]["eyelets"] == 6
    entry = entry_of(drawing, lacing(drawing, "a", with_row="mirror"))
    assert (entry["totals"]["eyelets"], entry["lacing"]["copies"]) == (12, 1)


def test_two_cords_share_the_pairs() -> None:
    laced = entry_of(with_rows(), lacing(with_rows(), "a", with_row="b", cords=2))["lacing"]
    assert [len(cord["holes"]) for cord in laced["cords"]] == [6, 6]
    assert laced["runs"] == 10
    assert {number for cord in laced["cords"] for _, number in cord["holes"]} == {1, 2, 3, 4, 5, 6}


def test_a_row_in_scallops_is_laced_from_crest_to_crest() -> None:
    drawing = of(page(LEFT, size=WIDE))
    drawing = redrawn(drawing, [scallop(drawing, "left:c0..c1", width=44, depth=15, name="a")])
    drawing = redrawn(drawing, [eyelets(drawing, run="a", eyelet=4, from_crest=16)])
    run = lacing(drawing, "a", with_row="mirror", gap=10, thickness=0, ends="plain", tails=0)
    across = 10 + 2 * 16
    assert _total(run) == pytest.approx(across + 8 * math.hypot(44.0, across), abs=1e-5)


# --- what is drawn --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [{"with_row": "b"}, {"with_row": "mirror", "path": "straight"}, {"path": "running"}])
def test_the_drawn_cord_is_as_long_as_its_runs(words: dict[str, str]) -> None:
    drawing = with_rows()
    run = lacing(drawing, "a", **words)
    strands = [one for one in drawn(drawing, run, "cord") if one.get("data-face")]
    lengths = [measure(curve_of(one)).length for one in strands]
    # Two ends of 18 mm are shown besides; coordinates are written to 1e-4 mm.
    runs = sum(entry_of(drawing, run)["lacing"]["cords"][0]["runs_mm"])
    assert sum(lengths) - 2 * 18.0 == pytest.approx(runs, abs=1e-2)
    assert {one.get("data-face") for one in strands} == {"over", "under"}
    looks = {(one.get("data-face"), "none" in one.get("style", "").split("dasharray:")[1]) for one in strands}
    assert looks == {("over", True), ("under", False)}


def test_a_crossed_cord_is_hidden_where_it_lies_under_the_cloth() -> None:
    drawing = with_rows()
    strands = drawn(drawing, lacing(drawing, "a", with_row="mirror", gap=20), "cord")
    hidden = sum(measure(curve_of(one)).length for one in strands if one.get("data-face") == "under")
    # Each slanting run lies under the cloth for 11 of its 42 mm across; the bar at the bottom on both sides.
    slant = math.hypot((220.0 - 2 * INSET) / 5, 42.0)
    assert hidden == pytest.approx(10 * slant * INSET / 42.0 + 2 * INSET, abs=1e-2)


def test_a_wrapped_cord_goes_over_the_edge() -> None:
    drawing = with_rows()
    strands = [one for one in drawn(drawing, lacing(drawing, "a", path="wrapped"), "cord") if one.get("data-face")]
    # From hole to edge and back: as far along as across each time, half of it seen.
    half = math.hypot(0.5 * (220.0 - 2 * INSET) / 5, INSET)
    assert [measure(curve_of(one)).length for one in strands[1:-1]] == pytest.approx([half] * 10, abs=1e-3)
    assert [one.get("data-face") for one in strands[1:-1]] == ["over", "under"] * 5


def test_the_hidden_cord_is_told_from_every_other_line_without_colour() -> None:
    hidden = HIDDEN["cord-under"]
    for role, line in LINES.items():
        periods = sorted((sum(hidden.dashes_mm), sum(line.dashes_mm)))
        widths = sorted((hidden.width_mm, line.width_mm))
        rhythm = len(hidden.dashes_mm) != len(line.dashes_mm)
        # As between roles: ISO 128's step of widths, from memory.
        assert rhythm or periods[1] >= 1.5 * periods[0] > 0.0 or widths[1] >= 1.399 * widths[0], role


def test_an_underlay_reaches_under_both_sides() -> None:
    drawing = with_rows()
    run = lacing(drawing, "a", with_row="b", gap=30, underlay=40)
    underlay = entry_of(drawing, run)["lacing"]["underlay"]
    assert (underlay["width_mm"], underlay["length_mm"]) == (pytest.approx(110.0), pytest.approx(220.0))
    (outline,) = drawn(drawing, run, "cutting")
    curve = curve_of(outline)
    # 10 mm all round unless told otherwise.
    assert np.ptp(curve.reshape(-1, 2), axis=0) == pytest.approx([130.0, 240.0], abs=1e-3)
    assert curve.reshape(-1, 2).min(axis=0) == pytest.approx([underlay["x"], underlay["y"]], abs=1e-3)
    (sewn,) = drawn(drawing, run, "stitching")
    inner = curve_of(sewn).reshape(-1, 2)
    assert np.ptp(inner, axis=0) == pytest.approx([110.0, 220.0], abs=1e-3)
    assert inner.min(axis=0) - curve.reshape(-1, 2).min(axis=0) == pytest.approx([10.0, 10.0], abs=1e-3)
    (grain,) = drawn(drawing, run, "grain")
    assert np.ptp(curve_of(grain)[:, :, 0]) < 1e-9
    (text,) = etree.fromstring(with_runs(drawing, [run])).findall(".//{*}text[@data-piece='a underlay']")
    label = "".join(line.text or "" for line in text)
    for words in ("cut 1", "130.0 by 240.0 mm", "with 10 mm allowance"):
        assert words in label
    none = lacing(drawing, "a", with_row="b", underlay=0)
    assert entry_of(drawing, none)["lacing"]["underlay"] is None
    assert drawn(drawing, none, "cutting") == []


def test_an_underlay_is_cut_with_the_allowance_of_its_piece() -> None:
    drawing = with_rows()
    told = lacing(drawing, "a", with_row="b", underlay_allowance="3/8in")
    cut_out = lacing(read_drawing(_cut(drawing, "12mm"), "a.svg"), "a", with_row="b")
    drawn_on = of(page(LEFT, size=WIDE))
    drawn_on = redrawn(
        drawn_on, [eyelets(drawn_on, "left:c0..c1", name="a", count=6, eyelet=5, ends="30mm", allowance="15mm")]
    )
    for run, allowance in ((told, 9.525), (cut_out, 12.0), (lacing(drawn_on, "a", with_row="mirror"), 15.0)):
        assert run.lacing is not None
        assert run.lacing.underlay is not None
        assert run.lacing.underlay.allowance == pytest.approx(allowance)
    bare = lacing(drawing, "a", with_row="b", underlay_allowance=0)
    assert drawn(drawing, bare, "stitching") == []
    assert bare.lacing is not None
    assert any("without allowance" in line for line in lacing_lines(bare.lacing))


def _cut(drawing: Drawing, allowance: str) -> bytes:
    return with_runs(drawing, [], cut(drawing, "left", allowance=allowance))


def test_a_bulging_edge_is_reached_under_where_it_is_farthest() -> None:
    drawing = of(page('<path id="p" d="M 100,30 C 70,100 70,180 100,250 H 20 V 30 Z"/>', size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "p:c0..c1", name="a", count=5, eyelet=4)])
    run = lacing(drawing, "a", with_row="mirror", gap=10, underlay=25)
    assert run.lacing is not None
    worn, underlay = run.lacing.rows[0], run.lacing.underlay
    assert underlay is not None
    far = np.abs(measure(worn.line).points(np.linspace(0.0, measure(worn.line).length, 400))[:, 0]).max()
    assert 0.5 * underlay.width == pytest.approx(far + 25.0, abs=1e-2)
    # A hollow edge, 22.5 mm deep, stands far from its fellow between the ends.
    assert far > 20.0


def test_a_bone_has_its_channel_clear_of_the_flanges() -> None:
    drawing = with_rows()
    run = lacing(drawing, "a", with_row="b", channel="12mm")
    root = etree.fromstring(with_runs(drawing, [run]))
    (group,) = [g for g in root.iter("{*}g") if g.get("data-run") == "a" and g.get("data-recipe")]
    lines = [one for one in group if one.get("data-role") == "stitching" and one.tag.endswith("path")]
    assert [one.get("data-piece") for one in lines] == ["left", "left", "right", "right"]
    # 11 mm to the middles, 5 to the flange's rim and 2 clear of it; the edge of `left` is at x = 100.
    for line, x in zip(lines, (82.0, 70.0), strict=False):
        assert np.abs(curve_of(line)[:, :, 0] - x).max() < 0.02


@pytest.mark.parametrize("join", ["seam", "fold"])
def test_a_channel_goes_across_joins_and_each_piece_has_its_stretch(join: str) -> None:
    drawing = of(
        page('<path id="top" d="M 100,30 V 150 H 20 V 30 Z"/><path id="low" d="M 300,30 V 130 H 220 V 30 Z"/>')
    )
    along = ["top:c0..c1", "low:c0..c1"] if join == "seam" else ["top:c0..c1", "top:c1..c0"]
    drawing = redrawn(drawing, [eyelets(drawing, along, join=[join], name="a", count=8, eyelet=5)])
    run = lacing(drawing, "a", with_row="mirror", channel="12mm")
    lines = [one for one in drawn(drawing, run, "stitching") if one.get("data-sewn-for") == "channel"]
    where = [(one.get("data-piece"), *np.unique(curve_of(one)[:, :, 0].round(2))) for one in lines]
    assert where == [
        ("top", 82.0),
        *([("low", 282.0)] if join == "seam" else []),
        ("top", 70.0),
        *([("low", 270.0)] if join == "seam" else []),
    ]
    lengths = [float(np.ptp(curve_of(one)[:, :, 1])) for one in lines]
    assert lengths == pytest.approx([120.0, 100.0] * 2 if join == "seam" else [120.0] * 2, abs=1e-3)


def test_a_channel_and_an_underlay_are_no_scallops_to_the_check() -> None:
    drawing = of(page(LEFT, size=WIDE))
    drawing = redrawn(drawing, [scallop(drawing, "left:c0..c1", width=44, depth=15, name="a")])
    drawing = redrawn(drawing, [eyelets(drawing, run="a", eyelet=4, from_crest=16)])
    laced = redrawn(drawing, [lacing(drawing, "a", with_row="mirror", channel=8)])
    assert all(finding.ok for finding in check(laced.source, "a.svg"))
    assert len(drawn(laced, refit(laced)[0].run, "stitching")) == 1 + 2 + 1


def test_a_channel_for_which_there_is_no_room_is_refused() -> None:
    with pytest.raises(NoFitError, match=r'the channel along "a".*give a narrower --channel, or leave it out'):
        lacing(with_rows(), "a", with_row="b", channel=400)


def test_what_lies_beside_the_pattern_lies_on_nothing_else() -> None:
    drawing = with_rows()
    drawing = redrawn(drawing, [lacing(drawing, "a", with_row="b")])
    drawing = redrawn(drawing, [lacing(drawing, "b", path="wrapped")])
    root = etree.fromstring(drawing.source)
    beside = [one for one in root.iter("{*}path") if one.get("data-role") in ("cord", "cutting")]
    boxes = [curve_of(one).reshape(-1, 2) for one in beside if not one.get("data-face")]
    assert len(boxes) == 3
    for i, one in enumerate(boxes):
        for other in boxes[:i]:
            apart = np.maximum(one.min(axis=0) - other.max(axis=0), other.min(axis=0) - one.max(axis=0))
            assert apart.max() >= 9.9
        assert (one.min(axis=0) > 0.0).all()
        assert (one.max(axis=0) < WIDE).all()


def test_the_cautions_stand_on_the_drawing_and_in_the_report() -> None:
    drawing = with_rows()
    for wearer, told in (("", "7 to 14"), ("adult", "keep loose ends off"), ("child, under 7", "children under 7")):
        run = lacing(drawing, "a", with_row="b", wearer=wearer)
        labels = etree.fromstring(with_runs(drawing, [run])).findall(".//{*}text[@data-role='label']")
        text = " ".join(line.text or "" for label in labels for line in label)
        assert told in text
        assert any(told in caution for caution in entry_of(drawing, run)["cautions"])
        assert any("Cords and drawstrings" in caution for caution in run.cautions)


# --- made again -----------------------------------------------------------------------------------------------------


def test_a_recipe_comes_back_as_it_was_written() -> None:
    run = lacing(with_rows(), "a", with_row="b", gap="1 1/4in", cords=2, channel=9, path="straight")
    assert from_text(to_text(run.recipe), "a") == run.recipe
    assert run.recipe.lacing == LacingWords("straight", "b", "1 1/4in", cords="2", channel="9")


def test_refit_leaves_a_lacing_as_it_is() -> None:
    drawing = with_rows()
    laced = redrawn(drawing, [lacing(drawing, "a", with_row="b", channel=10)])
    again = refit(laced)
    assert [one.change for one in again] == ["unchanged", "unchanged"]
    assert with_runs(laced, [one.run for one in again]) == laced.source


def test_a_lacing_made_anew_takes_the_place_of_the_other() -> None:
    drawing = with_rows()
    laced = redrawn(drawing, [lacing(drawing, "a", with_row="b")])
    anew = redrawn(laced, [lacing(laced, "a", path="wrapped")])
    assert anew.source == with_runs(drawing, [lacing(drawing, "a", path="wrapped")])


def test_new_eyelets_stay_laced_where_they_can_be() -> None:
    drawing = with_rows()
    laced = redrawn(drawing, [lacing(drawing, "a", with_row="b")])
    same = eyelets(laced, "left:c0..c1", name="a", count=6, eyelet=4)
    assert same.lacing is not None
    fewer = eyelets(laced, "left:c0..c1", name="a", count=5, eyelet=5)
    assert fewer.lacing is None
    assert [w.code for w in fewer.warnings] == ["lacing-left-out"]
    assert 'set 6 on "a" or 5 on "b"' in fewer.warnings[0].message
    other = eyelets(laced, "right:c0..c3", name="b", count=5, eyelet=5)
    assert [w.code for w in other.warnings] == ["laced-before"]


def test_scallops_made_anew_keep_their_lacing() -> None:
    drawing = of(page(LEFT, size=WIDE))
    drawing = redrawn(drawing, [scallop(drawing, "left:c0..c1", width=44, name="a")])
    drawing = redrawn(drawing, [eyelets(drawing, run="a", eyelet=4, from_crest=16)])
    drawing = redrawn(drawing, [lacing(drawing, "a", with_row="mirror")])
    again = scallop(drawing, "left:c0..c1", width=55, name="a")
    assert again.lacing is not None
    assert [len(row) for row in again.lacing.rows] == [4, 4]


def test_a_lacing_is_not_written_over(tmp_path: Path) -> None:
    drawing = with_rows()
    target = tmp_path / "b.svg"
    target.write_bytes(with_runs(drawing, [lacing(drawing, "a", with_row="b")]))
    with pytest.raises(OutputError, match='holds work that would be lost \\("a"\\)'):
        refuse_loss(target, drawing, [refit(drawing)[0].run])


# --- job files ------------------------------------------------------------------------------------------------------

JOB = """\
pattern = "a.svg"
report = "a.json"
[[run]]
name = "a"
edges = ["left:c0..c1"]
[[run.eyelet]]
eyelet = 5
count = 4
ends = [11, 39.286]
[[run.eyelet]]
eyelet = 5
count = 1
ends = [209, 11]
[[run]]
name = "b"
edges = ["right:c0..c3"]
[[run.eyelet]]
eyelet = 5
count = 1
ends = [11, 209]
[[run.eyelet]]
eyelet = 5
count = 4
ends = [39.286, 11]
[run.lacing]
path = "spiral"
with = "a"
gap = 30
"""


def job(tmp_path: Path, text: str) -> Path:
    (tmp_path / "a.svg").write_text(page(LEFT + RIGHT, size=WIDE))
    path = tmp_path / "job.toml"
    path.write_text(text)
    return path


def test_a_job_laces_staggered_rows_with_a_spiral(tmp_path: Path) -> None:
    assert make_job(job(tmp_path, JOB)).ok
    laced = json.loads((tmp_path / "a.json").read_text())["runs"][1]["lacing"]
    assert (laced["path"], laced["holes"], laced["runs"]) == ("spiral", [5, 5], 9)
    # 198 mm in 3.5 spaces; two level bars, and 7 runs that climb half a space (Pythagoras), 2 mm of cloth a hole.
    across = 30 + 2 * INSET
    assert laced["length_mm"] == pytest.approx(2 * across + 7 * math.hypot(198 / 7, across) + 20.0, abs=1e-2)


def test_an_underlay_in_a_job_has_the_allowance_of_the_pieces(tmp_path: Path) -> None:
    for more, allowance in (("[cut]\nallowance = 12\n", 12.0), ("", 10.0)):
        text = JOB.replace("[[run]]", f"{more}[[run]]", 1)
        assert make_job(job(tmp_path, text)).ok
        laced = json.loads((tmp_path / "a.json").read_text())["runs"][1]["lacing"]["underlay"]
        assert laced["allowance_mm"] == allowance
        assert laced["cut_width_mm"] == pytest.approx(laced["width_mm"] + 2 * allowance)
        written = read_drawing((tmp_path / "a-scalloped.svg").read_bytes(), "a.svg")
        again = refit(written)[1].run.lacing
        assert again is not None
        assert again.underlay is not None
        assert again.underlay.allowance == allowance
        (tmp_path / "a-scalloped.svg").unlink()
    own = JOB + "underlay_allowance = 7\n"
    assert make_job(job(tmp_path, own.replace("[[run]]", "[cut]\nallowance = 12\n[[run]]", 1))).ok
    laced = json.loads((tmp_path / "a.json").read_text())["runs"][1]["lacing"]["underlay"]
    assert laced["allowance_mm"] == 7.0


def test_a_refusal_names_the_key_of_the_job(tmp_path: Path) -> None:
    with pytest.raises(NameUnknownError, match=r'job.toml, line \d+, run\.lacing\.with: there is no run .*"c"'):
        make_job(job(tmp_path, JOB.replace('with = "a"', 'with = "c"')))
    with pytest.raises(RequestError, match=r"lacing\.path.* is not one of|lacing\.path.*crossed"):
        read_job(job(tmp_path, JOB.replace('"spiral"', '"zigzag"')))


# --- what is refused ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"path": "crossed"}, r"takes two rows: name the other one with --with ROW, or --with mirror"),
        ({"path": "running", "with_row": "b"}, r"--with goes with two rows, and running takes one: leave it out"),
        ({"path": "running", "gap": 5}, r"--gap goes with two rows"),
        ({"path": "wrapped", "underlay": 5}, r"--underlay goes with two rows"),
        ({"path": "wrapped", "underlay_allowance": 5}, r"--underlay-allowance goes with two rows"),
        ({"with_row": "a"}, r'"a" can\'t be laced with itself: take --with mirror'),
        ({"path": "round", "with_row": "b"}, r"--path can be crossed, straight, spiral, running or wrapped"),
        ({"with_row": "b", "cords": 4}, r"6 pairs of holes are too few for 4 cords.*--cords 3 or fewer"),
        ({"with_row": "b", "cord": 6}, r"6 mm does not go through .* 5 mm wide: give a --cord of 5 mm or less"),
        ({"with_row": "b", "path": "spiral"}, r"takes staggered rows.*--path crossed, or set the holes of the second"),
        ({"with_row": "b", "ends": "tassel"}, r"--ends can be bow, knot or plain"),
        ({"with_row": "b", "channel": 0}, r"--channel '0' must be more than zero"),
        ({"with_row": "b", "gap": -1}, r"--gap '-1' must not be negative"),
    ],
)
def test_what_can_not_be_laced_says_what_would_do(words: dict[str, Any], said: str) -> None:
    with pytest.raises(ScallopkitError, match=said):
        lacing(with_rows(), "a", **words)


def test_rows_that_do_not_fit_each_other() -> None:
    with pytest.raises(RequestError, match=r'"b" has 5 holes and "a" has 6.*set 6 on "b" or 5 on "a"'):
        lacing(with_rows(6, 5), "a", with_row="b")
    with pytest.raises(NameUnknownError, match=r'no run with eyelets called "c".*there are "b"'):
        lacing(with_rows(), "a", with_row="c")


def test_the_only_row_needs_no_name() -> None:
    drawing = of(page(LEFT, size=WIDE))
    with pytest.raises(RequestError, match=r"with --run: a\.svg holds none"):
        lacing(drawing, path="wrapped")
    drawing = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=6, eyelet=5)])
    assert lacing(drawing, path="wrapped").name == "a"
    with pytest.raises(RequestError, match=r'with --run: a\.svg holds "a", "b"'):
        lacing(with_rows(), path="wrapped")


def test_runs_that_have_no_row() -> None:
    drawing = of(page(LEFT + '<circle id="round" cx="300" cy="200" r="60"/>', size=WIDE))
    bare = redrawn(drawing, [scallop(drawing, "left:c0..c1", width=44, name="a")])
    with pytest.raises(RequestError, match='"a" has no eyelets to lace: set them first'):
        lacing(bare, "a", with_row="mirror")
    ring = redrawn(drawing, [eyelets(drawing, "round", name="ring", count=12, eyelet=4)])
    with pytest.raises(RequestError, match="goes all round and has no two ends: lace it with --path running"):
        lacing(ring, "ring", with_row="mirror")
    assert lacing(ring, "ring").lacing is not None
    fold = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=4, eyelet=4, start="fold")])
    with pytest.raises(RequestError, match=r"ends on a fold.*over both halves"):
        lacing(fold, "a", with_row="mirror")
    single = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=1, eyelet=4)])
    with pytest.raises(RequestError, match="2 eyelets or more"):
        lacing(single, "a", with_row="mirror")


# --- what is warned of ----------------------------------------------------------------------------------------------


def codes(run: Run) -> list[str]:
    return [warning.code for warning in run.warnings]


def test_uneven_pairs_are_told_with_their_figure() -> None:
    drawing = of(page(LEFT + RIGHT, size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "left:c0..c1", name="a", count=3, eyelet=5, ends=20)])
    drawing = redrawn(drawing, [eyelets(drawing, "right:c0..c3", name="b", count=3, eyelet=5, ends=30)])
    run = lacing(drawing, "a", with_row="b")
    assert codes(run) == ["pairs-not-level"]
    assert "10.0 mm uneven" in run.warnings[0].message


def test_edges_that_would_overlap_are_told_what_gap_would_do() -> None:
    drawing = of(page('<path id="p" d="M 100,30 C 140,100 140,180 100,250 H 20 V 30 Z"/>', size=WIDE))
    drawing = redrawn(drawing, [eyelets(drawing, "p:c0..c1", name="a", count=4, eyelet=5)])
    run = lacing(drawing, "a", with_row="mirror", gap=4)
    assert codes(run) == ["edges-overlap"]
    (wider,) = re.findall(r"--gap ([\d.]+) mm wider", run.warnings[0].message)
    assert codes(lacing(drawing, "a", with_row="mirror", gap=4.1 + float(wider))) == []


def test_an_odd_number_of_holes_leaves_one_end_inside() -> None:
    assert codes(lacing(with_rows(5), "a", path="running")) == ["ends-apart"]
    assert codes(lacing(with_rows(6), "a", path="running")) == []


# --- the command ----------------------------------------------------------------------------------------------------


def test_the_readmes_commands_do_what_it_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("waistcoat.svg").write_text(waistcoat(), encoding="utf-8")
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    commands = [line for line in text.splitlines() if line.startswith("scallopkit ") and "waistcoat" in line]
    commands = [line for line in commands if "closing" in line]
    assert len(commands) == 2
    for command in commands:
        ended = CliRunner().invoke(app, shlex.split(command)[1:])
        assert ended.exit_code == 0, ended.output
    assert "laced crossed with mirror: 8 and 8 holes, 15 runs, edges 20 mm apart" in ended.output
    assert re.search(
        r"cut 1 cord of \d+ mm: \d+ mm laced and two ends of 250 mm, 200 mm of it for the bow", ended.output
    )
    assert "closing underlay: cut 1, 90.0 by 336.0 mm, with 10 mm allowance" in ended.output
    checked = CliRunner().invoke(app, ["check", "waistcoat-laced.svg"])
    assert checked.exit_code == 0, checked.output


def test_a_spiral_from_the_command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a.svg").write_text(page(LEFT + RIGHT, size=WIDE))
    for command in (
        "eyelets a.svg --along left:c0..c1 --eyelet 5mm --count 6 --name a -o b.svg",
        "eyelets b.svg --along right:c3..c0 --eyelet 5mm --level-with a --staggered --name b --in-place",
        "lacing b.svg --run a --with b --path spiral --underlay-allowance 12mm --in-place",
        "refit b.svg --in-place",
    ):
        ended = CliRunner().invoke(app, shlex.split(command))
        assert ended.exit_code == 0, ended.output
        if command.startswith("lacing"):
            # 6 holes and one more, so 12 runs.
            assert "laced spiral with b: 6 and 7 holes, 12 runs" in ended.output
            assert "with 12 mm allowance" in ended.output
    assert re.findall(r"(\w)\s+unchanged", ended.output) == ["a", "b"]
