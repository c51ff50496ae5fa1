"""Rows on runs: over seams, darts and folds, level in pairs, their layers and cords, in drawing, report and jobs."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.demo_waistcoat import HEM, HEM_JOINS, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.flat_picture import flat_picture
from scallopkit.document.making import make_job
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of, run_entry
from scallopkit.document.runs import Run
from scallopkit.document.summary import caution_lines, run_tables
from scallopkit.document.workshop import cut, eyelets, lacing, redrawn, refit, scallop, with_runs
from scallopkit.errors import NoFitError, RequestError, ScallopkitError

from ..drawings import BOX, LINE, page, read

# Two fronts whose edges face each other: one straight, one bowed and longer; and two panels to be sewn together.
FRONTS = (
    '<path id="left" d="M 30,30 H 180 V 330 H 30 Z"/>'
    '<path id="right" d="M 450,30 H 300 C 280,150 310,250 300,350 H 450 Z"/>'
)
PANELS = '<path id="left" d="M 20,100 H 120 V 200 H 20 Z"/><path id="right" d="M 140,100 H 240 V 200 H 140 Z"/>'
OVER: dict[str, Any] = {"along": ["left:c0..c1", "right:c0..c1"], "join": "seam"}
# What promises let a written or reported place be off, mm.
EXACT = 1e-6


def row(drawing: Drawing, along: str | list[str] = "", **words: Any) -> Run:  # noqa: ANN401  # any option
    return eyelets(drawing, along, **words)


def rows_of(drawing: Drawing, run: Run) -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = run_entry(drawing, run)["eyelets"]
    return entries


def codes(run: Run) -> list[str]:
    return [warning.code for warning in run.warnings]


# ---------------------------------------------------------------- over seams


def test_a_row_goes_evenly_over_a_seam() -> None:
    drawing = read(PANELS)
    run = row(drawing, **OVER, eyelet=4, count=6, ends="20mm", margin=3)
    found = rows_of(drawing, run)
    assert [one["s_mm"] for one in found] == pytest.approx([20.0 + 32.0 * i for i in range(6)], abs=EXACT)
    assert [one["piece"] for one in found] == ["left"] * 3 + ["right"] * 3
    assert {one["moved_mm"] for one in found} == {0.0}
    assert codes(run) == []


def test_what_falls_on_a_seam_is_moved_off_it_and_told() -> None:
    drawing = read(PANELS)
    run = row(drawing, **OVER, eyelet=4, count=5, ends="20mm", margin=3, inset=12)
    # 60 to the middle one at 100, on the seam: half a flange of 8 mm and 3 mm beside it.
    found = rows_of(drawing, run)
    # In the middle of the row either side is as good.
    away = [abs(one["s_mm"] - 100.0) for one in found]
    assert away == pytest.approx([80.0, 40.0, 7.0, 40.0, 80.0], abs=1e-5)
    assert [abs(one["moved_mm"]) for one in found] == pytest.approx([0.0, 0.0, 7.0, 0.0, 0.0], abs=1e-5)
    (told,) = [warning for warning in run.warnings if warning.code == "eyelets-moved"]
    assert "7.00 mm" in told.message
    assert '"left:c1/right:c0"' in told.message
    assert codes(run) == ["eyelets-moved"]
    left = row(drawing, **OVER, eyelet=4, count=5, ends="20mm", inset=12, off="none")
    assert {one["moved_mm"] for one in rows_of(drawing, left)} == {0.0}
    assert codes(left) == ["eyelet-near-line"]


def test_a_row_keeps_off_the_allowances_pressed_open_too() -> None:
    body = '<path id="left" d="M 0,100 H 130 V 230 H 0 Z"/><path id="right" d="M 150,100 H 280 V 230 H 150 Z"/>'
    drawing = read(body)
    run = row(drawing, **OVER, eyelet=4, count=5, margin=3, allowance="15mm", inset=20)
    on_seam = 100.0
    assert run.laid.joints[0].s == pytest.approx(on_seam, abs=EXACT)
    away = [abs(one["s_mm"] - on_seam) for one in rows_of(drawing, run)]
    assert min(away) == pytest.approx(15.0 + 3.0 + 4.0, abs=1e-5)
    close = row(drawing, **OVER, eyelet=4, count=5, margin=3, allowance="15mm, 15mm", inset=20, off="1mm")
    assert min(abs(one["s_mm"] - 100.0) for one in rows_of(drawing, close)) == pytest.approx(20.0, abs=1e-5)


def test_a_row_over_darts_and_a_side_seam_keeps_off_all_of_them() -> None:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    moved = []
    for count in (9, 12, 15):
        run = row(drawing, list(HEM), join=list(HEM_JOINS), start="fold", eyelet="e5", count=count, margin=4)
        assert {code for code in codes(run) if code.startswith("eyelet")} <= {"eyelets-moved"}
        limits = {"eyelet-near-seam": "3.999mm", "eyelet-near-dart": "3.999mm"}
        found = [one for one in examine(with_runs(drawing, [run]), "a.svg", limits) if "eyelet" in one.what]
        assert len(found) == 2
        assert all(one.ok for one in found)
        moved += [one["moved_mm"] for one in rows_of(drawing, run) if one["moved_mm"]]
    assert len(moved) > 3


def test_a_row_without_room_says_how_many_have_it() -> None:
    drawing = read(PANELS)
    with pytest.raises(NoFitError, match=r"take at most (\d+)") as refused:
        row(drawing, **OVER, eyelet=8, count=15, ends="10mm", off="20mm", margin=0)
    most = int(str(refused.value).rpartition("at most ")[2])
    assert len(row(drawing, **OVER, eyelet=8, count=most, ends="10mm", off="20mm", margin=0).eyelets[0]) == most
    with pytest.raises(NoFitError):
        row(drawing, **OVER, eyelet=8, count=most + 1, ends="10mm", off="20mm", margin=0)


def test_a_row_inside_a_slanted_seam_lies_on_the_right_piece() -> None:
    # The seam leans by 45 degrees: 30 mm inside the edge it lies 30 mm further on.
    body = '<path id="left" d="M 0,100 H 100 L 160,160 H 0 Z"/><path id="right" d="M 300,100 H 400 V 160 H 360 Z"/>'
    drawing = read(body)
    words: dict[str, Any] = {"eyelet": 4, "count": 11, "ends": "10mm", "inset": 30, "margin": 2}
    found = rows_of(drawing, row(drawing, ["left:c0..c1", "right:c0..c1"], join="seam", **words))
    assert [one["piece"] for one in found] == ["left" if one["s_mm"] < 130.0 else "right" for one in found]
    away = [abs(one["s_mm"] - 130.0) / math.sqrt(2.0) for one in found]
    assert min(away) >= 4.0 + 2.0 - 1e-5


def test_halves_of_a_folded_piece_are_alike_or_refused() -> None:
    body = '<path id="back" d="M 20,100 H 120 V 200 H 20 Z"/><path id="front" d="M 140,100 H 240 V 200 H 140 Z"/>'
    drawing = read(body)
    over = ["front:c1..c0", "back:c1..c0", "back:c0..c1", "front:c0..c1"]
    words: dict[str, Any] = {"join": ["seam", "fold", "seam"], "eyelet": 4, "inset": 12, "margin": 3}
    run = row(drawing, over, count=9, ends="20mm", **words)
    drawn = rows_of(drawing, run)
    assert "eyelet-near-line" not in codes(run), "a fold is no stitching line"
    assert run_entry(drawing, run)["totals"]["parts"]["eyelet"] == len(run.eyelets[0]) == 9
    assert len(drawn) == 5
    with pytest.raises(RequestError, match="both halves"):
        row(drawing, over, count=9, ends="20mm, 40mm", **words)


def test_a_row_round_a_loop_keeps_off_both_seams() -> None:
    drawing = read(PANELS)
    for count in range(3, 12):
        run = row(
            drawing,
            ["left:c0..c1", "right:c0..c1"],
            join=["seam", "seam"],
            eyelet=4,
            count=count,
            ends="13mm",
            inset=12,
            margin=3,
        )
        at = np.array([one["s_mm"] for one in rows_of(drawing, run)])
        assert len(at) == count
        away = np.abs((at[:, None] - np.array([0.0, 100.0]) + 100.0) % 200.0 - 100.0)
        assert away.min() >= 7.0 - 1e-5


# ---------------------------------------------------------------- patches


@pytest.mark.parametrize(
    "words",
    [
        {"eyelet": "e5"},
        {"part": "buttonhole", "button": 20},
        {"part": "buttonhole", "button": 20, "lies": "across"},
        {"part": "snap", "snap": 12},
    ],
)
def test_a_patch_over_the_edge_is_told_with_one_that_stays_inside(words: dict[str, Any]) -> None:
    drawing = read(FRONTS)
    made = row(drawing, "left:c1..c2", name="one", count=4, inset="20mm", ends="60mm", patch="19mm", **words)
    (told,) = [one for one in made.warnings if one.code == "patch-over-line"]
    # The edge is straight, and the part reaches so far towards it.
    room = 20.0 - 0.5 * made.eyelets[0].size.deep
    assert f"reaches {19.0 - room:.2f} mm over the edge or a stitching line; 4 of 4" in told.message
    (fits,) = re.findall(r"--patch ([\d.]+)mm would not", told.message)
    assert float(fits) == pytest.approx(room, abs=0.011)
    assert "patch-over-line" not in codes(
        row(drawing, "left:c1..c2", count=4, inset="20mm", ends="60mm", patch=fits, **words)
    )


def test_a_patch_below_a_scallop_s_eyelet_keeps_to_its_scallop() -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [scallop(drawing, "left:c3..c0", width=30, name="two")])
    assert "patch-over-line" not in codes(eyelets(drawing, run="two", eyelet=3, margin=4, patch=3))
    made = eyelets(drawing, run="two", eyelet=3, margin=4, patch=6)
    (told,) = [one for one in made.warnings if one.code == "patch-over-line"]
    # The flange keeps the margin from the stitching line to 0.0004 mm.
    assert re.search(r"reaches 2\.00 mm over .*--patch (3\.99|4\.00)mm would not", told.message)


# ---------------------------------------------------------------- pairs


def test_buttons_are_level_with_their_buttonholes_as_worn() -> None:
    drawing = read(FRONTS)
    words: dict[str, Any] = {"part": "buttonhole", "button": 18, "button_thickness": 4, "lies": "across"}
    holes = row(drawing, "left:c1..c2", name="holes", count=6, **words)
    drawing = redrawn(drawing, [holes])
    buttons = row(drawing, "right:c1..c2", part="button", button=18, level_with="holes", name="buttons")
    left, right = rows_of(drawing, holes), rows_of(drawing, buttons)
    # The left edge is upright; of the right one the line between its ends is upright too.
    assert [one["y"] for one in left] == pytest.approx([one["y"] for one in right], abs=EXACT)
    assert "pairs-uneven" in codes(buttons)
    length = buttons.course.measured.length
    assert any(f"{length - 300.0:.2f} mm less" in one.message for one in buttons.warnings)
    entry = report_of(drawing, [holes, buttons])
    assert [[one["pair"] for one in run["eyelets"]] for run in entry["runs"]] == [[1, 2, 3, 4, 5, 6]] * 2
    assert [one["pair"] for one in report_of(read(FRONTS), [holes])["runs"][0]["eyelets"]] == [None] * 6
    assert "level with holes" in run_tables(drawing, buttons, terminal=False)


def test_a_level_row_follows_the_other_when_made_again() -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, "left:c1..c2", name="one", eyelet="e5", count=6)])
    drawing = redrawn(drawing, [row(drawing, "right:c1..c2", name="other", eyelet="e5", level_with="one")])
    longer = drawing.source.replace(b"M 30,30 H 180 V 330 H 30 Z", b"M 30,30 H 180 V 310 H 30 Z")
    assert longer != drawing.source
    one, other = (made.run for made in refit(read_drawing(longer, "a.svg")))
    points = [made.eyelets[0].points[:, 1] for made in (one, other)]
    assert points[0] == pytest.approx(points[1], abs=EXACT)
    assert points[0].max() < 310.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"level_with": "none-such"}, 'no row called "none-such".*"one"'),
        ({"level_with": "one", "count": 4}, "--count does not go with --level-with"),
        ({"level_with": "one", "ends": "4mm"}, "--ends does not go with --level-with"),
        ({"level_with": "two"}, "holds 2 rows"),
    ],
)
def test_a_level_row_that_can_t_be_is_refused(words: dict[str, Any], said: str) -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, "left:c1..c2", name="one", eyelet="e5", count=6)])
    scalloped = scallop(drawing, "left:c3..c0", width=30, name="two")
    drawing = redrawn(drawing, [scalloped])
    drawing = redrawn(drawing, [eyelets(drawing, run="two", eyelet=3, margin=1)])
    drawing = redrawn(drawing, [eyelets(drawing, run="two", eyelet=3, margin=1, from_crest=14)])
    with pytest.raises(RequestError, match=said):
        row(drawing, "right:c1..c2", name="other", eyelet="e5", **words)


def test_a_level_row_on_a_seam_is_refused_with_its_figures() -> None:
    body = PANELS + '<path id="other" d="M 20,300 H 220 V 400 H 20 Z"/>'
    drawing = read(body)
    drawing = redrawn(drawing, [row(drawing, "other:c0..c1", name="one", eyelet="e5", count=5, ends="20mm")])
    with pytest.raises(NoFitError, match=r'eyelet 3.*"left:c1/right:c0".*10\.75 mm earlier or 10\.75 mm later'):
        row(drawing, **OVER, eyelet="e5", level_with="one", name="two")
    left = row(drawing, **OVER, eyelet="e5", level_with="one", name="two", off="none")
    assert left.eyelets[0].s == pytest.approx([20.0, 60.0, 100.0, 140.0, 180.0], abs=EXACT)


# ---------------------------------------------------------------- parts


@pytest.mark.parametrize(
    ("words", "part", "said", "cautioned"),
    [
        ({"eyelet": "e8"}, "eyelet", "opening 8 mm, barrel 9", "eyelets"),
        ({"part": "buttonhole", "button": 18, "button_thickness": 4}, "buttonhole", "22 mm long, along the edge", ""),
        ({"part": "buttonhole", "button": 18, "button_thickness": 4, "bulky": True}, "buttonhole", "25 mm long", ""),
        ({"part": "button", "button": 18}, "button", "18 mm wide", ""),
        ({"part": "button", "button": 18, "wearer": "child, under 7"}, "button", "18 mm wide", "swallowed"),
        ({"part": "snap", "snap": 12}, "snap", "12 mm wide", "nickel"),
    ],
)
def test_each_part_is_drawn_counted_and_made_again(words: dict[str, Any], part: str, said: str, cautioned: str) -> None:
    drawing = read(BOX)
    run = row(drawing, "box:c0..c1", count=5, patch="4mm", **words)
    written = with_runs(drawing, [run])
    root = etree.fromstring(written)
    drawn = root.findall(".//{*}*[@data-role='eyelet']")
    assert [element.get("data-part") for element in drawn] == [part] * 5
    assert len(root.findall(".//{*}*[@data-role='patch']")) == 5
    entry = run_entry(drawing, run)
    assert entry["totals"]["parts"] == {"eyelet": 0, "buttonhole": 0, "snap": 0, "button": 0, part: 5}
    assert entry["totals"]["eyelets"] == (5 if part == "eyelet" else 0)
    assert {one["part"] for one in entry["eyelets"]} == {part}
    assert said in run_tables(drawing, run, terminal=False)
    assert cautioned in caution_lines([run])
    assert bool(run.cautions) == bool(cautioned)
    again = read_drawing(written, "a.svg")
    assert [made.change for made in refit(again)] == ["unchanged"]
    assert with_runs(again, [made.run for made in refit(again)]) == written
    assert all(finding.ok for finding in examine(written, "a.svg"))
    assert b"<svg" in flat_picture(run)
    assert redrawn(drawing, [run]).source == written
    assert cut(again, "box", allowance="10mm")[0].name == "box"


def test_buttonholes_stand_in_scallops_too() -> None:
    drawing = read(LINE)
    drawing = redrawn(drawing, [scallop(drawing, width=60, name="hem")])
    run = eyelets(drawing, run="hem", part="buttonhole", button=12, margin=2, lies="across")
    found = rows_of(drawing, run)
    assert [one["x"] for one in found] == pytest.approx([40.0 + 60.0 * i for i in range(5)], abs=EXACT)
    drawn = etree.fromstring(with_runs(drawing, [run])).find(".//{*}path[@data-role='eyelet']")
    assert drawn is not None
    slit = [float(number) for number in drawn.get("d", "").replace("L", " ").replace("M", " ").split()[0].split(",")]
    # Across a level edge the slit is upright: it starts straight above or below its middle.
    assert slit[0] == pytest.approx(40.0, abs=1e-3)


def test_a_child_s_small_parts_are_counted_but_no_buttonholes() -> None:
    drawing = read(BOX)
    for part, number in (("button", 5), ("buttonhole", 0)):
        run = eyelets(drawing, "box:c0..c1", count=5, wearer="child, under 3", part=part, button=12)
        (found,) = [one for one in examine(with_runs(drawing, [run]), "a.svg") if one.what == "small-parts"]
        assert found.value == number


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"part": "hook"}, "--part can be eyelet, buttonhole, snap or button"),
        ({"part": "button"}, "how large the buttons are: --button 18mm"),
        ({"part": "snap"}, "--snap 12mm"),
        ({"part": "snap", "snap": 12, "eyelet": "e5"}, "--eyelet goes with --part eyelet"),
        ({"eyelet": 5, "button": 18}, "--button goes with --part buttonhole or --part button"),
        ({"part": "button", "button": 18, "lies": "across"}, "--lies goes with --part buttonhole"),
        ({"eyelet": "e7"}, "e6.5, e8"),
        ({"eyelet": 5, "layers": 3}, "--layers needs"),
        ({"eyelet": 5, "passes": 2}, "--passes needs"),
        ({"eyelet": 5, "cord": 3, "passes": 2}, "an eyelet of 6.00 mm, or a cord of at most 2.50 mm"),
        ({"eyelet": 5, "cord": 3, "passes": 40}, "1 to 9"),
        ({"eyelet": 5, "off": "wide"}, "--off 'wide' cannot be read"),
        ({"eyelet": 5, "patch": "0"}, "--patch '0' must be more than zero"),
    ],
)
def test_words_that_do_not_go_together_are_refused(words: dict[str, Any], said: str) -> None:
    with pytest.raises(ScallopkitError) as refused:
        row(read(BOX), "box:c0..c1", count=5, **words)
    assert said in str(refused.value)


def test_words_of_rows_along_edges_do_not_go_with_scallops() -> None:
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem")])
    for words in ({"off": "5mm"}, {"level_with": "hem"}):
        with pytest.raises(RequestError, match="goes with --along, not with scallops"):
            eyelets(drawing, run="hem", eyelet=4, **words)
    with pytest.raises(RequestError, match="--join does not go with --run"):
        eyelets(drawing, run="hem", eyelet=4, join="seam")


# ---------------------------------------------------------------- layers


def test_barrels_are_held_against_the_layers() -> None:
    drawing = read(BOX)
    words: dict[str, Any] = {"eyelet": 5, "barrel_length": 4, "count": 5, "cloth_thickness": "0.5mm"}
    assert codes(row(drawing, "box:c0..c1", layers=4, **words)) == []
    short = row(drawing, "box:c0..c1", layers=6, **words)
    assert codes(short) == ["barrel-short"]
    assert "for 5 eyelets through 6 layers of 0.5 mm: 5 mm" in short.warnings[0].message
    # Without a word the cloth is single.
    long = row(drawing, "box:c0..c1", **words)
    assert codes(long) == ["barrel-long"]
    assert "1 layer of 0.5 mm: 2.5 mm" in long.warnings[0].message
    assert codes(row(drawing, "box:c0..c1", part="snap", snap=12, count=5, cloth_thickness="0.5mm")) == []


def test_on_an_allowance_an_eyelet_goes_through_one_layer_more() -> None:
    body = '<path id="left" d="M 0,100 H 130 V 230 H 0 Z"/><path id="right" d="M 150,100 H 280 V 230 H 150 Z"/>'
    words: dict[str, Any] = {"eyelet": 4, "count": 9, "ends": "10mm", "inset": 20, "allowance": "15mm"}
    cloth: dict[str, Any] = {"barrel_length": 4, "layers": 4, "cloth_thickness": "0.5mm", "off": "none"}
    run = row(read(body), **OVER, **words, **cloth)
    # At 10, 32.5, 55, 77.5, 100, …: one on the seam lies on both allowances; those at 77.5 and 122.5 are clear of them.
    (told,) = [warning for warning in run.warnings if warning.code == "barrel-short"]
    assert "for 1 eyelet through 6 layers of 0.5 mm: 5 mm" in told.message


# ---------------------------------------------------------------- jobs


def test_a_job_states_rows_with_its_cloth_and_pairs(tmp_path: Path) -> None:
    (tmp_path / "fronts.svg").write_text(page(FRONTS), encoding="utf-8")
    job = tmp_path / "fronts.toml"
    job.write_text(
        'pattern = "fronts.svg"\noutput = "out.svg"\nreport = "out.json"\n[cloth]\nthickness = "1mm"\n'
        '[defaults.eyelet]\neyelet = "e5"\ncount = 6\noff = "4mm"\nends = "20mm"\n'
        '[[run]]\nname = "one"\nedges = ["left:c1..c2"]\n[[run.eyelet]]\nlayers = 4\n'
        '[[run]]\nname = "other"\nedges = ["right:c1..c2"]\n[[run.eyelet]]\nlevel_with = "one"\n',
        encoding="utf-8",
    )
    made = make_job(job)
    assert made.ok
    assert [warning.code for warning in made.warnings] == ["barrel-short", "pairs-uneven", "barrel-long"]
    written = read_drawing((tmp_path / "out.svg").read_bytes(), "out.svg")
    assert [one.change for one in refit(written)] == ["unchanged", "unchanged"]
    job.write_text(
        job.read_text(encoding="utf-8").replace('level_with = "one"', 'level_with = "two"'), encoding="utf-8"
    )
    with pytest.raises(
        RequestError, match=r'fronts\.toml, line 20, run\.eyelet\.level_with: there is no row called "two"'
    ):
        make_job(job)


def test_a_job_staggers_a_row_and_laces_it_in_a_spiral(tmp_path: Path) -> None:
    (tmp_path / "fronts.svg").write_text(page(FRONTS), encoding="utf-8")
    job = tmp_path / "fronts.toml"
    job.write_text(
        'pattern = "fronts.svg"\noutput = "out.svg"\n[defaults.eyelet]\neyelet = "e5"\n'
        '[[run]]\nname = "one"\nedges = ["left:c1..c2"]\n[[run.eyelet]]\ncount = 6\n'
        '[[run]]\nname = "other"\nedges = ["right:c1..c2"]\n[[run.eyelet]]\nlevel_with = "one"\nstaggered = true\n'
        '[run.lacing]\nwith = "one"\npath = "spiral"\n',
        encoding="utf-8",
    )
    assert make_job(job).ok
    written = read_drawing((tmp_path / "out.svg").read_bytes(), "out.svg")
    again = refit(written)
    assert [one.change for one in again] == ["unchanged", "unchanged"]
    assert again[1].run.lacing is not None
    assert [len(one) for one in again[1].run.lacing.rows] == [7, 6]
    job.write_text(job.read_text(encoding="utf-8").replace("staggered = true\n", ""), encoding="utf-8")
    with pytest.raises(RequestError, match="as level_with and staggered do"):
        make_job(job)


# ---------------------------------------------------------------- laced


def test_level_rows_are_laced_and_made_again() -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, "left:c1..c2", name="one", eyelet="e5", count=6)])
    drawing = redrawn(drawing, [row(drawing, "right:c1..c2", name="other", eyelet="e5", level_with="one")])
    laced = lacing(drawing, run="one", with_row="other", path="crossed")
    assert laced.lacing is not None
    heights = [rows.heights for rows in laced.lacing.rows]
    assert heights[0] == pytest.approx(heights[1], abs=EXACT)
    assert codes(laced) == []
    written = read_drawing(with_runs(drawing, [laced]), "a.svg")
    assert [made.change for made in refit(written)] == ["unchanged", "unchanged"]


@pytest.mark.parametrize("first", ["left:c1..c2", "left:c2..c1"])
def test_a_staggered_row_is_laced_in_a_spiral_and_made_again(first: str) -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, first, name="one", eyelet="e5", count=6)])
    edge = "right:c1..c2" if first == "left:c1..c2" else "right:c2..c1"
    other = row(drawing, edge, name="other", eyelet="e5", level_with="one", staggered=True)
    assert "staggered against one" in run_tables(drawing, other, terminal=False)
    assert [one["pair"] for one in report_of(drawing, [other])["runs"][0]["eyelets"]] == [None] * 7
    drawing = redrawn(drawing, [other])
    laced = lacing(drawing, run="one", with_row="other", path="spiral")
    assert laced.lacing is not None
    level, between = (rows.heights for rows in laced.lacing.rows)
    # Common practice, no source: one cord, level at top and bottom, half a space apart elsewhere.
    assert between == pytest.approx([level[0], *(0.5 * (level[1:] + level[:-1])), level[-1]], abs=EXACT)
    (cord,) = laced.lacing.cords
    assert len(cord.legs) == 6 + 7 - 1
    written = read_drawing(with_runs(drawing, [laced]), "a.svg")
    assert [made.change for made in refit(written)] == ["unchanged", "unchanged"]


def test_what_a_spiral_asks_for_is_an_option() -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, "left:c1..c2", name="one", eyelet="e5", count=6)])
    with pytest.raises(RequestError, match="as --level-with and --staggered do"):
        lacing(drawing, run="one", with_row="mirror", path="spiral")
    with pytest.raises(RequestError, match="--staggered goes with --level-with RUN"):
        row(drawing, "right:c1..c2", eyelet="e5", count=6, staggered=True)


def test_no_cord_goes_through_snaps() -> None:
    drawing = read(FRONTS)
    drawing = redrawn(drawing, [row(drawing, "left:c1..c2", name="one", part="snap", snap=12, count=6)])
    with pytest.raises(RequestError, match='"one" holds snaps'):
        lacing(drawing, run="one", path="running")
