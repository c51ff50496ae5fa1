"""Bought trims on drawings: where their lines lie, what is told of them, and that they stay with their run."""

from __future__ import annotations

import json
import math
import re
import shlex
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from typer.testing import CliRunner

from scallopkit.cli import app
from scallopkit.construction.repeats import KINDS
from scallopkit.demo import valance
from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import Recipe, TrimWords, from_text, to_text
from scallopkit.document.report import run_entry
from scallopkit.document.summary import run_tables
from scallopkit.document.workshop import eyelets, redrawn, refit, refuse_loss, scallop, trim, with_runs
from scallopkit.errors import NameUnknownError, NoFitError, OutputError, RequestError, ScallopkitError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest
from tests.drawings import BOX, LINE, QUARTER, UNITS, marks, page, path, read

HEM: dict[str, Any] = {
    "along": [
        "back:hem-fold..dart-in",
        "back:dart-out..hem-side",
        "front:hem-side..dart-out",
        "front:dart-in..hem-front",
    ],
    "join": ["dart", "seam", "dart"],
    "start": "fold",
}


def waistcoat_drawing() -> Drawing:
    return read_drawing(waistcoat().encode(), "waistcoat.svg")


def lines_of(data: bytes) -> list[etree._Element]:
    return etree.fromstring(data).findall(".//{*}path[@data-role='placement']")


def test_lines_and_marks_are_drawn_where_they_belong() -> None:
    drawing = read(BOX)
    run = trim(drawing, "box:c3..c2", repeat=30, width=20, offset=10)
    drawn = lines_of(with_runs(drawing, [run]))
    assert len(drawn) == 2 + 11
    # The box is 300 by 200 mm at (10, 20); c3 is its lower left corner.
    assert [element.get("d") for element in drawn[:2]] == ["M 10,210 L 310,210", "M 10,190 L 310,190"]
    assert drawn[2].get("d") == "M 10,210 L 10,205"
    assert drawn[-1].get("d") == "M 310,210 L 310,205"


@pytest.mark.parametrize("unit", UNITS)
def test_figures_do_not_depend_on_the_drawing_s_unit(unit: float) -> None:
    corners = np.array([(10.0, 20.0), (310.0, 20.0), (310.0, 220.0), (10.0, 220.0), (10.0, 20.0)])
    drawing = read_drawing(page(path(cubics.lines(corners), "box", True, unit), unit).encode(), "a.svg")
    made = trim(drawing, "box:c3..c2", repeat="30.5mm", width="20mm", offset="1cm").trim
    assert made is not None
    assert made.line.length == pytest.approx(300.0, abs=1e-6)
    assert (made.way.kind, made.way.count) == ("ease", 10)


def test_across_darts_and_a_seam_it_lies_parallel_to_each_edge_and_goes_on() -> None:
    drawing = waistcoat_drawing()
    run = trim(drawing, repeat=32, width=12, offset=20, take_up="seams", **HEM)
    made = run.trim
    assert made is not None
    near = [curve for part, curve in made.lines if float(nearest(run.edge.curve, curve[0, :1]).distance[0]) < 21.0]
    assert len(near) == 4
    for curve in near:
        # Parallels keep within 0.005 mm; at the dip of the seam, which is not true, the nearer edge counts.
        points = cubics.flatten(curve, 0.01)
        away = nearest(run.edge.curve, points).distance
        assert away.max() <= 20.0 + 0.5
        assert away.min() >= 20.0 - 0.01
    for before, after in pairwise(near):
        assert np.abs(before[-1, 3] - after[0, 0]).max() < 1e-9
    # The trim is longer than the hem, whose darts and hollows take less of it than what lies farther up.
    assert made.line.length > made.edge
    assert made.way.over == pytest.approx(12 * 32.0 - made.line.length)
    assert all(place.apart == 0.0 for place in made.laid.places)


def test_each_piece_carries_its_own_part() -> None:
    drawing = waistcoat_drawing()
    run = trim(drawing, repeat=32, width=12, offset=20, take_up="seams", **HEM)
    drawn = lines_of(with_runs(drawing, [run]))
    assert {element.get("data-piece") for element in drawn} == {"back", "front"}
    outlines = {piece.name: piece.curve for piece in drawing.pattern.pieces}
    made = run.trim
    assert made is not None
    for part, curve in made.marks:
        laid = run.laid.parts[part]
        on_sheet = motion.apply(motion.inverse(laid.motion), curve)
        away = float(nearest(outlines[laid.edge.piece.name], on_sheet[0, :1]).distance[0])
        # No mark lies off its piece: it is as deep as the trim, or nearer to a side.
        assert away <= 20.0 + 0.01


