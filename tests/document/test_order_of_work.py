"""The order of work: nothing is asked for before what it needs is done."""

from __future__ import annotations

import pytest

from scallopkit.document.drawing import Drawing
from scallopkit.document.order_of_work import order_of_work
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.workshop import (
    cut,
    eyelets,
    facing,
    lacing,
    made_runs,
    match,
    recut,
    redrawn,
    scallop,
    trim,
    with_runs,
)

THREE = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="300mm" viewBox="0 0 700 300">
  <path id="left" stroke="black" d="M 20 20 H 200 V 200 H 20 Z"/>
  <path id="mid" stroke="black" d="M 240 20 H 420 V 200 H 240 Z"/>
  <path id="right" stroke="black" d="M 460 20 H 640 V 200 H 460 Z"/></svg>"""
EDGES = ["left:c3..c2", "mid:c3..c2", "right:c3..c2"]


def steps(second: str) -> list[str]:
    """The steps for a hem over three pieces, whose second seam is held so."""
    sheet = read_drawing(THREE.encode(), "skirt.svg")
    sheet = redrawn(sheet, [scallop(sheet, EDGES, join=["seam", second], width=30, name="hem", finish="faced")])
    sheet = redrawn(sheet, [facing(sheet, "hem", depth="40mm")])
    sheet = redrawn(sheet, [eyelets(sheet, run="hem", eyelet="4mm", margin="2mm")])
    sheet = read_drawing(with_runs(sheet, [], cut(sheet, cloth="linen")), sheet.name)
    runs = made_runs(sheet)
    return order_of_work(report_of(sheet, runs, (), recut(sheet, runs)))


def place(told: list[str], words: str) -> int:
    (found,) = [k for k, step in enumerate(told) if words in step]
    return found


def test_each_step_comes_after_what_it_needs() -> None:
    told = steps("seam")
    order = [
        place(told, "Wash or steam the cloth before you cut"),
        place(told, "let it hang a day"),
        place(told, "Cut left"),
        place(told, "close the seam at left"),
        place(told, "close the seam at mid"),
        place(told, "lay stay tape flat along the valleys"),
        place(told, "lay it on, right sides together"),
        place(told, "sew round the scallops"),
        place(told, "trim the layers"),
        place(told, "turn it"),
        place(told, "set "),
    ]
    assert order == sorted(order)
    assert order[0] == 0


def test_a_seam_is_pressed_open_and_trimmed_within_the_scallops_before_they_are_sewn() -> None:
    (step,) = [step for step in steps("seam") if "close the seam at mid" in step]
    assert "press it open, and trim it within the depth of the scallops" in step


def test_a_seam_that_scallops_stop_short_of_is_closed_after_the_edge_is_turned() -> None:
    told = steps("seam:gap:15mm")
    assert place(told, "close the seam at left") < place(told, "sew round the scallops")
    assert place(told, "turn it") < place(told, "close the seam at mid") < place(told, "set ")
    assert "only now" in told[place(told, "close the seam at mid")]


def test_a_seam_with_scallops_at_both_ends_is_closed_once() -> None:
    sheet = read_drawing(THREE.encode(), "skirt.svg")
    sheet = redrawn(sheet, [scallop(sheet, ["left:c3..c2", "mid:c3..c2"], join="seam", width=30, name="hem")])
    sheet = redrawn(sheet, [scallop(sheet, ["mid:c1..c0", "left:c1..c0"], join="seam", width=30, name="top")])
    sheet = redrawn(sheet, [scallop(sheet, ["mid:c2..c1", "right:c3..c2"], join="seam", width=30, name="side")])
    report = report_of(sheet, made_runs(sheet))
    hem, top, side = (run["joins"][0]["at"] for run in report["runs"])
    assert [run["joins"][0]["other_end"] for run in report["runs"]][:2] == [top, hem]
    told = [step for step in order_of_work(report) if "close the seam" in step]
    assert [f"from {hem} to {top}" in told[0], f"at {side}" in told[1], len(told)] == [True, True, 2]


def test_everything_that_is_cut_and_laid_on_is_named() -> None:
    sheet = read_drawing(THREE.encode(), "skirt.svg")
    sheet = redrawn(sheet, [scallop(sheet, "left:c3..c2", width=30, name="hem", finish="faced")])
    sheet = redrawn(sheet, [facing(sheet, "hem", depth="40mm", interlining="net")])
    sheet = read_drawing(with_runs(sheet, [], cut(sheet, "left", lining="15mm")), sheet.name)
    runs = made_runs(sheet)
    told = order_of_work(report_of(sheet, runs, (), recut(sheet, runs)))
    (cutting,) = [step for step in told if step.startswith("Cut ")]
    assert cutting.startswith(
        "Cut left (cut 1), left lining (cut 1), hem facing (cut 1), the interlining of hem facing;"
    )
    order = [
        place(told, words) for words in ("lay the interlining", "neaten the inner edge", "sew its lining together")
    ]
    assert order == sorted(order)
    assert (
        told[order[-1]]
        == "left: sew its lining together as the piece, then to the inner edges of facings; hem it elsewhere."
    )
    # One facing in one piece has no seam to close.
    assert not any("close the seams" in step for step in told)


@pytest.mark.parametrize(
    ("finish", "sides", "then"), [("bound", "wrong", "bind the edge"), ("faced", "right", "sew round the scallops")]
)
def test_a_lining_without_a_facing_is_laid_on_before_the_edge_is_finished(finish: str, sides: str, then: str) -> None:
    sheet = read_drawing(THREE.encode(), "skirt.svg")
    along = ["left:c3..c2", "mid:c3..c2"]
    sheet = redrawn(sheet, [scallop(sheet, along, join="seam", width=30, name="hem", finish=finish)])
    sheet = read_drawing(with_runs(sheet, [], cut(sheet, lining="15mm")), sheet.name)
    runs = made_runs(sheet)
    told = order_of_work(report_of(sheet, runs, (), recut(sheet, runs)))
    (laid,) = [step for step in told if "lay the lining" in step]
    assert f"lay the linings of left and mid, sewn together as the cloth, on it along the edge, {sides} sides" in laid
    assert place(told, "lay the linings") < place(told, then)
    # What no run of scallops lies on is lined as before.
    assert [step for step in told if "hem it" in step] == ["right: sew its lining together as the piece, and hem it."]


SKIRT = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="400mm" viewBox="0 0 500 400">
  <path id="skirt" stroke="black" d="M 20 200 H 220 L 230 290 L 240 200 H 440 V 380 H 20 Z"/>
  <path id="band" stroke="black" d="M 20 20 H 420 V 60 H 20 Z"/></svg>"""


