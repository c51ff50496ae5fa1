"""Seams that several runs meet are counted once, as long as they are and as often as they are sewn."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from scallopkit.document.estimate import quantities
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.workshop import cut, match, scallop

# A back, half of it on the fold at x = 0, and a front: 200 mm wide and 300 mm high each, sewn at the side.
SIDE = """<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="500mm" viewBox="0 0 900 500">
  <path id="back" stroke="black" d="M 20 20 H 220 V 320 H 20 Z"/>
  <path id="front" stroke="black" d="M 260 20 H 460 V 320 H 260 Z"/></svg>"""
# The front's side has a dart, 60 mm deep with a mouth of 30 mm, so that it is 30 mm longer than the back's.
DART = SIDE.replace("H 260 Z", "H 260 V 200 L 320 185 L 260 170 Z").replace(
    "M 260 20 H 460 V 320", "M 260 -10 H 460 V 320"
)
HEM, TOP = ("back:c3..c2", "front:c3..c2"), ("back:c0..c1", "front:c0..c1")


def sewn(
    text: str, *edges: tuple[str, str], times: Sequence[str] = ("1", "1"), matched: bool = False
) -> list[list[float]]:
    sheet = read_drawing(text.encode(), "side.svg")
    runs = [
        scallop(sheet, along, width=40, depth="5mm", join=["seam"], name=f"run {k}", start="fold", times=times[k])
        for k, along in enumerate(edges)
    ]
    report = report_of(sheet, runs, (), (), (), [match(sheet, "back:c1..c2", "front:c0..c3")] if matched else ())
    return [[join["sewn_mm"] for join in run["joins"] if join["kind"] == "seam"] for run in report["runs"]]


def test_a_side_seam_is_sewn_on_both_sides_of_the_fold() -> None:
    assert sewn(SIDE, HEM) == [[600.0]]


def test_a_seam_that_two_runs_meet_is_counted_once() -> None:
    assert sewn(SIDE, HEM, TOP) == [[600.0], [0.0]]
    assert sewn(SIDE, TOP, HEM) == [[600.0], [0.0]]
    # Of a run that is sewn twice as often there are twice as many seams.
    assert sewn(SIDE, HEM, TOP, times=("1", "2")) == [[0.0], [1200.0]]


def test_a_seam_with_a_dart_in_it_is_as_long_as_the_edge_without() -> None:
    assert sewn(DART, HEM, TOP) == [[600.0], [0.0]]


def test_a_matched_edge_is_counted_with_its_match() -> None:
    # The match counts one of the two.
    assert sewn(SIDE, HEM, matched=True) == [[300.0]]


def test_darts_and_joins_are_in_the_seams_of_the_estimate() -> None:
    sheet = read_drawing(DART.encode(), "side.svg")
    (front,) = cut(sheet, "front", number="2", dart=["c5"])
    found = quantities(report_of(sheet, [], (), [front]))
    assert found["seam"] == pytest.approx(2 * math.hypot(60.0, 15.0) / 1000.0)


@pytest.mark.parametrize("along", ["hem", "armhole"])
def test_wedges_are_counted_by_themselves(along: str) -> None:
    sheet = read_drawing(SIDE.encode(), "side.svg")
    over = {"hem": HEM, "armhole": ("front:c3..c2",)}[along]
    words = {"join": ["seam"], "start": "fold"} if along == "hem" else {"times": "2"}
    (run,) = report_of(sheet, [scallop(sheet, over, width=40, depth="40%", finish="faced", **words)])["runs"]
    assert run["wedges"]
    # None lies on the fold: all are there twice, however many clips do lie on it.
    assert run["totals"]["wedges"] == 2 * len(run["wedges"])
    assert quantities({"runs": [run], "pieces": [], "matches": [], "straps": []})["wedge"] == 2 * len(run["wedges"])
