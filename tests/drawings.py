"""Drawings as texts and as read, that several tests use."""

from __future__ import annotations

import numpy as np

from scallopkit.document.drawing import Drawing
from scallopkit.document.numbers import path_text
from scallopkit.document.reader import read_drawing
from scallopkit.geometry.cubics import Array

INCH, HUNDREDTH, PX = 25.4, 0.01, 25.4 / 96.0
# User units in mm: plain, inches on a scaled page, hundredths of a mm, and CSS pixels (3.7795 to the mm).
UNITS = (1.0, INCH, HUNDREDTH, PX)

NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'


def page(body: str, unit: float = 1.0, size: tuple[float, float] = (600.0, 500.0)) -> str:
    """A drawing of that size in mm whose user unit is `unit` mm."""
    width, height = size
    box = f"0 0 {width / unit!r} {height / unit!r}"
    return f'<svg {NAMESPACES} width="{width}mm" height="{height}mm" viewBox="{box}">\n{body}\n</svg>\n'


def read(body: str, unit: float = 1.0) -> Drawing:
    return read_drawing(page(body, unit).encode(), "a.svg")


def path(curve: Array, name: str = "hem", closed: bool = False, unit: float = 1.0) -> str:
    """A path element that draws a curve in mm."""
    return f'<path id="{name}" d="{path_text(np.asarray(curve) / unit, 12, closed)}"/>'


def marks(**points: tuple[float, float]) -> str:
    """A group of marks at points in user units."""
    dots = "".join(f'<circle id="{name}" cx="{x}" cy="{y}" r="0.01"/>' for name, (x, y) in points.items())
    return f'<g id="marks">{dots}</g>'


LINE = '<path id="hem" d="M 10,20 H 310"/>'
BOX = '<rect id="box" x="10" y="20" width="300" height="200"/>'
ROUND = '<circle id="round" cx="200" cy="200" r="100"/>'
# A quarter of a round cloth on two folds: along y = 0 and along x = 0.
QUARTER = '<path id="quarter" d="M 0,0 H 300 A 300 300 0 0 1 0,300 Z"/>'