def test_a_folded_run_is_bought_twice_and_a_ring_once() -> None:
    quarter = read(QUARTER + marks(a=(300, 0), b=(0, 300)))
    made = trim(quarter, "quarter:a..b", start="fold", end="fold", repeat=20, width=10, take_up="ease", ease="4%").trim
    assert made is not None
    # Four quarters make a ring, which has one join and no ends.
    assert made.bought.used == pytest.approx(4 * made.way.count * 20.0)
    assert (made.bought.ends, made.bought.joins) == (0, 1)
    hem = trim(waistcoat_drawing(), repeat=32, width=12, take_up="edge", times=2, **HEM).trim
    assert hem is not None
    # The hem goes on beyond the fold, to two ends, and is sewn twice.
    assert (hem.bought.ends, hem.bought.joins) == (4, 0)
    assert hem.bought.used == pytest.approx(4 * hem.laid.used)


def test_beyond_a_fold_inside_the_run_nothing_is_drawn_twice() -> None:
    drawing = read('<path id="half" d="M 100,20 H 300 V 200 H 100 Z"/>' + marks(fold=(100, 20), side=(300, 20)))
    run = trim(drawing, ["half:side..fold", "half:fold..side"], join=["fold"], repeat=40, width=10, offset=5)
    drawn = lines_of(with_runs(drawing, [run]))
    assert run.trim is not None
    assert run.trim.line.length == pytest.approx(400.0)
    assert len(drawn) == 2 + 6


def test_the_report_lists_every_way_and_every_joint() -> None:
    drawing = waistcoat_drawing()
    entry = run_entry(drawing, trim(drawing, repeat=32, width=12, offset=20, take_up="hide:hem-side", **HEM))
    told = entry["trim"]
    json.dumps(told, allow_nan=False)
    assert [way["kind"] for way in told["ways"]] == list(KINDS)
    assert {way["kind"] for way in told["ways"] if not way["possible"]} == {"ease", "stretch", "mitre"}
    assert all(bool(way["why"]) != way["possible"] for way in told["ways"])
    (hide,) = [way for way in told["ways"] if way["kind"] == told["take_up"]]
    assert hide["at"] == ["hem-side"]
    (seam,) = [place for place in told["joints"] if place["at"] == "hem-side"]
    assert seam["apart_mm"] == pytest.approx(32.0 - hide["hidden_mm"])
    assert [place["at"] for place in told["joints"]][0::4] == ["hem-fold", "hem-front"]
    assert entry["totals"]["trim_mm"] == told["buy"]["total_mm"]
    assert run_entry(drawing, scallop(drawing, "back:hem-fold..dart-in", count=4))["trim"] is None


@pytest.mark.parametrize("way", ["seams", "edge"])
@pytest.mark.parametrize(("repeat", "add"), [(32, -6.0), (33.5, 0.75)])
def test_what_is_to_be_redrawn_is_drawn_and_makes_it_come_out_even(way: str, repeat: float, add: float) -> None:
    drawing = read(BOX)
    run = trim(drawing, "box:c3..c2", repeat=repeat, width=20, offset=10, take_up=way)
    written = with_runs(drawing, [run])
    drawn = [points_of(element) for element in lines_of(written)[-2:]]
    # The box is 300 by 200 mm at (10, 20); its sides are moved as they are, and their ends are joined to the corners.
    assert [line[0].tolist() for line in drawn] == [[10.0, 220.0], [310.0, 220.0]]
    assert [line[1:].tolist() for line in drawn] == [
        [[10.0 - add, 220.0], [10.0 - add, 20.0]],
        [[310.0 + add, 220.0], [310.0 + add, 20.0]],
    ]
    said = f"{'let out' if add > 0 else 'take in'} {abs(add):.2f} mm"
    labels = [" ".join(map(str, text.itertext())) for text in etree.fromstring(written).findall(".//{*}text")]
    assert labels == [f"to be redrawn: {said}"] * 2
    told = run_tables(drawing, run, terminal=False)
    assert f"the pattern stays as it is: redraw it along the placement lines ({said} at c3 of box, {said} at c2" in told
    assert run_entry(drawing, run)["trim"]["redraw"] == [
        {"at": "c3", "piece": "box", "add_mm": add},
        {"at": "c2", "piece": "box", "add_mm": add},
    ]
    changed = read(f'<path id="box" d="M {10 - add},20 H {310 + add} V 220 H {10 - add} Z"/>')
    again = trim(changed, "box:c3..c2", repeat=repeat, width=20, offset=10, take_up=way)
    assert again.trim is not None
    assert again.trim.way.over == pytest.approx(0.0, abs=1e-6)
    assert again.trim.redrawn == ()


