"""Rows of different runs that lie on each other on one piece."""

from __future__ import annotations

import pytest

from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import eyelets, redrawn

BOX = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
  <path id="box" stroke="black" d="M 20 20 H 320 V 220 H 20 Z"/></svg>"""


@pytest.fixture
def rowed() -> Drawing:
    drawing = read_drawing(BOX.encode(), "box.svg")
    return redrawn(drawing, [eyelets(drawing, "box:c0..c1", eyelet="5mm", count=6, name="first")])


def codes(drawing: Drawing, along: str, inset: str = "") -> list[str]:
    run = eyelets(drawing, along, eyelet="5mm", name="second", count=6, inset=inset)
    return [warn.code for warn in run.warnings]


def test_the_same_row_twice_is_told(rowed: Drawing) -> None:
    run = eyelets(rowed, "box:c0..c1", eyelet="5mm", count=6, name="second")
    (warn,) = [warn for warn in run.warnings if warn.code == "parts-meet"]
    assert "(6 of them)" in warn.message
    assert warn.piece == "box"


def test_rows_that_cross_at_a_corner_are_told_at_the_place(rowed: Drawing) -> None:
    run = eyelets(rowed, "box:c1..c2", part="buttonhole", button="12mm", count=4, name="second")
    told = [warn for warn in run.warnings if warn.code == "parts-meet"]
    # Both rows keep as far from the corner as from their edges, so that the first of one is the last of the other.
    assert len(told) == 1
    assert (told[0].x, told[0].y) == pytest.approx((309.0, 31.0), abs=6.0)


def test_rows_apart_are_not(rowed: Drawing) -> None:
    assert "parts-meet" not in codes(rowed, "box:c2..c3")
    assert "parts-meet" not in codes(rowed, "box:c0..c1", inset="60mm")
