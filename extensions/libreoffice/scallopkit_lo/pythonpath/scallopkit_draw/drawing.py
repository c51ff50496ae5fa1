"""The library's lines as shapes of the host, one group a run, in a layer that is seen and printed."""

from __future__ import annotations

import uno

from .keeping import GROUP, LAYER, keep

_UNIT = 100.0
# Points of type in a millimetre: 72 to the inch of 25.4 mm.
_POINTS = 72.0 / 25.4


def layer_of(document: object) -> tuple:
    """Our layer, and whether it is new; seen, printed and not locked."""
    layers = document.LayerManager
    fresh = not layers.hasByName(LAYER)
    if fresh:
        # Layers made by a macro are neither seen nor printed at first.
        layer = layers.insertNewByIndex(layers.Count)
        layer.Name = LAYER
    layer = layers.getByName(LAYER)
    layer.IsVisible = layer.IsPrintable = True
    layer.IsLocked = False
    return layer, fresh


def drawn(document: object, page: object, run: dict, kept: dict) -> object:
    """A run of an answer as a new group on the page."""
    layer, _ = layer_of(document)
    group = document.createInstance(GROUP)
    page.add(group)
    for line in run["lines"]:
        _line(document, group, line)
    for circle in run["circles"]:
        _circle(document, group, circle)
    for text in run["texts"]:
        for row in text["rows"]:
            _text(document, group, text, row)
    document.LayerManager.attachShapeToLayer(group, layer)
    keep(group, kept)
    return group


def _line(document: object, group: object, line: dict) -> None:
    kind = "Closed" if line["closed"] else "Open"
    shape = document.createInstance(f"com.sun.star.drawing.{kind}BezierShape")
    # Only a shape that is in place takes its points.
    group.add(shape)
    curve = line["curve"]
    places = [curve[0][0], *(point for segment in curve for point in segment[1:])]
    flags = ["NORMAL", *(["CONTROL", "CONTROL", "NORMAL"] * len(curve))]
    coordinates = uno.createUnoStruct("com.sun.star.drawing.PolyPolygonBezierCoords")
    coordinates.Coordinates = (tuple(_point(x, y) for x, y in places),)
    coordinates.Flags = (tuple(uno.Enum("com.sun.star.drawing.PolygonFlags", flag) for flag in flags),)
    shape.PolyPolygonBezier = coordinates
    _look(shape, line)


def _circle(document: object, group: object, circle: dict) -> None:
    shape = document.createInstance("com.sun.star.drawing.EllipseShape")
    group.add(shape)
    wide = round(2.0 * circle["radius"] * _UNIT)
    shape.Position = _point(circle["x"] - 0.5 * wide / _UNIT, circle["y"] - 0.5 * wide / _UNIT)
    shape.Size = _size(wide, wide)
    _look(shape, circle)


def _text(document: object, group: object, text: dict, row: dict) -> None:
    shape = document.createInstance("com.sun.star.drawing.TextShape")
    group.add(shape)
    shape.TextAutoGrowWidth = shape.TextAutoGrowHeight = True
    shape.TextLeftDistance = shape.TextRightDistance = shape.TextUpperDistance = shape.TextLowerDistance = 0
    shape.String = row["text"]
    shape.CharHeight = text["size"] * _POINTS
    shape.CharColor = _colour(text["colour"])
    size = shape.Size
    # The row's foot is at y; letters stand about four fifths of a line above it.
    left = 0.5 * size.Width / _UNIT if text["middle"] else 0.0
    shape.Position = _point(row["x"] - left, row["y"] - 0.8 * size.Height / _UNIT)
    if text["angle"]:
        shape.RotateAngle = round(-100.0 * text["angle"]) % 36000


def _look(shape: object, line: dict) -> None:
    shape.FillStyle = uno.Enum("com.sun.star.drawing.FillStyle", "NONE")
    shape.LineColor = _colour(line["colour"])
    shape.LineWidth = round(line["width"] * _UNIT)
    shape.LineStyle = uno.Enum("com.sun.star.drawing.LineStyle", "DASH" if line["dashes"] else "SOLID")
    if line["dashes"]:
        shape.LineDash = _dash(line["dashes"])


def _dash(dashes: list) -> object:
    """Dashes as the host has them: so many short ones, then so many long ones, with the same gap after each."""
    strokes, gaps = dashes[::2], dashes[1::2]
    short = [stroke for stroke in strokes if stroke < max(strokes)]
    dash = uno.createUnoStruct("com.sun.star.drawing.LineDash")
    dash.Style = uno.Enum("com.sun.star.drawing.DashStyle", "RECT")
    dash.Dots, dash.DotLen = len(short), round(min(strokes) * _UNIT)
    dash.Dashes, dash.DashLen = len(strokes) - len(short), round(max(strokes) * _UNIT)
    dash.Distance = round(min(gaps) * _UNIT)
    return dash


def _colour(text: str) -> int:
    return int(text.lstrip("#"), 16)


def _point(x: float, y: float) -> object:
    point = uno.createUnoStruct("com.sun.star.awt.Point")
    point.X, point.Y = round(x * _UNIT), round(y * _UNIT)
    return point


def _size(width: int, height: int) -> object:
    size = uno.createUnoStruct("com.sun.star.awt.Size")
    size.Width, size.Height = width, height
    return size