def points_of(element: etree._Element) -> Array:
    """The nodes of a line of straight stretches."""
    numbers = re.findall(r"-?[\d.]+", element.get("d", ""))
    return np.array(numbers, dtype=float).reshape(-1, 2)


def test_at_a_seam_both_pieces_are_redrawn() -> None:
    drawing = waistcoat_drawing()
    made = trim(drawing, repeat=32, width=12, offset=20, take_up="seams", **HEM).trim
    assert made is not None
    assert [(one.at, one.piece) for one in made.redrawn] == [("hem-side", "back"), ("hem-side", "front")]
    outlines = {piece.name: piece.curve for piece in drawing.pattern.pieces}
    for one in made.redrawn:
        assert one.add == pytest.approx(0.5 * made.way.over)
        # The whole side is moved along the trim, by so much.
        away = nearest(outlines[one.piece], cubics.flatten(one.curve[1:], 0.01)).distance
        assert away.max() <= abs(one.add) + 1e-6
        assert float(np.hypot(*(one.curve[0, 3] - one.curve[0, 0]))) == pytest.approx(abs(one.add))
    free = trim(drawing, repeat=32, width=12, offset=20, take_up="edge", **HEM).trim
    assert free is not None
    # The hem starts at a fold, which is no end.
    assert [(one.at, one.piece) for one in free.redrawn] == [("hem-front", "front")]
    assert free.redrawn[0].add == pytest.approx(free.way.over)


@pytest.mark.parametrize("repeat", [30, 37])
def test_a_round_edge_is_redrawn_as_a_whole(repeat: float) -> None:
    drawing = read('<circle id="rim" cx="300" cy="250" r="150"/>')
    run = trim(drawing, "rim", repeat=repeat, width=12, offset=5, take_up="edge")
    made = run.trim
    assert made is not None
    (whole,) = made.redrawn
    # 2 pi to each mm of the radius.
    assert whole.add == pytest.approx(made.way.over / (2.0 * math.pi), rel=1e-4)
    away = np.hypot(*(cubics.flatten(whole.curve, 0.01) - (300.0, 250.0)).T)
    assert np.abs(away - 150.0 - whole.add).max() < 0.02


def test_where_the_pattern_may_stay_nothing_is_to_be_redrawn() -> None:
    for way in ("ease", "stretch", "hide:c2", "none"):
        made = trim(read(BOX), "box:c3..c2", repeat=32.9, width=20, take_up=way, ease="20%", stretch="20%").trim
        assert made is not None
        assert made.redrawn == ()


def test_what_comes_out_uneven_is_warned_of() -> None:
    run = trim(read(LINE), "hem", repeat=70)
    assert [warning.code for warning in run.warnings] == ["repeat-left-over"]
    assert "20.00 mm longer than 4 repeats of 70 mm" in run.warnings[0].message
    assert not trim(read(LINE), "hem", repeat=75).warnings


def test_a_trim_too_wide_for_a_curve_is_warned_of() -> None:
    drawing = read('<circle id="round" cx="200" cy="200" r="100"/>')
    codes = [w.code for w in trim(drawing, "round", repeat=20, width=40, take_up="edge").warnings]
    assert codes == ["trim-bends"]
    # 100 mm round a trim 1 mm wide is half a percent too full at its inner edge.
    assert not trim(drawing, "round", repeat=20, width=1, take_up="edge").warnings
    assert not trim(read(BOX), "box", repeat=20, width=40, take_up="edge").warnings


BAD: list[tuple[dict[str, Any], type[ScallopkitError], str]] = [
    ({}, RequestError, "--repeat 32mm"),
    ({"repeat": 0}, RequestError, "must be more than zero"),
    ({"repeat": 301}, NoFitError, "the largest that works is 300 mm"),
    ({"repeat": 30, "take_up": "glue"}, RequestError, r"--take-up can be .*hide:PLACE"),
    ({"repeat": 30, "take_up": "ease:c1"}, RequestError, "--take-up can be"),
    ({"repeat": 70, "take_up": "stretch"}, NoFitError, r"--stretch 7.15% would do"),
    ({"repeat": 70, "take_up": "hide"}, NoFitError, r'take "hide:c3", "hide:c2"'),
    ({"repeat": 70, "take_up": "hide:waist"}, NameUnknownError, '"waist"'),
    ({"repeat": 70, "take_up": "mitre"}, NoFitError, "turns no corner"),
    ({"repeat": 30, "move": ["waist"]}, NameUnknownError, '"waist"'),
    ({"repeat": 30, "motif": 2}, RequestError, "--motif is a place in the repeat"),
    ({"repeat": 30, "motif": "middle"}, RequestError, "--motif is a place in the repeat"),
    ({"repeat": 30, "ease": 3}, RequestError, "like 40%"),
    ({"repeat": 30, "start": "half"}, RequestError, "--start can be whole, motif or any"),
    ({"repeat": 30, "offset": 250}, NoFitError, "smaller --offset"),
    ({"repeat": 30, "longest": 40}, RequestError, "--longest of 50 mm or more"),
    ({"repeat": 30, "joins": "-1mm"}, RequestError, "must not be negative"),
    ({"repeat": 30, "width": "wide"}, RequestError, "--width"),
    ({"repeat": 30, "colour": "red"}, RequestError, "there is no option colour"),
]


