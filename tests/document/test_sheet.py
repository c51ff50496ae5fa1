"""How often a run is there once all is opened, and where its places lie on the sheet."""

from __future__ import annotations

import math

import pytest

from scallopkit.document.workshop import scallop

from ..drawings import marks, read

WEDGES = [(180.0, 2), (90.0, 4), (60.0, 6), (45.0, 8), (36.0, 10)]


def wedge(degrees: float) -> str:
    x, y = 300.0 * math.cos(math.radians(degrees)), 300.0 * math.sin(math.radians(degrees))
    return f'<path id="cloth" d="M 350,50 L 650,50 A 300 300 0 0 1 {350 + x!r},{50 + y!r} Z"/>'


@pytest.mark.parametrize(("degrees", "copies"), WEDGES)
def test_a_wedge_between_two_folds_opens_round_its_point(degrees: float, copies: int) -> None:
    x, y = 350 + 300.0 * math.cos(math.radians(degrees)), 50 + 300.0 * math.sin(math.radians(degrees))
    drawing = read(wedge(degrees) + marks(one=(650, 50), other=(x, y), side=(350, 350) if degrees > 90 else (350, 50)))
    along = "cloth:one..side..other" if degrees > 90 else "cloth:one..other"
    run = scallop(drawing, along, width=40, start="fold", end="fold")
    assert run.copies == copies
    whole = run.count * copies
    assert whole == round(whole)
    # The whole circle's chord: 2 R sin(180 degrees / n).
    assert run.widths[0] == pytest.approx(600.0 * math.sin(math.pi / whole), rel=1e-9)


def test_halves_of_two_pieces_open_once_each() -> None:
    body = '<rect id="a" x="10" y="10" width="200" height="90"/><rect id="b" x="300" y="10" width="160" height="90"/>'
    drawing = read(body)
    run = scallop(drawing, ["a:c0..c1", "b:c0..c1"], join="seam", width=20, start="fold", end="fold")
    assert run.copies == 2
    assert scallop(drawing, "a:c0..c1", width=20, times=2).copies == 2
    assert scallop(drawing, "a:c0..c1", width=20, start="fold", times=3).copies == 6
