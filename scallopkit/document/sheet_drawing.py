"""A picture of the make sheet on a PDF's canvas: the lines, surfaces and letters of our own small SVG drawings."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from ..geometry.cubics import Array
from .drawn import BEFORE, SHAPES, START
from .pdf import BOLD, FONT, colour_of
from .presentation import declared
from .shapes import read_shape

# What arcs may be off, and the letters of a text that tells no size, in the drawing's units.
_ACCURACY, _LETTERS = 1e-3, 16.0
_ROTATE = re.compile(r"rotate\(([^)]*)\)")
_NONE = "none"


@dataclass(frozen=True, eq=False)
class Shape:
    """A shape: its curves, what it is filled with and drawn with (empty for not), width and dashes of its line."""

    curves: tuple[tuple[Array, bool], ...]
    fill: str
    even_odd: bool
    stroke: str
    width: float
    dashes: tuple[float, ...]


@dataclass(frozen=True)
class Row:
    """A row of letters: where it stands, how large, which part of it is there, and how it is turned about a point."""

    words: str
    x: float
    y: float
    size: float
    anchor: str
    bold: bool
    turn: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Drawing:
    """A picture: its box in its own units, and what is drawn, the first below the next."""

    x: float
    y: float
    width: float
    height: float
    parts: tuple[Shape | Row, ...]

    def draw(self, canvas: Any, scale: float) -> None:  # noqa: ANN401  # the library's own kind
        """Draws it, so many points to a unit, with its lower left corner where the canvas begins."""
        canvas.saveState()
        canvas.transform(scale, 0.0, 0.0, -scale, -scale * self.x, scale * (self.y + self.height))
        for part in self.parts:
            if isinstance(part, Shape):
                _shape(canvas, part)
            else:
                _row(canvas, part)
        canvas.restoreState()


def drawing_of(svg: Any, letters: Callable[[str], str]) -> Drawing:  # noqa: ANN401  # an element as HTML has it
    """The picture that an `svg` in a page is.

    Args:
        svg: the element; all names of attributes are in small letters, as they are in a page.
        letters: gives a text in letters that there are.
    """
    x, y, width, height = (float(part) for part in svg.get("viewbox").split())
    return Drawing(x, y, width, height, tuple(_parts(svg, (width, height), letters)))


def _parts(svg: Any, box: tuple[float, float], letters: Callable[[str], str]) -> Iterator[Shape | Row]:  # noqa: ANN401
    for element in svg.iter():
        if element.tag in SHAPES:
            yield _shape_of(element, box)
        elif element.tag == "text":
            yield from _rows_of(element, letters)


def _shape_of(element: Any, box: tuple[float, float]) -> Shape:  # noqa: ANN401
    told = declared(element)
    data = read_shape(element.tag, told, box, _ACCURACY)
    dashes = tuple(
        float(part) for part in told.get("stroke-dasharray", _NONE).replace(",", " ").split() if part != _NONE
    )
    fill, stroke = told.get("fill", "#000000"), told.get("stroke", _NONE)
    return Shape(
        tuple((sub.curve, sub.closed) for sub in data.subpaths),
        "" if fill == _NONE else fill,
        told.get("fill-rule") == "evenodd",
        "" if stroke == _NONE else stroke,
        float(told.get("stroke-width", "1")),
        dashes if any(dashes) else (),
    )


def _rows_of(element: Any, letters: Callable[[str], str]) -> Iterator[Row]:  # noqa: ANN401
    told = declared(element)
    found = _ROTATE.search(element.get("transform", ""))
    turn = [float(part) for part in found[1].replace(",", " ").split()] if found else []
    angle, x, y = (*turn, 0.0, 0.0, 0.0)[:3]
    for part in element.findall("tspan") or [element]:
        words = letters(part.text_content())
        if words:
            yield Row(
                words,
                float(part.get("x", "0")),
                float(part.get("y", "0")),
                float(told.get("font-size", str(_LETTERS)).removesuffix("px")),
                told.get("text-anchor", START),
                told.get("font-weight") == "bold",
                (angle, x, y),
            )


def _shape(canvas: Any, shape: Shape) -> None:  # noqa: ANN401
    path = canvas.beginPath()
    for curve, closed in shape.curves:
        points = curve.reshape(-1, 2).tolist()
        path.moveTo(*points[0])
        for k in range(0, len(points), 4):
            path.curveTo(*points[k + 1], *points[k + 2], *points[k + 3])
        if closed:
            path.close()
    if shape.fill:
        canvas.setFillColor(colour_of(shape.fill))
    if shape.stroke:
        canvas.setStrokeColor(colour_of(shape.stroke))
        canvas.setLineWidth(shape.width)
        canvas.setDash(*([list(shape.dashes)] if shape.dashes else []))
        canvas.setLineJoin(1)
    canvas.drawPath(
        path, stroke=int(bool(shape.stroke)), fill=int(bool(shape.fill)), fillMode=0 if shape.even_odd else 1
    )


def _row(canvas: Any, row: Row) -> None:  # noqa: ANN401
    font = BOLD if row.bold else FONT
    canvas.saveState()
    canvas.setFillColorRGB(0.0, 0.0, 0.0)
    canvas.setFont(font, row.size)
    angle, x, y = row.turn
    canvas.translate(x, y)
    canvas.rotate(angle)
    canvas.translate(row.x - x, row.y - y)
    # The page's y goes down, letters stand upright.
    canvas.scale(1.0, -1.0)
    canvas.drawString(-BEFORE[row.anchor] * canvas.stringWidth(row.words, font, row.size), 0.0, row.words)
    canvas.restoreState()