@pytest.mark.parametrize(("words", "kind", "said"), BAD, ids=[str(row[0]) for row in BAD])
def test_what_makes_no_sense_is_refused_in_a_sentence(
    words: dict[str, Any], kind: type[ScallopkitError], said: str
) -> None:
    with pytest.raises(kind, match=said):
        trim(read(BOX), "box:c3..c2", **words)


def test_a_loop_has_no_ends_and_a_run_brings_its_own_edge() -> None:
    with pytest.raises(RequestError, match="closes and has no ends"):
        trim(read(BOX), "box", repeat=30, start="motif")
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c3..c2", count=10, name="hem")])
    with pytest.raises(RequestError, match="--along does not go with --run"):
        trim(drawing, "box:c3..c2", run="hem", repeat=30)
    with pytest.raises(RequestError, match="--join and --lap do not go with --run"):
        trim(drawing, run="hem", join="seam", repeat=30)


def test_a_gap_at_an_end_leaves_it_bare() -> None:
    made = trim(read(LINE), "hem", repeat=30, start="gap:30mm").trim
    assert made is not None
    assert made.line.length == pytest.approx(270.0)
    assert made.marks[0][1][0, 0, 0] == pytest.approx(40.0)


def test_it_stays_with_its_run_and_follows_its_edge() -> None:
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c3..c2", count=10, name="hem")])
    drawing = redrawn(drawing, [trim(drawing, run="hem", repeat=32, width=10, offset=15, take_up="ease", ease="7%")])
    (again,) = refit(drawing)
    assert again.change == "unchanged"
    assert again.run.trim is not None
    assert again.run.count == 10
    assert with_runs(drawing, [again.run]) == drawing.source
    # Scallops made anew and eyelets set in them leave it there.
    assert scallop(drawing, "box:c3..c2", count=8, name="hem").trim is not None
    assert eyelets(drawing, run="hem", eyelet=4, margin=1).trim is not None
    # 20 mm more of edge: 320 mm hold ten repeats of 32 mm.
    longer = read_drawing(drawing.source.replace(b'width="300"', b'width="320"'), "a.svg")
    (changed,) = refit(longer)
    assert changed.run.trim is not None
    assert changed.run.trim.way.over == pytest.approx(0.0, abs=1e-9)
    assert all(finding.ok for finding in examine(drawing.source, "a.svg"))


def test_work_with_a_trim_is_not_written_over(tmp_path: Path) -> None:
    drawing = read(LINE)
    there = tmp_path / "there.svg"
    there.write_bytes(with_runs(drawing, [trim(drawing, "hem", repeat=30, name="hem")]))
    with pytest.raises(OutputError, match="work that would be lost"):
        refuse_loss(there, drawing, [scallop(drawing, "hem", count=10)])
    refuse_loss(there, drawing, [trim(drawing, "hem", repeat=50, name="hem")])


def test_its_words_come_back_from_a_recipe() -> None:
    words = TrimWords(repeat="32mm", take_up="hide:side", move=("a", "b"))
    recipe = Recipe("hem", trim=words)
    assert from_text(to_text(recipe), "hem") == recipe
    assert from_text(to_text(Recipe("hem")), "hem").trim is None


def test_the_readme_s_commands_do_what_is_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("valance.svg").write_text(valance(), encoding="utf-8")
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    section = text.split("### Lace by the metre")[1].split("\n### ")[0]
    printed = ""
    for command in re.findall(r"^scallopkit (.*)$", section, re.MULTILINE):
        ended = CliRunner().invoke(app, shlex.split(command))
        assert ended.exit_code == 0, ended.output
        printed += ended.output
    (shown,) = re.findall(r"```text\n(.*?)```", section, re.DOTALL)
    for line in shown.splitlines():
        assert set(line) <= {"-", " "} or "\t".join(re.split(r"\s{2,}", line.strip())) in printed, line