def test_a_band_is_sewn_on_once_the_dart_in_its_edge_is_closed() -> None:
    sheet = read_drawing(SKIRT.encode(), "skirt.svg")
    sheet = redrawn(sheet, [scallop(sheet, ["skirt:c0..c1", "skirt:c3..c4"], join="dart", width=20, name="waist")])
    runs = made_runs(sheet)
    told = order_of_work(report_of(sheet, runs, (), (), (), [match(sheet, "band:c3..c2", "waist")]))
    assert place(told, "skirt: close the dart between c1 and c3 (waist)") < place(told, "pin notch to notch")


DARTED = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
  <path id="front" stroke="black" d="M 20 20 H 200 V 100 L 140 110 L 200 120 V 260 H 20 Z"/>{marks}</svg>"""
MARKS = """<g id="marks"><circle id="underarm" cx="200" cy="20" r="1"/>
  <circle id="hem-side" cx="200" cy="260" r="1"/></g>"""


@pytest.mark.parametrize(
    ("marks", "which"), [(MARKS, "in the seam from underarm to hem-side"), ("", "with its point at c3")]
)
def test_a_dart_in_a_seam_is_found_by_the_marks_that_are_printed(marks: str, which: str) -> None:
    sheet = read_drawing(DARTED.format(marks=marks).encode(), "front.svg")
    pieces = cut(sheet, "front", dart="c3")
    told = order_of_work(report_of(sheet, (), (), pieces))
    assert told[place(told, "close the dart")].startswith(f"front: close the dart {which} and press it")


EDGE = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
  <path id="left" stroke="black" d="M 20 20 H 200 V 200 H 20 Z"/></svg>"""


