"""Which line is the grain of a piece."""

from __future__ import annotations

import pytest

from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.reader import read_drawing
from scallopkit.geometry.cubics import Array
from scallopkit.pattern.edge import find_piece
from scallopkit.pattern.grain import grain_of

from ..drawings import BOX, LINE, read


def grain(body: str, piece: str = "box") -> list[list[float]] | None:
    drawing = read(body)
    found: Array | None = grain_of(drawing.pattern, find_piece(drawing.pattern, piece))
    return None if found is None else found.tolist()


@pytest.mark.parametrize(
    "line",
    [
        '<path id="grain-box" d="M 100,60 V 160"/>',
        '<line id="x" inkscape:label="Grain of the front" x1="100" y1="60" x2="100" y2="160" stroke="#000"/>',
        '<polyline id="GRAINLINE" points="100,60 100,80 100,160" fill="none" stroke="#000"/>',
    ],
)
def test_a_straight_line_called_grain_inside_the_piece(line: str) -> None:
    assert grain(BOX + line) == [[100.0, 60.0], [100.0, 160.0]]


@pytest.mark.parametrize(
    "line",
    [
        "",
        '<path id="centre" d="M 100,60 V 160"/>',
        '<path id="grain" d="M 400,60 V 160"/>',
        '<path id="grain" d="M 100,60 C 120,90 120,130 100,160"/>',
        '<path id="grain" d="M 100,60 V 160 H 120 Z"/>',
        '<path id="grain" style="display:none" d="M 100,60 V 160"/>',
    ],
)
def test_what_is_no_grain_line(line: str) -> None:
    assert grain(BOX + line) is None


def test_the_longest_of_several() -> None:
    lines = '<path id="grain-1" d="M 100,60 V 160"/><path id="grain-2" d="M 50,60 L 150,200"/>'
    assert grain(BOX + lines) == [[50.0, 60.0], [150.0, 200.0]]


def test_an_open_line_has_none() -> None:
    assert grain(LINE + '<path id="grain" d="M 100,20 V 160"/>', "hem") is None


def test_the_grain_lines_of_the_waistcoat() -> None:
    pattern = read_drawing(waistcoat().encode(), "waistcoat.svg").pattern
    for name in ("back", "front"):
        found = grain_of(pattern, find_piece(pattern, name))
        line = find_piece(pattern, f"grain-{name}").curve
        assert found is not None
        assert found.tolist() == [line[0, 0].tolist(), line[-1, 3].tolist()]