def edge(**words: str) -> tuple[Drawing, list[str]]:
    """A scalloped edge of a single piece, and the steps for it."""
    sheet = read_drawing(EDGE.encode(), "edge.svg")
    sheet = redrawn(sheet, [scallop(sheet, "left:c3..c2", width=30, name="hem", **words)])
    return sheet, order_of_work(report_of(sheet, made_runs(sheet)))


def test_scallops_without_a_finish_are_finished_as_the_maker_has_chosen() -> None:
    told = edge()[1]
    assert told[place(told, "finish the scallops along their line")].startswith("hem: ")
    assert not [step for step in edge(finish="stitched")[1] if "finish the scallops" in step]


def test_a_faced_edge_without_a_facing_asks_for_one_before_it_is_trimmed() -> None:
    told = edge(finish="faced")[1]
    assert place(told, "none is drawn here") < place(told, "sew round the scallops") < place(told, "facing to 4.5 mm")
    assert not [step for step in told if "stay tape" in step]


def test_only_what_is_there_is_tested_on_a_scrap() -> None:
    assert "scrap" not in edge(finish="raw")[1][0]
    assert "; test stitches on a scrap." in edge(finish="stitched")[1][0]
    assert "; test eyelets and stitches on a scrap." in steps("seam")[0]


def test_cloth_hangs_only_for_scallops() -> None:
    sheet = read_drawing(EDGE.encode(), "edge.svg")
    sheet = redrawn(sheet, [eyelets(sheet, "left:c3..c2", eyelet="4mm", count=4, name="row")])
    told = order_of_work(report_of(sheet, made_runs(sheet)))
    assert not [step for step in told if "hang" in step]
    assert "once the edge is finished" in told[place(told, "set 4 eyelets")]


@pytest.mark.parametrize(("times", "words"), [("1", ""), ("2", "twice that"), ("3", "3 times that")])
def test_what_is_drawn_is_doubled_only_where_there_is_more_of_it(times: str, words: str) -> None:
    told = edge(finish="faced", times=times)[1]
    step = told[place(told, "trim the layers")]
    assert (words in step, "that once" in step) == (True, bool(words))


def test_a_bought_trim_is_sewn_on_by_its_repeats_before_eyelets_are_set() -> None:
    sheet, _ = edge()
    sheet = redrawn(sheet, [trim(sheet, run="hem", repeat="20mm", width="10mm", offset="20mm")])
    sheet = redrawn(sheet, [eyelets(sheet, run="hem", eyelet="4mm", margin="2mm")])
    told = order_of_work(report_of(sheet, made_runs(sheet)))
    assert (
        "hem: pin the bought trim to its marks, repeat by repeat (9 repeats of 20 mm)" in told[place(told, "trim to")]
    )
    assert place(told, "finish the scallops") < place(told, "bought trim") < place(told, "set ")


def test_the_underlay_of_a_lacing_is_sewn_to_one_side_before_it_is_laced() -> None:
    sheet = read_drawing(EDGE.encode(), "edge.svg")
    sheet = redrawn(sheet, [eyelets(sheet, "left:c3..c2", eyelet="4mm", count=4, name="row")])
    sheet = redrawn(sheet, [lacing(sheet, "row", path="crossed", with_row="mirror", gap="20mm")])
    told = order_of_work(report_of(sheet, made_runs(sheet)))
    assert (
        place(told, "set ") < place(told, "lay it behind the opening, and sew it to one side") < place(told, "lace it")
    )
